"""`tankbook capacity`, with or without a ledger."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Opt
from tankbook.cli.answer import Answer, RequestError, as_data
from tankbook.cli.options import Common
from tankbook.units.patterns import pattern

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.gas import Reference
    from tankbook.rules.answers import WaterVolume
    from tankbook.units import GaugePressure, Volume


def capacity(
    asked: Common,
    id_: Annotated[str, Arg("ID", "A cylinder of the ledger.")] = "",
    water_volume: Annotated[str, Opt("VOLUME", "Instead of a cylinder: 11.1L, 678cuin.")] = "",
    at: Annotated[
        str, Opt("PRESSURE", "Gauge pressure; the cylinder's service pressure if left out.")
    ] = "",
    free_gas: Annotated[
        str, Opt("VOLUME", "The other way round: at what pressure is there so much?")
    ] = "",
    gas: Annotated[str, Opt("GAS", "Air, if not said.")] = "",
    temperature: Annotated[
        str, Opt("TEMPERATURE", "70 degF, or 20 degC where the ledger reads bar, if not said.")
    ] = "",
) -> Answer:
    """How much gas a cylinder holds at a pressure, or at what pressure it holds so much.

    By the equation of state for real gas, with the ideal-gas figure beside it.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import page
    from tankbook.gas import capacity as held_at
    from tankbook.gas import pressure_for
    from tankbook.output import capacity as output
    from tankbook.records.words import Shore
    from tankbook.rules.answers import WaterVolume

    if bool(id_) == bool(water_volume):
        raise RequestError("name either a cylinder or --water-volume", "`tankbook capacity --help`")
    if at and free_gas:
        raise RequestError("--at and --free-gas ask opposite questions", "leave one out")
    desk = _desk(asked, id_, (water_volume, at, free_gas, temperature))
    unit = desk.shore if desk else None
    amount = option_values.free_gas("--free-gas", free_gas, unit) if free_gas else None
    pressure = option_values.pressure("--at", at, unit) if at else None
    marked = None
    if desk and id_:
        volume, marked = _cylinder(desk, id_, json=asked.json)
    else:
        given = option_values.water_volume("--water-volume", water_volume, desk is not None)
        volume = WaterVolume(given, "as given")
    pressure = pressure or marked
    reference = _reference(desk, pressure, amount)
    degrees = reference.temperature
    if temperature:
        degrees = option_values.temperature("--temperature", temperature, unit)
    mixture = option_values.gas("--gas", gas or "air")
    if amount is not None:
        pressure = pressure_for(mixture, volume.volume, amount, degrees, reference)
    if pressure is None:
        raise RequestError("no pressure is said", "add --at 3000psi, or --free-gas 70cuft")
    answer = held_at(mixture, volume.volume, pressure, degrees, reference)
    if asked.json:
        data = output.data(answer, mixture, volume)
        return desk.data(data) if desk else as_data(data)
    shown = page(Shore.PSI if reference.volume_unit == "cuft" else Shore.BAR)
    sought = amount is not None
    text = output.text(answer, mixture, volume, shown, sought=sought, marked=marked)
    return desk.answer(text) if desk else Answer(text)


BARE = pattern(r"-?[0-9.]+")


def _desk(asked: Common, id_: str, numbers: tuple[str, ...]) -> Desk | None:
    """The ledger, where a cylinder is named or a bare number needs its unit; else none is read."""
    from tankbook.cli.open_ledger import open_desk

    if id_ or asked.ledger or any(BARE.fullmatch(n) for n in numbers):
        return open_desk(asked)
    return None


def _cylinder(desk: Desk, id_: str, *, json: bool) -> tuple[WaterVolume, GaugePressure | None]:
    """The water volume of a cylinder and its marked pressure."""
    from tankbook.rules.volume import water_volume_of

    name = desk.resolve([id_])[0]
    cylinder = desk.book.cylinders.get(name)
    if cylinder is None:
        faults = desk.book.broken.get(name, ())
        if faults:
            raise desk.unanswered(f"{name} could not be read: {faults[0]}", json=json)
        raise RequestError(f"{name} is a set", "name one of its cylinders")
    volume = water_volume_of(desk.book, cylinder)
    if volume is None:
        mend = "add `water_volume: 11.1 L`, or `size:` or `rated:`, to its file"
        raise RequestError(f"{name}: its water volume is not recorded", mend)
    return volume, cylinder.service_pressure


def _reference(
    desk: Desk | None, pressure: GaugePressure | None, amount: Volume | None
) -> Reference:
    """The ledger's reference condition; without a ledger, that of the unit asked in."""
    from tankbook.gas import BAR_REFERENCE, PSI_REFERENCE

    if desk is not None:
        return PSI_REFERENCE if desk.shore.value == "psi" else BAR_REFERENCE
    american = (pressure is not None and pressure.unit == "psi") or (
        amount is not None and amount.unit == "cuft"
    )
    return PSI_REFERENCE if american else BAR_REFERENCE
