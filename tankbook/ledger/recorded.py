"""The acts that were recorded here and that no other copy has yet, with what they wrote.

A rebase that is given up, `git checkout -- .`, `git stash` and `git reset --hard` throw away what
is not committed; `git reset --hard HEAD~1`, `git rebase --skip` and `git branch -D` what is. An act
that was acknowledged and that neither the folder nor a branch holds any more is told until it is
given again or somebody says why.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from functools import cache
from itertools import product
from pathlib import Path
from types import MappingProxyType
from typing import Any, cast

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger.called import goes_on, is_gone, mark_of
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Folder
from tankbook.ledger.gitfiles import objects_of
from tankbook.ledger.githeads import RepositoryPlace
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.gitread import SECONDS, ask
from tankbook.ledger.memory import Memory, MemoryEntry, path_prefix
from tankbook.ledger.names import CARDS
from tankbook.ledger.note import Note
from tankbook.ledger.shipped import out_of_use
from tankbook.ledger.splice import Append, SpliceValue, splice
from tankbook.ledger.steps import digest
from tankbook.ledger.text import printable
from tankbook.ledger.there import (
    beside,
    differs,
    file_of,
    holds,
    is_again,
    mended,
    resembles,
    stands,
)
from tankbook.records.absence import SETTINGS_PATH, Explained, Gone, How, folded_name
from tankbook.records.edits import AddEntry, AddLine, Edit, NewFile, SetValue
from tankbook.records.node import MappingNode, Node, Scalar
from tankbook.rules.vanished import entries_gone, explained, removed_in, stem
from tankbook.units import GaugePressure, UnitError
from tankbook.units.patterns import pattern

_CARDS = tuple(f"{folder}/" for folder in CARDS)

MOST_COMMITS = 100
"""Commits of a file in which an act is looked for, the newest."""


class RecordedFile(Struct, frozen=True):
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
        return tuple(edit for edit, _ in self._pairs())

    def is_beside(self, other: RecordedFile) -> bool:
        """Whether another file's part may be of the same act."""
        mine, theirs = self.note, other.note
        return (f"{mine}", mine.at, mine.subjects) == (f"{theirs}", theirs.at, theirs.subjects)

    def missing(self, data: bytes | None) -> tuple[Edit, ...]:
        """The edits that a file does not hold, word for word."""
        return tuple(e for e, stood in self._pairs() if not _holds(e, data, stood))

    def taken_out(self, now: Sequence[bytes], others: Iterable[RecordedFile]) -> bool:
        """Whether something of it is in none of some files, mended by whomever."""
        theirs = [e for a in others if a is not self and a.path == self.path for e in a.edits()]
        pairs = self._pairs()
        return any(
            not any(
                _holds(e, d, stood) or resembles(e, d, stood, [*theirs, *_besides(e, pairs)])
                for d in now
            )
            for e, stood in pairs
        )

    def mends(self, data: bytes, others: Iterable[RecordedFile]) -> list[tuple[Edit, list[Any]]]:
        """The edits that a file does not hold, each with what there may be it, mended by hand,
        where other acts put theirs into it too."""
        left = [(e, stood) for e, stood in self._pairs() if not _holds(e, data, stood)]
        if not left:
            return []
        theirs = [e for a in others if a is not self and a.path == self.path for e in a.edits()]
        pairs = self._pairs()
        return [(e, mended(e, data, stood, [*theirs, *_besides(e, pairs)])) for e, stood in left]

    def _pairs(self) -> list[tuple[Edit, Any]]:
        """The edits that tell the act, each with what stood beside it."""
        every = self.note.act_edits()
        stood = [*self.stood, *(None for _ in every)]
        adds = any(not isinstance(e, SetValue) for e in every)
        pairs = zip(every, stood, strict=False)
        return [(e, s) for e, s in pairs if not (adds and isinstance(e, SetValue))]


def _besides(edit: Edit, pairs: Iterable[tuple[Edit, Any]]) -> list[Edit]:
    """The other edits of an act."""
    return [each for each, _ in pairs if each is not edit]


