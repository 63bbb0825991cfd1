"""Fills and how they cool, in a physics that shares nothing with the program: gas and wall each at
one temperature, air by CoolProp (`hand.air`), small steps of time, many fills at once.

    gas   d(n u) = h dn - a_in A_in (T - T_wall) dt, its pressure rising evenly to the stop
    wall  C dT_wall = a_in A_in (T - T_wall) dt - a_out A_out (T_wall - T_room) dt

It comes from a bank without end, a quarter above the stop. kPa absolute, K, mol, L, seconds.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from hand import ATMOSPHERE, KPA_OF, OUTSIDE_TO_INSIDE, Floats, Nature, air, inside

PSI = KPA_OF["psi"]
TICK, SLOW_TICK, AT_REST = 0.5, 15.0, 480.0


@dataclass(frozen=True)
class Poured:
    """A fill: psi gauge from and to, minutes it took and was held, minutes after which it is read,
    litres, J/K of its wall, and the room [K]; the bank is so much warmer than that."""

    start: float
    stop: float
    minutes: float
    after: float
    held: float = 0.0
    litres: float = 11.1
    wall: float = 14.2 * 900.0
    room: float = 290.0
    bank: float = 0.0


def reads(fills: Sequence[Poured], natures: Sequence[Nature]) -> list[float]:
    """What the gauge of each shows when it is read [psi], each of its own nature."""
    gas = air()
    start = np.array([f.start * PSI + ATMOSPHERE for f in fills])
    stop = np.array([f.stop * PSI + ATMOSPHERE for f in fills])
    room = np.array([f.room for f in fills])
    litres = np.array([f.litres for f in fills])
    seconds = np.array([60 * f.minutes for f in fills])
    held = np.array([60 * f.held for f in fills])
    area = np.array([inside(f.litres) for f in fills])
    through = area * np.array([n.inner for n in natures])
    out = area * OUTSIDE_TO_INSIDE * np.array([n.outer for n in natures])
    capacity = np.array([f.wall * n.mass for f, n in zip(fills, natures, strict=True)])
    bank = np.array([f.bank for f in fills]) + room
    rho = np.array([_density(float(p), float(t)) for p, t in zip(start, room, strict=True)])
    source = np.array(
        [_density(1.25 * float(p), float(t)) for p, t in zip(stop, bank, strict=True)]
    )
    p, u, *_ = gas.at(source, bank)
    enthalpy = u + p / source
    kelvin, wall = room.copy(), room.copy()
    for now in np.arange(0.0, float((seconds + held).max()), TICK):
        rises = (now < seconds) * (stop - start) / seconds
        open_ = now < seconds + held
        p, u, p_rho, p_t, u_rho, u_t = gas.at(rho, kelvin)
        lost = through * (kelvin - wall)
        gains = (enthalpy - u - rho * u_rho) / (rho * u_t)
        cools = lost / (litres * rho * u_t)
        flow = (rises + p_t * cools) / (p_rho + p_t * gains) * open_
        rho = rho + flow * TICK
        kelvin = kelvin + (gains * flow - cools) * TICK * open_
        wall = wall + (lost - out * (wall - room)) / capacity * TICK * open_
    return _cooled(fills, rho, kelvin, wall, (through, out, capacity, litres, room))


def _cooled(
    fills: Sequence[Poured], rho: Floats, kelvin: Floats, wall: Floats, heat: Sequence[Floats]
) -> list[float]:
    """What each shows after its time: the gas follows its wall closely, the wall the room, till it
    is at rest."""
    gas, found = air(), np.zeros(len(fills))
    through, out, capacity, litres, room = heat
    after = np.array([60 * f.after if f.after < AT_REST else 0.0 for f in fills])
    for now in np.arange(0.0, float(after.max()) + SLOW_TICK, SLOW_TICK):
        p, _, _, _, _, u_t = gas.at(rho, kelvin)
        found = np.where(now <= after, p, found)
        share = litres * rho * u_t
        # the exchange between gas and wall is quicker than a tick: it is solved for its end
        meet = through * SLOW_TICK / (1 + through * SLOW_TICK * (1 / share + 1 / capacity))
        flow = meet * (kelvin - wall)
        kelvin = kelvin - flow / share
        wall = wall + (flow - out * (wall - room) * SLOW_TICK) / capacity
    rested = np.array([f.after >= AT_REST for f in fills])
    found = np.where(rested, gas.at(rho, room)[0], found)
    return [(float(p) - ATMOSPHERE) / PSI for p in found]


def _density(kpa: float, kelvin: float) -> float:
    return float(air().density(np.array([kpa]), kelvin)[0])


def drawn(
    seed: int, nature: Nature, count: int, delays: Sequence[float] = (600.0,), gauge: float = 20.0
) -> list[tuple[Poured, float]]:
    """Fills of one size by one nature, each with what was read, off by a gauge's error [psi]; the
    room, the bank and how long it took are each a little other than what is taken of them."""
    chance = random.Random(f"poured {seed}")
    fills = []
    for n in range(count):
        start = chance.choice((300, 500, 700, 1000))
        minutes = (2990 - start) / 400 * chance.uniform(0.9, 1.15)
        fills.append(Poured(start, 2990, minutes, delays[n % len(delays)], bank=chance.gauss(0, 2)))
    found = reads(fills, [nature] * count)
    return [(f, r + chance.gauss(0, gauge)) for f, r in zip(fills, found, strict=True)]
