"""What a cylinder holds, from the fill log."""

from __future__ import annotations

import datetime as dt
import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles, stays_with_owner
from tankbook.records.entries import (
    HEARD_OUT,
    Cleaned,
    Entry,
    Held,
    Inspected,
    Rejected,
    Rentals,
    Rented,
    Sent,
    Turned,
    standing,
)
from tankbook.records.kinds import EMPTY, holds_gas, is_empty
from tankbook.records.life import gravest, in_order, still_open
from tankbook.records.log import Lines, Log, LogLine
from tankbook.records.valve import ValveWork
from tankbook.records.words import (
    Bled,
    Isolator,
    LogAct,
    Method,
    PartChecked,
    SentFor,
    Status,
)
from tankbook.rules.answers import Analysis, Contents
from tankbook.rules.flow import bled_of, is_left_full
from tankbook.rules.signing import looks, names_nobody, why_nobody_to_ask
from tankbook.rules.status import is_inside, is_off_at, open_states, seen_to_away, status_of
from tankbook.units import GaugePressure, PartialDate, Temperature, time_of_day

GAUGE_ERROR_AT_MOST = GaugePressure.of(200, "psi")
"""What is over by more than this is over, however far the station lets its gauges err (common
practice, no source)."""

GAUGE_ERROR = GaugePressure.of(50, "psi")
"""How far above its limit a fill is told as a fault: the figure at which the US Navy Diving Manual
(Change A, 7-5.1.1 step 7, read) has a cylinder bled and gauged again."""

HAIR = GaugePressure.of(0.001, "psi")
"""What two figures that are written alike may differ by after they were reckoned with (own
bound)."""


def gauge_error(book: Book) -> GaugePressure:
    """How far a gauge of the station may err."""
    said = book.station.gauge_error if book.station else None
    return min(said or GAUGE_ERROR, GAUGE_ERROR_AT_MOST)


def is_above(read: GaugePressure, most: GaugePressure, by: GaugePressure | None = None) -> bool:
    """Whether a pressure is above another, by more than what it may be."""
    return read.pa - most.pa > (by.pa if by else 0.0) + HAIR.pa


NOTHING_KNOWN = Contents(None, None, None, None, None)


def void_key(line: LogLine) -> tuple[str, str]:
    """What a void line calls the line it strikes out: its time and its cylinder."""
    return line.at.isoformat(), line.cylinder


def struck_out(lines: Iterable[LogLine]) -> frozenset[tuple[str, str]]:
    """The keys of the lines that void lines strike out: each a line of its own cylinder."""
    return frozenset(struck_by(lines))


def struck_by(lines: Iterable[LogLine]) -> dict[tuple[str, str], LogLine]:
    """The first void line that strikes out each of these keys."""
    found: dict[tuple[str, str], LogLine] = {}
    for line in lines:
        if line.act is LogAct.VOID and line.voids:
            at, _, cylinder = line.voids.partition(" ")
            if cylinder in {"", line.cylinder}:
                found.setdefault((at, line.cylinder), line)
    return found


@once_per_book
def struck_out_lines(book: Book) -> frozenset[tuple[str, str]]:
    """The keys of the lines of a ledger's log that void lines strike out."""
    log = Log.of(book.log)
    acts = log.column("act")
    return struck_out(log[i] for i, act in enumerate(acts) if act is LogAct.VOID)


def is_by(person: str, said: str) -> bool:
    """Whether what a fill is signed with names somebody, alone or with others: `KD/TO`."""
    asked = person.casefold()
    return asked in {said.casefold(), *re.findall(r"\w+", said.casefold())}


@once_per_book
def _places_by_id(book: Book) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for i, name in enumerate(Log.of(book.log).column("cylinder")):
        found.setdefault(name, []).append(i)
    return found


def named_in_log(book: Book) -> tuple[str, ...]:
    """Every id that the log names."""
    return tuple(_places_by_id(book))


@once_per_book
def all_lines_of(book: Book, id_: str) -> tuple[LogLine, ...]:
    """The lines that name an id, struck out or not, with the void lines, in the log's order."""
    log = Log.of(book.log)
    return tuple(log[i] for i in _places_by_id(book).get(id_, ()))


class LogPlaces(Struct, frozen=True):
    """Where the lines that stand are in the log, by cylinder or set, in the order of their time."""

    log: Log
    by_id: Mapping[str, list[int]]

    def about(self, names: Iterable[str]) -> list[int]:
        """The places of the lines of several ids, by time."""
        found = [self.by_id[name] for name in names if name in self.by_id]
        if len(found) == 1:
            return found[0]
        times = self.log.column("at")
        return sorted((i for places in found for i in places), key=times.__getitem__)


@once_per_book
def places_of(book: Book) -> LogPlaces:
    """The lines of the log that stand, for whoever asks about a few columns of many of them."""
    log = Log.of(book.log)
    acts, times = log.column("act"), log.column("at")
    gone = struck_out_lines(book)
    found: dict[str, list[int]] = {}
    for i, (name, act) in enumerate(zip(log.column("cylinder"), acts, strict=True)):
        if act is not LogAct.VOID and not (gone and void_key(log[i]) in gone):
            found.setdefault(name, []).append(i)
    if not log.in_order:
        for places in found.values():
            places.sort(key=times.__getitem__)
    return LogPlaces(log, found)


class _ByCylinder(Mapping[str, tuple[LogLine, ...]]):
    """The lines that stand, by cylinder; those of each are made when they are asked for."""

    def __init__(self, places: LogPlaces) -> None:
        self._places = places
        self._made: dict[str, tuple[LogLine, ...]] = {}

    def __getitem__(self, name: str) -> tuple[LogLine, ...]:
        if name not in self._made:
            log = self._places.log
            self._made[name] = tuple(log[i] for i in self._places.by_id[name])
        return self._made[name]

    def __contains__(self, name: object) -> bool:
        return name in self._places.by_id

    def __iter__(self) -> Iterator[str]:
        return iter(self._places.by_id)

    def __len__(self) -> int:
        return len(self._places.by_id)


@once_per_book
def lines_by_cylinder(book: Book) -> Mapping[str, tuple[LogLine, ...]]:
    """The lines that stand, by cylinder, in the order of their time."""
    return _ByCylinder(places_of(book))


@once_per_book
def _read_empty(book: Book) -> frozenset[str]:
    """Every id of which a reading of nothing stands."""
    places = places_of(book)
    acts, pressures = (places.log.column(n) for n in ("act", "to"))
    return frozenset(
        name
        for name, each in places.by_id.items()
        if any(acts[i] is LogAct.READING and is_empty(pressures[i]) for i in each)
    )


def read_empty(book: Book, id_: str) -> Iterator[tuple[dt.date, bool]]:
    """The days on which a cylinder, or a set it belongs to, was read empty, each with whether a
    look inside of that day surely came after it: nothing was known to be in it earlier that day, or
    the hour of one says so. What was read so after its valve had been off,
    or it was looked inside, here or where it came back from, or was let out on purpose, and was
    neither filled nor away since, is no news; after a look here only where the log said before it
    what was in it: of others it may tell of gas that nobody logged. What is taken for full is not
    said to be empty."""
    if _read_empty(book).isdisjoint(names_in_log(book, id_)):
        return
    cards = _cards_of(book, id_)
    opened = [day for card in cards for day in _opened(book, card)]
    away = [(card, when) for card in cards for when in _seen_empty_away(book, card)]
    here = [(card, when) for card in cards for when in _seen_empty_here(book, card)]
    held: dt.date | None = None
    filled: dt.date | None = None
    read = _BEGINNING
    drained = _drained_here(book, id_, cards)
    for line in lines_about(book, id_):
        day = line.at.date()
        filled = day if line.act is LogAct.FILL else filled
        if holds_gas(line.from_) or holds_gas(line.to):
            held, read = day, local_time(line.at)
        elif is_taken_for_full(book, id_, line.at):
            continue
        elif line.to is not None and line.act is LogAct.READING:
            since = held or dt.date.min
            known = (since < each <= day or since == each == day for each in opened)
            stood = (
                _came_between(read, when, local_time(line.at))
                and _stayed(book, card, when.date(), day)
                for card, when in (*away, *(here if held is not None else ()))
            )
            let_out = (
                when <= line.at and _stayed_empty(book, id_, cards, when, line.at)
                for when in drained
            )
            # it held gas that day, and was not filled: whoever looked inside let that out
            looked = (
                held != filled
                and when == dt.datetime.combine(read.date(), dt.time.min)
                and _stayed(book, card, when.date(), day + dt.timedelta(days=1))
                for card, when in here
            )
            news = not (any(known) or any(stood) or any(let_out) or any(looked))
            later = (local_time(line.at) < w and w.date() == day for _, w in here)
            yield from ((day, held != day or any(later)),) if news else ()


def _drained_here(book: Book, id_: str, cards: Sequence[Cylinder]) -> list[dt.datetime]:
    """When a cylinder or a set was let out to nothing on purpose, by itself or through an isolator;
    not where it showed nothing as that began, nor where no flow was heard of it."""
    through = [line for card in cards[:1] for line in _drained_through(book, card.id)]
    own = (n for n in lines_about(book, id_) if n.act is LogAct.DRAIN and not is_empty(n.from_))
    every = (n for n in (*own, *(through if len(cards) == 1 else ())) if is_empty(n.to))
    return [n.at for n in every if not is_taken_for_full(book, id_, n.at)]


def _stayed_empty(
    book: Book, id_: str, cards: Sequence[Cylinder], since: dt.datetime, until: dt.datetime
) -> bool:
    """Whether nothing may have gone into a cylinder that was let out, by a time at which it is read
    empty: it was not filled, it showed nothing more, and nobody else had it. What left on one of
    these days, nobody says at what time, may have left between."""
    later = [n for n in lines_into(book, id_) if since < n.at <= until]
    if any(n.act is LogAct.FILL or holds_gas(n.to) for n in later):
        return False
    if not all(_was_in_hand(card, since.date()) for card in cards):
        return False
    first, last = local_time(since), local_time(until)
    left = [(r.on.last, r.at) for card in cards for r in standing(rentals_of(book, card.id))]
    left += [(each.on.last, None) for card in cards for each in standing(card.lost)]
    left += [(each.on.last, None) for card in cards for each in standing(card.sent)]
    left += [(j.collected, None) for c in cards for j in standing(c.jobs) if j.collected]
    return not any(
        first <= dt.datetime.combine(day, at) <= last
        if at is not None
        else first.date() <= day <= last.date()
        for day, at in left
    )


