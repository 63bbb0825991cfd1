"""The planning problem in plain densities, how good an answer is, and how few loads it takes.

What a plan may do, and in which order the terms of its score count, is stated in
docs/fill-planning.md.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from enum import StrEnum
from functools import cached_property
from math import inf
from typing import Any, NamedTuple

from msgspec import Struct, field

from tankbook.filling.levels import TINY, Rung, StandardFill, full_fills, ladder, stored_above
from tankbook.filling.loads import FillPositions

Banks = tuple[float, ...]
"""The density [mol/L] of each bank."""


class Favour(StrEnum):
    """What counts most once as many cylinders as can be are filled."""

    GAS = "gas"
    TIME = "time"


class FillJob(NamedTuple):
    """A cylinder to fill: volume [L], start and target [mol/L].

    `group` numbers the fill pressures: only cylinders of one group are loaded together.
    `per_minute` is the fill rate [mol/L a minute]. `fits` numbers what it fits into
    (`FillPositions`). `lends` says whether it may be equalized against another. A compressor that
    does not reach the target fills it where it reaches `enough` [mol/L].
    """

    volume: float
    start: float
    target: float
    group: int = 0
    per_minute: float = 1.0
    fits: int = 0
    lends: bool = False
    enough: float = inf

    @property
    def need(self) -> float:
        """The gas it takes [mol]."""
        return self.volume * (self.target - self.start)

    @property
    def minutes(self) -> float:
        """How long it takes to fill by itself."""
        return (self.target - self.start) / self.per_minute


class Block(NamedTuple):
    """Cylinders opened together, and the banks opened to them, in order.

    `level` is the density they come to; a block of one is a cylinder filled in turn.
    """

    jobs: tuple[int, ...]
    banks: tuple[int, ...]
    level: float


class Score(NamedTuple):
    """The terms of the objective. Of `filled` the most is best, of `minutes` the fewest."""

    unfilled: int
    full_fills: int
    stored_above: float
    compressor_gas: float
    handlings: int
    minutes: float

    def key(self, favour: Favour) -> tuple[float, ...]:
        """What to sort by, the best first. Real numbers are rounded so that equals are equal."""
        time = round(self.minutes, 6)
        gas = (-self.full_fills, -round(self.stored_above, 6), round(self.compressor_gas, 6))
        if favour is Favour.TIME:
            return self.unfilled, time, *gas, self.handlings
        return self.unfilled, *gas, self.handlings, time

    def near_key(self, favour: Favour) -> tuple[float, ...]:
        """What to sort by among scores whose third term is as good as equal."""
        strict = self.key(favour)
        later = (round(self.compressor_gas, 6), self.handlings, *strict)
        return self.unfilled, *strict[1 : 3 if favour is Favour.TIME else 2], *later


class Problem(Struct, frozen=True, dict=True):
    """Banks, cylinders and the rules of the station, all in plain numbers.

    `minimum_gain` [mol/L]: a bank that would lift the level by less is not opened, unless it
    fills the cylinder. `handling` is minutes a load; `compressor` [mol a minute], 0 for none,
    and `compressor_top` the level [mol/L] it reaches; `limits` those that it may feed each bank to.
    """

    volumes: tuple[float, ...]
    densities: Banks
    jobs: tuple[FillJob, ...]
    standard: StandardFill
    places: FillPositions = field(default_factory=FillPositions)
    minimum_gain: float = 0.0
    handling: float = 0.0
    compressor: float = 0.0
    compressor_top: float = 0.0
    limits: tuple[float, ...] = ()
    known: dict[tuple[object, ...], Any] = field(default_factory=dict)
    """What searches have come to; problems that differ in some cylinders share it."""

    @cached_property
    def grown(self) -> dict[int, dict[Order, Trails]]:
        """What a search has come to, by how many states it keeps and the blocks filled so far."""
        return {}

    @cached_property
    def grown_alike(self) -> dict[tuple[object, ...], list[Onward]]:
        """The same by what the banks hold and the kind of the next block: cylinders that are alike
        are gone through once, in all problems in which the banks and their worth are alike."""
        worth = self.volumes, self.standard, self.minimum_gain, self.highest_target
        found: dict[tuple[object, ...], list[Onward]] = self.known.setdefault(("grown", *worth), {})
        return found

    @cached_property
    def content(self) -> tuple[object, ...]:
        """All that an answer depends on: problems that are alike in it are one."""
        rules = self.minimum_gain, self.handling, self.compressor, self.compressor_top, self.limits
        places = self.places.choices, self.places.enclosed, self.places.alone, self.places.most
        return self.volumes, self.densities, self.jobs, self.standard, *places, *rules

    @cached_property
    def efforts(self) -> dict[tuple[tuple[tuple[int, ...], float], ...], Effort]:
        """What sequences take that were asked for, by the cylinders and the levels they come to."""
        return {}

    @cached_property
    def _fills(self) -> dict[Banks, int]:
        return {}

    def full_fills(self, banks: Banks) -> int:
        """How many standard cylinders the banks still fill."""
        if banks not in self._fills:
            self._fills[banks] = full_fills(self.volumes, banks, self.standard)
        return self._fills[banks]

    @cached_property
    def highest_target(self) -> float:
        """The highest target of all cylinders [mol/L]."""
        return max((job.target for job in self.jobs), default=0.0)

    def seats(self, jobs: Sequence[int]) -> tuple[int, ...] | None:
        """A position for each of some jobs, or None where they cannot all be connected."""
        return self.places.assign(tuple(self.jobs[j].fits for j in jobs))

    def loads(self, blocks: Sequence[Sequence[int]]) -> list[list[int]]:
        """The loads that jobs opened together make, one block after the other, by block number."""
        return self.places.loads(
            [(self.jobs[b[0]].group, tuple(self.jobs[j].fits for j in b)) for b in blocks]
        )

    def rungs(self, jobs: Sequence[int]) -> tuple[Rung, ...]:
        """The rungs of some jobs opened together."""
        return ladder([(self.jobs[j].volume, self.jobs[j].start) for j in jobs])

    def block_minutes(self, block: Block) -> float:
        """The minutes for which a block is open: its slowest member's."""
        jobs = (self.jobs[j] for j in block.jobs)
        return max(max(0.0, block.level - job.start) / job.per_minute for job in jobs)

    def is_full(self, block: Block) -> bool:
        """Whether a block reaches the target of its cylinders."""
        return block.level >= self.jobs[block.jobs[0]].target - TINY


