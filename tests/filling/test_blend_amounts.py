"""How much of each gas a blend takes, worked by hand with Dalton's law.

In an ideal gas the partial pressures of a cylinder add up, so that every amount can be written as a
pressure: all figures here are bar abs at one temperature. Air is 20.96 % oxygen and 79.04 % of what
is neither oxygen nor helium (Lemmon and others 2000, memory). Each case is worked beside it, from
the three balances: oxygen in is oxygen there, helium in is helium there, and so is the rest.
"""

from __future__ import annotations

from typing import Any

import pytest

from tankbook.filling import BlendOrder, BlendSupply, PlanError, TopOff, TopOffKind, Vessel, blend
from tankbook.filling.blend_amounts import (
    HELIUM,
    OXYGEN,
    Amounts,
    Fed,
    Ideal,
    Law,
    Real,
    added,
    amounts_of,
)
from tankbook.filling.equation import gauge_of
from tankbook.gas import Gas, Mixture
from tankbook.gas.coefficients import R
from tankbook.units import AbsolutePressure, GaugePressure, PressureRate, Temperature, Volume

KELVIN = 293.15
ATMOSPHERE = 1.01325


def absolute(bar: float) -> GaugePressure:
    return AbsolutePressure.of(max(bar, ATMOSPHERE), "bar").gauge()


def ordered(*, contents: Gas | None, final: GaugePressure, **fields: Any) -> BlendOrder:
    """An order for a cylinder that holds `contents` and is to stand at `final`."""
    mine = {name: fields.pop(name) for name in ("id", "water_volume", "start", "marked")}
    return BlendOrder(vessel=Vessel(gas=contents, target=final, **mine), **fields)


def order(
    held: str, start: float, target: str, final: float, top: str = "air", **more: Any
) -> BlendOrder:
    """From `start` bar abs of a gas to `final` bar abs of another, with oxygen and helium at hand."""
    chosen: dict[str, Any] = {
        "id": "N1",
        "water_volume": Volume.of(12, "L"),
        "start": absolute(start),
        "contents": Gas.parse(held),
        "target": Gas.parse(target),
        "final": absolute(final),
        "marked": absolute(400),
        "o2_clean": True,
        "top_off": TopOff(
            supply=BlendSupply(label="B1", pressure=absolute(400)),
            gas=Gas.parse(top),
            kind=more.pop("kind", TopOffKind.AIR),
            oxygen_grade=True,
        ),
        "ambient": Temperature.of(20, "degC"),
        "fill_rate": PressureRate.of(30, "bar/min"),
        "oxygen": BlendSupply(label="O1", pressure=absolute(400)),
        "helium": BlendSupply(label="H1", pressure=absolute(400)),
        "unit": "bar",
    }
    return ordered(**(chosen | more))


def bars(asked: BlendOrder) -> tuple[float, float, float, float]:
    """What is kept, and what of oxygen, helium and the top-off gas goes in [bar], ideal."""
    found = amounts_of(asked, Ideal(KELVIN))
    each = (found.kept, found.oxygen, found.helium, found.top)
    return tuple(n * R * KELVIN / 100 for n in each)  # type: ignore[return-value]


def made(asked: BlendOrder, found: Amounts) -> Mixture:
    """The mixture that comes of the amounts."""
    assert asked.vessel.gas is not None
    fed = Fed(found.kept, asked.vessel.gas.mixture)
    fed = added(added(fed, found.oxygen, OXYGEN), found.helium, HELIUM)
    return added(fed, found.top, found.top_mixture).mixture


