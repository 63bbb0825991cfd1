"""Where a ledger's files are read from: a folder on disk, or a tree of git objects."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tankbook.ledger.errors import LedgerError, from_os


class Files(Protocol):
    """The files of a ledger at one moment. Paths are relative to its root, with `/`."""

    @property
    def name(self) -> str:
        """What the ledger is called where its settings do not say."""

    def names(self, folder: str) -> list[str]:
        """The names of the files in a folder, sorted; none where there is no such folder."""

    def exists(self, path: str) -> bool:
        """Whether there is such a file."""

    def read(self, path: str) -> bytes:
        """The bytes of a file.

        Raises:
            LedgerError: it cannot be read.
        """


@dataclass(frozen=True, slots=True)
class OnDisk:
    """The files in a folder."""

    root: Path

    @property
    def name(self) -> str:
        return self.root.name

    def names(self, folder: str) -> list[str]:
        where = self.root / folder if folder else self.root
        if not where.is_dir():
            return []
        return sorted(each.name for each in where.iterdir() if not each.is_dir())

    def exists(self, path: str) -> bool:
        return (self.root / path).is_file()

    def read(self, path: str) -> bytes:
        try:
            if not stat.S_ISREG((self.root / path).stat().st_mode):
                raise LedgerError(path, "it is no ordinary file", "put the record itself here")
            return (self.root / path).read_bytes()
        except OSError as error:
            raise from_os(path, error) from error
