"""A card that is gone is one fault, however much hangs on it, and the mend that it names works."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tankbook.output.findings import folded
from tankbook.records.node import Finding, Severity, Where

Run = Callable[..., Any]
EXAMPLE = Path(__file__).parents[2] / "example_ledger"


def git(root: Path, *words: str) -> None:
    who = ["-c", "user.name=K", "-c", "user.email=k@example.org", "-c", "commit.gpgsign=false"]
    subprocess.run(["git", "-C", root, *who, *words], check=True, capture_output=True)


@pytest.fixture(name="root")
def _root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    root = tmp_path / "ledger"
    shutil.copytree(EXAMPLE, root)
    git(root, "init", "-q")
    git(root, "add", "-A")
    git(root, "commit", "-qm", "begun")
    monkeypatch.chdir(root)
    return root


def faults(text: str) -> list[str]:
    return [line for line in text.splitlines() if re.search(r": fault: |^::error", line)]


@pytest.mark.parametrize(
    ("id_", "place"), [("RB-011", "fills/2025.csv:"), ("RB-042", "sets/DB-01.yaml:")]
)
def test_one_fault_names_it_and_what_hangs_on_it(tb: Run, root: Path, id_: str, place: str) -> None:
    card = root / f"cylinders/{id_}.yaml"
    was = card.read_bytes()
    card.unlink()
    on = ("--on", "2026-11-25")
    every = tb(*on, "validate", "--json").json
    named = [f for f in every if id_ in f["text"] and f["severity"] != "advice"]
    assert len(named) > 1
    told = tb(*on, "validate")
    [fault] = faults(told.out)
    assert told.first.startswith("1 fault in 1 file, ")
    assert re.search(rf"{len(named) - 1} more findings? hangs? on it, as {place}", fault)
    assert len(faults(tb(*on, "validate", "--format", "github").out)) == 1
    mend = told.out.split(fault)[1].splitlines()[1]
    assert "`tankbook validate --json` lists each" in mend
    git(root, *shlex.split(re.search("`git ([^`]*)`", mend)[1]))
    assert card.read_bytes() == was
    assert not faults(tb(*on, "validate").out)


def test_a_name_that_no_card_ever_had_is_told_once() -> None:
    lines = [
        Finding(
            Where("fills/2026.csv", n, 1),
            "unknown-cylinder-in-log",
            "Z is not in the ledger",
            "mend it",
            missing=name,
        )
        for n, name in enumerate(["Z", "Y", "Z", "Z"], 2)
    ]
    lines.append(Finding(Where("x.yaml", 1, 1), "c", "t", "", Severity.WARN))
    z, y, other = folded(lines)
    assert (y, other) == (lines[1], lines[4])
    assert z.where == lines[0].where
    assert (
        z.text
        == "Z is not in the ledger; 2 more findings hang on it, as fills/2026.csv:4:1 (2 unknown-cylinder-in-log)"
    )
    assert z.mend.startswith(
        "put the file of Z back, or book it in; where another is meant, mend it"
    )


@pytest.mark.parametrize(
    "name", ["RB-020.yaml.bak", "RB-020.yaml~", "#RB-020.yaml#", "RB-020.yml", "RB-020.yaml.txt"]
)
@pytest.mark.parametrize("asked", ["RB-020", "20", "rb-020"])
def test_a_card_under_another_name_is_pointed_to(
    tb: Run, root: Path, name: str, asked: str
) -> None:
    card = root / "cylinders/RB-020.yaml"
    text = card.read_text(encoding="utf-8")
    card.rename(card.with_name(name))
    told = tb("--on", "2026-11-25", "may-fill", asked).err
    assert f"its card seems to be cylinders/{name}, which is not read under that name" in told
    found = re.search("call it (\\S+)", told)
    assert found is not None
    (root / f"cylinders/{name}").rename(root / found[1])
    assert card.read_text(encoding="utf-8") == text
