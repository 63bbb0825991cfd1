"""All the records of one ledger, as values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from functools import wraps
from operator import is_
from typing import Any, Concatenate, ParamSpec, TypeVar

from msgspec import Struct, field
from msgspec.structs import force_setattr, replace

from tankbook.gas import AIR_GAS, Gas
from tankbook.records.absence import Absence
from tankbook.records.checklist import Checklist
from tankbook.records.counter import CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Inspected, Job, Requalified
from tankbook.records.fields import ListOf, Nested, Record, once_per_record
from tankbook.records.finding import FindingRow
from tankbook.records.life import counts_ahead, days_of, life_of
from tankbook.records.log import Booking, Log, LogLine
from tankbook.records.marked import MarkWords
from tankbook.records.node import Finding, Where
from tankbook.records.rulerow import RuleSet, TradeSize
from tankbook.records.settings import Settings
from tankbook.records.sheet import Sheet
from tankbook.records.station import Station
from tankbook.records.words import JobState, StampMeans, Sticker
from tankbook.units import PartialDate, Quantity

R = TypeVar("R", bound=Record)


class Ahead(Struct, frozen=True):
    """A day that lies later than the day asked about and than the clock: nobody can have seen it.

    `ids` names the cylinder or set whose record it stands in; none is the station.
    """

    where: Where
    day: PartialDate | dt.date
    what: str
    ids: tuple[str, ...] = ()


class Comment(Struct, frozen=True):
    """What somebody wrote behind a comment sign of a card, and where. `behind` says that it stands
    behind what the card says now, and not in a line of its own or behind an entry, `key` of which
    key that is."""

    where: Where
    text: str
    behind: bool
    key: str = ""


class Book(Struct, frozen=True, eq=False, weakref=True):
    """Every record of a ledger that could be read, and what was wrong with the rest.

    A book is compared by identity, so that what is worked out from it can be remembered with it.

    `apart` are the sets that were taken apart by the day it is known on. `broken` names the
    cylinders and sets whose file could not be read: they exist, and nothing may be answered for
    them but no. `broken_sets` has the words, and `broken_cards` the text, of each file that
    may be a set or a card and is not read, `astray` the paths of what may be a log, rules or the
    station, wherever it lies. `comments` has those of each card, `papers` the SHA-256 of
    each file of the ledger that a certificate names, an empty text where it cannot be read.
    `known_on` is the day it is asked about, where one was said: which rules are in force follows
    from it. `now` is the moment of the clock. `known` is what `once_per_book` remembers.
    """

    settings: Settings
    cylinders: Mapping[str, Cylinder] = field(default_factory=dict)
    sets: Mapping[str, Doubles] = field(default_factory=dict)
    apart: Mapping[str, Doubles] = field(default_factory=dict)
    station: Station | None = None
    counter: CounterFile | None = None
    checklists: Mapping[str, Checklist] = field(default_factory=dict)
    log: Sequence[LogLine] = ()
    bookings: tuple[Booking, ...] = ()
    rule_sets: tuple[RuleSet, ...] = ()
    sizes: Mapping[str, TradeSize] = field(default_factory=dict)
    finding_rows: tuple[FindingRow, ...] = ()
    mark_words: tuple[MarkWords, ...] = ()
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    broken: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)
    broken_sets: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    broken_cards: Mapping[str, str] = field(default_factory=dict)
    astray: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    comments: Mapping[str, tuple[Comment, ...]] = field(default_factory=dict)
    papers: Mapping[str, str] = field(default_factory=dict)
    absence: Absence = Absence()
    clock: dt.date | None = None
    now: dt.datetime | None = None
    ahead: tuple[Ahead, ...] = ()
    cut: bool = False
    known_on: dt.date | None = None
    known: dict[Any, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # What was remembered of a book is not true of one that differs from it.
        force_setattr(self, "known", {})

    @property
    def usual_gas(self) -> Gas:
        """The gas of a fill unless said otherwise: the settings', else air."""
        return self.settings.gas or AIR_GAS

    @property
    def every_set(self) -> Mapping[str, Doubles]:
        """Its sets, taken apart or not."""
        return {**self.apart, **self.sets} if self.apart else self.sets

    @property
    def ids(self) -> frozenset[str]:
        """Every id that something of the ledger has, or a set had that was taken apart."""
        return frozenset((*self.cylinders, *self.every_set, *self.broken))

    def members(self, id_: str) -> tuple[str, ...]:
        """The cylinders that an id stands for: both sides of a set, or itself."""
        return self.sets[id_].cylinders if id_ in self.sets else (id_,)

    def sides(self, id_: str) -> list[Cylinder]:
        """The cards of these, as far as they can be read."""
        return [self.cylinders[name] for name in self.members(id_) if name in self.cylinders]

    def as_known_on(self, day: dt.date) -> Book:
        """The book without what is dated later than `day`.

        A month counts once it has begun. What ended later (a return, a release) has not ended yet,
        and what was struck out later still stands. What is later than both `day` and the clock is
        listed in `ahead`; where it tells against its cylinder, it counts at once. A line of the log
        says its moment: one that is past, or was before the day asked about ended here, stands,
        though its day had not begun here; one that is to come does not, though its day has.
        """
        cut = _Cut(day, max(day, self.clock or day))
        now = self.now if self.now and self.clock == self.now.date() else None
        to_come = now + APART if now and cut.edge == self.clock else None
        today = self.clock == day
        past = now if today else _end_of(day, now)
        cylinders = {name: cut.card(c) for name, c in self.cylinders.items()}
        every = {name: (s, cut.record(s, (name,))) for name, s in self.every_set.items()}
        sets = {name: then for name, (s, then) in every.items() if not _not_yet(s, then, cut.edge)}
        station = cut.record(self.station, ()) if self.station else None
        counter = cut.record(self.counter, ()) if self.counter else None
        log = cut.lines(Log.of(self.log), now, to_come)
        return replace(
            self,
            cylinders=cylinders,
            sets={name: s for name, s in sets.items() if not _is_apart(s, cylinders)},
            apart={name: s for name, s in sets.items() if _is_apart(s, cylinders)},
            station=station,
            counter=counter,
            log=(then := log.until(day, past, to_come if today else None)),
            ahead=tuple(dict.fromkeys((*self.ahead, *cut.ahead))),
            cut=self.cut or cut.later or len(then) < len(log),
            known_on=day,
        )

    def ahead_in(self, record: Record, day: dt.date) -> tuple[Ahead, ...]:
        """What lies ahead of a day and of the clock in a card, a set, the station or the counter,
        of this book or as it would be."""
        cut = _Cut(day, max(day, self.clock or day))
        if isinstance(record, Cylinder):
            cut.card(record)
        else:
            cut.record(record, ())
        return tuple(cut.ahead)

    def parted_on(self, day: dt.date) -> Book:
        """The book, whole, but for the sets that did not stand on a day: they are `apart`."""
        every = self.every_set
        if not any(each.apart or each.made_up for each in every.values()):
            return self
        stood = self.as_known_on(day).sets
        return replace(
            self,
            sets={name: each for name, each in every.items() if name in stood},
            apart={name: each for name, each in every.items() if name not in stood},
        )

    def with_every_set(self) -> Book:
        """The book with those sets among the others that were taken apart: what was written of
        them is of both their cylinders still."""
        return replace(self, sets=self.every_set, apart={}) if self.apart else self

    def is_past(self, at: dt.datetime, day: dt.date) -> bool:
        """As `written_by`, by the clock of this book."""
        return written_by(at, day, self.clock, self.now)


