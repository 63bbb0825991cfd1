"""Equalizing cylinders with each other."""

from __future__ import annotations

from typing import Any

import pytest
import reference as cp

from tankbook.filling import Equalized, PlanError, equalize
from tankbook.gas import Gas, molar_density, nitrox
from tankbook.units import AbsolutePressure, GaugePressure, Temperature

ROOM = Temperature.of(20, "degC")
NITROX, OXYGEN, TRIMIX = (Gas.parse(w) for w in ("nitrox32", "oxygen", "trimix18/45"))


def settled(*vessels: Any, mix: bool = False, ambient: Temperature = ROOM) -> Equalized:
    return equalize(vessels, ambient, "psi", non_return_valves=False, mix=mix)


def test_part_full_against_empty(make: Any) -> None:
    """2500 and 0 psi settle near 1200 psi (common practice, no source); ideal gas says 1250."""
    found = settled(make.vessel("A", 2500, own=True), make.vessel("B", 0, own=True))
    assert found.pressure.psi == pytest.approx(1200, abs=50)
    assert found.ideal.psi == pytest.approx(1250)
    assert [one.after for one in found.cylinders] == [found.pressure] * 2
    assert not found.mixed


def test_three_of_unlike_volume_by_the_reference_equation(make: Any) -> None:
    """CoolProp air at 20 degC (computed)."""
    vessels = [
        make.vessel(name, start, volume=volume, own=True)
        for name, start, volume in (("A", 2800, 11.1), ("B", 600, 8.9), ("C", 0, 5.8))
    ]

    def rho(psi: float) -> float:
        return float(cp.PropsSI("Dmolar", "P", psi * 6894.757 + 101325, "T", 293.15, "Air"))

    mean = (11.1 * rho(2800) + 8.9 * rho(600) + 5.8 * rho(0)) / 25.8
    expected = float(cp.PropsSI("P", "Dmolar", mean, "T", 293.15, "Air")) - 101325
    assert settled(*vessels).pressure.pa == pytest.approx(expected, rel=0.002)


def test_two_gases_mixed_when_asked(make: Any) -> None:
    rich = make.vessel("A", 2000, gas=NITROX, own=True)
    air = make.vessel("B", 500, own=True)
    found = settled(rich, air, mix=True)
    assert found.mixed
    fuller, emptier = found.cylinders
    assert fuller.mixture == NITROX.mixture
    assert 0.2096 < emptier.mixture.oxygen < 0.32
    assert any("analyse each" in caution for caution in found.cautions)
    # The gas that is there before is there afterwards.
    pairs = ((rich, fuller), (air, emptier))
    after = [
        11.1 * molar_density(one.mixture, 293.15, one.after.absolute().kpa) for _, one in pairs
    ]
    before = [11.1 * molar_density(v.gas.mixture, 293.15, v.start.absolute().kpa) for v, _ in pairs]
    assert sum(after) == pytest.approx(sum(before), rel=1e-9)
    oxygen = [amount * one.mixture.oxygen for amount, (_, one) in zip(after, pairs, strict=True)]
    had = [amount * v.gas.mixture.oxygen for amount, (v, _) in zip(before, pairs, strict=True)]
    assert sum(oxygen) == pytest.approx(sum(had), rel=1e-9)


def test_helium_is_told(make: Any) -> None:
    pair = [make.vessel(n, s, gas=TRIMIX, own=True) for n, s in (("A", 2000), ("B", 100))]
    assert any("unvalidated" in caution for caution in settled(*pair).cautions)


