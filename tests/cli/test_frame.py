"""The command line as a whole: options everywhere, help, errors and exit codes."""

from __future__ import annotations

import ast
import contextlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import tankbook
from tankbook.__main__ import main
from tankbook.cli import boundary, open_ledger
from tankbook.cli.answer import Answer
from tankbook.cli.app import command
from tankbook.cli.commands import COMMANDS
from tankbook.gas import RangeError
from tankbook.ledger.errors import LedgerError

Run = Callable[..., Any]

ANSWERING = {
    "": [],
    "show": ["RB-014"],
    "list": [],
    "marks": ["DOT-3AL 3000 K118204 09A21"],
    "rules": [],
    "validate": [],
    "due": [],
    "may-fill": ["RB-014"],
    "capacity": ["RB-014"],
    "fleet": [],
    "tags": ["RB-014"],
    "history": ["RB-014"],
}
"""A working command line for every command that answers without a repository."""


def line_for(name: str) -> list[str]:
    return [*([name] if name else []), *ANSWERING[name]]


def test_every_command_is_tried_here() -> None:
    assert set(ANSWERING) <= {"", *COMMANDS}


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name: str, tb: Run) -> None:
    ran = tb(name, "--help")
    assert ran.code == 0
    assert ran.err == ""
    assert ran.out.startswith(f"Usage: tankbook {name} ")
    assert ("--json" in ran.out) is (name != "completion")  # it prints lines for a shell
    assert f"Example: {COMMANDS[name].example}" in ran.out
    assert f"{COMMANDS[name].example} ".startswith(f"tankbook {name} ")
    assert max(map(len, ran.out.splitlines())) <= 80


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_of_commands_says_a_whole_sentence(name: str, tb: Run) -> None:
    assert COMMANDS[name].briefly in tb("commands").out
    assert "..." not in COMMANDS[name].briefly


def test_help_shows_no_shell_completion(tb: Run) -> None:
    assert "--show-completion" not in tb("--help").out
    assert "--install-completion" not in tb("--help").out


@pytest.mark.parametrize("name", ANSWERING)
def test_every_answer_comes_as_json_with_options_before_or_after(
    name: str, tb: Run, ledger: Path
) -> None:
    options = ["--json", "--on", "2026-11-25", "--ledger", ledger]
    after = tb(*line_for(name), *options)
    before = tb(*options, *line_for(name))
    assert after.json == before.json
    assert after.code == before.code
    assert after.code in (0, 1)
    assert after.err == ""


@pytest.mark.parametrize("name", ANSWERING)
def test_every_answer_fits_80_columns_without_colour(name: str, tb: Run, ledger: Path) -> None:
    ran = tb(*line_for(name), "--on", "2026-11-25", "--ledger", ledger)
    widest = max(ran.out.splitlines(), key=len)
    assert len(widest) <= 80 or name == "validate"
    assert "\x1b" not in ran.out
    assert ran.out.isascii()


@pytest.mark.parametrize("name", ANSWERING)
def test_every_answer_has_the_same_code_as_text_and_as_json(
    name: str, tb: Run, ledger: Path
) -> None:
    options = ["--on", "2026-11-25", "--ledger", ledger]
    code = tb(*line_for(name), *options).code
    assert code == tb(*line_for(name), *options, "--json").code
    assert code == {"due": 1}.get(name, 0)


def test_the_ledger_is_found_upward(tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ledger / "cylinders")
    assert tb("show", "RB-014", "--on", "2026-11-25").first.startswith("RB-014 in-service")


def test_a_folder_named_with_ledger_is_taken_at_its_word(tb: Run, ledger: Path) -> None:
    ran = tb("due", "--ledger", ledger / "cylinders")
    assert ran.code == 2
    assert "tankbook init DIR" in ran.err


