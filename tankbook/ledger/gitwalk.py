"""The ledger's commits as steps, wherever in its repository it lay.

A ledger goes on where the commit that brings its settings to a folder takes them out of another,
or copies most of a ledger from another. What was another ledger before is not looked for further.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Files
from tankbook.ledger.gitfiles import AtCommit, Objects, files_at, ledger_in
from tankbook.ledger.gitlog import (
    LOG_PATH,
    Versions,
    is_read,
    lines_seen,
    node_of,
    patches,
    raw_log,
    step_of,
)
from tankbook.ledger.gitread import DIFF, Repository, ask_text, top_of
from tankbook.ledger.names import ENDINGS
from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.commits import Commit, CommitStep, FileStep, LineSeen
from tankbook.rules.changes import FOLDERS, KINDS

EVEN = 0.5
"""The share of a ledger's files that another must hold to be taken for a copy of it."""


def at_folder(objects: Objects, commit: Commit, folder: str) -> AtCommit:
    """The files of a folder as a commit has them, as a ledger; none where there is no ledger."""
    try:
        top = ledger_in(objects, commit, folder.split("/"))
    except LedgerError:
        top = None
    return AtCommit(objects, commit, folder, top or {})


def files_then(repository: Repository, objects: Objects, commit: Commit) -> AtCommit:
    """The ledger's files as a commit has them, in whichever folder it lay then.

    Raises:
        LedgerError: the commit holds no such ledger.
    """
    folder = folder_at(repository, objects, commit)
    if folder == repository.prefix:
        return files_at(repository, objects, commit)
    return replace(at_folder(objects, commit, folder), name=repository.root.resolve().name)


def folder_at(repository: Repository, objects: Objects, commit: Commit, tip: str = "HEAD") -> str:
    """The folder a ledger lay in at a commit: where it lies now, or one it was moved from.

    Where it lay in none of them, the folder it lies in now.
    """
    if at_folder(objects, commit, repository.prefix).top:
        return repository.prefix
    for folder in lineage(repository, objects, tip, repository.prefix).folders[1:]:
        if at_folder(objects, commit, folder).top:
            return folder
    return repository.prefix


class Lineage(Struct):
    """The folders a ledger lay in, the latest first, and where each came and went.

    Of two that both hold a ledger the later one counts.
    """

    folders: list[str]
    _turns: dict[tuple[str, str], dict[str, bool]] = field(default_factory=dict)
    _holds: dict[str, frozenset[str]] = field(default_factory=dict)
    _places: dict[str, str | None] = field(default_factory=dict)

    def turn(self, commit: str, parent: str, folder: str, held: bool) -> None:
        """Note that a commit holds a ledger in a folder, or no longer, and a parent did not."""
        self._turns.setdefault((commit, parent), {})[folder] = held

    def take(self, commit: Commit, parent: str) -> None:
        """Follow a commit, compared with one of its parents; these come first."""
        if commit.id in self._places:
            return
        parent = parent or (commit.parents[0] if commit.parents else "")
        held = self._holds.get(parent, frozenset())
        turns = self._turns.get((commit.id, parent), {})
        held = (held | {f for f, on in turns.items() if on}) - {
            f for f, on in turns.items() if not on
        }
        self._holds[commit.id] = held
        before = self._places.get(parent)
        self._places[commit.id] = next((f for f in self.folders if f in held), before)

    def place(self, commit: str) -> str | None:
        """The folder at a commit that was followed; None where it had not begun."""
        return self._places.get(commit)


def lineage(repository: Repository, objects: Objects, tip: str, folder: str) -> Lineage:
    """The folders that the ledger in a folder of a commit was moved from.

    Raises:
        LedgerError: git breaks off.
    """
    found = Lineage([folder])
    for here in found.folders:  # it grows
        for commit, parent, held in _turns(repository, tip, f"{here}{SETTINGS_PATH}"):
            found.turn(commit, parent, here, held)
            if not held or not parent or objects.find(parent) is None:
                continue  # it began here, or what was before lies beyond a shallow clone
            before = objects.commit(parent)
            after = at_folder(objects, objects.commit(commit), here)
            origin = _origin(repository, objects, before, after, here)
            if origin is not None and origin not in found.folders:
                found.folders.append(origin)
    return found


def _turns(repository: Repository, tip: str, path: str) -> Iterator[tuple[str, str, bool]]:
    """Each commit that brings a file or takes it out, and the parent it is compared with."""
    arguments = (
        *top_of(repository), "log", "--full-history", "--raw", "--pretty=raw", "--diff-filter=AD",
        *DIFF, tip, "--", path,
    )  # fmt: skip
    with repository.stream(*arguments) as lines:
        for each in raw_log(lines):
            yield from ((each.id, each.parent, file.came) for file in each.files)


