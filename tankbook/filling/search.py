"""The search for the sequence of fills that is kindest to the banks.

Cylinders are filled one after another, each from some of the banks in rising order. A state is
which cylinders are full and what the banks hold; states are grown one cylinder at a time, and of
those with the same cylinders full the most promising are kept. No equation of state is called.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import islice, permutations
from typing import NamedTuple

from tankbook.filling.levels import (
    TINY,
    Rung,
    by_density,
    full_fills,
    most_fills,
    open_to,
    stored_above,
)
from tankbook.filling.problem import Answer, Banks, Block, Favour, Problem, Score, score
from tankbook.filling.reorder import fewest_loads

SMALL = 7
"""With so many blocks or fewer, every set of full cylinders is followed up."""

SET_WORK = 576_000
LEAST_KEPT = 24
"""States kept of each set, by four measures of promise, a quarter of them by each: so many that
the openings of a search, which also double with each bank and each cylinder, stay bounded."""

LAST = 4000
"""States kept when all blocks are filled: their scores are told exactly."""

KEPT_OF_ORDER = 30
"""States kept at each step when the order of the cylinders is fixed."""

MOST_GROUPINGS = 6
"""Orders of the fill pressures that are tried for a long queue."""

WORK = 40_000
"""Openings that improving an order may cost, about."""

Path = tuple[int, ...]
Outcome = tuple[Banks, Path, float]


def outcomes(
    problem: Problem, banks: Banks, rungs: Sequence[Rung], target: float, partly: bool = False
) -> Iterator[Outcome]:
    """Each way of filling one block from the banks: banks after, banks opened, level reached.

    Banks are opened in rising order, any may be left out, and one that would add less than the
    minimum gain only if it fills. With `partly`, the ways that stop short of the target as well.
    """
    volumes, gain = problem.volumes, problem.minimum_gain
    order = by_density(banks)
    stack: list[tuple[int, float, Banks, Path]] = [(0, rungs[0].start, banks, ())]
    while stack:
        first, level, now, path = stack.pop()
        if partly and path:
            yield now, path, level
        for place in range(first, len(order)):
            bank = order[place]
            density = now[bank]
            if density <= level + TINY:
                continue
            risen, left = open_to(volumes[bank], density, rungs, level, target)
            after = (*now[:bank], left, *now[bank + 1 :])
            if risen >= target - TINY:
                yield after, (*path, bank), target
            elif risen - level >= gain:
                stack.append((place + 1, risen, after, (*path, bank)))


class _Step(NamedTuple):
    """How a state came about."""

    before: Banks
    members: int
    block: Block | None


class Grown(NamedTuple):
    """A state that is complete, how many cylinders are full in it, and the way to it."""

    banks: Banks
    full: int
    way: Callable[[], tuple[Block, ...]]


Promise = Callable[[Banks], float]


def promises(problem: Problem) -> tuple[Promise, ...]:
    """Measures of what banks are still good for; all count high pressure above low.

    The sum of V d^2, which every mixing lowers; the gas above the standard cylinder's target and
    above the highest target; and how many standard cylinders the gas would fill if banks were
    emptied evenly: for no density can the gas above it be less than the cylinders take above it.
    """
    volumes = problem.volumes
    standard = problem.standard

    def above(level: float) -> Promise:
        return lambda banks: sum(
            [v * (d - level) for v, d in zip(volumes, banks, strict=True) if d > level]
        )

    def spread(banks: Banks) -> float:
        return sum([v * d * d for v, d in zip(volumes, banks, strict=True)])

    def evenly(banks: Banks) -> float:
        return most_fills(volumes, banks, standard)

    levels = dict.fromkeys((standard.target, problem.highest_target))
    return (spread, evenly, *(above(level) for level in levels))


def most_promising(states: Iterable[Banks], count: int, by: Sequence[Promise]) -> list[Banks]:
    """About `count` of the states, an equal share by each measure; the order is reproducible."""
    everything = list(states)
    if len(everything) <= count:
        return everything
    share = max(1, count // len(by))
    kept: dict[Banks, None] = {}
    for promise in by:
        kept.update(dict.fromkeys(sorted(everything, key=promise, reverse=True)[:share]))
    return list(kept)


def grow_sets(
    problem: Problem, parts: Sequence[tuple[int, ...]], kept: int | None = None
) -> list[Grown]:
    """Fill the blocks `parts` in every order, keeping the best states of each set of them.

    The states of the largest sets that can be filled, with the way to each.
    """
    by, most = promises(problem), kept or _affordable(problem, len(parts))
    ladders = [(problem.rungs(p), problem.jobs[p[0]].target) for p in parts]
    twins = _twins(problem, parts)
    levels: list[dict[int, dict[Banks, _Step]]] = [
        {0: {problem.densities: _Step(problem.densities, 0, None)}}
    ]
    for _ in parts:
        grown: dict[int, dict[Banks, _Step]] = {}
        for done, states in levels[-1].items():
            for number, part in enumerate(parts):
                bit = 1 << number
                if done & bit or twins[number] & ~done:
                    continue
                found = grown.setdefault(done | bit, {})
                rungs, target = ladders[number]
                for banks in states:
                    for after, path, level in outcomes(problem, banks, rungs, target):
                        if after not in found:
                            found[after] = _Step(banks, done, Block(part, path, level))
        grown = {done: states for done, states in grown.items() if states}
        if not grown:
            break
        last = len(levels) == len(parts)
        levels.append(
            {
                done: {b: found[b] for b in most_promising(found, LAST if last else most, by)}
                for done, found in grown.items()
            }
        )
    return [
        Grown(banks, _size(parts, done), partial(_traced, levels, done, banks))
        for done, states in levels[-1].items()
        for banks in states
    ]


def _affordable(problem: Problem, count: int) -> int:
    ways = count * (1 << count) * ((1 << len(problem.volumes)) - 1)
    return max(LEAST_KEPT, SET_WORK // max(1, ways))


def _size(parts: Sequence[tuple[int, ...]], done: int) -> int:
    return sum(len(part) for number, part in enumerate(parts) if done >> number & 1)


def _twins(problem: Problem, parts: Sequence[tuple[int, ...]]) -> list[int]:
    """For each block the earlier ones that are just like it: those are filled before it."""
    kinds = [tuple(problem.jobs[j] for j in part) for part in parts]
    return [
        sum(1 << other for other in range(number) if kinds[other] == kinds[number])
        for number in range(len(parts))
    ]


def _traced(
    levels: Sequence[dict[int, dict[Banks, _Step]]], done: int, banks: Banks
) -> tuple[Block, ...]:
    blocks: list[Block] = []
    for states in reversed(levels):
        step = states[done][banks]
        if step.block is None:
            break
        blocks.append(step.block)
        done, banks = step.members, step.before
    return tuple(reversed(blocks))


def grow_order(
    problem: Problem, parts: Sequence[tuple[int, ...]], kept: int = KEPT_OF_ORDER
) -> list[Grown]:
    """Fill the blocks in the order given, leaving out each that cannot be filled in its turn."""
    by = promises(problem)
    states: dict[Banks, tuple[Block, ...]] = {problem.densities: ()}
    for part in parts:
        rungs, target = problem.rungs(part), problem.jobs[part[0]].target
        found: dict[Banks, tuple[Block, ...]] = {}
        for banks, blocks in states.items():
            for after, path, level in outcomes(problem, banks, rungs, target):
                if after not in found:
                    found[after] = (*blocks, Block(part, path, level))
        if found:
            states = {banks: found[banks] for banks in most_promising(found, kept, by)}
    return [
        Grown(banks, sum(len(block.jobs) for block in blocks), partial(_given, blocks))
        for banks, blocks in states.items()
    ]


def _given(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    return blocks


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


MOST_PACKED = 40
"""Answers as good as equal that are put into loads to see which takes the fewest."""

NEAR = 0.995
"""Answers whose third term is within half a percent are told apart by the later terms."""


def best_of(problem: Problem, states: Iterable[Grown], favour: Favour) -> Answer:
    """The best of complete states, its blocks reordered into the fewest loads."""
    distinct = list({state.banks: state for state in states}.values())
    if not distinct:
        return Answer((), problem.densities, score(problem, (), problem.densities))
    if favour is Favour.GAS:
        distinct = _shortlist(problem, distinct)
    answers = []
    for state in distinct:
        blocks = state.way()
        answers.append(Answer(blocks, state.banks, score(problem, blocks, state.banks)))
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


def _told_apart(problem: Problem, answers: list[Answer], favour: Favour) -> Answer:
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
) -> Answer:
    """The best sequence found for filling the blocks `parts`, whole, from the banks."""
    if not parts:
        return best_of(problem, (), favour)
    states = [state for order in orders(problem, parts) for state in grow_order(problem, order)]
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


def _improved(problem: Problem, answer: Answer, favour: Favour) -> Answer:
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
