"""What gas the fills of a cylinder made: what was put on what, and what an analysis can be of."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.kinds import EMPTY, is_empty
from tankbook.records.log import LogLine
from tankbook.records.node import Where
from tankbook.records.station import Bank
from tankbook.records.words import LogAct
from tankbook.rules.air import names_parts_alone, parts_named, told_by, unfed
from tankbook.rules.answers import Contents
from tankbook.rules.fill_history import (
    AIR_SHARE,
    READ_ALIKE,
    is_analysis,
    let_out,
    lines_held,
    lines_into,
    names_in_log,
    rentals_of,
)
from tankbook.rules.services import PURE_OXYGEN
from tankbook.units import GaugePressure
from tankbook.units.patterns import pattern

REAL = 6.0
"""Percent by which a mix may differ from what its pressures make of it, where oxygen or helium was
mixed: real gases do not add up, and a gauge read one of them hot (own bound; oxygen, air and helium
at 200 bar differ by 4 at most)."""
ALIKE = 3.0
"""The same where nitrox and air were mixed, which are nearly one gas (own bound). What differs by
more is told of any mix."""
_RICH = 50.0
"""Percent of oxygen from which on a gas is mixed as oxygen is."""


class MixRange(Struct, frozen=True):
    """What a mix can be, as far as its gases and pressures are written down.

    Attributes:
        oxygen: percent of oxygen at the least and at the most, of what is known.
        helium: the same of helium.
        added: percent of which nobody knows more than that it is made of oxygen, helium and air.
        real: oxygen or helium was mixed into it.
        more: percent of which it is known only by what was written down, and which may be oxygen or
            helium if not all of that was.
        sure: nothing of it rests on what a bank holds now, and may not have held then.
        open_: how much was left before a fill is not known.
    """

    oxygen: tuple[float, float]
    helium: tuple[float, float] = (0.0, 0.0)
    added: float = 0.0
    real: bool = False
    more: float = 0.0
    sure: bool = True
    open_: bool = False

    @staticmethod
    def of(*gases: Gas) -> MixRange:
        """What is one of some gases, or made of them."""
        oxygen = [gas.oxygen_percent for gas in gases]
        helium = [gas.helium_percent for gas in gases]
        real = max(oxygen) >= _RICH or max(helium) > 0
        return MixRange((min(oxygen), max(oxygen)), (min(helium), max(helium)), 0.0, real)

    def topped(self, share: float, given: MixRange) -> MixRange:
        """The mix when what it was is only so large a share of it, 0 to 1."""
        rest = 1 - share

        def mixed(mine: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
            return mine[0] * share + other[0] * rest, mine[1] * share + other[1] * rest

        return MixRange(
            mixed(self.oxygen, given.oxygen),
            mixed(self.helium, given.helium),
            self.added * share + given.added * rest,
            self.real or given.real,
            self.more * share + given.more * rest,
            self.sure and given.sure,
            self.open_ or given.open_,
        )

    def to(self, other: MixRange) -> MixRange:
        """What is anything from this to another, nobody knows what."""
        both, added = (self, other), max(self.added, other.added)

        def most(shares: Iterable[tuple[float, MixRange]]) -> float:
            return max(share + each.added for share, each in shares) - added

        poorest = min(m.oxygen[0] - (added - m.added) * AIR_SHARE / 100 for m in both)
        return MixRange(
            (poorest, most((m.oxygen[1], m) for m in both)),
            (min(m.helium[0] for m in both), most((m.helium[1], m) for m in both)),
            added,
            self.real or other.real,
            max(self.more, other.more),
            self.sure and other.sure,
            True,
        )

    def as_written(self) -> MixRange:
        """What it is if all that went in was written down."""
        return replace(self, more=100 - self.most)

    @property
    def bound(self) -> float:
        """Percent by which an analysis may differ from it."""
        return REAL if self.real else ALIKE

    @property
    def most(self) -> float:
        """Percent of oxygen at the most."""
        return self.oxygen[1] + self.added

    def least(self, helium: float) -> float:
        """Percent of oxygen at the least, where there is so much helium: what is not known may be
        helium, and else is air at the poorest."""
        unsaid = max(helium - self.helium[1], 0.0)
        return self.oxygen[0] + max(self.added - unsaid, 0.0) * AIR_SHARE / 100

    def off(self, oxygen: float, helium: float) -> float:
        """Percent by which a gas lies outside of what it can be."""
        below = max(self.least(helium) - oxygen, oxygen - self.most)
        poor = max(self.helium[0] - helium, helium - self.helium[1] - self.added)
        return max(below, poor, 0.0)

    def denies(self, oxygen: float, helium: float) -> bool:
        """Whether it cannot be such a gas: it holds more oxygen or helium than that, or so little
        oxygen that it is no air, or less of either whatever else went in. What more of them there
        is may not have been written down."""
        too_rich = self.least(helium) - oxygen > self.bound
        too_poor = oxygen - self.most > self.bound and self.most < AIR_SHARE - READ_ALIKE
        most = self.added + self.more + self.bound
        beyond = oxygen - self.oxygen[1] > most or helium - self.helium[1] > most
        return too_rich or too_poor or beyond or self.helium[0] - helium > self.bound

    def may_be_other(self, gas: Gas) -> bool:
        """Whether what is known of it may be richer than a gas."""
        oxygen, helium = self.oxygen[1] - gas.oxygen_percent, self.helium[1] - gas.helium_percent
        return max(oxygen, helium) > self.bound

    def __str__(self) -> str:
        told = [_range(self.oxygen[0] + self.added * AIR_SHARE / 100, self.most) + " oxygen"]
        if self.helium[1] >= 1:
            told.append(_range(self.helium[0], self.helium[1] + self.added) + " helium")
        return " and ".join(told)


def _range(least: float, most: float) -> str:
    low, high = f"{least:.0f}", f"{min(most, 100.0):.0f}"
    return f"{low} %" if low == high else f"{low} to {high} %"


class Mix(Struct, frozen=True):
    """What is to be said of what a cylinder's gas was made of.

    Attributes:
        unanalysed: the fill that was begun on another gas than it is said to be and that nobody
            analysed since, with that gas; None where there is none, or it was emptied or worked on
            since.
        denied: the line whose gas cannot be what it is called, or was analysed at, with what it can
            be; None where there is none, or an analysis that can be was made since.
        doubted: the same of one that holds more oxygen than is written down, or differs by so much
            that it is told; None where it was analysed again.
        fitting: the analyses that are what the gases and pressures made.
        since: where the lines stand since it was last empty.
    """

    unanalysed: tuple[LogLine, Gas] | None = None
    denied: tuple[LogLine, MixRange] | None = None
    doubted: tuple[LogLine, MixRange] | None = None
    fitting: tuple[LogLine, ...] = ()
    since: frozenset[Where] = frozenset()


ANALYSE_AGAIN = (
    "analyse it again, mixed: `tankbook reading --o2 --analysed-by`; log what else went in"
)
"""What is asked of what was analysed otherwise than its gases and pressures make it."""


def as_analysed(line: LogLine) -> str:
    """What was analysed, as it is said: `20.9 % oxygen and 17 % helium`."""
    read = ((line.o2, "oxygen"), (line.he, "helium"))
    return " and ".join(f"{share} {name}" for share, name in read if share is not None)


def made_otherwise(id_: str, line: LogLine, made: MixRange) -> str:
    """That a line calls a cylinder's gas otherwise than what is logged makes it."""
    said = f"analysed at {as_analysed(line)}" if line.o2 else f"called {line.gas}"
    return f"{id_} was {said}, and what is logged makes {made}"


