"""The fill station: banks, compressors, positions, whips, gauges, filters, air tests."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import ClassVar, Protocol, TypeVar

from tankbook.gas import Gas, analysed_said
from tankbook.records.entries import Requalified, Void
from tankbook.records.fields import (
    COUNT,
    TEXT,
    YES_NO,
    Kind,
    ListOf,
    Nested,
    Record,
    attributes_of,
    key,
    keys_of,
)
from tankbook.records.kinds import (
    CONCENTRATION,
    DATE,
    DAY,
    DIGEST,
    FLOW,
    GAS,
    HOURS,
    ID,
    LENGTH,
    PERCENT,
    PERIOD,
    PERIOD_OR_NONE,
    PRESSURE,
    RATE,
    TEMPERATURE,
    TIME_OF_DAY,
    VOLUME,
    NoEnd,
)
from tankbook.records.words import (
    CoCause,
    CoPlace,
    Grade,
    InstrumentKind,
    OpenWhip,
    PositionKind,
    SourceKind,
    TestResult,
    UpkeepKind,
)
from tankbook.units import (
    Concentration,
    FreeGasFlow,
    GaugePressure,
    Length,
    PartialDate,
    Percent,
    Period,
    PressureRate,
    RunningTime,
    Temperature,
    Volume,
)


class Dated(Protocol):
    """An entry with a day, which may be struck out."""

    @property
    def on(self) -> dt.date:
        """When."""

    @property
    def void(self) -> Void | None:
        """What strikes it out."""


D_ = TypeVar("D_", bound=Dated)

COMPRESSOR = "compressor"
"""What a compressor is called that has no label."""
BOOSTER = "booster"


def that_stand(entries: Iterable[D_]) -> tuple[D_, ...]:
    """The entries that are not struck out, oldest first (file order where days tie)."""
    return tuple(sorted((e for e in entries if e.void is None), key=lambda e: e.on))


_STRIKES = Void, "Strikes the entry out.", "{why: wrong bank, by: MV, on: 2026-11-26}"


class Reading(Record, frozen=True, kw_only=True):
    """A gauge reading of a bank."""

    title: ClassVar[str] = "reading"
    on: dt.date = key(DAY, "When.", "2026-11-25", required=True)
    pressure: GaugePressure = key(
        PRESSURE, "What the master gauge showed.", "4400 psi", required=True
    )
    at: dt.time | None = key(
        TIME_OF_DAY,
        "Time of day; at its end, or before the next one entered with an hour, if not said.",
        "08:30",
    )
    by: str | None = key(TEXT, "Initials.", "MV")
    note: str | None = key(
        TEXT, "Of one far above its mark: what happened.", "the relief valve stuck"
    )
    void: Void | None = key(*_STRIKES)


class Raised(Record, frozen=True, kw_only=True):
    """A bank pumped up."""

    title: ClassVar[str] = "raised"
    on: dt.date = key(DAY, "When.", "2026-11-25", required=True)
    to: GaugePressure = key(PRESSURE, "What it showed after.", "4400 psi", required=True)
    from_: GaugePressure | None = key(PRESSURE, "What it showed before.", "3100 psi")
    at: dt.time | None = key(TIME_OF_DAY, "Time of day it was done.", "11:40")
    hours: RunningTime | None = key(HOURS, "What the compressor's meter showed then.", "412.5 h")
    source_: str | None = key(
        TEXT,
        "From what: the compressor, if not said (of several, any); a bank, `elsewhere: WHERE`.",
        "C1",
    )
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)


class BankAnalysis(Record, frozen=True, kw_only=True):
    """What an analyser showed of the gas in a bank."""

    title: ClassVar[str] = "bank analysis"
    on: dt.date = key(DAY, "When.", "2026-11-25", required=True)
    at: dt.time | None = key(
        TIME_OF_DAY,
        "Time of day; without it, it says nothing of what was put in that day.",
        "12:10",
    )
    oxygen: Percent = key(PERCENT, "Oxygen.", "32.1 %", required=True)
    helium: Percent | None = key(PERCENT, "Helium.", "35 %")
    with_: str | None = key(ID, "The analyser, by its label.", "OA-1")
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)

    @property
    def figures(self) -> str:
        """`18.1 % oxygen, 44.8 % helium`."""
        return analysed_said(self.oxygen.percent, self.helium.percent if self.helium else None)


class BankHeld(Record, frozen=True, kw_only=True):
    """A bank out of use, until it was sampled, or emptied and raised from a good source."""

    title: ClassVar[str] = "bank hold"
    on: dt.date = key(DAY, "Since when.", "2026-11-25", required=True)
    at: dt.time | None = key(TIME_OF_DAY, "Time of day; after its fills, if not said.", "16:30")
    why: str = key(TEXT, "Why.", "recall of C1", required=True)
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)


class BankLooked(Record, frozen=True, kw_only=True):
    """A look at a bank by somebody competent, and what they decided."""

    title: ClassVar[str] = "bank look"
    on: dt.date = key(DAY, "When.", "2026-11-26", required=True)
    at: dt.time | None = key(
        TIME_OF_DAY, "Time of day, where it was read so high that day.", "16:20"
    )
    by: str | None = key(TEXT, "Initials of who looked at it.", "MV")
    after: dt.date | None = key(
        DAY, "The day of the reading far above its mark that it was looked at for.", "2026-11-25"
    )
    decided: str = key(
        TEXT, "What was found, and decided.", "5100 psi is below its test, no bulge", required=True
    )
    result: TestResult = key(
        TestResult, "Pass unless said otherwise.", "pass", default=TestResult.PASS
    )
    void: Void | None = key(*_STRIKES)


class BankCleaned(Record, frozen=True, kw_only=True):
    """A bank opened, looked inside, cleaned, and closed; one of `grade: oxygen` for oxygen."""

    title: ClassVar[str] = "bank cleaning"
    on: dt.date = key(DAY, "When.", "2026-11-26", required=True)
    at: dt.time | None = key(
        TIME_OF_DAY,
        "Time of day; without it, it says nothing of what went in that day.",
        "12:10",
    )
    by: str | None = key(TEXT, "Who cleaned it: initials, or a firm.", "MV")
    method: str | None = key(TEXT, "How.", "detergent, hot water, dried")
    void: Void | None = key(*_STRIKES)


class Certificate(Record, frozen=True, kw_only=True):
    """The paper of an entry: a file, and what was in it when it was recorded."""

    title: ClassVar[str] = "certificate"
    name: str = key(
        TEXT, "The file; with its folders where it lies in the ledger.", "lab.pdf", required=True
    )
    sha256: str = key(
        DIGEST,
        "SHA-256 of what was in it.",
        "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
        required=True,
    )


_PAPER = Certificate, "The paper, by its name and digest.", "{name: lab.pdf, sha256: 9f86d0...}"


class BankTest(Requalified, frozen=True, kw_only=True):
    """The periodic test of a bank."""

    title: ClassVar[str] = "bank_test"
    certificate: Certificate | None = key(*_PAPER)


class NoPeriod(Record, frozen=True, kw_only=True):
    """The decision that a bank is not tested from time to time: who decided, and on what ground."""

    title: ClassVar[str] = "no period"
    on: dt.date = key(DAY, "When it was decided.", "2026-11-02", required=True)
    by: str = key(TEXT, "Who decided.", "MV", required=True)
    why: str = key(TEXT, "On what ground.", "ASME vessel, looked at by the insurer", required=True)
    document: str | None = key(TEXT, "Where the paper is.", "plate and data report, folder 3")
    until: PartialDate | None = key(
        DATE, "When it is decided again; of a month, its end.", "2031-11-02"
    )
    certificate: Certificate | None = key(*_PAPER)
    void: Void | None = key(*_STRIKES)


class Bank(Record, frozen=True, kw_only=True):
    """A storage bank: one vessel, or several that are always open to each other."""

    title: ClassVar[str] = "bank"
    name: str = key(ID, "Its label.", "B1", required=True)
    water_volume: Volume = key(VOLUME, "Water volume of all its vessels.", "48 L", required=True)
    working_pressure: GaugePressure | None = key(PRESSURE, "Marked working pressure.", "5000 psi")
    gas: Gas | None = key(GAS, "What it holds.", "air")
    since: dt.date | None = key(DAY, "Since when it holds that gas.", "2026-11-02")
    grade: Grade | None = key(Grade, "`oxygen`: fit to be mixed with oxygen.", "breathing")
    readings: tuple[Reading, ...] = key(
        [Reading], "Readings, newest last.", "[{on: 2026-11-25, pressure: 4400 psi}]"
    )
    raised: tuple[Raised, ...] = key(
        [Raised], "When it was pumped.", "[{on: 2026-11-25, from: 3100 psi, to: 4400 psi}]"
    )
    analysed: tuple[BankAnalysis, ...] = key(
        [BankAnalysis], "Analyses of what it holds.", "[{on: 2026-11-25, oxygen: 32.1 %, by: MV}]"
    )
    held: tuple[BankHeld, ...] = key(
        [BankHeld], "When it was set aside.", "[{on: 2026-11-25, why: recall of C1, by: MV}]"
    )
    looked: tuple[BankLooked, ...] = key(
        [BankLooked],
        "Looks at it after it was read far above its mark.",
        "[{on: 2026-11-26, by: MV, after: 2026-11-25, decided: no bulge}]",
    )
    cleaned: tuple[BankCleaned, ...] = key(
        [BankCleaned],
        "When it was looked inside and cleaned, for oxygen where that is its grade.",
        "[{on: 2026-11-26, by: MV, method: 'detergent, dried'}]",
    )
    requalified: tuple[BankTest, ...] = key(
        [BankTest], "Tests.", "[{on: 2024-03, method: hydrostatic, by: T123}]"
    )
    period: Period | NoEnd | None = key(
        PERIOD_OR_NONE,
        "Time from test to test, as its papers say; `none` takes `no_period`, who decided it.",
        "10 years",
    )
    no_period: tuple[NoPeriod, ...] = key(
        [NoPeriod],
        "That it has no period: decisions, newest last.",
        "[{on: 2026-11-02, by: MV, why: ASME vessel, document: folder 3}]",
    )
    specification: str | None = key(TEXT, "What it is made to, as its marks say.", "ASME VIII-1")


class Hours(Record, frozen=True, kw_only=True):
    """The compressor's hour meter on a day."""

    title: ClassVar[str] = "hours"
    on: dt.date = key(DAY, "When.", "2026-11-25", required=True)
    reads: RunningTime = key(HOURS, "What the meter showed.", "412.5 h", required=True)
    instead_of: RunningTime | None = key(
        HOURS,
        "This is a new meter's first reading; what the one that it replaces showed last.",
        "1663.2 h",
    )
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)


