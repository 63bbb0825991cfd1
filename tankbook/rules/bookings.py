"""The days ahead: what the bookings want against what will be there."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Iterator

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.entries import Rented
from tankbook.records.log import Booking
from tankbook.records.rulerow import Gate
from tankbook.rules.answers import MayFill
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.rental import (
    Lending,
    first_lapse,
    fits_once_back,
    free_from,
    is_full,
    lendable,
    lent,
    same_size,
    subjects,
)
from tankbook.rules.trained import SeenNoMore, seen_no_more
from tankbook.rules.volume import size_of
from tankbook.units import GaugePressure


class Want(Struct, frozen=True):
    """What one booking wants, and how it can be met.

    `taken` went out to the same reference already. Of the rest, `ready` are full now and `to_fill`
    can be made ready; `short` is what is missing. `at` is the hour of the day, where it says one.
    """

    reference: str
    use: str
    size: str
    gas: Gas | None
    count: int
    taken: int
    ready: int
    to_fill: int
    at: dt.time | None = None

    @property
    def short(self) -> int:
        """How many are missing."""
        return max(self.count - self.taken - self.ready - self.to_fill, 0)


class BookedHour(Struct, frozen=True):
    """What one booking wants filled by its hour, None where it says none, and which cylinders of
    those that are to be filled are for it; `missing` is how many it wants besides."""

    reference: str
    at: dt.time | None
    size: str
    gas: Gas | None
    wanted: int
    ids: tuple[str, ...]

    @property
    def missing(self) -> int:
        """How many it wants that are not among those to be filled."""
        return self.wanted - len(self.ids)


class DayAhead(Struct, frozen=True):
    """A day with bookings."""

    day: dt.date
    wants: tuple[Want, ...]

    @property
    def short(self) -> int:
        """How many are missing that day."""
        return sum(want.short for want in self.wants)


class Returned(Struct, frozen=True):
    """What came back on a day, and how."""

    id: str
    to: str
    pressure: GaugePressure | None
    valve: str
    damage: str


class RentalBoard(Struct, frozen=True):
    """What is out, what is due back, and the days ahead.

    `closed` says why nothing can be filled at the station now; an empty text where it can.
    `seen_no_more` is what is out to somebody whose training for it was struck out.
    """

    today: dt.date
    out: tuple[Lending, ...]
    came_back: tuple[Returned, ...]
    days: tuple[DayAhead, ...]
    closed: str = ""
    seen_no_more: tuple[SeenNoMore, ...] = ()

    @property
    def back_today(self) -> tuple[Lending, ...]:
        """What is due back today and still out."""
        return tuple(each for each in self.out if each.until == self.today)

    @property
    def late(self) -> tuple[Lending, ...]:
        """What should have been back before today."""
        return tuple(each for each in self.out if each.is_late(self.today))

    @property
    def short_days(self) -> tuple[DayAhead, ...]:
        """The days with bookings that cannot be met."""
        return tuple(day for day in self.days if day.short)


def rental_board(book: Book, today: dt.date) -> RentalBoard:
    """What a person behind the counter looks at."""
    refusals = (r.text for r in station_reasons(book, today) if r.gate is Gate.REFUSE)
    return RentalBoard(
        today,
        lent(book, today),
        tuple(_came_back(book, today)),
        days_ahead(book, today),
        next(refusals, ""),
        tuple(seen_no_more(book, today)),
    )


def _came_back(book: Book, today: dt.date) -> Iterator[Returned]:
    for name, subject in subjects(book):
        for rental in subject.rented:
            if rental.void is None and rental.back == today:
                valve = rental.valve.value if rental.valve else ""
                yield Returned(name, rental.to, rental.pressure, valve, rental.damage or "")


class _Kind(Struct, frozen=True):
    """Cylinders that are alike to a booking: size, gases they may hold, what they hold ready."""

    size: str
    gases: frozenset[Gas]
    ready: Gas | None


class _Supply(Struct, frozen=True):
    """Cylinders of a kind with the days on which they are there and in date."""

    kind: _Kind
    free_from: dt.date
    good_until: dt.date


def days_ahead(book: Book, today: dt.date) -> tuple[DayAhead, ...]:
    """Every day from today on that has bookings, each met as well as it can be.

    A booking is taken to use its cylinders for its day. What is out counts from the day after it is
    due back; what is late, or has no day, is not counted on. A cylinder counts on a day when it is
    still in date then and nothing stands against it but being out or being used.
    """
    bookings = [b for b in book.bookings if b.date >= today]
    if not bookings:
        return ()
    gases = frozenset(b.gas or book.usual_gas for b in bookings)
    supply = Counter(_supply(book, today, gases))
    days: dict[dt.date, list[Booking]] = {}
    for booking in bookings:
        days.setdefault(booking.date, []).append(booking)
    taken = _taken(book)
    return tuple(
        DayAhead(day, _met(book, wanted, _there(supply, day), taken))
        for day, wanted in sorted(days.items())
    )


def booked_hours(
    book: Book, day: dt.date, gas: Gas, queue: Collection[str], apart: Collection[str] = ()
) -> tuple[BookedHour, ...]:
    """For which booking of a day each cylinder of a queue is filled.

    What went out to a booking, or stands ready for it beside the queue, is not filled for it. The
    earliest hour is served first, of one hour the choosiest; a booking takes what is kept to be
    lent and has its size, in the order of the ids. One of another gas, or that wants nothing
    filled, is left out; so are those of the queue that are to be kept `apart`.
    """
    bookings = [each for each in book.bookings if each.date == day]
    if not bookings:
        return ()
    gases = frozenset(each.gas or book.usual_gas for each in bookings)
    others = Counter(_supply(book, day, gases, queue))
    wants = _met(book, bookings, _there(others, day), _taken(book))
    lent_out = set(lendable(book))
    free = sorted(id_ for id_ in queue if id_ in lent_out and id_ not in apart)
    found: dict[int, BookedHour] = {}

    def first(index: int) -> tuple[bool, dt.time, tuple[bool, bool]]:
        at = bookings[index].at
        return at is None, at or dt.time.min, _choosiness(book, bookings[index])

    for index in sorted(range(len(bookings)), key=first):
        booking, want = bookings[index], wants[index]
        wanted = want.count - want.taken - want.ready
        if wanted <= 0 or (booking.gas or book.usual_gas) != gas:
            continue
        size = booking.size
        ids = [i for i in free if size is None or same_size(size, size_of(book, i))][:wanted]
        free = [id_ for id_ in free if id_ not in ids]
        found[index] = BookedHour(
            booking.reference, booking.at, size or "", booking.gas, wanted, tuple(ids)
        )
    return tuple(found[index] for index in sorted(found))


def _supply(
    book: Book, today: dt.date, gases: frozenset[Gas], without: Collection[str] = ()
) -> Iterator[_Supply]:
    for id_ in lendable(book):
        if id_ in without:
            continue
        free = free_from(book, id_, today)
        held = contents_of(book, id_)
        answers: dict[Gas | None, MayFill] = {
            gas: may_fill(book, id_, today, gas, station=False) for gas in gases
        }
        fit = frozenset(gas for gas in gases if fits_once_back(answers[gas]))
        if free is None or not fit:
            continue
        now = answers.get(held.gas)
        ready = held.gas if now and now.fillable and is_full(book, now, held) else None
        lapse = first_lapse(book, id_, today)
        good = lapse.last_day if lapse else dt.date.max
        yield _Supply(_Kind(size_of(book, id_), fit, ready), free, good)


def _there(supply: Counter[_Supply], day: dt.date) -> Counter[_Kind]:
    """How many of each kind are there and in date on a day."""
    found: Counter[_Kind] = Counter()
    for each, count in supply.items():
        if each.free_from <= day <= each.good_until:
            found[each.kind] += count
    return found


def _taken(book: Book) -> list[tuple[str, Rented]]:
    """Rentals that stand, each with its size."""
    return [
        (size_of(book, name), rental)
        for name, subject in subjects(book)
        for rental in subject.rented
        if rental.void is None
    ]


def _met(
    book: Book, bookings: list[Booking], there: Counter[_Kind], rentals: list[tuple[str, Rented]]
) -> tuple[Want, ...]:
    """How the bookings of one day are met, the choosiest served first, told in their own order."""
    gone = _gone(bookings, rentals)
    served: dict[int, Want] = {}
    for index in sorted(range(len(bookings)), key=lambda i: _choosiness(book, bookings[i])):
        booking = bookings[index]
        gas, left = booking.gas or book.usual_gas, booking.count - gone[index]
        ready = to_fill = 0
        for kind in _fitting(there, booking, gas):
            used = min(there[kind], left - ready - to_fill)
            there[kind] -= used
            ready += used if kind.ready == gas else 0
            to_fill += 0 if kind.ready == gas else used
        served[index] = Want(
            booking.reference,
            booking.use or "",
            booking.size or "",
            booking.gas,
            booking.count,
            gone[index],
            ready,
            to_fill,
            booking.at,
        )
    return tuple(served[i] for i in range(len(bookings)))


def _choosiness(book: Book, booking: Booking) -> tuple[bool, bool]:
    return booking.size is None, (booking.gas or book.usual_gas).is_air


def _fitting(there: Counter[_Kind], booking: Booking, gas: Gas) -> list[_Kind]:
    """The kinds that can serve: ready ones first, then those that can do the least besides."""
    kinds = [
        kind
        for kind, count in there.items()
        if count > 0 and gas in kind.gases and same_size(booking.size or kind.size, kind.size)
    ]
    return sorted(kinds, key=lambda k: (k.ready != gas, len(k.gases), k.ready is not None, k.size))


def _gone(bookings: list[Booking], rentals: list[tuple[str, Rented]]) -> list[int]:
    """How many went out to each booking already, each rental counted for one booking only."""
    day = bookings[0].date
    left = [
        (size, rental)
        for size, rental in rentals
        if rental.on.first <= day <= (rental.back or rental.until or dt.date.max)
    ]
    gone = []
    for booking in bookings:
        mine = [
            pair
            for pair in left
            if pair[1].to == booking.reference and same_size(booking.size or pair[0], pair[0])
        ][: booking.count]
        left = [pair for pair in left if not any(pair is each for each in mine)]
        gone.append(len(mine))
    return gone
