"""The cylinder, its valve, its permit, and doubles."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import ClassVar

from tankbook.records.entries import (
    AT,
    HEARD_OUT,
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
    Turned,
    by_the_hour,
    standing,
)
from tankbook.records.fields import TEXT, Kind, OneOf, Record, key
from tankbook.records.kinds import (
    DATE,
    DAY,
    EMPTY_MASS,
    ID,
    LENGTH,
    LIFE_END,
    MONEY,
    PERCENT,
    PERIOD,
    PRESSURE,
    RATED,
    TIME_OF_DAY,
    WATER_VOLUME,
    NoEnd,
    Rated,
)
from tankbook.records.valve import Valve, ValveWork, valve_after
from tankbook.records.words import (
    Bled,
    Isolator,
    Material,
    Service,
    StampMeans,
    Status,
    Use,
)
from tankbook.units import (
    GaugePressure,
    Length,
    Mass,
    Money,
    PartialDate,
    Percent,
    Period,
    Volume,
)

USE: Kind = OneOf(Use, (("hire", "rental"),))
STATUS: Kind = OneOf(Status)


class Permit(Record, frozen=True, kw_only=True):
    """What the special permit or the composite's design approval says."""

    title: ClassVar[str] = "permit"
    number: str | None = key(TEXT, "Its number.", "DOT-SP 99001")
    period: Period | None = key(PERIOD, "Time from test to test.", "5 years")
    test_pressure: GaugePressure | None = key(PRESSURE, "Test pressure it prescribes.", "7500 psi")
    life_ends: PartialDate | NoEnd | None = key(
        LIFE_END, "End of service life; `none` where it states that there is none.", "2031-04"
    )
    expansion_limit: Percent | None = key(PERCENT, "Largest permanent over total expansion.", "5 %")
    renewed_until: PartialDate | None = key(
        DATE, "Until when its last renewal holds, where the permit itself has ended.", "2029-08"
    )
    paper: str | None = key(
        TEXT, "The paper that renews it, and where it is kept.", "renewal of 2025-08-31, binder 2"
    )


class NotSame(Record, frozen=True, kw_only=True):
    """Another cylinder whose serial looks alike, and how the two were told apart."""

    title: ClassVar[str] = "not_same"
    id: str = key(ID, "The other cylinder.", "RB-015", required=True)
    by: str = key(TEXT, "Initials of who compared them.", "MV", required=True)
    why: str = key(TEXT, "How they differ.", "both at hand; O and 0 as stamped", required=True)


class NoteJudged(Record, frozen=True, kw_only=True):
    """What of the note somebody read and found to say nothing against the cylinder."""

    title: ClassVar[str] = "note_judged"
    on: dt.date = key(DAY, "When.", "2026-02-10", required=True)
    by: str = key(TEXT, "Initials of who judged it.", "MV", required=True)
    text: str = key(TEXT, "The words, as they stand in the note.", "see Bob first", required=True)


class Removed(Record, frozen=True, kw_only=True):
    """Something that stood in a record and was taken out on purpose."""

    title: ClassVar[str] = "removed"
    on: dt.date = key(DAY, "When.", "2026-02-10", required=True)
    by: str = key(TEXT, "Initials of who took it out.", "MV", required=True)
    what: str = key(TEXT, "What it was, as it was told.", "held 2026-02-09", required=True)
    why: str = key(TEXT, "Why.", "typed into the wrong card", required=True)


