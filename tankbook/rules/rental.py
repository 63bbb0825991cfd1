"""Rental: what is out, whether a cylinder may go out, and which of them to send first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles, stays_with_owner
from tankbook.records.entries import Rented
from tankbook.records.kinds import is_empty
from tankbook.records.life import still_open
from tankbook.records.rulerow import Gate
from tankbook.records.words import Use
from tankbook.rules.answers import Contents, MayFill, Reason
from tankbook.rules.fill_history import contents_of, sets_with
from tankbook.rules.gate import may_fill
from tankbook.rules.kept import against_of
from tankbook.rules.limits import settled
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.volume import size_of
from tankbook.units import GaugePressure, PartialDate, Percent
from tankbook.units.nouns import counted

READY_AT = Percent.parse("90 %")
"""Share of the limit that counts as full unless the settings say otherwise."""

LENT = frozenset({Use.RENTAL, Use.STAFF, Use.POOL})
"""The uses whose cylinders go out and come back."""


class Lending(Struct, frozen=True):
    """A cylinder or set that is out: to whom, since when, and when it is due back."""

    id: str
    to: str
    since: PartialDate
    until: dt.date | None
    against: str = ""
    """What stands against it besides."""

    def is_late(self, today: dt.date) -> bool:
        """Whether it should have been back before today."""
        return self.until is not None and self.until < today


def lent(book: Book, today: dt.date) -> tuple[Lending, ...]:
    """What is out now, first due back first; what has no day comes last."""
    found = [
        Lending(name, rental.to, rental.on, rental.until, against_of(book, name, today))
        for name, subject in subjects(book)
        if (rental := open_rental(subject)) is not None
    ]
    return tuple(sorted(found, key=lambda each: (each.until or dt.date.max, each.id)))


def subjects(book: Book) -> Iterator[tuple[str, Cylinder | Doubles]]:
    """Every cylinder and set, by id."""
    yield from book.cylinders.items()
    yield from book.sets.items()


def open_rental(subject: Cylinder | Doubles) -> Rented | None:
    """The rental a cylinder or set is out on."""
    return next(reversed(still_open(subject.rented)), None)


def out_as(book: Book, cylinder: Cylinder) -> Iterator[tuple[str, Rented]]:
    """The rentals on which a cylinder is out, held or not: its own, and that of a set it is in."""
    for name in (cylinder.id, *sets_with(book).get(cylinder.id, ())):
        subject = book.cylinders.get(name) or book.sets.get(name)
        rental = open_rental(subject) if subject else None
        if rental:
            yield name, rental


def free_from(book: Book, id_: str, today: dt.date) -> dt.date | None:
    """The first day on which a cylinder or set can go out; None where nobody knows: what is out and
    late, or has no day to be back, is not counted on."""
    rental = open_rental(book.sets.get(id_) or book.cylinders[id_])
    if rental is None:
        return today
    if rental.until is None or rental.until < today:
        return None
    return rental.until + dt.timedelta(days=1)


def is_ready(book: Book, id_: str, today: dt.date) -> str:
    """The gas a cylinder or set is ready with, or an empty text."""
    held = contents_of(book, id_)
    if held.gas is None or held.pressure is None:
        return ""
    answer = may_fill(book, id_, today, held.gas, station=False, warned=False)
    return str(held.gas) if answer.fillable and is_full(book, answer, held) else ""


def is_full(book: Book, answer: MayFill, held: Contents) -> bool:
    """Whether contents reach the settings' share of the limit, at its reference temperature."""
    if answer.limit is None or held.gas is None or held.pressure is None:
        return False
    pressure = held.pressure
    if held.temperature is not None:
        pressure = settled(held.gas.mixture, pressure, held.temperature, answer.limit.reference)
    share = (book.settings.ready_at or READY_AT).fraction
    return pressure.pa >= share * answer.limit.pressure.pa


class Lapse(Struct, frozen=True):
    """The first of a cylinder's dates that closes it: what, and the last day it holds."""

    what: str
    last_day: dt.date
    id: str


def first_lapse(book: Book, id_: str, today: dt.date) -> Lapse | None:
    """The next date to lapse, of a cylinder or of either side of a set; None where none will."""
    found = [
        Lapse(item.obligation.value, item.next, member)
        for member in book.members(id_)
        if member in book.cylinders
        for item in due_of_cylinder(book, book.cylinders[member], today)
        if item.next is not None and item.row is not None and item.row.gate is Gate.REFUSE
    ]
    return min(found, key=lambda lapse: (lapse.last_day, lapse.id), default=None)


