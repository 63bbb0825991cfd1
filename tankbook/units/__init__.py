"""Pressures, volumes, temperatures, masses, money, periods and partial dates.

Every quantity carries its unit, reads itself from text with `parse` and writes itself with `str`.
Everything that can be wrong with a text is a `UnitError`.
"""

from tankbook.units.dates import PartialDate, Period, doubt_of, time_of_day
from tankbook.units.errors import UnitError, quoted
from tankbook.units.measures import (
    Concentration,
    FreeGasFlow,
    Length,
    Mass,
    Percent,
    RunningTime,
    Temperature,
    Torque,
    Volume,
)
from tankbook.units.money import Money
from tankbook.units.pressure import (
    GAUGE_STEP,
    SAID_LIKE,
    STANDARD_ATMOSPHERE,
    AbsolutePressure,
    GaugePressure,
    PressureRate,
)
from tankbook.units.quantity import Quantity

__all__ = [
    "GAUGE_STEP",
    "SAID_LIKE",
    "STANDARD_ATMOSPHERE",
    "AbsolutePressure",
    "Concentration",
    "FreeGasFlow",
    "GaugePressure",
    "Length",
    "Mass",
    "Money",
    "PartialDate",
    "Percent",
    "Period",
    "PressureRate",
    "Quantity",
    "RunningTime",
    "Temperature",
    "Torque",
    "UnitError",
    "Volume",
    "doubt_of",
    "quoted",
    "time_of_day",
]