class _Held(Struct):
    """What is known of a cylinder's gas between two lines.

    Attributes:
        gas: what it is called.
        pressure: what it stood at.
        made: what it can be; None where nothing was filled.
    """

    gas: Gas | None = None
    pressure: GaugePressure | None = None
    made: MixRange | None = None
    unanalysed: tuple[LogLine, Gas] | None = None
    denied: tuple[LogLine, MixRange] | None = None
    doubted: tuple[LogLine, MixRange] | None = None
    fitting: list[LogLine] = field(default_factory=list)
    since: set[Where] = field(default_factory=set)

    def emptied(self) -> None:
        """Nothing is left of what it held."""
        self.gas = self.pressure = self.made = None
        self.unanalysed = self.denied = self.doubted = None
        self.fitting.clear()
        self.since.clear()


@once_per_book
def mix_of(book: Book, card: Cylinder) -> Mix:
    """What is to be said of what a cylinder's gas was made of."""
    held = _Held()
    before: dt.date = dt.date.min
    emptied = (*let_out(book, card), *_came_back_empty(book, card))
    names = names_in_log(book, card.id)
    lines = lines_into(book, card.id)
    filled = {_as_filled(n) for n in lines if n.cylinder in names and n.act is LogAct.FILL}
    for line in lines:
        day = line.at.date()
        if any(before < each <= day for each in emptied):
            held.emptied()
        before = day
        own = line.cylinder in names
        # what went into both sides at once is often written down of each
        if own or _as_filled(line) not in filled:
            _follow(book, held, line, own=own)
        else:
            held.since.add(line.where)
    if any(each > before for each in emptied):
        held.emptied()
    told = held.unanalysed, held.denied, held.doubted
    return Mix(*told, tuple(held.fitting), frozenset(held.since))


