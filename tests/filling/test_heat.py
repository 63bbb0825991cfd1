"""The heat of a fill: limits, laws and the reference equation's energy balance."""

from __future__ import annotations

import random
from math import inf
from typing import Any

import pytest
import reference as cp
from hypothesis import given, settings
from hypothesis import strategies as st

from tankbook.filling import CylinderChange, plan
from tankbook.filling.equation import Equation
from tankbook.filling.heat import (
    Charged,
    Films,
    GasSource,
    Opening,
    ThermalVessel,
    Wall,
    Warm,
    charge,
    rest,
    wall_of,
)
from tankbook.filling.setup import set_up
from tankbook.filling.state_table import StateTable
from tankbook.filling.warmth import worlds
from tankbook.gas import AIR, molar_density, nitrox, properties, trimix
from tankbook.records.words import Material
from tankbook.units import Mass, Percent, Temperature, Volume

KELVIN = 293.15
WITHIN = 0.005
NO_FILM, NO_RESISTANCE = Films(0.0, 0.0), Films(1e7, 0.0)


@pytest.fixture(name="air", scope="module")
def _air() -> Equation:
    return Equation(AIR, Temperature.of(KELVIN, "K"), "bar")


@pytest.fixture(name="sheet", scope="module")
def _sheet(air: Equation) -> StateTable:
    return air.sheet(14.0)


def filled(
    air: Equation,
    sheet: StateTable,
    bars: tuple[float, float, float],
    *,
    volume: float = 11.1,
    wall: Wall | None = None,
    films: Films = NO_FILM,
    bank: float | None = None,
    rate: float = 1.0,
) -> Charged:
    """Start, stop and source [bar abs], all at 20 degC to begin with."""
    start, stop, source = bars
    rho = air.density_at(source * 100)
    return charge(
        [ThermalVessel(sheet, volume, wall, films, KELVIN)],
        [Warm(air.density_at(max(start, 0.02) * 100), KELVIN, KELVIN)],
        GasSource(rho, KELVIN, bank),
        Opening(min(stop, source) * 100, rate * 2500),
    )


ADIABATIC = [
    # start, stop, source, K, settled; CoolProp 8 HEOS air, source of constant state (computed)
    (0, 200, 200, 394.0, 137.87), (0, 200, 300, 384.09, 141.93), (1, 200, 250, 387.7, 140.42),
    (1, 200, 300, 383.75, 142.07), (35, 200, 300, 370.56, 147.95), (50, 200, 330, 362.91, 151.64),
    (100, 200, 300, 339.64, 164.36), (150, 200, 200, 316.29, 180.11), (1, 207, 300, 384.73, 146.32),
    (35, 207, 300, 371.92, 152.19), (50, 232, 300, 370.53, 170.27), (100, 232, 300, 348.62, 183.44),
    (1, 300, 300, 396.33, 200.09), (50, 300, 330, 380.87, 209.86), (100, 300, 300, 363.53, 222.3),
    (150, 300, 330, 343.28, 239.35),
]  # fmt: skip


@pytest.mark.parametrize(("start", "stop", "source", "kelvin", "settled"), ADIABATIC)
def test_no_heat_to_the_wall(
    air: Equation,
    sheet: StateTable,
    start: float,
    stop: float,
    source: float,
    kelvin: float,
    settled: float,
) -> None:
    end = filled(air, sheet, (start, stop, source)).states[0]
    assert end.kelvin == pytest.approx(kelvin, rel=0.001)
    assert air.kpa(end.rho) / 100 == pytest.approx(settled, rel=0.001)


GAS_AND_WALL = [
    # volume, wall J/K, start, stop, source, adiabatic K and bar, at one temperature K and bar:
    # CoolProp 8 HEOS air (computed); masses and heats assumed (memory)
    (11.1, 14.2 * 900, 35, 207, 300, 371.92, 152.19, 304.98, 195.73),
    (11.1, 14.2 * 900, 1, 207, 300, 384.73, 146.32, 306.33, 194.54),
    (12.0, 14.5 * 470, 50, 232, 300, 370.53, 170.27, 314.81, 209.61),
    (6.8, 4.0 * 900, 35, 311, 414, 385.55, 213.88, 324.23, 267.87),
]


