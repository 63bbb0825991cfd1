"""What a commit would run because a repository names it: told, and not run until somebody allows it."""

from __future__ import annotations

import os
from pathlib import Path

import books
import pytest
from repos import Repo

from tankbook.ledger.apply import apply
from tankbook.ledger.commit import HOOKS, allow, programs_of
from tankbook.records.edits import Act, AddEntry

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the programs are scripts of a shell")

ONE = "cylinders/RB-014.yaml"
HOLD = Act(
    "hold",
    ("RB-014",),
    "Held RB-014: dent",
    (AddEntry(ONE, ("held",), {"on": "2026-11-25", "by": "MV", "why": "dent"}),),
)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repo:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "gitconfig"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    (tmp_path / "gitconfig").write_text("[user]\nname = Bench\nemail = bench@example.org\n")
    (tmp_path / "sung").mkdir()
    repo = Repo.begin(tmp_path / "quay")
    repo.put(".gitignore", ".tankbook/\n")
    repo.put("tankbook.yaml", books.SETTINGS)
    repo.put(ONE, books.GOOD)
    repo.commit("Begin")
    return repo


def program(repo: Repo, path: str) -> Path:
    """A script that leaves a file of its name behind."""
    file = repo.root / path
    file.parent.mkdir(parents=True, exist_ok=True)
    sung = repo.root.parent / "sung"
    file.write_text(f"#!/bin/sh\ntouch '{sung}/{file.name}'\nexec cat\n")
    file.chmod(0o755)
    return file


def sung(repo: Repo) -> set[str]:
    return {each.name for each in (repo.root.parent / "sung").iterdir()}


def hooks(repo: Repo) -> None:
    for name in HOOKS:
        program(repo, f".git/hooks/{name}")


def hooks_elsewhere(repo: Repo) -> None:
    for name in HOOKS:
        program(repo, f"evil/{name}")
    repo.git("-c", "core.hooksPath=/dev/null", "config", "core.hooksPath", "evil")


def hooks_by_include(repo: Repo) -> None:
    hooks_elsewhere(repo)
    repo.git("config", "--unset", "core.hooksPath")
    repo.put(".git/more", "[core]\n\thooksPath = evil\n")
    repo.git("config", "include.path", "more")


def hooks_of_my_own_folder_that_lie_here(repo: Repo) -> None:
    """A relative folder in my own configuration is one of each repository."""
    hooks_elsewhere(repo)
    repo.git("config", "--unset", "core.hooksPath")
    with (repo.root.parent / "gitconfig").open("a") as config:
        config.write("[core]\nhooksPath = evil\n")


def filters(repo: Repo) -> None:
    clean = program(repo, "clean")
    repo.put(".git/info/attributes", "*.yaml filter=a=b\n")
    repo.git("config", "--file", ".git/config", "filter.a=b.clean", str(clean))


def filters_of_another_file(repo: Repo) -> None:
    """Git reads every file again in a copied repository."""
    filters(repo)
    repo.put(".git/info/attributes", "tankbook.yaml filter=a=b\n")


def process(repo: Repo) -> None:
    filters(repo)
    repo.git("config", "--file", ".git/config", "--unset", "filter.a=b.clean")
    repo.git("config", "--file", ".git/config", "filter.a=b.process", str(repo.root / "clean"))


def signer(repo: Repo) -> None:
    repo.git("config", "commit.gpgSign", "true")
    repo.git("config", "gpg.program", str(program(repo, "signer")))


def key_command(repo: Repo) -> None:
    repo.git("config", "commit.gpgSign", "true")
    repo.git("config", "gpg.format", "ssh")
    repo.git("config", "gpg.ssh.defaultKeyCommand", str(program(repo, "keys")))


