"""What differs between two versions of a record file: entries added, ended, altered, removed.

Versions are compared as the nouns declare them, so that spacing, quoting, the order of keys and
words of the other shore make no difference.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, TypeAlias

from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import (
    Condemned,
    HandedOver,
    Held,
    Inspected,
    Job,
    Lost,
    Refused,
    Rejected,
    Rented,
    Sent,
)
from tankbook.records.fields import (
    Kind,
    ListOf,
    MapOf,
    Nested,
    Reader,
    Record,
    attributes_of,
    keys_of,
)
from tankbook.records.node import Mapping as MappingNode
from tankbook.records.node import Mark, Node, Scalar
from tankbook.records.node import Sequence as SequenceNode
from tankbook.records.settings import Settings
from tankbook.records.station import Station

Values: TypeAlias = Mapping[str, str]
"""What an entry says: text by key, keys inside keys joined with a dot."""


class What(StrEnum):
    """What became of an entry or a fact."""

    ADDED = "added"
    ENDED = "ended"
    STRUCK_OUT = "struck-out"
    ALTERED = "altered"
    REMOVED = "removed"
    FACT_SET = "fact-set"
    FACT_CHANGED = "fact-changed"


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. `place` is the list an entry stands in, or the key of a fact.

    `before` and `after` hold the whole entry, or the one fact; None where there is none. `line` is
    where it stands in the later version, or stood in the earlier one, from 1. `fresh` says that
    what holds it (the file, a part of the station, a person) is new in the later version.
    """

    what: What
    path: str
    place: str
    before: Values | None
    after: Values | None
    line: int
    fresh: bool = False

    @property
    def on(self) -> str:
        """The day or month the entry is about, as it was first written."""
        values = self.before or self.after or {}
        return values.get("on") or values.get("from") or ""

    @property
    def differing(self) -> tuple[str, ...]:
        """The keys that differ."""
        before, after = self.before or {}, self.after or {}
        return tuple(k for k in {**before, **after} if before.get(k) != after.get(k))


@dataclass(frozen=True, slots=True)
class _Grows:
    """How an entry may still grow: keys that may be added, and keys that may change.

    Both hold until one of the keys in `closed_by` is there.
    """

    added: frozenset[str] = frozenset()
    changed: frozenset[str] = frozenset()
    closed_by: str = ""


_TOLD = ("told.on", "told.by", "told.how")
_GROWS: dict[type[Record], _Grows] = {
    Inspected: _Grows(
        frozenset({"sticker", "sticker_on", "sticker_number"}), frozenset({"sticker"})
    ),
    Held: _Grows(frozenset({"released", "released_by", "released_why"})),
    Sent: _Grows(frozenset({"back", "refitted", "refitted_by"})),
    Rented: _Grows(
        frozenset({"back", "pressure", "valve", "damage", "until"}), frozenset({"until"}), "back"
    ),
    HandedOver: _Grows(frozenset({"slip"})),
    Rejected: _Grows(frozenset({*_TOLD, "lifted", "lifted_why"})),
    Condemned: _Grows(frozenset({"marked", "consent"})),
    Lost: _Grows(frozenset({"found"})),
    Job: _Grows(
        frozenset({*_TOLD, "ready", "collected", "price", "promised", "reference", "state"}),
        frozenset({"state", "price", "promised"}),
        "collected",
    ),
    Refused: _Grows(frozenset(_TOLD)),
}
"""What happens to an entry after it was made. Whatever else changes in it is an alteration."""

_VOID = frozenset({"void.why", "void.by", "void.on"})

KINDS: dict[str, type[Record]] = {"tankbook.yaml": Settings, "station.yaml": Station}
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


@dataclass(frozen=True, slots=True)
class _Entry:
    values: dict[str, str]
    node: Node
    record: type[Record]

    @property
    def line(self) -> int:
        return self.node.start.line


