"""Blending by partial pressure: oxygen first and slowly, then helium, then the top-off gas."""

from __future__ import annotations

from math import floor

from tankbook.filling.blend_amounts import amounts_of, kpa_of, shown, wanted_of
from tankbook.filling.blend_nouns import Blend, BlendOrder, Supply
from tankbook.filling.blend_steps import spans_of, steps_of, with_ideal_stops
from tankbook.filling.errors import PlanError
from tankbook.filling.mixing import HAIR, HELIUM, OXYGEN, Amounts, Fed, Law, Real, added
from tankbook.gas import Mixture

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
    fraction = mixture.oxygen
    return Blend(
        id=order.id,
        steps=steps,
        mixture=mixture,
        final=order.final,
        oxygen_span=spans[0],
        helium_span=spans[1],
        ideal_oxygen_percent=with_ideal_stops(order, real, steps),
        oxygen_limit=order.oxygen_limit,
        depth_limit_ft=depth_limit(fraction, order.oxygen_limit, 33.0),
        depth_limit_m=depth_limit(fraction, order.oxygen_limit, 10.0),
        clean_required=_wants_clean(order, amounts),
        clean_after=order.o2_clean and order.top_off.oxygen_grade,
        validated=mixture.validated,
        cautions=_cautions(order, amounts, mixture),
    )


def depth_limit(fraction: float, limit: float, per_atmosphere: float) -> int:
    """The depth limit D = per_atmosphere (limit / fraction - 1), rounded down, never below 0.

    `per_atmosphere` is 33 ft or 10 m of sea water; `limit` the oxygen pressure.
    """
    return max(0, floor(per_atmosphere * (limit / fraction - 1) + 1e-9))


def _check(order: BlendOrder) -> None:
    if order.contents is None:
        raise PlanError(
            f"what {order.id} holds is unknown", "analyse it, or drain it and look inside"
        )
    if order.final > order.marked:
        raise PlanError(
            f"the final pressure {order.final} is above the marked pressure {order.marked}",
            "give a cold final pressure that is no higher",
        )
    if order.target.mixture.oxygen <= 0:
        raise PlanError(f"{order.target} holds no oxygen", "name a breathing gas")
    if order.water_volume.si <= 0:
        raise PlanError(f"cylinder {order.id} has no water volume", "give its water volume")
    if 1 - order.top_off.gas.mixture.oxygen - order.top_off.gas.mixture.helium <= HAIR:
        raise PlanError(
            f"{order.top_off.gas} is no gas to top off with", "top off with air or nitrox"
        )


def _wants_clean(order: BlendOrder, amounts: Amounts) -> bool:
    most = max(order.target.mixture.oxygen, amounts.top_mixture.oxygen)
    return amounts.oxygen > HAIR or most > order.clean_above.fraction


def _check_clean(order: BlendOrder, amounts: Amounts) -> None:
    if not _wants_clean(order, amounts):
        return
    if not order.o2_clean:
        raise PlanError(f"{order.id} is not O2-clean", "clean it for oxygen, or fill it with air")
    if not order.top_off.oxygen_grade:
        raise PlanError(
            f"the top-off gas of {order.top_off.supply.label} is not of oxygen grade",
            "top off with air or nitrox of oxygen grade",
        )


def _check_reach(order: BlendOrder, law: Law, amounts: Amounts) -> None:
    """Each supply must still be above the cylinder when it has given its gas."""
    fed = Fed(amounts.kept, wanted_of(order).contents)
    feeds = (
        ("oxygen", order.oxygen, amounts.oxygen, OXYGEN),
        ("helium", order.helium, amounts.helium, HELIUM),
        ("top-off gas", order.top_off.supply, amounts.top, amounts.top_mixture),
    )
    for name, supply, amount, gas in feeds:
        fed = added(fed, amount, gas)
        if amount > HAIR and supply is not None:
            stop = law.pressure(fed.mixture, fed.amount)
            _reaches(order, law, name, supply, amount, gas, stop)


def _reaches(
    order: BlendOrder,
    law: Law,
    name: str,
    supply: Supply,
    amount: float,
    gas: Mixture,
    stop: float,
) -> None:
    left = kpa_of(supply.pressure)
    if supply.water_volume is not None:
        taken = amount * order.water_volume.si / supply.water_volume.si
        rho = law.density(gas, left) - taken
        left = law.pressure(gas, rho) if rho > HAIR else 0.0
    if left < stop * (1 - 1e-9):
        raise PlanError(
            f"{supply.label} cannot give the {name}: it would be at "
            f"{shown(order, left)} where the cylinder needs {shown(order, stop)}",
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
