"""Carbon monoxide at the station: what sounded, what answers that, and what a reading proves.

A reading proves something where its instrument was held to a known gas before it, and showed that;
where it failed at the next such test, whatever it read between them proves nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import groupby

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import stays_with_owner
from tankbook.records.kinds import is_empty
from tankbook.records.naming import named_among
from tankbook.records.rulerow import AirLimits, Obligation
from tankbook.records.station import (
    COMPRESSOR,
    Bank,
    Checked,
    CoReading,
    Filter,
    FilterChange,
    Instrument,
    Station,
    that_stand,
)
from tankbook.records.words import (
    CoCause,
    CoPlace,
    InstrumentKind,
    Isolator,
    LogAct,
    Skill,
    TestResult,
    UpkeepKind,
)
from tankbook.rules.air import (
    air_judge,
    by_others,
    counting_air_tests,
    own_names,
    parts_named,
    taken_here,
)
from tankbook.rules.bank_air import pumped
from tankbook.rules.figures import BUMP_SOUNDS
from tankbook.rules.fill_history import lines_into, local_time
from tankbook.rules.inforce import InForce, rules_of
from tankbook.rules.mended import unmended
from tankbook.rules.signing import why_not
from tankbook.rules.wording import (
    names_cause,
    names_intake,
    says_no_cause,
    says_only_looked,
    says_shows_little,
)
from tankbook.units import Concentration, PartialDate, Period


class CoAlarm(Struct, frozen=True):
    """A carbon monoxide alarm, or a reading over the limit, which is as much.

    Attributes:
        reading: what sounded, or was read.
        pumps: the compressors that it may be of, by their names in small letters: all where it does
            not say; none where the station has none.
        answer: the reading that answered it; None while nothing does.
        wanting: why the last reading since does not; empty where there is none.
        held: of one that is answered why it holds what was filled before that; empty of a false
            one, as which records show it.
    """

    reading: CoReading
    pumps: frozenset[str]
    answer: CoReading | None = None
    wanting: str = ""
    held: str = ""

    @property
    def false(self) -> bool:
        """Whether it is answered, and records show that the air was good as it sounded: nothing is
        suspect for it."""
        return self.answer is not None and not self.held


SAYS_CAUSE = "--place outlet --kind KIND --cause WHAT --done WHAT"
"""The options of a reading that answers an alarm, as they are told."""


# --- in what order


def moment_of(reading: CoReading) -> dt.datetime:
    """When it was read; the beginning of its day where nobody says at what time."""
    return dt.datetime.combine(reading.on, reading.at or dt.time.min)


def ended_by(reading: CoReading) -> dt.datetime:
    """The first moment that was surely not before a reading: its own, or the end of its day."""
    if reading.at is not None or reading.on == dt.date.max:
        return moment_of(reading)
    return moment_of(reading) + dt.timedelta(days=1)


def follows(readings: Sequence[CoReading], later: CoReading, earlier: CoReading) -> bool:
    """Whether one reading came after another: of one day by their hours, else as they were entered
    (`readings`: those that stand, oldest first)."""
    if later.on != earlier.on:
        return later.on > earlier.on
    if later.at is not None and earlier.at is not None and later.at != earlier.at:
        return later.at > earlier.at
    ids = [id(each) for each in readings]
    return ids.index(id(later)) > ids.index(id(earlier))


def bumps_in_order(bumped: Sequence[Checked]) -> list[Checked]:
    """The bump tests that stand, oldest first: those of a day by their hours where all have one,
    else as they were entered."""
    found: list[Checked] = []
    for _, of_day in groupby(that_stand(bumped), key=lambda c: c.on):
        day = [*of_day]
        timed = all(c.at is not None for c in day)
        found += sorted(day, key=lambda c: c.at or dt.time.min) if timed else day
    return found


# --- what a reading is of, and proves


def most_co(book: Book, each: CoReading) -> Concentration | None:
    """The limit of the standard that the station's air is tested to, or the lowest limit of all
    where it is tested to none; None where none is given in the unit of the reading."""
    if each.co is None:
        return None
    limits = (limit.co_beside(each.co) for limit in _limits(book))
    known = [most for most in limits if most is not None and most.unit == each.co.unit]
    return min(known, default=None)


@once_per_book
def _limits(book: Book) -> tuple[AirLimits, ...]:
    """The limits that readings of the station are held to."""
    judge = air_judge(book)
    tests = counting_air_tests(book.station) if book.station else ()
    named = {t.standard for t in tests if t.standard}
    return tuple(
        row.limits
        for standard in (*(judge.breathed_by(named) or judge.standards), None)
        for row in judge.rows(standard)
        if row.limits is not None
    )


def is_over(book: Book, each: CoReading) -> bool:
    """Whether it sounded, or showed more than its limit, or nobody knows that it did not."""
    most = most_co(book, each)
    return each.alarm or (each.co is not None and (most is None or each.co > most))


def bank_read(station: Station, each: CoReading) -> Bank | None:
    """The bank whose gas was read."""
    name = (each.of or "").casefold()
    return next((b for b in station.banks if b.name.casefold() == name), None)


def is_of_shut_set(book: Book, each: CoReading) -> bool:
    """Whether what was read is a set whose isolator is shut: its sides may hold different gas."""
    name = (each.of or "").casefold()
    groups = (group for id_, group in book.every_set.items() if id_.casefold() == name)
    return any(group.isolator is Isolator.SHUT for group in groups)


@once_per_book
def cylinders_read(book: Book, each: CoReading) -> tuple[str, ...]:
    """The cylinders whose gas was read: one, or those of a set."""
    name, station = (each.of or "").casefold(), book.station
    if not name or station is None or bank_read(station, each) is not None:
        return ()
    if parts_named(station, name) & own_names(station):
        return ()
    group = next((s for id_, s in book.every_set.items() if id_.casefold() == name), None)
    if group is not None:
        return group.cylinders
    found = (c.id for c in book.cylinders.values() if name in _called(c.id, c.formerly))
    return tuple(found)


def _called(id_: str, formerly: Sequence[str]) -> set[str]:
    return {id_.casefold(), *(name.casefold() for name in formerly)}


def pumps_read(station: Station, each: CoReading) -> frozenset[str]:
    """The compressors that a reading may be of, by their names in small letters."""
    own = own_names(station)
    return (parts_named(station, each.of or "") & own) or own


def is_of_store(book: Book, station: Station, each: CoReading) -> bool:
    """Whether it was of the gas in a bank or a cylinder, and not of what a compressor gives."""
    return bank_read(station, each) is not None or bool(cylinders_read(book, each))


def unproved(station: Station, each: CoReading, rules: InForce) -> str:
    """Why a reading proves nothing: its instrument had not passed a bump test before it, or failed
    the next one; empty where it proves what it shows."""
    monitors = [i for i in station.instruments if i.kind is InstrumentKind.CO_MONITOR]
    used = next((i for i in monitors if i.name.casefold() == (each.with_ or "").casefold()), None)
    if used is None:
        return "names no CO monitor of the station"
    bumps = bumps_in_order(used.bumped)
    tied = [c for c in bumps if c.on == each.on and (c.at is None or each.at is None)]
    before = [c for c in bumps if c.on < each.on or _is_before(c, each)]
    # those of the day that passed say the same before it or after it
    known = {id(c) for c in (*before, *tied)}
    held = [c for c in bumps if id(c) in known]
    if not held or held[-1].result is TestResult.FAIL:
        later = any(c.on == each.on and id(c) not in known for c in bumps)
        came = " before it" if later else ""
        return f"was taken with {used.name}, which no bump test passed{came}"
    if (open_ := unmended(held)) is not None:
        return f"was taken with {used.name}, which failed on {open_.on} and was not repaired"
    grave = any(c.result is TestResult.FAIL or c.repaired for c in tied)
    if grave or (tied and unmended(before) is not None):
        place = f" {SAYS_CAUSE}" if each.place is CoPlace.OUTLET else ""
        place = f" --of {each.of}" if each.of else place
        return (
            f"was taken with {used.name} on the day on which that failed or was repaired, and"
            f" nobody says which was first: read again, `tankbook station co CO --with {used.name}"
            f"{place} --at HH:MM`, after `tankbook station bump {used.name} --at HH:MM`"
        )
    after = [c for c in bumps if id(c) not in known]
    if after and after[0].result is TestResult.FAIL:
        return f"was taken with {used.name}, which failed its next bump test, on {after[0].on}"
    rows = rules.rows[Obligation.CO_ALARM]
    periods = [r.period for r in rows if isinstance(r.period, Period)]
    lasts = [PartialDate.of(held[-1].on).plus(period).last for period in periods]
    if not lasts or min(lasts) < each.on:
        return f"was taken with {used.name}, last bump-tested {held[-1].on}"
    return ""


def _is_before(check: Checked, each: CoReading) -> bool:
    timed = check.at is not None and each.at is not None
    return check.on == each.on and timed and (check.at or dt.time.max) <= (each.at or dt.time.min)


@once_per_book
def proves(book: Book, each: CoReading) -> bool:
    """Whether a reading within its limit is of an instrument that was proved before it."""
    station = book.station
    if station is None or each.co is None or is_over(book, each):
        return False
    return not unproved(station, each, rules_of(book))


def good_before(book: Book, alarm: CoReading, pumps: frozenset[str]) -> CoReading | None:
    """The last reading before an alarm that says that what some compressors gave was good, by their
    names in small letters; none that was entered after the alarm: it lets nothing go that is held.
    """
    station = book.station
    readings = that_stand(station.co_readings) if station else ()
    entered = [id(each) for each in station.co_readings] if station else []
    before = set(entered[: entered.index(id(alarm))] if id(alarm) in entered else entered)
    found: CoReading | None = None
    for each in reversed(readings):
        if station is None or (found is not None and each.on < found.on):
            break
        of_it = each.place is CoPlace.OUTLET and pumps_read(station, each) >= pumps
        stored = bool(station.every_compressor) and is_of_store(book, station, each)
        good = of_it and not stored and id(each) in before and follows(readings, alarm, each)
        newer = found is None or follows(readings, each, found)
        if good and newer and proves(book, each):
            found = each
    return found


# --- what sounded, and what answers it


@once_per_book
def co_alarms(book: Book) -> tuple[CoAlarm, ...]:
    """Every alarm, and reading over the limit, that stands, oldest first, answered or not. What a
    bank or a cylinder shows that holds gas of an alarm already is none; nor what one shows that was
    filled elsewhere: that cylinder is held for it, and nothing else."""
    station, found = book.station, list[CoAlarm]()
    readings = that_stand(station.co_readings) if station else ()
    for each in readings:
        if station is None or not is_over(book, each):
            continue
        if not each.alarm and _is_of_known(book, station, each, found):
            continue
        if not each.alarm and _is_of_others(book, each):
            continue
        found.append(_answered(book, station, readings, each))
    return tuple(found)


def alarms_by(book: Book, on: dt.date) -> tuple[CoReading, ...]:
    """What had sounded by a day, and nothing had answered before it."""
    return tuple(
        a.reading
        for a in co_alarms(book)
        if a.reading.on <= on and (a.answer is None or a.answer.on >= on)
    )


@once_per_book
def false_alarms(book: Book) -> frozenset[int]:
    """The readings of false alarms, by their identity in this book."""
    return frozenset(id(a.reading) for a in co_alarms(book) if a.false)


def _is_of_known(book: Book, station: Station, each: CoReading, known: Sequence[CoAlarm]) -> bool:
    """Whether a reading is of a bank or a cylinder that took no gas since an alarm was answered."""
    bank, ids = bank_read(station, each), cylinders_read(book, each)
    if not known or (bank is None and not ids):
        return False
    answer = known[-1].answer
    if answer is None:
        return True
    if bank is not None:
        return all(p.on < answer.on for p in pumped(bank))
    fills = (n for id_ in ids for n in lines_into(book, id_) if n.act is LogAct.FILL)
    return all(local_time(n.at) < ended_by(answer) for n in fills)


def _is_of_others(book: Book, each: CoReading) -> bool:
    """Whether a reading is of cylinders that others alone filled since they were last empty, by the
    log; or of a customer's own, into which nothing is logged."""
    ids = cylinders_read(book, each)
    return bool(ids) and all(_filled_by_others(book, id_, ended_by(each)) for id_ in ids)


