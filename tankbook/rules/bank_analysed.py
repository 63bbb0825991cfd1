"""The analyses of a bank, and which of them count.

One that says another gas than is on record always counts. One that says the gas on record answers
nothing where an analysis before it, and what went in since, make another gas: an analyser may be
wrong, or the wrong bank was sampled, and what is breathed must not hang on which came last.
It counts with others that agree, of an analyser that can be told from the one before; how many, a
rule row says.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import TypeAlias

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.kinds import is_empty
from tankbook.records.rulerow import Obligation
from tankbook.records.station import (
    AirTest,
    Bank,
    BankAnalysis,
    Raised,
    Reading,
    Station,
    that_stand,
)
from tankbook.records.words import InstrumentKind, TestResult
from tankbook.rules.air import sampled_at
from tankbook.rules.bank_given import gas_of, gases_put
from tankbook.rules.fill_history import AIR_SHARE
from tankbook.rules.inforce import rules_of, speaks_of_station
from tankbook.rules.mixed import NOBODY_KNOWS, MixRange
from tankbook.rules.services import analysis_tolerance


def is_as_recorded(book: Book, bank: Bank, entry: BankAnalysis, *, helium: bool = False) -> bool:
    """Whether an analysis says that a bank holds the gas it is on record with; `helium`: it is
    asked what helium there is, too."""
    asked = helium or gas_of(bank).helium_percent > 0
    return not is_otherwise(book, bank, entry) and not (asked and entry.helium is None)


def is_otherwise(book: Book, bank: Bank, entry: BankAnalysis) -> bool:
    """Whether an analysis says that a bank holds another gas than it is on record with."""
    gas, most = gas_of(bank), analysis_tolerance(rules_of(book)) + 1e-9
    oxygen = AIR_SHARE if gas.is_air else gas.oxygen_percent
    helium = entry.helium.percent - gas.helium_percent if entry.helium else 0.0
    return max(abs(entry.oxygen.percent - oxygen), abs(helium)) > most


@once_per_book
def analyses_of(book: Book, bank: Bank) -> tuple[BankAnalysis, ...]:
    """The analyses of a bank, and the samples drawn at it alone that passed and give its oxygen,
    oldest first."""
    station = book.station
    if station is None:
        return ()
    own = frozenset({bank.name.casefold()})
    samples = [t for t in that_stand(station.air_tests) if sampled_at(station, t) == own]
    found = [*that_stand(bank.analysed), *(a for t in samples for a in _as_analysis(t))]
    return tuple(sorted(found, key=lambda a: (a.on, a.at or dt.time.max)))


def _as_analysis(test: AirTest) -> Iterator[BankAnalysis]:
    if test.oxygen is not None and test.result is TestResult.PASS:
        yield BankAnalysis(
            source=test.source, on=test.on, oxygen=test.oxygen, by=test.by, with_=_LABORATORY
        )


# --- which of them count


class Denied(Struct, frozen=True):
    """An analysis that counts for nothing yet.

    Attributes:
        analysis: it.
        before: the one before it, which says otherwise; None where what went in does.
        made: what that, and what went in since, make.
    """

    analysis: BankAnalysis
    before: BankAnalysis | None
    made: MixRange


class Counted(Struct, frozen=True):
    """The analyses of a bank that count, and those that nothing bears out yet, oldest first."""

    those: tuple[BankAnalysis, ...] = ()
    denied: tuple[Denied, ...] = ()


class _Followed(Struct):
    """What is known of a bank between two analyses.

    Attributes:
        made: what its gas can be.
        put: how much of it went in since it was analysed, 0 to 1.
        last: the analysis that it was last known by.
        waiting: those since that say the gas on record, and are not borne out.
    """

    made: MixRange
    put: float = 0.0
    last: BankAnalysis | None = None
    waiting: list[BankAnalysis] = []


@once_per_book
def counted(book: Book, bank: Bank) -> Counted:
    """The analyses of a bank since it holds its gas that count, and those that do not."""
    station, held = book.station, _Followed(MixRange.of(gas_of(bank)))
    those, denied = list[BankAnalysis](), list[Denied]()
    for each in _events(book, bank) if station else ():
        match each:
            case Reading():
                held = _Followed(NOBODY_KNOWS)
            case Raised():
                _raise(book, bank, held, each)
            case BankAnalysis():
                if _is_borne_out(book, bank, held, each):
                    those.append(each)
                    held = _Followed(_read(held.made, each), last=each)
                else:
                    denied.append(Denied(each, held.last, held.made))
    return Counted(tuple(those), tuple(denied))


_Event: TypeAlias = Reading | Raised | BankAnalysis


def _events(book: Book, bank: Bank) -> list[_Event]:
    """What is known of a bank's gas since it holds it, oldest first: of one day in the order of the
    hours; an analysis that has none at its end, and a raising at its beginning."""
    found: list[_Event] = [r for r in that_stand(bank.readings) if is_empty(r.pressure)]
    found += that_stand(bank.raised)
    found += analyses_of(book, bank)
    since = bank.since or dt.date.min
    kept = (each for each in found if each.on >= since)
    return sorted(kept, key=_in_order)


def _in_order(each: _Event) -> tuple[dt.date, dt.time, bool]:
    unsaid = dt.time.min if isinstance(each, Raised) else dt.time.max
    return each.on, each.at or unsaid, isinstance(each, BankAnalysis)


def _raise(book: Book, bank: Bank, held: _Followed, raised: Raised) -> None:
    """Take a raising into what is known."""
    assert book.station is not None
    given = _given(book, book.station, bank, raised)
    if is_empty(raised.from_):
        held.made, held.put, held.last = given, 1.0, None
        held.waiting.clear()
        return
    adverse = held.last is not None and is_otherwise(book, bank, held.last)
    if raised.from_ is None and adverse:
        return  # how much was left of it nobody says: that may be nearly all
    unsure = raised.at is None and any(a.on == raised.on for a in analyses_of(book, bank))
    if raised.from_ is None or unsure or raised.from_ >= raised.to:
        held.made, held.put = given.to(held.made), 1.0
        return
    share = raised.from_.pa / raised.to.pa
    held.made = held.made.topped(share, given)
    held.put = 1 - (1 - held.put) * share


def _given(book: Book, station: Station, bank: Bank, raised: Raised) -> MixRange:
    """What a raising put in; of a bank of another gas than air a compressor may have been fed with
    more than air."""
    gases = list[Gas]()
    for put in gases_put(book, station, raised):
        if put.gas is None or (put.pumped and not gas_of(bank).is_air):
            return NOBODY_KNOWS
        gases.append(put.gas)
    return MixRange.of(*gases) if gases else NOBODY_KNOWS


def _read(made: MixRange, entry: BankAnalysis) -> MixRange:
    """What it is that was analysed."""
    oxygen = (entry.oxygen.percent, entry.oxygen.percent)
    read = (entry.helium.percent, entry.helium.percent) if entry.helium else made.helium
    return MixRange(oxygen, read, 0.0, made.real)


def _is_borne_out(book: Book, bank: Bank, held: _Followed, entry: BankAnalysis) -> bool:
    """Whether an analysis counts: it tells against the bank, agrees with what is known, or with as
    many others as a row asks for."""
    helium = entry.helium.percent if entry.helium else held.made.helium[0]
    most = analysis_tolerance(rules_of(book)) + held.made.bound * held.put + 1e-9
    if is_otherwise(book, bank, entry) or held.made.off(entry.oxygen.percent, helium) <= most:
        return True
    held.waiting.append(entry)
    return _agree(book, held.last, held.waiting)


def agreeing(book: Book) -> int:
    """How many analyses that agree outweigh one that says otherwise; none does where it is 0."""
    rows = rules_of(book).rows[Obligation.BANK_HOLD]
    return max((r.times or 0 for r in rows if speaks_of_station(r, "other-gas")), default=0)


def _agree(book: Book, before: BankAnalysis | None, entries: Sequence[BankAnalysis]) -> bool:
    """Whether analyses outweigh one before them: enough of another analyser than that, or of one
    that was held to a known gas on a later day; or enough of two analysers, where the one before
    does not say which it was."""
    most = agreeing(book)
    vouched = [e for e in entries if _is_vouched(book, before, e)]
    named = [n for e in entries if (n := _analyser(book, e))]
    return bool(most) and (len(vouched) >= most or (len(named) >= most and len(set(named)) > 1))


def _is_vouched(book: Book, before: BankAnalysis | None, entry: BankAnalysis) -> bool:
    name, was = _analyser(book, entry), _analyser(book, before) if before else ""
    if name == _LABORATORY or (name and was and name != was):
        return True
    for each in book.station.instruments if book.station else ():
        if name and each.name.casefold() == name:
            since = before.on if before else dt.date.min
            held = [c for c in that_stand(each.bumped) if since < c.on <= entry.on]
            return bool(held) and held[-1].result is TestResult.PASS
    return False


_LABORATORY = "a laboratory"


def _analyser(book: Book, entry: BankAnalysis) -> str:
    """Which analyser it was, in small letters: one of the station's, a laboratory's, or none."""
    if entry.with_ == _LABORATORY:
        return _LABORATORY
    known = {
        i.name.casefold()
        for i in (book.station.instruments if book.station else ())
        if i.kind is InstrumentKind.OXYGEN_ANALYSER
    }
    name = (entry.with_ or "").casefold()
    return name if name in known else ""
