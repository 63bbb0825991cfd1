"""Calendar periods, and dates that may be known only to the month."""

from __future__ import annotations

import calendar
import datetime
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Self, cast

from tankbook.units.errors import UnitError, listed, quoted
from tankbook.units.patterns import pattern

PERIOD = pattern(r"([0-9]{1,5}) ?(year|month|day)s?")
DATE = pattern(r"([0-9]{4})-([0-9]{2})(?:-([0-9]{2}))?")
SHORT = pattern(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{2}|[0-9]{4})")
SHORT_MONTH = pattern(r"([0-9]{1,2})[-/.]?([0-9]{2})")
PERIOD_MEND = "write a whole number of years, months or days, as in 5 years"
DATE_MEND = "write a day as 2026-02-09, or a month as 2026-02"
FIRST_YEAR, LAST_YEAR = 1900, 2200


@dataclass(frozen=True, slots=True)
class Period:
    """A length of calendar time: `5 years`, `30 months`, `60 days`.

    `months` and `days` hold it, one of them zero; `1 year` equals `12 months`. Periods of months
    and of days have no common measure, so they are not ordered.
    """

    months: int
    days: int
    written: str = field(compare=False)

    @classmethod
    def of(cls, count: int, unit: str) -> Self:
        """`count` (0 to 99999) of `unit`: years, months or days. Raises `UnitError`."""
        return cls.parse(f"{count} {unit}")

    @classmethod
    def parse(cls, text: str, default_unit: str | None = None) -> Self:
        """Read `5 years`. A bare number is in `default_unit` when one is given.

        Raises `UnitError`, and nothing else, for any text.
        """
        whole = f"{text} {default_unit}" if default_unit and text.isdecimal() else text
        read = PERIOD.fullmatch(whole)
        if read is None:
            raise UnitError(f"{quoted(text)} is not a period", PERIOD_MEND)
        count, unit = int(read[1]), read[2]
        written = f"{count} {unit}" if count == 1 else f"{count} {unit}s"
        if unit == "day":
            return cls(0, count, written)
        return cls(count * 12 if unit == "year" else count, 0, written)

    def __str__(self) -> str:
        return self.written


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A day (`2026-02-09`), or a month when that is all that is known (`2026-02`).

    Years run from 1900 to 2200. Order is by first day, then by last day, so a month comes before
    its second day and after its first.
    """

    year: int
    month: int
    day: int | None = None

    def __post_init__(self) -> None:
        if not FIRST_YEAR <= self.year <= LAST_YEAR:
            raise UnitError(
                f"year {self.year} is outside {FIRST_YEAR} to {LAST_YEAR}",
                "check the year; " + DATE_MEND,
            )
        day = 1 if self.day is None else self.day
        if not 1 <= self.month <= 12 or not 1 <= day <= month_length(self.year, self.month):
            raise UnitError(f"{self} is not a calendar date", DATE_MEND)

    @classmethod
    def of(cls, day: datetime.date) -> Self:
        """The day itself. Raises `UnitError` outside 1900 to 2200."""
        return cls(day.year, day.month, day.day)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read `2026-02` or `2026-02-09`. Raises `UnitError`, and nothing else, for any text."""
        return cast(Self, _parse(text))

    @property
    def is_month(self) -> bool:
        """True when only the month is known."""
        return self.day is None

    @property
    def first(self) -> datetime.date:
        """The earliest day it can mean."""
        return datetime.date(self.year, self.month, 1 if self.day is None else self.day)

    @property
    def last(self) -> datetime.date:
        """The latest day it can mean: the end of the month, or the day."""
        if self.day is not None:
            return self.first
        return datetime.date(self.year, self.month, month_length(self.year, self.month))

    def meets(self, other: PartialDate) -> bool:
        """Whether two of them may be of one day.

        >>> PartialDate.parse("2026-02").meets(PartialDate.parse("2026-02-09"))
        True
        """
        return self.first <= other.last and other.first <= self.last

    def plus(self, period: Period) -> PartialDate:
        """This date and `period`. A month stays a month, a day stays a day.

        Months and years keep the day of the month, or take the last one where there is no such
        day (31 January and one month is 28 or 29 February). Days added to a month are counted
        from its first. Raises `UnitError` past 2200.

        >>> str(PartialDate.parse("2024-01-31").plus(Period.parse("1 month")))
        '2024-02-29'
        >>> str(PartialDate.parse("2024-02").plus(Period.parse("5 years")))
        '2029-02'
        """
        from dateutil.relativedelta import relativedelta  # most commands work out no date

        try:
            moved = self.first + relativedelta(months=period.months, days=period.days)
        except (OverflowError, ValueError) as error:
            raise UnitError(f"{self} and {period} is past {LAST_YEAR}") from error
        return PartialDate(moved.year, moved.month, None if self.is_month else moved.day)

    def _key(self) -> tuple[datetime.date, datetime.date]:
        return self.first, self.last

    def __lt__(self, other: PartialDate) -> bool:
        return self._key() < other._key()

    def __le__(self, other: PartialDate) -> bool:
        return self._key() <= other._key()

    def __gt__(self, other: PartialDate) -> bool:
        return self._key() > other._key()

    def __ge__(self, other: PartialDate) -> bool:
        return self._key() >= other._key()

    def __str__(self) -> str:
        month = f"{self.year:04d}-{self.month:02d}"
        return month if self.day is None else f"{month}-{self.day:02d}"


