"""Workbooks (.xlsx): read as what their cells show, nothing in them worked out or run.

The reader, openpyxl, is an extra (`xlsx` of `pyproject.toml`). What it is given was looked at
first: a file of a few kilobytes may unpack to gigabytes.
"""

from __future__ import annotations

import datetime as dt
import re
import shlex
import sys
import zipfile
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.tables import EXPORT, MOST_CELL, MOST_COLUMNS, MOST_ROWS, on_one_line, too_many
from tankbook.records.node import Mark
from tankbook.records.tab import OtherSheet, Tab, TabCell, TabRow, column_of, letter_of
from tankbook.units.nouns import counted
from tankbook.units.patterns import pattern

MOST_UNPACKED = 64 << 20
"""Bytes that a workbook may unpack to."""
MOST_PARTS = 2_000
"""Files that a workbook may be packed of."""
MOST_MERGED = 20_000
"""Cells that merged ones may cover in all."""

_AS_CSV = "save it as CSV in your spreadsheet program, and name that"


def _is_table(page: Any) -> bool:
    """Whether a sheet has at least two rows of two cells, as a page of explanations has not."""
    rows = Counter(row for (row, _), cell in page._cells.items() if cell.value is not None)
    return sum(n > 1 for n in rows.values()) > 1


Place = tuple[int, int]
"""Row and column, both from 1."""


def read_workbook(data: bytes, path: str, sheet: str = "") -> Tab:
    """The table of one sheet of a workbook.

    Args:
        data: the bytes of the file.
        path: what it is called in what is told of it.
        sheet: the name of the sheet; where empty, the first that is shown and looks like a table,
            else the first with something in it.

    Raises:
        LedgerError: it is no such workbook, holds more than one may, or the reader is not there.
    """
    macros = look_into(data, path)
    shown, written = (_loaded(data, path, values) for values in (True, False))
    names = tuple(page.title for page in shown.worksheets)
    if sheet and sheet not in names:
        raise LedgerError(path, f"there is no sheet `{sheet}`", f"its sheets: {', '.join(names)}")
    seen = [page for page in shown.worksheets if page.sheet_state == "visible"]
    filled = [p for p in seen if p._cells]
    name = sheet or next((p.title for p in (*filter(_is_table, filled), *filled)), "")
    if not name:
        hidden = [p.title for p in shown.worksheets if p._cells]
        if hidden:
            mend = f"give a hidden one with --sheet: {', '.join(hidden)}"
            raise LedgerError(path, "there is nothing in the sheets that are shown", mend)
        raise LedgerError(path, "there is nothing in it", "is this the right file?")
    page, formulas = shown[name], written[name]
    texts = {place: _text(cell) for place, cell in page._cells.items()}
    worked = [p for p, cell in formulas._cells.items() if cell.data_type == "f"]
    lost = [p for p in worked if not texts.get(p)]
    moving = [p for p in worked if _is_day_of_looking(page._cells.get(p), formulas._cells[p])]
    for place in (*lost, *moving):
        texts[place] = on_one_line(_formula(formulas._cells[place]))[:MOST_CELL]
    texts = {p: t for p, t in texts.items() if t} | _covered(page, texts)
    struck = {place for place, cell in formulas._cells.items() if _is_struck(cell)}
    seen_as = _colours(page, texts, _theme(shown.loaded_theme))
    rows = tuple(_rows(page, texts, struck, seen_as, path))
    if not rows:
        raise LedgerError(path, f"there is nothing in its sheet `{name}`", "name another sheet")
    notes = _notes(page, shown.worksheets, len(worked), [_name(p) for p in sorted(lost)], rows)
    if macros:
        notes.append("it has macros; none of them is run")
    since = "1904" if shown.epoch.year == 1904 else "1900"
    theme = _theme(shown.loaded_theme)
    others = (
        _other(each, theme) for each in shown.worksheets if each.title != name and each._cells
    )
    return Tab(
        path,
        rows,
        name=name,
        names=names,
        day_numbers=since,
        notes=tuple(notes),
        others=tuple(others),
    )


