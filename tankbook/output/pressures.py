"""A cylinder's pressure over time, as a picture and as a table."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import groupby, pairwise
from typing import Any

from msgspec import Struct

from tankbook.output import chart
from tankbook.output.as_json import pressures
from tankbook.output.chart import LEFT, RIGHT, SMALL, TYPE, Frame, Names
from tankbook.output.document import Grid, Picture
from tankbook.output.drawing import Anchor, Box, Drawing, Item, Text, Tone, Trace, box
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.rules.pressures import Between, OutSpan, PressureAt, PressureSeen, PressureStory
from tankbook.units import GaugePressure

MANY = 600
"""More pressures than this lie close together in any picture."""

TALL = 190.0
"""How high the frame of the picture is [pt]."""


class PressureLine(Struct, frozen=True):
    """A pressure, and what is known of the time since the one before it."""

    seen: PressureSeen
    since: Between | None


def lines_of(story: PressureStory) -> list[PressureLine]:
    """Every pressure with what came between it and the one before."""
    since = (None, *story.between)
    return [PressureLine(p, b) for p, b in zip(story.points, since, strict=False)]


def columns(story: PressureStory) -> Table[PressureLine]:
    """What is said of each pressure."""
    level = f"at {story.reference}"
    return Table[PressureLine](
        Column("at", lambda n: n.seen.at, "when", _when),
        Column("what", lambda n: n.seen.what, "at", wrap=True),
        Column("read", lambda n: n.seen.read, "read", units=PRESSURE, right=True),
        Column(
            "temperature_c",
            lambda n: n.seen.temperature.to("degC") if n.seen.temperature else None,
        ),
        Column("", lambda n: n.seen.temperature, "temperature", none="not read", right=True),
        Column("level", lambda n: n.seen.level, level, units=PRESSURE, right=True),
        Column("since", lambda n: n.since, "before it", none="", wrap=True),
    )


def _when(at: dt.datetime) -> str:
    """A moment; of what is known by its day alone, the day."""
    edges = (dt.datetime.combine(at.date(), edge) for edge in (dt.time.min, dt.time.max))
    return f"{at:%Y-%m-%d}" if at in edges else f"{at:%Y-%m-%d %H:%M}"


def headline(story: PressureStory, page: Page) -> str:
    """How much is known, and whether it loses gas."""
    if not story.points:
        since = f" since {plain_date(story.since)}" if story.since else ""
        return f"{story.id}: no pressure is on record{since}"
    first, last = story.points[0].at.date(), story.points[-1].at.date()
    days = plain_date(first) if first == last else f"{plain_date(first)} to {plain_date(last)}"
    said = f"{story.id}: {counted(len(story.points), 'pressure')}, {days}"
    return f"{said}; {_losing(story, page)}" if story.losing else said


def _losing(story: PressureStory, page: Page) -> str:
    assert story.losing is not None
    a_week = story.losing.per_week_pa / 1e5
    return f"losing {page.pressure(GaugePressure.of(a_week, 'bar'))} a week"


def data(story: PressureStory) -> dict[str, Any]:
    """The JSON shape of a cylinder's pressures."""
    return {
        "reference_temperature_c": story.reference.to("degC"),
        **pressures(marked=story.marked),
        "points": columns(story).objects(lines_of(story)),
        "out": [
            {"on": each.on, "at": each.at, "back": each.back, "back_at": each.back_at}
            for each in story.out
        ],
        "losing_gas": story.losing is not None,
    }


def text(story: PressureStory, page: Page) -> str:
    """The figures of the picture; where they lie close together, how to draw fewer."""
    close = f"{len(story.points)} pressures lie close together: --since DATE draws fewer."
    many = page.wrap(close) if len(story.points) > MANY else ""
    return "\n\n".join(filter(None, (columns(story).text(lines_of(story), page), many)))


