"""A visual inspection by a checklist: pass, hold or reject."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from tankbook.records.book import Book
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Held, Inspected, Rejected, Told, standing
from tankbook.records.words import (
    InspectionResult,
    Skill,
    Status,
    StepResult,
    Sticker,
    Use,
)
from tankbook.rules.acts import bench
from tankbook.rules.acts.common import (
    Draft,
    edits_of,
    refusal,
    signer_reasons,
    still_against,
)
from tankbook.rules.acts.looking import Look, number_reasons, sticker_for, wrong_with
from tankbook.rules.acts.people import is_certified
from tankbook.rules.acts.soundness import new_faults
from tankbook.rules.acts.walk import outcome, told
from tankbook.rules.hand_over import full_inspection
from tankbook.units import PartialDate

__all__ = ["Look", "inspect", "usual_checklist"]

NEW, ANNUAL = "new", "annual"


def usual_checklist(book: Book, cylinder: Cylinder) -> str:
    """The checklist followed unless said otherwise: `new` for what never passed an inspection."""
    passed = any(i.result is InspectionResult.PASS for i in standing(cylinder.inspected))
    fresh = not passed and cylinder.use is not Use.CUSTOMER
    return NEW if fresh and NEW in book.checklists else ANNUAL


def inspect(
    book: Book, looks: Sequence[Look], *, checklist: str, by: str, on: dt.date
) -> Act | Refusal:
    """Record the inspection of one cylinder, or of several alike.

    Args:
        book: the records, all of them.
        looks: each cylinder with its answers.
        checklist: the name of the checklist followed.
        by: the inspector's initials.
        on: the day of the inspection.
    """
    reasons = signer_reasons(book, by, on)
    if not reasons and not is_certified(book, by, Skill.INSPECTOR, on):
        reasons.append(
            f"{by} holds no inspector's certification valid on {on}; let somebody certified "
            "inspect, or record it under `people:` in tankbook.yaml"
        )
    followed = book.checklists.get(checklist)
    if followed is None:
        known = ", ".join(sorted(book.checklists))
        reasons.append(f"there is no checklist `{checklist}`; known: {known}")
        return refusal(reasons)
    reasons += number_reasons(book, looks, followed)
    that_day = book.as_known_on(on)
    drafts, entries = [], []
    for look in looks:
        wrong = [f"{look.id}: {r}" for r in wrong_with(book, that_day, look, followed)]
        reasons += wrong
        if not wrong:
            entry = _entry(book, look, followed, by, on)
            draft = _draft(book, look, followed, entry, on)
            reasons += [f"{look.id}: {r}" for r in new_faults(book, [draft], on)]
            drafts.append(draft)
            entries.append(entry)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    notes = [
        n for look, e, d in zip(looks, entries, drafts, strict=True)
        for n in _notes(book, look, followed, e, d)
    ]  # fmt: skip
    ids = tuple(look.id for look in looks)
    sentence = _sentence(ids, entries)
    return Act(
        "inspect", ids, sentence, edits_of(drafts), (*notes, *still_against(book, drafts, on))
    )


def _entry(book: Book, look: Look, followed: Checklist, by: str, on: dt.date) -> Inspected:
    cylinder = book.cylinders[look.id]
    result = outcome(look.answers)
    findings = tuple(a for a in look.answers if a.result is not StepResult.PASS or a.note)
    asked = {a.step for a in look.answers}
    card_torque = cylinder.valve.torque if cylinder.valve else None
    torque = look.read.torque or (card_torque if bench.TORQUE in asked else None)
    short = _is_short(book, cylinder, followed, result, bool(findings))
    return Inspected(
        on=PartialDate.of(on),
        by=by,
        checklist=followed.id,
        result=result,
        sticker=sticker_for(book, cylinder, look, followed, result),
        sticker_number=look.sticker_number or None,
        findings=findings,
        neck_thread=None if short else look.read.neck_thread or None,
        valve_thread=None if short else look.read.valve_thread or None,
        torque=torque if result is InspectionResult.PASS and not short else None,
        note=look.note or None,
    )


def _is_short(
    book: Book, cylinder: Cylinder, followed: Checklist, result: InspectionResult, found: bool
) -> bool:
    """Whether the shop's policy shortens the log of this inspection: untouched new stock."""
    policy = book.settings.sticker
    return (
        policy is not None
        and policy.short_log
        and cylinder.use is Use.SALE
        and not standing(cylinder.inspected)
        and followed.full
        and result is InspectionResult.PASS
        and not found
    )


