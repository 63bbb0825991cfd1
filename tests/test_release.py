"""What a release is made of: one version, all the files, and pages that come with the program."""

from __future__ import annotations

import re
import subprocess
import tomllib
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import pytest

import tankbook

ROOT = Path(__file__).parents[1]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
ALWAYS = {"README.md", "pyproject.toml", "MANIFEST.in"}
"""What setuptools takes along by itself."""


def kept() -> list[str]:
    """Every file of the project, by git where there is one."""
    said = subprocess.run(
        ["git", "-C", ROOT, "ls-files", "-z"], capture_output=True, text=True, check=False
    )
    if said.returncode:
        pytest.skip("no repository: this is a source distribution already")
    return [name for name in said.stdout.split("\0") if name]


def in_package(name: str) -> bool:
    """Whether it comes with the package: code, or what `package-data` names."""
    package, _, rest = name.partition("/")
    patterns = PROJECT["tool"]["setuptools"]["package-data"]["tankbook"]
    return package == "tankbook" and (
        name.endswith(".py") or any(fnmatch(rest, each.replace("**/", "*")) for each in patterns)
    )


def in_sources(name: str) -> bool:
    """Whether it comes with a source distribution."""
    lines = (ROOT / "MANIFEST.in").read_text(encoding="utf-8").splitlines()
    said = [line.split() for line in lines if line and not line.startswith("#")]
    grafted = {word for verb, *words in said if verb == "graft" for word in words}
    included = {word for verb, *words in said if verb == "include" for word in words}
    return name.split("/")[0] in grafted or name in included | ALWAYS or in_package(name)


def test_a_source_distribution_has_all_that_is_kept() -> None:
    """But for what only this repository's own machine runs."""
    left_out = [name for name in kept() if not in_sources(name) and not name.startswith(".ci/")]
    assert left_out == []


def test_the_package_has_all_its_data() -> None:
    assert [n for n in kept() if n.startswith("tankbook/") and not in_package(n)] == []


def test_every_page_that_a_message_names_comes_with_the_program() -> None:
    installed = PROJECT["tool"]["setuptools"]["data-files"]["share/doc/tankbook"]
    named = {
        page
        for path in (ROOT / "tankbook").rglob("*")
        if path.suffix in {".py", ".yaml", ".txt", ".html"}
        for page in re.findall(r"docs/[\w.-]+\.(?:md|yml|png)", path.read_text(encoding="utf-8"))
    }
    assert "docs/evidence.md" in named
    for page in sorted(named):
        assert (ROOT / page).is_file(), page
        assert any(fnmatch(page, pattern) for pattern in installed), page


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
