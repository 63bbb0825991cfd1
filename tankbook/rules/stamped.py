"""What is stamped on a cylinder, as read off its card, remembered."""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified, standing
from tankbook.records.marked import Marks, Stamp
from tankbook.records.marks import read_marks, read_stamp
from tankbook.records.station import Bank
from tankbook.records.words import TestResult
from tankbook.rules.tested import PRESSURE_TESTS, made_of
from tankbook.units import PartialDate


def marks_of(cylinder: Cylinder) -> Marks:
    """The marks of its shoulder; none of a card that has none."""
    return _read_marks(cylinder.marks or "", made_of(cylinder))


def stamps_of(vessel: Cylinder | Bank) -> tuple[tuple[Requalified, Stamp], ...]:
    """Each test that has a stamp beside it, oldest first, with the stamp as read."""
    made = made_of(vessel) if isinstance(vessel, Cylinder) else None
    tests = standing(vessel.requalified)
    return tuple((t, _read_stamp(t.stamp, made)) for t in tests if t.stamp)


def plus_is_stamped(cylinder: Cylinder, today: dt.date | None = None) -> bool:
    """Whether a stamp, or the marks of the shoulder, show a plus after its newest pressure test.

    A newer test on the shoulder that shows none, up to the day asked about, takes it away.
    """
    tests = [r for r in standing(cylinder.requalified) if r.method in PRESSURE_TESTS]
    if not tests:
        return False
    newest = tests[-1]
    # of two tests of one month nobody can tell which is the newer: both have to show it
    at_once = [t for t in tests if t.on.meets(newest.on) and t.result is TestResult.PASS]
    if not all(t.plus for t in at_once):
        return False
    dated = [(r.when.date.first, r.plus) for r in marks_of(cylinder).retests if r.when.date]
    until = today or dt.date.max
    if any(not plus for day, plus in dated if newest.on.last < day <= until):
        return False
    if newest.stamp:
        return "+" in newest.stamp
    month = PartialDate(newest.on.year, newest.on.month)
    return plus_by_month(marks_of(cylinder)).get(month, False)


def plus_by_month(marks: Marks) -> dict[PartialDate, bool]:
    """Whether a shoulder shows a plus after the test of each month; of several tests of one month
    all have to."""
    found: dict[PartialDate, bool] = {}
    for retest in marks.retests:
        if retest.when.date is not None:
            month = PartialDate(retest.when.date.year, retest.when.date.month)
            found[month] = found.get(month, True) and retest.plus
    if marks.first_date is not None:
        found.setdefault(marks.first_date, marks.first_plus)
    return found


def serial_shown(cylinder: Cylinder) -> bool:
    """Whether the marks show its serial, alone or joined with letters of its maker's."""
    own = re.sub(r"[^A-Z0-9]", "", cylinder.serial.upper())
    if not own:
        return False
    spaced = r"[ ./-]?".join(map(re.escape, own))
    beside = r"(?:[^A-Z0-9]|^|[A-Z]{2,4})"
    behind = r"(?:[^A-Z0-9]|$|[A-Z]{2,4}(?![A-Z0-9]))"
    return re.search(rf"{beside}{spaced}{behind}", (cylinder.marks or "").upper()) is not None


_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def month_could_be(stamp: str, month: PartialDate) -> bool:
    """Whether a stamp that could not be read may be of a month, by its numbers and its words; one
    without any may be of every month."""
    words = re.findall(r"[^\W\d_]{3,}|[0-9]+", stamp.casefold())
    joined = re.search(r"(?<!\d)(\d{2})(\d{2})(?!\d)", stamp)
    if joined and [int(n) for n in joined.groups()] in (
        [month.month, month.year % 100],
        [month.year % 100, month.month],
    ):
        return True
    numbers = [int(w) for w in words if w.isdigit() and len(w) in {1, 2, 4}]
    named = {_MONTHS.index(w[:3]) + 1 for w in words if w[:3] in _MONTHS}
    months = named or {n for n in numbers if 1 <= n <= 12}
    years = {n for n in numbers if n > 12 or n == month.year % 100}
    right_year = not years or not {month.year, month.year % 100}.isdisjoint(years)
    return right_year and (not months or month.month in months)


@lru_cache(maxsize=8192)
def _read_marks(text: str, made: PartialDate | None) -> Marks:
    return read_marks(text, first=made)


@lru_cache(maxsize=8192)
def _read_stamp(text: str, made: PartialDate | None) -> Stamp:
    return read_stamp(text, made)
