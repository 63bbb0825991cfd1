"""One writer at a time: the lock of a ledger.

The lock is the kernel's, on an open file, so that it ends with the process however that ends.
"""

from __future__ import annotations

import datetime as dt
import os
import platform
import random
import re
import stat
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.atomic import PLAIN, closing, opened, swap, sync_folder
from tankbook.ledger.errors import LedgerError, from_os, refusing
from tankbook.ledger.names import JOURNAL, PRIVATE_FOLDER
from tankbook.units.patterns import pattern

LOCK = f"{PRIVATE_FOLDER}/lock"
HERE = f"{PRIVATE_FOLDER}/here"
"""Says which folder of which machine is written."""
LARGEST = 1 << 28
"""Bytes of the largest file of the ledger's own folder that is read (own bound)."""
PATIENCE = 10.0
"""How long to wait for another writer, in seconds."""

# Short and uneven, so that a writer of many acts, who lets go for a moment only, starves nobody.
_PAUSES = (0.001, 0.008)
_SIGNED = pattern(r"(\d{1,10}) ([\w.-]{1,255}) ([\dT:+-]{1,40})\n")

if sys.platform == "win32":
    import msvcrt

    # Windows forbids reading what is locked, so a byte far past the holder's name is.
    _FAR = 1 << 20

    def _try_lock(descriptor: int) -> bool:
        os.lseek(descriptor, _FAR, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _try_lock(descriptor: int) -> bool:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


Tell = Callable[[str], None]
"""Says something to whoever gave the command."""


def nobody(_: str) -> None:
    """Nobody is there to be told."""


class HeldLock(Struct):
    """Proof that the ledger at `root` is locked since a moment, as long as `active`."""

    root: Path
    since: dt.datetime
    active: bool = True


@contextmanager
def hold(root: Path, patience: float = PATIENCE) -> Iterator[HeldLock]:
    """Lock the ledger at `root` while the block runs, waiting up to `patience` seconds.

    Raises:
        LedgerError: another process has it, or the disk refuses.
    """
    with closing(_open(root)) as descriptor:
        _wait(descriptor, root, patience)
        private_folder(root)  # only now: another writer sweeps away what is not whole yet
        held = HeldLock(root, dt.datetime.now().astimezone().replace(microsecond=0))
        try:
            _sign(descriptor, held.since)
            yield held
        finally:
            held.active = False


@contextmanager
def alone(folder: Path, patience: float) -> Iterator[None]:
    """Lock a folder of our own that is no ledger's, and is made if need be, while the block runs.

    Raises:
        LedgerError: another process has it for longer than `patience` seconds, or it is a link.
        OSError: the disk refuses.
    """
    with opened(_own_folder(folder) / "lock", os.O_RDWR | os.O_CREAT) as descriptor:
        _wait(descriptor, folder, patience)
        yield


def private_folder(root: Path) -> Path:
    """The ledger's own folder, made if need be, and ignored by git whatever else is.

    Only the holder of the lock may ask for it.

    Raises:
        LedgerError: it is a link to elsewhere, or the disk refuses.
    """
    with refusing(PRIVATE_FOLDER):
        folder = _own_folder(root / PRIVATE_FOLDER)
        if _is_blank(folder / ".gitignore"):
            swap(folder / ".gitignore", b"*\n")
    return folder


def _own_folder(folder: Path) -> Path:
    """A folder of our own, made if need be. Raises OSError, and LedgerError for a link."""
    if not folder.is_dir():
        folder.mkdir(exist_ok=True)
        sync_folder(folder.parent)  # else a power cut may take the journal with its folder
    if folder.is_symlink():
        said = "this is a link to another folder"
        raise LedgerError(folder.name, said, "remove it: tankbook makes a folder of its own")
    return folder


def _is_blank(file: Path) -> bool:
    """Whether there is no such file, or one that a power cut left without its content."""
    try:
        data = plain_read(file, PRIVATE_FOLDER)
    except LedgerError:  # whatever that is, it is not ours
        return False
    return not (data or b"").strip(b"\0")


def until_after(seconds: float) -> float:
    """The moment from which nobody waits any longer, for `seconds_left`."""
    return time.monotonic() + seconds


def seconds_left(until: float) -> float:
    """How many seconds are left to wait, never fewer than none."""
    return max(until - time.monotonic(), 0.0)


def mark_here(root: Path) -> None:
    """Note that this machine writes the ledger in this folder. Failing that, readers only look."""
    with suppress(OSError, LedgerError):
        mark = _mark(root)
        if plain_read(root / HERE, HERE) != mark:
            # First its own folder: who made it may have died before it settled that.
            sync_folder(root)
            swap(root / HERE, mark)
            sync_folder(root / PRIVATE_FOLDER)


def is_here(root: Path) -> bool:
    """Whether this machine has written the ledger in this folder: a copy of it is another."""
    try:
        return plain_read(root / HERE, HERE) == _mark(root)
    except (OSError, LedgerError):
        return False


def _mark(root: Path) -> bytes:
    folder = os.lstat(root / PRIVATE_FOLDER)
    return f"{platform.node()} {folder.st_ino}\n".encode("utf-8", "replace")


def is_locked(root: Path) -> bool:
    """Whether a process has the lock, as far as can be told without writing anything."""
    with suppress(OSError), opened(root / LOCK, os.O_RDONLY) as descriptor:
        return not _try_lock(descriptor)
    return False


def journal_stands(root: Path) -> bool:
    """Whether there is a journal, or one may be there that cannot be looked at."""
    try:
        os.lstat(root / JOURNAL)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError:
        return True
    return True


def plain_read(file: Path, path: str) -> bytes | None:
    """What is in an ordinary file of the ledger's own folder, None where there is none.

    Raises:
        LedgerError: it is no ordinary file, too large, or the disk refuses.
    """
    try:
        found = os.lstat(file)
        if not stat.S_ISREG(found.st_mode) or found.st_size > LARGEST:
            said = "this is not an ordinary file" if found.st_size <= LARGEST else "it is too large"
            raise LedgerError(path, said, "move it out of the way")
        return file.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise from_os(path, error) from error


def _open(root: Path) -> int:
    with refusing(PRIVATE_FOLDER):
        folder = _own_folder(root / PRIVATE_FOLDER)
    with refusing(LOCK):
        return os.open(folder / "lock", os.O_RDWR | os.O_CREAT | PLAIN, 0o666)


def _wait(descriptor: int, root: Path, patience: float) -> None:
    until = time.monotonic() + patience
    with refusing(LOCK):
        while not _try_lock(descriptor):
            if time.monotonic() >= until:
                mend = "wait until it is done, or end it, and try again"
                raise LedgerError(LOCK, f"the ledger is being written by {_holder(root)}", mend)
            time.sleep(random.uniform(*_PAUSES))


def _sign(descriptor: int, since: dt.datetime) -> None:
    """Note who holds the lock, for whoever waits in vain."""
    host = re.sub(r"[^\w.-]", "_", platform.node()) or "unknown"
    with suppress(OSError):  # a full disk is no reason not to lock
        os.lseek(descriptor, 0, os.SEEK_SET)
        os.ftruncate(descriptor, 0)
        os.write(descriptor, f"{os.getpid()} {host} {since.isoformat()}\n".encode())


def _holder(root: Path) -> str:
    try:
        written = (root / LOCK).read_text(encoding="utf-8", errors="replace")
    except OSError:
        written = ""
    signed = _SIGNED.fullmatch(written)
    if signed is None:
        return "another process"
    return f"process {signed[1]} on {signed[2]} since {signed[3]}"
