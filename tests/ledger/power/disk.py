"""A disk as a power cut finds it: what was synced is there, of the rest anything may be.

Files and folders are numbered, as a disk numbers them; names lead to numbers. What was written and
not synced may be there, be missing, be cut short, or have its length and zeros for its content.
Each name made, moved or removed in a folder that was not synced since may be so or as before,
independently of the others: stricter than most disks are, and what the standard of these calls
(POSIX.1-2017, `fsync`) leaves open.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.support.changed import replace

Tree = dict[str, bytes | None]
"""The content of each file by its path; None for a folder."""

TOP = 0
"""The number of the folder in which all happens."""


@dataclass(frozen=True, slots=True)
class Bind:
    """Names of one folder lead elsewhere from now on, all at once; None for nowhere."""

    folder: int
    names: tuple[tuple[str, int | None], ...]
    makes_folder: bool = False


@dataclass(frozen=True, slots=True)
class Write:
    """Bytes are put into a file at a place."""

    file: int
    at: int
    data: bytes


@dataclass(frozen=True, slots=True)
class Cut:
    """A file gets a length."""

    file: int
    length: int


@dataclass(frozen=True, slots=True)
class Sync:
    """What was done to a file or to the names of a folder is on the disk."""

    of: int


@dataclass(frozen=True, slots=True)
class Other:
    """What another program did meanwhile: all of it, synced."""

    calls: tuple[Bind | Write | Cut | Sync, ...]


Call = Bind | Write | Cut | Sync | Other


@dataclass(slots=True)
class Disk:
    """Folders and files by their numbers."""

    folders: dict[int, dict[str, int]] = field(default_factory=lambda: {TOP: {}})
    files: dict[int, bytes] = field(default_factory=dict)

    @classmethod
    def of(cls, tree: Tree) -> Disk:
        """A disk that holds a tree."""
        disk = cls()
        for number, path in enumerate(sorted(tree), 1):
            data = tree[path]
            if data is None:
                disk.folders[number] = {}
            else:
                disk.files[number] = data
            above, _, name = path.rpartition("/")
            found = disk.find(above)
            assert found is not None, path
            disk.folders[found][name] = number
        return disk

    def copy(self) -> Disk:
        return Disk({n: dict(names) for n, names in self.folders.items()}, dict(self.files))

    def free(self) -> int:
        """A number that nothing has."""
        return 1 + max((*self.folders, *self.files))

    def find(self, path: str) -> int | None:
        """What a path leads to."""
        at: int | None = TOP
        for name in filter(None, path.split("/")):
            at = self.folders.get(at, {}).get(name) if at is not None else None
        return at

    def do(self, call: Call) -> None:
        if isinstance(call, Bind):
            names = self.folders.setdefault(call.folder, {})
            for name, number in call.names:
                if number is None:
                    names.pop(name, None)
                    continue
                names[name] = number
                if call.makes_folder:
                    self.folders.setdefault(number, {})
                elif number not in self.folders:
                    self.files.setdefault(number, b"")
        elif isinstance(call, Other):
            for each in call.calls:
                self.do(each)
        elif not isinstance(call, Sync):
            number = call.file
            self.files[number] = changed(self.files.get(number, b""), call)

    def tree(self) -> Tree:
        """What can be reached by names."""
        found: Tree = {}
        above = [(TOP, "")]
        while above:
            folder, start = above.pop()
            for name, number in self.folders[folder].items():
                if number in self.folders:
                    found[start + name] = None
                    above.append((number, f"{start}{name}/"))
                else:
                    found[start + name] = self.files[number]
        return found


def changed(data: bytes, call: Write | Cut) -> bytes:
    """The content of a file after a call."""
    if isinstance(call, Cut):
        return data[: call.length].ljust(call.length, b"\0")
    return data[: call.at].ljust(call.at, b"\0") + call.data + data[call.at + len(call.data) :]


def contents(old: bytes, calls: Sequence[Write | Cut]) -> list[bytes]:
    """What a file may hold after a power cut: last what it was to hold, first what it held."""
    states = [old]
    for call in calls:
        states.append(changed(states[-1], call))
    last, before = calls[-1], states[-2]
    if isinstance(last, Write):
        half = len(last.data) // 2
        zeros = bytes(len(last.data))
        torn = (zeros, last.data[:half], last.data[:half] + zeros[half:])
        states[-1:-1] = [changed(before, replace(last, data=data)) for data in torn]
    return list(dict.fromkeys(states))


@dataclass(frozen=True, slots=True)
class State:
    """A tree that a power cut may leave after the call numbered `at`, and how much it lost."""

    at: int
    tree: Tree
    lost: int


def cuts(base: Disk, calls: Sequence[Call], at: int, chance: random.Random) -> Iterator[State]:
    """What may be found after the first `at` calls: nothing lost (only the process died), all lost,
    each thing alone lost, each alone kept, and some at random."""
    unsynced = _Unsynced(base, calls[:at])
    names, files = unsynced.names, unsynced.files
    none = dict.fromkeys(files, 0)
    whole = {number: len(found) - 1 for number, found in files.items()}

    def state(kept: set[int], held: dict[int, int]) -> State:
        lost = len(names) - len(kept) + sum(held[n] != whole[n] for n in files)
        return State(at, unsynced.left(kept, held), lost)

    every = set(names)
    yield state(every, whole)
    yield state(set(), none)
    for each in names:
        yield state(every - {each}, whole)
        yield state({each}, none)
    for number, found in files.items():
        for other in range(len(found)):
            yield state(every, {**whole, number: other})
            yield state(set(), {**none, number: other})
    for _ in range(4):
        held = {number: chance.randrange(len(found)) for number, found in files.items()}
        yield state({n for n in names if chance.random() < 0.5}, held)


class _Unsynced:
    """What of some calls was not synced after: names by the calls, files with what they may hold."""

    def __init__(self, base: Disk, calls: Sequence[Call]) -> None:
        calls = [c for call in calls for c in (call.calls if isinstance(call, Other) else [call])]
        self._calls = calls
        synced = {call.of: place for place, call in enumerate(calls) if isinstance(call, Sync)}
        self._fixed: Callable[[int, int], bool] = lambda place, of: place < synced.get(of, -1)
        self.names: list[int] = []
        self.files: dict[int, list[bytes]] = {}
        self._start = base.copy()
        later: dict[int, list[Write | Cut]] = {}
        for place, call in enumerate(calls):
            if isinstance(call, Bind):
                if not self._fixed(place, call.folder):
                    self.names.append(place)
            elif isinstance(call, Write | Cut):
                if self._fixed(place, call.file):
                    self._start.do(call)
                else:
                    later.setdefault(call.file, []).append(call)
        for number, each in later.items():
            self.files[number] = contents(self._start.files.get(number, b""), each)

    def left(self, kept: set[int], held: dict[int, int]) -> Tree:
        """The tree where these names are kept and each file holds what was drawn for it."""
        disk = self._start.copy()
        for place, call in enumerate(self._calls):
            if isinstance(call, Bind) and (place in kept or self._fixed(place, call.folder)):
                disk.do(call)
        for number, which in held.items():
            disk.files[number] = self.files[number][which]
        return disk.tree()


def tree_of(top: Path) -> Tree:
    """What is in a real folder."""
    found: Tree = {}
    for path in top.rglob("*"):
        found[path.relative_to(top).as_posix()] = None if path.is_dir() else path.read_bytes()
    return found


def lay(tree: Tree, top: Path) -> None:
    """Make a real, empty folder hold a tree."""
    for path in sorted(tree):
        data = tree[path]
        if data is None:
            (top / path).mkdir()
        else:
            (top / path).write_bytes(data)
