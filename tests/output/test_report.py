"""The report: its HTML by an outside parser, its PDF by an outside reader."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import books
import html5lib
import pypdfium2
import pytest
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries
from syrupy.assertion import SnapshotAssertion

from tankbook.output import report as output
from tankbook.output.document import Document, Grid, Particulars, Picture, Section
from tankbook.output.html import page as html_page
from tankbook.output.page import Page
from tankbook.output.paper.face import PaperError
from tankbook.output.report_pdf import pdf
from tankbook.records.book import Book
from tankbook.rules.summary import Summary, summary


@pytest.fixture(name="told")
def _told(book: Book, today: dt.date) -> Summary:
    return summary(book, today)


@pytest.fixture(name="document", params=[False, True], ids=["whole", "one-page"])
def _document(request: pytest.FixtureRequest, told: Summary, page: Page) -> Document:
    return output.report(told, short=request.param)


def parsed(text: str) -> Any:
    """Strictly: any slip against the HTML standard is an error."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    return parser.parse(text)


def test_the_html_is_sound_by_the_standards_own_parser(document: Document) -> None:
    tree = parsed(html_page(document))
    assert tree.get("lang") == "en"
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    links = [a.get("href") for a in tree.iter("a")]
    assert links
    assert {link.removeprefix("#") for link in links} <= set(ids)
    named = [e.get("aria-labelledby") for e in tree.iter() if e.get("aria-labelledby")]
    assert {part for each in named for part in each.split()} <= set(ids)


def test_the_html_needs_nothing_else(document: Document) -> None:
    text = html_page(document)
    assert "<script" not in text
    assert not re.findall(r"(?:https?:|//|url\(|@import)", text.replace("<!doctype", ""))
    assert re.findall(r'(?:src|href)="([^#"][^"]*)"', text) == ["data:,"]


def test_the_html_reads_aloud(document: Document) -> None:
    tree = parsed(html_page(document))
    heads = [e.tag for e in tree.iter() if e.tag in {"h1", "h2", "h3"}]
    assert heads[0] == "h1"
    assert set(heads[1:]) == {"h2"}
    for table in tree.iter("table"):
        assert table.find("caption").text
        assert all(th.get("scope") == "col" for th in table.find("thead").iter("th"))
        assert all(tr[0].tag == "th" and tr[0].get("scope") == "row" for tr in table.find("tbody"))
    for picture in (e for e in tree.iter() if str(e.tag).endswith("svg")):
        assert picture.get("role") == "img"


def test_both_tell_the_same(told: Summary, page: Page) -> None:
    """Every cell of every table is in the HTML and in the PDF."""
    document = output.report(told)
    html = "".join(parsed(html_page(document)).itertext())
    made = pypdfium2.PdfDocument(pdf(document, "a4"))
    paper = "".join("".join(p.get_textpage().get_text_range().split()) for p in made)
    cells = [
        cell
        for section in document.sections
        for block in section.blocks
        if hasattr(block, "rows")
        for row in block.rows
        for cell in row
    ]
    assert len(cells) > 50
    for cell in cells:
        assert cell in html
        assert "".join(cell.split()) in paper


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_paper_has_the_table_of_each_picture_below_it(told: Summary, paper: str) -> None:
    whole = output.report(told)
    pictures = [b for s in whole.sections for b in s.blocks if isinstance(b, Picture)]
    assert {p.name for p in pictures} >= {"due", "fills", "use"}, [p.name for p in pictures]
    made = pypdfium2.PdfDocument(pdf(whole, paper))
    said = "".join("".join(p.get_textpage().get_text_range().split()) for p in made)
    for picture in pictures:
        assert "".join(picture.grid.caption.split()) in said, picture.name
        for row in picture.grid.rows:
            assert [c for c in row if "".join(c.split()) not in said] == [], picture.name
        heads = "".join("".join(picture.grid.headers).split())
        assert heads in said, picture.name


def test_the_pages_look(document: Document, snapshot: SnapshotAssertion) -> None:
    assert html_page(document) == snapshot


