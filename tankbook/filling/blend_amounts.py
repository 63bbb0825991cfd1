"""The arithmetic of a blend: how much of each gas it takes, and what the gauge shows on the way.

Amounts are mol per litre of the cylinder, so that a total is a density. Two gas laws share all
of it: the real one and, for the figure beside it, the ideal one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from msgspec import Struct

from tankbook.filling.blend_nouns import BlendOrder, TopOffKind
from tankbook.filling.nouns import PlanError
from tankbook.gas import Mixture, molar_density, nitrox, pressure_kpa, trimix
from tankbook.gas.coefficients import R
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure

OXYGEN = nitrox(1.0)
HELIUM = trimix(0.0, 1.0)

HAIR = 1e-9
"""Amounts [mol/L] below this are none."""

ROUNDS = 4
"""Rounds in which the final density is made that of the mixture that really comes out."""

NEAR = 0.005
"""A drained cylinder still holds an atmosphere; what it then puts out of the mix, up to half a
percent of oxygen, is accepted and shown."""


class Law(Protocol):
    """A gas law at one temperature."""

    def density(self, mixture: Mixture, kpa: float) -> float:
        """mol/L at `kpa` absolute."""

    def pressure(self, mixture: Mixture, rho: float) -> float:
        """kPa absolute at `rho` mol/L."""


class Real(Struct, frozen=True):
    """The equation of state."""

    kelvin: float

    def density(self, mixture: Mixture, kpa: float) -> float:
        """mol/L at `kpa` absolute. Raises `RangeError`."""
        return molar_density(mixture, self.kelvin, kpa)

    def pressure(self, mixture: Mixture, rho: float) -> float:
        """kPa absolute at `rho` mol/L. Raises `RangeError`."""
        return pressure_kpa(mixture, self.kelvin, rho)


class Ideal(Struct, frozen=True):
    """The ideal-gas law."""

    kelvin: float

    def density(self, mixture: Mixture, kpa: float) -> float:
        """mol/L at `kpa` absolute."""
        return kpa / (R * self.kelvin)

    def pressure(self, mixture: Mixture, rho: float) -> float:
        """kPa absolute at `rho` mol/L."""
        return rho * R * self.kelvin


class WantedBlend(NamedTuple):
    """A blend in fractions and absolute pressures: contents at `start`, `target` at `final`."""

    contents: Mixture
    start: float
    target: Mixture
    final: float


class LinearAmount(NamedTuple):
    """An amount that depends on how much of the contents is kept: a + b kept."""

    a: float
    b: float

    def at(self, kept: float) -> float:
        """The amount [mol/L] when `kept` is kept."""
        return self.a + self.b * kept


class Amounts(NamedTuple):
    """What goes into a cylinder [mol/L], and the gas it is filled up with."""

    kept: float
    oxygen: float
    helium: float
    top: float
    top_mixture: Mixture


class Fed(NamedTuple):
    """The state of a cylinder after a step: amount [mol/L] and mixture."""

    amount: float
    mixture: Mixture


def balances(
    wanted: WantedBlend, total: float, top: Mixture
) -> tuple[LinearAmount, LinearAmount, LinearAmount]:
    """Oxygen, helium and top-off gas to add, against what is kept of the contents.

    From the balances of what is neither oxygen nor helium, of oxygen and of helium; `total` is
    the final density [mol/L].
    """
    s, f = wanted.contents, wanted.target
    inert_top = 1 - top.oxygen - top.helium
    inert_f, inert_s = 1 - f.oxygen - f.helium, 1 - s.oxygen - s.helium
    tops = LinearAmount(total * inert_f / inert_top, -inert_s / inert_top)
    oxygen = LinearAmount(total * f.oxygen - tops.a * top.oxygen, -s.oxygen - tops.b * top.oxygen)
    helium = LinearAmount(total * f.helium - tops.a * top.helium, -s.helium - tops.b * top.helium)
    return oxygen, helium, tops


def most_kept(lines: Sequence[LinearAmount], has: float) -> float | None:
    """The most of the contents that can be kept with no amount below zero; None for none."""
    low, high = 0.0, has
    for a, b in lines:
        if abs(b) < 1e-12:
            if a < -HAIR:
                return None
        elif b > 0:
            low = max(low, -a / b)
        else:
            high = min(high, -a / b)
    if low > high + HAIR:
        return None
    return max(0.0, high)


def added(fed: Fed, amount: float, gas: Mixture) -> Fed:
    """The cylinder with so much of a gas added."""
    if amount <= 0:
        return fed
    return Fed(fed.amount + amount, Mixture.blended((fed.amount, fed.mixture), (amount, gas)))


def filled_to(law: Law, fed: Fed, gas: Mixture, kpa: float) -> Fed:
    """The cylinder with a gas added until it shows `kpa` absolute: a secant on the amount."""
    if law.pressure(fed.mixture, fed.amount) >= kpa:
        return fed
    last, now = 0.0, max(HAIR, law.density(gas, kpa) - fed.amount)
    error = law.pressure(fed.mixture, fed.amount) - kpa
    for _ in range(40):
        after = added(fed, now, gas)
        ahead = law.pressure(after.mixture, after.amount) - kpa
        if abs(ahead) < 1e-9 * kpa or ahead == error:
            break
        last, now, error = now, max(0.0, now - ahead * (now - last) / (ahead - error)), ahead
    return added(fed, now, gas)


# --- what an order takes


def kpa_of(pressure: GaugePressure) -> float:
    """The absolute pressure behind a gauge pressure [kPa]."""
    return pressure.absolute().kpa


def wanted_of(order: BlendOrder) -> WantedBlend:
    """From what a blend goes to what, in mixtures and kPa, of an order whose vessel is known."""
    vessel = order.vessel
    assert vessel.gas is not None  # checked before
    assert vessel.start is not None
    return WantedBlend(
        vessel.gas.mixture, kpa_of(vessel.start), order.target.mixture, kpa_of(vessel.target)
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


def _kept(lines: list[LinearAmount], has: float, least: float, total: float) -> float | None:
    """What is kept of the contents: all, or what a drain leaves; a drain leaves an atmosphere."""
    kept = most_kept(lines, has)
    if kept is not None and kept >= least - HAIR:
        return kept
    fits = all(line.at(least) >= -NEAR * total for line in lines)
    return least if fits else None


def _with_pure_gases(
    order: BlendOrder, wanted: WantedBlend, total: float, has: float, least: float
) -> Amounts:
    """Oxygen and helium as they come, then the top-off gas as it is."""
    top = order.top_off.gas.mixture
    oxygen, helium, tops = balances(wanted, total, top)
    lines = [oxygen, helium, tops]
    if order.oxygen is None:
        lines.append(LinearAmount(-oxygen.a, -oxygen.b))  # no more than none
    if order.helium is None:
        lines.append(LinearAmount(-helium.a, -helium.b))
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
    order: BlendOrder, wanted: WantedBlend, total: float, has: float, least: float
) -> Amounts:
    """With a continuous blender the nitrox it makes brings all the oxygen."""
    s, f = wanted.contents, wanted.target
    leanest, richest = order.top_off.gas.mixture.oxygen, order.top_off.max_oxygen.fraction
    helium = LinearAmount(total * f.helium, -s.helium)
    tops = LinearAmount(total - helium.a, -1 - helium.b)
    oxygen = LinearAmount(total * f.oxygen, -s.oxygen)
    lines = [
        helium,
        tops,
        LinearAmount(richest * tops.a - oxygen.a, richest * tops.b - oxygen.b),
        LinearAmount(oxygen.a - leanest * tops.a, oxygen.b - leanest * tops.b),
    ]
    if order.helium is None:
        lines.append(LinearAmount(-helium.a, -helium.b))
    kept = _kept(lines, has, least, total)
    if kept is None:
        raise PlanError(
            f"the continuous blender, {100 * leanest:.1f} to {100 * richest:g} % oxygen, cannot "
            f"make {order.target} of what {order.vessel.id} holds",
            "blend by partial pressure, or choose another mix",
        )
    in_helium = max(0.0, helium.at(kept)) if order.helium else 0.0
    top = max(0.0, total - kept - in_helium)
    fraction = oxygen.at(kept) / top if top > HAIR else leanest
    return Amounts(kept, 0.0, in_helium, top, nitrox(min(max(fraction, leanest), richest)))


def _impossible(order: BlendOrder, oxygen: LinearAmount, helium: LinearAmount) -> PlanError:
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
    text = f"{order.target} cannot be made with {order.top_off.gas} on top, even from empty"
    mixture = order.target.mixture
    if 1 - mixture.oxygen - mixture.helium <= HAIR:
        text = f"{order.target} holds no nitrogen, and each blend here is topped off with some"
        return PlanError(
            text, "fill it from its oxygen and its helium alone, analyse it, and log that: `--o2`"
        )
    return PlanError(text, "top off with another gas")
