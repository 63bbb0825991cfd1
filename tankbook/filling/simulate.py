"""Carrying a plan out, move by move: what a hand turns, where it stops, and what comes of it.

The banks of each cylinder are those of the answer that was searched for, cold; what is read and
what settles follows the heat. The cylinders of a load are first opened one by one to the lower
banks, then together to the last, and their gauges are held at the stop until they are full.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import inf
from typing import NamedTuple

from msgspec.structs import replace

from tankbook.filling.choose import loads_of, reaches, shares_load
from tankbook.filling.connecting import begin_load, connect, remove
from tankbook.filling.feeding import stop_feeding
from tankbook.filling.figures import (
    COOLS_BETWEEN,
    FILL_IS_WORTH,
    LEAST_STEP,
    LONG_WAIT,
    LONGEST_HOLD,
    MOST_RAISED,
    RAISED_MORE,
    SHORT_OPEN,
    SHORT_RUN,
    SHORTEST_OPEN,
    SHORTEST_WAIT,
    WORTH_OPENING,
)
from tankbook.filling.fill_bench import (
    AN_INSTANT,
    UNFED,
    Feed,
    Feeding,
    FillBench,
    as_it_is,
    changes_of,
    has_come_full,
    has_room,
    is_full,
    note_flow,
    shut_off,
)
from tankbook.filling.heat import GasSource, Opening, Warm, charge
from tankbook.filling.levels import TINY, by_density, ladder, most_fills, open_to
from tankbook.filling.nouns import PlanCompressor
from tankbook.filling.opening import (
    Tried,
    brought,
    charged,
    closing_moves,
    highest,
    opening_moves,
    stop_of,
    take,
    that_rise,
    watch_move,
)
from tankbook.filling.problem import Block, Solution
from tankbook.filling.results import CylinderChange, Ends, HandMove, PanelPart, PlanAct, Turn
from tankbook.filling.setup import Setup
from tankbook.filling.warmth import worlds
from tankbook.units import GAUGE_STEP


def simulate(
    setup: Setup, answer: Solution, feeding: Feeding = UNFED, *, band: bool = False
) -> FillBench:
    """Carry an answer out: its loads and steps, and what the station then holds. Without `band` the
    cases that decide nothing, and only tell how far readings may be out, are left out."""
    loads = loads_of(setup.problem, answer)
    pair = answer.equalized
    apart = pair if pair and not shares_load(setup.problem, answer, pair) else None
    does = feeding.waited, feeding.cooled, feeding.ahead, feeding.later, feeding.briefly
    how = pair, apart, does, band
    keys = [_beginning(feeding, loads[:n], n + bool(apart), how) for n in range(len(loads) + 1)]
    done = max((n for n, key in enumerate(keys) if key in setup.begun), default=-1)
    if done < 0:
        feed, done = Feed.of(setup.session.compressor), 0
        again = setup.session.policy.most_top_offs
        cases = worlds(setup, band=band)
        bench = FillBench(setup, answer, cases, feed=feed, feeding=feeding, again=again)
        if apart:
            _equalized_apart(bench, apart)
    else:
        begun = setup.begun[keys[done]]
        assert isinstance(begun, FillBench)
        bench = replace(begun.as_it_stands(), answer=answer, feeding=feeding)
    for number, blocks in enumerate(loads[done:], start=done + 1):
        _work_load(bench, blocks, None if apart else pair)
        setup.begun[keys[number]] = bench.as_it_stands()
    while bench.again:
        bench.again -= 1
        _top_off(bench)
    if bench.loads:
        stop_feeding(bench)
        bench.note(
            PlanAct.BACK_OFF,
            (
                HandMove(turn=Turn.BACK_OFF, part=PanelPart.REGULATOR),
                HandMove(turn=Turn.BLEED, part=PanelPart.LINE),
            ),
        )
    return bench


def _beginning(
    feeding: Feeding, loads: Sequence[Sequence[Block]], count: int, how: tuple[object, ...]
) -> tuple[object, ...]:
    """What is done in some first loads, `count` with one for equalizing alone: what is done alike
    comes out alike."""
    banks = tuple(feeding.in_load(n + 1) for n in range(count))
    return tuple(map(tuple, loads)), banks, how


def _equalized_apart(bench: FillBench, pair: tuple[int, int]) -> None:
    """Equalize a pair that shares no load, in one of its own."""
    begin_load(bench, pair)
    connect(bench, pair)
    _equalize(bench, pair)
    remove(bench)


def _work_load(bench: FillBench, blocks: Sequence[Block], pair: tuple[int, int] | None) -> None:
    """One load, from what comes before it is connected until it is removed; a pair that shares it
    is equalized first."""
    members = [j for block in blocks for j in block.jobs]
    begin_load(bench, members)
    _raise_first(bench, blocks)
    connect(bench, members)
    if pair and set(pair) <= set(members):
        _equalize(bench, pair)
        _fill_load(bench, blocks)
    else:
        _not_for_nothing(bench, partial(_fill_load, bench, blocks))
    remove(bench)


def _not_for_nothing(bench: FillBench, fill: Callable[[], None]) -> None:
    """Fill what is connected; where nothing flows in that, again with banks opened for moments too:
    a load that was carried to its positions and connected is worth a moment."""
    began, feeding = len(bench.steps), bench.feeding
    fill()
    if not any(step.changes for step in bench.steps[began:]):
        bench.feeding = replace(feeding, briefly=True)
        fill()
        bench.feeding = feeding


def _fill_load(bench: FillBench, blocks: Sequence[Block]) -> None:
    """The lower banks one block after another, the last bank to all that it is to fill; where that
    does not do, the banks above it. Then the compressor, for those that it is to fill: from the
    banks they get no more than the answer gives them."""
    problem, wanted = bench.setup.problem, {bank for block in blocks for bank in block.banks}
    order = [bank for bank in by_density(bench.banks) if bank in wanted]
    members = [j for block in blocks if problem.is_full(block) for j in block.jobs]
    final = _final(bench, blocks)
    for bank in order:
        if bank != final and not _finishes(bench, bank, blocks):
            _open_in_turn(bench, bank, _turns(bench, bank, final, blocks))
            continue
        if bank != final:
            its = [j for b in blocks if bank in b.banks and problem.is_full(b) for j in b.jobs]
            _open_together(bench, bank, its, last=False)
            continue
        _from_lower_again(bench, members, final)
        above = [n for n in _others(bench, bank) if bench.banks[n] >= bench.banks[bank]]
        for each in (bank, *above):
            last = each == (bank, *above)[-1] and not _compressed(bench, members)
            last = last and not bench.feeding.waited
            _goes_on_from(bench, each, members, last)
            _open_together(bench, each, members, last)
        called = [b.jobs for b in blocks if bank in b.banks and not problem.is_full(b)]
        _open_in_turn(bench, bank, called)
    everyone = [j for block in blocks for j in block.jobs]
    if bench.setup.session.compressor:
        _from_raised(bench, everyone)
        _from_compressor(bench, everyone, last=True)


def _goes_on_from(bench: FillBench, bank: int, members: Sequence[int], last: bool) -> None:
    """Let those that a bank came to hold no more at their stop, before they were sure to be full,
    be held there from the next one, where that makes one of them so."""
    held = [j for j in members if j in bench.at_stop and not has_come_full(bench, j)]
    if not held or bench.again:
        return
    trial = bench.tried()
    trial.at_stop.difference_update(held)
    _open_together(trial, bank, members, last)
    if any(has_come_full(trial, j) for j in held):
        bench.at_stop.difference_update(held)


def _raise_first(bench: FillBench, blocks: Sequence[Block]) -> None:
    """Where a load is to wait for the compressor to raise a bank, and it is said so, have it raised
    before anything is connected: nobody stands at open cylinders for that. What is still lacking
    when the lower banks have given is waited for then."""
    if not bench.feeding.ahead or bench.feed.bank is None:
        return
    ahead = bench.tried()
    connect(ahead, [j for block in blocks for j in block.jobs])
    _fill_load(ahead, blocks)
    raised = (s.minutes for s in ahead.steps[len(bench.steps) :] if s.act is PlanAct.RAISE)
    minutes = next(raised, 0.0)
    if minutes >= LONG_WAIT.minutes:
        bench.note_while(PlanAct.RAISE, (), minutes, minutes, Ends.TIME)


def _from_lower_again(bench: FillBench, members: Sequence[int], final: int) -> None:
    """Where it is said so, let cylinders cool while the compressor feeds the banks below the last
    one, and open those to them again, as long as that adds something."""
    if not bench.feeding.cooled or bench.setup.session.policy.most_top_offs:
        return
    problem, cooled = bench.setup.problem, 0.0
    while cooled < LONGEST_HOLD.minutes:
        below = [n for n in by_density(bench.banks) if bench.banks[n] < bench.banks[final]]
        fed = bench.feed.bank
        short = [j for j in members if not _is_done(bench, j)]
        if fed not in below or not short:
            return
        bench.note_while(PlanAct.WAIT, (), COOLS_BETWEEN.minutes, COOLS_BETWEEN.minutes, Ends.TIME)
        cooled += COOLS_BETWEEN.minutes
        before = bench.banks[fed]
        _open_in_turn(bench, fed, [short])
        gave = (before - bench.banks[fed]) * problem.volumes[fed]
        if gave / problem.standard.need < COOLS_BETWEEN.minutes / FILL_IS_WORTH.minutes:
            return


def _from_compressor(bench: FillBench, members: Sequence[int], last: bool) -> None:
    """Fill from the compressor directly those that the banks do not fill, in as many goes as it
    must rest between. Where it has a bank to feed, it does so while they cool, and none is held."""
    cools = COOLS_BETWEEN.minutes
    feeds = last and not bench.setup.session.policy.most_top_offs and has_room(bench, cools)
    cooled = 0.0
    while True:
        while called := _compressed(bench, members):
            _rest_first(bench)
            if not _open_together(bench, None, called, last and not feeds):
                break
        short = [j for j in members if j in bench.at_stop and _takes_more(bench, j)]
        if not feeds or not short or cooled >= LONGEST_HOLD.minutes:
            return
        bench.note_while(PlanAct.WAIT, (), cools, cools, Ends.TIME)
        cooled += cools
        bench.at_stop.difference_update(short)
        if all(bench.usual.kpa(j) >= highest(bench, None, j) for j in short):
            return


def _takes_more(bench: FillBench, job: int) -> bool:
    """Whether a cylinder is not full, and may hold more than it has even where that is most: so
    much more that a gauge shows it."""
    setup = bench.setup
    seen = GAUGE_STEP[setup.session.unit].kpa / setup.vessels[job].target.kpa
    most = setup.problem.jobs[job].target * (1 - seen)
    return not has_come_full(bench, job) and bench.worlds.keeps.states[job].rho < most


def _rest_first(bench: FillBench) -> None:
    """Wait for the compressor where it must rest, or could run for a moment only."""
    made, feed = bench.setup.session.compressor, bench.feed
    assert made is not None
    if feed.rests <= 0 and feed.may_run(made) < SHORT_RUN.fraction * feed.longest(made):
        feed.ran, feed.rests = 0.0, made.rest_minutes
    if feed.rests > 0:
        stop, feed.off_at = shut_off(bench, inf), -inf
        waits = max(feed.rests, SHORTEST_WAIT.minutes)
        bench.note_while(PlanAct.REST, (), waits, waits, Ends.TIME, first=stop)


def _from_raised(bench: FillBench, members: Sequence[int]) -> None:
    """Where it is said to be waited for, let the compressor raise the bank that it feeds until that
    fills those that are still short, and fill them from it."""
    problem, made, bank = bench.setup.problem, bench.setup.session.compressor, bench.feed.bank
    if not bench.feeding.waited or made is None or bank is None:
        return
    more = 1.0
    for _ in range(MOST_RAISED):
        short = [j for j in members if not _is_done(bench, j)]
        if not short or problem.limits[bank] <= max(problem.jobs[j].target for j in short):
            return
        lower = _brings_to_stop(bench, bank, short)
        if lower is not None:
            _open_together(bench, lower, short, last=True)
            continue
        raised = _raised_for(bench, made, bank, short, more)
        if raised.minutes > AN_INSTANT:
            waits = max(raised.minutes, SHORTEST_WAIT.minutes)
            bench.note_while(PlanAct.RAISE, (), waits, waits, Ends.TIME)
            raised = raised._replace(highest=raised.highest or not bench.steps[-1].fed)
        rising, more = that_rise(bench, bank, short), raised.more
        comes = bool(rising) and brought(bench, bank, rising, last=False).at_stop
        if comes or raised.highest:
            held = bench.holds
            _open_together(bench, bank, short, last=comes)
            if held == bench.holds:
                return


def _brings_to_stop(bench: FillBench, bank: int, short: Sequence[int]) -> int | None:
    """The emptiest bank no higher than one that is raised that brings all that are short to their
    stop as it is; None where there is none."""
    below = [n for n in _others(bench, bank) if bench.banks[n] <= bench.banks[bank]]
    highest = max(bench.setup.vessels[j].marked.absolute().kpa for j in short)
    for each in below:
        rising = that_rise(bench, each, short)
        if len(rising) == len(short) and bench.usual.bank_kpa(each) > highest:
            return each if brought(bench, each, rising, last=False).at_stop else None
    return None


class _Raised(NamedTuple):
    """How long a bank is raised for some cylinders, by how much `more` it is to be if that does not
    do, and whether it is then as high as may be."""

    minutes: float
    more: float
    highest: bool


def _raised_for(
    bench: FillBench, made: PlanCompressor, bank: int, short: Sequence[int], more: float
) -> _Raised:
    """How long it is waited at a stretch until a bank fills some cylinders."""
    problem, trial, passed = bench.setup.problem, bench.tried(), 0.0
    need = sum(problem.jobs[j].volume * (problem.jobs[j].target - bench.holds[j]) for j in short)
    mark = max((bench.setup.vessels[j].marked for j in short), key=lambda p: p.pa)
    least = bench.setup.equation.density(mark) + need / problem.volumes[bank]
    while True:
        wanted = min(more * least, problem.limits[bank])
        lacks = (wanted - trial.banks[bank]) * problem.volumes[bank] / problem.compressor
        minutes = trial.feed.minutes_for(made, max(0.0, lacks))
        if minutes > AN_INSTANT:
            trial.note_while(PlanAct.RAISE, (), minutes, minutes, Ends.TIME)
        passed, more = passed + minutes, more * RAISED_MORE
        highest, rising = wanted >= problem.limits[bank] - TINY, that_rise(trial, bank, short)
        if highest or (rising and brought(trial, bank, rising, last=False).at_stop):
            return _Raised(passed, more, highest)


def _final(bench: FillBench, blocks: Sequence[Block]) -> int | None:
    """The bank that those of a load that the banks fill are finished from; None without any."""
    whole = [block for block in blocks if bench.setup.problem.is_full(block)]
    wanted = {bank for block in whole for bank in block.banks}
    return next((n for n in reversed(by_density(bench.banks)) if n in wanted), None)


def _others(bench: FillBench, bank: int) -> list[int]:
    """The other banks from the emptiest to the fullest: one that stands level with `bank` is above
    it as soon as that gives, so that who asks for those above counts it."""
    return [n for n in by_density(bench.banks) if n != bank]


def _finishes(bench: FillBench, bank: int, blocks: Sequence[Block]) -> bool:
    """Whether a lower bank fills all of its cylinders by itself, as it was fed since the answer was
    found: then they are held at their stop on it, and no fuller bank is opened for that."""
    problem = bench.setup.problem
    mine = [block for block in blocks if bank in block.banks]
    if not mine or not all(map(problem.is_full, mine)):
        return False
    jobs = [problem.jobs[j] for block in mine for j in block.jobs]
    holds = [bench.holds[j] for block in mine for j in block.jobs]
    need = sum(job.volume * (job.target - has) for job, has in zip(jobs, holds, strict=True))
    left = bench.banks[bank] - need / problem.volumes[bank]
    return left > max(job.target for job in jobs)


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
    """Whether a cylinder is at its stop, or full."""
    return job in bench.at_stop or has_come_full(bench, job)


def _compressed(bench: FillBench, members: Sequence[int]) -> list[int]:
    """Those that are not full nor at their stop, and that the compressor can fill, being no higher
    than it makes: where there are banks to fill from first, only those that are above what its
    valve maintains."""
    problem, made = bench.setup.problem, bench.setup.session.compressor
    least = made.maintains.absolute().kpa if made and made.maintains and bench.banks else 0.0
    short = (j for j in members if not _is_done(bench, j) and reaches(problem, j))
    most = made.max_pressure.absolute().kpa if made else inf
    return [j for j in short if least <= bench.usual.kpa(j) <= most]


def _below_mark(bench: FillBench, job: int) -> bool:
    """Whether a gauge stands so far below the mark that it can be seen to rise to it: nothing is
    held at its stop on a lower bank that is opened in turn."""
    mark = bench.setup.vessels[job].marked.absolute().kpa
    return mark - bench.usual.kpa(job) >= LEAST_STEP[bench.setup.session.unit].kpa


def _open_in_turn(bench: FillBench, bank: int, blocks: Sequence[Sequence[int]]) -> None:
    """Open a bank to one block after another, each until it is level with it or at its stop."""
    label, held = bench.setup.banks[bank].label, bench.banks[bank]
    first: HandMove | None = HandMove(turn=Turn.OPEN, part=PanelPart.BANK, name=label)
    changes: list[CylinderChange] = []
    moves: list[HandMove] = []
    turns = 0
    for jobs in blocks:
        rising = [j for j in that_rise(bench, bank, jobs) if _below_mark(bench, j)]
        if not rising:
            continue
        before = as_it_is(bench, rising)
        done = charged(bench, bank, rising, *stop_of(bench, bank, rising))
        if not done.jobs or _is_nothing(bench, bank, done):
            continue
        take(bench, bank, done)
        bench.stopped.update(done.jobs if done.at_stop else ())
        minutes = done.usual.minutes
        changes += changes_of(bench, before, done.jobs, done.ends, minutes, done.at_most)
        moves += opening_moves(bench, done, done.jobs, first)
        moves += [watch_move(bench, done), *closing_moves(bench, done.jobs)]
        first, turns = None, turns + 1
    if changes:
        moves.append(HandMove(turn=Turn.CLOSE, part=PanelPart.BANK, name=label))
        banked = held, bench.banks[bank]
        note_flow(bench, PlanAct.OPEN, label, changes, moves, banked, in_turn=turns > 1)


def _open_together(
    bench: FillBench,
    bank: int | None,
    members: Sequence[int],
    last: bool,
    act: PlanAct = PlanAct.OPEN,
) -> bool:
    """Open a source to all that are not full, and hold their gauges at the stop until they are.

    One that holds all it may is shut while the others go on. A bank that does not bring them to the
    stop is held open only where nothing can follow it. Whether the compressor must rest before it
    goes on.
    """
    left = [j for j in members if not _is_done(bench, j)]
    left = sorted(left, key=bench.usual.kpa) if bank is None else that_rise(bench, bank, left)
    part = PanelPart.COMPRESSOR if bank is None else PanelPart.BANK
    made, paused, seen = bench.setup.session.compressor, False, True
    if bank is not None:
        label, held = bench.setup.banks[bank].label, bench.banks[bank]
    else:
        label = made.label if made else ""
        act, held = PlanAct.COMPRESSOR, 0.0
    before, began = as_it_is(bench, left), bench.usual.now
    source: HandMove | None = HandMove(turn=Turn.OPEN, part=part, name=label)
    opened: list[int] = []
    changes: list[CylinderChange] = []
    moves: list[HandMove] = []
    waits, likely = 0.0, None
    while left:
        runs = bench.feed.may_run(made) - (bench.usual.now - began) if made else inf
        joins = {j: 0.0 if j in opened else before[j][1] for j in left} if opened else {}
        done = brought(bench, bank, left, last, runs if bank is None else inf, joins)
        if not done.over or (not opened and _is_nothing(bench, bank, done)):
            break
        take(bench, bank, done)
        paused, seen = done.paused, seen and done.at_stop
        likely = None if done.likely is None else waits + done.likely
        waits += done.waits
        if done.at_stop and not paused:
            bench.stopped.update(done.over)
        if (done.at_stop or done.waits) and not paused:
            bench.at_stop.update(done.over)
        moves += opening_moves(
            bench, done, [j for j in done.jobs if j not in opened], source, others=bool(opened)
        )
        opened += [j for j in done.jobs if j not in opened]
        source = None
        moves += [watch_move(bench, done), *closing_moves(bench, done.over)]
        minutes = bench.usual.now - began
        changes += changes_of(bench, before, done.over, done.ends, minutes, done.at_most)
        left = [j for j in left if j not in done.over] if done.at_stop and not paused else []
    if changes:
        moves.append(HandMove(turn=Turn.CLOSE, part=part, name=label))
        banked = (held, bench.banks[bank]) if bank is not None else None
        changes.sort(key=lambda change: opened.index(bench.job(change.id)))
        tells = likely if waits >= LONG_WAIT.minutes else None
        note_flow(bench, act, label, changes, moves, banked, waits=waits, likely=tells, seen=seen)
    return paused


def _is_nothing(bench: FillBench, bank: int | None, done: Tried) -> bool:
    """Whether a bank opened adds no more than is seen on a gauge, or not for as long as a hand
    takes, and makes none full."""
    minutes = done.usual.minutes + done.waits
    table, kelvin = bench.usual.table, bench.setup.session.ambient.kelvin
    pairs = [
        (j, u.rho, s.rho)
        for j, u, s in zip(done.jobs, done.usual.states, done.worlds.sure.states, strict=True)
    ]
    adds = max(
        table.at(now).pressure(kelvin) - table.at(bench.holds[j]).pressure(kelvin)
        for j, now, _ in pairs
    )
    seen = adds >= GAUGE_STEP[bench.setup.session.unit].kpa
    little = WORTH_OPENING.fraction * max(bench.setup.vessels[j].target.kpa for j in done.jobs)
    brief = minutes < SHORT_OPEN.minutes and adds < little and not bench.feeding.briefly
    if bank is None or (seen and not brief and minutes >= SHORTEST_OPEN.minutes):
        return False
    nothing = not any(is_full(bench, j, now, sure) for j, now, sure in pairs)
    if nothing and seen and minutes >= SHORTEST_OPEN.minutes:
        bench.passed_over.add(len(bench.loads))
    return nothing


def _top_off(bench: FillBench) -> None:
    """Connect again, load by load, those that have settled too far below, or were not brought to
    their stop, once they are cool: those that then stand so far below their mark that it can be
    read. They cool before they are connected, and are not connected where nothing would then be
    opened to them."""
    problem = bench.setup.problem
    known = {seat.id for load in bench.loads for seat in load.seats}
    were = [j for j, vessel in enumerate(bench.setup.vessels) if vessel.id in known]
    short = [j for j in were if not has_come_full(bench, j)]
    short.sort(key=lambda j: (problem.jobs[j].group, bench.usual.states_at[j], j))
    for load in problem.loads([(j,) for j in short]):
        members = [short[n] for n in load]
        wait = _cooling(bench, members)
        ahead = bench.tried()
        ahead.note_while(PlanAct.WAIT, (), wait + problem.handling, 0.0)
        members = [j for j in members if _below_mark(ahead, j)]
        serving = _serving(ahead, members)
        if not members or (not serving and not all(reaches(problem, j) for j in members)):
            continue
        trial = bench.tried()
        _connected_again(trial, members, wait, serving)
        if any(step.changes for step in trial.steps if step.load == len(trial.loads)):
            _connected_again(bench, members, wait, serving)


def _connected_again(
    bench: FillBench, members: Sequence[int], wait: float, serving: Sequence[int]
) -> None:
    """A load of cylinders that were connected before, once they have cooled for some minutes."""
    begin_load(bench, members)
    if wait:
        bench.note_while(PlanAct.WAIT, (), wait, wait, Ends.TIME)
    connect(bench, members)
    _topped_off(bench, members, serving)
    remove(bench)


def _topped_off(bench: FillBench, members: Sequence[int], serving: Sequence[int]) -> None:
    """Top off a load that is connected, from some banks and then the compressor."""
    for bank in serving:
        last = bank == serving[-1] and not _compressed(bench, members)
        _open_together(bench, bank, members, last, PlanAct.TOP_OFF)
    if bench.setup.session.compressor:
        _from_compressor(bench, members, last=False)


def _cooling(bench: FillBench, members: Sequence[int]) -> float:
    """The minutes that cylinders are still to cool before they are connected again."""
    last = max(bench.usual.states_at[j] for j in members)
    gone = bench.usual.now - last + bench.setup.problem.handling
    wait = bench.setup.session.policy.cooling.minutes - gone
    return max(wait, SHORTEST_WAIT.minutes) if wait > AN_INSTANT else 0.0


def _serving(bench: FillBench, members: Sequence[int]) -> list[int]:
    """The banks that some cylinders are topped off from as they stand: the emptiest that fills them
    all by itself; else all that lift one of them, from the emptiest."""
    short = [j for j in members if not has_come_full(bench, j)]
    lifts = [n for n in by_density(bench.banks) if that_rise(bench, n, short)]
    alone = [n for n in lifts if _serves(bench, n, short)]
    return alone[:1] or lifts


def _serves(bench: FillBench, bank: int, jobs: Sequence[int]) -> bool:
    """Whether a bank is still above the stop when it has topped off all of some cylinders."""
    problem = bench.setup.problem
    need = sum(problem.jobs[j].volume * (problem.jobs[j].target - bench.holds[j]) for j in jobs)
    highest = max((problem.jobs[j].target for j in jobs), default=inf)
    return bench.banks[bank] - need / problem.volumes[bank] > highest


def _equalize(bench: FillBench, pair: tuple[int, int]) -> None:
    """Let the fuller of two cylinders flow into the emptier, throttled to the fill rate."""
    setup, problem = bench.setup, bench.setup.problem
    empty, full = sorted(pair, key=lambda j: problem.jobs[j].start)
    before = as_it_is(bench, [empty])
    full_held, minutes = bench.holds[full], 0.0
    opening = Opening(inf)
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
    changes = changes_of(bench, before, [empty], Ends.LEVEL, minutes)
    note_flow(bench, PlanAct.EQUALIZE, source, changes, moves, held)
