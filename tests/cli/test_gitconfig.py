"""A configuration that would make git wait is found before git is asked."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from repos import ALONE, Repo, ledger

from tankbook.ledger.absence import look
from tankbook.ledger.commit import hindrance
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.git import ignored, uncommitted
from tankbook.ledger.gitconfig import settings as settings_of
from tankbook.ledger.gitread import Repository

Run = Callable[..., Any]
pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes of POSIX systems")
ON = ("--on", "2026-11-25")


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    return ledger(tmp_path / "quay")


def add(file: Path, text: str) -> None:
    with file.open("a") as config:
        config.write(text)


SPELT = {
    "plain": "[include]\n\tpath = more\n",
    "in capitals": "[INCLUDE]\n\tPath = more\n",
    "on one line": "[include]path=more\n",
    "behind another": "[core] [include] path = more\n",
    "quoted": '[include]\n\tpath = "m"o"re" # a comment\n',
    "over two lines": "[include]\n\tpath = mo\\\nre\n",
    "with a space": '[include]\n\tpath = "more"   ; so\n',
    "with CR LF": "[include]\r\n\tpath = more\r\n",
    "without a line end": "[include]\n\tpath = more",
    "behind what looks like a comment": '[a]\n\tb = "# [core]\\\n#"\n[include]\n\tpath = more\n',
    "on a condition": '[includeIf "gitdir:/**"]\n\tpath = more\n',
    "on a condition that is not met": '[includeIf "onbranch:other"]\n\tpath = more\n',
    "on a condition with an escape": '[includeif "gitdir:\\"]"]\n\tpath = more\n',
    "by a file": "[include]\n\tpath = step\n",
    "by its whole path": "[include]\n\tpath = {folder}/more\n",
    "through a folder": "[include]\n\tpath = ../.git/refs/../more\n",
    "behind another one": "[include]\n\tpath = nothing\n\tpath = more\n",
    "files to ignore": "[core]\n\texcludesFile = .git/more\n",
    "attributes": "[core]\n\tattributesFile = .git/more\n",
}


@pytest.mark.parametrize("case", SPELT)
def test_a_pipe_that_the_configuration_names(repo: Repo, tb: Run, case: str) -> None:
    folder = repo.root / ".git"
    os.mkfifo(folder / "more")
    (folder / "step").write_text("[include]\n\tpath = more\n")
    add(folder / "config", SPELT[case].replace("{folder}", str(folder)))
    refused(repo.root, tb)


def refused(
    root: Path, tb: Run, why: str = "which is no ordinary file, so git cannot be asked"
) -> None:
    began = time.monotonic()
    assert uncommitted(root) is None
    assert ignored(root) == []
    (unseen,) = look(root).unseen
    assert why in unseen.why
    with pytest.raises(LedgerError, match="so git cannot be asked"):
        Repository.of(root)
    assert why in hindrance(root, ["tankbook.yaml"])
    ran = tb("may-fill", "14", "--ledger", root, *ON)
    assert "cannot be told" in ran.out  # never a YES as if git had been asked
    assert why in " ".join(ran.out.split())
    for command in (
        ("audit",),
        ("validate",),
        ("history", "14"),
        ("may-fill", "14", "--as-of", "HEAD"),
        (),
    ):
        ran = tb(*command, "--ledger", root, *(() if "--as-of" in command else ON))
        assert "Traceback" not in ran.err
        assert why in " ".join(f"{ran.out} {ran.err}".split()), (command, ran)
    assert time.monotonic() - began < 20


def test_in_a_linked_working_copy(repo: Repo, tb: Run, tmp_path: Path) -> None:
    other = tmp_path / "linked"
    repo.git("worktree", "add", "-q", str(other))
    assert look(other).unseen == ()
    own = repo.root / ".git/worktrees/linked"
    os.mkfifo(repo.root / ".git/more")
    for file in (repo.root / ".git/config", own / "config.worktree"):
        before = file.read_text() if file.exists() else ""
        add(file, f"[include]\n\tpath = {repo.root}/.git/more\n")
        refused(other, tb)
        file.write_text(before)
        assert look(other).unseen == ()


@pytest.mark.parametrize(
    "name", ["HEAD", "index", "commondir", "../../info/exclude", "../../refs/heads/main"]
)
def test_its_own_files_in_a_linked_working_copy(repo: Repo, tmp_path: Path, name: str) -> None:
    other = tmp_path / "linked"
    repo.git("worktree", "add", "-q", str(other))
    place = repo.root / ".git/worktrees/linked" / name
    place.unlink(missing_ok=True)
    os.mkfifo(place)
    began = time.monotonic()
    assert any("no ordinary file" in u.why for u in look(other).unseen)
    assert time.monotonic() - began < 5


@pytest.mark.parametrize("kind", ["commit", "tree", "blob"])
def test_an_object_that_is_a_pipe(repo: Repo, tb: Run, kind: str) -> None:
    name = {"commit": "HEAD", "tree": "HEAD^{tree}", "blob": "HEAD:tankbook.yaml"}[kind]
    named = repo.git("rev-parse", name).strip()
    place = repo.root / ".git/objects" / named[:2] / named[2:]
    place.unlink()
    os.mkfifo(place)
    began = time.monotonic()
    for command in (("audit",), ("may-fill", "14", "--as-of", "2026-03-01")):
        ran = tb(*command, "--ledger", repo.root)
        assert "it is no ordinary file, so git cannot be asked" in " ".join(
            f"{ran.out} {ran.err}".split()
        )
    assert time.monotonic() - began < 10


def test_by_way_of_a_link_to_the_ledger(repo: Repo, tb: Run, tmp_path: Path) -> None:
    os.mkfifo(repo.root / ".git/more")
    add(repo.root / ".git/config", "[include]\n\tpath = more\n")
    (tmp_path / "link").symlink_to(repo.root)
    refused(tmp_path / "link", tb)


def test_a_repository_further_up(tb: Run, tmp_path: Path) -> None:
    outer = Repo.begin(tmp_path)
    inner = ledger(tmp_path / "quay")
    (inner.root / ".git").rename(tmp_path / "gone")
    outer.commit("All")
    (inner.root / ".git").mkdir()  # which is no repository, so git goes on upward
    os.mkfifo(tmp_path / ".git/more")
    add(tmp_path / ".git/config", "[include]\n\tpath = more\n")
    with pytest.raises(LedgerError, match="so git cannot be asked"):
        Repository.of(inner.root)


def test_one_that_includes_itself_or_too_much(repo: Repo) -> None:
    add(repo.root / ".git/config", "[include]\n\tpath = config\n")
    assert "deep" in look(repo.root).unseen[0].why


def test_a_configuration_that_is_too_large(repo: Repo) -> None:
    add(repo.root / ".git/config", "#" * 2_000_000)
    assert "bytes" in look(repo.root).unseen[0].why


@pytest.mark.parametrize("text", ["[include\n", "x\n[", "[a]\n= 3\n", '[a "b\n', '[a]\nb = "c\n'])
def test_what_git_does_not_take_either(repo: Repo, text: str) -> None:
    add(repo.root / ".git/config", text)
    (unseen,) = look(repo.root).unseen
    assert "is not written as git's configuration is" in unseen.why
    line = subprocess.run(
        ["git", "-C", repo.root, "rev-parse", "HEAD"], capture_output=True, check=False
    )
    assert line.returncode


USUAL = """\
[include]
	path = ../.gitconfig
	path = ~/no-such-file
