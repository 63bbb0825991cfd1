"""The wall chart as a file to hang up, as text and as JSON.

What is hung up has shapes with letters, for arm's length and black and white.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.output.drawing import (
    A3,
    A4,
    LETTER,
    MIDDLE,
    MM,
    WIDEST,
    Anchor,
    Drawing,
    Item,
    Line,
    Round,
    Shape,
    Text,
    Tone,
    about,
    box,
)
from tankbook.output.due import FAILED, LATE_WORDS, STANDS, overdue, subject
from tankbook.output.page import MONTHS, Page, counted, plain_date
from tankbook.output.tables import table
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status
from tankbook.rules.answers import DueKind, Tally
from tankbook.rules.schedule import ENDS
from tankbook.rules.wall_chart import Late, WallChart, WallMark, WallRow
from tankbook.units import PartialDate

LETTERS = {
    Obligation.REQUALIFICATION: "H",
    Obligation.VISUAL: "V",
    Obligation.EDDY_CURRENT: "E",
    Obligation.SERVICE_LIFE: "L",
    Obligation.PERMIT: "P",
    Obligation.OXYGEN_CLEANING: "C",
}
"""The letter of each obligation; its shape goes with it: a triangle of what ends."""

NAMES = {
    Obligation.REQUALIFICATION: "hydro",
    Obligation.VISUAL: "visual",
    Obligation.EDDY_CURRENT: "eddy-current test",
    Obligation.SERVICE_LIFE: "service life ends",
    Obligation.PERMIT: "permit ends",
    Obligation.OXYGEN_CLEANING: "oxygen cleaning ends",
}


def named(chart: WallChart) -> dict[Obligation, str]:
    """The obligations that the key of a chart names: permits and cleanings where there are any."""
    seen = {late.obligation for row in chart.rows for late in row.late}
    seen |= {mark.obligation for row in chart.rows for month in row.months for mark in month}
    seldom = {Obligation.PERMIT, Obligation.OXYGEN_CLEANING} - seen
    return {question: name for question, name in NAMES.items() if question not in seldom}


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

NO_LEAVE = "not black is no leave to fill: ask before every fill"
"""What a chart says of the rows that it has nothing against: it shows dates, and no findings."""

MARGIN = 10 * MM
ID, SIZE, KEPT, LATE = 0.105, 0.085, 0.065, 0.14
"""Shares of the width that the id, the size, where it is kept and what is late take."""

HEAD, FOOT = 5.8, 1.2
"""Rows that the heading takes, and what stands below the last."""

LEAST_TYPE = 6.0
"""No type on a paper is smaller [pt] (common practice, no source)."""


def most_rows(paper: Paper) -> int:
    """How many rows a page can have whose type can still be read."""
    return int(_rows_on(paper) * paper.type / LEAST_TYPE - HEAD - FOOT)


def _rows_on(paper: Paper) -> float:
    """How many rows of its usual height a paper is high."""
    return (paper.height - 2 * MARGIN / MM) / paper.row


def usual_rows(paper: Paper) -> int:
    """How many rows a page has unless said otherwise."""
    return int(_rows_on(paper) - HEAD - FOOT)


def dense(paper: Paper, rows: int) -> Paper:
    """A paper with so many rows on a page, from `usual_rows` to `most_rows`: all on it becomes
    smaller."""
    scale = _rows_on(paper) / (rows + HEAD + FOOT)
    return replace(paper, row=paper.row * scale, type=paper.type * min(scale, 1.0))


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
        return MARGIN + HEAD * self.row

    @property
    def fits(self) -> int:
        """Rows on a page."""
        return int((self.height - MARGIN - FOOT * self.row - self.top) / self.row + 1e-6)

    @property
    def pages(self) -> int:
        """How many it takes."""
        return max(-(-len(self.chart.rows) // self.fits), 1)

    @property
    def kept(self) -> float:
        """Where the sign of what is held, out or away begins."""
        return MARGIN + (ID + SIZE) * self.inner

    @property
    def late(self) -> float:
        """Where what is late begins."""
        return MARGIN + (ID + SIZE + KEPT) * self.inner

    @property
    def first(self) -> float:
        """Where the months begin."""
        return MARGIN + (ID + SIZE + KEPT + LATE) * self.inner

    @property
    def right(self) -> float:
        """Where they end."""
        return MARGIN + self.inner

    @property
    def step(self) -> float:
        return (self.right - self.first) / len(self.chart.months)

    def page(self, rows: Sequence[WallRow], number: int, count: int) -> Drawing:
        items: list[Item] = [*self._head(number, count), *self._grid(len(rows))]
        for place, row in enumerate(rows):
            items += self._row(row, self.top + place * self.row)
        foot = self.top + (len(rows) + 0.85) * self.row
        items.append(Text(MARGIN + 2, foot, unseen(self.chart), self.paper.type))
        items.append(Text(self.right, foot, NO_LEAVE, self.paper.type, Anchor.END))
        title = f"{self.chart.ledger}: tests and inspections, page {number} of {count}"
        return Drawing(self.width, self.height, title, self.says, tuple(items))

    def _head(self, number: int, count: int) -> Iterator[Item]:
        size, base = self.paper.type, MARGIN + self.row
        name, fitting = fitted(self.chart.ledger, size * 1.5, 0.7 * self.inner, bold=True)
        yield Text(MARGIN, base, name, fitting, bold=True)
        said = f"as of {plain_date(self.chart.today)} · page {number} of {count}"
        yield Text(self.right, base, said, size, Anchor.END)
        yield from self._key(base + 1.2 * self.row)
        foot = self.top - 0.35 * self.row
        yield Text(MARGIN + 2, foot, "cylinder", size, bold=True)
        yield Text(MARGIN + ID * self.inner, foot, "size", size, bold=True)
        yield Text(self.kept + 2, foot, "kept", size, bold=True)
        said, fitting = fitted(
            late_word(self.chart).upper(), size, LATE * self.inner - 4, bold=True
        )
        yield Text(self.late + 2, foot, said, fitting, bold=True)
        for place, month in enumerate(self.chart.months):
            middle = self.first + (place + 0.5) * self.step
            name = MONTHS[month.month - 1]
            yield Text(middle, foot, name, size, Anchor.MIDDLE, bold=True)
            if place == 0 or month.month == 1:
                yield Text(middle, foot - size * 1.1, str(month.year), size, Anchor.MIDDLE)

    def _key(self, base: float) -> Iterator[Item]:
        size, x = self.paper.type, MARGIN
        for question, name in named(self.chart).items():
            yield from self._mark(question, x + self.row / 2, base - size * MIDDLE)
            yield Text(x + self.row, base, name, size)
            x += self.row * 1.6 + about(name, size)
        black = Obligation.REQUALIFICATION
        yield from self._mark(black, x + self.row / 2, base - size * MIDDLE, late=True)
        yield Text(x + self.row, base, black_means(self.chart), size)
        yield from self._other_signs(base + 1.15 * self.row)

    def _other_signs(self, base: float) -> Iterator[Item]:
        """What else the key says: each sign with its words."""
        size, middle, x = self.paper.type, base - self.paper.type * MIDDLE, MARGIN
        spared, again = "empty: spared by an act before it", "letter alone: comes again"
        visual = Obligation.VISUAL
        yield from mark(visual, x + self.row / 2, middle, self.row * 0.4, spared=True)
        yield Text(x + self.row, base, spared, size)
        x += self.row * 1.6 + about(spared, size)
        yield from mark(visual, x + self.row / 2, middle, self.row * 0.4, again=True)
        yield Text(x + self.row, base, again, size)
        x += self.row * 1.6 + about(again, size)
        for status, said in KEY.items():
            yield from sign(status, x, middle, self.row * 0.8)
            yield Text(x + self.row, base, said, size)
            x += self.row * 1.6 + about(said, size)

    def _mark(
        self, question: Obligation, x: float, y: float, *, late: bool = False
    ) -> Iterator[Item]:
        return mark(question, x, y, self.row * 0.4, late=late)

    def _grid(self, rows: int) -> Iterator[Item]:
        foot = self.top + rows * self.row
        for place, month in enumerate(self.chart.months):
            x = self.first + place * self.step
            if place % 2:
                yield box(x, self.top, self.step, rows * self.row, Tone.PALE)
            weight = 1.2 if month.month == 1 or place == 0 else 0.3
            yield Line(x, self.top, x, foot, weight)
        for place in range(rows + 1):
            y = self.top + place * self.row
            yield Line(MARGIN, y, self.right, y, 0.9 if place % 5 == 0 else 0.25)
        for x in (MARGIN, self.kept, self.late, self.right):
            yield Line(x, self.top, x, foot, 0.9)

    def _row(self, row: WallRow, y: float) -> Iterator[Item]:
        size, middle = self.paper.type, y + self.row / 2
        base = middle + size * MIDDLE
        tone = Tone.INK
        if row.late:
            yield box(MARGIN, y, ID * self.inner - 4, self.row, Tone.INK)
            tone = Tone.PAPER
        said, fitting = fitted(row.id, size, ID * self.inner - 8, bold=True, tail=True)
        yield Text(MARGIN + 2, base, said, fitting, bold=True, tone=tone)
        said, fitting = fitted(row.size.removeprefix("size "), size, SIZE * self.inner - 4)
        yield Text(MARGIN + ID * self.inner, base, said, fitting)
        for place, status in enumerate(row.stands):
            yield from sign(status, self.kept + 3 + place * self.row * 0.95, middle, self.row * 0.8)
        x = self.late
        share = LATE * self.inner / max(len(row.late), 2)
        for late in row.late:
            yield from self._mark(late.obligation, x + self.row / 2, middle, late=True)
            small = max(size * 0.85, LEAST_TYPE)
            said, fitting = fitted(since(late), small, share - self.row - 1)
            if said == since(late):  # where no room is left, the black shape tells by itself
                yield Text(x + self.row, base, said, fitting)
            x += share
        for place, marks in enumerate(row.months):
            gap = min(self.row * 0.9, self.step / max(len(marks), 1))
            left = self.first + (place + 0.5) * self.step - gap * (len(marks) - 1) / 2
            for n, each in enumerate(marks):
                yield from mark(
                    each.obligation,
                    left + n * gap,
                    middle,
                    min(self.row * 0.4, gap * 0.45),
                    spared=each.spared,
                    again=each.item is None,
                )


def late_word(chart: WallChart) -> str:
    """What the rows' black marks are of: `overdue`, or `overdue or failed`."""
    return LATE_WORDS[any(late.failed for row in chart.rows for late in row.late)]


