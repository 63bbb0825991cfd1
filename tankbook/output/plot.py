"""Pressure against time through a fill session: in plain letters, and as a drawing.

Banks fall, cylinders rise to their hot stop and settle while they cool. Below them, or above, stand
the loads and the steps, and the hour where it is known when the session begins. Each curve has its
letter or number, and nothing is told by colour.
"""

from __future__ import annotations

import datetime as dt
import itertools
import string
from collections.abc import Iterator, Sequence

from msgspec import Struct, field

from tankbook.filling import Plan, PlanStep
from tankbook.filling.results import PlanAct
from tankbook.output import chart
from tankbook.output.chart import LEFT, RIGHT, SMALL, TYPE, WIDE, Frame, Names, round_scale
from tankbook.output.drawing import Anchor, Box, Drawing, Item, Line, Text, Tone, Trace, about, box
from tankbook.output.page import Page, counted

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
    end = flowed = 0.0
    for step, begins, ends in timed(plan):
        _draw(plan, pens, step, (flowed, begins, ends))
        end = ends
        flowed = ends if step.minutes else flowed
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


def _draw(
    plan: Plan, pens: dict[str, _Pen], step: PlanStep, minutes: tuple[float, float, float]
) -> None:
    """One step, its minutes after the end of the last one that took time; what takes none feeds a
    bank while cylinders are connected before it."""
    flowed, begins, ends = minutes
    since = begins if step.minutes else flowed
    if step.source and step.source_before is not None and step.left is not None:
        pen = pens.setdefault(step.source, _Pen())
        pen.at(begins, step.source_before.to(plan.unit))
        pen.at(ends, step.left.to(plan.unit))
    for fed in step.fed:
        start = next(b.before for b in plan.banks if b.label == fed.bank)
        pen = pens.setdefault(fed.bank, _Pen([(0.0, start.to(plan.unit))]))
        if fed.bank != step.source:
            pen.at(since, pen.points[-1][1])
        pen.at(ends, fed.after.to(plan.unit))
    for change in step.changes:
        pen = pens.setdefault(change.id, _Pen())
        pen.at(begins, change.reads.to(plan.unit))
        pen.at(ends, change.stop_at.to(plan.unit))
        if change.hot is not None:
            pen.at(ends + COOLING, change.after.to(plan.unit))


def _numbers() -> Iterator[str]:
    yield from "123456789"
    yield from string.ascii_uppercase


def _letters() -> Iterator[str]:
    while True:
        yield from string.ascii_lowercase


class Phase(Struct, frozen=True):
    """A part of the session that takes time: a step, or the handling before a load.

    `said` is what is open or done, `symbol` its letter: that of the curve that gives, `C` of the
    compressor, a dot of what nothing flows in.
    """

    load: int
    step: int | None
    begins: float
    ends: float
    said: str
    symbol: str


_IN_WORDS = {
    PlanAct.COMPRESSOR: "compressor",
    PlanAct.WAIT: "cooling",
    PlanAct.TOP_OFF: "top off",
    PlanAct.REST: "compressor rests",
    PlanAct.RAISE: "a bank is raised",
    PlanAct.NEXT: "waiting",
    PlanAct.DRAIN: "draining",
    PlanAct.FEED: "feed",
}


def phases(plan: Plan) -> tuple[Phase, ...]:
    """The session from its beginning to its end: what takes time, in order."""
    symbols = {curve.name: curve.symbol for curve in curves(plan)}
    found: list[Phase] = []
    minute = 0.0
    for step, begins, ends in timed(plan):
        if begins > minute + 1e-9:
            found.append(Phase(step.load, None, minute, begins, "handling", "."))
        if ends > begins:
            named = _IN_WORDS.get(step.act, "")
            said = " ".join(filter(None, (named, step.source))) or str(step.act)
            direct = "C" if step.act is PlanAct.COMPRESSOR else "."
            symbol = symbols.get(step.source, direct) if step.changes else "."
            found.append(Phase(step.load, step.number, begins, ends, said, symbol))
        minute = ends
    return tuple(found)


