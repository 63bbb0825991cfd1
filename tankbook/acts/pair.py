"""Doubles made up of two cylinders, and taken apart; their set keeps the days of both."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Annotated, Any

from msgspec.structs import replace

from tankbook.acts.bleeding import STAYS_IN, Bleeding, ask, bled_unsaid, let_out, not_heard
from tankbook.acts.common import (
    UNREADABLE,
    Draft,
    act_of,
    dangers_of,
    refusal,
    signer_reasons,
    text_reasons,
    written,
)
from tankbook.acts.isolator import turned
from tankbook.acts.options import Arg, Hour, Ids, Note, Opt
from tankbook.acts.soundness import told
from tankbook.acts.station_holds import work_lets_go
from tankbook.acts.valve import left_on
from tankbook.records import kinds
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, NewFile, Refusal
from tankbook.records.entries import MadeUp, standing
from tankbook.records.life import still_open
from tankbook.records.node import Finding, Severity
from tankbook.records.words import Bled, Isolator, Use
from tankbook.records.written import file_text
from tankbook.rules.checks import against
from tankbook.rules.counter import stolen_told
from tankbook.rules.fill_history import all_lines_of, not_here
from tankbook.rules.gate import may_fill
from tankbook.rules.volume import water_volume_of
from tankbook.units import GaugePressure, PartialDate

_OF_SET = frozenset(
    {
        "apart-and-not",
        "in-the-future",
        "in-two-sets",
        "made-up-differs",
        "manifold-differs",
        "set-apart",
        "set-rented-twice",
        "set-size",
        "side-misnamed",
        "unknown-cylinder",
        "unlike-pressures",
    }
)
"""What is wrong with the request itself: no set is made up or taken apart so."""


def pair(
    book: Book,
    id_: Annotated[str, Arg("SET", "What the doubles are called: DB-03.")],
    ids: Ids,
    *,
    isolator: Annotated[
        Isolator | None, Opt("|".join(Isolator), "How its isolator stands; none: it has none.")
    ] = None,
    manifold: Annotated[str, Opt("TEXT", "The manifold, as marked.")] = "",
    rating: Annotated[GaugePressure | None, Opt("PRESSURE", "Rating marked on it.")] = None,
    use: Annotated[Use | None, Opt("USE", "What it is kept for; that of both sides.")] = None,
    place: Annotated[str, Opt("TEXT", "Where it is kept.")] = "",
    bled: Bleeding = None,
    hour: Hour = None,
    note: Note = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Make up doubles of two cylinders of one working pressure. For the manifold their valves come
    off, so both are empty then: --bled says how they were, and is asked where gas is in one on
    record.

    One that was taken apart is made up again under its name of the same two; of others it takes
    another name, since the log's lines of it are of those it had.
    """
    sides = list(ids)
    known = book.as_known_on(on)
    once = book.every_set.get(id_)
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(manifold=manifold, place=place, note=note)
    reasons += [*_not_called(book, known, id_, sides), *_not_sides(book, known, sides)]
    reasons += not_heard(book, sides, bled)
    reasons += [] if reasons else bled_unsaid(book, sides, bled, on, hour)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    cards = [book.cylinders[side] for side in sides]
    if bled is Bled.NO_FLOW:
        return left_on(book, cards, "pair", by=by, on=on, note=note)
    entry = MadeUp(on=PartialDate.of(on), by=by, at=hour, bled=bled, note=note or None)
    uses = {card.use for card in cards}
    said = {
        "manifold": manifold or None,
        "rating": rating,
        "isolator": isolator,
        "use": use or (None if once or len(uses) > 1 else uses.pop()),
        "place": place or None,
    }
    given: dict[str, Any] = {n: value for n, value in said.items() if value is not None}
    if once is None:
        given["isolator_"] = given.pop("isolator", None)
        doubles = Doubles(id=id_, cylinders=tuple(sides), made_up=(entry,), **given)
        draft = Draft(doubles, (NewFile(f"sets/{id_}.yaml", file_text(written(doubles))),))
    else:
        draft = Draft(once).enter("made_up", entry)
        stands = given.pop("isolator", once.isolator)
        if stands is not once.isolator:
            draft = turned(draft, stands, on, hour, by)
        for name, value in given.items():
            draft = draft.set(name, value)
    let_go = work_lets_go(book, _after(book, draft.record), sides, by=by, on=on)
    if isinstance(let_go, Refusal):
        return let_go
    again = " again" if once else ""
    sentence = f"Made up {id_}{again} of {sides[0]} and {sides[1]}"
    notes = [*let_go, *_bled(sides, bled)]
    if bled:
        notes += let_out(book, _after(book, draft.record), sides, on, hour, "it was made up")
    notes += _told(book, cards, draft.record)
    return _judged(book, "pair", draft, sentence, notes, on)


