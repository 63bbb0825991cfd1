"""What a report shows in pictures: use and idle stock, leaks, expansions, running hours."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankbook.output import expansions, in_use, leaks, pressures, pump_hours
from tankbook.output.document import Block, Grid, Section, Words
from tankbook.output.page import Page, counted
from tankbook.rules.summary import Summary


def use_of(told: Summary) -> Iterator[Block]:
    """Use and idle stock, month by month."""
    yield Words(f"{in_use.headline(told.use)}.")
    if told.use.months:
        yield in_use.picture(told.use)
        yield Words(in_use.HOW)


def hours_of(told: Summary) -> Iterator[Block]:
    """What each compressor ran, and what is counted by its hours."""
    for place, pump in enumerate(told.hours):
        yield pump_hours.picture(pump, told.today, place)
        grid = pump_hours.parts_grid(pump, alone=len(told.hours) == 1)
        yield from [grid] if grid else ()
    if told.hours:
        yield Words(pump_hours.HOW)


def _losing(told: Summary) -> Iterator[Block]:
    """What loses gas as it stands, and the pressures of the worst."""
    page = Page(shore=told.shore)
    yield Words(f"{leaks.headline(told.leaks)}.")
    if not told.leaks.leaking:
        return
    columns = leaks.COLUMNS
    rows = tuple(columns.rows(told.leaks.leaking, page))
    yield Grid("Losing gas as they stand", columns.heads, rows, right=columns.numbers)
    for place, story in enumerate(told.losing):
        yield pressures.picture(story, page, place)
    more = len(told.leaks.leaking) - len(told.losing)
    if more:
        yield Words(f"{counted(more, 'cylinder')} more lose gas: `tankbook history ID --svg`.")


def _expansions(told: Summary) -> Iterator[Block]:
    if told.sheets:
        yield expansions.picture(told.sheets)
    else:
        yield Words("No hydro has its expansions on record.")


def sections(told: Summary) -> Iterator[Section]:
    """The sections that are pictures first of all."""
    yield Section("use", "Use and idle stock", tuple(use_of(told)))
    yield Section("losing", "Losing gas", tuple(_losing(told)))
    yield Section("expansion", "Expansion over the hydros", tuple(_expansions(told)))


def data(told: Summary) -> dict[str, Any]:
    """What the pictures show, as JSON."""
    return {
        "use": in_use.data(told.use),
        "running": pump_hours.data(told.hours),
        "losing_gas": leaks.data(told.leaks),
        "expansions": expansions.data(told.sheets),
    }
