"""Git is not made to wait by what lies where it looks."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from repos import Repo, ledger

from tankbook.ledger.absence import look
from tankbook.ledger.contacts import check_contacts
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.git import ignored, uncommitted
from tankbook.ledger.gitread import _OWN, Repository

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes of POSIX systems")


@pytest.mark.parametrize(
    "path",
    [
        *(f".git/{name}" for name in _OWN),
        ".gitignore",
        ".gitattributes",
        "cylinders/.gitignore",
        "fills/.gitattributes",
        ".mailmap",
    ],
)
def test_a_pipe_where_git_looks(tmp_path: Path, path: str) -> None:
    repo = ledger(tmp_path / "quay")
    place = repo.root / path
    place.parent.mkdir(parents=True, exist_ok=True)
    place.unlink(missing_ok=True)
    os.mkfifo(place)
    began = time.monotonic()
    assert uncommitted(repo.root) is None
    assert ignored(repo.root) == []
    seen = look(repo.root)
    assert any("no ordinary file" in each.why for each in seen.unseen)
    with pytest.raises(LedgerError, match="it is no ordinary file, so git cannot be asked"):
        Repository.of(repo.root)
    check_contacts(repo.root)
    assert time.monotonic() - began < 5


def test_an_order_of_files_that_is_a_pipe_is_not_opened(tmp_path: Path) -> None:
    repo: Repo = ledger(tmp_path / "quay")
    os.mkfifo(tmp_path / "order")
    repo.git("config", "diff.orderFile", str(tmp_path / "order"))
    with Repository.of(repo.root).stream("log", "-p", "--format=%H") as lines:
        assert lines.read()
