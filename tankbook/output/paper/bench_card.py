"""The fill plan as a card for the bench: one step after the other, in type read from the panel.

Readings are rounded down to what a gauge shows: no figure on the card is above the one allowed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.results import Load, Plan, PlanStep, Turn
from tankbook.output.drawing import Item, Line, Text, box
from tankbook.output.page import Page, plain_date
from tankbook.output.paper.face import baseline, height, in_lines, printable
from tankbook.output.paper.form import PAPER
from tankbook.output.paper.pen import MARGIN, print_pages
from tankbook.output.plan import LOOK, WARNING, load_hours
from tankbook.output.plan_steps import compressor_at, seats_text, sentences, whole_minutes
from tankbook.output.size_heat import briefly

LARGE, MIDDLE, BODY, SMALL = 18.0, 13.0, 11.5, 8.5
"""Type [pt]: a figure of 11.5 pt is 3 mm high, read at about 1 m (common practice, no source)."""
SCALES = 1.0, 0.96, 0.92, 0.88
"""A card is set in type so much smaller where that saves a page, whole type first: a step is looked
for on fewer pages, and its figures are 2.6 mm high at least (own choice)."""
LEADING = 1.2
GAP = 1.4
TICK = 4.5
HANG = 7.0


class CardLine(Struct, frozen=True):
    """A line of the card: its text, its size [pt], and how far in it stands [mm]."""

    text: str
    size: float = MIDDLE
    bold: bool = False
    indent: float = 0.0


class CardBlock(Struct, frozen=True):
    """Lines that stay on one page; one to be ticked off has a box before it. `sets` is what the
    regulator is set to from here on, and `load` who is connected: both are said at the head of
    each page that follows."""

    lines: tuple[CardLine, ...]
    ticked: bool = False
    sets: str = ""
    load: str = ""


def bench_card(
    plan: Plan,
    ledger: str,
    day: dt.date,
    page: Page,
    refused: Sequence[str] = (),
    begins: dt.datetime | None = None,
    notes: Sequence[str] = (),
) -> bytes:
    """The card as PDF; `refused` are the cylinders that may not be filled, each with why, `begins`
    is when work may begin, for the hours of a day, and `notes` are the warnings and what was taken
    for granted.

    Raises:
        PaperError: something on it cannot be printed.
    """
    paper = PAPER[page.shore]
    title = f"Fill plan, {plain_date(day)}"
    pages = _on_fewest(tuple(blocks(plan, title, page, refused, begins, notes)), *paper)
    return print_pages(pages, paper, title, f"{ledger}, {title}")


def blocks(
    plan: Plan,
    title: str,
    page: Page,
    refused: Sequence[str] = (),
    begins: dt.datetime | None = None,
    notes: Sequence[str] = (),
) -> Iterator[CardBlock]:
    """What the card says, in order: who is left out, the warnings and the cautions first, then load
    by load, step by step."""
    ambient = page.temperature(plan.ambient)
    yield CardBlock(
        (
            CardLine(title, LARGE, bold=True),
            CardLine(f"{plan.gas}, at {ambient}; pressures in {page.shore}"),
        )
    )
    left_out = [
        *(("DO NOT FILL", said, "") for said in refused),
        *(
            ("FULL ALREADY" if one.full else "NOT FILLED", one.id, f": {one.why}; {one.mend}")
            for one in plan.unfilled
        ),
    ]
    if left_out:
        yield CardBlock(
            tuple(
                line
                for what, who, why in left_out
                for line in (CardLine(f"{what}: {who}{why}", SMALL + 1, bold=True),)
            )
        )
    if notes:
        yield CardBlock(tuple(_noted(notes)))
    look = CardLine(f"Caution: {LOOK}", SMALL + 1, bold=True)
    yield CardBlock((look, *(CardLine(caution, SMALL) for caution in plan.cautions)))
    steps = {load.number: [s for s in plan.steps if s.load == load.number] for load in plan.loads}
    for load in plan.loads:
        hours = load_hours(plan, load, begins) if begins else ""
        yield _load(load, page, hours, compressor_at(plan.steps, load.number))
        for step in steps[load.number]:
            yield _step(step, page)
    banks = ", ".join(
        f"{b.label} {page.down(b.before)} to {page.down(b.after)}" for b in plan.banks
    )
    yield CardBlock((CardLine(f"Banks, cold: {banks}", SMALL + 1),))
    if plan.steps and plan.sizes:
        yield CardBlock((CardLine(f"Heat: {', '.join(map(briefly, plan.sizes))}", SMALL),))


def _noted(notes: Sequence[str]) -> Iterator[CardLine]:
    """Each warning on a line of its own, what was taken for granted in one run of small type."""
    yield from (CardLine(n, SMALL + 1, bold=True) for n in notes if n.startswith(WARNING))
    if granted := [n for n in notes if not n.startswith(WARNING)]:
        yield CardLine(" ".join(granted), SMALL)


def _load(load: Load, page: Page, hours: str, compressor: str) -> CardBlock:
    seats = who = ", ".join(seats_text(load))
    pressure = page.down(load.fill_pressure)
    if compressor:
        who += f". Compressor, to begin with: {compressor}"
    return CardBlock(
        (
            CardLine(f"Load {load.number}: regulator at {pressure}, no higher", MIDDLE, bold=True),
            CardLine(who, BODY),
            *((CardLine(f"{hours[:1].upper()}{hours[1:]}", BODY),) if hours else ()),
        ),
        sets=pressure,
        load=f"Load {load.number}, continued: {seats}",
    )


def _step(step: PlanStep, page: Page) -> CardBlock:
    lines: list[CardLine] = []
    for number, said in enumerate(sentences(step, page)):
        said = said[:1].upper() + said[1:] if not number else said
        head = f"{step.number}. " if not number else ""
        lines.append(CardLine(f"{head}{said}", BODY, bold=not number, indent=HANG))
    if step.minutes:
        last = lines[-1]
        about = f"{last.text} (about {whole_minutes(step.minutes)} min)"
        lines[-1] = replace(last, text=about)
    sets = next((m.at for m in step.moves if m.turn is Turn.SET), None)
    return CardBlock(tuple(lines), ticked=True, sets=page.down(sets) if sets else "")


def _headed(sets: str, load: str) -> list[CardLine]:
    """What stands at the head of a page that is not the first, of the load that goes on there."""
    regulator = [CardLine(f"Regulator at {sets}, no higher", MIDDLE, bold=True)] if sets else []
    return [*regulator, *([CardLine(load, BODY)] if load else [])]


def _on_fewest(blocks: tuple[CardBlock, ...], width: float, tall: float) -> list[list[Item]]:
    """The pages in the largest type in which they are as few as in the smallest."""
    ways = [_laid_out(blocks, width, tall, scale) for scale in SCALES]
    return next(pages for pages in ways if len(pages) == len(ways[-1]))


def _scaled(lines: Sequence[CardLine], scale: float) -> tuple[CardLine, ...]:
    return tuple(replace(line, size=line.size * scale) for line in lines)


def _laid_out(
    blocks: tuple[CardBlock, ...], width: float, tall: float, scale: float
) -> list[list[Item]]:
    blocks = tuple(replace(block, lines=_scaled(block.lines, scale)) for block in blocks)
    pages: list[list[Item]] = [[]]
    y, sets, load = MARGIN, "", ""
    for number, block in enumerate(blocks):
        lines = _lines(block, width)
        takes = needs = _tall(lines)
        if block.load and number + 1 < len(blocks):  # its head stands with its first step
            needs += GAP + _tall(_lines(blocks[number + 1], width))
        if y + needs > tall - MARGIN and pages[-1]:
            pages.append([])
            y = MARGIN
            headed = _headed(block.sets or sets, load) if block.ticked else []
            for line in _scaled(headed, scale):
                head = [replace(line, text=t) for t in _fitted(line, width - 2 * MARGIN)]
                pages[-1] += _marks(CardBlock((line,)), head, y, width)
                y += height(len(head), line.size, LEADING) + GAP
        sets, load = block.sets or sets, block.load or load
        pages[-1] += _marks(block, lines, y, width)
        y += takes + GAP
    return pages


def _lines(block: CardBlock, width: float) -> list[CardLine]:
    return [
        replace(line, text=text)
        for line in block.lines
        for text in _fitted(line, width - 2 * MARGIN - line.indent)
    ]


def _tall(lines: Sequence[CardLine]) -> float:
    return sum(height(1, line.size, LEADING) for line in lines)


def _fitted(line: CardLine, room: float) -> tuple[str, ...]:
    return in_lines(printable(line.text, "fill plan"), room, line.size, line.bold)


def _marks(block: CardBlock, lines: list[CardLine], y: float, width: float) -> Iterator[Item]:
    if block.ticked:
        yield Line(MARGIN, y - GAP / 2, width - MARGIN, y - GAP / 2, 0.3)
        yield box(MARGIN, y + 0.6, TICK, TICK, None, 1.0)
    for line in lines:
        at = baseline(y, line.size)
        yield Text(MARGIN + line.indent, at, line.text, line.size, bold=line.bold)
        y += height(1, line.size, LEADING)