def _other(page: Any, theme: Sequence[str]) -> OtherSheet:
    """What another sheet shows, of as many rows as a table may have."""
    by_row: dict[int, dict[int, str]] = {}
    for (row, column), cell in sorted(page._cells.items()):
        if column <= MOST_COLUMNS and (text := _text(cell)):
            by_row.setdefault(row, {})[column] = text
    texts = {(row, c): text for row, cells in by_row.items() for c, text in cells.items()}
    colours = _colours(page, texts, theme)
    rows = (
        TabRow(
            row,
            tuple(
                TabCell(cells.get(c, ""), Mark(0, row, c), colours=colours.get((row, c), ()))
                for c in range(1, max(cells) + 1)
            ),
        )
        for row, cells in sorted(by_row.items())[:MOST_ROWS]
    )
    return OtherSheet(f"{page.title}", tuple(rows))


def look_into(data: bytes, path: str) -> bool:
    """Whether a workbook has macros, once it is seen that it may be unpacked.

    Raises:
        LedgerError: it is no workbook of this kind, or would unpack to more than one may.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            parts = packed.infolist()
            kind = packed.read("mimetype")[:100] if "mimetype" in packed.namelist() else b""
            small = sum(part.file_size for part in parts) <= MOST_UNPACKED
            xml = [packed.read(p) for p in parts if small and p.filename.endswith(_XML)]
    except (zipfile.BadZipFile, OSError, ValueError, RuntimeError, NotImplementedError) as error:
        raise LedgerError(path, "its file is damaged", _AS_CSV) from error
    if b"opendocument" in kind:
        raise LedgerError(path, "it is an OpenDocument file", "save it as .xlsx, or as CSV")
    names = {part.filename for part in parts}
    if "xl/workbook.xml" not in names:
        raise LedgerError(path, "it is packed, and is no workbook (.xlsx)", _AS_CSV)
    size = sum(part.file_size for part in parts)
    if size > MOST_UNPACKED or len(parts) > MOST_PARTS:
        text = f"it would unpack to {size:,} bytes in {counted(len(parts), 'part')}, more than"
        raise LedgerError(path, f"{text} a table of cylinders has", "is this the right file?")
    if any(_DOCTYPE.search(part.replace(b"\0", b"")) for part in xml):
        raise LedgerError(path, "it cannot be read as a workbook: it declares entities", _AS_CSV)
    if sum(_area(m[1].decode()) for part in xml for m in _MERGE.finditer(part)) > MOST_MERGED:
        raise LedgerError(path, "its merged cells cover too much", "take the merging out")
    return any(name.endswith("vbaProject.bin") for name in names)


_XML = (".xml", ".rels", ".vml")
_DOCTYPE = pattern(rb"<!\s*(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_MERGE = pattern(rb"""<(?:\w+:)?mergeCell\b[^>]*?\bref\s*=\s*["']([^"']{1,40})["']""")


def _area(reference: str) -> int:
    """How many cells a reference covers, such as `A1:C4`: the reader makes all of them."""
    found = re.fullmatch(r"\$?([A-Z]{1,3})\$?(\d{1,7}):\$?([A-Z]{1,3})\$?(\d{1,7})", reference)
    if found is None:
        return 1
    across = abs(column_of(found[3]) - column_of(found[1])) + 1
    return across * (abs(int(found[4]) - int(found[2])) + 1)


def reader(path: str) -> Any:
    """The module that reads and writes workbooks.

    Raises:
        LedgerError: it is not installed.
    """
    try:
        import openpyxl
    except ImportError as error:
        text = "workbooks (.xlsx) need openpyxl, which is not installed"
        raise LedgerError(path, text, f"`{_how_to_install()}`; or {_AS_CSV}") from error
    return openpyxl


def _how_to_install() -> str:
    """How the reader comes into the environment that this program runs in, however it came there:
    by the name of the reader, since what a registry has under the name of this program may be
    another's."""
    if "pipx" in Path(sys.prefix).parts:
        return "pipx inject tankbook openpyxl"
    return shlex.join([sys.executable or "python3", "-m", "pip", "install", "openpyxl"])


def _loaded(data: bytes, path: str, values: bool) -> Any:
    """The workbook with the values last worked out; or with its formulas, and how the words of a
    cell are set."""
    import warnings

    module = reader(path)
    try:
        with warnings.catch_warnings():  # of looks and lists that are not kept
            warnings.simplefilter("ignore")
            return module.load_workbook(
                BytesIO(data), data_only=values, keep_links=False, rich_text=not values
            )
    except Exception as error:  # whatever a damaged one makes of its reader
        raise LedgerError(path, "it cannot be read as a workbook", _AS_CSV) from error


