"""Banks that are set aside after a recall, and what opens them again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.counter import Incident
from tankbook.records.kinds import is_empty
from tankbook.records.station import (
    AirTest,
    Bank,
    BankCleaned,
    BankHeld,
    CoReading,
    Station,
    that_stand,
)
from tankbook.records.words import Skill, TestResult
from tankbook.rules.air import (
    ODOUR,
    AirJudge,
    air_judge,
    by_others,
    drawn,
    is_after,
    measured_in,
    own_names,
    parts_named,
    sampled_at,
    sources_of,
    taken_here,
)
from tankbook.rules.bank_air import BankOrigin, air_of
from tankbook.rules.bank_pressure import why_not_passed
from tankbook.rules.carbon_monoxide import alarms_by, analysed_well, analyses_co, false_alarms
from tankbook.rules.incident_held import banks_named, incident_of
from tankbook.rules.signing import are_kept, is_outside, names_nobody, why_not
from tankbook.rules.wording import unread_words
from tankbook.units import time_of_day
from tankbook.units.lexicon import Lexicon

_SAY = Lexicon("cleanliness")

SOILS = frozenset({"oil", "water", ODOUR})
"""What stays behind in a vessel that is emptied: it is looked inside and cleaned as well (common
practice, no source)."""


class HeldBank(Struct, frozen=True):
    """A bank that is out of use.

    Attributes:
        name: its label.
        why: why it was set aside.
        since: since when.
        opens: what opens it again, as it is told.
    """

    name: str
    why: str
    since: dt.date
    opens: str


def banks_held(book: Book, today: dt.date) -> tuple[HeldBank, ...]:
    """The banks that are out of use on a day, each entry that nothing answers yet."""
    return tuple(
        HeldBank(bank.name, entry.why, entry.on, _opens(book, bank, entry))
        for bank, entry in _unopened(book, today)
    )


def recalled_then(book: Book, at: dt.datetime) -> frozenset[str]:
    """The banks that a recall had set aside as something was logged, by their names in small
    letters: what was set aside that day, and nobody says at what time, was so after it. That a bank
    is out for an incident tells of no sample that failed."""
    day, time = at.date(), time_of_day(at)
    return frozenset(
        bank.name.casefold()
        for bank, entry in _held_on(book, day)
        if (entry.on < day or (entry.at is not None and entry.at <= time))
        and incident_of(book, bank, entry) is None
    )


@once_per_book
def _held_on(book: Book, day: dt.date) -> tuple[tuple[Bank, BankHeld], ...]:
    return tuple(_unopened(book, day))


def _unopened(book: Book, day: dt.date) -> Iterator[tuple[Bank, BankHeld]]:
    """The entries of banks set aside that nothing had answered by a day."""
    for bank in book.station.banks if book.station else ():
        for entry in that_stand(banks_named(book, bank)):
            if entry.on <= day and not is_opened(book, bank, entry, day):
                yield bank, entry


def what_opens(book: Book, name: str, on: dt.date, why: str = "") -> str:
    """What opens a bank again that was set aside on a day, and why."""
    failed = failures_by(book, on)
    wrong = sorted({name for test in failed for name in air_judge(book).may_have_failed_on(test)})
    measured = f" that measures {', '.join(wrong)}" if wrong else ""
    if soils(book, failed) or says_soiled(why):
        return (
            f"a good sample of it{measured}; or that it is emptied, looked inside and cleaned"
            f" (`tankbook station bank-clean {name}`), then raised from a source that passed since"
        )
    return (
        f"a good sample of it{measured}; or that it is read empty, then raised from a source that"
        " passed since"
    )


def looked_over(name: str, at: dt.time | None) -> str:
    """What opens a bank again that an incident of a time names, and whose gas that says nothing
    of."""
    line = f"`tankbook station bank-look {name} --decided WHAT`"
    that_day = f"that day with its hour, after {at:%H:%M}: --at" if at else "a later day"
    return f"that somebody certified looks at it and says what was found: {line} ({that_day})"


def _opens(book: Book, bank: Bank, entry: BankHeld) -> str:
    opens = what_opens(book, bank.name, entry.on, entry.why)
    said = incident_of(book, bank, entry)
    if _of_alarms(book, bank, entry):
        later = "" if entry.at else ", of a later day"
        how = analyses_co(book, bank.name)
        opens = f"an analysis of it for carbon monoxide{later} ({how}); or {opens}"
    return (
        f"{looked_over(bank.name, entry.at)}; or {opens}" if said and not is_of_gas(said) else opens
    )


def _of_alarms(book: Book, bank: Bank, entry: BankHeld) -> tuple[CoReading, ...]:
    """What sounded, and was not answered before a bank was set aside for a recall, that rests on
    nothing besides: no sample that failed, no incident, nothing that stays behind."""
    besides = failures_by(book, entry.on) or incident_of(book, bank, entry)
    return () if besides or says_soiled(entry.why) else alarms_by(book, entry.on)


def _is_analysed(book: Book, bank: Bank, entry: BankHeld, today: dt.date) -> bool:
    """Whether the gas of a bank was analysed for carbon monoxide, after all that sounded and was no
    false alarm, and after it was set aside for that."""
    sounded = _of_alarms(book, bank, entry)

    def is_later(read: CoReading) -> bool:
        timed = read.at is not None and entry.at is not None
        hour = timed and (read.at or dt.time.min) > (entry.at or dt.time.max)
        return read.on <= today and (read.on > entry.on or (read.on == entry.on and hour))

    return bool(sounded) and all(
        any(is_later(read) for read in analysed_well(book, each, bank=bank.name))
        for each in sounded
        if id(each) not in false_alarms(book)
    )


def _is_looked_over(book: Book, bank: Bank, entry: BankHeld, today: dt.date) -> bool:
    """Whether somebody certified looked at a bank after an incident that says nothing of its gas,
    and let it be used again."""
    said = incident_of(book, bank, entry)
    if said is None or is_of_gas(said):
        return False
    for look in that_stand(bank.looked):
        later = look.on > entry.on
        if look.on == entry.on and look.at is not None and entry.at is not None:
            later = look.at > entry.at
        own = look.after is None or look.after >= entry.on  # not for what was read before
        if later and own and look.on <= today and not why_not_passed(book, look):
            return True
    return False


def is_of_gas(incident: Incident) -> bool:
    """Whether what is said of an incident may be of the gas in what it names: somebody was ill, it
    smelt, it burnt; or it is in letters that nothing is known of."""
    said = f"{incident.what}; {incident.note or ''}"
    return bool(unread_words(said)) or _SAY.holds("of what is breathed", said) or says_soiled(said)


def is_opened(book: Book, bank: Bank, entry: BankHeld, today: dt.date) -> bool:
    """Whether a bank was sampled well since it was set aside, or emptied and raised from a source
    that is good since. Where what failed stays behind in a vessel, it was cleaned before that."""
    station, judge = book.station, air_judge(book)
    if station is None:
        return False
    if _is_looked_over(book, bank, entry, today) or _is_analysed(book, bank, entry, today):
        return True
    failed = [t for t in failures_by(book, entry.on) if _touches(station, t, bank)]
    own = frozenset({bank.name.casefold()})
    for test in that_stand(station.air_tests):
        later = all(is_after(test, t) or not sampled_at(station, t) & own for t in failed)
        since = entry.on <= test.on <= today and later
        # one of its own day, where nothing failed, may have been drawn before it was set aside
        since = since and (bool(failed) or test.on > entry.on)
        if since and sampled_at(station, test) == own and is_good(judge, station, test, failed):
            return True
    is_now = book.known_on is None or book.known_on <= today
    air = air_of(book if is_now else book.as_known_on(today), bank)
    soiled = soils(book, failed) or says_soiled(entry.why)
    if soiled and not is_cleaned(book, bank, entry.on, air.emptied, at=entry.at):
        return False
    emptied, origins = air.emptied is not None and air.emptied >= entry.on, air.origins
    return emptied and bool(origins) and all(_is_good(book, o, entry.on, failed) for o in origins)


def is_cleaned(
    book: Book,
    bank: Bank,
    after: dt.date,
    emptied: dt.date | None,
    *,
    at: dt.time | None = None,
) -> bool:
    """Whether a bank was opened and cleaned by somebody who may, after what soiled it, and was
    empty then, or later.

    Args:
        book: the records.
        bank: the bank.
        after: the last day on which something soiled it, or it was set aside.
        emptied: the day on which it was last read empty.
        at: the time of that day, where it is known; without it a cleaning of that day counts with
            its hour, where nothing is on record of the bank that day that was not before it.
    """
    return emptied is not None and any(
        each.on <= emptied
        and (each.on > after or (each.on == after and _is_after(bank, each, at)))
        and not why_not_cleaned(book, each)
        for each in that_stand(bank.cleaned)
    )


def _is_after(bank: Bank, cleaned: BankCleaned, at: dt.time | None) -> bool:
    """Whether a bank was cleaned on a day after a time of it, else after all that it was raised or
    read fuller that day."""
    then = cleaned.at
    if then is None or at is not None:
        return then is not None and at is not None and then > at
    full = [r.at for r in that_stand(bank.raised) if r.on == cleaned.on]
    full += [
        r.at for r in that_stand(bank.readings) if r.on == cleaned.on and not is_empty(r.pressure)
    ]
    return bool(full) and all(each is not None and each < then for each in full)


def why_not_cleaned(book: Book, entry: BankCleaned) -> str:
    """Why a cleaning of a bank counts for nothing, or an empty text: nobody, or nobody certified
    where that is kept, says that they did it."""
    people = book.settings.people
    if not entry.by or names_nobody(entry.by):
        return "nobody says that they cleaned it"
    if not are_kept(people, Skill.O2_CLEANER) or is_outside(people, entry.by):
        return ""
    return why_not(people, entry.by, Skill.O2_CLEANER, entry.on)


def _is_good(book: Book, origin: BankOrigin, held: dt.date, failed: list[AirTest]) -> bool:
    """Whether gas was pumped after a bank was set aside, from a source that was good since; or lay
    in another bank when that was sampled well since."""
    station, judge = book.station, air_judge(book)
    if station is None:
        return False
    tests = that_stand(station.air_tests)
    if any(
        came < test.on < left
        and held <= test.on
        and sampled_at(station, test) == {name}
        and is_good(judge, station, test, failed)
        for name, came, left in origin.stays
        for test in tests
    ):
        return True
    if origin.since is None or origin.since < held:
        return False
    named = frozenset[str]().union(*(parts_named(station, n) for n in taken_here(origin.source)))
    if by_others(origin.source) and not named:
        return True
    own = own_names(station) or frozenset({""})
    sources = named & (sources_of(station) | own) or own
    return all(
        any(
            held <= test.on
            and drawn(test).last <= origin.begun
            and all(is_after(test, t) for t in failed)
            and sampled_at(station, test) == {source}
            and is_good(judge, station, test, failed)
            for test in tests
        )
        for source in sources
    )


def is_good(judge: AirJudge, station: Station, test: AirTest, failed: list[AirTest]) -> bool:
    """Whether a sample passed, and measured well all that others failed on."""
    return judge.opens(station, test) and all(answers(judge, station, test, t) for t in failed)


def answers(judge: AirJudge, station: Station, test: AirTest, failed: AirTest) -> bool:
    """Whether a sample, had it been drawn where another failed, and later, would answer that. What
    passed at that place meanwhile asks no less of what was drawn elsewhere. A blend has the oxygen
    that was added to it: by its own limits that was judged already."""
    wrong = judge.may_have_failed_on(failed)
    by_its_standard = judge.over(replace(test, standard=failed.standard or test.standard))
    still = {text.split(" ")[0] for text in by_its_standard}
    if not wrong <= measured_in(test) or wrong & still:
        return False
    next_day = failed.on + dt.timedelta(days=1)
    there = replace(test, source_=failed.source_, on=max(test.on, next_day))
    return replace(judge, of_blend=judge.is_of_blend(test)).opens(station, there)


def failures_by(book: Book, on: dt.date) -> list[AirTest]:
    """The tests that had failed by a day, and that nothing had answered before it."""
    station, judge = book.station, air_judge(book)
    if station is None:
        return []
    failed = [t for t in that_stand(station.air_tests) if t.on <= on and not judge.passes(t)]
    return [t for t in failed if (judge.answered_on(station, t) or dt.date.max) >= on]


def _touches(station: Station, test: AirTest, bank: Bank) -> bool:
    """Whether a bank may hold the air of a sample: it was drawn at it, at what fills it, or at what
    is no source."""
    own = own_names(station)
    places, sources = sampled_at(station, test), sources_of(station) | own
    mine = {bank.name.casefold(), *own}
    return bool(places & mine) or not places & sources


def failed_on(judge: AirJudge, test: AirTest) -> frozenset[str]:
    """What a test failed on; none where it does not say."""
    return judge.failed_on(test)


def says_soiled(why: str) -> bool:
    """Whether it is said of a recall that it was for what stays behind, sampled or not."""
    return _SAY.holds("left behind", why)


def soils(book: Book, failed: list[AirTest]) -> bool:
    """Whether any of these tests failed on what stays behind, or fails and does not say on what."""
    judge = air_judge(book)
    found = [failed_on(judge, test) for test in failed]
    unsaid = any(
        not each and test.result is TestResult.FAIL
        for each, test in zip(found, failed, strict=True)
    )
    return unsaid or any(each & SOILS for each in found)
