"""Refusing a cylinder at the counter: the reasons shown, and that the owner was told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from tankbook.acts.common import (
    Draft,
    act_of,
    added_note,
    cylinders_of,
    dangers,
    line_reasons,
    minute_of,
    named,
    owner_told,
    refusal,
    signer_reasons,
    text_reasons,
    told_reasons,
)
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Refused, standing
from tankbook.rules.answers import Reason
from tankbook.rules.counter import notes_of, refused_before, said_of_refused, that_refused
from tankbook.rules.gate import may_fill
from tankbook.rules.old_alloy import owner_told_of
from tankbook.units import PartialDate

NOT_TOLD = "the owner is not told yet; record it with `tankbook refuse {id} --told HOW --earlier`"


def refuse(
    book: Book,
    ids: Iterable[str],
    *,
    by: str,
    on: dt.date,
    reasons: Sequence[str] = (),
    told_how: str = "",
    gas: Gas | None = None,
    note: str = "",
    at: dt.time | None = None,
) -> Act | Refusal:
    """Record a refusal. Without reasons, they are what the gate has against a fill.

    Args:
        book: the records, all of them.
        ids: the cylinders; a set is both of its.
        by: initials of who refuses, and tells the owner where that is said.
        on: the day.
        reasons: what was shown to the customer.
        told_how: how the owner was told; empty if not yet.
        gas: the gas that was wanted.
        note: anything worth keeping.
        at: the time of that day, where it is known: a look that passes later that day answers it.
    """
    cylinders, wrong = cylinders_of(book, ids)
    wrong += signer_reasons(book, by, on)
    wrong += [r for each in reasons for r in line_reasons(reason=each)]
    wrong += told_reasons(book, told_how) + text_reasons(note=note)
    if wrong:
        return refusal(dict.fromkeys(wrong))
    known = book.as_known_on(on)
    drafts, notes = [], []
    for cylinder in cylinders:
        shown = tuple(reasons) or _gate_reasons(known, cylinder, on, gas)
        if not shown:
            return refusal(
                [f"{cylinder.id}: nothing on record stands against it: give the reason, --reason"]
            )
        entry = Refused(
            on=PartialDate.of(on), by=by, reasons=shown, told=owner_told(told_how, by, on),
            note=note or None, at=minute_of(at),
        )  # fmt: skip
        drafts.append(Draft(cylinder).enter("refused", entry))
        notes += [*notes_of(known, cylinder), *(f"{cylinder.id}: {text}" for text in shown)]
        alloy = owner_told_of(known, cylinder) if is_customers(cylinder) else ""
        notes += [f"{cylinder.id}: {alloy}"] if alloy else []
    notes = [*dangers(book, drafts, on), *notes]
    if not told_how:
        notes.append(NOT_TOLD.format(id=cylinders[0].id))
    ending = f", owner told, {told_how}, by {by}" if told_how else f", by {by}"
    sentence = f"Refused at the counter: {named(c.id for c in cylinders)}{ending}"
    return act_of("refuse", drafts, sentence, notes)


def _gate_reasons(book: Book, cylinder: Cylinder, on: dt.date, gas: Gas | None) -> tuple[str, ...]:
    """What the gate has against the cylinder itself, whatever the station is like."""
    answer = may_fill(book, cylinder.id, on, gas, station=False)
    return shown_of(book, cylinder, answer.refusals)


def shown_of(book: Book, cylinder: Cylinder, found: Sequence[Reason]) -> tuple[str, ...]:
    """What is shown of the reasons against a cylinder: what was found on another, or before, stands
    where it was written, and is answered and struck out there alone.

    Of the other side of its set it is said that it may not be filled; of a refusal from before, and
    only where nothing else is against it, that it was refused.
    """
    before = {said_of_refused(e): that_refused(e) for e in refused_before(book, cylinder)}
    own = [r for r in found if r.text not in before] or found
    said = (r.text.partition(" (")[0] if r.code == _OTHER_SIDE else r.text for r in own)
    return tuple(dict.fromkeys(before.get(text, text) for text in said))


_OTHER_SIDE = "doubles-other-side"
"""Its text ends with what the other side is refused for, in parentheses."""


def tell(
    book: Book, ids: Iterable[str], *, by: str, on: dt.date, told_how: str, note: str = ""
) -> Act | Refusal:
    """Record that the owner was told of a refusal that is on record already."""
    cylinders, wrong = cylinders_of(book, ids)
    wrong += signer_reasons(book, by, on) + (
        told_reasons(book, told_how) or line_reasons(told=told_how)
    )
    drafts = []
    for cylinder in cylinders:
        untold = [r for r in standing(cylinder.refused) if r.told is None]
        if not untold:
            wrong.append(f"{cylinder.id}: no refusal is on record whose owner is not told")
            continue
        entry = untold[-1]
        if entry.on.first > on:
            wrong.append(f"{cylinder.id} was refused on {entry.on}, after {on}")
        values = {"told": owner_told(told_how, by, on)}
        more = {"note": added_note(entry.note, note)} if note else {}
        drafts.append(Draft(cylinder).amend("refused", entry, **values, **more))
    if wrong:
        return refusal(dict.fromkeys(wrong))
    sentence = f"Owner told of the refusal of {named(c.id for c in cylinders)}, {told_how}, by {by}"
    return act_of("refuse", drafts, sentence)
