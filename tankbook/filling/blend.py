"""Blending by partial pressure: oxygen first and slowly, then helium, then the top-off gas.

The steps, what the gauge shows at each, and how far off the blend may be.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

from tankbook.filling.blend_amounts import (
    HAIR,
    HELIUM,
    OXYGEN,
    Amounts,
    Fed,
    Ideal,
    Law,
    Real,
    added,
    amounts_of,
    filled_to,
    kpa_of,
    wanted_of,
)
from tankbook.filling.blend_nouns import (
    Blend,
    BlendAct,
    BlendOrder,
    BlendStep,
    BlendSupply,
    PercentSpan,
)
from tankbook.filling.equation import gauge_of, pressure_text
from tankbook.filling.figures import LEAST_STEP
from tankbook.filling.nouns import PlanError
from tankbook.gas import Gas, GasError, Mixture
from tankbook.gas.depth import SURFACE, Depth, breathed_at, depth_limit, least_depth
from tankbook.units import STANDARD_ATMOSPHERE, AbsolutePressure, GaugePressure

CAUTIONS = (
    "A trained blender decides. The maker's and local rules come first.",
    "Figures are for gas settled at ambient: let each gas cool before reading its stop.",
    "Mixed gas settles slowly (US Navy practice lets it rest 6 hours): analyse before labelling "
    "and again at pick-up. The depth limit is that of the analysed gas.",
    "Never exceed the marked pressure.",
)
SLOW = "Oxygen slowly, no faster than {rate}: heat and a rush of oxygen start fires."
HELIUM_CAUTION = "Helium: unvalidated, the gas model may be about 1 % out at 300 bar."
NOT_CLEAN = "The top-off air is not of oxygen grade: this fill ends the O2-clean state."


def blend(order: BlendOrder) -> Blend:
    """How to make the gas of an order.

    Raises `PlanError` for a cylinder that is not fit for it, and for what the supplies cannot
    reach; `RangeError` beyond the gas model.
    """
    _check(order)
    real = Real(order.ambient.kelvin)
    amounts = amounts_of(order, real)
    _check_clean(order, amounts)
    _check_reach(order, real, amounts)
    steps = steps_of(order, real, amounts)
    mixture = steps[-1].holds if steps else order.target.mixture
    spans = spans_of(order, real, amounts)
    depth = _limit_of(mixture, order.oxygen_limit)
    return Blend(
        id=order.vessel.id,
        steps=steps,
        mixture=mixture,
        final=order.vessel.target,
        oxygen_span=spans[0],
        helium_span=spans[1],
        ideal_oxygen_percent=with_ideal_stops(order, real, steps),
        oxygen_limit=order.oxygen_limit,
        oxygen_least=order.oxygen_least,
        depth_limit=depth,
        least_depth=least_depth(100 * mixture.oxygen, order.oxygen_least),
        at_limit=breathed_at(mixture, depth),
        clean_required=_wants_clean(order, amounts),
        clean_after=order.o2_clean and order.top_off.oxygen_grade,
        validated=mixture.validated,
        cautions=(*_too_small(order, steps), *_cautions(order, amounts, mixture)),
    )


def _limit_of(mixture: Mixture, limit: AbsolutePressure) -> Depth:
    """Where its oxygen reaches a limit; the surface for a gas that is past it there."""
    try:
        return depth_limit(100 * mixture.oxygen, limit)
    except GasError:
        return SURFACE


def _too_small(order: BlendOrder, steps: tuple[BlendStep, ...]) -> Iterator[str]:
    """What is said of stops that lie closer to the one before than a gauge can be read."""
    shows, least = order.vessel.start, LEAST_STEP[order.unit]
    for step in steps:
        rise = abs(step.stop.to(order.unit) - (shows.to(order.unit) if shows else 0.0))
        if rise < least.value:
            by = f"{rise:.1f} {order.unit}"
            yield (
                f"The {step.act} step is {by}, less than a panel gauge shows (about {least}): "
                "use a finer gauge, or drain first so that it takes more."
            )
        shows = step.stop


def _check(order: BlendOrder) -> None:
    vessel = order.vessel
    if vessel.gas is None or vessel.start is None:
        raise PlanError(
            f"what {vessel.id} holds is unknown", "analyse it, or drain it and look inside"
        )
    if vessel.target > vessel.marked:
        raise PlanError(
            f"the final pressure {vessel.target} is above the marked pressure {vessel.marked}",
            "give a cold final pressure that is no higher",
        )
    if order.target.mixture.oxygen <= 0:
        raise PlanError(f"{order.target} holds no oxygen", "name a breathing gas")
    if vessel.water_volume.si <= 0:
        raise PlanError(f"cylinder {vessel.id} has no water volume", "give its water volume")
    if not tops_off(order.top_off.gas):
        raise PlanError(
            f"{order.top_off.gas} is no gas to top off with", "top off with air or nitrox"
        )


def tops_off(gas: Gas) -> bool:
    """Whether a gas is one to top off with: there is nitrogen in it to make up what is to be in the
    mix besides oxygen and helium."""
    return 1 - gas.mixture.oxygen - gas.mixture.helium > HAIR


def _wants_clean(order: BlendOrder, amounts: Amounts) -> bool:
    most = max(order.target.mixture.oxygen, amounts.top_mixture.oxygen)
    return amounts.oxygen > HAIR or most > order.clean_above.fraction


def _check_clean(order: BlendOrder, amounts: Amounts) -> None:
    if not _wants_clean(order, amounts):
        return
    if not order.o2_clean:
        raise PlanError(
            f"{order.vessel.id} is not O2-clean", "clean it for oxygen, or fill it with air"
        )
    if not order.top_off.oxygen_grade:
        raise PlanError(
            f"the top-off gas of {order.top_off.supply.label} is not of oxygen grade",
            "top off with air or nitrox of oxygen grade",
        )


def _check_reach(order: BlendOrder, law: Law, amounts: Amounts) -> None:
    """Each supply must still be above the cylinder when it has given its gas."""
    for feed in _feeds(order, law, amounts):
        supply = feed.supply
        if supply is None:
            continue
        left = kpa_of(supply.pressure)
        if supply.water_volume is not None:
            taken = feed.amount * order.vessel.water_volume.si / supply.water_volume.si
            rho = law.density(feed.gas, left) - taken
            left = law.pressure(feed.gas, rho) if rho > HAIR else 0.0
        if left < feed.kpa * (1 - 1e-9):
            has, needs = (
                pressure_text(gauge_of(kpa, order.unit), order.unit) for kpa in (left, feed.kpa)
            )
            name = "top-off gas" if feed.act is BlendAct.TOP_OFF else feed.act
            raise PlanError(
                f"{supply.label} cannot give the {name}: it would be at {has} where the "
                f"cylinder needs {needs}",
                "use a fuller supply, drain the cylinder first, or choose a lower final pressure",
            )


def _cautions(order: BlendOrder, amounts: Amounts, mixture: Mixture) -> tuple[str, ...]:
    said = list(CAUTIONS)
    if amounts.oxygen > HAIR:
        said.insert(1, SLOW.format(rate=order.oxygen_rate))
    if not mixture.validated:
        said.append(HELIUM_CAUTION)
    if order.o2_clean and not order.top_off.oxygen_grade:
        said.append(NOT_CLEAN)
    return tuple(said)


# --- the steps, what the gauge shows at each, and how far off the blend may be


class _Feed(NamedTuple):
    """A gas let in [mol/L] and from what; the cylinder then, and its pressure [kPa absolute]."""

    act: BlendAct
    supply: BlendSupply | None
    amount: float
    gas: Mixture
    fed: Fed
    kpa: float


def _feeds(order: BlendOrder, law: Law, amounts: Amounts, least: float = HAIR) -> Iterator[_Feed]:
    """The gases in their order; those of which no more than `least` goes in are left out."""
    fed = Fed(amounts.kept, wanted_of(order).contents)
    for act, supply, amount, gas in (
        (BlendAct.OXYGEN, order.oxygen, amounts.oxygen, OXYGEN),
        (BlendAct.HELIUM, order.helium, amounts.helium, HELIUM),
        (BlendAct.TOP_OFF, order.top_off.supply, amounts.top, amounts.top_mixture),
    ):
        if amount > least:
            fed = added(fed, amount, gas)
            yield _Feed(act, supply, amount, gas, fed, law.pressure(fed.mixture, fed.amount))


def steps_of(order: BlendOrder, law: Law, amounts: Amounts) -> tuple[BlendStep, ...]:
    """The steps, a drain before them where the cylinder holds too much."""
    contents, steps = wanted_of(order).contents, []
    ideal = _ideal_stops(order)
    shows = wanted_of(order).start

    def step(
        act: BlendAct, source: str, kpa: float, holds: Mixture, feed: Mixture | None
    ) -> BlendStep:
        rate = order.oxygen_rate if act is BlendAct.OXYGEN else order.fill_rate
        return BlendStep(
            act=act,
            source=source,
            stop=gauge_of(kpa, order.unit),
            ideal=ideal.get(act),
            holds=holds,
            feed=feed,
            minutes=abs(kpa - shows) * 1000 / (rate.pa_per_s * 60),
        )

    kept = law.pressure(contents, amounts.kept) if amounts.kept > HAIR else 0.0
    if kept < shows * (1 - 1e-9):
        steps.append(step(BlendAct.DRAIN, "", kept, contents, None))
        shows = kept
    for feed in _feeds(order, law, amounts):
        label = feed.supply.label if feed.supply else ""
        steps.append(step(feed.act, label, feed.kpa, feed.fed.mixture, feed.gas))
        shows = feed.kpa
    return tuple(steps)


def _ideal_stops(order: BlendOrder) -> dict[BlendAct, GaugePressure]:
    """The stops by the ideal-gas law; none where it finds no way."""
    law = Ideal(order.ambient.kelvin)
    try:
        amounts = amounts_of(order, law)
    except PlanError:
        return {}
    kept = law.pressure(wanted_of(order).contents, amounts.kept)
    stops = {feed.act: feed.kpa for feed in _feeds(order, law, amounts, least=-1.0)}
    return {act: gauge_of(kpa, order.unit) for act, kpa in {BlendAct.DRAIN: kept, **stops}.items()}


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


def spans_of(order: BlendOrder, law: Law, amounts: Amounts) -> tuple[PercentSpan, PercentSpan]:
    """Oxygen and helium when the gauge is off at each reading, up or down, in any combination."""
    contents, error = wanted_of(order).contents, order.gauge_error.fraction
    start = law.pressure(contents, amounts.kept) if amounts.kept > HAIR else 0.0
    feeds = [(feed.gas, feed.kpa) for feed in _feeds(order, law, amounts)]
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
    return PercentSpan(low=min(oxygen), high=max(oxygen)), PercentSpan(
        low=min(helium), high=max(helium)
    )


def _off(kpa: float, error: float) -> float:
    """An absolute pressure when its gauge reading is off by a fraction of itself."""
    gauge = max(0.0, kpa - STANDARD_ATMOSPHERE.kpa)
    return kpa + error * gauge
