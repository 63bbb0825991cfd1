"""Readers see whole acts only: an interrupted one is finished first, or told."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.ledger.apply import apply
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.journal import settle
from tankbook.ledger.load import load
from tankbook.ledger.lock import hold, is_here, mark_here
from tankbook.ledger.names import JOURNAL
from tankbook.ledger.pending import Aside, drop_it
from tankbook.ledger.receipts import standing_receipts
from tankbook.ledger.whole import TRIES, Watched, touched_by, whole
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, SetValue
from tankbook.records.node import EVERY_CYLINDER

A, B, LOG = "cylinders/A.yaml", "cylinders/B.yaml", "fills/2026.csv"
LINE = {"at": "2026-11-25T09:30:00+01:00", "cylinder": "C", "act": "reading", "to": "2900 psi"}
HELD = {"on": "2026-11-25", "by": "MV", "why": "dent"}


def act(*edits: Edit) -> Act:
    return Act("hold", ("A", "B"), "Held A, B: dent", edits)


EDITS = tuple(
    edit
    for path in (A, B)
    for edit in (AddEntry(path, ("held",), HELD), SetValue(path, ("status",), "held"))
)


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path) -> Path:
    root = tmp_path / "quay"
    (root / "cylinders").mkdir(parents=True)
    (root / "tankbook.yaml").write_text(books.SETTINGS)
    for number, id_ in enumerate("ABC"):
        text = books.GOOD.replace("K118204", f"K11820{number}")
        (root / f"cylinders/{id_}.yaml").write_text(text)
    return root


def die_before(path: str, root: Path, edits: tuple[Edit, ...], commit: bool = False) -> None:
    """An act by a child that is killed before it comes to a file."""
    child = os.fork()
    if child == 0:
        try:
            from tankbook.ledger import atomic

            def dying(real: Callable[..., Any]) -> Callable[..., Any]:
                def call(where: Path, name: str, *rest: Any) -> Any:
                    if name == path:
                        os.kill(os.getpid(), 9)
                    return real(where, name, *rest)

                return call

            patch = pytest.MonkeyPatch()
            for name in ("write_atomic", "append"):
                patch.setattr(atomic, name, dying(getattr(atomic, name)))
            apply(root, act(*edits), commit=commit)
        finally:
            os._exit(1)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status)


@pytest.fixture(name="interrupted")
def _interrupted(ledger: Path) -> Path:
    """A ledger with an act of which one card is done and one is not."""
    die_before(B, ledger, EDITS)
    assert "status: held" in (ledger / A).read_text()
    assert "status: held" not in (ledger / B).read_text()
    return ledger


@contextmanager
def locked_by_another(root: Path) -> Iterator[None]:
    """Another process has the lock."""
    code = (
        "import sys, pathlib; from tankbook.ledger.lock import hold\n"
        f"with hold(pathlib.Path({str(root)!r})): print('held', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout
        assert other.stdin
        assert other.stdout.readline() == b"held\n"
        try:
            yield
        finally:
            other.stdin.close()


def tree(root: Path) -> dict[str, bytes]:
    return {str(p.relative_to(root)): p.read_bytes() for p in root.rglob("*") if p.is_file()}


def held_in(root: Path, told: list[str]) -> list[str]:
    book = load(root, tell=told.append)
    return [id_ for id_, card in book.cylinders.items() if card.held]


def test_a_reader_finishes_an_interrupted_act_and_tells_it(interrupted: Path) -> None:
    told: list[str] = []
    assert held_in(interrupted, told) == ["A", "B"]
    (said,) = told
    assert said.startswith("finished an act that was interrupted: Held A, B: dent (20")
    assert not (interrupted / JOURNAL).exists()
    assert held_in(interrupted, told) == ["A", "B"]
    assert told == [said]


def test_what_was_to_be_committed_is_told_not_to_be(ledger: Path) -> None:
    die_before(B, ledger, EDITS, commit=True)
    told: list[str] = []
    held_in(ledger, told)
    assert told[0].endswith("; it is not committed to git")


def test_a_reader_that_finds_nothing_writes_nothing(ledger: Path) -> None:
    held_in(ledger, [])
    assert not (ledger / ".tankbook").exists()


@pytest.mark.parametrize("how", ["copy", "other machine", "never"])
def test_a_ledger_that_is_not_this_machines_is_only_looked_at(
    interrupted: Path, tmp_path: Path, how: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = tmp_path / "copy"
    if how == "copy":
        shutil.copytree(interrupted, root)
    else:
        root = interrupted
    if how == "other machine":
        monkeypatch.setattr("platform.node", lambda: "elsewhere")
    if how == "never":
        (root / ".tankbook/here").unlink()
    before = tree(root)
    began = time.monotonic()
    book = load(root)
    assert time.monotonic() - began < 1
    (found,) = (f for f in book.findings if f.code == "pending")
    assert found.text.startswith("Held A, B: dent (")
    assert "is not finished: it was begun on another computer or in another folder" in found.text
    assert found.touches == ("A", "B")
    assert tree(root) == before
    with hold(root):
        mark_here(root)
    assert is_here(root)
    assert held_in(root, []) == ["A", "B"]


def test_a_folder_that_may_not_be_written_is_only_looked_at(
    interrupted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any) -> None:
        raise LedgerError(".tankbook/lock", "the disk is read-only")

    monkeypatch.setattr("tankbook.ledger.lock._open", refuse)
    before = tree(interrupted)
    (found,) = (f for f in load(interrupted).findings if f.code == "pending")
    assert "is not finished: the disk is read-only (.tankbook/lock)" in found.text
    assert tree(interrupted) == before


def test_a_writer_that_does_not_end_is_waited_for_two_seconds(interrupted: Path) -> None:
    with locked_by_another(interrupted):
        began = time.monotonic()
        (found,) = (f for f in load(interrupted).findings if f.code == "pending")
        assert 1.5 < time.monotonic() - began < 3
    assert found.text.endswith("is not finished: another process is at it")
    assert found.mend == "ask again once it is done"
    assert held_in(interrupted, []) == ["A", "B"]


def test_a_living_writer_is_waited_for_where_nothing_may_be_written(
    interrupted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any) -> None:
        raise LedgerError(".tankbook/lock", "permission is denied")

    monkeypatch.setattr("tankbook.ledger.lock._open", refuse)
    began = time.monotonic()
    with locked_by_another(interrupted):
        (found,) = (f for f in load(interrupted).findings if f.code == "pending")
        assert 1.5 < time.monotonic() - began < 5
    assert "another process is at it" in found.text


def test_in_a_copy_a_living_writer_is_waited_for_as_well(interrupted: Path) -> None:
    (interrupted / ".tankbook/here").unlink()
    with locked_by_another(interrupted):
        began = time.monotonic()
        (found,) = (f for f in load(interrupted).findings if f.code == "pending")
        assert 1.5 < time.monotonic() - began < 3
    assert "another process is at it" in found.text


GARBAGE: dict[str, Callable[[Path], object]] = {
    "text": lambda p: p.write_bytes(b"garbage\n"),
    "empty": lambda p: p.write_bytes(b""),
    "zeros": lambda p: p.write_bytes(b"\0" * 4096),
    "cut short": lambda p: p.write_bytes(p.read_bytes()[:-9]),
    "a folder": lambda p: (p.unlink(), p.mkdir()),
    "a pipe": lambda p: (p.unlink(), os.mkfifo(p)),
    "a device": lambda p: (p.unlink(), p.symlink_to("/dev/zero")),
    "a broken link": lambda p: (p.unlink(), p.symlink_to("nowhere")),
}


@pytest.mark.parametrize("what", ["a pipe", "a device", "a folder"])
def test_a_card_of_a_pending_act_that_is_no_file_stops_nobody(interrupted: Path, what: str) -> None:
    GARBAGE[what](interrupted / B)
    (found,) = (f for f in load(interrupted).findings if f.code == "pending")
    assert "ordinary file" in found.text or "leads out of the ledger" in found.text
    assert {"A", "B"} <= set(found.touches)


@pytest.mark.parametrize("what", GARBAGE)
def test_a_garbage_journal_refuses_everything_and_names_the_way_out(
    interrupted: Path, what: str
) -> None:
    journal = interrupted / JOURNAL
    GARBAGE[what](journal)
    (found,) = (f for f in load(interrupted).findings if f.code == "pending")
    assert found.touches == (EVERY_CYLINDER,)
    assert "`tankbook pending --drop` sets the journal aside" in found.mend
    with pytest.raises(LedgerError) as refused:
        settle(interrupted)
    assert refused.value.path == JOURNAL
    aside = drop_it(interrupted)
    assert isinstance(aside, Aside)
    assert os.path.lexists(interrupted / aside.name)
    assert not [f for f in load(interrupted).findings if f.code == "pending"]


def test_a_journal_that_cannot_be_looked_at_may_be_there(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.lstat

    def closed(path: Any, *rest: Any, **more: Any) -> Any:
        if ".tankbook/" in str(path):
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(path, *rest, **more)

    monkeypatch.setattr(os, "lstat", closed)
    (found,) = (f for f in load(ledger).findings if f.code == "pending")
    assert (found.text, found.touches) == ("permission is denied", (EVERY_CYLINDER,))
    assert found.mend == "give yourself the right to write here"


NEW_LINES = AddLine({**LINE, "cylinder": "B"}), AddLine({**LINE, "note": 'a "b", c'})


@pytest.mark.parametrize(
    ("edits", "touches"),
    [
        (EDITS, ("A", "B")),
        ((*EDITS[:2], NEW_LINES[0], NEW_LINES[1]), ("A", "B", "C")),
        ((*EDITS[:2], NewFile("sets/D.yaml", "cylinders: [A, B]\n")), ("A", "B", "D")),
        ((*EDITS[:2], NewFile("station.yaml", "{}\n")), (EVERY_CYLINDER,)),
    ],
)
@pytest.mark.parametrize("begun", [False, True])
def test_what_an_act_touches(
    ledger: Path, edits: tuple[Edit, ...], touches: tuple[str, ...], begun: bool
) -> None:
    if begun:
        apply(ledger, act(AddLine({**LINE, "at": "2026-11-24T09:30:00+01:00"})))
    die_before(A, ledger, edits)
    (ledger / ".tankbook/here").unlink()
    (found,) = (f for f in load(ledger).findings if f.code == "pending")
    assert found.touches == touches


def test_a_log_that_is_put_in_order_touches_every_cylinder(ledger: Path) -> None:
    apply(ledger, act(NEW_LINES[0], NEW_LINES[1]))
    text = (ledger / LOG).read_bytes()
    from tankbook.ledger.steps import JournalAct, JournalStep, digest

    step = JournalStep(LOG, digest(text), text[:-1])
    assert touched_by(JournalAct((step,))) == (EVERY_CYLINDER,)


# --- files that move while they are read


def test_files_that_move_are_read_again(ledger: Path) -> None:
    seen: list[list[str]] = []

    def work(files: Watched) -> list[str]:
        texts = [files.read(path).decode() for path in (A, B)]
        seen.append(texts)
        if len(seen) < TRIES:
            apply(ledger, act(*EDITS))
        return texts

    assert whole(ledger, work) == seen[-1]
    assert len(seen) == TRIES
    assert seen[0] != seen[1] != seen[2]


@pytest.mark.parametrize("written_here", [True, False])
def test_files_that_never_hold_still_are_read_under_the_lock_or_told(
    ledger: Path, written_here: bool
) -> None:
    apply(ledger, act(*EDITS))
    if not written_here:
        (ledger / ".tankbook/here").unlink()
    calls = []

    def work(files: Watched) -> tuple[Any, ...]:
        files.read(A)
        calls.append(files.pending)
        text = (ledger / A).read_bytes()
        (ledger / A).write_bytes(text + b"# edited\n")
        return files.pending

    pending = whole(ledger, work)
    assert len(calls) == TRIES + 1
    if written_here:
        assert pending == ()
    else:
        assert pending[0].text == f"the files changed while they were read, {TRIES + 1} times"
        assert pending[0].touches == (EVERY_CYLINDER,)


@pytest.mark.parametrize(
    "move",
    [
        lambda root: (root / "cylinders/N.yaml").write_bytes(b"x"),
        lambda root: (root / B).unlink(),
        lambda root: os.utime(root / B, ns=(1, 1)),
        lambda root: (root / B).write_bytes((root / B).read_bytes()),
        lambda root: (root / JOURNAL).parent.mkdir() or (root / JOURNAL).write_bytes(b""),
        lambda root: (root / "station.yaml").write_bytes(b""),
    ],
    ids=["new", "gone", "touched", "same text", "an act begun", "a file that was not there"],
)
def test_what_counts_as_moved(ledger: Path, move: Callable[[Path], object]) -> None:
    files = Watched(ledger)
    files.watch_journal()
    files.names("cylinders")
    files.read(B)
    files.exists("station.yaml")
    assert not files.moved()
    time.sleep(0.02)  # the clock of a disk is coarse
    move(ledger)
    assert files.moved()


def test_what_is_raised_over_a_moving_ledger_is_asked_again(ledger: Path) -> None:
    calls = []

    def work(files: Watched) -> str:
        files.read(A)
        calls.append(1)
        if len(calls) == 1:
            apply(ledger, act(*EDITS))
            raise LedgerError(A, "half of it is missing")
        return "whole"

    assert whole(ledger, work) == "whole"
    with pytest.raises(LedgerError, match="gone"):
        whole(ledger, lambda files: (_ for _ in ()).throw(LedgerError(A, "gone")))


def test_an_act_that_was_finished_by_another_leaves_its_receipt(interrupted: Path) -> None:
    held_in(interrupted, [])
    (receipt,) = standing_receipts(interrupted)
    assert receipt.note.sentence == "Held A, B: dent"
    apply(interrupted, act(NEW_LINES[0]))
    assert list(standing_receipts(interrupted)) == [receipt]


def test_a_reading_within_another_waits_no_longer_than_that(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[float] = []

    def until(seconds: float) -> float:
        begun.append(seconds)
        return time.monotonic() + seconds

    monkeypatch.setattr("tankbook.ledger.whole.until_after", until)
    assert whole(tmp_path, lambda _: whole(tmp_path, lambda _: "read")) == "read"
    assert begun == [2.0]
    whole(tmp_path, lambda _: None)
    assert begun == [2.0, 2.0]  # the next has its own
