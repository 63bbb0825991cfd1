"""A ledger read from git's objects: which commit is meant, and that its files come back as written."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from books import GOOD, SETTINGS
from repos import ALONE, Repo, ledger, line

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import OnDisk
from tankbook.ledger.gitfiles import (
    AtCommit,
    Objects,
    commit_asked,
    commit_of,
    files_at,
    head,
    objects_of,
)
from tankbook.ledger.gitread import Repository
from tankbook.ledger.load import load_from
from tankbook.records.commits import Commit

HOSTILE = [
    "--upload-pack=x", "-n", "--output=x", "@{", "@{u}", "HEAD@{1}", "@{-1}", ":/Begin", "", " ",
    "HEAD:tankbook.yaml", "main..HEAD", "^main", "HEAD^{/x}", "a\nb", "a\0b", "HEAD --", "../x",
    "$(touch x)", "x" * 300, "HEAD~99999999", "\N{SNOWMAN}", "HEAD\\", "*", "main:", "~", "^",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)


@pytest.fixture(name="repo")
def _repo(tmp_path: Path) -> Repo:
    return ledger(tmp_path / "quay")


@pytest.fixture(name="objects")
def _objects(repo: Repo) -> Iterator[Objects]:
    with objects_of(repo.root) as objects:
        yield objects


def asked(repo: Repo, text: str) -> tuple[Commit, dt.date]:
    with objects_of(repo.root) as objects:
        return commit_asked(Repository.of(repo.root), objects, text)


def refusal(root: Path, text: str = "HEAD") -> str:
    with pytest.raises(LedgerError) as refused:
        asked(Repo(root), text)
    return str(refused.value)


def at(repo: Repo, objects: Objects, text: str = "HEAD") -> AtCommit:
    repository = Repository.of(repo.root)
    return files_at(repository, objects, commit_asked(repository, objects, text)[0])


def noon(day: int) -> str:
    """Noon of a November day on this computer's clock, as git takes it."""
    return dt.datetime(2026, 11, day, 12).astimezone().isoformat()


# --- which commit


def test_a_day_means_the_last_commit_by_its_end(repo: Repo) -> None:
    repo.put("note", "1")
    first = repo.commit(at=noon(2))
    repo.put("note", "2")
    second = repo.commit(at=noon(4))
    got = {day: asked(repo, f"2026-11-0{day}")[0].id for day in (2, 3, 4, 5)}
    assert got == {2: first, 3: first, 4: second, 5: second}
    assert asked(repo, "2026-11-03")[1] == dt.date(2026, 11, 3)


def test_midnight_is_the_end_of_the_day_on_this_computer(repo: Repo) -> None:
    midnight = dt.datetime(2026, 11, 3).astimezone()
    second = dt.timedelta(seconds=1)
    early = repo.commit(at=(midnight - second).isoformat())
    late = repo.commit(at=midnight.isoformat())
    assert [asked(repo, f"2026-11-0{d}")[0].id for d in (2, 3)] == [early, late]


def test_midnight_is_that_of_the_zone_of_the_clock(
    repo: Repo, monkeypatch: pytest.MonkeyPatch
) -> None:
    import time

    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        late = repo.commit(at="2026-11-02T20:00:00+00:00")  # the 3rd in Auckland
        assert asked(repo, "2026-11-03")[0].id == late
        assert asked(repo, "2026-11-02")[0].id != late
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_day_looks_along_the_first_parents(repo: Repo) -> None:
    repo.git("checkout", "-q", "-b", "second")
    repo.put("second", "x")
    aside = repo.commit(at=noon(2))
    repo.git("checkout", "-q", "main")
    repo.git("merge", "-q", "--no-ff", "-m", "merge", "second", at=noon(5))
    assert asked(repo, "2026-11-03")[0].id not in {aside, head_of(repo)}
    assert asked(repo, "2026-11-05")[0].id == head_of(repo)


def head_of(repo: Repo) -> str:
    with objects_of(repo.root) as objects:
        return head(Repository.of(repo.root), objects).id


@pytest.mark.parametrize("text", ["HEAD", "main", "@", "winter", "main~1", "HEAD^", "@~1^0"])
def test_a_revision_is_a_branch_a_tag_or_a_commit(repo: Repo, text: str) -> None:
    repo.git("tag", "winter")
    repo.commit(at="2026-11-03T00:30:00+13:00")
    assert asked(repo, text)[0].id == repo.git("rev-parse", f"{text}^0").strip()


