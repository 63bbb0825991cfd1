"""What may stand on a page or in a picture, as values: drawn as SVG (`svg`) or PDF (`paper.pen`).

Lengths are from the top left corner, in points for pictures and in mm for papers; sizes of type and
weights of lines are always in points. Everything is told by shape, letter and tone of grey; no
colour carries meaning, and none is needed to tell two things apart.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

MM = 72 / 25.4
"""Points in a millimetre: the point of PDF (ISO 32000-1, 8.3.2.3) is 1/72 in."""

A4, LETTER, A3 = (210.0, 297.0), (215.9, 279.4), (297.0, 420.0)
"""Width and height of papers [mm]: ISO 216; US Letter, 8.5 x 11 in (ANSI/ASME Y14.1, size A)."""

QUIET = 4
"""Modules kept blank round a code (ISO/IEC 18004: four; from memory)."""


class Tone(StrEnum):
    """Five tones from the writing to the page; a page in the dark turns them round."""

    INK = "ink"
    DARK = "dark"
    MID = "mid"
    PALE = "pale"
    PAPER = "paper"


ON = {
    Tone.INK: Tone.PAPER,
    Tone.DARK: Tone.PAPER,
    Tone.MID: Tone.INK,
    Tone.PALE: Tone.INK,
    Tone.PAPER: Tone.INK,
}
"""The tone that can be read on another (5 to 1 or better, in light and dark)."""


class Anchor(StrEnum):
    """Which point of a text stands at its place."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


LETTER_WIDE, DIGIT_WIDE, WIDEST = 0.56, 0.62, 0.58
"""How wide a letter is of its size: in a name about, a digit at most, and in capitals with digits.
Own estimates: a picture in a page is drawn by whatever face is there, so none is measured."""
MIDDLE = 0.36
"""How far below its middle a line of capitals stands, of its size."""


def about(text: str, size: float, letter: float = LETTER_WIDE) -> float:
    """About how wide a text is, in the unit of its size."""
    return len(text) * size * letter


class Box(Struct, frozen=True):
    """A place to fill: its top left corner, its width and height."""

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


class Line(Struct, frozen=True):
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float = 0.5
    tone: Tone = Tone.INK


class Trace(Struct, frozen=True):
    """A line through its points, open, solid or in dashes: how long each is, and each gap."""

    points: tuple[tuple[float, float], ...]
    weight: float = 0.5
    tone: Tone = Tone.INK
    dash: tuple[float, ...] = ()


class Shape(Struct, frozen=True):
    """A closed outline through its corners, filled if it has a tone, with an edge where its weight
    is not 0."""

    corners: tuple[tuple[float, float], ...]
    fill: Tone | None
    weight: float = 0.0


class Round(Struct, frozen=True):
    """A circle."""

    x: float
    y: float
    radius: float
    fill: Tone
    weight: float = 0.0


class Text(Struct, frozen=True):
    """A line of text, standing on its base line."""

    x: float
    y: float
    text: str
    size: float
    anchor: Anchor = Anchor.START
    bold: bool = False
    tone: Tone = Tone.INK


class Code(Struct, frozen=True):
    """A square code of black modules, its quiet zone included in `side`."""

    x: float
    y: float
    side: float
    rows: tuple[tuple[bool, ...], ...]

    def runs(self) -> Iterator[Box]:
        """Each run of black modules in a row, as one box, so that no seams show."""
        module = self.side / (len(self.rows) + 2 * QUIET)
        for n, row in enumerate(self.rows):
            y = self.y + (QUIET + n) * module
            start = 0
            for black, run in groupby(row):
                length = len(list(run))
                if black:
                    yield Box(self.x + (QUIET + start) * module, y, length * module, module)
                start += length


Item = Line | Trace | Shape | Round | Text | Code


class Drawing(Struct, frozen=True):
    """A picture, its size in points, and what it shows in words for who cannot see it."""

    width: float
    height: float
    title: str
    says: str
    items: tuple[Item, ...]


def box(
    x: float, y: float, width: float, height: float, fill: Tone | None, weight: float = 0.0
) -> Shape:
    """A rectangle from its top left corner."""
    right, foot = x + width, y + height
    return Shape(((x, y), (right, y), (right, foot), (x, foot)), fill, weight)


def frame(place: Box, weight: float) -> Shape:
    """The outline of a box."""
    return box(place.x, place.y, place.width, place.height, None, weight)


def moved(item: Item, right: float, down: float) -> Item:
    """The item, so far to the right and down."""
    match item:
        case Line():
            x1, x2 = item.x1 + right, item.x2 + right
            return replace(item, x1=x1, x2=x2, y1=item.y1 + down, y2=item.y2 + down)
        case Trace():
            return replace(item, points=tuple((x + right, y + down) for x, y in item.points))
        case Shape():
            return replace(item, corners=tuple((x + right, y + down) for x, y in item.corners))
        case _:
            return replace(item, x=item.x + right, y=item.y + down)
