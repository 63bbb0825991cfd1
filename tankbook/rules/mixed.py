"""What gas the fills of a cylinder made: what was put on what, and what an analysis can be of."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.kinds import EMPTY
from tankbook.records.log import LogLine
from tankbook.records.words import Act
from tankbook.rules.air import names_parts_alone, parts_named
from tankbook.rules.contents import (
    AIR_SHARE,
    READ_ALIKE,
    is_analysis,
    known_as,
    let_out,
    lines_into,
    rentals_of,
)
from tankbook.rules.services import PURE_OXYGEN
from tankbook.units import GaugePressure


@dataclass(frozen=True, slots=True)
class Mix:
    """What is to be said of what a cylinder's gas was made of.

    Attributes:
        unanalysed: the fill that was begun on another gas than it is said to be and that nobody
            analysed since, with that gas; None where there is none, or it was emptied or worked on
            since.
        beyond: the line that says more oxygen than the banks hold that it names, with the percent
            they can give; None where there is none, or somebody analysed it again.
        fitting: where the analyses stand that are what the gases and pressures made that were
            written down since it was last empty.
    """

    unanalysed: tuple[LogLine, Gas] | None = None
    beyond: tuple[LogLine, float] | None = None
    fitting: frozenset[tuple[str, int]] = frozenset()


def mix_of(book: Book, card: Cylinder) -> Mix:
    """What is to be said of what a cylinder's gas was made of."""
    beyond: tuple[LogLine, float] | None = None
    held: Gas | None = None
    known: GaugePressure | None = None
    found: tuple[LogLine, Gas] | None = None
    made: _Made | None = None
    alone = True
    before: dt.date = dt.date.min
    emptied = (*let_out(book, card), *_came_back_empty(book, card))
    names = known_as(book, card.id)
    for line in lines_into(book, card.id):
        day = line.at.date()
        if any(before < each <= day for each in emptied):
            held = known = found = made = beyond = None
            alone = True
        before = day
        own = line.cylinder in names
        # what else came in, and how much, no line of its own says
        alone = alone and own
        # what nobody read before a fill is what was known to be in it
        left = line.from_ if line.from_ is not None and own else known
        begun_empty = line.act is Act.FILL and line.from_ is not None and line.from_ < EMPTY
        named = gas_named(book, line)
        made = _made_by(line, made, held, left, named) if alone else None
        # nor what is in it after a fill whose pressures do not say
        alone = alone and (made is not None or held is None or line.act is not Act.FILL)
        analysed = is_analysis(line, held, found and found[1])
        analysed = analysed and _is_possible(line, held, found)
        analysed = analysed and (made is None or made.may_be(line))
        if analysed and own and line.o2 is not None:
            given = _given(named) if begun_empty else made
            over = given is not None and line.o2.percent > given.most + _REAL
            beyond = (line, given.most) if given is not None and over else None
            alone, made = True, _Made(line.o2.percent, line.he.percent if line.he else 0.0)
        # what only may have come from the other side tells against it, and answers for nothing
        if own and (begun_empty or analysed):
            found = None
        elif line.act is Act.FILL and held is not None and _makes_another(held, left, line):
            found = line, held
        held = line.gas if line.gas is not None and (own or held is None) else held
        known = line.to if line.to is not None and (own or known is None) else known
        if own and line.to is not None and line.to < EMPTY:
            held = known = found = made = beyond = None
            alone = True
    worked = found and any(day > found[0].at.date() for day in emptied)
    return Mix(None if worked else found, beyond, frozenset(_fitting(book, card, emptied)))


def _fitting(book: Book, card: Cylinder, emptied: Collection[dt.date]) -> Iterator[tuple[str, int]]:
    """Where the analyses stand that fit every gas and pressure since it was last empty, each of
    which has to be known; a word for a mix that nothing named gave is none."""
    made: _Made | None = None
    known: GaugePressure | None = None
    before = dt.date.min
    names = known_as(book, card.id)
    for line in lines_into(book, card.id):
        day = line.at.date()
        own = line.cylinder in names
        if not own or any(before < each <= day for each in emptied):
            made = known = None
        before = day
        if line.act is Act.FILL and own:
            left = line.from_ if line.from_ is not None else known
            given = gas_named(book, line)
            given = line.gas if given is None and _is_plain(line.gas) else given
            if left is not None and left < EMPTY:
                made = _given(given)
            elif made is not None and given and left and line.to and left < line.to:
                made = made.topped(left.pa / line.to.pa, given)
            else:
                made = None
        # more oxygen or helium than was written down is no fit
        elif made is not None and is_analysis(line) and replace(made, more=0.0).may_be(line):
            yield line.path, line.line
        known = line.to if line.to is not None and own else known


