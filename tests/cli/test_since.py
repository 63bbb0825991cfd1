"""What was taken out and committed since the last checkpoint, as each answer tells it."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from books import GOOD
from repos import ALONE, Repo, ledger, line

Run = Callable[..., Any]
CARD, OTHER, LOG, POINT = (
    "cylinders/RB-014.yaml",
    "cylinders/RB-015.yaml",
    "fills/2026.csv",
    "audited.yaml",
)
SET, SHOP, STATION, TOOLS = "sets/DB-01.yaml", "rules/shop.yaml", "station.yaml", "tankbook.yaml"
NINE, TEN = "2026-03-01T09:30:00+01:00", "2026-03-02T09:30:00+01:00"
ON = ("--on", "2026-11-25")
RELEASED = ", released: 2026-03-12, released_by: MV, released_why: buffed out and measured"
HELD = f"held:\n  - {{on: 2026-03-10, by: MV, why: dent near the foot{RELEASED}}}\n"
REJECT = "rejected:\n  - {on: 2026-09-01, by: MV, why: gouge}\n"
ROW = (
    "  - {id: shop.a, obligation: visual, period: 24 months, met_by: [inspection], gate: refuse, "
    "basis: practice, citation: house, verified: memory}\n"
)


def day(month: int, number: int = 10) -> str:
    return f"2026-{month:02}-{number:02}T18:00:00+00:00"


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    repo = ledger(tmp_path / "quay")
    repo.put(CARD, repo.read(CARD) + HELD)
    for number in ("015", "016"):
        repo.put(f"cylinders/RB-{number}.yaml", GOOD.lstrip().replace("K118204", f"K{number}"))
    repo.put(SHOP, f"heading: Ours\nrows:\n{ROW}")
    repo.put(SET, "cylinders: [RB-015, RB-016]\nrating: 3442 psi\nisolator: open\n")
    repo.log(line(NINE), line(TEN))
    repo.commit("Begin", at=day(3, 12))
    return repo


def commit(repo: Repo, what: str = "Tidy up", at: str = day(11, 24)) -> None:
    repo.commit(what, at=at)


def point(tb: Run, repo: Repo, *options: str) -> str:
    """Make a checkpoint and commit it; the commit audited."""
    tip = repo.git("rev-parse", "HEAD").strip()
    who = () if "--by" in options else ("--by", "MV")
    ran = tb("audit", "--ledger", repo.root, *ON, "--checkpoint", *who, *options)
    assert ran.code in (0, 1), ran.err
    commit(repo, "Audited")
    return tip


def ask(tb: Run, repo: Repo, id_: str = "RB-014") -> Any:
    return tb("may-fill", id_, "--ledger", repo.root, *ON)


def told(tb: Run, repo: Repo) -> list[str]:
    """What is missed, as `validate` has it."""
    found = tb("validate", "--ledger", repo.root, *ON, "--json").json
    return [f["text"].split(" stood ")[0] for f in found if f["code"] == "vanished"]


def reject(repo: Repo) -> None:
    repo.put(CARD, repo.read(CARD) + REJECT)
    commit(repo, "Rejected")


def test_without_a_checkpoint_the_board_says_so(tb: Run, repo: Repo) -> None:
    assert "History never audited" in tb("--ledger", repo.root, *ON).out
    assert ask(tb, repo).first.startswith("YES RB-014")


def test_nothing_went(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.log(line("2026-11-23T09:30:00+01:00"))
    commit(repo)
    ran = ask(tb, repo)
    assert ran.first.startswith("YES RB-014"), ran.out
    assert "VANISHED" not in ran.out
    assert told(tb, repo) == []


def test_what_is_taken_out_and_committed_is_missed_until_somebody_says_why(
    tb: Run, repo: Repo
) -> None:
    point(tb, repo)
    reject(repo)
    assert ask(tb, repo).first.startswith("NO  RB-014")
    repo.change(CARD, REJECT, "")
    commit(repo)
    for _ in range(3):  # however much is committed on top
        ran = ask(tb, repo)
        assert ran.code == 1
        assert ran.first.startswith("NO  RB-014")
        assert f"1 RECORD VANISHED: {CARD}" in ran.first
        repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
        commit(repo, "Fills")
    (what,) = told(tb, repo)
    assert what == "rejected 2026-09-01"
    why = ("--why", "wrong card: it was RB-041", "--by", "MV", *ON)
    ran = tb("correct", "RB-014", "removed", what, *why, "--ledger", repo.root)
    assert ran.code == 0, ran.err
    commit(repo, "Why")
    assert told(tb, repo) == []
    assert ask(tb, repo).first.startswith("YES RB-014")


def test_what_is_put_back_is_no_longer_missed(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    assert told(tb, repo) == ["held 2026-03-10"]
    repo.put(CARD, repo.read(CARD) + HELD)
    commit(repo)
    assert told(tb, repo) == []
    assert ask(tb, repo).first.startswith("YES RB-014")


def drop(path: str) -> Callable[[Repo], None]:
    return lambda repo: (repo.root / path).unlink()


def swap(path: str, old: str, new: str) -> Callable[[Repo], None]:
    return lambda repo: repo.change(path, old, new)


GONE = {
    "an entry": (swap(CARD, HELD, ""), ["held 2026-03-10"]),
    "an entry altered": (swap(CARD, "dent near the foot", "scratch"), ["held 2026-03-10"]),
    "a card": (drop(OTHER), [OTHER]),
    "a row": (swap(SHOP, ROW, ""), [f"{SHOP} shop.a"]),
    "a row loosened": (swap(SHOP, "24 months", "36 months"), [f"{SHOP} shop.a"]),
    "the rules": (drop(SHOP), [SHOP]),
    "a set's cylinders": (swap(SET, "RB-015, ", "RB-014, "), [f"{SET} cylinders"]),
    "a set": (drop(SET), [SET]),
    "a line": (swap(LOG, line(NINE) + "\n", ""), [f"fill {NINE} RB-014"]),
    "the last line": (swap(LOG, line(TEN) + "\n", ""), [f"fill {TEN} RB-014"]),
    "a line edited": (swap(LOG, line(NINE), line(NINE, to="2000 psi")), [f"fill {NINE} RB-014"]),
    "the log": (drop(LOG), [LOG]),
    "a checkpoint": (swap(POINT, "by: MV", "by: KD"), ["checkpoint 2026-11-25"]),
    "every checkpoint": (drop(POINT), [POINT]),
}


@pytest.mark.parametrize("case", GONE)
def test_each_kind_of_thing_that_is_taken_out_and_committed(tb: Run, repo: Repo, case: str) -> None:
    act, wanted = GONE[case]
    point(tb, repo)
    act(repo)
    commit(repo)
    assert told(tb, repo) == wanted
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"), year="2027")
    commit(repo, "More")
    assert told(tb, repo) == wanted
    repo.git("revert", "--no-edit", "HEAD~1", at=day(11, 25))
    assert told(tb, repo) == []


def test_what_was_written_since_and_taken_out_again(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    reject(repo)
    repo.put(OTHER, repo.read(OTHER) + REJECT)
    repo.change(CARD, REJECT, "")
    commit(repo)
    assert told(tb, repo) == ["rejected 2026-09-01"]
    (repo.root / OTHER).unlink()
    commit(repo)
    assert told(tb, repo) == ["rejected 2026-09-01", OTHER]


def test_each_time_it_goes_somebody_has_to_say_why(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    why = "removed:\n  - {on: 2026-11-24, by: MV, what: held 2026-03-10, why: wrong card}\n"
    repo.change(CARD, HELD, why)
    commit(repo)
    assert told(tb, repo) == []
    repo.change(CARD, why, why + HELD)
    commit(repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    assert told(tb, repo) == ["held 2026-03-10"]


def merged(tb: Run, repo: Repo, *how: str) -> None:
    """A line that left before the checkpoint, and is merged after it."""
    repo.git("checkout", "-q", "-b", "lake")
    reject(repo)
    repo.git("checkout", "-q", "main")
    point(tb, repo)
    repo.git("merge", "-q", "--no-ff", "-m", "merge", *how, "lake", at=day(11, 24))
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
    commit(repo, "On top")


def test_what_a_merge_dropped_is_missed_after_commits_on_top(tb: Run, repo: Repo) -> None:
    merged(tb, repo, "-s", "ours")
    assert told(tb, repo) == ["rejected 2026-09-01"]


OUT = "rented:\n  - on: 2026-11-20\n    to: B-6000\n    until: 2026-11-22\n"
CAME = "    back: 2026-11-22\n    pressure: "
OPEN, SHUT = "0 psi\n    valve: open\n", "900 psi\n    valve: closed\n"
STOOD = "held:\n  - on: 2026-11-20\n    by: MV\n    why: dent\n"
ENDED = "    released: 2026-11-{day}\n    released_by: {by}\n    released_why: measured\n"


@pytest.mark.parametrize(
    ("entry", "lost", "kept", "missed"),
    [
        (OUT, CAME + OPEN, CAME + SHUT, ["rented 2026-11-20"]),
        (OUT, CAME + SHUT + "    damage: bent\n", CAME + SHUT, ["rented 2026-11-20"]),
        (OUT, CAME + "800 psi\n", CAME + "900 psi\n", []),
        (STOOD, ENDED.format(day=22, by="MV"), ENDED.format(day=22, by="TO"), ["held 2026-11-20"]),
        (STOOD, ENDED.format(day=23, by="MV"), ENDED.format(day=21, by="TO"), ["held 2026-11-20"]),
        (STOOD, ENDED.format(day=21, by="MV"), ENDED.format(day=23, by="TO"), ["held 2026-11-20"]),
    ],
)
def test_the_worse_of_two_ends_that_a_merge_did_not_take_is_missed(
    tb: Run, repo: Repo, entry: str, lost: str, kept: str, missed: list[str]
) -> None:
    """So is either end of a hold: who let it go, and why, decides what follows."""
    repo.put(CARD, repo.read(CARD).replace(HELD, "") + entry)
    commit(repo, "Out", at=day(11, 20))
    point(tb, repo)
    repo.git("checkout", "-q", "-b", "bench")
    repo.put(CARD, repo.read(CARD) + kept)
    commit(repo, "There", at=day(11, 24))
    repo.git("checkout", "-q", "main")
    repo.put(CARD, repo.read(CARD) + lost)
    commit(repo, "Here", at=day(11, 24))
    repo.git("merge", "-q", "--no-commit", "bench", at=day(11, 24), ok=False)
    repo.git("checkout", "-q", "--theirs", CARD)
    commit(repo, "Merge", at=day(11, 24))
    assert told(tb, repo) == missed
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
    commit(repo, "On top")
    assert told(tb, repo) == missed


def test_what_a_merge_brought_is_there(tb: Run, repo: Repo) -> None:
    merged(tb, repo)
    assert told(tb, repo) == []
    assert ask(tb, repo).first.startswith("NO  RB-014")


def test_what_was_taken_out_on_a_line_that_was_merged(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.git("checkout", "-q", "-b", "lake")
    repo.change(CARD, HELD, "")
    commit(repo)
    repo.git("checkout", "-q", "main")
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
    commit(repo, "Fills")
    repo.git("merge", "-q", "--no-ff", "-m", "merge", "lake", at=day(11, 25))
    repo.log(line("2026-11-24T09:30:00+01:00", "RB-015"))
    commit(repo, "On top")
    assert told(tb, repo) == ["held 2026-03-10"]


@pytest.mark.parametrize("text", ["checkpoints: []\n", None])
def test_every_checkpoint_taken_out_before(tb: Run, repo: Repo, text: str | None) -> None:
    """It would be as if there had been none: first they go, then the entry."""
    point(tb, repo)
    if text is None:
        (repo.root / POINT).unlink()
    else:
        repo.put(POINT, text)
    commit(repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    what = POINT if text is None else "checkpoint 2026-11-25"
    assert told(tb, repo) == [what, "held 2026-03-10"]
    assert ask(tb, repo).first.startswith("NO  RB-014")


def test_a_move_that_takes_the_checkpoints_out(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    inside = repo.root / "quay"
    inside.mkdir()
    for name in ("tankbook.yaml", "cylinders", "fills", "rules", "sets"):
        (repo.root / name).rename(inside / name)
    (repo.root / POINT).unlink()
    commit(repo, "Move")
    ran = tb("may-fill", "RB-014", "--ledger", inside, *ON)
    assert ran.first.startswith("NO  RB-014")
    assert f"1 RECORD VANISHED: {POINT}" in ran.first


def test_a_merge_that_takes_the_checkpoints_out(tb: Run, repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "lake")
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
    commit(repo, "Fills")
    repo.git("checkout", "-q", "main")
    point(tb, repo)
    repo.git("merge", "-q", "--no-ff", "-s", "ours", "-m", "merge", "lake", at=day(11, 24))
    repo.git("rm", "-q", POINT)
    repo.git("commit", "-q", "--amend", "--no-edit", at=day(11, 24))
    repo.log(line("2026-11-24T09:30:00+01:00", "RB-015"))
    commit(repo, "On top")
    assert told(tb, repo)[0] == POINT


def test_only_what_changed_is_read(tb: Run, repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of each commit the files that it changed, and of the checkpoint what is no longer so."""
    from tankbook.ledger import gitread
    from tankbook.ledger.absence import look
    from tankbook.ledger.gitfiles import Objects

    names: list[str] = []
    spawned: list[str] = []
    find, started = Objects.find, gitread.subprocess.run

    def found(self: Objects, name: str, *limit: int) -> Any:
        got = find(self, name, *limit)
        names.extend([name] if got is not None and got.kind == "blob" else [])
        return got

    def run(line: list[str], **how: Any) -> Any:
        spawned.append(line[-1])
        return started(line, **how)

    point(tb, repo)
    for number in (20, 21, 22):
        repo.log(line(f"2026-11-{number}T09:30:00+01:00", "RB-015"))
        commit(repo, "Fills")
    monkeypatch.setattr(Objects, "find", found)
    monkeypatch.setattr(gitread.subprocess, "run", run)
    look(repo.root)
    asked = len(spawned)
    versions = repo.git("log", "--format=%H", "--", LOG).split()[1:]
    # that of the checkpoint for its digest as well
    assert set(names) == {repo.git("rev-parse", f"{v}:{LOG}").strip() for v in versions}
    assert len(names) == len(versions) + 1
    assert asked == 1


