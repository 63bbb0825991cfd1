"""A visual inspection by a checklist: pass, hold or reject."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from tankbook.acts import bench
from tankbook.acts.bleeding import (
    TAKEN_FOR_FULL,
    ask,
    bled_unsaid,
    held_for_full,
    not_heard,
    not_told,
    other_side_full,
    taken_as_later,
)
from tankbook.acts.common import (
    Draft,
    act_of,
    dangers,
    named,
    owner_told,
    refusal,
    signer_reasons,
    still_against,
    ticked,
    told_reasons,
)
from tankbook.acts.hold import after_fills, open_holds, release_it, since, time_reasons
from tankbook.acts.looking import Look, number_reasons, sticker_for, wrong_with
from tankbook.acts.open_against import Open, cleared, named_in, open_against, way_out
from tankbook.acts.soundness import after, sound
from tankbook.acts.station_holds import work_lets_go
from tankbook.acts.walk import outcome, told
from tankbook.records.book import Book
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder, is_customers, stays_with_owner
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import HEARD_OUT, Held, Inspected, Rejected, standing
from tankbook.records.kinds import Adverse, Cleared
from tankbook.records.words import Bled, InspectionResult, Seen, Skill, StepResult, Sticker, Use
from tankbook.rules.conditions import in_doubt_on
from tankbook.rules.counter import refused_before
from tankbook.rules.fill_history import lines_about, not_here
from tankbook.rules.flow import bled_of, none_heard
from tankbook.rules.signing import why_not
from tankbook.rules.status import is_inside
from tankbook.units import PartialDate

__all__ = ["Look", "inspect", "usual_checklist"]

NEW, ANNUAL = "new", "annual"


def usual_checklist(book: Book, cylinder: Cylinder) -> str:
    """The checklist followed unless said otherwise: `new` for what never passed an inspection."""
    passed = any(i.result is InspectionResult.PASS for i in standing(cylinder.inspected))
    fresh = not passed and not stays_with_owner(cylinder)
    return NEW if fresh and NEW in book.checklists else ANNUAL


def inspect(
    book: Book,
    looks: Sequence[Look],
    *,
    checklist: str,
    by: str,
    on: dt.date,
    at: dt.time | None = None,
    bled: Bled | None = None,
) -> Act | Refusal:
    """Record the inspection of one cylinder, or of several alike.

    Args:
        book: the records, all of them.
        looks: each cylinder with its answers.
        checklist: the name of the checklist followed.
        by: the inspector's initials.
        on: the day of the inspection.
        at: the time of that day, where it is known: of a hold or rejection that follows.
        bled: how they were bled before their valves came off. Where no flow was heard, by this or
            by what is noted, none comes off: they are held, and nothing is said of their inside.
    """
    if bled is Bled.NO_FLOW or (bled is None and any(_says_no_flow(look) for look in looks)):
        return _left_shut(book, looks, by=by, on=on, at=at)
    reasons = signer_reasons(book, by, on)
    if not reasons and why_not(book.settings.people, by, Skill.INSPECTOR, on):
        reasons.append(
            f"{by} holds no inspector's certification valid on {on}; let somebody certified "
            "inspect, or record it under `people:` in tankbook.yaml"
        )
    followed = book.checklists.get(checklist)
    if followed is None:
        known = ", ".join(sorted(book.checklists))
        reasons.append(f"there is no checklist {ticked(checklist)}; known: {known}")
        return refusal(reasons)
    if bled and not is_inside(book, checklist):
        reasons.append(f"{ticked(checklist)} leaves the valve on: --bled goes with a look inside")
    if is_inside(book, checklist):
        reasons += not_heard(book, [look.id for look in looks], bled)
        opened = (k.id for k in looks if outcome(k.answers) is InspectionResult.PASS)
        reasons += [] if reasons else bled_unsaid(book, opened, bled, on, at)
    reasons += number_reasons(book, looks, followed)
    case = _InspectionCase(book, book.as_known_on(on), followed, by, on, at, bled)
    done = []
    for look in looks:
        wrong = [f"{look.id}: {r}" for r in wrong_with(book, case.known, look, followed)]
        wrong += [f"{look.id}: {r}" for r in told_reasons(book, look.told)]
        if not wrong:
            made = case.made(look)
            wrong = [f"{look.id}: {r}" for r in _not_answered(book, made)]
            wrong += [] if made.passed else list(time_reasons(book, look.id, on, at))
            done.append(made)
        reasons += wrong
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts = [m.draft for m in done]
    who, then = [look.id for look in looks], after(book, drafts)
    asked = not_told(book, then, who, bled)
    let_go = work_lets_go(book, then, who, by=by, on=on, asked=asked)
    if isinstance(let_go, Refusal):
        return let_go
    notes = [n for made in done for n in _notes(book, made)]
    if bled is None and is_inside(book, checklist):
        notes.append(ask(who))
    if is_inside(book, checklist):
        notes += other_side_full(then, who)
    sentence = _sentence(who, [m.entry for m in done])
    notes = [*dangers(book, drafts, on), *let_go, *notes, *still_against(book, drafts, on)]
    act = act_of("inspect", drafts, sentence, notes)
    return sound(book, act, drafts, on, fact=not all(m.passed for m in done), hints=_HINTS)


def _left_shut(
    book: Book, looks: Sequence[Look], *, by: str, on: dt.date, at: dt.time | None
) -> Act | Refusal:
    """Hold what let no flow be heard: its valve does not come off, so nobody looks inside; what was
    seen of it outside goes with the hold."""
    reasons = signer_reasons(book, by, on)
    drafts = []
    for look in looks:
        card = book.cylinders.get(look.id)
        if card is None or (gone := not_here(book, card)):
            what = f"{gone}: it is not here to be bled" if card else "no cylinder that can be read"
            reasons.append(f"{look.id} is {what}")
            continue
        seen = "; ".join([*(told(a) for a in look.answers if a.note or a.what), *_said_of(look)])
        draft = held_for_full(book, Draft(card), by=by, on=on, at=at, note=seen[:500])
        reasons += [] if draft.edits else [f"{look.id} is held for that already"]
        drafts.append(draft)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    ids = [look.id for look in looks]
    sentence = f"Held {named(ids)}, not inspected: {TAKEN_FOR_FULL}"
    notes = [
        f"{named(ids)}: leave the valve on, and have somebody who is equipped for it let the gas "
        f"out; then {release_it(ids[0])}, and inspect it"
    ]
    return sound(book, act_of("inspect", drafts, sentence, notes), drafts, on, fact=True)


def _says_no_flow(look: Look) -> bool:
    """Whether what was noted says that no flow was heard."""
    return none_heard(look.answers, _said_of(look))


def _said_of(look: Look) -> tuple[str, ...]:
    return (look.note,) if look.note else ()


_HINTS = {"finding-not-accepted": "hold it at that step (`--except STEP:hold`), or reject it"}


class _Made(Struct, frozen=True):
    """One inspection as it is to be recorded, and what it names."""

    look: Look
    followed: Checklist
    entry: Inspected
    draft: Draft[Cylinder]
    named: tuple[Open, ...]

    @property
    def passed(self) -> bool:
        return self.entry.result is InspectionResult.PASS


class _InspectionCase(Struct, frozen=True):
    """What one inspection or several alike have in common: the records, also as `known` that day,
    the checklist, who, when."""

    book: Book
    known: Book
    followed: Checklist
    by: str
    on: dt.date
    at: dt.time | None
    bled: Bled | None

    def made(self, look: Look) -> _Made:
        """One inspection as it is to be recorded."""
        opens = open_against(self.known, self.known.cylinders[look.id])
        named, _ = named_in(look.clears, opens)
        entry = self.entry(look, (*cleared(named), *self.came_after(look)))
        draft = self.draft(look, entry)
        if look.why:
            draft = self.let_go(draft, named, look.why).stand(self.book)
        return _Made(look, self.followed, entry, draft, named)

    def came_after(self, look: Look) -> Iterator[Cleared]:
        """What stands on record of a day as it is looked inside: the look came after it."""
        inside = is_inside(self.known, self.followed.id)
        passed = outcome(look.answers) is InspectionResult.PASS
        if passed and inside and in_doubt_on(self.known, self.known.cylinders[look.id], self.on):
            yield Cleared(Adverse.RETURNED, PartialDate.of(self.on))

    def let_go(self, draft: Draft[Cylinder], named: Sequence[Open], why: str) -> Draft[Cylinder]:
        """With the holds that a pass names released on its ground."""
        values = {"released": self.on, "released_by": self.by, "released_why": why}
        values |= {"released_bled": self.bled} if self.bled else {}
        for each in named:
            for hold in open_holds(draft.record):
                if bled_of(hold) is Bled.NO_FLOW and self.bled not in HEARD_OUT:
                    continue  # what was not let out is not let go
                if each.what is Adverse.HELD and (hold.on, hold.why) == (each.on, each.text):
                    draft = draft.amend("held", hold, **values)
        return draft

    def entry(self, look: Look, clears: tuple[Cleared, ...]) -> Inspected:
        """The entry of an inspection, and what it answers."""
        cylinder = self.book.cylinders[look.id]
        result = outcome(look.answers)
        findings = tuple(a for a in look.answers if a.result is not StepResult.PASS or a.note)
        asked = {a.step for a in look.answers}
        card_torque = cylinder.valve.torque if cylinder.valve else None
        torque = look.read.torque or (card_torque if bench.TORQUE in asked else None)
        short = _is_short(self.book, cylinder, self.followed, result, bool(findings))
        return Inspected(
            on=PartialDate.of(self.on),
            by=self.by,
            checklist=self.followed.id,
            result=result,
            sticker=sticker_for(self.book, cylinder, look, self.followed, result),
            sticker_number=look.sticker_number or None,
            findings=findings,
            neck_thread=None if short else look.read.neck_thread or None,
            valve_thread=None if short else look.read.valve_thread or None,
            torque=torque if result is InspectionResult.PASS and not short else None,
            note=look.note or None,
            clears=clears,
            bled=self.bled,
            at=self.hour_of(look.id),
        )

    def hour_of(self, id_: str) -> dt.time | None:
        """The minute of a look inside, where it is known and something else was done that day: what
        a fill put in before went out, or what was read in it; what a refusal named before was
        looked at."""
        inside = is_inside(self.known, self.followed.id)
        logged = any(line.at.date() == self.on for line in lines_about(self.book, id_))
        refused = refused_before(self.known, self.known.cylinders[id_])
        more = logged or any(e.on.meets(PartialDate.of(self.on)) for e in refused)
        return since(self.book, id_, self.on, self.at) if inside and more else None

    def draft(self, look: Look, entry: Inspected) -> Draft[Cylinder]:
        """The card after the inspection."""
        draft = Draft(self.book.cylinders[look.id]).enter("inspected", entry)
        why = "; ".join(told(f) for f in entry.findings if f.result not in _PASSING)[:500]
        minute = since(self.book, look.id, self.on, self.at)
        if entry.result is InspectionResult.HOLD:
            held = Held(on=entry.on, by=self.by, why=why, at=minute)
            return draft.enter("held", held).stand(self.book)
        if entry.result is InspectionResult.REJECT:
            how = owner_told(look.told, self.by, self.on)
            rejected = Rejected(on=entry.on, by=self.by, why=why, told=how, at=minute)
            draft = draft.enter("rejected", rejected).stand(self.book)
            return _without_sticker(draft, entry)
        results = {a.step: a.result for a in look.answers}
        fitted = bench.fitted(draft, look.read, results, by=self.by, on=entry.on)
        return self.refitted(fitted, results).stand(self.book)

    def refitted(self, draft: Draft[Cylinder], results: dict[str, StepResult]) -> Draft[Cylinder]:
        """A look inside with the valve fitted again answers what a water test left open."""
        if not self.followed.inside or bench.TORQUE not in results:
            return draft
        for sent in draft.record.sent:
            if sent.void is None and sent.back and sent.refitted is None and sent.back <= self.on:
                draft = draft.amend("sent", sent, refitted=self.on, refitted_by=self.by)
        return draft


def _not_answered(book: Book, made: _Made) -> Iterator[str]:
    """What a pass names and does not answer, since it looked at less than what found it."""
    left = open_against(after(book, [made.draft]), made.draft.record)
    still = {(o.what, o.on) for o in left if not o.answered and o.what is not Adverse.HELD}
    for each in made.named:
        if (each.what, each.on) in still:
            yield (
                f"`{made.followed.id}` does not answer {each}: follow a checklist that looks at as "
                f"much as what found it; or {way_out(made.look.id, each)}"
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


_PASSING = {StepResult.PASS, StepResult.NOTE}


def _without_sticker(draft: Draft[Cylinder], entry: Inspected) -> Draft[Cylinder]:
    """A rejected cylinder loses the sticker it wears."""
    worn = _worn(draft.record, entry)
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


def _notes(book: Book, made: _Made) -> Iterator[str]:
    """What the inspector should see besides."""
    look, entry, id_ = made.look, made.entry, made.look.id
    yield from _grave(id_, entry)
    if entry.result is InspectionResult.HOLD:
        yield f'{id_}: set it aside; a later pass answers it by --clears "inspected {entry.on}"'
    if entry.result is InspectionResult.REJECT:
        worn = _worn(book.cylinders[id_], entry)
        if worn:
            number = f" {worn.sticker_number}" if worn.sticker_number else ""
            yield f"{id_}: take its sticker{number} off; it is voided"
        if not look.told and is_customers(book.cylinders[id_]):
            yield f"{id_}: give its owner a written notice"
        if not any(f.what is Seen.CRACK for f in entry.findings):
            yield (
                f"{id_}: a later test, or an inspection as full, answers it by --clears "
                f'"rejected {entry.on}"'
            )
    if is_inside(book, made.followed.id) and entry.at is None:
        filled = after_fills(book, id_, entry.on.first)
        if filled is not None:
            yield taken_as_later(id_, filled, "it was looked inside")
    if not made.passed:
        return
    yield from _left_open(book, made)
    if entry.sticker is Sticker.WITHHELD:
        yield f"{id_}: its sticker is withheld; `tankbook sticker {id_}` when it goes on"
    results = {a.step: a.result for a in look.answers}
    torque = entry.torque or look.read.torque
    for each in bench.not_compared(made.draft.record, torque, results):
        yield f"{id_}: {each}"
    if _is_short(book, book.cylinders[id_], made.followed, entry.result, bool(entry.findings)):
        yield f"{id_}: threads and torque are left out of the log; no log is no evidence"


def _grave(id_: str, entry: Inspected) -> Iterator[str]:
    """What a crack, a suspected one, and heat ask for."""
    found = {f.what for f in entry.findings if f.result is not StepResult.PASS}
    if Seen.CRACK in found:
        yield (
            f"{id_}: a crack is never passed: mark it so that nobody fills it, and have it "
            f"condemned (`tankbook condemn {id_} --by RIN --why crack --marked HOW`)"
        )
    for kind, word in ((Seen.SUSPECTED_CRACK, "suspected-crack"), (Seen.HEAT, "heat")):
        if kind in found:
            yield (
                f"{id_}: a requalifier decides: `tankbook send {id_}`, and with what they write "
                f'`tankbook requalify {id_} --clears "{word} {entry.on}" --finding TEXT`'
            )


def _left_open(book: Book, made: _Made) -> Iterator[str]:
    """What a pass says nothing of, and how it is named."""
    card = made.draft.record
    for each in open_against(after(book, [made.draft]), card):
        yield f"{made.look.id}: still open: {each}: {way_out(made.look.id, each)}"


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
    answers = ", ".join(map(str, first.clears)) if len(entries) == 1 else ""
    return f"{said}: pass{_sticker_said(entries)}" + (f"; answers {answers}" if answers else "")


def _sticker_said(entries: Iterable[Inspected]) -> str:
    """`, sticker 0417 issued (month 2026-11)`: the sticker's month is the full inspection's."""
    each = list(entries)
    if each[0].sticker is None:
        return ""
    numbers = [e.sticker_number for e in each if e.sticker_number]
    number = f" {numbers[0]}" if numbers else ""
    number += f" to {numbers[-1]}" if len(numbers) > 1 else ""
    return f", sticker{number} {each[0].sticker} (month {each[0].on.year}-{each[0].on.month:02d})"