class Cylinder(Record, frozen=True, kw_only=True):
    """One cylinder, one file; the file name is its id."""

    title: ClassVar[str] = "cylinder"
    id: str = ""
    serial: str = key(TEXT, "Serial number, unique within a maker.", "K118204", required=True)
    maker: str | None = key(TEXT, "Maker as marked.", "Example Cylinder Co")
    marks: str | None = key(
        TEXT, "Stamp marks as read off the shoulder.", "DOT-3AL 3000 K118204 09A21"
    )
    specification: tuple[str, ...] = key(
        [TEXT], "Specification; a cylinder may carry two.", "[DOT-3AL, TC-3ALM]"
    )
    service_pressure: GaugePressure | None = key(
        PRESSURE, "Service (working) pressure marked.", "3000 psi"
    )
    test_pressure: GaugePressure | None = key(
        PRESSURE, "Test pressure, marked or prescribed.", "5000 psi"
    )
    water_volume: Volume | None = key(WATER_VOLUME, "Water volume.", "11.1 L")
    size: str | None = key(
        TEXT, "Trade size from the shipped table, where no volume is given.", "al80"
    )
    rated: Rated | None = key(
        RATED, "Rated free-gas capacity and its basis.", "77.4 cuft at 3000 psi (real)"
    )
    material: Material | None = key(
        OneOf(Material, (("aluminum", "aluminium"),)), "Body material.", "aluminium"
    )
    alloy: str | None = key(TEXT, "Aluminium alloy, where known.", "6061")
    alloy_known_from: str | None = key(
        TEXT,
        "How its alloy is known, where a notice says otherwise.",
        "maker's letter of 2026-02-09",
    )
    not_same: tuple[NotSame, ...] = key(
        [NotSame],
        "Cylinders of a serial like this one that were compared and are others.",
        "[{id: RB-015, by: MV, why: both at hand}]",
    )
    formerly: tuple[str, ...] = key(
        [ID], "Ids it had before: the log's lines of these are its own.", "[RB-004]"
    )
    removed: tuple[Removed, ...] = key(
        [Removed],
        "What was taken out of this record on purpose.",
        "[{on: 2026-02-10, by: MV, what: held 2026-02-09, why: typed into the wrong card}]",
    )
    made: PartialDate | None = key(DATE, "Month made, where no first test is listed.", "2021-09")
    made_in: str | None = key(TEXT, "Country of making, where it matters.", "US")
    neck_thread: str | None = key(
        TEXT, "Neck thread as read: its size with its kind, or its code.", "3/4-14 NPSM"
    )
    valve_: Valve | None = key(
        Valve,
        "The valve it came with, or is known to have where no `valve_work` says otherwise.",
        "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi}",
    )
    permit: Permit | None = key(
        Permit,
        "For special-permit and composite cylinders.",
        "{number: DOT-SP 99001, period: 5 years}",
    )
    stamp_means: StampMeans | None = key(
        StampMeans, "What the retest stamp's date says.", "next-due"
    )
    service: Service | None = key(Service, "What it is cleaned and labelled for.", "air")
    use: Use | None = key(USE, "What it is kept for.", "rental")
    status: Status | None = key(STATUS, "Where it stands now.", "in-service")
    owner: str | None = key(TEXT, "Customer reference; never a name.", "C-0192")
    place: str | None = key(TEXT, "Where it is kept.", "rack 2")
    diameter: Length | None = key(LENGTH, "Outside diameter.", "184 mm")
    length: Length | None = key(LENGTH, "Length without valve.", "660 mm")
    mass: Mass | None = key(EMPTY_MASS, "Empty mass without valve.", "14.2 kg")
    bought: PartialDate | None = key(DATE, "When it was bought.", "2021-10")
    price: Money | None = key(MONEY, "Price paid, or asked for sale stock.", "189.00 USD")
    note: str | None = key(TEXT, "Anything worth knowing.", "blue boot")
    note_judged: tuple[NoteJudged, ...] = key(
        [NoteJudged],
        "What of the note somebody read and found to be nothing.",
        "[{on: 2026-02-10, by: MV, text: see Bob first}]",
    )
    requalified: tuple[Requalified, ...] = key(
        [Requalified],
        "First test and requalifications.",
        "[{on: 2021-09, method: hydrostatic, by: maker}]",
    )
    inspected: tuple[Inspected, ...] = key(
        [Inspected],
        "Visual inspections.",
        "[{on: 2026-02-09, by: MV, checklist: annual, result: pass}]",
    )
    held: tuple[Held, ...] = key(
        [Held], "Times it was set aside.", "[{on: 2026-02-09, why: dent}]", never_empty=True
    )
    sent: tuple[Sent, ...] = key(
        [Sent],
        "Times it was sent away.",
        "[{on: 2026-02-09, to: Northside, for: requalification}]",
        never_empty=True,
    )
    rented: tuple[Rented, ...] = key(
        [Rented], "Rentals.", "[{on: 2026-11-25, to: B-4471}]", never_empty=True
    )
    handed_over: tuple[HandedOver, ...] = key(
        [HandedOver], "Sale.", "[{on: 2026-11-25, to: C-0192}]", never_empty=True
    )
    rejected: tuple[Rejected, ...] = key(
        [Rejected],
        "Rejections.",
        "[{on: 2026-02-09, by: MV, why: line corrosion}]",
        never_empty=True,
    )
    condemned: tuple[Condemned, ...] = key(
        [Condemned],
        "Condemnation.",
        "[{on: 2026-02-09, by: T123, why: expansion 12 %}]",
        never_empty=True,
    )
    cleaned: tuple[Cleaned, ...] = key(
        [Cleaned], "Oxygen cleanings.", "[{on: 2026-02-09, by: MV, to: nitrox}]"
    )
    valve_work: tuple[ValveWork, ...] = key(
        [ValveWork],
        "What was done to its valve since, oldest first: the valve that is on follows from it.",
        "[{on: 2026-02-09, by: MV, did: changed, outlet: din-300, thread: 3/4-14 NPSM}]",
    )
    labelled: tuple[Labelled, ...] = key(
        [Labelled],
        "Labels that were printed for it, and what they said.",
        "[{on: 2026-11-25, by: MV, kind: analysis, gas: nitrox32, oxygen: 32.1 %}]",
    )
    lost: tuple[Lost, ...] = key(
        [Lost], "Times it was not found.", "[{on: 2026-02-09, by: MV}]", never_empty=True
    )
    jobs: tuple[Job, ...] = key([Job], "Customer jobs.", "[{on: 2026-11-25, work: [visual]}]")
    refused: tuple[Refused, ...] = key(
        [Refused],
        "Refusals at the counter.",
        "[{on: 2026-11-25, by: MV, reasons: [hydro lapsed]}]",
        never_empty=True,
    )

    @property
    def valve(self) -> Valve | None:
        """The valve that is on it, worked out from what it came with and what was done since."""
        return valve_after(self.valve_, self.valve_work) if self.valve_work else self.valve_

    @property
    def cleanings(self) -> tuple[Cleaned, ...]:
        """Its cleanings that stand, oldest first, of one day by their times."""
        return by_the_hour(self.cleaned)

    @property
    def valve_services(self) -> tuple[Entry, ...]:
        """The work on its valve that stands, oldest first: services and other valves."""
        services = self.valve_.serviced if self.valve_ else ()
        return standing((*services, *(w for w in self.valve_work if w.is_service)))


