"""What an act does to each of its files, and how that stands in the journal."""

from __future__ import annotations

import base64
import hashlib
import json
from enum import StrEnum
from pathlib import Path
from typing import Any

from msgspec import Struct

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError, refusing
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.names import CARDS, JOURNAL, LOGS, SINGLE, is_safe_id, within
from tankbook.ledger.note import Note
from tankbook.ledger.there import file_of, is_there
from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.edits import AddEntry, AddLine, Edit
from tankbook.rules.changes import flat
from tankbook.units.patterns import pattern

_FORM = 2
_OLDER = 1
"""The form without a note and without what was there before."""

UNREADABLE = "the journal cannot be read, so an act may be half done"
SET_ASIDE = "`tankbook pending --drop` sets the journal aside and writes nothing else"
_MEND = f"hold the files against git or a copy and mend by hand what is half done; then {SET_ASIDE}"


def may_write(path: str) -> bool:
    """Whether a path is of a file that an act may write: a card, a set, a log, the station, the
    checkpoints, and the `removed` of the settings. No act writes rules, what git goes by, or what
    is no record."""
    folder, _, name = path.rpartition("/")
    if folder in CARDS:
        return name.endswith(".yaml") and is_safe_id(name.removesuffix(".yaml"))
    if folder == LOGS:
        return name.endswith(".csv") and not name.startswith(".") and name.isprintable()
    return path in SINGLE


def _of_an_act(step: JournalStep) -> bool:
    """Whether a step leaves the settings as they were, but for what `removed` says."""
    if step.path != SETTINGS_PATH:
        return True
    if step.content is None or step.before is None or digest(step.before) != step.old:
        return False
    was, now = (read_node(each, step.path)[0] for each in (step.before, step.content))
    if was is None or now is None:
        return False
    pair = [{k: v for k, v in flat(n).items() if not _REMOVED.match(k)} for n in (was, now)]
    return pair[0] == pair[1]


def _is_of_its_act(written: JournalAct) -> bool:
    """Whether what is written is what the act says: an act that names no change is one that puts a
    log in order. Raises KeyError, TypeError or ValueError for changes that are none."""
    note, steps = written.note, written.steps
    if note is None or not steps:
        return bool(steps)
    edits = note.act_edits()
    if not edits:
        return all(map(_is_in_order, steps))
    files: dict[str, list[Edit]] = {}
    for edit in edits:
        files.setdefault(file_of(edit), []).append(edit)
    if written.back:
        return all(step.path in files for step in steps)
    return all(
        step.path in files and all(_is_in(edit, step.content) for edit in files[step.path])
        for step in steps
    )


def _is_in(edit: Edit, content: bytes | None) -> bool:
    if isinstance(edit, AddLine):  # it may stand under the id that a card had before
        return edit.cells.get("at", "").encode() in (content or b"")
    return content is not None and (
        not isinstance(edit, AddEntry) or is_there(edit, content, grown=True)
    )


def _is_in_order(step: JournalStep) -> bool:
    """Whether a log has the lines that it had and no others, in whatever order."""
    if not step.path.startswith(f"{LOGS}/") or step.length is not None or not step.before:
        return False
    was, now = (set((d or b"").rstrip(b"\0").split(b"\n")) for d in (step.before, step.content))
    return now - {b""} == was - {b""}


_REMOVED = pattern(r"removed(?:\W|$)")


class Disbelieved(LedgerError):
    """A journal that is not carried out: it is damaged, or names what no act writes."""


