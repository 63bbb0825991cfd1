"""From a session in quantities to the planning problem in plain densities."""

from __future__ import annotations

from msgspec import Struct

from tankbook.filling.check import check_session, left_out, usable_banks, usable_positions
from tankbook.filling.equation import Equation
from tankbook.filling.levels import Standard
from tankbook.filling.loads import Places
from tankbook.filling.nouns import Bank, Position, PositionKind, Session, Vessel
from tankbook.filling.problem import Job, Problem
from tankbook.filling.results import Unfilled
from tankbook.gas import BAR_REFERENCE, PSI_REFERENCE, density
from tankbook.units import STANDARD_ATMOSPHERE, FreeGasFlow, GaugePressure, PressureRate


class Setup(Struct, frozen=True):
    """A session with everything turned into densities at ambient."""

    session: Session
    equation: Equation
    problem: Problem
    vessels: tuple[Vessel, ...]
    banks: tuple[Bank, ...]
    positions: tuple[Position, ...]
    left_out: tuple[Unfilled, ...]


def set_up(session: Session) -> Setup:
    """The planning problem of a session. Raises `PlanError`, and `RangeError` for readings that
    the gas model does not reach."""
    check_session(session)
    positions, banks = usable_positions(session), usable_banks(session)
    out = {v.id: why for v in session.vessels if (why := left_out(session, v, positions))}
    vessels = tuple(v for v in session.vessels if v.id not in out)
    equation = Equation(session.gas.mixture, session.ambient, session.unit)
    problem = Problem(
        volumes=tuple(bank.water_volume.litres for bank in banks),
        densities=tuple(equation.density(b.reading) for b in banks if b.reading is not None),
        jobs=_jobs(session, equation, vessels, positions),
        standard=Standard(
            session.standard.water_volume.litres,
            equation.density(session.standard.start),
            equation.density(session.standard.target),
        ),
        places=_places(vessels, positions),
        minimum_gain=_rise(equation, session.policy.minimum_gain),
        handling=session.policy.handling.minutes,
        compressor=_moles_a_minute(session, equation),
        compressor_top=(
            equation.density(session.compressor.max_pressure) if session.compressor else 0.0
        ),
    )
    return Setup(session, equation, problem, vessels, banks, positions, tuple(out.values()))


def _rise(equation: Equation, pressure: GaugePressure) -> float:
    """The rise in density [mol/L] that lifts an empty cylinder to `pressure`."""
    empty = equation.density_at(STANDARD_ATMOSPHERE.kpa)
    return equation.density(pressure) - empty


def _jobs(
    session: Session,
    equation: Equation,
    vessels: tuple[Vessel, ...],
    positions: tuple[Position, ...],
) -> tuple[Job, ...]:
    groups = sorted({_group(vessel) for vessel in vessels})
    kinds = _kinds(vessels, positions)
    return tuple(
        Job(
            volume=vessel.water_volume.litres,
            start=equation.density(vessel.start),
            target=equation.density(vessel.target),
            group=groups.index(_group(vessel)),
            per_minute=_rate(session, equation, vessel),
            fits=kinds.index(_fitting(vessel, positions)),
            lends=vessel.own and session.policy.non_return_valves is False,
        )
        for vessel in vessels
        if vessel.start is not None
    )


def _group(vessel: Vessel) -> tuple[float, float, str]:
    """Cylinders that may be loaded together: one marked pressure, target and clean state."""
    return vessel.marked.si, vessel.target.si, vessel.clean_state


def _rate(session: Session, equation: Equation, vessel: Vessel) -> float:
    """The fill rate as a density [mol/L a minute]: gas enters evenly, at the pace that takes an
    empty cylinder to its target at the pressure rate."""
    rate: PressureRate = vessel.fill_rate or session.policy.fill_rate
    minutes = vessel.target.pa / (rate.pa_per_s * 60)
    return _rise(equation, vessel.target) / minutes


def _fitting(vessel: Vessel, positions: tuple[Position, ...]) -> tuple[int, ...]:
    return tuple(n for n, position in enumerate(positions) if position.takes(vessel))


def _kinds(vessels: tuple[Vessel, ...], positions: tuple[Position, ...]) -> list[tuple[int, ...]]:
    return sorted({_fitting(vessel, positions) for vessel in vessels})


def _places(vessels: tuple[Vessel, ...], positions: tuple[Position, ...]) -> Places:
    enclosed = sum(position.kind is PositionKind.ENCLOSED for position in positions)
    return Places(tuple(_kinds(vessels, positions)), enclosed)


def _moles_a_minute(session: Session, equation: Equation) -> float:
    """What the compressor delivers [mol/min]: free gas at the unit's reference condition."""
    if session.compressor is None:
        return 0.0
    delivery: FreeGasFlow = session.compressor.delivery
    reference = PSI_REFERENCE if session.unit == "psi" else BAR_REFERENCE
    equation.evaluations += 1
    free = density(equation.mixture, reference.pressure, reference.temperature)
    return delivery.litres_per_min * free
