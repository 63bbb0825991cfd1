"""Lists of words: what a line says, and that what is frozen is what people edit."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import tankbook
from tankbook.records.markevidence import STAMPS
from tankbook.records.markshapes import SHAPES
from tankbook.records.words import Material
from tankbook.units import lexicon, shipped
from tankbook.units.lexicon import Lexicon, spelt, words_in
from tests.support.needles import needles_of

LINES = {
    "thing": ["dents?|cracks?", "burn*"],
    "denied": ["no <thing>", "(the )?<thing>_found", "~[ -]free", r"needs? (?!no)\w~"],
    "number": [r"(?P<figure>\d+)\w*_psi", "[_*(]+"],
    "set": ["a b|c", "d"],
    "listed": ["neck split, riss", "o.b"],
    "shape": ["[0-9]{2}<end>"],
    "end": ["(?=$|[ ,])"],
    "same": [r"(hardness) \d+ => \1", "as new => as-new", r"be (?=found) =>"],
}


@pytest.fixture
def own(monkeypatch: pytest.MonkeyPatch) -> Lexicon:
    """A lexicon of the lines above."""
    monkeypatch.setattr(lexicon, "words", lambda: {"own": LINES})
    needed = {
        name: [needles_of(spelt("own", line.strip("~"))) for line in lines]
        for name, lines in LINES.items()
    }
    monkeypatch.setattr(lexicon, "needles", lambda: {"own": needed})
    return Lexicon("own")


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("denied", "there were No Dents at all", "No Dents"),
        ("denied", "no dented side", ""),  # a phrase stands whole
        ("denied", "no burnt paint", "no burnt"),
        ("denied", "the cracks \n found", "the cracks \n found"),
        ("denied", "oil-free", "-free"),
        ("denied", "needs work", "needs w"),
        ("denied", "needs none", ""),
        ("number", "3000x  psi", "3000x  psi"),
        ("number", "a_*(b", "*("),  # a set of letters is one of its signs
        ("number", "a _b", ""),
    ],
)
def test_a_line_says_what_it_finds(own: Lexicon, name: str, text: str, said: str) -> None:
    assert own.said(name, text) == said
    assert own.holds(name, text) is bool(said)


def test_a_group_that_is_named_gives_what_it_found(own: Lexicon) -> None:
    found = own.phrases("number").search("at 3000 psi")
    assert found is not None
    assert found["figure"] == "3000"


def test_what_is_done_with_a_list(own: Lexicon) -> None:
    assert own.words("set") == {"a", "b", "c", "d"}
    assert own.words("set", "listed") > {"a", "neck"}
    assert own.listed("listed") == ("neck split", "riss", "o.b")
    assert own.without("thing", "a crack, burnt") == "a  ,  "
    assert own.goes_on("denied", "well, no dents", 6)
    assert not own.goes_on("denied", "well, no dents", 5)
    assert own.shape("shape").match("X12", 1)
    assert own.text("shape") == "(?:[0-9]{2}(?:(?=$|[ ,])))"
    assert "set" in own
    assert "sets" not in own
    changed = "hardness 98 as new to be found"
    for old, new in own.changes("same"):
        changed = old.sub(new, changed)
    assert changed.split() == ["hardness", "as-new", "to", "found"]


def test_letters_count_as_they_are_where_a_lexicon_says_so(own: Lexicon) -> None:
    assert Lexicon("own", re.NOFLAG).said("denied", "No Dents") == ""


def test_the_words_of_a_text() -> None:
    assert words_in("No (dents), Risse_3!") == ["no", "dents", "risse", "3"]


# --- what comes with tankbook ----------------------------------------------------------------------


def asked() -> Iterator[tuple[str, str]]:
    """Every list that is asked for by its name in a module with a lexicon, with its subject."""
    for path in Path(tankbook.__file__).parent.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        subjects = set(re.findall(r'^_\w+ = Lexicon\("(\w+)"', text, re.MULTILINE))
        subjects |= {"stamps"} if "STAMPS" in text else set()
        subjects |= {"headings"} if "phrases_of(" in text else set()
        for node in ast.walk(ast.parse(text)) if subjects else ():
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield from ((subject, node.value) for subject in subjects)


def test_every_list_is_asked_for() -> None:
    """By a name that stands in the module of its subject, or as a part of another list; those of
    `letting_go` are asked for by what their words do, and shapes by what a mark could be; of what
    contradicts a card by its material, and of headings by the kind that they name."""
    known = {(subject, name) for subject, lists in shipped.words().items() for name in lists}
    parts = {
        (subject, part)
        for subject, lists in shipped.words().items()
        for line in (line for lines in lists.values() for line in lines)
        for part in re.findall(r"<([a-z ]+)>", line)
    }
    answering = {(s, n) for s, n in known if re.match("(fault|parts|measures|could be) ", n)}
    kinds = {("headings", f"{kind} heading") for kind in ("fault", "good", "part")}
    kinds |= {("headings", f"beside {kind}") for kind in ("fault", "good", "part")}
    materials = {("contradicted", material.value) for material in Material}
    assert known - set(asked()) - parts - answering - kinds - materials == set()


def test_no_phrase_finds_what_is_empty() -> None:
    for subject, lists in shipped.words().items():
        if subject in {"stamps", "headings"}:  # shapes, and cells that are compared as they stand
            continue
        for name in lists.keys() - {"all well", "same"}:
            assert not Lexicon(subject).holds(name, ""), (subject, name)
    assert all(old.search("") is None for old, _ in Lexicon("letting_go").changes("same"))


def test_no_shape_of_a_mark_takes_nothing() -> None:
    for name, _ in SHAPES:
        assert STAMPS.shape(name).match("") is None, name


PHRASES = [
    (subject, name)
    for subject, lists in shipped.words().items()
    if subject != "headings"  # cells that are compared as they stand
    for name, lines in lists.items()
    if not any(" =>" in line for line in lines)
]


@settings(max_examples=400, suppress_health_check=list(HealthCheck))
@given(data=st.data(), subject_and_name=st.sampled_from(PHRASES))
def test_the_lines_that_are_made_for_a_text_find_what_all_of_them_find(
    data: st.DataObject, subject_and_name: tuple[str, str]
) -> None:
    subject, name = subject_and_name
    own = Lexicon(subject)
    sought = own.shape(name) if subject == "stamps" else own.phrases(name)
    line = data.draw(st.sampled_from(shipped.words()[subject][name]))
    try:
        told = data.draw(st.from_regex(re.compile(spelt(subject, line.strip("~")), re.IGNORECASE)))
    except (NotImplementedError, re.error):  # what looks around cannot be drawn from
        assume(False)
    for text in (told, told.upper(), f"was {told}, and {told}"):
        found = [m.span() for m in sought.finditer(text)]
        assert found == [m.span() for m in sought.whole.finditer(text)]
