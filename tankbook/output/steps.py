"""The steps of a load: what to open and shut, where to stop, what then is where."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.filling import Act, Change, Ends, Load, Plan, Step
from tankbook.output.page import Page
from tankbook.output.readings import down, whole
from tankbook.output.tables import table

HEADERS = ("step", "do", "cylinder", "from", "stop, hot", "settles", "then", "min")
"""`then` is what the source shows afterwards, cold."""


def load_lines(plan: Plan, load: Load, page: Page) -> Iterator[str]:
    """A load: its fill pressure, who is connected where, its steps, how it ends."""
    seats = [f"{seat.id} at {seat.position}" for seat in load.seats]
    yield page.items(
        f"Load {load.number}: fill regulator to {page.marked(load.fill_pressure)}", seats
    )
    rows: list[tuple[str, ...]] = []
    open_now = ""
    for step in plan.steps:
        if step.load == load.number:
            rows += _rows(plan, step, open_now, page)
            open_now = step.source if step.act in {Act.OPEN, Act.TOP_OFF} else ""
    right = ("step", "from", "stop, hot", "settles", "min")
    if rows:
        yield table(HEADERS, rows, page, wrap=("do",), right=right)
    shut = f"shut {open_now}, then " if open_now else "shut "
    yield page.wrap(
        f"Then {shut}the cylinder valves; bleed; remove ({load.handling_minutes:.0f} min a load).",
        hang="  ",
    )


def _rows(plan: Plan, step: Step, open_now: str, page: Page) -> Iterator[tuple[str, ...]]:
    first = True
    for change in step.changes:
        yield (
            str(step.number) if first else "",
            _do(step, open_now) if first else "",
            change.id,
            _before(plan, change, page),
            *_stops(step, change, page),
            _source(step, page) if first else "",
            _minutes(step.minutes) if first else "",
        )
        first = False


def _before(plan: Plan, change: Change, page: Page) -> str:
    """What was read as it was read; what the plan has brought it to, rounded down."""
    read = any(one.id == change.id and one.start == change.before for one in plan.reached)
    return whole(change.before, page) if read else down(change.before, page)


def _stops(step: Step, change: Change, page: Page) -> tuple[str, str]:
    if step.act is Act.WAIT:
        return "", ""
    shown = down(change.stop_at, page)
    stop = f"level {shown}" if step.ends is Ends.LEVEL else shown
    return stop, down(change.after, page)


def _do(step: Step, open_now: str) -> str:
    shut = f"shut {open_now}, " if open_now and open_now != step.source else ""
    match step.act:
        case Act.EQUALIZE:
            return f"{shut}equalize from {step.source}"
        case Act.COMPRESSOR:
            return f"{shut}switch to compressor"
        case Act.WAIT:
            return f"shut {open_now}, let cool" if open_now else "let cool"
        case Act.TOP_OFF:
            return f"{shut}top off from {step.source}"
        case Act.OPEN:
            return f"{shut}open {step.source}" if step.source != open_now else f"{step.source} on"


def _source(step: Step, page: Page) -> str:
    if step.source_after is None:
        return ""
    return f"{step.source} {down(step.source_after, page)}"


def _minutes(value: float) -> str:
    return f"{value:.1f}" if value >= 0.05 else "<0.1"
