"""Settings, people and prices: tankbook.yaml."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import ClassVar, TypeAlias

from tankbook.gas import Gas
from tankbook.records.cylinder import Removed
from tankbook.records.fields import COUNT, TEXT, YES_NO, MapOf, Nested, Record, key
from tankbook.records.kinds import (
    DATE,
    GAS,
    ID,
    MONEY,
    PARTIAL,
    PERCENT,
    PERIOD,
    PRESSURE,
    TEMPERATURE,
    TIME_OF_DAY,
    VOLUME,
    WEB,
)
from tankbook.records.words import CalendarBy, Month, Shore, Skill, StickerPolicy
from tankbook.units import (
    AbsolutePressure,
    GaugePressure,
    Money,
    PartialDate,
    Percent,
    Period,
    Temperature,
    Volume,
)


class Certification(Record, frozen=True, kw_only=True):
    """What a person may do, and until when."""

    title: ClassVar[str] = "certification"
    skill: Skill = key(Skill, "What for.", "inspector", required=True)
    number: str | None = key(TEXT, "Certificate number.", "VI-2207")
    from_: PartialDate = key(DATE, "Valid from.", "2024-05", required=True)
    until: PartialDate | None = key(DATE, "Valid until; none means without end.", "2027-05")


class Person(Record, frozen=True, kw_only=True):
    """Somebody who signs, by initials; names stay out of the ledger."""

    title: ClassVar[str] = "person"
    role: str | None = key(TEXT, "What they do.", "bench")
    certifications: tuple[Certification, ...] = key(
        [Certification], "Certifications.", "[{skill: inspector, from: 2024-05, until: 2027-05}]"
    )
    left: PartialDate | None = key(DATE, "When they left.", "2026-08")

    def is_certified(self, skill: Skill, first: dt.date, last: dt.date) -> bool:
        """Whether a certification for a skill holds on some day from `first` to `last`."""
        return any(
            held.skill is skill
            and held.from_.first <= last
            and (held.until is None or first <= held.until.last)
            for held in self.certifications
        )


People: TypeAlias = Mapping[str, Person]
"""The people of a ledger, by their initials."""


class StickerSettings(Record, frozen=True, kw_only=True):
    """The shop's sticker policy."""

    title: ClassVar[str] = "sticker"
    policy: StickerPolicy = key(
        StickerPolicy,
        "When the sticker goes on sale stock.",
        "at-hand-over",
        default=StickerPolicy.AT_INSPECTION,
    )
    inspection_age: Period | None = key(PERIOD, "Oldest full inspection at hand-over.", "12 months")
    second_look: Period | None = key(
        PERIOD, "A second outside look within this before hand-over.", "7 days"
    )
    numbered: bool = key(YES_NO, "Stickers are numbered.", "no", default=False)
    short_log: bool = key(
        YES_NO,
        "Threads and torque stay out of the log for sale stock without findings. No log is no "
        "evidence.",
        "no",
        default=False,
    )


class CalendarSettings(Record, frozen=True, kw_only=True):
    """How the calendar is written."""

    title: ClassVar[str] = "calendar"
    by: CalendarBy = key(CalendarBy, "What one entry is.", "month", default=CalendarBy.OBLIGATION)
    alarm: tuple[Period, ...] = key(
        [PERIOD], "How long before the last day to remind.", "[30 days, 7 days]"
    )
    alarm_at: dt.time | None = key(TIME_OF_DAY, "At which time of those days.", "08:30")


class Retesting(Record, frozen=True, kw_only=True):
    """How tests and inspections are planned ahead."""

    title: ClassVar[str] = "retesting"
    away: Period | None = key(
        PERIOD, "From sending a batch to the requalifier to its being ready again.", "21 days"
    )
    batch: int | None = key(COUNT, "Most cylinders sent in one batch.", "8")
    visuals_a_week: int | None = key(COUNT, "Visual inspections the bench does in a week.", "10")
    quiet: tuple[Month, ...] = key(
        [Month],
        "The quiet months: what falls due in the others is done in the last quiet ones before.",
        "[nov, dec, jan, feb]",
    )
    keep_ready: Mapping[str, int] = key(
        MapOf(COUNT),
        "Fewest of a size to have here and in date on any day, whatever is booked.",
        "{al80: 6}",
    )
    new_lasts: Period | None = key(
        PERIOD, "How long a new cylinder is reckoned to serve.", "20 years"
    )


