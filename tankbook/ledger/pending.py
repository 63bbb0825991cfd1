"""An act that was interrupted: looked at, finished on purpose, or taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tankbook.ledger.apply import Change, changes_of
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.journal import (
    carry_out,
    finish,
    put,
    read,
    read_journal,
    settle_names,
    states_of,
    take_back,
)
from tankbook.ledger.lock import hold, mark_here
from tankbook.ledger.steps import JOURNAL, State, Step, Written, digest
from tankbook.ledger.there import file_of, is_there
from tankbook.records.edits import Act

_FINISH = "`tankbook pending --finish` adds the act to the file as it is now"


@dataclass(frozen=True, slots=True)
class PendingFile:
    """One file of an act that is not finished: how far it has come, and what the act makes of it
    as a unified diff (empty where that is not known)."""

    path: str
    state: State
    diff: str


@dataclass(frozen=True, slots=True)
class PendingAct:
    """An act that is not finished."""

    written: Written
    files: tuple[PendingFile, ...]

    def __str__(self) -> str:
        return str(self.written)


def look_at(root: Path) -> PendingAct | None:
    """The act in the journal, None where there is none. Nothing is written, and no lock is taken.

    Raises:
        LedgerError: the journal or a file of the act cannot be read.
    """
    written = read_journal(root)
    if written is None:
        return None
    states = zip(written.steps, states_of(root, written), strict=True)
    return PendingAct(written, tuple(PendingFile(s.path, at, _diff(s)) for s, at in states))


def finish_it(root: Path) -> PendingAct | None:
    """Finish the act in the journal, also in a copy; a file that was changed by hand meanwhile
    gets what the act adds and has not added yet, as it is now.

    Raises:
        LedgerError: a file cannot take it; nothing more is written.
    """
    with hold(root):
        mark_here(root)
        found = look_at(root)
        if found is None:
            return None
        written = found.written
        changed = [f.path for f in found.files if f.state is State.CHANGED]
        if changed:
            written = _on_top(root, written, changed)
            put(root, written)
        settle_names(root)
        carry_out(root, written, states_of(root, written))
        return found


def drop_it(root: Path) -> PendingAct | None:
    """Take back what the act in the journal has done, wholly, and forget it.

    Where it is the way back from an act already, it is gone to its end.

    Raises:
        LedgerError: not all of it can be taken back; nothing is written.
    """
    with hold(root) as held:
        found = look_at(root)
        if found is None:
            return None
        try:
            if found.written.back:
                finish(held)
            else:
                settle_names(root)
                take_back(held, found.written)
        except LedgerError as error:
            mend = error.mend or _FINISH
            raise LedgerError(error.path, f"{error.text}; nothing was dropped", mend) from error
        # Not before: whoever reads a ledger that is written here finishes what is in its journal.
        mark_here(root)
        return found


def _diff(step: Step) -> str:
    content = step.content or b""
    if step.length is not None:
        # only what is added is told, so what was there need not be known
        return Change(step.path, b"", content, content).diff()
    if step.old is not None and step.before is None:
        return ""
    return Change(step.path, step.before, content).diff()


# --- on top of what was changed by hand


def _on_top(root: Path, written: Written, changed: Sequence[str]) -> Written:
    """The act with its edits made to some files as they are now."""
    note = written.note
    if note is None or written.back:
        mend = f"mend by hand what is half done, then delete {JOURNAL}"
        raise LedgerError(changed[0], "what the act adds to it is not known", mend)
    left = [edit for edit in note.act_edits() if file_of(edit) in changed]
    left = [edit for edit in left if not is_there(edit, read(root, file_of(edit)))]
    act = Act(note.verb, note.subjects, note.sentence, tuple(left))
    made = {c.path: c for c in changes_of(lambda path: read(root, path), act)}
    steps = []
    for step in written.steps:
        if step.path not in changed:
            steps.append(step)
        elif step.path in made:
            change = made[step.path]
            old = None if change.old is None else digest(change.old)
            steps.append(Step(step.path, old, change.new, before=change.old))
    return replace(written, steps=tuple(steps))
