"""`tankbook blend`: how to make a gas in a cylinder."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.plan import Ambient, Bank

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.filling import BlendSupply
    from tankbook.filling.blend_request import BlendWish
    from tankbook.gas import Gas
    from tankbook.output.blend import BlendMade
    from tankbook.units import AbsolutePressure, GaugePressure


def blend(
    asked: Common,
    id_: Annotated[str, Arg("ID", "The cylinder; a tail will do.")],
    to: Annotated[str, Opt("GAS", "What it is to hold: nitrox32, trimix18/45.")],
    from_: Annotated[
        str, Opt('"PRESSURE [GAS]"', 'What it holds: "500 psi nitrox36"; else as recorded.')
    ] = "",
    pressure: Annotated[str, Opt("PRESSURE", "Final, cold; what it may hold, if not said.")] = "",
    oxygen: Annotated[
        str, Opt("PRESSURE[/VOLUME]", "The oxygen supply: 2000/50L; else the fullest bank of it.")
    ] = "",
    helium: Annotated[
        str, Opt("PRESSURE[/VOLUME]", "The helium supply: 2400/50L; else the fullest bank of it.")
    ] = "",
    top_off: Annotated[str, Opt("BANK", "A bank, or `compressor`; the fittest, if not said.")] = "",
    oxygen_compatible_air: Annotated[bool, Flag("The top-off air is oxygen-compatible.")] = False,
    continuous: Annotated[bool, Flag("A blender enriches the compressor's air.")] = False,
    richest: Annotated[str, Opt("PERCENT", "The most that blender makes.")] = "40",
    bank: Bank = None,
    ambient: Ambient = "",
    gauge_error: Annotated[str, Opt("PERCENT", "How far gauges may be off.")] = "1",
    oxygen_pressure: Annotated[
        str, Opt("PRESSURE", "For the depth limit: 1.4, `1.4 ata`; the settings', else 1.4.")
    ] = "",
) -> Answer:
    """How to make a gas in a cylinder: drain, oxygen, helium, top off, and where to stop.

    By the equation of state for real gas, with the ideal-gas stop beside each. The cylinder is
    asked of may-fill first. Exit code 1 when it is refused or cannot be made.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import blend as output

    desk = open_desk(asked)
    wish = _wish(
        desk, id_, to, from_, pressure, oxygen, helium, top_off, bank or [], ambient,
        oxygen_compatible_air=oxygen_compatible_air, continuous=continuous, richest=richest,
        gauge_error=gauge_error, oxygen_pressure=oxygen_pressure,
    )  # fmt: skip
    made = _made(desk, wish)
    code = DONE if made.blend else NO
    if asked.json:
        return desk.data(output.data(made), code)
    return desk.answer(output.text(made, desk.page), code)


def _wish(
    desk: Desk,
    id_: str,
    to: str,
    from_: str,
    pressure: str,
    oxygen: str,
    helium: str,
    top_off: str,
    banks: list[str],
    ambient: str,
    *,
    oxygen_compatible_air: bool,
    continuous: bool,
    richest: str,
    gauge_error: str,
    oxygen_pressure: str,
) -> BlendWish:
    from tankbook.cli import option_values, queue
    from tankbook.filling.blend_request import BlendWish
    from tankbook.filling.wish import QueueEntry
    from tankbook.units import SAID_LIKE

    shore = desk.shore
    start, gas = _contents(desk, from_)
    (name,) = desk.resolve([id_])
    return BlendWish(
        entry=QueueEntry(name, start),
        target=option_values.gas("--to", to),
        unit=shore.value,
        gas=gas,
        final=option_values.pressure("--pressure", pressure, shore) if pressure else None,
        oxygen=_supply(desk, "--oxygen", oxygen, "oxygen supply"),
        helium=_supply(desk, "--helium", helium, "helium supply"),
        top_off=top_off,
        clean_air=oxygen_compatible_air,
        continuous=continuous,
        richest=option_values.percent("--richest", richest),
        banks=queue.values(
            "--bank",
            banks,
            f"--bank B1={SAID_LIKE[shore.value].bank}",
            lambda t: option_values.pressure("--bank", t, shore),
        ),
        ambient=option_values.temperature("--ambient", ambient, shore) if ambient else None,
        gauge_error=option_values.percent("--gauge-error", gauge_error),
        oxygen_limit=_limit(desk, oxygen_pressure) if oxygen_pressure else None,
    )


def _contents(desk: Desk, text: str) -> tuple[GaugePressure | None, Gas | None]:
    """`500 psi nitrox36`, `500`, `500 air`."""
    from tankbook.cli import option_values
    from tankbook.gas import Gas, GasError

    if not text:
        return None, None
    head, _, last = text.strip().rpartition(" ")
    gas: Gas | None = None
    try:
        gas = Gas.parse(last)
    except GasError:
        head = text
    if not head.strip():
        raise RequestError("--from: the pressure is missing", 'write it as --from "500 air"')
    return option_values.pressure("--from", head.strip(), desk.shore), gas


def _supply(desk: Desk, option: str, text: str, label: str) -> BlendSupply | None:
    from tankbook.cli import option_values
    from tankbook.filling import BlendSupply

    if not text:
        return None
    pressure, sign, volume = (part.strip() for part in text.partition("/"))
    if sign and not volume:
        raise RequestError(f"{option}: the volume is missing", "write it as 2000/50L")
    return BlendSupply(
        label=label,
        pressure=option_values.pressure(option, pressure, desk.shore),
        water_volume=option_values.water_volume(option, volume, True) if volume else None,
    )


def _limit(desk: Desk, text: str) -> AbsolutePressure:
    """An oxygen pressure; a bare number in what the settings', or the tables of the shore, are."""
    from tankbook.cli import option_values
    from tankbook.gas.depth import USUAL_LIMIT
    from tankbook.units import AbsolutePressure

    usual = desk.book.settings.oxygen_pressure or USUAL_LIMIT[desk.shore.value]
    limit = option_values.read(
        "--oxygen-pressure", text, lambda t: AbsolutePressure.parse(t, usual.unit)
    )
    if not 0.5 <= limit.bar <= 2.1:
        raise RequestError(f"--oxygen-pressure: {text!r} is no limit", "write it as 1.4 ata")
    return limit


def _made(desk: Desk, wish: BlendWish) -> BlendMade:
    from tankbook.filling import PlanError
    from tankbook.filling import blend as worked_out
    from tankbook.filling.blend_request import order_of
    from tankbook.output.blend import BlendMade

    try:
        ordered = order_of(desk.book, desk.today, wish)
    except PlanError as error:
        raise RequestError(str(error), error.mend) from None
    station = desk.book.station
    clean_positions = station.oxygen_positions if station else None
    if ordered.order is None:
        return BlendMade(
            wish.entry.id, wish.target, ordered, None, oxygen_positions=clean_positions
        )
    found, why, mend = None, "", ""
    try:
        found = worked_out(ordered.order)
    except PlanError as error:
        why, mend = str(error), error.mend
    return BlendMade(wish.entry.id, wish.target, ordered, found, why, mend, clean_positions)
