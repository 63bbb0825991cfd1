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

from collections.abc import Callable, Sequence
from enum import StrEnum
from math import expm1, inf, pi
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.figures import (
    INNER_FILM,
    LENGTH_TO_BORE,
    MASS_PER_LITRE,
    OUTER_DRY,
    OUTER_WET,
    OUTSIDE_TO_INSIDE,
    SPECIFIC_HEAT,
    SURE_INNER,
    SURE_OUTER_DRY,
    SURE_OUTER_WET,
)
from tankbook.filling.state_table import COLDEST, THINNEST, StateTable
from tankbook.records.words import Material
from tankbook.units import Mass, Volume

STEP_KPA, FEWEST_STEPS = 1500.0, 5
"""The steps of a charge. Sixteen times finer ones move a settled pressure by less than 0.2 %."""

MOST_GUESSES = 40
CLOSE_KELVIN = 0.1
"""A temperature is found when the last of Newton's steps was shorter: what is then missing is some
0.003 of its square, less than a ten-thousandth."""

SLOW = 1e-3
"""What comes to rest at a lower rate has its mean in the middle, by the first terms of a series."""

CLOSE_KPA = 0.2
"""A charge ends within so much of its stop, and never above it."""


# --- the wall of a cylinder, and the films of still and moving gas or water on either side of it


class Wall(Struct, frozen=True):
    """A wall at one temperature: heat capacity [J/K] and areas [m2]."""

    heat_capacity: float
    inner_area: float
    outer_area: float


class Films(Struct, frozen=True):
    """Heat flow through each side of the wall [W/(m2 K)]; zero lets none through."""

    inner: float = INNER_FILM.usual
    outer: float = OUTER_DRY.usual


class HeatCase(StrEnum):
    """A case in which the heat of a session is followed.

    `usual` is what is expected, `sure` is better than nine in ten fills, `hottest` and `coolest`
    are the ends of the band. By `guard` stops are kept: it is no hotter than as shipped.
    """

    USUAL = "usual"
    SURE = "sure"
    HOTTEST = "hottest"
    COOLEST = "coolest"
    GUARD = "guard"


class FilmCases(Struct, frozen=True):
    """The films of each case."""

    usual: Films
    sure: Films
    hottest: Films
    coolest: Films
    guard: Films

    def of(self, case: HeatCase) -> Films:
        """Those of a case."""
        found: Films = getattr(self, case.value)
        return found


def shipped_films(wet: bool = False) -> FilmCases:
    """The films as they are shipped, dry or in a water bath."""
    outer = OUTER_WET if wet else OUTER_DRY
    coolest = Films(INNER_FILM.high, outer.high)
    return FilmCases(
        usual=Films(INNER_FILM.usual, outer.usual),
        sure=Films(SURE_INNER, SURE_OUTER_WET if wet else SURE_OUTER_DRY),
        hottest=Films(INNER_FILM.low, outer.low),
        coolest=coolest,
        guard=coolest,
    )


def wall_of(
    water_volume: Volume,
    material: Material | None = None,
    mass: Mass | None = None,
    count: int = 1,
) -> Wall:
    """The wall of a cylinder, or of `count` alike filled as one; an unknown material is taken as
    aluminium, as most are."""
    known = material or Material.ALUMINIUM
    litres = water_volume.litres
    kilograms = mass.kg if mass is not None else MASS_PER_LITRE[known] * litres
    bore = (4 * water_volume.m3 / count / (pi * LENGTH_TO_BORE)) ** (1 / 3)
    area = count * pi * bore * bore * (LENGTH_TO_BORE + 0.5)
    return Wall(kilograms * SPECIFIC_HEAT[known], area, area * OUTSIDE_TO_INSIDE)


# --- a fill


class Warm(NamedTuple):
    """Gas in a cylinder: density [mol/L], its temperature and the wall's [K], and its internal
    energy [J/mol] where that is known already."""

    rho: float
    kelvin: float
    wall: float
    energy: float | None = None


class ThermalVessel(Struct, frozen=True):
    """What heat meets in a cylinder: the states of its gas, volume [L], wall (None for none),
    films, room temperature [K]; and how fast its gauge may rise [kPa a minute].

    Who it is, and how far it may be filled, is the `Vessel` of `nouns.py`.
    """

    table: StateTable
    volume: float
    wall: Wall | None
    films: Films
    ambient: float
    per_minute: float = inf


