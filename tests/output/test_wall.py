"""The wall chart: what is drawn, as SVG and as PDF, and that nothing lies outside the paper."""

from __future__ import annotations

import datetime as dt
import xml.etree.ElementTree as ET

import books
import pypdfium2
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.output import svg, wall
from tankbook.output.drawing import (
    ON,
    WIDEST,
    Box,
    Code,
    Drawing,
    Line,
    Round,
    Shape,
    Text,
    Tone,
    about,
    frame,
)
from tankbook.output.page import Page
from tankbook.output.paper.face import width
from tankbook.output.paper.pen import print_drawings
from tankbook.output.svg import DARK, LIGHT
from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Tally
from tankbook.rules.schedule import OF_CYLINDERS
from tankbook.rules.wall_chart import WallChart, wall_chart

MM = 72 / 25.4


@pytest.fixture(name="chart")
def _chart(book: Book, today: dt.date) -> WallChart:
    return wall_chart(book, today)


@pytest.fixture(name="many", scope="module")
def _many() -> WallChart:
    made = {
        f"RB-{n:03}": books.GOOD.replace("K118204", f"K{n}").replace(
            "2026-02-09", f"2026-{n % 11 + 1:02}-09"
        ).replace("2024-03", f"202{n % 3}-{n % 12 + 1:02}")
        for n in range(1, 301)
    }  # fmt: skip
    return wall_chart(books.make_book(made), books.TODAY)


ENDING = {
    "A": {"service": "nitrox", "cleaned": "[{on: 2025-01-05, by: MV, to: nitrox, until: 2026-10}]"},
    "B": {"service": "nitrox", "cleaned": "[{on: 2025-01-05, by: MV, to: nitrox, until: 2027-02}]"},
    "C": {"permit": "{number: DOT-SP 99001, period: 5 years, renewed_until: 2026-05}"},
    "D": {"permit": "{number: DOT-SP 99001, period: 5 years, renewed_until: 2027-05}"},
}


def test_whatever_falls_due_of_a_cylinder_has_its_mark(today: dt.date) -> None:
    assert set(OF_CYLINDERS) == wall.LETTERS.keys() == wall.NAMES.keys()
    cards = {
        id_: books.with_lines(books.GOOD.replace("K118204", f"K{id_}"), **card)
        for id_, card in ENDING.items()
    }
    chart = wall_chart(books.make_book(cards), today)
    rows = {row.id: row for row in chart.rows}
    late = {id_: {each.obligation for each in row.late} for id_, row in rows.items()}
    cleaning, permit = Obligation.OXYGEN_CLEANING, Obligation.PERMIT
    assert cleaning in late["A"]
    assert permit in late["C"]
    months = [str(month) for month in chart.months]
    assert cleaning in {m.obligation for m in rows["B"].months[months.index("2027-02")]}
    assert permit in {m.obligation for m in rows["D"].months[months.index("2027-05")]}
    assert "P permit ends,\nC oxygen cleaning ends" in wall.text(chart, Page())
    for paper in wall.PAPERS.values():
        for drawing in wall.drawings(chart, paper):
            left, top, right, foot = extent(drawing)
            assert min(left, top) >= 0
            assert right <= drawing.width
            assert foot <= drawing.height
    assert wall.data(chart)["cylinders"][0]["late"][0]["obligation"] is cleaning


def extent(drawing: Drawing) -> tuple[float, float, float, float]:
    xs: list[float] = []
    ys: list[float] = []
    for item in drawing.items:
        if isinstance(item, Line):
            xs += [item.x1, item.x2]
            ys += [item.y1, item.y2]
        elif isinstance(item, Shape):
            xs += [x for x, _ in item.corners]
            ys += [y for _, y in item.corners]
        elif isinstance(item, Round):
            xs += [item.x - item.radius, item.x + item.radius]
            ys += [item.y - item.radius, item.y + item.radius]
        elif isinstance(item, Text):
            wide = width(item.text, item.size, item.bold) * MM
            left = {"start": 0, "middle": wide / 2, "end": wide}[item.anchor]
            xs += [item.x - left, item.x - left + wide]
            ys.append(item.y)
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("paper", wall.PAPERS)
def test_everything_is_on_the_paper(paper: str, many: WallChart) -> None:
    sheet = wall.PAPERS[paper]
    for drawing in wall.drawings(many, sheet):
        left, top, right, foot = extent(drawing)
        assert min(left, top) >= 9 * MM
        assert right <= sheet.width * MM - 9 * MM
        assert foot <= sheet.height * MM - 9 * MM