class Checked(Record, frozen=True, kw_only=True):
    """A check of a part of the station."""

    title: ClassVar[str] = "checked"
    on: dt.date = key(DAY, "When.", "2026-04-01", required=True)
    by: str | None = key(TEXT, "Initials.", "MV")
    result: TestResult = key(
        TestResult, "Pass unless said otherwise.", "pass", default=TestResult.PASS
    )
    repaired: str | None = key(
        TEXT, "What was done about a failed check before this one.", "lid latch replaced"
    )
    lifted: GaugePressure | None = key(PRESSURE, "A relief valve: where it lifted.", "4550 psi")
    at: dt.time | None = key(
        TIME_OF_DAY,
        "When: of a relief valve on a day a bank rose too high, of an instrument on a day it read.",
        "15:20",
    )
    note: str | None = key(TEXT, "What was found.", "cover chafed")
    void: Void | None = key(*_STRIKES)


class Compressor(Record, frozen=True, kw_only=True):
    """A compressor."""

    title: ClassVar[str] = "compressor"
    name: str | None = key(TEXT, "Its label; required where there are several.", "C1")
    delivery: FreeGasFlow | None = key(FLOW, "Free air delivered.", "6.5 cuft/min")
    max_pressure: GaugePressure | None = key(PRESSURE, "Highest pressure it fills to.", "5000 psi")
    grade: Grade | None = key(Grade, "`oxygen`: fit to be mixed with oxygen.", "breathing")
    maintains: GaugePressure | None = key(
        PRESSURE, "What its pressure-maintaining valve is set to.", "2000 psi"
    )
    longest_run: RunningTime | None = key(HOURS, "How long it may run at a stretch.", "4 h")
    rest: RunningTime | None = key(HOURS, "How long it then rests.", "30 min")
    drain_every: RunningTime | None = key(HOURS, "How often its separators are drained.", "15 min")
    hours: tuple[Hours, ...] = key(
        [Hours], "Hour meter, newest last.", "[{on: 2026-11-25, reads: 412.5 h}]"
    )
    checked: tuple[Checked, ...] = key([Checked], "Checks.", "[{on: 2026-04-01, by: MV}]")


