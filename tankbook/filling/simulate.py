"""Carrying a plan out, move by move: what a hand turns, where it stops, and what comes of it.

The banks of each cylinder are those of the answer that was searched for, cold; what is read and
what settles follows the heat. The cylinders of a load are first opened one by one to the lower
banks, then together to the last, and their gauges are held at the stop until they are full.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.filling.choose import loads_of, reaches, shares_load
from tankbook.filling.figures import FILL_IS_WORTH, LONGEST_HOLD
from tankbook.filling.heat import Charged, GasSource, Opening, Warm, charge
from tankbook.filling.levels import (
    TINY,
    by_density,
    full_fills,
    ladder,
    most_fills,
    open_to,
    stored_above,
)
from tankbook.filling.nouns import PlanCompressor
from tankbook.filling.problem import Block, Solution
from tankbook.filling.results import (
    CylinderChange,
    Ends,
    HandMove,
    Hot,
    Load,
    PanelPart,
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

NEARLY = 0.999
"""What holds this part of what it may is shut."""

AS_GOOD = 1e-4
"""A density nearer than this part is reached."""

UNLIKE_KPA = 70.0
"""Gauges nearer than this, 10 psi, read the same."""

IDLE_RISE = 2e-4
"""A hold is given up where it adds less than this part of the target a minute."""


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
        _connect(bench, members, _final(bench, blocks))
        if pair and set(pair) <= set(members):
            _equalize(bench, pair)
        _fill_load(bench, blocks)
        _remove(bench)
    for _ in range(setup.session.policy.most_top_offs):
        _top_off(bench)
    if bench.loads:
        _stop_feeding(bench)
        bench.note(
            PlanAct.BACK_OFF,
            (
                HandMove(turn=Turn.BACK_OFF, part=PanelPart.REGULATOR),
                HandMove(turn=Turn.BLEED, part=PanelPart.LINE),
            ),
        )
    return bench


# --- connecting and removing


def _connect(bench: FillBench, members: Sequence[int], final: int | None = None) -> None:
    setup, problem = bench.setup, bench.setup.problem
    places = problem.seats(members)
    assert places is not None, "a load was made that the positions do not take"
    pressure = setup.vessels[members[0]].marked
    if bench.regulator is not None and pressure < bench.regulator:
        lower = [
            HandMove(turn=Turn.BLEED, part=PanelPart.LINE),
            HandMove(turn=Turn.SET, part=PanelPart.REGULATOR, at=pressure),
            *_read_back(bench, pressure),
        ]
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
    _feed(bench, final)
    moves: tuple[HandMove, ...] = ()
    if pressure != bench.regulator:
        moves = (HandMove(turn=Turn.SET, part=PanelPart.REGULATOR, at=pressure),)
    bench.regulator = pressure
    for job, at in bench.seats.items():
        id_ = setup.vessels[job].id
        moves += (
            HandMove(turn=Turn.CRACK, part=PanelPart.CYLINDER, name=id_),
            HandMove(turn=Turn.CONNECT, part=PanelPart.CYLINDER, name=id_),
            *(
                (HandMove(turn=Turn.CLOSE, part=PanelPart.BLEED, name=at.name),)
                if at.bleed is not False
                else ()
            ),
            HandMove(turn=Turn.OPEN, part=PanelPart.CYLINDER, name=id_),
        )
    bench.note(PlanAct.CONNECT, moves)
    bench.wait(problem.handling)


def _read_back(bench: FillBench, pressure: GaugePressure) -> list[HandMove]:
    """The regulator's gauge read with every position shut, on the emptiest bank above it."""
    above = [
        n for n in by_density(bench.banks) if bench.usual.bank_kpa(n) > pressure.absolute().kpa
    ]
    if not above or any(at.valve is False for at in bench.setup.positions):
        return []
    bank = bench.setup.banks[above[0]].label
    return [
        HandMove(turn=Turn.OPEN, part=PanelPart.BANK, name=bank),
        HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, at=pressure),
        HandMove(turn=Turn.CLOSE, part=PanelPart.BANK, name=bank),
    ]


