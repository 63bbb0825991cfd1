"""What these tests remember of what was read before (`support/parsed.py`) is never out of date."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import SimpleNamespace

import books
import pytest

from tankbook.ledger import load
from tankbook.ledger.files import OnDisk
from tankbook.records.book import Book
from tankbook.rules import gate

DAY = dt.date(2026, 11, 25)


def read(root: Path, day: dt.date = DAY, now: dt.datetime | None = None) -> Book:
    return load.load_from(OnDisk(root), today=day, clock=day, now=now)


def test_the_same_files_of_the_same_day_are_one_book(ledger: Path) -> None:
    now = dt.datetime(2026, 11, 25, 9, 30, 5, tzinfo=dt.UTC)
    assert read(ledger) is read(ledger)
    assert read(ledger, now=now) is read(ledger, now=now.replace(second=50))
    for other in (
        read(ledger, DAY + dt.timedelta(days=1)),
        read(ledger, now=now),
        read(ledger, now=now.replace(minute=31)),
        read(ledger, now=now.astimezone(dt.timezone(dt.timedelta(hours=1)))),
    ):
        assert other is not read(ledger)


@pytest.mark.parametrize(
    "path",
    [
        "tankbook.yaml", "station.yaml", "cylinders/RB-014.yaml", "sets/DB-02.yaml", "fills/2026.csv",
        "cylinders/RB-014.yaml~", "cylinders/old/RB-014.yaml", ".hidden", "lab.pdf",
    ],
)  # fmt: skip
def test_another_byte_or_file_or_name_makes_another(path: str, ledger: Path) -> None:
    before, file = read(ledger), ledger / path
    was = file.read_bytes() if file.exists() else None
    file.parent.mkdir(exist_ok=True)
    file.write_bytes((was or b"") + b"\n")
    after = read(ledger)
    assert after is not before
    file.unlink() if was is None else file.write_bytes(was)
    if file.parent.name == "old":
        assert read(ledger) is not before  # the folder is still there
        file.parent.rmdir()
    assert read(ledger) is before


def test_what_cannot_be_read_is_read_anew(ledger: Path) -> None:
    card = ledger / "cylinders/RB-014.yaml"
    card.unlink()
    card.symlink_to(ledger / "cylinders/RB-015.yaml")
    assert read(ledger) is not read(ledger)


def test_nothing_is_remembered_where_anything_is_replaced(ledger: Path) -> None:
    def make() -> Book:
        return books.make_book({"RB-014": books.GOOD})

    read_before, made_before = read(ledger), make()
    assert (read(ledger), make()) == (read_before, made_before)
    assert make() is made_before
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gate, "reasons", SimpleNamespace(), raising=False)
        assert read(ledger) is not read(ledger)
        assert make() is not make()
        assert make() is not made_before
    assert read(ledger) is not read_before  # something else may have been worked out from it
    assert make() is not made_before
    assert make() is make()
