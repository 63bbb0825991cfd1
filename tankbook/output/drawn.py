"""Pictures drawn on a page of PDF with reportlab, the same shapes as in SVG."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tankbook.output.drawing import Anchor, Drawing, Item, Line, Round, Shape, Text, Tone
from tankbook.output.paper.face import BOLD, PLAIN, face, printable

GREY = {Tone.INK: 0.0, Tone.DARK: 0.3, Tone.MID: 0.66, Tone.PALE: 0.9, Tone.PAPER: 1.0}
"""How bright each tone is printed, from black to the paper."""


def pages(drawings: Iterable[Drawing], title: str) -> bytes:
    """A PDF with one picture a page, each page as large as its picture.

    A finished page is kept compressed, so that memory grows with the file and not with the marks.
    """
    from reportlab.pdfgen.canvas import Canvas

    face(False), face(True)
    canvas: Any = Canvas("", invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator("tankbook")
    for drawing in drawings:
        canvas.setPageSize((drawing.width, drawing.height))
        draw(canvas, drawing, 0.0, drawing.height)
        canvas.showPage()
    written: bytes = canvas.getpdfdata()
    return written


def draw(canvas: Any, drawing: Drawing, left: float, top: float) -> None:
    """Draw a picture whose top left corner stands there, counted from the foot of the page."""
    canvas.saveState()
    canvas.setLineJoin(0)
    for item in drawing.items:
        _item(canvas, item, left, top)
    canvas.restoreState()


def _item(canvas: Any, item: Item, left: float, top: float) -> None:
    match item:
        case Line():
            canvas.setStrokeGray(GREY[item.tone])
            canvas.setLineWidth(item.weight)
            canvas.line(left + item.x1, top - item.y1, left + item.x2, top - item.y2)
        case Shape():
            path = canvas.beginPath()
            for place, (x, y) in enumerate(item.corners):
                (path.lineTo if place else path.moveTo)(left + x, top - y)
            path.close()
            _paint(canvas, item.fill, item.weight)
            canvas.drawPath(path, stroke=int(item.weight > 0), fill=1)
        case Round():
            _paint(canvas, item.fill, item.weight)
            canvas.circle(
                left + item.x, top - item.y, item.radius, stroke=int(item.weight > 0), fill=1
            )
        case Text():
            canvas.setFillGray(GREY[item.tone])
            canvas.setFont(BOLD if item.bold else PLAIN, item.size)
            put = {
                Anchor.START: canvas.drawString,
                Anchor.MIDDLE: canvas.drawCentredString,
                Anchor.END: canvas.drawRightString,
            }[item.anchor]
            put(left + item.x, top - item.y, printable(item.text, "picture"))


def _paint(canvas: Any, fill: Tone, weight: float) -> None:
    canvas.setFillGray(GREY[fill])
    canvas.setStrokeGray(GREY[Tone.INK])
    canvas.setLineWidth(weight)