def _filled_by_others(book: Book, id_: str, until: dt.datetime) -> bool:
    fills, card = list[str](), book.cylinders.get(id_)
    for line in lines_into(book, id_):
        if local_time(line.at) >= until:
            break
        fills = [] if is_empty(line.from_) else fills
        fills += [line.source_ or ""] if line.act is LogAct.FILL else []
        fills = [] if is_empty(line.to) else fills
    if not fills:
        return card is not None and stays_with_owner(card)
    return all(by_others(source) and not taken_here(source) for source in fills)


def _answered(
    book: Book, station: Station, readings: Sequence[CoReading], alarm: CoReading
) -> CoAlarm:
    """An alarm with what answers it: a reading of all that it may be of, or several of each."""
    pumps, wanting = pumps_read(station, alarm), ""
    if alarm.co is not None and most_co(book, alarm) is None:
        wanting = f"no limit is given in {alarm.co.unit}"
    left = set(pumps)
    # as they were entered: one that is dated back makes no earlier end of what is held
    for each in (r for r in station.co_readings if r.void is None):
        if not follows(readings, each, alarm):
            continue
        if is_over(book, each):
            continue  # it is told of itself
        if is_of_store(book, station, each) and each.cause is None:
            continue  # what is held is analysed meanwhile
        why = _does_not_answer(book, station, each, alarm)
        left -= set() if why else pumps_read(station, each)
        if not why and not left:
            return CoAlarm(alarm, pumps, each, held=_why_held(book, station, alarm, each))
        names = ", ".join(c.name or "" for c in station.every_compressor if _is(c.name, left))
        why = why or f"was not of {names}, which the alarm may be of"
        wanting = f"the reading since {why}"
    return CoAlarm(alarm, pumps, None, wanting)


