"""Acts over several files, all or nothing.

An act is written to a journal before the first of its files is touched, and the journal goes when
the last one is done. Whoever takes the lock next finishes what a journal still holds; a journal
that never became whole belongs to an act that was never acknowledged.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from tankbook.ledger import atomic
from tankbook.ledger.errors import LedgerError, from_os
from tankbook.ledger.lock import PATIENCE, Held, hold, private_folder
from tankbook.ledger.names import PRIVATE_FOLDER, within

JOURNAL = f"{PRIVATE_FOLDER}/journal"
_FORM = 1


def digest(data: bytes) -> str:
    """The SHA-256 of a file's content, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


class _State(StrEnum):
    """How far one file of an act has come."""

    TO_DO = "to do"
    TORN = "torn"
    DONE = "done"
    CHANGED = "changed by hand"


@dataclass(frozen=True, slots=True)
class _Step:
    """What an act does to one file.

    `old` is the digest of what was there, None for nothing. With `length` the `content` is added
    after that many bytes; without, it replaces all.
    """

    path: str
    old: str | None
    content: bytes
    length: int | None = None

    def state(self, current: bytes | None) -> _State:
        """How far this step has come, given what is in the file now."""
        if self.length is None:
            if current == self.content:
                return _State.DONE
            there = None if current is None else digest(current)
            return _State.TO_DO if there == self.old else _State.CHANGED
        if current is None or digest(current[: self.length]) != self.old:
            return _State.CHANGED
        added = current[self.length :]
        if added.startswith(self.content):
            return _State.DONE
        if self.content.startswith(added):
            return _State.TORN if added else _State.TO_DO
        return _State.CHANGED

    def apply(self, root: Path, state: _State) -> None:
        """Bring the file to where the act wants it."""
        if state is _State.DONE:
            return
        if self.length is None:
            atomic.write_atomic(root, self.path, self.content)
            return
        if state is _State.TORN:
            atomic.truncate(root, self.path, self.length)
        atomic.append(root, self.path, self.content)


class Transaction:
    """Changes to several files of a locked ledger, made all at once by `commit` or not at all."""

    def __init__(self, held: Held) -> None:
        self._held = held
        self._staged: dict[Path, _Step] = {}

    def read(self, path: str) -> bytes | None:
        """The content of the file at `path`, relative to the ledger, or None if there is none.

        Raises:
            LedgerError: the file cannot be read.
        """
        return _read(self._held.root, path)

    def write(self, path: str, data: bytes, expected: str | None) -> None:
        """Stage new content for a file.

        `expected` is the digest of the content that the change was made for, None for no file.

        Raises:
            LedgerError: the path leads out of the ledger.
        """
        self._stage(_Step(path, expected, data))

    def append(self, path: str, data: bytes, expected: str | None) -> None:
        """Stage an addition to the end of a file; `expected` and errors as in `write`."""
        self._stage(_Step(path, expected, data, length=None if expected is None else 0))

    def commit(self) -> None:
        """Make the staged changes.

        Raises:
            LedgerError: a file is not as expected, or the disk refuses. Nothing is changed, or, if
                the text says so, the act is in the journal and the next command finishes it.
        """
        if not self._held.active:
            raise RuntimeError("the ledger is no longer locked")
        steps = [step for each in self._staged.values() if (step := self._checked(each))]
        self._staged.clear()
        root = self._held.root
        if len(steps) == 1 and steps[0].length is None:
            # Replacing one file is whole by itself; half a line added would be half an act.
            steps[0].apply(root, _State.TO_DO)
        elif steps:
            _put(root, steps)
            try:
                _carry_out(root, [(step, _State.TO_DO) for step in steps])
            except LedgerError as error:
                said = f"{error.text}; the act is in the journal and not finished"
                mend = f"{error.mend}; any command then finishes it"
                raise LedgerError(error.path, said, mend) from error

    def _stage(self, step: _Step) -> None:
        target = within(self._held.root, step.path)
        if target in self._staged:
            raise ValueError(f"{step.path} is staged twice")
        self._staged[target] = step

    def _checked(self, step: _Step) -> _Step | None:
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
            return None if current == step.content else step
        return replace(step, length=len(current or b"")) if step.content else None


