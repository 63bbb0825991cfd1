"""The heat of a fill: gas and wall each at one temperature, and the bank that cools as it empties.

Energy of the gas:    d(n u) = h_source dn - a_in A_in (T - T_wall) dt
Energy of the wall:   C dT_wall = a_in A_in (T - T_wall) dt - a_out A_out (T_wall - T_ambient) dt
Energy of the bank:   d(n u) = -h dn - a_in A_in (T - T_ambient) dt, its wall staying at ambient

with u and h by the equation of state. Each step is solved for its end (backward Euler), so that
energy is conserved to rounding whatever the step, and the two limits, no film and a film without
resistance, are met. Gas, wall and bank are well mixed: real cylinders are warmer on top.
Plain floats: L, mol/L, K, kPa absolute, minutes.
"""

from __future__ import annotations

from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.cylinder_wall import Films, Wall
from tankbook.filling.state_table import THINNEST, Sheet

STEPS = 20
"""Steps of a fill. Doubling them moves a settled pressure by well under 0.1 %."""

MOST_GUESSES = 40
CLOSE_KPA = 0.05
"""A fill ends within so much of its stop, and never above it."""


class Warm(NamedTuple):
    """Gas in a cylinder: density [mol/L], its temperature and the wall's [K]."""

    rho: float
    kelvin: float
    wall: float


class Vessel(Struct, frozen=True):
    """A cylinder being filled: volume [L], wall (None for none), films, room temperature [K]."""

    volume: float
    wall: Wall | None
    films: Films
    ambient: float


class Source(Struct, frozen=True):
    """Where the gas comes from: density [mol/L] and temperature [K] of the gas in it.

    `volume` [L] is None for a source without end, whose state never changes. `wall` None: no
    heat reaches the gas in the bank while it empties.
    """

    rho: float
    kelvin: float
    volume: float | None = None
    wall: Wall | None = None


class Filled(NamedTuple):
    """How a fill ended: the cylinder, its hot pressure [kPa], the source, minutes taken."""

    state: Warm
    kpa: float
    source: Source
    minutes: float


def fill(
    sheet: Sheet,
    vessel: Vessel,
    start: Warm,
    source: Source,
    *,
    to: float,
    per_minute: float,
    stop_kpa: float = float("inf"),
    left_open: bool = False,
    steps: int = STEPS,
) -> Filled:
    """Fill to the density `to`, at `per_minute` [mol/L a minute], as far as it goes.

    The fill ends early where the hot pressure reaches `stop_kpa` [kPa], or that of the source
    unless the cylinder is `left_open` to it until it has cooled.
    """
    now = Filled(start, _pressure(sheet, start), source, 0.0)
    rise = (to - start.rho) / steps
    if rise <= 0:
        return now
    for _ in range(steps):
        ahead = _onward(sheet, vessel, now, rise, per_minute)
        if _over(sheet, ahead, stop_kpa, left_open):
            return _ended(sheet, vessel, now, rise, per_minute, stop_kpa, left_open)
        now = ahead
    return now


def rest(sheet: Sheet, vessel: Vessel, state: Warm, minutes: float, steps: int = 12) -> Warm:
    """Let a closed cylinder cool for some minutes."""
    for _ in range(steps if minutes > 0 else 0):
        state = _warmed(sheet, vessel, state, state.rho, 0.0, minutes / steps)
    return state


def _over(sheet: Sheet, filled: Filled, stop_kpa: float, left_open: bool) -> bool:
    source = filled.source
    if filled.kpa >= stop_kpa:
        return True
    return not left_open and filled.kpa >= sheet.at(source.rho).pressure(source.kelvin)


