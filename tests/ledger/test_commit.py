"""Committing an act: its files and no others, whatever the repository and its configuration say."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import books
import pytest

from tankbook.ledger.apply import apply
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import load
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, SetValue

ONE, TWO, NEW, LOG = (
    "cylinders/RB-014.yaml",
    "cylinders/RB-015.yaml",
    "cylinders/RB-016.yaml",
    "fills/2026.csv",
)
HOLD: tuple[Edit, ...] = (
    AddEntry(ONE, ("held",), {"on": "2026-11-25", "by": "MV", "why": "dent"}),
    SetValue(ONE, ("status",), "held"),
)
BOOK_IN = NewFile(NEW, books.GOOD.replace("K118204", "K118206"))
READING = AddLine(
    {
        "at": "2026-11-25T10:00:00+01:00",
        "cylinder": "RB-014",
        "act": "reading",
        "to": "2900 psi",
    }
)


def act(*edits: Edit) -> Act:
    return Act("hold", ("RB-014", "RB-015"), "Held RB-014: bosse près du pied", edits)


Git = Callable[..., str]


@pytest.fixture(name="git")
def _git(ledger: Path) -> Git:
    def run(*arguments: str, root: Path = ledger, check: bool = True) -> str:
        done = subprocess.run(
            ["git", "-C", str(root), *arguments], capture_output=True, text=True, check=False
        )
        assert not check or done.returncode == 0, done.stderr
        return done.stdout

    return run


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A committed ledger in the folder `quay` of a repository."""
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "gitconfig").write_text(
        "[user]\nname = Bench\nemail = bench@example.org\n[init]\ndefaultBranch = main\n"
        "[tankbook]\nhooks = *\n"
    )
    root = tmp_path / "repository" / "quay"
    texts = {
        "tankbook.yaml": books.SETTINGS,
        ONE: books.GOOD,
        TWO: books.GOOD.replace("K118204", "K118205"),
    }
    for path, text in texts.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    (root / "../notes.txt").write_text("rota\n")
    top = str(root.parent)
    for line in (["init", "-q"], ["add", "."], ["commit", "-q", "-m", "Begin"]):
        subprocess.run(["git", "-C", top, *line], check=True, capture_output=True)
    return root


def committed(git: Git) -> list[str]:
    return git("show", "--name-only", "--format=", "HEAD").split()


def test_one_commit_of_exactly_the_touched_files(ledger: Path, git: Git) -> None:
    got = apply(ledger, act(*HOLD, BOOK_IN, READING), commit=True)
    assert got.commit == git("rev-parse", "HEAD").strip()
    assert committed(git) == [f"quay/{path}" for path in (ONE, NEW, LOG)]
    assert git("rev-list", "--count", "HEAD") == "2\n"
    assert git("status", "--porcelain") == ""


def test_the_message_is_a_sentence_with_trailers(ledger: Path, git: Git) -> None:
    apply(ledger, act(*HOLD), commit=True)
    assert git("log", "-1", "--format=%B").rstrip("\n") == (
        "Held RB-014: bosse près du pied\n\nCylinder: RB-014\nCylinder: RB-015\nAct: hold"
    )
    one_line = "--format=%(trailers:key=Cylinder,valueonly,separator=%x2C)"
    assert git("log", "-1", one_line) == "RB-014,RB-015\n"
    assert git("log", "-1", "--format=%(trailers:key=Act,valueonly)").strip() == "hold"


def test_what_else_is_staged_or_changed_stays_so(ledger: Path, git: Git) -> None:
    (ledger / "../notes.txt").write_text("new rota\n")
    (ledger / TWO).write_text(books.GOOD.replace("K118204", "K118299"))
    (ledger / "cylinders/RB-017.yaml").write_text(books.GOOD.replace("K118204", "K118207"))
    git("add", "../notes.txt", "cylinders/RB-017.yaml")
    before = git("status", "--porcelain")
    apply(ledger, act(*HOLD, BOOK_IN), commit=True)
    assert committed(git) == [f"quay/{path}" for path in (ONE, NEW)]
    assert git("status", "--porcelain") == before


def by_hand(ledger: Path, git: Git) -> None:
    (ledger / ONE).write_text(books.GOOD + "note: blue boot\n")


def staged(ledger: Path, git: Git) -> None:
    by_hand(ledger, git)
    git("add", ONE)


def staged_and_put_back(ledger: Path, git: Git) -> None:
    staged(ledger, git)
    (ledger / ONE).write_text(books.GOOD)


