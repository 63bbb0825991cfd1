"""Pressure against time through a fill session: in plain letters, and as a drawing.

Banks fall, cylinders rise to their hot stop and settle while they cool. Each curve has its letter
or number, and nothing is told by colour.
"""

from __future__ import annotations

import itertools
import math
import string
from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct, field

from tankbook.filling import Plan, PlanStep
from tankbook.output.drawing import Anchor, Drawing, Item, Line, Text, Tone
from tankbook.output.page import Page

COOLING = 30.0
"""Minutes over which a warm cylinder is drawn settling."""

HEIGHT = 14
"""Rows of the picture in letters, about."""

Point = tuple[float, float]
"""Minutes, and a gauge reading in the plan's unit."""


class Curve(Struct, frozen=True):
    """A bank or a cylinder: what its gauge shows, minute by minute."""

    name: str
    symbol: str
    bank: bool
    points: tuple[Point, ...]
    spans: tuple[Point, ...] = ()
    """When it is connected, from minute to minute; always, if empty."""


class _Pen(Struct):
    """A curve while it is drawn."""

    points: list[Point] = field(default_factory=list)

    def at(self, minute: float, value: float) -> None:
        """Come to a reading; a settling that was drawn ahead is cut short."""
        while self.points and self.points[-1][0] > minute:
            self.points.pop()
        self.points.append((minute, value))


def curves(plan: Plan) -> tuple[Curve, ...]:
    """Every bank that is opened, then every cylinder that is filled, in the plan's order."""
    pens: dict[str, _Pen] = {}
    end = 0.0
    for step, begins, ends in timed(plan):
        _draw(plan, pens, step, begins, ends)
        end = ends
    banks = [bank.label for bank in plan.banks if bank.label in pens]
    for bank in plan.banks:
        if bank.label in pens:
            pens[bank.label].points.insert(0, (0.0, bank.before.to(plan.unit)))
            pens[bank.label].at(end, bank.after.to(plan.unit))
    cylinders = [one.id for one in plan.reached if one.id in pens]
    numbers = zip((bank.label for bank in plan.banks), _numbers(), strict=False)
    names = [(label, symbol) for label, symbol in numbers if label in banks]
    names += zip(cylinders, _letters(), strict=False)
    return tuple(
        Curve(name, symbol, name in banks, tuple(pens[name].points), _spans(plan, name))
        for name, symbol in names
    )


def _spans(plan: Plan, name: str) -> tuple[Point, ...]:
    """The loads in which a cylinder is connected."""
    ends: dict[int, Point] = {}
    for step, begins, over in timed(plan):
        first, _ = ends.get(step.load, (begins, over))
        ends[step.load] = first, over
    mine = [x.number for x in plan.loads if any(seat.id == name for seat in x.seats)]
    return tuple(ends[number] for number in mine if number in ends)


def timed(plan: Plan) -> Iterator[tuple[PlanStep, float, float]]:
    """Each step with the minutes of the session at which it begins and ends."""
    minute, load = 0.0, 0
    for step in plan.steps:
        minute += sum(x.handling_minutes for x in plan.loads[load : step.load])
        load = step.load
        yield step, minute, minute + step.minutes
        minute += step.minutes


def _draw(plan: Plan, pens: dict[str, _Pen], step: PlanStep, begins: float, ends: float) -> None:
    if step.source and step.source_before is not None and step.source_after is not None:
        pen = pens.setdefault(step.source, _Pen())
        pen.at(begins, step.source_before.to(plan.unit))
        pen.at(ends, step.source_after.to(plan.unit))
    for fed in step.fed:
        start = next(b.before for b in plan.banks if b.label == fed.bank)
        pen = pens.setdefault(fed.bank, _Pen([(0.0, start.to(plan.unit))]))
        if fed.bank != step.source:
            pen.at(begins, pen.points[-1][1])
        pen.at(ends, fed.after.to(plan.unit))
    for change in step.changes:
        pen = pens.setdefault(change.id, _Pen())
        pen.at(begins, change.before.to(plan.unit))
        pen.at(ends, change.stop_at.to(plan.unit))
        if change.hot is not None:
            pen.at(ends + COOLING, change.after.to(plan.unit))


def _numbers() -> Iterator[str]:
    yield from "123456789"
    yield from string.ascii_uppercase


def _letters() -> Iterator[str]:
    while True:
        yield from string.ascii_lowercase


# --- in letters


def picture(plan: Plan, page: Page) -> list[str]:
    """The picture as lines no wider than the page; none where nothing is filled."""
    drawn = curves(plan)
    if not drawn or plan.session_minutes <= 0:
        return []
    top, step = _scale(max(v for c in drawn for _, v in c.points))
    edge = len(f"{top:.0f}") + 1
    wide = page.width - edge - 2
    parts = round(top / step)
    every = max(1, round(HEIGHT / parts))
    grid = [[" "] * wide for _ in range(parts * every + 1)]
    for curve in drawn:
        _plot(grid, curve, plan.session_minutes, top)
    lines = [f"Gauges against time ({plan.unit}; cylinders as they show, warm)"]
    for row, cells in enumerate(grid):
        part, between = divmod(len(grid) - 1 - row, every)
        mark = "" if between else f"{part * step:.0f}"
        lines.append(f"{mark:>{edge}} |{''.join(cells)}".rstrip())
    lines += _time_axis(plan.session_minutes, edge, wide)
    lines.append(page.items("", [f"{c.symbol} {c.name}" for c in drawn]))
    return lines


