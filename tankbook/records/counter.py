"""What the counter keeps that is on no card: serials, what users are trained for, and incidents."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from tankbook.records.cylinder import NotSame
from tankbook.records.entries import AT, Entry, Told
from tankbook.records.fields import TEXT, YES_NO, Record, key
from tankbook.records.kinds import DAY, ID, PRESSURE, TIME_OF_DAY
from tankbook.records.words import Isolator, UserLevel
from tankbook.units import GaugePressure

COUNTER_FILE = "counter.yaml"
"""Beside the settings; begun by the first act that has something for it."""


class RefusedStranger(Entry, frozen=True, kw_only=True):
    """A cylinder without a card, refused at the counter."""

    title: ClassVar[str] = "refused stranger"
    serial: str = key(TEXT, "Its serial as read.", "K118204", required=True)
    maker: str | None = key(TEXT, "Maker as marked.", "Example Cylinder Co")
    marks: str | None = key(TEXT, "Its shoulder, as it stands.", "DOT-3AL 3000 K118204 09A21")
    reasons: tuple[str, ...] = key(
        [TEXT], "The reasons shown.", "[hydro lapsed Sep 2026]", required=True
    )
    told: Told | None = key(Told, "Owner told.", "{on: 2026-12-01, by: MV, how: in person}")
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")


class Stolen(Entry, frozen=True, kw_only=True):
    """A serial that somebody recorded as stolen, until it is found again."""

    title: ClassVar[str] = "stolen"
    serial: str = key(TEXT, "Its serial.", "K118204", required=True)
    maker: str | None = key(TEXT, "Maker, where it is known.", "Example Cylinder Co")
    why: str = key(TEXT, "Who says so.", "police notice of 2026-11-20", required=True)
    reference: str | None = key(TEXT, "Reference of the notice; never a name.", "N-4471")
    found: dt.date | None = key(DAY, "When that was settled.", "2026-12-02")
    found_by: str | None = key(TEXT, "Initials of who recorded that.", "MV")
    found_why: str | None = key(TEXT, "Who found it, and how.", "police returned it to its owner")
    found_proof: str | None = key(TEXT, "What proves that.", "letter of the police of 2 Dec")
    not_same: tuple[NotSame, ...] = key(
        [NotSame], "Cards that look alike and are another.", "[{id: RB-015, by: MV, why: O, not 0}]"
    )


class Certified(Entry, frozen=True, kw_only=True):
    """What a user was trained for, as one of the ledger's people saw it on card or paper."""

    title: ClassVar[str] = "certified"
    reference: str = key(
        TEXT, "Customer or booking reference; never a name.", "C-0192", required=True
    )
    level: UserLevel = key(UserLevel, "What for.", "nitrox", required=True)
    card: str | None = key(TEXT, "What was seen: its number, and whose it is.", "card 40171")


class SetThen(Record, frozen=True, kw_only=True):
    """A set that a cylinder of an incident stood in, as the records had it then."""

    title: ClassVar[str] = "set then"
    id: str = key(TEXT, "Its id.", "DB-02", required=True)
    cylinders: tuple[str, ...] = key([ID], "Its cylinders.", "[RB-031, RB-032]")
    manifold: str | None = key(TEXT, "Its manifold, as marked.", "isolation manifold, 3442 psi")
    rating: GaugePressure | None = key(PRESSURE, "Rating marked on the manifold.", "3442 psi")
    isolator: Isolator | None = key(Isolator, "How its isolator stood.", "open")
    isolator_since: str | None = key(TEXT, "Since when that is on record.", "2026-11-20")


