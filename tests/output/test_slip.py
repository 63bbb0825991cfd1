"""The slip: the alloy in words, and a sticker that agrees with what is due."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, STATION, make_book, stamped, with_lines

from tankbook.acts.hand_over import slip_of
from tankbook.output import slip
from tankbook.output.page import Page
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import State
from tankbook.rules.old_alloy import WHY
from tankbook.rules.schedule import due_of_cylinder

SOLD = "handed_over: [{on: 2026-11-25, by: MV, to: C-1, slip: 2026-001}]"


def said(looked: str, today: str = "2026-11-25", **changes: str | None) -> str:
    card = with_lines(GOOD, use="sale", status=f"sold\n{SOLD}", **changes)
    book = make_book({"A": stamped(card.replace("2026-02-09", looked))}, station=STATION)
    found = slip_of(book, "A", dt.date.fromisoformat(today))
    assert found is not None
    return " ".join(slip.text(found, "Quay", Page()).split())


@pytest.mark.parametrize(
    ("looked", "visual", "sticker"),
    [
        ("2026-11-10", "visual last 10 Nov 2026, next by 10 Nov 2027", "sticker Nov 2026; it holds to 10 Nov 2027"),
        ("2026-11", "visual last Nov 2026, next by 30 Nov 2027", "sticker Nov 2026; it holds to 30 Nov 2027"),
        ("2026-02", "visual last Feb 2026, next by 28 Feb 2027", "sticker Feb 2026; it holds to 28 Feb 2027"),
    ],
)  # fmt: skip
def test_the_sticker_agrees_with_what_is_due(looked: str, visual: str, sticker: str) -> None:
    text = said(looked)
    assert visual in text
    assert sticker in text


def test_a_sticker_that_is_not_what_counts_says_what_does() -> None:
    newer = "\n  - {on: 2026-09, method: hydrostatic, by: T123, stamp: 09 T123 26}"
    card = with_lines(GOOD, use="sale", status=f"sold\n{SOLD}").replace(
        "method: hydrostatic, by: maker}", f"method: hydrostatic, by: maker}}{newer}"
    )
    book = make_book({"A": stamped(card)}, station=STATION)
    found = slip_of(book, "A", dt.date(2026, 11, 25))
    assert found is not None
    text = " ".join(slip.text(found, "Quay", Page()).split())
    assert "visual last Sep 2026" in text
    assert "sticker Feb 2026; what counts is of Sep 2026" in text


@pytest.mark.parametrize(
    ("today", "state"),
    [
        ("2026-11-01", State.OK),
        ("2026-11-30", State.OK),
        ("2027-11-30", State.SOON),
        ("2027-12-01", State.OVERDUE),
        ("2026-10-31", State.MISSING),
    ],
)
def test_a_look_dated_by_its_month_counts_from_its_first_day_to_the_end_of_its_month(
    today: str, state: State
) -> None:
    card = stamped(GOOD.replace("2026-02-09", "2026-11"))
    day = dt.date.fromisoformat(today)
    book = make_book({"A": card}, station=STATION).as_known_on(day)
    dues = {d.obligation: d for d in due_of_cylinder(book, book.cylinders["A"], day)}
    assert dues[Obligation.VISUAL].state is state


def test_the_alloy_is_said_in_words() -> None:
    assert f"alloy 6351: {WHY}" in said("2026-11-10", alloy='"6351"')
    assert "6351" not in said("2026-11-10")
