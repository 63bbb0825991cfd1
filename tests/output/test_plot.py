"""The picture of a session: inside the page, over the whole session, of what the gauges show."""

from __future__ import annotations

import datetime as dt
import itertools

import pytest
import readback
from changing import replace

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
from tankbook.output.plot import curves, drawing, loads, phases, picture, timed
from tankbook.output.svg import standing_alone
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
        assert f"{one.id} {one.start.psi:.0f} to {one.holds.psi:.0f}." in drawn.says
    for load in PLAN.loads:
        assert f"Load {load.number}, minute " in drawn.says
        assert ", ".join(seat.id for seat in load.seats) in drawn.says


BEGINS = dt.datetime(2026, 11, 25, 8, 46, tzinfo=dt.UTC)


def test_phases_cover_the_session_and_name_what_is_open() -> None:
    parts = phases(PLAN)
    assert parts[0].begins == 0.0
    assert parts[-1].ends == pytest.approx(PLAN.session_minutes)
    assert all(a.ends == pytest.approx(b.begins) for a, b in itertools.pairwise(parts))
    opened = {part.said for part in parts if part.step is not None}
    sources = {step.source for step in PLAN.steps if step.source and step.minutes}
    assert sources <= opened
    assert [load.load for load in loads(PLAN)] == [load.number for load in PLAN.loads]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("begins", [None, BEGINS])
def test_letters_have_hours_loads_and_what_is_open(width: int, begins: dt.datetime | None) -> None:
    lines = picture(PLAN, Page(width, Shore.PSI), begins)
    assert all(len(line) <= width and line.isascii() for line in lines)
    opened = next(line for line in lines if line.startswith(" open"))
    row = next(line for line in lines if line.startswith(" load"))
    symbols = {curve.symbol for curve in curves(PLAN) if curve.bank} | {".", "C"}
    assert set(opened[7:]) <= symbols
    assert all(str(load.number) in row for load in PLAN.loads)
    assert any("08:46" in line for line in lines) is (begins is not None)


@pytest.mark.parametrize("begins", [None, BEGINS])
@pytest.mark.parametrize(
    "starts",
    [(500,), (500, 900, 1300), tuple(range(300, 2400, 70))],
    ids=["one", "three", "thirty"],
)
def test_the_drawing_reads_back_as_the_plan(
    starts: tuple[float, ...], begins: dt.datetime | None
) -> None:
    told = made(starts)
    found = readback.seen(drawn := drawing(told, begins))
    assert readback.overlapping(found) == []
    assert readback.outside(found) == []
    value = readback.heights(found)
    banks = [t for t in found.traces if t["weight"] == 2.2 and len(t["points"]) > 1]
    banks = [t for t in banks if t["points"][0][0] == 46.0 and t["points"][-1][0] > 500]
    ends = [(b.before.psi, b.after.psi) for b in told.banks if b.label in _opened(told)]
    read = [(value(t["points"][0][1]), value(t["points"][-1][1])) for t in banks[: len(ends)]]
    assert read == [pytest.approx(pair, abs=2) for pair in ends]
    assert len({t["dash"] for t in banks[: len(ends)]}) == len(ends), "told apart without tones"
    said = {word.said for word in found.words}
    named = [c for c in curves(told) if c.name in said or c.symbol in said]
    assert len(named) >= min(len(curves(told)), 8)
    assert ("08:46" in said) is (begins is not None)
    assert standing_alone([drawn]) == standing_alone([drawing(told, begins)])


def _opened(told: Plan) -> set[str]:
    return {curve.name for curve in curves(told) if curve.bank}


def test_nothing_to_fill_is_a_picture_that_says_so() -> None:
    assert drawing(made(starts=(2880,))).says == "Nothing is filled."


@pytest.mark.parametrize("name", ["<b>&\"'</b>", "B\x1b[2J", "\u202eevil", "W" * 200])
def test_hostile_labels_are_text(name: str) -> None:
    told = replace(PLAN, gas=name)
    steps = tuple(
        replace(
            s,
            source=name if s.source == "B1" else s.source,
            fed=tuple(replace(f, bank=name if f.bank == "B1" else f.bank) for f in s.fed),
        )
        for s in told.steps
    )
    banks = tuple(replace(b, label=name if b.label == "B1" else b.label) for b in told.banks)
    found = readback.seen(drawing(replace(told, steps=steps, banks=banks)))
    assert readback.overlapping(found) == []
    assert readback.outside(found) == []
    assert all(word.said.isprintable() for word in found.words)
