"""Acts that are recorded, and of which nobody knows whether whoever gave them was told.

The journal of an act that is done becomes its receipt, and the receipt goes when the answer is out.
One that stays belongs to a process that died before it answered: when the act is given again, that
is no second act.
"""

from __future__ import annotations

import os
import secrets
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.lock import plain_read
from tankbook.ledger.names import JOURNAL, PRIVATE_FOLDER
from tankbook.ledger.note import Note
from tankbook.ledger.steps import JournalAct, decoded
from tankbook.units.patterns import pattern

KEPT = 24 * 3600
"""Seconds for which an act that was not acknowledged is known again (own bound)."""

_NAME = pattern(r"done-[0-9a-f]{16}")


class Receipt(Struct, frozen=True):
    """An act that is recorded and was not acknowledged."""

    name: str
    note: Note
    written: JournalAct


def put_away(root: Path, note: Note) -> str:
    """Make the journal of an act that is done its receipt; the receipt's name.

    Raises:
        LedgerError: the disk refuses.
    """
    name = f"done-{secrets.token_hex(8)}"
    journal = root / JOURNAL
    with refusing(JOURNAL):
        atomic.put_in_place(journal, journal.with_name(name))
        atomic.sync_folder(journal.parent)
    return name


def acknowledge(root: Path, name: str) -> None:
    """Say that whoever gave an act was told of it. Raises nothing."""
    if _NAME.fullmatch(name):
        with suppress(OSError):
            (root / PRIVATE_FOLDER / name).unlink(missing_ok=True)


def sweep(root: Path) -> None:
    """Remove receipts that are too old to be asked for. Raises nothing."""
    oldest = time.time() - KEPT
    with suppress(OSError):
        for each in _files(root):
            if each.stat(follow_symlinks=False).st_mtime < oldest:
                acknowledge(root, each.name)


def standing_receipts(root: Path) -> Iterator[Receipt]:
    """The receipts that stand; one that cannot be read tells nothing."""
    try:
        names = sorted(each.name for each in _files(root))
    except OSError:
        return
    for name in names:
        path = f"{PRIVATE_FOLDER}/{name}"
        with suppress(LedgerError):
            data = plain_read(root / path, path)
            written = decoded(data, path) if data is not None else None
            if written and written.note:
                yield Receipt(name, written.note, written)


def _files(root: Path) -> Iterator[os.DirEntry[str]]:
    with os.scandir(root / PRIVATE_FOLDER) as entries:
        yield from (each for each in entries if _NAME.fullmatch(each.name))
