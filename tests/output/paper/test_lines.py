"""Type that fits: broken between words, never inside a number, never beyond the room."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger import shipped
from tankbook.output.paper.face import (
    PaperError,
    _read_face,
    face,
    fitted,
    printable,
    width,
    wrapped,
    written_on,
)
from tankbook.units.quantity import Quantity

WORDS = st.lists(
    st.one_of(
        st.text("abcdefghijklmnop", min_size=1, max_size=30),
        st.from_regex(r"\A[0-9]{1,6}(\.[0-9])?\Z"),
        st.sampled_from(["3000 psi", "207 bar", "9 Feb 2026", "K118204", "32.1 %"]),
    ),
    min_size=1,
    max_size=12,
)


@given(WORDS, st.floats(8, 90), st.floats(6, 14), st.booleans())
def test_lines_hold_all_the_text_and_fit(
    words: list[str], room: float, size: float, bold: bool
) -> None:
    text = " ".join(words)
    lines = wrapped(text, room, size, bold)
    if lines is None:  # only ever because a number is wider than the room
        pairs = [*words, *map(" ".join, pairwise(words))]  # one may be the unit of the other
        tied = [w for w in pairs if any(c.isdigit() for c in w)]
        assert any(width(w, size, bold) > room for w in tied)
        return
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(width(line, size, bold) <= room + 1e-9 for line in lines)
    for number in re.findall(r"\d[\d.]*(?: (?:psi|bar|%))?", text):
        assert any(number in line for line in lines)


def test_a_long_name_shrinks_then_wraps() -> None:
    name = "Reef Wreck and River Divers of the Northern Shore"
    one = fitted("RB-014", 60, 20, 7, True)
    assert one is not None
    assert (one.lines, one.size) == (("RB-014",), 20)
    smaller = fitted(name, 95, 20, 7, True)
    assert smaller is not None
    assert smaller.lines == (name,)
    assert 7 <= smaller.size < 20
    broken = fitted(name, 40, 20, 7, True)
    assert broken is not None
    assert (broken.lines, broken.size) == (
        ("Reef Wreck and River Divers of", "the Northern Shore"),
        7,
    )


def test_a_number_is_never_cut() -> None:
    assert fitted("K11820455512345678901234", 20, 12, 6, True) is None
    assert wrapped("Unternehmungsgesellschaft", 20, 8) == ("Unternehmung", "sgesellschaft")
    assert wrapped("to 16 Feb 2027", 20, 9) == ("to", "16 Feb 2027")
    assert wrapped("to 16 Feb 2027", 10, 9) is None


PRINTS = [
    "Łódź Wrocław żółć",
    "Αθήνα Θεσσαλονίκη",
    "Київ Санкт-Петербург ґ",
    "Ærøskøbing Þingvellir",
    "São João, Ñandú, Çeşme",
]


@pytest.mark.parametrize("text", PRINTS)
def test_names_of_europe_have_every_letter(text: str) -> None:
    assert printable(text, "A") == text


MISSING = [
    ("潜水", "RB-014, maker: `潜` cannot be printed (U+6F5C, cjk unified ideograph-6f5c)"),
    ("שלום", "RB-014, maker: `ש` cannot be printed (U+05E9, hebrew letter shin)"),
    ("q\N{COMBINING DIAERESIS}", "RB-014, maker: `\N{COMBINING DIAERESIS}` cannot be printed (U+0308, combining diaeresis)"),
    ("a\x07b", "RB-014, maker: `?` cannot be printed (U+0007, a character without a name)"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), MISSING)
def test_a_missing_letter_is_a_line_to_write_on_where_that_is_asked_for(
    text: str, said: str
) -> None:
    """Within, and no longer after it, whatever was raised there."""
    made, runs = written_on(lambda: printable(f"Quay {text}, 7", "RB-014, maker"))
    assert made.startswith("Quay ")
    assert made.endswith(", 7")
    assert "____" in made
    assert "".join(runs) in text
    with pytest.raises(ZeroDivisionError):
        written_on(lambda: 1 // 0)
    with pytest.raises(PaperError) as told:
        printable(text, "RB-014, maker")
    assert str(told.value) == said


def test_every_run_is_kept_once_and_what_prints_leaves_none() -> None:
    twice = ("潜 a", "b 水 潜", "Łódź")
    assert written_on(lambda: [printable(t, "A") for t in twice]) == (
        ["____ a", "b ____ ____", "Łódź"], ("潜", "水")
    )  # fmt: skip


@pytest.mark.parametrize(("text", "said"), MISSING)
def test_a_missing_letter_is_one_line(text: str, said: str) -> None:
    with pytest.raises(PaperError) as told:
        printable(text, "RB-014, maker")
    assert str(told.value) == said


def test_a_line_end_is_a_blank() -> None:
    assert printable("held for\n  thread wear\n", "A") == "held for thread wear"


def test_letters_in_two_parts_are_put_together() -> None:
    assert printable("Lo\N{COMBINING DIAERESIS}we", "A") == "Löwe"


def test_a_face_is_read_once_however_it_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three ways to ask for two faces once took turns to push each other out."""
    read: list[str] = []
    font = shipped.font
    monkeypatch.setattr(shipped, "font", lambda name: (read.append(name), font(name))[1])
    _read_face.cache_clear()
    for n in range(30):
        printable(f"plain {n}", "here")
        width(f"text {n}", 8)
        width(f"text {n}", 8, bold=True)
        assert face() is face(False) is face(bold=False)
        assert face(True) is face(bold=True)
    assert len(read) == 2


def kinds(of: type[Quantity] = Quantity) -> Iterator[type[Quantity]]:
    for kind in of.__subclasses__():
        yield kind
        yield from kinds(kind)


def test_no_number_is_parted_from_any_unit_there_is() -> None:
    units = {name for kind in kinds() if kind.UNITS for name in kind.unit_names()}
    assert {"ata", "bar abs", "mg/m3", "psi"} <= units
    for unit in units:
        said = f"1.4 {unit}"
        lines = wrapped(f"at {said} oxygen", width(said, 6) + 0.1, 6)
        assert lines is not None
        assert said in lines, lines
