"""Names of files, arguments and folders that would steer a terminal, in answers and in errors."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from lines import READING, RECORDING
from repos import Repo

pytestmark = pytest.mark.skipif(os.name == "nt", reason="no such names there")

Run = Callable[..., Any]

EVIL = "a\x1b[2J\u202eb\x9b\nYES RB-015 air: 3000 psi\r"
STEERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f]")


def plain(ran: Any, *, lines: int = 0) -> None:
    """Nothing in what was printed steers a terminal, nor looks like a line of its own."""
    for text in (ran.out, ran.err):
        assert not STEERS.search(text.replace("\r\n", "\n").removeprefix("\ufeff")), text
    assert not any(line.startswith("YES RB-015") for line in (ran.out + ran.err).splitlines())
    assert not lines or (ran.out + ran.err).count("\n") == lines, ran


@pytest.fixture(name="named")
def _named(ledger: Path) -> Path:
    """A ledger under git with an evil name wherever a name may stand."""
    for path in (
        f"cylinders/{EVIL}.yaml", f"sets/{EVIL}.yaml", f"rules/{EVIL}.yaml", f"fills/{EVIL}.csv",
        f"checklists/{EVIL}.yaml", f"{EVIL}.yaml", f"cylinders/{EVIL}/x.yaml", f"Sets/{EVIL}.yaml",
        f"cylinders/{EVIL}.yml", f"fills/{EVIL}.txt", f"station {EVIL}.yaml",
    ):  # fmt: skip
        (ledger / path).parent.mkdir(parents=True, exist_ok=True)
        (ledger / path).write_text(books.GOOD)
    repo = Repo(ledger)
    repo.git("init", "-q", "-b", EVIL.replace("\n", "").replace("\x1b[2J", "").replace(" ", "")[:3])
    repo.git("add", ".")
    repo.git("commit", "-q", "-m", EVIL, by=EVIL.replace("\n", ""))
    (ledger / f"cylinders/{EVIL}.yaml").unlink()
    (ledger / f"sets/{EVIL}2.yaml").write_text("cylinders: [A, B]\n")
    return ledger


@pytest.mark.parametrize("json", [(), ("--json",)])
def test_names_of_files(named: Path, tb: Run, json: tuple[str, ...]) -> None:
    for name, line in READING.items():
        ran = tb("--ledger", named, "--on", "2026-11-25", *json, *name.split(), *line)
        assert ran.code != 3, ran
        plain(ran)
    plain(tb("--ledger", named, "validate", "--format", "github"))


def test_arguments(ledger: Path, tb: Run) -> None:
    for name in ("show", "history", "may-fill", "due", "tags", "capacity", "sheet", "slip"):
        plain(tb(name, EVIL, "--ledger", ledger), lines=1)
    for name in RECORDING:
        plain(tb(*name.split(), EVIL, "--ledger", ledger))
    for line in (
        ("--ledger", EVIL, "show", "14"), ("--on", EVIL), ("--as-of", EVIL), (EVIL,),
        ("list", "--where", EVIL), ("rules", "--obligation", EVIL), ("recall", EVIL),
        ("marks", EVIL), ("equalize", EVIL), ("plan", EVIL), ("fill", "--sheet", EVIL),
        ("fill", "--plan", EVIL), ("import", EVIL), ("import", "x.csv", "--map", EVIL), ("count", "--found", EVIL),
        ("tags", "RB-014", "--pdf", f"{EVIL}.pdf"), ("init", EVIL, "--units", EVIL),
        ("calendar", "--ics", f"{EVIL}.ics"), ("wall", "--svg", f"{EVIL}.svg"),
        ("report", "--pdf", f"{EVIL}.2.pdf"), ("wall", "--pdf", f"{EVIL}.3.pdf"), ("hold", "RB-014", "--why", EVIL, "--by", "MV"),
    ):  # fmt: skip
        where = () if "--ledger" in line else ("--ledger", ledger)
        plain(tb(*where, *line) if line[0] != "init" else tb(*line))
    assert EVIL.encode() not in b"".join(p.read_bytes() for p in ledger.rglob("*.yaml"))


def test_a_folder_of_such_a_name(tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    there = tmp_path / EVIL
    there.mkdir()
    monkeypatch.chdir(there)
    plain(tb("show", "14"), lines=1)
    plain(tb("init", "."))
    plain(tb("init", f"{EVIL}2", "--name", "Quay"))
    plain(tb())
