"""Asking git which files of a ledger are not committed yet. Git is only read, never written."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import ENDINGS
from tankbook.ledger.finding import SETTINGS_FILE
from tankbook.ledger.gitread import ask, overriding

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
            ask(root, *line, seconds=SECONDS, variables=quiet).decode("utf-8", "surrogateescape")
            for line in (("rev-parse", "--show-prefix"), status)
        )
    except LedgerError:
        return None
    inside = prefix.removesuffix("\n")
    return sorted(entry[3:].removeprefix(inside) for entry in listed.split("\0") if entry)


def ignored(root: Path) -> list[str]:
    """The ledger's files that judge and that git is told to ignore, in order: nothing of them is
    compared. Empty where git cannot be asked."""
    line = ["ls-files", "--others", "--ignored", "--exclude-standard", "-z"]
    try:
        listed = ask(root, *line, seconds=SECONDS, variables=overriding(_no_filters(root)))
    except LedgerError:
        return []
    names = listed.decode("utf-8", "surrogateescape").split("\0")
    return sorted(name for name in names if _judges(name))


def _judges(path: str) -> bool:
    """Whether a file of the ledger is one that answers rest on."""
    folder, _, name = path.rpartition("/")
    ending = ENDINGS.get(folder, "") if folder else ""
    return path in {SETTINGS_FILE, "station.yaml"} or bool(ending and name.endswith(ending))


def _no_filters(root: Path) -> dict[str, str]:
    """What keeps `git status` from running the programs that a configuration names as filters."""
    wanted = r"^filter\..*\.(clean|process|required)$"
    try:
        found = ask(
            root, "config", "--null", "--name-only", "--get-regexp", wanted, seconds=SECONDS
        )
    except LedgerError:  # git says no where there are none
        return {}
    names = found.decode("utf-8", "surrogateescape").split("\0")
    return dict.fromkeys(filter(None, names), "")


class Known(StrEnum):
    """What git makes of a file."""

    TRACKED = "tracked"
    NOT_IGNORED = "not ignored"
    IGNORED = "ignored or not there"


def known_as(root: Path, path: str) -> Known | None:
    """What git makes of a file of the ledger; None where there is no git or no repository."""
    options = ("-t", "--cached", "--others", "--exclude-standard", "-z", "--", path)
    try:
        listed = ask(root, "ls-files", *options, seconds=SECONDS)
    except LedgerError:
        return None
    tags = {entry[:1] for entry in listed.split(b"\0") if entry}
    if tags - {b"?"}:
        return Known.TRACKED
    return Known.NOT_IGNORED if tags else Known.IGNORED
