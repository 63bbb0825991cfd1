"""`tankbook schema`: printed, listed, and written beside the files it is of."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tankbook.cli.commands import every_line
from tankbook.output.schema import OF_FILE, file_of

Run = Callable[..., Any]
DOCS = Path(__file__).parents[2] / "docs"


def test_one_is_printed(tb: Run) -> None:
    made = tb("schema", "cylinder").json
    assert "serial" in made["required"]
    assert made["properties"]["service_pressure"]["description"]


def test_all_are_written_and_written_again(tb: Run, ledger: Path) -> None:
    for _ in range(2):
        assert tb("schema", "--into", ledger / "schemas").code == 0
    there = {p.name for p in (ledger / "schemas").iterdir()}
    assert there == {file_of(name) for name in OF_FILE}
    for path in (ledger / "schemas").iterdir():
        assert json.loads(path.read_text(encoding="utf-8"))["properties"]


def test_the_first_line_that_is_named_is_a_comment_to_us(tb: Run, ledger: Path) -> None:
    before = tb("validate", "--json", "--ledger", ledger).json
    assert tb("schema", "--into", ledger / "schemas").code == 0
    lines = {e["kind"]: e["first_line"] for e in tb("schema", "--json").json}
    for name, (_, where) in OF_FILE.items():
        for path in ledger.glob(where):
            path.write_text(f"{lines[name]}\n{path.read_text(encoding='utf-8')}", encoding="utf-8")
    after = tb("validate", "--json", "--ledger", ledger).json
    assert [f["code"] for f in after] == [f["code"] for f in before]
    assert (
        tb(
            "hold",
            "RB-014",
            "--why",
            "dent",
            "--by",
            "MV",
            "--on",
            "2026-11-25",
            "--ledger",
            ledger,
        ).code
        == 0
    )
    assert (
        (ledger / "cylinders/RB-014.yaml").read_text(encoding="utf-8").startswith(lines["cylinder"])
    )


@pytest.mark.parametrize("bad", ["nothing", "", "cylinders", "../x"])
def test_what_is_no_kind_is_told(bad: str, tb: Run) -> None:
    ran = tb("schema", bad)
    assert (ran.code, len(ran.err.splitlines())) == ((2, 1) if bad else (0, 0))


def test_nothing_is_written_over_what_is_not_ours(tb: Run, tmp_path: Path) -> None:
    there = tmp_path / "s"
    there.mkdir()
    (there / file_of("station")).write_text("mine")
    assert tb("schema", "--into", there).code == 2
    assert [p.name for p in there.iterdir()] == [file_of("station")]
    assert (there / file_of("station")).read_text() == "mine"


@pytest.mark.parametrize("where", ["", "none/below", "quay/cylinders"])
def test_a_folder_that_cannot_be_is_told(where: str, tb: Run, ledger: Path) -> None:
    assert tb("schema", "--into", where).code == 2
    assert not list(ledger.rglob("*.schema.json"))


def test_the_example_of_a_check_names_commands_that_are_there() -> None:
    text = (DOCS / "check.yml").read_text(encoding="utf-8")
    lines = [
        line.partition("run: tankbook ")[2] for line in text.splitlines() if "run: tankbook" in line
    ]
    assert lines == ["validate --format github"]
    assert all(line.split()[0] in every_line() for line in lines)
