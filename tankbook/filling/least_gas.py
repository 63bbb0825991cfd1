"""The search for the sequence of fills that is kindest to the banks.

Cylinders are filled one after another, each from some of the banks in rising order, in every order
where they are few and in likely ones where they are many; see `grow`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import islice, permutations

from tankbook.filling.cascade_search import KEPT_OF_ORDER, Grown, grow_order, grow_sets
from tankbook.filling.levels import full_fills, stored_above
from tankbook.filling.problem import Favour, Problem, Score, Solution, fewest_loads, score

SMALL = 7
"""With so many blocks or fewer, every set of full cylinders is followed up."""

MOST_GROUPINGS = 6
"""Orders of the fill pressures that are tried for a long queue."""

WORK = 40_000
"""Openings that improving an order may cost, about."""

MOST_PACKED = 40
"""Answers as good as equal that are put into loads to see which takes the fewest."""

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
    problem: Problem, parts: Sequence[tuple[int, ...]], kept: int = KEPT_OF_ORDER
) -> list[Grown]:
    """The states that filling the blocks in each of the orders worth trying leads to."""
    return [s for order in orders(problem, parts) for s in grow_order(problem, order, kept)]


def best_of(problem: Problem, states: Iterable[Grown], favour: Favour) -> Solution:
    """The best of complete states, its blocks reordered into the fewest loads."""
    distinct = list({state.banks: state for state in states}.values())
    if not distinct:
        return Solution((), problem.densities, score(problem, (), problem.densities))
    if favour is Favour.GAS:
        distinct = _shortlist(problem, distinct)
    answers = []
    for state in distinct:
        blocks = state.way()
        answers.append(Solution(blocks, state.banks, score(problem, blocks, state.banks)))
    return _told_apart(problem, answers, favour)


def _shortlist(problem: Problem, states: Sequence[Grown]) -> list[Grown]:
    """The states that are best in the first two terms and nearly so in the third."""
    most = max(state.full for state in states)
    counted = [
        (full_fills(problem.volumes, state.banks, problem.standard), state)
        for state in states
        if state.full == most
    ]
    fills = max(count for count, _ in counted)
    stored = [
        (stored_above(problem.volumes, state.banks, problem.highest_target), number, state)
        for number, (count, state) in enumerate(counted)
        if count == fills
    ]
    stored.sort(key=lambda one: (-one[0], one[1]))
    near = [state for above, _, state in stored if above >= NEAR * stored[0][0]]
    return near[:MOST_PACKED]


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
    states = grown_in_orders(problem, parts)
    if len(parts) <= SMALL:
        return best_of(problem, (*states, *grow_sets(problem, parts)), favour)
    answer = _improved(problem, best_of(problem, states, favour), favour)
    grouped = [
        best_of(problem, grow_order(problem, order), favour)
        for order in _by_group(problem, [block.jobs for block in answer.blocks])
    ]
    return _told_apart(problem, [answer, *grouped], favour)


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
        found = best_of(problem, grow_order(problem, moved, kept=6), favour)
        if found.score.key(favour) < answer.score.key(favour):
            answer, order = found, moved
    return answer


def _stride(count: int) -> int:
    """A number near 0.618 `count` without a common divisor: it visits all places, spread out."""
    stride = max(1, round(count * 0.6180339887))
    while math.gcd(stride, count) > 1:
        stride += 1
    return stride
