"""Acts given twice: known again where the first could not be told, asked about where it was."""

from __future__ import annotations

import datetime as dt
import errno
import io
import json
import os
import re
import shutil
import signal
import tempfile
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path
from typing import Any

import books
import pytest
from repos import Repo
from sweep import SWEEP

from tankbook.__main__ import main
from tankbook.ledger import receipts

EVERY = 1 if SWEEP else 13
"""Of the calls that change a disk, at which a process is killed or the disk fails: each so many."""
CALLS = ("open", "write", "fsync", "fchmod", "close", "replace", "ftruncate", "unlink", "mkdir")
IDS = ("RB-031", "RB-032", "RB-033", "RB-034")
TODAY = dt.datetime.now().astimezone().date()

STATION = f"""\
banks:
  - {{name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{{on: 2024-03, method: hydrostatic, by: T123}}],
     readings: [{{on: {TODAY - dt.timedelta(1)}, pressure: 4400 psi}}]}}
air_tests:
  - {{on: {TODAY - dt.timedelta(40)}, by: Example Air Lab, standard: cga-grade-e, result: pass}}
gauges:
  - {{name: G1, master: yes}}
regulator_set: 3000 psi
"""
TESTED = f"{TODAY - dt.timedelta(400):%Y-%m}"
LOOKED = str(TODAY - dt.timedelta(100))


def begin(root: Path) -> Path:
    texts = {"tankbook.yaml": books.SETTINGS + "ambient: 70 degF\n", "station.yaml": STATION}
    for number, id_ in enumerate(IDS):
        text = books.GOOD.replace("K118204", f"K11820{number}")
        text = text.replace("2024-03", TESTED).replace("2026-02-09", LOOKED)
        texts[f"cylinders/{id_}.yaml"] = books.stamped(text)
    for path, text in texts.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return root


def run(root: Path, *line: str) -> tuple[int, str, str]:
    """A command line in this process: its exit code and what it said."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = main(["--ledger", str(root), *line])
    return code, out.getvalue(), err.getvalue()


FILL = ("fill", "31", "32", "--from", "500", "--to", "3000", "--source", "B1", "--looked")
KINDS: dict[str, tuple[str, ...]] = {
    "hold": ("hold", *IDS, "--why", "dent near the foot"),
    "fill": FILL,
    "reading": ("reading", "31=1200", "--note", "cold"),
    "send": ("send", "31", "32", "--to", "Northside", "--for", "requalification"),
    "book-in": ("book-in", "--marks", "DOT-3AL 3000 K200001 09A25", "--use", "sale"),
    "station": ("station", "read", "B1=4100"),
    "inspect": ("inspect", "31", "--pass-all", "--checklist", "outside"),
    "correct": ("correct", "31", "reading", "HERE", "--why", "misread", "--set", "to=1100"),
}
"""A command of each kind: many cards, the log, a new file, the station, something struck out."""


@pytest.fixture(name="memory")
def _memory() -> Iterator[Path]:
    """A folder in memory where there is a disk of memory: what is tried is the order of calls."""
    shm = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=shm if os.access(shm, os.W_OK) else None) as folder:
        yield Path(folder)


def line_of(kind: str, root: Path) -> tuple[str, ...]:
    """The command, signed."""
    line = KINDS[kind]
    if kind == "correct":
        assert run(root, "reading", "31=1000", "--by", "MV")[0] == 0
        (moment,) = re.findall(r"^(\S+),RB-031,reading", log_of(root), re.M)
        line = tuple(moment[:19] if word == "HERE" else word for word in line)
    return (*line, "--by", "MV")


def log_of(root: Path) -> str:
    return "".join(p.read_text() for p in sorted(root.glob("fills/*.csv")))


_TIMES = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d|\b\d\d:\d\d\b")


def records(root: Path) -> dict[str, str]:
    """The ledger's records with their times of day left out."""
    files = (p for p in root.rglob("*") if p.is_file() and ".tankbook" not in p.parts)
    return {
        str(p.relative_to(root)): _TIMES.sub("T", p.read_text())
        for p in files
        if not p.name.endswith(".tmp")
    }


