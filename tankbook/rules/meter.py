"""How long a compressor ran, by the hour meters that it had one after another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import TypeVar

from tankbook.records.naming import named_among
from tankbook.records.station import (
    Booster,
    Compressor,
    Filter,
    FilterChange,
    Hours,
    Station,
    StationUpkeep,
    UpkeepDone,
    that_stand,
)
from tankbook.units import RunningTime

_E = TypeVar("_E", FilterChange, UpkeepDone)


def readings(pump: Compressor | Booster | None) -> tuple[Hours, ...]:
    """The readings that stand of a compressor or a booster, oldest first."""
    return that_stand(pump.hours) if pump else ()


def pump_called(station: Station, name: str | None) -> Compressor | Booster | None:
    """What has a meter of its own and is called so: a compressor, the only one where nothing is
    said, or a booster. None where nothing is called so, or more than one thing."""
    said = (name or "").casefold()
    boosters = [b for b in station.boosters if b.name.casefold() == said]
    found = [p for p in (station.compressor_called(name), *boosters) if p is not None]
    return found[0] if len(found) == 1 else None


def compressor_of(station: Station, part: Filter) -> Compressor | None:
    """The compressor that a filter is of: where only one is, that one, whatever the filter says of
    it is told by a check; None where several are and it does not say which."""
    if station.only_compressor or not part.of:
        return station.only_compressor
    fed = {s.name.casefold(): s.of for s in station.sources}
    return station.compressor_called(fed.get(part.of.casefold(), part.of))


def filters_of(station: Station, compressor: Compressor | Booster | None) -> tuple[Filter, ...]:
    """The filters of a compressor; of None, where the station has no compressor, all."""
    return tuple(f for f in station.filters if compressor_of(station, f) == compressor)


def pump_of_upkeep(station: Station, part: StationUpkeep) -> Compressor | Booster | None:
    """What upkeep is counted by the meter of: what it is of, the only compressor where it says
    nothing. None of an instrument, and where several compressors are and it does not say which."""
    return pump_called(station, part.of)


def upkeep_seen(part: StationUpkeep) -> tuple[tuple[UpkeepDone, FilterChange], ...]:
    """Each time that the meter was read when upkeep was done, as a filter change reads it."""
    return tuple((d, FilterChange(on=d.on, at=d.at)) for d in that_stand(part.done) if d.at)


def counted(hours: Sequence[Hours]) -> tuple[float, ...]:
    """Each reading in hours of the first meter: what a meter that was replaced had shown stays."""
    ran, before, last = [], 0.0, None
    for each in hours:
        before += _gained(each, last)
        ran.append(each.reads.hours + before)
        last = each
    return tuple(ran)


def is_less(now: RunningTime, before: RunningTime) -> bool:
    """Whether a meter shows less than it did. A figure is as exact as it is written: beside one in
    tenths, one in whole hours may be up to an hour off."""
    return _is_less((now.hours, _is_whole(now)), (before.hours, _is_whole(before)))


def _is_less(now: tuple[float, bool], before: tuple[float, bool]) -> bool:
    """As `is_less`, of hours, each beside whether it is in whole ones."""
    rounded = _WHOLE if now[1] is not before[1] else 0.0
    return now[0] < before[0] and before[0] - now[0] >= rounded


def _is_whole(time: RunningTime) -> bool:
    return time.hours.is_integer()


_WHOLE = 1.0
"""Hours: what is cut off or rounded in a figure in whole ones is less."""


def fallen(hours: Sequence[Hours]) -> Iterator[tuple[Hours, Hours]]:
    """Each reading that shows less than one before it, which comes first: less than the last in
    tenths, or than the last in whole hours."""
    last: dict[bool, tuple[float, Hours]] = {}
    for now, ran in zip(hours, counted(hours), strict=True):
        whole = _is_whole(shown_then(now))
        more = [b for was, (r, b) in last.items() if _is_less((ran, whole), (r, was))]
        if more:
            yield max(more, key=lambda each: each.on), now
        last[_is_whole(now.reads)] = ran, now


def shown_then(reading: Hours) -> RunningTime:
    """What the meter showed that was there before a reading: the old one, where it was replaced."""
    return reading.reads if reading.instead_of is None else reading.instead_of


def counted_at(hours: Sequence[Hours], change: FilterChange) -> float:
    """A filter change in hours of the first meter.

    On the day on which a meter was replaced, `at` is of the old one where that can have shown it:
    no less than it was last read, and no more than it showed when it was taken off.
    """
    before, last = 0.0, None
    for each in hours:
        if each.on > change.on:
            break
        if each.on == change.on and _is_of_old(change.at, each, last):
            break
        before += _gained(each, last)
        last = each
    return change.at.hours + before


def _is_of_old(at: RunningTime, new: Hours, last: Hours | None) -> bool:
    """Whether a meter that a reading replaces can have shown a figure on its last day."""
    old = new.instead_of
    more = last is not None and is_less(at, last.reads)
    return old is not None and not more and not is_less(old, at)


def shown(
    station: Station, compressor: Compressor | Booster | None
) -> tuple[tuple[dt.date, float], ...]:
    """Each time that a compressor's or a booster's meter was seen, in hours of its first, oldest
    first: it is read at a filter change and at upkeep too."""
    return tuple((on, ran) for on, (ran, _) in _seen(station, compressor))


def _seen(
    station: Station, compressor: Compressor | Booster | None
) -> list[tuple[dt.date, tuple[float, bool]]]:
    """As `shown`, each beside whether it is in whole hours."""
    hours = readings(compressor)
    seen = [(h.on, (n, _is_whole(h.reads))) for h, n in zip(hours, counted(hours), strict=True)]
    seen += [(c.on, (counted_at(hours, c), _is_whole(c.at))) for c in changes(station, compressor)]
    sights = [c for _, c in upkept_by(station, compressor)]
    seen += [(c.on, (counted_at(hours, c), _is_whole(c.at))) for c in sights]
    return sorted(seen)


def upkept_by(
    station: Station, pump: Compressor | Booster | None
) -> Iterator[tuple[StationUpkeep, FilterChange]]:
    """Each time that the meter of a compressor or a booster was read when upkeep was done."""
    for part in station.upkeep:
        if pump is not None and pump_of_upkeep(station, part) == pump:
            yield from ((part, seen) for _, seen in upkeep_seen(part))


def changes(station: Station, compressor: Compressor | Booster | None) -> tuple[FilterChange, ...]:
    """The changes that stand of all filters of a compressor, oldest first."""
    return that_stand(c for part in filters_of(station, compressor) for c in part.changed)


def went_back(station: Station, compressor: Compressor | Booster | None) -> bool:
    """Whether it showed less than on a day before. What was seen on one day has no order."""
    most: dict[bool, float] = {}
    for _, day in groupby(_seen(station, compressor), key=lambda each: each[0]):
        ran = [each for _, each in day]
        if any(_is_less(now, (before, was)) for now in ran for was, before in most.items()):
            return True
        most |= {whole: each for each, whole in ran}
    return False


def to_set_right(station: Station, pump: Compressor | Booster | None) -> str:
    """That the meter of a compressor or a booster runs backward, and the entries of it that cannot
    all be true, each by what sets it right."""
    called = "" if pump is station.only_compressor or pump is None else f"{pump.name}."
    found = [
        (f"{called}hours {named_among(pump.hours if pump else (), now)}", "reads")
        for _, now in fallen(readings(pump))
    ]
    for part in filters_of(station, pump):
        changed = [(c, c) for c in that_stand(part.changed)]
        found += [
            (f"{part.name}.changed {named_among(part.changed, each)}", "at")
            for each in _at_odds(station, pump, changed)
        ]
    for kept in station.upkeep:
        if pump is not None and pump_of_upkeep(station, kept) == pump:
            found += [
                (f"{kept.name}.done {named_among(kept.done, each)}", "at")
                for each in _at_odds(station, pump, upkeep_seen(kept))
            ]
    ways = [f"`tankbook correct station {name} --set {key}=HOURS --why WHY`" for name, key in found]
    if not ways:
        return RUNS_BACK
    return f"{RUNS_BACK}, or set right what is wrong of {' or '.join(ways)}"


def _at_odds(
    station: Station,
    pump: Compressor | Booster | None,
    seen: Sequence[tuple[_E, FilterChange]],
) -> Iterator[_E]:
    """The entries, each beside what the meter showed then, that it contradicts, or that another of
    their day does, which stands before it."""
    for n, (entry, sight) in enumerate(seen):
        before = (s.at for _, s in seen[:n] if s.on == sight.on)
        if against(station, pump, sight) or any(is_less(sight.at, each) for each in before):
            yield entry


RUNS_BACK = "its hour meter runs backward: read it again"


def against(station: Station, compressor: Compressor | Booster | None, change: FilterChange) -> str:
    """How the meter contradicts a filter change, as `more before it`; empty where it does not."""
    at = counted_at(readings(compressor), change), _is_whole(change.at)
    seen = _seen(station, compressor)
    if any(on < change.on and _is_less(at, ran) for on, ran in seen):
        return "more before it"
    less_since = any(on > change.on and _is_less(ran, at) for on, ran in seen)
    return "less since" if less_since else ""


def usual_gap(hours: Sequence[Hours]) -> dt.timedelta:
    """The longest that it went without being read between two readings."""
    gaps = (later.on - before.on for before, later in pairwise(hours))
    return max(gaps, default=dt.timedelta())


def newest(pump: Compressor | Booster | None) -> Hours | None:
    """The highest reading, of the newest meter: what the meter of a compressor or a booster shows
    now."""
    hours = readings(pump)
    shown = zip(counted(hours), range(len(hours)), strict=True)
    return hours[max(shown)[1]] if hours else None


def _gained(reading: Hours, last: Hours | None) -> float:
    """What a new meter shows less than the one before it, in hours: the old one's last figure, or
    the reading before it where that is more by no more than rounding."""
    old = reading.instead_of
    if old is None:
        return 0.0
    if last is not None and not is_less(old, last.reads):
        old = max(old, last.reads)
    return old.hours - reading.reads.hours
