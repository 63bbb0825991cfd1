"""What other systems forbid, simulated: see `elsewhere.py` for what that is, and what it is not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import books
import elsewhere
import pytest
from read_whole import read_ledger
from repos import ALONE, Repo

from tankbook.ledger import atomic
from tankbook.records.kinds import is_safe_id

ROOT = Path(__file__).parents[2]
ON = ("--on", "2026-11-25")
ACTS = [
    ["validate", *ON], ["hold", "RB-014", "--why", "dent \u00e9 \u2713 \u0416", "--by", "MV", *ON, "--commit"],
    ["show", "RB-014", *ON], ["release", "RB-014", "--why", "looked at, no dent", "--by", "MV", *ON],
    ["reading", "RB-014=2100", "--by", "MV", "--at", "14:30", *ON], ["pending"], ["tidy"],
    ["history", "RB-014", *ON], ["audit", *ON], ["validate", "--staged", *ON], ["due", "--as-of", "HEAD", *ON],
    ["schema", "--into", "schemas"], ["export", "../all.json", *ON], ["import", "../all.json", "--into", "../again"],
    ["report", "--html", "../r.html", *ON], ["tags", "RB-014", "--pdf", "../t.pdf", *ON], ["calendar", "--ics", "../c.ics", *ON],
    ["pages", "../pages", *ON], ["pages", "../pages", *ON], ["init", "../new", "--git"],
]  # fmt: skip


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    for path, text in {
        "tankbook.yaml": books.SETTINGS,
        "station.yaml": "regulator_set: 3000 psi\n",
        "cylinders/RB-014.yaml": books.stamped(books.GOOD),
    }.items():
        target = tmp_path / "quay" / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
    repo = Repo.begin(tmp_path / "quay")
    repo.commit()
    return repo


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="tells what is open from /proc")
def test_acts_and_answers_as_windows_would_have_them(repo: Repo, tmp_path: Path) -> None:
    own = tmp_path / "own.gitconfig"
    own.write_text("[user]\n\tname = Test\n\temail = test@example.org\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-X", "warn_default_encoding", elsewhere.__file__, json.dumps(ACTS)],
        cwd=repo.root,
        env={**os.environ, **ALONE, "GIT_CONFIG_GLOBAL": str(own), "PYTHONPATH": str(ROOT), "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told: list[dict[str, Any]] = json.loads(done.stdout)
    failed = [(each["line"], each["err"]) for each in told if each["code"] > 1]
    assert failed == []
    held = next(each["out"] for each in told if each["line"][0] == "hold")
    assert "dent \u00e9 \\u2713 \\u0416" in held  # as code page 1252 can show it
    text = (repo.root / "cylinders/RB-014.yaml").read_text(encoding="utf-8")
    assert "dent \u00e9 \u2713 \u0416" in text
    assert "\r" not in text
    again = (tmp_path / "again/cylinders/RB-014.yaml").read_text(encoding="utf-8")
    assert text.startswith(again)  # the tag was printed later
    assert not list(repo.root.rglob("*.tmp"))


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="tells what is open from /proc")
def test_the_simulation_sees_what_is_open(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_bytes(b"x")
    assert not elsewhere.in_use(file)
    with file.open("rb"):
        assert elsewhere.in_use(file)


@pytest.mark.parametrize(
    "name",
    ["CON", "nul", "Aux", "prn.2", "COM1", "lpt9.yaml", "RB-1.", "RB:1", "RB\\1", "RB/1", "RB 1", "..", "RB*", "RB?", '"RB"', "RB|1", "<RB>", "RB\x01"],
)  # fmt: skip
def test_no_id_is_one_that_windows_has_no_file_of(name: str) -> None:
    assert elsewhere.refused(f"cylinders/{name}") or "/" in name or name in ("..", "RB 1")
    assert not is_safe_id(name)


def test_a_file_that_another_program_has_open_for_a_moment_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "RB-014.yaml"
    target.write_bytes(b"old")
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(atomic, "_OTHERS_LET_GO", (0.0,) * 3)
    held, real = [0, 1, 2], os.replace

    def replace(source: Path, to: Path) -> None:
        if held:
            held.pop()
            raise PermissionError(13, "it is in use")
        real(source, to)

    monkeypatch.setattr(os, "replace", replace)
    atomic.swap(target, b"new")
    assert target.read_bytes() == b"new"
    held.extend(range(9))  # for good
    with pytest.raises(PermissionError):
        atomic.swap(target, b"newer")
    assert [each.read_bytes() for each in tmp_path.iterdir()] == [b"new"]


@pytest.mark.parametrize("other", ["rb-014", "Rb-014", "rB-014"])
def test_what_differs_only_in_capitals_is_told_where_both_can_be(other: str, repo: Repo) -> None:
    """A disk of macOS or Windows holds one of the two, and the other is lost in a clone."""
    (repo.root / f"cylinders/{other}.yaml").write_text(books.GOOD.replace("K118204", "K118299"))
    assert "id-clash" in {each.code for each in read_ledger(repo.root).findings}
