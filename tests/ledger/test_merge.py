"""Two people, two clones: what they recorded apart comes together with an ordinary merge."""

from __future__ import annotations

import datetime as dt
import subprocess
from collections.abc import Callable
from pathlib import Path

import books
import pytest

from tankbook.acts.hold import hold, release
from tankbook.ledger.apply import apply
from tankbook.ledger.begin import Begun, begin
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import load
from tankbook.ledger.tidy import tidy
from tankbook.records.edits import Act, AddLine, Refusal
from tankbook.records.node import Severity
from tankbook.records.words import Shore
from tankbook.rules.checks import check

DAY = dt.date(2026, 11, 25)
IDS = ("RB-014", "RB-015")
Git = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(name="git")
def _git() -> Git:
    def run(root: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["git", "-C", str(root), *arguments], capture_output=True, text=True, check=False
        )

    return run


@pytest.fixture(name="clones")
def _clones(tmp_path: Path, git: Git, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path]:
    """Two clones of a ledger as `init` begins it, with two cylinders and a line in the log."""
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "gitconfig").write_text(
        "[user]\nname = Bench\nemail = bench@example.org\n[init]\ndefaultBranch = main\n"
        "[pull]\nrebase = false\n"
    )
    first = tmp_path / "first"
    begin(first, Begun("Test Quay", Shore.PSI, ("us-dot",)))
    settings = first / "tankbook.yaml"
    settings.write_text(settings.read_text() + "people: {MV: {}, JO: {}}\n")
    for number, id_ in enumerate(IDS):
        text = books.GOOD.replace("K118204", f"K11820{number}")
        (first / f"cylinders/{id_}.yaml").write_text(text)
    git(first, "init", "-q")
    git(first, "add", ".")
    git(first, "commit", "-q", "-m", "Begin")
    assert log(first, "RB-014", 8)
    second = tmp_path / "second"
    git(tmp_path, "clone", "-q", str(first), str(second))
    return first, second


def log(root: Path, id_: str, hour: int, minute: int = 0) -> str:
    at = f"2026-11-25T{hour:02}:{minute:02}:00+01:00"
    line = AddLine(
        {"at": at, "cylinder": id_, "act": "reading", "to": f"{3000 - 60 * hour - minute} psi"}
    )
    done = apply(root, Act("reading", (id_,), f"Read {id_}", (line,)), commit=True)
    assert done.commit, done.why_not_committed
    return done.commit


def held(root: Path, id_: str, why: str, by: str = "MV") -> None:
    act = hold(load(root), [id_], why=why, by=by, on=DAY)
    assert isinstance(act, Act)
    assert apply(root, act, commit=True).commit


def faults(root: Path) -> list[str]:
    book = load(root)
    found = [*book.findings, *check(book, DAY)]
    # nobody here is certified: that is told of the cards' inspections, and is not what is tried
    skip = {"not-certified"}
    return [str(f) for f in found if f.severity is Severity.FAULT and f.code not in skip]


def test_lines_of_both_come_together_and_are_put_in_order(
    clones: tuple[Path, Path], git: Git
) -> None:
    first, second = clones
    for hour in (9, 12, 15):
        log(first, "RB-014", hour)
    for hour in (10, 11, 16):
        log(second, "RB-015", hour)
    merged = git(second, "pull", "-q", "--no-edit")
    assert merged.returncode == 0, merged.stderr
    hours = [line.at.hour for line in load(second).log]
    assert sorted(hours) == [8, 9, 10, 11, 12, 15, 16]
    assert hours != sorted(hours)
    assert faults(second) == []
    done = tidy(second, commit=True)
    assert done.commit
    assert [line.at.hour for line in load(second).log] == [8, 9, 10, 11, 12, 15, 16]
    assert (
        git(second, "log", "-1", "--format=%(trailers:key=Act,valueonly)").stdout.strip() == "tidy"
    )
    assert git(first, "pull", "-q", "--no-edit", str(second), "main").returncode == 0
    assert load(first).log == load(second).log


