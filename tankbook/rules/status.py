"""Where a cylinder stands, worked out from what happened to it; what a card says is held to it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    DoneElsewhere,
    Entry,
    Held,
    Inspected,
    Job,
    Rejected,
    Requalified,
    Sent,
    standing,
)
from tankbook.records.kinds import Adverse
from tankbook.records.life import gravest, is_open, life_of, opens
from tankbook.records.rulerow import FIRST_TEST, INSPECTION, STICKER, Gate, Obligation
from tankbook.records.words import JobState, Method, SentFor, Status, TestResult
from tankbook.rules.clearing import kinds_said
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.left_out import left_out
from tankbook.rules.signing import (
    SEEN_STICKER,
    are_called_alike,
    bench_of,
    counts_as_passed,
    looks,
)
from tankbook.rules.tested import is_makers
from tankbook.rules.wording import says_not_made, unsettled
from tankbook.units import PartialDate, time_of_day

ENTRY_LISTS = (
    "requalified",
    "inspected",
    "held",
    "sent",
    "rented",
    "handed_over",
    "rejected",
    "condemned",
    "cleaned",
    "valve_work",
    "labelled",
    "lost",
    "jobs",
    "refused",
)
"""The lists of dated entries of a cylinder."""

_OPENING = ("condemned", "handed_over", "rejected", "lost", "sent", "held", "rented")


def status_from_entries(cylinder: Cylinder) -> Status | None:
    """The gravest state that open entries put a cylinder in, or None where none is open."""
    return gravest(open_states(cylinder))


def open_states(cylinder: Cylinder) -> set[Status]:
    """Every state that open entries put a cylinder in."""
    found: set[Status] = set()
    for name in _OPENING:
        entries: tuple[Entry, ...] = getattr(cylinder, name)
        found |= {state for e in entries if is_open(e) and (state := opens(e))}
    return found


def away_for_work(cylinder: Cylinder) -> Status | None:
    """Where a cylinder was sent to be tested or mended and still is, or None where it is not:
    whatever was found of it there, it is there until it is back."""
    return gravest(open_states(cylinder) & {Status.AT_TEST, Status.AT_REPAIR})


KEEPING = (Status.CONDEMNED, Status.REJECTED, Status.LOST, Status.HELD)
"""The states in which something must be answered before a cylinder is filled, the gravest first."""


@once_per_book
def status_of(book: Book, cylinder: Cylinder) -> Status:
    """Where a cylinder stands: what its open entries say, else whether it was looked at."""
    return worked_out(book, cylinder)


def worked_out(book: Book, cylinder: Cylinder) -> Status:
    """As `status_of`, of a cylinder as an act leaves it."""
    strong = status_from_entries(cylinder)
    if strong:
        return strong
    if _all_ready(cylinder):
        return Status.AWAITING_COLLECTION
    if not _ever_looked_at(book, cylinder) or _unseen_since(book, cylinder):
        return Status.AWAITING_INSPECTION
    return Status.IN_SERVICE


def kept_at(entry: Entry, at: dt.datetime) -> bool:
    """Whether an entry kept its cylinder from use at a time.

    Going out, coming back and being filled are done on one day every day. A hold or worse counts
    from the time of day it says, or from that day's beginning where it says none.
    """
    state, life, day = opens(entry), life_of(type(entry)), at.date()
    end = getattr(entry, life.ended_by, None) if life.ended_by else None
    began = entry.on.first
    if state is None or (end is not None and day >= end):
        return False
    if state.away or (state.gone and state is not Status.CONDEMNED):
        return began < day and entry.on.last < day
    said = entry.at if isinstance(entry, Held | Rejected) else None
    if day == began and said is not None:
        return time_of_day(at) > said
    return began <= day


def not_refitted(sent: Sent, day: dt.date) -> bool:
    """Whether it was home from a test house on a day, and its valve was not in yet."""
    refitted = sent.refitted
    home = sent.back is not None and day >= sent.back
    return home and (sent.is_bare or (refitted is not None and day < refitted))


def is_off_at(card: Cylinder, at: dt.datetime, *, held: bool) -> bool:
    """Whether a card says that it was off the manifold of its set at a time: it was away;
    or it was held, where that counts: it may have hung where it hung."""
    entries = (*(card.held if held else ()), *card.rented, *card.sent, *card.lost)
    home = (s for s in standing(card.sent) if not_refitted(s, at.date()))
    return any(kept_at(entry, at) for entry in standing(entries)) or any(home)


def _all_ready(cylinder: Cylinder) -> bool:
    """Work was asked for, and all of it that is not collected is done."""
    states = {state_of(job) for job in standing(cylinder.jobs)} - {JobState.COLLECTED}
    return states == {JobState.READY}


def state_of(job: Job) -> JobState:
    """How far a job is; one that was collected is done, whatever else was written."""
    if job.collected is not None:
        return JobState.COLLECTED
    if job.ready is not None:
        return JobState.READY
    steps = sorted(job.steps, key=lambda step: step.on)
    return steps[-1].state if steps else job.state


def is_full_inspection(book: Book, checklist: str) -> bool:
    """Whether a checklist counts as a full inspection. A sticker seen at the counter does."""
    known = book.checklists.get(checklist)
    return checklist == SEEN_STICKER or (known is not None and known.full)


@once_per_book
def is_inside(book: Book, checklist: str) -> bool:
    """Whether a checklist includes a look inside, by one of the ledger's own people."""
    known = book.checklists.get(checklist)
    return known is not None and (known.full or known.inside)


