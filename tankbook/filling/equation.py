"""Readings to densities and back, remembered and counted.

The only door through which planning reaches the equation of state.
"""

from __future__ import annotations

from contextlib import suppress
from functools import lru_cache

from msgspec import Struct, field

from tankbook.filling.state_table import StateTable, make_table
from tankbook.gas import (
    BAR_REFERENCE,
    PSI_REFERENCE,
    Mixture,
    RangeError,
    density,
    molar_density,
    pressure_kpa,
    properties,
)
from tankbook.units import (
    STANDARD_ATMOSPHERE,
    FreeGasFlow,
    GaugePressure,
    Temperature,
    Volume,
)

HOTTEST = (473.0, 440.0, 410.0, 380.0, 350.0, 320.0)
"""Highest temperatures [K] of a sheet, the first that the pressure allows is taken."""

SHEETS_KEPT = 32
"""Sheets that are kept from one session to the next: those of a day are few (own choice)."""


def gauge_of(kpa: float, unit: str) -> GaugePressure:
    """The gauge reading, in a unit, of `kpa` absolute; zero for a vacuum."""
    above = GaugePressure.of(max(0.0, kpa - STANDARD_ATMOSPHERE.kpa), "kPa")
    return GaugePressure.of(above.to(unit), unit)


def pressure_text(pressure: GaugePressure, unit: str) -> str:
    """A pressure as it is told: whole psi, tenths of a bar."""
    return pressure.format(unit, 0 if unit == "psi" else 1)


def free_density(mixture: Mixture, unit: str) -> float:
    """The density [mol/L] of free gas, at the reference condition of a unit of pressure."""
    reference = PSI_REFERENCE if unit == "psi" else BAR_REFERENCE
    return density(mixture, reference.pressure, reference.temperature)


def made_a_minute(delivery: FreeGasFlow, mixture: Mixture, unit: str) -> float:
    """What a compressor delivers [mol/min], its delivery being free gas."""
    return delivery.litres_per_min * free_density(mixture, unit)


def free_gas(mol: float, mixture: Mixture, unit: str) -> Volume:
    """An amount [mol] as free gas, in cuft or L."""
    litres = Volume.of(mol / free_density(mixture, unit), "L")
    return Volume.of(litres.cuft, "cuft") if unit == "psi" else litres


class Equation(Struct):
    """The equation of state for one mixture, with the session's ambient temperature.

    `evaluations` counts the calls made to it: a density, a pressure or a state is one.
    """

    mixture: Mixture
    ambient: Temperature
    unit: str = "psi"
    evaluations: int = 0
    _densities: dict[float, float] = field(default_factory=dict)
    _pressures: dict[float, float] = field(default_factory=dict)
    _sheets: dict[float, StateTable] = field(default_factory=dict)

    def density(self, reading: GaugePressure) -> float:
        """The density [mol/L] at ambient of gas that shows `reading`. Raises `RangeError`."""
        return self.density_at(reading.absolute().kpa)

    def density_at(self, kpa: float) -> float:
        """The density [mol/L] at ambient and `kpa` absolute. Raises `RangeError`."""
        if kpa not in self._densities:
            self.evaluations += 1
            self._densities[kpa] = molar_density(self.mixture, self.ambient.kelvin, kpa)
        return self._densities[kpa]

    def kpa(self, rho: float) -> float:
        """The absolute pressure [kPa] at ambient of gas at `rho` [mol/L]. Raises `RangeError`."""
        if rho not in self._pressures:
            self.evaluations += 1
            self._pressures[rho] = pressure_kpa(self.mixture, self.ambient.kelvin, rho)
        return self._pressures[rho]

    def reading(self, rho: float) -> GaugePressure:
        """What a gauge shows at ambient for gas at `rho` [mol/L], zero for a vacuum."""
        return self.gauge(self.kpa(rho))

    def gauge(self, kpa: float) -> GaugePressure:
        """The gauge reading, in the session's unit, of `kpa` absolute; zero for a vacuum."""
        return gauge_of(kpa, self.unit)

    def shown(self, rho: float) -> str:
        """What a gauge shows at ambient for gas at `rho` [mol/L], as it is told."""
        return pressure_text(self.reading(rho), self.unit)

    def sheet(self, densest: float) -> StateTable:
        """The gas's energies and pressures up to a density of `densest` [mol/L]."""
        for known in sorted(self._sheets):
            if densest <= known:
                return self._sheets[known]
        self._sheets[densest], calls = _sheet_of(self.mixture, densest)
        self.evaluations += calls
        return self._sheets[densest]


@lru_cache(maxsize=SHEETS_KEPT)
def _sheet_of(mixture: Mixture, densest: float) -> tuple[StateTable, int]:
    """The sheet of a mixture up to a density [mol/L], and how often the equation is called for it:
    counted in each session, though those of a day are made once."""
    calls = 0

    def state(rho: float, kelvin: float) -> tuple[float, float]:
        nonlocal calls
        calls += 1
        found = properties(mixture, kelvin, rho)
        return found.z, found.u

    def state_under(kpa: float, kelvin: float) -> tuple[float, float]:
        return state(molar_density(mixture, kelvin, kpa), kelvin)

    for kelvin in HOTTEST:
        calls += 1
        with suppress(RangeError):
            highest = pressure_kpa(mixture, kelvin, densest)
            break
    else:
        raise RangeError(
            f"gas of {densest:.1f} mol/L is denser than the gas model reaches",
            "give readings below 600 bar",
        )
    table = make_table(state, state_under, densest, highest, kelvin)
    return table, calls
