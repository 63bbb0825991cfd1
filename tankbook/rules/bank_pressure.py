"""Banks that were read far above their marks: who looked at them since, and which relief valves did
not lift.

A lower reading says where a bank stands now, and nothing of what the pressure did to it, nor why no
relief valve let it out. A gauge that was found to read too high since may have been all that was
wrong.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.entries import standing
from tankbook.records.kinds import is_empty
from tankbook.records.station import (
    Bank,
    BankLooked,
    Checked,
    Gauge,
    ReliefValve,
    Scheme,
    Station,
    new_since,
    that_stand,
)
from tankbook.records.words import Skill, TestResult
from tankbook.rules.bank_air import air_of
from tankbook.rules.gauges import bank_gauges, is_far_over_mark, is_over_mark, reading_error
from tankbook.rules.inforce import InForce, rules_of
from tankbook.rules.relief import bound_of, is_late
from tankbook.rules.signing import why_not
from tankbook.rules.wording import says_nothing
from tankbook.units import GaugePressure


class High(Struct, frozen=True):
    """What a bank showed on a day, by a reading or at the end of a raising.

    Attributes:
        on: the day.
        at: at what time of it, where that is known.
        reads: what the gauge showed.
        least: what it stood at by all that is known of its gauge since; no more than `reads`.
    """

    on: dt.date
    at: dt.time | None
    reads: GaugePressure
    least: GaugePressure


def not_looked_at(book: Book, bank: Bank) -> High | None:
    """The newest reading far above the mark of a bank after which nobody competent passed it; None
    where there is none."""
    rules = rules_of(book)
    high = [h for h in _shown(book, bank) if _is_far(book.station, bank, h, rules)]
    return next((h for h in reversed(high) if not _passed_since(book, bank, h, high)), None)


def failed_look(bank: Bank) -> BankLooked | None:
    """The newest look at a bank, where that found it unfit and no test passed since."""
    last = next(iter(that_stand(bank.looked)[-1:]), None)
    if last is None or last.result is not TestResult.FAIL:
        return None
    tested = any(
        t.result is TestResult.PASS and t.on.first > last.on for t in standing(bank.requalified)
    )
    return None if tested else last


def why_not_passed(book: Book, look: BankLooked) -> str:
    """Why a look at a bank does not let it be used again, or an empty text: it found it unfit, says
    nothing of what was decided, or nobody certified signed it."""
    if look.result is TestResult.FAIL:
        return "it found the bank unfit"
    if says_nothing(look.decided):
        return "what was decided is not said"
    return why_not(book.settings.people, look.by, Skill.INSPECTOR, look.on)


class Unlifted(Struct, frozen=True):
    """That a relief valve let a bank rise above where it was to lift.

    Attributes:
        bank: the bank.
        high: what that showed.
        bound: where the valve was to lift.
    """

    bank: Bank
    high: High
    bound: GaugePressure


def unlifted(book: Book, station: Station, valve: ReliefValve) -> Unlifted | None:
    """The newest reading of a bank that a relief valve protects at which it was to have lifted, if
    nothing on record answers that: it was replaced or repaired since, or lifted in time on a later
    day. One that does not say what it protects is of the banks that no other names."""
    rules, bound = rules_of(book), bound_of(station, valve)
    found = [
        Unlifted(bank, high, most)
        for bank in station.banks
        if valve in valves_of(station, bank)
        if (most := bound or bank.working_pressure) is not None
        for high in _shown(book, bank)
        if is_late(rules, most, high.least, reading_error(station, bank, rules))
        if not _answers(station, valve, high, rules)
    ]
    return max(found, key=lambda each: (each.high.on, each.high.reads.pa), default=None)


def valves_of(station: Station, bank: Bank) -> tuple[ReliefValve, ...]:
    """The relief valves that protect a bank: those that name it, else those that name nothing."""
    name = bank.name.casefold()
    every = station.relief_valves
    own = tuple(v for v in every if name in {part.casefold() for part in v.protects})
    return own or tuple(v for v in every if not v.protects)


# --- what was read


def stands_empty(book: Book, bank: Bank) -> bool:
    """Whether a bank was last read empty, and it is not known to have been raised since, nor may
    have been, nor to have given anything: nothing can be filled out of it. Readings of one day are
    in the order of their hours, else of the file; what was raised on that day was before only where
    both hours say so."""
    last = next(iter(that_stand(bank.readings)[-1:]), None)
    air = air_of(book, bank)
    if last is None or not is_empty(last.pressure) or air.fills or air.gave:
        return False
    for other in that_stand(bank.readings):
        if other.on == last.on and other.at and last.at and other.at > last.at:
            return False
    return all(
        each.on < last.on
        or (each.on == last.on and each.at and last.at and each.at < last.at)
        or is_empty(each.to)
        for each in that_stand(bank.raised)
    )


def _shown(book: Book, bank: Bank) -> tuple[High, ...]:
    """All that a bank showed, oldest first."""
    station = book.station
    if station is None:
        return ()
    found = [(r.on, r.at, r.pressure) for r in that_stand(bank.readings)]
    found += [(r.on, r.at, r.to) for r in that_stand(bank.raised)]
    found.sort(key=lambda each: each[0])
    return tuple(High(on, at, reads, _least(station, bank, on, reads)) for on, at, reads in found)


def _is_far(station: Station | None, bank: Bank, high: High, rules: InForce) -> bool:
    over = station is not None and is_over_mark(station, bank, high.least, rules)
    return over and is_far_over_mark(bank, high.least, rules)


def _least(station: Station, bank: Bank, on: dt.date, reads: GaugePressure) -> GaugePressure:
    """What a bank stood at by the comparison since that found a gauge of it to read highest: that
    gauge may have been the one that was read."""
    unit = reads.unit
    over = [
        check.reads.to(unit) - check.true.to(unit)
        for gauge in bank_gauges(station, bank)
        for check in that_stand(gauge.checked)
        if check.on >= on and not _was_replaced(gauge, on, check.on)
    ]
    return GaugePressure.of(max(0.0, reads.value - max([0.0, *over])), unit)


def _was_replaced(gauge: Gauge, on: dt.date, until: dt.date) -> bool:
    """Whether a gauge may have been another one when it was compared than when it was read: one
    that was found false and replaced on one day was replaced after it."""
    days = [c.on for c in that_stand(gauge.renewed)]
    fitted = new_since(gauge)
    days += [fitted.first] if fitted else []
    return any(on <= day < until for day in days)


# --- what answers it


def _passed_since(book: Book, bank: Bank, high: High, every: Sequence[High]) -> bool:
    """Whether a bank was found fit after it showed something: looked at for that by somebody
    certified, tested, or examined under a scheme. `every` is what it showed that has to be looked
    at: of several of the day of a look, the hours say which of them it was for."""
    station, on = book.station, high.on
    several = len({each.at for each in every if each.on == on}) > 1
    for look in that_stand(bank.looked):
        if look.after is None or not on <= look.after <= look.on or why_not_passed(book, look):
            continue
        timed = look.at is not None and high.at is not None
        if look.on != on or (not several and not timed) or _is_after(look, high):
            return True
    if any(t.result is TestResult.PASS and t.on.first > on for t in standing(bank.requalified)):
        return True
    return any(
        each.result is TestResult.PASS and each.on > on
        for scheme in (station.schemes if station else ())
        if station is not None and bank.name in examined_under(station, scheme)
        for each in that_stand(scheme.examined)
    )


def examined_under(station: Station, scheme: Scheme) -> tuple[str, ...]:
    """The banks that a written scheme is of: all, where it names nothing."""
    named = {name.casefold() for name in scheme.of}
    return tuple(b.name for b in station.banks if not named or b.name.casefold() in named)


def _answers(station: Station, valve: ReliefValve, high: High, rules: InForce) -> bool:
    """Whether a relief valve is known to lift after a bank rose above where it was to: it was
    replaced, or repaired, or lifted in time on a later day; of one day the hours say which was
    first, and without them nobody knows. What was done to it on the day of a reading that says no
    hour is taken to be for that."""
    on = high.on
    if (fitted := new_since(valve)) is not None and fitted.first > on:
        return True
    bound = bound_of(station, valve)
    for check in that_stand(valve.checked):
        late = (
            check.lifted is not None and bound is not None and is_late(rules, bound, check.lifted)
        )
        after = _is_after(check, high)
        lifts = check.lifted is not None and after
        mended = bool(check.repaired) and not says_nothing(check.repaired or "")
        # what was done about it where the reading says no hour
        mended = mended and (after or (check.on == on and high.at is None))
        if check.result is TestResult.PASS and not late and (lifts or mended):
            return True
    return False


def _is_after(entry: Checked | BankLooked, high: High) -> bool:
    """Whether something surely was after a bank showed something: on a later day, or by the hours
    of both."""
    if entry.on != high.on:
        return entry.on > high.on
    return entry.at is not None and high.at is not None and entry.at > high.at


def ways_out(book: Book, bank: Bank, high: High) -> Iterator[str]:
    """What lets a bank be used again that was read far above its mark, as it is told."""
    name = bank.name
    yield "bleed it down, and have it looked at by somebody certified: `tankbook station bank-look"
    yield f" {name} --decided WHAT`"
    if high.at is not None:
        yield f" (on that day with an hour after {high.at:%H:%M}, `tankbook station bank-look"
        yield f" {name} --decided WHAT --on {high.on} --at HH:MM`)"
    yield f", or tested: `tankbook station bank-test {name}`"
    valves = valves_of(book.station, bank) if book.station else ()
    if not valves:
        yield "; no relief valve of it is on record: write which one protects it into station.yaml"
    yield "; where the gauge was false, compare it near there: `tankbook station gauge-check`;"
    yield f" misread: `tankbook correct station {name}.readings {high.on}`"
