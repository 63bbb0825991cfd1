"""Expansion over a cylinder's hydros, where the sheets are on record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from tankbook.output import chart
from tankbook.output.chart import LEFT, RIGHT, SMALL, TYPE, Frame, Names
from tankbook.output.document import Grid, Picture
from tankbook.output.drawing import Anchor, Box, Drawing, Item, Text, Tone, Trace
from tankbook.output.page import Page, counted
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.records.words import TestResult
from tankbook.rules.expansion import ExpansionSheet

TALL = 120.0
"""How high each of the two frames is [pt]."""

MOST_LINES = 8
"""Cylinders in the picture of a fleet; the table has all."""


def _cc(key: str, litres: str, head: str) -> Column[ExpansionSheet]:
    """An expansion in cubic centimetres, as test sheets have it."""
    return Column(
        key,
        lambda s: 1000 * getattr(s.test, litres).litres,
        head,
        lambda cc: f"{cc:.1f} cc",
        right=True,
    )


COLUMNS = Table[ExpansionSheet](
    Column("id", lambda s: s.id, "id"),
    Column("on", lambda s: s.test.on, "tested"),
    Column("by", lambda s: s.test.by or None, "by", wrap=True),
    Column("test", lambda s: s.test.test_pressure, "at", units=PRESSURE, right=True),
    _cc("total_cc", "total_expansion", "total"),
    _cc("permanent_cc", "permanent_expansion", "permanent"),
    Column("kept_percent", lambda s: s.kept, "kept", lambda p: f"{p:.1f} %", right=True),
    Column(
        "limit_percent",
        lambda s: s.limit.share.percent if s.limit else None,
        "at most",
        lambda p: f"{p:g} %",
        right=True,
    ),
    Column("result", lambda s: s.test.result, "result"),
)


def data(sheets: Sequence[ExpansionSheet]) -> list[dict[str, Any]]:
    """The JSON shape of the sheets."""
    return COLUMNS.objects(sheets)


def text(sheets: Sequence[ExpansionSheet], page: Page) -> str:
    """The figures of the picture."""
    return COLUMNS.text(sheets, page)


def picture(sheets: Sequence[ExpansionSheet], name: str = "fleet") -> Picture:
    """The sheets of one cylinder, or of a fleet, oldest first of each."""
    rows = tuple(COLUMNS.rows(sheets, Page()))
    over = tuple(place for place, s in enumerate(sheets) if s.is_over)
    caption = "Expansion at each hydro whose sheet is on record"
    grid = Grid(caption, COLUMNS.heads, rows, right=COLUMNS.numbers, alarm=over)
    return Picture(f"expansion-{name}", drawing(sheets, chart.IN_REPORT), grid)


def drawing(sheets: Sequence[ExpansionSheet], width: float = chart.ALONE) -> Drawing:
    """Above, what each kept of its expansion, against its limit; below, the total expansion. A
    fleet's are those that kept most at their last hydro."""
    found = {id_: list(mine) for id_, mine in groupby(sheets, key=lambda s: s.id)}
    ids = sorted(found, key=lambda id_: (-found[id_][-1].kept, id_))[:MOST_LINES]
    one = f"{ids[0]}: expansion" if len(found) == 1 else "Expansion"
    title = f"{one} over the hydros"
    if not sheets:
        return chart.empty(title, "No hydro has its expansions on record.", width)
    shown = [s for id_ in ids for s in found[id_]]
    days = [chart.noon(s.test.on.first) for s in shown]
    year = 365 * chart.DAY
    span = min(days) - year / 2, max(days) + year / 2
    limits = sorted({s.limit.share.percent for s in shown if s.limit})
    whose = {
        most: [id_ for id_ in ids if (last := found[id_][-1].limit) and last.share.percent == most]
        for most in limits
    }
    upper = Box(LEFT, 46.0, width - LEFT - RIGHT, TALL)
    lower = Box(LEFT, upper.bottom + chart.FOOT + 34.0, width - LEFT - RIGHT, TALL)
    kept = chart.framed(upper, span, 1.05 * max([*(s.kept for s in shown), *limits]), 4)
    total = chart.framed(lower, span, 1.05 * max(_total(s) for s in shown), 4)
    head = f"{chart.short(ids[0])}: expansion" if len(found) == 1 else "Expansion"
    items: list[Item] = [Text(LEFT, 16, f"{head} over the hydros", TYPE, bold=True)]
    items += _frame(kept, "%", "permanent of total expansion")
    items += _frame(total, "cc", "total expansion")
    names = Names(Box(LEFT, upper.y - 4, width - LEFT - 2, upper.height + 4))
    items += _limits(kept, whose, names)
    items += _lines(kept, [found[i] for i in ids], names, lambda s: s.kept)
    beneath = Names(Box(LEFT, lower.y - 4, width - LEFT - 2, lower.height + 4))
    items += _lines(total, [found[i] for i in ids], beneath, _total)
    keyed = chart.key(_key(shown, limits), lower.bottom + chart.FOOT + 10, width)
    says = " ".join(_says(found, ids))
    return Drawing(width, keyed.foot, title, says, (*items, *keyed.items))