def _covered(page: Any, texts: dict[Place, str]) -> dict[Place, str]:
    """What merged cells show, in all the places that they cover; of a title that stands across its
    whole row, in the first of them."""
    found: dict[Place, str] = {}
    filled: dict[int, set[int]] = {}
    for (row, column), shows in texts.items():
        if shows:
            filled.setdefault(row, set()).add(column)
    for each in page.merged_cells.ranges:
        for row in range(each.min_row + 1, each.max_row + 1):
            filled.setdefault(row, set()).add(each.min_col)
    across = max((max(columns) for columns in filled.values()), default=0)
    for each in page.merged_cells.ranges:
        text = texts.get((each.min_row, each.min_col))
        one_row = each.min_row == each.max_row
        alone = one_row and filled.get(each.min_row, set()) <= {each.min_col}
        if alone and 2 * (each.max_col - each.min_col + 1) >= across:
            continue
        if text:
            rows = range(each.min_row, each.max_row + 1)
            found |= {(r, c): text for r in rows for c in range(each.min_col, each.max_col + 1)}
    return found


def _is_struck(cell: Any) -> bool:
    """Whether what a cell shows, or any of its words, is struck out."""
    parts = cell.value if isinstance(cell.value, list) else ()
    fonts = [cell.font, *(getattr(part, "font", None) for part in parts)]
    return cell.value is not None and any(font is not None and font.strike for font in fonts)


def _theme(xml: bytes | None) -> list[str]:
    """The colours of a workbook's theme in the order in which cells count them."""
    found = {m[1].decode(): m[2].decode().upper() for m in _OF_THEME.finditer(xml or b"")}
    names = "lt1 dk1 lt2 dk2 accent1 accent2 accent3 accent4 accent5 accent6 hlink folHlink".split()
    return [found.get(name, "") for name in names]


_OF_THEME = pattern(
    rb"<a:([dl]k[12]|lt[12]|accent[1-6]|hlink|folHlink)>\s*"
    rb"<[^>]*?(?:lastClr|srgbClr val)=[\"'](\w{6})[\"']"
)


def _colours(
    page: Any, texts: Mapping[Place, str], theme: Sequence[str]
) -> dict[Place, tuple[str, ...]]:
    """The colours of the cells that have any, and of their letters. Of an empty one it is that of
    the next in its row, to the right as where a legend begins with a patch, else to the left."""
    known: dict[tuple[int, int], tuple[str, ...]] = {}
    found: dict[Place, tuple[str, ...]] = {}
    rows: dict[int, list[int]] = {}
    for row, column in texts:
        rows.setdefault(row, []).append(column)
    for place, cell in page._cells.items():
        if place[0] not in rows or (place not in texts and cell.fill.fill_type is None):
            continue
        style = (cell._style.fillId, cell._style.fontId)
        if style not in known:
            fill = cell.fill
            of = _colour(fill.fgColor, theme) if fill.fill_type not in (None, "none") else ""
            if of and fill.fill_type != "solid":
                of = f"hatched {of}"
            letters = _colour(cell.font.color, theme) if cell.font.color is not None else ""
            each = ("" if of == _WHITE else of, f"letters of {letters}" if letters else "")
            known[style] = tuple(e for e in each if e and e != f"letters of {_BLACK}")
        if known[style]:
            owner = place if place in texts else _next_to(place, rows[place[0]])
            more = (c for c in known[style] if c not in found.get(owner, ()))
            found[owner] = (*found.get(owner, ()), *more)
    return found


def _next_to(place: Place, columns: Sequence[int]) -> Place:
    """The cell with a text whose colour that of an empty one is."""
    row, column = place
    right = column + 1 if column + 1 in columns else None
    left = max((c for c in columns if c < column), default=min(columns))
    return row, right or left


_WHITE, _BLACK = "#FFFFFF", "#000000"


