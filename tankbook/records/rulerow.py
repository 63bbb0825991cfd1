"""A rule row, a watch row, and the sets they come in: rules as data."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import ClassVar

from tankbook.records.fields import COUNT, TEXT, YES_NO, OneOf, Record, key
from tankbook.records.kinds import (
    CONCENTRATION,
    DATE,
    ID,
    LENGTH,
    MASS,
    PERCENT,
    PERIOD,
    PERIOD_OR_RECORD,
    PRESSURE,
    RATIO,
    TEMPERATURE,
    VOLUME,
    FromRecord,
)
from tankbook.records.words import Material, Service, Use
from tankbook.units import (
    Concentration,
    GaugePressure,
    Length,
    Mass,
    PartialDate,
    Percent,
    Period,
    Temperature,
    Volume,
)


class Verified(StrEnum):
    """How a fact is known."""

    READ = "read"
    COMPUTED = "computed"
    MEMORY = "memory"
    INFERENCE = "inference"


VERIFIED = OneOf(Verified)


class Basis(StrEnum):
    """What a rule rests on. Only `practice` may be overridden."""

    LAW = "law"
    STANDARD = "standard"
    PRACTICE = "practice"


class Gate(StrEnum):
    """What a rule does at the fill station when it is not met."""

    REFUSE = "refuse"
    WARN = "warn"


class GoodUntil(StrEnum):
    """How long a dated test holds."""

    END_OF_MONTH = "end-of-month"
    SAME_DAY = "same-day"


class Subject(StrEnum):
    """What a rule speaks of."""

    CYLINDER = "cylinder"
    STATION = "station"
    PERSON = "person"


class Starts(StrEnum):
    """What starts a period."""

    LAST_TEST = "last-test"
    STAMPED = "stamped"
    CHANGE = "change"


class Measure(StrEnum):
    """What a ratio is taken of.

    The service pressure includes the 10 % of a plus mark where it is filled to it.
    """

    SERVICE_PRESSURE = "service-pressure"
    TEST_PRESSURE = "test-pressure"


class Unless(StrEnum):
    """What a record can say that sets a row aside.

    `risk-assessed`: the settings name a written risk assessment (`risk_assessed`).
    `permit-renewed`: the card names the renewal of its permit and the paper (`permit:
    renewed_until, paper`); watch rows only.
    """

    RISK_ASSESSED = "risk-assessed"
    PERMIT_RENEWED = "permit-renewed"


FIRST_TEST = "first-test"
"""In `met_by` of a visual: the maker's first test meets it too."""
INSPECTION = "inspection"
"""In `met_by` of a visual: a full look by one of the ledger's own people meets it."""
STICKER = "sticker"
"""In `met_by` of a visual: another's sticker that was seen meets it."""


