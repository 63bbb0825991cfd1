"""Dates as they are stamped: a month and two digits of a year, in one order or the other."""

from __future__ import annotations

import re

from msgspec import Struct

from tankbook.units import PartialDate
from tankbook.units.dates import FIRST_YEAR, LAST_YEAR
from tankbook.units.patterns import pattern

DOT_MARKS_SINCE = 1967
"""DOT marks follow ICC marks from about this year, and no TC, UN, EN or ISO mark is older (memory).

It places the two digits of a year in a century: 67 to 99 is 19.., 00 to 59 is 20..; what lies
between is too old or too new, and stays open.
"""

ICC_MARKS_UNTIL = 1970
"""ICC marks end about here, and none is older than 1910 (memory)."""

_MODERN = pattern(r"DOT|CTC|TC|UN|ISO|EN|BS EN|BS 5045|3ALM?|3A+X?M")
"""Marks none of which is older than `DOT_MARKS_SINCE` (memory); others of BS, AS and DIN may be."""

LONGEST_LIFE = 95
"""Years after its first test within which a retest is looked for (own bound)."""


class MarkedDate(Struct, frozen=True):
    """A stamped month and year.

    `month` or `year` is None where the stamp leaves it open; `could_be` then lists every reading,
    and `note` says why, or how a two-digit year was placed in its century.
    """

    month: int | None
    year: int | None
    could_be: tuple[PartialDate, ...] = ()
    note: str = ""

    @property
    def date(self) -> PartialDate | None:
        """The month, where the stamp leaves no doubt."""
        if self.month is None or self.year is None:
            return None
        return PartialDate(self.year, self.month)


class Century(Struct, frozen=True):
    """What is known that places a two-digit year.

    Attributes:
        made: month of the first test, if known.
        specifications: those marked on the cylinder.
        retest: the date is that of a retest, else of the first test.
        rin: the date is stamped with a RIN, which the DOT issues.
    """

    made: PartialDate | None
    specifications: tuple[str, ...]
    retest: bool
    rin: bool = False

    def place(self, month: int, digits: int) -> MarkedDate:
        """The date of `month` (1 to 12) and two-digit year `digits`; open where nothing tells."""
        if self.made is not None and (self.retest or self.made.year % 100 == digits):
            return _after(self.made, month, digits)
        modern = [s for s in self.specifications if _MODERN.match(s)]
        older = [s for s in self.specifications if s.startswith("ICC")]
        if (modern or self.rin) and not 60 <= digits < DOT_MARKS_SINCE - 1900:
            year = (1900 if digits >= DOT_MARKS_SINCE - 1900 else 2000) + digits
            what = f"{re.split('[- ]', modern[0])[0]} marks" if modern else "RINs"
            return MarkedDate(month, year, (), f"{year}, as {what} are no older than 1967")
        if older and not modern and not self.retest and 10 <= digits <= ICC_MARKS_UNTIL - 1900:
            return MarkedDate(
                month, 1900 + digits, (), f"{1900 + digits}, as ICC marks end by 1970"
            )
        could = (PartialDate(1900 + digits, month), PartialDate(2000 + digits, month))
        return MarkedDate(
            month, None, could, f"the century is not marked: {could[0]} or {could[1]}"
        )

    def date(self, month: str, year: str) -> MarkedDate | None:
        """The date of a month and a year of two or four digits; None where it is none."""
        if not 1 <= int(month) <= 12:
            return None
        if len(year) == 4:
            return MarkedDate(int(month), int(year)) if 1900 <= int(year) <= 2100 else None
        return self.place(int(month), int(year))


def _after(made: PartialDate, month: int, digits: int) -> MarkedDate:
    """The first year with these digits from the making on; or, if that is too late, before it.

    A month before the making stays: it is for others to say that one of the two is misread.
    """
    year = made.year + (digits - made.year) % 100
    if (year - made.year > LONGEST_LIFE and year - 100 >= FIRST_YEAR) or year > LAST_YEAR:
        year -= 100
    return MarkedDate(month, year)


def month_and_year(one: str, two: str, century: Century, *, month_first: bool) -> MarkedDate | None:
    """Read two numbers that are a month and a year, in either order; None where they are not.

    Args:
        one: the first number, of one, two or four digits.
        two: the second.
        century: what places a two-digit year.
        month_first: the order is known to be month, then year. Otherwise two numbers that could
            both be months leave both readings open.
    """
    if len(one) == 4 or len(two) == 4:
        year, month = (one, two) if len(one) == 4 else (two, one)
        return century.date(month, year) if len(month) <= 2 else None
    a_is_month, b_is_month = (1 <= int(n) <= 12 for n in (one, two))
    a_is_month, b_is_month = a_is_month and len(two) == 2, b_is_month and len(one) == 2
    if a_is_month and b_is_month and int(one) != int(two) and not month_first:
        ways = (century.place(int(one), int(two)), century.place(int(two), int(one)))
        could = tuple(d for way in ways for d in ([way.date] if way.date else way.could_be))
        note = f"month and year can be read in either order: {' or '.join(map(str, could))}"
        return MarkedDate(None, None, could, note)
    if a_is_month:
        return century.date(one, two)
    return century.date(two, one) if b_is_month else None
