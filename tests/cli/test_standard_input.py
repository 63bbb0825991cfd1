"""`-` stands for standard input wherever a file is read."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.ordinary import given

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
DAY = ("--on", "2026-11-25")


def say(monkeypatch: pytest.MonkeyPatch, text: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text), encoding="utf-8"))


FOUND = b"RB-014 RB-015"
TABLE = b"Serial;WP (bar);Last test\nK1;232;25.11.2024\nK2;232;26.11.2024\n"


@pytest.mark.parametrize(
    ("line", "text", "name"),
    [
        (("count", "--by", "MV", "--dry-run", "--from"), FOUND, "found.txt"),
        (("import",), TABLE, "club.csv"),
        (("import", "--sheet", "", "--json"), TABLE, "club.csv"),
    ],
    ids=["count", "import", "import as JSON"],
)  # fmt: skip
def test_what_comes_by_standard_input_is_read_as_the_file_is(
    line: tuple[str, ...],
    text: bytes,
    name: str,
    tb: Run,
    ledger: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / name).write_bytes(text)
    of_file = tb(*line, tmp_path / name, *DAY, "--ledger", ledger)
    say(monkeypatch, text)
    of_input = tb(*line, "-", *DAY, "--ledger", ledger)
    assert (of_input.code, of_input.out) == (
        of_file.code,
        of_file.out.replace(str(tmp_path / name), "-").replace(name, "-"),
    )
    assert of_input.code in (0, 1), of_input.err
    assert of_input.out


def test_a_queue_and_a_plan_go_from_one_command_into_the_other(
    tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(ROOT / "example_ledger", tmp_path / "cove")
    where = ("--ledger", tmp_path / "cove", *DAY)
    say(monkeypatch, b"14=500\n")
    planned = tb("plan", "--queue", "-", "--json", *where)
    assert planned.out == tb("plan", "14=500", "--json", *where).out
    say(monkeypatch, planned.out.encode())
    line = ("fill", "14=2900", "--looked", "--by", "KD", "--at", "10:00", "--dry-run", *where)
    ran = tb(*line, "--plan", "-")
    assert ran.code in (0, 1), ran.err
    (tmp_path / "plan.json").write_text(planned.out)
    assert ran.out == tb(*line, "--plan", tmp_path / "plan.json").out


@pytest.mark.parametrize("text", [b"", b"\x00", b"\xff\xfe", b"\x1b[31m"])
def test_what_is_no_text_is_told(
    text: bytes, tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    say(monkeypatch, text)
    ran = tb("count", "--from", "-", "--by", "MV", *DAY, "--ledger", ledger)
    assert ran.code in (1, 2)
    assert "Traceback" not in ran.err + ran.out


def test_it_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    say(monkeypatch, FOUND)
    assert given(Path("-")) == given(Path("-")) == FOUND
    say(monkeypatch, b"other")
    assert given(Path("-")) == b"other"


def test_too_much_of_it_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    say(monkeypatch, b"x" * 11)
    with pytest.raises(LedgerError, match="more than the 10 allowed"):
        given(Path("-"), 10)


def test_nobody_waits_for_a_keyboard(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Keyboard(io.TextIOWrapper):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Keyboard(io.BytesIO(b"RB-014")))
    ran = tb("count", "--from", "-", "--by", "MV", *DAY, "--ledger", ledger)
    assert ran.code == 2
    assert "nothing comes by standard input" in ran.err


def test_a_closed_standard_input_is_told(ledger: Path) -> None:
    line = f"{sys.executable} -m tankbook count --from - --by MV --ledger {ledger} <&-"
    done = subprocess.run(line, shell=True, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_a_ledger_that_was_taken_out_is_made_again_of_standard_input(
    tb: Run, ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert tb("export", tmp_path / "all.json", *DAY, "--ledger", ledger).code == 0
    say(monkeypatch, (tmp_path / "all.json").read_bytes())
    assert tb("import", "-", "--into", tmp_path / "again").code == 0
    assert (tmp_path / "again/cylinders/RB-014.yaml").is_file()


def test_a_mapping_is_a_file_that_can_be_corrected(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    say(monkeypatch, TABLE)
    ran = tb("import", "-", "--map", "-", *DAY, "--ledger", ledger)
    assert (ran.code, ran.out) == (2, "")
    assert "--map" in ran.err
    assert not Path("-").exists()


def test_what_the_page_says_takes_it_does() -> None:
    """Each line that the page on the shell names is one that is tried here or stands in the code."""
    text = (ROOT / "docs/shell.md").read_text(encoding="utf-8")
    said = set(re.findall(r"`([a-z][\w -]*?) -`", text))
    assert said == {"count --from", "import", "fill --sheet", "plan --queue", "fill --plan"}
    from tankbook.cli.app import command

    for line in said:
        name, *option = line.split()
        takes = command([name]).commands[name].params
        assert not option or any(option[0] in each.opts for each in takes), line
