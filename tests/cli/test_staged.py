"""`validate --staged` judges what the next commit would hold, also as a hook of git, of
`pre-commit`, and under a commit of tankbook's own."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from repos import ALONE, Repo

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]
CARD = "cylinders/RB-014.yaml"
BAD = "serial: [\n"
ME = f"{shlex.quote(sys.executable)} -m tankbook"

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the hooks are scripts of a shell")


@pytest.fixture(name="repo")
def _repo(ledger: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Repo:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    own = tmp_path / "own.gitconfig"
    own.write_text("[user]\n\tname = Test\n\temail = test@example.org\n")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(own))
    repo = Repo.begin(ledger)
    repo.commit()
    return repo


def codes(tb: Run, root: Path, *more: str) -> set[str]:
    ran = tb("validate", "--staged", "--json", "--ledger", root, *more)
    return {f["code"] for f in ran.json if f["severity"] == "fault"}


def test_what_is_staged_counts_and_not_what_lies_in_the_folder(repo: Repo, tb: Run) -> None:
    card = repo.root / CARD
    good = card.read_text()
    before = codes(tb, repo.root)
    card.write_text(BAD)
    assert codes(tb, repo.root) == before  # bad in the folder, not staged
    repo.git("add", CARD)
    card.write_text(good)
    assert "yaml-syntax" in codes(tb, repo.root)  # good in the folder, bad as staged
    assert tb("validate", "--staged", "--ledger", repo.root).code == 1
    repo.git("add", CARD)
    assert codes(tb, repo.root) == before


def test_the_records_are_judged_against_each_other(repo: Repo, tb: Run) -> None:
    """A card that nobody touched is at fault by one that is staged: no list of files would do."""
    (repo.root / "cylinders/RB-099.yaml").write_text((repo.root / CARD).read_text())
    assert "serial-twin" not in codes(tb, repo.root)
    repo.git("add", "cylinders/RB-099.yaml")
    assert "serial-twin" in codes(tb, repo.root)


def test_what_is_staged_to_be_taken_out_is_missed(repo: Repo, tb: Run) -> None:
    held = repo.root / "cylinders/RB-016.yaml"
    text = held.read_text()
    assert "held:" in text
    assert "vanished" not in codes(tb, repo.root)
    repo.git("rm", "--cached", "-q", "cylinders/RB-016.yaml")
    assert held.read_text() == text
    assert "vanished" in codes(tb, repo.root)


@pytest.mark.parametrize("other", ["--newly", "--as-of=HEAD"])
def test_it_asks_one_thing(other: str, repo: Repo, tb: Run) -> None:
    ran = tb("validate", "--staged", other, "--ledger", repo.root)
    assert (ran.code, ran.out) == (2, "")


def test_without_git_it_is_told(ledger: Path, tb: Run) -> None:
    ran = tb("validate", "--staged", "--ledger", ledger)
    assert ran.code == 2
    assert len(ran.err.splitlines()) == 1


def test_a_merge_that_is_not_settled_is_told(repo: Repo, tb: Run) -> None:
    repo.git("checkout", "-q", "-b", "other")
    repo.change(CARD, "serial:", "note: there\nserial:")
    repo.commit()
    repo.git("checkout", "-q", "-")
    repo.change(CARD, "serial:", "note: here\nserial:")
    repo.commit()
    subprocess.run(
        ["git", "-C", repo.root, "merge", "-q", "other"], capture_output=True, check=False
    )
    ran = tb("validate", "--staged", "--ledger", repo.root)
    assert ran.code == 2
    assert "a merge of it is not settled" in ran.err


@pytest.mark.parametrize("strange", ["link", "module"])
def test_what_is_no_file_is_told_and_not_followed(strange: str, repo: Repo, tb: Run) -> None:
    target = (
        repo.git("rev-parse", "HEAD").strip()
        if strange == "module"
        else repo.git("rev-parse", f"HEAD:{CARD}").strip()
    )
    mode = "160000" if strange == "module" else "120000"
    repo.git("update-index", "--add", "--cacheinfo", f"{mode},{target},cylinders/RB-098.yaml")
    assert "unreadable" in codes(tb, repo.root)


# --- hooks -----------------------------------------------------------------------------------------


def hook(repo: Repo, line: str) -> None:
    file = repo.root / ".git/hooks/pre-commit"
    file.parent.mkdir(exist_ok=True)
    file.write_text(f"#!/bin/sh\nexec {line}\n")
    file.chmod(0o755)
    own = Path(os.environ["GIT_CONFIG_GLOBAL"])
    assert own.is_relative_to(repo.root.parent)  # never the machine's own
    own.write_text(f"{own.read_text()}[tankbook]\n\thooks = {repo.root}\n")


def git(repo: Repo, *words: str, cwd: str = ".") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["git", *words],
        cwd=repo.root / cwd,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


@pytest.fixture(name="sound")
def _sound(repo: Repo, tb: Run) -> Repo:
    """A ledger of one sound card, so that a commit is refused for what is staged alone."""
    for path in sorted(repo.root.rglob("*.yaml")):
        if path.name != "tankbook.yaml":
            path.unlink()
    for path in repo.root.rglob("*.csv"):
        path.unlink()
    (repo.root / "cylinders").mkdir(exist_ok=True)
    (repo.root / CARD).write_text(books.GOOD)
    subprocess.run(["rm", "-rf", repo.root / ".git"], check=True)
    again = Repo.begin(repo.root)
    again.commit()
    assert codes(tb, again.root) == set()
    hook(again, f"{ME} validate --staged --on 2026-11-25")
    return again


@pytest.mark.parametrize(
    "words", [("-a",), ("--", CARD), ("--only", CARD), ("--include", CARD)], ids=" ".join
)
def test_a_commit_of_a_bad_card_is_refused_however_it_is_made(
    words: tuple[str, ...], sound: Repo
) -> None:
    """Git makes an index of its own for each of these and tells the hook alone."""
    (sound.root / CARD).write_text(BAD)
    done = git(sound, "commit", "-q", "-m", "x", *words)
    assert done.returncode != 0
    assert "yaml" in (done.stdout + done.stderr).casefold()
    (sound.root / CARD).write_text(books.GOOD + "note: looked at\n")
    done = git(sound, "commit", "-q", "-m", "x", *words)
    assert done.returncode == 0, done.stderr


def test_a_commit_out_of_a_folder_below_is_judged(sound: Repo) -> None:
    (sound.root / CARD).write_text(BAD)
    assert git(sound, "commit", "-qam", "x", cwd="cylinders").returncode != 0


@pytest.mark.parametrize("asked", ["--staged", ""])
def test_a_commit_of_our_own_is_judged_without_waiting_for_itself(asked: str, sound: Repo) -> None:
    """Whoever commits holds the ledger's lock while the hook asks."""
    hook(sound, f"{ME} validate {asked} --on 2026-11-25")
    line = [
        sys.executable,
        "-m",
        "tankbook",
        "hold",
        "RB-014",
        "--why",
        "dent",
        "--by",
        "MV",
        "--on",
        "2026-11-25",
        "--commit",
    ]
    done = subprocess.run(
        line, cwd=sound.root, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert "held" in git(sound, "show", f"HEAD:{CARD}").stdout


def test_pre_commit_itself_runs_it(
    sound: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pre_commit")
    monkeypatch.setenv("PRE_COMMIT_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(ROOT), *filter(None, sys.path)]))
    ours = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    local = ours.replace("entry: tankbook", f"entry: {ME}").replace(
        "--staged", "--staged --on 2026-11-25"
    )
    local = local.replace("language: python", "language: system")
    indented = "".join(f"      {line}\n" for line in local.splitlines())
    config = f"repos:\n  - repo: local\n    hooks:\n{indented}"
    (sound.root / ".pre-commit-config.yaml").write_text(config)
    run = [sys.executable, "-m", "pre_commit"]
    (sound.root / ".git/hooks/pre-commit").unlink()
    subprocess.run([*run, "install"], cwd=sound.root, check=True, capture_output=True)
    git(sound, "add", ".pre-commit-config.yaml")
    assert git(sound, "commit", "-q", "-m", "hooks").returncode == 0
    (sound.root / CARD).write_text(BAD)
    git(sound, "add", CARD)
    (sound.root / CARD).write_text(books.GOOD)  # mended in the folder, and not staged
    done = git(sound, "commit", "-q", "-m", "bad")
    assert done.returncode != 0
    assert f"{CARD}:" in done.stdout + done.stderr
    assert (sound.root / CARD).read_text() == books.GOOD
    git(sound, "add", CARD)
    (sound.root / CARD).write_text(BAD)  # spoilt in the folder, good as staged
    (sound.root / "other.txt").write_text("x")
    git(sound, "add", "other.txt")
    assert git(sound, "commit", "-q", "-m", "good").returncode == 0


def test_the_definition_is_one_that_pre_commit_reads() -> None:
    pytest.importorskip("pre_commit")
    line = [
        sys.executable,
        "-m",
        "pre_commit",
        "validate-manifest",
        str(ROOT / ".pre-commit-hooks.yaml"),
    ]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    done = subprocess.run(line, capture_output=True, text=True, check=False, env=environment)
    assert done.returncode == 0, done.stdout


# --- what an index may look like -------------------------------------------------------------------

NEW = "cylinders/RB-099.yaml"


def intended(repo: Repo) -> None:
    (repo.root / NEW).write_text(BAD)
    repo.git("add", "-N", NEW)


def moved(repo: Repo) -> None:
    repo.git("mv", CARD, NEW)
    repo.git("mv", NEW, CARD)


def partly(repo: Repo) -> None:
    (repo.root / CARD).write_text(books.GOOD + "note: looked at\n")
    repo.git("add", CARD)
    (repo.root / CARD).write_text(books.GOOD + "note: looked at\nserial: again\n")


def merging(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "other")
    (repo.root / NEW).write_text(books.GOOD.replace("K118204", "K118299"))
    repo.commit()
    repo.git("checkout", "-q", "-")
    repo.git("merge", "-q", "--no-ff", "--no-commit", "other")
    assert (repo.root / ".git/MERGE_HEAD").exists()


def hidden(repo: Repo) -> None:
    repo.git("update-index", "--skip-worktree", CARD)
    (repo.root / CARD).write_text(BAD)


def split(repo: Repo) -> None:
    repo.git("update-index", "--split-index")


def hostile(repo: Repo) -> None:
    for name, value in {
        "core.quotePath": "true", "diff.noprefix": "true", "diff.external": "false", "core.pager": "false",
        "color.ui": "always", "core.fsmonitor": "false", "core.precomposeUnicode": "true", "core.ignoreCase": "true",
        "status.short": "true", "diff.mnemonicPrefix": "true", "diff.renames": "copies", "grep.column": "true",
    }.items():  # fmt: skip
        repo.git("config", name, value)
    (repo.root / "cylinders/RB-9é.txt").write_text("x")
    repo.git("add", "-A")
    repo.git("rm", "-q", "--cached", "cylinders/RB-9é.txt")
    (repo.root / "cylinders/RB-9é.txt").unlink()


@pytest.mark.parametrize(
    "change", [intended, moved, partly, merging, hidden, split, hostile], ids=lambda f: f.__name__
)
def test_an_index_of_any_making_is_read_as_it_would_be_committed(
    change: Callable[[Repo], None], sound: Repo, tb: Run
) -> None:
    change(sound)
    assert codes(tb, sound.root) == set()
    if change not in (intended, partly, merging):
        return  # of these git's own index is the one that was asked
    done = git(sound, "commit", "-q", "--allow-empty", "-m", "x")
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_linked_working_copy_has_its_own_index(sound: Repo, tmp_path: Path) -> None:
    other = tmp_path / "desk"
    sound.git("worktree", "add", "-q", str(other))
    (other / CARD).write_text(BAD)
    linked = Repo(other)
    assert git(linked, "commit", "-qam", "bad").returncode != 0
    (other / CARD).write_text(books.GOOD + "note: looked at\n")
    done = git(linked, "commit", "-qam", "good")
    assert done.returncode == 0, done.stderr
    (sound.root / CARD).write_text(BAD)
    assert git(sound, "commit", "-qam", "bad").returncode != 0


@pytest.mark.parametrize(
    "name",
    ["GIT_DIR", "GIT_WORK_TREE", "GIT_OBJECT_DIRECTORY", "GIT_NAMESPACE", "GIT_CEILING_DIRECTORIES", "GIT_LITERAL_PATHSPECS",
     "GIT_GLOB_PATHSPECS", "GIT_PREFIX", "GIT_TRACE", "GIT_OPTIONAL_LOCKS", "GIT_EXTERNAL_DIFF", "GIT_CONFIG_COUNT"],
)  # fmt: skip
def test_no_variable_has_another_repository_judged(
    name: str, sound: Repo, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (sound.root / CARD).write_text(BAD)
    sound.git("add", CARD)
    empty = tmp_path / "empty"
    Repo.begin(empty)
    value = {
        "GIT_DIR": str(empty / ".git"),
        "GIT_WORK_TREE": str(empty),
        "GIT_OBJECT_DIRECTORY": str(empty / ".git/objects"),
    }
    monkeypatch.setenv(name, value.get(name, "1" if name != "GIT_CONFIG_COUNT" else "0"))
    assert "yaml-syntax" in codes(tb, sound.root)


def test_a_ledger_within_another_repository_is_judged_by_its_own_index(
    sound: Repo, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hook of the repository around it, whose index git names to it, may ask of a submodule."""
    around = Repo.begin(tmp_path / "around")
    (around.root / "a.txt").write_text("x")
    around.commit()
    monkeypatch.setenv("GIT_INDEX_FILE", str(around.root / ".git/index"))
    assert codes(tb, sound.root) == set()
    (sound.root / CARD).write_text(BAD)
    subprocess.run(
        ["git", "-C", sound.root, "add", CARD],
        check=True,
        env={k: v for k, v in os.environ.items() if k != "GIT_INDEX_FILE"},
    )
    assert "yaml-syntax" in codes(tb, sound.root)


def test_an_index_of_ones_own_making_is_the_one_that_is_asked(
    sound: Repo, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_INDEX_FILE", str(tmp_path / "own-index"))
    subprocess.run(["git", "-C", sound.root, "read-tree", "HEAD"], check=True)
    (sound.root / CARD).write_text(BAD)
    subprocess.run(["git", "-C", sound.root, "add", CARD], check=True)
    assert "yaml-syntax" in codes(tb, sound.root)