class Booster(Record, frozen=True, kw_only=True):
    """A pump that takes gas from a bank or a compressor and gives it at a higher pressure."""

    title: ClassVar[str] = "booster"
    name: str = key(ID, "Its label.", "BO1", required=True)
    from_: tuple[str, ...] = key(
        [ID], "What it takes from: banks, a compressor; anything, if not said.", "[O1]"
    )
    max_pressure: GaugePressure | None = key(PRESSURE, "Highest pressure it fills to.", "4500 psi")
    grade: Grade | None = key(
        Grade, "`oxygen`: it leaves gas fit to be mixed with oxygen.", "oxygen"
    )
    drives: tuple[Gas, ...] = key(
        [GAS], "The gases that it may drive; any, if not said.", "[oxygen]"
    )
    hours: tuple[Hours, ...] = key(
        [Hours], "Hour meter, newest last.", "[{on: 2026-11-25, reads: 86.5 h}]"
    )
    checked: tuple[Checked, ...] = key([Checked], "Checks.", "[{on: 2026-04-01, by: MV}]")


class Enricher(Record, frozen=True, kw_only=True):
    """What makes a gas of a compressor's air: a membrane, or a blender at its intake."""

    title: ClassVar[str] = "source"
    name: str = key(ID, "Its label.", "M1", required=True)
    kind: SourceKind = key(SourceKind, "How it makes its gas.", "membrane", required=True)
    of: str | None = key(ID, "The compressor whose air it is; where only one is, that.", "C1")
    oxygen_from: Percent | None = key(PERCENT, "Least oxygen that it makes.", "24 %")
    oxygen_to: Percent | None = key(PERCENT, "Most oxygen that it makes.", "36 %")
    grade: Grade | None = key(
        Grade,
        "`oxygen`: it leaves gas fit to be mixed with oxygen; else as its compressor.",
        "oxygen",
    )


class FilterChange(Record, frozen=True, kw_only=True):
    """A filter element fitted."""

    title: ClassVar[str] = "change"
    on: dt.date = key(DAY, "When.", "2026-09-01", required=True)
    at: RunningTime = key(HOURS, "Hour meter at the change.", "380 h", required=True)
    hour: dt.time | None = key(TIME_OF_DAY, "At what time of the day.", "16:30")
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)


