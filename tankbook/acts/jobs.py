"""Customers' work on a cylinder: taken in, moved on, done, collected."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence, Set
from decimal import Decimal
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import (
    Draft,
    act_of,
    added_note,
    cylinders_of,
    happened_reasons,
    named,
    owner_told,
    reference_reasons,
    refusal,
    signer_reasons,
    text_reasons,
    told_reasons,
)
from tankbook.acts.leaving import (
    LEFT,
    NOTHING_SHOWN,
    Showing,
    asked_of_gas,
    seen_now,
    shown_reasons,
)
from tankbook.acts.options import Began, Ids, Told
from tankbook.acts.rent import fact_note
from tankbook.acts.soundness import out_of_hours
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Job, JobStep, standing
from tankbook.records.naming import named_among
from tankbook.records.words import (
    InspectionResult,
    JobState,
    LogAct,
    Method,
    Status,
    TestResult,
    Work,
)
from tankbook.rules.counter import notes_of
from tankbook.rules.fill_history import lines_about, not_here
from tankbook.rules.gas_unknown import filled_without_job
from tankbook.rules.leaving import against_leaving, told_leaving
from tankbook.rules.status import is_full_inspection, state_of, worked_out
from tankbook.rules.tested import PRESSURE_TESTS
from tankbook.rules.wording import says_nothing
from tankbook.rules.workshop import open_jobs
from tankbook.units import Money, PartialDate, time_of_day

_AWAY = frozenset({Status.AT_TEST, Status.AT_REPAIR, Status.AT_SUPPLIER, Status.LOST})
_GONE = frozenset(status for status in Status if status.gone)
_FINISHED = frozenset({JobState.READY, JobState.COLLECTED})
"""States that a job is in by its days, and never by a word."""


class News(Struct, frozen=True):
    """What is said of a job when it is taken in or moved on; None or empty says nothing."""

    work: tuple[Work, ...] = ()
    reference: str = ""
    promised: dt.date | None = None
    price: Money | None = None
    state: JobState | None = None
    told: str = ""
    note: str = ""


def open_job(
    book: Book,
    ids: Iterable[str],
    news: News,
    *,
    by: str,
    on: dt.date,
    at: dt.time | None = None,
) -> Act | Refusal:
    """Take work in, at a time of the day where that is known. Without a price the settings' prices
    of the work are added up."""
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + _said(book, news)
    if not news.work:
        reasons.append(f"what is wanted is not said: --work {','.join(Work)}")
    if news.state in _FINISHED:
        reasons.append("work that is taken in is not finished yet")
    if news.promised and news.promised < on:
        reasons.append(f"--promised {news.promised} is before {on}")
    for each in cylinders:
        if (gone := not_here(book, each)) in _GONE:
            reasons.append(f"{each.id} is {gone}: no work is taken in on it")
        for job in open_jobs(each):
            if set(job.work) & set(news.work):
                reasons.append(f"{each.id}: that work is in hand already, since {job.on}")
        if not (news.reference or each.owner):
            reasons.append(f"{each.id}: whose it is is not said: --reference")
    price, whence = (news.price, "") if news.price else _listed_price(book, news.work)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts = [
        Draft(c).enter("jobs", _job(news, news.reference or c.owner, price, by, on, at))
        for c in cylinders
    ]
    promised = f", promised {news.promised}" if news.promised else ""
    cost = f", {price}" if price else ""
    sentence = f"Taken in {named(c.id for c in cylinders)}: {_listed(news.work)}{promised}{cost}"
    notes = [n for c in cylinders for n in notes_of(book, c)]
    notes += [whence] if whence else []
    notes += [] if news.promised else ["no date was promised"]
    return act_of("jobs", drafts, sentence, notes)


def _job(
    news: News,
    reference: str | None,
    price: Money | None,
    by: str,
    on: dt.date,
    at: dt.time | None,
) -> Job:
    return Job(
        on=PartialDate.of(on),
        at=at,
        by=by,
        work=news.work,
        reference=reference,
        promised=news.promised,
        price=price,
        state=news.state or JobState.OPEN,
        note=news.note or None,
    )


def _listed_price(book: Book, work: Sequence[Work]) -> tuple[Money | None, str]:
    """The sum of the settings' prices, where they give one for each piece of work."""
    prices = [book.settings.prices.get(w.value) for w in work]
    known = [p for p in prices if p is not None]
    if not known or len(known) < len(prices) or len({p.currency for p in known}) > 1:
        return None, "no price is recorded: give --price"
    total = Money(sum((p.amount for p in known), Decimal(0)), known[0].currency)
    return total, f"{total} as the settings have it"


