"""Hours of going out and coming back that cannot both be so.

Days are judged by the checks of each entry; what an entry, or the line of the log that it was
written with, says of the hour is judged here, and nothing where either says none.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import HandedOver, Job, Rentals, Rented, standing
from tankbook.records.log import LogLine
from tankbook.records.naming import named_among
from tankbook.records.node import Where
from tankbook.records.words import LogAct, Work
from tankbook.rules.fill_history import lines_about, struck_out, void_key
from tankbook.rules.in_hands import came_back, readings_back, went_out
from tankbook.units import time_of_day


class AtOdds(Struct, frozen=True):
    """Two hours of one cylinder or set that cannot both be so, in words, and how that is mended."""

    where: Where
    text: str
    mend: str
    may_be: bool = False
    """Nobody allows it, and it may have happened all the same."""


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
    yield from _filled_while_out(book, card)
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
    read = sorted({_minute(time_of_day(n.at)) for n in readings_back(book, card.id, rental)})
    alike = [r for r in standing(card.rented) if (r.back, r.to) == (rental.back, rental.to)]
    if len(read) >= len(alike) and read[-1] < _minute(out):
        text = f"it came back at {read[-1]:%H:%M}, and went out at {out:%H:%M} that day"
        yield _at_odds(card, "rented", rental, text)


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
            yield _at_odds(card, "rented", second, text)
    elif first.on.first == day and (first.back is None or first.back > day) and second.back == day:
        text = f"it went out at {out:%H:%M}, and was out with {first.to} then"
        yield _at_odds(card, "rented", second, text)


def _filled_while_out(book: Book, card: Cylinder | Doubles) -> Iterator[AtOdds]:
    """Filled at an hour at which it was out, on the day that it left or came back; of the days
    between, its fills tell that (`filled-while`)."""
    lines = lines_about(book, card.id)
    void = struck_out(lines)
    fills = defaultdict[dt.date, list[LogLine]](list)
    for line in lines:
        if line.act is LogAct.FILL and void_key(line) not in void:
            fills[line.at.date()].append(line)
    for rental in standing(card.rented) if fills else ():
        began = rental.on.first if rental.on.day is not None else None
        for day in dict.fromkeys((began, rental.back)):
            if day is not None and day in fills:
                yield from _while_out_on(book, card, rental, day, fills[day])


def _while_out_on(
    book: Book, card: Cylinder | Doubles, rental: Rented, day: dt.date, fills: Sequence[LogLine]
) -> Iterator[AtOdds]:
    left = went_out(book, card.id, rental) if rental.on.first == day else dt.time.min
    line = came_back(book, card.id, rental) if rental.back == day else None
    back = _minute(time_of_day(line.at)) if line else None
    if left is None or (rental.back == day and back is None):
        return
    for fill in fills:
        at = _minute(time_of_day(fill.at))
        if at <= left or (back is not None and at >= back):
            continue
        since = f" since {left:%H:%M}" if rental.on.first == day else ""
        until = f" until {back:%H:%M}" if back is not None else ""
        text = f"it was filled at {at:%H:%M}, and was out with {rental.to}{since}{until}"
        yield _at_odds(card, "rented", rental, text, act=LogAct.FILL, may_be=True)


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
        yield _at_odds(card, "handed_over", sale, text)
    elif back is not None and back > sale.at:
        text = f"it was handed over at {sale.at:%H:%M}, and came back at {back:%H:%M}"
        yield _at_odds(card, "handed_over", sale, f"{text} from {rental.to}")


def _collected_before(book: Book, card: Cylinder, job: Job) -> Iterator[AtOdds]:
    """Collected the day it was taken in, before that hour, or before all that was filled then where
    no note of the work says how that came."""
    gone = job.collected_at
    if gone is None or job.on.day is None or job.collected != job.on.first:
        return
    if job.at is not None and gone < job.at:
        text = f"it was collected at {gone:%H:%M}, and taken in at {job.at:%H:%M} that day"
        yield _at_odds(card, "jobs", job, text, "collected_at")
    elif Work.FILL in job.work and not job.note:
        fills = [
            _minute(time_of_day(n.at))
            for n in lines_about(book, card.id)
            if n.act is LogAct.FILL and n.at.date() == job.collected
        ]
        if fills and min(fills) > gone:
            text = f"it was collected at {gone:%H:%M}, and filled at {min(fills):%H:%M} that day"
            yield _at_odds(card, "jobs", job, text, "collected_at")


def _at_odds(
    card: Cylinder | Doubles,
    name: str,
    entry: Rented | HandedOver | Job,
    text: str,
    key: str = "at",
    *,
    act: LogAct = LogAct.READING,
    may_be: bool = False,
) -> AtOdds:
    which = named_among(getattr(card, name), entry)
    set_right = f"`tankbook correct {card.id} {name} {which} --set {key}=HH:MM --why WHY`"
    mend = f"give the hour that is true (--at), or set that right which is on record: {set_right}"
    mend += f"; of a line of the log: `tankbook correct {card.id} {act} TIME --why WHY`"
    mend += "; what happened all the same is logged with --happened" if may_be else ""
    return AtOdds(entry.source.at(key), f"{name} {entry.on}: {text}", mend, may_be)


def _minute(time: dt.time) -> dt.time:
    return time.replace(second=0, microsecond=0)
