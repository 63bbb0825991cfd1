"""The papers that entries name: what they are called, and the digest of what is in them."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Files, OnDisk
from tankbook.ledger.ordinary import named, of_ledger
from tankbook.ledger.steps import digest
from tankbook.ledger.strays import kinds_of
from tankbook.records.station import Certificate, Station, certificates_of

_RECORDS = (".yaml", ".yml")
_AT_TOP = "./"
"""How the way begins to a paper that lies beside the ledger's own files, in no folder of it: a
name alone may be of one that never lay in the ledger."""
_TABLES = ".csv"
"""A table is a record at the top of the ledger, in the folder of its log, and by what is in it."""


def certificate_of(root: Path, file: Path) -> Certificate:
    """The paper that somebody named: of one in the ledger the way to it, of any other its name.

    Raises:
        LedgerError: it cannot be read, is no ordinary file, is too large or empty, is no paper, or
            lies elsewhere under the name of a file of the ledger.
    """
    top, at = Path(os.path.realpath(root)), Path.cwd() / file
    links = at.name == ".."
    real = Path(os.path.realpath(at if links else at.parent)) / ("" if links else at.name)
    inside = real.is_relative_to(top) and real != top
    name = real.relative_to(top).as_posix() if inside else real.name
    if not name.isprintable():
        raise LedgerError(ascii(name), "its name is no plain text", "rename it")
    own = LedgerError(name, "it is a file of the ledger's own, and no paper", "name the paper")
    if inside and not _is_plain(name):
        hidden = any(part.startswith(".") for part in name.split("/"))
        odd = LedgerError(name, "its name has a sign that a path is written with", "rename it")
        raise own if hidden else odd
    if inside and _is_own(name):
        raise own
    try:
        data = of_ledger(top, name) if inside else named(file)
    except FileNotFoundError as error:
        raise LedgerError(name, "there is no such file", "check the path") from error
    except LedgerError as error:
        raise LedgerError(error.path, error.text, "name the paper itself") from error
    if not data:
        raise LedgerError(name, "the file is empty", "name the paper itself")
    if inside and name.lower().endswith(_TABLES) and kinds_of(data):
        raise own
    if not inside and os.path.lexists(top / name):
        raise LedgerError(name, "the ledger has a file of that name", "name that one, or rename it")
    return Certificate(
        name=f"{_AT_TOP}{name}" if inside and "/" not in name else name, sha256=digest(data)
    )


def digests_of(station: Station, files: Files) -> dict[str, str]:
    """The digest of each file of the ledger that a certificate names; an empty text of one that
    cannot be read, or was in the ledger and is gone. A name alone may be of a paper that never lay
    here, and git need not have had every paper."""
    found = {}
    for said in dict.fromkeys(each.name for each in certificates_of(station)):
        name = said.removeprefix(_AT_TOP)
        if not _is_plain(name):
            continue
        if not files.exists(name):
            if "/" in said and isinstance(files, OnDisk):
                found[said] = ""
            continue
        try:
            found[said] = digest(_data(files, name))
        except LedgerError:
            found[said] = ""
    return found


def papers_in(station: Station, files: Files) -> dict[str, bytes]:
    """The files of the ledger that certificates name, as far as they can be read."""
    found = {}
    every = (each.name.removeprefix(_AT_TOP) for each in certificates_of(station))
    for name in dict.fromkeys(every):
        if _is_plain(name) and not _is_own(name) and files.exists(name):
            with suppress(LedgerError):
                found[name] = _data(files, name)
    return found


def _data(files: Files, name: str) -> bytes:
    """A file of the ledger; no folder on the way to it is a link.

    Raises:
        LedgerError: it cannot be read.
    """
    folders = name.split("/")[:-1]
    for count in range(1, len(folders) + 1):
        if in_way := files.in_way("/".join(folders[:count])):
            raise in_way
    return files.read(name)


def _is_own(name: str) -> bool:
    """Whether a file of the ledger is none that a paper may be: a record by its ending, a table
    where those of the ledger lie, or that of names and telephone numbers."""
    folder, _, last = name.lower().rpartition("/")
    table = last.endswith(_TABLES) and folder.split("/")[0] in ("", "fills")
    return last.endswith(_RECORDS) or table or last == "contacts.csv"


def _is_plain(name: str) -> bool:
    """Whether a name is of a file in the ledger, and of none that programs keep there."""
    odd = "\\" in name or ":" in name or not name.isprintable()
    return not odd and all(part and not part.startswith(".") for part in name.split("/"))
