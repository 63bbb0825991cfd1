"""The station while a plan is carried out: what it holds, what is noted of it, what the compressor
feeds meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.filling.figures import BAND_HOLDS
from tankbook.filling.nouns import Doubt, PlanCompressor
from tankbook.filling.problem import Solution
from tankbook.filling.results import (
    CylinderChange,
    Ends,
    HandMove,
    Hot,
    Load,
    PanelPart,
    PlanAct,
    PlanStep,
    Turn,
)
from tankbook.filling.setup import Setup
from tankbook.filling.warmth import World
from tankbook.records.station import Position
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure, Temperature

BAND_ENDS = 4
"""So many worlds are of the band: the usual one, the sure one and its two ends."""


class Feed(Struct):
    """The bank that the compressor feeds, and how long it has run: since it last rested, and since
    its separators were drained; `rests` for so many minutes more."""

    bank: int | None = None
    ran: float = 0.0
    undrained: float = 0.0
    rests: float = 0.0


class FillBench(Struct):
    """The station while a plan is carried out, for the usual heat and the ends of its band."""

    setup: Setup
    answer: Solution
    worlds: tuple[World, ...]
    steps: list[PlanStep] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    seats: dict[int, Position] = field(default_factory=dict)
    stopped: set[int] = field(default_factory=set)
    at_stop: set[int] = field(default_factory=set)
    regulator: GaugePressure | None = None
    feed: Feed = field(default_factory=lambda: Feed())

    def job(self, id_: str) -> int:
        """The number of a cylinder."""
        return next(n for n, vessel in enumerate(self.setup.vessels) if vessel.id == id_)

    @property
    def usual(self) -> World:
        """The station as it is expected to go; what it holds is what the plan tells."""
        return self.worlds[0]

    @property
    def sure(self) -> World:
        """The station as it goes where less comes of a fill than nine times in ten."""
        return self.worlds[min(1, len(self.worlds) - 1)]

    @property
    def banks(self) -> list[float]:
        """What each bank holds [mol/L]."""
        return [bank.rho for bank in self.usual.banks]

    @property
    def holds(self) -> list[float]:
        """What each cylinder holds [mol/L]."""
        return [state.rho for state in self.usual.states]

    def note(
        self, act: PlanAct, moves: Sequence[HandMove], minutes: float = 0.0, ends: Ends = Ends.DONE
    ) -> None:
        """Note a step in which no gas flows."""
        step = PlanStep(
            number=len(self.steps) + 1, load=len(self.loads), act=act, source="", ends=ends,
            changes=(), minutes=minutes, moves=tuple(moves),
        )  # fmt: skip
        self.steps.append(step)

    def wait(self, minutes: float) -> None:
        """Let time pass after the last step, in which the compressor feeds its bank."""
        for world in self.worlds:
            world.now += minutes
        _fed(self, minutes)


def _fed(bench: FillBench, minutes: float) -> None:
    """Let the compressor feed its bank for some minutes of the last step."""
    feed, problem, made = bench.feed, bench.setup.problem, bench.setup.session.compressor
    if feed.bank is None or made is None or minutes <= 0:
        return
    ran = _running(feed, made, minutes)
    bank = feed.bank
    room = max(0.0, problem.limits[bank] - bench.banks[bank]) * problem.volumes[bank]
    amount = min(room, problem.compressor * ran)
    for world in bench.worlds:
        source = world.bank(bank)
        world.banks[bank] = replace(source, rho=source.rho + amount / problem.volumes[bank])
    feed.undrained += ran
    last = bench.steps[-1]
    label = bench.setup.banks[bank].label
    after = bench.setup.equation.reading(bench.banks[bank])
    bench.steps[-1] = replace(last, fed=label, fed_mol=last.fed_mol + amount, fed_after=after)


def _running(feed: Feed, made: PlanCompressor, minutes: float) -> float:
    """How many of some minutes the compressor runs; it rests when it has run as long as it may."""
    if made.longest_run is None:
        return minutes
    ran = 0.0
    while minutes > 1e-9:
        if feed.rests > 0:
            part = min(minutes, feed.rests)
            feed.rests -= part
        else:
            part = min(minutes, made.longest_run.minutes - feed.ran)
            feed.ran, ran = feed.ran + part, ran + part
            if feed.ran >= made.longest_run.minutes - 1e-9:
                feed.ran, feed.rests = 0.0, made.rest.minutes if made.rest else 0.0
        minutes -= part
    return ran


def _drain(bench: FillBench, ran: float) -> None:
    """Drain the separators where the compressor has run for as long as that may wait."""
    made = bench.setup.session.compressor
    bench.feed.undrained += ran
    if made is not None and bench.feed.undrained >= made.drain_every.minutes:
        bench.feed.undrained = 0.0
        bench.note(PlanAct.DRAIN, [HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)])


def has_come_full(bench: FillBench, job: int) -> bool:
    """Whether a cylinder is sure to settle within the loss that the policy accepts."""
    return is_full(bench, job, bench.holds[job], bench.sure.states[job].rho)


def was_stopped(bench: FillBench, job: int) -> bool:
    """Whether a cylinder has been brought to its stop, by a bank or the compressor."""
    return job in bench.stopped


def is_full(bench: FillBench, job: int, usual: float, sure: float) -> bool:
    """Whether a cylinder is sure to be full that is expected to hold `usual`, and in nine cases of
    ten holds more than `sure` [mol/L]; what gauge, room and bank may be off goes beside it."""
    setup = bench.setup
    loss = setup.session.policy.acceptable_loss.fraction
    table, kelvin = bench.usual.table, setup.session.ambient.kelvin
    atmosphere = STANDARD_ATMOSPHERE.kpa
    least = table.at(sure).pressure(kelvin)
    if setup.session.heat and setup.session.doubt != NO_DOUBT:
        expected = table.at(usual).pressure(kelvin)
        least = expected - _beside(bench, expected, least)
    return least - atmosphere >= (setup.vessels[job].target.kpa) * (1 - loss)


NO_DOUBT = Doubt()


def _beside(bench: FillBench, usual: float, end: float) -> float:
    """How far [kPa] from the usual the end of a band lies, with what gauge, room and bank may be
    off."""
    session = bench.setup.session
    doubt = session.doubt.of(usual, session.ambient.kelvin)
    return hypot(usual - end, BAND_HOLDS * doubt)


Before = dict[int, tuple[float, float]]
"""Of each cylinder what it held [mol/L] and what its gauge showed [kPa]."""


def as_it_is(bench: FillBench, jobs: Sequence[int]) -> Before:
    """What some cylinders hold now, and what their gauges show."""
    return {j: (bench.holds[j], bench.usual.kpa(j)) for j in jobs}


def changes_of(
    bench: FillBench, before: Before, jobs: Sequence[int], ends: Ends, minutes: float
) -> list[CylinderChange]:
    """What a step did to some cylinders, that are as they are now."""
    equation, found = bench.setup.equation, []
    for job in jobs:
        (had, showed), vessel, state = (
            before[job],
            bench.setup.vessels[job],
            bench.usual.states[job],
        )
        now = min(bench.usual.kpa(job), vessel.marked.absolute().kpa)
        settles = equation.reading(state.rho)
        low, high = _band(bench, job, settles, equation.gauge(now))
        hot = Hot(
            gas=Temperature.of(state.kelvin - 273.15, "degC"), settles=settles, low=low, high=high
        )
        found.append(
            CylinderChange(
                id=vessel.id,
                position=bench.seats[job].name,
                before=equation.reading(had),
                after=settles,
                reads=equation.gauge(showed),
                stop_at=equation.gauge(now),
                ends=ends,
                minutes=minutes,
                hot=hot if bench.setup.session.heat else None,
            )
        )
    return found


def _band(
    bench: FillBench, job: int, settles: GaugePressure, stop: GaugePressure
) -> tuple[GaugePressure, GaugePressure]:
    """Between what a cylinder settles: in the worlds of the band, and with what gauge, room and
    bank may be off. What cools shows no more than it was stopped at."""
    readings = [settles, *(w.settled(job) for w in bench.worlds[1:BAND_ENDS])]
    low, high = min(readings, key=lambda r: r.pa), max(readings, key=lambda r: r.pa)
    session = bench.setup.session
    if not session.heat or session.doubt == NO_DOUBT:
        return low, high
    usual, gauge = settles.absolute().kpa, bench.setup.equation.gauge
    above = usual + _beside(bench, usual, high.absolute().kpa)
    most = max(high.absolute().kpa, min(above, stop.absolute().kpa))
    return gauge(usual - _beside(bench, usual, low.absolute().kpa)), gauge(most)


def note_flow(
    bench: FillBench,
    act: PlanAct,
    source: str,
    changes: Sequence[CylinderChange],
    moves: Sequence[HandMove],
    banked: tuple[float, float] | None,
    *,
    in_turn: bool = False,
    waits: float = 0.0,
) -> None:
    """Note a step in which gas flows; `banked` is what the source held before and after. A bank
    that is opened is not fed meanwhile."""
    reading, fed = bench.setup.equation.reading, bench.feed.bank
    label = bench.setup.banks[fed].label if fed is not None else ""
    pauses = bool(label) and (source == label or act is PlanAct.COMPRESSOR)
    if pauses:
        moves = [
            HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=label),
            *moves,
            HandMove(turn=Turn.OPEN, part=PanelPart.FEED, name=label),
        ]
    minutes = sum(c.minutes for c in changes) if in_turn else max(c.minutes for c in changes)
    bench.steps.append(
        PlanStep(
            number=len(bench.steps) + 1,
            load=len(bench.loads),
            act=act,
            source=source,
            ends=changes[-1].ends,
            changes=tuple(changes),
            minutes=minutes,
            moves=tuple(moves),
            in_turn=in_turn,
            held=waits,
            source_before=reading(banked[0]) if banked else None,
            source_after=reading(banked[1]) if banked else None,
        )
    )
    if not pauses and act is not PlanAct.COMPRESSOR:
        _fed(bench, minutes)
    _drain(bench, minutes if act is PlanAct.COMPRESSOR else 0.0)
