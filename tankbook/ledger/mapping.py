"""The mapping file of an import: read with the place of everything that is wrong with it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from msgspec.structs import replace

from tankbook.acts.tab_rows import LEAVE_OUT, OF_ANY, QUANTITIES, kind_of
from tankbook.ledger.atomic import put_out
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.events import parse
from tankbook.ledger.ordinary import named
from tankbook.ledger.text import RECORD_LIMIT, read_text
from tankbook.records.fields import NodeReader, read
from tankbook.records.node import Finding, MappingNode, Node, Scalar, SequenceNode, Where
from tankbook.records.sheet_mapping import UNANSWERED, SheetMapping
from tankbook.units.patterns import pattern

_OPEN = pattern(
    r"""(?m)"(?:[^"\\\n]|\\.)*"|'(?:[^'\n]|'')*'|(?<!\S)\#.*"""
    r"""|(?<=:[ ])\?(?=[ \t]*(?:\#.*)?$|[ \t]*[,}\]])"""
)
"""A question mark that stands alone, which YAML would take for the beginning of a key; and what may
hold one that does not."""


def _answerable(text: str) -> str:
    return _OPEN.sub(lambda m: f'"{_LEFT_OPEN}"' if m[0] == UNANSWERED else m[0], text)


_LEFT_OPEN = "? left open"
"""What stands for one until it is told: a `?` in quotes is a text of the table."""


def is_there(path: Path) -> bool:
    """Whether there is a mapping to read, or anything else of that name."""
    return os.path.lexists(path)


def read_mapping(path: Path) -> tuple[SheetMapping | None, list[Finding]]:
    """The mapping of a file, and what is wrong with it; None where that leaves nothing to use.

    Raises:
        LedgerError: the file cannot be read.
    """
    data = named(path, RECORD_LIMIT)
    text, findings = read_text(data, path.name)
    if text is None:
        return None, findings
    return mapping_of(text, path.name)


def mapping_of(text: str, path: str) -> tuple[SheetMapping | None, list[Finding]]:
    """As `read_mapping`, from the text of a file that is called `path`."""
    node, findings = parse(_answerable(text), path)
    if node is None:
        empty = Finding(Where(path), "no-mapping", "nothing stands in it", _NOTHING_IN_IT)
        return None, list(findings) or [empty]
    node = _without_idle(node)
    open_ = list(_unanswered(node, path))
    reader = NodeReader(path)
    found = read(SheetMapping, node, reader)
    asked = {f.where for f in open_}
    wrong = [f for f in reader.findings if f.where not in asked]
    every = sorted([*findings, *open_, *wrong], key=lambda f: f.where)
    return (None if open_ or wrong else found), every


def _without_idle(node: Node) -> Node:
    """A mapping without what is left open of a column that is kept or left out as it stands: with
    its key that is answered. What is kept of a group may be of each cylinder of it."""
    if isinstance(node, SequenceNode):
        return replace(node, items=tuple(map(_without_idle, node.items)))
    if not isinstance(node, MappingNode):
        return node
    key = node.get("key")
    idle = isinstance(key, Scalar) and key.text in OF_ANY
    kept = isinstance(key, Scalar) and key.text != LEAVE_OUT
    asked = {"blanks"} if kept else set[str]()
    pairs = (
        (k, _without_idle(v))
        for k, v in node.pairs
        if not (idle and _is_open(v)) or k.text in asked
    )
    if idle:
        pairs = ((k, _without_open(v)) for k, v in pairs)
    return replace(node, pairs=tuple(pairs))


def _is_open(node: Node) -> bool:
    return isinstance(node, Scalar) and node.text == _LEFT_OPEN


def _without_open(node: Node) -> Node:
    if not isinstance(node, MappingNode):
        return node
    return replace(node, pairs=tuple((k, v) for k, v in node.pairs if not _is_open(v)))


def _unanswered(
    node: Node, path: str, name: str = "", of: str = "", holds: str = ""
) -> Iterator[Finding]:
    """Every `?` that nobody has answered yet."""
    if isinstance(node, Scalar):
        if node.text == _LEFT_OPEN:
            where = Where(path, node.start.line, node.start.column)
            text = f"{of}`{name}` is not answered"
            mend = _ANSWERS.get(name, "write what it means")
            if name == "unit" and (unit := QUANTITIES.get(kind_of(holds))):
                mend = _UNIT + ("bar or psi" if unit == "bar" else unit)
            yield Finding(where, "unanswered", text, mend)
    elif isinstance(node, SequenceNode):
        for item in node.items:
            yield from _unanswered(item, path, name, _called(item))
    elif isinstance(node, MappingNode):
        own = node.get("key")
        holds = own.text if isinstance(own, Scalar) else ""
        for key, value in node.pairs:
            yield from _unanswered(value, path, key.text, of, holds)


def _called(node: Node) -> str:
    """How a column is called in what is told of it."""
    if not isinstance(node, MappingNode):
        return ""
    letter, heading = node.get("column"), node.get("heading")
    if not isinstance(letter, Scalar):
        return ""
    more = f" ({heading.text})" if isinstance(heading, Scalar) else ""
    return f"column {letter.text}{more}: "


_NOTHING_IN_IT = "take it away, and give the line once more: it is written anew"

_ANSWERS = {
    "blanks": "write `as-above` where the empty cells are of the group that stands above them, "
    "else `nothing`",
    "is": "look at a cylinder whose stamp you know: write `last` where its dates say when it was "
    "tested, `next` with `period:` where they say when it is due",
    "dates": "write day-first, month-first or year-first; a column may have one of its own",
    "day_numbers": "write 1900, or 1904 where the workbook was begun on an old Mac",
    "key": "write what the column holds, or keep",
    "days": "look at a cylinder tested in the first days of a month: write right where these dates "
    "say so, swapped where day and month are the other way about",
    "decimal": "write point or comma",
    "hidden_rows": "write take or leave-out",
    "what": "write rental, hydro or visual, or take the line out and map a column to `what`",
    "use": "write rental, sale, customer, staff, pool or bank",
    "owned": "write customer, or what else those are kept for that are somebody's own",
    "unit": "write the unit of its numbers, such as bar, psi or L",
}
_UNIT = "write the unit of its numbers, such as "


def write_mapping(path: Path, text: str) -> None:
    """Put a mapping where nothing is yet.

    Raises:
        LedgerError: something is there, or the disk refuses.
    """
    if path.suffix.casefold() not in (".yaml", ".yml"):
        raise LedgerError(str(path), "a mapping ends in `.yaml`", f"name {path.stem}.yaml")
    with refusing(path):
        put_out(path, text.encode())
