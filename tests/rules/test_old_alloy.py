"""Alloy 6351 is said in words, with why, wherever it is why."""

from __future__ import annotations

import pytest
from books import GOOD, STATION, TODAY, make_book, stamped, with_lines

from tankbook.acts.refuse import refuse
from tankbook.output import may_fill as output
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.edits import Act
from tankbook.rules.gate import may_fill
from tankbook.rules.old_alloy import WHY, said_of


def book_of(**changes: str | None) -> Book:
    return make_book({"A": stamped(with_lines(GOOD, **changes))}, station=STATION)


@pytest.mark.parametrize(
    ("changes", "begins"),
    [
        ({"alloy": '"6351"'}, f"6351: {WHY}"),
        ({"alloy": "6351-T6"}, f"6351: {WHY}"),
        (
            {"alloy": None, "maker": "Kidde"},
            f"6351, taken for it by alloy.kidde: {WHY}",
        ),
        ({"alloy": None, "maker": None}, f"not known, so that it may be 6351: {WHY}"),
        ({"alloy": "6061"}, ""),
        ({"alloy": None, "material": "steel", "specification": "DOT-3AA"}, ""),
    ],
)
def test_what_is_said_of_a_cylinder(changes: dict[str, str | None], begins: str) -> None:
    book = book_of(**changes)
    assert said_of(book, book.cylinders["A"]) == begins


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"alloy": '"6351"'}, True),
        ({"alloy": None, "maker": None}, True),
        ({"alloy": "6061"}, False),
        ({"alloy": "6061", "status": "held\nheld: [{on: 2026-11-01, by: MV, why: dent}]"}, False),
    ],
)
def test_a_refusal_that_rests_on_the_alloy_says_why(
    changes: dict[str, str | None], told: bool
) -> None:
    answer = may_fill(book_of(**changes), "A", TODAY)
    said = " ".join(output.text([answer], Page()).split())
    assert (f"why: {WHY}" in said) is told
    assert not told or not answer.fillable


def test_the_owner_is_told_at_the_counter() -> None:
    act = refuse(book_of(alloy='"6351"', use="customer"), ["A"], by="MV", on=TODAY)
    assert isinstance(act, Act)
    assert f"A: tell the owner: its alloy is 6351: {WHY}" in act.notes
    other = refuse(book_of(use="customer"), ["A"], by="MV", on=TODAY, reasons=["no time"])
    assert isinstance(other, Act)
    assert not any("6351" in note for note in other.notes)