BY_HAND = [
    # rest: 200 x 0.68 = 136, 50 of air hold 39.52: 96.48 / 0.7904 = 122.065 of air; oxygen:
    # 64 - 0.2096 (50 + 122.065) = 27.935
    (("air", 50, "nitrox32", 200), (50, 27.935, 0, 122.065)),
    # rest: 136 - 40 x 0.5 = 116 / 0.7904 = 146.761; oxygen: 64 - 20 - 0.2096 x 146.761 = 13.239
    (("nitrox50", 40, "nitrox32", 200), (40, 13.239, 0, 146.761)),
    # helium: 200 x 0.45 = 90; rest: 200 x 0.37 - 39.52 = 34.48 / 0.7904 = 43.623; oxygen:
    # 36 - 0.2096 (50 + 43.623) = 16.377
    (("air", 50, "trimix18/45", 200), (50, 16.377, 90, 43.623)),
    # 140 more of the same: helium 63, rest 51.8 / 0.7904 = 65.536, oxygen 25.2 - 13.736 = 11.464
    (("trimix18/45", 60, "trimix18/45", 200), (60, 11.464, 63, 65.536)),
    # no oxygen and k of the 150 kept: 0.5 k + 0.2096 (200 - k) = 64, so k = 22.08 / 0.2904
    (("nitrox50", 150, "nitrox32", 200), (76.033, 0, 0, 123.967)),
    # no oxygen and k kept, with (124 - 0.37 k) / 0.7904 of air: 0.18 k + 32.8826 - 0.0981174 k = 36,
    # so k = 3.1174 / 0.0818826; helium 40 - 0.45 k = 22.868
    (("trimix18/45", 150, "trimix18/20", 200), (38.072, 0, 22.868, 139.061)),
    # no helium and k kept: 0.45 k = 20; rest: 200 x 0.65 - 0.37 k = 113.556 / 0.7904 = 143.668;
    # oxygen: 50 - 8 - 0.2096 x 143.668 = 11.887
    (("trimix18/45", 150, "trimix25/10", 200), (44.444, 11.887, 0, 143.668)),
    # it holds what is wanted: bled to the final pressure and no more
    (("nitrox32", 150, "nitrox32", 100), (100, 0, 0, 0)),
    # it holds what is wanted at the pressure that is wanted
    (("air", 100, "air", 100), (100, 0, 0, 0)),
]


@pytest.mark.parametrize(("asked", "parts"), BY_HAND, ids=str)
def test_partial_pressures_by_hand(asked: Any, parts: tuple[float, ...]) -> None:
    wanted = order(*asked)
    assert bars(wanted) == pytest.approx(parts, abs=0.0006)
    found = made(wanted, amounts_of(wanted, Ideal(KELVIN)))
    assert found.fractions == pytest.approx(wanted.target.mixture.fractions, abs=1e-9)


WITHOUT = [
    # nitrox36 on top and no oxygen: 0.2096 k + 0.36 (200 - k) = 64, so k = 8 / 0.1504
    (("air", 80, "nitrox32", 200, "nitrox36"), {"oxygen": None}, (53.191, 0, 0, 146.809)),
    # the same with neither
    (("air", 80, "nitrox32", 200, "nitrox36"), {"oxygen": None, "helium": None},
     (53.191, 0, 0, 146.809)),
    # no helium: as above, where none was taken
    (("trimix18/45", 150, "trimix25/10", 200), {"helium": None}, (44.444, 11.887, 0, 143.668)),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "more", "parts"), WITHOUT, ids=str)
def test_with_no_oxygen_or_no_helium_at_hand(
    asked: Any, more: dict[str, Any], parts: tuple[float, ...]
) -> None:
    wanted = order(*asked, **more)
    assert bars(wanted) == pytest.approx(parts, abs=0.0006)
    found = made(wanted, amounts_of(wanted, Ideal(KELVIN)))
    assert found.fractions == pytest.approx(wanted.target.mixture.fractions, abs=1e-9)


