"""Answers as CSV that a spreadsheet opens right, whatever is written in the records.

UTF-8 with a byte order mark, without which a spreadsheet program of the time reads accents as
gibberish; lines end in CR LF and every text is quoted (RFC 4180). Numbers and dates are written so
that they are read as such: a decimal point, no thousands separator, no unit (that is in the
heading or a column of its own), dates as 2026-11-25.

A text that a spreadsheet would take for a formula is made harmless (`units/formulas.py`).
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal

from tankbook.output.as_json import number
from tankbook.units import Money, PartialDate, Quantity
from tankbook.units.formulas import safe

BOM = "\N{ZERO WIDTH NO-BREAK SPACE}"

Cell = str | int | float | Decimal | dt.date | PartialDate | Money | Quantity | None
"""What a cell may hold. Anything but a text is written as it is, for it cannot be a formula."""


class _Plain(csv.Dialect):
    delimiter = ","
    quotechar = '"'
    doublequote = True
    lineterminator = "\r\n"
    quoting = csv.QUOTE_NONNUMERIC
    strict = True


def dumps(headers: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table as CSV, with its byte order mark."""
    out = _Lines()
    writer = csv.writer(out, _Plain)
    writer.writerow([safe(h) for h in headers])
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return BOM + "".join(out)


class _Lines(list[str]):
    """What is written, in the memory: no room but the ledger's has to do with files."""

    write = list.append


def _cell(value: Cell) -> str | int | float | Decimal:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float():
            return number(value)
        case int() | Decimal():
            return value
        case Money():
            return value.amount
        case Quantity():
            return number(value.to(value.unit))
        case str():
            return safe(value)
    return str(value)
