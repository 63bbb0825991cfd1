"""From a session in quantities to the planning problem in plain densities, once nothing is wrong
with it and those who can take no part are set apart."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from math import inf
from typing import Any

from msgspec import Struct, field

from tankbook.filling.equation import Equation, made_a_minute, pressure_text
from tankbook.filling.figures import INNER_FILM, MOST_UNSURE, SHORTEST_RUN
from tankbook.filling.heat import wall_of
from tankbook.filling.levels import StandardFill
from tankbook.filling.loads import FillPositions
from tankbook.filling.nouns import PlanBank, PlanCompressor, PlanError, Session, Vessel, takes
from tankbook.filling.problem import FillJob, Problem
from tankbook.filling.results import Unfilled
from tankbook.gas import Gas, Mixture
from tankbook.records.station import Position
from tankbook.records.words import Material, PositionKind
from tankbook.units import GAUGE_STEP, SAID_LIKE, STANDARD_ATMOSPHERE, GaugePressure, PressureRate

Reckoned = dict[tuple[object, ...], Any]


class Setup(Struct, frozen=True, dict=True):
    """A session with everything turned into densities at ambient."""

    session: Session
    equation: Equation
    problem: Problem
    vessels: tuple[Vessel, ...]
    banks: tuple[PlanBank, ...]
    positions: tuple[Position, ...]
    left_out: tuple[Unfilled, ...]
    reckoned: Reckoned = field(default_factory=dict)
    """What heat came to so far, by all that it follows from: ways that are tried differ in few
    loads, much is tried before it is done, and the sessions of a day are alike in much."""

    @cached_property
    def begun(self) -> dict[tuple[object, ...], object]:
        """The station after the first loads of what was carried out so far, by what was done in
        them: what begins alike is gone through once."""
        return {}


def set_up(session: Session, reckoned: Reckoned | None = None) -> Setup:
    """The planning problem of a session, with what was reckoned and searched for in others of its
    day. Raises `PlanError`, and `RangeError` for readings that the gas model does not reach."""
    check_session(session)
    positions, banks = usable_positions(session), usable_banks(session)
    out = {v.id: why for v in session.vessels if (why := left_out(session, v, positions))}
    vessels = tuple(v for v in session.vessels if v.id not in out)
    equation = Equation(session.gas.mixture, session.ambient, session.unit)
    delivers = _moles_a_minute(session, equation)
    known = {} if reckoned is None else reckoned
    groups = sorted({_group(vessel) for vessel in vessels})
    kinds = sorted({_fitting(vessel, positions) for vessel in vessels})
    problem = Problem(
        volumes=tuple(bank.water_volume.litres for bank in banks),
        densities=tuple(equation.density(b.reading) for b in banks if b.reading is not None),
        jobs=tuple(
            FillJob(
                volume=vessel.water_volume.litres,
                start=equation.density(vessel.start),
                target=equation.density(vessel.target),
                group=groups.index(_group(vessel)),
                per_minute=_rate(session, equation, vessel),
                fits=kinds.index(_fitting(vessel, positions)),
                lends=vessel.own and session.policy.non_return_valves is False,
                enough=_enough(session, equation, vessel.target),
            )
            for vessel in vessels
            if vessel.start is not None
        ),
        standard=StandardFill(
            session.standard.water_volume.litres,
            equation.density(session.standard.start),
            equation.density(session.standard.target),
        ),
        places=FillPositions(
            tuple(kinds),
            sum(p.kind is PositionKind.ENCLOSED for p in positions),
            frozenset(n for n, p in enumerate(positions) if p.valve is False),
        ),
        minimum_gain=_rise(equation, least_gain(session)),
        handling=session.policy.handling.minutes,
        compressor=delivers,
        compressor_top=(
            equation.density(session.compressor.max_pressure) if session.compressor else 0.0
        ),
        limits=_limits(session, equation, banks, delivers),
        known=known,
    )
    return Setup(session, equation, problem, vessels, banks, positions, tuple(out.values()), known)


def _enough(session: Session, equation: Equation, target: GaugePressure) -> float:
    """What a cylinder is to hold at least [mol/L] that the compressor does not fill to its target:
    that less the loss that is accepted."""
    made = session.compressor
    if made is None or target <= made.max_pressure:
        return inf
    least = target.kpa * (1 - session.policy.acceptable_loss.fraction)
    return equation.density(GaugePressure.of(least, "kPa"))


def least_gain(session: Session) -> GaugePressure:
    """What a bank must add to be opened: the policy's minimum, and no less than a gauge shows."""
    return max(session.policy.minimum_gain, GAUGE_STEP[session.unit], key=lambda p: p.pa)


