"""Which gas is too lean to be breathed everywhere, from where on it holds oxygen enough, and how
that is said on every paper and screen."""

from __future__ import annotations

from typing import TypeGuard

from tankbook.gas.depth import SURFACE, Depth, least_depth
from tankbook.rules.answers import Contents
from tankbook.rules.figures import LOW_OXYGEN
from tankbook.units import AbsolutePressure

NOT_UP_THERE = "not to be breathed at the surface"
BELOW_AIR = f"under {LOW_OXYGEN:g} %"


def is_lean(oxygen: float | None) -> TypeGuard[float]:
    """Whether a gas of so much oxygen [%] is told to be low in it."""
    return oxygen is not None and oxygen < LOW_OXYGEN


def from_where(oxygen: float, least: AbsolutePressure) -> Depth:
    """From where on it holds oxygen enough; the surface for a gas that nowhere does."""
    return least_depth(oxygen, least) if oxygen else SURFACE


def told_oxygen(held: Contents) -> float | None:
    """The oxygen [%] that tells whether a gas is lean: as analysed, else as its name has it."""
    if held.oxygen is not None:
        return held.oxygen
    return held.gas.oxygen_percent if held.gas else None


def not_up_there(oxygen: float, least: AbsolutePressure) -> bool:
    """Whether it is not for the surface: it has a least depth, or holds no oxygen at all. What is
    low in oxygen and holds enough at the surface by the settings is not told to be both."""
    return not oxygen or not from_where(oxygen, least).is_surface


def lean_said(oxygen: float | None, least: AbsolutePressure) -> tuple[str, str]:
    """What is said of a lean gas, and its least depth; both empty where there is nothing to say.

    Args:
        oxygen: what it was analysed at, or is named for [%]; None where nobody knows.
        least: the least oxygen partial pressure to breathe.
    """
    if not is_lean(oxygen):
        return "", ""
    depth = from_where(oxygen, least)
    deep = "" if depth.is_surface else f"{depth} (oxygen {least})"
    return (NOT_UP_THERE if not_up_there(oxygen, least) else BELOW_AIR), deep