def _plot(grid: list[list[str]], curve: Curve, minutes: float, top: float) -> None:
    wide, tall = len(grid[0]), len(grid) - 1
    for column in range(wide):
        minute = minutes * column / (wide - 1)
        value = _value(curve.points, minute)
        half = minutes / (wide - 1) / 2
        apart = curve.spans and not any(a - half <= minute <= b + half for a, b in curve.spans)
        if value is None or apart:
            continue
        row = tall - round(min(max(value / top, 0.0), 1.0) * tall)
        there = grid[row][column]
        grid[row][column] = "*" if there.islower() and not curve.bank else curve.symbol


def _value(points: Sequence[Point], minute: float) -> float | None:
    """The reading at a minute, None before the first and after the last point."""
    if minute < points[0][0] - 1e-9 or minute > points[-1][0] + 1e-9:
        return None
    for (t0, v0), (t1, v1) in itertools.pairwise(points):
        if t0 <= minute <= t1:
            return v0 if t1 == t0 else v0 + (v1 - v0) * (minute - t0) / (t1 - t0)
    return points[-1][1]


def _time_axis(minutes: float, edge: int, wide: int) -> list[str]:
    _, step = _scale(minutes, parts=max(2, wide // 14))
    rule, labels = ["-"] * wide, [" "] * (wide + edge + 2)
    for count in range(int(minutes / step + 1e-9) + 1):
        column = round((wide - 1) * count * step / minutes)
        rule[column] = "+"
        said = f"{count * step:.0f}"
        begin = min(edge + 2 + column - len(said) // 2, len(labels) - len(said))
        labels[begin : begin + len(said)] = said
    text = "".join(labels).rstrip()
    unit = " min"
    return [f"{'':>{edge}} +{''.join(rule)}", text + unit if len(text) + 4 <= len(labels) else text]


def _scale(most: float, parts: int = 7) -> tuple[float, float]:
    """A round top at or above `most`, and the round step that leads to it."""
    rough = max(most, 1e-9) / parts
    power = 10 ** math.floor(math.log10(rough))
    step = next(n * power for n in (1, 2, 2.5, 5, 10) if n * power >= rough)
    return math.ceil(most / step - 1e-9) * step, step


# --- as a drawing

WIDTH, TALL = 540.0, 330.0
LEFT, RIGHT, UP, DOWN = 46.0, 40.0, 34.0, 34.0
TYPE = 9.0
NAME = 5 * TYPE
"""About how wide a name is."""

Place = Callable[[Point], Point]
"""From minutes and a reading to points on the page."""


def drawing(plan: Plan) -> Drawing:
    """The picture to be written as SVG: banks heavy and named at the end, cylinders light and
    named where they begin."""
    drawn = curves(plan)
    most = max((v for c in drawn for _, v in c.points), default=1.0)
    top, step = _scale(most)
    minutes = max(plan.session_minutes, 1.0)

    def place(point: Point) -> Point:
        x = LEFT + (WIDTH - LEFT - RIGHT) * min(point[0], minutes) / minutes
        return x, UP + (TALL - UP - DOWN) * (1 - point[1] / top)

    items: list[Item] = [Text(LEFT, 16, f"{plan.gas}, gauges in {plan.unit}", 11, bold=True)]
    items += _axes(place, top, step, minutes)
    taken: list[Point] = []
    for curve in drawn:
        items += _curve(curve, place, minutes, taken)
    title = f"Pressure against time, {plan.session_minutes:.0f} minutes"
    ends = ", ".join(f"{c.name} {c.points[-1][1]:.0f}" for c in drawn)
    says = f"What the gauges show through the session; at its end, in {plan.unit}: {ends}."
    return Drawing(WIDTH, TALL, title, says, tuple(items))


def _axes(place: Place, top: float, step: float, minutes: float) -> Iterator[Item]:
    left, foot = place((0.0, 0.0))
    right, _ = place((minutes, 0.0))
    for count in range(round(top / step) + 1):
        _, y = place((0.0, count * step))
        yield Line(left, y, right, y, 0.4, Tone.MID)
        yield Text(left - 5, y + 3, f"{count * step:.0f}", TYPE, Anchor.END)
    _, every = _scale(minutes, parts=8)
    for count in range(int(minutes / every + 1e-9) + 1):
        x, _ = place((count * every, 0.0))
        yield Line(x, foot, x, foot + 4, 0.8)
        yield Text(x, foot + 15, f"{count * every:.0f}", TYPE, Anchor.MIDDLE)
    yield Text(right, foot + 27, "minutes", TYPE, Anchor.END)
    yield Line(left, foot, right, foot, 1.0)


def _curve(curve: Curve, place: Place, minutes: float, taken: list[Point]) -> Iterator[Item]:
    weight, tone = (2.2, Tone.DARK) if curve.bank else (1.0, Tone.INK)
    points = _within(curve.points, minutes)
    for one, two in itertools.pairwise(points):
        yield Line(*place(one), *place(two), weight, tone)
    x, y = place(points[-1] if curve.bank else points[0])
    before = not curve.bank and x - LEFT > NAME
    left = x - 4 - NAME if before else x + 4
    while any(abs(left - a) < NAME and abs(y - b) < TYPE for a, b in taken):
        y += TYPE / 2
    taken.append((left, y))
    anchor = Anchor.END if before else Anchor.START
    yield Text(x - 4 if before else x + 4, y + 3, curve.name, TYPE, anchor, bold=curve.bank)


def _within(points: Sequence[Point], minutes: float) -> list[Point]:
    """The points up to the end of the session, the last one on it."""
    kept = [p for p in points if p[0] <= minutes]
    if len(kept) < len(points):
        value = _value(points, minutes)
        kept += [(minutes, value)] if value is not None else []
    return kept
