"""Fixtures shared by the rooms' tests."""

from __future__ import annotations

import datetime as dt
import gc
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import books
import pytest
from hypothesis import HealthCheck, settings
from parsed import REMEMBERING, remember_books, remember_what_was_parsed
from sweep import tries

from tankbook.records.book import Book

# A slow machine is no broken law; where a change is judged, every run draws the same examples.
settings.register_profile(
    "steady",
    max_examples=tries(50, 500),
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("steady")

LONG = (
    "acts/test_any_order.py",
    "benchmarks",
    "cli/test_repeats.py",
    "cli/test_whole_acts.py",
    "filling/test_quality.py",
    "ledger/beside",
    "ledger/power",
    "ledger/test_crash_acts.py",
    "rules/campaign",
    "test_docs.py",
)
"""The searches, the crashes, the benchmarks and the pages: marked `long`, and begun first, so that no
worker is left alone with them at the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    long = {here / each for each in LONG}
    for item in items:
        if not long.isdisjoint((item.path, *item.path.parents)):
            item.add_marker(pytest.mark.long)
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """The thousands of tests are there to the end: no search for garbage need go through them."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def pytest_configure(config: pytest.Config) -> None:
    if not config.getoption("benchmark_enable", default=False):  # a benchmark times the parsing
        remember_what_was_parsed()
        remember_books()
        lie_in_memory()


MEMORY, ROOM = Path("/dev/shm"), 4 << 30
"""Where Linux keeps files in memory alone, and how many bytes must be free there to be used."""


def lie_in_memory() -> None:
    """Have the folders of the tests in memory, where there is room and nobody said where: thousands
    of acts are written through to the disk, each waiting for it, and no test cuts the power."""
    try:
        free = shutil.disk_usage(MEMORY).free if os.access(MEMORY, os.W_OK | os.X_OK) else 0
    except OSError:
        return
    if free >= ROOM and not os.environ.get("TMPDIR"):
        os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))


ONCE = frozenset({"acts", "cli", "filling", "output", "rules", "test_docs.py", "test_examples.py"})
"""The rooms whose tests ask what the answers are, and not how files are read, or how fast."""
BESIDE_OTHERS = frozenset({"test_repeats.py", "test_whole_acts.py"})
"""Of these it is asked what is read while other processes write, or after they died."""


def pytest_runtest_setup(item: pytest.Item) -> None:
    room = item.path.relative_to(Path(__file__).parent).parts[0]
    REMEMBERING.allowed = room in ONCE and item.path.name not in BESIDE_OTHERS


@pytest.fixture(name="today")
def _today() -> dt.date:
    return books.TODAY


@pytest.fixture(name="make_book")
def _make_book() -> Callable[..., Book]:
    return books.make_book


@pytest.fixture(name="example_ledger")
def _example_ledger() -> Path:
    return Path(__file__).parent.parent / "example_ledger"