_COMING_BACK = frozenset({Adverse.RETURNED, Adverse.DAMAGE})
"""What a look says that it answers where it came after a return of its day or month."""


def looked_inside_since(book: Book, cylinder: Cylinder, day: dt.date, *, sure: bool) -> bool:
    """Whether it was looked inside after something of a day.

    A look of that very day counts where it is `sure` that it came after it: it was away until then,
    or held nothing that day; else where it says so itself, `clears: [returned 2026-06-20]`.
    """
    for look in looks(book, cylinder):
        says = any(c.what in _COMING_BACK and c.on.meets(PartialDate.of(day)) for c in look.clears)
        same_day = look.on.first == day and sure
        after = look.on.first > day or same_day or (says and look.on.last >= day)
        if after and is_inside(book, look.checklist):
            return True
    if any(look.on.first > day for look in looks_elsewhere(book, cylinder)):
        return True
    later = (stay for stay in standing(cylinder.sent) if stay.on.first > day)
    return any(looked_at_there(book, cylinder, stay) for stay in later)


def looks_elsewhere(book: Book, cylinder: Cylinder) -> list[DoneElsewhere]:
    """The looks at all of a cylinder, in and outside, that somebody elsewhere took and one of the
    ledger's people saw on sticker, stamp or paper; of what every rule row that asks for a visual
    lets meet it. Where a row asks for a look of one's own, or no row asks, there are none."""
    reported = [e for e in (*cylinder.inspected, *cylinder.requalified) if e.is_reported]
    if not reported:
        return []
    rules = rules_of(book)
    asking = rules.about(facts_of(cylinder, rules), Obligation.VISUAL)
    rows = [row for row in asking if row.gate is Gate.REFUSE]
    return [
        e
        for e in reported
        if rows and all(_meets(e) in row.met_by for row in rows) and _counts_elsewhere(book, e)
    ]


def _meets(entry: DoneElsewhere) -> str:
    return entry.method.value if isinstance(entry, Requalified) else STICKER


def _counts_elsewhere(book: Book, entry: DoneElsewhere) -> bool:
    bench = bench_of(book)
    if entry.void is not None or not bench.was_checked_elsewhere(entry):
        return False
    said = list(filter(None, (entry.note, getattr(entry, "finding", None))))
    if kinds_said(bench, *said) or any(
        says_not_made(text) or unsettled(text) or left_out(text) for text in said
    ):
        return False
    if isinstance(entry, Inspected):
        return entry.checklist == SEEN_STICKER and counts_as_passed(bench, entry)
    return isinstance(entry, Requalified) and entry.result is TestResult.PASS


def _ever_looked_at(book: Book, cylinder: Cylinder) -> bool:
    """A full inspection was passed, or an approved body tested it and stamped that; or it was never
    tested but by its maker, where that test stands for a look."""
    alone, tests = _stamped_alone(book), list(standing(cylinder.requalified))
    visual = {Method.VISUAL.value} | alone
    as_made = FIRST_TEST in alone and len(tests) == 1
    stamped = (
        t.method.value in visual and t.result is TestResult.PASS and (as_made or not is_makers(t))
        for t in tests
    )
    return any(is_full_inspection(book, i.checklist) for i in looks(book, cylinder)) or any(stamped)