class Obligation(StrEnum):
    """The questions a rule row can answer."""

    # dated: a period runs from the last act that met it
    REQUALIFICATION = "requalification"
    VISUAL = "visual"
    EDDY_CURRENT = "eddy-current"
    SERVICE_LIFE = "service-life"
    AIR_TEST = "air-test"
    FILTER = "filter"
    GAUGE_CHECK = "gauge-check"
    WHIP_CHECK = "whip-check"
    RELIEF_CHECK = "relief-check"
    BANK_TEST = "bank-test"
    EXAMINATION = "examination"
    POSITION_CHECK = "position-check"
    BUMP_TEST = "bump-test"
    UPKEEP = "upkeep"
    OXYGEN_CLEANING = "oxygen-cleaning"
    CERTIFICATION = "certification"
    # values
    REFERENCE_TEMPERATURE = "reference-temperature"
    TEST_PRESSURE = "test-pressure"
    PLUS_FILL = "plus-fill"
    EXPANSION_LIMIT = "expansion-limit"
    AIR_LIMITS = "air-limits"
    # conditions at the fill station
    MARK_REQUIRED = "mark-required"
    FILL_LIMIT = "fill-limit"
    HOT_LIMIT = "hot-limit"
    PRE_FILL_LOOK = "pre-fill-look"
    STANDING = "standing"
    NECK_CRACK = "neck-crack"
    THREAD_MATCH = "thread-match"
    VALVE_RATING = "valve-rating"
    DISC_RATING = "disc-rating"
    GAS_SERVICE = "gas-service"
    OXYGEN_CLEAN = "oxygen-clean"
    ALLOY = "alloy"
    RETURNED = "returned"
    DAMAGE = "damage"
    REFIT = "refit"
    PERMIT = "permit"
    DOUBLES = "doubles"
    REGULATOR = "regulator"
    ANALYSIS = "analysis"
    CO_ALARM = "co-alarm"
    OPENING = "opening"
    BANK_HOLD = "bank-hold"
    SOURCE = "source"
    # conditions at the counter
    LEAVING = "leaving"
    # the pressure chain
    OUTLET = "outlet"
    RELIEF_DEVICE = "relief-device"
    GAUGE_CEILING = "gauge-ceiling"

    @property
    def called(self) -> str:
        """The trade's short name: a requalification is a hydro."""
        return _CALLED.get(self.value, self.value.replace("-", " "))


_CALLED = {"requalification": "hydro", "eddy-current": "eddy-current"}


class AppliesTo(Record, frozen=True, kw_only=True):
    """Which subjects a row speaks of: every key given must fit. No key fits all."""

    title: ClassVar[str] = "applies_to"
    specification: tuple[str, ...] = key(
        [TEXT], "Any of these; a trailing * stands for anything.", "[DOT-3AA, TC-3AAM]"
    )
    not_specification: tuple[str, ...] = key(
        [TEXT], "Not when it carries any of these as well.", "[DOT*, UN*]"
    )
    material: tuple[Material, ...] = key([Material], "Any of these.", "[aluminium]")
    alloy: tuple[str, ...] = key([TEXT], "Alloy family, known or assumed by a watch row.", "[6351]")
    use: tuple[Use, ...] = key([Use], "Any of these.", "[sale]")
    service: tuple[Service, ...] = key([Service], "Any of these.", "[oxygen]")
    permit: bool | None = key(
        YES_NO, "Only (or never) special-permit and composite cylinders.", "yes"
    )
    made_before: PartialDate | None = key(DATE, "Made before.", "1990-02")
    made_from: PartialDate | None = key(DATE, "Made in or after.", "1972-01")
    state: tuple[str, ...] = key([TEXT], "Only for these states or conditions.", "[held]")
    standard: str | None = key(TEXT, "Air standard.", "cga-grade-e")


