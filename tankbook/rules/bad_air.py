"""Gas that a cylinder still holds from a source whose air was bad when it was filled."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import cache, partial

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Cleaned, Held, Inspected, standing
from tankbook.records.kinds import is_empty
from tankbook.records.log import Lines, LogLine
from tankbook.records.naming import named_among
from tankbook.records.station import (
    COMPRESSOR,
    AirTest,
    Bank,
    CoReading,
    Raised,
    Reading,
    Station,
    that_stand,
)
from tankbook.records.words import LogAct, Service
from tankbook.rules.air import (
    CO,
    NEVER,
    AirJudge,
    Drawn,
    air_judge,
    by_others,
    day_of,
    drawn,
    every_label,
    names_parts_alone,
    own_names,
    parts_named,
    sampled_at,
    sources_of,
    speaks_of,
    taken_here,
    unfed,
)
from tankbook.rules.bank_air import (
    BankOrigin,
    air_of,
    given_by,
    may_be_of,
    may_hold,
    pumped,
    rises_unrecorded,
)
from tankbook.rules.bank_held import (
    failed_on,
    failures_by,
    is_cleaned,
    is_good,
    recalled_then,
    says_soiled,
    soils,
)
from tankbook.rules.carbon_monoxide import (
    CoAlarm,
    alarms_by,
    analysed_well,
    analyses_co,
    bank_read,
    co_alarms,
    ended_by,
    false_alarms,
    good_before,
    is_over,
    moment_of,
    over_in,
)
from tankbook.rules.fill_history import (
    bled_at,
    carried_into,
    contents_of,
    is_taken_for_full,
    lines_held,
    lines_into,
    local_time,
    looks_inside,
    names_in_log,
    places_of,
    rises_among,
    unsaid_bled,
    void_key,
)
from tankbook.rules.services import has_no_air
from tankbook.units import PartialDate, time_of_day
from tankbook.units.patterns import pattern

Bad = AirTest | CoReading
"""What tells that air was bad: a sample that failed, or a carbon monoxide alarm."""


class Unwritten(Struct, frozen=True):
    """That a bank was pumped somewhere from a day to another, by what it was read at or gave, and
    nobody wrote down when or from what."""

    bank: str
    since: dt.date
    on: dt.date

    @property
    def said(self) -> str:
        """It as a clause."""
        when = f"on {self.on}" if self.since == self.on else f"from {self.since} to {self.on}"
        return (
            f"by what it was read at or gave {self.bank} was pumped {when}, and nobody wrote down"
            " when or from what"
        )

    @property
    def mend(self) -> str:
        """The entry that says it, as a command."""
        line = f"tankbook station raise {self.bank} --to PRESSURE --source NAME --on DATE"
        return f"write down when {self.bank} was raised, and from what: `{line} --at HH:MM`"


class BadAir(Struct, frozen=True):
    """Gas of a bad source that a cylinder holds.

    Attributes:
        line: the fill.
        failed: the air test that failed, or what sounded.
        certain: its gas is suspect: it came from what failed, or from what holds of that by its
            records, or from what is not said, in all the time that the sample or the alarm speaks
            of. Else it came by way of what need not have held any of that.
        unsaid: the fill does not name a source of the station's, nor that it was filled elsewhere.
        topped: it was filled again since, and not emptied before that.
        analysed: the command that records an analysis of it which clears it; empty of a sample that
            failed.
        stays: what was bad stays behind in a vessel that is emptied.
        part: what was filled, or what it holds, is no air: the air of the source is part of it.
        emptied: the gas is gone, and what it left behind is not: nobody looked inside and cleaned.
        unbled: commands that say how it was bled for work inside it since, where nobody does.
        hours: the command that says at what hour the sample of its day was drawn, where that is not
            known and what is in doubt may be so for that.
        unwritten: the pumping of its bank that nobody wrote down, where it is that alone which may
            have been bad.
    """

    line: LogLine
    failed: Bad
    certain: bool
    unsaid: bool = False
    topped: bool = False
    analysed: str = ""
    stays: bool = False
    emptied: bool = False
    unbled: tuple[str, ...] = ()
    part: bool = False
    hours: str = ""
    unwritten: Unwritten | None = None

    def held_by(self, who: str = "it", still: str = "") -> str:
        """`it holds air of 2026-11-23`; of another gas `part of what it holds is air of` it."""
        day, holds = self.line.at.date(), "held" if self.emptied else f"{still}holds"
        if self.part:
            return f"part of what {who} {holds} {'was' if self.emptied else 'is'} air of {day}"
        return f"{who} {holds} air of {day}"


class _Fed(Struct, frozen=True):
    """What a fill says it came by.

    Attributes:
        parts: the parts of the station that it names.
        sources: those of them that gas comes from.
        unsaid: it leaves open what it came from, or a part of it: `C2` where there is none.
        others: it names what others filled.
        givers: the cylinders of the ledger that it names.
    """

    parts: frozenset[str]
    sources: frozenset[str]
    unsaid: bool
    others: bool
    givers: frozenset[str] = frozenset()


_GAS = pattern(r"(?:o2|oxygen|he|helium)\b.*", re.IGNORECASE)
"""How a source is called that no compressor of air fills."""


@once_per_book
def _fed(book: Book) -> Callable[[str, str], _Fed]:
    """Reads the source and the position of a fill; both are the same in many lines."""

    @cache
    def read(source: str, position: str) -> _Fed:
        if book.station is None:
            return _Fed(frozenset(), frozenset(), unsaid=True, others=False)
        named, others = taken_here(source), by_others(source)
        each = [parts_named(book.station, name) for name in named]
        parts = frozenset[str]().union(*each)
        sources = parts & _sources(book.station)
        open_fed = unfed(book.station)
        known = {name for name in named if cylinders_called(book, name)}
        strange = any(
            found & open_fed or _is_strange(book.station, name, found)
            for name, found in zip(named, each, strict=True)
            if name not in known
        )
        unsaid = strange or not (others or sources or known)
        givers = frozenset(id_ for name in known for id_ in cylinders_called(book, name))
        through = parts | parts_named(book.station, position)
        return _Fed(through, sources, unsaid, others, givers)

    return read


def leaves_open(book: Book, source: str) -> bool:
    """Whether what a fill says it came from, or a part of that, is neither a source of the station
    nor a cylinder of the ledger."""
    return book.station is None or _fed(book)(source, "").unsaid


_OTHERS = pattern(r"\s*elsewhere\s*:\s*\S", re.IGNORECASE)


def unknown_parts(book: Book, source: str) -> tuple[str, ...]:
    """The parts of a source that are none: neither a label of what gives gas here, nor a cylinder
    of the ledger, nor `elsewhere: WHERE`; an empty one where nothing stands beside a `+`. Of a
    station that lists nothing that gives gas nobody can tell."""
    station = book.station
    if station is None or not source.strip():
        return ()
    every = [b.name for b in station.banks] + [f.name for f in station.every_fed]
    labels = {name.casefold() for name in every} | own_names(station)
    labels |= {COMPRESSOR} if station.every_compressor else set()
    each = [part.strip() for part in source.split("+")]
    return tuple(
        part
        for part in each
        if not (_OTHERS.match(part) or part.casefold() in labels or cylinders_called(book, part))
        and (labels or not part or by_others(part))
    )


_LABEL = pattern(r"[^\W\d_]{1,4}[-. #]?\d+", re.IGNORECASE)
"""How the parts of a station are labelled: `B9`."""


def _is_strange(station: Station, name: str, found: frozenset[str]) -> bool:
    """Whether a name says something that is not here: nothing else, or `B9` beside what is."""
    if not found:
        return not _GAS.fullmatch(name)
    parts = sorted((each.casefold() for each in every_label(station)), key=len, reverse=True)
    rest = name.casefold()
    for part in parts:
        rest = re.sub(rf"(?<!\w){re.escape(part)}(?!\w)", " ", rest)
    words = (word for word in re.split(r"[\s,;/&()]+", rest) if _LABEL.fullmatch(word))
    return any(not parts_named(station, word) for word in words)


def _sources(station: Station) -> frozenset[str]:
    return sources_of(station) | own_names(station)


class _Spell(Struct, frozen=True):
    """From the last good test, over one that failed, to what the station took for its answer; and
    so of a carbon monoxide alarm, from the last reading that proves the air good.

    Attributes:
        failed: the test, or what sounded.
        places: where its sample was drawn.
        behind: the compressors, where that was at no source: their air was in the sample.
        cleared: when a good test of each of these itself was drawn, from which on it was not that
            air.
        banks: those that the compressor fills, unless the sample was drawn at banks alone: of one
            of several compressors those that may hold what it pumped.
        charged: of each bank, the first and the last day on which its gas is known to be of that
            compressor, pumped since the sample.
        outlets: of each place that is no source, all parts of its kind.
        since: when the last good test before it of each part was drawn: what came before it was
            good, and what came after it was not. Where nobody says at what hour that was, what is
            of its day may be either.
        until: when the test was drawn that answered it: so of what came before and after that.
        store: of an alarm of the gas in a bank, that bank, by its name in small letters.
        settled: from when it says nothing more of what nobody recorded; an alarm then says what a
            sample that failed does.
    """

    failed: Bad
    places: frozenset[str]
    behind: frozenset[str]
    cleared: Drawn
    banks: frozenset[str]
    charged: Mapping[str, tuple[tuple[dt.date, dt.date], ...]]
    outlets: tuple[frozenset[str], ...]
    since: Mapping[str, Drawn]
    until: Drawn
    store: str = ""
    settled: dt.date = dt.date.max

    @property
    def sounded(self) -> bool:
        """Whether it is of an alarm: nobody knows when in its time the air was bad."""
        return isinstance(self.failed, CoReading)

    @property
    def pumped_since(self) -> Drawn:
        """Up to when all that was pumped was good, whatever a bank was found to hold."""
        return _first(
            [on for part, on in self.since.items() if part != self.store] or self.since.values()
        )

    @property
    def spans(self) -> frozenset[Drawn]:
        """When all samples of it were drawn that say where its time begins and ends."""
        return frozenset({*self.since.values(), self.until, self.cleared})

    @property
    def all_since(self) -> Drawn:
        """Up to when all of it was good."""
        return _first(self.since.values())

    def by_answer(self, origin: BankOrigin) -> BankOrigin:
        """Gas of which nobody knows when it was pumped, as pumped before the day of the answer."""
        last = (self.until.first - dt.datetime.resolution).date()
        return origin if origin.on <= last else replace(origin, on=last, at=None)

    @property
    def ends(self) -> dt.date:
        """The first whole day that was good again."""
        whole = self.until.last == _begun(self.until.last.date())
        return self.until.last.date() + dt.timedelta(days=0 if whole else 1)

    def meets(self, when: Drawn) -> bool:
        """Whether a fill of a moment can have taken of it."""
        return self.all_since.first < when.last and when.first < self.until.last

    def taints(self, line: LogLine, by: _Fed) -> BadAir | None:
        """What a fill took of it. A source that is not said is taken for the one that failed, so
        that leaving it out never pays: but where the compressor itself passed, or the gas has no
        air in it. An outlet may be any where no other of its kind is said. Nothing is certain of
        the day of a sample that may have been drawn before it or after it."""
        when, day = logged_in(line.at), line.at.date()
        unanswered = when.last <= self.until.first
        before = not self.behind or when.last <= self.cleared.first
        held = self.places | (self.behind if before else frozenset())
        if unanswered and any(self.since[part].last < when.first for part in by.parts & held):
            return BadAir(line, self.failed, certain=True)
        if by.unsaid:
            later = unanswered and before and self.all_since.last < when.first
            certain = later and not has_no_air(line.gas)
            return BadAir(line, self.failed, certain, unsaid=True)
        cleared = bool(self.behind) and when.first >= self.cleared.last
        sure = self.places | (frozenset() if cleared else self.behind)
        may_be = any(self.since[part].first < when.last for part in by.parts & sure)
        if by.others and not by.sources and not may_be:
            return None
        charged = any(a <= day <= b for bank in by.sources for a, b in self.charged.get(bank, ()))
        if charged and unanswered:
            return BadAir(line, self.failed, certain=True)
        through = any(not by.parts & alike for alike in self.outlets)
        pumped = through or not by.sources or bool(by.sources & self.banks)
        pumped = pumped and self.pumped_since.first < when.last
        # of what a bank gave that held any of it by its records, those tell (`_stored`)
        certain = unanswered and pumped and self.pumped_since.last < when.first
        certain = certain and (self.sounded or ((through or not by.sources) and before))
        return BadAir(line, self.failed, certain) if pumped or may_be or charged else None


def _first(each: Iterable[Drawn]) -> Drawn:
    """The earliest of several, as far as is known."""
    found = [*each]
    return Drawn(min(d.first for d in found), min(d.last for d in found))


def logged_in(at: dt.datetime) -> Drawn:
    """When something was done that is logged: the whole of its day, where nobody says the hour."""
    at = local_time(at)
    return day_of(at.date()) if time_of_day(at) == dt.time.min else Drawn(at, at)


def _end_of(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time.max)


@once_per_book
def _spells(book: Book) -> tuple[_Spell, ...]:
    station = book.station
    if station is None:
        return ()
    alarms = (_spell_of(book, station, alarm) for alarm in co_alarms(book) if not alarm.false)
    return (*_spells_of(book, station), *(spell for spell in alarms if spell.since))


def _spell_of(book: Book, station: Station, alarm: CoAlarm) -> _Spell:
    """What an alarm speaks of: all that the compressors gave which it may be of, and what the banks
    gave that hold of that, since the last good sample of each, or reading at the outlet that is
    proved. At the intake and in the room it speaks of the same, as all of that is drawn in. Of a
    station without a compressor it speaks of the banks."""
    judge, sounded = air_judge(book), alarm.reading
    air = [b for b in station.banks if not holds_pure(b)]
    read = bank_read(station, sounded)
    store = read.name.casefold() if read else ""
    places = alarm.pumps or frozenset(b.name.casefold() for b in air)
    since = dict[str, Drawn]()
    for part in sorted(places):
        good = good_before(book, sounded, alarm.pumps & {part})
        each = [judge.good_before(station, part, sounded.on, {CO})]
        each += [Drawn(moment_of(good), moment_of(good))] if good else []
        since[part] = Drawn(max(d.first for d in each), max(d.last for d in each))
    begun = min((d.first.date() for d in since.values()), default=dt.date.min)
    reached = (b for b in air if may_hold(station, b, alarm.pumps, begun) or not alarm.pumps)
    until = Drawn(*[ended_by(alarm.answer)] * 2) if alarm.answer else _UNANSWERED
    banks = frozenset(b.name.casefold() for b in reached)
    if store:
        since[store] = judge.good_before(station, store, sounded.on, {CO})
        places |= {store}
    settled = _settled(
        book,
        station,
        alarm.answer.on if alarm.answer else None,
        alarm.pumps,
        lambda test: _is_without_co(book, test, sounded),
    )
    return _Spell(
        sounded, places, frozenset(), _UNANSWERED, banks, {}, (), since, until, store, settled
    )


def _settled(
    book: Book,
    station: Station,
    answered: dt.date | None,
    pumps: frozenset[str],
    is_good: Callable[[AirTest], bool],
) -> dt.date:
    """The first day on which each compressor that something bad may be of was sampled well, for
    what that was too, when the time of an air test, by every row in force, was up since the answer:
    nobody asks any more what was in a bank that was not read by then."""
    up = air_judge(book).time_up(answered) if answered else None
    if up is None:
        return dt.date.max
    later = [t for t in that_stand(station.air_tests) if t.on > up]
    good = [t for t in later if is_good(t)]
    alone = len(own_names(station)) == 1
    days = (
        min(
            (
                t.on
                for t in good
                if pump in sampled_at(station, t) and (alone or speaks_of(station, t, pump))
            ),
            default=dt.date.max,
        )
        for pump in pumps
    )
    return max(days, default=dt.date.max)


def _spells_of(book: Book, station: Station) -> Iterator[_Spell]:
    judge, tests = air_judge(book), that_stand(station.air_tests)
    good = [t for t in tests if judge.passes(t)]
    sources, banks = _sources(station), frozenset(b.name.casefold() for b in station.banks)
    for failed in (t for t in tests if t not in good):
        places = sampled_at(station, failed)
        own = own_names(station)
        behind = frozenset() if places & sources else own
        cleared = _cleared(judge, station, failed, behind)
        of = judge.may_have_failed_on(failed)
        known = {
            part: judge.good_before(station, part, failed.on, of)
            for part in sorted(places | behind)
        }
        # good air of every compressor behind an outlet is good air there
        each = _first([known[part] for part in behind] or [NEVER])
        since = {p: _later(on, each) if p in places else on for p, on in known.items()}
        reached = banks
        if places < own:  # of one of several
            begun = _first(since.values()).first.date()
            reached = frozenset(
                b.name.casefold() for b in station.banks if may_hold(station, b, places, begun)
            )
        yield _Spell(
            failed,
            places,
            behind,
            cleared,
            frozenset() if places <= banks else reached,
            {
                bank.name.casefold(): tuple(
                    _charged(station, bank, failed, cleared, good, own & (places | behind))
                )
                for bank in station.banks
                if own & (places | behind) and (bank.gas is None or bank.gas.is_air)
            },
            tuple(_alike(station, part) for part in places - sources),
            since,
            until := judge.answer(station, failed) or _UNANSWERED,
            settled=_settled(
                book,
                station,
                None if until is _UNANSWERED else until.last.date(),
                own & (places | behind),
                partial(_answers_it, book, failed),
            ),
        )


def _answers_it(book: Book, failed: AirTest, test: AirTest) -> bool:
    """Whether a test passed all that another failed on."""
    return book.station is not None and is_good(air_judge(book), book.station, test, [failed])


def _later(one: Drawn, other: Drawn) -> Drawn:
    """The later of two, as far as is known."""
    return Drawn(max(one.first, other.first), max(one.last, other.last))


def _begun(day: dt.date) -> dt.datetime:
    """The beginning of a day."""
    return dt.datetime.combine(day, dt.time.min)


_UNANSWERED = Drawn(_begun(dt.date.max), _begun(dt.date.max))
"""When that was answered which nothing answered: never."""


def _cleared(judge: AirJudge, station: Station, failed: AirTest, behind: frozenset[str]) -> Drawn:
    """When the compressor itself, and of several each, passed on all that a sample behind it
    failed on, by a sample of that day or later."""
    next_day = failed.on + dt.timedelta(days=1)
    found = []
    for name in behind:
        good = (
            drawn(t)
            for t in that_stand(station.air_tests)
            if t.on >= failed.on
            and sampled_at(station, t) == {name}
            and judge.opens(station, replace(t, source_=failed.source_, on=max(t.on, next_day)))
        )
        found.append(next(good, _UNANSWERED))
    return Drawn(max(d.first for d in found), max(d.last for d in found)) if found else _UNANSWERED


def _charged(
    station: Station,
    bank: Bank,
    failed: AirTest,
    cleared: Drawn,
    good: list[AirTest],
    pumps: frozenset[str],
) -> Iterator[tuple[dt.date, dt.date]]:
    """From when to when a bank holds what some compressors pumped after a sample failed, as
    recorded or because it was read higher than at a reading since, until a good sample of it
    alone."""
    sampled = [t.on for t in good if sampled_at(station, t) == {bank.name.casefold()}]
    for each in pumped(bank):
        from_it = not each.source or parts_named(station, each.source) & pumps
        if from_it and failed.on <= each.since and each.on < cleared.first.date():
            yield each.on, min((on for on in sampled if on > each.on), default=dt.date.max)


def _alike(station: Station, part: str) -> frozenset[str]:
    """The parts of the kind of an outlet: who names another of them did not fill through it."""
    whips = frozenset(w.name.casefold() for w in station.whips)
    positions = frozenset(p.name.casefold() for p in station.positions)
    return next((names for names in (whips, positions) if part in names), frozenset())


@once_per_book
def bad_air_of(book: Book, card: Cylinder, told_from: float | None = None) -> BadAir | None:
    """The gas of a bad source that a cylinder holds: the newest that is certain, else the newest
    that may be, topped since or not; None where it holds none, was emptied since, or was sampled
    itself since and found good. What stays behind asks for more than that (`soiled_by`).
    `told_from`: the share from which what may be is told, as `TOLD_FROM`, if not said."""
    if not (_spells(book) or over_in(book, card.id)):
        return None
    _ask_in_turn(book)
    fills = fills_since_empty(book, card)
    taken = [_left_of(book, card, line) for line in fills]
    left = _shares_left(fills)
    least = TOLD_FROM if told_from is None else told_from
    found = [
        bad
        for bad, share in zip(taken, left, strict=True)
        if bad and (bad.certain or share >= least)
    ]
    bad = next(reversed([b for b in found if b.certain] or found), None)
    over = next(_analysed_over(book, card, fills), None)
    bad = over or bad
    if (bad is None or not bad.certain) and (behind := next(soiled_by(book, card), None)):
        return replace(behind, emptied=True, part=_is_other(behind.line.gas))
    if bad is None:
        return None
    sounded = isinstance(bad.failed, CoReading) and over is None
    analysed = analyses_co(book, card.id) if sounded else ""
    topped = bool(fills) and bad.line != fills[-1]
    stays = _stays_behind(book, bad.failed)
    unbled = () if over else tuple(_says_bled(book, card, bad.line.at.date()))
    part = _is_other(bad.line.gas) or _is_other(contents_of(book, card.id).gas)
    hours = "" if bad.certain else says_hour(book, bad.line.at.date(), bad.failed)
    return replace(
        bad, topped=topped, analysed=analysed, stays=stays, unbled=unbled, part=part, hours=hours
    )


def says_hour(book: Book, day: dt.date, failed: Bad) -> str:
    """The command that says at what hour the sample of a day was drawn that proves the air of
    before something bad, or answers it, where nobody does; else an empty text."""
    of_day = {span for s in _spells(book) if s.failed == failed for span in s.spans}
    banks = book.station.banks if book.station else ()
    of_day.update(*(_good_of(book, bank.name.casefold(), failed) for bank in banks))
    tests = [t for t in that_stand(book.station.air_tests) if t.on == day] if book.station else []
    if book.station is None or day_of(day) not in of_day or all(t.at for t in tests):
        return ""
    unsaid = next(t for t in tests if t.at is None)
    which = named_among(book.station.air_tests, unsaid)
    return f"`tankbook correct station air-tests {which} --set at=HH:MM --why WHY`"


def _says_bled(book: Book, card: Cylinder, since: dt.date) -> Iterator[str]:
    """The commands that say how it was bled for work inside it, where nobody does."""
    for name, entries, entry in unsaid_bled(book, card):
        if entry.on.first >= since:
            which = f"{card.id} {name} {named_among(entries, entry)}"
            yield f"`tankbook correct {which} --set bled=heard --why WHY`"


def _is_other(gas: Gas | None) -> bool:
    return gas is not None and not gas.is_air


def soiled_by(book: Book, card: Cylinder, *, certain: bool = True) -> Iterator[BadAir]:
    """The fills that put into a cylinder what stays behind in it, such as oil, the newest first,
    unless it was looked inside and cleaned after that, or sampled itself and found good; those that
    may have as well where not `certain`."""
    if not any(_stays_behind(book, spell.failed) for spell in _spells(book)):
        return
    _ask_in_turn(book)
    cared = cared_for(book, card)
    for line in reversed(lines_into(book, card.id)):
        if _is_surely_before(line, cared):
            return
        for bad in _every_taken(book, line) if line.act is LogAct.FILL else ():
            told = bad.certain or not certain
            if told and _stays_behind(book, bad.failed) and _unless_sampled(book, card, bad):
                yield replace(bad, stays=True)


def cared_for(book: Book, card: Cylinder) -> dt.datetime:
    """When a cylinder was both looked inside and cleaned, as last: the beginning of that day where
    nobody says at what time; the beginning of all where it was not."""
    looked = (_moment(look.on, look.at) for look in looks_inside(book, card))
    cleaned = (_moment(c.on, c.at) for c in standing(card.cleaned))
    return min(max(each, default=_BEGINNING) for each in (looked, cleaned))


_BEGINNING = dt.datetime.combine(dt.date.min, dt.time.min)


def _moment(day: PartialDate, at: dt.time | None) -> dt.datetime:
    """A day and the time of it, its beginning where nobody says."""
    return dt.datetime.combine(day.first, at or dt.time.min)


def _is_surely_before(line: LogLine, moment: dt.datetime) -> bool:
    """Whether a line of the log is of before a moment: by the hours of both, where they are known,
    else of an earlier day."""
    when = local_time(line.at)
    unsaid = time_of_day(line.at) == dt.time.min
    return (_end_of(when.date()) if unsaid else when) < moment


def cleans(card: Cylinder, since: dt.date | None = None) -> str:
    """What takes out of a cylinder what stays behind in it, as commands; and, where it was cleaned
    or looked into on the day `since` of that and nobody says at what time, what says it."""
    clean = f"tankbook clean {card.id} --to {card.service or Service.AIR}"
    text = f"look inside (`tankbook inspect`) and clean it (`{clean}`)"
    lists: tuple[tuple[str, Sequence[Inspected | Cleaned]], ...] = (
        ("inspected", card.inspected),
        ("cleaned", card.cleaned),
    )
    lines = [
        f"`tankbook correct {card.id} {name} {named_among(entries, e)} --set at=HH:MM --why WHY`"
        for name, entries in lists
        for e in standing(entries)
        if since is not None and e.at is None and e.on.first == since
    ]
    if lines:
        text += (
            f"; where that was done on {since} after it, say at what time: {' and '.join(lines)}"
        )
    return text


def _analysed_over(book: Book, card: Cylinder, fills: Lines) -> Iterator[BadAir]:
    """Gas of a cylinder that itself showed carbon monoxide over the limit, by whatever instrument,
    unless a later reading that is proved says otherwise."""
    for read in reversed(over_in(book, card.id)):
        if any(analysed_well(book, read, cylinder=card.id)):
            continue
        before = [n for n in fills if local_time(n.at) < ended_by(read)]
        if before:
            yield BadAir(before[-1], read, certain=True)
        elif not _let_out_since(book, card, read):
            yield BadAir(_as_line(card, read), read, certain=True)


def _let_out_since(book: Book, card: Cylinder, read: CoReading) -> bool:
    """Whether what a cylinder held as it was read is gone: it was empty later, or at a moment of
    which nobody knows that it was before."""
    own = names_in_log(book, card.id)
    lines = (n for n in lines_into(book, card.id) if n.cylinder in own)
    empty = [local_time(n.at) for n in lines if is_empty(n.from_) or is_empty(n.to)]
    days = (*bled_at(book, card), *_back_empty(card))
    later = any(when.date() > read.on for when in days)
    return later or any(moment_of(read) <= when for when in (*empty, *days))


def _as_line(card: Cylinder, read: CoReading) -> LogLine:
    """A reading of a cylinder's gas as a line of the log: of a fill that nobody logged."""
    where = read.source.at("on")
    return LogLine(
        path=where.path,
        line=where.line,
        at=moment_of(read),
        cylinder=card.id,
        act=LogAct.READING,
    )


