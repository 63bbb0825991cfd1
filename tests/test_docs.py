"""Every command that README and docs show is run, and says what the page says it says.

A `console` block holds lines that begin with `$ ` and what they print; `...` on a line of its own
stands for anything. A command runs on a copy of `example_ledger`, beside which it stands, and
commands of one page run one after another. A command whose answer is no (exit 1) is as good as one
that is done; one that is not understood is not.
"""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tankbook.cli.boundary import run

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def blocks(page: Path, kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", page.read_text(encoding="utf-8"), re.M | re.S)


def shown(page: Path) -> Iterator[tuple[str, list[str]]]:
    """Each command of a page with the lines shown below it."""
    for block in blocks(page, "console"):
        command, lines = "", []
        for line in block.splitlines():
            if line.startswith("$ "):
                if command:
                    yield command, lines
                command, lines = line.removeprefix("$ "), []
            else:
                lines.append(line)
        if command:
            yield command, lines


def matches(lines: list[str], printed: str) -> bool:
    """Whether what was printed is what is shown, where `...` stands for any lines."""
    parts = [re.escape(line.rstrip()) + "\n" if line != "..." else "(?:.*\n)*?" for line in lines]
    return re.fullmatch("".join(parts), re.sub(r"[ \t]+$", "", printed, flags=re.M)) is not None


WITH_COMMANDS = [page for page in PAGES if any(shown(page))]


@pytest.mark.parametrize("page", WITH_COMMANDS, ids=lambda p: p.name)
def test_what_a_page_shows(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "example_ledger", tmp_path / "example_ledger")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for command, lines in shown(page):
        words = shlex.split(command)
        assert words[0] == "tankbook", command
        code = run(words[1:])
        printed = capsys.readouterr()
        assert code in {0, 1}, f"{command}\n{printed.err}"
        if lines:
            assert matches(lines, printed.out), f"$ {command}\n{printed.out}"


def test_set_up_lines() -> None:
    """README has one line to run it and one to test it, each doing all the set-up."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for heading in ("Run it", "Test it"):
        section = text.split(f"\n## {heading}\n")[1].split("\n## ")[0]
        (block,) = re.findall(r"^```sh\n(.*?)^```$", section, re.M | re.S)
        assert len(block.splitlines()) == 1
        assert block.startswith("python3 -m venv .venv && ")


def test_pages_that_are_named_are_there() -> None:
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name} names {target}"


def test_the_top_level_holds_what_was_agreed() -> None:
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "tankbook",
        "tests",
        "example_ledger",
        "docs",
    }
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    names = {path.split("/")[0] for path in listed.stdout.splitlines()}
    assert {n for n in names if not n.startswith(".")} <= agreed
