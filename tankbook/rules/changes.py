"""What differs between two versions of a file: entries added, ended, altered, removed; lines of the
log moved, edited, removed.

Record files are compared as the nouns declare them, so that spacing, quoting, the order of keys and
words of the other shore make no difference. A hold is released, a rental comes back, a job is
collected, a mistake is struck out: an entry goes on as `records.life` declares. Whatever else
becomes of it is an alteration. Honest lines of the log are only added.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.audited import AUDITED_PATH, Audited
from tankbook.records.commits import LineSeen
from tankbook.records.counter import COUNTER_FILE, CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import (
    Kind,
    ListOf,
    MapOf,
    Nested,
    NodeReader,
    Record,
    attributes_of,
    keys_of,
)
from tankbook.records.life import life_of
from tankbook.records.log import LogLine, columns
from tankbook.records.node import MappingNode, Mark, Node, Scalar, SequenceNode
from tankbook.records.settings import Settings
from tankbook.records.station import Station

Values: TypeAlias = Mapping[str, str]
"""What an entry says: text by key, keys inside keys joined with a dot."""


def day_in(values: Values) -> str:
    """The day or month an entry is about, as it was written; an empty text where it has none."""
    return values.get("on") or values.get("from") or ""


class What(StrEnum):
    """What became of an entry or a fact."""

    ADDED = "added"
    ENDED = "ended"
    STRUCK_OUT = "struck-out"
    ALTERED = "altered"
    REMOVED = "removed"
    FACT_SET = "fact-set"
    FACT_CHANGED = "fact-changed"


_SIGNED = frozenset({"void.why", "void.by", "void.on"})
_VOID = _SIGNED | {"void.ahead"}


def flat(node: Node | None, prefix: str = "") -> dict[str, str]:
    """The text of every value in a node, by its key; empty ones are left out."""
    if isinstance(node, Scalar):
        text = node.text.strip()
        return {prefix: text} if text else {}
    found: dict[str, str] = {}
    if isinstance(node, MappingNode):
        for name, value in node.pairs:
            found |= flat(value, f"{prefix}.{name.text}" if prefix else name.text)
    elif isinstance(node, SequenceNode):
        if all(isinstance(item, Scalar) for item in node.items):
            said = ", ".join(i.text.strip() for i in node.items if isinstance(i, Scalar))
            return {prefix: said} if said else {}
        for number, item in enumerate(node.items, 1):
            found |= flat(item, f"{prefix}[{number}]")
    return found


class WrittenEntry(Struct, frozen=True):
    """An entry as it is written: its text by key, its node and its noun."""

    values: dict[str, str]
    node: Node
    record: type[Record]

    @classmethod
    def of(cls, record: type[Record], node: Node) -> WrittenEntry:
        """An entry; one record where a list of them may stand counts as a list of one."""
        lists = {k.name for k in keys_of(record).values() if _listed(k.kind)}
        values = {}
        for trail, text in flat(node).items():
            name, dot, rest = trail.partition(".")
            values[f"{name}[1].{rest}" if dot and name in lists else trail] = text
        return cls(values, node, record)

    @property
    def line(self) -> int:
        return self.node.start.line


def grown(b: WrittenEntry, a: WrittenEntry) -> What | None:
    """What an entry has become if it only went on as entries do; `ADDED` where nothing is new."""
    before, after = b.values, a.values
    differ = (k for k in {**before, **after} if before.get(k) != after.get(k))
    keys = {k for k in differ if not same_value(b.record, k, before.get(k), after.get(k))}
    if not keys:
        return What.ADDED
    if any(k.startswith("void.") for k in before):
        return None
    void = keys & _VOID
    keys -= void
    life = life_of(b.record)
    if keys and life.closed_by and life.closed_by in before:
        return None
    if keys & life.noted and after.get("note", "").startswith(before.get("note", "")):
        keys -= {"note"}
    if not all(k in after and _is_in(k, life.changed if k in before else life.grows) for k in keys):
        return None
    if void:
        return What.STRUCK_OUT if after.keys() >= _SIGNED and _may_be_void(b.record) else None
    return What.ENDED


def opening(entry: WrittenEntry) -> frozenset[tuple[str, str]]:
    """What an entry said when it was made, and says whatever became of it since: by that two
    entries of one day are told apart."""
    life = life_of(entry.record)
    later = life.grows | life.changed | (frozenset({"note"}) if life.noted else frozenset())
    said = ((k, v) for k, v in entry.values.items() if not k.startswith("void."))
    return frozenset((k, v) for k, v in said if not _is_in(k, later))


def _is_in(trail: str, keys: frozenset[str]) -> bool:
    """Whether a key is among some, itself or as an item of a list (`steps[2].state` of `steps`)."""
    return trail in keys or trail.partition("[")[0] in keys


def _may_be_void(record: type[Record]) -> bool:
    return "void" in keys_of(record)


def alike(b: WrittenEntry, a: WrittenEntry) -> float:
    """How far two entries are the same one: the share of keys in common, the day counting most."""
    keys = {**b.values, **a.values}
    same = sum(b.values.get(k) == a.values.get(k) for k in keys)
    share = same / len(keys) if keys else 0.0
    return share + 1.0 if b.values.get("on") == a.values.get("on") else share


def same_value(record: type[Record], trail: str, before: str | None, after: str | None) -> bool:
    """Whether two texts of a key stand for one value; a text that is not there, for the default."""
    name, _, rest = trail.partition(".")
    declared = keys_of(record).get(name.partition("[")[0])
    if declared is None:
        return False
    if rest:
        kind = _listed(declared.kind) if "[" in name else declared.kind
        return isinstance(kind, Nested) and same_value(kind.record, rest, before, after)
    if "[" in name:
        return False
    default = record.declared[attributes_of(record)[name]].default
    values = [default if t is None else value_of(declared.kind, t) for t in (before, after)]
    return values[0] is not None and bool(values[0] == values[1])


def _listed(kind: Kind) -> Nested | None:
    """What stands in a list of records; None for any other kind."""
    return kind.kind if isinstance(kind, ListOf) and isinstance(kind.kind, Nested) else None


def value_of(kind: Kind, text: str) -> Any:
    """What a text of `flat` stands for; None where it cannot be read."""
    if isinstance(kind, ListOf):
        got = tuple(value_of(kind.kind, part) for part in text.split(", "))
        return None if None in got else got
    mark, reader = Mark(0, 0, 0), NodeReader("")
    return kind.read(Scalar(text, mark, mark), "", reader)


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. `place` is the list an entry stands in, or the key of a fact.

    `before` and `after` hold the whole entry, or the one fact; None where there is none. `line` is
    where it stands in the later version, or stood in the earlier one, from 1. `fresh` says that
    what holds it (the file, a part of the station, a person) is new in the later version. `was` and
    `is_` are the entry itself in each.
    """

    what: What
    path: str
    place: str
    before: Values | None
    after: Values | None
    line: int
    fresh: bool = False
    was: WrittenEntry | None = field(default=None, compare=False, repr=False)
    is_: WrittenEntry | None = field(default=None, compare=False, repr=False)

    @property
    def on(self) -> str:
        """The day or month the entry is about, as it was first written."""
        return day_in(self.before or self.after or {})

    @property
    def differing(self) -> tuple[str, ...]:
        """The keys that differ."""
        before, after = self.before or {}, self.after or {}
        return tuple(k for k in {**before, **after} if before.get(k) != after.get(k))


