"""What a bank holds, and when that was pumped: its gas from reading to reading, by mass balance.

Amounts are of the real gas, by the equation of state of the room `gas`, all of them at the usual
temperature of the station, since a bank's gauge is read without one. A fill takes what its cylinder
gained; of several banks that it names each gives an equal part, as nobody says how much. What was
read always counts over what was worked out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from functools import cache, lru_cache
from itertools import islice, pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.gas import AIR_GAS, Mixture, RangeError, density, settled_pressure
from tankbook.records.book import Book, once_per_book
from tankbook.records.kinds import EMPTY, MOST_PRESSURE, is_empty
from tankbook.records.log import Log, LogLine
from tankbook.records.station import COMPRESSOR, Bank, Raised, Reading, Station, that_stand
from tankbook.records.words import LogAct
from tankbook.rules.air import by_others, own_names, parts_named, taken_here, unfed
from tankbook.rules.fill_history import (
    GAUGE_ERROR_AT_MOST,
    HAIR,
    gas_went_into,
    gauge_error,
    is_above,
    struck_out_lines,
    void_key,
)
from tankbook.rules.volume import reference_of, water_volume_of
from tankbook.units import (
    STANDARD_ATMOSPHERE,
    GaugePressure,
    RunningTime,
    Temperature,
    time_of_day,
)

CHARGED = GaugePressure.of(600, "psi")
"""A bank that is read higher by more than this was pumped: a warm day and the gauge's error do less
(common practice, no source)."""

FEWEST = 1e-4
"""Gas of several raisings, each of which is less than this share of what a bank holds now, is told
as of all the days between them (own bound)."""

NEAR = dt.timedelta(days=7)
"""Small shares are told as one where no more time lies between them (own bound)."""

_NEVER = dt.date.min
_END = dt.time.max


LEAST = 1e-12
"""However often a bank was topped, so much of what was in it before is still there (own bound)."""


class BankOrigin(Struct, frozen=True):
    """Gas that was pumped together.

    Attributes:
        since: the first day on which it can have been pumped; None where nothing says so.
        on: the last one; of a raising that was recorded both are its day.
        share: of what the bank holds now, more than 0 and up to 1.
        source: what it came from; an empty text for the compressor (of several, any), or where
            nobody says.
        hours: what the compressor's meter showed by then, as last read.
        recorded: somebody recorded the raising; else a gauge showed that there was one.
        through: the banks that it lay in before, in small letters, in the order of its way, each
            with the day on which the next one was raised from it.
        measured: its share is known; of gas that came in while nobody says how much was taken it
            is not, and is only more than nothing.
        several: it is told of several raisings as one, that may have come different ways.
        rose: of what may have come in unseen: a later record shows that it was pumped in a time
            that holds that, and `share` is what that came to by its end.
        at: at what time of its last day it was in, where that was noted.
    """

    since: dt.date | None
    on: dt.date
    share: float = 1.0
    source: str = ""
    hours: RunningTime | None = None
    recorded: bool = False
    through: tuple[tuple[str, dt.date], ...] = ()
    measured: bool = True
    several: bool = False
    rose: bool = False
    at: dt.time | None = None

    @property
    def begun(self) -> dt.datetime:
        """The first moment at which it can have been pumped: of a raising its own; since it was
        read, at the end of that day, as a reading is of that."""
        if self.recorded and self.at is not None and self.since == self.on:
            return dt.datetime.combine(self.on, self.at)
        since = self.since or dt.date.min
        read = not (self.recorded or self.several) and dt.date.min < since < self.on
        return dt.datetime.combine(since, _END if read else dt.time.min)

    @property
    def over(self) -> dt.datetime:
        """The last one."""
        return dt.datetime.combine(self.on, self.at or _END)

    @property
    def came_by(self) -> dt.datetime:
        """The last moment at which it can have come into the bank that it is in."""
        return max([self.over, *(dt.datetime.combine(left, _END) for _, left in self.through)])

    @property
    def came(self) -> dt.date:
        """The last day on which it can have come into the bank that it is in."""
        return max((self.on, *(left for _, left in self.through)))

    @property
    def stays(self) -> tuple[tuple[str, dt.date, dt.date], ...]:
        """The banks that it lay in before, each with the last day on which it can have come there
        and the day on which it left; none where nobody knows that all of it came that way."""
        came = (self.on, *(left for _, left in self.through))
        known = () if self.several else zip(self.through, came, strict=False)
        return tuple((name, since, left) for (name, left), since in known)


class BankAir(Struct, frozen=True):
    """What a bank is known to hold.

    Attributes:
        name: its label.
        read: what was last read, at a reading or at the end of a raising; None where nothing was.
        read_on: when.
        shows: what it should show now: as read, less what was filled from it since.
        fills: how many fills named it since.
        unmeasured: how many of them do not say how much they took: they count for nothing.
        gave: how many times another bank was raised from it since.
        origins: when what it holds was pumped, oldest first; their shares sum to 1. None of a bank
            that is empty, or of which nothing is known.
        emptied: the day on which it was last read empty.
        before: what was in it whenever it was read empty: some of that may have soiled it.
    """

    name: str
    read: GaugePressure | None = None
    read_on: dt.date | None = None
    shows: GaugePressure | None = None
    fills: int = 0
    unmeasured: int = 0
    gave: int = 0
    origins: tuple[BankOrigin, ...] = ()
    emptied: dt.date | None = None
    before: tuple[BankOrigin, ...] = ()

    @property
    def is_known(self) -> bool:
        """Whether anything says what it holds, or that it holds nothing."""
        return self.read is not None

    def share(self, of: Callable[[BankOrigin], bool]) -> float:
        """How much of what it holds now is of some origins, from 0 to 1."""
        return min(1.0, sum(each.share for each in self.origins if of(each)))


class Beyond(Struct, frozen=True):
    """A fill that ended above what the banks that it names can have shown then.

    Attributes:
        line: the fill.
        banks: the banks.
        most: the highest that any of them can have shown, by what was read and recorded.
    """

    line: LogLine
    banks: tuple[str, ...]
    most: GaugePressure

    @property
    def can_have_shown(self) -> str:
        """`B1 can have shown no more than 2450 psi then`."""
        said = f"{' and '.join(self.banks)} can{' each' if len(self.banks) > 1 else ''} have shown"
        return f"{said} no more than {self.most.format(self.most.unit, 0)} then"


def air_of(book: Book, bank: Bank) -> BankAir:
    """What a bank holds by the records of a book; of an earlier day ask the book of that day."""
    return _lives(book).airs.get(bank.name, BankAir(bank.name))


def given_by(book: Book, line: LogLine) -> tuple[tuple[str, tuple[BankOrigin, ...] | None], ...]:
    """What each bank that a fill names held then: its label, and when that was pumped, with what
    may have been since it was read; or None where nobody knows what was in it."""
    return _lives(book).given.get(void_key(line), ())


def beyond_banks(book: Book) -> tuple[Beyond, ...]:
    """The fills that no bank they name could have given, by what was read and recorded of it. One
    that was read higher afterwards was pumped meanwhile, and nobody wrote down before which fill.
    """
    banks = {b.name: b for b in book.station.banks} if book.station else {}
    found = (each for each in _lives(book).beyond)
    return tuple(b for b in found if not any(_rose_since(banks[name], b) for name in b.banks))


def beyond_of(book: Book) -> Mapping[tuple[str, str], Beyond]:
    """The same, each by the key of its line."""
    return {void_key(each.line): each for each in beyond_banks(book)}


def _rose_since(bank: Bank, beyond: Beyond) -> bool:
    """Whether the next reading of a bank is above all that it can have shown at a fill."""
    day = beyond.line.at.date()
    after = (r for r in that_stand(bank.readings) if r.on > day)
    return any(is_above(r.pressure, beyond.most, CHARGED) for r in islice(after, 1))


class Pumped(Struct, frozen=True):
    """That a bank was pumped, somewhere from `since` to `on`; from what, where that was said."""

    since: dt.date
    on: dt.date
    source: str = ""


def pumped(bank: Bank) -> Iterator[Pumped]:
    """When a bank was pumped by its own records alone: as recorded, and where it was read higher
    than at the reading before by more than `CHARGED`."""
    yield from (Pumped(r.on, r.on, r.source_ or "") for r in that_stand(bank.raised))
    yield from (Pumped(low.on, high.on) for low, high in rises_unrecorded(bank))


def rises_unrecorded(bank: Bank) -> Iterator[tuple[Reading, Reading]]:
    """The pairs of readings, one after another, between which a bank rose by more than `CHARGED`
    while no raising is on record that is the whole of it."""
    for low, high in pairwise(that_stand(bank.readings)):
        risen = is_above(high.pressure, low.pressure, CHARGED)
        if risen and not _is_explained(that_stand(bank.raised), low, high):
            yield low, high


def may_be_of(station: Station, source: str, pumps: Set[str]) -> bool:
    """Whether gas may have come from any of some compressors, by their names in small letters, as
    what it was raised from says: what says nothing, names a bank or nothing of the station, may."""
    parts = [parts_named(station, name) for name in taken_here(source)]
    if not parts:
        return not by_others(source)
    own = own_names(station)
    fed = {f.name.casefold() for f in station.every_fed} - unfed(station)
    return any(each & pumps or not each or each - own - fed for each in parts)


def may_hold(station: Station, bank: Bank, pumps: Set[str], since: dt.date) -> bool:
    """Whether by its own records a bank may hold what some compressors pumped on a day or later.

    It holds none where its raisings are recorded with what it was raised from, all of them since
    are of others, no reading rose without one, and it was read before that day. A bank of which
    nobody records by what it is raised may hold gas of any.
    """
    readings, raised = that_stand(bank.readings), that_stand(bank.raised)
    if not any(r.source_ and not may_be_of(station, r.source_, pumps) for r in raised):
        return True
    if any(r.on >= since and may_be_of(station, r.source_ or "", pumps) for r in raised):
        return True
    for low, high in pairwise(readings):
        risen = high.on >= since and is_above(high.pressure, low.pressure, GAUGE_ERROR_AT_MOST)
        if risen and not _is_explained(raised, low, high):
            return True
    return not any(on < since for on in [*(r.on for r in readings), *(r.on for r in raised)])


def _is_explained(raised: Iterable[Raised], low: Reading, high: Reading) -> bool:
    """Whether raisings that were recorded are the whole of what a bank rose between two readings:
    one of them, or one after another, between all of which it rose by no more than `CHARGED`."""
    between = [r for r in raised if _is_between(r, low, high)]
    between.sort(key=lambda r: (r.on, r.at or _END))
    begun = [r.from_ for r in between]
    ends = [low.pressure, *(r.to for r in between)]
    met = [each for each in (*begun, high.pressure) if each is not None]
    if not between or len(met) < len(ends):
        return any(_explains(each, low, high) for each in between)
    unseen = sum(max(0.0, each.pa - left.pa) for left, each in zip(ends, met, strict=True))
    whole = unseen <= CHARGED.pa + HAIR.pa
    return whole or any(_explains(each, low, high) for each in between)


def _is_between(raised: Raised, low: Reading, high: Reading) -> bool:
    """Whether a bank was raised between two readings, of the day of one as far as times say so."""
    before = raised.on == low.on and raised.at and low.at and raised.at < low.at
    after = raised.on == high.on and raised.at and high.at and raised.at > high.at
    return low.on <= raised.on <= high.on and not before and not after


def _explains(raised: Raised, low: Reading, high: Reading) -> bool:
    """Whether a raising that was recorded is the whole of what a bank rose between two readings."""
    if raised.from_ is None:
        return False
    before = is_above(raised.from_, low.pressure, CHARGED)
    return not before and not is_above(high.pressure, raised.to, CHARGED)


# --- amounts


def usual_temperature(book: Book) -> Temperature:
    """How warm it usually is at the station, else where its ledger counts free gas."""
    station = book.station
    usual = (station.ambient if station else None) or book.settings.ambient
    return usual or reference_of(book).temperature


class _Vessel(Struct, frozen=True):
    """Amounts of gas in a bank, in mol beyond what it holds at the pressure of the air outside."""

    litres: float
    density: Callable[[GaugePressure], float]
    shown_at: Callable[[float], GaugePressure]

    def amount(self, pressure: GaugePressure) -> float:
        """What it holds at a pressure."""
        return self.litres * self.density(pressure)

    def shows(self, amount: float, unit: str) -> GaugePressure:
        """What its gauge shows of an amount, never less than nothing."""
        if amount <= 0:
            return GaugePressure.of(0, unit)
        return GaugePressure.of(max(0.0, self.shown_at(amount / self.litres).to(unit)), unit)


def _vessel(bank: Bank, warm: Temperature) -> _Vessel:
    mixture = (bank.gas or AIR_GAS).mixture
    outside = density(mixture, STANDARD_ATMOSPHERE, warm)

    @cache
    def of(pressure: GaugePressure) -> float:
        return density(mixture, pressure.absolute(), warm) - outside

    def shown_at(rho: float) -> GaugePressure:
        try:
            return settled_pressure(mixture, outside + rho, warm).gauge()
        except RangeError:
            return MOST_PRESSURE

    return _Vessel(bank.water_volume.litres, of, shown_at)


# --- the life of every bank


class _Mark(Struct, frozen=True):
    """What a bank showed on a day, and how much that is."""

    on: dt.date
    shows: GaugePressure
    amount: float


class _Rise(Struct, frozen=True):
    """That a bank was pumped, as nobody wrote down, somewhere from a day to another, and what share
    of all that it held then was of that."""

    since: dt.date
    on: dt.date
    share: float

    def holds(self, unseen: BankOrigin) -> bool:
        """Whether what may have gone in unseen by a fill may be of it."""
        if unseen.since is None:
            return False
        begun = self.since < unseen.on or self.since <= unseen.since
        over = unseen.on > self.on or (unseen.since == self.on and self.since < self.on)
        return begun and not over


class _State(Struct):
    """A bank on its way through its records.

    `amount` is what is left, `most` what can be left at the most: of a fill that names several
    sources nobody knows that this one gave anything. `recorded` is the same as `most`, but by
    readings and raisings alone: that a fill tells of a pumping which nobody recorded does not add
    to it. All are None where that is not known. `marks` are what it showed since it was last
    pumped, each lower than those before it; `low` is the lowest, less what was surely taken since:
    many small rises add up. `told`: a fill told of such a pumping; no other does until it is read.
    `loose`: something was taken since it was read, and nobody knows how much of that was from it.
    `held` is what it held before it was raised at `moment`, which is a whole day where nobody says
    at what time. `rises` are those that its readings and fills tell of. `raised` are the days on
    which it was raised and nobody says when, `read` what it was read at on such a day.
    """

    bank: Bank
    vessel: _Vessel
    air: BankAir
    raised: frozenset[dt.date]
    read: Mapping[dt.date, GaugePressure]
    amount: float | None = None
    most: float | None = None
    recorded: float | None = None
    took: bool = False
    told: bool = False
    loose: bool = False
    marks: list[_Mark] = field(default_factory=list)
    low: _Mark | None = None
    origins: list[BankOrigin] = field(default_factory=list)
    moment: tuple[dt.date, dt.time] | None = None
    held: tuple[BankOrigin, ...] = ()
    rises: list[_Rise] = field(default_factory=list)

    @classmethod
    def of(cls, bank: Bank, warm: Temperature) -> _State:
        """A bank before its first record."""
        raised = frozenset(r.on for r in that_stand(bank.raised) if r.at is None)
        read = dict[dt.date, GaugePressure]()
        for each in that_stand(bank.readings):
            if each.at is None:
                read[each.on] = max(read.get(each.on, each.pressure), each.pressure)
        return cls(bank, _vessel(bank, warm), BankAir(bank.name), raised, read)

    @property
    def unit(self) -> str:
        """The unit that it was last read in."""
        return self.air.read.unit if self.air.read else "psi"

    def least(self) -> float:
        """What it holds where nobody read that it was empty, however much was taken."""
        return self.vessel.amount(EMPTY)

    def stands(self, on: dt.date, shows: GaugePressure) -> None:
        """It was seen at a pressure on a day."""
        self.amount = self.most = self.recorded = self.vessel.amount(shows)
        self.took, self.told = False, False
        self.air = replace(self.air, read=shows, read_on=on, fills=0, unmeasured=0, gave=0)
        self.loose = False
        self.mark(_Mark(on, shows, self.amount))

    def mark(self, mark: _Mark) -> None:
        """Keep what it showed; what was higher before it is no lower by then."""
        while self.marks and self.marks[-1].shows.pa >= mark.shows.pa:
            self.marks.pop()
        self.marks.append(mark)
        if self.low is None or mark.amount <= self.low.amount:
            self.low = mark

    def gained(self, new: Sequence[BankOrigin], old: float, now: float) -> None:
        """It was pumped from one amount to another: what was in it is so much less of the whole.
        The shares of what is new sum to 1."""
        old = min(max(old, self.least()), now) if self.origins else max(old, 0.0)
        if not self.origins and old > 0:
            self.origins = [BankOrigin(None, max(o.on for o in new))]
        kept = old / now
        self.origins = _fewer(
            [
                *(replace(o, share=max(o.share * kept, LEAST)) for o in self.origins),
                *(replace(o, share=max(o.share * (1 - kept), LEAST)) for o in new),
            ]
        )
        self.marks, self.low = [], None

    def at_risen(self, shows: GaugePressure) -> _Mark | None:
        """What it showed last from which a pressure is so much higher that it was pumped."""
        known = self.marks
        if self.took and self.most is not None and known:
            # a fill does not tell that it was not pumped before: only a gauge does
            left = _Mark(known[-1].on, self.vessel.shows(self.most, self.unit), self.most)
            known = [*known, left]
        if self.low is not None:
            least = replace(self.low, shows=self.vessel.shows(self.low.amount, self.unit))
            known = [least, *known]
        return next((m for m in reversed(known) if is_above(shows, m.shows, CHARGED)), None)


def _fewer(origins: Iterable[BankOrigin]) -> list[BankOrigin]:
    """Origins without those of no share; the many small ones of about one time are told as one, so
    that it is of no days on which none of them can have been pumped but a few."""
    kept = [o for o in origins if o.share > 0]
    small = sorted((o for o in kept if o.share < FEWEST), key=lambda o: (o.since or _NEVER, o.on))
    if len(small) < 2:
        return kept
    near: list[list[BankOrigin]] = []
    last = _NEVER
    for each in small:
        if not near or (each.since or _NEVER) > last + NEAR:
            near.append([])
        near[-1].append(each)
        last = max(last, each.on)
    return [*map(_as_one, near), *(o for o in kept if o.share >= FEWEST)]


def _as_one(small: Sequence[BankOrigin]) -> BankOrigin:
    """Origins of small shares as one, of all the days between them."""
    if len(small) == 1:
        return small[0]
    days = [o.since for o in small]
    sources = {o.source for o in small}
    through = {lain for o in small for lain in o.through}
    return BankOrigin(
        None if None in days else min(d for d in days if d is not None),
        max(o.on for o in small),
        sum(o.share for o in small),
        sources.pop() if len(sources) == 1 else "",
        through=tuple(sorted(through)),
        measured=all(o.measured for o in small),
        several=True,
    )


class _Lives(Struct):
    airs: dict[str, BankAir] = field(default_factory=dict)
    beyond: list[Beyond] = field(default_factory=list)
    given: dict[tuple[str, str], tuple[tuple[str, tuple[BankOrigin, ...] | None], ...]] = field(
        default_factory=dict
    )


class _Drawn(Struct, frozen=True):
    """What a fill is said to have come from: the banks, and whether from nothing else."""

    banks: frozenset[str] = frozenset()
    alone: bool = True


_Event = tuple[dt.date, dt.time, int, int, float, str, Raised | Reading | LogLine]


@once_per_book
def _lives(book: Book) -> _Lives:
    """Every bank from its first record to its last; fills are asked of all they name at once."""
    station, lives = book.station, _Lives()
    if station is None or not station.banks:
        return lives
    warm = usual_temperature(book)
    states: dict[str, _State] = {}
    for bank in station.banks:
        if bank.water_volume.litres > 0:
            states.setdefault(bank.name.casefold(), _State.of(bank, warm))
        else:
            read = that_stand(bank.readings)[-1:]
            known = [BankAir(bank.name, r.pressure, r.on, r.pressure) for r in read]
            lives.airs[bank.name] = (known or [BankAir(bank.name)])[0]
    fills, drawn = _fills(book, station, states.keys())
    events: list[_Event] = [
        (n.at.date(), time_of_day(n.at), 2, 0, n.to.pa if n.to else 0.0, n.cylinder, n)
        for n in fills
    ]
    moments = _moments(station, states)
    turns = _turns(station, states, moments)
    for name, state in states.items():
        for r in that_stand(state.bank.raised):
            when = _moment(r, name, moments)
            events.append((*when, 0, turns[*when, name], r.to.pa, name, r))
        readings = that_stand(state.bank.readings)
        events += [
            (r.on, at, 1 if after else -1, 0, i, name, r)
            for i, (r, (at, after)) in enumerate(zip(readings, _seen_at(state.bank), strict=True))
        ]
    for on, at_time, *_, name, event in sorted(events, key=lambda e: e[:6]):
        if isinstance(event, Reading):
            _read(states[name], event.on, event.pressure, event.at)
        elif isinstance(event, Raised):
            _raise(station, states, name, event, (on, at_time))
        else:
            at = drawn[event.source_ or ""]
            named = [states[n] for n in sorted(at.banks)]
            _fill(book, named, at.alone, event, lives, fills, drawn)
            lives.given[void_key(event)] = tuple(
                (s.bank.name, _held_by(s, event.at.date())) for s in named
            )
    lives.airs |= {s.bank.name: _settled(s) for s in states.values()}
    rises = {s.bank.name: s.rises for s in states.values()}
    for key, given in lives.given.items():
        lives.given[key] = tuple((n, held and _with_rises(held, rises[n])) for n, held in given)
    return lives


def _with_rises(held: tuple[BankOrigin, ...], rises: Iterable[_Rise]) -> tuple[BankOrigin, ...]:
    """What a bank gave; of what may have gone in unseen before that, whether a later record tells
    that the bank was pumped in a time that holds it: before that fill or after it, nobody knows."""
    *known, unseen = held
    found = [each for each in rises if each.holds(unseen)]
    if not found:
        return held
    since, share = min(each.since for each in found), max(each.share for each in found)
    return (*known, replace(unseen, since=since, share=share, rose=True))


def _seen_at(bank: Bank) -> list[tuple[dt.time, bool]]:
    """When each reading of a bank counts, and whether after a raising of that time. One that has no
    hour was taken at the end of its day; but before the next that was entered of that day with its
    hour, unless a raising of that day has none: nobody knows then which of them it tells of."""
    unsure = {r.on for r in that_stand(bank.raised) if r.at is None}
    found, then = list[tuple[dt.time, bool]](), dict[dt.date, dt.time]()
    for each in reversed(that_stand(bank.readings)):
        before = then.get(each.on) if each.at is None and each.on not in unsure else None
        found.append((before or each.at or _END, before is None))
        if each.at is not None:
            then[each.on] = each.at
    return found[::-1]


def _givers(station: Station, raised: Raised, name: str) -> set[str]:
    """The other banks that a bank was raised from."""
    parts = (parts_named(station, each) for each in taken_here(raised.source_ or ""))
    return set(frozenset[str]().union(*parts)) - {name}


def _moments(station: Station, states: Mapping[str, _State]) -> dict[tuple[dt.date, str], dt.time]:
    """The time of a day at which a bank was first drawn from to raise another: one that was raised
    itself that day, nobody says when, may have been raised before."""
    first: dict[tuple[dt.date, str], dt.time] = {}
    for _ in states:
        known = dict(first)
        for name, state in states.items():
            for each in that_stand(state.bank.raised):
                on, at = _moment(each, name, known)
                for giver in _givers(station, each, name):
                    first[on, giver] = min(at, first.get((on, giver), _END))
        if first == known:
            break
    return first


def _moment(
    raised: Raised, name: str, first: Mapping[tuple[dt.date, str], dt.time]
) -> tuple[dt.date, dt.time]:
    """When a bank is taken to have been raised: at the end of a day that has no time, or as it was
    first drawn from."""
    return raised.on, raised.at or first.get((raised.on, name), _END)


def _turns(
    station: Station,
    states: Mapping[str, _State],
    first: Mapping[tuple[dt.date, str], dt.time],
) -> dict[tuple[dt.date, dt.time, str], int]:
    """In which turn banks are taken that were raised one from another on a day when nobody says at
    what time, or at the same one: after those that gave, which may have been raised before that."""
    moments: dict[tuple[dt.date, dt.time], dict[str, set[str]]] = {}
    for name, state in states.items():
        for each in that_stand(state.bank.raised):
            when = _moment(each, name, first)
            moments.setdefault(when, {}).setdefault(name, set()).update(
                _givers(station, each, name)
            )
    turns: dict[tuple[dt.date, dt.time, str], int] = {}
    for when, givers_of in moments.items():
        left, turn = givers_of, 0
        while left:
            free = [name for name, givers in left.items() if not givers & left.keys()]
            turns |= dict.fromkeys(((*when, name) for name in free or left), turn)
            left = {name: left[name] for name in left if free and name not in free}
            turn += 1
    return turns


def _settled(state: _State) -> BankAir:
    air, left = state.air, state.amount
    shows = air.read
    if (air.fills or air.gave) and left is not None:
        shows = state.vessel.shows(left, state.unit)
    return replace(air, shows=shows, origins=tuple(state.origins))


def _read(state: _State, on: dt.date, shows: GaugePressure, at: dt.time | None) -> None:
    """A reading: lower, gas went; higher, so much that it was pumped or not."""
    now = state.vessel.amount(shows)
    if is_empty(shows):
        before = dict.fromkeys((*state.air.before, *state.origins))
        state.origins, state.marks, state.low = [], [], None
        state.air = replace(state.air, emptied=on, before=tuple(before))
    elif not state.origins:
        since = state.air.emptied if state.air.read is not None else None
        state.origins = [BankOrigin(since, on, at=at)]
        state.rises += [_Rise(since, on, 1.0)] if since is not None else []
    elif (low := state.at_risen(shows)) is not None:
        state.gained([BankOrigin(low.on, on, at=at)], low.amount, now)
        state.rises.append(_Rise(low.on, on, 1 - low.amount / now))
    elif state.loose and state.air.read is not None and shows.pa >= state.air.read.pa:
        unknown = BankOrigin(state.air.read_on, on, LEAST, measured=False)
        state.origins = _fewer([*state.origins, unknown])
    state.stands(on, shows)


def _raise(
    station: Station,
    states: Mapping[str, _State],
    name: str,
    raised: Raised,
    when: tuple[dt.date, dt.time],
) -> None:
    """A raising that was recorded. However far it is said to have gone, some of it is new: what
    does not say from where began at the least `CHARGED` below its end."""
    state = states[name]
    if is_empty(raised.to):
        return
    before = (*(state.held if state.moment == when else ()), *state.origins)
    state.moment, state.held = when, tuple(dict.fromkeys(before))
    if raised.from_ is not None:
        _read(state, raised.on, raised.from_, raised.at)
    now = state.vessel.amount(raised.to)
    below = GaugePressure.of(max(EMPTY.psi, raised.to.psi - CHARGED.psi), "psi")
    old = state.amount if state.amount is not None else state.least()
    if raised.from_ is None or raised.from_.pa >= raised.to.pa:
        old = min(old, state.vessel.amount(min(below, raised.to)))
    if not state.origins and state.air.emptied is not None:
        old = 0.0
    source = raised.source_ or ""
    named_pumps = [c for n in taken_here(source) if (c := station.compressor_called(n))]
    pump = station.only_compressor or (named_pumps[0] if len(named_pumps) == 1 else None)
    met = [h for h in that_stand(pump.hours) if h.on <= raised.on] if pump else []
    hours = raised.hours or (met[-1].reads if met else None)
    pumped_then = BankOrigin(raised.on, raised.on, 1.0, source, hours, recorded=True, at=raised.at)
    parts = [parts_named(station, each) for each in taken_here(source)]
    named = sorted((frozenset[str]().union(*parts) & states.keys()) - {name})
    own = own_names(station) | {COMPRESSOR}
    others = by_others(source) or not parts
    others = others or any(own & each or not each & {*named} for each in parts)
    count = len(named) + others
    new = [replace(pumped_then, share=1 / count)] if others else []
    for giver in (states[each] for each in named):
        early = giver.held if giver.moment == when else ()
        new += _handed_on(giver, pumped_then, 1 / count, early)
        giver.air = replace(giver.air, gave=giver.air.gave + 1)
        _gave(giver, max(0.0, now - old) / count, alone=count == 1)
    state.gained(new, old, now)
    state.stands(raised.on, raised.to)


def _held_by(state: _State, day: dt.date) -> tuple[BankOrigin, ...] | None:
    """What a bank held on a day, with what may have gone in unseen since it was read; None where
    nobody knows what was in it."""
    if state.air.read is None:
        return None
    return (*state.origins, BankOrigin(state.air.read_on, day, LEAST, measured=False))


def _handed_on(
    giver: _State, raised: BankOrigin, share: float, early: Iterable[BankOrigin]
) -> Iterator[BankOrigin]:
    """What a bank that was raised from another has of it: gas is no younger for being moved.

    `early`: what that held before it was raised itself at the same moment, as nobody says which of
    the two was first.
    """
    lain = (giver.bank.name.casefold(), raised.on)
    unknown = [BankOrigin(None, raised.on, source=raised.source, recorded=True)]
    held = (_held_by(giver, raised.on) or unknown) if giver.origins else unknown
    held = tuple(dict.fromkeys((*held, *early)))
    whole = sum(o.share for o in held)
    for each in held:
        yield replace(each, share=each.share / whole * share, through=(*each.through, lain))


def _gave(state: _State, amount: float, *, alone: bool) -> None:
    """What a bank has left after it gave some; of several nobody knows that this one gave any."""
    if state.amount is not None:
        state.amount = max(0.0, state.amount - amount)
    if state.recorded is not None and alone:
        state.recorded = max(0.0, state.recorded - amount)
    if state.most is not None and alone:
        state.most = max(0.0, state.most - amount)
        state.took = True
        if state.low is not None:
            left = max(0.0, state.low.amount - amount)
            state.low = replace(state.low, amount=left)


def _fill(
    book: Book,
    states: Sequence[_State],
    alone: bool,
    line: LogLine,
    lives: _Lives,
    fills: Sequence[LogLine],
    drawn: Mapping[str, _Drawn],
) -> None:
    """A fill from some banks: what it took, and whether any of them can have shown what it left."""
    took = taken(book, line)
    parts = len(states) + (not alone)
    for state in states:
        state.air = replace(
            state.air,
            fills=state.air.fills + 1,
            unmeasured=state.air.unmeasured + (took is None),
        )
        state.loose = state.loose or took is None or parts > 1
        if took is not None:
            _gave(state, took / parts, alone=parts == 1)
    if not alone or line.to is None:
        return
    tops = [_top(book, state, line, fills, drawn) for state in states]
    highest = max((t for t in tops if t is not None), key=lambda t: t.pa, default=None)
    if highest is None or None in tops or not is_above(line.to, highest, gauge_error(book)):
        return
    lives.beyond.append(Beyond(line, tuple(s.bank.name for s in states), highest))
    for state in states:
        on = line.at.date()
        since = state.marks[-1].on if state.marks else None
        if len(states) == 1 and is_above(line.to, highest, CHARGED) and not state.told:
            now, old = state.vessel.amount(line.to), state.most or 0.0
            state.gained([BankOrigin(since, on)], old, now)
            state.rises += [_Rise(since, on, 1 - old / now)] if since is not None else []
            state.amount = state.most = now
            state.took = False
            state.mark(_Mark(on, line.to, now))
            state.told = True


def _top(
    book: Book,
    state: _State,
    line: LogLine,
    fills: Sequence[LogLine],
    drawn: Mapping[str, _Drawn],
) -> GaugePressure | None:
    """The highest that a bank can have shown as a fill ended: what is left of what was read before
    or, where it was read that day and nobody says at what time, that and all that was taken from it
    later. None where nobody knows."""
    left = state.recorded
    day, name = line.at.date(), state.bank.name.casefold()
    if day in state.raised:
        return None
    top = state.vessel.shows(left, state.unit) if left is not None else None
    read = state.read.get(day)
    if read is None:
        return top
    later = [
        taken(book, n)
        for n in fills
        if n.at.date() == day and n.at > line.at and name in drawn[n.source_ or ""].banks
    ]
    if any(each is None for each in later):
        return top
    then = state.vessel.amount(read) + sum(each for each in later if each is not None)
    seen = state.vessel.shows(then, read.unit)
    return min(top, seen) if top is not None else seen


# --- fills


def _fills(
    book: Book, station: Station, banks: Iterable[str]
) -> tuple[list[LogLine], dict[str, _Drawn]]:
    """The fills that stand and name a bank, and what each source says."""
    log, names = Log.of(book.log), frozenset(banks)
    acts, sources = log.column("act"), log.column("source_")
    drawn = {said or "": _drawn(station, said or "", names) for said in set(sources)}
    gone = struck_out_lines(book)
    found = [
        log[i]
        for i, (act, said) in enumerate(zip(acts, sources, strict=True))
        if act is LogAct.FILL and said and drawn[said].banks
    ]
    return [n for n in found if not gone or void_key(n) not in gone], drawn


def _drawn(station: Station, source: str, banks: frozenset[str]) -> _Drawn:
    each = [parts_named(station, name) for name in taken_here(source)]
    named = frozenset[str]().union(*each)
    others = by_others(source) or not all(parts and parts <= banks for parts in each)
    return _Drawn(named & banks, not others)


@once_per_book
def taken(book: Book, line: LogLine) -> float | None:
    """What a fill took, in mol; None where it does not say from or to what, or nobody knows the
    volume of what was filled."""
    if line.from_ is None or line.to is None or line.gas is None:
        return None
    litres = 0.0
    for id_ in gas_went_into(book, line):
        card = book.cylinders.get(id_)
        volume = water_volume_of(book, card) if card else None
        if volume is None:
            return None
        litres += volume.volume.litres
    usual = usual_temperature(book)
    more = _risen(line.gas.mixture, line.from_, usual, line.to, line.temperature or usual)
    return None if more is None else max(0.0, litres * more)


@lru_cache(maxsize=8192)
def _risen(
    mixture: Mixture, from_: GaugePressure, cold: Temperature, to: GaugePressure, warm: Temperature
) -> float | None:
    """By how much the density of a gas rose [mol/L]; None where the equation does not reach."""
    try:
        return density(mixture, to.absolute(), warm) - density(mixture, from_.absolute(), cold)
    except RangeError:
        return None