class RiskAssessed(Record, frozen=True, kw_only=True):
    """A written risk assessment of inner degradation, and who follows it."""

    title: ClassVar[str] = "risk_assessed"
    on: PartialDate = key(DATE, "When it was made or adopted.", "2026-01", required=True)
    by: str = key(TEXT, "Who made or adopted it.", "MV", required=True)
    document: str = key(TEXT, "Where it is written.", "club assessment, binder 3", required=True)


class Settings(Record, frozen=True, kw_only=True):
    """Settings of the ledger."""

    title: ClassVar[str] = "settings"
    ledger: str = key(TEXT, "Name of the ledger.", "Example Quay fill station", required=True)
    format: int | None = key(
        COUNT, "The format of the files; an older program refuses a newer one.", "2"
    )
    units: Shore = key(Shore, "Unit in which pressures are shown.", "psi", required=True)
    rules: tuple[str, ...] = key([ID], "Rule sets in force.", "[us-dot]", required=True)
    ambient: Temperature | None = key(
        TEMPERATURE, "Usual temperature where cylinders stand.", "64 degF"
    )
    people: Mapping[str, Person] = key(
        MapOf(Nested(Person)), "Who signs, by initials.", "{MV: {role: bench}}"
    )
    prices: Mapping[str, Money] = key(
        MapOf(MONEY), "Price of each obligation or job.", "{hydro: 45.00 USD, visual: 18.50 USD}"
    )
    sticker: StickerSettings | None = key(
        StickerSettings, "Sticker policy.", "{policy: at-hand-over}"
    )
    ids: Mapping[str, str] = key(
        MapOf(TEXT), "Id scheme by use; # stands for a digit.", "{rental: RB-###, sale: SF-###}"
    )
    standard_size: str | None = key(TEXT, "Trade size that `full fills` are counted in.", "al80")
    ready_at: Percent | None = key(PERCENT, "Share of the limit that counts as full.", "90 %")
    soon: Period | None = key(PERIOD, "How far ahead `soon` looks.", "30 days")
    reading_age: Period | None = key(PERIOD, "A bank reading older than this is stale.", "2 days")
    oxygen_pressure: AbsolutePressure | None = key(
        PARTIAL, "Highest oxygen partial pressure, for depth limits.", "1.4 ata"
    )
    least_oxygen_pressure: AbsolutePressure | None = key(
        PARTIAL, "Least oxygen partial pressure to breathe.", "0.18 bar abs"
    )
    sizes: Mapping[str, Volume] = key(
        MapOf(VOLUME), "The shop's own trade sizes, as volumes.", "{pony19: 2.7 L}"
    )
    gas: Gas | None = key(GAS, "Gas of a fill unless said otherwise.", "air")
    operator: str | None = key(TEXT, "Initials of a fill unless said otherwise.", "MV")
    commit: bool = key(YES_NO, "Commit each act to git.", "no", default=False)
    late_entry: int | None = key(COUNT, "Days after which an entry counts as recorded late.", "14")
    many_at_once: int | None = key(
        COUNT, "A commit that touches more cylinders than this is remarked on by an audit.", "50"
    )
    signed: bool = key(YES_NO, "Commits must be signed.", "yes", default=False)
    unclaimed: Period | None = key(
        PERIOD, "How long finished work may wait before it counts as unclaimed.", "30 days"
    )
    requalifier: str | None = key(
        TEXT, "Where cylinders are sent by default.", "Northside Test House"
    )
    calendar: CalendarSettings | None = key(
        CalendarSettings, "The calendar.", "{by: month, alarm: [7 days]}"
    )
    retesting: Retesting | None = key(
        Retesting, "Planning of tests ahead.", "{away: 21 days, batch: 8}"
    )
    removed: tuple[Removed, ...] = key(
        [Removed],
        "Records and files that were taken out on purpose.",
        "[{on: 2026-02-10, by: MV, what: rules/shop.yaml, why: it repeated the shipped rows}]",
    )
    unexplained: GaugePressure | None = key(
        PRESSURE,
        "How far a pressure may be found above the last known one without a fill to explain it.",
        "200 psi",
    )
    risk_assessed: RiskAssessed | None = key(
        RiskAssessed,
        "The risk assessment that lengthens the time between looks inside, where one was made.",
        "{on: 2026-01-10, by: MV, document: committee assessment of 2018}",
    )
    pages_at: str | None = key(
        WEB,
        "Where the folder that `pages` writes is read: codes on labels open the cylinder's page.",
        "https://tanks.example.org/pages",
    )
    new_prices: Mapping[str, Money] = key(
        MapOf(MONEY), "Price of a new cylinder by trade size.", "{al80: 219.00 USD}"
    )