def _said(book: Book, news: News) -> list[str]:
    """What is wrong with the texts given."""
    reasons = reference_reasons("reference", news.reference) if news.reference else []
    return reasons + told_reasons(book, news.told) + text_reasons(note=news.note)


def _listed(work: Sequence[Work]) -> str:
    return ", ".join(work)


def update(
    book: Book,
    ids: Iterable[str],
    news: News,
    *,
    by: str,
    on: dt.date,
    began: PartialDate | None = None,
) -> Act | Refusal:
    """Move work on: awaiting parts, at the requalifier, another date or price, the owner told.

    How far it is becomes a step with its day; what else it said before stays in the job's note.
    """
    if news.state in _FINISHED:
        verb = "done" if news.state is JobState.READY else "collect"
        return refusal([f"finished work is recorded with `tankbook jobs {verb}`"])
    jobs, reasons = _jobs(book, ids, began, on)
    reasons += signer_reasons(book, by, on) + _said(book, news)
    if news == News():
        reasons.append("nothing new is said of it")
    reasons += [r for c, job in jobs for r in _no_step(c, job, news)]
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts = [_moved(Draft(c), job, news, by, on) for c, job in jobs]
    sentence = f"Job on {named(c.id for c, _ in jobs)}: {_news(news)}"
    return act_of("jobs", drafts, sentence)


def _moved(draft: Draft[Cylinder], job: Job, news: News, by: str, on: dt.date) -> Draft[Cylinder]:
    place = next(i for i, each in enumerate(draft.record.jobs) if each is job)
    draft = draft.amend("jobs", job, **_changes(job, news, by, on))
    if news.state is None:
        return draft
    return draft.enter(("jobs", place, "steps"), JobStep(on=on, state=news.state))


def _no_step(cylinder: Cylinder, job: Job, news: News) -> Iterator[str]:
    """Why a job cannot go to a state: it is there, or its work is done."""
    state = state_of(job)
    if news.state is not None and state is JobState.READY:
        since = f"its work is ready since {job.ready or job.on}"
        which = named_among(cylinder.jobs, job)
        strike = f"`tankbook correct {cylinder.id} jobs {which} --why WHY --set ready=`"
        yield f"{cylinder.id}: {since}; if it is not, {strike}"
    elif news.state is state:
        yield f"{cylinder.id}: its work is {state.value.replace('-', ' ')} already"


def _changes(job: Job, news: News, by: str, on: dt.date) -> dict[str, Any]:
    given = {
        "work": news.work or None,
        "reference": news.reference or None,
        "promised": news.promised,
        "price": news.price,
        "told": owner_told(news.told, by, on),
    }
    changes = {k: v for k, v in given.items() if v is not None}
    before = [
        f"{k} was {_in_words(getattr(job, k))} until {on}"
        for k in changes
        if getattr(job, k) not in (None, ())
    ]
    note = job.note
    for said in (*before, *([news.note] if news.note else [])):
        note = added_note(note, said)
    return {**changes, "note": note} if note != job.note else changes


def _in_words(value: Any) -> str:
    if isinstance(value, tuple):
        return " and ".join(value)
    return f"{value.how} on {value.on}" if hasattr(value, "how") else str(value)


def _news(news: News) -> str:
    said = [
        *([news.state.value.replace("-", " ")] if news.state else []),
        *([f"work {_listed(news.work)}"] if news.work else []),
        *([f"promised {news.promised}"] if news.promised else []),
        *([f"price {news.price}"] if news.price else []),
        *([f"for {news.reference}"] if news.reference else []),
        *([f"owner told, {news.told}"] if news.told else []),
        *([news.note] if news.note else []),
    ]
    return ", ".join(said)


