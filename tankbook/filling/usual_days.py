"""What the days of the fill log asked of the station, and what the days ahead ask by the bookings.

Nothing is guessed in silence: a fill whose pressures, gas or water volume are not on record is
taken as a usual one, and counted.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import ceil
from statistics import median
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.equation import Equation, free_density, free_gas
from tankbook.filling.figures import BUSY_DAY, DAY_RUNS
from tankbook.filling.from_station import standard_of
from tankbook.filling.levels import TINY, StandardFill
from tankbook.filling.nouns import PlanError
from tankbook.filling.sizing import MOST_COUNTED, AskedFill
from tankbook.gas import Gas, density
from tankbook.records.book import Book
from tankbook.records.station import Routine, that_stand
from tankbook.records.words import JobState, Work
from tankbook.rules.air import by_others, taken_here
from tankbook.rules.answers import Limit
from tankbook.rules.fill_book import FillsWanted, LoggedFill, fill_book
from tankbook.rules.limits import cold_target
from tankbook.rules.rental import same_size
from tankbook.rules.status import state_of
from tankbook.rules.volume import reference_of, size_of, volume_of_size
from tankbook.rules.workshop import open_jobs
from tankbook.units import GaugePressure, RunningTime, Temperature, Volume

NO_SIZE = "size not recorded"
ONE_DAY = dt.timedelta(days=1)


class WorkingHours(Struct, frozen=True):
    """When a day at the station begins (None: nothing says it) and how long it is.

    Each is from so many days on which the list of opening, or those of opening and closing, tell
    the hour; of none it is `given`, or as is common.
    """

    opens: RunningTime | None
    runs: RunningTime
    opened_on: int
    closed_on: int
    given: bool = False


class KindAsked(Struct, frozen=True):
    """The fills of one size and marked pressure: how many, from where to where and how much gas
    each typically (the median); None where no fill says it."""

    size: str
    marked: GaugePressure | None
    fills: int
    start: GaugePressure | None
    end: GaugePressure | None
    gave: Volume | None


class LoggedDay(Struct, frozen=True):
    """A day of the log: what was asked of the station, the gas of it, and of how many fills that
    was taken as usual. `timed`: its fills have hours that can be believed."""

    day: dt.date
    fills: tuple[AskedFill, ...]
    gas: Volume
    taken_as_usual: int
    timed: bool


class UsualCylinder(Struct, frozen=True):
    """What fills are counted in: that of the `fills` it is the median of, or the standard one.
    Pressures are cold, at ambient; `plain` has the volume [L], start and target [mol/L].
    `doubles`: it is a set, filled as one."""

    name: str
    fills: int
    start: GaugePressure
    target: GaugePressure
    plain: StandardFill
    doubles: bool = False

    @property
    def volume(self) -> Volume:
        """Its water volume."""
        return Volume.of(self.plain.volume, "L")


class UsualDays(Struct, frozen=True):
    """What the log says of a station's days.

    Attributes:
        since, until: the days looked at.
        days: those with fills of the gas, oldest first.
        usual: the cylinder that fills are counted in.
        kinds: the fills by size and marked pressure, the commonest first.
        other_gas: fills of other gases, which are left out.
        elsewhere: fills that others made, which are left out.
        today: fills of the day itself, which may not be over.
        no_temperature: fills that were read without one, taken at the temperature of free gas.
        unread: files of the log that could not be read in full.
    """

    since: dt.date
    until: dt.date
    days: tuple[LoggedDay, ...]
    usual: UsualCylinder
    kinds: tuple[KindAsked, ...]
    other_gas: int
    elsewhere: int
    today: int
    no_temperature: int
    unread: tuple[str, ...]

    @property
    def counts(self) -> list[int]:
        """The fills of each day, fewest first."""
        return sorted(len(day.fills) for day in self.days)

    @property
    def typical(self) -> float | None:
        """The fills of a usual day, the median; None without any day."""
        return median(self.counts) if self.days else None

    @property
    def busy(self) -> int | None:
        """The fills of a busy day: nine days in ten ask no more (nearest rank)."""
        counts = self.counts
        return counts[ceil(BUSY_DAY.fraction * len(counts)) - 1] if counts else None

    @property
    def busiest(self) -> LoggedDay | None:
        """The day that asked most fills; of equals that with most gas, then the first."""
        return max(self.days, key=lambda d: (len(d.fills), d.gas.si), default=None)

    def gas_of(self, rank: float) -> Volume | None:
        """The free gas that so large a part of the days does not exceed (nearest rank)."""
        gas = sorted((day.gas for day in self.days), key=lambda v: v.si)
        return gas[max(1, ceil(rank * len(gas))) - 1] if gas else None


class BookedAhead(Struct, frozen=True):
    """A day ahead with what is booked for it: fills, how many of them are of a size that nothing
    tells the volume of, so that the usual cylinder stands for them."""

    day: dt.date
    count: int
    fills: tuple[AskedFill, ...]
    taken_as_usual: int
    gas: Volume


class Sort(NamedTuple):
    """A size, the pressure that such a cylinder is marked with, and whether it is a set."""

    size: str
    marked: GaugePressure | None
    doubles: bool = False


class _Counted(NamedTuple):
    """A fill of the log, its sort, and what it took where that is known."""

    fill: LoggedFill
    sort: Sort
    plain: StandardFill | None


class _Counting:
    """Turns what is on record into plain fills, at a gas and an ambient temperature."""

    def __init__(self, book: Book, gas: Gas, equation: Equation) -> None:
        self.book, self.gas, self.equation = book, gas, equation
        self.reference = reference_of(book)
        self.free = free_density(gas.mixture, equation.unit)
        self._sorts: dict[str, Sort] = {}
        self._dense: dict[tuple[GaugePressure, Temperature], float] = {}

    def of(self, fill: LoggedFill) -> StandardFill | None:
        """What a fill took: the target as its gauge showed it, the start by the gas it gave.

        None where any of it is not known.
        """
        line = fill.line
        if fill.gave is None or line.to is None or not fill.litres:
            return None
        warm = line.temperature or self.reference.temperature
        target = self._density(line.to, warm)  # in range, as what it gave was worked out from it
        start = target - fill.gave.litres * self.free / fill.litres
        return StandardFill(fill.litres, start, target)

    def _density(self, pressure: GaugePressure, warm: Temperature) -> float:
        if (pressure, warm) not in self._dense:
            self._dense[pressure, warm] = density(self.gas, pressure.absolute(), warm)
        return self._dense[pressure, warm]

    def sort_of(self, id_: str) -> Sort:
        """The size and the lowest marked pressure of a cylinder or set."""
        if id_ not in self._sorts:
            found = Sort(NO_SIZE, None)
            if id_ in self.book.cylinders or id_ in self.book.sets:
                marks = [c.service_pressure for c in self.book.sides(id_) if c.service_pressure]
                lowest = min(marks, key=lambda mark: mark.pa, default=None)
                found = Sort(size_of(self.book, id_), lowest, id_ in self.book.sets)
            self._sorts[id_] = found
        return self._sorts[id_]

    def volume(self, mol: float) -> Volume:
        """An amount as free gas."""
        return free_gas(mol, self.gas.mixture, self.equation.unit)


def usual_days(
    book: Book, today: dt.date, since: dt.date, gas: Gas, equation: Equation, hours: WorkingHours
) -> UsualDays:
    """What the log asked of the station from a day to the one before today.

    Raises:
        PlanError: no fill tells a usual cylinder, and the settings' standard size is in no table.
    """
    counting = _Counting(book, gas, equation)
    found = fill_book(book, FillsWanted(since, today))
    ours: list[_Counted] = []
    other = elsewhere = of_today = 0
    for fill in found.fills:
        source = fill.line.source_ or ""
        if not fill.stands:
            continue
        if (fill.line.gas or book.usual_gas) != gas:
            other += 1
        elif by_others(source) and not taken_here(source):
            elsewhere += 1
        elif fill.line.at.date() == today:
            of_today += 1
        else:
            ours.append(_Counted(fill, counting.sort_of(fill.line.cylinder), counting.of(fill)))
    usual = _usual(counting, ours)
    by_day: dict[dt.date, list[_Counted]] = {}
    for each in ours:
        by_day.setdefault(each.fill.line.at.date(), []).append(each)
    return UsualDays(
        since=since,
        until=today - ONE_DAY,
        days=tuple(
            _day(counting, day, mine, usual.plain, hours) for day, mine in sorted(by_day.items())
        ),
        usual=usual,
        kinds=_kinds(counting, ours),
        other_gas=other,
        elsewhere=elsewhere,
        today=of_today,
        no_temperature=sum(e.fill.line.temperature is None for e in ours if e.plain is not None),
        unread=found.unread,
    )


def _kinds(counting: _Counting, fills: Sequence[_Counted]) -> tuple[KindAsked, ...]:
    """The fills by size and marked pressure, the commonest first."""
    of: dict[Sort, list[LoggedFill]] = {}
    for each in fills:
        of.setdefault(each.sort, []).append(each.fill)
    order = sorted(of, key=lambda s: (-len(of[s]), s.size, s.marked.pa if s.marked else 0.0))
    return tuple(_told(counting, sort, of[sort]) for sort in order)


def _told(counting: _Counting, sort: Sort, fills: Sequence[LoggedFill]) -> KindAsked:
    unit = counting.equation.unit

    def middle(values: Iterable[GaugePressure | None]) -> GaugePressure | None:
        said = [v.to(unit) for v in values if v is not None]
        return GaugePressure.of(median(said), unit) if said else None

    free = counting.reference.volume_unit
    gave = [f.gave.to(free) for f in fills if f.gave is not None]
    return KindAsked(
        size=sort.size,
        marked=sort.marked,
        fills=len(fills),
        start=middle(f.line.from_ for f in fills),
        end=middle(f.line.to for f in fills),
        gave=Volume.of(median(gave), free) if gave else None,
    )


def _usual(counting: _Counting, fills: Sequence[_Counted]) -> UsualCylinder:
    """The commonest kind of which gas is known, at its median volume, start and target; without
    any, the standard cylinder."""
    of: dict[Sort, list[StandardFill]] = {}
    for each in fills:
        if each.plain is not None:
            of.setdefault(each.sort, []).append(each.plain)
    if of:
        sort = max(of, key=lambda s: (len(of[s]), s.size, s.marked.pa if s.marked else 0.0))
        plain = _median(of[sort])
        if plain.target - plain.start > TINY:
            found = _cylinder(counting, sort.size, len(of[sort]), plain)
            return replace(found, doubles=sort.doubles)
    equation, reference = counting.equation, counting.reference
    standard = standard_of(
        counting.book, counting.gas, equation.ambient, reference.temperature, equation.unit
    )
    plain = StandardFill(
        standard.water_volume.litres,
        equation.density(standard.start),
        equation.density(standard.target),
    )
    if plain.volume <= 0 or plain.target - plain.start <= TINY:
        raise PlanError(
            f"the {standard.name} is no cylinder to count fills in",
            "name another `standard_size` in the settings",
        )
    return _cylinder(counting, standard.name, 0, plain)


def _cylinder(counting: _Counting, name: str, fills: int, plain: StandardFill) -> UsualCylinder:
    reading = counting.equation.reading
    return UsualCylinder(name, fills, reading(plain.start), reading(plain.target), plain)


def _median(plain: Sequence[StandardFill]) -> StandardFill:
    volume, start, target = (median(values) for values in zip(*plain, strict=True))
    return StandardFill(volume, start, target)


def _day(
    counting: _Counting,
    day: dt.date,
    fills: Sequence[_Counted],
    usual: StandardFill,
    hours: WorkingHours,
) -> LoggedDay:
    """A day's fills by the hour; where they have no hours of their own, evenly over the day."""
    took = sorted((_minutes(each.fill.line.at), each.plain or usual) for each in fills)
    times = [at for at, _ in took]
    untold = len(set(times)) == 1 and (len(times) > 2 or not times[0])
    opens, step = hours.opens.minutes if hours.opens else 0.0, hours.runs.minutes / len(took)
    asked = tuple(
        AskedFill(opens + n * step if untold else at, *plain) for n, (at, plain) in enumerate(took)
    )
    gas = counting.volume(sum(fill.need for fill in asked))
    unknown = sum(each.plain is None for each in fills)
    return LoggedDay(day, asked, gas, unknown, not untold)