def _is_from(begun: tuple[dt.date, dt.time | None], day: dt.date, at: dt.time | None) -> bool:
    """Whether a time of a day may be after what began on a day, at a time where that is said."""
    first, hour = begun
    return day > first or (day == first and not (at and hour and at < hour))


def _is_until(end: tuple[dt.date | None, dt.time | None], day: dt.date, at: dt.time | None) -> bool:
    """Whether a time of a day may be before what ended on a day, or has not ended."""
    last, hour = end
    return last is None or day < last or (day == last and not (at and hour and at > hour))


class Doubles(Record, frozen=True, kw_only=True):
    """Two manifolded cylinders, filled, rented and analysed as one."""

    title: ClassVar[str] = "set"
    id: str = ""
    cylinders: tuple[str, ...] = key([ID], "The two cylinders.", "[RB-031, RB-032]", required=True)
    manifold: str | None = key(
        TEXT,
        "The manifold, as marked; a pressure in it is held against `rating`.",
        "isolation manifold, 3442 psi",
    )
    rating: GaugePressure | None = key(PRESSURE, "Rating marked on the manifold.", "3442 psi")
    isolator_: Isolator | None = key(
        Isolator, "How the isolator stands, where nothing of `turned` says otherwise since.", "open"
    )
    isolator_since_: dt.date | None = key(
        DAY,
        "Since when it stands so; what went into one side earlier may be in both.",
        "2026-11-20",
    )
    isolator_at_: dt.time | None = key(
        TIME_OF_DAY,
        "At what time of that day; 00:00 where nobody knows.",
        "16:30",
    )
    turned: tuple[Turned, ...] = key(
        [Turned],
        "Times its isolator was opened or shut, or found so.",
        '[{on: 2026-11-20, at: "16:30", by: MV, stands: shut}]',
    )
    apart: dt.date | None = key(
        DAY,
        "When it was taken apart: the log's lines of it are of both its cylinders, up to then.",
        "2026-11-02",
    )
    apart_by: str | None = key(TEXT, "Initials of who took it apart.", "MV")
    apart_at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    apart_bled: Bled | None = key(Bled, "How it was bled before its manifold came off.", "heard")
    made_up: tuple[MadeUp, ...] = key(
        [MadeUp],
        "Times it was made up of its two cylinders, and taken apart again.",
        "[{on: 2026-02-09, by: MV, bled: heard}]",
    )
    use: Use | None = key(USE, "What it is kept for.", "rental")
    place: str | None = key(TEXT, "Where it is kept.", "rack 2")
    rented: tuple[Rented, ...] = key(
        [Rented], "Rentals.", "[{on: 2026-11-25, to: B-4471}]", never_empty=True
    )
    labelled: tuple[Labelled, ...] = key(
        [Labelled],
        "Labels that were printed for it, and what they said.",
        "[{on: 2026-11-25, by: MV, kind: tag, limit: 3442 psi}]",
    )
    formerly: tuple[str, ...] = key(
        [ID], "Ids it had before: the log's lines of these are its own.", "[RB-004]"
    )
    note: str | None = key(TEXT, "Anything worth knowing.", "steel backplate")

    @property
    def settings(self) -> tuple[Turned, ...]:
        """Each time from which on the isolator is known to stand so, oldest first; that it stands
        so since nobody knows when is of no day, and none of these."""
        known = self.turned
        if self.isolator_ is not None and self.isolator_since_ is not None:
            hour = self.isolator_at_ if self.isolator_at_ != dt.time.min else None
            on = PartialDate.of(self.isolator_since_)
            known = (Turned(on=on, at=hour, stands=self.isolator_), *known)
        said = {(each.on, each.stands) for each in standing(known) if each.at is not None}
        # who says the hour of what was of a day says when that was
        return by_the_hour(e for e in known if e.at is not None or (e.on, e.stands) not in said)

    @property
    def isolator_before(self) -> Isolator | None:
        """How it stood before the first of these, where that is known."""
        return self.isolator_ if self.isolator_since_ is None else None

    @property
    def isolator(self) -> Isolator | None:
        """How the isolator stands by the last of these, where that is known."""
        last = self.settings[-1:]
        return last[0].stands if last else self.isolator_

    @property
    def isolator_since(self) -> dt.date | None:
        """Since when it stands so, where that is known."""
        last = self.settings[-1:]
        return last[0].on.first if last else None

    @property
    def isolator_hour(self) -> dt.time | None:
        """At what time of its day the isolator was last set, where that is known."""
        last = self.settings[-1:]
        return last[0].at if last else None

    @property
    def taken_apart(self) -> dt.date | None:
        """When it was taken apart for the last time; None while it stands. Of one whose making up
        is struck out, the day that was struck out."""
        stands = standing(self.made_up)
        if any(each.ended is None for each in stands):
            return None
        if self.made_up and not stands and self.apart is None:
            return self.made_up[-1].on.last
        return max(filter(None, (self.apart, *(e.ended for e in stands))), default=None)

    def joined(self, day: dt.date, at: dt.time | None = None) -> bool:
        """Whether its two cylinders hung together on a day, or at a time of it, or may have: on the
        day it was made up or taken apart they may, but where the times of both say otherwise."""
        spans = (
            ((each.on.first, each.at if each.on.day else None), (each.ended, each.apart_at))
            for each in standing(self.made_up)
        )
        if any(_is_from(begun, day, at) and _is_until(end, day, at) for begun, end in spans):
            return True
        if self.apart is None:
            return not self.made_up
        return _is_until((self.apart, self.apart_at), day, at)

    def opened(self) -> Iterator[tuple[dt.date, dt.time | None, str | None, bool]]:
        """The days on which its manifold went on or came off, each with the time of the day where
        that is known, who says so, and whether they say how both cylinders were bled. With its
        isolator shut, what one side lets out says nothing of the other."""
        every = standing(self.made_up)
        for each in every:
            if each.bled is not Bled.NO_FLOW:
                yield each.on.first, each.at, each.by, each.bled in HEARD_OUT
            now = each is every[-1]
            if each.ended is not None and self._is_open(each.apart_bled, now=now):
                yield each.ended, each.apart_at, each.apart_by, each.apart_bled in HEARD_OUT
        if self.apart is not None and self.apart_by and self._is_open(self.apart_bled):
            yield self.apart, self.apart_at, self.apart_by, self.apart_bled in HEARD_OUT

    def _is_open(self, bled: Bled | None, *, now: bool = True) -> bool:
        """Whether both sides may have been let out as it was taken apart, `now` or earlier."""
        said = bled is not None or not (now and self.isolator is Isolator.SHUT)
        return said and bled is not Bled.NO_FLOW


def is_customers(card: Cylinder | Doubles) -> bool:
    """Whether a cylinder or a set is a customer's: it is kept as one, or has an owner."""
    owned = isinstance(card, Cylinder) and card.owner is not None
    return owned or card.use is Use.CUSTOMER


def stays_with_owner(card: Cylinder | Doubles) -> bool:
    """Whether a customer keeps a cylinder or a set themselves, fills it elsewhere too, and has it
    here for work alone: it is kept as one, or has an owner and nothing says what else it is kept
    for. What is sold for its owner, or lent out, stays here though it is theirs."""
    return card.use is Use.CUSTOMER or (is_customers(card) and card.use is None)