def never_committed(ledger: Path, git: Git) -> None:
    git("rm", "-q", "--cached", ONE)
    git("commit", "-q", "-m", "Forget")


def log_by_hand(ledger: Path, git: Git) -> None:
    apply(ledger, act(READING))
    with (ledger / LOG).open("a") as log:
        log.write("\n")


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (by_hand, f"{ONE}: it holds changes by hand that are not committed"),
        (staged, f"{ONE}: it holds staged changes that are not committed"),
        (staged_and_put_back, f"{ONE}: it holds staged changes that are not committed"),
        (never_committed, f"{ONE}: it holds changes by hand that are not committed"),
        (log_by_hand, f"{LOG}: it holds changes by hand that are not committed"),
    ],
)
def test_changes_of_others_in_those_files_are_refused(
    change: Callable[[Path, Git], None], text: str, ledger: Path, git: Git
) -> None:
    change(ledger, git)
    later = AddLine({**READING.cells, "at": "2026-11-25T11:00:00+01:00"})
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()}
    head, state = git("rev-parse", "HEAD"), git("status", "--porcelain")
    with pytest.raises(LedgerError) as refused:
        apply(ledger, act(*HOLD, later), commit=True)
    assert str(refused.value).startswith(text)
    assert "--no-commit" in refused.value.mend
    left = {p: p.read_bytes() for p in before if p.name != "lock"}
    assert left == {p: data for p, data in before.items() if p.name != "lock"}
    assert (git("rev-parse", "HEAD"), git("status", "--porcelain")) == (head, state)
    assert apply(ledger, act(*HOLD, later)).commit is None


def merge(git: Git) -> None:
    git("checkout", "-q", "-b", "other")
    git("commit", "-q", "--allow-empty", "-m", "Theirs")
    git("checkout", "-q", "main")
    git("commit", "-q", "--allow-empty", "-m", "Ours")
    git("merge", "--no-commit", "--no-ff", "-q", "other")


def cherry_pick(git: Git) -> None:
    git("checkout", "-q", "-b", "other")
    git("commit", "-q", "--allow-empty", "-m", "Theirs")
    git("checkout", "-q", "main")
    git("cherry-pick", "other", check=False)


def rebase(git: Git) -> None:
    git("checkout", "-q", "-b", "other")
    git("commit", "-q", "--allow-empty", "-m", "Theirs")
    git("rebase", "-q", "--exec", "false", "HEAD~1", check=False)


@pytest.mark.parametrize(
    ("begin", "why"),
    [
        (merge, "a merge is under way"),
        (cherry_pick, "a cherry-pick is under way"),
        (rebase, "a rebase is under way"),
    ],
)
def test_in_the_middle_of_a_merge_the_act_is_recorded_and_not_committed(
    begin: Callable[[Git], None], why: str, ledger: Path, git: Git
) -> None:
    begin(git)
    head = git("rev-parse", "HEAD")
    (ledger / TWO).write_text(books.GOOD.replace("K118204", "K118299"))
    got = apply(ledger, act(*HOLD), commit=True)
    assert got.commit is None
    assert got.why_not_committed.startswith(why)
    assert git("rev-parse", "HEAD") == head
    assert load(ledger).cylinders["RB-014"].held


def test_a_commit_on_top_of_a_merge_does_not_hide_what_the_merge_lost(
    ledger: Path, git: Git
) -> None:
    git("checkout", "-q", "-b", "side")
    apply(ledger, act(*HOLD), commit=True)
    git("checkout", "-q", "-")
    git("commit", "-q", "--allow-empty", "-m", "Here")
    git("merge", "-q", "-s", "ours", "-m", "Merge", "side")
    head = git("rev-parse", "HEAD")
    other = AddEntry(TWO, ("held",), {"on": "2026-11-25", "by": "MV", "why": "dent"})
    got = apply(ledger, act(other), commit=True)
    assert got.commit is None
    assert "lost held 2026-11-25 of cylinders/RB-014.yaml" in got.why_not_committed
    assert git("rev-parse", "HEAD") == head
    assert load(ledger).cylinders["RB-015"].held
    # put back, it is committed by hand with what was recorded meanwhile
    git("checkout", "-q", "side", "--", str(ledger / ONE))
    git("commit", "-q", "-a", "-m", "Put back what the merge lost")
    log = apply(ledger, act(READING), commit=True)
    assert log.commit == git("rev-parse", "HEAD").strip()