def _remove(bench: FillBench) -> None:
    """Every cylinder valve is shut before anything is bled: a line is bled through the position."""
    ids = [bench.setup.vessels[job].id for job in bench.seats]
    bled = [at.name for at in bench.seats.values() if at.bleed is not False]
    through = [
        at.name for at in bench.seats.values() if at.bleed is False and at.valve is not False
    ]
    by_line = any(at.bleed is False for at in bench.seats.values())
    moves = [
        *(HandMove(turn=Turn.CLOSE, part=PanelPart.CYLINDER, name=id_) for id_ in ids),
        *(HandMove(turn=Turn.BLEED, part=PanelPart.BLEED, name=name) for name in bled),
        *(HandMove(turn=Turn.OPEN, part=PanelPart.POSITION, name=name) for name in through),
        *((HandMove(turn=Turn.BLEED, part=PanelPart.LINE),) if by_line else ()),
        *(HandMove(turn=Turn.CLOSE, part=PanelPart.POSITION, name=name) for name in through),
        *(HandMove(turn=Turn.REMOVE, part=PanelPart.CYLINDER, name=id_) for id_ in ids),
    ]
    bench.note(PlanAct.REMOVE, moves)
    bench.seats, bench.at_stop = {}, set()


# --- the compressor, that feeds a bank while others are filled from

FEED_MINUTES = 30.0
"""A load takes about so long: which bank is fed meanwhile is judged by what that brings."""


def _feed(bench: FillBench, final: int | None) -> None:
    """Feed the bank that adds most full fills; it is changed once a load at most. The bank that the
    load is finished from is not fed meanwhile, as its flow could not be seen to stop."""
    bank = _best_fed(bench, final)
    if bank is None:
        _stop_feeding(bench)
    if bank is None or bank == bench.feed.bank:
        return
    moves = [HandMove(turn=Turn.OPEN, part=PanelPart.FEED, name=bench.setup.banks[bank].label)]
    if bench.feed.bank is not None:
        before = bench.setup.banks[bench.feed.bank].label
        drain = HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)
        moves = [drain, HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=before), *moves]
        bench.feed.undrained = 0.0
    bench.feed.bank = bank
    bench.note(PlanAct.FEED, moves)


def _stop_feeding(bench: FillBench) -> None:
    if bench.feed.bank is not None:
        label = bench.setup.banks[bench.feed.bank].label
        bench.feed.bank = None
        bench.note(PlanAct.FEED, [HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=label)])


def _best_fed(bench: FillBench, final: int | None) -> int | None:
    """The bank in which what the compressor makes in a load is worth most; None where no bank takes
    it."""
    problem = bench.setup.problem
    amount = problem.compressor * FEED_MINUTES
    if not amount:
        return None
    worth: list[tuple[tuple[float, ...], int]] = []
    for bank, held in enumerate(bench.banks):
        room = max(0.0, problem.limits[bank] - held) * problem.volumes[bank]
        if bank == final or min(amount, room) < amount / 2:
            continue
        after = [*bench.banks]
        after[bank] += min(amount, room) / problem.volumes[bank]
        fills = full_fills(problem.volumes, after, problem.standard)
        bound = most_fills(problem.volumes, after, problem.standard)
        above = stored_above(problem.volumes, after, problem.highest_target)
        worth.append(((fills, round(bound, 6), round(above, 6)), bank))
    if not worth:
        return None
    best = max(worth, key=lambda each: (each[0], -each[1]))
    now = bench.feed.bank
    same = [value for value, bank in worth if bank == now]
    return now if now is not None and same and same[0] >= best[0] else best[1]


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


# --- filling a load


def _fill_load(bench: FillBench, blocks: Sequence[Block]) -> None:
    """The lower banks one block after another, the last bank to all that it is to fill; where that
    does not do, the banks above it. Then the compressor, for those that it is to fill: from the
    banks they get no more than the answer gives them."""
    problem, wanted = bench.setup.problem, {bank for block in blocks for bank in block.banks}
    order = [bank for bank in by_density(bench.banks) if bank in wanted]
    members = [j for block in blocks if problem.is_full(block) for j in block.jobs]
    final = _final(bench, blocks)
    for bank in order:
        if bank != final:
            _open_in_turn(bench, bank, _turns(bench, bank, final, blocks))
            continue
        above = [n for n in by_density(bench.banks) if bench.banks[n] > bench.banks[bank]]
        for each in (bank, *above):
            last = each == (bank, *above)[-1] and not _compressed(bench, members)
            _open_together(bench, each, members, last)
        called = [b.jobs for b in blocks if bank in b.banks and not problem.is_full(b)]
        _open_in_turn(bench, bank, called)
    everyone = [j for block in blocks for j in block.jobs]
    called_for = _compressed(bench, everyone)
    if called_for and bench.setup.session.compressor:
        _open_together(bench, None, called_for, last=True)


