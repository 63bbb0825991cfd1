"""The pressure a cylinder is tested at: as marked, by its permit, or by the row in force. And the
burst disc held against it, or whether a valve may have none.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import NoDisc
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.rules.answers import Limit
from tankbook.rules.conditions import Condition
from tankbook.rules.inforce import (
    CylinderFacts,
    InForce,
    facts_of,
    is_permit,
    row_applies,
    rules_of,
)
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


def test_pressure_by(rules: InForce, facts: CylinderFacts) -> GaugePressure | None:
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


def _by_row(rules: InForce, facts: CylinderFacts) -> GaugePressure | None:
    """The lowest test pressure that the rows in force give, in the unit of the service pressure."""
    service = facts.cylinder.service_pressure
    if service is None:
        return None
    wanted = []
    for row in rules.rows[Obligation.TEST_PRESSURE]:
        if row_applies(row, facts):
            by_ratio = service.psi * float(row.ratio) if row.ratio else 0.0
            wanted.append(max(by_ratio, row.at_least.psi if row.at_least else 0.0))
    lowest = min((w for w in wanted if w), default=None)
    if lowest is None:
        return None
    pressure = GaugePressure.of(lowest, "psi")
    return GaugePressure.of(round(pressure.to(service.unit), 6), service.unit)


ROUNDING = 0.0025
"""Share by which one pressure differs when it is written in whole bar and in psi: half a bar of 200
(own calculation)."""

ROUNDED = GaugePressure.of(1, "psi")
"""A burst disc and a test pressure within this are one figure: both are marked in whole psi or bar,
and a test pressure that a ratio gives is not."""

WANTED = "disc"
"""In the `needs` of a relief-device row: a valve has a burst disc."""


def disc_of(cylinder: Cylinder) -> GaugePressure | NoDisc | None:
    """The rating of its burst disc; that it has none; None where nobody wrote either down."""
    return cylinder.valve.disc if cylinder.valve else None


def too_low(cylinder: Cylinder, limit: Limit | None) -> str:
    """What is wrong with a burst disc that does not hold what its cylinder is filled to, the 10 %
    of a plus mark included; empty where it does."""
    disc = disc_of(cylinder)
    filled_to = limit.pressure if limit else cylinder.service_pressure
    if not isinstance(disc, GaugePressure) or filled_to is None or disc > filled_to:
        return ""
    return f"its burst disc is rated {disc}, not above {filled_to}, to which it is filled"


def of_disc(
    rules: InForce, facts: CylinderFacts, disc: GaugePressure, test: GaugePressure | None
) -> Iterator[Condition]:
    """The conditions of a burst disc against the test pressure.

    Args:
        rules: the rules in force.
        facts: of its cylinder.
        disc: its rating.
        test: the test pressure; None where nobody knows it.
    """
    question = Obligation.DISC_RATING
    if test is None:
        text = (
            "its burst disc was not compared: neither its card nor a rule gives its test pressure"
        )
        yield Condition(question, "unknown", "disc-unknown", text, "record `test_pressure:`")
    elif disc.pa > test.pa + rounding(disc, test):
        text = f"its burst disc is rated {disc}, above the test pressure {test}"
        mend = "fit a disc rated at or just under the test pressure"
        yield Condition(question, "above-test-pressure", "disc-above-test-pressure", text, mend)
    elif disc.pa < test.pa * _least(rules, facts) - ROUNDED.pa:
        share = _told(100 * disc.pa / test.pa, 100 * _least(rules, facts))
        text = f"its burst disc is rated {disc}, {share} % of the test pressure {test}"
        yield Condition(question, "low", "disc-low", text, "read the disc again, or change it")


def _told(share: float, least: float) -> str:
    """A share [%] that is below the least, in as many decimals as show that."""
    return next((f"{share:.{n}f}" for n in range(9) if round(share, n) < least), f"{share}")


def rounding(disc: GaugePressure, test: GaugePressure) -> float:
    """How far apart [Pa] two marks of one figure may be: not at all where both are whole, and as
    far as a whole bar is from a whole psi where one is in either."""
    if disc.unit != test.unit:
        return max(ROUNDING * test.pa, ROUNDED.pa)
    whole = disc.unit == test.unit and test.to(test.unit) == round(test.to(test.unit))
    return 0.0 if whole else ROUNDED.pa


def _least(rules: InForce, facts: CylinderFacts) -> float:
    """How much of the test pressure a disc stands at the least; all of it where no row says."""
    rows = rules.about(facts, Obligation.DISC_RATING, "low")
    return max((row.share.fraction for row in rows if row.share), default=1.0)


def asks_for_disc(row: RuleRow, cylinder: Cylinder, limit: Limit) -> bool:
    """Whether a relief-device row asks this cylinder for a burst disc: a small one may be spared,
    where its length and diameter are on record and it is filled to less than the row says."""
    if WANTED not in row.needs:
        return False
    spared, long, wide = row.spares, cylinder.length, cylinder.diameter
    return not (
        spared is not None
        and long is not None
        and wide is not None
        and long <= spared.length
        and wide <= spared.diameter
        and limit.pressure < spared.below
    )
