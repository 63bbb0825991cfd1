"""What a fill session could leave its banks with at best: a mass balance with pressures.

Written without the planner. It knows what the banks held, what they may be fed to, what the
compressor can have delivered, and what each cylinder had and got; not in which order, nor from where.
Densities are mol/L, volumes L, amounts mol, all at one temperature.

A bank ends with what it had, less what it gave, more what it was fed. Gas runs downhill: what lifts
a cylinder above a density comes from a bank that is above it, or from the compressor. So the banks
may be left at `e` only where, with R what the compressor gave and the banks do not hold,

    R = M - sum V (e - d)+ >= 0
    sum V [(d - x)+ - (min(e, d) - x)+] + R  >=  sum v [(h - x)+ - (s - x)+]     for every density x

and R is taken to have gone into the cylinders at just the pressure that was needed. Each bank may
have been opened and shut as often as one likes, to each cylinder when it is just below: no hand works
so, and no plan leaves more. Of all such states the one counts that fills most standard cylinders in
the way in which a plan counts them. All but one bank are tried on a grid, each taken to hold what
the next point of the grid would be; the last is worked out. So what is found is never too little.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from fill_search import Bank, Cylinder, States, count_fills

STEPS = {1: 1, 2: 600, 3: 90, 4: 34, 5: 16}
"""Points of the grid for each bank but the last, by how many banks there are."""


class Taken(NamedTuple):
    """A cylinder of the session: litres, what it had and what it got to."""

    litres: float
    start: float
    holds: float


def running(minutes: float, longest: float | None, rest: float) -> float:
    """Most minutes that a compressor runs of some, in stretches with rests between."""
    if longest is None:
        return minutes
    whole, left = divmod(minutes, longest + rest)
    return whole * longest + min(left, longest)


def most_left(
    banks: Sequence[Bank],
    limits: Sequence[float],
    delivered: float,
    taken: Sequence[Taken],
    standard: Cylinder,
) -> tuple[int, States]:
    """Most standard cylinders that the banks can be left good for, and the densities with which
    they are. A bank may hold what it had or its limit, whichever is more."""
    volumes = np.array([v for v, _ in banks], float)
    had = np.array([d for _, d in banks], float)
    most = np.maximum(had, np.minimum(limits, had + delivered / volumes))
    floor = min((t.start for t in taken), default=0.0)
    order = np.argsort(-volumes * most)  # the largest is worked out, the others are on the grid
    points = STEPS[len(banks)]
    axes = [np.linspace(0.0, most[b], points + 1)[:-1] for b in order[1:]]
    grid = np.meshgrid(*axes, indexing="ij") if axes else []
    count = grid[0].size if grid else 1
    lower = np.zeros((count, len(banks)))
    for b, values in zip(order[1:], grid, strict=True):
        lower[:, b] = values.ravel()
    upper = lower.copy()
    for b, axis in zip(order[1:], axes, strict=True):
        upper[:, b] += most[b] / points if len(axis) else 0.0
    last = order[0]
    low, high = np.zeros(count), np.full(count, most[last])
    lower[:, last] = high
    fits = _may_be(lower, volumes, had, delivered, taken, floor)
    lower[:, last] = 0.0
    some = _may_be(lower, volumes, had, delivered, taken, floor)
    for _ in range(40):
        middle = (low + high) / 2
        lower[:, last] = middle
        yes = _may_be(lower, volumes, had, delivered, taken, floor)
        low, high = np.where(yes, middle, low), np.where(yes, high, middle)
    upper[:, last] = np.where(fits, most[last], high)
    upper = upper[some]
    if not len(upper):
        return 0, had
    fills = count_fills(upper, volumes, standard)
    best = int(fills.argmax())
    return int(fills[best]), upper[best]


def _may_be(
    states: States,
    volumes: States,
    had: States,
    delivered: float,
    taken: Sequence[Taken],
    floor: float,
) -> States:
    """Whether the banks may be left so, for each of some states."""
    rest = delivered - (volumes * np.maximum(0.0, states - had)).sum(1)
    fits = rest >= -1e-9
    knots = {floor, *had, *(t.start for t in taken), *(t.holds for t in taken)}
    left = np.minimum(states, had)

    def enough(x: States) -> States:
        gave = volumes * (np.maximum(0.0, had - x) - np.maximum(0.0, left - x))
        wants = sum(
            t.litres * (np.maximum(0.0, t.holds - x) - np.maximum(0.0, t.start - x)) for t in taken
        )
        return np.asarray(gave.sum(1) + rest >= np.squeeze(wants) - 1e-9)

    for knot in sorted(knots):
        fits &= enough(np.full((1, 1), knot))
    for bank in range(states.shape[1]):  # what is given bends where a bank was left, too
        fits &= enough(left[:, bank : bank + 1])
    return np.asarray(fits)