class GasSource(Struct, frozen=True):
    """The state of what a cylinder is filled from: density [mol/L] and temperature [K] of its gas.

    `volume` [L] is None for a source without end, whose state never changes; `at_line`: it gives
    gas at the pressure of the line, as a compressor does. `wall` None: no
    heat reaches the gas in the bank while it empties; else through its own inner `film` [W/(m2 K)],
    None for that of the cylinder.
    """

    rho: float
    kelvin: float
    volume: float | None = None
    wall: Wall | None = None
    at_line: bool = False
    film: float | None = None

    def left_alone(self, vessel: ThermalVessel, minutes: float) -> GasSource:
        """The source after some minutes in which nothing left it."""
        return _drawn(vessel, self, 0.0, minutes)[0]

    def fed(self, vessel: ThermalVessel, amount: float, minutes: float) -> GasSource:
        """The bank after a compressor has fed it `amount` [mol] over some minutes, at its pressure
        and the room's temperature."""
        kpa = vessel.table.at(self.rho).pressure(self.kelvin)
        brings = vessel.table.under(kpa).enthalpy(vessel.ambient)
        return _drawn(vessel, self, -amount, minutes, brings)[0]


class Charged(NamedTuple):
    """How a charge ended: the cylinders, the pressure [kPa] they were brought to together, the
    source, the minutes it took, by how much the enthalpy [J/mol] of what left the source changed
    in the last whole step, and what the gauge of each [kPa] showed as it was opened: infinity for
    one that the source never reached."""

    states: tuple[Warm, ...]
    kpa: float
    source: GasSource
    minutes: float
    falls: float | None = None
    joined: tuple[float, ...] = ()


class Opening(Struct, frozen=True):
    """How cylinders are opened to a source: the gauge to stop at [kPa], how fast the gauge may rise
    [kPa a minute] where no cylinder asks for less, the most that the source delivers [mol a
    minute], and the density that none may pass [mol/L]. `joins` is of each cylinder at what gauge
    [kPa] it is opened, where it is no fuller by then; of none, each at what it shows itself."""

    to_kpa: float
    per_minute: float = inf
    delivers: float = inf
    densest: float = inf
    joins: tuple[float, ...] = ()


def charge(
    vessels: Sequence[ThermalVessel],
    states: Sequence[Warm],
    source: GasSource,
    opening: Opening,
    finer: int = 1,
) -> Charged:
    """Bring cylinders to one pressure: the emptiest is opened first, each other joins at the level.
    The gauge rises as fast as the slowest of those allows that are open by then.

    It ends where the gauge reads the stop, where the source is no longer above it, or where one of
    them has all the gas it may hold, whichever is first.
    """
    begins = min(map(_pressure, vessels, states))
    now = Charged(tuple(states), begins, source, 0.0)
    highest = opening.to_kpa
    if not source.at_line:
        highest = min(highest, vessels[0].table.at(source.rho).pressure(source.kelvin))
    steps = finer * max(FEWEST_STEPS, int((highest - begins) / STEP_KPA))
    rise = (highest - begins) / steps
    if rise <= 0:
        return now

    joined = [inf] * len(states)
    joins = opening.joins or (0.0,) * len(states)
    paces = [min(opening.per_minute, vessel.per_minute) for vessel in vessels]

    def minutes_of(now: Charged, part: float) -> float:
        """How long a part of a step takes at least."""
        if len(set(paces)) == 1:
            return rise * part / paces[0]
        shown = map(max, joins, map(_pressure, vessels, now.states))
        opens = [p if at == inf else now.kpa for p, at in zip(shown, joined, strict=True)]
        return _rising(now.kpa, now.kpa + rise * part, opens, paces)

    def onward(now: Charged, part: float) -> Charged:
        """A part of a step further."""
        kpa, minutes = now.kpa + rise * part, minutes_of(now, part)
        waits = [at == inf and least > kpa for at, least in zip(joined, joins, strict=True)]
        return _brought(vessels, now, kpa, minutes, opening.delivers, part=part, shut=waits)

    def over(then: Charged) -> float:
        """How far it is beyond where the charge ends [kPa]."""
        past = -inf
        if not then.source.at_line:
            line = vessels[0].table.at(then.source.rho)
            past = then.kpa - line.pressure(then.source.kelvin)
        fullest = max(state.rho for state in then.states)
        return max(past, then.kpa * (fullest / opening.densest - 1))

    if over(now) >= 0:
        return now
    for _ in range(steps):
        ahead = onward(now, 1.0)
        ended = over(ahead) > CLOSE_KPA
        ahead = _ended(now, onward, over) if ended else ahead
        for n, (before, after) in enumerate(zip(now.states, ahead.states, strict=True)):
            if joined[n] == inf and after.rho > before.rho:
                joined[n] = max(joins[n], _pressure(vessels[n], before))
        now = ahead._replace(joined=tuple(joined))
        if ended:
            break
    return now


def _rising(low: float, high: float, opens: Sequence[float], paces: Sequence[float]) -> float:
    """The minutes in which a gauge rises from one pressure [kPa] to another, where each cylinder is
    open from one on, and from then on holds it to its pace [kPa a minute]."""
    minutes, at = 0.0, low
    for then in sorted({high, *(p for p in opens if low < p < high)}):
        pace = min((each for p, each in zip(opens, paces, strict=True) if p <= at), default=inf)
        minutes, at = minutes + (then - at) / pace, then
    return minutes