def _origin(
    repository: Repository, objects: Objects, before: Commit, after: AtCommit, folder: str
) -> str | None:
    """The folder that a ledger was moved or copied from in the commit in which it came."""
    asked = [*"ls-tree -r -z --name-only --full-tree".split(), before.id, "--"]
    listed = ask_text(repository.root, *top_of(repository), *asked).split("\0")
    settings = (p for p in listed if p.rpartition("/")[2] == SETTINGS_PATH)
    best: tuple[bool, float, str] | None = None
    for other in (o for o in (p.removesuffix(SETTINGS_PATH) for p in settings) if o != folder):
        was = at_folder(objects, before, other)
        gone = not at_folder(objects, after.commit, other).top
        share = _in_common(was, after)
        if (gone or share >= EVEN) and (best is None or (gone, share) > best[:2]):
            best = gone, share, other
    return best[2] if best else None


def _in_common(was: AtCommit, is_: AtCommit) -> float:
    """The share of a ledger's files that another holds word for word."""
    records = (f"{folder}/{name}" for folder in ENDINGS for name in was.names(folder))
    paths = [SETTINGS_PATH, *records]
    return sum(was.object(p) == is_.object(p) for p in paths) / len(paths)


def unsaved(files: AtCommit, disk: Files, now: dt.datetime) -> CommitStep:
    """What lies in the ledger's folder and is not committed, as a step after its last commit.

    The files themselves are compared: git's index may be told to look away.

    Args:
        files: the ledger as its last commit has it.
        disk: the ledger in its folder.
        now: the moment it is asked.
    """
    return between(files, disk, Commit("", (files.commit.id,), "", now, now))


def between(files: AtCommit, later: Files, commit: Commit, parent: int = 0) -> CommitStep:
    """What a commit did to a ledger, by the files before it and after it, wherever they lie."""
    records: list[FileStep] = []
    removed: list[LineSeen] = []
    added: list[LineSeen] = []
    for path in _paths(files, later):
        new = _readable(later, path)
        if new is not None and files.holds(path, new):
            continue
        old = _readable(files, path)
        if old is None and new is None and files.exists(path) and later.exists(path):
            continue  # what cannot be read on either side is told of its commit
        if LOG_PATH.fullmatch(path):
            was, is_ = (lines_seen(path, data or b"") for data in (old, new))
            same = Counter(line.text for line in was) & Counter(line.text for line in is_)
            removed += _less(was, same.copy())
            added += _less(is_, same)
            if new is None:
                records.append(FileStep(path, None, None, True, False))
        elif is_read(path):
            before, after = (None if data is None else node_of(path, data) for data in (old, new))
            stood = files.exists(path), later.exists(path)
            records.append(FileStep(path, before, after, *stood))
    return CommitStep(commit, parent, tuple(records), tuple(removed), tuple(added))


def _readable(disk: Files, path: str) -> bytes | None:
    """A file's bytes; none where there is none, or what is there can only be told of as broken."""
    try:
        return disk.read(path) if disk.exists(path) else None
    except LedgerError:
        return None


def _paths(*sides: Files) -> list[str]:
    """The records, rules, checklists and logs that any of some ledgers holds."""
    found = dict.fromkeys(path for path in KINDS for side in sides if side.exists(path))
    for folder in (*FOLDERS, "fills", "rules", "checklists"):
        for side in sides:
            found |= dict.fromkeys(f"{folder}/{name}" for name in side.names(folder))
    return [path for path in found if is_read(path) or LOG_PATH.fullmatch(path)]


def _less(lines: Iterable[LineSeen], same: Counter[str]) -> list[LineSeen]:
    """The lines that are more than the `same` ones."""
    left = []
    for line in lines:
        if same[line.text] > 0:
            same[line.text] -= 1
        else:
            left.append(line)
    return left


def steps(
    repository: Repository, objects: Objects, tip: Commit, base: str = ""
) -> Iterator[CommitStep]:
    """Every commit up to `tip`, parents first; a merge once for each parent it differs from.

    With a `base`, which has the ledger where it lies now, nothing of its history.

    Raises:
        LedgerError: git breaks off.
    """
    versions = Versions(objects)
    if base:
        for commit, parent, files in patches(repository, tip, base=base):
            yield step_of(commit, parent, files, versions)
        return
    here = folder_at(repository, objects, tip)
    found = lineage(repository, objects, tip.id, here)
    if found.folders == [repository.prefix]:
        for commit, parent, files in patches(repository, tip):
            yield step_of(commit, parent, files, versions)
        return
    for commit, parent, files in patches(repository, tip, found.folders):
        found.take(commit, parent)
        moved = _moved(found, commit, parent, objects)
        if moved is not None:
            yield moved
        else:
            place = found.place(commit.id)
            yield step_of(commit, parent, [f for f in files if f.folder == place], versions)


def _moved(found: Lineage, commit: Commit, parent: str, objects: Objects) -> CommitStep | None:
    """The step of a commit that moved the ledger; None where it stayed."""
    parent = parent or (commit.parents[0] if commit.parents else "")
    before, after = found.place(parent), found.place(commit.id)
    if before is None or after is None or before == after:
        return None
    was, is_ = (
        at_folder(objects, c, f) for c, f in ((objects.commit(parent), before), (commit, after))
    )
    step = between(was, is_, commit, commit.parents.index(parent))
    return CommitStep(commit, step.parent, step.files, step.removed, step.added, 1, (before, after))
