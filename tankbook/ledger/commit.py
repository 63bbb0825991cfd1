"""One git commit of the files an act touched, and of nothing else.

Hooks and signing work as the repository has them; whatever else its configuration or the
environment says must not change what is committed or how the message reads.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tankbook.ledger.errors import LedgerError
from tankbook.records.edits import Act

SECONDS = 120
"""How long git may take: hooks run, and a signature may ask for a passphrase."""

NOT_A_REPOSITORY = "the ledger is not in a git repository"
NO_GIT = "git is not installed, or does not answer"

# Set by git itself while a hook runs: they would point git away from the ledger's own repository.
_POINTERS = (
    "GIT_DIR",
    "GIT_WORK_TREE",
    "GIT_INDEX_FILE",
    "GIT_PREFIX",
    "GIT_COMMON_DIR",
    "GIT_OBJECT_DIRECTORY",
    "GIT_NAMESPACE",
    "GIT_CONFIG_PARAMETERS",
    "GIT_GLOB_PATHSPECS",
    "GIT_NOGLOB_PATHSPECS",
    "GIT_ICASE_PATHSPECS",
)
_PLAIN = (
    "--no-pager",
    "--literal-pathspecs",
    *("-c", "core.quotePath=false"),
    *("-c", "color.ui=false"),
    *("-c", "i18n.commitEncoding=UTF-8"),
    *("-c", "commit.verbose=false"),
    *("-c", "core.fsmonitor=false"),
    *("-c", "gc.auto=0"),
    *("-c", "maintenance.auto=false"),
)

_UNFINISHED = {
    "MERGE_HEAD": "a merge is under way",
    "CHERRY_PICK_HEAD": "a cherry-pick is under way",
    "REVERT_HEAD": "a revert is under way",
    "rebase-merge": "a rebase is under way",
    "rebase-apply": "a rebase is under way",
    "BISECT_LOG": "a bisection is under way",
}


@dataclass(frozen=True, slots=True)
class Failed:
    """A commit that was not made."""

    why: str


def message(act: Act) -> str:
    """What the commit says: the act's sentence, its notes left out, and trailers to search by."""
    trailers = [f"Cylinder: {each}" for each in act.subjects]
    return "\n".join([act.sentence, "", *trailers, f"Act: {act.verb}", ""])


def hindrance(root: Path, paths: Sequence[str]) -> str:
    """Why the ledger can be written but not committed now, or an empty text.

    Raises:
        LedgerError: a file holds changes that were never committed; one commit of exactly this act
            cannot be made.
    """
    top = _run(root, "rev-parse", "--show-toplevel")
    if isinstance(top, Failed):
        return NO_GIT if top.why == NO_GIT else NOT_A_REPOSITORY
    if why := underway(root):
        return why
    listed = _run(
        root,
        "status",
        "--porcelain=v1",
        "-z",
        "--no-renames",
        "--untracked-files=all",
        "--ignored=no",
        "--",
        *paths,
    )
    if isinstance(listed, Failed):
        return listed.why
    dirty = [entry for entry in listed.split("\0") if entry]
    if dirty:
        path = _relative(root, dirty[0][3:])
        staged = dirty[0][0] not in " ?"
        what = "staged changes" if staged else "changes by hand"
        mend = "nothing was written; commit them first, or record with --no-commit"
        raise LedgerError(path, f"it holds {what} that are not committed", mend)
    return ""


def underway(root: Path) -> str:
    """What git is in the middle of, so that nothing is committed now; or an empty text."""
    for name, why in _UNFINISHED.items():
        found = _run(root, "rev-parse", "--git-path", name)
        if isinstance(found, str) and (root / found.removesuffix("\n")).exists():
            return f"{why}; finish it, and commit this with it"
    return ""


def commit(root: Path, paths: Sequence[str], text: str) -> str | Failed:
    """Commit these files as they are now, and only them; the full name of the commit.

    What else is staged stays staged. When git refuses, the index is as it was.
    """
    known = _run(root, "ls-files", "-z", "--", *paths)
    if isinstance(known, Failed):
        return known
    tracked = set(known.split("\0"))
    new = [path for path in paths if path not in tracked]
    if new:
        added = _run(root, "add", "--intent-to-add", "--", *new)
        if isinstance(added, Failed):
            return added
    made = _run(
        root, "commit", "--quiet", "--only", "--cleanup=verbatim", "--file=-", "--", *paths,
        stdin=text,
    )  # fmt: skip
    if isinstance(made, Failed):
        if new:
            _run(root, "rm", "--cached", "--quiet", "--force", "--", *new)
        return made
    name = _run(root, "rev-parse", "HEAD")
    return name if isinstance(name, Failed) else name.strip()


def _relative(root: Path, path: str) -> str:
    prefix = _run(root, "rev-parse", "--show-prefix")
    return path.removeprefix(prefix.removesuffix("\n")) if isinstance(prefix, str) else path


def _run(root: Path, *arguments: str, stdin: str = "") -> str | Failed:
    """What git prints, or why it would not."""
    environment = {k: v for k, v in os.environ.items() if k not in _POINTERS}
    environment |= {"GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C"}
    try:
        done = subprocess.run(
            ["git", *_PLAIN, "-C", str(root), *arguments],
            input=stdin.encode(),
            capture_output=True,
            env=environment,
            timeout=SECONDS,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return Failed(NO_GIT)
    if done.returncode != 0:
        return Failed(f"git refuses: {_briefly(done.stderr, done.stdout)}")
    return done.stdout.decode("utf-8", "surrogateescape")


def _briefly(*streams: bytes) -> str:
    """The line of git's words that says most."""
    lines: list[str] = []
    for stream in streams:
        lines += [each.strip() for each in stream.decode(errors="replace").splitlines()]
    return _telling(line for line in lines if line) or "it gives no reason"


def _telling(lines: Iterable[str]) -> str:
    each = list(lines)
    for start in ("fatal: ", "error: "):
        for line in each:
            if line.startswith(start):
                return line.removeprefix(start)
    return each[0] if each else ""
