"""Putting a sequence of fills into fewer loads without changing what comes of it.

Two fills that open no bank in common may change places: the gas each gives and gets is the same.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankbook.filling.problem import Block, Problem


def fewest_loads(problem: Problem, blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The blocks with those of one fill pressure brought together as far as the banks allow.

    A block follows every earlier one with which it shares a bank. Of those that may come next,
    one of the group at hand is taken; else the group of which most are ready.
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
        placed.append(min(ready, key=lambda n: (groups[n] != now, -_run(n, ready, groups), n)))
        done.add(placed[-1])
    return tuple(blocks[n] for n in placed)


def _run(number: int, ready: Sequence[int], groups: Sequence[int]) -> int:
    return sum(1 for other in ready if groups[other] == groups[number])