class Filter(Record, frozen=True, kw_only=True):
    """A filter with a life in running hours."""

    title: ClassVar[str] = "filter"
    name: str = key(ID, "Its label.", "F1", required=True)
    of: str | None = key(
        ID, "The compressor it is of, or what that feeds; where only one is, that.", "C1"
    )
    life: RunningTime | None = key(HOURS, "Life the maker gives it.", "50 h")
    changed: tuple[FilterChange, ...] = key(
        [FilterChange], "Changes, newest last.", "[{on: 2026-09-01, at: 380 h}]"
    )


class Position(Record, frozen=True, kw_only=True):
    """A place where a cylinder is connected."""

    title: ClassVar[str] = "position"
    name: str = key(ID, "Its label.", "P1", required=True)
    kind: PositionKind = key(PositionKind, "Enclosed, or an open whip.", "enclosed", required=True)
    max_diameter: Length | None = key(LENGTH, "Largest cylinder diameter.", "8 in")
    max_length: Length | None = key(LENGTH, "Largest cylinder length.", "28 in")
    rating: GaugePressure | None = key(PRESSURE, "Working pressure marked on it.", "4500 psi")
    whip: str | None = key(ID, "The whip that it is filled through.", "W1")
    valve: bool | None = key(YES_NO, "It can be shut off by a valve of its own.", "yes")
    bleed: bool | None = key(YES_NO, "It has a bleed of its own.", "yes")
    checked: tuple[Checked, ...] = key([Checked], "Checks.", "[{on: 2026-04-01, by: MV}]")


class SizeRate(Record, frozen=True, kw_only=True):
    """How fast cylinders of one size are filled."""

    title: ClassVar[str] = "fill rate"
    size: str = key(ID, "The size.", "al80", required=True)
    rate: PressureRate = key(RATE, "The rate.", "300 psi/min", required=True)


class Whip(Record, frozen=True, kw_only=True):
    """A fill whip."""

    title: ClassVar[str] = "whip"
    name: str = key(ID, "Its label.", "W1", required=True)
    fitted: PartialDate | None = key(DATE, "When it was new.", "2024-05")
    rating: GaugePressure | None = key(PRESSURE, "Working pressure marked on it.", "4500 psi")
    checked: tuple[Checked, ...] = key([Checked], "Checks.", "[{on: 2026-04-01, by: MV}]")


REPLACED = "a new one was fitted"
"""What the check of a part that was replaced says it was repaired by."""


def renewals_of(part: Whip | ReliefValve | Regulator | Gauge) -> tuple[Dated, ...]:
    """The entries by which a part was replaced by a new one, struck out or not."""
    if isinstance(part, Gauge):
        return part.renewed
    return tuple(c for c in part.checked if c.repaired == REPLACED)


def new_since(part: Whip | ReliefValve | Regulator | Gauge) -> PartialDate | None:
    """When a part was new: as written of it, or of a day not before that on which it was replaced.
    What may have been written with an entry that is struck out counts no more (`fitted_in_doubt`).
    """
    fitted = None if fitted_in_doubt(part) else part.fitted
    replaced = (c.on for c in that_stand(renewals_of(part)))
    days = [on for on in replaced if fitted is None or on >= fitted.first]
    return PartialDate.of(max(days)) if days else fitted


def fitted_in_doubt(part: Whip | ReliefValve | Regulator | Gauge) -> PartialDate | None:
    """The `fitted` of a part that counts for nothing: the part was replaced in that month or on
    that day, by entries that are all struck out, so that it may be of them; else None."""
    fitted = part.fitted
    then = [c for c in renewals_of(part) if fitted and fitted.first <= c.on <= fitted.last]
    return fitted if then and not that_stand(then) else None


class Adaptor(Record, frozen=True, kw_only=True):
    """A fill adaptor."""

    title: ClassVar[str] = "adaptor"
    name: str = key(ID, "Its label.", "A1", required=True)
    rating: GaugePressure | None = key(PRESSURE, "Working pressure marked on it.", "4500 psi")


class Panel(Record, frozen=True, kw_only=True):
    """The fill panel, after the regulator."""

    title: ClassVar[str] = "panel"
    rating: GaugePressure | None = key(PRESSURE, "Working pressure marked on it.", "4500 psi")


class ReliefValve(Record, frozen=True, kw_only=True):
    """A relief valve."""

    title: ClassVar[str] = "relief valve"
    name: str = key(ID, "Its label.", "R1", required=True)
    set_at: GaugePressure | None = key(PRESSURE, "Set pressure.", "4500 psi")
    protects: tuple[str, ...] = key(
        [ID], "What it protects: banks, positions, compressors, `panel`.", "[B1, B2]"
    )
    fitted: PartialDate | None = key(DATE, "When it was new.", "2024-05")
    checked: tuple[Checked, ...] = key([Checked], "Checks.", "[{on: 2026-04-01, by: MV}]")


