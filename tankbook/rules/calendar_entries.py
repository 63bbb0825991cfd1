"""What belongs in a calendar: each obligation with the last day it holds, and what is no more."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.months import month_of, months_from
from tankbook.rules.schedule import due, due_of_cylinder
from tankbook.rules.status import status_of
from tankbook.units import PartialDate

MONTHS = 24
"""How far ahead months are told of, also those with nothing due."""


class DiaryEntry(Struct, frozen=True):
    """One obligation of one subject on a day: the last that it holds, or is reckoned to hold by its
    running hours; of what is overdue, the day asked. `gone` marks one whose cylinder is sold, lost
    or scrapped: a calendar that holds it should take it out.
    """

    item: Due
    day: dt.date
    gone: bool = False

    @property
    def late(self) -> bool:
        """Whether it is overdue, also where no day says since when."""
        return self.item.state is State.OVERDUE and not self.gone

    @property
    def reckoned(self) -> bool:
        """Whether its day is reckoned from running hours."""
        return self.item.next is None and self.item.expected is not None and not self.late

    @property
    def since(self) -> dt.date | None:
        """The day an overdue one lapsed; None where it is not, or ran out of hours."""
        return self.item.next if self.late else None

    @property
    def key(self) -> str:
        """What stays the same when the day moves: subject, part and obligation."""
        item = self.item
        return f"{item.kind}/{item.id}/{item.part}/{item.obligation}"

    @property
    def subject(self) -> str:
        """Whom it is about: the cylinder, the part of the station, the initials and skill."""
        item = self.item
        if item.kind is DueKind.STATION:
            return item.part or item.id
        return f"{item.id} {item.part}" if item.part else item.id


class Diary(Struct, frozen=True):
    """All entries by day, and the obligations that have none: not on record, or counted in running
    hours of which too little is known to reckon a day.
    `without_end` are those that are met and never fall due."""

    today: dt.date
    entries: tuple[DiaryEntry, ...]
    undated: tuple[Due, ...]
    without_end: tuple[Due, ...] = ()

    @property
    def dues(self) -> tuple[Due, ...]:
        """Every obligation, whether it has an entry or not."""
        return (*(e.item for e in self.standing), *self.undated, *self.without_end)

    @property
    def standing(self) -> tuple[DiaryEntry, ...]:
        """The entries that are to be met."""
        return tuple(e for e in self.entries if not e.gone)

    def by_month(self) -> dict[PartialDate, tuple[DiaryEntry, ...]]:
        """The entries of each of the next months, and of later ones that have any."""
        found: dict[PartialDate, list[DiaryEntry]] = {
            m: [] for m in months_from(self.today, MONTHS)
        }
        for entry in self.standing:
            found.setdefault(month_of(entry.day), []).append(entry)
        return {month: tuple(entries) for month, entries in sorted(found.items())}


def diary(book: Book, today: dt.date) -> Diary:
    """Every dated obligation. Sets are left out: their cylinders have entries of their own."""
    dues = [d for d in due(book, today) if d.kind is not DueKind.SET]
    entries = [e for d in dues if (e := _entry(d, today)) is not None]
    for cylinder in book.cylinders.values():
        if status_of(book, cylinder).closed:
            items = due_of_cylinder(book, cylinder, today)
            entries += [DiaryEntry(d, d.next, gone=True) for d in items if d.next is not None]
    rest = [d for d in dues if d.by is None and d.state is not State.OVERDUE]
    endless = [d for d in rest if d.state is State.OK and not d.hours_left]
    return Diary(
        today,
        tuple(sorted(entries, key=lambda e: (e.day, e.key))),
        tuple(d for d in rest if d not in endless),
        tuple(endless),
    )


def _entry(item: Due, today: dt.date) -> DiaryEntry | None:
    """The entry of an obligation; None where it has no day. What is overdue has today, and so has
    what was reckoned to hold no longer."""
    day = today if item.state is State.OVERDUE else item.by
    return None if day is None else DiaryEntry(item, max(day, today))
