"""What the entries that are gone would say if they still stood: the gate is asked with them back.

An entry may tell against its cylinder by a row or a limit that only the gate knows: an air test
over its limits, a gouge too deep, a test that did not reach its pressure, a day that is long past.
So it is not listed here which do; whatever refuses with the entries put back in the stead of what
was made of them, and does not without, is missed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.absence import Absence, Explained, Quiet
from tankbook.records.book import Book
from tankbook.records.fields import Record, attributes_of
from tankbook.records.rulerow import Gate
from tankbook.records.words import Service
from tankbook.rules.answers import Reason, State
from tankbook.rules.checks import CHECKS
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.out_of_use import out_of_use
from tankbook.rules.vanished import with_ids
from tankbook.units import PartialDate


def gone_judged(book: Book, today: dt.date) -> Absence:
    """What is gone, with the entries that are gone or altered and would refuse a fill if they still
    stood as they were.

    Args:
        book: the records, with what git no longer finds in them.
        today: the day asked about.
    """
    absence = book.absence
    gone, told = list(absence.gone), list(absence.explained)
    begun = (q for q in absence.quiet if _begun(q.was, today) and _is_there(book, q))
    known = sorted(begun, key=_whose)
    then = book  # with everything back at once, as most of it makes no difference
    for each in known:
        then = _Missing(then, each.id, today, ()).with_back([each])
    for id_, group in groupby(known, key=_whose):
        quiet = _Missing(book, id_, today, tuple(group))
        if not quiet.is_worse(then):
            continue
        for each in quiet.missed([q for q in quiet.all if q.removed is None]):
            gone += with_ids([each.gone], *([id_] if id_ else []))
        for each in quiet.missed(quiet.all) if any(q.removed for q in quiet.all) else ():
            if each.removed is not None:
                of = with_ids([each.gone], *([id_] if id_ else []))
                told += [Explained(g, each.removed) for g in of]
    in_order = sorted(gone, key=lambda g: (g.path, g.line, g.what))
    return replace(absence, gone=tuple(in_order), explained=tuple(told))


def _whose(quiet: Quiet) -> str:
    return quiet.id


def _is_there(book: Book, quiet: Quiet) -> bool:
    """Whether the record that an entry stood in can be read."""
    return quiet.id in book.cylinders if quiet.id else book.station is not None


class _Missing(Struct, frozen=True):
    """The entries that are gone of one cylinder, or of the station (an empty id)."""

    book: Book
    id: str
    today: dt.date
    all: tuple[Quiet, ...]

    def missed(self, quiet: Sequence[Quiet]) -> Sequence[Quiet]:
        """Those that a refusal turns on: by itself, or beside the others; all where none does."""
        if not quiet or not self._worse(quiet):
            return ()
        if len(quiet) == 1:
            return quiet
        others = {id(q): [o for o in quiet if o is not q] for q in quiet}
        alone = [q for q in quiet if self._worse([q]) or not self._worse(others[id(q)])]
        return alone or quiet

    def _worse(self, quiet: Iterable[Quiet]) -> bool:
        return self.is_worse(self.with_back(quiet))

    def is_worse(self, then: Book) -> bool:
        """Whether there is a refusal more in a book with some entries put back."""
        known = set(map(_told, self._refusals(self.book)))
        return any(_is_adverse(r) and _told(r) not in known for r in self._refusals(then))

    def _refusals(self, book: Book) -> list[Reason]:
        if self.id:
            reasons = list(may_fill(book, self.id, self.today, station=False).reasons)
            # what an oxygen-clean cylinder met is asked of its own gases alone
            card = self.book.cylinders.get(self.id)
            gas = _RICH.get(card.service) if card is not None and card.service else None
            if gas is not None:
                reasons += may_fill(book, self.id, self.today, gas, station=False).reasons
        else:
            reasons = station_reasons(book, self.today, of_a_fill=True)
            # what puts one part out of use refuses a fill that names it, and closes nothing
            reasons += [out.reason for out in out_of_use(book, self.today)]
        return [r for r in reasons if r.gate is Gate.REFUSE]

    def with_back(self, quiet: Iterable[Quiet]) -> Book:
        """The book with some entries put back."""
        record: Any = self.book.cylinders.get(self.id) if self.id else self.book.station
        for each in quiet:
            record = _put_back(record, each.gone.place, each)
        if not self.id:
            return replace(self.book, station=record)
        return replace(self.book, cylinders={**self.book.cylinders, self.id: record})


_RICH = {Service.NITROX: Gas.parse("nitrox32"), Service.OXYGEN: Gas.parse("oxygen")}
"""The gas that a cylinder of a service is asked for besides air."""

_DATED = tuple(f"-{state}" for state in (State.OVERDUE, State.MISSING))


def _told(reason: Reason) -> tuple[str, str]:
    """What tells one refusal from another: of what has lapsed, not since when."""
    if reason.row is not None and reason.code.endswith(_DATED):
        return reason.code, reason.row.id
    return reason.code, reason.text


def _is_adverse(reason: Reason) -> bool:
    """Whether a refusal is for what was found or happened, or did not happen in time: not for two
    records that say two things, which is put right by correcting one."""
    if reason.row is not None:
        return True
    return reason.code in CHECKS and CHECKS[reason.code].adverse


def _put_back(record: Any, place: str, quiet: Quiet) -> Any:
    """A record with an entry back in the list at `place`, in the stead of what was made of it; the
    same where what the list belongs to is there no longer."""
    key, _, rest = place.partition(".")
    name = attributes_of(type(record)).get(key) if isinstance(record, Record) else None
    value = getattr(record, name) if name else None
    if name is None or value is None:
        return record
    changes: dict[str, Any] = {}
    if not rest and isinstance(value, tuple):
        kept = (e for e in value if not quiet.line or e.source.at().line != quiet.line)
        changes[name] = tuple(sorted((*kept, quiet.was), key=_day))
    elif isinstance(value, Record):
        changes[name] = _put_back(value, rest, quiet)
    elif isinstance(value, tuple):
        part, _, inner = rest.rpartition(".")
        changes[name] = tuple(
            _put_back(e, inner, quiet) if getattr(e, "name", None) == part else e for e in value
        )
    return replace(record, **changes) if changes else record


def _begun(entry: Record, today: dt.date) -> bool:
    return _day(entry) <= today


def _day(entry: Record) -> dt.date:
    on = getattr(entry, "on", None)
    return on.first if isinstance(on, PartialDate) else on or dt.date.min
