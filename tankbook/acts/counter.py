"""What the acts at the counter share: references, rentals of cylinders and of sets, owner told."""

from __future__ import annotations

import datetime as dt
from typing import Any

from msgspec import Struct

from tankbook.acts.common import Draft, as_text, line_reasons, trail_of, written
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import AddEntry, Edit, SetValue
from tankbook.records.entries import Rented, Told
from tankbook.records.fields import attributes_of
from tankbook.units import quoted


def reference_reasons(option: str, text: str) -> list[str]:
    """Why a text is no reference: it is missing, or reads like a person's name."""
    reasons = line_reasons(**{option: text})
    if not reasons and " " in text.strip() and not any(c.isdigit() for c in text):
        reasons.append(
            f"--{option} {quoted(text)} reads like a name: give a reference, and write the name "
            "beside it in contacts.csv"
        )
    return reasons


def told(how: str, by: str, on: dt.date) -> Told | None:
    """That the owner was told, and how; None where nobody has told them."""
    return Told(on=on, by=by, how=how) if how else None


class Moved(Struct, frozen=True):
    """The edits of a rental that began or ended, and the cylinder as it leaves it; a set has
    none of its own."""

    edits: tuple[Edit, ...]
    drafts: tuple[Draft, ...] = ()

    @classmethod
    def of(cls, draft: Draft) -> Moved:
        """Of a cylinder."""
        return cls(draft.edits, (draft,))


def lend(book: Book, subject: Cylinder | Doubles, entry: Rented) -> Moved:
    """A cylinder or a set sent out."""
    if isinstance(subject, Cylinder):
        return Moved.of(Draft(subject).enter("rented", entry).stand(book))
    return Moved((AddEntry(subject.source.path, ("rented",), written(entry)),))


def take_back(
    book: Book, subject: Cylinder | Doubles, rental: Rented, today: dt.date, **found: Any
) -> Moved:
    """A rental ended, with what was found; a cylinder then stands as it should."""
    values = {k: v for k, v in found.items() if v not in (None, "")}
    if isinstance(subject, Cylinder):
        return Moved.of(Draft(subject).amend("rented", rental, **values).stand(book))
    place = next(i for i, each in enumerate(subject.rented) if each is rental)
    trail = trail_of(subject, "rented", place)
    keys = {v: k for k, v in attributes_of(Rented).items()}
    file = subject.source.path
    return Moved(tuple(SetValue(file, (*trail, keys[k]), as_text(v)) for k, v in values.items()))


def added_note(note: str | None, more: str) -> str:
    """A note with something added, so that what was noted before stays readable."""
    return f"{note}; {more}" if note else more
