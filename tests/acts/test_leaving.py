"""What every act by which a cylinder leaves tells of its gas."""

from __future__ import annotations

import pytest
from books import TODAY
from loglines import book_of, fill

from tankbook.acts.leaving import asked_of_gas
from tankbook.records.entries import GasAnalysed
from tankbook.rules.leaving import Taken
from tankbook.units import Percent

LEAST = (
    "LOW OXYGEN: not to be breathed at the surface, least depth 8 m / 26 ft (oxygen 0.18 bar abs)"
)
"""0.18 bar of oxygen in a tenth of the gas is 1.8 bar absolute: 8 m of water, rounded up."""


@pytest.mark.parametrize(
    ("logged", "read", "told"),
    [
        ({"gas": "trimix10/70", "o2": "10 %", "he": "70 %"}, 10.0, LEAST),
        ({"gas": "trimix10/70"}, None, LEAST),  # by its name alone
        # whichever is less is told
        ({"gas": "trimix18/45", "o2": "20 %", "he": "45 %"}, 10.0, LEAST),
        ({"gas": "trimix10/70", "o2": "10 %", "he": "70 %"}, 21.0, LEAST),
        ({"gas": "nitrox32", "o2": "32 %"}, 32.0, ""),
        ({"gas": "air"}, None, ""),
    ],
)
def test_a_lean_gas_leaves_with_its_least_depth(
    logged: dict[str, str], read: float | None, told: str
) -> None:
    book = book_of(fill("2026-11-20", analysed_by="MV", **logged))
    analysed = GasAnalysed(oxygen=Percent.of(read, "%")) if read is not None else None
    found = asked_of_gas(book, "A", Taken("B-1", analysed, None, True), TODAY, by="MV")
    assert [text for text in found.warnings if "LOW OXYGEN" in text] == ([told] if told else [])
