"""Choosing which bank the compressor feeds in each load of a session, and whether it is waited for.

An answer is carried out, the compressor idle; then, on the minutes and draws of that, the banks to
feed are chosen by what the session leaves in the end; and that is carried out, as often as it gets
better. Of all ways carried out the best is taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from itertools import chain, groupby
from math import inf
from typing import NamedTuple

from msgspec.structs import replace

from tankbook.filling.choose import choose, in_pressure_order
from tankbook.filling.feeding import stop_feeding
from tankbook.filling.figures import (
    CHANGE_IS_WORTH,
    COOLS_BETWEEN,
    FILL_IS_WORTH,
    STEP_IS_WORTH,
)
from tankbook.filling.fill_bench import (
    AN_INSTANT,
    FEED_STEP,
    UNFED,
    Feed,
    Feeding,
    FeedSpan,
    FillBench,
    change_where_full,
    changed_over,
    comes_within,
    has_come_full,
)
from tankbook.filling.levels import TINY, full_fills, most_fills, stored_above
from tankbook.filling.nouns import PlanCompressor
from tankbook.filling.problem import Banks, Block, Favour, Problem, Score, Solution
from tankbook.filling.results import Ends, PlanAct, unattended
from tankbook.filling.setup import Setup
from tankbook.filling.simulate import simulate
from tankbook.filling.warmth import worlds

KEPT = 24
"""Ways of feeding that are followed from load to load."""

MOST_LOADS = 200
"""No session has more loads."""

MOST_STARTS = 2
"""Banks that are tried for being raised for those that the others leave unfilled."""

MOST_OTHERS = 2
"""Answers that count on what is fed that are carried out."""

WORK = 80
"""Loads that are carried out, at most, to see what one thing done otherwise comes to."""

PART_OF_FILL = 0.25
"""So much a fill counts for that the banks could be good for at most, beside those that they are
good for as a hand fills."""

CHANGE = CHANGE_IS_WORTH.minutes / FILL_IS_WORTH.minutes
"""The part of a full fill that a changing over has to be worth."""

ROUNDS = 2
"""How often the choice is made anew on what the last one came to."""


NOTHING_DONE = Solution((), (), Score(0, 0, 0.0, 0.0, 0, 0.0))


def carried_out(setup: Setup, answer: Solution, favour: Favour, *, band: bool = False) -> FillBench:
    """An answer carried out, the compressor used as is best; another answer where one that counts
    on what is fed comes out better. `band` is as of `simulate`, where there is no compressor to
    choose for. Where that leaves some unfilled, banks are opened for moments too if that fills
    more."""
    made = setup.session.compressor
    if made is None or not setup.problem.volumes:
        best = simulate(setup, answer, band=band)
    else:
        best = _best_way(setup, made, answer, favour)
    full = all(has_come_full(best, j) for j in range(len(setup.problem.jobs)))
    if full or not best.passed_over:
        return best
    brief = simulate(setup, best.answer, replace(best.feeding, briefly=True), band=band)
    return brief if filled(brief) > filled(best) else best


def soonest(setup: Setup, answer: Solution, first: FillBench) -> list[FillBench]:
    """All that is looked at for the answer that is done soonest, the soonest first: it is carried
    out with the compressor idle, used as in `first`, a session like this, and as is best on the
    minutes of these, not waited for; then with one thing of the soonest of these done otherwise."""
    made, feeding = setup.session.compressor, replace(first.feeding, ahead=False)
    ways = [simulate(setup, answer)]
    if made is None or not setup.problem.volumes or not ways[0].loads:
        return ways
    tried = [UNFED]
    for like in dict.fromkeys((feeding, replace(feeding, waited=False, cooled=False))):
        if like not in tried:
            tried.append(like)
            ways.append(simulate(setup, answer, like))
    best = better(Favour.TIME, *ways)
    ways += _chosen_upon(setup, made, best, tried, 1, later=best.feeding.later)
    best = better(Favour.TIME, best, *ways)
    best, *others = _one_thing_otherwise(setup, best, Favour.TIME, WORK // 4)
    best = _none_waiting(setup, _taken_up_later(setup, best, Favour.TIME))
    return [best, *ways, *others]


def bettered(setup: Setup, best: FillBench, favour: Favour) -> FillBench:
    """The best that comes of a session that was looked at for the other thing to favour."""
    return _improved(setup, best, favour, WORK // 2)


def _best_way(setup: Setup, made: PlanCompressor, answer: Solution, favour: Favour) -> FillBench:
    idle = simulate(setup, answer)
    if not idle.loads:
        return idle
    found = _searched(setup, made, idle, favour, later=False)
    ways = found[:1]
    if _left_as_full(found) and not _is_enough(setup.problem, found[0]):
        ways += _searched(setup, made, idle, favour, later=True)[:1]
    return better(favour, *(_improved(setup, w, favour, WORK) for w in ways))


def _searched(
    setup: Setup, made: PlanCompressor, idle: FillBench, favour: Favour, *, later: bool
) -> list[FillBench]:
    """What is looked at before one thing after another is done otherwise, the best first; `later`
    as of `Feeding`."""
    problem, answer = setup.problem, idle.answer
    starts = [replace(start, later=later) for start in _starts(problem, idle)]
    ways = [idle, *(simulate(setup, answer, start) for start in starts)]
    best = better(favour, *ways)
    fed = [way.feeding for way in ways]
    ways += _chosen_upon(setup, made, best, fed, ROUNDS, later=later)
    best = better(favour, best, *ways)
    if not best.feeding.banks:
        return [best, *ways]
    others = _cooled(best), _sparing(problem, idle), _as_if_fed(problem, made, idle, favour)
    for other, way in chain(*others):
        if _is_enough(problem, best):
            break
        feeding = replace(way, later=later)
        bench = simulate(setup, other, feeding)
        upon = _chosen_upon(setup, made, bench, [feeding], ROUNDS, later=later)
        ways += [bench, *upon]
        best = better(favour, best, bench, *upon)
    return [best, *ways]


def _left_as_full(ways: Sequence[FillBench]) -> bool:
    """Whether in some load of them no bank is fed for being full as that begins."""
    return any(way.feed.refused and not way.feeding.later for way in ways)


def _improved(setup: Setup, best: FillBench, favour: Favour, work: int) -> FillBench:
    """What is chosen, with one thing after another done otherwise as long as that is better."""
    if not best.feeding.banks:
        return best
    best, *_ = _one_thing_otherwise(setup, best, favour, work)
    best = _taken_up_later(setup, _no_change_for_nothing(setup, best, favour), favour)
    return _none_waiting(setup, best)


def _taken_up_later(setup: Setup, best: FillBench, favour: Favour) -> FillBench:
    """The same with banks that are full as a load begins fed once they take more, where that is
    better."""
    if not _left_as_full([best]):
        return best
    return better(favour, best, simulate(setup, best.answer, replace(best.feeding, later=True)))


def _none_waiting(setup: Setup, best: FillBench) -> FillBench:
    """The same with banks raised before cylinders are connected, where it is waited for that, no
    fewer are filled so, no fewer fills left, none is later ready, and it takes longer by no more
    than a hand is spared."""
    if not best.feeding.waited or all(step.act is not PlanAct.RAISE for step in best.steps):
        return best
    found = simulate(setup, best.answer, replace(best.feeding, ahead=True))
    longer = minutes_of(found) - minutes_of(best)
    spared = unattended(found.steps) - unattended(best.steps) - longer
    worth = spared > AN_INSTANT and longer <= spared and _late(found) <= _late(best)
    as_much = _fills_left(found) >= _fills_left(best) and filled(found) >= filled(best)
    return found if worth and as_much else best


def _late(bench: FillBench) -> float:
    """The minutes by which a session ends after all is to be ready."""
    ready = bench.setup.session.ready_in
    return max(0.0, minutes_of(bench) - ready.minutes) if ready else 0.0


def _fills_left(bench: FillBench) -> int:
    return full_fills(bench.setup.problem.volumes, bench.banks, bench.setup.problem.standard)


def filled(bench: FillBench) -> tuple[int, int]:
    """How many are filled, and how many are expected to be."""
    jobs = range(len(bench.setup.problem.jobs))
    full = sum(has_come_full(bench, j) for j in jobs)
    return full, sum(comes_within(bench, j) for j in jobs)


def _one_thing_otherwise(
    setup: Setup, best: FillBench, favour: Favour, work: int
) -> list[FillBench]:
    """The best that comes of doing one thing of it otherwise, and of that again, as far as the work
    allows; then the others that were looked at."""
    tried, others = {(best.answer.blocks, best.feeding)}, list[FillBench]()
    while True:
        for answer, feeding in _otherwise(setup, best):
            if (answer.blocks, feeding) in tried:
                continue
            if work <= 0 or _is_enough(setup.problem, best):
                return [best, *others]
            tried.add((answer.blocks, feeding))
            bench = simulate(setup, answer, feeding)
            work -= len(bench.loads) or 1
            if better(favour, best, bench) is bench:
                others.append(best)
                best = bench
                break
            others.append(bench)
        else:
            return [best, *others]


def _otherwise(setup: Setup, best: FillBench) -> Iterator[_Other]:
    """What differs in one thing from what was carried out: first the feeding that promises more on
    the minutes of that, then what is waited for and what is left alone, then any other feeding."""
    problem, answer, feeding = setup.problem, best.answer, best.feeding
    ways = dict.fromkeys(_fed_otherwise(problem, best))
    promised = {way: _promised(setup, best, way) for way in ways}
    order = sorted(promised, key=lambda way: -promised[way])
    own = _promised(setup, best, feeding.banks)
    yield _whole(problem, answer), feeding
    yield from ((answer, replace(feeding, banks=way)) for way in order if promised[way] > own)
    waited = replace(feeding, waited=True)
    yield _whole(problem, answer), waited
    yield answer, replace(feeding, waited=not feeding.waited)
    yield answer, replace(feeding, cooled=not feeding.cooled)
    for bank in sorted({b for block in answer.blocks for b in block.banks}):
        yield _without(answer, bank), waited
    nothing = tuple(block._replace(banks=()) for block in answer.blocks)
    yield answer._replace(blocks=nothing), waited
    yield from ((answer, replace(feeding, banks=way)) for way in order)


def _fed_otherwise(problem: Problem, best: FillBench) -> Iterator[tuple[tuple[int, ...], ...]]:
    """The banks to feed in each load where one thing of it is done otherwise: a bank that is fed
    once the one before is full, always or in one load, and one fed in place of another."""
    fed = [best.feeding.in_load(n) for n in range(1, len(best.loads) + 1)]
    numbers = range(len(problem.limits))
    for bank in (b for b in numbers if problem.limits[b] > best.banks[b] + TINY):
        then = [each if bank in each else (*each, bank) for each in fed]
        yield tuple(then)
        for n, each in reversed(list(enumerate(then))):
            yield (*fed[:n], each, *fed[n + 1 :])
    flat = [(n, b) for n, each in enumerate(fed) for b in each]
    runs = [list(run) for _, run in groupby(flat, key=lambda each: each[1])]
    for run in sorted(runs, key=len, reverse=True):
        within, was = {n for n, _ in run}, run[0][1]
        for bank in (b for b in numbers if b != was):
            yield tuple(
                tuple(dict.fromkeys(bank if n in within and b == was else b for b in each))
                for n, each in enumerate(fed)
            )


def _promised(setup: Setup, bench: FillBench, banks: tuple[tuple[int, ...], ...]) -> float:
    """What banks fed so would leave on the minutes and draws of a session, less what changing over
    is worth."""
    problem, made = setup.problem, setup.session.compressor
    assert made is not None, "there is no compressor to feed with"
    way = _Way(problem.densities, Feed.of(made))
    for number, fed in enumerate(banks[: len(bench.loads)], start=1):
        load = [each for each in bench.spans if each.load == number]
        way = _through(problem, made, way, fed, load) if fed else way
    if way.changes > len(bench.loads):
        return -inf
    fills = full_fills(problem.volumes, way.banks, problem.standard)
    bound = most_fills(problem.volumes, way.banks, problem.standard)
    return _weighed(fills, bound, way.changes)


def _whole(problem: Problem, answer: Solution) -> Solution:
    """An answer by which each cylinder that is opened to a bank is filled."""
    blocks = tuple(
        block._replace(level=problem.jobs[block.jobs[0]].target) if block.banks else block
        for block in answer.blocks
    )
    return answer._replace(blocks=blocks)


def _no_change_for_nothing(setup: Setup, best: FillBench, favour: Favour) -> FillBench:
    """The same without each changing over that leaves no more than it is worth: the bank before or
    after is fed in its place."""
    while best.feed.changes:
        ways = [replace(best.feeding, banks=banks) for banks in _with_one_less(best)]
        others = (simulate(setup, best.answer, way) for way in ways)
        fewer = (each for each in others if each.feed.changes < best.feed.changes)
        found = better(favour, best, *fewer)
        if found is best:
            break
        best = found
    return best


def _with_one_less(bench: FillBench) -> list[tuple[tuple[int, ...], ...]]:
    """The banks to feed in each load where one of them, for as long as it is fed at a stretch,
    gives way to the one before or after it."""
    fed = [(n, b) for n in range(1, len(bench.loads) + 1) for b in bench.feeding.in_load(n)]
    runs = [list(run) for _, run in groupby(fed, key=lambda each: each[1])]
    found: dict[tuple[tuple[int, ...], ...], None] = {}
    for number, run in enumerate(runs):
        for beside in (*runs[max(0, number - 1) : number], *runs[number + 1 : number + 2]):
            instead = [(load, beside[0][1]) for load, _ in run]
            flat = chain(*runs[:number], instead, *runs[number + 1 :])
            loads = groupby(flat, key=lambda each: each[0])
            found[tuple(tuple(dict.fromkeys(b for _, b in load)) for _, load in loads)] = None
    return list(found)


_Other = tuple[Solution, Feeding]
"""An answer to carry out, and how the compressor is used in it."""


def _is_enough(problem: Problem, bench: FillBench) -> bool:
    """Whether all is filled and as much is left as where each bank holds all that it may."""
    tops = [max(pair) for pair in zip(problem.densities, problem.limits, strict=True)]
    most = full_fills(problem.volumes, tops, problem.standard)
    left = full_fills(problem.volumes, bench.banks, problem.standard)
    return left >= most and all(has_come_full(bench, j) for j in range(len(problem.jobs)))


def _cooled(best: FillBench) -> Iterator[_Other]:
    """The same, but with cylinders that are held for long filled from the lower banks again."""
    if max((step.held for step in best.steps), default=0.0) > 2 * COOLS_BETWEEN.minutes:
        yield best.answer, replace(best.feeding, cooled=True)


def _without(answer: Solution, bank: int, instead: tuple[int, ...] = ()) -> Solution:
    """An answer that leaves a bank alone."""
    blocks = tuple(
        block._replace(banks=tuple(b for b in block.banks if b != bank) or instead)
        for block in answer.blocks
    )
    return answer._replace(blocks=blocks)


def _sparing(problem: Problem, idle: FillBench) -> Iterator[_Other]:
    """Answers that leave the fullest bank alone: the compressor raises another for them instead."""
    used = {bank for block in idle.answer.blocks for bank in block.banks}
    top = max(used, key=lambda bank: (problem.densities[bank], bank), default=None)
    if top is None:
        return
    for bank in _able(problem, problem.highest_target)[:MOST_STARTS]:
        answer = _without(idle.answer, top, (bank,))
        yield answer, _fed_always(problem, bank, waited=True)


def _as_if_fed(
    problem: Problem, made: PlanCompressor, idle: FillBench, favour: Favour
) -> Iterator[_Other]:
    """Answers to the problem with all that the compressor makes held by a bank from the first;
    those that promise most. Where it can be waited for, the bank is opened when it is raised."""
    gas = Feed.of(made).runs(made, minutes_of(idle)) * problem.compressor
    found: dict[tuple[Block, ...], tuple[Solution, int]] = {}
    for bank, limit in enumerate(problem.limits):
        room = problem.volumes[bank] * max(0.0, limit - problem.densities[bank])
        if room <= 0:
            continue
        held = [*problem.densities]
        held[bank] += min(gas, room) / problem.volumes[bank]
        after = replace(problem, densities=tuple(held))
        answer = in_pressure_order(after, choose(after, favour), favour)
        known = found.get(answer.blocks)
        if known is None or answer.score.key(favour) < known[0].score.key(favour):
            found[answer.blocks] = answer, bank
    order = sorted(found.values(), key=lambda each: each[0].score.key(favour))
    for answer, bank in order[:MOST_OTHERS]:
        if answer.blocks != idle.answer.blocks:
            yield answer, _fed_always(problem, bank, waited=False)
        if problem.limits[bank] > problem.highest_target:
            yield _without(answer, bank), _fed_always(problem, bank, waited=True)


def _fed_always(problem: Problem, bank: int, *, waited: bool) -> Feeding:
    """A bank fed in each load, and once it is full the fullest other that takes more."""
    limits = enumerate(problem.limits)
    takes = [b for b, limit in limits if b != bank and limit > problem.densities[b] + TINY]
    then = sorted(takes, key=lambda b: (-problem.densities[b], b))[:1]
    return Feeding(((bank, *then),) * MOST_LOADS, waited=waited)


def _able(problem: Problem, most: float) -> list[int]:
    """The banks that the compressor can raise above some density, those that take least first."""
    able = [bank for bank, limit in enumerate(problem.limits) if limit > most]
    lacks = {b: problem.volumes[b] * max(0.0, most - problem.densities[b]) for b in able}
    return sorted(able, key=lambda bank: (lacks[bank], -problem.volumes[bank]))


def better(favour: Favour, *benches: FillBench) -> FillBench:
    """The best of some, as they were carried out; of equals the first. Where there is another, it
    is none in which the compressor is changed over more often than there are loads."""
    best, *others = [b for b in benches if b.feed.changes <= len(b.loads)] or benches
    for other in others:
        until = max(minutes_of(best), minutes_of(other))
        if _worth(other, favour, until) > _worth(best, favour, until):
            best = other
    return best


def _chosen_upon(
    setup: Setup,
    made: PlanCompressor,
    bench: FillBench,
    done: Sequence[Feeding],
    rounds: int,
    *,
    later: bool = False,
) -> list[FillBench]:
    """What is chosen on the minutes of a session, carried out, and again on those of that; `later`
    as of `Feeding`."""
    tried, found = [*done], []
    for _ in range(rounds):
        chosen = _chosen(setup.problem, made, bench.spans)
        feeding = replace(bench.feeding, banks=chosen, later=later)
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
    return [_fed_always(problem, bank, waited=True) for bank in _able(problem, most)[:MOST_STARTS]]


def minutes_of(bench: FillBench) -> float:
    """How long a session takes, from the first connecting to the last removing."""
    return sum(s.minutes for s in bench.steps) + bench.setup.problem.handling * len(bench.loads)


def _worth(bench: FillBench, favour: Favour, until: float) -> tuple[float, ...]:
    """How good a session is as it was carried out: those it fills, those that it is expected to
    bring within the loss, how late, what it leaves in full fills, less what its minutes, its steps
    and the changings over are worth. Sessions of unlike length are compared at the end of the
    longer: `until` then the compressor goes on feeding, and is not changed over any more."""
    problem, minutes = bench.setup.problem, minutes_of(bench)
    full, within = filled(bench)
    banks: Sequence[float] = bench.banks
    made = bench.setup.session.compressor
    if made and banks and until > minutes + AN_INSTANT:
        fullest = max(range(len(banks)), key=lambda b: (banks[b] < problem.limits[b], banks[b]))
        fed = bench.feeding.in_load(len(bench.loads))[-1:] or (fullest,)
        way = _Way(tuple(banks), copy(bench.feed))
        banks = _through(problem, made, way, fed, [FeedSpan(1, until - minutes)]).banks
    fills = full_fills(problem.volumes, banks, problem.standard)
    bound = round(most_fills(problem.volumes, banks, problem.standard), 3)
    late = _late(bench)
    part = PART_OF_FILL * bound - CHANGE * bench.feed.changes
    takes = minutes + STEP_IS_WORTH.minutes * len(bench.steps)
    if favour is Favour.TIME:
        return full, within, -late, -minutes, fills, part, -takes
    return full, within, -late, fills + part - takes / FILL_IS_WORTH.minutes, bound, -takes


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
    return _weighed(fills, bound, way.changes), round(bound, 3), round(above, 3), fills


def _weighed(fills: int, bound: float, changes: int) -> float:
    """What full fills and the most that there could be are worth, in fills, less what so many
    changings over are."""
    return round(fills + PART_OF_FILL * bound - CHANGE * changes, 3)


def _kept(found: Sequence[_Way], worth: Sequence[tuple[float, ...]]) -> list[_Way]:
    """The most promising, the best first."""
    kept: dict[int, None] = {}
    for first, _ in enumerate(worth[0]):
        order = sorted(range(len(found)), key=lambda n: (-worth[n][first], *(-w for w in worth[n])))
        kept.update(dict.fromkeys(order[: KEPT // len(worth[0])]))
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
    while minutes - passed > AN_INSTANT and not (trial.feed.full or trial.is_fed_full()):
        part = min(minutes - passed, FEED_STEP)
        trial.note_while(PlanAct.NEXT, (), part, part, Ends.TIME)
        passed += part
    return passed
