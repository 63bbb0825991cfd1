"""The closed sets of words that records use."""

from __future__ import annotations

from enum import StrEnum


class Material(StrEnum):
    """What the cylinder body is made of."""

    ALUMINIUM = "aluminium"
    STEEL = "steel"
    COMPOSITE = "composite"


class Service(StrEnum):
    """What a cylinder is cleaned and labelled for."""

    AIR = "air"
    NITROX = "nitrox"
    OXYGEN = "oxygen"


class Use(StrEnum):
    """What the cylinder is kept for."""

    RENTAL = "rental"
    SALE = "sale"
    CUSTOMER = "customer"
    STAFF = "staff"
    POOL = "pool"
    BANK = "bank"


class Status(StrEnum):
    """Where a cylinder stands now."""

    AWAITING_INSPECTION = "awaiting-inspection"
    IN_SERVICE = "in-service"
    HELD = "held"
    OUT = "out"
    AT_TEST = "at-test"
    AT_REPAIR = "at-repair"
    AWAITING_COLLECTION = "awaiting-collection"
    AT_SUPPLIER = "at-supplier"
    SOLD = "sold"
    REJECTED = "rejected"
    CONDEMNED = "condemned"
    LOST = "lost"

    @property
    def in_words(self) -> str:
        """As people say it: `at test`, `awaiting inspection`."""
        return self.value.replace("-", " ")

    @property
    def gone(self) -> bool:
        """It left for good, went back to its supplier, is not to be found, or never holds gas
        again."""
        return self in _GONE

    @property
    def away(self) -> bool:
        """It is somewhere else and is expected back."""
        return self in _AWAY

    @property
    def closed(self) -> bool:
        """It owes nothing more: no test of it comes due."""
        return self in _GONE or self is Status.REJECTED


_GONE = frozenset({Status.SOLD, Status.AT_SUPPLIER, Status.CONDEMNED, Status.LOST})
_AWAY = frozenset({Status.OUT, Status.AT_TEST, Status.AT_REPAIR})


class Method(StrEnum):
    """How a requalification was done.

    `visual` is the stamped internal and external inspection by an approved body (Germany, United
    Kingdom), not the shop's own. The maker's first test is `hydrostatic`, `by: maker`.
    """

    HYDROSTATIC = "hydrostatic"
    PROOF = "proof"
    ULTRASONIC = "ultrasonic"
    ACOUSTIC = "acoustic-emission"
    EDDY_CURRENT = "eddy-current"
    VISUAL = "visual"


class TestResult(StrEnum):
    """The outcome of a requalification or an air test."""

    __test__ = False  # not a test class for pytest

    PASS = "pass"
    FAIL = "fail"


class InspectionResult(StrEnum):
    """The outcome of an inspection: an inspector rejects, only a requalifier condemns."""

    PASS = "pass"
    HOLD = "hold"
    REJECT = "reject"


class StepResult(StrEnum):
    """The outcome of one checklist step."""

    PASS = "pass"
    NOTE = "note"
    HOLD = "hold"
    REJECT = "reject"


class Seen(StrEnum):
    """What an inspector can find, in the words of the trade."""

    PITS = "pits"
    LINE_CORROSION = "line-corrosion"
    GOUGE = "gouge"
    DENT = "dent"
    BULGE = "bulge"
    SUSPECTED_CRACK = "suspected-crack"
    CRACK = "crack"
    FOLD = "fold"
    TOOL_MARK = "tool-mark"
    THREAD = "thread"
    HEAT = "heat"
    PAINT = "paint"
    ODOUR = "odour"
    MOISTURE = "moisture"
    SALT_WATER = "salt-water"

    @property
    def called(self) -> str:
        """As it stands in a sentence: `a dent`, `pits`."""
        some = {
            Seen.PITS,
            Seen.LINE_CORROSION,
            Seen.HEAT,
            Seen.PAINT,
            Seen.MOISTURE,
            Seen.SALT_WATER,
        }
        an = "an " if self is Seen.ODOUR else "a "
        return ("" if self in some else an) + self.replace("-", " ")