CASES = [
    ("one", [("A", 500, {})], "equalizing takes two or more cylinders"),
    ("twice", [("A", 500, {}), ("A", 5, {})], "equalizing takes two or more cylinders"),
    ("a customer's", [("A", 500, {"own": False}), ("B", 5, {})], "A is not of the own fleet"),
    ("no reading", [("A", None, {}), ("B", 5, {})], "the reading of A is missing"),
    ("unknown", [("A", 500, {"gas": None}), ("B", 5, {})], "what A holds is unknown"),
    ("unlike gases", [("A", 500, {"gas": NITROX}), ("B", 5, {})],
     "the cylinders hold different gases, nitrox32 and air"),
    ("unlike marks", [("A", 500, {"marked": 3442}), ("B", 5, {})],
     "the cylinders are of unlike working pressures"),
    ("unlike service", [("A", 500, {"clean_state": "oxygen"}), ("B", 5, {})],
     "the cylinders are not cleaned for the same service"),
    ("over the target", [("A", 2900, {}), ("B", 5, {"target": 1200})],
     "B would settle at 1397 psi, above its target 1200 psi"),
]  # fmt: skip


@pytest.mark.parametrize(("cylinders", "said"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_refused(make: Any, cylinders: list[tuple[str, float, dict[str, Any]]], said: str) -> None:
    vessels = [make.vessel(n, s, **({"own": True} | more)) for n, s, more in cylinders]
    with pytest.raises(PlanError) as caught:
        settled(*vessels)
    assert caught.value.args[0] == said
    assert caught.value.mend


@pytest.mark.parametrize(
    ("valves", "said"),
    [
        (True, "the panel has non-return valves: nothing flows from a cylinder"),
        (
            None,
            "the panel is not known to be without non-return valves: nothing flows from a cylinder",
        ),
    ],
)
def test_not_through_non_return_valves(make: Any, valves: bool | None, said: str) -> None:
    pair = [make.vessel(n, s, own=True) for n, s in (("A", 2000), ("B", 100))]
    with pytest.raises(PlanError) as caught:
        equalize(pair, ROOM, "psi", non_return_valves=valves)
    assert caught.value.args[0] == said


def test_three_gases_are_not_mixed(make: Any) -> None:
    three = [
        make.vessel(n, s, gas=g, own=True)
        for n, s, g in (("A", 2000, NITROX), ("B", 100, OXYGEN), ("C", 9, OXYGEN))
    ]
    with pytest.raises(PlanError, match="different gases, nitrox32 and oxygen"):
        settled(*three, mix=True)


# Decanting: litres and bar abs of the fuller and the emptier; what is printed; by P = (P1 V1 + P2
# V2) / (V1 + V2); by the reference equation (CoolProp 8.0.0 air at 20 degC; mark: computed). The
# printed figures of the first three are read (an encyclopaedia's page on cascade filling, about
# 180, and a divers' forum, 150 and 208; grade C).
DECANTED = [
    ((100, 200), (10, 1.01325), 180, 181.91, 179.89),
    ((10, 200), (10, 100), 150, 150.0, 148.11),
    ((15, 230), (3, 100), 208, 208.33, 206.05),
    ((12, 300), (24, 90), None, 160.0, 151.59),
]


@pytest.mark.parametrize(("fuller", "emptier", "printed", "ideal", "real"), DECANTED)
@pytest.mark.parametrize("turned", [False, True])
def test_decanting_as_it_is_printed(
    make: Any,
    fuller: tuple[float, float],
    emptier: tuple[float, float],
    printed: float | None,
    ideal: float,
    real: float,
    turned: bool,
) -> None:
    pair = [
        make.changed(
            make.vessel(name, 0, 6000, marked=6000, volume=volume, own=True),
            start=AbsolutePressure.of(bar, "bar").gauge(),
        )
        for name, (volume, bar) in (("A", fuller), ("B", emptier))
    ]
    found = equalize(pair[::-1] if turned else pair, ROOM, "bar", non_return_valves=False)
    assert found.pressure.unit == found.ideal.unit == "bar"
    assert found.ideal.absolute().bar == pytest.approx(ideal, abs=0.006)
    assert found.pressure.absolute().bar == pytest.approx(real, rel=0.0006)
    assert printed is None or found.ideal.absolute().bar == pytest.approx(printed, rel=0.011)


def moles(vessel: Any, gas: Any, pressure: GaugePressure) -> float:
    """Amount of gas [mol] at room temperature."""
    return float(vessel.water_volume.litres * molar_density(gas, 293.15, pressure.absolute().kpa))


@pytest.mark.parametrize(("rich", "lean"), [(2000, 500), (500, 2000), (500, 499.9), (499.9, 500)])
@pytest.mark.parametrize("turned", [False, True])
def test_what_two_gases_weigh_stays_whichever_is_fuller(
    make: Any, rich: float, lean: float, turned: bool
) -> None:
    """Nothing is lost, and only the emptier gets another gas (conservation of amounts)."""
    pair = [
        make.vessel("A", rich, gas=NITROX, volume=8.9, own=True),
        make.vessel("B", lean, own=True),
    ]
    vessels = {v.id: v for v in pair}
    found = settled(*(pair[::-1] if turned else pair), mix=True)
    ends = {one.id: one for one in found.cylinders}
    fuller, emptier = ("A", "B") if rich > lean else ("B", "A")
    assert ends[fuller].mixture == vessels[fuller].gas.mixture
    assert ends[emptier].mixture != vessels[emptier].gas.mixture
    before = [moles(v, v.gas.mixture, v.start) for v in vessels.values()]
    after = [moles(v, ends[v.id].mixture, ends[v.id].after) for v in vessels.values()]
    assert sum(after) == pytest.approx(sum(before), rel=1e-9)
    oxygen = [n * vessels[i].gas.mixture.oxygen for n, i in zip(before, vessels, strict=True)]
    ended = [n * ends[i].mixture.oxygen for n, i in zip(after, vessels, strict=True)]
    assert sum(ended) == pytest.approx(sum(oxygen), rel=1e-9)


def test_different_gases_are_mixed_only_when_asked(make: Any) -> None:
    pair = [make.vessel("A", 2000, gas=NITROX, own=True), make.vessel("B", 500, own=True)]
    with pytest.raises(PlanError, match="different gases, nitrox32 and air"):
        equalize(pair, ROOM, "psi", non_return_valves=False)


def test_helium_in_one_of_them_is_told(make: Any) -> None:
    pair = [make.vessel("A", 100, gas=TRIMIX, own=True), make.vessel("B", 2000, own=True)]
    assert any("unvalidated" in caution for caution in settled(*pair, mix=True).cautions)
    alike = [make.vessel(n, s, own=True) for n, s in (("A", 100), ("B", 2000))]
    assert not any("unvalidated" in caution for caution in settled(*alike).cautions)


def test_nothing_flows_between_empty_cylinders(make: Any) -> None:
    """Two that show nothing show nothing afterwards, at any temperature of a shop."""
    pair = [make.vessel("A", 0, own=True), make.vessel("B", 0, volume=8.9, own=True)]
    for celsius in range(-10, 45):
        found = settled(*pair, ambient=Temperature.of(celsius, "degC"))
        assert found.pressure.pa == pytest.approx(0, abs=1e-6)


def test_a_target_is_for_the_one_that_rises(make: Any) -> None:
    """2500 into 0 psi settles near 1200: the fuller falls through its own target of 1000."""
    falls = make.vessel("A", 2500, 1000, own=True)
    rises = make.vessel("B", 0, own=True)
    found = settled(falls, rises)
    assert found.pressure > falls.target
    just = make.changed(rises, target=found.pressure)
    assert settled(falls, just).pressure == found.pressure
    short = make.changed(rises, target=GaugePressure.of(found.pressure.psi - 0.01, "psi"))
    with pytest.raises(PlanError, match="B would settle at"):
        settled(falls, short)


def test_one_gas_is_one_gas_from_the_first_to_the_last(make: Any) -> None:
    """Each is 0.008 % of oxygen richer than the one before it: the third is not the first, since
    fractions must agree to 0.01 %."""
    three = [
        make.vessel(name, start, gas=Gas("nitrox32", nitrox(0.32 + more)), own=True)
        for name, start, more in (("A", 2000, 0), ("B", 500, 0.00008), ("C", 100, 0.00016))
    ]
    assert not settled(*three[:2]).mixed
    assert not settled(*three[1:]).mixed
    with pytest.raises(PlanError, match="different gases"):
        settled(*three)