def _as_filled(line: LogLine) -> tuple[object, ...]:
    return line.at.date(), line.gas, line.to


def _follow(book: Book, held: _Held, line: LogLine, *, own: bool) -> None:
    """Take a line into what is known. What only may have come from the other side tells against
    it, and answers for nothing."""
    held.since.add(line.where)
    # what nobody read before a fill is what was known to be in it
    left = line.from_ if line.from_ is not None and own else held.pressure
    begun_empty = is_empty(line.from_)
    if line.act is LogAct.FILL:
        held.made = _made_by(book, held, line, own=own)
        if own and begun_empty:
            held.unanalysed = held.denied = held.doubted = None
            held.fitting.clear()
            held.since = {line.where}
    analysed = is_analysis(line, held.gas, held.unanalysed and held.unanalysed[1])
    analysed = analysed and _is_possible(line, held.gas, held.unanalysed)
    if own and analysed:
        analysed = _judge(held, line)
    elif own and line.act is LogAct.FILL and line.gas is not None:
        _judge_name(held, line, line.gas)
    if own and analysed:
        held.unanalysed = None
    elif line.act is LogAct.FILL and held.gas is not None:
        another = _makes_another(held.gas, left, line)
        held.unanalysed = (line, held.gas) if another else held.unanalysed
    held.gas = line.gas if line.gas is not None and (own or held.gas is None) else held.gas
    if line.to is not None and (own or held.pressure is None):
        held.pressure = line.to
    if own and is_empty(line.to):
        held.emptied()


def _judge_name(held: _Held, line: LogLine, gas: Gas) -> None:
    """Hold what a fill is called against what it can be."""
    assert held.made is not None  # it was filled
    made = held.made
    oxygen, helium = gas.oxygen_percent, gas.helium_percent
    # what nobody analysed is no air by name where a bank of another gas is named
    other = gas.is_air and made.may_be_other(gas)
    if made.sure and (other or made.denies(oxygen, helium)):
        held.denied = line, made
    elif other or made.off(oxygen, helium) > made.bound:
        held.doubted = line, made


def _judge(held: _Held, line: LogLine) -> bool:
    """Hold what was analysed against what it can be; whether it can be that. From then on it is
    what was analysed."""
    assert line.o2 is not None
    made = held.made or NOBODY_KNOWS
    oxygen, helium = line.o2.percent, line.he.percent if line.he else 0.0
    if made.sure and made.denies(oxygen, helium):
        held.denied = line, made
        return False
    held.denied = None
    off = made.off(oxygen, helium)
    if off <= made.bound and not made.open_:
        held.fitting.append(line)
    # what was written down twice alike is so, whatever else was not
    twice = held.doubted is not None and _is_as(held.doubted[0], oxygen)
    if off > ALIKE and not twice:
        held.doubted = line, made
        return True
    held.doubted = None
    held.made = MixRange((oxygen, oxygen), (helium, helium), 0.0, made.real)
    return True


