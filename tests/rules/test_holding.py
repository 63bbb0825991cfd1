"""How long an answer holds: the gate itself says so, day by day."""

from __future__ import annotations

import datetime as dt

import books
import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from tankbook.records.book import Book
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill
from tankbook.rules.holding import FURTHEST, nothing_against_until, station_until
from tankbook.rules.schedule import due

TODAY = books.TODAY
DAY = dt.timedelta(days=1)


def until(book: Book, day: dt.date) -> dt.date | None:
    dues = [d for d in due(book, day) if d.id == "RB-014"]
    station = station_until(book, day, due(book, day))
    return nothing_against_until(book, may_fill(book, "RB-014", day), day, dues, station)


def of(hydro: str, visual: str, station: str | None) -> Book:
    card = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual)
    return books.make_book({"RB-014": books.stamped(card)}, station=station)


@settings(max_examples=25, deadline=None)
@given(
    hydro=st.sampled_from(["2021-10", "2021-12", "2022-01", "2024-03"]),
    visual=st.dates(dt.date(2025, 11, 1), dt.date(2026, 11, 20)).map(str),
    station=st.sampled_from([books.STATION, None]),
    ahead=st.integers(0, 100),
)
def test_the_gate_says_the_same_on_every_day_to_it(
    hydro: str, visual: str, station: str | None, ahead: int
) -> None:
    book = of(hydro, visual, station)
    found = until(book, TODAY)
    assert (found is None) == (not may_fill(book, "RB-014", TODAY).fillable)
    if found is not None:
        day = min(found, TODAY + ahead * DAY)
        assert may_fill(book, "RB-014", day).fillable
        assert until(book, day) == found or found == TODAY + FURTHEST


@settings(max_examples=15, deadline=None)
@given(
    hydro=st.sampled_from(["2021-10", "2021-12", "2024-03"]),
    visual=st.dates(dt.date(2025, 11, 1), dt.date(2026, 11, 20)).map(str),
    more=st.sampled_from(["", "held: [{on: 2026-11-20, by: MV, why: dent}]\n"]),
    days=st.lists(st.integers(0, 500), min_size=2, max_size=4),
)
def test_what_was_asked_of_one_day_is_not_answered_of_another(
    hydro: str, visual: str, more: str, days: list[int]
) -> None:
    """Checks that ask for no day are asked once for all: those that do are asked of each."""
    card = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual) + more

    def fresh() -> Book:
        return books.make_book({"RB-014": books.stamped(card)}, station=books.STATION)

    book = fresh()
    for ahead in days:
        day = TODAY + ahead * DAY
        alone = fresh()
        assert may_fill(book, "RB-014", day) == may_fill(alone, "RB-014", day)
        assert check(book, day) == check(alone, day)


@pytest.mark.parametrize("visual", ["2025-12-20", "2026-02-09", "2026-05-01"])
def test_without_a_station_the_day_after_is_refused(visual: str) -> None:
    book = of("2024-03", visual, None)
    found = until(book, TODAY)
    assert found is not None
    assert found == dt.date.fromisoformat(visual).replace(year=int(visual[:4]) + 1)
    assert not may_fill(book, "RB-014", found + DAY).fillable