CONTINUOUS = [
    # kept, helium, blended nitrox, and its oxygen.
    # (64 - 0.2096 x 50) / 150 = 0.35680
    (("air", 50, "nitrox32", 200), (50, 0, 150, 0.35680)),
    # not over 40 %: 0.2096 k + 0.40 (200 - k) = 72, so k = 8 / 0.1904
    (("air", 150, "nitrox36", 200), (42.017, 0, 157.983, 0.40)),
    # not under air: 0.5 k + 0.2096 (200 - k) = 64, so k = 22.08 / 0.2904
    (("nitrox50", 150, "nitrox32", 200), (76.033, 0, 123.967, 0.2096)),
    # helium 90, then 200 - 50 - 90 = 60 with 36 - 0.2096 x 50 = 25.52 of oxygen is over 40 %; from
    # 20 it is 90 with 31.808: 0.35342
    (("air", 20, "trimix18/45", 200), (20, 90, 90, 0.35342)),
    # and from 50 k is kept: 36 - 0.2096 k = 0.4 (110 - k), so k = 8 / 0.1904
    (("air", 50, "trimix18/45", 200), (42.017, 90, 67.983, 0.40)),
    # not under air, with helium there: 50 - 0.5 k = 0.2096 (180 - 0.8 k), so k = 12.272 / 0.33232;
    # helium 20 - 0.2 k
    (("trimix50/20", 150, "trimix25/10", 200), (36.928, 12.614, 150.457, 0.2096)),
    # not over 40 %, with helium there: 70 - 0.3 k = 0.4 (180 - 0.8 k), so k = 2 / 0.02, and 0.2 k is
    # all the helium that is wanted
    (("trimix30/20", 150, "trimix35/10", 200), (100, 0, 100, 0.40)),
    # helium as it is there: 0.45 k = 20, nothing added: (50 - 0.18 k) / (200 - k) = 0.27000
    (("trimix18/45", 150, "trimix25/10", 200), (44.444, 0, 155.556, 0.27000)),
]


@pytest.mark.parametrize(("asked", "parts"), CONTINUOUS, ids=str)
def test_continuous_blending_by_hand(asked: Any, parts: tuple[float, ...]) -> None:
    wanted = order(*asked, kind=TopOffKind.CONTINUOUS, oxygen=None)
    kept, oxygen, helium, top = bars(wanted)
    found = amounts_of(wanted, Ideal(KELVIN))
    assert oxygen == 0
    assert (kept, helium, top) == pytest.approx(parts[:3], abs=0.0006)
    assert found.top_mixture.oxygen == pytest.approx(parts[3], abs=5e-6)
    mixed = made(wanted, found).fractions
    assert mixed == pytest.approx(wanted.target.mixture.fractions, abs=1e-9)


def test_continuous_blending_without_helium() -> None:
    """The helium that is there must be the helium that is wanted, or nothing is made."""
    kind = {"kind": TopOffKind.CONTINUOUS, "oxygen": None, "helium": None}
    kept, _, helium, top = bars(order("trimix18/45", 150, "trimix25/10", 200, **kind))
    assert (kept, helium, top) == pytest.approx((44.444, 0, 155.556), abs=0.0006)
    with pytest.raises(PlanError, match="cannot make trimix25/10"):
        amounts_of(order("air", 50, "trimix25/10", 200, **kind), Ideal(KELVIN))
    nothing = amounts_of(order("air", 100, "air", 100, **kind), Ideal(KELVIN))
    assert nothing.top == pytest.approx(0, abs=1e-9)
    assert nothing.top_mixture.fractions == pytest.approx(Gas.parse("air").mixture.fractions)


# A drained cylinder still holds an atmosphere of what was in it. What that puts out of the mix is
# let be up to 0.5 % of the final amount (a choice of ours, said where the figure stands), and
# beyond it there is no way. Each pair lies on either side of that line, worked as pressures [atm].
JUST = [
    # air at 1, then nitrox32 as it comes: 0.7904 / 0.68 - 1 = 0.16235 too little of what is not
    # oxygen is let in, so 0.32 x 1.16235 - 0.2096 = 0.16235 of oxygen lacks: 0.005 of 32.47
    (("air", 1, "nitrox32"), {"top": "nitrox32", "oxygen": None}, 32.47),
    # nitrox50 at 1, then nitrox32: 0.5 - 0.32 x 0.5 / 0.68 = 0.26471 of oxygen too much: of 52.94
    (("nitrox50", 1, "nitrox32"), {"top": "nitrox32"}, 52.94),
    # 0.45 of helium that is not wanted: of 90
    (("trimix18/45", 1, "nitrox32"), {}, 90.0),
    # pure oxygen wanted on 1 of air: 1 of air that would have to come out again: of 200
    (("air", 1, "oxygen"), {}, 200.0),
    # a blender of 40 % on 1 of air: 0.4 - 0.2096 = 0.1904 of oxygen lacks: of 38.08
    (("air", 1, "nitrox40"), {"kind": TopOffKind.CONTINUOUS, "oxygen": None}, 38.08),
    # air on 1 of oxygen: 1 - 0.2096 = 0.7904 too much: of 158.08
    (("oxygen", 1, "air"), {"kind": TopOffKind.CONTINUOUS, "oxygen": None}, 158.08),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "more", "line"), JUST, ids=str)
