"""The fill book: the fills of a time, with what each gave, and what they come to.

A line of the log is one fill; that of a set is one fill into each of its cylinders. What was struck
out stays in the book with its reason and counts nowhere. Nothing is guessed: a fill whose
pressures, gas or water volume are not on record counts as a fill, and its gas as not known.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from itertools import groupby

from msgspec import Struct

from tankbook.gas import Gas, GasError, Reference, capacity
from tankbook.records.book import Book
from tankbook.records.log import HAPPENED, Log, LogLine, each_named
from tankbook.records.node import Severity
from tankbook.records.words import LogAct
from tankbook.rules.air import by_others, taken_here
from tankbook.rules.bank_air import Beyond, beyond_of
from tankbook.rules.bank_given import untested_parts
from tankbook.rules.fill_history import (
    gas_went_into,
    is_by,
    names_in_log,
    sets_with,
    struck_by,
    void_key,
    went_into,
)
from tankbook.rules.months import month_of
from tankbook.rules.volume import reference_of, water_volume_of
from tankbook.rules.workshop import whose
from tankbook.units import GaugePressure, PartialDate, Temperature, Volume

NOT_SAID = "not recorded"
"""What stands for initials, a gas or a source that a line does not give."""


class FillsWanted(Struct, frozen=True):
    """Which fills are asked for: those of a time that fit everything that is said.

    Attributes:
        first: the first day, None for the beginning of the log.
        last: the last day.
        ids: cylinders and sets; a cylinder's fills are those of its sets, too, and what may have
            gone into it through an open isolator.
        by: initials, in letters of either case.
        gas: the gas that was written.
        source: one bank or the compressor of those a line names, or all that it says.
        position: one of the positions that a line names.
        customer: the reference of whoever owns the cylinder.
    """

    first: dt.date | None
    last: dt.date
    ids: tuple[str, ...] = ()
    by: str = ""
    gas: Gas | None = None
    source: str = ""
    position: str = ""
    customer: str = ""

    @property
    def whole(self) -> bool:
        """Whether every fill of the time is asked for."""
        said = (self.ids, self.by, self.gas, self.source, self.position, self.customer)
        return not any(said)


class LoggedFill(Struct, frozen=True):
    """A fill: its line, whose cylinder it was, what it gave, and what struck it out.

    Attributes:
        line: the line of the log.
        cylinders: how many it went into by name: of a set both, also where their cards are gone.
        serials: their serial numbers, as far as their cards are there.
        customer: the reference of the owner; empty where it is ours, or none is on record.
        gave: free gas at the ledger's reference; None where it cannot be worked out.
        struck: the line that strikes it out.
        litres: the water volume of what it went into; None where that is not known.
        untested: the parts of its source that others filled with air that no test is known of.
        beyond: what its banks can have shown at the most, where it ended higher.
    """

    line: LogLine
    cylinders: tuple[str, ...]
    serials: tuple[str, ...]
    customer: str
    gave: Volume | None
    struck: LogLine | None = None
    litres: float | None = None
    untested: tuple[str, ...] = ()
    beyond: Beyond | None = None

    @property
    def stands(self) -> bool:
        """Whether it was not struck out."""
        return self.struck is None

    @property
    def against_advice(self) -> bool:
        """Whether it was logged as a fact that nobody had allowed."""
        return (self.line.note or "").casefold().lstrip().startswith(HAPPENED)

    @property
    def month(self) -> PartialDate:
        """The month it was made in, by its own local date."""
        return month_of(self.line.at.date())


class FillShare(Struct, frozen=True):
    """The fills of one gas, person or source: how many, the gas they gave, and of how many that is
    not known."""

    name: str
    fills: int
    gave: Volume | None
    unknown: int


class FillTotals(Struct, frozen=True):
    """What fills come to, those that were struck out counted apart.

    `cylinders` counts each of a set. `gave` is None where no fill's gas is known. `above_bank`
    counts those that ended above what the banks they name can have shown.
    """

    fills: int
    cylinders: int
    gave: Volume | None
    unknown: int
    overrides: int
    against_advice: int
    above_bank: int
    struck_out: int
    by_gas: tuple[FillShare, ...]
    by_person: tuple[FillShare, ...]
    by_source: tuple[FillShare, ...]


class MonthOfBook(Struct, frozen=True):
    """The fills of one month of the book; `last` is the last day of it that the book covers."""

    month: PartialDate
    first: dt.date
    last: dt.date
    fills: tuple[LoggedFill, ...]
    totals: FillTotals

    @property
    def whole(self) -> bool:
        """Whether the book covers all of its days."""
        return self.first == self.month.first and self.last == self.month.last


class FillBook(Struct, frozen=True):
    """Fills in the order of their day and time, and what they come to.

    `unread` are the files of the log that could not be read in full: fills may be missing.
    """

    wanted: FillsWanted
    fills: tuple[LoggedFill, ...]
    totals: FillTotals
    reference: Reference
    unread: tuple[str, ...] = ()

    @property
    def first(self) -> dt.date:
        """The first day of the book: as asked, else that of its first fill."""
        begun = self.fills[0].line.at.date() if self.fills else self.wanted.last
        return self.wanted.first or begun

    @property
    def months(self) -> tuple[MonthOfBook, ...]:
        """Every month of the book, also one without fills, oldest first."""
        by_month = {m: tuple(g) for m, g in groupby(self.fills, key=lambda f: f.month)}
        return tuple(
            MonthOfBook(
                month,
                max(month.first, self.first),
                min(month.last, self.wanted.last),
                by_month.get(month, ()),
                totals_of_fills(by_month.get(month, ()), self.reference),
            )
            for month in months_between(self.first, self.wanted.last)
        )


def months_between(first: dt.date, last: dt.date) -> Iterator[PartialDate]:
    """The months from the one a day lies in to that of another."""
    month = month_of(first)
    while month.first <= last:
        yield month
        month = month_of(month.last + dt.timedelta(days=1))


def fill_book(book: Book, wanted: FillsWanted) -> FillBook:
    """The fills of the log that are asked for, struck-out ones included.

    Days are the local ones that the lines were written with.
    """
    log = Log.of(book.log)
    acts, times, names = (log.column(n) for n in ("act", "at", "cylinder"))
    ids = {name for id_ in wanted.ids for name in names_in_log(book, id_)}
    first = wanted.first or dt.date.min
    struck = struck_by(log[i] for i, act in enumerate(acts) if act is LogAct.VOID)
    gave, beyond = _Gave(book), beyond_of(book)
    found = []
    for i, act in enumerate(acts):
        if act is not LogAct.FILL or not first <= times[i].date() <= wanted.last:
            continue
        if ids and names[i] not in ids and not _went_through(book, names[i], times[i], wanted):
            continue
        line = log[i]
        customer = owner_of(book, line.cylinder)
        if _fits(line, wanted) and _is_theirs(wanted.customer, customer):
            into = gas_went_into(book, line)
            serials = tuple(c.serial for n in into if (c := book.cylinders.get(n)) and c.serial)
            by = struck.get(void_key(line))
            litres = gave.litres(line)
            untested = tuple(untested_parts(book, line.source_ or "", line.at.date()))
            found.append(
                LoggedFill(
                    line, into, serials, customer, gave.of(line), by, litres, untested,
                    beyond.get(void_key(line)),
                )
            )  # fmt: skip
    fills = tuple(sorted(found, key=lambda f: (f.line.at.date(), f.line.at)))
    reference = reference_of(book)
    return FillBook(wanted, fills, totals_of_fills(fills, reference), reference, unread_log(book))


def _went_through(book: Book, id_: str, at: dt.datetime, wanted: FillsWanted) -> bool:
    """Whether a fill of one side may have gone into one that is asked for, or into both sides of a
    set that is, through an isolator that was not known to be shut then."""
    if id_ not in sets_with(book):
        return False
    into = frozenset(went_into(book, id_, at))
    return any(into.issuperset(_into(book, each)) for each in wanted.ids)


def _into(book: Book, id_: str) -> tuple[str, ...]:
    """The cylinders that a line names: itself, or those of a set, also one taken apart since."""
    doubles = book.every_set.get(id_)
    return doubles.cylinders if doubles else (id_,)


def _fits(line: LogLine, wanted: FillsWanted) -> bool:
    return (
        (not wanted.by or is_by(wanted.by, line.by or ""))
        and wanted.gas in {None, line.gas}
        and (not wanted.source or _is_from(line.source_ or "", wanted.source))
        and (not wanted.position or wanted.position.casefold() in _parts(line.position))
    )


_BOTH = " + "


def _is_theirs(asked: str, owner: str) -> bool:
    """Whether what is asked for is an owner, or one of the two of a set."""
    said = owner.casefold()
    return not asked or asked.casefold() in {said, *said.split(_BOTH)}


def _is_from(said: str, source: str) -> bool:
    """Whether a line's source names another, in part or as a whole."""
    asked = source.casefold()
    return asked == said.casefold() or asked in {n.casefold() for n in taken_here(said)}


