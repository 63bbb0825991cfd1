"""What the counter keeps that is on no card: serials, and what users are trained for."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from tankbook.records.cylinder import NotSame
from tankbook.records.entries import Entry, Told
from tankbook.records.fields import TEXT, Record, key
from tankbook.records.kinds import DAY
from tankbook.records.words import UserLevel

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


class Stolen(Entry, frozen=True, kw_only=True):
    """A serial that somebody recorded as stolen, until it is found again."""

    title: ClassVar[str] = "stolen"
    serial: str = key(TEXT, "Its serial.", "K118204", required=True)
    maker: str | None = key(TEXT, "Maker, where it is known.", "Example Cylinder Co")
    why: str = key(TEXT, "Who says so.", "police notice of 2026-11-20", required=True)
    reference: str | None = key(TEXT, "Reference of the notice; never a name.", "N-4471")
    found: dt.date | None = key(DAY, "When that was settled.", "2026-12-02")
    found_by: str | None = key(TEXT, "Initials of who recorded that.", "MV")
    found_why: str | None = key(TEXT, "How.", "police returned it to its owner")
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


class CounterFile(Record, frozen=True, kw_only=True):
    """What the counter keeps by serial and by reference, in counter.yaml."""

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
