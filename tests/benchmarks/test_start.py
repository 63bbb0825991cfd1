"""How soon `--version` answers, against a floor measured in the same run.

Run with `pytest tests/benchmarks --benchmark-enable`; by default the body runs once, untimed.
"""

from __future__ import annotations

import subprocess
import sys
import time

from pytest_benchmark.fixture import BenchmarkFixture

MOST_FLOORS = 1.5
"""The floor is an interpreter that imports typer and nothing else."""
ROUNDS = 15


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
