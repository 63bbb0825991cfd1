"""Whether `validate` would find the records as sound after an act as before it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.node import Severity
from tankbook.rules.acts.common import Draft
from tankbook.rules.checks import of_card

_ASKED_FIRST = frozenset({"not-certified", "inspection-not-passed", "test-failed"})
"""What the acts ask themselves, with the way out that goes with the command."""


def new_faults(book: Book, drafts: Iterable[Draft], today: dt.date) -> list[str]:
    """What would be wrong with the cylinders of an act after it that was not before."""
    after = [d.cylinder for d in drafts]
    before = [book.cylinders[c.id] for c in after if c.id in book.cylinders]
    known = set(_faults(book, before, today))
    return [f for f in _faults(book, after, today) if f not in known]


def _faults(book: Book, cylinders: list[Cylinder], today: dt.date) -> list[str]:
    then = replace(book, cylinders={**book.cylinders, **{c.id: c for c in cylinders}})
    return [
        f"{f.text}; {f.mend}" if f.mend else f.text
        for card in cylinders
        for f in of_card(then, card, today)
        if f.severity is Severity.FAULT and f.code not in _ASKED_FIRST
    ]