def test_the_text(document: Document, page: Page, snapshot: SnapshotAssertion) -> None:
    text = output.text(document, page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def worst() -> Book:
    """300 cylinders, most overdue or held for reasons as long as people write them."""
    why = "somebody found something that takes a great many words to tell " * 6
    made = {}
    for n in range(300):
        text = books.GOOD.replace("K118204", f"K{n}").replace("2024-03", "2019-03")
        if n % 2:
            text = text.replace("in-service", "held") + f"held: [{{on: 2026-03-01, why: {why}}}]\n"
        made[f"RB-{n:03}"] = text
    return books.make_book(made)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_one_page_is_one_page_however_much_there_is_to_tell(paper: str, page: Page) -> None:
    told = summary(worst(), books.TODAY)
    assert len(told.board.overdue) >= 300
    document = output.report(told, short=True)
    made = pypdfium2.PdfDocument(pdf(document, paper))
    assert len(made) == 1
    said = made[0].get_textpage().get_text_range()
    assert "more" in said
    assert "Not legal advice" in said


def test_a_character_that_cannot_be_printed_is_named(told: Summary, page: Page) -> None:
    named = replace(told, ledger="Quay \N{HEBREW LETTER ALEF}")
    with pytest.raises(PaperError, match=r"U\+05D0"):
        pdf(output.report(named), "a4")


def test_the_name_of_a_compressor_keeps_no_report_from_paper(today: dt.date) -> None:
    """It stands in a picture alone: a line to write on is there, and the page has the name."""
    hours = "{on: 2026-10-01, reads: 5 h}, {on: 2026-11-20, reads: 9 h}"
    station = f"compressor: {{name: \N{CJK UNIFIED IDEOGRAPH-7A7A}, hours: [{hours}]}}"
    document = output.report(summary(books.make_book({}, station=station), today))
    assert pdf(document, "a4")[:5] == b"%PDF-"
    assert "\N{CJK UNIFIED IDEOGRAPH-7A7A}: hours by month" in html_page(document)


def test_no_cell_is_broken_where_a_telephone_does_not_show_it() -> None:
    """A table of many columns is moved sideways: a long cell in it is wide, a short one is kept in
    a line, else rows are tall and empty. One of three columns stands still, and breaks its cells."""
    long, middling, short = (
        "a rule of the trade, as a maker has it in its policy",
        "2 of 5 in May",
        "x",
    )
    of_four = Section(
        "a", "A", (Grid("C", ("a", "b", "c", "d"), ((short, long, middling, short),)),)
    )
    of_three = Section("b", "B", (Grid("C", ("a", "b", "c"), ((short, long, middling),)),))
    html = {s.name: html_page(Document("T", "", (s,), ())) for s in (of_four, of_three)}
    kinds = {
        name: re.findall(r'<t[dh](?: scope="row")?( class="\w")?>', text)
        for name, text in html.items()
    }
    assert kinds["a"] == [' class="d"', ' class="w"', ' class="m"', ' class="d"']
    assert kinds["b"] == [' class="d"', "", ""]
    narrow = re.search(r"@media screen and \(max-width:48rem\)\{(.*?)\}\}", html["a"])
    assert narrow is not None
    assert narrow[1] == ".m{white-space:nowrap}.w{min-width:30rem"


def test_a_column_in_which_nothing_stands_pushes_none_out_of_sight() -> None:
    """The first names its rows, and a table without rows has all its headings."""
    heads = ("what", "part", "hours", "last")
    rows = (("hydro", "", "", "2021-11"), ("", "", "3 h", ""))
    said = html_of(Grid("Due", heads, rows, right=(2,)))
    assert re.findall(r"<th scope=.col.[^>]*>([^<]*)", said) == ["what", "hours", "last"]
    assert re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", said)[3:] == [
        "hydro",
        "",
        "2021-11",
        "",
        "3 h",
        "",
    ]
    assert '<td class="n">3 h</td>' in said
    assert html_of(Grid("Due", heads, ())).count("<th ") == 4


def html_of(grid: Grid) -> str:
    return html_page(Document("T", "Told.", (Section("s", "S", (grid,)),), ()))


