"""Options and figures of the reads beside a writer."""

from __future__ import annotations

import pytest

READS = 40
"""Answers asked for in an ordinary run."""


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("beside", "answers asked for while another process records")
    group.addoption(
        "--reads", type=int, default=READS, metavar="NUMBER", help="how many answers to ask for"
    )
    group.addoption(
        "--readers", type=int, default=4, metavar="NUMBER", help="how many processes ask"
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The figures of the run."""
    for report in terminalreporter.stats.get("passed", []):
        for name, value in getattr(report, "user_properties", []):
            if name == "reads":
                terminalreporter.section("reads beside a writer")
                told = ", ".join(f"{number} {what}" for what, number in value.items())
                terminalreporter.write_line(told)
