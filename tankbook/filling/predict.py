"""The heat of one fill in quantities: the gas as it stops, what it settles to, how slowly to go."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.cylinder_wall import Films, Wall, WallMaterial, films, wall_of
from tankbook.filling.equation import Equation
from tankbook.filling.errors import PlanError
from tankbook.filling.heat import Filled, Source, Vessel, Warm, fill
from tankbook.gas import Gas
from tankbook.units import GaugePressure, Mass, PressureRate, Temperature, Volume

SLOWEST, FASTEST = 5.0, 3000.0
"""psi a minute: the rates between which one is looked for."""

ROOM = 1.02


class Fill(Struct, frozen=True, kw_only=True):
    """One fill from one source, everything at `ambient` to begin with.

    `target` is the cold target at ambient, `marked` the pressure that no gauge may pass.
    `bank_volume` None: a source without end, whose pressure and temperature do not fall.
    """

    gas: Gas
    water_volume: Volume
    start: GaugePressure
    target: GaugePressure
    marked: GaugePressure
    source: GaugePressure
    ambient: Temperature
    rate: PressureRate
    bank_volume: Volume | None = None
    material: WallMaterial | None = None
    mass: Mass | None = None
    wet: bool = False
    unit: str = "psi"


class FillHeat(Struct, frozen=True, kw_only=True):
    """A prediction. `stop_at` is the hot gauge to stop at, `settles_to` where that comes to.

    `loss` is what is then missing from the target; `low` and `high` bound the settled pressure
    over the band of the film coefficients.
    """

    gas_temperature: Temperature
    bank_temperature: Temperature
    stop_at: GaugePressure
    settles_to: GaugePressure
    low: GaugePressure
    high: GaugePressure
    loss: GaugePressure
    minutes: float


def predict(order: Fill) -> FillHeat:
    """Stop a fill at the target's density, or at the marked pressure if the hot gauge gets
    there first, and tell what is seen and what is left.

    Raises `PlanError` for a target that cannot be, `RangeError` beyond the gas model.
    """
    _check(order)
    low, usual, high = films(order.wet)
    equation = Equation(order.gas.mixture, order.ambient, order.unit)
    wall = wall_of(order.water_volume, order.material, order.mass)
    runs = [_run(order, equation, wall, film) for film in (usual, low, high)]
    settled = [equation.reading(run.state.rho) for run in runs]
    missing = max(0.0, order.target.pa - settled[0].pa)
    return FillHeat(
        gas_temperature=_celsius(runs[0].state.kelvin),
        bank_temperature=_celsius(runs[0].source.kelvin),
        stop_at=equation.gauge(runs[0].kpa),
        settles_to=settled[0],
        low=min(settled),
        high=max(settled),
        loss=GaugePressure.of(GaugePressure.of(missing / 1000, "kPa").to(order.unit), order.unit),
        minutes=runs[0].minutes,
    )


def rate_for_loss(order: Fill, loss: GaugePressure) -> PressureRate:
    """The fastest rate, in whole psi or tenths of a bar a minute, that loses no more than `loss`.

    Raises `PlanError` where even the slowest rate loses more: the target is too near the marked
    pressure, or the source too low.
    """
    unit = "psi/min" if order.unit == "psi" else "bar/min"

    def keeps(rate: float) -> bool:
        slower = replace(order, rate=PressureRate.of(rate, "psi/min"))
        return predict(slower).loss <= loss

    if not keeps(SLOWEST):
        raise PlanError(
            f"even at {SLOWEST:g} psi/min the fill settles more than {loss} short",
            "accept a larger loss, or top off when it is cold",
        )
    low, high = SLOWEST, FASTEST
    if keeps(high):
        low = high
    while high - low > 0.25:
        middle = (low + high) / 2
        low, high = (middle, high) if keeps(middle) else (low, middle)
    found = PressureRate.of(low, "psi/min").to(unit)
    return PressureRate.of(int(found) if unit == "psi/min" else int(found * 10) / 10, unit)


def _check(order: Fill) -> None:
    if order.target > order.marked:
        raise PlanError(
            f"the target {order.target} is above the marked pressure {order.marked}",
            "give a cold target at ambient that is no higher",
        )
    if order.start >= order.target:
        raise PlanError(
            f"the cylinder holds {order.start}, no less than its target {order.target}",
            "nothing is to be filled",
        )
    if order.rate.si <= 0:
        raise PlanError("the fill rate is zero", "give one, as in 400 psi/min")
    if order.source <= order.target:
        raise PlanError(
            f"the source at {order.source} is not above the target {order.target}",
            "fill from a fuller bank",
        )


def _run(order: Fill, equation: Equation, wall: Wall, film: Films) -> Filled:
    start, target = equation.density(order.start), equation.density(order.target)
    source, kelvin = equation.density(order.source), order.ambient.kelvin
    empty = equation.density(GaugePressure.of(0, "psi"))
    minutes = order.target.pa / (order.rate.pa_per_s * 60)
    bank = order.bank_volume
    return fill(
        equation.sheet(max(source, target) * ROOM),
        Vessel(order.water_volume.litres, wall, film, kelvin),
        Warm(start, kelvin, kelvin),
        Source(
            source,
            kelvin,
            bank.litres if bank else None,
            wall_of(bank, WallMaterial.STEEL) if bank else None,
        ),
        to=target,
        per_minute=(target - empty) / minutes,
        stop_kpa=order.marked.absolute().kpa,
    )


def _celsius(kelvin: float) -> Temperature:
    return Temperature.of(kelvin - 273.15, "degC")
