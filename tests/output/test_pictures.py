"""Pictures over time: what is drawn is read back from the SVG and compared with the answer."""

from __future__ import annotations

import datetime as dt
import itertools

import books
import pytest
import readback
from changing import replace
from cove import EXAMPLE
from hypothesis import given
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from tankbook.ledger.load import load
from tankbook.output import chart, expansions, in_use, pressures, pump_hours
from tankbook.output.chart import ALONE, IN_REPORT
from tankbook.output.drawing import Drawing, Item, Round, Shape, Text, Tone, Trace
from tankbook.output.page import Page
from tankbook.output.paper.pen import print_drawings
from tankbook.output.svg import standing_alone
from tankbook.records.book import Book
from tankbook.records.words import Shore
from tankbook.rules.expansion import sheets_of
from tankbook.rules.in_use import InUse, MonthOfUse
from tankbook.rules.in_use import in_use as use_of
from tankbook.rules.pressures import (
    Between,
    OutSpan,
    PressureAt,
    PressureSeen,
    PressureStory,
    pressures_of,
)
from tankbook.rules.pump_hours import pump_hours as hours_of
from tankbook.units import GaugePressure, PartialDate, Temperature

TODAY = dt.date(2026, 11, 25)
HOSTILE = ("<b>&amp;\"'</b>", "A\x1b[2J\x07", "\u202eevil\u2066", "n\ufffe\uffff", "W" * 200, "]]>")
WARM = Temperature.of(70, "degF")


@pytest.fixture(name="book", scope="module")
def _book() -> Book:
    """The example ledger: a leak, two years of hours, sheets and rentals are in it."""
    return load(EXAMPLE).as_known_on(TODAY)


def story(
    values: list[float],
    minutes: list[int],
    *,
    id_: str = "RB-014",
    unit: str = "psi",
    until: dt.date = TODAY,
) -> PressureStory:
    """A cylinder that was read so often, so many minutes apart, up to a day."""
    whole = dt.timedelta(minutes=sum(minutes[1 : len(values)]))
    at = dt.datetime.combine(until, dt.time(11)) - whole
    points = []
    for place, value in enumerate(values):
        at += dt.timedelta(minutes=minutes[place] if place else 0)
        read = GaugePressure.of(value, unit)
        warm = WARM if place % 3 else None
        points.append(PressureSeen(at, read, warm, read, PressureAt.READING))
    hows = list(Between)
    return PressureStory(
        id=id_,
        reference=WARM,
        marked=GaugePressure.of(3000, "psi"),
        points=tuple(points),
        between=tuple(hows[n % len(hows)] for n in range(max(len(points) - 1, 0))),
        out=(OutSpan(until - dt.timedelta(days=400), until - dt.timedelta(days=300)),),
        losing=None,
        until=until,
    )


@given(
    st.lists(st.floats(0, 5000), min_size=2, max_size=40),
    st.lists(st.integers(1, 200_000), min_size=40, max_size=40),
    st.sampled_from(Shore),
    st.sampled_from((ALONE, IN_REPORT)),
)
def test_pressures_read_back_are_those_of_the_answer(
    values: list[float], minutes: list[int], shore: Shore, width: float
) -> None:
    told = story(values, minutes)
    found = readback.seen(pressures.drawing(told, Page(80, shore), width))
    value, moment = readback.heights(found, foot=240.0), readback.moments(found)
    marks = found.circles[: len(values)]
    most = max(p.level.to(shore.value) for p in told.points)
    for (x, y, fill), point in zip(marks, told.points, strict=True):
        assert value(y) == pytest.approx(point.level.to(shore.value), abs=max(most, 3000) / 5e3)
        assert ("ink" in fill) is (point.temperature is not None)
        if moment is not None:
            at = (point.at - dt.datetime(1970, 1, 1)).total_seconds()  # noqa: DTZ001
            whole = (told.points[-1].at - told.points[0].at).total_seconds() + 86400
            assert moment(x) == pytest.approx(at, abs=whole / 300)
    assert readback.overlapping(found) == []
    assert readback.outside(found) == []


def test_a_day_is_named_where_it_begins() -> None:
    """From 22:58 of one day to noon of the next: the hours after midnight are those of the next."""
    told = story([0.0, 0.0, 0.0], [0, 1, 779])
    found = readback.seen(pressures.drawing(told, Page()))
    midnight = next(w for w in found.words if w.said == "00:00")
    assert next(w for w in found.words if w.x == midnight.x and w.bold).said == "25 Nov 2026"


