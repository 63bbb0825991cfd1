"""Changing one file whole or not at all.

What is written is on the disk when these functions return. Only the holder of the ledger's lock
may call them.
"""

from __future__ import annotations

import errno
import os
import stat
import sys
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path

from tankbook.ledger.errors import LedgerError, from_os, refusing
from tankbook.ledger.names import within
from tankbook.units.patterns import pattern

_TEMPORARY = pattern(r"\..+\.[0-9a-f]{8}\.tmp")
_OTHERS_LET_GO = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
"""Seconds between two tries of a move (own choice)."""
_SWEPT = 3
"""How often what is put out is begun again: each time another act must have just begun."""
PLAIN = getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
"""Flags of every file opened for writing: bytes as they are, no symbolic link, not inherited."""


def write_atomic(root: Path, path: str, data: bytes) -> None:
    """Make `data` the content of the file at `path`, relative to the ledger.

    A file that is there keeps its permissions; a folder that is not is made.

    Raises:
        LedgerError: the disk refuses, or the path leads elsewhere; the file is as it was unless the
            text says otherwise.
    """
    target = _ordinary(root, path)
    with refusing(path):
        swap(target, data)
    try:
        sync_folder(target.parent)
    except OSError as error:
        told = from_os(path, error)
        said = f"{told.text}; the file is written but may not outlive a power cut"
        raise LedgerError(path, said, told.mend) from error


def append(root: Path, path: str, data: bytes) -> None:
    """Add `data` to the end of the file at `path`, relative to the ledger.

    Raises:
        LedgerError: there is no such file, or the disk refuses; the file is as it was unless the
            text says otherwise.
    """
    target = _ordinary(root, path)
    with refusing(path):
        descriptor = os.open(target, os.O_RDWR | os.O_APPEND | PLAIN)
    try:
        length = os.fstat(descriptor).st_size
        try:
            _write_all(descriptor, data)
            os.fsync(descriptor)
        except BaseException as error:
            _cut_back(descriptor, length, path)
            if isinstance(error, OSError):
                raise from_os(path, error) from error
            raise
    finally:
        with suppress(OSError):  # it is on the disk by now, or taken back
            os.close(descriptor)


def truncate(root: Path, path: str, length: int) -> None:
    """Cut the file at `path`, relative to the ledger, to its first `length` bytes.

    Raises:
        LedgerError: the disk refuses.
    """
    target = _ordinary(root, path)
    with refusing(path), opened(target, os.O_RDWR) as descriptor:
        os.ftruncate(descriptor, length)
        os.fsync(descriptor)


@contextmanager
def closing(descriptor: int) -> Iterator[int]:
    """An open file, which is closed with the block."""
    try:
        yield descriptor
    finally:
        os.close(descriptor)


def opened(target: Path, how: int) -> AbstractContextManager[int]:
    """A file opened as it is, no link followed, and closed with the block. Raises OSError."""
    return closing(os.open(target, how | PLAIN, 0o666))


def is_temporary(name: str) -> bool:
    """Whether a file is one that `write_atomic` has not finished."""
    return _TEMPORARY.fullmatch(name) is not None


def sweep(root: Path) -> None:
    """Remove what killed writers left in the ledger and in its folders."""
    with suppress(OSError):
        inner = (each for each in root.iterdir() if each.is_dir() and not each.is_symlink())
        folders = [root, *inner]
        for name in (each for folder in folders for each in folder.iterdir()):
            if is_temporary(name.name) and not name.is_dir():
                with suppress(OSError):
                    name.unlink()


def swap(target: Path, data: bytes) -> None:
    """Put `data` in the place of what is at a real path; `sync_folder` then settles the name.

    Raises OSError, the file being as it was.
    """
    make_folder(target.parent)
    import secrets  # what only reads does without

    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | PLAIN, 0o666)
    try:
        with closing(descriptor):
            _write_all(descriptor, data)
            _keep_permissions(descriptor, target)
            os.fsync(descriptor)
        put_in_place(temporary, target)
    except BaseException:
        with suppress(OSError):
            temporary.unlink()
        raise


def put_in_place(source: Path, target: Path) -> None:
    """Move what is at `source` over what is at `target`, whole or not at all.

    Windows moves nothing over a file that another program has open, as a virus scanner does for a
    moment with each new file: there it is tried again for a while. Raises OSError.
    """
    for pause in _OTHERS_LET_GO if sys.platform == "win32" else ():
        with suppress(PermissionError):
            os.replace(source, target)  # noqa: PTH105 - as below
            return
        time.sleep(pause)
    os.replace(source, target)  # noqa: PTH105 - one of the calls the crash tests cut off


def put_out(target: Path, data: bytes) -> None:
    """As `swap`, for a file that is no record, so that the lock need not be held for it.

    Where it is put into a ledger's folders, a writer may sweep away what is not whole yet; it is
    begun again then. Raises OSError, the file being as it was.
    """
    for _ in range(_SWEPT):
        with suppress(FileNotFoundError):
            swap(target, data)
            return
    swap(target, data)


def sync_folder(folder: Path) -> None:
    """See to it that names made or removed in `folder` outlive a power cut. Raises OSError."""
    if sys.platform == "win32":  # has no such call
        return
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    with closing(descriptor):
        try:
            os.fsync(descriptor)
        except OSError as error:
            if error.errno != errno.EINVAL:  # a network disk that cannot
                raise


def settle(root: Path, path: str) -> None:
    """See to it that the file at `path`, as another process left it, outlives a power cut: that
    process may have died before it did. A file that is not there stays away.

    Raises:
        LedgerError: the disk refuses.
    """
    target = within(root, path)
    with refusing(path):
        with suppress(FileNotFoundError):
            # a file may be read-only; Windows settles only what may be written
            how = os.O_RDWR if sys.platform == "win32" else os.O_RDONLY
            with opened(target, how) as descriptor:
                os.fsync(descriptor)
        if target.parent.is_dir():
            sync_folder(target.parent)


def _ordinary(root: Path, path: str) -> Path:
    target = within(root, path)
    with suppress(OSError):
        if not stat.S_ISREG(target.stat().st_mode):
            raise LedgerError(path, "this is not an ordinary file", "move it out of the way")
    return target


def make_folder(folder: Path) -> None:
    """Make a folder, and those it lies in, where they are not there. Raises OSError."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    sync_folder(folder.parent)


def _write_all(descriptor: int, data: bytes) -> None:
    """One write, but for a disk that is filling up: the second then tells why."""
    done = os.write(descriptor, data)
    while done < len(data):
        done += os.write(descriptor, data[done:])


def _keep_permissions(descriptor: int, target: Path) -> None:
    if sys.platform != "win32":
        with suppress(FileNotFoundError):
            os.fchmod(descriptor, stat.S_IMODE(target.stat().st_mode))


def _cut_back(descriptor: int, length: int, path: str) -> None:
    try:
        os.ftruncate(descriptor, length)
        os.fsync(descriptor)
    except OSError as error:
        told = from_os(path, error)
        left = f"{told.text}, and part of a line may be left at its end"
        raise LedgerError(path, left, f"delete that part; {told.mend}") from error