def hold(
    vessels: Sequence[ThermalVessel], now: Charged, minutes: float, delivers: float = inf
) -> Charged:
    """Keep cylinders open to the source at the pressure they have come to, for some minutes: each
    takes more as it cools. The pressure sinks with a source that no longer reaches it."""
    kpa = now.kpa
    if not now.source.at_line:
        line = vessels[0].table.at(now.source.rho)
        kpa = min(kpa, line.pressure(now.source.kelvin))
    then = _brought(vessels, now, kpa, minutes, delivers, waits=True)
    return then._replace(kpa=now.kpa)


def _brought(
    vessels: Sequence[ThermalVessel],
    now: Charged,
    kpa: float,
    minutes: float,
    delivers: float,
    *,
    waits: bool = False,
    part: float = 1.0,
    shut: Sequence[bool] = (),
) -> Charged:
    """Every cylinder below `kpa` brought to it; the others, and those that are `shut`, left to
    cool. A source that delivers too little takes longer, or, where the time is set, gives what it
    can.

    The gas comes with the mean enthalpy of the step, foreseen from the step before.
    """
    leaving, apart = _enthalpy(vessels[0], now.source, kpa), shut or (False,) * len(vessels)
    enthalpy = leaving + part * (now.falls or 0.0) / 2
    for tries in range(3):
        states = tuple(
            _alone(vessel, state, minutes)
            if cools
            else _raised(vessel, state, kpa, enthalpy, minutes)
            for vessel, state, cools in zip(vessels, now.states, apart, strict=True)
        )
        amount = sum(
            vessel.volume * (after.rho - before.rho)
            for vessel, before, after in zip(vessels, now.states, states, strict=True)
        )
        needs = amount / delivers
        if needs > minutes * 1.001 and waits:
            sunk = _resting(vessels, now, minutes)
            kpa = sunk + (kpa - sunk) * minutes / needs
        elif needs > minutes * 1.001:
            minutes = needs
        elif now.falls is None and not tries and now.source.volume is not None:
            enthalpy = _drawn(vessels[0], now.source, amount, minutes)[1]
        else:
            break
    drawn, _ = _drawn(vessels[0], now.source, amount, minutes, enthalpy)
    falls = 0.0
    if now.source.volume is not None:
        falls = (vessels[0].table.at(drawn.rho).enthalpy(drawn.kelvin) - leaving) / part
    return Charged(states, kpa, drawn, now.minutes + minutes, falls, now.joined)


def _enthalpy(vessel: ThermalVessel, source: GasSource, kpa: float) -> float:
    """The enthalpy [J/mol] of what leaves a source into a line at `kpa`. What a compressor delivers
    comes at that pressure and its own temperature."""
    if source.volume is not None or not source.at_line:
        return vessel.table.at(source.rho).enthalpy(source.kelvin)
    return vessel.table.under(kpa).enthalpy(source.kelvin)


def _resting(vessels: Sequence[ThermalVessel], now: Charged, minutes: float) -> float:
    """The pressure that cylinders sink to when they are left alone."""
    return min(
        _pressure(vessel, _alone(vessel, state, minutes))
        for vessel, state in zip(vessels, now.states, strict=True)
    )


class _WallBalance(NamedTuple):
    """The wall's energy balance over some minutes, solved for its end: film conductance times the
    time [J/K], and the wall's temperature [K] as `fixed + share * gas temperature`."""

    film: float
    fixed: float
    share: float


def _balance(vessel: ThermalVessel, before: Warm, minutes: float) -> _WallBalance:
    wall, seconds = vessel.wall, 60 * minutes
    if wall is None:
        return _WallBalance(0.0, before.wall, 0.0)
    film = vessel.films.inner * wall.inner_area * seconds
    out = vessel.films.outer * wall.outer_area * seconds
    total = wall.heat_capacity + film + out
    fixed = (wall.heat_capacity * before.wall + out * vessel.ambient) / total
    return _WallBalance(film, fixed, film / total)


