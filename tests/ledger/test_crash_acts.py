"""Acts by processes that are killed inside a write, and by two processes at once.

Whoever is killed, the ledger reads back without a fault, and holds every act that was acknowledged
and half of none.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import books
import pytest
from read_whole import read_ledger
from sweep import SWEEP

from tankbook.__main__ import main
from tankbook.acts.hold import hold, release
from tankbook.ledger.apply import apply, record
from tankbook.ledger.journal import settle
from tankbook.records.book import Book
from tankbook.records.edits import Act, AddLine, NewFile, Refusal
from tankbook.records.node import Severity
from tankbook.rules.checks import check

DAY = dt.date(2026, 11, 25)
IDS = ("RB-014", "RB-015", "RB-016")
POINTS = 300 if SWEEP else 60
"""How often a process is killed."""
CALLS = ("open", "write", "fsync", "fchmod", "close", "replace", "ftruncate", "unlink", "mkdir")
"""What of `os` changes a disk or settles what is on it."""


@pytest.fixture(name="ledger")
def _ledger() -> Iterator[Path]:
    """A ledger in memory where there is a disk of memory: what is tried is the order of the calls,
    not how long a disk takes to settle."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as folder:
        yield ledger_in(Path(folder) / "quay")


def ledger_in(root: Path) -> Path:
    texts = {"tankbook.yaml": books.SETTINGS, "station.yaml": "regulator_set: 3000 psi\n"}
    for number, id_ in enumerate(IDS):
        texts[f"cylinders/{id_}.yaml"] = books.GOOD.replace("K118204", f"K11820{number}")
    for path, text in texts.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return root


def faults(book: Book) -> list[str]:
    """What validate finds at fault; the order of the log is advice."""
    found = [*book.findings, *check(book, DAY)]
    return [str(f) for f in found if f.severity is Severity.FAULT]


def at(number: int) -> str:
    """A moment for act `number`, one second after the one before."""
    start = dt.datetime.fromisoformat("2026-11-25T00:00:00+01:00")
    return (start + dt.timedelta(seconds=number)).isoformat()


def readings(number: int) -> Act:
    """One act over five files: two cards with their status, one new card, two lines of the log."""
    edits: list[Any] = []
    for id_ in IDS[:2]:
        edits += hold_act(id_, f"act {number}").edits
        cells = {"at": at(number), "cylinder": id_, "act": "reading", "note": f"act {number}"}
        edits.append(AddLine({**cells, "to": "2900 psi"}))
    text = books.GOOD.replace("K118204", f"N{number:06}")
    edits.append(NewFile(f"cylinders/NW-{number:04}.yaml", text))
    return Act("test", IDS[:2], f"act {number}", tuple(edits))


def hold_act(id_: str, why: str) -> Act:
    """A hold of a cylinder that may be held already: always a further entry."""
    book = books.make_book({id_: books.GOOD})
    act = hold(book, [id_], why=why, by="MV", on=DAY)
    assert isinstance(act, Act)
    return act


def holds_of(book: Book) -> dict[str, set[str]]:
    """Which acts each file knows of: they must all know of the same."""
    found: dict[str, set[str]] = {id_: {h.why for h in book.cylinders[id_].held} for id_ in IDS[:2]}
    for id_ in IDS[:2]:
        notes = [line.note or "" for line in book.log if line.cylinder == id_]
        assert len(notes) == len(set(notes)), "a line is there twice"
        found[f"log of {id_}"] = set(notes)
    found["new"] = {f"act {int(i[3:])}" for i in book.cylinders if i.startswith("NW-")}
    return found


class Dying:
    """Kills this process at a chosen call that changes the disk, inside a write after some bytes."""

    def __init__(self, number: int, share: float) -> None:
        self.left, self.share = number, share

    def arm(self, patch: pytest.MonkeyPatch) -> None:
        for name in CALLS:
            patch.setattr(os, name, self._wrap(name, getattr(os, name)))

    def _wrap(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **keywords: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                if name == "write":
                    data = arguments[1]
                    real(arguments[0], data[: int(self.share * len(data))])
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*arguments, **keywords)

        return call


def run_until_killed(root: Path, dying: Dying | None, first: int, count: int) -> list[int]:
    """Acts recorded by a child process, one after another; those it acknowledged."""
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        acknowledge = os.write
        status = 1
        try:
            os.close(reads)
            if dying:
                dying.arm(pytest.MonkeyPatch())
            for number in range(first, first + count):
                apply(root, readings(number))
                acknowledge(writes, f"{number}\n".encode())
            status = 0
        finally:
            os._exit(status)
    os.close(writes)
    with os.fdopen(reads) as pipe:
        done = [int(line) for line in pipe]
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    assert killed or os.WEXITSTATUS(status) == 0
    return done


def calls_of_an_act(root: Path) -> int:
    """How many calls an act makes that change the disk."""
    counting = Dying(-1, 0)
    with pytest.MonkeyPatch.context() as patch:
        counting.arm(patch)
        apply(root, readings(1))
    return -1 - counting.left


@pytest.mark.skipif(sys.platform == "win32", reason="a killed child needs fork")
def test_killed_at_random_points_inside_acts_over_several_files(
    ledger: Path, tmp_path: Path
) -> None:
    chance = random.Random(14)
    calls = calls_of_an_act(ledger_in(tmp_path / "counted"))
    assert calls > 30
    acknowledged: set[str] = set()
    number, whole = 1, 0
    for _ in range(POINTS):
        dying = Dying(chance.randint(1, 2 * calls), chance.random())
        done = run_until_killed(ledger, dying, number, 2)
        acknowledged |= {f"act {n}" for n in done}
        number += 2
        settle(ledger)
        if number % 50 == 1:
            assert faults(read_ledger(ledger)) == []
        known = holds_of(read_ledger(ledger))
        assert len(set(map(frozenset, known.values()))) == 1, "an act is half there"
        assert acknowledged <= known["new"], "an acknowledged act is gone"
        whole += len(known["new"]) > len(acknowledged)
        if number % 50 == 1:
            _begin_anew(ledger)
            acknowledged = set()
    assert whole, "no act was ever finished by the next holder of the lock"
    left = [p.name for p in ledger.rglob("*") if p.name.endswith(".tmp")]
    run_until_killed(ledger, None, number, 1)
    assert [p for p in ledger.rglob("*") if p.name.endswith(".tmp")] == [], left


