"""Files keyed in by hand, read as they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.keyed import read_found, read_sheet


def sheet(folder: Path, text: str) -> Path:
    path = folder / "lake.csv"
    path.write_text(text)
    return path


def test_columns_may_come_in_any_order_and_blank_rows_of_the_form_are_left_out(
    tmp_path: Path,
) -> None:
    text = "To,Cylinder,analysed by\r\n3000,14,MV\r\n,,\r\n2900,RB-022,\r\n"
    rows = read_sheet(sheet(tmp_path, text))
    assert [(r.line, r["cylinder"], r["to"], r["analysed_by"], r["from"]) for r in rows] == [
        (2, "14", "3000", "MV", ""),
        (4, "RB-022", "2900", "", ""),
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cylinder,too\n14,1\n", "lake.csv:1:1: the column `too` is not known; did you mean `to`?"),
        ("cylinder,to,to\n14,1,2\n", "lake.csv:1:1: the column `to` is there twice"),
        ("cylinder\n14\n", "lake.csv:1:1: a sheet needs the column to"),
        ("cylinder,to\n14\n", "lake.csv:2:1: 1 cells where 2 are wanted"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused_as_a_whole(
    tmp_path: Path, text: str, said: str
) -> None:
    with pytest.raises(LedgerError) as caught:
        read_sheet(sheet(tmp_path, text))
    assert str(caught.value).startswith(said)


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="there is no such file"):
        read_sheet(tmp_path / "gone.csv")


def test_what_was_found_is_any_words(tmp_path: Path) -> None:
    path = sheet(tmp_path, "14 22,RB-031\n# rack 2\nSF-9; 7 # dented\n")
    assert read_found(path) == ["14", "22", "RB-031", "SF-9", "7"]
