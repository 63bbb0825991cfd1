"""Options and figures of the campaign."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # the campaign's own modules import each other

from campaign import CASES
from quay import ON


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("campaign", "the mutation campaign over ledgers")
    group.addoption(
        "--campaign",
        type=int,
        default=CASES,
        metavar="CASES",
        help="how many mutated ledgers to judge",
    )
    group.addoption(
        "--campaign-seed",
        type=int,
        default=1,
        metavar="NUMBER",
        help="which ones: the same number gives the same",
    )
    group.addoption(
        "--campaign-case",
        default="",
        metavar="KEY:NUMBER",
        help="one of them alone, with what it changed",
    )


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock says the day that is asked about."""
    monkeypatch.setattr("tankbook.cli.open_ledger.clock", lambda: ON)
    monkeypatch.setenv("NO_COLOR", "1")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The figures of the run, gathered from every worker."""
    told: dict[str, dict[str, Any]] = {}
    for report in (
        r for kind in ("passed", "failed") for r in terminalreporter.stats.get(kind, [])
    ):
        for name, value in getattr(report, "user_properties", []):
            told |= value if name == "campaign" else {}
    if not told:
        return
    pairs = Counter(
        {f"{operator} {key}": n for key, t in told.items() for operator, n in t["flips"].items()}
    )
    total = {
        name: sum(t[name] for t in told.values()) for name in ("cases", "different", "yes", "wrong")
    }
    say = terminalreporter.write_line
    terminalreporter.section("campaign")
    say(
        f"{total['cases']} changed ledgers ({total['different']} different) of {len(told)} seeds; {total['yes']} answered YES"
    )
    say(
        f"{sum(pairs.values())} flips from NO to YES, in {len(pairs)} pairs of operator and hazard; {total['wrong']} unexplained"
    )
    if terminalreporter.config.getoption("campaign", CASES) > CASES:
        for key, t in told.items():
            say(
                f"  {key}: {t['cases']} cases, {t['yes']} YES, {t['wrong']} unexplained {t['flips'] or ''}"
            )
