"""The picture of a session: inside the page, over the whole session, of what the gauges show."""

from __future__ import annotations

import itertools

import pytest

from tankbook.filling import (
    Plan,
    PlanBank,
    PlanCompressor,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
    plan,
)
from tankbook.gas import Gas
from tankbook.output.page import Page
from tankbook.output.plot import curves, drawing, picture, timed
from tankbook.records.station import Position
from tankbook.records.words import PositionKind, Shore
from tankbook.units import FreeGasFlow, GaugePressure, PressureRate, Temperature, Volume

AIR = Gas.parse("air")


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def made(starts: tuple[float, ...] = (500, 900, 1300), positions: int = 2) -> Plan:
    litres = Volume.of(11.1, "L")
    return plan(
        Session(
            gas=AIR,
            banks=tuple(
                PlanBank(label=name, water_volume=Volume.of(48, "L"), reading=psi(value), gas=AIR)
                for name, value in (("B1", 2200), ("B2", 3300))
            ),
            vessels=tuple(
                Vessel(
                    id=f"C{n}", water_volume=litres, start=psi(start), target=psi(2880),
                    marked=psi(3000), gas=AIR,
                )
                for n, start in enumerate(starts)
            ),
            positions=tuple(
                Position(name=f"P{n}", kind=PositionKind.ENCLOSED) for n in range(positions)
            ),
            policy=StationPolicy(fill_rate=PressureRate.of(400, "psi/min")),
            ambient=Temperature.of(60, "degF"),
            standard=StandardCylinder(water_volume=litres, start=psi(500), target=psi(2880)),
            compressor=PlanCompressor(
                delivery=FreeGasFlow.of(7, "cuft/min"), max_pressure=psi(4500)
            ),
        )
    )  # fmt: skip


PLAN = made()


@pytest.mark.parametrize("width", [60, 80, 120])
def test_it_fits_the_page_and_is_plain(width: int) -> None:
    lines = picture(PLAN, Page(width, Shore.PSI))
    assert all(len(line) <= width and line.isascii() for line in lines)
    axis = next(line for line in lines if line.lstrip().startswith("+"))
    assert len(axis) == width


def test_the_steps_fill_the_session() -> None:
    spans = [(begins, ends) for _, begins, ends in timed(PLAN)]
    assert spans[-1][1] == pytest.approx(PLAN.session_minutes)
    assert all(one[1] <= two[0] + 1e-9 for one, two in itertools.pairwise(spans))


def test_curves_end_where_the_plan_does() -> None:
    drawn = {curve.name: curve for curve in curves(PLAN)}
    for bank in PLAN.banks:
        points = drawn[bank.label].points
        assert points[0] == (0.0, bank.before.psi)
        assert points[-1][1] == pytest.approx(bank.after.psi)
        values = [value for _, value in points]
        fed = any(each.bank == bank.label for step in PLAN.steps for each in step.fed)
        assert fed or values == sorted(values, reverse=True), "a bank rises only where it is fed"
    for one in PLAN.reached:
        assert drawn[one.id].points[0][1] == pytest.approx(one.start.psi)
        assert drawn[one.id].points[-1][1] == pytest.approx(one.holds.psi)
        assert max(value for _, value in drawn[one.id].points) <= 3000 + 1e-6
    for curve in drawn.values():
        minutes = [minute for minute, _ in curve.points]
        assert minutes == sorted(minutes)


def test_every_curve_has_its_own_symbol() -> None:
    symbols = [curve.symbol for curve in curves(PLAN)]
    assert len(set(symbols)) == len(symbols)


def test_a_session_without_steps_has_no_picture() -> None:
    assert picture(made(starts=(2880,)), Page()) == []


def test_the_drawing_says_in_words_what_it_shows() -> None:
    drawn = drawing(PLAN)
    assert drawn.title == f"Pressure against time, {PLAN.session_minutes:.0f} minutes"
    for one in PLAN.reached:
        assert f"{one.id} {one.holds.psi:.0f}" in drawn.says