def _minutes(at: dt.time | dt.datetime) -> float:
    return at.hour * 60 + at.minute + at.second / 60


# --- the hours of a day


def working_hours(
    book: Book,
    since: dt.date,
    today: dt.date,
    given: RunningTime | None,
) -> WorkingHours:
    """When a day begins and how long it is: what is `given`, else the median of the days on which
    the lists of opening and closing tell the hour, else what is common."""
    station = book.station
    first = _hours(station.opening if station else None, since, today, min)
    last = _hours(station.closing if station else None, since, today, max)
    long = [last[day] - first[day] for day in first if day in last and last[day] > first[day]]
    begins = RunningTime.of(median(first.values()), "min") if first else None
    if given is not None:
        return WorkingHours(begins, given, len(first), 0, given=True)
    stays = RunningTime.of(median(long) / 60, "h") if long else DAY_RUNS
    return WorkingHours(begins, stays, len(first), len(long))


def _hours(
    routine: Routine | None, since: dt.date, today: dt.date, of: Callable[[float, float], float]
) -> dict[dt.date, float]:
    found: dict[dt.date, float] = {}
    for walk in that_stand(routine.done) if routine else ():
        if walk.at is not None and since <= walk.on < today:
            at = _minutes(walk.at)
            found[walk.on] = of(found.get(walk.on, at), at)
    return found


