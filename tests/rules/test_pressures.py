"""A cylinder's pressures over time: what is on record, and what is known between."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from books import GOOD, TODAY, make_book, with_lines
from dateutil.relativedelta import relativedelta

from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.rules.leaks import LOOKED_BACK, leaks
from tankbook.rules.pressures import Between, PressureAt, PressureStory, pressures_of


def line(act: str, on: str, **cells: str) -> str:
    said = "".join(f"; {k.rstrip('_')}={v}" for k, v in cells.items() if v)
    return f"at={on}:00+00:00; cylinder=A; act={act}; by=MV{said}"


def fill(on: str, from_: str = "500 psi", to: str = "3000 psi", at: str = "70 degF") -> str:
    return line("fill", on, from_=from_, to=to, temperature=at, gas="air")


def read(on: str, to: str, at: str = "70 degF") -> str:
    return line("reading", on, to=to, temperature=at)


def told(*log: str, since: dt.date | None = None, **card: Any) -> PressureStory:
    book = make_book({"A": with_lines(GOOD, **card)}, log="\n".join(log))
    return pressures_of(book, "A", TODAY, since)


def test_a_fill_is_two_pressures_and_a_stand_is_known() -> None:
    found = told(fill("2026-11-01T10:00"), read("2026-11-10T10:00", "2980 psi"))
    assert [p.what for p in found.points] == [
        PressureAt.BEFORE_FILL, PressureAt.FILL, PressureAt.READING,
    ]  # fmt: skip
    assert found.between == (Between.FILLED, Between.STOOD)
    assert found.losing is None


def test_a_pressure_stands_at_the_reference_temperature_where_it_was_read_warm() -> None:
    found = told(read("2026-11-01T10:00", "3000 psi", at="41 degF"))
    assert found.points[0].level.psi > 3200
    cold = told(read("2026-11-01T10:00", "3000 psi", at=""))
    assert (cold.points[0].level.psi, cold.points[0].temperature) == (3000, None)


def test_what_was_out_is_not_known_between() -> None:
    out = "[{on: 2026-11-05, to: B-1, back: 2026-11-08, pressure: 700 psi}]"
    found = told(fill("2026-11-01T10:00"), fill("2026-11-15T10:00", from_="690 psi"), rented=out)
    whats = [p.what for p in found.points]
    assert whats[2] is PressureAt.RETURN
    assert found.between == (
        Between.FILLED, Between.UNKNOWN, Between.UNKNOWN, Between.FILLED,
    )  # fmt: skip
    assert [(s.on, s.back) for s in found.out] == [(dt.date(2026, 11, 5), dt.date(2026, 11, 8))]


def test_a_fill_from_nobody_knows_what_has_no_line_up_to_it() -> None:
    found = told(read("2026-11-01T10:00", "900 psi"), fill("2026-11-02T10:00", from_=""))
    assert [p.what for p in found.points] == [PressureAt.READING, PressureAt.FILL]
    assert found.between == (Between.UNKNOWN,)


def test_hot_gas_is_not_drawn_as_standing() -> None:
    found = told(fill("2026-11-01T10:00", at=""), read("2026-11-10T10:00", "2700 psi"))
    assert found.between[-1] is Between.UNKNOWN


def test_what_was_opened_is_empty_until_it_is_filled() -> None:
    looked = "[{on: 2026-11-05, by: MV, checklist: annual, result: pass}]"
    found = told(
        fill("2026-11-01T10:00"), fill("2026-11-15T10:00", from_="0 psi"), inspected=looked
    )
    opened = [p for p in found.points if p.what is PressureAt.OPENED]
    assert [(p.at.date(), p.read.psi) for p in opened] == [(dt.date(2026, 11, 5), 0)]
    assert found.between == (
        Between.FILLED, Between.UNKNOWN, Between.EMPTY, Between.FILLED,
    )  # fmt: skip


def test_a_look_at_no_hour_comes_after_what_was_let_out_that_day_and_before_its_fill() -> None:
    looked = "[{on: 2026-11-05, by: MV, checklist: annual, result: pass}]"
    found = told(
        fill("2026-11-01T10:00"),
        line("drain", "2026-11-05T09:00", from_="1800 psi", to="0 psi"),
        fill("2026-11-05T15:00", from_="0 psi"),
        inspected=looked,
    )
    assert [(p.what, p.at.day, p.read.psi) for p in found.points[2:6]] == [
        (PressureAt.BEFORE_DRAIN, 5, 1800),
        (PressureAt.DRAIN, 5, 0),
        (PressureAt.OPENED, 5, 0),
        (PressureAt.BEFORE_FILL, 5, 0),
    ]
    assert found.between[2:5] == (Between.LET_OUT, Between.UNKNOWN, Between.EMPTY)


def test_a_slow_leak_is_a_line_that_falls_though_no_reading_alone_shows_it() -> None:
    """70 psi in 5 days three times: two readings explain 100, and 210 are gone."""
    log = [
        fill("2026-11-01T10:00"),
        read("2026-11-06T10:00", "2930 psi"),
        read("2026-11-11T10:00", "2860 psi"),
        read("2026-11-16T10:00", "2790 psi"),
    ]
    found = told(*log)
    assert found.losing is not None
    assert round(found.losing.lost_pa / 6894.757) == 210
    assert found.between == (Between.FILLED, Between.LOST, Between.LOST, Between.LOST)
    assert told(*log[:2]).losing is None


def test_one_that_held_longer_than_it_lost_is_not_named() -> None:
    """300 psi gone in a day; had it gone on, the next 20 would have shown it."""
    log = [
        fill("2026-11-01T10:00"),
        read("2026-11-02T10:00", "2700 psi"),
        read("2026-11-22T10:00", "2700 psi"),
    ]
    found = told(*log)
    assert found.losing is None
    assert found.between == (Between.FILLED, Between.LOST, Between.STOOD)


def test_more_than_was_left_begins_anew() -> None:
    """Somebody topped it off between two readings and wrote nothing."""
    log = [
        fill("2026-11-01T10:00"),
        read("2026-11-06T10:00", "2920 psi"),
        read("2026-11-11T10:00", "3050 psi"),
        read("2026-11-16T10:00", "2960 psi"),
    ]
    assert told(*log).losing is None


def test_since_leaves_out_what_was_before() -> None:
    log = fill("2026-10-01T10:00"), fill("2026-11-15T10:00")
    assert len(told(*log, since=dt.date(2026, 11, 1)).points) == 2
    assert told(since=dt.date(2026, 11, 1)).points == ()


@pytest.mark.parametrize("id_", ["A", "D"])
def test_a_side_has_the_stands_of_its_set(id_: str) -> None:
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    log = [fill("2026-11-01T10:00"), read("2026-11-15T10:00", "2700 psi")]
    book = make_book(
        cards,
        sets={"D": "cylinders: [A, B]\nuse: rental"},
        log="\n".join(log).replace("cylinder=A", "cylinder=D"),
    )
    found = pressures_of(book, id_, TODAY)
    assert found.between == (Between.FILLED, Between.LOST)
    assert found.losing is not None
    assert found.losing.id == "D"


def test_the_picture_and_leaks_name_the_same(example_ledger: Any) -> None:
    day = dt.date(2026, 11, 25)
    book: Book = load(example_ledger).as_known_on(day)
    named = leaks(book, day, day - relativedelta(months=LOOKED_BACK.months)).leaking
    assert [s.id for s in named] == ["RB-020"]
    for id_ in (*book.cylinders, *book.sets):
        losing = pressures_of(book, id_, day).losing
        assert losing == next((s for s in named if s.id == id_), None)


def test_out_is_from_the_hour_to_the_hour_of_its_return() -> None:
    out = (
        "[{on: 2026-11-05, to: B-1, at: '08:00', back: 2026-11-05, pressure: 900 psi}, "
        "{on: 2026-11-05, to: B-2, at: '16:00', back: 2026-11-06, pressure: 900 psi}]"
    )
    back = line("reading", "2026-11-05T12:00", to="900 psi", note="back from B-1")
    found = told(fill("2026-11-01T10:00"), back, rented=out)
    day = dt.date(2026, 11, 5)
    assert [(s.on, s.at, s.back, s.back_at) for s in found.out] == [
        (day, dt.time(8), day, dt.time(12)),
        (day, dt.time(16), dt.date(2026, 11, 6), None),
    ]