class AirLimits(Record, frozen=True, kw_only=True):
    """Limits of breathing air."""

    title: ClassVar[str] = "limits"
    oxygen_from: Percent | None = key(PERCENT, "Least oxygen.", "20 %")
    oxygen_to: Percent | None = key(PERCENT, "Most oxygen.", "22 %")
    co: Concentration | None = key(CONCENTRATION, "Most carbon monoxide.", "10 ppm")
    co_by_mass: Concentration | None = key(
        CONCENTRATION, "The same by mass, where the standard gives both.", "3.5 mg/m3"
    )
    co2: Concentration | None = key(CONCENTRATION, "Most carbon dioxide.", "1000 ppm")
    oil: Concentration | None = key(CONCENTRATION, "Most oil and particulates.", "5 mg/m3")
    hydrocarbons: Concentration | None = key(
        CONCENTRATION, "Most hydrocarbons as methane.", "25 ppm"
    )
    water: Concentration | None = key(
        CONCENTRATION, "Most water, where the air leaves the compressor.", "25 mg/m3"
    )
    water_stored: Concentration | None = key(
        CONCENTRATION, "Most water in air stored at 40 to 200 bar.", "50 mg/m3"
    )
    water_stored_high: Concentration | None = key(
        CONCENTRATION, "Most water in air stored above 200 bar.", "35 mg/m3"
    )

    @property
    def limited(self) -> tuple[str, ...]:
        """What they limit, as an air test calls it."""
        found = {
            "CO": self.co or self.co_by_mass,
            "CO2": self.co2,
            "oil": self.oil,
            "hydrocarbons": self.hydrocarbons,
            "water": self.water,
            "oxygen": self.oxygen_from or self.oxygen_to,
        }
        return tuple(name for name, most in found.items() if most is not None)

    def co_beside(self, got: Concentration | None) -> Concentration | None:
        """The most carbon monoxide, in the unit of a value where the standard gives it in that."""
        by_mass = self.co_by_mass
        if got is None or by_mass is None or got.unit != by_mass.unit:
            return self.co
        return by_mass if self.co is None or self.co.unit != by_mass.unit else min(self.co, by_mass)

    def water_at(self, stored: GaugePressure | None) -> Concentration | None:
        """The most water in a sample.

        Args:
            stored: the pressure of the store that it was drawn from; None for a sample drawn where
                the air leaves the compressor, or from who knows where.
        """
        if stored is None or stored < _STORED:
            return self.water
        found = self.water_stored_high if stored > _STORED_HIGH else self.water_stored
        return found or self.water


_STORED, _STORED_HIGH = GaugePressure.of(40, "bar"), GaugePressure.of(200, "bar")
"""The bands in which EN 12021 parts stored air (read, C)."""


class Spared(Record, frozen=True, kw_only=True):
    """The small cylinders that a row does not ask something of; all three must fit."""

    title: ClassVar[str] = "spares"
    length: Length = key(LENGTH, "Up to this length.", "12 in", required=True)
    diameter: Length = key(LENGTH, "Up to this outside diameter.", "4.5 in", required=True)
    below: GaugePressure = key(PRESSURE, "Filled to less than this.", "1800 psi", required=True)

    def __str__(self) -> str:
        """`up to 12 in long and 4.5 in wide, below 1800 psi`."""
        return f"up to {self.length} long and {self.diameter} wide, below {self.below}"


_WHY = (
    TEXT,
    "Why a row of the ledger's own loosens practice.",
    "all our valves are marked elsewhere",
)


