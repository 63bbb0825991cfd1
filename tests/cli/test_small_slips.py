"""Slips of the first day: told for what they are, at any width."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tankbook.ledger.load import load
from tankbook.ledger.workbook import read_workbook, write_workbook
from tankbook.output.page import Page
from tankbook.records.other_words import keys_meant

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]


def test_a_page_of_explanations_is_passed_over_for_the_first_table() -> None:
    pages = [
        ("Read me", ["Kept by the club"], [["Ask Jo"]]),
        ("Cylinders", ["Serial", "WP (bar)"], [["K1", "232"]]),
        ("Hire", ["Tank", "Date out"], [["K1", "14/06/2025"]]),
    ]
    made = write_workbook(pages, "club.xlsx")
    found = read_workbook(made, "club.xlsx")
    assert found.name == "Cylinders"
    assert any("`Read me`" in note for note in found.notes)
    assert read_workbook(made, "club.xlsx", "Read me").name == "Read me"
    alone = write_workbook(pages[:1], "club.xlsx")
    assert read_workbook(alone, "club.xlsx").name == "Read me"


@pytest.mark.parametrize("name", ["club.yaml", "club.YML"])
def test_a_mapping_is_no_table(name: str, tb: Run, tmp_path: Path) -> None:
    (tmp_path / name).write_text("headings: 1\ncolumns: []\n")
    ran = tb("import", name)
    assert ran.code == 2
    assert f"{name} is a mapping or a record, and no table" in ran.err


@pytest.mark.parametrize("there", [False, True])
@pytest.mark.parametrize("place", ["no/such/place", "here"])
def test_a_folder_without_a_ledger_is_named_as_it_was_given(
    place: str, there: bool, tb: Run, tmp_path: Path
) -> None:
    given = tmp_path / place
    if there:
        given.mkdir(parents=True)
    ran = tb("due", "--ledger", str(given))
    assert ran.code == 2
    assert f"{given}: there is no tankbook.yaml" in ran.err


def test_a_card_whose_name_begins_with_a_point_is_told_so(tmp_path: Path) -> None:
    (tmp_path / "cylinders").mkdir()
    (tmp_path / "tankbook.yaml").write_text((ROOT / "example_ledger/tankbook.yaml").read_text())
    (tmp_path / "cylinders/.RB-213.yaml").write_text("serial: K1\nservice_pressure: 3000 psi\n")
    (told,) = [f.text for f in load(tmp_path).findings if f.code == "file-name"]
    assert told == "it is not read: the name begins with a point"


@pytest.mark.parametrize(
    ("word", "key"), [("workingPressure", "service_pressure"), ("serialNo", "serial")]
)
def test_a_key_in_one_word_points_to_its_own(word: str, key: str) -> None:
    assert next(keys_meant(word), "") == key


@pytest.mark.parametrize("width", [40, 60, 80])
def test_a_long_item_of_a_list_stays_within_the_page(width: int) -> None:
    items = ["B1 air 2210 psi (STALE, read 6 days ago, 2 fills since)", "B2 air 3000 psi"]
    lines = Page(width).items("Banks", items).splitlines()
    assert max(map(len, lines)) <= width
    assert " ".join(line.strip() for line in lines) == f"Banks: {', '.join(items)}"
