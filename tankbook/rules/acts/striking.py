"""What is wrong and what is right: finding the entry meant, and making the right one of it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tankbook.records.book import Book
from tankbook.records.edits import Value
from tankbook.records.fields import Kind, Reader, Record, keys_of, read
from tankbook.records.kinds import PRESSURE
from tankbook.records.node import Mapping as MappingNode
from tankbook.records.node import Mark, Node, Scalar
from tankbook.records.node import Sequence as SequenceNode
from tankbook.records.written import value_of_node
from tankbook.rules.acts.common import written
from tankbook.units import quoted

SHOWN = 6
"""How many entries are listed to choose from."""

_BARE = re.compile(r"[0-9]+(\.[0-9]+)?")
_NOWHERE = Mark(0, 1, 1)


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong and what is right.

    `what` is a list of a file (`inspected`, `B1.readings`) or a word for log lines; `when` is the
    start of its date or time, empty where there is only one; `changes` gives keys of the right
    entry (an empty text takes a key out), and without any the entry is only struck out.
    """

    what: str
    when: str
    why: str
    changes: Mapping[str, str] = field(default_factory=dict)


def chosen(entries: Sequence[Any], wrong: Wrong, where: str) -> int | str:
    """The place of the entry meant, or why it is not clear which."""
    when, _, number = wrong.when.partition("#")
    stand = [i for i, e in enumerate(entries) if e.void is None]
    found = [i for i in stand if str(entries[i].on).startswith(when)]
    if number.isdigit() and 0 < int(number) <= len(found):
        return found[int(number) - 1]
    if len(found) == 1 and not number:
        return found[0]
    if not found:
        listed = ", ".join(str(entries[i].on) for i in stand[-SHOWN:]) or "none"
        return f"{where}: no entry that stands begins with {quoted(when)}; there is: {listed}"
    listed = "; ".join(f"#{n} {_brief(entries[i])}" for n, i in enumerate(found, 1))
    return (
        f"{where}: {len(found)} entries fit ({listed}); write more of the date, or add the number "
        f"to it: {when}#1"
    )


def _brief(entry: Any) -> str:
    said = [v for k, v in written(entry).items() if k != "on" and isinstance(v, str)]
    return f"{entry.on} {' '.join(said[:3])}"


def right_entry(
    old: Record, changes: Mapping[str, str], book: Book
) -> tuple[tuple[Record, Value] | None, list[str]]:
    """The right entry as a noun and as it is written, None where nothing is to be entered."""
    if not changes:
        return None, []
    known = keys_of(type(old))
    reasons = [
        f"--set {name}: such an entry has no such key; it has {', '.join(known)}"
        for name in changes
        if name not in known or name == "void"
    ]
    if reasons or old.source.node is None:
        return None, reasons
    before = value_of_node(old.source.node)
    assert isinstance(before, Mapping)
    values: dict[str, Value] = {k: v for k, v in before.items() if changes.get(k) != ""}
    for name, text in changes.items():
        if text:
            values[name] = with_unit(known[name].kind, text, book)
    reader = Reader("--set")
    new = read(type(old), node_of(values), reader)
    if new is None or reader.findings:
        return None, [fault_of(f.text, f.mend) for f in reader.findings]
    return (new, values), []


def with_unit(kind: Kind, text: str, book: Book) -> str:
    """A bare pressure takes the ledger's unit."""
    return f"{text} {book.settings.units}" if kind is PRESSURE and _BARE.fullmatch(text) else text


def fault_of(text: str, mend: str) -> str:
    return f"--set {text}; {mend}" if mend else f"--set {text}"


def node_of(value: Value) -> Node:
    """A value as the node it would be read as; it has no place."""
    if isinstance(value, str):
        return Scalar(value, _NOWHERE, _NOWHERE)
    if isinstance(value, Mapping):
        pairs = ((Scalar(k, _NOWHERE, _NOWHERE), node_of(v)) for k, v in value.items())
        return MappingNode(tuple(pairs), _NOWHERE, _NOWHERE)
    return SequenceNode(tuple(map(node_of, value)), _NOWHERE, _NOWHERE)


def entered(changes: Mapping[str, str]) -> str:
    """How a sentence ends that strikes out one entry and enters another."""
    said = ", ".join(f"{k}={v}" for k, v in changes.items())
    return f"; entered with {said}"
