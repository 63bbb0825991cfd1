"""Whether an act that is given was recorded already, by a process that could not say so.

Such an act is planned once more on the ledger as it was before, and compared with the one that its
receipt tells of. What was recorded since of the same files makes a second act of it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import OnDisk
from tankbook.ledger.journal import read
from tankbook.ledger.load import load_from
from tankbook.ledger.note import Note
from tankbook.ledger.receipts import Receipt, standing
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal

LOG_FOLDER = "fills/"


class Again(Struct, frozen=True):
    """An act that was given twice: as it is given now, and as it was recorded.

    `untouched` says that its files hold the act and nothing after it.
    """

    act: Act
    receipt: Receipt
    untouched: bool


def repeated(
    root: Path, plan: Callable[[Book], Act | Refusal], by: str, now: dt.datetime
) -> Again | None:
    """The act that a plan would give once more; None where it gives another.

    Args:
        root: the ledger's folder, locked.
        plan: makes the act from a book.
        by: initials of who gives it.
        now: since when the ledger is locked.
    """
    for receipt in standing(root):
        before = _before(root, receipt)
        if before is None:
            continue
        files, untouched = before
        try:
            act = plan(load_from(files))
        except Exception:  # what is wrong with a ledger that is no more is no answer
            continue
        if isinstance(act, Act) and Note.of(act, by, now).is_again(receipt.note):
            return Again(act, receipt, untouched)
    return None


class _Before(OnDisk, frozen=True):
    """A folder with some of its files as they were; None stands for no such file."""

    was: Mapping[str, bytes | None] = field(default_factory=dict)

    def names(self, folder: str) -> list[str]:
        gone = {path for path, data in self.was.items() if data is None}
        start = f"{folder}/" if folder else ""
        return [name for name in OnDisk.names(self, folder) if f"{start}{name}" not in gone]

    def exists(self, path: str) -> bool:
        if path in self.was:
            return self.was[path] is not None
        return OnDisk.exists(self, path)

    def read(self, path: str) -> bytes:
        data = self.was.get(path)
        return OnDisk.read(self, path) if data is None else data


def _before(root: Path, receipt: Receipt) -> tuple[_Before, bool] | None:
    """The ledger as it was before an act, and whether nothing was added to its logs since.

    None where more was recorded of what the act is about: then giving it again is a second act.
    """
    was: dict[str, bytes | None] = {}
    untouched = True
    for step in receipt.written.steps:
        try:
            current = read(root, step.path)
        except LedgerError:
            return None
        if current is None:
            return None
        content, since = step.content or b"", b""
        if step.length is not None:
            since = current[step.length + len(content) :]
            was[step.path] = current[: step.length] + since.removeprefix(b"\n")
        elif step.old is None and step.path.startswith(LOG_FOLDER):  # the first line of a year
            since = current[len(content) :]
            was[step.path] = content[: content.index(b"\n") + 1] + since if since else None
        else:
            was[step.path] = step.before
        start = step.length or 0
        if current[start:] != content + since or _speaks_of(receipt.note.subjects, since):
            return None
        untouched = untouched and not since
    return _Before(root, was=was), untouched


def _speaks_of(ids: Sequence[str], lines: bytes) -> bool:
    """Whether lines of the log are about any of some cylinders, or strike out a line of theirs."""
    text = lines.decode(errors="replace")
    return any(re.search(rf"[, ]{re.escape(each)},", text) for each in ids)
