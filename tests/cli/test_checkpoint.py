"""A checkpoint of an audit: recorded, proved by the next one, and read on from."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from books import GOOD
from repos import ALONE, Repo, ledger, line

Run = Callable[..., Any]
CARD, LOG, POINT = "cylinders/RB-014.yaml", "fills/2026.csv", "audited.yaml"
NINE = "2026-03-10T09:30:00+01:00"
HELD = "held:\n  - {on: 2026-03-10, by: MV, why: dent near the foot}\n"
ON = ("--on", "2026-11-25")
OLD, LATER = "{on: 2024-03, method", "{on: 2025-03, method"


def day(month: int, number: int = 10) -> str:
    return f"2026-{month:02}-{number:02}T18:00:00+00:00"


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    repo = ledger(tmp_path / "quay")
    repo.log(line(NINE))
    repo.put(CARD, repo.read(CARD) + HELD)
    repo.commit("Held", at=day(3))
    return repo


def audit(tb: Run, repo: Repo, *options: str) -> Any:
    return tb("audit", "--ledger", repo.root, *ON, *options)


def kinds(ran: Any) -> list[str]:
    return [s["sign"] for s in ran.json["signs"]]


def point(tb: Run, repo: Repo, *options: str) -> str:
    """Make a checkpoint and commit it; the commit audited."""
    tip = repo.git("rev-parse", "HEAD").strip()
    audit(tb, repo, "--checkpoint", "--by", "MV", *options)
    repo.commit("Audited", at=day(11, 25))
    return tip


def test_it_is_recorded_in_a_file_of_the_ledger(tb: Run, repo: Repo) -> None:
    tip = repo.git("rev-parse", "HEAD").strip()
    ran = audit(tb, repo, "--checkpoint", "--by", "MV")
    assert ran.code == 0
    assert f"Audited through {tip[:10]}" in ran.out
    said = re.fullmatch(
        r"checkpoints:\n  - \{on: 2026-11-25, by: MV, through: ([0-9a-f]{40}), commits: 2, "
        r"signs: 0, digest: ([0-9a-f]{64})\}\n",
        repo.read(POINT),
    )
    assert said is not None
    assert said[1] == tip
    assert said[2] == by_hand(repo, tip, 2, 0)
    assert POINT not in tb("validate", "--ledger", repo.root, *ON).out


def by_hand(repo: Repo, tip: str, commits: int, signs: int) -> str:
    """The digest as the documentation says to make it."""
    text = f"through {tip}\ncommits {commits}\nsigns {signs}\n"
    for path in sorted((CARD, LOG, "tankbook.yaml")):
        text += f"{hashlib.sha256(repo.read(path).encode()).hexdigest()}  {path}\n"
    return hashlib.sha256(text.encode()).hexdigest()


def test_the_next_audit_reads_only_what_is_new(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    repo.log(line("2026-11-24T09:30:00+01:00"))
    repo.commit("Log", at=day(11, 25))
    ran = audit(tb, repo)
    assert ran.code == 0
    assert ran.first == (
        "CLEAN since 2026-11-25: no sign of tampering; read 2 commits, 1 entry, 1 log"
    )
    assert "on 2026-11-25 by MV: 2 commits, no sign." in " ".join(ran.out.split())
    data = audit(tb, repo, "--json").json
    assert (data["commits"], data["checkpoint"]["commits"]) == (2, 2)
    whole = audit(tb, repo, "--whole", "--json").json
    assert (whole["commits"], whole["checkpoint"], whole["clean"]) == (4, None, True)


def test_git_is_not_asked_for_what_was_audited(
    tb: Run, repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The whole history is never printed again: the count is of commits git is asked for."""
    from tankbook.ledger import gitlog

    tip = point(tb, repo)
    asked: list[tuple[str, ...]] = []
    real = gitlog.Repository.stream

    def stream(self: Any, *arguments: str) -> Any:
        asked.append(arguments)
        return real(self, *arguments)

    monkeypatch.setattr(gitlog.Repository, "stream", stream)
    audit(tb, repo)
    (only,) = [a for a in asked if "--patch" in a]
    assert f"^{tip}" in only