def _is(name: str | None, among: set[str]) -> bool:
    return (name or "").casefold() in among


def _does_not_answer(book: Book, station: Station, each: CoReading, alarm: CoReading) -> str:
    """Why a reading does not answer an alarm; empty where it does."""
    if each.co is None:
        return "gives no value"
    if wanting := _cause_wanting(book, station, each, alarm):
        return wanting
    if each.place is not CoPlace.OUTLET:
        return "was not taken at the outlet"
    if station.every_compressor and is_of_store(book, station, each):
        return f"was of {each.of}, and says nothing of what the compressor gives"
    return unproved(station, each, rules_of(book))


def _cause_wanting(book: Book, station: Station, each: CoReading, alarm: CoReading) -> str:
    """What the cause that a reading names is wanting; empty where it is a cause, and what each of
    its kind has to show for itself is on record."""
    if not each.cause or says_no_cause(each.cause):
        return "names no cause"
    if each.kind is None:
        when = named_among(station.co_readings, each)
        line = f"say it, `tankbook correct station co-readings {when} --set kind=KIND --why WHY`"
        line += f" ({', '.join(CoCause)}); or read again"
        text = f"does not say of what kind its cause is ({each.cause}): {line}"
        return "" if names_cause(each.cause) else text
    days = (alarm.on, each.on)
    match each.kind:
        case CoCause.FILTER:
            changed = [c for f in _filters_of(station, alarm) for c in that_stand(f.changed)]
            if not any(_is_changed_since(c, alarm, each) for c in changed):
                line = f"`tankbook station filter NAME --at HOURS --on {alarm.on} --hour HH:MM`"
                return f"lays it to a filter, and none was changed since, by its hour: {line}"
        case CoCause.INSTRUMENT:
            found = (_found_wrong(i, *days) for i in _monitors(station, alarm))
            if not any(found):
                line = "`tankbook station bump NAME --fail WHY`, or --repaired WHAT"
                return f"lays it to the instrument, and no bump test or repair shows that: {line}"
        case CoCause.TEST_GAS:
            bumps = (c for i in _monitors(station, alarm) for c in that_stand(i.bumped))
            if not any(c.on == alarm.on for c in bumps):
                line = f"`tankbook station bump NAME --on {alarm.on}`"
                return f"lays it to test gas, and no bump test of {alarm.on} is on record: {line}"
        case _ if not each.done or says_only_looked(each.done):
            return "does not say what was done about its cause (--done WHAT)"
        case CoCause.INTAKE | CoCause.COMPRESSOR | CoCause.OTHER as kind:
            why = why_not(book.settings.people, each.by or "", Skill.INSPECTOR, each.on)
            if why and not _is_seen_to(station, kind, alarm, each):
                return f"{_SEEN_TO[kind]}: {why}"
    return ""


