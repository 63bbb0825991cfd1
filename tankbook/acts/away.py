"""Sending cylinders to a requalifier or a repairer, and having them back."""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Iterator, Sequence
from typing import Annotated, Any

from tankbook.acts.bleeding import (
    BLEED_IT,
    TAKEN_FOR_FULL,
    Bleeding,
    bled_unsaid,
    held_for_full,
    not_heard,
    taken_for_full,
)
from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    happened_reasons,
    line_reasons,
    named,
    refusal,
    signer_reasons,
    still_against,
    text_reasons,
    uncertified,
)
from tankbook.acts.dispatch import note_to, tests_of
from tankbook.acts.leaving import LEFT
from tankbook.acts.options import Flag, Ids, Left, Opt
from tankbook.acts.rent import fact_note
from tankbook.acts.soundness import after, sound
from tankbook.acts.station_holds import work_lets_go
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import HEARD_OUT, Sent, standing
from tankbook.records.words import AskedThere, Bled, SentFor, ValveSent
from tankbook.rules.counter import notes_of
from tankbook.rules.fill_history import not_here
from tankbook.rules.leaving import gas_against_sending
from tankbook.units import PartialDate


def send(
    book: Book,
    ids: Ids,
    *,
    for_: Annotated[
        SentFor, Opt("requalification|repair|supplier-return", "What for.")
    ] = SentFor.REQUALIFICATION,
    to: Annotated[
        str, Opt("WHO", "Who gets them; for a test the settings' requalifier, if not said.")
    ] = "",
    why: Annotated[str, Opt("TEXT", "What is wrong with them; asked of what has a fault.")] = "",
    paper: Annotated[str, Opt("TEXT", "The paper that goes with them.")] = "",
    ask: Annotated[
        Sequence[AskedThere],
        Opt("hydro,visual,...", "hydro, visual, eddy-current, o2-clean, valve-service; commas."),
    ] = (),
    valve: Annotated[
        ValveSent | None, Opt("fitted|off", "Whether they go with their valves fitted, or off.")
    ] = None,
    bled: Bleeding = None,
    happened: Left = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Send cylinders to a requalifier or a repairer, so that none is ever simply missing; or with a
    fault back to their supplier: they are gone then, and `back` if they are returned.

    One that let no flow be heard when it was bled goes as if full, and is held besides. What was
    recalled or is suspect is let out here before it goes, where it can be.
    """
    if not to and for_ is SentFor.REQUALIFICATION:
        to = book.settings.requalifier or ""
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + line_reasons(to=to) + text_reasons(paper=paper)
    if for_ is SentFor.SUPPLIER:
        lacks = "what is wrong with what goes back is not said: --why TEXT"
        reasons += line_reasons(why=why) if why else [lacks]
        reasons += [r for c in cylinders for r in _not_ours(c)]
    else:
        reasons += text_reasons(why=why)
    reasons += happened_reasons(happened)
    known = book.as_known_on(on)
    heard = bled in HEARD_OUT  # that nothing flows is no proof that nothing is in it
    cards = (known.cylinders.get(c.id) for c in cylinders if not heard)
    sure = not uncertified(book, by, on)
    against = {
        card.id: gas_against_sending(known, card, on, certified=sure)
        for card in cards
        if card is not None
    }
    if not happened:
        bleed = "let it out (`tankbook drain`), or say how it was bled: --bled"
        reasons += [f"{text}; {bleed}; {LEFT}" for texts in against.values() for text in texts]
    reasons += [
        f"{c.id} is {gone}: it is not here to be sent"
        for c in cylinders
        if (gone := not_here(book, c))
    ]
    if valve is ValveSent.OFF:
        ids = [c.id for c in cylinders]
        reasons += not_heard(known, ids, bled)
        reasons += bled_unsaid(book, ids, bled, on, None) if bled is None else ()
    if reasons:
        return refusal(reasons)
    said: dict[str, Any] = {"why": why or None, "paper": paper or None}
    said |= {"asked": tuple(dict.fromkeys(ask)), "with_valve": valve}
    drafts = []
    for each in cylinders:
        note = fact_note(happened, against.get(each.id, ())) if happened else None
        entry = Sent(
            on=PartialDate.of(on), by=by, to=to, for_=for_, bled=bled, note=note, **said
        )  # fmt: skip
        drafts.append(Draft(each).enter("sent", entry).stand(book))
    if bled is Bled.NO_FLOW:
        drafts = [held_for_full(book, d, by=by, on=on) for d in drafts]
    going = [c.id for c in cylinders if heard]
    let_go = work_lets_go(book, after(book, drafts), going, by=by, on=on)
    if isinstance(let_go, Refusal):
        return let_go
    who = named(c.id for c in cylinders)
    fact = "Logged as a fact: sent" if happened else "Sent"
    sentence = f"{fact} {who} to {to} for {for_}"
    if for_ is SentFor.SUPPLIER:
        fact = "Logged as a fact: returned" if happened else "Returned"
        sentence = f"{fact} {who} to the supplier {to}: {why}"
    notes = [*let_go, *(n for c in cylinders for n in notes_of(book, c))]
    notes += [f"WARNING: {text}" for texts in against.values() for text in texts]
    notes += [
        f"one side of {name} goes: once they are apart, say so: "
        f"`tankbook unpair {name} --bled heard`"
        for name in _sets_cut(book, cylinders)
    ]
    full = [] if heard else taken_for_full(known, [c.id for c in cylinders])
    full = [c.id for c in cylinders] if bled is Bled.NO_FLOW else full
    if full:
        notes.append(f"{named(full)}: {TAKEN_FOR_FULL}; say so to {to} in writing")
    others = [c.id for c in cylinders if c.id not in full]
    if others and for_ is not SentFor.SUPPLIER:
        said_how = "" if bled else "; record it with --bled heard"
        notes.append(f"{named(others)}: before the valve comes off, {BLEED_IT}{said_how}")
    if for_ is SentFor.SUPPLIER:
        notes.append(
            f"{who}: gone till `tankbook back {cylinders[0].id}`; what is sent in its place is a "
            "cylinder of its own (`tankbook book-in`)"
        )
    note = shlex.quote(note_to(book, PartialDate.of(on), to))
    notes.append(f"the note to go with them: `tankbook dispatch {note} --pdf note.pdf`")
    return sound(book, act_of("send", drafts, sentence, notes), drafts, on, fact=True)


def _not_ours(cylinder: Cylinder) -> Iterator[str]:
    """That it is a customer's, and no supplier's of this ledger."""
    if is_customers(cylinder):
        yield (
            f"{cylinder.id} is a customer's ({cylinder.owner or 'owner not recorded'}): its "
            "supplier is theirs; where it goes to be mended, --for repair"
        )


def _sets_cut(book: Book, cylinders: list[Cylinder]) -> list[str]:
    """Sets that stand and of which only one cylinder goes."""
    going = {c.id for c in cylinders}
    return [n for n, s in book.sets.items() if len(going & set(s.cylinders)) == 1]


def back(
    book: Book,
    ids: Ids,
    *,
    refitted: Annotated[bool, Flag("Dried, and their valves refitted, as well.")] = False,
    refitted_by: Annotated[
        str, Opt("WHO", "Who dried and refitted them, where their valves came home in them.")
    ] = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Have cylinders back from test or repair: to be dried, refitted and inspected; or from their
    supplier: to be inspected."""
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + text_reasons(refitted_by=refitted_by)
    refitted = refitted or bool(refitted_by)
    drafts, to_do = [], dict[str, list[str]]()
    for each in cylinders:
        sent = _open(each)
        if sent is None:
            reasons.append(f"{each.id} is not away")
        elif sent.on.first > on:
            reasons.append(f"{each.id} was sent on {sent.on}, after {on}")
        else:
            done = {"refitted": on, "refitted_by": refitted_by or by} if refitted else {}
            draft = Draft(each).amend("sent", sent, back=on, **done)
            drafts.append(draft.stand(book))
            to_do.setdefault(_to_do(each, sent, refitted), []).append(each.id)
    if reasons:
        return refusal(reasons)
    sentence = f"Back: {named(c.id for c in cylinders)}"
    sentence += ", dried and refitted" if refitted else ""
    sentence += f" by {refitted_by}" if refitted_by else ""
    notes = [f"{named(who)}: {what}" for what, who in to_do.items()]
    if notes:
        notes.append(
            "what the test house or shop did itself, looked inside or fitted the valve, anybody "
            f"records: `tankbook done-elsewhere {cylinders[0].id}`"
        )
    act = act_of("back", drafts, sentence, notes)
    return sound(book, act, drafts, on, fact=True, decides=False)


def _open(cylinder: Cylinder) -> Sent | None:
    away = [s for s in standing(cylinder.sent) if s.back is None]
    return away[-1] if away else None


def _to_do(cylinder: Cylinder, sent: Sent, refitted: bool) -> str:
    """What has to follow before it is filled again."""
    left = []
    tested = bool(tests_of(cylinder, sent))
    if sent.for_ is SentFor.REQUALIFICATION and not tested:
        left.append("record its test (`tankbook requalify`)")
    if not refitted and sent.for_ is not SentFor.SUPPLIER:
        left.append("dry it, refit its valve (`tankbook refit`)")
    left.append("inspect it (`tankbook inspect`)")
    return "; ".join(left)


def refit(book: Book, ids: Ids, *, by: str, on: dt.date) -> Act | Refusal:
    """Record that cylinders back from test or repair were dried and their valves refitted."""
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on)
    drafts = []
    for each in cylinders:
        bare = [s for s in standing(each.sent) if s.is_bare]
        if not bare:
            reasons.append(f"{each.id} has not come back from anywhere unfitted")
        elif any(s.back and s.back > on for s in bare):
            reasons.append(f"{each.id} came back after {on}")
        draft = Draft(each)
        for sent in bare:
            draft = draft.amend("sent", sent, refitted=on, refitted_by=by)
        drafts.append(draft.stand(book))
    if reasons:
        return refusal(reasons)
    sentence = f"Dried and refitted {named(c.id for c in cylinders)}"
    notes = [*_let_out_by(book, drafts), *still_against(book, drafts, on)]
    act = act_of("refit", drafts, sentence, notes)
    return sound(book, act, drafts, on, fact=True, decides=False)


def _let_out_by(book: Book, drafts: Sequence[Draft[Cylinder]]) -> Iterator[str]:
    """Of what was taken for full, that its valve was off: it is held all the same."""
    ids = [d.record.id for d in drafts]
    full = taken_for_full(after(book, drafts), ids)
    for id_ in taken_for_full(book, ids):
        if id_ not in full:
            let_go = f"`tankbook release {id_} --why WHAT` says what had blocked it"
            yield f"{id_}: its valve was off, so it is taken for full no more; {let_go}"
