"""How to make a gas in a cylinder, or why it is not made."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from tankbook.filling import Blend, BlendAct, BlendStep, TopOffKind
from tankbook.filling.blend_request import Ordered
from tankbook.gas import Gas
from tankbook.gas.depth import DENSITY_ADVISED, DENSITY_MOST
from tankbook.output.may_fill import refusals
from tankbook.output.page import Page, counted
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.output.words import cautioned, not_made
from tankbook.records.words import Shore
from tankbook.units import GaugePressure

DO = {
    BlendAct.DRAIN: "drain slowly",
    BlendAct.OXYGEN: "oxygen, slowly",
    BlendAct.HELIUM: "helium",
    BlendAct.TOP_OFF: "top off",
}


class BlendMade(Struct, frozen=True):
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


def data(made: BlendMade) -> dict[str, Any]:
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
        "dangers": list(refused.dangers) if refused else [],
        "steps": _steps(made, Page()).objects(enumerate(found.steps, 1) if found else ()),
        **FOUND.object(found),
        "warnings": list(made.ordered.warnings),
        "assumed": list(made.ordered.assumed),
        "cautions": list(found.cautions) if found else [],
    }


FOUND = Table[Blend](
    Column("final", lambda b: b.final, units=PRESSURE),
    Column("oxygen_percent", lambda b: 100 * b.mixture.oxygen),
    Column("helium_percent", lambda b: 100 * b.mixture.helium),
    Column("oxygen_low", lambda b: b.oxygen_span.low),
    Column("oxygen_high", lambda b: b.oxygen_span.high),
    Column("helium_low", lambda b: b.helium_span.low),
    Column("helium_high", lambda b: b.helium_span.high),
    Column("ideal_oxygen_percent", lambda b: b.ideal_oxygen_percent),
    Column("oxygen_limit", lambda b: str(b.oxygen_limit)),
    Column("oxygen_limit_bar", lambda b: b.oxygen_limit.bar),
    Column("depth_limit_ft", lambda b: b.depth_limit.feet),
    Column("depth_limit_m", lambda b: b.depth_limit.metres),
    Column("oxygen_least", lambda b: str(b.oxygen_least)),
    Column("least_depth_ft", lambda b: b.least_depth.feet),
    Column("least_depth_m", lambda b: b.least_depth.metres),
    Column("air_depth_ft", lambda b: b.at_limit.air_depth.feet),
    Column("air_depth_m", lambda b: b.at_limit.air_depth.metres),
    Column("narcotic_depth_ft", lambda b: b.at_limit.narcotic_depth.feet),
    Column("narcotic_depth_m", lambda b: b.at_limit.narcotic_depth.metres),
    Column("density_g_per_L", lambda b: b.at_limit.density),
    Column("clean_required", lambda b: b.clean_required),
    Column("clean_after", lambda b: b.clean_after),
    Column("validated", lambda b: b.validated),
)
"""What is said of a blend; null where there is none."""

Numbered = tuple[int, BlendStep]


def _steps(made: BlendMade, page: Page) -> Table[Numbered]:
    """What is said of a step; of helium people are told where any is in it."""
    found, unit = made.found, page.shore.value
    helium = found is not None and any(
        mixture.helium for mixture in (found.mixture, *(step.holds for step in found.steps))
    )

    def stop(pressure: GaugePressure) -> str:
        return exact(pressure, page)

    return Table[Numbered](
        Column("", lambda n: n[0], "step", right=True),
        Column("act", lambda n: n[1].act, "do", DO.__getitem__),
        Column("", lambda n: _from(made, n[1]), "from", wrap=True),
        Column("source", lambda n: n[1].source or None),
        Column("stop", lambda n: n[1].stop, f"stop {unit}", stop, units=PRESSURE, right=True),
        Column("ideal", lambda n: n[1].ideal, "ideal gas", stop, units=PRESSURE, right=True),
        Column("oxygen_percent", lambda n: 100 * n[1].holds.oxygen, "oxygen %", TENTHS, right=True),
        Column(
            "helium_percent",
            lambda n: 100 * n[1].holds.helium,
            "helium %" if helium else None,
            TENTHS,
            right=True,
        ),
        Column("feed_oxygen_percent", lambda n: 100 * n[1].feed.oxygen if n[1].feed else None),
        Column("minutes", lambda n: n[1].minutes, "min", TENTHS, right=True),
    )


TENTHS = "{:.1f}".format


def _why(made: BlendMade) -> tuple[str, str]:
    if made.no_position:
        return NO_POSITION, NO_POSITION_MEND
    return made.why, made.mend


def text(made: BlendMade, page: Page) -> str:
    """The blend and how far off it may be first, or `NO` and why."""
    found = made.blend
    if found is None:
        return not_made(_refusal(made), page)
    notes = [*(f"WARNING: {said}" for said in made.ordered.warnings)]
    notes += [f"* {said}" for said in made.ordered.assumed]
    if made.oxygen_positions is None and any(s.act is BlendAct.OXYGEN for s in found.steps):
        notes.append("* Let oxygen in only at a position cleaned for it; none is recorded.")
    return page.answer(
        headline(made, found, page),
        _steps(made, page).text(enumerate(found.steps, 1), page),
        page.paragraphs(notes, hang="  "),
        cautioned(found.cautions, page),
        under=_answer(found),
        hang="    ",
    )


def headline(made: BlendMade, found: Blend, page: Page) -> str:
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
    return said + _too_lean(found)


def _too_lean(found: Blend) -> str:
    """That it cannot be breathed at the surface, for the first line; empty where it can."""
    if found.least_depth.is_surface:
        return ""
    return f". HYPOXIC: not to be breathed above {found.least_depth}"


def _answer(found: Blend) -> Iterator[str]:
    mixture = found.mixture
    made = f"Worked out: {100 * mixture.oxygen:.1f} % oxygen"
    if mixture.helium:
        made += f", {100 * mixture.helium:.1f} % helium"
    if found.ideal_oxygen_percent is not None:
        made += f"; stopping by the ideal-gas law would give {found.ideal_oxygen_percent:.1f} %"
    yield f"{made}."
    yield (
        f"Depth limit as worked out, {found.oxygen_limit} oxygen, rounded down: "
        f"{found.depth_limit}. The analysis decides."
    )
    if not found.least_depth.is_surface:
        yield (
            f"Least depth as worked out, {found.oxygen_least} oxygen, rounded up: "
            f"{found.least_depth}. Travel there on another gas."
        )
    if not found.depth_limit.is_surface:
        yield _at_limit(found)
    if found.clean_required:
        yield "An O2-clean cylinder is required; this one is, by its record."
    if not found.clean_after:
        yield "It is not O2-clean afterwards."


def _at_limit(found: Blend) -> str:
    """What it is like at its limit."""
    there = found.at_limit
    said = f"There, its density is {there.density:.1f} g/L"
    if there.density > DENSITY_MOST:
        said += f", MORE than the {DENSITY_MOST} g/L that should not be passed"
    elif there.density > DENSITY_ADVISED:
        said += f", more than the {DENSITY_ADVISED} g/L that is advised"
    return (
        f"{said}; it is as narcotic as air at {there.narcotic_depth} (oxygen counted) and holds "
        f"the nitrogen of air at {there.air_depth}."
    )


def _from(made: BlendMade, step: BlendStep) -> str:
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


def _refusal(made: BlendMade) -> Iterator[str]:
    why, mend = _why(made)
    if why:
        yield f"NO: {made.id}: {why}; {mend}"
    if made.ordered.refused:
        yield from refusals([made.ordered.refused])
