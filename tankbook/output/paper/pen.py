"""The only module that knows of PDF: marks in mm are drawn with reportlab, loaded on first use.

The same marks give the same bytes, on every day and every computer.
"""

from __future__ import annotations

from typing import Any

from tankbook.output.paper.code import QUIET
from tankbook.output.paper.face import BOLD, PLAIN, face
from tankbook.output.paper.shapes import MM_PER_POINT, Code, Frame, Mark, Rule, Text


def points(mm: float) -> float:
    """A length [mm] in the points of PDF."""
    return mm / MM_PER_POINT


class Pen:
    """Draws page after page. A finished page is compressed and kept so, not as marks."""

    def __init__(self, title: str) -> None:
        from reportlab.pdfgen.canvas import Canvas

        face(False), face(True)
        # invariant: no time of making and no random id in the file
        self._canvas: Any = Canvas("", invariant=1, pageCompression=1)
        self._canvas.setTitle(title)
        self._canvas.setCreator("tankbook")
        self._canvas.setAuthor("")
        self._canvas.setSubject("")
        self._height = 0.0
        self.pages = 0

    def page(self, width: float, height: float) -> None:
        """Begin a page of this size [mm]."""
        if self.pages:
            self._canvas.showPage()
        self.pages += 1
        self._height = height
        self._canvas.setPageSize((points(width), points(height)))

    def draw(self, mark: Mark) -> None:
        """Put one mark on the page."""
        if isinstance(mark, Text):
            self._canvas.setFont(BOLD if mark.bold else PLAIN, mark.size)
            self._canvas.drawString(points(mark.x), self._y(mark.y), mark.text)
        elif isinstance(mark, Rule):
            self._canvas.setLineWidth(mark.weight)
            self._canvas.line(points(mark.x1), self._y(mark.y1), points(mark.x2), self._y(mark.y2))
        elif isinstance(mark, Frame):
            box = mark.box
            self._canvas.setLineWidth(mark.weight)
            self._canvas.rect(
                points(box.x), self._y(box.bottom), points(box.width), points(box.height)
            )
        else:
            self._code(mark)

    def done(self) -> bytes:
        """The file."""
        self._canvas.showPage()
        return bytes(self._canvas.getpdfdata())

    def _y(self, mm: float) -> float:
        """PDF counts from the bottom."""
        return points(self._height - mm)

    def _code(self, code: Code) -> None:
        """One path for all modules, each run of a row a rectangle, so that no seams show."""
        module = code.side / (len(code.rows) + 2 * QUIET)
        path = self._canvas.beginPath()
        for n, row in enumerate(code.rows):
            y = code.y + (QUIET + n + 1) * module
            for start, length in _runs(row):
                x = code.x + (QUIET + start) * module
                path.rect(points(x), self._y(y), points(length * module), points(module))
        self._canvas.drawPath(path, stroke=0, fill=1)


def _runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Where each run of black modules starts, and how long it is."""
    found: list[tuple[int, int]] = []
    for n, black in enumerate(row):
        if black and found and sum(found[-1]) == n:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        elif black:
            found.append((n, 1))
    return found
