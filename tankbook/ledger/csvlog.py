"""The fill log and the bookings: one line a row, RFC 4180, and no line end inside a cell."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from msgspec import Struct, field

from tankbook.ledger.errors import LedgerError, first_fault, of_finding
from tankbook.ledger.text import BOM, capped, character_faults, character_name, forbidden
from tankbook.records.node import Finding, Severity, Where
from tankbook.units.nouns import counted
from tankbook.units.patterns import pattern

_CELL = r'(?:"(?:[^"]|"")*+"|[^",]*+)'
_NEXT_CELL = pattern(_CELL)
_LINE = pattern(rf"{_CELL}(?:,{_CELL})*+")
_AT_ONCE = 1000
"""Lines given to the csv module together; where one is no row, they are looked at one by one."""


class LogRow(NamedTuple):
    """One line of a log, cell by cell."""

    cells: tuple[str, ...]
    line: int
    written: str

    def column(self, index: int) -> int:
        """The column, from 1, at which cell `index` begins."""
        return _starts(self.written)[index] + 1


class LogTable(Struct, frozen=True):
    """The rows of a log side by side: cells, line numbers, and the lines as written."""

    cells: list[Sequence[str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    written: list[str] = field(default_factory=list)

    def row(self, index: int) -> LogRow:
        """One row by itself."""
        return LogRow(tuple(self.cells[index]), self.lines[index], self.written[index])


def read_rows(text: str, path: str, header: Sequence[str]) -> tuple[list[LogRow], list[Finding]]:
    """The rows below the header line, each with as many cells as the header, and what is wrong.

    A line that is not such a row is told and left out. Raises nothing, whatever the text.
    """
    table, findings = read_table(text, path, header)
    return [table.row(i) for i in range(len(table.lines))], findings


def read_table(text: str, path: str, header: Sequence[str]) -> tuple[LogTable, list[Finding]]:
    """As `read_rows`, for a log of tens of thousands of lines."""
    body = text.removeprefix(BOM)
    body, zeros = body.rstrip("\0"), body
    findings = character_faults(body, path)
    lines = body.split("\n")
    if len(zeros) > len(body):
        said = zero_filled(len(zeros) - len(body))
        findings.append(Finding(Where(path, len(lines), 1), "torn-line", said, CUT_OFF))
    ended = lines[-1] == ""
    if ended:
        lines.pop()
    if "\r" in body:
        lines = [line.removesuffix("\r") for line in lines]
        findings.append(_advice(path, 1, "crlf", "lines end in CR LF", "save it with LF line ends"))
    if faults := list(_header_faults(lines[0] if lines else "", path, header)):
        return LogTable(), sorted(findings + faults, key=lambda finding: finding.where)
    suspect = first_fault(findings) is not None
    reader = _Reader(path, len(header), torn=0 if ended else len(lines))
    reader.read(lines, suspect)
    findings += capped(reader.findings, path)
    if not ended and reader.table.lines[-1:] == [len(lines)]:
        said, mend = "the last line has no line end", "see that it is whole, and end it"
        findings.append(_advice(path, len(lines), "no-line-end", said, mend))
    return reader.table, sorted(findings, key=lambda finding: finding.where)


CUT_OFF = "`tankbook tidy` cuts them off; see that what was recorded last is logged"


def zero_filled(count: int) -> str:
    """That a log ends in bytes that nobody wrote."""
    return f"it ends in {counted(count, 'zero byte')}, as a power cut leaves them"


def addition(
    current: bytes | None, rows: Iterable[Sequence[str]], path: str, header: Sequence[str]
) -> bytes:
    """What to add to the end of a log, given what is in it, so that it holds `rows` as well.

    Raises:
        LedgerError: the log is no such log, its last line is cut short, or a cell cannot be kept.
    """
    lines = "".join(_line(row, path, len(header)) for row in rows).encode()
    if not current:
        return _line(header, path, len(header)).encode() + lines
    first = current.partition(b"\n")[0].decode(errors="replace")
    fault = next(_header_faults(first.removeprefix(BOM).removesuffix("\r"), path, header), None)
    if fault:
        raise of_finding(fault)
    if current.endswith(b"\0"):
        said = zero_filled(len(current) - len(current.rstrip(b"\0")))
        raise LedgerError(path, said, CUT_OFF)
    last = current[current.rfind(b"\n") + 1 :].decode(errors="replace")
    if not last:
        return lines
    if _fault(last, len(header)):
        where = Where(path, current.count(b"\n") + 1, 1)
        mend = "complete it or delete it in an editor, end it with a line end, and try again"
        raise LedgerError(str(where), "the last line is cut short", mend)
    return b"\n" + lines


def _line(cells: Sequence[str], path: str, width: int) -> str:
    if len(cells) != width:
        raise ValueError(f"{len(cells)} cells for {width} columns")
    for cell in cells:
        if bad := forbidden(cell) or re.search(r"[\r\n]", cell):
            what = "a line end" if bad[0] in "\r\n" else character_name(bad[0])
            raise LedgerError(
                path, f"{cell!r} holds {what}", "a log line is one line of plain text"
            )
    return ",".join(map(_quoted, cells)) + "\n"


def _quoted(cell: str) -> str:
    if '"' in cell or "," in cell:
        return '"' + cell.replace('"', '""') + '"'
    return cell


def _cells_at_once(written: list[str], width: int) -> list[list[str]] | None:
    """The cells of each line, if every one of them is a row."""
    try:
        parsed = list(csv.reader(written, strict=True))
    except csv.Error:
        return None
    if len(parsed) != len(written) or set(map(len, parsed)) != {width}:
        return None
    # The csv module lets a quotation mark stand inside a cell without quotes.
    if not all(_LINE.fullmatch(line) for line in written if '"' in line):
        return None
    return parsed


class _Reader:
    """Tells the lines that are rows from those that are not."""

    def __init__(self, path: str, width: int, torn: int) -> None:
        self.findings: list[Finding] = []
        self.table = LogTable()
        self._path = path
        self._width = width
        self._torn = torn

    def read(self, lines: list[str], suspect: bool) -> None:
        """Put the rows among the lines below the header into the table.

        `suspect` says that some lines hold what no ledger may; they are told of already.
        """
        table = self.table
        for start in range(1, len(lines), _AT_ONCE):
            written, first = lines[start : start + _AT_ONCE], start + 1
            block = None if suspect else _cells_at_once(written, self._width)
            if block is not None:
                table.cells.extend(block)
                table.lines.extend(range(first, first + len(written)))
                table.written.extend(written)
                continue
            for row in self._one_by_one(written, first, suspect):
                table.cells.append(row.cells)
                table.lines.append(row.line)
                table.written.append(row.written)

    def _one_by_one(self, written: list[str], first: int, suspect: bool) -> Iterator[LogRow]:
        for number, line in enumerate(written, first):
            if suspect and character_faults(line, self._path):
                continue
            if not line.strip():
                blank = _advice(self._path, number, "blank-line", "the line is blank", "delete it")
                self.findings.append(blank)
            elif fault := _fault(line, self._width):
                self._note(number, *fault)
            else:
                yield LogRow(_cells(line), number, line)

    def _note(self, number: int, column: int, code: str, said: str, mend: str) -> None:
        if number == self._torn:
            code, said = "torn-line", f"the last line is cut short: {said}"
            mend = "complete it or delete it, and see that what it told of is logged"
        where = Where(self._path, number, column)
        self.findings.append(Finding(where, code, said, mend))


def _starts(line: str) -> list[int]:
    """Where the cells of a line begin, up to the first that is not well formed."""
    starts = [0]
    while (end := _end(line, starts[-1])) < len(line) and line[end] == ",":
        starts.append(end + 1)
    return starts


def _end(line: str, start: int) -> int:
    cell = _NEXT_CELL.match(line, start)
    return cell.end() if cell else start


def _cells(line: str) -> tuple[str, ...]:
    """The cells of a well-formed line."""
    found = (line[start : _end(line, start)] for start in _starts(line))
    return tuple(c[1:-1].replace('""', '"') if c.startswith('"') else c for c in found)


def _fault(line: str, width: int) -> tuple[int, str, str, str] | None:
    """Column, code, what is wrong and how to mend it, for a line that is no row."""
    starts = _starts(line)
    end = _end(line, starts[-1])
    if end < len(line):
        if end == starts[-1]:
            mend = "close it; a cell may not go on in the next line"
            return end + 1, "open-quote", "a quotation mark is not closed on its line", mend
        mend = 'put the whole cell in quotation marks and double those in it: "a ""b"" c"'
        return end + 1, "stray-quote", "a quotation mark stands inside or beside a cell", mend
    if len(starts) != width:
        said = f"{len(starts)} cells where {width} are wanted"
        mend = "compare it with the header; a cell with a comma in it needs quotation marks"
        return 1, "cell-count", said, mend
    return None


def _header_faults(line: str, path: str, header: Sequence[str]) -> Iterator[Finding]:
    """What keeps the first line from being the header."""
    wanted = ",".join(header)
    mend = f"the first line is {wanted}"
    if line == wanted:
        return
    if not line.strip():
        yield Finding(Where(path, 1, 1), "no-header", "there is no header line", mend)
        return
    given = _cells(line)
    if given == tuple(header):
        return
    for name, start in zip(given, _starts(line), strict=False):
        if name not in header:
            said = f"the column {name!r} is not known" if name else "a column has no name"
            yield Finding(Where(path, 1, start + 1), "unknown-column", said, mend)
    for name in header:
        if name not in given:
            said = f"the column {name} is missing"
            yield Finding(Where(path, 1, 1), "missing-column", said, mend)
    if set(given) == set(header):
        said = "the columns are not in their order, or one is there twice"
        yield Finding(Where(path, 1, 1), "column-order", said, mend)


def _advice(path: str, line: int, code: str, said: str, mend: str) -> Finding:
    return Finding(Where(path, line, 1), code, said, mend, Severity.ADVICE)