CONFIG = {
    "commit.cleanup": "scissors",
    "core.commentChar": "H",
    "commit.verbose": "true",
    "commit.status": "false",
    "commit.template": "/nowhere",
    "core.editor": "false",
    "i18n.commitEncoding": "ISO-8859-1",
    "status.showUntrackedFiles": "no",
    "status.relativePaths": "true",
    "status.short": "true",
    "status.branch": "true",
    "color.ui": "always",
    "core.quotePath": "true",
    "core.pager": "false",
    "core.fsmonitor": "/nowhere",
    "diff.renames": "copies",
    "diff.noprefix": "true",
    "log.showSignature": "true",
    "trailer.ifexists": "doNothing",
    "gc.auto": "1",
    "core.autocrlf": "input",
}


def test_no_configuration_changes_what_is_committed(ledger: Path, git: Git) -> None:
    for name, value in CONFIG.items():
        git("config", name, value)
    (ledger / "../notes.txt").write_text("new rota\n")
    got = apply(ledger, act(*HOLD, BOOK_IN, READING), commit=True)
    assert got.why_not_committed == ""
    plain = ["-c", "color.ui=false", "-c", "log.showSignature=false"]
    raw = subprocess.run(
        ["git", "-C", str(ledger), *plain, "cat-file", "commit", "HEAD"],
        capture_output=True,
        check=True,
    ).stdout
    assert b"encoding" not in raw
    assert raw.partition(b"\n\n")[2].decode() == (
        "Held RB-014: bosse près du pied\n\nCylinder: RB-014\nCylinder: RB-015\nAct: hold\n"
    )
    assert committed(git) == [f"quay/{path}" for path in (ONE, NEW, LOG)]


def test_an_untracked_file_by_hand_is_seen_whatever_git_status_hides(
    ledger: Path, git: Git
) -> None:
    git("config", "status.showUntrackedFiles", "no")
    never_committed(ledger, git)
    with pytest.raises(LedgerError, match="changes by hand"):
        apply(ledger, act(*HOLD), commit=True)