def _seen_empty_away(book: Book, card: Cylinder) -> Iterator[dt.datetime]:
    """When it came back from where somebody looked inside it, who had it empty for that."""
    home = {s.back for s in standing(card.sent) if s.back is not None}
    return (_time(day, None) for day in home if seen_to_away(book, card, day))


def _seen_empty_here(book: Book, card: Cylinder) -> Iterator[dt.datetime]:
    """When it passed a look inside here, for which it was empty. Of what nobody says at what time,
    the day's beginning."""
    looked = (k for k in looks_inside(book, card) if _was_in_hand(card, k.on.first))
    return (_time(look.on.first, look.at) for look in looked)


def _was_in_hand(card: Cylinder, day: dt.date) -> bool:
    """Whether a cylinder was here on a day and stayed: of a customer's own, whether work on it was
    in hand, since nobody logs where it goes otherwise."""
    return not stays_with_owner(card) or any(
        job.on.first <= day and (job.collected is None or job.collected >= day)
        for job in standing(card.jobs)
    )


def _came_between(since: dt.datetime, when: dt.datetime, until: dt.datetime) -> bool:
    """Whether something came after gas was last known to be in a cylinder, and by the time it was
    read empty: by the hours of one day, or on a later one."""
    by_hours = when != dt.datetime.combine(when.date(), dt.time.min)
    return (since < when if by_hours else since.date() < when.date()) and (
        when <= until or (not by_hours and when.date() == until.date())
    )


def _stayed(book: Book, card: Cylinder, since: dt.date, until: dt.date) -> bool:
    """Whether nobody else had it between two days: it was not rented out, sent, lost or collected
    from the first on. What left on the last day was here before."""
    left = [each.on.last for each in (*standing(rentals_of(book, card.id)), *standing(card.lost))]
    left += [s.on.last for s in standing(card.sent) if s.back != since]
    left += [job.collected for job in standing(card.jobs) if job.collected is not None]
    return not any(since <= day < until for day in left)


def begun_empty(book: Book, card: Cylinder) -> Iterator[dt.date]:
    """The days on which a fill or a drain began with nothing where something was known to be in it,
    and no work let it out. Who drained the other side of its set to nothing through an open
    isolator drained this one."""
    known: dt.date | None = None
    drained = _drained_through(book, card.id)
    for line in sorted((*lines_about(book, card.id), *drained), key=lambda n: n.at):
        day = line.at.date()
        if line in drained:
            known = None
            continue
        began = line.act in {LogAct.FILL, LogAct.DRAIN}
        begun = began and is_empty(line.from_)
        if begun and known is not None and not _worked_on(book, card, known, day):
            yield day
        for read in (line.from_, line.to):
            if read is not None:
                known = day if read >= EMPTY else None


def _drained_through(book: Book, id_: str) -> list[LogLine]:
    """The lines by which the other side of its set was drained to nothing through an isolator that
    stood open then."""
    lines = (places_of(book).log[i] for i in _through(book, id_, may=False, act=LogAct.DRAIN))
    sets = _sets_of(book, id_)
    return [n for n in lines if is_empty(n.to) and all(_surely_open(s, n.at) for s in sets)]


@once_per_book
def _shown_through(book: Book, id_: str) -> frozenset[int]:
    """Where the log tells by another side of its set, read or let out by itself, what pressure a
    cylinder is at: its isolator stood open then, and its own gauge says nothing else, read by
    itself that day, or before at less, but at nothing, since who takes it for empty opens
    it. One that reads nothing tells only of itself."""
    if id_ in book.every_set:
        return frozenset()
    places, sets = places_of(book), _sets_of(book, id_)
    own = [n for n in lines_by_cylinder(book).get(id_, ()) if n.act is not LogAct.FILL]
    found = set()
    for act in (LogAct.READING, LogAct.DRAIN):
        for i in _through(book, id_, may=False, act=act):
            line = places.log[i]
            if line.to is None or (act is LogAct.READING and is_empty(line.to)):
                continue
            if not all(_surely_open(s, line.at) for s in sets):
                continue
            at = local_time(line.at)
            level = [w for each in sets for w in _joined_again(each) if w < at]
            day = dt.datetime.combine(at.date(), dt.time.min)
            since = max((day, *level))
            own_day = (n for n in own if n.at.date() == line.at.date())
            told = act is LogAct.READING and any(since <= local_time(n.at) for n in own_day)
            joint = (local_time(n.at) for n in lines_held(book, id_) if n not in own)
            both = max((w for w in (*joint, *level) if w < at), default=_BEGINNING)
            read = [n.to for n in own if n.to and both <= local_time(n.at) < at]
            less = read and holds_gas(read[-1]) and _rose(read[-1], line.to, _allowed(book))
            if not told and not less:
                found.add(i)
    return frozenset(found)


def _worked_on(book: Book, card: Cylinder, since: dt.date, until: dt.date) -> bool:
    """Whether work that lets the gas out was done from one day to another, those days included."""
    return any(since <= day <= until for day in let_out(book, card))


OPENED_FOR = frozenset({Method.HYDROSTATIC, Method.PROOF, Method.EDDY_CURRENT})
"""Tests before which the valve comes off; ultrasound and acoustic emission reach through the wall
(common practice, no source)."""


class LetOut(StrEnum):
    """Whether work let the gas of a cylinder out. What is only said, or follows from the work and
    nobody says how it was bled, takes nothing out of what it holds; but whoever finds it full after
    that asks who filled it, as after any such work."""

    KNOWN = "somebody who can be asked says how it was bled"
    SAID = "it is said, and nobody can be asked, or nobody says how it was bled"
    NOT_SAID = "nothing says so"


def let_out_by(book: Book, work: ValveWork | Cleaned) -> LetOut:
    """Whether work at the bench, after which nobody has to look inside, let the gas out."""
    if not work.lets_out:
        return LetOut.NOT_SAID
    heard = work.bled in HEARD_OUT or isinstance(work, Cleaned)
    return _told(book, heard, work.by, work.on)


def _told(book: Book, heard: bool, by: str | None, on: PartialDate) -> LetOut:
    """Of work that let the gas out, whether it was `heard` to, from somebody who can be asked."""
    known = heard and not why_nobody_to_ask(book.settings.people, by, on)
    return LetOut.KNOWN if known else LetOut.SAID


def let_out(book: Book, card: Cylinder) -> Iterator[dt.date]:
    """The days of a test, a look inside, work for which the valve came off, here, at a test house
    or a repairer's."""
    return (when.date() for when in let_out_at(book, card))


def _may_have_let_out(book: Book, card: Cylinder) -> Iterator[tuple[dt.datetime, dt.datetime]]:
    """As `let_out_at`, with the work of which only nobody can be asked: for what tells against it.
    From when to when it may have been done: the whole day where nobody says at what time."""
    yield from map(_when_done, let_out_at(book, card))
    yield from (_when_done(when) for when, how in _opened_at(book, card) if how is LetOut.SAID)


def _when_done(when: dt.datetime) -> tuple[dt.datetime, dt.datetime]:
    day = tuple(dt.datetime.combine(when.date(), end) for end in (dt.time.min, dt.time.max))
    return (day[0], day[1]) if when in day else (when, when)


def local_time(at: dt.datetime) -> dt.datetime:
    """A moment as the clocks showed it."""
    return at.replace(tzinfo=None, microsecond=0)


def _opened(book: Book, card: Cylinder) -> Iterator[dt.date]:
    """The days on which its valve came off at the bench, for work after which nobody has to look
    inside."""
    return (when.date() for when, how in _opened_at(book, card) if how is LetOut.KNOWN)


def _opened_at(
    book: Book, card: Cylinder, but: Cleaned | ValveWork | None = None, *, bled: bool = False
) -> Iterator[tuple[dt.datetime, LetOut]]:
    """When its valve is said to have come off at the bench, and how well that is known: for work on
    the valve, to clean it, `but` for one cleaning, or to make up doubles or take them apart; where
    it is said how it was `bled`, if only that is asked for."""
    done: list[ValveWork | Cleaned] = [*standing(card.valve_work), *standing(card.cleaned)]
    for work in done:
        heard = work.bled in HEARD_OUT
        if work is but or (bled and not heard):
            continue
        if heard or not _may_be_in_doubt(book, card, _time(work.on.first, work.at)):
            yield _time(work.on.first, work.at), let_out_by(book, work)
    for doubles in _sets_of(book, card.id):
        for day, at, by, heard in doubles.opened():
            yield _time(day, at), _told(book, heard, by, PartialDate.of(day))
    for held in standing(card.held):
        if held.released is not None and held.let_out is not None:
            on = PartialDate.of(held.released)
            yield held.let_out, _told(book, True, held.released_by, on)


def flow_doubts(book: Book, card: Cylinder) -> tuple[tuple[dt.datetime, dt.datetime], ...]:
    """From when to when a cylinder is taken for full because no flow was heard when it was bled:
    until somebody who can be asked says how it was let out, or it was tested or refitted with its
    valve off. What a gauge shows meanwhile is no proof: its valve or dip tube may be blocked."""
    return _flow_doubts(book, card.id)


@once_per_book
def _flow_doubts(book: Book, id_: str) -> tuple[tuple[dt.datetime, dt.datetime], ...]:
    card = book.cylinders.get(id_)
    if card is None:
        return ()
    begun = [
        _time(each.on.first, getattr(each, "at", None))
        for each in _said_bled(card)
        if bled_of(each) is Bled.NO_FLOW
    ]
    if not begun:
        return ()
    heard = (each for each in _said_bled(card) if bled_of(each) in HEARD_OUT)
    ends = [_time(e.on.first, getattr(e, "at", None)) for e in heard if _can_be_asked(book, e)]
    done = (when for when, how in _opened_at(book, card, bled=True) if how is LetOut.KNOWN)
    ends += [*done]
    ends += [_time(t.on.first, None) for t in standing(card.requalified) if t.method in OPENED_FOR]
    sent = (s for s in standing(card.sent) if s.for_ is not SentFor.SUPPLIER)
    ends += [_time(each.refitted, None) for each in sent if each.refitted]
    return tuple((b, min((e for e in ends if e >= b), default=_END)) for b in sorted(begun))