def test_what_git_keeps_to_be_faster_hides_no_commit(tb: Run, repo: Repo) -> None:
    """A commit-graph is believed by git as it stands: one was made to pass a commit over."""
    point(tb, repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
    commit(repo, "On top")
    repo.git("commit-graph", "write", "--reachable")
    file = repo.root / ".git/objects/info/commit-graph"
    data = bytearray(file.read_bytes())
    chunks = {}
    for at in range(8, 8 + 12 * data[6], 12):
        chunks[bytes(data[at : at + 4])] = int.from_bytes(data[at + 4 : at + 12], "big")
    names = sorted(repo.git("rev-list", "HEAD").split())
    tip, over = repo.git("rev-parse", "HEAD", "HEAD~2").split()
    parent = chunks[b"CDAT"] + 36 * names.index(tip) + 20
    data[parent : parent + 4] = names.index(over).to_bytes(4, "big")
    file.chmod(0o644)
    file.write_bytes(data)
    assert len(repo.git("rev-list", "HEAD").split()) == len(names) - 1
    assert told(tb, repo) == ["held 2026-03-10"]
    found = tb("audit", "--ledger", repo.root, *ON, "--json").json
    assert found["commits"] == 3


# --- ordinary weeks


def test_cards_and_sets_that_are_called_otherwise(tb: Run, repo: Repo) -> None:
    repo.put(OTHER, repo.read(OTHER) + HELD)
    commit(repo, "Held")
    point(tb, repo)
    repo.put(SET, repo.read(SET) + "note: on the bench\n")
    repo.change(SET, "note: on the bench", "note: off it")
    commit(repo)
    for old, new in (("RB-015", "RB-115"), ("RB-115", "RB-215")):
        text = repo.read(f"cylinders/{old}.yaml").removeprefix("formerly: [RB-015]\n")
        names = "RB-015" if new == "RB-115" else "RB-015, RB-115"
        (repo.root / f"cylinders/{old}.yaml").unlink()
        repo.put(f"cylinders/{new}.yaml", f"formerly: [{names}]\n" + text)
        commit(repo, "New tags")
        repo.change(SET, old, new)
        commit(repo, "New tags in the set")
    (repo.root / SET).rename(repo.root / "sets/DB-09.yaml")
    commit(repo)
    assert told(tb, repo) == []
    repo.change("cylinders/RB-215.yaml", HELD, "")
    commit(repo)
    assert told(tb, repo) == ["held 2026-03-10"]


def test_entries_go_on(tb: Run, repo: Repo) -> None:
    reject(repo)
    point(tb, repo)
    for more in (", lifted: 2026-09-09, lifted_by: MV", ", lifted_why: blended and measured"):
        repo.change(CARD, "why: gouge", f"why: gouge{more}")
        commit(repo)
    repo.change(CARD, "why: gouge", "why: gouge, void: {on: 2026-11-24, by: MV, why: wrong card}")
    commit(repo)
    assert told(tb, repo) == []


def test_a_ledger_that_was_moved_since(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    inside = repo.root / "quay"
    inside.mkdir()
    for name in ("tankbook.yaml", "cylinders", "fills", "rules", "sets", POINT):
        (repo.root / name).rename(inside / name)
    commit(repo, "Move")
    ran = tb("may-fill", "RB-014", "--ledger", inside, *ON)
    assert f"1 RECORD VANISHED: {CARD}" in ran.first
    (inside / OTHER).unlink()
    commit(repo)
    ran = tb("may-fill", "RB-014", "--ledger", inside, *ON)
    assert "2 RECORDS VANISHED" in ran.first


def test_a_ledger_in_a_folder_with_strange_names(tb: Run, repo: Repo, tmp_path: Path) -> None:
    outer = Repo.begin(tmp_path / "all")
    inside = tmp_path / "all" / 'Ä "b" \\ c'
    inside.mkdir()
    for name in ("tankbook.yaml", "cylinders", "fills", "rules", "sets"):
        (repo.root / name).rename(inside / name)
    commit(outer, "Begin")
    ran = tb("audit", "--ledger", inside, *ON, "--checkpoint", "--by", "MV")
    assert ran.code == 0, ran.out
    commit(outer, "Audited")
    (inside / OTHER).unlink()
    commit(outer)
    assert f"1 RECORD VANISHED: {OTHER}" in tb("may-fill", "14", "--ledger", inside, *ON).first


def test_what_the_program_itself_commits_is_not_missed(tb: Run, repo: Repo) -> None:
    repo.git("config", "user.name", "MV")
    repo.git("config", "user.email", "mv@shop.example")
    point(tb, repo)
    for command in (
        ("hold", "15", "--why", "dent", "--by", "MV"),
        ("release", "15", "--why", "measured: 0.5 mm deep", "--by", "MV"),
        ("rent", "14=2900", "--to", "C-1", "--until", "2026-11-27", "--by", "MV", "--at", "14:30"),
        ("return", "14=2000", "--valve", "closed", "--by", "MV", "--at", "15:30"),
        ("correct", "15", "held", "2026-11-25", "--why", "wrong cylinder", "--by", "MV"),
    ):
        ran = tb(*command, *ON, "--commit", "--ledger", repo.root)
        assert ran.code == 0, (command, ran)
    assert repo.git("status", "--porcelain") == ""
    assert told(tb, repo) == []


# --- checkpoints that do not hold


def refused(tb: Run, repo: Repo, why: str) -> None:
    """Line one of the gate, `validate` and the board tell why a checkpoint does not hold."""
    ran = ask(tb, repo)
    assert ran.code == 1
    assert ran.first.startswith("NO  RB-014"), ran.out
    assert why in ran.first
    assert "CHECKPOINT DOES NOT HOLD: audited.yaml" in ran.first
    found = tb("validate", "--ledger", repo.root, *ON)
    assert found.code == 1
    assert f"{POINT}:" in found.out
    assert why in " ".join(found.out.split())
    board = tb("--ledger", repo.root, *ON)
    assert board.code == 1
    assert why in " ".join(board.out.split())
    assert "History never audited" not in board.out
    assert tb("--ledger", repo.root, "--json", *ON).json["audited"] is None
    assert "Traceback" not in ran.err + found.err + board.err


@pytest.mark.parametrize("committed", [False, True])
@pytest.mark.parametrize(
    ("old", "new"),
    [("commits: ", "commits: 9"), ("signs: 0", "signs: 1"), ("digest: ", "digest: 0")],
)
def test_one_that_was_changed_by_hand(
    tb: Run, repo: Repo, old: str, new: str, committed: bool
) -> None:
    tip = point(tb, repo)
    repo.change(POINT, old, new)
    if committed:
        commit(repo)
    why = f"was changed by hand: its digest is not that of commit {tip[:10]}"
    refused(tb, repo, why)
    # all of it is read, and a new one is made
    point(tb, repo, "--whole")
    ran = ask(tb, repo)
    assert "by hand" not in ran.first
    assert ran.first.startswith("YES RB-014") is committed


def test_one_that_is_moved_on_past_what_was_taken_out(tb: Run, repo: Repo) -> None:
    """By hand, in a commit after it: the digest is not that of the commit it names."""
    tip = point(tb, repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    repo.change(POINT, tip, repo.git("rev-parse", "HEAD").strip())
    commit(repo)
    refused(tb, repo, "was changed by hand")


def test_one_that_is_moved_on_in_the_same_commit_covers_nothing_of_it(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    ran = tb("audit", "--ledger", repo.root, *ON, "--checkpoint", "--by", "MV")
    assert ran.code == 0
    repo.change(CARD, HELD, "")
    commit(repo, "Audited")
    assert told(tb, repo) == ["held 2026-03-10"]


def test_one_of_a_history_that_was_written_anew(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.change(CARD, HELD, "")
    repo.git("add", "-A")
    repo.git("checkout", "-q", "--orphan", "afresh")
    commit(repo, "Afresh")
    refused(tb, repo, "is not in the history of what is checked out")


def test_one_of_a_commit_that_is_unknown_here(tb: Run, repo: Repo) -> None:
    tip = point(tb, repo)
    repo.change(POINT, tip, "0" * 40)
    refused(tb, repo, "commit 0000000000, audited on 2026-11-25, is not in this repository")


@pytest.mark.parametrize("name", ["--all", "HEAD", "../x", "main", "0" * 64, "ABCDE" * 8])
def test_one_of_what_is_no_commit(tb: Run, repo: Repo, name: str) -> None:
    tip = point(tb, repo)
    repo.change(POINT, tip, f"'{name}'")
    refused(tb, repo, "is no name of a commit")


def test_one_of_a_tree(tb: Run, repo: Repo) -> None:
    tip = point(tb, repo)
    repo.change(POINT, tip, repo.git("rev-parse", "HEAD^{tree}").strip())
    refused(tb, repo, "is no commit")


def test_one_that_lies_ahead(tb: Run, repo: Repo) -> None:
    repo.log(line("2026-11-23T09:30:00+01:00"))
    commit(repo, "Fills")
    point(tb, repo)
    text = repo.read(POINT)
    repo.git("checkout", "-q", "HEAD~2")
    repo.put(POINT, text)
    refused(tb, repo, "lies ahead of what is checked out")


@pytest.mark.parametrize(
    "text", ["checkpoints: x\n", "", "a: [\n", "checkpoints: [{on: 2026-11-25}]\n", "\0", "{" * 99]
)
def test_one_that_cannot_be_read(tb: Run, repo: Repo, text: str) -> None:
    point(tb, repo)
    repo.put(POINT, text)
    ran = ask(tb, repo)
    assert (ran.code, ran.first.startswith("NO  RB-014")) == (1, True)
    assert f"1 FILE NOT READ: {POINT}" in ran.first
    found = tb("validate", "--ledger", repo.root, *ON)
    assert found.code == 1
    assert re.search(rf"^{POINT}(:\d+:\d+)?: ", found.out, re.M), found.out
    assert "cannot be read" in " ".join(tb("--ledger", repo.root, *ON).out.split())


def test_a_conflict_in_it(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.put(POINT, f"<<<<<<< HEAD\n{repo.read(POINT)}=======\n>>>>>>> lake\n")
    ran = ask(tb, repo)
    assert ran.first.startswith("NO  RB-014")
    assert f"1 FILE NOT READ: {POINT}" in ran.first


def pipe(path: Path) -> None:
    os.mkfifo(path)


def large(path: Path) -> None:
    path.write_text("checkpoints: []\n" + "#" * 2_000_000)


def away(path: Path) -> None:
    path.symlink_to("/etc/hostname")


def nowhere(path: Path) -> None:
    path.symlink_to("nowhere")


def folder(path: Path) -> None:
    path.mkdir()


@pytest.mark.parametrize("act", [pipe, large, away, nowhere, folder], ids=lambda a: a.__name__)
def test_something_else_in_its_place(tb: Run, repo: Repo, act: Callable[[Path], None]) -> None:
    point(tb, repo)
    (repo.root / POINT).unlink()
    act(repo.root / POINT)
    for command in (("may-fill", "RB-014"), ("validate",), ("audit",), ()):
        ran = tb(*command, "--ledger", repo.root, *ON)
        assert ran.code in (1, 2), (command, ran)
        assert POINT in ran.out + ran.err
        assert "Traceback" not in ran.err
    assert ask(tb, repo).first.startswith("NO  RB-014")


def test_a_shallow_clone_says_that_it_cannot_tell(tb: Run, repo: Repo, tmp_path: Path) -> None:
    tip = point(tb, repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    repo.log(line("2026-11-23T09:30:00+01:00"))
    commit(repo)
    repo.git("clone", "-q", "--depth", "1", repo.root.as_uri(), str(tmp_path / "shallow"))
    ran = tb("may-fill", "RB-014", "--ledger", tmp_path / "shallow", *ON)
    said = " ".join(ran.out.split())
    assert ran.code == 0
    assert "CHECKPOINT NOT REACHED: audited.yaml" in ran.first
    assert f"commit {tip[:10]}, audited on 2026-11-25, lies beyond this shallow clone" in said
    board = " ".join(tb("--ledger", tmp_path / "shallow", *ON).out.split())
    assert "lies beyond this shallow clone" in board


@pytest.mark.parametrize("left_out", ["blob:none", "tree:0"])
def test_a_partial_clone_is_named_and_the_cure_that_is_named_mends_it(
    tb: Run, repo: Repo, tmp_path: Path, left_out: str
) -> None:
    point(tb, repo)
    for number in range(2):
        repo.put(CARD, repo.read(CARD) + f"# {number}\n")
        commit(repo)
    repo.git("config", "uploadpack.allowFilter", "true")
    where = tmp_path / "partial"
    repo.git("clone", "-q", f"--filter={left_out}", repo.root.as_uri(), str(where))
    for words in (("may-fill", "RB-014"), ("audit",), ("history", "RB-014"), ("validate",)):
        ran = tb(*words, "--ledger", where, *ON)
        said = " ".join((ran.out + ran.err).split())
        assert "this is a partial clone" in said, words
        assert "git fetch --refetch --no-filter" in said
        assert "fsck" not in said
        assert "hint:" not in said
    assert ask(tb, Repo(where)).first.startswith("NO")
    Repo(where).git("fetch", "-q", "--refetch", "--no-filter")
    assert ask(tb, Repo(where)).out == ask(tb, repo).out
    assert tb("audit", "--ledger", where, *ON).code == tb("audit", "--ledger", repo.root, *ON).code


@pytest.mark.parametrize("first", ["KD", "TO"])
@pytest.mark.parametrize("into", ["main", "bench"])
@pytest.mark.parametrize("before", [0, 1])
def test_two_machines_that_each_make_one_on_a_day(
    tb: Run, repo: Repo, first: str, into: str, before: int
) -> None:
    """Both stand, and neither altered the other, the ledger's first ones neither."""
    for _ in range(before):
        point(tb, repo)
    repo.git("checkout", "-q", "-b", "bench")
    for number, branch, by in ((1, "bench", "KD"), (2, "main", "TO")):
        repo.git("checkout", "-q", branch)
        repo.log(line(f"2026-11-2{number}T09:30:00+01:00", "RB-015"))
        commit(repo, "Fill")
        point(tb, repo, "--by", by)
    repo.git("checkout", "-q", into)
    other = "main" if into == "bench" else "bench"
    repo.git("merge", "-q", "--no-commit", other, at=day(11, 24), ok=False)
    text = [
        n for n in repo.read(POINT).split("\n") if n[:7] not in ("<<<<<<<", "=======", ">>>>>>>")
    ]
    mine = [n for n in text if "by: KD" in n or "by: TO" in n]
    head = [n for n in text if n and n not in mine]
    mine = sorted(set(mine), key=lambda n: f"by: {first}" not in n)
    repo.put(POINT, "\n".join([*dict.fromkeys(head), *mine]) + "\n")
    commit(repo, "Merge")
    commit(repo, "On top")
    for how in ((), ("--whole",)):
        ran = tb("audit", "--ledger", repo.root, *ON, *how)
        assert "checkpoint" not in ran.out.lower().replace("since the checkpoint", ""), ran.out
        assert "altered" not in ran.out
    assert ask(tb, repo).first.startswith("YES RB-014")
    repo.change(POINT, mine[0] + "\n", "")
    assert ask(tb, repo).first.startswith("NO  RB-014")


def no_git(repo: Repo) -> None:
    (repo.root / ".git").rename(repo.root.parent / "git")


def begun_anew(repo: Repo) -> None:
    no_git(repo)
    repo.git("init", "-q", "-b", "main")


def committed_anew(repo: Repo) -> None:
    begun_anew(repo)
    commit(repo, "Anew")


def settings_left_out(repo: Repo) -> None:
    begun_anew(repo)
    repo.git("add", CARD)
    repo.git("commit", "-q", "-m", "Some")


def config(text: str) -> Callable[[Repo], None]:
    def act(repo: Repo) -> None:
        with (repo.root / ".git/config").open("a") as file:
            file.write(text)

    return act


def pipe_included(repo: Repo) -> None:
    os.mkfifo(repo.root / "pipe")
    config(f"[include]\n\tpath = {repo.root / 'pipe'}\n")(repo)


def git_file(text: str) -> Callable[[Repo], None]:
    def act(repo: Repo) -> None:
        no_git(repo)
        repo.put(".git", text)

    return act


NOT_ASKED: dict[str, tuple[Callable[[Repo], Any], str]] = {
    "no .git": (no_git, "there is no git here"),
    "a broken configuration": (config("[bad\n"), "git cannot be asked now"),
    "a pipe in the configuration": (pipe_included, "git cannot be asked now"),
    "no HEAD": (lambda repo: (repo.root / ".git/HEAD").unlink(), "git cannot be asked now"),
    "no objects": (
        lambda repo: (repo.root / ".git/objects").rename(repo.root / "away"),
        "git cannot be asked now",
    ),
    "a .git that is an empty folder": (
        lambda repo: (no_git(repo), (repo.root / ".git").mkdir()),
        "git cannot be asked now",
    ),
    "a .git that leads nowhere": (git_file("gitdir: ../none\n"), "git cannot be asked now"),
    "a .git that is no such file": (git_file("x"), "git cannot be asked now"),
    "begun anew, nothing committed": (begun_anew, "nothing is committed in the git that is here"),
    "begun anew and committed": (committed_anew, "is not in this repository"),
    "begun anew without the settings": (settings_left_out, "has no `tankbook.yaml`"),
}


@pytest.mark.parametrize("case", NOT_ASKED)
def test_where_git_cannot_be_asked_any_more_it_is_a_no(tb: Run, repo: Repo, case: str) -> None:
    """What was taken out since the audit is known to git alone."""
    point(tb, repo)
    act, why = NOT_ASKED[case]
    assert ask(tb, repo).code == 0
    act(repo)
    ran = ask(tb, repo)
    assert (ran.code, ran.first[:10]) == (1, "NO  RB-014")
    assert "CHECKPOINT DOES NOT HOLD: audited.yaml" in ran.first
    text = " ".join(ran.out.split())
    assert why in text
    assert "Traceback" not in ran.out + ran.err
    (board,) = (tb("--ledger", repo.root, *ON),)
    assert "CHECKPOINT DOES NOT HOLD" in board.first
    found = tb("validate", "--ledger", repo.root, *ON, "--json").json
    assert [f["severity"] for f in found if f["code"] == "checkpoint"] == ["fault"]
    if why == "there is no git here":
        (repo.root / POINT).unlink()  # as it says
        assert ask(tb, repo).code == 0


def test_another_owner_is_told_with_the_way_out(
    tb: Run, repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    point(tb, repo)
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    ran = ask(tb, repo)
    if "safe.directory" not in ran.out:
        pytest.skip("this git does not play another owner")
    assert (ran.code, ran.first[:10]) == (1, "NO  RB-014")


def test_a_computer_without_git(
    tb: Run, repo: Repo, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    point(tb, repo)
    monkeypatch.setenv("PATH", str(tmp_path))
    ran = ask(tb, repo)
    assert (ran.code, ran.first[:10]) == (1, "NO  RB-014")
    assert "git" in ran.out


def test_a_ledger_that_was_never_audited_does_without_git(tb: Run, repo: Repo) -> None:
    """A folder handed out or begun without git has nothing that git alone would know."""
    no_git(repo)
    assert ask(tb, repo).first.startswith("YES RB-014")
    repo.put(POINT, "checkpoints: []\n")
    assert ask(tb, repo).first.startswith("YES RB-014")


def test_true_facts_are_recorded_meanwhile(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    no_git(repo)
    done = tb("hold", "RB-015", "--why", "dent", "--by", "MV", "--ledger", repo.root, *ON)
    assert done.code == 0, done.err
    assert "why: dent" in repo.read(OTHER)


def test_none_is_made_over_what_is_missed(tb: Run, repo: Repo) -> None:
    """Else it would be missed no longer, and nobody would have said why."""
    point(tb, repo)
    repo.change(CARD, HELD, "")
    commit(repo)
    before = repo.read(POINT)
    ran = tb("audit", "--ledger", repo.root, *ON, "--checkpoint", "--by", "MV")
    assert (ran.code, ran.out) == (2, "")
    assert "held 2026-03-10 stood in cylinders/RB-014.yaml" in ran.err
    assert "`removed`" in ran.err
    assert repo.read(POINT) == before
    why = ("--why", "wrong card", "--by", "MV", *ON)
    tb("correct", "RB-014", "removed", "held 2026-03-10", *why, "--ledger", repo.root)
    commit(repo)
    ran = tb("audit", "--ledger", repo.root, *ON, "--checkpoint", "--by", "MV")
    assert ran.code == 1  # the sign stays
    assert "Audited through" in ran.out


# --- in two commits, so that neither looks like it


SOUND = GOOD.lstrip()


def edit(old: str, new: str) -> Callable[[Repo], None]:
    return lambda repo: repo.put(CARD, repo.read(CARD).replace(old, new))


def under_another_id(repo: Repo) -> None:
    repo.put("cylinders/RB-099.yaml", repo.read(CARD).replace("K118204", "K9"))
    repo.put(CARD, SOUND)


def by_a_link(repo: Repo) -> None:
    repo.put("kept", repo.read(CARD))
    (repo.root / CARD).unlink()
    (repo.root / CARD).symlink_to("../kept")


def as_latin(repo: Repo) -> None:
    (repo.root / CARD).write_bytes(repo.read(CARD).encode() + b"note: \xff\n")


def no_longer_tracked(repo: Repo) -> None:
    repo.put(".gitignore", "cylinders/\n")
    repo.git("rm", "-q", "-r", "--cached", "cylinders")


FIRST: dict[str, Callable[[Repo], Any]] = {
    "under another key": edit("held:\n", "kept:\n"),
    "under a list before it": edit("held:\n", "held:\njobs:\n"),
    "written as a block": edit("  - {on: 2026-03-10, by: MV, why: dent near", "  - on: 2026-03-10\n    by: MV\n    why: {dent near"),
    "in a note": edit("held:\n", "note: |\n  held:\n"),
    "of a day far ahead": edit("on: 2026-03-10", "on: 2099-03-10"),
    "broken": lambda repo: repo.put(CARD, "x: [\n"),
    "emptied": lambda repo: repo.put(CARD, ""),
    "without a card": drop(CARD),
    "under another id": under_another_id,
    "by a link": by_a_link,
    "in another encoding": as_latin,
    "too large": lambda repo: repo.put(CARD, repo.read(CARD) + "#" * 2_000_000),
    "no longer tracked": no_longer_tracked,
}  # fmt: skip


@pytest.mark.parametrize("case", FIRST)
def test_what_is_first_disguised_and_then_taken_out(tb: Run, repo: Repo, case: str) -> None:
    repo.change(CARD, RELEASED, "")
    commit(repo, "Held")
    point(tb, repo)
    FIRST[case](repo)
    commit(repo, "First")
    (repo.root / CARD).unlink(missing_ok=True)
    repo.put(CARD, SOUND)
    commit(repo, "Then")
    repo.log(line("2026-11-23T09:30:00+01:00", "RB-015"))
    commit(repo, "On top")
    ran = ask(tb, repo)
    assert ran.first.startswith("NO  RB-014")
    assert "VANISHED" in ran.first
    assert "held 2026-03-10" in told(tb, repo)
