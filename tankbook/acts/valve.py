"""Work on the valve of a cylinder: fitted, changed, serviced; its insert; what is read off it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from typing import Any

from tankbook.acts.bleeding import (
    STAYS_IN,
    TAKEN_FOR_FULL,
    ask,
    bled_unsaid,
    held_for_full,
    let_out,
    not_heard,
)
from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    dangers_of,
    named,
    refusal,
    signer_reasons,
    still_against,
    text_reasons,
)
from tankbook.acts.hold import release_it
from tankbook.acts.soundness import SLIPS, after, sound
from tankbook.acts.station_holds import work_lets_go
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.valve import ValveWork
from tankbook.records.words import Bled, Skill, ValveDone
from tankbook.rules.conditions import is_kept_clean
from tankbook.rules.fill_history import not_here
from tankbook.rules.signing import is_outside, names_nobody, why_not


def work_on_valve(
    book: Book,
    ids: Iterable[str],
    entry: ValveWork,
    on: dt.date,
) -> Act | Refusal:
    """Record what was done to the valve of cylinders, or what was read off it.

    Where no flow was heard when it was bled no valve comes off: it is held, and nothing else is
    recorded.

    Args:
        book: the records, all of them.
        ids: cylinders, or sets for both their cylinders.
        entry: what was done, by whom, and what is known of the valve. Of one that was fitted or
            changed the rest is not known from then.
        on: its day.
    """
    by, said = entry.by or "", _said(entry)
    cylinders, reasons = cylinders_of(book, ids)
    reasons += worker_reasons(book, by, on)
    reasons += text_reasons(**{name: str(said[name]) for name in _TEXTS if name in said})
    reasons += _unfit(entry, said)
    reasons += not_heard(book, [c.id for c in cylinders], entry.bled) if entry.is_off else []
    if entry.is_off and not reasons:
        stays = ", or --stays-on" if entry.did is ValveDone.SERVICED else ""
        off = [c.id for c in cylinders]
        reasons += bled_unsaid(book, off, entry.bled, on, entry.at, beside=stays)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    if entry.bled is Bled.NO_FLOW:
        return left_on(book, cylinders, "valve", by=by, on=on, note=entry.note or "")
    drafts = [Draft(c).enter("valve_work", entry).stand(book) for c in cylinders]
    who = [c.id for c in cylinders]
    let_go = work_lets_go(book, after(book, drafts), who, by=by, on=on)
    if isinstance(let_go, Refusal):
        return let_go
    notes = [*dangers_of(book, who, on), *let_go, *_notes(book, drafts, entry, on)]
    notes += still_against(book, drafts, on)
    act = act_of("valve", drafts, _sentence(who, entry), notes)
    return sound(book, act, drafts, on, fact=True, slips=SLIPS | {"worked-on-while-away"})


_TEXTS = ("thread", "o_rings", "lubricant", "note")
_HOW = frozenset({"on", "by", "at", "did", "stayed_on", "bled", "void"})
"""The keys of the work that say nothing of what was fitted, read or used."""


def _said(entry: ValveWork) -> dict[str, Any]:
    """What is said of the valve and the work, by its key."""
    every = {name: getattr(entry, name) for name in ValveWork.declared if name not in _HOW}
    return {name: said for name, said in every.items() if said is not None}


def worker_reasons(book: Book, by: str, on: dt.date) -> list[str]:
    """Why a name cannot stand for whoever worked on a cylinder: one of the ledger's people, or a
    firm by its name."""
    if names_nobody(by):
        return [f"{by} is nobody's name: give initials, or the name of the firm"]
    if is_outside(book.settings.people, by):
        return text_reasons(by=by)
    return signer_reasons(book, by, on)


def left_on(
    book: Book, cylinders: list[Cylinder], verb: str, *, by: str, on: dt.date, note: str = ""
) -> Act | Refusal:
    """Hold what let no flow be heard: its valve stays on, so none of the work was done."""
    drafts, reasons = [], []
    for card in cylinders:
        gone = not_here(book, card)
        draft = held_for_full(book, Draft(card), by=by, on=on, note=note)
        reasons += [f"{card.id} is {gone}: it is not here to be bled"] if gone else []
        reasons += [] if draft.edits else [f"{card.id} is held for that already"]
        drafts.append(draft)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    ids = [card.id for card in cylinders]
    notes = [
        *dangers_of(book, ids, on),
        f"{named(ids)}: leave the valve on, and have somebody who is equipped for it let the gas "
        f"out; then {release_it(ids[0])}, and record the work",
    ]
    sentence = f"Held {named(ids)}, nothing else recorded: {TAKEN_FOR_FULL}"
    return sound(book, act_of(verb, drafts, sentence, notes), drafts, on, fact=True)


_OF_INSERT = frozenset({"insert", "insert_in", "note"})
_OF_WORK = ("o_rings", "lubricant", "torque", "clean_for")
_WITH_IT_OFF = ("thread", "disc", "dip_tube", "lubricant", "torque", "clean_for")


def _unfit(entry: ValveWork, given: Collection[str]) -> Iterator[str]:
    """What does not go together."""
    did, stayed_on = entry.did, entry.stayed_on
    beside = [option(name) for name in given if name not in _OF_INSERT]
    if did is ValveDone.INSERT and beside:
        yield f"{', '.join(beside)}: an insert says nothing of that; what is read is --did read"
    if did is ValveDone.INSERT and "insert_in" not in given:
        yield "whether the insert is in now is not said: --insert-in yes|no"
    if did is ValveDone.READ:
        if not {*given} - {"note", *_OF_WORK}:
            yield "what was read off the valve is not said: --outlet, --thread, --rating, --disc"
        if worked := [option(name) for name in _OF_WORK if name in given]:
            yield f"{', '.join(worked)}: that is work: --did serviced"
    if stayed_on and did is not ValveDone.SERVICED:
        yield "--stays-on goes with --did serviced: of other work it is plain"
    if stayed_on and (off := [option(name) for name in _WITH_IT_OFF if name in given]):
        yield (
            f"{', '.join(off)}: that is done with the gas out; leave --stays-on away, or what was "
            "only read is --did read"
        )
    if entry.bled and (stayed_on or did in {ValveDone.INSERT, ValveDone.READ}):
        yield "--bled goes with work for which the valve comes off"


def option(name: str) -> str:
    """The option of a key."""
    return f"--{name.replace('_', '-')}"


_DONE = {
    ValveDone.FITTED: "Valve fitted to",
    ValveDone.CHANGED: "Valve changed on",
    ValveDone.SERVICED: "Valve serviced on",
    ValveDone.READ: "Valve read on",
}


def _sentence(ids: list[str], entry: ValveWork) -> str:
    what = _DONE.get(entry.did) or f"Insert {'in' if entry.insert_in else 'out'} on"
    facts = ", ".join(f"{name.replace('_', ' ')} {said_of(v)}" for name, v in entry.facts.items())
    done = f"{what} {named(ids)}"
    return f"{done}: {facts}" if facts and entry.did is not ValveDone.INSERT else done


def said_of(value: object) -> str:
    """A fact of a valve in a sentence."""
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


_ASKED = ("outlet", "thread", "rating", "disc")


def _notes(
    book: Book, drafts: list[Draft[Cylinder]], entry: ValveWork, on: dt.date
) -> Iterator[str]:
    """What follows from it."""
    cylinders = [book.cylinders[draft.record.id] for draft in drafts]
    every = [c.id for c in cylinders]
    ids = named(every)
    if entry.is_off and entry.bled is None:
        yield ask(every)
        yield f"{ids}: {STAYS_IN}"
    if entry.lets_out and entry.bled:
        yield from let_out(book, after(book, drafts), every, on, entry.at, "its valve was off")
    unknown = [name for name in _ASKED if name not in entry.facts] if entry.is_other else []
    if unknown:
        yield (
            f"{ids}: nothing is carried over from the valve before; not known of this one: "
            f"{', '.join(unknown)} (`--did read` adds what is read off it)"
        )
    if entry.did is ValveDone.FITTED:
        for each in cylinders:
            if each.valve is not None:
                yield f"{each.id}: a valve was on record; one in its place is --did changed"
    people = book.settings.people
    wrong = why_not(people, entry.by, Skill.VALVES, entry.on)
    if entry.is_service and wrong and not is_outside(people, entry.by):
        yield f"WARNING: {wrong}"
    cleaned = [c.id for c in cylinders if is_kept_clean(c)]
    if entry.is_off and cleaned and entry.clean_for is None:
        yield f"{named(cleaned)}: whether the valve is clean for oxygen is not said (--clean-for)"
