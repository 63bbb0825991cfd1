"""What an answer says of each of its lines, declared once: JSON, CSV and the table follow from it.

A table fits the page: long texts wrap, numbers and ids stay whole.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Generic, NamedTuple, TypeVar

from tankbook.output.page import Page
from tankbook.units import GaugePressure

if TYPE_CHECKING:
    from tankbook.output.as_csv import Cell


def as_written(value: object) -> str:
    """A pressure as it was written, in its own unit."""
    return f"{value}"


def in_words(word: str) -> str:
    """A word of a record as people say it: `awaiting inspection`."""
    return word.replace("-", " ")


GAP = 2
NARROWEST = 8
PRESSURE = ("psi", "bar")
"""The units that programs are given a pressure in."""

T = TypeVar("T")


class Column(NamedTuple, Generic[T]):
    """One column of an answer.

    Attributes:
        key: what JSON and CSV call it; empty where only people are shown it.
        get: its value for a line; None where there is none.
        head: its heading in the table for people; None where they are not shown it.
        said: how people read its value, where that is more than its text.
        reading: how a page has a pressure.
        none: what people read where there is no value.
        units: a quantity becomes a number under a key for each: `limit_psi`, `limit_bar`.
        wrap: whether it may be narrowed to fit the page.
        right: whether it is set flush right.
        json: whether JSON has it.
        csv: whether a spreadsheet has it.
    """

    key: str
    get: Callable[[T], Any]
    head: str | None = None
    said: Callable[[Any], str] = str
    reading: Callable[[Page, GaugePressure], str] = Page.pressure
    none: str = "-"
    units: tuple[str, ...] = ()
    wrap: bool = False
    right: bool = False
    json: bool = True
    csv: bool = True

    @property
    def keys(self) -> tuple[str, ...]:
        """What JSON and CSV call it, by unit where it has any."""
        return tuple(f"{self.key}_{unit}" for unit in self.units) or (self.key,)

    def values(self, line: T) -> tuple[Any, ...]:
        """What JSON and CSV have under its keys."""
        value = self.get(line)
        if not self.units:
            return (value,)
        return tuple(None if value is None else value.to(unit) for unit in self.units)

    def text(self, line: T, page: Page) -> str:
        """What people read."""
        value = self.get(line)
        if value is None:
            return self.none
        if isinstance(value, GaugePressure) and self.said is str:
            return self.reading(page, value)
        return self.said(value)


class Table(Generic[T]):
    """The columns of an answer, in their order."""

    def __init__(self, *columns: Column[T]) -> None:
        self.columns = columns
        self._shown = [c for c in columns if c.head is not None]
        self._csv = [c for c in columns if c.key and c.csv]

    def pick(self, *heads: str) -> Table[T]:
        """The columns with these headings, in this order."""
        by_head = {c.head: c for c in self._shown}
        return Table(*(by_head[head] for head in heads))

    def object(self, line: T | None) -> dict[str, Any]:
        """A line as JSON has it; of no line the keys alone, null."""
        found: dict[str, Any] = {}
        for column in self.columns:
            if column.key and column.json:
                values = [None] * len(column.keys) if line is None else column.values(line)
                found.update(zip(column.keys, values, strict=True))
        return found

    def objects(self, lines: Iterable[T]) -> list[dict[str, Any]]:
        """The lines as JSON has them."""
        return [self.object(line) for line in lines]

    @property
    def head(self) -> tuple[str, ...]:
        """The head of its CSV."""
        return tuple(key for c in self._csv for key in c.keys)

    def cells(self, lines: Iterable[T]) -> list[tuple[Cell, ...]]:
        """The lines of its CSV."""
        return [tuple(value for c in self._csv for value in c.values(line)) for line in lines]

    @property
    def heads(self) -> tuple[str, ...]:
        """The headings that people are shown."""
        return tuple(c.head or "" for c in self._shown)

    @property
    def numbers(self) -> tuple[int, ...]:
        """The places of the columns that people are shown flush right."""
        return tuple(place for place, c in enumerate(self._shown) if c.right)

    def rows(self, lines: Iterable[T], page: Page) -> Iterator[tuple[str, ...]]:
        """The lines as people read them."""
        for line in lines:
            yield tuple(c.text(line, page) for c in self._shown)

    def text(
        self, lines: Iterable[T], page: Page, sentence: Callable[[T], str] | None = None
    ) -> str:
        """The table for people, each line a `sentence` where the page is too narrow for it; an
        empty text for no lines."""
        wrap = [c.head or "" for c in self._shown if c.wrap]
        right = [c.head or "" for c in self._shown if c.right]
        told = [*lines]
        rows = [*self.rows(told, page)]
        if sentence is not None and not _fits(_fit(self.heads, rows, page.width, wrap), page):
            return page.paragraphs(map(sentence, told), hang="  ")
        return table(self.heads, rows, page, wrap=wrap, right=right)


def pairs(what: str) -> Table[tuple[str, ...]]:
    """Ids, and of each why, to whom, or where."""
    return Table[tuple[str, ...]](
        Column("id", lambda pair: pair[0], "id"),
        Column(what, lambda pair: pair[1], what, wrap=True),
    )


def threes(
    what: str, besides: str, rows: Iterable[tuple[str, str, str]]
) -> Table[tuple[str, str, str]]:
    """As `pairs`, with what is to be known besides; people are shown that of rows that have it."""
    told = besides if any(row[2] for row in rows) else None
    return Table[tuple[str, str, str]](
        Column("id", lambda row: row[0], "id"),
        Column(what, lambda row: row[1], what, wrap=True),
        Column(besides, lambda row: row[2] or None, told, none="", wrap=True),
    )


def table(
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    page: Page,
    *,
    wrap: Sequence[str] = (),
    right: Sequence[str] = (),
) -> str:
    """A table of text cells, without a final newline; an empty text for no rows.

    Columns named in `wrap` are narrowed, the widest first, until the table fits the page, never
    below the longest word they hold; where it does not fit even so, each row is told in a sentence.
    Those named in `right` are set flush right.
    """
    import tabulate

    if not rows:
        return ""
    tabulate.MIN_PADDING = 0  # its default widens narrow columns past the page
    widths = _fit(headers, rows, page.width, wrap)
    if not _fits(widths, page):
        return page.paragraphs((_in_a_sentence(headers, row) for row in rows), hang="  ")
    cells = [[_wrapped(c, w) for c, w in zip(row, widths, strict=True)] for row in rows]
    text = tabulate.tabulate(
        cells,
        headers=list(headers),
        tablefmt="simple",
        disable_numparse=True,
        colalign=["right" if h in right else "left" for h in headers],
    )
    return "\n".join(line.rstrip() for line in text.splitlines())


def _fits(widths: Sequence[int], page: Page) -> bool:
    return sum(widths) + GAP * (len(widths) - 1) <= page.width


def _in_a_sentence(headers: Sequence[str], row: Sequence[str]) -> str:
    """`RB-014: size AL80; last 2021-09`: a row no table has room for, without what it lacks."""
    name, *cells = row
    told = (
        f"{head} {cell}".strip()
        for head, cell in zip(headers[1:], cells, strict=True)
        if cell not in ("", "-")
    )
    return ": ".join(filter(None, (name, "; ".join(told))))


def _fit(
    headers: Sequence[str], rows: Sequence[Sequence[str]], width: int, wrap: Sequence[str]
) -> list[int]:
    columns = list(zip(headers, *rows, strict=True))
    widths = [max(len(c) for c in column) for column in columns]
    # a heading stands on one line, however narrow what is below it
    longest = [
        max([len(head), *(len(word) for c in cells for word in c.split())])
        for head, *cells in columns
    ]
    may_shrink = {i for i, h in enumerate(headers) if h in wrap}
    over = sum(widths) + GAP * (len(widths) - 1) - width
    while over > 0 and may_shrink:
        widest = max(may_shrink, key=lambda i: widths[i])
        if widths[widest] <= max(longest[widest], NARROWEST):
            may_shrink.discard(widest)
            continue
        widths[widest] -= 1
        over -= 1
    return widths


def _wrapped(cell: str, width: int) -> str:
    if len(cell) <= width:
        return cell
    return "\n".join(
        textwrap.wrap(cell, width, break_long_words=False, break_on_hyphens=False) or [""]
    )
