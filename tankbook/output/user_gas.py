"""What whoever is handed a cylinder must know of the gas in it, and where they write their own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from tankbook.gas.depth import USUAL_LEAST
from tankbook.output.card import contents_text
from tankbook.output.document import Block, Particulars, Words
from tankbook.output.page import Page, plain_date
from tankbook.output.paper.labels import how_deep
from tankbook.output.words import DO_NOT_USE
from tankbook.records.entries import GasAnalysed
from tankbook.records.kinds import EMPTY
from tankbook.records.settings import Settings
from tankbook.rules.answers import Contents
from tankbook.rules.lean import lean_said, told_oxygen

ONE_DIVE = (
    "This is of the gas as it was handed over. Its pressure is true until some is used; the rest "
    "until it is filled or emptied: from then on nothing of it counts, and it is analysed anew."
)
BREATHING = (
    "Analyse it yourself before you use it, and write what you read. Do not breathe what you have "
    "not analysed. The depths look at oxygen alone, not at narcosis nor at the gas's density."
)
NO_HOUR = "NOT KNOWN: what it held then is not known by the hour, and that day's log tells {}"
NO_PRESSURE = "NOT KNOWN by the hour: that day's log tells more than one"
NOT_BREATHED = (
    f"{DO_NOT_USE} WHAT IS IN IT, whatever an analyser reads: that tells of oxygen and helium, and "
    "of nothing else. No depth is given for it. Keep it shut, and bring it back to the station."
)
"""In place of all that would help to dive with it."""
NO_DEPTH = (
    "No depth is given: which of both is in it is not known. Not to be breathed until it is "
    "analysed again, and that is logged"
)
"""In place of a depth, where what its user analysed is not of the gas on record."""


def of_user(
    held: Contents,
    read: GasAnalysed | None,
    settings: Settings,
    page: Page,
    against: Sequence[str] = (),
    *,
    doubt: str = "",
    pressure_unknown: bool = False,
    otherwise: str = "",
) -> tuple[Block, ...]:
    """The gas as it was handed over, and what its user read of it, or room to write that. Of what
    must not be breathed neither a depth nor room for one.

    Args:
        held: what it held when it was handed over.
        read: what the user analysed then, and wrote.
        settings: for which oxygen pressures the depths are.
        page: the unit of pressures.
        against: why it must not be breathed (`not_to_use`).
        doubt: at what hour it left is not on record, and what that day's lines tell (`AsItWas`).
        pressure_unknown: as `doubt`, of its pressure alone.
        otherwise: how what the user analysed is not of that gas (`rules.own_analysis`): which of
            both is in it nobody knows, so that no depth is given.
    """
    if doubt:
        said = f"{NO_HOUR.format(doubt)}: not to be breathed until it is analysed"
        gas = (("gas", said), *_own(replace(read, depth=None) if read else None))
        return (Particulars(gas), Words(NOT_BREATHED if against else BREATHING))
    if held.pressure is not None and held.pressure < EMPTY:
        return (Words(f"It was handed over empty ({page.marked(held.pressure)})."),)
    if against:
        own = _own(replace(read, depth=None)) if read else ()
        return (
            Particulars((*_gas(held, settings, page, pressure_unknown, deep=False), *own)),
            Words(NOT_BREATHED),
        )
    if otherwise and read is not None:
        beware = ("BEWARE", f"{otherwise}. {NO_DEPTH}")
        told = _gas(held, settings, page, pressure_unknown, deep=False)
        own = _own(replace(read, depth=None))
        return (Particulars((*told, *own, beware)), Words(ONE_DIVE), Words(BREATHING))
    return (
        Particulars((*_gas(held, settings, page, pressure_unknown), *_own(read))),
        Words(ONE_DIVE),
        Words(BREATHING),
    )


def held_then(held: Contents, page: Page, doubt: str, *, pressure_unknown: bool) -> str:
    """What it held at the hour of an entry, in one line; what is in doubt as in `of_user`."""
    if doubt:
        return NO_HOUR.format(doubt)
    said = contents_text(held, page)
    return f"{said}; its pressure {NO_PRESSURE}" if pressure_unknown else said


def _gas(
    held: Contents, settings: Settings, page: Page, pressure_unknown: bool, *, deep: bool = True
) -> Iterator[tuple[str, str]]:
    yield "gas", str(held.gas) if held.gas else "NOT KNOWN: not to be breathed"
    if held.oxygen is None:
        yield "analysed", "not on record"
    else:
        day = plain_date(held.analysed_on) if held.analysed_on else "day not on record"
        by = held.analysed_by or "not on record by whom"
        yield "analysed", f"{held.figures}, {day}, {by}"
    if deep:
        yield from _depths(held, settings)
    if held.pressure is None:
        yield "pressure", NO_PRESSURE if pressure_unknown else ""
    else:
        at = f" at {held.temperature}" if held.temperature else ""
        on = f", read {plain_date(held.on)}" if held.on else ""
        yield "pressure", f"{page.marked(held.pressure)}{at}{on}"
    if held.source:
        yield "filled from", held.source


def _depths(held: Contents, settings: Settings) -> Iterator[tuple[str, str]]:
    """How deep, from an analysis alone and where the settings say for which oxygen pressure; and
    from where on. A gas that is named too lean for the surface is told to be so, analysed or not.
    """
    most = settings.oxygen_pressure
    if held.oxygen is None or most is None:
        yield "deepest", ""
    else:
        yield "deepest", how_deep(held.oxygen, most)
    said, deep = lean_said(told_oxygen(held), settings.least_oxygen_pressure or USUAL_LEAST)
    if said:
        yield "LOW OXYGEN", said
    if deep:
        yield "least depth", deep


def _own(read: GasAnalysed | None) -> Iterator[tuple[str, str]]:
    """The user's own analysis."""
    if read is None:
        yield "own analysis", "oxygen ______ %  helium ______ %  deepest ______  initials ______"
        return
    yield "own analysis", f"{read}, by who received it"
