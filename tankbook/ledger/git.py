"""Asking git which files of a ledger are not committed yet, and whether what is committed stands
anywhere but on this computer, as far as git was told. Git is only read, never written."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitread import DIFF, ask_text, overriding
from tankbook.ledger.names import CARDS, ENDINGS, SETTINGS_FILE, STATION_FILE
from tankbook.records.commits import Commit
from tankbook.records.counter import COUNTER_FILE

SECONDS = 20
"""How long git may take before the question is given up."""


def uncommitted(root: Path) -> list[str] | None:
    """The ledger's files that differ from the last commit, relative to it, in order.

    None where that cannot be known: no git, no repository, or one that git will not open because
    another user owns it (which is left for that user to settle).
    """
    # a repository within the ledger's would be asked as its own configuration says
    how = ("--porcelain=v1", "-z", "--no-renames", "--untracked-files=all")
    status = ("status", *how, "--ignore-submodules=all", "--", ".")
    try:
        quiet = overriding(_no_filters(root))
        prefix, listed = (
            ask_text(root, *line, seconds=SECONDS, variables=quiet)
            for line in (("rev-parse", "--show-prefix"), status)
        )
    except LedgerError:
        return None
    return sorted(entry[3:].removeprefix(prefix) for entry in listed.split("\0") if entry)


def ignored(root: Path) -> list[str]:
    """The ledger's files that judge and that git is told to ignore, in order: nothing of them is
    compared. Empty where git cannot be asked."""
    line = ["ls-files", "--others", "--ignored", "--exclude-standard", "-z"]
    try:
        listed = ask_text(root, *line, seconds=SECONDS, variables=overriding(_no_filters(root)))
    except LedgerError:
        return []
    return sorted(name for name in listed.split("\0") if _judges(name))


def _judges(path: str) -> bool:
    """Whether a file of the ledger is one that answers rest on."""
    folder, _, name = path.rpartition("/")
    ending = ENDINGS.get(folder)
    return path in {SETTINGS_FILE, STATION_FILE, COUNTER_FILE} or bool(
        ending and name.endswith(ending)
    )


def _no_filters(root: Path) -> dict[str, str]:
    """What keeps `git status` from running the programs that a configuration names as filters."""
    wanted = r"^filter\..*\.(clean|process|required)$"
    try:
        asked = ("config", "--null", "--name-only", "--get-regexp", wanted)
        names = ask_text(root, *asked, seconds=SECONDS).split("\0")
    except LedgerError:  # git says no where there are none
        return {}
    return dict.fromkeys(filter(None, names), "")


class KnownToGit(StrEnum):
    """What git makes of a file."""

    TRACKED = "tracked"
    NOT_IGNORED = "not ignored"
    IGNORED = "ignored or not there"


def known_to_git(root: Path, path: str) -> KnownToGit | None:
    """What git makes of a file of the ledger; None where there is no git or no repository."""
    options = ("-t", "--cached", "--others", "--exclude-standard", "-z", "--", path)
    try:
        listed = ask_text(root, "ls-files", *options, seconds=SECONDS)
    except LedgerError:
        return None
    tags = {entry[:1] for entry in listed.split("\0") if entry}
    if tags - {"?"}:
        return KnownToGit.TRACKED
    return KnownToGit.NOT_IGNORED if tags else KnownToGit.IGNORED


SECONDS = 20
"""How long git may take before the question is given up."""


class Copies(Struct, frozen=True):
    """What is on no remote.

    Attributes:
        remote: whether anything was ever pushed to a remote, or fetched from one.
        commits: how many commits are on none; 0 without a remote, where all of them are.
        since: when the oldest of them was made.
    """

    remote: bool
    commits: int = 0
    since: dt.datetime | None = None

    def days(self, today: dt.date) -> int:
        """For how many days the oldest of them has been on none."""
        return max((today - self.since.date()).days, 0) if self.since else 0


def copies_of(root: Path) -> Copies | None:
    """What is on no remote; None where git cannot be asked.

    No remote is asked: what is told is what git noted when it last pushed or fetched. Something is
    to be committed already.
    """
    try:
        if not ask_text(root, "for-each-ref", "--count=1", "refs/remotes", seconds=SECONDS):
            return Copies(remote=False)
        line = "rev-list --timestamp HEAD --not --remotes --".split()
        times = [
            int(each.split()[0]) for each in ask_text(root, *line, seconds=SECONDS).splitlines()
        ]
        since = dt.datetime.fromtimestamp(min(times)).astimezone() if times else None
    except (LedgerError, ValueError, OverflowError, OSError):
        return None
    return Copies(True, len(times), since)


def last_changes(root: Path, tip: str = "HEAD") -> dict[str, Commit] | None:
    """Which commit changed each card, and the station's file, last, by its path in the ledger, as
    far as `tip` knows.

    None where git cannot be asked, or says what is no date. What a merge alone changed is known by
    the commits it joined.
    """
    how = ("--name-only", "-z", "--relative", f"--format={'%x00'.join(_ASKED)}")
    line = ("log", *how, *DIFF, "--end-of-options", tip, "--", *CARDS, STATION_FILE)
    found: dict[str, Commit] = {}
    try:
        listed = ask_text(root, *line, seconds=SECONDS, variables=overriding(_no_filters(root)))
        for part in listed.split(_BEGINS)[1:]:
            name, at, authored, author, *paths = part.split("\0")
            days = map(dt.datetime.fromisoformat, (at, authored))
            commit = Commit(name, (), author, next(days), next(days))
            for path in paths:
                found.setdefault(path.lstrip("\n"), commit)
    except (LedgerError, ValueError):
        return None
    return found


_BEGINS = "\x1e"
_ASKED = ("%x1e%H", "%cI", "%aI", "%an")
