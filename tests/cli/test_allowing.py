"""What a terminal is asked before the programs of a repository run, and what the board says of git."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo

from tankbook.cli import keys

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the hook is a script of a shell")

Run = Callable[..., Any]
HOLD = ("hold", "RB-014", "--why", "dent", "--by", "MV", "--on", "2026-11-25")


@pytest.fixture(name="repo")
def _repo(ledger: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Repo:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "gitconfig").write_text("[user]\nname = Bench\nemail = bench@example.org\n")
    repo = Repo.begin(ledger)
    repo.put(".gitignore", ".tankbook/\n")
    repo.commit("Begin", at="2026-11-20T12:00:00+00:00")
    hook = ledger / ".git/hooks/pre-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(f"#!/bin/sh\ntouch '{tmp_path}/ran'\n")
    hook.chmod(0o755)
    return repo


@pytest.fixture(name="at_terminal")
def _at_terminal(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """A terminal at which one key is pressed."""

    def press(pressed: str) -> None:
        monkeypatch.setattr(keys, "is_terminal", lambda: True)
        monkeypatch.setattr(keys, "_pressed", lambda: pressed)

    return press


def test_without_a_terminal_the_act_is_recorded_and_the_commit_left(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    ran = tb("--ledger", repo.root, *HOLD, "--commit")
    assert ran.code == 0
    said = " ".join(ran.out.split())
    assert "Recorded, NOT committed: committing would run the pre-commit hook (" in said
    assert f"`git config --global --add tankbook.hooks {repo.root}`" in said
    assert "The next act commits it, too." in said
    assert "dent" in repo.read("cylinders/RB-014.yaml")
    assert not (tmp_path / "ran").exists()


def test_at_a_terminal_it_is_named_and_asked_once(
    repo: Repo, tb: Run, tmp_path: Path, at_terminal: Callable[[str], None]
) -> None:
    at_terminal("n")
    ran = tb("--ledger", repo.root, *HOLD, "--commit")
    assert "Committing runs what this repository names: the pre-commit hook (" in ran.err
    assert "NOT committed" in ran.out
    assert not (tmp_path / "ran").exists()

    at_terminal("y")
    ran = tb("--ledger", repo.root, *HOLD[:3], "boot", *HOLD[4:], "--commit")
    assert "Committed as " in ran.out
    assert (tmp_path / "ran").exists()
    assert repo.git("log", "--format=%s").splitlines()[0] == "Held RB-014: boot"

    at_terminal("?")  # which nobody is asked for any more
    ran = tb("--ledger", repo.root, "refit", "RB-014", *HOLD[4:], "--commit")
    assert "[y]es" not in ran.err


@pytest.mark.parametrize("line", [("--no-commit",), (), ("--commit", "--dry-run")])
def test_nobody_is_asked_where_nothing_is_to_be_committed(
    repo: Repo, tb: Run, at_terminal: Callable[[str], None], line: tuple[str, ...]
) -> None:
    at_terminal("?")
    assert "Committing runs" not in tb("--ledger", repo.root, *HOLD, *line).err


def test_the_board_says_what_is_on_this_computer_alone(repo: Repo, tb: Run, tmp_path: Path) -> None:
    on = ("--ledger", repo.root, "--on", "2026-11-25")
    line = "No copy elsewhere: these records are on this computer alone.\n"
    assert tb(*on).out.count(line) == 1
    assert tb(*on, "--json").json["copies"] == {"remote": False, "commits": None, "days": None}

    repo.git("clone", "-q", "--bare", str(repo.root), str(tmp_path / "stick.git"))
    repo.git("remote", "add", "stick", str(tmp_path / "stick.git"))
    repo.git("push", "-q", "stick", "main")
    quiet = tb(*on)
    assert "remote" not in quiet.out
    assert line not in quiet.out
    assert tb(*on, "--json").json["copies"] == {"remote": True, "commits": 0, "days": 0}

    repo.git("-c", "core.hooksPath=/dev/null", "commit", "-q", "--allow-empty", "-m", "x",
             at="2026-11-22T12:00:00+00:00")  # fmt: skip
    assert "\n1 commit is on no remote, for 3 days now: `git push`.\n" in tb(*on).out
    assert "git push" not in tb(*on[:2], "--on", "2026-11-22").out
    assert tb(*on, "--as-of", "main", "--json").json["copies"] is None


def test_outside_git_the_board_says_nothing_of_copies(ledger: Path, tb: Run) -> None:
    assert tb("--ledger", ledger, "--json").json["copies"] is None
