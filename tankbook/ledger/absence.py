"""What stood in a ledger's latest commit, or in a side of a merge, and is gone from its folder.

The files themselves are compared with git's objects: neither git's index nor its filters are asked.
Nothing is written, no lock is taken, and nothing is run that a repository names.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.ledger import memory, recorded
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Folder, lf
from tankbook.ledger.gitfiles import AtCommit
from tankbook.ledger.githeads import LedgerCommits, RepositoryPlace, held_at, places
from tankbook.ledger.gitlog import lines_seen, read_node
from tankbook.ledger.names import ENDINGS, LOGS, SINGLE, STATION_FILE, is_record
from tankbook.ledger.ordinary import size_limit_of
from tankbook.ledger.part import formerly_of
from tankbook.ledger.quick import Later, plain
from tankbook.ledger.shipped import out_of_use
from tankbook.ledger.since import Before, Since, not_asked, since_checkpoint
from tankbook.ledger.text import printable, read_text
from tankbook.records.absence import (
    SETTINGS_PATH,
    Absence,
    Explained,
    Gone,
    Heads,
    Quiet,
    Unseen,
)
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.commits import LineSeen
from tankbook.records.counter import COUNTER_FILE
from tankbook.records.cylinder import Cylinder
from tankbook.records.node import Node
from tankbook.records.quick import quick_read
from tankbook.rules.changes import sort_out
from tankbook.rules.vanished import (
    card_gone,
    checklist_gone,
    checkpoints_gone,
    entries_gone,
    entries_quiet,
    explained,
    keeps_all,
    lines_gone,
    members,
    put_back,
    removed_in,
    rows_gone,
    same_serial,
    serial_of,
    set_gone,
    settings_gone,
    stem,
    tells_nothing,
    with_ids,
)

_KEEP = "keep the records themselves in the ledger"
_COMMIT = "commit the ledger, its settings too"
_TAKE_OUT = "see that no act of the last days is missing; then take that file out"


def look(root: Path, *, history: bool = True, instead: Folder | None = None) -> Absence:
    """What is gone from the ledger in a folder, held against git: the latest commit, the sides of
    a merge, and each commit since the last checkpoint.

    Whatever stands in the way is told in the answer (`unseen`); nothing is raised. Acts that were
    interrupted are not finished here, so that is to be done before.

    Args:
        root: the ledger's folder.
        history: whether the commits since the last checkpoint are asked.
        instead: files that are looked at in the place of those in the folder, such as what is
            staged. What was recorded on this machine is not missed in them: it may wait.
    """
    found: list[Absence] = []
    disk = instead
    for place in places(root):
        disk = disk or Folder.of(root)
        found.append(_looked_in(place, root, disk, history))
        if found[-1].heads.holds or found[-1].gone:
            break
    unseen = chain.from_iterable(each.unseen for each in found)
    holds = [each for each in found if each.heads.holds or each.gone]
    best = next(iter([*holds, *found]), Absence())
    seen = tuple(unseen)
    if not holds and best.heads.exists:
        seen += (Unseen("", "the latest commit has no `tankbook.yaml` of this ledger", _COMMIT),)
    if history and not best.heads.holds and best.unproved is None:
        # whoever audited it had git, and what went since is known to git alone
        best = replace(best, unproved=not_asked(root, seen, begun=bool(found)))
    acts = recorded.lost(root) if found and instead is None else recorded.LostActs()
    if found and (damaged := memory.damaged_in(root)) is not None:
        where = printable(os.path.relpath(damaged, root))
        why = f"what was recorded on this machine cannot be read: {where}"
        seen += (Unseen("", why, _TAKE_OUT),)
    gone, told = (*best.gone, *acts.gone), (*best.explained, *acts.explained)
    return replace(best, gone=gone, unseen=seen, explained=told, apart=acts.apart)


def _looked_in(place: RepositoryPlace, root: Path, disk: Folder, history: bool) -> Absence:
    try:
        with place.objects() as objects:
            held = held_at(place, objects, root)
            past = since_checkpoint(place, objects, held, disk) if history else Since()
            return _compared(held, disk, past)
    except LedgerError as error:
        why = _why(place) or error
        return Absence(Heads(under_git=True), unseen=(Unseen("", why.text, why.mend),))


def _why(place: RepositoryPlace) -> LedgerError | None:
    """Why git broke off, if it says so when asked for little."""
    try:
        place.ask("rev-parse", "--git-dir")
    except LedgerError as error:
        return place.no_repository() if "not in a git repository" in error.text else error
    return None


def _compared(held: LedgerCommits, disk: Folder, past: Since) -> Absence:
    gone: dict[tuple[str, ...], Gone] = {}
    told: dict[tuple[str, ...], Explained] = {}
    quiet: dict[tuple[str, ...], Quiet] = {}
    renamed: dict[str, str] = {}
    unseen = {(u.path, u.why): u for u in held.unseen}
    nodes = _Nodes(disk)
    heads = (_Comparison(then, disk, nodes) for then in held.commits)
    before = (
        _Comparison(b.then, disk, nodes, b.paths, past.before[place:])
        for place, b in enumerate(past.before, 1)
    )
    for each in chain(heads, before):
        each.compare()
        same = {_whose(g) for g in gone.values()}  # it was called otherwise then
        gone = {g.key: g for g in each.gone if _whose(g) not in same} | gone
        told = {e.gone.key: e for e in each.told} | told
        quiet = {q.gone.key: q for q in each.quiet} | quiet
        renamed = each.renamed | renamed
        unseen = {(u.path, u.why): u for u in each.unseen} | unseen
    in_order = sorted(gone.values(), key=lambda g: (g.path, g.line, g.what))
    return Absence(
        held.heads,
        tuple(in_order),
        tuple(unseen.values()),
        tuple(told.values()),
        tuple(quiet.values()),
        tuple(renamed.items()),
        past.audited,
        past.unproved,
    )


def _whose(gone: Gone) -> tuple[str, ...]:
    """What is gone, by the file it would stand in now."""
    return gone.explain_in, gone.path if "/" not in gone.explain_in else "", *gone.key[1:]


class _Nodes:
    """Record files as nodes, each version read once."""

    def __init__(self, disk: Folder) -> None:
        self._disk = disk
        self._committed: dict[str, Node | None] = {}
        self._here = recorded.FolderNodes(disk)
        self._former: dict[str, str] | None = None

    def here(self, path: str) -> Node | None:
        """A file as it lies in the folder; None where there is none, or it cannot be read."""
        return self._here.get(path)

    def former(self) -> dict[str, str]:
        """What cylinders were called before, with what each is called now."""
        if self._former is None:
            cards = [
                p
                for p, d in self._disk.data.items()
                if p.startswith("cylinders/") and b"formerly" in d
            ]
            self._former = {old: stem(p) for p in cards for old in formerly_of(self.here(p))}
        return dict(self._former)

    def committed(self, path: str, name: str, data: bytes) -> Node | None:
        """A version of a file; None where it cannot be read."""
        if name not in self._committed:
            self._committed[name] = read_node(data, path)[0]
        return self._committed[name]


# --- one commit against the folder


class _Card(Struct, frozen=True):
    """A changed card: its path, the version committed, and the one in the folder if any."""

    path: str
    before: Node
    after: Node | None

    @property
    def id(self) -> str:
        return stem(self.path)


class _Comparison(Struct):
    """Holds a commit against the folder, or some of its files where `only` names them.

    What was altered in such a commit and is again as it was in an `older` one is no loss.

    Attributes:
        gone: what is gone and not explained.
        told: what is gone and explained.
        unseen: what cannot be told.
        quiet: what is gone, not explained, and left for the rules to judge.
        renamed: cards that are gone, each with the new card of its cylinder.
    """

    then: AtCommit
    disk: Folder
    nodes: _Nodes
    only: frozenset[str] | None = None
    older: Sequence[Before] = ()
    gone: list[Gone] = field(default_factory=list)
    told: list[Explained] = field(default_factory=list)
    unseen: list[Unseen] = field(default_factory=list)
    quiet: list[Quiet] = field(default_factory=list)
    renamed: dict[str, str] = field(default_factory=dict)
    _old: dict[str, str] = field(default_factory=dict)
    """Every file of the commit that counts, with the name of its object."""
    _changed: list[str] = field(default_factory=list)
    """Those of the commit's files that are gone or differ."""
    _fresh: list[str] = field(default_factory=list)
    """Those of the folder's files that are new or differ."""
    _renamed: dict[str, str] = field(default_factory=dict)
    _blobs: dict[str, bytes | None] = field(default_factory=dict)

    def compare(self) -> None:
        """Find what is gone, and what explains it."""
        self._list()
        if self._changed:
            found = [*self._cards(), *chain.from_iterable(map(self._file, self._changed))]
            settings = self._before(SETTINGS_PATH) if found and SETTINGS_PATH in self._old else None
            self._explain(found, settings, [SETTINGS_PATH])
        if self.older:
            self.gone = [g for g in self.gone if not self._is_put_back(g)]
            self.quiet = [q for q in self.quiet if not self._is_put_back(q.gone)]

    def _list(self) -> None:
        for path in self._counting():
            name = self.then.object(path)
            if name is None:
                self._cannot(path, "it was a link that leads out of the ledger", _KEEP)
            self._old[path] = name or ""
        self._changed = [p for p, name in self._old.items() if not self.disk.holds(p, name)]
        differ = set(self._changed)
        self._fresh = [p for p in self.disk.data if p not in self._old or p in differ]
        if self.only is not None:
            if any(p.startswith("sets/") for p in self.only):
                self._renamed = self.nodes.former()
            wanted = self.only | set(self._called_otherwise())
            self._changed = [p for p in self._changed if p in wanted]

    def _called_otherwise(self) -> Iterator[str]:
        """The cards of the cylinders of the sets that are looked at, where there are none now: what
        makes a set another one is not that its cylinders have other ids."""
        for path in (p for p in self._changed if p.startswith("sets/")):
            if self.only is not None and path in self.only:
                cards = (f"cylinders/{id_}.yaml" for id_ in members(self._before(path)))
                yield from (c for c in cards if c in self._old and not self.disk.stands(c))

    def _twins(self, card: _Card) -> list[str]:
        """The cylinders whose cards have the serial of one that is gone with what told against
        it."""
        mark = serial_of(card.before)
        if mark is None or not any(entries_gone(card.path, card.before, None, out_of_use())):
            return []
        cards = (p for p in self.disk.data if p.startswith("cylinders/"))
        marks = ((stem(p), serial_of(self.nodes.here(p))) for p in cards)
        return [id_ for id_, other in marks if other and same_serial(mark, other)]

    def _counting(self) -> Iterator[str]:
        """The commit's files that do not go without a word."""
        yield from (p for p in SINGLE if self.then.exists(p))
        for folder in sorted(set(self.then.modules()) & ENDINGS.keys()):
            self._cannot(folder, "it was a link or a repository of its own", _KEEP)
        for folder in ENDINGS:
            names = self.then.names(folder)
            yield from (f"{folder}/{name}" for name in names if is_record(folder, name))

    def _is_put_back(self, gone: Gone) -> bool:
        """Whether something was altered after an older commit and is again as it was in that."""
        path = gone.explain_in if gone.path.startswith("cylinders/") else gone.path
        here = self.nodes.here(path)
        if here is None or not gone.now:
            return False
        older = (self.nodes.committed(gone.path, *each) for each in self._older_versions(gone.path))
        return any(put_back(gone, path, here, node) for node in older if node is not None)

    def _older_versions(self, path: str) -> Iterator[tuple[str, bytes]]:
        """The versions of a file that older commits replaced, by the names of their objects."""
        for each in self.older:
            name = each.then.object(path) if path in each.paths else None
            data = each.then.objects.blob(name) if name else None
            if name and data is not None:
                yield name, data

    # --- files other than cards

    def _file(self, path: str) -> Iterable[Gone]:
        folder = path.rpartition("/")[0]
        if folder == "cylinders":
            return ()  # `_cards` deals with these
        if folder == LOGS:
            return self._log(path)
        before, after = self._versions(path)
        if not self.disk.stands(path):
            return self._gone(folder, path, before)
        if before is None or after is None:
            return ()
        if folder == "sets":
            return with_ids(self._set_lost(path, before, after), stem(path), *members(before))
        if folder == "rules":
            return rows_gone(path, before, after, self._fresh_in("rules"))
        if folder == "checklists":
            return checklist_gone(path, before, after)
        if path in (STATION_FILE, COUNTER_FILE):
            self._judge(path, before, after, SETTINGS_PATH)
            return entries_gone(path, before, after)
        if path == AUDITED_PATH:
            return checkpoints_gone(path, before, after)
        return settings_gone(before, after)

    def _gone(self, folder: str, path: str, before: Node | None) -> Iterable[Gone]:
        """A file that is gone as a whole, unless a new one of its folder goes on for it."""
        gone = Gone(path, path)
        if folder == "sets":
            fresh = (p for p in self._fresh if p.startswith("sets/"))
            new = ((p, node) for p in fresh if (node := self.nodes.here(p)) is not None)
            goes_on = [p for p, n in new if before and not self._set_lost(path, before, n)]
            if len(goes_on) == 1:
                self.renamed[stem(path)] = stem(goes_on[0])
            return () if goes_on else with_ids([gone], stem(path), *members(before))
        if folder == "rules" and before is not None:
            new_rules = self._fresh_in("rules")
            if any(not any(rows_gone(path, before, n, [n])) for n in new_rules):
                return ()
        return (gone,)

    def _versions(self, path: str) -> tuple[Node | None, Node | None]:
        """A file as the commit has it and as it lies in the folder."""
        return self._before(path), self._after(path)

    def _set_lost(self, path: str, before: Node, after: Node) -> list[Gone]:
        changed = set_gone(path, before, after, self._renamed)
        return [*changed, *entries_gone(path, before, after)]

    # --- the log

    def _log(self, path: str) -> Iterable[Gone]:
        stands = self.disk.stands(path)
        old = self._bytes(path)
        if stands and path not in self.disk.data:
            self._after(path)
            return ()
        if old is None:
            return () if stands else (Gone(path, path),)
        missing = _less(path, old, [self.disk.data.get(path, b"")])
        if not missing:
            return ()
        logs = [d for p, d in self.disk.data.items() if p.startswith("fills/")]
        added = self._added()
        said = {_said(line) for line in added}
        missing = [m for m in _less(path, old, logs) if _said(m) not in said]
        older = self._older_lines(path) if missing else set()
        if older:
            changes, _ = sort_out(missing, added)
            missing = [c.before for c in changes if c.after is None or c.after.text not in older]
        return lines_gone(path, missing, added, stands)

    def _older_lines(self, path: str) -> set[str]:
        """The lines of a log in the versions that older commits replaced."""
        versions = (data for _, data in self._older_versions(path))
        return {line.text for data in versions for line in _less(path, data, ())}

    def _added(self) -> list[LineSeen]:
        """The lines of the folder's logs that stood in no log of the commit."""
        stood = [self._bytes(p) or b"" for p in self._old if p.startswith("fills/")]
        new = (p for p in self._fresh if p.startswith("fills/"))
        return [line for p in new for line in _less(p, self.disk.data[p], stood)]

    # --- cards

    def _cards(self) -> list[Gone]:
        """What is gone of cards and only the settings can explain; the rest is dealt with."""
        whole: list[Gone] = []
        lost: list[_Card] = []
        may_go_on = any(p.startswith("cylinders/") for p in self._fresh)
        for path in (p for p in self._changed if p.startswith("cylinders/")):
            stands = self.disk.stands(path)
            harmless = (stands or not may_go_on) and self._is_harmless(path, stands)
            before, after = (None, None) if harmless else self._versions(path)
            if not stands and before is not None and may_go_on:
                self._goes_on(path, before)
                path_now = self.renamed.get(stem(path))
                node = self.nodes.here(f"cylinders/{path_now}.yaml") if path_now else None
                if node is not None:
                    self._judge(path, before, node, f"cylinders/{path_now}.yaml")
            if before is None:
                whole += [] if stands else with_ids([Gone(path, path)], stem(path))
            elif not stands or (
                after is not None and entries_gone(path, before, after, out_of_use())
            ):
                lost.append(_Card(path, before, after))
            if before is not None and after is not None:
                self._judge(path, before, after, path)
        others = self._by_serial() if lost else {}
        for card in lost:
            alike = list(_of_one_cylinder(card, others))
            same = [(p, n) for p, n in alike if p != card.path]
            if any(p == card.path for p, _ in alike):
                same = []  # it still stands, and keeps its entries whatever another has
            if card.after is None and not same:
                gone = card_gone(card.path, card.before, out_of_use())
                whole += with_ids([gone], card.id, *self._twins(card))
            else:
                self._card(card, same)
        return whole

    def _goes_on(self, path: str, before: Node) -> None:
        """Note under which id a cylinder goes on whose card is gone."""
        alike = _of_one_cylinder(_Card(path, before, None), self._by_serial())
        news = [stem(p) for p, _ in alike if p != path]
        if len(news) == 1:
            self.renamed[stem(path)] = news[0]

    def _card(self, card: _Card, same: list[tuple[str, Node]]) -> None:
        """What is gone of a card that stands, under its id or others that its cylinder has now."""
        here = [] if card.after is None else [(card.path, card.after)]
        lost = [
            entries_gone(card.path, card.before, node, out_of_use()) for _, node in (*here, *same)
        ]
        if not here:
            best = min(range(len(same)), key=lambda i: len(lost[i]))
            self._renamed[card.id] = stem(same[best][0])
        everywhere = set.intersection(*({g.key for g in each} for each in lost))
        if here and not any(card.id in formerly_of(node) for _, node in same):
            # the tag still says this id, and nobody said that it is another cylinder's now
            everywhere = {g.key for g in lost[0]}
        if not here and len(same) > 1:
            # which of several it is now nobody said: what one of them lacks is missed
            everywhere = set().union(*({g.key for g in each} for each in lost))
        where = (*here, *same)[0][0]
        first = {g.key: g for each in reversed(lost) for g in each}
        gone = [replace(g, explain_in=where) for key, g in first.items() if key in everywhere]
        ids = (card.id, *(stem(p) for p, _ in same))
        self._explain(with_ids(gone, *ids), card.before, [p for p, _ in (*here, *same)])

    def _is_harmless(self, path: str, stands: bool) -> bool:
        """Whether a card certainly had no entry that tells against its cylinder, and every one
        that it had is still there."""
        card = _quickly(path, self._bytes(path) or b"")
        if card is None or not tells_nothing(card, out_of_use()):
            return False
        now = _quickly(path, self.disk.data.get(path, b"")) if stands else None
        return not stands or (now is not None and keeps_all(card, now))

    def _by_serial(self) -> dict[str, list[tuple[str, Node]]]:
        found: dict[str, list[tuple[str, Node]]] = {}
        for path in self._fresh:
            node = self.nodes.here(path) if path.startswith("cylinders/") else None
            mark = serial_of(node)
            if node is not None and mark is not None:
                found.setdefault(mark[0], []).append((path, node))
        return found

    def _judge(self, path: str, before: Node, after: Node, explain_in: str) -> None:
        """Keep what is left for the rules to judge, with what explains it."""
        quiet = entries_quiet(path, before, after)
        if quiet:
            old = self._before(explain_in) if explain_in in self._old else None
            said = removed_in(self.nodes.here(explain_in), explain_in)
            id_ = stem(explain_in) if explain_in.startswith("cylinders/") else ""
            gone = [replace(self._signed(q.gone), explain_in=explain_in) for q in quiet]
            _, told = explained(gone, removed_in(old), said)
            words = {e.gone.key: e.removed for e in told}
            self.quiet += [
                replace(q, gone=g, id=id_, removed=words.get(g.key))
                for q, g in zip(quiet, gone, strict=True)
            ]

    # --- versions

    def _before(self, path: str) -> Node | None:
        """A file as the commit has it, or None after noting that it cannot be read."""
        data = self._bytes(path)
        if data is None:
            return None
        node = self.nodes.committed(path, self._old[path], data)
        if node is None and data.strip():
            self._cannot(path, "the version committed cannot be read", "compare it yourself")
        return node

    def _bytes(self, path: str) -> bytes | None:
        """The content of a file as the commit has it, but for line ends; None where it has none."""
        name = self._old[path]
        if self.disk.holds(path, name):
            return self.disk.data[path]
        if name and name not in self._blobs:
            try:
                self._blobs[name] = self.then.objects.blob(name, size_limit_of(path))
            except LedgerError as error:
                self._blobs[name] = None
                self._cannot(path, error.text, error.mend)
            else:
                if self._blobs[name] is None:
                    wrong = self.then.objects.lacks("git does not have the version committed")
                    self._cannot(path, wrong.text, wrong.mend)
        return self._blobs.get(name)

    def _after(self, path: str) -> Node | None:
        """A file as it lies in the folder, or None after noting that it cannot be read."""
        if in_way := self.disk.in_way(path):
            at, why = in_way
            self._cannot(at, why.text, why.mend)
            return None
        if path not in self.disk.data or path.endswith(".csv"):
            return None
        node = self.nodes.here(path)
        if node is None:
            self._cannot(path, "it cannot be read", "`tankbook validate` says what is wrong")
        return node

    def _fresh_in(self, folder: str) -> list[Node]:
        paths = (p for p in self._fresh if p.startswith(f"{folder}/"))
        return [node for p in paths if (node := self.nodes.here(p)) is not None]

    # --- telling

    def _explain(self, gone: list[Gone], before: Node | None, paths: Iterable[str]) -> None:
        """Keep what no entry of `removed` in some files explains apart from what one does."""
        words = [word for p in paths for word in removed_in(self.nodes.here(p), p)]
        left, told = explained(map(self._signed, gone), removed_in(before), words)
        self.gone += left
        self.told += told

    def _cannot(self, path: str, why: str, mend: str) -> None:
        ids = (stem(path),) if path.startswith(("cylinders/", "sets/")) else ()
        each = Unseen(printable(path), why, mend, ids, self.then.commit.short)
        if each not in self.unseen:
            self.unseen.append(each)

    def _signed(self, gone: Gone) -> Gone:
        """The same with the commit that had it, in text that a terminal shows as it is."""
        return replace(
            gone,
            path=printable(gone.path),
            what=printable(gone.what),
            place=printable(gone.place),
            said=printable(gone.said),
            differs=tuple(map(printable, gone.differs)),
            commit=self.then.commit.short,
            explain_in=printable(gone.explain_in),
        )


def _quickly(path: str, data: bytes) -> Cylinder | None:
    """A card, where its text is so plain that it is read at once."""
    text = read_text(data, path)[0]
    values = plain(text) if text else None
    if text is None or values is None:
        return None
    return quick_read(Cylinder, values, path, Later(text, path), id=stem(path))


def _of_one_cylinder(
    card: _Card, others: dict[str, list[tuple[str, Node]]]
) -> Iterator[tuple[str, Node]]:
    """The cards that have the serial of a card, and no other maker."""
    mark = serial_of(card.before)
    for path, node in others.get(mark[0], ()) if mark else ():
        other = serial_of(node)
        if mark and other and same_serial(mark, other):
            yield path, node


def _less(path: str, data: bytes, others: Iterable[bytes]) -> list[LineSeen]:
    """The lines of a log that stand in none of some others, to the letter."""
    there = {line for other in others for line in lf(other).split(b"\n")}
    return lines_seen(path, lf(data), there)


def _said(line: LineSeen) -> tuple[str, ...]:
    return line.cells or (line.text,)
