"""Cylinders that are to be equalized: each asked of the gate, then gathered."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.filling import from_book, from_station
from tankbook.filling.nouns import Vessel
from tankbook.filling.prepare import ambient_of, as_read, ask
from tankbook.filling.wish import Entry, Refused
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import AIR_WORD
from tankbook.units import PressureRate, Temperature


class Together(Struct, frozen=True):
    """Cylinders to be opened to each other. `refused` may not be filled; nothing is done then."""

    ambient: Temperature
    rate: PressureRate
    vessels: tuple[Vessel, ...]
    refused: tuple[Refused, ...]
    non_return_valves: bool | None


def bring_together(
    book: Book,
    today: dt.date,
    entries: tuple[Entry, ...],
    unit: str,
    ambient: Temperature | None = None,
) -> Together:
    """Ask the gate for each, with the gas it holds, and gather them.

    Raises:
        PlanError: how warm it is, or a water volume, is not known.
    """
    degrees = ambient_of(book, ambient)
    station = book.station
    rate = (station.fill_rate if station else None) or from_station.USUAL_RATE[unit]
    gas = _gas(book, entries)
    vessels: list[Vessel] = []
    refused: list[Refused] = []
    book = as_read(book, today, entries)
    for entry in entries:
        known, _, _ = from_book.reading_of(book, entry.id, degrees)
        start = entry.start if entry.start is not None else known
        held = from_book.gas_in(book, entry.id, start, gas) if gas else None
        answered = ask(book, today, entry.id, start, held or gas or AIR_WORD, degrees)
        if answered.refusals or answered.answer.limit is None:
            refused.append(Refused(entry.id, tuple(answered.refusals)))
            continue
        vessels.append(
            from_book.vessel_of(
                book, answered.answer, today, start=start, gas=held, unit=unit, rate=rate
            )
        )
    valves = station.non_return_valves if station else None
    return Together(degrees, rate, tuple(vessels), tuple(refused), valves)


def _gas(book: Book, entries: tuple[Entry, ...]) -> Gas | None:
    """The gas of the fullest whose gas is known: what an empty one will hold."""
    known = []
    for entry in entries:
        held = contents_of(book, entry.id)
        pressure = entry.start or held.pressure
        if held.gas is not None and pressure is not None:
            known.append((pressure, held.gas))
    if not known:
        return None
    return max(known, key=lambda pair: pair[0])[1]