def _ended(
    sheet: Sheet,
    vessel: Vessel,
    now: Filled,
    rise: float,
    per_minute: float,
    stop_kpa: float,
    left_open: bool,
) -> Filled:
    """The part of a step after which the fill ends: false position, kept from sticking by
    halving the weight of an end that stays (the Illinois rule). Never beyond the stop."""

    def over(filled: Filled) -> float:
        source = sheet.at(filled.source.rho).pressure(filled.source.kelvin)
        return filled.kpa - (stop_kpa if left_open else min(stop_kpa, source))

    low, high, best = 0.0, 1.0, now
    below, above = over(now), over(_onward(sheet, vessel, now, rise, per_minute))
    if below >= 0:
        return now
    for _ in range(MOST_GUESSES):
        part = low - below * (high - low) / (above - below)
        ahead = _onward(sheet, vessel, now, rise * part, per_minute)
        error = over(ahead)
        if error > 0:
            high, above, below = part, error, below / 2
        else:
            low, below, above, best = part, error, above / 2, ahead
            if error > -CLOSE_KPA:
                break
    return best


def _onward(sheet: Sheet, vessel: Vessel, now: Filled, rise: float, per_minute: float) -> Filled:
    minutes = rise / per_minute
    source, enthalpy = _drawn(sheet, vessel, now.source, rise * vessel.volume, minutes)
    state = _warmed(sheet, vessel, now.state, now.state.rho + rise, enthalpy, minutes)
    return Filled(state, _pressure(sheet, state), source, now.minutes + minutes)


def _warmed(
    sheet: Sheet, vessel: Vessel, before: Warm, rho: float, enthalpy: float, minutes: float
) -> Warm:
    """The cylinder after gas of `enthalpy` [J/mol] has raised its density to `rho`."""
    seconds, volume, wall, film = 60 * minutes, vessel.volume, vessel.wall, vessel.films
    had = before.rho * volume * sheet.at(before.rho).energy(before.kelvin)
    had += (rho - before.rho) * volume * enthalpy
    line, amount = sheet.at(rho), rho * volume
    through = film.inner * wall.inner_area * seconds if wall else 0.0
    out = film.outer * wall.outer_area * seconds if wall else 0.0
    capacity = wall.heat_capacity if wall else 0.0
    # The wall's energy balance, solved for its end temperature: wall = fixed + share * kelvin.
    total = capacity + through + out
    share = through / total if total else 0.0
    fixed = (capacity * before.wall + out * vessel.ambient) / total if total else before.wall
    kelvin = before.kelvin
    for _ in range(30):
        lost = through * (kelvin - fixed - share * kelvin)
        excess = amount * line.energy(kelvin) + lost - had
        step = excess / (amount * line.heat_capacity(kelvin) + through * (1 - share))
        kelvin = min(max(kelvin - step, 223.0), line.hottest)
        if abs(step) < 1e-7:
            break
    return Warm(rho, kelvin, fixed + share * kelvin)


def _drawn(
    sheet: Sheet, vessel: Vessel, source: Source, amount: float, minutes: float
) -> tuple[Source, float]:
    """The source after `amount` [mol] has left it, and the mean enthalpy [J/mol] it left with."""
    line = sheet.at(source.rho)
    leaving = line.enthalpy(source.kelvin)
    if source.volume is None:
        return source, leaving
    rho = max(THINNEST, source.rho - amount / source.volume)
    after = sheet.at(rho)
    had = source.rho * source.volume * line.energy(source.kelvin)
    warmth = source.wall.inner_area * vessel.films.inner * 60 * minutes if source.wall else 0.0
    kelvin, mean = source.kelvin, leaving
    for _ in range(3):
        gained = warmth * (vessel.ambient - kelvin)
        energy = (had - amount * mean + gained) / (rho * source.volume)
        slope = 1 + warmth / (rho * source.volume * after.heat_capacity(kelvin))
        kelvin += (after.temperature(energy, kelvin) - kelvin) / slope
        mean = (leaving + after.enthalpy(kelvin)) / 2
    return replace(source, rho=rho, kelvin=kelvin), mean


def _pressure(sheet: Sheet, state: Warm) -> float:
    return sheet.at(state.rho).pressure(state.kelvin)
