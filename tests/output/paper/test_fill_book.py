"""The fill book on paper: a page or more a month, with its totals and a line to sign."""

from __future__ import annotations

import datetime as dt
import re
from itertools import pairwise
from typing import Any

import pdf as seen
import pytest
from books import GOOD, TODAY, make_book, with_lines
from changing import replace
from hypothesis import given
from hypothesis import strategies as st

from tankbook.output.drawing import A4, LETTER, MM, Line, Text, Tone
from tankbook.output.fill_book import data
from tankbook.output.page import Page
from tankbook.output.paper import fill_book as paper
from tankbook.output.paper.face import PaperError
from tankbook.output.paper.face import width as width_of
from tankbook.output.paper.fill_book import fill_book_pdf
from tankbook.records.words import Shore
from tankbook.rules.fill_book import FillBook, FillsWanted, fill_book


def line(n: int, day: str, **cells: str) -> str:
    said = {
        "from": "500 psi", "to": "3000 psi", "temperature": "64 degF", "gas": "nitrox32", "o2": "32.1 %",
        "by": "MV", "source": "B1+B2", "position": "P1", **cells,
    }  # fmt: skip
    at = f"{day}T{8 + n // 60:02}:{n % 60:02}:00+00:00"
    return "; ".join([f"at={at}; cylinder=CU-061; act=fill", *map("=".join, said.items())])


def found(*log: str, first: str = "2026-11-01", **asked: Any) -> FillBook:
    card = with_lines(GOOD, serial="WN-88213", use="customer\nowner: C-0271")
    book = make_book({"CU-061": card}, log="\n".join(log))
    return fill_book(book, FillsWanted(dt.date.fromisoformat(first), TODAY, **asked))


def pages_of(book: FillBook, page: Page | None = None) -> list[str]:
    made = fill_book_pdf(book, "Test Quay", TODAY, page or Page())
    return [" ".join(p.split()) for p in seen.text_of(made).split("\n\f\n")]


MANY = [line(n, "2026-11-02") for n in range(70)]


def test_a_row_has_all_that_is_asked_of_a_fill_book() -> None:
    (page,) = pages_of(found(line(90, "2026-11-02", he="0 %")))
    head = "date time cylinder serial customer gas O2 % He % from to temp source position gas given initials"
    row = "2026-11-02 09:30 CU-061 WN-88213 C-0271 nitrox32 32.1 0 500 psi 3000 psi 64 degF B1+B2 P1 66 cuft MV"
    for said in (head, row, "Signed", "Date", "page 1 of 1", "1 Nov 2026 to 25 Nov 2026"):
        assert said in page


def test_many_fills_take_pages_each_with_its_own_totals_and_the_months() -> None:
    pages = pages_of(found(*MANY))
    assert len(pages) == 3
    counts = [int(re.search(r"This page: (\d+) fill", p)[1]) for p in pages]  # type: ignore[index]
    assert sum(counts) == 70
    for number, page in enumerate(pages, 1):
        assert page.count("2026-11-02 ") == counts[number - 1]
        assert "1 Nov 2026 to 25 Nov 2026: 70 fills" in page
        assert f"page {number} of 3" in page
        assert page.count("Signed ____") == 1
        assert "date time cylinder" in page
    assert "By person: MV 70 fills" in pages[-1]
    assert "By person" not in pages[0]


def test_each_month_begins_a_page_and_one_without_fills_says_so() -> None:
    pages = pages_of(found(line(0, "2026-09-30"), line(0, "2026-11-01"), first="2026-09-01"))
    assert len(pages) == 3
    assert "Sep 2026: 1 fill," in pages[0]
    assert "Oct 2026" in pages[1]
    assert "No fill is on record." in pages[1]
    assert "Oct 2026: 0 fills." in pages[1]
    assert "Signed" in pages[1]
    assert "1 Nov 2026 to 25 Nov 2026: 1 fill," in pages[2]


