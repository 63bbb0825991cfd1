"""Whether a file holds what an edit put there."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence

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
    content. With `grown`, an entry that was added to since is the same."""
    if data is None or isinstance(edit, NewFile):
        return False
    text, _ = read_text(data, file_of(edit))
    if text is None:
        return False
    if isinstance(edit, AddLine):
        return any(_is_line(edit, cells) for cells in csv.reader(text.splitlines()))
    found, _ = parse(text, edit.file)
    for key in edit.trail:
        found = _below(found, key)
    if isinstance(edit, AddEntry):
        items = found.items if isinstance(found, nodes.Sequence) else ()
        return any(_is(item, edit.entry, grown=grown) for item in items)
    return _is(found, edit.value)


def _is_line(edit: AddLine, cells: Sequence[str]) -> bool:
    """Whether a line tells of the same thing: completed by hand, it may differ in a cell."""
    told = dict(zip(columns(LogLine), cells, strict=False))
    return all(told.get(name) == edit.cells.get(name) for name in ("at", "cylinder", "act"))


def _below(found: nodes.Node | None, key: str | int) -> nodes.Node | None:
    if isinstance(found, nodes.Mapping) and isinstance(key, str):
        return found.get(key)
    if isinstance(found, nodes.Sequence) and isinstance(key, int) and key < len(found.items):
        return found.items[key]
    return None


def _is(found: nodes.Node | None, value: Value, *, grown: bool = False) -> bool:
    if isinstance(found, nodes.Scalar):
        return found.text == value
    if isinstance(found, nodes.Mapping) and isinstance(value, Mapping):
        same = (_is(found.get(name), inner) for name, inner in value.items())
        return (grown or list(found.keys()) == list(value)) and all(same)
    if isinstance(found, nodes.Sequence) and isinstance(value, tuple | list):
        return len(found.items) == len(value) and all(map(_is, found.items, value))
    return False