_MaySayBled: TypeAlias = ValveWork | Cleaned | Inspected | Sent | Held | Rejected


def _said_bled(card: Cylinder) -> Iterator[_MaySayBled]:
    """Every entry of a card that may say how it was bled."""
    yield from (work for work in standing(card.valve_work) if work.is_off)
    yield from standing(card.cleaned)
    yield from standing(card.inspected)
    yield from (s for s in standing(card.sent) if s.for_ is not SentFor.SUPPLIER)
    yield from standing(card.held)
    yield from standing(card.rejected)


def _can_be_asked(book: Book, entry: _MaySayBled) -> bool:
    """Whether somebody can be asked who says how it was bled; of what went away whoever had it."""
    return isinstance(entry, Sent) or _told(book, True, entry.by, entry.on) is LetOut.KNOWN


def is_taken_for_full(book: Book, id_: str, at: dt.datetime | None = None) -> bool:
    """Whether a cylinder, or a side of a set, is taken for full since no flow was heard, now or at
    a time."""
    when = _END if at is None else local_time(at)
    spans = (span for card in _cards_of(book, id_) for span in flow_doubts(book, card))
    return any(begun <= when and (when < end or end == _END) for begun, end in spans)


def held_for(book: Book, card: Cylinder, held: Held) -> str:
    """Why a cylinder is held, as it stands: of what let no flow be heard, and was let out since,
    not that it is taken for full."""
    if bled_of(held) is not Bled.NO_FLOW or is_taken_for_full(book, card.id):
        return held.why
    return "no flow was heard when it was bled; it was let out since, and nobody says what it was"


def why_kept(book: Book, cylinder: Cylinder, status: Status) -> str:
    """Every reason on record for a state, the newest first, as it stands."""
    found: list[str] = []
    if status is Status.HELD:
        found = [held_for(book, cylinder, h) for h in still_open(cylinder.held)]
    if status is Status.REJECTED:
        found = [r.why for r in still_open(cylinder.rejected)]
    if status is Status.CONDEMNED:
        found = [c.why for c in standing(cylinder.condemned)]
    return "; ".join(dict.fromkeys(reversed(found)))


def _may_be_in_doubt(book: Book, card: Cylinder, when: dt.datetime) -> bool:
    """Whether work of a time, or of a day, was done while a cylinder was taken for full, or may
    have been."""
    first, last = _when_done(when)
    return any(begun <= last and first < end for begun, end in flow_doubts(book, card))


_BEGINNING = dt.datetime.combine(dt.date.min, dt.time.min)
_END = dt.datetime.combine(dt.date.max, dt.time.max)


def _manifold_off(book: Book, card: Cylinder) -> Iterator[dt.datetime]:
    """When its set was made up or taken apart, and was heard to be let out for that."""
    for doubles in _sets_of(book, card.id):
        for day, at, by, heard in doubles.opened():
            if _told(book, heard, by, PartialDate.of(day)) is LetOut.KNOWN:
                yield _time(day, at)


def let_out_before(
    book: Book, card: Cylinder, work: Cleaned | ValveWork
) -> tuple[dt.datetime, ...]:
    """When the gas of a cylinder is known to have been let out by the end of the day or month of a
    cleaning or of work on its valve, by anything else."""
    times = _let_out_at(book, card, work)
    return tuple(when for when in times if when.date() <= work.on.last)


def _time(day: dt.date, at: dt.time | None) -> dt.datetime:
    """A day and a time of it: the day's beginning where nobody says, since what was filled that day
    may have been filled after it."""
    return dt.datetime.combine(day, at or dt.time.min)


def let_out_at(book: Book, card: Cylinder) -> Iterator[dt.datetime]:
    """As `let_out`, and at what time of the day: at its beginning where nobody says, at its end
    where what went away was filled before."""
    return _let_out_at(book, card)


def bled_at(book: Book, card: Cylinder) -> Iterator[dt.datetime]:
    """As `let_out_at`, where somebody who can be asked says how it was bled, or its valve was off
    for a test: what is suspect in a cylinder goes by no other work."""
    return _let_out_at(book, card, bled=True)


def unsaid_bled(
    book: Book, card: Cylinder
) -> Iterator[tuple[str, Sequence[Entry], Inspected | Cleaned | Sent]]:
    """The work inside a cylinder of which nobody says how it was bled: the list of the card that
    has it, all of that list, and the entry."""
    looks = [i for i in standing(card.inspected) if _is_opened(book, i)]
    yield from (("inspected", card.inspected, e) for e in looks if e.bled is None)
    yield from (("cleaned", card.cleaned, e) for e in standing(card.cleaned) if e.bled is None)
    away = (s for s in standing(card.sent) if s.for_ is not SentFor.SUPPLIER)
    yield from (("sent", card.sent, e) for e in away if e.bled is None)


def _off_away(book: Book, card: Cylinder, *, bled: bool = False) -> Iterator[dt.datetime]:
    """When its valve came off where it was sent; where it is said how it was `bled`, if only that
    is asked for."""
    for sent in standing(card.sent):
        if not bled or sent.bled in HEARD_OUT:
            doubted = _may_be_in_doubt(book, card, _time(sent.on.first, None))
            yield from _off(sent, as_full=doubted and sent.bled not in HEARD_OUT)


def _off_elsewhere(book: Book, card: Cylinder) -> Iterator[dt.datetime]:
    """When its valve came off where it was sent, or where somebody elsewhere looked inside it."""
    yield from _off_away(book, card)
    for look in standing(card.inspected):
        when = _time(look.on.first, look.at)
        if PartChecked.INSIDE in look.checked and not _may_be_in_doubt(book, card, when):
            yield when


def _let_out_at(
    book: Book, card: Cylinder, but: Cleaned | ValveWork | None = None, *, bled: bool = False
) -> Iterator[dt.datetime]:
    yield from _off_away(book, card, bled=bled)
    for test in standing(card.requalified):
        if test.method in OPENED_FOR:
            yield _tested_at(book, card, test.on)
    for look in standing(card.inspected):
        heard = look.bled in HEARD_OUT
        known = not bled or _told(book, heard, look.by, look.on) is LetOut.KNOWN
        when = _time(look.on.first, look.at)
        doubted = not heard and _may_be_in_doubt(book, card, when)
        if known and _is_opened(book, look) and not doubted:
            yield when
    opened = _opened_at(book, card, but, bled=bled)
    yield from (when for when, how in opened if how is LetOut.KNOWN)


def _tested_at(book: Book, card: Cylinder, on: PartialDate) -> dt.datetime:
    """From when on its valve was off for a test: the beginning of its day. Of a month it may have
    been any day: not before gas was read in it that was there before, since no fill of that month
    made it."""
    when = _time(on.first, None)
    for line in lines_about(book, card.id) if on.day is None else ():
        if line.at.date() < on.first:
            continue
        if line.act is LogAct.FILL or line.at.date() > on.last:
            break
        when = local_time(line.at) if holds_gas(line.to) else when
    return when


def _is_opened(book: Book, look: Inspected) -> bool:
    """Whether a cylinder was opened for a look, here or elsewhere: not one that was not empty yet,
    where nobody says how it was let out."""
    if look.bled is None and is_left_full(look):
        return False
    return is_inside(book, look.checklist) or PartChecked.INSIDE in look.checked


def _off(sent: Sent, *, as_full: bool = False) -> Iterator[dt.datetime]:
    """From when on the valve is off for a test or a repair, and till when; where no flow was heard
    when it was bled, or before (`as_full`), and at a supplier's, only once its valve was fitted
    again, since nothing else says that it came off. What went and was away overnight was filled
    that day before it went."""
    if as_full or bled_of(sent) is Bled.NO_FLOW or sent.for_ is SentFor.SUPPLIER:
        days = [sent.refitted]
    else:
        days = [sent.on.first, sent.back]
    overnight = sent.on.day is not None and (sent.back is None or sent.back > sent.on.first)
    for day in days:
        went = day == sent.on.first and overnight
        if day is not None:
            yield dt.datetime.combine(day, dt.time.max if went else dt.time.min)


def begins_empty(book: Book, id_: str, at: dt.datetime | None = None) -> bool:
    """Whether the next fill of a cylinder or set, or one at a time, begins with nothing in it: work
    that lets the gas out came after all that was put in, and not after that time by the hours. What
    customers do with their own meanwhile is theirs."""
    held, cards = contents_of(book, id_), _cards_of(book, id_)
    if held.pressure is None or not is_empty(held.pressure) or not cards:
        return False
    done = (
        (when for when in let_out_at(book, c) if at is None or _may_be_by(when, at)) for c in cards
    )
    days = [{when.date() for when in each} for each in done]
    return not any(map(stays_with_owner, cards)) and all(held.on in each for each in days)


def _may_be_by(when: dt.datetime, at: dt.datetime) -> bool:
    """Whether something of a time, or of a day whose time nobody says, may have been by another."""
    return _when_done(when)[0] <= local_time(at)


@once_per_book
def sets_with(book: Book) -> Mapping[str, tuple[str, ...]]:
    """The sets each cylinder belongs to."""
    return _by_side(book.sets)


@once_per_book
def _once_in(book: Book) -> Mapping[str, tuple[str, ...]]:
    """The sets each cylinder belonged to, that were taken apart."""
    return _by_side(book.apart)


def _by_side(sets: Mapping[str, Doubles]) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for name, doubles in sets.items():
        for member in doubles.cylinders:
            found[member] = (*found.get(member, ()), name)
    return found


