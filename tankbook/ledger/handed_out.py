"""Putting what was made for others where the person who asked for it said: whole, or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from tankbook.ledger.atomic import put_out
from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.printed import check_pdf

OURS = b"tankbook"
LOOKED_AT = 1024
"""A file of ours names its maker this early."""


def write_out(path: Path, data: bytes, ending: str) -> None:
    """Write a file. An older one of ours is replaced; anything else never is.

    Raises:
        LedgerError: as `check_out`; the file is as it was.
    """
    check_out(path, ending)
    try:
        put_out(path, data)
    except OSError as error:
        raise from_os(str(path), error) from error


def check_out(path: Path, ending: str) -> None:
    """See whether a file could be written there, before the work of making it.

    Raises:
        LedgerError: the name does not have its ending, the folder is not there, or a file is that
            we did not make.
    """
    if ending == ".pdf":
        check_pdf(path)
        return
    if path.suffix.casefold() != ending:
        raise LedgerError(str(path), f"the name does not end in `{ending}`", "name such a file")
    if not path.parent.is_dir():
        raise LedgerError(str(path), f"there is no folder {path.parent}", "make it first")
    try:
        if not os.path.lexists(path):
            return
        if not path.is_file():  # to look into a pipe would wait for whoever writes into it
            raise LedgerError(str(path), "it is no ordinary file", "name another file")
        with path.open("rb") as there:
            if OURS in there.read(LOOKED_AT):
                return
    except OSError as error:
        raise from_os(str(path), error) from error
    raise LedgerError(str(path), "a file is there that tankbook did not make", "name another file")
