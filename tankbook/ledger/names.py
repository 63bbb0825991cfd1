"""Which names and paths a ledger may use. Both arrive from outside, so both are suspected."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from tankbook.ledger.errors import LedgerError
from tankbook.units.patterns import pattern

PRIVATE_FOLDER = ".tankbook"
"""Holds the lock and the journal; git ignores it."""

_ID = pattern(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_DEVICES = {"con", "prn", "aux", "nul", *(f"{p}{n}" for p in ("com", "lpt") for n in range(10))}
_CLOSED = {".git", PRIVATE_FOLDER}


def is_safe_id(text: str) -> bool:
    """Whether an id may name a file on every system.

    Up to 64 letters, digits, `.`, `_` and `-`, beginning with a letter or digit; neither `..` in it
    nor a dot at its end; not a device name of Windows.
    """
    return (
        _ID.fullmatch(text) is not None
        and ".." not in text
        and not text.endswith(".")
        and text.partition(".")[0].casefold() not in _DEVICES
    )


def within(root: Path, path: str) -> Path:
    """Where the file `path`, relative to the ledger and with `/`, really lies.

    Symbolic links are followed as long as they stay in the ledger.

    Raises:
        LedgerError: the path is not a plain one, leads out of the ledger's own files or to itself,
            or what is there is neither a file nor a folder.
    """
    parts = path.split("/")
    if "\\" in path or ":" in path or not path.isprintable() or {"", ".", ".."} & set(parts):
        raise LedgerError(ascii(path), "this is not a path inside a ledger", "check the name")
    top = os.path.realpath(root)
    real = os.path.realpath(Path(top, *parts))
    if os.path.commonpath([top, real]) != top or real == top:
        mend = "replace the symbolic link by the file itself"
        raise LedgerError(path, "this leads out of the ledger", mend)
    for part in (*parts, *Path(real).relative_to(top).parts):
        if part.casefold() in _CLOSED:
            raise LedgerError(path, f"{part} holds no records", "check the name")
    _refuse_odd(real, path)
    return Path(real)


def _refuse_odd(real: str, path: str) -> None:
    """Refuse what is neither a file nor a folder: opening a pipe waits for a writer."""
    try:
        mode = os.lstat(real).st_mode
    except OSError:
        return  # none is there yet, or whoever opens it is told why not
    if stat.S_ISLNK(mode):
        mend = "replace the symbolic link by the file itself"
        raise LedgerError(path, "it is a link that leads to itself", mend)
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        raise LedgerError(path, "it is no ordinary file", "put the record itself here")
