"""The dated entries in a cylinder's file: what happened to it, each standing or struck out."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from typing import ClassVar, TypeAlias, TypeVar

from tankbook.gas import Gas, analysed_said
from tankbook.records.fields import COUNT, TEXT, YES_NO, OneOf, Record, key
from tankbook.records.kinds import (
    CLEARED,
    DATE,
    DAY,
    GAS,
    LENGTH,
    MONEY,
    PERCENT,
    PRESSURE,
    TIME_OF_DAY,
    TORQUE,
    VOLUME,
    Cleared,
)
from tankbook.records.words import (
    PARTS_TWINS,
    SEEN_TWINS,
    AskedThere,
    Bled,
    InspectionResult,
    Isolator,
    JobState,
    LabelKind,
    Method,
    PartChecked,
    Seen,
    SentFor,
    Service,
    StepResult,
    Sticker,
    TestResult,
    ValvePosition,
    ValveSent,
    Work,
)
from tankbook.units import GaugePressure, Length, Money, PartialDate, Percent, Torque, Volume
from tankbook.units.patterns import pattern


class Void(Record, frozen=True, kw_only=True):
    """A wrong entry struck out: it stays readable and counts for nothing."""

    title: ClassVar[str] = "void"
    why: str = key(TEXT, "Why the entry is wrong.", "typed into the wrong card", required=True)
    by: str = key(TEXT, "Initials of who struck it out.", "MV", required=True)
    on: dt.date = key(DAY, "When it was struck out.", "2026-02-10", required=True)
    ahead: bool = key(
        YES_NO,
        "Its day lay ahead as it was struck out: nobody can have seen what it says.",
        "yes",
        default=False,
    )

    def is_before(self, day: dt.date) -> bool:
        """Whether it is dated before its entry, of which nobody says that it lay ahead."""
        return self.on < day and not self.ahead


class Told(Record, frozen=True, kw_only=True):
    """The owner was told."""

    title: ClassVar[str] = "told"
    on: dt.date = key(DAY, "When.", "2026-02-10", required=True)
    by: str = key(TEXT, "Initials of who told them.", "MV", required=True)
    how: str = key(TEXT, "How: in person, letter, telephone.", "letter", required=True)


class GasAnalysed(Record, frozen=True, kw_only=True):
    """What the user analysed a gas at as it was handed out, and wrote."""

    title: ClassVar[str] = "analysed"
    oxygen: Percent = key(PERCENT, "Oxygen as the user read it.", "31.8 %", required=True)
    helium: Percent | None = key(PERCENT, "Helium, where there is some.", "44.6 %")
    depth: Length | None = key(LENGTH, "The deepest the user wrote.", "33 m")
    initials: str | None = key(TEXT, "Initials that the user wrote.", "RT")

    def __str__(self) -> str:
        """`31.8 % oxygen, to 33 m, RT`."""
        depth = f"to {self.depth}" if self.depth else ""
        return ", ".join(filter(None, (self.figures, depth, self.initials)))

    @property
    def figures(self) -> str:
        """`18.1 % oxygen, 44.8 % helium`."""
        return analysed_said(self.oxygen.percent, self.helium.percent if self.helium else None)


class Entry(Record, frozen=True, kw_only=True):
    """Base of the dated entries."""

    on: PartialDate = key(DATE, "Month or day it happened.", "2026-02-09", required=True)
    by: str | None = key(TEXT, "Initials, or who did it.", "MV")
    note: str | None = key(TEXT, "Anything worth knowing.", "new O-ring")
    void: Void | None = key(
        Void, "Strikes the entry out.", "{why: wrong card, by: MV, on: 2026-02-10}"
    )


E_ = TypeVar("E_", bound=Entry)


_ANALYSED = "What the user analysed as it left, the depth and the initials they wrote."
_CLEARS = "Earlier entries that this one answers, each by its word and its day or month."
HEARD_OUT = frozenset({Bled.HEARD, Bled.LEFT_OPEN, Bled.UNDER_CONTROL})
"""How something was bled of which somebody heard all of it flow out, or that was opened as if it
were full, so that nothing is left in it."""

_BLED = (
    "How it was bled before its valve comes off: `heard` until it stopped, and the "
    "`valve-left-open` then; `under-control` where it was opened as if full, its valve turned out "
    "or it drilled by somebody equipped for that; `no-flow` is no proof that it is empty."
)
AT = "Time of day, where something else was done that day."
LEFT_AT = "Time of day it left: what it held then is told by it, whatever came later that day."


def standing(entries: Iterable[E_]) -> tuple[E_, ...]:
    """The entries that are not struck out, oldest first (file order where dates tie)."""
    if not entries:
        return ()
    kept = [e for e in entries if e.void is None]
    if len(kept) > 1:
        kept.sort(key=lambda e: (e.on.first, e.on.last))
    return tuple(kept)


def by_the_hour(entries: Iterable[E_]) -> tuple[E_, ...]:
    """As `standing`; of one day by their times where all of it says them, else as written."""
    every = standing(entries)
    hours = {id(each): getattr(each, "at", None) for each in every}
    untimed = {each.on for each in every if hours[id(each)] is None}

    def when(each: E_) -> tuple[dt.date, dt.date, dt.time]:
        hour = None if each.on in untimed else hours[id(each)]
        return each.on.first, each.on.last, hour or dt.time.min

    return tuple(sorted(every, key=when))


class DoneElsewhere(Entry, frozen=True, kw_only=True):
    """Work on a cylinder that somebody else may have done (`by:`), as one of the ledger's people
    saw it on sticker, stamp or paper."""

    title: ClassVar[str] = "done_elsewhere"
    checked: tuple[PartChecked, ...] = key(
        [OneOf(PartChecked, PARTS_TWINS)],
        "Done elsewhere: what was checked there; what is not named was not. `valve` was looked at "
        "and fitted again.",
        "[inside, outside]",
    )
    paper: str | None = key(
        TEXT, "Done elsewhere: the paper on it, and where it is kept.", "invoice 88, binder 2"
    )
    seen_by: str | None = key(
        TEXT, "Done elsewhere: initials of who saw sticker, stamp or paper.", "MV"
    )
    seen_on: dt.date | None = key(DAY, "Done elsewhere: when that was seen.", "2026-02-10")

    @property
    def is_reported(self) -> bool:
        """Whether it says that it was done elsewhere, and who saw that."""
        return bool(self.checked or self.paper or self.seen_by or self.seen_on)


class Requalified(DoneElsewhere, frozen=True, kw_only=True):
    """A requalification, or the maker's first test (`by: maker`)."""

    title: ClassVar[str] = "requalified"
    method: Method = key(
        OneOf(Method, (("hydro", "hydrostatic"), ("ve", "eddy-current"), ("ue", "ultrasonic"))),
        "How it was tested; `visual` is the stamped inspection by an approved body.",
        "hydrostatic",
        required=True,
    )
    result: TestResult = key(
        TestResult, "Pass unless said otherwise.", "pass", default=TestResult.PASS
    )
    tested: PartialDate | None = key(
        DATE, "When it was done, where the stamp says when the next is due.", "2025-05"
    )
    stamp: str | None = key(TEXT, "The retest stamp as read off the shoulder.", "09 A123 26 +")
    plus: bool = key(YES_NO, "The stamp carries a plus mark.", "yes", default=False)
    star: bool = key(YES_NO, "The stamp carries a star mark.", "no", default=False)
    test_pressure: GaugePressure | None = key(PRESSURE, "Pressure actually reached.", "5000 psi")
    total_expansion: Volume | None = key(VOLUME, "Total expansion.", "0.0551 L")
    permanent_expansion: Volume | None = key(VOLUME, "Permanent expansion.", "0.0021 L")
    clears: tuple[Cleared, ...] = key([CLEARED], _CLEARS, "[suspected-crack 2026-02-09]")
    finding: str | None = key(
        TEXT, "What the requalifier wrote of it.", "letter of 2026-03-04, no crack"
    )