def _left_of(book: Book, card: Cylinder, line: LogLine) -> BadAir | None:
    """What a cylinder has of bad air by a fill, that no sample of it clears: the surest of it."""
    each = (_unless_sampled(book, card, bad) for bad in _every_taken(book, line))
    return max((b for b in each if b), key=lambda b: b.certain, default=None)


TOLD_FROM = 0.05
"""What is left of a fill after it was topped, as a share of what is in a cylinder now, from which
gas that may be bad is told (own bound); what is certain stays till it is emptied."""


def _shares_left(fills: Lines) -> list[float]:
    """What share of a cylinder's gas is of each of its fills or older, as the pressures say; a fill
    without them takes nothing away."""
    shares: list[float] = []
    left = 1.0
    for line in reversed(fills):
        shares.append(left)
        known = line.from_ is not None and line.to is not None and line.from_ < line.to
        if known and line.from_ is not None and line.to is not None:
            left *= line.from_.pa / line.to.pa
    return shares[::-1]


@once_per_book
def _every_taken(book: Book, line: LogLine) -> tuple[BadAir, ...]:
    """All that a fill took of bad air: of each sample that failed, and of each alarm. Those who
    fill each other ask about their fills often."""
    when, spells = logged_in(line.at), _spells(book)
    aside = recalled_then(book, line.at)
    met = [spell for spell in spells if spell.meets(when) or aside]
    by = _fed(book)(line.source_ or "", line.position or "") if met else None
    if by and by.givers and all(_answers(book, id_, line.at) for id_ in by.givers):
        by = replace(by, others=True)  # what they held is asked of their own fills
    shut = by.sources & aside if by else aside
    found = []
    for spell in met if by else ():
        bad = spell.taints(line, by) if by and spell.meets(when) else None
        if bad is not None and by and _is_of_sampled_banks(book, line, by, spell):
            bad = None
        if shut & (spell.banks | spell.places) and spell.all_since.last < when.last:
            bad = BadAir(line, spell.failed, certain=True)
        found += [bad] if bad else []
    found += [replace(bad, line=line) for bad in _decanted(book, line)]
    found += _stored(book, line)
    # each thing once: of cylinders that fill each other it would come back by every way
    return tuple({(id(bad.failed), bad.certain, bad.unsaid): bad for bad in found}.values())


