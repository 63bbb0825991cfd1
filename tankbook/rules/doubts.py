"""What a cylinder's own record says against itself: refused rather than guessed.

A later look that did not pass, a failed test that nothing has answered, a stamp that says otherwise
than the card: each keeps the cylinder from being filled until the record is put right, whatever its
`status` says.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import lru_cache

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Inspected, Requalified, standing
from tankbook.records.marks import Marks, read_marks
from tankbook.records.rulerow import Gate
from tankbook.records.words import InspectionResult, Material, Status, StepResult, TestResult
from tankbook.rules.answers import Reason
from tankbook.rules.card_checks import expansion_of, test_pressure_of
from tankbook.rules.contents import sets_with
from tankbook.rules.inforce import Facts, normal
from tankbook.rules.standing import status_of
from tankbook.rules.tested import PRESSURE_TESTS, is_due_stamp, is_makers
from tankbook.units import GaugePressure

MATERIAL_OF = {
    "3A": Material.STEEL,
    "3AA": Material.STEEL,
    "3AX": Material.STEEL,
    "3AAX": Material.STEEL,
    "3AM": Material.STEEL,
    "3AAM": Material.STEEL,
    "3HT": Material.STEEL,
    "3T": Material.STEEL,
    "3AL": Material.ALUMINIUM,
    "3ALM": Material.ALUMINIUM,
    "ISO-7866": Material.ALUMINIUM,
    "ISO-9809": Material.STEEL,
    "ISO-11119": Material.COMPOSITE,
}
"""The material that a specification's own title names (49 CFR 178.36 to 178.46, titles of ISO 7866,
9809 and 11119; memory)."""


def of_cylinder(facts: Facts) -> Iterator[Reason]:
    """Every contradiction that the entries of a card alone show."""
    cylinder = facts.cylinder
    yield from _newest_look(cylinder)
    yield from _failed_tests(cylinder)
    yield from _material(facts)


def of_stamps(book: Book, facts: Facts, today: dt.date) -> Iterator[Reason]:
    """Every contradiction between the card, its stamp marks and its tests."""
    cylinder = facts.cylinder
    yield from _marks(cylinder)
    for found in (*test_pressure_of(book, cylinder), *expansion_of(book, cylinder)):
        if found.severity == "fault":
            yield _doubt(found.code, found.text, found.mend)
    yield from _tested_before_made(facts)
    yield from _tested_too_low(cylinder)
    yield from _disc_too_low(cylinder)


def of_sets(book: Book, ids: tuple[str, ...]) -> Iterator[Reason]:
    """What is wrong with the sets that a cylinder or set asked about belongs to."""
    names = dict.fromkeys(n for id_ in ids for n in (id_, *sets_with(book).get(id_, ())))
    for name in (n for n in names if n in book.sets):
        members = book.sets[name].cylinders
        if len(members) != 2 or len(set(members)) != 2:
            yield _doubt("set-size", f"set {name} does not name two different cylinders")
        for member in dict.fromkeys(members):
            others = [o for o in sets_with(book).get(member, ()) if o != name]
            if others:
                yield _doubt("in-two-sets", f"{member} is in {name} and in {others[0]}")
        known = [book.cylinders[m] for m in members if m in book.cylinders]
        if len({c.service_pressure for c in known}) > 1:
            yield _doubt("unlike-pressures", f"the sides of {name} differ in service pressure")


def _tested_too_low(cylinder: Cylinder) -> Iterator[Reason]:
    """The newest passed pressure test reached the test pressure, within a gauge's 1 %."""
    wanted = cylinder.test_pressure
    tests = [r for r in standing(cylinder.requalified) if r.method in PRESSURE_TESTS]
    if wanted is None or not tests or tests[-1].test_pressure is None:
        return
    reached = tests[-1].test_pressure
    if reached.pa < 0.99 * wanted.pa:
        text = f"its test of {tests[-1].on} reached {reached}, and its test pressure is {wanted}"
        yield _doubt("tested-too-low", text, "read the test sheet again")


def _disc_too_low(cylinder: Cylinder) -> Iterator[Reason]:
    """A burst disc below the service pressure would burst on filling."""
    disc = cylinder.valve.disc if cylinder.valve else None
    service = cylinder.service_pressure
    if isinstance(disc, GaugePressure) and service is not None and disc <= service:
        text = f"its burst disc is rated {disc}, not above its service pressure {service}"
        yield _doubt("disc-too-low", text, "read the disc again, or change it")


def _doubt(code: str, text: str, mend: str = "") -> Reason:
    return Reason(code, text, Gate.REFUSE, None, mend or "put the record right first")


