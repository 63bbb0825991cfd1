"""Filling at one temperature and with one gas, on plain densities.

At one temperature and for one gas, equal pressure is equal density, and the gas in a vessel is its
volume times its density. So every balance here is linear, exact, and needs no equation of state:
densities are mol/L, volumes L, amounts mol. A *level* is the density that a cylinder, or several
opened together, has come to.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from operator import itemgetter
from typing import NamedTuple

TINY = 1e-9
"""Densities [mol/L] nearer than this are one level; a gauge would not tell a ten-thousandth."""


class Rung(NamedTuple):
    """Above the density `start`, `volume` litres of cylinder are rising together."""

    start: float
    volume: float


def ladder(cylinders: Sequence[tuple[float, float]]) -> tuple[Rung, ...]:
    """The rungs of cylinders (volume, start) that are opened together.

    The emptiest is opened first and each fuller one joins when the level has reached it, so none
    loses gas: what non-return valves would do by themselves.
    """
    rungs: list[Rung] = []
    volume = 0.0
    for start, litres in sorted((start, litres) for litres, start in cylinders):
        volume += litres
        if rungs and start <= rungs[-1].start:
            rungs.pop()
        rungs.append(Rung(start, volume))
    return tuple(rungs)


def open_to(
    bank_volume: float, density: float, rungs: Sequence[Rung], level: float, target: float
) -> tuple[float, float]:
    """Open a bank to cylinders at `level`: the level and the bank's density afterwards.

    Gas flows until the two are equal or the cylinders are at `target`, whichever is first.
    Nothing flows from a bank that is not above `level`.
    """
    if density <= level:
        return level, density
    for number, rung in enumerate(rungs):
        top = rungs[number + 1].start if number + 1 < len(rungs) else target
        top = min(top, target)
        if level >= top:
            continue
        equal = (bank_volume * density + rung.volume * level) / (bank_volume + rung.volume)
        if equal < top:
            return equal, equal
        density -= rung.volume * (top - level) / bank_volume
        level = top
    return level, density


def by_density(densities: Sequence[float]) -> list[int]:
    """The banks from the emptiest to the fullest; of equals, the first listed first."""
    return sorted(range(len(densities)), key=densities.__getitem__)


class StandardFill(NamedTuple):
    """The cylinder that full fills are counted in: volume [L], start and target [mol/L]."""

    volume: float
    start: float
    target: float

    @property
    def need(self) -> float:
        """The gas it takes [mol]."""
        return self.volume * (self.target - self.start)


def full_fills(volumes: Sequence[float], densities: Sequence[float], standard: StandardFill) -> int:
    """How many standard cylinders the banks still fill, emptiest bank first, none skipped.

    Each cylinder is opened to the emptiest bank above it, then the next, until it is full. The
    procedure is that of FAA AC 43.13-1B, paragraph 9-51a(2). The count ends at the first cylinder
    that does not come full.
    """
    volume, start, target = standard
    now = sorted(zip(densities, volumes, strict=True), key=itemgetter(0))
    count = 0
    while True:
        level = start
        sorted_still, last = True, 0.0
        for place, (density, size) in enumerate(now):
            if density > level:
                equal = (size * density + volume * level) / (size + volume)
                if equal >= target:
                    density -= volume * (target - level) / size
                    level = target
                else:
                    density = level = equal
                now[place] = density, size
            if density < last:
                sorted_still = False
            last = density
            if level >= target:
                break
        if level < target:
            return count
        count += 1
        if not sorted_still:
            now.sort(key=itemgetter(0))


def most_fills(
    volumes: Sequence[float],
    densities: Sequence[float],
    standard: StandardFill,
    made: Sequence[tuple[float, float]] = (),
) -> float:
    """A number of standard cylinders that no way of filling them exceeds.

    Gas that lifts a cylinder above some density can only come from a bank still above it, or from a
    compressor that reaches higher: `made` are the amounts [mol] that compressors give, each with
    the density [mol/L] it reaches. So for every density there must be, above it, what the cylinders
    take above it.
    """
    volume, start, target = standard
    fewest, litres, amount = inf, 0.0, 0.0
    banks = [(d, v, v * d) for v, d in zip(volumes, densities, strict=True)]
    feeds = [(top, 0.0, gives) for gives, top in made]
    # From the highest down: at each level, what is above it.
    for top, size, holds in sorted((*banks, *feeds), reverse=True):
        if top <= start:
            break
        if top < target:
            fewest = min(fewest, (amount - litres * top) / (target - top))
        litres += size
        amount += holds
    return min(fewest, (amount - litres * start) / (target - start)) / volume


def stored_above(volumes: Sequence[float], densities: Sequence[float], level: float) -> float:
    """The gas [mol] that the banks hold above the density `level`."""
    return sum(
        volume * (density - level)
        for volume, density in zip(volumes, densities, strict=True)
        if density > level
    )
