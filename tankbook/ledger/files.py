"""Where a ledger's files are read from: a folder on disk, or a tree of git objects."""

from __future__ import annotations

import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.finding import SETTINGS_FILE

ENDINGS = {
    "cylinders": ".yaml",
    "sets": ".yaml",
    "rules": ".yaml",
    "checklists": ".yaml",
    "fills": ".csv",
}
"""The folders whose files do not go without a word, with how their names end."""


class Files(Protocol):
    """The files of a ledger at one moment. Paths are relative to its root, with `/`."""

    @property
    def name(self) -> str:
        """What the ledger is called where its settings do not say."""

    def names(self, folder: str) -> list[str]:
        """The names of the files in a folder, sorted; none where there is no such folder."""

    def folders(self, folder: str) -> list[str]:
        """The names of the folders in a folder, sorted."""

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
        return self._listed(folder, folders=False)

    def folders(self, folder: str) -> list[str]:
        return self._listed(folder, folders=True)

    def _listed(self, folder: str, *, folders: bool) -> list[str]:
        where = self.root / folder if folder else self.root
        if not where.is_dir():
            return []
        with os.scandir(where) as entries:
            return sorted(each.name for each in entries if _is_folder(each) is folders)

    def exists(self, path: str) -> bool:
        return (self.root / path).is_file()

    def read(self, path: str) -> bytes:
        where = f"{self.root}/{path}"
        try:
            # asked before it is opened: opening a pipe would wait for whoever writes into it
            if not stat.S_ISREG(os.stat(where).st_mode):  # noqa: PTH116 - thousands of files
                raise LedgerError(path, "it is no ordinary file", "put the record itself here")
            with open(where, "rb", buffering=0) as file:  # noqa: PTH123
                return file.read()
        except OSError as error:
            raise from_os(path, error) from error


def _is_folder(entry: os.DirEntry[str]) -> bool:
    """Whether a name is of a folder. A link that leads nowhere, or to itself, is told when read."""
    try:
        return entry.is_dir()
    except OSError:
        return False


FORMAT = 2
"""The newest format of a ledger's files that this program knows. 1 is a ledger that names none."""

_FORMAT = re.compile(
    rb"(?:^|^\xef\xbb\xbf|[{,][ \t]*)[\"']?format[\"']?[ \t]*:"
    rb"(?:[ \t]|\r?\n[ \t]+)*[\"']?([0-9]{1,9})",
    re.MULTILINE,
)


def refuse_newer(files: Files) -> None:
    """A ledger of a newer format is not read at all: what this program does not know, it cannot
    judge.

    Raises:
        LedgerError: its format is newer than this program.
    """
    try:
        found = _FORMAT.search(files.read(SETTINGS_FILE))
    except LedgerError:
        return  # told when it is read
    if found and int(found[1]) > FORMAT:
        text = f"this ledger has format {int(found[1])}, and this program knows up to {FORMAT}"
        raise LedgerError(SETTINGS_FILE, text, "install a newer tankbook")
