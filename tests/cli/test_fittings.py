"""Valves, cleanings and doubles from the command line: recorded, seen in every answer, in git."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
ON = "2026-11-25"
CHANGED = (
    "valve", "RB-014", "--did", "changed", "--outlet", "din-300", "--thread", "3/4-14 NPSM",
    "--rating", "4350psi", "--disc", "5000psi", "--bled", "heard",
)  # fmt: skip


@pytest.fixture(name="does")
def _does(tb: Run, ledger: Path) -> Run:
    def does(*arguments: str, on: str = ON) -> Any:
        return tb(arguments[0], "--ledger", ledger, *arguments[1:], "--on", on)

    return does


def test_every_answer_has_the_valve_that_is_on(does: Run) -> None:
    dry = does(*CHANGED, "--by", "MV", "--dry-run")
    assert dry.first.startswith("Dry run, nothing was written: Valve changed on RB-014")
    assert does("show", "RB-014", "--json").json["valve"]["outlet"] == "convertible"
    told = does(*CHANGED, "--by", "MV", "--json").json
    assert told["recorded"] is True
    card = does("show", "RB-014", "--json").json
    assert (card["valve"]["outlet"], card["record"]["valve"]["outlet"]) == (
        "din-300", "convertible",
    )  # fmt: skip
    assert card["contents"]["pressure_psi"] == 0
    assert "came with valve" in does("show", "RB-014").out
    assert "RB-014" in does("list", "--where", "valve.outlet=din-300").out
    assert "RB-014" not in does("list", "--where", "valve.outlet=convertible").out
    assert "valve work: did changed" in does("history", "RB-014").out
    assert does("may-fill", "RB-014").code == 0
    # the day before, it had the other
    assert (
        does("show", "RB-014", "--json", on="2026-11-24").json["valve"]["outlet"] == "convertible"
    )
    wrong = does("valve", "RB-014", "--did", "read", "--thread", "M25x2", "--by", "MV")
    assert "WARNING" in wrong.out
    assert does("may-fill", "RB-014").code == 1
    assert "differ" in does("may-fill", "RB-014").first
    assert "differ" in does("plan", "RB-014=0", "--ambient", "70").out
    struck = does("correct", "RB-014", "valve-work", ON + "#2", "--why", "of 15", "--by", "MV")
    assert struck.code == 0, struck.out + struck.err
    assert does("may-fill", "RB-014").code == 0


def test_doubles_from_beginning_to_end(does: Run, ledger: Path) -> None:
    other = ledger / "cylinders/RB-017.yaml"
    other.write_text(books.stamped(books.GOOD.replace("K118204", "K118217")), encoding="utf-8")
    made = does(
        "pair", "DB-03", "RB-014", "RB-017", "--isolator", "open", "--bled", "heard", "--by", "MV"
    )
    assert made.code == 0, made.out
    assert (ledger / "sets/DB-03.yaml").read_text(encoding="utf-8").startswith("cylinders: [RB-014")
    assert does("show", "DB-03", "--json").json["record"]["made_up"][0]["bled"] == "heard"
    assert does("may-fill", "DB-03").code == 0
    assert does("pair", "DB-03", "RB-014", "RB-017", "--by", "MV").code == 1
    assert does("unpair", "DB-03", "--by", "MV").code == 0
    assert "taken apart" in does("may-fill", "DB-03").err
    assert does("may-fill", "RB-014").code == 0
    assert "made up" in does("history", "DB-03").out
    assert does("validate").code == 0


def test_a_cleaning_is_due_before_it_lapses(does: Run, ledger: Path) -> None:
    card = ledger / "cylinders/RB-014.yaml"
    text = card.read_text(encoding="utf-8").replace("service: air", "service: nitrox")
    card.write_text(text, encoding="utf-8")
    assert (
        does(
            "clean", "RB-014", "--to", "nitrox", "--for", "20d", "--bled", "heard", "--by", "MV"
        ).code
        == 0
    )
    listed = " ".join(does("due", "RB-014").out.split())
    assert "RB-014 oxygen cleaning 2026-11-25 2026-12-15 20 d SOON" in listed
    assert does("may-fill", "RB-014", "--gas", "nitrox32").code == 0
    lapsed = does("may-fill", "RB-014", "--gas", "nitrox32", on="2026-12-16")
    assert "its cleaning of 2026-11-25 for nitrox held until 2026-12-15" in lapsed.out
