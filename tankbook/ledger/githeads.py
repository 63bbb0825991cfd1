"""Which commits a ledger is held against, and where in its repository it lies.

The repository is the one whose `.git` lies nearest above the ledger, whatever its configuration
says of other folders. A repository that holds nothing of the ledger does not hide one further up
that does.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import AbstractContextManager
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitfiles import AtCommit, Objects, commit_of, ledger_in, objects_of
from tankbook.ledger.gitread import ask_text, small
from tankbook.ledger.names import ENDINGS, tops
from tankbook.ledger.ordinary import of_ledger
from tankbook.ledger.text import printable
from tankbook.records.absence import SETTINGS_PATH, Heads, Unseen
from tankbook.records.commits import Commit
from tankbook.units.patterns import pattern

SECONDS = 20
"""How long git may take before the question is given up."""

_NAME = pattern(r"\b(?:[0-9a-f]{64}|[0-9a-f]{40})\b")
_LED = "gitdir:"
"""What a file `.git` begins with, that leads to git's own folder."""
_FSCK = "`git fsck` may tell why"


class RepositoryPlace(Struct, frozen=True):
    """A folder with a `.git` in it, and the way from there to the ledger."""

    top: Path
    folders: tuple[str, ...]

    @property
    def variables(self) -> dict[str, str]:
        """What keeps git from taking another repository or another folder for this one."""
        return {"GIT_WORK_TREE": str(self.top), "GIT_CEILING_DIRECTORIES": str(self.top.parent)}

    def objects(self) -> AbstractContextManager[Objects]:
        """The repository's objects, each of them proved."""
        return objects_of(self.top, proved=True, variables=self.variables, seconds=SECONDS)

    def ask(self, *arguments: str) -> str:
        """What git prints, without its line end. Raises `LedgerError`."""
        return ask_text(self.top, *arguments, seconds=SECONDS, variables=self.variables)

    def prove(self) -> None:
        """See that git finds this repository, where it might find another.

        A colon lets it look further up, and some versions take a folder with the right names in it
        for a repository.

        Raises:
            LedgerError: it finds another, or none.
        """
        if os.pathsep in str(self.top) or (self.top / "objects").is_dir():
            found = os.path.realpath(self.ask("rev-parse", "--absolute-git-dir"))
            if found != os.path.realpath(self._git_folder()):
                raise self.no_repository()

    def no_repository(self) -> LedgerError:
        """That git does not take for a repository what lies here."""
        text = f"git takes what lies in {printable(str(self.top / '.git'))} for no repository"
        return LedgerError(str(self.top), text, "`git status` may tell more")

    def read(self, name: str) -> str:
        """A small file of git's own; empty where there is none."""
        return small(self._git_folder() / name)

    def names(self, name: str) -> list[str]:
        """The names of commits in a small file of git's own."""
        return _NAME.findall(self.read(name))

    def merges(self) -> bool:
        """Whether a merge is in progress here."""
        return os.path.lexists(self._git_folder() / "MERGE_HEAD")

    def merged(self) -> list[str]:
        """The other sides of a merge in progress."""
        return self.names("MERGE_HEAD")

    def shared(self) -> Path | None:
        """Git's own folder that all working copies of the repository share, without asking git;
        None where what lies here is no repository."""
        own = self._git_folder()
        common = own / small(own / "commondir").strip()
        whole = os.path.lexists(own / "HEAD") and (common / "objects").is_dir()
        return Path(os.path.realpath(common)) if whole and (common / "refs").is_dir() else None

    def _git_folder(self) -> Path:
        inside = self.top / ".git"
        led = "" if inside.is_dir() else small(inside)
        return self.top / led.removeprefix(_LED).strip() if led.startswith(_LED) else inside


def places(root: Path) -> Iterator[RepositoryPlace]:
    """Where repositories may be that hold a ledger, the nearest first."""
    return (RepositoryPlace(top, folders) for top, folders in tops(root))


class LedgerCommits(Struct):
    """The commits of a repository that hold the ledger, as far as they can be read."""

    heads: Heads
    commits: list[AtCommit] = field(default_factory=list)
    unseen: list[Unseen] = field(default_factory=list)


