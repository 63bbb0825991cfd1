"""Asking git what is not committed, whatever the user's or the repository's settings say."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from tankbook.ledger.git import ignored, uncommitted

NOBODY = ["-c", "user.name=Nobody", "-c", "user.email=nobody@example.invalid"]


def git(root: Path, *arguments: str) -> None:
    subprocess.run(["git", "-C", str(root), *NOBODY, *arguments], check=True, capture_output=True)


@pytest.fixture(name="repository")
def _repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_SYSTEM", os.devnull)
    root = tmp_path / "repository"
    (root / "quay").mkdir(parents=True)
    (root / "quay/tankbook.yaml").write_text("ledger: Quay\n")
    (root / "quay/gone.yaml").write_text("a\n")
    (root / "elsewhere.txt").write_text("not of this ledger\n")
    git(root, "init", "-q")
    git(root, "add", "quay")
    git(root, "commit", "-q", "-m", "begin")
    return root


def change(root: Path) -> list[str]:
    """Change, add, delete and rename files of the ledger; the names now uncommitted."""
    ledger = root / "quay"
    (ledger / "tankbook.yaml").write_text("ledger: Other\n")
    (ledger / "gone.yaml").rename(ledger / "come.yaml")
    (ledger / "cylinders").mkdir()
    (ledger / "cylinders/RB 014 é.yaml").write_text("serial: K1\n")
    return ["come.yaml", "cylinders/RB 014 é.yaml", "gone.yaml", "tankbook.yaml"]


def test_a_clean_ledger_has_nothing(repository: Path) -> None:
    assert uncommitted(repository / "quay") == []


def test_names_are_the_ledgers_own_and_of_the_ledger_alone(repository: Path) -> None:
    names = change(repository)
    assert uncommitted(repository / "quay") == names
    git(repository, "add", "-A")
    assert uncommitted(repository / "quay") == names


@pytest.mark.parametrize(
    "setting",
    [
        "color.ui=always",
        "color.status=always",
        "core.quotePath=true",
        "status.relativePaths=false",
        "status.showUntrackedFiles=no",
        "status.short=true",
        "status.branch=true",
        "status.renames=copies",
        "core.pager=false",
        "pager.status=true",
    ],
)
def test_no_setting_changes_the_answer(setting: str, repository: Path) -> None:
    git(repository, "config", *setting.split("=", 1))
    names = change(repository)
    assert uncommitted(repository / "quay") == names


def test_a_program_named_in_the_repository_is_not_run(repository: Path, tmp_path: Path) -> None:
    """`core.fsmonitor` names a program that a plain `git status` would start."""
    ran = tmp_path / "ran"
    program = tmp_path / "monitor.sh"
    program.write_text(f"#!/bin/sh\ntouch {ran}\n")
    program.chmod(0o755)
    git(repository, "config", "core.fsmonitor", str(program))
    assert uncommitted(repository / "quay") == []
    assert not ran.exists()


@pytest.mark.parametrize("name", ["csv", "a=b", "a.b=c.d"])
@pytest.mark.parametrize("key", ["clean", "process"])
def test_a_filter_is_not_run_whatever_its_name(
    repository: Path, tmp_path: Path, name: str, key: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`git -c NAME=VALUE` parts the two at the first `=`, so that such a name would slip through."""
    ran = tmp_path / "ran"
    git(repository, "config", "--file", ".git/config", f"filter.{name}.{key}", f"touch {ran}; cat")
    git(repository, "config", "--file", ".git/config", f"filter.{name}.required", "true")
    (repository / ".gitattributes").write_text(f"* filter={name}\n")
    monkeypatch.setenv("GIT_CONFIG_COUNT", "1")
    monkeypatch.setenv("GIT_CONFIG_KEY_0", "core.quotePath")
    monkeypatch.setenv("GIT_CONFIG_VALUE_0", "false")
    os.utime(repository / "quay/tankbook.yaml", (1, 1))  # so that git reads it again
    assert uncommitted(repository / "quay") == []
    assert not ran.exists()


def test_inside_a_hook_it_still_asks_the_ledgers_own_repository(
    repository: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_DIR", str(tmp_path / "nowhere"))
    monkeypatch.setenv("GIT_INDEX_FILE", str(tmp_path / "index"))
    assert uncommitted(repository / "quay") == []


def test_outside_a_repository_it_is_not_known(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    assert uncommitted(tmp_path) is None


def test_files_that_judge_and_are_ignored_are_named(repository: Path) -> None:
    quay = repository / "quay"
    (quay / ".gitignore").write_text("*-NEW.yaml\nfills/2027.csv\n*.jpg\nstation.yaml\n")
    for name in ("cylinders/RB-NEW.yaml", "fills/2027.csv", "cylinders/a.jpg", "notes/B-NEW.yaml"):
        (quay / name).parent.mkdir(exist_ok=True)
        (quay / name).write_text("x\n")
    found = ignored(quay)
    assert found == ["cylinders/RB-NEW.yaml", "fills/2027.csv"]  # station.yaml is committed
    assert ignored(repository.parent / "nowhere") == []


def test_without_git_it_is_not_known(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    assert uncommitted(repository / "quay") is None


def test_a_repository_of_another_user_is_left_alone(
    repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")  # git's own switch for this
    assert uncommitted(repository / "quay") is None


def test_a_git_that_hangs_is_given_up(
    repository: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = tmp_path / "bin"
    slow.mkdir()
    (slow / "git").write_text("#!/bin/sh\nexec sleep 5\n")
    (slow / "git").chmod(0o755)
    monkeypatch.setenv("PATH", f"{slow}:{os.environ['PATH']}")
    monkeypatch.setattr("tankbook.ledger.git.SECONDS", 0.1)
    assert uncommitted(repository / "quay") is None
