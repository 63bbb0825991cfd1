"""Pictures as lists of shapes, drawn once and written as SVG (`svg`) or PDF (`drawn`).

Lengths are in points (1/72 in) from the top left corner. Everything is told by shape, letter and
tone of grey; no colour carries meaning, and none is needed to tell two things apart.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

MM = 72 / 25.4
"""Points in a millimetre."""


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


class Line(Struct, frozen=True):
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float = 0.5
    tone: Tone = Tone.INK


class Shape(Struct, frozen=True):
    """A closed outline through its corners, filled, with an edge where its weight is not 0."""

    corners: tuple[tuple[float, float], ...]
    fill: Tone
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


Item = Line | Shape | Round | Text


class Drawing(Struct, frozen=True):
    """A picture, its size in points, and what it shows in words for who cannot see it."""

    width: float
    height: float
    title: str
    says: str
    items: tuple[Item, ...]


def box(x: float, y: float, width: float, height: float, fill: Tone, weight: float = 0.0) -> Shape:
    """A rectangle from its top left corner."""
    right, foot = x + width, y + height
    return Shape(((x, y), (right, y), (right, foot), (x, foot)), fill, weight)
