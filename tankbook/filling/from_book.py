"""From the records of cylinders, and the gate's answers, to what a session is planned with.

What a record leaves out is taken as each docstring says, and told as an assumption of the plan.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from tankbook.filling.figures import SMALL
from tankbook.filling.heat import Wall, wall_of
from tankbook.filling.nouns import CylinderKind, PlanError, Vessel
from tankbook.filling.wish import Case
from tankbook.gas import Gas, at_temperature
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.kinds import EMPTY
from tankbook.records.rulerow import TradeSize
from tankbook.records.words import Isolator, Material
from tankbook.rules.fill_history import contents_of, sets_with
from tankbook.rules.gate import may_fill
from tankbook.rules.volume import water_volume_of
from tankbook.units import (
    GaugePressure,
    Length,
    Mass,
    PressureRate,
    Temperature,
    Volume,
)

FITS = Length.of(0, "mm")
"""Stands for a diameter or length that is not on record: it is taken to fit, and told."""

NITROX40 = Gas.parse("nitrox40")
NOT_CLEAN = frozenset({"oxygen-clean-never", "oxygen-clean-lost", "oxygen-clean-lapsed"})
"""The gate's codes for a cylinder that is not oxygen-clean."""


def reading_of(
    book: Book, id_: str, ambient: Temperature
) -> tuple[GaugePressure | None, Gas | None, dt.date | None]:
    """What a cylinder or set was last known to hold, as its gauge shows it at `ambient`, and the
    day of that. A temperature not recorded is taken as `ambient`."""
    held = contents_of(book, id_)
    pressure = held.pressure
    if pressure is not None and held.gas is not None and held.temperature is not None:
        pressure = at_temperature(held.gas.mixture, pressure, held.temperature, ambient)
    return pressure, held.gas, held.on


def gas_in(book: Book, id_: str, start: GaugePressure | None, wanted: Gas) -> Gas | None:
    """The gas a cylinder holds by the log; an empty one counts as holding what it will be given,
    for an atmosphere of any gas is lost in a fill."""
    held = contents_of(book, id_).gas
    if held is None and start is not None and start < EMPTY:
        return wanted
    return held


def is_oxygen_clean(book: Book, id_: str, today: dt.date) -> bool:
    """Whether the rules in force know of nothing against it: cleaned, and not lost since."""
    answer = may_fill(book, id_, today, NITROX40, station=False)
    return not any(reason.code in NOT_CLEAN for reason in answer.reasons)


def vessel_of(
    book: Book,
    case: Case,
    today: dt.date,
    unit: str,
    rate: PressureRate,
    most: GaugePressure | None = None,
) -> Vessel:
    """A cylinder or set as the gate answers for it.

    Its marked pressure is the limit that the rules allow, a plus mark's share included, or what the
    lowest part on the way stands; one marked in the other unit is rounded down to what a regulator
    can be set to. `most` lowers the target.

    Raises:
        PlanError: its water volume is not recorded.
    """
    answer = case.answered.answer
    assert answer.limit is not None
    assert answer.target is not None
    sides = book.sides(answer.id)
    top = answer.ceiling.pressure if answer.ceiling else answer.limit.pressure
    marked = _settable(top, unit)
    targets = [marked, answer.target, *([most] if most else [])]
    volume = _volume(book, sides)
    return Vessel(
        id=answer.id,
        water_volume=volume,
        start=case.start,
        target=min(targets),
        marked=marked,
        gas=case.gas,
        own=not any(map(is_customers, sides)),
        doubles=answer.id in book.sets,
        side=answer.id not in book.sets and bool(sets_with(book).get(answer.id)),
        isolator=_isolator(book, answer.id),
        clean_state=_clean_state(book, answer.id, sides, today),
        diameter=_diameter(book, sides[0]) or FITS,
        length=sides[0].length or FITS,
        material=_material(book, sides[0]),
        mass=_mass(book, sides),
        fill_rate=rate_by_size(book, sides[0]) or (_slower(rate) if volume < SMALL else rate),
    )


