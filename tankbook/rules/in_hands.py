"""In whose hands a cylinder was: out on rental, sold, collected by its owner; what its user
analysed and wrote as it left, what they were seen to be trained for, and how it came back.

People are references and initials, as the cards have them.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import (
    GasAnalysed,
    HandedOver,
    Job,
    Refused,
    Rented,
    Sent,
    standing,
)
from tankbook.records.log import LogLine
from tankbook.records.words import LogAct
from tankbook.rules.fill_history import lines_about
from tankbook.rules.leaks import CAME_BACK, GOING_OUT
from tankbook.rules.trained import certified_as
from tankbook.units import time_of_day

MOST_HANDS = 2
"""How many of the last hand-overs are told (own bound)."""

NOBODY = "nobody: no rental, sale or collection on record"


class _Hand(NamedTuple):
    on: dt.date
    said: str


def in_hands(then: Book, card: Cylinder, today: dt.date) -> tuple[str, ...]:
    """Who had it last, newest first; of a set it stood in, whoever had that. That nobody had is
    told as well.

    Args:
        then: the records as they were known then.
        card: a cylinder of it.
        today: the last day that is known of.
    """
    found = [*_rentals(then, card, today), *_sales(then, card, today), *_jobs(then, card, today)]
    found.sort(key=lambda each: each.on)
    return tuple(each.said for each in reversed(found[-MOST_HANDS:])) or (NOBODY,)


def _rentals(then: Book, card: Cylinder, today: dt.date) -> Iterator[_Hand]:
    sets = [s for s in then.every_set.values() if card.id in s.cylinders]
    for id_, entries in ((card.id, card.rented), *((s.id, s.rented) for s in sets)):
        doubles = then.every_set.get(id_)
        for each in standing(entries):
            if doubles is None or doubles.joined(each.on.first):
                whole = f" in set {id_}" if doubles else ""
                when = _said_hour(went_out(then, id_, each), each.on.first, then.known_on)
                out = f"out on rental{whole} {each.on}{when} to {each.to}"
                said = _said(then, out, each.to, each.analysed, today)
                yield _Hand(each.on.last, "; ".join((*said, _back(then, id_, each))))


def _back(then: Book, id_: str, rental: Rented) -> str:
    if rental.back is None:
        return f"not back; due {rental.until}" if rental.until else "not back"
    at = f" at {rental.pressure}" if rental.pressure else ", its pressure not on record"
    valve = f", valve {rental.valve}" if rental.valve else ", how its valve was is not on record"
    damage = f", DAMAGE: {rental.damage}" if rental.damage else ""
    came = came_back(then, id_, rental)
    hour = _said_hour(time_of_day(came.at) if came else None, rental.back, then.known_on)
    return f"back {rental.back}{hour}{at}{valve}{damage}"


def _sales(then: Book, card: Cylinder, today: dt.date) -> Iterator[_Hand]:
    for each in standing(card.handed_over):
        sold = f"sold {each.on}{_said_hour(each.at, each.on.first, today)} to {each.to}"
        yield _Hand(each.on.last, "; ".join(_said(then, sold, each.to, each.analysed, today)))


def _jobs(then: Book, card: Cylinder, today: dt.date) -> Iterator[_Hand]:
    for each in standing(card.jobs):
        if each.collected is not None:
            hour = _said_hour(each.collected_at, each.collected, today)
            who = each.reference or card.owner or ""
            taken = f"collected by its owner {each.collected}{hour}{f', {who}' if who else ''}"
            said = _said(then, taken, who, each.analysed, today)
            yield _Hand(each.collected, "; ".join(said))


def _said(
    then: Book, what: str, who: str, read: GasAnalysed | None, today: dt.date
) -> Iterator[str]:
    yield what
    yield f"user's own analysis: {read}" if read else "no analysis by its user on record"
    seen = [f"{e.level.value}, {e.on}{f' by {e.by}' if e.by else ''}"
            for e in (certified_as(then, who, today) if who else ())]  # fmt: skip
    yield f"training seen: {', '.join(seen)}" if seen else "no training on record"


# --- at what hour --------------------------------------------------------------------------------


def _said_hour(at: dt.time | None, day: dt.date, today: dt.date | None) -> str:
    """The hour at which it went out or came back, where that is on record."""
    return f" {at:%H:%M}" if at else _of_no_hour(day, today)


def _of_no_hour(day: dt.date, today: dt.date | None) -> str:
    """That nobody knows whether something of the day itself came before or after."""
    return " (its hour not on record)" if day == today else ""


def went_out(book: Book, id_: str, rental: Rented) -> dt.time | None:
    """The hour at which a rental left: as its entry has it; else as its gauge was read, where that
    was logged. Of several of one day without an hour, nobody knows which reading is whose."""
    if rental.at is not None:
        return rental.at
    day = rental.on.first
    read = _readings(book, id_, GOING_OUT, day)
    card = book.cylinders.get(id_) or book.every_set.get(id_)
    others = [r for r in standing(card.rented) if r.on.first == day] if card else []
    return time_of_day(read[0].at) if len(read) == 1 or (read and len(others) < 2) else None


def came_back(book: Book, id_: str, rental: Rented) -> LogLine | None:
    """The line of the log with which a rental came back: the first after it left. Of several that
    came back that day from the same hands without an hour of leaving, each has its own, in order.
    """
    if rental.back is None:
        return None
    read = readings_back(book, id_, rental)
    gone = rental.at if rental.back == rental.on.first else None
    if gone is not None:
        return next((n for n in read if time_of_day(n.at) >= gone), None)
    card = book.cylinders.get(id_) or book.every_set.get(id_)
    every = standing(card.rented) if card else ()
    alike = [r for r in every if (r.back, r.to) == (rental.back, rental.to)]
    times = sorted({n.at for n in read})
    if len(alike) < 2:
        return next(iter(read), None)
    if len(times) != len(alike):
        return None
    place = next((i for i, r in enumerate(alike) if r.source.node is rental.source.node), 0)
    return next(n for n in read if n.at == times[place])


def readings_back(book: Book, id_: str, rental: Rented) -> list[LogLine]:
    """The lines of the log, by time, with which something came back from a rental's hands on the
    day that it did; of several that day, those of all."""
    if rental.back is None:
        return []
    return _readings(book, id_, note_back(rental.to), rental.back)


def hour_of(
    book: Book,
    id_: str,
    entry: Rented | HandedOver | Job | Refused | Sent | LogLine,
    *,
    end: bool = False,
) -> dt.time | None:
    """The hour of an entry of a cylinder or set, or of the `end` of it: the return of a rental, the
    collection of a job. None where nobody knows it."""
    match entry:
        case LogLine():
            return time_of_day(entry.at)
        case Rented() if end:
            line = came_back(book, id_, entry)
            return time_of_day(line.at) if line else None
        case Rented():
            return went_out(book, id_, entry)
        case Job():
            return entry.collected_at if end else entry.at
        case Sent():
            return None
    return entry.at


def _readings(book: Book, id_: str, note: str, day: dt.date) -> list[LogLine]:
    read = _noted_by_day(book, id_).get(day, ())
    return [n for n in read if says_hands(n.note, note)]


def note_out(to: str) -> str:
    """What a gauge read as something goes out is noted with."""
    return f"{GOING_OUT} to {to}"


def note_back(to: str) -> str:
    """What a gauge read as something comes back is noted with."""
    return f"{CAME_BACK} from {to}"


def says_hands(said: str | None, note: str) -> bool:
    """Whether a note is of going out or coming back as another says: `back from B-1` is not of the
    hands of `back from B-12`."""
    rest = (said or "").removeprefix(note)
    return rest != (said or "") and (not rest or not (rest[0].isalnum() or rest[0] in "-_/."))


@once_per_book
def _noted_by_day(book: Book, id_: str) -> Mapping[dt.date, tuple[LogLine, ...]]:
    """The readings of a cylinder or set with a note, and of the sides of a set, by day and time."""
    sides = (id_, *(m for m in book.members(id_) if m != id_))
    lines = {
        (n.at, n.cylinder, n.line, n.note): n
        for side in sides
        for n in lines_about(book, side)
        if n.act is LogAct.READING and n.note
    }
    found = defaultdict[dt.date, list[LogLine]](list)
    for _, line in sorted(lines.items(), key=lambda each: each[0][0]):
        found[line.at.date()].append(line)
    return {day: tuple(each) for day, each in found.items()}


def not_back_yet(
    book: Book, subject: Cylinder | Doubles, on: dt.date, at: dt.time
) -> tuple[Rented, ...]:
    """The rentals of a cylinder or set as they were at a time of a day: one that the log has as
    back at a later minute of that day is out still. What says no hour stands as it is.

    Args:
        book: the records of that day, its later lines of the log among them.
        subject: a card or set of it.
        on: the day.
        at: the minute.
    """

    def then(each: Rented) -> Rented:
        if each.back != on:
            return each
        line = came_back(book, subject.id, each)
        if line is None or time_of_day(line.at).replace(second=0, microsecond=0) <= at:
            return each
        return replace(each, back=None, pressure=None, valve=None, damage=None)

    return tuple(map(then, subject.rented))
