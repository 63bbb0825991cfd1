"""The pressure a cylinder is tested at: as marked, by its permit, or by the row in force."""

from __future__ import annotations

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.units import GaugePressure


def test_pressure_of(book: Book, cylinder: Cylinder) -> GaugePressure | None:
    """A cylinder's test pressure; None where neither its card nor one row in force gives it.

    Where several rows give one, the lowest counts: a burst disc and a test are held against it.
    """
    permit = cylinder.permit.test_pressure if cylinder.permit else None
    if cylinder.test_pressure or permit:
        return cylinder.test_pressure or permit
    service, rules = cylinder.service_pressure, rules_of(book)
    facts = facts_of(cylinder, rules)
    if service is None or facts.permit:
        return None
    wanted = []
    for row in rules.about(facts, Obligation.TEST_PRESSURE):
        by_ratio = service.psi * float(row.ratio) if row.ratio else 0.0
        wanted.append(max(by_ratio, row.at_least.psi if row.at_least else 0.0))
    lowest = min((w for w in wanted if w), default=None)
    if lowest is None:
        return None
    pressure = GaugePressure.of(lowest, "psi")
    return GaugePressure.of(round(pressure.to(service.unit), 6), service.unit)


test_pressure_of.__test__ = False  # type: ignore[attr-defined]  # no test for pytest
