"""A sheet of the wall chart: shapes with letters, for arm's length and black and white."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.output.drawing import (
    A3,
    A4,
    LETTER,
    MM,
    Anchor,
    Drawing,
    Item,
    Line,
    Round,
    Shape,
    Text,
    Tone,
    box,
)
from tankbook.output.page import MONTHS, plain_date
from tankbook.records.rulerow import Obligation
from tankbook.rules.wall_chart import Late, WallChart, WallRow

LETTERS = {
    Obligation.REQUALIFICATION: "H",
    Obligation.VISUAL: "V",
    Obligation.EDDY_CURRENT: "E",
    Obligation.SERVICE_LIFE: "L",
}
"""The letter of each obligation; its shape goes with it."""

NAMES = {
    Obligation.REQUALIFICATION: "hydro",
    Obligation.VISUAL: "visual",
    Obligation.EDDY_CURRENT: "eddy-current test",
    Obligation.SERVICE_LIFE: "service life ends",
}


class Paper(Struct, frozen=True):
    """A sheet laid crosswise, and how large things are on it [mm, type in pt]."""

    name: str
    width: float
    height: float
    row: float
    type: float


PAPERS = {
    "a4": Paper("A4", A4[1], A4[0], 5.6, 9),
    "letter": Paper("Letter", LETTER[1], LETTER[0], 5.6, 9),
    "a3": Paper("A3", A3[1], A3[0], 7.0, 11.5),
}
"""The papers the chart is drawn for."""

MARGIN = 10 * MM
ID, SIZE, LATE = 0.105, 0.095, 0.15
"""Shares of the width that the id, the size and what is late take."""


class WallSheet(Struct, frozen=True):
    """The chart laid out on a paper; `says` tells in words what it shows."""

    chart: WallChart
    paper: Paper
    says: str = ""

    @property
    def width(self) -> float:
        return self.paper.width * MM

    @property
    def height(self) -> float:
        return self.paper.height * MM

    @property
    def inner(self) -> float:
        return self.width - 2 * MARGIN

    @property
    def row(self) -> float:
        return self.paper.row * MM

    @property
    def top(self) -> float:
        """Where the first row begins."""
        return MARGIN + 4.6 * self.row

    @property
    def fits(self) -> int:
        """Rows on a page."""
        return int((self.height - MARGIN - 1.2 * self.row - self.top) / self.row)

    @property
    def pages(self) -> int:
        """How many it takes."""
        return max(-(-len(self.chart.rows) // self.fits), 1)

    @property
    def first(self) -> float:
        """Where the months begin."""
        return MARGIN + (ID + SIZE + LATE) * self.inner

    @property
    def step(self) -> float:
        return (MARGIN + self.inner - self.first) / len(self.chart.months)

    def page(self, rows: Sequence[WallRow], number: int, count: int) -> Drawing:
        items: list[Item] = [*self._head(number, count), *self._grid(len(rows))]
        for place, row in enumerate(rows):
            items += self._row(row, self.top + place * self.row)
        title = f"{self.chart.ledger}: tests and inspections, page {number} of {count}"
        return Drawing(self.width, self.height, title, self.says, tuple(items))

    def _head(self, number: int, count: int) -> Iterator[Item]:
        size, base = self.paper.type, MARGIN + self.row
        yield Text(MARGIN, base, self.chart.ledger, size * 1.5, bold=True)
        said = f"as of {plain_date(self.chart.today)} · page {number} of {count}"
        yield Text(MARGIN + self.inner, base, said, size, Anchor.END)
        yield from self._key(base + 1.2 * self.row)
        foot = self.top - 0.35 * self.row
        yield Text(MARGIN + 2, foot, "cylinder", size, bold=True)
        yield Text(MARGIN + ID * self.inner, foot, "size", size, bold=True)
        late = MARGIN + (ID + SIZE) * self.inner
        yield Text(late + 2, foot, "OVERDUE", size, bold=True)
        for place, month in enumerate(self.chart.months):
            middle = self.first + (place + 0.5) * self.step
            name = MONTHS[month.month - 1]
            yield Text(middle, foot, name, size, Anchor.MIDDLE, bold=True)
            if place == 0 or month.month == 1:
                year = Text(middle, foot - size * 1.1, str(month.year), size, Anchor.MIDDLE)
                yield year

    def _key(self, base: float) -> Iterator[Item]:
        size, x = self.paper.type, MARGIN
        for question, name in NAMES.items():
            yield from mark(question, x + self.row / 2, base - size * 0.36, self._radius)
            yield Text(x + self.row, base, name, size)
            x += self.row * 1.6 + len(name) * size * 0.56
        yield from mark(
            Obligation.REQUALIFICATION,
            x + self.row / 2,
            base - size * 0.36,
            self._radius,
            late=True,
        )
        yield Text(x + self.row, base, "black: OVERDUE or not on record, do not fill", size)

    @property
    def _radius(self) -> float:
        return self.row * 0.4

    def _grid(self, rows: int) -> Iterator[Item]:
        foot = self.top + rows * self.row
        right = MARGIN + self.inner
        for place, month in enumerate(self.chart.months):
            x = self.first + place * self.step
            if place % 2:
                yield box(x, self.top, self.step, rows * self.row, Tone.PALE)
            weight = 1.2 if month.month == 1 or place == 0 else 0.3
            yield Line(x, self.top, x, foot, weight)
        for place in range(rows + 1):
            y = self.top + place * self.row
            yield Line(MARGIN, y, right, y, 0.9 if place % 5 == 0 else 0.25)
        for x in (MARGIN, MARGIN + (ID + SIZE) * self.inner, right):
            yield Line(x, self.top, x, foot, 0.9)

    def _row(self, row: WallRow, y: float) -> Iterator[Item]:
        size, base = self.paper.type, y + self.row / 2 + self.paper.type * 0.36
        tone = Tone.INK
        if row.late:
            yield box(MARGIN, y, ID * self.inner - 4, self.row, Tone.INK)
            tone = Tone.PAPER
        yield Text(
            MARGIN + 2, base, row.id, _fit(row.id, size, ID * self.inner - 8), bold=True, tone=tone
        )
        yield Text(
            MARGIN + ID * self.inner, base, row.size, _fit(row.size, size, SIZE * self.inner - 4)
        )
        x = MARGIN + (ID + SIZE) * self.inner
        share = LATE * self.inner / max(len(row.late), 2)
        for late in row.late:
            yield from mark(
                late.obligation, x + self.row / 2, y + self.row / 2, self._radius, late=True
            )
            said = since(late)
            yield Text(x + self.row, base, said, _fit(said, size * 0.85, share - self.row - 1))
            x += share
        for place, questions in enumerate(row.months):
            gap = min(self.row * 0.9, self.step / max(len(questions), 1))
            left = self.first + (place + 0.5) * self.step - gap * (len(questions) - 1) / 2
            for n, question in enumerate(questions):
                yield from mark(question, left + n * gap, y + self.row / 2, self._radius)


def _fit(text: str, size: float, room: float) -> float:
    """A type size at which a text fits, reckoned from what wide letters take."""
    return min(size, room / max(len(text) * 0.58, 1))


def since(late: Late) -> str:
    """`Sep 26`, or `none` where nothing is on record."""
    if late.since is None:
        return "none"
    return f"{MONTHS[late.since.month - 1]} {late.since.year % 100:02d}"


def mark(
    question: Obligation, x: float, y: float, radius: float, *, late: bool = False
) -> Iterator[Item]:
    """An obligation's shape around its letter; black with a white letter when it is overdue."""
    fill, ink = (Tone.INK, Tone.PAPER) if late else (Tone.PAPER, Tone.INK)
    weight, low = radius * 0.16, 0.0
    if question is Obligation.REQUALIFICATION:
        yield Round(x, y, radius, fill, weight)
    elif question is Obligation.VISUAL:
        side = radius * 0.88
        yield box(x - side, y - side, 2 * side, 2 * side, fill, weight)
    elif question is Obligation.EDDY_CURRENT:
        far = radius * 1.12
        yield Shape(((x, y - far), (x + far, y), (x, y + far), (x - far, y)), fill, weight)
    else:
        far, low = radius * 1.1, radius * 0.25
        corners = ((x, y - far), (x + far, y + far * 0.8), (x - far, y + far * 0.8))
        yield Shape(corners, fill, weight)
    size = radius * (1.25 if question is not Obligation.SERVICE_LIFE else 0.95)
    yield Text(
        x, y + low + size * 0.36, LETTERS[question], size, Anchor.MIDDLE, bold=True, tone=ink
    )
