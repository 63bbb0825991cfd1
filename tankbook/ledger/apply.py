"""Recording an act: its edits spliced into the files, checked, and written all or not at all.

An act that is given may have been recorded already, by a process that could not say so. It is
planned once more on the ledger as it was before, and compared with the one that its receipt tells
of. What was recorded since of the same files makes a second act of it.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from itertools import chain
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger import commit as git
from tankbook.ledger import left, recorded
from tankbook.ledger.absence import look
from tankbook.ledger.csvlog import addition
from tankbook.ledger.errors import LedgerError, first_fault, of_finding
from tankbook.ledger.events import parse
from tankbook.ledger.files import OnDisk
from tankbook.ledger.journal import Transaction, acting, bytes_of
from tankbook.ledger.load import load_from
from tankbook.ledger.lock import Tell, nobody
from tankbook.ledger.modelines import with_modeline
from tankbook.ledger.names import LOGS, is_safe_id, within
from tankbook.ledger.note import Note
from tankbook.ledger.receipts import Receipt, acknowledge, standing_receipts
from tankbook.ledger.splice import Append, Put, Splice, SpliceValue, splice
from tankbook.ledger.steps import digest
from tankbook.ledger.text import read_text
from tankbook.ledger.there import log_of
from tankbook.ledger.whole import Watched, whole
from tankbook.records.book import Book
from tankbook.records.checklist import Checklist
from tankbook.records.edits import Act, AddEntry, AddLine, NewFile, Refusal, SetValue, Value
from tankbook.records.fields import NodeReader, Record, read
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.node import Finding
from tankbook.records.rulerow import RuleSet
from tankbook.rules.changes import FOLDERS, KINDS


class Again(Struct, frozen=True):
    """An act that was given twice: as it is given now, and as it was recorded.

    `untouched` says that its files hold the act and nothing after it.
    """

    act: Act
    receipt: Receipt
    untouched: bool


def repeated(
    root: Path, plan: Callable[[Book], Act | Refusal], by: str, now: dt.datetime
) -> Again | None:
    """The act that a plan would give once more; None where it gives another.

    Args:
        root: the ledger's folder, locked.
        plan: makes the act from a book.
        by: initials of who gives it.
        now: since when the ledger is locked.
    """
    for receipt in standing_receipts(root):
        before = _before(root, receipt)
        if before is None:
            continue
        files, untouched = before
        try:
            act = plan(load_from(files))
        except Exception:  # what is wrong with a ledger that is no more is no answer
            continue
        if isinstance(act, Act) and Note.of(act, by, now).is_again(receipt.note):
            return Again(act, receipt, untouched)
    return None


class _Before(OnDisk):
    """A folder with some of its files as they were; None stands for no such file."""

    def __init__(self, root: Path, was: Mapping[str, bytes | None]) -> None:
        super().__init__(root)
        self.was = was

    def names(self, folder: str) -> list[str]:
        gone = {path for path, data in self.was.items() if data is None}
        start = f"{folder}/" if folder else ""
        return [name for name in super().names(folder) if f"{start}{name}" not in gone]

    def exists(self, path: str) -> bool:
        if path in self.was:
            return self.was[path] is not None
        return super().exists(path)

    def read(self, path: str) -> bytes:
        data = self.was.get(path)
        return super().read(path) if data is None else data


def _before(root: Path, receipt: Receipt) -> tuple[_Before, bool] | None:
    """The ledger as it was before an act, and whether nothing was added to its logs since.

    None where more was recorded of what the act is about: then giving it again is a second act.
    """
    was: dict[str, bytes | None] = {}
    untouched = True
    for step in receipt.written.steps:
        try:
            current = bytes_of(root, step.path)
        except LedgerError:
            return None
        if current is None:
            return None
        content, since = step.content or b"", b""
        if step.length is not None:
            since = current[step.length + len(content) :]
            was[step.path] = current[: step.length] + since.removeprefix(b"\n")
        elif step.old is None and step.path.startswith(f"{LOGS}/"):  # the first line of a year
            since = current[len(content) :]
            was[step.path] = content[: content.index(b"\n") + 1] + since if since else None
        else:
            was[step.path] = step.before
        start = step.length or 0
        if current[start:] != content + since or _speaks_of(receipt.note.subjects, since):
            return None
        untouched = untouched and not since
    return _Before(root, was), untouched


def _speaks_of(ids: Sequence[str], lines: bytes) -> bool:
    """Whether lines of the log are about any of some cylinders, or strike out a line of theirs."""
    text = lines.decode(errors="replace")
    return any(re.search(rf"[, ]{re.escape(each)},", text) for each in ids)


_IN_FOLDERS: dict[str, type[Record]] = {**FOLDERS, "checklists": Checklist, "rules": RuleSet}

Read = Callable[[str], bytes | None]
"""The content of a file of the ledger, or None where there is none."""


class Recorded(Struct, frozen=True):
    """What was done: the files touched, what changed in them, and whether git has it.

    `commit` is the commit's full name, None where there is none; `why_not_committed` says why a
    commit that was asked for was not made. With `dry_run` nothing was written. `receipt` is to be
    acknowledged once whoever gave the act was told (`ledger/receipts.py`). `already` is the act
    that was recorded before, where this one is the same, given again; nothing is written then.
    """

    act: Act
    files: tuple[str, ...]
    diff: str
    dry_run: bool = False
    commit: str | None = None
    why_not_committed: str = ""
    receipt: str = ""
    already: str = ""


class FileChange(Struct, frozen=True):
    """One file before and after. `added` is set where lines are only added at its end."""

    path: str
    old: bytes | None
    new: bytes
    added: bytes | None = None

    def stage(self, transaction: Transaction) -> None:
        """Put the change into a transaction."""
        expected = None if self.old is None else digest(self.old)
        if self.added is None:
            transaction.write(self.path, self.new, expected)
        else:
            transaction.append(self.path, self.added, expected)

    def diff(self) -> str:
        """The change as a unified diff; for a log, only the lines added."""
        name = "/dev/null" if self.old is None else self.path
        if self.added is not None and self.old is not None:
            first = self.old.count(b"\n") + 1
            new = _lines(self.added)
            head = [
                f"--- {name}\n",
                f"+++ {self.path}\n",
                f"@@ -{first},0 +{first},{len(new)} @@\n",
            ]
            return "".join([*head, *(f"+{line}" for line in new)])
        before, after = _lines(self.old or b""), _lines(self.new)
        return "".join(difflib.unified_diff(before, after, name, self.path, n=1))


def apply(root: Path, act: Act, *, dry_run: bool = False, commit: bool = False) -> Recorded:
    """Record an act in the ledger at `root`, as its files stand now.

    Args:
        root: the ledger's folder.
        act: what is to change.
        dry_run: only say what would change.
        commit: make one git commit of the files touched.

    Raises:
        LedgerError: an edit has no place in its file, a new file is there already, a changed
            record would be at fault, another process writes, the disk refuses, or (with `commit`)
            a touched file holds changes that were never committed. Nothing is written then.
    """
    if dry_run:
        return whole(root, lambda files: _changed(files, act))
    with acting(root) as transaction:
        changes = changes_of(transaction.read, act)
        done = record_changes(transaction, root, act, changes, commit)
    acknowledge(root, done.receipt)
    return replace(done, receipt="")


def record(
    root: Path,
    plan: Callable[[Book], Act | Refusal],
    *,
    dry_run: bool = False,
    commit: bool | None = None,
    by: str = "",
    again: bool = False,
    tell: Tell = nobody,
) -> Recorded | Refusal:
    """Plan an act on the ledger as it stands, nobody else writing, and record it.

    Args:
        root: the ledger's folder.
        plan: makes the act from the book, or says why not.
        dry_run: only say what would change.
        commit: make a git commit; None leaves that to the settings.
        by: initials of who gives the act, for whoever has to finish it; the settings' operator
            where empty.
        again: record it even where it is the same as one that was interrupted.
        tell: told of an interrupted act that was finished on the way.

    Raises:
        LedgerError: as `apply`.
    """
    if dry_run:
        return whole(root, lambda files: _dry(files, plan), tell)
    with acting(root, tell=tell) as transaction:
        if not again and (known := repeated(root, plan, by, transaction.since)):
            return _already(root, known, commit)
        book = load_from(OnDisk(root))
        planned = plan(book)
        if isinstance(planned, Refusal):
            return planned
        wanted = book.settings.commit if commit is None else commit
        changes = changes_of(transaction.read, planned)
        by = by or book.settings.operator or ""
        return record_changes(transaction, root, planned, changes, wanted, by)


def _already(root: Path, known: Again, commit: bool | None) -> Recorded:
    """That an act is recorded; what git was to have of it and has not, it is given now."""
    receipt = known.receipt
    files = receipt.written.files
    done = Recorded(known.act, files, "", receipt=receipt.name, already=str(receipt.note))
    if commit is False or not receipt.note.commit:
        return done
    why_not = "" if known.untouched else "more was added to its files since; commit them by hand"
    return _committed(root, done, why_not or git.in_the_way(root))


def _committed(root: Path, done: Recorded, why_not: str) -> Recorded:
    """The same committed, unless there is a reason why not."""
    if why_not:
        return replace(done, why_not_committed=why_not)
    made = git.commit(root, done.files, git.message(done.act))
    if isinstance(made, git.Failed):
        return replace(done, why_not_committed=made.why)
    left.forget(root, done.files)
    return replace(done, commit=made)


def _dry(files: Watched, plan: Callable[[Book], Act | Refusal]) -> Recorded | Refusal:
    """What recording would do, as far as whole acts let it be told."""
    refuse_pending(files)
    planned = plan(load_from(files))
    return planned if isinstance(planned, Refusal) else _changed(files, planned)


def refuse_pending(files: Watched) -> None:
    """Nothing is planned on half an act.

    Raises:
        LedgerError: an act is not finished.
    """
    if files.pending:
        raise of_finding(files.pending[0])


def _changed(files: Watched, act: Act) -> Recorded:
    refuse_pending(files)
    return foreseen(act, changes_of(lambda path: _read(files, path), act))


def foreseen(act: Act, changes: Sequence[FileChange]) -> Recorded:
    """What recording an act would do."""
    return Recorded(act, _paths(changes), _diff(changes), dry_run=True)


def record_changes(
    transaction: Transaction,
    root: Path,
    act: Act,
    changes: list[FileChange],
    commit: bool,
    by: str = "",
) -> Recorded:
    """Write changes and, where asked, commit them; `by` gives the act."""
    done = Recorded(act, _paths(changes), _diff(changes))
    commit = commit and bool(changes)  # git would take no files for all of them
    why_not = (_hindrance(root, done.files) or _would_bury(root)) if commit else ""
    if commit and not why_not:
        why_not = git.commit_left(root)
    written = [(c.path, c.old, c.new) for c in changes]
    left.note(root, act, written)
    for change in changes:
        change.stage(transaction)
    note = Note.of(act, by, transaction.since, commit)
    receipt = transaction.commit(note)
    recorded.note(root, note, written)
    done = replace(done, receipt=receipt)
    return _committed(root, done, why_not) if commit else done


def _hindrance(root: Path, files: tuple[str, ...]) -> str:
    """As git's, but that what an interrupted act left is called so, and not an edit by hand."""
    try:
        return git.hindrance(root, files)
    except LedgerError as error:
        for receipt in standing_receipts(root):
            if error.path in receipt.written.files:
                said = f"it holds an interrupted act that is not committed: {receipt.note}"
                mend = "nothing was written; give that act again, commit the file, or record with"
                raise LedgerError(error.path, said, f"{mend} --no-commit") from error
        raise


