"""Tables fit the page and lose nothing."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from tankbook.output import as_csv, as_json
from tankbook.output.page import Page
from tankbook.output.tables import NARROWEST, PRESSURE, Column, Table, table
from tankbook.records.words import Shore
from tankbook.units import GaugePressure

WORDS = st.lists(
    st.text("abcdefgh0123456789.-", min_size=1, max_size=9), min_size=1, max_size=25
).map(" ".join)


@given(st.lists(st.tuples(st.text("RB-0123", min_size=1, max_size=9), WORDS, WORDS), min_size=1))
def test_a_table_fits_the_page_and_keeps_every_word(rows: list[tuple[str, str, str]]) -> None:
    text = table(("id", "why", "note"), rows, Page(), wrap=("why", "note"))
    assert max(map(len, text.splitlines())) <= 80
    shown = re.findall(r"\S+", text)
    for row in rows:
        for word in " ".join(row).split():
            assert word in shown


def test_numbers_and_ids_stay_as_written() -> None:
    text = table(("id", "n"), [("0123", "1e3"), ("NO", "007")], Page(), right=("n",))
    assert text == "id      n\n----  ---\n0123  1e3\nNO    007"


def test_a_column_that_may_not_wrap_is_never_narrowed() -> None:
    long = "x" * 90
    text = table(("id", "why"), [(long, "a b c " * 30)], Page(), wrap=("why",))
    assert long in text
    assert max(len(line) for line in text.splitlines()) <= 90 + 2 + NARROWEST


def test_no_rows_no_table() -> None:
    assert table(("id",), [], Page()) == ""


READINGS = Table[tuple[str, GaugePressure | None]](
    Column("id", lambda r: r[0], "id"),
    Column("reads", lambda r: r[1], "reads", none="not read", units=PRESSURE, right=True),
    Column("marked", lambda r: r[1], csv=False),
    Column("unit", lambda r: r[1].unit if r[1] else None, json=False),
    Column("", lambda r: r[0].casefold(), "small", str.title),
)
LINES = [("RB-014", GaugePressure.of(200, "bar")), ("RB-015", None)]


def test_one_declaration_gives_json_csv_and_the_page() -> None:
    assert as_json.plain(READINGS.objects(LINES)) == [
        {"id": "RB-014", "reads_psi": 2900.754755, "reads_bar": 200, "marked": "200 bar"},
        {"id": "RB-015", "reads_psi": None, "reads_bar": None, "marked": None},
    ]
    assert as_csv.dumps(READINGS.head, READINGS.cells(LINES)).splitlines()[:2] == [
        as_csv.BOM + '"id","reads_psi","reads_bar","unit"',
        '"RB-014",2900.754755,200.0,"bar"',
    ]
    assert READINGS.text(LINES, Page(shore=Shore.BAR)).splitlines() == [
        "id         reads  small",
        "------  --------  ------",
        "RB-014   200 bar  Rb-014",
        "RB-015  not read  Rb-015",
    ]


def test_the_keys_of_no_line_are_there() -> None:
    assert READINGS.object(None) == dict.fromkeys(("id", "reads_psi", "reads_bar", "marked"))


def test_columns_can_be_picked_and_put_in_another_order() -> None:
    picked = READINGS.pick("small", "id")
    assert picked.heads == ("small", "id")
    assert picked.text([], Page()) == ""
    assert list(picked.rows(LINES[:1], Page())) == [("Rb-014", "RB-014")]


def test_a_heading_wider_than_what_is_below_it_counts() -> None:
    """What does not fit for its headings is told line by line, on any width."""
    heads = ("row", "what comes of it", "why it cannot be taken")
    for width in (30, 40, 60):
        for rows in ([], [("1", "new", "-")], [("1", "new", "a word of some words more")]):
            text = table(heads, rows, Page(width=width), wrap=heads[1:])
            assert all(len(line) <= width for line in text.splitlines()), text