def picture(story: PressureStory, page: Page, place: int = 0) -> Picture:
    """The picture and its figures; `place` is its own in what it stands in."""
    table = columns(story)
    rows = tuple(table.rows(lines_of(story), page))
    caption = f"{story.id}: the pressures of the picture"
    return Picture(
        f"pressure-{place}",
        drawing(story, page, chart.IN_REPORT),
        Grid(caption, table.heads, rows, right=table.numbers),
    )


def drawing(story: PressureStory, page: Page, width: float = chart.ALONE) -> Drawing:
    """Pressures from left to right; what is not known between two is dotted, and nothing is drawn
    after the last."""
    title = f"{story.id}: pressure over time"
    if not story.points:
        return chart.empty(title, f"{headline(story, page)}.", width)
    unit = page.shore.value
    place = Box(LEFT, 40.0, width - LEFT - RIGHT, TALL)
    seen = [p.level.to(unit) for p in story.points]
    most = max([*seen, story.marked.to(unit) if story.marked else 0.0])
    first, last = chart.seconds(story.points[0].at), chart.seconds(story.points[-1].at)
    frame = chart.framed(place, (first, max(last, chart.noon(story.until))), most * 1.04)
    names = Names(Box(LEFT, 28.0, width - LEFT - 2, TALL + 14))
    head = f"{chart.short(story.id)}: pressure over time"
    items: list[Item] = [Text(LEFT, 16, head, TYPE, bold=True)]
    lacks = chart.incomplete(story.unread)
    items.append(Text(width - RIGHT, 28, lacks[:72], SMALL, Anchor.END, bold=True))
    items += (out := [each for span in story.out for each in _out(frame, span)])
    items += chart.values(frame, unit)
    items += chart.times(frame)
    items += _marked(frame, story, unit, names)
    items += (lines := list(_lines(frame, story, unit)))
    items += (marks := list(_marks(frame, story, unit)))
    names.keep_off([*lines, *marks])
    items += _named(frame, story, page, names)
    keyed = chart.key(_key(story, bool(out)), place.bottom + chart.FOOT + 10, width)
    said = f"{headline(story, page)}. At {story.reference} where the temperature was read."
    ends = f" First {_said(story.points[0], page)}, last {_said(story.points[-1], page)}."
    said = f"{lacks}. {said}" if lacks else said
    return Drawing(width, keyed.foot, title, said + ends, (*items, *keyed.items))


def _said(seen: PressureSeen, page: Page) -> str:
    return f"read {page.pressure(seen.read)} on {plain_date(seen.at.date())} ({seen.what})"


def _out(frame: Frame, span: OutSpan) -> Iterator[Item]:
    """The time of a rental, as far as it lies in the picture: from the hour to the hour, or whole
    days where nobody knows one."""
    begun = chart.seconds(dt.datetime.combine(span.on, span.at or dt.time.min))
    end = frame.last
    if span.back is not None:
        end = chart.seconds(dt.datetime.combine(span.back, span.back_at or dt.time.max))
    left, right = frame.x(max(begun, frame.first)), frame.x(min(end, frame.last))
    if right > left:
        yield box(left, frame.place.y, right - left, frame.place.height, Tone.PALE)


def _marked(frame: Frame, story: PressureStory, unit: str, names: Names) -> Iterator[Item]:
    if story.marked is None:
        return
    y = frame.y(story.marked.to(unit))
    left, right = frame.place.x, frame.place.right
    yield Trace(((left, y), (right, y)), 0.8, Tone.INK, chart.DASHED)
    said = f"marked {chart.figure_text(round(story.marked.to(unit)))}"
    yield from names.put(said, [(right, y - 3, Anchor.END), (left + 3, y - 3, Anchor.START)])


_DRAWN = {
    Between.FILLED: (0.8, Tone.INK, ()),
    Between.LET_OUT: (0.8, Tone.DARK, chart.DASHED),
    Between.STOOD: (1.6, Tone.INK, ()),
    Between.LOST: (3.4, Tone.INK, ()),
    Between.EMPTY: (0.8, Tone.INK, ()),
    Between.UNKNOWN: (0.7, Tone.DARK, chart.DOTTED),
}


