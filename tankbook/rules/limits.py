"""The most a cylinder may hold, and how much of that today's temperature shows."""

from __future__ import annotations

from functools import lru_cache

from tankbook.gas import Mixture, at_temperature
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.words import Material, Method, TestResult
from tankbook.rules.answers import Limit
from tankbook.rules.inforce import Facts, InForce, facts_of, rules_of
from tankbook.rules.tested import latest_pressure_test
from tankbook.units import GaugePressure, Temperature

PLUS_ON_LATEST = "plus-mark-on-latest-test"
DISC_WITHIN = "disc-within-test-pressure"


def limit_of(book: Book, cylinder: Cylinder) -> Limit | None:
    """The marked pressure at its reference temperature, with the plus mark's share where due.

    Where two rows give a reference temperature, the higher one counts: it allows less gas. None
    where the service pressure is unknown or no row in force states a limit and its temperature.
    """
    rules = rules_of(book)
    facts = facts_of(cylinder, rules)
    at = [r for r in rules.about(facts, Obligation.REFERENCE_TEMPERATURE) if r.temperature]
    caps = rules.about(facts, Obligation.FILL_LIMIT)
    pressure = cylinder.service_pressure
    if pressure is None or not at or not caps:
        return None
    row = max(at, key=lambda r: r.temperature.kelvin if r.temperature else 0.0)
    assert row.temperature is not None
    plus, why = _plus(rules, facts)
    if plus and plus.share:
        more = pressure.psi * (1 + plus.share.fraction)
        pressure = GaugePressure.of(
            round(more / pressure.psi * pressure.to(pressure.unit), 6), pressure.unit
        )
    used = (row, *caps, *((plus,) if plus else ()))
    return Limit(pressure, row.temperature, plus is not None, used, why)


def _plus(rules: InForce, facts: Facts) -> tuple[RuleRow | None, str]:
    """The row that grants the 10 %, or why a stamped plus grants nothing."""
    cylinder = facts.cylinder
    latest = latest_pressure_test(cylinder)
    if latest is None or latest.result is not TestResult.PASS or not latest.plus:
        return None, ""
    if facts.material is not Material.STEEL:
        return None, f"a plus mark gives nothing on {facts.material or 'an unknown material'}"
    if latest.method is not Method.HYDROSTATIC:
        return None, "a plus mark needs the expansion of a water-jacket test"
    for row in rules.about(facts, Obligation.PLUS_FILL):
        if DISC_WITHIN in row.needs and not _disc_within(cylinder):
            return None, "the 10 % needs a burst disc recorded at or below the test pressure"
        return row, ""
    return None, "no rule row in force gives a plus mark any effect"


def _disc_within(cylinder: Cylinder) -> bool:
    disc = cylinder.valve.disc if cylinder.valve else None
    test = cylinder.test_pressure
    return isinstance(disc, GaugePressure) and test is not None and disc <= test


def cold_target(limit: Limit, mixture: Mixture, ambient: Temperature | None) -> GaugePressure:
    """What the limit reads at the ambient temperature: lower on a colder day, never higher.

    Args:
        limit: the limit at its reference temperature.
        mixture: the gas the cylinder is to hold.
        ambient: temperature of the settled cylinder; None leaves the limit as it is.

    Raises:
        RangeError: outside the range of the equation of state.
    """
    if ambient is None or ambient >= limit.reference:
        return limit.pressure
    return settled(mixture, limit.pressure, limit.reference, ambient)


def settled(
    mixture: Mixture, pressure: GaugePressure, from_: Temperature, to: Temperature
) -> GaugePressure:
    """A settled pressure at another temperature, remembered: a fleet asks for the same few.

    Raises:
        RangeError: outside the range of the equation of state.
    """
    return _settled(mixture, pressure, pressure.unit, from_, to)


@lru_cache(maxsize=8192)
def _settled(
    mixture: Mixture, pressure: GaugePressure, unit: str, from_: Temperature, to: Temperature
) -> GaugePressure:
    """`unit` keeps pressures apart that are equal and written in different units."""
    return at_temperature(mixture, pressure, from_, to)
