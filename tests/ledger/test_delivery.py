"""Delivery notes: their columns, their rows and the places of what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.keyed import read_delivery


def note(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "in.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_a_row_is_a_cylinder_with_its_places(tmp_path: Path) -> None:
    text = 'Serial,First test,valve.outlet\nK1,2026-10,yoke\n"K,2",,yoke\n'
    arrivals, findings = read_delivery(note(tmp_path, text))
    assert findings == []
    assert [{k: v.text for k, v in a.given.items()} for a in arrivals] == [
        {"serial": "K1", "first_test": "2026-10", "valve.outlet": "yoke"},
        {"serial": "K,2", "valve.outlet": "yoke"},
    ]
    outlet = arrivals[1].given["valve.outlet"].start
    assert (arrivals[1].place, outlet.line, outlet.column) == ("in.csv", 3, 8)


@pytest.mark.parametrize("prefix", ["", "\ufeff"])
def test_what_a_spreadsheet_writes_is_read(tmp_path: Path, prefix: str) -> None:
    arrivals, findings = read_delivery(note(tmp_path, f"{prefix}SERIAL,Use\r\nK1,sale\r\n,\r\n"))
    assert findings == []
    assert len(arrivals) == 1


@pytest.mark.parametrize(
    ("text", "where", "said"),
    [
        ("serial,colour\nK1,red\n", "in.csv:1:8", "the column `colour` is not known"),
        ("serial,serial\nK1,K1\n", "in.csv:1:8", "the column `serial` is there twice"),
        ("serial;use\nK1;sale\n", "in.csv:1:1", "the column `serial;use` is not known"),
        ("serial,use\nK1\n", "in.csv:2:1", "1 cells where 2 are wanted"),
        ('serial,use\nK1,"sale\n', "in.csv:2:4", "a quotation mark is not closed on its line"),
        ("serial,status\nK1,sold\n", "in.csv:1:8", "the column `status` is not known"),
        ("", "in.csv:1:1", "the column `` is not known"),
    ],
)
def test_what_is_wrong_has_its_place(tmp_path: Path, text: str, where: str, said: str) -> None:
    _, findings = read_delivery(note(tmp_path, text))
    assert [str(f.where) for f in findings if f.text == said] == [where]


@pytest.mark.parametrize("data", [b"\xff\xfes\x00", b"serial\n\xff\n"])
def test_a_file_that_is_no_text_is_refused(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(LedgerError, match="UTF-8"):
        read_delivery(note(tmp_path, data))


def test_a_folder_is_no_delivery_note(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="this is a folder"):
        read_delivery(tmp_path)
