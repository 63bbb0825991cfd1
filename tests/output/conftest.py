"""Answers made by hand, and a book to take answers from, for the renderers."""

from __future__ import annotations

from collections.abc import Callable

import books
import pytest

from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.rulerow import RuleRow

STATION = """
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
  - {name: B2, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-14, pressure: 2500 psi}]}
compressor: {name: C1, hours: [{on: 2026-11-24, reads: 412.5 h}]}
filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}]
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
regulator_set: 3000 psi
"""

LOG = """
at=2026-11-20T09:30:00+01:00; cylinder=RB-014; act=fill; from=500 psi; to=3000 psi; temperature=70 degF; gas=air; by=MV; source=B1
at=2026-11-21T09:30:00+01:00; cylinder=RB-016; act=fill; to=3000 psi; gas=nitrox32; o2=32.1 %; analysed_by=MV; source=B2
"""


@pytest.fixture(name="page")
def _page() -> Page:
    return Page()


@pytest.fixture(name="row")
def _row() -> Callable[..., RuleRow]:
    def make(text: str) -> RuleRow:
        got: RuleRow = books.typed(RuleRow, text)
        return got

    return make


@pytest.fixture(name="book")
def _book() -> Book:
    """Three cylinders: one good and full, one out of test and inspection, one held."""
    good = books.GOOD
    late = good.replace("2024-03", "2021-09").replace("2026-02-09", "2025-02-09")
    held = (
        good.replace("service: air", "service: nitrox")
        .replace("status: in-service", "status: held")
        .replace(
            "inspected:\n",
            "held:\n  - {on: 2026-11-22, by: MV, why: thread finding}\ninspected:\n"
            "  - {on: 2026-01-09, by: MV, checklist: annual, result: pass, "
            "void: {why: wrong card, by: MV, on: 2026-01-10}}\n",
        )
    )
    return books.make_book(
        {
            "RB-014": books.stamped(good),
            "RB-015": books.stamped(late.replace("K118204", "K118205")),
            "RB-016": books.stamped(held.replace("K118204", "K118206")),
        },
        station=STATION,
        log=LOG,
    )
