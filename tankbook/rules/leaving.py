"""What keeps a cylinder here that its owner comes for, whatever else is wrong with it."""

from __future__ import annotations

import datetime as dt

from tankbook.records.book import Book
from tankbook.rules.gate import may_fill

KEEPS_HERE = frozenset({"recorded-stolen"})
"""The reasons for which not even its owner is handed it; each rests on a rule row."""


def against_leaving(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    """Why a cylinder is not handed out, be it to its owner, as the rule rows in force have it.

    Args:
        book: the records, as known today.
        id_: a cylinder of the book.
        today: the day it would leave.
    """
    refused = may_fill(book, id_, today, station=False).refusals
    found = (r for r in refused if r.code in KEEPS_HERE)
    return tuple(f"{r.text}; {r.mend}" if r.mend else r.text for r in found)
