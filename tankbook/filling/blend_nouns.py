"""What a blend is asked with, and what it answers."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from tankbook.gas import Gas, Mixture
from tankbook.units import GaugePressure, Percent, PressureRate, Temperature, Volume


class TopOffKind(StrEnum):
    """Where the gas that fills a cylinder up comes from."""

    AIR = "air"
    BANKED = "banked mix"
    CONTINUOUS = "continuous blending"


class Supply(Struct, frozen=True, kw_only=True):
    """A supply of pure gas or of a mix: the pressure it shows, settled at ambient.

    `water_volume` None: so large that a cylinder does not lower it.
    """

    label: str
    pressure: GaugePressure
    water_volume: Volume | None = None


class TopOff(Struct, frozen=True, kw_only=True):
    """The gas that fills up to the final pressure.

    `oxygen_grade`: of a grade fit to be mixed with oxygen. A continuous blender makes any nitrox
    from air to `max_oxygen`; `gas` is then the air it starts from.
    """

    supply: Supply
    gas: Gas
    kind: TopOffKind = TopOffKind.AIR
    oxygen_grade: bool = False
    max_oxygen: Percent = Percent.of(40, "%")


class BlendOrder(Struct, frozen=True, kw_only=True):
    """A blend to work out: what is in the cylinder, what is wanted, and from what.

    Pressures are gauge, settled at `ambient`. `clean_above`: gas richer than this wants an
    O2-clean cylinder (a figure for the rules to give; 23.5 % is common practice). `oxygen_rate`
    is how slowly oxygen is let in, common practice without a source. `oxygen_limit` is the
    oxygen pressure [bar or atm] for the depth limit.
    """

    id: str
    water_volume: Volume
    start: GaugePressure
    contents: Gas | None
    target: Gas
    final: GaugePressure
    marked: GaugePressure
    o2_clean: bool
    top_off: TopOff
    ambient: Temperature
    fill_rate: PressureRate
    oxygen: Supply | None = None
    helium: Supply | None = None
    oxygen_rate: PressureRate = PressureRate.of(60, "psi/min")
    clean_above: Percent = Percent.of(23.5, "%")
    gauge_error: Percent = Percent.of(1, "%")
    oxygen_limit: float = 1.4
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


class Span(Struct, frozen=True, kw_only=True):
    """The lowest and highest a percentage may be."""

    low: float
    high: float


class Blend(Struct, frozen=True, kw_only=True):
    """How to make a blend, and what comes of it.

    `oxygen_span` and `helium_span` are percentages when every gauge reading is off by the error
    asked for, in the worst combination. `ideal_oxygen_percent` is what the ideal-gas stops would
    give. `depth_limit_ft` and `depth_limit_m` are rounded down, from 33 (p/f - 1) ft and
    10 (p/f - 1) m of sea water. `clean_after`: whether the cylinder is still O2-clean.
    """

    id: str
    steps: tuple[BlendStep, ...]
    mixture: Mixture
    final: GaugePressure
    oxygen_span: Span
    helium_span: Span
    ideal_oxygen_percent: float | None
    oxygen_limit: float
    depth_limit_ft: int
    depth_limit_m: int
    clean_required: bool
    clean_after: bool
    validated: bool
    cautions: tuple[str, ...]
