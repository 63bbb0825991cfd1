"""How much gas a cylinder holds, real and ideal, and the way back.

Free gas is the volume the gas would fill at a stated reference condition. It counts all the gas in
the cylinder, also what stays in it at the pressure of the air outside.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from tankbook.gas.coefficients import R
from tankbook.gas.errors import GasError
from tankbook.gas.mixture import AIR, Mixture
from tankbook.gas.states import density, mixture_of, settled_pressure
from tankbook.gas.words import Gas
from tankbook.units import STANDARD_ATMOSPHERE, AbsolutePressure, GaugePressure, Temperature, Volume


class Reference(Struct, frozen=True):
    """The condition at which free gas is counted, and the unit it is given in."""

    pressure: AbsolutePressure
    temperature: Temperature
    volume_unit: str

    def __str__(self) -> str:
        standard = self.pressure == STANDARD_ATMOSPHERE
        return f"{'1 atm' if standard else self.pressure}, {self.temperature}"


PSI_REFERENCE = Reference(STANDARD_ATMOSPHERE, Temperature.of(70, "degF"), "cuft")
"""1 atm and 70 degF, for a ledger that reads psi."""

BAR_REFERENCE = Reference(STANDARD_ATMOSPHERE, Temperature.of(20, "degC"), "L")
"""1 atm and 20 degC, for a ledger that reads bar."""


class GasLaw(StrEnum):
    """Which gas law a rated capacity was worked out with."""

    REAL = "real"
    IDEAL = "ideal"


class Capacity(Struct, frozen=True):
    """What a cylinder holds at `pressure` and `temperature`.

    `free_gas` is by the equation of state and `ideal_free_gas` by the ideal-gas law, both at
    `reference`; `z` is the compressibility factor, `mass_kg` the mass of the gas. `validated` is
    False for a gas with helium: such answers may be out by about 1 % at 300 bar.
    """

    pressure: GaugePressure
    temperature: Temperature
    density_mol_per_l: float
    z: float
    mass_kg: float
    free_gas: Volume
    ideal_free_gas: Volume
    reference: Reference
    validated: bool


def capacity(
    gas: Gas | Mixture,
    water_volume: Volume,
    pressure: GaugePressure,
    temperature: Temperature,
    reference: Reference,
) -> Capacity:
    """What a cylinder of `water_volume` holds of `gas`. Raises `RangeError`.

    Free gas is V rho(p, T) / rho(p_ref, T_ref); ideal, V (p / p_ref) (T_ref / T), with p the
    gauge pressure and one standard atmosphere.
    """
    mixture, absolute = mixture_of(gas), pressure.absolute()
    rho = density(mixture, absolute, temperature)
    litres, unit = water_volume.litres, reference.volume_unit
    free = litres * rho / density(mixture, reference.pressure, reference.temperature)
    ideal = litres * _ideal_ratio(pressure, temperature, reference)
    return Capacity(
        pressure=pressure,
        temperature=temperature,
        density_mol_per_l=rho,
        z=absolute.kpa / (rho * R * temperature.kelvin),
        mass_kg=litres * rho * mixture.molar_mass / 1000,
        free_gas=_volume(free, unit),
        ideal_free_gas=_volume(ideal, unit),
        reference=reference,
        validated=mixture.validated,
    )


def pressure_for(
    gas: Gas | Mixture,
    water_volume: Volume,
    free_gas: Volume,
    temperature: Temperature,
    reference: Reference,
) -> GaugePressure:
    """The pressure at which a cylinder holds `free_gas`: the inverse of `capacity`.

    The answer is in psi where free gas is counted in cubic feet, else in bar. Raises `RangeError`,
    and `GasError` for less gas than the cylinder holds at the pressure of the air outside.
    """
    mixture = mixture_of(gas)
    if water_volume.si == 0:
        raise GasError("a cylinder without volume holds nothing", "give its water volume")
    at_reference = density(mixture, reference.pressure, reference.temperature)
    rho = free_gas.si / water_volume.si * at_reference
    absolute = settled_pressure(mixture, rho, temperature)
    if absolute < STANDARD_ATMOSPHERE:
        raise GasError(
            f"{free_gas} of free gas in {water_volume} is below the pressure of the air outside",
            "a cylinder open to the air already holds about its own volume",
        )
    unit = "psi" if reference.volume_unit == "cuft" else "bar"
    return GaugePressure.of(absolute.gauge().to(unit), unit)


def water_volume_from_rated(
    free_gas: Volume,
    pressure: GaugePressure,
    temperature: Temperature,
    basis: GasLaw,
    reference: Reference,
) -> Volume:
    """The water volume, in litres, of a cylinder rated to hold `free_gas` of air at `pressure`.

    Rated capacities in the trade are mostly ideal; the basis must be known. Raises `RangeError`.
    """
    if basis is GasLaw.IDEAL:
        ratio = _ideal_ratio(pressure, temperature, reference)
    else:
        rho = density(AIR, pressure.absolute(), temperature)
        ratio = rho / density(AIR, reference.pressure, reference.temperature)
    return Volume.of(free_gas.litres / ratio, "L")


def _ideal_ratio(pressure: GaugePressure, temperature: Temperature, reference: Reference) -> float:
    pressures = pressure.absolute().pa / reference.pressure.pa
    return pressures * reference.temperature.kelvin / temperature.kelvin


def _volume(litres: float, unit: str) -> Volume:
    return Volume.of(Volume.of(litres, "L").to(unit), unit)