class Regulator(Record, frozen=True, kw_only=True):
    """The fill regulator."""

    title: ClassVar[str] = "regulator"
    fitted: PartialDate | None = key(DATE, "When it was new.", "2024-05")
    checked: tuple[Checked, ...] = key([Checked], "Checks.", "[{on: 2026-04-01, by: MV}]")


class GaugeCheck(Record, frozen=True, kw_only=True):
    """A gauge compared with a test gauge."""

    title: ClassVar[str] = "gauge check"
    on: dt.date = key(DAY, "When.", "2026-04-01", required=True)
    against: str = key(TEXT, "Test gauge used.", "TG-2", required=True)
    reads: GaugePressure = key(PRESSURE, "What this gauge showed.", "3040 psi", required=True)
    true: GaugePressure = key(PRESSURE, "What the test gauge showed.", "3000 psi", required=True)
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)


class GaugeRenewed(Record, frozen=True, kw_only=True):
    """A gauge that was replaced by a new one."""

    title: ClassVar[str] = "gauge renewal"
    on: dt.date = key(DAY, "When the new one was fitted.", "2026-04-01", required=True)
    by: str | None = key(TEXT, "Initials.", "MV")
    note: str | None = key(TEXT, "Why, or what was seen.", "needle sticks")
    void: Void | None = key(*_STRIKES)


class MadeMaster(Record, frozen=True, kw_only=True):
    """A gauge that fills are read on from a day on."""

    title: ClassVar[str] = "master gauge"
    on: dt.date = key(DAY, "Since when.", "2026-04-01", required=True)
    gauge: str = key(ID, "The gauge, by its label.", "G2", required=True)
    by: str | None = key(TEXT, "Initials.", "MV")
    note: str | None = key(TEXT, "Why.", "G1 reads low")
    void: Void | None = key(*_STRIKES)


class Gauge(Record, frozen=True, kw_only=True):
    """A gauge of the panel."""

    title: ClassVar[str] = "gauge"
    name: str = key(ID, "Its label.", "G1", required=True)
    formerly: tuple[str, ...] = key([ID], "What its label was before.", "[G0]")
    master: bool = key(
        YES_NO,
        "The checked gauge that is read, until another is made the master (`masters`).",
        "yes",
        default=False,
    )
    position: str | None = key(ID, "The position or bank it belongs to.", "P1")
    range_: GaugePressure | None = key(PRESSURE, "The end of its scale.", "6000 psi")
    class_: Percent | None = key(
        PERCENT, "How far it may err, as a share of its range, as marked on it.", "1.6 %"
    )
    fitted: PartialDate | None = key(DATE, "When it was new.", "2024-05")
    renewed: tuple[GaugeRenewed, ...] = key(
        [GaugeRenewed],
        "When it was replaced by a new one: what it was compared at before was of the old one.",
        "[{on: 2026-04-01, by: MV}]",
    )
    checked: tuple[GaugeCheck, ...] = key(
        [GaugeCheck],
        "Checks.",
        "[{on: 2026-04-01, against: TG-2, reads: 3040 psi, true: 3000 psi}]",
    )


class AirTest(Record, frozen=True, kw_only=True):
    """An air sample and its result."""

    title: ClassVar[str] = "air test"
    on: dt.date = key(DAY, "When the sample was drawn.", "2026-10-12", required=True)
    at: dt.time | None = key(
        TIME_OF_DAY,
        "Time of day it was drawn: it says of what was pumped that day whether it is of before.",
        "09:15",
    )
    by: str | None = key(TEXT, "Laboratory, or initials with a field kit.", "Example Air Lab")
    standard: str | None = key(
        TEXT, "Standard of the limits, as named by a rule row.", "cga-grade-e"
    )
    result: TestResult = key(TestResult, "What the laboratory says.", "pass", required=True)
    source_: str | None = key(
        TEXT, "Where it was drawn: compressor, bank, whip, position or `panel`.", "C1"
    )
    oxygen: Percent | None = key(PERCENT, "Oxygen.", "20.9 %")
    co: Concentration | None = key(CONCENTRATION, "Carbon monoxide.", "1 ppm")
    co2: Concentration | None = key(CONCENTRATION, "Carbon dioxide.", "420 ppm")
    oil: Concentration | None = key(CONCENTRATION, "Oil and particulates.", "0.1 mg/m3")
    hydrocarbons: Concentration | None = key(CONCENTRATION, "Hydrocarbons as methane.", "3 ppm")
    water: Concentration | None = key(CONCENTRATION, "Water.", "18 mg/m3")
    odour: str | None = key(TEXT, "Odour.", "none")
    certificate: Certificate | None = key(*_PAPER)
    void: Void | None = key(
        Void, "Strikes the entry out.", "{why: wrong date, by: MV, on: 2026-10-13}"
    )


