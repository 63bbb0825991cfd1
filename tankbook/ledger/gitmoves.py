"""Where in its repository a ledger lay: the folders it was moved from, followed commit by commit.

A ledger goes on where the commit that brings its settings to a folder takes them out of another,
or copies most of a ledger from another. What was another ledger before is not looked for further.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import ENDINGS
from tankbook.ledger.gitfiles import AtCommit, Objects, files_at, ledger_in
from tankbook.ledger.gitread import DIFF, Repository, top_of
from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.commits import Commit

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
    commit, parent, compared = "", "", False
    with repository.stream(*arguments) as lines:
        for line in lines:
            words = line.split()
            if line.startswith(b"commit "):
                commit = words[1].decode()
                parent = words[3].decode().rstrip(")") if len(words) > 3 else ""
                compared = bool(parent)
            elif line.startswith(b"parent ") and not compared:
                parent, compared = words[1].decode(), True
            elif line.startswith(b":") and len(words) > 4:
                yield commit, parent, words[4].startswith(b"A")


def _origin(
    repository: Repository, objects: Objects, before: Commit, after: AtCommit, folder: str
) -> str | None:
    """The folder that a ledger was moved or copied from in the commit in which it came."""
    listed = repository.ask(
        *top_of(repository), "ls-tree", "-r", "-z", "--name-only", "--full-tree", before.id, "--"
    ).decode("utf-8", "surrogateescape")
    settings = (p for p in listed.split("\0") if p.rpartition("/")[2] == SETTINGS_PATH)
    others = [p.removesuffix(SETTINGS_PATH) for p in settings]
    best: tuple[bool, float, str] | None = None
    for other in (o for o in others if o != folder):
        was = at_folder(objects, before, other)
        gone = not at_folder(objects, after.commit, other).top
        share = _in_common(was, after)
        if (gone or share >= EVEN) and (best is None or (gone, share) > best[:2]):
            best = gone, share, other
    return best[2] if best else None


def _in_common(was: AtCommit, is_: AtCommit) -> float:
    """The share of a ledger's files that another holds word for word."""
    paths = [SETTINGS_PATH, *_records(was)]
    same = sum(was.object(p) == is_.object(p) for p in paths)
    return same / len(paths)


def _records(files: AtCommit) -> Iterable[str]:
    return (f"{folder}/{name}" for folder in ENDINGS for name in files.names(folder))