SEEN_TWINS = (
    ("pit", "pits"),
    ("fire", "heat"),
    ("odor", "odour"),
    ("water", "moisture"),
    ("saltwater", "salt-water"),
    ("seawater", "salt-water"),
)


class Sticker(StrEnum):
    """What became of the inspection sticker.

    `seen` is another shop's sticker read at the counter.
    """

    ISSUED = "issued"
    WITHHELD = "withheld"
    SEEN = "seen"
    VOIDED = "voided"


class PartChecked(StrEnum):
    """What somebody elsewhere checked of a cylinder; `valve` was looked at and fitted again."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    THREADS = "threads"
    VALVE = "valve"
    CLEANED = "cleaned"


PARTS_TWINS = (("in", "inside"), ("out", "outside"), ("thread", "threads"), ("clean", "cleaned"))


class Outlet(StrEnum):
    """The valve outlet."""

    YOKE = "yoke"
    DIN_200 = "din-200"
    DIN_300 = "din-300"
    CONVERTIBLE = "convertible"
    M26 = "m26"


METHOD_TWINS = (("hydro", "hydrostatic"), ("ve", "eddy-current"), ("ue", "ultrasonic"))
OUTLET_TWINS = (("a-clamp", "yoke"), ("din200", "din-200"), ("din300", "din-300"))


class ValveDone(StrEnum):
    """What was done to a valve."""

    FITTED = "fitted"
    CHANGED = "changed"
    SERVICED = "serviced"
    INSERT = "insert"
    READ = "read"


class ValvePosition(StrEnum):
    """How a valve was found."""

    CLOSED = "closed"
    OPEN = "open"


class StampMeans(StrEnum):
    """What the date on a requalification stamp says."""

    TEST_DATE = "test-date"
    NEXT_DUE = "next-due"


class SentFor(StrEnum):
    """Why a cylinder was sent away. A supplier gets back what has a fault, and may return it."""

    REQUALIFICATION = "requalification"
    REPAIR = "repair"
    SUPPLIER = "supplier-return"


class AskedThere(StrEnum):
    """What whoever a cylinder is sent to is asked to do."""

    HYDRO = "hydro"
    VISUAL = "visual"
    EDDY_CURRENT = "eddy-current"
    O2_CLEAN = "o2-clean"
    VALVE_SERVICE = "valve-service"


class ValveSent(StrEnum):
    """Whether a cylinder goes with its valve fitted, or off and kept here."""

    FITTED = "fitted"
    OFF = "off"


class Bled(StrEnum):
    """How a cylinder was bled before its valve comes off.

    That no flow was heard is no proof that it is empty: its valve or dip tube may be blocked.
    """

    HEARD = "heard"
    LEFT_OPEN = "valve-left-open"
    UNDER_CONTROL = "under-control"
    NO_FLOW = "no-flow"


class Isolator(StrEnum):
    """The isolator of doubles."""

    OPEN = "open"
    SHUT = "shut"
    NONE = "none"


class Work(StrEnum):
    """Work a customer may want."""

    HYDRO = "hydro"
    VISUAL = "visual"
    EDDY_CURRENT = "eddy-current"
    VALVE_SERVICE = "valve-service"
    O2_CLEAN = "o2-clean"
    FILL = "fill"


class JobState(StrEnum):
    """How far a customer's job is."""

    OPEN = "open"
    AWAITING_PARTS = "awaiting-parts"
    AT_REQUALIFIER = "at-requalifier"
    READY = "ready"
    COLLECTED = "collected"


class PositionKind(StrEnum):
    """A place where a cylinder is connected: enclosed, or an open fill whip."""

    ENCLOSED = "enclosed"
    WHIP = "whip"


class Grade(StrEnum):
    """The grade of stored gas: `oxygen` air may be mixed with oxygen, `breathing` air may not."""

    BREATHING = "breathing"
    OXYGEN = "oxygen"


class SourceKind(StrEnum):
    """How a source of the station makes its gas of the air of a compressor: a `membrane` lets less
    nitrogen through, in `continuous` blending oxygen is let into the intake."""

    MEMBRANE = "membrane"
    CONTINUOUS = "continuous"