class StepFinding(Record, frozen=True, kw_only=True):
    """What one checklist step found."""

    title: ClassVar[str] = "finding"
    step: str = key(TEXT, "Key of the checklist step.", "neck-threads", required=True)
    result: StepResult = key(StepResult, "What it means.", "hold", required=True)
    what: Seen | None = key(OneOf(Seen, SEEN_TWINS), "What it is.", "gouge")
    depth: Length | None = key(LENGTH, "How deep, as measured.", "0.6 mm")
    length: Length | None = key(LENGTH, "How long, as measured.", "40 mm")
    note: str | None = key(TEXT, "What was seen.", "thread 2 worn on one side")
    count: int | None = key(COUNT, "How many threads.", "1")
    position: str | None = key(TEXT, "Where.", "second thread from the top, 4 o'clock")


class Inspected(DoneElsewhere, frozen=True, kw_only=True):
    """A visual inspection by a checklist."""

    title: ClassVar[str] = "inspected"
    checklist: str = key(TEXT, "Name of the checklist followed.", "annual", required=True)
    result: InspectionResult = key(InspectionResult, "Outcome.", "pass", required=True)
    sticker: Sticker | None = key(Sticker, "What became of the sticker.", "issued")
    sticker_number: str | None = key(TEXT, "Its number, if the shop numbers them.", "0417")
    sticker_on: dt.date | None = key(DAY, "When a withheld sticker was put on.", "2026-03-01")
    findings: tuple[StepFinding, ...] = key(
        [StepFinding], "What was found.", "[{step: boot, result: note, note: scuffed}]"
    )
    neck_thread: str | None = key(TEXT, "Neck thread as read.", "3/4-14 NPSM")
    valve_thread: str | None = key(TEXT, "Valve thread as read.", "3/4-14 NPSM")
    torque: Torque | None = key(TORQUE, "Valve torque used.", "60 N m")
    clears: tuple[Cleared, ...] = key([CLEARED], _CLEARS, "[damage 2026-02-09]")
    bled: Bled | None = key(Bled, _BLED, "heard")
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")


