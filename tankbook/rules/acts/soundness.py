"""Whether `validate` would find the records as sound after an act as before it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.node import Severity
from tankbook.rules.acts.common import Draft
from tankbook.rules.checks import CHECKS, inspectors_certified
from tankbook.rules.log_checks import LOG_CHECKS

_ASKED_FIRST = (*LOG_CHECKS, inspectors_certified)
"""What the acts ask themselves, with the way out that goes with the command."""

_OF_CYLINDERS = tuple(c for c in CHECKS if c not in _ASKED_FIRST)


def new_faults(book: Book, drafts: Iterable[Draft], today: dt.date) -> list[str]:
    """What would be wrong with the cylinders of an act after it that was not before."""
    after = [d.cylinder for d in drafts]
    before = [book.cylinders[c.id] for c in after if c.id in book.cylinders]
    known = set(_faults(book, before, today))
    return [f for f in _faults(book, after, today) if f not in known]


def _faults(book: Book, cylinders: list[Cylinder], today: dt.date) -> list[str]:
    alone = replace(book, cylinders={c.id: c for c in cylinders}, sets={}, log=(), station=None)
    return [
        f"{f.text}; {f.mend}" if f.mend else f.text
        for check in _OF_CYLINDERS
        for f in check(alone, today)
        if f.severity is Severity.FAULT
    ]
