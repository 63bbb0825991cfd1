"""Laying the contents of a label out in its box, as large as they go.

Text flows round the code in the top right corner. The size of type is found by halving: the largest
at which all fits. Where not even the smallest does, what is least needed is left out; where that
does not help, nothing is printed and a line says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.output.drawing import MM, Box, Code, Line, Text, frame, moved
from tankbook.output.drawing import Item as Mark
from tankbook.output.page import NO_BREAK
from tankbook.output.paper.code import code_rows, least_side
from tankbook.output.paper.face import PaperError, baseline, fitted, height, width, wrapped

SMALLEST, LARGEST = 6.0, 12.0
"""Sizes [pt] of plain type on a label; 6 pt is the smallest read at arm's length (common practice,
no source)."""

LEADING = 1.2
WRITING = 5.0, 6.5
"""Height [mm] of a line to write on by hand, at the smallest and at the largest size of type."""
FIGURE_LEADING = 0.92
"""How close what is below a figure stands: figures have no descenders but the stroke between two.
"""
LEAST_BESIDE = 12.0
"""The narrowest column [mm] beside a figure that words go into."""
LEAST_BLANK = 14.0
"""The shortest rule [mm] to write on, unless what is written is known to be a few characters."""
GAP = 1.6
LARGEST_CODE = 22.0
NAME_SCALE = 0.8
FRAME = 1.4


class Say(Struct, frozen=True):
    """A paragraph. `scale` is over the plain size; one that `shrinks` tries to stay on one line.

    What has `spare` above 0 may be left out where room is short, the highest first; what has a
    `short` text says that instead.
    """

    text: str
    scale: float = 1.0
    bold: bool = False
    shrinks: bool = False
    spare: int = 0
    leading: float = LEADING
    short: str = ""


class Figure(Struct, frozen=True):
    """A figure to be read from afar, bold, `scale` over the plain size, and what it is: beside it
    as far as its height goes, the rest below. It `says` phrases, none of which is torn; those of
    `short` where room is short."""

    text: str
    scale: float
    says: tuple[str, ...]
    leading: float = LEADING
    spare: int = 0
    short: tuple[str, ...] = ()


class FlowRow(Struct, frozen=True):
    """A fact under a name."""

    name: str
    value: str
    spare: int = 0


class Blanks(Struct, frozen=True):
    """Rules to write on by hand, each after its name and before its unit, none shorter than `least`
    [mm]."""

    parts: tuple[tuple[str, str], ...]
    spare: int = 0
    least: float = LEAST_BLANK


Item = Say | Figure | FlowRow | Blanks


class Content(Struct, frozen=True):
    """What a label says: its items from the top, those that stand at its foot, the text of its
    code, and a frame or none."""

    items: tuple[Item, ...]
    foot: tuple[Item, ...] = ()
    code: str = ""
    framed: bool = False
    where: str = ""
    largest: float = LARGEST


def laid_out(content: Content, box: Box) -> tuple[Mark, ...]:
    """The marks of a label in its printable box [mm].

    Raises:
        PaperError: it does not fit, or its code could not be read so small.
    """
    inner = box.inside(FRAME + 1.0) if content.framed else box
    everything = (*content.items, *content.foot)
    spares = sorted({i.spare for i in everything if i.spare}, reverse=True)
    for limit in (None, *spares):
        found = _largest(content, _kept(content.items, limit), _kept(content.foot, limit), inner)
        if found is not None:
            edge = frame(box.inside(FRAME / 2), FRAME * MM)
            return (edge, *found) if content.framed else found
    raise PaperError(
        f"{content.where} does not fit on a label with {box.width:.0f} x {box.height:.0f} mm "
        "to print on",
        "take a sheet of larger labels",
    )


def _kept(items: Sequence[Item], limit: int | None) -> tuple[Item, ...]:
    """What is said where all that has so much to spare is left out, or shortened."""
    kept = (i if limit is None or i.spare < limit else _shortened(i) for i in items)
    return tuple(filter(None, kept))


def _shortened(item: Item) -> Item | None:
    match item:
        case Say() if item.short:
            return replace(item, text=item.short)
        case Figure() if item.short:
            return replace(item, says=item.short)
    return None


def _largest(
    content: Content, items: Sequence[Item], foot: Sequence[Item], box: Box
) -> tuple[Mark, ...] | None:
    """The layout at the largest size that fits, by halving; None where the smallest does not."""
    steps = round((content.largest - SMALLEST) / 0.25)
    best = _Flow(content, box, SMALLEST).run(items, foot)
    low, high = 0, steps
    while best is not None and low < high:
        middle = (low + high + 1) // 2
        tried = _Flow(content, box, SMALLEST + middle * 0.25).run(items, foot)
        if tried is None:
            high = middle - 1
        else:
            low, best = middle, tried
    return tuple(best) if best is not None else None


class _Flow(Struct):
    """One try at one size: a pen going down the box."""

    content: Content
    box: Box
    size: float
    y: float = 0.0
    side: float = 0.0
    marks: list[Mark] = field(default_factory=list)

    def run(self, items: Sequence[Item], foot: Sequence[Item]) -> list[Mark] | None:
        self.y = self.box.y
        if self.content.code and not self._code():
            return None
        names = [i.name for i in items if isinstance(i, FlowRow)]
        column = max((width(n, self._small()) for n in names), default=0.0) + GAP
        column = min(column, self.box.width * 0.45)
        if not all(self._item(item, column) for item in items):
            return None
        above = len(self.marks)
        if not all(self._item(item, column) for item in foot):
            return None
        spare = self.box.bottom - self.y
        if spare < -1e-6:
            return None
        return self.marks[:above] + [moved(mark, 0.0, spare) for mark in self.marks[above:]]

    def _small(self) -> float:
        """The size [pt] of names beside what is said; never below the smallest that is read."""
        return max(SMALLEST, self.size * NAME_SCALE)

    def _item(self, item: Item, column: float) -> bool:
        if isinstance(item, Say):
            return self._say(item)
        if isinstance(item, Figure):
            return self._figure(item)
        if isinstance(item, FlowRow):
            return self._row(item, column)
        return self._blanks(item)

    def _code(self) -> bool:
        """The code takes a third of the width, between what a reader needs and enough."""
        rows = code_rows(self.content.code)
        least = least_side(rows)
        self.side = max(least, min(LARGEST_CODE, self.box.width / 3.2, self.box.height * 0.45))
        if self.side > min(self.box.height, self.box.width * 0.6):
            return False
        self.marks.append(Code(self.box.right - self.side, self.box.y, self.side, rows))
        return True

    def _room(self) -> float:
        beside = self.side and self.y < self.box.y + self.side - 0.2
        return self.box.width - (self.side + GAP if beside else 0.0)

    def _down(self, size: float, leading: float) -> float:
        """Go down one line of a size [pt]; the baseline [mm] of that line."""
        at = baseline(self.y, size)
        self.y += height(1, size, leading)
        return at

    def _lines(
        self, text: str, x: float, size: float, bold: bool, leading: float = LEADING
    ) -> bool:
        """A paragraph from `x` on, each line as wide as there is room beside the code."""
        rest = text
        while rest:
            lines = wrapped(rest, self.box.x + self._room() - x, size, bold)
            if lines is None:
                return False
            first = lines[0]
            self.marks.append(Text(x, self._down(size, leading), first, size, bold=bold))
            if self.y > self.box.bottom + 1e-6:
                return False
            rest = rest[len(first) :].lstrip()  # no blank where a word was broken
        return True

    def _say(self, item: Say) -> bool:
        size, text = max(SMALLEST, self.size * item.scale), " ".join(item.text.split())
        if not item.shrinks:
            return self._lines(text, self.box.x, size, item.bold, item.leading)
        fit = fitted(text, self._room(), size, min(size, SMALLEST + 1), item.bold)
        return fit is not None and self._lines(text, self.box.x, fit.size, item.bold, item.leading)

    def _figure(self, item: Figure) -> bool:
        size, top = max(SMALLEST, self.size * item.scale), self.y
        wide, right = width(item.text, size, True), self.box.x + self._room()
        if wide > right - self.box.x:
            return False
        at = baseline(top, size) - height(1, size, 1.0 - FIGURE_LEADING)
        self.marks.append(Text(self.box.x, at, item.text, size, bold=True))
        rest = " ".join(phrase.replace(" ", NO_BREAK) for phrase in item.says)
        x = self.box.x + wide + GAP
        beside = self._beside(rest, right - x, height(1, size, 1.0), item.leading)
        for said in beside:
            line = self._down(self.size, item.leading)
            self.marks.append(Text(x, line, said, self.size, bold=True))
            rest = rest[len(said) :].lstrip()
        self.y = max(self.y, top + height(1, size, FIGURE_LEADING))
        return self._lines(rest, self.box.x, self.size, True, item.leading)

    def _beside(self, text: str, room: float, high: float, leading: float) -> tuple[str, ...]:
        """The lines of a sentence that stand beside a figure of that height; none where it goes
        below whole in as many lines as would be left of it, or a word is wider than the room."""
        if any(width(word, self.size, True) > room for word in text.split(" ")):
            return ()
        lines = wrapped(text, room, self.size, True) if room >= LEAST_BESIDE else None
        each = height(1, self.size, leading)
        beside = (lines or ())[: max(int((high + 1e-9) / each), 0)]
        rest = text
        for said in beside:
            rest = rest[len(said) :].lstrip()
        below = (wrapped(t, self._room(), self.size, True) or () for t in (rest, text))
        left, whole = map(len, below)
        return beside if left < whole else ()

    def _row(self, item: FlowRow, column: float) -> bool:
        name = fitted(item.name, column - GAP / 2, self._small(), SMALLEST, False)
        if name is None or len(name.lines) > 1:
            return False
        at = baseline(self.y, self.size)
        self.marks.append(Text(self.box.x, at, item.name, name.size))
        value = " ".join(item.value.split())
        return self._lines(value, self.box.x + column, self.size, True)

    def _blanks(self, item: Blanks) -> bool:
        for parts in self._in_lines(item):
            high = max(self._writing(), height(1, self.size, LEADING))
            at, x = self.y + high - 1.2, self.box.x
            for (name, unit), wide in zip(parts, self._shares(parts, item.least), strict=True):
                self._blank(x, at, wide - GAP, name, unit)
                x += wide
            self.y += high
        return self.y <= self.box.bottom + 1e-6

    def _shares(self, parts: tuple[tuple[str, str], ...], least: float) -> list[float]:
        """How much of a line [mm] each blank has, its gap included: all the same, else what its
        name and unit take and a rule as long as the others'."""
        room, said = self._room(), [self._named(name, unit) for name, unit in parts]
        if room / len(parts) - GAP - max(said) >= least:
            return [room / len(parts)] * len(parts)
        rule = (room - sum(said)) / len(parts)
        return [each + rule for each in said]

    def _named(self, name: str, unit: str) -> float:
        """The width [mm] of what stands before and behind a rule."""
        return width(f"{name} {unit}", self._small()) + 2.0

    def _writing(self) -> float:
        low, high = WRITING
        return min(low + (high - low) * (self.size - SMALLEST) / (LARGEST - SMALLEST), high)

    def _blank(self, x: float, at: float, room: float, name: str, unit: str) -> None:
        size = self._small()
        start = x + width(name, size) + 1.0
        end = x + room - (width(unit, size) + 1.0 if unit else 0.0)
        self.marks.append(Text(x, at, name, size))
        self.marks.append(Line(start, at + 0.4, end, at + 0.4, 0.25))
        if unit:
            self.marks.append(Text(end + 1.0, at, unit, size))

    def _in_lines(self, item: Blanks) -> Iterator[tuple[tuple[str, str], ...]]:
        """The blanks, as many side by side as leave each a rule long enough to write on."""
        rest = item.parts
        while rest:
            count = len(rest)
            while count > 1 and any(
                share - GAP - self._named(*part) < item.least
                for part, share in zip(
                    rest[:count], self._shares(rest[:count], item.least), strict=True
                )
            ):
                count -= 1
            yield rest[:count]
            rest = rest[count:]
