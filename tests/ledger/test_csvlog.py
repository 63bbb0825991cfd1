"""The log's lines: what is a row, what is not and where, and what may be added."""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.csvlog import LogRow, addition, read_rows
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.text import BOM

HEADER = ("at", "cylinder", "note")
TOP = "at,cylinder,note\n"
PATH = "fills/2026.csv"

CELLS = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]) | st.sampled_from(',"\t é')
)
ROWS = st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1)


def read(text: str) -> tuple[list[tuple[str, ...]], list[str]]:
    rows, findings = read_rows(text, PATH, HEADER)
    return [row.cells for row in rows], [
        f"{f.where.line}:{f.where.column} {f.code}" for f in findings
    ]


@given(ROWS)
def test_what_is_added_reads_back(rows: list[tuple[str, ...]]) -> None:
    whole = addition(None, rows, PATH, HEADER)
    assert read(whole.decode()) == (rows, [])
    assert whole == addition(None, rows[:1], PATH, HEADER) + addition(
        addition(None, rows[:1], PATH, HEADER), rows[1:], PATH, HEADER
    )


@given(ROWS)
def test_lines_are_as_another_writer_would_write_them(rows: list[tuple[str, ...]]) -> None:
    other = io.StringIO()
    csv.writer(other, lineterminator="\n").writerows([HEADER, *rows])
    assert read(other.getvalue()) == (rows, [])
    other = io.StringIO()
    csv.writer(other, quoting=csv.QUOTE_ALL, lineterminator="\n").writerows([HEADER, *rows])
    assert read(other.getvalue()) == (rows, [])


@given(st.text() | st.text('\n\r",a \0').map(lambda text: TOP + text))
def test_no_text_makes_reading_fail(text: str) -> None:
    rows, findings = read_rows(text, PATH, HEADER)
    assert all(len(row.cells) == len(HEADER) for row in rows)
    assert all(finding.where.path == PATH for finding in findings)


@given(st.text('\n",a', min_size=1))
def test_every_line_is_a_row_or_told(text: str) -> None:
    rows, findings = read_rows(TOP + text, PATH, HEADER)
    lines = (TOP + text).removesuffix("\n").count("\n") + 1
    told = {row.line for row in rows} | {finding.where.line for finding in findings}
    assert told | {0, 1} >= set(range(2, lines + 1)) or len(findings) > 20


@pytest.mark.parametrize(
    ("text", "rows", "findings"),
    [
        (TOP, [], []),
        (TOP + "1,2,3\n", [("1", "2", "3")], []),
        (TOP + ",,\n", [("", "", "")], []),
        (TOP + '1,"a, ""b""",\n', [("1", 'a, "b"', "")], []),
        (BOM + TOP + "1,2,3\n", [("1", "2", "3")], []),
        ('"at","cylinder","note"\n1,2,3\n', [("1", "2", "3")], []),
        (TOP + "1,2\n3,4,5\n6,7,8,9\n", [("3", "4", "5")], ["2:1 cell-count", "4:1 cell-count"]),
        (TOP + '1,a "b",3\n4,5,6\n', [("4", "5", "6")], ["2:5 stray-quote"]),
        (TOP + '1,"a"b,3\n', [], ["2:6 stray-quote"]),
        (TOP + '1,2,"a\nb"\n', [], ["2:5 open-quote", "3:2 stray-quote"]),
        (TOP + "1,2,3\n\n4,5,6\n", [("1", "2", "3"), ("4", "5", "6")], ["3:1 blank-line"]),
        (TOP + "1,2,3\n4,5", [("1", "2", "3")], ["3:1 torn-line"]),
        (TOP + '1,2,3\n4,5,"six', [("1", "2", "3")], ["3:5 torn-line"]),
        (TOP + "1,2,3", [("1", "2", "3")], ["2:1 no-line-end"]),
        ("at,cylinder,note", [], []),
        (TOP.replace("\n", "\r\n") + "1,2,3\r\n", [("1", "2", "3")], ["1:1 crlf"]),
        (TOP + "1,2\r,3\n4,5,6\n", [("4", "5", "6")], ["1:1 crlf", "2:4 forbidden-character"]),
        (TOP + "1,\0,3\n4,5,6\n", [("4", "5", "6")], ["2:3 forbidden-character"]),
        (
            TOP + "<<<<<<< HEAD\n1,2,3\n=======\n4,5,6\n>>>>>>> b\n",
            [("1", "2", "3"), ("4", "5", "6")],
            ["2:1 merge-conflict", "4:1 merge-conflict", "6:1 merge-conflict"],
        ),
        ("", [], ["1:1 no-header"]),
        ("\n1,2,3\n", [], ["1:1 no-header"]),
        ("at,note\n1,2\n", [], ["1:1 missing-column"]),
        ("at,cylinder,gas,note\n", [], ["1:13 unknown-column"]),
        ("at,cylinder,\n", [], ["1:1 missing-column", "1:13 unknown-column"]),
        ("at,note,cylinder\n", [], ["1:1 column-order"]),
        ("at,cylinder,note,note\n", [], ["1:1 column-order"]),
    ],
)
def test_rows_and_faults(text: str, rows: list[tuple[str, ...]], findings: list[str]) -> None:
    assert read(text) == (rows, findings)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            TOP + "1,2\n",
            "2:1: 2 cells where 3 are wanted; "
            "compare it with the header; a cell with a comma in it needs quotation marks",
        ),
        (
            TOP + "1,2",
            "2:1: the last line is cut short: 2 cells where 3 are wanted; "
            "complete it or delete it, and see that what it told of is logged",
        ),
        (
            TOP + '1,2,"a\n',
            "2:5: a quotation mark is not closed on its line; "
            "close it; a cell may not go on in the next line",
        ),
        (
            "at,cylinder,n\x1bte\n",
            "1:13: the column 'n\\x1bte' is not known; the first line is at,cylinder,note",
        ),
    ],
)
def test_faults_in_words(text: str, line: str) -> None:
    _, findings = read_rows(text, PATH, HEADER)
    assert f"{PATH}:{line}" in map(str, findings)


