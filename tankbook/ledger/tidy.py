"""Putting the fill log in the order of its time and dropping exact duplicates, nothing else.

A union merge keeps the lines of both sides, in whatever order, and now and then a line twice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from tankbook.ledger.apply import FileChange, Recorded, foreseen, record_changes, refuse_pending
from tankbook.ledger.csvlog import read_rows
from tankbook.ledger.errors import LedgerError, first_fault, of_finding
from tankbook.ledger.files import OnDisk
from tankbook.ledger.journal import acting
from tankbook.ledger.load import load_from
from tankbook.ledger.lock import Tell, nobody
from tankbook.ledger.names import LOGS
from tankbook.ledger.ordinary import of_ledger
from tankbook.ledger.text import read_text
from tankbook.ledger.whole import Watched, whole
from tankbook.records.edits import Act
from tankbook.records.kinds import TIME
from tankbook.records.log import LogLine, columns
from tankbook.records.node import Finding


class Tidied(Struct, frozen=True):
    """A log in order: its text, how many lines had stood late, and how many were there twice.

    `zeros` is how many zero bytes were cut off its end.
    """

    text: str
    late: int
    twice: int
    zeros: int = 0

    def __str__(self) -> str:
        cut = f", {self.zeros} zero bytes cut off" if self.zeros else ""
        return f"{self.late} late, {self.twice} twice{cut}"


def tidy(
    root: Path, *, dry_run: bool = False, commit: bool | None = None, tell: Tell = nobody
) -> Recorded:
    """Put every year's log of the ledger at `root` in order.

    Args:
        root: the ledger's folder.
        dry_run: only say what would change.
        commit: make a git commit; None leaves that to the settings.
        tell: told of an interrupted act that was finished on the way.

    Raises:
        LedgerError: a log holds a line that cannot be read, such as a torn one, or a merge that is
            not settled; another process writes; the disk refuses. Nothing is written then.
    """
    if dry_run:
        return whole(root, _dry, tell)
    with acting(root, tell=tell) as transaction:
        act, changes = _planned(root)
        wanted = load_from(OnDisk(root)).settings.commit if commit is None else commit
        return record_changes(transaction, root, act, changes, wanted)


def _dry(files: Watched) -> Recorded:
    refuse_pending(files)
    for name in files.names(LOGS):
        files.exists(f"{LOGS}/{name}")  # watched from here on
    return foreseen(*_planned(files.root))


def _planned(root: Path) -> tuple[Act, list[FileChange]]:
    changes, said = [], []
    folder = root / LOGS
    for file in sorted(folder.glob("*.csv")) if folder.is_dir() else ():
        path = f"{LOGS}/{file.name}"
        data = of_ledger(root, path)
        got = tidied(data, path)
        if got.text.encode() != data:
            changes.append(FileChange(path, data, got.text.encode()))
            said.append(f"{path} ({got})")
    sentence = f"Tidied {', '.join(said)}" if said else "The log is in order"
    return Act("tidy", (), sentence, ()), changes


def tidied(data: bytes, path: str) -> Tidied:
    """A log in the order of its time, without exact duplicates.

    Lines of the same moment keep their order; every line keeps its text and its line end. A blank
    line stays below the line it stood below. Zero bytes at its end, as a power cut leaves them, are
    cut off, also where the rest is at fault: nobody could mend it in an editor with them in it.

    Raises:
        LedgerError: the log is at fault anywhere.
    """
    written = data.rstrip(b"\0")
    zeros = len(data) - len(written)
    text, findings = read_text(written, path)
    _refuse(findings)
    assert text is not None
    try:
        return replace(_in_order(text, path), zeros=zeros)
    except LedgerError:
        if not zeros:
            raise
        return Tidied(text, 0, 0, zeros)


def _in_order(text: str, path: str) -> Tidied:
    rows, findings = read_rows(text, path, columns(LogLine))
    _refuse(findings)
    head, *lines = text.split("\n")
    ended = not lines or lines[-1] == ""
    if lines and ended:
        lines.pop()
    moments = {row.line - 2: _moment(row.cells[0], path, row.line) for row in rows}
    blocks = list(_blocks(lines, moments))
    kept = _without_twins(blocks)
    ordered = sorted(kept, key=lambda block: block.moment)
    if ordered == blocks:
        return Tidied(text, 0, 0)
    late = sum(after.moment < before.moment for before, after in pairwise(blocks))
    body = "".join(f"{line}\n" for block in ordered for line in (*block.line, *block.blank))
    return Tidied(f"{head}\n{body}", late, len(blocks) - len(kept))


class _Block(Struct, frozen=True):
    """A line of the log, none at the head of the file, and the blank lines below it."""

    moment: dt.datetime
    line: tuple[str, ...]
    blank: tuple[str, ...] = ()


def _blocks(lines: list[str], moments: dict[int, dt.datetime]) -> Iterator[_Block]:
    block = _Block(dt.datetime.min.replace(tzinfo=dt.UTC), ())
    for i, line in enumerate(lines):
        if i in moments:
            if block.line or block.blank:
                yield block
            block = _Block(moments[i], (line,))
        else:
            block = replace(block, blank=(*block.blank, line))
    if block.line or block.blank:
        yield block


def _without_twins(blocks: list[_Block]) -> list[_Block]:
    """Of lines that are the same the first one; the blank lines below the others stay."""
    seen: set[str] = set()
    kept: list[_Block] = []
    for block in blocks:
        text = block.line[0].removesuffix("\r") if block.line else ""
        if text and text in seen:
            kept[-1] = replace(kept[-1], blank=kept[-1].blank + block.blank)
        else:
            kept.append(block)
        seen.add(text)
    return kept


def _moment(cell: str, path: str, line: int) -> dt.datetime:
    try:
        moment: dt.datetime = TIME.parse(cell)
    except ValueError as error:
        raise LedgerError(f"{path}:{line}:1", str(error), "nothing was written") from None
    return moment


def _refuse(findings: list[Finding]) -> None:
    if fault := first_fault(findings):
        raise of_finding(fault, f"{fault.mend}; nothing was written".lstrip("; "))
