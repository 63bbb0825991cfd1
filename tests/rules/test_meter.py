"""How long the compressor ran, over the meters it had."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.station import Compressor, Filter, FilterChange, Hours, Station
from tankbook.rules.meter import against, counted, counted_at, fallen, newest, shown, went_back
from tankbook.units import RunningTime


def day(number: int) -> dt.date:
    return dt.date(2026, 11, number)


def hours(value: float) -> RunningTime:
    return RunningTime.of(value, "h")


def read(on: int, reads: float, old: float | None = None) -> Hours:
    return Hours(on=day(on), reads=hours(reads), instead_of=None if old is None else hours(old))


SWAPPED = (read(1, 100), read(5, 130), read(9, 2, old=140), read(12, 20))


def test_what_the_old_meter_counted_stays() -> None:
    assert counted(SWAPPED) == (100, 130, 140, 158)
    assert newest(Compressor(hours=SWAPPED)) == SWAPPED[-1]
    assert newest(Compressor(hours=SWAPPED[:3])) == SWAPPED[2]
    assert newest(Compressor()) is None
    assert newest(None) is None


@pytest.mark.parametrize(
    ("on", "at", "is_"),
    [
        (1, 100, 100),
        (8, 135, 135),  # the old meter, the day before
        (9, 130, 130),  # of its last day: as last read,
        (9, 140, 140),  # as it was taken off,
        (9, 2, 140),  # and the new one as it was fitted
        (9, 129, 267),  # the old one had shown more already
        (9, 141, 279),  # the old one never showed as much
        (10, 2, 140),
        (10, 135, 273),  # only the new one is there
        (12, 20, 158),
    ],
)
def test_a_filter_change_is_of_the_meter_of_its_day(on: int, at: float, is_: float) -> None:
    assert counted_at(SWAPPED, FilterChange(on=day(on), at=hours(at))) == is_


def test_a_reading_in_tenths_is_less_than_one_in_whole_hours_by_an_hour() -> None:
    hours_ = (read(1, 1660), read(2, 1659.7), read(3, 1659.8), read(4, 1659.7), read(5, 1658))
    assert list(fallen(hours_)) == [(hours_[2], hours_[3]), (hours_[3], hours_[4])]


def test_a_meter_taken_off_in_whole_hours_had_shown_what_was_read() -> None:
    hours_ = (read(1, 130.4), read(2, 0, old=130), read(3, 0.2))
    assert counted(hours_) == (130.4, 130.4, 130.6)
    assert list(fallen(hours_)) == []
    assert counted_at(hours_, FilterChange(on=day(2), at=hours(130))) == 130


@given(st.lists(st.tuples(st.integers(0, 50), st.booleans(), st.integers(0, 9)), max_size=12))
def test_meters_that_run_on_count_what_one_meter_would_have(steps: Any) -> None:
    """However often the meter was replaced, the hours are those that the compressor ran."""
    true, shown, log, ran = 0, 0, [], []
    for n, (more, new, first) in enumerate(steps, start=1):
        true, shown = true + more, shown + more
        log.append(read(n, first, old=shown) if new else read(n, shown))
        shown = first if new else shown
        ran.append(true)
    assert list(counted(log)) == ran


def station(*hours_: Hours, changed: list[tuple[int, float]]) -> Station:
    made = tuple(FilterChange(on=day(n), at=hours(at)) for n, at in changed)
    return Station(compressor=Compressor(hours=hours_), filters=(Filter(name="F1", changed=made),))


@pytest.mark.parametrize(
    ("changed", "how"),
    [
        ([(3, 110)], ""),  # between two readings
        ([(7, 140)], ""),  # after the last: a reading of its own
        ([(5, 128)], ""),  # of one day: which was first is not known
        ([(5, 135)], ""),
        ([(7, 120)], "more before it"),
        ([(3, 131)], "less since"),
        ([(7, 140), (8, 139)], "less since"),
        ([(7, 129.5)], ""),  # 130 in whole hours may be 129.5
        ([(7, 129)], "more before it"),  # both in whole hours
        ([(7, 140), (8, 139.7)], ""),
        ([(7, 140.2), (8, 139.9)], "less since"),  # both in tenths
        ([(7, 140), (8, 138.9)], "less since"),
    ],
)
def test_a_filter_change_reads_the_meter(changed: list[tuple[int, float]], how: str) -> None:
    kept = station(read(1, 100), read(5, 130), changed=changed)
    change = kept.filters[0].changed[0]
    made = kept.only_compressor
    assert (against(kept, made, change), went_back(kept, made)) == (how, bool(how))
    if not how:
        last = changed[-1]
        assert shown(kept, made)[-1][1] == (last[1] if last[0] > 5 else max(130, last[1]))