@pytest.mark.parametrize("row", GAS_AND_WALL, ids=["al", "al from 1 bar", "steel", "composite"])
def test_between_no_wall_and_a_wall_as_warm_as_the_gas(
    air: Equation, sheet: StateTable, row: tuple[float, ...]
) -> None:
    volume, capacity, start, stop, source, k_hot, bar_hot, k_even, bar_even = row
    wall = Wall(capacity, 0.3, 0.35)
    bars = (start, stop, source)

    def end(films: Films, rate: float = 1.0) -> Warm:
        return filled(air, sheet, bars, volume=volume, wall=wall, films=films, rate=rate).states[0]

    hot, even = end(NO_FILM), end(NO_RESISTANCE)
    assert hot.kelvin == pytest.approx(k_hot, rel=WITHIN)
    assert air.kpa(hot.rho) / 100 == pytest.approx(bar_hot, rel=WITHIN)
    assert even.kelvin == pytest.approx(k_even, rel=WITHIN)
    assert air.kpa(even.rho) / 100 == pytest.approx(bar_even, rel=WITHIN)
    for film in (20, 75, 150, 300, 1000):
        for rate in (0.3, 1.0, 3.0):
            between = end(Films(film, 0.0), rate)
            assert k_even < between.kelvin < k_hot
            assert bar_hot < air.kpa(between.rho) / 100 < bar_even


TWO_VESSELS = [
    # donor L, bar, receiver L, bar; equal bar, donor K, receiver K, settled bars.
    # CoolProp 8 HEOS air, both adiabatic, donor isentropic (computed)
    (100, 200, 10, 1, 176.08, 282.56, 383.62, 185.56, 126.02),
    (50, 300, 11.1, 35, 230.62, 272.59, 365.72, 258.12, 171.99),
    (12, 300, 24, 90, 143.36, 238.32, 315.41, 196.25, 130.44),
    (15, 230, 3, 100, 203.69, 283.18, 340.68, 214.33, 166.64),
]


@pytest.mark.parametrize("row", TWO_VESSELS)
def test_the_bank_cools_as_it_empties(
    air: Equation, sheet: StateTable, row: tuple[float, ...]
) -> None:
    bank, high, volume, low, equal, donor_k, receiver_k, donor_bar, receiver_bar = row
    end = filled(air, sheet, (low, 1e6, high), volume=volume, bank=bank)
    assert end.kpa / 100 == pytest.approx(equal, rel=0.002)
    assert end.source.kelvin == pytest.approx(donor_k, rel=0.002)
    assert end.states[0].kelvin == pytest.approx(receiver_k, rel=0.002)
    assert air.kpa(end.source.rho) / 100 == pytest.approx(donor_bar, rel=0.002)
    assert air.kpa(end.states[0].rho) / 100 == pytest.approx(receiver_bar, rel=0.002)


@pytest.mark.parametrize(("volume", "bank"), [(11.1, 50.0), (6.8, 300.0)])
def test_energy_by_the_reference_equation(
    air: Equation, sheet: StateTable, volume: float, bank: float
) -> None:
    """With CoolProp's energies (computed): what cylinder and wall gained, the bank lost."""
    wall = Wall(9000.0, 0.3, 0.35)
    end = filled(
        air, sheet, (40, 1e6, 280), volume=volume, wall=wall, films=Films(150, 0.0), bank=bank
    )
    start, source = air.density_at(4000), air.density_at(28000)

    def energy(litres: float, rho: float, kelvin: float) -> float:
        return litres * rho * float(cp.PropsSI("Umolar", "Dmolar", rho * 1000, "T", kelvin, "Air"))

    gained = energy(volume, end.states[0].rho, end.states[0].kelvin) - energy(volume, start, KELVIN)
    gained += wall.heat_capacity * (end.states[0].wall - KELVIN)
    lost = energy(bank, source, KELVIN) - energy(bank, end.source.rho, end.source.kelvin)
    moved = volume * (end.states[0].rho - start)
    assert abs(gained - lost) / moved < 15  # J/mol, of about 6000 that each mole carries


@settings(max_examples=25, deadline=None)
@given(
    start=st.floats(2, 120),
    rate=st.floats(0.05, 5),
    faster=st.floats(1.05, 4),
    film=st.floats(20, 400),
    outer=st.floats(0, 300),
)
def test_a_faster_fill_is_warmer(
    start: float, rate: float, faster: float, film: float, outer: float
) -> None:
    air = Equation(AIR, Temperature.of(KELVIN, "K"), "bar")
    sheet = SHEET
    wall, films = Wall(12000.0, 0.3, 0.35), Films(film, outer)
    bars = (start, 207.0, 300.0)
    slow = filled(air, sheet, bars, wall=wall, films=films, rate=rate).states[0]
    fast = filled(air, sheet, bars, wall=wall, films=films, rate=rate * faster).states[0]
    assert fast.kelvin >= slow.kelvin - 1e-6
    assert fast.rho <= slow.rho + 1e-9


SHEET = Equation(AIR, Temperature.of(KELVIN, "K"), "bar").sheet(14.0)


