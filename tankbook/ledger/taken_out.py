"""A whole ledger as one workbook, CSV or JSON, and back without loss.

What is taken out are tables: one of the cylinders, one of each kind of entry, the fill log, and all
else key by key, for whoever goes on with them elsewhere. Beside them stands every line of every
file: from these the ledger is made again, byte by byte, and held against its digests and against
the tables, so that nobody takes an edited table for the ledger.
"""

from __future__ import annotations

import base64
import binascii
import csv
import hashlib
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.events import parse
from tankbook.ledger.files import Files
from tankbook.ledger.modelines import SCHEMAS, WHERE, file_of
from tankbook.ledger.names import CARDS, LOGS, is_safe_id
from tankbook.ledger.tables import EXPORT, decoded, is_export
from tankbook.ledger.text import BOM
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import ListOf, Nested, keys_of
from tankbook.records.log import LogLine, columns
from tankbook.records.node import MappingNode, Node, Scalar
from tankbook.units.formulas import safe
from tankbook.units.patterns import pattern

MOST_BYTES = 64 << 20
"""Bytes of all files that are taken out together."""
LONGEST = 30_000
"""Characters of one cell: a workbook holds 32,767 (ECMA-376 names none; from memory)."""
PRIVATE = "contacts.csv"
"""Names and telephone numbers: they are taken out where somebody asks for them."""
KEPT_HIDDEN = (".gitattributes", ".gitignore")
ENDINGS = (".json", ".csv", ".xlsx")

ABOUT, FILES, SUMS = "about", "files", "sums"
_OF_FILES = ("file", "line", "text", "ends")
_LF, _CRLF, _NONE, _MORE = "", "crlf", "none", "more"
_CODED = "base64 "
"""How a line ends, and before it whether its text is written in letters that nothing changes."""
_BEGINS = "|"
"""What stands before the text of each line, so that no program takes it for more than text."""


class OutTable(Struct, frozen=True):
    """One table: its name, the heads of its columns, its rows, every cell a text."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


# --- what is taken out ---------------------------------------------------------------------------


def collect(files: Files, contacts: bool) -> dict[str, bytes]:
    """Every file of a ledger by its path; names and telephone numbers where they are asked for.
    What was taken out before and lies in it is none of its files, and would double it each time.

    Raises:
        LedgerError: one cannot be read, or they are too large together.
    """
    found: dict[str, bytes] = {}
    size, before = 0, set(taken_before(files))
    for path in sorted(_paths(files, "")):
        if path == PRIVATE and not contacts:
            continue
        if path in before or path in _SCHEMA_FILES:
            continue
        found[path] = files.read(path)
        size += len(found[path])
        if size > MOST_BYTES:
            text = f"the files of the ledger come to more than {MOST_BYTES:,} bytes"
            raise LedgerError(path, text, "take the folder itself: its files are plain text")
    return found


_SCHEMA_FILES = frozenset(f"{SCHEMAS}/{file_of(name)}" for name in WHERE)
"""What the program makes for editors, and makes again: no record, and longer than all of them."""


def has_schemas(files: Files) -> bool:
    """Whether the schemas of editors lie in a ledger, which are not taken out."""
    return any(map(files.exists, _SCHEMA_FILES))


def said_of(tables: Iterable[OutTable], what: str) -> str:
    """What an export says of itself under a name; an empty text where it does not."""
    about = next((each.rows for each in tables if each.name == ABOUT), ())
    return next((row[1] for row in about if len(row) > 1 and row[0] == what), "")


def taken_before(files: Files) -> list[str]:
    """The files in a ledger's folder that are the ledger as it was taken out before."""
    such = (p for p in sorted(_paths(files, "")) if p.casefold().endswith(ENDINGS))
    return [p for p in such if not p.startswith("fills/") and is_export(files.read(p))]


def _paths(files: Files, folder: str) -> Iterator[str]:
    start = f"{folder}/" if folder else ""
    for name in files.names(folder):
        if not name.startswith(".") or (not folder and name in KEPT_HIDDEN):
            yield f"{start}{name}"
    for name in files.folders(folder):
        if not name.startswith("."):
            yield from _paths(files, f"{start}{name}")


def tables_of(files: Mapping[str, bytes], about: Sequence[tuple[str, str]]) -> list[OutTable]:
    """The tables of a ledger's files, the one about them first, that of every line last."""
    cards = {path: node for path, data in files.items() if (node := _tree(path, data))}
    lines = tuple(row for path, data in files.items() for row in _lines(path, data))
    sums = tuple((path, hashlib.sha256(data).hexdigest()) for path, data in files.items())
    return [
        OutTable(ABOUT, ("what", "value"), (("format", EXPORT), *((n, safe(v)) for n, v in about))),
        *_of_cards("cylinders", Cylinder, cards),
        *_of_cards("sets", Doubles, cards),
        *_logs(files),
        *_others(cards),
        OutTable(SUMS, ("file", "sha256"), sums),
        OutTable(FILES, _OF_FILES, lines),
    ]


