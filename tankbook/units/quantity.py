"""What every measured quantity shares: reading, writing, converting, comparing.

A quantity keeps the number and the unit it was given in, so that it is written back as a person
wrote it, and beside them its value in SI, by which alone it is compared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from operator import attrgetter
from typing import ClassVar, NamedTuple, NoReturn, Protocol, Self, cast

from tankbook.units.errors import UnitError, listed, quoted
from tankbook.units.patterns import pattern

WRITTEN = pattern(r"(-?[0-9]+(?:\.[0-9]+)?)(?: ?(?!e[0-9+-])([^\s0-9.,+-](?:.*\S)?))?")
SEPARATED = pattern(r"[0-9]+,[0-9]")


class Scale(NamedTuple):
    """A unit against SI: si = (value + zero) * factor."""

    factor: float
    zero: float = 0.0


@dataclass(frozen=True, slots=True, order=True)
class Quantity:
    """A number with its unit. Equality, order and hash are those of the SI value alone.

    The constructor takes the number in `unit`, one of the unit names of the class; it raises
    `UnitError` for an unknown unit, a number that is not finite, or one outside the range of the
    class. `si` is the value in SI units.
    """

    value: float = field(compare=False)
    unit: str = field(compare=False)
    si: float = field(init=False, repr=False)

    NAME: ClassVar[str] = "a quantity"
    EXAMPLE: ClassVar[str] = ""
    UNITS: ClassVar[dict[str, Scale]] = {}
    TWINS: ClassVar[dict[str, str]] = {}
    REFUSED: ClassVar[dict[str, str]] = {}
    SUFFIX: ClassVar[str] = ""

    def __post_init__(self) -> None:
        scale = self.UNITS.get(self.unit)
        if scale is None:
            self._unknown(self.unit)
        value = float(self.value) + 0.0  # no negative zero
        si = (value + scale.zero) * scale.factor
        if not math.isfinite(si):
            raise UnitError(f"the number is too large for {self.NAME}", f"as in {self.EXAMPLE}")
        object.__setattr__(self, "value", value)
        object.__setattr__(self, "si", si)
        self._check()

    def _check(self) -> None:
        """Refuse a value outside the range of this quantity."""
        if self.value < 0:
            raise UnitError(f"{self}: {self.NAME} cannot be negative", f"as in {self.EXAMPLE}")

    @classmethod
    def of(cls, value: float, unit: str) -> Self:
        """`value` in `unit` (a name or a twin spelling). Raises `UnitError`."""
        return cls(value, cls.TWINS.get(unit, unit))

    @classmethod
    def parse(cls, text: str, default_unit: str | None = None) -> Self:
        """Read `3000 psi` or `3000psi`.

        Strict: a plain decimal number, no exponent, no thousands separator, at most one space, a
        known unit. A bare number is read in `default_unit` when one is given. Raises `UnitError`,
        and nothing else, for any text.
        """
        return cast(Self, _parse(cls, text, default_unit))  # type: ignore[arg-type]  # hashes as a type

    @classmethod
    def _unit_named(cls, spelling: str) -> str | None:
        """The unit that `spelling` names in a text, if any."""
        return spelling if spelling in cls.UNITS else cls.TWINS.get(spelling)

    @classmethod
    def unit_names(cls) -> list[str]:
        """The known units as they are written, the commonest first."""
        return [name + cls.SUFFIX for name in cls.UNITS]

    @classmethod
    def _unknown(cls, spelling: str) -> NoReturn:
        if spelling in cls.REFUSED:
            raise UnitError(f"{spelling} is no unit for {cls.NAME}", cls.REFUSED[spelling])
        near = [n for n in cls.unit_names() if n.casefold() == spelling.casefold()]
        known = f"the known units are {listed(cls.unit_names(), 'and')}"
        mend = f"write {near[0]}" if near else known
        raise UnitError(f"unknown unit {quoted(spelling)} for {cls.NAME}", mend)

    def to(self, unit: str) -> float:
        """The value in `unit`. Raises `UnitError` for an unknown unit."""
        name = self.TWINS.get(unit, unit)
        if name == self.unit:
            return self.value
        scale = self.UNITS.get(name)
        if scale is None:
            self._unknown(unit)
        return self.si / scale.factor - scale.zero

    def format(self, unit: str, digits: int) -> str:
        """The value in `unit` with `digits` decimals and the unit: `206.8 bar`."""
        number = f"{self.to(unit):.{digits}f}"
        if number.startswith("-") and not number.strip("-0."):
            number = number[1:]
        return f"{number} {self.TWINS.get(unit, unit)}{self.SUFFIX}"

    def __str__(self) -> str:
        return f"{plain(self.value)} {self.unit}{self.SUFFIX}"


SI = ""
"""What `number_in` names the unit by that a quantity is compared in."""


class Number(Protocol):
    """A property that is a number."""

    def __get__(self, of: Quantity, kind: type[Quantity]) -> float: ...


def number_in(unit: str, said: str) -> Number:
    """A property: the number of a quantity in one of its units, or in SI."""
    get = (lambda of: of.to(unit)) if unit else attrgetter("si")
    return cast("Number", property(get, doc=said))


@lru_cache(maxsize=8192)
def _parse(kind: type[Quantity], text: str, default_unit: str | None) -> Quantity:
    written = WRITTEN.fullmatch(text)
    if written is None:
        _refuse(kind, text)
    number, spelling = written.groups()
    if spelling is not None:
        unit = kind._unit_named(spelling)
        if unit is None:
            kind._unknown(spelling)
        return kind(float(number), unit)
    if default_unit is None:
        raise UnitError(
            f"{quoted(text)} is a bare number; {kind.NAME} carries its unit",
            f"write its unit too, as in {kind.EXAMPLE}; the known units are "
            f"{listed(kind.unit_names(), 'and')}",
        )
    return kind.of(float(number), default_unit)


def _refuse(kind: type[Quantity], text: str) -> NoReturn:
    mend = f"write a plain number and its unit, as in {kind.EXAMPLE}"
    if not text.strip():
        raise UnitError(f"{kind.NAME} is missing", mend)
    if SEPARATED.search(text):
        raise UnitError(
            f"{quoted(text)} has a comma in its number", f"{mend}; a decimal point only"
        )
    raise UnitError(f"{quoted(text)} is not {kind.NAME}", mend)


def plain(value: float) -> str:
    """The shortest decimal text that reads back as `value`, never with an exponent."""
    text = repr(value)
    if "e" in text:
        text = format(Decimal(text), "f")
    return text.removesuffix(".0")
