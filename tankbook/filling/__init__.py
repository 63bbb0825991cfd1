"""Filling: equalizing, planning a session, the heat of a fill, blending.

`plan` and `compare_ways` take a `Session`, `equalize` takes cylinders, `blend` a `BlendOrder`.
All are pure and give the same answer to the same question. What cannot be answered is a
`PlanError`.
"""

from tankbook.filling.blend import blend
from tankbook.filling.blend_nouns import (
    Blend,
    BlendAct,
    BlendOrder,
    BlendStep,
    BlendSupply,
    PercentSpan,
    TopOff,
    TopOffKind,
)
from tankbook.filling.day import plan_day
from tankbook.filling.day_course import Demand
from tankbook.filling.equalize import Equalized, LevelCylinder, equalize
from tankbook.filling.nouns import (
    PlanBank,
    PlanCompressor,
    PlanError,
    PlanGauge,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
)
from tankbook.filling.plan_form import as_json, outcome_form
from tankbook.filling.problem import Favour
from tankbook.filling.results import (
    BankAfter,
    Carried,
    CylinderChange,
    Day,
    DayCylinder,
    DaySession,
    Ends,
    Hot,
    Load,
    Outcome,
    Plan,
    PlanAct,
    PlanStep,
    Reached,
    Readiness,
    Seat,
    Unfilled,
)
from tankbook.filling.session import compare_ways, plan

__all__ = [
    "BankAfter",
    "Blend",
    "BlendAct",
    "BlendOrder",
    "BlendStep",
    "BlendSupply",
    "Carried",
    "CylinderChange",
    "Day",
    "DayCylinder",
    "DaySession",
    "Demand",
    "Ends",
    "Equalized",
    "Favour",
    "Hot",
    "LevelCylinder",
    "Load",
    "Outcome",
    "PercentSpan",
    "Plan",
    "PlanAct",
    "PlanBank",
    "PlanCompressor",
    "PlanError",
    "PlanGauge",
    "PlanStep",
    "Reached",
    "Readiness",
    "Seat",
    "Session",
    "StandardCylinder",
    "StationPolicy",
    "TopOff",
    "TopOffKind",
    "Unfilled",
    "Vessel",
    "as_json",
    "blend",
    "compare_ways",
    "equalize",
    "outcome_form",
    "plan",
    "plan_day",
]
