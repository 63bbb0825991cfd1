"""What docs/when-something-goes-wrong.md quotes without running it, each done for real but the full disk."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from repos import Repo

from tankbook.ledger import lock

Run = Callable[..., Any]
PAGE = (Path(__file__).parents[2] / "docs/when-something-goes-wrong.md").read_text(encoding="utf-8")
QUOTED = re.findall(r"^```text\n(.*)\n```$", PAGE, re.M)
HOLD = ("hold", "RB-014", "--why", "dent", "--by", "MV", "--on", "2026-11-25")


def is_quoted(printed: str) -> bool:
    """Whether the page has what was printed; its words in capitals and its seconds stand for anything."""
    text = " ".join(printed.split())
    patterns = (
        re.sub(
            r"PID|MACHINE|TIME|PATH|(?<=for )7(?= s;)", r"\\S+", re.escape(q).replace("\\ ", " ")
        )
        for q in QUOTED
    )
    return any(re.search(p, text) for p in patterns)


def test_the_page_quotes_what_is_tested_here() -> None:
    assert len(QUOTED) == 3


def test_two_write_at_once(tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert lock.PATIENCE == 10  # the page says so
    wait = lock._wait
    monkeypatch.setattr(
        lock, "_wait", lambda descriptor, root, patience: wait(descriptor, root, 0.05)
    )
    with lock.hold(ledger, patience=0):
        monkeypatch.setattr(lock, "_try_lock", lambda descriptor: False)
        ran = tb(*HOLD, "--ledger", ledger)
    assert ran.code == 2
    assert is_quoted(ran.err), ran.err


def test_a_lock_of_gits_is_left_behind(tb: Run, ledger: Path) -> None:
    Repo.begin(ledger).commit()
    left = ledger / ".git/index.lock"
    left.touch()
    ran = tb(*HOLD, "--commit", "--ledger", ledger)
    assert ran.code == 0
    assert is_quoted(ran.out), ran.out
    left.unlink()
    assert "held" in (ledger / "cylinders/RB-014.yaml").read_text()


def test_the_disk_is_full(tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()}

    def full(*_: Any, **__: Any) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(ledger / ".tankbook"))

    with monkeypatch.context() as patch:
        patch.setattr(os, "mkdir", full)
        ran = tb(*HOLD, "--ledger", ledger)
    assert ran.code == 2
    assert is_quoted(ran.err), ran.err
    assert {p: p.read_bytes() for p in before} == before
