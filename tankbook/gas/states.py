"""Densities and settled pressures of a gas, in quantities with units."""

from __future__ import annotations

from functools import lru_cache

from tankbook.gas import eos
from tankbook.gas.mixture import Mixture
from tankbook.gas.words import Gas
from tankbook.units import STANDARD_ATMOSPHERE, AbsolutePressure, GaugePressure, Temperature


def mixture_of(gas: Gas | Mixture) -> Mixture:
    """The mixture, whichever of the two is given."""
    return gas.mixture if isinstance(gas, Gas) else gas


def density(gas: Gas | Mixture, pressure: AbsolutePressure, temperature: Temperature) -> float:
    """The density [mol/L] of `gas`. Raises `RangeError` outside 223 to 473 K or over 700 bar."""
    return _density(mixture_of(gas), temperature.kelvin, pressure.kpa)


@lru_cache(maxsize=4096)
def _density(mixture: Mixture, kelvin: float, kpa: float) -> float:
    """A density, remembered: gauges and thermometers are read to the same few figures."""
    return eos.molar_density(mixture, kelvin, kpa)


def settled_pressure(gas: Gas | Mixture, rho: float, temperature: Temperature) -> AbsolutePressure:
    """The pressure, in bar, of `gas` at a density of `rho` [mol/L]. Raises `RangeError`."""
    kpa = eos.pressure_kpa(mixture_of(gas), temperature.kelvin, rho)
    return AbsolutePressure.of(kpa / 100, "bar")


def at_temperature(
    gas: Gas | Mixture, pressure: GaugePressure, from_: Temperature, to: Temperature
) -> GaugePressure:
    """What the gauge of a closed cylinder showing `pressure` at `from_` shows at `to`.

    With `pressure` the marked pressure and `from_` its reference temperature, this is today's
    cold target at `to`. The answer is in the unit of `pressure`, and never below zero, as a gauge
    shows no vacuum. The cylinder is taken as rigid: its own slight growth with heat and pressure
    is left out. Raises `RangeError`.
    """
    if from_ == to:
        return pressure
    rho = density(gas, pressure.absolute(), from_)
    settled = settled_pressure(gas, rho, to)
    if settled < STANDARD_ATMOSPHERE:
        return GaugePressure.of(0, pressure.unit)
    return GaugePressure.of(settled.gauge().to(pressure.unit), pressure.unit)