def _not_called(book: Book, known: Book, id_: str, sides: Sequence[str]) -> Iterator[str]:
    """Why doubles cannot be called so."""
    if wrong := kinds.why_unsafe(id_):
        yield wrong
        return
    once = book.every_set.get(id_)
    if id_ in known.sets:
        yield f"{id_} stands already: take it apart first (`tankbook unpair {id_}`)"
    elif once is not None and set(once.cylinders) != set(sides):
        were = " and ".join(once.cylinders)
        yield f"{id_} was of {were}, and the log's lines of it are theirs: give another name"
    elif once is not None and once.taken_apart is None:
        yield f"{id_} stands on a later day: correct that first"
    elif once is None and id_.casefold() in {each.casefold() for each in book.ids}:
        yield f"{id_} is taken, in capitals or small letters: give another name"
    elif once is None and (all_lines_of(book, id_) or _was_called(book, id_)):
        yield f"{id_} was the name of something else, which the log tells of: give another name"


def _was_called(book: Book, id_: str) -> bool:
    names = [name for each in book.cylinders.values() for name in each.formerly]
    names += [name for each in book.every_set.values() for name in each.formerly]
    return id_.casefold() in {name.casefold() for name in names}


def _not_sides(book: Book, known: Book, sides: Sequence[str]) -> Iterator[str]:
    """Why cylinders cannot be the two sides of a set."""
    if len(set(sides)) != 2 or len(sides) != 2:
        yield f"doubles are of two different cylinders, and {len(set(sides))} are named"
    for side in dict.fromkeys(sides):
        card = book.cylinders.get(side)
        if card is None and side in book.every_set:
            yield f"{side} is a set: name its cylinders"
        elif card is None:
            yield f"{side}: {UNREADABLE}" if side in book.broken else f"{side} is not in the ledger"
        elif gone := not_here(known, known.cylinders[side]):
            yield f"{side} is {gone}: it is not here to be made up into doubles"


def _told(book: Book, cards: Sequence[Cylinder], doubles: Doubles) -> Iterator[str]:
    """What to know of the two, and of what joins them."""
    one, other = cards
    volumes = [water_volume_of(book, card) for card in cards]
    litres = {round(each.volume.litres, 2) for each in volumes if each is not None}
    if len(litres) > 1:
        sizes = " and ".join(f"{each.volume}" for each in volumes if each is not None)
        yield f"WARNING: {one.id} and {other.id} differ in water volume: {sizes}"
    if one.use is not other.use:
        yield f"WARNING: {one.id} is kept for {one.use}, {other.id} for {other.use}"
    if doubles.isolator is None:
        yield "how its isolator stands is not said (--isolator): it is taken for open"