KINDS: dict[str, type[Record]] = {
    "tankbook.yaml": Settings,
    "station.yaml": Station,
    COUNTER_FILE: CounterFile,
    AUDITED_PATH: Audited,
}
FOLDERS: dict[str, type[Record]] = {"cylinders": Cylinder, "sets": Doubles}


def kind_of(path: str) -> type[Record] | None:
    """The noun in a record file, where its entries are evidence; None for any other file."""
    folder, _, name = path.rpartition("/")
    return KINDS.get(path) or (FOLDERS.get(folder) if name.endswith(".yaml") else None)


def compare(path: str, before: Node | None, after: Node | None) -> tuple[Change, ...]:
    """Every difference between two versions of the file at `path`, in the order of its keys.

    A version that is None has no entries and no facts.
    """
    kind = kind_of(path)
    return tuple(_Compared(path).record(kind, before, after, "")) if kind else ()


class _Compared(Struct, frozen=True):
    """Walks two versions of one file side by side. `fresh`: what it walks in is new."""

    path: str
    fresh: bool = False

    def record(
        self, kind: type[Record], before: Node | None, after: Node | None, trail: str
    ) -> Iterator[Change]:
        walk = replace(self, fresh=True) if before is None else self
        known = keys_of(kind)
        for name in dict.fromkeys([*keys_in(before), *keys_in(after)]):
            b, a = under(before, name), under(after, name)
            if b is None and a is None:
                continue
            declared = known.get(name)
            yield from walk.value(declared.kind if declared else None, b, a, f"{trail}{name}", kind)

    def value(
        self, kind: Kind | None, b: Node | None, a: Node | None, trail: str, owner: type[Record]
    ) -> Iterator[Change]:
        if isinstance(kind, Nested):
            yield from self.record(kind.record, b, a, f"{trail}.")
        elif isinstance(kind, MapOf) and isinstance(kind.kind, Nested):
            inner = kind.kind.record
            for name in dict.fromkeys([*keys_in(b), *keys_in(a)]):
                yield from self.record(inner, under(b, name), under(a, name), f"{trail}.{name}.")
        elif isinstance(kind, ListOf) and isinstance(kind.kind, Nested):
            yield from self.listed(kind.kind.record, b, a, trail)
        else:
            yield from self.fact(b, a, trail, owner)

    def listed(
        self, kind: type[Record], b: Node | None, a: Node | None, trail: str
    ) -> Iterator[Change]:
        if "name" in keys_of(kind):
            before, after = _by_name(b), _by_name(a)
            for name in dict.fromkeys([*before, *after]):
                yield from self.record(kind, before.get(name), after.get(name), f"{trail}.{name}.")
        else:
            yield from self.entries(_items(kind, b), _items(kind, a), trail)

    def fact(
        self, b: Node | None, a: Node | None, trail: str, owner: type[Record]
    ) -> Iterator[Change]:
        before, after = flat(b, trail), flat(a, trail)
        if before == after or _same_facts(owner, trail, before, after):
            return
        what = What.FACT_CHANGED if before else What.FACT_SET
        node = a if a is not None else b
        line = node.start.line if node is not None else 0
        yield Change(what, self.path, trail, before or None, after or None, line, self.fresh)

    def entries(
        self, before: list[WrittenEntry], after: list[WrittenEntry], trail: str
    ) -> Iterator[Change]:
        left, new = _without_same(before, after)
        for b in list(left):
            a = next((e for e in new if grown(b, e) is not None), None)
            if a is not None:
                left.remove(b)
                new.remove(a)
                what = grown(b, a)
                if what is not None and what is not What.ADDED:
                    yield self.entry(what, trail, b, a)
        for b in left:
            a = max(new, key=lambda e: alike(b, e), default=None)
            if a is not None and alike(b, a) >= 0.5:
                new.remove(a)
                yield self.entry(What.ALTERED, trail, b, a)
            else:
                yield self.entry(What.REMOVED, trail, b, None)
        for a in new:
            yield self.entry(What.ADDED, trail, None, a)

    def entry(
        self, what: What, trail: str, b: WrittenEntry | None, a: WrittenEntry | None
    ) -> Change:
        values = (b.values if b else None, a.values if a else None)
        at = a or b
        line = at.line if at else 0
        return Change(what, self.path, trail, *values, line, self.fresh and b is None, b, a)


