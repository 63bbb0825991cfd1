"""What is wrong and what is right: finding the entry meant, and making the right one of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct, field

from tankbook.acts.common import written
from tankbook.records.book import Book
from tankbook.records.edits import Value
from tankbook.records.fields import Kind, ListOf, Nested, NodeReader, Record, keys_of, read
from tankbook.records.kinds import HOURS, PERCENT, PRESSURE
from tankbook.records.naming import begun_at
from tankbook.records.node import MappingNode, Mark, Node, Scalar, SequenceNode
from tankbook.records.written import value_of_node
from tankbook.units import quoted
from tankbook.units.patterns import pattern

SHOWN = 6
"""How many entries are listed to choose from."""

_BARE = pattern(r"[0-9]+(\.[0-9]+)?")
_NOWHERE = Mark(0, 1, 1)


class Wrong(Struct, frozen=True):
    """What is wrong and what is right.

    `what` is a list of a file (`inspected`, `B1.readings`) or a word for log lines; `when` is the
    start of its date and time, empty where there is only one; `changes` gives keys of the right
    entry (an empty text takes a key out), and without any the entry is only struck out. A key may
    name one item of a list, `findings[2].note`; `lists` gives what was written as `{..}` or `[..]`.
    """

    what: str
    when: str
    why: str
    changes: Mapping[str, str] = field(default_factory=dict)
    lists: Mapping[str, Value] = field(default_factory=dict)


def chosen(entries: Sequence[Any], wrong: Wrong, where: str) -> int | str:
    """The place of the entry meant, or why it is not clear which."""
    when, _, number = wrong.when.partition("#")
    when = when.replace("T", " ")
    # what is struck out keeps its number, so that none ever becomes another's
    fitting = [i for i, e in enumerate(entries) if begun_at(e).startswith(when)]
    stand = [i for i, e in enumerate(entries) if e.void is None]
    found = [i for i in fitting if i in stand]
    if number.isdecimal() and 0 < int(number) <= len(fitting):
        place = fitting[int(number) - 1]
        gone = f"{where}: #{int(number)} {_brief(entries[place])} is struck out already{_ANEW}"
        return place if place in stand else gone
    if len(found) == 1 and not number:
        return found[0]
    if not found:
        listed = ", ".join(str(entries[i].on) for i in stand[-SHOWN:])
        if not listed:
            return f"{where}: no entry stands{_ANEW}"
        said = f"{where}: no entry that stands begins with {quoted(when)}"
        return f"{said}; write the date of one of these: {listed}"
    numbered = [(n, i) for n, i in enumerate(fitting, 1) if i in stand]
    listed = "; ".join(f"#{n} {_brief(entries[i])}" for n, i in numbered)
    return (
        f"{where}: {len(found)} entries fit ({listed}); write more of the date, or add the number "
        f"to it: {when}#{numbered[0][0]}"
    )


_ANEW = "; what is right is recorded as if nothing had been"


def _brief(entry: Any) -> str:
    told = {"on", "at"} if isinstance(getattr(entry, "at", None), dt.time) else {"on"}
    said = [v for k, v in written(entry).items() if k not in told and isinstance(v, str)]
    return f"{begun_at(entry)} {' '.join(said[:3])}"


def keys_unknown(old: Record, wrong: Wrong) -> list[str]:
    """What is to be set of an entry that has no such key: nobody can say what that changes."""
    known = keys_of(type(old))
    has = ", ".join(name for name in known if name != "void")
    return [
        f"--set {name}: such an entry has no such key; it has {has}{_inside(known, name)}"
        for name in wrong.changes
        if (name not in known and not _ITEM.fullmatch(name)) or name == "void"
    ]


def _inside(known: Mapping[str, Any], name: str) -> str:
    """How a key of what an entry holds in braces is set: with all of it."""
    whole, dot, inner = name.partition(".")
    kind = known[whole].kind if dot and whole in known else None
    return (
        f"; all of `{whole}` is set at once: --set '{whole}={{{inner}: ...}}'"
        if (isinstance(kind, Nested))
        else ""
    )


def right_entry(
    old: Record, wrong: Wrong, book: Book
) -> tuple[tuple[Record, Value] | None, list[str]]:
    """The right entry as a noun and as it is written, None where nothing is to be entered."""
    if not wrong.changes:
        return None, []
    known = keys_of(type(old))
    reasons = keys_unknown(old, wrong)
    if reasons or old.source.node is None:
        return None, reasons
    before = value_of_node(old.source.node)
    assert isinstance(before, Mapping)
    values: dict[str, Value] = {k: v for k, v in before.items() if wrong.changes.get(k) != ""}
    for name, text in wrong.changes.items():
        item = _ITEM.fullmatch(name)
        if item:
            got = _with_item(values.get(item[1]), int(item[2]), item[3], text)
            if got is None:
                return None, [f"--set {name}: {_no_item(item[1], values.get(item[1]))}"]
            values[item[1]] = got
        elif text:
            asked = wrong.lists.get(name) if isinstance(known[name].kind, ListOf | Nested) else None
            values[name] = asked or with_unit(known[name].kind, text, book)
    reader = NodeReader("--set")
    new = read(type(old), node_of(values), reader)
    if new is None or reader.findings:
        return None, [fault_of(f.text, f.mend) for f in reader.findings]
    return (new, values), []


_ITEM = pattern(r"(\w+)\[([0-9]{1,3})\]\.(\w+)")
"""How a key of one item of a list is named, from 1: `findings[2].note`."""


def _no_item(name: str, value: Value | None) -> str:
    """That an entry has not so many items in a list."""
    count = len(value) if isinstance(value, tuple) else int(value is not None)
    there = f"it has {count} of them, from [1]" if count else "enter them all: --set KEY=[{..}]"
    return f"the entry has no such item of `{name}`; {there}"


def _with_item(before: Value | None, nth: int, name: str, text: str) -> Value | None:
    """A list with a key of one of its items set or, by an empty text, taken out."""
    items = before if isinstance(before, tuple) else (before,)
    item = items[nth - 1] if 0 < nth <= len(items) else None
    if not isinstance(item, Mapping):
        return None
    new = {k: v for k, v in item.items() if k != name} | ({name: text} if text else {})
    return tuple(new if i == nth else each for i, each in enumerate(items, 1) if each is not None)


def with_unit(kind: Kind, text: str, book: Book) -> str:
    """A bare pressure takes the ledger's unit, a bare share is one of a hundred, and what a meter
    shows is in hours, as the acts take them."""
    fixed = "%" if kind is PERCENT else "h" if kind is HOURS else None
    unit = book.settings.units if kind is PRESSURE else fixed
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def fault_of(text: str, mend: str) -> str:
    """What is wrong with a `--set`, and how it is mended where that is known."""
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