def _tree(path: str, data: bytes) -> MappingNode | None:
    """The keys of a record; None of what is none, or cannot be read."""
    if not path.endswith(".yaml"):
        return None
    try:
        text = data.decode()
    except UnicodeDecodeError:
        return None
    node, findings = parse(text.removeprefix(BOM), path)
    return node if isinstance(node, MappingNode) and not findings else None


def unread(files: Mapping[str, bytes]) -> list[str]:
    """Records that cannot be read: their lines are taken out; no other table has them."""
    return [
        path for path, data in files.items() if path.endswith(".yaml") and not _tree(path, data)
    ]


def _id(path: str, folder: str) -> str:
    """The id of a card by its path, or an empty text."""
    if not path.startswith(f"{folder}/"):
        return ""
    name = path.removeprefix(f"{folder}/").removesuffix(".yaml")
    return name if is_safe_id(name) else ""


def _of_cards(
    folder: str, noun: type[Cylinder] | type[Doubles], cards: Mapping[str, MappingNode]
) -> Iterator[OutTable]:
    """The table of the cards, and one of each of their lists of entries."""
    lists = [
        name
        for name, each in keys_of(noun).items()
        if isinstance(each.kind, ListOf) and isinstance(each.kind.kind, Nested)
    ]
    mine = {id_: node for path, node in cards.items() if (id_ := _id(path, folder))}
    rows = []
    for id_, node in mine.items():
        pairs = (p for k, v in node.pairs if k.text not in lists for p in _flat(v, k.text))
        rows.append({"id": id_, **dict(pairs)})
    yield _table(folder, ("id",), rows)
    for name in lists:
        entries = []
        for id_, node in mine.items():
            listed = node.get(name)
            items = getattr(listed, "items", (listed,) if listed is not None else ())
            for place, item in enumerate(items, 1):
                entries.append({"id": id_, "entry": f"{place}", **dict(_flat(item, ""))})
        if entries:
            called = name if folder == "cylinders" else f"{folder}_{name}"
            yield _table(called, ("id", "entry"), entries)


def _table(name: str, first: tuple[str, ...], rows: Sequence[Mapping[str, str]]) -> OutTable:
    heads = tuple(dict.fromkeys((*first, *(k for row in rows for k in row))))
    return OutTable(name, heads, tuple(tuple(row.get(h, "") for h in heads) for row in rows))


def _flat(node: Node, trail: str) -> Iterator[tuple[str, str]]:
    """Every value below a node, with the keys and places that lead to it."""
    if isinstance(node, Scalar):
        yield trail or "value", cell(node.text)
    elif isinstance(node, MappingNode):
        for key, value in node.pairs:
            yield from _flat(value, f"{trail}.{key.text}" if trail else key.text)
    elif all(isinstance(item, Scalar) for item in node.items):
        texts = (item.text for item in node.items if isinstance(item, Scalar))
        yield trail or "value", cell(", ".join(texts))
    else:
        for place, item in enumerate(node.items, 1):
            yield from _flat(item, f"{trail}.{place}" if trail else f"{place}")


_NOT_SHOWN = pattern(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ufffe\uffff\ud800-\udfff]")
_ESCAPED = pattern(r"_x[0-9A-Fa-f]{4}_")


def cell(text: str) -> str:
    """A value as a cell of any of the files can hold it: shown, and run by no program."""
    plain = _NOT_SHOWN.sub(" ", text).replace("\n", " ").replace("\t", " ")
    return safe(_ESCAPED.sub(" ", plain)[:LONGEST])


def _logs(files: Mapping[str, bytes]) -> Iterator[OutTable]:
    """The lines of the fill log as cells."""
    heads = columns(LogLine)
    rows: list[tuple[str, ...]] = []
    for path, data in files.items():
        if not path.startswith(f"{LOGS}/") or not path.endswith(".csv"):
            continue
        text = data.decode(errors="replace").removeprefix(BOM)
        if text.partition("\n")[0].strip() != ",".join(heads):
            continue
        try:
            read = list(csv.reader(text.splitlines()[1:], strict=True))
        except csv.Error:
            continue
        for number, cells in enumerate(read, 2):
            if len(cells) == len(heads):
                rows.append((path, f"{number}", *map(cell, cells)))
    if rows:
        yield OutTable("fills", ("file", "line", *heads), tuple(rows))