def _parts(said: str | None) -> frozenset[str]:
    return frozenset(map(str.casefold, each_named(said)))


def unread_log(book: Book) -> tuple[str, ...]:
    """The files of the log of which anything could not be read."""
    faults = (f for f in book.findings if f.severity is Severity.FAULT)
    return tuple(sorted({f.where.path for f in faults if f.where.path.startswith("fills/")}))


def owner_of(book: Book, id_: str) -> str:
    """The reference of whoever owns a cylinder, or those of a set; an empty text for ours."""
    owners = (whose(book.cylinders[n]) for n in _into(book, id_) if n in book.cylinders)
    return _BOTH.join(dict.fromkeys(filter(None, owners)))


# --- what there is to ask for --------------------------------------------------------------------


def people_of(book: Book) -> tuple[str, ...]:
    """The ledger's people, and all initials that a fill was signed with."""
    signed = sorted(filter(None, set(Log.of(book.log).column("by"))))
    return tuple(dict.fromkeys((*book.settings.people, *signed)))


def sources_of(book: Book) -> tuple[str, ...]:
    """The banks, the compressors and boosters, what the log names besides, and all that others
    filled."""
    said = sorted(filter(None, set(Log.of(book.log).column("source_"))))
    station = book.station
    here = [b.name for b in station.banks] if station else []
    here += [c.name for c in station.every_compressor if c.name] if station else []
    here += [each.name for each in station.every_fed] if station else []
    parts = (name for each in said for name in taken_here(each))
    return tuple(dict.fromkeys((*here, *parts, *filter(by_others, said))))