_UPKEEP = {
    CoCause.INTAKE: {UpkeepKind.INTAKE},
    CoCause.COMPRESSOR: {UpkeepKind.OIL, UpkeepKind.BELTS, UpkeepKind.OTHER},
}
"""The upkeep of a compressor that is on record as an act about a cause of some kind."""

_SEEN_TO = {
    CoCause.INTAKE: "lays it to the intake, which takes an intake check since, on record (`tankbook"
    " station upkeep NAME`, or `tankbook station open` by a list that names the intake or the"
    " wind), or that somebody certified says what was done",
    CoCause.COMPRESSOR: "lays it to the compressor, which takes service or repair since, on record"
    " (`tankbook station upkeep NAME`), or that somebody certified says what was done",
    CoCause.OTHER: "names a cause of another kind, and somebody certified says that",
}


def _is_seen_to(station: Station, kind: CoCause, alarm: CoReading, each: CoReading) -> bool:
    """Whether an act about the cause of an alarm is on record, from it to the reading that names
    that: upkeep of what it may be of or, of the intake, a list that looks at it walked through."""
    pumps = pumps_read(station, alarm)
    for part in station.upkeep:
        made = station.compressor_called(part.of) if part.of else None
        of_it = made is None or (made.name or COMPRESSOR).casefold() in pumps
        if part.what in _UPKEEP.get(kind, ()) and of_it and (made is not None or not part.of):
            done = (d for d in that_stand(part.done) if d.result is TestResult.PASS and d.by)
            if any(alarm.on <= d.on <= each.on for d in done):
                return True
    list_ = station.opening
    if kind is not CoCause.INTAKE or not list_ or not any(map(names_intake, list_.steps)):
        return False
    return any(
        moment_of(alarm) < dt.datetime.combine(walk.on, walk.at or dt.time.min) <= ended_by(each)
        for walk in that_stand(list_.done)
        if walk.result is TestResult.PASS and walk.by and walk.on <= each.on
    )


