"""What passed over the counter, for a receipt: taken in, handed back, lent, returned, sold."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles, is_customers
from tankbook.records.entries import HandedOver, Job, Refused, Rented, standing
from tankbook.records.log import LogLine
from tankbook.records.words import LogAct, Status
from tankbook.rules.answers import Contents, Due, MayFill
from tankbook.rules.as_it_was import as_it_was
from tankbook.rules.conditions import cleaned_for
from tankbook.rules.fill_history import lines_about, local_time, struck_out, void_key
from tankbook.rules.gate import adverse_of, may_fill
from tankbook.rules.in_hands import hour_of
from tankbook.rules.labels import found_since
from tankbook.rules.own_analysis import otherwise_in
from tankbook.rules.schedule import due_of_cylinder
from tankbook.units import Money
from tankbook.units.nouns import counted


class Dealing(StrEnum):
    """What was done with a cylinder over the counter, in the order of a day."""

    TAKEN_IN = "taken-in"
    FILLED = "filled"
    REFUSED = "refused"
    RETURNED = "returned"
    HANDED_BACK = "handed-back"
    LENT = "lent"
    SOLD = "sold"

    @property
    def leaves(self) -> bool:
        """Whether somebody has the cylinder from then on, and may breathe of it."""
        return self not in {Dealing.TAKEN_IN, Dealing.RETURNED, Dealing.REFUSED}

    @property
    def ends(self) -> bool:
        """Whether it ends an entry: a rental, or a job."""
        return self in {Dealing.RETURNED, Dealing.HANDED_BACK}


class Dealt(Struct, frozen=True):
    """One thing that was done with a cylinder or set, on a day, for somebody."""

    id: str
    what: Dealing
    on: dt.date
    reference: str
    by: str
    entry: Job | Rented | HandedOver | Refused | LogLine
    at: dt.time | None = None
    """At what hour, where that is on record."""

    @property
    def price(self) -> Money | None:
        """What it cost, where that is on record."""
        return self.entry.price if isinstance(self.entry, Job | HandedOver) else None


class ReceiptItem(Struct, frozen=True):
    """A cylinder or set on a receipt, as it was known on that day.

    `cards` are its cylinders, with what is due of each; `answer` whether it may be filled, with
    what it holds or the usual gas, whatever the state of the station.
    """

    dealt: Dealt
    cards: tuple[Cylinder, ...]
    contents: Contents
    answer: MayFill
    dues: tuple[tuple[Due, ...], ...]
    cleaned_for: tuple[str, ...]
    since: tuple[str, ...] = ()
    """What was found since against breathing what was given."""
    doubt: str = ""
    """At what hour it was is not on record, and what that day's lines tell of it (`AsItWas`)."""
    pressure_unknown: bool = False
    """As `doubt`, of its pressure alone."""
    otherwise: str = ""
    """How what its user analysed is not of what it held, by what is on record now."""

    @property
    def hour_unknown(self) -> bool:
        """Whether what it held is not known, for want of the hour."""
        return bool(self.doubt)


HAS_LEFT = frozenset(f"standing-{status}" for status in (Status.OUT, Status.SOLD))
"""Reasons that only say that it has been handed to somebody."""


def against(answer: MayFill) -> tuple[str, ...]:
    """Why it must not be filled, but for its having been handed to somebody."""
    return tuple(r.text for r in answer.refusals if r.code not in HAS_LEFT)


def beware(answer: MayFill) -> tuple[str, ...]:
    """What was found of it or happened to it, and keeps it from nothing."""
    return tuple(r.text for r in adverse_of(answer.warnings))


class CounterReceipt(Struct, frozen=True):
    """What was done for one reference on one day, of one kind."""

    what: Dealing
    on: dt.date
    reference: str
    by: tuple[str, ...]
    items: tuple[ReceiptItem, ...]


def dealings(book: Book, id_: str) -> tuple[Dealt, ...]:
    """Everything that was done with a cylinder or set over the counter, oldest first. What was
    struck out is none of it."""
    card = book.cylinders.get(id_) or book.sets.get(id_)
    if card is None:
        return ()
    found = [*_rentals(id_, card)]
    if isinstance(card, Cylinder):
        found += _of_cylinder(book, card)
    order = list(Dealing)
    found = [replace(d, at=hour_of(book, id_, d.entry, end=d.what.ends)) for d in found]
    untimed = {d.on for d in found if d.at is None}  # there the kinds are in the order of a day

    def when(dealt: Dealt) -> tuple[dt.date, dt.time, int, dt.time]:
        hour = dealt.at or dt.time.min
        told = dt.time.min if dealt.on in untimed else hour
        return dealt.on, told, order.index(dealt.what), hour

    return tuple(sorted(found, key=when))