def _others(cards: Mapping[str, MappingNode]) -> Iterator[OutTable]:
    """Every value of the files that are no cards: settings, station, rules, checklists."""
    rows = [
        (path, name, value)
        for path, node in cards.items()
        if not any(_id(path, folder) for folder in CARDS)
        for name, value in _flat(node, "")
    ]
    if rows:
        yield OutTable("others", ("file", "key", "value"), tuple(rows))


# --- lines ---------------------------------------------------------------------------------------


def _lines(path: str, data: bytes) -> Iterator[tuple[str, ...]]:
    """Every line of a file, each with how it ends."""
    pieces = data.split(b"\n")
    for number, piece in enumerate(pieces, 1):
        last = number == len(pieces)
        if last and not piece:
            if number == 1:
                yield path, "1", _BEGINS, _NONE
            return
        ends = _NONE if last else _LF
        if piece.endswith(b"\r") and not last:
            piece, ends = piece[:-1], _CRLF
        yield from _line(path, number, piece, ends)


def _line(path: str, number: int, piece: bytes, ends: str) -> Iterator[tuple[str, ...]]:
    try:
        text = piece.decode()
        coded = not all(c.isprintable() for c in text) or bool(_ESCAPED.search(text))
    except UnicodeDecodeError:
        coded = True
    if coded:
        text = base64.b64encode(piece).decode()
    parts = [text[at : at + LONGEST] for at in range(0, len(text), LONGEST)] or [""]
    for place, part in enumerate(parts, 1):
        how = ends if place == len(parts) else _MORE
        yield path, f"{number}", f"{_BEGINS}{part}", f"{_CODED if coded else ''}{how}".strip()


def files_of(tables: Iterable[OutTable], path: str) -> dict[str, bytes]:
    """The files that tables were taken from, byte by byte.

    Args:
        tables: as `tables_of` made them.
        path: what they came in, for what is told of them.

    Raises:
        LedgerError: they are no export, say two things, or were changed.
    """
    named = {each.name: each for each in tables}
    _refuse_other(named, path)
    found: dict[str, bytearray] = {}
    begun: dict[str, str] = {}
    for row in _dicts(named[FILES]):
        file = row["file"]
        if not _is_safe(file):
            raise LedgerError(path, f"{file!a} is no file of a ledger", _ANEW)
        data = found.setdefault(file, bytearray())
        coded = row["ends"].startswith(_CODED.strip())
        how = row["ends"].removeprefix(_CODED.strip()).strip()
        text = begun.pop(file, "") + row["text"].removeprefix(_BEGINS)
        if not row["text"].startswith(_BEGINS) or how not in (_LF, _CRLF, _NONE, _MORE):
            where = f"{path}: line {row['line']} of {file}"
            raise LedgerError(where, "it is not as it was written", _ANEW)
        if how == _MORE:
            begun[file] = text
            continue
        try:
            data += base64.b64decode(text, validate=True) if coded else text.encode()
        except (binascii.Error, UnicodeEncodeError) as error:
            where = f"{path}: line {row['line']} of {file}"
            raise LedgerError(where, "it is not as it was written", _ANEW) from error
        data += {_LF: b"\n", _CRLF: b"\r\n"}.get(how, b"")
    made = {file: bytes(data) for file, data in found.items()}
    _held_against(made, named, path)
    return made


_ANEW = "take the ledger out anew; a table that was worked on comes in by a mapping"


def _refuse_other(named: Mapping[str, OutTable], path: str) -> None:
    rows = named[ABOUT].rows if ABOUT in named else ()
    said = next((row[1] for row in rows if row[:1] == ("format",) and len(row) > 1), "")
    if not {ABOUT, SUMS, FILES} <= set(named) or said != EXPORT:
        newer = f" ({said})" if said.startswith("tankbook export") else ""
        raise LedgerError(path, f"it is no export that is known here{newer}", _ANEW)


def _held_against(files: Mapping[str, bytes], named: Mapping[str, OutTable], path: str) -> None:
    """What came in is what went out: each file by its digest, and the tables by the files."""
    sums = {row["file"]: row["sha256"] for row in _dicts(named[SUMS])}
    for file in dict.fromkeys((*sums, *files)):
        if file not in files or hashlib.sha256(files[file]).hexdigest() != sums.get(file):
            raise LedgerError(path, f"{file} is not as it was written", _ANEW)
    known = {each.name: _said(each) for each in tables_of(files, ())}
    for name, each in named.items():
        if name in (ABOUT, SUMS, FILES):
            continue
        there, here = known.get(name, {}), _said(each)
        if there != here:
            wrong = next(k for k in (*there, *here) if there.get(k) != here.get(k))
            text = f"its table {name} was changed: {' '.join(wrong)}"
            raise LedgerError(path, text, _ANEW)
    if missing := [name for name, rows in known.items() if rows and name not in named]:
        raise LedgerError(path, f"its table {missing[0]} is not there", _ANEW)