_RECALLED = pattern(r"recall of (?!by notice)", re.IGNORECASE)
"""How a hold of a recall was worded before it said so by itself."""


class Held(Entry, frozen=True, kw_only=True):
    """Set aside until somebody decides."""

    title: ClassVar[str] = "held"
    why: str = key(TEXT, "Why it was set aside.", "thread finding", required=True)
    recall: str | None = key(
        TEXT, "What gas was recalled: it is let go once that is out of it.", "C1"
    )
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    bled: Bled | None = key(Bled, _BLED, "no-flow")
    released: dt.date | None = key(DAY, "When it was released.", "2026-03-02")
    released_by: str | None = key(TEXT, "Initials of who released it.", "MV")
    released_why: str | None = key(TEXT, "Why it may go back.", "gauged by the requalifier")
    released_bled: Bled | None = key(
        Bled, "How it was let out, of one that let no flow be heard before.", "heard"
    )

    @property
    def let_out(self) -> dt.datetime | None:
        """When it was let out before it was released, where somebody says so: of the day on which
        it was set aside at an hour, after that."""
        if self.released is None or self.released_bled not in HEARD_OUT:
            return None
        same = self.released == self.on.first
        return dt.datetime.combine(self.released, (self.at if same else None) or dt.time.min)

    @property
    def said(self) -> tuple[str, ...]:
        """Why it was set aside, and what was noted of it."""
        return tuple(filter(None, (self.why, self.note)))

    @property
    def is_recall(self) -> bool:
        """Whether it was set aside by a recall of the gas in it."""
        return bool(self.recall or _RECALLED.match(self.why))


class Sent(Entry, frozen=True, kw_only=True):
    """Sent to a requalifier or a repairer, or back to its supplier."""

    title: ClassVar[str] = "sent"
    to: str = key(TEXT, "Who has it.", "Northside Test House", required=True)
    for_: SentFor = key(SentFor, "What for.", "requalification", required=True)
    why: str | None = key(TEXT, "What is wrong with it.", "thread cut too deep")
    paper: str | None = key(TEXT, "The paper that went with it.", "return note 31, binder 2")
    asked: tuple[AskedThere, ...] = key(
        [AskedThere], "What is asked of whoever gets it.", "[hydro, eddy-current]"
    )
    with_valve: ValveSent | None = key(ValveSent, "How its valve went.", "fitted")
    bled: Bled | None = key(Bled, _BLED, "heard")
    back: dt.date | None = key(DAY, "When it came home.", "2026-03-02")
    refitted: dt.date | None = key(DAY, "When it was dried and its valve refitted.", "2026-03-03")
    refitted_by: str | None = key(TEXT, "Initials of who refitted it.", "MV")

    @property
    def is_bare(self) -> bool:
        """Whether it came home with its valve off, and that is not in yet: a supplier returns a
        cylinder as it is sold."""
        bare = self.back is not None and self.refitted is None
        return bare and self.for_ is not SentFor.SUPPLIER


