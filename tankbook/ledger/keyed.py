"""Files keyed in by hand: a fill sheet from the lake, what was found at a stock count, and a queue
of cylinders to be filled."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from tankbook.acts.fill_sheet import COLUMNS, Row
from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import LedgerError, first_fault, of_finding
from tankbook.ledger.ordinary import given
from tankbook.ledger.text import BOM, read_text
from tankbook.records.fields import nearest
from tankbook.records.node import Finding, Where
from tankbook.units.patterns import pattern

_BETWEEN = pattern(r"[\s,;]+")
_QUEUED = pattern(r"([^\s,=]+)\s*(?:[=,\s]\s*(.*))?")
_PAIRS = pattern(r"[^\s=]+=\S+(\s+[^\s=]+=\S+)+")
"""Several `14=500` on one line."""


def _text(path: Path) -> str:
    text, findings = read_text(given(path), path.name)
    if text is None:
        raise of_finding(findings[0])
    return text.removeprefix(BOM).replace("\r\n", "\n")


# --- tables, whose first line names the columns: capitals, blanks and hyphens do not matter


def _heading(body: str) -> tuple[list[str], list[str]]:
    """The columns as they are written, and as they are meant."""
    written = body.partition("\n")[0].split(",")
    return written, [re.sub(r"[\s-]+", "_", n.strip().strip('"').casefold()) for n in written]


def _wrong_columns(names: Sequence[str], known: Sequence[str], path: str) -> Iterator[Finding]:
    """Columns that are not known, or are there twice."""
    for place, name in enumerate(names):
        where = Where(path, 1, 1 + sum(len(each) + 1 for each in names[:place]))
        if name not in known:
            mend = nearest(name, list(known)) or f"known: {', '.join(known)}"
            text = f"the column `{name}` is not known"
            yield Finding(where, "unknown-column", text, mend)
        elif name in names[:place]:
            yield Finding(where, "column-order", f"the column `{name}` is there twice")


def read_sheet(path: Path) -> list[Row]:
    """The rows of a keyed fill sheet.

    The first line names the columns: any of those a sheet may have, in any order. Rows that name no
    cylinder and no pressure are blank lines of the form and are left out.

    Raises:
        LedgerError: the file cannot be read, or a line of it is no row.
    """
    body = _text(path)
    header, names = _heading(body)
    place = f"{path.name}:1:1"
    for wrong in _wrong_columns(names, COLUMNS, path.name):
        raise LedgerError(place, wrong.text, wrong.mend)
    if missing := {"cylinder", "to"} - set(names):
        raise LedgerError(place, f"a sheet needs the column {' and '.join(sorted(missing))}")
    rows, findings = read_rows(body, path.name, header)
    if fault := first_fault(findings):
        raise of_finding(fault)
    made = [Row(row.line, dict(zip(names, row.cells, strict=True))) for row in rows]
    return [row for row in made if row["cylinder"] or row["to"]]


# --- lists, in which `#` begins a remark


def _said(path: Path) -> list[str]:
    return [line.partition("#")[0].strip() for line in _text(path).splitlines()]


def read_found(path: Path) -> list[str]:
    """The ids found at a count: any words between blanks, commas or line ends; `#` begins a remark.

    Raises:
        LedgerError: the file cannot be read.
    """
    return [word for line in _said(path) for word in _BETWEEN.split(line) if word]


class Queued(Struct, frozen=True):
    """A cylinder of the queue as written: its id, its pressure or an empty text, and where."""

    id: str
    pressure: str
    where: str


def read_queue(path: Path) -> list[Queued]:
    """The cylinders of a queue file: one a line, as `14=500`, `14, 500 psi`, `14 500` or `14`;
    `#` begins a remark.

    Raises:
        LedgerError: the file cannot be read, or a line of it names no cylinder.
    """
    found = []
    for number, line in enumerate(_said(path), 1):
        where = f"{path.name}:{number}"
        for part in line.split() if _PAIRS.fullmatch(line) else filter(None, [line]):
            match = _QUEUED.fullmatch(part)
            if match is None:
                raise LedgerError(f"{where}:1", f"{part!r} names no cylinder", "write it as 14=500")
            found.append(Queued(match[1], (match[2] or "").strip(), where))
    return found
