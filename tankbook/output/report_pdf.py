"""A report as PDF: the same sections, and the same pictures, on A4 or Letter."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from html import escape
from typing import Any

from msgspec.structs import replace

from tankbook.output.document import (
    Block,
    Document,
    Facts,
    Grid,
    Particulars,
    Picture,
    Section,
    Words,
    unparted,
)
from tankbook.output.drawing import A4, LETTER, MM, Drawing, Text
from tankbook.output.paper.face import BOLD, PLAIN, face, legible, printable, shortened, width
from tankbook.output.paper.pen import FOOT, put

PAPERS = {name: (wide * MM, high * MM) for name, (wide, high) in (("a4", A4), ("letter", LETTER))}
"""The papers, in points."""

FACTS_ACROSS = 5
MOST_KEPT = 14
"""Lines of particulars that are begun on a further page rather than parted (own bound)."""
RULE = "____"
"""What a line to write on begins with."""
FRAME_PAD = 6
"""What reportlab leaves free inside the margins, on each side [pt]."""


SIZES = 9.5, 9.0, 8.5, 8.0, 7.5
"""Sizes of type [pt], the largest first (own bounds)."""
SHORT = 8.0
MARGIN, NARROW = 16, 11
"""Margins [mm], and those of one page."""


def pdf(document: Document, paper: str) -> bytes:
    """The file. A short document is set small enough for one page, and so is one that `fits` where
    smaller type is all that it takes.

    Raises:
        PaperError: a character cannot be printed; the line says which.
    """
    face(False), face(True)
    if document.short:
        return _set(document, paper, SHORT, NARROW * MM, close=True)[0]
    first, pages = _set(document, paper, SIZES[0], MARGIN * MM, close=False)
    for size in SIZES if document.fits and pages == 2 else ():
        made, pages = _set(document, paper, size, NARROW * MM, close=True)
        if pages == 1:
            return made
    return first


def _set(
    document: Document, paper: str, size: float, margin: float, *, close: bool
) -> tuple[bytes, int]:
    """The file in type of a size [pt], and how many pages it is.

    A row that is longer than a page is parted, and what would stand beside another and is too long
    for that is set below it.
    """
    from reportlab.platypus.doctemplate import LayoutError

    try:
        return _laid(document, paper, size, margin, close=close, parted=False)
    except LayoutError:
        below = replace(document, abreast=False)
        return _laid(below, paper, size, margin, close=close, parted=True)


def _laid(
    document: Document, paper: str, size: float, margin: float, *, close: bool, parted: bool
) -> tuple[bytes, int]:
    from reportlab.platypus import SimpleDocTemplate, Spacer

    out: Any = _Written()
    template: Any = SimpleDocTemplate(
        out,
        pagesize=PAPERS[paper],
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin,
        title=document.title,
        creator="tankbook",
        invariant=1,
    )
    wide, high = template.width - 2 * FRAME_PAD, template.height - 2 * FRAME_PAD
    setter = _Setter(size, wide, high, document.short, close, parted)

    def foot(canvas: Any, number: str) -> None:
        canvas.setFont(PLAIN, FOOT)
        canvas.drawRightString(PAPERS[paper][0] - margin, margin * 0.55, number)
        room = PAPERS[paper][0] / MM - 2 * margin / MM - width(f"{number}  ", FOOT)
        title = shortened(printable(document.title, "report"), room, FOOT)
        canvas.drawString(margin, margin * 0.55, title)

    story = list(setter.story(document))
    while story and isinstance(story[-1], Spacer):
        story.pop()  # one that finds no room would make a page of its own
    template.build(story, canvasmaker=_numbered(foot))
    return b"".join(out), template.page


def _numbered(foot: Callable[[Any, str], None]) -> Any:
    """What draws pages that each say which of how many they are: a leaf that is missing is seen.

    How many there are is known at the end, so every page is kept until then.
    """
    from reportlab.pdfgen.canvas import Canvas

    class Numbered(Canvas):  # type: ignore[misc,unused-ignore]
        """Pages that wait for their foot."""

        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            self.kept: list[dict[str, Any]] = []

        def showPage(self) -> None:
            self.kept.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined,unused-ignore]

        def save(self) -> None:
            kept = self.kept
            for number, page in enumerate(kept, 1):
                self.__dict__.update(page)
                foot(self, f"page {number} of {len(kept)}")
                super().showPage()
            super().save()

    return Numbered


class _Written(list[bytes]):
    """What is written, in the memory: no room but the ledger's has to do with files."""

    write = list.append


