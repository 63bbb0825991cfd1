"""What may stand on a page, as values: boxes, text, rules, frames and codes, placed in mm."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

MM_PER_POINT = 25.4 / 72
"""The point of PDF (ISO 32000-1, 8.3.2.3) is 1/72 in."""


class Box(Struct, frozen=True):
    """A rectangle: its top left corner from the top left of the page, its width and height."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its bottom edge."""
        return self.y + self.height

    def inside(self, edge: float) -> Box:
        """The box that is smaller by `edge` all round."""
        return Box(self.x + edge, self.y + edge, self.width - 2 * edge, self.height - 2 * edge)


class Text(Struct, frozen=True):
    """A line of text from `x` on, its baseline at `y`, `size` in points."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False


class Rule(Struct, frozen=True):
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float = 0.25


class Frame(Struct, frozen=True):
    """The outline of a box."""

    box: Box
    weight: float = 0.25


class Code(Struct, frozen=True):
    """A square code of black modules, its quiet zone included in `side`."""

    x: float
    y: float
    side: float
    rows: tuple[tuple[bool, ...], ...]


Mark = Text | Rule | Frame | Code


def moved(mark: Mark, right: float, down: float) -> Mark:
    """The mark, so far [mm] to the right and down."""
    if isinstance(mark, Rule):
        return replace(
            mark, x1=mark.x1 + right, y1=mark.y1 + down, x2=mark.x2 + right, y2=mark.y2 + down
        )
    if isinstance(mark, Frame):
        box = mark.box
        return replace(mark, box=replace(box, x=box.x + right, y=box.y + down))
    return replace(mark, x=mark.x + right, y=mark.y + down)
