"""Filling: equalizing, planning a session, the heat of a fill, blending.

`plan` and `compare` take a `Session`, `equalize` takes cylinders, `blend` a `BlendOrder`,
`predict` and `rate_for_loss` a `Fill`. All are pure and give the same answer to the same
question. What cannot be answered is a `PlanError`.
"""

from tankbook.filling.blend import blend, depth_limit
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
from tankbook.filling.cylinder_wall import WallMaterial
from tankbook.filling.equalize import Equalized, Settled, equalize
from tankbook.filling.errors import PlanError
from tankbook.filling.nouns import (
    Bank,
    Compressor,
    Gauge,
    Position,
    PositionKind,
    Session,
    Standard,
    StationPolicy,
    Vessel,
)
from tankbook.filling.plan_form import as_json, outcome_form
from tankbook.filling.predict import Fill, FillHeat, predict, rate_for_loss
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
    "Fill",
    "FillHeat",
    "Gauge",
    "Hot",
    "Load",
    "Outcome",
    "Plan",
    "PlanError",
    "Position",
    "PositionKind",
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
    "WallMaterial",
    "as_json",
    "blend",
    "compare",
    "depth_limit",
    "equalize",
    "outcome_form",
    "plan",
    "predict",
    "rate_for_loss",
]
