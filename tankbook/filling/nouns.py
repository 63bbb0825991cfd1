"""What a fill session is asked with: banks, cylinders, positions, a compressor and a policy.

Plain facts, already read and already decided on: whether a cylinder may be filled, to what and
with what is the business of the gate, and its answer comes in here as `Vessel`.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from tankbook.filling.cylinder_wall import WallMaterial
from tankbook.filling.problem import Favour
from tankbook.gas import Gas
from tankbook.units import (
    FreeGasFlow,
    GaugePressure,
    Length,
    Mass,
    PressureRate,
    RunningTime,
    Temperature,
    Volume,
)


class PositionKind(StrEnum):
    """How a fill position keeps people from a cylinder."""

    ENCLOSED = "enclosed"
    OPEN_WHIP = "open whip"


class Bank(Struct, frozen=True, kw_only=True):
    """A storage bank: what its gauge shows settled at ambient, and how old that reading is.

    `reading_age` None says that the reading was just taken.
    """

    label: str
    water_volume: Volume
    reading: GaugePressure | None
    gas: Gas
    reading_age: RunningTime | None = None


class Vessel(Struct, frozen=True, kw_only=True):
    """A cylinder, or doubles filled as one, that may be filled.

    `start` what it shows settled at ambient, `target` its cold target *at ambient*, `marked` the
    marked pressure that no gauge may pass. `gas` None: contents unknown. `own`: of the own
    fleet; `clean_state` is what it is cleaned and labelled for.
    """

    id: str
    water_volume: Volume
    start: GaugePressure | None
    target: GaugePressure
    marked: GaugePressure
    gas: Gas | None
    own: bool = False
    doubles: bool = False
    clean_state: str = "air"
    diameter: Length | None = None
    length: Length | None = None
    material: WallMaterial | None = None
    mass: Mass | None = None
    fill_rate: PressureRate | None = None


class Position(Struct, frozen=True, kw_only=True):
    """A place to connect a cylinder, with the largest it takes (None: any size)."""

    label: str
    kind: PositionKind
    max_diameter: Length | None = None
    max_length: Length | None = None

    def takes(self, vessel: Vessel) -> bool:
        """Whether a cylinder fits. Doubles never fit an enclosed position, nor does a cylinder
        of unknown size one that has a limit."""
        if self.kind is PositionKind.ENCLOSED and vessel.doubles:
            return False
        limits = ((self.max_diameter, vessel.diameter), (self.max_length, vessel.length))
        return all(most is None or (has is not None and has <= most) for most, has in limits)


class Gauge(Struct, frozen=True, kw_only=True):
    """A panel gauge against the checked master: what it showed when the master showed `true`."""

    label: str
    shows: GaugePressure
    true: GaugePressure


class Compressor(Struct, frozen=True, kw_only=True):
    """A compressor that a switch can feed from: free gas delivered, highest pressure."""

    delivery: FreeGasFlow
    max_pressure: GaugePressure


class Standard(Struct, frozen=True, kw_only=True):
    """The cylinder that full fills remaining are counted in, with its cold pressures at ambient."""

    water_volume: Volume
    start: GaugePressure
    target: GaugePressure
    name: str = "standard cylinder"


class StationPolicy(Struct, frozen=True, kw_only=True):
    """The station's own rules and habits.

    `minimum_gain`: a bank that would add less is skipped. `acceptable_loss`: a cylinder that
    settles within this of its target is full and not topped off, and else is topped off after
    `cooling` minutes, at most `most_top_offs` times. `non_return_valves` None, not
    known, is taken as fitted: nothing is equalized. Figures without a source are common practice.
    """

    fill_rate: PressureRate
    open_whip: bool = False
    non_return_valves: bool | None = None
    minimum_gain: GaugePressure = GaugePressure.of(0, "psi")
    acceptable_loss: GaugePressure = GaugePressure.of(100, "psi")
    handling: RunningTime = RunningTime.of(4, "min")
    cooling: RunningTime = RunningTime.of(30, "min")
    most_top_offs: int = 2
    reading_good_for: RunningTime = RunningTime.of(12, "h")
    gauge_error: GaugePressure = GaugePressure.of(60, "psi")
    wet: bool = False


class Session(Struct, frozen=True, kw_only=True):
    """Everything a plan is made from.

    `unit` is that of every pressure in the plan. `oxygen_grade`: the banks' gas may be mixed with
    oxygen. With `heat` False nothing is said of hot
    pressures, and each cylinder is taken to be filled slowly enough to stay at ambient.
    """

    gas: Gas
    banks: tuple[Bank, ...]
    vessels: tuple[Vessel, ...]
    positions: tuple[Position, ...]
    policy: StationPolicy
    ambient: Temperature
    standard: Standard
    compressor: Compressor | None = None
    gauges: tuple[Gauge, ...] = ()
    favour: Favour = Favour.GAS
    ready_in: RunningTime | None = None
    unit: str = "psi"
    heat: bool = True
    oxygen_grade: bool = False
