"""Volumes, masses, lengths, temperatures, fractions, torques, times and flows."""

from __future__ import annotations

from typing import ClassVar

from tankbook.units.errors import UnitError
from tankbook.units.quantity import SI, Quantity, Scale, number_in

# Exact: the foot and inch by the yard and pound agreement of 1959 (NIST SP 811, appendix B).
METRES_PER_INCH = 0.0254
CUBIC_METRES_PER_CUFT = 0.028316846592
CUBIC_METRES_PER_CUIN = 1.6387064e-05
KILOGRAMS_PER_POUND = 0.45359237
NEWTONS_PER_POUND_FORCE = 4.4482216152605  # 0.45359237 kg at 9.80665 m/s2, exact
KELVINS_PER_FAHRENHEIT = 5 / 9


class Volume(Quantity):
    """A water volume or an amount of free gas: `11.1 L`, `80 cuft`, `673 cuin`. SI value in m3."""

    __slots__ = ()

    NAME = "a volume"
    EXAMPLE = "11.1 L"
    UNITS: ClassVar[dict[str, Scale]] = {
        "L": Scale(1e-3),
        "cuft": Scale(CUBIC_METRES_PER_CUFT),
        "cuin": Scale(CUBIC_METRES_PER_CUIN),
        "m3": Scale(1.0),
    }
    TWINS: ClassVar[dict[str, str]] = {"l": "L", "cu ft": "cuft", "cu in": "cuin"}

    litres = number_in("L", "The volume in litres.")
    cuft = number_in("cuft", "The volume in cubic feet.")
    cuin = number_in("cuin", "The volume in cubic inches.")
    m3 = number_in(SI, "The volume in cubic metres.")


class Mass(Quantity):
    """A mass: `14.2 kg`, `31.7 lb`, `350 g`. SI value in kg."""

    __slots__ = ()

    NAME = "a mass"
    EXAMPLE = "14.2 kg"
    UNITS: ClassVar[dict[str, Scale]] = {
        "kg": Scale(1.0),
        "lb": Scale(KILOGRAMS_PER_POUND),
        "g": Scale(1e-3),
    }
    TWINS: ClassVar[dict[str, str]] = {"lbs": "lb"}

    kg = number_in(SI, "The mass in kilograms.")
    lb = number_in("lb", "The mass in pounds.")


class Length(Quantity):
    """A length or a depth: `0.5 mm`, `25 in`, `18 m`, `60 ft`. SI value in m."""

    __slots__ = ()

    NAME = "a length"
    EXAMPLE = "0.5 mm"
    UNITS: ClassVar[dict[str, Scale]] = {
        "mm": Scale(1e-3),
        "in": Scale(METRES_PER_INCH),
        "cm": Scale(1e-2),
        "m": Scale(1.0),
        "ft": Scale(12 * METRES_PER_INCH),
    }

    mm = number_in("mm", "The length in millimetres.")
    inches = number_in("in", "The length in inches.")
    m = number_in(SI, "The length in metres.")


class Temperature(Quantity):
    """A temperature above absolute zero: `70 degF`, `-5 degC`, `294 K`. SI value in K.

    The degree sign is read too (`70 °F`); `degF` is written.
    """

    __slots__ = ()

    NAME = "a temperature"
    EXAMPLE = "70 degF"
    UNITS: ClassVar[dict[str, Scale]] = {
        "degF": Scale(KELVINS_PER_FAHRENHEIT, 459.67),
        "degC": Scale(1.0, 273.15),
        "K": Scale(1.0),
    }
    TWINS: ClassVar[dict[str, str]] = {"°F": "degF", "°C": "degC"}

    def _check(self) -> None:
        if self.si <= 0:
            raise UnitError(f"{self} is not above absolute zero", f"as in {self.EXAMPLE}")

    kelvin = number_in(SI, "The temperature in kelvins.")
    celsius = number_in("degC", "The temperature in degrees Celsius.")
    fahrenheit = number_in("degF", "The temperature in degrees Fahrenheit.")


class Percent(Quantity):
    """A share of a whole, 0 to 100 %: `32.4 %`. SI value is the fraction, 0 to 1."""

    __slots__ = ()

    NAME = "a percentage"
    EXAMPLE = "32.4 %"
    UNITS: ClassVar[dict[str, Scale]] = {"%": Scale(0.01)}

    def _check(self) -> None:
        if not 0 <= self.value <= 100:
            raise UnitError(f"{self} is not between 0 % and 100 %", f"as in {self.EXAMPLE}")

    @property
    def percent(self) -> float:
        """The share in percent, 0 to 100."""
        return self.value

    @property
    def fraction(self) -> float:
        """The share of one, 0 to 1."""
        return self.value / 100


