"""The ledger's history as a command finds it: its repository, and the latest commit that counts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

from msgspec import Struct

from tankbook.cli import open_ledger, option_values
from tankbook.cli.open_ledger import read_from_commit, root_asked, told
from tankbook.cli.options import Common
from tankbook.ledger.files import Files, OnDisk
from tankbook.ledger.gitfiles import AtCommit, Objects, commit_asked, head, objects_of
from tankbook.ledger.gitread import Repository
from tankbook.ledger.gitwalk import files_then, unsaved
from tankbook.ledger.whole import pending_in, whole
from tankbook.records.commits import Commit, CommitStep
from tankbook.records.node import Finding

T = TypeVar("T")


class Archive(Struct, frozen=True):
    """The history up to `tip`: the commit asked with --as-of, else the latest.

    `now` is the moment asked about. Without --as-of what is not committed counts, too.
    """

    repository: Repository
    objects: Objects
    tip: Commit
    files: AtCommit
    now: dt.datetime
    past: bool
    disk: Files

    @property
    def latest(self) -> Files:
        """The ledger's files: as the tip has them with --as-of, else in the folder, watched."""
        return self.files if self.past else self.disk

    @property
    def notes(self) -> tuple[str, ...]:
        """The commit read from, where one was asked for."""
        return read_from_commit(self.tip if self.past else None)

    @property
    def unsaved_commit(self) -> Commit:
        """Stands for what is not committed."""
        return Commit("", (self.tip.id,), "", self.now, self.now)

    def once_had(self, id_: str) -> bool:
        """Whether there ever was such a cylinder or set."""
        paths = (f"{folder}/{id_}.yaml" for folder in ("cylinders", "sets"))
        line = ("rev-list", "-1", self.tip.id, "--", *paths)
        return bool(self.repository.ask(*line).strip())

    def unsaved(self) -> list[CommitStep]:
        """What is not committed, as one step or none."""
        if self.past:
            return []
        return [unsaved(self.files, self.disk, self.now)]

    @property
    def pending(self) -> tuple[Finding, ...]:
        """That an act is not finished, where the folder is read and one is not."""
        return () if self.past else pending_in(self.disk)


def archive_of(asked: Common, work: Callable[[Archive], T]) -> T:
    """What `work` makes of the history asked about; called again where files moved while it did.

    Raises `LedgerError` where there is no git, no repository or no such commit, and `RequestError`.
    """

    def opened(files: Files) -> T:
        with archive_asked(asked, files) as archive:
            return work(archive)

    root = root_asked(asked)
    return opened(OnDisk(root)) if asked.as_of else whole(root, opened, told)


@contextmanager
def archive_asked(asked: Common, disk: Files) -> Iterator[Archive]:
    """The history asked about; `disk` is the ledger in its folder. Raises as `archive_of`."""
    root = root_asked(asked)
    repository = Repository.of(root)
    with objects_of(root) as objects:
        if asked.as_of:
            tip, day = commit_asked(repository, objects, asked.as_of, open_ledger.clock())
            day = option_values.day("--on", asked.on) if asked.on else day
            now = dt.datetime.combine(day, dt.time(23, 59, 59)).astimezone()
        else:
            tip, now = head(repository, objects), open_ledger.moment_asked(asked)
        files = files_then(repository, objects, tip)
        yield Archive(repository, objects, tip, files, now, bool(asked.as_of), disk)
