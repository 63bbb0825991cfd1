"""`history --bundle`: all that is on record of one cylinder, in a folder that proves itself."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from books import GOOD, SETTINGS, STATION
from repos import ALONE, HEADER, Repo, line

Run = Callable[..., Any]
MARCH, APRIL = "2026-03-10T09:30:00+01:00", "2026-04-10T09:30:00+02:00"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture
def repo(tmp_path: Path) -> Repo:
    repo = Repo.begin(tmp_path / "quay")
    repo.put("tankbook.yaml", SETTINGS.lstrip())
    repo.put("station.yaml", STATION.lstrip())
    repo.put("rules/shop.yaml", "heading: Shop rules\nrows: []\n")
    repo.put("cylinders/RB-014.yaml", GOOD.lstrip())
    repo.put("cylinders/RB-015.yaml", GOOD.lstrip().replace("K118204", "K2"))
    repo.put("sets/DB-01.yaml", "cylinders: [RB-014, RB-015]\nisolator: open\n")
    fills = (line("2026-03-01T10:00:00+01:00"), line("2026-03-02T10:00:00+01:00", "RB-015"))
    repo.put("fills/2026.csv", "\n".join((HEADER.strip(), *fills, "")))
    repo.put("contacts.csv", "reference,name,phone\nC-1,Somebody,123\n")
    repo.commit("First", at=MARCH)
    repo.change("cylinders/RB-014.yaml", "use: rental", "use: staff")
    repo.commit("For the staff", at=APRIL)
    return repo


def proved(folder: Path) -> dict[str, bytes]:
    """The files of a bundle, each held against its digest."""
    sums = dict(
        reversed(each.split("  ")) for each in (folder / "SHA256SUMS").read_text().splitlines()
    )
    files = {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }
    del files["SHA256SUMS"]
    assert {name: hashlib.sha256(data).hexdigest() for name, data in files.items()} == sums
    return files


def test_a_bundle_holds_what_is_on_record_and_proves_itself(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    folder = tmp_path / "for the court"
    ran = tb("--ledger", repo.root, "history", "RB-014", "--bundle", folder)
    assert ran.code == 0, ran.err
    files = proved(folder)
    digest = hashlib.sha256((folder / "SHA256SUMS").read_bytes()).hexdigest()
    assert digest in ran.out
    for path in (
        "cylinders/RB-014.yaml",
        "sets/DB-01.yaml",
        "station.yaml",
        "tankbook.yaml",
        "rules/shop.yaml",
    ):
        assert files[path] == (repo.root / path).read_bytes(), path
    # its own lines of the log, byte by byte, and nobody else's card, line, name or number
    lines = files["fills/2026.csv"].decode().splitlines()
    assert lines == [HEADER.strip(), line("2026-03-01T10:00:00+01:00").strip()]
    assert "cylinders/RB-015.yaml" not in files
    assert not any(b"Somebody" in data for data in files.values())
    # each version of the card, and who made it
    versions = [files[name] for name in sorted(files) if name.startswith("versions/")]
    assert [b"use: staff" in each for each in versions] == [False, True]
    assert [each.split(": ")[-1] for each in files["commits.txt"].decode().splitlines()] == [
        "First",
        "For the staff",
    ]
    # the shipped rules that are in force, and the life with every fill
    assert {
        "shipped/rules/us-dot.yaml",
        "shipped/rules/bench.yaml",
        "shipped/findings.yaml",
    } <= files.keys()
    assert b"2026-03-01" in files["history.txt"]
    assert repo.git("rev-parse", "HEAD").strip() in files["ABOUT.txt"].decode()


def test_a_bundle_of_a_past_day_has_the_rules_of_then(repo: Repo, tb: Run, tmp_path: Path) -> None:
    repo.put("rules/shop.yaml", "heading: Rules of May\nrows: []\n")
    repo.commit("May", at="2026-05-10T09:30:00+02:00")
    ran = tb(
        "--ledger",
        repo.root,
        "--as-of",
        "2026-03-20",
        "history",
        "RB-014",
        "--bundle",
        tmp_path / "b",
    )
    assert ran.code == 0, ran.err
    files = proved(tmp_path / "b")
    assert b"Shop rules" in files["rules/shop.yaml"]
    assert b"use: rental" in files["cylinders/RB-014.yaml"]
    assert len([name for name in files if name.startswith("versions/")]) == 1


def test_a_bundle_goes_into_a_new_folder_outside_of_the_ledger(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    taken = tmp_path / "taken"
    taken.mkdir()
    (taken / "letter").write_text("kept")
    for folder, why in (
        (taken, "there is something in this folder"),
        (repo.root / "out", "does not lie in the ledger"),
        (repo.root, "does not lie in the ledger"),
        (taken / "letter", "this is no folder"),
        (tmp_path / "no" / "such", "there is no such"),
    ):
        ran = tb("--ledger", repo.root, "history", "RB-014", "--bundle", folder)
        assert ran.code == 2, (folder, ran)
        assert len(ran.err.splitlines()) == 1
        assert why in ran.err
    assert [p.name for p in taken.iterdir()] == ["letter"]
    assert not (repo.root / "out").exists()


def test_without_git_a_bundle_says_so(repo: Repo, tb: Run, tmp_path: Path) -> None:
    (repo.root / ".git").rename(tmp_path / "git")
    ran = tb("--ledger", repo.root, "history", "RB-014", "--bundle", tmp_path / "b")
    assert ran.code == 0, ran.err
    files = proved(tmp_path / "b")
    assert "commits.txt" not in files
    assert b"no commit: the ledger is not in a git repository" in files["ABOUT.txt"]