def _newest_look(cylinder: Cylinder) -> Iterator[Reason]:
    """The newest inspection decides; of two on one day, the worse."""
    looks = standing(cylinder.inspected)
    if not looks or status_of(cylinder) in {Status.HELD, Status.REJECTED, Status.CONDEMNED}:
        return
    newest = max(looks, key=lambda i: (i.on.last, i.result is not InspectionResult.PASS))
    verdict = _verdict(newest)
    if verdict is InspectionResult.PASS or _answered(cylinder, newest):
        return
    text = f"its newest inspection, of {newest.on}, says {verdict}"
    yield _doubt("inspection-not-passed", text, "record what became of it")


def _verdict(entry: Inspected) -> InspectionResult:
    found = {f.result for f in entry.findings}
    if StepResult.REJECT in found:
        return InspectionResult.REJECT
    if StepResult.HOLD in found and entry.result is InspectionResult.PASS:
        return InspectionResult.HOLD
    return entry.result


def _answered(cylinder: Cylinder, entry: Inspected) -> bool:
    """Whether somebody released it, or had its rejection lifted, on that day or since."""
    since = entry.on.first
    released = any(h.released and h.released >= since for h in standing(cylinder.held))
    return released or any(r.lifted and r.lifted >= since for r in standing(cylinder.rejected))


def _failed_tests(cylinder: Cylinder) -> Iterator[Reason]:
    """A failed test stands until a pass by the same method, or a pressure test, comes after it."""
    tests = standing(cylinder.requalified)
    for failed in (t for t in tests if t.result is TestResult.FAIL):
        if not any(_answers(cylinder, failed, later) for later in tests):
            text = f"it failed its {failed.method} test of {failed.on}, and nothing after it passed"
            yield _doubt("test-failed", text, "a requalifier decides: retest it or condemn it")


def _answers(cylinder: Cylinder, failed: Requalified, later: Requalified) -> bool:
    same = later.method is failed.method
    pressure = later.method in PRESSURE_TESTS and failed.method not in PRESSURE_TESTS
    passed = later.result is TestResult.PASS and not is_due_stamp(cylinder, later)
    return passed and (same or pressure) and later.on.first > failed.on.last


def _material(facts: Facts) -> Iterator[Reason]:
    """Specification and material name one metal."""
    if facts.material is None or facts.permit:
        return
    for specification in facts.specifications:
        named = material_named(specification)
        if named is not None and named is not facts.material:
            text = f"{specification} is {named}, and its material is recorded as {facts.material}"
            yield _doubt("material-differs", text, "read the shoulder again")


def material_named(specification: str) -> Material | None:
    """The material a specification names, in its normal spelling, or None."""
    head, _, rest = specification.partition("-")
    if head in {"DOT", "ICC", "TC"}:
        return MATERIAL_OF.get(rest)
    for name, material in MATERIAL_OF.items():
        if name.startswith("ISO-") and f"-{specification}-".find(f"-{name}-") >= 0:
            return material
    return None


@lru_cache(maxsize=4096)
def _read(marks: str) -> Marks:
    return read_marks(marks)


def _marks(cylinder: Cylinder) -> Iterator[Reason]:
    """Pressure, serial and specification as stamped; a condemned mark ends it."""
    if not cylinder.marks:
        return
    marks = _read(cylinder.marks)
    stamped, service = marks.service_pressure, cylinder.service_pressure
    if stamped and service and abs(stamped.psi - service.psi) > 0.01 * stamped.psi:
        text = f"its marks say {stamped}, and its card {service}"
        yield _doubt("marks-pressure", text, "read the shoulder again")
    if marks.serial and normal(marks.serial) != normal(cylinder.serial):
        text = f"its marks say serial {marks.serial}, and its card {cylinder.serial}"
        yield _doubt("marks-serial", text, "read the shoulder again")
    stated = {normal(s) for s in cylinder.specification}
    for specification in marks.specifications:
        if normal(specification) not in stated:
            text = f"its marks carry {specification}, which its card does not list"
            yield _doubt("marks-specification", text, "read the shoulder again")
    if getattr(marks, "condemned", False):
        yield _doubt(
            "marks-condemned", "its marks say that it is condemned", "it never holds gas again"
        )


def _tested_before_made(facts: Facts) -> Iterator[Reason]:
    for entry in standing(facts.cylinder.requalified):
        if facts.made and not is_makers(entry) and entry.on.last < facts.made.first:
            text = f"a test of {entry.on} is older than the cylinder ({facts.made})"
            yield _doubt("before-made", text, "read the stamps again")