def test_a_second_one_is_added_and_the_first_stays(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    point(tb, repo)
    assert repo.read(POINT).count("through:") == 2
    assert "commits: 3" in repo.read(POINT)
    assert audit(tb, repo).code == 0
    assert audit(tb, repo, "--whole").code == 0


def test_signs_after_it_are_found_and_those_before_are_not_forgotten(tb: Run, repo: Repo) -> None:
    repo.change(CARD, OLD, LATER)
    repo.commit("Bad", at=day(4))
    point(tb, repo)
    ran = audit(tb, repo)
    assert ran.code == 1
    assert ran.first.startswith("NOT CLEAN: no new sign since 2026-11-25, and 1 up to 2026-11-25;")
    assert audit(tb, repo, "--json").json["clean"] is False
    repo.change(CARD, "why: dent near the foot", "why: scratch")
    repo.commit("Worse", at=day(11, 25))
    assert kinds(audit(tb, repo, "--json")) == ["entry-altered"]
    assert kinds(audit(tb, repo, "--json", "--whole")) == ["entry-altered", "entry-altered"]
    why = "removed:\n  - {on: 2026-11-25, by: MV, what: held 2026-03-10, why: it was a scratch}\n"
    repo.put(CARD, repo.read(CARD) + why)
    repo.commit("Why", at=day(11, 25))
    point(tb, repo)
    assert "signs: 2" in repo.read(POINT)


def test_a_history_written_anew_below_it_is_a_sign(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    text = repo.read(POINT)
    repo.git("reset", "-q", "--hard", "HEAD~2")
    repo.log(line(NINE))
    repo.put(CARD, repo.read(CARD) + HELD.replace("dent", "scratch"))
    repo.commit("Held", at=day(3))
    repo.put(POINT, text)
    repo.commit("Audited", at=day(11, 25))
    ran = audit(tb, repo, "--json")
    assert kinds(ran) == ["checkpoint"]
    assert "is not in this history" in ran.json["signs"][0]["why"]
    assert ran.json["checkpoint"] is None


@pytest.mark.parametrize(
    ("old", "new"),
    [("commits: 2", "commits: 9"), ("signs: 0", "signs: 1"), ("digest: ", "digest: 0")],
)
def test_a_checkpoint_altered_is_a_sign_and_all_is_read(
    tb: Run, repo: Repo, old: str, new: str
) -> None:
    point(tb, repo)
    repo.change(POINT, old, new)
    assert kinds(audit(tb, repo, "--json")) == ["entry-altered", "checkpoint"]
    repo.commit("Altered", at=day(11, 25))
    ran = audit(tb, repo, "--json")
    assert kinds(ran) == ["entry-altered", "checkpoint"]
    assert ran.json["commits"] == 4


@pytest.mark.parametrize("text", ["checkpoints: x\n", "", "<<<<<<< HEAD\n", "a: [\n"])
def test_one_that_cannot_be_read_is_a_sign(tb: Run, repo: Repo, text: str) -> None:
    point(tb, repo)
    repo.put(POINT, text)
    ran = audit(tb, repo, "--json")
    assert ran.code == 1
    assert "checkpoint" in kinds(ran)


@pytest.mark.parametrize("name", ["--all", "HEAD", "0" * 40, "../x", "a\nb"])
def test_no_name_steers_git(tb: Run, repo: Repo, name: str) -> None:
    said = f"on: 2026-11-25, through: '{name}', commits: 1, signs: 0, digest: x"
    repo.put(POINT, f"checkpoints: [{{{said}}}]\n".replace("\nb", " b"))
    repo.commit(at=day(11, 25))
    assert "checkpoint" in kinds(audit(tb, repo, "--json"))


def test_one_taken_out_is_a_sign(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    (repo.root / POINT).unlink()
    repo.commit("Tidy up", at=day(11, 25))
    assert kinds(audit(tb, repo, "--json")) == ["record-removed"]


def test_the_settings_before_it_still_count(tb: Run, repo: Repo) -> None:
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + "late_entry: 3\nsigned: yes\n")
    repo.git("checkout", "-q", "--orphan", "afresh")
    repo.commit("Begin", at=day(3))
    point(tb, repo)
    repo.log(line("2026-11-20T09:30:00+00:00"))
    repo.commit("Log", at=day(11, 25))
    found = kinds(audit(tb, repo, "--json"))
    assert "recorded-late" in found
    assert found.count("unsigned") == 2


def test_a_line_that_left_before_it_and_is_merged_after_it(tb: Run, repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "lake")
    repo.put("cylinders/RB-015.yaml", GOOD.replace("K118204", "K2"))
    repo.commit("At the lake", at=day(3))
    repo.git("checkout", "-q", "main")
    repo.change(CARD, OLD, LATER)
    repo.change(LOG, line(NINE) + "\n", "")
    repo.commit("Bad", at=day(4))
    point(tb, repo)
    repo.git("merge", "-q", "--no-ff", "-m", "merge", "lake", at=day(11, 25))
    ran = audit(tb, repo, "--json")
    assert ran.json["signs"] == []
    assert ran.json["commits"] == 3  # the checkpoint, the lake, the merge
    assert len(kinds(audit(tb, repo, "--json", "--whole"))) == 2
    repo.change("cylinders/RB-015.yaml", OLD, LATER)
    repo.commit("Bad too", at=day(11, 25))
    assert kinds(audit(tb, repo, "--json")) == ["entry-altered"]


def test_what_a_merge_after_it_drops(tb: Run, repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "lake")
    repo.log(line("2026-03-10T10:30:00+00:00"))
    repo.commit("At the lake", at=day(3))
    repo.git("checkout", "-q", "main")
    point(tb, repo)
    repo.git("merge", "-q", "--no-ff", "-s", "ours", "-m", "merge", "lake", at=day(11, 25))
    assert kinds(audit(tb, repo, "--json")) == ["lost-in-merge"]


def test_a_card_renamed_after_it(tb: Run, repo: Repo) -> None:
    repo.put("cylinders/CL-001.yaml", "formerly: [RB-014]\n" + repo.read(CARD).replace(OLD, LATER))
    repo.commit("Copy", at=day(4))
    point(tb, repo)
    (repo.root / CARD).unlink()
    repo.commit("Tidy up", at=day(11, 25))
    assert kinds(audit(tb, repo, "--json")) == ["entry-altered"]


def test_a_ledger_moved_since_is_read_whole(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    for name in ("tankbook.yaml", "cylinders", "fills", POINT):
        (repo.root / "ledger").mkdir(exist_ok=True)
        (repo.root / name).rename(repo.root / "ledger" / name)
    repo.commit("Move", at=day(11, 25))
    ran = tb("audit", "--ledger", repo.root / "ledger", "--json", *ON)
    assert (ran.code, ran.json["checkpoint"], ran.json["commits"]) == (0, None, 4)


def test_what_is_not_committed_is_told_and_not_covered(tb: Run, repo: Repo) -> None:
    repo.change(CARD, "why: dent near the foot", "why: scratch")
    ran = audit(tb, repo, "--checkpoint")
    assert ran.code == 1
    assert "signs: 0" in repo.read(POINT)


def test_it_is_committed_where_the_settings_say_so(tb: Run, repo: Repo) -> None:
    repo.git("config", "user.name", "MV")
    repo.git("config", "user.email", "mv@shop.example")
    ran = audit(tb, repo, "--checkpoint", "--commit", "--json")
    assert ran.json["recorded"]["commit"] == repo.git("rev-parse", "HEAD").strip()
    assert repo.git("status", "--porcelain") == ""


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--as-of", "HEAD"), "the past can be asked about, not written"),
        (("--on", "2199-01-01"), "is a day to come"),
        (("--late", "9999"), "by the settings, not by --late or --many"),
        (("--many", "9999"), "by the settings, not by --late or --many"),
    ],
)
def test_it_hides_nothing_by_what_is_asked_beside_it(
    tb: Run, repo: Repo, options: tuple[str, ...], said: str
) -> None:
    ran = tb("audit", "--ledger", repo.root, "--checkpoint", *options)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert not (repo.root / POINT).exists()


def test_a_shallow_clone_makes_none(tb: Run, repo: Repo, tmp_path: Path) -> None:
    repo.git("clone", "-q", "--depth", "1", repo.root.as_uri(), str(tmp_path / "shallow"))
    ran = tb("audit", "--ledger", tmp_path / "shallow", "--checkpoint", *ON)
    assert ran.code == 2
    assert "a shallow clone has not all" in ran.err


def test_there_and_back_since_is_read_whole(tb: Run, repo: Repo) -> None:
    point(tb, repo)
    names = ("tankbook.yaml", "cylinders", "fills", POINT)
    (repo.root / "ledger").mkdir()
    for before, after in (("", "ledger"), ("ledger", "")):
        for name in names:
            (repo.root / before / name).rename(repo.root / after / name)
        repo.commit("Move", at=day(11, 25))
    ran = audit(tb, repo, "--json")
    assert (ran.code, len(ran.json["moves"]), ran.json["checkpoint"]) == (0, 2, None)


def test_other_lines_without_a_ledger_are_merged_since(tb: Run, repo: Repo) -> None:
    more = "late_entry: 30\nrisk_assessed: {on: 2026-01-10, by: MV, document: binder}\n"
    repo.put("tankbook.yaml", repo.read("tankbook.yaml") + more)
    repo.git("checkout", "-q", "--orphan", "afresh")
    repo.commit("Begin", at=day(3))
    repo.git("branch", "-f", "main", "afresh")
    repo.git("checkout", "-q", "main")
    point(tb, repo)
    repo.git("checkout", "-q", "--orphan", "site")
    repo.git("rm", "-rfq", ".")
    repo.put("index.html", "x")
    repo.commit("Site", at=day(11, 25))
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--allow-unrelated-histories", "-m", "m", "site", at=day(11, 25))
    for how in ("--json", "--whole"):
        ran = audit(tb, repo, how)
        assert ran.code == 0, ran.out


def test_the_board_says_up_to_where(tb: Run, repo: Repo) -> None:
    board = tb("--ledger", repo.root, *ON)
    assert "History never audited; `tankbook audit --checkpoint` begins." in board.out
    assert tb("--ledger", repo.root, "--json", *ON).json["audited"] is None
    tip = point(tb, repo)
    said = tb("--ledger", repo.root, *ON).out
    assert f"Audited through {tip[:10]} on 2026-11-25 by MV: 2 commits, no sign." in said
    assert tb("--ledger", repo.root, "--json", *ON).json["audited"]["through"] == tip


def test_the_same_checkpoint_given_twice_is_there_once(tb: Run, repo: Repo) -> None:
    """Whoever gave it may not have been told."""
    audit(tb, repo, "--checkpoint", "--by", "MV")
    once = repo.read(POINT)
    ran = audit(tb, repo, "--checkpoint", "--by", "MV")
    assert (ran.code, repo.read(POINT)) == (0, once)
    assert "as is on record" in ran.out
    audit(tb, repo, "--checkpoint", "--by", "JO")  # another hand's is another
    assert repo.read(POINT).count("through:") == 2


@pytest.mark.parametrize("new", ["before", "since"])
def test_a_new_id_is_followed_through_a_merge_from_there(tb: Run, repo: Repo, new: str) -> None:
    """Whether the card had its new id beside the old one before, or has got it since."""
    other = "cylinders/RB-114.yaml"
    text = f"formerly: [RB-014]\n{repo.read(CARD)}"
    if new == "before":
        repo.put(other, text)
        repo.commit("Copied", at=day(4))
    point(tb, repo)
    repo.git("checkout", "-q", "-b", "bench")
    repo.change(CARD, "held:\n", "held:\n  - {on: 2026-11-25, by: MV, why: cracked}\n")
    repo.commit("Cracked", at=day(11, 25))
    repo.git("checkout", "-q", "main")
    repo.put(other, text)
    (repo.root / CARD).unlink()
    repo.commit("Called otherwise", at=day(11, 25))
    repo.git("merge", "-q", "-s", "ours", "-m", "merge", "bench", at=day(11, 25))
    assert kinds(audit(tb, repo, "--json")) == ["lost-in-merge"]
    assert kinds(audit(tb, repo, "--json", "--whole")) == ["lost-in-merge"]
