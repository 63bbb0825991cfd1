"""Where acts are kept in mind that no other copy has yet.

Within git's own folder, which no command about the working files clears: `git stash -a`, `git clean
-fdx` and the end of a linked working copy would else take an act and its memory together. That
folder is shared by all working copies and by all ledgers of a repository, so each entry says whose
it is. Where git's folder cannot be written it is the ledger's own.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

from msgspec import Struct

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.githeads import RepositoryPlace, places
from tankbook.ledger.gitread import Repository
from tankbook.ledger.gitwalk import lineage
from tankbook.ledger.lock import alone, private_folder
from tankbook.ledger.names import PRIVATE_FOLDER, SETTINGS_FILE
from tankbook.ledger.ordinary import ordinary

FOLDER = "tankbook"
"""Our own folder within git's."""
NAME = "recorded"
ASIDE = "recorded.damaged"
MOST = 1000
"""Entries of one ledger that are kept, the newest."""
_FORM = 1
_LARGEST = 16 << 20
_PATIENCE = 5.0
"""How long to wait for another working copy that writes, in seconds."""

MemoryEntry = dict[str, Any]


def damaged_in(root: Path) -> Path | None:
    """What is kept in mind of a ledger and cannot be read; None where all can."""
    found = Memory.of(root)
    return found.damaged() if found is not None else None


class Memory(Struct, frozen=True):
    """The memory of a ledger under git. `shared` is git's folder, None where there is none."""

    root: Path
    place: RepositoryPlace
    shared: Path | None

    @classmethod
    def of(cls, root: Path) -> Memory | None:
        """The memory of a ledger, None where that is in no repository. Git is not asked."""
        every = list(places(root))
        for place in every:
            shared = place.shared()
            if shared is not None:
                return cls(root, place, shared)
        return cls(root, every[0], None) if every else None

    @property
    def ledger(self) -> str:
        """The ledger's folder in its repository."""
        return "/".join(self.place.folders)

    @property
    def copy(self) -> str:
        """The working copy that the ledger lies in."""
        return str(self.place.top)

    def entries(self) -> list[MemoryEntry]:
        """What is kept of this ledger, the oldest first. Nothing of what cannot be read."""
        mine = self.parted(_entries(self._in_git))[0]
        own = [self.signed(each) for each in _entries(self.root / PRIVATE_FOLDER)]
        return [*(each for each in own if each not in mine), *mine] if own else mine

    def damaged(self) -> Path | None:
        """What is kept in mind and cannot be read, where it lies or was set aside."""
        for folder in filter(None, (self._in_git, self.root / PRIVATE_FOLDER)):
            if _read(folder) is None:
                return folder / NAME
            if not folder.is_symlink() and os.path.lexists(folder / ASIDE):
                return folder / ASIDE
        return None

    def signed(self, entry: Mapping[str, Any]) -> MemoryEntry:
        """An entry that says whose it is."""
        return {"ledger": self.ledger, "copy": self.copy} | dict(entry)

    def other(self, copy: str) -> Path | None:
        """The ledger's folder in another working copy; None where there is no such copy now."""
        place = RepositoryPlace(Path(copy), self.place.folders)
        ours = self.shared is not None and place.top.is_absolute()
        ours = ours and copy != self.copy and place.shared() == self.shared
        return place.top.joinpath(*place.folders) if ours else None

    @contextmanager
    def changing(self) -> Iterator[KeptEntries]:
        """What is kept, to be changed while no other working copy does. Raises nothing."""
        with ExitStack() as stack:
            try:
                folder = self._proved()
                stack.enter_context(alone(folder, _PATIENCE))
                atomic.sweep(folder)
                kept = KeptEntries(self, self.entries(), folder)
            except (OSError, LedgerError):
                # what git's folder holds stays there, and is read from both
                kept = KeptEntries(self, _entries(self.root / PRIVATE_FOLDER), None)
            yield kept

    @property
    def _in_git(self) -> Path | None:
        return None if self.shared is None else self.shared / FOLDER

    def _proved(self) -> Path:
        """Our folder within git's, where git itself would write: what leads there is the
        repository's own word. Raises LedgerError."""
        said = self.place.ask("rev-parse", "--git-common-dir")
        folder = self._in_git
        if folder is None or Path(os.path.realpath(self.place.top / said)) != folder.parent:
            raise self.place.no_repository()
        return folder

    def parted(self, entries: Iterable[MemoryEntry]) -> tuple[list[MemoryEntry], list[MemoryEntry]]:
        """What of some entries is of this ledger, and what of others in its repository."""
        each = [(str(entry.get("ledger", "")), entry) for entry in entries]
        others = self._others({ledger for ledger, _ in each} - {self.ledger})
        mine = [entry for ledger, entry in each if ledger not in others]
        return mine, [entry for ledger, entry in each if ledger in others]

    def _others(self, ledgers: set[str]) -> set[str]:
        """Those of some ledgers that are others than this one. One that is no more where it lay may
        be this one, moved."""
        top = self.place.top
        stand = {each for each in ledgers if os.path.lexists(top / each / SETTINGS_FILE)}
        # git is asked for no name that holds a line break, a null or half a character
        askable = self.ledger.isprintable() and all(map(str.isprintable, ledgers))
        return stand | _apart(self.place, self.ledger, ledgers - stand) if askable else stand


