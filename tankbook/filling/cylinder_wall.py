"""The wall of a cylinder and the films of still and moving gas or water on either side of it.

None of these figures is a measurement of a diving cylinder: they are assumptions, each with the
band in which it may lie, and every prediction of a hot pressure carries that band.
"""

from __future__ import annotations

from enum import StrEnum
from math import pi
from typing import NamedTuple

from msgspec import Struct

from tankbook.units import Mass, Volume


class WallMaterial(StrEnum):
    """What a cylinder's wall is made of."""

    ALUMINIUM = "aluminium"
    STEEL = "steel"
    COMPOSITE = "composite"


class Band(NamedTuple):
    """A figure and the band it may lie in."""

    low: float
    usual: float
    high: float


INNER_FILM = Band(75.0, 150.0, 300.0)
"""Gas to wall [W/(m2 K)]. Assumption. Turbulent free convection, Nu = 0.13 Ra^(1/3) (W. H. McAdams,
Heat Transmission, 3rd ed., 1954; memory), with air at 200 bar, 20 K and 0.16 m gives about 170;
the entering jet stirs it, a nearly empty cylinder has thinner gas."""

OUTER_DRY = Band(5.0, 10.0, 15.0)
"""Wall to still air [W/(m2 K)], free convection and radiation. Assumption (memory)."""

OUTER_WET = Band(150.0, 300.0, 600.0)
"""Wall to a water bath [W/(m2 K)], free convection in water. Assumption (memory)."""

SPECIFIC_HEAT = {
    WallMaterial.ALUMINIUM: 900.0,
    WallMaterial.STEEL: 470.0,
    WallMaterial.COMPOSITE: 900.0,
}
"""J/(kg K). Handbook values for aluminium 6061 and low-alloy steel; composite assumed (memory)."""

MASS_PER_LITRE = {
    WallMaterial.ALUMINIUM: 1.28,
    WallMaterial.STEEL: 1.21,
    WallMaterial.COMPOSITE: 0.59,
}
"""kg of wall per litre of water volume, where the mass is not known: that of an 11.1 L aluminium
cylinder of 14.2 kg, a 12 L steel one of 14.5 kg, a 6.8 L composite one of 4 kg. Assumption."""

LENGTH_TO_BORE = 3.5
"""Length over inside diameter, to tell the area from the volume. Assumption."""

OUTSIDE_TO_INSIDE = 1.15
"""Outside over inside area. Assumption."""


class Wall(Struct, frozen=True):
    """A wall at one temperature: heat capacity [J/K] and areas [m2]."""

    heat_capacity: float
    inner_area: float
    outer_area: float


class Films(Struct, frozen=True):
    """Heat flow through each side of the wall [W/(m2 K)]; zero lets none through."""

    inner: float = INNER_FILM.usual
    outer: float = OUTER_DRY.usual


def films(wet: bool = False) -> tuple[Films, Films, Films]:
    """The films that give the hottest, the usual and the coolest fill, dry or in a water bath."""
    outer = OUTER_WET if wet else OUTER_DRY
    return (
        Films(INNER_FILM.low, outer.low),
        Films(INNER_FILM.usual, outer.usual),
        Films(INNER_FILM.high, outer.high),
    )


def wall_of(
    water_volume: Volume, material: WallMaterial | None = None, mass: Mass | None = None
) -> Wall:
    """The wall of a cylinder; an unknown material is taken as aluminium, as most are."""
    known = material or WallMaterial.ALUMINIUM
    litres = water_volume.litres
    kilograms = mass.kg if mass is not None else MASS_PER_LITRE[known] * litres
    bore = (4 * water_volume.m3 / (pi * LENGTH_TO_BORE)) ** (1 / 3)
    area = pi * bore * bore * (LENGTH_TO_BORE + 0.5)
    return Wall(kilograms * SPECIFIC_HEAT[known], area, area * OUTSIDE_TO_INSIDE)