def done(
    book: Book,
    ids: Ids,
    *,
    told_how: Told = "",
    began: Began = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Finish work: the cylinder awaits collection. What nothing on record shows is said."""
    jobs, reasons = _jobs(book, ids, began, on)
    reasons += signer_reasons(book, by, on) + told_reasons(book, told_how)
    for cylinder, job in jobs:
        if (gone := not_here(book, cylinder)) in _AWAY:
            what = "was found" if gone is Status.LOST else "is back"
            reasons.append(f"{cylinder.id} is {gone}: record that it {what} first")
        if state_of(job) is JobState.READY:
            reasons.append(f"{cylinder.id}: that work is ready since {job.ready or job.on}")
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts, notes = [], []
    for cylinder, job in jobs:
        values: dict[str, Any] = {"ready": on}
        values |= {"told": owner_told(told_how, by, on)} if told_how else {}
        drafts.append(Draft(cylinder).amend("jobs", job, **values).stand(book))
        notes += [f"{cylinder.id}: WARNING: {text}" for text in _not_borne_out(book, cylinder, job)]
        stays = against_leaving(book.as_known_on(on), cylinder.id, on)
        notes += [f"{cylinder.id}: WARNING: it does not leave as it is: {text}" for text in stays]
    if not told_how:
        notes.append("tell the owner, and record it: `tankbook jobs update ID --told HOW`")
    sentence = f"Ready for collection: {named(c.id for c, _ in jobs)}"
    sentence += f", owner told, {told_how}" if told_how else ""
    return act_of("jobs", drafts, sentence, notes)


def _not_borne_out(book: Book, cylinder: Cylinder, job: Job) -> Iterator[str]:
    """Work that is called done and that nothing on record since the job began shows."""
    for work in job.work:
        if not _shows(book, cylinder, work, job.on.first):
            yield f"no {work.value.replace('-', ' ')} is on record since {job.on}"


def _unfinished(book: Book, cylinder: Cylinder, job: Job) -> str:
    """How work stands that is not ready: what of it is on record as done, what is not, and how it
    is finished."""
    stands = state_of(job).value.replace("-", " ")
    done = [w for w in job.work if _shows(book, cylinder, w, job.on.first)]
    open_ = [w for w in job.work if w not in done]
    said = f"its work is {stands}"
    said += f"; done, as is on record: {_listed(done)}" if done else ""
    if not open_:
        ready = f"`tankbook jobs done {cylinder.id} --told HOW`"
        return f"{said}: say that it is ready ({ready}), or with --note why it goes as it is"
    return f"{said}; not on record: {_listed(open_)}; say with --note why it goes unfinished"


def _shows(book: Book, cylinder: Cylinder, work: Work, since: dt.date) -> bool:
    match work:
        case Work.HYDRO:
            return _tested(cylinder, PRESSURE_TESTS, since)
        case Work.EDDY_CURRENT:
            return _tested(cylinder, {Method.EDDY_CURRENT}, since)
        case Work.VISUAL:
            return any(
                i.on.last >= since
                and i.result is InspectionResult.PASS
                and is_full_inspection(book, i.checklist)
                for i in standing(cylinder.inspected)
            )
        case Work.VALVE_SERVICE:
            return any(s.on.last >= since for s in cylinder.valve_services)
        case Work.O2_CLEAN:
            return any(c.on.last >= since for c in standing(cylinder.cleaned))
    lines = lines_about(book, cylinder.id)
    return any(n.act is LogAct.FILL and n.at.date() >= since for n in lines)


def _tested(cylinder: Cylinder, methods: Set[Method], since: dt.date) -> bool:
    """Whether a cylinder passed one of some tests from a day on."""
    return any(
        r.on.last >= since and r.method in methods and r.result is TestResult.PASS
        for r in standing(cylinder.requalified)
    )


def collect(
    book: Book,
    ids: Iterable[str],
    *,
    note: str = "",
    happened: str = "",
    began: PartialDate | None = None,
    shown: Showing = NOTHING_SHOWN,
    reference: str = "",
    by: str,
    on: dt.date,
    at: dt.time | None = None,
) -> Act | Refusal:
    """Hand cylinders back to their owners; unfinished work takes a note.

    What was filled with no work taken in, as a walk-in's is, is kept as the fill that it was.

    Args:
        book: the records, all of them.
        ids: cylinders, or sets for theirs.
        note: why it goes unfinished, or anything worth knowing.
        happened: why it is recorded whatever keeps it here: it has left already.
        began: which job, by the day it was taken in.
        reference: whose they are, where that is not on record.
        shown: what the owner analysed and wrote of any gas but air, and was seen to be trained for.
        by: initials of who hands it out.
        on: the day.
        at: the time of day they leave; None where nobody knows it.
    """
    known = book.as_known_on(on)
    walk_ins = _walk_ins(known, ids, by) if began is None else {}
    rest = [i for each in ids for i in book.members(each) if i not in walk_ins]
    jobs, reasons = _jobs(book, rest, began, on)
    jobs += [(book.cylinders[i], job) for i, job in walk_ins.items()]
    reasons += signer_reasons(book, by, on) + text_reasons(note=note) + happened_reasons(happened)
    reasons += shown_reasons(shown)
    reasons += reference_reasons("reference", reference) if reference else []
    whose = {c.id: job.reference or c.owner or "" for c, job in jobs}
    reasons += [
        f"{i} is {each}'s: leave --reference out, or correct that first"
        for i, each in whose.items()
        if reference and each not in ("", reference)
    ]
    if at is not None and not (note or happened):
        reasons += _filled_after(book, [c.id for c, _ in jobs], on, at)
    owners = {i: each or reference for i, each in whose.items()}
    seen, unseen = (
        seen_now(book, [*owners.values()], shown, by=by, on=on, option="reference")
        if jobs
        else ((), [])
    )
    reasons += unseen
    of_gas = {
        i: asked_of_gas(known, i, shown.taken(i, who), on, by=by) for i, who in owners.items()
    }
    against = {i: (*against_leaving(known, i, on), *each.against) for i, each in of_gas.items()}
    if not happened:
        reasons += [f"{i}: {text}; {LEFT}" for i, texts in against.items() for text in texts]
    for cylinder, job in jobs:
        if (gone := not_here(book, cylinder)) in _AWAY:
            reasons.append(f"{cylinder.id} is {gone}: it is not here")
        elif state_of(job) is not JobState.READY and says_nothing(note):
            reasons.append(f"{cylinder.id}: {_unfinished(book, cylinder, job)}")
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts, notes = [], []
    for cylinder, job in jobs:
        values: dict[str, Any] = {"collected": on, "collected_by": by}
        values |= {"collected_at": at} if at is not None else {}
        if cylinder.id in shown.analysed:
            values["analysed"] = shown.analysed[cylinder.id]
        if reference and not whose[cylinder.id]:
            values["reference"] = reference
        kept = job.note
        fact = fact_note(happened, against[cylinder.id]) if happened else ""
        for more in filter(None, (note, fact)):
            kept = added_note(kept, more)
        values |= {"note": kept} if kept != job.note else {}
        if cylinder.id in walk_ins:
            draft = Draft(cylinder).enter("jobs", replace(job, **values)).stand(book)
            notes.append(f"{cylinder.id}: filled on {job.on} with no work taken in: kept as that")
        else:
            draft = Draft(cylinder).amend("jobs", job, **values).stand(book)
        told = [*against[cylinder.id], *of_gas[cylinder.id].warnings]
        told += told_leaving(known, cylinder.id, on)
        notes += [f"{cylinder.id}: WARNING: {text}" for text in dict.fromkeys(told)]
        drafts.append(draft)
        status = worked_out(book, draft.record)
        if status in {Status.HELD, Status.REJECTED, Status.CONDEMNED}:
            notes.append(f"{cylinder.id} leaves {status}: see that its owner knows, in writing")
    said = "Logged as a fact: collected" if happened else "Collected"
    sentence = f"{said}: {named(c.id for c, _ in jobs)}"
    loud = dict.fromkeys(text for each in of_gas.values() for text in each.loud)
    act = act_of("jobs", drafts, "; ".join([sentence, *loud]), notes, seen)
    odd = out_of_hours(book, act, drafts)
    return refusal(odd) if odd else act


def _filled_after(book: Book, ids: Iterable[str], on: dt.date, left: dt.time) -> Iterator[str]:
    """What is asked of cylinders that were filled later on the day on which they are said to have
    left: one of the hours is wrong, or they came back."""
    for id_ in ids:
        hours = [
            time_of_day(n.at)
            for n in lines_about(book, id_)
            if n.act is LogAct.FILL and n.at.date() == on
        ]
        after = [hour for hour in hours if hour.replace(second=0, microsecond=0) > left]
        if after:
            yield (
                f"{id_}: it was filled at {max(after):%H:%M} that day, after {left:%H:%M}: give the"
                " hour at which it left (--at), or set that of the fill right; if it came back and"
                " was filled again, say so with --note"
            )


def _walk_ins(book: Book, ids: Iterable[str], by: str) -> dict[str, Job]:
    """The work of customers' cylinders that were filled with none taken in, by their ids."""
    found = {}
    for id_ in (i for each in ids for i in book.members(each) if i in book.cylinders):
        card = book.cylinders[id_]
        if (day := filled_without_job(book, card)) is not None:
            found[id_] = Job(
                on=PartialDate.of(day), by=by, work=(Work.FILL,), reference=card.owner, ready=day
            )
    return found


def _jobs(
    book: Book, ids: Iterable[str], began: PartialDate | None, on: dt.date
) -> tuple[list[tuple[Cylinder, Job]], list[str]]:
    """The one open job of each cylinder, or why it cannot be told."""
    cylinders, reasons = cylinders_of(book, ids)
    found = []
    for cylinder in cylinders:
        jobs = [j for j in open_jobs(cylinder) if began is None or j.on == began]
        if len(jobs) == 1 and jobs[0].on.first <= on:
            found.append((cylinder, jobs[0]))
        elif len(jobs) == 1:
            reasons.append(f"{cylinder.id}: its job was taken in on {jobs[0].on}, after {on}")
        elif jobs:
            listed = "; ".join(f"{j.on} ({_listed(j.work)})" for j in jobs)
            reasons.append(
                f"{cylinder.id} has {len(jobs)} jobs in hand: {listed}; name one with --job DATE"
            )
        else:
            reasons.append(f"{cylinder.id} has no work in hand" + (f" of {began}" if began else ""))
    return found, reasons
