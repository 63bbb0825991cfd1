"""How many fills a day a station carries: its banks full in the morning, its compressors running.

Plain densities, as everywhere in planning (`levels.py`): mol/L, L, mol, and minutes after midnight.
A cylinder is opened to the emptiest bank above it, then to the next, none skipped (FAA AC 43.13-1B,
paragraph 9-51a(2), as `levels.full_fills`); what the banks lack comes from the compressors, which
else feed the fullest bank that takes more. It is gas that is counted: neither the fill rate nor
hands.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from math import floor, inf
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.levels import (
    TINY,
    Rung,
    StandardFill,
    by_density,
    most_fills,
    open_to,
    stored_above,
)

WAITED = 10.0
"""Minutes from one try to the next, of a cylinder that waits until a bank was fed (own bound)."""

MOST_COUNTED = 2000
"""So many fills a day are counted and no more (own bound)."""

UNBOUNDED = 1e9
"""A bound on the fills of a day is told no higher (own bound)."""

ENOUGH = 1e-6
"""Gas [mol] that is lacking and is nothing: less than a ten-thousandth of a litre (own bound)."""

SURE = 1e-9
"""Minutes within which the moment is found at which enough was made (own bound)."""


class SizedBank(NamedTuple):
    """A bank: its volume [L], and the density it is full at [mol/L], to which it is fed."""

    label: str
    volume: float
    full: float


class SizedCompressor(NamedTuple):
    """A compressor: what it makes [mol a minute], the density it reaches [mol/L], and that below
    which it fills no cylinder directly where there are banks.

    It runs for `longest` minutes from the beginning of the day, then rests for `rest`, and so on,
    whether it had to run meanwhile or not.
    """

    label: str
    makes: float
    top: float
    maintains: float = 0.0
    longest: float = inf
    rest: float = 0.0

    def ran(self, minutes: float) -> float:
        """How many of the first minutes of a day it can have run."""
        if self.longest <= 0:
            return 0.0
        if self.longest == inf or self.rest <= 0:
            return minutes
        whole, part = divmod(minutes, self.longest + self.rest)
        return min(minutes, whole * self.longest + min(part, self.longest))


class SizedStation(Struct, frozen=True):
    """Banks that are full in the morning, and compressors that run from `opens` [minutes after
    midnight] for `runs` minutes; None: from the first fill of a day on, as nothing says when."""

    banks: tuple[SizedBank, ...]
    compressors: tuple[SizedCompressor, ...]
    opens: float | None
    runs: float

    @property
    def volumes(self) -> tuple[float, ...]:
        """The volume of each bank [L]."""
        return tuple(bank.volume for bank in self.banks)

    @property
    def full(self) -> tuple[float, ...]:
        """The density of each bank in the morning [mol/L]."""
        return tuple(bank.full for bank in self.banks)

    @property
    def made(self) -> tuple[tuple[float, float], ...]:
        """What each compressor makes in a day [mol], and the density it reaches."""
        return tuple((c.makes * c.ran(self.runs), c.top) for c in self.compressors)

    def reaches(self, target: float) -> bool:
        """Whether anything brings a cylinder to a density."""
        tops = (*self.full, *(c.top for c in self.compressors))
        return any(top >= target - TINY for top in tops)


class AskedFill(NamedTuple):
    """A fill that was asked for: when [minutes after midnight], volume [L], start and target
    [mol/L]."""

    at: float
    volume: float
    start: float
    target: float

    @property
    def need(self) -> float:
        """The gas it takes [mol]."""
        return self.volume * (self.target - self.start)


class CarriedDay(Struct, frozen=True):
    """What a station made of a day: how many fills were asked and how many came full before it
    closed, how long one waited at the most [min], and what the banks then held [mol/L]."""

    asked: int
    carried: int
    waited: float
    banks: tuple[float, ...]

    @property
    def whole(self) -> bool:
        """Whether every fill came full."""
        return self.carried == self.asked


class Binds(StrEnum):
    """What stands in the way of one fill more."""

    GAS = "gas"
    PRESSURE = "pressure"
    REACH = "reach"


class Carries(Struct, frozen=True):
    """How many usual fills a station carries.

    Attributes:
        by_banks: what full banks fill by themselves.
        by_compressors: for how many the gas is that the compressors make in the day.
        a_day: what both fill, all the cylinders being there in the morning.
        at_most: what no way of filling them exceeds, by mass balance.
        binds: why it is not one more.
        left: the gas [mol] that the banks then still hold above what a cylinder comes with.
    """

    by_banks: int
    by_compressors: float
    a_day: int
    at_most: int
    binds: Binds
    left: float

    def never_less(self, than: Carries) -> Carries:
        """Itself, where it is no less than without what was added: that can be left shut."""
        return replace(
            self,
            by_banks=max(self.by_banks, than.by_banks),
            a_day=max(self.a_day, than.a_day),
        )


def carries(station: SizedStation, usual: StandardFill) -> Carries:
    """How many usual fills a station carries in a day.

    Args:
        station: the banks and compressors.
        usual: volume [L], start and target [mol/L] of the usual cylinder, the target above the
            start.
    """
    volumes, full = station.volumes, station.full
    most = floor(min(most_fills(volumes, full, usual, station.made), UNBOUNDED) + ENOUGH)
    bench = _Bench(station, 0.0)
    a_day = bench.filled(usual, most)
    left = stored_above(volumes, bench.banks, usual.start)
    short = Binds.PRESSURE if left >= usual.need else Binds.GAS
    return Carries(
        by_banks=_Bench(replace(station, compressors=()), 0.0).filled(usual, most),
        by_compressors=sum(m for m, top in station.made if top >= usual.target - TINY) / usual.need,
        a_day=a_day,
        at_most=most,
        binds=short if station.reaches(usual.target) else Binds.REACH,
        left=left,
    )


def day_of(station: SizedStation, fills: Iterable[AskedFill]) -> CarriedDay:
    """A day's fills one after another as they were asked for, in whatever order they are given.

    One that the banks do not bring full at once is done by the compressors, or waits until they
    have fed a bank; where it does not come full before they stop, it is sent away as it came. One
    that the banks alone bring full is filled at any hour.
    """
    asked = sorted(fills)
    if not asked:
        return CarriedDay(0, 0, 0.0, station.full)
    bench = _Bench(station, asked[0].at if station.opens is None else station.opens)
    waits = [bench.fill(fill) for fill in asked]
    done = [wait for wait in waits if wait is not None]
    return CarriedDay(len(asked), len(done), max(done, default=0.0), tuple(bench.banks))


def refilled(station: SizedStation, banks: Sequence[float]) -> float | None:
    """How many minutes the compressors run until banks that hold so much [mol/L] are full again;
    None where none of them reaches a bank that is not full."""
    lacks, able = 0.0, [c for c in station.compressors if c.longest > 0 and c.makes > 0]
    for bank, held in zip(station.banks, banks, strict=True):
        lacks += bank.volume * max(0.0, bank.full - held)
        if held < bank.full - TINY and not any(c.top >= bank.full - TINY for c in able):
            return None
    if lacks <= TINY:
        return 0.0
    most = 1.0
    while _made(able, 0.0, most) < lacks:
        most *= 2
    return _until(able, 0.0, lacks, most)


def _made(compressors: Sequence[SizedCompressor], since: float, until: float) -> float:
    """What compressors make together [mol] between two times of a day [min from its beginning]."""
    return sum(c.makes * (c.ran(until) - c.ran(since)) for c in compressors)


def _until(
    compressors: Sequence[SizedCompressor], since: float, amount: float, most: float
) -> float | None:
    """When compressors will have made an amount [mol], from a time on; None if not by `most`."""
    if amount <= ENOUGH and since <= most:
        return since
    if not compressors or since > most or _made(compressors, since, most) < amount - ENOUGH:
        return None
    if all(c.ran(most) == most for c in compressors):
        return min(most, since + amount / sum(c.makes for c in compressors))
    low, high = since, most
    while high - low > SURE:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        enough = _made(compressors, since, middle) >= amount
        low, high = (low, middle) if enough else (middle, high)
    return high


class _Bench:
    """A station on a day that begins at `opens`: what the banks hold, and until when what the
    compressors made is counted [min from the beginning of the day]."""

    def __init__(self, station: SizedStation, opens: float) -> None:
        self.station, self.opens = station, opens
        self.banks = list(station.full)
        self.until = 0.0
        self.sent_away: AskedFill | None = None

    def fill(self, fill: AskedFill) -> float | None:
        """Fill a cylinder: how long it waits [min] until it is full, or None where it is not."""
        if fill == self.sent_away:  # nothing has changed since
            return None
        asked = fill.at - self.opens
        self._feed(min(asked, self.station.runs))
        before = self.banks[:], self.until
        while True:
            level, banks = self._opened(fill)
            full = level >= fill.target - TINY
            done = self._compressed(fill, level) if not full else None
            if full or done is not None:
                self.banks, self.until = banks, self.until if done is None else done
                # one that the banks alone fill waits for nobody: no less was told of whoever the
                # compressors were busy with
                return max(0.0, self.until - asked)
            if not self._feed(min(self.until + WAITED, self.station.runs)):
                self.banks, self.until = before
                self.sent_away = fill
                return None

    def filled(self, usual: StandardFill, most: int) -> int:
        """How many cylinders come full that all are there in the morning, `most` at the most."""
        count, fill = 0, AskedFill(self.opens, *usual)
        while count < min(most, MOST_COUNTED) and self.fill(fill) is not None:
            count += 1
        return count

    def _opened(self, fill: AskedFill) -> tuple[float, list[float]]:
        """What the banks bring a cylinder to [mol/L], and what they then hold."""
        banks, level, rungs = self.banks[:], fill.start, (Rung(fill.start, fill.volume),)
        for bank in by_density(banks):
            volume = self.station.banks[bank].volume
            level, banks[bank] = open_to(volume, banks[bank], rungs, level, fill.target)
            if level >= fill.target - TINY:
                break
        return level, banks

    def _compressed(self, fill: AskedFill, level: float) -> float | None:
        """When the compressors will have brought a cylinder from a level to its target."""
        able = [
            c
            for c in self.station.compressors
            if c.top >= fill.target - TINY and (not self.banks or level >= c.maintains - TINY)
        ]
        lacks = fill.volume * (fill.target - level)
        return _until(able, self.until, lacks, self.station.runs)

    def _feed(self, until: float) -> bool:
        """Let the compressors feed the banks, each the fullest that takes more; whether anything
        came of it."""
        if until <= self.until:
            return False
        fed = False
        for each in self.station.compressors:
            amount = _made([each], self.until, until)
            for bank in reversed(by_density(self.banks)):
                volume, most = self.station.banks[bank].volume, self.station.banks[bank].full
                room = max(0.0, min(most, each.top) - self.banks[bank]) * volume
                given = min(room, amount)
                self.banks[bank] += given / volume
                amount -= given
                fed = fed or given > 0
        self.until = until
        return fed
