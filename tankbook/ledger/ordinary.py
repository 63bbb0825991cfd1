"""Opening files that may be anything: pipes, devices, sockets, folders, links to elsewhere.

Whoever hands a ledger on may have put any of these where a record is wanted. Opening must wait for
nobody, a link must not bring in what the ledger does not hold, and no more is read than may be.
"""

from __future__ import annotations

import errno
import os
import stat
import sys
from functools import lru_cache
from pathlib import Path
from typing import BinaryIO

from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.names import within
from tankbook.ledger.text import LOG_LIMIT, RECORD_LIMIT

_FLAGS = os.O_RDONLY | sum(
    getattr(os, name, 0) for name in ("O_NONBLOCK", "O_CLOEXEC", "O_BINARY", "O_NOCTTY")
)
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)
_IS_LINK = {errno.ELOOP, errno.EMLINK}
"""What systems say to the opening of a link that is not to be followed."""
_NO_FILE = {errno.ENXIO, errno.EOPNOTSUPP, errno.ENODEV}
"""What systems say to the opening of a socket, or of a device that is not there."""

_PAPERS = (".pdf", ".jpg", ".jpeg", ".png", ".heic", ".tif", ".tiff", ".json", ".xlsx")
"""What may lie beside the records: papers, and the ledger as it was taken out."""

_MEND = "put the record itself here"
_NAME_A_FILE = "save it as a file and name that"


class TooLarge(LedgerError):
    """A file of more bytes than are read."""


def size_limit_of(path: str) -> int:
    """The largest file that is read, in bytes: a paper may be as large as a log."""
    return LOG_LIMIT if path.lower().endswith((".csv", *_PAPERS)) else RECORD_LIMIT


def ordinary(file: str | Path, path: str, limit: int, *, links: bool = True) -> bytes:
    """The bytes of an ordinary file. Opening waits for nobody, whatever the file is.

    Args:
        file: where it lies.
        path: what it is called in what is told of it.
        limit: the most bytes it may have.
        links: whether a symbolic link stands for what it leads to.

    Raises:
        OSError: the system refuses; ELOOP or EMLINK for a link that is not followed.
        LedgerError: it is no ordinary file, or larger than `limit` bytes.
    """
    try:
        opened = os.open(file, _FLAGS if links else _FLAGS | _NO_LINK)
    except OSError as error:
        if error.errno in _NO_FILE:
            raise LedgerError(path, "it is no ordinary file", _MEND) from error
        raise
    try:
        found = os.fstat(opened)
        if stat.S_ISDIR(found.st_mode):
            raise from_os(path, OSError(errno.EISDIR, ""))
        if not stat.S_ISREG(found.st_mode):
            raise LedgerError(path, "it is no ordinary file", _MEND)
        if found.st_size > limit:
            raise _too_large(path, found.st_size, limit)
        data = os.read(opened, min(found.st_size, limit) + 1)
        while found.st_size < len(data) <= limit and (more := os.read(opened, limit)):
            data += more  # it grew in the meantime, or its size is not told
    finally:
        os.close(opened)
    if len(data) > limit:
        raise _too_large(path, len(data), limit)
    return data


def of_ledger(root: Path, path: str) -> bytes:
    """The bytes of a file of the ledger at `root`; `path` is relative to it.

    No symbolic link is followed: git keeps where it leads and not what is there, so that what it
    led to then could not be told.

    Raises:
        LedgerError: it cannot be read, is no ordinary file, is too large, or is a link.
        FileNotFoundError: there is none, not even a link.
    """
    where = f"{root}/{path}"
    try:
        if not _NO_LINK and Path(where).is_symlink():  # where the system cannot tell on opening
            raise _linked(root, path)
        return ordinary(where, path, size_limit_of(path), links=False)
    except FileNotFoundError:
        raise
    except OSError as error:
        if error.errno not in _IS_LINK:
            raise from_os(path, error) from error
    raise _linked(root, path)


def _linked(root: Path, path: str) -> LedgerError:
    """Why a link is not read."""
    try:
        real = within(root, path)
    except LedgerError as error:
        return error
    if not os.path.lexists(real):
        return LedgerError(path, "it is a link that leads nowhere", _MEND)
    return LedgerError(path, "it is a symbolic link", "replace it by the file itself")


def folder_in_way(root: Path, folder: str) -> LedgerError | None:
    """Why the files of a ledger's folder cannot be read; None where they can, or there is none."""
    where = root / folder
    try:
        found = os.lstat(where)
        if stat.S_ISLNK(found.st_mode):
            return _folder_linked(root, folder)
        if not stat.S_ISDIR(found.st_mode):
            return from_os(folder, OSError(errno.ENOTDIR, ""))
        if not os.access(where, os.R_OK | os.X_OK):
            return from_os(folder, OSError(errno.EACCES, ""))
    except FileNotFoundError:
        return None
    except OSError as error:
        return from_os(folder, error)
    return None


def _folder_linked(root: Path, folder: str) -> LedgerError:
    mend = "put the folder itself here"
    try:
        real = within(root, folder)
    except LedgerError as error:
        return error
    if real.is_dir():
        return LedgerError(folder, "it is a symbolic link", mend)
    loops = real.is_symlink()
    text = f"it is a link that leads {'to itself' if loops else 'nowhere, or to no folder'}"
    return LedgerError(folder, text, mend)


def named(file: Path, limit: int = LOG_LIMIT) -> bytes:
    """The bytes of a file that somebody named, by whatever links.

    Raises:
        LedgerError: it cannot be read, is no ordinary file, or is larger than `limit` bytes.
    """
    try:
        return ordinary(file, str(file), limit)
    except OSError as error:
        raise from_os(str(file), error) from error
    except LedgerError as error:
        mend = _NAME_A_FILE if error.mend == _MEND else error.mend
        raise LedgerError(error.path, error.text, mend) from error


STANDARD_INPUT = "-"
"""What stands for standard input where a file is read."""


def given(file: Path, limit: int = LOG_LIMIT) -> bytes:
    """As `named`; of `-`, what comes by standard input, up to its end.

    Raises:
        LedgerError: as `named`, or nobody gives anything: standard input is a keyboard, or closed.
    """
    if str(file) != STANDARD_INPUT:
        return named(file, limit)
    stream = getattr(sys.stdin, "buffer", None)
    if stream is None or sys.stdin.isatty():
        said = "nothing comes by standard input"
        raise LedgerError(
            STANDARD_INPUT, said, "give it by a pipe, as in `cat FILE | tankbook ...`"
        )
    try:
        data = _all_of(stream)
    except OSError as error:
        raise from_os(STANDARD_INPUT, error) from error
    if len(data) > limit:
        raise _too_large(STANDARD_INPUT, len(data), limit)
    return data


@lru_cache(maxsize=1)
def _all_of(stream: BinaryIO) -> bytes:
    """What a stream gives, up to more than any file may hold. It is read once: who asks again, as
    where the ledger moved meanwhile, is told the same."""
    return stream.read(LOG_LIMIT + 1)


def _too_large(path: str, size: int, limit: int) -> LedgerError:
    text = f"the file has {size:,} bytes, more than the {limit:,} allowed"
    return TooLarge(path, text, "is this the right file?")
