"""A folder of pages: what is ours in it, writing what changed, taking away what is gone.

Nothing that we did not write is ever written over or taken away.
"""

from __future__ import annotations

import hashlib
import os
import socket
import stat
from collections.abc import Callable, Collection, Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.atomic import put_out, sync_folder
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.gitread import Repository, ask_text

LARGEST = 64 * 1024 * 1024
"""Bytes of a page that is read; a larger file is none of ours."""

LedgerOf = Callable[[bytes], str | None]
"""Of which ledger a file is a page; None where it is no page of ours."""


class PagesThere(Struct, frozen=True):
    """The pages in a folder that are of this ledger, by name, and the names of all other files."""

    pages: Mapping[str, bytes]
    others: Collection[str]


def known_by(root: Path, name: str, kind: str = "") -> tuple[str, ...]:
    """What the pages of a ledger may be known by, the surest first.

    Git knows a ledger by its first commit and its folder, wherever it was cloned to. Where git does
    not say, it is the folder of this computer, which still counts once git says more. Its name
    counts as well: two that were begun as copies of one are told apart by it.

    Args:
        root: the ledger's folder.
        name: what it is called.
        kind: what tells pages of one kind from those of another, in folders of their own.
    """
    ways = [f"folder\0{socket.gethostname()}\0{os.path.realpath(root)}"]
    begun = _first_commit(root)
    ways = [f"git\0{begun}", *ways] if begun else ways
    said = (f"{way}\0{name}\0{kind}".encode("utf-8", "surrogateescape") for way in ways)
    return tuple(hashlib.sha256(each).hexdigest()[:32] for each in said)


def _first_commit(root: Path) -> str:
    """The first commit of a ledger's history and its folder there; an empty text where git cannot
    say, as in a shallow clone."""
    try:
        repository = Repository.of(root)
        if repository.shallow:
            return ""
        first = ask_text(root, "rev-list", "--first-parent", "--max-parents=0", "HEAD", "--")
    except LedgerError:
        return ""
    return f"{first}\0{repository.prefix}"


def made_from(root: Path) -> str:
    """What the last commit of a ledger is known by, also once it was put on another commit or said
    otherwise: when and by whom it was written. An empty text where git cannot say."""
    return next(iter(_commits(root, "--max-count=1")), "")


def refuse_older(board: Path, root: Path, tip: str) -> None:
    """See that the ledger has the commit that the pages in a folder were made from.

    A clone that did not fetch what others recorded would write its older pages over theirs, leave
    over DO NOT FILL. Where git cannot say, as in a shallow clone, nothing is refused.

    Args:
        board: the board of the pages in a folder.
        root: the ledger's folder.
        tip: what the board says it was made from, as `made_from` has it; else an empty text.

    Raises:
        LedgerError: it does not have it.
    """
    known = _commits(root) if tip and tip != made_from(root) else []
    if known and tip not in known:
        text = "it was made from a commit that this ledger does not have, so the pages there may "
        text += "be newer than those to be written"
        mend = "pull first; if that commit was taken back for good, remove this file"
        raise LedgerError(str(board), text, mend)


def _commits(root: Path, *how: str) -> list[str]:
    """What each commit of a ledger is known by, the last first; none where git cannot say."""
    try:
        if Repository.of(root).shallow:
            return []
        listed = ask_text(root, "log", *how, "--format=%at %ae", "HEAD", "--")
    except LedgerError:
        return []
    lines = (line.encode("utf-8", "surrogateescape") for line in listed.splitlines())
    return [hashlib.sha256(line).hexdigest()[:32] for line in lines]


def look(folder: Path, root: Path, ledgers: Collection[str], ledger_of: LedgerOf) -> PagesThere:
    """What is in a folder that pages are asked for, before the work of making them.

    Args:
        folder: where they go; it need not be there, but the folder it lies in must.
        root: the ledger's own folder.
        ledgers: what its pages may be known by.
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
        read = {name: _now(folder / name) for name in names}
        names = [name for name in names if os.path.lexists(folder / name)]  # none of another run
    of = {name: ledger_of(data) for name, data in read.items() if data is not None}
    pages = {n: d for n, d in read.items() if d is not None and of[n] in ledgers}
    strange = sorted(n for n, whose in of.items() if whose is not None and whose not in ledgers)
    if strange:
        text = "it holds pages of another ledger, or of a day that was asked about"
        text += f", such as {strange[0]!a}"
        mend = "name another folder, or empty it"
        mend += "; a shallow clone is known again after `git fetch --unshallow`"
        raise LedgerError(where, text, mend)
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


def write(
    folder: Path,
    pages: Iterable[tuple[str, bytes]],
    there: Mapping[str, bytes],
    is_later: Callable[[bytes], bool],
    *,
    untrue: Collection[str] = (),
    stale: Collection[str] = (),
) -> list[str]:
    """Write each page whole or not at all, in the order given, and name them.

    Args:
        folder: where they go.
        pages: the name of each and what it holds.
        there: the pages that were there as `look` found them.
        is_later: whether a page was made from what was read later than these.
        untrue: pages that gave leave and no longer do. They are taken away before the first is
            written: wherever that is broken off, no page is better than one of them.
        stale: pages that are no longer as they are to be, taken away where writing is refused.

    Raises:
        LedgerError: the disk refuses, or another run that read later wrote one meanwhile; a page
            is as it was or away, and those after it.
    """
    done: list[str] = []
    try:
        with refusing(str(folder)):
            folder.mkdir(exist_ok=True)
            for name in untrue:
                _take_away(folder / name, there.get(name))
        for name, data in pages:
            with refusing(str(folder / name)):
                now = _now(folder / name)
                if now is not None and now != there.get(name) and is_later(now):
                    text = "another run that read the ledger later wrote it meanwhile"
                    raise LedgerError(str(folder / name), text, "run it again")
                put_out(folder / name, data)
            done.append(name)
    except BaseException:
        for name in set(stale).difference(done):
            with suppress(OSError):
                _take_away(folder / name, there.get(name))
        raise
    with refusing(str(folder)):
        sync_folder(folder)
    return done


def _now(path: Path) -> bytes | None:
    """What a page holds now; None where there is none."""
    try:
        return _page(path)
    except FileNotFoundError:
        return None


def _take_away(path: Path, was: bytes | None) -> None:
    """Take a page away that is still what it was."""
    if was is not None and _now(path) == was:
        path.unlink()


def remove(
    folder: Path, names: Iterable[str], ledgers: Collection[str], ledger_of: LedgerOf
) -> list[str]:
    """Take pages away that are still ours, and name them.

    Raises:
        LedgerError: the disk refuses.
    """
    gone = []
    for name in names:
        with refusing(str(folder / name)):
            data = _now(folder / name)
            if data is not None and ledger_of(data) in ledgers:
                (folder / name).unlink()
                gone.append(name)
    return gone
