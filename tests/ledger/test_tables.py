"""Tables as people bring them: their bytes, their signs between cells, their quotation marks."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.tables import (
    MOST_COLUMNS,
    MOST_ROWS,
    SEPARATORS,
    on_one_line,
    read_table,
    table_of,
)
from tankbook.records.tab import Tab, column_of, letter_of

ROWS = [["No", "Größe", "Bemerkung"], ["1", "12", "Ventil undicht, Prüfer müde"], ["2", "10", "é"]]


def cells(tab: Tab) -> list[list[str]]:
    return [[c.text for c in row.cells] for row in tab.rows]


def text_of(sep: str, rows: list[list[str]] = ROWS) -> str:
    quoted = [[f'"{c}"' if sep in c else c for c in row] for row in rows]
    return "\n".join(sep.join(row) for row in quoted) + "\n"


@pytest.mark.parametrize("sep", SEPARATORS)
@pytest.mark.parametrize(
    ("encoding", "begin", "read_as"),
    [
        ("utf-8", b"", "utf-8"),
        ("utf-8", codecs.BOM_UTF8, "utf-8"),
        ("utf-16", b"", "utf-16"),
        ("utf-16-le", b"", "utf-16"),
        ("utf-16-be", b"", "utf-16"),
        ("cp1252", b"", "cp1252"),
        ("latin-1", b"", "cp1252"),
        ("mac_roman", b"", "mac-roman"),
    ],
)
def test_any_separator_and_encoding(sep: str, encoding: str, begin: bytes, read_as: str) -> None:
    tab = table_of(begin + text_of(SEPARATORS[sep]).encode(encoding), "club.csv")
    assert cells(tab) == ROWS
    assert (tab.separator, tab.encoding) == (sep, read_as)
    odd = read_as not in ("utf-8", "utf-16")
    assert [n for n in tab.notes if "read as" in n] == (
        [f"it is no UTF-8 and was read as {read_as}: is `{tab.notes[0].split('`')[1]}` right?"]
        if odd
        else []
    )


def test_an_encoding_that_is_said_counts() -> None:
    data = "Größe\nü\n".encode("cp1252")
    assert cells(table_of(data, "x.csv", encoding="mac-roman"))[0] != ["Größe"]
    assert cells(table_of(data, "x.csv", encoding="cp1252"))[0] == ["Größe"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("a;b\n1,5;2,5\n3,5;4,5\n", [["a", "b"], ["1,5", "2,5"], ["3,5", "4,5"]]),
        ("sep=|\na|b;c\n1|2\n", [["a", "b;c"], ["1", "2"]]),
        (
            "title\n\na,b,c\n1,2,3\n4,5,6\n",
            [["title"], ["a", "b", "c"], ["1", "2", "3"], ["4", "5", "6"]],
        ),
        ("alone\nK1\nK2\n", [["alone"], ["K1"], ["K2"]]),
        ('a,b\n"x ""y"" z",2\n', [["a", "b"], ['x "y" z', "2"]]),
        ('a,b\n"two\nlines",2\n', [["a", "b"], ["two; lines", "2"]]),
        ('a,b\n5" hose,2\n', [["a", "b"], ['5" hose', "2"]]),
        ('a,b\n1,"x\n2,3\n', [["a", "b"], ["1", '"x'], ["2", "3"]]),
        ("a,b\r\n1,2\r\n", [["a", "b"], ["1", "2"]]),
        ("a,b\r1,2\r", [["a", "b"], ["1", "2"]]),
        ("a,b\n=1+1,@SUM(A1)\n", [["a", "b"], ["=1+1", "@SUM(A1)"]]),
        (",,\n , \n", None),
        ("a,b\n1\u00a02 ,\x07 x\n", [["a", "b"], ["1 2", "x"]]),
    ],
)
def test_signs_and_quotation_marks(text: str, found: list[list[str]] | None) -> None:
    if found is None:
        with pytest.raises(LedgerError):
            table_of(text.encode(), "x.csv")
    else:
        assert cells(table_of(text.encode(), "x.csv")) == found


def test_a_quotation_mark_that_is_not_closed_has_its_place() -> None:
    with pytest.raises(LedgerError) as error:
        table_of(b'a,b,c\n1,"x,2\n3,4,5\n', "x.csv")
    assert str(error.value) == (
        "x.csv:2:3: a quotation mark is opened here and not closed; close it, or double it if it "
        "is part of the text"
    )


def test_cells_keep_their_places_behind_lines_in_quotation_marks() -> None:
    tab = table_of(b'a,b\n"x\ny",2\n3,4\n', "x.csv")
    assert [(row.number, [(c.place.line, c.place.column) for c in row.cells]) for row in tab.rows] == [
        (1, [(1, 1), (1, 3)]), (2, [(2, 1), (3, 4)]), (4, [(4, 1), (4, 3)]),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "there is nothing in it"),
        (b"%PDF-1.7", "it is a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "workbook of the old kind"),
        (b"PK\x03\x04 broken", "its file is damaged"),
        (b"a,b\n1,\0\0", "it is no text"),
        (("a\n" * (MOST_ROWS + 2)).encode(), "more than 20,000 rows"),
        (b"," * MOST_COLUMNS + b"x\n", "more than 20,000 rows or 250 columns"),
    ],
)
def test_what_is_no_table_is_refused_in_a_line(data: bytes, said: str) -> None:
    with pytest.raises(LedgerError, match=said) as error:
        table_of(data, "x.csv")
    assert error.value.mend


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"separator": "!"}, "`!` is no separator that is known"),
        ({"encoding": "ebcdic"}, "`ebcdic` is no encoding"),
        ({"encoding": "utf-8"}, "it is no text in utf-8"),
    ],
)
def test_what_a_mapping_says_of_a_text_is_known(
    options: dict[str, str], said: str, tmp_path: Path
) -> None:
    (tmp_path / "x.csv").write_bytes(b"a,b\n\xff,2\n")
    with pytest.raises(LedgerError, match=said):
        read_table(tmp_path / "x.csv", **options)


def test_a_folder_is_no_table(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="this is a folder"):
        read_table(tmp_path)


CELL = st.text(
    st.characters(codec="utf-8", exclude_characters="\0", exclude_categories=("Cs",)), max_size=12
)


@given(
    st.lists(st.lists(CELL, min_size=2, max_size=4), min_size=1, max_size=6),
    st.sampled_from(sorted(SEPARATORS)),
)
def test_what_the_csv_module_writes_is_read_cell_by_cell(rows: list[list[str]], sep: str) -> None:
    import csv
    import io

    out = io.StringIO()
    csv.writer(out, delimiter=SEPARATORS[sep], quoting=csv.QUOTE_ALL).writerows(
        [["head", "of it"], *rows]
    )
    tab = table_of(out.getvalue().encode(), "x.csv", separator=sep)
    shown = [[on_one_line(c) for c in row] for row in rows]
    assert cells(tab)[1:] == [row for row in shown if any(row)]


@given(st.integers(0, 17_000))
def test_columns_have_letters(column: int) -> None:
    assert column_of(letter_of(column)) == column


@pytest.mark.parametrize("text", ["", "1", "A1", "ABCD", "Ä"])
def test_what_is_no_letter_of_a_column(text: str) -> None:
    with pytest.raises(ValueError, match="is no column"):
        column_of(text)
