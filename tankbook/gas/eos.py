"""The GERG-2008 equation of state for nitrogen, oxygen, helium and argon.

The residual Helmholtz energy, reduced by RT, with delta = rho / rho_r and tau = T_r / T:

    alpha(delta, tau) = sum over gases of x_i
                        sum over terms of n delta^d tau^t exp(-delta^c)     (no exp where c = 0)

and from it, with a_d for delta d(alpha)/d(delta), a_tt for tau^2 d2(alpha)/d(tau)2 and so on:

    Z = 1 + a_d
    u = h0 - R* T + R T a_t,     h = u + p / rho
    cv = cp0 - R* - R a_tt,      cp = cv + R (1 + a_d - a_dt)^2 / (1 + 2 a_d + a_dd)

Every term has one of the 21 pairs (c, d) of `SHAPES`, so for one mixture at one temperature the
sum is 21 numbers whatever its gases. They are kept for the last few hundred such pairs, which is
what makes a density cheap.

Everything here is plain floats: kelvins, kPa absolute, mol/L, J/mol. Sources: `coefficients`.
"""

from __future__ import annotations

from functools import lru_cache
from math import cosh, exp, sinh, sqrt, tanh
from typing import NamedTuple

from tankbook.gas.coefficients import GASES, R_IDEAL, REDUCING, R
from tankbook.gas.errors import GasError, RangeError
from tankbook.gas.mixture import Mixture

LOWEST_KELVIN, HIGHEST_KELVIN = 223.0, 473.0
HIGHEST_KPA = 70_000.0
SLACK = 1e-9
"""By how much, relatively, rounding may carry a state past a limit it stands on."""


SHAPES = (
    *((0, 1), (0, 2), (0, 3), (0, 4), (0, 7)),
    *((1, 1), (1, 2), (1, 3), (1, 5), (1, 6)),
    *((2, 1), (2, 2), (2, 3), (2, 4)),
    *((3, 1), (3, 2), (3, 3), (3, 4)),
    *((6, 5), (6, 6), (6, 7)),
)
"""The pairs (c, d) that terms have, in the order of the numbers that `_sums` takes."""

ENOUGH_STEPS = 30


class Properties(NamedTuple):
    """The state of a gas. `density` mol/L, `z` the compressibility factor, `pressure_kpa`
    absolute; `u` internal energy and `h` enthalpy in J/mol; `cv` and `cp` in J/(mol K)."""

    density: float
    z: float
    pressure_kpa: float
    u: float
    h: float
    cv: float
    cp: float


def molar_density(x: Mixture, kelvin: float, kpa: float) -> float:
    """The density [mol/L] of `x` at `kelvin` [K, 223 to 473] and `kpa` [absolute, to 70 000].

    Newton's method on the pressure, from the ideal gas; good to about 1e-14 of the density.
    Raises `RangeError` outside the range.
    """
    _check_temperature(kelvin)
    if not 0 < kpa <= HIGHEST_KPA * (1 + SLACK):
        _refuse_pressure(kpa)
    density_r, numbers = _isotherm(x, kelvin)
    ideal = kpa / (R * kelvin * density_r)
    delta = ideal
    for _ in range(ENOUGH_STEPS):
        _, first, second = _sums(numbers, delta)
        step = (ideal - delta * (1 + first)) / (1 + first + second)
        delta += step
        # The error left is of the order of the step squared.
        if abs(step) <= 1e-8 * delta:
            return delta * density_r
    raise GasError(f"no density found at {kelvin:g} K and {kpa:g} kPa")


def pressure_kpa(x: Mixture, kelvin: float, rho: float) -> float:
    """The absolute pressure [kPa] of `x` at `kelvin` [K, 223 to 473] and `rho` [mol/L].

    Raises `RangeError` outside the range, and where the pressure comes to over 70 000 kPa.
    """
    _check_temperature(kelvin)
    if not rho > 0:
        raise RangeError(f"density {rho:g} mol/L is not above 0")
    density_r, numbers = _isotherm(x, kelvin)
    _, first, _ = _sums(numbers, rho / density_r)
    kpa = rho * R * kelvin * (1 + first)
    if not kpa <= HIGHEST_KPA * (1 + SLACK):
        _refuse_pressure(kpa)
    return kpa