Order = tuple[tuple[int, ...], ...]
"""Blocks to be filled one after another."""

Trail = tuple["Trail", Block] | None
"""The blocks that led to a state, the last first."""

Trails = dict[Banks, Trail]
"""What the banks may hold once some blocks are filled, and how they came to it."""


Onward = tuple[Banks, Banks, tuple[int, ...], float]
"""A block filled: the banks after and before, those opened, and the level it comes to."""


class Solution(NamedTuple):
    """A sequence of blocks, the banks after it, and its score."""

    blocks: tuple[Block, ...]
    banks: Banks
    score: Score
    equalized: tuple[int, int] | None = None


class Effort(NamedTuple):
    """What a sequence takes: minutes, loads, and the gas [mol] left to the compressor; and how many
    cylinders it fills."""

    minutes: float
    loads: int
    lacking: float
    filled: int


def effort_of(problem: Problem, blocks: Sequence[Block]) -> Effort:
    """What a sequence takes, from whichever banks."""
    known, order = problem.efforts, tuple([(block.jobs, block.level) for block in blocks])
    if order not in known:
        known[order] = _effort(problem, blocks)
    return known[order]


def _effort(problem: Problem, blocks: Sequence[Block]) -> Effort:
    missing = {n: job.need for n, job in enumerate(problem.jobs)}
    minutes, filled = 0.0, 0
    for block in blocks:
        minutes += problem.block_minutes(block)
        full = problem.is_full(block)
        filled += len(block.jobs) if full else 0
        for number in block.jobs:
            job = problem.jobs[number]
            missing[number] -= job.volume * max(0.0, block.level - job.start)
            if full:
                del missing[number]
    lacking = sum(missing.values()) if problem.compressor else 0.0
    loads = len(problem.loads([block.jobs for block in blocks]))
    extra = lacking / problem.compressor if problem.compressor and missing else 0.0
    return Effort(minutes + problem.handling * loads + extra, loads, lacking, filled)


def score(problem: Problem, blocks: Sequence[Block], banks: Banks) -> Score:
    """The score of a sequence that leaves the banks at `banks`."""
    work = effort_of(problem, blocks)
    return Score(
        unfilled=len(problem.jobs) - work.filled,
        full_fills=problem.full_fills(banks),
        stored_above=stored_above(problem.volumes, banks, problem.highest_target),
        compressor_gas=work.lacking,
        handlings=work.loads,
        minutes=work.minutes,
    )


def fewest_loads(problem: Problem, blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The blocks with those of one fill pressure brought together as far as the banks allow.

    Two fills that open no bank in common may change places: the gas each gives and gets is the
    same. So a block follows every earlier one with which it shares a bank. Of those that may come
    next, one of the group at hand is taken; else the group of which most are ready.
    """
    before = [
        {n for n in range(number) if set(blocks[n].banks) & set(block.banks)}
        for number, block in enumerate(blocks)
    ]
    groups = [problem.jobs[block.jobs[0]].group for block in blocks]
    placed: list[int] = []
    done: set[int] = set()
    while len(placed) < len(blocks):
        ready = [n for n in range(len(blocks)) if n not in done and before[n] <= done]
        now = groups[placed[-1]] if placed else None
        run = Counter(groups[n] for n in ready)
        placed.append(min(ready, key=lambda n: (groups[n] != now, -run[groups[n]], n)))
        done.add(placed[-1])
    return tuple(blocks[n] for n in placed)
