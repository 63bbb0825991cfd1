"""Days and months, and the laws of moving them."""

import datetime

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from tankbook.units import PartialDate, Period, UnitError

DAYS = st.dates(datetime.date(1900, 1, 1), datetime.date(2150, 12, 31)).map(PartialDate.of)
MONTHS = DAYS.map(lambda day: PartialDate(day.year, day.month))
ANY = DAYS | MONTHS
CALENDAR = st.integers(0, 600).map(lambda n: Period.of(n, "months"))
PERIODS = CALENDAR | st.integers(0, 10000).map(lambda n: Period.of(n, "days"))


def date(text: str) -> PartialDate:
    return PartialDate.parse(text)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2026-02", "2026-02-01", "2026-02-28"),
        ("2024-02", "2024-02-01", "2024-02-29"),
        ("2026-12", "2026-12-01", "2026-12-31"),
        ("2026-02-09", "2026-02-09", "2026-02-09"),
    ],
)
def test_first_and_last_day(text: str, first: str, last: str) -> None:
    read = date(text)
    assert (read.first.isoformat(), read.last.isoformat()) == (first, last)
    assert read.is_month == (len(text) == 7)


@pytest.mark.parametrize(
    ("start", "period", "end"),
    [
        ("2021-09", "5 years", "2026-09"),
        ("2021-09", "30 months", "2024-03"),
        ("2026-02-09", "1 year", "2027-02-09"),
        ("2024-02-29", "1 year", "2025-02-28"),
        ("2024-02-29", "4 years", "2028-02-29"),
        ("2026-01-31", "1 month", "2026-02-28"),
        ("2026-11-15", "2 months", "2027-01-15"),
        ("2026-02-09", "60 days", "2026-04-10"),
        ("2026-02", "60 days", "2026-04"),
        ("2026-02", "0 days", "2026-02"),
    ],
)
def test_plus(start: str, period: str, end: str) -> None:
    assert str(date(start).plus(Period.parse(period))) == end


@given(DAYS, PERIODS)
def test_plus_agrees_with_dateutil(day: PartialDate, period: Period) -> None:
    # Source: dateutil's relativedelta. Mark: computed.
    expected = day.first + relativedelta(months=period.months, days=period.days)
    assert day.plus(period) == PartialDate.of(expected)


@given(ANY)
def test_written_reads_back(when: PartialDate) -> None:
    assert date(str(when)) == when
    assert hash(date(str(when))) == hash(when)


@given(ANY)
def test_first_is_never_after_last(when: PartialDate) -> None:
    assert when.first <= when.last
    assert (when.first == when.last) == (not when.is_month)


@given(ANY, PERIODS)
def test_plus_keeps_the_kind_and_never_goes_back(when: PartialDate, period: Period) -> None:
    later = when.plus(period)
    assert later.is_month == when.is_month
    assert later >= when


@given(st.tuples(DAYS, DAYS) | st.tuples(MONTHS, MONTHS), PERIODS)
def test_plus_keeps_the_order(pair: tuple[PartialDate, PartialDate], period: Period) -> None:
    early, late = sorted(pair)
    assert early.plus(period) <= late.plus(period)


@given(ANY, st.integers(0, 40))
def test_a_year_is_twelve_months(when: PartialDate, years: int) -> None:
    assert when.plus(Period.of(years, "years")) == when.plus(Period.of(12 * years, "months"))


@given(ANY, ANY)
def test_order_is_total(one: PartialDate, other: PartialDate) -> None:
    assert (one < other) + (one == other) + (one > other) == 1
    assert (one <= other) == (one < other or one == other)
    assert (one >= other) == (other <= one)


def test_a_month_sorts_after_its_first_day_and_before_its_second() -> None:
    days = [date("2026-02-02"), date("2026-02"), date("2026-02-01")]
    assert [str(day) for day in sorted(days)] == ["2026-02-01", "2026-02", "2026-02-02"]


@pytest.mark.parametrize("period", ["1 year", "12 months", "99999 days", "99999 years"])
def test_past_the_last_year(period: str) -> None:
    with pytest.raises(UnitError, match="2200"):
        date("2200-06").plus(Period.parse(period))
    with pytest.raises(UnitError, match="2200"):
        date("2200-12-31").plus(Period.parse(period))


def test_of_a_date() -> None:
    assert PartialDate.of(datetime.date(2026, 2, 9)) == date("2026-02-09")
    with pytest.raises(UnitError, match="outside 1900 to 2200"):
        PartialDate.of(datetime.date(1899, 1, 1))
