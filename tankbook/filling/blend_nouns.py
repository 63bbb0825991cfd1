"""What a blend is asked with, and what it answers."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from tankbook.filling.figures import OXYGEN_RATE, READING_ERROR, RICHEST
from tankbook.filling.nouns import Vessel
from tankbook.gas import Gas, Mixture
from tankbook.gas.depth import USUAL_LEAST, USUAL_LIMIT, BreathedAt, Depth
from tankbook.rules.inforce import CLEAN_ABOVE
from tankbook.units import (
    AbsolutePressure,
    GaugePressure,
    Percent,
    PressureRate,
    Temperature,
    Volume,
)


class TopOffKind(StrEnum):
    """Where the gas that fills a cylinder up comes from."""

    AIR = "air"
    BANKED = "banked mix"
    CONTINUOUS = "continuous blending"


class BlendSupply(Struct, frozen=True, kw_only=True):
    """What a blend takes a gas from, pure or a mix: the pressure it shows, settled at ambient.

    `water_volume` None: so large that a cylinder does not lower it. What it holds is said by its
    place in the order, since pure helium is no breathing `Gas`. What a plan balances is a
    `PlanBank`: that ends, and its gas and the age of its reading count.
    """

    label: str
    pressure: GaugePressure
    water_volume: Volume | None = None


class TopOff(Struct, frozen=True, kw_only=True):
    """The gas that fills up to the final pressure.

    `oxygen_grade`: of a grade fit to be mixed with oxygen. A continuous blender makes any nitrox
    from air to `max_oxygen`; `gas` is then the air it starts from.
    """

    supply: BlendSupply
    gas: Gas
    kind: TopOffKind = TopOffKind.AIR
    oxygen_grade: bool = False
    max_oxygen: Percent = RICHEST


class BlendOrder(Struct, frozen=True, kw_only=True):
    """A blend to work out: the cylinder, filled to its cold target, the gas wanted, and from what.

    Pressures are gauge, settled at `ambient`. `clean_above`: gas richer than this wants an
    O2-clean cylinder (a figure for the rules to give). `oxygen_rate` is how slowly oxygen is let
    in. `oxygen_limit` and `oxygen_least` are the highest and least oxygen pressure to breathe, from
    which the depths follow.
    """

    vessel: Vessel
    target: Gas
    o2_clean: bool
    top_off: TopOff
    ambient: Temperature
    fill_rate: PressureRate
    oxygen: BlendSupply | None = None
    helium: BlendSupply | None = None
    oxygen_rate: PressureRate = OXYGEN_RATE
    clean_above: Percent = CLEAN_ABOVE
    gauge_error: Percent = READING_ERROR
    oxygen_limit: AbsolutePressure = USUAL_LIMIT["bar"]
    oxygen_least: AbsolutePressure = USUAL_LEAST
    unit: str = "psi"


class BlendAct(StrEnum):
    """What is done in one step of a blend."""

    DRAIN = "drain"
    OXYGEN = "oxygen"
    HELIUM = "helium"
    TOP_OFF = "top off"


class BlendStep(Struct, frozen=True, kw_only=True):
    """One step: stop at `stop` (real gas), a cold reading; `ideal` is the ideal-gas figure.

    `holds` is the mixture in the cylinder afterwards; `feed` the gas let in, None for a drain.
    """

    act: BlendAct
    source: str
    stop: GaugePressure
    ideal: GaugePressure | None
    holds: Mixture
    feed: Mixture | None
    minutes: float


class PercentSpan(Struct, frozen=True, kw_only=True):
    """The lowest and highest a percentage may be."""

    low: float
    high: float


class Blend(Struct, frozen=True, kw_only=True):
    """How to make a blend, and what comes of it.

    `oxygen_span` and `helium_span` are percentages when every gauge reading is off by the error
    asked for, in the worst combination. `ideal_oxygen_percent` is what the ideal-gas stops would
    give. `depth_limit`, `least_depth` and what it is like `at_limit` are those of `gas.depth`, as
    on a tag; the limit is the surface for a gas that is past it there. `clean_after`: whether the
    cylinder is still O2-clean.
    """

    id: str
    steps: tuple[BlendStep, ...]
    mixture: Mixture
    final: GaugePressure
    oxygen_span: PercentSpan
    helium_span: PercentSpan
    ideal_oxygen_percent: float | None
    oxygen_limit: AbsolutePressure
    oxygen_least: AbsolutePressure
    depth_limit: Depth
    least_depth: Depth
    at_limit: BreathedAt
    clean_required: bool
    clean_after: bool
    validated: bool
    cautions: tuple[str, ...]
