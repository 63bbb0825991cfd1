"""Sending cylinders and sets out on rental, and choosing which."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import (
    UNREADABLE,
    Draft,
    act_of,
    dangers_of,
    happened_reasons,
    named,
    named_twice,
    reference_reasons,
    refusal,
    signer_reasons,
    subject_of,
)
from tankbook.acts.leaving import NOTHING_SHOWN, Showing, asked_of_gas, seen_now, shown_reasons
from tankbook.acts.log_line import lines_at
from tankbook.acts.soundness import after, lines_of, sound
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Rented
from tankbook.records.log import HAPPENED, Booking
from tankbook.records.words import LogAct
from tankbook.rules.answers import MayFill
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import adverse_of, loud_of, may_fill
from tankbook.rules.in_hands import note_out
from tankbook.rules.rental import (
    ORDER,
    Candidate,
    against_going_out,
    is_full,
    open_rental,
    same_size,
    subjects,
    to_send,
)
from tankbook.rules.volume import size_of
from tankbook.units import GaugePressure, PartialDate, Temperature
from tankbook.units.nouns import counted

LONGEST = 480
"""Letters of a reason kept in an entry's note, which may hold 500."""


class Going(Struct, frozen=True):
    """A cylinder or set that goes out, and what its gauge shows, where that was read."""

    id: str
    pressure: GaugePressure | None = None


class Lot(Struct, frozen=True):
    """Cylinders to be chosen: how many, of what size and gas. A count of 0 takes the booking's."""

    count: int = 0
    size: str = ""
    gas: Gas | None = None


def rent(
    book: Book,
    going: Sequence[Going],
    *,
    to: str,
    until: dt.date | None,
    by: str,
    at: dt.datetime,
    gas: Gas | None = None,
    temperature: Temperature | None = None,
    happened: str = "",
    chosen: Sequence[Candidate] = (),
    shown: Showing = NOTHING_SHOWN,
    hour: dt.time | None = None,
) -> Act | Refusal:
    """Send cylinders and sets out: all of them, or none with every reason of each.

    Args:
        book: the records, all of them.
        going: what goes.
        to: the booking's or customer's reference.
        until: the last day it is out; the day itself where None.
        by: initials of who hands it out.
        at: when.
        gas: the gas wanted, where one is.
        temperature: of the cylinders, where pressures were read.
        happened: why it is recorded whatever stands against it: it has gone out already.
        chosen: the candidates, where the cylinders were chosen here.
        shown: what the user analysed and wrote of any gas but air, and was seen to be trained for.
        hour: the time of day it leaves; None where nobody knows it.
    """
    today = at.date()
    reasons = list(_wrong(book, going, to, until, today))
    reasons += signer_reasons(book, by, today) + happened_reasons(happened)
    reasons += shown_reasons(shown)
    seen, unseen = seen_now(book, [to], shown, by=by, on=today)
    reasons += unseen
    if reasons:
        return refusal(dict.fromkeys(reasons))
    rows = [{"cylinder": g.id, "to": g.pressure} for g in going if g.pressure is not None]
    shared = {"temperature": temperature, "by": by, "note": note_out(to)}
    read = tuple(lines_at(book, at, rows, act=LogAct.READING, **shared))
    known = book.as_known_on(today)
    known = after(known, (), tuple(lines_of(read)))  # what the gauge shows now speaks too
    taken = {e.id: shown.taken(e.id, to, lent=True) for e in going}
    of_gas = {id_: asked_of_gas(known, id_, each, today, by=by) for id_, each in taken.items()}
    against = {
        each.id: (
            *against_going_out(known, each.id, today, until or today, gas),
            *of_gas[each.id].against,
        )
        for each in going
    }
    reasons = [f"{id_}: {text}" for id_, texts in against.items() for text in texts]
    if reasons and not happened:
        return refusal([*reasons, *dangers_of(known, [e.id for e in going], today)])
    drafts = []
    for each in going:
        note = fact_note(happened, against[each.id]) if happened else None
        entry = Rented(
            on=PartialDate.of(today), by=by, to=to, until=until or today,
            analysed=shown.analysed.get(each.id), note=note, at=hour,
        )  # fmt: skip
        drafts.append(Draft(subject_of(book, each.id)).enter("rented", entry).stand(book))
    back = f", back {until}" if until and until != today else ", back today"
    fact = "Logged as a fact: sent" if happened else "Sent"
    sentence = f"{fact} {named(each.id for each in going)} out to {to}{back}, by {by}"
    asked = {e.id: may_fill(known, e.id, today, _gas(known, e.id), station=False) for e in going}
    loud = (text for each in of_gas.values() for text in each.loud)
    sentence = "; ".join(dict.fromkeys([sentence, *loud_of(asked.values()), *loud]))
    notes = (
        *_chosen(chosen),
        *(
            f"{i}: WARNING: {text}"
            for i, each in of_gas.items()
            for text in (*each.against, *each.warnings)
        ),
        *_notes(known, going, asked, to, today, shown),
    )
    act = act_of("rent", drafts, sentence, notes, (*read, *seen))
    return sound(book, act, drafts, today, fact=True)


