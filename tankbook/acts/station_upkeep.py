"""Upkeep of the fill station: readings, hours, filters, checks of its parts, tests of its banks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Annotated

from tankbook.acts.at_station import STATION_FILE, act_at, begun, place_of
from tankbook.acts.common import line_reasons, refusal, signer_reasons, text_reasons
from tankbook.acts.options import Arg, Opt
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Requalified, standing
from tankbook.records.station import (
    Bank,
    FilterChange,
    Hours,
    Reading,
    Station,
    that_stand,
)
from tankbook.records.words import METHOD_TWINS, Method, TestResult
from tankbook.rules import meter as hour_meter
from tankbook.units import GaugePressure, PartialDate, RunningTime

Name = Annotated[str, Arg("NAME", "The part, by its label.")]
Fail = Annotated[str, Opt("WHY", "It failed, and why.", "--fail")]
Seen = Annotated[str, Opt("TEXT", "What was seen.")]


def read_banks(
    book: Book, readings: Mapping[str, GaugePressure], *, by: str, on: dt.date
) -> Act | Refusal:
    """Gauge readings of banks, taken on the master gauge."""
    reasons = signer_reasons(book, by, on)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    notes: list[str] = []
    said: list[str] = []
    for name, pressure in readings.items():
        place = place_of(station.banks, name, "bank")
        if isinstance(place, str):
            reasons.append(place)
            continue
        bank = station.banks[place]
        entry = Reading(on=on, pressure=pressure, by=by)
        draft = draft.enter(("banks", place, "readings"), entry)
        notes += _over_pressure(bank, pressure)
        said.append(f"{bank.name} {pressure}")
    if reasons:
        return refusal(reasons)
    sentence = f"Read {', '.join(said)}"
    return act_at(book, "station read", sentence, draft, on, notes)


def _over_pressure(bank: Bank, pressure: GaugePressure) -> list[str]:
    most = bank.working_pressure
    if most is None or pressure <= most:
        return []
    return [f"{bank.name} reads {pressure}, above its marked {most}: bleed it down"]


def meter(
    book: Book,
    reads: Annotated[RunningTime, Arg("HOURS", "What the meter shows: 412.5.")],
    *,
    instead_of: Annotated[
        RunningTime | None, Opt("HOURS", "A new meter: what the old one showed last.")
    ] = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record the compressor's hour meter."""
    reasons = signer_reasons(book, by, on)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    reasons += _meter_reasons(station, reads if instead_of is None else instead_of)
    if reasons:
        return refusal(reasons)
    entry = Hours(on=on, reads=reads, instead_of=instead_of, by=by)
    draft = draft.enter(("compressor", "hours"), entry)
    notes = filter_notes(draft.record)
    said = f"Hour meter reads {reads}"
    if instead_of is not None:
        said = f"New hour meter, reads {reads}; the old one read {instead_of}"
    return act_at(book, "station hours", said, draft, on, notes)


def _meter_reasons(station: Station, reads: RunningTime) -> list[str]:
    if station.compressor is None:
        return [f"no compressor is in {STATION_FILE}"]
    last = hour_meter.newest(station.compressor)
    if last is not None and hour_meter.is_less(reads, last.reads):
        return [
            f"the meter read {last.reads} on {last.on} and does not run back; if that was wrong, "
            "strike it out with `tankbook correct station hours`; a new meter: "
            "`tankbook station hours --instead-of` says what the old one read"
        ]
    return []


def filter_notes(station: Station) -> list[str]:
    """Each filter with the hours it has left, as the meter stands."""
    hours = hour_meter.readings(station.compressor)
    notes = []
    for each in station.filters:
        changes = that_stand(each.changed)
        if hours and each.life and changes:
            fitted = max(hour_meter.counted_at(hours, c) for c in changes)
            run = max(ran for _, ran in hour_meter.shown(station)) - fitted
            left = each.life.hours - run
            notes.append(
                f"filter {each.name}: {left:g} h of {each.life} left"
                if left >= 0
                else f"filter {each.name} is {-left:g} h past its life of {each.life}: change it"
            )
    return notes


def change_filter(
    book: Book,
    name: Name,
    at: Annotated[
        RunningTime | None, Opt("HOURS", "What the hour meter shows; today's reading, if not said.")
    ] = None,
    *,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record a new filter element."""
    reasons = signer_reasons(book, by, on)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    place = place_of(station.filters, name, "filter")
    last = hour_meter.newest(station.compressor)
    if at is None and last is not None and last.on == on:
        at = last.reads
    if at is None:
        known = f" (last read {last.reads} on {last.on})" if last else ""
        reasons.append(f"what the hour meter shows is not said: give --at{known}")
    elif station.compressor is not None:
        reasons += _meter_reasons(station, at)
    if isinstance(place, str):
        reasons.append(place)
    if reasons or isinstance(place, str) or at is None:
        return refusal(reasons)
    stale = last is None or last.reads < at or last.on < on
    if station.compressor is not None and stale:
        draft = draft.enter(("compressor", "hours"), Hours(on=on, reads=at, by=by))
    draft = draft.enter(("filters", place, "changed"), FilterChange(on=on, at=at, by=by))
    sentence = f"Changed filter {station.filters[place].name} at {at}"
    return act_at(book, "station filter", sentence, draft, on, filter_notes(draft.record))


def bank_tested(
    book: Book,
    name: Name,
    *,
    on: Annotated[PartialDate, Opt("MONTH", "Month or day of the test: 2026-10.")],
    by: Annotated[str, Opt("RIN", "The requalifier, by its RIN.")],
    method: Annotated[
        Method, Opt("METHOD", "As of `requalify`.", twins=METHOD_TWINS)
    ] = Method.HYDROSTATIC,
    stamp: Annotated[str, Opt("TEXT", "The stamp.")] = "",
    failed: Fail = "",
    today: dt.date,
) -> Act | Refusal:
    """Record the periodic test of a bank."""
    reasons = line_reasons(by=by) + text_reasons(fail=failed)
    if by in book.settings.people:
        reasons.append(f"{by} is one of the ledger's people: name the requalifier, by its RIN")
    if on.first > today:
        reasons.append(f"{on} lies in the future: today is {today}")
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    place = place_of(station.banks, name, "bank")
    if isinstance(place, str):
        return refusal([place, *reasons])
    bank = station.banks[place]
    if any((r.on, r.method) == (on, method) for r in standing(bank.requalified)):
        reasons.append(f"a {method} test of {bank.name} of {on} is already on record")
    if reasons:
        return refusal(reasons)
    result = TestResult.FAIL if failed else TestResult.PASS
    entry = Requalified(
        on=on, by=by, method=method, stamp=stamp or None, result=result, note=failed or None
    )
    draft = draft.enter(("banks", place, "requalified"), entry)
    said = f"FAILED: {failed}" if failed else "passed"
    notes = [f"shut {bank.name} off: it holds gas no more"] if failed else []
    if bank.period is None:
        notes.append(f"when {bank.name} is due again is not known: record its `period:`")
    sentence = f"{method.capitalize()} test of bank {bank.name} {on} by {by}: {said}"
    return act_at(book, "station bank-test", sentence, draft, today, notes)