def test_a_fault_far_down_leaves_the_other_rows() -> None:
    lines = [f"{n},a,b\n" for n in range(5000)]
    lines[3210] = "oops\n"
    rows, findings = read_rows(TOP + "".join(lines), PATH, HEADER)
    assert [f.where.line for f in findings] == [3212]
    assert [row.line for row in rows] == [n for n in range(2, 5002) if n != 3212]
    assert all(row.cells[0] == str(row.line - 2) for row in rows)


def test_forbidden_characters_never_reach_a_row_however_many() -> None:
    rows, _ = read_rows(TOP + "1,\0,3\n" * 100 + "4,5,6\n", PATH, HEADER)
    assert [row.cells for row in rows] == [("4", "5", "6")]


def test_columns_count_quotation_marks() -> None:
    row = LogRow(("a", "b, c", "", "d"), 2, 'a,"b, c",,d')
    assert [row.column(i) for i in range(4)] == [1, 3, 10, 11]


@pytest.mark.parametrize(
    ("current", "added"),
    [
        (None, b"at,cylinder,note\n1,2,3\n"),
        (b"", b"at,cylinder,note\n1,2,3\n"),
        (TOP.encode(), b"1,2,3\n"),
        (b"at,cylinder,note", b"\n1,2,3\n"),
        (TOP.encode() + b"a,b,c", b"\n1,2,3\n"),
        (b"\xef\xbb\xbfat,cylinder,note\r\na,b,c\r\n", b"1,2,3\n"),
    ],
)
def test_addition_begins_where_the_file_ends(current: bytes | None, added: bytes) -> None:
    assert addition(current, [("1", "2", "3")], PATH, HEADER) == added


@pytest.mark.parametrize(
    ("current", "line"),
    [
        (TOP.encode() + b"a,b\nc,d,e\nf,g", f"{PATH}:4:1: the last line is cut short; "),
        (TOP.encode() + b'a,b,"c', f"{PATH}:2:1: the last line is cut short; "),
        (b"at,note\n", f"{PATH}:1:1: the column cylinder is missing; "),
        (b"\xff\xfe", f"{PATH}:1:1: the column"),
    ],
)
def test_nothing_is_added_to_a_log_that_is_not_whole(current: bytes, line: str) -> None:
    with pytest.raises(LedgerError) as refusal:
        addition(current, [("1", "2", "3")], PATH, HEADER)
    assert str(refusal.value).startswith(line)


@pytest.mark.parametrize(
    ("cell", "what"),
    [
        ("a\nb", "a line end"),
        ("a\r\nb", "a line end"),
        ("a\rb", "a line end"),
        ("a\0", "a NUL byte"),
        ("\u202e", "the character U+202E"),
    ],
)
def test_a_cell_that_would_tear_the_log_is_refused(cell: str, what: str) -> None:
    with pytest.raises(LedgerError, match=re.escape(f"holds {what}; a log line is")):
        addition(None, [("1", "2", cell)], PATH, HEADER)


def test_a_row_has_as_many_cells_as_the_header() -> None:
    with pytest.raises(ValueError, match="2 cells for 3 columns"):
        addition(None, [("1", "2")], PATH, HEADER)
