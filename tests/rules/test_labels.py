"""Which labels are refused, and why."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from books import GOOD, SETTINGS, make_book
from loglines import fill, line, read

from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.records.words import LabelKind
from tankbook.rules.labels import UNREADABLE, against_label
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


# --- strips: how deep, so that it has to be of what is in it now

DAY = dt.date(2026, 11, 25)
STRIP_CARD = GOOD.replace("service: air", "service: oxygen") + (
    "cleaned:\n  - {on: 2026-10-01, to: oxygen, by: MV}\n"
)
MIX = fill("2026-11-21", "RB-014", to="3000 psi", gas="nitrox32", o2="32.1 %", analysed_by="MV")
AGAIN = fill("2026-11-23", "RB-014", to="3000 psi", gas="nitrox32")
HELIUM = MIX.replace("nitrox32", "trimix20/35").replace("32.1 %", "20.1 %")
DEEPEST = "oxygen_pressure: 1.4 bar abs\n"


@pytest.mark.parametrize(
    ("log", "settings", "reasons"),
    [
        ([MIX], DEEPEST, []),
        ([MIX, read("2026-11-23", "2900 psi", "RB-014")], DEEPEST, []),
        ([MIX, read("2026-11-23", "1500 psi", "RB-014")], DEEPEST,
         ["it was read at 1500 psi on 2026-11-23, lower than the 3000 psi of its analysis on "
          "2026-11-21: analyse what is in it"]),
        ([MIX, read("2026-11-23", "1500 psi", "RB-014"),
          line("2026-11-24", "reading", "RB-014", to="1500 psi", o2="32 %")], DEEPEST, []),
        ([MIX, AGAIN], DEEPEST,
         ["no analysis of its oxygen is on record since it was filled on 2026-11-23"]),
        ([MIX, line("2026-11-23", "drain", "RB-014", to="0 psi")], DEEPEST,
         ["it is on record as empty since 2026-11-23"]),
        ([], DEEPEST, ["it is on record as empty"]),
        ([HELIUM], DEEPEST,
         ["its gas is trimix20/35, and no analysis of its helium is on record"]),
        ([MIX], "",
         ["the settings do not say for which oxygen pressure depths are: set `oxygen_pressure`"]),
    ],
)  # fmt: skip
def test_a_strip_is_of_what_is_in_the_cylinder_now(
    log: list[str], settings: str, reasons: list[str]
) -> None:
    book = make_book({"RB-014": STRIP_CARD}, log="\n".join(log), settings=SETTINGS + settings)
    closed = against_label(book, "RB-014", LabelKind.ANALYSIS, DAY)
    said = against_label(book, "RB-014", LabelKind.STRIP, DAY)
    assert [reason for reason in said if reason not in closed] == reasons
    assert set(closed) <= set(said)
