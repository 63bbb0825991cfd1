"""The day at the fill station: opened, closed, and carbon monoxide when an alarm sounds."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from tankbook.acts.at_station import STATION_FILE, act_at, begun, place_of
from tankbook.acts.common import refusal, signer_reasons, text_reasons
from tankbook.acts.options import Arg, At, Flag, Note, Opt
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.station import Checked, CoReading, Station, StationWalk
from tankbook.records.words import CoPlace, TestResult
from tankbook.rules.out_of_use import left_by_walks, said_of_walks
from tankbook.rules.schedule import unmended
from tankbook.rules.wording import says_no_proof
from tankbook.units import Concentration

Found = Annotated[str, Opt("WHAT", "What was found wrong.", "--fail")]


def opened(
    book: Book, *, failed: Found = "", note: Note = "", at: At = None, by: str, on: dt.date
) -> Act | Refusal:
    """Record that the station's list for the beginning of a day was walked through. Where the list
    is kept, nothing is filled before that."""
    return _walked(book, "opening", failed, note, at, by, on)


def closed(
    book: Book, *, failed: Found = "", note: Note = "", at: At = None, by: str, on: dt.date
) -> Act | Refusal:
    """Record that the station's list for the end of a day was walked through."""
    return _walked(book, "closing", failed, note, at, by, on)


def _walked(
    book: Book, key: str, failed: str, note: str, at: dt.time | None, by: str, on: dt.date
) -> Act | Refusal:
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(fail=failed, note=note)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    routine = getattr(station, key)
    if routine is None or not routine.steps:
        example = f"`{key}: {{steps: [drains, gauge zero]}}`"
        reasons.append(f"the station keeps no list for it: write it in {STATION_FILE}, {example}")
    if failed and note:
        reasons.append("what was found stands in --fail: leave --note out")
    elif not failed and (key == "opening" or station.opening is None):
        reasons += _unanswered(station, key, note, on)
    if reasons:
        return refusal(reasons)
    result = TestResult.FAIL if failed else TestResult.PASS
    entry = StationWalk(on=on, at=at, by=by, result=result, note=failed or note or None)
    draft = draft.enter((key, "done"), entry)
    verb = "station open" if key == "opening" else "station close"
    what = f"found: {failed}" if failed else f"looked at: {', '.join(routine.steps)}"
    sentence = f"{key.capitalize()} of the station by {by}: {what}"
    return act_at(book, verb, sentence, draft, on, (), fact=bool(failed))


def _unanswered(station: Station, key: str, note: str, on: dt.date) -> list[str]:
    """Why what walks found wrong before is not answered by one that passed."""
    left = left_by_walks(station, on)
    if not left or not says_no_proof(note):
        return []
    verb = "open" if key == "opening" else "close"
    return [
        f"{said_of_walks(left)}: look at it again, and say what became of it with --note, or what"
        f" is still wrong with --fail (`tankbook station {verb} --note WHAT`)"
    ]


def carbon_monoxide(
    book: Book,
    shows: Annotated[Concentration | None, Arg("VALUE", "What it shows: 1ppm.")] = None,
    *,
    alarm: Annotated[bool, Flag("The alarm sounded: it closes the station.")] = False,
    cause: Annotated[str, Opt("WHAT", "What the alarm came from, once that is found.")] = "",
    place: Annotated[CoPlace | None, Opt("outlet|intake|room", "Where it was read.")] = None,
    instrument: Annotated[str, Opt("NAME", "The instrument, by its label.", "--with")] = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record a carbon monoxide alarm, or a reading after one.

    An alarm closes the station until its cause is named and a bump-tested monitor reads within the
    limits at the outlet.
    """
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(cause=cause, with_=instrument)
    if shows is None and not alarm:
        reasons.append("nothing is said: give the VALUE it shows, or --alarm")
    if alarm and cause:
        reasons.append("an alarm is answered by a later reading: give --cause with that")
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    if instrument:
        found = place_of(station.instruments, instrument, "instrument")
        if isinstance(found, str):
            reasons.append(found)
        else:
            instrument = station.instruments[found].name
    if reasons:
        return refusal(reasons)
    entry = CoReading(
        on=on,
        by=by,
        co=shows,
        alarm=alarm,
        place=place,
        with_=instrument or None,
        cause=cause or None,
    )
    draft = draft.enter("co_readings", entry)
    where = f" at the {place}" if place else ""
    value = f" {shows}" if shows else ""
    sentence = f"Carbon monoxide{' ALARM' if alarm else ''}{where}:{value or ' no value'}"
    sentence += f"; cause: {cause}" if cause else ""
    notes = ["stop the compressor, fill nothing, let nobody breathe it"] if alarm else []
    return act_at(book, "station co", sentence, draft, on, notes, fact=alarm)


def bump_tested(
    book: Book,
    name: Annotated[str, Arg("NAME", "The instrument, by its label.")],
    *,
    failed: Annotated[str, Opt("WHY", "It did not show the gas it was held to.", "--fail")] = "",
    repaired: Annotated[
        str, Opt("WHAT", "What was done about a failure since: a new cell, calibrated; it passed.")
    ] = "",
    note: Note = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record that an instrument was held to a known gas, and showed it or not. One that failed
    answers no alarm until it was repaired."""
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(fail=failed, repaired=repaired, note=note)
    if failed and repaired:
        reasons.append("it failed, or was repaired: give one of them")
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    place = place_of(station.instruments, name, "instrument")
    if isinstance(place, str) or reasons:
        return refusal([*([place] if isinstance(place, str) else ()), *reasons])
    result = TestResult.FAIL if failed else TestResult.PASS
    name = station.instruments[place].name
    entry = Checked(
        on=on, by=by, result=result, repaired=repaired or None, note=failed or note or None
    )
    draft = draft.enter(("instruments", place, "bumped"), entry)
    said_of = f"FAILED: {failed}" if failed else "passed"
    said_of += f", repaired: {repaired}" if repaired else ""
    open_ = unmended(draft.record.instruments[place].bumped)
    notes = []
    if open_ is not None and not failed:
        what = f": {open_.note}" if open_.note else ""
        notes = [f"{name} failed on {open_.on}{what}: that stands until --repaired WHAT"]
    sentence = f"Bump test of {name}: {said_of}"
    return act_at(book, "station bump", sentence, draft, on, notes, fact=bool(failed))
