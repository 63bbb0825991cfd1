"""How deep a gas may be breathed, from where on, and what it is like there.

A metre of sea water on a depth gauge is 10 kPa (EN 13319; from memory), so that an oxygen pressure
in bar leads to metres. 33 feet of sea water are an atmosphere: depth = 33 (PO2/FO2 - 1) with the
oxygen pressure in ata, the NOAA Diving Manual's formula, read in a secondary copy; the US Navy's
foot, 1/33.08 atmosphere (from memory), is not used. The surface is at 1 atmosphere.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from msgspec import Struct

from tankbook.gas.errors import GasError
from tankbook.gas.mixture import Mixture
from tankbook.units import STANDARD_ATMOSPHERE, AbsolutePressure

PA_PER_METRE = 10_000.0
FEET_PER_ATMOSPHERE = 33.0

USUAL_LIMIT = {"psi": AbsolutePressure.of(1.4, "ata"), "bar": AbsolutePressure.of(1.4, "bar")}
"""The highest oxygen pressure where the settings name none, by the shore of the ledger: US tables
are in ata, others in bar (common practice, no source)."""

USUAL_LEAST = AbsolutePressure.of(0.18, "bar")
"""The least oxygen pressure where the settings name none (common practice; from memory)."""

DENSITY_ADVISED, DENSITY_MOST = 5.2, 6.2
"""Gas density [g/L] that is advised, and that should not be passed: G. Anthony and S. Mitchell,
Respiratory physiology of rebreather diving, 2016 (figures from memory; that the risk of carbon
dioxide rises sharply above about 6 g/L was read in the author's post)."""

_AIR_NITROGEN = 0.79
"""All of air but its oxygen, as equivalent air depths take it (NOAA form; from memory)."""

_GAS_CONSTANT = 8.314462618
"""J/(mol K), exact (CODATA 2018)."""

_COLD = 273.15
"""The temperature [K] densities are for: at 0 degC air at 31 and 39 m comes to the 5.2 and 6.2 g/L
that the advice gives for these depths (from memory; computed)."""

_HAIR = 1e-9  # keeps 40.0 m from becoming 39 by the last bit of a float


class Depth(Struct, frozen=True):
    """Whole metres and whole feet of sea water, each rounded on its own."""

    metres: int
    feet: int

    def __str__(self) -> str:
        """`33 m / 111 ft`."""
        return f"{self.metres} m / {self.feet} ft"

    @property
    def is_surface(self) -> bool:
        """Whether it is no depth at all."""
        return self.metres <= 0 and self.feet <= 0


SURFACE = Depth(0, 0)


def depth_limit(oxygen_percent: float, oxygen_pressure: AbsolutePressure) -> Depth:
    """Where the oxygen of a gas reaches a partial pressure, rounded down.

    It looks at oxygen alone: not at narcosis, not at the density of the gas.

    Args:
        oxygen_percent: analysed oxygen, above 0 to 100 %.
        oxygen_pressure: the highest oxygen partial pressure allowed.

    Raises:
        GasError: the gas has no oxygen, or more than all, or is past the limit at the surface.

    >>> str(depth_limit(32, AbsolutePressure.parse("1.4 bar abs")))
    '33 m / 109 ft'
    >>> str(depth_limit(32, AbsolutePressure.parse("1.4 ata")))
    '34 m / 111 ft'
    """
    ambient = _ambient(oxygen_percent, oxygen_pressure)
    if ambient < STANDARD_ATMOSPHERE.pa:
        raise GasError(f"{oxygen_percent:g} % oxygen is past {oxygen_pressure} at the surface")
    return _at(ambient, lambda depth: math.floor(depth + _HAIR))


def least_depth(oxygen_percent: float, oxygen_pressure: AbsolutePressure = USUAL_LEAST) -> Depth:
    """From where on a gas holds oxygen enough, rounded up; the surface where it does there.

    Args:
        oxygen_percent: analysed oxygen, above 0 to 100 %.
        oxygen_pressure: the least oxygen partial pressure to breathe.

    Raises:
        GasError: the gas has no oxygen, or more than all.

    >>> str(least_depth(10, AbsolutePressure.parse("0.2 ata")))  # 33 (0.2/0.1 - 1)
    '11 m / 33 ft'
    """
    ambient = _ambient(oxygen_percent, oxygen_pressure)
    return _at(max(ambient, STANDARD_ATMOSPHERE.pa), lambda depth: math.ceil(depth - _HAIR))


def _ambient(oxygen_percent: float, oxygen_pressure: AbsolutePressure) -> float:
    """The pressure [Pa] at which the oxygen of a gas has a partial pressure."""
    if not 0 < oxygen_percent <= 100:
        raise GasError(f"{oxygen_percent:g} % oxygen is not a gas to breathe")
    return oxygen_pressure.pa / (oxygen_percent / 100)


def _at(ambient: float, rounded: Callable[[float], int]) -> Depth:
    """The depth at a pressure [Pa]."""
    over = ambient - STANDARD_ATMOSPHERE.pa
    feet = FEET_PER_ATMOSPHERE * over / STANDARD_ATMOSPHERE.pa
    return Depth(rounded(over / PA_PER_METRE), rounded(feet))


class BreathedAt(Struct, frozen=True):
    """What a gas is like at a depth.

    Attributes:
        air_depth: where air has as much nitrogen and argon, the equivalent air depth, rounded up.
        narcotic_depth: where air is as narcotic, oxygen counted and helium not, rounded up (common
            practice; from memory).
        density: grams to the litre, of an ideal gas at 0 degC.
    """

    air_depth: Depth
    narcotic_depth: Depth
    density: float


def breathed_at(mixture: Mixture, depth: Depth) -> BreathedAt:
    """What a gas is like at a depth: EAD = (1 - FO2 - FHe) / 0.79 x (D + 33) - 33 ft, as 10 for
    metres (NOAA form; from memory), with all but the helium in place of the nitrogen for narcosis.

    >>> breathed_at(Mixture(0.68, 0.32, 0.0, 0.0), Depth(30, 100)).air_depth
    Depth(metres=25, feet=82)
    """

    def like_air(share: float) -> Depth:
        metres = share * (depth.metres + _SURFACE_METRES) - _SURFACE_METRES
        feet = share * (depth.feet + FEET_PER_ATMOSPHERE) - FEET_PER_ATMOSPHERE
        return Depth(*(max(0, math.ceil(each - _HAIR)) for each in (metres, feet)))

    ambient = STANDARD_ATMOSPHERE.pa + depth.metres * PA_PER_METRE
    return BreathedAt(
        air_depth=like_air((1 - mixture.oxygen - mixture.helium) / _AIR_NITROGEN),
        narcotic_depth=like_air(1 - mixture.helium),
        density=mixture.molar_mass * ambient / (_GAS_CONSTANT * _COLD) / 1000,
    )


_SURFACE_METRES = STANDARD_ATMOSPHERE.pa / PA_PER_METRE
