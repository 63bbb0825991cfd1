"""What a fill session could leave its banks with at best: a mass balance with pressures.

Written without the planner. It knows what the banks held, what they may be fed to, what the
compressor can have delivered, and what each cylinder had and got; not in which order, nor from where.
Densities are mol/L, volumes L, amounts mol, all at one temperature.

A bank ends with what it had, less what it gave, more what it was fed. Gas runs downhill: what lifts
a cylinder above a density comes from a bank that is above it, or from the compressor. So the banks
may be left at `e` only where, with R what the compressor gave and the banks do not hold,

    R = M - sum V (e - d)+ >= 0
    sum V [(d - x)+ - (min(e, d) - x)+] + R  >=  sum v [(h - x)+ - (s - x)+]     for every density x

without the R where x is not below what the compressor reaches: its gas lifts nothing above that, be
it let in directly or by way of a bank. Else R is taken to have gone into the cylinders at just the
pressure that was needed. A bank that ends above what it had was fed, and one that is changed over k
times feeds k + 1 banks: no more of them may end so. Each bank may
have been opened and shut as often as one likes, to each cylinder when it is just below: no hand works
so, and no plan leaves more. Of all such states the one counts that fills most standard cylinders in
the way in which a plan counts them. All but one bank are tried on a grid, each taken to hold what
the next point of the grid would be; the last is worked out. More gas may count for a fill less,
since the emptiest bank above is opened first and none is skipped; so both ends of a cell are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
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
    *,
    top: float = inf,
    changes: int | None = None,
    also: Sequence[float] = (),
) -> tuple[int, States]:
    """Most standard cylinders that the banks can be left good for, and the densities with which
    they are. A bank may hold what it had or its limit, whichever is more. The compressor reaches
    `top` and is changed over from bank to bank `changes` times at most, None for as often as one
    likes. `also` is a state that is counted beside those of the grid, where the balance allows it:
    one gas model may differ from another by three thousandths of what was made."""
    most_fed = len(banks) if changes is None else changes + 1
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

    def may_be(states: States) -> States:
        balanced = _may_be(states, volumes, had, delivered, taken, floor, top)
        return np.asarray(balanced & ((states > had + 1e-9).sum(1) <= most_fed))

    low, high = np.zeros(count), np.full(count, most[last])
    lower[:, last] = high
    fits = may_be(lower)
    lower[:, last] = 0.0
    some = may_be(lower)
    for _ in range(40):
        middle = (low + high) / 2
        lower[:, last] = middle
        yes = may_be(lower)
        low, high = np.where(yes, middle, low), np.where(yes, high, middle)
    upper[:, last] = np.where(fits, most[last], high)
    upper = upper[some]
    if not len(upper):
        return 0, had
    left = np.array([also], float) if len(also) else upper[:0]
    made = 1.003 * delivered
    left = left[_may_be(left, volumes, had, made, taken, floor, top)] if len(left) else left
    corners = np.concatenate([upper, lower[some], left])
    fills = count_fills(corners, volumes, standard)
    best = int(fills.argmax())
    return int(fills[best]), corners[best]


def _may_be(
    states: States,
    volumes: States,
    had: States,
    delivered: float,
    taken: Sequence[Taken],
    floor: float,
    top: float,
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
        made = np.where(np.squeeze(x) < top - 1e-9, rest, 0.0)
        return np.asarray(gave.sum(1) + made >= np.squeeze(wants) - 1e-9)

    knots |= {top} if top < inf else set()
    for knot in sorted(knots):
        fits &= enough(np.full((1, 1), knot))
    for bank in range(states.shape[1]):  # what is given bends where a bank was left, too
        fits &= enough(left[:, bank : bank + 1])
    return np.asarray(fits)