def properties(x: Mixture, kelvin: float, rho: float) -> Properties:
    """All properties of `x` at `kelvin` [K, 223 to 473] and `rho` [mol/L].

    Energies have the zero of NIST's reference data for AGA 8: h is zero for each ideal gas at
    298.15 K. Raises `RangeError` as `pressure_kpa` does.
    """
    kpa = pressure_kpa(x, kelvin, rho)
    density_r, numbers = _isotherm(x, kelvin)
    by_tau, by_tau_twice = _isotherm_by_tau(x, kelvin)
    h0, cp0 = _ideal(x, kelvin)
    delta = rho / density_r
    _, d, dd = _sums(numbers, delta)
    t, dt, _ = _sums(by_tau, delta)
    tt, _, _ = _sums(by_tau_twice, delta)
    u = h0 - R_IDEAL * kelvin + R * kelvin * t
    cv = cp0 - R_IDEAL - R * tt
    cp = cv + R * (1 + d - dt) ** 2 / (1 + d + dd)
    return Properties(rho, 1 + d, kpa, u, u + kpa / rho, cv, cp)


def _check_temperature(kelvin: float) -> None:
    if LOWEST_KELVIN * (1 - SLACK) <= kelvin <= HIGHEST_KELVIN * (1 + SLACK):
        return
    side = "below" if kelvin < LOWEST_KELVIN else "above"
    limit = LOWEST_KELVIN if kelvin < LOWEST_KELVIN else HIGHEST_KELVIN
    raise RangeError(
        f"{kelvin:g} K ({kelvin - 273.15:.2f} degC) is {side} the {limit:g} K "
        f"({limit - 273.15:.2f} degC) that the gas model reaches"
    )


def _refuse_pressure(kpa: float) -> None:
    if kpa <= 0:
        raise RangeError(f"absolute pressure {kpa / 100:g} bar is not above 0")
    raise RangeError(
        f"absolute pressure {kpa / 100:g} bar is above the {HIGHEST_KPA / 100:g} bar "
        "that the gas model reaches"
    )


class _Reduced(NamedTuple):
    """A mixture's reducing point, and its terms merged: (place in `SHAPES`, x n, t)."""

    temperature: float
    density: float
    terms: tuple[tuple[int, float, float], ...]


@lru_cache(maxsize=512)
def _reduced(x: Mixture) -> _Reduced:
    """The reducing functions of GERG-2008, and the terms of all gases of the mixture.

    T_r     = sum x_i^2 T_i     + sum over i<j of f(beta_T, gamma_T) sqrt(T_i T_j)
    1/rho_r = sum x_i^2 / rho_i + sum over i<j of f(beta_v, gamma_v) (rho_i^-1/3 + rho_j^-1/3)^3 / 8
    f(beta, gamma) = 2 x_i x_j beta gamma (x_i + x_j) / (beta^2 x_i + x_j)
    """
    present = [(i, xi) for i, xi in enumerate(x.fractions) if xi > 0]
    temperature = volume = 0.0
    merged: dict[tuple[int, float], float] = {}
    for i, xi in present:
        gas = GASES[i]
        temperature += xi * xi * gas.critical_temperature
        volume += xi * xi / gas.critical_density
        for n, d, t, c in gas.residual:
            key = SHAPES.index((c, d)), t
            merged[key] = merged.get(key, 0.0) + xi * n
        for j, xj in present:
            if j <= i:
                continue
            pair, other, both = REDUCING[i, j], GASES[j], 2 * xi * xj * (xi + xj)
            weight = both * pair.beta_t * pair.gamma_t / (pair.beta_t**2 * xi + xj)
            temperature += weight * sqrt(gas.critical_temperature * other.critical_temperature)
            weight = both * pair.beta_v * pair.gamma_v / (pair.beta_v**2 * xi + xj)
            size = gas.critical_density ** (-1 / 3) + other.critical_density ** (-1 / 3)
            volume += weight * size**3 / 8
    return _Reduced(temperature, 1 / volume, tuple((s, n, t) for (s, t), n in merged.items()))


@lru_cache(maxsize=512)
def _isotherm(x: Mixture, kelvin: float) -> tuple[float, list[float]]:
    """The reducing density, and the factor of each of `SHAPES` in alpha."""
    reduced = _reduced(x)
    tau = reduced.temperature / kelvin
    numbers = [0.0] * len(SHAPES)
    for shape, n, t in reduced.terms:
        numbers[shape] += n * tau**t
    return reduced.density, numbers


@lru_cache(maxsize=512)
def _isotherm_by_tau(x: Mixture, kelvin: float) -> tuple[list[float], list[float]]:
    """The factor of each of `SHAPES` in tau d(alpha)/d(tau), and in tau^2 d2(alpha)/d(tau)2."""
    reduced = _reduced(x)
    tau = reduced.temperature / kelvin
    once, twice = [0.0] * len(SHAPES), [0.0] * len(SHAPES)
    for shape, n, t in reduced.terms:
        slope = n * t * tau**t
        once[shape] += slope
        twice[shape] += slope * (t - 1)
    return once, twice


