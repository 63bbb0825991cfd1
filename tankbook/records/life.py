"""How each kind of entry lives: what it opens, what ends it, how it may grow, what may lie ahead.

A hold is released, a rental comes back, a mistake is struck out. All of that is declared here once;
where a cylinder stands, what was known on a past day, what counts as tampering and what `validate`
calls a fault follow from it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Set
from enum import StrEnum

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.records.counter import Certified, Incident, RefusedStranger, Stolen
from tankbook.records.cylinder import Doubles
from tankbook.records.entries import (
    E_,
    Cleaned,
    Condemned,
    Entry,
    HandedOver,
    Held,
    Inspected,
    Job,
    Labelled,
    Lost,
    MadeUp,
    Refused,
    Rejected,
    Rented,
    Requalified,
    Sent,
    Serviced,
    Turned,
    standing,
)
from tankbook.records.fields import Record
from tankbook.records.kinds import EMPTY
from tankbook.records.station import (
    AirTest,
    BankAnalysis,
    BankCleaned,
    BankHeld,
    BankLooked,
    BankTest,
    Checked,
    CoReading,
    Examined,
    FilterChange,
    GaugeCheck,
    GaugeRenewed,
    Hours,
    MadeMaster,
    NoPeriod,
    Raised,
    Reading,
    StationWalk,
    UpkeepDone,
)
from tankbook.records.valve import ValveWork
from tankbook.records.words import InspectionResult, SentFor, Status, StepResult, TestResult
from tankbook.records.words import ValvePosition as Valve


class Ender(StrEnum):
    """Who may end an entry, or strike it out."""

    ANYBODY = "anybody"
    CERTIFIED = "somebody certified"
    REQUALIFIER = "a requalifier"
    NOBODY = "nobody"


class Life(Struct, frozen=True):
    """The life of one kind of entry.

    Attributes:
        opens: where it puts the cylinder until it ends.
        days: each key that holds the day on which it went on, with the keys that come with that
            day; the first one ends it.
        ender: who may end it.
        added: further keys that may be added after it was made.
        changed: keys that may change after it was made.
        closed_by: the key after which nothing is added or changed.
        noted: keys with whose change its note may be lengthened.
        ahead: keys whose day may lie in the future.
    """

    opens: Status | None = None
    days: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ender: Ender = Ender.ANYBODY
    added: frozenset[str] = frozenset()
    changed: frozenset[str] = frozenset()
    closed_by: str = ""
    noted: frozenset[str] = frozenset()
    ahead: frozenset[str] = frozenset()

    @property
    def ended_by(self) -> str:
        """The key of the day that ends it, or an empty text where nothing does."""
        return next(iter(self.days), "") if self.opens else ""

    @property
    def grows(self) -> frozenset[str]:
        """Every key that may be added after it was made."""
        with_days = (k for day, others in self.days.items() for k in (day, *others))
        return self.added | self.changed | frozenset(with_days)


_TOLD = frozenset({"told.on", "told.by", "told.how"})
_STICKER = frozenset({"sticker", "sticker_number"})
_ANALYSED = frozenset(f"analysed.{name}" for name in ("oxygen", "helium", "depth", "initials"))
_JOB = frozenset({"work", "price", "promised", "reference", "state"})

LIVES: Mapping[type[Record], Life] = {
    Inspected: Life(days={"sticker_on": ()}, added=_STICKER, changed=_STICKER, noted=_STICKER),
    Held: Life(
        opens=Status.HELD,
        days={"released": ("released_by", "released_why", "released_bled")},
        ender=Ender.CERTIFIED,
    ),
    Sent: Life(opens=Status.AT_TEST, days={"back": (), "refitted": ("refitted_by",)}),
    Rented: Life(
        opens=Status.OUT,
        days={"back": ("back_by", "pressure", "valve", "damage")},
        added=frozenset({"until"}),
        changed=frozenset({"until"}),
        closed_by="back",
        ahead=frozenset({"until"}),
    ),
    HandedOver: Life(opens=Status.SOLD, ender=Ender.NOBODY, added=frozenset({"slip"})),
    Rejected: Life(
        opens=Status.REJECTED,
        days={"lifted": ("lifted_by", "lifted_why")},
        ender=Ender.REQUALIFIER,
        added=_TOLD,
    ),
    Condemned: Life(
        opens=Status.CONDEMNED, ender=Ender.NOBODY, added=frozenset({"marked", "consent"})
    ),
    Lost: Life(
        opens=Status.LOST,
        days={"found": ("found_by", "found_why")},
        ender=Ender.CERTIFIED,
    ),
    Job: Life(
        days={"ready": (), "collected": ("collected_by", "collected_at", "analysed")},
        added=_TOLD | _JOB | _ANALYSED | {"steps"},
        changed=_TOLD | _JOB | {"steps"},
        closed_by="collected",
        noted=frozenset({"note"}),
        ahead=frozenset({"promised"}),
    ),
    Refused: Life(added=_TOLD, noted=_TOLD),
    Doubles: Life(days={"apart": ("apart_by", "apart_at", "apart_bled")}),
    MadeUp: Life(days={"apart": ("apart_by", "apart_at", "apart_bled")}),
    RefusedStranger: Life(added=_TOLD, noted=_TOLD),
    Stolen: Life(
        days={"found": ("found_by", "found_why", "found_proof")},
        added=frozenset({"not_same"}),
        changed=frozenset({"not_same"}),
    ),
}
"""The lives of the entries that go on; any other entry stays as it was made."""

ORDINARY = Life()


def life_of(kind: type[Record]) -> Life:
    """The life of a kind of entry."""
    return LIVES.get(kind, ORDINARY)


END_KEYS = frozenset(day for life in LIVES.values() for day in life.days)
"""Every key that holds the day on which an entry went on."""


def is_open(entry: Entry) -> bool:
    """Whether an entry still puts its cylinder somewhere: neither ended nor struck out."""
    life = life_of(type(entry))
    if life.opens is None or entry.void is not None:
        return False
    return not life.ended_by or getattr(entry, life.ended_by) is None


def still_open(entries: Iterable[E_]) -> tuple[E_, ...]:
    """The entries that neither ended nor were struck out, oldest first."""
    return tuple(entry for entry in standing(entries) if is_open(entry))


def opens(entry: Entry) -> Status | None:
    """Where an entry puts its cylinder until it ends."""
    if isinstance(entry, Sent) and entry.for_ is SentFor.REPAIR:
        return Status.AT_REPAIR
    if isinstance(entry, Sent) and entry.for_ is SentFor.SUPPLIER:
        return Status.AT_SUPPLIER
    return life_of(type(entry)).opens


def verdict(entry: Inspected) -> InspectionResult:
    """What an inspection says, the gravest of its findings counting over its result."""
    found = {f.result for f in entry.findings}
    if StepResult.REJECT in found or entry.result is InspectionResult.REJECT:
        return InspectionResult.REJECT
    if StepResult.HOLD in found or entry.result is InspectionResult.HOLD:
        return InspectionResult.HOLD
    return InspectionResult.PASS


def ended_worse(was: Record, other: Record) -> bool:
    """Whether one of two ends of the same entry is the worse for its cylinder: it stood longer, it
    was ended and not struck out, or it came back with more that tells against it."""
    life = life_of(type(was))
    if life.opens is None:
        return False
    if getattr(other, "void", None) is not None and getattr(was, "void", None) is None:
        return True
    ends = [getattr(each, life.ended_by) for each in (was, other)] if life.ended_by else []
    if len(ends) == 2 and all(isinstance(day, dt.date) for day in ends) and ends[0] > ends[1]:
        return True
    return bool(_told_back(was) - _told_back(other))


def _told_back(record: Record) -> set[str]:
    """What a rental tells against its cylinder by how it came back."""
    if not isinstance(record, Rented):
        return set()
    empty = record.pressure is not None and record.pressure < EMPTY
    said = {"empty": empty, "open": record.valve is Valve.OPEN}
    damage = {f"damage {record.damage}"} if record.damage is not None else set()
    return {name for name, so in said.items() if so} | damage


def is_adverse(record: Record) -> bool:
    """Whether an entry tells against its cylinder or station: that it vanishes, or lies in the
    future, never makes an answer better."""
    match record:
        case Held() | BankHeld() | Rejected() | Condemned() | Lost() | HandedOver() | Stolen():
            return True
        case Incident():
            return True
        case Inspected():
            return verdict(record) is not InspectionResult.PASS
        case (
            Requalified()
            | AirTest()
            | BankLooked()
            | Checked()
            | StationWalk()
            | Examined()
            | UpkeepDone()
        ):
            return record.result is TestResult.FAIL
        case CoReading():
            return record.alarm
        case Rented():
            return bool(_told_back(record))
    return False


def counts_ahead(record: Record) -> bool:
    """Whether an entry counts at once though its day lies in the future: it is adverse, or tells of
    a cylinder that was refused."""
    return is_adverse(record) or isinstance(record, RefusedStranger)


def keeps_away(record: Record) -> bool:
    """Whether a cylinder is out, or away, or came back and was not refitted yet."""
    match record:
        case Rented():
            return record.back is None
        case Sent():
            return record.back is None or record.is_bare
    return False


def says_more(record: Record) -> bool:
    """Whether an entry says more of its cylinder than what it came to: what was found, read or
    noted at an inspection, though it passed; the plus, or none, of a test; why it was refused; how
    it came back; that it was away, after which somebody looks at it; how a gauge read, that it
    is new, that fills are read on it; which valve is on it; of which two a set is,
    and how its isolator stood."""
    match record:
        case Inspected():
            threads = record.neck_thread or record.valve_thread
            return bool(record.findings or record.note or threads)
        case (
            Requalified()
            | Refused()
            | RefusedStranger()
            | Sent()
            | GaugeCheck()
            | GaugeRenewed()
            | MadeMaster()
            | ValveWork()
            | MadeUp()
            | Turned()
        ):
            return True
        case Rented():
            return bool(record.note)
    return False


class Struck(StrEnum):
    """When somebody certified alone strikes an entry out; else anybody known does."""

    ALWAYS = "always"
    ADVERSE = "where it is adverse, keeps its cylinder out or away, or says more"
    LETS_GO = "where that lets something go"
    NEVER = "never: without it more is asked"


STRUCK: Mapping[type[Record], Struck] = {
    Requalified: Struck.ALWAYS,
    BankTest: Struck.ALWAYS,
    Held: Struck.ALWAYS,
    BankHeld: Struck.ALWAYS,
    HandedOver: Struck.ALWAYS,
    Rejected: Struck.ALWAYS,
    Condemned: Struck.ALWAYS,
    Lost: Struck.ALWAYS,
    Refused: Struck.ALWAYS,
    RefusedStranger: Struck.ALWAYS,
    Stolen: Struck.ALWAYS,
    Incident: Struck.ALWAYS,
    Sent: Struck.ALWAYS,
    ValveWork: Struck.ALWAYS,
    MadeUp: Struck.ALWAYS,
    Turned: Struck.ALWAYS,
    GaugeCheck: Struck.ALWAYS,
    GaugeRenewed: Struck.ALWAYS,
    MadeMaster: Struck.ALWAYS,
    Inspected: Struck.ADVERSE,
    Rented: Struck.ADVERSE,
    Checked: Struck.ADVERSE,
    UpkeepDone: Struck.ADVERSE,
    StationWalk: Struck.ADVERSE,
    Examined: Struck.ADVERSE,
    AirTest: Struck.ADVERSE,
    CoReading: Struck.ADVERSE,
    Reading: Struck.LETS_GO,
    Raised: Struck.LETS_GO,
    BankAnalysis: Struck.LETS_GO,
    BankCleaned: Struck.LETS_GO,
    BankLooked: Struck.LETS_GO,
    Hours: Struck.LETS_GO,
    FilterChange: Struck.LETS_GO,
    NoPeriod: Struck.LETS_GO,
    Cleaned: Struck.LETS_GO,
    Serviced: Struck.LETS_GO,
    Labelled: Struck.NEVER,
    Job: Struck.NEVER,
    Certified: Struck.NEVER,
}
"""Each kind of entry that can be struck out. What lets something go, of the station or of a
cylinder, is found over the whole book (`acts.correct`, `acts.soundness`), for every kind."""


def tells_against(record: Record) -> bool:
    """Whether somebody certified is to strike an entry out, by what it says itself (`STRUCK`). A
    rental that came back sound tells what it was read at; whether that hides a fill, the log says
    (`rules.contents`)."""
    struck = STRUCK.get(type(record), Struck.ADVERSE)
    adverse = is_adverse(record) or keeps_away(record) or says_more(record)
    return struck is Struck.ALWAYS or (struck is Struck.ADVERSE and adverse)


def is_out_still(struck: Record, others: Iterable[Record]) -> bool:
    """Whether a rental that was struck out while it was out stands anew with the same day, note and
    analysis, and was out on the day of that: only to whom, or until when, was set right, which
    whoever may send out may say; nothing that kept it away was let go."""
    if not isinstance(struck, Rented) or struck.back is not None or struck.void is None:
        return False
    day, kept = struck.void.on, (r for r in others if isinstance(r, Rented) and r.void is None)
    return any(_keeps(struck, r) for r in kept if r.back is None or r.back >= day)


def _keeps(struck: Rented, right: Rented) -> bool:
    """Whether a rental began when another did, and all that was noted of that is noted of it."""
    was, now = struck.analysed, right.analysed
    same = was is None or (now is not None and replace(now, source=was.source) == was)
    noted = (right.note or "").startswith(struck.note or "")
    return same and noted and right.on == struck.on and struck.damage in {None, right.damage}


def days_of(entry: Record) -> Iterator[tuple[str, dt.date]]:
    """Each day on which an entry went on, with its key."""
    for name in life_of(type(entry)).days:
        day = getattr(entry, name)
        if isinstance(day, dt.date):
            yield name, day


_GRAVEST = (
    Status.CONDEMNED,
    Status.SOLD,
    Status.REJECTED,
    Status.LOST,
    Status.AT_SUPPLIER,
    Status.AT_REPAIR,
    Status.AT_TEST,
    Status.HELD,
    Status.OUT,
)
"""Of several states that entries put a cylinder in, the first of these counts."""


def gravest(states: set[Status]) -> Status | None:
    """The state that counts of several, or None of none."""
    return next(iter(in_order(states)), None)


def in_order(states: Set[Status]) -> tuple[Status, ...]:
    """Those of some states that entries put a cylinder in, the gravest first."""
    return tuple(state for state in _GRAVEST if state in states)