def _draft(book: Book, look: Look, followed: Checklist, entry: Inspected, on: dt.date) -> Draft:
    """The card after the inspection."""
    before = book.cylinders[look.id]
    draft = Draft(before).enter("inspected", entry)
    why = "; ".join(told(f) for f in entry.findings if f.result not in _PASSING)[:500]
    if entry.result is InspectionResult.HOLD:
        held = Held(on=entry.on, by=entry.by, why=why)
        return draft.enter("held", held).stand(book)
    if entry.result is InspectionResult.REJECT:
        how = Told(on=on, by=entry.by or "", how=look.told) if look.told else None
        rejected = Rejected(on=entry.on, by=entry.by, why=why, told=how)
        draft = draft.enter("rejected", rejected).stand(book)
        return _without_sticker(draft, entry)
    results = {a.step: a.result for a in look.answers}
    draft = _refitted(bench.fitted(draft, look.read, results), followed, results, entry, on)
    if before.status is Status.AWAITING_COLLECTION or not _decides(book, before, followed):
        return draft.stand(book)
    return draft.stand(book)


def _decides(book: Book, before: Cylinder, followed: Checklist) -> bool:
    """Whether a pass may put a cylinder into service.

    A full inspection may; a look inside may where it was in service before. A look at the outside
    never does, though the maker's test keeps a new cylinder's dates for a while.
    """
    known = full_inspection(book, before) is not None or any(s.back for s in standing(before.sent))
    return followed.full or (followed.inside and known)


_PASSING = {StepResult.PASS, StepResult.NOTE}


def _without_sticker(draft: Draft, entry: Inspected) -> Draft:
    """A rejected cylinder loses the sticker it wears."""
    worn = _worn(draft.cylinder, entry)
    return draft.amend("inspected", worn, sticker=Sticker.VOIDED) if worn else draft


def _worn(cylinder: Cylinder, besides: Inspected) -> Inspected | None:
    """The inspection whose sticker is on the cylinder."""
    on = (
        i
        for i in reversed(standing(cylinder.inspected))
        if i is not besides and (i.sticker is Sticker.ISSUED or i.sticker_on is not None)
    )
    found = next(on, None)
    return found if found and found.sticker is not Sticker.VOIDED else None


def _refitted(
    draft: Draft,
    followed: Checklist,
    results: dict[str, StepResult],
    entry: Inspected,
    on: dt.date,
) -> Draft:
    """A look inside with the valve fitted again answers what a water test left open."""
    if not followed.inside or bench.TORQUE not in results:
        return draft
    for sent in draft.cylinder.sent:
        if sent.void is None and sent.back and sent.refitted is None and sent.back <= on:
            draft = draft.amend("sent", sent, refitted=on, refitted_by=entry.by)
    return draft


def _notes(
    book: Book, look: Look, followed: Checklist, entry: Inspected, draft: Draft
) -> Iterator[str]:
    """What the inspector should see besides."""
    id_ = look.id
    if entry.result is InspectionResult.HOLD:
        yield f"{id_}: set it aside; `tankbook release {id_}` once somebody has decided"
    if entry.result is InspectionResult.REJECT:
        worn = _worn(book.cylinders[id_], entry)
        if worn:
            number = f" {worn.sticker_number}" if worn.sticker_number else ""
            yield f"{id_}: take its sticker{number} off; it is voided"
        if not look.told:
            yield f"{id_}: give its owner a written notice; only a requalifier passes it after all"
    if entry.result is not InspectionResult.PASS:
        return
    if entry.sticker is Sticker.WITHHELD:
        yield f"{id_}: its sticker is withheld; `tankbook sticker {id_}` when it goes on"
    results = {a.step: a.result for a in look.answers}
    torque = entry.torque or look.read.torque
    for each in bench.not_compared(draft.cylinder, torque, results):
        yield f"{id_}: {each}"
    if _is_short(book, book.cylinders[id_], followed, entry.result, bool(entry.findings)):
        yield f"{id_}: threads and torque are left out of the log; no log is no evidence"


def _sentence(ids: Sequence[str], entries: Sequence[Inspected]) -> str:
    first = entries[0]
    alike = len({(e.result, e.sticker) for e in entries}) == 1
    who = ids[0] if len(ids) == 1 else f"{len(ids)} cylinders ({ids[0]} to {ids[-1]})"
    said = f"Inspected {who} by `{first.checklist}`"
    if not alike:
        results = ", ".join(f"{i} {e.result}" for i, e in zip(ids, entries, strict=True))
        return f"{said}: {results}"
    if first.result is not InspectionResult.PASS:
        what = "; ".join(told(f) for f in first.findings if f.result not in _PASSING)
        return f"{said}: {first.result}, {what}"
    return f"{said}: pass{_sticker_said(entries)}"


def _sticker_said(entries: Iterable[Inspected]) -> str:
    """`, sticker 0417 issued (month 2026-11)`: the sticker's month is the full inspection's."""
    each = list(entries)
    if each[0].sticker is None:
        return ""
    numbers = [e.sticker_number for e in each if e.sticker_number]
    number = f" {numbers[0]}" if numbers else ""
    number += f" to {numbers[-1]}" if len(numbers) > 1 else ""
    return f", sticker{number} {each[0].sticker} (month {each[0].on.year}-{each[0].on.month:02d})"
