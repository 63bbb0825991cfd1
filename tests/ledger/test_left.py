"""Acts whose commit was left are known again, and committed before the next one."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Callable
from pathlib import Path

import books
import pytest
from repos import Repo

from tankbook.ledger import atomic, left
from tankbook.ledger import commit as git_room
from tankbook.ledger.apply import apply
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import load
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, SetValue

ONE, TWO, LOG = "cylinders/RB-014.yaml", "cylinders/RB-015.yaml", "fills/2026.csv"


def hold(path: str, why: str = "dent") -> tuple[Edit, ...]:
    entry = {"on": "2026-11-25", "by": "MV", "why": why}
    return AddEntry(path, ("held",), entry), SetValue(path, ("status",), "held")


def line(minute: int) -> AddLine:
    at = f"2026-11-25T10:{minute:02}:00+01:00"
    return AddLine({"at": at, "cylinder": "RB-014", "act": "reading", "to": "2900 psi"})


def act(sentence: str, *edits: Edit, verb: str = "hold") -> Act:
    return Act(verb, ("RB-014",), sentence, edits)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    """A committed ledger of two cylinders, with an identity."""
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "gitconfig").write_text("[user]\nname = Bench\nemail = bench@example.org\n")
    repo = Repo.begin(tmp_path / "quay")
    repo.put(".gitignore", ".tankbook/\n")
    repo.put("tankbook.yaml", books.SETTINGS)
    repo.put(ONE, books.GOOD)
    repo.put(TWO, books.GOOD.replace("K118204", "K118205"))
    repo.commit("Begin")
    return repo


def subjects(repo: Repo) -> list[str]:
    """What the commits since the first say, the oldest first."""
    return repo.git("log", "--reverse", "--format=%s").splitlines()[1:]


def clean(repo: Repo) -> bool:
    return repo.git("status", "--porcelain") == ""


# --- what stands in the way, with its cure


def index_lock(repo: Repo) -> Callable[[], None]:
    lock = repo.root / ".git/index.lock"
    lock.write_text("")
    os.utime(lock, (1_700_000_000, 1_700_000_000))
    return lock.unlink


def no_identity(repo: Repo) -> Callable[[], None]:
    config = repo.root.parent / "gitconfig"
    kept = config.read_text()
    config.write_text("[user]\nuseConfigOnly = true\n")
    return lambda: config.write_text(kept) and None  # type: ignore[func-returns-value]


def failing_hook(repo: Repo) -> Callable[[], None]:
    with (repo.root.parent / "gitconfig").open("a") as config:
        config.write(f"[tankbook]\nhooks = {repo.root}\n")
    hook(repo, "pre-commit", "echo 'the till is open' >&2; exit 1")
    return (repo.root / ".git/hooks/pre-commit").unlink


def hook(repo: Repo, name: str, does: str) -> None:
    file = repo.root / ".git/hooks" / name
    file.parent.mkdir(exist_ok=True)
    file.write_text(f"#!/bin/sh\n{does}\n")
    file.chmod(0o755)


def detached(repo: Repo) -> Callable[[], None]:
    repo.git("checkout", "-q", "--detach")
    return lambda: repo.git("switch", "-q", "main") and None  # type: ignore[func-returns-value]


def merging(repo: Repo) -> Callable[[], None]:
    repo.git("checkout", "-q", "-b", "other")
    repo.git("commit", "-q", "--allow-empty", "-m", "Theirs")
    repo.git("checkout", "-q", "main")
    repo.git("commit", "-q", "--allow-empty", "-m", "Ours")
    repo.git("merge", "--no-commit", "--no-ff", "-q", "other")
    return lambda: repo.git("merge", "--abort") and None  # type: ignore[func-returns-value]


def rebasing(repo: Repo) -> Callable[[], None]:
    repo.git("commit", "-q", "--allow-empty", "-m", "Ours")
    repo.git("rebase", "-q", "--exec", "false", "HEAD~1", ok=False)
    return lambda: repo.git("rebase", "--abort") and None  # type: ignore[func-returns-value]


def unsigned(repo: Repo) -> Callable[[], None]:
    repo.git("config", "commit.gpgSign", "true")
    repo.git("config", "user.signingKey", "nobody")
    with (repo.root.parent / "gitconfig").open("a") as config:
        config.write("[gpg]\nprogram = false\n")
    return lambda: repo.git("config", "commit.gpgSign", "false") and None  # type: ignore[func-returns-value]


def another_owner(repo: Repo) -> Callable[[], None]:
    os.environ["GIT_TEST_ASSUME_DIFFERENT_OWNER"] = "1"  # git's own switch for this
    return lambda: os.environ.pop("GIT_TEST_ASSUME_DIFFERENT_OWNER") and None


def elsewhere(repo: Repo) -> Callable[[], None]:
    other = repo.root.parent / "other"
    other.mkdir()
    repo.git("config", "core.worktree", str(other))
    config = repo.root / ".git/config"
    return lambda: (
        config.write_text(config.read_text().replace(f"\tworktree = {other}\n", "")) and None  # type: ignore[func-returns-value]
    )


WAYS = {
    index_lock: ("git's index.lock is there for ", "if no git is at work here, delete "),
    no_identity: ("git does not know who commits; `git config user.name XX`", ""),
    failing_hook: ("the pre-commit hook refuses: the till is open", ""),
    detached: ("no branch is checked out", "`git switch main`"),
    merging: ("a merge is under way; finish it, and commit this with it", ""),
    rebasing: (
        "a rebase is under way (`git rebase --abort` would throw this act away); finish it, ",
        "",
    ),
    unsigned: ("the signature was not made; mend that, or leave it", ""),
    elsewhere: (
        "git takes another folder for the working copy",
        "`git config --unset core.worktree`",
    ),
    another_owner: ("another user owns this repository", "safe.directory"),
}


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_recording_goes_on_and_the_next_act_commits_what_was_left(
    repo: Repo, way: Callable[[Repo], Callable[[], None]]
) -> None:
    mend = way(repo)
    try:
        for minute in (1, 2):
            got = apply(repo.root, act(f"Read {minute}", line(minute), verb="reading"), commit=True)
            assert got.commit is None
            assert got.why_not_committed.startswith(WAYS[way][0])
            assert WAYS[way][1] in got.why_not_committed
            assert "\n" not in got.why_not_committed
    finally:
        mend()
    before = len(subjects(repo))
    held = apply(repo.root, act("Held RB-014: dent", *hold(ONE)), commit=True)
    assert held.commit, held.why_not_committed
    assert subjects(repo)[before:] == [
        "2 acts that were recorded and not committed",
        "Held RB-014: dent",
    ]
    body = repo.git("log", "-1", "--format=%b", "HEAD~1")
    assert body.startswith("- Read 1\n- Read 2\n")
    assert "Cylinder: RB-014" in body
    assert clean(repo)
    assert not (repo.root / left.LEFT).exists()
    assert len(load(repo.root).log) == 2


def test_one_act_left_has_its_own_words_and_files_of_its_own(repo: Repo) -> None:
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    apply(repo.root, act("Read 1", line(1), verb="reading"), commit=True)
    assert subjects(repo) == ["Held RB-014: dent", "Read 1"]
    assert repo.git("show", "--name-only", "--format=", "HEAD~1").split() == [ONE]
    assert repo.git("show", "--name-only", "--format=", "HEAD").split() == [LOG]
    assert (
        repo.git("log", "-1", "--format=%(trailers:key=Act,valueonly)", "HEAD~1").strip() == "hold"
    )


@pytest.mark.skipif(os.name == "nt", reason="needs fork")
def test_a_process_that_is_ended_between_writing_and_committing(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    child = os.fork()
    if child == 0:
        monkeypatch.setattr(git_room, "commit", lambda *_: os.kill(os.getpid(), signal.SIGKILL))
        apply(repo.root, act("Held RB-014: dent", *hold(ONE)), commit=True)
        os._exit(0)
    assert os.waitpid(child, 0)[1] == signal.SIGKILL
    assert load(repo.root).cylinders["RB-014"].held
    got = apply(repo.root, act("Held RB-014 again: boot", *hold(ONE, "boot")), commit=True)
    assert got.commit, got.why_not_committed
    assert subjects(repo) == ["Held RB-014: dent", "Held RB-014 again: boot"]
    assert clean(repo)


# --- what a hand changed is never taken for an act


def by_hand(repo: Repo, path: str) -> None:
    repo.put(path, repo.read(path) + "# by hand\n")


@pytest.mark.parametrize("order", ["before", "after", "between"])
def test_a_change_by_hand_stays_one(repo: Repo, order: str) -> None:
    if order == "before":
        by_hand(repo, ONE)
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    if order == "between":
        by_hand(repo, ONE)
        apply(repo.root, act("Held RB-014: boot", *hold(ONE, "boot")))
    if order == "after":
        by_hand(repo, ONE)
    with pytest.raises(LedgerError, match="it holds changes by hand that are not committed"):
        apply(repo.root, act("Held RB-014: paint", *hold(ONE, "paint")), commit=True)
    other = apply(repo.root, act("Held RB-015: dent", *hold(TWO)), commit=True)
    assert other.commit
    assert subjects(repo) == ["Held RB-015: dent"]  # and nothing of what a hand changed
    repo.git("commit", "-q", "-a", "-m", "By hand")
    assert apply(repo.root, act("Held RB-014: paint", *hold(ONE, "paint")), commit=True).commit


def test_what_a_person_committed_is_not_committed_again(repo: Repo) -> None:
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    apply(repo.root, act("Read 1", line(1), verb="reading"))
    repo.git("add", "-A")
    repo.git("commit", "-q", "-m", "What the day brought")
    apply(repo.root, act("Read 2", line(2), verb="reading"))
    apply(repo.root, act("Held RB-015: dent", *hold(TWO)), commit=True)
    assert subjects(repo) == ["What the day brought", "Read 2", "Held RB-015: dent"]


def test_what_a_person_only_staged_is_committed_as_the_act_it_is(repo: Repo) -> None:
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    repo.git("add", "-A")
    apply(repo.root, act("Read 1", line(1), verb="reading"), commit=True)
    assert subjects(repo) == ["Held RB-014: dent", "Read 1"]
    assert clean(repo)


def test_an_act_that_was_noted_and_then_refused_breaks_no_chain(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    before = (repo.root / ONE).read_bytes()
    left.note(repo.root, act("Held RB-014: never", *hold(ONE)), [(ONE, before, b"never written")])
    got = apply(repo.root, act("Held RB-014: boot", *hold(ONE, "boot")), commit=True)
    assert got.commit, got.why_not_committed
    assert subjects(repo) == ["Held RB-014: dent", "Held RB-014: boot"]


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"form": 1}', '{"form": 1, "files": {"../x": {}}}', "[" * 90_000]
)
def test_a_note_that_cannot_be_read_is_none(repo: Repo, text: str) -> None:
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    (repo.root / left.LEFT).write_text(text)
    assert left.chains(repo.root) == {}
    assert apply(repo.root, act("Read 1", line(1), verb="reading"), commit=True).commit
    with pytest.raises(LedgerError, match="changes by hand"):
        apply(repo.root, act("Held RB-014: boot", *hold(ONE, "boot")), commit=True)


def test_no_path_that_is_noted_leads_elsewhere(repo: Repo) -> None:
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    noted = (repo.root / left.LEFT).read_text().replace(ONE, "../outside.yaml")
    (repo.root / left.LEFT).write_text(noted)
    assert git_room.commit_left(repo.root) == ""
    assert subjects(repo) == []


def test_outside_a_repository_nothing_is_noted(repo: Repo, tmp_path: Path) -> None:
    subprocess.run(["rm", "-r", str(repo.root / ".git")], check=True)
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)), commit=True)
    assert not (repo.root / left.LEFT).exists()


def test_the_states_of_a_file_are_bounded(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(left, "FIRST_STATES", 2)
    monkeypatch.setattr(left, "LAST_STATES", 3)
    for minute in range(9):
        apply(repo.root, act(f"Read {minute}", line(minute), verb="reading"))
    assert len(left.chains(repo.root)[LOG].states) == 5
    assert apply(repo.root, act("Held RB-015: dent", *hold(TWO)), commit=True).commit
    assert repo.git("log", "-1", "--format=%b", "HEAD~1").split("\n")[:5] == [
        f"- Read {minute}" for minute in (0, 1, 6, 7, 8)
    ]
    assert clean(repo)


def test_what_is_noted_is_settled_before_the_journal_has_its_name(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever finishes the act after a power cut does not note it anew."""
    order: list[str] = []
    swap, sync = atomic.swap, atomic.sync_folder

    def swapped(target: Path, data: bytes) -> None:
        order.append(target.name)
        swap(target, data)

    def synced(folder: Path) -> None:
        order.append(f"{folder.name}/")
        sync(folder)

    monkeypatch.setattr(atomic, "swap", swapped)
    monkeypatch.setattr(atomic, "sync_folder", synced)
    apply(repo.root, act("Held RB-014: dent", *hold(ONE)))
    assert order[order.index("left") :][:4] == ["left", ".tankbook/", "journal", ".tankbook/"]


def test_an_act_that_changes_nothing_asks_nothing_of_git(repo: Repo) -> None:
    repo.put(TWO, books.GOOD.replace("K118204", "K118205") + "note: by hand\n")
    again = SetValue(ONE, ("status",), "in-service")
    done = apply(repo.root, act("In service", again), commit=True)
    assert (done.files, done.commit, done.why_not_committed) == ((), None, "")
