"""Striking out a wrong entry or log line, and entering the right one; the old stays readable."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec.structs import replace

from tankbook.acts.at_station import STATION_FILE, act_of, begun, place_of
from tankbook.acts.common import (
    Draft,
    line_reasons,
    refusal,
    signer_reasons,
    ticked,
    trail_of,
    uncertified,
    written,
)
from tankbook.acts.correct_line import LOG_WORDS, correct_line
from tankbook.acts.removed import REMOVED, taken_out
from tankbook.acts.soundness import sound
from tankbook.acts.striking import Wrong, chosen, entered, right_entry
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles, Removed
from tankbook.records.edits import Act, AddEntry, Edit, Refusal, SetValue
from tankbook.records.entries import Entry, Inspected, Rented, Requalified, Void
from tankbook.records.fields import TEXT, Nested, Record, attributes_of, keys_of
from tankbook.records.life import tells_against
from tankbook.records.station import AirTest, Station
from tankbook.records.words import InspectionResult, TestResult
from tankbook.rules.air import air_judge
from tankbook.rules.checks import against
from tankbook.rules.filled import tells_of_a_fill
from tankbook.units import PartialDate


def correct(
    book: Book, id_: str, wrong: Wrong, *, by: str, now: dt.datetime, on: dt.date
) -> Act | Refusal:
    """Strike out an entry of a cylinder, a set or the station, or a line of the fill log.

    Args:
        book: the records.
        id_: a cylinder or set, `station`, or the cylinder of a log line as it was written.
        wrong: what, and what is right.
        by: initials of who corrects it.
        now: the moment, for a log line.
        on: the day.
    """
    reasons = signer_reasons(book, by, on) + line_reasons(why=wrong.why)
    if reasons:
        return refusal(reasons)
    void = Void(why=wrong.why, by=by, on=on)
    what = wrong.what.replace("-", "_")
    if wrong.what == REMOVED:
        return taken_out(book, id_, wrong, by=by, on=on)
    if wrong.what in LOG_WORDS:
        return correct_line(book, id_, wrong, void, now)
    if id_ == "station":
        return _correct_station(book, replace(wrong, what=what), void)
    record = book.cylinders.get(id_) or book.sets.get(id_)
    if record is None:
        return refusal([f"{id_}: its file cannot be read; `tankbook validate` says why"])
    if wrong.what == _NOTE:
        return _reworded(book, record, wrong, void)
    return _correct_entry(book, record, replace(wrong, what=what), void)


# --- the note of a card --------------------------------------------------------------------------

_NOTE = "note"
_PART = TEXT.limit // 2
"""A note is kept whole: beside the name of what it was of, a long one takes two entries."""


def _reworded(book: Book, record: Cylinder | Doubles, wrong: Wrong, void: Void) -> Act | Refusal:
    """Another note in the place of a card's own, which `removed` keeps readable."""
    old, new = record.note or "", wrong.changes.get(_NOTE, "")
    reasons = [] if old else [f"{record.id} has no note of its own"]
    if not new or len(wrong.changes) > 1:
        reasons.append("say what the note is to say, and nothing else: --set note=TEXT")
    elif new == old:
        reasons.append("that is what the note says already")
    else:
        reasons += line_reasons(note=new)
    at = record.source.at(_NOTE)
    if any(f.where == at for f in against(book, record.id, void.on)):
        reasons += uncertified(book, void.by, void.on)
    if reasons:
        return refusal(reasons)
    owner = record if isinstance(record, Cylinder) else book.settings
    whose = "" if isinstance(record, Cylinder) else f"{record.id} "
    kept = [
        Removed(on=void.on, by=void.by, what=f"{whose}note: {part}", why=void.why)
        for part in (old[:_PART], old[_PART:])
        if part
    ]
    trail = trail_of(owner, REMOVED)
    edits: tuple[Edit, ...] = (
        SetValue(record.source.path, (_NOTE,), new),
        *(AddEntry(owner.source.path, trail, written(each)) for each in kept),
    )
    sentence = f"Reworded the note of {record.id}: {void.why}; it says: {new}"
    return Act("correct", (record.id,), sentence, edits)


# --- entries of a file ---------------------------------------------------------------------------


def _correct_entry(
    book: Book, record: Cylinder | Doubles, wrong: Wrong, void: Void
) -> Act | Refusal:
    steps = ("valve", "serviced") if wrong.what == "serviced" else (wrong.what,)
    entries = _entries(record, steps)
    if entries is None:
        return refusal(
            [f"{record.id} has no list {ticked(wrong.what)}: it has {', '.join(_lists(record))}"]
        )
    place = chosen(entries, wrong, f"{record.id} {wrong.what}")
    if isinstance(place, str):
        return refusal([place])
    old = entries[place]
    new, reasons = right_entry(old, wrong, book)
    sides = record.cylinders if isinstance(record, Doubles) else (record.id,)
    cards = [book.cylinders[i] for i in sides if i in book.cylinders]
    filled = isinstance(old, Rented) and any(tells_of_a_fill(book, c, old) for c in cards)
    reasons += _not_struck(book, old, void, tells=filled)
    if reasons:
        return refusal(reasons)
    file = record.source.path
    trail = trail_of(record, *steps, place)
    edits: list[Edit] = [SetValue(file, (*trail, "void"), written(void))]
    if new is not None:
        edits.append(AddEntry(file, trail_of(record, *steps), new[1]))
    sentence = f"Struck out {record.id} {wrong.what} {old.on}: {wrong.why}"
    sentence += entered(wrong.changes) if new else ""
    if not isinstance(record, Cylinder):
        return Act("correct", (record.id,), sentence, tuple(edits))
    after = _after(record, steps, place, void, new[0] if new else None)
    draft = Draft(after, tuple(edits)).stand(book)
    act = Act("correct", (record.id,), sentence, draft.edits, _what_it_led_to(record, old))
    return sound(book, act, [draft], void.on, fact=True, hints=_ways(record.id))


