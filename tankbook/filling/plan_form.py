"""A plan as plain values, ready for JSON. The shape is documented in docs/fill-planning.md."""

from __future__ import annotations

from typing import Any

from msgspec.structs import asdict

from tankbook.filling.nouns import SizeHeat
from tankbook.filling.results import CylinderChange, Day, HandMove, Outcome, Plan, PlanStep
from tankbook.units import GaugePressure

DIGITS = 9
"""Decimals of a pressure: a reader that carries the plan out gets the same cold readings."""


def as_json(plan: Plan) -> dict[str, Any]:
    """The plan with every pressure a number in `unit`, gauge; volumes in L, times in minutes."""
    unit = plan.unit

    def shown(pressure: GaugePressure | None) -> float | None:
        return _shown(pressure, unit)

    return {
        "unit": unit,
        "gas": plan.gas,
        "ambient_c": round(plan.ambient.celsius, 6),
        "favour": plan.favour.value,
        "banks": [
            {
                "label": bank.label,
                "water_volume_l": round(bank.water_volume.litres, 9),
                "before": shown(bank.before),
                "after": shown(bank.after),
            }
            for bank in plan.banks
        ],
        "cylinders": [
            {
                "id": one.id,
                "water_volume_l": round(one.water_volume.litres, 9),
                "start": shown(one.start),
                "target": shown(one.target),
                "holds": shown(one.holds),
                "full": one.full,
            }
            for one in plan.reached
        ],
        "loads": [
            {
                "number": load.number,
                "fill_pressure": shown(load.fill_pressure),
                "positions": {seat.id: seat.position for seat in load.seats},
                "gauges": {seat.id: seat.gauge for seat in load.seats},
                "handling_minutes": _minutes(load.handling_minutes),
            }
            for load in plan.loads
        ],
        "steps": [_step(step, unit) for step in plan.steps],
        "unfilled": [
            {"id": one.id, "why": one.why, "mend": one.mend, "holds": shown(one.holds)}
            for one in plan.unfilled
            if not one.full
        ],
        "full_fills": plan.full_fills,
        "standard": plan.standard,
        "gas_used_mol": round(plan.gas_used_mol, 6),
        "session_minutes": _minutes(plan.session_minutes),
        "attended_minutes": _minutes(plan.attended_minutes),
        "compressor_minutes": _minutes(plan.compressor_minutes),
        "restore_minutes": _minutes(plan.restore_minutes),
        "outcome": outcome_form(plan.outcome),
        "other": outcome_form(plan.other),
        "carried": [asdict(each) for each in plan.carried],
        "readiness": None if plan.readiness is None else asdict(plan.readiness),
        "day": None if plan.day is None else _day(plan.day),
        "cautions": list(plan.cautions),
        "heat": [size_form(size, unit) for size in plan.sizes],
    }


def size_form(size: SizeHeat, unit: str) -> dict[str, Any]:
    """What is known of the heat of a size as plain values, pressures in `unit`."""
    return {
        "size": str(size.kind),
        "material": size.kind.material.value,
        "water_volume_l": size.kind.litres * size.kind.sides,
        "cylinders": list(size.ids),
        "values": "fitted" if size.fills else "shipped",
        "fills": size.fills,
        "of_cylinders": size.cylinders,
        "not_counted": size.passed,
        "told": list(size.told),
        "inner_w_m2k": round(size.inner, 2),
        "outer_w_m2k": round(size.outer, 2),
        "wall": round(size.wall, 4),
        **{
            name: _shown(getattr(size, name), unit)
            for name in ("start", "stop", "below", "least", "most", "shipped_below")
        },
    }


def _day(day: Day) -> dict[str, Any]:
    return {
        "earlier_minutes": _minutes(day.earlier),
        "chosen": day.chosen,
        "meanwhile": list(day.meanwhile),
        "sessions": [
            {
                "loads": list(range(one.first, one.last + 1)),
                "from_minutes": _minutes(one.begins),
                "until_minutes": _minutes(one.ends),
                "filled": one.filled,
                "full_fills": one.full_fills,
            }
            for one in day.sessions
        ],
        "cylinders": [
            {
                "id": one.id,
                "comes_minutes": _minutes(one.comes),
                "needed_minutes": _minutes(one.needed),
                "ready_minutes": _minutes(one.ready),
                "in_time": one.in_time,
            }
            for one in day.cylinders
        ],
    }


def outcome_form(outcome: Outcome) -> dict[str, Any]:
    """One way of working as plain values."""
    return asdict(outcome)


def _step(step: PlanStep, unit: str) -> dict[str, Any]:
    return {
        "number": step.number,
        "load": step.load,
        "act": step.act.value,
        "source": step.source,
        "ends": step.ends.value,
        "minutes": _minutes(step.minutes),
        "in_turn": step.in_turn,
        "held_minutes": _minutes(step.held),
        "likely_minutes": _minutes(step.likely),
        "moves": [_move(move, unit) for move in step.moves],
        "source_before": _shown(step.source_before, unit),
        "source_after": _shown(step.source_after, unit),
        "fed": [
            {
                "bank": fed.bank,
                "mol": round(fed.mol, 6),
                "after": _shown(fed.after, unit),
                "shows": _shown(fed.shows, unit),
            }
            for fed in step.fed
        ],
        "cylinders": [_change(change, unit) for change in step.changes],
    }


def _move(move: HandMove, unit: str) -> dict[str, Any]:
    return {
        "turn": move.turn.value,
        "part": move.part.value,
        "name": move.name,
        "at": _shown(move.at, unit),
        "at_most": _shown(move.at_most, unit),
        "minutes": _minutes(move.minutes),
    }


def _change(change: CylinderChange, unit: str) -> dict[str, Any]:
    hot = change.hot
    return {
        "id": change.id,
        "position": change.position,
        "before": _shown(change.before, unit),
        "reads": _shown(change.reads, unit),
        "ends": change.ends.value,
        "minutes": _minutes(change.minutes),
        "stop_at": _shown(change.stop_at, unit),
        "at_most": _shown(change.at_most, unit),
        "settles_to": _shown(change.after, unit),
        "gas_c": None if hot is None else round(hot.gas.celsius, 2),
        "settles_low": None if hot is None else _shown(hot.low, unit),
        "settles_high": None if hot is None else _shown(hot.high, unit),
    }


def _shown(pressure: GaugePressure | None, unit: str) -> float | None:
    return None if pressure is None else round(pressure.to(unit), DIGITS)


def _minutes(value: float | None) -> float | None:
    return None if value is None else round(value, 6)
