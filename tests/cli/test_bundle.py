"""`history --bundle`: all that is on record of one cylinder, in a folder that proves itself."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import subprocess
import time
from collections.abc import Callable, Iterator
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


def test_the_papers_and_the_counters_file_are_in_it(repo: Repo, tb: Run, tmp_path: Path) -> None:
    """Each by its digest; no name leads out of the ledger, to a record, or to a telephone number."""
    named = [
        "papers/lab.pdf",
        "lab.txt",
        "SHA256SUMS",
        "versions/0001.yaml",
        "papers/gone.pdf",
        "contacts.csv",
        "station.yaml",
        "../outside.txt",
        ".git/config",
    ]
    for name in ("papers/lab.pdf", "lab.txt", "SHA256SUMS", "../outside.txt"):
        path = repo.root / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"paper {name}\n")
    tests = "".join(
        f"  - {{on: 2026-01-{day:02d}, result: pass, certificate: {{name: {name}, sha256: {'0' * 64}}}}}\n"
        for day, name in enumerate(named, 1)
    )
    repo.put("station.yaml", f"regulator_set: 3000 psi\nair_tests:\n{tests}")
    repo.put("counter.yaml", "refused: [{on: 2026-03-01, by: MV, serial: K9, reasons: [old]}]\n")
    folder = tmp_path / "papers for the court"
    tb("--ledger", repo.root, "history", "RB-014", "--bundle", folder)
    files = proved(folder)
    assert files["counter.yaml"] == (repo.root / "counter.yaml").read_bytes()
    assert {n: files[n] for n in files if "papers/" in n} == {
        "papers/lab.pdf": b"paper papers/lab.pdf\n",
        "other-papers/lab.txt": b"paper lab.txt\n",
        "other-papers/SHA256SUMS": b"paper SHA256SUMS\n",
    }
    assert not any(b"Somebody" in data for data in files.values())
    assert b"Not as that commit has it" in files["ABOUT.txt"]


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


MOMENTS = {
    # when a line was written, by its own clock; whether that was by the end of the 10th, UTC
    "2026-03-10T21:00:00+00:00": True,
    "2026-03-11T11:00:00+14:00": True,
    "2026-03-10T11:00:00-10:00": True,
    "2026-03-11T21:00:00+00:00": False,
    "2026-03-11T14:01:00+14:00": False,
}


@pytest.fixture
def utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "UTC")
        time.tzset()
        yield
    time.tzset()


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize("at", MOMENTS)
@pytest.mark.parametrize("how", ["--as-of", "--on"])
def test_the_log_and_the_life_of_a_bundle_are_cut_alike(
    repo: Repo, tb: Run, tmp_path: Path, at: str, how: str
) -> None:
    repo.log(line(at, gas="nitrox32", source="RB-015"), line(at, "RB-015", gas="nitrox32"))
    repo.commit("A fill", at="2026-03-10T22:00:00+00:00")
    repo.put("station.yaml", repo.read("station.yaml") + "# later\n")
    repo.commit("Later", at="2026-03-11T12:00:00+00:00")
    words = ("--ledger", repo.root, how, "2026-03-10", "history", "RB-014")
    ran = tb(*words, "--bundle", tmp_path / "b")
    assert ran.code == 0, ran.err
    files = proved(tmp_path / "b")
    logs = [name for name in files if name.endswith("2026.csv")]
    assert [b"nitrox32" in files[name] for name in logs] == [MOMENTS[at]] * len(logs)
    assert (b"nitrox32" in files["history.json"]) is MOMENTS[at]
    about = files["ABOUT.txt"].decode()
    assert ("by the end of 2026-03-10, the day of the last fill" in about) is MOMENTS[at]
    assert b"# later" not in files.get("at-last-fill/station.yaml", b"")
    assert ("nitrox32" in tb(*words, "--fills").out) is MOMENTS[at]


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


# --- by somebody who wants it otherwise


def bundle(tb: Run, root: Path, folder: Path, *options: Any, id_: str = "RB-014") -> Any:
    ran = tb("--ledger", root, *options, "history", id_, "--bundle", folder)
    assert ran.code == 0, ran.err
    return ran


def shown(folder: Path) -> str:
    """What the two commands of its first page say of a bundle."""
    about = (folder / "ABOUT.txt").read_text()
    listing = about.partition("names any:\n")[2].partition("\n\n")[0]
    script = f"sha256sum --quiet -c SHA256SUMS || echo broken\n{listing}\n"
    done = subprocess.run(
        ["bash", "-c", script], cwd=folder, capture_output=True, text=True, check=False
    )
    return done.stdout


def changed(folder: Path) -> None:
    file = folder / "cylinders/RB-014.yaml"
    data = bytearray(file.read_bytes())
    data[20] ^= 1
    file.write_bytes(data)


def added(folder: Path) -> None:
    (folder / "cylinders/RB-999.yaml").write_text("serial: X\n")


def removed(folder: Path) -> None:
    (folder / "fills/2026.csv").unlink()


def swapped(folder: Path) -> None:
    one, other = sorted((folder / "versions").iterdir())
    one.rename(folder / "x")
    other.rename(one)
    (folder / "x").rename(other)


@pytest.mark.parametrize("act", [changed, added, removed, swapped], ids=lambda a: a.__name__)
def test_whatever_is_done_to_a_bundle_is_found(
    repo: Repo, tb: Run, tmp_path: Path, act: Callable[[Path], None]
) -> None:
    bundle(tb, repo.root, tmp_path / "b")
    assert shown(tmp_path / "b") == ""
    act(tmp_path / "b")
    said = shown(tmp_path / "b")
    assert "broken" in said or "not listed: cylinders/RB-999.yaml" in said


def test_the_rules_and_the_station_of_the_last_fill_are_in_it(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    """What was loosened after the accident does not stand for what was in force before it."""
    repo.log(line("2026-05-02T10:00:00+02:00"))
    repo.commit("Fill", at="2026-05-02T10:05:00+02:00")
    tip = repo.git("rev-parse", "HEAD").strip()
    repo.put("rules/shop.yaml", "heading: Looser\nrows: []\n")
    repo.change("tankbook.yaml", "units: psi", "units: bar")
    repo.change("station.yaml", "result: pass", "result: fail")
    repo.commit("After it", at="2026-05-05T09:30:00+02:00")
    bundle(tb, repo.root, tmp_path / "b")
    files = proved(tmp_path / "b")
    assert b"Looser" in files["rules/shop.yaml"]
    assert b"Shop rules" in files["at-last-fill/rules/shop.yaml"]
    assert b"units: psi" in files["at-last-fill/tankbook.yaml"]
    assert b"result: pass" in files["at-last-fill/station.yaml"]
    said = files["ABOUT.txt"].decode()
    assert f"by the end of 2026-05-02, the day of the last fill: commit {tip}" in said


def test_a_last_fill_before_anything_was_committed_is_said(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    bundle(tb, repo.root, tmp_path / "b")
    files = proved(tmp_path / "b")
    assert not any(name.startswith("at-last-fill/") for name in files)
    assert b"the day of the last fill, not known: nothing was committed by" in files["ABOUT.txt"]


def test_every_version_of_a_card_that_was_called_otherwise_and_moved(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    repo.log(line("2026-04-20T10:00:00+02:00"))
    repo.commit("Fill", at="2026-04-20T10:05:00+02:00")
    card = repo.read("cylinders/RB-014.yaml")
    (repo.root / "cylinders/RB-014.yaml").unlink()
    repo.put("cylinders/RB-114.yaml", "formerly: [RB-014]\n" + card)
    repo.change("sets/DB-01.yaml", "RB-014", "RB-114")
    repo.commit("A new tag", at="2026-05-01T09:30:00+02:00")
    inside = repo.root / "quay"
    inside.mkdir()
    for name in ("tankbook.yaml", "station.yaml", "cylinders", "fills", "rules", "sets"):
        (repo.root / name).rename(inside / name)
    repo.commit("Moved", at="2026-05-02T09:30:00+02:00")
    (inside / "cylinders/RB-114.yaml").write_text(
        "formerly: [RB-014]\n" + card.replace("use: staff", "use: pool")
    )
    repo.commit("For the pool", at="2026-05-03T09:30:00+02:00")
    bundle(tb, inside, tmp_path / "b", id_="RB-114")
    files = proved(tmp_path / "b")
    versions = [files[name] for name in sorted(files) if name.startswith("versions/")]
    assert [re.search(rb"use: (\w+)", each)[1] for each in versions] == [  # type: ignore[index]
        b"rental", b"staff", b"staff", b"pool",
    ]  # fmt: skip
    assert "First (cylinders/RB-014.yaml)" in files["commits.txt"].decode()
    # the lines of the log that named it as it was called then
    assert files["fills/2026.csv"].decode().count(",RB-014,") == 2
    assert "at-last-fill/tankbook.yaml" in files  # though the ledger lay elsewhere


def test_of_a_set_its_cylinders_are_in_it(repo: Repo, tb: Run, tmp_path: Path) -> None:
    bundle(tb, repo.root, tmp_path / "b", id_="DB-01")
    files = proved(tmp_path / "b")
    assert {"sets/DB-01.yaml", "cylinders/RB-014.yaml", "cylinders/RB-015.yaml"} <= files.keys()
    assert len(files["fills/2026.csv"].splitlines()) == 3


def test_what_it_was_filled_from_is_in_it_and_nobody_elses_fills(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    of_bank = line("2026-02-27T10:00:00+01:00", "ST-081", source="C1")
    others = line("2026-02-28T10:00:00+01:00", "RB-015", source="ST-081", note="for Mr Somebody")
    repo.put("cylinders/ST-081.yaml", GOOD.lstrip().replace("K118204", "K81"))
    repo.log(of_bank, others, line("2026-03-03T10:00:00+01:00", source="ST-081+B1"))
    repo.commit("Fills", at=APRIL)
    bundle(tb, repo.root, tmp_path / "b")
    files = proved(tmp_path / "b")
    assert files["sources/2026.csv"].decode().splitlines() == [HEADER.strip(), of_bank]
    assert not any(b"Somebody" in data for data in files.values())


def test_a_line_struck_out_is_in_it_with_what_struck_it_out(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    at = "2026-03-01T10:00:00+01:00"
    void = line("2026-03-02T11:00:00+01:00", act="void", by="MV", voids=at, note="wrong cylinder")
    repo.log(void)
    repo.change(
        "cylinders/RB-014.yaml",
        "sticker: issued}",
        "sticker: issued, void: {on: 2026-03-02, by: MV, why: wrong card}}",
    )
    repo.commit("Struck out", at=APRIL)
    bundle(tb, repo.root, tmp_path / "b")
    files = proved(tmp_path / "b")
    assert {line(at), void} <= set(files["fills/2026.csv"].decode().splitlines())
    assert b"why: wrong card" in files["cylinders/RB-014.yaml"]


def test_what_is_not_committed_is_said(repo: Repo, tb: Run, tmp_path: Path) -> None:
    repo.change("cylinders/RB-014.yaml", "use: staff", "use: pool")
    repo.log(line("2026-04-22T10:00:00+02:00"))
    bundle(tb, repo.root, tmp_path / "b")
    said = proved(tmp_path / "b")["ABOUT.txt"].decode()
    assert "Not as that commit has it, but as it lay in the folder: " in said
    assert "cylinders/RB-014.yaml, fills/2026.csv." in said
    repo.commit("All of it", at="2026-04-22T10:00:00+02:00")
    bundle(tb, repo.root, tmp_path / "c")
    assert b"Not as that commit" not in proved(tmp_path / "c")["ABOUT.txt"]


def test_a_shallow_clone_is_said(repo: Repo, tb: Run, tmp_path: Path) -> None:
    repo.git("clone", "-q", "--depth", "1", repo.root.as_uri(), str(tmp_path / "shallow"))
    bundle(tb, tmp_path / "shallow", tmp_path / "b")
    assert b"shallow clone" in proved(tmp_path / "b")["ABOUT.txt"]


@pytest.mark.parametrize(
    "id_", ["../x", "RB-014/../RB-015", "/etc/passwd", "", "--", "RB-014\n", "\0"]
)
def test_no_id_leads_elsewhere(repo: Repo, tb: Run, tmp_path: Path, id_: str) -> None:
    ran = tb("--ledger", repo.root, "history", "--bundle", tmp_path / "b", "--", id_)
    assert ran.code == 2
    assert "Traceback" not in ran.err
    assert not (tmp_path / "b").exists()


def test_an_id_in_other_capitals_is_the_one(repo: Repo, tb: Run, tmp_path: Path) -> None:
    bundle(tb, repo.root, tmp_path / "b", id_="rb-014")
    assert "cylinders/RB-014.yaml" in proved(tmp_path / "b")


def test_links_lead_into_no_ledger_and_nowhere(repo: Repo, tb: Run, tmp_path: Path) -> None:
    (tmp_path / "nowhere").symlink_to(tmp_path / "no" / "such")
    (tmp_path / "inside").symlink_to(repo.root / "out")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for name, why in (
        ("nowhere", "leads nowhere"),
        ("inside", "does not lie in the ledger"),
        ("loop", ""),
    ):
        ran = tb("--ledger", repo.root, "history", "RB-014", "--bundle", tmp_path / name)
        assert ran.code == 2, ran
        assert len(ran.err.splitlines()) == 1
        assert why in ran.err
    (tmp_path / "empty").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "empty")
    bundle(tb, repo.root, tmp_path / "link")
    assert proved(tmp_path / "empty")


def test_a_full_disk_leaves_nothing_behind(
    repo: Repo, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tankbook.ledger import atomic

    (tmp_path / "b").mkdir()
    before = sorted(p.name for p in tmp_path.iterdir())
    swap, count = atomic.swap, [0]

    def full(target: Path, data: bytes) -> None:
        count[0] += 1
        if count[0] > 5:
            raise OSError(errno.ENOSPC, "")
        swap(target, data)

    monkeypatch.setattr(atomic, "swap", full)
    ran = tb("--ledger", repo.root, "history", "RB-014", "--bundle", tmp_path / "b")
    assert ran.code == 2
    assert "the disk is full" in ran.err
    assert sorted(p.name for p in tmp_path.iterdir()) == before
    assert list((tmp_path / "b").iterdir()) == []
    monkeypatch.undo()
    bundle(tb, repo.root, tmp_path / "b")
    assert shown(tmp_path / "b") == ""


def test_odd_names_of_rule_files_are_listed_as_sha256sum_does(
    repo: Repo, tb: Run, tmp_path: Path
) -> None:
    for name in (b"a\nb.yaml", b"a\\b.yaml", b"\xff.yaml", b"c d.yaml"):
        (repo.root / "rules" / os.fsdecode(name)).write_text("heading: Odd\nrows: []\n")
    ran = tb("--ledger", repo.root, "history", "RB-014", "--bundle", tmp_path / "b")
    assert "Traceback" not in ran.err
    assert (tmp_path / "b" / "SHA256SUMS").exists(), ran
    done = subprocess.run(
        ["sha256sum", "-c", "SHA256SUMS"], cwd=tmp_path / "b", capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr
