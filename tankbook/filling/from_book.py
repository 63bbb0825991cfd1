"""From the records to what a session is planned with: banks, positions, gauges, cylinders.

Each function takes records, and the gate's answer where one is needed, and gives a filling noun.
What a record leaves out is taken as its docstring says, and told as an assumption of the plan.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from tankbook.filling.errors import PlanError
from tankbook.filling.nouns import (
    Bank,
    Compressor,
    Gauge,
    Position,
    PositionKind,
    Standard,
    StationPolicy,
    Vessel,
)
from tankbook.filling.wall import WallMaterial
from tankbook.gas import Gas, at_temperature
from tankbook.records import station as records
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import TradeSize
from tankbook.records.settings import Settings
from tankbook.records.station import that_stand
from tankbook.records.words import Grade, OpenWhip, Use
from tankbook.records.words import PositionKind as Kind
from tankbook.rules.answers import Limit, MayFill
from tankbook.rules.board import READING_AGE
from tankbook.rules.contents import EMPTY, contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.limits import cold_target
from tankbook.rules.volume import volume_of_size, water_volume_of
from tankbook.units import (
    GaugePressure,
    Length,
    Mass,
    PartialDate,
    PressureRate,
    RunningTime,
    Temperature,
    Volume,
)

FITS = Length.of(0, "mm")
"""Stands for a diameter or length that is not on record: it is taken to fit, and told."""

USUAL_RATE = {"psi": PressureRate.of(400, "psi/min"), "bar": PressureRate.of(28, "bar/min")}
"""The fill rate where the station names none (common practice, no source)."""

SMALL = Volume.of(5, "L")
"""A cylinder below this is filled at half the rate (common practice, no source)."""

STANDARD_START = {"psi": GaugePressure.of(500, "psi"), "bar": GaugePressure.of(35, "bar")}
"""What a standard cylinder comes back with (common practice, no source)."""

STANDARD_SIZE = "al80"
STANDARD_MARK = GaugePressure.of(3000, "psi")
"""The standard cylinder where the settings or its size row name none."""

NITROX40 = Gas.parse("nitrox40")
NOT_CLEAN = frozenset({"oxygen-clean-never", "oxygen-clean-lost"})
"""The gate's codes for a cylinder that is not oxygen-clean."""


# --- the station


def banks_of(
    station: records.Station,
    settings: Settings,
    today: dt.date,
    read: Mapping[str, GaugePressure],
) -> tuple[Bank, ...]:
    """The banks whose gas is recorded, each as read now (`read`) or as last recorded.

    Raises:
        PlanError: `read` names no bank, or a pressure above a bank's working pressure.
    """
    _check_readings(station, read)
    return tuple(_bank(bank, settings, today, read) for bank in station.banks if bank.gas)


def _bank(
    bank: records.Bank, settings: Settings, today: dt.date, read: Mapping[str, GaugePressure]
) -> Bank:
    last = next(iter(reversed(that_stand(bank.readings))), None)
    now = read.get(bank.name)
    age = RunningTime.of((today - last.on).days * 24, "h") if last and now is None else None
    assert bank.gas is not None
    return Bank(
        label=bank.name,
        water_volume=bank.water_volume,
        reading=now or (last.pressure if last else None),
        gas=bank.gas,
        reading_age=age,
    )


def _check_readings(station: records.Station, read: Mapping[str, GaugePressure]) -> None:
    known = {bank.name: bank for bank in station.banks}
    for name, pressure in read.items():
        if name not in known:
            there = f"the station has {', '.join(known)}" if known else "the station lists none"
            raise PlanError(f"there is no bank {name}", there)
        most = known[name].working_pressure
        if most is not None and pressure > most:
            raise PlanError(
                f"bank {name} cannot stand at {pressure}: its working pressure is {most}",
                "read its gauge again",
            )


def reading_good_for(settings: Settings, today: dt.date) -> RunningTime:
    """How old a bank's reading may be; 2 days where the settings say nothing."""
    until = PartialDate.of(today).plus(settings.reading_age or READING_AGE).last
    return RunningTime.of((until - today).days * 24, "h")


def compressor_of(station: records.Station, gas: Gas) -> Compressor | None:
    """The compressor, for air; None where its delivery or highest pressure is not recorded."""
    found = station.compressor
    if found is None or not gas.is_air or found.delivery is None or found.max_pressure is None:
        return None
    return Compressor(delivery=found.delivery, max_pressure=found.max_pressure)


def positions_of(station: records.Station) -> tuple[Position, ...]:
    """The fill positions, as recorded."""
    return tuple(
        Position(
            label=each.name,
            kind=PositionKind.ENCLOSED if each.kind is Kind.ENCLOSED else PositionKind.OPEN_WHIP,
            max_diameter=each.max_diameter,
            max_length=each.max_length,
        )
        for each in station.positions
    )


def gauges_of(station: records.Station) -> tuple[Gauge, ...]:
    """The panel's gauges at their last check, the master left out."""
    found = []
    for gauge in station.gauges:
        check = next(iter(reversed(that_stand(gauge.checked))), None)
        if check and not gauge.master:
            at = f"{gauge.name} at {gauge.position}" if gauge.position else gauge.name
            found.append(Gauge(label=at, shows=check.reads, true=check.true))
    return tuple(found)


