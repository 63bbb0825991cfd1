"""What every picture over time has: a frame with its scales, marks, and names that do not overlap.

A picture is shapes (`drawing`). Nothing in it is told by tone alone: lines differ by weight and
dash, marks by shape, and each has its name beside it or in the key.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.output.drawing import (
    Anchor,
    Box,
    Drawing,
    Item,
    Line,
    Round,
    Shape,
    Text,
    Tone,
    Trace,
    about,
    box,
    moved,
)
from tankbook.output.page import MONTHS
from tankbook.output.screen import one_line

ALONE, IN_REPORT = 420.0, 360.0
"""Width of a picture that is a file of its own, and of one in a report [pt]: as wide as the bars
there, so that it can be read on a telephone, and is never printed below 6 pt."""

TYPE, SMALL = 11.0, 9.5
"""The types in a picture [pt]."""

LEFT, RIGHT, FOOT = 46.0, 34.0, 36.0
"""What the scale at the left, half a day's name at the right and the scale of time take."""

NAME_LONGEST = 24
"""Letters of a name in a picture."""

WIDE = 0.6
"""How wide a letter is taken to be of its size, so that no face makes names overlap."""

DASHED, DOTTED = (6.0, 3.0), (1.5, 2.5)

DAY = 86400.0
_ZERO = dt.datetime.combine(dt.date(1970, 1, 1), dt.time.min)


def short(name: str) -> str:
    """A name fit for a picture: of one line, and no longer than there is room for."""
    said = one_line(name)
    return said if len(said) <= NAME_LONGEST else said[: NAME_LONGEST - 3] + "..."


def seconds(at: dt.datetime) -> float:
    """A moment as a number, as the clock on the wall has it: scales run on wall time."""
    return (at.replace(tzinfo=None) - _ZERO).total_seconds()


def noon(day: dt.date) -> float:
    """A day as a number: what carries no time of day stands at noon."""
    return seconds(dt.datetime.combine(day, dt.time.min)) + DAY / 2


def round_scale(most: float, parts: int = 7) -> tuple[float, float]:
    """A round top at or above `most`, and the round step that leads to it."""
    rough = max(most, 1e-9) / parts
    power = 10 ** math.floor(math.log10(rough))
    step = next(n * power for n in (1, 2, 2.5, 5, 10) if n * power >= rough * (1 - 1e-12))
    return math.ceil(most / step - 1e-9) * step, step


def figure_text(value: float) -> str:
    """A figure of a scale: no more digits than it has."""
    return f"{value:.6g}"


class Frame(Struct, frozen=True):
    """The place that values are drawn in, from `first` to `last` across and from 0 to `top` up."""

    place: Box
    first: float
    last: float
    top: float
    step: float

    def x(self, value: float) -> float:
        """Where a moment stands."""
        return self.place.x + self.place.width * (value - self.first) / (self.last - self.first)

    def y(self, value: float) -> float:
        """How high a value stands."""
        return self.place.bottom - self.place.height * value / self.top

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        """Where a moment with its value stands."""
        return self.x(point[0]), self.y(point[1])


def framed(place: Box, span: tuple[float, float], most: float, parts: int = 6) -> Frame:
    """A frame for values up to `most`, up to 1 where that is nothing; a span of nothing becomes one
    of a day, its moment in the middle."""
    top, step = round_scale(most if most > 0 else 1.0, parts)
    first, last = span
    if last - first <= 0:
        first, last = first - DAY / 2, last + DAY / 2
    return Frame(place, first, last, top, step)


def values(frame: Frame, unit: str) -> Iterator[Item]:
    """The scale at the left with its lines across, and its unit above it."""
    left, right = frame.place.x, frame.place.right
    for count in range(round(frame.top / frame.step) + 1):
        y = frame.y(count * frame.step)
        yield Line(left, y, right, y, 0.4, Tone.MID)
        said = figure_text(count * frame.step)
        yield Text(left - 5, y + SMALL * 0.36, said, SMALL, Anchor.END)
    yield Text(left - 5, frame.place.y - 8, unit, SMALL, Anchor.END)
    yield Line(left, frame.place.bottom, right, frame.place.bottom, 1.0)