def _total(sheet: ExpansionSheet) -> float:
    assert sheet.test.total_expansion is not None
    return 1000 * sheet.test.total_expansion.litres


def _frame(frame: Frame, unit: str, said: str) -> Iterator[Item]:
    yield Text(frame.place.x + 2, frame.place.y - 8, said, SMALL)
    yield from chart.values(frame, unit)
    yield from chart.times(frame)


def _limits(frame: Frame, whose: dict[float, list[str]], names: Names) -> Iterator[Item]:
    """Each limit, with whose it is where there are several."""
    for limit, ids in whose.items():
        named = f": {chart.short(ids[0])}" + (f" and {len(ids) - 1} more" if ids[1:] else "")
        y = frame.y(limit)
        left, right = frame.place.x, frame.place.right
        yield Trace(((left, y), (right, y)), 0.8, Tone.INK, chart.DASHED)
        places = [(right, y - 3, Anchor.END), (left + 3, y - 3, Anchor.START)]
        said = f"at most {limit:g} %"
        yield from names.put(f"{said}{named}" if len(whose) > 1 else said, places)


def _lines(
    frame: Frame, found: Sequence[Sequence[ExpansionSheet]], names: Names, value: Any
) -> Iterator[Item]:
    ends = []
    for mine in found:
        points = [frame.at((chart.noon(s.test.on.first), value(s))) for s in mine]
        if len(through := chart.joined(points)) > 1:
            names.keep_off([line := Trace(through, 1.0)])
            yield line
        for sheet, (x, y) in zip(mine, points, strict=True):
            passed = sheet.test.result is TestResult.PASS
            mark = chart.dot(x, y, full=passed) if passed else chart.square(x, y, full=True)
            names.keep_off([mark])
            yield mark
        ends.append((mine[-1].id, *points[-1]))
    for id_, x, y in ends:
        yield from names.put(chart.short(id_), chart.around(x, y))


def _key(
    shown: Sequence[ExpansionSheet], limits: Sequence[float]
) -> Iterator[tuple[chart.Sample, str]]:
    if any(s.test.result is TestResult.PASS for s in shown):
        yield chart.mark(lambda x, y: chart.dot(x, y, full=True)), "passed"
    if any(s.test.result is not TestResult.PASS for s in shown):
        yield chart.mark(lambda x, y: chart.square(x, y, full=True)), "FAILED"
    if limits:
        yield chart.dashes(0.8, chart.DASHED), "the most it may keep"


def _says(found: dict[str, list[ExpansionSheet]], ids: Sequence[str]) -> Iterator[str]:
    for id_ in ids:
        each = "; ".join(f"{s.test.on} {s.kept:.1f} % of {_total(s):.1f} cc" for s in found[id_])
        limit = found[id_][-1].limit
        most = f" (at most {limit.share.percent:g} %)" if limit else ""
        yield f"{id_} kept{most} {each}."
    if len(found) > len(ids):
        yield f"{counted(len(found) - len(ids), 'cylinder')} that kept less are in the table."
