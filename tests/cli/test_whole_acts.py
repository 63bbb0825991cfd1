"""Half an act in answers: none is ever given from one, and what is pending stands in line one."""

from __future__ import annotations

import datetime as dt
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import pairwise
from pathlib import Path
from typing import Any

import books
import pytest
from sweep import SWEEP

from tankbook.__main__ import main

ON = "2026-11-25"
ROUNDS = 10 if SWEEP else 1
"""How often it is begun with new cards: those of thousands of acts take long to read."""
READS, BOOKS = (50, 200) if SWEEP else (30, 40)
"""How many answers are asked for in a round while another process records acts over four cards: by
the command line, and of a book read anew."""

ACTS = 6
"""How many acts are to be seen at least."""

IDS = ("RB-031", "RB-032", "RB-033", "RB-034")
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
regulator_set: 3000 psi
"""
HOLD = ("hold", *IDS, "--why", "dent near the foot", "--by", "MV")


def begin(root: Path) -> Path:
    """A ledger of four good cylinders, one that no act is about, and a station."""
    texts = {"tankbook.yaml": books.SETTINGS + "ambient: 70 degF\n", "station.yaml": STATION}
    for number, id_ in enumerate((*IDS, "RB-040")):
        text = books.GOOD.replace("K118204", f"K11820{number}")
        texts[f"cylinders/{id_}.yaml"] = books.stamped(text)
    for path, text in texts.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return root


@pytest.fixture(name="quay")
def _quay(tmp_path: Path) -> Path:
    return begin(tmp_path / "quay")


def kill_in(root: Path, *line: str, cards: int = 2) -> None:
    """A command of which so many cards are written before its process is killed."""
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            from tankbook.ledger import atomic

            real, left = atomic.write_atomic, [cards]

            def dying(*arguments: Any) -> None:
                if not left[0]:
                    os.kill(os.getpid(), 9)
                left[0] -= 1
                real(*arguments)

            pytest.MonkeyPatch().setattr(atomic, "write_atomic", dying)
            main(["--ledger", str(root), "--on", ON, *line])
        os._exit(1)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status)


@pytest.fixture(name="half")
def _half(quay: Path) -> Path:
    """Two cards of four are held, and the process is dead."""
    kill_in(quay, *HOLD)
    held = ["status: held" in (quay / f"cylinders/{id_}.yaml").read_text() for id_ in IDS]
    assert held == [True, True, False, False]
    return quay


@pytest.fixture(name="copied")
def _copied(half: Path, tmp_path: Path) -> Path:
    """A copy of it, which this machine never wrote."""
    return Path(shutil.copytree(half, tmp_path / "copy"))


READING = {
    "board": (),
    "show": ("show", "33"),
    "list": ("list",),
    "validate": ("validate",),
    "due": ("due",),
    "may-fill": ("may-fill", "33"),
    "fleet": ("fleet",),
    "tags": ("tags", "33"),
    "rules": ("rules",),
    "capacity": ("capacity", "33"),
    "costs": ("costs",),
    "calendar": ("calendar",),
    "report": ("report",),
    "rentals": ("rentals",),
    "jobs": ("jobs",),
    "history": ("history", "33"),
    "recall": ("recall", "B1", "--since", "2026-11-01"),
    "equalize": ("equalize", "33=500", "34=3000"),
    "plan": ("plan", "33=500", "--to", "3000"),
    "station": ("station",),
    "station size": ("station", "size"),
    "leaks": ("leaks",),
    "fills": ("fills",),
}
FINISHED = "tankbook: finished an act that was interrupted: Held 4 cylinders (RB-031, RB-032, RB"


@pytest.mark.parametrize("name", READING)
def test_every_reading_command_finishes_the_act_and_tells_it(
    name: str, half: Path, tb: Callable[..., Any]
) -> None:
    ran = tb("--ledger", half, "--on", ON, *READING[name])
    assert ran.err.splitlines()[0].startswith(FINISHED)
    assert "dent near the foot (MV, 20" in ran.err
    assert all("status: held" in (half / f"cylinders/{id_}.yaml").read_text() for id_ in IDS)
    again = tb("--ledger", half, "--on", ON, *READING[name])
    assert FINISHED not in again.err
    assert (again.code, again.out) == (ran.code, ran.out)


@pytest.mark.parametrize("name", READING)
def test_every_reading_command_tells_what_is_pending_where_it_cannot_finish_it(
    name: str, copied: Path, tb: Callable[..., Any]
) -> None:
    before = {p: p.read_bytes() for p in copied.rglob("*") if p.is_file()}
    ran = tb("--ledger", copied, "--on", ON, *READING[name])
    told = ran.out or ran.err
    line = told.splitlines()[0]
    assert "Held 4 cylinders (RB-031, RB-032, RB-033, ...): dent near the foot" in line
    assert line.count("is not finished") == 1
    assert ran.code in (1, 2)
    data = tb("--ledger", copied, "--on", ON, *READING[name], "--json")
    assert data.code in (1, 2)
    if data.out:
        items = data.json if isinstance(data.json, list) else data.json["faults"]
        assert [i for i in items if "pending" in (i.get("kind"), i.get("code"))]
    assert {p: p.read_bytes() for p in copied.rglob("*") if p.is_file()} == before


def test_every_card_of_a_pending_act_is_refused_and_no_other(
    copied: Path, tb: Callable[..., Any]
) -> None:
    ran = tb("--ledger", copied, "--on", ON, "may-fill", *IDS, "RB-040", "--json")
    answers = {a["id"]: a for a in ran.json if "id" in a}
    assert [answers[id_]["fillable"] for id_ in IDS] == [False] * 4
    assert all("pending" in [r["code"] for r in answers[id_]["reasons"]] for id_ in IDS)
    assert "pending" not in [r["code"] for r in answers["RB-040"]["reasons"]]
    listed = tb("--ledger", copied, "--on", ON, "list", "--json").json
    assert not [a for a in listed if a.get("id") in IDS and a["fillable"]]


def test_a_garbage_journal_refuses_every_card_and_validate_calls_it_a_fault(
    half: Path, tb: Callable[..., Any]
) -> None:
    journal = half / ".tankbook/journal"
    journal.write_bytes(b"garbage")
    ran = tb("--ledger", half, "--on", ON, "may-fill", *IDS, "RB-040", "--json")
    assert [a["fillable"] for a in ran.json if "id" in a] == [False] * 5
    ran = tb("--ledger", half, "--on", ON, "validate")
    assert ran.code == 1
    assert "PENDING: the journal cannot be read, so an act may be half done" in ran.first
    assert "then `tankbook pending --drop` sets the journal aside" in ran.out
    for id_ in IDS[2:]:  # the advice: mend what is half done by hand, then delete the journal
        card = half / f"cylinders/{id_}.yaml"
        card.write_text((half / f"cylinders/{IDS[0]}.yaml").read_text())
    for number, id_ in enumerate(IDS):
        text = books.stamped(books.GOOD.replace("K118204", f"K11820{number}"))
        (half / f"cylinders/{id_}.yaml").write_text(text)
    ran = tb("--ledger", half, "pending", "--drop")
    assert ran.first.startswith("Set aside as .tankbook/journal-aside-1, nothing else was written")
    assert tb("--ledger", half, "--on", ON, "validate").first.startswith("OK")


@pytest.mark.parametrize("name", ["show", "validate", "history"])
def test_a_past_commit_knows_nothing_of_what_is_pending(
    name: str, copied: Path, tb: Callable[..., Any]
) -> None:
    from repos import Repo

    Repo.begin(copied).commit()
    ran = tb("--ledger", copied, *READING[name], "--as-of", "HEAD")
    assert "not finished" not in ran.out.splitlines()[0]


def test_audit_tells_what_is_pending_too(copied: Path, tb: Callable[..., Any]) -> None:
    from repos import Repo

    Repo.begin(copied).commit()
    ran = tb("--ledger", copied, "audit")
    assert "is not finished" in ran.first
    assert ran.code == 1
    data = tb("--ledger", copied, "audit", "--json").json
    assert data["faults"][0]["kind"] == "pending"


def test_a_dry_run_is_not_planned_on_half_an_act(copied: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", copied, "--on", ON, "hold", "40", "--why", "dent", "--dry-run")
    assert ran.code == 2
    assert "is not finished" in ran.err.splitlines()[0]
    assert tb("--ledger", copied, "tidy", "--dry-run").code == 2


def test_a_recording_command_finishes_the_act_and_tells_it(
    half: Path, tb: Callable[..., Any]
) -> None:
    line = ("hold", "40", "--why", "boot off", "--by", "MV")
    ran = tb("--ledger", half, "--on", ON, *line)
    assert ran.code == 0
    assert ran.err.startswith(FINISHED)
    assert all("status: held" in p.read_text() for p in half.glob("cylinders/*.yaml"))


@pytest.mark.parametrize("line", [("hold", "99", "--why", "dent"), ("rent", "31", "--to", "B-1")])
def test_it_is_told_as_well_where_the_command_is_refused(
    half: Path, tb: Callable[..., Any], line: tuple[str, ...]
) -> None:
    ran = tb("--ledger", half, "--on", ON, *line)
    assert ran.code in (1, 2)
    assert ran.err.startswith(FINISHED)


# --- beside a writer


@pytest.fixture(name="busy")
def _busy() -> Iterator[Path]:
    """A ledger in memory where there is a disk of memory, so that as many acts as can be happen
    within one answer."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as folder:
        yield begin(Path(folder) / "quay")


