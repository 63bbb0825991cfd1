"""The compressors of a station that has several: which serve, what tells against one alone, and the
banks that may hold what that one pumped.

Where no other compressor serves, what tells against one tells against the station, as where there
is one compressor; so does what was sampled anywhere else.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.log import Log
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.station import COMPRESSOR, AirTest, Compressor, Station, that_stand
from tankbook.rules import meter
from tankbook.rules.air import (
    air_judge,
    own_names,
    parts_named,
    sampled_at,
    taken_here,
    unfed,
)
from tankbook.rules.answers import Due
from tankbook.rules.bank_air import air_of, may_be_of, may_hold
from tankbook.rules.bank_held import failures_by, is_good
from tankbook.rules.lapsed import dated_reason
from tankbook.rules.schedule import due_of_station
from tankbook.rules.services import has_no_air

OF_ONE = frozenset({Obligation.AIR_TEST, Obligation.FILTER})
"""What is due for each compressor by itself."""


class PumpFault(Struct, frozen=True):
    """What tells against one compressor of several, and not against the others.

    Attributes:
        name: the compressor, by its label.
        banks: the banks that may hold what it pumped since then.
        failed: the text of what is wrong with its air by a sample; empty of a lapse.
        lapsed: what lapsed; None of a sample.
    """

    name: str
    banks: tuple[str, ...]
    failed: str = ""
    lapsed: Due | None = None


def compressor_of(station: Station, item: Due) -> Compressor | None:
    """The compressor of several that an obligation is of; None where it is not of one."""
    if len(station.every_compressor) < 2:
        return None
    if item.obligation is Obligation.AIR_TEST:
        return station.compressor_called(item.part)
    of = next((f for f in station.filters if f.name == item.part), None)
    return meter.compressor_of(station, of) if of and item.obligation in OF_ONE else None


@once_per_book
def serving(book: Book, today: dt.date) -> frozenset[str]:
    """Of several compressors those that serve, in small letters: sampled alone and found good, in
    time, with filters within their lives, and no sample that tells against them."""
    station = book.station
    if station is None or len(station.every_compressor) < 2:
        return frozenset()
    left = own_names(station)
    for test, _ in air_judge(book).wrong_tests(station):
        left -= sampled_at(station, test)
    for item in due_of_station(book, station, today):
        of, reason = compressor_of(station, item), dated_reason(item)
        if item.obligation not in OF_ONE or reason is None or reason.gate is not Gate.REFUSE:
            continue
        left -= {_small(of)} if of else own_names(station)
    return left


def _small(compressor: Compressor) -> str:
    return (compressor.name or COMPRESSOR).casefold()


def of_one(book: Book, test: AirTest, today: dt.date) -> frozenset[str]:
    """The compressors that a bad sample tells against alone, in small letters: it was drawn at them
    or at what takes from them, and nowhere else, and another serves. Empty where it tells against
    the station."""
    station = book.station
    if station is None:
        return frozenset()
    fed = frozenset(each.name.casefold() for each in station.every_fed) - unfed(station)
    places, served = sampled_at(station, test) - fed, serving(book, today)
    return places if served and places < own_names(station) else frozenset()


def is_of_one(book: Book, item: Due, today: dt.date) -> bool:
    """Whether a lapse is of one compressor of several, and another serves."""
    if book.station is None or item.obligation not in OF_ONE:
        return False
    return compressor_of(book.station, item) is not None and bool(serving(book, today))


def against(book: Book, today: dt.date) -> Iterator[PumpFault]:
    """What tells against single compressors of several."""
    station = book.station
    if station is None or not serving(book, today):
        return
    wrong = list(air_judge(book).wrong_tests(station))
    told = frozenset[str]().union(*(of_one(book, test, today) for test, _ in wrong))
    for test, text in wrong:
        for made in station.every_compressor:
            if _small(made) in of_one(book, test, today):
                open_ = [*(t for t, _ in wrong), *failures_by(book, today)]
                failed = [
                    t
                    for t in dict.fromkeys(open_)
                    if sampled_at(station, t) & {_small(made)} and not air_judge(book).passes(t)
                ]
                first = min(t.on for t in failed)
                judge = air_judge(book)
                wrong_in = frozenset[str]().union(*(judge.may_have_failed_on(t) for t in failed))
                since = judge.good_before(station, _small(made), first, wrong_in).first.date()
                banks = _holding(book, station, made, since, failed, today)
                yield PumpFault(made.name or COMPRESSOR, banks, failed=text)
    for item in due_of_station(book, station, today):
        of, reason = compressor_of(station, item), dated_reason(item)
        if item.obligation is Obligation.AIR_TEST and of is not None and _small(of) in told:
            continue  # told by what failed
        if of is not None and reason is not None and reason.gate is Gate.REFUSE:
            since = _in_order_until(station, of, item)
            banks = _holding(book, station, of, since, [], today)
            yield PumpFault(of.name or COMPRESSOR, banks, lapsed=item)


def _in_order_until(station: Station, made: Compressor, item: Due) -> dt.date:
    """The last day on which what lapsed is known to have been in order."""
    if item.obligation is Obligation.AIR_TEST:
        return item.next or dt.date.min
    part = next((f for f in station.filters if f.name == item.part), None)
    hours, changes = meter.readings(made), that_stand(part.changed) if part else ()
    if part is None or part.life is None or not changes or not hours:
        return dt.date.min
    end = meter.counted_at(hours, changes[-1]) + part.life.hours
    within = (on for on, ran in meter.shown(station, made) if ran <= end)
    return max(within, default=dt.date.min)


def _gave(book: Book, station: Station, made: Compressor) -> bool:
    """Whether anything on record says that a compressor ever ran here: its meter went on, or it is
    named as what a bank was raised or a cylinder filled from."""
    shown = [ran for _, ran in meter.shown(station, made)]
    if len(shown) > 1 and max(shown) > min(shown):
        return True
    named = {r.source_ for b in station.banks for r in that_stand(b.raised) if r.source_}
    named |= {said for said in set(Log.of(book.log).column("source_")) if said}
    own = _small(made)
    return any(own in parts_named(station, n) for said in named for n in taken_here(said))


def _holding(
    book: Book,
    station: Station,
    made: Compressor,
    since: dt.date,
    failed: list[AirTest],
    today: dt.date,
) -> tuple[str, ...]:
    """The banks that may hold what a compressor pumped since a day, unless a good sample of them
    alone says that it is good. Where nothing failed, what was in them before the first record of
    them is not taken for that; nor is a bank of nitrox, of a compressor that never ran here."""
    judge, own = air_judge(book), frozenset({_small(made)})
    ran = since > dt.date.min or _gave(book, station, made)
    found = []
    for bank in station.banks:
        if has_no_air(bank.gas):
            continue
        if not (failed or ran or bank.gas is None or bank.gas.is_air):
            continue  # nothing says that anything but air was blended of what it gave
        itself = frozenset({bank.name.casefold()})
        good = [
            t.on
            for t in that_stand(station.air_tests)
            if since <= t.on <= today
            and all(t.on >= f.on for f in failed)
            and sampled_at(station, t) == itself
            and is_good(judge, station, t, failed)
        ]
        begun, air = max([since, *good]), air_of(book, bank)
        # what was pumped before a sample of the bank may have come into it after that
        pumped = [
            o
            for o in air.origins
            if o.on >= since and o.came >= begun and (failed or o.since is not None)
        ]
        unsure = not air.is_known or (bool(failed) and may_hold(station, bank, own, begun))
        unsure = unsure and not good
        if unsure or any(may_be_of(station, o.source, own) for o in pumped):
            found.append(bank.name)
    return tuple(found)