def black_means(chart: WallChart) -> str:
    """What a black mark says, for the key."""
    return f"black: {late_word(chart).upper()} or not on record, do not fill"


def fitted(
    text: str, size: float, room: float, *, bold: bool = False, tail: bool = False
) -> tuple[str, float]:
    """A text and the type size at which it fits, by the face that is printed and no wider than a
    browser's letters mostly are; what is too long for the least type is cut, its head where its
    `tail` tells it apart."""
    from tankbook.output.paper.face import shortened, width

    widest = max(about(text, 1.0, WIDEST), width(text, MM, bold))
    fits = min(size, room / max(widest, 1))
    if fits >= LEAST_TYPE:
        return text, fits
    return shortened(text, room / MM, LEAST_TYPE, bold, tail=tail), LEAST_TYPE


def since(late: Late) -> str:
    """`Sep 26`; `FAILED`, or `none` where nothing is on record."""
    if late.failed:
        return FAILED
    if late.since is None:
        return "none"
    return f"{MONTHS[late.since.month - 1]} {late.since.year % 100:02d}"


KEY = {
    Status.HELD: "held",
    Status.AT_TEST: "away, at test or repair",
    Status.OUT: "out",
}
"""The signs of what is held, away and out, in words."""


def sign(status: Status, x: float, y: float, high: float) -> Iterator[Item]:
    """The sign of where a cylinder is kept, from its left edge: of what is held a crossed box, of
    what is out an arrow that points away, of what is away a circle with an arrow in it."""
    top, right, weight = y - high / 2, x + high, high * 0.09
    if status is Status.HELD:
        yield box(x, top, high, high, Tone.PAPER, weight)
        yield Line(x, top, right, top + high, weight)
        yield Line(x, top + high, right, top, weight)
        return
    tip, tail, wing = x + high * 0.95, x + high * 0.05, high * 0.3
    if status is not Status.OUT:
        yield Round(x + high / 2, y, high / 2, Tone.PAPER, weight)
        tip, tail, wing = x + high * 0.85, x + high * 0.15, high * 0.22
    yield Line(tail, y, tip - wing, y, weight * 1.6)
    yield Shape(((tip, y), (tip - wing, y - wing), (tip - wing, y + wing)), Tone.INK)


