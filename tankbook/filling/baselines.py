"""Ways of working that a plan is compared with: a fixed rule for which bank comes next."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tankbook.filling.levels import TINY, open_to
from tankbook.filling.problem import Answer, Banks, Block, Problem, score

Rule = Callable[[Banks], Sequence[int]]
"""Given what the banks hold, the order in which they are opened."""


def highest_first(banks: Banks) -> list[int]:
    """The fullest bank first: how a cascade is wasted."""
    return sorted(range(len(banks)), key=lambda bank: (-banks[bank], bank))


def lowest_first(banks: Banks) -> list[int]:
    """The emptiest bank first."""
    return sorted(range(len(banks)), key=lambda bank: (banks[bank], bank))


def as_listed(banks: Banks) -> list[int]:
    """The banks as the station lists them, whatever they hold."""
    return list(range(len(banks)))


def by_rule(problem: Problem, rule: Rule) -> Answer:
    """Fill the cylinders in turn, in the order of the queue, each from the banks as `rule` says.

    A bank that is not above the cylinder is passed over. A cylinder that does not come full
    keeps what it got: the gas is spent. Where there is a compressor it is connected in any case.
    """
    banks, blocks = problem.densities, []
    for number, job in enumerate(problem.jobs):
        rungs, level = problem.rungs((number,)), job.start
        opened: list[int] = []
        for bank in rule(banks):
            if banks[bank] <= level + TINY or level >= job.target - TINY:
                continue
            level, left = open_to(problem.volumes[bank], banks[bank], rungs, level, job.target)
            banks = (*banks[:bank], left, *banks[bank + 1 :])
            opened.append(bank)
        if opened or problem.compressor:
            blocks.append(Block((number,), tuple(opened), level))
    return Answer(tuple(blocks), banks, score(problem, blocks, banks))
