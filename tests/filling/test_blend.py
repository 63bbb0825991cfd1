"""Blends: against the reference equation, published limits, and by making them again."""

from __future__ import annotations

from typing import Any

import pytest
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st

from tankbook.filling import (
    Blend,
    BlendAct,
    BlendOrder,
    BlendSupply,
    PlanError,
    TopOff,
    TopOffKind,
    Vessel,
    blend,
)
from tankbook.filling.blend_amounts import HELIUM, OXYGEN, Fed, Real, filled_to
from tankbook.gas import AIR, Gas, molar_density
from tankbook.gas.depth import SURFACE, depth_limit
from tankbook.units import (
    AbsolutePressure,
    GaugePressure,
    Percent,
    PressureRate,
    Temperature,
    Volume,
)

ATMOSPHERE = 1.01325


def bar(value: float) -> GaugePressure:
    return GaugePressure.of(value, "bar")


def absolute(value: float) -> GaugePressure:
    return bar(max(0.0, round(value - ATMOSPHERE, 9)))


def gas(percent: float) -> Gas:
    return Gas.parse("air") if percent == 20.96 else Gas.of(percent)


def air_on_top(**more: Any) -> TopOff:
    chosen: dict[str, Any] = {
        "supply": BlendSupply(label="B1", pressure=bar(330)),
        "gas": Gas.parse("air"),
        "oxygen_grade": True,
    }
    return TopOff(**(chosen | more))


def ordered(*, contents: Gas | None, final: GaugePressure, **fields: Any) -> BlendOrder:
    """An order for a cylinder that holds `contents` and is to stand at `final`."""
    mine = {name: fields.pop(name) for name in ("id", "water_volume", "start", "marked")}
    return BlendOrder(vessel=Vessel(gas=contents, target=final, **mine), **fields)


def order(**more: Any) -> BlendOrder:
    """Nitrox 32 to 200 bar in 12 L from empty, at 20 degC, unless more is said."""
    chosen: dict[str, Any] = {
        "id": "N1",
        "water_volume": Volume.of(12, "L"),
        "start": bar(0),
        "contents": Gas.parse("air"),
        "target": Gas.parse("nitrox32"),
        "final": bar(200),
        "marked": bar(232),
        "o2_clean": True,
        "top_off": air_on_top(),
        "ambient": Temperature.of(20, "degC"),
        "fill_rate": PressureRate.of(30, "bar/min"),
        "oxygen": BlendSupply(label="O1", pressure=bar(200)),
        "helium": BlendSupply(label="H1", pressure=bar(200)),
        "unit": "bar",
    }
    return ordered(**(chosen | more))