def names_in_log(book: Book, id_: str) -> tuple[str, ...]:
    """The names under which the log tells of a cylinder or set: its own, and those of its sets,
    taken apart or not."""
    return (id_, *sets_with(book).get(id_, ()), *_once_in(book).get(id_, ()))


def _sets_of(book: Book, id_: str) -> list[Doubles]:
    """The sets of a cylinder, taken apart or not; or a set itself."""
    every = book.every_set
    return [every[name] for name in names_in_log(book, id_) if name in every]


@once_per_book
def contents_of(book: Book, id_: str) -> Contents:
    """What a cylinder or set holds, as last recorded.

    A return from rental later than the last line replaces the pressure, not the gas; one on the
    day of a fill is later only if the rental began that day too. A cylinder drained or read empty
    holds no gas that counts. A set whose isolator is shut, or whose sides were read at two
    pressures since, is told by its emptier side, without a gas where the sides differ; `sides_of`
    tells both.
    """
    doubles = book.sets.get(id_)
    if doubles is None:
        return _as_recorded(book, id_)
    if doubles.isolator is Isolator.SHUT:
        return _of_sides([held for _, held in sides_of(book, doubles)])
    held = _of_joined(book, doubles, _as_recorded(book, id_))
    if held.gas is not None and any(_holds_unknown(side) for _, side in sides_of(book, doubles)):
        # what was in a side before it was made up is in the set that was filled on that
        held = replace(held, gas=None, analysis=None, source="")
    return held


def contents_at(book: Book, id_: str, at: dt.datetime) -> Contents:
    """What a cylinder held at a time, as the clocks showed it, by its own records."""
    return _as_recorded(book, id_, at)


def _holds_unknown(held: Contents) -> bool:
    """Whether a cylinder holds what nobody knows, by its own records."""
    return held.gas is None and held.fills > 0 and holds_gas(held.pressure)


def sides_of(book: Book, doubles: Doubles) -> tuple[tuple[str, Contents], ...]:
    """What each cylinder of a set holds: with the isolator shut, each has its own reading."""
    return tuple((member, _as_recorded(book, member)) for member in doubles.cylinders)


def _of_joined(book: Book, doubles: Doubles, held: Contents) -> Contents:
    """What a set holds whose isolator is not known to be shut, where its sides were read by
    themselves after what is known of it: what one of them shows is the pressure of both, of two
    that differ the lower; the gas only where both hold the same. Of a set of which nothing else is
    known one side alone tells nothing."""
    read = _read_since(book, doubles, held)
    unknown = held.pressure is None and held.gas is None
    if not read or (unknown and len(read) < len(doubles.cylinders)):
        return held
    sides = dict(sides_of(book, doubles))
    newest, _, _ = max(read, key=lambda each: each[1].at)
    now = sides[newest] if _read_alike(book, read) else _of_sides([sides[s] for s, _, _ in read])
    if len({each.gas for each in sides.values()}) > 1:
        now = replace(now, gas=None, analysis=None, source="")
    return replace(now, fills=held.fills)


def _read_since(
    book: Book, doubles: Doubles, held: Contents
) -> list[tuple[str, LogLine, GaugePressure]]:
    """The sides of a set that were last read by themselves after what is known of the set, while
    they hung together: the line, and what it shows."""
    found = []
    known = local_time(held.at) if held.at is not None and held.at.date() == held.on else None
    if known is None:
        opened = (at for at in _joined_again(doubles) if at.date() == held.on)
        known = max(opened, default=None)  # what came level then was known by the hour
    for side in doubles.cylinders:
        last = None
        for line in lines_by_cylinder(book).get(side, ()):
            joined = doubles.joined(line.at.date(), time_of_day(line.at))
            if line.act is not LogAct.FILL and line.to is not None and joined:
                last = side, line, line.to
        if last is not None:
            at = last[1].at
            if local_time(at) > known if known else at.date() > (held.on or dt.date.min):
                found.append(last)
    return found


def _read_alike(book: Book, read: list[tuple[str, LogLine, GaugePressure]]) -> bool:
    """Whether what sides were read at differs by no more than the weather and the gauge explain."""
    low, *_, high = sorted([*(pressure for _, _, pressure in read)] * 2)
    return not _rose(low, high, _allowed(book))


def _allowed(book: Book) -> GaugePressure:
    """How far a pressure may rise without a fill."""
    return min(book.settings.unexplained or UNEXPLAINED, UNEXPLAINED_AT_MOST)


def read_otherwise(book: Book, doubles: Doubles) -> Iterator[tuple[str, LogLine, GaugePressure]]:
    """The sides of a set that were last read by themselves, after what is known of the set, at
    another pressure than that, though its isolator is not known to be shut: the line, and what is
    known of the set. Where both were read and show the same, that is the set's; where nothing else
    is known of it, the lower is."""
    if doubles.isolator is Isolator.SHUT:
        return
    held = _as_recorded(book, doubles.id)
    read = _read_since(book, doubles, held)
    every = len(read) == len(doubles.cylinders)
    if not read or (every and _read_alike(book, read)) or (held.pressure is None and not every):
        return
    known = held.pressure or min(pressure for _, _, pressure in read)
    for side, line, pressure in read:
        low, high = sorted((known, pressure))
        if _rose(low, high, _allowed(book)):
            yield side, line, known


def _of_sides(sides: list[Contents]) -> Contents:
    read = [(held.pressure.pa, held) for held in sides if held.pressure is not None]
    if not read or len(read) < len(sides):
        return NOTHING_KNOWN
    _, lowest = min(read, key=lambda each: each[0])
    same = all(held.gas == lowest.gas for held in sides)
    return lowest if same else replace(lowest, gas=None)


def _as_recorded(book: Book, id_: str, until: dt.datetime = _END) -> Contents:
    """What a cylinder or a set holds by its own records, or held by a time."""
    places = places_of(book)
    doubted, times = _perhaps_through(book, id_), places.log.column("at")
    shown = _shown_through(book, id_)
    about = sorted({*_places_into(book, id_), *doubted, *shown}, key=times.__getitem__)
    acts, names, own = (
        places.log.column("act"),
        places.log.column("cylinder"),
        names_in_log(book, id_),
    )
    fills = [n for n, i in enumerate(about) if acts[i] is LogAct.FILL]
    begin = fills[-_FILLS_BACK:]
    contents, bled = NOTHING_KNOWN, False
    opened = _openings(book, id_, until)
    for i in about[begin[0] if begin else 0 :]:
        line = places.log[i]
        if local_time(line.at) > until:
            break
        while opened and opened[0][0] < local_time(line.at):
            contents = _mixed(book, contents, *opened.pop(0))
        before = contents
        if shows_no_less(book, id_, line, before.pressure):
            continue
        if i in doubted:
            contents = _of_nobody_knows_what(replace(_after(before, line), pressure=None))
            contents = replace(contents, temperature=None)
            continue
        if i in shown and is_empty(line.to) and is_empty(before.pressure):
            continue
        if i in shown:
            # what bled through an isolator that nobody looked at is not known to be empty
            to = None if is_empty(line.to) else line.to
            bled = to is None
            most = before.pressure or before.most
            contents = replace(_at_pressure(before, to, line.at.date()), at=line.at, most=most)
            if _came_fuller(book, id_, before, line.to, line.temperature, local_time(line.at)):
                contents = _of_nobody_knows_what(contents)
            continue
        begun = line.from_ if line.cylinder in own else None
        filled = line.act is LogAct.FILL
        seen = begun if filled else line.to
        if bled and seen is not None and _rose(NOTHING, seen, _allowed(book)):
            # it bled with the other side, or its isolator was not open: nobody knows which
            before = _of_nobody_knows_what(replace(before, pressure=NOTHING))
        bled = bled and seen is None
        contents = _after(before, line)
        if seen is not None and _opened_since(book, id_, before, local_time(line.at), seen):
            if _rose(NOTHING, seen, _allowed(book)):
                before = replace(before, gas=None, pressure=NOTHING)
            elif holds_gas(seen):  # so little is what a purge leaves, and not what was in it before
                before = replace(NOTHING_KNOWN, pressure=NOTHING, filled_at=before.filled_at)
                contents = _after(before, line)
        if filled and _is_topped_unknown(before, line, begun):
            contents = replace(contents, gas=None, source="")
        if not filled and _came_fuller(
            book, id_, before, line.to, line.temperature, local_time(line.at)
        ):
            contents = _of_nobody_knows_what(contents)
    for each in opened:
        contents = _mixed(book, contents, *each)
    emptied = _emptied_since(book, id_, contents, until)
    if emptied is not None and _emptied_in_part(book, id_, contents):
        contents = replace(_of_nobody_knows_what(contents), pressure=None, temperature=None)
        contents = replace(contents, on=emptied, at=None)
    elif emptied is not None:
        contents = replace(NOTHING_KNOWN, fills=contents.fills, filled_at=contents.filled_at)
        away = any(still_open(card.sent) for card in _cards_of(book, id_))
        if not (away or (id_ in book.sets and emptied_alone(book, book.sets[id_]))):
            nothing = GaugePressure.of(0, book.settings.units.value)
            contents = replace(contents, pressure=nothing, on=emptied)
    for rental in standing(rentals_of(book, id_)):
        if rental.back is not None and rental.back > until.date():
            continue
        gone_since = emptied is not None and rental.back is not None and rental.back <= emptied
        later = _is_later(rental, contents) and not gone_since
        if rental.pressure is not None and later and not is_logged(book, id_, rental):
            before, contents = contents, _at_pressure(contents, rental.pressure, rental.back)
            if _came_fuller(book, id_, before, rental.pressure):
                contents = _of_nobody_knows_what(contents)
    # what went into both sides may be written of each: who filled one twice is not told so
    as_own = sum(names[about[n]] in own for n in fills)
    full = is_taken_for_full(book, id_) if until == _END else False
    return replace(contents, fills=as_own or len(fills), no_flow=full)


def shows_no_less(book: Book, id_: str, line: LogLine, known: GaugePressure | None = None) -> bool:
    """Whether a line that is no fill shows less than is known, or nothing, of a cylinder that is
    taken for full then: that is no proof of anything, since its valve may be blocked."""
    if line.act is LogAct.FILL or line.to is None:
        return False
    less = is_empty(line.to) or (known is not None and line.to < known)
    return less and is_taken_for_full(book, id_, line.at)


