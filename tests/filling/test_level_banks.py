"""Banks that read the same, as every bank does in the morning, fill what banks nearly alike fill."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from changing import replace
from drawn_sessions import AIR, FE
from hypothesis import given, settings
from hypothesis import strategies as st

from tankbook.filling import (
    PlanAct,
    PlanBank,
    PlanCompressor,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
    as_json,
    plan,
)
from tankbook.records.station import Position
from tankbook.records.words import PositionKind
from tankbook.units import FreeGasFlow, GaugePressure, Mass, PressureRate, Temperature, Volume

LITTLE = 1.0, 5.0
"""By so many psi banks are set apart that read the same."""


def bar(value: float) -> GaugePressure:
    return GaugePressure.of(value, "bar")


def standing(
    readings: Sequence[float],
    count: int,
    places: int = 4,
    *,
    top_offs: int = 0,
    delivery: float | None = None,
    litres: float = 50,
    unit: str = "bar",
) -> Session:
    """Some like cylinders of 12 L at 50 bar before banks that read so many bar; all invented."""
    most = bar(330)
    made = PlanCompressor(delivery=FreeGasFlow.of(delivery or 1, "L/min"), max_pressure=most)
    return Session(
        gas=AIR,
        unit=unit,
        banks=tuple(
            PlanBank(
                label=f"B{n}",
                water_volume=Volume.of(litres, "L"),
                reading=bar(reads),
                gas=AIR,
                limit=most if delivery else None,
            )
            for n, reads in enumerate(readings, start=1)
        ),
        vessels=tuple(
            Vessel(
                id=f"C{n}",
                water_volume=Volume.of(12, "L"),
                start=bar(50),
                target=bar(232),
                marked=bar(232),
                gas=AIR,
                material=FE,
                mass=Mass.of(14.5, "kg"),
            )
            for n in range(count)
        ),
        positions=tuple(
            Position(name=f"P{n}", kind=PositionKind.ENCLOSED) for n in range(1, places + 1)
        ),
        policy=StationPolicy(fill_rate=PressureRate.of(28, "bar/min"), most_top_offs=top_offs),
        ambient=Temperature.of(20, "degC"),
        standard=StandardCylinder(water_volume=Volume.of(12, "L"), start=bar(50), target=bar(220)),
        compressor=made if delivery else None,
    )


def filled(session: Session) -> int:
    return sum(each["full"] for each in as_json(plan(session))["cylinders"])


def apart(session: Session, psi: float, *, rising: bool) -> Session:
    """The same with each bank that much below the one before it, or after it."""
    banks = session.banks
    steps = reversed(range(len(banks))) if rising else range(len(banks))
    lower = [psi * n for n in steps]
    return replace(
        session,
        banks=tuple(
            replace(bank, reading=GaugePressure.of(bank.reading.to("psi") - less, "psi"))
            for bank, less in zip(banks, lower, strict=True)
        ),
    )


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
