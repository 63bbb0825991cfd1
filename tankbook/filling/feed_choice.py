"""Choosing which bank the compressor feeds in each load of a session, and whether it is waited for.

An answer is carried out, the compressor idle; then, on the minutes and draws of that, the banks to
feed are chosen by what the session leaves in the end; and that is carried out, as often as it gets
better. Of all ways carried out the best is taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from math import inf
from typing import NamedTuple

from msgspec.structs import replace

from tankbook.filling.choose import choose, in_pressure_order
from tankbook.filling.feeding import stop_feeding
from tankbook.filling.fill_bench import (
    AN_INSTANT,
    FEED_STEP,
    Feed,
    Feeding,
    FeedSpan,
    FillBench,
    change_where_full,
    changed_over,
    has_come_full,
)
from tankbook.filling.levels import TINY, full_fills, most_fills, stored_above
from tankbook.filling.nouns import PlanCompressor
from tankbook.filling.problem import Banks, Favour, Problem, Score, Solution
from tankbook.filling.results import Ends, PlanAct
from tankbook.filling.setup import Setup
from tankbook.filling.simulate import simulate
from tankbook.filling.warmth import worlds

KEPT = 24
"""Ways of feeding that are followed from load to load."""

MOST_LOADS = 200
"""No session has more loads."""

MOST_STARTS = 2
"""Banks that are tried for being raised for those that the others leave unfilled."""

ROUNDS = 2
"""How often the choice is made anew on what the last one came to."""


NOTHING_DONE = Solution((), (), Score(0, 0, 0.0, 0.0, 0, 0.0))


def carried_out(
    setup: Setup,
    answer: Solution,
    favour: Favour,
    like: Feeding | None = None,
    *,
    band: bool = False,
) -> FillBench:
    """An answer carried out, the compressor used as is best; another answer where one that counts
    on what is fed comes out better. `like` is how it is used in a session like this: no other way
    is tried then. `band` is as of `simulate`."""
    made = setup.session.compressor
    if made is None or not setup.problem.volumes:
        return simulate(setup, answer, band=band)
    best = _best_way(setup, made, answer, favour, like)
    return simulate(setup, best.answer, best.feeding, band=True) if band else best


def _best_way(
    setup: Setup, made: PlanCompressor, answer: Solution, favour: Favour, like: Feeding | None
) -> FillBench:
    problem, idle = setup.problem, simulate(setup, answer)
    if not idle.loads:
        return idle
    starts = [like] if like and like.banks else _starts(problem, idle)
    ways = [idle, *(simulate(setup, answer, start) for start in starts)]
    best = _better(favour, *ways)
    best = _better(favour, best, *_chosen_upon(setup, made, best, [w.feeding for w in ways]))
    if like or not best.feeding.banks:
        return best
    again = in_pressure_order(*_as_if_fed(problem, best, favour), favour)
    if again.blocks == best.answer.blocks:
        return best
    start = replace(best.feeding, banks=best.feeding.banks[:1] * MOST_LOADS)
    other = simulate(setup, again, start)
    return _better(favour, best, other, *_chosen_upon(setup, made, other, [start]))


def _as_if_fed(problem: Problem, bench: FillBench, favour: Favour) -> tuple[Problem, Solution]:
    """The problem with what the compressor fed in a session held by the banks from the first, and
    the answer to it."""
    labels = [bank.label for bank in bench.setup.banks]
    held = [*problem.densities]
    for step in bench.steps:
        for fed in step.fed:
            bank = labels.index(fed.bank)
            held[bank] += fed.mol / problem.volumes[bank]
    after = replace(problem, densities=tuple(held))
    return after, choose(after, favour)


def _better(favour: Favour, *benches: FillBench) -> FillBench:
    """The best of some, as they were carried out; of equals the first."""
    return max(benches, key=lambda bench: _worth(bench, favour))


def _chosen_upon(
    setup: Setup, made: PlanCompressor, bench: FillBench, done: Sequence[Feeding]
) -> list[FillBench]:
    """What is chosen on the minutes of a session, carried out, and again on those of that."""
    tried, found = [*done], []
    for _ in range(ROUNDS):
        feeding = Feeding(_chosen(setup.problem, made, bench.spans), bench.feeding.waited)
        if feeding in tried:
            break
        bench = simulate(setup, bench.answer, feeding)
        tried.append(feeding)
        found.append(bench)
    return found


def _starts(problem: Problem, idle: FillBench) -> list[Feeding]:
    """Ways to begin with beside an idle compressor where that leaves some unfilled or fills them
    directly: the banks that take least to be raised above them."""
    short = [j for j in range(len(problem.jobs)) if not has_come_full(idle, j)]
    if not short and not any(each.busy for each in idle.spans):
        return []
    most = max((problem.jobs[j].target for j in short), default=0.0)
    able = [bank for bank, limit in enumerate(problem.limits) if limit > most]
    lacks = {b: problem.volumes[b] * max(0.0, most - problem.densities[b]) for b in able}
    able.sort(key=lambda bank: (lacks[bank], -problem.volumes[bank]))
    return [Feeding(((bank,),) * MOST_LOADS, waited=True) for bank in able[:MOST_STARTS]]


def _worth(bench: FillBench, favour: Favour) -> tuple[float, ...]:
    """How good a session is as it was carried out: those it fills, then what it leaves, in full
    fills. What the compressor would have made in the minutes that it takes is not to its credit."""
    problem = bench.setup.problem
    full = sum(has_come_full(bench, j) for j in range(len(problem.jobs)))
    minutes = sum(each.minutes for each in bench.spans)
    fills = full_fills(problem.volumes, bench.banks, problem.standard)
    bound = most_fills(problem.volumes, bench.banks, problem.standard)
    one = problem.standard.volume * (problem.standard.target - problem.standard.start)
    made = bench.setup.session.compressor
    ran = Feed.of(made).runs(made, minutes) if made else 0.0
    left = fills - ran * problem.compressor / one, bound
    return (full, -minutes, *left) if favour is Favour.TIME else (full, *left, -minutes)


class _Way(NamedTuple):
    """A way of feeding, up to some load: the banks as they then are, and the compressor."""

    banks: Banks
    feed: Feed
    fed: tuple[tuple[int, ...], ...] = ()
    changes: int = 0


def _chosen(
    problem: Problem, made: PlanCompressor, spans: Sequence[FeedSpan]
) -> tuple[tuple[int, ...], ...]:
    """The banks to feed in each load; one to follow another where that comes full."""
    loads = [[each for each in spans if each.load == load] for load in range(1, spans[-1].load + 1)]
    drawn = [
        sum(each.drawn for each in spans if each.bank == b) for b in range(len(problem.limits))
    ]
    takes = [
        bank
        for bank, limit in enumerate(problem.limits)
        if limit > problem.densities[bank] - drawn[bank] / problem.volumes[bank] + TINY
    ]
    ways = [_Way(problem.densities, Feed.of(made))]
    for number, load in enumerate(loads):
        found: list[_Way] = []
        for way in ways:
            for first in takes:
                alone = _through(problem, made, way, (first,), load)
                found.append(alone)
                if alone.banks[first] >= problem.limits[first] - TINY:
                    pairs = ((first, then) for then in takes if then != first)
                    found += (_through(problem, made, way, pair, load) for pair in pairs)
        found = [way for way in found if way.changes <= len(loads)]
        if not found:
            return ()
        later = [each for after in loads[number + 1 :] for each in after]
        ways = _kept(found, [_leaves(problem, made, way, takes, later) for way in found])
    return ways[0].fed


def _leaves(
    problem: Problem,
    made: PlanCompressor,
    way: _Way,
    takes: Sequence[int],
    later: Sequence[FeedSpan],
) -> tuple[float, ...]:
    """What a session leaves that goes on as it is: the bank that is fed, then each fullest one."""
    last = way.fed[-1][-1]
    others = sorted((b for b in takes if b != last), key=lambda b: -way.banks[b])
    banks = _through(problem, made, way, (last, *others), later).banks
    fills = full_fills(problem.volumes, banks, problem.standard)
    bound = most_fills(problem.volumes, banks, problem.standard)
    above = stored_above(problem.volumes, banks, problem.highest_target)
    return fills, round(bound, 3), round(above, 3), -way.changes


def _kept(found: Sequence[_Way], worth: Sequence[tuple[float, ...]]) -> list[_Way]:
    """The most promising, the best first."""
    kept: dict[int, None] = {}
    for first in (0, 1, 2):
        order = sorted(range(len(found)), key=lambda n: (-worth[n][first], *(-w for w in worth[n])))
        kept.update(dict.fromkeys(order[: KEPT // 3]))
    return [found[n] for n in kept]


def _through(
    problem: Problem,
    made: PlanCompressor,
    way: _Way,
    feeds: tuple[int, ...],
    load: Sequence[FeedSpan],
) -> _Way:
    """A way with a bank fed through one more load, and another once that is full."""
    banks, feed, then = [*way.banks], copy(way.feed), [*feeds]
    bank = then.pop(0)
    for each in load:
        if each.bank is not None:
            banks[each.bank] -= each.drawn / problem.volumes[each.bank]
        if each.busy:
            feed.runs(made, each.minutes)
            continue
        if each.shut and each.bank == bank:
            feed.runs(made, each.minutes, 0.0)
            continue
        minutes = each.minutes
        while minutes > AN_INSTANT:
            room = max(0.0, problem.limits[bank] - banks[bank]) * problem.volumes[bank]
            lasts = feed.minutes_for(made, room / problem.compressor) if then else inf
            part = min(minutes, lasts)
            ran = feed.runs(made, part, room / problem.compressor)
            banks[bank] += ran * problem.compressor / problem.volumes[bank]
            minutes -= part
            if minutes > AN_INSTANT:
                bank = then.pop(0)
    fed = feeds[: len(feeds) - len(then)]
    changes = len(fed) - 1 + (bool(way.fed) and way.fed[-1][-1] != fed[0])
    return _Way(tuple(banks), feed, (*way.fed, fed), way.changes + changes)


def fed_between(setup: Setup, minutes: float) -> FillBench:
    """The station while it is waited for the next cylinders: the compressor feeds what leaves most,
    one bank after another, and is stopped."""
    made, problem = setup.session.compressor, setup.problem
    bench = FillBench(setup, NOTHING_DONE, worlds(setup), feed=Feed.of(made))
    banks: tuple[int, ...] = ()
    if made is not None and problem.volumes:
        banks = next(iter(_chosen(problem, made, [FeedSpan(1, minutes)])), ())
    if banks:
        bench.note(PlanAct.FEED, changed_over(bench, banks[0]))
        bench.feed.then = banks[1:]
    while minutes > AN_INSTANT:
        change_where_full(bench)
        part = minutes
        if made is not None and bench.feed.then:
            part = _until_full(bench, minutes)
        if part > AN_INSTANT:
            bench.note_while(PlanAct.NEXT, (), part, part, Ends.TIME)
        minutes -= part
    stop_feeding(bench)
    return bench


def _until_full(bench: FillBench, minutes: float) -> float:
    """After how many of the next minutes the bank that is fed is full: warm as it is of being fed
    its gauge comes to the most sooner, and is then held there while it cools."""
    trial, passed = bench.tried(), 0.0
    while minutes - passed > AN_INSTANT and not trial.is_fed_full():
        part = min(minutes - passed, FEED_STEP)
        trial.note_while(PlanAct.NEXT, (), part, part, Ends.TIME)
        passed += part
    return passed
