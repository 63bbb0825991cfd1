"""How long the pages of 2,000 cylinders take, as a multiple of writing the same bytes.

Run with `pytest tests/benchmarks/test_pages_scale.py --benchmark-enable`; by default the pages of a
small ledger are written once, untimed. The floor writes the same files as whole as pages are.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from pathlib import Path

import large
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tankbook.cli.boundary import run
from tankbook.ledger.page_folder import write

MOST_FLOORS = 100
"""Where the floor takes 1.1 s of processor time (other work beside it), 2,053 pages took 31 s, 28
floors, and 29 s again with one written; with a floor of 0.6 s that were 52. It was 87 before checks
that ask for no day were asked once for both of a cylinder's: today and its last. What is left is the
gate, asked of each cylinder for the board and of those two days."""


def took(work: Callable[[], object]) -> float:
    """Seconds of processor time."""
    began = time.process_time()
    work()
    return time.process_time() - began


def test_the_pages_of_a_large_fleet(
    benchmark: BenchmarkFixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    noon = dt.datetime.combine(large.TODAY, dt.time(12), dt.UTC)  # pages of a day ask of no other
    monkeypatch.setattr("tankbook.cli.open_ledger._now", lambda: noon)
    small = benchmark.disabled
    ids = large.write(tmp_path / "quay", *((40, 200) if small else ()))
    line = ["pages", str(tmp_path / "pages"), "--customers", "--ledger", str(tmp_path / "quay")]
    took_all = benchmark.pedantic(lambda: took(lambda: run(line)), rounds=1)
    made = sorted((tmp_path / "pages").iterdir())
    assert len(made) == len(ids) + len(ids) // 40 + 3
    if small:
        return
    pages = [(page.name, page.read_bytes()) for page in made]
    floor = took(lambda: write(tmp_path / "floor", pages, {}, lambda _: False))
    again = took(lambda: run(line))
    benchmark.extra_info |= {"floor": floor, "floors": took_all / floor, "again": again / floor}
    print(f"{took_all:.1f} s, {took_all / floor:.0f} floors of {floor:.2f} s, again {again:.1f} s")
    assert took_all / floor < MOST_FLOORS
