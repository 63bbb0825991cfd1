"""Saying that something was taken out of the records on purpose.

What vanishes from a ledger without having been struck out is told in every answer it would have
changed, until somebody says why. A card says so of itself, the settings of everything else.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.acts.common import Draft, line_reasons, refusal, uncertified
from tankbook.acts.striking import Wrong
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Removed
from tankbook.records.edits import Act, Refusal
from tankbook.records.kinds import DATE
from tankbook.rules.status import ENTRY_LISTS
from tankbook.units import PartialDate, quoted

REMOVED = "removed"
"""The word by which `correct` is told of it."""

LEDGER = "ledger"
"""What stands for the ledger as a whole, whose settings say what was taken out of it."""


def taken_out(book: Book, id_: str, wrong: Wrong, *, by: str, on: dt.date) -> Act | Refusal:
    """Say why something is gone, under the name by which its absence is told.

    Args:
        book: the records.
        id_: the cylinder whose card it stood in, or `ledger` for anything else.
        wrong: its name (`held 2026-02-09`, `rules/shop.yaml`) in `when`, and why it was taken out.
        by: initials of who took it out, who is certified where that is kept.
        on: the day.
    """
    name = " ".join(wrong.when.split())
    card = book.cylinders.get(id_)
    reasons = uncertified(book, by, on) + line_reasons(what=wrong.when.strip())
    if wrong.changes:
        reasons.append("nothing is entered in the place of what was taken out: leave --set out")
    if card is None and id_ != LEDGER:
        reasons.append(
            f"{id_} has no card that can be read: say it of the ledger, "
            f"`tankbook correct {LEDGER} {REMOVED} {quoted(name)}`"
        )
    if card is not None:
        reasons += _stands(card, name)
    told = card.removed if card is not None else book.settings.removed
    if any(" ".join(r.what.split()).casefold() == name.casefold() for r in told):
        reasons.append(f"that {quoted(name)} was taken out is on record already: say no more")
    if reasons:
        return refusal(reasons)
    owner = card if card is not None else book.settings
    entry = Removed(on=on, by=by, what=name, why=wrong.why)
    subjects = (card.id,) if card is not None else ()
    whose = f"{card.id}: {name}" if card is not None else name
    edits = Draft(owner).enter(REMOVED, entry).edits
    return Act("correct", subjects, f"Taken out on purpose: {whose}: {wrong.why}", edits)


def _stands(card: Cylinder, name: str) -> Iterator[str]:
    """That an entry by this name is there: it is struck out then, and stays readable."""
    what, _, day = name.partition(" ")
    try:
        on: PartialDate = DATE.parse(day)
    except ValueError:
        return
    entries = getattr(card, what, ()) if what in ENTRY_LISTS else ()
    if any(e.on == on for e in entries):
        yield (
            f"{card.id} has an entry in `{what}` of {on}: strike it out, with "
            f"`tankbook correct {card.id} {what} {on} --why WHY`"
        )