def mark(
    question: Obligation,
    x: float,
    y: float,
    radius: float,
    *,
    late: bool = False,
    spared: bool = False,
    again: bool = False,
) -> Iterator[Item]:
    """An obligation's shape around its letter: black with a white letter when it is overdue, empty
    when it is spared; of what comes again the letter alone."""
    for item in _marked(question, x, y, radius, late=late):
        if not (spared if isinstance(item, Text) else again):
            yield item


def _marked(
    question: Obligation, x: float, y: float, radius: float, *, late: bool
) -> Iterator[Item]:
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
    size = max(radius * (0.95 if question in ENDS else 1.25), LEAST_TYPE)
    yield Text(
        x, y + low + size * MIDDLE, LETTERS[question], size, Anchor.MIDDLE, bold=True, tone=ink
    )


# --- the files, the text and the data


def drawings(chart: WallChart, paper: Paper) -> Iterator[Drawing]:
    """The pages of the chart, each with its own heading."""
    sheet = WallSheet(chart, paper, headline(chart))
    for number in range(1, sheet.pages + 1):
        start = (number - 1) * sheet.fits
        yield sheet.page(chart.rows[start : start + sheet.fits], number, sheet.pages)


Progress = Callable[[int, int], None]


def made(chart: WallChart, paper: Paper, ending: str, progress: Progress | None = None) -> bytes:
    """The chart as a file: PDF, a page at a time, or SVG with the pages one below the other."""
    from tankbook.output import svg
    from tankbook.output.paper.pen import print_drawings

    pages = _told(drawings(chart, paper), WallSheet(chart, paper).pages, progress)
    if ending == ".pdf":
        return print_drawings(pages, f"{chart.ledger}: tests and inspections")
    return svg.standing_alone(list(pages)).encode()


