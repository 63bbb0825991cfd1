"""The fill plan as a card for the bench: one step after the other, in type read from the panel.

Readings are rounded down to what a gauge shows: no figure on the card is above the one allowed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.results import CylinderChange, Ends, Load, Plan, PlanAct, PlanStep
from tankbook.output.drawing import Item, Line, Text, box
from tankbook.output.page import Page, plain_date
from tankbook.output.paper.face import PaperError, baseline, height, printable, wrapped
from tankbook.output.paper.form import PAPER
from tankbook.output.paper.pen import MARGIN, print_pages

LARGE, MIDDLE, SMALL = 20.0, 13.0, 9.0
"""Type [pt]: a figure of 20 pt is 5 mm high, read at about 2 m (common practice, no source)."""
LEADING = 1.22
TICK = 7.0
HANG = 11.0


class CardLine(Struct, frozen=True):
    """A line of the card: its text, its size [pt], and how far in it stands [mm]."""

    text: str
    size: float = MIDDLE
    bold: bool = False
    indent: float = 0.0


class CardBlock(Struct, frozen=True):
    """Lines that stay on one page; one to be ticked off has a box before it."""

    lines: tuple[CardLine, ...]
    ticked: bool = False


def bench_card(plan: Plan, ledger: str, day: dt.date, page: Page) -> bytes:
    """The card as PDF.

    Raises:
        PaperError: something on it cannot be printed.
    """
    paper = PAPER[page.shore]
    title = f"Fill plan, {plain_date(day)}"
    pages = _laid_out(tuple(blocks(plan, title, page)), *paper)
    return print_pages(pages, paper, title, f"{ledger}, {title}")


def blocks(plan: Plan, title: str, page: Page) -> Iterator[CardBlock]:
    """What the card says, in order: the cautions first, then load by load, step by step."""
    ambient = page.temperature(plan.ambient)
    yield CardBlock((CardLine(title, LARGE, bold=True), CardLine(f"{plan.gas}, at {ambient}")))
    yield CardBlock(tuple(CardLine(caution, SMALL) for caution in plan.cautions))
    for load in plan.loads:
        yield _load(load, page)
        for step in plan.steps:
            if step.load == load.number:
                yield _step(step, page)
    loads = {load.number for load in plan.loads}
    for step in plan.steps:
        if step.load not in loads:
            yield _step(step, page)
    for one in plan.unfilled:
        yield CardBlock(
            (
                CardLine(f"NOT FILLED: {one.id}", MIDDLE, bold=True),
                CardLine(f"{one.why}. {one.mend}", SMALL),
            )
        )
    banks = [
        CardLine(f"{b.label}  {page.down(b.before)} to {page.down(b.after)}", SMALL + 1)
        for b in plan.banks
    ]
    yield CardBlock((CardLine("Banks, cold", MIDDLE, bold=True), *banks))


def _load(load: Load, page: Page) -> CardBlock:
    seats = ", ".join(f"{seat.id} at {seat.position}" for seat in load.seats)
    pressure = page.marked(load.fill_pressure)
    return CardBlock(
        (
            CardLine(f"Load {load.number}: regulator at {pressure}, no higher", MIDDLE, bold=True),
            CardLine(f"Connect {seats}", MIDDLE),
        )
    )


def _step(step: PlanStep, page: Page) -> CardBlock:
    lines = [CardLine(f"{step.number}. {_what(step)}", LARGE, bold=True, indent=HANG)]
    for change in step.changes:
        reads = f"{_READS[step.ends]} {page.down(change.stop_at)}"
        lines.append(CardLine(f"{change.id}: {reads}", LARGE, indent=HANG))
        lines.append(CardLine(_after(change, page), SMALL, indent=HANG))
    ends = f"{_ENDS[step.ends]}, about {step.minutes:.0f} min"
    if step.source_after is not None and step.source:
        ends += f"; {step.source} then reads {page.down(step.source_after)}"
    lines.append(CardLine(ends, SMALL + 1, indent=HANG))
    return CardBlock(tuple(lines), ticked=True)


def _what(step: PlanStep) -> str:
    ids = ", ".join(change.id for change in step.changes)
    if step.act is PlanAct.EQUALIZE:
        return f"Equalize {step.source} into {ids}"
    if step.act is PlanAct.OPEN:
        return f"Open {step.source} to {ids}"
    if step.act is PlanAct.WAIT:
        return f"Wait: {ids} cools" if ids else "Wait"
    if step.act is PlanAct.TOP_OFF:
        return f"Top off {ids} from {step.source}" if step.source else f"Top off {ids}"
    return f"Compressor to {ids}"


_ENDS = {
    Ends.LEVEL: "until the flow stops",
    Ends.STOP: "until the gauge reads the stop",
    Ends.TIME: "until the time is up",
}


_READS = {Ends.LEVEL: "levels at about", Ends.STOP: "stop at", Ends.TIME: "then reads about"}


def _after(change: CylinderChange, page: Page) -> str:
    """From what it comes and where it settles; a prediction where it is still warm."""
    said = f"from {page.down(change.before)}, cold {page.down(change.after)}"
    if change.hot is not None:
        said += f" (predicted, {page.down(change.hot.low)} to {page.down(change.hot.high)})"
    return said


def _laid_out(blocks: tuple[CardBlock, ...], width: float, tall: float) -> list[list[Item]]:
    pages: list[list[Item]] = [[]]
    y = MARGIN
    for block in blocks:
        lines = [
            replace(line, text=text)
            for line in block.lines
            for text in _fitted(line, width - 2 * MARGIN - line.indent)
        ]
        takes = sum(height(1, line.size, LEADING) for line in lines)
        if y + takes > tall - MARGIN and pages[-1]:
            pages.append([])
            y = MARGIN
        pages[-1] += _marks(block, lines, y, width)
        y += takes + 3.0
    return pages


def _fitted(line: CardLine, room: float) -> tuple[str, ...]:
    found = wrapped(printable(line.text, "fill plan"), room, line.size, line.bold)
    if found is None:
        raise PaperError(f"fill plan: `{line.text}` does not fit on the card")
    return found


def _marks(block: CardBlock, lines: list[CardLine], y: float, width: float) -> Iterator[Item]:
    if block.ticked:
        yield Line(MARGIN, y - 1.2, width - MARGIN, y - 1.2, 0.3)
        yield box(MARGIN, y + 0.6, TICK, TICK, None, 1.0)
    for line in lines:
        at = baseline(y, line.size)
        yield Text(MARGIN + line.indent, at, line.text, line.size, bold=line.bold)
        y += height(1, line.size, LEADING)
