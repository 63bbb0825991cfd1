"""The station with its heat, for the usual films and the ends of their band: banks that cool as
they give, cylinders that are warm from their fill and cool while others are filled."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.filling.heat import (
    CLOSE_KPA,
    Charged,
    FilmCases,
    Films,
    GasSource,
    HeatCase,
    Opening,
    ThermalVessel,
    Wall,
    Warm,
    charge,
    hold,
    rest,
    shipped_films,
    wall_of,
)
from tankbook.filling.nouns import Vessel
from tankbook.filling.setup import Setup
from tankbook.filling.state_table import StateTable
from tankbook.records.words import Material
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure, Volume

ROOM = 1.04
"""A sheet reaches so much further than the densest gas of the session."""

JUST_BELOW = 1 - 1e-5
"""A bank is fed to so near what it may hold: a table is as near to the equation."""

HOLD_STEPS = (0.5, 1.0, 1.0, 2.0, 2.0)
"""Minutes of the first steps of a hold; each later one is as long as the last."""

AT_AMBIENT = Wall(1e15, 1.0, 1.0)
NO_RESISTANCE = Films(1e9, 0.0)

E_ = TypeVar("E_")
T_ = TypeVar("T_")


class PerCase(tuple[E_, ...]):
    """One of each case that a session is followed in, in the order of `HeatCase`. The usual is
    always there, the others where there is heat; the ends of the band, and the guard beside the
    coolest, only where they tell something else."""

    __slots__ = ()

    @property
    def usual(self) -> E_:
        """That of what is expected."""
        return self[0]

    @property
    def sure(self) -> E_:
        """That of what is better than nine in ten."""
        return self[1] if len(self) > 1 else self[0]

    @property
    def keeps(self) -> E_:
        """That by which stops are kept, in which most gas goes in."""
        return self[-1]

    @property
    def others(self) -> tuple[E_, ...]:
        """All but that."""
        return self[:-1]


class World(Struct):
    """The station as it goes in one case of the heat: where gas and wall of each bank and cylinder
    stand, at the minute `now` of the session."""

    setup: Setup
    case: HeatCase
    vessels: tuple[ThermalVessel, ...]
    banks: list[GasSource]
    states: list[Warm]
    now: float = 0.0
    banks_at: list[float] = field(default_factory=list)
    states_at: list[float] = field(default_factory=list)
    kinds: tuple[int, ...] = ()
    """Of each cylinder a number that it shares with those that heat meets alike: what is reckoned
    for one holds for them all."""

    @property
    def table(self) -> StateTable:
        """The states of the session's gas."""
        return self.vessels[0].table

    def tried(self) -> World:
        """The same, for trying: nothing that is done there is done here."""
        lists = [*self.banks], [*self.states], self.now, [*self.banks_at], [*self.states_at]
        return World(self.setup, self.case, self.vessels, *lists, self.kinds)

    def kpa(self, job: int) -> float:
        """What the gauge of a cylinder shows now [kPa absolute]."""
        state = self.state(job)
        return self.table.at(state.rho).pressure(state.kelvin)

    def settled(self, job: int) -> GaugePressure:
        """What the gauge of a cylinder will show when it has cooled."""
        kpa = self.table.at(self.states[job].rho).pressure(self.vessels[job].ambient)
        return self.setup.equation.gauge(kpa)

    def bank_kpa(self, bank: int) -> float:
        """What the gauge of a bank shows now [kPa absolute]."""
        source = self.bank(bank)
        return self.table.at(source.rho).pressure(source.kelvin)

    def state(self, job: int) -> Warm:
        """A cylinder as it is now, cooled for as long as it was left alone."""
        alone = self.now - self.states_at[job]
        if alone > 0:
            steps = max(2, min(12, int(alone / 2)))
            vessel, state = self.vessels[job], self.states[job]
            key = "rest", self.kinds[job], state, alone
            self.states[job] = self._once(key, lambda: rest(vessel, state, alone, steps))
            self.states_at[job] = self.now
        return self.states[job]

    def bank(self, bank: int) -> GasSource:
        """A bank as it is now, warmed again for as long as it was left alone."""
        alone = self.now - self.banks_at[bank]
        if alone > 0:
            self.banks[bank] = self._left_alone(self.banks[bank], alone)
            self.banks_at[bank] = self.now
        return self.banks[bank]

    def _left_alone(self, source: GasSource, minutes: float) -> GasSource:
        key = "left alone", self.kinds[:1], source, minutes
        return self._once(key, lambda: source.left_alone(self.vessels[0], minutes))

    def fed(self, bank: int, began: float, minutes: float, most: float, kpa: float) -> float:
        """Feed a bank for some minutes from `began`, `most` [mol] at most, and no more than brings
        its gauge to `kpa` absolute, warm or settled: what went in [mol]."""
        source, alone = self.banks[bank], began - self.banks_at[bank]
        source = self._left_alone(source, alone) if alone > 0 else source
        key = "fed", self.kinds[:1], source, minutes, most, kpa
        amount, then = self._once(key, lambda: self._fed(source, minutes, most, kpa))
        self.banks[bank] = then
        self.banks_at[bank] = max(self.banks_at[bank], began + minutes)
        return amount

    def _fed(
        self, source: GasSource, minutes: float, most: float, kpa: float
    ) -> tuple[float, GasSource]:
        """What goes into a bank, and how it then is; as of `fed`."""
        line = self.table.under(kpa)
        settled = line.state(self.vessels[0].ambient)[0] * JUST_BELOW
        amount = min(most, max(0.0, settled - source.rho) * (source.volume or 0.0))

        def after(amount: float) -> tuple[GasSource, float]:
            then = source.fed(self.vessels[0], amount, minutes)
            return then, self.table.at(then.rho).pressure(then.kelvin) - kpa

        then, high = after(amount)
        if high > CLOSE_KPA:
            unfed, low = after(0.0)
            while high > CLOSE_KPA and low < 0:
                amount *= low / (low - high)
                then, high = after(amount)
            if low >= 0:
                amount, then = 0.0, unfed
        return amount, then

    def source(self, bank: int | None) -> GasSource:
        """A bank, or the compressor's gas: at ambient, and without end."""
        if bank is not None:
            return self.bank(bank)
        return GasSource(self.table.densest, self.vessels[0].ambient, at_line=True)

    def charge(self, bank: int | None, jobs: Sequence[int], opening: Opening) -> Charged:
        """Try what a charge comes to, without doing it."""
        states, source = tuple([self.state(job) for job in jobs]), self.source(bank)
        vessels = [self.vessels[j] for j in jobs]
        key = "charge", self._kinds(jobs), states, source, opening
        return self._once(key, lambda: charge(vessels, states, source, opening))

    def hold(self, jobs: Sequence[int], now: Charged, minutes: float, delivers: float) -> Charged:
        """Try a part of a hold, without doing it."""
        vessels = [self.vessels[j] for j in jobs]
        key = "hold", self._kinds(jobs), now, minutes, delivers
        return self._once(key, lambda: hold(vessels, now, minutes, delivers))

    def _kinds(self, jobs: Sequence[int]) -> tuple[int, ...]:
        return tuple([self.kinds[job] for job in jobs])

    def _once(self, key: tuple[object, ...], reckon: Callable[[], T_]) -> T_:
        """What is reckoned from a key, reckoned once in all that is tried of a session."""
        known, key = self.setup.reckoned, (self.case, *key)
        if key not in known:
            known[key] = reckon()
        found: T_ = known[key]
        return found

    def take(self, bank: int | None, jobs: Sequence[int], done: Charged, minutes: float) -> None:
        """Do what was tried; it took `minutes` of the session."""
        began = self.now
        self.now += minutes
        for job, state in zip(jobs, done.states, strict=True):
            self.states[job], self.states_at[job] = state, began + min(minutes, done.minutes)
        if bank is not None:
            self.banks[bank] = done.source
            self.banks_at[bank] = began + min(minutes, done.minutes)