def _is_plain(gas: Gas | None) -> bool:
    """Whether a gas is what it is called wherever it comes from: oxygen and air."""
    return gas is not None and (gas.is_air or gas.oxygen_percent >= PURE_OXYGEN)


_AIR = Gas.parse("air")


def _given(named: Gas | None) -> _Made | None:
    """What a bank gives into an empty cylinder."""
    return _Made(named.oxygen_percent, named.helium_percent) if named else None


def gas_named(book: Book, line: LogLine) -> Gas | None:
    """The gas that the parts of the station hold which a fill names as its sources; None where it
    names others besides, or they hold several."""
    station, said = book.station, line.source_ or ""
    if station is None or line.act is not Act.FILL or not names_parts_alone(station, said):
        return None
    held = {b.name.casefold(): b.gas or _AIR for b in station.banks}
    parts = parts_named(station, said)
    gases = {held.get(part, _AIR) for part in parts}
    return gases.pop() if len(gases) == 1 else None


_REAL = 6.0
"""Percent by which a mix may differ from what its pressures make of it: real gases do not add up
(own bound; oxygen, air and helium at 200 bar differ by 4 at most)."""


@dataclass(frozen=True, slots=True)
class _Made:
    """What a mix is made of, as its pressures say: percent of oxygen and of helium that were in it
    before or that banks gave that are named, the percent that was added of which nobody knows more
    than that it was made of oxygen, helium and air, and what more oxygen there may be if not all
    of it was written down."""

    oxygen: float
    helium: float
    added: float = 0.0
    more: float = 0.0

    @property
    def most(self) -> float:
        """Percent of oxygen that what is written down can give."""
        return self.oxygen + self.added

    def topped(self, share: float, named: Gas | None = None) -> _Made:
        """The mix when what it was is only so large a share of it, 0 to 1, and the rest is of a gas
        that is named, or of what nobody knows."""
        rest = 1 - share
        oxygen, helium, added, more = (
            each * share for each in (self.oxygen, self.helium, self.added, self.more)
        )
        if named is None:
            return _Made(oxygen, helium, added + 100 * rest, more)
        oxygen += named.oxygen_percent * rest
        helium += named.helium_percent * rest
        return _Made(oxygen, helium, added, more + (100 - named.oxygen_percent) * rest)

    def may_be(self, line: LogLine) -> bool:
        """Whether it can hold as much oxygen and helium as a line says."""
        if line.o2 is None:
            return True
        oxygen, helium = line.o2.percent, line.he.percent if line.he else 0.0
        unsaid = max(helium - self.helium, 0.0)
        of_air = max(self.added - unsaid, 0.0)
        # helium that nobody wrote down may have taken the place of what is named
        least = (
            self.oxygen - min(max(unsaid - self.added, 0.0), self.more) + of_air * AIR_SHARE / 100
        )
        added = self.added + self.more
        return (
            least - _REAL <= oxygen <= self.oxygen + added + _REAL
            and self.helium - _REAL <= helium <= self.helium + added + _REAL
        )


def _made_by(
    line: LogLine,
    made: _Made | None,
    held: Gas | None,
    left: GaugePressure | None,
    named: Gas | None = None,
) -> _Made | None:
    """What a line makes of a mix; None where its pressures do not say."""
    if line.act is not Act.FILL:
        return made
    if left is not None and left < EMPTY:
        return _Made(line.gas.oxygen_percent, line.gas.helium_percent) if line.gas else None
    if made is None and held is not None:
        made = _Made(held.oxygen_percent, held.helium_percent)
    if made is None or left is None or line.to is None or line.to <= left:
        return None
    return made.topped(left.pa / line.to.pa, named)


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
        if rental.back is not None and rental.pressure is not None and rental.pressure < EMPTY:
            yield rental.back