def unpair(
    book: Book,
    id_: Annotated[str, Arg("SET", "The doubles; a tail will do.", ids=True)],
    *,
    bled: Bleeding = None,
    hour: Hour = None,
    note: Note = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Take doubles apart. What the log says of the set stays theirs. Both are empty then: --bled
    says how they were, and is asked where gas is in them on record.

    Its file is kept, so that what went into it is known.
    """
    reasons = signer_reasons(book, by, on) + text_reasons(note=note)
    known = book.as_known_on(on)
    doubles = book.every_set.get(id_)
    if doubles is None or id_ not in known.sets:
        reasons.append(f"{id_} is no set of doubles that stood on {on}")
    elif out := still_open(known.sets[id_].rented):
        reasons.append(f"{id_} is out to {out[-1].to} since {out[-1].on}: have it back first")
    elif doubles.taken_apart is not None:
        reasons.append(f"{id_} was taken apart on {doubles.taken_apart}")
    reasons += not_heard(book, doubles.cylinders if doubles else (), bled)
    if doubles is not None and not reasons:
        reasons += bled_unsaid(book, doubles.cylinders, bled, on, hour)
    if doubles is None or reasons:
        return refusal(reasons)
    sides = [side for side in dict.fromkeys(doubles.cylinders) if side in book.cylinders]
    if bled is Bled.NO_FLOW:
        cards = [book.cylinders[side] for side in sides]
        return left_on(book, cards, "unpair", by=by, on=on, note=note)
    how: dict[str, Any] = {"apart": on, "apart_by": by}
    how |= {k: v for k, v in (("apart_at", hour), ("apart_bled", bled)) if v is not None}
    draft, open_ = Draft(doubles), [e for e in standing(doubles.made_up) if e.apart is None]
    if open_:
        draft = draft.amend("made_up", open_[-1], **how)
    else:
        for name, value in how.items():
            draft = draft.set(name, value)
    if note:
        draft = draft.set("note", f"{doubles.note}; {note}" if doubles.note else note)
    let_go = work_lets_go(book, _after(book, draft.record), sides, by=by, on=on)
    if isinstance(let_go, Refusal):
        return let_go
    sentence = f"Took {id_} apart: {' and '.join(sides)} stand by themselves"
    notes = [*let_go, *_bled(sides, bled)]
    if bled:
        notes += let_out(book, _after(book, draft.record), sides, on, hour, "it was taken apart")
    return _judged(book, "unpair", draft, sentence, notes, on)


def _bled(sides: Sequence[str], bled: Bled | None) -> list[str]:
    """What is told where nobody says how the two were bled."""
    return [] if bled else [ask(sides), f"{' and '.join(sides)}: {STAYS_IN}"]


def _after(book: Book, doubles: Doubles) -> Book:
    """The records with a set as it is now."""
    beside = {name: each for name, each in book.every_set.items() if name != doubles.id}
    return replace(book, sets={**beside, doubles.id: doubles}, apart={})


def _judged(
    book: Book, verb: str, draft: Draft[Doubles], sentence: str, notes: list[str], on: dt.date
) -> Act | Refusal:
    """The act, where the set it leaves is sound on its day and today; what else is wrong then is
    told."""
    doubles = draft.record
    after = _after(book, doubles)
    days = dict.fromkeys((on, max(on, book.clock or on)))
    found = {f: None for day in days for f in _new_faults(book, after, doubles, day)}
    refused = {f.code: f for f in reversed(found) if f.code in _OF_SET}
    if refused:
        return refusal(told(doubles.id, f) for f in refused.values())
    notes += dict.fromkeys(f"WARNING: {told(doubles.id, f)}" for f in found)
    then = after.as_known_on(on)
    for id_ in (doubles.id,) if doubles.id in then.sets else doubles.cylinders:
        if id_ in then.cylinders or id_ in then.sets:
            refusals = may_fill(then, id_, on, station=False).refusals
            if refusals:
                notes.append(f"{id_} may not be filled yet: {'; '.join(r.text for r in refusals)}")
    cards = [book.cylinders[side] for side in doubles.cylinders if side in book.cylinders]
    stolen = [told for card in cards for told in stolen_told(book, card)]
    notes = [*dangers_of(book, doubles.cylinders, on), *stolen, *notes]
    return act_of(verb, [draft], sentence, notes)


def _new_faults(book: Book, after: Book, doubles: Doubles, day: dt.date) -> list[Finding]:
    """What is at fault with a set and its sides after an act that was not before."""
    before, then = book.as_known_on(day), after.as_known_on(day)
    names = (doubles.id, *doubles.cylinders)

    def faults(each: Book) -> dict[tuple[str, str], Finding]:
        ids = [n for n in names if n in each.cylinders or n in each.sets]
        every = (f for n in ids for f in against(each, n, day, station=False))
        return {(f.code, f.text): f for f in every if f.severity is Severity.FAULT}

    known = faults(before)
    return [f for key, f in faults(then).items() if key not in known]
