"""One process for each change: everything that the change cannot touch is loaded before it forks.

The changed module is never written to the disk. It is compiled in the child and found there ahead
of the file.
"""

from __future__ import annotations

import ast
import contextlib
import importlib
import importlib.util
import json
import os
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

from cosmic_ray.distribution.distributor import Distributor
from cosmic_ray.work_item import TestOutcome, WorkerOutcome, WorkItem, WorkResult
from targets import modules_of

MEMORY = 8 << 30
"""Bytes a child may use; what grows without end is stopped."""
TIMED_OUT = "timeout"
NONE_FOUND = 5
"""How pytest ends where it finds none of the tests: nothing was noticed."""
PLUGINS = ("quiet", "_hypothesis_pytestplugin", "syrupy", "pytest_benchmark.plugin")


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


class Changed(SourceFileLoader):
    """Loads a text in place of a file."""

    def __init__(self, name: str, path: str, text: str) -> None:
        super().__init__(name, path)
        self._text = text

    def get_code(self, fullname: str) -> CodeType:
        return compile(self._text, self.path, "exec", dont_inherit=True)


class Ahead(MetaPathFinder):
    """Finds the changed module ahead of its file."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self._name, self._path, self._text = name, path, text

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> ModuleSpec | None:
        if fullname != self._name:
            return None
        loader = Changed(fullname, str(self._path), self._text)
        return importlib.util.spec_from_file_location(fullname, self._path, loader=loader)


def untouched(root: Path, module: str) -> list[str]:
    """The package's modules whose loading does not load `module`."""
    modules = modules_of(root)
    needs = {name: set(_needs(root / file, name, modules)) for name, file in modules.items()}
    touched, more = {module}, {module}
    while more:
        more = {name for name, used in needs.items() if used & more} - touched
        touched |= more
    return [name for name in modules if name not in touched and not name.endswith("__main__")]


def _needs(file: Path, name: str, modules: dict[str, Path]) -> Iterator[str]:
    found = {name}
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    for each in found:
        parts = each.split(".")
        yield from ({".".join(parts[:n]) for n in range(1, len(parts) + 1)} & modules.keys()) - {
            name
        }


class Forks(Distributor):  # type: ignore[misc]
    """Runs the jobs of one target, some at a time; a distributor in the form cosmic-ray has them."""

    def __init__(self, target: Target, jobs: dict[str, Job], workers: int) -> None:
        self._target, self._jobs, self._workers = target, jobs, workers

    def __call__(
        self,
        pending_work: Iterable[WorkItem],
        test_command: str = "",
        timeout: float = 0,
        distributor_config: Any = None,
        on_task_complete: Callable[[str, WorkResult], None] = lambda *_: None,
    ) -> None:
        jobs = [self._jobs[item.job_id] for item in pending_work if item.job_id in self._jobs]
        hear, tell = os.pipe()
        warm = os.fork()
        if not warm:
            os.close(hear)
            self._be_warm(jobs, tell)
        os.close(tell)
        with os.fdopen(hear) as lines:
            for line in lines:
                told = json.loads(line)
                on_task_complete(told["id"], _result(told["outcome"], told["output"]))
        if os.waitpid(warm, 0)[1]:
            raise SystemExit(f"the process that tries {self._target.module} ended too early")

    def _be_warm(self, jobs: list[Job], tell: int) -> None:
        """In the process that forks: load what the change cannot touch, then run the jobs."""
        ended = 1
        try:
            os.chdir(self._target.root)
            sys.path[:0] = [str(self._target.root), str(self._target.root / "tests" / "support")]
            for name in untouched(self._target.root, self._target.module):
                importlib.import_module(name)
            if self._target.module in sys.modules:
                raise RuntimeError(f"{self._target.module} was loaded before it could be changed")
            with os.fdopen(tell, "w") as out:
                _run(self._target, jobs, self._workers, out)
            ended = 0
        finally:
            os._exit(ended)


def _result(outcome: str, output: str) -> WorkResult:
    lived = outcome == "survived"
    return WorkResult(
        worker_outcome=WorkerOutcome.NORMAL,
        test_outcome=TestOutcome.SURVIVED if lived else TestOutcome.KILLED,
        output=TIMED_OUT if outcome == TIMED_OUT else output,
    )


def _run(target: Target, jobs: list[Job], workers: int, out: Any) -> None:
    waiting, running = jobs[::-1], dict[int, tuple[Job, float]]()
    while waiting or running:
        while waiting and len(running) < workers:
            job = waiting.pop()
            pid = os.fork()
            if not pid:
                _be_child(target, job)
            running[pid] = (job, time.monotonic() + 30 + 4 * job.seconds)
        pid, status = os.waitpid(-1, os.WNOHANG)
        if pid:
            job, _ = running.pop(pid)
            log = _log(target, job)
            out.write(
                json.dumps({"id": job.id, "outcome": _outcome(status), "output": _last(log)}) + "\n"
            )
            out.flush()
            log.unlink(missing_ok=True)
            continue
        for late in [p for p, (_, until) in running.items() if time.monotonic() > until]:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(late, signal.SIGKILL)
        time.sleep(0.01)


def _outcome(status: int) -> str:
    code = os.waitstatus_to_exitcode(status)
    if -code in {signal.SIGXCPU, signal.SIGKILL}:
        return TIMED_OUT
    return "survived" if code in {0, NONE_FOUND} else "killed"


def _log(target: Target, job: Job) -> Path:
    return target.scratch / f"{job.id}.log"


def _last(log: Path) -> str:
    """What the tests said that failed first, else the end of what was said."""
    said = log.read_text("utf-8", "replace").splitlines() if log.exists() else []
    failed = [each for each in said if each.startswith(("FAILED", "ERROR"))]
    return "\n".join(failed[:1] or said[-15:])


def _be_child(target: Target, job: Job) -> None:
    """In the child: change the module, run the tests, say by the exit code how it went."""
    code = 1
    try:
        os.setsid()
        log = os.open(_log(target, job), os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        for each in (1, 2):
            os.dup2(log, each)
        cpu = int(job.seconds) + 1
        resource.setrlimit(resource.RLIMIT_CPU, (cpu, cpu + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        sys.meta_path.insert(0, Ahead(target.module, target.root / target.file, job.source))
        code = _pytest(target, job)
    finally:
        os._exit(code)


def _pytest(target: Target, job: Job) -> int:
    import pytest

    order = target.scratch / f"{job.id}.tests"
    order.write_text("\n".join(job.tests), "utf-8")
    os.environ["MUTANTS_TESTS"] = str(order)
    os.environ["MUTANTS_EXACT"] = "yes" if job.exact else ""
    files = dict.fromkeys(t.partition("::")[0] for t in job.tests)
    plugins = [word for name in PLUGINS for word in ("-p", name)]
    quiet = ["-x", "--tb=no", "-rfE", "--assert=plain", "-p", "no:cacheprovider"]
    code = int(pytest.main([*plugins, *quiet, "--rootdir", str(target.root), *files]))
    sys.stdout.flush()
    order.unlink()
    return code
