"""How deep a gas may be breathed for its oxygen."""

from __future__ import annotations

import math

from msgspec import Struct

from tankbook.gas.errors import GasError
from tankbook.units import STANDARD_ATMOSPHERE, AbsolutePressure

PA_PER_METRE = 10_000.0
"""A metre of sea water on a depth gauge: 10 kPa (EN 13319; from memory)."""

FEET_PER_ATMOSPHERE = 33.0
"""Feet of sea water to an atmosphere: depth = 33 (PO2/FO2 - 1), the NOAA Diving Manual's formula,
read in a secondary copy."""


class DepthLimit(Struct, frozen=True):
    """The deepest whole metre and whole foot of sea water, each rounded down on its own."""

    metres: int
    feet: int

    def __str__(self) -> str:
        return f"{self.metres} m / {self.feet} ft"


def depth_limit(oxygen_percent: float, oxygen_pressure: AbsolutePressure) -> DepthLimit:
    """Where the oxygen of a gas reaches a partial pressure, from the surface at 1 atm.

    It looks at oxygen alone: not at narcosis, not at the density of the gas.

    Args:
        oxygen_percent: analysed oxygen, above 0 to 100 %.
        oxygen_pressure: the highest oxygen partial pressure allowed.

    Raises:
        GasError: the gas has no oxygen, or more than all, or is past the limit at the surface.

    >>> str(depth_limit(32, AbsolutePressure.parse("1.4 bar abs")))
    '33 m / 109 ft'
    """
    if not 0 < oxygen_percent <= 100:
        raise GasError(f"{oxygen_percent:g} % oxygen is not a gas to breathe")
    ambient = oxygen_pressure.pa / (oxygen_percent / 100)
    over = ambient - STANDARD_ATMOSPHERE.pa
    if over < 0:
        raise GasError(f"{oxygen_percent:g} % oxygen is past {oxygen_pressure} at the surface")
    # the tiny addition keeps 40.0 m from becoming 39 by the last bit of a float
    metres = math.floor(over / PA_PER_METRE + 1e-9)
    feet = math.floor(FEET_PER_ATMOSPHERE * over / STANDARD_ATMOSPHERE.pa + 1e-9)
    return DepthLimit(metres, feet)
