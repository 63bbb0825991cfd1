"""What stays behind in a cylinder, and the order of a fill and the care of one day.

The station, the people and the dates are invented. That oil stays behind is common practice, no
source.
"""

from __future__ import annotations

import re

import pytest
from books import GOOD, TODAY, make_book, with_lines
from loglines import fill

from tankbook.rules.checks import of_card

VALUES = "standard: cga-grade-e, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, hydrocarbons: 3 ppm"
STATION = f"""
compressor: {{name: C1}}
air_tests:
  - {{on: 2026-10-12, by: Lab, result: pass, source: C1, oil: 0.1 mg/m3, {VALUES}}}
  - {{on: 2026-11-10, by: Lab, result: fail, source: C1, oil: 9 mg/m3, {VALUES}}}
  - {{on: 2026-11-14, by: Lab, result: pass, source: C1, oil: 0.1 mg/m3, {VALUES}}}
"""


def told(looked: str, cleaned: str, filled: str = "2026-11-11T09") -> list[str]:
    """What is at fault of a cylinder filled with oily air, and looked into and cleaned then."""
    card = with_lines(
        GOOD,
        inspected=f"[{{on: 2026-11-11, by: MV, checklist: annual, result: pass{looked}}}]",
        cleaned=f"[{{on: 2026-11-11, by: MV, to: oxygen{cleaned}}}]",
    )
    log = "\n".join((fill(filled, source="C1"), fill("2026-11-15", from_="0 psi", source="C1")))
    book = make_book({"A": card}, log=log, station=STATION)
    return [f.mend for f in of_card(book, book.cylinders["A"], TODAY) if f.code == "bad-air"]


@pytest.mark.parametrize(
    ("looked", "cleaned", "held"),
    [
        ("12:00", "13:00", False),
        ("12:00", "08:00", True),  # soiled after it was cleaned
        ("08:00", "13:00", True),  # and after it was looked into
        ("12:00", "09:00", True),  # nobody knows which was first in that minute
        ("12:00", "", True),
        ("", "13:00", True),
        ("", "", True),
    ],
)
def test_the_hours_say_what_came_first(looked: str, cleaned: str, held: bool) -> None:
    at = [f", at: '{each}'" if each else "" for each in (looked, cleaned)]
    mends = told(*at)
    assert bool(mends) is held
    named = re.findall(r"correct A (\w+) 2026-11-11 --set at=HH:MM --why WHY", "".join(mends))
    assert named == [k for k, v in (("inspected", looked), ("cleaned", cleaned)) if held and not v]


def test_a_fill_without_an_hour_may_have_been_after_all_of_its_day() -> None:
    at = ", at: '12:00'", ", at: '13:00'"
    assert told(*at, filled="2026-11-11T00")
    assert not told(*at, filled="2026-11-10T00")
