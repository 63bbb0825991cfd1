"""Workbooks: what their cells show, and the hostile ones."""

from __future__ import annotations

import datetime as dt
import io
import re
import sys
import zipfile
from collections.abc import Callable
from typing import Any

import pytest

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.tables import table_of
from tankbook.records.tab import Tab

openpyxl = pytest.importorskip("openpyxl")


def made(fill: Callable[[Any], None]) -> bytes:
    book = openpyxl.Workbook()
    fill(book.active)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read(fill: Callable[[Any], None], sheet: str = "") -> Tab:
    return table_of(made(fill), "club.xlsx", sheet=sheet)


def put(page: Any, *rows: list[Any]) -> None:
    for row in rows:
        page.append(row)


def texts(tab: Tab) -> list[list[str]]:
    return [[c.text for c in row.cells] for row in tab.rows]


def shaped(value: Any, shape: str) -> str:
    def fill(page: Any) -> None:
        page["A1"] = value
        page["A1"].number_format = shape

    return texts(read(fill))[0][0]


DAY = dt.datetime(2021, 4, 1)  # noqa: DTZ001


@pytest.mark.parametrize(
    ("value", "shape", "text"),
    [
        (DAY, "yyyy-mm-dd", "2021-04-01"),
        (DAY, "dd/mm/yyyy", "2021-04-01"),
        (DAY, "mm/yyyy", "2021-04"),
        (DAY, "mmm-yy", "2021-04"),
        (DAY, '[$-409]mmm "d"\\-yy', "2021-04"),
        (DAY.date(), "mm-dd-yy", "2021-04-01"),
        (DAY, "d-mmm", "1-Apr"),
        (DAY, "mm/dd", "1-Apr"),
        (DAY, "yyyy", "2021"),
        (412, "00000", "00412"),
        (412.0, "00000", "00412"),
        (0, "0", "0"),
        (123456789012345678, "General", "1.23456789012346E+17"),
        (3000, "General", "3000"),
        (3000.0, "#,##0", "3000"),
        (11.1, "0.0", "11.1"),
        (0.1 + 0.2, "General", "0.3"),
        (1e15, "General", "1000000000000000"),
        (True, "General", "yes"),
        ("  RB\u00a0014 ", "General", "RB 014"),
        ("two\nlines", "General", "two; lines"),
        ("00123", "@", "00123"),
    ],
)
def test_what_a_cell_shows(value: Any, shape: str, text: str) -> None:
    assert shaped(value, shape) == text