def _openings(
    book: Book, id_: str, until: dt.datetime
) -> list[tuple[dt.datetime, str, tuple[str, ...]]]:
    """When the isolator of a set was opened that had been shut, before a time, of which side or
    set, and its sides; oldest first."""
    found = [
        (at, id_, doubles.cylinders)
        for doubles in _sets_of(book, id_)
        for at in _joined_again(doubles)
        if at < until
    ]
    return sorted(found)


def _mixed(
    book: Book, before: Contents, at: dt.datetime, id_: str, sides: tuple[str, ...]
) -> Contents:
    """What is in a side, or in both, once the isolator was opened: as before where both held the
    same; else nobody knows how much, nor, of two gases, what, until it is read, or analysed."""
    others = [side for side in sides if side != id_]
    mine = _as_recorded(book, id_ if len(others) < len(sides) else others[0], at)
    mine, theirs = replace(mine, fills=before.fills), _as_recorded(book, others[-1], at)
    both = [each.pressure for each in (mine, theirs) if each.pressure is not None]
    if len(both) == 2 and all(map(is_empty, both)):
        return mine
    alike = len(both) == 2 and not _rose(min(both), max(both), _allowed(book))
    empty = [is_empty(each.pressure) for each in (mine, theirs)]
    known = theirs if empty[0] else mine
    one_gas = any(empty) or mine.gas == theirs.gas
    if alike and one_gas:
        return mine
    held = known if one_gas else _of_nobody_knows_what(mine)
    same = {"fills": mine.fills, "filled_at": mine.filled_at or known.filled_at}
    bounds = [p for each in (mine, theirs) if (p := each.pressure or each.most) is not None]
    most = _halfway(*bounds) if len(bounds) == len(sides) == 2 else None
    held = replace(held, pressure=None, temperature=None, at=None, on=at.date(), most=most)
    return replace(held, **same)


_FILLS_BACK = 3
"""So many fills are looked back for gas that nobody knows and that was only topped up."""


def _is_topped_unknown(before: Contents, line: LogLine, begun: GaugePressure | None) -> bool:
    """Whether a fill was put on gas that nobody knows, and was not analysed."""
    left = begun if begun is not None else before.pressure
    unknown = before.gas is None and before.fills > 0
    return unknown and line.o2 is None and (left is None or holds_gas(left))


def _came_fuller(
    book: Book,
    id_: str,
    before: Contents,
    read: GaugePressure | None,
    temperature: Temperature | None = None,
    until: dt.datetime = _END,
) -> bool:
    """Whether it was read fuller than it was known to be, by a time, and no other side of its set
    held that before, by what is known of it: somebody filled it, with what nobody wrote down."""
    allowed = _allowed(book)
    warmed = _warmed(before.temperature, temperature)
    known = before.pressure or before.most
    if read is None or known is None or not _rose(known, read, allowed, warmed):
        return False
    sides = {side for each in _sets_of(book, id_) for side in each.cylinders} - {id_}
    then = until - dt.timedelta.resolution
    others = (_as_recorded(book, side, then) for side in sides)
    same = (h.pressure for h in others if before.gas is not None and h.gas == before.gas)
    return not any(
        given is not None
        and given.pa >= read.pa
        and not _rose(_halfway(known, given), read, allowed)
        for given in same
    )


def _halfway(one: GaugePressure, other: GaugePressure) -> GaugePressure:
    """The pressure to which two cylinders of one volume come level."""
    return GaugePressure.of((one.psi + other.psi) / 2, "psi")


def _opened_since(
    book: Book, id_: str, before: Contents, until: dt.datetime, read: GaugePressure
) -> bool:
    """Whether its valve came off between what was known to be in it and a time at which it is read:
    nothing of before is in it, whatever that shows, where somebody says how it was bled, or it was
    off elsewhere; where nobody does, if it shows as much as only a fill makes it."""
    cards = _cards_of(book, id_)
    if before.on is None or before.pressure is None or not cards:
        return False
    known = before.at is not None and before.at.date() == before.on
    then = time_of_day(before.at) if before.at and known else dt.time.max
    since = dt.datetime.combine(before.on, then)

    def is_between(times: Iterable[tuple[dt.datetime, dt.datetime]]) -> bool:
        return any(since < first and last < until for first, last in times)

    return all(
        is_between(map(_when_done, (*bled_at(book, card), *_off_elsewhere(book, card))))
        or (_is_half_full(card, read) and is_between(_may_have_let_out(book, card)))
        for card in cards
    )


def _of_nobody_knows_what(contents: Contents) -> Contents:
    """The pressure alone: neither gas nor analysis is known of what somebody else put in."""
    return replace(
        NOTHING_KNOWN,
        pressure=contents.pressure,
        temperature=contents.temperature,
        at=contents.at,
        on=contents.on,
        filled_at=contents.filled_at,
        fills=contents.fills,
    )


def filled_elsewhere(book: Book, card: Cylinder) -> Contents | None:
    """What a cylinder holds that somebody else filled since the log knew it; None where nobody did.
    What customers do with their own is theirs."""
    held = _as_recorded(book, card.id)
    # of what came level with another gas and was not read since neither is known
    full = holds_gas(held.pressure) or (held.pressure is None and held.on is not None)
    return held if full and held.gas is None and held.fills and not stays_with_owner(card) else None


def is_told_by_sides(book: Book, doubles: Doubles) -> bool:
    """Whether what a set holds is what each of its sides does: its isolator is shut, one side was
    emptied and the other is full on record, or they were read at two pressures."""
    if doubles.isolator is Isolator.SHUT or emptied_alone(book, doubles) is not None:
        return True
    return any(read_otherwise(book, doubles))


def emptied_alone(book: Book, doubles: Doubles) -> tuple[str, dt.date, str, GaugePressure] | None:
    """The side of a set that work emptied, when, and the other that is full on record, though no
    isolator is known to be shut between the two: both cannot be so, and nobody knows which the set
    is."""
    if doubles.isolator is Isolator.SHUT:
        return None
    held = sides_of(book, doubles)
    full = [(side, c.pressure) for side, c in held if c.pressure and holds_gas(c.pressure)]
    for side, contents in held:
        opened = {day for card in _cards_of(book, side) for day in let_out(book, card)}
        if full and is_empty(contents.pressure) and contents.on in opened:
            return side, contents.on, *full[0]
    return None


def _emptied_since(
    book: Book, id_: str, held: Contents, until: dt.datetime = _END
) -> dt.date | None:
    """When work was last done that lets the gas out, since what was known to be held, by a time: a
    test, a look inside, a cleaning, the valve off at a test house or a repairer's. None where none
    was; of the day itself what is known to have come later."""
    if held.on is None:
        cards = _cards_of(book, id_)
        if id_ not in book.sets:
            heard = (day for card in cards for day in _heard_empty(book, card))
            return max((day for day in heard if day <= until.date()), default=None)
        made_up = bool(book.sets[id_].made_up)
        done = (at for card in cards if made_up for at in let_out_at(book, card))
        return max((at.date() for at in done if local_time(at) <= until), default=None)
    known = held.at is not None and held.at.date() == held.on
    since = dt.datetime.combine(held.on, time_of_day(held.at) if held.at and known else dt.time.max)
    times = (each for card in _cards_of(book, id_) for each in let_out_at(book, card))
    return max((each.date() for each in times if since < each <= until), default=None)


def _emptied_in_part(book: Book, id_: str, held: Contents) -> bool:
    """Whether work let the gas out of one side of a set since what was known to be held, and of
    another nothing says so: the other side's record stands, and the set is not known to be empty.
    """
    sides = [c.id for c in _cards_of(book, id_)] if id_ in book.sets else []
    emptied = [
        _emptied_since(book, side, held) is not None
        or is_empty(_as_recorded(book, side).pressure)  # drained by itself
        for side in sides
    ]
    return any(emptied) and not all(emptied)


def _heard_empty(book: Book, card: Cylinder) -> Iterator[dt.date]:
    """The days on which somebody who can be asked heard it bleed until it stopped, whatever was in
    it before. What went to a supplier bled may come back filled; and where no flow was heard later,
    nothing says what is in it."""
    away = [s for s in standing(card.sent) if s.for_ is SentFor.SUPPLIER]
    bled = [*_said_bled(card)]
    doubts = [s.back for s in away if s.back]
    doubts += [each.on.first for each in bled if bled_of(each) is Bled.NO_FLOW]
    since = max(doubts, default=dt.date.min)
    heard = (each for each in bled if bled_of(each) in HEARD_OUT and each.on.first >= since)
    yield from (each.on.first for each in heard if _can_be_asked(book, each))
    released = (held.let_out for held in standing(card.held))
    yield from (when.date() for when in released if when and when.date() >= since)


def _cards_of(book: Book, id_: str) -> list[Cylinder]:
    return [book.cylinders[m] for m in book.members(id_) if m in book.cylinders]


def _is_later(rental: Rented, contents: Contents) -> bool:
    """Whether a return came after what is known; returns carry a day and no time."""
    if rental.back is None or contents.on is None:
        return rental.back is not None
    same_day = rental.back == contents.on
    return rental.back > contents.on or (same_day and rental.on.first >= contents.on)


@once_per_book
def lines_about(book: Book, id_: str) -> tuple[LogLine, ...]:
    """The lines that stand of a cylinder and of the sets it belongs to, or of a set, by time."""
    shared = [name for name in names_in_log(book, id_)[1:] if name in places_of(book).by_id]
    if not shared:
        return lines_by_cylinder(book).get(id_, ())
    return tuple(places_of(book).log[i] for i in places_of(book).about((id_, *shared)))


@once_per_book
def lines_into(book: Book, id_: str) -> tuple[LogLine, ...]:
    """As `lines_about`, with the fills of the other sides of its sets by themselves, or of the
    sides of a set: through an isolator that is not known to be shut they may have gone into it too,
    but while one of the two was away. This is for what tells against a cylinder."""
    through = (places_of(book).log[i] for i in _through(book, id_, may=True))
    return tuple(sorted((*lines_about(book, id_), *through), key=lambda n: n.at))