def _why_held(book: Book, station: Station, alarm: CoReading, answer: CoReading) -> str:
    """Why an alarm that is answered holds what was filled; empty where records show that it was of
    no air: its monitor was being bump-tested; or that failed, and the gas of every compressor was
    read well, and proved, on the day of the alarm and before anything was done to what changes the
    air. What was read of a bank's or a cylinder's gas is told of that."""
    monitors = _monitors(station, alarm)
    if answer.kind not in {CoCause.INSTRUMENT, CoCause.TEST_GAS}:
        return "there was bad air"
    if is_of_store(book, station, alarm):
        return f"it was of the gas in {alarm.of}"
    if len(monitors) != 1:
        return "the alarm does not say which monitor sounded"
    used = monitors[0]
    if answer.kind is CoCause.TEST_GAS:
        near = any(_sounds_of(c, alarm) for c in that_stand(used.bumped))
        minutes = BUMP_SOUNDS // dt.timedelta(minutes=1)
        text = f"no bump test of {used.name} is on record with its hour within {minutes} minutes of"
        return "" if near else f"{text} the alarm's own"
    if not _sounds_wrongly(used, alarm, answer):
        return f"{used.name} did not fail its next bump test by sounding of what is not there"
    if unread := unread_that_day(book, alarm):
        return f"no proved reading of {alarm.on}, after it, is of {' and '.join(sorted(unread))}"
    changed = changed_that_day(station, alarm)
    return f"a filter or the compressor was seen to on {alarm.on}" if changed else ""


