"""What a release is made of: one version, all the files, and pages that come with the program."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

import tankbook

ROOT = Path(__file__).parents[1]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def kept() -> list[str]:
    """Every file of the project, by git where there is one."""
    said = subprocess.run(
        ["git", "-C", ROOT, "ls-files", "-z"], capture_output=True, text=True, check=False
    )
    if said.returncode:
        pytest.skip("no repository: this is a source distribution already")
    return [name for name in said.stdout.split("\0") if name]


def test_a_source_distribution_has_all_that_is_kept() -> None:
    """It takes along all that git does not ignore, but for what only this repository's own machine
    runs; `.ci/run` compares what was built."""
    assert PROJECT["tool"]["hatch"]["build"]["targets"]["sdist"] == {"exclude": ["/.ci"]}
    said = subprocess.run(
        ["git", "-C", ROOT, "ls-files", "-ci", "--exclude-standard"],
        capture_output=True,
        check=True,
    )
    assert kept()
    assert said.stdout == b""


def test_the_package_has_all_its_data() -> None:
    """A package is taken along whole, whatever its files are."""
    assert PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"] == ["tankbook"]
    outside = [n for n in kept() if n.startswith("tankbook/") and not (ROOT / n).is_file()]
    assert outside == []


def test_every_page_that_a_message_names_comes_with_the_program() -> None:
    shared = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["shared-data"]
    assert shared["docs"] == "share/doc/tankbook"
    named = {
        page
        for path in (ROOT / "tankbook").rglob("*")
        if path.suffix in {".py", ".yaml", ".txt", ".html"}
        for page in re.findall(r"docs/[\w.-]+\.(?:md|yml|png)", path.read_text(encoding="utf-8"))
    }
    assert "docs/evidence.md" in named
    for page in sorted(named):
        assert (ROOT / page).is_file(), page


def test_the_version_stands_in_one_place_and_heads_the_changes() -> None:
    assert PROJECT["project"]["dynamic"] == ["version"]
    text = (ROOT / "docs/changelog.md").read_text(encoding="utf-8")
    head = re.search(r"^## (\d+\.\d+)\b", text, re.M)
    assert head
    assert tankbook.__version__.startswith(f"{head[1]}.")
    again = [
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "tankbook").rglob("*.py")
        if f'"{tankbook.__version__}"' in path.read_text(encoding="utf-8")
    ]
    assert again == ["tankbook/__init__.py"]


IMPORTED_AS = {
    "ruamel.yaml": "ruamel",
    "ruamel.yaml.clib": "_ruamel_yaml",
    "python-dateutil": "dateutil",
}
"""What is imported by another name than it is installed by."""


def imported_from_elsewhere() -> set[str]:
    """The packages that the program imports anywhere, but for its own and Python's."""
    found = set()
    for path in (ROOT / "tankbook").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                found.add((node.module or "").split(".")[0])
    return found - set(sys.stdlib_module_names) - {"tankbook"}


def test_what_is_declared_is_used_and_told_and_nothing_else_is() -> None:
    """Each package says in DEVELOPERS.md why it is there, what it costs and what would do instead."""
    declared = {
        re.match(r"[\w.-]+", line)[0]  # type: ignore[index]
        for line in (
            *PROJECT["project"]["dependencies"],
            *PROJECT["project"]["optional-dependencies"]["xlsx"],
        )
    }
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(
        r"^\| `([\w.-]+)`[^|]*\|([^|]+)\|([^|]+)\|([^|]+)\|$",
        text.split("\n## Dependencies\n")[1].split("\n## ")[0],
        re.MULTILINE,
    )
    assert {name for name, *_ in rows} == declared
    assert all(cell.strip() for row in rows for cell in row)
    assert {IMPORTED_AS.get(name, name) for name in declared} == imported_from_elsewhere()
