"""Plans carried out by a hand that knows only their moves, in an independent physics of fills.

`hand.py` shares nothing with the program. Its films and walls are the shipped ones, copied as
numbers, or drawn within their bands. All sessions are invented.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import pytest
import reference as cp
from hand import ATMOSPHERE, KPA_OF, Hand, Nature, Store, Tank, Worked, air, changes

from tankbook.filling import (
    PlanBank,
    PlanCompressor,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
    plan,
)
from tankbook.filling.plan_form import as_json
from tankbook.gas import Gas
from tankbook.records.station import Position
from tankbook.records.words import Material, PositionKind
from tankbook.units import (
    FreeGasFlow,
    GaugePressure,
    Mass,
    PressureRate,
    Temperature,
    Volume,
)

USUALLY, AT_LENGTH = 25, 400
ACCEPTED_LOSS = 0.05

AIR = Gas.parse("air")
AL, FE = Material.ALUMINIUM, Material.STEEL
JOULES = {AL: 900.0, FE: 470.0}  # J/(kg K), of the shipped figures, copied
PER_LITRE = {AL: 1.28, FE: 1.21}  # kg, the same


class Kind(NamedTuple):
    """A size of cylinder: litres, material, mark, and kilograms where it is weighed. Invented."""

    litres: float
    material: Material
    mark: float
    kilograms: float | None = None


US = (
    Kind(11.1, AL, 3000, 14.2), Kind(11.1, AL, 3000), Kind(9.0, AL, 3000, 12.1),
    Kind(2.7, AL, 3000, 3.7), Kind(13.0, FE, 2640), Kind(15.0, FE, 2640, 18.2),
    Kind(12.9, FE, 3442, 15.4), Kind(10.2, FE, 3442),
)  # fmt: skip
EUROPEAN = (
    Kind(12.0, FE, 232, 14.5), Kind(15.0, FE, 232), Kind(10.0, FE, 300, 16.5),
    Kind(7.0, FE, 300), Kind(3.0, FE, 232), Kind(12.0, AL, 232, 16.0),
)  # fmt: skip
SMALL, REFERENCE_KELVIN = 5.0, {"psi": 294.261, "bar": 288.15}
BAR = 14.5037738


def invented(seed: int) -> Session:
    """A station and its queue, drawn by the seed."""
    chance = random.Random(f"hand {seed}")
    unit = chance.choice(["psi", "psi", "bar"])
    scale = 1.0 if unit == "psi" else BAR
    kelvin = (chance.uniform(55, 95) + 459.67) / 1.8
    kinds = US if unit == "psi" else EUROPEAN
    kinds = tuple(chance.sample(kinds, chance.choice([1, 2, 2, 3])))
    rate = chance.uniform(200, 600) / scale

    def pressure(value: float) -> GaugePressure:
        return GaugePressure.of(value, unit)

    def vessel(number: int, kind: Kind) -> Vessel:
        start = chance.choice([0.0, 500.0, chance.uniform(0, 2000)]) / scale
        small = kind.litres < SMALL
        return Vessel(
            id=f"C{number}",
            water_volume=Volume.of(kind.litres, "L"),
            start=pressure(start),
            target=pressure(_target(kind.mark, unit, kelvin)),
            marked=pressure(kind.mark),
            gas=AIR,
            material=kind.material,
            mass=None if kind.kilograms is None else Mass.of(kind.kilograms, "kg"),
            fill_rate=PressureRate.of(rate / 2, f"{unit}/min") if small else None,
        )

    banks = tuple(
        PlanBank(
            label=f"B{n}",
            water_volume=Volume.of(chance.uniform(40, 100), "L"),
            reading=pressure(chance.uniform(500, 5600) / scale),
            gas=AIR,
        )
        for n in range(chance.choice([1, 2, 2, 3, 3, 4]))
    )
    size = chance.choice([1, 2, 3, 3, 4, 4, 5, 6, 7, 9])
    vessels = tuple(vessel(n, chance.choice(kinds)) for n in range(size))
    places = chance.choice([1, 2, 3, 4])
    pumps = chance.random() < 0.15
    return Session(
        gas=AIR,
        banks=banks,
        vessels=vessels,
        positions=tuple(Position(name=f"P{n}", kind=PositionKind.ENCLOSED) for n in range(places)),
        policy=StationPolicy(fill_rate=PressureRate.of(rate, f"{unit}/min")),
        ambient=Temperature.of(kelvin, "K"),
        standard=StandardCylinder(
            water_volume=Volume.of(11.1, "L"),
            start=pressure(500 / scale),
            target=pressure(2900 / scale),
        ),
        compressor=PlanCompressor(
            delivery=FreeGasFlow.of(7, "cuft/min"), max_pressure=pressure(5000 / scale)
        )
        if pumps
        else None,
        unit=unit,
    )


def _target(mark: float, unit: str, kelvin: float) -> float:
    """The mark at its reference temperature, carried to ambient; never above the mark."""
    kpa = mark * KPA_OF[unit] + ATMOSPHERE
    rho = air().density(np.array([kpa]), REFERENCE_KELVIN[unit])
    at_ambient = (air().pressure(rho, kelvin)[0] - ATMOSPHERE) / KPA_OF[unit]
    return min(mark, float(at_ambient))


def tanks_of(session: Session) -> list[Tank]:
    """The facts of the cylinders, in plain numbers."""
    unit, usual = session.unit, session.policy.fill_rate
    return [
        Tank(
            id=v.id,
            litres=v.water_volume.litres,
            kilograms=v.mass.kg
            if v.mass is not None
            else PER_LITRE[v.material or AL] * v.water_volume.litres,
            specific_heat=JOULES[v.material or AL],
            start=v.start.to(unit) if v.start is not None else 0.0,
            mark=v.marked.to(unit),
            rate=(v.fill_rate or usual).pa_per_s * 60 / 1000 / KPA_OF[unit],
        )
        for v in session.vessels
    ]


def stores_of(session: Session) -> list[Store]:
    """The facts of the banks, in plain numbers."""
    return [
        Store(b.label, b.water_volume.litres, b.reading.to(session.unit))
        for b in session.banks
        if b.reading is not None
    ]


def natures(seed: int, count: int) -> list[Nature]:
    """The usual nature, then some drawn within the bands."""
    chance = random.Random(f"nature {seed}")
    drawn = [
        Nature(chance.uniform(75, 300), chance.uniform(5, 15), chance.uniform(0.9, 1.1))
        for _ in range(count)
    ]
    return [Nature(), *drawn]
