"""An act that was interrupted: looked at, finished on purpose, taken back, or set aside."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger.apply import FileChange, changes_of
from tankbook.ledger.atomic import sweep
from tankbook.ledger.called import Now, is_same, mark_of, now_of
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.journal import (
    bytes_of,
    carry_out,
    lost_sight_of,
    note_recorded,
    put,
    read_journal,
    set_aside,
    settle_names,
    states_of,
    undo,
)
from tankbook.ledger.lock import hold, mark_here
from tankbook.ledger.names import JOURNAL, LOGS
from tankbook.ledger.note import Note
from tankbook.ledger.steps import SET_ASIDE, Disbelieved, JournalAct, JournalStep, StepState, digest
from tankbook.ledger.there import file_of, is_there, may_hold
from tankbook.records.edits import Act, AddLine, Edit, NewFile, SetValue
from tankbook.records.node import Node, SequenceNode, child
from tankbook.rules.changes import flat
from tankbook.rules.vanished import stem

_FINISH = "`tankbook pending --finish` adds the act to the file as it is now"


class PendingFile(Struct, frozen=True):
    """One file of an act that is not finished: how far it has come, and what the act makes of it
    as a unified diff (empty where that is not known)."""

    path: str
    state: StepState
    diff: str


class PendingAct(Struct, frozen=True):
    """An act that is not finished."""

    written: JournalAct
    files: tuple[PendingFile, ...]

    def __str__(self) -> str:
        return str(self.written)


class Aside(Struct, frozen=True):
    """A journal that was set aside: its new name, and what was wrong with it."""

    name: str
    why: str


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
    gets what the act adds and has not added yet, as it is now and under the name it has now.

    Raises:
        LedgerError: a file cannot take it; nothing more is written.
    """
    with hold(root):
        mark_here(root)
        found = look_at(root)
        if found is None:
            return None
        written = found.written
        now = now_of(root, written.steps, (f.state for f in found.files))
        if now.changed:
            written = _on_top(root, written, now)
            put(root, written)
        settle_names(root)
        carry_out(root, written, states_of(root, written))
        note_recorded(root, written)
        sweep(root)
        return found


def drop_it(root: Path) -> PendingAct | Aside | None:
    """Take back what the act in the journal has done, wholly, and forget it; a file that holds
    nothing of it stays as it is.

    Where it is the way back from an act already, it is gone to its end. A journal of which nobody
    can tell what it has done is set aside, and nothing is taken back.

    Raises:
        LedgerError: not all of it can be taken back; nothing is written.
    """
    with hold(root) as held:
        try:
            found = look_at(root)
        except Disbelieved as error:
            return _aside(root, error.text)
        if found is None:
            return None
        written = found.written
        now = now_of(root, written.steps, (f.state for f in found.files))
        if now.changed and not (written.note and written.note.edits):
            return _aside(root, f"what it adds to {now.changed[0]} is not known")
        try:
            for path in now.to_judge:
                _refuse_holding(root, written, path, now.called)
            settle_names(root)
            if written.back:
                free = tuple(s for s in written.steps if s.path not in now.changed)
                rest = replace(written, steps=free)
                carry_out(root, rest, states_of(root, rest))
            else:
                undo(held, written, now.changed)
        except LedgerError as error:
            text = f"{error.text}; nothing was dropped"
            raise LedgerError(error.path, text, error.mend or _either(error.path)) from error
        # Not before: whoever reads a ledger that is written here finishes what is in its journal.
        mark_here(root)
        sweep(root)
        return found


def _aside(root: Path, why: str) -> Aside:
    name = set_aside(root)
    mark_here(root)
    return Aside(name, why)


def _either(path: str) -> str:
    return f"{_FINISH}; or take what it adds out of {path} by hand, then `tankbook pending --drop`"


def _diff(step: JournalStep) -> str:
    content = step.content or b""
    if step.length is not None:
        # only what is added is told, so what was there need not be known
        return FileChange(step.path, b"", content, content).diff()
    if step.old is not None and step.before is None:
        return ""
    return FileChange(step.path, step.before, content).diff()


# --- what was changed by hand, renamed or deleted


def _on_top(root: Path, written: JournalAct, now: Now) -> JournalAct:
    """The act with its edits made to some files as they are now, and as they are called now."""
    note, changed, called = written.note, now.changed, now.called
    if written.back:
        mend = "`tankbook pending --drop` goes on with that"
        raise LedgerError(changed[0], "the act is being taken back", mend)
    for path in changed:
        if not path.startswith(f"{LOGS}/") and (lost := lost_sight_of(root, now, path)):
            raise lost
    if note is None or not note.edits:
        mend = f"mend by hand what is half done; then {SET_ASIDE}"
        raise LedgerError(changed[0], "what the act adds to it is not known", mend)
    note = _under_new_names(note, called)
    before = {step.path: step.before for step in written.steps}
    left = []
    for old, edit in zip(_edits(written), note.act_edits(), strict=True):
        if file_of(old) in changed:
            placed = _in_its_entry(edit, before[file_of(old)], bytes_of(root, file_of(edit)))
            if not _is_done(root, placed, old):
                left.append(placed)
    act = Act(note.verb, note.subjects, note.sentence, tuple(left))
    made = {c.path: c for c in changes_of(lambda path: bytes_of(root, path), act)}
    steps = []
    for step in written.steps:
        path = called.get(step.path, step.path)
        if step.path not in changed:
            steps.append(step)
        elif path in made:
            change = made[path]
            old_digest = None if change.old is None else digest(change.old)
            steps.append(JournalStep(path, old_digest, change.new, before=change.old))
    return replace(written, steps=tuple(steps), note=note)


