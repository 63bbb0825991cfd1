"""Asking whoever records whether what a repository names may run when it is committed to."""

from __future__ import annotations

from pathlib import Path

from tankbook.cli import keys


def ask_leave(root: Path, commit: bool | None) -> None:
    """Name what a commit would run, and ask at a terminal whether it may, here and from now on.

    Nobody is asked where nothing is to be committed or nothing would run; who says no has the act
    recorded, and its commit left. Raises nothing: what stands in the way is told with the commit.
    """
    if commit is False or not keys.is_terminal():
        return
    from tankbook.ledger.commit import allow, programs_of
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.files import OnDisk
    from tankbook.ledger.part import settings_of

    try:
        if commit is None and not settings_of(OnDisk(root)).commit:
            return
        programs = programs_of(root)
        if not programs.why_not:
            return
        keys.say(f"Committing runs what this repository names: {', '.join(programs.named)}\n")
        if keys.key("May it run, here and from now on? [y]es [n]o: ", "ynq") == "y":
            allow(root, programs)
    except LedgerError:
        return
