"""A folder of pages: what is ours in it, writing what changed, taking away what is gone.

Nothing that we did not write is ever written over or taken away.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.atomic import put_out, sync_folder
from tankbook.ledger.errors import LedgerError, refusing

LARGEST = 64 * 1024 * 1024
"""Bytes of a page that is read; a larger file is none of ours."""

LedgerOf = Callable[[bytes], str | None]
"""Of which ledger a file is a page; None where it is no page of ours."""


class PagesThere(Struct, frozen=True):
    """The pages in a folder that are of this ledger, by name, and the names of all other files."""

    pages: Mapping[str, bytes]
    others: Collection[str]


def look(folder: Path, root: Path, ledger: str, ledger_of: LedgerOf) -> PagesThere:
    """What is in a folder that pages are asked for, before the work of making them.

    Args:
        folder: where they go; it need not be there, but the folder it lies in must.
        root: the ledger's own folder.
        ledger: what its pages are known by.
        ledger_of: of which ledger a file is a page.

    Raises:
        LedgerError: it is in the ledger, holds the files of others and no page of ours, or pages of
            another ledger.
    """
    where = str(folder)
    real, own = Path(os.path.realpath(folder)), Path(os.path.realpath(root))
    if own in (real, *real.parents):
        raise LedgerError(
            where, "it lies in the ledger's own folder", "name a folder outside of it"
        )
    if not real.parent.is_dir():
        raise LedgerError(where, f"there is no folder {folder.parent}", "make it first")
    with refusing(where):
        if not os.path.lexists(folder):
            return PagesThere({}, ())
        if not folder.is_dir():
            raise LedgerError(where, "it is no folder", "name another")
        names = sorted(os.listdir(folder))  # noqa: PTH208
        read = {name: _page(folder / name) for name in names}
    of = {name: ledger_of(data) for name, data in read.items() if data is not None}
    pages = {n: d for n, d in read.items() if d is not None and of[n] == ledger}
    strange = sorted(n for n, whose in of.items() if whose is not None and whose != ledger)
    if strange:
        text = "it holds pages of another ledger, or of a day that was asked about"
        text += f", such as {strange[0]!a}"
        raise LedgerError(where, text, "name another folder, or empty it")
    others = [n for n in names if n not in pages and not _unfinished(n)]
    if others and not pages:
        text = f"it holds files and no page of ours, such as {others[0]!a}"
        raise LedgerError(where, text, "name a new folder or an empty one")
    return PagesThere(pages, others)


def _unfinished(name: str) -> bool:
    """Whether it is what a page was left as whose writing was broken off."""
    return name.startswith(".") and name.endswith(".tmp")


def _page(path: Path) -> bytes | None:
    """What a file holds that may be a page; None of any other, of links, pipes and folders."""
    if path.suffix != ".html":
        return None
    found = path.lstat()
    if not stat.S_ISREG(found.st_mode) or found.st_size > LARGEST:
        return None
    return path.read_bytes()


def check(folder: Path, there: PagesThere, names: Iterable[str]) -> None:
    """See that no page would be written over a file that is none of ours.

    Raises:
        LedgerError: one would.
    """
    strange = {name.casefold(): name for name in there.others}
    for name in names:
        if name in strange:
            text = "a file is there that tankbook did not make"
            raise LedgerError(str(folder / strange[name]), text, "move it away")


def write(folder: Path, pages: Iterable[tuple[str, bytes]]) -> list[str]:
    """Write each page whole or not at all, in the order given, and name them.

    Raises:
        LedgerError: the disk refuses; the page is as it was, and those after it.
    """
    done = []
    with refusing(str(folder)):
        folder.mkdir(exist_ok=True)
    for name, data in pages:
        with refusing(str(folder / name)):
            put_out(folder / name, data)
        done.append(name)
    with refusing(str(folder)):
        sync_folder(folder)
    return done


def remove(folder: Path, names: Iterable[str], ledger: str, ledger_of: LedgerOf) -> list[str]:
    """Take pages away that are still ours, and name them.

    Raises:
        LedgerError: the disk refuses.
    """
    gone = []
    for name in names:
        with refusing(str(folder / name)):
            data = _page(folder / name)
            if data is not None and ledger_of(data) == ledger:
                (folder / name).unlink()
                gone.append(name)
    return gone
