"""What a plan says."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from msgspec import Struct

from tankbook.filling.nouns import SizeHeat
from tankbook.filling.problem import Favour
from tankbook.units import GaugePressure, Temperature, Volume


class PlanAct(StrEnum):
    """What a step does."""

    CONNECT = "connect"
    EQUALIZE = "equalize"
    OPEN = "open"
    WAIT = "wait"
    TOP_OFF = "top off"
    COMPRESSOR = "compressor"
    REMOVE = "remove"
    LOWER = "lower the regulator"
    BACK_OFF = "back the regulator off"
    FEED = "feed a bank"
    DRAIN = "drain the separators"
    NEXT = "wait for the next cylinders"
    REST = "let the compressor rest"
    RAISE = "let the compressor raise a bank"


class Ends(StrEnum):
    """How the operator knows that a step is over."""

    LEVEL = "flow stops"
    STOP = "gauge reads the stop"
    HELD = "held at the stop until the time is up"
    TIME = "time is up"
    DONE = "done"


class Turn(StrEnum):
    """What a hand does to a part of the panel, or what an eye reads."""

    SET = "set"
    BACK_OFF = "back off"
    CRACK = "crack"
    CONNECT = "connect"
    OPEN = "open"
    WATCH = "watch"
    CLOSE = "close"
    BLEED = "bleed"
    REMOVE = "remove"
    DRAIN = "drain"
    START = "start"
    STOP = "stop"
    UNLOAD = "unload"
    LOAD = "load"
    KEEP = "keep"


class PanelPart(StrEnum):
    """What is turned or read."""

    REGULATOR = "regulator"
    CYLINDER = "cylinder valve"
    POSITION = "position valve"
    BANK = "bank"
    COMPRESSOR = "compressor"
    GAUGE = "gauge"
    BLEED = "bleed"
    LINE = "line"
    FEED = "feed valve"
    SEPARATORS = "separators"
    ISOLATOR = "isolator"


class HandMove(Struct, frozen=True, kw_only=True):
    """One turn of a hand, or one look at a gauge.

    `name` is the bank, position or cylinder, of an isolator the doubles or the side. `at` is what
    the regulator is set to, the most that a bank is fed to, or what the gauge is to read before the
    next move; None where the flow is to stop: then `at_most` is what the gauge is not to pass, None
    where the regulator stands no higher. There it is held for so many `minutes`; separators are
    drained every so many, and a compressor is started or stopped, the feed of its bank opened or
    shut, and that bank kept at its most, when so many of the step have passed. A compressor that
    is kept to the gauge of cylinders, or of the bank of a feed, is unloaded as that comes to `at`
    and loaded as it falls, until it is turned again. Of a feed that is shut `at` is what its full
    bank shows, else None.
    """

    turn: Turn
    part: PanelPart
    name: str = ""
    at: GaugePressure | None = None
    at_most: GaugePressure | None = None
    minutes: float = 0.0


class Hot(Struct, frozen=True, kw_only=True):
    """What is predicted of a cylinder still warm from its fill.

    `gas` its temperature as the step ends; `settles` is where it comes to at ambient, `low` and
    `high` the band in which that lies, for the band of the heat model's assumptions.
    """

    gas: Temperature
    settles: GaugePressure
    low: GaugePressure
    high: GaugePressure


class CylinderChange(Struct, frozen=True, kw_only=True):
    """One cylinder in one step: cold readings before and after, at ambient.

    `reads` is what its gauge shows as the step begins, `stop_at` as it ends, both as warm as it is
    then, and never above the marked pressure. `at_most` is what the gauge may come to where flow
    is expected to stop before: with gas cooler than usual it would go on above the target; None
    where it does not. `hot` is None where no heat was reckoned.
    """

    id: str
    before: GaugePressure
    after: GaugePressure
    reads: GaugePressure
    stop_at: GaugePressure
    at_most: GaugePressure | None = None
    position: str = ""
    ends: Ends = Ends.LEVEL
    minutes: float = 0.0
    hot: Hot | None = None


class FedBank(Struct, frozen=True, kw_only=True):
    """What the compressor puts into a bank in a step, all of which is in it when the step is over,
    the bank's cold reading then, and what its gauge `shows` then, its gas warm of being fed."""

    bank: str
    mol: float
    after: GaugePressure
    shows: GaugePressure


class PlanStep(Struct, frozen=True, kw_only=True):
    """One act at the panel, and the moves that it is made of.

    `source` is the label of the bank that is opened, the id of the cylinder that gives in an
    equalizing, or empty. `source_before` and `source_after` are its cold readings, without what it
    is fed meanwhile: `left` is with that. `in_turn`: one
    of the cylinders is open at a time; else they are open together. `held` is for how many of the
    minutes the gauge is held at its stop; of a long hold `likely` is after how many of those all
    are expected to be full that are sure to be at its end, else None. `fed` are the banks that the
    compressor feeds meanwhile, one after another.
    """

    number: int
    load: int
    act: PlanAct
    source: str
    ends: Ends
    changes: tuple[CylinderChange, ...]
    minutes: float
    moves: tuple[HandMove, ...] = ()
    in_turn: bool = False
    held: float = 0.0
    likely: float | None = None
    source_before: GaugePressure | None = None
    source_after: GaugePressure | None = None
    fed: tuple[FedBank, ...] = ()

    @property
    def left(self) -> GaugePressure | None:
        """The source's cold reading when the step is over, with what it was fed meanwhile."""
        fed = [each.after for each in self.fed if each.bank == self.source]
        return fed[-1] if fed else self.source_after


