"""Opening cylinders to a bank or the compressor: where they are stopped, how long they are held,
and the moves that make it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.figures import LONGEST_HOLD, SHORTEST_WAIT
from tankbook.filling.fill_bench import (
    AT_STOP_KPA,
    FillBench,
    is_full,
    settles_within,
    told_kpa,
)
from tankbook.filling.heat import Charged, Opening
from tankbook.filling.results import Ends, HandMove, PanelPart, Turn
from tankbook.filling.setup import least_gain
from tankbook.filling.warmth import HOLD_STEPS, PerCase
from tankbook.units import GAUGE_STEP

NEARLY = 0.999
"""What holds this part of what it may is shut."""


AS_GOOD = 1e-4
"""A density nearer than this part is reached."""


UNLIKE_KPA = 70.0
"""Gauges nearer than this, 10 psi, read the same."""


HALVINGS = 12
"""How often the stop is halved at which the compressor must rest."""


IDLE_RISE = 2e-4
"""A hold is given up where it adds less than this part of the target a minute."""


AS_READ: Mapping[int, float] = {}
"""Each cylinder is opened at what its gauge now shows."""


class Tried(Struct, frozen=True, kw_only=True):
    """What opening some cylinders together comes to in every world.

    `jobs` are those that the source reaches, `over` those of them that are to be shut now, `waits`
    for how many minutes the gauge was held, and `likely` after how many of these all are expected
    to be full that are sure to be at its end; None where not all are. `paused`: they are shut
    before their stop, since the compressor must rest. `most`: what the gauge [kPa] may come to at
    most though the flow is expected to stop before; None where the regulator stands no higher, or
    the source does not bring even the coolest case so far.
    """

    jobs: list[int]
    worlds: PerCase[Charged]
    at_stop: bool
    over: list[int]
    waits: float = 0.0
    paused: bool = False
    likely: float | None = None
    most: float | None = None

    @property
    def usual(self) -> Charged:
        """As it is expected to go."""
        return self.worlds.usual

    @property
    def coolest(self) -> Charged:
        """As most gas goes in."""
        return self.worlds.keeps

    @property
    def ends(self) -> Ends:
        """How the operator knows that it is over."""
        if self.waits:
            return Ends.HELD
        return Ends.STOP if self.at_stop else Ends.LEVEL

    @property
    def at_most(self) -> float | None:
        """The most [kPa] that is told beside a flow that stops; a stop or a hold has its own."""
        return self.most if self.ends is Ends.LEVEL else None


def charged(
    bench: FillBench, bank: int | None, jobs: list[int], stop: Opening, coolest: Charged
) -> Tried:
    """Cylinders opened until they are at their stop, or level with the source. One that the source
    does not reach is left out."""
    before = (world.charge(bank, jobs, stop) for world in bench.worlds.others)
    done = PerCase((*before, coolest))
    usual = done.usual
    reached = [j for j, at in zip(jobs, usual.joined, strict=False) if at < inf]
    if reached != jobs and usual.joined:
        if reached:
            joins = [at for j, at in zip(jobs, stop.joins, strict=False) if j in reached]
            stop = replace(stop, joins=tuple(joins))
            done = PerCase(world.charge(bank, reached, stop) for world in bench.worlds)
    elif not usual.joined:
        reached = jobs
    at_stop = _at_stop(done.usual, stop)
    most = None if at_stop else _most(bench, bank, reached, stop)
    return Tried(jobs=reached, worlds=done, at_stop=at_stop, over=reached, most=most)


def _most(bench: FillBench, bank: int | None, jobs: Sequence[int], stop: Opening) -> float | None:
    """A stop that the coolest case comes to below what the regulator lets through: who only waits
    for the flow to stop would go on above it."""
    passes = min(highest(bench, bank, j) for j in jobs)
    return stop.to_kpa if stop.to_kpa < passes - AT_STOP_KPA else None


def brought(
    bench: FillBench,
    bank: int | None,
    jobs: list[int],
    last: bool,
    most: float = inf,
    joins: Mapping[int, float] = AS_READ,
) -> Tried:
    """Cylinders brought to their stop, and held there where they are not connected again, in `most`
    minutes at most; `joins` as of `stop_of`."""
    stop, coolest = stop_of(bench, bank, jobs, joins)
    done = charged(bench, bank, jobs, stop, coolest)
    if not done.jobs:
        return done
    if done.usual.minutes > most:
        return _as_far_as(bench, jobs, stop, most)
    full = _at_most(bench, done) if done.at_stop else []
    if full:
        return replace(done, over=full)
    if not (done.at_stop or last) or bench.again:
        return done
    held = _held(bench, done, stop, most)
    full = _at_most(bench, held, NEARLY) if held.at_stop else []
    return replace(held, over=full or held.jobs)  # short of the stop all are shut: nothing follows


def _as_far_as(bench: FillBench, jobs: list[int], stop: Opening, most: float) -> Tried:
    """Cylinders filled from the compressor for about so many minutes, to a stop that is read."""
    low, high = min(bench.usual.kpa(j) for j in jobs), stop.to_kpa
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        minutes = bench.usual.charge(None, jobs, replace(stop, to_kpa=middle)).minutes
        low, high = (middle, high) if minutes <= most else (low, middle)
    part = replace(stop, to_kpa=low)
    done = charged(bench, None, jobs, part, bench.worlds.keeps.charge(None, jobs, part))
    return replace(done, paused=True)


def _at_most(bench: FillBench, done: Tried, part: float = 1 - AS_GOOD) -> list[int]:
    """Those that may come to hold all they may, in the coolest case, or a part of it."""
    target = min(bench.setup.problem.jobs[j].target for j in done.jobs)
    pairs = zip(done.jobs, done.coolest.states, strict=True)
    return [j for j, state in pairs if state.rho >= target * part]


def _at_stop(done: Charged, stop: Opening) -> bool:
    """Whether the gauge came to its stop."""
    return done.kpa >= stop.to_kpa - AT_STOP_KPA or _fullest(done) >= stop.densest * (1 - AS_GOOD)


def that_rise(bench: FillBench, bank: int, jobs: Sequence[int]) -> list[int]:
    """Those that a bank would lift by the least that it is opened for, or to their mark, the
    emptiest first."""
    world, session = bench.usual, bench.setup.session
    gain, shown = least_gain(session).kpa, GAUGE_STEP[session.unit].kpa
    gives = world.bank_kpa(bank)

    def is_worth(job: int) -> bool:
        fills = gives >= bench.setup.vessels[job].marked.absolute().kpa
        return gives - world.kpa(job) > (shown if fills else gain)

    return sorted(filter(is_worth, jobs), key=lambda j: (world.kpa(j), j))


def highest(bench: FillBench, bank: int | None, job: int) -> float:
    """What the gauge of a cylinder may show [kPa]: its mark, and from the compressor (no bank) no
    more than that makes."""
    made, mark = bench.setup.session.compressor, bench.setup.vessels[job].marked.absolute().kpa
    return mark if bank is not None or made is None else min(mark, made.max_pressure.absolute().kpa)


def stop_of(
    bench: FillBench, bank: int | None, jobs: Sequence[int], joins: Mapping[int, float] = AS_READ
) -> tuple[Opening, Charged]:
    """Where the gauge is stopped, and what the coolest case then comes to: at the mark, at the most
    that the compressor makes, or where even the coolest gas would be all that the cylinder may
    hold. `joins`: at what gauge [kPa] a cylinder is opened to others, where that is not what it
    now shows: it has cooled since it was read."""
    setup = bench.setup
    target = min(setup.problem.jobs[j].target for j in jobs)
    opening = Opening(
        to_kpa=min(highest(bench, bank, j) for j in jobs),
        delivers=setup.problem.compressor if bank is None else inf,
        densest=target,
        joins=_joins(bench, jobs, joins),
    )
    coolest = bench.worlds.keeps.charge(bank, jobs, opening)
    stop = min(opening.to_kpa, coolest.kpa) if _at_stop(coolest, opening) else opening.to_kpa
    single = len(bench.worlds) == 1
    return replace(opening, to_kpa=stop, densest=target if single else inf), coolest


def _joins(bench: FillBench, jobs: Sequence[int], told: Mapping[int, float]) -> tuple[float, ...]:
    """At what gauge [kPa] each cylinder is opened: at what was read of it, whatever it cools to
    meanwhile. The emptiest are opened first, and those that read as they do."""
    reads = [bench.usual.kpa(j) for j in jobs]
    first = -inf if told else min(reads)
    found = [
        told.get(j, now if now - first > UNLIKE_KPA else 0.0)
        for j, now in zip(jobs, reads, strict=True)
    ]
    return tuple(found) if any(found) else ()


def _fullest(done: Charged) -> float:
    return max(state.rho for state in done.states)


def _held(bench: FillBench, done: Tried, stop: Opening, most: float) -> Tried:
    """Hold the gauges until all are sure to be full, as long as none comes to hold too much, and
    the time is not over; where that does not make all of them so, no longer than some are made, or
    than it adds what a gauge shows."""
    number, ways, worth = 0, [done], 0
    unit, marks = bench.setup.session.unit, (bench.setup.vessels[j].target for j in done.jobs)
    shown = GAUGE_STEP[unit].kpa / max(mark.kpa for mark in marks)
    target = min(bench.setup.problem.jobs[j].target for j in done.jobs)
    while done.waits < LONGEST_HOLD.minutes:
        now, usual = done.worlds.sure.states, done.usual.states
        pairs = zip(done.jobs, usual, now, strict=True)
        if all(is_full(bench, j, u.rho, s.rho) for j, u, s in pairs):
            break
        part = max(HOLD_STEPS[min(number, len(HOLD_STEPS) - 1)], SHORTEST_WAIT.minutes)
        if done.usual.minutes + part > most:
            return replace(done, paused=True)
        ahead = PerCase(
            world.hold(done.jobs, each, part, stop.delivers)
            for world, each in zip(bench.worlds, done.worlds, strict=True)
        )
        if _fullest(ahead.keeps) > target:
            break
        then = ahead.sure.states
        adds = max((a.rho - b.rho) / target for a, b in zip(then, now, strict=True))
        if adds < IDLE_RISE * part:
            break
        done, number = replace(done, worlds=ahead, waits=done.waits + part), number + 1
        ways.append(done)
        worth = number if adds >= shown * part else worth
    comes = _come_to(bench, done)
    same = next(n for n, each in enumerate(ways) if _come_to(bench, each) == comes)
    chosen = max(same, worth)
    return replace(ways[chosen], likely=_likely(bench, ways[: chosen + 1]))


def _likely(bench: FillBench, ways: Sequence[Tried]) -> float | None:
    """After which hold of some, rising, all are expected to be full that the last makes sure; None
    where it does not."""
    come = [_come_to(bench, each) for each in ways]
    if not all(sure for sure, _ in come[-1]):
        return None
    full = (way.waits for way, each in zip(ways, come, strict=True) if all(e for _, e in each))
    return next(full, None)


def _come_to(bench: FillBench, done: Tried) -> list[tuple[bool, bool]]:
    """Which cylinders are sure to be full, and which are expected to be."""
    cases = zip(done.jobs, done.usual.states, done.worlds.sure.states, strict=True)
    return [(is_full(bench, j, u.rho, s.rho), settles_within(bench, j, u.rho)) for j, u, s in cases]


def take(bench: FillBench, bank: int | None, done: Tried) -> None:
    """Do what was tried in every world."""
    for world, each in zip(bench.worlds, done.worlds, strict=True):
        world.take(bank, done.jobs, each, done.usual.minutes)


def opening_moves(
    bench: FillBench,
    done: Tried,
    jobs: Sequence[int],
    source: HandMove | None,
    *,
    others: bool = False,
) -> list[HandMove]:
    """The moves that open cylinders together: the emptiest and the source first, each other when
    the gauge has come to its reading, as the first has where `others` are open already. Those that
    read the same are opened as one, later ones at the highest of their readings, so that none gives
    gas to a line below it. One at a position without a valve is governed by the bank's.
    """
    joined = dict(zip(done.jobs, done.usual.joined or [0.0] * len(done.jobs), strict=True))
    order = sorted(jobs, key=lambda j: joined[j])
    level = -inf if others or not order else joined[order[0]]
    moves: list[HandMove] = []
    for job in order:
        if joined[job] - level > UNLIKE_KPA:
            moves += [source] if source else []
            source, level = None, joined[job]
            alike = max(joined[j] for j in order if joined[j] - level <= UNLIKE_KPA)
            reads, first = bench.setup.equation.gauge(alike), bench.seats[done.jobs[0]].name
            moves.append(HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, name=first, at=reads))
        if _has_valve(bench, job):
            moves.append(
                HandMove(turn=Turn.OPEN, part=PanelPart.POSITION, name=bench.seats[job].name)
            )
    return [*moves, source] if source else moves


def watch_move(bench: FillBench, done: Tried) -> HandMove:
    """Watch the gauge to its stop, or until the flow stops or it comes to the most that it may;
    held there for some minutes."""
    job, gauge = done.jobs[0], bench.setup.equation.gauge
    level, most = done.ends is Ends.LEVEL, done.at_most
    return HandMove(
        turn=Turn.WATCH,
        part=PanelPart.GAUGE,
        name=bench.seats[job].name,
        at=None if level else gauge(told_kpa(bench, job, bench.usual.kpa(job))),
        at_most=None if most is None else gauge(most),
        minutes=done.waits,
    )


def closing_moves(bench: FillBench, jobs: Sequence[int]) -> list[HandMove]:
    """The moves that shut some cylinders off, where their positions have valves."""
    return [
        HandMove(turn=Turn.CLOSE, part=PanelPart.POSITION, name=bench.seats[j].name)
        for j in jobs
        if _has_valve(bench, j)
    ]


def _has_valve(bench: FillBench, job: int) -> bool:
    return bench.seats[job].valve is not False
