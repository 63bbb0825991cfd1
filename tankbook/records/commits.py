"""What the archive says happened: commits, and what each did to the ledger's files."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.node import Node


class Commit(Struct, frozen=True):
    """One commit. `at` is the committer's date, `authored` the author's, each in its own offset.

    Both dates and the name are what the committing computer said; git checks neither. `signed` says
    that a signature is there, not that it is good. Without an `id` it stands for what lies in the
    ledger's folder and is not committed.
    """

    id: str
    parents: tuple[str, ...]
    author: str
    at: dt.datetime
    authored: dt.datetime
    subject: str = ""
    signed: bool = False

    @property
    def short(self) -> str:
        """Enough of its name to ask git for it."""
        return self.id[:10]


class FileStep(Struct, frozen=True):
    """A record file before and after a commit.

    `existed` and `exists` say whether there was and is such a file; its node is None where it was
    not there or could not be read.
    """

    path: str
    before: Node | None
    after: Node | None
    existed: bool
    exists: bool


class LineSeen(Struct, frozen=True):
    """A line of the fill log as a commit added or removed it. `cells` is empty if it is no row."""

    path: str
    number: int
    cells: tuple[str, ...]
    text: str


class CommitStep(Struct, frozen=True):
    """What a commit did to the ledger, compared with one of its parents (counted from 0)."""

    commit: Commit
    parent: int = 0
    files: tuple[FileStep, ...] = ()
    removed: tuple[LineSeen, ...] = ()
    added: tuple[LineSeen, ...] = ()
    others: int = 0
    """How many other files of the ledger it touched."""
    moved: tuple[str, str] | None = None
    """The folders the ledger lay in before and after, where it was moved."""