def test_merged_cells_count_for_all_that_they_cover() -> None:
    def fill(page: Any) -> None:
        put(
            page,
            ["Club 2026", None, None],
            ["No", "Last test", None],
            [None, "Visual", "Hydro"],
            ["1", "a", "b"],
        )
        page.merge_cells("A1:C1")
        page.merge_cells("B2:C2")
        page.merge_cells("A2:A3")

    assert texts(read(fill)) == [
        ["Club 2026", "", ""], ["No", "Last test", "Last test"], ["No", "Visual", "Hydro"], ["1", "a", "b"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("merged", "row", "shown"),
    [
        ("A2:D2", ["Twinsets", None, None, None], ["Twinsets", "", "", ""]),
        ("A2:B2", ["Twinsets", None, None, None], ["Twinsets", "", "", ""]),
        # of two that stand beside one another each covers its own; so does one over two of many
        ("A2:C2", ["Twinsets", None, None, "red"], ["Twinsets", "Twinsets", "Twinsets", "red"]),
        ("C2:C3", [None, None, "steel", None], ["", "", "steel", ""]),
    ],
)
def test_a_title_across_its_row_stands_in_its_first_cell(
    merged: str, row: list[str | None], shown: list[str]
) -> None:
    """Else each column asks what it means there."""

    def fill(page: Any) -> None:
        put(page, ["No", "Serial", "Metal", "Status"], row, ["1", "K1", None, "ok"])
        page.merge_cells(merged)

    assert [*texts(read(fill))[1], "", "", "", ""][:4] == shown


def test_rows_keep_their_numbers_and_hidden_ones_are_told() -> None:
    def fill(page: Any) -> None:
        page["B3"], page["B5"] = "x", "y"
        page.row_dimensions[5].hidden = True

    tab = read(fill)
    assert [(row.number, row.hidden, row[1].place.column) for row in tab.rows] == [
        (3, False, 2),
        (5, True, 2),
    ]
    assert tab.notes == ("1 row hidden",)


def test_a_formula_is_never_worked_out() -> None:
    tab = read(lambda page: put(page, ["No", "=1+1", '=cmd|"/c calc"!A1']))
    assert texts(tab) == [["No", "=1+1", '=cmd|"/c calc"!A1']]
    assert tab.notes[0] == "2 formulas: what each showed last is read"
    assert tab.notes[1].startswith("B1, C1: a formula of which the file has no value")


@pytest.mark.parametrize(
    ("formula", "shape", "text"),
    [
        ("TODAY()", "yyyy-mm-dd", "=TODAY()"),
        ("Now()-1", "yyyy-mm", "=Now()-1"),
        ("DATE(2021,4,1)", "yyyy-mm-dd", "2021-04-01"),
        ("A9-TODAY()", "0", "44287"),
    ],
)
def test_the_day_on_which_a_file_was_looked_at_is_no_date(
    formula: str, shape: str, text: str
) -> None:
    """What such a cell showed last is the day when the file was saved."""

    def fill(page: Any) -> None:
        page["A1"] = f"={formula}"
        page["A1"].number_format = shape

    packed, out = zipfile.ZipFile(io.BytesIO(made(fill))), io.BytesIO()
    with zipfile.ZipFile(out, "w") as new:
        for name in packed.namelist():
            shown = re.sub(rb"</f><v ?/?>(</v>)?", b"</f><v>44287</v>", packed.read(name))
            new.writestr(name, shown)
    assert texts(table_of(out.getvalue(), "club.xlsx")) == [[text]]


def test_a_formula_that_fills_an_area_is_told_as_it_stands() -> None:
    from openpyxl.worksheet.formula import ArrayFormula

    def fill(page: Any) -> None:
        page["A1"] = ArrayFormula("A1:A2", "=B1:B2")

    assert texts(read(fill)) == [["=B1:B2"]]


def test_of_a_formula_what_it_showed_last_is_read() -> None:
    data = made(lambda page: put(page, ["=1+1", "x"]))
    packed, out = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(out, "w") as new:
        for name in packed.namelist():
            part = packed.read(name).replace(b"<f>1+1</f><v></v>", b"<f>1+1</f><v>2</v>")
            part = part.replace(b"<f>1+1</f><v />", b"<f>1+1</f><v>2</v>")
            part = part.replace(b"<f>1+1</f><v/>", b"<f>1+1</f><v>2</v>")
            new.writestr(name, part)
    tab = table_of(out.getvalue(), "club.xlsx")
    assert texts(tab) == [["2", "x"]]
    assert tab.notes == ("1 formula: what each showed last is read",)


def test_a_sheet_is_chosen_by_its_name() -> None:
    def fill(page: Any) -> None:
        put(page, ["first"])
        put(page.parent.create_sheet("Tests"), ["second"])

    assert texts(read(fill)) == [["first"]]
    assert read(fill).notes == ("its sheet `Sheet` is read; others: `Tests`",)
    assert texts(read(fill, "Tests")) == [["second"]]
    with pytest.raises(LedgerError, match="there is no sheet `Club`; its sheets: Sheet, Tests"):
        read(fill, "Club")


def test_a_hidden_sheet_is_no_first_one_and_is_told() -> None:
    """The list that nobody sees is that of another year."""

    def fill(page: Any) -> None:
        page.title = "2019"
        put(page, ["Serial"], ["OLD"])
        page.sheet_state = "hidden"
        now = page.parent.create_sheet("2026")
        put(now, ["Serial"], ["NEW"])
        page.parent.active = 1

    tab = read(fill)
    assert (tab.name, texts(tab)[1]) == ("2026", ["NEW"])
    assert "its sheet `2026` is read; others: `2019` (hidden)" in tab.notes
    assert "its sheet `2019` is hidden" in read(fill, "2019").notes

    def empty(page: Any) -> None:
        fill(page)
        page.parent["2026"].delete_rows(1, 2)

    with pytest.raises(LedgerError, match="give a hidden one with --sheet: 2019"):
        read(empty)


def test_which_serials_are_numbers_and_from_when_days_are_counted() -> None:
    def fill(page: Any) -> None:
        put(page, ["Serial"], [123], ["0123"], [45])
        page["A4"].number_format = "00000"
        page.parent.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904

    tab = read(fill)
    assert [(row[0].text, row[0].number) for row in tab.rows[1:]] == [
        ("123", True), ("0123", False), ("00045", False),
    ]  # fmt: skip
    assert tab.day_numbers == "1904"


def test_an_empty_first_sheet_is_passed_over() -> None:
    assert texts(read(lambda page: put(page.parent.create_sheet("B"), ["x"]))) == [["x"]]


def packed(parts: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as new:
        for name, data in parts.items():
            new.writestr(name, data)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (
            lambda: packed(
                {"xl/workbook.xml": b"x", "xl/worksheets/sheet1.xml": b"0" * (65 << 20)}
            ),
            "it would unpack to",
        ),
        (
            lambda: packed({"xl/workbook.xml": b"x"} | {f"x/{n}": b"" for n in range(2_001)}),
            "in 2002 parts",
        ),
        (
            lambda: packed({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}),
            "an OpenDocument file",
        ),
        (lambda: packed({"readme.txt": b"hello"}), "is no workbook"),
        (lambda: packed({"xl/workbook.xml": b"<not xml"}), "cannot be read as a workbook"),
        (lambda: made(lambda page: put(page, ["x"]))[:-40], "its file is damaged"),
        (lambda: made(lambda page: None), "there is nothing in it"),
        (lambda: made(lambda page: page.cell(1, 400, "x")), "250 columns"),
    ],
)
def test_a_workbook_that_may_not_be_opened(data: Callable[[], bytes], said: str) -> None:
    with pytest.raises(LedgerError, match=said) as error:
        table_of(data(), "club.xlsx")
    assert error.value.mend


