"""All that a ledger holds of one cylinder, in one folder, with a digest of each file: what is given
to whoever asks after an accident. Names and telephone numbers are no part of it."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from shutil import rmtree

from tankbook.ledger import atomic, part
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.files import Files
from tankbook.ledger.gitfiles import Objects, heads_on
from tankbook.ledger.gitlog import plain_text
from tankbook.ledger.gitread import Repository
from tankbook.ledger.gitwalk import files_then
from tankbook.ledger.names import SETTINGS_FILE, STATION_FILE
from tankbook.ledger.papers import papers_in
from tankbook.ledger.part import rows_by, rows_naming, rows_of
from tankbook.ledger.shipped import texts_of
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.commits import Commit, CommitStep
from tankbook.records.counter import COUNTER_FILE

SUMS = "SHA256SUMS"
"""The file of digests, as `sha256sum -c` reads it."""

PAPERS = "papers"
"""The folder of the papers that the station's entries name; of those that lie elsewhere in the
ledger it is `other-papers`."""

THEN = "at-last-fill"
"""The folder of what was in force at the last fill."""


def records_about(
    files: Files,
    paths: Sequence[str],
    ids: Sequence[str],
    sources: Sequence[str],
    written: Callable[[dt.datetime], bool],
) -> dict[str, bytes]:
    """The records that say something of a cylinder or set, byte by byte: its card, its sets, the
    lines of the log that name it, the station with the papers that it names, the counter's file,
    the settings, and the rules and checklists in force.

    Args:
        files: the ledger, as it is or as git had it.
        paths: its card, those of the cylinders of a set, and the sets it is in.
        ids: what the log calls it, its sets and what it was called before.
        sources: what it was filled from, whose own lines of the log are given apart.
        written: whether a line of a moment counts on the day asked about.
    """
    found = in_force(files) | _whole(files, [*paths, AUDITED_PATH, COUNTER_FILE])
    station = part.station_of(files)
    for name, data in papers_in(station, files).items() if station else ():
        # nothing else of a bundle is called so, whatever a paper is called
        found[name if name.startswith(f"{PAPERS}/") else f"other-{PAPERS}/{name}"] = data
    for name in files.names("fills"):
        if name.endswith(".csv"):
            data = rows_by(files.read(f"fills/{name}"), written)
            found[f"fills/{name}"] = rows_naming(data, ids)
            of_sources = rows_of(data, sources)
            if of_sources:
                found[f"sources/{name}"] = of_sources
    return found


def in_force(files: Files) -> dict[str, bytes]:
    """The settings, the station, and the ledger's own rules and checklists."""
    paths = [SETTINGS_FILE, STATION_FILE]
    for folder in ("rules", "checklists"):
        paths += [f"{folder}/{name}" for name in files.names(folder) if name.endswith(".yaml")]
    return _whole(files, paths)


def _whole(files: Files, paths: Sequence[str]) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    for each in paths:
        try:
            data = files.read(each) if files.exists(each) else b""
        except LedgerError:  # what cannot be read is told by the history beside it
            continue
        if data:
            found[each] = data
    return found


def shipped(names: Sequence[str]) -> dict[str, bytes]:
    """The rules that came with the program and are in force in a ledger with these rule sets."""
    return {f"shipped/{name}": data for name, data in texts_of(names).items()}


def at_last_fill(
    repository: Repository, objects: Objects, day: dt.date
) -> tuple[dict[str, bytes], str]:
    """What was in force at the end of the day of the last fill, by what was committed then, and a
    line that says so.

    Raises:
        LedgerError: git breaks off.
    """
    try:
        heads = heads_on(repository, objects, day)
        if heads.too_many:
            return {}, f"of {day}, the day of the last fill, not known: {heads.too_many}"
        commit = heads.base
        then = in_force(files_then(repository, objects, commit))
    except LedgerError as error:
        return {}, f"of {day}, the day of the last fill, not known: {error.text}"
    said = f"as committed by the end of {day}, the day of the last fill: commit {commit.id}"
    return {f"{THEN}/{path}": data for path, data in then.items()}, said


def unlike_commit(made: Mapping[str, bytes], committed: Mapping[str, bytes]) -> list[str]:
    """The files of a bundle that are not as the commit has them that it is said to be of."""
    every = {*made, *committed}
    return sorted(path for path in every if made.get(path) != committed.get(path))