def _cases(setup: Setup, *, band: bool) -> list[HeatCase]:
    """The cases that a session is followed in. As shipped the coolest is its own guard."""
    if not setup.session.heat:
        return [HeatCase.USUAL]
    fitted = any(vessel.heat for vessel in setup.vessels)
    keeps = HeatCase.GUARD if fitted else HeatCase.COOLEST
    ends = {HeatCase.HOTTEST, HeatCase.COOLEST} if band else set()
    wanted = {HeatCase.USUAL, HeatCase.SURE, keeps, *ends}
    return [case for case in HeatCase if case in wanted]


def worlds(setup: Setup, *, band: bool = True) -> PerCase[World]:
    """The station in each case of the heat; those that only tell the band are left out without
    `band`. Without heat in the session there is one, where everything stays at ambient."""
    shipped = shipped_films(setup.session.policy.wet)
    if not setup.session.heat:
        shipped = replace(shipped, usual=NO_RESISTANCE)
    problem = setup.problem
    densest = max((*problem.densities, *problem.limits, problem.highest_target))
    # without a bank, and with all full already, there is no gas at all: then that of the room
    densest = densest or setup.equation.density_at(STANDARD_ATMOSPHERE.kpa)
    table = setup.equation.sheet(densest * ROOM)
    return PerCase(_world(setup, case, shipped, table) for case in _cases(setup, band=band))


def _world(setup: Setup, case: HeatCase, shipped: FilmCases, table: StateTable) -> World:
    kelvin, heat = setup.session.ambient.kelvin, setup.session.heat
    film = shipped.of(case)
    vessels = tuple(
        ThermalVessel(
            table,
            v.water_volume.litres,
            _wall_around(v, case) if heat else AT_AMBIENT,
            v.heat.films.of(case) if heat and v.heat else film,
            kelvin,
            per_minute=(v.fill_rate or setup.session.policy.fill_rate).si * 60 / 1000,
        )
        for v in setup.vessels
    )
    problem = setup.problem
    banks = [
        GasSource(
            rho,
            kelvin,
            litres,
            wall_of(Volume.of(litres, "L"), Material.STEEL) if heat else AT_AMBIENT,
            film=film.inner,
        )
        for rho, litres in zip(problem.densities, problem.volumes, strict=True)
    ]
    states = [Warm(job.start, kelvin, kelvin) for job in problem.jobs]
    begun = [0.0] * len(banks), [0.0] * len(states)
    return World(setup, case, vessels, banks, states, 0.0, *begun, _kinds(setup, vessels))


def _kinds(setup: Setup, vessels: Sequence[ThermalVessel]) -> tuple[int, ...]:
    """A number for each of some vessels, that of the first that was like it."""
    known = setup.reckoned
    likes = (("kind", v.table, v.volume, v.wall, v.films, v.ambient, v.per_minute) for v in vessels)
    return tuple(known.setdefault(like, len(known)) for like in likes)


def _wall_around(vessel: Vessel, case: HeatCase) -> Wall:
    """The wall of a cylinder in a case; where stops are kept by it, it takes no less heat than as
    shipped."""
    sides = 2 if vessel.doubles else 1
    wall = wall_of(vessel.water_volume, vessel.material, vessel.mass, sides)
    if vessel.heat is None:
        return wall
    guards = case is HeatCase.GUARD
    factor = max(1.0, vessel.heat.wall) if guards else vessel.heat.wall
    return replace(wall, heat_capacity=wall.heat_capacity * factor)