def _stored(book: Book, line: LogLine) -> Iterator[BadAir]:
    """What a fill took of bad air that its banks still held, however long ago it went in: pumped
    by the compressor, or come from a bank, before what failed there was answered, though it failed
    after the fill. A good sample of such a bank itself clears it: of before the fill, or since of
    the same air."""
    banks = {bank.name: bank for bank in book.station.banks} if book.station else {}
    for name, origins in given_by(book, line) if _spells(book) else ():
        then = line.at.date()
        held = (*(origins or ()), *(() if origins else (_unseen(None, then),)))
        held = tuple(_by_then(origin, logged_in(line.at).last) for origin in held)
        by = local_time(line.at)
        for bad in _bad_in(book, banks[name], held, then, failed_by=dt.date.max, by=by):
            if not _is_of_sampled(book, banks[name], then, bad.failed):
                good = _good_of(book, name.casefold(), bad.failed)
                # nobody says at what hour of that day a good sample of it was drawn
                unsaid = any(t.first <= by < t.last for t in good)
                sure = not (bad.of_hour or unsaid)
                yield BadAir(line, bad.failed, certain=sure, unwritten=bad.unwritten)


def _by_then(origin: BankOrigin, taken: dt.datetime) -> BankOrigin:
    """Gas of a bank that was taken from it at a moment: it was in it by then."""
    return replace(origin, at=time_of_day(taken), recorded=False) if taken < origin.over else origin