def test_without_a_ledger_there_is_one_line_that_says_what_to_do(tb: Run) -> None:
    ran = tb()
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.count("\n") == 1
    assert "no tankbook.yaml here or in any folder above" in ran.err
    assert "`tankbook init DIR`" in ran.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nosuch"], "no such command 'nosuch'"),
        (["shw"], "did you mean 'show'?"),
        (["due", "--widthin", "90d"], "no such option: --widthin"),
        (["due", "--widthin", "90d"], "`tankbook due --help`"),
        (["show"], "missing argument 'ID'"),
        (["due", "--within"], "option '--within' requires an argument"),
        (["due", "--within", "soonish"], "--within: 'soonish' is not a period; write it as 90d, 6m"),
        (["due", "--on", "2026-02-30"], "--on: '2026-02-30' is not a calendar day; write it as"),
        (["due", "--on", "5/11/2026"], "--on: '5/11/2026' may be 2026-05-11 or 2026-11-05"),
        (["rules", "--obligation", "cake"], "no rule answers to 'cake'; known: requalification"),
        (["validate", "--format", "xml"], "--format: 'xml' is not known; known: text, github"),
        (["capacity"], "name either a cylinder or --water-volume"),
        (["marks", " "], "there are no marks to read"),
        (["init", "x", "--units", "furlong"], "write psi or bar"),
        (["init", "x", "--rules", "mars"], "no rule set 'mars'; known: "),
    ],
)  # fmt: skip
def test_a_request_that_is_not_understood_is_one_line_and_2(
    arguments: list[str], said: str, tb: Run
) -> None:
    ran = tb(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("tankbook: ")
    assert said in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["show", "99"], "99: no cylinder or set of this ledger ends so"),
        (["may-fill", "014"], "2 ids end so: RB-014, SF-014; write more of it"),
        (["may-fill", "RB-014", "--gas", "argon"], "--gas: 'argon' is not a gas; write air,"),
        (["may-fill", "RB-014", "--ambient", "41 psi"], "--ambient: unknown unit 'psi'"),
        (["may-fill", "RB-014", "--fill-pressure", "3000 psia"], "--fill-pressure: psia is no unit"),
        (["may-fill", "RB-014", "--ambient", "-500"], "--ambient: -500 degF is not above absolute zero"),
        (["may-fill", "RB-014", "--ambient", "-200"], "check the unit"),
        (["capacity", "SF-014"], "SF-014: its water volume is not recorded"),
        (["capacity", "DB-02"], "DB-02 is a set; name one of its cylinders"),
        (["list", "--where", "colour=red"], "'colour' is not a field of a cylinder; known: "),
    ],
)  # fmt: skip
def test_a_value_that_is_not_understood_is_one_line_and_2(
    arguments: list[str], said: str, tb: Run, ledger: Path
) -> None:
    ran = tb(*arguments, "--ledger", ledger)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("error", "line"),
    [
        (LedgerError("station.yaml", "the disk is full", "free some"), "station.yaml: the disk is full; free some"),
        (RangeError("500 K is above 473 K", "stay below"), "500 K is above 473 K; stay below"),
        (PermissionError(13, "Permission denied", "fills/2026.csv"), "fills/2026.csv: Permission denied"),
        (OSError(28, "No space left on device"), "the system refuses: No space left on device"),
    ],
)  # fmt: skip
def test_known_errors_are_one_line_and_2(
    error: Exception, line: str, tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> Answer:
        raise error

    monkeypatch.setattr(boundary, "_answer", fail)
    ran = tb("due")
    assert (ran.code, ran.out, ran.err) == (2, "", f"tankbook: {line}\n")


def test_a_fault_of_ours_is_3_with_a_report_to_paste(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> Path:
        raise ZeroDivisionError("a fault")

    monkeypatch.setattr(open_ledger, "root_asked", fail)
    ran = tb("due", "--within", "9 days")
    assert (ran.code, ran.out) == (3, "")
    block = ran.err.split(boundary.RULE)[1]
    assert ran.err.startswith("tankbook: this is a fault of the program")
    assert "tankbook 0." in block
    assert "Python 3." in block
    assert "command: tankbook due --within '9 days'" in block
    assert block.rstrip().endswith("ZeroDivisionError: a fault")


def test_a_stop_from_the_keyboard_is_130_without_a_trace(
    tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(open_ledger, "root_asked", fail)
    ran = tb("due")
    assert (ran.code, ran.out) == (130, "")
    assert "Traceback" not in ran.err


def test_a_closed_pipe_is_quiet(ledger: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    run = subprocess.run(
        [sys.executable, "-m", "tankbook", "rules", "--ledger", str(ledger)],
        stdout=writing,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writing)
    assert (run.returncode, run.stderr) == (0, b"")


def test_a_caller_may_collect_the_answer_as_text(tb: Run, ledger: Path) -> None:
    collected = io.StringIO()
    with contextlib.redirect_stdout(collected):
        assert main(["list", "--json", "--ledger", str(ledger)]) == 0
    assert json.loads(collected.getvalue()) == tb("list", "--json", "--ledger", ledger).json


def test_an_ascii_terminal_gets_escapes_and_json_the_letters(ledger: Path) -> None:
    path = ledger / "cylinders/RB-014.yaml"
    path.write_text(path.read_text() + "note: Prüfung fällig\n", encoding="utf-8")
    line = [sys.executable, "-m", "tankbook", "show", "RB-014", "--ledger", str(ledger)]
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    text = subprocess.run(line, capture_output=True, env=environment, check=True)
    assert b"Pr\\xfcfung f\\xe4llig" in text.stdout
    asked = subprocess.run([*line, "--json"], capture_output=True, env=environment, check=True)
    assert "Prüfung fällig".encode() in asked.stdout


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("due", "due"),
        ("--on 2026-11-25 --json due --within 90d", "due"),
        ("--ledger due show 14", "show"),
        ("--as-of=HEAD station read B1=1", "station"),
        ("due --help", "due"),
        ("--help due", ""),
        ("-h", ""),
        ("--on due", ""),
        ("shw", None),
        ("", ""),
        ("-- due", "due"),
    ],
)  # fmt: skip
def test_only_the_command_asked_for_is_built(line: str, named: str | None) -> None:
    """All of them are, where what is asked for is none of them: so that what is like it is told."""
    built = set(command(line.split()).commands)
    assert built == (set(command().commands) if named is None else {named} - {""})
    assert len(command().commands) > 40


def test_what_is_wrong_is_no_question_before_its_mend() -> None:
    """`path: what is wrong; how to mend it` reads badly with a question mark before the semicolon."""
    asks = [
        f"{file.name}:{call.lineno}"
        for file in Path(tankbook.__file__).parent.rglob("*.py")
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") in WRONG_AT
        and len(call.args) > WRONG_AT[call.func.id] + 1
        and ast.unparse(call.args[WRONG_AT[call.func.id]]).rstrip("'\"").endswith("?")
    ]  # fmt: skip
    assert asks == []


WRONG_AT = {"RequestError": 0, "LedgerError": 1}
"""Which argument says what is wrong."""