def choose(
    book: Book, lot: Lot, to: str, until: dt.date | None, today: dt.date
) -> tuple[tuple[Candidate, ...], tuple[str, ...]]:
    """The cylinders to send for a lot or a booking, and why it cannot be met.

    Without a count the bookings of that reference for the day are met, less what went out to it.
    """
    known = book.as_known_on(today)
    wants = _wants(known, lot, to, today)
    if not wants:
        return (), (f"nothing is booked for {to} today: name cylinders, or say how many: --count",)
    found: list[Candidate] = []
    reasons = []
    for want in wants:
        fit = to_send(known, today, until or today, size=want.size, gas=want.gas)
        taken = {c.id for c in found}
        got = [c for c in fit if c.id not in taken][: want.count]
        found += got
        if len(got) < want.count:
            what = " ".join(filter(None, (want.size, str(want.gas or ""))))
            fit_now = counted(len(got), "is full and may go", "are full and may go")
            reasons.append(f"{want.count} {what or 'cylinders'} wanted, and {fit_now}")
    return tuple(found), tuple(reasons)


def _wants(book: Book, lot: Lot, to: str, today: dt.date) -> list[Lot]:
    if lot.count:
        return [lot]
    booked = _bookings(book, to, today)
    gone = _out_to(book, to, today)
    wants = []
    for booking in booked:
        mine = [s for s in gone if same_size(booking.size or s, s)][: booking.count]
        for size in mine:
            gone.remove(size)
        left = booking.count - len(mine)
        if left > 0:
            wants.append(Lot(left, booking.size or lot.size, booking.gas or lot.gas))
    return wants


def _bookings(book: Book, to: str, today: dt.date) -> list[Booking]:
    return [b for b in book.bookings if b.reference == to and b.date == today]


def _out_to(book: Book, to: str, today: dt.date) -> list[str]:
    """The sizes of what is out to a reference, or went out to it today."""
    return [
        size_of(book, name)
        for name, subject in subjects(book)
        for rental in subject.rented
        if rental.void is None
        and rental.to == to
        and (rental.back is None or rental.on.first == today)
    ]


def _wrong(
    book: Book, going: Sequence[Going], to: str, until: dt.date | None, today: dt.date
) -> Iterator[str]:
    yield from reference_reasons("to", to)
    if not going:
        yield "name at least one cylinder"
    ids = [each.id for each in going]
    yield from named_twice(ids)
    if until is not None and until < today:
        yield f"--until {until} is before {today}"
    for id_ in ids:
        if id_ in book.broken:
            yield f"{id_}: {UNREADABLE}"
            continue
        rental = open_rental(subject_of(book, id_))
        if rental:
            yield f"{id_} is out to {rental.to} since {rental.on}: record its return first"
        for name, doubles in book.sets.items():
            if id_ in doubles.cylinders and name in ids:
                yield f"{id_} is one side of {name}, which is named as well"


def fact_note(happened: str, against: Sequence[str]) -> str:
    """What an entry's note keeps of a fact against advice: why, and what stood against it."""
    said = f"{HAPPENED} {happened}"
    if against:
        said += f"; against it: {'; '.join(against)}"
    return said if len(said) <= LONGEST else said[: LONGEST - 3] + "..."


def _chosen(chosen: Sequence[Candidate]) -> Iterator[str]:
    if chosen:
        yield f"chosen, {ORDER}: " + "; ".join(f"{c.id} ({c.why})" for c in chosen)


def _gas(book: Book, id_: str) -> Gas | None:
    return contents_of(book, id_).gas


def _notes(
    book: Book,
    going: Sequence[Going],
    asked: Mapping[str, MayFill],
    to: str,
    today: dt.date,
    shown: Showing,
) -> Iterator[str]:
    """What the person at the counter should see: what is not full, what to analyse, the booking."""
    for each in going:
        held = contents_of(book, each.id)
        pressure = each.pressure or held.pressure
        answer = asked[each.id]
        if pressure is None:
            yield f"{each.id}: WARNING: its pressure is not on record"
        elif not is_full(book, answer, replace(held, pressure=pressure)):
            yield f"{each.id}: WARNING: not full, {pressure}"
        yield from (f"{each.id}: WARNING: {w.text}" for w in adverse_of(answer.warnings))
        if each.id in shown.analysed:
            yield f"{each.id}: the user analysed {shown.analysed[each.id]}"
        elif held.gas is not None and not held.gas.is_air:
            yield f"{each.id}: {held.gas}: the diver analyses it at pick-up, and signs"
    booked = sum(b.count for b in _bookings(book, to, today))
    if booked:
        out = len(_out_to(book, to, today)) + len(going)
        yield f"{to} is booked for {booked} today: {out} out with these"