class Sure(StrEnum):
    """How sure it is that a bank holds bad air."""

    CERTAIN = "certain"
    """Some of it was pumped after the sample failed, and before that was answered."""
    LIKELY = "likely"
    """A share of `TOLD_FROM` or more was pumped between the last good sample and the answer; any of
    it, where what failed stays behind."""
    MAY = "may"
    """As much may have been: when it was pumped is known less exactly than that."""


class BadBank(Struct, frozen=True):
    """Bad air in a bank.

    Attributes:
        bank: the bank.
        failed: the air test that failed, or what sounded.
        sure: how sure it is.
        since: the first day on which it can have been pumped; None where nobody knows.
        on: the last one.
        good: the last good test before it; None where there is none.
        answered: when the station took that test for answered; None where it did not yet.
        emptied: the bank was read empty since: it is what that air left behind.
        of_hour: all of it is of the day of a good sample, and may be of before or after that only
            because nobody says at what hour it was drawn or pumped: what took of it is no surer.
        unwritten: all of it is of a pumping that nobody wrote down.
    """

    bank: Bank
    failed: Bad
    sure: Sure
    since: dt.date | None
    on: dt.date
    good: dt.date | None = None
    answered: dt.date | None = None
    emptied: bool = False
    of_hour: bool = False
    unwritten: Unwritten | None = None


