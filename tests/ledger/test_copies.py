"""What is on this computer alone, as far as git was told."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from repos import Repo, ledger

from tankbook.ledger.git import Copies, copies_of

TODAY = dt.date(2026, 2, 17)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    return ledger(tmp_path / "quay")


def with_remote(repo: Repo) -> Repo:
    there = repo.root.parent / "stick.git"
    repo.git("clone", "-q", "--bare", str(repo.root), str(there))
    repo.git("remote", "add", "stick", str(there))
    return repo


def test_without_a_remote_all_is_here_alone(repo: Repo) -> None:
    assert copies_of(repo.root) == Copies(remote=False)


def test_a_remote_that_never_had_anything_is_none(repo: Repo) -> None:
    with_remote(repo)
    assert copies_of(repo.root) == Copies(remote=False)


def test_what_was_pushed_is_elsewhere(repo: Repo) -> None:
    with_remote(repo).git("push", "-q", "stick", "main")
    got = copies_of(repo.root)
    assert got == Copies(remote=True)
    assert got.days(TODAY) == 0


def test_what_was_not_pushed_since_is_counted_from_the_oldest(repo: Repo) -> None:
    with_remote(repo).git("push", "-q", "stick", "main")
    for day in (12, 14, 17):
        repo.commit("More", at=f"2026-02-{day}T12:00:00+00:00")
    got = copies_of(repo.root)
    assert got is not None
    assert (got.remote, got.commits, got.days(TODAY)) == (True, 3, 5)
    assert got.days(dt.date(2026, 2, 1)) == 0  # a day before it was made
    repo.git("push", "-q", "stick", "main")
    assert copies_of(repo.root) == Copies(remote=True)


def test_where_git_cannot_be_asked_nothing_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    assert copies_of(tmp_path) is None
    Repo.begin(tmp_path / "new")
    monkeypatch.setenv("PATH", "")
    assert copies_of(tmp_path / "new") is None
