"""A label sheet worked out: where each label lies, and the marks to cut along."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from tankbook.output.drawing import Box, Line
from tankbook.output.paper.face import PaperError
from tankbook.records.sheet import Sheet

EDGE = 2.0
LARGEST_PAGE = 1200.0
"""The longest page [mm] taken for one: a wall chart of A0 is 1189 mm."""
SMALLEST_LABEL = 10.0
SLACK = 0.05
"""How far [mm] measured labels may run over a page: sizes are given rounded."""
MARK_LENGTH, MARK_GAP = 3.0, 0.7


class LabelGrid(Struct, frozen=True):
    """A page and its labels, in reading order: left to right, then down."""

    name: str
    width: float
    height: float
    edge: float
    labels: tuple[Box, ...]

    @property
    def per_page(self) -> int:
        """Labels on a page."""
        return len(self.labels)

    @property
    def label(self) -> Box:
        """The first label; all are of one size."""
        return self.labels[0]


def grid_of(sheet: Sheet) -> LabelGrid:
    """Work a sheet out.

    Raises:
        PaperError: no such sheet can be: labels off the page, on top of each other, or none.
    """
    name = sheet.name or sheet.id
    fault = f"sheet `{name}`: "
    page = (sheet.page_width.mm, sheet.page_height.mm)
    if max(page) > LARGEST_PAGE:
        raise PaperError(f"{fault}a page of {page[0]:g} x {page[1]:g} mm is no page", "use mm")
    counts = sheet.columns, sheet.rows
    if not all(1 <= n <= 100 for n in counts):
        raise PaperError(f"{fault}{counts[0]} columns and {counts[1]} rows are no labels")
    across = _line(
        fault, "wide", page[0], sheet.columns, sheet.label_width.mm, _mm(sheet.across),
        _mm(sheet.left),
    )  # fmt: skip
    down = _line(
        fault, "high", page[1], sheet.rows, sheet.label_height.mm, _mm(sheet.down), _mm(sheet.top)
    )
    edge = EDGE if sheet.edge is None else sheet.edge.mm
    size = sheet.label_width.mm, sheet.label_height.mm
    if min(size) - 2 * edge < SMALLEST_LABEL / 2:
        raise PaperError(f"{fault}an edge of {edge:g} mm leaves no label", "make `edge` smaller")
    return LabelGrid(name, *page, edge, tuple(Box(x, y, *size) for y in down for x in across))


def _mm(length: object) -> float | None:
    value = getattr(length, "mm", None)
    return float(value) if value is not None else None


def _line(
    fault: str,
    way: str,
    page: float,
    count: int,
    label: float,
    pitch: float | None,
    start: float | None,
) -> list[float]:
    """The near edges of the labels along one side of the page."""
    if label < SMALLEST_LABEL:
        raise PaperError(f"{fault}labels {label:g} mm {way} are too small to print on")
    step = label if pitch is None else pitch
    if step < label - SLACK and count > 1:
        raise PaperError(
            f"{fault}labels {label:g} mm {way} overlap where the next begins after {step:g} mm",
            f"`{'across' if way == 'wide' else 'down'}` is measured from edge to same edge",
        )
    used = (count - 1) * step + label
    first = (page - used) / 2 if start is None else start
    if first < -SLACK or first + used > page + SLACK:
        raise PaperError(
            f"{fault}{count} labels reach {first + used:.1f} mm on a page {page:.1f} mm {way}",
            "measure the sheet again",
        )
    return [first + n * step for n in range(count)]


def cut_marks(grid: LabelGrid) -> Iterator[Line]:
    """Short rules outside the corners of the labels, never on another label or off the page."""
    taken = [box.inside(SLACK) for box in grid.labels]
    for box in grid.labels:
        for x in (box.x, box.right):
            yield from _ticks(grid, taken, x, box.y, 0, -1)
            yield from _ticks(grid, taken, x, box.bottom, 0, 1)
        for y in (box.y, box.bottom):
            yield from _ticks(grid, taken, box.x, y, -1, 0)
            yield from _ticks(grid, taken, box.right, y, 1, 0)


def _ticks(
    grid: LabelGrid, taken: list[Box], x: float, y: float, along: int, down: int
) -> Iterator[Line]:
    near, far = MARK_GAP, MARK_GAP + MARK_LENGTH
    rule = Line(x + along * near, y + down * near, x + along * far, y + down * far, 0.1)
    ends = ((rule.x1, rule.y1), (rule.x2, rule.y2))
    on_page = all(0 <= px <= grid.width and 0 <= py <= grid.height for px, py in ends)
    on_label = any(b.x <= px <= b.right and b.y <= py <= b.bottom for b in taken for px, py in ends)
    if on_page and not on_label:
        yield rule