def _begin_anew(root: Path) -> None:
    """Cards without entries again, so that reading them all does not take longer and longer."""
    for path in root.glob("cylinders/NW-*.yaml"):
        path.unlink()
    (root / "fills/2026.csv").unlink()
    ledger_in(root)


@pytest.mark.skipif(sys.platform == "win32", reason="a killed child needs fork")
def test_killed_inside_a_single_line_of_the_log(ledger: Path) -> None:
    """Half a line is half an act: it never stays in the log."""

    def line(number: int) -> Act:
        cells = {"at": at(number), "cylinder": "RB-014", "act": "reading", "to": "2900 psi"}
        return Act("reading", ("RB-014",), "read", (AddLine({**cells, "note": f"act {number}"}),))

    apply(ledger, line(0))
    for number in range(1, 40):
        child = os.fork()
        if child == 0:
            try:
                Dying(number, number / 40).arm(pytest.MonkeyPatch())
                apply(ledger, line(number))
            finally:
                os._exit(0)
        os.waitpid(child, 0)
        settle(ledger)
        book = read_ledger(ledger)
        assert faults(book) == []
        assert (ledger / "fills/2026.csv").read_bytes().endswith(b"\n")
        apply(ledger, line(100 + number))


EACH, PLANNED, BY_COMMAND = (500, 30, 20) if SWEEP else (150, 15, 10)
"""Acts of each process; of them, planned on the ledger as it stands, and by the command line."""


BETWEEN = 0.005
"""Seconds between two acts, as there are between two commands: whoever waits has a turn."""
CARDS = tuple(f"RB-{n:03}" for n in range(100, 120))


def adding(root: Path, numbers: Iterable[int]) -> None:
    """A hold of one of many cylinders and a line of the log, whatever else is there."""
    for number in numbers:
        id_ = CARDS[number % len(CARDS)]
        cells = {"at": at(number), "cylinder": id_, "act": "reading", "to": "2900 psi"}
        line = AddLine({**cells, "note": f"act {number}"})
        edits = (*hold_act(id_, f"act {number}").edits, line)
        apply(root, Act("hold", (id_,), f"act {number}", edits))
        time.sleep(BETWEEN)


def planning(root: Path, numbers: Iterable[int]) -> None:
    """A hold of one cylinder where it is not held, else its release: each rests on the last."""
    for number in numbers:

        def plan(book: Book, why: str = f"act {number}") -> Act | Refusal:
            which = release if book.cylinders["RB-017"].status == "held" else hold
            return which(book, ["RB-017"], why=why, by="MV", on=DAY)

        assert not isinstance(record(root, plan), Refusal)
        time.sleep(BETWEEN)


def commanding(root: Path, worker: int) -> None:
    """Holds by the command line: the first in a process of its own, the others within this one."""
    for number in range(BY_COMMAND):
        line = ["--ledger", str(root), "--on", str(DAY), "hold", "RB-018", "--by", "MV"]
        line += ["--why", f"command {worker}.{number}"]
        if number == 0:
            command = [sys.executable, "-m", "tankbook", *line]
            subprocess.run(command, check=True, capture_output=True, timeout=60)
        else:
            with redirect_stdout(io.StringIO()):
                assert main(line) == 0


def work(root: Path, worker: int) -> None:
    """One process's share."""
    first, last = worker * EACH, (worker + 1) * EACH - BY_COMMAND
    planning(root, range(first, first + PLANNED))
    adding(root, range(first + PLANNED, last - 100))
    commanding(root, worker)
    adding(root, range(last - 100, last))


def forked(task: Callable[[], None]) -> int:
    """A child that does a task; its exit status is 0 when it was done."""
    child = os.fork()
    if child == 0:
        status = 1
        try:
            task()
            status = 0
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(status)
    return child


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork")
def test_two_processes_recording_hundreds_of_acts_each(ledger: Path) -> None:
    for number, id_ in enumerate(("RB-017", "RB-018", *CARDS), 300):
        text = books.GOOD.replace("K118204", f"K118{number}")
        (ledger / f"cylinders/{id_}.yaml").write_text(text)
    children = [forked(lambda worker=worker: work(ledger, worker)) for worker in range(2)]
    statuses = [os.waitpid(child, 0)[1] for child in children]
    assert statuses == [0, 0]
    book = read_ledger(ledger)
    assert faults(book) == []
    numbers = [w * EACH + n for w in range(2) for n in range(PLANNED, EACH - BY_COMMAND)]
    added = {f"act {n}" for n in numbers}
    assert sorted(line.note or "" for line in book.log) == sorted(added)
    assert sorted(h.why for id_ in CARDS for h in book.cylinders[id_].held) == sorted(added)
    held = book.cylinders["RB-017"].held
    said = [h.why for h in held] + [h.released_why for h in held if h.released_why]
    assert sorted(said) == sorted(f"act {w * EACH + n}" for w in range(2) for n in range(PLANNED))
    commanded = sorted(f"command {w}.{n}" for w in range(2) for n in range(BY_COMMAND))
    assert sorted(h.why for h in book.cylinders["RB-018"].held) == commanded
