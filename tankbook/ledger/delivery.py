"""A delivery note: a CSV file of cylinders to be booked in, one a row."""

from __future__ import annotations

import difflib
import re
from pathlib import Path

from tankbook.acts.arrivals import Arrival, known_keys, said
from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import named
from tankbook.ledger.text import BOM, read_text
from tankbook.records.node import Finding, Mark, Severity, Where


def read_delivery(path: Path) -> tuple[list[Arrival], list[Finding]]:
    """The cylinders of a delivery note, and what is wrong with the file.

    The first line names the columns: keys of a cylinder's file (`valve.outlet` for one inside), and
    `first_test`, `hydro`, `sticker`, `id`. Capitals, blanks and hyphens in names do not matter.

    Raises:
        LedgerError: the file cannot be read.
    """
    data = named(path)
    text, findings = read_text(data, path.name)
    if text is None:
        raise LedgerError(str(findings[0].where), findings[0].text, findings[0].mend)
    body = text.removeprefix(BOM).replace("\r\n", "\n")
    header = body.partition("\n")[0]
    columns = [_key(name) for name in header.split(",")]
    findings += _header_faults(columns, path.name)
    rows, wrong = read_rows(body, path.name, header.split(","))
    findings += [f for f in wrong if f.severity is Severity.FAULT]
    arrivals = []
    for row in rows:
        places = [Mark(0, row.line, row.column(i)) for i in range(len(row.cells))]
        cells = zip(columns, row.cells, places, strict=True)
        given = {name: said(cell.strip(), place) for name, cell, place in cells if cell.strip()}
        if given:
            arrivals.append(Arrival(path.name, given))
    return arrivals, findings


def _key(name: str) -> str:
    return re.sub(r"[\s-]+", "_", name.strip().strip('"').casefold())


def _header_faults(columns: list[str], path: str) -> list[Finding]:
    """Columns that are no keys of a cylinder, or are there twice."""
    known = known_keys()
    found = []
    for place, name in enumerate(columns):
        where = Where(path, 1, 1 + sum(len(c) + 1 for c in columns[:place]))
        if name not in known:
            close = difflib.get_close_matches(name, known, n=1, cutoff=0.6)
            mend = f"did you mean `{close[0]}`?" if close else f"known: {', '.join(known)}"
            found.append(
                Finding(where, "unknown-column", f"the column `{name}` is not known", mend)
            )
        elif name in columns[:place]:
            found.append(Finding(where, "column-order", f"the column `{name}` is there twice"))
    return found