class InstrumentKind(StrEnum):
    """What an instrument measures."""

    CO_MONITOR = "co-monitor"
    OXYGEN_ANALYSER = "oxygen-analyser"
    HELIUM_ANALYSER = "helium-analyser"
    DEW_POINT = "dew-point"


class UpkeepKind(StrEnum):
    """What is looked after at intervals of days or running hours."""

    OIL = "oil"
    INTAKE = "intake"
    BELTS = "belts"
    DRAINS = "drains"
    DEW_POINT = "dew-point"
    MOISTURE_INDICATOR = "moisture-indicator"
    ANALYSER = "analyser"
    OXYGEN_SENSOR = "oxygen-sensor"
    OTHER = "other"

    @property
    def tells_moisture(self) -> bool:
        """Whether it tells how dry the air is that leaves a compressor."""
        return self in {UpkeepKind.DEW_POINT, UpkeepKind.MOISTURE_INDICATOR}


class CoPlace(StrEnum):
    """Where carbon monoxide was read: where the gas leaves the station, at the intake of the
    compressor, or in the room."""

    OUTLET = "outlet"
    INTAKE = "intake"
    ROOM = "room"


class CoCause(StrEnum):
    """What kind of thing a carbon monoxide alarm came from: the intake drew exhaust or smoke; the
    compressor ran hot, or its oil broke down; the filter was spent or broken through; the
    instrument was wrong; the gas of a bump test let it sound; or something else."""

    INTAKE = "intake"
    COMPRESSOR = "compressor"
    FILTER = "filter"
    INSTRUMENT = "instrument"
    TEST_GAS = "test-gas"
    OTHER = "other"


class OpenWhip(StrEnum):
    """Whether the open whip may be used."""

    NEVER = "never"
    WHEN_FULL = "when-positions-are-full"
    ALLOWED = "allowed"


class StickerPolicy(StrEnum):
    """When the inspection sticker goes on."""

    AT_INSPECTION = "at-inspection"
    AT_HAND_OVER = "at-hand-over"


class ChecklistGroup(StrEnum):
    """The part of the cylinder a checklist step looks at."""

    OUTSIDE = "outside"
    INSIDE = "inside"
    THREADS = "threads"
    VALVE = "valve"


class LogAct(StrEnum):
    """What a line of the fill log records."""

    FILL = "fill"
    READING = "reading"
    DRAIN = "drain"
    VOID = "void"


class Skill(StrEnum):
    """What a person is certified for."""

    INSPECTOR = "inspector"
    FILLER = "filler"
    ANALYST = "analyst"
    VALVES = "valves"
    O2_CLEANER = "o2-cleaner"
    HAZMAT = "hazmat"


class UserLevel(StrEnum):
    """What a user was trained for, in words of our own: `nitrox`, `rich-nitrox` for more oxygen
    than that, `trimix` for helium (common practice, no source)."""

    NITROX = "nitrox"
    RICH_NITROX = "rich-nitrox"
    TRIMIX = "trimix"


class Shore(StrEnum):
    """The pressure unit a ledger reads in."""

    PSI = "psi"
    BAR = "bar"


class Month(StrEnum):
    """A month of any year."""

    JAN = "jan"
    FEB = "feb"
    MAR = "mar"
    APR = "apr"
    MAY = "may"
    JUN = "jun"
    JUL = "jul"
    AUG = "aug"
    SEP = "sep"
    OCT = "oct"
    NOV = "nov"
    DEC = "dec"


class LabelKind(StrEnum):
    """What is printed. `tag` is an identity tag, or DO NOT FILL where that is the answer."""

    TAG = "tag"
    IDENTITY = "identity"
    ANALYSIS = "analysis"
    STRIP = "strip"
    DO_NOT_FILL = "do-not-fill"
    RENTAL = "rental"
    SLIP = "slip"


class WallOrder(StrEnum):
    """In which order the wall chart has its cylinders."""

    ID = "id"
    DUE = "due"
    SIZE = "size"
    USE = "use"
    STANDS = "stands"


class CalendarBy(StrEnum):
    """What one calendar entry stands for."""

    OBLIGATION = "obligation"
    MONTH = "month"