@once_per_book
def banks_of_bad_air(book: Book, today: dt.date) -> tuple[BadBank, ...]:
    """The banks that hold, or may hold, what was pumped from the last good sample before one that
    failed until that was answered. None were sampled well since, or emptied of what leaves nothing
    behind. What is not certain is told once the test was answered: till then its source is out,
    with all that it may have filled."""
    is_now = book.known_on is None or book.known_on <= today
    then = book if is_now else book.as_known_on(today)
    found: list[BadBank] = []
    for bank in book.station.banks if book.station else ():
        air = air_of(then, bank)
        unseen = _unseen(air.read_on, today)  # an alarm speaks of what nobody read, too
        held = list(_bad_in(then, bank, (*air.origins, unseen), today))
        found += [b for b in held if b.sure is Sure.CERTAIN or _is_answered(b, today)]
        told = {b.failed: b.sure for b in found if b.bank is bank}
        left = [o for o in air.before if not is_cleaned(then, bank, o.came, air.emptied)]
        for bad in _bad_in(then, bank, left, today):  # what it may have left behind
            sure = Sure.CERTAIN if bad.sure is Sure.CERTAIN else Sure.MAY
            stands = sure is Sure.CERTAIN or _is_answered(bad, today)
            known = told.get(bad.failed)
            new = known is None or (sure is Sure.CERTAIN and known is not Sure.CERTAIN)
            if stands and new and _stays_behind(book, bad.failed):
                found.append(replace(bad, sure=sure, emptied=True))
    return tuple(found)


def _unseen(since: dt.date | None, day: dt.date) -> BankOrigin:
    """What may have gone into a bank since it was read."""
    return BankOrigin(since, day, measured=False)


def _stays_behind(book: Book, bad: Bad) -> bool:
    """Whether what was bad stays behind in a vessel that is emptied: carbon monoxide does not."""
    return isinstance(bad, AirTest) and soils(book, [bad])


def _is_answered(bad: BadBank, today: dt.date) -> bool:
    return bad.answered is not None and bad.answered <= today


def _bad_in(
    book: Book,
    bank: Bank,
    origins: Sequence[BankOrigin],
    day: dt.date,
    failed_by: dt.date | None = None,
    by: dt.datetime | None = None,
) -> Iterator[BadBank]:
    """The failed tests, and the alarms, whose air a bank holds on a day, or may hold, by the
    samples of that day; `failed_by`: those that failed by another day count; `by`: a moment of that
    day, if not its end."""
    station, over = book.station, list(_over_in_bank(book, bank, origins, day))
    moment = by or _end_of(day)
    yield from over
    for spell in _spells(book) if station and not holds_pure(bank) else ():
        if station is None or spell.failed.on > (failed_by or day):
            continue
        if spell.sounded and day < spell.settled:
            found = () if over else _sounded_in(book, station, bank, origins, spell, moment)
            yield from found
            continue
        if spell.sounded and (over or bank.name.casefold() not in spell.banks):
            continue
        # what nobody read before is not asked for ever, and came by the end of the spell if in it
        asked = not spell.sounded and day < spell.settled
        told = (
            spell.by_answer(o) if asked and o.since is None else o
            for o in origins
            if o.measured or (asked and (o.since is None or o.rose))
        )
        of_it = [(o, came) for o in told for came in _came(station, o, spell, unread=asked)]
        if not of_it:
            continue  # whatever was sampled
        sampled = max(_sampled_well(book, bank.name, spell, moment), default=_BEGINNING)
        met = [
            (origin, came)
            for origin, came in of_it
            if _is_after(station, origin, spell, sampled, unread=asked)
            and not any(
                since < on.date() < left
                for name, since, left in origin.stays
                if since >= came.into
                for on in _sampled_well(book, name, spell, moment)
            )
        ]
        known = [each for each in met if each[1].known]
        certain = [e for e in known if e[1].first and e[1].first >= spell.failed.on]
        ends = _days(spell.all_since, spell.until)
        # topping thins a gas, and takes nothing off the walls
        least = 0.0 if _stays_behind(book, spell.failed) else TOLD_FROM
        for sure, of in ((Sure.CERTAIN, certain), (Sure.LIKELY, known), (Sure.MAY, met)):
            if not of or (sure is not Sure.CERTAIN and sum(o.share for o, _ in of) < least):
                continue
            days = [came.first for _, came in of]
            first = None if None in days else min(d for d in days if d is not None)
            last = max(came.last for _, came in of)
            of_hour = all(came.of_hour for _, came in met)
            bad = BadBank(bank, spell.failed, sure, first, last, *ends, of_hour=of_hour)
            yield replace(bad, unwritten=_unwritten(bank, [origin for origin, _ in of]))
            break


def _is_after(
    station: Station, origin: BankOrigin, spell: _Spell, sampled: dt.datetime, *, unread: bool
) -> bool:
    """Whether gas of a bank can be what failed and have come into it after a good sample of that:
    what was pumped straight into it before, the sample was of."""
    if origin.came_by < sampled:
        return False
    return bool(origin.through) or any(_came(station, origin, spell, unread=unread, after=sampled))


def _unwritten(bank: Bank, origins: Sequence[BankOrigin]) -> Unwritten | None:
    """The pumping that nobody wrote down, where all of some gas of a bank is of that."""
    days = [
        (o.since, o.on)
        for o in origins
        if o.since is not None and not (o.recorded or o.several or o.through)
    ]
    if not days or len(days) < len(origins):
        return None
    return Unwritten(bank.name, min(since for since, _ in days), max(on for _, on in days))


