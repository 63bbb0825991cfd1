"""Whether a file holds what an edit put there."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from functools import lru_cache

from tankbook.ledger.events import parse
from tankbook.ledger.text import read_text
from tankbook.records import node as nodes
from tankbook.records.edits import AddEntry, AddLine, Edit, NewFile, Value
from tankbook.records.log import LogLine, columns

LOG_FOLDER = "fills"


def log_of(line: AddLine) -> str:
    """The log that a line belongs to: that of its year."""
    return f"{LOG_FOLDER}/{line.cells.get('at', '')[:4]}.csv"


def file_of(edit: Edit) -> str:
    """The path of the file that an edit is made to."""
    return log_of(edit) if isinstance(edit, AddLine) else edit.file


def is_there(edit: Edit, data: bytes | None, *, grown: bool = False) -> bool:
    """Whether a file holds already what an edit adds to it; a new file is never told by its
    content. With `grown`, an entry of its day is the same whatever its words became since, in
    whatever place of its list, and where a cylinder stands is none: it is worked out."""
    if data is None or isinstance(edit, NewFile):
        return False
    if isinstance(edit, AddLine):
        return _told(edit.cells) in _lines(data)
    below = [_root(data, edit.file)]
    for key in edit.trail:
        below = [each for node in below for each in _below(node, key, anywhere=grown)]
    if isinstance(edit, AddEntry):
        items = (i for node in below if isinstance(node, nodes.Sequence) for i in node.items)
        return any(_is(i, edit.entry) or (grown and _is_of_day(i, edit.entry)) for i in items)
    return (grown and edit.trail == ("status",)) or any(_is(node, edit.value) for node in below)


def _told(cells: Mapping[str, str]) -> tuple[str | None, ...]:
    """What a line tells of: completed by hand, it may differ in a cell."""
    return tuple(cells.get(name) for name in ("at", "cylinder", "act"))


# Many acts are looked for in one version of a file, so each is read once.


@lru_cache(maxsize=8)
def _lines(data: bytes) -> frozenset[tuple[str | None, ...]]:
    """What the lines of a log tell of."""
    text, _ = read_text(data, LOG_FOLDER)
    header = columns(LogLine)
    rows = csv.reader((text or "").splitlines())
    return frozenset(_told(dict(zip(header, cells, strict=False))) for cells in rows)


@lru_cache(maxsize=64)
def _root(data: bytes, path: str) -> nodes.Node | None:
    text, _ = read_text(data, path)
    return None if text is None else parse(text, path)[0]


def _below(
    found: nodes.Node | None, key: str | int, *, anywhere: bool
) -> Iterator[nodes.Node | None]:
    if isinstance(found, nodes.Mapping) and isinstance(key, str):
        yield found.get(key)
    if isinstance(found, nodes.Sequence) and isinstance(key, int):
        yield from found.items if anywhere else found.items[key : key + 1]


def _is_of_day(found: nodes.Node, value: Value) -> bool:
    """Whether an entry is of the day of another: one that was mended by hand before git had it."""
    day = value.get("on") if isinstance(value, Mapping) else None
    return day is not None and isinstance(found, nodes.Mapping) and _is(found.get("on"), day)


def _is(found: nodes.Node | None, value: Value) -> bool:
    if isinstance(found, nodes.Scalar):
        return found.text == value
    if isinstance(found, nodes.Mapping) and isinstance(value, Mapping):
        same = (_is(found.get(name), inner) for name, inner in value.items())
        return list(found.keys()) == list(value) and all(same)
    if isinstance(found, nodes.Sequence) and isinstance(value, tuple | list):
        return len(found.items) == len(value) and all(map(_is, found.items, value))
    return False
