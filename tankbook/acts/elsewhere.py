"""What somebody elsewhere did to cylinders: a visual, a test, or both, as the ledger was shown."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct

from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    line_reasons,
    named,
    refusal,
    signer_reasons,
    still_against,
    text_reasons,
)
from tankbook.acts.options import Flag, Ids, Note, Opt
from tankbook.acts.requalify import HINTS, STAMP_SLIPS, Test, rejected_on, tested
from tankbook.acts.soundness import after, sound
from tankbook.acts.station_holds import holds_bad_air, let_go_said, test_lets_go_late
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Inspected, Rejected, Sent, standing
from tankbook.records.fields import TEXT
from tankbook.records.naming import named_among
from tankbook.records.words import (
    METHOD_TWINS,
    PARTS_TWINS,
    InspectionResult,
    Method,
    PartChecked,
    Status,
    Sticker,
)
from tankbook.rules.signing import SEEN_STICKER, bench_of
from tankbook.rules.status import looked_at_there, looks_elsewhere, status_of, worked_out
from tankbook.rules.tested import made_of
from tankbook.units import PartialDate

_FULL = "inside,outside"
_HINTS = HINTS | {
    "ended-unsigned": "give the name in full with --who, as on sticker or paper; or leave `valve` "
    "out of --checked, and refit it here (`tankbook refit`)"
}


def done_elsewhere(
    book: Book,
    ids: Ids,
    *,
    who: Annotated[str, Opt("NAME", "Who did it, as on sticker, stamp or paper.")],
    done: Annotated[PartialDate, Opt("MONTH", "Month or day it was done: 2026-10.")],
    visual: Annotated[bool, Flag("A visual, by a sticker or a paper.")] = False,
    test: Annotated[
        Method | None,
        Opt(
            "METHOD",
            "A stamped test: hydrostatic, proof, ultrasonic, acoustic-emission or eddy-current; "
            "visual where an approved body stamped it.",
            twins=METHOD_TWINS,
        ),
    ] = None,
    checked: Annotated[
        Sequence[PartChecked],
        Opt(
            "LIST",
            "What was checked: inside, outside, threads, valve (and fitted again), cleaned; what "
            "is not said was not.",
            twins=PARTS_TWINS,
        ),
    ] = (),
    stamp: Annotated[str, Opt("TEXT", "The stamp as read: 10 T123 26.")] = "",
    paper: Annotated[str, Opt("TEXT", "The paper on it, and where it is kept.")] = "",
    failed: Annotated[str, Opt("WHY", "It did not pass there, and why.")] = "",
    clears: Annotated[
        Sequence[str],
        Opt("NAME", 'What a test that passed answers: "rejected 2026-10-05"; `none` of it.'),
    ] = (),
    finding: Annotated[str, Opt("TEXT", "What whoever tested wrote of it.")] = "",
    note: Note = "",
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record what another shop or a test house did: a visual, a stamped test, or both.

    Anybody of the ledger records what they saw on sticker, stamp or paper. It counts as the rules
    in force say, and answers nothing that stands here but what --clears names and a test house may.

    Args:
        book: the records.
        ids: the cylinders, all alike.
        who: the firm or inspector, none of the ledger's own people.
        done: when it was done.
        visual: a visual was done.
        test: how it was tested, where it was.
        checked: what was checked there.
        stamp: the stamp of the test.
        paper: the paper on it.
        failed: why it did not pass.
        clears: what the test answers.
        finding: what the test house wrote.
        note: anything worth knowing.
        by: initials of who saw it.
        on: the day it was seen.
    """
    seen = _Seen(
        who=who, done=done, visual=visual, test=test, by=by, on=on, checked=tuple(checked),
        clears=tuple(clears), stamp=stamp, paper=paper, failed=failed, finding=finding, note=note,
    )  # fmt: skip
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + line_reasons(who=who)
    reasons += text_reasons(paper=paper, failed=failed, note=note, stamp=stamp, finding=finding)
    reasons += _as_told(book, seen)
    reasons += [r for c in cylinders for r in _not_of(book, c, seen)]
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts, said, notes = [Draft(c) for c in cylinders], list[str](), list[str]()
    if test is not None:
        told = tested(book, cylinders, seen.as_test(test, cylinders), on)
        if told.reasons:
            return refusal(dict.fromkeys(told.reasons))
        drafts, said, notes = told.drafts, [told.sentence], told.notes
    if visual:
        drafts = [_looked(book, d, seen) for d in drafts]
        said.append(f"Visual {done} by {who}: {seen.verdict} {named(c.id for c in cylinders)}")
    drafts = [d if failed else _fitted(d, seen) for d in drafts]
    drafts = [d.stand(book) for d in drafts]
    notes += [n for d in drafts for n in _left(book, d, seen)]
    if holds_bad_air(book, ids_ := [c.id for c in cylinders]):
        then = after(book, drafts)
        if late := test_lets_go_late(book, then, ids_, done, by=by, on=on):
            return refusal(late)
        notes = [*let_go_said(book, then, on, ids_), *notes]
    notes += still_against(book, drafts, on)
    act = act_of("done-elsewhere", drafts, "; ".join(said), dict.fromkeys(notes))
    return sound(book, act, drafts, on, fact=True, slips=STAMP_SLIPS, hints=_HINTS)