def test_what_an_atmosphere_may_put_out_of_the_mix(
    asked: tuple[str, float, str], more: dict[str, Any], line: float
) -> None:
    held, _, target = asked
    far = order(held, 0, target, (line + 0.02) * ATMOSPHERE, **more)
    kept, oxygen, helium, top = bars(far)
    assert kept == pytest.approx(ATMOSPHERE, abs=1e-9)
    assert min(oxygen, helium, top) >= 0
    assert sum((kept, oxygen, helium, top)) == pytest.approx((line + 0.02) * ATMOSPHERE)
    found = amounts_of(far, Ideal(KELVIN))
    assert far.target.mixture.oxygen == pytest.approx(made(far, found).oxygen, abs=0.0051)
    if "kind" in more:  # the blender makes no nitrox beyond what it can
        assert 0.2096 - 1e-12 <= found.top_mixture.oxygen <= 0.40 + 1e-12
    near = order(held, 0, target, (line - 0.02) * ATMOSPHERE, **more)
    with pytest.raises(PlanError):
        amounts_of(near, Ideal(KELVIN))


def test_of_two_gases_let_in_on_an_atmosphere_neither_is_favoured() -> None:
    """Heliox21 to 250 bar on an atmosphere of air: there is room for 250 - 1.01325 = 248.98675,
    and 0.21 and 0.79 of it go in, with no air on top."""
    kept, oxygen, helium, top = bars(order("air", 0, "heliox21", 250))
    assert (kept, top) == (pytest.approx(ATMOSPHERE), pytest.approx(0, abs=1e-9))
    assert (oxygen, helium) == pytest.approx((0.21 * 248.98675, 0.79 * 248.98675))


def test_exactly_nothing_is_let_in_where_there_is_too_much() -> None:
    for asked in (
        order("nitrox50", 0, "nitrox32", 100, "nitrox32"),
        order("oxygen", 0, "air", 210),
    ):
        found = amounts_of(asked, Ideal(KELVIN))
        assert (found.oxygen, found.helium) == (0, 0)
        assert found.top == pytest.approx(bars(asked)[3] * 100 / (R * KELVIN))
    for kind in (TopOffKind.AIR, TopOffKind.CONTINUOUS):
        found = amounts_of(order("trimix18/45", 0, "nitrox32", 100, kind=kind), Ideal(KELVIN))
        assert found.helium == 0


def test_no_nitrox_is_taken_out_again() -> None:
    """Heliox5 to 19.5 atmospheres on one of oxygen: 0.95 x 19.5 = 18.525 of helium and the one that
    is there leave no room, 0.025 less than none, which is within the half percent."""
    wanted = order("oxygen", 0, "heliox5", 19.5 * ATMOSPHERE, kind=TopOffKind.CONTINUOUS)
    kept, oxygen, helium, top = bars(wanted)
    assert (oxygen, top) == (0, 0)
    assert kept == pytest.approx(ATMOSPHERE)
    assert helium == pytest.approx(18.525 * ATMOSPHERE, rel=0.002)


@pytest.mark.parametrize("law", [Ideal(KELVIN), Real(KELVIN)], ids=["ideal", "real"])
def test_no_amount_is_below_none_whatever_the_pressure(law: Law) -> None:
    """Bled to any final pressure, and from an atmosphere to any: roundings make nothing negative."""
    for final in range(30, 331, 7):
        bled = amounts_of(order("nitrox32", 350, "nitrox32", final, "nitrox32"), law)
        assert bled[1:4] == pytest.approx((0, 0, 0), abs=1e-9)
        for held in ("nitrox32", "trimix18/45"):
            kind = {"kind": TopOffKind.CONTINUOUS}
            down = amounts_of(order(held, 350, held, final, **kind), law)
            assert down[1:4] == pytest.approx((0, 0, 0), abs=1e-9)
            assert min(down[:4]) >= 0
        for target in ("nitrox32", "trimix18/45", "heliox21", "oxygen"):
            try:
                found = amounts_of(order("air", 0, target, final), law)
            except PlanError:
                continue
            assert min(found[:4]) >= 0


