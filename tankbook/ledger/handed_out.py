"""Putting what was made for others where the person who asked for it said: whole, or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from tankbook.ledger.atomic import put_out
from tankbook.ledger.errors import LedgerError, from_os

PDF_BEGINS = b"%PDF-"
OURS = b"tankbook"
LOOKED_AT = 1024
"""A file of ours names its maker this early."""


def write_out(path: Path, data: bytes, ending: str) -> None:
    """Write a file. An older PDF, or of another kind an older one of ours, is replaced; anything
    else never is.

    Raises:
        LedgerError: as `check_out`, or the disk refuses; the file is as it was.
    """
    check_out(path, ending)
    try:
        put_out(path, data)
    except OSError as error:
        raise from_os(str(path), error) from error


def check_out(path: Path, ending: str) -> None:
    """See whether a file could be written there, before the work of making it.

    Raises:
        LedgerError: the name does not have its ending, the folder
            is not there, or a file is that is no PDF, or of another kind that we did not make.
    """
    pdf = ending == ".pdf"
    if path.suffix.casefold() != ending:
        mend = "name a PDF file" if pdf else "name such a file"
        raise LedgerError(str(path), f"the name does not end in `{ending}`", mend)
    if not path.parent.is_dir():
        raise LedgerError(str(path), f"there is no folder {path.parent}", "make it first")
    try:
        if not os.path.lexists(path):
            return
        if not path.is_file():  # to look into a pipe would wait for whoever writes into it
            raise LedgerError(str(path), "it is no ordinary file", "name another file")
        with path.open("rb") as there:
            begins = there.read(LOOKED_AT)
    except OSError as error:
        raise from_os(str(path), error) from error
    if not (begins.startswith(PDF_BEGINS) if pdf else OURS in begins):
        whose = "that is no PDF is there already" if pdf else "is there that tankbook did not make"
        raise LedgerError(str(path), f"a file {whose}", "name another file")
