"""A ledger as the version before this one wrote it, brought up as `docs/upgrade.md` says."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import tankbook
from tankbook.ledger.files import FORMAT

Run = Callable[..., Any]
PAGE = (Path(__file__).parents[2] / "docs/upgrade.md").read_text(encoding="utf-8")
ON = ("--on", "2026-11-25")

BEFORE = {
    "tankbook.yaml": [("format: 2\n", "")],
    "cylinders/CU-068.yaml": [(" refitted_by: KD,", "")],
    "cylinders/CU-071.yaml": [("status: awaiting-inspection", "status: in-service")],
    "cylinders/PL-087.yaml": [(", found_by: JW, found_why: it had never left the van", "")],
    "cylinders/RB-032.yaml": [("status: awaiting-inspection", "status: in-service")],
    "cylinders/CU-061.yaml": [("  - {on: 2023-04, method: hydrostatic, by: Weir Street Hydro, stamp: 04 Z418 23}\n", "")],
    "station.yaml": [("    since: 2024-10-01\n", ""), (", rating: 4500 psi}", "}"), ("panel: {rating: 5000 psi}\n", ""),
                     ("    rating: 5000 psi\n", ""), ("hydrocarbons: 4 ppm, ", "")],
}  # fmt: skip
"""What the example's ledger did not have then."""


@pytest.fixture(name="old")
def _old(example_ledger: Path, tmp_path: Path) -> Path:
    root = tmp_path / "old"
    shutil.copytree(example_ledger, root)
    for name, pairs in BEFORE.items():
        text = (root / name).read_text(encoding="utf-8")
        for now, then in pairs:
            assert now in text, (name, now)
            text = text.replace(now, then)
        (root / name).write_text(text, encoding="utf-8")
    return root


def told(tb: Run, root: Path) -> dict[str, set[str]]:
    """The codes by severity."""
    found: dict[str, set[str]] = {}
    for each in tb("validate", "--json", "--ledger", root, *ON).json:
        found.setdefault(each["severity"], set()).add(each["code"])
    return found


def test_what_an_old_ledger_is_told_is_on_the_page(
    old: Path, tb: Run, example_ledger: Path
) -> None:
    then, now = told(tb, old), told(tb, example_ledger)
    assert then["fault"] == {"status", "ended-unsigned"}
    new = set.union(*then.values()) - set.union(*now.values())
    assert {"ratings-unrecorded", "bank-gas-undated", "out-of-date"} <= new
    assert new <= set(re.findall(r"^\| `([\w-]+)` \|", PAGE, re.M))


def test_it_is_read_as_it_is_and_nothing_is_written(old: Path, tb: Run) -> None:
    before = {p: p.read_bytes() for p in old.rglob("*") if p.is_file()}
    assert tb("may-fill", "14", "--ledger", old, *ON).first.startswith("YES")
    assert "CU-061" in tb("validate", "--newly", "--ledger", old, *ON).out
    assert tb("--ledger", old, *ON).code == 0
    assert {p: p.read_bytes() for p in old.rglob("*") if p.is_file()} == before


def test_mended_as_it_is_told_it_has_no_fault(old: Path, tb: Run) -> None:
    card = old / "cylinders/PL-087.yaml"
    for name, pairs in BEFORE.items():
        if name.startswith("cylinders/") and name != "cylinders/CU-061.yaml":
            text = (old / name).read_text(encoding="utf-8")
            for now, then in pairs:
                if then:
                    text = text.replace(then, now)
            (old / name).write_text(text, encoding="utf-8")
    text = card.read_text(encoding="utf-8")
    card.write_text(
        text.replace("found: 2025-10-20", "found: 2025-10-20, found_by: JW, found_why: in the van")
    )
    assert "fault" not in told(tb, old)


def test_the_page_names_this_version_and_its_format() -> None:
    assert f"to {tankbook.__version__.rpartition('.')[0]}\n" in PAGE
    assert f"`format: {FORMAT}`" in PAGE
