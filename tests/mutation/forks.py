"""One process for each change: everything that the change cannot touch is loaded before it forks."""

from __future__ import annotations

import importlib
import json
import os
import sys
from collections.abc import Callable, Iterable
from typing import Any

from cosmic_ray.distribution.distributor import Distributor
from cosmic_ray.work_item import TestOutcome, WorkerOutcome, WorkItem, WorkResult
from loading import untouched
from running import TIMED_OUT, Job, Target, run


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
                run(self._target, jobs, self._workers, out)
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
