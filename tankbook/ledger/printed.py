"""Putting a finished file where the person who asked for it said: whole, or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from tankbook.ledger.atomic import put_out
from tankbook.ledger.errors import LedgerError, from_os

PDF_BEGINS = b"%PDF-"


def write_pdf(path: Path, data: bytes) -> None:
    """Write a PDF. An older PDF of that name is replaced; a file of another kind never is.

    Raises:
        LedgerError: the name is not a PDF's, the folder is not there, or the disk refuses; the
            file is as it was.
    """
    check_pdf(path)
    try:
        put_out(path, data)
    except OSError as error:
        raise from_os(str(path), error) from error


def check_pdf(path: Path) -> None:
    """See whether a PDF could be written there, before the work of making it.

    Raises:
        LedgerError: as `write_pdf`.
    """
    if path.suffix.casefold() != ".pdf":
        raise LedgerError(str(path), "the name does not end in `.pdf`", "name a PDF file")
    if not path.parent.is_dir():
        raise LedgerError(str(path), f"there is no folder {path.parent}", "make it first")
    try:
        if not os.path.lexists(path):
            return
        if not path.is_file():  # to look into a pipe would wait for whoever writes into it
            raise LedgerError(str(path), "it is no ordinary file", "name another file")
        with path.open("rb") as there:
            if there.read(len(PDF_BEGINS)) == PDF_BEGINS:
                return
    except OSError as error:
        raise from_os(str(path), error) from error
    raise LedgerError(str(path), "a file that is no PDF is there already", "name another file")
