"""Hours of going out and coming back that cannot both be so.

Days are judged by the checks of each entry; what an entry, or the line of the log that it was
written with, says of the hour is judged here, and nothing where either says none.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Entry, HandedOver, Job, Rentals, Rented, standing
from tankbook.records.fields import RecordPlace
from tankbook.records.life import still_open
from tankbook.records.log import LogLine
from tankbook.records.naming import line_named, named_among
from tankbook.records.node import Where
from tankbook.records.words import LogAct, Work
from tankbook.rules.fill_history import (
    lines_about,
    lines_by_cylinder,
    names_in_log,
    void_key,
)
from tankbook.rules.in_hands import came_back, readings_back, went_out
from tankbook.rules.out_at import TimeOut, lines_while_out, local
from tankbook.rules.status import kept_at
from tankbook.units import time_of_day


class SaidHour(NamedTuple):
    """One of the things on record that say an hour, or a day, and the key that it stands under."""

    id: str
    name: str
    what: Entry | LogLine
    key: str = "at"


class AtOdds(Struct, frozen=True):
    """Two hours of one cylinder or set that cannot both be so, in words, and what says them."""

    where: Where
    text: str
    said: tuple[SaidHour, ...]
    may_be: bool = False
    """Nobody allows it, and it may have happened all the same."""
    way: str = ""
    """How it is recorded then."""

    def mend(self, book: Book) -> str:
        """How it is mended in a book: what is on record there is set right by its name, and of
        what is not the true hour is given."""
        named = list(filter(None, (_named(book, each) for each in self.said)))
        new = len(named) < len(self.said)
        ways = ["give the hour that is true (--at; in a correction --set at=)"] if new else []
        ways += [f"set that right which is on record: {'; '.join(named)}"] if named else []
        return "; ".join(filter(None, (", or ".join(ways), self.way)))


def _named(book: Book, said: SaidHour) -> str:
    """How something is set right, or an empty text where it is not on record in a book."""
    what = said.what
    if isinstance(what, LogLine):
        lines = lines_by_cylinder(book).get(what.cylinder, ())
        if all(void_key(n) != void_key(what) for n in lines):
            return ""
        to = f"{what.at:%Y-%m-%d}THH:MM{what.at.isoformat()[16:]}"
        return (
            f"`tankbook correct {what.cylinder} {what.act} {line_named(what.at)}"
            f" --set at={to} --why WHY`"
        )
    owner = book.every_set.get(said.id) or book.cylinders.get(said.id)
    entries = getattr(owner, said.name, ())
    # what an act ends, or strikes out, is written where it was
    written = (e for e in entries if e is what or _is_same(e.source, what.source))
    if (entry := next(written, None)) is None:
        return ""
    right = "HH:MM" if said.key.endswith("at") else "DAY"
    which = named_among(entries, entry)
    return f"`tankbook correct {said.id} {said.name} {which} --set {said.key}={right} --why WHY`"


def _is_same(place: RecordPlace, other: RecordPlace) -> bool:
    return (
        place.written is not None and place.written is other.written and place.trail == other.trail
    )


class ToldOfHours(NamedTuple):
    """Two hours that cannot both be so, as the checks tell them."""

    where: Where
    text: str
    mend: str


def told_of_hours(book: Book, id_: str) -> tuple[ToldOfHours, ...]:
    """As `hours_at_odds`, each with its place and how it is mended."""
    return tuple(ToldOfHours(o.where, o.text, o.mend(book)) for o in hours_at_odds(book, id_))


def hours_at_odds(book: Book, id_: str) -> Iterator[AtOdds]:
    """What a cylinder or set has on record of an hour against another of its own.

    Args:
        book: the records.
        id_: a cylinder or set that is in the book.
    """
    card = book.cylinders.get(id_) or book.every_set.get(id_)
    if card is None:
        return
    rentals = standing(card.rented)
    for each in rentals:
        yield from _back_before_out(book, card, each)
    for one, other in _of_one_day(rentals):
        yield from _out_twice(book, card, one, other)
    yield from _in_hand_while_out(book, card)
    if isinstance(card, Cylinder):
        for sale in standing(card.handed_over):
            for each in rentals:
                yield from _sold_while_out(book, card, sale, each)
        for job in standing(card.jobs):
            yield from _collected_before(book, card, job)


def _of_one_day(rentals: Rentals) -> Iterator[tuple[Rented, Rented]]:
    """The pairs of which one began on a day on which the other did, or came back."""
    by_day = defaultdict[dt.date, dict[int, Rented]](dict)
    for place, each in enumerate(rentals):
        for day in filter(None, (each.on.first, each.back)):
            by_day[day][place] = each
    pairs = {
        places: (rentals[places[0]], rentals[places[1]])
        for of_day in by_day.values()
        if len(of_day) > 1
        for places in combinations(sorted(of_day), 2)
    }
    yield from pairs.values()


def _back_before_out(book: Book, card: Cylinder | Doubles, rental: Rented) -> Iterator[AtOdds]:
    """Came back the day it left, and every reading of that is earlier than it went."""
    out = went_out(book, card.id, rental)
    if out is None or rental.back is None or rental.back != rental.on.first:
        return
    lines = readings_back(book, card.id, rental)
    read = sorted({_minute(time_of_day(n.at)) for n in lines})
    alike = [r for r in standing(card.rented) if (r.back, r.to) == (rental.back, rental.to)]
    if len(read) >= len(alike) and read[-1] < _minute(out):
        text = f"it came back at {read[-1]:%H:%M}, and went out at {out:%H:%M} that day"
        yield _at_odds(card, "rented", rental, text, _line(lines[-1]))


def _out_twice(
    book: Book, card: Cylinder | Doubles, one: Rented, other: Rented
) -> Iterator[AtOdds]:
    """Went out again before it was back, by the hours of one day."""
    first, second = sorted((one, other), key=lambda r: r.on.first)
    begun, out = (went_out(book, card.id, r) for r in (first, second))
    day = second.on.first
    if first.on.first == day and begun is not None and out is not None and out < begun:
        first, second, out = second, first, begun
    if out is None or second.on.day is None or (first.on.first == day and begun is None):
        return
    if first.back == day:
        line = came_back(book, card.id, first)
        back = _minute(time_of_day(line.at)) if line else None
        if back is not None and back > _minute(out):
            text = f"it went out at {out:%H:%M}, and came back at {back:%H:%M} from {first.to}"
            yield _at_odds(card, "rented", second, text, _line(line))
    elif first.on.first == day and (first.back is None or first.back > day) and second.back == day:
        text = f"it went out at {out:%H:%M}, and was out with {first.to} then"
        yield _at_odds(card, "rented", second, text, SaidHour(card.id, "rented", first))


_DONE = {LogAct.FILL: "filled", LogAct.READING: "read", LogAct.DRAIN: "drained"}
_WAYS = {LogAct.FILL: "what happened all the same is logged with --happened"}
"""How it is recorded that somebody had in hand all the same what was out; a reading has a note."""


def _in_hand_while_out(book: Book, card: Cylinder | Doubles) -> Iterator[AtOdds]:
    """Filled, read or let out at an hour at which it was out. Of the days between those on which it
    left and came back, its fills tell that (`filled-while`)."""
    for line, out in lines_while_out(book, card.id):
        if line.act is not LogAct.FILL or not kept_at(out.entry, line.at):
            yield while_out(card.id, line, out)


def while_out(id_: str, line: LogLine, out: TimeOut) -> AtOdds:
    """That a line of the log is of a time at which what it is about was out.

    Args:
        id_: the cylinder or set that it is about.
        line: on record, or as it would be.
        out: when that was out.
    """
    day = line.at.date()
    on = f" on {day}" if out.entry.on.first != day else ""
    done = f"it was {_DONE[line.act]} at {local(line.at):%H:%M}{on}"
    text = f"{out.name} {out.entry.on}: {done}, and was {out.said(id_, line.at)}"
    said = (_end_of(out, line), SaidHour(id_, line.act, line))
    where = out.entry.source.at("at") if out.owner.id == id_ else line.where
    return AtOdds(where, text, said, may_be=True, way=_WAYS.get(line.act, ""))


def _end_of(out: TimeOut, line: LogLine) -> SaidHour:
    """What says that it was out at the time of a line, the nearer of its two ends."""
    day = line.at.date()
    if out.came is not None and out.until.date() == day:
        return SaidHour(out.came.cylinder, out.came.act, out.came)
    key = "at" if out.left and out.since.date() == day else "on"
    return SaidHour(out.owner.id, out.name, out.entry, key)


_FROM_AN_HOUR = ("rented", "handed_over", "held", "rejected")
"""The lists of what stands against a cylinder from the hour on that it says."""


def before_that(book: Book, id_: str, at: dt.datetime) -> str:
    """How what was done with a cylinder before it left, or was set aside, on that day is told; an
    empty text where neither was of that day, or its hour is later.

    Args:
        book: the records.
        id_: a cylinder or set of it.
        at: when it was done.
    """
    day, hour = at.date(), _minute(time_of_day(at))
    found, sent = list[str](), False
    for name in dict.fromkeys(n for m in book.members(id_) for n in names_in_log(book, m)):
        owner: Cylinder | Doubles | None = book.every_set.get(name) or book.cylinders.get(name)
        for key in _FROM_AN_HOUR:
            entries: tuple[Entry, ...] = getattr(owner, key, ())
            of_day = (e for e in still_open(entries) if e.on.first == day)
            untold = (e for e in of_day if (getattr(e, "at", None) or dt.time.min) < hour)
            found += [_named(book, SaidHour(name, key, each)) for each in untold]
        journeys = owner.sent if isinstance(owner, Cylinder) else ()
        sent = sent or any(each.on.first == day for each in still_open(journeys))
    ways = [f"say at what hour that was: {'; '.join(found)}"] if found else []
    ways += ["a journey has no hour: --happened logs it"] if sent else []
    return f"if it was done before that, {', or '.join(ways)}" if ways else ""


def _sold_while_out(
    book: Book, card: Cylinder, sale: HandedOver, rental: Rented
) -> Iterator[AtOdds]:
    if sale.at is None:
        return
    day = sale.on.first
    line = came_back(book, card.id, rental) if rental.back == day else None
    back = _minute(time_of_day(line.at)) if line else None
    out = went_out(book, card.id, rental) if rental.on.first == day else None
    if out is not None and out > sale.at:
        text = f"it was handed over at {sale.at:%H:%M}, and went out to {rental.to} at {out:%H:%M}"
        yield _at_odds(card, "handed_over", sale, text, SaidHour(card.id, "rented", rental))
    elif back is not None and back > sale.at:
        text = f"it was handed over at {sale.at:%H:%M}, and came back at {back:%H:%M}"
        yield _at_odds(card, "handed_over", sale, f"{text} from {rental.to}", _line(line))


def _collected_before(book: Book, card: Cylinder, job: Job) -> Iterator[AtOdds]:
    """Collected the day it was taken in, before that hour, or before all that was filled then where
    no note of the work says how that came."""
    gone = job.collected_at
    if gone is None or job.on.day is None or job.collected != job.on.first:
        return
    if job.at is not None and gone < job.at:
        text = f"it was collected at {gone:%H:%M}, and taken in at {job.at:%H:%M} that day"
        taken_in = SaidHour(card.id, "jobs", job)
        yield _at_odds(card, "jobs", job, text, taken_in, key="collected_at")
    elif Work.FILL in job.work and not job.note:
        fills = [
            n
            for n in lines_about(book, card.id)
            if n.act is LogAct.FILL and n.at.date() == job.collected
        ]
        first = min(fills, key=lambda n: n.at, default=None)
        if first is not None and _minute(time_of_day(first.at)) > gone:
            filled = _minute(time_of_day(first.at))
            text = f"it was collected at {gone:%H:%M}, and filled at {filled:%H:%M} that day"
            yield _at_odds(card, "jobs", job, text, _line(first), key="collected_at")


def _at_odds(
    card: Cylinder | Doubles,
    name: str,
    entry: Rented | HandedOver | Job,
    text: str,
    other: SaidHour | None,
    *,
    key: str = "at",
) -> AtOdds:
    said = (SaidHour(card.id, name, entry, key), *([other] if other else []))
    return AtOdds(entry.source.at(key), f"{name} {entry.on}: {text}", said)


def _line(line: LogLine | None) -> SaidHour | None:
    return SaidHour(line.cylinder, line.act, line) if line else None


def _minute(time: dt.time) -> dt.time:
    return time.replace(second=0, microsecond=0)
