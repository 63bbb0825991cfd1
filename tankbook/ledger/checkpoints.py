"""Checkpoints of a ledger's audits: read, proved, and the state that reading goes on from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache, partial

from msgspec import Struct

from tankbook.ledger.errors import LedgerError, of_finding
from tankbook.ledger.files import Files, Folder
from tankbook.ledger.gitfiles import AtCommit, Objects
from tankbook.ledger.gitlog import node_of, read_node
from tankbook.ledger.gitread import DIFF, Repository
from tankbook.ledger.gitwalk import at_folder
from tankbook.ledger.names import CARDS, ENDINGS, STATION_FILE
from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.audited import AUDITED_PATH, Audited, Checkpoint
from tankbook.records.commits import Commit
from tankbook.records.counter import COUNTER_FILE
from tankbook.records.fields import NodeReader, read
from tankbook.records.node import Node
from tankbook.rules.checkpoint import CommitState, Start, checkpoint_digest, digest_holds


class FoundCheckpoint(Struct, frozen=True):
    """The latest checkpoint of a ledger, and why it cannot be relied on, if it cannot."""

    checkpoint: Checkpoint | None = None
    why_not: str = ""


def checkpoints_in(files: Files) -> tuple[Checkpoint, ...]:
    """Every checkpoint of a ledger, the latest last.

    Raises:
        LedgerError: the file cannot be read.
    """
    return checkpoints_of(files.read(AUDITED_PATH)) if files.exists(AUDITED_PATH) else ()


def checkpoints_of(data: bytes) -> tuple[Checkpoint, ...]:
    """Every checkpoint in the bytes of a file, the latest last.

    Raises:
        LedgerError: they cannot be read.
    """
    node, findings = read_node(data, AUDITED_PATH)
    reader = NodeReader(AUDITED_PATH, findings)
    found = read(Audited, node, reader) if not findings else None
    if found is None or reader.findings:
        raise of_finding(reader.findings[0])
    return found.checkpoints


def latest(repository: Repository, objects: Objects, files: Files, tip: Commit) -> FoundCheckpoint:
    """The latest checkpoint, proved: every one names a commit that the tip builds on, and the
    digest of the last is that of its commit."""
    try:
        every = checkpoints_in(files)
    except LedgerError as error:
        return FoundCheckpoint(None, f"it cannot be read: {error.text}")
    if not every:
        return FoundCheckpoint()
    last = every[-1]  # what an earlier one is of may have been rebased before this was made
    if not _is_before(repository, objects, last.through, tip):
        why = f"commit {last.through[:10]}, audited on {last.on}, is not in this history"
        return FoundCheckpoint(last, why)
    then = at_folder(objects, objects.commit(last.through), repository.prefix)
    if not then.top:
        return FoundCheckpoint(None)  # the ledger was moved since: all of it is read
    try:
        good = digest_holds(last, contents(then))
    except LedgerError as error:
        return FoundCheckpoint(last, error.text)
    return FoundCheckpoint(
        last, "" if good else f"its digest is not that of commit {last.through[:10]}"
    )


def _is_before(repository: Repository, objects: Objects, name: str, tip: Commit) -> bool:
    if not name.isalnum() or len(name) != len(tip.id):
        return False
    found = objects.find(name)
    if found is None or found.kind != "commit":
        return False
    return not repository.ask("rev-list", "-1", name, f"^{tip.id}", "--").strip()


def contents(files: AtCommit, here: Folder | None = None) -> Iterator[tuple[str, bytes]]:
    """Every record, rule, checklist and log of a ledger at a commit; what `here` has as it was then
    is not read again."""
    for path in (SETTINGS_PATH, STATION_FILE, COUNTER_FILE):
        if files.exists(path):
            yield path, _content(files, path, here)
    for path in _records(files, ENDINGS):
        yield path, _content(files, path, here)


def _content(files: AtCommit, path: str, here: Folder | None) -> bytes:
    name = files.object(path) if here is not None else None
    known = here.bytes_of(path, name) if here is not None and name else None
    return files.read(path) if known is None else known


def _records(files: AtCommit, folders: Iterable[str]) -> Iterator[str]:
    for folder in folders:
        names = (n for n in files.names(folder) if n.endswith(ENDINGS[folder]))
        paths = (f"{folder}/{name}" for name in names)
        yield from (p for p in paths if files.object(p) is not None)


def values_of(files: AtCommit, on: str, by: str, commits: int, signs: int) -> dict[str, str]:
    """A checkpoint of the commit that some files are of, as it is written."""
    name = files.commit.id
    said = {"on": on, "by": by, "through": name, "commits": str(commits), "signs": str(signs)}
    said["digest"] = checkpoint_digest(name, commits, signs, contents(files))
    return {key: text for key, text in said.items() if text}


# --- where reading goes on


class Stretch(Struct, frozen=True):
    """The commits to read: all up to a tip that are not in the history of `base`."""

    base: str
    start: Start


def stretch(
    repository: Repository, objects: Objects, tip: Commit, checkpoint: Checkpoint
) -> Stretch | None:
    """What is to be read after a checkpoint; None where all of it must be.

    Where a line was merged since that had left before the checkpoint, what was done meanwhile is
    read as well: only so is it known what explains the merge.
    """
    through = checkpoint.through
    if _was_moved(repository, tip, through):
        return None
    new, ends = _between(repository, tip.id, through)
    base = through
    if ends - {through}:
        try:
            said = repository.ask("merge-base", "--octopus", *sorted(ends | {through}))
        except LedgerError:
            return None
        base = said.decode().split()[0]
        _, ends = _between(repository, tip.id, base)
    stands = tuple(_stand(objects, repository, name) for name in sorted(ends | {base}))
    then = at_folder(objects, objects.commit(base), repository.prefix)
    if not then.top:
        return None

    @cache
    def cards() -> dict[str, Node]:
        each = ((path, _node(then, path)) for path in _records(then, CARDS))
        return {path: found for path, found in each if found is not None}

    node = partial(_node, then)
    return Stretch(base, Start(checkpoint, stands, frozenset(new), node, cards))


def _was_moved(repository: Repository, tip: Commit, through: str) -> bool:
    """Whether the settings came or went since: the ledger was moved, there and back perhaps."""
    line = ("log", "-1", "--full-history", "--format=%H", "--diff-filter=AD", "--no-patch", *DIFF)
    return bool(repository.ask(*line, tip.id, f"^{through}", "--", SETTINGS_PATH).strip())


def _between(repository: Repository, tip: str, base: str) -> tuple[set[str], set[str]]:
    """The commits of a tip that another has not, and those they build on."""
    listed = repository.ask("rev-list", "--boundary", tip, f"^{base}", "--").decode().split()
    ends = {name.removeprefix("-") for name in listed if name.startswith("-")}
    return {name for name in listed if not name.startswith("-")}, ends


def _stand(objects: Objects, repository: Repository, name: str) -> CommitState:
    commit = objects.commit(name)
    files = at_folder(objects, commit, repository.prefix)
    rules = {path: _node(files, path) for path in _records(files, ["rules"])}
    return CommitState(commit, _node(files, SETTINGS_PATH), rules)


def _node(files: AtCommit, path: str) -> Node | None:
    return node_of(path, files.read(path)) if files.exists(path) else None