TABLE = [
    # target, final, start fraction, start; oxygen stop ideal, real; fraction if the ideal stop
    # is used. bar abs at 20 degC, air 20.96 %: CoolProp 8 N2 + O2 + Ar (computed).
    (32, 200, 20.96, 1.01325, 28.95, 28.02, 0.3238), (32, 200, 21, 50, 77.91, 76.19, 0.3272),
    (32, 200, 32, 50, 70.95, 69.46, 0.3263), (32, 207, 20.96, 1.01325, 29.93, 28.84, 0.3243),
    (32, 232, 21, 50, 82.38, 79.77, 0.3296), (32, 300, 20.96, 1.01325, 42.92, 38.55, 0.3329),
    (32, 300, 32, 50, 84.92, 79.8, 0.3354), (36, 200, 20.96, 1.01325, 39.07, 37.74, 0.3655),
    (36, 207, 21, 50, 89.36, 86.85, 0.3702), (36, 232, 32, 50, 87.16, 83.9, 0.3719),
    (36, 300, 20.96, 1.01325, 58.1, 52.04, 0.378), (40, 200, 21, 50, 98.15, 95.35, 0.4116),
    (40, 232, 20.96, 1.01325, 56.9, 53.72, 0.4115), (40, 300, 21, 50, 122.24, 113.41, 0.4259),
    (50, 200, 20.96, 1.01325, 74.5, 71.72, 0.5114), (50, 207, 32, 50, 119.07, 115.02, 0.516),
    (50, 232, 21, 50, 135.21, 129.39, 0.5206), (50, 300, 20.96, 1.01325, 111.24, 99.42, 0.5345),
    (50, 300, 21, 50, 160.2, 147.99, 0.5342), (50, 300, 32, 50, 153.24, 141.02, 0.5345),
]  # fmt: skip


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_stops_against_the_reference_equation(row: tuple[float, ...]) -> None:
    target, final, start, held, ideal, real, off = row
    made = blend(
        order(
            contents=gas(start),
            start=absolute(held),
            target=Gas.of(target),
            final=absolute(final),
            marked=bar(300),
        )
    )
    oxygen, top = made.steps
    assert (oxygen.act, top.act) == (BlendAct.OXYGEN, BlendAct.TOP_OFF)
    assert oxygen.stop.bar + ATMOSPHERE == pytest.approx(real, rel=0.002)
    assert oxygen.ideal is not None
    assert oxygen.ideal.bar + ATMOSPHERE == pytest.approx(ideal, abs=0.006)
    assert top.stop.bar == pytest.approx(final - ATMOSPHERE, rel=1e-9)
    assert made.mixture.oxygen == pytest.approx(target / 100, abs=1e-6)
    assert made.ideal_oxygen_percent == pytest.approx(100 * off, abs=0.07)


@pytest.mark.parametrize(("percent", "psi"), [(32, 417.7), (36, 569.6)])
def test_ideal_oxygen_to_add(percent: float, psi: float) -> None:
    """From empty at 3000 psig with air of 21 %: p (f - 0.21) / 0.79, Dalton's law (derived; the
    formula from memory). Air of 20.96 % and the atmosphere in an empty cylinder make 3 to 4 psi."""
    ideal = 3000 * (percent / 100 - 0.21) / 0.79
    assert ideal == pytest.approx(psi, abs=0.05)
    made = blend(
        order(
            target=Gas.of(percent), final=GaugePressure.of(3000, "psi"), unit="psi", marked=bar(232)
        )
    )
    assert made.steps[0].ideal is not None
    assert made.steps[0].ideal.psi == pytest.approx(psi + 3.6, abs=0.6)


@pytest.mark.parametrize("percent", [21, 28, 32, 36, 40])
@pytest.mark.parametrize("limit", [0.1, 1.2, 1.4, 1.6])
@pytest.mark.parametrize("unit", ["bar", "ata"])
def test_a_blend_and_its_tag_say_one_depth(percent: int, limit: float, unit: str) -> None:
    asked = AbsolutePressure.of(limit, unit)
    told = blend(order(target=Gas.of(percent), oxygen_limit=asked)).depth_limit
    if limit < 0.2:  # past the limit at the surface, which no tag is printed of
        assert told == SURFACE
        return
    assert told == depth_limit(percent, asked)


def made_again(asked: BlendOrder, made: Blend) -> tuple[float, float]:
    """Oxygen and helium fractions that come of following the steps from the cylinder as it is."""
    law = Real(asked.ambient.kelvin)
    assert asked.vessel.gas is not None
    contents = asked.vessel.gas.mixture
    fed = Fed(law.density(contents, asked.vessel.start.absolute().kpa), contents)
    feeds = {BlendAct.OXYGEN: OXYGEN, BlendAct.HELIUM: HELIUM}
    for step in made.steps:
        kpa = step.stop.absolute().kpa
        if step.act is BlendAct.DRAIN:
            fed = Fed(law.density(contents, kpa), contents)
        else:
            fed = filled_to(law, fed, feeds.get(step.act, step.feed), kpa)
    return fed.mixture.oxygen, fed.mixture.helium


