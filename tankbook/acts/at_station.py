"""The station as acts change it, and what that means for filling."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec.structs import replace

from tankbook.acts.common import Draft, refusal
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.node import Severity
from tankbook.records.rulerow import Gate
from tankbook.records.station import Station
from tankbook.rules.checks import of_station
from tankbook.rules.gate import station_reasons

STATION_FILE = "station.yaml"


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