def keys_in(node: Node | None) -> Iterator[str]:
    """The keys of a node, none where it has none."""
    return node.keys() if isinstance(node, MappingNode) else iter(())


def under(node: Node | None, name: str) -> Node | None:
    """What stands under a key of a node; None where nothing does."""
    return node.get(name) if isinstance(node, MappingNode) else None


def items_of(node: Node | None) -> tuple[Node, ...]:
    """The items of a list; a single value stands for a list of one, an empty one for none."""
    if isinstance(node, SequenceNode):
        return node.items
    says = isinstance(node, MappingNode) or (isinstance(node, Scalar) and node.text.strip())
    return (node,) if node is not None and says else ()


def _by_name(node: Node | None) -> dict[str, Node]:
    """Named parts; of several of one name the later ones are numbered, so that none is lost."""
    found: dict[str, Node] = {}
    for item in items_of(node):
        name = first = flat(item).get("name") or "?"
        count = 1
        while name in found:
            count += 1
            name = f"{first}#{count}"
        found[name] = item
    return found


def _items(kind: type[Record], node: Node | None) -> list[WrittenEntry]:
    return [WrittenEntry.of(kind, item) for item in items_of(node)]


def _without_same(
    before: list[WrittenEntry], after: list[WrittenEntry]
) -> tuple[list[WrittenEntry], list[WrittenEntry]]:
    """What is left when entries that say the same are taken out of both."""
    new = list(after)
    left = []
    for b in before:
        same = next((a for a in new if a.values == b.values), None)
        if same is None:
            left.append(b)
        else:
            new.remove(same)
    return left, new