def _said(table: OutTable) -> dict[tuple[str, ...], dict[str, str]]:
    """The rows of a table by what names each, without empty cells."""
    wide = {"cylinders": 1, "sets": 1}.get(table.name, 2)
    found = {}
    for row in table.rows:
        cells = {h: c for h, c in zip(table.heads, row, strict=False) if c}
        found[tuple(row[:wide])] = cells
    return found


def _dicts(table: OutTable) -> Iterator[dict[str, str]]:
    """The rows of a table of files by the heads of it; what is not there is empty."""
    every = {FILES: _OF_FILES, SUMS: ("file", "sha256")}[table.name]
    for row in table.rows:
        yield dict.fromkeys(every, "") | dict(zip(table.heads, row, strict=False))


_PART = pattern(r"[^\x00-\x1f\x7f/\\:]+")


def _is_safe(path: str) -> bool:
    """Whether a path is of a file that may lie in a ledger, and nowhere else."""
    parts = path.split("/")
    if path in KEPT_HIDDEN:
        return True
    return all(
        _PART.fullmatch(part) and not part.startswith(".") and not part.endswith((".", " "))
        for part in parts
    )


# --- the three kinds of file ---------------------------------------------------------------------


def written(tables: Sequence[OutTable], ending: str, path: str) -> bytes:
    """The tables as one file of a kind: `.json`, `.csv` or `.xlsx`.

    Raises:
        LedgerError: a workbook is asked for, and what writes one is not installed.
    """
    if ending == ".xlsx":
        from tankbook.ledger.workbook import write_workbook

        return write_workbook([(t.name, t.heads, t.rows) for t in tables], path)
    if ending == ".json":
        found = {t.name: [_object(t, row) for row in t.rows] for t in tables}
        return (json.dumps(found, ensure_ascii=False, indent=1) + "\n").encode()
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(("table", "row", "column", "value"))
    for table in tables:
        for number, row in enumerate(table.rows, 1):
            for head, value in zip(table.heads, row, strict=True):
                if value:
                    writer.writerow((table.name, number, head, value))
    return (BOM + out.getvalue()).encode()


def _object(table: OutTable, row: tuple[str, ...]) -> dict[str, str]:
    return {h: v for h, v in zip(table.heads, row, strict=True) if v}


def tables_in(data: bytes, path: str) -> list[OutTable]:
    """The tables of a file that was taken out, whatever program saved it since.

    Raises:
        LedgerError: it is none.
    """
    if data.startswith(b"PK\x03\x04"):
        from tankbook.ledger.workbook import every_sheet

        return [_of_rows(name, rows) for name, rows in every_sheet(data, path)]
    text, _, _ = decoded(data, path)
    if text.lstrip().startswith("{"):
        return _of_json(text, path)
    return _of_csv(text, path)


def _of_rows(name: str, rows: Sequence[Sequence[str]]) -> OutTable:
    heads = tuple(rows[0]) if rows else ()
    return OutTable(name, heads, tuple(map(tuple, rows[1:])))


def _of_objects(name: str, objects: Sequence[Mapping[str, str]]) -> OutTable:
    heads = tuple(dict.fromkeys(k for each in objects for k in each))
    return OutTable(name, heads, tuple(tuple(o.get(h, "") for h in heads) for o in objects))


def _of_json(text: str, path: str) -> list[OutTable]:
    wrong = LedgerError(path, "it is no export of a ledger", _ANEW)
    try:
        read: Any = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise wrong from error
    tables = []
    for name, rows in read.items() if isinstance(read, dict) else ():
        if not isinstance(rows, list) or not all(
            isinstance(r, dict) and all(isinstance(v, str) for v in r.values()) for r in rows
        ):
            raise wrong
        tables.append(_of_objects(name, rows))
    return tables


def _of_csv(text: str, path: str) -> list[OutTable]:
    first = text.partition("\n")[0]
    sep = next((s for s in ",;\t|" if re.fullmatch(rf'"?table"?{re.escape(s)}.*', first)), "")
    if not sep:
        raise LedgerError(path, "it is no export of a ledger", _ANEW)
    found: dict[str, dict[str, dict[str, str]]] = {}
    csv.field_size_limit(1 << 20)
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=sep, strict=True):
            name, number, head, value = row
            if name != "table" or number != "row":
                found.setdefault(name, {}).setdefault(number, {})[head] = value
    except (csv.Error, ValueError) as error:
        raise LedgerError(path, "it is no export of a ledger", _ANEW) from error
    return [_of_objects(name, list(rows.values())) for name, rows in found.items()]
