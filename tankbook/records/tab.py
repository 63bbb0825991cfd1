"""A table as somebody keeps it in a spreadsheet: its cells as text, each with its place."""

from __future__ import annotations

from msgspec import Struct

from tankbook.records.node import Mark, Where


class TabCell(Struct, frozen=True):
    """One cell: what it shows as text on one line, an empty text for nothing. `number`: a workbook
    keeps it as a number, so that no nought stands before it. `struck`: it, or some of its words,
    are struck out. `colours`: that of the cell and that of its letters, `red` or as `#FFC000`,
    where they are not those of plain paper."""

    text: str
    place: Mark
    number: bool = False
    struck: bool = False
    colours: tuple[str, ...] = ()


class TabRow(Struct, frozen=True):
    """One row. `number` is that of the spreadsheet, or the line of a text file at which it begins.
    `hidden`: whoever opens the file does not see it. `struck`: all of it is struck out. `beside`:
    the comments that are pinned to its cells."""

    number: int
    cells: tuple[TabCell, ...]
    hidden: bool = False
    struck: bool = False
    beside: tuple[TabCell, ...] = ()

    def __getitem__(self, column: int) -> TabCell:
        """The cell of a column, from 0; an empty one where the row is shorter."""
        if column < len(self.cells):
            return self.cells[column]
        return TabCell("", Mark(0, self.number, 1))

    @property
    def texts(self) -> tuple[str, ...]:
        """What its cells show, each once: a merged one stands in every column that it covers."""
        return tuple(dict.fromkeys(c.text for c in self.cells if c.text))


class OtherSheet(Struct, frozen=True):
    """Another sheet of the same workbook, which is not read as a table: it may name the same
    cylinders."""

    title: str
    rows: tuple[TabRow, ...]


class Tab(Struct, frozen=True):
    """A whole table, as it was read.

    `path` is what it is called in what is told of it; `name` that of the sheet of a workbook.
    `separator` and `encoding` are those by which a text file was read. `notes` tell what was found
    on the way. `day_numbers` is the year from which a workbook says that it counts days. `others`
    are the other sheets of a workbook.
    """

    path: str
    rows: tuple[TabRow, ...]
    name: str = ""
    names: tuple[str, ...] = ()
    separator: str = ""
    encoding: str = ""
    day_numbers: str = ""
    notes: tuple[str, ...] = ()
    others: tuple[OtherSheet, ...] = ()

    @property
    def width(self) -> int:
        """How many columns it has."""
        return max((len(row.cells) for row in self.rows), default=0)

    def at(self, cell: TabCell) -> Where:
        """The place of a cell."""
        return Where(self.path, cell.place.line, cell.place.column)


def letter_of(column: int) -> str:
    """What a spreadsheet calls a column, from 0.

    >>> letter_of(0), letter_of(25), letter_of(26)
    ('A', 'Z', 'AA')
    """
    found, left = "", column + 1
    while left:
        left, rest = divmod(left - 1, 26)
        found = chr(ord("A") + rest) + found
    return found


def column_of(letter: str) -> int:
    """The column, from 0, that a spreadsheet calls so.

    Raises:
        ValueError: no column is called so.

    >>> column_of("a"), column_of("AA")
    (0, 26)
    """
    name = letter.strip().upper()
    if not (0 < len(name) <= 3 and name.isascii() and name.isalpha()):
        raise ValueError(f"`{letter}` is no column: write its letter, such as D or AA")
    number = 0
    for each in name:
        number = number * 26 + ord(each) - ord("A") + 1
    return number - 1