def _is_as(line: LogLine, oxygen: float) -> bool:
    return line.o2 is not None and abs(line.o2.percent - oxygen) <= READ_ALIKE


_AIR, _OXYGEN = Gas.parse("air"), Gas.parse("oxygen")
NOBODY_KNOWS = MixRange((0.0, 0.0), (0.0, 0.0), 100.0, True)


def _made_by(book: Book, held: _Held, line: LogLine, *, own: bool) -> MixRange:
    """What a fill makes of what is in a cylinder. Where nobody read what was left in it, that is
    anything from nothing to what was last known; what goes into the other side is shared."""
    begun, given = line.from_ if own else None, given_by(book, line)
    if is_empty(begun):
        return given or _by_word(line)
    made, gas = held.made, held.gas
    if made is None and gas is None and begun is None and line.gas is not None:
        # of the first that is known of it, it is what that is called
        made = MixRange.of(line.gas)
        return given.to(made) if given is not None else made
    given = given or NOBODY_KNOWS
    if made is None:
        made = MixRange.of(gas) if gas is not None else NOBODY_KNOWS
    left = begun or (held.pressure if own else None)
    if left is not None and line.to is not None and line.to > left:
        made = made.topped(left.pa / line.to.pa, given)
        if begun is not None:
            return made
    return given.to(made)


def _by_word(line: LogLine) -> MixRange:
    """What a gas is that is only called so: what was analysed besides need not be it."""
    called = line.gas if line.o2 is None else None
    return MixRange.of(called).as_written() if called is not None else NOBODY_KNOWS


def given_by(book: Book, line: LogLine) -> MixRange | None:
    """What a fill put in, by the parts of the station that it names and by `oxygen`; None where it
    names others besides, or none. A compressor may have been fed with more than air, where what was
    filled is called otherwise."""
    said = line.source_ or ""
    if (held := _in_cylinder(book, said, line)) is not None:
        return MixRange.of(held).as_written()
    given = _given(book, said, line.gas is not None and line.gas.is_air)
    if given is None:
        return None
    mix, banks = given
    return mix if all(_held_then(bank, line) for bank in banks) else replace(mix, sure=False)


def cannot_be(
    book: Book, line: LogLine, held: Contents, to: GaugePressure | None
) -> MixRange | None:
    """What a fill to a pressure would make of what a cylinder holds, by the parts of the station
    that it names, where that cannot be the gas that it is called; None where it can, or nobody
    knows."""
    made, gas, left = given_by(book, line), line.gas, held.pressure
    if made is None or gas is None:
        return None
    if left is None and held.fills:
        return None  # how much of it is in the mix nobody knows
    if left is not None and not is_empty(left):
        if held.gas is None or to is None or to <= left:
            return None
        made = MixRange.of(held.gas).topped(left.pa / to.pa, made)
    denied = made.sure and made.denies(gas.oxygen_percent, gas.helium_percent)
    return made if denied else None


@once_per_book
def _given(book: Book, said: str, is_air: bool) -> tuple[MixRange, tuple[Bank, ...]] | None:
    """What a source gives to a fill of air, or of anything else, with the banks that it names: a
    log names few sources, over and over."""
    station = book.station
    if station is None or (read := _read_source(book, said)) is None:
        return None
    parts, oxygen = read
    fed = {b.name.casefold() for b in station.boosters}
    parts -= fed - unfed(station)  # told by what feeds them
    banks = {b.name.casefold(): b.gas or _AIR for b in station.banks}
    if parts - banks.keys() and not is_air:
        return None
    gases = [banks.get(part, _AIR) for part in parts] + [_OXYGEN] * oxygen
    if not gases:
        return None
    named = tuple(bank for bank in station.banks if bank.name.casefold() in parts)
    return MixRange.of(*gases).as_written(), named