PACES = [
    # start [kPa] and pace [kPa/min] of each, the most that any is opened at, minutes to 15 000 kPa
    ([(1000, 2000)], inf, 7.0),
    ([(1000, 2000), (8000, 2000)], inf, 7.0),
    ([(1000, 2000), (8000, 500)], inf, 3.5 + 14.0),
    ([(1000, 500), (8000, 2000)], inf, 28.0),
    ([(1000, 2000), (1000, 500)], inf, 28.0),
    ([(1000, 2000), (6000, 1000), (11000, 250)], inf, 2.5 + 5.0 + 16.0),
    ([(11000, 250), (1000, 2000), (6000, 1000)], inf, 2.5 + 5.0 + 16.0),
    ([(1000, 2000), (16000, 100)], inf, 7.0),  # it is never opened
    ([(1000, 2000), (8000, 500)], 1000, 7.0 + 14.0),
]  # fmt: skip


@pytest.mark.parametrize(("cylinders", "most", "minutes"), PACES)
@pytest.mark.parametrize("finer", [1, 3])
def test_a_slow_cylinder_holds_the_gauge_back_only_once_it_is_open(
    air: Equation,
    sheet: StateTable,
    cylinders: list[tuple[float, float]],
    most: float,
    minutes: float,
    finer: int,
) -> None:
    """Without films nothing cools while it waits: each joins at what it showed at first."""
    vessels = [ThermalVessel(sheet, 11.1, None, NO_FILM, KELVIN, pace) for _, pace in cylinders]
    begin = [Warm(air.density_at(kpa), KELVIN, KELVIN) for kpa, _ in cylinders]
    source = GasSource(air.density_at(30000), KELVIN)
    done = charge(vessels, begin, source, Opening(15000, most), finer)
    assert done.minutes == pytest.approx(minutes, rel=0.002)


def test_where_a_bank_and_cylinders_come_level_does_not_hang_on_the_steps(
    air: Equation, sheet: StateTable
) -> None:
    """A bank cools as it gives and is warmed by its wall meanwhile: it is neither taken for as warm
    as it begins a step, nor for as warm as it ends it. A hand at the panel waits for that level."""
    chance = random.Random("level")
    for _ in range(150):
        litres, high = chance.uniform(40, 250), chance.uniform(60, 330)
        low, volume = high * chance.uniform(0.02, 0.8), chance.choice([2.7, 9.0, 11.1, 15.0])
        count, pace = chance.choice([1, 2, 4]), chance.uniform(1000, 4200)
        wall, of_bank = (wall_of(Volume.of(v, "L"), Material.STEEL) for v in (volume, litres))
        vessels = [ThermalVessel(sheet, volume, wall, Films(), KELVIN, pace)] * count
        begin = [Warm(air.density_at(low * 100), KELVIN, KELVIN)] * count
        bank = GasSource(air.density_at(high * 100), KELVIN, litres, of_bank, film=150.0)
        coarse, fine = (charge(vessels, begin, bank, Opening(40000.0), n) for n in (1, 16))
        assert coarse.kpa == pytest.approx(fine.kpa, rel=0.0015)
        assert coarse.source.kelvin == pytest.approx(fine.source.kelvin, abs=0.6)


@pytest.mark.parametrize("minutes", [0.1, 2.0, 30.0])
def test_a_bank_warms_again_as_fast_in_one_step_as_in_many(
    air: Equation, sheet: StateTable, minutes: float
) -> None:
    vessel = ThermalVessel(sheet, 11.1, None, NO_FILM, KELVIN)
    wall = wall_of(Volume.of(60, "L"), Material.STEEL)
    once = many = GasSource(air.density_at(20000), KELVIN - 30, 60.0, wall, film=150.0)
    once = once.left_alone(vessel, minutes)
    for _ in range(200):
        many = many.left_alone(vessel, minutes / 200)
    assert once.kelvin == pytest.approx(many.kelvin, abs=0.25)


def test_a_closed_cylinder_cools_to_the_room(sheet: StateTable) -> None:
    vessel = ThermalVessel(sheet, 11.1, Wall(12000.0, 0.3, 0.35), Films(150, 10), KELVIN)
    warm = Warm(8.0, 330.0, 300.0)
    hour, day = rest(vessel, warm, 60), rest(vessel, warm, 3000, steps=60)
    assert KELVIN < hour.kelvin < 300
    assert day.kelvin == pytest.approx(KELVIN, abs=0.05)
    assert day.rho == hour.rho == 8.0


@pytest.mark.parametrize("mixture", [AIR, nitrox(0.36), trimix(0.18, 0.45)])
def test_a_sheet_is_the_equation(mixture: object) -> None:
    equation = Equation(mixture, Temperature.of(20, "degC"))  # type: ignore[arg-type]
    sheet = equation.sheet(13.0)
    for rho in (0.05, 1.1, 4.7, 9.3, 12.9):
        line = sheet.at(rho)
        for kelvin in (235.0, 290.0, 331.0, 395.0):
            state = properties(mixture, kelvin, rho)  # type: ignore[arg-type]
            assert line.pressure(kelvin) == pytest.approx(state.pressure_kpa, rel=1e-5)
            assert line.energy(kelvin) == pytest.approx(state.u, abs=0.05)
            energy, capacity = line.energy_and_slope(kelvin)
            assert energy == line.energy(kelvin)
            assert capacity == pytest.approx(state.cv, rel=3e-4)


