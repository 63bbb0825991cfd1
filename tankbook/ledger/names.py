"""What a ledger's files and folders are called, where it is found, and what an id's tail means.

Names and paths arrive from outside, so both are suspected."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from string import digits

from tankbook.ledger.errors import LedgerError
from tankbook.records.audited import AUDITED_PATH
from tankbook.units.patterns import pattern

SETTINGS_FILE = "tankbook.yaml"
STATION_FILE = "station.yaml"
SINGLE = (SETTINGS_FILE, STATION_FILE, AUDITED_PATH)
"""The files beside the folders that do not go without a word."""

ENDINGS = {
    "cylinders": ".yaml",
    "sets": ".yaml",
    "rules": ".yaml",
    "checklists": ".yaml",
    "fills": ".csv",
}
"""The folders whose files do not go without a word, with how their names end."""
CARDS = ("cylinders", "sets")
LOGS = "fills"


def find_root(start: Path) -> Path:
    """The ledger that `start` lies in: the nearest folder upward that holds tankbook.yaml.

    Raises:
        LedgerError: there is none.
    """
    for folder in (start, *start.parents):
        if os.path.lexists(folder / SETTINGS_FILE):
            return folder
    text = f"no {SETTINGS_FILE} here or in any folder above"
    raise LedgerError(
        str(start), text, "name the ledger with --ledger DIR, or make one with `tankbook init DIR`"
    )


def tops(root: Path) -> Iterator[tuple[Path, tuple[str, ...]]]:
    """The folders with a `.git` in them that a ledger lies in or below, the nearest first, and the
    way from each to the ledger.

    A folder reached through a symbolic link is looked for where the link lies, then where it leads.
    """
    written, real = Path(os.path.abspath(root)), Path(os.path.realpath(root))  # noqa: PTH100
    seen = set()
    for start in (written, real) if written.exists() and written.samefile(real) else (real,):
        for top in (start, *start.parents):
            place = Path(os.path.realpath(top)), start.relative_to(top).parts
            if os.path.lexists(place[0] / ".git") and place not in seen:
                seen.add(place)
                yield place


def resolve_among(known: Sequence[str], text: str, serials: Iterable[tuple[str, str]] = ()) -> str:
    """As `resolve`, among ids that are known, and pairs of id and serial.

    Raises:
        LedgerError: no id, or more than one, ends so.
    """
    if text in known:
        return text
    wanted = text.casefold()
    exact = [k for k in known if k.casefold() == wanted]
    number = wanted.lstrip("0") if wanted.isdigit() else ""
    tails = exact or [
        k for k in known if k.casefold().endswith(wanted) or (number and _tail_number(k) == number)
    ]
    tails = tails or [id_ for id_, serial in serials if serial.casefold() == wanted]
    if len(tails) == 1:
        return tails[0]
    if not tails:
        raise LedgerError(
            text, "no cylinder or set of this ledger ends so", "`tankbook list` shows them all"
        )
    shown = ", ".join(sorted(tails)[:8])
    raise LedgerError(text, f"{len(tails)} ids end so: {shown}", "write more of it")


def _tail_number(id_: str) -> str:
    return id_[len(id_.rstrip(digits)) :].lstrip("0")


PRIVATE_FOLDER = ".tankbook"
"""Holds the lock and the journal; git ignores it."""
JOURNAL = f"{PRIVATE_FOLDER}/journal"

_ID = pattern(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_DEVICES = {"con", "prn", "aux", "nul", *(f"{p}{n}" for p in ("com", "lpt") for n in range(10))}
_CLOSED = {".git", PRIVATE_FOLDER}


def is_record(folder: str, name: str) -> bool:
    """Whether a file in a folder is read as a record or a log."""
    return name.endswith(ENDINGS[folder]) and not name.startswith(".")


def would_be_missed(path: str) -> bool:
    """Whether a file of the ledger, by its path in it, does not go without a word."""
    folder, _, name = path.rpartition("/")
    return path in SINGLE or (folder in ENDINGS and is_record(folder, name))


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