@settings(max_examples=60, deadline=None)
@given(
    oxygen=st.floats(18, 60),
    helium=st.sampled_from([0.0, 20.0, 40.0]),
    start=st.floats(0, 180),
    held=st.sampled_from(["air", "nitrox32", "nitrox50", "trimix18/45"]),
    final=st.floats(60, 230),
    celsius=st.floats(0, 35),
)
def test_the_steps_make_the_gas(
    oxygen: float, helium: float, start: float, held: str, final: float, celsius: float
) -> None:
    asked = order(
        contents=Gas.parse(held),
        start=bar(start),
        target=Gas.of(oxygen, helium),
        final=bar(final),
        ambient=Temperature.of(celsius, "degC"),
        top_off=air_on_top(gas=Gas.parse("air")),
        oxygen=BlendSupply(label="O1", pressure=bar(300)),
        helium=BlendSupply(label="H1", pressure=bar(300)),
    )
    try:
        made = blend(asked)
    except PlanError:
        return
    found = made_again(asked, made)
    assert found[0] == pytest.approx(asked.target.mixture.oxygen, abs=0.0051)
    assert found[1] == pytest.approx(asked.target.mixture.helium, abs=0.0051)
    assert (made.mixture.oxygen, made.mixture.helium) == pytest.approx(found, abs=1e-6)
    stops = [step.stop.bar for step in made.steps if step.act is not BlendAct.DRAIN]
    assert stops == sorted(stops)
    if stops:
        assert stops[-1] <= final + 1e-6
    assert made.oxygen_span.low <= 100 * found[0] <= made.oxygen_span.high
    assert made.validated == (made.mixture.helium <= 1e-9)


def test_helium_after_oxygen_and_labelled_unvalidated() -> None:
    made = blend(order(target=Gas.parse("trimix18/45")))
    assert [s.act for s in made.steps] == [BlendAct.OXYGEN, BlendAct.HELIUM, BlendAct.TOP_OFF]
    assert not made.validated
    assert any("unvalidated" in caution for caution in made.cautions)


def test_oxygen_is_let_in_slowly() -> None:
    made = blend(order(oxygen_rate=PressureRate.of(4, "bar/min")))
    assert made.steps[0].minutes == pytest.approx(made.steps[0].stop.bar / 4)
    assert any("no faster than 4 bar/min" in caution for caution in made.cautions)


def test_rich_contents_are_drained_first() -> None:
    made = blend(order(contents=Gas.parse("nitrox50"), start=bar(150)))
    drain, top = made.steps
    assert (drain.act, top.act) == (BlendAct.DRAIN, BlendAct.TOP_OFF)
    assert bar(50) < drain.stop < bar(150)
    assert made.mixture.oxygen == pytest.approx(0.32, abs=1e-6)


def test_the_band_for_a_gauge_that_is_off() -> None:
    made = blend(order())
    assert 31.4 < made.oxygen_span.low < 31.9
    assert 32.1 < made.oxygen_span.high < 32.6
    exact = blend(order(gauge_error=Percent.of(0, "%")))
    assert exact.oxygen_span.low == pytest.approx(exact.oxygen_span.high, abs=1e-6)


def test_from_a_banked_mix() -> None:
    top = air_on_top(gas=Gas.parse("nitrox32"), kind=TopOffKind.BANKED)
    made = blend(order(top_off=top, oxygen=None, helium=None))
    (only,) = made.steps
    assert only.act is BlendAct.TOP_OFF
    assert made.mixture.oxygen == pytest.approx(0.32, abs=0.001)
    drained = blend(order(top_off=top, oxygen=None, helium=None, start=bar(60)))
    assert [s.act for s in drained.steps] == [BlendAct.DRAIN, BlendAct.TOP_OFF]
    assert drained.steps[0].stop.bar == pytest.approx(0, abs=1e-6)


