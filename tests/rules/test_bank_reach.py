"""How high a bank can have been raised from what it was raised from."""

from __future__ import annotations

import acting
import pytest
from books import GOOD, make_book

from tankbook.acts.station_upkeep import raise_bank
from tankbook.rules.checks import check
from tankbook.units import GaugePressure

TODAY = acting.TODAY
STATION = """
compressor: {name: C1, max_pressure: 4500 psi}
compressors: [{name: C2}, {name: C3, max_pressure: 3000 psi}]
boosters: [{name: BO1, from: [B2], max_pressure: 4400 psi}, {name: BO2, from: [B2]}]
sources: [{name: M1, kind: membrane, of: C3, oxygen_to: 36 %}]
banks:
  - {name: B1, water_volume: 48 L, gas: air, working_pressure: 5000 psi}
  - {name: B2, water_volume: 48 L, gas: air, working_pressure: 5000 psi, readings: [{on: 2026-11-24, pressure: 3000 psi}]}
  - {name: B3, water_volume: 48 L, gas: air, working_pressure: 5000 psi}
"""


@pytest.mark.parametrize(
    ("source", "to", "told"),
    [
        ("C1", 4500, ""),
        ("C1", 4540, ""),  # by as much as a gauge may err
        ("C1", 4800, "C1 fills to 4500 psi"),
        ("C2", 4800, ""),  # nobody says how high
        ("C3", 3500, "C3 fills to 3000 psi"),
        ("M1", 3500, "C3 fills to 3000 psi"),
        ("M1", 2900, ""),
        ("B2", 3000, ""),
        ("B2", 2500, ""),
        ("B2", 4000, "B2 was last read at 3000 psi"),
        ("B3", 4000, ""),  # it was never read
        ("BO1", 4000, ""),
        ("BO1+B2", 4000, ""),
        ("B2+BO1", 4700, "BO1 fills to 4400 psi"),
        ("BO2", 4900, ""),
        ("B2+C1", 4400, ""),
        ("B2+C1", 4900, "C1 fills to 4500 psi, B2 was last read at 3000 psi"),
        ("elsewhere: Quay", 4900, ""),
        ("A", 4900, ""),
    ],
)
def test_a_bank_is_raised_no_higher_than_its_source_reaches(
    source: str, to: float, told: str
) -> None:
    made = acting.shelf(station=STATION, A=GOOD)
    done = made.do(
        raise_bank, "B1", to=GaugePressure.of(to, "psi"), source=source, by="MV", on=TODAY
    )
    notes = " ".join(done.notes)
    assert ("it was not raised to" in notes) is bool(told)
    assert told in notes
    assert made.book.station is not None
    assert made.book.station.banks[0].raised  # what happened is recorded all the same


def test_the_one_compressor_is_meant_where_no_source_is_said() -> None:
    text = STATION.replace("compressors: [{name: C2}, {name: C3, max_pressure: 3000 psi}]\n", "")
    text = text.replace("sources: [{name: M1, kind: membrane, of: C3, oxygen_to: 36 %}]\n", "")
    for to, told in ((4500, False), (4800, True)):
        made = acting.shelf(station=text, A=GOOD)
        done = made.do(raise_bank, "B1", to=GaugePressure.of(to, "psi"), by="MV", on=TODAY)
        assert ("C1 fills to 4500 psi" in " ".join(done.notes)) is told


@pytest.mark.parametrize(
    ("raised", "told"),
    [
        ("{on: 2026-11-20, to: 4800 psi, source: C1}", "C1 fills to 4500 psi"),
        ("{on: 2026-11-20, to: 4500 psi, source: C1}", ""),
        ("{on: 2026-11-20, to: 4800 psi, source: C2}", ""),
        ("{on: 2026-11-24, to: 4000 psi, source: B2}", "B2 was last read at 3000 psi"),
        ("{on: 2026-11-25, to: 4000 psi, source: B2}", "B2 was last read at 3000 psi"),
        ("{on: 2026-11-23, to: 4000 psi, source: B2}", ""),  # it was not read by then
        ("{on: 2026-11-20, to: 4800 psi, source: C1, void: {on: 2026-11-21, by: MV, why: typo}}", ""),
        ("{on: 2026-11-20, to: 4800 psi, source: 'elsewhere: Quay'}", ""),
    ],
)  # fmt: skip
def test_what_was_written_by_hand_is_held_against_that_too(raised: str, told: str) -> None:
    name = "{name: B1, water_volume: 48 L, gas: air,"
    made = make_book({"A": GOOD}, station=STATION.replace(name, f"{name} raised: [{raised}],"))
    found = [f.text for f in check(made, TODAY) if f.code == "raised-beyond-reach"]
    assert [text.rpartition(": ")[2] for text in found] == ([told] if told else [])


def test_a_bank_gave_what_it_was_read_at_then_and_not_what_is_left_of_it() -> None:
    entry = "{on: 2026-11-20, to: 4000 psi, source: B2}"
    name = "{name: B1, water_volume: 48 L, gas: air,"
    text = STATION.replace(name, f"{name} raised: [{entry}],")
    text = text.replace(
        "[{on: 2026-11-24", "[{on: 2026-11-19, pressure: 4200 psi}, {on: 2026-11-24"
    )
    made = make_book({"A": GOOD}, station=text)
    assert "raised-beyond-reach" not in {f.code for f in check(made, TODAY)}
