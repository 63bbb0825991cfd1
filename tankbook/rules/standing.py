"""Where a cylinder stands, worked out from what happened to it; what a card says is held to it."""

from __future__ import annotations

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Job, Sent, standing
from tankbook.records.life import gravest, is_open, opens
from tankbook.records.rulerow import INSPECTION, Gate, Obligation
from tankbook.records.words import JobState, Method, Status, TestResult
from tankbook.rules.inforce import rules_of
from tankbook.rules.signing import SEEN_STICKER, looks
from tankbook.rules.tested import is_makers

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


def status_of(book: Book, cylinder: Cylinder) -> Status:
    """Where a cylinder stands: what its open entries say, else whether it was looked at."""
    known = _known(book)
    kept = known.get(id(cylinder))
    if kept is None or kept[0] is not cylinder:
        kept = known[id(cylinder)] = cylinder, worked_out(book, cylinder)
    return kept[1]


@once_per_book
def _known(book: Book) -> dict[int, tuple[Cylinder, Status]]:
    """What was worked out already, beside the cylinder it was asked of."""
    return {}


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


def is_full(book: Book, checklist: str) -> bool:
    """Whether a checklist counts as a full inspection. A sticker seen at the counter does."""
    known = book.checklists.get(checklist)
    return checklist == SEEN_STICKER or (known is not None and known.full)


def is_inside(book: Book, checklist: str) -> bool:
    """Whether a checklist includes a look inside, by one of the ledger's own people."""
    known = book.checklists.get(checklist)
    return known is not None and (known.full or known.inside)


def _ever_looked_at(book: Book, cylinder: Cylinder) -> bool:
    """A full inspection was passed, or an approved body tested it and stamped that."""
    visual = {Method.VISUAL.value} | _stamped_alone(book)
    stamped = (
        r.method.value in visual and r.result is TestResult.PASS and not is_makers(r)
        for r in standing(cylinder.requalified)
    )
    return any(is_full(book, i.checklist) for i in looks(book, cylinder)) or any(stamped)


@once_per_book
def _stamped_alone(book: Book) -> frozenset[str]:
    """The tests that count as a look where only a test house's look does."""
    rows = rules_of(book).rows[Obligation.VISUAL]
    alone = [r for r in rows if r.gate is Gate.REFUSE and INSPECTION not in r.met_by]
    return frozenset(method for row in alone for method in row.met_by)


def _unseen_since(book: Book, cylinder: Cylinder) -> bool:
    """It came back from a requalifier or a repairer, or was lost and found, and nobody has looked
    at it since."""
    back = (s for s in standing(cylinder.sent) if s.back)
    if any(s.refitted is None or not _inspected_since(book, cylinder, s) for s in back):
        return True
    found = [entry.found for entry in standing(cylinder.lost) if entry.found]
    return any(
        not any(is_inside(book, i.checklist) and i.on.first >= day for i in looks(book, cylinder))
        for day in found
    )


def _inspected_since(book: Book, cylinder: Cylinder, sent: Sent) -> bool:
    assert sent.back is not None
    since = (i for i in looks(book, cylinder) if i.on.last >= sent.back)
    return any(is_inside(book, i.checklist) for i in since)
