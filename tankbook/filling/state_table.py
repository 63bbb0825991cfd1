"""A gas's pressure and energy as sheets of polynomials.

Following the heat of a fill asks for the state of the gas at thousands of new temperatures, each
dear to the equation of state. So the equation is called once on two small grids of Chebyshev
points, over density and over pressure, and between the points the compressibility factor and the
internal energy are interpolated; on the sheets' range the error is far below that of the equation
itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from math import cos, pi
from operator import mul

from msgspec import Struct, field

from tankbook.gas.coefficients import R

COLDEST = 223.0
"""The lowest temperature [K] of a sheet: that of the gas model. The highest is the sheet's own."""

THINNEST = 1e-3
"""The lowest density [mol/L] of a sheet."""

LOWEST = 2.0
"""The lowest pressure [kPa absolute] of a sheet."""

POINTS, TEMPERATURE_POINTS = 14, 9

LINES_KEPT = 64
"""Lines that a sheet remembers: a step of a fill asks for each of its few several times."""

GasState = tuple[float, float]
"""The compressibility factor and the internal energy [J/mol]."""

Line = tuple[float, float, float, float, float, float, float, float, float]
"""A polynomial of temperature, by rising power of its place between `COLDEST` and the hottest."""


class Isochore(Struct, frozen=True):
    """A gas at one density `rho` [mol/L]: coefficients over temperature to `hottest` [K]."""

    rho: float
    hottest: float
    z: Line
    u: Line

    def energy(self, kelvin: float) -> float:
        """The internal energy [J/mol]."""
        return _value(self.u, _place(kelvin, COLDEST, self.hottest))

    def energy_and_slope(self, kelvin: float) -> tuple[float, float]:
        """The internal energy [J/mol], and the heat capacity at constant volume [J/(mol K)]."""
        energy, slope = _both(self.u, _place(kelvin, COLDEST, self.hottest))
        return energy, slope * 2 / (self.hottest - COLDEST)

    def pressure(self, kelvin: float) -> float:
        """The absolute pressure [kPa]."""
        z = _value(self.z, _place(kelvin, COLDEST, self.hottest))
        return z * self.rho * R * kelvin

    def enthalpy(self, kelvin: float) -> float:
        """The enthalpy [J/mol]."""
        return self.energy(kelvin) + self.pressure(kelvin) / self.rho


class Isobar(Struct, frozen=True):
    """A gas at one pressure `kpa` absolute: coefficients over temperature to `hottest` [K]."""

    kpa: float
    hottest: float
    z: Line
    u: Line

    def state(self, kelvin: float) -> tuple[float, float, float, float]:
        """The density [mol/L] and its slope over temperature [mol/(L K)]; the internal energy
        [J/mol] and its slope [J/(mol K)]."""
        x, per_kelvin = _place(kelvin, COLDEST, self.hottest), 2 / (self.hottest - COLDEST)
        (z, steeper), (energy, warms) = _both(self.z, x), _both(self.u, x)
        rho = self.kpa / (z * R * kelvin)
        thins = -rho * (1 / kelvin + steeper * per_kelvin / z)
        return rho, thins, energy, warms * per_kelvin

    def enthalpy(self, kelvin: float) -> float:
        """The enthalpy [J/mol]."""
        rho, _, energy, _ = self.state(kelvin)
        return energy + self.kpa / rho


class GasSheet(Struct, frozen=True, eq=False):
    """Coefficients of z and u over one quantity, from `low` to `high`, and temperature: a row of
    each holds the Chebyshev coefficients of one power of temperature."""

    low: float
    high: float
    z: tuple[tuple[float, ...], ...]
    u: tuple[tuple[float, ...], ...]

    def at(self, value: float) -> tuple[Line, Line]:
        """The lines of z and u at one value; one beyond the sheet is taken at its edge."""
        inside = min(max(value, self.low), self.high)
        terms = _terms(_place(inside, self.low, self.high), POINTS)
        return _line(self.z, terms), _line(self.u, terms)


class StateTable(Struct, frozen=True, eq=False):
    """The states of one gas to a density of `densest` [mol/L] and a temperature of `hottest` [K],
    over density and over pressure."""

    densest: float
    hottest: float
    over_density: GasSheet
    over_pressure: GasSheet
    _isochores: dict[float, Isochore] = field(default_factory=dict)
    _isobars: dict[float, Isobar] = field(default_factory=dict)

    def at(self, rho: float) -> Isochore:
        """The gas at one density [mol/L]; one beyond the sheet is taken at its edge."""
        line = self._isochores.get(rho)
        if line is None:
            if len(self._isochores) >= LINES_KEPT:
                self._isochores.clear()
            inside = min(max(rho, THINNEST), self.densest)
            line = Isochore(inside, self.hottest, *self.over_density.at(inside))
            self._isochores[rho] = line
        return line

    def under(self, kpa: float) -> Isobar:
        """The gas at one absolute pressure [kPa]; one beyond the sheet is taken at its edge."""
        line = self._isobars.get(kpa)
        if line is None:
            if len(self._isobars) >= LINES_KEPT:
                self._isobars.clear()
            inside = min(max(kpa, LOWEST), self.over_pressure.high)
            line = Isobar(inside, self.hottest, *self.over_pressure.at(inside))
            self._isobars[kpa] = line
        return line