WRITER = """
import io, select, sys, time
from contextlib import redirect_stdout
from tankbook.__main__ import main
root, ids = sys.argv[1], sys.argv[2:]
print("begun", flush=True)
acts = 0
while not select.select([sys.stdin], [], [], 0)[0]:
    for line in (["hold", *ids, "--why", "dent near the foot"],
                 ["release", *ids, "--why", "measured, within limits", "--all"]):
        with redirect_stdout(io.StringIO()):
            assert main(["--ledger", root, "--on", "2026-11-25", *line, "--by", "MV"]) == 0
        acts += 1
        time.sleep(0.02)
print(acts, flush=True)
"""


def more(seen: list[tuple[bool, ...]], enough: int) -> bool:
    """Whether to look again: until there were enough, and several acts of the other were seen."""
    acts = sum(one != next_ for one, next_ in pairwise(seen))
    return len(seen) < enough or (acts < ACTS and len(seen) < 20 * enough)


@contextmanager
def acts_beside(root: Path) -> Iterator[list[int]]:
    """Acts of another process while the block runs; how many there were is told after it."""
    command = [sys.executable, "-c", WRITER, str(root), *IDS]
    done: list[int] = []
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as writer:
        assert writer.stdin
        assert writer.stdout
        assert writer.stdout.readline() == b"begun\n"
        try:
            yield done
        finally:
            writer.stdin.close()
            done.append(int(writer.stdout.read()))


