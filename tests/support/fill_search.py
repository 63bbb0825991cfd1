"""Every way of filling a few cylinders from a few banks, tried one after the other.

Written from the moves and the objective of docs/fill-planning.md alone, without importing the
planner: what the planner finds is measured against it. A cylinder is (volume L, start, target),
a bank (volume L, density), densities in mol/L; a cylinder is standard when fills are counted.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Cylinder = tuple[float, float, float]
Bank = tuple[float, float]
States = NDArray[np.float64]

EPS = 1e-9


class Best(NamedTuple):
    """The first three terms of the objective at their best, and the states looked at."""

    unfilled: int
    full_fills: int
    stored_above: float
    states: int


def most_gas(
    banks: Sequence[Bank],
    cylinders: Sequence[Cylinder],
    standard: Cylinder,
    minimum_gain: float = 0.0,
) -> Best:
    """The best of all orders of the cylinders and all choices of banks for each.

    Memoised: of ways that lead to the same cylinders full and the same banks one is followed.
    """
    volumes = np.array([v for v, _ in banks], float)
    front: dict[int, States] = {0: np.array([[d for _, d in banks]], float)}
    filled = states = 0
    for count in range(len(cylinders)):
        grown: dict[int, list[States]] = {}
        for done, now in front.items():
            for number in _next(cylinders, done):
                after = _fill(now, volumes, cylinders[number], minimum_gain)
                if len(after):
                    grown.setdefault(done | 1 << number, []).append(after)
        if not grown:
            break
        front = {done: _distinct(np.concatenate(parts)) for done, parts in grown.items()}
        states += sum(map(len, front.values()))
        filled = count + 1
    highest = max(target for _, _, target in cylinders)
    found = []
    for now in front.values():
        fills = count_fills(now, volumes, standard)
        above = (volumes * np.maximum(0.0, now - highest)).sum(axis=1)
        most = fills.max()
        found.append((int(most), float(above[fills == most].max())))
    return Best(len(cylinders) - filled, *max(found), states)


def _next(cylinders: Sequence[Cylinder], done: int) -> Iterator[int]:
    """The cylinders not yet full; of cylinders just alike only the first."""
    seen = set()
    for number, cylinder in enumerate(cylinders):
        if not done >> number & 1 and cylinder not in seen:
            seen.add(cylinder)
            yield number


def _distinct(states: States) -> States:
    """The states without repeats, told apart to 1e-8 mol/L by a hash of the rounded numbers."""
    rounded = np.round(states * 1e8).astype(np.int64)
    mixed = np.zeros(len(states), np.int64)
    for column, prime in zip(rounded.T, (1000003, 998244353, 1144066919, 2147483647), strict=False):
        mixed = mixed * np.int64(6364136223846793005) + column * np.int64(prime)
    return states[np.unique(mixed, return_index=True)[1]]


def _fill(states: States, volumes: States, cylinder: Cylinder, gain: float) -> States:
    """The banks after filling a cylinder from each choice of banks that fills it."""
    volume, start, target = cylinder
    order = np.argsort(states, axis=1, kind="stable")
    sorted_states = np.take_along_axis(states, order, 1)
    sorted_volumes = volumes[order]
    found: list[States] = []

    def follow(first: int, level: States, now: States, sizes: States, index: States) -> None:
        for place in range(first, states.shape[1]):
            higher = now[:, place] > level + EPS
            if not higher.any():
                continue
            here, size, rows, at = now[higher], sizes[higher], index[higher], level[higher]
            equal = (size[:, place] * here[:, place] + volume * at) / (size[:, place] + volume)
            full = equal >= target - EPS
            if full.any():
                done = here[full].copy()
                done[:, place] -= volume * (target - at[full]) / size[full][:, place]
                banks = np.empty_like(done)
                np.put_along_axis(banks, rows[full], done, 1)
                found.append(banks)
            on = ~full & (equal - at >= gain)
            if on.any() and place + 1 < states.shape[1]:
                rest = here[on].copy()
                rest[:, place] = equal[on]
                follow(place + 1, equal[on], rest, size[on], rows[on])

    follow(0, np.full(len(states), start), sorted_states, sorted_volumes, order)
    return np.concatenate(found) if found else np.empty((0, states.shape[1]))


def count_fills(states: States, volumes: States, standard: Cylinder) -> NDArray[np.int64]:
    """Full fills of the standard cylinder, emptiest bank first, none skipped, for every state."""
    volume, start, target = standard
    now, count, alive = states.copy(), np.zeros(len(states), np.int64), np.arange(len(states))
    while len(alive):
        order = np.argsort(now, axis=1, kind="stable")
        density, size = np.take_along_axis(now, order, 1), volumes[order]
        level, full = np.full(len(now), start), np.zeros(len(now), bool)
        for place in range(now.shape[1]):
            flows = ~full & (density[:, place] > level)
            equal = (size[:, place] * density[:, place] + volume * level) / (
                size[:, place] + volume
            )
            done = flows & (equal >= target)
            part = flows & ~done
            left = density[:, place] - volume * (target - level) / size[:, place]
            density[:, place] = np.where(done, left, np.where(part, equal, density[:, place]))
            level = np.where(part, equal, level)
            full |= done
        alive, density, order = alive[full], density[full], order[full]
        count[alive] += 1
        now = np.empty_like(density)
        np.put_along_axis(now, order, density, 1)
    return count


def least_minutes(
    banks: Sequence[Bank],
    cylinders: Sequence[Cylinder],
    *,
    places: int,
    handling: float,
    rate: float,
) -> tuple[int, float]:
    """The fewest cylinders unfilled, and the fewest minutes at which so few are.

    Cylinders of one target may share a load, up to `places`, and any of them may be opened
    together; the fuller join when the level reaches them. A load costs `handling` minutes, an
    opening the rise of its emptiest cylinder over `rate` [mol/L a minute].
    """
    standard = cylinders[0]
    unfilled = most_gas(banks, cylinders, standard).unfilled
    search = _Soonest(banks, cylinders, places, handling, rate, len(cylinders) - unfilled)
    search.go(0, tuple(d for _, d in banks), 0.0, None, 0)
    return unfilled, search.best


class _Soonest:
    """Depth first, with a bound on what is left, over blocks of cylinders opened together."""

    def __init__(
        self,
        banks: Sequence[Bank],
        cylinders: Sequence[Cylinder],
        places: int,
        handling: float,
        rate: float,
        wanted: int,
    ) -> None:
        self.volumes = [v for v, _ in banks]
        self.cylinders, self.places, self.wanted = cylinders, places, wanted
        self.handling, self.rate = handling, rate
        self.best = float("inf")
        self.seen: dict[tuple[object, ...], float] = {}

    def go(
        self, done: int, banks: tuple[float, ...], minutes: float, target: float | None, used: int
    ) -> None:
        if done.bit_count() == self.wanted:
            self.best = min(self.best, minutes)
            return
        key = (done, tuple(round(d, 7) for d in banks), target, used)
        if self.seen.get(key, float("inf")) <= minutes:
            return
        self.seen[key] = minutes
        if minutes + self.bound(done, target, used) >= self.best - 1e-9:
            return
        left = [n for n in range(len(self.cylinders)) if not done >> n & 1]
        for size in range(min(self.places, len(left)), 0, -1):
            for block in itertools.combinations(left, size):
                self.open(done, banks, minutes, target, used, block)

    def open(
        self,
        done: int,
        banks: tuple[float, ...],
        minutes: float,
        target: float | None,
        used: int,
        block: tuple[int, ...],
    ) -> None:
        wants = {self.cylinders[n][2] for n in block}
        if len(wants) > 1:
            return
        (wanted,) = wants
        joins = wanted == target and used + len(block) <= self.places
        start = min(self.cylinders[n][1] for n in block)
        spent = (wanted - start) / self.rate + (0.0 if joins else self.handling)
        if minutes + spent >= self.best - 1e-9:
            return
        now = (used if joins else 0) + len(block)
        bits = sum(1 << n for n in block)
        for after in set(self.ways(banks, [self.cylinders[n] for n in block])):
            self.go(done | bits, after, minutes + spent, wanted, now)

    def ways(
        self, banks: tuple[float, ...], block: Sequence[Cylinder]
    ) -> Iterator[tuple[float, ...]]:
        target = block[0][2]
        order = sorted(range(len(banks)), key=lambda b: banks[b])

        def follow(first: int, level: float, now: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
            for place in range(first, len(order)):
                bank = order[place]
                if now[bank] <= level + EPS:
                    continue
                risen, left = _poured(self.volumes[bank], now[bank], block, level, target)
                after = (*now[:bank], left, *now[bank + 1 :])
                if risen >= target - EPS:
                    yield after
                else:
                    yield from follow(place + 1, risen, after)

        yield from follow(0, min(s for _, s, _ in block), banks)

    def bound(self, done: int, target: float | None, used: int) -> float:
        """What is left takes at least this long, were the banks without end."""
        if self.wanted < len(self.cylinders):
            return 0.0
        total = 0.0
        needs: dict[float, list[float]] = {}
        for number, (_, start, wanted) in enumerate(self.cylinders):
            if not done >> number & 1:
                needs.setdefault(wanted, []).append((wanted - start) / self.rate)
        for wanted, times in needs.items():
            times.sort(reverse=True)
            total += sum(times[:: self.places])
            free = self.places - used if wanted == target else 0
            total += self.handling * max(0, -(-(len(times) - free) // self.places))
        return total


def _poured(
    bank_volume: float, density: float, block: Sequence[Cylinder], level: float, target: float
) -> tuple[float, float]:
    """The common level that a bank brings cylinders to, by halving the interval it lies in."""
    gas = bank_volume * density

    def taken(to: float) -> float:
        return sum(v * (max(s, to) - max(s, level)) for v, s, _ in block)

    if (gas - taken(target)) / bank_volume >= target:
        return target, (gas - taken(target)) / bank_volume
    low, high = level, min(target, density)
    for _ in range(100):
        middle = (low + high) / 2
        if middle in {low, high}:
            break  # no number lies between them
        if (gas - taken(middle)) / bank_volume > middle:
            low = middle
        else:
            high = middle
    return low, (gas - taken(low)) / bank_volume
