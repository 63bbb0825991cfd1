"""Like cylinders before banks that read the same, or nearly; all invented."""

from __future__ import annotations

from collections.abc import Sequence

from changing import replace
from drawn_sessions import AIR, AL, BAR, EUROPEAN, FE, US, Kind

from tankbook.filling import (
    PlanBank,
    PlanCompressor,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
    as_json,
    plan,
)
from tankbook.records.station import Position
from tankbook.records.words import PositionKind
from tankbook.units import FreeGasFlow, GaugePressure, Mass, PressureRate, Temperature, Volume


def bar(value: float) -> GaugePressure:
    return GaugePressure.of(value, "bar")


def standing(
    readings: Sequence[float],
    count: int,
    places: int = 4,
    *,
    top_offs: int = 0,
    delivery: float | None = None,
    litres: float = 50,
    unit: str = "bar",
) -> Session:
    """Some like cylinders of 12 L at 50 bar before banks that read so many bar; all invented."""
    most = bar(330)
    made = PlanCompressor(delivery=FreeGasFlow.of(delivery or 1, "L/min"), max_pressure=most)
    return Session(
        gas=AIR,
        unit=unit,
        banks=tuple(
            PlanBank(
                label=f"B{n}",
                water_volume=Volume.of(litres, "L"),
                reading=bar(reads),
                gas=AIR,
                limit=most if delivery else None,
            )
            for n, reads in enumerate(readings, start=1)
        ),
        vessels=tuple(
            Vessel(
                id=f"C{n}",
                water_volume=Volume.of(12, "L"),
                start=bar(50),
                target=bar(232),
                marked=bar(232),
                gas=AIR,
                material=FE,
                mass=Mass.of(14.5, "kg"),
            )
            for n in range(count)
        ),
        positions=tuple(
            Position(name=f"P{n}", kind=PositionKind.ENCLOSED) for n in range(1, places + 1)
        ),
        policy=StationPolicy(fill_rate=PressureRate.of(28, "bar/min"), most_top_offs=top_offs),
        ambient=Temperature.of(20, "degC"),
        standard=StandardCylinder(water_volume=Volume.of(12, "L"), start=bar(50), target=bar(220)),
        compressor=made if delivery else None,
    )


def filled(session: Session) -> int:
    return sum(each["full"] for each in as_json(plan(session))["cylinders"])


def apart(session: Session, psi: float, *, rising: bool) -> Session:
    """The same with each bank that much below the one before it, or after it."""
    banks = session.banks
    steps = reversed(range(len(banks))) if rising else range(len(banks))
    lower = [psi * n for n in steps]
    return replace(
        session,
        banks=tuple(
            replace(bank, reading=GaugePressure.of(bank.reading.to("psi") - less, "psi"))
            for bank, less in zip(banks, lower, strict=True)
        ),
    )


def us(
    readings: Sequence[float], starts: Sequence[float], litres: float = 48, ambient: float = 70
) -> Session:
    """Cylinders of 11.1 L marked 3000 psi before banks that read so many psi."""

    def psi(value: float) -> GaugePressure:
        return GaugePressure.of(value, "psi")

    return Session(
        gas=AIR,
        unit="psi",
        banks=tuple(
            PlanBank(
                label=f"B{n}", water_volume=Volume.of(litres, "L"), reading=psi(reading), gas=AIR
            )
            for n, reading in enumerate(readings, start=1)
        ),
        vessels=tuple(
            Vessel(
                id=f"C{n}",
                water_volume=Volume.of(11.1, "L"),
                start=psi(start),
                target=psi(3000),
                marked=psi(3000),
                gas=AIR,
                material=AL,
                mass=Mass.of(14.2, "kg"),
            )
            for n, start in enumerate(starts)
        ),
        positions=tuple(Position(name=f"P{n}", kind=PositionKind.ENCLOSED) for n in range(1, 5)),
        policy=StationPolicy(fill_rate=PressureRate.of(400, "psi/min")),
        ambient=Temperature.of(ambient, "degF"),
        standard=StandardCylinder(
            water_volume=Volume.of(11.1, "L"), start=psi(500), target=psi(2900)
        ),
    )


def alike(starts: Sequence[float], unit: str, kind: Kind) -> list[Vessel]:
    def at(value: float) -> GaugePressure:
        return GaugePressure.of(value, unit)

    return [
        Vessel(
            id=f"C{n}",
            water_volume=Volume.of(kind.litres, "L"),
            start=at(start),
            target=at(kind.mark),
            marked=at(kind.mark),
            gas=AIR,
            material=kind.material,
        )
        for n, start in enumerate(starts)
    ]


def beside(starts: Sequence[float], readings: Sequence[float], unit: str) -> Session:
    """Cylinders that read so many psi before banks that read so many, in a unit; those of
    12 L at 232 bar, of 11.1 L at 3000 psi."""
    scale, kind = (1.0, US[1]) if unit == "psi" else (BAR, EUROPEAN[0])
    session = us(readings, starts)
    return replace(
        session,
        unit=unit,
        vessels=tuple(alike([round(s / scale) for s in starts], unit, kind)),
        banks=tuple(
            replace(b, reading=GaugePressure.of(r / scale, unit))
            for b, r in zip(session.banks, readings, strict=True)
        ),
    )