@pytest.mark.parametrize("paper", wall.PAPERS)
def test_300_cylinders_each_once_under_repeated_headings(paper: str, many: WallChart) -> None:
    pages = list(wall.drawings(many, wall.PAPERS[paper]))
    texts = [[i.text for i in page.items if isinstance(i, Text)] for page in pages]
    ids = [t for page in texts for t in page if t.startswith("RB-")]
    assert ids == [row.id for row in many.rows]
    assert len(pages) > 5
    for page in texts:
        assert {"cylinder", "OVERDUE", "Nov", "Oct", "hydro", "visual"} <= set(page)
    shown = sum(t in {"H", "V", "E", "L"} for page in texts for t in page)
    marks = [mark for row in many.rows for month in row.months for mark in month]
    due = sum(not mark.spared for mark in marks) + sum(len(r.late) for r in many.rows)
    assert shown == due + 6 * len(pages)  # six letters in the key of each page


SIGNED = {
    "A-1": ("held", "held: [{on: 2026-11-01, by: MV, why: dent}]"),
    "A-2": ("out", "rented: [{on: 2026-11-20, to: B-7}]"),
    "A-3": ("at-repair", "sent: [{on: 2026-11-17, to: Lakeside Valve Bench, for: repair}]"),
    "A-4": ("in-service", ""),
}


def test_each_sign_is_drawn_in_its_own_shape_and_named_in_the_key(today: dt.date) -> None:
    cards = {
        id_: books.with_lines(books.GOOD.replace("K118204", id_), status=status) + more
        for id_, (status, more) in SIGNED.items()
    }
    chart = wall_chart(books.make_book(cards), today)
    sheet = wall.WallSheet(chart, wall.PAPERS["a3"])
    (drawing,) = wall.drawings(chart, wall.PAPERS["a3"])
    words = {i.text for i in drawing.items if isinstance(i, Text)}
    assert {"held", "out", "away, at test or repair", "kept"} <= words
    for place, row in enumerate(chart.rows):
        middle = sheet.top + (place + 0.5) * sheet.row
        inside = [
            type(i).__name__
            for i in drawing.items
            if isinstance(i, Line | Round | Shape)
            and sheet.kept < extent(Drawing(1, 1, "", "", (i,)))[0] < sheet.late - 1
            and abs(sum(extent(Drawing(1, 1, "", "", (i,)))[1::2]) / 2 - middle) < sheet.row / 2
        ]
        want = {"A-1": ["Line"] * 2, "A-2": ["Line", "Shape"], "A-3": ["Line", "Round", "Shape"]}
        found = sorted(n for n in inside if n != "Line") + [n for n in inside if n == "Line"]
        assert sorted(found)[: len(want.get(row.id, []))] == want.get(row.id, []), row.id


def test_what_is_spared_is_an_empty_shape_and_what_comes_again_a_bare_letter() -> None:
    for spared, again, kinds in (
        (False, False, {"Box", "Text"}),
        (True, False, {"Box"}),
        (False, True, {"Text"}),
    ):
        drawn = wall.mark(Obligation.VISUAL, 10, 10, 4, spared=spared, again=again)
        assert {type(i).__name__.replace("Shape", "Box") for i in drawn} == kinds


def test_the_text_tells_spared_and_again_apart(today: dt.date) -> None:
    card = books.GOOD.replace("2024-03", "2022-01").replace("2026-02-09", "2026-02-09")
    chart = wall_chart(books.make_book({"A-1": card}, station=None), today, 12)
    said = wall.text(chart, Page())
    assert "(V)" in said
    assert "(V) spared by an act before it" in said


