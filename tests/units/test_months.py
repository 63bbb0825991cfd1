"""Months between dates, and how many of what: each reckoned in one place."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

import tankbook
from tankbook.units import PartialDate
from tankbook.units.dates import months_between
from tankbook.units.nouns import counted, times

SOURCE = Path(tankbook.__file__).parent


@pytest.mark.parametrize(
    ("since", "until", "months"),
    [
        ("2026-11", "2026-11", 0),
        ("2026-11-30", "2026-12-01", 1),
        ("2026-11", "2025-12", -11),
        ("2024-11", "2026-01", 14),
    ],
)
def test_calendar_months(since: str, until: str, months: int) -> None:
    one, other = PartialDate.parse(since), PartialDate.parse(until)
    assert months_between(one, other) == months
    assert months_between(one.first, other.last) == months
    assert months_between(dt.date(2026, 1, 31), dt.date(2026, 2, 1)) == 1


@pytest.mark.parametrize(
    "wrong",
    [
        r"\.year - \w+(\.\w+)*\.year\) *(\*|\+)|12 \* \(\w+(\.\w+)*\.year",
        r"'s' if |'' if \w+ == 1 else 's'|\} times before",
    ],
)
def test_nobody_reckons_or_counts_by_himself(wrong: str) -> None:
    """Nouns that are no plain count, and the helpers, are let be."""
    own = {SOURCE / "units/dates.py", SOURCE / "units/nouns.py"}
    found = [
        f"{path.name}: {line.strip()}"
        for path in sorted(SOURCE.rglob("*.py"))
        if path not in own
        for line in path.read_text().splitlines()
        if re.search(wrong, line)
    ]
    assert found == []


def test_counts_in_words() -> None:
    assert [counted(n, "fill") for n in (0, 1, 2)] == ["0 fills", "1 fill", "2 fills"]
    assert [times(n) for n in (1, 2, 3)] == ["once", "twice", "3 times"]
