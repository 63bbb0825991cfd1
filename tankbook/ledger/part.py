"""A part of a ledger, for questions about one cylinder that must not wait for all the others."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.files import Files
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.load import SETTINGS_FILE, load_from
from tankbook.ledger.names import is_safe_id
from tankbook.ledger.text import character_faults, read_text
from tankbook.records.book import Book
from tankbook.records.fields import Reader
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.node import Finding, Node, Severity, Where
from tankbook.records.settings import Settings


@dataclass(frozen=True, slots=True)
class Part:
    """Only the settings, and the files of these folders that are named."""

    files: Files
    wanted: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        return self.files.name

    def names(self, folder: str) -> list[str]:
        if not any(path.startswith(f"{folder}/") for path in self.wanted):
            return []
        return [n for n in self.files.names(folder) if f"{folder}/{n}" in self.wanted]

    def exists(self, path: str) -> bool:
        return (path == SETTINGS_FILE or path in self.wanted) and self.files.exists(path)

    def read(self, path: str) -> bytes:
        return self.files.read(path)


def part_of(files: Files, *paths: str) -> Book:
    """A book of the settings and the record files at `paths`, with no log.

    Raises:
        LedgerError: the settings cannot be read.
    """
    return load_from(Part(files, frozenset(paths)))


def settings_of(files: Files) -> Settings:
    """The settings alone. Raises `LedgerError` where they cannot be read."""
    return part_of(files).settings


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
    paths = [f"sets/{name}" for name in files.names("sets")]
    book = part_of(files, *paths)
    return [name for name, each in book.sets.items() if id_ in each.cylinders]


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
            reader = Reader(path, character_faults(text, path))
            found += _lines(text, ids, reader)
            findings += reader.findings
    return found, findings


def _lines(text: str, ids: Collection[str], reader: Reader) -> Iterator[LogLine]:
    wanted = re.compile("|".join(rf',"?{re.escape(i)}"?,' for i in ids))
    numbers, kept = [], []
    for number, line in enumerate(text.split("\n"), 1):
        if wanted.search(line):
            numbers.append(number)
            kept.append(line)
    header = columns(LogLine)
    rows, faults = read_rows("\n".join([",".join(header), *kept, ""]), reader.path, header)
    for each in faults:
        if each.severity is Severity.FAULT:
            reader.findings.append(
                replace(each, where=Where(reader.path, numbers[each.where.line - 2]))
            )
    for row in rows:
        got = read_line(LogLine, row.cells, reader, numbers[row.line - 2], row.column)
        if got is not None and got.cylinder in ids:
            yield got
