"""Readings as bare numbers, for tables whose heading names the unit."""

from __future__ import annotations

from tankbook.output.page import Page
from tankbook.units import GaugePressure


def whole(pressure: GaugePressure, page: Page) -> str:
    """A reading that was given, to a whole unit."""
    return page.pressure(pressure).split()[0]


def down(pressure: GaugePressure, page: Page) -> str:
    """A predicted reading, rounded down to what a gauge shows."""
    return page.down(pressure).split()[0]