@once_per_book
def _stamped_alone(book: Book) -> frozenset[str]:
    """The tests that count as a look by themselves: under rules by which only a test house's look
    does, and those by which the maker's own test is the first."""
    rows = [r for r in rules_of(book).rows[Obligation.VISUAL] if r.gate is Gate.REFUSE]
    alone = [r for r in rows if INSPECTION not in r.met_by or FIRST_TEST in r.met_by]
    return frozenset(m for row in alone for m in row.met_by if m != INSPECTION)


def stands_for_a_look(book: Book, test: Requalified) -> bool:
    """Whether a test counts as a look by itself, by its rule rows; the maker's own always does."""
    return is_makers(test) or test.method.value in _stamped_alone(book)


def _unseen_since(book: Book, cylinder: Cylinder) -> bool:
    """It came back from a requalifier or a repairer, or was lost and found, and nobody has looked
    at it since."""
    if any(s.is_bare for s in standing(cylinder.sent)):
        return True
    return any(
        not looked_inside_since(book, cylinder, day, sure=sure)
        for day, sure in came_home(cylinder)
        if not seen_to_away(book, cylinder, day)
    )


def seen_to_away(book: Book, cylinder: Cylinder, back: dt.date) -> bool:
    """Whether it came back that day from where it was looked at: by a requalifier whose test of
    that stay is the look that counts, under rules by which only an approved body's does; or in and
    outside, as the ledger was shown."""
    stays = [s for s in standing(cylinder.sent) if s.back == back]
    turned_up = any(lost.found == back for lost in standing(cylinder.lost))
    return (
        bool(stays)
        and not turned_up
        and all(_stamped_on(book, cylinder, s) or looked_at_there(book, cylinder, s) for s in stays)
    )


def looked_at_there(book: Book, cylinder: Cylinder, stay: Sent) -> bool:
    """Whether whoever had it looked at all of it during a stay, as the ledger was shown.

    A day within it says so by itself. A month, or the day it went, does where they are whom it was
    sent to, it was seen after it had gone there, and no other stay of that time can be meant.
    """
    if stay.back is None or stay.for_ is SentFor.SUPPLIER:
        return False
    for look in looks_elsewhere(book, cylinder):
        on, seen = look.on, look.seen_on
        if not _is_within(on, stay.on, stay.back):
            continue
        if on.day is not None and on.first > stay.on.last:
            return True
        spans = [(s.on, s.back) for s in standing(cylinder.sent) if s.back is not None]
        meant = [1 for since, back in spans if _is_within(on, since, back)]
        there = are_called_alike(stay.to, look.by or "")
        later = seen is not None and (seen > stay.on.last or stay.on.last == stay.back)
        if there and later and len(meant) == 1:
            return True
    return False


def _stamped_on(book: Book, cylinder: Cylinder, stay: Sent) -> bool:
    if stay.for_ is not SentFor.REQUALIFICATION or stay.back is None:
        return False
    alone = _stamped_alone(book)
    days = [
        test.tested or test.on
        for test in standing(cylinder.requalified)
        if test.method.value in alone and test.result is TestResult.PASS
    ]
    within = {on for on in days if _is_within(on, stay.on, stay.back)}
    # a test of a later stay came after this one as well; a month names one stay: of two it answers
    # for one, however many tests it was of
    stays = [
        s
        for s in standing(cylinder.sent)
        if s.back is not None and any(_is_within(on, s.on, s.back) for on in within)
    ]
    again = [s for s in standing(cylinder.sent) if s.back is not None and s.on.first >= stay.back]
    later = any(
        on.day is not None and _is_within(on, s.on, s.back) for on in days for s in again if s.back
    )
    by_day = any(on.day is not None for on in within)
    return later or by_day or len(within) >= max(len(stays), 1)


def _is_within(on: PartialDate, since: PartialDate, until: dt.date) -> bool:
    """Whether a day lies within a stay; of a month, whether some of its days do."""
    if on.day is None:
        return since.first <= on.last and on.first <= until
    return since.last <= on.first and on.last <= until


def came_home(cylinder: Cylinder) -> Iterator[tuple[dt.date, bool]]:
    """The days on which it came back from where it was sent, or turned up, each with
    whether it was gone before that day, so that nobody can have looked at it there and then."""
    for sent in standing(cylinder.sent):
        if sent.back is not None:
            yield sent.back, sent.on.last < sent.back
    for lost in standing(cylinder.lost):
        if lost.found is not None:
            yield lost.found, lost.on.last < lost.found