@once_per_book
def lines_held(book: Book, id_: str) -> tuple[LogLine, ...]:
    """As `lines_into`, for what a cylinder is known to hold: of a side that was held by itself
    nobody knows that it hung on the manifold."""
    return tuple(places_of(book).log[i] for i in _places_into(book, id_))


def _places_into(book: Book, id_: str) -> list[int]:
    """Where the lines of `lines_held` are in the log."""
    about, times = places_of(book).about(names_in_log(book, id_)), places_of(book).log.column("at")
    return sorted((*about, *_through(book, id_, may=False)), key=times.__getitem__)


def _perhaps_through(book: Book, id_: str) -> set[int]:
    """Where the fills of the other side are in the log that nobody knows to have come through the
    isolator, or not: it was shut that day, and the hours do not say which came first. What is in a
    cylinder after such a one is not known: neither what was in it before nor what was filled."""
    shut = [s for s in _sets_of(book, id_) if _ever_shut(s)]
    if not shut or id_ in book.sets:
        return set()
    times = places_of(book).log.column("at")
    perhaps = _through(book, id_, may=True) - _through(book, id_, may=False)
    return {i for i in perhaps if any(_is_undecided(s, times[i]) for s in shut)}


def _is_undecided(doubles: Doubles, at: dt.datetime) -> bool:
    return _was_open(doubles, at, may=True) and not _was_open(doubles, at, may=False)


@once_per_book
def _lines_perhaps_through(book: Book, id_: str) -> frozenset[tuple[str, str]]:
    """The keys of the fills that nobody knows to have come through, or not."""
    return frozenset(void_key(places_of(book).log[i]) for i in _perhaps_through(book, id_))


@once_per_book
def _lines_held_or_not(book: Book, id_: str) -> tuple[LogLine, ...]:
    """As `lines_held`, with the fills that nobody knows to have come through, or not."""
    times = places_of(book).log.column("at")
    places = {*_places_into(book, id_), *_perhaps_through(book, id_)}
    return tuple(places_of(book).log[i] for i in sorted(places, key=times.__getitem__))


@once_per_book
def _through(book: Book, id_: str, *, may: bool, act: LogAct = LogAct.FILL) -> frozenset[int]:
    """Where the fills, or what else was done, are in the log that came through an open isolator
    from a side by itself, or may have."""
    places = places_of(book)
    pairs = [
        (side, other, doubles)
        for doubles in _sets_of(book, id_)
        for side in doubles.cylinders
        if side in places.by_id
        for other in ((id_,) if id_ not in book.sets else doubles.cylinders)
        if side != other
    ]
    acts, times = places.log.column("act"), places.log.column("at")
    return frozenset(
        i
        for side, other, doubles in pairs
        for i in places.by_id[side]
        if acts[i] is act
        and doubles.joined(times[i].date(), time_of_day(times[i]))
        and (
            _was_open(doubles, times[i], may=may)
            or (may and _carried_over(book, doubles, side, times[i]) is not None)
        )
        and not _were_apart(book.cylinders.get(side), book.cylinders.get(other), times[i], may)
    )


def _was_open(doubles: Doubles, at: dt.datetime, *, may: bool) -> bool:
    """Whether what went into one side of a set at a time is in the other, or `may` be, while they
    hang together: before an isolator was shut it may have been open, that day too where the hours
    of both do not say which came first."""
    stood = _may_have_stood(doubles, at)
    return stood != {Isolator.SHUT} if may else Isolator.SHUT not in stood


def _surely_open(doubles: Doubles, at: dt.datetime) -> bool:
    """Whether an isolator is known to have been open at a time, or was never said to be shut; what
    was opened some day may have been shut before."""
    stood = _may_have_stood(doubles, at)
    return Isolator.SHUT not in stood and not (doubles.settings and None in stood)


def _ever_shut(doubles: Doubles) -> bool:
    """Whether the isolator of a set stands shut, or did some day."""
    every = {each.stands for each in doubles.settings} | {doubles.isolator_before}
    return Isolator.SHUT in every


def _carried_over(book: Book, doubles: Doubles, side: str, at: dt.datetime) -> dt.datetime | None:
    """When what went into a side behind a shut isolator came into the other: as that was opened
    later, unless the side was empty between. None where it did not."""
    for opened in _joined_again(doubles):
        if opened > local_time(at):
            since = (n for n in lines_by_cylinder(book).get(side, ()) if n.at > at)
            between = [n for n in since if local_time(n.at) <= opened]
            emptied = any(is_empty(n.to) or is_empty(n.from_) for n in between)
            return None if emptied else opened
    return None


@once_per_book
def carried_into(book: Book, id_: str) -> Mapping[tuple[str, str], dt.datetime]:
    """The keys of the fills that came into a cylinder, or came back into it, out of the other sides
    of its sets as an isolator was opened that had been shut, each with the last such time: what
    emptied the cylinder before let none of that out."""
    found: dict[tuple[str, str], dt.datetime] = {}
    for doubles in _sets_of(book, id_):
        opened = [*_joined_again(doubles)]
        for side in doubles.cylinders if opened else ():
            for line in lines_into(book, side) if side != id_ else ():
                later = [at for at in opened if at > local_time(line.at)]
                held = [at for at in later if not _emptied_between(book, side, line, at)]
                if line.act is LogAct.FILL and held:
                    found[void_key(line)] = max(held)
    return found


def _emptied_between(book: Book, id_: str, fill: LogLine, until: dt.datetime) -> bool:
    """Whether a cylinder was empty between a fill and a time, by the log, or by work for which
    somebody heard it bleed."""
    own = names_in_log(book, id_)
    about = (n for n in lines_about(book, id_) if n.cylinder in own and n.at > fill.at)
    if any((is_empty(n.to) or is_empty(n.from_)) and local_time(n.at) <= until for n in about):
        return True
    card = book.cylinders.get(id_)
    done = map(_when_done, bled_at(book, card)) if card is not None else ()
    return any(local_time(fill.at) < first and last <= until for first, last in done)


def _may_have_stood(doubles: Doubles, at: dt.datetime) -> set[Isolator | None]:
    """How an isolator may have stood at a time, by all the times that it was set: as it was last
    set before, and as it was set on a day of which the hours do not say which came first. None
    where nobody knows how it stood before it was first set."""
    line = _when_done(local_time(at))
    found: set[Isolator | None] = {doubles.isolator_before}
    for each in doubles.settings:
        first, last = _when_set(each)
        if last < line[0]:
            found = {each.stands}
        elif first <= line[1]:
            found.add(each.stands)
    return found


def _when_set(entry: Turned) -> tuple[dt.datetime, dt.datetime]:
    """From when to when an isolator may have been set by an entry: within a minute, or its days."""
    hour = entry.at if entry.on.day is not None else None
    last = dt.time.max if hour is None else hour.replace(second=59, microsecond=999999)
    begun = dt.datetime.combine(entry.on.first, hour or dt.time.min)
    return begun, dt.datetime.combine(entry.on.last, last)


def _joined_again(doubles: Doubles) -> Iterator[dt.datetime]:
    """When an isolator was opened that had been shut, at the latest while its two cylinders hung
    together: what was in each side may be in both."""
    before = doubles.isolator_before
    for each in doubles.settings:
        if before is Isolator.SHUT and each.stands is not Isolator.SHUT:
            first, last = _when_set(each)
            while first <= last and not doubles.joined(last.date()):  # of a month it was some day
                last = dt.datetime.combine(last.date(), dt.time.min) - dt.timedelta.resolution
            if first <= last:
                yield last
        before = each.stands


def went_into(
    book: Book, id_: str, at: dt.datetime, *, later: bool = False, may: bool = True
) -> tuple[str, ...]:
    """Every cylinder that a fill of one, or of a set, may have gone into at a time, or `later`,
    when an isolator was opened behind which it was filled; not `may`: surely went into."""
    if (itself := book.every_set.get(id_)) is not None:
        return itself.cylinders
    sets = (s for s in _sets_of(book, id_) if s.joined(at.date(), time_of_day(at)))
    joined = (
        s
        for s in sets
        if _was_open(s, at, may=may) or (later and _carried_over(book, s, id_, at) is not None)
    )
    sides = (s for doubles in joined for s in doubles.cylinders)
    card = book.cylinders.get(id_)
    through = (s for s in sides if not _were_apart(card, book.cylinders.get(s), at, may=may))
    return tuple(dict.fromkeys((id_, *through)))


def gas_went_into(book: Book, line: LogLine) -> tuple[str, ...]:
    """Every cylinder that the gas of a fill surely went into: of one side of a set whose isolator
    stood open both; but its own alone where the other side has a fill of that day over some of the
    same pressures, as the gas of both is logged side by side then."""
    sides = went_into(book, line.cylinder, line.at, may=False)
    if line.cylinder in book.every_set or len(sides) < 2:
        return sides
    others = (n for s in sides if s != line.cylinder for n in lines_by_cylinder(book).get(s, ()))
    of_day = (n for n in others if n.act is LogAct.FILL and n.at.date() == line.at.date())
    both = any(_begun(n) < _ended(line) and _begun(line) < _ended(n) for n in of_day)
    return (line.cylinder,) if both else sides


def _begun(line: LogLine) -> GaugePressure:
    return line.from_ if line.from_ is not None else NOTHING


def _ended(line: LogLine) -> GaugePressure:
    return line.to if line.to is not None else NOTHING


def _were_apart(one: Cylinder | None, other: Cylinder | None, at: dt.datetime, may: bool) -> bool:
    """Whether two sides of a set were apart: one of them alone was away; or, where they only `may`
    not have been joined, was held by itself."""
    if one is None or other is None:
        return False
    return is_off_at(one, at, held=not may) is not is_off_at(other, at, held=not may)


@once_per_book
def rentals_of(book: Book, id_: str) -> tuple[Rented, ...]:
    """The rentals of a cylinder and of the sets it belongs to, or of a set."""
    card = book.cylinders.get(id_)
    own = card.rented if card else ()
    return (*own, *(rental for each in _sets_of(book, id_) for rental in each.rented))


