"""Acts, all or nothing.

An act is written to a journal before the first of its files is touched, and the journal goes when
the last one is done. Whoever takes the lock next finishes what a journal still holds, and tells it
in the act's own words; a journal that never became whole belongs to an act that never was.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger import atomic, receipts, recorded
from tankbook.ledger.called import Now, is_gone, now_of
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.lock import (
    PATIENCE,
    HeldLock,
    Tell,
    hold,
    is_here,
    journal_stands,
    mark_here,
    nobody,
    plain_read,
    private_folder,
)
from tankbook.ledger.names import CARDS, JOURNAL, within
from tankbook.ledger.note import Note
from tankbook.ledger.steps import (
    SET_ASIDE,
    Disbelieved,
    JournalAct,
    JournalStep,
    StepState,
    decoded,
    digest,
    encoded,
    may_write,
)

ELSEWHERE = "it was begun on another computer or in another folder"
"""Why an act is not finished that stands in the journal of a copy."""


class Finished(Struct, frozen=True):
    """An interrupted act that was carried out by another than began it."""

    written: JournalAct

    @property
    def files(self) -> tuple[str, ...]:
        """The files it was about."""
        return self.written.files

    def __str__(self) -> str:
        note = self.written.note
        git = "; it is not committed to git" if note and note.commit else ""
        return f"finished an act that was interrupted: {self.written}{git}"


class Transaction:
    """Changes to several files of a locked ledger, made all at once by `commit` or not at all."""

    def __init__(self, held: HeldLock) -> None:
        self._held = held
        self._staged: dict[Path, JournalStep] = {}

    @property
    def since(self) -> dt.datetime:
        """Since when the ledger is locked."""
        return self._held.since

    def read(self, path: str) -> bytes | None:
        """The content of the file at `path`, relative to the ledger, or None if there is none.

        Raises:
            LedgerError: the file cannot be read.
        """
        return bytes_of(self._held.root, path)

    def write(self, path: str, data: bytes, expected: str | None) -> None:
        """Stage new content for a file.

        `expected` is the digest of the content that the change was made for, None for no file.

        Raises:
            LedgerError: the path leads out of the ledger.
        """
        self._stage(JournalStep(path, expected, data))

    def append(self, path: str, data: bytes, expected: str | None) -> None:
        """Stage an addition to the end of a file; `expected` and errors as in `write`."""
        self._stage(JournalStep(path, expected, data, length=None if expected is None else 0))

    def commit(self, note: Note | None = None) -> str:
        """Make the staged changes.

        Args:
            note: the act's own words, for whoever finishes it if this process cannot.

        Returns:
            The name of the receipt, which stands until `receipts.acknowledge` says that whoever
            gave the act was told; empty without a note, and where nothing was to be changed.

        Raises:
            LedgerError: a file is not as expected, or the disk refuses. Nothing is changed, or, if
                the text says so, the act is in the journal and the next command finishes it.
        """
        if not self._held.active:
            raise RuntimeError("the ledger is no longer locked")
        steps = [step for each in self._staged.values() if (step := self._checked(each))]
        self._staged.clear()
        if not steps:
            return ""
        written = JournalAct(tuple(steps), note)
        root = self._held.root
        # One file, too: replaced, it is whole by itself, but nobody would know the act again.
        put(root, written)
        try:
            return carry_out(root, written, [StepState.TO_DO for _ in steps])
        except LedgerError as error:
            if _withdrawn(root, steps):
                raise
            said = f"{error.text}; the act is in the journal and not finished"
            mend = f"{error.mend}; any command then finishes it"
            raise LedgerError(error.path, said, mend) from error

    def _stage(self, step: JournalStep) -> None:
        target = _place(self._held.root, step.path)
        if target in self._staged:
            raise ValueError(f"{step.path} is staged twice")
        self._staged[target] = step

    def _checked(self, step: JournalStep) -> JournalStep | None:
        """The step with what it needs to know, or None if it changes nothing."""
        current = self.read(step.path)
        mend = "nothing was written; try again"
        if current is None and step.old is not None:
            raise LedgerError(step.path, "the file has gone since it was read", mend)
        if current is not None and step.old is None:
            raise LedgerError(step.path, "there is such a file already", mend)
        if current is not None and digest(current) != step.old:
            raise LedgerError(step.path, "the file was changed since it was read", mend)
        if current is None:
            _refuse_twin(self._held.root, step.path)
        if step.length is None:
            return None if current == step.content else replace(step, before=current)
        return replace(step, length=len(current or b"")) if step.content else None


@contextmanager
def acting(root: Path, patience: float = PATIENCE, tell: Tell = nobody) -> Iterator[Transaction]:
    """A transaction on the ledger at `root`, which is locked while the block runs.

    What an interrupted act left is finished first, and told, where it was begun here; in a copy
    nothing is recorded before somebody decides about it. What the block has not committed is not
    written.

    Raises:
        LedgerError: another process has the lock, or an interrupted act cannot be finished.
    """
    with hold(root, patience) as held:
        if journal_stands(root) and not is_here(root) and (written := read_journal(root)):
            mend = "`tankbook pending --finish` finishes it here, `tankbook pending --drop` takes "
            text = f"an act is not finished, {ELSEWHERE}: {written}"
            raise LedgerError(JOURNAL, text, f"{mend}it back; then give this one again")
        mark_here(root)
        atomic.sweep(root)
        receipts.sweep(root)
        try:
            done = finish(held)
        except LedgerError as error:
            raise _of_the_act(root, error) from error
        if done:
            tell(str(done))
        yield Transaction(held)


def settle(root: Path, patience: float = PATIENCE) -> Finished | None:
    """Finish what an interrupted act left; returns it, or None where there was none.

    Takes no lock and touches nothing where there is nothing to finish. Raises as `acting`.
    """
    if not journal_stands(root):
        return None
    with hold(root, patience) as held:
        return finish(held)


def finish(held: HeldLock) -> Finished | None:
    """Carry out the act in the journal, if there is one; returns it.

    Raises:
        LedgerError: the journal is damaged, or a file in it was changed by hand since, is called
            otherwise, or is gone; nothing more is written.
    """
    written = read_journal(held.root)
    if written is None:
        return None
    states = states_of(held.root, written)
    if stuck := _stuck(held.root, written, states):
        raise stuck
    settle_names(held.root)
    carry_out(held.root, written, states)
    note_recorded(held.root, written)
    return Finished(written)


def note_recorded(root: Path, written: JournalAct) -> None:
    """Note what an act has written that another finished, so that it is missed if it is thrown
    away. Raises nothing."""
    if written.note is None or written.back:
        return
    changes = []
    for step in written.steps:
        with suppress(LedgerError):
            new = bytes_of(root, step.path)
            old = step.before if step.length is None else (new or b"")[: step.length]
            if new is not None:
                changes.append((step.path, old, new))
    recorded.note(root, written.note, changes)


def _stuck(root: Path, written: JournalAct, states: Sequence[StepState]) -> LedgerError | None:
    """Why an act cannot be carried out as it stands, with the way out that leads furthest: what
    cannot be finished before what can."""
    now = now_of(root, written.steps, states)
    if not now.changed:
        return None
    if written.back:
        text = "this file was changed by hand before an act was wholly taken back"
        return LedgerError(now.changed[0], text, "`tankbook pending --drop` goes on with that")
    for path in now.changed:
        if lost := lost_sight_of(root, now, path):
            return lost
    if moved := next((each for each in now.changed if each in now.called), None):
        text = f"it is called {now.called[moved]} now, and an interrupted act is not finished"
        mend = "`tankbook pending --finish` finishes it under that name"
        return LedgerError(moved, text, mend)
    return LedgerError(
        now.changed[0],
        "this file was changed by hand before an interrupted act was finished",
        "`tankbook pending` shows what the act adds, `tankbook pending --finish` adds it to the "
        "file as it is now",
    )


def lost_sight_of(root: Path, now: Now, path: str) -> LedgerError | None:
    """That a file of an interrupted act is gone, or the card of another cylinder stands there, and
    none is known to go on for it, with the ways out; None where it is not so."""
    renamed = ", or name its id in `formerly:` of the card that goes on for it,"
    if path in now.called:
        return None
    if path in now.replaced:
        text = "another serial stands in this card, and an act on the one before is not finished"
        put_back = f"put that one back{renamed}"
    elif is_gone(root, path):
        text = "this file is gone, and an interrupted act is not finished"
        put_back = f"put it back{renamed if path.rpartition('/')[0] in CARDS else ''}"
    else:
        return None
    drop = "`tankbook pending --drop` takes back what was done"
    return LedgerError(path, text, f"{put_back} and `tankbook pending --finish`; or {drop}")


def settle_names(root: Path) -> None:
    """See to it that a journal left by another process, and the folders that process made, outlive
    a power cut, before more of the act is done. Raises LedgerError."""
    with refusing(JOURNAL):
        atomic.sync_folder(root)
        atomic.sync_folder((root / JOURNAL).parent)


def _of_the_act(root: Path, error: LedgerError) -> LedgerError:
    """The same error with the act that it is about, where that can be read."""
    with suppress(LedgerError):
        if written := read_journal(root):
            return LedgerError(error.path, f"{error.text}: {written}", error.mend)
    return error


def states_of(root: Path, written: JournalAct) -> list[StepState]:
    """How far each file of an act has come. Raises as `Transaction.read`."""
    return [s.state(plain_read(_place(root, s.path), s.path)) for s in written.steps]


def undo(held: HeldLock, written: JournalAct, free: Collection[str] = ()) -> None:
    """Undo what an act in the journal has done, wholly or not at all, and forget it.

    Args:
        held: the lock.
        written: the act.
        free: files that hold nothing of it, so that nothing is to be undone there.

    Raises:
        LedgerError: a file was changed since, so that not all can be undone; nothing is changed.
    """
    root = held.root
    back = []
    for step in reversed(written.steps):
        if step.path in free:
            continue
        current = bytes_of(root, step.path)
        if undo := step.back(current, step.state(current)):
            back.append(undo)
    if back:
        # The journal then holds the way back: whoever is interrupted in it goes on with it.
        note = written.note and replace(
            written.note, sentence=f"Took back: {written.note.sentence}", commit=False
        )
        inverse = JournalAct(tuple(back), note, back=True)
        put(root, inverse)
        carry_out(root, inverse, [StepState.TO_DO for _ in back])
    else:
        forget(root)


def set_aside(root: Path) -> str:
    """Put the journal under another name of the ledger's own folder, whatever it is; that name.

    Raises:
        LedgerError: the disk refuses.
    """
    journal = root / JOURNAL
    numbers = (f"{JOURNAL}-aside-{number}" for number in count(1))
    name = next(each for each in numbers if not os.path.lexists(root / each))
    with refusing(JOURNAL):
        os.rename(journal, root / name)  # noqa: PTH104 - as in `atomic`
        atomic.sync_folder(journal.parent)
    return name


def forget(root: Path) -> None:
    """Take the journal away. Raises LedgerError."""
    journal = root / JOURNAL
    with refusing(JOURNAL):
        journal.unlink(missing_ok=True)
        atomic.sync_folder(journal.parent)


def put(root: Path, written: JournalAct) -> None:
    """Write an act into the journal, in the place of what is there. Raises LedgerError."""
    folder = private_folder(root)
    with refusing(JOURNAL):
        atomic.swap(folder / "journal", encoded(written))
        try:
            atomic.sync_folder(folder)
        except OSError:
            (folder / "journal").unlink()  # the act is refused, so nobody may carry it out
            raise


def carry_out(root: Path, written: JournalAct, states: Sequence[StepState]) -> str:
    """Do what is to do, then put the act away: as a receipt where it can be known again.

    Returns and raises as `Transaction.commit`.
    """
    for step, state in zip(written.steps, states, strict=True):
        step.apply(root, state)
    if written.note is None or written.back:  # nobody gives a way back again
        forget(root)
        return ""
    return receipts.put_away(root, written.note)


def _withdrawn(root: Path, steps: Sequence[JournalStep]) -> bool:
    """Whether an act that failed could be taken out of the journal, no file having been touched."""
    try:
        if any(each.state(bytes_of(root, each.path)) is not StepState.TO_DO for each in steps):
            return False
        (root / JOURNAL).unlink()
    except (LedgerError, OSError):
        return False
    # Should a power cut bring it back, whoever meets it tells it.
    with suppress(OSError):
        atomic.sync_folder((root / JOURNAL).parent)
    return True


def read_journal(root: Path) -> JournalAct | None:
    """The act in the journal, None where there is none.

    Raises:
        Disbelieved: it is no act that may be carried out.
        LedgerError: the disk refuses.
    """
    try:
        data = plain_read(root / JOURNAL, JOURNAL)
    except LedgerError as error:
        if isinstance(error.__cause__, OSError):
            raise
        raise Disbelieved(JOURNAL, f"the journal: {error.text}", SET_ASIDE) from error
    return None if data is None else decoded(data)


def bytes_of(root: Path, path: str) -> bytes | None:
    """The content of a file of the ledger, None where there is none. Raises LedgerError."""
    return plain_read(within(root, path), path)


def _place(root: Path, path: str) -> Path:
    """Where a file lies that an act may write; no link is followed. Raises LedgerError."""
    real = within(root, path)
    if not may_write(path):
        raise LedgerError(path, f"no act writes {path}", "keep the record itself here")
    if real != Path(os.path.realpath(root), *path.split("/")):
        raise LedgerError(path, "it is a symbolic link", "replace it by the file itself")
    return real


def _refuse_twin(root: Path, path: str) -> None:
    """Some disks take names that differ only in capitals for one file."""
    target = within(root, path)
    names = [each.name for each in target.parent.iterdir()] if target.parent.is_dir() else []
    for name in names:
        if name.casefold() == target.name.casefold():
            said = f"the name differs only in capitals from {name}, which is there"
            raise LedgerError(path, said, "choose another name")
