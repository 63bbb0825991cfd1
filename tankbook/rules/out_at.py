"""When a cylinder or set was surely out of the house: on rental, by itself or in its set, away,
sold or lost.

What says its hour is out from that minute to that of its return; what says none from the end of
the day that it left on to the beginning of the day that it came back on. Of the hours between
nobody knows. What was sold is surely out on that day alone: it is its owner's, who walks in with it
on any other, and nobody logs where it goes.
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import HandedOver, Lost, Rented, Sent, standing
from tankbook.records.log import LogLine
from tankbook.records.words import LogAct
from tankbook.rules.fill_history import lines_by_cylinder, names_in_log, struck_out, void_key
from tankbook.rules.in_hands import came_back, went_out
from tankbook.units import time_of_day

_NEVER = dt.datetime.combine(dt.date.max, dt.time.max)


class TimeOut(Struct, frozen=True):
    """A time for which a cylinder or set was surely out.

    Attributes:
        owner: whose card or file says so: its own, that of its set, or that of one of its sides.
        name: the list of the entry.
        entry: the entry that says so.
        since: local; it was here up to that minute, where `left` is known.
        until: local; it was here from that minute on, where it `came` back at an hour.
        left: the hour at which it left, where that is known.
        came: the line of the log with which it came back, where there is one.
    """

    owner: Cylinder | Doubles
    name: str
    entry: Rented | Sent | HandedOver | Lost
    since: dt.datetime
    until: dt.datetime
    left: dt.time | None = None
    came: LogLine | None = None

    def holds(self, at: dt.datetime) -> bool:
        """Whether a moment lies within it."""
        return self.since < local(at) < self.until

    def said(self, id_: str, at: dt.datetime) -> str:
        """Where a cylinder or set was at a moment within it, as `out with B-9 since 10:00`."""
        whose = f" in {self.owner.id}" if isinstance(self.owner, Doubles) else ""
        whose = f", its side {self.owner.id}" if self._is_of_side(id_) else whose
        match self.entry:
            case Rented():
                where = f"out with {self.entry.to}"
            case Sent():
                where = f"away at {self.entry.to}"
            case HandedOver():
                where = f"sold to {self.entry.to}"
            case _:
                where = "lost"
        since = f" since {self.left:%H:%M}" if self.left and self._on(at, self.since) else ""
        until = f" until {self.until:%H:%M}" if self.came and self._on(at, self.until) else ""
        return f"{where}{since}{until}{whose if self.owner.id != id_ else ''}"

    def _is_of_side(self, id_: str) -> bool:
        return isinstance(self.owner, Cylinder) and self.owner.id != id_

    @staticmethod
    def _on(at: dt.datetime, end: dt.datetime) -> bool:
        return local(at).date() == end.date()


def local(at: dt.datetime) -> dt.datetime:
    """A moment as the clock on the wall showed it, to the minute."""
    return dt.datetime.combine(at.date(), _minute(time_of_day(at)))


@once_per_book
def times_out(book: Book, id_: str) -> tuple[TimeOut, ...]:
    """Every time for which a cylinder or set was surely out, in no order.

    Args:
        book: the records.
        id_: a cylinder or set of it; nothing is known of any other.
    """
    return tuple(_times_out(book, id_))


def _times_out(book: Book, id_: str) -> Iterator[TimeOut]:
    doubles = book.every_set.get(id_)
    sides = doubles.cylinders if doubles else (id_,)
    for name in dict.fromkeys((*sides, *names_in_log(book, id_), id_)):
        owner = book.every_set.get(name) or book.cylinders.get(name)
        if owner is None:
            continue
        for rental in standing(owner.rented):
            if _is_of(doubles or owner, rental) and _is_of(owner, rental):
                yield _on_rental(book, owner, rental)
    for card in (book.cylinders[side] for side in sides if side in book.cylinders):
        yield from (o for o in _gone(card) if _is_of(doubles, o.entry))


def _is_of(subject: Cylinder | Doubles | None, entry: Rented | Sent | HandedOver | Lost) -> bool:
    """Whether an entry of a side is of its set too, or the other way about: they hung together."""
    return not isinstance(subject, Doubles) or subject.joined(entry.on.first)


def _on_rental(book: Book, owner: Cylinder | Doubles, rental: Rented) -> TimeOut:
    left = went_out(book, owner.id, rental) if rental.on.day is not None else None
    came = came_back(book, owner.id, rental)
    since = dt.datetime.combine(rental.on.last, _minute(left) if left else dt.time.max)
    until = _NEVER if rental.back is None else _day(rental.back)
    until = local(came.at) if came else until
    return TimeOut(owner, "rented", rental, since, until, _minute(left) if left else None, came)


def _gone(card: Cylinder) -> Iterator[TimeOut]:
    """When a card says that it was away, sold or lost."""
    for sent in standing(card.sent):
        until = _day(sent.back) if sent.back else _NEVER
        yield TimeOut(card, "sent", sent, _end(sent.on.last), until)
    for lost in standing(card.lost):
        until = _day(lost.found) if lost.found else _NEVER
        yield TimeOut(card, "lost", lost, _end(lost.on.last), until)
    for sale in standing(card.handed_over):
        left = sale.at if sale.on.day is not None else None
        since = dt.datetime.combine(sale.on.last, left) if left else _end(sale.on.last)
        taken_in = any(j.on.first == sale.on.last for j in standing(card.jobs))
        until = _day(sale.on.last) if taken_in else _end(sale.on.last)
        yield TimeOut(card, "handed_over", sale, since, until, left)


def out_at(book: Book, id_: str, at: dt.datetime) -> tuple[TimeOut, ...]:
    """Where a cylinder or set surely was at a moment, while it was out; empty where it was here, or
    nobody knows.

    Args:
        book: the records.
        id_: a cylinder or set of it.
        at: the moment, with its UTC offset.
    """
    return tuple(each for each in times_out(book, id_) if each.holds(at))


def lines_while_out(book: Book, id_: str) -> Iterator[tuple[LogLine, TimeOut]]:
    """Every line of the log of a cylinder or set, by that name, for which somebody had it in hand
    while it was surely out. A reading that says who took it (its note) was taken there; what is
    read as it leaves or comes back tells the hours themselves.

    Args:
        book: the records.
        id_: a cylinder or set of it.
    """
    every = times_out(book, id_)
    lines = _in_hand(lines_by_cylinder(book).get(id_, ())) if every else ()
    moments = [local(line.at) for line in lines]
    for each in every if lines else ():
        first, last = bisect_right(moments, each.since), bisect_left(moments, each.until)
        yield from ((line, each) for line in lines[first:last] if each.holds(line.at))


def _in_hand(lines: Iterable[LogLine]) -> Sequence[LogLine]:
    lines = tuple(lines)
    void = struck_out(lines)
    stand = (n for n in lines if n.act is not LogAct.VOID and void_key(n) not in void)
    found = [n for n in stand if n.act is not LogAct.READING or not n.note]
    return sorted(found, key=lambda n: local(n.at))


def _day(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time.min)


def _end(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time.max)


def _minute(time: dt.time) -> dt.time:
    return time.replace(second=0, microsecond=0)
