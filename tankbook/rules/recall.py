"""Recall: every cylinder that took gas from a source since its last good test, or that a maker's
notice names; what it holds, where it is now and whom to ring.

Nothing is left out for want of a record: where a fill does not say its source, it is listed too.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.entries import standing
from tankbook.records.kinds import is_empty
from tankbook.records.life import still_open
from tankbook.records.log import Log, LogLine
from tankbook.records.node import Severity
from tankbook.records.rulerow import WatchRow
from tankbook.records.station import AirTest, Gauge, that_stand, was_master
from tankbook.records.words import JobState, LogAct, SentFor, Status
from tankbook.rules.air import (
    NEVER,
    Drawn,
    air_judge,
    by_others,
    day_of,
    drawn,
    is_after,
    is_word_for,
    own_names,
    parts_named,
    sampled_at,
    taken_here,
)
from tankbook.rules.answers import Contents
from tankbook.rules.bad_air import (
    alarm_times,
    banks_of_bad_air,
    cylinders_called,
    decants,
    fills_since_empty,
    held_by_alarms,
    holds_pure,
    leaves_open,
    logged_in,
    opens_for_co,
    tells_bad,
)
from tankbook.rules.bank_air import BankOrigin, air_of, given_by, may_be_of, may_hold
from tankbook.rules.bank_held import banks_held, failures_by, is_good, what_opens
from tankbook.rules.carbon_monoxide import CoAlarm, ended_by
from tankbook.rules.fill_history import (
    contents_of,
    is_by,
    lines_about,
    lines_into,
    local_time,
    places_of,
    void_key,
    went_into,
)
from tankbook.rules.gauges import Unvouched, unvouched
from tankbook.rules.inforce import is_watched, rules_of
from tankbook.rules.rental import out_as
from tankbook.rules.status import state_of, status_of
from tankbook.rules.tested import made_of
from tankbook.rules.workshop import open_jobs, whose
from tankbook.units import GaugePressure

NAMED = 3
"""How many places that could not be read a line names; the rest are counted."""

NOBODY = "owner not recorded"
"""Stands for a reference to ring where there is none."""


class Link(StrEnum):
    """How a cylinder is tied to what is recalled."""

    DIRECT = "filled from it"
    BANK = "filled from a bank that it fills"
    LATER = "filled later, from a bank that may have held it still"
    DECANTED = "filled from a cylinder that held it"
    READ = "read on it"
    FILLER = "filled by them"
    THEN = "filled in that time"
    UNKNOWN = "a fill that does not say its source"
    NO_POSITION = "a fill that does not say its position"
    NO_NAME = "a fill that does not say who filled it"
    NOTICE = "named in the notice"
    MAYBE = "may be named: its record lacks what the notice asks"


class Still(StrEnum):
    """Whether a cylinder still holds the gas."""

    HOLDS = "holds it"
    MIXED = "topped off since"
    EMPTIED = "emptied since"
    OUT_OF_HAND = "may hold it"


class Suspect(Struct, frozen=True):
    """A cylinder to be found: why, what it holds, where it is, and whom to ring.

    `fills` are the suspect fills, newest last; `ring` is a reference, or empty where it is here;
    `status` is None where it has no card.
    """

    id: str
    link: Link
    fills: tuple[LogLine, ...]
    still: Still | None
    contents: Contents
    status: Status | None
    place: str
    ring: str
    held: bool


class SuspectBank(Struct, frozen=True):
    """A bank that holds gas that is recalled, or may.

    Attributes:
        name: its label.
        share: how much of what it holds now, above 0 and up to 1; None where nobody knows, as of
            what gas left behind that is not in it any more.
        origins: when that was pumped, oldest first; last, with no share, since when nobody read
            the bank, so that it may have been pumped unseen.
        shows: what it should show now.
        held: it is out of use already.
        clears: what opens it again.
    """

    name: str
    share: float | None
    origins: tuple[BankOrigin, ...]
    shows: GaugePressure | None
    held: bool
    clears: str


class Asked(Struct, frozen=True):
    """What a recall of fills takes; what is said besides narrows it.

    Attributes:
        source: a bank's or a compressor's label; an empty text for the compressor without a label,
            or any of several; None where no source is asked for.
        gauge: a gauge, by its label.
        person: the initials of who filled.
        since: the first day that counts, where it is known better than the records say.
        until: the last one.
    """

    source: str | None = None
    gauge: str = ""
    person: str = ""
    since: dt.date | None = None
    until: dt.date | None = None

    @property
    def of_gas(self) -> bool:
        """Whether the gas is what is recalled, and not how it was read or by whom it was filled."""
        return not self.gauge and not self.person


class NotSeen(Struct, frozen=True):
    """A place in the records that could not be looked at, and what is wrong there."""

    place: str
    text: str


class Recall(Struct, frozen=True):
    """What is recalled and the cylinders it touches.

    `since` is the first day that counts, None for the whole log; `why_since` says what it rests on.
    `banks` may hold the gas; `gas` is its source, or empty where no gas is recalled. `unread` is
    what could not be looked at, so that there may be more than these.
    """

    what: str
    since: dt.date | None
    why_since: str
    suspects: tuple[Suspect, ...]
    through: tuple[str, ...] = ()
    banks: tuple[SuspectBank, ...] = ()
    until: dt.date | None = None
    gas: str = ""
    unread: tuple[NotSeen, ...] = ()

    @property
    def not_read(self) -> str:
        """Where the records could not be read, a few places by name; empty where all could."""
        more = f" and {len(self.unread) - NAMED} more" if len(self.unread) > NAMED else ""
        return ", ".join(each.place for each in self.unread[:NAMED]) + more

    @property
    def here(self) -> tuple[Suspect, ...]:
        """Those that are on the premises."""
        return tuple(s for s in self.suspects if not s.ring and s.status is not Status.LOST)

    @property
    def lost(self) -> tuple[Suspect, ...]:
        """Those of which nobody knows where they are."""
        return tuple(s for s in self.suspects if not s.ring and s.status is Status.LOST)

    @property
    def away(self) -> tuple[Suspect, ...]:
        """Those whom somebody must be rung for."""
        return tuple(s for s in self.suspects if s.ring)


_ASIDE = ("checklists/", "bookings.", "contacts.")
"""Files that say of no fill, no cylinder and no source."""


_TELLING = ("fills/", "station.")
"""Files of which a line that is gone may have told of a fill or a source; of a card the whole."""

_NO_CARDS = (*_ASIDE, "fills/", "station.")
"""Those that name no cylinder by what it is."""


def not_seen(book: Book, aside: tuple[str, ...] = _ASIDE) -> tuple[NotSeen, ...]:
    """What of the records could not be read, or is gone from them: whatever it says of a cylinder
    is in no recall. Of each file the first place, but of those that begin with one of `aside`."""
    found: dict[str, NotSeen] = {}
    for each in book.findings:
        if each.severity is Severity.FAULT:
            found.setdefault(each.where.path, NotSeen(str(each.where), str(each)))
    for gone in book.absence.gone:
        whole = not gone.line and not gone.place
        if not gone.kept and (whole or gone.path.startswith(_TELLING)):
            place = f"{gone.path}:{gone.line}" if gone.line else gone.path
            found.setdefault(gone.path, NotSeen(place, gone.text))
    return tuple(each for path, each in found.items() if not path.startswith(aside))


def sounded_last(book: Book) -> CoAlarm | None:
    """The last carbon monoxide alarm that holds something still, or that nothing answered; None
    where a sample failed later, or none does."""
    sounded, still = _sounded(book, None, dt.date.max), held_by_alarms(book)
    left = [a for a, _ in sounded if a.answer is None or a.reading in still]
    return left[-1] if left else None


def failed_test(book: Book) -> AirTest | None:
    """The newest air test, where it failed or was over its limits; of one day those that did."""
    tests = _tests(book)
    newest = [t for t in tests if t.on == tests[-1].on]
    return next((t for t in reversed(newest) if not _is_good(book, t)), None)


@once_per_book
def banks_taken(book: Book, today: dt.date) -> Mapping[str, AirTest]:
    """The banks that a recall takes in while a failed air test is not answered, by their labels,
    each with the newest such test: none of them may be used till that is. What passed meanwhile
    elsewhere, as behind another compressor, or of one bank, answers nothing of the others."""
    found: dict[str, AirTest] = {}
    judge = air_judge(book)
    for failed in failures_by(book, today) if book.station else ():
        answered = judge.answered_on(book.station, failed) if book.station else None
        if answered is None or answered > today:
            banks = by_source(book, source_of_test(book, failed), today).banks
            found |= {each.name: failed for each in banks}
    return found


def _tests(book: Book) -> list[AirTest]:
    return list(that_stand(book.station.air_tests)) if book.station else []


def _is_good(book: Book, test: AirTest) -> bool:
    return air_judge(book).passes(test)


def source_of_test(book: Book, test: AirTest) -> str:
    """What a failed sample speaks against: the bank that it was drawn from, else the compressor,
    behind which everything lies, as of a sample of a whip, or of two banks at once."""
    known = {name.casefold(): name for name in reversed(gas_labels(book))}
    places = sampled_at(book.station, test) if book.station else frozenset()
    named = [known.get(place) for place in places]
    return (named[0] if len(named) == 1 else None) or compressor_of(book)


def compressor_of(book: Book) -> str:
    """The compressor's label, or an empty text: of several, too."""
    compressor = book.station.only_compressor if book.station else None
    return (compressor.name or "") if compressor else ""


