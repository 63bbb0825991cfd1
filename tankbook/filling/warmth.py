"""The warmth of the cylinders while a plan is carried out."""

from __future__ import annotations

from collections.abc import Container
from functools import cached_property

from tankbook.filling.heat import Films, GasSource, ThermalVessel, Warm, fill, films, rest, wall_of
from tankbook.filling.levels import TINY
from tankbook.filling.results import CylinderChange, Hot
from tankbook.filling.setup import Setup
from tankbook.filling.state_table import StateTable
from tankbook.records.words import Material
from tankbook.units import Temperature, Volume

ROOM = 1.02
"""A sheet reaches so much further than the densest gas of the session."""


class Warmth:
    """Where gas and wall of each cylinder stand, for the usual films and the ends of their band.

    Without heat in the session every cylinder stays at ambient, and each stop is at its target.
    """

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.on = setup.session.heat
        self.kelvin = setup.session.ambient.kelvin
        low, usual, high = films(setup.session.policy.wet)
        self.films = (usual, low, high)
        self.states: dict[int, list[Warm]] = {}
        self.stopped: dict[int, list[float]] = {}
        self.idle: dict[int, float] = {}

    @cached_property
    def sheet(self) -> StateTable:
        """The gas's energies, made when first asked for."""
        problem = self.setup.problem
        densest = max((*problem.densities, problem.highest_target))
        return self.setup.equation.sheet(densest * ROOM)

    def filled(
        self,
        job: int,
        start: float,
        to: float,
        source: tuple[float, float | None],
        stops: bool,
        per_minute: float | None = None,
    ) -> float:
        """Fill a cylinder and give its density then: `to`, or less where its hot gauge reaches
        the marked pressure first. `source` is the density and the volume of what feeds it."""
        if not self.on:
            return to
        rho, volume = source
        wall = wall_of(Volume.of(volume, "L"), Material.STEEL) if volume else None
        marked = self.setup.vessels[job].marked.absolute().kpa
        runs = [
            fill(
                self._vessel(job, film),
                state,
                GasSource(rho, self.kelvin, volume, wall),
                to=to,
                per_minute=per_minute or self.setup.problem.jobs[job].per_minute,
                stop_kpa=marked if stops else float("inf"),
                left_open=not stops or volume is None,
            )
            for film, state in zip(self.films, self._state(job, start), strict=True)
        ]
        usual = to if not stops or to - runs[0].state.rho < TINY else runs[0].state.rho
        self.states[job] = [run.state._replace(rho=usual) for run in runs]
        self.idle[job] = 0.0
        self.stopped[job] = [run.state.rho for run in runs]
        return usual

    def rested(self, job: int) -> float:
        """Minutes since a cylinder was last filled from."""
        return self.idle.get(job, 0.0)

    def _vessel(self, job: int, film: Films) -> ThermalVessel:
        vessel = self.setup.vessels[job]
        wall = wall_of(vessel.water_volume, vessel.material, vessel.mass)
        return ThermalVessel(self.sheet, vessel.water_volume.litres, wall, film, self.kelvin)

    def _state(self, job: int, rho: float) -> list[Warm]:
        """A cylinder as it is now, cooled for as long as it was left alone."""
        states = self.states.get(job)
        if states is None:
            return [Warm(rho, self.kelvin, self.kelvin)] * len(self.films)
        minutes = self.idle.get(job, 0.0)
        return [
            rest(self._vessel(job, film), state, minutes)
            for film, state in zip(self.films, states, strict=True)
        ]

    def pass_time(self, minutes: float, but: Container[int] = ()) -> None:
        """Let every cylinder but some be left alone for some minutes."""
        for job in self.states:
            if job not in but:
                self.idle[job] = self.idle.get(job, 0.0) + minutes

    def change(self, job: int, before: float, after: float, stops: bool) -> CylinderChange:
        """What a step did to a cylinder, with the gauge to stop at and what comes of it."""
        equation, vessel = self.setup.equation, self.setup.vessels[job]
        settled = equation.reading(after)
        if not self.on:
            return CylinderChange(
                id=vessel.id, before=equation.reading(before), after=settled, stop_at=settled
            )
        usual = self.states[job][0]
        shows = self.sheet.at(usual.rho).pressure(usual.kelvin)
        marked = vessel.marked.absolute().kpa
        band = sorted(self.stopped[job]) if stops else [after]
        hot = Hot(
            gas=Temperature.of(usual.kelvin - 273.15, "degC"),
            settles=settled,
            low=equation.reading(band[0]),
            high=equation.reading(band[-1]),
        )
        stop = equation.gauge(min(shows, marked)) if stops else settled
        return CylinderChange(
            id=vessel.id, before=equation.reading(before), after=settled, stop_at=stop, hot=hot
        )