def may_be(text: str) -> tuple[str, ...]:
    """The days that a text like `3/4/26` or `03.04.2026` may stand for, whichever number is the day
    and which the year, or the months of one like `0524`: in their order, none for any other text.
    Where a year has two figures, the century is the one that is likelier; it is never taken unsaid.

    >>> may_be("3/4/2026"), may_be("25.11.26"), may_be("0524")
    (('2026-03-04', '2026-04-03'), ('2025-11-26', '2026-11-25'), ('2024-05',))
    """
    if found := SHORT_MONTH.fullmatch(text):
        return _real([(found[2], found[1], "")])
    found = SHORT.fullmatch(text)
    if found is None:
        return ()
    one, _, two, last = found.groups()
    orders = [(last, two, one), (last, one, two)]
    if len(one) == len(last) == 2:
        orders.append((one, two, last))
    return _real(orders)


def doubt_of(text: str, *, day: bool = False) -> UnitError | None:
    """That a text may be one day or another, or does not say of which century it is; None of any
    other text, and of a month where a `day` is wanted."""
    read = () if day and SHORT_MONTH.fullmatch(text) else may_be(text)
    if not read:
        return None
    which = "the one that is meant" if len(read) > 1 else f"{read[0]} where that is meant"
    return UnitError(f"{quoted(text)} may be {listed(list(read))}", f"write {which}")


_HALF = 50
"""Of a year of two figures, the first that is of the last century (own choice)."""


def _real(orders: list[tuple[str, str, str]]) -> tuple[str, ...]:
    found = set()
    for year, month, day in orders:
        century = "" if len(year) == 4 else "19" if int(year) >= _HALF else "20"
        with suppress(UnitError):
            on = PartialDate(int(century + year), int(month), int(day) if day else None)
            found.add(str(on))
    return tuple(sorted(found))


def time_of_day(at: datetime.datetime) -> datetime.time:
    """The local time of a moment, to the second, without its offset."""
    return at.timetz().replace(tzinfo=None, microsecond=0)


@lru_cache(maxsize=4096)
def month_length(year: int, month: int) -> int:
    """The number of days in a month."""
    return calendar.monthrange(year, month)[1]


@lru_cache(maxsize=8192)
def _parse(text: str) -> PartialDate:
    read = DATE.fullmatch(text)
    if read is None:
        raise doubt_of(text) or UnitError(f"{quoted(text)} is not a date", DATE_MEND)
    return PartialDate(int(read[1]), int(read[2]), int(read[3]) if read[3] else None)


def months_between(since: PartialDate | datetime.date, until: PartialDate | datetime.date) -> int:
    """The calendar months from the month of one date to that of another, less than none where it
    is earlier; days are not looked at.

    >>> months_between(PartialDate.parse("2024-11"), datetime.date(2026, 1, 31))
    14
    """
    return 12 * (until.year - since.year) + until.month - since.month