class RuleRow(Record, frozen=True, kw_only=True):
    """One rule: to what it applies, what it asks, and how it is known."""

    title: ClassVar[str] = "rule row"
    id: str = key(ID, "Its name, unique in all sets.", "us.requalification.3al", required=True)
    subject: Subject = key(Subject, "What it speaks of.", "cylinder", default=Subject.CYLINDER)
    obligation: Obligation = key(
        Obligation, "The question it answers.", "requalification", required=True
    )
    applies_to: AppliesTo | None = key(
        AppliesTo, "Which cylinders or parts.", "{specification: [DOT-3AL]}"
    )
    period: Period | FromRecord | None = key(
        PERIOD_OR_RECORD, "Time from one act to the next.", "5 years"
    )
    refuses_after: Period | None = key(
        PERIOD, "A row that warns refuses once it has lapsed for so long.", "30 days"
    )
    starts: Starts = key(Starts, "What starts the period.", "last-test", default=Starts.LAST_TEST)
    met_by: tuple[str, ...] = key(
        [TEXT],
        "Acts that meet it: a requalification method, `inspection`, `certificate`; for a visual "
        "also `sticker`, another's that was seen, and `first-test`, the maker's.",
        "[hydrostatic, ultrasonic]",
    )
    good_until: GoodUntil = key(
        GoodUntil, "How long a dated act holds.", "end-of-month", default=GoodUntil.SAME_DAY
    )
    temperature: Temperature | None = key(
        TEMPERATURE, "Temperature of a marked pressure.", "70 degF"
    )
    ratio: Fraction | None = key(
        RATIO, "Test pressure over service pressure; or a pressure over what `of` names.", "5/3"
    )
    of: Measure | None = key(Measure, "What the ratio of a limit is taken of.", "test-pressure")
    at_least: GaugePressure | None = key(PRESSURE, "Least value.", "450 psi")
    at_most: GaugePressure | None = key(
        PRESSURE, "The most that an outlet stands, at `temperature` where one is given.", "232 bar"
    )
    share: Percent | None = key(
        PERCENT,
        "A share: overfill, permanent over total expansion, what a gauge or relief valve may err.",
        "10 %",
    )
    times: int | None = key(
        COUNT, "How many analyses that agree outweigh one that says another gas.", "2"
    )
    limits: AirLimits | None = key(AirLimits, "Air limits.", "{co: 10 ppm}")
    needs: tuple[str, ...] = key([TEXT], "What must hold besides.", "[plus-mark, latest-test]")
    spares: Spared | None = key(
        Spared,
        "Small cylinders that it does not ask this of.",
        "{length: 12 in, diameter: 4.5 in, below: 1800 psi}",
    )
    beside: tuple[str, ...] = key(
        [ID],
        "Rows that must stand beside it: while one of them is missing, it answers nothing.",
        "[us.hot-limit]",
    )
    unless: Unless | None = key(Unless, "What sets it aside.", "risk-assessed")
    for_diving: bool = key(YES_NO, "Its air may be breathed under water.", "no", default=True)
    gate: Gate = key(Gate, "At the fill station.", "refuse", required=True)
    basis: Basis = key(Basis, "What it rests on.", "law", required=True)
    never_overridden: bool = key(
        YES_NO, "Nobody may lift it, though it is practice.", "no", default=False
    )
    citation: str = key(TEXT, "Where it stands.", "49 CFR 180.209(a) Table 1", required=True)
    edition: str | None = key(TEXT, "Edition read.", "print of 2017-09-21")
    verified: Verified = key(VERIFIED, "How it is known.", "read", required=True)
    grade: str | None = key(TEXT, "Source: A official, B official but old, C secondary.", "B")
    since: PartialDate | None = key(DATE, "In force from, where not always.", "2026-01")
    by: str | None = key(TEXT, "Who decided on a row that loosens practice.", "MV")
    why: str | None = key(*_WHY)
    drop: bool = key(
        YES_NO,
        "In a ledger's own set: take the shipped row of this id, one of practice, out of force.",
        "no",
        default=False,
    )
    note: str | None = key(
        TEXT, "What else to know.", "other numbers in the table do not apply to scuba"
    )

    @property
    def may_be_overridden(self) -> bool:
        """Only shop practice may be lifted, by a named person with a reason."""
        return self.basis is Basis.PRACTICE and not self.never_overridden


