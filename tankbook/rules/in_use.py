"""How many of the cylinders that go out were used in a month, and how many stood idle."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import accumulate

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Rented, standing
from tankbook.records.life import life_of, opens
from tankbook.records.words import LogAct
from tankbook.rules.costs import YEAR
from tankbook.rules.fill_book import unread_log
from tankbook.rules.fill_history import lines_about, named_in_log, places_of, rentals_of
from tankbook.rules.months import month_of, months_until
from tankbook.rules.rental import LENT
from tankbook.units import PartialDate

Span = tuple[dt.date, dt.date]
"""A first and a last day."""


class MonthOfUse(Struct, frozen=True):
    """One month of the cylinders kept to be lent; both of a set count.

    Attributes:
        month: which.
        used: out on rental on any day of it, or filled in it.
        kept_back: not used, and held, rejected or away through the whole of it.
        stood: the others that were there.
        most_out: the most that were out on one day.
        days_out: days that cylinders were out, added up.
        days_there: days that they were the ledger's, added up.
        whole: whether it is over.
    """

    month: PartialDate
    used: int
    kept_back: int
    stood: int
    most_out: int
    days_out: int
    days_there: int
    whole: bool


class InUse(Struct, frozen=True):
    """The months, oldest first, from that of the log's first line on at the earliest; `unknown` are
    the cylinders of which nothing says since when they are there: they are not counted; `unread`
    the files of the log that could not be read in full."""

    months: tuple[MonthOfUse, ...]
    unknown: tuple[str, ...]
    unread: tuple[str, ...] = ()


class _One(Struct, frozen=True):
    """One cylinder: when it was the ledger's, out, filled and kept back."""

    there: tuple[Span, ...]
    out: tuple[Span, ...]
    filled: frozenset[PartialDate]
    back: tuple[Span, ...]


def in_use(book: Book, today: dt.date, months: int = YEAR) -> InUse:
    """The use of the months that end with this one, up to today."""
    ones: list[_One] = []
    unknown: list[str] = []
    for card in book.cylinders.values():
        if card.use in LENT:
            begun = _begun(book, card)
            if begun is None:
                unknown.append(card.id)
            else:
                ones.append(_one(book, card, begun, today))
    begins = _log_begins(book)
    span = [m for m in months_until(today, months) if begins and m.last >= begins]
    return InUse(tuple(_month(ones, m, today) for m in span), tuple(unknown), unread_log(book))


def _log_begins(book: Book) -> dt.date | None:
    times = places_of(book).log.column("at")
    return min(times).date() if named_in_log(book) else None


def _begun(book: Book, card: Cylinder) -> dt.date | None:
    """The first day of which anything is on record here; a test may be older than its keeping."""
    if card.bought is not None:
        return card.bought.first
    entries: list[Entry] = [
        *standing(card.inspected),
        *standing(card.held),
        *standing(card.sent),
        *standing(rentals_of(book, card.id)),
    ]
    days = [e.on.first for e in entries]
    lines = lines_about(book, card.id)
    days += [lines[0].at.date()] if lines else []
    return min(days, default=None)


def _one(book: Book, card: Cylinder, begun: dt.date, today: dt.date) -> _One:
    kept = (card.condemned, card.handed_over, card.rejected, card.lost, card.sent, card.held)
    entries = [e for each in kept for e in standing(each)]
    gone = [_span(e, today) for e in entries if (state := opens(e)) and state.gone]
    back = [_span(e, today) for e in entries if (state := opens(e)) and not state.gone]
    rented: Iterable[Rented] = standing(rentals_of(book, card.id))
    return _One(
        there=tuple(_without((begun, today), gone)),
        out=tuple(_merged(_span(r, today) for r in rented)),
        filled=frozenset(
            month_of(n.at.date()) for n in lines_about(book, card.id) if n.act is LogAct.FILL
        ),
        back=tuple(_merged(back)),
    )


def _span(entry: Entry, today: dt.date) -> Span:
    """From the day of an entry to the day that ended it, both of them in it; to today, if none."""
    life = life_of(type(entry))
    end = getattr(entry, life.ended_by) if life.ended_by else None
    return entry.on.first, min(end or today, today)


def _merged(spans: Iterable[Span]) -> Iterator[Span]:
    """The days of all spans, as spans that do not meet."""
    day = dt.timedelta(days=1)
    open_: Span | None = None
    for first, last in sorted(s for s in spans if s[0] <= s[1]):
        if open_ is not None and first <= open_[1] + day:
            open_ = open_[0], max(open_[1], last)
            continue
        if open_ is not None:
            yield open_
        open_ = first, last
    if open_ is not None:
        yield open_


def _without(whole: Span, gone: Iterable[Span]) -> Iterator[Span]:
    """What is left of a span without the days of others."""
    day = dt.timedelta(days=1)
    first, end = whole
    for begun, ended in _merged(gone):
        if begun > first:
            yield first, min(begun - day, end)
        first = max(first, ended + day)
    if first <= end:
        yield first, end


def _days(spans: Iterable[Span], month: Span) -> int:
    """How many days of a month lie in spans that do not meet."""
    cut = ((max(a, month[0]), min(b, month[1])) for a, b in spans)
    return sum((b - a).days + 1 for a, b in cut if a <= b)


def _month(ones: Iterable[_One], month: PartialDate, today: dt.date) -> MonthOfUse:
    whole = month.first, min(month.last, today)
    there = [(one, days) for one in ones if (days := _days(one.there, whole))]
    used = back = days_out = 0
    for one, days in there:
        out = _days(one.out, whole)
        days_out += out
        if out or month in one.filled:
            used += 1
        elif _days(one.back, whole) >= days:
            back += 1
    return MonthOfUse(
        month=month,
        used=used,
        kept_back=back,
        stood=len(there) - used - back,
        most_out=_most_out([span for one, _ in there for span in one.out], whole),
        days_out=days_out,
        days_there=sum(days for _, days in there),
        whole=month.last <= today,
    )


def _most_out(out: Iterable[Span], month: Span) -> int:
    """The most spans that one day of a month lies in."""
    steps = [0] * ((month[1] - month[0]).days + 2)
    for first, last in out:
        if first <= month[1] and last >= month[0]:
            steps[max((first - month[0]).days, 0)] += 1
            steps[min((last - month[0]).days, len(steps) - 2) + 1] -= 1
    return max(accumulate(steps))
