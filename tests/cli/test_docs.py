"""The pages on the commands and on their JSON say what the program does.

`pytest tests/cli --snapshot-update` writes `docs/commands.md` anew.
"""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from pages import command_page, man_page
from repos import Repo
from thinking import picture

from tankbook.cli.commands import BY_WORK, COMMANDS, WorkArea, every_line

Run = Callable[..., Any]
DOCS = Path(__file__).parents[2] / "docs"
ANSWERS = [*BY_WORK[WorkArea.ASKING], "tags", "init", "history", "audit", "pending"]
"""What answers of the ledger as it stands, or stood."""


def page_of(tb: Run) -> str:
    helps = {"tankbook": tb("--help").out}
    helps |= {f"tankbook {line}": tb(*line.split(), "--help").out for line in every_line()}
    return command_page(helps)


def test_the_page_on_the_commands_is_not_stale(tb: Run, request: pytest.FixtureRequest) -> None:
    path, page = DOCS / "commands.md", page_of(tb)
    if request.config.getoption("update_snapshots"):
        path.write_text(page, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == page


@pytest.mark.parametrize("name", ANSWERS)
def test_every_command_is_on_both_pages(name: str) -> None:
    assert f"\n## tankbook {name}\n" in (DOCS / "commands.md").read_text(encoding="utf-8")
    assert f"\n## {name}\n" in (DOCS / "json.md").read_text(encoding="utf-8")


def under_git(name: str, ledger: Path) -> None:
    """What asks about the past has one to ask about, with an edited entry in it."""
    if name not in {"history", "audit"}:
        return
    repo = Repo.begin(ledger)
    repo.commit()
    repo.change("cylinders/RB-014.yaml", "result: pass", "result: hold")
    repo.commit()


@pytest.mark.parametrize("name", ANSWERS)
def test_the_example_of_every_command_runs(
    name: str, tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ledger)
    under_git(name, ledger)
    text = COMMANDS[name].example.removeprefix("tankbook ").replace(" 14", " RB-014")
    text = text.replace("15", "RB-015")
    ran = tb(*shlex.split(text))
    assert ran.code in (0, 1)
    assert ran.out


SHOWN = {
    "board": [],
    "show": ["show", "RB-021"],
    "list": ["list"],
    "marks": ["marks", "DOT-3AL 3000 K118204 09A21 05 A123 26 +"],
    "rules": [],  # its keys are those of the row, on the format page
    "validate": ["validate"],
    "due": ["due"],
    "may-fill": ["may-fill", "RB-015"],
    "capacity": ["capacity", "RB-014"],
    "fleet": ["fleet"],
    "tags": ["tags", "RB-014"],
    "history": ["history", "RB-014"],
    "audit": ["audit"],
    "pending": ["pending"],
    "init": ["init", "new"],
    "explain": ["explain", "us.visual", "yoke"],
    "commands": ["commands"],
}
ALSO = {
    "rentals": ["rentals"],
    "jobs": ["jobs"],
    "stock": ["stock"],
    "leaks": ["leaks"],
    "fills": ["fills", "--month", "2026-11"],
    "station": ["station"],
    "station size": ["station", "size", "--hours", "8"],
    "sheet": ["sheet", "RB-014"],
    "a count sheet": ["list", "--count-sheet"],
    "a count": ["count", "RB-014", "--dry-run"],
}
"""What answers besides."""
RECORDS = {"record", "by_status", "by_states", "values", "gases", "counts", "facts"}
"""Objects whose keys are a record's own, or words of a closed set."""


def keys_in(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            if key not in RECORDS:
                yield from keys_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_in(inner)


@pytest.mark.parametrize("name", [n for n, line in (SHOWN | ALSO).items() if line or n == "board"])
def test_every_key_of_every_answer_is_on_the_json_page(
    name: str, tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (ledger / "fills/2025.csv").write_text("at\n")  # a fault, so that validate has one to tell
    under_git(name, ledger)
    monkeypatch.chdir(ledger)
    day = [] if name in {"init", "pending", "commands", "explain"} else ["--on", "2026-11-25"]
    keys = set(keys_in(tb(*(SHOWN | ALSO)[name], *day, "--json").json))
    named = set(re.findall(r"`([A-Za-z_0-9-]+)`", (DOCS / "json.md").read_text(encoding="utf-8")))
    assert keys
    assert keys <= named


def test_every_command_has_a_line_here() -> None:
    assert set(SHOWN) == {"board", *ANSWERS}


def man() -> str:
    listed = {
        work: {n: c.briefly for n, c in every_line(BY_WORK[work]).items()} for work in WorkArea
    }
    return man_page({str(work): lines for work, lines in listed.items()})


def test_the_page_for_man_is_not_stale(request: pytest.FixtureRequest) -> None:
    path, page = DOCS / "tankbook.1", man()
    if request.config.getoption("update_snapshots"):
        path.write_text(page, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == page
    assert page.isascii()


def test_the_picture_of_how_it_thinks_names_what_there_is(request: pytest.FixtureRequest) -> None:
    path, drawn = DOCS / "how-it-thinks.svg", picture()
    if request.config.getoption("update_snapshots"):
        path.write_text(drawn, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == drawn
    ElementTree.fromstring(drawn)
    page = (DOCS / "how-it-thinks.md").read_text(encoding="utf-8")
    assert "](how-it-thinks.svg)" in page


def test_the_page_for_man_is_read_without_a_warning() -> None:
    if shutil.which("groff") is None:
        pytest.skip("groff is not installed")
    line = ["groff", "-man", "-Tascii", "-ww", str(DOCS / "tankbook.1")]
    done = subprocess.run(line, capture_output=True, text=True, check=True)
    assert done.stderr == ""
    shown = re.sub(r".\x08|\x1b\[[0-9;]*m", "", done.stdout)
    for name in COMMANDS:
        assert re.search(rf"^\s+{name}\b", shown, re.M), name


def test_the_pages_that_messages_name_come_with_the_program() -> None:
    root = DOCS.parent
    told = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    shared = told["tool"]["hatch"]["build"]["targets"]["wheel"]["shared-data"]
    assert shared == {
        "docs": "share/doc/tankbook",
        "docs/tankbook.1": "share/man/man1/tankbook.1",
    }
    pages = {p.name for p in DOCS.iterdir()}
    named = {
        name
        for path in (root / "tankbook").rglob("*.py")
        for name in re.findall(r"docs/([a-z-]+\.(?:md|yml))", path.read_text(encoding="utf-8"))
    }
    assert named
    assert named <= pages