def positions_of(book: Book) -> tuple[str, ...]:
    """The positions of the station, and what the log names besides."""
    said = sorted(filter(None, set(Log.of(book.log).column("position"))))
    here = [p.name for p in book.station.positions] if book.station else []
    parts = (name for each in said for name in each_named(each))
    return tuple(dict.fromkeys((*here, *parts)))


def customers_of(book: Book) -> tuple[str, ...]:
    """The references of all owners."""
    return tuple(sorted({whose(c) for c in book.cylinders.values()} - {""}))


# --- what a fill gave ----------------------------------------------------------------------------


class _Gave:
    """Works out the free gas that fills gave; a log says the same few pressures many times."""

    def __init__(self, book: Book) -> None:
        self._book, self._reference = book, reference_of(book)
        self._volumes: dict[tuple[str, ...], float | None] = {}
        self._free: dict[tuple[Gas, GaugePressure, Temperature], Volume] = {}

    def of(self, line: LogLine) -> Volume | None:
        """What it holds of that gas at `to` less what it would hold of it at `from`.

        Both at the temperature that was read, else at the reference's: of what was in it before
        nobody writes the temperature. None where anything it takes is not on record or outside the
        range of the gas model, or the fill runs backward.
        """
        volume = self.litres(line)
        if volume is None or line.gas is None or line.from_ is None or line.to is None:
            return None
        at = line.temperature or self._reference.temperature
        try:
            after, before = (self._litre(line.gas, p, at) for p in (line.to, line.from_))
        except GasError:
            return None
        more = (after.si - before.si) * volume
        unit = self._reference.volume_unit
        return Volume.of(Volume.of(more, "m3").to(unit), unit) if more >= 0 else None

    def _litre(self, gas: Gas, pressure: GaugePressure, at: Temperature) -> Volume:
        """What a litre of water volume holds."""
        key = gas, pressure, at
        if key not in self._free:
            held = capacity(gas, Volume.of(1, "L"), pressure, at, self._reference)
            self._free[key] = held.free_gas
        return self._free[key]

    def litres(self, line: LogLine) -> float | None:
        """The water volume [L] of all that a fill went into, of a set, or of a side of it while its
        isolator stood open, that of both; None where it is not known."""
        names = gas_went_into(self._book, line)
        if names not in self._volumes:
            self._volumes[names] = self._looked_up(names)
        return self._volumes[names]

    def _looked_up(self, names: tuple[str, ...]) -> float | None:
        cards = [self._book.cylinders[n] for n in names if n in self._book.cylinders]
        volumes = [water_volume_of(self._book, card) for card in cards]
        if not names or len(cards) < len(names) or None in volumes:
            return None
        return sum(v.volume.litres for v in volumes if v)


# --- what fills come to --------------------------------------------------------------------------


def totals_of_fills(fills: Iterable[LoggedFill], reference: Reference) -> FillTotals:
    """What fills come to."""
    every = tuple(fills)
    stand = [f for f in every if f.stands]

    def shares(of: Callable[[LogLine], str]) -> tuple[FillShare, ...]:
        found: dict[str, list[LoggedFill]] = {}
        written: dict[str, str] = {}  # `mv` is MV
        for fill in stand:
            said = of(fill.line) or NOT_SAID
            found.setdefault(written.setdefault(said.casefold(), said), []).append(fill)
        rows = (
            FillShare(name, len(mine), gas_given(mine, reference), _unknown(mine))
            for name, mine in found.items()
        )
        return tuple(sorted(rows, key=lambda s: (s.name == NOT_SAID, -s.fills, s.name)))

    return FillTotals(
        fills=len(stand),
        cylinders=sum(len(f.cylinders) for f in stand),
        gave=gas_given(stand, reference),
        unknown=_unknown(stand),
        overrides=sum(f.line.override is not None for f in stand),
        against_advice=sum(f.against_advice for f in stand),
        above_bank=sum(f.beyond is not None for f in stand),
        struck_out=len(every) - len(stand),
        by_gas=shares(lambda n: str(n.gas) if n.gas else ""),
        by_person=shares(lambda n: n.by or ""),
        by_source=shares(lambda n: n.source_ or ""),
    )


def gas_given(fills: Iterable[LoggedFill], reference: Reference) -> Volume | None:
    """The free gas of the fills of which it is known; None where it is of none."""
    known = [f.gave.si for f in fills if f.gave is not None]
    unit = reference.volume_unit
    return Volume.of(Volume.of(sum(known), "m3").to(unit), unit) if known else None


def _unknown(fills: Iterable[LoggedFill]) -> int:
    return sum(f.gave is None for f in fills)