def _lines(frame: Frame, story: PressureStory, unit: str) -> Iterator[Item]:
    points = [frame.at((chart.seconds(p.at), p.level.to(unit))) for p in story.points]
    pieces = zip(story.between, pairwise(points), strict=True)
    for how, run in groupby(pieces, key=lambda piece: piece[0]):
        ends = [pair for _, pair in run]
        weight, tone, dash = _DRAWN[how]
        through = chart.joined([ends[0][0], *(end for _, end in ends)])
        if len(through) > 1:
            thin = 1.0 if how is Between.LOST else _size(story)
            yield Trace(through, weight * thin, tone, dash)


def _size(story: PressureStory) -> float:
    """How large marks are and how heavy lines, beside those of few pressures."""
    many = len(story.points)
    return 1.0 if many <= 120 else 0.6 if many <= MANY else 0.35


def _marks(frame: Frame, story: PressureStory, unit: str) -> Iterator[Item]:
    size = _size(story)
    for point in story.points:
        x, y = frame.at((chart.seconds(point.at), point.level.to(unit)))
        if point.what is PressureAt.OPENED:
            yield from chart.cross(x, y, 3.2 * size)
        elif point.what is PressureAt.RETURN:
            yield chart.square(x, y, side=4.4 * size)
        else:
            yield chart.dot(x, y, full=point.temperature is not None, radius=2.2 * size)


def _named(frame: Frame, story: PressureStory, page: Page, names: Names) -> Iterator[Item]:
    """The last pressure, and the pace of a loss beside its line."""
    unit = page.shore.value
    x, y = frame.at((chart.seconds(story.points[-1].at), story.points[-1].level.to(unit)))
    last = story.points[-1]
    said = [(f"read {page.pressure(last.read)}, {plain_date(last.at.date())}", x, y)]
    if story.losing is not None:
        at = story.losing.found.at.replace(tzinfo=None)
        here = next((p for p in story.points if p.at == at), None)
        if here is not None:
            x, y = frame.at((chart.seconds(here.at), here.level.to(unit)))
            said.insert(0, (_losing(story, page), x, y))
    for words, x, y in said:
        # where the curve is close, there is room above the frame
        places = [*chart.around(x, y), (frame.place.right, frame.place.y - 3, Anchor.END)]
        yield from names.put(words, places, bold=True)


def _key(story: PressureStory, out: bool) -> Iterator[tuple[chart.Sample, str]]:
    """What is in the picture, and nothing else."""
    seen, between = {p.what for p in story.points}, set(story.between)
    plain = [p for p in story.points if p.what not in (PressureAt.OPENED, PressureAt.RETURN)]
    if any(p.temperature for p in plain):
        at = f"temperature read: at {story.reference}"
        yield chart.mark(lambda x, y: chart.dot(x, y, full=True)), at
    if any(p.temperature is None for p in plain):
        yield chart.mark(lambda x, y: chart.dot(x, y, full=False)), "temperature not read: as read"
    if PressureAt.RETURN in seen:
        yield chart.mark(chart.square), "return, hour not known"
    if PressureAt.OPENED in seen:
        yield chart.mark(chart.cross), "opened: empty"
    words = {
        Between.FILLED: "filled",
        Between.LET_OUT: "let out",
        Between.STOOD: "stood untouched",
        Between.LOST: "stood and LOST GAS",
        Between.UNKNOWN: "not known between",
    }
    for how, said in words.items():
        if how in between:
            yield chart.dashes(*_sample(how)), said
    if out:
        yield chart.patch(Tone.PALE), "out on rental"


def _sample(how: Between) -> tuple[float, tuple[float, ...], Tone]:
    weight, tone, dash = _DRAWN[how]
    return weight, dash, tone