def _rise(equation: Equation, pressure: GaugePressure) -> float:
    """The rise in density [mol/L] that lifts an empty cylinder to `pressure`."""
    empty = equation.density_at(STANDARD_ATMOSPHERE.kpa)
    return equation.density(pressure) - empty


def _group(vessel: Vessel) -> tuple[float, float, str]:
    """Cylinders that may be loaded together: one marked pressure, target and clean state."""
    return vessel.marked.si, vessel.target.si, vessel.clean_state


def _rate(session: Session, equation: Equation, vessel: Vessel) -> float:
    """The fill rate as a density [mol/L a minute]: gas enters evenly, at the pace that takes an
    empty cylinder to its target at the pressure rate."""
    rate: PressureRate = vessel.fill_rate or session.policy.fill_rate
    minutes = vessel.target.pa / (rate.pa_per_s * 60)
    return _rise(equation, vessel.target) / minutes


def fed_to(session: Session, bank: PlanBank) -> GaugePressure | None:
    """The gauge to which the compressor may feed a bank: its own highest, or the bank's limit."""
    made = session.compressor
    return min(made.max_pressure, bank.limit or made.max_pressure) if made else None


def _limits(
    session: Session, equation: Equation, banks: tuple[PlanBank, ...], delivers: float
) -> tuple[float, ...]:
    """What each bank holds when its gauge has come to where it may be fed to [mol/L]: its gas is
    then as much warmer than the bank as lets out the work of pushing each mole in."""
    held = []
    for bank in banks:
        gauge, kelvin = fed_to(session, bank), session.ambient.kelvin
        rho = equation.density(gauge) if gauge else 0.0
        if gauge and rho and session.heat:
            watts = delivers / 60 * gauge.absolute().kpa / rho
            film = INNER_FILM.usual * wall_of(bank.water_volume, Material.STEEL).inner_area
            rho *= kelvin / (kelvin + watts / film)
        held.append(rho)
    return tuple(held)


def _fitting(vessel: Vessel, positions: tuple[Position, ...]) -> tuple[int, ...]:
    return tuple(n for n, position in enumerate(positions) if takes(position, vessel))


def _moles_a_minute(session: Session, equation: Equation) -> float:
    """What the compressor delivers [mol/min]: free gas at the unit's reference condition."""
    if session.compressor is None:
        return 0.0
    equation.evaluations += 1
    return made_a_minute(session.compressor.delivery, equation.mixture, session.unit)


# --- what is wrong with a session, and who can take no part in it

SAME = 1e-4
"""Mixtures whose fractions agree to this are one gas: no analyser tells them apart."""


def same_gas(one: Gas, other: Gas) -> bool:
    """Whether two gases are one for planning."""
    return same_mixture(one.mixture, other.mixture)


def same_mixture(one: Mixture, other: Mixture) -> bool:
    """Whether two mixtures are one for planning."""
    pairs = zip(one.fractions, other.fractions, strict=True)
    return all(abs(a - b) <= SAME for a, b in pairs)


def usable_positions(session: Session) -> tuple[Position, ...]:
    """The positions that the policy allows, enclosed ones first. Raises `PlanError` for none."""
    if not session.positions:
        raise PlanError(
            "the station has no fill positions", "list them under positions in station.yaml"
        )
    enclosed = [p for p in session.positions if p.kind is PositionKind.ENCLOSED]
    whips = [p for p in session.positions if p.kind is PositionKind.WHIP]
    usable = (*enclosed, *(whips if session.policy.open_whip else ()))
    if not usable:
        raise PlanError(
            "the station has only open whips and its policy does not allow them",
            "fill at an enclosed position, or change the policy on open whips",
        )
    return usable


def usable_banks(session: Session) -> tuple[PlanBank, ...]:
    """The banks that hold the session's gas. Raises `PlanError` for a reading that is missing
    or stale, and where there is nothing to fill from."""
    _unlike("bank", [bank.label for bank in session.banks])
    usable = tuple(bank for bank in session.banks if same_gas(bank.gas, session.gas))
    for bank in usable:
        _check_reading(session, bank)
    if usable or session.compressor:
        return usable
    if session.banks:
        held = ", ".join(f"{bank.label} holds {bank.gas}" for bank in session.banks)
        raise PlanError(
            f"no bank holds {session.gas}: {held}", "plan one gas at a time, or make a blend"
        )
    raise PlanError("the station has no banks and no compressor", "list its banks in station.yaml")


