"""Whether a bank still holds the gas that it is on record with: what was put into it since it was
last analysed.

What is of another gas makes a mix of it that nobody knows before it is analysed, however little was
put in. Of a raising and an analysis of one day the hours say which was first; where either says
none, nobody knows, and the analysis answers nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import is_empty
from tankbook.records.log import Log, LogLine, each_named
from tankbook.records.naming import named_among
from tankbook.records.station import (
    AirTest,
    Bank,
    BankAnalysis,
    Raised,
    Station,
    that_stand,
)
from tankbook.rules.air import (
    air_judge,
    by_others,
    names_parts_alone,
    sampled_at,
    taken_here,
    told_by,
)
from tankbook.rules.bad_air import (
    cylinders_called,
    decants,
    fills_since_empty,
    holds_pure,
    sampled_cylinders,
    unknown_parts,
)
from tankbook.rules.bank_air import rises_unrecorded
from tankbook.rules.bank_analysed import agreeing, counted, is_as_recorded, is_otherwise
from tankbook.rules.bank_given import (
    UNTESTED,
    GasPut,
    as_on,
    gas_of,
    gases_put,
    gases_said,
    parts_of,
    put_by_others,
    rows_of_tests,
)
from tankbook.rules.fill_history import (
    READ_ALIKE,
    lines_held,
    local_time,
)
from tankbook.rules.mixed import is_always
from tankbook.rules.services import PURE_OXYGEN
from tankbook.units import time_of_day


class GasUnsure(Struct, frozen=True):
    """That a bank may hold another gas than it is on record with.

    Attributes:
        name: the bank, by its label.
        gas: what it is on record with.
        since: the day of what makes it so.
        how: what that was, as a clause: `was raised on 2026-11-25 from C1 (air)`.
        sure: another gas went in, or an analysis says another; else it is only not known which.
        opens: what answers it.
        unfit: some of it is none that is breathed; an analyser of oxygen does not answer it.
    """

    name: str
    gas: Gas
    since: dt.date
    how: str
    sure: bool
    opens: str
    unfit: bool = False


class _Moment(Struct, frozen=True):
    on: dt.date
    at: dt.time | None = None

    def before(self, other: _Moment) -> bool:
        """Whether this surely was no later than another."""
        if self.on != other.on:
            return self.on < other.on
        return self.at is not None and other.at is not None and self.at <= other.at


class _Doubt(Struct, frozen=True):
    """Something that leaves it open what a bank holds, until something after it says; `put` in, or
    analysed; `unfit`: it is none that is breathed, whatever its oxygen."""

    when: _Moment
    how: str
    sure: bool
    helium: bool
    put: bool = True
    unfit: bool = False


def gas_unsure(book: Book, bank: Bank) -> GasUnsure | None:
    """Why it is not known that a bank holds the gas that it is on record with: all that is as sure
    as the gravest, what is not breathed first, else in time; None where nothing speaks against
    that."""
    if book.station is None:
        return None
    every = _open(book, book.station, bank, None, frozenset())
    found = sorted(every, key=lambda c: (not c.sure, not c.unfit))
    if not found:
        return None
    gas, first = gas_of(bank), found[0]
    helium = gas.helium_percent > 0 or any(c.helium for c in found)
    opens = _opens(book, bank, found, helium)
    like = [c for c in found if c.sure is first.sure]
    since, how = min(c.when.on for c in like), " and ".join(dict.fromkeys(c.how for c in like))
    return GasUnsure(bank.name, gas, since, how, first.sure, opens, first.unfit)


def _opens(book: Book, bank: Bank, found: Sequence[_Doubt], helium: bool) -> str:
    values = "--oxygen PERCENT" + " --helium PERCENT" * helium
    if any(c.unfit for c in found):
        text = (
            f"draw a good air sample of it (`tankbook station air-test --source {bank.name}`) that"
        )
        text += (
            " leaves out nothing its standard limits, which an analyser of oxygen is not; or read"
        )
        text += " it empty"
        return text + _seen(bank, next(c for c in found if c.unfit))
    said = next((c for c in found if not c.put), None)
    denied = counted(book, bank).denied
    if said is None and not denied:
        text = f"analyse it after that: `tankbook station analyse {bank.name} {values}`; where it"
        text += " holds another"
        text += " gas, write that into station.yaml (`gas:`, `since:`) as well; or read it empty"
        text += _hours(book, bank, found, values)
        return text + (_seen(bank, found[0]) if UNTESTED in found[0].how else "")
    on = said.when.on if said else denied[-1].analysis.on
    text = "bleed it to 0 and raise it anew; where something went in meanwhile, record that"
    text += f" (`tankbook station raise {bank.name} --from PRESSURE`) and analyse it after;"
    text += " where it holds another gas, write that into station.yaml (`gas:`, `since:`);"
    text += " where an analysis was wrong,"
    text += " somebody certified strikes it out (`tankbook correct station"
    text += f" {bank.name}.analysed {on} --why WHY`)"
    if (times := agreeing(book)) > 0:
        text += f"; or {times} that agree (`tankbook station analyse {bank.name} {values}"
        text += " --with ANALYSER`) of another analyser, or of one that passed a `tankbook station"
        text += " bump` on a later day"
    return text


def _hours(book: Book, bank: Bank, found: Sequence[_Doubt], values: str) -> str:
    """What says of an analysis of the day of a raising that it came after it, where the hours do
    not."""
    analysed = {a.on for a in counted(book, bank).those}
    doubted = {c.when for c in found if c.put}
    mine = [r for r in that_stand(bank.raised) if r.on in analysed and _when(r) in doubted]
    text = ""
    for day in dict.fromkeys(r.on for r in mine):
        lines = [
            f"`tankbook correct station {bank.name}.raised {named_among(bank.raised, each)}"
            " --set at=HH:MM --why WHY`"
            for each in mine
            if each.on == day and each.at is None
        ]
        lines.append(f"`tankbook station analyse {bank.name} {values} --on {day} --at HH:MM`")
        text += f"; where it was analysed after that on {day}, the hours say it:"
        text += f" {' and '.join(lines)}"
    return text


def _seen(bank: Bank, doubt: _Doubt) -> str:
    text = "; where an air test that still holds was seen, say when: `tankbook correct station"
    text += f" {bank.name}.raised {doubt.when.on} --set source='elsewhere: WHERE, air"
    return text + " test seen DATE'`"


def _open(
    book: Book, station: Station, bank: Bank, by: _Moment | None, asked: frozenset[str]
) -> list[_Doubt]:
    """What leaves open what a bank holds, by a moment or now, oldest first. `asked` are the banks
    on the way to this one: what gives to itself says nothing new."""
    every = _doubts(book, station, bank, asked) if asked else _own_doubts(book, bank)
    doubts = [
        c
        for c in every
        if by is None or c.when == by or not by.before(c.when)  # of one day nobody knows
    ]
    doubts.sort(key=lambda c: (c.when.on, c.when.at or dt.time.max))
    helium = any(c.helium for c in doubts)
    analyses = [a for a in counted(book, bank).those if by is None or _when(a).before(by)]
    good = [_when(a) for a in analyses if is_as_recorded(book, bank, a, helium=helium)]
    sampled = [m for m in _sampled(book, station, bank) if by is None or m.before(by)]
    empty = [m for m in _emptied(bank) if by is None or m.before(by)]
    return [
        c
        for c in (*doubts, *_denied(book, bank, analyses))
        if not any(
            c.when.before(m) and (c.put or c.when != m) for m in (sampled if c.unfit else good)
        )
        and not any(c.when.before(m) and c.when != m for m in empty)
    ]


def _sampled(book: Book, station: Station, bank: Bank) -> Iterator[_Moment]:
    """When samples of the air of a bank were drawn that nothing stands against."""
    own = frozenset({bank.name.casefold()})
    for test in that_stand(station.air_tests):
        if sampled_at(station, test) == own and _is_whole_sample(book, station, test):
            yield _Moment(test.on)


def _is_whole_sample(book: Book, station: Station, test: AirTest) -> bool:
    """Whether a sample says of air of which nothing is known that it is good: it passed, and leaves
    out nothing that its standard limits."""
    judge = air_judge(book)
    return judge.opens(station, test) and not judge.unmeasured(test)


def _denied(book: Book, bank: Bank, analyses: Iterable[BankAnalysis]) -> Iterator[_Doubt]:
    """The analyses of a bank since it holds its gas that say another; samples of its air say that
    to whoever reads them."""
    own = {id(a) for a in bank.analysed}
    for each in analyses:
        known = bank.since is None or each.on >= bank.since
        if id(each) in own and known and is_otherwise(book, bank, each):
            how = f"was analysed on {each.on}: {each.figures}"
            yield _Doubt(_when(each), how, sure=True, put=False, helium=bool(each.helium))


def _when(entry: BankAnalysis | Raised) -> _Moment:
    return _Moment(entry.on, entry.at)


def is_of_another(book: Book, bank: Bank, entry: BankAnalysis | Raised) -> bool:
    """Whether an entry of a bank says that it holds another gas than it is on record with, or that
    another went in, answered since or not."""
    if isinstance(entry, BankAnalysis):
        return is_otherwise(book, bank, entry)
    return any(c.sure and c.when == _when(entry) for c in _own_doubts(book, bank))


@once_per_book
def _own_doubts(book: Book, bank: Bank) -> tuple[_Doubt, ...]:
    """What was put into a bank, and leaves open what it holds; answered or not."""
    return _doubts(book, book.station, bank, frozenset()) if book.station else ()


def _emptied(bank: Bank) -> list[_Moment]:
    """When a bank is known to have been empty: as it was read, or as a raising began."""
    found = [_Moment(r.on, r.at) for r in that_stand(bank.readings) if is_empty(r.pressure)]
    return found + [_when(r) for r in that_stand(bank.raised) if is_empty(r.from_)]


@once_per_book
def _doubts(book: Book, station: Station, bank: Bank, asked: frozenset[str]) -> tuple[_Doubt, ...]:
    """Everything on record that put another gas into a bank, or nobody knows which. Banks that are
    raised from each other ask it of each other at every raising."""
    return tuple(_each_doubt(book, station, bank, asked))


def _each_doubt(
    book: Book, station: Station, bank: Bank, asked: frozenset[str]
) -> Iterator[_Doubt]:
    gas = gas_of(bank)
    for raised in that_stand(bank.raised):
        if bank.since is not None and raised.on < bank.since:
            continue
        puts = [*gases_put(book, station, raised)]
        sures = {_is_other(gas, put): put for put in puts if not put.unfit}
        how = f"was raised on {raised.on} from {raised.source_ or 'the compressor'}"
        helium = any(p.gas.helium_percent > 0 if p.gas else p.mixed and not p.of_air for p in puts)
        put = sures.get(True) or sures.get(None)
        if put is not None:
            called = f" ({put.called})" if put.called else ""
            yield _Doubt(_when(raised), how + called, True in sures, helium)
        if (unfit := next((p for p in puts if p.unfit), None)) is not None:
            said = f"{how} ({unfit.called})"
            breathed = not holds_pure(bank)  # of oxygen an analyser tells enough
            yield _Doubt(_when(raised), said, sure=True, helium=False, unfit=breathed)
        yield from _out_of_banks(book, station, bank, raised, asked, how)
        yield from _out_of_cylinders(book, station, bank, raised, asked)
    if not _is_whole(gas):
        for since, on in ((low.on, high.on) for low, high in rises_unrecorded(bank)):
            if bank.since is None or on >= bank.since:
                how = f"rose between {since} and {on}, and no raising says of what"
                yield _Doubt(_Moment(on), how, sure=False, helium=gas.helium_percent > 0)


def _out_of_banks(
    book: Book,
    station: Station,
    bank: Bank,
    raised: Raised,
    asked: frozenset[str],
    how: str,
) -> Iterator[_Doubt]:
    """What another bank, of which it was open then what it holds, passed on."""
    asked |= {bank.name.casefold()}
    named = frozenset[str]().union(*(told_by(station, n) for n in taken_here(raised.source_ or "")))
    givers = (b for b in station.banks if b.name.casefold() in named - asked)
    for other in (then for b in givers for then in as_on(book, b, raised.on)):
        # one of a kind: by every way between banks that are raised from each other it came again
        open_ = reversed(_open(book, station, other, _when(raised), asked))
        for doubt in {(d.sure, d.helium, d.unfit): d for d in open_}.values():
            text = f"{how}, which {doubt.how}"
            yield _Doubt(_when(raised), text, doubt.sure, doubt.helium, unfit=doubt.unfit)


def _out_of_cylinders(
    book: Book, station: Station, bank: Bank, raised: Raised, asked: frozenset[str]
) -> Iterator[_Doubt]:
    """What a cylinder passed on of a bank of which it was open, as that one gave, what it held."""
    asked |= {bank.name.casefold()}
    moments = [_when(raised)] if raised.at else [_Moment(raised.on, at) for at in _ENDS]
    every = _named(station.banks)
    for name in parts_of(raised):
        cards = () if by_others(name) else _cards_called(book, station, name)
        if cards:
            _ask_in_turn(book, station, every, asked)
        for card in cards:
            how = f"was raised on {raised.on} from {name}"
            how += "" if card.id == name else f" ({card.id})"
            found = [
                (line, said, doubt)
                for by in moments
                for line, said, doubt in _unknown_in(book, station, every, card, by, asked)
            ]
            for line, said, doubt in found:
                text = f"{how}, which was filled on {line.at.date()} from {said}"
                yield _Doubt(_when(raised), text, doubt.sure, doubt.helium, unfit=doubt.unfit)


_ENDS = (dt.time.min, dt.time.max)
"""Where nobody says at what hour of a day: before all that was done that day, or after it."""


def _named(banks: Iterable[Bank]) -> frozenset[str]:
    return frozenset(bank.name.casefold() for bank in banks)


@once_per_book
def _ask_in_turn(
    book: Book, station: Station | None, banks: frozenset[str], asked: frozenset[str]
) -> None:
    """Ask the fills out of cylinders, the oldest first, so that each finds those before it answered
    already, however often cylinders filled each other."""
    for line in sorted(decants(book), key=lambda n: n.at):
        _unknown_put(book, station, banks, line, asked)


def _cards_called(book: Book, station: Station, name: str) -> tuple[Cylinder, ...]:
    """The cylinders that a part of a source names, where it names no part of the station."""
    called = () if told_by(station, name) else cylinders_called(book, name)
    return tuple(book.cylinders[id_] for id_ in called if id_ in book.cylinders)


def _unknown_in(
    book: Book,
    station: Station | None,
    banks: frozenset[str],
    card: Cylinder,
    by: _Moment | None,
    asked: frozenset[str],
) -> Iterator[tuple[LogLine, str, _Doubt]]:
    """The fills that a cylinder held gas of by a moment or now, out of a bank of which it was open
    what it held, of a cylinder that held such gas, or by others of what nobody knows: the last
    first, each with the name of that and how it was so. What was analysed with that fill or later
    is known, but for what is none that is breathed: that a sample of its air answers.

    `banks` are the names of those that are asked, in small letters; `asked` the banks on the way to
    this one.
    """
    lines, until = lines_held(book, card.id), None
    if by is not None:
        end = dt.datetime.combine(by.on, by.at or dt.time.max)
        lines = tuple(n for n in lines if local_time(n.at) < end)
        if not lines:
            return
        until = end.replace(tzinfo=lines[-1].at.tzinfo)
    analysed = max((n.at for n in lines if n.o2 is not None), default=None)
    sampled = _cylinder_sampled(book, card, by)
    for line in reversed(fills_since_empty(book, card, until)):
        known = analysed is not None and analysed >= line.at
        if known and not _unfit_anywhere(book):
            return
        for said, doubt in _unknown_put(book, station, banks, line, asked):
            if line.at.date() < sampled if doubt.unfit else known:
                continue
            yield line, said, doubt


@once_per_book
def _unknown_put(
    book: Book,
    station: Station | None,
    banks: frozenset[str],
    line: LogLine,
    asked: frozenset[str],
) -> tuple[tuple[str, _Doubt], ...]:
    """What nobody knows of what a fill put in: where it came from, and how it was so. Cylinders
    that fill each other ask about their fills often."""
    return tuple(_each_unknown_put(book, station, banks, line, asked))


def _each_unknown_put(
    book: Book,
    station: Station | None,
    banks: frozenset[str],
    line: LogLine,
    asked: frozenset[str],
) -> Iterator[tuple[str, _Doubt]]:
    source = line.source_ or ""
    moment = _Moment(line.at.date(), time_of_day(line.at))
    for part in _doubtful_parts(book).get(source, ()):
        for put in put_by_others(part, moment.on, rows_of_tests(book)):
            if put.unfit or put.mixed or (put.gas and _is_other(line.gas or put.gas, put)):
                helium = put.gas is None or put.gas.helium_percent > 0
                said = f"{part} ({put.called})"
                yield said, _Doubt(moment, said, sure=True, helium=helium, unfit=put.unfit)
    if station is None or not source or not (banks or _unfit_anywhere(book)):
        return
    named = frozenset[str]().union(*(told_by(station, n) for n in taken_here(source)))
    mine = (named & banks) - asked
    for bank in (b for b in station.banks if b.name.casefold() in mine):
        for then in as_on(book, bank, moment.on):
            for doubt in _open(book, station, then, moment, asked):
                yield f"{bank.name}, which {doubt.how}", doubt
    for name in taken_here(source):
        for giver in _cards_called(book, station, name):  # as it was before, which comes to an end
            held = [*_unknown_in(book, station, banks, giver, moment, asked)]
            # one of a kind, the last: by every way between them it came again
            kinds = {(d.sure, d.helium, d.unfit): each for each in reversed(held) for d in each[2:]}
            for before, how, doubt in reversed(kinds.values()):
                yield f"{giver.id}, which was filled on {before.at.date()} from {how}", doubt


@once_per_book
def _doubtful_parts(book: Book) -> dict[str, tuple[str, ...]]:
    """The sources of the log of which others filled something that has to be asked about, each with
    those parts."""
    found = {}
    for source in {said for said in Log.of(book.log).column("source_") if said}:
        parts = filter(by_others, each_named(source))
        asked = tuple(
            part
            for part in parts
            if any(p.unfit or p.mixed or p.gas for p in put_by_others(part, dt.date.min))
        )
        if asked:
            found[source] = asked
    return found


@once_per_book
def _unfit_anywhere(book: Book) -> bool:
    """Whether others ever filled here what is none that is breathed, or mixes nobody knows."""
    raised = (r for b in (book.station.banks if book.station else ()) for r in b.raised)
    parts = (part for r in raised for part in parts_of(r) if by_others(part))
    return bool(_doubtful_parts(book)) or any(
        p.unfit for part in parts for p in put_by_others(part, dt.date.min)
    )


def _cylinder_sampled(book: Book, card: Cylinder, by: _Moment | None) -> dt.date:
    """The last day by a moment or now on which the air of a cylinder was sampled, and nothing
    stands against that sample; `date.min` where it never was."""
    if not _unfit_anywhere(book):
        return dt.date.min
    return _sampled_last(book, card, by)


def _sampled_last(book: Book, card: Cylinder, by: _Moment | None = None) -> dt.date:
    station = book.station
    days = (
        test.on
        for test in that_stand(station.air_tests if station else ())
        if station is not None
        and card.id in sampled_cylinders(book, test)
        and (by is None or test.on < by.on)
        and _is_whole_sample(book, station, test)
    )
    return max(days, default=dt.date.min)


def _is_other(gas: Gas, put: GasPut) -> bool | None:
    """Whether what is put into a bank is another gas than it holds; None where nobody knows: of
    what nobody names, into air or a pure gas, it is taken that it is that, but for air of others
    that no test is known of."""
    if put.gas is not None:
        off = abs(put.gas.oxygen_percent - gas.oxygen_percent)
        return bool(max(off, abs(put.gas.helium_percent - gas.helium_percent)) > READ_ALIKE)
    if put.mixed and _is_whole(gas):
        return True
    return False if _is_whole(gas) and not (put.untested and gas.is_air) else None


def _is_whole(gas: Gas) -> bool:
    """Whether it is no mix that somebody made: air, oxygen, helium."""
    return is_always(gas) or gas.helium_percent >= PURE_OXYGEN


@once_per_book
def _ever_doubted(book: Book) -> tuple[Bank, ...]:
    """The banks that another gas ever went into, or may have before they held what they hold now,
    or that were analysed as another."""
    return tuple(
        bank
        for bank in (book.station.banks if book.station else ())
        if bank.analysed
        or any(bank.since is not None and r.on < bank.since for r in bank.raised)
        or any(c.sure for c in _own_doubts(book, bank))
    )


class FromUnknown(Struct, frozen=True):
    """That nobody knows what a fill put into a cylinder that still holds gas of it.

    Attributes:
        line: the fill.
        how: what it was filled from, and how that was so.
        helium: some may be in it.
        unfit: it is none that is breathed; to know its oxygen answers nothing.
    """

    line: LogLine
    how: str
    helium: bool = False
    unfit: bool = False

    @property
    def text(self) -> str:
        """It in words."""
        return f"it was filled on {self.line.at.date()} from {self.how}"


@once_per_book
def filled_from_unknown(book: Book, card: Cylinder) -> FromUnknown | None:
    """The last fill that a cylinder still holds gas of, out of a bank into which another gas had
    gone, of a cylinder that held such gas, or by others of another gas than is written down, or of
    none to be breathed; None where that was answered: by an analysis with that fill or later, of
    what is not breathed by a good sample of its air."""
    banks = _ever_doubted(book)
    if not banks and not _unfit_anywhere(book):
        return None
    _ask_in_turn(book, book.station, _named(banks), frozenset())
    found = _unknown_in(book, book.station, _named(banks), card, None, frozenset())
    sure = (FromUnknown(line, how, d.helium, d.unfit) for line, how, d in found if d.sure)
    return next(sure, None)


@once_per_book
def _given_by_others(book: Book) -> tuple[list[Bank], bool]:
    """The banks that were raised with what others filled, and whether any line of the log names
    such a source."""
    banks = [
        bank
        for bank in (book.station.banks if book.station else ())
        if any(by_others(r.source_ or "") for r in bank.raised)
    ]
    return banks, any(by_others(s) for s in Log.of(book.log).column("source_") if s)


@once_per_book
def untested_air(book: Book, card: Cylinder) -> FromUnknown | None:
    """The last fill that a cylinder still holds gas of that others did with air that no test is
    known of, or that came out of a bank that was raised with such; None where there is none, or its
    air was sampled since."""
    station = book.station
    banks, is_in_log = _given_by_others(book)
    if not banks and not is_in_log:
        return None
    sampled = _sampled_last(book, card)
    for line in reversed(fills_since_empty(book, card, None)):
        source, on = line.source_ or "", line.at.date()
        if not source or on < sampled:
            continue
        for part in filter(by_others, each_named(source)):
            puts = put_by_others(part, on, rows_of_tests(book))
            if any(put.untested and not put.unfit for put in puts):
                return FromUnknown(line, f"{part} ({UNTESTED})")
        if station is None:
            continue
        named = frozenset[str]().union(*(told_by(station, n) for n in taken_here(source)))
        moment = _Moment(on, time_of_day(line.at))
        for bank in (b for b in banks if b.name.casefold() in named):
            for then in as_on(book, bank, on):
                for doubt in _open(book, station, then, moment, frozenset()):
                    if UNTESTED in doubt.how and not doubt.unfit:
                        return FromUnknown(line, f"{bank.name}, which {doubt.how}")
    return None


def raised_from_nothing(book: Book) -> Iterator[tuple[Bank, Raised, str]]:
    """The raisings of which a part of the source names nothing: no part of the station, no cylinder
    of the ledger, no gas, nor others who filled."""
    station = book.station
    for bank in station.banks if station else ():
        for raised in that_stand(bank.raised):
            for part in unknown_parts(book, raised.source_ or ""):
                known = station is not None and names_parts_alone(station, part)
                if part and not known and not any(gases_said(part)):
                    yield bank, raised, part
