"""The files of a ledger as they lie in its folder, all read once and held against git's objects."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.files import ENDINGS
from tankbook.ledger.gitfiles import name_of_object
from tankbook.ledger.text import LOG_LIMIT, RECORD_LIMIT
from tankbook.records.absence import SETTINGS_PATH

STATION_PATH = "station.yaml"
_FLAGS = os.O_RDONLY | sum(getattr(os, n, 0) for n in ("O_NONBLOCK", "O_CLOEXEC", "O_BINARY"))


@dataclass(slots=True)
class Folder:
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
        for path in (SETTINGS_PATH, STATION_PATH, *folder._listed(root)):
            try:
                folder.data[path] = ordinary(f"{root}/{path}", path, limit_of(path))
            except FileNotFoundError:
                if os.path.lexists(root / path):
                    text = "it is a link that leads nowhere"
                    folder.broken[path] = LedgerError(path, text, "put the record itself here")
            except OSError as error:
                folder.broken[path] = from_os(path, error)
            except LedgerError as error:
                folder.broken[path] = error
        return folder

    def _listed(self, root: Path) -> Iterator[str]:
        for folder in ENDINGS:
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


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:  # a link that leads to itself
        return False


def ordinary(file: str | Path, path: str, limit: int) -> bytes:
    """The bytes of an ordinary file. Opening waits for nobody, whatever the file is.

    Raises:
        OSError: the system refuses.
        LedgerError: it is no ordinary file, or larger than `limit` bytes.
    """
    opened = os.open(file, _FLAGS)
    try:
        found = os.fstat(opened)
        if not stat.S_ISREG(found.st_mode):
            raise LedgerError(path, "it is no ordinary file", "put the record itself here")
        data = os.read(opened, min(found.st_size, limit) + 1)
        while found.st_size < len(data) <= limit and (more := os.read(opened, limit)):
            data += more  # it grew in the meantime, or its size is not told
    finally:
        os.close(opened)
    if len(data) > limit:
        text = f"the file has more than the {limit:,} bytes allowed"
        raise LedgerError(path, text, "is this the right file?")
    return data


def limit_of(path: str) -> int:
    """The largest file that is read, in bytes."""
    return LOG_LIMIT if path.endswith(".csv") else RECORD_LIMIT


def is_record(folder: str, name: str) -> bool:
    """Whether a file in a folder is read as a record or a log."""
    return name.endswith(ENDINGS[folder]) and not name.startswith(".")


def lf(data: bytes) -> bytes:
    """The same with LF line ends."""
    return data.replace(b"\r\n", b"\n")
