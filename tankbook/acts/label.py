"""The labels that were printed, each on the card of what it is for: which one was out when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from tankbook.acts.common import Draft, act_of, named, refusal, signer_reasons, subject_of
from tankbook.acts.soundness import sound
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Labelled, standing


def label(
    book: Book, printed: Mapping[str, Labelled], what: str, *, by: str, on: dt.date
) -> Act | Refusal:
    """Record that labels were printed. Who printed them is told where it is known.

    Args:
        book: the records.
        printed: by cylinder or set of the book, what its label says.
        what: what they are called.
        by: initials of who printed them, or an empty text.
        on: the day.
    """
    reasons = signer_reasons(book, by, on) if by else []
    if reasons:
        return refusal(reasons)
    drafts: list[Draft[Cylinder | Doubles]] = [
        Draft(subject_of(book, id_)).enter("labelled", entry) for id_, entry in printed.items()
    ]
    sentence = f"Printed {what} of {named(printed)}{f', by {by}' if by else ''}"
    again = [id_ for id_, entry in printed.items() if reprints(subject_of(book, id_), entry)]
    notes = [f"printed again, saying the same as before: {named(again)}"] if again else []
    return sound(book, act_of("label", drafts, sentence, notes), drafts, on, fact=True)


def reprints(subject: Cylinder | Doubles, entry: Labelled) -> bool:
    """Whether the last label of its kind said the same."""
    kept = [each for each in standing(subject.labelled) if each.kind is entry.kind]
    return bool(kept) and kept[-1].says == entry.says