def _pumps(book: Book) -> tuple[str, ...]:
    """The labels of compressors and boosters."""
    station = book.station
    if station is None:
        return ()
    fed = station.every_fed
    return (*(c.name or "" for c in station.every_compressor), *(each.name for each in fed))


def _meant(book: Book, source: str | None) -> frozenset[str]:
    """The compressors that a source is, by their names in small letters: an empty text is any; none
    where it is something else."""
    own = own_names(book.station) if book.station else frozenset[str]()
    if source is None:
        return frozenset()
    return own & {source.casefold()} if source else own


def last_good_test(
    book: Book, source: str, before: dt.date, of: Set[str] = frozenset()
) -> AirTest | None:
    """The newest good test of a source on or before a day, good in all of what failed later (`of`).

    A test that names no source speaks of the compressor. A good test of the compressor clears no
    bank: what was stored before it is still in there.
    """
    judge, station = air_judge(book), book.station
    good = [
        t
        for t in _tests(book)
        if t.on <= before
        and _is_good(book, t)
        and _is_of(book, t, source)
        and is_word_for(t, of)
        and not (station and any(judge.left_unmeasured(station, t)))  # it answers nothing
    ]
    return good[-1] if good else None


def _is_of(book: Book, test: AirTest, source: str) -> bool:
    """Whether a sample was drawn at a source, and nowhere else."""
    places = sampled_at(book.station, test) if book.station else frozenset()
    return places == {source.casefold() or "compressor"} or places == {source.casefold()}


