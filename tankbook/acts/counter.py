"""Serials recorded as stolen, settled, told apart; refusals of cylinders that have no card."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Annotated, Any

from msgspec.structs import replace

from tankbook.acts.common import (
    Draft,
    act_of,
    added_note,
    line_reasons,
    minute_of,
    named,
    owner_told,
    reference_reasons,
    refusal,
    signer_reasons,
    text_reasons,
    ticked,
    told_reasons,
    written,
)
from tankbook.acts.hold import after_fills, since
from tankbook.acts.options import Arg, Note, Opt
from tankbook.acts.refuse import shown_of
from tankbook.acts.soundness import sound
from tankbook.acts.walk_in import maybe_on_file
from tankbook.records.book import Book
from tankbook.records.counter import COUNTER_FILE, CounterFile, RefusedStranger, Stolen
from tankbook.records.cylinder import Cylinder, NotSame
from tankbook.records.edits import Act, Edit, NewFile, Refusal
from tankbook.records.entries import Entry, Held, standing
from tankbook.records.naming import named_among
from tankbook.records.words import Status
from tankbook.records.written import file_text
from tankbook.rules.counter import (
    WHAT_TO_DO,
    notes_of,
    of_serial,
    stolen_as,
    stolen_open,
)
from tankbook.rules.fill_history import standings
from tankbook.rules.gate import may_fill
from tankbook.rules.old_alloy import owner_told_of
from tankbook.rules.signing import bench_of, why_not_certified
from tankbook.rules.spelling import maker_named, plain_serial
from tankbook.rules.status import status_of
from tankbook.rules.twins import LONG_SERIAL, is_worn
from tankbook.rules.under_pressure import STAND_CLEAR, danger_said
from tankbook.rules.wording import says_no_proof, says_nothing
from tankbook.units import PartialDate

UNREAD = f"{COUNTER_FILE} cannot be read; `tankbook validate` says why"


def unread(book: Book) -> list[str]:
    """Why nothing can be written to the counter's file."""
    return [UNREAD] if any(f.where.path == COUNTER_FILE for f in book.findings) else []


def entered(book: Book, name: str, entry: Entry) -> tuple[Edit, ...]:
    """The edits that add an entry to a list of the counter's file, which begins with it."""
    if book.counter is None:
        return (NewFile(COUNTER_FILE, file_text({name: (written(entry),)})),)
    return Draft(book.counter).enter(name, entry).edits


def _with(book: Book, name: str, entry: Entry) -> Book:
    counter = book.counter or CounterFile(source=book.settings.source)
    return replace(book, counter=replace(counter, **{name: (*getattr(counter, name), entry)}))


# --- stolen --------------------------------------------------------------------------------------


