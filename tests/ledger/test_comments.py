"""What stands behind comment signs of a card is heard where it tells against its cylinder."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from tankbook.ledger.comments import comments_of
from tankbook.ledger.load import load
from tankbook.records.node import Severity
from tankbook.rules.checks import check, of_card
from tankbook.rules.gate import may_fill

ROOT = Path(__file__).parents[2]
DAY = dt.date(2026, 11, 25)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("status: in-service # condemned, see sheet\n", [("1:20", "condemned, see sheet", True)]),
        ("status: in-service #condemned\n", [("1:20", "condemned", True)]),
        ("# out\n# for good\nserial: A\n", [("1:1", "out for good", False)]),
        ("# out\n\n# for good\n", [("1:1", "out", False), ("3:1", "for good", False)]),
        ("serial: A # one\n# two\n", [("1:11", "one", True), ("2:1", "two", False)]),
        ("valve:\n  outlet: yoke  ## bent\n", [("2:17", "bent", True)]),
        ("inspected:\n  - on: 2020 # a\n    by: T # b\nnote: x # c\n", [("2:14", "a", False), ("3:11", "b", False), ("4:9", "c", True)]),
        ('note: "cylinder # 4" # bent\n', [("1:22", "bent", True)]),
        ("note: |\n  a # b\nplace: c # d\n", [("3:10", "d", True)]),
        ("\ufeffplace: a # b\r\nserial: c\r\n", [("1:10", "b", True)]),
        ("# yaml-language-server: $schema=./x\nserial: A#4\nnote: #\n", []), ("", []),
    ],
)  # fmt: skip
def test_the_comments_of_a_card(text: str, said: list[tuple[str, str, bool]]) -> None:
    found = comments_of(text, "A")
    assert [(str(c.where)[2:], c.text, c.behind) for c in found] == said


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    return Path(shutil.copytree(ROOT / "example_ledger", tmp_path / "L"))


def answer_with(ledger: Path, old: str, new: str) -> tuple[bool, list[tuple[str, str]]]:
    """Whether RB-011 may be filled with a changed card, and what is told of its comments."""
    card = ledger / "cylinders/RB-011.yaml"
    text = card.read_text()
    assert old in text
    card.write_text(text.replace(old, new, 1))
    book = load(ledger, clock=DAY).as_known_on(DAY)
    fit = may_fill(book, "RB-011", DAY)
    codes = ("comment-tells-against", "broken-file", "hidden-value")
    return fit.fillable, [(r.code, r.gate) for r in fit.reasons if r.code in codes]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("status: in-service", "status: in-service # condemned, see sheet"),
        ("place: rack 1", "place: rack 1   # DO NOT FILL, crack in neck"),
        ("use: rental", "use: rental #gesperrt"),
        ("valve: {", "note: good # leaks at the spindle\nvalve: {"),
        ("place: rack 1", "note: # DO NOT FILL, crack in neck"),
        ("place: rack 1", "place: # 3"),
        ("place: rack 1", "note:\n  # out of service"),
    ],
)
def test_what_speaks_against_a_cylinder_holds_it(ledger: Path, old: str, new: str) -> None:
    fillable, told = answer_with(ledger, old, new)
    assert not fillable
    assert [gate for _, gate in told] == ["refuse"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("serial:", "# DO NOT FILL\nserial:"),
        ("result: pass, sticker: issued}\nrented", "result: pass, sticker: issued} # cracked\nrented"),
    ],
)  # fmt: skip
def test_in_a_line_of_its_own_or_behind_an_entry_it_is_told(
    ledger: Path, old: str, new: str
) -> None:
    assert answer_with(ledger, old, new) == (True, [("comment-tells-against", "warn")])


def test_what_is_said_of_a_set_is_said_of_both_its_sides(ledger: Path) -> None:
    card = ledger / "sets/DB-01.yaml"
    lines = card.read_text().splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("cylinders:"))
    lines[at] += " # do not fill"
    card.write_text("\n".join(lines) + "\n")
    book = load(ledger, clock=DAY).as_known_on(DAY)
    sides = book.sets["DB-01"].cylinders
    for id_ in ("DB-01", *sides):
        told = {r.code: r.gate for r in may_fill(book, id_, DAY).reasons}
        assert told["comment-tells-against"] == "refuse"


@pytest.mark.parametrize(
    "comment",
    ["from the old book", "left side of DB-01", "read off the shoulder by JW", "see page 12",
     "bought with RB-012", "holiday week", "black, yellow top"],
)  # fmt: skip
def test_what_honest_people_write_is_let_be(ledger: Path, comment: str) -> None:
    assert answer_with(ledger, "place: rack 1", f"place: rack 1 # {comment}") == (True, [])


def test_nobody_tells_against_a_cylinder_of_the_example_in_a_comment() -> None:
    book = load(ROOT / "example_ledger", clock=DAY)
    found = [f for f in check(book, DAY) if f.code == "comment-tells-against"]
    assert book.comments
    assert found == []
    assert all(f.severity is not Severity.FAULT for f in check(book, DAY))


def told_of(ledger: Path, old: str, new: str) -> list[str]:
    card = ledger / "cylinders/RB-011.yaml"
    text = card.read_text()
    assert old in text
    card.write_text(text.replace(old, new, 1))
    book = load(ledger, clock=DAY).as_known_on(DAY)
    mine = of_card(book, book.cylinders["RB-011"], DAY)
    codes = {"comment-tells-against", "comment-not-judged"}
    at_gate = {r.code for r in may_fill(book, "RB-011", DAY).reasons}
    return sorted({f.code for f in mine if f.code in codes and f.code in at_gate})


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("status: in-service", "status: in-service # Jim has it"), ("status: in-service", "status: in-service # red"),
        ("status: in-service", "status: in-service # see Bob"), ("status: in-service", "status: in-service # 3"),
        ("service_pressure: 3000 psi", "service_pressure: 3000 psi # 300 on the shoulder"),
        ("service_pressure: 3000 psi", "service_pressure: 3000 psi # 2250?"), ("place: rack 1", "place: rack 1 # Jim has it"),
        ("place: rack 1", "place: rack 1 # lent to the school"), ("place: rack 1", "place: rack 1 # bei Müller"),
    ],
)  # fmt: skip
def test_what_nobody_knows_beside_what_bears_on_fitness_is_told(
    ledger: Path, old: str, new: str
) -> None:
    assert told_of(ledger, old, new) in (["comment-not-judged"], ["comment-tells-against"])


@pytest.mark.parametrize(
    "line", ["#status: held", "# status: at-test", "#held:\n#  - {on: 2026-11-01, why: odd}"]
)
def test_a_line_that_was_put_behind_a_sign_is_told(ledger: Path, line: str) -> None:
    assert told_of(ledger, "use: rental", f"use: rental\n{line}") == ["comment-tells-against"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("status: in-service", "status: in-service # ok"), ("status: in-service", "#status: in-service\nstatus: in-service"),
        ("service_pressure: 3000 psi", "service_pressure: 3000 psi # read off the shoulder by JW"),
        ("service_pressure: 3000 psi", "service_pressure: 3000 psi # as stamped"), ("service_pressure: 3000 psi", "service_pressure: 3000 psi # 3000"),
        ("service_pressure: 3000 psi", "service_pressure: 3000 psi # from the old book, page 3"),
        ("place: rack 1", "place: rack 1 # by the door"), ("use: rental", "use: rental # holiday week"),
    ],
)  # fmt: skip
def test_what_says_from_where_it_is_known_is_let_be(ledger: Path, old: str, new: str) -> None:
    assert told_of(ledger, old, new) == []


@pytest.mark.parametrize("where", ["top", "middle", "foot", "entry"])
@pytest.mark.parametrize(
    "comment",
    ["held since March", "see Bob", "Jim has it", "not this one", "red", "ask Dave first", "lent to the school",
     "bought 2019. Held for the court", "on hold until JW is back", "gesperrt seit Mai", "bei M\u00fcller"],
)  # fmt: skip
def test_a_line_that_keeps_a_cylinder_back_is_told(ledger: Path, comment: str, where: str) -> None:
    line = f"# {comment}\n"
    old, new = {
        "top": ("serial:", f"{line}serial:"),
        "middle": ("status: in-service", f"{line}status: in-service"),
        "foot": ("requalified:", f"{line}requalified:"),
        "entry": ("sticker: issued}\nrented", f"sticker: issued}} {line}rented"),
    }[where]
    assert told_of(ledger, old, new) in (["comment-not-judged"], ["comment-tells-against"])


@pytest.mark.parametrize(
    "comment",
    ["blue boot", "see page 12", "see rules/shop.yaml", "Third winter on the shelf", "from the old book",
     "bought with RB-012", "Goes to Weir Street with the next batch", "early: the owner asked for it",
     "JW had the two cards side by side", "read off the shoulder by JW", "see the old card"],
)  # fmt: skip
def test_prose_in_a_line_of_its_own_is_let_be(ledger: Path, comment: str) -> None:
    assert told_of(ledger, "serial:", f"# {comment}\nserial:") == []


def test_no_line_of_the_example_is_told_as_keeping_one_back() -> None:
    book = load(ROOT / "example_ledger", clock=DAY)
    assert [f for f in check(book, DAY) if f.code == "comment-not-judged"] == []
