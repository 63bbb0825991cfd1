"""What compressors and boosters ran by month, what they are reckoned to run, and the hours on each
filter and piece of upkeep that is counted by them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.records.station import Booster, Compressor, FilterChange, Station, that_stand
from tankbook.records.words import TestResult
from tankbook.rules import meter, running
from tankbook.rules.answers import Due
from tankbook.rules.costs import YEAR
from tankbook.rules.months import months_from
from tankbook.rules.running import MonthRun, RunningSeason
from tankbook.rules.schedule import due
from tankbook.units import PartialDate
from tankbook.units.dates import LAST_YEAR, months_between

Sight = tuple[dt.date, float]
"""A day, and hours."""


class MonthAhead(Struct, frozen=True):
    """The hours that a month is reckoned to have, after the meter was last seen."""

    month: PartialDate
    hours: float


class PartHours(Struct, frozen=True):
    """A filter or piece of upkeep by running hours.

    Attributes:
        name: its label.
        what: the question that it answers.
        life: the hours it lasts.
        runs: the hours on it, from each change to the next, day by day as the meter was seen; the
            last run goes on.
        due: how it stands, with the day that it is reckoned to hold.
    """

    name: str
    what: Obligation
    life: float
    runs: tuple[tuple[Sight, ...], ...]
    due: Due | None


class PumpHours(Struct, frozen=True):
    """A compressor or booster: its months, those ahead, and what is counted by it.

    `why_not` says why nothing is told of it; else it is empty.
    """

    name: str
    months: tuple[MonthRun, ...]
    ahead: tuple[MonthAhead, ...]
    season: RunningSeason | None
    parts: tuple[PartHours, ...]
    why_not: str = ""

    @property
    def begun(self) -> list[PartHours]:
        """The parts of which anything was counted yet."""
        return [part for part in self.parts if part.runs]


def pump_hours(book: Book, today: dt.date, months: int = YEAR) -> tuple[PumpHours, ...]:
    """Every compressor and booster with a meter on record, and `months` ahead of today's."""
    station = book.station
    if station is None:
        return ()
    dues = {(d.obligation, d.part): d for d in due(book, today) if d.kind == "station"}
    pumps: tuple[Compressor | Booster, ...] = (*station.every_compressor, *station.boosters)
    return tuple(
        _of_pump(station, pump, today, months, dues) for pump in pumps if meter.readings(pump)
    )


def _of_pump(
    station: Station,
    pump: Compressor | Booster,
    today: dt.date,
    months: int,
    dues: dict[tuple[Obligation, str], Due],
) -> PumpHours:
    if meter.went_back(station, pump):
        why = meter.to_set_right(station, pump)
        return PumpHours(_called(pump), (), (), None, (), why)
    season = running.season_of(station, pump)
    return PumpHours(
        name=_called(pump),
        months=running.run_by_month(station, pump),
        ahead=tuple(_ahead(season, today, months)) if season else (),
        season=season,
        parts=tuple(_parts(station, pump, dues)),
    )


def _called(pump: Compressor | Booster) -> str:
    return pump.name or "compressor"


def _ahead(season: RunningSeason, today: dt.date, months: int) -> Iterator[MonthAhead]:
    """This month, as far as it is not seen yet, and those that follow; months that passed since the
    meter was seen, too."""
    seen = season.seen_on
    passed = months_between(seen, today)
    left = months_between(seen, dt.date(LAST_YEAR, 12, 1)) + 1
    for month in months_from(seen, min(max(passed, 0) + months + 1, left)):
        since = max(month.first - dt.timedelta(days=1), season.seen_on)
        if since < month.last:
            yield MonthAhead(month, season.hours(since, month.last))


def _parts(
    station: Station, pump: Compressor | Booster, dues: dict[tuple[Obligation, str], Due]
) -> Iterator[PartHours]:
    seen = running.sights(station, pump)
    for part in station.filters:
        if part.life is not None and meter.compressor_of(station, part) == pump:
            runs = _runs(pump, that_stand(part.changed), seen)
            what = Obligation.FILTER
            yield PartHours(part.name, what, part.life.hours, runs, dues.get((what, part.name)))
    for upkeep in station.upkeep:
        if upkeep.hours is not None and meter.pump_of_upkeep(station, upkeep) == pump:
            done = [c for d, c in meter.upkeep_seen(upkeep) if d.result is TestResult.PASS]
            what = Obligation.UPKEEP
            found = dues.get((what, upkeep.name))
            yield PartHours(upkeep.name, what, upkeep.hours.hours, _runs(pump, done, seen), found)


def _runs(
    pump: Compressor | Booster, changes: Sequence[FilterChange], seen: Sequence[Sight]
) -> tuple[tuple[Sight, ...], ...]:
    """The hours since each change, at each sight up to the next change."""
    hours = meter.readings(pump)
    begun = [(c.on, meter.counted_at(hours, c)) for c in changes]
    ends = [*begun[1:], (dt.date.max, float("inf"))]
    found = []
    for (on, at), (until, most) in zip(begun, ends, strict=True):
        run = [(on, 0.0)]
        run += [(day, max(ran - at, 0.0)) for day, ran in seen if on < day < until]
        run += [(until, max(most - at, 0.0))] if until != dt.date.max else []
        found.append(tuple(run))
    return tuple(found)
