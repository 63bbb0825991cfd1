"""What a cylinder's file says of its tests and inspections."""

from __future__ import annotations

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Inspected, Requalified, standing
from tankbook.records.words import InspectionResult, Method, StampMeans, TestResult
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


def first_test(cylinder: Cylinder) -> PartialDate | None:
    """The oldest test date on record, or when it was made."""
    tests = [r.on for r in standing(cylinder.requalified)]
    return tests[0] if tests else cylinder.made


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


def passed_inspections(cylinder: Cylinder, full: frozenset[str]) -> tuple[Inspected, ...]:
    """Passed inspections by a checklist named in `full`, oldest first."""
    return tuple(
        i
        for i in standing(cylinder.inspected)
        if i.result is InspectionResult.PASS and i.checklist in full
    )
