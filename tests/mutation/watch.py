"""A pytest plugin: which test runs which line, and how long each test computes.

What is remembered between tests is forgotten before each, so that every test that needs a line is
seen to run it.
"""

from __future__ import annotations

import gc
import json
import os
import sys
import time
import weakref
from collections.abc import Iterator
from functools import _lru_cache_wrapper
from pathlib import Path
from typing import Any

import coverage
import pytest

SCRATCH = Path(os.environ["MUTANTS_SCRATCH"])
PURE = (
    "tankbook.units.",
    "tankbook.gas.",
    "tankbook.records.",
    "tankbook.filling.",
    "tankbook.rules.",
)
SUPPORT = ("books.", "acting.")

watching = coverage.Coverage(
    data_file=str(SCRATCH / "lines"), source_pkgs=["tankbook"], config_file=False, messages=False
)
watching.start()
took: dict[str, float] = {}
bad: list[str] = []
books: weakref.WeakSet[Any] = weakref.WeakSet()
remembered: list[Any] = []


def pytest_collection_finish(session: pytest.Session) -> None:
    """Find what remembers: functions with a cache, and books."""
    from tankbook.records.book import Book

    remembered[:] = [
        each
        for each in gc.get_objects()
        if isinstance(each, _lru_cache_wrapper)
        and f"{each.__module__}.".startswith((*PURE, *SUPPORT))
    ]
    books.update(each for each in gc.get_objects() if isinstance(each, Book))
    made = Book.__init__

    def noted(self: Book, *args: Any, **more: Any) -> None:
        made(self, *args, **more)
        books.add(self)

    Book.__init__ = noted  # type: ignore[method-assign]


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Give the lines to the test that runs."""
    for each in remembered:
        each.cache_clear()
    for book in list(books):
        book.known.clear()
    watching.switch_context(item.nodeid)
    before = _computed()
    try:
        return (yield)
    finally:
        took[item.nodeid] = _computed() - before
        watching.switch_context("")


def _computed() -> float:
    """Seconds of computing so far, which a busy machine does not make more."""
    return time.process_time() + sum(os.times()[2:4])


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note what did not go well."""
    if report.failed:
        bad.append(report.nodeid)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write what was seen."""
    watching.stop()
    data = watching.get_data()
    root = str(session.config.rootpath)
    place = {name: i for i, name in enumerate(took)}
    lines = {
        os.path.relpath(file, root): {
            line: tests
            for line, names in data.contexts_by_lineno(file).items()
            if (tests := [place[n] for n in names if n])
        }
        for file in data.measured_files()
    }
    loaded = sorted(
        name
        for name, module in sys.modules.items()
        if (where := getattr(module, "__file__", None))
        and not where.startswith(root)
        and not name.startswith("__")
    )
    seen = {"lines": lines, "took": took, "bad": bad, "loaded": loaded}
    (SCRATCH / "seen.json").write_text(json.dumps(seen), "utf-8")
