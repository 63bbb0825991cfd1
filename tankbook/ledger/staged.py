"""The files of a ledger as git's index has them: what the next commit would hold.

A hook of `git commit` is run with an index of its own, which git names in GIT_INDEX_FILE; a commit
of some paths alone has one that nothing else names. No lock is taken and nothing is written, so a
hook may ask while whoever commits holds the ledger's lock.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Folder
from tankbook.ledger.gitfiles import Objects, objects_of
from tankbook.ledger.gitread import ask_text
from tankbook.ledger.modelines import SCHEMAS, WRITE_SCHEMAS
from tankbook.ledger.names import would_be_missed
from tankbook.units.patterns import pattern

INDEX_FILE = "GIT_INDEX_FILE"
_LINK, _MODULE = "120000", "160000"
_NOTHING = {
    "e69de29bb2d1d6434b8b29ae775ad8c2e48c5391",
    "473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813",
}
"""The object of an empty file, by SHA-1 and by SHA-256."""
_INTENT = 1 << 29
"""The flag of an entry that was announced; gitformat-index(5), "intent-to-add", as git shows it."""
_ENTRY = pattern(r"([^\0]+)\0(?:  (?!size)[^\n]*\n)*  size: [0-9]+\tflags: ([0-9a-f]+)\n?")


class Staged(Struct):
    """The files of a ledger in git's index; `entries` has the mode and the object of each path."""

    objects: Objects
    name: str
    entries: dict[str, tuple[str, str]]

    def names(self, folder: str) -> list[str]:
        """The names of the files in a folder, sorted."""
        return sorted(n for n in self._below(folder) if "/" not in n)

    def folders(self, folder: str) -> list[str]:
        """The names of the folders in a folder, sorted."""
        return sorted({n.partition("/")[0] for n in self._below(folder) if "/" in n})

    def in_way(self, folder: str) -> LedgerError | None:
        """Why the files of a folder cannot be read; None where they can, or there is none."""
        if not folder or folder not in self.entries:
            return None
        mode = self.entries[folder][0]
        what = {_LINK: "a link", _MODULE: "a repository of its own"}.get(mode, "a file")
        return LedgerError(folder, f"{what} is staged, where a folder is wanted", "unstage it")

    def exists(self, path: str) -> bool:
        """Whether there is such a file."""
        return path in self.entries or any(self._below(path))

    def read(self, path: str) -> bytes:
        """The bytes of a file. Raises `LedgerError`."""
        return self.objects.file_at(path, *self.entries.get(path, ("", "")))

    def folder(self) -> Folder:
        """All of them read, to be held against what git has had."""
        found = Folder()
        for path in self.entries:
            if not would_be_missed(path):
                continue
            try:
                found.data[path] = self.read(path)
            except LedgerError as error:
                found.broken[path] = error
        return found

    def _below(self, folder: str) -> Iterator[str]:
        above = f"{folder}/" if folder else ""
        return (p.removeprefix(above) for p in self.entries if p.startswith(above))


@contextmanager
def staged(root: Path) -> Iterator[Staged]:
    """The files that are staged of a ledger.

    Raises:
        LedgerError: git has no index that can be read, or a merge in it is not settled.
    """
    index = _index(root)
    listed = ask_text(root, "ls-files", "--stage", "-z", "--", ".", variables=index)
    entries: dict[str, tuple[str, str]] = {}
    for line in filter(None, listed.split("\0")):
        head, _, path = line.partition("\t")
        mode, name, stage = head.split(" ")
        if stage != "0":
            wrong = "a merge of it is not settled"
            mend = "keep what is true of both sides, then `git add` it"
            if path.startswith(f"{SCHEMAS}/"):  # they are made, so there is nothing to choose
                mend = f"{WRITE_SCHEMAS} writes them anew, then `git add {SCHEMAS}`"
            raise LedgerError(path, wrong, mend)
        entries[path] = (mode, name)
    if any(name in _NOTHING for _, name in entries.values()):
        for path in _announced(root, index):
            entries.pop(path, None)
    with objects_of(root) as objects:
        yield Staged(objects, root.resolve().name, entries)


def _announced(root: Path, index: Mapping[str, str]) -> list[str]:
    """What was only announced (`git add -N`): the index has a name for it, and no commit will."""
    told = ask_text(root, "ls-files", "--debug", "-z", "--", ".", variables=index)
    return [m[1] for m in _ENTRY.finditer(told) if int(m[2], 16) & _INTENT]


def _index(root: Path) -> Mapping[str, str]:
    """The index that git names to a hook, its path from where the hook was begun; none where it is
    that of another repository, as where a hook asks of a submodule."""
    named = os.environ.get(INDEX_FILE, "")
    if not named:
        return {}
    index = Path(named).absolute()
    if (index.parent / "HEAD").is_file():  # it lies in a repository's own folder
        own = Path(ask_text(root, "rev-parse", "--absolute-git-dir"))
        if not (own.is_dir() and own.samefile(index.parent)):
            return {}
    return {INDEX_FILE: str(index)}
