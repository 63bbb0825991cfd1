"""What the first moments load. How long they take is in tests/benchmarks."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

import tankbook
from tankbook.__main__ import main

HEAVY = {
    "typer", "pydantic", "rich", "ruamel", "tabulate", "dateutil", "_ruamel_yaml", "reportlab", "PIL",
    "segno", "icalendar", "openpyxl",
}  # fmt: skip

PROBE = """
import json, sys
before = set(sys.modules)
{body}
loaded = {{name.split(".")[0] for name in set(sys.modules) - before}}
print(json.dumps(sorted(loaded)))
"""


def loaded_by(body: str) -> set[str]:
    """The top-level modules that running `body` in a fresh interpreter loads."""
    run = subprocess.run(
        [sys.executable, "-c", PROBE.format(body=body)], capture_output=True, text=True, check=True
    )
    return set(json.loads(run.stdout.splitlines()[-1]))


def test_the_version_is_told_before_anything_is_loaded() -> None:
    loaded = loaded_by("from tankbook.__main__ import main; main(['--version'])")
    assert loaded & HEAVY == set()
    assert "argparse" not in loaded


def test_building_the_command_line_loads_no_reader_and_no_table() -> None:
    loaded = loaded_by("from tankbook.cli.app import command; command()")
    assert loaded & (HEAVY - {"typer", "rich"}) == set()


def test_a_text_file_is_imported_without_the_reader_of_workbooks(tmp_path: Path) -> None:
    table = tmp_path / "club.csv"
    table.write_text("Serial,WP (bar)\nK1,232\n")
    body = f"from tankbook.__main__ import main; main(['import', {str(table)!r}])"
    assert loaded_by(body) & {"openpyxl", "reportlab", "PIL", "segno", "icalendar"} == set()


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"tankbook {tankbook.__version__}\n"
    assert main(["--json", "--version"]) == 0
    assert capsys.readouterr().out == f"tankbook {tankbook.__version__}\n"


def test_it_runs_as_a_module() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "tankbook", "--version"], capture_output=True, text=True, check=True
    )
    assert run.stdout == f"tankbook {tankbook.__version__}\n"
    assert run.stderr == ""