@contextmanager
def acting(root: Path, patience: float = PATIENCE) -> Iterator[Transaction]:
    """A transaction on the ledger at `root`, which is locked while the block runs.

    What an interrupted act left is finished first. What the block has not committed is not written.

    Raises:
        LedgerError: another process has the lock, or an interrupted act cannot be finished.
    """
    with hold(root, patience) as held:
        atomic.sweep(root)
        finish(held)
        yield Transaction(held)


def settle(root: Path, patience: float = PATIENCE) -> tuple[str, ...]:
    """Finish what an interrupted act left, before reading; returns the files it was about.

    Takes no lock and touches nothing where there is nothing to finish. Raises as `acting`.
    """
    if not (root / JOURNAL).exists():
        return ()
    with hold(root, patience) as held:
        return finish(held)


def finish(held: Held) -> tuple[str, ...]:
    """Carry out the act in the journal, if there is one; returns the files it was about.

    Raises:
        LedgerError: the journal is damaged, or a file in it was changed by hand since; nothing
            more is written.
    """
    data = _read_journal(held.root)
    if data is None:
        return ()
    steps = _decoded(data)
    states = [(step, step.state(_read(held.root, step.path))) for step in steps]
    for step, state in states:
        if state is _State.CHANGED:
            raise LedgerError(
                step.path,
                "an act was interrupted, and this file was changed by hand before it was finished",
                f"put the file back as it was (git can) and try again, or delete {JOURNAL} "
                "and enter the act anew",
            )
    _carry_out(held.root, states)
    return tuple(step.path for step in steps)


def _put(root: Path, steps: list[_Step]) -> None:
    folder = private_folder(root)
    try:
        atomic.swap(folder / "journal", _encoded(steps))
        try:
            atomic.sync_folder(folder)
        except OSError:
            (folder / "journal").unlink()  # the act is refused, so nobody may carry it out
            raise
    except OSError as error:
        raise from_os(JOURNAL, error) from error


def _carry_out(root: Path, states: list[tuple[_Step, _State]]) -> None:
    """Do what is to do, then forget the act."""
    for step, state in states:
        step.apply(root, state)
    journal = root / JOURNAL
    try:
        journal.unlink()
        atomic.sync_folder(journal.parent)
    except OSError as error:
        raise from_os(JOURNAL, error) from error


def _encoded(steps: list[_Step]) -> bytes:
    listed = [
        asdict(step) | {"content": base64.b64encode(step.content).decode("ascii")} for step in steps
    ]
    body = json.dumps({"form": _FORM, "steps": listed}, indent=1).encode()
    return digest(body).encode() + b"\n" + body


def _decoded(data: bytes) -> list[_Step]:
    seal, _, body = data.partition(b"\n")
    said = "the journal cannot be read, so an act may be half done"
    mend = f"see with git what it changed, mend that by hand, and delete {JOURNAL}"
    if seal != digest(body).encode():
        raise LedgerError(JOURNAL, said, mend)
    try:
        written = json.loads(body)
        if written["form"] != _FORM:
            raise LedgerError(JOURNAL, "another version of tankbook wrote it", "use that version")
        return [_step(each) for each in written["steps"]]
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise LedgerError(JOURNAL, said, mend) from error


def _step(written: dict[str, Any]) -> _Step:
    path, old, length = written["path"], written["old"], written["length"]
    if not (
        isinstance(path, str) and isinstance(old, str | None) and isinstance(length, int | None)
    ):
        raise TypeError("a step of the wrong kind")
    return _Step(path, old, base64.b64decode(written["content"], validate=True), length)


def _read_journal(root: Path) -> bytes | None:
    try:
        return (root / JOURNAL).read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise from_os(JOURNAL, error) from error


def _read(root: Path, path: str) -> bytes | None:
    try:
        return within(root, path).read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise from_os(path, error) from error


def _refuse_twin(root: Path, path: str) -> None:
    """Some disks take names that differ only in capitals for one file."""
    target = within(root, path)
    names = [each.name for each in target.parent.iterdir()] if target.parent.is_dir() else []
    for name in names:
        if name.casefold() == target.name.casefold():
            said = f"the name differs only in capitals from {name}, which is there"
            raise LedgerError(path, said, "choose another name")