def _isolator(book: Book, id_: str) -> Isolator | None:
    """How the isolator of doubles stands on record, or of those that a cylinder is a side of."""
    its = (s for s in book.sets.values() if id_ == s.id or id_ in s.cylinders)
    return next((each.isolator for each in its), None)


def rate_by_size(book: Book, side: Cylinder) -> PressureRate | None:
    """The station's rate for its size, where it has one."""
    rates = book.station.fill_rates if book.station else ()
    return next((each.rate for each in rates if each.size == side.size), None)


def sizes_unknown(book: Book, id_: str) -> bool:
    """Whether its length or diameter is nowhere recorded."""
    side = book.sides(id_)[0]
    return side.length is None or _diameter(book, side) is None


def is_small(book: Book, id_: str) -> bool:
    """Whether it is filled slower for its size, and no rate is on record for that."""
    if rate_by_size(book, book.sides(id_)[0]):
        return False
    try:
        return _volume(book, book.sides(id_)) < SMALL
    except PlanError:
        return False


def wall_assumed(book: Book, id_: str) -> bool:
    """Whether the mass of its wall is taken from its material and volume."""
    return _mass(book, book.sides(id_)) is None


class HeatFacts(NamedTuple):
    """What heat meets in a cylinder or set: its water volume and wall, and those that are alike."""

    kind: CylinderKind
    volume: Volume
    wall: Wall


def heat_facts(book: Book, id_: str) -> HeatFacts | None:
    """What heat meets in a cylinder or set; None where its water volume is not recorded."""
    sides = book.sides(id_)
    try:
        volume = _volume(book, sides)
    except PlanError:
        return None
    material, count = _material(book, sides[0]), 2 if id_ in book.sets else 1
    wall = wall_of(volume, material, _mass(book, sides), count)
    return HeatFacts(CylinderKind.of(volume, material, count), volume, wall)


def fill_rate_of(book: Book, id_: str, rate: PressureRate) -> PressureRate:
    """How fast a cylinder is filled: as the station has it for its size, else slower if small."""
    return rate_by_size(book, book.sides(id_)[0]) or (
        _slower(rate) if is_small(book, id_) else rate
    )


def _settable(pressure: GaugePressure, unit: str) -> GaugePressure:
    if pressure.unit == unit:
        return pressure
    steps = 1 if unit == "psi" else 10
    return GaugePressure.of(int(pressure.to(unit) * steps + 1e-6) / steps, unit)


def _volume(book: Book, sides: list[Cylinder]) -> Volume:
    total = 0.0
    for side in sides:
        volume = water_volume_of(book, side)
        if volume is None:
            raise PlanError(
                f"the water volume of {side.id} is not recorded",
                "add `water_volume: 11.1 L`, or `size:` or `rated:`, to its file",
            )
        total += volume.volume.litres
    return Volume.of(total, "L")


def _clean_state(book: Book, id_: str, sides: list[Cylinder], today: dt.date) -> str:
    service = sides[0].service
    if service is None or service.value == "air" or not is_oxygen_clean(book, id_, today):
        return "air"
    return service.value


def _diameter(book: Book, side: Cylinder) -> Length | None:
    size = _row(book, side)
    return side.diameter or (size.diameter if size else None)


def _material(book: Book, side: Cylinder) -> Material | None:
    size = _row(book, side)
    return side.material or (size.material if size else None)


def _mass(book: Book, sides: list[Cylinder]) -> Mass | None:
    masses = [side.mass or (row.mass if (row := _row(book, side)) else None) for side in sides]
    known = [mass.kg for mass in masses if mass is not None]
    return Mass.of(sum(known), "kg") if len(known) == len(sides) else None


def _row(book: Book, side: Cylinder) -> TradeSize | None:
    return book.sizes.get(side.size) if side.size else None


def _slower(rate: PressureRate) -> PressureRate:
    return PressureRate.of(rate.to(rate.unit) / 2, rate.unit)