def digest(data: bytes) -> str:
    """The SHA-256 of a file's content, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


class StepState(StrEnum):
    """How far one file of an act has come."""

    TO_DO = "to do"
    TORN = "torn"
    DONE = "done"
    CHANGED = "changed by hand"


class JournalStep(Struct, frozen=True):
    """What an act does to one file.

    `old` is the digest of what was there, None for nothing. With `length` the `content` is added
    after that many bytes; without, it replaces all, and None takes the file away. `before` is what
    was replaced, where that was kept.
    """

    path: str
    old: str | None
    content: bytes | None
    length: int | None = None
    before: bytes | None = None

    def state(self, current: bytes | None) -> StepState:
        """How far this step has come, given what is in the file now."""
        if self.length is None:
            if current == self.content:
                return StepState.DONE
            there = None if current is None else digest(current)
            return StepState.TO_DO if there == self.old else StepState.CHANGED
        if current is None or digest(current[: self.length]) != self.old:
            return StepState.CHANGED
        assert self.content is not None
        added = current[self.length :]
        if added.startswith(self.content):
            return StepState.DONE
        # A power cut may keep the new length and lose what was in it: nobody types zeros.
        if self.content.startswith(added) or self.content.startswith(added.rstrip(b"\0")):
            return StepState.TORN if added else StepState.TO_DO
        return StepState.CHANGED

    def apply(self, root: Path, state: StepState) -> None:
        """Bring the file to where the act wants it.

        Raises:
            LedgerError: the disk refuses.
        """
        if state is StepState.DONE:  # by a process that may have died before it settled it
            atomic.settle(root, self.path)
            return
        if self.content is None:
            _remove(root, self.path)
        elif self.length is None:
            atomic.write_atomic(root, self.path, self.content)
        else:
            if state is StepState.TORN:
                atomic.truncate(root, self.path, self.length)
            atomic.append(root, self.path, self.content)

    def back(self, current: bytes | None, state: StepState) -> JournalStep | None:
        """The step that takes this one back, or None where nothing is to be taken back.

        Raises:
            LedgerError: the file was changed since, or what was there before is not known.
        """
        if state is StepState.TO_DO:
            return None
        if state is StepState.CHANGED or current is None:
            raise LedgerError(self.path, "it was changed by hand since the act was begun")
        now = digest(current)
        if self.length is None:
            if self.old is not None and self.before is None:
                raise LedgerError(self.path, "what was there before is not known")
            return JournalStep(self.path, now, self.before, before=current)
        if state is StepState.DONE and len(current) > self.length + len(self.content or b""):
            raise LedgerError(self.path, "lines were added to it since the act was begun")
        return JournalStep(self.path, now, current[: self.length], before=current)


class JournalAct(Struct, frozen=True):
    """An act as it stands in the journal. `note` is None where an older version wrote it.

    `back` says that it is the way back from an act that was dropped.
    """

    steps: tuple[JournalStep, ...]
    note: Note | None = None
    back: bool = False

    @property
    def files(self) -> tuple[str, ...]:
        """The files it is about."""
        return tuple(step.path for step in self.steps)

    def __str__(self) -> str:
        return str(self.note) if self.note else f"an act on {', '.join(self.files)}"


def encoded(written: JournalAct) -> bytes:
    """An act for the journal: a seal on the first line, then its data."""
    listed = [
        {
            "path": step.path,
            "old": step.old,
            "length": step.length,
            "content": _text(step.content),
            "before": _text(step.before),
        }
        for step in written.steps
    ]
    note = written.note.data() if written.note else None
    data = {"form": _FORM, "act": note, "steps": listed} | ({"back": True} if written.back else {})
    body = json.dumps(data, indent=1).encode()
    return digest(body).encode() + b"\n" + body


def decoded(data: bytes, path: str = JOURNAL) -> JournalAct:
    """An act out of the journal.

    Raises:
        Disbelieved: it is damaged, of another version, or names a file that no act writes.
    """
    seal, _, body = data.partition(b"\n")
    if seal != digest(body).encode():
        raise Disbelieved(path, UNREADABLE, _MEND)
    try:
        written = json.loads(body)
        if written["form"] not in (_OLDER, _FORM):
            mend = f"use that version; or {SET_ASIDE}"
            raise Disbelieved(path, "another version of tankbook wrote it", mend)
        steps = tuple(_step(each) for each in written["steps"])
        note = written.get("act")
        read = Note.read(note) if note is not None else None
        found = JournalAct(steps, read, written.get("back") is True)
        odd = [s.path for s in steps if not may_write(s.path) or not _of_an_act(s)]
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise Disbelieved(path, UNREADABLE, _MEND) from error
    if not odd and not _is_of_its_act(found):
        said = f"it says {read.sentence!r}" if read else "it says nothing"
        text = f"the journal is not believed: {said} and does not write that"
        raise Disbelieved(path, text, SET_ASIDE)
    if odd:
        said = f"it says {read.sentence!r} of" if read else "it is of"
        text = f"the journal is not believed: {said} {odd[0]!a}, which no act writes"
        raise Disbelieved(path, text, SET_ASIDE)
    return found


def _text(content: bytes | None) -> str | None:
    return None if content is None else base64.b64encode(content).decode("ascii")


def _bytes(text: str | None) -> bytes | None:
    return None if text is None else base64.b64decode(text, validate=True)


def _step(written: dict[str, Any]) -> JournalStep:
    path, old, length = written["path"], written["old"], written["length"]
    content, before = _bytes(written["content"]), _bytes(written.get("before"))
    if not (
        isinstance(path, str) and isinstance(old, str | None) and isinstance(length, int | None)
    ):
        raise TypeError("a step of the wrong kind")
    if length is not None and (length < 0 or content is None):
        raise ValueError("an addition of nothing, or to nowhere")
    return JournalStep(path, old, content, length, before)


def _remove(root: Path, path: str) -> None:
    target = within(root, path)
    with refusing(path):
        target.unlink(missing_ok=True)
        atomic.sync_folder(target.parent)