def test_what_is_not_known_between_is_never_drawn_as_known() -> None:
    told = story([3000, 2900, 500, 400], [0, 5000, 5000, 5000])
    between = (Between.STOOD, Between.UNKNOWN, Between.LOST)
    told = replace(told, between=between)
    found = readback.seen(pressures.drawing(told, Page()))
    drawn = [
        t for t in found.traces if len(t["points"]) == 2 and t["points"][0][1] != t["points"][1][1]
    ]
    dashes = [(bool(t["dash"]), t["weight"]) for t in drawn]
    assert dashes == [(False, 1.6), (True, 0.7), (False, 3.4)]
    last = max(x for x, _, _ in found.circles[:4])
    ends = [x for t in drawn for x, _ in t["points"]]
    assert max(ends) <= last + 0.01, "nothing is drawn after the last reading"


@pytest.mark.parametrize("count", [0, 1, 2, 3000])
@pytest.mark.parametrize("apart", [0, 1, 1752], ids=["at-once", "a-minute", "ten-years"])
def test_none_one_two_and_three_thousand_points(count: int, apart: int) -> None:
    told = story([2000.0 + n % 900 for n in range(count)], [apart] * max(count, 1))
    found = readback.seen(drawn := pressures.drawing(told, Page()))
    assert readback.overlapping(found) == []
    assert readback.outside(found) == []
    assert hidden(drawn) == []
    assert found.root.find(f"{readback.SVG}title") is not None
    assert print_drawings([drawn], "pressure")[:5] == b"%PDF-"
    assert len(found.circles) >= count


def test_an_empty_cylinder_without_a_marked_pressure_has_a_scale() -> None:
    told = replace(story([0.0, 0.0], [0, 60]), marked=None)
    found = readback.seen(pressures.drawing(told, Page()))
    assert [readback.heights(found)(y) for _, y, _ in found.circles[:2]] == [0, 0]


def test_that_nothing_is_on_record_since_a_day_says_which() -> None:
    told = replace(story([], [0]), since=dt.date(2026, 12, 1))
    said = "RB-014: no pressure is on record since 1 Dec 2026"
    assert pressures.headline(told, Page()) == said
    assert pressures.drawing(told, Page()).says == f"{said}."


@pytest.mark.parametrize(("count", "said"), [(600, False), (601, True)])
def test_of_very_many_it_is_said_how_to_draw_fewer(count: int, said: bool) -> None:
    text = pressures.text(story([2000.0] * count, [60] * count), Page())
    assert ("--since DATE draws fewer" in text) is said


def every_picture(book: Book, today: dt.date) -> list[Drawing]:
    """The pictures of a ledger, as files of their own and as a report has them."""
    page = Page(80, book.settings.units)
    hours = hours_of(book, today)
    sheets = [s for c in book.cylinders.values() for s in sheets_of(book, c, today)]
    found = [in_use.alone(use_of(book, today)), *pump_hours.drawings(hours, today)]
    found += [pump_hours.picture(each, today).drawing for each in hours]
    found += [expansions.drawing(sheets), expansions.picture(sheets).drawing]
    for id_ in (*book.cylinders, *book.sets):
        told = pressures_of(book, id_, today)
        found += [pressures.drawing(told, page), pressures.picture(told, page).drawing]
    return found


def test_no_name_lies_on_another_and_none_runs_out(book: Book, today: dt.date) -> None:
    for drawn in every_picture(book, today):
        found = readback.seen(drawn)
        assert readback.overlapping(found) == [], drawn.title
        assert readback.outside(found) == [], drawn.title


def hidden(drawn: Drawing) -> list[Item]:
    """The marks that the paper of a name drawn later lies on."""
    found: list[Item] = []
    marks: list[tuple[Item, float, float, float, float]] = []
    for item in drawn.items:
        if isinstance(item, Round):
            x, y, r = item.x, item.y, item.radius
            marks.append((item, x - r, y - r, x + r, y + r))
        elif isinstance(item, Shape):
            xs, ys = zip(*item.corners, strict=True)
            edges = min(xs), min(ys), max(xs), max(ys)
            if item.weight == 0 and item.fill is Tone.PAPER:
                found += [
                    mark
                    for mark, left, top, right, foot in marks
                    if left < edges[2] and edges[0] < right and top < edges[3] and edges[1] < foot
                ]
            elif item.weight and edges[2] - edges[0] < 12:
                marks.append((item, *edges))
    return found


