"""Which service a gas wants of a cylinder."""

from __future__ import annotations

from tankbook.gas import Gas
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Service
from tankbook.rules.inforce import InForce

PURE_OXYGEN = 99.0
"""Percent of oxygen, or of helium, from which a gas is called by that name and no air is in it
(common practice, no source)."""
AS_OXYGEN = 90.0
"""Percent of oxygen from which a gas asks for a cylinder that is kept for oxygen: what a
concentrator makes is among it (own bound)."""


RICH = 40.0
"""Percent of oxygen above which a gas that is topped off in a cylinder is blended as oxygen is: the
figure of 29 CFR 1910.430(i) for equipment (read), used for this as an own bound."""


def has_no_air(gas: Gas | None) -> bool:
    """Whether a gas is known to be oxygen, helium or both, which no compressor of air gives."""
    return gas is not None and gas.oxygen_percent + gas.helium_percent >= PURE_OXYGEN


def service_for(gas: Gas) -> Service:
    """What a cylinder must be kept for to hold a gas."""
    if gas.is_air:
        return Service.AIR
    return Service.OXYGEN if gas.oxygen_percent >= AS_OXYGEN else Service.NITROX


def analysis_tolerance(rules: InForce) -> float:
    """How far an analysis may lie from the mixture, in percent of oxygen: the strictest row's, and
    nothing where no row in force says."""
    shares = [r.share.percent for r in rules.rows[Obligation.ANALYSIS] if r.share]
    return min(shares, default=0.0)


def serves(service: Service, wanted: Service) -> bool:
    """Whether a cylinder kept for one service may hold what wants another."""
    ranks = list(Service)
    return ranks.index(service) >= ranks.index(wanted)