_NOT_HERE = frozenset(status for status in Status if status.away or status.gone)


def not_here(book: Book, cylinder: Cylinder) -> Status | None:
    """Why a cylinder is not in the room, or None where it is.

    Its status says only the gravest thing: a rejected one may be away for its test, a held one out
    by itself or in its set.
    """
    out = bool(still_open(rentals_of(book, cylinder.id)))
    return gravest((open_states(cylinder) | ({Status.OUT} if out else set())) & _NOT_HERE)


_AT_HAND = (Status.IN_SERVICE, Status.AWAITING_INSPECTION, Status.AWAITING_COLLECTION)
GONE_FROM_THERE = frozenset({Status.SOLD, Status.LOST, Status.AT_SUPPLIER})
"""Where a cylinder is no more with whoever rented it. Held, rejected or condemned it still is."""


@once_per_book
def standings(book: Book, cylinder: Cylinder) -> tuple[Status, ...]:
    """Every state a cylinder is in, the gravest first: where it is, out by itself or in its set,
    and what stands against it besides. One that nothing is open of stands where `status_of` says.

    What every screen and paper tells of it is of these, so that none says less than another.
    """
    states = open_states(cylinder)
    if still_open(rentals_of(book, cylinder.id)):
        states |= {Status.OUT}
    if states & GONE_FROM_THERE:
        states -= {Status.OUT}
    if Status.CONDEMNED in states:  # nothing is left to mend
        states -= {Status.REJECTED, Status.HELD}
    status, found = status_of(book, cylinder), in_order(states)
    beside = status is not Status.IN_SERVICE and status in _AT_HAND
    return (*found, *([status] if beside or not found else []))


@once_per_book
def standings_of(book: Book, id_: str) -> tuple[Status, ...]:
    """The same of a cylinder or set: of a set every state that one of its cylinders is in, but for
    such as tells nothing beside another. Empty where no card of it can be read."""
    sides = (book.cylinders[m] for m in book.members(id_) if m in book.cylinders)
    found = dict.fromkeys(state for side in sides for state in standings(book, side))
    told = [state for state in found if state not in _AT_HAND]
    return in_order(set(told)) or tuple(found)


def stands_at(book: Book, cylinder: Cylinder) -> Status:
    """Where a cylinder stands, by itself or out as one side of its set: the gravest of
    `standings`."""
    return standings(book, cylinder)[0]


def is_logged(book: Book, id_: str, rental: Rented) -> bool:
    """Whether the pressure at a return stands in the log as well, which knows the time of it; of a
    set whose sides were read one by one, of each of them."""

    def is_read(lines: Iterable[LogLine]) -> bool:
        return any(n.act is LogAct.READING and n.at.date() == rental.back for n in lines)

    sides = book.every_set[id_].cylinders if id_ in book.every_set else ()
    by_sides = [is_read(lines_by_cylinder(book).get(side, ())) for side in sides]
    return is_read(lines_about(book, id_)) or (bool(by_sides) and all(by_sides))


def _after(before: Contents, line: LogLine) -> Contents:
    if line.act is LogAct.FILL:
        gas = line.gas
        return Contents(
            gas=gas,
            pressure=line.to,
            temperature=line.temperature,
            at=line.at,
            on=line.at.date(),
            analysis=_analysis_of(line, line.to),
            source=line.source_ or "",
            filled_at=line.at,
            fills=before.fills + 1,
        )
    changed = _at_pressure(before, line.to, line.at.date())
    changed = replace(changed, temperature=line.temperature, at=line.at)
    return _analysed(changed, line) if line.to is None or line.to >= EMPTY else changed


READ_ALIKE = 1.5
"""Percent of oxygen by which a reading may differ from what a cylinder is known to hold (common
practice, no source: two analysers, each within 1 %)."""

_PURE = 98.0
"""From so many percent on a reading is of oxygen and not of nitrox (own bound)."""


def _analysis_of(line: LogLine, pressure: GaugePressure | None) -> Analysis | None:
    """What a line says of an analysis, at the pressure of then; None where it says nothing."""
    if line.o2 is None and line.he is None:
        return None
    return Analysis(
        on=line.at.date(),
        oxygen=line.o2.percent if line.o2 else None,
        helium=line.he.percent if line.he else None,
        by=line.analysed_by or "",
        pressure=pressure,
        temperature=line.temperature if line.to is not None else None,
    )


def _analysed(held: Contents, line: LogLine) -> Contents:
    """What a reading says of the gas: its word, its analysis, and the gas of that where it is
    another one. The analysis is the newest, whole: its day, its analyst, its figures."""
    found = _analysis_of(line, held.pressure)
    if line.gas is not None:
        kept = held.analysis if line.gas == held.gas else None
        return replace(held, gas=line.gas, analysis=found or kept)
    if found is None:
        return held
    held = replace(held, analysis=found)
    oxygen, known = found.oxygen, held.gas.oxygen_percent if held.gas is not None else None
    if oxygen is None or (known is not None and abs(known - oxygen) <= READ_ALIKE):
        return held
    if abs(oxygen - AIR_SHARE) <= READ_ALIKE:
        return replace(held, gas=Gas.parse("air"))
    return replace(held, gas=Gas.of(100 if oxygen >= _PURE else oxygen), source="")


AIR_SHARE = 20.9
"""Percent of oxygen that an analyser shows of air."""


def _at_pressure(before: Contents, pressure: GaugePressure | None, on: dt.date | None) -> Contents:
    if is_empty(pressure):
        empty = replace(NOTHING_KNOWN, fills=before.fills, filled_at=before.filled_at)
        return replace(empty, pressure=pressure, on=on)
    return replace(before, pressure=pressure, on=on, temperature=None)


NOTHING = GaugePressure.of(0, "psi")

UNEXPLAINED = GaugePressure.of(200, "psi")
"""How far a pressure may rise without a fill unless the settings say otherwise (common practice, no
source)."""

UNEXPLAINED_AT_MOST = GaugePressure.of(500, "psi")
"""More than this is never taken for the weather or the gauge, whatever the settings say (common
practice, no source)."""

WARMTH = 0.12
"""Share by which a pressure may rise with the weather, where temperatures were not noted: from 5 to
40 degC (own calculation, by absolute temperature)."""


def rises_of(
    book: Book, card: Cylinder
) -> tuple[tuple[LogLine, GaugePressure, GaugePressure], ...]:
    """The readings of a cylinder above what was last known, that no fill and nobody else's keeping
    explains: the line, what was read and what was known; since it was last empty, looked inside, or
    heard to be let out, by the hours of that day.
    """
    return rises_among(book, card, _lines_held_or_not(book, card.id))


def rises_among(
    book: Book, card: Cylinder, lines: Lines, rentals: Rentals | None = None
) -> tuple[tuple[LogLine, GaugePressure, GaugePressure], ...]:
    """As `rises_of`, from the lines given, oldest first, and the rentals given or its own."""
    if stays_with_owner(card):
        return ()
    allowed = _allowed(book)
    names = names_in_log(book, card.id)
    found: list[tuple[LogLine, GaugePressure, GaugePressure]] = []
    spans = tuple(_kept_elsewhere(book, card, lines, allowed, rentals))
    told = {s.end: s.back for s in spans if s.back is not None}
    before: tuple[int, GaugePressure, Temperature | None] | None = None
    looked = ((i, _when_done(_time(i.on.first, i.at))) for i in looks_inside(book, card))
    end = dt.time.max  # of a month it can have been any day
    emptied = [(w[0], w[1] if i.on.day else dt.datetime.combine(i.on.last, end)) for i, w in looked]
    said = (when for when, how in _opened_at(book, card) if how is not LetOut.NOT_SAID)
    emptied += map(_when_done, said)
    # of work that says how it was bled nothing is left, and no purge is taken for what was in it
    heard = {_time(i.on.first, i.at) for i in looks_inside(book, card) if i.bled in HEARD_OUT}
    heard |= {when for when, how in _opened_at(book, card, bled=True) if how is LetOut.KNOWN}
    bled = [*map(_when_done, heard)]
    bared = [_when_done(when) for when in _manifold_off(book, card)]
    doubted = _lines_perhaps_through(book, card.id)
    times = [local_time(n.at) for n in lines]
    for place, line in enumerate(lines):
        if doubted and line.act is LogAct.FILL and void_key(line) in doubted:
            before = None
            continue
        back = told.get(_gap(place))
        before = (_gap(place), back, None) if back is not None else before
        since, at = times[max(place - 1, 0)], times[place]
        opened = any(since < first and last < at for first, last in emptied)
        begun = line.from_ if line.cylinder in names else None  # of another side: not of this one
        read = begun if line.act is LogAct.FILL else line.to
        alone = line.cylinder == card.id  # of the day of that itself: a side by itself, after it
        last_at = times[place - 1] if place else _BEGINNING
        off = any(last_at < a and (z < at or (alone and a < at)) for a, z in bared)
        if off and read is not None:  # nobody purges one by itself afterwards, as after a look
            before = (_gap(place), NOTHING, None)
        elif (
            before
            and read is not None
            and (
                any(since < first and last < at for first, last in bled)
                or (opened and _is_half_full(card, read))
            )
        ):  # nobody looks inside a cylinder that holds something, or takes its valve off
            before = (before[0], NOTHING, None)
        # what a fill came to is explained by it; any other end of a line was only read
        ended = None if line.act is LogAct.FILL else line.to
        for read, temperature in ((begun, None), (ended, line.temperature)):
            if read is None:
                continue
            if (
                before
                and _rose(before[1], read, allowed, _warmed(before[2], temperature))
                and not any(s.covers(before[0], _line(place)) for s in spans)
                and not _settled(book, card, line, read, before[1])
            ):
                found.append((line, read, before[1]))
            if read < EMPTY:
                found = []
            before = (_line(place), read, temperature)
        if line.to is not None:
            before = (_line(place), line.to, line.temperature)
    inside = (_when_done(_time(i.on.first, i.at)) for i in looks_inside(book, card))
    gone = max((first for first, _ in (*inside, *bled)), default=_BEGINNING)
    return tuple(each for each in found if local_time(each[0].at) >= gone)