def _sounds_of(bump: Checked, alarm: CoReading) -> bool:
    """Whether an alarm was of the gas of a bump test: by the hours of both."""
    if bump.on != alarm.on or bump.at is None or alarm.at is None:
        return False
    apart = dt.datetime.combine(bump.on, bump.at) - moment_of(alarm)
    return abs(apart) <= BUMP_SOUNDS


def _sounds_wrongly(used: Instrument, alarm: CoReading, answer: CoReading) -> bool:
    """Whether a monitor failed its first bump test after an alarm, or had failed before it, and by
    no word of that is dead or shows too little: such a one does not sound of good air."""
    bumps = [c for c in bumps_in_order(used.bumped) if c.on <= answer.on]
    before = [c for c in bumps if c.on < alarm.on or _is_before(c, alarm)]
    after = [c for c in bumps if not any(c is each for each in before)]
    first = [c for c in after[:1] if c.result is TestResult.FAIL]
    failed = unmended(before) or next(iter(first), None)
    return failed is not None and not says_shows_little(failed.note or "")


def unread_that_day(book: Book, alarm: CoReading) -> frozenset[str]:
    """The compressors that an alarm may be of, by their names in small letters, whose gas no proved
    reading within the limit was of, at the outlet, on the day of the alarm and after it."""
    station = book.station
    readings = that_stand(station.co_readings) if station else ()
    if station is None:
        return frozenset()
    left = set(pumps_read(station, alarm))
    own = bool(left)
    for each in readings:
        of_it = each.on == alarm.on and each.place is CoPlace.OUTLET
        if not of_it or each is alarm or not follows(readings, each, alarm):
            continue
        if is_over(book, each):
            break  # whatever was read after that, the air was not good all that day
        if not (own and is_of_store(book, station, each)) and proves(book, each):
            left -= pumps_read(station, each)
            if not left:
                return frozenset()
    return frozenset(left or {COMPRESSOR})


_CHANGES_AIR = {UpkeepKind.OIL, UpkeepKind.INTAKE, UpkeepKind.OTHER}
"""Upkeep of a compressor after which its air may be another."""


def changed_that_day(station: Station, alarm: CoReading) -> bool:
    """Whether a filter was changed on the day of an alarm, or a compressor looked after: nobody
    knows that the air was read before that."""
    changed = [c.on for f in _filters_of(station, alarm) for c in that_stand(f.changed)]
    looked = (u for u in station.upkeep if u.what in _CHANGES_AIR)
    return alarm.on in {*changed, *(d.on for u in looked for d in that_stand(u.done))}


def _is_changed_since(change: FilterChange, alarm: CoReading, answer: CoReading) -> bool:
    """Whether a filter was changed after an alarm, and not after what answers it: of their days by
    the hours. One whose hour nobody says may have been that which let the gas through; of an alarm
    whose hour nobody says, no change of its day is known to be later that says none."""
    if not alarm.on <= change.on <= answer.on:
        return False
    if change.on == alarm.on and (change.hour is None or change.hour < (alarm.at or dt.time.min)):
        return False
    return not (
        change.on == answer.on
        and change.hour is not None
        and answer.at is not None
        and change.hour > answer.at
    )


def _filters_of(station: Station, alarm: CoReading) -> list[Filter]:
    """The filters behind what an alarm may be of."""
    pumps = pumps_read(station, alarm)
    return [
        f
        for f in station.filters
        if (made := station.compressor_called(f.of) if f.of else None) is None
        or (made.name or COMPRESSOR).casefold() in pumps
    ]