def test_a_revision_is_about_the_day_where_it_was_committed(repo: Repo) -> None:
    name = repo.commit(at="2026-11-03T00:30:00+13:00", by="TO")
    commit, day = asked(repo, name[:12])
    assert day == dt.date(2026, 11, 3)
    assert commit.at.isoformat() == "2026-11-03T00:30:00+13:00"
    assert (commit.author, commit.subject, commit.signed) == ("TO", "change", False)


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_revision_is_refused_in_one_line(
    repo: Repo, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(repo.root)
    before = sorted(p.name for p in repo.root.iterdir())
    said = refusal(repo.root, text)
    assert "\n" not in said
    assert "\0" not in said
    assert said.startswith("--as-of: ")
    assert sorted(p.name for p in repo.root.iterdir()) == before


@pytest.mark.parametrize("text", ["2026-02-30", "2026-13-01", "0000-01-01"])
def test_what_looks_like_a_day_and_is_none_is_refused(repo: Repo, text: str) -> None:
    assert "is not a calendar day" in refusal(repo.root, text)


def test_before_the_archive_began(repo: Repo) -> None:
    said = refusal(repo.root, "2025-01-01")
    assert "nothing was committed by 2025-01-01: the archive begins on 2026-02-10" in said
    assert "1950" in refusal(repo.root, "1950-01-01")


def test_nothing_committed_yet(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "new")
    for text in ("HEAD", "2026-11-25"):
        assert "nothing is committed yet" in refusal(repo.root, text)


def test_without_a_repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    assert "the ledger is not in a git repository" in refusal(tmp_path)


def test_without_git(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(repo.root))
    assert "git is not installed" in refusal(repo.root)


def test_a_repository_of_another_user(repo: Repo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    said = refusal(repo.root)
    assert "another user owns this repository" in said
    assert "safe.directory" in said
    trusted = repo.root.parent / "trusted"
    trusted.write_text(f"[safe]\n\tdirectory = {repo.root}\n")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(trusted))
    assert asked(repo, "HEAD")[0].subject == "Begin"


def test_a_shallow_clone_that_does_not_reach(repo: Repo, tmp_path: Path) -> None:
    repo.put("note", "2")
    repo.commit(at=noon(4))
    repo.git("clone", "-q", "--depth", "1", repo.root.as_uri(), str(tmp_path / "shallow"))
    shallow = Repo(tmp_path / "shallow")
    assert asked(shallow, "2026-11-05")[0].subject == "change"
    said = refusal(shallow.root, "2026-11-03")
    assert "this shallow clone does not reach back to 2026-11-03" in said
    assert "git fetch --unshallow" in said
    assert "git fetch --unshallow" in refusal(shallow.root, "HEAD~1")


# --- its files


def test_the_files_are_those_of_the_commit_not_of_the_folder(repo: Repo, objects: Objects) -> None:
    repo.log(line("2026-11-01T10:00:00+01:00"))
    repo.commit(at=noon(2))
    repo.put("cylinders/RB-014.yaml", "serial: CHANGED\n")
    repo.put("cylinders/RB-015.yaml", GOOD)
    files = at(repo, objects)
    assert files.names("cylinders") == ["RB-014.yaml"]
    assert files.names("fills") == ["2026.csv"]
    assert files.names("nosuch") == []
    assert files.read("cylinders/RB-014.yaml").decode() == GOOD.lstrip()
    assert files.exists("tankbook.yaml")
    assert not files.exists("cylinders")
    assert not files.exists("cylinders/RB-015.yaml")
    assert len(load_from(files).log) == 1
    assert load_from(at(repo, objects, "HEAD~1")).log == ()


def test_it_reads_what_the_disk_reads(repo: Repo, objects: Objects) -> None:
    repo.log(line("2026-11-01T10:00:00+01:00"), line("2026-11-02T10:00:00+01:00", note='"a, b"'))
    repo.put("rules/shop.yaml", "heading: Ours\n")
    repo.commit()
    ours, theirs = load_from(at(repo, objects)), load_from(OnDisk(repo.root))
    assert ours.cylinders == theirs.cylinders
    assert ours.log == theirs.log
    assert [str(f) for f in ours.findings] == [str(f) for f in theirs.findings]
    assert ours.rule_sets[-1].id == "shop"


@pytest.mark.parametrize(
    "folder", ["ledger", "a b/c'd", "-n", "--upload-pack=x", "Prüf\n\tung", '"']
)
def test_a_ledger_in_a_folder_of_a_larger_repository(tmp_path: Path, folder: str) -> None:
    repo = Repo.begin(tmp_path / "club")
    repo.put("tankbook.yaml", "ledger: the wrong one\n")
    repo.put(f"{folder}/tankbook.yaml", SETTINGS)
    repo.put(f"{folder}/cylinders/RB-014.yaml", GOOD)
    repo.commit()
    inside = Repo(repo.root / folder)
    with objects_of(inside.root) as objects:
        assert list(load_from(at(inside, objects)).cylinders) == ["RB-014"]


def test_a_commit_that_holds_no_ledger(tmp_path: Path) -> None:
    repo = Repo.begin(tmp_path / "quay")
    repo.put("readme", "x")
    repo.commit()
    with (
        objects_of(repo.root) as objects,
        pytest.raises(LedgerError, match=r"of 2026-02-10 holds no ledger here"),
    ):
        at(repo, objects)


def test_a_symbolic_link_is_not_followed(repo: Repo, objects: Objects) -> None:
    (repo.root / "cylinders/RB-015.yaml").symlink_to("/etc/hostname")
    repo.commit()
    book = load_from(at(repo, objects))
    assert [str(f) for f in book.broken["RB-015"]] == [
        "cylinders/RB-015.yaml: it is a symbolic link; replace it by the file itself"
    ]


def test_a_file_too_large_is_told_and_the_next_one_is_read(repo: Repo, objects: Objects) -> None:
    repo.put("cylinders/RB-015.yaml", "x" * 5000)
    repo.commit()
    names = {
        each.split("\t")[1]: each.split()[2]
        for each in repo.git("ls-tree", "-r", "HEAD").splitlines()
    }
    with pytest.raises(LedgerError, match=r"5,000 bytes, more than the 1,000 allowed"):
        objects.find(names["cylinders/RB-015.yaml"], 1000)
    assert objects.blob(names["cylinders/RB-014.yaml"]) == GOOD.lstrip().encode()


def test_objects_that_are_missing(objects: Objects) -> None:
    assert objects.find("0" * 40) is None
    assert objects.folder("0" * 40) == {}
    with pytest.raises(LedgerError, match="is missing"):
        objects.commit("0" * 40)


# --- what a commit says


@pytest.mark.parametrize(
    ("person", "author", "when"),
    [
        ("MV <mv@x> 1764061200 +0100", "MV", "2025-11-25T10:00:00+01:00"),
        ("MV <mv@x> 1764061200 -0330", "MV", "2025-11-25T05:30:00-03:30"),
        ("MV <mv@x> 1764061200 +9999", "MV", "2025-11-25T09:00:00+00:00"),
        (" <> 0 +0000", "", "1970-01-01T00:00:00+00:00"),
        ("\x1b[31mMV\x07 <mv@x> 0 +0000", "\\x1b[31mMV\\x07", "1970-01-01T00:00:00+00:00"),
        ("M\u202eV <x> 0 +0000", "M\\u202eV", "1970-01-01T00:00:00+00:00"),
    ],
)
def test_whoever_committed_cannot_steer_the_terminal(person: str, author: str, when: str) -> None:
    text = (
        f"tree {'0' * 40}\nauthor {person}\ncommitter {person}\n\nA \x1b]0;title\x07subject\nrest\n"
    )
    commit = commit_of("1" * 40, text.encode())
    assert (commit.author, commit.at.isoformat()) == (author, when)
    assert commit.subject == "A \\x1b]0;title\\x07subject"


def test_a_signature_is_seen_and_not_checked() -> None:
    who = "MV <mv@x> 0 +0000"
    head = f"tree {'0' * 40}\nparent {'2' * 40}\nauthor {who}\ncommitter {who}\n"
    signature = "gpgsig -----BEGIN SSH SIGNATURE-----\n abc\n -----END SSH SIGNATURE-----\n"
    assert commit_of("1" * 40, f"{head}{signature}\nsubject\n".encode()).signed
    assert not commit_of("1" * 40, f"{head}\ngpgsig in the message\n".encode()).signed


@pytest.mark.parametrize(
    "person", ["", "MV", "MV <mv@x> soon +0100", "MV <mv@x> 99999999999999 +0100"]
)
def test_a_header_that_cannot_be_read_is_told(person: str) -> None:
    with pytest.raises(LedgerError, match="header cannot be read"):
        commit_of("1" * 40, f"tree {'0' * 40}\nauthor {person}\ncommitter {person}\n\nx\n".encode())


def test_what_the_environment_says_of_git_is_not_heard(
    repo: Repo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = ledger(tmp_path / "other")
    other.commit("The wrong one")
    for name, value in {
        "GIT_DIR": other.root / ".git",
        "GIT_WORK_TREE": other.root,
        "GIT_OBJECT_DIRECTORY": other.root / ".git/objects",
        "GIT_NAMESPACE": "x",
        "GIT_CONFIG_PARAMETERS": "'core.bare=true'",
    }.items():
        monkeypatch.setitem(os.environ, name, str(value))
    assert asked(repo, "HEAD")[0].subject == "Begin"


def test_replaced_objects_and_grafts_are_not_heeded(repo: Repo) -> None:
    first = repo.git("rev-parse", "HEAD").strip()
    repo.put("cylinders/RB-014.yaml", GOOD.replace("K118204", "FORGED"))
    forged = repo.commit("Forged")
    repo.git("reset", "-q", "--hard", first)
    repo.git("replace", first, forged)
    with objects_of(repo.root) as objects:
        assert load_from(at(repo, objects, first)).cylinders["RB-014"].serial == "K118204"
