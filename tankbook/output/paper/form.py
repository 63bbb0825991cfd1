"""Ruled forms to write on by hand: rows over as many pages as they take, headings on each."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from tankbook.output.drawing import A4, LETTER, Item, Line, Text, box
from tankbook.output.paper.face import FittedText, baseline, cut, height, in_cell, printable
from tankbook.output.paper.flow import SMALLEST
from tankbook.output.paper.pen import FOOT, MARGIN, print_pages
from tankbook.records.words import Shore

PAPER = {Shore.PSI: LETTER, Shore.BAR: A4}
"""The paper of each shore, where nothing else is said."""

SIZE, HEAD, NOTE, TITLE = 10.0, 8.0, FOOT, 15.0
LEADING = 1.2
ROW = 9.0
"""The lowest row [mm] that is written in with gloves off (common practice, no source)."""
PAD = 1.0
APART = 1.5
"""What is left free [mm] above a heading and below each paragraph."""
TICK = 4.5


class FormColumn(Struct, frozen=True):
    """A column of a form: its head, its share of the width, and whether it is ticked."""

    head: str
    share: float
    bold: bool = False
    tick: bool = False


class FormRow(Struct, frozen=True):
    """A row: its cells, empty ones to write in. `note` stands small below them.

    With `instead`, that text stands in the place of all cells after the first.
    """

    cells: tuple[str, ...]
    note: str = ""
    instead: str = ""


class FormGroup(Struct, frozen=True):
    """Rows under a heading of their own; an empty heading shows none."""

    heading: str
    rows: tuple[FormRow, ...]


class Form(Struct, frozen=True):
    """A whole form: title, what to know before it, columns and rows, and what comes after."""

    title: str
    before: tuple[str, ...]
    columns: tuple[FormColumn, ...]
    groups: tuple[FormGroup, ...]
    after: tuple[str, ...]
    footer: str


def print_form(form: Form, paper: tuple[float, float]) -> bytes:
    """The form as PDF.

    Raises:
        PaperError: a character cannot be printed.
    """
    writer = _Writer(form, *paper)
    writer.write()
    return print_pages(writer.pages, paper, form.title, form.footer)


def _height(lines: int, size: float) -> float:
    return height(lines, size, LEADING)


HEADS = _height(1, HEAD) + 2 * PAD
"""How high the heads of the columns are [mm]."""


class _Set(Struct, frozen=True):
    """A row as it is set: where each cell's text stands, its lines, and whether they are bold; the
    lines of its note; and how high it is above the note [mm]."""

    cells: Sequence[tuple[float, FittedText, bool]]
    note: tuple[str, ...]
    above: float

    @property
    def height(self) -> float:
        """How high it is with its note [mm]."""
        return self.above + _height(len(self.note), NOTE)


class _Writer(Struct):
    """Puts the parts of a form one below the other, beginning pages as it goes."""

    form: Form
    width: float
    height: float
    pages: list[list[Item]] = field(default_factory=list)
    y: float = 0.0

    @property
    def inner(self) -> float:
        """How wide it is between the margins [mm]."""
        return self.width - 2 * MARGIN

    def write(self) -> None:
        self._begin()
        self._paragraph(self.form.title, TITLE, bold=True)
        for text in self.form.before:
            self._paragraph(text, SIZE - 1)
        for group in self.form.groups:
            self._group(group)
        self.y += 2.0
        for text in self.form.after:
            self._paragraph(text, SIZE - 1)

    def _begin(self) -> None:
        self.pages.append([])
        self.y = MARGIN

    def _room_for(self, height: float) -> bool:
        return self.y + height <= self.height - MARGIN

    def _put(self, *items: Item) -> None:
        self.pages[-1].extend(items)

    def _lines(self, text: str, room: float, size: float, bold: bool) -> tuple[str, ...]:
        return cut(printable(text, self.form.title), room, size, bold)

    def _paragraph(self, text: str, size: float, bold: bool = False) -> None:
        lines = self._lines(text, self.inner, size, bold)
        if not self._room_for(_height(len(lines), size)):
            self._begin()
        self._text(lines, MARGIN, self.y, size, bold)
        self.y += _height(len(lines), size) + APART

    def _text(
        self, lines: Sequence[str], x: float, y: float, size: float, bold: bool = False
    ) -> None:
        for n, line in enumerate(lines):
            at = baseline(y + _height(n, size), size)
            self._put(Text(x, at, line, size, bold=bold))

    def _rule(self, weight: float) -> None:
        self._put(Line(MARGIN, self.y, self.width - MARGIN, self.y, weight))

    def _group(self, group: FormGroup) -> None:
        rows = [self._set(row) for row in group.rows]
        title = _height(1, SIZE + 1) + 2 * APART if group.heading else 0.0
        first = rows[0].height if rows else 0.0
        if not self._room_for(title + HEADS + first):
            self._begin()
        self.y += APART if group.heading else 0.0
        self._heads(group.heading)
        for row, done in zip(group.rows, rows, strict=True):
            if not self._room_for(done.height):
                self._begin()
                self._heads(f"{group.heading}, continued" if group.heading else "")
            self._row(row, done)

    def _spans(self) -> list[tuple[float, float]]:
        """Left edge and width of each column."""
        total = sum(c.share for c in self.form.columns)
        scale = self.inner / total
        x, found = MARGIN, []
        for column in self.form.columns:
            found.append((x, column.share * scale))
            x += column.share * scale
        return found

    def _heads(self, heading: str) -> None:
        """The heading of a group, where it has one, and those of the columns."""
        if heading:
            self._paragraph(heading, SIZE + 1, bold=True)
        for column, (x, _) in zip(self.form.columns, self._spans(), strict=True):
            self._text((column.head,), x + PAD, self.y + PAD, HEAD)
        self.y += HEADS
        self._rule(0.9)

    def _set(self, row: FormRow) -> _Set:
        spans, found = self._spans(), []
        for column, (x, room), text in zip(self.form.columns, spans, row.cells, strict=False):
            if text:
                found.append((x + PAD, self._cell(text, room, column.bold), column.bold))
            if row.instead:
                break
        if row.instead:
            start = spans[1][0]
            room = self.width - MARGIN - start
            found.append((start + PAD, self._cell(row.instead, room, False), False))
        most = max((_height(len(c.lines), c.size) for _, c, _ in found), default=0.0)
        note = self._lines(row.note, self.inner - 2 * PAD, NOTE, False) if row.note else ()
        return _Set(found, note, max(ROW, most + 2 * PAD))

    def _cell(self, text: str, room: float, bold: bool) -> FittedText:
        return in_cell(printable(text, self.form.title), room - 2 * PAD, SIZE, SMALLEST, bold)

    def _row(self, row: FormRow, done: _Set) -> None:
        for x, cell, bold in done.cells:
            self._text(cell.lines, x, self.y + PAD, cell.size, bold)
        self._text(done.note, MARGIN + PAD, self.y + done.above - PAD, NOTE)
        if not row.instead:
            self._uprights(self.y, done.above)
        self.y += done.height
        self._rule(0.3)

    def _uprights(self, top: float, height: float) -> None:
        for column, (x, room) in zip(self.form.columns, self._spans(), strict=True):
            if column.tick:
                middle = top + (height - TICK) / 2
                self._put(box(x + (room - TICK) / 2, middle, TICK, TICK, None, 0.8))
            elif x > MARGIN + 0.1:
                self._put(Line(x, top + 0.8, x, top + height - 0.8, 0.2))