def test_how_long_a_part_lasts_stands_where_no_line_runs(book: Book, today: dt.date) -> None:
    for each in hours_of(book, today):
        drawn = pump_hours.drawing(each, today)
        said = [i for i in drawn.items if isinstance(i, Text) and " lasts " in i.text]
        assert {i.text.split()[0] for i in said} == {part.name for part in each.begun}
        lines = [i.points for i in drawn.items if isinstance(i, Trace) and i.weight > 1]
        for text in said:
            left, right = text.x, text.x + chart.about(text.text, text.size, chart.WIDE)
            high, low = text.y - text.size * 0.75, text.y
            for a, b in (pair for points in lines for pair in itertools.pairwise(points)):
                on = [
                    (a[0] + (b[0] - a[0]) * n / 50, a[1] + (b[1] - a[1]) * n / 50)
                    for n in range(51)
                ]
                assert not any(left < x < right and high < y < low for x, y in on), text.text


def test_no_name_hides_a_mark(book: Book, today: dt.date) -> None:
    for drawn in every_picture(book, today):
        assert hidden(drawn) == [], drawn.title


PRINTED = 120 / 25.4 * 72
"""The most that a picture is wide on paper, by the report's style sheet [pt]."""


def test_nothing_is_printed_below_six_points(book: Book, today: dt.date) -> None:
    for drawn in every_picture(book, today):
        scale = min(1.0, PRINTED / drawn.width) if drawn.width <= IN_REPORT else 1.0
        sizes = [w.size for w in readback.seen(drawn).words]
        assert min(sizes) * scale >= 6, drawn.title


def test_pictures_are_the_same_bytes_and_need_nothing(book: Book, today: dt.date) -> None:
    for drawn in every_picture(book, today):
        text = standing_alone([drawn])
        assert text == standing_alone([drawn])
        assert "<script" not in text
        assert "href" not in text
        assert "url(" not in text
        assert drawn.title
        assert drawn.says


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_names_are_text_on_one_line(name: str) -> None:
    told = story([3000, 2000, 1000], [0, 900, 900], id_=name)
    found = readback.seen(pressures.drawing(told, Page()))
    assert all(word.said.isprintable() for word in found.words if "\ufffd" not in word.said)
    assert readback.overlapping(found) == []
    assert readback.outside(found) == []


# --- expansions


def sheets(*tests: str) -> Book:
    listed = "".join(f"  - {{{t}, method: hydrostatic, by: T1}}\n" for t in tests)
    text = books.GOOD.partition("requalified:")[0] + f"requalified:\n{listed}"
    return books.make_book({"A": text})


def test_expansions_read_back_are_those_of_the_sheets() -> None:
    book = sheets(
        "on: 2012-03, total_expansion: 0.0600 L, permanent_expansion: 0.0012 L",
        "on: 2017-03, total_expansion: 0.0610 L, permanent_expansion: 0.0020 L",
        "on: 2022-03",
        "on: 2025-03, total_expansion: 0.0650 L, permanent_expansion: 0.0060 L",
    )
    told = sheets_of(book, book.cylinders["A"], TODAY)
    assert [round(s.kept, 2) for s in told] == [2.0, 3.28, 9.23]
    found = readback.seen(expansions.drawing(told))
    share, total = readback.heights(found, foot=180), readback.heights(found, top=210)
    upper, lower = found.circles[:3], found.circles[3:6]
    assert [share(y) for _, y, _ in upper] == pytest.approx([s.kept for s in told], abs=0.01)
    assert [total(y) for _, y, _ in lower] == pytest.approx([60.0, 61.0, 65.0], abs=0.05)
    moment = readback.moments(found)
    years = [dt.datetime.fromtimestamp(moment(x), dt.UTC).year for x, _, _ in upper]
    assert years == [2012, 2017, 2025]


def test_no_sheet_is_a_picture_that_says_so() -> None:
    drawn = expansions.drawing(())
    assert drawn.says == "No hydro has its expansions on record."


# --- running hours