# --- the days ahead


def booked_ahead(
    book: Book, today: dt.date, gas: Gas, days: UsualDays, equation: Equation
) -> tuple[tuple[BookedAhead, ...], int]:
    """The days after today for which fills are booked or promised, and how many open fills have no
    day.

    A booking asks for all it counts: what stands full already asks for none, so it is at the most
    so many. What was promised and is late is asked tomorrow.
    """
    counting = _Counting(book, gas, equation)
    wanted: dict[dt.date, list[tuple[StandardFill | None, int]]] = {}
    undated = 0
    for booking in book.bookings:
        if booking.date > today and (booking.gas or book.usual_gas) == gas and booking.count > 0:
            plain = _of_size(counting, booking.size, days) if booking.size else days.usual.plain
            wanted.setdefault(booking.date, []).append((plain, booking.count))
    for id_, promised in _promised(book) if gas == book.usual_gas else ():
        if promised is None:
            undated += 1
        else:
            plain = _of_size(counting, size_of(book, id_), days)
            wanted.setdefault(max(promised, today + ONE_DAY), []).append((plain, 1))
    found = (_ahead(counting, day, each, days.usual.plain) for day, each in sorted(wanted.items()))
    return tuple(found), undated


def _promised(book: Book) -> Iterator[tuple[str, dt.date | None]]:
    """The cylinders in for work that are to be filled; with what, a job does not say."""
    for cylinder in book.cylinders.values():
        for job in open_jobs(cylinder):
            if Work.FILL in job.work and state_of(job) is not JobState.READY:
                yield cylinder.id, job.promised