def _check_reading(session: Session, bank: PlanBank) -> None:
    like = SAID_LIKE[session.unit]
    mend = f"read its gauge and give it, as in --bank {bank.label}={like.bank}"
    if bank.reading is None:
        raise PlanError(f"bank {bank.label} has no reading", mend)
    age, good_for = bank.reading_age, session.policy.reading_good_for
    if age is not None and age > good_for:
        raise PlanError(
            f"the reading of bank {bank.label} is {age.hours:.0f} h old; "
            f"the policy trusts one for {good_for.hours:g} h",
            mend,
        )
    if bank.unsure is not None and bank.unsure.pa > MOST_UNSURE.fraction * bank.reading.pa:
        off = pressure_text(bank.unsure, session.unit)
        raise PlanError(
            f"bank {bank.label} was filled from so often since it was read that it may be off by "
            f"{off}",
            mend,
        )
    if bank.water_volume.si <= 0:
        raise PlanError(f"bank {bank.label} has no water volume", "give its water volume")


def check_session(session: Session) -> None:
    """Refuse what cannot be planned at all. Raises `PlanError`."""
    like = SAID_LIKE[session.unit]
    if not session.vessels:
        raise PlanError("there is no cylinder to fill", f"name one, as in 14={like.empty}")
    _unlike("cylinder", [vessel.id for vessel in session.vessels])
    if session.policy.fill_rate.si <= 0:
        raise PlanError("the fill rate is zero", f"give one, as in {like.rate}")
    standard = session.standard
    if standard.target <= standard.start or standard.water_volume.si <= 0:
        raise PlanError(
            f"the {standard.name} is no cylinder to count fills in: {standard.start} to "
            f"{standard.target} in {standard.water_volume}",
            "give it a volume, and a target above its start",
        )
    if session.compressor is not None:
        _check_compressor(session.compressor)
    for vessel in session.vessels:
        _check_vessel(vessel, like.rate)


def _check_compressor(made: PlanCompressor) -> None:
    """Refuse a compressor that cannot be worked with. Raises `PlanError`."""
    for name, said in (("longest_run", made.longest_run), ("drain_every", made.drain_every)):
        if said is not None and said < SHORTEST_RUN:
            raise PlanError(
                f"`{name}` of the compressor is {said}",
                "correct it in station.yaml, or leave it out with --no-compressor",
            )


def _check_vessel(vessel: Vessel, like: str) -> None:
    if vessel.water_volume.si <= 0:
        raise PlanError(f"cylinder {vessel.id} has no water volume", "give its water volume")
    if vessel.target > vessel.marked:
        raise PlanError(
            f"the target of cylinder {vessel.id}, {vessel.target}, is above its marked "
            f"pressure {vessel.marked}",
            "give a cold target at ambient that is no higher than the marked pressure",
        )
    if vessel.fill_rate is not None and vessel.fill_rate.si <= 0:
        raise PlanError(f"the fill rate of cylinder {vessel.id} is zero", f"give one, as in {like}")


def _unlike(what: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise PlanError(f"{what} {name} is named twice", "name each once")
        seen.add(name)


def least_full(session: Session, vessel: Vessel) -> GaugePressure:
    """The least reading with which a cylinder stands full: within the loss that the policy accepts
    of what it would be filled to, or within what a gauge is read to."""
    target, loss = vessel.target.pa, session.policy.acceptable_loss.fraction
    least = min(target * (1 - loss), target - GAUGE_STEP[session.unit].pa)
    return GaugePressure.of(max(0.0, least) / 1000, "kPa")


def left_out(session: Session, vessel: Vessel, positions: Iterable[Position]) -> Unfilled | None:
    """Why a cylinder takes no part, if so."""

    def because(why: str, mend: str, *, full: bool = False) -> Unfilled:
        return Unfilled(id=vessel.id, why=why, mend=mend, holds=vessel.start, full=full)

    like = SAID_LIKE[session.unit].empty
    if vessel.start is None:
        return because("its reading is missing", f"read its gauge, as in {vessel.id}={like}")
    if vessel.gas is None:
        return because("what it holds is unknown", "analyse it, or drain it and look inside")
    if not same_gas(vessel.gas, session.gas):
        return because(
            f"it holds {vessel.gas}, the session fills {session.gas}",
            "drain it, or make a blend of it",
        )
    if vessel.start > vessel.target:
        return because(
            f"it holds {pressure_text(vessel.start, session.unit)}, above its cold target "
            f"{pressure_text(vessel.target, session.unit)}",
            "let it cool and read it again; if it stays above, bleed it down slowly",
        )
    if vessel.start >= least_full(session, vessel):
        target = pressure_text(vessel.target, session.unit)
        return because(f"it is full: its cold target is {target}", "nothing to do", full=True)
    if not any(takes(position, vessel) for position in positions):
        return because(
            "doubles fit no enclosed position"
            if vessel.doubles or vessel.side
            else "it fits no position",
            "fill it at an open whip where the policy allows one",
        )
    return None
