"""What belongs in a calendar: each obligation with the last day it holds, and what is no more."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.months import month_of, months_from
from tankbook.rules.schedule import due, due_of_cylinder
from tankbook.rules.status import status_of
from tankbook.rules.wall_chart import CLOSED
from tankbook.units import PartialDate

MONTHS = 24
"""How far ahead months are told of, also those with nothing due."""


class Entry(Struct, frozen=True):
    """One obligation of one subject on a day.

    `since` is the day an overdue one lapsed; its `day` is then the day asked. `gone` marks one
    whose cylinder is sold, lost or scrapped: a calendar that holds it should take it out.
    """

    kind: DueKind
    id: str
    part: str
    obligation: Obligation
    day: dt.date
    since: dt.date | None = None
    gone: bool = False
    citation: str = ""
    last: PartialDate | None = None

    @property
    def key(self) -> str:
        """What stays the same when the day moves: subject, part and obligation."""
        return f"{self.kind}/{self.id}/{self.part}/{self.obligation}"

    @property
    def subject(self) -> str:
        """Whom it is about: the cylinder, the part of the station, the initials and skill."""
        if self.kind is DueKind.STATION:
            return self.part or self.id
        return f"{self.id} {self.part}" if self.part else self.id


class Diary(Struct, frozen=True):
    """All entries by day, and the obligations that have none: not on record, or run in hours."""

    today: dt.date
    entries: tuple[Entry, ...]
    undated: tuple[Due, ...]

    @property
    def standing(self) -> tuple[Entry, ...]:
        """The entries that are to be met."""
        return tuple(e for e in self.entries if not e.gone)

    def by_month(self) -> dict[PartialDate, tuple[Entry, ...]]:
        """The entries of each of the next months, and of later ones that have any."""
        found: dict[PartialDate, list[Entry]] = {m: [] for m in months_from(self.today, MONTHS)}
        for entry in self.standing:
            found.setdefault(month_of(entry.day), []).append(entry)
        return {month: tuple(entries) for month, entries in sorted(found.items())}


def diary(book: Book, today: dt.date) -> Diary:
    """Every dated obligation. Sets are left out: their cylinders have entries of their own."""
    dues = [d for d in due(book, today) if d.kind is not DueKind.SET]
    entries = [_entry(d, today) for d in dues if d.next is not None]
    for cylinder in book.cylinders.values():
        if status_of(book, cylinder) in CLOSED:
            items = due_of_cylinder(book, cylinder, today)
            entries += [_gone(d) for d in items if d.next is not None]
    return Diary(
        today,
        tuple(sorted(entries, key=lambda e: (e.day, e.key))),
        tuple(d for d in dues if d.next is None and (d.state is not State.OK or d.hours_left)),
    )


def _entry(item: Due, today: dt.date) -> Entry:
    assert item.next is not None
    late = item.state is State.OVERDUE
    return Entry(
        item.kind,
        item.id,
        item.part,
        item.obligation,
        today if late else item.next,
        since=item.next if late else None,
        citation=item.citation,
        last=item.last,
    )


def _gone(item: Due) -> Entry:
    assert item.next is not None
    return Entry(item.kind, item.id, item.part, item.obligation, item.next, gone=True)
