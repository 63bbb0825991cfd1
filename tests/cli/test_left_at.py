"""`rent`, `hand-over` and `jobs collect` keep the hour at which a cylinder left, with or without a gauge read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
DAY = "2026-11-25"


@pytest.mark.parametrize("gauge", ["", "=2900"])
@pytest.mark.parametrize(("at", "kept"), [("08:00", ' at: "08:00"'), ("", "")])
def test_rent_keeps_its_hour(
    tb: Run, write: Callable[..., Path], gauge: str, at: str, kept: str
) -> None:
    root = write({"cylinders/RB-014.yaml": books.stamped(books.GOOD)})
    more = ("--at", at) if at else ()
    ran = tb(
        "rent", f"14{gauge}", "--to", "B-1", "--happened", "gone", "--by", "MV",
        "--ledger", root, "--on", DAY, *more,
    )  # fmt: skip
    if gauge and not at:
        assert ran.code != 0
        assert "--at 14:30" in ran.err
        return
    assert ran.code == 0, ran.err
    card = (root / "cylinders" / "RB-014.yaml").read_text("utf-8")
    assert "to: B-1" in card
    assert (kept in card) if kept else ("at: " not in card.split("rented:")[1])


def test_hand_over_keeps_its_hour_and_the_slip_tells_what_left(
    tb: Run, write: Callable[..., Path]
) -> None:
    card = books.with_lines(books.GOOD, use="sale")
    root = write({"cylinders/RB-014.yaml": books.stamped(card)})
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("reading", "14=2900", "--at", "09:00", *common).code == 0
    sold = ("hand-over", "14", "--to", "C-1", "--happened", "gone", "--at", "16:00")
    assert tb(*sold, *common).code == 0
    assert ' at: "16:00"' in (root / "cylinders" / "RB-014.yaml").read_text("utf-8")
    rung = ("--note", "read by its owner, who rang")
    assert tb("reading", "14=0", "--at", "17:00", *rung, *common).code == 0
    slip = " ".join(tb("slip", "14", "--ledger", root, "--on", DAY).out.split())
    assert "handed over empty" not in slip
    assert "2900 psi, read 25 Nov 2026" in slip


CUSTOMERS = books.stamped(books.with_lines(books.GOOD, use="customer", owner="C-9"))
READY = "jobs: [{on: 2026-11-24, by: MV, work: [fill], reference: C-9, ready: 2026-11-24}]\n"


@pytest.mark.parametrize("walk_in", [False, True])
def test_collect_keeps_its_hour_and_the_receipt_tells_what_left(
    tb: Run, write: Callable[..., Path], walk_in: bool
) -> None:
    said = {
        "at": f"{DAY}T09:00:00+01:00", "cylinder": "RB-014", "act": "fill", "from": "500 psi",
        "to": "2900 psi", "gas": "air", "source": "B1", "by": "MV",
    }  # fmt: skip
    filled = (
        f"{','.join(columns(LogLine))}\n{','.join(said.get(k, '') for k in columns(LogLine))}\n"
    )
    root = write(
        {"cylinders/RB-014.yaml": CUSTOMERS + ("" if walk_in else READY), "fills/2026.csv": filled}
    )
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("jobs", "collect", "14", "--happened", "gone", "--at", "16:00", *common).code == 0
    kept = f'collected: {DAY}, collected_by: MV, collected_at: "16:00"'
    assert kept in " ".join((root / "cylinders" / "RB-014.yaml").read_text("utf-8").split())
    assert tb("reading", "14=0", "--at", "17:00", *common).code == 0
    said = " ".join(
        tb("receipt", "14", "--of", "handed-back", "--ledger", root, "--on", DAY).out.split()
    )
    assert "handed over empty" not in said
    assert "2900 psi" in said
    assert tb("validate", "--ledger", root, "--on", DAY).err == ""


def test_collected_on_a_day_that_is_over_keeps_no_hour_unless_it_is_said(
    tb: Run, write: Callable[..., Path]
) -> None:
    root = write({"cylinders/RB-014.yaml": CUSTOMERS + READY})
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("jobs", "collect", "14", "--happened", "gone", *common).code == 0
    card = (root / "cylinders" / "RB-014.yaml").read_text("utf-8")
    assert f"collected: {DAY}" in card
    assert "collected_at" not in card
    said = ("correct", "14", "jobs", "2026-11-24", "--why", "seen", "--set", "collected_at=16:00")
    assert tb(*said, *common).code == 0
    assert "collected_at" in (root / "cylinders" / "RB-014.yaml").read_text("utf-8")


def test_who_took_it_back_or_handed_it_back_is_kept_and_told(
    tb: Run, write: Callable[..., Path]
) -> None:
    rental = "rented: [{on: 2026-11-24, by: KD, to: B-1, until: 2026-11-25}]\n"
    mine = books.stamped(books.with_lines(books.GOOD, status="out")) + rental
    theirs = CUSTOMERS.replace("K118204", "K118299") + READY
    root = write({"cylinders/RB-014.yaml": mine, "cylinders/CU-001.yaml": theirs})
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("return", "14=900/closed", "--at", "09:10", *common).code == 0
    assert tb("jobs", "collect", "CU-001", "--happened", "gone", "--at", "16:00", *common).code == 0
    for id_, of, hour in (("14", "returned", "09:10"), ("CU-001", "handed-back", "16:00")):
        said = tb("receipt", id_, "--of", of, "--ledger", root, "--on", DAY).out
        said = " ".join(said.split())
        assert "by MV" in said
        assert f"25 Nov 2026 {hour}" in said
    assert tb("validate", "--ledger", root, "--on", DAY).err == ""


@pytest.mark.parametrize(
    ("day", "to", "mend"),
    [
        ("2026-11-24#1", "B-1", ""),
        ("2026-11-24#2", "B-2", ""),
        ("2026-11-24", "B-2", ""),
        ("2026-11-24#3", "", "it is on record as lent on 2026-11-24 2 times"),
        ("2026-11-24#0", "", "it is on record as lent on 2026-11-24 2 times"),
        ("2026-11-24#x", "", "2026-11-24#1 for the first of that day"),
    ],
)
def test_each_of_two_rentals_of_a_day_has_its_receipt(
    tb: Run, write: Callable[..., Path], day: str, to: str, mend: str
) -> None:
    """Though they stand the other way about on its card."""
    one, two = (
        f"{{on: 2026-11-24, by: MV, to: {to}, until: 2026-11-24, at: '{at}', back: 2026-11-24, "
        "pressure: 900 psi, valve: closed}"
        for to, at in (("B-1", "08:00"), ("B-2", "14:00"))
    )
    root = write({"cylinders/RB-014.yaml": books.stamped(books.GOOD) + f"rented: [{two}, {one}]\n"})
    ran = tb("receipt", "14", "--of", "lent", "--day", day, "--ledger", root, "--on", DAY)
    if mend:
        assert ran.code != 0
        assert mend in " ".join(ran.err.split())
    else:
        assert ran.code == 0, ran.err
        assert f"to {to}" in " ".join(ran.out.split())


def test_taken_in_keeps_its_hour_and_the_receipt_tells_what_came(
    tb: Run, write: Callable[..., Path]
) -> None:
    root = write({"cylinders/CU-001.yaml": CUSTOMERS})
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("reading", "CU-001=2900", "--at", "08:00", *common).code == 0
    assert tb("jobs", "open", "CU-001", "--work", "visual", "--at", "09:00", *common).code == 0
    assert tb("drain", "CU-001", "--at", "15:00", *common).code == 0
    said = tb("receipt", "CU-001", "--of", "taken-in", "--ledger", root, "--on", DAY).out
    assert "2900 psi" in said
    assert "on record empty" not in " ".join(said.split())
