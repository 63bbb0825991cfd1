"""Whole calendar months, counted from the one a day lies in."""

from __future__ import annotations

import datetime as dt

from tankbook.units import PartialDate, Period


def month_of(day: dt.date) -> PartialDate:
    """The month a day lies in."""
    return PartialDate(day.year, day.month)


def months_from(today: dt.date, count: int) -> tuple[PartialDate, ...]:
    """The month a day lies in and those that follow, `count` in all."""
    first = month_of(today)
    return tuple(first.plus(Period.of(ahead, "months")) for ahead in range(count))


def months_until(today: dt.date, count: int) -> tuple[PartialDate, ...]:
    """The `count` months that end with the one a day lies in, oldest first."""
    from dateutil.relativedelta import relativedelta  # most commands work out no date

    return months_from(today - relativedelta(months=count - 1), count)