def _would_bury(root: Path) -> str:
    """Why a commit on top of this merge would hide what the merge lost, or an empty text: the sides
    of a merge are compared only while it is the newest commit."""
    seen = look(root, history=False)
    lost = [each for each in seen.gone if each.commit]
    if not seen.heads.is_merge or not lost:
        return ""
    first = lost[0]
    return (
        f"the last merge lost {first.what} of {first.path}, and a commit on top would hide that; "
        "put it back or say why in `removed:`, and commit this with it"
    )


def _paths(changes: Iterable[FileChange]) -> tuple[str, ...]:
    return tuple(c.path for c in changes)


def _diff(changes: Iterable[FileChange]) -> str:
    return "".join(c.diff() for c in changes)


def changes_of(read_file: Read, act: Act) -> list[FileChange]:
    """What an act makes of the files it touches; files that stay as they are are left out.

    Raises:
        LedgerError: an edit has no place, or a changed record would be at fault.
    """
    by_file: dict[str, list[SetValue | AddEntry | NewFile]] = {}
    by_log: dict[str, list[AddLine]] = {}
    for edit in act.edits:
        if isinstance(edit, AddLine):
            by_log.setdefault(log_of(edit), []).append(edit)
        else:
            by_file.setdefault(edit.file, []).append(edit)
    once = cache(read_file)  # thousands of new cards ask for one schema
    made = chain(
        (_record_change(path, read_file(path), edits, once) for path, edits in by_file.items()),
        (_log_change(path, read_file(path), lines) for path, lines in by_log.items()),
    )
    return [change for change in made if change.old != change.new]


