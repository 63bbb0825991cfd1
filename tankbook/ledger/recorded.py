"""The acts that were recorded here and that no other copy has yet, with what they wrote.

A rebase that is given up, `git checkout -- .`, `git stash` and `git reset --hard` throw away what
is not committed; `git reset --hard HEAD~1`, `git rebase --skip` and `git branch -D` what is. An act
that was acknowledged and that neither the folder nor a branch holds any more is told until it is
given again or somebody says why.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tankbook.ledger.called import FOLDERS
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.folder import Folder
from tankbook.ledger.gitfiles import objects_of
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.gitread import SECONDS, ask
from tankbook.ledger.memory import Entry, Memory
from tankbook.ledger.note import Note
from tankbook.ledger.part import formerly_of
from tankbook.ledger.steps import digest
from tankbook.ledger.there import beside, file_of, holds
from tankbook.records.absence import SETTINGS_PATH, Explained, Gone
from tankbook.records.edits import AddEntry, AddLine, Edit, NewFile, SetValue
from tankbook.rules.vanished import explained, removed_in, serial_of

MOST_COMMITS = 100
"""Commits of a file in which an act is looked for, the newest."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """What an act wrote in one file: its note with the edits of this file, and the digests of the
    file before (None for no file) and after; the commit that has it, where one is known; what stood
    beside each of its edits; the serial of the card; where the ledger lay, in its repository, and
    in which working copy that was."""

    path: str
    old: str | None
    new: str
    note: Note
    commit: str = ""
    stood: tuple[Any, ...] = ()
    serial: tuple[str, ...] = ()
    ledger: str | None = None
    copy: str = ""

    def edits(self) -> tuple[Edit, ...]:
        """What tells the act: what it adds, and what it sets only where it adds nothing."""
        every = self.note.act_edits()
        return tuple(e for e in every if not isinstance(e, SetValue)) or every

    def is_beside(self, other: Recorded) -> bool:
        """Whether another file's part may be of the same act."""
        mine, theirs = self.note, other.note
        return (f"{mine}", mine.at, mine.subjects) == (f"{theirs}", theirs.at, theirs.subjects)

    def missing(self, data: bytes | None, others: Iterable[Recorded] = ()) -> tuple[Edit, ...]:
        """The edits that a file does not hold, where other acts put theirs into it too."""
        every = self.note.act_edits()
        stood = dict(zip(map(id, every), self.stood, strict=False))
        theirs = [e for a in others if a is not self and a.path == self.path for e in a.edits()]
        mine = tuple(e for e in every if not isinstance(e, SetValue)) or every
        return tuple(e for e in mine if not _holds(e, data, stood.get(id(e)), theirs))


def _holds(edit: Edit, data: bytes | None, stood: Any, others: Iterable[Edit]) -> bool:
    return data is not None and (isinstance(edit, NewFile) or holds(edit, data, stood, others))


def _known(entries: Iterable[Entry]) -> list[Recorded]:
    """What is noted, the oldest first, but for what cannot be read."""
    found = []
    for each in entries:
        with suppress(ValueError, TypeError, KeyError, AttributeError):
            found.append(_read(each))
    return found


def _read(data: Entry) -> Recorded:
    path, old = str(data["path"]), data["old"]
    note = Note.read(data["note"])
    if any(file_of(edit) != path for edit in note.act_edits()) or not path.isprintable():
        raise ValueError("an edit of another file")
    commit = str(data.get("commit", ""))
    if commit and not _COMMIT.fullmatch(commit):
        raise ValueError("no name of a commit")
    return Recorded(
        path=path,
        old=None if old is None else str(old),
        new=str(data["new"]),
        note=note,
        commit=commit,
        stood=tuple(data.get("stood", ())),
        serial=tuple(map(str, data.get("serial", ()))),
        ledger=str(data["ledger"]),
        copy=str(data["copy"]),
    )


def _data(act: Recorded) -> Entry:
    return (
        {"path": act.path, "old": act.old, "new": act.new, "note": act.note.data()}
        | ({"commit": act.commit} if act.commit else {})
        | ({"stood": act.stood} if any(act.stood) else {})
        | ({"serial": act.serial} if act.serial else {})
        | ({} if act.ledger is None else {"ledger": act.ledger, "copy": act.copy})
    )


_COMMIT = re.compile(r"[0-9a-f]{40}|[0-9a-f]{64}")


def note(root: Path, said: Note, changes: Iterable[tuple[str, bytes | None, bytes]]) -> None:
    """Note what an act has written: for each file its path, what it was, what it is now.

    What an earlier act wrote and this one took out is no longer missed. Nothing is noted where the
    ledger is in no repository. Raises nothing.
    """
    changes = list(changes)
    memory = Memory.of(root) if changes else None
    if memory is not None:
        with memory.changing() as kept:
            kept.keep(map(_data, _with(said, changes, _known(kept.entries))))


