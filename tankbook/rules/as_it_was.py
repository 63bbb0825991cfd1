"""What a cylinder was, and held, at the hour of an entry: never at the end of that day.

On one day it may be taken in, drained, filled, go out, come back and be filled with another gas.
The hour is on the entry, or that of its line in the log. Where neither says it, what it held is
told only as far as all that was known of that day agrees.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import HandedOver, Job, Refused, Rented, Sent
from tankbook.records.kinds import holds_gas
from tankbook.records.log import Log, LogLine
from tankbook.records.words import LogAct
from tankbook.rules.answers import Analysis, Contents
from tankbook.rules.fill_history import (
    NOTHING_KNOWN,
    contents_of,
    is_logged,
    lines_about,
    struck_out_lines,
    void_key,
)
from tankbook.rules.in_hands import came_back, hour_of
from tankbook.rules.incident import book_then, with_status
from tankbook.rules.labels import read_lower_since
from tankbook.units import time_of_day

Told = Rented | HandedOver | Job | Refused | Sent | LogLine
"""What papers are made of. Two of them end: a rental with its return, a job with its collection."""


class AsItWas(Struct, frozen=True):
    """The records as they were at the hour of an entry, and what a cylinder or set held then.

    `doubt`: at which hour it was is not known, and what that day's lines tell of it that cannot all
    be so; `held` then says neither gas nor analysis. `pressure_unknown`: only its pressure, or from
    where it was filled, differs among them, and is left out.
    """

    book: Book
    held: Contents
    doubt: str = ""
    pressure_unknown: bool = False


def as_it_was(book: Book, id_: str, entry: Told, day: dt.date, *, end: bool = False) -> AsItWas:
    """What was known of a cylinder or set at the hour of an entry of it.

    Args:
        book: all the records.
        id_: a cylinder or set of it.
        entry: the rental, sale, job, refusal or dispatch, or the line of its fill.
        day: the day of it.
        end: of the end of it: how a rental came back, how a job was collected.
    """
    book = without_struck(book)
    known = book.as_known_on(day)
    line = _line_of(known, id_, entry, end=end)
    hour = time_of_day(line.at) if line else hour_of(known, id_, entry, end=end)
    then = _as_here(book_then(book, day, hour) if hour else known, id_, entry, day)
    if line is not None:
        then = _until(then, _up_to(known, line))
    elif isinstance(entry, Rented):
        then = _not_back(then, id_, entry) if not end else then
        back = came_back(known, id_, entry) if entry.back == day and not end else None
        if back is not None:  # in the minute that it left in, what came back came after
            then = _until(then, [n for n in then.log if n.at < back.at])
    then = with_status(known, then, known.members(id_))
    if isinstance(entry, LogLine):
        return _of_fill(known, then, id_, entry)
    overnight = isinstance(entry, Sent) and (entry.back is None or entry.back > day)
    if hour or overnight:  # what was away overnight was filled that day before it went
        return AsItWas(then, contents_of(then, id_))
    return _agreed(then, id_, entry, day, end=end)


def _line_of(known: Book, id_: str, entry: Told, *, end: bool) -> LogLine | None:
    """The line of the log that an entry was written with, whose place there says its moment."""
    if isinstance(entry, LogLine):
        return entry
    return came_back(known, id_, entry) if isinstance(entry, Rented) and end else None


def _up_to(known: Book, line: LogLine) -> Iterator[LogLine]:
    """The lines until one, with all that was done in the same act."""
    seen = False
    for each in known.log:
        seen = seen or each == line
        same = each.at == line.at and (
            not seen or each == line or (each.act is line.act and each.cylinder != line.cylinder)
        )
        if each.at < line.at or same:
            yield each


def _of_fill(known: Book, then: Book, id_: str, fill: LogLine) -> AsItWas:
    """What a fill put into a cylinder, as it was analysed while that alone was in it."""
    held = contents_of(then, id_)
    lines = [*then.log]
    for each in _analysed_since(known, then, id_, fill):
        later = _until(then, [*lines, each])
        found = contents_of(later, id_)
        as_filled = Analysis(
            fill.at.date(), None, None, "", pressure=fill.to, temperature=fill.temperature
        )
        lost = found.gas is None and (held.gas is not None or each.o2 is not None)
        if lost or read_lower_since(later, replace(found, analysis=as_filled)):
            break
        if found.analysis is not None and (each.o2 is not None or each.he is not None):
            then, lines = later, [*lines, each]
            held = replace(
                held, gas=found.gas, analysis=found.analysis, source=found.source or held.source
            )
    return AsItWas(then, held)


def _analysed_since(known: Book, then: Book, id_: str, fill: LogLine) -> Iterator[LogLine]:
    """The readings of the same day after a fill, until anything else was done with it or its owner
    had it."""
    before = {(n.at, n.cylinder, n.line) for n in then.log}
    card = known.cylinders.get(id_)
    gone = [
        dt.datetime.combine(j.collected, j.collected_at)
        for j in (card.jobs if card else ())
        if j.collected == fill.at.date() and j.collected_at is not None and j.void is None
    ]
    filled = _local(fill.at)
    left = min((g for g in gone if g >= filled.replace(second=0, microsecond=0)), default=None)
    for each in lines_about(known, id_):
        if (each.at, each.cylinder, each.line) in before or each.at < fill.at:
            continue
        if each.act is not LogAct.READING or (left is not None and _local(each.at) > left):
            return
        yield each


def _local(at: dt.datetime) -> dt.datetime:
    return dt.datetime.combine(at.date(), time_of_day(at))


def _agreed(then: Book, id_: str, entry: Told, day: dt.date, *, end: bool) -> AsItWas:
    """What all moments of a day agree on: before any of its lines, and after each of them."""
    lines = [n for n in lines_about(then, id_) if n.at.date() == day]
    if isinstance(entry, Job) and end:  # it was the shop's to fill until its owner took it along
        last = max((i for i, n in enumerate(lines) if n.act is LogAct.FILL), default=None)
        lines = lines if last is None else lines[last + 1 :]
    moments = [contents_of(then, id_)]
    for first in reversed(lines):
        gone = [n for n in then.log if n.at < first.at or n.at.date() != day]
        moments.append(contents_of(_until(then, gone), id_))
    held = moments[0]
    if len({(m.gas, m.figures) for m in moments}) > 1:
        return AsItWas(then, NOTHING_KNOWN, doubt=_doubt(moments[::-1]))
    if len({m.pressure for m in moments}) > 1:
        held = replace(held, pressure=None, temperature=None, at=None, on=None)
    if len({m.source for m in moments}) > 1:
        held = replace(held, source="")
    return AsItWas(then, held, pressure_unknown=held.pressure is None and len(moments) > 1)


def _doubt(moments: Iterable[Contents]) -> str:
    """What it may have held, each once, in the order of the day."""
    told = [_gas_of(m) for m in moments]
    if len(once := dict.fromkeys(told)) > 1:
        return f"more than one thing of it ({', then '.join(once)})"
    return f"more than one analysis of its {told[0]}"


def _gas_of(held: Contents) -> str:
    if held.gas is not None:
        return str(held.gas)
    if held.pressure is None:
        return "nothing known"
    return "a gas not known" if holds_gas(held.pressure) else "empty"


def without_struck(book: Book) -> Book:
    """The book without the lines of its log that are struck out by now, at whatever hour or day
    that was done: what was written by mistake was never in it."""
    struck = struck_out_lines(book)
    if not struck:
        return book
    lines = (n for n in book.log if n.act is not LogAct.VOID and void_key(n) not in struck)
    return _until(book, lines)


def _until(then: Book, lines: Iterable[LogLine]) -> Book:
    return replace(then, log=Log.of(list(lines)))


def _as_here(then: Book, id_: str, entry: Told, day: dt.date) -> Book:
    """The book without what says no hour and was later than what is told of a day: that it was sent
    away overnight; and with a fill, how it came back from a rental that began that day too."""
    for name in then.members(id_):
        card = then.cylinders.get(name)
        if card is None or isinstance(entry, Sent):
            continue
        sent = tuple(s for s in card.sent if not _went_overnight(s, day))
        then = _with(then, name, replace(card, sent=sent)) if sent != card.sent else then
    if isinstance(entry, LogLine):
        card = then.cylinders.get(id_)
        for each in card.rented if card else ():
            if each.back == day and not is_logged(then, id_, each):
                then = _not_back(then, id_, each)
    return then


def _went_overnight(sent: Sent, day: dt.date) -> bool:
    return (
        sent.on.day is not None and sent.on.first == day and (sent.back is None or sent.back > day)
    )


def _not_back(then: Book, id_: str, entry: Rented) -> Book:
    """The book without the return of a rental that came back that day: what it came back with is
    not what it was handed out with."""
    card = then.cylinders.get(id_) or then.sets[id_]
    rented = tuple(
        replace(r, back=None, pressure=None, valve=None, damage=None)
        if r.source.node is entry.source.node
        else r
        for r in card.rented
    )
    return _with(then, id_, replace(card, rented=rented))


def _with(then: Book, id_: str, card: Cylinder | Doubles) -> Book:
    if isinstance(card, Cylinder):
        return replace(then, cylinders={**then.cylinders, id_: card})
    return replace(then, sets={**then.sets, id_: card})


def kept_hour(at: dt.datetime | None) -> dt.time | None:
    """An hour as an entry keeps it, to the minute."""
    return time_of_day(at).replace(second=0, microsecond=0) if at else None