def _sounded_in(
    book: Book,
    station: Station,
    bank: Bank,
    origins: Sequence[BankOrigin],
    spell: _Spell,
    by: dt.datetime,
) -> Iterator[BadBank]:
    """The alarm whose air a bank holds at a moment, or may hold: by what was pumped into it in the
    time that it speaks of, or may have been unseen, until its gas was analysed."""
    name, own = bank.name.casefold(), own_names(station)
    if name not in spell.banks:
        return
    if _emptied_after(bank, spell, by):  # what came straight into it that day came after that
        of_day = spell.until.last.date()
        origins = [o for o in origins if o.through or (o.since or dt.date.min) < of_day]
    met = list[BankOrigin]()
    for each in origins:
        each = each if each.measured else spell.by_answer(each)
        in_time = each.over > spell.pumped_since.first
        in_time = in_time and (each.since is None or each.since < spell.ends)
        if in_time and (not own or may_be_of(station, each.source, spell.places)):
            met.append(each)
    analysed = max(_sampled_well(book, bank.name, spell, by), default=_BEGINNING)
    left = [
        each
        for each in met
        if each.came_by >= analysed and (each.through or analysed.date() < spell.ends)
    ]
    if left:
        days = [each.since for each in left]
        first = None if None in days else min(d for d in days if d is not None)
        on = max(each.on for each in left)
        # of the day of the last good sample, all of it may be of before that
        later = any(each.over > spell.pumped_since.last for each in left)
        sure = Sure.CERTAIN if later else Sure.MAY
        ends = _days(spell.pumped_since, spell.until)
        bad = BadBank(bank, spell.failed, sure, first, on, *ends, of_hour=not later)
        yield replace(bad, unwritten=_unwritten(bank, left))


def _days(good: Drawn, answered: Drawn) -> tuple[dt.date | None, dt.date | None]:
    """The days of a good sample and of an answer, None where there is none."""
    return (
        None if good.last == NEVER.last else good.last.date(),
        None if answered is _UNANSWERED else answered.last.date(),
    )


def _emptied_after(bank: Bank, spell: _Spell, by: dt.datetime) -> bool:
    """Whether a bank was read empty after an alarm was answered, on the day of that, by the hours
    of both: whatever is in it since, by a moment, came later."""
    return any(
        is_empty(read.pressure)
        and read.at is not None
        and read.on == spell.until.last.date()
        and spell.until.last < dt.datetime.combine(read.on, read.at) <= by.replace(tzinfo=None)
        for read in that_stand(bank.readings)
    )


def _over_in_bank(
    book: Book, bank: Bank, origins: Sequence[BankOrigin], day: dt.date
) -> Iterator[BadBank]:
    """The readings over the limit of a bank's own gas, while any of what was in it then may be."""
    for read in over_in(book, bank.name):
        left = [o for o in origins if (o.since or dt.date.min) <= read.on]
        good = (r for r in analysed_well(book, read, bank=bank.name) if r.on <= day)
        if read.on <= day and left and not any(good):
            yield BadBank(bank, read, Sure.CERTAIN, None, read.on)


def holds_pure(bank: Bank) -> bool:
    """Whether a bank holds oxygen or helium, which no compressor of air gives."""
    return has_no_air(bank.gas)


class _Came(Struct, frozen=True):
    """From when to when gas of a bank came from what failed; `known`: wholly while that was bad;
    `into`: the day on which it came into the first bank that lies behind that; `of_hour`: in doubt
    for the hour of a good sample alone."""

    first: dt.date | None
    last: dt.date
    known: bool = True
    into: dt.date = dt.date.min
    of_hour: bool = False


def _came(
    station: Station,
    origin: BankOrigin,
    spell: _Spell,
    *,
    unread: bool,
    after: dt.datetime = _BEGINNING,
) -> Iterator[_Came]:
    """How gas of a bank came from what failed, if it was pumped `after` a moment. Of what was in it
    before its first record nobody knows since when; it may be of that, though that record is of
    after the answer (`unread`)."""
    found = list[_Came]()
    for own in sorted(own_names(station) & (spell.places | spell.behind)):
        if not may_be_of(station, origin.source, {own}):
            continue
        good = spell.since[own]
        until = _first([spell.until, *([spell.cleared] if own in spell.behind else [])])
        begun = origin.begun if origin.since or unread else _begun(origin.on)
        if origin.over <= good.first or max(begun, after) >= until.last:
            continue
        known = origin.since is not None and good.last < begun and origin.over <= until.first
        of_hour = _is_of_day(origin.over, good) or _is_of_day(begun, until)
        found.append(_Came(origin.since, origin.on, known, of_hour=of_hour and not known))
    yield from sorted(found, key=lambda came: (not came.known, came.of_hour))[:1]
    for name, on in origin.through:
        if name in spell.places:
            good, lain = spell.since[name], day_of(on)
            known = good.last < lain.first and lain.last <= spell.until.first
            if good.first < lain.last and lain.first < spell.until.last:
                of_hour = _is_of_day(lain.last, good) or _is_of_day(lain.first, spell.until)
                yield _Came(on, on, known, into=on, of_hour=of_hour and not known)


def _is_of_day(moment: dt.datetime, sampled: Drawn) -> bool:
    """Whether a moment is of the day of a sample."""
    return moment.date() == sampled.last.date()


def _sampled_well(book: Book, name: str, spell: _Spell, by: dt.datetime) -> Iterator[dt.datetime]:
    """The moments by then up to which a sample of a bank alone answered what failed. One of that
    day that may be of later was of the same air, unless the bank was pumped between."""
    by, every = by.replace(tzinfo=None), _good_of(book, name.casefold(), spell.failed)
    told = [t for t in every if t.first.date() <= by.date()]
    anew = any(t.last > by for t in told) and _may_be_pumped_after(book, name, by)
    good = (t.first for t in told if t.last <= by or not anew)
    if isinstance(spell.failed, AirTest):
        return good
    later = _analysed_last(book, name, spell.failed)
    return (on + dt.timedelta(days=1) if on.date() in later else on for on in good)


def _may_be_pumped_after(book: Book, name: str, moment: dt.datetime) -> bool:
    """Whether a bank was, or may have been, pumped on the day of a moment after that."""
    bank, day = _bank_called(book, name), moment.date()
    if bank is None:
        return False
    entries: list[Raised | Reading] = [r for r in that_stand(bank.raised) if r.on == day]
    entries += [high for low, high in rises_unrecorded(bank) if low.on <= day == high.on]
    later = any(e.at is None or dt.datetime.combine(day, e.at) > moment for e in entries)
    return later or any(low.on <= day < high.on for low, high in rises_unrecorded(bank))


def _analysed_last(book: Book, name: str, alarm: CoReading) -> frozenset[dt.date]:
    """The days on which a bank was analysed after all that was pumped into it that day."""
    bank = _bank_called(book, name)
    raised = that_stand(bank.raised) if bank else ()
    return frozenset(
        read.on
        for read in analysed_well(book, alarm, bank=name)
        if read.at is not None
        and all(r.on != read.on or (r.at is not None and r.at <= read.at) for r in raised)
    )


def _bank_called(book: Book, name: str) -> Bank | None:
    banks = book.station.banks if book.station else ()
    return next((b for b in banks if b.name.casefold() == name.casefold()), None)


@once_per_book
def _good_of(book: Book, name: str, failed: Bad) -> tuple[Drawn, ...]:
    """When the samples of a bank alone, by its name in small letters, were drawn that answer what
    failed; of an alarm, the days of the readings of its gas as well, up to their hours."""
    station = book.station
    tests = that_stand(station.air_tests) if station else ()
    if isinstance(failed, CoReading):
        read = {
            Drawn(_begun(r.on), moment_of(r) if r.at else _end_of(r.on))
            for r in analysed_well(book, failed, bank=name)
        }
        sampled = (t for t in tests if station and sampled_at(station, t) == {name})
        good = {drawn(t) for t in sampled if _is_without_co(book, t, failed)}
        return tuple(sorted(read | good, key=lambda each: (each.first, each.last)))
    return tuple(
        drawn(test)
        for test in tests
        if station
        and sampled_at(station, test) == {name}
        and is_good(air_judge(book), station, test, [failed])
    )


def _is_of_sampled_banks(book: Book, line: LogLine, by: _Fed, spell: _Spell) -> bool:
    """Whether every bank that a fill came from was sampled since and holds good air, and was read
    then and before, and not pumped between: the fill is of that air."""
    station, day = book.station, line.at.date()
    if station is None or by.unsaid or by.others or not by.sources or spell.outlets:
        return False
    banks = {b.name.casefold(): b for b in station.banks}
    if not by.sources <= banks.keys() - spell.places:
        return False
    return all(_is_of_sampled(book, banks[name], day, spell.failed) for name in by.sources)