def _final(bench: FillBench, blocks: Sequence[Block]) -> int | None:
    """The bank that those of a load that the banks fill are finished from; None without any."""
    whole = [block for block in blocks if bench.setup.problem.is_full(block)]
    wanted = {bank for block in whole for bank in block.banks}
    return max(wanted, key=lambda bank: (bench.banks[bank], -bank), default=None)


def _turns(
    bench: FillBench, bank: int, final: int | None, blocks: Sequence[Block]
) -> list[tuple[int, ...]]:
    """The cylinders that a lower bank is opened to, one block after another where what that saves
    is worth the time, else together."""
    problem = bench.setup.problem
    turns = [block.jobs for block in blocks if bank in block.banks]
    jobs = tuple(j for each in turns for j in each)
    if len(turns) < 2 or final is None:
        return turns

    def after(parts: Sequence[Sequence[int]]) -> tuple[float, float]:
        """What the banks are then still good for, in full fills, and the minutes it takes."""
        banks, minutes = [*bench.banks], 0.0
        for part in parts:
            start = min(bench.holds[j] for j in part)
            rungs = ladder([(problem.jobs[j].volume, bench.holds[j]) for j in part])
            target = problem.jobs[part[0]].target
            args = problem.volumes[bank], banks[bank], rungs, start, target
            level, banks[bank] = open_to(*args)
            lacks = sum(
                problem.jobs[j].volume * (target - max(level, bench.holds[j])) for j in part
            )
            banks[final] -= lacks / problem.volumes[final]
            slowest = min(problem.jobs[j].per_minute for j in part)
            minutes += max(0.0, level - start) / slowest
        return most_fills(problem.volumes, banks, problem.standard), minutes

    (fills, minutes), (fewer, less) = after(turns), after([jobs])
    if (fills - fewer) * FILL_IS_WORTH.minutes > minutes - less:
        return turns
    return [jobs]


def _is_done(bench: FillBench, job: int) -> bool:
    """Whether a cylinder is at its stop, or was filled and is full. One that was as good as full
    before is filled all the same."""
    filled = bench.holds[job] > bench.setup.problem.jobs[job].start + TINY
    return job in bench.at_stop or (filled and has_come_full(bench, job))


def _compressed(bench: FillBench, members: Sequence[int]) -> list[int]:
    """Those that are not full nor at their stop, and that the compressor can fill: where there are
    banks to fill from first, only those that are above what its valve maintains."""
    problem, made = bench.setup.problem, bench.setup.session.compressor
    least = made.maintains.absolute().kpa if made and made.maintains and bench.banks else 0.0
    short = (j for j in members if not _is_done(bench, j))
    return [j for j in short if reaches(problem, j) and bench.usual.kpa(j) >= least]


