"""Files keyed in by hand: a fill sheet from the lake, and what was found at a stock count."""

from __future__ import annotations

import difflib
import re
from pathlib import Path

from tankbook.acts.fill_sheet import COLUMNS, Row
from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import named
from tankbook.ledger.text import BOM, read_text
from tankbook.records.node import Severity
from tankbook.units.patterns import pattern

_BETWEEN = pattern(r"[\s,;]+")


def read_sheet(path: Path) -> list[Row]:
    """The rows of a keyed fill sheet.

    The first line names the columns: any of those a sheet may have, in any order. Rows that name no
    cylinder and no pressure are blank lines of the form and are left out.

    Raises:
        LedgerError: the file cannot be read, or a line of it is no row.
    """
    body = _text(path)
    header = body.partition("\n")[0].split(",")
    names = [re.sub(r"[\s-]+", "_", name.strip().strip('"').casefold()) for name in header]
    _check_header(names, path.name)
    rows, findings = read_rows(body, path.name, header)
    for found in findings:
        if found.severity is Severity.FAULT:
            raise LedgerError(str(found.where), found.text, found.mend)
    made = [Row(row.line, dict(zip(names, row.cells, strict=True))) for row in rows]
    return [row for row in made if row["cylinder"] or row["to"]]


def _check_header(names: list[str], path: str) -> None:
    for place, name in enumerate(names):
        if name not in COLUMNS:
            close = difflib.get_close_matches(name, COLUMNS, n=1, cutoff=0.6)
            mend = f"did you mean `{close[0]}`?" if close else f"known: {', '.join(COLUMNS)}"
            raise LedgerError(f"{path}:1:1", f"the column `{name}` is not known", mend)
        if name in names[:place]:
            raise LedgerError(f"{path}:1:1", f"the column `{name}` is there twice")
    missing = {"cylinder", "to"} - set(names)
    if missing:
        what = " and ".join(sorted(missing))
        raise LedgerError(f"{path}:1:1", f"a sheet needs the column {what}")


def read_found(path: Path) -> list[str]:
    """The ids found at a count: any words between blanks, commas or line ends; `#` begins a remark.

    Raises:
        LedgerError: the file cannot be read.
    """
    lines = (line.partition("#")[0] for line in _text(path).splitlines())
    return [word for line in lines for word in _BETWEEN.split(line) if word]


def _text(path: Path) -> str:
    data = named(path)
    text, findings = read_text(data, path.name)
    if text is None:
        raise LedgerError(str(findings[0].where), findings[0].text, findings[0].mend)
    return text.removeprefix(BOM).replace("\r\n", "\n")
