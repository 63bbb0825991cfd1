"""A set that was taken apart: what went into it is in both its cylinders still, and no more is."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from books import GOOD, TODAY, make_book, with_lines
from loglines import fill, held, line, read

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import resolve
from tankbook.records.book import Book
from tankbook.rules.checks import check
from tankbook.rules.fill_history import lines_into, rentals_of, went_into
from tankbook.rules.gate import may_fill

SET = "cylinders: [A, B]\nisolator: open"
APART = f"{SET}\napart: 2026-11-10"
OXYGEN = fill("2026-11-03", "D", gas="oxygen", o2="99.5 %", analysed_by="JO", to="1500 psi")


def book_of(*log: str, doubles: str = APART, day: dt.date = TODAY, **sets: str) -> Book:
    cards = {i: with_lines(GOOD, serial=f"K{n}") for n, i in enumerate("ABC", start=10)}
    book = make_book(cards, sets={"D": doubles, **sets}, log="\n".join(log))
    return book.as_known_on(day)


def told(book: Book) -> dict[str, tuple[str, ...]]:
    return {f.code: tuple(f.touches) for f in check(book, TODAY)}


@pytest.mark.parametrize("id_", ["A", "B"])
def test_what_went_into_it_is_in_both(id_: str) -> None:
    book = book_of(OXYGEN)
    assert held(book, id_) == ("oxygen", "1500 psi")
    assert "contents-differ" in {r.code for r in may_fill(book, id_, TODAY).refusals}
    assert not {"unknown-cylinder-in-log", "unknown-cylinder"} & told(book).keys()
    assert went_into(book, "D", OXYGEN_AT) == ("A", "B")


OXYGEN_AT = dt.datetime(2026, 11, 3, 10, tzinfo=dt.UTC)


def test_what_goes_into_one_of_them_later_is_in_that_alone() -> None:
    own = fill("2026-11-12", "B", gas="oxygen")
    assert [n.at.day for n in lines_into(book_of(OXYGEN, own), "A")] == [3]
    assert [n.at.day for n in lines_into(book_of(OXYGEN, own), "B")] == [3, 12]
    # on the day itself nobody knows which came first
    for day, through in (("2026-11-09", [3, 9]), ("2026-11-10", [3, 10]), ("2026-11-11", [3])):
        lines = lines_into(book_of(OXYGEN, fill(day, "B", gas="oxygen")), "A")
        assert [n.at.day for n in lines] == through
    assert went_into(book_of(), "B", OXYGEN_AT) == ("B", "A")
    assert went_into(book_of(), "B", OXYGEN_AT.replace(day=11)) == ("B",)


def test_until_its_day_it_is_a_set() -> None:
    before = book_of(OXYGEN, day=dt.date(2026, 11, 9))
    assert (list(before.sets), list(before.apart)) == (["D"], [])
    assert may_fill(before, "D", dt.date(2026, 11, 9)).id == "D"
    after = book_of(OXYGEN, day=dt.date(2026, 11, 10))
    assert (list(after.sets), list(after.apart)) == ([], ["D"])
    # a book that was cut is cut again
    assert list(after.as_known_on(dt.date(2026, 11, 9)).sets) == ["D"]


def test_it_cannot_be_asked_about_any_more() -> None:
    said = "sets/D.yaml: D was taken apart on 2026-11-10; ask for A or B"
    with pytest.raises(LedgerError, match=f"^{re.escape(said)}$"):
        resolve(book_of(), "D")
    assert resolve(book_of(), "A") == "A"


def test_a_day_to_come_is_told() -> None:
    book = book_of(doubles=f"{SET}\napart: 2062-01-01")
    assert list(book.sets) == ["D"]
    assert "in-the-future" in told(book)


def test_a_cylinder_of_it_goes_into_another() -> None:
    book = book_of(OXYGEN, E="cylinders: [B, C]\nisolator: open")
    assert "in-two-sets" not in told(book)
    both = fill("2026-11-12", "E", gas="air")
    assert [n.at.day for n in lines_into(book_of(OXYGEN, both, E="cylinders: [B, C]"), "A")] == [3]
    assert [n.at.day for n in lines_into(book_of(OXYGEN, both, E="cylinders: [B, C]"), "C")] == [12]


@pytest.mark.parametrize(
    ("late", "found"),
    [
        (fill("2026-11-11", "D"), ("A", "B")),
        (read("2026-11-11", "900 psi", "D"), ("A", "B")),
        (fill("2026-11-10", "D"), None),
        (fill("2026-11-11", "A"), None),
    ],
)
def test_a_line_of_it_from_later_is_a_fault(late: str, found: tuple[str, ...] | None) -> None:
    assert told(book_of(OXYGEN, late)).get("set-apart") == found
    void = line("2026-11-12", "void", "D", voids="2026-11-11T10:00:00+00:00 D", note="of A")
    assert "set-apart" not in told(book_of(OXYGEN, late, void))


def test_its_rentals_were_of_both() -> None:
    rented = f"{APART}\nrented: [{{on: 2026-11-05, to: C-1, back: 2026-11-07}}]"
    book = book_of(doubles=rented)
    assert [r.to for i in "AB" for r in rentals_of(book, i)] == ["C-1", "C-1"]
    # nobody takes apart what is out
    out = book_of(doubles=rented.replace(", back: 2026-11-07", ""))
    assert (list(out.sets), list(out.apart)) == (["D"], [])
    assert told(out)["apart-and-not"] == ("D",)
    assert not may_fill(out, "A", TODAY).fillable


@pytest.mark.parametrize("sides", ["[]", "[A]", "[A, A]", "[A, Z]", "[Y, Z]"])
def test_one_that_does_not_name_two_is_not_apart(sides: str) -> None:
    over = fill("2026-11-03", "D", to="4300 psi")
    book = book_of(over, doubles=APART.replace("[A, B]", sides))
    assert list(book.sets) == ["D"]
    assert "apart-and-not" in told(book)
    assert not may_fill(book, "D", TODAY).fillable
    if "A" in sides:
        assert not may_fill(book, "A", TODAY).fillable


def test_what_was_decanted_from_it_is_its_gas() -> None:
    log = [OXYGEN, fill("2026-11-05", "C", from_="0 psi", source="D")]
    for doubles in (SET, APART):
        refused = {r.code for r in may_fill(book_of(*log, doubles=doubles), "C", TODAY).refusals}
        assert "made-otherwise" in refused


def test_a_line_under_a_name_that_looks_like_it_touches_both() -> None:
    over = fill("2026-11-03", "d", to="4300 psi")
    for doubles in (SET, APART):
        book = book_of(over, doubles=doubles)
        for id_ in "AB":
            refused = {r.code for r in may_fill(book, id_, TODAY).refusals}
            assert "unknown-cylinder-in-log" in refused


def test_its_older_name_is_nobodys() -> None:
    book = book_of(E="cylinders: [A, B]\nformerly: [D]\napart: 2026-11-09", doubles=SET)
    assert set(told(book)["former-id-taken"]) == {"D", "E", "A", "B"}


TIMED = (
    f"{SET}\napart: 2026-11-10\napart_by: MV\napart_at: '09:00'\napart_bled: heard\n"
    "made_up: [{on: 2026-11-10, by: MV, at: '15:00', bled: heard}]\n"
)


@pytest.mark.parametrize(
    ("hour", "through"), [("08", True), ("09", True), ("11", False), ("15", True), ("16", True)]
)
def test_of_one_day_the_times_say_whether_it_went_into_the_other(hour: str, through: bool) -> None:
    book = book_of(own := fill(f"2026-11-10T{hour}", "B"), doubles=TIMED)
    assert bool(lines_into(book, "A")) is through
    at = dt.datetime(2026, 11, 10, int(hour), tzinfo=dt.UTC)
    assert went_into(book, "B", at) == (("B", "A") if through else ("B",))
    of_set = book_of(own.replace("=B;", "=D;"), doubles=TIMED)
    assert ("set-apart" in told(of_set)) is not through


@pytest.mark.parametrize(
    ("made", "found"),
    [
        ("at: '08:59'", True),
        ("at: '09:00'", False),
        ("at: '15:00'", False),
        ("note: untimed", False),
        ("at: '15:00', apart: 2026-11-10, apart_by: MV, apart_at: '14:59'", True),
        ("at: '15:00', apart: 2026-11-10, apart_by: MV, apart_at: '15:01'", False),
        ("at: '15:00', apart: 2026-11-10, apart_by: MV", False),
        ("at: '15:00', apart: 2026-11-11, apart_by: MV, apart_at: '14:59'", False),
    ],
)
def test_it_is_not_made_up_again_before_it_was_taken_apart(made: str, found: bool) -> None:
    doubles = TIMED.replace("at: '15:00'", made)
    assert ("made-up-differs" in told(book_of(doubles=doubles))) is found