@pytest.mark.parametrize(
    ("asked", "more"),
    [
        (("heliox21", 0, "nitrox32", 250), {}),
        (("air", 0, "heliox21", 300), {}),
        (("air", 0, "nitrox40", 300), {"kind": TopOffKind.CONTINUOUS, "oxygen": None}),
        (("air", 50, "trimix18/45", 250), {}),
    ],
    ids=str,
)
def test_the_final_pressure_is_that_of_the_gas_that_comes_out(
    asked: Any, more: dict[str, Any]
) -> None:
    """Also where the atmosphere left in it makes that another gas than the one ordered."""
    wanted, law = order(*asked, **more), Real(KELVIN)
    found = amounts_of(wanted, law)
    total = found.kept + found.oxygen + found.helium + found.top
    assert law.pressure(made(wanted, found), total) == pytest.approx(100 * asked[3], rel=1e-7)


def test_a_drained_cylinder_reads_nothing_at_any_temperature() -> None:
    for celsius in range(-10, 45):
        wanted = order("air", 60, "nitrox32", 200, "nitrox32", oxygen=None, helium=None)
        cold = Temperature.of(celsius, "degC")
        drain = blend(BlendOrder(**{**_fields(wanted), "ambient": cold})).steps[0]
        assert drain.stop.pa == pytest.approx(0, abs=1e-6)


def _fields(asked: BlendOrder) -> dict[str, Any]:
    return {name: getattr(asked, name) for name in BlendOrder.__struct_fields__}


@pytest.mark.parametrize(
    ("kpa", "unit", "shows"),
    [
        (50, "bar", 0),
        (101.325, "bar", 0),
        (201.325, "bar", 1),
        (201.325, "psi", 14.5038),
        (50, "psi", 0),
    ],
)
def test_a_gauge_shows_what_is_above_the_air_outside(kpa: float, unit: str, shows: float) -> None:
    """100 kPa more than an atmosphere is 1 bar, 14.5038 psi."""
    gauge = gauge_of(kpa, unit)
    assert gauge.unit == unit
    assert gauge.value == pytest.approx(shows, rel=1e-5)


POOR = BlendSupply(label="O1", pressure=GaugePressure.of(290.4, "psi"))
REFUSED = [
    # helium on top, where none is wanted
    (("air", 50, "nitrox32", 200, "trimix10/50"), {},
     "nitrox32 cannot be made with trimix10/50 on top, even from empty"),
    (("air", 50, "nitrox32", 200, "trimix10/50"), {"helium": None},
     "nitrox32 cannot be made with trimix10/50 on top, even from empty"),
    # an atmosphere of oxygen is too much on which to make 200 bar of air (see above)
    (("oxygen", 50, "air", 200), {}, "air cannot be made with air on top, even from empty"),
    (("air", 50, "trimix10/45", 200, "nitrox36"), {},
     "trimix10/45 is leaner than the top-off gas nitrox36 makes it, even from empty"),
    (("air", 50, "nitrox32", 200, "nitrox36"), {"oxygen": None},
     "nitrox32 is leaner than the top-off gas nitrox36 makes it, even from empty"),
    (("air", 50, "trimix18/45", 200), {"helium": None},
     "trimix18/45 takes helium and there is no supply of it"),
    (("air", 50, "trimix30/30", 200), {"oxygen": None, "helium": None},
     "trimix30/30 takes oxygen and there is no supply of it"),
    # the reference equation stops the oxygen at 76.2 bar abs (test_blend.py), which is 1091 psi
    (("air", 50, "nitrox32", 200), {"oxygen": POOR, "unit": "psi"},
     "O1 cannot give the oxygen: it would be at 290 psi where the cylinder needs 1091 psi"),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "more", "said"), REFUSED, ids=[said for *_, said in REFUSED])
def test_what_cannot_be_made_says_why(asked: Any, more: dict[str, Any], said: str) -> None:
    with pytest.raises(PlanError) as caught:
        blend(order(*asked, **more))
    assert caught.value.args[0] == said
    assert caught.value.mend
