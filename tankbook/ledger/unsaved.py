"""Two states of a ledger as one step of its history: what lies in its folder and is not committed,
or a commit that moved it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Files
from tankbook.ledger.gitfiles import AtCommit
from tankbook.ledger.gitlog import LOG_PATH, cells_of, is_line, is_read, node_of, plain_text
from tankbook.records.commits import Commit, FileStep, LineSeen, Step
from tankbook.rules.changes import FOLDERS, KINDS


def unsaved(files: AtCommit, disk: Files, now: dt.datetime) -> Step:
    """What lies in the ledger's folder and is not committed, as a step after its last commit.

    The files themselves are compared: git's index may be told to look away.

    Args:
        files: the ledger as its last commit has it.
        disk: the ledger in its folder.
        now: the moment it is asked.
    """
    return between(files, disk, Commit("", (files.commit.id,), "", now, now))


def between(files: AtCommit, later: Files, commit: Commit, parent: int = 0) -> Step:
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
            was, is_ = (_lines(path, data or b"") for data in (old, new))
            same = Counter(line.text for line in was) & Counter(line.text for line in is_)
            removed += _less(was, same.copy())
            added += _less(is_, same)
            if new is None:
                records.append(FileStep(path, None, None, True, False))
        elif is_read(path):
            before, after = (None if data is None else node_of(path, data) for data in (old, new))
            stood = files.exists(path), later.exists(path)
            records.append(FileStep(path, before, after, *stood))
    return Step(commit, parent, tuple(records), tuple(removed), tuple(added))


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


def _lines(path: str, data: bytes) -> list[LineSeen]:
    texts = enumerate(map(plain_text, data.split(b"\n")), 1)
    return [LineSeen(path, n, cells_of(text), text) for n, text in texts if is_line(text)]


def _less(lines: Iterable[LineSeen], same: Counter[str]) -> list[LineSeen]:
    """The lines that are more than the `same` ones."""
    left = []
    for line in lines:
        if same[line.text] > 0:
            same[line.text] -= 1
        else:
            left.append(line)
    return left
