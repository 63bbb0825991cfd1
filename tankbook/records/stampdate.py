"""Dates as they are stamped: a month and two digits of a year, in one order or the other."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tankbook.units import PartialDate

DOT_MARKS_SINCE = 1967
"""DOT marks follow ICC marks from about this year, and no TC, UN, EN or ISO mark is older (memory).

It places the two digits of a year in a century: 67 to 99 is 19.., 00 to 59 is 20..; what lies
between is too old or too new, and stays open.
"""

ICC_MARKS_UNTIL = 1970
"""ICC marks end about here (memory)."""

LONGEST_LIFE = 60
"""Years after its first test within which a retest is looked for (own bound)."""


@dataclass(frozen=True, slots=True)
class MarkedDate:
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


@dataclass(frozen=True, slots=True)
class Century:
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
        modern = [s for s in self.specifications if not s.startswith("ICC")]
        if (modern or self.rin) and not 60 <= digits < DOT_MARKS_SINCE - 1900:
            year = (1900 if digits >= DOT_MARKS_SINCE - 1900 else 2000) + digits
            what = f"{re.split('[- ]', modern[0])[0]} marks" if modern else "RINs"
            return MarkedDate(month, year, (), f"{year}, as {what} are no older than 1967")
        if (
            self.specifications
            and not modern
            and not self.retest
            and digits <= ICC_MARKS_UNTIL - 1900
        ):
            return MarkedDate(
                month, 1900 + digits, (), f"{1900 + digits}, as ICC marks end by 1970"
            )
        could = (PartialDate(1900 + digits, month), PartialDate(2000 + digits, month))
        return MarkedDate(
            month, None, could, f"the century is not marked: {could[0]} or {could[1]}"
        )


def _after(made: PartialDate, month: int, digits: int) -> MarkedDate:
    """The first year with these digits from the making on; or, if that is too late, before it."""
    year = made.year + (digits - made.year) % 100
    if year - made.year > LONGEST_LIFE:
        year -= 100
    early = (year, month) < (made.year, made.month)
    note = f"before the first test of {made}: one of the two is misread" if early else ""
    return MarkedDate(month, year, (), note)


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
        good = len(month) <= 2 and 1 <= int(month) <= 12 and 1900 <= int(year) <= 2100
        return MarkedDate(int(month), int(year)) if good else None
    a, b = int(one), int(two)
    a_is_month, b_is_month = 1 <= a <= 12 and len(two) == 2, 1 <= b <= 12 and len(one) == 2
    if a_is_month and b_is_month and a != b and not month_first:
        ways = (century.place(a, b), century.place(b, a))
        could = tuple(d for way in ways for d in ([way.date] if way.date else way.could_be))
        note = f"month and year can be read in either order: {' or '.join(map(str, could))}"
        return MarkedDate(None, None, could, note)
    if a_is_month:
        return century.place(a, b)
    return century.place(b, a) if b_is_month else None
