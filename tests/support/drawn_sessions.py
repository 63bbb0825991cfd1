"""Fill sessions drawn by a seed, for the laws that every plan must keep. All are invented."""

from __future__ import annotations

import random
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from changing import replace
from hand import ATMOSPHERE, KPA_OF, Store, Tank, air

from tankbook.filling import (
    Demand,
    PlanBank,
    PlanCompressor,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
    plan,
    plan_day,
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
    RunningTime,
    Temperature,
    Volume,
)

AIR = Gas.parse("air")
AL, FE = Material.ALUMINIUM, Material.STEEL


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


def of_small_banks(seed: int) -> Session:
    """A cold station, every other one with a water bath, whose small banks just bring its cylinders
    to their target, or just do not: there the films decide where the flow stops."""
    chance = random.Random(f"small {seed}")
    unit = chance.choice(["psi", "bar"])
    scale = 1.0 if unit == "psi" else BAR
    kelvin, litres = 273.15 + chance.choice([0, 5, 10]), chance.choice([8, 10, 12, 15, 20])
    kind, start = chance.choice(US if unit == "psi" else EUROPEAN), chance.choice([0, 500, 1500])
    count, stores = chance.choice([1, 2]), chance.choice([1, 2, 3])
    target, begins = _target(kind.mark, unit, kelvin), start / scale
    gives = (target - begins) * kind.litres * count / litres
    if stores == 1:
        reads = [target + gives * chance.uniform(0.8, 1.1)]
    else:
        reads = [target + gives * 0.45 * chance.uniform(0.8, 1.2)] * stores
        reads[0] *= 0.6

    def pressure(value: float) -> GaugePressure:
        return GaugePressure.of(value, unit)

    return Session(
        gas=AIR,
        banks=tuple(
            PlanBank(
                label=f"B{n}",
                water_volume=Volume.of(litres, "L"),
                reading=pressure(min(round(each), 6500 / scale)),
                gas=AIR,
            )
            for n, each in enumerate(reads)
        ),
        vessels=tuple(
            Vessel(
                id=f"C{n}",
                water_volume=Volume.of(kind.litres, "L"),
                start=pressure(begins),
                target=pressure(target),
                marked=pressure(kind.mark),
                gas=AIR,
                material=kind.material,
                mass=None if kind.kilograms is None else Mass.of(kind.kilograms, "kg"),
            )
            for n in range(count)
        ),
        positions=tuple(Position(name=f"P{n}", kind=PositionKind.ENCLOSED) for n in range(2)),
        policy=StationPolicy(
            fill_rate=PressureRate.of(chance.choice([300, 600, 900]) / scale, f"{unit}/min"),
            wet=chance.random() < 0.5,
        ),
        ambient=Temperature.of(kelvin, "K"),
        standard=StandardCylinder(
            water_volume=Volume.of(11.1, "L"),
            start=pressure(500 / scale),
            target=pressure(2900 / scale),
        ),
        unit=unit,
    )


def odd(seed: int) -> Session:
    """The same with what is seldom met: positions without a valve or a bleed, a bank that must add
    much, a slow or a fast hand, a regulator left set, cylinders connected again, or equalized with each other."""
    chance, session = random.Random(f"odd {seed}"), invented(1000 + seed)
    yes_no = (True, None, None, False)
    places = tuple(
        replace(place, valve=chance.choice(yes_no), bleed=chance.choice(yes_no))
        for place in session.positions
    )
    lends = chance.random() < 0.4
    slower = chance.choice([0.25, 0.5, 1.0, 3.0])
    policy = replace(
        session.policy,
        fill_rate=PressureRate.of(
            session.policy.fill_rate.pa_per_s * 60 * slower / (1000 * KPA_OF[session.unit]),
            f"{session.unit}/min",
        ),
        most_top_offs=chance.choice([0, 0, 1, 2]),
        minimum_gain=GaugePressure.of(chance.choice([0, 0, 10, 40]), "bar"),
        handling=RunningTime.of(chance.choice([0, 4, 10]), "min"),
        non_return_valves=False if lends else None,
        wet=chance.random() < 0.2,
    )
    vessels = tuple(replace(v, own=lends) for v in session.vessels[:4])
    left = chance.choice([None, GaugePressure.of(100, "bar"), GaugePressure.of(320, "bar")])
    return replace(session, positions=places, policy=policy, vessels=vessels, regulator=left)


