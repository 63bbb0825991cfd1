"""The day at the fill station: opened, closed, and carbon monoxide when an alarm sounds."""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Mapping
from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.at_station import STATION_FILE, act_at, begun, begun_at, minute_of, place_of
from tankbook.acts.common import refusal, signer_reasons, text_reasons, ticked, uncertified
from tankbook.acts.options import Arg, At, Flag, Note, Opt
from tankbook.acts.station_holds import let_go
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.station import (
    COMPRESSOR,
    Checked,
    CoReading,
    Station,
    StationWalk,
    that_stand,
)
from tankbook.records.words import CoCause, CoPlace, TestResult
from tankbook.rules.bad_air import cylinders_called, doubted_for_co
from tankbook.rules.carbon_monoxide import (
    analyses_co,
    bumps_in_order,
    co_alarms,
    is_of_shut_set,
    is_of_store,
    is_over,
    moment_of,
    most_co,
    proves,
    unproved,
)
from tankbook.rules.inforce import rules_of
from tankbook.rules.mended import unmended
from tankbook.rules.out_of_use import left_by_walks, recalls, said_of_walks
from tankbook.rules.wording import says_no_answer, says_no_cause
from tankbook.units import Concentration
from tankbook.units.nouns import counted

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
    reasons += [] if by else ["nobody signs it: give --by"]
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
        reasons += _unanswered(station, key, note, on, at)
    if reasons:
        return refusal(reasons)
    result = TestResult.FAIL if failed else TestResult.PASS
    entry = StationWalk(on=on, at=at, by=by, result=result, note=failed or note or None)
    draft = draft.enter((key, "done"), entry)
    verb = "station open" if key == "opening" else "station close"
    what = f"found: {failed}" if failed else f"looked at: {', '.join(routine.steps)}"
    sentence = f"{key.capitalize()} of the station by {by}: {what}"
    notes = _in_doubt(replace(book, station=draft.record), on) if key == "opening" else []
    return act_at(book, verb, sentence, draft, on, notes, fact=bool(failed))


NAMED = 4
"""How many cylinders an answer names; the rest are counted."""


def _in_doubt(book: Book, today: dt.date) -> list[str]:
    """What a carbon monoxide alarm holds, in words: how many cylinders, the first by their ids, and
    what lists them all; the banks; what clears them."""
    held, station = doubted_for_co(book, today), book.station
    if station is None or not (held.cylinders or held.banks):
        return []
    found, alarms = [], co_alarms(book)
    if held.cylinders:
        named, more = ", ".join(held.cylinders[:NAMED]), len(held.cylinders) - NAMED
        named += f" and {more} more" if more > 0 else ""
        count = counted(len(held.cylinders), "cylinder is", "cylinders are")
        said = f"{count} held for carbon monoxide, not filled, rented or handed over: {named}"
        found.append(
            f"{said}; where each is, and whom to ring: {recalls(station, alarms[-1].pumps)}"
        )
    if held.banks:
        count = "bank" if len(held.banks) == 1 else "banks"
        found.append(f"nothing is filled from {count} {', '.join(held.banks)} until analysed")
    first = (*held.banks, *held.cylinders)[0]
    found.append(f"each is analysed: {analyses_co(book, first)}; or drained to 0")
    if held.banks and held.cylinders:
        read = f"`tankbook station read {held.banks[0]}=PRESSURE`"
        found.append(
            "a bank that is analysed well, and read that day or later without having risen"
            f" ({read}), lets go what came of it alone on the days before"
        )
    return found


def _unanswered(
    station: Station, key: str, note: str, on: dt.date, at: dt.time | None
) -> list[str]:
    """Why what walks found wrong before is not answered by one that passed, at an hour or none."""
    left = left_by_walks(station, on, at)
    if not left or not says_no_answer(note):
        return []
    verb = "open" if key == "opening" else "close"
    said = f", and {ticked(note)} says neither" if note else ""
    return [
        f"{said_of_walks(left)}: look at it again, and say in a word or two that it is right, or"
        f" what was done (`tankbook station {verb} --note 'cleared'`), or what is still wrong with"
        f" --fail{said}"
    ]