def _colour(colour: Any, theme: Sequence[str]) -> str:
    """What a colour is called: `red`, or by its shares, with what of the theme it is."""
    from openpyxl.styles.colors import COLOR_INDEX

    shares, tint = "", ""
    if colour.type == "rgb":
        shares = f"{colour.rgb}"[-6:].upper()
    elif colour.type == "indexed" and colour.indexed < len(COLOR_INDEX):
        shares = COLOR_INDEX[colour.indexed][-6:].upper()
    elif colour.type == "theme" and colour.theme < len(theme):
        shares, tint = theme[colour.theme], f" at {colour.tint:.2f}" if colour.tint else ""
    if not re.fullmatch(r"[0-9A-F]{6}", shares):
        return ""
    red, green, blue = (int(shares[n : n + 2], 16) for n in (0, 2, 4))
    if red >= _RED and max(green, blue) <= red * _REDDISH:
        return "red"
    return f"#{shares}{tint}"


_RED, _REDDISH = 150, 0.55
"""A colour is red of which red is so much of 255, and neither of the others more than this share of
that (own choice)."""


def _rows(
    page: Any,
    texts: dict[Place, str],
    struck: Collection[Place],
    colours: Mapping[Place, tuple[str, ...]],
    path: str,
) -> Iterator[TabRow]:
    by_row: dict[int, dict[int, str]] = {}
    beside: dict[int, tuple[TabCell, ...]] = {}
    for (row, column), cell in sorted(page._cells.items()):
        if cell.comment is not None:
            text = on_one_line(f"{cell.comment.text or ''}")[: MOST_CELL + 1]
            beside[row] = (*beside.get(row, ()), TabCell(text, Mark(0, row, column)))
    for (row, column), text in texts.items():
        by_row.setdefault(row, {})[column] = text
    width = max((column for cells in by_row.values() for column in cells), default=0)
    if len(by_row) > MOST_ROWS or width > MOST_COLUMNS:
        raise too_many(path)
    for row, cells in sorted(by_row.items()):
        made = tuple(
            TabCell(
                cells.get(c, ""),
                Mark(0, row, c),
                _is_number(page._cells.get((row, c))),
                struck=(row, c) in struck,
                colours=colours.get((row, c), ()),
            )
            for c in range(1, width + 1)
        )
        own = [
            c for c in cells if (row, c) in page._cells and page._cells[row, c].value is not None
        ]
        hidden = bool(page.row_dimensions[row].hidden)
        whole = bool(own) and all((row, c) in struck for c in own)
        yield TabRow(row, made, hidden, whole, beside.get(row, ()))


def _name(place: Place) -> str:
    return f"{letter_of(place[1] - 1)}{place[0]}"


def _notes(
    page: Any, pages: Sequence[Any], worked: int, lost: list[str], rows: Iterable[TabRow]
) -> list[str]:
    """What is to be told of a workbook."""
    notes = []
    if page.sheet_state != "visible":
        notes.append(f"its sheet `{page.title}` is hidden")
    if len(pages) > 1:
        others = ", ".join(
            f"`{each.title}`" + " (hidden)" * (each.sheet_state != "visible")
            for each in pages
            if each.title != page.title
        )
        notes.append(f"its sheet `{page.title}` is read; others: {others}")
    if worked:
        notes.append(f"{counted(worked, 'formula')}: what each showed last is read")
    if lost:
        shown = ", ".join(lost[:5])
        notes.append(f"{shown}: a formula of which the file has no value; open and save the file")
    hidden = sum(row.hidden for row in rows)
    if hidden:
        notes.append(f"{counted(hidden, 'row')} hidden")
    if struck := sum(row.struck for row in rows):
        notes.append(f"{counted(struck, 'row')} struck out: each is held until looked at")
    if struck := sum(cell.struck for row in rows if not row.struck for cell in row.cells):
        notes.append(f"{counted(struck, 'cell')} struck out: each is asked, or holds its cylinder")
    if page.conditional_formatting:
        notes.append("colours that the sheet works out by rules of its own are not seen")
    if remarks := sum(len(row.beside) for row in rows):
        notes.append(f"{counted(remarks, 'comment')} on cells: read as remarks of their rows")
    if columns := [k for k, each in page.column_dimensions.items() if each.hidden]:
        notes.append(f"hidden columns are read as the others: {', '.join(sorted(columns))}")
    return notes


def _text(cell: Any) -> str:
    """What a cell says, as text: a day as 2021-04-01, of which only the month is shown 2021-04."""
    value = cell.value
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case int() | float() if abs(value) > _EXACT:
            return f"{value:.14E}"
        case int() | float():
            return _number(value, str(cell.number_format))
        case dt.datetime() | dt.date():
            return _day(value, str(cell.number_format))
        case dt.time():
            return f"{value:%H:%M}"
    return on_one_line(str(value))[: MOST_CELL + 1]