class _Setter:
    """Sets blocks in type of one size, for one width [pt]."""

    def __init__(
        self, size: float, width: float, high: float, short: bool, close: bool, parted: bool
    ) -> None:
        """`high` is what a page has room for [pt]; `short` sets the last two sections beside each
        other; `close` sets all closer; `parted` lets a row run over a page's end."""
        from reportlab.lib.styles import ParagraphStyle

        self.size, self.width, self.high = size, width, high
        self.short, self.close = short, close
        self.parted = parted
        self.plain = ParagraphStyle("plain", fontName=PLAIN, fontSize=size, leading=size * 1.3)
        self.bold = ParagraphStyle("bold", parent=self.plain, fontName=BOLD)
        self.right = ParagraphStyle("right", parent=self.plain, alignment=2)
        self.bold_right = ParagraphStyle("bold-right", parent=self.bold, alignment=2)
        self.title = ParagraphStyle(
            "title", parent=self.bold, fontSize=size * 1.8, leading=size * 2.2
        )
        self.heading = ParagraphStyle(
            "heading",
            parent=self.bold,
            fontSize=size * 1.3,
            leading=size * 1.6,
            spaceBefore=size * (0.5 if close else 1.6),
            spaceAfter=size * 0.4,
            borderWidth=0,
        )

    def story(self, document: Document) -> Iterator[Any]:
        """Everything, in order."""
        from reportlab.platypus import Paragraph, Spacer

        yield Paragraph(self.said(document.title), self.title)
        yield Paragraph(self.said(document.told), self.plain)
        is_beside = self.short or (self.close and document.abreast)
        beside = document.sections[-2:] if is_beside else ()
        for section in document.sections[: len(document.sections) - len(beside)]:
            yield from self.section(section)
        if beside:
            yield self.side_by_side(beside)
        if document.foot:
            yield Spacer(1, self.size)
        for line in document.foot:
            yield Paragraph(self.said(line), self.plain)

    def section(self, section: Section) -> Iterator[Any]:
        """A rule across, the heading, and the blocks."""
        from reportlab.platypus import Paragraph, Spacer, Table

        # in one piece: a rule by itself ends a page that its section is not on
        style: list[Any] = [
            ("LINEABOVE", (0, 0), (-1, 0), 1.5, "black"),
            *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT")),
            ("TOPPADDING", (0, 0), (-1, -1), self.heading.spaceBefore),
            ("BOTTOMPADDING", (0, 0), (-1, -1), self.heading.spaceAfter),
        ]
        heading = Paragraph(self.said(section.title), self.heading)
        headed = Table([[heading]], colWidths=[self.width], hAlign="LEFT", style=style)
        above = [Spacer(1, self.size * (0.5 if self.close else 1.4)), headed]
        for block in section.blocks:
            yield from self.kept([*above, *self.block(block)])
            yield Spacer(1, self.size * (0.3 if self.close else 0.8))
            above = []
        yield from above

    def kept(self, made: Sequence[Any]) -> Iterator[Any]:
        """What is headed, begun on a further page where what it begins with has no room left; the
        rest of it runs on from page to page, since a whole one that is moved leaves a gap."""
        from reportlab.platypus import CondPageBreak

        needed = self.beginning(made)
        if made and not self.short:
            # what is longer than a page is begun wherever some of it has room
            yield CondPageBreak(needed if needed <= self.high else self.high / 3)
        yield from made

    def beginning(self, made: Sequence[Any]) -> float:
        """The height [pt] of what stands together: all but the last part, and of that its first
        lines or rows, with the headings of a table."""
        from reportlab.platypus import Paragraph, Table

        heights: list[float] = [each.wrap(self.width, self.high)[1] for each in made]
        last = made[-1] if made else None
        if isinstance(last, Table):
            table: Any = last
            rows: list[float] = table._rowHeights  # as `wrap` found them
            more = 0 if table.repeatRows else MOST_KEPT
            least = sum(rows[: table.repeatRows + 1])
            heights[-1] = max(least, min(sum(rows[:more]), self.high / 3))
        elif isinstance(last, Paragraph):
            heights[-1] = min(heights[-1], 2 * self.plain.leading)
        return sum(heights)

    def scale(self, drawing: Drawing) -> float:
        """How large a picture is drawn."""
        return min(1.15, self.width / drawing.width)

    def side_by_side(self, sections: Sequence[Section]) -> Any:
        """Sections beside each other, each in its share of the width."""
        from reportlab.platypus import Table

        gap = self.size
        share = (self.width - gap * (len(sections) - 1)) / len(sections)
        narrow = _Setter(self.size, share, self.high, self.short, self.close, self.parted)
        cells = [list(narrow.section(each)) for each in sections]
        wide = [share + gap] * (len(sections) - 1) + [share]
        none = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "TOP", "BOTTOM")]
        right = [("RIGHTPADDING", (0, 0), (-2, -1), gap), ("RIGHTPADDING", (-1, 0), (-1, -1), 0)]
        style = [*none, *right, ("VALIGN", (0, 0), (-1, -1), "TOP")]
        return Table([cells], colWidths=wide, hAlign="LEFT", style=style)

    def said(self, text: str) -> str:
        """A text that can be printed, with its marks up made harmless."""
        return escape(unparted(printable(text, "report")))

    def block(self, block: Block) -> Iterator[Any]:
        """One block."""
        from reportlab.platypus import Paragraph, Spacer

        match block:
            case Words():
                if RULE in block.text:  # room for a hand above it
                    yield Spacer(1, self.size * 1.2)
                yield Paragraph(self.said(block.text), self.plain)
            case Facts():
                yield self.facts(block)
            case Particulars():
                yield self.particulars(block)
            case Grid():
                yield from self.grid(block)
            case Picture():
                yield _flowing(_legible(block.drawing), self.scale(block.drawing))
                if not self.short:  # what is short has no room for them
                    yield from self.grid(_legible_grid(block.grid))

    def facts(self, facts: Facts) -> Any:
        """Figures in boxes, five across; a bad one in a heavy box with a mark."""
        from reportlab.platypus import Paragraph, Table

        cells = []
        for name, value in facts.pairs:
            said = self.said(f"! {value}" if name in facts.alarm else value)
            cells.append([Paragraph(said, self.bold), Paragraph(self.said(name), self.plain)])
        rows = [cells[i : i + FACTS_ACROSS] for i in range(0, len(cells), FACTS_ACROSS)]
        rows[-1] += [[] for _ in range(FACTS_ACROSS - len(rows[-1]))]
        heavy = [i for i, (name, _) in enumerate(facts.pairs) if name in facts.alarm]
        style: list[Any] = [("BOX", (i, j), (i, j), 0.4, "black")
                 for j, row in enumerate(rows) for i, cell in enumerate(row) if cell]  # fmt: skip
        for place in heavy:
            at = (place % FACTS_ACROSS, place // FACTS_ACROSS)
            style.append(("BOX", at, at, 2.0, "black"))
        style.append(("VALIGN", (0, 0), (-1, -1), "TOP"))
        wide = [self.width / FACTS_ACROSS] * FACTS_ACROSS
        return Table(rows, colWidths=wide, hAlign="LEFT", style=style)

    def particulars(self, told: Particulars) -> Any:
        """Names with what is said of each; a line to write on where nothing is."""
        from reportlab.platypus import Paragraph, Table

        rows = [
            [Paragraph(self.said(name), self.bold), Paragraph(self.said(value), self.plain)]
            for name, value in told.pairs
        ]
        gap = self.size * 1.2
        names = max(width(name, self.size, True) * MM for name, _ in told.pairs) + gap
        blank = [row for row, (_, value) in enumerate(told.pairs) if not value]
        style: list[Any] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 1.0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.0),
            *(("LINEBELOW", (1, row), (1, row), 0.4, "black") for row in blank),
            *(("TOPPADDING", (0, row), (-1, row), self.size) for row in blank),
        ]
        wide = min(names, self.width / 3)
        widths = [wide, self.width - wide]
        return Table(
            rows, colWidths=widths, hAlign="LEFT", style=style, splitInRow=int(self.parted)
        )

    def grid(self, grid: Grid) -> Iterator[Any]:
        """A table whose heading is repeated on each page it runs over."""
        from reportlab.platypus import Paragraph, Table

        if not grid.rows:
            return
        yield Paragraph(self.said(grid.caption), self.bold)
        body = [
            [self.cell(grid, i, cell, number in grid.alarm) for i, cell in enumerate(row)]
            for number, row in enumerate(grid.rows)
        ]
        head = [
            Paragraph(self.said(h), self.bold_right if i in grid.right else self.bold)
            for i, h in enumerate(grid.headers)
        ]
        pad = 1.0 if self.close else 1.8
        yield Table(
            [head, *body],
            colWidths=self.widths(grid),
            repeatRows=1,
            splitInRow=int(self.parted),
            hAlign="LEFT",
            style=[
                ("LINEBELOW", (0, 0), (-1, 0), 1.0, "black"),
                ("LINEBELOW", (0, 1), (-1, -1), 0.25, "black"),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), self.size * 0.9),
                ("TOPPADDING", (0, 0), (-1, -1), pad),
                ("BOTTOMPADDING", (0, 0), (-1, -1), pad),
            ],
        )

    def cell(self, grid: Grid, place: int, text: str, alarm: bool) -> Any:
        """One cell; the first of a row that wants somebody is bold, with a mark."""
        from reportlab.platypus import Paragraph

        if place in grid.right:
            return Paragraph(self.said(text), self.right)
        if place == 0 and alarm:
            return Paragraph(self.said(f"! {text}"), self.bold)
        return Paragraph(self.said(text), self.plain)

    def widths(self, grid: Grid) -> list[float]:
        """Each column as wide as its longest cell; the widest give way where that is too much."""
        pad = self.size * 0.9 + 1
        wanted = [
            max(width(cell + "! ", self.size, True) * MM for cell in column) + pad
            for column in zip(grid.headers, *grid.rows, strict=True)
        ]
        over = sum(wanted) - self.width
        while over > 0.01:
            widest = max(wanted)
            places = [i for i, w in enumerate(wanted) if w == widest]
            next_ = max((w for w in wanted if w < widest), default=0.0)
            less = min(widest - next_, over / len(places))
            for i in places:
                wanted[i] -= less
            over -= less * len(places)
        return wanted


