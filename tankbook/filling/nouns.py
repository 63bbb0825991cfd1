"""What a fill session is asked with: banks, cylinders, a compressor and a policy;
and the error that says what cannot be answered.

Plain facts, already read and already decided on: whether a cylinder may be filled, to what and
with what is the business of the gate, and its answer comes in here as `Vessel`.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from typing import NamedTuple

from msgspec import Struct, field

from tankbook.filling.figures import (
    ACCEPTABLE_LOSS,
    BANK_IS_FELT,
    COOLING,
    DRAIN_EVERY,
    ERROR_HOLDS,
    GAUGE_ERROR,
    HANDLING,
    MOST_TOP_OFFS,
    READING_GOOD_FOR,
)
from tankbook.filling.heat import FilmCases
from tankbook.filling.problem import Favour
from tankbook.gas import Gas
from tankbook.records.station import Position
from tankbook.records.words import Isolator, Material, PositionKind
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


class VesselHeat(Struct, frozen=True):
    """What a cylinder's size is known by of its heat: the films of each case, and how many times
    the heat of its wall it takes."""

    films: FilmCases
    wall: float = 1.0


class CylinderKind(NamedTuple):
    """Cylinders that are alike in heat: their material, litres of a side rounded, and sides."""

    material: Material
    litres: int
    sides: int

    @classmethod
    def of(cls, volume: Volume, material: Material | None, sides: int) -> CylinderKind:
        """That of a water volume in all; an unknown material is taken as aluminium."""
        return cls(material or Material.ALUMINIUM, max(1, round(volume.litres / sides)), sides)

    def __str__(self) -> str:
        return f"{f'{self.sides} x ' if self.sides > 1 else ''}{self.litres} L {self.material}"


class SizeHeat(Struct, frozen=True, kw_only=True):
    """What a plan knows of the heat of a size, and from what.

    `fills` counts those that were read again and counted, `cylinders` whose they were, `passed` how
    many others there were; with none the shipped values are used. `told` names what they tell: what
    is left of its band is clearly less than as shipped. A fill like theirs, from `start` to `stop`,
    settles `below` its stop, between `least` and `most`; by the shipped values `shipped_below`.
    """

    kind: CylinderKind
    ids: tuple[str, ...]
    fills: int = 0
    cylinders: int = 0
    passed: int = 0
    told: tuple[str, ...] = ()
    inner: float
    outer: float
    wall: float = 1.0
    start: GaugePressure | None = None
    stop: GaugePressure | None = None
    below: GaugePressure | None = None
    least: GaugePressure | None = None
    most: GaugePressure | None = None
    shipped_below: GaugePressure | None = None


class Doubt(Struct, frozen=True):
    """How unsure the figures are that a plan starts from: how far a gauge may err, and standard
    deviations [K] of the room's temperature and of that of the gas in a bank from it."""

    gauge: GaugePressure = GaugePressure.of(0, "psi")
    ambient: float = 0.0
    bank: float = 0.0

    def of(self, kpa: float, kelvin: float) -> float:
        """The standard deviation [kPa] of what settles to `kpa` absolute at a room of `kelvin`."""
        room = kpa * self.ambient / kelvin
        return hypot(self.gauge.kpa / ERROR_HOLDS, room, self.of_fall(kpa, kelvin))

    def of_fall(self, kpa: float, kelvin: float) -> float:
        """The same of how far it falls from its stop to `kpa`: the gauge and the room that its stop
        was read by are those that it is read by when it has cooled, and as far off."""
        return kpa * BANK_IS_FELT * self.bank / kelvin


class Vessel(Struct, frozen=True, kw_only=True):
    """A cylinder, or doubles filled as one, that may be filled.

    `start` what it shows settled at ambient, `target` its cold target *at ambient*, `marked` the
    marked pressure that no gauge may pass. `gas` None: contents unknown. `own`: of the own
    fleet; `clean_state` is what it is cleaned and labelled for. `heat` None: as shipped.
    `isolator` is that of the doubles, or of those that it is one `side` of; None: not on record.
    """

    id: str
    water_volume: Volume
    start: GaugePressure | None
    target: GaugePressure
    marked: GaugePressure
    gas: Gas | None
    own: bool = False
    doubles: bool = False
    side: bool = False
    isolator: Isolator | None = None
    clean_state: str = "air"
    diameter: Length | None = None
    length: Length | None = None
    material: Material | None = None
    mass: Mass | None = None
    fill_rate: PressureRate | None = None
    heat: VesselHeat | None = None

    @property
    def kind(self) -> CylinderKind:
        """With which others it is alike in heat."""
        return CylinderKind.of(self.water_volume, self.material, 2 if self.doubles else 1)


def takes(position: Position, vessel: Vessel) -> bool:
    """Whether a cylinder fits. Doubles never fit an enclosed position, nor does one side of them,
    nor a cylinder of unknown size one that has a limit."""
    if position.kind is PositionKind.ENCLOSED and (vessel.doubles or vessel.side):
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

    @property
    def rest_minutes(self) -> float:
        """For how many minutes it rests when it has run for its longest run; 0 where none is
        recorded."""
        return self.rest.minutes if self.rest else 0.0


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


BACKED_OFF = GaugePressure.of(0, "psi")
"""What a regulator that is backed off is set to."""


class Session(Struct, frozen=True, kw_only=True):
    """Everything a plan is made from.

    `unit` is that of every pressure in the plan. `watched` names the gauge that each position is
    read by. `oxygen_grade`: the banks' gas may be mixed with oxygen. `regulator` is what the fill
    regulator was left at, nothing where it is backed off, None where that is not on record. With
    `heat` False nothing
    is said of hot pressures, and each cylinder is taken to be filled slowly enough to stay at
    ambient. `doubt` is
    how unsure its figures are, `sizes` what is known of the heat of each size.
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
    regulator: GaugePressure | None = BACKED_OFF
    heat: bool = True
    oxygen_grade: bool = False
    doubt: Doubt = Doubt()
    sizes: tuple[SizeHeat, ...] = ()
