"""What a compressor ran by month, what it is reckoned to run, and the hours on its filters."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from msgspec import Struct

from tankbook.output import chart
from tankbook.output.chart import LEFT, RIGHT, SMALL, TYPE, Frame, Names
from tankbook.output.document import Grid, Picture
from tankbook.output.drawing import Anchor, Box, Drawing, Item, Line, Shape, Text, Tone, Trace, box
from tankbook.output.page import Page, plain_date
from tankbook.output.tables import Column, Table
from tankbook.rules.months import months_until
from tankbook.rules.pump_hours import PartHours, PumpHours
from tankbook.units import PartialDate

TALL, TALL_PARTS = 130.0, 130.0
"""How high the frames of the months and of the filters are [pt]."""

BACK = 24
"""Months drawn before this one."""

DASHES = ((), (9.0, 3.0), (9.0, 3.0, 1.5, 3.0), (4.0, 2.0))
"""The lines of filters, told apart by their dashes; a forecast is dotted."""


class MonthLine(Struct, frozen=True):
    """A month of one compressor: what it ran as far as it was seen, and what it is reckoned to run
    besides."""

    pump: str
    month: PartialDate
    ran: float | None
    days: int
    ahead: float | None


def months_of(found: PumpHours) -> list[MonthLine]:
    """The months that were seen and those ahead, oldest first."""
    ran = {m.month: m for m in found.months}
    ahead = {m.month: m.hours for m in found.ahead}
    return [
        MonthLine(
            found.name,
            month,
            ran[month].hours if month in ran else None,
            ran[month].days if month in ran else 0,
            ahead.get(month),
        )
        for month in sorted({*ran, *ahead}, key=lambda m: m.first)
    ]


MONTHS = Table[MonthLine](
    Column("month", lambda m: m.month, "month", plain_date),
    Column("ran_hours", lambda m: m.ran, "ran, h", lambda h: f"{h:.1f}", right=True),
    Column("days_seen", lambda m: m.days, "days seen", right=True),
    Column("expected_hours", lambda m: m.ahead, "expected, h", lambda h: f"{h:.1f}", right=True),
)


def _on_it(part: PartHours) -> float | None:
    return part.runs[-1][-1][1] if part.runs else None


PARTS = Table[PartHours](
    Column("name", lambda p: p.name, "part"),
    Column("obligation", lambda p: p.what, "what", lambda what: str(what.called)),
    Column("changed", lambda p: p.runs[-1][0][0] if p.runs else None, "last"),
    Column("hours", _on_it, "on it, h", lambda h: f"{h:.1f}", right=True),
    Column("life_hours", lambda p: p.life, "lasts, h", lambda h: f"{h:g}", right=True),
    Column("expected", lambda p: p.due.expected if p.due else None, "expected until"),
)

HOW = (
    "Between two sights of the meter its hours are spread over the days. Expected: what it ran a "
    "day in that month of the last three years, or in the whole last year where that month was "
    "not seen. A forecast is no permission: read the meter."
)


def data(found: Sequence[PumpHours]) -> list[dict[str, Any]]:
    """The JSON shape of the hours."""
    return [
        {
            "name": each.name,
            "why_not": each.why_not or None,
            "seen_on": each.season.seen_on if each.season else None,
            "months": MONTHS.objects(months_of(each)),
            "parts": PARTS.objects(each.parts),
        }
        for each in found
    ]


def text(found: Sequence[PumpHours], today: dt.date, page: Page) -> str:
    """The figures of the pictures."""
    said = []
    for each in found:
        if each.why_not:
            said.append(page.wrap(f"{each.name}: {each.why_not}"))
            continue
        said.append(f"{each.name}: hours by month\n{MONTHS.text(_drawn(each, today), page)}")
        said.append(PARTS.text(each.parts, page))
    said.append(page.wrap(HOW) if found else page.wrap("No hour meter is on record."))
    return "\n\n".join(filter(None, said))


def _drawn(found: PumpHours, today: dt.date) -> list[MonthLine]:
    """The months that are shown: two years back, and those ahead."""
    first = months_until(today, BACK + 1)[0].first
    return [m for m in months_of(found) if m.month.first >= first]


def picture(found: PumpHours, today: dt.date, place: int = 0) -> Picture:
    """The picture of one compressor and its months."""
    rows = tuple(MONTHS.rows(_drawn(found, today), Page()))
    grid = Grid(f"{found.name}: hours by month", MONTHS.heads, rows, right=MONTHS.numbers)
    return Picture(f"hours-{place}", drawing(found, today, chart.IN_REPORT), grid)


def drawings(found: Sequence[PumpHours], today: dt.date) -> list[Drawing]:
    """The pictures of all; one that says so where there is none."""
    none = [chart.empty("Hours by month", "No hour meter is on record.", chart.ALONE)]
    return [drawing(each, today) for each in found] or none


def headline(found: Sequence[PumpHours]) -> str:
    """What is used up next, and when that is expected."""
    parts = [
        (p.due.expected, p.name, len(e.season.watched) if e.season else 0)
        for e in found
        for p in e.parts
        if p.due and p.due.expected
    ]
    over = [p.name for e in found for p in e.parts if p.due and p.due.hours_over]
    said = [f"PAST ITS LIFE: {', '.join(over)}"] if over else []
    if parts:
        day, name, watched = min(parts)
        known = "" if watched == 12 else f", by {watched} of the year's 12 months seen"
        said.append(f"{name} is expected to be used up next, about {day:%Y-%m}{known}")
    return "; ".join(said) or "Nothing that runs in hours can be reckoned ahead"


def parts_grid(found: PumpHours, *, alone: bool) -> Grid | None:
    """The filters and upkeep of a compressor, as a table; None where there are none. One that is
    `alone` needs no name."""
    rows = tuple(PARTS.rows(found.parts, Page()))
    caption = "Counted by running hours" if alone else f"{found.name}: counted by its hours"
    return Grid(caption, PARTS.heads, rows, right=PARTS.numbers) if rows else None


def drawing(found: PumpHours, today: dt.date, width: float = chart.ALONE) -> Drawing:
    """Hours by month, what was run black and what is expected open; below it the hours on each
    filter, solid or in dashes as the meter was seen, dotted as expected."""
    title = f"{found.name}: hours by month"
    months = _drawn(found, today)
    if found.why_not or not months:
        return chart.empty(title, found.why_not or "Its meter was not read twice yet.", width)
    last = months[-1].month.last + dt.timedelta(days=1)
    span = chart.noon(months[0].month.first) - chart.DAY / 2, chart.noon(last) - chart.DAY / 2
    place = Box(LEFT, 40.0, width - LEFT - RIGHT, TALL)
    most = max((m.ran or 0.0) + (m.ahead or 0.0) for m in months)
    frame = chart.framed(place, span, most or 1.0, 4)
    head = f"{chart.short(found.name)}: hours by month"
    items: list[Item] = [Text(LEFT, 16, head, TYPE, bold=True)]
    items += chart.values(frame, "h")
    items += chart.times(frame)
    for month in months:
        items += _bar(frame, month)
    items += _today(frame, today)
    foot = place.bottom + chart.FOOT
    parts = found.begun
    if parts:
        below = Box(LEFT, foot + 26.0, width - LEFT - RIGHT, TALL_PARTS)
        items += _parts(below, span, found)
        foot = below.bottom + chart.FOOT
    keyed = chart.key(_key(found, months, parts), foot + 10, width)
    says = " ".join(_says(found, months))
    return Drawing(width, keyed.foot, title, says, (*items, *keyed.items))


def _bar(frame: Frame, month: MonthLine) -> Iterator[Item]:
    first = chart.noon(month.month.first) - chart.DAY / 2
    last = chart.noon(month.month.last) + chart.DAY / 2
    left, right = frame.x(max(first, frame.first)), frame.x(min(last, frame.last))
    left, right = left + (right - left) * 0.12, right - (right - left) * 0.12
    ran, ahead = month.ran or 0.0, month.ahead or 0.0
    for low, high, fill in ((0.0, ran, Tone.DARK), (ran, ran + ahead, Tone.PAPER)):
        if high > low:
            top = frame.y(high)
            yield box(left, top, right - left, frame.y(low) - top, fill, 0.8)


def _today(frame: Frame, today: dt.date) -> Iterator[Item]:
    x = frame.x(chart.noon(today))
    if frame.place.x <= x <= frame.place.right:
        yield Line(x, frame.place.y - 4, x, frame.place.bottom, 0.8)
        yield Text(x + 3, frame.place.y - 8, "today", SMALL)


def _parts(place: Box, span: tuple[float, float], found: PumpHours) -> Iterator[Item]:
    parts = found.begun
    most = max(max(p.life for p in parts), *(h for p in parts for run in p.runs for _, h in run))
    frame = chart.framed(place, span, most * 1.05, 4)
    names = Names(Box(LEFT, place.y - 2, place.width + RIGHT - 2, place.height + 2))
    yield Text(place.x + 2, place.y - 8, "hours on each filter and piece of upkeep", SMALL)
    yield from chart.values(frame, "h")
    yield from chart.times(frame)
    for number, each in enumerate(parts):
        y = frame.y(each.life)
        yield Trace(((place.x, y), (place.right, y)), 0.6, Tone.DARK, (2.0, 2.0))
        lines = list(_sawtooth(frame, each, DASHES[number % len(DASHES)]))
        ahead = _cut(_ahead(found, each), frame)
        names.keep_off([*lines, Trace(tuple(frame.at(p) for p in ahead))])
        yield from lines
    for each in parts:  # once it is known where lines run
        y, said = frame.y(each.life), f"{chart.short(each.name)} lasts {each.life:g} h"
        along = [place.x + 3 + place.width * n / 12 for n in range(12)]
        yield from names.put(said, [(x, y + d, Anchor.START) for d in (-3, 9) for x in along])
    ends = [list(_end(frame, each, found)) for each in parts]
    names.keep_off(mark for drawn in ends for mark in drawn if isinstance(mark, Shape))
    for each, drawn in zip(parts, ends, strict=True):
        yield from drawn
        yield from _name(frame, each, found, names)


def _sawtooth(frame: Frame, part: PartHours, dash: tuple[float, ...]) -> Iterator[Item]:
    """Each run as far as it lies in the frame, and a mark at each change."""
    for run in part.runs:
        points = _cut([(chart.noon(day), hours) for day, hours in run], frame)
        through = chart.joined([frame.at(p) for p in points])
        if len(through) > 1:
            yield Trace(through, 1.4, Tone.INK, dash)
        begun = chart.noon(run[0][0])
        if frame.first <= begun <= frame.last:
            yield chart.wedge(frame.x(begun), frame.place.bottom - 3, full=True)


def _cut(points: Sequence[tuple[float, float]], frame: Frame) -> list[tuple[float, float]]:
    """A line as far as it lies between the first and the last moment of a frame."""
    found: list[tuple[float, float]] = []
    for (a, was), (b, now) in pairwise(points):
        begins, ends = max(a, frame.first), min(b, frame.last)
        if begins <= ends:
            pace = (now - was) / (b - a) if b > a else 0.0
            found += [(begins, was + pace * (begins - a)), (ends, now - pace * (b - ends))]
    return found


def _ahead(found: PumpHours, part: PartHours) -> list[tuple[float, float]]:
    """The hours on a part from the last sight to the day that it is expected to last until, by the
    season; none where nothing is expected."""
    day, hours = part.runs[-1][-1]
    expected = part.due.expected if part.due else None
    if expected is None or found.season is None:
        return []
    months = [m.month.last for m in found.ahead if day < m.month.last < expected]
    points = [(on, hours + found.season.hours(day, on)) for on in (*months, expected)]
    return [(chart.noon(on), ran) for on, ran in [(day, hours), *points]]


def _end(frame: Frame, part: PartHours, found: PumpHours) -> Iterator[Item]:
    """The forecast, dotted to the day that it is expected to last until, with a mark there."""
    expected = part.due.expected if part.due else None
    if expected is None:
        return
    through = _through(frame, part, found)
    if len(through) > 1:
        yield Trace(through, 1.0, Tone.INK, chart.DOTTED)
    if frame.first <= chart.noon(expected) <= frame.last:
        yield chart.wedge(*_last(frame, part, found), full=False, up=False)


def _through(frame: Frame, part: PartHours, found: PumpHours) -> tuple[tuple[float, float], ...]:
    points = _cut(_ahead(found, part), frame)
    return chart.joined([frame.at(p) for p in points])


def _last(frame: Frame, part: PartHours, found: PumpHours) -> tuple[float, float]:
    """Where what is drawn of a part ends."""
    through = _through(frame, part, found)
    if len(through) > 1:
        return through[-1]
    day, hours = part.runs[-1][-1]
    return frame.at((chart.noon(day), hours))


def _name(frame: Frame, part: PartHours, found: PumpHours, names: Names) -> Iterator[Item]:
    """Its name where it ends, with when that is expected."""
    x, y = _last(frame, part, found)
    expected = part.due.expected if part.due else None
    said = chart.short(part.name)
    if expected is not None:
        said = f"{said}: about {plain_date(PartialDate(expected.year, expected.month))}"
    elif part.due is not None and part.due.hours_over:
        said = f"{said}: PAST ITS LIFE"
    if frame.place.x <= x <= frame.place.right:
        yield from names.put(said, chart.around(x, y, 8), bold=True)


def _key(
    found: PumpHours, months: Sequence[MonthLine], parts: Sequence[PartHours]
) -> Iterator[tuple[chart.Sample, str]]:
    yield chart.patch(Tone.DARK), "ran"
    if any(m.ahead for m in months):
        yield chart.patch(Tone.PAPER), "expected, by the season"
    for number, part in enumerate(parts):
        yield chart.dashes(1.4, DASHES[number % len(DASHES)]), f"on {chart.short(part.name)}"
    if parts:
        yield chart.mark(lambda x, y: chart.wedge(x, y, full=True)), "changed, or done"
    if any(p.due and p.due.expected for p in parts):
        yield chart.dashes(1.0, chart.DOTTED), "expected"
        down = chart.mark(lambda x, y: chart.wedge(x, y, full=False, up=False))
        yield down, "expected to be used up"


def _says(found: PumpHours, months: Sequence[MonthLine]) -> Iterator[str]:
    ran = [m for m in months if m.ran is not None]
    if ran:
        most = max(ran, key=lambda m: m.ran or 0.0)
        total = sum(m.ran or 0.0 for m in ran)
        yield (
            f"{total:.1f} h from {plain_date(ran[0].month)} to {plain_date(ran[-1].month)}, "
            f"most in {plain_date(most.month)} ({most.ran:.1f} h)."
        )
    for part in found.parts:
        on_it = _on_it(part)
        if on_it is None:
            continue
        expected = part.due.expected if part.due else None
        until = f", expected to last until {plain_date(expected)}" if expected else ""
        yield f"{part.name}: {on_it:.1f} of {part.life:g} h{until}."
