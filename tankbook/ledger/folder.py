"""The files of a ledger as they lie in its folder, all read once and held against git's objects."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.files import ENDINGS
from tankbook.ledger.gitfiles import name_of_object
from tankbook.ledger.ordinary import folder_in_way, of_ledger
from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.audited import AUDITED_PATH

STATION_PATH = "station.yaml"
SINGLE = (SETTINGS_PATH, STATION_PATH, AUDITED_PATH)
"""The files beside the folders that do not go without a word."""


class Folder(Struct):
    """The files of a ledger's folder.

    Attributes:
        data: the bytes of each, by its path.
        broken: what is there and cannot be read, folders too, with what stands in the way.
    """

    data: dict[str, bytes] = field(default_factory=dict)
    broken: dict[str, LedgerError] = field(default_factory=dict)
    _names: dict[tuple[str, int], str] = field(default_factory=dict)

    @classmethod
    def of(cls, root: Path) -> Folder:
        """The files in a folder. Raises nothing."""
        folder = cls()
        for path in (*SINGLE, *folder._listed(root)):
            try:
                folder.data[path] = of_ledger(root, path)
            except FileNotFoundError:
                continue
            except LedgerError as error:
                folder.broken[path] = error
        return folder

    def _listed(self, root: Path) -> Iterator[str]:
        for folder in ENDINGS:
            in_way = folder_in_way(root, folder)
            if in_way is not None:
                self.broken[folder] = in_way
                continue
            try:
                with os.scandir(root / folder) as entries:
                    names = sorted(each.name for each in entries if not _is_folder(each))
            except (FileNotFoundError, NotADirectoryError):
                continue
            except OSError as error:
                self.broken[folder] = from_os(folder, error)
                continue
            yield from (f"{folder}/{name}" for name in names if is_record(folder, name))

    def stands(self, path: str) -> bool:
        """Whether there is such a file, readable or not."""
        folder = path.partition("/")[0]
        return path in self.data or path in self.broken or folder in self.broken

    def in_way(self, path: str) -> tuple[str, LedgerError] | None:
        """What keeps a file that is there from being read, and the file or folder it is about."""
        for at in (path.partition("/")[0], path):
            if at in self.broken:
                return at, self.broken[at]
        return None

    def holds(self, path: str, name: str) -> bool:
        """Whether a file is an object of git, line ends aside."""
        data = self.data.get(path)
        if data is None:
            return False
        if (path, len(name)) not in self._names:
            self._names[path, len(name)] = name_of_object("blob", data, len(name))
        if self._names[path, len(name)] == name:
            return True
        return b"\r\n" in data and name_of_object("blob", lf(data), len(name)) == name

    def bytes_of(self, path: str, name: str) -> bytes | None:
        """The content of an object of git, where a file is that object; else None."""
        if not self.holds(path, name):
            return None
        return self.data[path] if self._names[path, len(name)] == name else lf(self.data[path])


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:  # a link that leads to itself
        return False


def is_record(folder: str, name: str) -> bool:
    """Whether a file in a folder is read as a record or a log."""
    return name.endswith(ENDINGS[folder]) and not name.startswith(".")


def counts(path: str) -> bool:
    """Whether a file of the ledger, by its path in it, does not go without a word."""
    folder, _, name = path.rpartition("/")
    return path in SINGLE or (folder in ENDINGS and is_record(folder, name))


def lf(data: bytes) -> bytes:
    """The same with LF line ends."""
    return data.replace(b"\r\n", b"\n")
