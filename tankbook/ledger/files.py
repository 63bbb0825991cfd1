"""Where a ledger's files are read from: a folder on disk, or a tree of git objects.

`OnDisk` reads them one by one as they are asked for; `Folder` reads all once, to be held against
git's objects."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.names import ENDINGS, SETTINGS_FILE, SINGLE, is_record
from tankbook.ledger.ordinary import folder_in_way, of_ledger
from tankbook.records.node import MappingNode, Scalar
from tankbook.units.patterns import pattern


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


class OnDisk:
    """The files in a folder. No link among them is followed."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._in_way: dict[str, LedgerError | None] = {}

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
    from tankbook.ledger.quick import plain

    seen = [int(found[:9]) for found in _FORMAT.findall(data)]
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return seen
    ordinary = plain(text)
    if ordinary is not None:
        said = ordinary.get("format")
        return [int(said[:9])] if isinstance(said, str) and said[:9].isdecimal() else []

    from tankbook.ledger.events import parse  # plain text is read without it

    node, wrong = parse(text, SETTINGS_FILE)
    if not isinstance(node, MappingNode):
        return seen
    values = (value for key, value in node.pairs if key.text == "format")
    texts = (value.text.strip()[:9] for value in values if isinstance(value, Scalar))
    return [int(each) for each in texts if each.isdecimal()] + (seen if wrong else [])


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


def name_of_object(kind: str, data: bytes, length: int = 40) -> str:
    """The name git gives an object, as long as the names in its repository are."""
    import hashlib  # what is read without git does without

    digest = hashlib.sha1 if length == 40 else hashlib.sha256
    return digest(b"%b %d\0%b" % (kind.encode(), len(data), data)).hexdigest()


def lf(data: bytes) -> bytes:
    """The same with LF line ends."""
    return data.replace(b"\r\n", b"\n")