def _is_without_co(book: Book, test: AirTest, alarm: CoReading) -> bool:
    """Whether a sample drawn after the day of an alarm passed, and measured carbon monoxide."""
    return test.on > alarm.on and test.co is not None and air_judge(book).passes(test)


def _is_of_sampled(book: Book, bank: Bank, day: dt.date, failed: Bad) -> bool:
    """Whether a bank held on a day the air that a sample of it was of, which was good in all that
    another failed on."""
    station = book.station
    if station is None:
        return False
    read = [r.on for r in that_stand(bank.readings)]
    if not read or day < min(read):
        return False
    for on in (at.first.date() for at in _good_of(book, bank.name.casefold(), failed)):
        between = any(p.since <= on and p.on >= day for p in pumped(bank))
        if day < on <= max(read) and not between:
            return True
    return False


def cylinders_called(book: Book, name: str) -> tuple[str, ...]:
    """The cylinders that a text names, however it is written, as `14`, `cylinder 14`, or the set
    that they are of."""
    bare = " ".join(name.split()).casefold()
    ids = _ids(book)
    for text in (bare, bare.removeprefix("cylinder ").removeprefix("set ").strip()):
        if text in ids:
            group = book.every_set.get(ids[text])
            return group.cylinders if group else (ids[text],)
    return ()


@once_per_book
def _ids(book: Book) -> Mapping[str, str]:
    """Every id by how it is written in small letters."""
    every = (*book.cylinders, *book.broken, *book.every_set)
    return {id_.casefold(): id_ for id_ in every}


def decants(book: Book) -> tuple[LogLine, ...]:
    """The fills that stand and name a cylinder of the ledger as their source."""
    places = places_of(book)
    acts, sources = places.log.column("act"), places.log.column("source_")
    said = {
        source
        for source in set(sources)
        if source and any(cylinders_called(book, name) for name in taken_here(source))
    }
    found = (i for each in places.by_id.values() for i in each if sources[i] in said)
    return tuple(places.log[i] for i in found if acts[i] is LogAct.FILL)


def sampled_cylinders(book: Book, test: AirTest) -> tuple[str, ...]:
    """The cylinders that a sample was drawn at, as `cylinder 14`, or `14` where no part of the
    station is called so."""
    station = book.station
    text = " ".join((test.source_ or "").split()).casefold()
    bare = text.removeprefix("cylinder ").removeprefix("set ")
    if station is None or (bare == text and names_parts_alone(station, text)):
        return ()
    for id_ in (*book.cylinders, *book.every_set):
        if id_.casefold() == bare:
            group = book.every_set.get(id_)
            return group.cylinders if group else (id_,)
    return ()


def _unless_sampled(book: Book, card: Cylinder, bad: BadAir | None) -> BadAir | None:
    """Bad air, unless the cylinder was sampled itself after that fill and passed all it failed."""
    station = book.station
    if bad is None or station is None:
        return None
    filled, failed = logged_in(bad.line.at).last, bad.failed
    later = (t for t in that_stand(station.air_tests) if drawn(t).first > filled)
    if isinstance(failed, CoReading):
        read = analysed_well(book, failed, cylinder=card.id)
        good = any(moment_of(r) > local_time(bad.line.at) for r in read) or any(
            card.id in sampled_cylinders(book, t) and _is_without_co(book, t, failed) for t in later
        )
        return None if good else bad
    good = any(
        card.id in sampled_cylinders(book, test)
        and is_good(air_judge(book), station, test, [failed])
        for test in later
    )
    return None if good else bad


def kept_back(book: Book, card: Cylinder, held: Held) -> Iterator[str]:
    """Why a cylinder that was set aside by a recall of gas is not let go: the log shows that air
    in it, however little of it topping has left; or it soiled the inside, and nobody looked there
    and cleaned it since."""
    yield from still_holds(book, card, held)
    recalled = held.on.first
    if says_soiled(held.why) and cared_for(book, card).date() < recalled:
        yield f"{card.id} was recalled for what stays behind ({held.why}): {cleans(card)}"
        return
    failures, newest = failures_by(book, recalled), _failed_last(book, recalled)
    asked = book.station is not None and not _is_of_alarm(book, recalled)
    for left in soiled_by(book, card, certain=False) if asked else ():
        failed = left.failed
        # an older spell, that was over before this recall, is not what it may be about
        of_it = left.certain or failed in failures or failed.on == newest
        if not of_it or not isinstance(failed, AirTest):
            continue
        wrong = ", ".join(sorted(failed_on(air_judge(book), failed))) or "what it does not say"
        yield (
            f"{card.id} was filled on {left.line.at.date()} with air that failed on {wrong}, which"
            f" stays behind: {cleans(card, left.line.at.date())}"
        )
        return


def still_holds(book: Book, card: Cylinder, held: Held) -> Iterator[str]:
    """That the gas for which a cylinder was set aside by a recall is in it still."""
    bad = bad_air_of(book, card, None if _is_of_alarm(book, held.on.first) else 0.0)
    if bad is None or bad.emptied:
        yield from _never_sampled(book, card, held)
        return
    sampled = f"have it sampled (`tankbook station air-test --source 'cylinder {card.id}'`)"
    sampled += "; or strike out a sample that was wrong"
    analysed = f"analyse it ({analyses_co(book, card.id)})"
    yield (
        f"{bad.held_by(card.id, 'still ')}, and {tells_bad(bad.failed)}:"
        " drain it to 0 and log that (`tankbook drain`), and fill it from a good source; or "
        f"{analysed if isinstance(bad.failed, CoReading) else sampled}"
    )


def _is_of_alarm(book: Book, recalled: dt.date) -> bool:
    """Whether a recall of a day is for an alarm: it asks nothing of an older spell, that was over
    before it."""
    sounded = max((a.reading.on for a in co_alarms(book) if a.reading.on <= recalled), default=None)
    if sounded is None or failures_by(book, recalled):
        return False
    return sounded >= (_failed_last(book, recalled) or sounded)


def _failed_last(book: Book, by: dt.date) -> dt.date | None:
    """The day of the newest sample that failed by a day."""
    tests = that_stand(book.station.air_tests) if book.station else ()
    failed = (t.on for t in tests if t.on <= by and not air_judge(book).passes(t))
    return max(failed, default=None)


def _never_sampled(book: Book, card: Cylinder, held: Held) -> Iterator[str]:
    """That a recall which rests on no failed sample has its gas still in a cylinder; unless that
    was sampled itself since and passed, or the sample that it rested on was struck out."""
    station, judge = book.station, air_judge(book)
    if station is None or not held.recall or failures_by(book, held.on.first):
        return
    told: tuple[Bad, ...] = (*station.air_tests, *station.co_readings)
    if any(t.void is not None and t.void.on >= held.on.first for t in told):
        return
    sounded = alarms_by(book, held.on.first)
    if sounded and false_alarms(book).issuperset(map(id, sounded)):
        return
    into = [n for n in fills_since_empty(book, card) if n.at.date() <= held.on.last]
    if not into:
        return
    if _is_cleared_of_co(book, card, into):
        return
    last = into[-1].at.date()
    good = (t for t in that_stand(station.air_tests) if t.on > last and judge.opens(station, t))
    if not any(card.id in sampled_cylinders(book, test) for test in good):
        yield (
            f"{card.id} still holds gas of {last} that was recalled: drain it to 0 and log that"
            " (`tankbook drain`), and fill it from a good source; or have it sampled (`tankbook"
            f" station air-test --source 'cylinder {card.id}'`); or strike out a hold that was"
            f" wrong (`tankbook correct {card.id} held {named_among(card.held, held)}`)"
        )