def _of_size(counting: _Counting, size: str, days: UsualDays) -> StandardFill | None:
    """A fill of a size: its nominal volume, from what a standard cylinder comes with to its marked
    pressure; None where no table has it."""
    book, usual = counting.book, days.usual
    if same_size(size, usual.name):
        return usual.plain
    volume, row = volume_of_size(book, size), book.sizes.get(size)
    if volume is None or row is None or row.service_pressure is None:
        return None
    limit = Limit(row.service_pressure, counting.reference.temperature, False, ())
    target = cold_target(limit, counting.gas.mixture, counting.equation.ambient)
    end = counting.equation.density(target)
    plain = StandardFill(volume.volume.litres, usual.plain.start, end)
    return plain if plain.target - plain.start > TINY and plain.volume > 0 else None


def _ahead(
    counting: _Counting,
    day: dt.date,
    wanted: Sequence[tuple[StandardFill | None, int]],
    usual: StandardFill,
) -> BookedAhead:
    """What is asked on a day ahead, all of it as the day begins."""
    count = sum(n for _, n in wanted)
    fills = [
        AskedFill(0.0, *(plain or usual))
        for plain, n in wanted
        for _ in range(min(n, MOST_COUNTED))
    ]
    gas = sum((plain or usual).need * n for plain, n in wanted)
    unknown = sum(n for plain, n in wanted if plain is None)
    return BookedAhead(day, count, tuple(fills[:MOST_COUNTED]), unknown, counting.volume(gas))
