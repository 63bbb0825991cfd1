"""Trying the changes of one module: a few likely tests first, then the others that can notice."""

from __future__ import annotations

import contextlib
import json
import os
import resource
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from loading import Ahead

MEMORY = 8 << 30
"""Bytes a child may use; what grows without end is stopped."""
TIMED_OUT = "timeout"
NONE_FOUND = 5
"""How pytest ends where it finds none of the tests: nothing was noticed."""
PLUGINS = ("quiet", "_hypothesis_pytestplugin", "syrupy", "pytest_benchmark.plugin")
FIRST, FILES = 40, 3
"""So many tests, of so many files at most, are tried before the others are loaded."""


@dataclass(frozen=True, slots=True)
class Job:
    """One change: the whole text of the changed module, and the tests in their order."""

    id: str
    source: str
    tests: tuple[str, ...]
    seconds: float
    exact: bool = False
    """Whether every one of the tests must be found."""


@dataclass(frozen=True, slots=True)
class Target:
    """The module that is changed, in a tree with the tests."""

    root: Path
    module: str
    file: Path
    scratch: Path


@dataclass(frozen=True, slots=True)
class Part:
    """Some of the tests of a job, and those that are left for when they notice nothing."""

    job: Job
    tests: tuple[str, ...]
    left: tuple[str, ...] = ()

    def log(self, target: Target) -> Path:
        """Where the child writes."""
        return target.scratch / f"{self.job.id}.log"


def first_part(job: Job, noticed: list[str]) -> Part:
    """What noticed other changes of the module and can notice this, then the foremost few."""
    if job.exact:
        return Part(job, job.tests)
    can = set(job.tests)
    chosen = [test for test in noticed if test in can][:FIRST]
    files = {_file(test) for test in chosen}
    for test in job.tests:
        if len(chosen) < FIRST and len(files | {_file(test)}) <= FILES and test not in chosen:
            chosen.append(test)
            files.add(_file(test))
    taken = set(chosen)
    return Part(job, tuple(chosen), tuple(t for t in job.tests if t not in taken))


def _file(test: str) -> str:
    return test.partition("::")[0]


def run(target: Target, jobs: list[Job], workers: int, out: Any) -> None:
    """Try every job, so many at a time, and write a line of JSON for each."""
    noticed: list[str] = []
    waiting: list[Job | Part] = list(jobs[::-1])
    running: dict[int, tuple[Part, float]] = {}
    while waiting or running:
        while waiting and len(running) < workers:
            following = waiting.pop()
            part = first_part(following, noticed) if isinstance(following, Job) else following
            pid = os.fork()
            if not pid:
                _be_child(target, part)
            running[pid] = (part, time.monotonic() + 30 + 4 * part.job.seconds)
        pid, status = os.waitpid(-1, os.WNOHANG)
        if pid:
            part, _ = running.pop(pid)
            outcome, said = _outcome(status), _last(part.log(target))
            part.log(target).unlink(missing_ok=True)
            if outcome == "survived" and part.left:
                waiting.append(Part(part.job, part.left))
                continue
            _remember(noticed, said, part.tests)
            out.write(json.dumps({"id": part.job.id, "outcome": outcome, "output": said}) + "\n")
            out.flush()
            continue
        _stop_late(running)
        time.sleep(0.01)


def _stop_late(running: dict[int, tuple[Part, float]]) -> None:
    for pid, (_, until) in running.items():
        if time.monotonic() > until:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(pid, signal.SIGKILL)


def _remember(noticed: list[str], said: str, tests: tuple[str, ...]) -> None:
    """Put the test that noticed at the front: it may well notice the next."""
    for test in tests:
        if said.startswith((f"FAILED {test}", f"ERROR {test}")):
            if test in noticed:
                noticed.remove(test)
            noticed.insert(0, test)
            del noticed[FIRST // 2 :]
            return


def _outcome(status: int) -> str:
    code = os.waitstatus_to_exitcode(status)
    if -code in {signal.SIGXCPU, signal.SIGKILL}:
        return TIMED_OUT
    return "survived" if code in {0, NONE_FOUND} else "killed"


def _last(log: Path) -> str:
    """What the tests said that failed first, else the end of what was said."""
    said = log.read_text("utf-8", "replace").splitlines() if log.exists() else []
    failed = [each for each in said if each.startswith(("FAILED", "ERROR"))]
    return "\n".join(failed[:1] or said[-15:])


def _be_child(target: Target, part: Part) -> NoReturn:
    """In the child: change the module, run the tests, say by the exit code how it went."""
    code, job = 1, part.job
    try:
        os.setsid()
        log = os.open(part.log(target), os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        for each in (1, 2):
            os.dup2(log, each)
        cpu = int(job.seconds) + 1
        resource.setrlimit(resource.RLIMIT_CPU, (cpu, cpu + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        sys.meta_path.insert(0, Ahead(target.module, target.root / target.file, job.source))
        code = _pytest(target, part)
    finally:
        os._exit(code)


def _pytest(target: Target, part: Part) -> int:
    import pytest

    order = target.scratch / f"{part.job.id}.tests"
    order.write_text("\n".join(part.tests), "utf-8")
    os.environ["MUTANTS_TESTS"] = str(order)
    os.environ["MUTANTS_EXACT"] = "yes" if part.job.exact else ""
    files = dict.fromkeys(map(_file, part.tests))
    plugins = [word for name in PLUGINS for word in ("-p", name)]
    quiet = ["-x", "--tb=no", "-rfE", "--assert=plain", "-p", "no:cacheprovider"]
    code = int(pytest.main([*plugins, *quiet, "--rootdir", str(target.root), *files]))
    sys.stdout.flush()
    order.unlink()
    return code