def _with(
    said: Note, changes: Iterable[tuple[str, bytes | None, bytes]], acts: list[Recorded]
) -> list[Recorded]:
    """The acts that are noted once another has written."""
    for path, old, new in changes:
        acts = [a for a in acts if a.path != path or a.missing(new, acts) == a.missing(old, acts)]
        edits = tuple(e for e in said.edits if _path_of(e) == path)
        if edits:
            mine = Note(said.verb, said.subjects, said.sentence, said.by, said.at, edits)
            stood = tuple(beside(e, old, new) for e in mine.act_edits())
            was = None if old is None else digest(old)
            acts.append(Recorded(path, was, digest(new), mine, "", stood, _serial(path, new)))
    return acts


def _serial(path: str, data: bytes) -> tuple[str, ...]:
    if not path.startswith("cylinders/"):
        return ()
    return serial_of(read_node(data, path)[0]) or ()


def _path_of(edit: Mapping[str, Any]) -> str:
    cells = edit.get("cells")
    return file_of(AddLine(cells)) if cells is not None else str(edit["file"])


def forget(root: Path, paths: Iterable[str]) -> None:
    """Note that the latest commit has some files as they are now, and forget the acts that a
    remote-tracking branch has: another copy does, then. Raises nothing."""
    memory = Memory.of(root)
    if memory is not None:
        with memory.changing() as kept:
            acts = _known(kept.entries)
            left = _without(root, set(paths), acts)
            if left != acts:
                kept.keep(map(_data, left))


def _without(root: Path, paths: set[str], acts: list[Recorded]) -> list[Recorded]:
    """The acts that no other copy has, each with its commit."""
    noted = {a.commit for a in acts if a.commit}
    # a rebase gave an act another commit
    orphans = noted - _reached(root, noted, "HEAD", "--branches", "--remotes")
    mine = [a for a in acts if a.commit in orphans or (a.path in paths and not a.commit)]
    found: dict[int, str] = {}
    for path in {a.path for a in mine}:
        found |= _committed(root, path, [a for a in mine if a.path == path])
    acts = [replace(a, commit=found.get(id(a), a.commit)) for a in acts]
    elsewhere = _reached(root, {a.commit for a in acts if a.commit}, "--remotes")
    return [a for a in acts if a.commit not in elsewhere]


def _ask(root: Path, *arguments: str) -> list[str]:
    """The lines of what git prints; none where it refuses."""
    try:
        return ask(root, *arguments).decode("utf-8", "replace").split()
    except LedgerError:
        return []


def _reached(root: Path, commits: Iterable[str], *tips: str) -> set[str]:
    """Those of some commits that are in the history of some branches."""
    names = sorted(commits)
    if not names or not _ask(root, "rev-parse", *tips):
        return set()
    try:
        known = ask(root, "rev-list", "--ignore-missing", "--no-walk", *names).decode().split()
        left = ask(root, "rev-list", *known, "--not", *tips).decode().split() if known else []
    except LedgerError:
        return set()
    return set(known) - set(left)


def lost(root: Path) -> tuple[list[Gone], list[Explained]]:
    """What was recorded and neither the folder nor a branch holds any more: what nobody explained,
    and what an entry of `removed` speaks of. Nothing is written, and nothing raised."""
    memory = Memory.of(root)
    acts = _known(memory.entries()) if memory else []
    if not acts:
        return [], []
    disk = Folder.of(root)
    missing: list[list[tuple[Recorded, tuple[Edit, ...]]]] = []
    for act, edits in _missing(root, disk, acts):
        last = [each for each, _ in missing[-1]] if missing else []
        if last and last[0].is_beside(act) and act.path not in {each.path for each in last}:
            missing[-1].append((act, edits))
        else:
            missing.append([(act, edits)])
    found = (gone for parts in missing for gone in _of_act(parts, disk))
    gone = {each.key: each for each in found}
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
    found = []
    for act in acts:
        data = disk.data.get(act.path)
        if id(act) in in_place or (data is None and disk.stands(act.path)):
            continue
        edits = act.missing(data, acts)
        if edits and not _elsewhere(disk, act, acts):
            found.append((act, edits))
    if not found:
        return []
    branches = _reached(
        root, {act.commit for act, _ in found if act.commit}, "HEAD", "--branches", "--remotes"
    )
    found = [(act, edits) for act, edits in found if act.commit not in branches]
    by_path: dict[str, list[Recorded]] = {}
    for act, _ in found:
        by_path.setdefault(act.path, []).append(act)
    held = {each for path, some in by_path.items() for each in _committed(root, path, some)}
    return [(act, edits) for act, edits in found if id(act) not in held]


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


def _elsewhere(disk: Folder, act: Recorded, acts: list[Recorded]) -> bool:
    """Whether another file of the folder has it: a card that was renamed, a log that was split."""
    folder = act.path.rpartition("/")[0]
    if not folder or any(isinstance(e, NewFile) for e in act.edits()):
        return False
    if folder in FOLDERS:
        others = _called(disk, act)
    else:
        others = [p for p in disk.data if p != act.path and p.rpartition("/")[0] == folder]
    if folder != "fills" and act.path in disk.data and not others:
        return False
    return any(not act.missing(disk.data[path], acts) for path in others)


