"""What differs between two versions of a record file: entries added, ended, altered, removed.

Versions are compared as the nouns declare them, so that spacing, quoting, the order of keys and
words of the other shore make no difference.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.audited import AUDITED_PATH, Audited
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import Kind, ListOf, MapOf, Nested, Record, keys_of
from tankbook.records.node import Mapping as MappingNode
from tankbook.records.node import Node, Scalar
from tankbook.records.node import Sequence as SequenceNode
from tankbook.records.settings import Settings
from tankbook.records.station import Station
from tankbook.rules.entry_changes import Values, What, Written, alike, flat, grown, same_value


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
    was: Written | None = field(default=None, compare=False, repr=False)
    is_: Written | None = field(default=None, compare=False, repr=False)

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


KINDS: dict[str, type[Record]] = {
    "tankbook.yaml": Settings,
    "station.yaml": Station,
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

    def entries(self, before: list[Written], after: list[Written], trail: str) -> Iterator[Change]:
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

    def entry(self, what: What, trail: str, b: Written | None, a: Written | None) -> Change:
        values = (b.values if b else None, a.values if a else None)
        at = a or b
        line = at.line if at else 0
        return Change(what, self.path, trail, *values, line, self.fresh and b is None, b, a)


def _keys(node: Node | None) -> Iterator[str]:
    return node.keys() if isinstance(node, MappingNode) else iter(())


def _get(node: Node | None, name: str) -> Node | None:
    return node.get(name) if isinstance(node, MappingNode) else None


def _nodes(node: Node | None) -> tuple[Node, ...]:
    """The items of a list; a single value stands for a list of one, an empty one for none."""
    if isinstance(node, SequenceNode):
        return node.items
    says = isinstance(node, MappingNode) or (isinstance(node, Scalar) and node.text.strip())
    return (node,) if node is not None and says else ()


def _by_name(node: Node | None) -> dict[str, Node]:
    """Named parts; of several of one name the later ones are numbered, so that none is lost."""
    found: dict[str, Node] = {}
    for item in _nodes(node):
        name = first = flat(item).get("name") or "?"
        count = 1
        while name in found:
            count += 1
            name = f"{first}#{count}"
        found[name] = item
    return found


def _items(kind: type[Record], node: Node | None) -> list[Written]:
    return [Written.of(kind, item) for item in _nodes(node)]


def _without_same(
    before: list[Written], after: list[Written]
) -> tuple[list[Written], list[Written]]:
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