def carbon_monoxide(
    book: Book,
    shows: Annotated[Concentration | None, Arg("VALUE", "What it shows: 1ppm.")] = None,
    *,
    alarm: Annotated[bool, Flag("The alarm sounded: it closes the station.")] = False,
    cause: Annotated[str, Opt("WHAT", "What the alarm came from, once that is found.")] = "",
    kind: Annotated[
        CoCause | None, Opt("KIND", f"What kind of cause that is: {', '.join(CoCause)}.")
    ] = None,
    done: Annotated[str, Opt("WHAT", "What was done about the cause: the van was moved.")] = "",
    place: Annotated[CoPlace | None, Opt("outlet|intake|room", "Where it was read.")] = None,
    instrument: Annotated[str, Opt("NAME", "The instrument, by its label.", "--with")] = "",
    of: Annotated[
        str,
        Opt("NAME", "Whose gas it was: a compressor; or a bank, a cylinder or a set, analysed."),
    ] = "",
    at: At = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record a carbon monoxide alarm, a reading after one, or of the gas in a bank or a cylinder.

    An alarm closes the station until its cause is named, with what was done about it (of a filter
    that it was changed, of an instrument or its test gas a bump test, of the intake or the
    compressor its check or upkeep), and a bump-tested monitor reads within the limits at the
    outlet; somebody certified says it of what no such record shows. It holds what was filled since
    the air was last known to be good, and the banks, until each was analysed (--of NAME) or
    drained; nothing where records show that it was false.
    """
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(cause=cause, done=done, with_=instrument)
    if shows is None and not alarm:
        options = {
            "--cause": cause, "--kind": kind, "--done": done, "--place": place,
            "--with": instrument, "--of": of,
        }  # fmt: skip
        reasons.append(_no_value(options))
    if alarm and cause:
        reasons.append("an alarm is answered by a later reading: give --cause with that")
    if bool(cause) != bool(kind) or (done and not cause):
        kinds = ", ".join(CoCause)
        reasons.append(f"a cause has a kind, and says what it was: --kind ({kinds}) with --cause")
    elif cause and says_no_cause(cause):
        reasons.append(
            f"--cause: {ticked(cause)} names none: leave it and --kind out till it is found"
        )
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
    if of:
        called = _gas_of(book, station, of)
        reasons += [] if called else [f"--of: {of} is no compressor, bank or cylinder here"]
        of = called
    if reasons:
        return refusal(reasons)
    entry = CoReading(
        on=on,
        by=by,
        co=shows,
        alarm=alarm,
        at=minute_of(at),
        place=place,
        of=of or None,
        with_=instrument or None,
        cause=cause or None,
        kind=kind,
        done=done or None,
    )
    draft = draft.enter("co_readings", entry)
    after = replace(book, station=draft.record)
    where = f" at the {place}" if place else ""
    where += f" of {of}" if of else ""
    value = f" {shows}" if shows else ""
    sentence = f"Carbon monoxide{' ALARM' if alarm else ''}{where}:{value or ' no value'}"
    sentence += f"; cause: {kind}: {cause}" if cause else ""
    sentence += f"; done: {done}" if done else ""
    notes = ["stop the compressor, fill nothing, let nobody breathe it"] if alarm else []
    over = is_over(after, entry)
    if not over and (why := unproved(draft.record, entry, rules_of(after))):
        notes.append(f"it proves nothing: the reading {why}")
    if shows is not None and most_co(after, entry) is None:
        notes.append(f"no limit is given in {shows.unit}, so that it counts as over it")
    if over and is_of_store(after, draft.record, entry):
        notes.append(f"drain {of} to 0 and log that, outdoors; nobody breathes it")
    if not over and is_of_shut_set(after, entry):
        notes.append(f"the isolator of {of} is shut: analyse each side of it (--of SIDE)")
    later = [a.reading for a in co_alarms(book) if moment_of(a.reading) > moment_of(entry)]
    if later and place is CoPlace.OUTLET and not over:
        told = f"the alarm of {later[0].on} is on record already, and what that holds is analysed"
        notes.append(f"it was entered late, and lets nothing go: {told}")
    before, now = doubted_for_co(book, on), doubted_for_co(after, on)
    drawn_in = over and place in {CoPlace.INTAKE, CoPlace.ROOM}
    if drawn_in and (now.cylinders or now.banks):
        notes.append(f"the compressor draws in what is at the {place}: what it filled is in doubt")
    if kind in {CoCause.INSTRUMENT, CoCause.TEST_GAS}:
        said = (a.held for a in co_alarms(after) if a.answer is entry and a.held)
        notes += [f"what was filled is held all the same: {why}" for why in dict.fromkeys(said)]
    if over or cause or (before != now and not (now.cylinders or now.banks)):
        notes += _in_doubt(after, on)
    cleared = [*(b for b in before.banks if b not in now.banks)]
    cleared += [c for c in before.cylinders if c not in now.cylinders]
    notes += [f"{', '.join(cleared)}: not held for carbon monoxide any more"] if cleared else []
    return act_at(book, "station co", sentence, draft, on, notes, fact=over)


def _no_value(options: Mapping[str, str | None]) -> str:
    """That a reading says neither what it shows nor that the alarm sounded, and how it is typed
    with what was said besides."""
    said = [word for option, value in options.items() if value for word in (option, value)]
    line = shlex.join(["tankbook", "station", "co", "1ppm", *said])
    if options["--cause"]:
        read = "a cause is named with what the instrument showed after it was seen to"
        return f"VALUE is missing: {read}: `{line}`, with your reading for 1ppm"
    return f"VALUE is missing, or --alarm: what it shows comes first (`{line}`)"


def _gas_of(book: Book, station: Station, name: str) -> str:
    """The label of the compressor, bank, cylinder or set of a name, as it is on record; empty of
    none."""
    labels = [c.name or COMPRESSOR for c in station.every_compressor]
    labels += [b.name for b in station.banks]
    bare = " ".join(name.split()).casefold()
    known = next((each for each in labels if each.casefold() == bare), "")
    groups = (id_ for id_ in book.every_set if id_.casefold() == bare)
    ids = cylinders_called(book, name)
    ids = ids or tuple(id_ for id_ in book.cylinders if bare.isdecimal() and _ends(id_, bare))
    return known or next(groups, "") or (ids[0] if len(ids) == 1 else "")


def _ends(id_: str, number: str) -> bool:
    """Whether an id is of a number: `RB-014` of 14."""
    own = id_[len(id_.rstrip("0123456789")) :]
    return own.lstrip("0") == number.lstrip("0") != ""


def _proves_what_was(book: Book, after: Book, by: str, on: dt.date) -> list[str]:
    """Why somebody may not enter a bump test now that proves a reading entered before it, and so
    lets go what is held: somebody certified enters what was forgotten."""
    told, station = uncertified(book, by, on), after.station
    readings = that_stand(station.co_readings) if told and station else ()
    proved = [r for r in readings if proves(after, r) and not proves(book, r)]
    if not proved:
        return []
    gone = let_go(book, after, max(on, *(r.on for r in readings)))
    days = ", ".join(dict.fromkeys(str(r.on) for r in proved))
    again = "now, and read again after it, it answers as any does"
    return [
        f"it would prove what was read before it was entered ({days}), and {each}: {text}; {again}"
        for each in gone
        for text in told
    ]


def bump_tested(
    book: Book,
    name: Annotated[str, Arg("NAME", "The instrument, by its label.")],
    *,
    failed: Annotated[str, Opt("WHY", "It did not show the gas it was held to.", "--fail")] = "",
    repaired: Annotated[
        str, Opt("WHAT", "What was done about a failure since: a new cell, calibrated; it passed.")
    ] = "",
    note: Note = "",
    at: At = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record that an instrument was held to a known gas, and showed it or not. One that failed
    answers no alarm until it was repaired; what it read since it last passed proves nothing."""
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(fail=failed, repaired=repaired, note=note)
    if failed and repaired:
        reasons.append("it failed, or was repaired: give one of them")
    begins = begun_at(book, "instruments", name, "instrument", reasons)
    if isinstance(begins, Refusal):
        return begins
    if reasons:
        return refusal(reasons)
    draft, place = begins
    station = draft.record
    result = TestResult.FAIL if failed else TestResult.PASS
    name = station.instruments[place].name
    entry = Checked(
        on=on,
        at=minute_of(at),
        by=by,
        result=result,
        repaired=repaired or None,
        note=failed or note or None,
    )
    draft = draft.enter(("instruments", place, "bumped"), entry)
    said_of = f"FAILED: {failed}" if failed else "passed"
    said_of += f", repaired: {repaired}" if repaired else ""
    open_ = unmended(bumps_in_order(draft.record.instruments[place].bumped))
    notes = []
    if open_ is not None and not failed:
        what = f": {open_.note}" if open_.note else ""
        notes = [f"{name} failed on {open_.on}{what}: that stands until --repaired WHAT"]
    after = replace(book, station=draft.record)
    if too_late := _proves_what_was(book, after, by, on):
        return refusal(too_late)
    lost = [r for r in station.co_readings if proves(book, r) and not proves(after, r)]
    if lost:
        days = ", ".join(dict.fromkeys(str(r.on) for r in that_stand(lost)))
        notes.append(f"what {name} read since it last passed proves nothing any more: {days}")
        notes += _in_doubt(after, on)
    sentence = f"Bump test of {name}: {said_of}"
    return act_at(book, "station bump", sentence, draft, on, notes, fact=bool(failed))
