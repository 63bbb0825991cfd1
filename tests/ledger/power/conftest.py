"""Options and figures of the power cuts."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # the modules beside this one import each other

STATES = 220
"""States judged in an ordinary run, over all kinds of acts."""


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("power", "power cuts in the middle of acts")
    group.addoption(
        "--power", type=int, default=STATES, metavar="STATES", help="how many states to judge"
    )
    group.addoption(
        "--power-seed", type=int, default=1, metavar="NUMBER", help="which ones are drawn"
    )


@pytest.fixture(name="top")
def _top(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder in memory where there is a disk of memory: what a real disk keeps is modelled."""
    from repos import ALONE

    from tankbook.ledger import lock

    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    # A folder keeps its number over a power cut; one that is laid anew has another.
    real = lock._mark
    monkeypatch.setattr(lock, "_mark", lambda root: real(root) and b"this machine\n")
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as folder:
        yield Path(folder)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The figures of the run, gathered from every worker."""
    told = [
        value
        for kind in ("passed", "failed")
        for report in terminalreporter.stats.get(kind, [])
        for name, value in getattr(report, "user_properties", [])
        if name == "power"
    ]
    if told:
        total = {name: sum(t[name] for t in told) for name in told[0]}
        terminalreporter.section("power cuts")
        terminalreporter.write_line(", ".join(f"{n} {name}" for name, n in total.items()))