def gas_labels(book: Book) -> tuple[str, ...]:
    """Every label gas can come from: compressors, boosters and banks, and what the log names
    besides."""
    known = [*_pumps(book), *_banks_of(book)]
    named = {name for said in set(Log.of(book.log).column("source_")) for name in _names(said)}
    return tuple(dict.fromkeys(n for n in (*known, *sorted(named)) if n))


def _names(source: str | None) -> tuple[str, ...]:
    """The banks or the compressor that a line's source names."""
    return taken_here(source or "")


def _named_by(book: Book, said: str | None) -> tuple[str, ...]:
    """What a line's source names, and the parts of the station in it: `C1 outlet` is C1."""
    here = "+".join(_names(said))
    parts = parts_named(book.station, here) if book.station else frozenset[str]()
    return (*_names(said), *sorted(parts))


def _is_strange(book: Book, said: str | None) -> bool:
    """Whether a line leaves open what it was filled from: it names nothing, or not sources of here
    alone."""
    if not _names(said):
        return not by_others(said or "")
    return leaves_open(book, said or "")


def _banks_of(book: Book) -> tuple[str, ...]:
    return tuple(b.name for b in (book.station.banks if book.station else ()))


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()


def by_source(book: Book, source: str, today: dt.date, since: dt.date | None = None) -> Recall:
    """Every cylinder filled from a bank or the compressor since the source's last good test.

    Args:
        book: the records.
        source: a bank's or the compressor's label; an empty text for the unnamed compressor.
        today: the day of the recall.
        since: the first day that counts, where it is known better than the tests say.

    A bank's gas came from the compressor, so a recall of the compressor takes in every bank. The
    day of the last good test counts as well, where nobody says at what hour that was drawn.
    """
    return by_fills(book, Asked(source, since=since), today)


def by_fills(book: Book, asked: Asked, today: dt.date) -> Recall:
    """Every cylinder filled from a source, read on a gauge, filled by a person, in a time: each
    that is asked for narrows the others. What a line does not say is never left out for it."""
    begun, why = _begins(book, asked, today)
    since = begun.date() if begun else None
    source = asked.source or ""
    banks = _banks_behind(book, source, since) if asked.source is not None else ()
    judges = list(_judges(book, asked, banks))
    places = places_of(book)
    acts, times = (places.log.column(name) for name in ("act", "at"))
    columns = [places.log.column(name) for name in ("source_", "position", "by")]
    links = {
        said: _least_sure([judge(*said) for judge in judges])
        for said in set(zip(*columns, strict=True))
    }
    is_of_it, untrue = _of_it(book, asked, begun, today), _unvouched(book, asked, today)
    end = day_of(asked.until).last if asked.until else _NEVER
    cleared: _Cleared = _never_cleared
    if asked.since is None:  # else whoever asks takes in what was filled since that day
        failed = _failed_of(book, asked, since, today)
        end = _ends(book, asked, failed, today)
        if not _sounded(book, asked.source, today):
            cleared = _cleared(book, failed, end, today)
    found: dict[str, list[tuple[LogLine, Link]]] = {}
    for id_, each in places.by_id.items():
        for i in each:
            if acts[i] is not LogAct.FILL:
                continue
            link = links[columns[0][i], columns[1][i], columns[2][i]]
            day = times[i].date()
            later = asked.of_gas and logged_in(places.log[i].at).first >= end
            if later or not _within(places.log[i].at, begun, asked.until):
                link = _still_given(book, places.log[i], is_of_it, cleared) if later else None
            elif untrue and not any(each.covers(day) for each in untrue):
                link = None
            elif link is None and asked.of_gas and columns[0][i]:
                link = Link.BANK if _was_given(book, places.log[i], is_of_it, cleared) else None
            if link:
                for member in went_into(book, id_, times[i], later=True):
                    found.setdefault(member, []).append((places.log[i], link))
    if asked.of_gas:
        _add_decanted(book, found)
    suspects = [_suspect(book, id_, fills) for id_, fills in found.items()]
    held = tuple(_suspect_banks(book, asked, begun, today)) if asked.of_gas else ()
    every = "the compressors" if len(_meant(book, "")) > 1 else "the compressor"
    label = "" if asked.source is None else source or every
    named = [label, f"gauge {asked.gauge}" if asked.gauge else ""]
    named += [f"filled by {asked.person}" if asked.person else ""]
    what = ", ".join(filter(None, named)) or "every fill"
    gas = label or "every source" if asked.of_gas else ""
    return Recall(
        what, since, why, _in_order(suspects), tuple(banks), held, asked.until, gas, not_seen(book)
    )