def _legible_grid(grid: Grid) -> Grid:
    """The table of a picture, with a line to write on where the picture has one."""
    rows = tuple(tuple(legible(cell)[0] for cell in row) for row in grid.rows)
    heads = tuple(legible(head)[0] for head in grid.headers)
    return replace(grid, caption=legible(grid.caption)[0], headers=heads, rows=rows)


def _legible(drawing: Drawing) -> Drawing:
    """A picture with a line to write on for each name that cannot be printed: its figures stand in
    the answer, and no name of a part is to keep a report from paper."""
    items = (
        replace(item, text=legible(item.text)[0]) if isinstance(item, Text) else item
        for item in drawing.items
    )
    return replace(drawing, items=tuple(items))


def _flowing(drawing: Drawing, scale: float) -> Any:
    """A picture that takes its place among the text."""
    from reportlab.platypus import Flowable

    class Flowing(Flowable):  # type: ignore[misc,unused-ignore]
        """A picture at a scale."""

        def __init__(self) -> None:
            super().__init__()
            self.width, self.height = drawing.width * scale, drawing.height * scale

        def draw(self) -> None:
            canvas: Any = self.canv
            canvas.saveState()
            canvas.scale(scale, scale)
            put(canvas, drawing.items, drawing.height)
            canvas.restoreState()

    return Flowing()
