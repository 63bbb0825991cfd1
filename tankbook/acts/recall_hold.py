"""Putting every cylinder of a recall on hold with one act."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.acts.common import Draft, edits_of, line_reasons, named, refusal, signer_reasons
from tankbook.acts.hold import after_fills, open_holds, since
from tankbook.acts.soundness import sound
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Held
from tankbook.records.words import Status
from tankbook.rules.recall import Recall
from tankbook.rules.status import status_of
from tankbook.units import PartialDate

_NEVER_HELD = frozenset({Status.SOLD, Status.CONDEMNED, Status.LOST})
"""Where a hold says nothing: it is not the ledger's any more, or never holds gas again."""


def hold_all(
    book: Book, recall: Recall, *, why: str, by: str, on: dt.date, at: dt.time | None = None
) -> Act | Refusal:
    """Put every cylinder of a recall on hold, out ones and those away too.

    One that is held for the same reason already is left as it is, so that the act may be run again
    after more has come to light. `at` is the time of the day; where it is not known, the hold came
    after the fills of that day, which the recall knows of.
    """
    reasons = signer_reasons(book, by, on) + line_reasons(why=why)
    if not recall.suspects:
        reasons.append("the recall touches no cylinder")
    if reasons:
        return refusal(reasons)
    drafts = []
    for suspect in recall.suspects:
        cylinder = book.cylinders.get(suspect.id)
        if cylinder is None or status_of(book, cylinder) in _NEVER_HELD:
            continue
        if not any(h.why == why for h in open_holds(cylinder)):
            minute = since(book, cylinder.id, on, at or after_fills(book, cylinder.id, on))
            entry = Held(on=PartialDate.of(on), by=by, why=why, at=minute)
            drafts.append(Draft(cylinder).enter("held", entry).stand(book))
    if not drafts:
        return refusal(["every cylinder of the recall is held for that already"])
    ids = tuple(d.cylinder.id for d in drafts)
    sentence = f"Held {named(ids)}: {why}"
    act = Act("recall", ids, sentence, edits_of(drafts), tuple(_notes(book, recall, ids)))
    return sound(book, act, drafts, on, fact=True)


def _notes(book: Book, recall: Recall, held: tuple[str, ...]) -> Iterator[str]:
    for suspect in recall.suspects:
        cylinder = book.cylinders.get(suspect.id)
        if cylinder is None:
            yield f"{suspect.id} could not be held: its file cannot be read"
        elif suspect.id not in held and status_of(book, cylinder) in _NEVER_HELD:
            state = status_of(book, cylinder)
            yield f"{suspect.id} is {state} and was not held: ring {suspect.ring}"
    rung = [s for s in recall.suspects if s.ring]
    if rung:
        yield f"{len(rung)} are not here: ring {', '.join(dict.fromkeys(s.ring for s in rung))}"