@pytest.mark.parametrize("paper", wall.PAPERS)
def test_as_many_rows_on_a_page_as_are_asked_for(paper: str, many: WallChart) -> None:
    """From the usual to as many as type of 6 pt allows, which is 60 or more on A3; all on the paper."""
    usual = wall.PAPERS[paper]
    most = wall.most_rows(usual)
    assert most >= {"a3": 60}.get(paper, 30)
    for rows in (wall.usual_rows(usual), most - 3, most):
        sheet = wall.dense(usual, rows)
        assert sheet.type >= 6
        pages = list(wall.drawings(many, sheet))
        assert len(pages) == -(-300 // rows)
        assert min(i.size for page in pages for i in page.items if isinstance(i, Text)) >= 6
        for drawing in (pages[0], pages[-1]):
            left, top, right, foot = extent(drawing)
            assert min(left, top) >= 9 * MM
            assert right <= sheet.width * MM - 9 * MM
            assert foot <= sheet.height * MM - 9 * MM


def test_the_pdf_has_the_pages_and_the_words(many: WallChart) -> None:
    sheet = wall.PAPERS["a3"]
    pdf = pypdfium2.PdfDocument(wall.made(many, sheet, ".pdf"))
    assert len(pdf) == len(list(wall.drawings(many, sheet)))
    width_, height = pdf[0].get_size()
    assert (width_ / MM, height / MM) == pytest.approx((420, 297), abs=0.01)
    said = pdf[len(pdf) - 1].get_textpage().get_text_range()
    assert "RB-300" in said
    assert "OVERDUE" in said


def test_what_is_overdue_is_black_on_paper(chart: WallChart) -> None:
    """The printed page, in grey: the row of RB-015 begins in black, that of RB-014 does not."""
    sheet = wall.PAPERS["a4"]
    (drawing,) = wall.drawings(chart, sheet)
    image = pypdfium2.PdfDocument(wall.made(chart, sheet, ".pdf"))[0].render(scale=2).to_pil()
    grey = image.convert("L")
    names = {i.text: i for i in drawing.items if isinstance(i, Text) and i.text.startswith("RB-")}

    def blackness(name: str) -> float:
        text = names[name]
        x, y = int(text.x * 2), int((text.y - 3) * 2)
        patch = grey.crop((x, y - 8, x + 70, y + 8))
        return sum(patch.histogram()[:90]) / (70 * 16)

    assert blackness("RB-015") > 0.5
    assert blackness("RB-014") < 0.4


def test_the_svg(chart: WallChart, snapshot: SnapshotAssertion) -> None:
    text = wall.made(chart, wall.PAPERS["a4"], ".svg").decode()
    root = ET.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert "href" not in text
    assert text == snapshot


def test_an_empty_chart_is_a_page_with_a_heading(today: dt.date) -> None:
    chart = wall_chart(books.make_book({}), today)
    (drawing,) = wall.drawings(chart, wall.PAPERS["a4"])
    assert any(isinstance(i, Text) and i.text == "cylinder" for i in drawing.items)
    assert "0 cylinders" in wall.text(chart, Page())


def test_the_text(chart: WallChart, page: Page, snapshot: SnapshotAssertion) -> None:
    text = wall.text(chart, page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def brightness(tone: str) -> float:
    """Relative luminance (WCAG 2.2, definitions; read in a copy)."""
    parts = [int(tone[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("tones", [LIGHT, DARK])
def test_every_text_stands_out_from_its_ground(tones: dict[Tone, str]) -> None:
    """At 4.5 to 1 or more, in light and dark (WCAG 2.2, 1.4.3)."""
    for ground, ink in ON.items():
        one, other = brightness(tones[ground]), brightness(tones[ink])
        assert (max(one, other) + 0.05) / (min(one, other) + 0.05) >= 4.5, ground


def test_markup_in_a_name_is_text(today: dt.date) -> None:
    drawing = Drawing(10, 10, "<b>&", "<i>", (Text(0, 0, "<script>&", 5),))
    for text in (svg.standing_alone([drawing]), svg.figure(drawing, "x")):
        assert "<script>" not in text
        assert "&lt;script&gt;&amp;" in text


def test_the_same_chart_gives_the_same_bytes(chart: WallChart) -> None:
    sheet = wall.PAPERS["letter"]
    assert wall.made(chart, sheet, ".pdf") == wall.made(chart, sheet, ".pdf")
    assert print_drawings(wall.drawings(chart, sheet), "x")[:5] == b"%PDF-"


def test_a_code_and_a_frame_are_drawn_by_the_pen_for_svg() -> None:
    """Of 2 by 2 modules, with 4 kept blank on each side, in 10 points: a module is a point."""
    code = Code(0, 0, 10, ((True, True), (False, True)))
    assert list(code.runs()) == [Box(4, 4, 2, 1), Box(5, 5, 1, 1)]
    drawn = svg.figure(Drawing(10, 10, "code", "", (code, frame(Box(1, 1, 8, 8), 0.5))), "x")
    assert '<path d="M4 4h2v1h-2zM5 5h1v1h-1z" fill="var(--ink)"/>' in drawn
    assert '<polygon points="1,1 9,1 9,9 1,9" fill="none" stroke="var(--ink)"' in drawn


FAIL = ", {on: 2026-11-02, by: T1, method: hydrostatic, result: fail}"


def failed_one(result: str) -> WallChart:
    """A cylinder whose newest test failed, or passed, beside one that is late by its day."""
    test = f"{{on: 2024-03, by: T1, method: hydrostatic, result: pass}}{FAIL if result == 'fail' else ''}"
    own = books.with_lines(books.GOOD, requalified=f"[{test}]")
    late = books.with_lines(books.GOOD.replace("K118204", "K5"), inspected=None)
    late = late.replace("2024-03", "2020-03")
    return wall_chart(books.make_book({"A": own, "B": late}), books.TODAY)


@pytest.mark.parametrize("result", ["pass", "fail"])
def test_what_failed_is_said_in_the_one_word_and_counted_with_what_is_overdue(result: str) -> None:
    """In each cell, the heading and the key, of every paper and of the text, as `due` says it."""
    chart, bad = failed_one(result), result == "fail"
    tally = Tally.of(chart.dues)
    word = "overdue or failed" if bad else "overdue"
    assert bool(tally.failed) is bad
    data = wall.data(chart)
    assert data["overdue"] == tally.late
    assert any(late["failed"] for late in data["cylinders"][0]["late"]) is bad
    said = wall.text(chart, Page())
    assert f"{tally.late} {word}" in said
    assert f"late: {word} or not on record" in " ".join(said.split())
    assert ("H!" in said) is bad
    assert ("! FAILED" in said) is bad
    for paper in wall.PAPERS.values():
        for rows in (wall.usual_rows(paper), wall.most_rows(paper)):
            (drawing,) = wall.drawings(chart, wall.dense(paper, rows))
            texts = [i.text for i in drawing.items if isinstance(i, Text)]
            assert word.upper() in texts  # the heading
            assert f"black: {word.upper()} or not on record, do not fill" in texts
            assert ("FAILED" in texts) is bad
            assert extent(drawing)[2] <= drawing.width


LONG_ID, LONG_NAME = "A-VERY-LONG-ID-OF-A-CYLINDER-0014", "Long Name of a Quay " * 12


def test_no_type_is_smaller_than_can_be_read(today: dt.date) -> None:
    """A long id, a size that is not on record, a long name of the ledger, and four things that are
    late: what does not fit is cut, an id before its tail."""
    late = {"requalified": None, "inspected": None, "alloy": "6351", "water_volume": None}
    late["permit"] = "{number: DOT-SP 99001, period: 5 years, renewed_until: 2026-05}"
    card = books.with_lines(books.GOOD, **late)
    settings = books.SETTINGS.replace("Test Quay", LONG_NAME.strip())
    book = books.make_book({LONG_ID: card, "A-2": books.GOOD}, settings=settings)
    chart = wall_chart(book, today)
    assert len(chart.rows[1].late) >= 4
    for paper in wall.PAPERS.values():
        for rows in (wall.usual_rows(paper), wall.most_rows(paper)):
            (drawing,) = wall.drawings(chart, wall.dense(paper, rows))
            texts = [item for item in drawing.items if isinstance(item, Text) and item.text]
            assert min(t.size for t in texts) >= wall.LEAST_TYPE - 1e-9
            said = {t.text for t in texts}
            assert "not recorded" in said
            assert any(t.endswith("-0014") for t in said)
            assert max(width(t.text, t.size) for t in texts) * MM <= drawing.width


@pytest.mark.parametrize("id_", ["A" * 28, "W" * 28, "AB-" + "1234567" * 3, LONG_ID])
@pytest.mark.parametrize("paper", wall.PAPERS)
def test_a_long_id_leaves_the_column_of_sizes_alone(id_: str, paper: str) -> None:
    """By the face that is printed, and by a browser's letters as wide as they mostly are."""
    chart = wall_chart(books.make_book({id_: books.GOOD}), books.TODAY)
    sheet = wall.PAPERS[paper]
    for rows in (wall.usual_rows(sheet), wall.most_rows(sheet)):
        made = wall.dense(sheet, rows)
        (drawing,) = wall.drawings(chart, made)
        column = wall.MARGIN + wall.ID * wall.WallSheet(chart, made).inner
        (said,) = [i for i in drawing.items if isinstance(i, Text) and id_.endswith(i.text[-9:])
                   and i.bold and len(i.text) >= 9]  # fmt: skip
        wide = max(width(said.text, said.size, True) * MM, about(said.text, said.size, WIDEST))
        assert said.x + wide <= column - 5