@pytest.mark.parametrize(
    "name", ["GIT_DIR", "GIT_INDEX_FILE", "GIT_WORK_TREE", "GIT_GLOB_PATHSPECS"]
)
def test_what_a_hook_leaves_in_the_environment_does_not_matter(
    name: str, ledger: Path, git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(name, str(tmp_path / "elsewhere"))
    got = apply(ledger, act(*HOLD), commit=True)
    monkeypatch.delenv(name)
    assert got.commit == git("rev-parse", "HEAD").strip()


def test_the_hooks_of_the_repository_run(ledger: Path, git: Git) -> None:
    """A hook that refuses leaves the act recorded and the index as it was."""
    hook = ledger.parent / ".git/hooks/pre-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text("#!/bin/sh\necho 'the bench is closed' >&2\nexit 1\n")
    hook.chmod(0o755)
    got = apply(ledger, act(*HOLD, BOOK_IN), commit=True)
    assert got.commit is None
    assert got.why_not_committed == "the pre-commit hook refuses: the bench is closed"
    assert load(ledger).cylinders["RB-014"].held
    assert git("status", "--porcelain") == f" M quay/{ONE}\n?? quay/{NEW}\n"
    hook.unlink()
    assert apply(ledger, act(READING), commit=True).commit
    assert git("status", "--porcelain") == ""


@pytest.mark.skipif(os.name == "nt", reason="the script below is for a shell")
def test_a_commit_is_signed_where_the_repository_asks_for_it(
    ledger: Path, git: Git, tmp_path: Path
) -> None:
    """A program of ours stands for gpg: it notes that it was asked, and fails."""
    program = tmp_path / "signer"
    program.write_text(f"#!/bin/sh\ntouch {tmp_path}/asked\nexit 1\n")
    program.chmod(0o755)
    git("config", "commit.gpgSign", "true")
    git("config", "gpg.program", str(program))
    got = apply(ledger, act(*HOLD), commit=True)
    assert (tmp_path / "asked").exists()
    assert got.commit is None
    assert got.why_not_committed == (
        "the signature was not made; mend that, or leave it: `git config commit.gpgSign false`"
    )


def test_files_that_git_ignores_are_recorded_and_not_committed(ledger: Path, git: Git) -> None:
    (ledger / ".gitignore").write_text("fills/\n")
    got = apply(ledger, act(READING), commit=True)
    assert got.commit is None
    assert "told to ignore fills" in got.why_not_committed
    assert len(load(ledger).log) == 1


def test_without_a_name_git_refuses_and_the_act_is_recorded(
    ledger: Path, git: Git, tmp_path: Path
) -> None:
    (tmp_path / "gitconfig").write_text("[user]\nuseConfigOnly = true\n")
    got = apply(ledger, act(*HOLD), commit=True)
    assert got.commit is None
    assert got.why_not_committed.startswith("git does not know who commits; `git config user.name")
    assert load(ledger).cylinders["RB-014"].held


def test_an_act_that_changes_nothing_makes_no_commit(ledger: Path, git: Git) -> None:
    got = apply(ledger, act(SetValue(ONE, ("status",), "in-service")), commit=True)
    assert (got.commit, got.why_not_committed) == (None, "")
    assert git("rev-list", "--count", "HEAD") == "1\n"


def test_where_git_is_not_installed_the_act_is_recorded(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    got = apply(ledger, act(*HOLD), commit=True)
    assert got.why_not_committed == "git is not installed, or does not answer"


@pytest.mark.skipif(os.name == "nt", reason="needs fork")
def test_two_processes_make_a_commit_an_act(ledger: Path, git: Git) -> None:
    """Each commit holds its own act and nothing of the other's."""
    children = []
    for worker in range(2):
        child = os.fork()
        if child == 0:
            status = 1
            try:
                for number in range(10):
                    at = f"2026-11-25T1{worker}:{number:02}:00+01:00"
                    got = apply(ledger, act(AddLine({**READING.cells, "at": at})), commit=True)
                    assert got.commit, got.why_not_committed
                status = 0
            finally:
                os._exit(status)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
    assert git("rev-list", "--count", "HEAD") == "21\n"
    assert git("status", "--porcelain") == ""
    for commit in git("rev-list", "-20", "HEAD").split():
        added = [n for n in git("show", "--format=", commit).splitlines() if n.startswith("+2026")]
        assert len(added) == 1


@pytest.mark.parametrize("said", ["", "none"])
def test_git_syncs_what_it_writes_of_an_act(
    ledger: Path, git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str
) -> None:
    """By itself it syncs no loose object: a power cut would leave a commit that cannot be read."""
    if said:
        git("config", "core.fsync", said)
    monkeypatch.setenv("GIT_TRACE2_EVENT", str(tmp_path / "trace"))
    assert apply(ledger, act(*HOLD), commit=True).commit
    told = map(json.loads, (tmp_path / "trace").read_text().splitlines())
    flushes = [int(e["value"]) for e in told if e.get("key") == "fsync/hardware-flush"]
    assert sum(flushes) >= 5  # the card, its two folders, the commit, the branch


def test_what_git_is_told_to_ignore_is_named_with_the_cure(ledger: Path, git: Git) -> None:
    for ignored in ("fills/\n", "*.csv\n"):
        (ledger / ".gitignore").write_text(ignored)
        got = apply(ledger, act(READING), commit=True)
        assert got.commit is None
        assert "\n" not in got.why_not_committed
        assert got.why_not_committed.startswith("git is told to ignore fills")
        assert "take that out of `.gitignore`" in got.why_not_committed
        assert "git check-ignore -v fills" in got.why_not_committed
    (ledger.parent / ".gitignore").write_text("quay/\n")
    (ledger / ".gitignore").unlink()
    got = apply(ledger, act(BOOK_IN), commit=True)
    assert "git check-ignore -v ." in got.why_not_committed


@pytest.mark.parametrize("how", ["init", "orphan"])
def test_before_the_first_commit_the_act_is_recorded_and_the_cure_is_named(
    ledger: Path, git: Git, how: str
) -> None:
    if how == "init":
        shutil.rmtree(ledger.parent / ".git")
        git("init", "-q", "-b", "main", root=ledger.parent)
    else:
        git("checkout", "-q", "--orphan", "other")
        git("rm", "-rq", "--cached", ".")
    for edits in (HOLD, (READING,)):
        got = apply(ledger, act(*edits), commit=True)
        assert got.commit is None
        assert got.why_not_committed.startswith("nothing is committed on this branch yet; begin")
    assert "why: dent" in (ledger / ONE).read_text()
    git("add", ".")
    git("commit", "-qm", "Begin the ledger")
    entry = {"on": "2026-11-25", "by": "MV", "why": "boot off"}
    assert apply(ledger, act(AddEntry(TWO, ("held",), entry)), commit=True).commit