def written_by(
    at: dt.datetime, day: dt.date, clock: dt.date | None, now: dt.datetime | None
) -> bool:
    """Whether a line of the log had been written by a day, or, where that is today, by now."""
    now = now if now and clock == now.date() else None
    if at.date() <= day:
        return now is None or clock != day or at <= now + APART
    end = now if clock == day else _end_of(day, now)
    return end is not None and at <= end


def _is_apart(doubles: Doubles, cylinders: Mapping[str, Cylinder]) -> bool:
    """Whether a set was taken apart: it was here, and both its cylinders are known."""
    sides = {side for side in doubles.cylinders if side in cylinders}
    out = any(rental.back is None and rental.void is None for rental in doubles.rented)
    return doubles.taken_apart is not None and len(sides) > 1 and not out


def _not_yet(doubles: Doubles, then: Doubles, edge: dt.date) -> bool:
    """Whether a set had not been made up by the day as of which it is `then`. One of which nobody
    can have seen the day stands, as one without a day does."""
    seen = any(each.on.first <= edge for each in doubles.made_up)
    return seen and not then.made_up and doubles.apart is None


APART = dt.timedelta(hours=1)
"""How far the clocks of two machines may be apart, so that what one wrote is not to come for the
other (own bound)."""


def _end_of(day: dt.date, now: dt.datetime | None) -> dt.datetime | None:
    """The last moment of a day at the offset of the clock; None without one, or at the world's
    end."""
    if now is None or day >= dt.date.max:
        return None
    begins = dt.datetime.combine(day + dt.timedelta(days=1), dt.time.min, now.tzinfo)
    return begins - dt.timedelta(microseconds=1)


T = TypeVar("T")
P = ParamSpec("P")


_BY_IDENTITY = (Record, Quantity)


def once_per_book(work: Callable[Concatenate[Book, P], T]) -> Callable[Concatenate[Book, P], T]:
    """Remember what is worked out from a book, and what else it is asked with, for as long as the
    book lives.

    A record that it is asked with is known by its identity, and so is a quantity, which equals
    another unit's: each is kept beside the answer, so that no other gets its place in memory.
    Whatever else it is asked with can be a key.
    """

    @wraps(work)
    def remembered(book: Book, /, *asked: P.args, **named: P.kwargs) -> T:
        known = book.known
        key: Any = work
        if asked or named:
            own = [id(each) if isinstance(each, _BY_IDENTITY) else each for each in asked]
            key = (work, *own, *named.items())
        if (entry := known.get(key)) is None:
            entry = known[key] = work(book, *asked, **named), asked
        found: T = entry[0]
        return found

    return remembered


