"""What a fill session is asked with: banks, cylinders, a compressor and a policy;
and the error that says what cannot be answered.

Plain facts, already read and already decided on: whether a cylinder may be filled, to what and
with what is the business of the gate, and its answer comes in here as `Vessel`.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field

from tankbook.filling.figures import (
    ACCEPTABLE_LOSS,
    COOLING,
    DRAIN_EVERY,
    GAUGE_ERROR,
    HANDLING,
    MOST_TOP_OFFS,
    READING_GOOD_FOR,
)
from tankbook.filling.problem import Favour
from tankbook.gas import Gas
from tankbook.records.station import Position
from tankbook.records.words import Material, PositionKind
from tankbook.units import (
    FreeGasFlow,
    GaugePressure,
    Length,
    Mass,
    Percent,
    PressureRate,
    RunningTime,
    Temperature,
    Volume,
)


class PlanError(ValueError):
    """A question about filling that cannot be answered as asked.

    `args[0]` says in one line what is wrong; `mend` says what to do about it.
    """

    def __init__(self, message: str, mend: str) -> None:
        super().__init__(message)
        self.mend = mend


class PlanBank(Struct, frozen=True, kw_only=True):
    """A storage bank as a plan balances it: what its gauge shows settled at ambient.

    It ends somewhere, so it has a volume, and one that was not read is told of. It is fed to
    `limit` at most. `unsure` is how far its pressure may be off for what was filled since it was
    read. `reading_age` None says that the reading was just taken. What a blend is made
    from is a `BlendSupply`: that may be without end, and pure helium, which no breathing `Gas` is.
    """

    label: str
    water_volume: Volume
    reading: GaugePressure | None
    gas: Gas
    reading_age: RunningTime | None = None
    limit: GaugePressure | None = None
    unsure: GaugePressure | None = None


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
    material: Material | None = None
    mass: Mass | None = None
    fill_rate: PressureRate | None = None


def takes(position: Position, vessel: Vessel) -> bool:
    """Whether a cylinder fits. Doubles never fit an enclosed position, nor does a cylinder of
    unknown size one that has a limit."""
    if position.kind is PositionKind.ENCLOSED and vessel.doubles:
        return False
    limits = ((position.max_diameter, vessel.diameter), (position.max_length, vessel.length))
    return all(most is None or (has is not None and has <= most) for most, has in limits)


class PlanGauge(Struct, frozen=True, kw_only=True):
    """A panel gauge against the checked master: what it showed when the master showed `true`."""

    label: str
    shows: GaugePressure
    true: GaugePressure


class PlanCompressor(Struct, frozen=True, kw_only=True):
    """A compressor that a switch can feed from: free gas delivered, highest pressure; of several
    its label.

    It feeds a bank while cylinders are filled from the banks, for `longest_run` at a stretch and
    then rests; None: all the time. Its separators are drained as often as `drain_every` says.
    Where there are banks, no cylinder below what its valve `maintains` is filled from it directly.
    As the session begins it has run for `ran` since it rested, and `rests` for so much longer.
    """

    delivery: FreeGasFlow
    max_pressure: GaugePressure
    label: str = ""
    maintains: GaugePressure | None = None
    longest_run: RunningTime | None = None
    rest: RunningTime | None = None
    drain_every: RunningTime = DRAIN_EVERY
    ran: RunningTime = RunningTime.of(0, "min")
    rests: RunningTime = RunningTime.of(0, "min")


class StandardCylinder(Struct, frozen=True, kw_only=True):
    """The cylinder that full fills remaining are counted in, with its cold pressures at ambient."""

    water_volume: Volume
    start: GaugePressure
    target: GaugePressure
    name: str = "standard cylinder"


class StationPolicy(Struct, frozen=True, kw_only=True):
    """The station's own rules and habits.

    `minimum_gain`: a bank that would add less is skipped. `acceptable_loss`: a cylinder that
    settles within this part of its target is full. It is brought there in one connection, its
    gauge held at the stop while it cools; or, `most_top_offs` times, by connecting it again when it
    has rested for `cooling`. `non_return_valves` None, not known, is taken as fitted: nothing is
    equalized.
    """

    fill_rate: PressureRate
    open_whip: bool = False
    non_return_valves: bool | None = None
    minimum_gain: GaugePressure = GaugePressure.of(0, "psi")
    acceptable_loss: Percent = ACCEPTABLE_LOSS
    handling: RunningTime = HANDLING
    cooling: RunningTime = COOLING
    most_top_offs: int = MOST_TOP_OFFS
    reading_good_for: RunningTime = READING_GOOD_FOR
    gauge_error: GaugePressure = GAUGE_ERROR
    wet: bool = False


class Session(Struct, frozen=True, kw_only=True):
    """Everything a plan is made from.

    `unit` is that of every pressure in the plan. `watched` names the gauge that each position is
    read by. `oxygen_grade`: the banks' gas may be mixed with
    oxygen. With `heat` False nothing is said of hot
    pressures, and each cylinder is taken to be filled slowly enough to stay at ambient.
    """

    gas: Gas
    banks: tuple[PlanBank, ...]
    vessels: tuple[Vessel, ...]
    positions: tuple[Position, ...]
    policy: StationPolicy
    ambient: Temperature
    standard: StandardCylinder
    compressor: PlanCompressor | None = None
    gauges: tuple[PlanGauge, ...] = ()
    watched: Mapping[str, str] = field(default_factory=dict)
    favour: Favour = Favour.GAS
    ready_in: RunningTime | None = None
    unit: str = "psi"
    heat: bool = True
    oxygen_grade: bool = False
