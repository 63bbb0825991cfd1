"""Typing a record whose text is already known to be plain, all at once.

Where anything is at fault the answer is None, and `fields.read` says what it is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from tankbook.records.fields import (
    NOTHING,
    FreeText,
    Kind,
    ListOf,
    MapOf,
    Nested,
    OneOf,
    Parsed,
    Record,
    RecordPlace,
    Unread,
    attributes_of,
    keys_of,
    once_per_record,
)

R = TypeVar("R", bound=Record)

Trail = tuple[str | int, ...]
Plain = Callable[[Any], Any]
"""Types a plain value that holds no records."""
Placed = Callable[[Any, str, Unread, Trail], Any]
"""Types a value that holds records: the value, the file's path, its nodes to be, the way to it."""


class _FaultError(Exception):
    """Something is at fault."""


def quick_read(
    record: type[R], values: dict[str, Any], path: str, nodes: Unread, **named: str
) -> R | None:
    """The record that plain values stand for, or None where anything in them is at fault.

    `named` is what it is called, where that does not stand in the file.
    """
    try:
        found: R = _typed(record, values, path, nodes, (), named)
    except _FaultError:
        return None
    return found


def _typed(
    record: type[Any], values: Any, path: str, nodes: Unread, trail: Trail,
    named: dict[str, str] | None = None,
) -> Any:  # fmt: skip
    if type(values) is not dict:
        raise _FaultError
    known, required = _shape(record)
    typed: dict[str, Any] = dict(named or ())
    for name, value in values.items():
        key = known.get(name)
        if key is None:
            raise _FaultError
        attribute, plain, placed, may_be_empty = key
        if type(value) is str and (not value or value.isspace()):
            if not may_be_empty:
                raise _FaultError
            continue
        got = plain(value) if plain else placed(value, path, nodes, (*trail, name))
        if got is not None:
            typed[attribute] = got
    if not required <= typed.keys():
        raise _FaultError
    return record(source=RecordPlace(path, nodes, trail), **typed)


@once_per_record
def _shape(
    record: type[Record],
) -> tuple[dict[str, tuple[str, Plain | None, Placed, bool]], set[str]]:
    """How each key is typed, and the attributes that must be there."""
    names = attributes_of(record)
    known = {}
    for each in keys_of(record).values():
        holds_records = _holds_records(each.kind)
        plain = None if holds_records else _plain(each.kind)
        placed = _placed(each.kind) if holds_records else _never
        known[each.name] = names[each.name], plain, placed, each.left_out is None
    return known, {names[k.name] for k in keys_of(record).values() if k.required}


def _holds_records(kind: Kind) -> bool:
    if isinstance(kind, ListOf | MapOf):
        return _holds_records(kind.kind)
    return isinstance(kind, Nested)


def _placed(kind: Kind) -> Placed:
    """The typer of a kind that holds records."""
    if isinstance(kind, ListOf):
        return _list_of(_placed(kind.kind))
    if isinstance(kind, MapOf):
        return _map_of(_placed(kind.kind))
    assert isinstance(kind, Nested)
    record = kind.record
    return lambda value, path, nodes, trail: _typed(record, value, path, nodes, trail)


def _plain(kind: Kind) -> Plain:
    """The typer of a kind that holds no records."""
    if isinstance(kind, ListOf):
        return _plain_list(_plain(kind.kind))
    if isinstance(kind, MapOf):
        return _plain_map(_plain(kind.kind))
    if isinstance(kind, FreeText):
        return _text(kind.limit)
    if isinstance(kind, Parsed):
        return _remembered(kind.parse)
    if isinstance(kind, OneOf):
        twins, words = dict(kind.twins), kind.words
        return _remembered(lambda text: words(twins.get(text.lower(), text.lower())))
    return _never


def _never(*_: Any) -> Any:
    raise _FaultError


def _list_of(placed: Placed) -> Placed:
    def typed(value: Any, path: str, nodes: Unread, trail: Trail) -> Any:
        if type(value) is not list:
            return (placed(value, path, nodes, trail),)
        return tuple(placed(v, path, nodes, (*trail, i)) for i, v in enumerate(value))

    return typed


def _map_of(placed: Placed) -> Placed:
    def typed(value: Any, path: str, nodes: Unread, trail: Trail) -> Any:
        if type(value) is not dict:
            raise _FaultError
        return {name: placed(v, path, nodes, (*trail, name)) for name, v in value.items()}

    return typed


def _plain_list(plain: Plain) -> Plain:
    return lambda value: tuple(map(plain, value)) if type(value) is list else (plain(value),)


def _plain_map(plain: Plain) -> Plain:
    def typed(value: Any) -> Any:
        if type(value) is not dict:
            raise _FaultError
        return {name: plain(v) for name, v in value.items()}

    return typed


def _text(limit: int) -> Plain:
    def typed(value: Any) -> Any:
        if type(value) is not str:
            raise _FaultError
        said = value.strip()
        if said in NOTHING or len(said) > limit:
            raise _FaultError
        return said

    return typed


def _remembered(parse: Plain) -> Plain:
    """A fleet says the same few pressures and dates over and over."""
    known: dict[str, Any] = {}

    def typed(value: Any) -> Any:
        if type(value) is not str:
            raise _FaultError
        if value in known:
            return known[value]
        if value in NOTHING or value != value.strip():
            raise _FaultError
        try:
            got = parse(value)
        except ValueError:
            raise _FaultError from None
        if len(known) < _MOST_KNOWN:
            known[value] = got
        return got

    return typed


_MOST_KNOWN = 20_000