class Examined(Record, frozen=True, kw_only=True):
    """An examination under a written scheme."""

    title: ClassVar[str] = "examination"
    on: dt.date = key(DAY, "When.", "2026-03-10", required=True)
    by: str | None = key(TEXT, "Who examined it: the competent person.", "Example Inspection")
    result: TestResult = key(
        TestResult, "Pass unless said otherwise.", "pass", default=TestResult.PASS
    )
    next_: PartialDate | None = key(
        DATE, "By when it is examined again; of a month, its end.", "2028-03-10"
    )
    report: str | None = key(TEXT, "Where the report is.", "report 4711, folder 3")
    certificate: Certificate | None = key(*_PAPER)
    note: str | None = key(TEXT, "What was found.", "drain valve seized")
    void: Void | None = key(*_STRIKES)


class Scheme(Record, frozen=True, kw_only=True):
    """A written scheme of examination: of banks, or of the whole pressure system."""

    title: ClassVar[str] = "written scheme"
    name: str = key(ID, "Its label.", "WS1", required=True)
    of: tuple[str, ...] = key([ID], "The banks it is of; the whole, if not said.", "[B1, B2]")
    dated: PartialDate | None = key(DATE, "Date of the scheme.", "2024-02")
    by: str | None = key(TEXT, "Who drew it up or certified it.", "Example Inspection")
    document: str | None = key(TEXT, "Where it is.", "folder 3")
    examined: tuple[Examined, ...] = key(
        [Examined], "Examinations, newest last.", "[{on: 2026-03-10, next: 2028-03-10}]"
    )


class CoReading(Record, frozen=True, kw_only=True):
    """An alarm of a carbon monoxide monitor, or a reading taken after one."""

    title: ClassVar[str] = "CO reading"
    on: dt.date = key(DAY, "When.", "2026-11-25", required=True)
    co: Concentration | None = key(CONCENTRATION, "What it showed.", "1 ppm")
    alarm: bool = key(YES_NO, "It sounded.", "yes", default=False)
    at: dt.time | None = key(
        TIME_OF_DAY, "Time of day: it says what came before it that day, and after.", "14:10"
    )
    place: CoPlace | None = key(CoPlace, "Where it was read.", "outlet")
    of: str | None = key(
        ID,
        "Whose gas it was, by its label: a compressor, a bank or a cylinder; of any, if not said.",
        "C1",
    )
    with_: str | None = key(ID, "The instrument, by its label.", "CO-1")
    cause: str | None = key(TEXT, "What the alarm came from.", "a van idled under the intake")
    kind: CoCause | None = key(
        CoCause, "What kind of cause that is; where it is not said, the words must tell.", "intake"
    )
    done: str | None = key(TEXT, "What was done about the cause.", "van moved, a sign put up")
    by: str | None = key(TEXT, "Initials.", "MV")
    void: Void | None = key(*_STRIKES)


class Instrument(Record, frozen=True, kw_only=True):
    """An instrument that measures gas."""

    title: ClassVar[str] = "instrument"
    name: str = key(ID, "Its label.", "CO-1", required=True)
    kind: InstrumentKind = key(InstrumentKind, "What it measures.", "co-monitor", required=True)
    bumped: tuple[Checked, ...] = key(
        [Checked], "Bump tests: held to a known gas.", "[{on: 2026-11-01, by: MV}]"
    )


class UpkeepDone(Record, frozen=True, kw_only=True):
    """Upkeep that was done, or found something wrong."""

    title: ClassVar[str] = "upkeep done"
    on: dt.date = key(DAY, "When.", "2026-11-02", required=True)
    at: RunningTime | None = key(HOURS, "What the hour meter showed then.", "412.5 h")
    by: str | None = key(TEXT, "Initials.", "MV")
    result: TestResult = key(
        TestResult, "Pass unless said otherwise.", "pass", default=TestResult.PASS
    )
    repaired: str | None = key(
        TEXT, "What was done about a failure before this one.", "new indicator fitted"
    )
    note: str | None = key(TEXT, "What was found.", "the indicator is pink")
    void: Void | None = key(*_STRIKES)


class StationUpkeep(Record, frozen=True, kw_only=True):
    """What is done from time to time, or each so many running hours, whichever comes first."""

    title: ClassVar[str] = "upkeep"
    name: str = key(ID, "Its label.", "oil", required=True)
    what: UpkeepKind = key(UpkeepKind, "What it is.", "oil", required=True)
    of: str | None = key(
        ID, "The compressor, booster or instrument; where only one compressor is, that.", "C1"
    )
    every: Period | None = key(PERIOD, "How often, as its maker or the station says.", "12 months")
    hours: RunningTime | None = key(
        HOURS, "After how many running hours, as its maker or the station says.", "100 h"
    )
    done: tuple[UpkeepDone, ...] = key(
        [UpkeepDone], "When it was done, newest last.", "[{on: 2026-11-02, at: 412.5 h, by: MV}]"
    )


class StationWalk(Record, frozen=True, kw_only=True):
    """The station's list walked through, before the first fill of a day or after the last."""

    title: ClassVar[str] = "walk"
    on: dt.date = key(DAY, "When.", "2026-11-25", required=True)
    at: dt.time | None = key(TIME_OF_DAY, "The hour, where one day has several.", "08:10")
    by: str | None = key(TEXT, "Initials.", "MV")
    result: TestResult = key(
        TestResult, "Pass unless said otherwise.", "pass", default=TestResult.PASS
    )
    note: str | None = key(TEXT, "What was found.", "the gauge shows 50 psi at zero")
    void: Void | None = key(*_STRIKES)