def page_count(chart: WallChart, paper: Paper) -> str:
    """`2 pages`."""
    return counted(WallSheet(chart, paper).pages, "page")


def _told(pages: Iterable[Drawing], count: int, progress: Progress | None) -> Iterator[Drawing]:
    for done, page in enumerate(pages, 1):
        yield page
        if progress is not None:
            progress(done, count)


def headline(chart: WallChart) -> str:
    """How many cylinders, over which months, and how many are overdue."""
    first, last = chart.months[0], chart.months[-1]
    tally, away = chart.tally, unseen(chart)
    said = f"{counted(len(chart.rows), 'cylinder')}, {plain_date(first)} to {plain_date(last)}: "
    said += overdue(tally)
    if tally.unknown:
        said += f", {tally.unknown} not on record"
    return f"{said}; {away}" if away else said


def unseen(chart: WallChart) -> str:
    """How much of what is overdue or not on record no row has; an empty text where none is."""
    away = Tally.of(chart.left_out)
    word = LATE_WORDS[bool(chart.tally.failed)]
    found = [f"{away.late} of the {word}"] if away.late else []
    found += [f"{away.unknown} of those not on record"] if away.unknown else []
    return f"not on this chart: {', '.join(found)}" if found else ""


def text(chart: WallChart, page: Page) -> str:
    """The chart as a table of letters; an overdue one stands under `late`."""
    shown = chart.months[:12]
    heads = ("id", "kept", "late", *(_month(m) for m in shown))
    rows = [
        (
            row.id,
            "".join(SHORT[status] for status in row.stands),
            "".join(f"{LETTERS[each.obligation]}{'!' * each.failed}" for each in row.late),
            *("".join(map(_letter, marks)) for marks in row.months[: len(shown)]),
        )
        for row in chart.rows
    ]
    if not any(row.stands for row in chart.rows):
        heads = (heads[0], *heads[2:])
        rows = [(row[0], *row[2:]) for row in rows]
    names = [f"{LETTERS[q]} {name}" for q, name in named(chart).items()]
    every = [each for row in chart.rows for each in row.late]
    names += [f"late: {late_word(chart)} or not on record"] if every else []
    names += [f"! {FAILED}"] if any(each.failed for each in every) else []
    marks = [each for row in chart.rows for month in row.months for each in month]
    names += ["(V) spared by an act before it"] if any(m.spared for m in marks) else []
    names += ["v comes again"] if any(m.item is None for m in marks) else []
    kept = {status for row in chart.rows for status in row.stands}
    names += [f"{SHORT[s]} {STANDS[s]}" for s in SHORT if s in kept]
    key = page.items("", names)
    names += [NO_LEAVE] if chart.rows else []
    more = len(chart.months) - len(shown)
    rest = f"{more} more months are on the drawn chart." if more > 0 else ""
    return page.answer(headline(chart), table(heads, rows, page), rest, key)


SHORT = {Status.HELD: "#", Status.AT_TEST: "@", Status.AT_REPAIR: "%", Status.OUT: ">"}
"""The signs of what is held, away and out, in a line of text."""


def _letter(each: WallMark) -> str:
    letter = LETTERS[each.obligation]
    if each.item is None:
        return letter.lower()
    return f"({letter})" if each.spared else letter


def _month(month: PartialDate) -> str:
    return MONTHS[month.month - 1]


def data(chart: WallChart) -> dict[str, Any]:
    """The JSON shape of `wall`."""
    return {
        "today": chart.today,
        "months": chart.months,
        "overdue": chart.tally.late,
        "missing": chart.tally.unknown,
        "cylinders": [
            {
                "id": row.id,
                "size": row.size or None,
                "use": row.use,
                "stands": row.status,
                "kept": row.stands,
                "late": [
                    {"obligation": n.obligation, "since": n.since, "failed": n.failed}
                    for n in row.late
                ],
                "due": [
                    {
                        "month": month,
                        "obligation": each.obligation,
                        "next": each.item.next if each.item else None,
                        "spared_by": each.item.spared.act
                        if each.item and each.item.spared
                        else None,
                        "again": each.item is None,
                    }
                    for month, marks in zip(chart.months, row.months, strict=True)
                    for each in marks
                ],
            }
            for row in chart.rows
        ],
        "left_out": [
            {"kind": d.kind, "id": subject(d), "obligation": d.obligation, "state": d.state}
            for d in chart.left_out
            if d.kind is not DueKind.SET
        ],
    }