_Cleared = Callable[[str, BankOrigin, dt.datetime], bool]
"""Whether gas that a bank held by a moment was found good by a sample of that bank itself."""


def _never_cleared(_: str, __: BankOrigin, ___: dt.datetime) -> bool:
    return False


def _cleared(book: Book, failed: list[AirTest], end: dt.datetime, today: dt.date) -> _Cleared:
    """Tells of gas in a bank whether it was in it when that was sampled well, or came straight into
    it after that and after the time that is recalled."""
    good = {n.casefold(): [*_own_samples(book, n, failed, today)] for n in _banks_of(book)}

    def is_cleared(bank: str, origin: BankOrigin, by: dt.datetime) -> bool:
        return any(
            origin.came_by < each.first or (not origin.through and end <= each.first)
            for each in good[bank.casefold()]
            if each.last <= by
        )

    return is_cleared


def _own_samples(book: Book, bank: str, failed: list[AirTest], today: dt.date) -> Iterator[Drawn]:
    """When the samples of a bank alone were drawn that are good in all that others failed on."""
    station, judge, own = book.station, air_judge(book), frozenset({bank.casefold()})
    for test in _tests(book) if station else ():
        if station is None or test.on > today or sampled_at(station, test) != own:
            continue
        later = all(test.on > f.on or sampled_at(station, f) != own for f in failed)
        if later and is_good(judge, station, test, failed):
            yield drawn(test)


def _was_given(
    book: Book, line: LogLine, is_of_it: Callable[[str, BankOrigin], bool], cleared: _Cleared
) -> bool:
    """Whether a bank that a fill names held what is recalled."""
    by = local_time(line.at)
    return any(
        is_of_it(name, each) and not cleared(name, each, by)
        for name, origins in given_by(book, line)
        for each in origins or ()
    )


def _still_given(
    book: Book, line: LogLine, is_of_it: Callable[[str, BankOrigin], bool], cleared: _Cleared
) -> Link | None:
    """Whether a fill after the time that is recalled was of what a bank still held of it, or may
    have been."""
    by, day = local_time(line.at), line.at.date()
    unknown = any(
        origins is None and not cleared(name, BankOrigin(None, day, measured=False), by)
        for name, origins in given_by(book, line)
    )
    if unknown or _was_given(book, line, is_of_it, cleared):
        return Link.LATER
    return Link.UNKNOWN if _banks_of(book) and _is_strange(book, line.source_) else None


def _add_decanted(book: Book, found: dict[str, list[tuple[LogLine, Link]]]) -> None:
    """Add the fills from cylinders that held what is recalled, and from those filled from them."""
    told = {(id_, n.path, n.line) for id_, links in found.items() for n, _ in links}
    for line in sorted(decants(book), key=lambda n: n.at):
        givers = (id_ for name in _names(line.source_) for id_ in cylinders_called(book, name))
        if any(_held_it(book, id_, line, found.get(id_, ())) for id_ in givers):
            for member in went_into(book, line.cylinder, line.at, later=True):
                if (place := (member, line.path, line.line)) not in told:
                    told.add(place)
                    found.setdefault(member, []).append((line, Link.DECANTED))


def _held_it(book: Book, id_: str, line: LogLine, fills: Iterable[tuple[LogLine, Link]]) -> bool:
    """Whether a cylinder held what is recalled as another was filled from it."""
    before = [each for each, _ in fills if each.at <= line.at]
    card = book.cylinders.get(id_)
    if card is None or not before:
        return bool(before)
    kept = {void_key(n) for n in fills_since_empty(book, card, line.at)}
    return any(each.at == line.at or void_key(each) in kept for each in before)