def test_what_is_struck_out_is_shown_so_with_its_reason_and_not_counted() -> None:
    void = (
        "at=2026-11-03T08:00:00+00:00; cylinder=CU-061; act=void; by=KD; "
        "voids=2026-11-02T08:00:00+00:00 CU-061; note=it was CU-062"
    )
    book = found(line(0, "2026-11-02"), line(1, "2026-11-02"), void)
    (page,) = pages_of(book)
    assert "STRUCK OUT: it was CU-062 (KD, 3 Nov 2026)" in page
    assert "This page: 1 fill, 66 cuft of gas; 1 struck out, not counted." in page
    (items,) = laid_out(book)
    across = [i for i in items if isinstance(i, Line) and i.weight == 0.7]
    struck = [i for i in items if isinstance(i, Text) and i.text == "08:00"]
    assert len(across) == len(struck) == 1
    assert 0 < struck[0].y - across[0].y1 < struck[0].size / MM


def test_overrides_and_notes_stand_below_their_row() -> None:
    (page,) = pages_of(
        found(
            line(0, "2026-11-02", override="regatta day (JO)"),
            line(1, "2026-11-02", note="happened: regulator set too high"),
        )
    )
    assert "Override: regatta day (JO)" in page
    assert "happened: regulator set too high" in page
    assert "1 override; 1 logged against advice" in page


def laid_out(book: FillBook, page: Page | None = None) -> list[list[Any]]:
    """The marks of each page of each month."""
    wide, tall = LETTER[1], LETTER[0]
    return [
        items
        for month in book.months
        for items in paper._Month(
            book, month, "Fill book", page or Page(), tall=tall, wide=wide
        ).laid_out()
    ]


LONG = "X9" * 40
HOSTILE = [
    line(0, "2026-11-02", source=f"B1+{LONG}", by=LONG, position=LONG, note="y" * 300),
    line(1, "2026-11-02", source="elsewhere: a very long name of a shop far away, by the sea"),
    line(2, "2026-11-02", by="", source="", gas="", o2="", temperature=""),
]


@pytest.mark.parametrize("log", [MANY, HOSTILE, []])
def test_nothing_is_too_small_off_the_page_or_other_than_black(log: list[str]) -> None:
    wide, tall = LETTER[1], LETTER[0]
    for items in laid_out(found(*log)):
        for item in items:
            assert item.tone is Tone.INK
            if isinstance(item, Text):
                assert item.size >= 6.0
                room = width_of(item.text, item.size, item.bold)
                assert item.x >= 12.0
                assert item.x + room <= wide - 11.0
                assert 0 < item.y <= tall - 12.0 + 0.1


def test_cells_do_not_run_into_the_next_column() -> None:
    (items,) = laid_out(found(*HOSTILE))
    rows = [i for i in items if isinstance(i, Text) and 6.0 <= i.size <= 8.0]
    lines: dict[float, list[Text]] = {}
    for text in rows:
        lines.setdefault(round(text.y, 1), []).append(text)
    for same in lines.values():
        same.sort(key=lambda t: t.x)
        for one, next_ in pairwise(same):
            assert one.x + width_of(one.text, one.size) <= next_.x


def test_every_letter_of_a_long_name_is_printed() -> None:
    (items,) = laid_out(found(*HOSTILE))
    said = "".join(i.text for i in items if isinstance(i, Text))
    assert said.count("X9") + said.count("9X") > 0
    assert (
        sum(i.text.count("y") for i in items if isinstance(i, Text) and set(i.text) == {"y"}) == 300
    )


def test_an_incomplete_log_is_told_on_every_page() -> None:
    book = replace(found(*MANY), unread=("fills/2025.csv",))
    for page in pages_of(book):
        assert "INCOMPLETE: fills/2025.csv could not be read; fills may be missing." in page


def test_what_cannot_be_printed_is_refused_with_where_it_stands() -> None:
    with pytest.raises(PaperError, match=r"CU-061, 2026-11-02 08:00: .* cannot be printed"):
        pages_of(found(line(0, "2026-11-02", note="\N{HEBREW LETTER ALEF}")))