def _record_change(
    path: str, current: bytes | None, edits: list[SetValue | AddEntry | NewFile], read_file: Read
) -> FileChange:
    new = None if current is None else _text(current, path)
    for edit in edits:
        if isinstance(edit, NewFile):
            if new is not None:
                raise LedgerError(path, "there is such a file already", "choose another id")
            new = with_modeline(path, edit.text, read_file)
        elif new is None:
            raise LedgerError(path, "there is no such file", "it may have been renamed")
        else:
            new = splice(new, [_spliceable(edit)], path)
    assert new is not None
    _check_record(path, new)
    return FileChange(path, current, new.encode())


def _text(data: bytes, path: str) -> str:
    text, findings = read_text(data, path)
    _refuse_faults(findings)
    assert text is not None
    return text


def _spliceable(edit: SetValue | AddEntry) -> Splice:
    if isinstance(edit, SetValue):
        return Put(edit.trail, _plain(edit.value))
    return Append(edit.trail, _plain(edit.entry))


def _plain(value: Value) -> SpliceValue:
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return {name: _plain(inner) for name, inner in value.items()}
    return [_plain(inner) for inner in value]


def _check_record(path: str, text: str) -> None:
    """Refuse a record that could not be read back."""
    folder, _, name = path.rpartition("/")
    kind = KINDS.get(path) or _IN_FOLDERS.get(folder)
    if kind is None or (folder and not is_safe_id(name.removesuffix(".yaml"))):
        raise LedgerError(path, "this cannot be a record of a ledger", "check the name")
    node, findings = parse(text, path)
    _refuse_faults(findings)
    reader = NodeReader(path)
    read(kind, node, reader)
    _refuse_faults(reader.findings)


