"""Where acts are kept in mind: in git's own folder, whatever that is, and nowhere else."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from repos import Repo, ledger

from tankbook.ledger.absence import look
from tankbook.ledger.memory import MOST, Memory, _write, damaged_in

KEPT = ".git/tankbook/recorded"


def keep(root: Path, *paths: str) -> None:
    """Keep entries beside those that are kept."""
    memory = Memory.of(root)
    assert memory is not None
    with memory.changing() as kept:
        kept.keep([*kept.entries, *({"path": path} for path in paths)])


def kept(root: Path) -> list[str]:
    memory = Memory.of(root)
    assert memory is not None
    return [each["path"] for each in memory.entries()]


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    return ledger(tmp_path / "quay")


def separate(repo: Repo) -> Path:
    repo.git("init", "-q", "--separate-git-dir", "../elsewhere.git")
    assert (repo.root / ".git").is_file()
    return repo.root.parent / "elsewhere.git"


def linked(repo: Repo) -> Path:
    (repo.root / ".git").rename(repo.root.parent / "moved.git")
    (repo.root / ".git").symlink_to("../moved.git")
    return repo.root.parent / "moved.git"


def relative(repo: Repo) -> Path:
    folder = separate(repo)
    (repo.root / ".git").write_text("gitdir: ../elsewhere.git\n")
    return folder


@pytest.mark.parametrize("lay", [lambda repo: repo.root / ".git", separate, linked, relative])
def test_it_is_in_the_folder_that_git_itself_would_use(
    repo: Repo, lay: Callable[[Repo], Path]
) -> None:
    folder = lay(repo)
    keep(repo.root, "a")
    assert (folder / "tankbook/recorded").is_file()
    assert kept(repo.root) == ["a"]
    assert repo.git("status", "--porcelain", "--ignored") == ""


def test_one_that_an_older_version_kept_moves_there_once(repo: Repo) -> None:
    (repo.root / ".tankbook").mkdir()
    _write(repo.root / ".tankbook", [{"path": "old"}])
    assert kept(repo.root) == ["old"]
    keep(repo.root, "new")
    assert kept(repo.root) == ["old", "new"]
    assert not (repo.root / ".tankbook/recorded").exists()
    # a power cut before the old one went
    _write(repo.root / ".tankbook", [{"path": "old"}])
    assert kept(repo.root) == ["old", "new"]


def read_only(repo: Repo) -> None:
    (repo.root / ".git/tankbook").write_text("")  # as root nothing is read-only


def a_link(repo: Repo) -> None:
    (repo.root.parent / "theirs").mkdir()
    (repo.root / ".git/tankbook").symlink_to(repo.root.parent / "theirs")


def of_another(repo: Repo) -> None:
    """A folder that has the names of git's, and that git does not take for one."""
    theirs = repo.root.parent / "theirs"
    for name in ("objects", "refs"):
        (theirs / name).mkdir(parents=True)
    (theirs / "HEAD").write_text("no branch\n")
    (repo.root / ".git").rename(repo.root.parent / "away")
    (repo.root / ".git").write_text("gitdir: ../theirs\n")


def no_way(text: str) -> Callable[[Repo], None]:
    def lay(repo: Repo) -> None:
        (repo.root.parent / "theirs").mkdir()
        (repo.root / ".git").rename(repo.root.parent / "away")
        (repo.root / ".git").write_text(text)

    return lay


ODD = {
    "it cannot be written": read_only,
    "our folder is a link": a_link,
    "git takes it for none": of_another,
    "leads to a folder": no_way("gitdir: ../theirs\n"),
    "leads nowhere": no_way("gitdir: ../nowhere\n"),
    "has a zero in it": no_way("gitdir: a\0b\n"),
    "leads without a word": no_way("../theirs\n"),
    "is empty": no_way(""),
}


@pytest.mark.parametrize("lay", ODD.values(), ids=ODD)
def test_where_git_would_not_write_it_is_kept_in_the_ledger(
    repo: Repo, lay: Callable[[Repo], None]
) -> None:
    lay(repo)
    before = sorted(p for p in repo.root.parent.rglob("*") if repo.root not in p.parents)
    keep(repo.root, "a")
    keep(repo.root, "b")
    assert kept(repo.root) == ["a", "b"]
    assert (repo.root / ".tankbook/recorded").is_file()
    assert sorted(p for p in repo.root.parent.rglob("*") if repo.root not in p.parents) == before


def test_two_ledgers_of_one_repository_are_kept_apart_and_one_that_moved_is_known(
    tmp_path: Path,
) -> None:
    repo = Repo.begin(tmp_path / "all")
    for name in ("north", "south"):
        repo.put(f"{name}/tankbook.yaml", "name: x\n")
    keep(repo.root / "north", "n")
    keep(repo.root / "south", "s")
    assert [kept(repo.root / n) for n in ("north", "south")] == [["n"], ["s"]]
    (repo.root / "north").rename(repo.root / "hall")
    assert kept(repo.root / "hall") == ["n"]
    keep(repo.root / "hall", "h")
    assert kept(repo.root / "hall") == ["n", "h"]
    (repo.root / "hall").rename(repo.root / "north")
    assert kept(repo.root / "north") == ["n", "h"]


