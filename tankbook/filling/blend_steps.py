"""The steps of a blend, what the gauge shows at each, and how far off the blend may be."""

from __future__ import annotations

from itertools import product

from tankbook.filling.blend_amounts import amounts_of, gauge_of, kpa_of, wanted_of
from tankbook.filling.blend_nouns import BlendAct, BlendOrder, BlendStep, Span
from tankbook.filling.errors import PlanError
from tankbook.filling.mixing import (
    HAIR,
    HELIUM,
    OXYGEN,
    Amounts,
    Fed,
    Ideal,
    Law,
    added,
    filled_to,
)
from tankbook.gas import Mixture
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure


def steps_of(order: BlendOrder, law: Law, amounts: Amounts) -> tuple[BlendStep, ...]:
    contents, steps = wanted_of(order).contents, []
    ideal = _ideal_stops(order)
    fed = Fed(amounts.kept, contents)
    shows = kpa_of(order.start)
    kept = law.pressure(contents, amounts.kept) if amounts.kept > HAIR else 0.0
    if kept < shows * (1 - 1e-9):
        stop = gauge_of(order, kept)
        minutes = _minutes(order, shows, kept, BlendAct.DRAIN)
        steps.append(_step(BlendAct.DRAIN, "", stop, ideal, fed, None, minutes))
        shows = kept
    for act, label, amount, gas in _feeds(order, amounts):
        if amount <= HAIR:
            continue
        fed = added(fed, amount, gas)
        kpa = law.pressure(fed.mixture, fed.amount)
        minutes = _minutes(order, shows, kpa, act)
        steps.append(_step(act, label, gauge_of(order, kpa), ideal, fed, gas, minutes))
        shows = kpa
    return tuple(steps)


def _feeds(order: BlendOrder, amounts: Amounts) -> list[tuple[BlendAct, str, float, Mixture]]:
    return [
        (BlendAct.OXYGEN, order.oxygen.label if order.oxygen else "", amounts.oxygen, OXYGEN),
        (BlendAct.HELIUM, order.helium.label if order.helium else "", amounts.helium, HELIUM),
        (BlendAct.TOP_OFF, order.top_off.supply.label, amounts.top, amounts.top_mixture),
    ]


def _step(
    act: BlendAct,
    source: str,
    stop: GaugePressure,
    ideal: dict[BlendAct, GaugePressure],
    fed: Fed,
    feed: Mixture | None,
    minutes: float,
) -> BlendStep:
    return BlendStep(
        act=act,
        source=source,
        stop=stop,
        ideal=ideal.get(act),
        holds=fed.mixture,
        feed=feed,
        minutes=minutes,
    )


def _minutes(order: BlendOrder, before: float, after: float, act: BlendAct) -> float:
    rate = order.oxygen_rate if act is BlendAct.OXYGEN else order.fill_rate
    return abs(after - before) * 1000 / (rate.pa_per_s * 60)


def _ideal_stops(order: BlendOrder) -> dict[BlendAct, GaugePressure]:
    """The stops by the ideal-gas law; none where it finds no way."""
    law = Ideal(order.ambient.kelvin)
    try:
        amounts = amounts_of(order, law)
    except PlanError:
        return {}
    fed = Fed(amounts.kept, wanted_of(order).contents)
    stops = {BlendAct.DRAIN: gauge_of(order, law.pressure(fed.mixture, fed.amount))}
    for act, _, amount, gas in _feeds(order, amounts):
        fed = added(fed, amount, gas)
        stops[act] = gauge_of(order, law.pressure(fed.mixture, fed.amount))
    return stops


def made_with(law: Law, start: Fed, stops: list[tuple[Mixture, float]]) -> Mixture:
    """What is made when gases are let in, one after another, each to a stop [kPa absolute]."""
    fed = start
    for gas, kpa in stops:
        fed = filled_to(law, fed, gas, kpa)
    return fed.mixture


def with_ideal_stops(order: BlendOrder, law: Law, steps: tuple[BlendStep, ...]) -> float | None:
    """The oxygen percentage that the ideal-gas stops would give with real gas."""
    if not any(step.act is BlendAct.OXYGEN for step in steps):
        return None
    if any(step.ideal is None for step in steps):
        return None
    wanted = wanted_of(order)
    drained = [step for step in steps if step.act is BlendAct.DRAIN]
    kpa = kpa_of(drained[0].ideal) if drained and drained[0].ideal else wanted.start
    start = Fed(law.density(wanted.contents, kpa), wanted.contents)
    stops = [
        (step.feed, kpa_of(step.ideal)) for step in steps if step.feed and step.ideal is not None
    ]
    return 100 * made_with(law, start, stops).oxygen


def spans_of(order: BlendOrder, law: Law, amounts: Amounts) -> tuple[Span, Span]:
    """Oxygen and helium when the gauge is off at each reading, up or down, in any combination."""
    contents, error = wanted_of(order).contents, order.gauge_error.fraction
    fed = Fed(amounts.kept, contents)
    start = law.pressure(contents, amounts.kept) if amounts.kept > HAIR else 0.0
    feeds = []
    for _, _, amount, gas in _feeds(order, amounts):
        if amount > HAIR:
            fed = added(fed, amount, gas)
            feeds.append((gas, law.pressure(fed.mixture, fed.amount)))
    made = []
    for signs in product((-1, 1), repeat=len(feeds) + 1):
        off = [
            _off(kpa, sign * error)
            for kpa, sign in zip([start, *(kpa for _, kpa in feeds)], signs, strict=True)
        ]
        kept = law.density(contents, off[0]) if off[0] > 0 else 0.0
        stops = [(gas, kpa) for (gas, _), kpa in zip(feeds, off[1:], strict=True)]
        made.append(made_with(law, Fed(max(kept, HAIR), contents), stops))
    oxygen, helium = [100 * m.oxygen for m in made], [100 * m.helium for m in made]
    return Span(low=min(oxygen), high=max(oxygen)), Span(low=min(helium), high=max(helium))


def _off(kpa: float, error: float) -> float:
    """An absolute pressure when its gauge reading is off by a fraction of itself."""
    gauge = max(0.0, kpa - STANDARD_ATMOSPHERE.kpa)
    return kpa + error * gauge
