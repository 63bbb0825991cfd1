"""Inspections left half done."""

from __future__ import annotations

from pathlib import Path

import pytest

from tankbook.ledger import atomic, unfinished
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.unfinished import Unfinished
from tankbook.records.entries import StepFinding
from tankbook.records.words import StepResult

LEFT = Unfinished(
    "annual",
    "MV",
    (
        StepFinding(step="identify", result=StepResult.PASS),
        StepFinding(
            step="neck-threads", result=StepResult.HOLD, note="ü worn", count=1, position="top"
        ),
    ),
    {"neck_thread": "3/4-14 NPSM"},
)


def test_what_is_kept_comes_back(tmp_path: Path) -> None:
    assert unfinished.load(tmp_path, "RB-014") is None
    unfinished.save(tmp_path, "RB-014", LEFT)
    assert unfinished.load(tmp_path, "RB-014") == LEFT
    assert unfinished.load(tmp_path, "RB-015") is None
    unfinished.forget(tmp_path, "RB-014")
    unfinished.forget(tmp_path, "RB-014")
    assert unfinished.load(tmp_path, "RB-014") is None


def test_git_does_not_see_it(tmp_path: Path) -> None:
    unfinished.save(tmp_path, "RB-014", LEFT)
    assert {p.name for p in (tmp_path / ".tankbook").iterdir()} >= {".gitignore"}
    assert (tmp_path / ".tankbook/.gitignore").read_text() == "*\n"


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "{}", '{"checklist": "a", "by": "b", "answers": [1], "read": {}}',
             '{"checklist": "a", "by": "b", "answers": [{"step": "x", "result": "fine"}], "read": {}}'],
)  # fmt: skip
def test_a_file_that_is_none_is_told(tmp_path: Path, text: str) -> None:
    (tmp_path / ".tankbook").mkdir()
    (tmp_path / ".tankbook/inspect-RB-014.json").write_text(text)
    with pytest.raises(LedgerError, match="this half-done inspection cannot be read"):
        unfinished.load(tmp_path, "RB-014")


def test_an_id_that_leads_elsewhere_is_refused(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="this cannot be an id"):
        unfinished.save(tmp_path, "../x", LEFT)


def test_what_is_kept_and_what_is_thrown_away_is_settled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settled: list[Path] = []
    monkeypatch.setattr(atomic, "sync_folder", settled.append)
    unfinished.save(tmp_path, "RB-014", LEFT)
    assert settled == [tmp_path / ".tankbook", tmp_path]
    unfinished.forget(tmp_path, "RB-014")
    assert settled[2:] == [tmp_path / ".tankbook"]
