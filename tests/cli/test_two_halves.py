"""A rental writes its entry and a line of the log: of one set right alone, the other is named."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.rules.in_hands import says_hands

Run = Callable[..., Any]
OUT, BACK = "2026-11-24", "2026-11-25"
CODE = "rental-halves-differ"

CORRECTED = {
    "reading fuller": f"reading {BACK} --set to=700",
    "reading emptier": f"reading {BACK} --set to=0",
    "reading struck out": f"reading {BACK}",
    "reading going out struck out": f"reading {OUT}",
    "entry fuller": f"rented {OUT} --set pressure=700",
    "entry emptier": f"rented {OUT} --set pressure=0",
    "entry of other hands": f"rented {OUT} --set to=B-2",
    "entry struck out": f"rented {OUT}",
    "entry of another return": f"rented {OUT} --set back={OUT}",
}
AGREES = {"reading going out struck out"}
"""What is nobody's half: a rental keeps no pressure that it left with."""


def typed(tb: Run, root: Path, line: str, by: str = "MV") -> Any:
    asked = shlex.split(line.replace("WHY", "mistyped"))
    why = () if "--why" in asked else ("--why", "misread the gauge")
    return tb(*asked, *why, "--by", by, "--ledger", root)


def lent(tb: Run, write: Callable[..., Path], id_: str = "RB-014", back: str = "500") -> Path:
    b = books.stamped(books.GOOD.replace("K118204", "K118205"))
    root = write({
        "cylinders/RB-014.yaml": books.stamped(books.GOOD),
        "cylinders/RB-015.yaml": b,
        **({"sets/DB-02.yaml": "cylinders: [RB-014, RB-015]\nisolator: shut\nuse: rental\n"}
           if id_ == "DB-02" else {}),
    })  # fmt: skip
    said = tb("rent", f"{id_}=2900", "--to", "B-1", "--until", BACK, "--happened", "gone",
              "--by", "MV", "--on", OUT, "--at", "10:00", "--ledger", root)  # fmt: skip
    assert said.code == 0, said.out + said.err
    said = tb("return", f"{id_}={back}/closed", "--by", "MV", "--on", BACK, "--at", "12:00",
              "--ledger", root)  # fmt: skip
    assert said.code == 0, said.out + said.err
    assert CODE not in found(tb, root)
    return root


def found(tb: Run, root: Path) -> str:
    said = tb("validate", "--ledger", root)
    return str(said.out + said.err)


def mended(tb: Run, root: Path, told: str) -> None:
    """Type what a text names, until no half is left of two."""
    ways = re.findall(r"`tankbook (correct [^`]*)`", " ".join(told.split()))
    assert ways
    for way in ways:
        said = typed(tb, root, way)
        assert said.code == 0, (way, said.out, said.err)
    assert CODE not in found(tb, root)


@pytest.mark.parametrize("case", CORRECTED)
def test_one_half_set_right_names_the_other(tb: Run, write: Callable[..., Path], case: str) -> None:
    root = lent(tb, write)
    said = typed(tb, root, f"correct RB-014 {CORRECTED[case]}")
    assert said.code == 0, said.out + said.err
    told = [line for line in " ".join(said.out.split()).split("* ") if "WHY`" in line]
    told = [line for line in told if "came back on" in line or "is noted" in line]
    if case in AGREES:
        assert not told
        assert CODE not in found(tb, root)
        return
    assert CODE in found(tb, root)
    mended(tb, root, " ".join(told))


def test_each_side_of_a_set_that_came_back_shut_is_named(
    tb: Run, write: Callable[..., Path]
) -> None:
    root = lent(tb, write, "DB-02", "500+600")
    assert typed(tb, root, "correct RB-015 reading 2026-11-25 --set to=650").code == 0
    assert CODE not in found(tb, root), "the lower side is what the entry has"
    said = typed(tb, root, "correct RB-014 reading 2026-11-25 --set to=550")
    assert said.code == 0
    assert "set-rental-halves-differ" in found(tb, root)
    mended(tb, root, said.out.split("--- ")[0])


@pytest.mark.parametrize(
    ("said", "of"),
    [("back from B-1", True), ("back from B-1, late", True), ("back from B-12", False),
     ("back from B-1-2", False), ("back", False), (None, False)],
)  # fmt: skip
def test_hands_are_named_whole(said: str | None, of: bool) -> None:
    assert says_hands(said, "back from B-1") is of
