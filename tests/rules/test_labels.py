"""Which labels are refused, and why."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.rules.labels import UNREADABLE, LabelKind, against_label
from tankbook.rules.rental import against_going_out


@pytest.fixture(name="cove", scope="module")
def _cove() -> Book:
    return load(Path(__file__).parents[2] / "example_ledger").as_known_on(dt.date(2026, 11, 25))


LATE = ("RB-044: hydro lapsed Sep 2026", "its isolator is shut: each side has its own reading")

CASES = [
    (LabelKind.TAG, "CU-072", ()),
    (LabelKind.TAG, "RB-011", ()),
    (LabelKind.IDENTITY, "CU-072", ()),
    (LabelKind.ANALYSIS, "RB-041", ()),
    (LabelKind.ANALYSIS, "RB-016", ()),  # out, and what it holds is known
    (LabelKind.ANALYSIS, "CU-067", ("it is rejected: line corrosion under the boot, deepest pit 1.1 mm",)),
    (LabelKind.ANALYSIS, "DB-02", LATE),
    (LabelKind.DO_NOT_FILL, "DB-02", ()),
    (LabelKind.DO_NOT_FILL, "RB-011", ("nothing is against filling it",)),
    (LabelKind.RENTAL, "RB-011", ()),
    (LabelKind.RENTAL, "RB-016", ()),  # out already: the tag names the booking
    (LabelKind.RENTAL, "RB-041", ("it is one side of DB-01: the two go out as one",)),
    (LabelKind.RENTAL, "DB-02", LATE),
    (LabelKind.SLIP, "SF-054", ()),  # sold
    (LabelKind.SLIP, "DB-01", ("a slip is for one cylinder: ask for RB-041 and RB-042",)),
    (LabelKind.SLIP, "SF-053", ("no second outside look within 7 days is on record: look it over and record that (`tankbook inspect --checklist outside`)",)),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "id_", "reasons"), CASES)
def test_against(
    kind: LabelKind, id_: str, reasons: tuple[str, ...], cove: Book, today: dt.date
) -> None:
    assert against_label(cove, id_, kind, today) == reasons


@pytest.mark.parametrize("id_", ["RB-018", "CU-061", "PN-092", "SF-055"])
def test_a_rental_tag_is_for_what_may_go_out(id_: str, cove: Book, today: dt.date) -> None:
    found = against_label(cove, id_, LabelKind.RENTAL, today)
    assert found == against_going_out(cove, id_, today, today) != ()


@pytest.mark.parametrize(
    ("kind", "reasons"),
    [
        (LabelKind.TAG, ()), (LabelKind.DO_NOT_FILL, ()),
        *((k, (UNREADABLE,)) for k in (LabelKind.IDENTITY, LabelKind.ANALYSIS, LabelKind.RENTAL, LabelKind.SLIP)),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_gets_only_the_warning(
    kind: LabelKind, reasons: tuple[str, ...], tmp_path: Path, today: dt.date
) -> None:
    (tmp_path / "cylinders").mkdir()
    (tmp_path / "tankbook.yaml").write_text("ledger: Quay\nunits: psi\nrules: [us-dot]\n")
    (tmp_path / "cylinders/RB-014.yaml").write_text("serial: [\n")
    assert against_label(load(tmp_path), "RB-014", kind, today) == reasons
