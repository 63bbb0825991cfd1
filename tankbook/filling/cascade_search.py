"""Growing sequences of fills, one block at a time, and keeping the promising ones.

A state is which cylinders are full and what the banks hold. No equation of state is called.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from math import inf
from typing import NamedTuple

from tankbook.filling.levels import TINY, Rung, by_density
from tankbook.filling.problem import Banks, Block, Onward, Problem, Trail, Trails

SET_WORK = 576_000
LEAST_KEPT = 24
"""States kept of each set, by four measures of promise, a quarter of them by each: so many that
the openings of a search, which also double with each bank and each cylinder, stay bounded."""

LAST = 4000
"""States kept when all blocks are filled: their scores are told exactly."""

KEPT_OF_ORDER = 30
"""States kept at each step when the order of the cylinders is fixed."""

Path = tuple[int, ...]
WayOpened = tuple[Banks, Path, float]


def outcomes(
    problem: Problem, banks: Banks, rungs: Sequence[Rung], target: float, partly: bool = False
) -> Iterator[WayOpened]:
    """Each way of filling one block from the banks: banks after, banks opened, level reached.

    Banks are opened in rising order, any may be left out, and one that would add less than the
    minimum gain only if it fills. With `partly`, the ways that stop short of the target as well.
    """
    volumes, gain = problem.volumes, problem.minimum_gain
    order = by_density(banks)
    rises = _rises(rungs, target)
    if not partly and _reached(volumes, banks, order, rises, rungs[0].start) < target - 2 * TINY:
        return
    count, full = len(order), target - TINY
    stack: list[tuple[int, float, Banks, Path]] = [(0, rungs[0].start, banks, ())]
    while stack:
        first, level, now, path = stack.pop()
        if partly and path:
            yield now, path, level
        for place in range(first, count):
            bank = order[place]
            left = now[bank]
            if left <= level + TINY:
                continue
            litres, risen = volumes[bank], level
            for top, volume in rises:  # `open_to` in line: this is asked more than all else
                if risen >= top:
                    continue
                equal = (litres * left + volume * risen) / (litres + volume)
                if equal < top:
                    risen = left = equal
                    break
                left -= volume * (top - risen) / litres
                risen = top
            if risen >= full:
                yield (*now[:bank], left, *now[bank + 1 :]), (*path, bank), target
            elif risen - level >= gain and (partly or place + 1 < count):
                after = (*now[:bank], left, *now[bank + 1 :])
                stack.append((place + 1, risen, after, (*path, bank)))


def _rises(rungs: Sequence[Rung], target: float) -> list[tuple[float, float]]:
    """The levels up to which so many litres of cylinder rise together, from the lowest on."""
    tops = [rung.start for rung in rungs[1:]] + [target]
    return [(min(top, target), rung.volume) for top, rung in zip(tops, rungs, strict=True)]


def _reached(
    volumes: Sequence[float],
    banks: Banks,
    order: Sequence[int],
    rises: Sequence[tuple[float, float]],
    level: float,
) -> float:
    """What a block comes to that is opened to every bank in turn: no way brings it higher."""
    if not order or banks[order[-1]] < rises[-1][0] - 2 * TINY:
        return level
    for bank in order:
        density, litres = banks[bank], volumes[bank]
        if density <= level:
            continue
        for top, volume in rises:
            if level >= top:
                continue
            equal = (litres * density + volume * level) / (litres + volume)
            if equal < top:
                level = equal
                break
            density -= volume * (top - level) / litres
            level = top
    return level


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


def promises(problem: Problem, banks: Banks) -> tuple[float, ...]:
    """Measures of what banks are still good for; all count high pressure above low.

    The sum of V d^2, which every mixing lowers; how many standard cylinders the gas would fill if
    banks were emptied evenly: for no density can the gas above it be less than the cylinders take
    above it; and the gas above the standard cylinder's target and above the highest target.
    """
    _, start, standard = problem.standard
    highest = problem.highest_target
    spread = above_standard = above_highest = litres = amount = 0.0
    evenly = inf
    # The banks from the fullest down, with what those before hold; see `most_fills`.
    for density, volume in sorted(zip(banks, problem.volumes, strict=True), reverse=True):
        holds = volume * density
        spread += holds * density
        if density > highest:
            above_highest += volume * (density - highest)
        if density > standard:
            above_standard += volume * (density - standard)
        elif density > start:
            if density < standard:
                fewest = (amount - litres * density) / (standard - density)
                evenly = fewest if fewest < evenly else evenly
        else:
            continue
        litres += volume
        amount += holds
    fewest = (amount - litres * start) / (standard - start)
    evenly = fewest if fewest < evenly else evenly
    if standard == highest:
        return spread, evenly, above_standard
    return spread, evenly, above_standard, above_highest


def most_promising(problem: Problem, states: Iterable[Banks], count: int) -> list[Banks]:
    """About `count` of the states, an equal share by each measure; the order is reproducible."""
    everything = list(states)
    if len(everything) <= count:
        return everything
    by = list(zip(*[promises(problem, banks) for banks in everything], strict=True))
    share = max(1, count // len(by))
    kept: dict[int, None] = {}
    for measure in by:
        best = sorted(range(len(everything)), key=measure.__getitem__, reverse=True)
        kept.update(dict.fromkeys(best[:share]))
    return [everything[number] for number in kept]


def grow_sets(
    problem: Problem, parts: Sequence[tuple[int, ...]], kept: int | None = None
) -> list[Grown]:
    """Fill the blocks `parts` in every order, keeping the best states of each set of them.

    The states of the largest sets that can be filled, with the way to each.
    """
    most = kept or _affordable(problem, len(parts))
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
                done: {
                    banks: found[banks]
                    for banks in most_promising(problem, found, LAST if last else most)
                }
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
    problem: Problem,
    parts: Sequence[tuple[int, ...]],
    kept: int = KEPT_OF_ORDER,
    *,
    whole: bool = False,
) -> list[Grown]:
    """Fill the blocks in the order given, leaving out each that cannot be filled in its turn; with
    `whole` nothing where there is such a one."""
    known = problem.grown.setdefault(kept, {})
    states: Trails = {problem.densities: None}
    for number, part in enumerate(parts, start=1):
        begun = tuple(parts[:number])
        if begun not in known:
            known[begun] = _onward(problem, states, part, kept)
        if whole and known[begun] is states:
            return []
        states = known[begun]
    return [
        Grown(banks, sum(len(block.jobs) for block in _along(trail)), partial(_along, trail))
        for banks, trail in states.items()
    ]


def _onward(problem: Problem, states: Trails, part: tuple[int, ...], kept: int) -> Trails:
    """The most promising states after one more block; the same where it cannot be filled."""
    key = tuple(states), problem.rungs(part), problem.jobs[part[0]].target, kept
    known = problem.grown_alike
    if key not in known:
        known[key] = _ahead(problem, *key)
    return {
        after: (states[before], Block(part, path, level))
        for after, before, path, level in known[key]
    } or states


def _ahead(
    problem: Problem, states: Sequence[Banks], rungs: Sequence[Rung], target: float, kept: int
) -> list[Onward]:
    """The most promising states after a block of some kind."""
    found: dict[Banks, Onward] = {}
    seen: set[Banks] = set()
    alike = len(set(problem.volumes)) == 1
    for banks in states:
        for after, path, level in outcomes(problem, banks, rungs, target):
            # Banks of one size are as good in one order as in another.
            known = tuple(sorted(after)) if alike else after
            if known not in seen:
                seen.add(known)
                found[after] = after, banks, path, level
    return [found[banks] for banks in most_promising(problem, found, kept)]


def _along(trail: Trail) -> tuple[Block, ...]:
    blocks: list[Block] = []
    while trail is not None:
        trail, block = trail
        blocks.append(block)
    return tuple(reversed(blocks))