def versions(
    repository: Repository, objects: Objects, steps: Sequence[CommitStep], paths: Sequence[str]
) -> dict[str, bytes]:
    """Each version of a card that git has, and a list of the commits that made them, the oldest
    first.

    Args:
        repository: where git is asked.
        objects: its objects.
        steps: the commits that changed the card.
        paths: every path the card had, the latest first.

    Raises:
        LedgerError: git breaks off.
    """
    found: dict[str, bytes] = {}
    told = []
    commits: dict[str, Commit] = {s.commit.id: s.commit for s in steps if s.commit.id}
    for place, commit in enumerate(commits.values(), 1):
        name = f"versions/{place:04}-{commit.short}.yaml"
        data, what = _version(repository, objects, commit, paths)
        if data is not None:
            found[name] = data
        author = plain_text(commit.author.encode())
        told.append(f"{commit.id} {commit.at.isoformat()} {author}: {commit.subject}{what}\n")
    return found | {"commits.txt": "".join(told).encode()}


def _version(
    repository: Repository, objects: Objects, commit: Commit, paths: Sequence[str]
) -> tuple[bytes | None, str]:
    """A card as a commit has it, and what is to be said of that."""
    try:
        then = files_then(repository, objects, commit)
        path = next((p for p in paths if then.exists(p)), None)
        data = then.read(path) if path is not None else None
    except LedgerError as error:
        return None, f" (the file cannot be read: {error.text})"
    if path is None:
        return None, " (the file is not in it)"
    return data, f" ({path})" if path != paths[0] else ""


def write(folder: Path, files: Mapping[str, bytes], root: Path) -> str:
    """Write a bundle, all of it or nothing; the digest of its list of digests, which stands for it.

    Args:
        folder: where to; it must not exist, or hold nothing.
        files: by their paths in it.
        root: the ledger, in which no bundle may lie.

    Raises:
        LedgerError: the folder is not empty, lies in the ledger, or cannot be written.
    """
    listed = sums(files)
    put_folder(folder, {**files, SUMS: listed}, root)
    return hashlib.sha256(listed).hexdigest()


def put_folder(folder: Path, files: Mapping[str, bytes], root: Path | None = None) -> None:
    """Write a new folder of these files, all of it or nothing.

    Args:
        folder: where to; it must not exist, or hold nothing.
        files: by their paths in it.
        root: a ledger in which it may not lie.

    Raises:
        LedgerError: the folder is not empty, lies in the ledger, or cannot be written.
    """
    real = Path(os.path.realpath(folder))
    _refuse(folder, real, root)
    beside = real.parent / f".{real.name}.{os.getpid()}.part"
    with refusing(folder):
        beside.mkdir()
        try:
            for name, data in sorted(files.items(), key=lambda each: (each[0] == SUMS, each[0])):
                target = beside / name
                target.parent.mkdir(parents=True, exist_ok=True)
                atomic.swap(target, data)
            for each in {beside / Path(name).parent for name in files} | {beside}:
                atomic.sync_folder(each)
            beside.rename(real)  # over an empty folder, too
            atomic.sync_folder(real.parent)
        except OSError:
            rmtree(beside, ignore_errors=True)
            raise


def _refuse(folder: Path, real: Path, root: Path | None) -> None:
    ledger = root.resolve() if root else None
    if ledger and (real == ledger or ledger in real.parents):
        raise LedgerError(f"{folder}", "a bundle does not lie in the ledger", "name another folder")
    with refusing(folder):
        if folder.is_symlink() and not real.exists():
            raise LedgerError(f"{folder}", "this is a link that leads nowhere", "name a new folder")
        if real.exists() and not real.is_dir():
            raise LedgerError(f"{folder}", "this is no folder", "name a new one")
        if real.is_dir() and any(real.iterdir()):
            text = "there is something in this folder already"
            raise LedgerError(f"{folder}", text, "name a new folder")


def sums(files: Mapping[str, bytes]) -> bytes:
    """The list of digests, as `sha256sum` prints it: odd names are written out behind a `\\`."""
    lines = []
    for name, data in sorted(files.items()):
        plain = name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
        odd = "\\" if plain != name else ""
        lines.append(f"{odd}{hashlib.sha256(data).hexdigest()}  {plain}\n")
    return "".join(lines).encode("utf-8", "surrogateescape")