def _edits(written: JournalAct) -> tuple[Edit, ...]:
    """The edits of an act. Raises LedgerError where its journal says none that could be made."""
    try:
        return written.note.act_edits() if written.note else ()
    except (KeyError, TypeError, ValueError) as error:
        raise Disbelieved(JOURNAL, "what the act adds cannot be read", SET_ASIDE) from error


def _under_new_names(note: Note, called: Mapping[str, str]) -> Note:
    """The note of an act that is about cards as they are called now, so that it is known again."""
    ids = {stem(old): stem(new) for old, new in called.items()}

    def renamed(edit: Mapping[str, Any]) -> dict[str, Any]:
        if "file" in edit:
            return {**edit, "file": called.get(edit["file"], edit["file"])}
        cells = edit["cells"]
        id_ = cells.get("cylinder", "")
        return {**edit, "cells": {**cells, "cylinder": ids.get(id_, id_)}}

    subjects = tuple(ids.get(each, each) for each in note.subjects)
    return replace(note, subjects=subjects, edits=tuple(map(renamed, note.edits)))


def _in_its_entry(edit: Edit, before: bytes | None, now: bytes | None) -> Edit:
    """An edit within an entry of a list, placed where that entry stands now.

    Raises:
        LedgerError: which entry it is cannot be told.
    """
    if isinstance(edit, AddLine | NewFile) or not any(isinstance(k, int) for k in edit.trail):
        return edit
    was, is_ = (None if d is None else read_node(d, edit.file)[0] for d in (before, now))
    trail: list[str | int] = []
    for key in edit.trail:
        if isinstance(key, int):
            place = _place_of(key, was, is_)
            if place is None:
                text = "which of its entries the act goes on with can no longer be told"
                raise LedgerError(edit.file, text, f"put that entry back; {_FINISH}")
            trail.append(place)
            was, is_ = child(was, key), child(is_, place)
        else:
            trail.append(key)
            was, is_ = child(was, key), child(is_, key)
    return replace(edit, trail=tuple(trail))


def _place_of(key: int, was: Node | None, is_: Node | None) -> int | None:
    """Where in a list the entry stands that was the one of a number; None where that is unsure."""
    if (
        not isinstance(was, SequenceNode)
        or not isinstance(is_, SequenceNode)
        or key >= len(was.items)
    ):
        return None
    wanted = flat(was.items[key]).items()
    at = [i for i, each in enumerate(is_.items) if wanted <= flat(each).items()]
    if len(at) > 1:
        at = [i for i in at if wanted == flat(is_.items[i]).items()] or at
    return at[0] if len(at) == 1 else None


def _is_done(root: Path, edit: Edit, old: Edit) -> bool:
    """Whether a file holds an edit already: a log also under the id that the card had."""
    data = bytes_of(root, file_of(edit))
    if isinstance(edit, NewFile):
        return data is not None and _is_same_card(edit, data)
    return is_there(edit, data) or (isinstance(edit, AddLine) and is_there(old, data))


def _is_same_card(edit: NewFile, data: bytes) -> bool:
    """Whether a card is one that an act made, whatever was added to it by hand since."""
    made, here = (
        mark_of(edit.file, read_node(each, edit.file)[0]) for each in (edit.text.encode(), data)
    )
    return is_same(edit.file, made, here)


def _refuse_holding(root: Path, written: JournalAct, path: str, called: Mapping[str, str]) -> None:
    """Refuse to leave a file that was changed by hand as it is where it holds some of an act, or
    where that cannot be told. Raises LedgerError."""
    now = called.get(path, path)
    data = bytes_of(root, now)
    if data is None:
        return
    mine = [edit for edit in _edits(written) if file_of(edit) == path]
    mine = [edit for edit in mine if not _is_status(edit)] or mine
    telling = [edit for edit in mine if not isinstance(edit, SetValue)] or mine
    if path.endswith(".yaml") and read_node(data, now)[0] is None:
        raise LedgerError(now, "it cannot be read since the act was begun", f"mend it; {_FINISH}")
    step = next(step for step in written.steps if step.path == path)
    old = step.content if written.back else step.before
    if any(_holds(edit, data, old) for edit in telling):
        mend = f"take what the act added out of {now} by hand, then `tankbook pending --drop`"
        mend = mend if written.back else _either(now)
        raise LedgerError(now, "it was changed by hand since the act was begun", mend)


def _is_status(edit: Edit) -> bool:
    return isinstance(edit, SetValue) and edit.trail == ("status",)


def _holds(edit: Edit, data: bytes, old: bytes | None) -> bool:
    """Whether a file holds something of an edit, whose file was so before the act."""
    if isinstance(edit, NewFile):
        return _is_same_card(edit, data)
    return may_hold(edit, data, old)
