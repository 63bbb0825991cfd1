"""Tables fit the page and lose nothing."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from tankbook.output.page import Page
from tankbook.output.tables import NARROWEST, table

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