class Giving:
    """Gives way at a call that changes the disk: kills this process, or fills the disk for good."""

    def __init__(self, number: int, kill: bool) -> None:
        self.left, self.kill = number, kill

    def arm(self, patch: pytest.MonkeyPatch) -> None:
        for name in CALLS:
            patch.setattr(os, name, self._wrap(name, getattr(os, name)))

    def _wrap(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **keywords: Any) -> Any:
            self.left -= 1
            if self.left == 0 and self.kill:
                if name == "write":
                    real(arguments[0], arguments[1][: len(arguments[1]) // 2])
                os.kill(os.getpid(), signal.SIGKILL)
            if not self.kill and self.left <= 0 and name in {"write", "fsync", "mkdir"}:
                raise OSError(errno.ENOSPC, "No space left on device")
            return real(*arguments, **keywords)

        return call


def calls_of(kind: str, root: Path) -> int:
    """How many such calls a command makes."""
    line = line_of(kind, root)
    counting = Giving(-1, kill=True)
    with pytest.MonkeyPatch.context() as patch:
        counting.arm(patch)
        assert run(root, *line)[0] == 0
    return -1 - counting.left


def killed(root: Path, line: tuple[str, ...], number: int) -> bool:
    """Whether the command was killed at that call."""
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            Giving(number, kill=True).arm(pytest.MonkeyPatch())
            run(root, *line)
        os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def read(root: Path) -> tuple[str, ...]:
    """What two reading commands say, and that they stand on whole acts."""
    code, out, _ = run(root, "validate", "--json")
    found = json.loads(out)
    assert code == 0, [f for f in found if f["severity"] == "fault"]
    _, out, err = run(root, "may-fill", *IDS, "--json")
    return out, err


@pytest.mark.parametrize("kind", KINDS)
def test_a_command_that_was_killed_and_is_given_again_is_recorded_once(
    kind: str, memory: Path
) -> None:
    whole = begin(memory / "whole")
    calls = calls_of(kind, whole)
    assert calls > 10
    once, known, told = records(whole), 0, 0
    start = 1 + sum(map(ord, kind)) % EVERY
    for number in range(start, calls + 1, EVERY):
        root = begin(memory / f"at-{number}")
        line = line_of(kind, root)
        before = records(root)
        assert killed(root, line, number)
        code, _, err = run(root, "validate", "--json")
        assert code == 0
        told += "finished an act that was interrupted" in err
        after = records(root)
        assert after in (before, once), f"half of it stands after call {number}"
        read(root)
        code, out, err = run(root, *line)
        assert code == 0, f"{out}{err}"
        assert records(root) == once, f"not once after call {number}"
        assert (after == once) == out.startswith("Already recorded: ")
        known += after == once
        assert not list(receipts.standing_receipts(root))
        shutil.rmtree(root)
    if SWEEP:
        assert known > 5
        assert told > 3


@pytest.mark.parametrize("kind", KINDS)
def test_a_command_that_met_a_full_disk_and_is_given_again_is_recorded_once(
    kind: str, memory: Path
) -> None:
    whole = begin(memory / "whole")
    calls = calls_of(kind, whole)
    once = records(whole)
    for number in range(1 + len(kind) % EVERY, calls + 1, EVERY):
        root = begin(memory / f"at-{number}")
        line = line_of(kind, root)
        before = records(root)
        with pytest.MonkeyPatch.context() as patch:
            Giving(number, kill=False).arm(patch)
            code, _, err = run(root, *line)
        if code == 0:  # nothing was written any more that could fail
            assert records(root) == once
            continue
        assert code == 2
        assert "the disk is full" in err
        promised = "the act is in the journal and not finished" in err
        code, out, _ = run(root, *line)  # free some space and try again, as the advice says
        assert code == 0
        assert records(root) == once
        assert out.startswith("Already recorded: ") is promised
        assert promised or before != once
        shutil.rmtree(root)


# --- an act that was told is another when it is given again


@pytest.fixture(name="quay")
def _quay(tmp_path: Path) -> Path:
    return begin(tmp_path / "quay")


def cut_off(root: Path, *line: str) -> None:
    """A command that is done, and killed before it says so."""
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            real = receipts.put_away

            def dying(*arguments: Any) -> str:
                real(*arguments)
                os.kill(os.getpid(), signal.SIGKILL)
                return ""

            pytest.MonkeyPatch().setattr(receipts, "put_away", dying)
            run(root, *line)
        os._exit(1)
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])


