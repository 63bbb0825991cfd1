"""Ranges of ids, and ids by letters and number, wherever several cylinders are named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")
ANSWERS = ["due {}", "may-fill {}", "tags {}", "sheet {}", "plan {}=500 --ambient 68", "fills {}", "equalize {}=500 --ambient 68"]  # fmt: skip
ACTS = [
    "hold {} --why dent --by MV",
    "reading {}=1200 --by MV --at 09:00",
    "rent {} --to B-1 --by MV",
    "return {}=600/closed --by MV --at 09:00",
    "send {} --to House --for requalification --by MV",
    "count {} --by MV",
    "inspect {} --pass-all --by MV --neck-thread 3/4-14NPSM --valve-thread 3/4-14NPSM",
    "fill {}=2900 --by MV --at 09:00 --source B1 --looked --happened test",
    "requalify {} --by T123",
]


@pytest.fixture(name="three")
def _three(write: Callable[[dict[str, str]], Path]) -> Path:
    cards = {
        f"cylinders/RB-{n:03}.yaml": books.stamped(books.GOOD.replace("K118204", f"K11820{n}"))
        for n in (1, 2, 3, 5)
    }
    other = cards["cylinders/RB-001.yaml"].replace("K118201", "K9")
    root = write({**cards, "cylinders/SF-005.yaml": other})
    with (root / "station.yaml").open("a") as station:
        station.write("positions: [{name: P1, kind: enclosed}]\nnon_return_valves: no\n")
    return root


@pytest.mark.parametrize("line", [*ANSWERS, *ACTS])
def test_a_range_is_as_its_ids_one_by_one(line: str, tb: Run, three: Path) -> None:
    act = ("--dry-run",) if line in ACTS else ()
    words = line.split()
    whole = [w.format("RB-001..3") for w in words]
    each = [
        w.format(i) for w in words for i in (("RB-001", "RB-002", "RB-003") if "{}" in w else ("",))
    ]
    one = tb(*whole, *act, *ON, "--ledger", three)
    other = tb(*each, *act, *ON, "--ledger", three)
    assert one == other
    assert "RB-00" in one.out or line.startswith(("due", "fills", "count"))
    assert one.code in (0, 1)


@pytest.mark.parametrize("line", [*ANSWERS, *ACTS])
def test_a_range_with_a_gap_says_what_is_not_there(line: str, tb: Run, three: Path) -> None:
    act = ("--dry-run",) if line in ACTS else ()
    ran = tb(*line.format("RB1..RB5").split(), *act, *ON, "--ledger", three)
    assert (ran.code, ran.out) == (2, "")
    assert "RB-004 is not there; write RB-001..RB-003 RB-005" in ran.err


@pytest.mark.parametrize("line", ["show {}", "capacity {}", "history {}", "correct {} fill 2026 --why x", "may-fill 1 {}"])  # fmt: skip
def test_one_by_its_letters_and_its_number(line: str, tb: Run, three: Path) -> None:
    assert "ids end so: RB-005, SF-005" in tb(*line.format("5").split(), *ON, "--ledger", three).err
    ran = tb(*line.format("RB5").split(), *ON, "--ledger", three)
    assert "end so" not in ran.err


@pytest.mark.parametrize(
    "line",
    ["show {}", "capacity {}", "history {}", "blend {} --to nitrox32", "slip {}", "hand-over {} --to C-1"],
)  # fmt: skip
def test_where_one_is_asked_for_a_range_is_refused_kindly(line: str, tb: Run, three: Path) -> None:
    ran = tb(*line.format("RB1..RB3").split(), *ON, "--ledger", three)
    assert ran.code == 2
    assert "this is a range, and one is asked for; name one of them" in ran.err