[includeIf "gitdir:/elsewhere/"]
	path = other
[core]
	excludesFile = /dev/null
	attributesFile = .git/info
[alias]
	x = "!f() { echo \\"a\\"; }; f"
[remote "a [include] path = more"]
	url = ../elsewhere.git
	fetch = +refs/heads/*:refs/remotes/origin/* ; [include] path = more
# [include] path = more
[user] useConfigOnly
"""


def test_what_is_usual_is_no_hindrance(repo: Repo, tb: Run) -> None:
    os.mkfifo(repo.root / ".git/more")
    repo.put(".gitconfig", "[user]\n\tname = MV\n")
    repo.commit("Ours")
    add(repo.root / ".git/config", USUAL)
    assert look(repo.root).unseen == ()
    assert tb("may-fill", "14", "--ledger", repo.root, *ON).first.startswith("YES")


KEYS = st.text("abc-", min_size=1, max_size=5).map(lambda t: "k" + t)
PIECES = st.sampled_from(
    ["[a]", "[b.c]", '[d "e f"]', "\n", " ", "\t", "k", "path", "=", " = ", '"', "\\\n", "\\\\", '\\"', "\\t",
     "#", ";", "more", "[include]", "[INCLUDE]", "\r\n", "x y", "]", "[", "-"]
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(PIECES, max_size=12).map("".join))
def test_it_is_read_as_git_reads_it(text: str) -> None:
    """Whatever git takes says the same here; what git does not take is refused here as well."""
    data = f"[z]\n{text}".encode()
    done = subprocess.run(
        ["git", "config", "--file", "-", "--null", "--list", "--no-includes"],
        input=data, capture_output=True, check=False,
    )  # fmt: skip
    if done.returncode:
        return
    told = [each.partition(b"\n") for each in done.stdout.split(b"\0") if each]
    wanted = [(os.fsdecode(key), os.fsdecode(value)) for key, _, value in told]
    assert [(s.key, s.value) for s in settings_of(data, "config")] == wanted