class Torque(Quantity):
    """A tightening torque: `50 N m`, `37 ft-lbf`. SI value in N m."""

    __slots__ = ()

    NAME = "a torque"
    EXAMPLE = "50 N m"
    UNITS: ClassVar[dict[str, Scale]] = {
        "N m": Scale(1.0),
        "ft-lbf": Scale(12 * METRES_PER_INCH * NEWTONS_PER_POUND_FORCE),
    }
    TWINS: ClassVar[dict[str, str]] = {"Nm": "N m", "N·m": "N m", "ft-lb": "ft-lbf"}

    newton_metres = number_in(SI, "The torque in N m.")


class Concentration(Quantity):
    """How much of a contaminant is in the air: `5 ppm` by volume, or `0.5 mg/m3` by mass.

    The two cannot be converted without knowing the substance, so they are never equal, and
    ordering one against the other raises `TypeError`.
    """

    __slots__ = ()

    NAME = "a concentration"
    EXAMPLE = "5 ppm or <0.1 mg/m3"
    UNITS: ClassVar[dict[str, Scale]] = {"ppm": Scale(1.0), "mg/m3": Scale(1.0)}
    TWINS: ClassVar[dict[str, str]] = {"mg/m³": "mg/m3"}

    @classmethod
    def parse(cls, text: str, default_unit: str | None = None) -> Concentration:
        """As of any quantity; `<0.1 mg/m3`, below what could be detected, counts as that much."""
        if not text.startswith(("<", "≤")):
            return super().parse(text, default_unit)
        most = super().parse(text[1:].strip(), default_unit)
        return _Below(most.value, most.unit)

    def to(self, unit: str) -> float:
        """The value in `unit`, which must be its own. Raises `UnitError`."""
        if self.TWINS.get(unit, unit) != self.unit:
            raise UnitError(f"{self} cannot be written in {unit} without knowing the substance")
        return self.value

    def _beside(self, other: Concentration) -> tuple[float, float]:
        if self.unit != other.unit:
            raise TypeError(f"{self} and {other} cannot be compared")
        return self.value, other.value

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Concentration):
            return NotImplemented
        return self.unit == other.unit and self.value == other.value

    def __hash__(self) -> int:
        return hash((self.value, self.unit))

    def __lt__(self, other: Concentration) -> bool:
        mine, theirs = self._beside(other)
        return mine < theirs

    def __le__(self, other: Concentration) -> bool:
        mine, theirs = self._beside(other)
        return mine <= theirs

    def __gt__(self, other: Concentration) -> bool:
        mine, theirs = self._beside(other)
        return mine > theirs

    def __ge__(self, other: Concentration) -> bool:
        mine, theirs = self._beside(other)
        return mine >= theirs


class _Below(Concentration):
    """Less than what a laboratory could detect."""

    __slots__ = ()

    def __str__(self) -> str:
        return f"<{super().__str__()}"


class RunningTime(Quantity):
    """Hours on a meter, or how long a job took: `412.5 h`, `8 min`. SI value in s."""

    __slots__ = ()

    NAME = "a running time"
    EXAMPLE = "412.5 h"
    UNITS: ClassVar[dict[str, Scale]] = {"h": Scale(3600.0), "min": Scale(60.0)}

    hours = number_in("h", "The time in hours.")
    minutes = number_in("min", "The time in minutes.")


class FreeGasFlow(Quantity):
    """Free gas delivered over time: `3.5 cuft/min`, `100 L/min`. SI value in m3/s."""

    __slots__ = ()

    NAME = "a flow of free gas"
    EXAMPLE = "3.5 cuft/min"
    UNITS: ClassVar[dict[str, Scale]] = {
        "cuft/min": Scale(CUBIC_METRES_PER_CUFT / 60),
        "L/min": Scale(1e-3 / 60),
    }
    TWINS: ClassVar[dict[str, str]] = {"l/min": "L/min"}

    litres_per_min = number_in("L/min", "The flow in litres of free gas a minute.")
    cuft_per_min = number_in("cuft/min", "The flow in cubic feet of free gas a minute.")
