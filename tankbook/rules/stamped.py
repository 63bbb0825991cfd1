"""What is stamped on a cylinder, as read off its card, remembered."""

from __future__ import annotations

from functools import lru_cache

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified, standing
from tankbook.records.marked import Marks, Stamp
from tankbook.records.marks import read_marks, read_stamp
from tankbook.rules.tested import PRESSURE_TESTS, made_of
from tankbook.units import PartialDate


def marks_of(cylinder: Cylinder) -> Marks:
    """The marks of its shoulder; none of a card that has none."""
    return _read_marks(cylinder.marks or "", made_of(cylinder))


def stamps_of(cylinder: Cylinder) -> tuple[tuple[Requalified, Stamp], ...]:
    """Each test that has a stamp beside it, oldest first, with the stamp as read."""
    made = made_of(cylinder)
    tests = standing(cylinder.requalified)
    return tuple((t, _read_stamp(t.stamp, made)) for t in tests if t.stamp)


def plus_is_stamped(cylinder: Cylinder) -> bool:
    """Whether a stamp, or the marks of the shoulder, show a plus after its newest pressure test."""
    tests = [r for r in standing(cylinder.requalified) if r.method in PRESSURE_TESTS]
    if not tests:
        return False
    newest = tests[-1]
    if newest.stamp:
        return "+" in newest.stamp
    marks = marks_of(cylinder)
    month = (newest.on.year, newest.on.month)
    stamped = {(r.when.date.year, r.when.date.month): r.plus for r in marks.retests if r.when.date}
    first = marks.first_date
    if first is not None:
        stamped.setdefault((first.year, first.month), marks.first_plus)
    return stamped.get(month, False)


@lru_cache(maxsize=8192)
def _read_marks(text: str, made: PartialDate | None) -> Marks:
    return read_marks(text, first=made)


@lru_cache(maxsize=8192)
def _read_stamp(text: str, made: PartialDate | None) -> Stamp:
    return read_stamp(text, made)