class _Seen(Struct, frozen=True):
    """What was seen of work elsewhere, as `done_elsewhere` is told it."""

    who: str
    done: PartialDate
    visual: bool
    test: Method | None
    by: str
    on: dt.date
    checked: tuple[PartChecked, ...]
    clears: tuple[str, ...]
    stamp: str
    paper: str
    failed: str
    finding: str
    note: str

    @property
    def verdict(self) -> str:
        """What a visual came to."""
        return "FAILED, now rejected" if self.failed else "passed"

    def as_test(self, method: Method, cylinders: Sequence[Cylinder]) -> Test:
        """The test, of all the cylinders alike."""
        ids = [c.id for c in cylinders]
        return Test(
            on=self.done, method=method, by=self.who, stamp=self.stamp,
            failures=dict.fromkeys(ids, self.failed) if self.failed else {},
            clears=dict.fromkeys(ids, self.clears) if self.clears else {},
            findings=dict.fromkeys(ids, self.finding) if self.finding else {},
            seen_by=self.by, checked=self.checked, paper=self.paper, note=self.note,
        )  # fmt: skip

    def as_look(self) -> Inspected:
        """The visual, as a sticker that was seen."""
        noted = "; ".join(filter(None, (self.failed, self.note)))
        return Inspected(
            on=self.done, by=self.who, checklist=SEEN_STICKER,
            result=InspectionResult.REJECT if self.failed else InspectionResult.PASS,
            sticker=None if self.failed else Sticker.SEEN, checked=self.checked,
            paper=self.paper or None, seen_by=self.by, seen_on=self.on, note=noted or None,
        )  # fmt: skip


def _as_told(book: Book, seen: _Seen) -> Iterator[str]:
    """What is wrong with it whatever cylinder it is about."""
    if not seen.visual and seen.test is None:
        yield "what was done is not said: give --visual, --test METHOD, or both"
    if seen.failed and seen.visual and seen.test is not None:
        yield "which of the two did not pass? record the visual and the test one by one"
    if seen.done.first > seen.on:
        yield f"--done {seen.done} lies in the future: it is {seen.on}"
    if seen.who.strip() and not bench_of(book).is_shop(seen.who):
        yield (
            f"--who {seen.who} is of this ledger, or nobody's name: name the firm or inspector as "
            "on sticker or paper; a look of your own is `tankbook inspect`"
        )
    if seen.test is None and seen.stamp:
        yield "--stamp goes with a test: say which with --test"
    if seen.test is None and seen.clears:
        yield (
            "--clears goes with a test: a sticker answers nothing that stands here; where an "
            "approved body stamped its visual, say --test visual"
        )


def _not_of(book: Book, card: Cylinder, seen: _Seen) -> Iterator[str]:
    """Why it cannot be of this cylinder."""
    done, who = seen.done, seen.who
    status, made = status_of(book, card), made_of(card)
    if status in {Status.CONDEMNED, Status.SOLD}:
        yield f"{card.id} is {status}"
    if made and done.last < made.first:
        yield f"{card.id} was made {made}, after {done}"
    for look in standing(card.inspected) if seen.visual else ():
        if look.seen_by and (look.on, look.by) == (done, who):
            which = f"{card.id} inspected {named_among(card.inspected, look)}"
            yield (
                f"{card.id}: a visual of {done} by {who} is already on record; where that says too "
                f"little or is wrong: `tankbook correct {which} --why WHY`"
            )


def _looked(book: Book, draft: Draft[Cylinder], seen: _Seen) -> Draft[Cylinder]:
    """The card with a visual done elsewhere, rejected where it did not pass."""
    draft = draft.enter("inspected", seen.as_look())
    if not seen.failed:
        return draft
    on = rejected_on(book, draft.record.id, seen.done, seen.on)
    why = f"failed a visual elsewhere: {seen.failed}"[: TEXT.limit]
    return draft.enter("rejected", Rejected(on=on, by=seen.who, why=why))


def _fitted(draft: Draft[Cylinder], seen: _Seen) -> Draft[Cylinder]:
    """With its valve fitted by them, where it is home and they say so: while it was away, or since
    it came back. What they did before it went says nothing of the valve that came off then."""
    if PartChecked.VALVE not in seen.checked:
        return draft
    day = seen.done.first if seen.done.day is not None else dt.date.min
    for sent in draft.record.sent:
        home = sent.void is None and sent.back is not None and sent.back <= seen.on
        if sent.back and home and sent.refitted is None and seen.done.last >= sent.on.first:
            fitted = max(sent.back, day)
            draft = draft.amend("sent", sent, refitted=fitted, refitted_by=seen.who)
    return draft


def _left(book: Book, draft: Draft[Cylinder], seen: _Seen) -> Iterator[str]:
    """Why it does not bring the cylinder back into service, where it might have."""
    card, then = draft.record, after(book, [draft])
    if seen.failed:
        if is_customers(card):
            line = f"`tankbook reject {card.id} --told letter`"
            yield f"{card.id}: tell its owner in writing ({line})"
        return
    if seen.visual and not {PartChecked.INSIDE, PartChecked.OUTSIDE} <= set(seen.checked):
        yield (
            f"{card.id}: this visual counts for nothing: that it was of all is not said "
            f"(--checked {_FULL})"
        )
    if worked_out(then, card) is not Status.AWAITING_INSPECTION:
        return
    looks = looks_elsewhere(then, card)
    last = _last_home(card)
    if last is None or not looks or looked_at_there(then, card, last):
        return
    if any(look.on.meets(PartialDate.of(last.back)) for look in looks if last.back):
        yield (
            f"{card.id} was at {last.to} from {last.on} to {last.back}, and whether this was done "
            f"there is open: give its day, as --done {last.back}; or name {last.to} in --who, "
            "where it was they"
        )


def _last_home(card: Cylinder) -> Sent | None:
    home = [s for s in standing(card.sent) if s.back is not None]
    return home[-1] if home else None
