"""Equalizing cylinders with each other."""

from __future__ import annotations

from typing import Any

import CoolProp.CoolProp as cp
import pytest

from tankbook.filling import Equalized, PlanError, equalize
from tankbook.gas import Gas, molar_density
from tankbook.units import Temperature

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