def gas_readings_of(book: Book, card: Cylinder) -> tuple[tuple[LogLine, LogLine], ...]:
    """What was read of a cylinder's gas, with the fill before it, since it was last looked inside;
    nothing where somebody else may have filled it since."""
    if stays_with_owner(card):
        return ()
    found: list[tuple[LogLine, LogLine]] = []
    lines, doubted = _lines_held_or_not(book, card.id), _lines_perhaps_through(book, card.id)
    spans = tuple(_kept_elsewhere(book, card, lines, UNEXPLAINED))
    filled: tuple[int, LogLine | None] | None = None
    held: Gas | None = None
    for place, line in enumerate(lines):
        if doubted and line.act is LogAct.FILL and void_key(line) in doubted:
            filled = held = None
        elif line.act is LogAct.FILL:
            # of what was put on another gas only an analysis says what it is: a later one need not
            # be of the gas that was written, but has to agree with itself
            mixed = not is_analysis(line, held) and held not in {None, line.gas}
            filled = (_line(place), None if mixed else line) if line.gas else None
        elif (
            filled
            and (line.gas or line.o2 or line.he)
            and not any(s.covers(filled[0], _line(place)) for s in spans)
        ):
            found.append((line, filled[1] or line))
        held = line.gas or held
        if is_empty(line.to):
            filled = held = None
    last = _last_look_inside(book, card)
    return tuple(each for each in found if each[0].at.date() >= last)


def is_analysis(line: LogLine, *others: Gas | None) -> bool:
    """Whether a line says what a gas was analysed at and by whom; of helium too, where it or one of
    the others names some."""
    helium = any(gas is not None and gas.helium_percent > 0 for gas in (line.gas, *others))
    measured = line.o2 is not None and (line.he is not None or not helium)
    by = line.analysed_by or ""
    return measured and any(map(str.isalnum, by)) and not names_nobody(by)


@once_per_book
def looks_inside(book: Book, card: Cylinder) -> tuple[Inspected, ...]:
    """The passed looks inside that count, oldest first."""
    return tuple(i for i in looks(book, card) if is_inside(book, i.checklist))


def days_looked_inside(book: Book, card: Cylinder) -> tuple[dt.date, ...]:
    """The first day of each look inside that counts."""
    return tuple(i.on.first for i in looks_inside(book, card))


def _last_look_inside(book: Book, card: Cylinder) -> dt.date:
    return max(days_looked_inside(book, card), default=dt.date.min)


def _is_half_full(card: Cylinder, read: GaugePressure) -> bool:
    """Whether a pressure is so much of the marked one that it was filled, and not only purged."""
    return card.service_pressure is not None and read.pa >= card.service_pressure.pa / 2


def _settled(
    book: Book, card: Cylinder, line: LogLine, read: GaugePressure, before: GaugePressure
) -> bool:
    """Whether the other side of its set gave what a reading shows over what was known `before`. Of
    a reading of the set: a side that was read by itself, or since this one was. What both were
    filled to before says nothing of either, nor does what was let out of it since; but where the
    isolator stood shut as this one was last read or let out, and was opened since, the other still
    held that, and gives of it till both are level."""
    until = local_time(line.at)
    bled = (last for _, last in _may_have_let_out(book, card) if last < until)
    own = [n.at for n in lines_by_cylinder(book).get(card.id, ()) if n.at < line.at]
    stood = max((*map(local_time, own[-1:]), *bled), default=None)
    for doubles in _sets_of(book, card.id):
        opened = [at for at in _joined_again(doubles) if stood is not None and stood < at <= until]
        if line.cylinder != doubles.id and not opened:
            continue
        for side in doubles.cylinders:
            if side == card.id:
                continue
            if opened:
                level = _levelled(book, doubles, side, before, opened, until)
                if not _rose(level, read, _allowed(book)):
                    return True
                continue
            other = book.cylinders.get(side)
            let_out = [*_may_have_let_out(book, other)] if other is not None else []
            known = [
                n.to
                for n in lines_about(book, side)
                if n.at < line.at
                and n.to is not None
                and (n.cylinder == side or not own or n.at > own[-1])
                and not any(local_time(n.at) < a and z < until for a, z in let_out)
            ]
            if known and known[-1].pa >= read.pa:
                return True
    return False


def _levelled(
    book: Book,
    doubles: Doubles,
    side: str,
    before: GaugePressure,
    opened: Sequence[dt.datetime],
    until: dt.datetime,
) -> GaugePressure:
    """The most that a side may have come to from what it was at `before`, as its isolator was
    `opened` at some times: half of what it and the other side held then, and what that was read at
    since while it stood open."""
    level = before
    for at in opened:
        held = _as_recorded(book, side, at).pressure
        if held is None:  # it came level once and was not read: no more than either was at
            lines = (n for name in doubles.cylinders for n in lines_held(book, name))
            known = (n.to for n in lines if n.to is not None and local_time(n.at) <= at)
            held = max(known, key=lambda pressure: pressure.pa, default=None)
        if held is not None:
            level = max(level, _halfway(level, held))
    seen = (
        n.to
        for n in lines_about(book, side)
        if n.to is not None
        if opened[0] < local_time(n.at) < until and _was_open(doubles, n.at, may=True)
    )
    return max((level, *seen))


def _rose(
    known: GaugePressure, read: GaugePressure, allowed: GaugePressure, warmed: float = 1 + WARMTH
) -> bool:
    return read.pa > known.pa * warmed + allowed.pa + HAIR.pa


def is_further_above(read: GaugePressure, known: GaugePressure) -> bool:
    """Whether what is known is further above what was read than weather, heat of filling and gauge
    explain."""
    return _rose(read, known, UNEXPLAINED)


def _warmed(before: Temperature | None, now: Temperature | None) -> float:
    """By what a pressure may have risen with its temperature: as far as both were noted, by them
    (a gas that follows its absolute temperature, which is a little less than air does)."""
    if before is None or now is None:
        return 1 + WARMTH
    return min(now.kelvin / before.kelvin, 1 + WARMTH)


# --- who had it, between which lines -------------------------------------------------------------
# A line of the log has a place; so has what lies before it. What goes out and comes back carries a
# day and no time, and lies between two lines.


def _gap(place: int) -> int:
    return 2 * place


def _line(place: int) -> int:
    return 2 * place + 1


class _KeptElsewhere(Struct, frozen=True):
    """Somebody else's keeping, from one place to another, and what was read at its end."""

    start: int
    end: int
    back: GaugePressure | None = None

    def covers(self, since: int, until: int) -> bool:
        """Whether some of it lies between two places."""
        return self.start < until and self.end > since


def _kept_elsewhere(
    book: Book, card: Cylinder, lines: Lines, allowed: GaugePressure, rentals: Rentals | None = None
) -> Iterator[_KeptElsewhere]:
    """When somebody else had it and may have filled it, oldest return first.

    It was read before it went out that day, and after it came back. What went out and came back on
    one day came back before the first fill that may have followed, else after all of that day.
    """
    days = [line.at.date() for line in lines]
    known = standing(rentals_of(book, card.id)) if rentals is None else rentals
    own = {(r.on, r.to) for r in card.rented}
    spans = [
        # of a set with its isolator shut the pressure is one side's, and the log knows both
        (r.on, r.back, r.pressure if (r.on, r.to) in own or not _is_apart(book, card, r) else None)
        for r in known
    ]
    spans += [(s.on, s.back, None) for s in standing(card.sent)]
    for on, back, pressure in sorted(spans, key=lambda s: s[1] or dt.date.max):
        first, end = bisect_left(days, on.first), len(days)
        if back is None:
            yield _KeptElsewhere(_gap(bisect_right(days, on.first)), _line(end))
        elif on.first < back:
            yield _KeptElsewhere(
                _gap(bisect_right(days, on.first)), _gap(bisect_left(days, back)), pressure
            )
        else:
            end = bisect_right(days, back)
            fills = (n for n in range(first, end) if lines[n].act is LogAct.FILL)
            fits = (n for n in fills if _may_follow(pressure, lines[n].from_, allowed))
            yield _KeptElsewhere(_gap(first), _gap(next(fits, end) if pressure else end), pressure)


def away_between(book: Book, id_: str, lines: Lines) -> Callable[[int, int], bool]:
    """Whether somebody else had a cylinder, or a side of a set, between two of its lines, which are
    given by their places in `lines`."""
    cards = _cards_of(book, id_)
    spans = [span for card in cards for span in _kept_elsewhere(book, card, lines, UNEXPLAINED)]
    return lambda one, other: any(span.covers(_line(one), _line(other)) for span in spans)


def opened_between(book: Book, id_: str, since: dt.datetime, until: dt.datetime) -> bool:
    """Whether work that lets the gas out was done on it, or on a side of it, between two times."""
    first, last = (dt.datetime.combine(at.date(), time_of_day(at)) for at in (since, until))
    times = (at for card in _cards_of(book, id_) for at in let_out_at(book, card))
    return any(first <= at <= last for at in times)


def _is_apart(book: Book, card: Cylinder, rental: Rented) -> bool:
    """Whether its isolator is shut, or was when its sides were read one by one at a return."""
    sets = _sets_of(book, card.id)
    shut = any(doubles.isolator is Isolator.SHUT for doubles in sets)
    return shut or any(_read_apart(book, doubles, rental) for doubles in sets)


def _read_apart(book: Book, doubles: Doubles, rental: Rented) -> bool:
    """Whether each side was read by itself on the day of a return, one of them as it says."""
    read = [
        [
            n.to.pa
            for n in lines_by_cylinder(book).get(side, ())
            if n.act is LogAct.READING and n.to is not None and n.at.date() == rental.back
        ]
        for side in doubles.cylinders
    ]
    said = rental.pressure
    return all(read) and said is not None and any(said.pa in each for each in read)


def _may_follow(
    back: GaugePressure | None, begun: GaugePressure | None, allowed: GaugePressure
) -> bool:
    return back is None or begun is None or not _rose(back, begun, allowed)
