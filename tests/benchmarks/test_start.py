"""How soon `--version` answers and what `due` costs, against floors measured in the same run.

Run with `pytest tests/benchmarks --benchmark-enable`; by default the body runs once, untimed.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

MOST_FLOORS = 1.5
"""The floor is an interpreter that imports typer and nothing else."""
MOST_BARE = 40.0
"""How many starts of bare Python `due` of one card may cost in processor time, both without `site`:
33 on a busy machine when this was written, 25 with it (`docs/start.md`)."""
ROUNDS = 15
ALONE = "import sys; sys.path[:0] = {path!r}; "
"""Nothing that the environment would load by itself, such as a coverage tool: run with -S."""


def version() -> str:
    run = [sys.executable, "-m", "tankbook", "--version"]
    return subprocess.run(run, capture_output=True, text=True, check=True).stdout


def floor() -> None:
    subprocess.run([sys.executable, "-c", "import typer"], capture_output=True, check=True)


def shortest_floor() -> float:
    """The shortest of some runs [s]: the one least disturbed by other work."""
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        floor()
        times.append(time.perf_counter() - begun)
    return min(times)


def test_the_version_answers_as_soon_as_typer_could_be_imported(
    benchmark: BenchmarkFixture,
) -> None:
    said = benchmark.pedantic(version, rounds=1 if benchmark.disabled else ROUNDS)
    assert said.startswith("tankbook ")
    if benchmark.disabled:
        return
    floors = benchmark.stats.stats.min / shortest_floor()
    benchmark.extra_info["floors"] = floors
    assert floors < MOST_FLOORS


def processor_time(code: str, cwd: Path) -> float:
    """What a fresh interpreter takes for some code [s], the least of some runs."""
    times = []
    for _ in range(ROUNDS):
        begun = resource.getrusage(resource.RUSAGE_CHILDREN)
        run = [sys.executable, "-S", "-c", ALONE.format(path=sys.path) + code]
        subprocess.run(run, cwd=cwd, capture_output=True, check=True)
        ended = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(ended.ru_utime + ended.ru_stime - begun.ru_utime - begun.ru_stime)
    return min(times)


def test_what_is_due_of_one_card_costs_some_starts_of_bare_python(
    tmp_path: Path, benchmark: BenchmarkFixture
) -> None:
    init = ["init", str(tmp_path / "quay"), "--name", "Quay", "--rules", "us-dot", "--no-git"]
    card = ["book-in", "--marks", "DOT-3AL 3000 K200001 09A26", "--use", "rental", "--by", "MV"]
    for line in (init, [*card, "--ledger", str(tmp_path / "quay"), "--on", "2026-11-25"]):
        subprocess.run([sys.executable, "-m", "tankbook", *line], capture_output=True, check=True)
    benchmark.pedantic(lambda: None)
    if benchmark.disabled:
        return
    due = "from tankbook.__main__ import main; sys.argv[1:] = ['due', '--on', '2026-11-26']; main()"
    bare = processor_time(due, tmp_path / "quay") / processor_time("pass", tmp_path)
    benchmark.extra_info["bare"] = bare
    print(f"due: {bare:.1f} of bare Python")
    assert bare < MOST_BARE