def test_one_cell_far_below_makes_no_table_of_a_million_rows() -> None:
    def fill(page: Any) -> None:
        page["A1"], page["A1048576"] = "x", "y"

    tab = read(fill)
    assert [row.number for row in tab.rows] == [1, 1_048_576]


def test_merged_cells_that_cover_too_much_are_refused() -> None:
    """The reader makes a cell of each: of one line of text, all that a sheet can have."""
    parts = zipfile.ZipFile(io.BytesIO(made(lambda page: put(page, ["x"]))))
    merge = b'</sheetData><mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    whole = {n: parts.read(n).replace(b"</sheetData>", merge) for n in parts.namelist()}
    with pytest.raises(LedgerError, match="its merged cells cover too much"):
        table_of(packed(whole), "club.xlsx")


def test_macros_are_told_and_not_run() -> None:
    data = made(lambda page: put(page, ["x"]))
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a") as more:
        more.writestr("xl/vbaProject.bin", b"Auto_Open")
    tab = table_of(out.getvalue(), "club.xlsm")
    assert tab.notes == ("it has macros; none of them is run",)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize("name", ["xl/workbook.xml", "xl/_rels/workbook.xml.rels"])
def test_entities_that_grow_are_refused(name: str, encoding: str) -> None:
    bomb = (
        b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a "aaaaaaaaaa">'
        + b"".join(
            f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">'.encode() for n in range(9)
        )
        + b"]><workbook>&j;</workbook>"
    )
    bomb = bomb.decode().encode(encoding)
    parts = zipfile.ZipFile(io.BytesIO(made(lambda page: put(page, ["x"]))))
    data = packed({n: bomb if n == name else parts.read(n) for n in parts.namelist()})
    with pytest.raises(LedgerError, match="it declares entities"):
        table_of(data, "club.xlsx")


