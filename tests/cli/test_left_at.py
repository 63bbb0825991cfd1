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
    assert tb("reading", "14=0", "--at", "17:00", *common).code == 0
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
    kept = f'collected: {DAY}, collected_at: "16:00"'
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
