"""What a cylinder's file says of its tests and inspections."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Requalified, standing
from tankbook.records.words import Method, SentFor, StampMeans, TestResult
from tankbook.units import PartialDate

PRESSURE_TESTS = frozenset({Method.HYDROSTATIC, Method.PROOF, Method.ULTRASONIC, Method.ACOUSTIC})


def made_of(cylinder: Cylinder) -> PartialDate | None:
    """When it was made: the earlier of what is recorded and the maker's first test."""
    known = [r.on for r in standing(cylinder.requalified) if is_makers(r)]
    known += [cylinder.made] if cylinder.made else []
    return min(known, key=lambda on: on.first, default=None)


def is_makers(entry: Requalified) -> bool:
    """Whether an entry is the maker's original test."""
    return (entry.by or "").casefold() == "maker"


def is_due_stamp(cylinder: Cylinder, entry: Entry) -> bool:
    """Whether an entry's date is when the next test is due, as the card says of its stamps."""
    return (
        isinstance(entry, Requalified)
        and cylinder.stamp_means is StampMeans.NEXT_DUE
        and not is_makers(entry)
    )


def tested_on(cylinder: Cylinder, test: Requalified) -> PartialDate | None:
    """When a test was done; None where all that is known is when the next is due."""
    return test.tested if is_due_stamp(cylinder, test) else test.on


class DaySpan(Struct, frozen=True):
    """Days on which something can have been, the first and the last with them.

    Attributes:
        first: the first of them.
        last: the last of them.
        told: the records say that it was not before the first: a day, or a day out to the
            requalifier. A month says less.
    """

    first: dt.date
    last: dt.date
    told: bool = True

    @classmethod
    def of(cls, on: PartialDate) -> DaySpan:
        """The days that a date can mean."""
        return cls(on.first, on.last, on.day is not None)


def possible_days(cylinder: Cylinder, test: Requalified) -> tuple[DaySpan, ...]:
    """The days on which a test can have been, oldest first; none where all that is known is when
    the next is due.

    They are those of `on:`, of them those of `tested:`, and of these, where only a month is said,
    the stays for requalification that fall into it, each by itself. Where `tested:` names other
    days than `on:`, it can have been on either.
    """
    done = tested_on(cylinder, test)
    if done is None:
        return ()
    said = [done] if test.tested is None else [done, test.tested]
    if all(on.meets(said[0]) for on in said):
        said = [max(said, key=lambda on: on.day is not None)]
    spans = {span for on in said for span in _narrowed(cylinder, on)}
    return tuple(sorted(spans, key=lambda span: (span.first, span.last)))


def _narrowed(cylinder: Cylinder, on: PartialDate) -> Sequence[DaySpan]:
    """The days of a date on which it was at the requalifier's; all of them where no stay says."""
    stays = [*_stays_in(cylinder, on)] if on.day is None else []
    return stays or [DaySpan.of(on)]


def _stays_in(cylinder: Cylinder, on: PartialDate) -> Iterator[DaySpan]:
    for sent in standing(cylinder.sent):
        back = sent.back or on.last
        if sent.for_ is SentFor.REQUALIFICATION and sent.on.first <= on.last and back >= on.first:
            told = sent.on.day is not None or sent.on.last < on.first
            yield DaySpan(max(sent.on.first, on.first), min(back, on.last), told)


def came_since(days: Sequence[DaySpan], since: Sequence[DaySpan]) -> bool:
    """Whether something came after another, or on its day: no possible day of it lies before.

    A month alone counts where nothing in the records speaks against it: many record no journey, a
    stamp holds no day, and the answer that names the other is then the only word for the order. Of
    two stays it may be either, so it is open.
    """
    if len(days) == 1 and not days[0].told:
        return all(days[0].last >= bad.first for bad in since)
    if len(days) == 1:
        return all(days[0].first >= bad.first for bad in since)
    return bool(days) and all(day.first >= bad.last for day in days for bad in since)


def first_test(cylinder: Cylinder) -> PartialDate | None:
    """The maker's test, or when it was made where that is earlier or all that is known; a test of
    later years is neither."""
    return made_of(cylinder)


def latest_pressure_test(cylinder: Cylinder) -> Requalified | None:
    """The newest pressure test, passed or failed."""
    tests = [r for r in standing(cylinder.requalified) if r.method in PRESSURE_TESTS]
    return tests[-1] if tests else None


def passed(cylinder: Cylinder, methods: frozenset[Method]) -> tuple[Requalified, ...]:
    """Passed tests by any of these methods, oldest first."""
    return tuple(
        r
        for r in standing(cylinder.requalified)
        if r.method in methods and r.result is TestResult.PASS
    )