HOLD = ("hold", "31", "--why", "dent near the foot", "--by", "MV")


def test_what_was_told_leaves_no_receipt(quay: Path) -> None:
    assert run(quay, *HOLD)[0] == 0
    assert not list(receipts.standing_receipts(quay))


def test_an_answer_that_never_reached_anybody_leaves_its_receipt(
    quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Full(io.StringIO):
        def write(self, _: str) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("sys.stdout", Full())
        assert main(["--ledger", str(quay), *HOLD]) == 2
    assert len(list(receipts.standing_receipts(quay))) == 1
    code, out, _ = run(quay, *HOLD)
    assert (code, out.startswith("Already recorded: Held RB-031: dent near the foot (MV, 2")) == (
        0,
        True,
    )


def test_what_is_known_again_says_so_and_is_told_from_then_on(quay: Path) -> None:
    cut_off(quay, *FILL, "--by", "MV")
    code, out, err = run(quay, *FILL, "--by", "MV")
    assert code == 0
    assert out.splitlines()[0].startswith("Already recorded: Filled RB-031, RB-032 to 3000 psi")
    assert "nothing was added" in out.replace("\n    ", " ")
    assert "give the command once more" in out.replace("\n", " ")
    assert log_of(quay).count(",fill,") == 2
    assert not list(receipts.standing_receipts(quay))
    code, out, err = run(quay, *FILL, "--by", "MV")
    assert code == 1
    assert "RB-031 was filled from 500 psi to 3000 psi at " in out
    assert err == ""


def test_json_says_that_it_was_recorded_already(quay: Path) -> None:
    cut_off(quay, *HOLD)
    code, out, _ = run(quay, *HOLD, "--json")
    data = json.loads(out)
    assert (code, data["recorded"], data["already_recorded"]) == (0, True, True)
    assert data["files"] == ["cylinders/RB-031.yaml"]
    assert data["diff"] == ""


@pytest.mark.parametrize(
    "line",
    [
        ("hold", "31", "--why", "dent near the crown", "--by", "MV"),
        ("hold", "32", "--why", "dent near the foot", "--by", "MV"),
        ("hold", "31", "32", "--why", "dent near the foot", "--by", "MV"),
        ("reading", "31=1200", "--by", "MV"),
    ],
)
def test_another_act_is_recorded_beside_one_that_was_not_told(
    quay: Path, line: tuple[str, ...]
) -> None:
    cut_off(quay, *HOLD)
    before = records(quay)
    code, out, _ = run(quay, *line)
    assert "Already recorded" not in out
    assert (records(quay) != before) == (code == 0)
    assert len(list(receipts.standing_receipts(quay))) == 1


def test_the_same_fill_after_the_cylinder_was_used_is_another(quay: Path) -> None:
    cut_off(quay, *FILL, "--by", "MV")
    assert run(quay, "reading", "31=500", "--by", "MV")[0] == 0
    code, out, _ = run(quay, *FILL, "--by", "MV")
    assert "Already recorded" not in out
    assert code == 1  # 32 was filled a moment ago
    assert run(quay, *FILL, "--by", "MV", "--again")[0] == 0
    assert log_of(quay).count(",fill,") == 4


@pytest.mark.parametrize("begun", [False, True])
def test_an_act_is_known_though_others_were_logged_since(quay: Path, begun: bool) -> None:
    """Also where it wrote the first line of its year."""
    if begun:
        assert run(quay, "reading", "33=1500", "--by", "MV")[0] == 0
    cut_off(quay, *FILL, "--by", "MV")
    assert run(quay, "reading", "33=1200", "34=900", "--by", "MV")[0] == 0
    before = records(quay)
    code, out, _ = run(quay, *FILL, "--by", "MV")
    assert (code, out.startswith("Already recorded: Filled RB-031, RB-032")) == (0, True)
    assert records(quay) == before


def test_again_records_a_fill_whether_or_not_it_was_told(quay: Path) -> None:
    cut_off(quay, *FILL, "--by", "MV")
    code, out, _ = run(quay, *FILL, "--by", "MV", "--again")
    assert (code, out.startswith("Filled")) == (0, True)
    assert log_of(quay).count(",fill,") == 4


def test_what_was_not_told_is_known_for_a_day(quay: Path) -> None:
    cut_off(quay, *HOLD)
    (receipt,) = receipts.standing_receipts(quay)
    file = quay / ".tankbook" / receipt.name
    old = file.stat().st_mtime - receipts.KEPT - 60
    os.utime(file, (old, old))
    assert run(quay, "reading", "32=1200", "--by", "MV")[0] == 0
    assert not list(receipts.standing_receipts(quay))


def test_a_receipt_that_cannot_be_read_stops_nobody(quay: Path) -> None:
    cut_off(quay, *HOLD)
    (receipt,) = receipts.standing_receipts(quay)
    file = quay / ".tankbook" / receipt.name
    for bad in (b"", b"garbage", file.read_bytes()[:-5], b"\0" * 99):
        file.write_bytes(bad)
        assert run(quay, "reading", "32=1200", "--by", "MV")[0] == 0
    file.unlink()
    os.mkfifo(file)
    assert run(quay, "reading", "32=1300", "--by", "MV")[0] == 0


def test_git_is_given_what_it_was_to_have(quay: Path) -> None:
    repo = Repo.begin(quay)
    (quay / ".gitignore").write_text(".tankbook/\n")
    (quay / "tankbook.yaml").write_text(books.SETTINGS + "ambient: 70 degF\ncommit: yes\n")
    repo.commit()
    cut_off(quay, *HOLD)
    code, out, _ = run(quay, *HOLD)
    assert (code, "Committed as " in out) == (0, True)
    code, out, _ = run(quay, "release", "31", "--why", "measured, within limits", "--by", "MV")
    assert (code, "Committed as " in out) == (0, True)


@pytest.mark.parametrize("way", ["hook", "detached"])
def test_what_kept_a_commit_back_keeps_it_back_when_the_act_is_given_again(
    quay: Path, tmp_path: Path, way: str
) -> None:
    repo = Repo.begin(quay)
    (quay / ".gitignore").write_text(".tankbook/\n")
    (quay / "tankbook.yaml").write_text(books.SETTINGS + "ambient: 70 degF\ncommit: yes\n")
    repo.commit()
    ran = tmp_path / "ran"
    if way == "hook":
        hook = quay / ".git/hooks/pre-commit"
        hook.parent.mkdir(exist_ok=True)
        hook.write_text(f"#!/bin/sh\ntouch '{ran}'\n")
        hook.chmod(0o755)
    else:
        repo.git("checkout", "--quiet", "--detach")
    cut_off(quay, *HOLD)
    code, out, err = run(quay, *HOLD)
    assert (code, "Committed as " in out) == (0, False)
    assert ("pre-commit hook" if way == "hook" else "no branch is checked out") in out + err
    assert not ran.exists()


def test_what_git_lacks_of_an_interrupted_act_is_not_called_an_edit_by_hand(quay: Path) -> None:
    repo = Repo.begin(quay)
    (quay / "tankbook.yaml").write_text(books.SETTINGS + "ambient: 70 degF\ncommit: yes\n")
    repo.commit()
    cut_off(quay, *HOLD)
    code, out, err = run(quay, "release", "31", "--why", "measured, within limits", "--by", "MV")
    assert (code, "Committed as " in out) == (0, True), err
    # it is committed by itself, before the next
    said = repo.git("log", "--format=%s").splitlines()
    assert [each.split(":")[0] for each in said[:2]] == ["Released RB-031", "Held RB-031"], said


# --- fills that were told


@pytest.mark.parametrize(
    ("change", "asked"),
    [
        ({}, True),
        ({"--from": "600"}, True),
        ({"--to": "2990"}, True),
        ({"--from": "2700", "--to": "2990"}, False),
        ({"--note": "by the second hose"}, True),
    ],
)
def test_a_fill_that_repeats_the_last_one_is_asked_about(
    quay: Path, change: dict[str, str], asked: bool
) -> None:
    assert run(quay, *FILL, "--by", "MV")[0] == 0
    words = {"--from": "500", "--to": "3000", "--source": "B1"}
    options = [word for pair in (words | change).items() for word in pair]
    line = (*FILL[:3], *options, "--looked", "--by", "MV")
    code, out, _ = run(quay, *line)
    told = "already" in out or "nothing logged since" in out
    assert (code, told) == ((1, True) if asked else (0, False)), out
    if asked:
        assert "if it was filled once more, give" in out.replace("\n  ", " ")
        assert log_of(quay).count(",fill,") == 2
        assert run(quay, *line, "--again")[0] == 0
        assert log_of(quay).count(",fill,") == 4


def test_a_fill_that_says_not_from_what_is_asked_about_as_well(quay: Path) -> None:
    """The second time the log knows from what: from what the first one left, so nothing went in."""
    line = (FILL[0], "31", *FILL[5:], "--by", "MV")
    assert run(quay, *line)[0] == 0
    code, out, _ = run(quay, *line)
    assert (code, "already" in out) == (1, True), out
    assert run(quay, *line, "--from", "3000")[0] == 1
    assert log_of(quay).count(",fill,") == 1
    assert run(quay, *line, "--again")[0] == 0


def at(minutes: int) -> str:
    """A time of yesterday, as --at takes it."""
    start = dt.datetime.combine(TODAY - dt.timedelta(1), dt.time(9, 30)).astimezone()
    return (start + dt.timedelta(minutes=minutes)).isoformat()


@pytest.mark.parametrize(("minutes", "code"), [(0, 1), (20, 1), (60, 1), (61, 0), (300, 0)])
def test_an_ordinary_day_is_not_asked_about(quay: Path, minutes: int, code: int) -> None:
    """A dive lies between two fills of a cylinder that are alike."""
    line = (*FILL, "--by", "MV")
    assert run(quay, *line, "--at", at(0))[0] == 0
    assert run(quay, *line, "--at", at(minutes))[0] == code


def test_a_fill_after_the_cylinder_was_read_drained_or_struck_out_is_another(quay: Path) -> None:
    line = (FILL[0], "31", *FILL[3:], "--by", "MV")
    assert run(quay, *line, "--at", at(0))[0] == 0
    assert run(quay, "drain", "31=500", "--from", "3000", "--by", "MV", "--at", at(5))[0] == 0
    assert run(quay, *line, "--at", at(10))[0] == 0
    moment = at(10)[:19]
    code, out, err = run(quay, "correct", "31", "fill", moment, "--why", "misread", "--by", "MV")
    assert code == 0, out + err
    assert run(quay, *line, "--at", at(12))[0] == 0


def test_a_fill_that_was_bled_is_known_with_what_was_read_after_it(quay: Path) -> None:
    line = ("fill", "31=3040", "--from", "500", "--source", "B1", "--looked", "--bled", "2980")
    line = (*line, "--by", "MV")
    assert run(quay, *line)[0] == 0
    assert run(quay, *line)[0] == 1
    assert run(quay, *line, "--again")[0] == 0


def test_a_set_is_known_as_its_cylinders_are(quay: Path) -> None:
    (quay / "sets").mkdir()
    (quay / "sets/DB-02.yaml").write_text("cylinders: [RB-031, RB-032]\nisolator: open\n")
    line = ("fill", "DB-02", *FILL[3:], "--by", "MV")
    assert run(quay, *line)[0] == 0, run(quay, *line)
    code, out, _ = run(quay, *line)
    assert (code, "DB-02 was filled from 500 psi to 3000 psi" in out) == (1, True)


def test_on_a_terminal_it_is_asked_and_recorded_on_a_yes(
    quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(quay, *FILL, "--by", "MV")[0] == 0
    monkeypatch.setattr("tankbook.cli.keys.is_terminal", lambda: True)
    monkeypatch.setattr("tankbook.cli.keys._pressed", lambda: "n")
    code, out, err = run(quay, *FILL, "--by", "MV")
    assert code == 1
    assert "already; RB-032 was filled" in err
    assert "Filled once more? [y]es [n]o: " in err
    assert log_of(quay).count(",fill,") == 2
    monkeypatch.setattr("tankbook.cli.keys._pressed", lambda: "y")
    code, out, err = run(quay, *FILL, "--by", "MV")
    assert (code, out.startswith("Filled RB-031, RB-032")) == (0, True)
    assert log_of(quay).count(",fill,") == 4
