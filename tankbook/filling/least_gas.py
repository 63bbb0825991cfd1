"""The search for the sequence of fills that is kindest to the banks.

Cylinders are filled one after another, each from some of the banks in rising order, in every order
where they are few and in likely ones where they are many; see `grow`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import islice, permutations

from tankbook.filling.cascade_search import KEPT_OF_ORDER, Grown, grow_order, grow_sets
from tankbook.filling.levels import TINY, most_fills, stored_above
from tankbook.filling.problem import (
    Banks,
    Favour,
    Problem,
    Score,
    Solution,
    effort_of,
    fewest_loads,
    score,
)

SMALL = 7
"""With so many blocks or fewer, every set of full cylinders is followed up."""

MOST_GROUPINGS = 6
"""Orders of the fill pressures that are tried for a long queue."""

WORK = 30_000
"""Openings that improving an order may cost, about."""

MOST_PACKED = 40
"""Answers as good as equal that are put into loads to see which takes the fewest."""

QUICK, DEEP, DEEP_GROUPINGS = 4, 3, 1
"""States kept at a quick look at an order, and how many of the orders and of the orders of fill
pressures are then looked at for long."""

COUNTED = 12
"""Answers whose full fills are counted: so many of those that can leave most of them, and of those
that leave most gas."""

NEAR = 0.995
"""Answers whose third term is within half a percent are told apart by the later terms."""


def orders(problem: Problem, parts: Sequence[tuple[int, ...]]) -> list[list[tuple[int, ...]]]:
    """Orders worth trying: by target, start, need and volume, up and down, without repeats."""

    def features(part: tuple[int, ...]) -> tuple[float, float, float, float]:
        jobs = [problem.jobs[j] for j in part]
        start = min(job.start for job in jobs)
        volume = sum(job.volume for job in jobs)
        return jobs[0].target, start, sum(job.need for job in jobs), volume

    signs = (
        *((-1, -1, 0, 1), (-1, 1, 0, -1), (1, -1, 0, 1), (1, 1, 0, -1)),
        *((0, 0, 1, 0), (0, 0, -1, 0), (0, 0, 0, 1), (0, 0, 0, -1)),
    )
    found: dict[tuple[tuple[int, ...], ...], None] = {}
    for sign in signs:
        found[tuple(sorted(parts, key=lambda p: _signed(features(p), sign)))] = None
    for first, second in ((1, 0), (1, 3)):
        for up, then in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            keys = (first, up, second, then)
            found[tuple(sorted(parts, key=lambda p: _two(features(p), keys)))] = None
    return [list(order) for order in found]


def _signed(values: Sequence[float], signs: Sequence[int]) -> tuple[float, ...]:
    return tuple(v * s for v, s in zip(values, signs, strict=True) if s)


def _two(values: Sequence[float], keys: tuple[int, int, int, int]) -> tuple[float, float]:
    first, up, second, then = keys
    return up * values[first], then * values[second]


def grown_in_orders(
    problem: Problem,
    parts: Sequence[tuple[int, ...]],
    kept: int = KEPT_OF_ORDER,
    *,
    whole: bool = False,
) -> list[Grown]:
    """The states that filling the blocks in each of the orders worth trying leads to; with `whole`
    only those in which all are filled."""
    return [
        state
        for order in orders(problem, parts)
        for state in grow_order(problem, order, kept, whole=whole)
    ]


def likely(problem: Problem, tried: Sequence[Sequence[tuple[int, ...]]], deep: int) -> list[Grown]:
    """The states that some orders lead to: a quick look at each, and a long one at the best."""
    looks = [grow_order(problem, order, QUICK) for order in tried]

    def promise(states: Sequence[Grown]) -> tuple[float, ...]:
        full = max(state.full for state in states)
        whole = [state.banks for state in states if state.full == full]
        fills = max(most_fills(problem.volumes, banks, problem.standard) for banks in whole)
        above = max(stored_above(problem.volumes, banks, problem.highest_target) for banks in whole)
        return full, math.floor(fills), above

    best = sorted(range(len(tried)), key=lambda n: promise(looks[n]), reverse=True)[:deep]
    return [
        *(state for look in looks for state in look),
        *(state for n in best for state in grow_order(problem, tried[n])),
    ]


def best_of(problem: Problem, states: Iterable[Grown], favour: Favour) -> Solution:
    """The best of complete states, its blocks reordered into the fewest loads."""
    distinct = list({state.banks: state for state in states}.values())
    if not distinct:
        return Solution((), problem.densities, score(problem, (), problem.densities))
    if favour is Favour.TIME:
        distinct = _soonest(problem, distinct)
    answers = []
    for state in _shortlist(problem, distinct):
        blocks = state.way()
        answers.append(Solution(blocks, state.banks, score(problem, blocks, state.banks)))
    return _told_apart(problem, answers, favour)


def _soonest(problem: Problem, states: Sequence[Grown]) -> list[Grown]:
    """The states that are best in the first two terms where the soonest done is the best."""
    whole = max(state.full for state in states)
    timed = [
        (round(effort_of(problem, state.way()).minutes, 6), state)
        for state in states
        if state.full == whole
    ]
    least = min(minutes for minutes, _ in timed)
    return [state for minutes, state in timed if minutes == least]


def _shortlist(problem: Problem, states: Sequence[Grown]) -> list[Grown]:
    """The states that are best in the first two terms and nearly so in the third."""
    whole = max(state.full for state in states)
    bound, stored = [], []
    for number, state in enumerate(states):
        if state.full == whole:
            fills = most_fills(problem.volumes, state.banks, problem.standard)
            bound.append((-fills, number))
            above = stored_above(problem.volumes, state.banks, problem.highest_target)
            stored.append((-above, number))
    likeliest = {number for _, number in (*sorted(bound)[:COUNTED], *sorted(stored)[:COUNTED])}
    most = max(problem.full_fills(states[number].banks) for number in likeliest)
    best = [
        (above, number)
        for above, number in sorted(stored)
        if number in likeliest and problem.full_fills(states[number].banks) == most
    ]
    return [states[n] for above, n in best if above <= NEAR * best[0][0]][:MOST_PACKED]


def _told_apart(problem: Problem, answers: list[Solution], favour: Favour) -> Solution:
    best = min(answers, key=lambda a: a.score.key(favour))
    near = [a for a in answers if _as_good(a.score, best.score, favour)]
    near.sort(key=lambda a: a.score.key(favour))
    packed = []
    for answer in near[:MOST_PACKED]:
        blocks = fewest_loads(problem, answer.blocks)
        packed.append(answer._replace(blocks=blocks, score=score(problem, blocks, answer.banks)))
    return min(packed, key=lambda a: a.score.near_key(favour))


def _as_good(one: Score, best: Score, favour: Favour) -> bool:
    """Whether two scores are alike in the first terms, and nearly so in the gas stored."""
    if favour is Favour.TIME and round(one.minutes, 6) != round(best.minutes, 6):
        return False
    alike = (one.unfilled, one.full_fills) == (best.unfilled, best.full_fills)
    return alike and one.stored_above >= NEAR * best.stored_above


def search_parts(
    problem: Problem, parts: Sequence[tuple[int, ...]], favour: Favour = Favour.GAS
) -> Solution:
    """The best sequence found for filling the blocks `parts`, whole, from the banks."""
    if not parts:
        return best_of(problem, (), favour)
    if len(parts) <= SMALL:
        states = grown_in_orders(problem, parts)
        return best_of(problem, (*states, *grow_sets(problem, parts)), favour)
    found = best_of(problem, likely(problem, orders(problem, parts), DEEP), favour)
    if found.score.unfilled:
        found = best_of(problem, grown_in_orders(problem, parts), favour)
    answer = _improved(problem, found, favour)
    by_group = _by_group(problem, [block.jobs for block in answer.blocks])
    grouped = best_of(problem, likely(problem, by_group, DEEP_GROUPINGS), favour)
    return _told_apart(problem, [answer, grouped], favour)


def _by_group(problem: Problem, parts: Sequence[tuple[int, ...]]) -> list[list[tuple[int, ...]]]:
    """The order with each fill pressure's blocks brought together, the pressures in any order."""
    groups = dict.fromkeys(problem.jobs[part[0]].group for part in parts)
    return [
        sorted(parts, key=lambda part: chosen.index(problem.jobs[part[0]].group))
        for chosen in islice(permutations(groups), MOST_GROUPINGS)
    ]