def _log_change(path: str, current: bytes | None, lines: list[AddLine]) -> FileChange:
    header = columns(LogLine)
    rows = []
    for line in lines:
        if unknown := set(line.cells) - set(header):
            raise ValueError(f"no such columns: {', '.join(sorted(unknown))}")
        row = [line.cells.get(name, "") for name in header]
        reader = NodeReader(path)
        read_line(LogLine, row, reader, 0)
        _refuse_faults(reader.findings)
        rows.append(row)
    if current is not None:
        _refuse_conflict(current, path)
    added = addition(current, rows, path, header)
    return FileChange(path, current, (current or b"") + added, added)


def _refuse_conflict(current: bytes, path: str) -> None:
    """A log in the middle of a merge is not added to: the line would be lost with the conflict."""
    for number, line in enumerate(current.split(b"\n"), 1):
        if line.startswith((b"<<<<<<< ", b">>>>>>> ")):
            mend = "keep the lines that are true and delete the markers"
            raise LedgerError(f"{path}:{number}:1", "a merge conflict is not settled here", mend)


def _refuse_faults(findings: Iterable[Finding]) -> None:
    if fault := first_fault(findings):
        raise of_finding(fault, fault.mend or "nothing was written")


def _lines(data: bytes) -> list[str]:
    """Lines for a diff, whatever their ends."""
    text = data.decode(errors="replace").replace("\r\n", "\n")
    return [line if line.endswith("\n") else f"{line}\n" for line in text.splitlines(keepends=True)]


def _read(files: Watched, path: str) -> bytes | None:
    within(files.root, path)
    return files.read(path) if files.exists(path) else None