def _called(disk: Folder, act: Recorded) -> list[str]:
    """The cards that go on for the card of an act, where that is gone or another cylinder's: those
    with its serial, and those that say they were called so and have no other serial."""
    folder, _, name = act.path.rpartition("/")
    nodes = {
        p: read_node(data, p)[0]
        for p, data in disk.data.items()
        if p.rpartition("/")[0] == folder and folder in FOLDERS
    }
    serials = {p: serial_of(node) or () for p, node in nodes.items()}
    here = act.path in nodes
    if here and (not act.serial or serials[act.path] in {(), act.serial}):
        return []
    found = []
    for path, node in nodes.items():
        same = bool(act.serial) and serials[path] == act.serial
        said = name.removesuffix(".yaml") in formerly_of(node)
        unsure = not act.serial or not serials[path]
        if path != act.path and (same or (said and unsure)):
            found.append(path)
    return found


def _committed(root: Path, path: str, acts: Iterable[Recorded]) -> dict[int, str]:
    """The acts on a file that a commit of a branch, or the one checked out, held, whatever became
    of them since, each with that commit: git has them then, and tells what is gone. Each version
    is read once."""
    acts = list(acts)
    left = {id(act): act for act in acts}
    held: dict[int, str] = {}
    for name, data in _versions(root, path):
        held |= {key: name for key, act in left.items() if not act.missing(data, acts)}
        left = {key: act for key, act in left.items() if key not in held}
        if not left:
            break
    return held


def _versions(root: Path, path: str) -> Iterator[tuple[str, bytes]]:
    """A file as each commit had it that changed it, with its name, the newest first."""
    how = ("--format=%H", f"--max-count={MOST_COMMITS}", "HEAD", "--branches", "--remotes")
    names = _ask(root, "log", *how, "--", path)
    with suppress(LedgerError):
        prefix = ask(root, "rev-parse", "--show-prefix").decode("utf-8", "surrogateescape")
        with objects_of(root, seconds=SECONDS) as objects:
            for name in names:
                # none in the commit that took the file out
                data = objects.blob(f"{name}:{prefix.removesuffix(chr(10))}{path}")
                if data is not None:
                    yield name, data


def _of_act(parts: list[tuple[Recorded, tuple[Edit, ...]]], disk: Folder) -> Iterator[Gone]:
    """What is gone of one act, told once for each card, or once if it is on none. What the act did
    beside a card is told with the first."""
    each: dict[str, Gone] = {}
    for act, edits in parts:
        told = next((e for e in edits if not isinstance(e, SetValue)), edits[0])
        gone = _gone(act, told, disk)
        gone = replace(gone, ids=tuple(dict.fromkeys(i for e in edits for i in _ids(act, e, disk))))
        key = act.path if act.path.startswith("cylinders/") else ""
        ids = (*each[key].ids, *gone.ids) if key in each else gone.ids
        each[key] = replace(each.get(key, gone), ids=tuple(dict.fromkeys(ids)))
    beside = each.pop("", None) if len(each) > 1 else None
    for number, gone in enumerate(each.values()):
        if beside is not None and number == 0:
            gone = replace(gone, ids=tuple(dict.fromkeys((*gone.ids, *beside.ids))))
        yield gone


def _gone(act: Recorded, edit: Edit, disk: Folder) -> Gone:
    path, place, what = act.path, "", act.path
    if isinstance(edit, AddLine):
        what = " ".join(edit.cells.get(name, "") for name in ("act", "at", "cylinder"))
    elif isinstance(edit, SetValue):
        what = f"{act.note.verb} {_day(act)}"
    elif isinstance(edit, AddEntry):
        place = ".".join(map(str, edit.trail))
        on = edit.entry.get("on", "") if isinstance(edit.entry, Mapping) else ""
        owner = "" if path.startswith("cylinders/") else path.rpartition("/")[2].split(".")[0]
        what = " ".join(filter(None, (owner, place, str(on))))
    own = path.startswith("cylinders/") and path in disk.data
    said = f"{act.note}"
    ids = _ids(act, edit, disk)
    return Gone(
        path, what, ids=ids, place=place, said=said, explain_in=path if own else SETTINGS_PATH
    )


def _day(act: Recorded) -> str:
    """The day of an act that goes on with an entry, as it says; else the day it was given."""
    values = (e.value for e in act.edits() if isinstance(e, SetValue))
    days = (v for v in values if isinstance(v, str) and _DAY.fullmatch(v))
    return next(days, f"{act.note.at:%Y-%m-%d}")


_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def _ids(act: Recorded, edit: Edit, disk: Folder) -> tuple[str, ...]:
    """The cylinders and sets that it concerns; none for the ledger as a whole."""
    if isinstance(edit, AddLine):
        return tuple(filter(None, (edit.cells.get("cylinder", ""),)))
    folder, _, name = act.path.rpartition("/")
    if folder not in FOLDERS:
        return ()
    paths = (name, *(p.rpartition("/")[2] for p in _called(disk, act)))
    return tuple(each.removesuffix(".yaml") for each in paths)