def test_by_continuous_blending() -> None:
    top = air_on_top(kind=TopOffKind.CONTINUOUS)
    made = blend(order(top_off=top, oxygen=None, start=bar(50)))
    (only,) = made.steps
    assert only.feed is not None
    assert 0.34 < only.feed.oxygen < 0.37
    assert made.mixture.oxygen == pytest.approx(0.32, abs=1e-6)
    weak = blend(order(top_off=top, oxygen=None, start=bar(150), target=Gas.parse("nitrox36")))
    drain, fill = weak.steps
    assert drain.act is BlendAct.DRAIN
    assert fill.feed is not None
    assert fill.feed.oxygen == pytest.approx(0.40)


def test_ordinary_air_ends_the_clean_state() -> None:
    ordinary = air_on_top(oxygen_grade=False)
    made = blend(order(target=Gas.parse("air"), top_off=ordinary, start=bar(50)))
    assert not made.clean_required
    assert not made.clean_after
    assert any("ends the O2-clean state" in caution for caution in made.cautions)
    kept = blend(order(target=Gas.parse("air"), start=bar(50)))
    assert kept.clean_after


def test_a_finite_supply_is_counted() -> None:
    large = BlendSupply(label="O1", pressure=bar(60), water_volume=Volume.of(50, "L"))
    assert blend(order(oxygen=large)).steps
    small = BlendSupply(label="O1", pressure=bar(60), water_volume=Volume.of(8, "L"))
    with pytest.raises(PlanError, match="O1 cannot give the oxygen"):
        blend(order(oxygen=small))


LEAN_TOP = TopOff(
    supply=BlendSupply(label="N1", pressure=bar(330)), gas=Gas.parse("nitrox36"), oxygen_grade=True
)
REFUSED = [
    ({"o2_clean": False}, "N1 is not O2-clean"),
    ({"top_off": air_on_top(oxygen_grade=False)}, "the top-off gas of B1 is not of oxygen grade"),
    ({"contents": None}, "what N1 holds is unknown"),
    ({"final": bar(250)}, "the final pressure 250 bar is above the marked pressure 232 bar"),
    ({"oxygen": None}, "nitrox32 takes oxygen and there is no supply of it"),
    ({"helium": None, "target": Gas.parse("trimix18/45")},
     "trimix18/45 takes helium and there is no supply of it"),
    ({"oxygen": BlendSupply(label="O1", pressure=bar(20))},
     "O1 cannot give the oxygen: it would be at 20.0 bar where the cylinder needs 27.1 bar"),
    ({"top_off": air_on_top(supply=BlendSupply(label="B1", pressure=bar(190)))},
     "B1 cannot give the top-off gas: it would be at 190.0 bar where the cylinder needs 200.0 bar"),
    ({"top_off": LEAN_TOP}, "nitrox32 is leaner than the top-off gas nitrox36 makes it, even from "
     "empty"),
    ({"top_off": air_on_top(gas=Gas.parse("oxygen"))}, "oxygen is no gas to top off with"),
    ({"top_off": air_on_top(kind=TopOffKind.CONTINUOUS), "target": Gas.parse("nitrox50")},
     "the continuous blender, 21.0 to 40 % oxygen, cannot make nitrox50 of what N1 holds"),
    ({"water_volume": Volume.of(0, "L")}, "cylinder N1 has no water volume"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "said"), REFUSED, ids=[said for _, said in REFUSED])
def test_refused(more: dict[str, Any], said: str) -> None:
    with pytest.raises(PlanError) as caught:
        blend(order(**more))
    assert caught.value.args[0] == said
    assert caught.value.mend


def test_filling_to_a_pressure_by_the_equation() -> None:
    law = Real(293.15)
    fed = Fed(law.density(AIR, 5000), AIR)
    after = filled_to(law, fed, OXYGEN, 9000)
    assert law.pressure(after.mixture, after.amount) == pytest.approx(9000, rel=1e-8)
    assert molar_density(after.mixture, 293.15, 9000) == pytest.approx(after.amount, rel=1e-8)
    assert filled_to(law, fed, OXYGEN, 4000) == fed


def test_the_same_order_gets_the_same_answer() -> None:
    assert blend(order()) == blend(replace(order()))
