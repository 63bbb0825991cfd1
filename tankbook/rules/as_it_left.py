"""What a cylinder was, and held, as it left the shop: by the hour, never by the end of that day.

On one day it may go out, come back, be drained and be filled with another gas. The hour of leaving
is on the entry, or with the reading of its gauge. Where neither says it, what it held is told only
as far as all that was known of that day agrees.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import HandedOver, Job, Rented
from tankbook.records.log import Log, LogLine
from tankbook.records.words import LogAct, Status
from tankbook.rules.answers import Contents
from tankbook.rules.fill_history import contents_of, lines_about
from tankbook.rules.in_hands import came_back, went_out
from tankbook.rules.incident import book_then
from tankbook.rules.status import worked_out
from tankbook.units import time_of_day

Leaving = Rented | HandedOver | Job


class AsItLeft(Struct, frozen=True):
    """The records as they were when a cylinder or set left, and what it held.

    `unsure`: at which hour it left is not known, and that day's lines tell more than one gas or
    analysis of it: `held` then says neither. Where only the pressures differ, that is left out.
    """

    book: Book
    held: Contents
    unsure: bool = False


def as_it_left(book: Book, id_: str, entry: Leaving, day: dt.date) -> AsItLeft:
    """What was known of a cylinder or set as it left.

    Args:
        book: all the records.
        id_: a cylinder or set of it.
        entry: the rental, sale or job with which it left.
        day: the day it left.
    """
    known = book.as_known_on(day)
    hour = _hour(known, id_, entry)
    then = book_then(book, day, hour) if hour else known
    then = _with_status(known, _not_back(then, id_, entry), id_)
    if isinstance(entry, Rented) and entry.back == day:
        # in the minute that it left in, what came back came after
        back = came_back(known, id_, entry)
        then = _until(then, [n for n in then.log if back is None or n.at < back.at])
    return AsItLeft(then, contents_of(then, id_)) if hour else _agreed(then, id_, entry, day)


def _hour(known: Book, id_: str, entry: Leaving) -> dt.time | None:
    if isinstance(entry, Rented):
        return went_out(known, id_, entry)
    return entry.at if isinstance(entry, HandedOver) else entry.collected_at


def _agreed(then: Book, id_: str, entry: Leaving, day: dt.date) -> AsItLeft:
    """What all moments of a day agree on: before any of its lines, and after each of them."""
    lines = [n for n in lines_about(then, id_) if n.at.date() == day]
    if isinstance(entry, Job):  # it was the shop's to fill until its owner took it along
        last = max((i for i, n in enumerate(lines) if n.act is LogAct.FILL), default=None)
        lines = lines if last is None else lines[last + 1 :]
    held = contents_of(then, id_)
    if not lines:
        return AsItLeft(then, held)
    moments = [held]
    for first in reversed(lines):
        gone = [n for n in then.log if n.at < first.at or n.at.date() != day]
        moments.append(contents_of(_until(then, gone), id_))
    if len({(m.gas, m.figures, m.source) for m in moments}) > 1:
        return AsItLeft(then, Contents(None, None, None, None, None), unsure=True)
    if len({m.pressure for m in moments}) > 1:
        held = replace(held, pressure=None, temperature=None, at=None, on=None)
    return AsItLeft(then, held)


def _until(then: Book, lines: Iterable[LogLine]) -> Book:
    return replace(then, log=Log.of(list(lines)))


def _not_back(then: Book, id_: str, entry: Leaving) -> Book:
    """The book without the return of a rental that came back that day: what it came back with is
    not what it was handed out with."""
    if not isinstance(entry, Rented):
        return then
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


def _with_status(known: Book, then: Book, id_: str) -> Book:
    """The book with the status that a card had then, where that of the day is what its entries say:
    of one that they do not, something is wrong, and that is told."""
    was, now = known.cylinders.get(id_), then.cylinders.get(id_)
    if was is None or now is None or now.status is None or was.status != worked_out(known, was):
        return then
    stood: Status = worked_out(then, now)
    return _with(then, id_, replace(now, status=stood))


def kept_hour(at: dt.datetime | None) -> dt.time | None:
    """An hour as an entry keeps it, to the minute."""
    return time_of_day(at).replace(second=0, microsecond=0) if at else None
