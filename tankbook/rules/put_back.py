"""What an entry that is gone would say if it still stood: the gate is asked with it put back.

An entry may tell against its cylinder by a row or a limit that only the gate knows: an air test
over its limits, a gouge too deep, a test that did not reach its pressure. So it is not listed here
which do; whatever refuses with the entry put back and does not without it is missed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from typing import Any, TypeVar

from tankbook.records.absence import Gone, Quiet
from tankbook.records.book import Book
from tankbook.records.entries import Entry
from tankbook.records.fields import Record
from tankbook.records.rulerow import Gate
from tankbook.records.station import AirTest
from tankbook.rules.answers import Reason, State
from tankbook.rules.checks import CHECKS
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.vanished import stem, with_ids
from tankbook.units import PartialDate

_E = TypeVar("_E", bound=Record)


def missed(book: Book, today: dt.date) -> tuple[Gone, ...]:
    """The entries that are gone or altered, and would refuse a fill if they still stood.

    Args:
        book: the records, with what git no longer finds in them.
        today: the day asked about.
    """
    found = []
    for quiet in book.absence.quiet:
        if isinstance(quiet.was, AirTest):
            with_it = station_reasons(_with_test(book, quiet), today, of_a_fill=True)
            without = station_reasons(book, today, of_a_fill=True)
            found += [quiet.gone] if _more(with_it, without) else []
        elif isinstance(quiet.was, Entry) and quiet.was.on.first <= today:
            id_ = stem(quiet.gone.path)
            then = _with_entry(book, id_, quiet)
            if then is not None:
                now = may_fill(book, id_, today, station=False).refusals
                asked = may_fill(then, id_, today, station=False).refusals
                found += with_ids([quiet.gone], id_) if _more(asked, now) else []
    return tuple(found)


def _more(with_it: Iterable[Reason], without: Iterable[Reason]) -> bool:
    """Whether there is a refusal more for what was found or happened."""
    known = {(r.code, r.text) for r in without}
    new = (r for r in with_it if r.gate is Gate.REFUSE and (r.code, r.text) not in known)
    return any(map(_is_adverse, new))


_LAPSED = tuple(f"-{state}" for state in (State.OVERDUE, State.MISSING))


def _is_adverse(reason: Reason) -> bool:
    """Whether a refusal is for what was found or happened: not for a day that has passed, nor for
    two records that say two things, which is put right by correcting one."""
    if reason.row is not None:
        return not reason.code.endswith(_LAPSED)
    return reason.code in CHECKS and CHECKS[reason.code].adverse


def _with_test(book: Book, quiet: Quiet) -> Book:
    assert book.station is not None
    assert isinstance(quiet.was, AirTest)
    tests = _put_back(book.station.air_tests, quiet.was, quiet.line)
    return replace(book, station=replace(book.station, air_tests=tests))


def _with_entry(book: Book, id_: str, quiet: Quiet) -> Book | None:
    card = book.cylinders.get(id_)
    entries = getattr(card, quiet.gone.place, None)
    if card is None or not isinstance(entries, tuple):
        return None
    changes: dict[str, Any] = {quiet.gone.place: _put_back(entries, quiet.was, quiet.line)}
    changed = replace(card, **changes)
    return replace(book, cylinders={**book.cylinders, id_: changed})


def _put_back(entries: tuple[_E, ...], was: _E, line: int) -> tuple[_E, ...]:
    """A list of entries with one put back, in the place of what stands in its stead."""
    kept = (e for e in entries if not line or e.source.at().line != line)
    return tuple(sorted((*kept, was), key=_day))


def _day(entry: Record) -> dt.date:
    on = getattr(entry, "on", None)
    return on.first if isinstance(on, PartialDate) else on or dt.date.min
