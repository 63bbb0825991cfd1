"""What a report consists of, before it is written as HTML, PDF or plain text."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from msgspec import Struct

from tankbook.output.drawing import Drawing
from tankbook.output.page import NO_BREAK, Page
from tankbook.output.tables import Table
from tankbook.units.patterns import pattern

T = TypeVar("T")

_BOX = pattern(r"\[([ x])\] (?=\S)")


class Words(Struct, frozen=True):
    """A paragraph."""

    text: str


class Facts(Struct, frozen=True):
    """A few figures with their names, to be taken in at a glance. `alarm` marks the bad ones."""

    pairs: tuple[tuple[str, str], ...]
    alarm: tuple[str, ...] = ()


class Particulars(Struct, frozen=True):
    """Names, one below the other, with what is said of each; an empty text is a line to write
    on."""

    pairs: tuple[tuple[str, str], ...]


class Grid(Struct, frozen=True):
    """A table. The first cell of a row names it; columns in `right` hold numbers.

    `alarm` has the places of rows that want somebody, `links` of each row the address that its
    first cell leads to in HTML, or an empty text.
    """

    caption: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    alarm: tuple[int, ...] = ()
    links: tuple[str, ...] = ()


class Picture(Struct, frozen=True):
    """A picture, and the table of what it shows."""

    name: str
    drawing: Drawing
    grid: Grid


Block = Words | Facts | Particulars | Grid | Picture


class Section(Struct, frozen=True):
    """A part of the report under its heading. `name` is what links to it say."""

    name: str
    title: str
    blocks: tuple[Block, ...]


class Document(Struct, frozen=True):
    """A report. `short` asks for one page; `fits` for smaller type where that makes it one,
    `abreast` for its last two sections beside each other there. `beside` are pages to read besides,
    each with its address, and `mark` is what tells of a page when it was written, as HTML has
    it."""

    title: str
    told: str
    sections: tuple[Section, ...]
    foot: tuple[str, ...]
    short: bool = False
    fits: bool = False
    abreast: bool = False
    beside: tuple[tuple[str, str], ...] = ()
    mark: str = ""


def grid_of(
    caption: str,
    columns: Table[T],
    lines: Sequence[T],
    alarm: Callable[[T], object] = lambda _: False,
    page: Page | None = None,
) -> Grid:
    """The lines as a table of a document; `alarm` says which of them want somebody."""
    return Grid(
        caption,
        columns.heads,
        tuple(columns.rows(lines, page or Page())),
        right=columns.numbers,
        alarm=tuple(place for place, line in enumerate(lines) if alarm(line)),
    )


def box(what: str, ticked: bool = False) -> str:
    """A box to tick, and what it stands for: `[x] hydro`."""
    return f"[{'x' if ticked else ' '}] {what}"


def unparted(text: str) -> str:
    """A text in which no line ends within a box to tick, nor between it and its word."""
    return _BOX.sub(lambda found: found[0].replace(" ", NO_BREAK), text)
