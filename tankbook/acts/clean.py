"""A cylinder cleaned for nitrox or oxygen, here or by somebody else, and until when that holds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.bleeding import (
    STAYS_IN,
    Bleeding,
    ask,
    bled_unsaid,
    let_out,
    not_heard,
    not_told,
)
from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    dangers_of,
    named,
    refusal,
    text_reasons,
)
from tankbook.acts.options import Hour, Ids, Note, Opt
from tankbook.acts.soundness import SLIPS, after, sound
from tankbook.acts.station_holds import work_lets_go
from tankbook.acts.valve import left_on, worker_reasons
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Cleaned
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Bled, Service
from tankbook.rules.conditions import of_cylinder
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.services import AS_OXYGEN, serves
from tankbook.units import PartialDate, Period


def clean(
    book: Book,
    ids: Ids,
    *,
    to: Annotated[Service, Opt("nitrox|oxygen|air", "For which service it is clean now.")],
    method: Annotated[str, Opt("TEXT", "How: 'detergent, hot water, dried'.")] = "",
    until: Annotated[
        PartialDate | None, Opt("DATE", "The last day or month it holds, where you give one.")
    ] = None,
    for_: Annotated[Period | None, Opt("PERIOD", "For how long it holds: 1y, 24m.")] = None,
    hour: Hour = None,
    bled: Bleeding = None,
    note: Note = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record that cylinders were cleaned for a service, and until when whoever did it says that it
    holds; who says nothing of that sets it no end.

    What was in them is let out; of a cleaning for air, which may be of the outside, only where
    --bled says so. A firm that did it is named with --by.
    """
    cylinders, reasons = cylinders_of(book, ids)
    reasons += worker_reasons(book, by, on) + text_reasons(method=method, note=note)
    day = PartialDate.of(on)
    if until is not None and for_ is not None:
        reasons.append("--until and --for say the same thing twice: give one")
    ends = day.plus(for_) if for_ is not None else until
    if for_ is not None and ends == day:
        reasons.append(f"--for {for_} is no time: leave it away where nothing ends it")
    if ends is not None and ends.last < on:
        reasons.append(f"--until {ends} is before {on}, when it was cleaned")
    if to is not Service.AIR:  # that may be of the outside
        reasons += not_heard(book, [c.id for c in cylinders], bled)
        reasons += [] if reasons else bled_unsaid(book, [c.id for c in cylinders], bled, on, hour)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    if bled is Bled.NO_FLOW:
        return left_on(book, cylinders, "clean", by=by, on=on, note=note)
    entry = Cleaned(
        on=day,
        by=by,
        to=to,
        at=hour,
        method=method or None,
        until=ends,
        bled=bled,
        note=note or None,
    )
    drafts = [Draft(c).enter("cleaned", entry).stand(book) for c in cylinders]
    who, then = [c.id for c in cylinders], after(book, drafts)
    asked = not_told(book, then, who, bled)
    let_go = work_lets_go(book, then, who, by=by, on=on, asked=asked)
    if isinstance(let_go, Refusal):
        return let_go
    held = f", until {ends}" if ends is not None else ""
    sentence = f"Cleaned {named(c.id for c in cylinders)} for {to}{held}, by {by}"
    notes = [*dangers_of(book, who, on), *let_go, *_notes(book, drafts, entry, on)]
    act = act_of("clean", drafts, sentence, notes)
    return sound(book, act, drafts, on, fact=True, slips=SLIPS | {"worked-on-while-away"})


def _notes(book: Book, drafts: list[Draft[Cylinder]], entry: Cleaned, on: dt.date) -> Iterator[str]:
    """What follows from it, and what of it does not count."""
    ids = [draft.record.id for draft in drafts]
    if entry.bled is None:
        yield ask(ids)
    if entry.lets_out:
        then = after(book, drafts)
        yield from let_out(book, then, ids, on, entry.at, "it was cleaned")
    else:
        yield f"{named(ids)}: {STAYS_IN}"
    if entry.until is None and entry.to is not Service.AIR:
        yield "until when it holds is not said (--until, --for): no time ends it"
    for draft in drafts:
        card = draft.record
        if card.service is None or not serves(card.service, entry.to):
            label = card.service or "nothing on record"
            yield (
                f"{card.id}: it is labelled for {label}: `service: {entry.to}` on its card once it "
                "is labelled for that"
            )
        yield from (f"{card.id}: WARNING: {text}" for text in _still_unclean(book, card, entry, on))


def _still_unclean(book: Book, card: Cylinder, entry: Cleaned, on: dt.date) -> Iterator[str]:
    """What speaks against its being clean for that service all the same."""
    if entry.to is Service.AIR:
        return
    gas = Gas.of(100 if entry.to is Service.OXYGEN else AS_OXYGEN - 1)
    then = replace(book, cylinders={**book.cylinders, card.id: card}).as_known_on(on)
    known = then.cylinders[card.id]
    for found in of_cylinder(then, facts_of(known, rules_of(then)), gas, on):
        if found.question is Obligation.OXYGEN_CLEAN:
            yield f"{found.text}; {found.mend}"