class Routine(Record, frozen=True, kw_only=True):
    """What is looked at at the beginning or the end of a day."""

    title: ClassVar[str] = "routine"
    steps: tuple[str, ...] = key(
        [TEXT], "What is looked at, in order.", "[drains, gauge zero]", required=True
    )
    over_midnight: RunningTime | None = key(
        HOURS,
        "Of the opening: how long after midnight the station stays open that was not closed; 4 h"
        " where it says nothing.",
        "2 h",
    )
    done: tuple[StationWalk, ...] = key([StationWalk], "Days.", "[{on: 2026-11-25, by: MV}]")


class Station(Record, frozen=True, kw_only=True):
    """The fill station, in station.yaml."""

    title: ClassVar[str] = "station"
    banks: tuple[Bank, ...] = key([Bank], "Storage banks.", "[{name: B1, water_volume: 48 L}]")
    compressor: Compressor | None = key(
        Compressor, "The compressor.", "{name: C1, delivery: 6.5 cuft/min}"
    )
    compressors: tuple[Compressor, ...] = key(
        [Compressor],
        "Compressors, where there are several; `compressor` is one of them.",
        "[{name: C1}, {name: C2}]",
    )
    sources: tuple[Enricher, ...] = key(
        [Enricher],
        "Membranes, and blenders that enrich a compressor's air.",
        "[{name: M1, kind: membrane, of: C1, oxygen_to: 36 %}]",
    )
    boosters: tuple[Booster, ...] = key(
        [Booster], "Boosters.", "[{name: BO1, from: [O1], drives: [oxygen]}]"
    )
    filters: tuple[Filter, ...] = key([Filter], "Filters.", "[{name: F1, life: 50 h}]")
    positions: tuple[Position, ...] = key(
        [Position], "Fill positions.", "[{name: P1, kind: enclosed}]"
    )
    whips: tuple[Whip, ...] = key([Whip], "Fill whips.", "[{name: W1}]")
    adaptors: tuple[Adaptor, ...] = key(
        [Adaptor], "Fill adaptors.", "[{name: A1, rating: 4500 psi}]"
    )
    panel: Panel | None = key(Panel, "The fill panel.", "{rating: 4500 psi}")
    regulator: Regulator | None = key(
        Regulator, "The fill regulator.", "{checked: [{on: 2026-04-01, by: MV}]}"
    )
    relief_valves: tuple[ReliefValve, ...] = key([ReliefValve], "Relief valves.", "[{name: R1}]")
    gauges: tuple[Gauge, ...] = key([Gauge], "Gauges.", "[{name: G1, master: yes}]")
    masters: tuple[MadeMaster, ...] = key(
        [MadeMaster],
        "Which gauge was made the master, newest last: the last that stands counts before every "
        "gauge's own `master`.",
        "[{on: 2026-04-01, gauge: G2, by: MV}]",
    )
    air_tests: tuple[AirTest, ...] = key(
        [AirTest], "Air tests.", "[{on: 2026-10-12, result: pass}]"
    )
    schemes: tuple[Scheme, ...] = key(
        [Scheme], "Written schemes of examination.", "[{name: WS1, of: [B1]}]"
    )
    instruments: tuple[Instrument, ...] = key(
        [Instrument], "Instruments that measure gas.", "[{name: CO-1, kind: co-monitor}]"
    )
    upkeep: tuple[StationUpkeep, ...] = key(
        [StationUpkeep],
        "What is done from time to time, or each so many running hours.",
        "[{name: oil, what: oil, of: C1, every: 12 months, hours: 100 h}]",
    )
    co_readings: tuple[CoReading, ...] = key(
        [CoReading],
        "Carbon monoxide: alarms, and readings after them.",
        "[{on: 2026-11-25, alarm: yes}]",
    )
    opening: Routine | None = key(
        Routine,
        "What is looked at before the first fill of a day: where it is kept, none before it.",
        "{steps: [drains, gauge zero]}",
    )
    closing: Routine | None = key(
        Routine, "What is looked at after the last fill of a day.", "{steps: [drains]}"
    )
    regulator_set: GaugePressure | None = key(
        PRESSURE, "What the fill regulator is set to.", "3000 psi"
    )
    ambient: Temperature | None = key(TEMPERATURE, "Usual temperature at the station.", "64 degF")
    fill_rate: PressureRate | None = key(RATE, "Usual fill rate.", "400 psi/min")
    handling: RunningTime | None = key(HOURS, "To connect, bleed and remove one load.", "4 min")
    cooling: RunningTime | None = key(HOURS, "Wait before a top off.", "30 min")
    fill_rates: tuple[SizeRate, ...] = key(
        [SizeRate], "Fill rates by size, before `fill_rate`.", "[{size: al80, rate: 300 psi/min}]"
    )
    acceptable_loss: Percent | None = key(
        PERCENT, "A cylinder that settles so little below its target is full.", "5 %"
    )
    most_top_offs: int | None = key(
        COUNT, "How often one is connected again to be topped off; else held at its stop.", "1"
    )
    water_bath: bool | None = key(YES_NO, "Cylinders stand in water while filled.", "no")
    open_whip: OpenWhip = key(
        OpenWhip, "Whether the open whip may be used.", "never", default=OpenWhip.NEVER
    )
    non_return_valves: bool | None = key(YES_NO, "The panel has non-return valves.", "no")
    minimum_gain: GaugePressure | None = key(PRESSURE, "Skip a bank that would add less.", "50 psi")
    gauge_error: GaugePressure | None = key(PRESSURE, "A gauge off by more is replaced.", "60 psi")
    oxygen_positions: int | None = key(COUNT, "Positions cleaned for oxygen.", "1")

    @property
    def every_compressor(self) -> tuple[Compressor, ...]:
        """The compressors, `compressor:` first, however many there are."""
        return (*([self.compressor] if self.compressor else []), *self.compressors)

    @property
    def every_pump(self) -> tuple[Compressor | Booster, ...]:
        """The compressors and the boosters."""
        return (*self.every_compressor, *self.boosters)

    @property
    def every_fed(self) -> tuple[Booster | Enricher, ...]:
        """What takes its gas from other parts of the station: boosters, membranes, blenders."""
        return (*self.boosters, *self.sources)

    @property
    def only_compressor(self) -> Compressor | None:
        """The compressor, where there is one and no more."""
        every = self.every_compressor
        return every[0] if len(every) == 1 else None

    def compressor_called(self, name: str | None) -> Compressor | None:
        """The compressor of a label, however it is written; where only one is, that is meant by
        `compressor` and where nothing is said, too. None of a label that two have."""
        said = (name or COMPRESSOR).casefold()
        found = [c for c in self.every_compressor if (c.name or COMPRESSOR).casefold() == said]
        if len(found) == 1:
            return found[0]
        return self.only_compressor if said == COMPRESSOR else None


