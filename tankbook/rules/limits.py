"""The most a cylinder may hold, and how much of that today's temperature shows."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

from msgspec import Struct

from tankbook.gas import AIR, Gas, Mixture, at_temperature, mixture_of
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified
from tankbook.records.kinds import MOST_PRESSURE
from tankbook.records.marked import MarkKind
from tankbook.records.rulerow import Measure, Obligation, RuleRow
from tankbook.records.words import Material, Method, TestResult
from tankbook.rules.answers import Limit
from tankbook.rules.inforce import CylinderFacts, InForce, facts_of, rules_of, rules_on
from tankbook.rules.stamped import marks_of, plus_is_stamped
from tankbook.rules.strictness import TEST_TOO_HIGH, TEST_TOO_LOW
from tankbook.rules.test_pressure import rounding, test_pressure_by
from tankbook.rules.tested import latest_pressure_test
from tankbook.units import GaugePressure, Temperature
from tankbook.units.patterns import pattern

PLUS_ON_LATEST = "plus-mark-on-latest-test"
DISC_WITHIN = "disc-within-test-pressure"

SAME = 1e-3
"""Figures this near to each other are one figure, rounded in two units."""

ROUNDED = 1e-2
"""How far a marked test pressure may be from a ratio of the service pressure: both are rounded when
they are marked."""


def limit_of(
    book: Book, cylinder: Cylinder, gas: Gas | Mixture = AIR, today: dt.date | None = None
) -> Limit | None:
    """The marked pressure at its reference temperature, with the plus mark's share where due.

    Lowered where a row in force caps it below, or where the gas would show too much on a hot day.

    Args:
        book: the records and the rules in force.
        cylinder: the cylinder.
        gas: what it is filled with.
        today: the day whose rules count; the day the book is asked about where None.

    None where no limit can be stated; `why_no_limit` says why.
    """
    found = _asked(book, cylinder, gas, today).found()
    return found if isinstance(found, Limit) else None


def why_no_limit(
    book: Book, cylinder: Cylinder, gas: Gas | Mixture = AIR, today: dt.date | None = None
) -> str:
    """Why no limit can be stated, as `limit_of` is asked; empty where one can."""
    found = _asked(book, cylinder, gas, today).found()
    return "" if isinstance(found, Limit) else found


def permit_doubt(book: Book, cylinder: Cylinder) -> str:
    """What is wrong with the test pressure that a permit is said to prescribe, or an empty text."""
    asked = _asked(book, cylinder, AIR, None)
    marked = cylinder.service_pressure
    if not asked.facts.permit or marked is None:
        return ""
    return asked.beyond_bounds(asked.permit_bounds(), marked)


def _asked(book: Book, cylinder: Cylinder, gas: Gas | Mixture, today: dt.date | None) -> _Asked:
    rules = rules_on(book, today) if today else rules_of(book)
    return _Asked(rules, facts_of(cylinder, rules), mixture_of(gas), today or book.known_on)


_NO_PLUS = pattern(
    r"\b(?:no|not|never|do not|without) (?:a |any |the )?(?:plus|\+)"
    r"|\bplus\b[^.;]{0,20}\b(?:not|refused|denied|withheld|taken|ground|removed|lost|gone|expired)\b",
    re.IGNORECASE,
)


def _says_no_plus(cylinder: Cylinder, test: Requalified) -> str:
    """Why what is written of its test, or on its card, takes the plus away; or an empty text."""
    texts = (test.finding, test.note, cylinder.note)
    said = next((m[0] for text in texts if text and (m := _NO_PLUS.search(text))), "")
    return f"what is written of it says `{said}`" if said else ""


def _springs_too_far(cylinder: Cylinder, test: Requalified) -> str:
    """Why its elastic expansion earns no plus: above the REE that its shoulder says (that a plus
    rests on this is from memory: CGA C-5 was not readable); or an empty text."""
    total, kept = test.total_expansion, test.permanent_expansion
    stamped = [t.value for t in marks_of(cylinder).of(MarkKind.EXPANSION_REJECT)]
    most = min((v for v in stamped if isinstance(v, float)), default=None)
    if total is None or kept is None or most is None:
        return ""
    elastic = 1000 * (total.litres - kept.litres)
    over = elastic > most + HAIR
    return f"its elastic expansion, {elastic:.1f} cc, is above its REE of {most:g}" if over else ""


HAIR = 1e-6
"""What a figure at its limit may be off by arithmetic alone."""


class _Asked(Struct, frozen=True):
    """A cylinder whose limit is asked, under the rules of a day, for a gas."""

    rules: InForce
    facts: CylinderFacts
    mixture: Mixture
    day: dt.date | None

    def found(self) -> Limit | str:
        """The limit, or why there is none.

        Where two rows give a reference temperature, the higher one counts: it allows less gas.
        """
        marked = self.facts.cylinder.service_pressure
        temperatures = [r for r in self.about(Obligation.REFERENCE_TEMPERATURE) if r.temperature]
        caps = self.about(Obligation.FILL_LIMIT)
        if marked is None:
            return "its service pressure is not recorded"
        if not temperatures or not caps:
            return (
                "no rule row in force says to what pressure, at what temperature, it may be filled"
            )
        warmest = max(temperatures, key=lambda r: r.temperature.kelvin if r.temperature else 0.0)
        rows = [warmest, *caps, *self.about(Obligation.HOT_LIMIT)]
        why = self._missing(rows)
        if self.facts.permit and not why:
            bounds = self.permit_bounds()
            rows += bounds
            why = self._permit_doubt(bounds, marked)
        return why or self._lowered(marked, rows)

    def about(self, question: Obligation, state: str | None = None) -> tuple[RuleRow, ...]:
        """The rows that answer a question about the cylinder."""
        return self.rules.about(self.facts, question, state)

    def _missing(self, rows: list[RuleRow]) -> str:
        """What a row rests on that is not there."""
        beside = self.rules.lacking(rows)
        if beside:
            return f"the rule row {beside}, which must stand beside its fill limit, is missing"
        for row in rows:
            if row.ratio is not None and self._measure(row) is None:
                return f"its test pressure is not recorded, and its limit rests on it ({row.id})"
        return ""

    def _measure(self, row: RuleRow) -> GaugePressure | None:
        """What the ratio of a row is taken of; without `of`, of the service pressure."""
        cylinder = self.facts.cylinder
        if row.of is not Measure.TEST_PRESSURE:
            return cylinder.service_pressure
        permit = cylinder.permit.test_pressure if cylinder.permit else None
        known = [p for p in (cylinder.test_pressure, permit) if p is not None]
        return min(known, default=None)

    def permit_bounds(self) -> list[RuleRow]:
        """The rows that bound the test pressure of a permit."""
        states = (TEST_TOO_LOW, TEST_TOO_HIGH)
        return [row for state in states for row in self.about(Obligation.PERMIT, state)]

    def _permit_doubt(self, bounds: list[RuleRow], marked: GaugePressure) -> str:
        """What is wrong with the test pressure that its permit is said to prescribe."""
        for state in (TEST_TOO_LOW, TEST_TOO_HIGH):
            if not any(_has_state(row, state) for row in bounds):
                return "no rule row in force bounds the test pressure of a permit"
        return self.beyond_bounds(bounds, marked)

    def beyond_bounds(self, bounds: list[RuleRow], marked: GaugePressure) -> str:
        """That the test pressure of its permit lies beyond a row's, or an empty text."""
        permit = self.facts.cylinder.permit
        test = permit.test_pressure if permit else None
        for row in bounds if test else ():
            if test and _is_beyond(row, test, marked):
                word = "below" if _has_state(row, TEST_TOO_LOW) else "above"
                return f"its permit's test pressure {test} is {word} {row.ratio} of {marked}"
        return ""

    def _lowered(self, marked: GaugePressure, rows: list[RuleRow]) -> Limit:
        plus, why_no_plus = self._plus()
        granted = marked
        if plus and plus.share:
            granted = _times(marked, 1 + Fraction(str(plus.share.fraction)))
            rows = [*rows, plus]
        reference = rows[0].temperature
        assert reference is not None
        pressure, by = granted, None
        for row, cap in self._caps(granted, reference, rows):
            if cap.pa < pressure.pa * (1 - SAME):
                pressure, by = _rounded_down(cap, marked.unit), row
        most = f"{by.ratio} of {_OF[by.of]}" if by and by.ratio else by and by.at_most
        lowered = f"no more than {most} ({by.citation})" if by else ""
        if by and by.temperature:
            lowered = f"at {by.temperature} {lowered}"
        return Limit(pressure, reference, granted > marked, tuple(rows), why_no_plus, lowered)

    def _caps(
        self, granted: GaugePressure, reference: Temperature, rows: list[RuleRow]
    ) -> Iterator[tuple[RuleRow, GaugePressure]]:
        """Each cap, as a pressure at the reference temperature."""
        for row in rows:
            if row.at_most is not None and row.obligation is Obligation.FILL_LIMIT:
                yield row, row.at_most
            if row.ratio is None or row.obligation is Obligation.PERMIT:
                continue
            of = granted if row.of is not Measure.TEST_PRESSURE else self._measure(row)
            assert of is not None
            cap = _times(of, row.ratio)
            if row.obligation is Obligation.HOT_LIMIT and row.temperature:
                # beyond the gas model a lower cap is taken, which allows less
                cap = settled(self.mixture, min(cap, _REACHED), row.temperature, reference)
            yield row, cap

    def _plus(self) -> tuple[RuleRow | None, str]:
        """The row that grants the 10 %, or why a stamped plus grants nothing.

        All that any row in force needs must hold, and of two rows the smaller share counts.
        """
        cylinder = self.facts.cylinder
        latest = latest_pressure_test(cylinder)
        if latest is None or latest.result is not TestResult.PASS or not latest.plus:
            return None, ""
        if self.facts.material is not Material.STEEL:
            return (
                None,
                f"a plus mark gives nothing on {self.facts.material or 'an unknown material'}",
            )
        if latest.method is not Method.HYDROSTATIC:
            return None, "a plus mark needs the elastic expansion of a water-jacket test"
        if not plus_is_stamped(cylinder, self.day):
            return None, "no stamp on record shows a plus after its newest test"
        refused = _says_no_plus(cylinder, latest) or _springs_too_far(cylinder, latest)
        if refused:
            return None, refused
        rows = self.about(Obligation.PLUS_FILL)
        for need in dict.fromkeys(need for row in rows for need in row.needs):
            why = self._unmet(need)
            if why:
                return None, why
        if not rows:
            return None, "no rule row in force gives a plus mark any effect"
        return min(rows, key=lambda r: r.share.percent if r.share else 0.0), ""

    def _unmet(self, need: str) -> str:
        """Why something that the 10 % needs does not hold. What cannot be shown does not hold."""
        if need == PLUS_ON_LATEST:
            return ""  # looked at first, for every row
        if need != DISC_WITHIN:
            return f"the 10 % needs {need}, which no record shows"
        valve = self.facts.cylinder.valve
        disc = valve.disc if valve else None
        test = test_pressure_by(self.rules, self.facts)
        if test is None:
            return (
                "the 10 % needs a burst disc at or below the test pressure, which is not recorded"
            )
        held = isinstance(disc, GaugePressure) and disc.pa <= test.pa + rounding(disc, test)
        return "" if held else "the 10 % needs a burst disc recorded at or below the test pressure"