class Rented(Entry, frozen=True, kw_only=True):
    """Out on rental, and how it came back."""

    title: ClassVar[str] = "rented"
    to: str = key(TEXT, "Booking or customer reference; never a name.", "B-4471", required=True)
    until: dt.date | None = key(DAY, "When it is due back.", "2026-11-28")
    analysed: GasAnalysed | None = key(
        GasAnalysed, _ANALYSED, "{oxygen: 31.8 %, depth: 33 m, initials: RT}"
    )
    back: dt.date | None = key(DAY, "When it came back.", "2026-11-28")
    back_by: str | None = key(TEXT, "Initials of who took it back.", "KD")
    pressure: GaugePressure | None = key(PRESSURE, "Pressure it came back with.", "600 psi")
    valve: ValvePosition | None = key(ValvePosition, "How its valve was found.", "closed")
    damage: str | None = key(TEXT, "Damage noted at return.", "valve handwheel cracked")
    at: dt.time | None = key(TIME_OF_DAY, LEFT_AT, "08:30")


Rentals: TypeAlias = Sequence[Rented]


class HandedOver(Entry, frozen=True, kw_only=True):
    """Sold and handed over."""

    title: ClassVar[str] = "handed_over"
    to: str = key(TEXT, "Customer reference; never a name.", "C-0192", required=True)
    price: Money | None = key(MONEY, "Price paid.", "219.00 USD")
    slip: str | None = key(TEXT, "Number of the slip.", "2026-031")
    analysed: GasAnalysed | None = key(
        GasAnalysed, _ANALYSED, "{oxygen: 31.8 %, depth: 33 m, initials: RT}"
    )
    at: dt.time | None = key(TIME_OF_DAY, LEFT_AT, "08:30")


class Rejected(Entry, frozen=True, kw_only=True):
    """Rejected by an inspector, with a written notice to the owner."""

    title: ClassVar[str] = "rejected"
    why: str = key(TEXT, "Why.", "line corrosion 0.9 mm deep on the crown", required=True)
    told: Told | None = key(Told, "Owner told.", "{on: 2026-02-10, by: MV, how: letter}")
    lifted: dt.date | None = key(DAY, "When the requalifier passed it after all.", "2026-04-01")
    lifted_by: str | None = key(TEXT, "Initials of who recorded that.", "MV")
    lifted_why: str | None = key(TEXT, "On what ground.", "retested and measured within limits")
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")


class Condemned(Entry, frozen=True, kw_only=True):
    """Condemned by a requalifier: it never holds gas again."""

    title: ClassVar[str] = "condemned"
    why: str = key(TEXT, "Why.", "permanent expansion 12 % of total", required=True)
    marked: str | None = key(TEXT, "How it was marked.", "CONDEMNED stamped on the shoulder")
    consent: str | None = key(
        TEXT, "The owner's consent to destroy it, and when.", "letter of 2026-03-04"
    )


class MadeUp(Entry, frozen=True, kw_only=True):
    """A set made up of its two cylinders, and taken apart again."""

    title: ClassVar[str] = "made_up"
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    bled: Bled | None = key(Bled, _BLED, "heard")
    apart: dt.date | None = key(DAY, "When it was taken apart.", "2026-11-02")
    apart_by: str | None = key(TEXT, "Initials of who took it apart.", "MV")
    apart_at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    apart_bled: Bled | None = key(Bled, _BLED, "heard")

    @property
    def ended(self) -> dt.date | None:
        """When it was taken apart, where that can be: not before it was made up, of one day by the
        times of both."""
        if self.apart is None or self.apart < self.on.first:
            return None
        one_day = self.on.day is not None and self.apart == self.on.first
        earlier = one_day and self.apart_at and self.at and self.apart_at < self.at
        return None if earlier else self.apart


class Turned(Entry, frozen=True, kw_only=True):
    """An isolator opened or shut, or found so."""

    title: ClassVar[str] = "turned"
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    stands: Isolator = key(Isolator, "How it stands since.", "shut", required=True)


