"""The JSON shape of `plan`: the plan as the planner gives it, and what goes beside it."""

from __future__ import annotations

from typing import Any

from tankbook.filling import as_json, outcome_form
from tankbook.output.plan import Made
from tankbook.rules.answers import Reason

LISTS = ("banks", "cylinders", "loads", "steps", "unfilled")
NONE = (
    "full_fills", "standard", "gas_used_mol", "session_minutes", "compressor_minutes",
    "restore_minutes", "outcome", "other", "readiness",
)  # fmt: skip


def data(made: Made, unit: str, favour: str) -> dict[str, Any]:
    """The JSON shape. Pressures are gauge, in `unit`; the same keys are there without a plan."""
    prepared = made.prepared
    plan: dict[str, Any] = {
        "unit": unit,
        "gas": made.gas.word,
        "ambient_c": round(prepared.ambient.celsius, 6),
        "favour": favour,
        **{name: [] for name in LISTS},
        **dict.fromkeys(NONE),
        "cautions": [],
    }
    if made.plan is not None:
        plan = as_json(made.plan)
    return {
        **plan,
        "asked": made.asked,
        "filled": made.filled,
        "full_already": list(prepared.full),
        "refused": [
            {"id": one.id, "reasons": [_reason(r) for r in one.reasons]} for one in prepared.refused
        ],
        "closed": [_reason(r) for r in prepared.shut],
        "passed_over": [{"id": id_, "why": why} for id_, why in made.passed_over],
        "warnings": [{"id": id_ or None, "text": said} for id_, said in prepared.warnings],
        "assumed": list(prepared.assumed),
        "compared": None
        if made.compared is None
        else [outcome_form(each) for each in made.compared],
        "begins": made.begins,
        "ready_by": made.ready_by,
    }


def _reason(reason: Reason) -> dict[str, Any]:
    return {
        "code": reason.code,
        "text": reason.text,
        "citation": reason.citation,
        "gate": reason.gate,
    }
