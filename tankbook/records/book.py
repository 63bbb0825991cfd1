"""All the records of one ledger, as values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import wraps
from typing import Any, TypeVar

from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Entry, Requalified
from tankbook.records.fields import ListOf, Nested, Record, once_per_record
from tankbook.records.log import Booking, Log, LogLine
from tankbook.records.node import Finding
from tankbook.records.rulerow import RuleSet, TradeSize
from tankbook.records.settings import Settings
from tankbook.records.sheet import Sheet
from tankbook.records.station import Station
from tankbook.records.words import StampMeans

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Book:
    """Every record of a ledger that could be read, and what was wrong with the rest.

    A book is compared by identity, so that what is worked out from it can be remembered with it.

    `broken` names the cylinders and sets whose file could not be read: they exist, and nothing may
    be answered for them but no. `known` is what `once_per_book` remembers.
    """

    settings: Settings
    cylinders: Mapping[str, Cylinder] = field(default_factory=dict)
    sets: Mapping[str, Doubles] = field(default_factory=dict)
    station: Station | None = None
    checklists: Mapping[str, Checklist] = field(default_factory=dict)
    log: Sequence[LogLine] = ()
    bookings: tuple[Booking, ...] = ()
    rule_sets: tuple[RuleSet, ...] = ()
    sizes: Mapping[str, TradeSize] = field(default_factory=dict)
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    broken: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)
    known: dict[Any, Any] = field(default_factory=dict, init=False, repr=False)

    def as_known_on(self, day: dt.date) -> Book:
        """The book without what is dated later than `day`.

        A month counts once it has begun. What ended later (a return, a release) has not ended yet.
        """
        station = _until(self.station, day) if self.station else None
        return replace(
            self,
            cylinders={name: _cylinder_until(c, day) for name, c in self.cylinders.items()},
            sets={name: _until(s, day) for name, s in self.sets.items()},
            station=station,
            log=Log.of(self.log).until(day),
        )


T = TypeVar("T")


def once_per_book(work: Callable[[Book], T]) -> Callable[[Book], T]:
    """Remember what is worked out from a book for as long as the book lives."""

    @wraps(work)
    def remembered(book: Book) -> T:
        known = book.known
        if work not in known:
            known[work] = work(book)
        found: T = known[work]
        return found

    return remembered


def _until(record: R, day: dt.date) -> R:
    """`record` without entries that began after `day` and without ends after it."""
    changes: dict[str, Any] = {}
    for name in _names(type(record)):
        value = getattr(record, name)
        if not value:
            continue
        if isinstance(value, tuple):
            if not isinstance(value[0], Record):
                continue
            kept = tuple(_until(v, day) for v in value if not _later(v, day))
            if any(a is not b for a, b in zip(kept, value, strict=False)) or len(kept) != len(
                value
            ):
                changes[name] = kept
        elif isinstance(value, Record):
            if _later(value, day):
                changes[name] = None
            elif (kept_one := _until(value, day)) is not value:
                changes[name] = kept_one
        elif name in _ENDS and isinstance(value, dt.date) and value > day:
            changes[name] = None
    return replace(record, **changes) if changes else record


@once_per_record
def _names(record: type[Record]) -> tuple[str, ...]:
    """The attributes that may hold entries or the day something ended."""
    found = []
    for each in fields(record):
        kind = each.metadata.get("kind")
        inner = kind.kind if isinstance(kind, ListOf) else kind
        if each.name in _ENDS or isinstance(inner, Nested):
            found.append(each.name)
    return tuple(found)


def _cylinder_until(cylinder: Cylinder, day: dt.date) -> Cylinder:
    """As `_until`; where anything was taken out, the recorded status is later news too."""
    then = _until(cylinder, day)
    if cylinder.stamp_means is StampMeans.NEXT_DUE:
        # a stamp that says when the next test is due lies in the future from its first day
        kept = tuple(r for r in cylinder.requalified if _was_done(r, day))
        whole = kept == cylinder.requalified
        then = replace(then, requalified=cylinder.requalified if whole else kept)
        if then == cylinder:
            return cylinder
    return then if then is cylinder else replace(then, status=None)


def _was_done(entry: Requalified, day: dt.date) -> bool:
    """Whether a test on a card whose stamps say due dates had been done by a day, or may have."""
    if (entry.by or "").casefold() == "maker":
        return entry.on.first <= day
    return entry.tested is None or entry.tested.first <= day


_ENDS = {"released", "back", "refitted", "lifted", "found", "ready", "collected", "sticker_on"}


def _later(record: Record, day: dt.date) -> bool:
    on = getattr(record, "on", None)
    if isinstance(on, dt.date):
        return on > day
    return isinstance(record, Entry) and record.on.first > day
