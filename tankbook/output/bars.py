"""Bars across, one a row, each in parts told apart by tone and by number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.output.drawing import (
    DIGIT_WIDE,
    ON,
    Anchor,
    Drawing,
    Item,
    Line,
    Text,
    Tone,
    about,
    box,
)

WIDTH, ROW, TYPE = 360.0, 19.0, 10.0
LABEL, TOTAL = 62.0, 30.0
"""What the names of the rows, and the sums at their ends, take of the width."""


class Series(Struct, frozen=True):
    """One part of every bar: its name and its tone."""

    name: str
    tone: Tone


class Bar(Struct, frozen=True):
    """One row: its name, and how much of each series it has."""

    name: str
    values: tuple[int, ...]


def bars(title: str, says: str, series: Sequence[Series], rows: Sequence[Bar]) -> Drawing:
    """A chart of bars. Each part carries its number, and each bar its sum."""
    most = max((sum(row.values) for row in rows), default=0) or 1
    scale = (WIDTH - LABEL - TOTAL) / most
    items: list[Item] = []
    x, top = 0.0, 0.0
    for each in series:
        wide = 17 + about(each.name, TYPE) + 12
        if x + wide > WIDTH and x:
            x, top = 0.0, top + ROW * 0.9
        items.append(box(x + 0.5, top + 3, 11, 11, each.tone, 0.8))
        items.append(Text(x + 17, top + 12.5, each.name, TYPE))
        x += wide
    top += ROW * 1.25
    for place, row in enumerate(rows):
        items += _row(row, series, top + place * ROW, scale)
    foot = top + len(rows) * ROW
    items.append(Line(LABEL, top, LABEL, foot, 1.0))
    return Drawing(WIDTH, foot + 2, title, says, tuple(items))


def _row(row: Bar, series: Sequence[Series], y: float, scale: float) -> Iterator[Item]:
    base, x = y + ROW * 0.68, LABEL
    yield Text(LABEL - 6, base, row.name, TYPE, Anchor.END)
    for each, value in zip(series, row.values, strict=True):
        if not value:
            continue
        wide = value * scale
        yield box(x, y + 2, wide, ROW - 4, each.tone, 0.8)
        if wide > about(str(value), TYPE, DIGIT_WIDE) + 3:
            yield Text(
                x + wide / 2, base, str(value), TYPE * 0.92, Anchor.MIDDLE, tone=ON[each.tone]
            )
        x += wide
    if any(row.values):
        yield Text(x + 5, base, str(sum(row.values)), TYPE, bold=True)