def masters_of(station: Station, on: dt.date = dt.date.max) -> tuple[Gauge, ...]:
    """The gauges that are the master on a day, or now: the one that was made it last, by the
    entries that stand; where none does, those that say so of themselves. None of one that the
    station does not have."""
    made = [each for each in that_stand(station.masters) if each.on <= on]
    if not made:
        return tuple(g for g in station.gauges if g.master)
    return tuple(g for g in station.gauges if _is_gauge(made[-1].gauge, g))


def was_master(station: Station, gauge: Gauge) -> bool:
    """Whether a gauge is the master, or was at some time."""
    made = that_stand(station.masters)
    return gauge.master or any(_is_gauge(each.gauge, gauge) for each in made)


def _is_gauge(name: str, gauge: Gauge) -> bool:
    return name.casefold() in {each.casefold() for each in (gauge.name, *gauge.formerly)}


def certificates_of(station: Station) -> tuple[Certificate, ...]:
    """The papers of the entries that stand."""
    entries: list[AirTest | BankTest | Examined | NoPeriod] = [*station.air_tests]
    for bank in station.banks:
        entries += [*bank.no_period, *bank.requalified]
    entries += [each for scheme in station.schemes for each in scheme.examined]
    return tuple(e.certificate for e in entries if e.certificate and e.void is None)


def struck_from(station: Station) -> dict[str, tuple[str | int, ...]]:
    """The way to each list of the station whose entries can be struck out, by its name:
    `B1.readings`, `hours`, `air_tests`. Of two parts of one name the second is called by its kind
    as well: `positions.W1.checked`."""
    found: dict[str, tuple[str | int, ...]] = {}
    for name, kind in keys_of(Station).items():
        attribute = attributes_of(Station)[name]
        entries = _entries_of(kind.kind)
        if entries is None:
            within = kind.kind
            if isinstance(within, Nested) and getattr(station, attribute) is not None:
                below = _lists_of(within.record)
                for each in below:
                    found[each if each == "hours" else f"{name}.{each}"] = (name, each)
        elif _can_be_struck(entries):
            found[name] = (name,)
        else:
            for place, part in enumerate(getattr(station, attribute)):
                for each in _lists_of(entries):
                    own = f"{part.name}.{each}"
                    found[own if own not in found else f"{name}.{own}"] = (name, place, each)
    if station.compressor is None and station.only_compressor is not None:
        found["hours"] = ("compressors", 0, "hours")
    return found


def _entries_of(kind: Kind) -> type[Record] | None:
    """The noun of the entries of a list; None of what is no list of nouns."""
    nested = kind.kind if isinstance(kind, ListOf) else None
    return nested.record if isinstance(nested, Nested) else None


def _can_be_struck(noun: type[Record]) -> bool:
    return "void" in keys_of(noun)


def _lists_of(noun: type[Record]) -> list[str]:
    """The keys under which a noun has lists of entries that can be struck out."""
    kinds = ((name, _entries_of(each.kind)) for name, each in keys_of(noun).items())
    return [name for name, entries in kinds if entries is not None and _can_be_struck(entries)]
