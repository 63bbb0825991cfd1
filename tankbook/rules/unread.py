"""What a file that cannot be read keeps from being answered.

A station or a rule set left out for its faults must not look like one that has nothing to say.
"""

from __future__ import annotations

from tankbook.records.book import Book
from tankbook.records.node import Finding, Severity
from tankbook.records.rulerow import Gate
from tankbook.rules.answers import Reason

MEND = "mend the file; `tankbook validate` lists every fault"


def station_unread(book: Book) -> list[Reason]:
    """A refusal where the station's file is there and cannot be read."""
    fault = _first_fault(book, "station.") if book.station is None else None
    if fault is None:
        return []
    text = f"the station's file cannot be read: {fault}"
    return [Reason("station-unread", text, Gate.REFUSE, None, MEND)]


def rules_unread(book: Book) -> list[Reason]:
    """A refusal where rules of the ledger's own cannot be read: they may be the stricter ones."""
    fault = _first_fault(book, "rules/")
    if fault is None:
        return []
    text = f"a rule set of the ledger's own cannot be read: {fault}"
    return [Reason("rules-unread", text, Gate.REFUSE, None, MEND)]


def log_unread(book: Book) -> list[Reason]:
    """A refusal where lines of the fill log are left out: what it holds, and how clean it is, rests
    on them."""
    fault = _first_fault(book, "fills/")
    if fault is None:
        return []
    text = f"the fill log cannot be read in full, so what it holds may be old news: {fault}"
    return [Reason("log-unread", text, Gate.REFUSE, None, MEND)]


def sets_unread(book: Book) -> list[Reason]:
    """A warning where a set cannot be read: nobody can tell which cylinders are on its manifold."""
    fault = _first_fault(book, "sets/")
    if fault is None:
        return []
    text = f"a set cannot be read, so this may be one side of it: {fault}"
    return [Reason("set-unread", text, Gate.WARN, None, MEND)]


def _first_fault(book: Book, path: str) -> Finding | None:
    return next(
        (
            f
            for f in book.findings
            if f.severity is Severity.FAULT and f.where.path.casefold().startswith(path)
        ),
        None,
    )
