"""Whether a file holds what an edit put there."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence

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
    text, _ = read_text(data, file_of(edit))
    if text is None:
        return False
    if isinstance(edit, AddLine):
        return any(_is_line(edit, cells) for cells in csv.reader(text.splitlines()))
    found, _ = parse(text, edit.file)
    below = [found]
    for key in edit.trail:
        below = [each for node in below for each in _below(node, key, anywhere=grown)]
    if isinstance(edit, AddEntry):
        items = (i for node in below if isinstance(node, nodes.Sequence) for i in node.items)
        return any(_is(i, edit.entry) or (grown and _is_of_day(i, edit.entry)) for i in items)
    return (grown and edit.trail == ("status",)) or any(_is(node, edit.value) for node in below)


def _is_line(edit: AddLine, cells: Sequence[str]) -> bool:
    """Whether a line tells of the same thing: completed by hand, it may differ in a cell."""
    told = dict(zip(columns(LogLine), cells, strict=False))
    return all(told.get(name) == edit.cells.get(name) for name in ("at", "cylinder", "act"))


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
