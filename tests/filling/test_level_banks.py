"""Banks that read the same, as every bank does in the morning, fill what banks nearly alike fill."""

from __future__ import annotations

import pytest
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st
from standing import apart, filled, standing

from tankbook.filling import (
    PlanAct,
    plan,
)
from tankbook.units import GaugePressure, Volume

LITTLE = 1.0, 5.0
"""By so many psi banks are set apart that read the same."""


@pytest.mark.parametrize("unit", ["bar", "psi"])
@pytest.mark.parametrize(
    ("readings", "count", "places"),
    [
        ((300, 300, 300), 1, 4), ((300, 300, 300), 2, 4), ((300, 300, 300), 3, 4),
        ((300, 300, 300), 4, 4), ((300, 300, 300), 4, 1), ((300, 299, 300), 4, 4),
        ((200, 300, 300), 3, 4), ((200, 300, 300), 4, 4), ((300, 300, 200), 3, 4),
        ((200, 200, 300, 300), 3, 4), ((200, 200, 300), 2, 4), ((300, 300), 2, 4),
    ],
)  # fmt: skip
def test_all_are_filled_from_banks_that_read_the_same(
    readings: tuple[float, ...], count: int, places: int, unit: str
) -> None:
    """What each bank in turn fills, the next opened where one has given."""
    assert filled(standing(readings, count, places, unit=unit)) == count


@pytest.mark.parametrize("places", [1, 4])
@pytest.mark.parametrize(
    "readings", [(300, 300, 300), (300, 299, 298), (200, 300, 300), (160, 240, 300)]
)
def test_what_is_filled_by_holding_is_filled_by_connecting_again(
    readings: tuple[float, ...], places: int
) -> None:
    """A plan with a long hold names `--top-offs 1`: what it holds is connected again, and full."""
    held = plan(standing(readings, 3, places))
    assert any(step.held >= 30 for step in held.steps)
    assert filled(standing(readings, 3, places)) == 3
    again = plan(standing(readings, 3, places, top_offs=1))
    assert not again.unfilled
    topped = [step.number for step in again.steps if step.act is PlanAct.TOP_OFF]
    assert not any(step.held for step in again.steps if step.number < topped[0])


def test_one_that_no_bank_brought_to_its_stop_is_connected_again() -> None:
    """The last bank would be open for moments, and is opened once the cylinder is cool."""
    steel = replace(
        standing((165, 241, 303), 1, unit="psi", litres=99, top_offs=1).vessels[0],
        water_volume=Volume.of(15.3, "L"),
        start=GaugePressure.of(400, "psi"),
        target=GaugePressure.of(3442, "psi"),
        marked=GaugePressure.of(3442, "psi"),
        mass=None,
    )
    before = standing((165, 241, 303), 1, unit="psi", litres=99, top_offs=1)
    assert filled(replace(before, vessels=(steel,))) == 1


@settings(max_examples=6)
@given(
    pattern=st.sampled_from(["hh", "hhh", "lhh", "llh", "llhh", "hhl", "hlh"]),
    high=st.sampled_from([280.0, 300.0]),
    low=st.sampled_from([100.0, 150.0, 200.0, 240.0]),
    count=st.integers(2, 4),
    places=st.sampled_from([1, 4]),
    delivery=st.sampled_from([None, 200.0]),
    unit=st.sampled_from(["bar", "psi"]),
)
def test_banks_set_apart_by_a_little_fill_no_more(
    pattern: str,
    high: float,
    low: float,
    count: int,
    places: int,
    delivery: float | None,
    unit: str,
) -> None:
    """Set apart they hold less, so that level ones never fill fewer."""
    readings = [high if each == "h" else low for each in pattern]
    level = standing(readings, count, places, delivery=delivery, unit=unit)
    most = max(filled(apart(level, psi, rising=up)) for psi in LITTLE for up in (True, False))
    assert filled(level) >= most