class Seat(Struct, frozen=True, kw_only=True):
    """Where a cylinder of a load is connected, and the gauge that it is read by."""

    id: str
    position: str
    gauge: str = ""


class Load(Struct, frozen=True, kw_only=True):
    """Cylinders connected in one handling, all of one fill pressure."""

    number: int
    fill_pressure: GaugePressure
    seats: tuple[Seat, ...]
    handling_minutes: float


class Reached(Struct, frozen=True, kw_only=True):
    """What a cylinder of the queue ends with. `full` within the loss that the policy accepts."""

    id: str
    water_volume: Volume
    start: GaugePressure
    target: GaugePressure
    holds: GaugePressure
    full: bool


class Unfilled(Struct, frozen=True, kw_only=True):
    """A cylinder that the plan does not fill, why, and what would mend it; `full`: it stands full
    and needs no fill."""

    id: str
    why: str
    mend: str
    holds: GaugePressure | None
    full: bool = False


class BankAfter(Struct, frozen=True, kw_only=True):
    """A bank before and after the session, cold."""

    label: str
    water_volume: Volume
    before: GaugePressure
    after: GaugePressure


class Outcome(Struct, frozen=True, kw_only=True):
    """How a way of working comes out, all cold: the terms of the objective, and the time."""

    way: str
    unfilled: int
    compressor_fills: int
    full_fills: int
    stored_above_mol: float
    compressor_minutes: float
    handlings: int
    session_minutes: float


class Carried(Struct, frozen=True, kw_only=True):
    """How favouring one thing comes out as it is carried out, heat, holds and waits included;
    `attended_minutes` are those of the session in which a hand is at the panel."""

    favour: Favour
    full: int
    loads: int
    full_fills: int
    session_minutes: float
    attended_minutes: float
    compressor_minutes: float


def unattended(steps: Iterable[PlanStep]) -> float:
    """The minutes of some steps in which nothing is connected: nobody is needed at the panel but to
    drain the compressor's separators."""
    connected, total = False, 0.0
    for step in steps:
        connected = (connected or step.act is PlanAct.CONNECT) and step.act is not PlanAct.REMOVE
        total += 0.0 if connected else step.minutes
    return total


class Readiness(Struct, frozen=True, kw_only=True):
    """Whether the session is done in the time there is.

    `start_within` is how long it can wait, None where it cannot be done; `compressor_within` is
    the latest start of the compressor, None where it is not needed.
    """

    available: float
    in_time: bool
    start_within: float | None
    compressor_within: float | None


class DaySession(Struct, frozen=True, kw_only=True):
    """One session of a day: its loads from `first` to `last` (none where `last` is before), the
    minutes of the day between which it is, and the full fills left after it."""

    first: int
    last: int
    begins: float
    ends: float
    filled: int
    full_fills: int


class DayCylinder(Struct, frozen=True, kw_only=True):
    """A cylinder of a day, in minutes from when work may begin: when it comes, when it is needed,
    and when it is removed full, None where it does not come full."""

    id: str
    comes: float
    needed: float | None
    ready: float | None

    @property
    def in_time(self) -> bool:
        """Whether it is ready when it is needed."""
        return self.needed is None or (self.ready is not None and self.ready <= self.needed)


class Day(Struct, frozen=True, kw_only=True):
    """The sessions of a day one after another, and when each cylinder is ready. `earlier` is by how
    many minutes work would have to begin earlier for all to be in time; None where they are, or
    where that does not help. `chosen`: by their hours more would be late, or later, so that the
    sessions are other ones. `meanwhile` are filled while it is waited for others, since they are
    needed at no hour."""

    sessions: tuple[DaySession, ...]
    cylinders: tuple[DayCylinder, ...]
    earlier: float | None = None
    chosen: bool = False
    meanwhile: tuple[str, ...] = ()


class Plan(Struct, frozen=True, kw_only=True):
    """A fill session: what to do, what will be seen, and how it leaves the station.

    Minutes are plain numbers. `carried` has both things to favour as they come out; `outcome` is
    the plan as it was searched for, cold, `other` the same for the other thing. `session_minutes`
    counts the steps as they stand here, holds and waits included, `attended_minutes` those of them
    in which cylinders are connected or handled. `day` is where it is that of a
    day, of several sessions.
    """

    gas: str
    ambient: Temperature
    unit: str
    favour: Favour
    loads: tuple[Load, ...]
    steps: tuple[PlanStep, ...]
    reached: tuple[Reached, ...]
    unfilled: tuple[Unfilled, ...]
    banks: tuple[BankAfter, ...]
    full_fills: int
    standard: str
    gas_used_mol: float
    session_minutes: float
    attended_minutes: float
    compressor_minutes: float
    restore_minutes: float | None
    outcome: Outcome
    other: Outcome
    carried: tuple[Carried, ...]
    readiness: Readiness | None
    cautions: tuple[str, ...]
    evaluations: int
    sizes: tuple[SizeHeat, ...] = ()
    day: Day | None = None