def _open_in_turn(bench: FillBench, bank: int, blocks: Sequence[Sequence[int]]) -> None:
    """Open a bank to one block after another, each until it is level with it or at its stop."""
    label, held = bench.setup.banks[bank].label, bench.banks[bank]
    first: HandMove | None = HandMove(turn=Turn.OPEN, part=PanelPart.BANK, name=label)
    changes: list[CylinderChange] = []
    moves: list[HandMove] = []
    turns = 0
    for jobs in blocks:
        rising = _rising(bench, bank, jobs)
        if not rising:
            continue
        before = _as_it_is(bench, rising)
        done = _charged(bench, bank, rising, *_stop_of(bench, bank, rising))
        if not done.jobs:
            continue
        _take(bench, bank, done)
        bench.stopped.update(done.jobs if done.at_stop else ())
        ends = Ends.STOP if done.at_stop else Ends.LEVEL
        changes += _changes(bench, before, done.jobs, ends, done.usual.minutes)
        moves += _opening(bench, done, done.jobs, first)
        moves += [_watch(bench, done.jobs, ends), *_closing(bench, done.jobs)]
        first, turns = None, turns + 1
    if changes:
        moves.append(HandMove(turn=Turn.CLOSE, part=PanelPart.BANK, name=label))
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

    One that holds all it may is shut while the others go on. A bank that does not bring them to the
    stop is held open only where nothing can follow it.
    """
    left = [j for j in members if not _is_done(bench, j)]
    left = sorted(left, key=bench.usual.kpa) if bank is None else _rising(bench, bank, left)
    part = PanelPart.COMPRESSOR if bank is None else PanelPart.BANK
    if bank is not None:
        label, held = bench.setup.banks[bank].label, bench.banks[bank]
    else:
        label = bench.setup.session.compressor.label if bench.setup.session.compressor else ""
        act, held = PlanAct.COMPRESSOR, 0.0
    before, began = _as_it_is(bench, left), bench.usual.now
    source: HandMove | None = HandMove(turn=Turn.OPEN, part=part, name=label)
    opened: list[int] = []
    changes: list[CylinderChange] = []
    moves: list[HandMove] = []
    waits = 0.0
    while left:
        done = _brought(bench, bank, left, last)
        if not done.over:
            break
        _take(bench, bank, done)
        waits += done.waits
        if done.at_stop:
            bench.stopped.update(done.over)
        if done.at_stop or done.waits:
            bench.at_stop.update(done.over)
        moves += _opening(
            bench, done, [j for j in done.jobs if j not in opened], source, others=bool(opened)
        )
        opened += [j for j in done.jobs if j not in opened]
        source = None
        moves += [_watch(bench, done.jobs, done.ends, done.waits), *_closing(bench, done.over)]
        changes += _changes(bench, before, done.over, done.ends, bench.usual.now - began)
        left = [j for j in left if j not in done.over] if done.at_stop else []
    if changes:
        moves.append(HandMove(turn=Turn.CLOSE, part=part, name=label))
        banked = (held, bench.banks[bank]) if bank is not None else None
        changes.sort(key=lambda change: opened.index(bench.job(change.id)))
        _note_flow(bench, act, label, changes, moves, banked, waits=waits)


class Tried(Struct, frozen=True, kw_only=True):
    """What opening some cylinders together comes to in every world.

    `jobs` are those that the source reaches, `over` those of them that are to be shut now, `waits`
    for how many minutes the gauge was held.
    """

    jobs: list[int]
    worlds: list[Charged]
    at_stop: bool
    over: list[int]
    waits: float = 0.0

    @property
    def usual(self) -> Charged:
        """As it is expected to go."""
        return self.worlds[0]

    @property
    def coolest(self) -> Charged:
        """As most gas goes in."""
        return self.worlds[-1]

    @property
    def ends(self) -> Ends:
        """How the operator knows that it is over."""
        if self.waits:
            return Ends.HELD
        return Ends.STOP if self.at_stop else Ends.LEVEL


def _charged(
    bench: FillBench, bank: int | None, jobs: list[int], stop: Opening, coolest: Charged
) -> Tried:
    """Cylinders opened until they are at their stop, or level with the source. One that the source
    does not reach is left out."""
    done = [*(world.charge(bank, jobs, stop) for world in bench.worlds[:-1]), coolest]
    usual = done[0]
    reached = [j for j, at in zip(jobs, usual.joined, strict=False) if at < inf]
    if reached != jobs and usual.joined:
        done = [world.charge(bank, reached, stop) for world in bench.worlds] if reached else done
    elif not usual.joined:
        reached = jobs
    at_stop = _at_stop(done[0], stop)
    return Tried(jobs=reached, worlds=done, at_stop=at_stop, over=reached)


def _brought(bench: FillBench, bank: int | None, jobs: list[int], last: bool) -> Tried:
    """Cylinders brought to their stop, and held there."""
    stop, coolest = _stop_of(bench, bank, jobs)
    done = _charged(bench, bank, jobs, stop, coolest)
    if not done.jobs:
        return done
    full = _at_most(bench, done) if done.at_stop else []
    if full:
        return replace(done, over=full)
    if not (done.at_stop or last) or bench.setup.session.policy.most_top_offs:
        return done
    held = _held(bench, done, stop)
    return replace(held, over=_at_most(bench, held, NEARLY) or held.jobs)


def _at_most(bench: FillBench, done: Tried, part: float = 1 - AS_GOOD) -> list[int]:
    """Those that may come to hold all they may, in the coolest case, or a part of it."""
    target = min(bench.setup.problem.jobs[j].target for j in done.jobs)
    pairs = zip(done.jobs, done.coolest.states, strict=True)
    return [j for j, state in pairs if state.rho >= target * part]


def _at_stop(done: Charged, stop: Opening) -> bool:
    """Whether the gauge came to its stop."""
    return done.kpa >= stop.to_kpa - AT_STOP_KPA or _fullest(done) >= stop.densest * (1 - AS_GOOD)


def _rising(bench: FillBench, bank: int, jobs: Sequence[int]) -> list[int]:
    """Those that a bank would lift by the least that it is opened for, or to their mark, the
    emptiest first."""
    world, gain = bench.usual, bench.setup.session.policy.minimum_gain.kpa
    gives = world.bank_kpa(bank)

    def is_worth(job: int) -> bool:
        fills = gives >= bench.setup.vessels[job].marked.absolute().kpa
        return gives - world.kpa(job) > max(0.0 if fills else gain, AT_STOP_KPA)

    return sorted(filter(is_worth, jobs), key=lambda j: (world.kpa(j), j))


def _stop_of(bench: FillBench, bank: int | None, jobs: Sequence[int]) -> tuple[Opening, Charged]:
    """Where the gauge is stopped, and what the coolest case then comes to: at the mark, or where
    even the coolest gas would be all that the cylinder may hold."""
    setup = bench.setup
    target = min(setup.problem.jobs[j].target for j in jobs)
    rate = min((setup.vessels[j].fill_rate or setup.session.policy.fill_rate).si for j in jobs)
    opening = Opening(
        to_kpa=min(setup.vessels[j].marked.absolute().kpa for j in jobs),
        per_minute=rate * 60 / 1000,
        delivers=setup.problem.compressor if bank is None else inf,
        densest=target,
    )
    coolest = bench.worlds[-1].charge(bank, jobs, opening)
    stop = min(opening.to_kpa, coolest.kpa) if _at_stop(coolest, opening) else opening.to_kpa
    single = len(bench.worlds) == 1
    return replace(opening, to_kpa=stop, densest=target if single else inf), coolest


def _fullest(done: Charged) -> float:
    return max(state.rho for state in done.states)


def _held(bench: FillBench, done: Tried, stop: Opening) -> Tried:
    """Hold the gauges until all are sure to be full, as long as none comes to hold too much."""
    number, sure = 0, min(1, len(done.worlds) - 1)
    target = min(bench.setup.problem.jobs[j].target for j in done.jobs)
    while done.waits < LONGEST_HOLD.minutes:
        now = done.worlds[sure].states
        if all(_is_full(bench, j, s.rho) for j, s in zip(done.jobs, now, strict=True)):
            break
        part = HOLD_STEPS[min(number, len(HOLD_STEPS) - 1)]
        ahead = [
            world.hold(done.jobs, each, part, stop.delivers)
            for world, each in zip(bench.worlds, done.worlds, strict=True)
        ]
        if _fullest(ahead[-1]) > target:
            break
        then = ahead[sure].states
        adds = max((a.rho - b.rho) / target for a, b in zip(then, now, strict=True))
        if adds < IDLE_RISE * part:
            break
        done, number = replace(done, worlds=ahead, waits=done.waits + part), number + 1
    return done


def _take(bench: FillBench, bank: int | None, done: Tried) -> None:
    """Do what was tried in every world."""
    for world, each in zip(bench.worlds, done.worlds, strict=True):
        world.take(bank, done.jobs, each, done.usual.minutes)


# --- topping off those that may be connected again


def _top_off(bench: FillBench) -> None:
    """Connect again, load by load, those that have settled too far below, once they are cool."""
    problem = bench.setup.problem
    short = [j for j in bench.stopped if not has_come_full(bench, j)]
    short.sort(key=lambda j: (problem.jobs[j].group, bench.usual.states_at[j], j))
    for load in problem.loads([(j,) for j in short]):
        members = [short[n] for n in load]
        serving = [n for n in by_density(bench.banks) if _serves(bench, n, members)][:1]
        if not serving and not all(reaches(problem, j) for j in members):
            continue
        last = max(bench.usual.states_at[j] for j in members)
        _connect(bench, members, *serving)
        wait = bench.setup.session.policy.cooling.minutes - (bench.usual.now - last)
        if wait > 0:
            bench.note(PlanAct.WAIT, (), wait, Ends.TIME)
            bench.wait(wait)
        for bank in serving:
            _open_together(bench, bank, members, False, PlanAct.TOP_OFF)
        called = _compressed(bench, members)
        if called and bench.setup.session.compressor:
            _open_together(bench, None, called, last=False)
        _remove(bench)


def _serves(bench: FillBench, bank: int, members: Sequence[int]) -> bool:
    """Whether a bank is still above the stop when it has topped off all of some cylinders."""
    problem, jobs = bench.setup.problem, [j for j in members if not has_come_full(bench, j)]
    need = sum(problem.jobs[j].volume * (problem.jobs[j].target - bench.holds[j]) for j in jobs)
    highest = max((problem.jobs[j].target for j in jobs), default=inf)
    enough = bench.banks[bank] - need / problem.volumes[bank] > highest
    return enough and bool(_rising(bench, bank, jobs))


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
    before = _as_it_is(bench, [empty])
    full_held, minutes = bench.holds[full], 0.0
    rate = setup.vessels[empty].fill_rate or setup.session.policy.fill_rate
    opening = Opening(inf, rate.si * 60 / 1000)
    for world in bench.worlds:
        state, giver = world.state(full), world.vessels[full]
        donor = GasSource(state.rho, state.kelvin, giver.volume, giver.wall)
        done = charge([world.vessels[empty]], [world.state(empty)], donor, opening)
        minutes = minutes or done.minutes
        world.now += minutes
        given = Warm(done.source.rho, done.source.kelvin, giver.ambient)
        for job, after in ((empty, done.states[0]), (full, given)):
            world.states[job], world.states_at[job] = after, world.now
    held = full_held, bench.holds[full]
    source = setup.vessels[full].id
    ends = [(bench.seats[j].name, PanelPart.POSITION) for j in (empty, full)]
    moves = [
        *(HandMove(turn=Turn.OPEN, part=part, name=name) for name, part in ends),
        HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, name=bench.seats[empty].name),
        *(HandMove(turn=Turn.CLOSE, part=part, name=name) for name, part in ends),
    ]
    changes = _changes(bench, before, [empty], Ends.LEVEL, minutes)
    _note_flow(bench, PlanAct.EQUALIZE, source, changes, moves, held)


# --- telling it

Before = dict[int, tuple[float, float]]
"""Of each cylinder what it held [mol/L] and what its gauge showed [kPa]."""


def _as_it_is(bench: FillBench, jobs: Sequence[int]) -> Before:
    return {j: (bench.holds[j], bench.usual.kpa(j)) for j in jobs}


def _changes(
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
        readings = [equation.reading(state.rho), *(w.settled(job) for w in bench.worlds[1:])]
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
    bench: FillBench,
    done: Tried,
    jobs: Sequence[int],
    source: HandMove | None,
    *,
    others: bool = False,
) -> list[HandMove]:
    """The moves that open cylinders together: the emptiest and the source first, each other when
    the gauge has come to its reading, as the first has where `others` are open already. One at a
    position without a valve is governed by the bank's.
    """
    joined = dict(zip(done.jobs, done.usual.joined or [0.0] * len(done.jobs), strict=True))
    order = sorted(jobs, key=lambda j: joined[j])
    level = -inf if others or not order else joined[order[0]]
    moves: list[HandMove] = []
    for job in order:
        if joined[job] - level > UNLIKE_KPA:
            moves += [source] if source else []
            source, level = None, joined[job]
            reads, first = bench.setup.equation.gauge(level), bench.seats[done.jobs[0]].name
            moves.append(HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, name=first, at=reads))
        if _has_valve(bench, job):
            moves.append(
                HandMove(turn=Turn.OPEN, part=PanelPart.POSITION, name=bench.seats[job].name)
            )
    return [*moves, source] if source else moves


def _watch(bench: FillBench, jobs: Sequence[int], ends: Ends, waits: float = 0.0) -> HandMove:
    """Watch the gauge to its stop, or until the flow stops; held there for some minutes."""
    kpa = min(bench.usual.kpa(jobs[0]), bench.setup.vessels[jobs[0]].marked.absolute().kpa)
    at = None if ends is Ends.LEVEL else bench.setup.equation.gauge(kpa)
    name = bench.seats[jobs[0]].name
    return HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, name=name, at=at, minutes=waits)


def _closing(bench: FillBench, jobs: Sequence[int]) -> list[HandMove]:
    return [
        HandMove(turn=Turn.CLOSE, part=PanelPart.POSITION, name=bench.seats[j].name)
        for j in jobs
        if _has_valve(bench, j)
    ]


def _has_valve(bench: FillBench, job: int) -> bool:
    return bench.seats[job].valve is not False


def _note_flow(
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