def _holds(edit: Edit, data: bytes | None, stood: Any) -> bool:
    if data is None or isinstance(edit, NewFile):
        return data is not None
    return holds(edit, data, stood)


def _known(entries: Iterable[MemoryEntry]) -> list[RecordedFile]:
    """What is noted, the oldest first, but for what cannot be read."""
    found = []
    for each in entries:
        with suppress(ValueError, TypeError, KeyError, AttributeError):
            found.append(_read(each))
    return found


def _read(data: MemoryEntry) -> RecordedFile:
    path, old = str(data["path"]), data["old"]
    note = Note.read(data["note"])
    if any(file_of(edit) != path for edit in note.act_edits()) or not path.isprintable():
        raise ValueError("an edit of another file")
    commit = str(data.get("commit", ""))
    if commit and not _COMMIT.fullmatch(commit):
        raise ValueError("no name of a commit")
    return RecordedFile(
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


def _data(act: RecordedFile) -> MemoryEntry:
    return (
        {"path": act.path, "old": act.old, "new": act.new, "note": act.note.data()}
        | ({"commit": act.commit} if act.commit else {})
        | ({"stood": act.stood} if any(act.stood) else {})
        | ({"serial": act.serial} if act.serial else {})
        | ({} if act.ledger is None else {"ledger": act.ledger, "copy": act.copy})
    )


_COMMIT = pattern(r"[0-9a-f]{40}|[0-9a-f]{64}")


def note(root: Path, said: Note, changes: Iterable[tuple[str, bytes | None, bytes]]) -> None:
    """Note what an act has written: for each file its path, what it was, what it is now.

    What an earlier act wrote and this one took out is no longer missed. Nothing is noted where the
    ledger is in no repository. Raises nothing.
    """
    changes = list(changes)
    memory = Memory.of(root) if changes else None
    if memory is not None:
        with memory.changing() as kept:
            older = _known(kept.entries)
            acts = _with(said, changes, older)
            # where commits are made by hand nothing else says which have the older acts
            paths = {path for path, _, _ in changes}
            kept.keep(map(_data, _without(memory, paths, acts, {id(a) for a in older})))


def _with(
    said: Note, changes: Iterable[tuple[str, bytes | None, bytes]], acts: list[RecordedFile]
) -> list[RecordedFile]:
    """The acts that are noted once another has written."""
    for path, old, new in changes:
        edits = tuple(e for e in said.edits if _path_of(e) == path)
        mine = Note(said.verb, said.subjects, said.sentence, said.by, said.at, edits)
        given = mine.act_edits()
        acts = [a for a in acts if a.path != path or a.missing(new) == a.missing(old)]
        acts = [a for a in acts if a.path != path or not _is_given_again(a, new, given)]
        if edits:
            stood = tuple(beside(e, old, new) for e in mine.act_edits())
            was = None if old is None else digest(old)
            mark = mark_of(path, read_node(new, path)[0]) if path.startswith(_CARDS) else ()
            acts.append(RecordedFile(path, was, digest(new), mine, "", stood, mark))
    return acts


def _is_given_again(act: RecordedFile, data: bytes, edits: Sequence[Edit]) -> bool:
    """Whether all that a file lacks of an act is given again, at whatever time."""
    lost = act.missing(data)
    return bool(lost) and all(any(is_again(each, e) for e in edits) for each in lost)


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
            left = _without(memory, set(paths), acts)
            if left != acts:
                kept.keep(map(_data, left))


def _without(
    memory: Memory, paths: set[str], acts: list[RecordedFile], older: Container[int] | None = None
) -> list[RecordedFile]:
    """The acts that no other copy has, each with its commit; one that is not among the `older` can
    be in none."""
    root = memory.root
    noted = {a.commit for a in acts if a.commit}
    # a rebase gave an act another commit
    orphans = noted - _reached(root, noted, "HEAD", "--branches", "--remotes")
    mine = [a for a in acts if a.commit in orphans or (a.path in paths and not a.commit)]
    mine = [a for a in mine if older is None or id(a) in older]
    found: dict[int, str] = {}
    for path in {a.path for a in mine}:
        found |= _committed(memory, path, [a for a in mine if a.path == path], acts).commits
    renamed = [a for a in acts if not a.commit and id(a) not in found and is_gone(root, a.path)]
    here = FolderNodes(Folder.of(root) if renamed else Folder())
    for act in renamed:
        for path in here.called(act):
            found |= _committed(memory, path, [act], acts).commits
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


class LostActs(Struct, frozen=True):
    """What was recorded and this folder does not hold: what nobody explained, what an entry of
    `removed` speaks of, and what stands elsewhere and tells against nothing."""

    gone: tuple[Gone, ...] = ()
    explained: tuple[Explained, ...] = ()
    apart: tuple[Gone, ...] = ()


class _MissingAct(Struct, frozen=True):
    """An act of which something is missing here: the edits, and where they stand instead; or the
    keys in which what stands here was mended by hand and git has not yet; or that a later commit
    took it out."""

    act: RecordedFile
    edits: tuple[Edit, ...]
    kept: str = ""
    altered: tuple[str, ...] = ()
    undone: bool = False


def lost(root: Path) -> LostActs:
    """What was recorded and neither the folder nor what is checked out has held. Nothing is
    written, and nothing raised."""
    memory = Memory.of(root)
    acts = _known(memory.entries()) if memory else []
    if memory is None or not acts:
        return LostActs()
    here = FolderNodes(Folder.of(root))
    missing: list[list[_MissingAct]] = []
    for each in _missing(memory, here, acts):
        last = missing[-1] if missing else []
        beside = last and last[0].act.is_beside(each.act) and _stands(last[0]) == _stands(each)
        if beside and each.act.path not in {m.act.path for m in last}:
            last.append(each)
        else:
            missing.append([each])
    unsaid: dict[tuple[str, ...], Gone] = {}
    harmless, renamed = set(), set()
    for parts in missing:
        for one in _of_act(parts, here):
            unsaid[one.key] = one
            if any(here.called(part.act) for part in parts):
                renamed.add(one.key)
            harmless_there = one.kept and not any(_speaks_against(part, here) for part in parts)
            if harmless_there or parts[0].altered:
                harmless.add(one.key)
    left: list[Gone] = []
    said: list[Explained] = []
    # who says why a card is gone says so of all that stood in it
    files = {folded_name(r.what): r for r in removed_in(here.get(SETTINGS_PATH), SETTINGS_PATH)}
    for key, one in list(unsaid.items()):
        whole = one.path.startswith(_CARDS) and one.path not in here
        if folded_name(one.path) in files and whole and key not in renamed:
            said.append(Explained(unsaid.pop(key), files[folded_name(one.path)]))
    for path in {g.explain_in for g in unsaid.values()}:
        mine = [g for g in unsaid.values() if g.explain_in == path]
        unexplained, told = explained(mine, (), removed_in(here.get(path), path))
        left += unexplained
        said += told
    gone = tuple(g for g in left if g.key not in harmless)
    return LostActs(gone, tuple(said), tuple(g for g in left if g.key in harmless))


def _stands(missing: _MissingAct) -> tuple[str, bool, bool]:
    return missing.kept, bool(missing.altered), missing.undone


def _speaks_against(missing: _MissingAct, here: FolderNodes) -> bool:
    """Whether what is missing may tell against its cylinder, set or station."""
    return any(_is_against(edit, here) for edit in missing.act.note.act_edits())


_OF_RELEASE = ("released", "released_by", "released_why", "released_bled")
_ENDS = (*_OF_RELEASE, "clears", "status", "back", "back_by")
"""What an act sets where it lets a cylinder go or takes it back."""


def _is_against(edit: Edit, here: FolderNodes) -> bool:
    if isinstance(edit, AddLine):
        return not _is_plain(edit.cells, here.get(f"cylinders/{edit.cells.get('cylinder')}.yaml"))
    if isinstance(edit, SetValue):
        # a correction may strike out what spoke for it; a return may tell of damage
        return edit.trail[-1] not in _ENDS and (edit.trail[-1], edit.value) != ("valve", "closed")
    try:
        text = edit.text if isinstance(edit, NewFile) else _alone(edit)
    except LedgerError:
        return True
    node = read_node(text.encode(), edit.file)[0]
    return node is None or any(entries_gone(edit.file, node, None, out_of_use()))


def _is_plain(cells: Mapping[str, str], card: Node | None) -> bool:
    """Whether a line can tell against nothing, whatever limits there are: a reading or a fill of
    air, with nothing said besides, to a pressure between a tenth of the service pressure (own
    bound) and that."""
    said = {name for name, cell in cells.items() if cell}
    rated = card.get("service_pressure") if isinstance(card, MappingNode) else None
    if not isinstance(rated, Scalar):
        return False
    try:
        top, read = GaugePressure.parse(rated.text), GaugePressure.parse(cells.get("to", ""))
    except UnitError:
        return False
    plain = cells.get("act") in ("reading", "fill") and cells.get("gas") in (None, "", "air")
    return plain and said <= _USUAL and top.pa / 10 <= read.pa <= top.pa


_USUAL = {"at", "cylinder", "act", "from", "to", "temperature", "gas", "by", "source", "position"}


def _alone(edit: AddEntry) -> str:
    """A file with nothing in it but an entry. Raises LedgerError."""
    trail = tuple(key for key in edit.trail if isinstance(key, str))
    return splice("", [Append(trail, cast("SpliceValue", edit.entry))], edit.file)


class FolderNodes(Mapping[str, Node | None]):
    """The files of a folder as nodes, each read once, and when it is asked for; those of one folder
    in it alone, where that is named."""

    def __init__(self, disk: Folder, within: str = "") -> None:
        self.disk = disk
        self._within = within
        self._nodes: dict[str, Node | None] = {}

    def __getitem__(self, path: str) -> Node | None:
        if path not in self._nodes:
            self._nodes[path] = read_node(self.disk.data[path], path)[0]
        return self._nodes[path]

    def __iter__(self) -> Iterator[str]:
        return (p for p in self.disk.data if p.rpartition("/")[0].startswith(self._within))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __contains__(self, path: object) -> bool:
        return path in self.disk.data

    def beside(self, act: RecordedFile) -> list[str]:
        """The other files of the folder of an act, where it is no card: a log that was split."""
        folder = act.path.rpartition("/")[0]
        others = (p for p in self.disk.data if p.rpartition("/")[0] == folder and p != act.path)
        return [*others] if folder and folder not in CARDS else []

    def called(self, act: RecordedFile) -> list[str]:
        """The cards that go on for the one of an act, where that is gone or another's."""
        folder = act.path.rpartition("/")[0]
        if folder not in CARDS:
            return []
        cards = FolderNodes(self.disk, folder)
        cards._nodes = self._nodes
        return goes_on(act.path, act.serial, cards)


def _missing(memory: Memory, here: FolderNodes, acts: list[RecordedFile]) -> list[_MissingAct]:
    """The acts of which something is missing, each with the edits that are.

    A file that is as the last act left it holds what it should; one that cannot be read is told by
    whoever reads it. What is checked out and was not committed, git tells; what tells against
    nothing and a later commit took out, nobody has to.
    """
    root = memory.root
    found = _lacking(here.disk, acts)
    if not found:
        return []
    checked_out = _reached(root, {m.act.commit for m in found if m.act.commit}, "HEAD")
    undone = _undone(memory, here, found, acts, checked_out)
    found = [m for m in found if m.act.commit not in checked_out or id(m.act) in undone]
    found = [m for m in found if not _elsewhere(here, m.act)]
    kept: dict[int, str] = {}
    for copy in {m.act.copy for m in found}:
        folder = memory.other(copy)
        if folder is not None:
            there = [m.act for m in found if m.act.copy == copy]
            theirs = FolderNodes(Folder.of(folder))
            lost = {id(m.act) for m in _lacking(theirs.disk, there)}
            has = (a for a in there if id(a) not in lost or _elsewhere(theirs, a))
            kept |= {id(a): f"the working copy {copy}" for a in has}
    commits = {id(m.act): m.act.commit for m in found if m.act.commit not in ("", *checked_out)}
    held = _reached(root, commits.values(), "--branches", "--remotes")
    commits = {key: name for key, name in commits.items() if name in held}
    unknown = [m.act for m in found if id(m.act) not in commits]
    altered: dict[int, tuple[str, ...] | None] = {}
    taken_out: set[int] = set()
    for path in {a.path for a in unknown}:
        mine = [a for a in unknown if a.path == path]
        told = _committed(memory, path, mine, acts, here.disk.data.get(path), undone)
        commits |= told.commits
        altered |= {key: keys or None for key, keys in told.altered.items()}
        taken_out |= told.undone
    well = _reached(root, commits.values(), "HEAD", "--remotes")
    kept |= dict.fromkeys(altered, "")
    for key, name in commits.items():
        kept.setdefault(key, f"branch {_branch(root, name)}")
    found = [m for m in found if commits.get(id(m.act)) not in well]
    return [
        replace(
            m,
            kept=printable(kept.get(id(m.act), "")),
            altered=keys,
            undone=id(m.act) in taken_out or m.act.commit in checked_out,
        )
        for m in found
        if (keys := altered.get(id(m.act), ())) is not None  # a slip of the pen is not told
    ]


def _undone(
    memory: Memory,
    here: FolderNodes,
    missing: list[_MissingAct],
    acts: list[RecordedFile],
    checked_out: set[str],
) -> dict[int, list[bytes]]:
    """The acts that may tell against something and that neither the folder nor what is checked out
    holds, each with the files in which it may stand in other words: where a commit of its history
    held it, a later one may have taken it out, as `git revert` does. One of a known commit is not
    told where something there resembles it."""
    against = [m.act for m in missing if _speaks_against(m, here)]
    found: dict[int, list[bytes]] = {}
    if not against:
        return found
    pushed = _reached(memory.root, {a.commit for a in against} & checked_out, "--remotes")
    with suppress(LedgerError), objects_of(memory.place.top, seconds=SECONDS) as objects:
        blob = cache(objects.blob)
        for act in against:
            paths = dict.fromkeys((act.path, *here.called(act), *here.beside(act)))
            if not all(act.missing(blob(f"HEAD:{path_prefix(memory.ledger)}{p}")) for p in paths):
                continue
            now = [here.disk.data[p] for p in paths if p in here.disk.data]
            settled = act.commit in pushed or not act.taken_out(now, acts)
            if not (act.commit in checked_out and settled):
                found[id(act)] = now
    return found


def _branch(root: Path, commit: str) -> str:
    """The first branch that has a commit."""
    how = ("--format=%(refname:short)", "--count=1", f"--contains={commit}", "refs/heads")
    return next(iter(_ask(root, "for-each-ref", *how)), commit[:10])


def _lacking(disk: Folder, acts: list[RecordedFile]) -> list[_MissingAct]:
    """The acts of which a folder does not hold all in the file where it was written."""
    in_place, found = _in_place(disk, acts), []
    for act in acts:
        data = disk.data.get(act.path)
        if id(act) not in in_place and (data is not None or not disk.stands(act.path)):
            edits = act.missing(data)
            found += [_MissingAct(act, edits)] if edits else []
    return found


def _in_place(disk: Folder, acts: list[RecordedFile]) -> set[int]:
    """The acts that followed one another in a file that is as the last of them left it."""
    paths = {a.path for a in acts if a.path in disk.data}
    at: dict[str, str | None] = {path: digest(disk.data[path]) for path in paths}
    found = set()
    for act in reversed(acts):
        if at.get(act.path) == act.new:
            found.add(id(act))
            at[act.path] = act.old
    return found


def _elsewhere(here: FolderNodes, act: RecordedFile) -> bool:
    """Whether another file of the folder has it: a card that was renamed, a log that was split."""
    others = here.beside(act) or here.called(act)
    return any(not act.missing(here.disk.data[path]) for path in others)


class _Told(Struct):
    """What git tells of acts on a file: the commit that has one; or the keys in which a hand
    mended one that no commit has yet; and which a later commit took out."""

    commits: dict[int, str]
    altered: dict[int, tuple[str, ...]]
    undone: set[int]


def _committed(
    memory: Memory,
    path: str,
    acts: Iterable[RecordedFile],
    every: list[RecordedFile],
    disk: bytes | None = None,
    undone: Mapping[int, Sequence[bytes]] = MappingProxyType({}),
) -> _Told:
    """What git tells of acts on a file. What a commit of a branch, or the one checked out, held,
    whatever became of it since, git has, and tells what is gone; but for the acts `undone`, which
    what is checked out no longer holds. Each version is read once.

    What another machine committed is its own, however like: only what came with commits made here
    is taken for an act that was mended by hand, or what is in no commit yet.
    """
    acts = list(acts)
    left = {id(act): act for act in acts}
    found: dict[int, dict[str, _Candidate]] = {key: {} for key in left}
    told = _Told({}, {}, set())

    def look(data: bytes) -> Iterator[_Candidate]:
        for act in left.values():
            for edit, values in act.mends(data, every) if act.path == path else ():
                for value in values:
                    found[id(act)].setdefault(repr(value), _Candidate(edit, value, []))
            yield from (c for c in found[id(act)].values() if stands(c.edit, data, c.value))

    for _ in look(disk) if disk is not None else ():
        pass
    # what is checked out before any branch
    tips = (("HEAD",), ("--branches", "--remotes"), tuple(memory.place.merged()))
    for name, data, before in _versions(memory, path, left.values(), *filter(None, tips)):
        told.commits |= {key: name for key, act in left.items() if not act.missing(data)}
        left = {key: act for key, act in left.items() if key not in told.commits}
        if not left:
            break
        past = None
        for one in look(data):
            past = before() if past is None else past
            one.seen = True
            if not any(stands(one.edit, then, one.value) for then in past):
                one.came.append(name)
    again = {key: name for key, name in told.commits.items() if key in undone}
    behind = _reached(memory.root, again.values(), "HEAD") if again else set()
    behind -= _reached(memory.root, behind, "--remotes")  # another copy has it
    for act in acts:
        key = id(act)
        if again.get(key) in behind and act.taken_out(undone[key], every):
            left[key] = act
            told.undone.add(key)
            del told.commits[key]
    came = {name for key in left for one in found[key].values() for name in one.came}
    here = _made_here(memory.place, came) if came else set()
    taken: set[str] = set()
    for key, act in left.items():
        now = undone.get(key)
        for said, one in found[key].items() if len(act.edits()) == 1 else ():
            if now is not None and not any(stands(one.edit, data, one.value) for data in now):
                continue  # what a hand made of it was taken out as well
            if said not in taken and (here.issuperset(one.came) if one.came else not one.seen):
                taken.add(said)
                if one.came:
                    told.commits[key] = one.came[0]
                else:
                    told.altered[key] = differs(one.edit, one.value)
                break
    told.undone &= left.keys() - told.commits.keys() - told.altered.keys()
    return told


def _versions(
    memory: Memory, path: str, acts: Iterable[RecordedFile], *tips: tuple[str, ...]
) -> Iterator[tuple[str, bytes, Callable[[], list[bytes | None]]]]:
    """A file, by the paths it had in a repository, as each commit had it that changed it, with its
    name, the newest first of each of some tips in turn; and what it was in the commits before."""
    place = memory.place
    lay = dict.fromkeys((memory.ledger, *(a.ledger or "" for a in acts)))  # it may have moved
    paths = [f"{path_prefix(ledger)}{path}" for ledger in lay]
    how = ("--format=%H", f"--max-count={MOST_COMMITS}")
    names: dict[str, None] = {}
    for each in tips:
        with suppress(LedgerError):
            names |= dict.fromkeys(place.ask("log", *how, *each, "--", *paths).split())
    if not names:
        return
    with suppress(LedgerError), objects_of(place.top, seconds=SECONDS) as objects:
        for name, file in product(names, paths):
            data = objects.blob(f"{name}:{file}")  # none in the commit that took the file out
            if data is not None:
                before = (f"{name}^{parent}:{file}" for parent in (1, 2))
                yield name, data, lambda before=before: list(map(objects.blob, before))  # type: ignore[misc]


class _Candidate(Struct):
    """What may be an edit, mended by hand; the commits that it came with, and whether any had it
    at all."""

    edit: Edit
    value: Any
    came: list[str]
    seen: bool = False


def _made_here(place: RepositoryPlace, commits: Iterable[str]) -> set[str]:
    """Those of some commits that were made on this machine, or rebased from such, as git's own
    journal of the branches here tells: who wrote them, when, and in what words."""
    who = "%an%x00%ae%x00%at%x00%s"
    try:
        journal = place.ask("log", "-g", f"--format={who}%x00%gs", "HEAD", "--branches")
        known = place.ask("log", "--no-walk", f"--format=%H%x00{who}", *commits)
    except LedgerError:
        return set()
    lines = (line.rsplit("\0", 1) for line in journal.split("\n") if "\0" in line)
    made = {said for said, how in lines if how.startswith("commit")}
    each = (line.split("\0", 1) for line in known.split("\n") if "\0" in line)
    return {name for name, said in each if said in made}


def _of_act(parts: list[_MissingAct], here: FolderNodes) -> Iterator[Gone]:
    """What is gone of one act, told once for each card, or once if it is on none. What the act did
    beside a card is told with the first."""
    each: dict[str, Gone] = {}
    for part in parts:
        act, edits = part.act, part.edits
        told = next((e for e in edits if not isinstance(e, SetValue)), edits[0])
        ids = dict.fromkeys(i for e in edits for i in _ids(act, e, here))
        gone = replace(_gone(act, told, here.disk), ids=tuple(ids), kept=part.kept)
        if part.altered:
            gone = replace(gone, how=How.ALTERED, differs=part.altered)
        elif part.undone:
            gone = replace(gone, how=How.TAKEN_OUT)
        key = act.path if act.path.startswith("cylinders/") else ""
        both = (*each[key].ids, *gone.ids) if key in each else gone.ids
        each[key] = replace(each.get(key, gone), ids=tuple(dict.fromkeys(both)))
    beside = each.pop("", None) if len(each) > 1 else None
    for number, gone in enumerate(each.values()):
        if beside is not None and number == 0:
            gone = replace(gone, ids=tuple(dict.fromkeys((*gone.ids, *beside.ids))))
        yield gone


def _gone(act: RecordedFile, edit: Edit, disk: Folder) -> Gone:
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
    return Gone(path, what, place=place, said=said, explain_in=path if own else SETTINGS_PATH)


def _day(act: RecordedFile) -> str:
    """The day of an act that goes on with an entry, as it says; else the day it was given."""
    values = (e.value for e in act.edits() if isinstance(e, SetValue))
    days = (v for v in values if isinstance(v, str) and _DAY.fullmatch(v))
    return next(days, f"{act.note.at:%Y-%m-%d}")


_DAY = pattern(r"\d{4}-\d{2}-\d{2}")


def _ids(act: RecordedFile, edit: Edit, here: FolderNodes) -> tuple[str, ...]:
    """The cylinders and sets that it concerns; none for the ledger as a whole."""
    if isinstance(edit, AddLine):
        return tuple(filter(None, (edit.cells.get("cylinder", ""),)))
    if not act.path.startswith(_CARDS):
        return ()
    return tuple(map(stem, (act.path, *here.called(act))))