State = Callable[[float, float], GasState]


def make_table(
    at_density: State, at_pressure: State, densest: float, highest: float, hottest: float
) -> StateTable:
    """The states of a gas, to `densest` [mol/L], `highest` [kPa] and `hottest` [K], by what it is
    at a density and a temperature, and at a pressure and a temperature: each is called once for
    each point of a grid."""
    over_density = _sheet(at_density, THINNEST, densest, hottest)
    over_pressure = _sheet(at_pressure, LOWEST, highest, hottest)
    return StateTable(densest, hottest, over_density, over_pressure)


def _sheet(state: State, low: float, high: float, hottest: float) -> GasSheet:
    kelvins = _points(TEMPERATURE_POINTS, COLDEST, hottest)
    grid = [[state(value, kelvin) for kelvin in kelvins] for value in _points(POINTS, low, high)]
    z = _coefficients([[s[0] for s in row] for row in grid])
    u = _coefficients([[s[1] for s in row] for row in grid])
    return GasSheet(low, high, z, u)


def _points(count: int, low: float, high: float) -> list[float]:
    middle, half = (low + high) / 2, (high - low) / 2
    return [middle + half * cos(pi * (n + 0.5) / count) for n in range(count)]


def _coefficients(grid: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """The coefficients of the polynomial in two variables through the points of the grid: by power
    of temperature, and within each by Chebyshev's terms of the other."""
    rows = [_powers(_transform(row)) for row in grid]
    return tuple(tuple(_transform(column)) for column in zip(*rows, strict=True))


def _transform(values: Sequence[float]) -> list[float]:
    return list(_folded(_waves(len(values)), values))


@cache
def _waves(count: int) -> list[list[float]]:
    return [
        [(2 if k else 1) / count * cos(pi * k * (n + 0.5) / count) for n in range(count)]
        for k in range(count)
    ]


def _powers(series: Sequence[float]) -> list[float]:
    """A Chebyshev series by powers: a short one is summed faster so, and loses no digit."""
    before, now = [1.0], [0.0, 1.0]
    total = [0.0] * len(series)
    for number, coefficient in enumerate(series):
        term = before if number == 0 else now
        for power, part in enumerate(term):
            total[power] += coefficient * part
        if number:
            ahead = [0.0, *(2 * part for part in now)]
            for power, part in enumerate(before):
                ahead[power] -= part
            before, now = now, ahead
    return total


def _place(value: float, low: float, high: float) -> float:
    return (2 * value - low - high) / (high - low)


def _terms(x: float, count: int) -> list[float]:
    terms = [1.0, x]
    while len(terms) < count:
        terms.append(2 * x * terms[-1] - terms[-2])
    return terms


def _folded(table: Sequence[Sequence[float]], terms: Sequence[float]) -> list[float]:
    return [sum(map(mul, terms, row)) for row in table]


def _line(table: Sequence[tuple[float, ...]], terms: Sequence[float]) -> Line:
    """The terms folded into each row of a table; written out, since a fill asks for it most."""
    t0, t1, t2, t3, t4, t5, t6, t7, t8, t9, t10, t11, t12, t13 = terms
    a, b, c, d, e, f, g, h, i = [
        t0 * r0 + t1 * r1 + t2 * r2 + t3 * r3 + t4 * r4 + t5 * r5 + t6 * r6
        + t7 * r7 + t8 * r8 + t9 * r9 + t10 * r10 + t11 * r11 + t12 * r12 + t13 * r13
        for r0, r1, r2, r3, r4, r5, r6, r7, r8, r9, r10, r11, r12, r13 in table
    ]  # fmt: skip
    return a, b, c, d, e, f, g, h, i


def _value(line: Line, x: float) -> float:
    a, b, c, d, e, f, g, h, i = line
    return a + x * (b + x * (c + x * (d + x * (e + x * (f + x * (g + x * (h + x * i)))))))


def _both(line: Line, x: float) -> tuple[float, float]:
    """The value of a line, and its slope over its place."""
    a, b, c, d, e, f, g, h, i = line
    value = a + x * (b + x * (c + x * (d + x * (e + x * (f + x * (g + x * (h + x * i)))))))
    high = 5 * f + x * (6 * g + x * (7 * h + x * 8 * i))
    return value, b + x * (2 * c + x * (3 * d + x * (4 * e + x * high)))
