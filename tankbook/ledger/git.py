"""Asking git which files of a ledger are not committed yet. Git is only read, never written."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

SECONDS = 20
"""How long git may take before the question is given up."""

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
)

# The repository's own configuration must neither start a program nor change what is printed.
_PLAIN = (
    "--no-pager",
    "--no-optional-locks",
    "-c",
    "core.fsmonitor=false",
    "-c",
    "core.quotePath=false",
    "-c",
    "color.ui=false",
    "-c",
    "core.hooksPath=/dev/null",
)


def uncommitted(root: Path) -> list[str] | None:
    """The ledger's files that differ from the last commit, relative to it, in order.

    None where that cannot be known: no git, no repository, or one that git will not open because
    another user owns it (which is left for that user to settle).
    """
    prefix = _git(root, "rev-parse", "--show-prefix")
    if prefix is None:
        return None
    listed = _git(
        root, "status", "--porcelain=v1", "-z", "--no-renames", "--untracked-files=all", "--", "."
    )
    if listed is None:
        return None
    inside = prefix.removesuffix("\n")
    return sorted(entry[3:].removeprefix(inside) for entry in listed.split("\0") if entry)


def _git(root: Path, *arguments: str) -> str | None:
    """What git prints, or None when it is absent, too slow or refuses."""
    environment = {k: v for k, v in os.environ.items() if k not in _POINTERS}
    environment |= {"GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C"}
    try:
        done = subprocess.run(
            ["git", *_PLAIN, "-C", str(root), *arguments],
            capture_output=True,
            stdin=subprocess.DEVNULL,
            env=environment,
            timeout=SECONDS,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    if done.returncode != 0:
        return None
    return done.stdout.decode("utf-8", "surrogateescape")