def _within(at: dt.datetime, since: dt.datetime | None, until: dt.date | None) -> bool:
    """Whether a line is of a time: one of which nobody says the hour, of the whole of its day."""
    later = since is None or at.date() > since.date()
    later = later or (since is not None and logged_in(at).last > since)
    return later and (until is None or at.date() <= until)


_Judge = Callable[[str | None, str | None, str | None], Link | None]
"""What ties a fill to what is asked for, by its source, its position and who filled it."""


def _judges(book: Book, asked: Asked, banks: tuple[str, ...]) -> Iterator[_Judge]:
    if asked.source is not None:
        source = asked.source

        def by_its_source(said: str | None, _: str | None, __: str | None) -> Link | None:
            strange = Link.UNKNOWN if _is_strange(book, said) else None
            return _link(_named_by(book, said), source, banks, _meant(book, source)) or strange

        yield by_its_source
    if asked.gauge:
        gauge = gauge_called(book, asked.gauge)
        yield lambda source, position, _: _read_on(book, gauge, source, position)
    if asked.person:
        yield lambda _, __, by: filled_by(asked.person, by)


def _least_sure(links: list[Link | None]) -> Link | None:
    """What ties a fill to all that is asked for: the least sure of what does."""
    if None in links:
        return None
    order = list(Link)
    return max((n for n in links if n), key=order.index, default=Link.THEN)


def filled_by(person: str, by: str | None) -> Link | None:
    """Whether a fill was by somebody, alone or with others; one that names nobody may be."""
    if not by:
        return Link.NO_NAME
    return Link.FILLER if is_by(person, by) else None


def _read_on(
    book: Book, gauge: Gauge | None, source: str | None, position: str | None
) -> Link | None:
    """Whether a fill was read on a gauge. The log names none, so that a gauge that is or ever was
    the master, and one of which nobody says where it is, touch every fill."""
    station = book.station
    if gauge is None or station is None or was_master(station, gauge) or not gauge.position:
        return Link.READ
    if any(_same(gauge.position, name) for name in _banks_of(book)):
        named = any(_same(gauge.position, n) for n in _named_by(book, source))
        return Link.READ if named else Link.UNKNOWN if _is_strange(book, source) else None
    parts = parts_named(station, position or "")
    if gauge.position.casefold() in parts:
        return Link.READ
    return None if parts else Link.NO_POSITION


def gauge_called(book: Book, name: str) -> Gauge | None:
    """The gauge of a label, however it is written; else the one that had it before."""
    gauges = book.station.gauges if book.station else ()
    own = (g for g in gauges if _same(g.name, name))
    before = (g for g in gauges if any(_same(each, name) for each in g.formerly))
    return next(own, None) or next(before, None)


def people_in_log(book: Book) -> tuple[str, ...]:
    """Everybody who is said to have filled."""
    return tuple(sorted({by for by in Log.of(book.log).column("by") if by}))


def _begins(book: Book, asked: Asked, today: dt.date) -> tuple[dt.datetime | None, str]:
    """From when on fills count: the latest of what each that is asked for says, and why."""
    if asked.since is not None:
        return day_of(asked.since).first, "as asked"
    found: list[tuple[dt.datetime | None, str]] = []
    if asked.source is not None:
        found.append(_since(book, asked.source, today))
    if untrue := _unvouched(book, asked, today):
        day = untrue[0].since
        found.append((day_of(day).first if day else None, "; ".join(each.why for each in untrue)))
    if not found:
        return None, "the whole log counts"
    return max(found, key=lambda each: each[0] or NEVER.first)


def _unvouched(book: Book, asked: Asked, today: dt.date) -> tuple[Unvouched, ...]:
    """When nobody knows that the gauge that is asked for was true; none where no gauge is, or where
    the first day that counts is asked for."""
    gauge = gauge_called(book, asked.gauge) if asked.gauge and asked.since is None else None
    if gauge is None or book.station is None:
        return ()
    return unvouched(book.station, gauge, rules_of(book), today)