def _is_number(cell: Any) -> bool:
    """Whether a cell holds a number, of which its shape adds no noughts in front."""
    if cell is None or cell.data_type != "n" or not isinstance(cell.value, int | float):
        return False
    return bool(str(cell.number_format).strip("0"))


_EXACT = 10**15
"""A spreadsheet keeps 15 figures of a number: of a longer one the last are lost (ECMA-376 part 1,
18.17.5.2; from memory)."""


def _is_day_of_looking(shown: Any, written: Any) -> bool:
    """Whether a day in a cell is worked out from the day on which the file was last looked at."""
    day = shown is not None and isinstance(shown.value, dt.datetime | dt.date)
    return day and _NOW.search(_formula(written)) is not None


def _formula(cell: Any) -> str:
    """The text of a formula, of one that fills an area as well."""
    return f"{getattr(cell.value, 'text', cell.value)}"


_NOW = pattern(r"\b(?:TODAY|NOW)\s*\(", re.IGNORECASE)


def _number(value: float, shape: str) -> str:
    """A number without what binary figures add to it, with the noughts that its cell shows."""
    if shape.strip("0") == "" and value >= 0 and value == int(value):
        return str(int(value)).zfill(len(shape))
    text = f"{value:.12g}"
    return text if "e" not in text else f"{value:f}".rstrip("0").rstrip(".")


_IN_QUOTES = pattern(r'"[^"]*"|\[[^\]]*\]|\\.')


def _day(value: dt.datetime | dt.date, shape: str) -> str:
    """As much of a day as its cell shows. Where that is no year, the one behind it is that in which
    it was typed: `4/22` becomes the 22nd of April of this year, and shows as `22-Apr`."""
    plain = _IN_QUOTES.sub("", shape).casefold()
    if "y" not in plain and "e" not in plain and "d" in plain:
        return f"{value.day}-{_MONTHS[value.month - 1]}"
    if "d" in plain or "y" not in plain:
        return f"{value:%Y-%m-%d}"
    return f"{value:%Y-%m}" if "m" in plain else f"{value:%Y}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


# --- a whole ledger, out and in ------------------------------------------------------------------

Sheet = tuple[str, Sequence[str], Sequence[Sequence[str]]]
"""A sheet to be written: its name, its heads, its rows."""


def write_workbook(sheets: Iterable[Sheet], path: str) -> bytes:
    """A workbook of these sheets, every cell a text.

    Raises:
        LedgerError: what writes it is not installed.
    """
    module = reader(path)
    book = module.Workbook()
    book.properties.creator = EXPORT
    book.remove(book.active)
    for name, heads, rows in sheets:
        page = book.create_sheet(name)
        page.freeze_panes = "A2"
        for number, row in enumerate((heads, *rows), 1):
            for column, value in enumerate(row, 1):
                if value:
                    cell = page.cell(number, column)
                    cell.value = value
                    cell.data_type = "s"  # no text is a formula, a number or an error here
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def made_here(data: bytes) -> bool:
    """Whether a workbook says of itself that it is a ledger that was taken out."""
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            part = packed.getinfo("docProps/core.xml")
            return part.file_size < MOST_CELL and EXPORT.encode() in packed.read(part)
    except (zipfile.BadZipFile, OSError, ValueError, KeyError, RuntimeError, NotImplementedError):
        return False


def every_sheet(data: bytes, path: str) -> Iterator[tuple[str, list[list[str]]]]:
    """Every sheet of a workbook, row by row, its cells as they are.

    Raises:
        LedgerError: as `read_workbook`.
    """
    look_into(data, path)
    for page in _loaded(data, path, values=True).worksheets:
        by_row: dict[int, dict[int, str]] = {}
        for (row, column), cell in page._cells.items():
            if cell.value is not None:
                by_row.setdefault(row, {})[column] = str(cell.value)
        width = max((c for cells in by_row.values() for c in cells), default=0)
        rows = [
            [cells.get(c, "") for c in range(1, width + 1)] for _, cells in sorted(by_row.items())
        ]
        yield page.title, rows
