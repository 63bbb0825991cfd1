"""The fill book as people read it, and as JSON and CSV have it."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from books import GOOD, TODAY, make_book, with_lines
from changing import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.output import as_json, fill_book
from tankbook.output.as_csv import dumps
from tankbook.output.page import Page
from tankbook.output.words import HELIUM
from tankbook.records.book import Book
from tankbook.records.words import Shore
from tankbook.rules.fill_book import FillBook, FillsWanted
from tankbook.rules.fill_book import fill_book as book_of_fills

LOG = """
at=2026-11-02T09:30:00+01:00; cylinder=DB-01; act=fill; from=500 psi; to=3000 psi; temperature=64 degF; gas=nitrox32; o2=32.1 %; by=MV; analysed_by=MV; source=B1+B2+C1; position=P3
at=2026-11-02T10:30:00+01:00; cylinder=RB-014; act=fill; from=600 psi; to=3000 psi; gas=air; by=KD; source=B1; position=P1; override=regatta day (JO)
at=2026-11-03T10:30:00+01:00; cylinder=RB-014; act=fill; from=600 psi; to=3100 psi; gas=air; by=KD; source=B1; note=happened: regulator set too high
at=2026-11-03T10:40:00+01:00; cylinder=CU-061; act=fill; from=100 psi; to=2900 psi; gas=air; by=KD; source=B1
at=2026-11-03T10:41:00+01:00; cylinder=CU-061; act=void; by=MV; voids=2026-11-03T10:40:00+01:00 CU-061; note=it was CU-062
at=2026-11-04T08:00:00+01:00; cylinder=CU-062; act=fill; to=2900 psi; gas=trimix18/45; source=elsewhere: Harbour Dive
"""


@pytest.fixture(name="book")
def _book() -> Book:
    customer = with_lines(GOOD, use="customer\nowner: C-0192")
    cards = {
        "RB-014": GOOD,
        "RB-041": with_lines(GOOD, serial="HP80117"),
        "RB-042": with_lines(GOOD, serial="HP80118"),
        "CU-061": with_lines(customer, serial="WN-88213"),
        "CU-062": with_lines(customer, serial="AC-20951"),
    }
    sets = {"DB-01": "cylinders: [RB-041, RB-042]\nisolator: open\nuse: rental\n"}
    return make_book(cards, sets=sets, log=LOG)


def found(book: Book, first: int = 1, last: int = 25, **asked: str) -> FillBook:
    days = dt.date(2026, 11, first), dt.date(2026, 11, last)
    return book_of_fills(book, FillsWanted(*days, **asked))  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_what_people_see(book: Book, width: int, snapshot: SnapshotAssertion) -> None:
    text = fill_book.text(found(book), Page(width))
    assert max(map(len, text.splitlines())) <= width
    assert text == snapshot


def test_of_a_longer_time_each_fill_has_its_day(book: Book) -> None:
    text = fill_book.text(found(book, 1, 25, position="P1"), Page(120))
    assert "1 fill from 1 Nov" in text
    assert "2026-11-02 10:30  RB-014" in text


def test_a_day_is_told_by_the_hour(book: Book, page: Page, snapshot: SnapshotAssertion) -> None:
    assert fill_book.text(found(book, 2, 2), page) == snapshot


@pytest.mark.parametrize(
    ("first", "last", "asked", "head"),
    [
        (25, 25, {}, "No fill on 25 Nov 2026"),
        (1, 30, {"by": "KD"}, "2 fills in Nov 2026 by KD, 125 cuft of gas; 1 override; 1 logged against advice; 1 struck out, not counted"),
        (4, 4, {}, "1 fill on 4 Nov 2026, gas not known"),
        (1, 2, {"source": "B1"}, "2 fills from 1 Nov 2026 to 2 Nov 2026 from B1, 193 cuft of gas; 1 override"),
        (1, 30, {"customer": "C-0192", "position": "P1"}, "No fill in Nov 2026 at P1 for C-0192"),
    ],
)  # fmt: skip
def test_the_first_line(
    book: Book, page: Page, first: int, last: int, asked: dict[str, str], head: str
) -> None:
    assert fill_book.headline(found(book, first, last, **asked), page) == head


def test_an_incomplete_log_is_told(book: Book, page: Page) -> None:
    told = replace(found(book, 25, 25), unread=("fills/2025.csv",))
    text = fill_book.text(told, page)
    assert "INCOMPLETE: fills/2025.csv could not be read; fills may be missing." in text


def test_gas_with_helium_is_told_as_the_model_has_it(book: Book, page: Page) -> None:
    known = found(book, 4, 4).fills[0]
    gave = found(book, 2, 2).fills[0].gave
    told = replace(found(book, 4, 4), fills=(replace(known, gave=gave),))
    assert HELIUM in " ".join(fill_book.text(told, page).split())
    assert HELIUM not in " ".join(fill_book.text(found(book, 4, 4), page).split())


def test_in_bar(book: Book) -> None:
    settings = replace(book.settings, units=Shore.BAR)
    text = fill_book.text(found(replace(book, settings=settings, known={})), Page(80, Shore.BAR))
    assert " L of gas" in text.splitlines()[0]


def test_as_json(book: Book, snapshot: SnapshotAssertion) -> None:
    got = json.loads(as_json.dumps(fill_book.data(found(book))))
    assert [n["struck_out"] for n in got["lines"]] == [False, False, False, True, False]
    assert got["lines"][3]["struck_why"] == "it was CU-062"
    assert got["lines"][0]["cylinders"] == ["RB-041", "RB-042"]
    assert {k: v for k, v in got.items() if k != "lines"} == snapshot
    assert list(got["lines"][0]) == snapshot


def test_a_spreadsheet_runs_nothing_of_what_was_written(book: Book) -> None:
    rows = found(book)
    (first, *_) = rows.fills
    evil = replace(first.line, note="=cmd|' /C calc'!A0", by="+1", source_="@x", position="-1+1")
    fill = replace(first, line=evil, customer="\t=1", serials=("=1",))
    text = dumps(fill_book.COLUMNS.head, fill_book.COLUMNS.cells([fill]))
    cells = text.splitlines()[1].split(",")
    for cell in cells:
        assert not cell.strip('"').startswith(("=", "+", "-", "@", "\t")), cell
    assert sum(cell.startswith("\"'") for cell in cells) == 6


def test_many_lines_stay_in_columns(book: Book, page: Page) -> None:
    first = found(book).fills[0]
    start = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
    fills = tuple(
        replace(first, line=replace(first.line, at=start + dt.timedelta(minutes=50 * n)))
        for n in range(9000)
    )
    lines = fill_book.fills_table(fills, page, one_day=False).splitlines()
    assert len(lines) == 9002
    assert max(map(len, lines)) <= 80
    assert TODAY.year == 2026
