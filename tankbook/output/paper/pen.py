"""The pen that draws shapes on a page of PDF, with reportlab, loaded on first use. What flows from
page to page is laid out by `report_pdf`, with pictures of this pen.

The same shapes give the same bytes, on every day and every computer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from tankbook.output.drawing import (
    MM,
    Anchor,
    Code,
    Drawing,
    Item,
    Line,
    Round,
    Shape,
    Text,
    Tone,
    Trace,
)
from tankbook.output.paper.face import BOLD, PLAIN, face, printable, shortened, width

GREY = {Tone.INK: 0.0, Tone.DARK: 0.3, Tone.MID: 0.66, Tone.PALE: 0.9, Tone.PAPER: 1.0}
"""How bright each tone is printed, from black to the paper."""

MARGIN = 12.0
"""The margin [mm] of what is printed page after page."""

FOOT = 7.5
"""The type [pt] of its foot lines."""


class Pen:
    """Draws page after page. A finished page is compressed and kept so, not as marks, so that
    memory grows with the file."""

    def __init__(self, title: str) -> None:
        from reportlab.pdfgen.canvas import Canvas

        face(False), face(True)
        # invariant: no time of making and no random id in the file
        self._canvas: Any = Canvas("", invariant=1, pageCompression=1)
        self._canvas.setTitle(title)
        self._canvas.setCreator("tankbook")
        self._canvas.setAuthor("")
        self._canvas.setSubject("")
        self._height, self._unit = 0.0, MM
        self.pages = 0

    def page(self, width: float, height: float, unit: float = MM) -> None:
        """Begin a page of this size, in `unit`s of so many points: mm, if not said."""
        if self.pages:
            self._canvas.showPage()
        self.pages += 1
        self._height, self._unit = height, unit
        self._canvas.setPageSize((width * unit, height * unit))

    def draw(self, *items: Item) -> None:
        """Put items on the page."""
        put(self._canvas, items, self._height, self._unit)

    def done(self) -> bytes:
        """The file."""
        self._canvas.showPage()
        return bytes(self._canvas.getpdfdata())


def print_drawings(drawings: Iterable[Drawing], title: str) -> bytes:
    """A PDF with one picture a page, each page as large as its picture."""
    pen = Pen(title)
    for drawing in drawings:
        pen.page(drawing.width, drawing.height, 1.0)
        pen.draw(*drawing.items)
    return pen.done()


def print_pages(
    pages: Sequence[Sequence[Item]], paper: tuple[float, float], title: str, footer: str
) -> bytes:
    """A PDF of pages laid out in mm; below each stands the footer and its number."""
    pen = Pen(title)
    for number, items in enumerate(pages, 1):
        pen.page(*paper)
        of = f", page {number} of {len(pages)}"
        room = paper[0] - 2 * MARGIN - width(of, FOOT)
        said = f"{shortened(printable(footer, title), room, FOOT)}{of}"
        pen.draw(*items, Text(MARGIN, paper[1] - MARGIN + 4.0, said, FOOT))
    return pen.done()


def put(canvas: Any, items: Iterable[Item], height: float, unit: float = 1.0) -> None:
    """Draw items on a page or picture that is so high; PDF counts from its foot."""
    for item in items:
        _put(canvas, item, height, unit)


def _put(canvas: Any, item: Item, height: float, unit: float) -> None:
    match item:
        case Line():
            canvas.setStrokeGray(GREY[item.tone])
            canvas.setLineWidth(item.weight)
            canvas.line(
                item.x1 * unit, (height - item.y1) * unit, item.x2 * unit, (height - item.y2) * unit
            )
        case Trace():
            canvas.saveState()
            canvas.setStrokeGray(GREY[item.tone])
            canvas.setLineWidth(item.weight)
            canvas.setLineJoin(1)
            canvas.setDash([each * unit for each in item.dash])
            path = canvas.beginPath()
            for place, (x, y) in enumerate(item.points):
                (path.lineTo if place else path.moveTo)(x * unit, (height - y) * unit)
            canvas.drawPath(path, stroke=1, fill=0)
            canvas.restoreState()
        case Shape():
            path = canvas.beginPath()
            for place, (x, y) in enumerate(item.corners):
                (path.lineTo if place else path.moveTo)(x * unit, (height - y) * unit)
            path.close()
            canvas.drawPath(path, **_paint(canvas, item.fill, item.weight))
        case Round():
            paint = _paint(canvas, item.fill, item.weight)
            canvas.circle(item.x * unit, (height - item.y) * unit, item.radius * unit, **paint)
        case Code():
            path = canvas.beginPath()
            for run in item.runs():
                low = (height - run.bottom) * unit
                path.rect(run.x * unit, low, run.width * unit, run.height * unit)
            canvas.drawPath(path, **_paint(canvas, Tone.INK, 0.0))
        case Text():
            canvas.setFillGray(GREY[item.tone])
            canvas.setFont(BOLD if item.bold else PLAIN, item.size)
            write = {
                Anchor.START: canvas.drawString,
                Anchor.MIDDLE: canvas.drawCentredString,
                Anchor.END: canvas.drawRightString,
            }[item.anchor]
            write(item.x * unit, (height - item.y) * unit, printable(item.text, "picture"))


def _paint(canvas: Any, fill: Tone | None, weight: float) -> dict[str, int]:
    """What is stroked and what is filled, with the greys set for it."""
    if fill is not None:
        canvas.setFillGray(GREY[fill])
    canvas.setStrokeGray(GREY[Tone.INK])
    canvas.setLineWidth(weight)
    return {"stroke": int(weight > 0), "fill": int(fill is not None)}