@pytest.mark.parametrize("own", ["north", "north [1]", "a:north"])
@pytest.mark.parametrize("moved", [False, True])
def test_a_ledger_that_a_commit_had_beside_this_one_is_another(
    tmp_path: Path, own: str, moved: bool
) -> None:
    """Also where it lies on another branch only, or moved there since."""
    repo = Repo.begin(tmp_path / "all")
    repo.put(f"{own}/tankbook.yaml", "name: x\n")
    repo.commit()
    repo.git("switch", "-q", "-c", "two")
    repo.put("south/tankbook.yaml", "name: x\n")
    repo.commit()
    keep(repo.root / own, "n")
    keep(repo.root / "south", "s")
    if moved:
        repo.git("mv", "south", "lake")
        repo.commit()
        assert kept(repo.root / "lake") == ["s"]
    else:
        repo.git("switch", "-q", "main")
    assert kept(repo.root / own) == ["n"]
    keep(repo.root / own, "m")
    assert kept(repo.root / own) == ["n", "m"]
    if moved:
        assert kept(repo.root / "lake") == ["s"]
        repo.git("mv", own, "hall")
        repo.commit()
        assert kept(repo.root / "hall") == ["n", "m"]


@pytest.mark.parametrize("own", ["north", "no\nrth"])
@pytest.mark.parametrize("odd", ["\0", "\ud800", "-p", ":(glob)*", "../..", "a\nb"])
def test_an_entry_of_an_oddly_named_ledger_breaks_nothing(
    tmp_path: Path, own: str, odd: str
) -> None:
    repo = Repo.begin(tmp_path / "all")
    repo.put(f"{own}/tankbook.yaml", "name: x\n")
    repo.commit()
    keep(repo.root / own, "n")
    file = repo.root / KEPT
    data = json.loads(file.read_text())
    data["acts"].append({"ledger": odd, "path": "o"})
    file.write_text(json.dumps(data))
    assert "n" in kept(repo.root / own)
    keep(repo.root / own, "m")
    assert {"n", "m"} <= set(kept(repo.root / own))


def test_the_newest_are_kept_and_none_of_another_ledger_goes_for_them(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "all")
    for name in ("north", "south"):
        repo.put(f"{name}/tankbook.yaml", "name: x\n")
    keep(repo.root / "south", "s")
    keep(repo.root / "north", *(str(n) for n in range(MOST + 1)))
    assert kept(repo.root / "north") == [str(n) for n in range(1, MOST + 1)]
    assert kept(repo.root / "south") == ["s"]


WRITER = """
import sys
from pathlib import Path
from tankbook.ledger.memory import Memory
memory = Memory.of(Path(sys.argv[1]))
for number in range(30):
    with memory.changing() as kept:
        kept.keep([*kept.entries, {"path": f"{sys.argv[2]}{number}"}])
"""


def test_two_working_copies_that_write_at_once_lose_nothing(repo: Repo) -> None:
    repo.git("worktree", "add", "-q", "../bench")
    roots = repo.root, repo.root.parent / "bench"
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(root), root.name]) for root in roots
    ]
    assert [each.wait(60) for each in writers] == [0, 0]
    assert sorted(kept(repo.root)) == sorted(f"{r.name}{n}" for r in roots for n in range(30))
    copies = {e["copy"] for e in json.loads((repo.root / KEPT).read_text())["acts"]}
    assert copies == {str(root) for root in roots}


def test_what_is_damaged_is_nothing_and_what_a_killed_writer_left_goes(repo: Repo) -> None:
    for text in ("", "[", "{}", '{"form": 1, "acts": 3}', '{"form": 9, "acts": []}', "[" * 99999):
        repo.put(KEPT, text)
        assert kept(repo.root) == []
    repo.put(".git/tankbook/.recorded.0123abcd.tmp", "half")
    keep(repo.root, "a")
    assert kept(repo.root) == ["a"]
    names = {p.name for p in (repo.root / ".git/tankbook").iterdir()}
    assert names == {"lock", "recorded", "recorded.damaged"}
    keep(repo.root)


def broken(path: Path) -> None:
    path.write_bytes(b'{"form": 1, "acts": [')


def another_form(path: Path) -> None:
    path.write_text('{"form": 9, "acts": []}')


def a_pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


def a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


@pytest.mark.parametrize("damage", [broken, another_form, a_pipe, a_folder])
def test_what_is_damaged_is_told_and_set_aside_by_the_next_act(
    repo: Repo, damage: Callable[[Path], None]
) -> None:
    keep(repo.root, "a")
    assert damaged_in(repo.root) is None
    damage(repo.root / KEPT)
    aside = repo.root / f"{KEPT}.damaged"
    (told,) = look(repo.root).unseen
    assert told.why == f"what was recorded on this machine cannot be read: {KEPT}"
    keep(repo.root, "b")
    assert kept(repo.root) == ["b"]
    # it may be all that is left of an act, so it is told until somebody looked
    assert damaged_in(repo.root) == aside
    (told,) = look(repo.root).unseen
    assert told.why.endswith(f"{KEPT}.damaged")
    aside.rmdir() if aside.is_dir() else aside.unlink()
    assert not look(repo.root).unseen