def _apart(place: RepositoryPlace, ledger: str, others: set[str]) -> set[str]:
    """Those of some ledgers that commits had, and never where this one lay before it was moved.
    None where nothing checked out has this one yet."""
    known = ("--branches", "--remotes", "HEAD", "--")
    found: set[str] = set()
    with suppress(LedgerError):
        line = ("log", "-1", "--format=%H", *known)
        had = {o for o in others if place.ask(*line, path_prefix(o) + SETTINGS_FILE)}
        if had:
            folder = path_prefix(ledger)
            repository = Repository(place.top.joinpath(*place.folders), folder, shallow=False)
            with place.objects() as objects:
                lay = lineage(repository, objects, "HEAD", folder).folders
                commit = objects.find(f"HEAD:{folder}{SETTINGS_FILE}")
            found = had - {each.rstrip("/") for each in lay} if commit else set()
    return found


def path_prefix(ledger: str) -> str:
    """What the paths of a ledger begin with in its repository."""
    return f"{ledger}/" if ledger else ""


class KeptEntries(Struct, frozen=True):
    """What is kept in mind, while it may be changed; without a `folder` only the ledger's own."""

    memory: Memory
    entries: list[MemoryEntry]
    folder: Path | None

    def keep(self, entries: Iterable[Mapping[str, Any]]) -> None:
        """Keep these in the stead of what was. Raises nothing."""
        mine = [self.memory.signed(each) for each in entries][-MOST:]
        own = self.memory.root / PRIVATE_FOLDER
        if self.folder is not None:
            others = self.memory.parted(_entries(self.folder))[1]
            with suppress(OSError, LedgerError):
                _write(self.folder, [*others, *mine])
                _remove(own)
                return
        with suppress(OSError, LedgerError):
            _write(private_folder(self.memory.root), mine)


def _entries(folder: Path | None) -> list[MemoryEntry]:
    return _read(folder) or []


def _read(folder: Path | None) -> list[MemoryEntry] | None:
    """What a folder keeps in mind; None where that cannot be read."""
    if folder is None or folder.is_symlink() or not os.path.lexists(folder / NAME):
        return []
    try:
        data: Any = json.loads(ordinary(folder / NAME, NAME, _LARGEST, links=False))
        return [e for e in data["acts"] if isinstance(e, dict)] if data["form"] == _FORM else None
    except (OSError, LedgerError, ValueError, TypeError, KeyError, RecursionError):
        return None


def _write(folder: Path, entries: list[MemoryEntry]) -> None:
    """Raises OSError. What cannot be read is set aside: it may be all that is left of an act."""
    if _read(folder) is None:
        (folder / NAME).replace(folder / ASIDE)
    if not entries:
        _remove(folder)
        return
    data = {"form": _FORM, "acts": entries}
    atomic.swap(folder / NAME, json.dumps(data).encode())
    atomic.sync_folder(folder)


def _remove(folder: Path) -> None:
    with suppress(FileNotFoundError):
        os.unlink(folder / NAME)  # noqa: PTH108 - as in `atomic`