# --- the scale of time


class Tick(Struct, frozen=True):
    """One mark of a scale of time: where it stands, what it says, and what is said below where
    that is another than at the mark before."""

    at: float
    said: str
    below: str = ""


def _hours(every: int) -> Callable[[dt.datetime], Iterator[tuple[dt.datetime, str, str]]]:
    def ticks(first: dt.datetime) -> Iterator[tuple[dt.datetime, str, str]]:
        at = first.replace(hour=first.hour // every * every, minute=0, second=0, microsecond=0)
        while True:
            yield at, f"{at:%H:%M}", f"{at.day} {MONTHS[at.month - 1]} {at.year}"
            at += dt.timedelta(hours=every)

    return ticks


def _days(every: int) -> Callable[[dt.datetime], Iterator[tuple[dt.datetime, str, str]]]:
    def ticks(first: dt.datetime) -> Iterator[tuple[dt.datetime, str, str]]:
        at = dt.datetime.combine(first.date(), dt.time.min)
        while True:
            yield at, f"{at.day} {MONTHS[at.month - 1]}", str(at.year)
            at += dt.timedelta(days=every)

    return ticks


def _months(every: int) -> Callable[[dt.datetime], Iterator[tuple[dt.datetime, str, str]]]:
    def ticks(first: dt.datetime) -> Iterator[tuple[dt.datetime, str, str]]:
        month = first.year * 12 + (first.month - 1) // every * every
        while True:
            at = dt.datetime.combine(dt.date(month // 12, month % 12 + 1, 1), dt.time.min)
            years = every >= 12
            yield at, str(at.year) if years else MONTHS[at.month - 1], "" if years else str(at.year)
            month += every

    return ticks


_SCALES = (
    *((_hours(n), n / 24, 5) for n in (1, 2, 3, 6, 12)),
    *((_days(n), float(n), 6) for n in (1, 2, 7, 14)),
    *((_months(n), n * 30.0, 4) for n in (1, 2, 3, 6, 12, 24, 60, 120, 600, 1200)),
)
"""The scales of time, finest first, with how many days lie between two marks, at least about, and
how many letters each says."""

_LAST_YEAR = 9990


def time_ticks(frame: Frame) -> list[Tick]:
    """The marks of the finest scale whose words have room."""
    begun = _ZERO + dt.timedelta(seconds=frame.first)
    room = frame.place.width * DAY / (frame.last - frame.first)
    fit = (s for s, apart, said in _SCALES if apart * room >= said * SMALL * WIDE + 6)
    made = next(fit, _SCALES[-1][0])
    found: list[Tick] = []
    before = ""
    for at, said, below in made(begun):
        value = seconds(at)
        if value > frame.last or at.year > _LAST_YEAR:
            break
        if value >= frame.first:
            found.append(Tick(value, said, below if below != before else ""))
            before = below
    return found


def times(frame: Frame) -> Iterator[Item]:
    """The scale of time along the foot; what two years, or two days, are is said where each begins:
    of the first, cut short, only where that leaves room."""
    foot, free, begun = frame.place.bottom, -math.inf, math.inf
    ticks = time_ticks(frame)
    for tick in ticks:
        x, half = frame.x(tick.at), about(tick.said, SMALL, WIDE) / 2
        yield Line(x, foot, x, foot + 4, 0.8)
        if x - half > free:
            yield Text(x, foot + 15, tick.said, SMALL, Anchor.MIDDLE)
            free = x + half + 3
    for tick in reversed([tick for tick in ticks if tick.below]):
        x, half = frame.x(tick.at), about(tick.below, SMALL, WIDE) / 2
        if x + half + 3 < begun:
            yield Text(x, foot + 15 + SMALL * 1.3, tick.below, SMALL, Anchor.MIDDLE, bold=True)
            begun = x - half


# --- names and marks


class Names(Struct):
    """Puts names so that none lies on another, hides a mark or runs out of the picture."""

    room: Box
    taken: list[Box] = field(default_factory=list)
    lines: list[Box] = field(default_factory=list)
    """Where lines run: a name lies there only where nothing else is free."""
    marks: list[Box] = field(default_factory=list)
    """Where marks are: a name that finds no place beside them has no paper."""

    def put(
        self, said: str, places: Iterable[tuple[float, float, Anchor]], *, bold: bool = False
    ) -> tuple[Item, ...]:
        """The name at the first of its places that is free, on paper of its own; nothing where none
        is."""
        wide = about(said, SMALL, WIDE)
        every = tuple(places)
        for kept_off in ((*self.lines, *self.marks), self.marks, ()):
            for x, y, anchor in every:
                left = {Anchor.START: x, Anchor.MIDDLE: x - wide / 2, Anchor.END: x - wide}[anchor]
                mine = Box(left, y - SMALL * 0.85, wide, SMALL * 1.1)
                if self._is_free(mine, kept_off):
                    self.taken.append(mine)
                    text = Text(x, y, said, SMALL, anchor, bold=bold)
                    if not kept_off and self.marks:
                        return (text,)
                    return box(mine.x, mine.y, mine.width, mine.height, Tone.PAPER), text
        return ()

    def _is_free(self, mine: Box, kept_off: Iterable[Box]) -> bool:
        inside = mine.x >= self.room.x and mine.right <= self.room.right
        inside = inside and mine.y >= self.room.y and mine.bottom <= self.room.bottom
        return inside and not any(_overlap(mine, each) for each in (*self.taken, *kept_off))

    def keep_off(self, items: Iterable[Item]) -> None:
        """Let names keep off these lines, as far as they can, and hide none of these marks."""
        for item in items:
            points = item.points if isinstance(item, Trace) else ()
            if len(self.lines) < _MOST_KEPT:
                self.lines += [b for pair in itertools.pairwise(points) for b in _along(*pair)]
            self.marks += _marked(item)


_MOST_KEPT = 2000
"""Places of lines that names keep off: of more there is no way round."""


def _along(a: tuple[float, float], b: tuple[float, float]) -> Iterator[Box]:
    """Small boxes along a line."""
    count = int(math.hypot(b[0] - a[0], b[1] - a[1]) / 5) + 1
    for n in range(count + 1):
        x, y = (p + (q - p) * n / count for p, q in zip(a, b, strict=True))
        yield Box(x - 1.5, y - 1.5, 3.0, 3.0)


def _marked(item: Item) -> Iterator[Box]:
    """The place of a mark; of what is none, nothing."""
    match item:
        case Round():
            yield Box(item.x - item.radius, item.y - item.radius, 2 * item.radius, 2 * item.radius)
        case Shape():
            xs, ys = zip(*item.corners, strict=True)
            yield Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
        case Line():
            (left, right), (top, foot) = sorted((item.x1, item.x2)), sorted((item.y1, item.y2))
            yield Box(left, top, right - left, foot - top)


def _overlap(one: Box, other: Box) -> bool:
    across = one.x < other.right and other.x < one.right
    return across and one.y < other.bottom and other.y < one.bottom


def around(x: float, y: float, far: int = 6) -> Iterator[tuple[float, float, Anchor]]:
    """Places for the name of a point: beside it, then higher and lower, on either side."""
    for step in range(far * 2):
        up = (step + 1) // 2 * SMALL * 1.15 * (-1 if step % 2 else 1)
        yield x + 6, y + SMALL * 0.36 + up, Anchor.START
        yield x - 6, y + SMALL * 0.36 + up, Anchor.END
        yield x, y - 6 + up, Anchor.MIDDLE


def dot(x: float, y: float, *, full: bool, radius: float = 2.2) -> Item:
    """A mark: black, or open."""
    return Round(x, y, radius, Tone.INK if full else Tone.PAPER, 0.8)


def square(x: float, y: float, *, full: bool = False, side: float = 4.4) -> Item:
    """A square mark."""
    fill = Tone.INK if full else Tone.PAPER
    return box(x - side / 2, y - side / 2, side, side, fill, 0.8)


def wedge(x: float, y: float, *, full: bool, up: bool = True, far: float = 4.0) -> Item:
    """A triangle that stands on its side, or on its tip."""
    tip, base = (y - far, y + far * 0.7) if up else (y + far, y - far * 0.7)
    corners = ((x, tip), (x + far, base), (x - far, base))
    return Shape(corners, Tone.INK if full else Tone.PAPER, 0.8)


def cross(x: float, y: float, far: float = 3.2) -> Iterator[Item]:
    """A cross."""
    yield Line(x - far, y - far, x + far, y + far, 1.2)
    yield Line(x - far, y + far, x + far, y - far, 1.2)


def letter(text: Text) -> Sample:
    """A letter in a key."""
    return lambda x, y: [replace(text, x=x + 12, y=y + SMALL * 0.36)]


Sample = Callable[[float, float], Iterable[Item]]
"""Draws what a key explains at a place: left edge and middle height, 24 wide."""


def dashes(weight: float, dash: tuple[float, ...] = (), tone: Tone = Tone.INK) -> Sample:
    """A line in a key."""
    return lambda x, y: [Trace(((x, y), (x + 24, y)), weight, tone, dash)]


def mark(make: Callable[[float, float], Item | Iterable[Item]]) -> Sample:
    """A mark in a key."""

    def drawn(x: float, y: float) -> Iterable[Item]:
        made = make(x + 12, y)
        return list(made) if isinstance(made, Iterator) else [made]  # type: ignore[list-item]

    return drawn


def patch(fill: Tone, weight: float = 0.8) -> Sample:
    """A filled place in a key."""
    return lambda x, y: [box(x + 2, y - 4.5, 20, 9, fill, weight)]


def key(entries: Iterable[tuple[Sample, str]], top: float, width: float) -> Legend:
    """What marks and lines mean, in rows from `top` down."""
    items: list[Item] = []
    x, y = LEFT, top
    for sample, said in entries:
        wide = 30 + about(said, SMALL, WIDE) + 12
        if x > LEFT and x + wide > width:
            x, y = LEFT, y + SMALL * 1.6
        items += sample(x, y)
        items.append(Text(x + 30, y + SMALL * 0.36, said, SMALL))
        x += wide
    return Legend(tuple(items), y + SMALL * 1.2)


class Legend(Struct, frozen=True):
    """A key, and where it ends."""

    items: tuple[Item, ...]
    foot: float


def joined(points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """A line's points, without those that lie on one another as it is written."""
    near = ((round(x, 2), round(y, 2)) for x, y in points)
    return tuple(p for p, _ in itertools.groupby(near))


def incomplete(unread: Sequence[str]) -> str:
    """What is told where files could not be read: what is drawn may lack something."""
    return f"INCOMPLETE: {', '.join(map(one_line, unread))} could not be read" if unread else ""


def headed(drawing: Drawing) -> Drawing:
    """A picture that stands alone, under its title."""
    down, edge = 28.0, 10.0
    head = Text(edge, 16.0, drawing.title, TYPE, bold=True)
    items = (head, *(moved(item, edge, down) for item in drawing.items))
    return replace(
        drawing, width=drawing.width + 2 * edge, height=drawing.height + down, items=items
    )


def empty(title: str, why: str, width: float) -> Drawing:
    """A picture of nothing, which says so."""
    items = (Text(LEFT, 16, title, TYPE, bold=True), Text(LEFT, 36, why, SMALL))
    return Drawing(width, 50.0, title, why, items)
