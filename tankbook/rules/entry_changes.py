"""What an entry is as written, and how it may go on after it was made.

A hold is released, a rental comes back, a job is collected, a mistake is struck out: an entry goes
on as `records.life` declares. Whatever else becomes of it is an alteration.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, TypeAlias

from msgspec import Struct

from tankbook.records.fields import (
    Kind,
    ListOf,
    Nested,
    Reader,
    Record,
    attributes_of,
    keys_of,
)
from tankbook.records.life import life_of
from tankbook.records.node import Mapping as MappingNode
from tankbook.records.node import Mark, Node, Scalar
from tankbook.records.node import Sequence as SequenceNode

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


_VOID = frozenset({"void.why", "void.by", "void.on"})


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


class Written(Struct, frozen=True):
    """An entry as it is written: its text by key, its node and its noun."""

    values: dict[str, str]
    node: Node
    record: type[Record]

    @classmethod
    def of(cls, record: type[Record], node: Node) -> Written:
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


def grown(b: Written, a: Written) -> What | None:
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
        return What.STRUCK_OUT if after.keys() >= _VOID and _may_be_void(b.record) else None
    return What.ENDED


def opening(entry: Written) -> frozenset[tuple[str, str]]:
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


def alike(b: Written, a: Written) -> float:
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
    mark, reader = Mark(0, 0, 0), Reader("")
    return kind.read(Scalar(text, mark, mark), "", reader)
