"""The table of commands: each is there once, listed by its work, and imported when it is asked for."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tankbook.cli.commands import BY_WORK, COMMANDS, WorkArea, every_line

LEDGER = Path(__file__).parents[2] / "example_ledger"
LOADED = """
import sys
from tankbook.__main__ import main
main({line!r})
print(*sorted(sys.modules), sep="\\n", file=sys.stderr)
"""
DUE = {
    "answer", "app", "option_values", "boundary", "commands", "open_ledger", "due", "local", "loud",
    "options",
}  # fmt: skip
"""What `due` needs of the command line."""


def loaded(*line: str, ledger: Path = LEDGER) -> set[str]:
    code = LOADED.format(line=["--ledger", str(ledger), "--on", "2026-11-25", *line])
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(ran.stderr.splitlines())


def test_a_question_imports_no_other_command() -> None:
    found = loaded("due", "RB-014")
    of_cli = {n.removeprefix("tankbook.cli.") for n in found if n.startswith("tankbook.cli.")}
    assert of_cli == DUE
    assert not {n for n in found if n.startswith("tankbook.filling")}
    assert not found & {"reportlab", "segno", "icalendar", "rich", "pydantic"}


def test_a_ledger_without_git_is_read_without_what_asks_git(tmp_path: Path) -> None:
    shutil.copytree(LEDGER, tmp_path / "quay")
    found = loaded("due", "RB-014", ledger=tmp_path / "quay")
    of_ledger = {n.removeprefix("tankbook.ledger.") for n in found if "tankbook.ledger." in n}
    assert not {n for n in of_ledger if n.startswith("git")}
    assert not of_ledger & {"absence", "since", "recorded", "memory", "journal", "steps", "there"}


def test_plain_cards_are_read_without_the_reader_of_yaml(tmp_path: Path) -> None:
    (tmp_path / "cylinders").mkdir()
    (tmp_path / "tankbook.yaml").write_text("ledger: Quay\nunits: psi\nrules: [us-dot]\n")
    card = """serial: K200001
marks: DOT-3AL 3000 K200001 09A26
specification: DOT-3AL
service_pressure: 3000 psi
use: rental
requalified:
  - {on: 2026-09, method: hydrostatic, by: maker}
"""
    (tmp_path / "cylinders" / "RB-001.yaml").write_text(card)
    assert not loaded("due", ledger=tmp_path) & {"ruamel.yaml"}


def test_a_ledger_that_was_just_begun_is_read_without_the_reader_of_yaml(tmp_path: Path) -> None:
    """What stands in it as a comment, to be taken away later, cuts no value short."""
    for line in (
        ["init", str(tmp_path / "quay"), "--name", "Quay", "--rules", "us-dot", "--no-git"],
        ["book-in", "--ledger", str(tmp_path / "quay"), "--marks", "DOT-3AL 3000 K200001 09A26",
         "--use", "rental", "--by", "MV"],
    ):  # fmt: skip
        ran = [sys.executable, "-m", "tankbook", *line]
        subprocess.run(ran, capture_output=True, check=True)
    assert "ruamel.yaml" not in loaded("due", ledger=tmp_path / "quay")


def test_every_command_is_there_and_said_once() -> None:
    lines = every_line()
    assert len(COMMANDS) == sum(map(len, BY_WORK.values()))
    for name, command in lines.items():
        assert callable(command.function), name
        assert command.example.split()[1:][: len(name.split())] == name.split()
        assert command.briefly.endswith(".")


@pytest.mark.parametrize("work", WorkArea)
def test_help_lists_every_command_by_its_work(work: WorkArea) -> None:
    code = "from tankbook.__main__ import main; main(['--help'])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert len(ran.stdout.splitlines()) <= 40
    listed = " ".join(ran.stdout.split(str(work), 1)[1].split())
    assert listed.startswith(" ".join(BY_WORK[work]))