@pytest.mark.skipif(sys.platform == "win32", reason="select of a pipe")
@pytest.mark.parametrize("_", range(ROUNDS))
def test_no_answer_rests_on_half_an_act_of_another_process(
    busy: Path, capsys: pytest.CaptureFixture[str], _: int
) -> None:
    main(["--ledger", str(busy), "--on", ON, "validate"])
    states: list[tuple[bool, ...]] = []
    pending, slowest = 0, 0.0
    with acts_beside(busy) as acts:
        capsys.readouterr()
        while more(states, READS):
            began = time.monotonic()
            main(["--ledger", str(busy), "--on", ON, "may-fill", *IDS, "--json"])
            slowest = max(slowest, time.monotonic() - began)
            answers = json.loads(capsys.readouterr().out)
            reasons = [{r["code"] for r in a["reasons"]} for a in answers if "id" in a]
            if any("pending" in found for found in reasons):
                pending += 1
                assert not any(a["fillable"] for a in answers if "id" in a)
                continue
            states.append(tuple(bool(found & {"held", "standing-held"}) for found in reasons))
    assert not [s for s in states if len(set(s)) != 1], "an answer of half an act"
    assert {s[0] for s in states} == {True, False}, "nothing was ever seen to change"
    assert acts[0] >= ACTS
    assert pending < len(states) / 10
    assert slowest < 10  # two seconds of waiting, on a machine that has other things to do


@pytest.mark.skipif(sys.platform == "win32", reason="select of a pipe")
@pytest.mark.parametrize("_", range(ROUNDS))
def test_no_book_holds_half_an_act_of_another_process(busy: Path, _: int) -> None:
    from tankbook.ledger.load import load
    from tankbook.rules.gate import may_fill

    load(busy)
    seen: list[tuple[bool, ...]] = []
    pending = 0
    with acts_beside(busy) as acts:
        while more(seen, BOOKS):
            book = load(busy, today=dt.date.fromisoformat(ON), clock=dt.date.fromisoformat(ON))
            fillable = [may_fill(book, id_, dt.date.fromisoformat(ON)).fillable for id_ in IDS]
            if any(f.code == "pending" for f in book.findings):
                pending += 1
                assert not any(fillable)
                continue
            held = tuple(book.cylinders[id_].status == "held" for id_ in IDS)
            assert [not h for h in held] == fillable
            seen.append(held)
    assert not [s for s in seen if len(set(s)) != 1], "a book of half an act"
    assert {s[0] for s in seen} == {True, False}, "nothing was ever seen to change"
    assert pending < len(seen) / 10
    print(
        f"{len(seen)} books beside {acts[0]} acts, {pending} pending, {sum(s[0] for s in seen)} held"
    )
