"""What a station may do more never fills fewer: more connected at once, or connected again; what a
plan names as a mend fills; and who is opened beside others is opened at no less than it reads.

All sessions are invented.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from changing import replace
from drawn_sessions import FE, invented
from hypothesis import given, settings
from hypothesis import strategies as st
from standing import apart, beside, filled, standing, us
from sweep import tries

from tankbook.filling import (
    PlanCompressor,
    Session,
    as_json,
    plan,
)
from tankbook.output.page import Page
from tankbook.output.plan_steps import rows
from tankbook.records.words import Shore
from tankbook.units import (
    FreeGasFlow,
    GaugePressure,
    Mass,
    RunningTime,
    Volume,
)


def topped(session: Session, times: int, cooling: float = 30) -> Session:
    """The same, each cylinder connected again so often at most, cool for so many minutes."""
    again = replace(session.policy, most_top_offs=times, cooling=RunningTime.of(cooling, "min"))
    return replace(session, policy=again)


def at_places(session: Session, count: int) -> Session:
    """The same at the first positions alone."""
    return replace(session, positions=session.positions[:count])


STARTS = (500, 500, 500, 500)

# of each: banks, starts, litres of a bank; those of which fewer were filled with a top-off
TOPPED = [((3700, 3700, 3700), 48, 70), ((2000, 3950, 3950), 48, 40), ((3950, 3950, 2000), 48, 40)]


@pytest.mark.parametrize(("readings", "litres", "ambient"), TOPPED)
def test_a_top_off_fills_no_fewer_than_a_hold(
    readings: tuple[float, ...], litres: float, ambient: float
) -> None:
    """The flow had just stopped when it was asked whether any bank would lift them once cool, and
    one bank was to fill them all."""
    session = us(readings, STARTS, litres, ambient)
    counts = [filled(topped(session, times)) for times in range(3)]
    assert counts == sorted(counts)
    assert counts[0] == 4


LEVEL = [(30, 4), (25, 4), (20, 3), (40, 6), (50, 8)]
"""Litres of each of three banks at 300 bar, and cylinders: four at once were filled to less."""


@pytest.mark.parametrize(("litres", "count"), LEVEL)
def test_more_places_fill_no_fewer(litres: float, count: int) -> None:
    session = standing((300,) * 3, count, 4, litres=litres)
    counts = [filled(at_places(session, places)) for places in range(1, 5)]
    assert counts == sorted(counts)


def test_it_is_told_where_fewer_are_connected_than_there_is_room_for() -> None:
    made = plan(standing((300,) * 3, 4, 4, litres=30))
    assert not made.unfilled
    most = max(len(load.seats) for load in made.loads)
    assert most < 4
    assert f"Connect no more than {most} at once: with more, fewer come full." in made.cautions


@pytest.mark.parametrize("seed", [20, 34])
def test_it_is_told_where_none_is_connected_again_since_so_more_come_full(seed: int) -> None:
    made = plan(drawn(seed, 1))
    said = "Connect no cylinder again, though it is allowed: so more come full."
    assert said in made.cautions
    assert all(step.act != "top off" for step in made.steps)
    assert said not in plan(drawn(seed)).cautions


def drawn(seed: int, top_offs: int = 0) -> Session:
    """One of the drawn sessions before banks of a third of their size, so that some are short."""
    session = invented(seed)
    banks = (
        replace(bank, water_volume=Volume.of(bank.water_volume.litres / 3, "L"))
        for bank in session.banks
    )
    return topped(replace(session, banks=tuple(banks), compressor=None), top_offs)


SHORT = [seed for seed in range(tries(16, 120)) if len(invented(seed).vessels) <= 6]


@pytest.mark.parametrize("seed", SHORT)
def test_what_may_be_done_more_fills_no_fewer(seed: int) -> None:
    session = drawn(seed)
    counts = [filled(topped(session, times)) for times in range(3)]
    assert counts == sorted(counts)
    places = [filled(at_places(session, n)) for n in range(1, len(session.positions) + 1)]
    assert places == sorted(places)
    assert filled(topped(session, 1, cooling=60)) >= counts[1]


@settings(max_examples=tries(6, 60))
@given(
    pattern=st.sampled_from(["hh", "hhh", "lhh", "hhl", "hlh", "lhhh"]),
    low=st.sampled_from([100.0, 200.0, 250.0]),
    litres=st.sampled_from([10.0, 20.0, 25.0, 30.0, 50.0]),
    count=st.integers(1, 5),
    unit=st.sampled_from(["bar", "psi"]),
    top_offs=st.integers(0, 1),
)
def test_small_level_banks_fill_no_fewer_by_more(
    pattern: str, low: float, litres: float, count: int, unit: str, top_offs: int
) -> None:
    """Fewer places, no top-off, or banks a little apart: none of these fills more."""
    readings = [300.0 if each == "h" else low for each in pattern]
    session = standing(readings, count, 4, top_offs=top_offs, litres=litres, unit=unit)
    most = filled(session)
    assert most >= max(filled(at_places(session, places)) for places in (1, 2, 3))
    assert most >= filled(topped(session, 0))
    assert most >= max(filled(apart(session, 3, rising=up)) for up in (True, False))


@pytest.mark.parametrize("lower", [0.03, 0.1, 0.3])
@pytest.mark.parametrize("number", range(3))
def test_fuller_banks_fill_no_fewer(number: int, lower: float) -> None:
    """Two unlike cylinders before three banks at the mark of one: with any of these lower both came
    full, and only one of them as they stood."""
    session = us((3442,) * 3, (0, 435), ambient=32)
    mark = GaugePressure.of(3442, "psi")
    cold = [GaugePressure.of(value, "psi") for value in (3120, 2761)]
    steel, other = session.vessels
    steel = replace(
        steel,
        water_volume=Volume.of(12.9, "L"),
        material=FE,
        mass=None,
        marked=mark,
        target=cold[0],
    )
    banks = tuple(
        replace(bank, water_volume=Volume.of(litres, "L"))
        for bank, litres in zip(session.banks, (20, 30, 20), strict=True)
    )
    session = replace(session, banks=banks, vessels=(steel, replace(other, target=cold[1])))
    less = GaugePressure.of(3442 * (1 - lower), "psi")
    one_lower = (replace(b, reading=less) if n == number else b for n, b in enumerate(banks))
    assert filled(session) >= filled(replace(session, banks=tuple(one_lower)))


def test_one_that_its_bank_came_to_hold_no_more_is_held_from_the_next() -> None:
    """It was left at its stop before two full banks, short of what is sure."""
    banks = standing((345, 345, 345), 1, litres=99, unit="bar")
    (vessel,) = banks.vessels
    high = GaugePressure.of(300, "bar")
    steel = replace(
        vessel,
        water_volume=Volume.of(10, "L"),
        start=GaugePressure.of(0, "bar"),
        target=high,
        marked=high,
        mass=Mass.of(16.5, "kg"),
    )
    session = replace(banks, vessels=(steel,))
    assert filled(session) == 1


# --- the mends


def followed(session: Session, mend: str, made: dict[str, Any]) -> int | None:
    """How many come full where a mend is followed as it is told; None where it names no raising."""
    raised = re.search(r"raise ((?:\w+ to [\d.]+ \w+(?:, )?)+)", mend)
    if raised is None:
        return None
    to = dict(re.findall(r"(\w+) to ([\d.]+) ", raised[1]))
    banks = (
        replace(b, reading=GaugePressure.of(float(to[b.label]), session.unit))
        if b.label in to
        else b
        for b in session.banks
    )
    return filled(replace(session, banks=tuple(banks)))


@pytest.mark.parametrize("limit", [None, 330.0, 310.0])
@pytest.mark.parametrize("readings", [(300, 300, 300), (200, 220, 240), (100, 200, 300), (210,)])
def test_what_is_told_to_raise_fills_all(readings: tuple[float, ...], limit: float | None) -> None:
    """`raise a bank above it` was told of banks that stood above it."""
    session = standing(readings, 6, 4, litres=20)
    most = None if limit is None else GaugePressure.of(limit, "bar")
    session = replace(session, banks=tuple(replace(b, limit=most) for b in session.banks))
    made = as_json(plan(session))
    mends = {one["mend"] for one in made["unfilled"]}
    assert mends
    for mend in mends:
        assert followed(session, mend, made) in (None, 6)
        assert "compressor" in mend
        for told in re.findall(r" to ([\d.]+) bar", mend):
            assert limit is None or float(told) <= limit
    pump = PlanCompressor(
        delivery=FreeGasFlow.of(300, "L/min"), max_pressure=GaugePressure.of(300, "bar")
    )
    assert filled(replace(session, compressor=pump)) == 6


def test_a_bank_that_can_be_raised_for_it_is_named() -> None:
    session = standing((150, 240), 2, 4, litres=50)
    limited = replace(session.banks[1], limit=GaugePressure.of(330, "bar"))
    session = replace(session, banks=(session.banks[0], limited))
    made = as_json(plan(session))
    (mend,) = {one["mend"] for one in made["unfilled"]}
    assert re.fullmatch(r"raise B2 to \d+\.0 bar, or fill it from a compressor", mend)
    assert followed(session, mend, made) == 2


# --- opened beside others


@pytest.mark.parametrize("unit", ["psi", "bar"])
@pytest.mark.parametrize("starts", [(500, 728, 732), (0, 1, 739, 730), (35, 400, 409, 412)])
@pytest.mark.parametrize("readings", [(2400, 3500, 4400), (3600, 4400), (900, 3500, 4400)])
def test_none_is_opened_below_what_it_reads(
    readings: tuple[float, ...], starts: tuple[float, ...], unit: str
) -> None:
    """`at 730 open P2, P1` beside one of 732: of those that read the same the highest counts, and
    what was read as the step began, whatever it cools to until then."""
    near = 0.5 if unit == "psi" else 0.05
    session = beside(starts, readings, unit)
    made, page = plan(session), Page(shore=Shore(unit))
    for step in made.steps:
        by = {change.position: change for change in step.changes}
        at = None
        for move in step.moves:
            if move.turn == "watch":
                at = move.at
            elif move.turn == "open" and move.name in by and at is not None and not step.in_turn:
                assert at.to(unit) >= by[move.name].reads.to(unit) - near
        for row in rows(step, page):
            found = re.search(r"at (\d+) open ((?:P\d+(?:, )?)+)", row.do)
            for name in re.findall(r"P\d+", found[2]) if found else ():
                assert float(found[1]) >= by[name].reads.to(unit) - near


def test_the_highest_of_those_that_read_the_same_is_waited_for() -> None:
    made = plan(beside((500, 728, 732), (2400, 3500, 4400), "psi"))
    said = [row.do for step in made.steps for row in rows(step, Page())]
    assert "at 740 open P2, P1" in {each.strip() for each in said}