def test_without_its_reader_the_way_out_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    data = made(lambda page: put(page, ["x"]))
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(LedgerError, match=r"-m pip install openpyxl`; or save it as CSV"):
        table_of(data, "club.xlsx")


def test_what_is_struck_out_is_told_cell_by_cell_and_word_by_word() -> None:
    def fill(page: Any) -> None:
        put(page, ["Serial", "Hydro"], ["A1", "04/2022"], ["A2", "05/2022"], ["A3", "06/2022"])
        from openpyxl.cell.rich_text import CellRichText, TextBlock
        from openpyxl.cell.text import InlineFont
        from openpyxl.styles import Font

        gone = Font(strike=True)
        page["A2"].font = gone
        page["A3"].font = page["B3"].font = gone
        page["B4"].value = CellRichText("06/2022 ", TextBlock(InlineFont(strike=True), "07/2022"))

    tab = read(fill)
    assert [[c.struck for c in row.cells] for row in tab.rows] == [
        [False, False],
        [True, False],
        [True, True],
        [False, True],
    ]
    assert [row.struck for row in tab.rows] == [False, False, True, False]
    assert texts(tab)[3] == ["A3", "06/2022 07/2022"]
    assert "1 row struck out: each is held until looked at" in tab.notes
    assert "2 cells struck out: each is asked, or holds its cylinder" in tab.notes


def test_the_colours_of_cells_and_letters_are_read_however_they_are_kept() -> None:
    from openpyxl.styles import Font, PatternFill
    from openpyxl.styles.colors import Color

    def fill(page: Any) -> None:
        put(page, ["Serial", "Hydro"], *([f"A{n}", "04/2022"] for n in range(6)))
        page["A2"].fill = PatternFill("solid", fgColor="FFFF0000")
        page["A3"].fill = PatternFill("solid", fgColor=Color(indexed=10))
        page["A4"].font = Font(color="FFC00000")
        page["A5"].fill = PatternFill("solid", fgColor="FFFFC000")
        page["A6"].fill = PatternFill("solid", fgColor="FFFFFFFF")
        page["A7"].font = Font(color=Color(theme=1))
        page["B7"].fill = PatternFill("solid", fgColor=Color(theme=4))

    rows = read(fill).rows[1:]
    assert [row[0].colours for row in rows] == [
        ("red",), ("red",), ("letters of red",), ("#FFC000",), (), (),
    ]  # fmt: skip
    assert [row[1].colours for row in rows[:-1]] == [()] * 5
    assert re.fullmatch(r"#[0-9A-F]{6}", rows[-1][1].colours[0])


def test_hatched_and_empty_cells_have_colours_as_well() -> None:
    from openpyxl.styles import PatternFill

    def fill(page: Any) -> None:
        put(page, ["Serial", "Maker", "Hydro"], *([f"A{n}", None, "04/2022"] for n in range(3)))
        page["A2"].fill = PatternFill("lightUp", fgColor="FFFF0000")
        page["B3"].fill = PatternFill("solid", fgColor="FFFFFF00")  # the next to its right
        page["F4"].fill = PatternFill("solid", fgColor="FFFFFF00")  # the last before it

    rows = read(fill).rows[1:]
    assert rows[0][0].colours == ("hatched red",)
    assert [cell.colours for cell in rows[1].cells] == [(), (), ("#FFFF00",)]
    assert [cell.colours for cell in rows[2].cells] == [(), (), ("#FFFF00",)]


def test_colours_by_rules_are_said_not_to_be_seen() -> None:
    from openpyxl.formatting.rule import CellIsRule

    def fill(page: Any) -> None:
        put(page, ["Serial", "Hydro"], ["A1", "04/2022"])
        page.conditional_formatting.add("A1:B2", CellIsRule(operator="equal", formula=["1"]))

    assert "colours that the sheet works out by rules of its own are not seen" in read(fill).notes
