"""How much of each gas a blend takes."""

from __future__ import annotations

from tankbook.filling.blend_nouns import BlendOrder, TopOffKind
from tankbook.filling.errors import PlanError
from tankbook.filling.mixing import (
    HAIR,
    HELIUM,
    OXYGEN,
    Amounts,
    Fed,
    Law,
    Line,
    Wanted,
    added,
    balances,
    most_kept,
)
from tankbook.gas import nitrox
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure

ROUNDS = 4
"""Rounds in which the final density is made that of the mixture that really comes out."""

NEAR = 0.005
"""A drained cylinder still holds an atmosphere; what it then puts out of the mix, up to half a
percent of oxygen, is accepted and shown."""


def kpa_of(pressure: GaugePressure) -> float:
    return pressure.absolute().kpa


def shown(order: BlendOrder, kpa: float) -> str:
    return gauge_of(order, kpa).format(order.unit, 0 if order.unit == "psi" else 1)


def gauge_of(order: BlendOrder, kpa: float) -> GaugePressure:
    above = GaugePressure.of(max(0.0, kpa - STANDARD_ATMOSPHERE.kpa), "kPa")
    return GaugePressure.of(above.to(order.unit), order.unit)


def wanted_of(order: BlendOrder) -> Wanted:
    assert order.contents is not None  # checked before
    return Wanted(
        order.contents.mixture, kpa_of(order.start), order.target.mixture, kpa_of(order.final)
    )


def amounts_of(order: BlendOrder, law: Law) -> Amounts:
    """How much of each gas goes in, by `law`. Raises `PlanError` where none will do."""
    wanted = wanted_of(order)
    has = law.density(wanted.contents, wanted.start)
    least = law.density(wanted.contents, STANDARD_ATMOSPHERE.kpa)
    mixture = wanted.target
    for _ in range(ROUNDS):
        total = law.density(mixture, wanted.final)
        if order.top_off.kind is TopOffKind.CONTINUOUS:
            amounts = _continuous(order, wanted, total, has, least)
        else:
            amounts = _with_pure_gases(order, wanted, total, has, least)
        fed = Fed(amounts.kept, wanted.contents)
        fed = added(added(fed, amounts.oxygen, OXYGEN), amounts.helium, HELIUM)
        mixture = added(fed, amounts.top, amounts.top_mixture).mixture
    return amounts


def _kept(lines: list[Line], has: float, least: float, total: float) -> float | None:
    """What is kept of the contents: all, or what a drain leaves; a drain leaves an atmosphere."""
    kept = most_kept(lines, has)
    if kept is not None and kept >= least - HAIR:
        return kept
    fits = all(line.at(least) >= -NEAR * total for line in lines)
    return least if fits else None


def _with_pure_gases(
    order: BlendOrder, wanted: Wanted, total: float, has: float, least: float
) -> Amounts:
    """Oxygen and helium as they come, then the top-off gas as it is."""
    top = order.top_off.gas.mixture
    oxygen, helium, tops = balances(wanted, total, top)
    lines = [oxygen, helium, tops]
    if order.oxygen is None:
        lines.append(Line(-oxygen.a, -oxygen.b))  # no more than none
    if order.helium is None:
        lines.append(Line(-helium.a, -helium.b))
    kept = _kept(lines, has, least, total)
    if kept is None:
        raise _impossible(order, oxygen, helium)
    in_oxygen = max(0.0, oxygen.at(kept)) if order.oxygen else 0.0
    in_helium = max(0.0, helium.at(kept)) if order.helium else 0.0
    pure, room = in_oxygen + in_helium, max(0.0, total - kept)
    if pure > room:  # only by what a drained cylinder still holds
        in_oxygen, in_helium = in_oxygen * room / pure, in_helium * room / pure
    return Amounts(kept, in_oxygen, in_helium, max(0.0, room - in_oxygen - in_helium), top)


def _continuous(
    order: BlendOrder, wanted: Wanted, total: float, has: float, least: float
) -> Amounts:
    """With a continuous blender the nitrox it makes brings all the oxygen."""
    s, f = wanted.contents, wanted.target
    leanest, richest = order.top_off.gas.mixture.oxygen, order.top_off.max_oxygen.fraction
    helium = Line(total * f.helium, -s.helium)
    tops = Line(total - helium.a, -1 - helium.b)
    oxygen = Line(total * f.oxygen, -s.oxygen)
    lines = [
        helium,
        tops,
        Line(richest * tops.a - oxygen.a, richest * tops.b - oxygen.b),
        Line(oxygen.a - leanest * tops.a, oxygen.b - leanest * tops.b),
    ]
    if order.helium is None:
        lines.append(Line(-helium.a, -helium.b))
    kept = _kept(lines, has, least, total)
    if kept is None:
        raise PlanError(
            f"the continuous blender, {100 * leanest:.1f} to {100 * richest:g} % oxygen, cannot "
            f"make {order.target} of what {order.id} holds",
            "blend by partial pressure, or choose another mix",
        )
    in_helium = max(0.0, helium.at(kept)) if order.helium else 0.0
    top = max(0.0, total - kept - in_helium)
    fraction = oxygen.at(kept) / top if top > HAIR else leanest
    return Amounts(kept, 0.0, in_helium, top, nitrox(min(max(fraction, leanest), richest)))


def _impossible(order: BlendOrder, oxygen: Line, helium: Line) -> PlanError:
    if order.oxygen is None and oxygen.a > HAIR:
        return PlanError(f"{order.target} takes oxygen and there is no supply of it", "name one")
    if order.helium is None and helium.a > HAIR:
        return PlanError(f"{order.target} takes helium and there is no supply of it", "name one")
    if oxygen.a < -HAIR:
        return PlanError(
            f"{order.target} is leaner than the top-off gas {order.top_off.gas} makes it, "
            "even from empty",
            "top off with a leaner gas",
        )
    return PlanError(
        f"{order.target} cannot be made with {order.top_off.gas} on top, even from empty",
        "top off with another gas",
    )