def _raised(
    vessel: ThermalVessel, before: Warm, kpa: float, enthalpy: float, minutes: float
) -> Warm:
    """The cylinder brought to a pressure by gas of `enthalpy` [J/mol]; one that is above it stays
    shut and cools. The temperature is found by Newton's steps along the line of that pressure."""
    volume, line = vessel.volume, vessel.table.under(kpa)
    film, fixed, share = _balance(vessel, before, minutes)
    had, kelvin = before.rho * (_energy(vessel, before) - enthalpy), before.kelvin
    for _ in range(MOST_GUESSES):
        rho, thins, energy, warms = line.state(kelvin)
        brings = energy - enthalpy
        excess = volume * (rho * brings - had) + film * (kelvin - fixed - share * kelvin)
        step = excess / (volume * (rho * warms + thins * brings) + film * (1 - share))
        step = kelvin - min(max(kelvin - step, COLDEST), line.hottest)
        kelvin, rho, energy = kelvin - step, rho - thins * step, energy - warms * step
        if abs(step) < CLOSE_KELVIN:
            break
    if rho <= before.rho:
        return _alone(vessel, before, minutes)
    return Warm(rho, kelvin, fixed + share * kelvin, energy)


def rest(vessel: ThermalVessel, state: Warm, minutes: float, steps: int = 12) -> Warm:
    """Let a closed cylinder cool for some minutes."""
    for _ in range(steps if minutes > 0 else 0):
        state = _alone(vessel, state, minutes / steps)
    return state


def _ended(
    now: Charged, onward: Callable[[Charged, float], Charged], over: Callable[[Charged], float]
) -> Charged:
    """The part of a step after which the charge ends: false position, kept from sticking by
    halving the weight of an end that stays (the Illinois rule). Never beyond the stop."""
    low, high, best = 0.0, 1.0, now
    below, above = over(now), over(onward(now, 1.0))
    if below >= 0:
        return now
    for _ in range(MOST_GUESSES):
        part = low - below * (high - low) / (above - below)
        ahead = onward(now, part)
        error = over(ahead)
        if error > 0:
            high, above, below = part, error, below / 2
        else:
            low, below, above, best = part, error, above / 2, ahead
            if error > -CLOSE_KPA:
                break
    return best


def _alone(vessel: ThermalVessel, before: Warm, minutes: float) -> Warm:
    """A shut cylinder after some minutes in which it gives its heat to the room."""
    line, amount = vessel.table.at(before.rho), before.rho * vessel.volume
    film, fixed, share = _balance(vessel, before, minutes)
    had, kelvin = amount * _energy(vessel, before), before.kelvin
    for _ in range(MOST_GUESSES):
        energy, warms = line.energy_and_slope(kelvin)
        excess = amount * energy - had + film * (kelvin - fixed - share * kelvin)
        step = excess / (amount * warms + film * (1 - share))
        step = kelvin - min(max(kelvin - step, COLDEST), line.hottest)
        kelvin, energy = kelvin - step, energy - warms * step
        if abs(step) < CLOSE_KELVIN:
            break
    return Warm(before.rho, kelvin, fixed + share * kelvin, energy)


def _drawn(
    vessel: ThermalVessel,
    source: GasSource,
    amount: float,
    minutes: float,
    enthalpy: float | None = None,
) -> tuple[GasSource, float]:
    """The source after `amount` [mol] has left it, and the mean enthalpy [J/mol] it left with:
    that given, else the mean of before and after."""
    line = vessel.table.at(source.rho)
    leaving = line.enthalpy(source.kelvin)
    if source.volume is None:
        return source, leaving
    rho = max(THINNEST, source.rho - amount / source.volume)
    after, held = vessel.table.at(rho), rho * source.volume
    had = source.rho * source.volume * line.energy(source.kelvin)
    inner = vessel.films.inner if source.film is None else source.film
    film = source.wall.inner_area * inner * 60 * minutes if source.wall else 0.0
    kelvin, mean = source.kelvin, leaving if enthalpy is None else enthalpy
    ends = _end_counts(film / (held * after.energy_and_slope(kelvin)[1]))
    colder = vessel.ambient - (1 - ends) * source.kelvin
    for _ in range(MOST_GUESSES):
        energy, warms = after.energy_and_slope(kelvin)
        excess = held * energy - had + amount * mean - film * (colder - ends * kelvin)
        step = excess / (held * warms + film * ends)
        step = kelvin - min(max(kelvin - step, COLDEST), after.hottest)
        kelvin -= step
        if abs(step) < CLOSE_KELVIN:
            break
        if enthalpy is None:
            mean = (leaving + after.enthalpy(kelvin)) / 2
    return replace(source, rho=rho, kelvin=kelvin), mean


def _end_counts(rate: float) -> float:
    """How much the end of a step counts, against its beginning, in the mean over it of what comes
    to rest at `rate` a step: with that, one that cools or warms by itself is met at every step."""
    return 1 / -expm1(-rate) - 1 / rate if rate > SLOW else 0.5 + rate / 12


def _energy(vessel: ThermalVessel, state: Warm) -> float:
    if state.energy is not None:
        return state.energy
    return vessel.table.at(state.rho).energy(state.kelvin)


def _pressure(vessel: ThermalVessel, state: Warm) -> float:
    return vessel.table.at(state.rho).pressure(state.kelvin)