def test_tidied_here_and_added_to_there(clones: tuple[Path, Path], git: Git) -> None:
    """Tidying while others write makes lines come twice; tidying again drops the twins."""
    first, second = clones
    for hour in (12, 9, 15):
        log(first, "RB-014", hour)
    assert git(second, "pull", "-q").returncode == 0
    assert tidy(first, commit=True).commit
    log(second, "RB-015", 10)
    assert git(second, "pull", "-q", "--no-edit").returncode == 0
    tidy(second, commit=True)
    assert [line.at.hour for line in load(second).log] == [8, 9, 10, 12, 15]
    assert faults(second) == []


def test_different_cylinders_never_conflict(clones: tuple[Path, Path], git: Git) -> None:
    first, second = clones
    held(first, "RB-014", "dent")
    held(second, "RB-015", "thread 2 worn", by="JO")
    assert git(second, "pull", "-q", "--no-edit").returncode == 0
    book = load(second)
    assert [book.cylinders[i].held[0].by for i in IDS] == ["MV", "JO"]
    assert faults(second) == []


def test_the_same_cylinder_is_left_to_people_and_not_written_meanwhile(
    clones: tuple[Path, Path], git: Git
) -> None:
    first, second = clones
    held(first, "RB-014", "dent")
    held(second, "RB-014", "thread 2 worn", by="JO")
    assert git(second, "pull", "-q", "--no-edit").returncode != 0
    before = (second / "cylinders/RB-014.yaml").read_bytes()
    assert b"<<<<<<<" in before
    book = load(second)
    assert "RB-014" in book.broken
    got = release(book, ["RB-014"], why="gauged", by="MV", on=DAY)
    assert isinstance(got, Refusal)
    act = hold(load(first), ["RB-015"], why="dent", by="MV", on=DAY)
    assert isinstance(act, Act)
    written = apply(second, act, commit=True)
    assert written.why_not_committed.startswith("a merge is under way")
    edits = (*act.edits, *hold_of("RB-014"))
    with pytest.raises(LedgerError, match="a merge conflict is not settled here"):
        apply(second, Act("hold", IDS, "Held both", edits))
    assert (second / "cylinders/RB-014.yaml").read_bytes() == before


def hold_of(id_: str) -> tuple[object, ...]:
    act = hold(books.make_book({id_: books.GOOD}), [id_], why="recall", by="MV", on=DAY)
    assert isinstance(act, Act)
    return act.edits


def test_a_log_in_conflict_is_not_tidied(clones: tuple[Path, Path], git: Git) -> None:
    """Without the line that `init` writes, git stops at the log like at any other file."""
    first, second = clones
    for root in clones:
        (root / ".gitattributes").write_text("fills/*.csv text eol=lf\n")
        git(root, "commit", "-qam", "No union")
    log(first, "RB-014", 9)
    log(second, "RB-015", 10)
    assert git(second, "pull", "-q", "--no-edit").returncode != 0
    before = (second / "fills/2026.csv").read_bytes()
    with pytest.raises(LedgerError, match="a merge conflict is not settled here"):
        tidy(second)
    assert (second / "fills/2026.csv").read_bytes() == before


def test_a_branch_of_one_day_is_rebased_as_well(clones: tuple[Path, Path], git: Git) -> None:
    first, second = clones
    log(first, "RB-014", 9)
    log(second, "RB-015", 10)
    held(second, "RB-015", "dent")
    rebased = git(second, "pull", "-q", "--rebase")
    assert rebased.returncode == 0, rebased.stderr
    assert sorted(line.at.hour for line in load(second).log) == [8, 9, 10]
    assert faults(second) == []
    verbs = git(second, "log", "-3", "--format=%(trailers:key=Act,valueonly)").stdout.split()
    assert verbs == ["hold", "reading", "reading"]


def test_a_new_years_log_begun_on_both_sides(clones: tuple[Path, Path], git: Git) -> None:
    first, second = clones
    for root, id_ in zip(clones, IDS, strict=True):
        at = f"2027-01-01T{9 if root == first else 8:02}:00:00+01:00"
        line = AddLine({"at": at, "cylinder": id_, "act": "reading", "to": "900 psi"})
        assert apply(root, Act("reading", (id_,), "Read", (line,)), commit=True).commit
    assert git(second, "pull", "-q", "--no-edit").returncode == 0
    tidy(second, commit=True)
    book = load(second)
    assert book.findings == ()
    assert [line.cylinder for line in book.log if line.at.year == 2027] == ["RB-015", "RB-014"]
