"""Mixtures of the four breathing gases, by mole fraction."""

from __future__ import annotations

from typing import Self

from msgspec import Struct

from tankbook.gas.coefficients import GASES
from tankbook.gas.errors import GasError

ROUNDING = 1e-9


class Mixture(Struct, frozen=True):
    """Mole fractions of nitrogen, oxygen, helium and argon: none below 0, and 1 in all.

    Raises `GasError` for anything else, beyond a rounding of 1e-9.
    """

    nitrogen: float
    oxygen: float
    helium: float
    argon: float

    def __post_init__(self) -> None:
        if not all(-ROUNDING <= x <= 1 + ROUNDING for x in self.fractions):
            raise GasError(f"a fraction is not between 0 and 1 in {self._listed()}")
        if abs(sum(self.fractions) - 1) > ROUNDING:
            raise GasError(
                f"the fractions add up to {sum(self.fractions):.6g} in {self._listed()}",
                "they must add up to 1",
            )

    def _listed(self) -> str:
        pairs = zip(GASES, self.fractions, strict=True)
        return ", ".join(f"{gas.name} {x:g}" for gas, x in pairs)

    @classmethod
    def blended(cls, *parts: tuple[float, Mixture]) -> Self:
        """What comes of adding up amounts [mol, or any one unit] of several mixtures.

        Raises `GasError` for a negative amount or none at all.
        """
        total = sum(amount for amount, _ in parts)
        if total <= 0 or any(amount < 0 for amount, _ in parts):
            raise GasError("a blend needs amounts of gas, none of them negative")
        columns = zip(*(mixture.fractions for _, mixture in parts), strict=True)
        amounts = [amount / total for amount, _ in parts]
        return cls(
            *(sum(a * x for a, x in zip(amounts, column, strict=True)) for column in columns)
        )

    @property
    def fractions(self) -> tuple[float, float, float, float]:
        """The four fractions in the order of the fields, which is that of `coefficients.GASES`."""
        return self.nitrogen, self.oxygen, self.helium, self.argon

    @property
    def molar_mass(self) -> float:
        """The mean molar mass in g/mol."""
        return sum(x * gas.molar_mass for x, gas in zip(self.fractions, GASES, strict=True))

    @property
    def validated(self) -> bool:
        """Whether the model has been checked for this mixture. False when it holds helium."""
        return self.helium <= ROUNDING


AIR = Mixture(nitrogen=0.7812, oxygen=0.2096, helium=0.0, argon=0.0092)
"""Dry air. Mole fractions of E. W. Lemmon, R. T Jacobsen, S. G. Penoncello and D. G. Friend,
J. Phys. Chem. Ref. Data 29(3), 331-385 (2000): carbon dioxide and the rarer gases are left out."""


def trimix(oxygen: float, helium: float) -> Mixture:
    """The mixture of `oxygen` and `helium` (mole fractions) whose rest is nitrogen and argon in
    the proportion they have in air. Raises `GasError` when there is no such mixture.

    A blender who tops off with air leaves them in that proportion; oxygen and helium bring
    neither.
    """
    rest = 1 - oxygen - helium
    inert = AIR.nitrogen + AIR.argon
    return Mixture(rest * AIR.nitrogen / inert, oxygen, helium, rest * AIR.argon / inert)


def nitrox(oxygen: float) -> Mixture:
    """Air with its oxygen fraction made `oxygen`: nitrogen and argon keep their proportion."""
    return trimix(oxygen, 0.0)