@pytest.mark.parametrize("mixture", [AIR, nitrox(0.36), trimix(0.18, 0.45)])
def test_a_line_of_one_pressure_is_the_equation(mixture: object) -> None:
    equation = Equation(mixture, Temperature.of(20, "degC"))  # type: ignore[arg-type]
    table = equation.sheet(13.0)
    for kpa in (101.3, 1_200.0, 9_700.0, 24_000.0, 31_000.0):
        line = table.under(kpa)
        for kelvin in (235.0, 290.0, 331.0, 395.0):
            rho = molar_density(mixture, kelvin, kpa)  # type: ignore[arg-type]
            state = properties(mixture, kelvin, rho)  # type: ignore[arg-type]
            found, thins, energy, warms = line.state(kelvin)
            assert found == pytest.approx(rho, rel=3e-5)
            assert energy == pytest.approx(state.u, abs=0.1)
            assert line.enthalpy(kelvin) == pytest.approx(state.u + kpa / rho, abs=0.2)
            ahead, _, more, _ = line.state(kelvin + 0.01)
            assert thins == pytest.approx((ahead - found) / 0.01, rel=1e-3)
            assert warms == pytest.approx((more - energy) / 0.01, rel=1e-3)


def warm_fill(make: Any, target: float = 3000, **more: Any) -> CylinderChange:
    """A cylinder of 11.1 L and 14.2 kg from 500 psi, from a bank that hardly falls, in one go."""
    habits = {"fill_rate": make.rate(400), "acceptable_loss": Percent.of(75, "%")} | more.pop(
        "policy", {}
    )
    one = make.vessel("A", 500, target, mass=Mass.of(14.2, "kg"))
    session = make.session(
        [make.bank("B1", 50_000, 5000)],
        [one],
        policy=make.policy(**habits),
        heat=True,
        **{"ambient": Temperature.of(70, "degF")} | more,
    )
    (change,) = (change for step in plan(session).steps for change in step.changes)
    return change


def test_a_hot_stop_is_never_above_the_mark_and_settles_lower(make: Any) -> None:
    found = warm_fill(make)
    assert found.hot is not None
    assert found.stop_at <= make.psi(3000)
    assert make.psi(2600) < found.hot.low < found.after < found.hot.high < make.psi(2900)
    assert 30 < found.hot.gas.celsius < 60


def test_a_colder_target_leaves_room_to_stop_warm(make: Any) -> None:
    slow = {"fill_rate": make.rate(150)}
    found = warm_fill(make, 2760, ambient=Temperature.of(41, "degF"), policy=slow)
    assert found.hot is not None
    assert found.hot.high.psi == pytest.approx(2760, abs=0.1), "the coolest gas is all it may hold"
    assert make.psi(2700) < found.after < found.hot.high
    assert make.psi(2760) < found.stop_at < make.psi(3000)


def test_water_keeps_a_cylinder_cooler(make: Any) -> None:
    assert warm_fill(make, policy={"wet": True}).after > warm_fill(make).after


def test_a_slower_fill_settles_higher(make: Any) -> None:
    settled = [warm_fill(make, policy={"fill_rate": make.rate(r)}).after for r in (400, 200, 50)]
    assert settled == sorted(settled)
    assert settled[0] < settled[-1] < make.psi(3000)


def test_what_heat_meets_alike_is_reckoned_once(make: Any) -> None:
    """Also in another session of the day; what differs in size or rate is not taken for it."""
    kinds = [("A", 11.1, 400), ("B", 11.1, 400), ("C", 8.9, 400), ("D", 11.1, 300)]
    vessels = [
        make.vessel(
            name, 500, volume=volume, material=Material.ALUMINIUM, fill_rate=make.rate(rate)
        )
        for name, volume, rate in kinds
    ]
    session = make.session([make.bank("B1", 50, 4000)], vessels, heat=True)
    world = worlds(set_up(session)).usual
    stop = Opening(20000.0)
    one, alike, smaller, slower = (world.charge(0, [n], stop) for n in range(4))
    assert alike is one
    assert smaller.states != one.states
    assert slower.minutes > one.minutes
    day: dict[tuple[object, ...], object] = {}
    turned = make.changed(session, vessels=(*vessels[2:], *vessels[:2]))
    this, other = (worlds(set_up(each, day)).usual for each in (session, turned))
    assert this.charge(0, [0, 2], stop) is other.charge(0, [2, 0], stop)
    assert this.charge(0, [0], stop) == one
