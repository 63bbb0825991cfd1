"""CSV for spreadsheets: quoting by RFC 4180, and no text that runs as a formula."""

from __future__ import annotations

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.output.as_csv import dumps
from tankbook.units import Money, PartialDate
from tankbook.units.formulas import FORMULA, safe


def read(text: str) -> list[list[str]]:
    """As a spreadsheet reads it: UTF-8, the byte order mark taken off."""
    return list(csv.reader(io.StringIO(text.encode().decode("utf-8-sig"), newline="")))


def test_the_file() -> None:
    row = ("a, \"b\"", 3, 2.5, Decimal("18.50"), dt.date(2026, 11, 25), PartialDate.parse("2026-02"),
           Money.parse("18.50 USD"), None, True)  # fmt: skip
    text = dumps(("t", "i", "f", "d", "day", "month", "price", "none", "yes"), [row])
    assert text.encode().startswith(b"\xef\xbb\xbf")
    assert text.endswith('"a, ""b""",3,2.5,18.50,"2026-11-25","2026-02",18.50,"","yes"\r\n')
    assert read(text)[1] == [
        'a, "b"', "3", "2.5", "18.50", "2026-11-25", "2026-02", "18.50", "", "yes",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1",
        "-1+cmd|' /C calc'!A0",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "\n=1",
        "  =1",
        "＝1",
        '=HYPERLINK("http://example.invalid")',
    ],
)
def test_a_text_that_would_run_is_marked(text: str) -> None:
    assert safe(text).startswith("'")
    (cell,) = read(dumps(("h",), [(text,)]))[1]
    assert cell.startswith("'")


@pytest.mark.parametrize("text", ["RB-014", "3000 psi", "a=b", "1-2", "", "Ångström", "#1"])
def test_an_ordinary_text_stays_as_it_is(text: str) -> None:
    assert safe(text) == text


def test_a_negative_number_stays_a_number() -> None:
    assert dumps(("h",), [(-56,), (-2.5,)]).splitlines()[1:] == ["-56", "-2.5"]


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=5))
def test_any_text_comes_back_and_none_runs(rows: list[list[str]]) -> None:
    got = read(dumps(("a", "b"), rows))[1:]
    assert len(got) == len(rows)
    for line, row in zip(got, rows, strict=True):
        assert line == [safe(text) for text in row]
        assert not any(cell.lstrip(" \u00a0").startswith(FORMULA) for cell in line)