def _is_cleared_of_co(book: Book, card: Cylinder, fills: Lines) -> bool:
    """Whether what an alarm speaks of is in a cylinder, and an analysis of its gas cleared it."""
    every = [bad for line in fills for bad in _every_taken(book, line)]
    told = [bad for bad in every if isinstance(bad.failed, CoReading)]
    return bool(told) and not any(_unless_sampled(book, card, bad) for bad in told)


def tells_bad(bad: Bad) -> str:
    """What told that air was bad, as a clause: of which day, and where."""
    if isinstance(bad, AirTest):
        drawn = f" ({bad.source_})" if bad.source_ else ""
        return f"the air test of {bad.on}{drawn} failed"
    said = (str(bad.co) if bad.co else "", f"at the {bad.place}" if bad.place else "")
    shown = ", ".join(filter(None, (*said, f"of {bad.of}" if bad.of else "")))
    what = "a carbon monoxide alarm sounded" if bad.alarm else "carbon monoxide was over its limit"
    return f"{what} on {bad.on}" + (f" ({shown})" if shown else "")


class Doubted(Struct, frozen=True):
    """What holds, or may hold, gas that carbon monoxide alarms speak of, each by its label."""

    cylinders: tuple[str, ...]
    banks: tuple[str, ...]


@once_per_book
def alarm_times(book: Book) -> tuple[tuple[CoAlarm, dt.datetime | None], ...]:
    """Every carbon monoxide alarm that was not false, oldest first, with the moment up to which all
    that it may be of is known to have been good, of a day the beginning; None where nothing says
    so."""
    since = {id(s.failed): s.all_since for s in _spells(book) if s.sounded}
    true = (alarm for alarm in co_alarms(book) if not alarm.false)
    known = ((alarm, since.get(id(alarm.reading), NEVER)) for alarm in true)
    return tuple((alarm, None if on == NEVER else on.first) for alarm, on in known)


@once_per_book
def held_by_alarms(book: Book) -> tuple[CoReading, ...]:
    """What sounded, of each cylinder that is held for it."""
    every = (bad_air_of(book, card) for card in book.cylinders.values())
    return tuple(b.failed for b in every if b and isinstance(b.failed, CoReading))


def opens_for_co(book: Book, name: str) -> str:
    """What opens a bank again that an alarm speaks of."""
    return (
        f"analyse it ({analyses_co(book, name)}); or read it empty after that was answered (of"
        " that day with its hour, --at), and raise it anew"
    )


@once_per_book
def doubted_for_co(book: Book, today: dt.date) -> Doubted:
    """The cylinders and the banks that wait for an analysis of their gas, or to be emptied, after
    alarms that were answered or not."""
    station = book.station
    if not any(is_over(book, r) for r in (that_stand(station.co_readings) if station else ())):
        return Doubted((), ())
    every = ((card.id, bad_air_of(book, card)) for card in book.cylinders.values())
    cylinders = (id_ for id_, bad in every if bad and isinstance(bad.failed, CoReading))
    banks = (b.bank.name for b in banks_of_bad_air(book, today) if isinstance(b.failed, CoReading))
    return Doubted(tuple(sorted(cylinders)), tuple(dict.fromkeys(banks)))


def is_for_oxygen(book: Book, name: str) -> bool:
    """Whether a text names a cylinder for oxygen, which no compressor of air fills."""
    cards = [book.cylinders.get(id_) for id_ in cylinders_called(book, name)]
    of_it = all(card is not None and card.service is Service.OXYGEN for card in cards)
    return bool(cards) and of_it


def _answers(book: Book, id_: str, at: dt.datetime) -> bool:
    """Whether what a cylinder held by a moment is asked of its own fills alone."""
    return is_for_oxygen(book, id_) or _is_known(book, id_, at)


def _is_known(book: Book, id_: str, at: dt.datetime) -> bool:
    """Whether the log says what went into a cylinder by a moment, since it was last empty, and
    nobody read it fuller than that."""
    card = book.cylinders.get(id_)
    if card is None or not fills_since_empty(book, card, at):
        return False
    lines, own = [n for n in lines_held(book, id_) if n.at < at], names_in_log(book, id_)
    # what it rose by before it was read empty is gone with that
    empty = (i for i, n in enumerate(lines) if n.cylinder in own and _was_empty(n))
    return not rises_among(book, card, lines[max(empty, default=0) :])


def _was_empty(line: LogLine) -> bool:
    """Whether somebody read that a cylinder was empty by a line, before it or after."""
    return is_empty(line.to) or (line.act is LogAct.FILL and is_empty(line.from_))


def _decanted(book: Book, line: LogLine) -> Iterator[BadAir]:
    """What a fill took of bad air out of another cylinder of the ledger, which held it then."""
    named = taken_here(line.source_ or "") if line.source_ else ()
    for name in named:
        for id_ in cylinders_called(book, name):
            other = book.cylinders.get(id_)
            fills = fills_since_empty(book, other, line.at) if other else []
            for each in fills:
                yield from _every_taken(book, each) if each.at < line.at else ()


@once_per_book
def _ask_in_turn(book: Book) -> None:
    """Ask the fills out of cylinders, the oldest first, so that each finds those before it answered
    already, however many cylinders filled one another."""
    for line in sorted(decants(book), key=lambda n: n.at):
        _every_taken(book, line)


def fills_since_empty(
    book: Book, card: Cylinder, until: dt.datetime | None = None
) -> list[LogLine]:
    """The fills since it was last empty, came back empty, or was bled for work, oldest first, up to
    a moment or now. That another side of its set was empty says nothing of it, whatever came from
    there."""
    fills = list[LogLine]()
    own, carried = names_in_log(book, card.id), carried_into(book, card.id)
    for line in lines_into(book, card.id):
        if until is not None and line.at >= until:
            break
        began, ended = is_empty(line.from_), is_empty(line.to)
        shows = (began or ended) and line.cylinder in own
        shows = shows and not is_taken_for_full(book, card.id, line.at)
        came_later = []
        if shows and carried:
            keyed = [(n, carried.get(void_key(n))) for n in fills]
            came_later = [n for n, when in keyed if when and when > local_time(line.at)]
        if began and shows:
            fills = came_later
        fills += [line] if line.act is LogAct.FILL else []
        if ended and shows:
            fills = came_later
    emptied = [*bled_at(book, card), *_back_empty(card)]
    if until is not None:
        # what was taken out of it then was in it: what let it out that day came later, unless it
        # was filled again
        again = any(n.at.date() == until.date() for n in fills)
        last = local_time(until) if again else dt.datetime.combine(until.date(), dt.time.min)
        emptied = [when for when in emptied if when < last]
    if fills:  # what was long before all of them says nothing of any
        first = local_time(min(n.at for n in fills)).date() - dt.timedelta(days=1)
        emptied = [when for when in emptied if when.date() >= first]
    return [
        n
        for n in fills
        if not any(
            _came_before(n, when) and (not carried or carried.get(void_key(n), when) <= when)
            for when in emptied
        )
    ]


def _came_before(line: LogLine, when: dt.datetime) -> bool:
    """Whether a fill came before something that lets gas out: by its time where that is known, else
    by its day."""
    whole_day = (dt.datetime.combine(when.date(), end) for end in (dt.time.min, dt.time.max))
    if when.replace(tzinfo=None) in whole_day:
        return line.at.date() < when.date()
    return local_time(line.at) < when


def _back_empty(card: Cylinder) -> Iterator[dt.datetime]:
    """When it came back empty from a rental: on a day whose time nobody says."""
    for rental in standing(card.rented):
        if rental.back and is_empty(rental.pressure):
            yield dt.datetime.combine(rental.back, dt.time.min)