def stolen(
    book: Book,
    serial: Annotated[str, Arg("SERIAL", "Its serial, or the whole id of its card here.")],
    *,
    why: Annotated[str, Opt("TEXT", "Who says so, or how two differ.")] = "",
    ref: Annotated[str, Opt("REFERENCE", "Of the notice; no name.")] = "",
    maker: Annotated[str, Opt("MAKER", "Its maker, where it is known.")] = "",
    found: Annotated[str, Opt("HOW", "It was found: who found it, and how.")] = "",
    proof: Annotated[str, Opt("TEXT", "What proves that: a paper, a number.")] = "",
    not_same: Annotated[
        str, Opt("ID", "This card looks alike and is another; a tail will do.")
    ] = "",
    note: Note = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record that a serial is stolen, that it was found, or that a card is another.

    It is told wherever that serial shows up; a cylinder that has it is neither filled nor handed
    out until that is settled.
    """
    card = _card_named(book, serial)
    read, made_by = (card.serial, card.maker) if card else (serial.strip(), None)
    reasons = unread(book) + signer_reasons(book, by, on) + line_reasons(serial=serial)
    reasons += text_reasons(why=why, maker=maker, found=found, note=note, not_same=not_same)
    reasons += text_reasons(proof=proof)
    reasons += reference_reasons("ref", ref) if ref else []
    if not reasons and not plain_serial(read):
        reasons.append(f"{ticked(read)} is no serial")
    if found and not_same:
        reasons.append("--found and --not-same do not go together: give one of them")
    if found and (why or ref or maker):
        also = "nothing else goes with it but --proof and --note"
        reasons.append(f"--found says how it was settled, and {also}")
    if proof and not found:
        reasons.append("--proof says what proves --found: give both")
    if reasons:
        return refusal(dict.fromkeys(reasons))
    if found or not_same:
        entries = of_serial(stolen_open(book), read)
        if card is not None:
            entries += [e for e in stolen_as(book, card) if e not in entries]
        if len(entries) != 1:
            return refusal([_which(read, entries)])
        if found:
            return _settled(book, entries[0], found, proof, note, by, on)
        return _told_apart(book, entries[0], not_same, why, by, on)
    entry = Stolen(
        on=PartialDate.of(on), by=by, serial=read, maker=maker or made_by, why=why,
        reference=ref or None, note=note or None,
    )  # fmt: skip
    reasons = line_reasons(why=why) or ([f"--why {ticked(why)} says nothing"] * says_nothing(why))
    reasons += [
        f"serial {read} is recorded as stolen since {e.on} already: {e.why}"
        for e in stolen_open(book)
        if plain_serial(e.serial) == plain_serial(read)
        and maker_named(e.maker) == maker_named(entry.maker)
    ]
    if reasons:
        return refusal(reasons)
    then = _with(book, "stolen", entry)
    cards = [c for c in then.cylinders.values() if entry in stolen_as(then, c)]
    again = [e for e in stolen_open(book) if plain_serial(e.serial) == plain_serial(read)]
    notes = [_recorded_before(book, e, entry) for e in again if not (e.maker and entry.maker)]
    notes += [
        f"{c.id} ({', '.join(standings(book, c))}) has that serial, or may have it" for c in cards
    ]
    notes += ["it is neither filled nor handed out until that is settled"] if cards else []
    if is_worn(read) and len(plain_serial(read)) < LONG_SERIAL - 1:
        notes.append("WARNING: too little of it can be read: it will hardly be found again")
    said = f"Recorded as stolen: serial {read}"
    said += f" ({entry.maker})" if entry.maker else ""
    said += f", {ref}" if ref else ""
    ids = tuple(c.id for c in cards)
    return Act("stolen", ids, f"{said}, by {by}", entered(book, "stolen", entry),
               (*notes, f"where it shows up: {WHAT_TO_DO}"))  # fmt: skip


def _recorded_before(book: Book, before: Stolen, entry: Stolen) -> str:
    """That a serial is recorded as stolen already, and one of the two names no maker."""
    unsaid = f"of {before.on}" if before.maker is None else "recorded now"
    when = named_among(book.counter.stolen if book.counter else (), before)
    strike = f"`tankbook correct counter stolen {when} --why WHY`"
    return (
        f"WARNING: serial {before.serial} is recorded as stolen since {before.on} already"
        f" ({before.why}), and the entry {unsaid} names no maker: where both are of one cylinder,"
        f" strike one out, {strike}; else say the maker, --set maker=NAME"
    )


def _card_named(book: Book, text: str) -> Cylinder | None:
    """The card of an id given whole; a tail is none, since it may be a serial."""
    wanted = text.strip().casefold()
    return next((c for i, c in book.cylinders.items() if i.casefold() == wanted), None)


def _which(serial: str, entries: Sequence[Stolen]) -> str:
    if not entries:
        return f"serial {serial} is not recorded as stolen, or that is settled"
    listed = ", ".join(f"{e.on} {e.serial} {e.maker or ''}".strip() for e in entries)
    return f"serial {serial} is recorded {len(entries)} times ({listed}): strike one out first"


def _amended(book: Book, name: str, entry: Any, **values: Any) -> tuple[Edit, ...]:
    assert book.counter is not None
    return Draft(book.counter).amend(name, entry, **values).edits


def _settled(
    book: Book, entry: Stolen, found: str, proof: str, note: str, by: str, on: dt.date
) -> Act | Refusal:
    reasons = []
    if says_no_proof(found):
        reasons.append(f"--found {ticked(found)} does not say who found it, and how")
    if not proof:
        reasons.append("what proves it is not said: --proof, as the paper or its number")
    elif says_no_proof(proof):
        reasons.append(f"--proof {ticked(proof)} does not say what proves it")
    if wrong := why_not_certified(book.settings.people, by, on):
        reasons.append(f"{wrong}: let somebody certified record it (--by)")
    if entry.on.first > on:
        reasons.append(f"serial {entry.serial} was recorded as stolen on {entry.on}, after {on}")
    if reasons:
        return refusal(reasons)
    values: dict[str, Any] = {
        "found": on, "found_by": by, "found_why": found, "found_proof": proof,
    }  # fmt: skip
    values |= {"note": added_note(entry.note, note)} if note else {}
    sentence = f"No longer recorded as stolen: serial {entry.serial}, {found}, by {by}"
    cards = [c for c in book.cylinders.values() if entry in stolen_as(book, c)]
    drafts = [_set_aside(book, c, entry, by, on) for c in cards if not status_of(book, c).gone]
    names = [d.record.id for d in drafts]
    notes = [
        f"{named(names)}: nobody knows who had it, nor what is in it: drain it and look inside; "
        "`tankbook release ID --why HOW` once that is done, or where it never left"
    ] * bool(names)
    sentence += f"; held {named(names)}" * bool(names)
    act = act_of("stolen", drafts, sentence, notes, _amended(book, "stolen", entry, **values))
    return sound(book, act, drafts, on, fact=True)


def _set_aside(book: Book, card: Cylinder, entry: Stolen, by: str, on: dt.date) -> Draft[Cylinder]:
    """What was recorded as stolen and turned up is held, as what was lost is looked at."""
    why = f"recorded as stolen from {entry.on} to {on}: nobody knows who had it"
    at = since(book, card.id, on, after_fills(book, card.id, on))
    aside = Held(on=PartialDate.of(on), by=by, why=why, at=at)
    return Draft(card).enter("held", aside).stand(book)


def _told_apart(
    book: Book, entry: Stolen, not_same: str, why: str, by: str, on: dt.date
) -> Act | Refusal:
    tail = not_same.strip().casefold()
    alike = [c for c in book.cylinders.values() if tail and c.id.casefold().endswith(tail)]
    taken = [c for c in alike if entry in stolen_as(book, c)]
    card = _card_named(book, not_same) or (taken[0] if len(taken) == 1 else None)
    reasons = line_reasons(why=why)
    if not reasons and says_no_proof(why):
        reasons.append(f"--why {ticked(why)} does not say how the two differ")
    if card is None:
        reasons.append(f"--not-same: {ticked(not_same)} is no card here: book it in first")
    elif entry not in stolen_as(book, card):
        reasons.append(f"{card.id} is not taken for serial {entry.serial}")
    if reasons or card is None:
        return refusal(reasons)
    assert book.counter is not None
    place = next(i for i, each in enumerate(book.counter.stolen) if each is entry)
    other = NotSame(id=card.id, by=by, why=why)
    draft = Draft(book.counter).enter(("stolen", place, "not_same"), other)
    sentence = f"{card.id} is not the stolen {entry.serial}: {why}, by {by}"
    return Act("stolen", (card.id,), sentence, draft.edits)


# --- refusals without a card ---------------------------------------------------------------------


def refuse_stranger(
    book: Book,
    card: Cylinder,
    *,
    by: str,
    on: dt.date,
    reasons: Sequence[str] = (),
    told_how: str = "",
    note: str = "",
    at: dt.time | None = None,
) -> Act | Refusal:
    """Record the refusal of a cylinder that has no card, by its serial.

    Args:
        book: the records, all of them.
        card: what was seen of it, as a card would say it.
        by: initials of who refuses, and tells the owner where that is said.
        on: the day.
        reasons: what was shown; without any, what the gate has against it by its marks.
        told_how: how the owner was told; empty if not yet.
        note: anything worth keeping.
        at: the time of that day, where it is known.
    """
    wrong = unread(book) + signer_reasons(book, by, on)
    wrong += [r for each in reasons for r in line_reasons(reason=each)]
    wrong += told_reasons(book, told_how) + text_reasons(note=note)
    if not plain_serial(card.serial):
        wrong.append(f"{ticked(card.serial)} is no serial")
    if wrong:
        return refusal(dict.fromkeys(wrong))
    then = replace(book, cylinders={**book.cylinders, card.id: card}).as_known_on(on)
    shown = tuple(reasons) or (_of_gate(then, card.id, on) if card.marks else ())
    if not shown:
        what = "nothing its marks say stands against it" if card.marks else "its marks are not said"
        return refusal([f"serial {card.serial}: {what}: give the reason, --reason"])
    entry = RefusedStranger(
        on=PartialDate.of(on), by=by, serial=card.serial, maker=card.maker, marks=card.marks,
        reasons=shown, told=owner_told(told_how, by, on), note=note or None,
        at=minute_of(at),
    )  # fmt: skip
    on_file = maybe_on_file(then, card, on)
    word = danger_said(bench_of(book), *shown, note)
    notes = [f"DANGER, if it holds pressure ({word}): {STAND_CLEAR}"] if word else []
    notes += [*_known(then, card, on), *shown]
    notes += filter(None, (owner_told_of(then, card),))
    notes += [f"if it is {i}, refuse that as well: `tankbook refuse {i}`" for i in on_file]
    if not told_how:
        notes.append(_NOT_TOLD.format(serial=card.serial))
    ending = f", owner told, {told_how}, by {by}" if told_how else f", by {by}"
    kept = "kept by its serial" if on_file else "which has no card here"
    sentence = f"Refused at the counter: serial {card.serial}, {kept}{ending}"
    return Act("refuse", (), sentence, entered(book, "refused", entry), tuple(notes))


def _of_gate(book: Book, id_: str, on: dt.date) -> tuple[str, ...]:
    """What the gate has against it; that nobody inspected it here is said by that it lacks a
    visual."""
    found = may_fill(book, id_, on, station=False).refusals
    told = [r for r in found if r.code != f"standing-{Status.AWAITING_INSPECTION}"]
    return shown_of(book, book.cylinders[id_], told or found)


_NOT_TOLD = (
    "the owner is not told yet; record it with `tankbook refuse --serial '{serial}' --told HOW "
    "--earlier`"
)


def _known(book: Book, card: Cylinder, on: dt.date) -> Iterator[str]:
    """What is on record of it already."""
    own = book.cylinders[card.id]
    yield from (n.removeprefix(f"{card.id}: ") for n in notes_of(book, own))
    yield from (f"WARNING: {text}" for text in maybe_on_file(book, own, on).values())


def tell_stranger(
    book: Book, serial: str, *, by: str, on: dt.date, told_how: str, note: str = ""
) -> Act | Refusal:
    """Record that the owner was told of a refusal without a card that is on record already."""
    wrong = (
        unread(book)
        + signer_reasons(book, by, on)
        + (told_reasons(book, told_how) or line_reasons(told=told_how))
    )
    wrong += text_reasons(note=note)
    entries = standing(book.counter.refused) if book.counter else ()
    untold = [e for e in of_serial(entries, serial) if e.told is None]
    spelt = dict.fromkeys(e.serial for e in untold if plain_serial(e.serial))
    if len({*map(plain_serial, spelt)}) > 1:
        wrong.append(f"serial {serial} may be {' or '.join(spelt)}: name it as it was refused")
    elif not untold:
        wrong.append(f"serial {serial}: no refusal is on record whose owner is not told")
    elif untold[-1].on.first > on:
        wrong.append(f"serial {serial} was refused on {untold[-1].on}, after {on}")
    if wrong:
        return refusal(dict.fromkeys(wrong))
    entry = untold[-1]
    values: dict[str, Any] = {"told": owner_told(told_how, by, on)}
    values |= {"note": added_note(entry.note, note)} if note else {}
    sentence = f"Owner told of the refusal of serial {entry.serial}, {told_how}, by {by}"
    return Act("refuse", (), sentence, _amended(book, "refused", entry, **values))


def on_record(book: Book, card: Cylinder, on: dt.date) -> tuple[str, ...]:
    """What is on record here of a cylinder that is known by its marks alone."""
    book = replace(book, cylinders={**book.cylinders, card.id: card})
    stolen_ = [n.removeprefix(f"{card.id}: WARNING: ") for n in notes_of(book, card)]
    return (*stolen_, *maybe_on_file(book, card, on).values())