def _improved(problem: Problem, answer: Solution, favour: Favour) -> Solution:
    """Move one block at a time to another place in the order, as long as the work allows."""
    parts = [block.jobs for block in answer.blocks]
    left_out = [(j,) for j in range(len(problem.jobs)) if not any(j in p for p in parts)]
    order = [*parts, *(part for part in left_out)]
    count = len(order)
    tries = max(1, WORK // (count * 8 * 4))
    stride = _stride(count * (count - 1))
    for number in range(min(tries, count * (count - 1))):
        source, place = divmod(number * stride % (count * (count - 1)), count - 1)
        moved = [*order[:source], *order[source + 1 :]]
        moved.insert(place if place < source else place + 1, order[source])
        states = grow_order(problem, moved, QUICK)
        if not _may_beat(problem, states, answer.score, favour):
            continue
        found = best_of(problem, states, favour)
        if found.score.key(favour) < answer.score.key(favour):
            answer, order = found, moved
    return answer


def _may_beat(problem: Problem, states: Sequence[Grown], score: Score, favour: Favour) -> bool:
    """Whether one of some states may be better, by bounds that are told at once."""
    least = len(problem.jobs) - score.unfilled
    most = max(state.full for state in states)
    if most != least or favour is Favour.TIME:
        return most >= least

    def may(banks: Banks) -> bool:
        if most_fills(problem.volumes, banks, problem.standard) + TINY < score.full_fills:
            return False
        fills = problem.full_fills(banks)
        stored = stored_above(problem.volumes, banks, problem.highest_target)
        return (fills, stored) >= (score.full_fills, score.stored_above - TINY)

    return any(may(state.banks) for state in states if state.full == most)


def _stride(count: int) -> int:
    """A number near 0.618 `count` without a common divisor: it visits all places, spread out."""
    stride = max(1, round(count * 0.6180339887))
    while math.gcd(stride, count) > 1:
        stride += 1
    return stride