def _suspect_banks(
    book: Book, asked: Asked, begun: dt.datetime | None, today: dt.date
) -> Iterator[SuspectBank]:
    """The banks with gas of a source, or of a time, in them, unless they were sampled since."""
    station = book.station
    if station is None:
        return
    source, since = asked.source, begun.date() if begun else None
    failed = _failed_of(book, asked, since, today)
    is_of_it = _of_it(book, asked, begun, today)
    end = min((_ends(book, asked, failed, today) - dt.datetime.resolution).date(), today)
    behind_it = source is not None and _is_compressor(book, source)
    fed = _banks_behind(book, source or "", since) if behind_it else ()
    sounded = [alarm.reading for alarm, _ in _sounded(book, source, today)]
    doubted = {b.bank.name for b in banks_of_bad_air(book, today) if b.failed in sounded}
    for bank in station.banks:
        itself = source is not None and _same(bank.name, source)
        behind = source is None or (bank.name in fed and not holds_pure(bank))
        good = [each.first.date() for each in _own_samples(book, bank.name, failed, today)]
        if bank.name in doubted:
            good = []
        elif sounded and asked.since is None and asked.until is None:
            continue  # it was analysed, or holds nothing of that time
        sampled, air = max(good, default=None), air_of(book, bank)
        origins = tuple(
            o
            for o in air.origins
            if (sampled is None or o.came >= sampled) and is_of_it(bank.name, o)
        )
        other = itself or source is None or _boosts(book, source)
        origins = () if holds_pure(bank) and not other else origins
        known = max((day for day in (air.read_on, sampled) if day), default=None)
        # what was read on the last of these days may have been pumped later that day; of what was
        # sampled well then only a raising that is on record may be of after that
        read = known is None or known > end or known == today
        read = read or (sampled is not None and sampled >= end)
        unseen = behind and not read and (since is None or since <= end)
        measured = air.is_known and all(o.measured for o in origins)
        measured = measured and (bool(origins) or not unseen)
        share = air.share(origins.__contains__) if measured else None
        if unseen:
            origins = (*origins, BankOrigin(known, end, 0.0, measured=False))
        unknown = (itself or behind) and sampled is None and not air.is_known
        if origins or unknown:
            held = any(each.name == bank.name for each in banks_held(book, today))
            of_alarm = bank.name in doubted
            opens = (
                opens_for_co(book, bank.name) if of_alarm else what_opens(book, bank.name, today)
            )
            yield SuspectBank(bank.name, share, origins, air.shows, held, opens)
        else:
            yield from _left_behind(book, bank.name, failed, is_of_it, today)


def _left_behind(
    book: Book,
    name: str,
    failed: list[AirTest],
    is_of_it: Callable[[str, BankOrigin], bool],
    today: dt.date,
) -> Iterator[SuspectBank]:
    """A bank that was read empty of what is recalled, and is out for what that left behind."""
    for bad in banks_of_bad_air(book, today):
        if bad.bank.name != name or not bad.emptied or bad.failed not in failed:
            continue
        air = air_of(book, bad.bank)
        gone = tuple(replace(o, share=0.0) for o in air.before if is_of_it(name, o))
        held = any(each.name == name for each in banks_held(book, today))
        if gone:
            yield SuspectBank(
                name, None, gone, air.shows, held, what_opens(book, name, bad.failed.on)
            )
            return


def _is_compressor(book: Book, source: str) -> bool:
    """Whether a source is a compressor, or several of them."""
    return bool(_meant(book, source)) or _same(source, compressor_of(book))


def _boosts(book: Book, source: str | None) -> bool:
    """Whether a source is a booster, a membrane or a blender of the station."""
    every = book.station.every_fed if book.station else ()
    return source is not None and any(_same(each.name, source) for each in every)


def _failed_of(book: Book, asked: Asked, since: dt.date | None, today: dt.date) -> list[AirTest]:
    """The failed samples that speak against what is asked for."""
    source = asked.source
    failed = (t for t in _tests(book) if t.on <= today and not _is_good(book, t))
    mine = (t for t in failed if source is None or _speaks_against(book, t, source))
    return [t for t in mine if since is None or t.on >= since]


def _ends(book: Book, asked: Asked, failed: list[AirTest], today: dt.date) -> dt.datetime:
    """The moment before which gas was pumped that is recalled."""
    of_compressor = asked.source is not None and _is_compressor(book, asked.source)
    again = _good_again(book, asked.source or "", failed) if of_compressor else _NEVER
    if of_compressor and (sounded := _sounded(book, asked.source, today)):
        answer = sounded[-1][0].answer
        again = ended_by(answer) if answer else _NEVER
    return min(day_of(asked.until).last if asked.until else _NEVER, again)


_NEVER = day_of(dt.date.max).last


def _of_it(
    book: Book, asked: Asked, begun: dt.datetime | None, today: dt.date
) -> Callable[[str, BankOrigin], bool]:
    """Tells of gas in a bank whether it is recalled: by when it was pumped, and where it lay."""
    source, since = asked.source, begun.date() if begun else None
    until = _ends(book, asked, _failed_of(book, asked, since, today), today)
    of_compressor = source is not None and _is_compressor(book, source)
    boosts, station = _boosts(book, source), book.station
    pumps = _meant(book, source or "")
    several = of_compressor and len(_meant(book, "")) > 1
    # what went in unseen was of the one that is recalled where that may fill this bank
    fed = {name.casefold() for name in _banks_behind(book, source or "", since)} if several else ()

    def is_of_it(bank: str, origin: BankOrigin) -> bool:
        ended = begun is None or origin.over > begun
        if source is None:
            return ended and origin.begun < until
        if boosts and station is not None and source is not None:
            through = parts_named(station, origin.source)
            return ended and origin.begun < until and source.casefold() in through
        if several and station is not None:
            seen = origin.measured or origin.source or bank.casefold() in fed
            mine = seen and may_be_of(station, origin.source, pumps)
            return ended and origin.begun < until and bool(mine)
        if of_compressor:
            elsewhere = by_others(origin.source) and not taken_here(origin.source)
            return ended and origin.begun < until and not elsewhere
        if _same(bank, source):
            return origin.begun < until
        lain = (on for name, on in origin.through if _same(name, source))
        return origin.begun < until and any(since is None or on >= since for on in lain)

    return is_of_it


