"""Whether what is committed stands anywhere but on this computer, as far as git was told."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitread import ask

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
        noted = ask(root, "for-each-ref", "--count=1", "refs/remotes", seconds=SECONDS)
        if not noted:
            return Copies(remote=False)
        line = "rev-list --timestamp HEAD --not --remotes --".split()
        times = [int(each.split()[0]) for each in ask(root, *line, seconds=SECONDS).splitlines()]
        since = dt.datetime.fromtimestamp(min(times)).astimezone() if times else None
    except (LedgerError, ValueError, OverflowError, OSError):
        return None
    return Copies(True, len(times), since)
