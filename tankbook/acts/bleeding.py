"""How a cylinder is bled before its valve comes off, and what follows where no flow was heard."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Annotated

from tankbook.acts.common import Draft, named
from tankbook.acts.hold import after_fills, open_holds, since
from tankbook.acts.options import Opt
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Held
from tankbook.records.words import Bled
from tankbook.units import PartialDate

BLED = Opt(
    "|".join(Bled),
    "How it was bled before its valve comes off: flow was heard until it stopped; that, and its "
    "valve was left open; or no flow was heard: then it is held, and its valve stays on.",
)
Bleeding = Annotated[Bled | None, BLED]

TAKEN_FOR_FULL = (
    "no flow was heard when it was bled: take it for full; its valve or dip tube may be blocked"
)
"""Why it is held: that nothing flows out is no proof that nothing is in it (common practice, no
source)."""

BLEED_IT = "bleed it slowly, hear the flow until it stops, leave the valve open"
"""What to do before a valve comes off (common practice, no source)."""


def ask(ids: Iterable[str]) -> str:
    """What to do where nobody said how cylinders were bled, and how to record it."""
    who = named(ids)
    return f"{who}: before a valve comes off, {BLEED_IT}; then say so (--bled heard)"


def held_for_full(
    book: Book,
    draft: Draft[Cylinder],
    *,
    by: str,
    on: dt.date,
    at: dt.time | None = None,
    note: str = "",
) -> Draft[Cylinder]:
    """With the hold of a cylinder that let no flow be heard, after the fills of that day where its
    time is not known; once is enough."""
    card = draft.record
    if any(h.why == TAKEN_FOR_FULL for h in open_holds(card)):
        return draft
    entry = Held(
        on=PartialDate.of(on),
        by=by,
        why=TAKEN_FOR_FULL,
        at=since(book, card.id, on, at or after_fills(book, card.id, on)),
        bled=Bled.NO_FLOW,
        note=note or None,
    )
    return draft.enter("held", entry).stand(book)
