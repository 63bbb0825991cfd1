"""A cylinder without a card at the counter: asked about, booked in and filled in one line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
ON = "2026-11-25"
MARKS = "DOT-3AL 3000 K990204 09A21 10 T123 26"
YOUNG = "DOT-3AL 3000 K990204 09A23"
SEEN = ("--maker", "Example Cylinder Co", "--outlet", "yoke", "--sticker", "2026-05")
FILL = ("--from", "500", "--to", "2900", "--temperature", "65", "--source", "B1", "--looked")
AT = ("--on", ON, "--at", "12:00", "--by", "MV")


def seen(more: tuple[str, ...]) -> tuple[str, ...]:
    """What was seen of a stranger, less what is said otherwise: an option is taken once."""
    pairs = zip(SEEN[::2], SEEN[1::2], strict=True)
    return (*(word for pair in pairs if pair[0] not in more for word in pair), *more)


def shelf(root: Path) -> dict[str, str]:
    files = (p for p in root.rglob("*") if p.is_file() and p.parent.name != ".tankbook")
    return {p.relative_to(root).as_posix(): p.read_text() for p in files}


def test_a_stranger_is_booked_in_and_filled_by_one_line(tb: Run, ledger: Path) -> None:
    got = tb("fill", "--marks", MARKS, *SEEN, "--ref", "C-0192", *FILL, *AT, "--ledger", ledger)
    assert got.code == 0, got.out
    assert got.first.startswith("Booked in CU-001: serial K990204, DOT-3AL, 3000 psi")
    card = (ledger / "cylinders/CU-001.yaml").read_text()
    assert "owner: C-0192" in card
    assert "{on: 2026-05, checklist: sticker-seen, result: pass" in card
    last = (ledger / "fills/2026.csv").read_text().splitlines()[-1]
    assert last.split(",")[1:5] == ["CU-001", "fill", "500 psi", "2900 psi"]
    assert tb("validate", "--ledger", ledger).out.count("CU-001") == 0


def test_a_dry_run_and_json_write_nothing_more_than_they_say(tb: Run, ledger: Path) -> None:
    before = shelf(ledger)
    got = tb("fill", "--marks", MARKS, *SEEN, *FILL, *AT, "--dry-run", "--json", "--ledger", ledger)
    assert (got.json["dry_run"], got.json["recorded"]) == (True, False)
    assert "CU-001" in got.out
    assert shelf(ledger) == before


def test_a_stranger_is_asked_about_and_nothing_is_recorded(tb: Run, ledger: Path) -> None:
    before = shelf(ledger)
    got = tb("may-fill", "--marks", MARKS, *SEEN, "--on", ON, "--ledger", ledger)
    assert got.code == 0
    assert got.first.startswith("YES K990204 air: 3000 psi at 70 degF")
    assert "its neck and valve thread is not recorded" in got.out
    assert "It was asked about by its marks, and nothing was recorded" in got.out
    assert shelf(ledger) == before


@pytest.mark.parametrize(
    ("marks", "more", "why"),
    [
        ("DOT-3AL 3000 K990204 09A21", (), "hydro lapsed Sep 2026"),
        (YOUNG, ("--sticker", "2025-05"), "visual lapsed"),
        (YOUNG, ("--sticker", ""), "no visual on record"),
        (MARKS, ("--maker", ""), "its alloy is not recorded, nor its maker"),
        (MARKS, ("--outlet", ""), "neither its valve's rating nor its outlet"),
        (MARKS, ("--set", "alloy=6351"), "6351"),
        ("DOT-3AL 3000 K990204 09A85 10 T123 26", ("--maker", "Walter Kidde"), "6351"),
        (MARKS, ("--set", "neck_thread=M25x2", "--set", "valve.thread=3/4-14 NPSM"), "differ"),
        ("DOT-3AL 3000 K990204 09A21 10 T123 26 CONDEMNED", (), "condemned"),
        ("DOT-E 3000 K990204 09A21 10 T123 26", (), "permit"),
    ],
)
def test_what_refuses_a_card_refuses_a_stranger(
    tb: Run, ledger: Path, marks: str, more: tuple[str, ...], why: str
) -> None:
    before = shelf(ledger)
    asked = tb("may-fill", "--marks", marks, *seen(more), "--on", ON, "--ledger", ledger)
    assert asked.code == 1, asked.out
    assert why in " ".join(asked.out.split())
    got = tb("fill", "--marks", marks, *seen(more), *FILL, *AT, "--ledger", ledger)
    assert got.code == 1, got.out
    assert "nothing was recorded" in " ".join(got.out.split())
    assert got.first.startswith("NO")
    assert "* CU-001" not in got.out
    assert shelf(ledger) == before


CONDEMNED = books.stamped(
    books.GOOD.replace("K118204", "K990204").replace(
        "in-service", "condemned\ncondemned: [{on: 2026-03-01, by: T123, why: neck crack}]"
    )
)


@pytest.mark.parametrize(
    ("serial", "maker"),
    [
        ("K990204", "Example Cylinder Co"),
        ("k-990204", "Example Cylinder Co"),
        ("K99O2O4", "Example Cylinder Co"),
        ("K990204", ""),
    ],
)
def test_a_serial_on_file_is_asked_about_under_its_own_id(
    tb: Run, ledger: Path, serial: str, maker: str
) -> None:
    (ledger / "cylinders/CU-007.yaml").write_text(CONDEMNED)
    line = ("--marks", f"DOT-3AA 3000 {serial} 09A21 10 T123 26", *seen(("--maker", maker)))
    asked = tb("may-fill", *line, "--on", ON, "--ledger", ledger)
    assert asked.code == 1
    assert "NO  CU-007: it is condemned: neck crack" in asked.out
    got = tb("fill", *line, *FILL, *AT, "--ledger", ledger)
    assert got.code == 1
    assert "CU-007" in got.out
    assert not (ledger / "cylinders/CU-008.yaml").exists()


@pytest.mark.parametrize(
    "marks",
    [
        "DOT-3AL 3000 {} 09A21", "{} DOT-3AL 3000 09A21", "TC-3ALM 207 {} 09A21", "DOT-3AL 3000 09A21 {}"
    ],
)  # fmt: skip
@pytest.mark.parametrize("serial", ["M4242", "F77012", "AB12", "K5", "H112233"])
def test_a_serial_that_is_not_told_from_other_marks_is_said_as_the_refusal_says(
    tb: Run, ledger: Path, marks: str, serial: str
) -> None:
    """What is refused for want of a serial names what it may be, and the line that it names is
    taken, by whoever asks, fills and books in."""
    line = ("--marks", marks.format(serial))
    asked = tb("may-fill", *line, *SEEN, "--on", ON, "--ledger", ledger)
    if asked.code == 2:
        assert f'if its serial is {serial}: --set serial="{serial}"' in " ".join(asked.err.split())
        line = (*line, "--set", f"serial={serial}")
        asked = tb("may-fill", *line, *SEEN, "--on", ON, "--ledger", ledger)
    assert asked.code in (0, 1), asked.err
    assert serial in asked.first
    filled = tb("fill", *line, *SEEN, *FILL, *AT, "--ledger", ledger)
    assert ("serial" in filled.first) or filled.code == 1, filled.out
    assert "can be told to be the serial" not in filled.out
    stock = ("book-in", "--marks", marks.format(serial), "--use", "sale", "--on", ON, "--by", "MV")
    got = tb(*stock, "--dry-run", "--ledger", ledger)
    if got.code:
        assert f"`--serial {serial}`" in " ".join(got.out.split()), got.out
        got = tb(*stock, "--serial", serial, "--dry-run", "--ledger", ledger)
    assert f"serial {serial}" in " ".join(got.out.split()), got.out


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ((), "name what is asked about"),
        (("RB-014", "--marks", MARKS), "name what is asked about"),
        (("RB-014", "--maker", "X"), "a walk-in's marks are not said"),
        (("--marks", "   "), "a walk-in's marks are not said"),
        (("--marks", "DOT-3AL 3000 09A21"), "none of the marks can be told to be the serial"),
        (("--marks", "DOT-3AL 3000 ab-12 34x 09A21"), 'it with --set serial="ab-12 34x"'),
        (
            ("--marks", "CTC/DOT 3AA2250 H112233 MFG 5-90 11+15"),
            'not read of the line: H112233, MFG, 11+15; if its serial is H112233: --set serial="H112233"',
        ),
        (
            ("--marks", "TC-3ALM 207/DOT-3AL 3000 Q77 5/20 03▲25"),
            'not read of the line: Q77, 03▲25; if its serial is Q77: --set serial="Q77"',
        ),
        (("--marks", "DOT-3AL 3000 \x1b[31mK1 09A21"), "plain text"),
        (("--marks", MARKS, "--set", "nonsense=1"), "is not KEY=VALUE of a card"),
    ],
)
def test_a_question_that_cannot_be_understood(
    tb: Run, ledger: Path, line: tuple[str, ...], said: str
) -> None:
    got = tb("may-fill", *line, "--ledger", ledger)
    assert got.code == 2
    assert said in got.err
    assert "\x1b" not in got.err


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("RB-014",), "--marks is of one walk-in"),
        (("--happened", "it was filled"), "--marks and --happened do not go together"),
        (("--ref", "Ann Example"), "reads like a name"),
        (("--from", "400"), "--from is given 2 times"),
    ],
)
def test_a_fill_that_cannot_be_understood(
    tb: Run, ledger: Path, more: tuple[str, ...], said: str
) -> None:
    got = tb("fill", "--marks", MARKS, *SEEN, *FILL, *more, *AT, "--ledger", ledger)
    assert got.code == 2
    assert said in got.err


def test_whose_it_is_makes_it_a_customers(tb: Run, ledger: Path) -> None:
    line = ("book-in", "--marks", MARKS, "--ref", "C-0192", "--on", ON, "--by", "MV")
    got = tb(*line, "--ledger", ledger)
    assert got.code == 0
    assert "a customer's" in got.first
    assert "owner: C-0192" in (ledger / "cylinders/CU-001.yaml").read_text()
    named = tb("book-in", "--serial", "Z9", "--ref", "Ann Example", "--ledger", ledger)
    assert (named.code, "reads like a name" in named.err) == (2, True)


def test_a_mend_that_names_what_has_no_card_says_how_it_gets_one(tb: Run, ledger: Path) -> None:
    """`inspect CU-001` cannot be typed before there is a CU-001."""
    got = tb("fill", "--marks", YOUNG, *seen(("--sticker", "")), *FILL, *AT, "--ledger", ledger)
    assert got.code == 1
    told = [r for r in " ".join(got.out.split()).split("* ") if "CU-001" in r]
    assert told
    assert all(
        "once it is booked in (`tankbook book-in`" in r and "--sticker MONTH" in r for r in told
    )


COUNTER = {
    "may-fill": (),
    "fill": ("--ref", "C-0192", *FILL, *AT, "--dry-run"),
    "refuse": ("--reason", "as shown", "--told", "in person", *AT, "--dry-run"),
    "book-in": ("--quick", "--use", "customer", "--ref", "C-0192", *AT[:2], "--dry-run"),
}


@pytest.mark.parametrize("word", COUNTER)
@pytest.mark.parametrize(("marks", "told"), [("06C85", True), ("06A12", False)])
def test_that_it_is_of_6351_is_said_at_the_counter_whatever_is_asked(
    tb: Run, ledger: Path, marks: str, told: bool, word: str
) -> None:
    more = COUNTER[word] if word != "may-fill" else ("--on", ON)
    who = seen(("--maker", "Kidde" if told else "Example Cylinder Co"))
    shoulder = f"DOT-3AL 3000 K990204 {marks} 10 T123 24"
    got = tb(word, "--marks", shoulder, *who, *more, "--ledger", ledger)
    said = " ".join((got.out + got.err).split())
    assert ("aluminium of alloy 6351 cracks at neck and shoulder" in said) is told, said


def test_a_mend_that_names_what_has_no_card_says_when_it_can_be_typed(
    tb: Run, ledger: Path
) -> None:
    on = ("--on", "2026-11-25", "--ledger", ledger)
    tb("refuse", "--serial", "K990300", "--reason", "valve leaks", "--by", "MV", *on)
    asked = ("--marks", "DOT-3AL 3000 K990300 09A23", "--maker", "Example Cylinder Co")
    said = " ".join(tb("may-fill", *asked, *on).out.split())
    assert "`tankbook valve K990300 --did serviced`" in said
    assert "A line that names K990300 is typed once it is booked in: `tankbook book-in`" in said
    other = " ".join(
        tb("may-fill", asked[0], "DOT-3AL 3000 K990301 09A23", *asked[2:], *on).out.split()
    )
    assert "is typed once it is booked in" not in other
