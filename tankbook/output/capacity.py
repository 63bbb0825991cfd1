"""What a cylinder holds, real gas with ideal gas beside it."""

from __future__ import annotations

from typing import Any

from tankbook.gas import Capacity, Gas
from tankbook.output.as_json import pressures
from tankbook.output.page import Page
from tankbook.output.words import CAUTION, HELIUM
from tankbook.rules.answers import WaterVolume
from tankbook.units import GaugePressure, Mass


def data(answer: Capacity, gas: Gas, volume: WaterVolume) -> dict[str, Any]:
    """The JSON shape of `capacity`. The pressure is gauge."""
    return {
        **pressures(pressure=answer.pressure),
        "temperature_c": answer.temperature.celsius,
        "gas": gas.word,
        "density_mol_per_L": answer.density_mol_per_l,
        "z": answer.z,
        "mass_kg": answer.mass_kg,
        "free_gas_L": answer.free_gas.litres,
        "free_gas_cuft": answer.free_gas.cuft,
        "ideal_free_gas_L": answer.ideal_free_gas.litres,
        "ideal_free_gas_cuft": answer.ideal_free_gas.cuft,
        "reference": str(answer.reference),
        "water_volume_L": volume.volume.litres,
        "water_volume_basis": volume.basis,
        "validated": answer.validated,
    }


def text(
    answer: Capacity,
    gas: Gas,
    volume: WaterVolume,
    page: Page,
    *,
    sought: bool = False,
    marked: GaugePressure | None = None,
) -> str:
    """The amount first, or the pressure where that was sought; then how it was worked out.

    A pressure above the `marked` one of the cylinder is warned of.
    """
    free, pressure = page.free_gas(answer.free_gas), answer.pressure
    state = f"{gas} at {answer.temperature}"
    if sought:
        head = f"{page.pressure(pressure)} of {state} is {free} in {volume.volume}"
    else:
        head = f"{free} of {state} and {page.marked(pressure)} in {volume.volume}"
    facts = (
        ("water volume", f"{volume.volume}, {volume.basis}"),
        ("free gas", f"{_both(answer.free_gas.cuft, answer.free_gas.litres)} (real gas)"),
        ("ideal gas", f"{_both(answer.ideal_free_gas.cuft, answer.ideal_free_gas.litres)}"),
        ("counted at", str(answer.reference)),
        ("pressure", f"{pressure.format('psi', 0)}, {pressure.format('bar', 1)} (gauge)"),
        ("density", f"{answer.density_mol_per_l:.4f} mol/L, Z = {answer.z:.4f}"),
        ("mass of gas", f"{answer.mass_kg:.3f} kg, {Mass.of(answer.mass_kg, 'kg').lb:.2f} lb"),
    )
    warned = []
    if marked is not None and pressure > marked:
        warned.append(f"WARNING: above the marked pressure of {page.marked(marked)}")
    helium = "" if answer.validated else page.wrap(HELIUM)
    return page.answer(head, page.facts(facts, 14), helium, page.wrap(CAUTION), under=warned)


def _both(cuft: float, litres: float) -> str:
    return f"{cuft:.1f} cuft, {litres:.0f} L"
