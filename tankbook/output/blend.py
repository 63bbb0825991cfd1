"""How to make a gas in a cylinder, or why it is not made."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from tankbook.filling import Blend, BlendAct, BlendStep, TopOffKind
from tankbook.filling.blend_request import Ordered
from tankbook.gas import Gas
from tankbook.output.as_json import number
from tankbook.output.may_fill import briefly
from tankbook.output.page import Page, counted
from tankbook.output.tables import table
from tankbook.output.words import NOT_ADVICE
from tankbook.records.words import Shore
from tankbook.units import GaugePressure

DO = {
    BlendAct.DRAIN: "drain slowly",
    BlendAct.OXYGEN: "oxygen, slowly",
    BlendAct.HELIUM: "helium",
    BlendAct.TOP_OFF: "top off",
}


class Made(Struct, frozen=True):
    """A blend that was asked for, and how it is made; else why not, and the way out.

    `oxygen_positions` is how many fill positions are cleaned for oxygen, None where not recorded.
    """

    id: str
    target: Gas
    ordered: Ordered
    found: Blend | None
    why: str = ""
    mend: str = ""
    oxygen_positions: int | None = None

    @property
    def blend(self) -> Blend | None:
        """The blend, None where this station has nowhere to let the oxygen in."""
        return None if self.no_position else self.found

    @property
    def no_position(self) -> bool:
        """Whether pure oxygen is needed and no position is cleaned for it."""
        pure = self.found and any(s.act is BlendAct.OXYGEN for s in self.found.steps)
        return bool(pure) and self.oxygen_positions == 0


NO_POSITION = "it takes pure oxygen, and the station has no position cleaned for oxygen"
NO_POSITION_MEND = "blend it from banked nitrox, or where a position is cleaned"


def data(made: Made) -> dict[str, Any]:
    """The JSON shape of `blend`. Pressures are gauge, cold."""
    found = made.blend
    why, mend = _why(made)
    refused = made.ordered.refused
    return {
        "id": made.id,
        "gas": made.target,
        "possible": found is not None,
        "why_not": why or None,
        "mend": mend or None,
        "reasons": [r.text for r in refused.reasons] if refused else [],
        "steps": [_step(step) for step in (found.steps if found else ())],
        "final_psi": number(found.final.psi) if found else None,
        "final_bar": number(found.final.bar) if found else None,
        "oxygen_percent": number(100 * found.mixture.oxygen) if found else None,
        "helium_percent": number(100 * found.mixture.helium) if found else None,
        "oxygen_low": number(found.oxygen_span.low) if found else None,
        "oxygen_high": number(found.oxygen_span.high) if found else None,
        "helium_low": number(found.helium_span.low) if found else None,
        "helium_high": number(found.helium_span.high) if found else None,
        "ideal_oxygen_percent": number(found.ideal_oxygen_percent) if found else None,
        "oxygen_limit_bar": number(found.oxygen_limit) if found else None,
        "depth_limit_ft": found.depth_limit_ft if found else None,
        "depth_limit_m": found.depth_limit_m if found else None,
        "clean_required": found.clean_required if found else None,
        "clean_after": found.clean_after if found else None,
        "validated": found.validated if found else None,
        "warnings": list(made.ordered.warnings),
        "assumed": list(made.ordered.assumed),
        "cautions": list(found.cautions) if found else [],
    }


def _step(step: BlendStep) -> dict[str, Any]:
    return {
        "act": step.act,
        "source": step.source or None,
        "stop_psi": number(step.stop.psi),
        "stop_bar": number(step.stop.bar),
        "ideal_psi": number(step.ideal.psi if step.ideal else None),
        "ideal_bar": number(step.ideal.bar if step.ideal else None),
        "oxygen_percent": number(100 * step.holds.oxygen),
        "helium_percent": number(100 * step.holds.helium),
        "feed_oxygen_percent": number(100 * step.feed.oxygen if step.feed else None),
        "minutes": number(step.minutes),
    }


def _why(made: Made) -> tuple[str, str]:
    if made.no_position:
        return NO_POSITION, NO_POSITION_MEND
    return made.why, made.mend


def text(made: Made, page: Page) -> str:
    """The blend and how far off it may be first, or `NO` and why."""
    found = made.blend
    if found is None:
        return "\n".join([*_refusal(made, page), "", NOT_ADVICE, ""])
    parts = [page.wrap(headline(made, found, page), hang="    ")]
    parts += [page.wrap(line, hang="  ") for line in _answer(found)]
    if found.steps:
        parts += ["", _steps(made, found, page)]
    notes = [*(f"WARNING: {said}" for said in made.ordered.warnings)]
    notes += [f"* {said}" for said in made.ordered.assumed]
    if made.oxygen_positions is None and any(s.act is BlendAct.OXYGEN for s in found.steps):
        notes.append("* Let oxygen in only at a position cleaned for it; none is recorded.")
    parts += ["", *(page.wrap(line, hang="  ") for line in notes)] if notes else []
    parts += ["", "Caution", *(page.wrap(f"- {said}", hang="  ") for said in found.cautions)]
    return "\n".join([*parts, NOT_ADVICE, ""])


def headline(made: Made, found: Blend, page: Page) -> str:
    """`RB-041: nitrox32 at 3320 psi in 2 steps; 31.4 to 32.6 % oxygen with gauges 1 % off`."""
    order = made.ordered.order
    assert order is not None
    steps = counted(len(found.steps), "step") if found.steps else "no step: it holds it already"
    said = f"{made.id}: {made.target} at {exact(found.final, page)} {page.shore}, "
    said += f"cold at {order.ambient}, in "
    span = found.oxygen_span
    said += (
        f"{steps}; {span.low:.1f} to {span.high:.1f} % oxygen with gauges {order.gauge_error} off"
    )
    if found.mixture.helium:
        said += f", {found.helium_span.low:.1f} to {found.helium_span.high:.1f} % helium"
    return said


def _answer(found: Blend) -> Iterator[str]:
    mixture = found.mixture
    made = f"Worked out: {100 * mixture.oxygen:.1f} % oxygen"
    if mixture.helium:
        made += f", {100 * mixture.helium:.1f} % helium"
    if found.ideal_oxygen_percent is not None:
        made += f"; stopping by the ideal-gas law would give {found.ideal_oxygen_percent:.1f} %"
    yield f"{made}."
    yield (
        f"Depth limit as worked out, {found.oxygen_limit:g} bar oxygen, rounded down: "
        f"{found.depth_limit_ft} ft, {found.depth_limit_m} m. The analysis decides."
    )
    if found.clean_required:
        yield "An O2-clean cylinder is required; this one is, by its record."
    if not found.clean_after:
        yield "It is not O2-clean afterwards."


def _steps(made: Made, found: Blend, page: Page) -> str:
    helium = bool(found.mixture.helium) or any(s.holds.helium for s in found.steps)
    rows = []
    for count, step in enumerate(found.steps, 1):
        row = [
            str(count),
            DO[step.act],
            _from(made, step),
            exact(step.stop, page),
            exact(step.ideal, page) if step.ideal else "-",
            f"{100 * step.holds.oxygen:.1f}",
        ]
        row += [f"{100 * step.holds.helium:.1f}"] if helium else []
        rows.append([*row, f"{step.minutes:.1f}"])
    unit = page.shore.value
    headers = ["step", "do", "from", f"stop {unit}", "ideal gas", "oxygen %"]
    headers += ["helium %"] if helium else []
    headers.append("min")
    right = ("step", *headers[3:])
    return table(headers, rows, page, wrap=("from",), right=right)


def _from(made: Made, step: BlendStep) -> str:
    """The supply; of a continuous blender also the mix it is set to."""
    order = made.ordered.order
    if order and order.top_off.kind is TopOffKind.CONTINUOUS and step.act is BlendAct.TOP_OFF:
        assert step.feed is not None
        return f"{step.source}, blender at {100 * step.feed.oxygen:.1f} %"
    return step.source or "-"


def exact(pressure: GaugePressure, page: Page) -> str:
    """A stop as finely as a blender reads it: whole psi or tenths of a bar, rounded down."""
    steps = 1 if page.shore is Shore.PSI else 10
    value = math.floor(pressure.to(page.shore.value) * steps + 1e-6) / steps
    return f"{value:.0f}" if page.shore is Shore.PSI else f"{value:.1f}"


def _refusal(made: Made, page: Page) -> Iterator[str]:
    why, mend = _why(made)
    if why:
        yield page.wrap(f"NO: {made.id}: {why}; {mend}", hang="    ")
    for reason in made.ordered.refused.reasons if made.ordered.refused else ():
        way = f"; {reason.mend}" if reason.mend else ""
        yield page.wrap(f"NO: {made.id}: {briefly(reason)}{way}", hang="    ")
