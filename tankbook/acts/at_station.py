"""The station as acts change it, and what that means for filling."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Annotated, Any

from msgspec.structs import replace

from tankbook.acts.common import Draft, refusal
from tankbook.acts.options import Arg, Opt
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.node import Severity
from tankbook.records.rulerow import Gate
from tankbook.records.station import COMPRESSOR, Booster, Compressor, Station
from tankbook.rules.checks import of_station
from tankbook.rules.gate import station_reasons
from tankbook.rules.meter import pump_called

STATION_FILE = "station.yaml"

Name = Annotated[str, Arg("NAME", "The part, by its label.")]
BankName = Annotated[str, Arg("BANK", "The bank, by its label.")]
Fail = Annotated[str, Opt("WHY", "It failed, and why.", "--fail")]
Seen = Annotated[str, Opt("TEXT", "What was seen.")]


def begun(book: Book, reasons: Iterable[str] = ()) -> Draft[Station] | Refusal:
    """The station to be written to; where there is none, why, and what else stands against it."""
    if book.station is not None:
        return Draft(book.station)
    if any(f.where.path == STATION_FILE for f in book.findings):
        return refusal([f"{STATION_FILE} cannot be read; `tankbook validate` says why", *reasons])
    return refusal([f"no station is on record: describe it in {STATION_FILE} first", *reasons])


def place_of(parts: Sequence[Any], name: str, what: str) -> int | str:
    """Where a part of this name stands in its list, or why there is none."""
    for i, part in enumerate(parts):
        if part.name.casefold() == name.casefold():
            return i
    known = ", ".join(p.name for p in parts) or "none"
    return f"{what} {name} is not in {STATION_FILE} (there is: {known})"


def begun_at(
    book: Book, parts: str, name: str, what: str, reasons: Iterable[str]
) -> tuple[Draft[Station], int] | Refusal:
    """The station to be written to, and where a part of this name stands in the list of its
    `parts`; where either is not there, why, and what else stands against it."""
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    place = place_of(getattr(draft.record, parts), name, what)
    return refusal([place, *reasons]) if isinstance(place, str) else (draft, place)


def pump_of(station: Station, name: str, option: str) -> Compressor | Booster | str:
    """What a meter is of: the only compressor where nothing is said; or why nobody can tell."""
    found = pump_called(station, name or None)
    if found is not None:
        return found
    pumps = station.every_pump
    there = ", ".join(each.name or COMPRESSOR for each in pumps)
    if not pumps:
        return f"no compressor is in {STATION_FILE}"
    if not name:
        return f"which one is not said: {option}, one of {there}"
    same = [each for each in pumps if (each.name or COMPRESSOR).casefold() == name.casefold()]
    if len(same) > 1:
        return f"two are called {name} in {STATION_FILE}: give one another name"
    return f"{option}: {name} is not in {STATION_FILE} (there is: {there})"


def way_to(station: Station, pump: Compressor | Booster) -> tuple[str | int, ...]:
    """The way to a compressor or a booster in the record of the station."""
    if isinstance(pump, Booster):
        return ("boosters", station.boosters.index(pump))
    if pump is station.compressor:
        return ("compressor",)
    return ("compressors", station.compressors.index(pump))


def minute_of(at: dt.time | None) -> dt.time | None:
    """A time of the day to the minute, as the records of the station have it."""
    return at.replace(second=0, microsecond=0) if at else None


def act_at(
    book: Book,
    verb: str,
    sentence: str,
    draft: Draft[Station],
    today: dt.date,
    notes: Sequence[str],
    *,
    fact: bool = False,
) -> Act | Refusal:
    """The act of a draft, with what it means for filling.

    A record that would be at fault after it is refused, or told where it is a `fact`.
    """
    after = replace(book, station=draft.record)
    faults = _new_faults(book, after, today)
    if faults and not fact:
        return refusal(faults)
    shut, was_shut = _refusals(after, today), _refusals(book, today)
    opened = ["the station is open again"] if was_shut and not shut else []
    told = [f"the station is CLOSED: {'; '.join(shut)}"] if shut else opened
    warned = [f"WARNING: {fault}" for fault in faults]
    return Act(verb, (), sentence, draft.edits, (*notes, *warned, *told))


def _new_faults(book: Book, after: Book, today: dt.date) -> list[str]:
    """What would be at fault in the station's records that is not now."""
    known = {f.text for f in of_station(book, today)}
    return [
        f"{f.text}; {f.mend}" if f.mend else f.text
        for f in of_station(after, today)
        if f.severity is Severity.FAULT and f.text not in known
    ]


def _refusals(book: Book, today: dt.date) -> list[str]:
    return [r.text for r in station_reasons(book, today) if r.gate is Gate.REFUSE]