def _good_again(book: Book, source: str, failed: list[AirTest]) -> dt.datetime:
    """The moment before which a source's gas is suspect: when its first good sample after all that
    failed was drawn, the end of that day where nobody says."""
    judge = air_judge(book)
    good = (
        drawn(t).last
        for t in _tests(book)
        if book.station is not None
        and failed
        and all(is_after(t, each) for each in failed)
        and _is_of(book, t, source)
        and is_good(judge, book.station, t, failed)
    )
    return min(good, default=_NEVER)


def _since(book: Book, source: str, today: dt.date) -> tuple[dt.datetime | None, str]:
    failed = [t for t in _tests(book) if t.on <= today and not _is_good(book, t)]
    mine = [t for t in failed if _speaks_against(book, t, source)]
    if sounded := _sounded(book, source, today):
        still = held_by_alarms(book)
        left = [each for each in sounded if each == sounded[-1] or each[0].reading in still]
        alarm, since = min(left, key=lambda each: each[1] or NEVER.first)
        told = tells_bad(alarm.reading)
        if since is None:
            return None, f"{told}, and nothing before it says that the air was good"
        return since, f"{told}, and the air was last known to be good on {since.date()}"
    # a good sample of the day of a failed one clears nothing of before
    before = mine[-1].on - dt.timedelta(days=1) if mine else today
    of = air_judge(book).may_have_failed_on(mine[-1]) if mine else frozenset[str]()
    good = last_good_test(book, source, before, of)
    if good is None:
        return None, "no good test of it is on record: the whole log counts"
    by = f" by {good.by}" if good.by else ""
    if last_good_test(book, source, today) != good:
        by += f" before the failed one of {mine[-1].on}"
    hour = f" at {good.at:%H:%M}" if good.at else ""
    return drawn(good).first, f"its last good test{by} was on {good.on}{hour}"


def _sounded(
    book: Book, source: str | None, today: dt.date
) -> list[tuple[CoAlarm, dt.datetime | None]]:
    """The carbon monoxide alarms that speak against a source, oldest first, each with the moment
    up to which its air was known to be good; none where a sample failed later than the last. An
    alarm speaks against the compressors that it may be of, and what they fill."""
    meant = _meant(book, source) if source is not None else frozenset[str]()
    found = [
        (alarm, since)
        for alarm, since in alarm_times(book)
        if alarm.reading.on <= today and (not meant or alarm.pumps & meant)
    ]
    tests = (t for t in _tests(book) if t.on <= today and not _is_good(book, t))
    failed = [t.on for t in tests if source is None or _speaks_against(book, t, source)]
    return found if found and found[-1][0].reading.on >= max(failed, default=dt.date.min) else []


def _speaks_against(book: Book, test: AirTest, source: str) -> bool:
    """Whether a failed sample speaks against a source: one that was drawn nobody knows behind which
    of several compressors speaks against each."""
    of = source_of_test(book, test)
    return _same(of, source) or (not of and bool(_meant(book, source)))


def _banks_behind(book: Book, source: str, since: dt.date | None) -> tuple[str, ...]:
    """The banks that a source fills: all of them for the compressor, none for a bank; for one of
    several those that may hold what it pumped since a day."""
    banks, pumps = _banks_of(book), _meant(book, source)
    station = book.station
    if any(_same(source, name) for name in banks) or station is None:
        return ()
    if not pumps:
        return banks if _same(source, compressor_of(book)) else ()
    if pumps == own_names(station):
        return banks
    first = since or dt.date.min
    return tuple(b.name for b in station.banks if may_hold(station, b, pumps, first))


def _link(
    names: tuple[str, ...], source: str, banks: tuple[str, ...], pumps: Set[str]
) -> Link | None:
    if any(_same(n, source) or n.casefold() in pumps for n in names):
        return Link.DIRECT
    return Link.BANK if any(_same(n, b) for n in names for b in banks) else None


def _suspect(book: Book, id_: str, fills: Iterable[tuple[LogLine, Link]]) -> Suspect:
    order = list(Link)
    link = min((link for _, link in fills), key=order.index)
    lines = tuple(sorted((line for line, _ in fills), key=lambda n: n.at))
    return _placed(book, id_, link, lines, _still(book, id_, lines))