def _same_facts(owner: type[Record], trail: str, before: Values, after: Values) -> bool:
    name = trail.rpartition(".")[2]
    text = (before.get(trail), after.get(trail))
    return before.keys() | after.keys() == {trail} and same_value(owner, name, *text)


_AT, _CYLINDER, _ACT = 0, 1, 2
EVEN = 0.5
"""The share of filled cells two lines must have in common to count as one line, edited."""


class LogChange(Struct, frozen=True):
    """A line that was there, and the line it became; None where it was taken out."""

    before: LineSeen
    after: LineSeen | None

    @property
    def cylinder(self) -> str:
        """The id the line named, or an empty text where it was no row."""
        return cell(self.before, _CYLINDER)

    @property
    def cells(self) -> tuple[tuple[str, str, str], ...]:
        """Each cell that differs: its column, what it said, what it says."""
        if self.after is None or not (self.before.cells and self.after.cells):
            return ()
        trio = zip(columns(LogLine), self.before.cells, self.after.cells, strict=False)
        return tuple((name, b, a) for name, b, a in trio if a != b)


def cell(line: LineSeen, place: int) -> str:
    """A cell of a line by its place, empty where there is none."""
    return line.cells[place] if len(line.cells) > place else ""


def sort_out(
    removed: Sequence[LineSeen], added: Sequence[LineSeen]
) -> tuple[list[LogChange], list[LineSeen]]:
    """What became of removed lines, and which lines are new.

    A line that is added again as it was, anywhere in the log, was only moved.
    """
    if not removed:
        return [], list(added)
    gone, new = _unmoved(removed, added)
    free = _Free(new)
    changes = [LogChange(line, free.take(line)) for line in gone]
    return changes, [line for line in new if line in free]


class _Free:
    """New lines that no old one has become yet, found by their time or their cylinder."""

    def __init__(self, lines: Iterable[LineSeen]) -> None:
        self._by: dict[str, dict[int, LineSeen]] = {}
        for line in lines:
            for name in self._names(line):
                self._by.setdefault(name, {})[id(line)] = line

    def __contains__(self, line: LineSeen) -> bool:
        return any(id(line) in self._by[name] for name in self._names(line))

    def take(self, line: LineSeen) -> LineSeen | None:
        """The line that tells of the same act, if any: same time and cylinder, or most cells."""
        found: dict[int, LineSeen] = {}
        for name in self._names(line):
            found |= self._by.get(name, {})
        best = max(found.values(), key=lambda other: _alike(line, other), default=None)
        if best is None or _alike(line, best) < EVEN:
            return None
        for name in self._names(best):
            del self._by[name][id(best)]
        return best

    def _names(self, line: LineSeen) -> set[str]:
        return {cell(line, _AT), cell(line, _CYLINDER)}


def _unmoved(
    removed: Iterable[LineSeen], added: Iterable[LineSeen]
) -> tuple[list[LineSeen], list[LineSeen]]:
    moved = Counter(map(_said, removed)) & Counter(map(_said, added))
    return _less(removed, moved.copy()), _less(added, moved)


def _less(lines: Iterable[LineSeen], moved: Counter[tuple[str, ...]]) -> list[LineSeen]:
    kept = []
    for line in lines:
        if moved[_said(line)] > 0:
            moved[_said(line)] -= 1
        else:
            kept.append(line)
    return kept


def _said(line: LineSeen) -> tuple[str, ...]:
    return line.cells or (line.text,)


def _alike(line: LineSeen, other: LineSeen) -> float:
    if line.cells[: _ACT + 1] == other.cells[: _ACT + 1] and line.cells:
        return 2.0
    pairs = [(a, b) for a, b in zip(line.cells, other.cells, strict=False) if a or b]
    same = sum(a == b for a, b in pairs)
    return same / len(pairs) if pairs else 0.0
