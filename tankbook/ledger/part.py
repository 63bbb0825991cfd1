"""A part of a ledger, for questions about one cylinder that must not wait for all the others."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterator
from contextlib import suppress

from msgspec.structs import replace

from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import of_finding
from tankbook.ledger.files import Files, refuse_newer
from tankbook.ledger.gitlog import cells_of, read_node
from tankbook.ledger.names import SETTINGS_FILE, STATION_FILE, is_safe_id
from tankbook.ledger.text import BOM, character_faults, read_text
from tankbook.records.cylinder import Doubles
from tankbook.records.fields import NodeReader, read
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.node import Finding, MappingNode, Node, Scalar, SequenceNode, Severity, Where
from tankbook.records.settings import Settings
from tankbook.records.station import Station


def settings_of(files: Files) -> Settings:
    """The settings alone.

    Raises:
        LedgerError: they cannot be read.
    """
    refuse_newer(files)
    node, findings = node_at(files, SETTINGS_FILE)
    reader = NodeReader(SETTINGS_FILE, findings)
    settings = None if findings else read(Settings, node, reader)
    if settings is None or reader.findings:
        raise of_finding(reader.findings[0])
    return settings


def station_of(files: Files) -> Station | None:
    """The station alone, as far as its file can be read."""
    node, findings = node_at(files, STATION_FILE)
    return None if node is None or findings else read(Station, node, NodeReader(STATION_FILE))


def ids_of(files: Files) -> list[str]:
    """The ids of all cylinders and sets, by the names of their files; none is read."""
    names = (name for folder in ("cylinders", "sets") for name in files.names(folder))
    ids = (name.removesuffix(".yaml") for name in names if name.endswith(".yaml"))
    return [each for each in ids if is_safe_id(each)]


def path_of(files: Files, id_: str) -> str:
    """The file of a cylinder or a set."""
    path = f"sets/{id_}.yaml"
    return path if files.exists(path) else f"cylinders/{id_}.yaml"


def node_at(files: Files, path: str) -> tuple[Node | None, list[Finding]]:
    """A record file as a node, and what is wrong; None where it is not there or cannot be read."""
    return read_node(files.read(path), path) if files.exists(path) else (None, [])


def sets_of(files: Files, id_: str) -> list[str]:
    """The sets a cylinder is in, as far as their files can be read."""
    found = []
    for path in (f"sets/{name}" for name in files.names("sets") if name.endswith(".yaml")):
        node, _ = node_at(files, path)
        doubles = read(Doubles, node, NodeReader(path)) if node is not None else None
        if doubles is not None and id_ in doubles.cylinders:
            found.append(path.removeprefix("sets/").removesuffix(".yaml"))
    return found


def formerly_of(node: Node | None) -> list[str]:
    """The ids that a card says its cylinder had before."""
    said = node.get("formerly") if isinstance(node, MappingNode) else None
    items = said.items if isinstance(said, SequenceNode) else (said,)
    return [each.text.strip() for each in items if isinstance(each, Scalar)]


def lines_of(files: Files, ids: Collection[str]) -> tuple[list[LogLine], list[Finding]]:
    """The lines of the log that name one of `ids`, and what is wrong with these.

    A merge that is not settled is told wherever it is; the other lines are not looked at.
    """
    found: list[LogLine] = []
    findings: list[Finding] = []
    for path in (f"fills/{n}" for n in files.names("fills") if n.endswith(".csv")):
        text, faults = read_text(files.read(path), path)
        findings += faults
        if text is not None:
            reader = NodeReader(path, character_faults(text, path))
            found += _lines(f"{text}\n", ids, reader)
            findings += reader.findings
    return found, findings


def _lines(text: str, ids: Collection[str], reader: NodeReader) -> Iterator[LogLine]:
    header = columns(LogLine)
    first, _, rest = text.removeprefix(BOM).partition("\n")
    if first.rstrip("\r") == ",".join(header):
        numbers, kept = _naming(text, ids)
    else:  # the columns stand otherwise, or are none: all of it is read
        numbers, kept = list(range(2, rest.count("\n") + 2)), rest.split("\n")[:-1]
    rows, faults = read_rows("\n".join([first, *kept, ""]), reader.path, header)
    for each in faults:
        if each.severity is Severity.FAULT:
            at = [1, *numbers][max(each.where.line, 1) - 1]
            reader.findings.append(replace(each, where=Where(reader.path, at)))
    for row in rows:
        got = read_line(LogLine, row.cells, reader, numbers[row.line - 2], row.column)
        if got is not None and got.cylinder in ids:
            yield got


def rows_naming(data: bytes, ids: Collection[str]) -> bytes:
    """The header of a log and its lines that name one of `ids`, as they are written."""
    text = data.decode("utf-8", "surrogateescape")
    first = text.partition("\n")[0]
    _, kept = _naming(text if text.endswith("\n") else f"{text}\n", ids)
    return "".join(f"{line}\n" for line in (first, *kept)).encode("utf-8", "surrogateescape")


def rows_of(data: bytes, ids: Collection[str]) -> bytes:
    """The header of a log and the lines that are about one of `ids`, as they are written; nothing
    where there are none."""
    text = data.decode("utf-8", "surrogateescape")
    first, *lines = text.split("\n")
    place = list(columns(LogLine)).index("cylinder")
    kept = []
    for line in lines:
        cells = cells_of(line.removesuffix("\r"))
        if len(cells) > place and cells[place] in ids:
            kept.append(line)
    found = "".join(f"{line}\n" for line in (first, *kept)) if kept else ""
    return found.encode("utf-8", "surrogateescape")


def rows_by(data: bytes, written: Callable[[dt.datetime], bool]) -> bytes:
    """A log without the lines that had not been written yet, as their moment says."""
    lines = data.decode("utf-8", "surrogateescape").split("\n")
    place = list(columns(LogLine)).index("at")

    def is_kept(line: str) -> bool:
        with suppress(ValueError, IndexError):
            at = dt.datetime.fromisoformat(cells_of(line.removesuffix("\r"))[place])
            return at.tzinfo is None or written(at)
        return True  # what cannot be read may say something

    return "\n".join(filter(is_kept, lines)).encode("utf-8", "surrogateescape")


def _naming(text: str, ids: Collection[str]) -> tuple[list[int], list[str]]:
    """The lines that name one of some ids, with their numbers."""
    numbers, kept, number, at = [], [], 1, 0
    for start in sorted(_starts(text, ids)):
        number, at = number + text.count("\n", at, start), start
        numbers.append(number)
        kept.append(text[start : text.index("\n", start)])
    return numbers, kept


def _starts(text: str, ids: Collection[str]) -> set[int]:
    """Where the lines begin that name one of some ids in any cell."""
    found: set[int] = set()
    for needle in (f",{q}{id_}{q}," for id_ in ids for q in ("", '"')):
        at = text.find(needle)
        while at >= 0:
            found.add(text.rfind("\n", 0, at) + 1)
            at = text.find(needle, at + 1)
    return found
