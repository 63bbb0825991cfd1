"""Two lines of the log that tell of one act."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.rules.checks import check

EXAMPLE = Path(__file__).resolve().parents[2] / "example_ledger"
NINE = "2026-11-20T09:30:00+01:00"
FILL = f"at={NINE}; cylinder=RB-014; act=fill; to=3000 psi; gas=air; by=MV"


def told(make_book: Callable[..., Book], *rows: str) -> list[tuple[str, str, str, int]]:
    book = make_book({"RB-014": books.GOOD}, log="\n".join(rows))
    found = [f for f in check(book, books.TODAY) if f.code in {"edited-line", "line-twice"}]
    return [(f.code, f.severity.value, f.text, f.where.line) for f in found]


@pytest.mark.parametrize(
    ("other", "cells"),
    [
        (FILL.replace("3000 psi", "2900 psi"), "to"),
        (FILL.replace("by=MV", "by=TO; note=x"), "by, note"),
        (FILL.replace("gas=air", "gas=nitrox32; o2=32 %"), "gas, o2"),
    ],
)
def test_an_edited_line_beside_its_original_is_a_fault(
    make_book: Callable[..., Any], other: str, cells: str
) -> None:
    text = f"line 2 tells of this fill otherwise ({cells})"
    assert told(make_book, FILL, other) == [("edited-line", "fault", text, 3)]


def test_of_a_copied_log_it_is_said_once_with_how_many(make_book: Callable[..., Any]) -> None:
    rows = [FILL.replace("09:30", f"09:{n}") for n in (30, 31, 32)]
    text = "3 lines stand twice, the first of them as line 2"
    assert told(make_book, *rows, *rows) == [("line-twice", "advice", text, 5)]


def test_a_copied_year_is_said_once(tmp_path: Path) -> None:
    root = tmp_path / "cove"
    shutil.copytree(EXAMPLE, root)
    lines = (root / "fills/2026.csv").read_text().splitlines()
    (root / "fills/2026b.csv").write_text("\n".join(lines) + "\n")
    book = load(root, today=books.TODAY, clock=books.TODAY)
    (found,) = [f for f in check(book, books.TODAY) if f.code == "line-twice"]
    count = len(lines) - 1
    assert found.text == f"{count} lines stand in fills/2026.csv too, the first of them as line 2"


def test_an_exact_double_is_advice(make_book: Callable[..., Any]) -> None:
    assert told(make_book, FILL, FILL) == [("line-twice", "advice", "line 2 says the same", 3)]


@pytest.mark.parametrize(
    "other",
    [
        FILL.replace(":00+01", ":01+01"),
        FILL.replace("RB-014", "RB-015"),
        FILL.replace("act=fill", "act=reading").replace("; gas=air", ""),
    ],
)
def test_another_act_is_nothing(make_book: Callable[..., Any], other: str) -> None:
    assert told(make_book, FILL, other) == []


def test_one_moment_may_strike_out_two_lines(make_book: Callable[..., Any]) -> None:
    void = f"at={NINE}; cylinder=RB-014; act=void; by=MV; note=x; voids="
    assert (
        told(
            make_book,
            f"{void}2026-11-01T09:00:00+01:00 RB-014",
            f"{void}2026-11-02T09:00:00+01:00 RB-014",
        )
        == []
    )


def test_one_moment_in_another_offset_is_the_same_moment(make_book: Callable[..., Any]) -> None:
    other = FILL.replace("09:30:00+01:00", "08:30:00+00:00").replace("3000", "2900")
    assert [code for code, *_ in told(make_book, FILL, other)] == ["edited-line"]
