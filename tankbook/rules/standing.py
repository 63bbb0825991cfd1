"""Where a cylinder stands, from what happened to it."""

from __future__ import annotations

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.words import JobState, SentFor, Status

# states that some entry must account for; the others are a matter of bookkeeping
STRONG = frozenset(
    {
        Status.CONDEMNED,
        Status.SOLD,
        Status.REJECTED,
        Status.LOST,
        Status.AT_TEST,
        Status.AT_REPAIR,
        Status.HELD,
        Status.OUT,
    }
)


def status_from_entries(cylinder: Cylinder) -> Status | None:
    """The state that standing entries put a cylinder in, or None where none does.

    The gravest comes first: condemned, sold, rejected, lost, away, held, out.
    """
    if any(c.void is None for c in cylinder.condemned):
        return Status.CONDEMNED
    if any(h.void is None for h in cylinder.handed_over):
        return Status.SOLD
    if any(r.void is None and r.lifted is None for r in cylinder.rejected):
        return Status.REJECTED
    if any(entry.void is None and entry.found is None for entry in cylinder.lost):
        return Status.LOST
    away = [s for s in standing(cylinder.sent) if s.back is None]
    if away:
        return Status.AT_REPAIR if away[-1].for_ is SentFor.REPAIR else Status.AT_TEST
    if any(h.void is None and h.released is None for h in cylinder.held):
        return Status.HELD
    if any(r.void is None and r.back is None for r in cylinder.rented):
        return Status.OUT
    return None


def status_of(cylinder: Cylinder) -> Status:
    """Where a cylinder stands: what its entries say, else what is recorded, else what follows."""
    strong = status_from_entries(cylinder)
    if strong:
        return strong
    if cylinder.status:
        return cylinder.status
    if any(j.state is JobState.READY for j in standing(cylinder.jobs)):
        return Status.AWAITING_COLLECTION
    return Status.IN_SERVICE if standing(cylinder.inspected) else Status.AWAITING_INSPECTION