def _ways(id_: str) -> dict[str, str]:
    """What to do first where an entry holds up what was decided on it."""
    ends = "--set lifted= --set lifted_by= --set lifted_why="
    lifted = f"take that back first: `tankbook correct {id_} rejected DATE --why WHY {ends}`"
    aside = f"strike that out first if it is wrong too, or set it aside: `tankbook hold {id_}`"
    return {"lifted-on-nothing": lifted, "test-failed": aside, "inspection-not-passed": aside}


def _not_struck(book: Book, old: Any, void: Void, *, tells: bool = False) -> list[str]:
    """Why an entry may not be struck out by this person or on this day."""
    begun_on = old.on.first if isinstance(old.on, PartialDate) else old.on
    early = [f"it is dated {old.on}, after {void.on}"] if void.on < begun_on else []
    if not (tells or tells_against(old)):
        return early
    told = uncertified(book, void.by, void.on)
    return [*early, *(f"{old.title} {old.on} tells against it: {t}" for t in told)]


def _entries(record: Record, steps: Sequence[str]) -> tuple[Any, ...] | None:
    """The entries of a list that can be struck out, or None where there is no such list."""
    value: Any = record
    for step in steps:
        names = attributes_of(type(value)) if isinstance(value, Record) else {}
        if step not in names:
            return None
        value = getattr(value, names[step])
    return value if isinstance(value, tuple) and steps[0] in (*_lists(record), "valve") else None


def _lists(record: Record) -> tuple[str, ...]:
    """The lists of dated entries of a noun."""
    inner = {n: getattr(k.kind, "kind", None) for n, k in keys_of(type(record)).items()}
    return tuple(
        n for n, k in inner.items() if isinstance(k, Nested) and "void" in keys_of(k.record)
    )


def _after(
    cylinder: Cylinder, steps: Sequence[str], place: int, void: Void, new: Record | None
) -> Cylinder:
    """The cylinder without the entry, and with the right one. A valve's service moves nothing."""
    if len(steps) > 1:
        return cylinder
    name = attributes_of(Cylinder)[steps[0]]
    entries = getattr(cylinder, name)
    struck = replace(entries[place], void=void)
    changed = (*entries[:place], struck, *entries[place + 1 :], *([new] if new else ()))
    after: dict[str, Any] = {name: changed}
    return replace(cylinder, **after)


def _what_it_led_to(cylinder: Cylinder, old: Entry) -> tuple[str, ...]:
    """A hold or a rejection that came with an entry is an entry of its own."""
    bad = (isinstance(old, Inspected) and old.result is not InspectionResult.PASS) or (
        isinstance(old, Requalified) and old.result is TestResult.FAIL
    )
    if not bad:
        return ()
    lists: dict[str, Iterable[Entry]] = {"held": cylinder.held, "rejected": cylinder.rejected}
    return tuple(
        f"its entry in `{name}` of {e.on} stands: strike it out too if it is wrong"
        for name, entries in lists.items()
        for e in entries
        if e.void is None and (e.on, e.by) == (old.on, old.by)
    )


# --- entries of the station ----------------------------------------------------------------------

_PARTS = {
    "banks": ("readings", "requalified"),
    "filters": ("changed",),
    "whips": ("checked",),
    "relief_valves": ("checked",),
    "gauges": ("checked",),
}


def _correct_station(book: Book, wrong: Wrong, void: Void) -> Act | Refusal:
    station = begun(book)
    if isinstance(station, list):
        return refusal(station)
    steps = _station_steps(station, wrong.what)
    if isinstance(steps, str):
        return refusal([steps])
    entries: Any = station
    for step in steps:
        entries = entries[step] if isinstance(step, int) else getattr(entries, step)
    place = chosen(entries, wrong, f"station {wrong.what}")
    if isinstance(place, str):
        return refusal([place])
    new, reasons = right_entry(entries[place], wrong, book)
    old = entries[place]
    over = isinstance(old, AirTest) and bool(air_judge(book).over(old))
    reasons += _not_struck(book, old, void, tells=over)
    if reasons:
        return refusal(reasons)
    draft = Draft(station).set((*steps, place, "void"), void)
    if new is not None:
        draft = draft.enter(steps, new[0])
    sentence = f"Struck out station {wrong.what} {entries[place].on}: {wrong.why}"
    sentence += entered(wrong.changes) if new else ""
    act = act_of(book, "correct", sentence, draft, void.on, (), fact=True)
    return replace(act, verb="correct") if isinstance(act, Act) else act


def _station_steps(station: Station, what: str) -> tuple[str | int, ...] | str:
    """The way to a list of the station, or why there is none."""
    if what == "air_tests":
        return ("air_tests",)
    if what == "hours":
        return ("compressor", "hours") if station.compressor else "the station has no compressor"
    name, dot, below = what.rpartition(".")
    known = []
    for kind, lists in _PARTS.items():
        parts = getattr(station, kind)
        for each in lists:
            known += [f"{p.name}.{each}" for p in parts]
            place = place_of(parts, name.replace("_", "-"), "part")
            place = place_of(parts, name, "part") if isinstance(place, str) else place
            if dot and below == each and isinstance(place, int):
                return (kind, place, each)
    also = "air_tests, hours" if station.compressor else "air_tests"
    return f"{STATION_FILE} has no list {ticked(what)}: it has {', '.join([*known, also])}"