def loads(plan: Plan) -> tuple[Phase, ...]:
    """Each load from its handling to the end of its last step, with who is in it."""
    found: list[Phase] = []
    every = itertools.groupby(phases(plan), key=lambda phase: phase.load)
    seats = {each.number: [seat.id for seat in each.seats] for each in plan.loads}
    for number, run in every:
        mine = list(run)
        who = ", ".join(seats.get(number, ()))
        found.append(Phase(number, None, mine[0].begins, mine[-1].ends, who, str(number)))
    return tuple(found)


# --- in letters


def picture(plan: Plan, page: Page, begins: dt.datetime | None = None) -> list[str]:
    """The picture as lines no wider than the page; none where nothing is filled."""
    drawn = curves(plan)
    if not drawn or plan.session_minutes <= 0:
        return []
    top, step = round_scale(max(v for c in drawn for _, v in c.points))
    edge = max(len(f"{top:.0f}") + 1, len("open"))
    wide = page.width - edge - 2
    parts = round(top / step)
    every = max(1, round(HEIGHT / parts))
    grid = [[" "] * wide for _ in range(parts * every + 1)]
    for curve in drawn:
        _plot(grid, curve, plan.session_minutes, top)
    said = f"Gauges against time ({plan.unit}; cylinders as they show, warm)"
    lines = page.wrap(said, hang="  ").split("\n")
    for row, cells in enumerate(grid):
        part, between = divmod(len(grid) - 1 - row, every)
        mark = "" if between else f"{part * step:.0f}"
        lines.append(f"{mark:>{edge}} |{''.join(cells)}".rstrip())
    lines += _time_axis(plan.session_minutes, edge, wide, begins)
    lines += _phase_rows(plan, edge, wide)
    named = [f"{c.symbol} {c.name}" for c in drawn]
    if any(phase.symbol == "C" for phase in phases(plan)):
        named.append("C compressor")
    return [*lines, *page.items("", named).split("\n")]


def _phase_rows(plan: Plan, edge: int, wide: int) -> Iterator[str]:
    """Which load is on, and what is open to it, minute by minute."""

    def column(minute: float) -> int:
        return round((wide - 1) * minute / plan.session_minutes)

    opened, rows = ["."] * wide, [" "] * wide
    for phase in phases(plan):
        for place in range(column(phase.begins), column(phase.ends) + 1):
            opened[place] = phase.symbol
    for load in loads(plan):
        first, last = column(load.begins), column(load.ends)
        said = load.symbol[: last - first + 1]
        rows[first : last + 1] = said + "-" * (last - first + 1 - len(said))
    yield f"{'open':>{edge}}  {''.join(opened)}"
    yield f"{'load':>{edge}}  {''.join(rows)}".rstrip()


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