def held_at(place: RepositoryPlace, objects: Objects, root: Path) -> LedgerCommits:
    """The commits that a ledger is held against: the latest, and every other side of a merge.

    Raises:
        LedgerError: git cannot be asked, or what it keeps is damaged.
    """
    place.prove()
    symbolic = place.read("HEAD").startswith("ref:")
    found = objects.find("HEAD^{commit}")
    if found is None:
        why = why_none(place)
        if why:
            raise why
        return LedgerCommits(Heads(under_git=True))
    head = commit_of(found.name, found.data)
    underway, names = _others(place, head)
    held = LedgerCommits(Heads(True, head, underway=underway, detached=not symbolic))
    if underway == "merge" and not place.merged():
        held.unseen.append(Unseen("", "what git notes of the merge in progress is damaged", _FSCK))
    others = [c for n in names if (c := _other(held, place, objects, n)) is not None]
    for commit in (head, *others):
        files, moved_from = _ledger_at(place, objects, commit, root)
        if files is None:
            continue
        held.commits.append(files)
        if commit is head:
            held.heads = replace(held.heads, holds=True, moved_from=moved_from)
    held.heads = replace(held.heads, others=tuple(others))
    return held


def _others(place: RepositoryPlace, head: Commit) -> tuple[str, list[str]]:
    """What is in progress, and the names of the commits that what lies here is to come from."""
    rebased = [*place.names("rebase-merge/orig-head"), *place.names("rebase-apply/orig-head")]
    underway = "merge" if place.merges() else "rebase" if rebased else ""
    parents = head.parents if len(head.parents) > 1 else ()
    names = dict.fromkeys([*parents, *place.merged(), *rebased])
    return underway, [n for n in names if n != head.id]


def _other(
    held: LedgerCommits, place: RepositoryPlace, objects: Objects, name: str
) -> Commit | None:
    """The other side of a merge, or None after noting that git does not have it."""
    found = objects.find(name)
    if found is not None and found.kind == "commit":
        return commit_of(found.name, found.data)
    why, mend = f"commit {name[:10]}, one side of a merge, is missing", _FSCK
    if place.ask("rev-parse", "--is-shallow-repository") == "true":
        why = f"commit {name[:10]}, one side of a merge, lies beyond this shallow clone"
        mend = "fetch the rest: `git fetch --unshallow`"
    held.unseen.append(Unseen("", why, mend, commit=name[:10]))
    return None


def _ledger_at(
    place: RepositoryPlace, objects: Objects, commit: Commit, root: Path
) -> tuple[AtCommit | None, str | None]:
    """The ledger as a commit has it, and the folder it lay in there if it was moved since."""
    top = ledger_in(objects, commit, place.folders)
    if top is not None:
        return AtCommit(objects, commit, root.name, top), None
    listed = place.ask("ls-tree", "-r", "-z", "--name-only", "--full-tree", commit.id, "--")
    ledgers = [p for p in listed.split("\0") if p.rpartition("/")[2] == SETTINGS_PATH]
    moved = [p for p in ledgers if not os.path.lexists(place.top / p)]
    found: list[tuple[int, str, AtCommit]] = []
    for path in moved:
        folder = path.rpartition("/")[0]
        there = ledger_in(objects, commit, folder.split("/"))
        if there is not None:
            files = AtCommit(objects, commit, root.name, there)
            found.append((_in_common(files, root), folder, files))
    best = max(found, key=lambda each: each[0], default=(0, "", None))
    return (best[2], best[1]) if best[0] else (None, None)


def _in_common(files: AtCommit, root: Path) -> int:
    """How many files of a ledger lie in a folder under the same path, unaltered settings too."""
    count = sum(
        os.path.lexists(root / folder / name) for folder in ENDINGS for name in files.names(folder)
    )
    try:
        settings = of_ledger(root, SETTINGS_PATH)
    except (OSError, LedgerError):
        return count
    return count + files.holds(SETTINGS_PATH, settings)


def why_none(place: RepositoryPlace) -> LedgerError | None:
    """Why there is no latest commit; None where simply nothing is committed yet."""
    where = str(place.top)
    try:
        name = place.ask("symbolic-ref", "--quiet", "HEAD")
    except LedgerError as error:
        if "no reason" not in error.text:
            return error
        return LedgerError(where, "the commit checked out is missing", _FSCK)
    branch = printable(name.removeprefix("refs/heads/"))
    if name in place.ask("for-each-ref", "--format=%(refname)", name).split("\n"):
        return LedgerError(where, f"the latest commit of {branch} is missing", _FSCK)
    if os.path.lexists(place.top / place.ask("rev-parse", "--git-path", name)):
        return LedgerError(where, f"what git notes of branch {branch} is damaged", _FSCK)
    if place.ask("for-each-ref", "--count=1") or place.read("logs/HEAD"):
        text = f"nothing is committed on branch {branch}, though the repository has commits"
        return LedgerError(where, text, "check out the branch that has the ledger: `git branch -a`")
    return None