class CylinderThen(Record, frozen=True, kw_only=True):
    """A cylinder of an incident, as the records had it then."""

    title: ClassVar[str] = "cylinder then"
    id: str = key(TEXT, "Its id.", "RB-014", required=True)
    serial: str | None = key(TEXT, "Its serial.", "K118204")
    made: str | None = key(TEXT, "Maker and specification.", "Example Cylinder Co, DOT-3AL")
    status: str | None = key(TEXT, "Where it stood.", "in-service")
    pressure: GaugePressure | None = key(PRESSURE, "What it showed.", "2100 psi")
    given: bool = key(YES_NO, "Read at the incident; else as last recorded.", "yes", default=False)
    recorded: str | None = key(TEXT, "When that was recorded, if it was not given.", "2026-11-24")
    contents: str | None = key(TEXT, "What it held, as last recorded.", "air, from B1")
    handed: tuple[str, ...] = key(
        [TEXT],
        "In whose hands it was last, newest first; references only.",
        "[out on rental 2026-11-25 to B-7]",
    )
    fills: tuple[str, ...] = key([TEXT], "Its last fills, newest first.", "[2026-11-24 09:30]")
    inspected: str | None = key(TEXT, "Its last inspection.", "2026-02-09 annual, pass, by MV")
    tested: str | None = key(TEXT, "Its last test.", "2024-03 hydrostatic, pass, by T123")
    valve: str | None = key(TEXT, "Its valve.", "yoke, 3/4-14 NPSM")
    sets: tuple[SetThen, ...] = key(
        [SetThen],
        "The set it stood in; two where it may have stood in either that day.",
        "[{id: DB-02, rating: 3442 psi, isolator: open}]",
    )


class PartThen(Record, frozen=True, kw_only=True):
    """A bank, a whip or a position of an incident, as the records had it then."""

    title: ClassVar[str] = "part then"
    part: str = key(TEXT, "What it is.", "bank B1", required=True)
    pressure: GaugePressure | None = key(PRESSURE, "What it showed.", "4100 psi")
    given: bool = key(YES_NO, "Read at the incident; else as last recorded.", "yes", default=False)
    recorded: str | None = key(TEXT, "When that was recorded, if it was not given.", "2026-11-24")
    said: str | None = key(TEXT, "What else was on record.", "checked 2026-04-01, pass, by MV")


class Incident(Entry, frozen=True, kw_only=True):
    """Something that happened, with what was known then of all that is named in it."""

    title: ClassVar[str] = "incident"
    what: str = key(TEXT, "What happened, as it was seen.", "whip W1 burst", required=True)
    at: dt.time | None = key(TIME_OF_DAY, "Time of day.", "16:30")
    place: str | None = key(TEXT, "Where.", "fill room")
    saw: tuple[str, ...] = key([TEXT], "Who saw it: initials or a reference.", "[MV, B-4471]")
    told: tuple[str, ...] = key([TEXT], "Who was told, and how.", "[coast guard by telephone]")
    other: tuple[str, ...] = key(
        [TEXT], "Cylinders that are not in the ledger.", '["serial X, blue steel 12 L"]'
    )
    cylinders: tuple[CylinderThen, ...] = key(
        [CylinderThen], "Cylinders named in it, as they were.", "[{id: RB-014, serial: K118204}]"
    )
    parts: tuple[PartThen, ...] = key(
        [PartThen], "Parts of the station named in it, as they were.", "[{part: whip W1}]"
    )


class CounterFile(Record, frozen=True, kw_only=True):
    """What the counter keeps, in counter.yaml."""

    title: ClassVar[str] = "counter"
    refused: tuple[RefusedStranger, ...] = key(
        [RefusedStranger],
        "Cylinders without a card that were refused.",
        "[{on: 2026-11-25, by: MV, serial: K118204, reasons: [hydro lapsed Sep 2026]}]",
    )
    stolen: tuple[Stolen, ...] = key(
        [Stolen],
        "Serials recorded as stolen.",
        "[{on: 2026-11-25, by: MV, serial: K118204, why: police notice of 2026-11-20}]",
    )
    certified: tuple[Certified, ...] = key(
        [Certified],
        "What users were seen to be trained for, once for each reference and level.",
        "[{on: 2026-11-25, by: MV, reference: C-0192, level: nitrox}]",
    )
    incidents: tuple[Incident, ...] = key(
        [Incident],
        "What happened, as it was recorded.",
        "[{on: 2026-11-25, by: MV, what: whip W1 burst, place: fill room}]",
    )