def policy_of(
    station: records.Station, rate: PressureRate, good_for: RunningTime, *, wet: bool
) -> StationPolicy:
    """The station's habits, with the usual figures where it names none."""
    usual = StationPolicy(fill_rate=rate)
    return StationPolicy(
        fill_rate=rate,
        open_whip=station.open_whip is not OpenWhip.NEVER,
        non_return_valves=station.non_return_valves,
        minimum_gain=station.minimum_gain or usual.minimum_gain,
        handling=station.handling or usual.handling,
        cooling=station.cooling or usual.cooling,
        reading_good_for=good_for,
        gauge_error=station.gauge_error or usual.gauge_error,
        wet=wet,
    )


def of_oxygen_grade(station: records.Station, gas: Gas) -> bool:
    """Whether every bank of a gas is of oxygen grade."""
    grades = [bank.grade for bank in station.banks if bank.gas == gas]
    return bool(grades) and all(grade is Grade.OXYGEN for grade in grades)


def standard_of(
    book: Book, gas: Gas, ambient: Temperature, reference: Temperature, unit: str
) -> Standard:
    """The cylinder that full fills are counted in: the settings' size, filled to its nominal
    service pressure at `reference`, from 500 psi or 35 bar."""
    name = book.settings.standard_size or STANDARD_SIZE
    volume = volume_of_size(book, name)
    if volume is None:
        raise PlanError(
            f"the standard size {name} is in no table",
            "name another `standard_size` in the settings",
        )
    size = book.sizes.get(name)
    mark = (size.service_pressure if size else None) or STANDARD_MARK
    target = cold_target(Limit(mark, reference, False, ()), gas.mixture, ambient)
    return Standard(
        water_volume=volume.volume, start=STANDARD_START[unit], target=target, name=name
    )


# --- the cylinders


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


def members_of(book: Book, id_: str) -> list[Cylinder]:
    """The cylinder, or both of a set."""
    names = book.sets[id_].cylinders if id_ in book.sets else (id_,)
    return [book.cylinders[name] for name in names if name in book.cylinders]


def vessel_of(
    book: Book,
    answer: MayFill,
    today: dt.date,
    *,
    start: GaugePressure | None,
    gas: Gas | None,
    unit: str,
    rate: PressureRate,
    most: GaugePressure | None = None,
) -> Vessel:
    """A cylinder or set as the gate answers for it.

    Its marked pressure is the limit that the rules allow, a plus mark's share included; one marked
    in the other unit is rounded down to what a regulator can be set to. `most` lowers the target.

    Raises:
        PlanError: its water volume is not recorded.
    """
    assert answer.limit is not None
    assert answer.target is not None
    sides = members_of(book, answer.id)
    marked = _settable(answer.limit.pressure, unit)
    targets = [marked, answer.target, *([most] if most else [])]
    volume = _volume(book, answer.id, sides)
    return Vessel(
        id=answer.id,
        water_volume=volume,
        start=start,
        target=min(targets),
        marked=marked,
        gas=gas,
        own=all(side.owner is None and side.use is not Use.CUSTOMER for side in sides),
        doubles=answer.id in book.sets,
        clean_state=_clean_state(book, answer.id, sides, today),
        diameter=_diameter(book, sides[0]) or FITS,
        length=sides[0].length or FITS,
        material=_material(book, sides[0]),
        mass=_mass(book, sides),
        fill_rate=_slower(rate) if volume < SMALL else rate,
    )


def sizes_unknown(book: Book, id_: str) -> bool:
    """Whether its length or diameter is nowhere recorded."""
    side = members_of(book, id_)[0]
    return side.length is None or _diameter(book, side) is None


def is_small(book: Book, id_: str) -> bool:
    """Whether it is filled slower for its size."""
    try:
        return _volume(book, id_, members_of(book, id_)) < SMALL
    except PlanError:
        return False


def wall_assumed(book: Book, id_: str) -> bool:
    """Whether the mass of its wall is taken from its material and volume."""
    return _mass(book, members_of(book, id_)) is None


def _settable(pressure: GaugePressure, unit: str) -> GaugePressure:
    if pressure.unit == unit:
        return pressure
    steps = 1 if unit == "psi" else 10
    return GaugePressure.of(int(pressure.to(unit) * steps + 1e-6) / steps, unit)


def _volume(book: Book, id_: str, sides: list[Cylinder]) -> Volume:
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


def _material(book: Book, side: Cylinder) -> WallMaterial | None:
    size = _row(book, side)
    found = side.material or (size.material if size else None)
    return WallMaterial(found.value) if found else None


def _mass(book: Book, sides: list[Cylinder]) -> Mass | None:
    masses = [side.mass or (row.mass if (row := _row(book, side)) else None) for side in sides]
    known = [mass.kg for mass in masses if mass is not None]
    return Mass.of(sum(known), "kg") if len(known) == len(sides) else None


def _row(book: Book, side: Cylinder) -> TradeSize | None:
    return book.sizes.get(side.size) if side.size else None


def _slower(rate: PressureRate) -> PressureRate:
    return PressureRate.of(rate.to(rate.unit) / 2, rate.unit)
