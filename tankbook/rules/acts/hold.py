"""Setting cylinders aside until somebody decides, and letting them go again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Held, Rejected, Requalified, standing
from tankbook.records.words import Status, TestResult
from tankbook.rules.acts.common import (
    Draft,
    cylinders_of,
    edits_of,
    line_reasons,
    named,
    refusal,
    signer_reasons,
    still_against,
)
from tankbook.rules.standing import status_of
from tankbook.units import PartialDate


def hold(book: Book, ids: Iterable[str], *, why: str, by: str, on: dt.date) -> Act | Refusal:
    """Set cylinders aside. A set is both its cylinders."""
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + line_reasons(why=why)
    reasons += [r for c in cylinders for r in _not_to_hold(book, c, why)]
    if reasons:
        return refusal(reasons)
    entry = Held(on=PartialDate.of(on), by=by, why=why)
    drafts = [Draft(c).enter("held", entry).stand(book) for c in cylinders]
    sentence = f"Held {named(c.id for c in cylinders)}: {why}"
    notes = tuple(
        f"{d.cylinder.id} stays {d.cylinder.status}; the hold stands besides"
        for d in drafts
        if d.cylinder.status is not Status.HELD
    )
    return Act("hold", tuple(c.id for c in cylinders), sentence, edits_of(drafts), notes)


def _not_to_hold(book: Book, cylinder: Cylinder, why: str) -> Iterator[str]:
    status = status_of(book, cylinder)
    if status.gone:
        yield f"{cylinder.id} is {status}: it cannot be set aside"
    for entry in open_holds(cylinder):
        if entry.why.casefold() == why.casefold():
            yield f"{cylinder.id} is already held for that since {entry.on}"


def open_holds(cylinder: Cylinder) -> tuple[Held, ...]:
    """The holds that stand, oldest first."""
    return tuple(h for h in standing(cylinder.held) if h.released is None)


def release(
    book: Book,
    ids: Iterable[str],
    *,
    why: str,
    by: str,
    on: dt.date,
    held_on: PartialDate | None = None,
    every: bool = False,
) -> Act | Refusal:
    """Let held cylinders go, and lift a rejection that a requalifier's later pass has answered.

    Args:
        book: the records.
        ids: cylinders, or sets for both their cylinders.
        why: on what ground.
        by: initials of who decides.
        on: the day.
        held_on: which hold, where a cylinder has several.
        every: all holds of a cylinder at once.
    """
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + line_reasons(why=why)
    drafts = []
    for each in cylinders:
        got = _released(Draft(each), why, by, on, held_on, every)
        if isinstance(got, Draft):
            drafts.append(got.stand(book))
        else:
            reasons.append(got)
    if reasons:
        return refusal(reasons)
    sentence = f"Released {named(c.id for c in cylinders)}: {why}"
    notes = still_against(book, drafts, on)
    return Act("release", tuple(c.id for c in cylinders), sentence, edits_of(drafts), notes)


def _released(
    draft: Draft, why: str, by: str, on: dt.date, held_on: PartialDate | None, every: bool
) -> Draft | str:
    """The cylinder let go, or why it is not."""
    cylinder = draft.cylinder
    holds = [h for h in open_holds(cylinder) if held_on is None or h.on == held_on]
    rejections = [r for r in standing(cylinder.rejected) if r.lifted is None]
    if not holds and not rejections:
        since = f" since {held_on}" if held_on else ""
        return f"{cylinder.id} is neither held nor rejected{since}"
    if len(holds) > 1 and not every:
        listed = "; ".join(f"{h.on} ({h.why})" for h in holds)
        return f"{cylinder.id} is held {len(holds)} times: {listed}; name one by --held, or --all"
    early = [h for h in holds if h.on.first > on]
    if early:
        return f"{cylinder.id} was held on {early[0].on}, after {on}"
    for held in holds:
        draft = draft.amend("held", held, released=on, released_by=by, released_why=why)
    for rejected in rejections:
        got = _lifted(draft, rejected, why, on)
        if isinstance(got, str):
            return got
        draft = got
    return draft


def _lifted(draft: Draft, rejected: Rejected, why: str, on: dt.date) -> Draft | str:
    """An inspector's rejection is lifted on a requalifier's pass, and on nothing less."""
    passed = _passed_since(draft.cylinder, rejected, on)
    if passed is None:
        return (
            f"{draft.cylinder.id} was rejected on {rejected.on} ({rejected.why}): only a "
            "requalifier's pass since then lifts that; record it with `tankbook requalify`"
        )
    return draft.amend("rejected", rejected, lifted=on, lifted_why=why)


def _passed_since(cylinder: Cylinder, rejected: Rejected, on: dt.date) -> Requalified | None:
    """The latest test not before the rejection, if it passed."""
    later = [
        r
        for r in standing(cylinder.requalified)
        if r.on.last >= rejected.on.first and r.on.first <= on
    ]
    return later[-1] if later and later[-1].result is TestResult.PASS else None
