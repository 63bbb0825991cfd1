"""Conditions and sort keys for `list`: fields as files name them, values as files write them."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator
from enum import Enum
from typing import Any

from msgspec import Struct

from tankbook.cli.answer import RequestError
from tankbook.output.listing import Listed
from tankbook.records.cylinder import Cylinder
from tankbook.records.fields import (
    Key,
    Kind,
    ListOf,
    Nested,
    NodeReader,
    Record,
    attributes_of,
    keys_of,
)
from tankbook.records.kinds import DATE, PRESSURE
from tankbook.records.node import Mark, Scalar
from tankbook.records.words import Shore
from tankbook.rules.tested import first_test
from tankbook.units import PartialDate
from tankbook.units.patterns import pattern

WRITTEN = pattern(r"([a-z][a-z0-9_.-]*)\s*(<=|>=|!=|=|<|>)\s*(.*)", re.DOTALL)
BARE = pattern(r"[0-9]+(\.[0-9]+)?")

DERIVED: dict[str, Callable[[Listed], Any]] = {
    "id": lambda row: row.cylinder.id,
    "size": lambda row: row.size,
    "gas": lambda row: row.gas or None,
    "status": lambda row: row.standing or None,
    "fill": lambda row: "yes" if row.fillable else "no",
    "ready": lambda row: "yes" if row.ready else "no",
    "first_test": lambda row: first_test(row.cylinder),
}
"""Fields that are worked out; the status is that of the entries, not only the recorded word."""


class ListCondition(Struct, frozen=True):
    """A field, how it is compared, and with what. `wanted` is None for `field=`, not recorded."""

    field: str
    operator: str
    wanted: Any

    def holds(self, row: Listed) -> bool:
        """Whether a cylinder fits; where a field has several values, whether one of them does."""
        values = [v for v in values_of(row, self.field) if v is not None]
        if self.wanted is None:
            return bool(values) == (self.operator == "!=")
        if self.operator == "!=":
            return not any(_compare("=", v, self.wanted) for v in values)
        return any(_compare(self.operator, v, self.wanted) for v in values)

    def __str__(self) -> str:
        said = self.wanted.value if isinstance(self.wanted, Enum) else self.wanted
        if self.wanted is None:
            return f"{self.field} {'' if self.operator == '!=' else 'not '}recorded"
        return f"{self.field} {self.operator} {said}"


def plain(**options: str) -> list[str]:
    """The short options as conditions."""
    return [f"{name}={text}" for name, text in options.items() if text]


def parse(text: str, shore: Shore) -> ListCondition:
    """Read `service_pressure<3300`. Raises `RequestError`."""
    found = WRITTEN.fullmatch(text.strip())
    if found is None:
        mend = "write FIELD=VALUE, or with !=, <, >, <=, >="
        raise RequestError(f"--where: {text!r} is not a condition", mend)
    name, operator, said = found[1].replace("-", "_"), found[2], found[3].strip()
    kind = _kind(name)
    if not said:
        if operator not in {"=", "!="}:
            raise RequestError(f"--where: {text!r} compares with nothing", "write a value")
        return ListCondition(name, operator, None)
    wanted = _value(kind, name, said, shore)
    if operator not in {"=", "!="} and isinstance(wanted, str):
        mend = "only quantities, dates and counts come in an order; use = or !="
        raise RequestError(f"--where: {name} is not more or less than anything", mend)
    return ListCondition(name, operator, wanted)


def sort_key(text: str) -> Callable[[Listed], Any]:
    """The order of a list by a field: unrecorded last, ids within ties. Raises `RequestError`."""
    name = text.strip().replace("-", "_")
    _kind(name)

    def order(row: Listed) -> tuple[bool, Any, str]:
        values = [v for v in values_of(row, name) if v is not None]
        return not values, _order(values[0]) if values else 0, row.cylinder.id

    return order


def values_of(row: Listed, name: str) -> Iterator[Any]:
    """The values of a field: one, none, or those of every entry of a list."""
    if name == "status":  # of one that is held while it is out, both
        yield from row.every
        return
    if name in DERIVED:
        yield DERIVED[name](row)
        return
    path = name.split(".")
    if path[0] == "valve":  # the one that is on it, which is not always the one it came with
        yield from _walk(row.cylinder.valve, path[1:])
        return
    yield from _walk(row.cylinder, path)


def _walk(value: Any, path: list[str]) -> Iterator[Any]:
    if isinstance(value, tuple):
        for each in value:
            yield from _walk(each, path)
    elif not path:
        yield value
    elif isinstance(value, Record):
        yield from _walk(getattr(value, attributes_of(type(value))[path[0]]), path[1:])


def _kind(name: str) -> Kind | None:
    """The kind of a field; None for a worked-out one that is plain text."""
    if name == "first_test":
        return DATE
    if name in DERIVED:
        return _inner(keys_of(Cylinder)[name].kind) if name == "status" else None
    record: type[Record] | None = Cylinder
    kind: Kind | None = None
    for step in name.split("."):
        known: dict[str, Key] = keys_of(record) if record else {}
        if step not in known:
            fields = ", ".join(sorted({*known, *(DERIVED if record is Cylinder else ())}))
            raise RequestError(f"{name!r} is not a field of a cylinder", f"known: {fields}")
        kind = _inner(known[step].kind)
        record = kind.record if isinstance(kind, Nested) else None
    if isinstance(kind, Nested):
        inside = ", ".join(f"{name}.{k}" for k in keys_of(kind.record))
        raise RequestError(f"{name!r} holds several fields", f"name one: {inside}")
    return kind


def _inner(kind: Kind) -> Kind:
    return kind.kind if isinstance(kind, ListOf) else kind


def _value(kind: Kind | None, name: str, text: str, shore: Shore) -> Any:
    if kind is None:
        return text
    if kind is PRESSURE and BARE.fullmatch(text):
        text = f"{text} {shore}"
    reader = NodeReader("")
    mark = Mark(0, 1, 1)
    got = kind.read(Scalar(text, mark, mark), name, reader)
    if reader.findings:
        fault = reader.findings[0]
        raise RequestError(f"--where: {fault.text}", fault.mend)
    return got


def _compare(operator: str, value: Any, wanted: Any) -> bool:
    if isinstance(value, str) and isinstance(wanted, str):
        return value.casefold() == wanted.casefold()
    low, high, first, last = _ends(value) + _ends(wanted)
    match operator:
        case "=":
            return bool(first <= low and high <= last)
        case "<":
            return bool(high < first)
        case ">":
            return bool(low > last)
        case "<=":
            return bool(low <= last)
        case _:
            return bool(high >= first)


def _ends(value: Any) -> tuple[Any, Any]:
    """A month is compared by its first and last day, anything else by itself."""
    if isinstance(value, PartialDate):
        return value.first, value.last
    if isinstance(value, dt.datetime):
        return value.date(), value.date()
    return value, value


def _order(value: Any) -> Any:
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, str):
        return value.casefold()
    return _ends(value)
