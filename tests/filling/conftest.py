"""Sessions to plan, made from short descriptions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pytest
from changing import replace

from tankbook.filling import (
    PlanBank,
    PlanCompressor,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
)
from tankbook.gas import Gas
from tankbook.records.station import Position
from tankbook.records.words import PositionKind
from tankbook.units import (
    FreeGasFlow,
    GaugePressure,
    Length,
    PressureRate,
    RunningTime,
    Temperature,
    Volume,
)

AIR = Gas.parse("air")


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def litres(value: float) -> Volume:
    return Volume.of(value, "L")


def bank(label: str, volume: float, reading: float | None, gas: Gas = AIR, **more: Any) -> PlanBank:
    return PlanBank(
        label=label,
        water_volume=litres(volume),
        reading=None if reading is None else psi(reading),
        gas=gas,
        **more,
    )


def vessel(
    name: str,
    start: float | None,
    target: float = 2900,
    *,
    volume: float = 11.1,
    marked: float = 3000,
    gas: Gas | None = AIR,
    **more: Any,
) -> Vessel:
    return Vessel(
        id=name,
        water_volume=litres(volume),
        start=None if start is None else psi(start),
        target=psi(target),
        marked=psi(marked),
        gas=gas,
        **more,
    )


def positions(enclosed: int = 3, whips: int = 1) -> tuple[Position, ...]:
    return (
        *(Position(name=f"P{n + 1}", kind=PositionKind.ENCLOSED) for n in range(enclosed)),
        *(Position(name=f"W{n + 1}", kind=PositionKind.WHIP) for n in range(whips)),
    )


def position(label: str, diameter: float, length: float) -> Position:
    """An enclosed position with its limits in inches."""
    return Position(
        name=label,
        kind=PositionKind.ENCLOSED,
        max_diameter=Length.of(diameter, "in"),
        max_length=Length.of(length, "in"),
    )


def policy(**more: Any) -> StationPolicy:
    chosen: dict[str, Any] = {"fill_rate": PressureRate.of(400, "psi/min"), "open_whip": True}
    return StationPolicy(**(chosen | more))


def compressor(delivery: float = 7.0, top: float = 5000, **more: Any) -> PlanCompressor:
    flow = FreeGasFlow.of(delivery, "cuft/min")
    return PlanCompressor(delivery=flow, max_pressure=psi(top), **more)


def make_session(banks: Sequence[PlanBank], vessels: Sequence[Vessel], **more: Any) -> Session:
    """A session at 60 degF without heat, unless more is said."""
    chosen: dict[str, Any] = {
        "gas": AIR,
        "positions": positions(),
        "policy": policy(),
        "ambient": Temperature.of(60, "degF"),
        "standard": StandardCylinder(water_volume=litres(11.1), start=psi(500), target=psi(2900)),
        "heat": False,
    }
    return Session(banks=tuple(banks), vessels=tuple(vessels), **(chosen | more))


class Make:
    """The makers above, as one fixture."""

    psi = staticmethod(psi)
    litres = staticmethod(litres)
    bank = staticmethod(bank)
    vessel = staticmethod(vessel)
    positions = staticmethod(positions)
    position = staticmethod(position)
    policy = staticmethod(policy)
    compressor = staticmethod(compressor)
    session = staticmethod(make_session)
    changed = staticmethod(replace)
    rate = staticmethod(lambda value: PressureRate.of(value, "psi/min"))
    minutes = staticmethod(lambda value: RunningTime.of(value, "min"))


@pytest.fixture(name="make", scope="session")
def _make() -> Callable[..., Any] | type[Make]:
    return Make
