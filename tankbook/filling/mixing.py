"""The arithmetic of a blend: how much of each gas, and what the gauge shows on the way.

Amounts are mol per litre of the cylinder, so that a total is a density. Two gas laws share all
of it: the real one and, for the figure beside it, the ideal one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from msgspec import Struct

from tankbook.gas import Mixture, molar_density, nitrox, pressure_kpa, trimix
from tankbook.gas.coefficients import R

OXYGEN = nitrox(1.0)
HELIUM = trimix(0.0, 1.0)

HAIR = 1e-9
"""Amounts [mol/L] below this are none."""


class Law(Protocol):
    """A gas law at one temperature."""

    def density(self, mixture: Mixture, kpa: float) -> float:
        """mol/L at `kpa` absolute."""

    def pressure(self, mixture: Mixture, rho: float) -> float:
        """kPa absolute at `rho` mol/L."""


class Real(Struct, frozen=True):
    """The equation of state."""

    kelvin: float

    def density(self, mixture: Mixture, kpa: float) -> float:
        """mol/L at `kpa` absolute. Raises `RangeError`."""
        return molar_density(mixture, self.kelvin, kpa)

    def pressure(self, mixture: Mixture, rho: float) -> float:
        """kPa absolute at `rho` mol/L. Raises `RangeError`."""
        return pressure_kpa(mixture, self.kelvin, rho)


class Ideal(Struct, frozen=True):
    """The ideal-gas law."""

    kelvin: float

    def density(self, mixture: Mixture, kpa: float) -> float:
        """mol/L at `kpa` absolute."""
        return kpa / (R * self.kelvin)

    def pressure(self, mixture: Mixture, rho: float) -> float:
        """kPa absolute at `rho` mol/L."""
        return rho * R * self.kelvin


class Wanted(NamedTuple):
    """A blend in fractions and absolute pressures: contents at `start`, `target` at `final`."""

    contents: Mixture
    start: float
    target: Mixture
    final: float


class Line(NamedTuple):
    """An amount that depends on how much of the contents is kept: a + b kept."""

    a: float
    b: float

    def at(self, kept: float) -> float:
        """The amount [mol/L] when `kept` is kept."""
        return self.a + self.b * kept


class Amounts(NamedTuple):
    """What goes into a cylinder [mol/L], and the gas it is filled up with."""

    kept: float
    oxygen: float
    helium: float
    top: float
    top_mixture: Mixture


class Fed(NamedTuple):
    """The state of a cylinder after a step: amount [mol/L] and mixture."""

    amount: float
    mixture: Mixture


def balances(wanted: Wanted, total: float, top: Mixture) -> tuple[Line, Line, Line]:
    """Oxygen, helium and top-off gas to add, against what is kept of the contents.

    From the balances of what is neither oxygen nor helium, of oxygen and of helium; `total` is
    the final density [mol/L].
    """
    s, f = wanted.contents, wanted.target
    inert_top = 1 - top.oxygen - top.helium
    inert_f, inert_s = 1 - f.oxygen - f.helium, 1 - s.oxygen - s.helium
    tops = Line(total * inert_f / inert_top, -inert_s / inert_top)
    oxygen = Line(total * f.oxygen - tops.a * top.oxygen, -s.oxygen - tops.b * top.oxygen)
    helium = Line(total * f.helium - tops.a * top.helium, -s.helium - tops.b * top.helium)
    return oxygen, helium, tops


def most_kept(lines: Sequence[Line], has: float) -> float | None:
    """The most of the contents that can be kept with no amount below zero; None for none."""
    low, high = 0.0, has
    for a, b in lines:
        if abs(b) < 1e-12:
            if a < -HAIR:
                return None
        elif b > 0:
            low = max(low, -a / b)
        else:
            high = min(high, -a / b)
    if low > high + HAIR:
        return None
    return max(0.0, high)


def added(fed: Fed, amount: float, gas: Mixture) -> Fed:
    """The cylinder with so much of a gas added."""
    if amount <= 0:
        return fed
    return Fed(fed.amount + amount, Mixture.blended((fed.amount, fed.mixture), (amount, gas)))


def filled_to(law: Law, fed: Fed, gas: Mixture, kpa: float) -> Fed:
    """The cylinder with a gas added until it shows `kpa` absolute: a secant on the amount."""
    if law.pressure(fed.mixture, fed.amount) >= kpa:
        return fed
    last, now = 0.0, max(HAIR, law.density(gas, kpa) - fed.amount)
    error = law.pressure(fed.mixture, fed.amount) - kpa
    for _ in range(40):
        after = added(fed, now, gas)
        ahead = law.pressure(after.mixture, after.amount) - kpa
        if abs(ahead) < 1e-9 * kpa or ahead == error:
            break
        last, now, error = now, max(0.0, now - ahead * (now - last) / (ahead - error)), ahead
    return added(fed, now, gas)
