"""Every command that README and docs show is run, and says what the page says it says.

A `console` block holds lines that begin with `$ ` and what they print; `...` on a line of its own
stands for anything. A command runs on a copy of `example_ledger`, beside which it stands, and
commands of one page run one after another; a `yaml` or `csv` block whose fence names a file is that
file, written when its turn comes. `cd`, `git` and `rm` do what they do in a shell. A command whose answer is no (exit 1) is as good as one
that is done; one that is not understood is not.
"""

from __future__ import annotations

import ast
import re
import shlex
import shutil
import subprocess
import time
from fnmatch import filter as filter_names
from functools import cache
from pathlib import Path

import pytest
from pages_shown import matches, steps

import tankbook
from tankbook.cli.boundary import run

ROOT = Path(__file__).parent.parent
GIT_ENVIRONMENT = {
    "GIT_CONFIG_GLOBAL": "/dev/null",
    "GIT_CONFIG_SYSTEM": "/dev/null",
    "GIT_AUTHOR_NAME": "Test",
    "GIT_AUTHOR_EMAIL": "test@example.org",
    "GIT_COMMITTER_NAME": "Test",
    "GIT_COMMITTER_EMAIL": "test@example.org",
}
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


WITH_COMMANDS = [page for page in PAGES if any(s.command for s in steps(page))]


@pytest.mark.parametrize("page", WITH_COMMANDS, ids=lambda p: p.name)
def test_what_a_page_shows(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "example_ledger", tmp_path / "example_ledger")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    for name, value in GIT_ENVIRONMENT.items():
        monkeypatch.setenv(name, value)
    for step in steps(page):
        if step.file:
            Path(step.file).write_text("\n".join(step.lines) + "\n", encoding="utf-8")
            continue
        words = shlex.split(step.command)
        if words[0] == "cd":
            monkeypatch.chdir(words[1])
            continue
        if words[0] in {"git", "rm"}:
            done = subprocess.run(words, capture_output=True, text=True, check=False)
            assert done.returncode == 0, f"{step.command}\n{done.stderr}"
            printed = done.stdout
        else:
            assert words[0] == "tankbook", step.command
            code = run(words[1:])
            out = capsys.readouterr()
            assert code in {0, 1}, f"{step.command}\n{out.err}"
            printed = out.out
        if step.lines:
            assert matches(step.lines, printed), f"$ {step.command}\n{printed}"


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


