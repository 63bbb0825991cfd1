"""Rejecting a cylinder, which an inspector does, and condemning it, which only a requalifier does.

Rejection calls for a written notice to the owner (49 CFR 180.205(h), older copy read); a condemned
cylinder is marked, or made unable to hold pressure where its owner directs so (180.205(i)(2),
older copy read).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from typing import Annotated

from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    dangers,
    line_reasons,
    owner_told,
    refusal,
    signer_reasons,
    text_reasons,
    told_reasons,
)
from tankbook.acts.hold import leave_on, since, time_reasons
from tankbook.acts.options import At, Id, Opt
from tankbook.acts.soundness import sound
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Condemned, Rejected, Told, standing
from tankbook.records.words import Bled, Skill, Status
from tankbook.rules.flow import bled_of
from tankbook.rules.signing import why_not
from tankbook.rules.status import status_of
from tankbook.units import PartialDate, quoted
from tankbook.units.patterns import pattern

SPOKEN = {"in person", "telephone", "phone", "by telephone", "by phone", "told", "verbally"}
"""Ways of telling an owner that leave nothing in writing."""

_DESTROYED = pattern(r"\b(destroy|drill|sawn|saw|cut|crush|scrap|unable|incapable)", re.IGNORECASE)


def reject(
    book: Book,
    id_: Id,
    *,
    why: Annotated[str, Opt("TEXT", "What is wrong with it.")] = "",
    told: Annotated[
        str, Opt("HOW", "How the owner was told in writing, such as `letter`; may follow later.")
    ] = "",
    by: str,
    on: dt.date,
    at: At = None,
) -> Act | Refusal:
    """Reject a cylinder, as an inspector may, and record the notice to its owner.

    Only a requalifier condemns (`condemn`). With --told alone, the notice to the owner of a
    cylinder already rejected is recorded.

    Args:
        book: the records.
        id_: the cylinder.
        why: what is wrong with it; empty where only the telling is recorded.
        by: initials of the inspector.
        on: the day.
        told: how the owner was told: a letter, a notice handed over; empty if not yet.
        at: the time of that day, where it is known: what was filled earlier was filled lawfully.
    """
    cylinders, reasons = cylinders_of(book, [id_])
    reasons += signer_reasons(book, by, on) + told_reasons(book, told)
    if reasons:
        return refusal(reasons)
    if len(cylinders) != 1:
        return refusal([f"{id_} is a set: reject the cylinder that is at fault"])
    cylinder = cylinders[0]
    notice = owner_told(told, by, on)
    untold = [r for r in standing(cylinder.rejected) if r.lifted is None and r.told is None]
    if not why and notice and untold:
        return _told(cylinder, untold[-1], notice)
    reasons = line_reasons(why=why)
    if status_of(book, cylinder).gone:
        reasons.append(f"{cylinder.id} is {status_of(book, cylinder)}")
    reasons += time_reasons(book, cylinder.id, on, at)
    if reasons:
        return refusal(reasons)
    minute = since(book, cylinder.id, on, at)
    entry = Rejected(on=PartialDate.of(on), by=by, why=why, told=notice, at=minute)
    draft = Draft(cylinder).enter("rejected", entry).stand(book)
    notes = (
        *dangers(book, [draft], on),
        *_unnotified(cylinder, told),
        *_not_certified(book, by, on),
        *([leave_on(cylinder.id)] if bled_of(entry) is Bled.NO_FLOW else []),
    )
    act = act_of("reject", [draft], f"Rejected {cylinder.id}: {why}", notes)
    return sound(book, act, [draft], on, fact=True)


def _told(cylinder: Cylinder, rejected: Rejected, notice: Told) -> Act:
    draft = Draft(cylinder).amend("rejected", rejected, told=notice)
    sentence = f"Told the owner that {cylinder.id} is rejected: {notice.how}"
    return act_of("reject", [draft], sentence, _unnotified(cylinder, notice.how))


def _unnotified(cylinder: Cylinder, told: str) -> tuple[str, ...]:
    owned_by_others = is_customers(cylinder)
    if told.casefold() in SPOKEN and owned_by_others:
        return ("a written notice is due to the owner as well",)
    if not told and owned_by_others:
        how = f"`tankbook reject {cylinder.id} --told letter`"
        return (f"the owner is to be told in writing; record it with {how}",)
    return ()


def _not_certified(book: Book, by: str, on: dt.date) -> Iterator[str]:
    if why_not(book.settings.people, by, Skill.INSPECTOR, on):
        yield f"{by} has no inspector's certification on record for {on}"


def condemn(
    book: Book,
    id_: Id,
    *,
    by: Annotated[str, Opt("REQUALIFIER", "Who condemned it: a RIN.")] = "",
    why: Annotated[str, Opt("TEXT", "On what ground.")] = "",
    marked: Annotated[
        str, Opt("TEXT", "How it was marked, such as `CONDEMNED on the shoulder`.")
    ] = "",
    consent: Annotated[
        str, Opt("TEXT", "The owner's consent to destroy it, such as `letter of 2026-03-04`.")
    ] = "",
    on: dt.date | PartialDate,
) -> Act | Refusal:
    """Record that a requalifier condemned a cylinder: who, why, how it was marked.

    It may be destroyed only with its owner's consent, which may be recorded later: give --consent
    alone then.

    Args:
        book: the records.
        id_: the cylinder.
        why: on what ground.
        by: the requalifier: a RIN or a name, never initials of the ledger's people.
        on: the day or month.
        marked: how it was marked, such as `CONDEMNED stamped on the shoulder`.
        consent: the owner's consent to destroy it, such as `letter of 2026-03-04`.
    """
    cylinders, reasons = cylinders_of(book, [id_])
    if reasons:
        return refusal(reasons)
    if len(cylinders) != 1:
        return refusal([f"{id_} is a set: a cylinder is condemned, not a set"])
    cylinder = cylinders[0]
    known = standing(cylinder.condemned)
    if known:
        return _completed(cylinder, known[-1], marked, consent)
    reasons = line_reasons(why=why, by=by, marked=marked) + text_reasons(consent=consent)
    if by in book.settings.people:
        reasons.append(
            f"{by} is one of the ledger's people: an inspector rejects (`tankbook reject`), "
            "only a requalifier condemns"
        )
    reasons += _destroyed_unasked(marked, consent)
    if status_of(book, cylinder) is Status.SOLD:
        reasons.append(f"{cylinder.id} is sold")
    if reasons:
        return refusal(reasons)
    on = on if isinstance(on, PartialDate) else PartialDate.of(on)
    entry = Condemned(on=on, by=by, why=why, marked=marked, consent=consent or None)
    draft = Draft(cylinder).enter("condemned", entry).stand(book)
    notes = [*dangers(book, [draft], on.last)]
    if not consent:
        notes.append("it may be destroyed only with the owner's consent, recorded here")
    act = act_of("condemn", [draft], f"{by} condemned {cylinder.id}: {why}", notes)
    return sound(book, act, [draft], on.last, fact=True)


def _completed(cylinder: Cylinder, entry: Condemned, marked: str, consent: str) -> Act | Refusal:
    """What was still missing of a condemnation."""
    given = {"marked": marked, "consent": consent}
    news = {k: v for k, v in given.items() if v and getattr(entry, k) is None}
    reasons = [
        f"{cylinder.id}: {k} is already on record ({getattr(entry, k)})"
        for k, v in given.items()
        if v and k not in news
    ]
    reasons += line_reasons(**news)
    reasons += _destroyed_unasked(news.get("marked", ""), consent or entry.consent or "")
    if not news and not reasons:
        reasons.append(f"{cylinder.id} was condemned by {entry.by} on {entry.on}")
    if reasons:
        return refusal(reasons)
    draft = Draft(cylinder).amend("condemned", entry, **news)
    said = "; ".join(f"{k}: {v}" for k, v in news.items())
    return act_of("condemn", [draft], f"Condemned {cylinder.id}: {said}")


def _destroyed_unasked(marked: str, consent: str) -> Iterator[str]:
    if _DESTROYED.search(marked) and not consent:
        yield (
            f"--marked {quoted(marked)} destroys it: that takes the owner's consent; give "
            "--consent, for a cylinder of your own as well"
        )
