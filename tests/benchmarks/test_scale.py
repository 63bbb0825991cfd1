"""How much longer an answer takes over 2,000 cylinders and 50,000 fills than over one.

Run with `pytest tests/benchmarks/test_scale.py --benchmark-enable`; by default a small ledger of the
same make is asked once, untimed. What one cylinder takes is starting up: the interpreter, the
command line and the shipped rules.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import large
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

MOST = 0.5
"""Seconds of processor time beyond starting up."""
ROUNDS = 4

FLEET = {"board": [], "due": ["due"], "list": ["list"], "fleet": ["fleet"]}
MOST_SINGLE = 8.0
"""How many answers about two cylinders of the same ledger one about all 2,000 may cost: each of
them is asked every check. It was over this for the board before that asked for yes or no alone."""
ANSWERS = {
    "may-fill": ["may-fill", "RB-0003", "RB-0005"],
    "show": ["show", "RB-0003"],
    "rentals": ["rentals"],
    "jobs": ["jobs"],
    "stock": ["stock"],
    "recall": ["recall", "C1"],
    "leaks": ["leaks"],
    "fills": ["fills", "--month", "2026-11"],
}


def seconds(root: Path, line: list[str]) -> float:
    """The processor time of one answer, its own and that of what it starts."""
    read, write = os.pipe()
    command = [sys.executable, "-c", RUN, str(write), *line, "--on", "2026-11-25"]
    done = subprocess.run(
        command, cwd=root, capture_output=True, text=True, pass_fds=[write], check=False
    )
    os.close(write)
    with os.fdopen(read) as told:
        took = float(told.read())
    assert done.returncode in (0, 1), done.stderr
    assert done.stdout
    return took


RUN = """
import os, sys
told = int(sys.argv.pop(1))
from tankbook.__main__ import main
code = main()
sys.stdout.flush()
times = os.times()
os.write(told, str(times.user + times.system + times.children_user + times.children_system).encode())
sys.exit(code)
"""


@pytest.fixture(name="ledgers", scope="module")
def _ledgers(
    tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> tuple[Path, Path]:
    """The large ledger, and one of a few cylinders and no fills."""
    timed = request.config.getoption("benchmark_enable")
    root, one = tmp_path_factory.mktemp("large"), tmp_path_factory.mktemp("one")
    large.write(root, *((2000, 50_000) if timed else (40, 300)))
    large.write(one, 20, 0)
    return root, one


@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer_over_a_large_ledger_takes_less_than_half_a_second_beyond_starting_up(
    name: str, ledgers: tuple[Path, Path], benchmark: BenchmarkFixture
) -> None:
    root, one = ledgers
    benchmark.pedantic(lambda: None)
    if benchmark.disabled:
        seconds(root, ANSWERS[name])
        return
    took = min(seconds(root, ANSWERS[name]) for _ in range(ROUNDS))
    start = min(seconds(one, ANSWERS[name]) for _ in range(ROUNDS))
    benchmark.extra_info["beyond_start_up"] = took - start
    print(f"{name}: {took - start:.2f} s beyond {start:.2f} s")
    assert took - start < MOST


@pytest.mark.parametrize("name", FLEET)
def test_an_answer_about_a_fleet_costs_few_answers_about_two_of_it(
    name: str, ledgers: tuple[Path, Path], benchmark: BenchmarkFixture
) -> None:
    root, _ = ledgers
    benchmark.pedantic(lambda: None)
    took, floor = seconds(root, FLEET[name]), seconds(root, ANSWERS["may-fill"])
    if benchmark.disabled:
        return
    benchmark.extra_info |= {"floor": floor, "floors": took / floor}
    print(f"{name}: {took:.1f} s, {took / floor:.1f} floors of {floor:.1f} s")
    assert took / floor < MOST_SINGLE


def test_the_large_ledger_is_sound(ledgers: tuple[Path, Path]) -> None:
    root, _ = ledgers
    command = [sys.executable, "-m", "tankbook", "validate", "--on", "2026-11-25"]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    lines = [line for line in done.stdout.splitlines() if ": fault:" in line]
    assert [line for line in lines if "out-of-date" not in line and "over-limit" not in line] == []
    assert len(list(large.lines_in(root))) in (300, 50_000)
