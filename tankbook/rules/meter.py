"""How long the compressor ran, by the hour meters that it had one after another."""

from __future__ import annotations

from collections.abc import Sequence

from tankbook.records.station import Compressor, FilterChange, Hours, that_stand


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


def newest(compressor: Compressor | None) -> Hours | None:
    """The highest reading, of the newest meter: what the compressor's meter shows now."""
    hours = readings(compressor)
    shown = zip(counted(hours), range(len(hours)), strict=True)
    return hours[max(shown)[1]] if hours else None


def _gained(reading: Hours) -> float:
    """What a new meter shows less than the one before it, in hours."""
    old = reading.instead_of
    return 0.0 if old is None else old.hours - reading.reads.hours
