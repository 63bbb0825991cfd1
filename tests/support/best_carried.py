"""Small sessions carried out in a great many ways, tried one after another: what the choice of banks
and feeding is measured against.

It shares the moves with the planner, which a hand checks (`hand.py`), and nothing of how it chooses:
not what it searches, reckons or prefers. Ways are drawn by chance, and then, mostly, the best of them
is changed in one place. A way that takes longer than the plan, or changes the compressor over more
often than there are loads, does not count; one that is shorter is credited with what a tireless
compressor would feed its last bank until then, cold.
"""

from __future__ import annotations

import random
from itertools import combinations, permutations
from typing import NamedTuple

from tankbook.filling.fill_bench import Feeding, FillBench, has_come_full
from tankbook.filling.levels import full_fills
from tankbook.filling.problem import Block, Problem, Score, Solution
from tankbook.filling.session import minutes_of
from tankbook.filling.setup import Setup
from tankbook.filling.simulate import simulate

DRAWN = 1 / 3
"""Of all ways, so many are drawn before the best is changed."""

SCORE = Score(0, 0, 0.0, 0.0, 0, 0.0)
MINUTE = 0.01

Way = tuple[Solution, Feeding]
Banks = tuple[tuple[int, ...], ...]
"""Some banks, by cylinder or by load."""


class Left(NamedTuple):
    """Cylinders that come full, and full fills left."""

    full: int
    fills: int


class Drawn(NamedTuple):
    """A way: the order of the cylinders, the banks of each, whether those of one load and with the
    same banks are opened together, the banks fed in each load, and what is waited for."""

    order: tuple[int, ...]
    banks: tuple[tuple[int, ...], ...]
    together: bool
    feeds: tuple[tuple[int, ...], ...]
    waited: bool
    cooled: bool


def left_by(bench: FillBench) -> Left:
    """What a session fills and leaves."""
    problem = bench.setup.problem
    full = sum(has_come_full(bench, j) for j in range(len(problem.jobs)))
    return Left(full, full_fills(problem.volumes, bench.banks, problem.standard))


def most_carried_out(setup: Setup, minutes: float, tries: int, seed: int) -> Left:
    """Most that is filled, and then left, by any of `tries` ways that take no more minutes."""
    problem, chance = setup.problem, random.Random(f"carried out {seed}")
    best, found = Left(0, 0), None
    for number in range(tries):
        drawn = found is None or number < DRAWN * tries or chance.random() < 0.15
        way = _drawn(problem, chance) if drawn or found is None else _near(problem, chance, found)
        answer, feeding = _said(problem, way)
        left = _counts(simulate(setup, answer, feeding), minutes)
        if left is not None and left >= best:
            best, found = left, way
    return best


def one_way(setup: Setup, seed: int) -> FillBench:
    """One way, drawn by a seed and carried out, whatever it comes to."""
    answer, feeding = _said(setup.problem, _drawn(setup.problem, random.Random(f"way {seed}")))
    return simulate(setup, answer, feeding)


def _counts(bench: FillBench, minutes: float) -> Left | None:
    """What a way comes to, None where it does not count."""
    problem, made = bench.setup.problem, bench.setup.session.compressor
    spare = minutes - minutes_of(bench)
    if spare < -MINUTE or bench.feed.changes > len(bench.loads):
        return None
    banks = [*bench.banks]
    if made is not None and made.longest_run is None:
        for bank in bench.feeding.in_load(len(bench.loads))[-1:]:
            room = problem.limits[bank] - banks[bank]
            more = spare * problem.compressor / problem.volumes[bank]
            banks[bank] += max(0.0, min(more, room))
    return Left(left_by(bench).full, full_fills(problem.volumes, banks, problem.standard))


def _ways_to_feed(problem: Problem) -> list[tuple[int, ...]]:
    banks = range(len(problem.volumes))
    return [*((bank,) for bank in banks), *permutations(banks, 2)]


def _ways_to_open(problem: Problem) -> list[tuple[int, ...]]:
    banks = range(len(problem.volumes))
    return [each for count in range(len(banks) + 1) for each in combinations(banks, count)]


def _drawn(problem: Problem, chance: random.Random) -> Drawn:
    jobs = range(len(problem.jobs))
    opens, feeds = _ways_to_open(problem), _ways_to_feed(problem)
    order = chance.sample(jobs, len(jobs))
    if chance.random() < 0.7:
        order.sort(key=lambda j: problem.jobs[j].group)
    opened, fed = chance.choice(opens), chance.choice(feeds)
    return Drawn(
        order=tuple(order),
        banks=tuple(opened if chance.random() < 0.6 else chance.choice(opens) for _ in jobs),
        together=chance.random() < 0.5,
        feeds=tuple(fed if chance.random() < 0.6 else chance.choice(feeds) for _ in jobs),
        waited=chance.random() < 0.6,
        cooled=chance.random() < 0.3,
    )


def _near(problem: Problem, chance: random.Random, way: Drawn) -> Drawn:
    """A way changed in one place."""
    other, place = _drawn(problem, chance), chance.randrange(len(problem.jobs))

    def one(these: Banks, those: Banks) -> Banks:
        return (*these[:place], those[place], *these[place + 1 :])

    return chance.choice(
        [
            way._replace(order=other.order),
            way._replace(banks=one(way.banks, other.banks)),
            way._replace(together=not way.together),
            way._replace(feeds=one(way.feeds, other.feeds)),
            way._replace(waited=not way.waited),
            way._replace(cooled=not way.cooled),
        ]
    )


def _said(problem: Problem, way: Drawn) -> Way:
    """A way, as an answer to carry out and how the compressor is used in it."""
    parts: list[tuple[int, ...]] = []
    for job in way.order:
        last = parts[-1] if parts else ()
        alike = last and way.banks[last[0]] == way.banks[job]
        alike = alike and problem.jobs[last[0]].group == problem.jobs[job].group
        if way.together and alike and problem.seats((*last, job)) is not None:
            parts[-1] = (*last, job)
        else:
            parts.append((job,))
    blocks = []
    for part in parts:
        start, target = min(problem.jobs[j].start for j in part), problem.jobs[part[0]].target
        banks = way.banks[part[0]]
        blocks.append(Block(part, banks, target if banks else start))
    loads = len(problem.loads(parts))
    feeding = Feeding(way.feeds[:loads], waited=way.waited, cooled=way.cooled)
    return Solution(tuple(blocks), (), SCORE), feeding