def against_going_out(
    book: Book, id_: str, today: dt.date, until: dt.date, gas: Gas | None = None
) -> tuple[str, ...]:
    """Every reason why a cylinder or set may not go out today and stay out until a day.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book.
        today: the day it goes.
        until: the last day it is out; nothing of its own may lapse before the day after.
        gas: the gas wanted, where one is.
    """
    if id_ in book.broken:
        return ("its file cannot be read; `tankbook validate` says why",)
    held = contents_of(book, id_)
    answer = may_fill(book, id_, today, held.gas or gas, station=False, warned=False)
    reasons = [*_not_lent(book, id_), *(r.text for r in answer.refusals)]
    reasons += _not_the_gas(held, gas)
    lapse = first_lapse(book, id_, today)
    if lapse and today <= lapse.last_day < until:
        whose = f"{lapse.id}: " if lapse.id != id_ else ""
        reasons.append(
            f"{whose}its {lapse.what} lapses after {lapse.last_day}, and it would be out "
            f"until {until}"
        )
    return tuple(dict.fromkeys(reasons))


def _not_lent(book: Book, id_: str) -> Iterator[str]:
    subject = book.sets.get(id_) or book.cylinders[id_]
    if subject.use is None:
        yield "what it is kept for is not recorded (`use:`)"
    elif subject.use not in LENT:
        yield f"it is kept for {subject.use}, not for rental"
    for side in book.sides(id_) if isinstance(subject, Doubles) else ():
        if stays_with_owner(side):
            yield f"{side.id} is a customer's (`use:`): it is not ours to lend"
    for name in sets_with(book).get(id_, ()):
        yield f"it is one side of {name}: the two go out as one"
    if isinstance(subject, Doubles):
        rental = open_rental(subject)
        if rental:
            yield f"it is out to {rental.to} since {rental.on}"


def _not_the_gas(held: Contents, gas: Gas | None) -> Iterator[str]:
    if is_empty(held.pressure):
        yield f"it is on record as empty{f' since {held.on}' if held.on else ''}: fill it first"
    elif held.gas is None:
        yield (
            "what it holds is not on record: log its fill (`--source 'elsewhere: WHERE'`), or"
            " drain it and fill it here"
        )
    elif gas is not None and held.gas != gas:
        yield f"it holds {held.gas}, and {gas} is wanted"


_UNTIL_IT_IS_BACK = frozenset({"standing-out", "contents-differ"})
"""Reasons that a return and a fill do away with."""


def fits_once_back(answer: MayFill) -> bool:
    """Whether a cylinder could serve on a later day: nothing against it but being out or used."""
    return not any(_lasts(r) for r in answer.refusals) and answer.limit is not None


def _lasts(reason: Reason) -> bool:
    return reason.code not in _UNTIL_IT_IS_BACK


class Candidate(Struct, frozen=True):
    """A cylinder or set that can go out now, and why it is before or after another."""

    id: str
    size: str
    gas: Gas
    pressure: GaugePressure | None
    filled_on: dt.date | None
    fills: int

    @property
    def why(self) -> str:
        """What its place in the order rests on."""
        filled = f"filled {self.filled_on}" if self.filled_on else "no fill on record"
        return f"{filled}, {counted(self.fills, 'fill')}"


ORDER = "oldest contents first, then fewest fills"
"""How it is chosen which to send: old air goes out, and wear is shared."""


def to_send(
    book: Book, today: dt.date, until: dt.date, *, size: str = "", gas: Gas | None = None
) -> tuple[Candidate, ...]:
    """The full ones that may go out today until a day, in the order they should be sent.

    Oldest contents first, then fewest fills, then by id.
    """
    found = []
    for id_ in lendable(book):
        if size and not same_size(size, size_of(book, id_)):
            continue
        held = contents_of(book, id_)
        if held.gas is None or (gas is not None and held.gas != gas):
            continue
        answer = may_fill(book, id_, today, held.gas, station=False)
        if not answer.fillable or not is_full(book, answer, held):
            continue
        if against_going_out(book, id_, today, until, gas):
            continue
        found.append(candidate(book, id_, held))
    return tuple(sorted(found, key=_order))


def candidate(book: Book, id_: str, held: Contents) -> Candidate:
    """A cylinder or set as it stands in the order."""
    assert held.gas is not None
    filled = held.filled_at.date() if held.filled_at else None
    return Candidate(id_, size_of(book, id_), held.gas, held.pressure, filled, held.fills)


def _order(each: Candidate) -> tuple[dt.date, int, str]:
    return each.filled_on or dt.date.min, each.fills, each.id


def lendable(book: Book) -> Iterator[str]:
    """Cylinders and sets kept to be lent, whatever their state; a set stands for its cylinders."""
    paired = sets_with(book)
    for name, cylinder in book.cylinders.items():
        if cylinder.use in LENT and name not in paired:
            yield name
    for name, doubles in book.sets.items():
        if doubles.use in LENT:
            yield name


def same_size(wanted: str, size: str) -> bool:
    """Whether a size is the one wanted; `doubles` asks for doubles of any size."""
    wanted, size = wanted.casefold().strip(), size.casefold()
    return wanted == size or (wanted == "doubles" and size.startswith("doubles "))
