"""Carrying a plan out, move by move: what a hand turns, where it stops, and what comes of it.

The banks of each cylinder are those of the answer that was searched for, cold; what is read and
what settles follows the heat. The cylinders of a load are first opened one by one to the lower
banks, then together to the last, and their gauges are held at the stop until they are full.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from tankbook.filling.choose import equal_level, loads_of, reaches, shares_load
from tankbook.filling.figures import LONGEST_HOLD
from tankbook.filling.heat import Charged, Opening, Warm
from tankbook.filling.levels import by_density
from tankbook.filling.problem import Block, Solution
from tankbook.filling.results import (
    CylinderChange,
    Ends,
    Hot,
    Load,
    Move,
    Part,
    PlanAct,
    PlanStep,
    Seat,
    Turn,
)
from tankbook.filling.setup import Setup
from tankbook.filling.warmth import HOLD_STEPS, World, worlds
from tankbook.records.station import Position
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure, Temperature

AT_STOP_KPA = 1.0
"""A gauge so near its stop has come to it."""

UNLIKE_KPA = 70.0
"""Gauges nearer than this, 10 psi, read the same."""

IDLE_RISE = 2e-4
"""A hold is given up where it adds less than this part of the target a minute."""


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
        self, act: PlanAct, moves: Sequence[Move], minutes: float = 0.0, ends: Ends = Ends.DONE
    ) -> None:
        """Note a step in which no gas flows."""
        step = PlanStep(
            number=len(self.steps) + 1, load=len(self.loads), act=act, source="", ends=ends,
            changes=(), minutes=minutes, moves=tuple(moves),
        )  # fmt: skip
        self.steps.append(step)


def simulate(setup: Setup, answer: Solution) -> FillBench:
    """Carry an answer out: its loads and steps, and what the station then holds."""
    problem = setup.problem
    bench = FillBench(setup, answer, worlds(setup))
    pair = answer.equalized
    if pair and not shares_load(problem, answer, pair):
        _connect(bench, pair)
        _equalize(bench, pair)
        _remove(bench)
        pair = None
    for blocks in loads_of(problem, answer):
        members = [j for block in blocks for j in block.jobs]
        _connect(bench, members)
        if pair and set(pair) <= set(members):
            _equalize(bench, pair)
        _fill_load(bench, blocks)
        _remove(bench)
    for _ in range(setup.session.policy.most_top_offs):
        _top_off(bench)
    if bench.loads:
        bench.note(
            PlanAct.BACK_OFF,
            (
                Move(turn=Turn.BACK_OFF, part=Part.REGULATOR),
                Move(turn=Turn.BLEED, part=Part.LINE),
            ),
        )
    return bench


# --- connecting and removing


def _connect(bench: FillBench, members: Sequence[int]) -> None:
    setup, problem = bench.setup, bench.setup.problem
    places = problem.seats(members)
    assert places is not None, "a load was made that the positions do not take"
    pressure = setup.vessels[members[0]].marked
    if bench.regulator is not None and pressure < bench.regulator:
        lower = (
            Move(turn=Turn.BLEED, part=Part.LINE),
            Move(turn=Turn.SET, part=Part.REGULATOR, at=pressure),
            Move(turn=Turn.WATCH, part=Part.GAUGE, at=pressure),
        )
        bench.note(PlanAct.LOWER, lower)
        bench.regulator = pressure
    bench.seats = {j: setup.positions[place] for j, place in zip(members, places, strict=True)}
    bench.loads.append(
        Load(
            number=len(bench.loads) + 1,
            fill_pressure=pressure,
            seats=tuple(
                Seat(
                    id=setup.vessels[j].id,
                    position=at.name,
                    gauge=setup.session.watched.get(at.name, ""),
                )
                for j, at in bench.seats.items()
            ),
            handling_minutes=problem.handling,
        )
    )
    moves: tuple[Move, ...] = ()
    if pressure != bench.regulator:
        moves = (Move(turn=Turn.SET, part=Part.REGULATOR, at=pressure),)
    bench.regulator = pressure
    for job, at in bench.seats.items():
        id_ = setup.vessels[job].id
        moves += (
            Move(turn=Turn.CRACK, part=Part.CYLINDER, name=id_),
            Move(turn=Turn.CONNECT, part=Part.CYLINDER, name=id_),
            *(
                (Move(turn=Turn.CLOSE, part=Part.BLEED, name=at.name),)
                if at.bleed is not False
                else ()
            ),
            Move(turn=Turn.OPEN, part=Part.CYLINDER, name=id_),
        )
    bench.note(PlanAct.CONNECT, moves)
    for world in bench.worlds:
        world.now += problem.handling


def _remove(bench: FillBench) -> None:
    moves: tuple[Move, ...] = ()
    for job, at in bench.seats.items():
        id_ = bench.setup.vessels[job].id
        bleed = (
            Move(turn=Turn.BLEED, part=Part.BLEED, name=at.name)
            if at.bleed is not False
            else Move(turn=Turn.BLEED, part=Part.LINE)
        )
        moves += (
            Move(turn=Turn.CLOSE, part=Part.CYLINDER, name=id_),
            bleed,
            Move(turn=Turn.REMOVE, part=Part.CYLINDER, name=id_),
        )
    bench.note(PlanAct.REMOVE, moves)
    bench.seats, bench.at_stop = {}, set()


# --- filling a load


def _fill_load(bench: FillBench, blocks: Sequence[Block]) -> None:
    """The lower banks one block after another, the last bank to all that are not full; where that
    does not do, the banks above it, and the compressor."""
    setup = bench.setup
    members = [j for block in blocks for j in block.jobs]
    wanted = {bank for block in blocks for bank in block.banks}
    lower = [bank for bank in by_density(bench.banks) if bank in wanted]
    final = lower.pop() if lower else None
    for bank in lower:
        _open_in_turn(bench, bank, [block.jobs for block in blocks if bank in block.banks])
    if final is not None:
        above = [bank for bank in by_density(bench.banks) if bench.banks[bank] > bench.banks[final]]
        for bank in (final, *above):
            last = bank == (final, *above)[-1] and not _compressed(bench, members)
            _open_together(bench, bank, members, last)
    called = _compressed(bench, members)
    if called and setup.session.compressor:
        _open_together(bench, None, called, last=True)


def _compressed(bench: FillBench, members: Sequence[int]) -> list[int]:
    """Those that are not full nor at their stop, and that the compressor can fill."""
    problem = bench.setup.problem
    short = (j for j in members if not has_come_full(bench, j) and j not in bench.at_stop)
    return [j for j in short if reaches(problem, j)]


def _open_in_turn(bench: FillBench, bank: int, blocks: Sequence[Sequence[int]]) -> None:
    """Open a bank to one block after another, each until it is level with it or at its stop."""
    label, held = bench.setup.banks[bank].label, bench.banks[bank]
    first: Move | None = Move(turn=Turn.OPEN, part=Part.BANK, name=label)
    changes: list[CylinderChange] = []
    moves: list[Move] = []
    turns = 0
    for jobs in blocks:
        rising = _rising(bench, bank, jobs)
        if not rising:
            continue
        before, stop = _as_it_is(bench, rising), _stop_of(bench, bank, rising)
        done = _charged(bench, bank, rising, stop)
        ends = Ends.STOP if _at_stop(done[0], stop) else Ends.LEVEL
        made, minutes = _take(bench, bank, rising, done, ends)
        more = _changes(bench, before, made, minutes, ends)
        moves += _opening(bench, rising, more, first)
        changes += more
        first, turns = None, turns + 1
    if changes:
        moves.append(Move(turn=Turn.CLOSE, part=Part.BANK, name=label))
        banked = held, bench.banks[bank]
        _note_flow(bench, PlanAct.OPEN, label, changes, moves, banked, in_turn=turns > 1)


def _open_together(
    bench: FillBench,
    bank: int | None,
    members: Sequence[int],
    last: bool,
    act: PlanAct = PlanAct.OPEN,
) -> None:
    """Open a source to all that are not full, and hold their gauges at the stop until they are.

    A bank that does not bring them to it is held open only where nothing can follow it.
    """
    setup = bench.setup
    jobs = [j for j in members if not has_come_full(bench, j) and j not in bench.at_stop]
    rising = sorted(jobs, key=bench.usual.kpa) if bank is None else _rising(bench, bank, jobs)
    if not rising:
        return
    before, stop = _as_it_is(bench, rising), _stop_of(bench, bank, rising)
    done = _charged(bench, bank, rising, stop)
    ends = Ends.STOP if _at_stop(done[0], stop) else Ends.LEVEL
    held, waits = bench.banks[bank] if bank is not None else 0.0, 0.0
    if (ends is Ends.STOP or last) and not setup.session.policy.most_top_offs:
        done, waits = _held(bench, rising, done, stop)
        ends = Ends.HELD if waits else ends
    made, minutes = _take(bench, bank, rising, done, ends)
    bench.at_stop.update(rising if ends is not Ends.LEVEL else ())
    changes = _changes(bench, before, made, minutes, ends)
    if bank is not None:
        label, part, banked = setup.banks[bank].label, Part.BANK, (held, bench.banks[bank])
    else:
        label = setup.session.compressor.label if setup.session.compressor else ""
        act, part, banked = PlanAct.COMPRESSOR, Part.COMPRESSOR, None
    moves = _opening(bench, rising, changes, Move(turn=Turn.OPEN, part=part, name=label))
    moves.append(Move(turn=Turn.CLOSE, part=part, name=label))
    _note_flow(bench, act, label, changes, moves, banked, waits=waits)


def _at_stop(done: Charged, stop: Opening) -> bool:
    """Whether the gauge came to its stop."""
    return done.kpa >= stop.to_kpa - AT_STOP_KPA or _fullest(done) >= stop.densest * (1 - 1e-6)


def _rising(bench: FillBench, bank: int, jobs: Sequence[int]) -> list[int]:
    """Those that a bank would lift by the least that it is opened for, the emptiest first."""
    world, gain = bench.usual, bench.setup.session.policy.minimum_gain.kpa
    found = [j for j in jobs if world.bank_kpa(bank) - world.kpa(j) > max(gain, AT_STOP_KPA)]
    return sorted(found, key=lambda j: (world.kpa(j), j))


def _stop_of(bench: FillBench, bank: int | None, jobs: Sequence[int]) -> Opening:
    """Where the gauge is stopped: at the mark, or where even the coolest gas would be all that the
    cylinder may hold."""
    setup = bench.setup
    target = min(setup.problem.jobs[j].target for j in jobs)
    rate = min((setup.vessels[j].fill_rate or setup.session.policy.fill_rate).si for j in jobs)
    opening = Opening(
        to_kpa=min(setup.vessels[j].marked.absolute().kpa for j in jobs),
        per_minute=rate * 60 / 1000,
        delivers=setup.problem.compressor if bank is None else float("inf"),
        densest=target,
    )
    coolest = bench.worlds[-1].charge(bank, jobs, opening)
    stop = min(opening.to_kpa, coolest.kpa) if _fullest(coolest) >= target * (1 - 1e-6) else None
    return Opening(
        stop or opening.to_kpa,
        opening.per_minute,
        opening.delivers,
        target if len(bench.worlds) == 1 else float("inf"),
    )


def _fullest(done: Charged) -> float:
    return max(state.rho for state in done.states)


def _charged(
    bench: FillBench, bank: int | None, jobs: Sequence[int], stop: Opening
) -> list[Charged]:
    return [world.charge(bank, jobs, stop) for world in bench.worlds]


def _held(
    bench: FillBench, jobs: Sequence[int], done: list[Charged], stop: Opening
) -> tuple[list[Charged], float]:
    """Hold the gauges until all are sure to be full, as long as none comes to hold too much."""
    minutes, number = 0.0, 0
    sure = min(1, len(done) - 1)
    while minutes < LONGEST_HOLD.minutes:
        if all(_is_full(bench, j, s.rho) for j, s in zip(jobs, done[sure].states, strict=True)):
            break
        part = HOLD_STEPS[min(number, len(HOLD_STEPS) - 1)]
        ahead = [
            world.hold(jobs, each, part, stop.delivers)
            for world, each in zip(bench.worlds, done, strict=True)
        ]
        target = bench.setup.problem.jobs[jobs[0]].target
        if _fullest(ahead[-1]) > target:
            break
        adds = max(
            (a.rho - b.rho) / target
            for a, b in zip(ahead[sure].states, done[sure].states, strict=True)
        )
        if adds < IDLE_RISE * part:
            break
        done, minutes, number = ahead, minutes + part, number + 1
    return done, minutes


def _take(
    bench: FillBench, bank: int | None, jobs: Sequence[int], done: list[Charged], ends: Ends
) -> tuple[dict[int, list[float]], float]:
    """Do what was tried in every world; the densities that the cylinders come to in each."""
    minutes = done[0].minutes
    for world, each in zip(bench.worlds, done, strict=True):
        world.take(bank, jobs, each, minutes)
    if ends is not Ends.LEVEL:
        bench.stopped.update(jobs)
    made = {job: [each.states[n].rho for each in done] for n, job in enumerate(jobs)}
    return made, minutes


# --- topping off those that may be connected again


def _top_off(bench: FillBench) -> None:
    """Connect again, load by load, those that have settled too far below, once they are cool."""
    problem = bench.setup.problem
    short = [j for j in bench.stopped if not has_come_full(bench, j)]
    short.sort(key=lambda j: (problem.jobs[j].group, bench.usual.states_at[j], j))
    for load in problem.loads([(j,) for j in short]):
        members = [short[n] for n in load]
        last = max(bench.usual.states_at[j] for j in members)
        _connect(bench, members)
        wait = bench.setup.session.policy.cooling.minutes - (bench.usual.now - last)
        if wait > 0:
            bench.note(PlanAct.WAIT, (), wait, Ends.TIME)
            for world in bench.worlds:
                world.now += wait
        for bank in by_density(bench.banks):
            if _serves(bench, bank, members):
                _open_together(bench, bank, members, False, PlanAct.TOP_OFF)
        called = _compressed(bench, members)
        if called and bench.setup.session.compressor:
            _open_together(bench, None, called, last=False)
        _remove(bench)


def _serves(bench: FillBench, bank: int, members: Sequence[int]) -> bool:
    """Whether a bank is still above the stop when it has topped off all of some cylinders."""
    problem, jobs = bench.setup.problem, [j for j in members if not has_come_full(bench, j)]
    need = sum(problem.jobs[j].volume * (problem.jobs[j].target - bench.holds[j]) for j in jobs)
    highest = max((problem.jobs[j].target for j in jobs), default=float("inf"))
    return bench.banks[bank] - need / problem.volumes[bank] > highest


def has_come_full(bench: FillBench, job: int) -> bool:
    """Whether a cylinder is sure to settle within the loss that the policy accepts."""
    return _is_full(bench, job, bench.sure.states[job].rho)


def was_stopped(bench: FillBench, job: int) -> bool:
    """Whether a cylinder has been brought to its stop, by a bank or the compressor."""
    return job in bench.stopped


def _is_full(bench: FillBench, job: int, rho: float) -> bool:
    """Whether gas of a density [mol/L] is a full cylinder."""
    setup = bench.setup
    loss = setup.session.policy.acceptable_loss.fraction
    table, kelvin = bench.usual.table, setup.session.ambient.kelvin
    atmosphere = STANDARD_ATMOSPHERE.kpa
    reads = table.at(rho).pressure(kelvin) - atmosphere
    return reads >= (setup.vessels[job].target.kpa) * (1 - loss)


# --- two cylinders opened to each other


def _equalize(bench: FillBench, pair: tuple[int, int]) -> None:
    """Let the fuller of two cylinders flow into the emptier, throttled to the fill rate."""
    setup, problem = bench.setup, bench.setup.problem
    empty, full = sorted(pair, key=lambda j: problem.jobs[j].start)
    level = equal_level(problem, pair)
    minutes = (level - bench.holds[empty]) / problem.jobs[empty].per_minute
    before = _as_it_is(bench, [empty])
    held = bench.holds[full], level
    kelvin = setup.session.ambient.kelvin
    for world in bench.worlds:
        world.now += minutes
        for job in pair:
            world.states[job], world.states_at[job] = Warm(level, kelvin, kelvin), world.now
    source, taker = setup.vessels[full].id, setup.vessels[empty].id
    ends = [(bench.seats[j].name, Part.POSITION) for j in (empty, full)]
    moves = [
        *(Move(turn=Turn.OPEN, part=part, name=name) for name, part in ends),
        Move(turn=Turn.WATCH, part=Part.GAUGE, name=taker),
        *(Move(turn=Turn.CLOSE, part=part, name=name) for name, part in ends),
    ]
    changes = _changes(bench, before, {empty: [level]}, minutes, Ends.LEVEL)
    _note_flow(bench, PlanAct.EQUALIZE, source, changes, moves, held)


# --- telling it

Before = dict[int, tuple[float, float]]
"""Of each cylinder what it held [mol/L] and what its gauge showed [kPa]."""


def _as_it_is(bench: FillBench, jobs: Sequence[int]) -> Before:
    return {j: (bench.holds[j], bench.usual.kpa(j)) for j in jobs}


def _changes(
    bench: FillBench,
    before: Before,
    made: dict[int, list[float]],
    minutes: float,
    ends: Ends,
) -> list[CylinderChange]:
    equation, found = bench.setup.equation, []
    for job, (had, showed) in before.items():
        vessel, state = bench.setup.vessels[job], bench.usual.states[job]
        readings = [equation.reading(rho) for rho in made[job]]
        hot = Hot(
            gas=Temperature.of(state.kelvin - 273.15, "degC"),
            settles=readings[0],
            low=min(readings, key=lambda r: r.pa),
            high=max(readings, key=lambda r: r.pa),
        )
        now = min(bench.usual.kpa(job), vessel.marked.absolute().kpa)
        found.append(
            CylinderChange(
                id=vessel.id,
                position=bench.seats[job].name,
                before=equation.reading(had),
                after=readings[0],
                reads=equation.gauge(showed),
                stop_at=equation.gauge(now),
                ends=ends,
                minutes=minutes,
                hot=hot if bench.setup.session.heat else None,
            )
        )
    return found


def _opening(
    bench: FillBench, jobs: Sequence[int], changes: Sequence[CylinderChange], source: Move | None
) -> list[Move]:
    """The moves for cylinders opened together: the emptiest and the source first, each other when
    the gauge has come to its reading, all shut in the end. One at a position without a valve is
    governed by the bank's."""
    valved = [c.position for c, j in zip(changes, jobs, strict=True) if _has_valve(bench, j)]
    first, level = changes[0], changes[0].reads
    moves: list[Move] = []
    for number, change in enumerate(changes):
        if change.reads.kpa - level.kpa > UNLIKE_KPA:
            level = change.reads
            moves.append(Move(turn=Turn.WATCH, part=Part.GAUGE, name=first.position, at=level))
        if change.position in valved:
            moves.append(Move(turn=Turn.OPEN, part=Part.POSITION, name=change.position))
        if source and level is first.reads and number + 1 == _alike(changes):
            moves.append(source)
    until = None if first.ends is Ends.LEVEL else first.stop_at
    moves.append(Move(turn=Turn.WATCH, part=Part.GAUGE, name=first.position, at=until))
    if first.ends is Ends.HELD:
        moves.append(Move(turn=Turn.HOLD, part=Part.GAUGE, name=first.position, at=until))
    moves += [Move(turn=Turn.CLOSE, part=Part.POSITION, name=name) for name in valved]
    return moves


def _alike(changes: Sequence[CylinderChange]) -> int:
    """How many of them read as good as the first, and are opened with it."""
    return sum(change.reads.kpa - changes[0].reads.kpa <= UNLIKE_KPA for change in changes)


def _has_valve(bench: FillBench, job: int) -> bool:
    return bench.seats[job].valve is not False


def _note_flow(
    bench: FillBench,
    act: PlanAct,
    source: str,
    changes: Sequence[CylinderChange],
    moves: Sequence[Move],
    banked: tuple[float, float] | None,
    *,
    in_turn: bool = False,
    waits: float = 0.0,
) -> None:
    """Note a step in which gas flows; `banked` is what the source held before and after."""
    reading = bench.setup.equation.reading
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