def pumped(seed: int) -> Session:
    """The same with a compressor that feeds the banks, each of which is rated; some must rest, some
    keep a cylinder that is too empty from being filled directly."""
    chance, session = random.Random(f"pumped {seed}"), invented(2000 + seed)
    scale = 1.0 if session.unit == "psi" else BAR

    def pressure(value: float) -> GaugePressure:
        return GaugePressure.of(value / scale, session.unit)

    highest = pressure(chance.choice([4000, 5000, 5000]))
    banks = tuple(
        replace(bank, limit=max(bank.reading, pressure(chance.choice([3500, 4500, 5000]))))
        for bank in session.banks
        if bank.reading is not None
    )
    rests = chance.random() < 0.4
    made = PlanCompressor(
        delivery=FreeGasFlow.of(chance.uniform(4, 20), "cuft/min"),
        max_pressure=highest,
        maintains=chance.choice([None, pressure(1800), pressure(2200)]),
        longest_run=RunningTime.of(chance.choice([20, 40, 60]), "min") if rests else None,
        rest=RunningTime.of(chance.choice([10, 20]), "min") if rests else None,
    )
    left = chance.choice([None, pressure(2500), pressure(4600)])
    return replace(session, banks=banks, compressor=made, regulator=left)


@cache
def planned(seed: int) -> tuple[Session, dict[str, Any]]:
    """A drawn session and the JSON of its plan."""
    session = invented(seed)
    return session, as_json(plan(session))


@cache
def oddly_planned(seed: int) -> tuple[Session, dict[str, Any]]:
    """An odd session and the JSON of its plan."""
    session = odd(seed)
    return session, as_json(plan(session))


# --- the facts that a hand knows of a session, in plain numbers

JOULES = {Material.ALUMINIUM: 900.0, Material.STEEL: 470.0}  # J/(kg K), shipped, copied
PER_LITRE = {Material.ALUMINIUM: 1.28, Material.STEEL: 1.21}  # kg, the same
FREE_KELVIN = {"psi": 294.261, "bar": 293.15}  # of free gas at 1 atm: 70 degF, 20 degC


def tanks_of(session: Session) -> list[Tank]:
    """The facts of the cylinders, in plain numbers."""
    unit, usual = session.unit, session.policy.fill_rate
    found = []
    for v in session.vessels:
        assert v.material is not None
        assert v.start is not None
        litres = v.water_volume.litres
        found.append(
            Tank(
                id=v.id,
                litres=litres,
                kilograms=PER_LITRE[v.material] * litres if v.mass is None else v.mass.kg,
                specific_heat=JOULES[v.material],
                start=v.start.to(unit),
                mark=v.marked.to(unit),
                rate=(v.fill_rate or usual).pa_per_s * 60 / 1000 / KPA_OF[unit],
            )
        )
    return found


def stores_of(session: Session) -> list[Store]:
    """The facts of the banks, in plain numbers."""
    return [
        Store(b.label, b.water_volume.litres, b.reading.to(session.unit))
        for b in session.banks
        if b.reading is not None
    ]


def delivered(session: Session) -> float:
    """What the compressor gives [mol/min]."""
    if session.compressor is None:
        return 0.0
    free = air().density(np.array([101.325]), FREE_KELVIN[session.unit])
    return session.compressor.delivery.litres_per_min * float(free[0])


def day_of(seed: int) -> tuple[Session, dict[str, Demand]]:
    """A session with a compressor, and hours at which its cylinders come and are needed."""
    chance, session = random.Random(f"day {seed}"), pumped(seed)
    found = {}
    for vessel in session.vessels:
        comes = chance.choice([0.0, 0.0, 60.0, 150.0])
        needed = chance.choice([None, comes + 45.0, comes + 90.0, 400.0])
        found[vessel.id] = Demand(comes=comes, needed=needed)
    return session, found


@cache
def planned_day(seed: int) -> tuple[Session, dict[str, Any]]:
    """A drawn session spread over a day and the JSON of its plan."""
    session, demands = day_of(seed)
    return session, as_json(plan_day(session, demands))


@cache
def planned_pumping(seed: int) -> tuple[Session, dict[str, Any]]:
    """A drawn session with a compressor and the JSON of its plan."""
    session = pumped(seed)
    return session, as_json(plan(session))
