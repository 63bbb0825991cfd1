"""The answers this room gives, as values."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import NamedTuple

from msgspec import Struct

from tankbook.gas import Gas, analysed_said
from tankbook.records.node import Where
from tankbook.records.rulerow import Basis, Gate, Obligation, RuleRow, Verified, WatchRow
from tankbook.records.words import Status, Use
from tankbook.units import GaugePressure, PartialDate, RunningTime, Temperature, Volume


class State(StrEnum):
    """How an obligation stands on the day asked."""

    OK = "ok"
    SOON = "soon"
    OVERDUE = "overdue"
    MISSING = "missing"


class DueKind(StrEnum):
    """What an obligation belongs to."""

    CYLINDER = "cylinder"
    SET = "set"
    STATION = "station"
    PERSON = "person"


class SparedBy(Struct, frozen=True):
    """What meets an obligation before its turn, and the last day to do it that is soon enough."""

    act: Obligation
    on: dt.date


class Due(Struct, frozen=True):
    """One obligation of one subject.

    `last` is the act that counts, `next` the last day it holds, `days_left` the days to it (0 on
    that day, negative when past); `whole_month` says that it holds to the end of a month, and is
    known no closer. A filter runs in hours: its `hours_left`, as of the last day that the meter was
    seen, stands for days, and `expected` is the last day that it is reckoned to hold.
    `row` is None where no rule row in force answers the question; the state is then `missing`.
    `failed` says that it is overdue since its last act failed, whatever the days.
    `uncounted` is the day of a visual on record that does not meet it.
    `spared` is the act of the same cylinder that would meet it before its turn, `stands` where that
    is kept, out or away, the gravest first; both are known in the whole list alone.
    """

    kind: DueKind
    id: str
    obligation: Obligation
    state: State
    last: PartialDate | None = None
    next: dt.date | None = None
    days_left: int | None = None
    hours_left: RunningTime | None = None
    hours_over: bool = False
    expected: dt.date | None = None
    row: RuleRow | None = None
    why: str = ""
    part: str = ""
    failed: bool = False
    whole_month: bool = False
    uncounted: PartialDate | None = None
    spared: SparedBy | None = None
    stands: tuple[Status, ...] = ()
    beware: str = ""
    """What is known against it though it is in date: of a gauge, that it reads above true."""

    @property
    def owner(self) -> tuple[DueKind, str, str, Obligation]:
        """What it is, under one name wherever it is told: a set's line is its cylinder's."""
        if self.kind is DueKind.SET:
            return DueKind.CYLINDER, self.part, "", self.obligation
        return self.kind, self.id, self.part, self.obligation

    @property
    def by(self) -> dt.date | None:
        """The last day it holds, or that it is reckoned to hold; None where neither is known."""
        return self.next or self.expected

    @property
    def is_open(self) -> bool:
        """Whether it is overdue or not on record: nobody may take it for met."""
        return self.state in {State.OVERDUE, State.MISSING}

    @property
    def rule(self) -> str:
        """The id of the row, or an empty text."""
        return self.row.id if self.row else ""

    @property
    def citation(self) -> str:
        """Where the rule stands, or that there is none."""
        return self.row.citation if self.row else "no rule row in force"


class Tally(Struct, frozen=True):
    """How many obligations are overdue, and how many are not on record, of each kind of owner.

    Every answer that counts them counts so: each obligation once, of a set those of its cylinders.
    `failed` of those overdue are so since their last act failed.
    """

    overdue: tuple[tuple[DueKind, int], ...]
    missing: tuple[tuple[DueKind, int], ...]
    failed: int = 0

    @classmethod
    def of(cls, items: Iterable[Due]) -> Tally:
        """Those of a list."""
        every = {item.owner: item for item in items}
        states = {owner: item.state for owner, item in every.items()}
        late, missing = (_by_kind(states, state) for state in (State.OVERDUE, State.MISSING))
        return cls(late, missing, sum(item.failed for item in every.values()))

    @property
    def late(self) -> int:
        """How many are overdue."""
        return sum(count for _, count in self.overdue)

    @property
    def unknown(self) -> int:
        """How many are not on record."""
        return sum(count for _, count in self.missing)


def _by_kind(
    states: Mapping[tuple[DueKind, str, str, Obligation], State], wanted: State
) -> tuple[tuple[DueKind, int], ...]:
    counts = Counter(owner[0] for owner, state in states.items() if state is wanted)
    return tuple((kind, counts[kind]) for kind in DueKind if counts[kind])


class Reason(Struct, frozen=True):
    """One reason for a refusal or a warning, and the row it rests on.

    One that is `loud` stands in the first line of a yes. A reason without a row is what the records
    show by themselves, at `where`; or a gap, a question that no row in force answers.
    """

    code: str
    text: str
    gate: Gate
    row: RuleRow | WatchRow | None = None
    mend: str = ""
    where: Where | None = None
    loud: bool = False

    @property
    def citation(self) -> str:
        """Where the rule stands; for what the records show by themselves, where they do."""
        if self.row is None:
            return str(self.where) if self.where else "no rule row in force"
        return self.row.citation

    @property
    def basis(self) -> Basis | None:
        """What the rule rests on; None where there is no rule."""
        return self.row.basis if self.row else None

    @property
    def verified(self) -> Verified | None:
        """How the rule is known; None where there is no rule."""
        return self.row.verified if self.row else None

    @property
    def may_be_overridden(self) -> bool:
        """Only shop practice may be lifted, by a named person with a reason."""
        return isinstance(self.row, RuleRow) and (
            self.row.basis is Basis.PRACTICE and not self.row.never_overridden
        )


class Limit(Struct, frozen=True):
    """The most a cylinder may hold: a gauge pressure at a reference temperature.

    `plus` says that it includes the 10 % of a plus mark. `why_no_plus` says why not, where the
    latest stamp carries one. `lowered` says what holds it below the marked pressure.
    """

    pressure: GaugePressure
    reference: Temperature
    plus: bool
    rows: tuple[RuleRow, ...]
    why_no_plus: str = ""
    lowered: str = ""


class Ceiling(Struct, frozen=True):
    """The highest a gauge may show while a cylinder is filled, hot or cold, and why.

    `part` names the lowest part of all that the gas goes through: `cylinder` where it is the
    cylinder's own mark, else `valve`, `insert`, `yoke outlet`, `manifold`, `whip W1`, `panel`.
    """

    pressure: GaugePressure
    part: str
    rows: tuple[RuleRow, ...] = ()


DANGER = "danger-under-pressure"
"""The code of what makes it dangerous that a cylinder holds pressure."""


class MayFill(Struct, frozen=True):
    """Whether a cylinder or set may be filled, to what, and every reason.

    `limit` is at its reference temperature; `target` is the same amount of gas at `ambient`, never
    above the limit nor above `ceiling`, which no gauge passes on the way there. All are None where
    no limit can be stated. `look` is the pre-fill outside look
    asked for with every yes. `rests_on` names every row the answer used.
    """

    id: str
    fillable: bool
    gas: Gas
    reasons: tuple[Reason, ...]
    limit: Limit | None
    target: GaugePressure | None
    ambient: Temperature | None
    look: RuleRow | None
    rests_on: tuple[str, ...] = ()
    members: tuple[str, ...] = ()
    ceiling: Ceiling | None = None

    def is_stricter_than(self, other: MayFill) -> bool:
        """Whether it refuses what another allows, or allows less."""
        if self.fillable != other.fillable:
            return other.fillable
        if not self.fillable or self.limit is None or other.limit is None:
            return False
        return self.limit.pressure < other.limit.pressure

    @property
    def refusals(self) -> tuple[Reason, ...]:
        """The reasons that refuse."""
        return tuple(r for r in self.reasons if r.gate is Gate.REFUSE)

    @property
    def warnings(self) -> tuple[Reason, ...]:
        """The reasons that only warn."""
        return tuple(r for r in self.reasons if r.gate is Gate.WARN)

    @property
    def dangers(self) -> tuple[str, ...]:
        """What to beware of with it while it holds pressure: told beside every refusal."""
        return tuple(dict.fromkeys(r.text for r in self.reasons if r.code == DANGER))


class Analysis(Struct, frozen=True):
    """What a gas was analysed at, percent of oxygen and of helium, by whom and on which day; and
    what the cylinder was read at then. A later reading of the gauge changes nothing of it."""

    on: dt.date
    oxygen: float | None
    helium: float | None = None
    by: str = ""
    pressure: GaugePressure | None = None
    temperature: Temperature | None = None


class Contents(Struct, frozen=True):
    """What a cylinder holds, as last recorded. `gas` is None where nobody knows. `on`, `at` and the
    temperature are those of the pressure; an analysis has its own day."""

    gas: Gas | None
    pressure: GaugePressure | None
    temperature: Temperature | None
    at: dt.datetime | None
    on: dt.date | None
    analysis: Analysis | None = None
    source: str = ""
    filled_at: dt.datetime | None = None
    fills: int = 0
    no_flow: bool = False
    """No flow was heard when it was bled, and nobody says since how it was let out: it is taken for
    full, whatever a gauge shows."""
    most: GaugePressure | None = None
    """No more than that, where its pressure is not known: what it came level at."""

    @property
    def oxygen(self) -> float | None:
        """The oxygen it was analysed at, percent."""
        return self.analysis.oxygen if self.analysis else None

    @property
    def helium(self) -> float | None:
        """The helium it was analysed at, percent."""
        return self.analysis.helium if self.analysis else None

    @property
    def figures(self) -> str:
        """What it was analysed at, `18.1 % oxygen, 44.8 % helium`; empty where it was not."""
        return analysed_said(self.oxygen, self.helium) if self.oxygen is not None else ""

    @property
    def analysed_by(self) -> str:
        """Who analysed it, or an empty text."""
        return self.analysis.by if self.analysis else ""

    @property
    def analysed_on(self) -> dt.date | None:
        """The day it was analysed."""
        return self.analysis.on if self.analysis else None


class WaterVolume(Struct, frozen=True):
    """A water volume and where it comes from, in words."""

    volume: Volume
    basis: str


class Ready(Struct, frozen=True):
    """Cylinders that can go out now, of one size and gas."""

    size: str
    gas: str
    ids: tuple[str, ...]


class BankState(Struct, frozen=True):
    """A bank as last read, and what it should show now after `fills` since, of which `unmeasured`
    do not say how much they took; `held` says why it is out of use, where it is, and `asked` why
    what it gives leaves only once analysed, where that is asked."""

    name: str
    gas: str
    pressure: GaugePressure | None
    read_on: dt.date | None
    stale: bool
    shows: GaugePressure | None = None
    fills: int = 0
    unmeasured: int = 0
    held: str = ""
    asked: str = ""


class HeldLine(NamedTuple):
    """What is held: why, and where it is where that is not here."""

    id: str
    why: str
    where: str = ""


class AbsentLine(NamedTuple):
    """What is out or away: to whom or where, and what stands against it besides."""

    id: str
    where: str
    against: str = ""


class Board(Struct, frozen=True):
    """Today's board."""

    today: dt.date
    ledger: str
    station: tuple[Due, ...]
    station_refusals: tuple[Reason, ...]
    air_test_until: dt.date | None
    banks: tuple[BankState, ...]
    ready: tuple[Ready, ...]
    overdue: tuple[Due, ...]
    missing: tuple[Due, ...]
    soon: tuple[Due, ...]
    soon_days: int
    held: tuple[HeldLine, ...]
    out: tuple[AbsentLine, ...]
    away: tuple[AbsentLine, ...]
    awaiting: tuple[str, ...]
    broken: tuple[str, ...]
    air_test_failed: bool = False
    """The newest sample failed, and none passed since."""
    air_unmeasured: tuple[str, ...] = ()
    """What the samples that the air passes by leave out, as an air test calls it."""
    out_of_use: tuple[tuple[str, Reason], ...] = ()
    parts_out: tuple[str, ...] = ()
    """Every part that is out of use, by itself or with another."""
    unproved: tuple[Reason, ...] = ()
    """Of the gauges that fills are read on, those that nobody found true."""
    warned: tuple[Reason, ...] = ()
    """What is told of its parts and puts none out of use: a gauge that reads above true."""
    in_doubt: tuple[tuple[str, str], ...] = ()
    """What is out to somebody whose training for it was struck out, and what to do."""


class FleetRow(Struct, frozen=True):
    """How many cylinders there are of a kind, and how they stand. `overdue` counts their
    obligations, of which one cylinder may have several."""

    use: Use | None
    size: str
    count: int
    in_service: int
    fillable: int
    by_status: tuple[tuple[Status, int], ...]
    fills: int
    oldest: PartialDate | None
    overdue: int
    failed: int = 0
    """How many of those overdue failed."""
    by_states: tuple[tuple[tuple[Status, ...], int], ...] = ()
    """How many are in all of some states at once: held while they are out, rejected at test."""