def test_the_paper_is_that_of_the_shore_laid_crosswise() -> None:
    book = found(line(0, "2026-11-02"))
    for shore, (width, height) in ((Shore.PSI, LETTER), (Shore.BAR, A4)):
        sheet = seen.opened(fill_book_pdf(book, "Quay", TODAY, Page(shore=shore)))[0]
        size = (sheet.get_width() * seen.MM, sheet.get_height() * seen.MM)
        assert size == pytest.approx((height, width), abs=0.1)


def test_the_same_book_gives_the_same_file() -> None:
    book = found(*MANY)
    one, other = (fill_book_pdf(book, "Quay", TODAY, Page()) for _ in range(2))
    assert one == other


DRAWN = st.lists(
    st.tuples(
        st.integers(0, 85),  # days from the first of September on
        st.integers(0, 59),
        st.sampled_from(("air", "nitrox32", "")),
        st.sampled_from(("MV", "KD", "")),
        st.sampled_from(("500 psi", "1200 psi", "")),
        st.sampled_from(("", "struck", "override", "happened")),
    ),
    max_size=60,
    unique_by=lambda drawn: drawn[:2],
)


@given(DRAWN)
def test_its_pages_come_to_what_fills_says_of_the_same_time(drawn: list[Any]) -> None:
    """Of each month and of all: the fills, those struck out, by gas and by person, and the gas."""
    log = []
    for days, minute, gas, by, pressure, more in drawn:
        day = str(dt.date(2026, 9, 1) + dt.timedelta(days))
        cells = {"gas": gas, "o2": "", "by": by, "from": pressure}
        cells |= {"override": "regatta (JO)"} if more == "override" else {}
        cells |= {"note": "happened: set too high"} if more == "happened" else {}
        log.append(line(minute, day, **cells))
        if more == "struck":
            at = f"{day}T08:{minute:02}:00+00:00 CU-061"
            log.append(
                f"at={day}T23:{minute:02}:00+00:00; cylinder=CU-061; act=void; by=KD; voids={at}"
            )
    whole = found(*sorted(log), first="2026-09-01")
    pages = pages_of(whole)
    assert len(re.findall(r"2026-\d\d-\d\d \d\d:\d\d", " ".join(pages))) == len(drawn)
    for n, (month, last) in enumerate(((9, 30), (10, 31), (11, 25)), 9):
        start = f"{dt.date(2026, month, 1):%b} 2026" if n < 11 else "1 Nov 2026 to 25 Nov 2026"
        mine = [p for p in pages if f"{start}: " in p]
        assert mine
        card = {"CU-061": with_lines(GOOD, serial="WN-88213", use="customer\nowner: C-0271")}
        wanted = FillsWanted(dt.date(2026, month, 1), dt.date(2026, month, last))
        told = data(fill_book(make_book(card, log="\n".join(sorted(log))), wanted))
        of_pages = [re.search(r"This page: (\d+) fills?", p) for p in mine]
        if len(mine) > 1:
            assert sum(int(m[1]) for m in of_pages if m) == told["fills"]
        head = "1 fill" if told["fills"] == 1 else f"{told['fills']} fills"
        assert all(re.search(rf"{start}: {head}[,. ;(]", p) for p in mine), (head, mine)
        struck = sum(p.count("STRUCK OUT") for p in mine)
        assert struck == told["struck_out"] == sum(each["struck_out"] for each in told["lines"])
        for share, key in (("gas", "gas"), ("person", "by")):
            said = re.search(rf"By {share}: (.*?)\. (?:By|Gas is)", mine[-1])
            for each in told[f"by_{share}"]:
                count = "1 fill" if each["fills"] == 1 else f"{each['fills']} fills"
                assert said is not None
                assert f"{each[key]} {count}" in said[1]
        if told["free_gas_cuft"] is not None:
            assert f"{told['free_gas_cuft']:.0f} cuft of gas" in " ".join(mine)