def _time_axis(minutes: float, edge: int, wide: int, begins: dt.datetime | None) -> Iterator[str]:
    _, step = round_scale(minutes, parts=max(2, wide // 14))
    rule, labels, hours = ["-"] * wide, [" "] * (wide + edge + 2), [" "] * (wide + edge + 2)
    for count in range(int(minutes / step + 1e-9) + 1):
        column = round((wide - 1) * count * step / minutes)
        rule[column] = "+"
        for row, said in ((labels, f"{count * step:g}"), (hours, _whole(begins, count * step))):
            begin = min(edge + 2 + column - len(said) // 2, len(row) - len(said))
            row[begin : begin + len(said)] = said
    text = "".join(labels).rstrip()
    unit = " min"
    yield f"{'':>{edge}} +{''.join(rule)}"
    yield text + unit if len(text) + 4 <= len(labels) else text
    if begins is not None:
        yield "".join(hours).rstrip()


def hour(begins: dt.datetime | None, minute: float) -> str:
    """The hour of a minute of the session, `08:46`; empty where its beginning is not known."""
    return f"{begins + dt.timedelta(minutes=minute):%H:%M}" if begins else ""


def _whole(begins: dt.datetime | None, minute: float) -> str:
    """The hour of a whole minute; that of a part of one is not said."""
    return hour(begins, minute) if minute == int(minute) else ""


# --- as a drawing

WIDTH, TALL, STRIP = 540.0, 230.0, 15.0
"""How wide the picture is, how high its frame, and each of the two rows of loads and steps above it
[pt]."""

BANK_DASHES = ((), chart.DASHED, chart.DOTTED, (9.0, 3.0, 1.5, 3.0))
"""The lines of the banks, told apart by their dashes."""


def drawing(plan: Plan, begins: dt.datetime | None = None) -> Drawing:
    """The picture to be written as SVG: banks heavy, cylinders light, each named beside its curve;
    above them loads and steps, below the minutes, and the hours where the beginning is known."""
    title = f"Pressure against time, {plan.session_minutes:.0f} minutes"
    drawn = curves(plan)
    if not drawn or plan.session_minutes <= 0:
        return chart.empty(title, "Nothing is filled.", WIDTH)
    most = max(v for c in drawn for _, v in c.points)
    place = Box(LEFT, 34.0 + 2 * STRIP + 22.0, WIDTH - LEFT - RIGHT, TALL)
    frame = chart.framed(place, (0.0, plan.session_minutes), most)
    gas = chart.short(plan.gas)
    items: list[Item] = [Text(LEFT, 16, f"{gas}, gauges in {plan.unit}, warm", TYPE, bold=True)]
    items += _strip(plan, frame)
    items += chart.values(frame, plan.unit)
    items += _minutes(frame, begins)
    names = Names(Box(LEFT, place.y - 4, WIDTH - LEFT - 2, TALL + 4))
    lines, without = _curves(drawn, frame, plan.session_minutes, names)
    items += lines
    keyed = chart.key(_key(drawn, without, plan), place.bottom + chart.FOOT + 10, WIDTH)
    says = " ".join(_says(plan, drawn, begins))
    return Drawing(WIDTH, keyed.foot, title, says, (*items, *keyed.items))


def _says(plan: Plan, drawn: Sequence[Curve], begins: dt.datetime | None) -> Iterator[str]:
    """The picture in words: what each gauge shows, and each load and step with its time."""
    began = f", begun at {hour(begins, 0)}" if begins else ""
    yield f"What the gauges show through the session, in {plan.unit}{began}."
    for curve in drawn:
        first, last = curve.points[0][1], curve.points[-1][1]
        yield f"{curve.name} {first:.0f} to {last:.0f}."
    for load in loads(plan):
        yield f"Load {load.load}, {_span(load, begins)}: {load.said}."
    for phase in phases(plan):
        step = f"Step {phase.step}" if phase.step is not None else "Between steps"
        yield f"{step}, {_span(phase, begins)}: {phase.said}."


def _span(phase: Phase, begins: dt.datetime | None) -> str:
    said = f"minute {phase.begins:.1f} to {phase.ends:.1f}"
    return (
        f"{said} ({hour(begins, phase.begins)} to {hour(begins, phase.ends)})" if begins else said
    )


def _strip(plan: Plan, frame: Frame) -> Iterator[Item]:
    """Loads above steps, each a box from its beginning to its end, as far as its words fit."""
    top = 34.0
    for place, (name, parts) in enumerate((("load", loads(plan)), ("step", phases(plan)))):
        y = top + place * STRIP
        yield Text(LEFT - 5, y + STRIP * 0.7, name, SMALL, Anchor.END)
        for part in parts:
            x, right = frame.x(part.begins), frame.x(part.ends)
            fill = Tone.PALE if part.symbol == "." else Tone.PAPER
            yield box(x, y, right - x, STRIP, fill, 0.6)
            yield from _fitting(x, right, y + STRIP * 0.7, _worded(part, name))


def _worded(part: Phase, name: str) -> tuple[str, ...]:
    """What a box may say, the most first."""
    said = chart.short(part.said)
    if name == "load":
        count = counted(part.said.count(",") + 1, "cylinder")
        whole = f"{part.load}: {part.said}" if said == part.said else ""
        return whole, f"{part.load}: {count}", str(part.load)
    return (said,) if part.step is None else (f"{part.step} {said}", str(part.step))


def _fitting(left: float, right: float, y: float, words: Sequence[str]) -> Iterator[Item]:
    said = next((w for w in words if w and about(w, SMALL, WIDE) + 4 <= right - left), "")
    if said:
        yield Text(left + 3, y, said, SMALL)


def _minutes(frame: Frame, begins: dt.datetime | None) -> Iterator[Item]:
    right, foot = frame.place.right, frame.place.bottom
    below = foot + 15 + SMALL * 1.3
    minutes = frame.last - frame.first
    _, every = round_scale(minutes, parts=8)
    for count in range(int(minutes / every + 1e-9) + 1):
        x = frame.x(count * every)
        yield Line(x, foot, x, foot + 4, 0.8)
        if right - x < 60 and count:
            continue  # the words at the end stand there
        yield Text(x, foot + 15, chart.figure_text(count * every), SMALL, Anchor.MIDDLE)
        if begins is not None:
            said = _whole(begins, count * every)
            yield Text(x, below, said, SMALL, Anchor.MIDDLE)
    yield Text(right, foot + 15, "minutes", SMALL, Anchor.END)
    if begins is not None:
        yield Text(right, below, "hour", SMALL, Anchor.END)


def _curves(
    drawn: Sequence[Curve], frame: Frame, minutes: float, names: Names
) -> tuple[list[Item], list[Curve]]:
    """The curves, then the names that found a place; and the curves that have a letter instead."""
    items: list[Item] = []
    banks = 0
    for curve in drawn:
        dash = BANK_DASHES[banks % len(BANK_DASHES)] if curve.bank else ()
        banks += curve.bank
        items += _curve(curve, frame, minutes, dash)
    names.keep_off(items)
    lettered = []
    for curve in drawn:
        points = [frame.at(p) for p in _within(curve.points, minutes)]
        ends = [points[-1], *points[-2::-1]] if curve.bank else points
        places = [each for x, y in ends for each in chart.around(x, y, 4)]
        said = names.put(chart.short(curve.name), places, bold=curve.bank)
        if not said:
            said = names.put(curve.symbol, places, bold=True)
            lettered.append(curve)
        items += said
    return items, lettered


def _curve(curve: Curve, frame: Frame, minutes: float, dash: tuple[float, ...]) -> Iterator[Item]:
    """A bank whole; a cylinder solid while it is connected, dotted while it only cools."""
    points = _within(curve.points, minutes)
    if curve.bank:
        yield Trace(chart.joined([frame.at(p) for p in points]), 2.2, Tone.DARK, dash)
        return
    end = max((last for _, last in curve.spans), default=minutes)
    on = _within(points, end)
    yield Trace(chart.joined([frame.at(p) for p in on]), 1.0)
    if on and on[-1][0] < points[-1][0]:
        off = [on[-1], *(p for p in points if p[0] > end)]
        yield Trace(chart.joined([frame.at(p) for p in off]), 0.8, Tone.DARK, chart.DOTTED)


def _key(
    drawn: Sequence[Curve], lettered: Sequence[Curve], plan: Plan
) -> Iterator[tuple[chart.Sample, str]]:
    banks = [curve for curve in drawn if curve.bank]
    for place, curve in enumerate(banks):
        dash = BANK_DASHES[place % len(BANK_DASHES)]
        yield chart.dashes(2.2, dash, Tone.DARK), f"bank {chart.short(curve.name)}"
    yield chart.dashes(1.0), "a cylinder"
    if any(phase.symbol == "." for phase in phases(plan)):
        yield chart.patch(Tone.PALE), "handling, waiting"
    if any(_is_off(curve, plan.session_minutes) for curve in drawn):
        yield chart.dashes(0.8, chart.DOTTED, Tone.DARK), "disconnected, cooling"
    for curve in lettered:
        letter = Text(0, 0, curve.symbol, SMALL, Anchor.MIDDLE, bold=True)
        yield chart.letter(letter), chart.short(curve.name)


def _is_off(curve: Curve, minutes: float) -> bool:
    end = max((last for _, last in curve.spans), default=minutes)
    return not curve.bank and end < min(curve.points[-1][0], minutes)


def _within(points: Sequence[Point], minutes: float) -> list[Point]:
    """The points up to the end of the session, the last one on it."""
    kept = [p for p in points if p[0] <= minutes]
    if len(kept) < len(points):
        value = _value(points, minutes)
        kept += [(minutes, value)] if value is not None else []
    return kept
