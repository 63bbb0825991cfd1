"""Filling: equalizing, planning a session, the heat of a fill, blending.

`plan` and `compare` take a `Session`, `equalize` takes cylinders, `blend` a `BlendOrder`. All are
pure and give the same answer to the same question. What cannot be answered is a `PlanError`.
"""

from tankbook.filling.blend import blend
from tankbook.filling.blend_nouns import (
    Blend,
    BlendAct,
    BlendOrder,
    BlendStep,
    Span,
    Supply,
    TopOff,
    TopOffKind,
)
from tankbook.filling.equalize import Equalized, Settled, equalize
from tankbook.filling.nouns import (
    Bank,
    Compressor,
    Gauge,
    PlanError,
    Session,
    Standard,
    StationPolicy,
    Vessel,
)
from tankbook.filling.plan_form import as_json, outcome_form
from tankbook.filling.problem import Favour
from tankbook.filling.results import (
    Act,
    BankAfter,
    Change,
    Ends,
    Hot,
    Load,
    Outcome,
    Plan,
    Reached,
    Readiness,
    Seat,
    Step,
    Unfilled,
)
from tankbook.filling.session import compare, plan

__all__ = [
    "Act",
    "Bank",
    "BankAfter",
    "Blend",
    "BlendAct",
    "BlendOrder",
    "BlendStep",
    "Change",
    "Compressor",
    "Ends",
    "Equalized",
    "Favour",
    "Gauge",
    "Hot",
    "Load",
    "Outcome",
    "Plan",
    "PlanError",
    "Reached",
    "Readiness",
    "Seat",
    "Session",
    "Settled",
    "Span",
    "Standard",
    "StationPolicy",
    "Step",
    "Supply",
    "TopOff",
    "TopOffKind",
    "Unfilled",
    "Vessel",
    "as_json",
    "blend",
    "compare",
    "equalize",
    "outcome_form",
    "plan",
]