def _rentals(id_: str, card: Cylinder | Doubles) -> Iterator[Dealt]:
    for rental in standing(card.rented):
        by = rental.by or ""
        yield Dealt(id_, Dealing.LENT, rental.on.first, rental.to, by, rental)
        if rental.back is not None:
            taken_by = rental.back_by or ""
            yield Dealt(id_, Dealing.RETURNED, rental.back, rental.to, taken_by, rental)


def _of_cylinder(book: Book, card: Cylinder) -> Iterator[Dealt]:
    owner = card.owner or ""
    for job in standing(card.jobs):
        whose = job.reference or owner
        yield Dealt(card.id, Dealing.TAKEN_IN, job.on.first, whose, job.by or "", job)
        if job.collected is not None:
            given_by = job.collected_by or ""
            yield Dealt(card.id, Dealing.HANDED_BACK, job.collected, whose, given_by, job)
    for sale in standing(card.handed_over):
        yield Dealt(card.id, Dealing.SOLD, sale.on.first, sale.to, sale.by or "", sale)
    for refused in standing(card.refused):
        yield Dealt(card.id, Dealing.REFUSED, refused.on.first, owner, refused.by or "", refused)
    if is_customers(card):
        lines = lines_about(book, card.id)
        void = struck_out(lines)
        for line in lines:
            if line.act is LogAct.FILL and void_key(line) not in void:
                day = local_time(line.at).date()
                yield Dealt(card.id, Dealing.FILLED, day, owner, line.by or "", line)


def receipt(
    book: Book,
    ids: Iterable[str],
    what: Dealing | None,
    day: dt.date | None,
    today: dt.date | None = None,
    *,
    nth: int | None = None,
) -> CounterReceipt | tuple[str, ...]:
    """The receipt of the last thing that was done with each, or why there is none.

    Args:
        book: the records.
        ids: cylinders and sets.
        what: only of what was done so; else of the last, whatever it was.
        day: only of that day.
        today: the day it is written, for what was found since; if None, that is not looked at.
        nth: which of them, from 1 on, in the order of that day; the last where None.
    """
    chosen, reasons = list[Dealt](), list[str]()
    for id_ in ids:
        if id_ in book.broken:
            reasons.append(f"{id_}: its file cannot be read")
            continue
        found = [d for d in dealings(book, id_) if what in (None, d.what) and day in (None, d.on)]
        if found and nth is None:
            chosen.append(found[-1])
        elif nth is not None and 1 <= nth <= len(found):
            chosen.append(found[nth - 1])
        else:
            kind = f" {what}" if what else ""
            when = f" on {day}" if day else ""
            if nth is not None and found:
                times = counted(len(found), "time")
                reasons.append(f"{id_}: it is on record as{kind or ' dealt with'}{when} {times}")
                continue
            reasons.append(f"{id_}: it is not on record as{kind or ' dealt with'}{when}")
    kinds = {(d.what, d.on, d.reference) for d in chosen}
    if len(kinds) > 1:
        said = "; ".join(
            f"{d.id} {d.what} {d.on} for {d.reference or 'nobody named'}" for d in chosen
        )
        reasons.append(f"these are not of one receipt: {said}")
    if reasons or not chosen:
        return tuple(reasons)
    first = chosen[0]
    items = tuple(_item(book, each, first.on) for each in chosen)
    if today is not None and first.what.leaves:
        items = tuple(
            replace(
                i,
                since=tuple(found_since(book, i.dealt.id, i.contents, i.answer, i.dealt.on, today)),
            )
            for i in items
        )
    by = tuple(dict.fromkeys(d.by for d in chosen if d.by))
    return CounterReceipt(first.what, first.on, first.reference, by, items)


def _item(book: Book, dealt: Dealt, day: dt.date) -> ReceiptItem:
    was = as_it_was(book, dealt.id, dealt.entry, day, end=dealt.what.ends)
    then, contents = was.book, was.held
    card = then.cylinders.get(dealt.id)
    cards = (card,) if card else then.sides(dealt.id)
    read = getattr(dealt.entry, "analysed", None) if dealt.what.leaves else None
    return ReceiptItem(
        dealt=dealt,
        cards=tuple(cards),
        contents=contents,
        answer=may_fill(then, dealt.id, day, contents.gas, station=False),
        dues=tuple(due_of_cylinder(then, c, day) for c in cards),
        cleaned_for=tuple(cleaned_for(then, c, day) for c in cards),
        doubt=was.doubt,
        pressure_unknown=was.pressure_unknown,
        otherwise=otherwise_in(book, contents, read),
    )