_REACHED = GaugePressure.of(MOST_PRESSURE.psi * (1 - SAME), "psi")

_OF = {
    None: "the service pressure",
    Measure.SERVICE_PRESSURE: "the service pressure",
    Measure.TEST_PRESSURE: "the test pressure",
}


def _times(pressure: GaugePressure, ratio: Fraction) -> GaugePressure:
    value = Fraction(str(pressure.to(pressure.unit))) * ratio
    return GaugePressure.of(round(float(value), 6), pressure.unit)


def _rounded_down(pressure: GaugePressure, unit: str) -> GaugePressure:
    """In a unit of the card, without decimals that no gauge shows."""
    return GaugePressure.of(float(math.floor(pressure.to(unit) + 1e-6)), unit)


def _has_state(row: RuleRow, state: str) -> bool:
    return row.applies_to is not None and state in row.applies_to.state


def _is_beyond(row: RuleRow, test: GaugePressure, service: GaugePressure) -> bool:
    """Whether a test pressure is beyond a bound, by more than rounding."""
    if row.ratio is None:
        return False
    bound = service.psi * float(row.ratio)
    if _has_state(row, TEST_TOO_LOW):
        return test.psi < bound * (1 - ROUNDED)
    return test.psi > bound * (1 + ROUNDED)


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
