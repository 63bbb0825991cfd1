"""Whether a flow was heard as a cylinder was bled, as an entry says by its key or in its words.

That nothing flowed out is no proof that it is empty, however it is written down: by
`bled: no-flow`, as the ground of a hold, or at the step of a checklist that looks whether it is
empty.
"""

from __future__ import annotations

from collections.abc import Iterable

from tankbook.records.entries import Entry, Held, Inspected, Rejected, StepFinding
from tankbook.records.words import Bled, StepResult
from tankbook.rules.wording import says_no_flow, says_nothing_heard

EMPTY = "empty"
"""The step of a checklist that looks whether a cylinder is empty before its valve comes off."""

_ADVERSE = frozenset({StepResult.HOLD, StepResult.REJECT})


def bled_of(entry: Entry) -> Bled | None:
    """How an entry says that a cylinder was bled; None where it says nothing of it."""
    said: Bled | None = getattr(entry, "bled", None)
    if said is not None:
        return said
    if isinstance(entry, Inspected):
        words = filter(None, (entry.note,))
        return Bled.NO_FLOW if none_heard(entry.findings, words) else None
    texts = entry.said if isinstance(entry, Held) else (entry.note,)
    texts = (entry.why, *texts) if isinstance(entry, Rejected) else texts
    return Bled.NO_FLOW if any(says_no_flow(text) for text in texts if text) else None


def none_heard(findings: Iterable[StepFinding], notes: Iterable[str] = ()) -> bool:
    """Whether what an inspection found, or its notes, say that no flow was heard. That nothing
    hisses is what the step looks for: of one that passed it says nothing."""
    told = [each for each in findings if each.note]
    bad = (each for each in told if each.step == EMPTY and each.result in _ADVERSE)
    at_it = any(says_nothing_heard(each.note or "") for each in bad)
    return at_it or any(says_no_flow(text) for text in (*(f.note or "" for f in told), *notes))


def is_left_full(entry: Inspected) -> bool:
    """Whether an inspection says of a cylinder that it was not empty yet."""
    return any(map(is_not_empty, entry.findings))


def is_not_empty(found: StepFinding) -> bool:
    """Whether a finding is that it was not empty yet."""
    return found.step == EMPTY and found.result in _ADVERSE
