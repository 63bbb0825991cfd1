"""What a compressor runs by the season: the one forecast of `due`, `costs`, `station` and report."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from books import TODAY
from hypothesis import assume, given
from hypothesis import strategies as st

from tankbook.records.rulerow import Obligation
from tankbook.records.station import Station
from tankbook.rules.costs import costs_ahead
from tankbook.rules.pump_hours import pump_hours
from tankbook.rules.running import RunningSeason, run_by_month, season_of, sights
from tankbook.rules.schedule import due
from tankbook.units.dates import LAST_YEAR

MONTHLY = (1.0, 1.3, 3.0, 8.6, 15.4, 22.8, 22.1, 28.3, 16.1, 11.0, 4.7, 1.3)
"""Hours in each month of a year, January first: much in summer, little in winter."""


def station(readings: str, filters: str = "", more: str = "") -> Station:
    found: Station = books.typed(
        Station, f"compressor: {{name: C1, hours: [{readings}]}}\nfilters: [{filters}]\n{more}"
    )
    return found


def monthly(years: int = 2, end: dt.date = dt.date(2026, 10, 31)) -> str:
    """Readings on the last of each month, of years that are alike."""
    ran, said = 0.0, []
    first = dt.date(end.year - years, end.month, end.day)
    on = first
    while on <= end:
        said.append(f"{{on: {on}, reads: {ran:.1f} h}}")
        following = on + dt.timedelta(days=1)
        ran += MONTHLY[following.month - 1]
        month = dt.date(following.year + following.month // 12, following.month % 12 + 1, 1)
        on = month - dt.timedelta(days=1)
    return ", ".join(said)


def test_months_are_as_the_meter_was_read() -> None:
    made = station(monthly())
    runs = run_by_month(made, made.only_compressor)
    assert [round(r.hours, 6) for r in runs[-12:]] == pytest.approx([*MONTHLY[10:], *MONTHLY[:10]])
    assert all(r.days == (r.month.last - r.month.first).days + 1 for r in runs)


def test_a_filter_changed_in_autumn_lasts_into_summer() -> None:
    """Of 55 h none is used in October's end. November to May run 35.3 h, so 19.7 are left for June,
    which runs 22.8 h in 30 days: 25 days of it."""
    made = station(monthly(), "{name: F1, life: 55 h, changed: [{on: 2026-10-31, at: 271.2 h}]}")
    season = season_of(made, made.only_compressor)
    assert season is not None
    assert season.used_up(55.0, dt.date(2026, 10, 31)) == dt.date(2027, 6, 25)
    yearly = sum(MONTHLY) / 365
    assert dt.date(2026, 10, 31) + dt.timedelta(55 / yearly) < dt.date(2027, 4, 1)


def test_due_costs_and_the_hours_say_one_day() -> None:
    text = f"""