def _monitors(station: Station, alarm: CoReading) -> list[Instrument]:
    """The monitors that may have sounded: the one that an alarm names, else all."""
    every = [i for i in station.instruments if i.kind is InstrumentKind.CO_MONITOR]
    named = [i for i in every if i.name.casefold() == (alarm.with_ or "").casefold()]
    return named or every


def _found_wrong(monitor: Instrument, first: dt.date, last: dt.date) -> bool:
    """Whether a monitor failed a bump test from one day to another, or was repaired; or had failed
    before them, and was not repaired by then."""
    bumps = bumps_in_order(monitor.bumped)
    failed = any(
        first <= c.on <= last and (c.result is TestResult.FAIL or c.repaired) for c in bumps
    )
    return failed or unmended([c for c in bumps if c.on < first]) is not None


# --- the gas in a bank or a cylinder


def analysed_well(
    book: Book, alarm: CoReading, *, bank: str = "", cylinder: str = ""
) -> Iterator[CoReading]:
    """The readings of the gas in a bank, or in a cylinder, that came after an alarm, are within the
    limit, and prove it; none that another one over the limit speaks against: a later one, or one
    before it that was proved, since gas does not get better as it lies."""
    station = book.station
    readings = that_stand(station.co_readings) if station else ()
    mine = [each for each in readings if _is_read(book, each, bank, cylinder)]
    over = [each for each in mine if station is not None and is_over(book, each)]
    for each in mine:
        if each is alarm or not follows(readings, each, alarm) or not proves(book, each):
            continue
        if cylinder and is_of_shut_set(book, each):
            continue  # of one side, and nobody says which
        if not any(_speaks_against(book, readings, o, each) for o in over):
            yield each


def _speaks_against(
    book: Book, readings: Sequence[CoReading], over: CoReading, good: CoReading
) -> bool:
    """Whether a reading over the limit leaves nothing of one within it, of the same gas."""
    station = book.station
    if station is None or follows(readings, over, good):
        return True
    bank = bank_read(station, over)
    if bank is not None:
        empty = (r for r in that_stand(bank.readings) if is_empty(r.pressure))
        emptied = any(ended_by(over).date() <= r.on <= good.on for r in empty)
    else:
        emptied = any(_was_emptied(book, id_, over, good) for id_ in cylinders_read(book, over))
    return not emptied and not unproved(station, over, rules_of(book))


def _was_emptied(book: Book, id_: str, over: CoReading, good: CoReading) -> bool:
    """Whether a cylinder was empty between two readings of it."""
    lines = (n for n in lines_into(book, id_) if is_empty(n.to) or is_empty(n.from_))
    return any(moment_of(over) <= local_time(n.at) < ended_by(good) for n in lines)


@once_per_book
def over_in(book: Book, name: str) -> tuple[CoReading, ...]:
    """The readings of the gas in a bank or a cylinder itself that are over the limit, oldest
    first."""
    station = book.station
    return tuple(
        each
        for each in (that_stand(station.co_readings) if station else ())
        if station is not None
        and is_over(book, each)
        and (_is_read(book, each, name, "") or _is_read(book, each, "", name))
    )


def _is_read(book: Book, each: CoReading, bank: str, cylinder: str) -> bool:
    station = book.station
    if station is None or not each.of:
        return False
    if bank:
        read = bank_read(station, each)
        return read is not None and read.name.casefold() == bank.casefold()
    return cylinder in cylinders_read(book, each)


def analyses_co(book: Book, name: str) -> str:
    """The command that records an analysis of the gas in a bank or a cylinder for carbon monoxide,
    as it is told."""
    station = book.station
    instruments = station.instruments if station else ()
    monitors = [i.name for i in instruments if i.kind is InstrumentKind.CO_MONITOR]
    used = monitors[0] if len(monitors) == 1 else "INSTRUMENT"
    return (
        f"`tankbook station bump {used}`, then `tankbook station co CO --with {used} --of {name}`"
    )
