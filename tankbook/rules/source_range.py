"""Whether a source can give a gas, and how high: what a membrane or a blender makes, what a booster
drives, what a compressor fills to.

Of a fill that names others besides nobody knows what each gave: its analysis says what it became.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.records.station import (
    COMPRESSOR,
    Bank,
    Booster,
    Enricher,
    Raised,
    Station,
    that_stand,
)
from tankbook.records.words import Grade
from tankbook.rules.air import by_others, names_parts_alone, parts_named, taken_here
from tankbook.rules.fill_history import is_above
from tankbook.rules.gauges import reading_error
from tankbook.rules.inforce import InForce, rules_of
from tankbook.units import GaugePressure


class SourceFault(Struct, frozen=True):
    """Why a source does not give a gas, the state that a rule row speaks of, and the mend."""

    state: str
    text: str
    mend: str


def cannot_give(station: Station, rules: InForce, source: str, gas: Gas) -> Iterator[SourceFault]:
    """What speaks against a gas out of the one source that a fill names."""
    fed = {each.name.casefold() for each in station.every_fed}
    said = [each.casefold() for each in taken_here(source)]
    named = {n if n in fed else next(iter(parts_named(station, n) & fed), n) for n in said}
    name = next(iter(named), "") if len(named) == 1 and not by_others(source) else ""
    for made in station.sources:
        if made.name.casefold() == name:
            yield from _of_range(made, rules, gas)
    for booster in station.boosters:
        if booster.name.casefold() == name:
            yield from _of_booster(booster, rules, gas)


def _of_range(made: Enricher, rules: InForce, gas: Gas) -> Iterator[SourceFault]:
    least, most = made.oxygen_from, made.oxygen_to
    mend = f"what {made.name} makes stands in station.yaml: `oxygen_from`, `oxygen_to`"
    text = f"{made.name} ({made.kind}) does not make {gas}"
    if gas.helium_percent > 0:
        yield SourceFault("out-of-range", f"{text}: it adds no helium", "blend it, and analyse")
    elif most is not None and gas.oxygen_percent > most.percent:
        yield SourceFault("out-of-range", f"{text}: it makes up to {most} oxygen", mend)
    elif least is not None and gas.oxygen_percent < least.percent:
        yield SourceFault("out-of-range", f"{text}: it makes {least} oxygen and more", mend)
    if most is None and not gas.is_air:
        shares = [r.share.percent for r in rules.rows[Obligation.SOURCE] if r.share is not None]
        if not shares:
            yield SourceFault("too-rich", f"how rich {made.name} makes its gas is not known", mend)
        elif gas.oxygen_percent > min(shares):
            said = f"{text}: more than {min(shares):g} % oxygen, and it says no range of its own"
            yield SourceFault("too-rich", said, mend)


def _of_booster(booster: Booster, rules: InForce, gas: Gas) -> Iterator[SourceFault]:
    mend = f"what {booster.name} drives stands in station.yaml: `drives`, `grade`"
    if booster.drives and gas not in booster.drives:
        drives = ", ".join(map(str, booster.drives))
        text = f"booster {booster.name} drives {drives}, and not {gas}"
        yield SourceFault("not-driven", text, mend)
    elif booster.grade is Grade.BREATHING and gas.oxygen_percent > rules.clean_above.percent:
        text = f"booster {booster.name} is not for oxygen (`grade: breathing`), and {gas} is wanted"
        yield SourceFault("not-driven", text, mend)


def raised_beyond(book: Book) -> Iterator[tuple[Bank, Raised, str]]:
    """The raisings that ended higher than what they were raised from reaches, and why."""
    station = book.station
    for bank in station.banks if station else ():
        for raised in that_stand(bank.raised):
            source = raised.source_ or ""
            if station and (why := beyond_reach(book, station, bank, source, raised.to, raised.on)):
                yield bank, raised, why


def beyond_reach(
    book: Book, station: Station, bank: Bank, source: str, to: GaugePressure, on: dt.date
) -> str:
    """Why a bank cannot have been raised so high from a source on a day, by more than a gauge may
    err, or an empty text: none of the parts that it names reaches that. A bank gives no more than
    it was last read at by then, unless a booster is named. What others filled, and of what a part
    nobody knows how high it reaches, nobody can tell."""
    if by_others(source):
        return ""
    parts = parts_named(station, source) if source else frozenset[str]()
    pumps = [p for p in station.every_pump if (p.name or COMPRESSOR).casefold() in parts]
    pumps = pumps or ([] if source else [*station.every_compressor])
    givers = [b for b in station.banks if b.name.casefold() in parts and b is not bank]
    if not (pumps or givers) or (source and not names_parts_alone(station, source)):
        return ""
    reach = [(p.name or COMPRESSOR, p.max_pressure, "fills to") for p in pumps]
    if not any(isinstance(p, Booster) for p in pumps):
        reach += [(b.name, _read_by(b, on), "was last read at") for b in givers]
    known = [(name, most, how) for name, most, how in reach if most is not None]
    if len(known) < len(reach) or not known:
        return ""
    error = reading_error(station, bank, rules_of(book))
    if any(not is_above(to, most, error) for _, most, _ in known):
        return ""
    return ", ".join(f"{name} {how} {most}" for name, most, how in known)


def _read_by(bank: Bank, on: dt.date) -> GaugePressure | None:
    """The most that a bank was read at on a day, and as it was last read before; None where it was
    never read by then."""
    shown = [(r.on, r.pressure) for r in that_stand(bank.readings) if r.on <= on]
    shown += [(r.on, r.to) for r in that_stand(bank.raised) if r.on <= on]
    before = max((day for day, _ in shown if day < on), default=on)
    return max((p for day, p in shown if day >= before), key=lambda p: p.pa, default=None)
