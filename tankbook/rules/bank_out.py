"""Why banks are out of use, or told of, for the gas that is in them: set aside after a recall,
holding air of a sample that failed, or of a gas or at a pressure that they are not for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.fields import Record
from tankbook.records.naming import named_among
from tankbook.records.station import (
    Bank,
    BankAnalysis,
    CoReading,
    Raised,
    Reading,
    Station,
    that_stand,
)
from tankbook.rules.air import sampled_at
from tankbook.rules.bad_air import (
    BadBank,
    Sure,
    banks_of_bad_air,
    opens_for_co,
    says_hour,
    tells_bad,
)
from tankbook.rules.bank_air import air_of
from tankbook.rules.bank_gas import GasUnsure, gas_unsure, is_of_another
from tankbook.rules.bank_held import banks_held, what_opens
from tankbook.rules.bank_pressure import failed_look, not_looked_at, ways_out
from tankbook.rules.carbon_monoxide import bank_read
from tankbook.rules.gauges import is_over_mark
from tankbook.rules.inforce import rules_of

_STATES = {Sure.CERTAIN: "bad-air", Sure.LIKELY: "suspect-air", Sure.MAY: "unsure-air"}
"""What rule rows call a bank by how sure it is that it holds bad air."""


class BankOut(Struct, frozen=True):
    """Gas in a bank that may not be given, or is told of.

    Attributes:
        name: the bank, by its label.
        state: what the rule rows of `bank-hold` call that.
        since: when it was set aside, or the sample failed.
        why: what is the case.
        opens: what opens it again, or what else is to be done.
    """

    name: str
    state: str
    since: dt.date
    why: str
    opens: str


def banks_out(book: Book, today: dt.date) -> Iterator[BankOut]:
    """Every bank with gas that may not be given, each reason, the gravest first of each kind."""
    if book.station is None:
        return
    for held in banks_held(book, today):
        why = f"bank {held.name} was set aside on {held.since}: {held.why}"
        yield BankOut(held.name, "held", held.since, why, f"it takes {held.opens}")
    for bad in banks_of_bad_air(book, today):
        yield _of_bad_air(book, book.station, bad)
    for bank in book.station.banks:
        yield from _of_pressure(book, book.station, bank)
        yield from _of_looks(book, bank)
        if (unsure := gas_unsure(book, bank)) is not None:
            yield _of_gas(unsure)


def tells_against_bank(book: Book, bank: Bank, entry: Record) -> bool:
    """Whether an entry says that another gas went into a bank, or was found in it, answered since
    or not. Somebody certified strikes it out, or sets it right."""
    return isinstance(entry, BankAnalysis | Raised) and is_of_another(book, bank, entry)


def _of_pressure(book: Book, station: Station, bank: Bank) -> Iterator[BankOut]:
    """A bank that was last read above what it is marked for, however much was filled from it
    since."""
    air, most = air_of(book, bank), bank.working_pressure
    if air.read is None or air.read_on is None or most is None:
        return
    if is_over_mark(station, bank, air.read, rules_of(book)):
        why = f"bank {bank.name} read {air.read} on {air.read_on}, above the {most} marked on it"
        opens = f"bleed it down, then `tankbook station read {bank.name}=PRESSURE`; one that was"
        opens += f" misread: `tankbook correct station {bank.name}.readings {air.read_on}`"
        yield BankOut(bank.name, "over-mark", air.read_on, why, opens)


def _of_looks(book: Book, bank: Bank) -> Iterator[BankOut]:
    """A bank that was read far above its mark and that nobody competent passed since, or that was
    found unfit."""
    if (high := not_looked_at(book, bank)) is not None:
        why = f"bank {bank.name} read {high.reads} on {high.on}, far above the"
        why += f" {bank.working_pressure} marked on it, and nobody competent passed it since"
        yield BankOut(bank.name, "over-pressed", high.on, why, "".join(ways_out(book, bank, high)))
    if (look := failed_look(bank)) is not None:
        why = f"bank {bank.name} was looked at on {look.on} and found unfit: {look.decided}"
        opens = "have it mended or tested, and looked at again: `tankbook station bank-look"
        yield BankOut(bank.name, "unfit", look.on, why, f"{opens} {bank.name} --decided WHAT`")


def _of_gas(unsure: GasUnsure) -> BankOut:
    """A bank into which another gas went since it was analysed, or nobody knows which."""
    name, gas = unsure.name, unsure.gas
    why = f"bank {name} is on record with {gas} and {unsure.how}: "
    why += "what it holds is not known" if unsure.sure else f"that it still holds {gas} is not sure"
    state = "other-gas" if unsure.sure else "unsure-gas"
    return BankOut(name, state, unsure.since, why, unsure.opens)


def _of_bad_air(book: Book, station: Station, bad: BadBank) -> BankOut:
    """A bank with air of a sample that failed, or that may have it."""
    name, test, state = bad.bank.name, bad.failed, _STATES[bad.sure]
    if isinstance(test, CoReading):
        since = f" since {bad.good}" if bad.good else " up to then"
        pumped = "" if bank_read(station, test) is bad.bank else f" pumped{since}"
        why = f"bank {name} holds or may hold air{pumped}, and {tells_bad(test)}"
        opens = opens_for_co(book, name) + _says_hours(book, bad) + _writes(bad)
        return BankOut(name, state, test.on, why, opens)
    of = f" ({test.source_})" * bool(test.source_)
    opens = f"it takes {what_opens(book, name, test.on)}"
    if bad.sure is Sure.CERTAIN:
        why = f"bank {name} holds or held air that failed, by the air test of {test.on}{of}"
        return BankOut(name, state, test.on, why, opens)
    days = f"{bad.since} to {bad.on}" if bad.since != bad.on else f"{bad.on}"
    gas = "air" if bad.bank.gas is None or bad.bank.gas.is_air else "gas"
    pumped = f"{gas} pumped {days}" if bad.since else f"{gas} that was in it by {bad.on}"
    good = f"the last good one was of {bad.good}" if bad.good else "none before it was good"
    holds = "held" if bad.emptied else "holds"
    why = f"bank {name} {holds} {pumped}, and the air test of {test.on}{of} failed ({good})"
    if bad.emptied:
        why += "; what that may have left behind was not looked for"
    elif bad.sure is Sure.MAY:
        why += "; it may be of before or after that time"
        why += f"; {bad.unwritten.said}" if bad.unwritten else ""
    opens += _says_hours(book, bad) + _writes(bad)
    pumps = [c.name for c in station.every_compressor if c.name]
    named = [p for p in pumps if p.casefold() in sampled_at(station, test)] or pumps[:1]
    opens += f"; `tankbook recall {named[0]} --hold` sets aside what was filled" if named else ""
    return BankOut(name, state, test.on, why, opens)


def _says_hours(book: Book, bad: BadBank) -> str:
    """What says at what hours a sample was drawn, and a bank pumped or read, where it is out only
    because nobody knows which of them was first."""
    if not bad.of_hour:
        return ""
    of_day = [says_hour(book, bad.on, bad.failed)]
    lists: tuple[tuple[str, Sequence[Raised | Reading]], ...] = (
        ("raised", bad.bank.raised),
        ("readings", bad.bank.readings),
    )
    of_day += [
        f"`tankbook correct station {bad.bank.name}.{name} {named_among(entries, each)} --set"
        " at=HH:MM --why WHY`"
        for name, entries in lists
        for each in that_stand(entries)
        if each.on == bad.on and each.at is None
    ]
    said = " and ".join(filter(None, of_day))
    return f"; or that it is said at what hours that was: {said}" if said else ""


def _writes(bad: BadBank) -> str:
    """What writes down a pumping, where a bank is out for one of which nobody knows when in the
    time of several days it was."""
    return f"; or {bad.unwritten.mend}" if bad.unwritten and bad.sure is Sure.MAY else ""
