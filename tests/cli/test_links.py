"""A record that is a symbolic link within the ledger: every answer says the same of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import HEADER, Repo, line

ON = "2026-11-25"
SAID = "it is a symbolic link"


@pytest.fixture(name="repo")
def _repo(ledger: Path) -> Repo:
    repo = Repo(ledger)
    repo.git("init", "-q", "-b", "main", ".")
    repo.put(".gitignore", ".tankbook/\n")
    repo.put("fills/2026.csv", HEADER + "\n" + line("2026-11-20T09:00:00+01:00") + "\n")
    repo.commit("Begin")
    return repo


@pytest.mark.parametrize("path", ["cylinders/RB-014.yaml", "fills/2026.csv"])
@pytest.mark.parametrize("committed", [True, False])
def test_all_agree(repo: Repo, tb: Callable[..., Any], path: str, committed: bool) -> None:
    (repo.root / "shelf").mkdir()
    there = repo.root / "shelf" / Path(path).name
    (repo.root / path).rename(there)
    (repo.root / path).symlink_to(f"../shelf/{there.name}")
    if committed:
        repo.git("add", "-A")
        repo.commit("A link")
    content = there.read_bytes()
    say = lambda *words: tb("--ledger", repo.root, "--on", ON, *words)  # noqa: E731
    ran = say("validate")
    assert ran.code == 1
    assert SAID in ran.out
    ran = say("may-fill", "RB-014")
    assert ran.code == 1
    assert ran.first.startswith("NO")
    if path.startswith("cylinders/"):
        assert SAID in ran.first
    ran = tb("--ledger", repo.root, "audit")
    assert ran.code == 1
    assert ran.first.startswith("NOT CLEAN")
    if committed:
        ran = tb("--ledger", repo.root, "may-fill", "RB-014", "--as-of", "HEAD")
        assert ran.code == 1
        assert ran.first.startswith("NO")
    for words in (["hold", "RB-014", "--why", "dent"], ["reading", "RB-014=2000", "--at", "10:00"]):
        ran = say(*words, "--by", "MV", "--commit")
        if (words[0] == "hold") is path.startswith("cylinders/"):
            assert ran.code in (1, 2)
        assert "Traceback" not in ran.err
    assert there.read_bytes() == content
    assert (repo.root / path).is_symlink()