class Cleaned(Entry, frozen=True, kw_only=True):
    """Cleaned for oxygen service."""

    title: ClassVar[str] = "cleaned"
    to: Service = key(Service, "The service it was cleaned for.", "nitrox", required=True)
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    method: str | None = key(TEXT, "How it was cleaned.", "detergent, hot water, dried")
    until: PartialDate | None = key(
        DATE,
        "The last day or month for which whoever cleaned it says that it holds, where they say so.",
        "2028-02-09",
    )
    bled: Bled | None = key(Bled, _BLED, "heard")

    @property
    def lets_out(self) -> bool:
        """Whether the gas is known to be out: somebody says how it was bled; or it was cleaned for
        more than air, which is done inside, and no flow that was not heard speaks against it."""
        inside = self.to is not Service.AIR and self.bled is not Bled.NO_FLOW
        return inside or self.bled in HEARD_OUT


class Labelled(Entry, frozen=True, kw_only=True):
    """A label that was printed for it, and what it said."""

    title: ClassVar[str] = "labelled"
    kind: LabelKind = key(LabelKind, "Which label.", "analysis", required=True)
    at: dt.time | None = key(TIME_OF_DAY, "When it was printed.", "16:30")
    gas: Gas | None = key(GAS, "The gas that it named.", "nitrox32")
    oxygen: Percent | None = key(PERCENT, "The oxygen that it said.", "32.1 %")
    helium: Percent | None = key(PERCENT, "The helium that it said.", "44.6 %")
    analysed: dt.date | None = key(DAY, "The day of that analysis.", "2026-11-25")
    pressure: GaugePressure | None = key(PRESSURE, "The pressure that it said.", "3000 psi")
    limit: GaugePressure | None = key(PRESSURE, "The limit that it said.", "3000 psi")

    @property
    def says(self) -> tuple[object, ...]:
        """What it said: a label that says the same is the same one, printed again."""
        gas = self.gas, self.oxygen, self.helium, self.analysed
        return self.kind, *gas, self.pressure, self.limit


class Lost(Entry, frozen=True, kw_only=True):
    """Not found at a stock count."""

    title: ClassVar[str] = "lost"
    found: dt.date | None = key(DAY, "When it turned up.", "2026-05-02")
    found_by: str | None = key(TEXT, "Initials of who found it.", "MV")
    found_why: str | None = key(TEXT, "Where it had been.", "under the pool store bench")


class JobStep(Record, frozen=True, kw_only=True):
    """How far a job was from a day on."""

    title: ClassVar[str] = "step"
    on: dt.date = key(DAY, "Since when.", "2026-11-27", required=True)
    state: JobState = key(JobState, "How far it was.", "awaiting-parts", required=True)


class Job(Entry, frozen=True, kw_only=True):
    """Work a customer wants done on the cylinder."""

    title: ClassVar[str] = "job"
    work: tuple[Work, ...] = key([Work], "What is wanted.", "[visual, fill]", required=True)
    at: dt.time | None = key(TIME_OF_DAY, "Time of day it was taken in.", "09:30")
    reference: str | None = key(TEXT, "Customer or job reference; never a name.", "C-0192")
    promised: dt.date | None = key(DAY, "When it was promised.", "2026-12-01")
    price: Money | None = key(MONEY, "Price agreed.", "25.00 USD")
    state: JobState = key(JobState, "How far it was when taken in.", "open", default=JobState.OPEN)
    steps: tuple[JobStep, ...] = key(
        [JobStep], "How far it came since.", "[{on: 2026-11-27, state: awaiting-parts}]"
    )
    ready: dt.date | None = key(DAY, "When the work was done.", "2026-12-01")
    told: Told | None = key(
        Told, "Owner told that it is ready.", "{on: 2026-12-01, by: MV, how: telephone}"
    )
    collected: dt.date | None = key(DAY, "When it was collected.", "2026-12-03")
    collected_by: str | None = key(TEXT, "Initials of who handed it back.", "KD")
    collected_at: dt.time | None = key(TIME_OF_DAY, LEFT_AT, "16:30")
    analysed: GasAnalysed | None = key(
        GasAnalysed, _ANALYSED, "{oxygen: 31.8 %, depth: 33 m, initials: RT}"
    )


class Refused(Entry, frozen=True, kw_only=True):
    """Refused at the counter."""

    title: ClassVar[str] = "refused"
    reasons: tuple[str, ...] = key(
        [TEXT], "The reasons shown.", "[hydro lapsed Aug 2025]", required=True
    )
    told: Told | None = key(Told, "Owner told.", "{on: 2026-12-01, by: MV, how: in person}")
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")


class Serviced(Entry, frozen=True, kw_only=True):
    """A valve service."""

    title: ClassVar[str] = "serviced"