class WatchRow(Record, frozen=True, kw_only=True):
    """What holds for the cylinders of a maker, specification, serial or date range."""

    title: ClassVar[str] = "watch row"
    id: str = key(ID, "Its name.", "alloy.maker-a.before-1990", required=True)
    maker: tuple[str, ...] = key(
        [TEXT], "Makers, any spelling that contains one; none fits all.", "[Example Cylinder Co]"
    )
    not_maker: tuple[str, ...] = key([TEXT], "Makers it does not speak of.", "[Other Cylinder Co]")
    specification: tuple[str, ...] = key([TEXT], "Specifications.", "[DOT-3AL]")
    serial_from: str | None = key(TEXT, "First serial, same letters and digit count.", "K100000")
    serial_to: str | None = key(TEXT, "Last serial.", "K119999")
    made_from: PartialDate | None = key(DATE, "Made in or after.", "1972-01")
    made_before: PartialDate | None = key(DATE, "Made before.", "1990-02")
    made_in: tuple[str, ...] = key([TEXT], "Countries of making.", "[US]")
    not_made_in: tuple[str, ...] = key([TEXT], "Countries it does not speak of.", "[US]")
    alloy: str | None = key(TEXT, "Alloy to assume.", "6351")
    recall: str | None = key(TEXT, "What the notice asks.", "return to the maker")
    unless: Unless | None = key(Unless, "What sets its recall aside.", "permit-renewed")
    gate: Gate = key(Gate, "At the fill station, for a recall.", "refuse", default=Gate.WARN)
    basis: Basis = key(Basis, "What it rests on.", "law", required=True)
    citation: str = key(TEXT, "The notice.", "DOT Notice 94-7, 26 Jul 1994", required=True)
    edition: str | None = key(TEXT, "Edition read.", "copy quoted on a forum")
    verified: Verified = key(VERIFIED, "How it is known.", "read", required=True)
    grade: str | None = key(TEXT, "Source grade.", "C")
    since: PartialDate | None = key(DATE, "In force from, where not always.", "2026-01")
    by: str | None = key(TEXT, "Who decided on a row that loosens practice.", "MV")
    why: str | None = key(*_WHY)
    drop: bool = key(
        YES_NO, "In a ledger's own set: take the shipped row out of force.", "no", default=False
    )
    note: str | None = key(TEXT, "What else to know.", "chart of months not read")


class RuleSet(Record, frozen=True, kw_only=True):
    """A rule set: rules/*.yaml of the ledger, or shipped."""

    title: ClassVar[str] = "rule set"
    id: str = ""
    shipped: bool = False
    heading: str = key(TEXT, "What it is.", "United States, 49 CFR", required=True)
    stands_alone: bool = key(
        YES_NO, "It is enough as a fill rule without another set beside it.", "yes", default=True
    )
    needs_stamp_means: bool = key(
        YES_NO, "Retest stamps mean nothing until the record says what.", "no", default=False
    )
    note: str | None = key(TEXT, "What else to know.", "not legal advice")
    notices: int | None = key(
        COUNT, "How many watch rows and fixed service lives it holds: one lost is then told.", "3"
    )
    rows: tuple[RuleRow, ...] = key([RuleRow], "The rows.", "[...]")
    watch: tuple[WatchRow, ...] = key([WatchRow], "Watch rows.", "[...]")

    @property
    def every_row(self) -> tuple[RuleRow | WatchRow, ...]:
        """Rule rows, then watch rows."""
        return (*self.rows, *self.watch)

    @property
    def notices_held(self) -> int:
        """Rows whose loss nothing else would show: watch rows and fixed service lives."""
        lives = sum(
            r.obligation is Obligation.SERVICE_LIFE and isinstance(r.period, Period)
            for r in self.rows
        )
        return len(self.watch) + lives


class TradeSize(Record, frozen=True, kw_only=True):
    """A trade size that stands for a water volume."""

    title: ClassVar[str] = "trade size"
    name: str = key(ID, "The size word.", "al80", required=True)
    water_volume: Volume = key(VOLUME, "Nominal water volume.", "11.1 L", required=True)
    service_pressure: GaugePressure | None = key(PRESSURE, "Nominal service pressure.", "3000 psi")
    material: Material | None = key(Material, "Material.", "aluminium")
    mass: Mass | None = key(MASS, "Nominal empty mass.", "14.2 kg")
    diameter: Length | None = key(LENGTH, "Nominal diameter.", "7.25 in")
    verified: Verified = key(VERIFIED, "How it is known.", "memory", required=True)
    citation: str = key(
        TEXT,
        "Source, or `common practice, no source`.",
        "common practice, no source",
        required=True,
    )


class SizeTable(Record, frozen=True, kw_only=True):
    """The shipped table of trade sizes."""

    title: ClassVar[str] = "trade sizes"
    sizes: tuple[TradeSize, ...] = key([TradeSize], "The rows.", "[...]", required=True)