def partial_clone(repo: Repo) -> None:
    """A tree that is not here is fetched by a program that the repository names."""
    ssh = program(repo, "ssh")
    tree = repo.git("rev-parse", "HEAD:cylinders").strip()
    settings = {
        "core.repositoryFormatVersion": "1",
        "extensions.partialClone": "origin",
        "remote.origin.promisor": "true",
        "remote.origin.url": "ssh://example.invalid/quay",
        "core.sshCommand": str(ssh),
    }
    for key, value in settings.items():
        repo.git("config", key, value)
    (repo.root / f".git/objects/{tree[:2]}/{tree[2:]}").unlink()


WAYS = {
    hooks: "the pre-commit hook (",
    hooks_elsewhere: "the pre-commit hook (",
    hooks_by_include: "the pre-commit hook (",
    hooks_of_my_own_folder_that_lie_here: "the pre-commit hook (",
    filters: "the filter a=b (",
    filters_of_another_file: "the filter a=b (",
    process: "the filter a=b (",
    signer: "the program that signs (",
    key_command: "the program that signs (",
}


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_it_is_named_and_not_run_until_it_is_allowed(repo: Repo, way: object) -> None:
    assert callable(way)
    way(repo)
    for each in (repo.root.parent / "sung").iterdir():
        each.unlink()  # the making of it ran some
    head = (repo.root / ".git/refs/heads/main").read_text()
    got = apply(repo.root, HOLD, commit=True)
    assert got.commit is None
    assert got.why_not_committed.startswith(f"committing would run {WAYS[way]}")
    assert f"`git config --global --add tankbook.hooks {repo.root}`" in got.why_not_committed
    assert "dent" in repo.read(ONE)
    assert sung(repo) == set()
    assert (repo.root / ".git/refs/heads/main").read_text() == head

    allow(repo.root, programs_of(repo.root))
    second = Act("hold", ("RB-014",), "Held again", HOLD.edits)
    apply(repo.root, second, commit=True)
    assert sung(repo) != set()


def test_what_a_partial_clone_lacks_is_not_fetched_unasked(repo: Repo) -> None:
    partial_clone(repo)
    for each in (repo.root.parent / "sung").iterdir():
        each.unlink()
    got = apply(repo.root, HOLD, commit=True)
    assert got.why_not_committed.startswith("committing would run whatever fetches")
    assert sung(repo) == set()
    assert "dent" in repo.read(ONE)


def test_the_repository_cannot_allow_itself(repo: Repo) -> None:
    hooks(repo)
    repo.git("-c", "core.hooksPath=/dev/null", "config", "tankbook.hooks", "*")
    repo.put("tankbook.yaml", books.SETTINGS)
    got = apply(repo.root, HOLD, commit=True)
    assert got.commit is None
    assert not sung(repo) & {"pre-commit", "commit-msg"}


def test_a_copy_of_an_allowed_repository_is_another(repo: Repo, tmp_path: Path) -> None:
    hooks(repo)
    allow(repo.root, programs_of(repo.root))
    assert programs_of(repo.root).allowed
    copy = tmp_path / "copy"
    repo.root.rename(copy)
    assert not programs_of(copy).allowed


@pytest.mark.parametrize(
    "mine",
    [
        "[core]\nhooksPath = {folder}\n",
        '[filter "lfs"]\nclean = {folder}/clean\n',
        "[commit]\ngpgSign = true\n[gpg]\nprogram = {folder}/signer\n",
    ],
)
def test_what_a_person_set_up_for_themselves_is_theirs(
    repo: Repo, tmp_path: Path, mine: str
) -> None:
    hooks(repo) if "hooksPath" in mine else None
    repo.put(".git/info/attributes", "*.yaml filter=lfs\n")
    with (tmp_path / "gitconfig").open("a") as config:
        config.write(mine.format(folder=tmp_path / "mine"))
    assert programs_of(repo.root).named == ()


def test_samples_and_other_hooks_are_none(repo: Repo) -> None:
    repo.put(".git/hooks/pre-commit.sample", "#!/bin/sh\nexit 1\n")
    repo.put(".git/hooks/pre-commit", "#!/bin/sh\nexit 1\n")  # and not executable
    program(repo, ".git/hooks/pre-push")
    assert apply(repo.root, HOLD, commit=True).commit