def test_the_contents_name_every_page() -> None:
    """The table of contents of README leaves none out, and begins with what is needed first."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    contents = re.findall(r"\]\(docs/([a-z-]+\.md)\)", text.split("\n## Where things are\n")[1])
    assert set(contents) == {p.name for p in (ROOT / "docs").glob("*.md")}
    assert contents[:2] == ["install.md", "how-it-thinks.md"]


def test_readme_begins_with_the_job_and_shows_two_pictures() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert text.startswith(
        "# tankbook\n\nA person at a dive centre, a club or a school runs a bench and a fill station."
    )
    assert len(re.findall(r"^!\[", text, re.M)) == 2


NAMED = re.compile(r"`([\w/]+\.py)::(\w+)`")


def test_tests_that_are_named_are_there() -> None:
    """A promise is worth the test that shows it."""
    named = [(page, *found) for page in PAGES for found in NAMED.findall(page.read_text("utf-8"))]
    assert named
    for page, file, name in named:
        path = ROOT / "tests" / file
        assert path.is_file(), f"{page.name} names {file}"
        there = re.search(rf"^def {name}\(", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert there, f"{page.name} names {file}::{name}"


def test_each_promise_against_harm_has_its_test() -> None:
    text = (ROOT / "docs/threats.md").read_text(encoding="utf-8")
    promised, not_promised = text.split("\n## What is not promised\n")
    rows = [
        r for r in promised.splitlines() if r.startswith("| ") and not r.startswith("| promised")
    ]
    assert len(rows) > 20
    assert [r for r in rows if not NAMED.fullmatch(r.strip("| ").rpartition(" | ")[2])] == []
    assert "| shown by |" not in not_promised


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


def test_every_module_that_developers_are_sent_to_is_there() -> None:
    root = Path(tankbook.__file__).parents[1]
    there = {str(p.relative_to(root)) for p in root.rglob("*.py") if ".venv" not in p.parts}
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`([\w/]+\.py)(?::\s+\w+)?`", text)
    assert len(named) > 50
    assert [n for n in named if not any(f"/{p}".endswith(f"/{n}") for p in there)] == []


def said_by(path: Path) -> set[str]:
    """What a module defines: by name, and what a class has behind a dot."""

    def names(node: ast.stmt) -> set[str]:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            return {node.name}
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        return {target.id for target in targets if isinstance(target, ast.Name)}

    tree = ast.parse(path.read_text(encoding="utf-8"))
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef)]
    members = {f"{c.name}.{n}" for c in classes for node in c.body for n in names(node)}
    return members | {name for node in tree.body for name in names(node)}


SENT_TO = {
    "a thing of a module": re.compile(r"(?P<file>[\w/]+\.py):\s+(?P<name>\w+)"),
    "the same, shortly": re.compile(r"(?P<module>[a-z][a-z_]*)\.(?!py$|yaml$)(?P<name>[a-z]\w+)"),
    "a class, or what it has": re.compile(r"(?P<name>[A-Z]\w*[a-z]\w*(?:\.\w+)?)"),
    "a function": re.compile(r"(?P<name>[a-z]+_\w+)(?:\(.*\))?", re.DOTALL),
    "files": re.compile(r"(?P<glob>[\w*]+/[\w/*.]+)"),
}
"""What a word between backticks sends a reader to."""
NO_NAMES = {"applies_to", "may_fill", "book.broken", "example_ledger"}
"""A key of a rule row, an answer, an attribute, a folder."""


@cache
def modules() -> dict[str, set[str]]:
    """What every module of the program and of its tests defines, by its path."""
    paths = (p for room in ("tankbook", "tests") for p in (ROOT / room).rglob("*.py"))
    return {f"/{path.relative_to(ROOT)}": said_by(path) for path in paths}


@cache
def every_file() -> list[str]:
    """The files and folders of the project, by their paths."""
    top = (p for p in ROOT.iterdir() if p.name not in {".git", ".venv"})
    return [f"/{p.relative_to(ROOT)}" for each in top for p in (each, *each.rglob("*"))]


def leads(found: re.Match[str]) -> bool:
    """Whether a reader who is sent to a thing of the code finds it."""
    said = found.groupdict()
    if "glob" in said:
        return bool(filter_names(every_file(), f"*/{said['glob'].rstrip('/')}"))
    name, module = said["name"], said.get("module")
    there = filter_names(modules(), "*/" + (said.get("file") or f"{module or '*'}.py"))
    return any(name in modules()[path] for path in there) or bool(module and not there)


def astray(text: str) -> list[str]:
    """The names in a text for developers that lead nowhere."""
    words = re.findall(r"`([^`]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL))
    found = [(w, p.fullmatch(w)) for w in dict.fromkeys(words) for p in SENT_TO.values()]
    return [word for word, sent in found if sent and word not in NO_NAMES and not leads(sent)]


def test_every_name_that_developers_are_sent_to_is_there() -> None:
    """A walk through the rooms is worth nothing once what it names is called otherwise."""
    assert astray((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("text", "lost"),
    [
        ("`rules/gate.py: may_fill` and `Vessel`, `Book.as_known_on`, `names.within`", []),
        ("`rules/gate.py:\n   may_fall`", ["rules/gate.py:\n   may_fall"]),
        ("`Wessel`", ["Wessel"]),
        ("`Book.as_known`", ["Book.as_known"]),
        ("`names.without`", ["names.without"]),
        ("`open_desk(asked, fit=True)`, `shut_desk(asked)`", ["shut_desk(asked)"]),
        ("`ledger/data/words/*.yaml`, `ledger/data/phrases/`", ["ledger/data/phrases/"]),
        ("`calendar --ics`, `typer`, `git log -p`, `NO`", []),
    ],
)
def test_a_name_that_leads_nowhere_is_seen(text: str, lost: list[str]) -> None:
    assert astray(text) == lost