def _read_source(book: Book, said: str) -> tuple[frozenset[str], bool] | None:
    """The parts of the station that a source names, and whether it says oxygen besides; None where
    it says more."""
    station, named, oxygen = book.station, said, 0
    if station is None:
        return None
    if not names_parts_alone(station, said):  # a bank may be called so
        named, oxygen = _CALLED_OXYGEN.subn(" ", said)
    return (parts_named(station, named), oxygen > 0) if names_parts_alone(station, named) else None


def gives_pure_oxygen(book: Book, said: str) -> bool:
    """Whether a source names pure oxygen, of a bank of the station or by that word, alone or with
    what it is mixed with."""
    station, read = book.station, _read_source(book, said)
    if station is None:
        return False
    parts, oxygen = read or (parts_named(station, said), False)
    named = frozenset(part for name in parts for part in told_by(station, name))
    banks = (b for b in station.banks if b.name.casefold() in named and b.gas is not None)
    return oxygen or any(b.gas.oxygen_percent >= PURE_OXYGEN for b in banks if b.gas)


def _held_then(bank: Bank, line: LogLine) -> bool:
    """Whether a bank surely held its gas of now when a fill was made: since the day it says, and
    without one where it is air or oxygen, or where nothing of its gas is in what was filled. Nitrox
    and mixes of helium follow each other in one bank."""
    gas = bank.gas or _AIR
    if bank.since is not None:
        return line.at.date() > bank.since  # of the day itself nobody knows
    if gas.helium_percent:
        return line.gas is None or not line.gas.helium_percent
    return is_always(gas)


def is_always(gas: Gas) -> bool:
    """Whether a bank of a gas is taken to have held that all along: air and oxygen."""
    return gas.is_air or (gas.oxygen_percent >= _RICH and not gas.helium_percent)


@once_per_book
def _ids(book: Book) -> dict[str, str]:
    """The ids of cylinders and sets, by how they read in small letters."""
    return {id_.casefold(): id_ for id_ in (*book.every_set, *book.cylinders)}


def _in_cylinder(book: Book, id_: str, line: LogLine) -> Gas | None:
    """The gas of a cylinder or set of the ledger that something was decanted from."""
    named = _ids(book).get(id_.casefold())
    if named is None:
        return None
    known = [n.gas for n in lines_held(book, named) if n.at < line.at and n.gas is not None]
    return known[-1] if known else None


_CALLED_OXYGEN = pattern(r"\b(?:o2|oxygen|sauerstoff)\b(?=\s*(?:$|[+,/&]))", re.IGNORECASE)


def _is_possible(line: LogLine, held: Gas | None, found: tuple[LogLine, Gas] | None) -> bool:
    """Whether gases that were put on each other can hold so much oxygen: no less than the poorest
    of them and air, but for what analysers differ by."""
    gases = [held, *((found[1], found[0].gas) if found else ())]
    if line.o2 is None or line.he is not None or any(g and g.helium_percent for g in gases):
        return True
    least = min([AIR_SHARE, *(g.oxygen_percent for g in gases if g is not None)])
    return bool(line.o2.percent >= least - READ_ALIKE)


def _makes_another(held: Gas, left: GaugePressure | None, line: LogLine) -> bool:
    """Whether what was left of a gas makes a fill another one than it is said to be. By so little
    as two analysers differ it does not: the breath that a valve keeps back."""
    gas = line.gas
    if gas is None or gas == held or left is None or left < EMPTY:
        return False
    share = left.pa / line.to.pa if line.to is not None and line.to > left else 1.0
    oxygen = abs(held.oxygen_percent - gas.oxygen_percent)
    helium = abs(held.helium_percent - gas.helium_percent)
    return share * max(oxygen, helium) > READ_ALIKE


def _came_back_empty(book: Book, card: Cylinder) -> Iterator[dt.date]:
    """The days it came back from a rental with nothing in it."""
    for rental in standing(rentals_of(book, card.id)):
        if rental.back is not None and is_empty(rental.pressure):
            yield rental.back
