"""Reading a ledger of a test whole, as `validate` does: also one whose settings are at fault."""

from __future__ import annotations

from pathlib import Path

from tankbook.ledger.load import read_from
from tankbook.ledger.whole import whole
from tankbook.records.book import Book


def read_ledger(root: Path) -> Book:
    """What a ledger's files say, faults among it.

    Raises:
        LedgerError: there is no settings file at all.
    """
    return whole(root, read_from)
