"""How long the compressor ran, by the hour meters that it had one after another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import groupby, pairwise

from tankbook.records.station import Compressor, FilterChange, Hours, Station, that_stand


def readings(compressor: Compressor | None) -> tuple[Hours, ...]:
    """The readings that stand, oldest first."""
    return that_stand(compressor.hours) if compressor else ()


def counted(hours: Sequence[Hours]) -> tuple[float, ...]:
    """Each reading in hours of the first meter: what a meter that was replaced had shown stays."""
    ran, before = [], 0.0
    for each in hours:
        before += _gained(each)
        ran.append(each.reads.hours + before)
    return tuple(ran)


def counted_at(hours: Sequence[Hours], change: FilterChange) -> float:
    """A filter change in hours of the first meter.

    On the day on which a meter was replaced, `at` is of the old one where that can have shown it:
    no less than it was last read, and no more than it showed when it was taken off.
    """
    shown = before = 0.0
    for each in hours:
        old = each.instead_of
        if each.on > change.on:
            break
        if old is not None and each.on == change.on and shown <= change.at.hours <= old.hours:
            break
        before += _gained(each)
        shown = each.reads.hours
    return change.at.hours + before


def shown(station: Station) -> tuple[tuple[dt.date, float], ...]:
    """Each time that the meter was seen, in hours of the first meter, oldest first: it is read at a
    filter change too."""
    hours = readings(station.compressor)
    seen = [(h.on, ran) for h, ran in zip(hours, counted(hours), strict=True)]
    seen += [(c.on, counted_at(hours, c)) for c in changes(station)]
    return tuple(sorted(seen))


def changes(station: Station) -> tuple[FilterChange, ...]:
    """The changes of all filters that stand, oldest first."""
    return that_stand(c for part in station.filters for c in part.changed)


def went_back(station: Station) -> bool:
    """Whether it showed less than on a day before. What was seen on one day has no order."""
    most = 0.0
    for _, day in groupby(shown(station), key=lambda each: each[0]):
        ran = [each for _, each in day]
        if min(ran) < most:
            return True
        most = max(ran)
    return False


def against(station: Station, change: FilterChange) -> str:
    """How the meter contradicts a filter change, as `more before it`; empty where it does not."""
    at = counted_at(readings(station.compressor), change)
    if any(on < change.on and ran > at for on, ran in shown(station)):
        return "more before it"
    less_since = any(on > change.on and ran < at for on, ran in shown(station))
    return "less since" if less_since else ""


def usual_gap(hours: Sequence[Hours]) -> dt.timedelta:
    """The longest that it went without being read between two readings."""
    gaps = (later.on - before.on for before, later in pairwise(hours))
    return max(gaps, default=dt.timedelta())


def newest(compressor: Compressor | None) -> Hours | None:
    """The highest reading, of the newest meter: what the compressor's meter shows now."""
    hours = readings(compressor)
    shown = zip(counted(hours), range(len(hours)), strict=True)
    return hours[max(shown)[1]] if hours else None


def _gained(reading: Hours) -> float:
    """What a new meter shows less than the one before it, in hours."""
    old = reading.instead_of
    return 0.0 if old is None else old.hours - reading.reads.hours
