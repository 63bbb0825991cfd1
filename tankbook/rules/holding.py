"""How long the gate's answer holds, if nothing more were recorded."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable

from tankbook.records.book import Book
from tankbook.records.cylinder import is_customers
from tankbook.records.rulerow import Gate
from tankbook.rules.answers import Due, DueKind, MayFill
from tankbook.rules.figures import FURTHEST
from tankbook.rules.gate import may_fill, shut_by
from tankbook.rules.inforce import rules_turn


def nothing_against_until(
    book: Book, answer: MayFill, today: dt.date, dues: Iterable[Due], station: dt.date
) -> dt.date | None:
    """The last day to which the records have nothing against a fill; None where they have today.

    The list of what is due proposes the day, and the gate is asked about it: where something else
    turns before, the day before that is found. Where no day is on record it is today.

    Args:
        book: the records, as known today.
        answer: the gate's answer of today, for the gas that is asked about.
        today: the day it was asked about.
        dues: what is due of it, and of a set's cylinders.
        station: as `station_until` has it.
    """
    if not answer.fillable:
        return None
    last = min([station, *_ends(dues, today)])
    return _last_good(lambda day: may_fill(book, answer.id, day, answer.gas).fillable, today, last)


def station_until(book: Book, today: dt.date, dues: Iterable[Due]) -> dt.date:
    """The last day to which nothing closes the station, as far as days are on record: today where
    something does, a year on where none is. It speaks of no day on which other rules are in force:
    a book knows those of the day it was asked about."""
    of_it = (item for item in dues if item.kind is DueKind.STATION)
    last = min([today + FURTHEST, *_ends(of_it, today)])
    turn = rules_turn(book, today)
    last = min(last, turn - _DAY) if turn else last
    return _last_good(lambda day: not shut_by(book, day), today, last)


def _last_good(good_on: Callable[[dt.date], bool], today: dt.date, last: dt.date) -> dt.date:
    """The last day from today to another on which it is as today, which is taken for good."""
    if good_on(last):
        return last
    good = today
    while last - good > _DAY:  # good on the one day, not on the other
        middle = good + (last - good) // 2
        if good_on(middle):
            good = middle
        else:
            last = middle
    return good


def _ends(dues: Iterable[Due], today: dt.date) -> Iterable[dt.date]:
    """The days to which what closes a fill is met."""
    for item in dues:
        closes = item.row is not None and item.row.gate is Gate.REFUSE
        if closes and item.next is not None and item.next >= today:
            yield item.next


def is_of_customer(book: Book, id_: str) -> bool:
    """Whether a cylinder, or one of a set, is a customer's."""
    cards = (book.sets.get(id_), *(book.cylinders.get(m) for m in book.members(id_)))
    return any(c is not None and is_customers(c) for c in cards)


_DAY = dt.timedelta(days=1)
