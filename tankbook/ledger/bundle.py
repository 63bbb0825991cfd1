"""All that a ledger holds of one cylinder, in one folder, with a digest of each file: what is given
to whoever asks after an accident. Names and telephone numbers are no part of it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.files import Files
from tankbook.ledger.finding import SETTINGS_FILE
from tankbook.ledger.folder import STATION_PATH
from tankbook.ledger.gitfiles import Objects
from tankbook.ledger.gitlog import plain_text
from tankbook.ledger.gitmoves import files_then
from tankbook.ledger.gitread import Repository
from tankbook.ledger.part import rows_naming
from tankbook.ledger.shipped import texts_of
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.commits import Commit, Step

SUMS = "SHA256SUMS"
"""The file of digests, as `sha256sum -c` reads it."""

MOST_VERSIONS = 9999


def contents(files: Files, path: str, sets: Sequence[str], ids: Sequence[str]) -> dict[str, bytes]:
    """The records that say something of a cylinder or set, byte by byte: its card, its sets, the
    lines of the log that name it, the station, the settings, and the rules and checklists in force.

    Args:
        files: the ledger, as it is or as git had it.
        path: the card's file.
        sets: the sets it is in.
        ids: what the log calls it, its sets and what it was called before.
    """
    found: dict[str, bytes] = {}
    whole = [
        path,
        *(f"sets/{name}.yaml" for name in sets),
        SETTINGS_FILE,
        STATION_PATH,
        AUDITED_PATH,
    ]
    for folder in ("rules", "checklists"):
        whole += [f"{folder}/{name}" for name in files.names(folder) if name.endswith(".yaml")]
    for each in whole:
        try:
            found[each] = files.read(each) if files.exists(each) else b""
        except LedgerError:  # what cannot be read is told by the history beside it
            continue
        if not found[each]:
            del found[each]
    for name in files.names("fills"):
        if name.endswith(".csv"):
            found[f"fills/{name}"] = rows_naming(files.read(f"fills/{name}"), ids)
    return found


def shipped(names: Sequence[str]) -> dict[str, bytes]:
    """The rules that came with the program and are in force in a ledger with these rule sets."""
    return {f"shipped/{name}": data for name, data in texts_of(names).items()}


def versions(
    repository: Repository, objects: Objects, steps: Sequence[Step], path: str
) -> dict[str, bytes]:
    """Each version of a card that git has, and a list of the commits that made them, the oldest
    first.

    Raises:
        LedgerError: git breaks off.
    """
    found: dict[str, bytes] = {}
    told = []
    commits: dict[str, Commit] = {s.commit.id: s.commit for s in steps if s.commit.id}
    for place, commit in enumerate(list(commits.values())[:MOST_VERSIONS], 1):
        name = f"versions/{place:04}-{commit.short}.yaml"
        then = files_then(repository, objects, commit)
        try:
            data = then.read(path) if then.exists(path) else None
        except LedgerError:
            data = None
        if data is not None:
            found[name] = data
        what = "" if data is not None else " (the file is not in it)"
        author = plain_text(commit.author.encode())
        told.append(f"{commit.id} {commit.at.isoformat()} {author}: {commit.subject}{what}\n")
    return found | {"commits.txt": "".join(told).encode()}


def write(folder: Path, files: Mapping[str, bytes], root: Path) -> str:
    """Write a bundle; the digest of its list of digests, which stands for all of it.

    Args:
        folder: where to; it must not exist, or hold nothing.
        files: by their paths in it.
        root: the ledger, in which no bundle may lie.

    Raises:
        LedgerError: the folder is not empty, lies in the ledger, or cannot be written.
    """
    real = Path(folder).resolve()
    if real == root.resolve() or root.resolve() in real.parents:
        raise LedgerError(f"{folder}", "a bundle does not lie in the ledger", "name another folder")
    if real.exists() and not real.is_dir():
        raise LedgerError(f"{folder}", "this is no folder", "name a new one")
    try:
        folder.mkdir(exist_ok=True)
        if any(folder.iterdir()):
            text = "there is something in this folder already"
            raise LedgerError(f"{folder}", text, "name a new folder")
        sums = [
            f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items())
        ]
        listed = "".join(sums).encode()
        for name, data in (*sorted(files.items()), (SUMS, listed)):
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            atomic.swap(target, data)
        for each in {folder / Path(name).parent for name in files} | {folder, real.parent}:
            atomic.sync_folder(each)
    except OSError as error:
        raise from_os(f"{folder}", error) from error
    return hashlib.sha256(listed).hexdigest()
