"""Putting what was made for others where the person who asked for it said: whole, or not at all."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from tankbook.ledger.atomic import put_out
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.names import ENDINGS, SETTINGS_FILE
from tankbook.ledger.tables import MOST_BYTES, is_export

PDF = ".pdf"
WORKBOOK = ".xlsx"
PDF_BEGINS = b"%PDF-"
OURS = b"tankbook"
LOOKED_AT = 1024
"""A file of ours names its maker this early."""


def write_out(path: Path, data: bytes, ending: str = PDF) -> None:
    """Write a file. An older one of ours is replaced, and of PDF files any; nothing else ever is.

    Raises:
        LedgerError: as `check_out`, or the disk refuses; the file is as it was.
    """
    check_out(path, ending)
    with refusing(path):
        put_out(path, data)


def write_all(folder: Path, files: Mapping[str, bytes], ending: str) -> None:
    """Write several files into a folder, which is made where it is not there, or none of them.

    Raises:
        LedgerError: as `write_out`, of any of them.
    """
    with refusing(folder):
        made = not folder.is_dir()
        if made:
            folder.mkdir()
    try:
        for name in files:
            check_out(folder / name, ending)
    except LedgerError:
        if made:
            folder.rmdir()
        raise
    for name, data in files.items():
        write_out(folder / name, data, ending)


def check_out(path: Path, ending: str = PDF) -> None:
    """See whether a file could be written there, before the work of making it.

    Raises:
        LedgerError: the name does not have its ending, the folder is not there or one of records,
            or a file is that may not be replaced.
    """
    pdf = ending == PDF
    if path.suffix.casefold() != ending:
        such = "a PDF file" if pdf else "such a file"
        raise LedgerError(str(path), f"the name does not end in `{ending}`", f"name {such}")
    if not path.parent.is_dir():
        raise LedgerError(str(path), f"there is no folder {path.parent}", "make it first")
    if _holds_records(path.parent):
        text = f"{path.parent} holds records, and what is made of them lies elsewhere"
        raise LedgerError(str(path), text, "name a file in another folder")
    with refusing(path):
        if not os.path.lexists(path):
            return
        if not path.is_file():  # to look into a pipe would wait for whoever writes into it
            raise LedgerError(str(path), "it is no ordinary file", "name another file")
        with path.open("rb") as there:
            begins = there.read(MOST_BYTES if ending == WORKBOOK else LOOKED_AT)
    ours = is_export(begins) if ending == WORKBOOK else OURS in begins
    if not (begins.startswith(PDF_BEGINS) if pdf else ours):
        other = "a file that is no PDF is there already"
        text = other if pdf else "a file is there that tankbook did not make"
        raise LedgerError(str(path), text, "name another file")


def _holds_records(folder: Path) -> bool:
    """Whether a folder is one of a ledger's own, or lies in git's."""
    real = folder.resolve()
    above = (real, *real.parents)
    return any(
        each.name == ".git" or (each.name in ENDINGS and (each.parent / SETTINGS_FILE).exists())
        for each in above
    )
