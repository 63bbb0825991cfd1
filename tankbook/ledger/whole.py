"""Reading a ledger without ever seeing half an act.

An act that was interrupted is finished before anything is read, where that is this machine's to do;
where it is not, the answer tells it and is no for whatever the act touches. After reading, every
file is looked at again: one that moved meanwhile is read anew, with all the others.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Files, OnDisk
from tankbook.ledger.lock import (
    HeldLock,
    Tell,
    hold,
    is_here,
    is_locked,
    journal_stands,
    nobody,
    seconds_left,
    until_after,
)
from tankbook.ledger.names import CARDS, JOURNAL, LOGS
from tankbook.records.log import LogLine, columns
from tankbook.records.node import EVERY_CYLINDER, Finding, Where

if TYPE_CHECKING:
    from tankbook.ledger.steps import JournalAct, JournalStep

T = TypeVar("T")

SECONDS = 2.0
"""How long a reader waits for a writer, in all."""
TRIES = 3
"""How often a ledger that moves is read before it is read under the lock."""
PAUSE = 0.005

PENDING = "pending"
"""The code of the finding that an act is not finished."""

Stamp = tuple[int, ...] | None


class Watched(OnDisk):
    """The files in a folder, each with what told its state when it was first read.

    `pending` is the finding that an act is not finished, if one is not.
    """

    def __init__(self, root: Path) -> None:
        super().__init__(root)
        self.pending: tuple[Finding, ...] = ()
        self._seen: dict[str, Stamp] = {}

    def in_way(self, folder: str) -> LedgerError | None:
        self._note(folder)
        return super().in_way(folder)

    def exists(self, path: str) -> bool:
        self._note(path)
        return super().exists(path)

    def read(self, path: str) -> bytes:
        self._note(path)
        return super().read(path)

    def _listed(self, folder: str, *, folders: bool) -> list[str]:
        self._note(folder)
        return super()._listed(folder, folders=folders)

    def moved(self) -> bool:
        """Whether anything read, or the journal, is another than it was."""
        return any(_stamp(self.root, path) != seen for path, seen in self._seen.items())

    def watch_journal(self) -> None:
        """Take the journal as it is now for what it was when reading began."""
        self._seen[JOURNAL] = _stamp(self.root, JOURNAL)

    def _note(self, path: str) -> None:
        if path not in self._seen:
            self._seen[path] = _stamp(self.root, path)


def _stamp(root: Path, path: str) -> Stamp:
    """What differs once a file was replaced, added to, or written in its place."""
    try:
        found = os.stat(f"{root}/{path}")  # noqa: PTH116 - thousands of files
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns


def whole(root: Path, work: Callable[[Watched], T], tell: Tell = nobody) -> T:
    """What `work` makes of a ledger's files, seen as whole acts left them.

    Args:
        root: the ledger's folder.
        work: reads the files; called again where they moved while it did.
        tell: told of an act that was finished on the way.

    Raises:
        LedgerError: as `work`.
    """
    until = _UNTIL.get() or until_after(SECONDS)
    with _waiting(until):
        return _whole(root, work, until, tell)


_UNTIL: ContextVar[float] = ContextVar("until", default=0.0)
"""Until when a reading waits that others lie within: they wait no longer, all together."""


@contextmanager
def _waiting(until: float) -> Iterator[None]:
    token = _UNTIL.set(until)
    try:
        yield
    finally:
        _UNTIL.reset(token)


def _whole(root: Path, work: Callable[[Watched], T], until: float, tell: Tell) -> T:
    for _ in range(TRIES):
        files = _ready(root, until, tell)
        try:
            found = work(files)
        except Exception:
            if files.moved():
                continue  # what half an act said is nothing to complain of
            raise
        if not files.moved():
            return found
    return _held_still(root, work, until, tell)


def _held_still(root: Path, work: Callable[[Watched], T], until: float, tell: Tell) -> T:
    """The same under the lock; failing that, an answer that says it may rest on half an act."""
    if is_here(root):
        with ExitStack() as stack:
            held: HeldLock | None = None
            with suppress(LedgerError):
                held = stack.enter_context(hold(root, seconds_left(until)))
            if held is not None:
                return work(_with_lock(held, tell))
    files = _ready(root, until, tell)
    text = f"the files changed while they were read, {TRIES + 1} times"
    told = Finding(
        Where(JOURNAL), PENDING, text, "ask again once nobody writes", touches=(EVERY_CYLINDER,)
    )
    files.pending = (*files.pending, told)
    return work(files)


def _with_lock(held: HeldLock, tell: Tell) -> Watched:
    """The files to read while nobody can write."""
    from tankbook.ledger.journal import finish

    files = Watched(held.root)
    try:
        if done := finish(held):
            tell(str(done))
    except LedgerError as error:
        found = _pending(held.root, _why(error), error.mend)
        files.pending = (found,) if found else ()
    return files


def _ready(root: Path, until: float, tell: Tell) -> Watched:
    """The files to read, with no act under way, or with what is under way told."""
    while True:
        files = Watched(root)
        files.watch_journal()
        if not journal_stands(root):
            return files
        found = _finished(root, until, tell)
        if found is not None:
            files.pending = (found,)
            return files


def _finished(root: Path, until: float, tell: Tell) -> Finding | None:
    """Finish the act in the journal, or wait for whoever is at it; else why it stands."""
    from tankbook.ledger.journal import ELSEWHERE, settle

    why = ELSEWHERE
    mend = "`tankbook pending --finish` finishes it here"
    if is_here(root):
        try:
            if done := settle(root, seconds_left(until)):
                tell(str(done))
        except LedgerError as error:
            why, mend = _why(error), error.mend
        else:
            return None
    while is_locked(root) and journal_stands(root):
        if not seconds_left(until):
            return _pending(root, "another process is at it", "ask again once it is done")
        time.sleep(PAUSE)
    return _pending(root, why, mend)


def _pending(root: Path, why: str, mend: str) -> Finding | None:
    """That an act stands in the journal, what it touches and why; None where it stands no more."""
    from tankbook.ledger.journal import read_journal

    try:
        written = read_journal(root)
    except LedgerError as error:
        return Finding(Where(JOURNAL), PENDING, error.text, error.mend, touches=(EVERY_CYLINDER,))
    if written is None:
        return None
    text = f"{written} is not finished: {why}"
    touches = _touched_here(root, written)
    return Finding(Where(JOURNAL), PENDING, text, mend, touches=touches)


def _touched_here(root: Path, written: JournalAct) -> tuple[str, ...]:
    """The same under the names they have now. Where a card that it was to change is gone and none
    says that it was called so, that may be any."""
    from tankbook.ledger.called import called_now, is_gone, replaced

    touched = touched_by(written)
    cards = [f"{folder}/{id_}.yaml" for id_ in touched for folder in CARDS]
    called = called_now(root, written.steps, cards, replaced(root, written.steps))
    for step in written.steps:
        folder, _, _ = step.path.rpartition("/")
        gone = step.old is not None and folder in CARDS and is_gone(root, step.path)
        if gone and step.path not in called:
            return (EVERY_CYLINDER,)
    now = (new.rpartition("/")[2].removesuffix(".yaml") for new in called.values())
    return tuple(dict.fromkeys((*touched, *now)))


def _why(error: LedgerError) -> str:
    """An error within a sentence: no word of it ends in a colon, where a line may break."""
    return f"{error.text} ({error.path})"


def touched_by(written: JournalAct) -> tuple[str, ...]:
    """The cylinders and sets of which an act says something, or every one of them."""
    ids: dict[str, None] = dict.fromkeys(written.note.subjects if written.note else ())
    for step in written.steps:
        folder, _, name = step.path.rpartition("/")
        if folder in CARDS:
            ids[name.removesuffix(".yaml")] = None
        elif folder == LOGS and (named := _in_lines(step)):
            ids |= dict.fromkeys(named)
        else:
            return (EVERY_CYLINDER,)
    return tuple(ids)


def _in_lines(step: JournalStep) -> tuple[str, ...]:
    """The cylinders of the lines that are added to a log; none where it is written anew."""
    header = columns(LogLine)
    text = (step.content or b"").decode(errors="replace").removeprefix("\n")
    if step.length is None and step.old is not None:
        return ()
    first = ",".join(header)
    rows, _ = read_rows(text if text.startswith(first) else f"{first}\n{text}", step.path, header)
    return tuple(row.cells[header.index("cylinder")] for row in rows)


def pending_in(files: Files) -> tuple[Finding, ...]:
    """That an act is not finished, where the files are watched and one is not."""
    return files.pending if isinstance(files, Watched) else ()
