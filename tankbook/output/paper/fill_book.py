"""The fill book on paper: a page or more a month, crosswise, each with its totals and a line to
sign."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct, field

from tankbook.output.drawing import Item, Line, Text
from tankbook.output.fill_book import (
    amount,
    asked_for,
    gas_of,
    helium,
    how,
    incomplete,
    odd_counts,
    struck_said,
)
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.paper.face import FittedText, baseline, cut, height, in_cell, printable
from tankbook.output.paper.flow import SMALLEST
from tankbook.output.paper.form import PAPER
from tankbook.output.paper.pen import FOOT, MARGIN, print_pages
from tankbook.rules.fill_book import (
    FillBook,
    FillShare,
    FillTotals,
    LoggedFill,
    MonthOfBook,
    totals_of_fills,
)

TITLE, HEAD, SIZE = 13.0, FOOT, 8.0
LEADING = 1.2
PAD = 0.8
COLUMNS = (
    ("date", 17), ("time", 10), ("cylinder", 20), ("serial", 27), ("customer", 20), ("gas", 21),
    ("O2 %", 10), ("He %", 10), ("from", 15), ("to", 15), ("temp", 13), ("source", 28),
    ("position", 14), ("gas given", 16), ("initials", 14),
)  # fmt: skip
"""Heading and share of the width of each column."""


def fill_book_pdf(found: FillBook, ledger: str, day: dt.date, page: Page) -> bytes:
    """The fills of each month on pages of their own, as PDF.

    Raises:
        PaperError: a character cannot be printed.
    """
    tall, wide = PAPER[page.shore]
    title = f"Fill book of {ledger}{asked_for(found.wanted)}"
    pages = [
        items
        for month in found.months
        for items in _Month(found, month, title, page, tall=tall, wide=wide).laid_out()
    ]
    return print_pages(pages, (wide, tall), title, f"{title}, printed as of {plain_date(day)}")


class _Row(Struct, frozen=True):
    """A fill on paper: its cells, what stands small below them, and how high it is [mm]."""

    fill: LoggedFill
    cells: tuple[FittedText, ...]
    note: tuple[str, ...]
    main: float

    @property
    def height(self) -> float:
        return self.main + height(len(self.note), HEAD, LEADING)


class _Month(Struct):
    """Lays one month out: as many rows a page as its foot leaves room for."""

    book: FillBook
    month: MonthOfBook
    title: str
    page: Page
    tall: float
    wide: float
    pages: list[list[Item]] = field(default_factory=list)
    y: float = 0.0

    def laid_out(self) -> list[list[Item]]:
        """The pages of the month, at least one."""
        rows = [self._row(fill) for fill in self.month.fills]
        self._begin()
        mine: list[LoggedFill] = []
        for row in rows:
            if mine and self.y + row.height > self._floor():
                self._foot(mine)
                self._begin()
                mine = []
            self._put_row(row)
            mine.append(row.fill)
        if not rows:
            self._said(f"No fill is on record{asked_for(self.book.wanted)}.", SIZE + 1)
        self._sums(mine)
        return self.pages

    # --- the head of a page, and its rows ---

    def _begin(self) -> None:
        self.pages.append([])
        self.y = MARGIN
        self._said(f"{self.title}: {self._time()}", TITLE, bold=True)
        notice = incomplete(self.book)
        if notice:
            self._said(notice, SIZE, bold=True)
        if self.month.fills:
            self.y += PAD
            for (head, _), (x, _) in zip(COLUMNS, self._spans(), strict=True):
                self._put(Text(x + PAD, baseline(self.y, HEAD), head, HEAD))
            self.y += height(1, HEAD, LEADING) + PAD
            self._rule(0.9)

    def _time(self) -> str:
        month, last = self.month, self.month.last
        if month.whole:
            return plain_date(month.month)
        if month.first == last:
            return plain_date(last)
        return f"{plain_date(month.first)} to {plain_date(last)}"

    def _spans(self) -> list[tuple[float, float]]:
        scale = (self.wide - 2 * MARGIN) / sum(share for _, share in COLUMNS)
        x, found = MARGIN, []
        for _, share in COLUMNS:
            found.append((x, share * scale))
            x += share * scale
        return found

    def _row(self, fill: LoggedFill) -> _Row:
        where = f"{fill.line.cylinder}, {fill.line.at:%Y-%m-%d %H:%M}"
        texts = (printable(text, where) for text in _texts(fill, self.page))
        cells = tuple(
            in_cell(text, room - 2 * PAD, SIZE, SMALLEST)
            for text, (_, room) in zip(texts, self._spans(), strict=True)
        )
        main = max(height(len(c.lines), c.size, LEADING) for c in cells) + 2 * PAD
        note = "; ".join(printable(text, where) for text in _notes(fill))
        room = self.wide - 2 * MARGIN - 2 * PAD
        return _Row(fill, cells, cut(note, room, HEAD) if note else (), main)

    def _put_row(self, row: _Row) -> None:
        for cell, (x, _) in zip(row.cells, self._spans(), strict=True):
            self._lines(cell.lines, x + PAD, self.y + PAD, cell.size)
        if not row.fill.stands:
            first = height(1, SIZE, LEADING) / 2 + PAD
            self._put(Line(MARGIN, self.y + first, self.wide - MARGIN, self.y + first, 0.7))
        self._lines(row.note, MARGIN + PAD, self.y + row.main - PAD, HEAD)
        self.y += row.height
        self._rule(0.3)

    # --- the foot ---

    def _floor(self) -> float:
        """Where the foot of a page begins [mm]."""
        return self.tall - MARGIN - height(2, SIZE, LEADING) - 9.0

    def _foot(self, mine: Sequence[LoggedFill]) -> None:
        """What the page and the month come to, and the line to sign."""
        of_page = totals_of_fills(mine, self.book.reference)
        self.y = self._floor()
        pages = (("This page", of_page), (self._time(), self.month.totals))
        for name, total in pages:
            self._said(f"{name}: {_sum(total, self.page)}.", SIZE, bold=True)
        self.y += 6.0
        line = f"Signed {'_' * 40}   Date {'_' * 20}"
        self._put(Text(MARGIN, self.y, line, SIZE))

    def _sums(self, mine: Sequence[LoggedFill]) -> None:
        """The totals of the month by gas, person and source, and its last foot."""
        if self.month.fills:
            self.y += 2 * PAD
            total = self.month.totals
            for head, shares in (
                ("By gas", total.by_gas),
                ("By person", total.by_person),
                ("By source", total.by_source),
            ):
                if shares:
                    mine = self._sum_line(f"{head}: {_listed(shares, self.page)}.", mine)
            mine = self._sum_line(how(self.book).replace("`", "'"), mine)
            if helium(self.book):
                mine = self._sum_line(helium(self.book), mine)
        self._foot(mine)

    def _sum_line(self, text: str, mine: Sequence[LoggedFill]) -> Sequence[LoggedFill]:
        """A paragraph of the totals; the fills of the page that it stands on."""
        lines = cut(printable(text, self.title), self.wide - 2 * MARGIN, SIZE)
        for line in lines:
            if self.y + height(1, SIZE, LEADING) > self._floor():
                self._foot(mine)
                self._begin()
                mine = ()
            self._lines((line,), MARGIN, self.y, SIZE)
            self.y += height(1, SIZE, LEADING)
        self.y += PAD
        return mine

    # --- marks ---

    def _put(self, item: Item) -> None:
        self.pages[-1].append(item)

    def _rule(self, weight: float) -> None:
        self._put(Line(MARGIN, self.y, self.wide - MARGIN, self.y, weight))

    def _said(self, text: str, size: float, bold: bool = False) -> None:
        lines = cut(printable(text, self.title), self.wide - 2 * MARGIN, size, bold)
        self._lines(lines, MARGIN, self.y, size, bold)
        self.y += height(len(lines), size, LEADING)

    def _lines(
        self, lines: Sequence[str], x: float, y: float, size: float, bold: bool = False
    ) -> None:
        for n, line in enumerate(lines):
            at = baseline(y + height(n, size, LEADING), size)
            self._put(Text(x, at, line, size, bold=bold))


def _texts(fill: LoggedFill, page: Page) -> Iterator[str]:
    """What stands in the columns."""
    line = fill.line
    yield f"{line.at:%Y-%m-%d}"
    yield f"{line.at:%H:%M}"
    yield line.cylinder
    yield " + ".join(fill.serials)
    yield fill.customer
    yield str(line.gas) if line.gas else ""
    yield f"{line.o2.percent:g}" if line.o2 else ""
    yield f"{line.he.percent:g}" if line.he else ""
    yield page.pressure(line.from_) if line.from_ else ""
    yield page.pressure(line.to) if line.to else ""
    yield page.temperature(line.temperature) if line.temperature else ""
    yield line.source_ or ""
    yield line.position or ""
    yield amount(fill.gave, page) if fill.gave else "not known"
    yield line.by or ""


def _notes(fill: LoggedFill) -> Iterator[str]:
    """What stands below a row: why it was struck out, or what was odd about it."""
    if not fill.stands:
        yield f"STRUCK OUT: {struck_said(fill)}"
    if fill.line.override:
        yield f"Override: {fill.line.override}"
    if fill.line.note:
        yield fill.line.note
    if fill.untested:
        yield f"No test of its air is known: {', '.join(fill.untested)}"
    if fill.beyond:
        yield f"By the records {fill.beyond.can_have_shown}"


def _sum(total: FillTotals, page: Page) -> str:
    """`28 fills, 1890 cuft of gas; 1 struck out, not counted`."""
    said = filter(None, (counted(total.fills, "fill"), gas_of(total, page)))
    return "; ".join([", ".join(said), *odd_counts(total)])


def _listed(shares: Sequence[FillShare], page: Page) -> str:
    return "; ".join(f"{s.name} {counted(s.fills, 'fill')}, {gas_of(s, page)}" for s in shares)
