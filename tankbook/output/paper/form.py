"""Ruled forms to write on by hand: rows over as many pages as they take, headings on each."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from tankbook.output.drawing import A4, LETTER, Item, Line, Text, box
from tankbook.output.paper.face import PaperError, baseline, height, printable, wrapped
from tankbook.output.paper.pen import FOOT, MARGIN, print_pages
from tankbook.records.words import Shore

PAPER = {Shore.PSI: LETTER, Shore.BAR: A4}
"""The paper of each shore, where nothing else is said."""

SIZE, HEAD, NOTE, TITLE = 10.0, 8.0, FOOT, 15.0
LEADING = 1.2
ROW = 9.0
"""The lowest row [mm] that is written in with gloves off (common practice, no source)."""
PAD = 1.0
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
        PaperError: a character cannot be printed, or a number is wider than its column.
    """
    writer = _Writer(form, *paper)
    writer.write()
    return print_pages(writer.pages, paper, form.title, form.footer)


def _height(lines: int, size: float) -> float:
    return height(lines, size, LEADING)


class _Writer(Struct):
    """Puts the parts of a form one below the other, beginning pages as it goes."""

    form: Form
    width: float
    height: float
    pages: list[list[Item]] = field(default_factory=list)
    y: float = 0.0

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

    def _room(self, height: float) -> bool:
        return self.y + height <= self.height - MARGIN

    def _put(self, *items: Item) -> None:
        self.pages[-1].extend(items)

    def _lines(self, text: str, room: float, size: float, bold: bool) -> tuple[str, ...]:
        found = wrapped(printable(text, self.form.title), room, size, bold)
        if found is None:
            raise PaperError(
                f"{self.form.title}: `{text}` does not fit in {room:.0f} mm", "shorten it"
            )
        return found

    def _paragraph(self, text: str, size: float, bold: bool = False) -> None:
        lines = self._lines(text, self.width - 2 * MARGIN, size, bold)
        if not self._room(_height(len(lines), size)):
            self._begin()
        self._text(lines, MARGIN, self.y, size, bold)
        self.y += _height(len(lines), size) + 1.5

    def _text(
        self, lines: Sequence[str], x: float, y: float, size: float, bold: bool = False
    ) -> None:
        for n, line in enumerate(lines):
            at = baseline(y + _height(n, size), size)
            self._put(Text(x, at, line, size, bold=bold))

    def _group(self, group: FormGroup) -> None:
        heads = _height(1, HEAD) + 2 * PAD
        title = _height(1, SIZE + 1) + 3.0 if group.heading else 0.0
        first = self._row_height(group.rows[0]) if group.rows else 0.0
        if not self._room(title + heads + first):
            self._begin()
        if group.heading:
            self.y += 1.5
            self._paragraph(group.heading, SIZE + 1, bold=True)
        self._heads()
        for row in group.rows:
            if not self._room(self._row_height(row)):
                self._begin()
                if group.heading:
                    self._paragraph(f"{group.heading}, continued", SIZE + 1, bold=True)
                self._heads()
            self._row(row)

    def _spans(self) -> list[tuple[float, float]]:
        """Left edge and width of each column."""
        total = sum(c.share for c in self.form.columns)
        scale = (self.width - 2 * MARGIN) / total
        x, found = MARGIN, []
        for column in self.form.columns:
            found.append((x, column.share * scale))
            x += column.share * scale
        return found

    def _heads(self) -> None:
        height = _height(1, HEAD) + 2 * PAD
        for column, (x, _) in zip(self.form.columns, self._spans(), strict=True):
            self._text((column.head,), x + PAD, self.y + PAD, HEAD)
        self.y += height
        self._put(Line(MARGIN, self.y, self.width - MARGIN, self.y, 0.9))

    def _cells(self, row: FormRow) -> list[tuple[float, tuple[str, ...], bool]]:
        """Where each cell's text stands, its lines, and whether they are bold."""
        spans, found = self._spans(), []
        for column, (x, room), text in zip(self.form.columns, spans, row.cells, strict=False):
            if text:
                lines = self._lines(text, room - 2 * PAD, SIZE, column.bold)
                found.append((x + PAD, lines, column.bold))
            if row.instead:
                break
        if row.instead:
            start = spans[1][0]
            room = self.width - MARGIN - start - 2 * PAD
            found.append((start + PAD, self._lines(row.instead, room, SIZE, False), False))
        return found

    def _note(self, row: FormRow) -> tuple[str, ...]:
        if not row.note:
            return ()
        return self._lines(row.note, self.width - 2 * MARGIN - 2 * PAD, NOTE, False)

    def _row_height(self, row: FormRow) -> float:
        most = max((len(lines) for _, lines, _ in self._cells(row)), default=1)
        return max(ROW, _height(most, SIZE) + 2 * PAD) + _height(len(self._note(row)), NOTE)

    def _row(self, row: FormRow) -> None:
        top, note = self.y, self._note(row)
        height = self._row_height(row)
        main = height - _height(len(note), NOTE)
        for x, lines, bold in self._cells(row):
            self._text(lines, x, top + PAD, SIZE, bold)
        if note:
            self._text(note, MARGIN + PAD, top + main - PAD, NOTE)
        if not row.instead:
            self._uprights(top, main)
        self.y += height
        self._put(Line(MARGIN, self.y, self.width - MARGIN, self.y, 0.3))

    def _uprights(self, top: float, height: float) -> None:
        for column, (x, room) in zip(self.form.columns, self._spans(), strict=True):
            if column.tick:
                middle = top + (height - TICK) / 2
                self._put(box(x + (room - TICK) / 2, middle, TICK, TICK, None, 0.8))
            elif x > MARGIN + 0.1:
                self._put(Line(x, top + 0.8, x, top + height - 0.8, 0.2))
