"""The search for the sequence of fills that is done soonest.

Cylinders opened together take as long as the slowest of them, and a load costs its handling
minutes however few it holds. So the quickest session opens whole loads together, as far as the
banks allow without leaving more cylinders unfilled than filling in turn would.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import ceil

from tankbook.filling.cascade_search import grow_sets
from tankbook.filling.least_gas import (
    DEEP,
    SMALL,
    best_of,
    grown_in_orders,
    likely,
    orders,
    search_parts,
)
from tankbook.filling.problem import Favour, Problem, Solution

Part = tuple[int, ...]

MOST_TRIES = 400
"""Ways of putting cylinders together that are tried for a short queue."""

MOST_TIES = 24
"""Ways that take equally long, tried for what they leave in the banks."""

MOST_MERGES = 60
MERGE_WORK = 800
"""Pairs that are tried for opening together in a long queue: fewer for a longer one."""

FEW_KEPT = 12


def search_time(problem: Problem) -> Solution:
    """The soonest done of the sequences found that leave the fewest cylinders unfilled."""
    singles = [(number,) for number in range(len(problem.jobs))]
    in_turn = _in_turn(problem, singles)
    if not in_turn.blocks:
        return in_turn
    if len(singles) <= SMALL:
        return _every_way(problem, in_turn)
    return _merged(problem, in_turn)


def _in_turn(problem: Problem, singles: Sequence[Part]) -> Solution:
    """Filling in turn: a quick look will do where it leaves none unfilled."""
    quick = best_of(problem, likely(problem, orders(problem, singles), DEEP), Favour.TIME)
    if quick.score.unfilled:
        return search_parts(problem, singles, Favour.TIME)
    return quick


def _every_way(problem: Problem, in_turn: Solution) -> Solution:
    """Try partitions of the cylinders, the quickest first, until none can be quicker."""
    count = len(problem.jobs) - in_turn.score.unfilled
    ways = [
        (_least_minutes(problem, way), number, way)
        for number, way in enumerate(_ways(problem, count))
    ]
    best, ties = in_turn, 0
    for least, _, way in sorted(ways)[:MOST_TRIES]:
        ahead = least - best.score.minutes
        if ahead > 1e-6 or (ahead > -1e-6 and ties >= MOST_TIES):
            break
        ties += ahead > -1e-6
        found = _filled(problem, way)
        if found and found.score.key(Favour.TIME) < best.score.key(Favour.TIME):
            best = found
    return best


def _ways(problem: Problem, count: int) -> Iterator[tuple[Part, ...]]:
    """Every way of putting `count` of the cylinders into blocks that can be opened together."""
    for chosen in combinations(range(len(problem.jobs)), count):
        yield from _partitions(problem, chosen)


def _partitions(problem: Problem, jobs: Part) -> Iterator[tuple[Part, ...]]:
    if not jobs:
        yield ()
        return
    first, rest = jobs[0], jobs[1:]
    alike = [j for j in rest if problem.jobs[j].group == problem.jobs[first].group]
    for size in range(len(alike) + 1):
        for mates in combinations(alike, size):
            block = (first, *mates)
            if problem.seats(block) is not None:
                others = tuple(j for j in rest if j not in mates)
                for way in _partitions(problem, others):
                    yield (block, *way)


def _least_minutes(problem: Problem, way: Sequence[Part]) -> float:
    """What a way takes at least: its blocks one after another, in as few loads as there can be."""
    minutes = sum(max(problem.jobs[j].minutes for j in block) for block in way)
    count: dict[int, int] = {}
    for block in way:
        group = problem.jobs[block[0]].group
        count[group] = count.get(group, 0) + len(block)
    return minutes + problem.handling * sum(ceil(n / problem.places.count) for n in count.values())


def _filled(problem: Problem, way: Sequence[Part]) -> Solution | None:
    """The best sequence of a way's blocks, None where the banks do not fill them all."""
    wanted = sum(len(part) for part in way)
    whole = grown_in_orders(problem, way, FEW_KEPT, whole=True)
    if not whole and len(way) <= SMALL:
        whole = [s for s in grow_sets(problem, way, FEW_KEPT) if s.full == wanted]
    return best_of(problem, whole, Favour.TIME) if whole else None


def _merged(problem: Problem, in_turn: Solution) -> Solution:
    """Open as many together as the banks allow: whole loads, else the pairs that save most."""
    filled = [j for block in in_turn.blocks for j in block.jobs]
    most = max(1, problem.places.count)
    best = in_turn
    for size in range(most, 1, -1):
        found = _filled(problem, _chunks(problem, filled, size))
        if found and found.score.key(Favour.TIME) < best.score.key(Favour.TIME):
            best = found
            if size == most:
                return best
    return _pairs_merged(problem, best)


def _chunks(problem: Problem, jobs: Sequence[int], size: int) -> list[Part]:
    """Blocks of up to `size` alike in fill pressure, the slowest to fill together."""
    blocks: list[Part] = []
    for number in sorted(jobs, key=lambda j: (problem.jobs[j].group, -problem.jobs[j].minutes, j)):
        last = blocks[-1] if blocks else ()
        alike = last and problem.jobs[last[0]].group == problem.jobs[number].group
        if alike and len(last) < size and problem.seats((*last, number)) is not None:
            blocks[-1] = (*last, number)
        else:
            blocks.append((number,))
    return blocks


def _pairs_merged(problem: Problem, best: Solution) -> Solution:
    """Put two blocks together at a time, those first that save most minutes."""
    refused: set[Part] = set()
    for _ in range(min(MOST_MERGES, MERGE_WORK // len(problem.jobs))):
        way = [block.jobs for block in best.blocks]
        pair = _next_pair(problem, way, refused)
        if pair is None:
            break
        one, two = pair
        both = tuple(sorted((*one, *two)))
        found = _filled(problem, [both, *(part for part in way if part not in pair)])
        if found and found.score.key(Favour.TIME) < best.score.key(Favour.TIME):
            best = found
        else:
            refused.add(both)
    return best


def _next_pair(
    problem: Problem, way: Sequence[Part], refused: set[Part]
) -> tuple[Part, Part] | None:
    def saved(pair: tuple[Part, Part]) -> float:
        return min(max(problem.jobs[j].minutes for j in part) for part in pair)

    pairs = [
        (one, two)
        for one, two in combinations(way, 2)
        if problem.jobs[one[0]].group == problem.jobs[two[0]].group
        and tuple(sorted((*one, *two))) not in refused
        and problem.seats((*one, *two)) is not None
    ]
    return max(pairs, key=saved, default=None)
