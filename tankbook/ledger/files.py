"""Where a ledger's files are read from: a folder on disk, or a tree of git objects."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Protocol

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.finding import SETTINGS_FILE
from tankbook.ledger.ordinary import folder_in_way, of_ledger
from tankbook.records.node import Mapping, Scalar
from tankbook.units.patterns import pattern

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

    def in_way(self, folder: str) -> LedgerError | None:
        """Why the files of a folder cannot be read; None where they can, or there is none."""

    def exists(self, path: str) -> bool:
        """Whether there is anything of that name, readable or not."""

    def read(self, path: str) -> bytes:
        """The bytes of a file.

        Raises:
            LedgerError: it cannot be read.
        """


class OnDisk(Struct, frozen=True):
    """The files in a folder. No link among them is followed."""

    root: Path
    _in_way: dict[str, LedgerError | None] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.root.name

    def names(self, folder: str) -> list[str]:
        return self._listed(folder, folders=False)

    def folders(self, folder: str) -> list[str]:
        return self._listed(folder, folders=True)

    def _listed(self, folder: str, *, folders: bool) -> list[str]:
        where = self.root / folder if folder else self.root
        if not where.is_dir() or self.in_way(folder):
            return []
        with os.scandir(where) as entries:
            return sorted(each.name for each in entries if _is_folder(each) is folders)

    def in_way(self, folder: str) -> LedgerError | None:
        if folder and folder not in self._in_way:
            self._in_way[folder] = folder_in_way(self.root, folder)
        return self._in_way.get(folder)

    def exists(self, path: str) -> bool:
        return os.path.lexists(self.root / path)

    def read(self, path: str) -> bytes:
        in_way = self.in_way(path.rpartition("/")[0])
        if in_way is not None:
            raise in_way
        try:
            return of_ledger(self.root, path)
        except FileNotFoundError as error:
            raise from_os(path, error) from error


def _is_folder(entry: os.DirEntry[str]) -> bool:
    """Whether a name is of a folder. A link that leads nowhere, or to itself, is told when read."""
    try:
        return entry.is_dir()
    except OSError:
        return False


FORMAT = 2
"""The newest format of a ledger's files that this program knows. 1 is a ledger that names none."""

_FORMAT = pattern(
    rb"^(?:\xef\xbb\xbf)?[ \t]*[\"']?format[\"']?[ \t]*:[ \t]*(?:\r?\n[ \t]+)?[\"']?([0-9]+)",
    re.MULTILINE,
)
"""How the format is looked for in a file that cannot be parsed."""


def _formats_of(data: bytes) -> list[int]:
    """What settings say of their format: what their keys say, else what looks like it."""
    from tankbook.ledger.events import parse  # what only asks for names does without

    try:
        node, wrong = parse(data.decode("utf-8"), SETTINGS_FILE)
    except UnicodeDecodeError:
        node, wrong = None, []
    seen = [int(found[:9]) for found in _FORMAT.findall(data)]
    if not isinstance(node, Mapping):
        return seen
    values = (value for key, value in node.pairs if key.text == "format")
    texts = (value.text.strip()[:9] for value in values if isinstance(value, Scalar))
    return [int(text) for text in texts if text.isdecimal()] + (seen if wrong else [])


def refuse_newer(files: Files) -> None:
    """A ledger of a newer format is not read at all: what this program does not know, it cannot
    judge.

    Raises:
        LedgerError: its format is newer than this program.
    """
    try:
        newest = max(_formats_of(files.read(SETTINGS_FILE)), default=1)
    except LedgerError:
        return  # told when it is read
    if newest > FORMAT:
        text = f"this ledger has format {newest}, and this program knows up to {FORMAT}"
        raise LedgerError(SETTINGS_FILE, text, "install a newer tankbook")