def test_markup_in_a_record_is_text(told: Summary, page: Page) -> None:
    named = replace(told, ledger="<b>A & B</b>")
    document = output.report(named)
    assert "<b>A" not in html_page(document)
    said = pypdfium2.PdfDocument(pdf(document, "a4"))[0].get_textpage().get_text_range()
    assert "<b>A & B</b>: report" in said


def test_the_same_report_gives_the_same_bytes(document: Document) -> None:
    assert pdf(document, "a4") == pdf(document, "a4")


def test_an_empty_ledger_has_a_report(page: Page, today: dt.date) -> None:
    told = summary(books.make_book({}, station=None), today)
    for short in (False, True):
        document = output.report(told, short=short)
        parsed(html_page(document))
        assert pdf(document, "letter")[:5] == b"%PDF-"
        assert "0 cylinders" in output.text(document, page)


def test_no_section_s_rule_ends_a_page() -> None:
    """The rule across belongs to the heading below it: both break to the next page."""
    for count in range(24, 44, 2):
        grid = Grid("", ("what",), tuple((f"line {n}",) for n in range(count)))
        sections = (Section("a", "First", (grid,)), Section("b", "Second", (grid,)))
        file = pypdfium2.PdfDocument(pdf(Document("Quay", "told", sections, ("foot",)), "letter"))
        for page in file:
            text = page.get_textpage()
            words = (text.get_charbox(n)[1] for n in range(text.count_chars()))
            lowest = min((y for y in words if y > ABOVE_FOOT), default=ABOVE_FOOT)
            lines = (each.get_bounds()[1] for each in page.get_objects() if each.type == PATH)
            assert min(lines, default=lowest) > lowest - BELOW_A_ROW, count


ROWS = st.integers(0, 120)
LONG = 400
"""Words of a row that is half a page."""


@given(
    st.lists(st.tuples(st.booleans(), ROWS), min_size=1, max_size=5),
    st.sampled_from([1, 1, 1, 30, LONG]),
    st.sampled_from(["a4", "letter"]),
    st.booleans(),
    st.booleans(),
)
@settings(max_examples=tries(12, 400), deadline=None)
def test_no_page_but_the_last_ends_in_a_gap(
    counts: list[tuple[bool, int]], longest: int, paper: str, has_foot: bool, fits: bool
) -> None:
    """A table runs on over as many pages as it takes, none of them empty, each with its headings;
    and it loses and repeats no row."""
    sections = []
    for place, (is_grid, count) in enumerate(counts):
        rows = tuple((f"w{place}x{n}e", "word " * (n % 7 or longest)) for n in range(count))
        block = Grid(f"Table {place}", ("what", "why"), rows) if is_grid else Particulars(rows)
        sections.append(Section(f"s{place}", f"Section {place}", (block,) if count else ()))
    foot = ("foot",) if has_foot else ()
    document = Document("Quay", "told", tuple(sections), foot, fits=fits, abreast=fits)
    file = pypdfium2.PdfDocument(pdf(document, paper))
    said = []
    for number, page in enumerate(file, 1):
        text = page.get_textpage()
        words = (text.get_charbox(n)[1] for n in range(text.count_chars()))
        lowest = min((y for y in words if y > ABOVE_FOOT), default=None)
        assert lowest is not None, f"page {number} is empty"
        # a heading with its first rows moves as one, and so does a row: no more than that
        room = page.get_height() * (0.8 if longest == LONG else 0.45)
        assert number == len(file) or lowest < room
        said.append(text.get_text_range())
        if re.search(r"w\d+x\d+e", said[-1]) and all(g for g, _ in counts):
            assert "what why" in said[-1].replace("\r\n", " ")
    marks = re.findall(r"w\d+x\d+e", " ".join(said))
    assert marks == [f"w{p}x{n}e" for p, (_, count) in enumerate(counts) for n in range(count)]


PATH = 2
"""What the reader calls a line or a box."""
ABOVE_FOOT, BELOW_A_ROW = 40.0, 12.0
"""The foot of a page ends, and a table's line stands below its words, at most there [pt]."""
