"""How long a compressor runs in each month of the year, and when so many hours will be used up.

A meter is seen at a reading, a filter change or upkeep. Between two sights its hours are spread
evenly over the days, so what was seen seldom tells little of the season.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct

from tankbook.records.station import Booster, Compressor, Station
from tankbook.rules import meter
from tankbook.rules.figures import AHEAD, LEAST, YEARS
from tankbook.rules.months import month_of
from tankbook.units import PartialDate
from tankbook.units.dates import LAST_YEAR

_A_HAIR = 1e-9


class MonthRun(Struct, frozen=True):
    """What was run in one month, as far as it is known: the hours, and the days they are of."""

    month: PartialDate
    hours: float
    days: int


class RunningSeason(Struct, frozen=True):
    """How long a compressor or booster runs.

    Attributes:
        seen_on: the last day on which its meter was seen.
        a_day: hours a day in each month of the year, January first: the mean of that month in the
            last three years, that of the whole last year where the month was not watched.
        watched: the months of the year (1 to 12) that speak for themselves.
    """

    seen_on: dt.date
    a_day: tuple[float, ...]
    watched: frozenset[int]

    def hours(self, since: dt.date, until: dt.date) -> float:
        """What it will run after one day and up to another [h]."""
        return sum(self.a_day[first.month - 1] * days for first, days in _by_month(since, until))

    def used_up(self, hours: float, since: dt.date) -> dt.date | None:
        """The last day on which so many hours, begun after a day, are not yet passed; None where
        that is more than about 30 years off."""
        left, end = hours, dt.date(min(since.year + AHEAD, LAST_YEAR), 12, 31)
        for first, days in _by_month(since, end):
            pace = self.a_day[first.month - 1]
            if pace * days > left + _A_HAIR:
                return first + dt.timedelta(days=int(left / pace + _A_HAIR) - 1)
            left -= pace * days
        return None


def sights(
    station: Station, pump: Compressor | Booster | None
) -> tuple[tuple[dt.date, float], ...]:
    """Each day that a meter was seen with its hours then, in those of its first, never less than
    before; none where it went back."""
    if meter.went_back(station, pump):
        return ()
    most: dict[dt.date, float] = {}
    high = 0.0
    for day, ran in meter.shown(station, pump):
        most[day] = high = max(high, ran)
    return tuple(most.items())


def run_by_month(station: Station, pump: Compressor | Booster | None) -> tuple[MonthRun, ...]:
    """What was run in each month between the first sight and the last, oldest first."""
    hours: dict[PartialDate, float] = defaultdict(float)
    days: dict[PartialDate, int] = defaultdict(int)
    for (before, was), (now, ran) in pairwise(sights(station, pump)):
        pace = (ran - was) / (now - before).days
        for first, count in _by_month(before, now):
            hours[month_of(first)] += pace * count
            days[month_of(first)] += count
    return tuple(MonthRun(month, hours[month], days[month]) for month in days)


def season_of(station: Station, pump: Compressor | Booster | None) -> RunningSeason | None:
    """How long it runs by the season; None where too little of the last year is known."""
    from dateutil.relativedelta import relativedelta  # most commands work out no date

    seen = sights(station, pump)
    if not seen:
        return None
    last, ran = seen[-1]
    year = next((day, was) for day, was in seen if (last - day).days <= 366)
    span = (last - year[0]).days
    if span < LEAST or ran <= year[1]:
        return None
    mean = (ran - year[1]) / span
    since = last - relativedelta(years=YEARS)
    hours, days = [0.0] * 12, [0] * 12
    for each in run_by_month(station, pump):
        if each.month.last > since:
            hours[each.month.month - 1] += each.hours
            days[each.month.month - 1] += each.days
    known = [days[m] >= LEAST // 2 for m in range(12)]
    return RunningSeason(
        seen_on=last,
        a_day=tuple(hours[m] / days[m] if known[m] else mean for m in range(12)),
        watched=frozenset(m + 1 for m in range(12) if known[m]),
    )


def _by_month(since: dt.date, until: dt.date) -> Iterator[tuple[dt.date, int]]:
    """The days after one day up to another, by month: the first of each, and how many."""
    first = since + dt.timedelta(days=1)
    while first <= until:
        last = min(month_of(first).last, until)
        yield first, (last - first).days + 1
        first = last + dt.timedelta(days=1)