def _still(book: Book, id_: str, fills: tuple[LogLine, ...]) -> Still:
    """Whether the gas is still inside: emptied only where the log says so after the last one."""
    held = contents_of(book, id_)
    if is_empty(held.pressure):
        return Still.EMPTIED
    later = [n for n in lines_about(book, id_) if n.at > fills[-1].at]
    if any(n.act is not LogAct.FILL and is_empty(n.to) for n in later):
        return Still.EMPTIED
    if any(n.act is LogAct.FILL and is_empty(n.from_) for n in later):
        return Still.EMPTIED
    into = (n for n in lines_into(book, id_) if n.at > fills[-1].at)
    if any(n.act is LogAct.FILL for n in into):
        return Still.MIXED
    return Still.HOLDS


def _placed(
    book: Book, id_: str, link: Link, fills: tuple[LogLine, ...], still: Still | None
) -> Suspect:
    cylinder = book.cylinders.get(id_)
    if cylinder is None and id_ not in book.broken:
        # it was filled, and nothing says whose it is
        out = Still.OUT_OF_HAND if still is Still.HOLDS else still
        held_ = contents_of(book, id_)
        said = f" ({fills[-1].note})" if fills and fills[-1].note else ""
        place = f"no card of it here{said}"
        return Suspect(id_, link, fills, out, held_, None, place, NOBODY, False)
    status = status_of(book, cylinder) if cylinder else Status.HELD
    place, ring = _where(book, cylinder) if cylinder else ("its file cannot be read", "")
    gone = bool(cylinder and still_open(cylinder.lost))
    if (ring or gone) and still is Still.HOLDS:
        still = Still.OUT_OF_HAND
    held = cylinder is not None and bool(still_open(cylinder.held))
    return Suspect(id_, link, fills, still, contents_of(book, id_), status, place, ring, held)


def _where(book: Book, cylinder: Cylinder) -> tuple[str, str]:
    """Where a cylinder is now, and the reference to ring where it is not here."""
    for name, rental in out_as(book, cylinder):
        as_set = f" in {name}" if name != cylinder.id else ""
        return f"out{as_set} since {rental.on}", rental.to
    sold = standing(cylinder.handed_over)
    if sold:
        return f"sold {sold[-1].on}", sold[-1].to
    away = still_open(cylinder.sent)
    if away:
        if away[-1].for_ is SentFor.SUPPLIER:
            return f"returned to its supplier {away[-1].on}", away[-1].to
        return f"away for {away[-1].for_}", away[-1].to
    if still_open(cylinder.lost):
        return f"lost since {still_open(cylinder.lost)[-1].on}", ""
    if stays_with_owner(cylinder):
        return _customers(cylinder)
    return cylinder.place or "here", ""


def _customers(cylinder: Cylinder) -> tuple[str, str]:
    """A customer's cylinder is here while work on it is not collected, else with its owner."""
    jobs = open_jobs(cylinder)
    if jobs:
        ready = all(state_of(j) is JobState.READY for j in jobs)
        return ("here, awaiting collection" if ready else "here, for work"), ""
    return "with its owner", whose(cylinder) or NOBODY


def _in_order(suspects: Iterable[Suspect]) -> tuple[Suspect, ...]:
    """Those to be rung for first, then those here, by id."""
    return tuple(sorted(suspects, key=lambda s: (not s.ring, s.still is Still.EMPTIED, s.id)))


def by_notice(book: Book, row: WatchRow, what: str) -> Recall:
    """Every cylinder that a maker's notice names, or may name, whatever became of it; one whose
    card cannot be read may be named."""
    found = [
        _placed(book, cylinder.id, link, (), None)
        for cylinder in book.cylinders.values()
        if (link := _named(row, cylinder)) is not None
    ]
    shut = (id_ for id_ in book.broken if id_ not in {*book.cylinders, *book.broken_sets})
    found += [_placed(book, id_, Link.MAYBE, (), None) for id_ in shut if id_ not in book.sets]
    return Recall(what, None, "", _in_order(found), unread=not_seen(book, _NO_CARDS))


def _named(row: WatchRow, cylinder: Cylinder) -> Link | None:
    """Whether a notice names a cylinder. What its record does not say is held against it."""
    if is_watched(row, cylinder):
        return Link.NOTICE
    unknown: dict[str, tuple[str, ...] | None] = {}
    if made_of(cylinder) is None:
        unknown |= {"made_from": None, "made_before": None}
    if cylinder.maker is None:
        unknown |= {"maker": (), "not_maker": ()}
    if cylinder.made_in is None:
        unknown |= {"made_in": (), "not_made_in": ()}
    if not cylinder.specification:
        unknown |= {"specification": ()}
    relaxed = replace(row, **unknown)
    return Link.MAYBE if unknown and is_watched(relaxed, cylinder) else None


def notice_of(book: Book, id_: str) -> WatchRow | None:
    """A watch row in force, by its id."""
    return next((w for w in rules_of(book).watch if w.id == id_), None)
