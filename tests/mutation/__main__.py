"""Change the code that a YES rests on, one small wrong at a time, and see whether a test notices.

Says how many were noticed, by module, and lists those that were not. 0 when every change was
noticed or is listed in docs/mutants.md as one that makes no difference; else 1.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from cosmic_ray.mutating import mutate_code
from cosmic_ray.work_item import TestOutcome, WorkerOutcome, WorkItem, WorkResult
from forks import Forks
from operators import OWN
from report import Tried, diff_of, known, survivors, table
from running import TIMED_OUT, Job, Target
from session import Changes, Session
from targets import LEFT_OUT, TARGETS, TESTS, found

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "mutants.md"
NO_TEST = WorkResult(worker_outcome=WorkerOutcome.NO_TEST)
SURE, TIMES = 10.0, 10.0
"""Seconds of computing a change is given: so many, and so many times what its tests take."""


def _check_operators() -> None:
    for operator in OWN:
        for example in operator.examples():
            got = mutate_code(example.pre_mutation_code, operator(), example.occurrence)
            if got != example.post_mutation_code:
                raise SystemExit(f"{operator.__name__} writes {got!r} for {example}")


def _jobs(session: Session, changes: Changes) -> Iterator[Job]:
    """A job for each change that some test can notice; the others are noted as such."""
    for item in changes.pending:
        line = item.mutations[0].start_pos[0]
        tests = session.seen.tests_for(changes.file, changes.source, line)
        if not tests:
            changes.db.set_result(item.job_id, NO_TEST)
            continue
        seconds = SURE + TIMES * sum(session.seen.took[t] for t in tests)
        yield Job(item.job_id, changes.texts[item.job_id], tuple(tests), seconds)


def _try(session: Session, changes: Changes, workers: int) -> None:
    """Try every change of a module that was not tried yet."""
    jobs = {job.id: job for job in _jobs(session, changes)}
    if not jobs:
        return
    target = Target(session.tree, changes.module, changes.file, session.scratch)
    _unchanged(session, target, changes, jobs)
    began, done = time.monotonic(), 0

    def told(id_: str, result: WorkResult) -> None:
        nonlocal done
        done += 1
        changes.db.set_result(id_, result)
        if done % 25 == 0 or done == len(jobs):
            took = time.monotonic() - began
            print(f"  {changes.module}: {done} of {len(jobs)}, {took:.0f} s")

    Forks(target, jobs, workers)(changes.pending, on_task_complete=told)


def _unchanged(session: Session, target: Target, changes: Changes, jobs: dict[str, Job]) -> None:
    """The module as it is must pass, run in the same way."""
    tests = tuple(dict.fromkeys(t for job in jobs.values() for t in job.tests))
    seconds = SURE + TIMES * sum(session.seen.took[t] for t in tests)
    job = Job("unchanged", changes.source, tests, seconds, exact=True)
    results: list[WorkResult] = []
    Forks(target, {job.id: job}, 1)(
        [WorkItem(job_id=job.id, mutations=())],
        on_task_complete=lambda _, result: results.append(result),
    )
    if results[0].test_outcome is not TestOutcome.SURVIVED:
        raise SystemExit(f"{target.module} fails before it is changed:\n{results[0].output}")


def _tried(changes: Changes) -> Iterator[Tried]:
    equal = known(PAGE)
    for item, result in changes.told():
        each = item.mutations[0]
        diff = diff_of(changes.source, changes.texts[item.job_id])
        tried = Tried(
            changes.file, each.start_pos[0], each.definition_name or "module", diff, _word(result)
        )
        yield tried.judged("equivalent") if tried.unnoticed and tried.key in equal else tried


def _word(result: WorkResult) -> str:
    if result.worker_outcome is WorkerOutcome.NO_TEST:
        return "no tests"
    if result.test_outcome is TestOutcome.SURVIVED:
        return "survived"
    return "timeout" if result.output == TIMED_OUT else "killed"


def _preload(session: Session) -> None:
    """Load what does not belong to the package, once for all."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    for name in session.loaded:
        try:
            importlib.import_module(name)
        except Exception as why:  # a name that only its own package can load
            print(f"  not loaded before: {name} ({why})")
    gc.collect()
    gc.freeze()


def _asked() -> argparse.Namespace:
    asked = argparse.ArgumentParser(prog="python tests/mutation", description=__doc__)
    asked.add_argument(
        "modules", nargs="*", help="names or patterns; all targets when none is given"
    )
    asked.add_argument(
        "--tests", nargs="+", help="test folders or files; the rooms' own when none is given"
    )
    asked.add_argument("--workers", type=int, default=2, help="changes tried at a time (2)")
    asked.add_argument("--every", type=int, default=1, help="try one change in so many (1)")
    asked.add_argument(
        "--session", type=Path, help="a folder to keep and to go on from after a stop"
    )
    return asked.parse_args()


def _say(tried: list[Tried], gone: list[str], *, whole: bool) -> int:
    """Print what was found; how many things are to be mended. Of a sample, what is listed and was
    not drawn is no news."""
    print(f"\n{table(tried)}\n")
    left = [each for each in tried if each.unnoticed and each.outcome != "equivalent"]
    for text in survivors(left):
        print(text)
    files = {str(each.file) for each in tried}
    equal = {each.key for each in tried if each.outcome == "equivalent"}
    wanted = (key for key in known(PAGE) if key[0] in files or not (ROOT / key[0]).exists())
    stale = [key for key in wanted if key not in equal] if whole else []
    for file, function, diff in stale:
        print(
            f"docs/mutants.md lists a change that is noticed, or gone: {file}, {function}: {diff}"
        )
    for pattern in gone:
        print(f"NO SUCH MODULE: {pattern}: mend tests/mutation/targets.py")
    return len(left) + len(stale) + len(gone)


def main() -> int:
    """Run it."""
    given, began = _asked(), os.times().elapsed
    sys.stdout.reconfigure(line_buffering=True)  # type: ignore[union-attr]
    _check_operators()
    scratch = (given.session or Path(tempfile.mkdtemp(prefix="tankbook-mutants-"))).resolve()
    sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"] = str(scratch / "pyc")
    session = Session(scratch)
    session.begin(ROOT, given.tests or TESTS)
    files, gone = found(session.tree, tuple(given.modules) or TARGETS)
    for pattern in gone:
        print(f"NO SUCH MODULE: {pattern}")
    print("tests left out as slow: " + ", ".join([*LEFT_OUT, *session.seen.slow()]))
    _preload(session)
    tried: list[Tried] = []
    for module, file in files.items():
        changes = Changes(session, module, file, given.every)
        _try(session, changes, given.workers)
        tried += _tried(changes)
    wrong = _say(tried, gone, whole=given.every == 1)
    times = os.times()
    print(f"{times.elapsed - began:.0f} s, {sum(times[:4]):.0f} s of computing")
    if given.session is None:
        shutil.rmtree(scratch)
    return int(wrong > 0)


if __name__ == "__main__":
    raise SystemExit(main())
