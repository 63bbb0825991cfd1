"""What is wanted on the days ahead against what can be sent: the stock that work must leave."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator

from msgspec import Struct, field

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import MayFill, State
from tankbook.rules.gate import may_fill
from tankbook.rules.rental import free_from, lendable, same_size
from tankbook.rules.volume import size_of

ANY_GAS = None


class LentKind(Struct, frozen=True):
    """Cylinders that are alike to a booking: their size, and the wanted gases they may hold."""

    size: str
    gases: frozenset[Gas]


class WantedLoan(Struct, frozen=True):
    """What is wanted: a size (empty: any) and a gas (None: any)."""

    size: str
    gas: Gas | None

    def served_by(self, kind: LentKind) -> bool:
        """Whether a kind will do."""
        right_gas = self.gas is ANY_GAS or self.gas in kind.gases
        return right_gas and (not self.size or same_size(self.size, kind.size))


class Lent(Struct, frozen=True):
    """A cylinder or set that can be sent: its kind, and the first day it is here."""

    id: str
    kind: LentKind
    free_from: dt.date


_MENDED_BY_TIME = frozenset(
    {"standing-out", "contents-differ"}
    | {
        f"{question}-{state}"
        for question in (Obligation.REQUALIFICATION, Obligation.VISUAL, Obligation.EDDY_CURRENT)
        for state in (State.OVERDUE, State.MISSING)
    }
)
"""Reasons that a return, a fill, a test or an inspection does away with."""


def lent_stock(book: Book, today: dt.date) -> tuple[Lent, ...]:
    """What could be sent once it is home, tested and inspected.

    What is out and late, or has no day to be back, is not counted on.
    """
    gases = frozenset(booking.gas or book.usual_gas for booking in book.bookings)
    gases |= {book.usual_gas}
    found = []
    for id_ in lendable(book):
        fit = frozenset(g for g in gases if _will_fit(may_fill(book, id_, today, g, station=False)))
        free = free_from(book, id_, today)
        if fit and free is not None:
            found.append(Lent(id_, LentKind(size_of(book, id_), fit), free))
    return tuple(found)


def _will_fit(answer: MayFill) -> bool:
    # the other side of doubles is asked for itself, as the set's own reasons hold both
    passing = _MENDED_BY_TIME | {"doubles-other-side"}
    return all(r.code in passing for r in answer.refusals) and answer.limit is not None


def wanted_ahead(
    book: Book, today: dt.date, mondays: Iterable[dt.date]
) -> dict[dt.date, Counter[WantedLoan]]:
    """What is wanted on each day after today that has a booking, and on Mondays the least kept.

    Settings that keep so many of a size ready ask for that many also where fewer are booked.
    """
    found: dict[dt.date, Counter[WantedLoan]] = {day: Counter() for day in mondays if day > today}
    for booking in book.bookings:
        if booking.date > today:
            wanted = WantedLoan(booking.size or "", booking.gas or book.usual_gas)
            found.setdefault(booking.date, Counter())[wanted] += booking.count
    keep = book.settings.retesting.keep_ready if book.settings.retesting else {}
    for day in found.values():
        for size, least in keep.items():
            booked = sum(n for w, n in day.items() if w.size and same_size(size, w.size))
            if least > booked:
                day[WantedLoan(size, ANY_GAS)] += least - booked
    return {day: wanted for day, wanted in sorted(found.items()) if wanted}


def missing(wanted: Counter[WantedLoan], there: Counter[LentKind]) -> int:
    """How many are missing when the stock is shared out as well as it can be.

    Found by augmenting paths, so that a choosy booking is never served last to its harm.
    """
    kinds = [k for k, count in there.items() if count > 0]
    holders: dict[LentKind, list[WantedLoan]] = {k: [] for k in kinds}
    short = 0
    for want, count in wanted.items():
        for _ in range(count):
            if not _place(want, kinds, there, holders, set()):
                short += 1
    return short


def _place(
    want: WantedLoan,
    kinds: list[LentKind],
    there: Counter[LentKind],
    holders: dict[LentKind, list[WantedLoan]],
    tried: set[LentKind],
) -> bool:
    for kind in kinds:
        if kind in tried or not want.served_by(kind):
            continue
        tried.add(kind)
        if len(holders[kind]) < there[kind]:
            holders[kind].append(want)
            return True
        for place, other in enumerate(holders[kind]):
            if other != want and _place(other, kinds, there, holders, tried):
                holders[kind][place] = want
                return True
    return False


class Stock(Struct):
    """How many of each kind are here on each day that something is wanted."""

    wanted: dict[dt.date, Counter[WantedLoan]]
    there: dict[dt.date, Counter[LentKind]] = field(default_factory=dict)
    short: dict[dt.date, int] = field(default_factory=dict)

    @classmethod
    def of(cls, lent: Iterable[Lent], wanted: dict[dt.date, Counter[WantedLoan]]) -> Stock:
        """The stock before any work is planned; `short` is what is missing already."""
        made = cls(wanted, {day: Counter() for day in wanted})
        for each in lent:
            for day, there in made.there.items():
                if each.free_from <= day:
                    there[each.kind] += 1
        made.short = {day: missing(wanted[day], there) for day, there in made.there.items()}
        return made

    def days(self, first: dt.date, last: dt.date) -> Iterator[dt.date]:
        """The days of a span on which something is wanted."""
        return (day for day in self.wanted if first <= day <= last)

    def spares(self, kind: LentKind, first: dt.date, last: dt.date) -> bool:
        """Whether one of a kind may be away for a span without leaving any day shorter."""
        for day in self.days(first, last):
            there = self.there[day]
            there[kind] -= 1
            short = missing(self.wanted[day], there)
            there[kind] += 1
            if short > self.short[day]:
                return False
        return True

    def take(self, kind: LentKind, first: dt.date, last: dt.date) -> None:
        """Take one of a kind away for a span."""
        for day in self.days(first, last):
            self.there[day][kind] -= 1

    def give(self, kind: LentKind, first: dt.date, last: dt.date) -> None:
        """Undo `take`."""
        for day in self.days(first, last):
            self.there[day][kind] += 1

    def shortfalls(self) -> dict[dt.date, int]:
        """What is missing on each day as things stand."""
        found = {day: missing(self.wanted[day], there) for day, there in self.there.items()}
        return {day: count for day, count in found.items() if count}