@dataclass(frozen=True, slots=True)
class _Compared:
    """Walks two versions of one file side by side. `fresh`: what it walks in is new."""

    path: str
    fresh: bool = False

    def record(
        self, kind: type[Record], before: Node | None, after: Node | None, trail: str
    ) -> Iterator[Change]:
        walk = replace(self, fresh=True) if before is None else self
        known = keys_of(kind)
        for name in dict.fromkeys([*_keys(before), *_keys(after)]):
            b, a = _get(before, name), _get(after, name)
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
            for name in dict.fromkeys([*_keys(b), *_keys(a)]):
                yield from self.record(inner, _get(b, name), _get(a, name), f"{trail}.{name}.")
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
                yield from self.record(
                    kind, before.get(name), after.get(name), f"{trail}.{name or '?'}."
                )
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

    def entries(self, before: list[_Entry], after: list[_Entry], trail: str) -> Iterator[Change]:
        left, new = _without_same(before, after)
        for b in list(left):
            a = next((e for e in new if _grown(b, e) is not None), None)
            if a is not None:
                left.remove(b)
                new.remove(a)
                what = _grown(b, a)
                if what is not None and what is not What.ADDED:
                    yield Change(what, self.path, trail, b.values, a.values, a.line)
        for b in left:
            a = max(new, key=lambda e: _alike(b, e), default=None)
            if a is not None and _alike(b, a) >= 0.5:
                new.remove(a)
                yield Change(What.ALTERED, self.path, trail, b.values, a.values, a.line)
            else:
                yield Change(What.REMOVED, self.path, trail, b.values, None, b.line)
        for a in new:
            yield Change(What.ADDED, self.path, trail, None, a.values, a.line, self.fresh)


def _keys(node: Node | None) -> Iterator[str]:
    return node.keys() if isinstance(node, MappingNode) else iter(())


def _get(node: Node | None, name: str) -> Node | None:
    return node.get(name) if isinstance(node, MappingNode) else None


def _nodes(node: Node | None) -> tuple[Node, ...]:
    """The items of a list; a single value stands for a list of one, an empty one for none."""
    if isinstance(node, SequenceNode):
        return node.items
    return (node,) if isinstance(node, MappingNode) else ()


def _by_name(node: Node | None) -> dict[str, Node]:
    return {flat(item).get("name", ""): item for item in _nodes(node)}


def _items(kind: type[Record], node: Node | None) -> list[_Entry]:
    return [_Entry(flat(item), item, kind) for item in _nodes(node)]


def _without_same(before: list[_Entry], after: list[_Entry]) -> tuple[list[_Entry], list[_Entry]]:
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


def _grown(b: _Entry, a: _Entry) -> What | None:
    """What an entry has become if it only went on as entries do; `ADDED` where nothing is new."""
    before, after = b.values, a.values
    keys = {
        k for k in {**before, **after}
        if before.get(k) != after.get(k) and not _same(b.record, k, before.get(k), after.get(k))
    }  # fmt: skip
    if not keys:
        return What.ADDED
    if any(k.startswith("void.") for k in before):
        return None
    void = keys & _VOID
    keys -= void
    rule = _GROWS.get(b.record, _Grows())
    for k in keys:
        if rule.closed_by and rule.closed_by in before:
            return None
        if not (k in rule.changed if k in before else k in rule.added) or k not in after:
            return None
    if void:
        return What.STRUCK_OUT if after.keys() >= _VOID and _may_be_void(b.record) else None
    return What.ENDED


def _may_be_void(record: type[Record]) -> bool:
    return "void" in keys_of(record)


def _alike(b: _Entry, a: _Entry) -> float:
    """How far two entries are the same one: the share of keys in common, the day counting most."""
    keys = {**b.values, **a.values}
    same = sum(b.values.get(k) == a.values.get(k) for k in keys)
    share = same / len(keys) if keys else 0.0
    return share + 1.0 if b.values.get("on") == a.values.get("on") else share


def _same_facts(owner: type[Record], trail: str, before: Values, after: Values) -> bool:
    name = trail.rpartition(".")[2]
    text = (before.get(trail), after.get(trail))
    return before.keys() | after.keys() == {trail} and _same(owner, name, *text)


def _same(record: type[Record], trail: str, before: str | None, after: str | None) -> bool:
    """Whether two texts of a key stand for one value; a text that is not there, for the default."""
    name, _, rest = trail.partition(".")
    declared = keys_of(record).get(name)
    if declared is None:
        return False
    if rest:
        kind = declared.kind
        return isinstance(kind, Nested) and _same(kind.record, rest, before, after)
    default = next(
        f.default for f in dataclasses.fields(record) if f.name == attributes_of(record)[name]
    )
    values = [default if t is None else _read(declared.kind, t) for t in (before, after)]
    return values[0] is not None and bool(values[0] == values[1])


def _read(kind: Kind, text: str) -> Any:
    if isinstance(kind, ListOf):
        got = tuple(_read(kind.kind, part) for part in text.split(", "))
        return None if None in got else got
    mark, reader = Mark(0, 0, 0), Reader("")
    return kind.read(Scalar(text, mark, mark), "", reader)
