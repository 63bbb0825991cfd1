"""A gas's pressure and energy as a sheet of Chebyshev coefficients.

Following the heat of a fill asks for the state of the gas at hundreds of new temperatures, each
dear to the equation of state. So the equation is called once on a small grid, and between the
points the compressibility factor and the internal energy are interpolated; on the sheet's range
the error is far below that of the equation itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, pi
from operator import mul

from msgspec import Struct, field

from tankbook.gas.coefficients import R

COLDEST = 223.0
"""The lowest temperature [K] of a sheet: that of the gas model. The highest is the sheet's own."""

THINNEST = 1e-3
"""The lowest density [mol/L] of a sheet."""

DENSITY_POINTS, TEMPERATURE_POINTS = 14, 10

LINES_KEPT = 64
"""Lines that a sheet remembers: a step of a fill asks for each of its few several times."""

GasState = tuple[float, float]
"""The compressibility factor and the internal energy [J/mol]."""


class Isochore(Struct, frozen=True):
    """A sheet at one density `rho` [mol/L]: coefficients over temperature to `hottest` [K]."""

    rho: float
    hottest: float
    z: tuple[float, ...]
    u: tuple[float, ...]

    def energy(self, kelvin: float) -> float:
        """The internal energy [J/mol]."""
        return _sum(self.u, _place(kelvin, COLDEST, self.hottest))

    def heat_capacity(self, kelvin: float) -> float:
        """The heat capacity at constant volume [J/(mol K)]: the slope of the energy."""
        slope = _slope(self.u, _place(kelvin, COLDEST, self.hottest))
        return slope * 2 / (self.hottest - COLDEST)

    def pressure(self, kelvin: float) -> float:
        """The absolute pressure [kPa]."""
        z = _sum(self.z, _place(kelvin, COLDEST, self.hottest))
        return z * self.rho * R * kelvin

    def enthalpy(self, kelvin: float) -> float:
        """The enthalpy [J/mol]."""
        return self.energy(kelvin) + self.pressure(kelvin) / self.rho

    def temperature(self, energy: float, guess: float) -> float:
        """The temperature [K] at which the gas has an internal energy of `energy` [J/mol]."""
        kelvin = guess
        for _ in range(30):
            step = (energy - self.energy(kelvin)) / self.heat_capacity(kelvin)
            kelvin = min(max(kelvin + step, COLDEST), self.hottest)
            if abs(step) < 1e-7:
                break
        return kelvin


class StateTable(Struct, frozen=True, eq=False):
    """Chebyshev coefficients over density (to `densest` mol/L) and temperature (to `hottest`).

    A row of `z` and of `u` holds those of one power of temperature.
    """

    densest: float
    hottest: float
    z: tuple[tuple[float, ...], ...]
    u: tuple[tuple[float, ...], ...]
    _lines: dict[float, Isochore] = field(default_factory=dict)

    def at(self, rho: float) -> Isochore:
        """The sheet at one density [mol/L]; one beyond the sheet is taken at its edge."""
        line = self._lines.get(rho)
        if line is None:
            if len(self._lines) >= LINES_KEPT:
                self._lines.clear()
            line = self._lines[rho] = self._line(min(max(rho, THINNEST), self.densest))
        return line

    def _line(self, rho: float) -> Isochore:
        weights = _terms(_place(rho, THINNEST, self.densest), DENSITY_POINTS)
        return Isochore(rho, self.hottest, _folded(self.z, weights), _folded(self.u, weights))


def make_sheet(
    state: Callable[[float, float], GasState], densest: float, hottest: float
) -> StateTable:
    """A sheet from `state(density, kelvin)`, called once for each point of the grid."""
    densities = _points(DENSITY_POINTS, THINNEST, densest)
    kelvins = _points(TEMPERATURE_POINTS, COLDEST, hottest)
    grid = [[state(rho, kelvin) for kelvin in kelvins] for rho in densities]
    z = _coefficients([[s[0] for s in row] for row in grid])
    u = _coefficients([[s[1] for s in row] for row in grid])
    return StateTable(densest, hottest, z, u)


def _points(count: int, low: float, high: float) -> list[float]:
    middle, half = (low + high) / 2, (high - low) / 2
    return [middle + half * cos(pi * (n + 0.5) / count) for n in range(count)]


def _coefficients(grid: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """The coefficients of the polynomial in two variables through the points of the grid."""
    rows = [_transform(row) for row in grid]
    return tuple(tuple(_transform(column)) for column in zip(*rows, strict=True))


def _transform(values: Sequence[float]) -> list[float]:
    count = len(values)
    return [
        (1 if k == 0 else 2)
        / count
        * sum(v * cos(pi * k * (n + 0.5) / count) for n, v in enumerate(values))
        for k in range(count)
    ]


def _place(value: float, low: float, high: float) -> float:
    return (2 * value - low - high) / (high - low)


def _terms(x: float, count: int) -> list[float]:
    terms = [1.0, x]
    while len(terms) < count:
        terms.append(2 * x * terms[-1] - terms[-2])
    return terms


def _folded(table: Sequence[Sequence[float]], weights: Sequence[float]) -> tuple[float, ...]:
    return tuple([sum(map(mul, weights, row)) for row in table])


def _sum(coefficients: Sequence[float], x: float) -> float:
    """Clenshaw's sum of the series."""
    ahead = further = 0.0
    for c in reversed(coefficients[1:]):
        ahead, further = c + 2 * x * ahead - further, ahead
    return coefficients[0] + x * ahead - further


def _slope(coefficients: Sequence[float], x: float) -> float:
    """The derivative of the series: the sum of k c_k U_(k-1)(x)."""
    before, now, total = 0.0, 1.0, 0.0
    for k, c in enumerate(coefficients[1:], start=1):
        total += k * c * now
        before, now = now, 2 * x * now - before
    return total