compressor: {{name: C1, hours: [{monthly()}]}}
filters: [{{name: F1, life: 55 h, changed: [{{on: 2026-09-30, at: 260.2 h}}]}}]
"""
    book = books.make_book({}, station=text)
    (item,) = [d for d in due(book, TODAY) if d.obligation is Obligation.FILTER]
    (pump,) = pump_hours(book, TODAY)
    needs = [n.by for n in costs_ahead(book, TODAY, 12).needs if n.id == "F1"]
    assert item.expected is not None
    assert pump.parts[0].due == item
    assert needs[0] == item.expected
    assert pump.ahead[0].month.month == 11
    assert len(pump.ahead) == 13


days = st.dates(dt.date(2020, 1, 1), dt.date(2026, 1, 1))
paces = st.lists(st.floats(0.01, 20), min_size=12, max_size=12).map(tuple)


@given(paces, days, st.floats(0, 5000))
def test_hours_last_until_the_day_before_they_would_be_passed(
    a_day: tuple[float, ...], since: dt.date, hours: float
) -> None:
    season = RunningSeason(since, a_day, frozenset())
    day = season.used_up(hours, since)
    assume(day is not None)
    assert day is not None
    assert season.hours(since, day) <= hours + 1e-6
    assert season.hours(since, day + dt.timedelta(days=1)) >= hours - 1e-6


@given(paces, days, st.integers(0, 900), st.integers(0, 900))
def test_hours_of_two_spans_add_up(
    a_day: tuple[float, ...], since: dt.date, one: int, two: int
) -> None:
    season = RunningSeason(since, a_day, frozenset())
    middle = since + dt.timedelta(days=one)
    end = middle + dt.timedelta(days=two)
    whole = season.hours(since, end)
    assert season.hours(since, middle) + season.hours(middle, end) == pytest.approx(whole)


@given(
    st.lists(st.tuples(st.integers(1, 300), st.floats(0, 300)), min_size=1, max_size=30),
    days,
)
def test_months_add_up_to_what_the_meter_gained(
    steps: list[tuple[int, float]], begun: dt.date
) -> None:
    on, ran, said = begun, 0.0, [f"{{on: {begun}, reads: 0.0 h}}"]
    for count, gained in steps:
        on, ran = on + dt.timedelta(days=count), ran + round(gained, 1)
        said.append(f"{{on: {on}, reads: {ran:.1f} h}}")
    made = station(", ".join(said))
    runs = run_by_month(made, made.only_compressor)
    assert sum(r.hours for r in runs) == pytest.approx(round(ran, 1), abs=0.11)
    assert sum(r.days for r in runs) == (on - begun).days
    assert all(r.hours >= 0 for r in runs)


@pytest.mark.parametrize(
    "readings",
    [
        "",
        "{on: 2026-11-01, reads: 5 h}",
        "{on: 2026-11-01, reads: 5 h}, {on: 2026-11-10, reads: 9 h}",
        "{on: 2025-11-01, reads: 5 h}, {on: 2026-11-10, reads: 5 h}",
        "{on: 2025-11-01, reads: 5 h}, {on: 2026-11-10, reads: 3 h}",
    ],
    ids=["none", "one", "nine-days", "did-not-run", "backward"],
)
def test_nothing_is_foretold_from_too_little(readings: str) -> None:
    made = station(readings)
    assert season_of(made, made.only_compressor) is None


def test_a_meter_that_went_back_has_no_months() -> None:
    made = station("{on: 2025-11-01, reads: 5 h}, {on: 2026-11-10, reads: 3 h}")
    assert sights(made, made.only_compressor) == ()
    book = books.make_book(
        {},
        station="compressor: {name: C1, hours: [{on: 2025-11-01, reads: 5 h}, {on: 2026-11-10, reads: 3 h}]}",
    )
    (pump,) = pump_hours(book, TODAY)
    assert "backward" in pump.why_not


def test_what_is_never_used_up_has_no_day() -> None:
    season = RunningSeason(TODAY, (0.0,) * 12, frozenset())
    assert season.used_up(1.0, TODAY) is None
    assert RunningSeason(TODAY, (1e-4,) * 12, frozenset()).used_up(50.0, TODAY) is None


def test_the_last_years_of_the_calendar_are_reckoned_with_too() -> None:
    season = RunningSeason(dt.date(LAST_YEAR, 12, 1), (0.5,) * 12, frozenset())
    assert season.used_up(10.0, season.seen_on) == dt.date(LAST_YEAR, 12, 21)
    assert season.used_up(1e6, season.seen_on) is None
    text = """
compressor: {name: C1, hours: [{on: 2199-11-25, reads: 0 h}, {on: 2200-11-25, reads: 365 h}]}
filters: [{name: F1, life: 50 h, changed: [{on: 2200-11-25, at: 365 h}]}]
"""
    book = books.make_book({}, station=text)
    (pump,) = pump_hours(book, dt.date(2200, 11, 30))
    assert [m.month.month for m in pump.ahead] == [11, 12]
