"""Breathing gases: mixtures and their words, the equation of state, what a cylinder holds.

Everything here is a `GasError` when it cannot be answered, and a `RangeError` when the state lies
outside 223 to 473 K or above 700 bar.
"""

from tankbook.gas.capacity import (
    BAR_REFERENCE,
    PSI_REFERENCE,
    Capacity,
    GasLaw,
    Reference,
    capacity,
    pressure_for,
    water_volume_from_rated,
)
from tankbook.gas.eos import Properties, molar_density, pressure_kpa, properties
from tankbook.gas.errors import GasError, RangeError
from tankbook.gas.mixture import AIR, Mixture, nitrox, trimix
from tankbook.gas.states import at_temperature, density, mixture_of, settled_pressure
from tankbook.gas.words import AIR_GAS, Gas, analysed_said

__all__ = [
    "AIR",
    "AIR_GAS",
    "BAR_REFERENCE",
    "PSI_REFERENCE",
    "Capacity",
    "Gas",
    "GasError",
    "GasLaw",
    "Mixture",
    "Properties",
    "RangeError",
    "Reference",
    "analysed_said",
    "at_temperature",
    "capacity",
    "density",
    "mixture_of",
    "molar_density",
    "nitrox",
    "pressure_for",
    "pressure_kpa",
    "properties",
    "settled_pressure",
    "trimix",
    "water_volume_from_rated",
]
