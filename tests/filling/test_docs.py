"""docs/fill-planning.md says what the code does."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from tankbook.filling import Demand, Ends, PlanAct, as_json, plan, plan_day
from tankbook.filling.figures import (
    INNER_FILM,
    MASS_PER_LITRE,
    OUTER_DRY,
    OUTER_WET,
    SPECIFIC_HEAT,
)
from tankbook.filling.nouns import CylinderKind, SizeHeat
from tankbook.filling.results import PanelPart, Turn
from tankbook.records.words import Material

PAGE = (Path(__file__).parents[2] / "docs" / "fill-planning.md").read_text(encoding="utf-8")
SHAPE = PAGE.split("## The JSON of a plan")[1]


def test_every_key_of_the_json_is_documented_and_no_other(make: Any) -> None:
    session = make.session(
        [make.bank("B1", 40, 3400)],
        [make.vessel("A", 500), make.vessel("B", 1500), make.vessel("C", None)],
        compressor=make.compressor(),
        ready_in=make.minutes(60),
        heat=True,
        sizes=(SizeHeat(kind=CylinderKind(Material.STEEL, 12, 1), ids=("A",), inner=1, outer=1),),
    )
    form = as_json(plan(session))
    keys: set[str] = set(form)
    for part in ("banks", "cylinders", "loads", "steps", "unfilled", "heat"):
        keys |= set(form[part][0])
    keys |= set(form["steps"][0]["moves"][0]) | set(form["carried"][0])
    keys |= set(next(step for step in form["steps"] if step["fed"])["fed"][0])
    flow = next(step for step in form["steps"] if step["cylinders"])
    keys |= set(flow["cylinders"][0]) | set(form["outcome"]) | set(form["readiness"])
    day = as_json(plan_day(session, {"A": Demand(needed=60)}))["day"]
    keys |= set(day) | set(day["sessions"][0]) | set(day["cylinders"][0])
    table = [line for line in SHAPE.splitlines() if line.startswith("| `")]
    documented = set()
    for line in table:
        for name in re.findall(r"`([^`]+)`", line):
            documented |= set(name.replace("[]", "").split("."))
    assert documented == keys


def test_every_word_of_a_step_is_documented() -> None:
    said = " ".join(SHAPE.split())
    for word in (*PlanAct, *Ends, *Turn, *PanelPart):
        assert f"`{word}`" in said


def test_the_assumptions_of_the_heat_model_are_the_ones_used() -> None:
    for name, band in (
        ("gas to wall", INNER_FILM),
        ("wall to still air", OUTER_DRY),
        ("wall to a water bath", OUTER_WET),
    ):
        row = f"| {name} | {band.usual:g} W/(m2 K) | {band.low:g} to {band.high:g} |"
        assert row in PAGE
    heats = ", ".join(f"{m} {SPECIFIC_HEAT[m]:g}" for m in Material)
    masses = ", ".join(f"{m} {MASS_PER_LITRE[m]:g}" for m in Material)
    assert f"| specific heat | {heats} J/(kg K) |" in PAGE
    assert f"| mass where not recorded | {masses} kg/L |" in PAGE
