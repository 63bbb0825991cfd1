"""Reading the tables that people bring: text in any encoding and with any separator, workbooks."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import given
from tankbook.records.node import Mark
from tankbook.records.tab import Tab, TabCell, TabRow
from tankbook.units.patterns import pattern

MOST_BYTES = 32 << 20
"""Largest file of a table."""
MOST_ROWS = 20_000
MOST_COLUMNS = 250
MOST_CELL = 4_000
"""Characters in one cell: a longer one is an open quotation mark, or no cell of a table."""

SEPARATORS = {";": ";", ",": ",", "|": "|", "tab": "\t"}
"""What may stand between cells, by what a mapping calls it."""
ENCODINGS = ("utf-8", "utf-16", "cp1252", "latin-1", "mac-roman")

EXPORT = "tankbook export 1"
"""What a whole ledger that was taken out says of itself at its beginning."""

_ZIP, _OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_HINT = pattern(r"sep=(.)\r?\n", re.IGNORECASE)


def read_table(path: Path, *, sheet: str = "", separator: str = "", encoding: str = "") -> Tab:
    """The table of a file, whatever it is.

    Args:
        path: the file, or `-` for standard input.
        sheet: the sheet of a workbook; the first with something in it where empty.
        separator: what stands between the cells of a text file; looked for where empty.
        encoding: of a text file; looked for where empty.

    Raises:
        LedgerError: it cannot be read, or is no table.
    """
    data = given(path, MOST_BYTES)
    if is_export(data):
        text = "it is a whole ledger that was taken out"
        raise LedgerError(path.name, text, "make it again with --into DIR, a new folder")
    for name, said, known in (
        ("separator", separator, tuple(SEPARATORS)),
        ("encoding", encoding, ENCODINGS),
    ):
        if said and said not in known:
            text = f"`{said}` is no {name} that is known"
            raise LedgerError(path.name, text, f"write one of: {' '.join(known)}")
    return table_of(data, path.name, sheet=sheet, separator=separator, encoding=encoding)


def is_export(data: bytes) -> bool:
    """Whether a file is a whole ledger that was taken out."""
    if data.startswith(_ZIP):
        from tankbook.ledger.workbook import made_here

        return made_here(data)
    return EXPORT in data[:400].decode("utf-8", "ignore")


def table_of(
    data: bytes, path: str, *, sheet: str = "", separator: str = "", encoding: str = ""
) -> Tab:
    """As `read_table`, from the bytes of a file that is called `path`."""
    if data.startswith(_ZIP):
        from tankbook.ledger.workbook import read_workbook

        return read_workbook(data, path, sheet)
    if data.startswith(_OLE):
        text = "it is a workbook of the old kind (.xls), or one with a password"
        raise LedgerError(path, text, "save it as .xlsx without a password, or as CSV")
    if data.startswith(b"%PDF"):
        raise LedgerError(path, "it is a PDF, and no table", "save the spreadsheet as .xlsx or CSV")
    text, known, notes = decoded(data, path, encoding)
    if hint := _HINT.match(text):
        separator = separator or _called(hint[1])
        text = "\n" + text[hint.end() :]  # the lines keep their numbers
    sep = SEPARATORS.get(separator) or _separator(text)
    rows = tuple(_rows(text, sep, path))
    if not rows:
        raise LedgerError(path, "there is nothing in it", "is this the right file?")
    return Tab(path, rows, separator=_called(sep), encoding=known, notes=tuple(notes))


def _called(sep: str) -> str:
    return next((name for name, each in SEPARATORS.items() if each == sep), "")


# --- bytes into text -----------------------------------------------------------------------------


def decoded(data: bytes, path: str, encoding: str = "") -> tuple[str, str, list[str]]:
    """The text of a file, the encoding it was read by, and what is to be told of that.

    Raises:
        LedgerError: it is no text in that encoding, or in any.
    """
    known = encoding or _encoding(data)
    try:
        text = data.decode("utf-8-sig" if known == "utf-8" else _codec(known, data))
    except UnicodeError as error:
        mend = f"write another `encoding:`: {', '.join(ENCODINGS)}"
        raise LedgerError(path, f"it is no text in {known}", mend) from error
    if "\0" in text:
        raise LedgerError(path, "it is no text", "save the spreadsheet as .xlsx or CSV")
    notes = []
    if known not in ("utf-8", "utf-16") and not encoding:
        odd = next((w for w in re.findall(r"\S*[^\x00-\x7f]\S*", text)), "")
        notes.append(f"it is no UTF-8 and was read as {known}: is `{odd[:40]}` right?")
    return text.replace("\r\n", "\n").replace("\r", "\n"), known, notes


def _codec(known: str, data: bytes) -> str:
    if known == "utf-16" and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
    return "mac_roman" if known == "mac-roman" else known


def _encoding(data: bytes) -> str:
    """By what a file is most likely written."""
    begin = data[:4096]
    if begin.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if len(begin) > 3 and begin.count(0) > len(begin) // 4:
        return "utf-16"
    try:
        data.decode()
    except UnicodeDecodeError:
        return _eight_bits(data)
    return "utf-8"


_HIGH = pattern(
    rb"(?<=[A-Za-z])[\x80-\x9f](?=[A-Za-z]|\b)|(?<=[A-Za-z])[\x80-\x9f]|[\x80-\x9f](?=[a-z])"
)
_LATIN = pattern(rb"(?<=[A-Za-z])[\xc0-\xff]|[\xc0-\xff](?=[a-z])")


def _eight_bits(data: bytes) -> str:
    """Which of the encodings of one byte a letter. A Mac has its accents from 0x80 to 0x9F, where
    Windows has quotation marks and few letters; Windows has them from 0xC0 on."""
    mac, windows = len(_HIGH.findall(data)), len(_LATIN.findall(data))
    if mac > windows:
        return "mac-roman"
    return "latin-1" if re.search(rb"[\x81\x8d\x8f\x90\x9d]", data) else "cp1252"


# --- text into rows ------------------------------------------------------------------------------

_LOOKED_AT = 60
"""So many lines are looked at for what stands between their cells."""


def _separator(text: str) -> str:
    """What stands between the cells: the sign that stands in most lines as often as in others."""
    plain = re.sub(r'"[^"]*"', "", text[:100_000])
    lines = [line for line in plain.split("\n") if line.strip()][:_LOOKED_AT]
    best, most = ",", 0.0
    for sep in SEPARATORS.values():
        counts = Counter(line.count(sep) for line in lines if sep in line)
        if not counts:
            continue
        signs, same = max(counts.items(), key=lambda each: (each[1] * each[0], each[1]))
        # a decimal comma stands in a line of its own number, a separator in all of them
        weight = same * min(signs, 20) * (same / len(lines))
        if weight > most:
            best, most = sep, weight
    return best


def _rows(text: str, sep: str, path: str) -> Iterator[TabRow]:
    """The rows that have something in them. A cell in quotation marks may go on over lines."""
    count = 0
    for number, cells in _split(text, sep, path):
        made = tuple(TabCell(_unwrapped(on_one_line(t)), place) for t, place in cells)
        if not any(c.text for c in made):
            continue
        count += 1
        if count > MOST_ROWS or len(made) > MOST_COLUMNS:
            raise too_many(path)
        yield TabRow(number, made)


def too_many(path: str) -> LedgerError:
    """That a table is larger than one is read."""
    text = f"it has more than {MOST_ROWS:,} rows or {MOST_COLUMNS} columns"
    return LedgerError(path, text, "is this the right file? save the part with the cylinders alone")


_Cells = list[tuple[str, Mark]]


def _split(text: str, sep: str, path: str) -> Iterator[tuple[int, _Cells]]:
    """Cell by cell, with the place of each: RFC 4180, and what programs make of it."""
    plain = re.compile(rf"[^{re.escape(sep)}\n]*")
    at, line, begin = 0, 1, 0
    while at < len(text):
        number: int = line
        cells: _Cells = []
        while True:
            place = Mark(at, line, at - begin + 1)
            cell = ""
            if text.startswith('"', at):
                cell, after = _quoted(text, at, sep, path, place)
                breaks = text.count("\n", at, after)
                if breaks:
                    line, begin = line + breaks, text.rindex("\n", at, after) + 1
                at = after
            found = plain.match(text, at)
            assert found is not None
            cells.append((cell + found[0], place))
            at = found.end()
            if not text.startswith(sep, at):
                break
            at += 1
        yield number, cells
        at, line, begin = at + 1, line + 1, at + 1


def _quoted(text: str, at: int, sep: str, path: str, place: Mark) -> tuple[str, int]:
    """A cell in quotation marks, and where it ends. One that is never closed begins with a sign of
    its own (`"` for inches); it ends with its line."""
    end = at + 1
    while True:
        end = text.find('"', end)
        if end < 0 or end - at > MOST_CELL:
            line_end = text.find("\n", at)
            rest = text[at : line_end if line_end >= 0 else len(text)]
            if sep in rest or end >= 0:
                where = f"{path}:{place.line}:{place.column}"
                said = "a quotation mark is opened here and not closed"
                raise LedgerError(where, said, "close it, or double it if it is part of the text")
            return rest, at + len(rest)
        if text.startswith('"', end + 1):
            end += 2
            continue
        return text[at + 1 : end].replace('""', '"'), end + 1


_WRAPPED = pattern(r'="([^"]*)"')
_APOSTROPHE = pattern(r"'(?=0\d)")


def _unwrapped(text: str) -> str:
    """A cell without what makes a spreadsheet take it for text, so that its noughts stay: `="012"`,
    and an apostrophe before them.

    >>> _unwrapped('="00123"'), _unwrapped("'00123"), _unwrapped("=A1")
    ('00123', '00123', '=A1')
    """
    found = _WRAPPED.fullmatch(text)
    return found[1] if found else _APOSTROPHE.sub("", text, count=1) if text[:1] == "'" else text


_BLANKS = pattern(r"(?:[^\S\n]|[\x00-\x09\x0b-\x1f\x7f-\x9f])+")


def on_one_line(text: str) -> str:
    """What a cell shows, on one line: its lines stand apart by semicolons, no blank more than one
    wide, and what shows nothing is a blank."""
    lines = _BLANKS.sub(" ", text.replace("\r", "\n")).split("\n")
    shown = filter(None, (line.strip(" \u200b\ufeff\u00ad;") for line in lines))
    return "; ".join(shown)
