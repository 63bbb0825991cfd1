"""The pressure a cylinder is tested at: as marked, by its permit, or by the row in force."""

from __future__ import annotations

from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation
from tankbook.rules.inforce import Facts, InForce, facts_of, is_permit, rules_of, speaks_of
from tankbook.rules.stamped import marks_of
from tankbook.units import GaugePressure


def test_pressure_of(book: Book, cylinder: Cylinder) -> GaugePressure | None:
    """A cylinder's test pressure; None where neither its card nor one row in force gives it.

    Where nobody typed it, what is stamped counts. Where several give one, the lowest counts: a
    burst disc and a test are held against it. What is marked on the shoulder stands by itself, but
    for a permit, and a permit on a plain specification does not silence the row that speaks of it.
    """
    rules = rules_of(book)
    return test_pressure_by(rules, facts_of(cylinder, rules))


test_pressure_of.__test__ = False  # type: ignore[attr-defined]  # no test for pytest


def test_pressure_by(rules: InForce, facts: Facts) -> GaugePressure | None:
    """The test pressure of a cylinder by its facts, as `test_pressure_of` gives it."""
    cylinder = facts.cylinder
    permit = cylinder.permit.test_pressure if cylinder.permit else None
    known = [p for p in (cylinder.test_pressure, permit) if p is not None]
    known += marks_of(cylinder).test_pressures if not known else ()
    plain = not is_permit(replace(cylinder, permit=None))
    if plain and (not known or cylinder.permit is not None):
        by_row = _by_row(rules, replace(facts, permit=False))
        known += [by_row] if by_row is not None else []
    return min(known, default=None)


test_pressure_by.__test__ = False  # type: ignore[attr-defined]


def _by_row(rules: InForce, facts: Facts) -> GaugePressure | None:
    """The lowest test pressure that the rows in force give, in the unit of the service pressure."""
    service = facts.cylinder.service_pressure
    if service is None:
        return None
    wanted = []
    for row in rules.rows[Obligation.TEST_PRESSURE]:
        if speaks_of(row, facts):
            by_ratio = service.psi * float(row.ratio) if row.ratio else 0.0
            wanted.append(max(by_ratio, row.at_least.psi if row.at_least else 0.0))
    lowest = min((w for w in wanted if w), default=None)
    if lowest is None:
        return None
    pressure = GaugePressure.of(lowest, "psi")
    return GaugePressure.of(round(pressure.to(service.unit), 6), service.unit)