@lru_cache(maxsize=512)
def _ideal(x: Mixture, kelvin: float) -> tuple[float, float]:
    """The enthalpy [J/mol] and heat capacity cp [J/(mol K)] of the ideal-gas mixture.

    cp0/R* = c0 + sum v (y / sinh y)^2 + sum v (y / cosh y)^2,    y = theta / T
    h0/R*  = c0 T + sum v theta coth y - sum v theta tanh y + K
    """
    h0 = cp0 = 0.0
    for xi, gas in zip(x.fractions, GASES, strict=True):
        h, cp = gas.c0 * kelvin + gas.enthalpy_constant, gas.c0
        for v, theta in gas.sinh_terms:
            y = theta / kelvin
            h += v * theta / tanh(y)
            cp += v * (y / sinh(y)) ** 2
        for v, theta in gas.cosh_terms:
            y = theta / kelvin
            h -= v * theta * tanh(y)
            cp += v * (y / cosh(y)) ** 2
        h0 += xi * h
        cp0 += xi * cp
    return R_IDEAL * h0, R_IDEAL * cp0


def _sums(numbers: list[float], delta: float) -> tuple[float, float, float]:
    """S, D S and D D S, where D = delta d/d(delta) and S = sum of a delta^d exp(-delta^c) over
    `SHAPES`, the a being `numbers`.

    With y = c delta^c, D turns a term s into (d - y) s, and D D into ((d - y)^2 - c y) s. So the
    terms of one c need only the sums of s, d s and d d s. (So a_d is D S, and a_dd is D D S - D S.)
    Unrolled, because every density passes here about five times.
    """
    (p1, p2, p3, p4, p7, a1, a2, a3, a5, a6, b1, b2, b3, b4, c1, c2, c3, c4, e5, e6, e7) = numbers
    delta2 = delta * delta
    delta3 = delta2 * delta
    delta4 = delta2 * delta2
    delta5 = delta4 * delta
    delta6 = delta3 * delta3
    delta7 = delta6 * delta

    p1 *= delta
    p2 *= delta2
    p3 *= delta3
    p4 *= delta4
    p7 *= delta7
    total = p1 + p2 + p3 + p4 + p7
    once = p1 + 2 * p2 + 3 * p3 + 4 * p4 + 7 * p7
    twice = p1 + 4 * p2 + 9 * p3 + 16 * p4 + 49 * p7

    a1 *= delta
    a2 *= delta2
    a3 *= delta3
    a5 *= delta5
    a6 *= delta6
    fade = exp(-delta)
    s = a1 + a2 + a3 + a5 + a6
    ds = a1 + 2 * a2 + 3 * a3 + 5 * a5 + 6 * a6
    dds = a1 + 4 * a2 + 9 * a3 + 25 * a5 + 36 * a6
    total += fade * s
    once += fade * (ds - delta * s)
    twice += fade * (dds - delta * (2 * ds - (delta - 1) * s))

    b1 *= delta
    b2 *= delta2
    b3 *= delta3
    b4 *= delta4
    fade, y = exp(-delta2), 2 * delta2
    s = b1 + b2 + b3 + b4
    ds = b1 + 2 * b2 + 3 * b3 + 4 * b4
    dds = b1 + 4 * b2 + 9 * b3 + 16 * b4
    total += fade * s
    once += fade * (ds - y * s)
    twice += fade * (dds - y * (2 * ds - (y - 2) * s))

    c1 *= delta
    c2 *= delta2
    c3 *= delta3
    c4 *= delta4
    fade, y = exp(-delta3), 3 * delta3
    s = c1 + c2 + c3 + c4
    ds = c1 + 2 * c2 + 3 * c3 + 4 * c4
    dds = c1 + 4 * c2 + 9 * c3 + 16 * c4
    total += fade * s
    once += fade * (ds - y * s)
    twice += fade * (dds - y * (2 * ds - (y - 3) * s))

    e5 *= delta5
    e6 *= delta6
    e7 *= delta7
    fade, y = exp(-delta6), 6 * delta6
    s = e5 + e6 + e7
    ds = 5 * e5 + 6 * e6 + 7 * e7
    dds = 25 * e5 + 36 * e6 + 49 * e7
    total += fade * s
    once += fade * (ds - y * s)
    twice += fade * (dds - y * (2 * ds - (y - 6) * s))
    return total, once, twice
