"""Pressures, gauge and absolute, which are never one another.

A gauge pressure is what a gauge shows: zero at the pressure of the air around it. An absolute
pressure is counted from vacuum, and is what an equation of state takes. Only `absolute` and
`gauge` lead from one to the other; comparing them, even for equality, raises `TypeError`.
"""

from __future__ import annotations

from typing import ClassVar, NamedTuple

from tankbook.units.errors import UnitError
from tankbook.units.quantity import SI, Quantity, Scale, number_in

PASCALS_PER_PSI = 6894.757293168361
"""Pa in a psi: lbf/in2 from 0.45359237 kg, 9.80665 m/s2 and 25.4 mm, all exact (NIST SP 811,
appendix B, gives 6.894 757 E+03)."""

SCALES = {
    "psi": Scale(PASCALS_PER_PSI),
    "bar": Scale(1e5),
    "kPa": Scale(1e3),
    "MPa": Scale(1e6),
}


class Pressure(Quantity):
    """What the two kinds of pressure share. Not used by itself."""

    __slots__ = ()
    __hash__ = Quantity.__hash__

    UNITS = SCALES

    pa = number_in(SI, "The pressure in pascals, on its own kind's zero.")
    psi = number_in("psi", "The pressure in psi, on its own kind's zero.")
    bar = number_in("bar", "The pressure in bar, on its own kind's zero.")
    kpa = number_in("kPa", "The pressure in kPa, on its own kind's zero.")
    mpa = number_in("MPa", "The pressure in MPa, on its own kind's zero.")

    def __eq__(self, other: object) -> bool:
        if type(other) is type(self):
            return self.si == other.si
        if isinstance(other, Pressure):
            raise TypeError("a gauge pressure and an absolute pressure cannot be compared")
        return NotImplemented


class AbsolutePressure(Pressure):
    """A pressure counted from vacuum, zero or more. Written `207.86 bar abs`.

    In a text the unit must say so: `bar abs`, `bara`, `psi abs`, `psia`, `kPa abs`, `MPa abs`. An
    `ata`, as divers say it, is a standard atmosphere, absolute already.
    """

    __slots__ = ()

    NAME: ClassVar[str] = "an absolute pressure"
    EXAMPLE: ClassVar[str] = "1.013 bar abs"
    UNITS: ClassVar[dict[str, Scale]] = SCALES | {"ata": Scale(101_325.0)}
    TWINS: ClassVar[dict[str, str]] = {"psia": "psi", "bara": "bar", "ata": "ata"} | {
        f"{name} abs": name for name in SCALES
    }
    REFUSED: ClassVar[dict[str, str]] = {
        name: f"say that it is absolute: {name.removesuffix('g')} abs"
        for name in (*SCALES, "psig", "barg")
    } | {"atm": "say that it is absolute: ata"}
    SUFFIX: ClassVar[str] = " abs"

    @classmethod
    def _unit_named(cls, spelling: str) -> str | None:
        # A text says that it is absolute; `of` needs no reminder, its class says it.
        return cls.TWINS.get(spelling)

    @classmethod
    def unit_names(cls) -> list[str]:
        """The known units as they are written; an ata needs no word that it is absolute."""
        return [*(name + cls.SUFFIX for name in SCALES), "ata"]

    def format(self, unit: str, digits: int) -> str:
        """The value in `unit` with `digits` decimals and the unit: `1.40 bar abs`, `1.40 ata`."""
        return super().format(unit, digits).replace("ata abs", "ata")

    def __str__(self) -> str:
        return super().__str__().replace("ata abs", "ata")

    def gauge(self, atmosphere: AbsolutePressure | None = None) -> GaugePressure:
        """What a gauge would show where the air is at `atmosphere` (the standard one if None).

        Raises `UnitError` when that is below zero: a vacuum is not a reading here.
        """
        around = STANDARD_ATMOSPHERE if atmosphere is None else atmosphere
        if self.si < around.si:
            raise UnitError(f"{self} is below the {around} around it; a gauge would show a vacuum")
        unit = self.unit if self.unit in SCALES else "bar"  # no gauge is read in ata
        return GaugePressure(_in_unit(self.si - around.si, unit), unit)


class GaugePressure(Pressure):
    """A pressure as a gauge shows it, zero or more. Written `3000 psi`.

    `psig` and `barg` are twins of psi and bar; `psia` and `bara` are refused.
    """

    __slots__ = ()

    NAME: ClassVar[str] = "a pressure"
    EXAMPLE: ClassVar[str] = "3000 psi"
    TWINS: ClassVar[dict[str, str]] = {"psig": "psi", "barg": "bar"}
    REFUSED: ClassVar[dict[str, str]] = dict.fromkeys(
        AbsolutePressure.TWINS,
        "pressures are written as the gauge shows them: subtract the air pressure "
        "(14.7 psi, 1.013 bar) and write psi or bar",
    )

    def absolute(self, atmosphere: AbsolutePressure | None = None) -> AbsolutePressure:
        """The pressure from vacuum, in air at `atmosphere` (the standard one if None)."""
        around = STANDARD_ATMOSPHERE if atmosphere is None else atmosphere
        return AbsolutePressure(_in_unit(self.si + around.si, self.unit), self.unit)


def _in_unit(pascals: float, unit: str) -> float:
    return pascals / SCALES[unit].factor


STANDARD_ATMOSPHERE = AbsolutePressure(101.325, "kPa")
"""101 325 Pa exactly (10th CGPM, 1954, resolution 4)."""

GAUGE_STEP = {"psi": GaugePressure.of(10, "psi"), "bar": GaugePressure.of(1, "bar")}
"""What a gauge at the bench is read to (common practice, no source): what is predicted is rounded
down to it, and a rise of less is not seen."""


class SaidLike(NamedTuple):
    """How figures are written in a unit that is read in, for the examples of a mend: what an empty
    cylinder and a full one show, what a bank; a fill rate; what a compressor reaches and delivers;
    a bank that is thought of."""

    empty: str
    full: str
    bank: str
    rate: str
    top: str
    delivery: str
    new_bank: str


SAID_LIKE = {
    "psi": SaidLike("500", "2900", "2400", "400 psi/min", "4500 psi", "6.5 cuft/min", "4500/50L"),
    "bar": SaidLike("35", "200", "165", "28 bar/min", "300 bar", "185 L/min", "300/50L"),
}


class PressureRate(Quantity):
    """How fast a pressure rises: `400 psi/min`, `30 bar/min`. SI value in Pa/s."""

    __slots__ = ()

    NAME = "a fill rate"
    EXAMPLE = "400 psi/min"
    UNITS: ClassVar[dict[str, Scale]] = {
        "psi/min": Scale(PASCALS_PER_PSI / 60),
        "bar/min": Scale(1e5 / 60),
    }

    pa_per_s = number_in(SI, "The rate in Pa/s.")
    psi_per_min = number_in("psi/min", "The rate in psi/min.")
    bar_per_min = number_in("bar/min", "The rate in bar/min.")
