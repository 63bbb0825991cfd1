"""What failed is told so, with one word and in the same counts, wherever what is due is told."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
DAY = "2026-11-25"
BANK = (
    "banks:\n  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,\n"
    "     requalified: [{on: 2024-03, method: hydrostatic, by: T123%s}],%s\n"
    "     readings: [{on: 2026-11-24, pressure: 4400 psi}]}\n"
)
AIR = "air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: %s}]\n"
WHIP = "whips: [{name: W1, rating: 5000 psi, checked: [{on: 2026-11-01, result: %s}]}]\n"
HELD = " held: [{on: 2026-11-20, by: MV, why: hit by a forklift}],"
FAILED = {
    "air test": ("air test", BANK % ("", "") + AIR % "fail" + WHIP % "pass"),
    "whip": ("W1 whip check", BANK % ("", "") + AIR % "pass" + WHIP % "fail"),
    "bank test": ("B1 bank test", BANK % (", result: fail", "") + AIR % "pass" + WHIP % "pass"),
    "bank hold": ("B1 bank hold", BANK % ("", HELD) + AIR % "pass" + WHIP % "pass"),
}


def words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


@pytest.mark.parametrize("what", FAILED)
def test_what_failed_is_told_so_everywhere(
    tb: Run, write: Callable[..., Path], tmp_path: Path, what: str
) -> None:
    called, station = FAILED[what]
    card = books.stamped(books.GOOD)
    root = write({"station.yaml": station, "cylinders/RB-014.yaml": card})
    common = ("--ledger", root, "--on", DAY)

    listed = [d for d in tb(*common, "due", "--all", "--json").json if d.get("failed")]
    assert [d["state"] for d in listed] == ["overdue"]
    count = sum(d.get("state") == "overdue" for d in tb(*common, "due", "--all", "--json").json)
    told = f"{count} overdue or failed, of the station"
    for line in (("due",), ("calendar",), ("costs",), ("wall",)):
        assert told in " ".join(tb(*common, *line).out.split()), line
    board = tb(*common).out
    assert f"\nOverdue or failed ({count})\n" in board
    assert "Not on record" not in board

    tb(*common, "calendar", "--ics", tmp_path / "due.ics")
    calendar = (tmp_path / "due.ics").read_text("utf-8").replace("\r\n ", "")
    assert f"SUMMARY:{called} FAILED since" in calendar
    assert f"{called} OVERDUE" not in calendar

    tb(*common, "report", "--html", tmp_path / "report.html")
    report = words((tmp_path / "report.html").read_text("utf-8"))
    assert told in report
    assert re.search(rf"{called} [-0-9]+ [-0-9]+ FAILED", report), report
    assert "NOT ON RECORD" not in report

    assert tb("pages", tmp_path / "pages", *common).code == 0
    every = [words(p.read_text("utf-8")) for p in (tmp_path / "pages").rglob("*.html")]
    page = next(each for each in every if "Upkeep" in each)
    assert re.search(rf"{re.sub('^[WB]1 ', '', called)} FAILED - ", page), page[-4000:]
    assert not any("NOT ON RECORD" in each for each in every)