class _Cut(Struct):
    """Takes later news out of records, and gathers what no day allows.

    `edge` is the last day on which anything can have been written.
    """

    day: dt.date
    edge: dt.date
    ahead: list[Ahead] = field(default_factory=list)
    later: bool = False

    def card(self, cylinder: Cylinder) -> Cylinder:
        """A cylinder; its recorded status is later news too where anything was taken out."""
        then = self.record(cylinder, (cylinder.id,))
        for name in ("made", "bought"):
            on = getattr(cylinder, name)
            if on is not None and on.first > self.edge:
                self.tell(cylinder, name, on, name, (cylinder.id,))
        return then if then is cylinder else replace(then, status=None)

    def record(self, record: R, ids: tuple[str, ...]) -> R:
        """A record without entries that began later and without ends that came later."""
        changes: dict[str, Any] = {}
        for name in _names(type(record)):
            value = getattr(record, name)
            if isinstance(value, tuple):
                kept = self.entries(record, name, value, ids)
                if kept is not value:
                    changes[name] = kept
            elif isinstance(value, Record):
                one = self.entries(record, name, (value,), ids)
                if not one or one[0] is not value:
                    changes[name] = one[0] if one else None
        for name, day in days_of(record):
            if day > self.day:
                changes |= self.not_yet(record, name, day, ids)
        return replace(record, **changes) if changes else record

    def entries(
        self, owner: Record, name: str, entries: tuple[Any, ...], ids: tuple[str, ...]
    ) -> tuple[Any, ...]:
        """The entries of a list that had begun, each as it was then; the list itself if all."""
        kept: list[Any] = []
        for each in entries:
            began = _began(owner, each)
            if began is not None and began > self.day:
                if self.struck_out(each, began):
                    if began > self.edge and counts_ahead(each):
                        kept.append(each)  # whoever struck it out is still to be looked at
                    continue
                self.later = True
                if began > self.edge:
                    self.tell(each, "on", each.on, name, ids)
                if not (began > self.edge and counts_ahead(each)):
                    continue
            kept.append(self.record(each, ids))
        same = len(kept) == len(entries) and all(map(is_, kept, entries))
        return entries if same else tuple(kept)

    def struck_out(self, record: Record, began: dt.date) -> bool:
        """Whether an entry was struck out by the day, so that its own day says nothing; one that
        nobody can have seen was never news of any day, whenever it was struck out."""
        void = getattr(record, "void", None)
        return void is not None and void.on <= (self.edge if began > self.edge else self.day)

    def not_yet(
        self, record: Record, name: str, day: dt.date, ids: tuple[str, ...]
    ) -> dict[str, Any]:
        """What an entry was before a day on which it went on."""
        self.later = True
        if day > self.edge:
            self.tell(record, name, day, name, ids)
        names = (name, *life_of(type(record)).days[name])
        before: dict[str, Any] = dict.fromkeys(names)
        if isinstance(record, Inspected):
            before["sticker"] = Sticker.WITHHELD
        if isinstance(record, Job) and record.state in {JobState.READY, JobState.COLLECTED}:
            before["state"] = JobState.OPEN
        return before

    def tell(
        self, record: Record, key: str, day: PartialDate | dt.date, what: str, ids: tuple[str, ...]
    ) -> None:
        """Note a day that nobody can have seen."""
        self.ahead.append(Ahead(record.source.at(key), day, what, ids))

    def lines(self, log: Log, past: dt.datetime | None, to_come: dt.datetime | None) -> Log:
        """Note the lines of the log that nobody can have written. One that is struck out already
        says nothing, and is left out with what strikes it out till its day has come."""
        times = log.column("at")
        ahead = log.after(self.edge, past, to_come)
        struck = log.struck_early(ahead)
        for place in ahead:
            if place in struck:
                continue
            line = log[place]
            self.ahead.append(
                Ahead(line.where, times[place].date(), str(line.act), (line.cylinder,))
            )
        return log.without({*struck, *struck.values()})


def _began(owner: Record, entry: Any) -> dt.date | None:
    """The first day an entry may have begun on; None where it has no day, or its day may lie ahead.

    A stamp that says when the next test is due lies in the future from its first day: such a test
    began when it was done, as far as that is known.
    """
    if isinstance(entry, Requalified) and _is_due_stamp(owner, entry):
        return entry.tested.first if entry.tested else None
    on = getattr(entry, "on", None)
    if isinstance(on, PartialDate):
        return on.first
    return on if isinstance(on, dt.date) else None


def _is_due_stamp(owner: Record, entry: Requalified) -> bool:
    due = isinstance(owner, Cylinder) and owner.stamp_means is StampMeans.NEXT_DUE
    return due and (entry.by or "").casefold() != "maker"


@once_per_record
def _names(record: type[Record]) -> tuple[str, ...]:
    """The attributes that hold records."""
    found = []
    for name, each in record.declared.items():
        inner = each.kind.kind if isinstance(each.kind, ListOf) else each.kind
        if isinstance(inner, Nested):
            found.append(name)
    return tuple(found)
