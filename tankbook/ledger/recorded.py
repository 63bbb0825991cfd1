"""The acts that were recorded and that git does not have yet, with what they wrote.

A rebase that is given up, `git checkout -- .`, `git stash` and `git reset --hard` throw away what
is not committed. An act that was acknowledged and that neither the folder nor a branch holds any
more is told until it is given again or somebody says why.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.folder import Folder
from tankbook.ledger.githeads import places
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.gitread import ask
from tankbook.ledger.lock import private_folder
from tankbook.ledger.names import PRIVATE_FOLDER
from tankbook.ledger.note import Note
from tankbook.ledger.ordinary import ordinary
from tankbook.ledger.steps import digest
from tankbook.ledger.there import file_of, is_there
from tankbook.records.absence import SETTINGS_PATH, Explained, Gone
from tankbook.records.edits import AddEntry, AddLine, Edit, NewFile, SetValue
from tankbook.rules.vanished import explained, removed_in

RECORDED = f"{PRIVATE_FOLDER}/recorded"
_FORM = 1
_LARGEST = 16 << 20
MOST_ACTS = 1000
"""Acts on one file each that are kept, the newest."""
MOST_COMMITS = 100
"""Commits of a file in which an act is looked for, the newest."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """What an act wrote in one file: its note with the edits of this file, and the digests of the
    file before (None for no file) and after."""

    path: str
    old: str | None
    new: str
    note: Note

    def edits(self) -> tuple[Edit, ...]:
        """What tells the act: what it adds, and what it sets only where it adds nothing."""
        every = self.note.act_edits()
        return tuple(e for e in every if not isinstance(e, SetValue)) or every

    def missing(self, data: bytes | None) -> tuple[Edit, ...]:
        """The edits that a file does not hold."""
        return tuple(e for e in self.edits() if not _holds(e, data))


def _holds(edit: Edit, data: bytes | None) -> bool:
    return data is not None and (isinstance(edit, NewFile) or is_there(edit, data, grown=True))


def known(root: Path) -> tuple[Recorded, ...]:
    """What is noted, the oldest first; nothing where that cannot be read."""
    try:
        data: Any = json.loads(ordinary(root / RECORDED, RECORDED, _LARGEST, links=False))
        return tuple(map(_read, data["acts"])) if data["form"] == _FORM else ()
    except (OSError, LedgerError, ValueError, TypeError, KeyError, RecursionError, AttributeError):
        return ()


def _read(data: Mapping[str, Any]) -> Recorded:
    path, old = str(data["path"]), data["old"]
    note = Note.read(data["note"])
    if any(file_of(edit) != path for edit in note.act_edits()) or not path.isprintable():
        raise ValueError("an edit of another file")
    return Recorded(path, None if old is None else str(old), str(data["new"]), note)


def note(root: Path, said: Note, changes: Iterable[tuple[str, bytes | None, bytes]]) -> None:
    """Note what an act has written: for each file its path, what it was, what it is now.

    What an earlier act wrote and this one took out is no longer missed. Nothing is noted where the
    ledger is in no repository. Raises nothing.
    """
    changes = list(changes)
    if not changes or next(places(root), None) is None:
        return
    acts = list(known(root))
    for path, old, new in changes:
        acts = [a for a in acts if a.path != path or a.missing(new) == a.missing(old)]
        edits = tuple(e for e in said.edits if _path_of(e) == path)
        if edits:
            mine = Note(said.verb, said.subjects, said.sentence, said.by, said.at, edits)
            acts.append(Recorded(path, None if old is None else digest(old), digest(new), mine))
    _keep(root, acts)


def _path_of(edit: Mapping[str, Any]) -> str:
    cells = edit.get("cells")
    return file_of(AddLine(cells)) if cells is not None else str(edit["file"])


def forget(root: Path, paths: Iterable[str]) -> None:
    """Note that git has some files as they are now: what they hold of the acts is never missed
    again, nor what a commit held. Raises nothing."""
    asked, acts = set(paths), known(root)
    mine = [a for a in acts if a.path in asked]
    if mine:
        disk = Folder.of(root)
        gone = {id(a) for a, _ in _missing(root, disk, mine)}
        _keep(root, [a for a in acts if a.path not in asked or id(a) in gone])


def _keep(root: Path, acts: list[Recorded]) -> None:
    each = [{"path": a.path, "old": a.old, "new": a.new, "note": a.note.data()} for a in acts]
    data = {"form": _FORM, "acts": each[-MOST_ACTS:]}
    with suppress(OSError, LedgerError):
        folder = private_folder(root)
        if acts:
            atomic.swap(folder / "recorded", json.dumps(data, ensure_ascii=False).encode())
        else:
            with suppress(FileNotFoundError):
                os.unlink(folder / "recorded")  # noqa: PTH108 - as in `atomic`


def lost(root: Path) -> tuple[list[Gone], list[Explained]]:
    """What was recorded and neither the folder nor a branch holds any more: what nobody explained,
    and what an entry of `removed` speaks of. Nothing is written, and nothing raised."""
    acts = known(root)
    if not acts:
        return [], []
    disk = Folder.of(root)
    gone: dict[tuple[str, ...], Gone] = {}
    for act, edits in _missing(root, disk, acts):
        found = (_gone(act, edit, disk) for edit in edits)
        gone |= {each.key: each for each in found}
    unsaid: list[Gone] = []
    said: list[Explained] = []
    for path in {g.explain_in for g in gone.values()}:
        mine = [g for g in gone.values() if g.explain_in == path]
        data = disk.data.get(path)
        node = None if data is None else read_node(data, path)[0]
        left, told = explained(mine, (), removed_in(node, path))
        unsaid += left
        said += told
    return unsaid, said


def _missing(
    root: Path, disk: Folder, acts: Iterable[Recorded]
) -> list[tuple[Recorded, tuple[Edit, ...]]]:
    """The acts of which something is gone, each with the edits that are.

    A file that is as the last act left it holds what it should; one that cannot be read is told by
    whoever reads it.
    """
    acts = list(acts)
    in_place = _in_place(disk, acts)
    versions: dict[str, list[bytes]] = {}
    found = []
    for act in acts:
        data = disk.data.get(act.path)
        if id(act) in in_place or (data is None and disk.stands(act.path)):
            continue
        edits = act.missing(data)
        if edits and not _elsewhere(disk, act) and not _committed(root, act, versions):
            found.append((act, edits))
    return found


def _in_place(disk: Folder, acts: list[Recorded]) -> set[int]:
    """The acts that followed one another in a file that is as the last of them left it."""
    paths = {a.path for a in acts if a.path in disk.data}
    at: dict[str, str | None] = {path: digest(disk.data[path]) for path in paths}
    found = set()
    for act in reversed(acts):
        if at.get(act.path) == act.new:
            found.add(id(act))
            at[act.path] = act.old
    return found


def _elsewhere(disk: Folder, act: Recorded) -> bool:
    """Whether another file of the folder has it: a card that was renamed, a log that was split."""
    folder = act.path.rpartition("/")[0]
    others = [d for p, d in disk.data.items() if p != act.path and p.rpartition("/")[0] == folder]
    log = folder == "fills"
    if not folder or any(isinstance(e, NewFile) for e in act.edits()):
        return False
    if not log and act.path in disk.data:
        return False
    return any(not act.missing(data) for data in others)


def _committed(root: Path, act: Recorded, versions: dict[str, list[bytes]]) -> bool:
    """Whether a commit of a branch, or the one checked out, held it, whatever became of it since:
    git has it then, and tells what is gone. `versions` keeps what git said of each file."""
    if act.path not in versions:
        versions[act.path] = list(_versions(root, act.path))
    return any(not act.missing(data) for data in versions[act.path])


def _versions(root: Path, path: str) -> Iterator[bytes]:
    """A file as each commit had it that changed it, the newest first."""
    how = ("--format=%H", f"--max-count={MOST_COMMITS}", "HEAD", "--branches", "--remotes")
    try:
        names = ask(root, "log", *how, "--", path).decode().split()
    except LedgerError:
        return
    for name in names:
        with suppress(LedgerError):  # the commit that took the file out
            yield ask(root, "cat-file", "blob", f"{name}:./{path}")


def _gone(act: Recorded, edit: Edit, disk: Folder) -> Gone:
    path, place, what = act.path, "", act.path
    if isinstance(edit, AddLine):
        what = " ".join(edit.cells.get(name, "") for name in ("act", "at", "cylinder"))
    elif isinstance(edit, AddEntry | SetValue):
        place = ".".join(map(str, edit.trail))
        value = edit.entry if isinstance(edit, AddEntry) else None
        on = value.get("on", "") if isinstance(value, Mapping) else ""
        owner = "" if path.startswith("cylinders/") else path.rpartition("/")[2].split(".")[0]
        what = " ".join(filter(None, (owner, place, str(on))))
    own = path.startswith("cylinders/") and path in disk.data
    said = f"{act.note}"
    ids = _ids(act, edit)
    return Gone(
        path, what, ids=ids, place=place, said=said, explain_in=path if own else SETTINGS_PATH
    )


def _ids(act: Recorded, edit: Edit) -> tuple[str, ...]:
    """The cylinders and sets that it concerns; none for the ledger as a whole."""
    if isinstance(edit, AddLine):
        return tuple(filter(None, (edit.cells.get("cylinder", ""),)))
    folder, _, name = act.path.rpartition("/")
    return (name.removesuffix(".yaml"),) if folder in {"cylinders", "sets"} else ()