def test_hours_read_back_are_those_that_were_run(book: Book, today: dt.date) -> None:
    (told,) = hours_of(book, today)
    found = readback.seen(pump_hours.drawing(told, today))
    value = readback.heights(found, foot=175)
    floor = max(b[3] for b in found.boxes if b[3] < 180)
    bars = [b for b in found.boxes if b[3] - b[1] > 0 and b[3] < 180]
    ran = [value(top) for _, top, _, foot, fill in bars if "dark" in fill and foot == floor]
    months = [m for m in pump_hours.months_of(told) if m.month.first >= dt.date(2024, 11, 1)]
    assert ran == pytest.approx([m.ran for m in months if m.ran], abs=0.02)
    ahead = [value(top) - value(foot) for _, top, _, foot, fill in bars if "paper" in fill]
    assert ahead == pytest.approx([m.ahead for m in months if m.ahead], abs=0.02)


# --- use


def test_bars_of_use_are_as_long_as_their_months(book: Book, today: dt.date) -> None:
    told = use_of(book, today)
    found = readback.seen(in_use.picture(told).drawing)
    most = max(m.used + m.kept_back + m.stood for m in told.months)
    long = [b[2] - b[0] for b in found.boxes if "dark" in b[4]][1:]
    assert len(long) == sum(m.used > 0 for m in told.months)
    scale = max(b[2] for b in found.boxes) - 62.0
    used = [m.used / most for m in told.months if m.used]
    assert [each / scale for each in long] == pytest.approx(used, abs=0.002)


# --- as they look


def test_pictures_look(book: Book, today: dt.date, snapshot: SnapshotAssertion) -> None:
    page = Page(80, book.settings.units)
    told = pressures_of(book, "RB-020", today, dt.date(2026, 10, 1))
    (hours,) = hours_of(book, today)
    sheet = [s for c in book.cylinders.values() for s in sheets_of(book, c, today)]
    assert standing_alone([pressures.drawing(told, page)]) == snapshot(name="pressure")
    assert standing_alone([pump_hours.drawing(hours, today)]) == snapshot(name="hours")
    assert standing_alone([expansions.drawing(sheet)]) == snapshot(name="expansion")
    assert standing_alone([in_use.alone(use_of(book, today))]) == snapshot(name="use")


def _month(month: int, used: int, *, whole: bool = True) -> MonthOfUse:
    return MonthOfUse(PartialDate(2026, month), used, 0, 12 - used, 0, 0, 0, whole)


@pytest.mark.parametrize(
    ("used", "said"),
    [
        ([3, 9, 5, 12], "Used in Feb 2026 9 of 12, the busiest month; in Jan 2026 3 of 12, the "
         "quietest month"),
        ([9, 9, 5, 0], "Used in Feb 2026 9 of 12, the busiest with 1 other month; in Mar 2026 5 of "
         "12, the quietest month"),
        ([4, 4, 4, 9], "Used in each month that is over: 4"),
        ([7], "Used in Jan 2026 7 of 12, which is not over"),
    ],
)  # fmt: skip
def test_no_month_is_the_busiest_before_it_is_over_nor_alone_where_others_are(
    used: list[int], said: str
) -> None:
    months = [_month(n, each, whole=n < len(used)) for n, each in enumerate(used, 1)]
    assert in_use.headline(InUse(tuple(months), ())) == said


def test_an_empty_ledger_has_pictures_that_say_so(today: dt.date) -> None:
    book = books.make_book({}, station=None)
    for drawn in every_picture(book, today):
        assert readback.overlapping(readback.seen(drawn)) == []
    assert "empty" in in_use.headline(use_of(book, today))


def test_the_shading_of_a_rental_runs_from_its_hour_to_the_hour_of_its_return() -> None:
    day = TODAY - dt.timedelta(days=1)
    told = story([3000.0, 900.0], [0, 4 * 1440])

    def shaded(*out: OutSpan) -> list[tuple[float, float]]:
        items = pressures.drawing(replace(told, out=out), Page(80)).items
        frames = [i for i in items if isinstance(i, Shape) and i.fill is Tone.PALE]
        tall = [i for i in frames if i.corners[2][1] - i.corners[0][1] == pressures.TALL]
        return [(i.corners[0][0], i.corners[1][0]) for i in tall]

    ((left, right),) = shaded(OutSpan(day, day))
    ((first, last),) = shaded(OutSpan(day, day, dt.time(6), dt.time(12)))
    assert first - left == pytest.approx((right - left) / 4, rel=1e-3)
    assert last - left == pytest.approx((right - left) / 2, rel=1e-3)
    later = OutSpan(day, day, dt.time(18), dt.time(20))
    pair = shaded(OutSpan(day, day, dt.time(6), dt.time(12)), later)
    assert pair[0][1] < pair[1][0]
