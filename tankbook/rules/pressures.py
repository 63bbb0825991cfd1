"""A cylinder's pressure over time: what was read, and what is known between two readings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from enum import StrEnum
from itertools import pairwise, takewhile

from dateutil.relativedelta import relativedelta
from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import AIR, Mixture, RangeError
from tankbook.records.book import Book
from tankbook.records.entries import Rented, standing
from tankbook.records.kinds import is_empty
from tankbook.records.log import LogLine
from tankbook.records.words import LogAct
from tankbook.rules.fill_book import unread_log
from tankbook.rules.fill_history import (
    NOTHING,
    is_logged,
    let_out_at,
    lines_about,
    names_in_log,
    rentals_of,
    sets_with,
)
from tankbook.rules.in_hands import hour_of
from tankbook.rules.leaks import LOOKED_BACK, StandingTime, loss_of, stands_of
from tankbook.rules.limits import settled
from tankbook.rules.volume import reference_of
from tankbook.units import GaugePressure, Temperature


class PressureAt(StrEnum):
    """At what a pressure was seen."""

    BEFORE_FILL = "before a fill"
    FILL = "fill"
    READING = "reading"
    BEFORE_DRAIN = "before a drain"
    DRAIN = "drain"
    RETURN = "return"
    OPENED = "opened"


FILLED_AT = (PressureAt.BEFORE_FILL, PressureAt.FILL)


class Between(StrEnum):
    """What is known between two pressures, one after the other."""

    FILLED = "filled"
    LET_OUT = "let out"
    STOOD = "stood"
    LOST = "stood and lost gas"
    EMPTY = "empty"
    UNKNOWN = "not known"


class PressureSeen(Struct, frozen=True):
    """A pressure of a moment.

    Attributes:
        at: when, by the clock on the wall there; day's beginning where only the day is recorded.
        read: what was read.
        temperature: of then, None where it was not read.
        level: the reading at the reference temperature; as it was read where its temperature is
            not known, or the gas model does not reach.
        what: at what it was seen.
    """

    at: dt.datetime
    read: GaugePressure
    temperature: Temperature | None
    level: GaugePressure
    what: PressureAt


class OutSpan(Struct, frozen=True):
    """The days of a rental, with their hours where those are known; `back` is None while out."""

    on: dt.date
    back: dt.date | None
    at: dt.time | None = None
    back_at: dt.time | None = None


class PressureStory(Struct, frozen=True):
    """Every pressure on record, oldest first, and what is known between each and the next.

    `between` is one shorter than `points`. `losing` is the latest stand of the last year where more
    is gone than its readings explain, as `leaks` has it; None where nothing is. `marked` is the
    lowest working pressure of its cylinders, None where one is not on record. `since` is the
    first day asked about, None of all; `unread` are the files of the log that could not be read in
    full.
    """

    id: str
    reference: Temperature
    marked: GaugePressure | None
    points: tuple[PressureSeen, ...]
    between: tuple[Between, ...]
    out: tuple[OutSpan, ...]
    losing: StandingTime | None
    until: dt.date
    since: dt.date | None = None
    unread: tuple[str, ...] = ()


def pressures_of(
    book: Book, id_: str, today: dt.date, since: dt.date | None = None
) -> PressureStory:
    """The pressures of a cylinder or set, of its sets too, from a day on; of all days if None.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book.
        today: the last day.
        since: the first day; what is known before it is left out.
    """
    lines = [n for n in lines_about(book, id_) if book.is_past(n.at, today)]
    found = [*_of_log(book, lines), *_of_returns(book, id_)]
    first = min((each.at for each, _ in found), default=None)
    if first is not None:
        last = dt.datetime.combine(today, dt.time.max)
        seen = sorted(found, key=lambda pair: pair[0].at)
        opened = (_within_its_day(p, [s for s, _ in seen]) for p in _of_opened(book, id_))
        found += [(p, "") for p in opened if first <= p.at <= last]
    found = sorted(found, key=lambda pair: pair[0].at)
    if since is not None:
        found = [pair for pair in found if pair[0].at.date() >= since]
    names = (id_, *sets_with(book).get(id_, ()))
    stood = [stand for name in names for stand in stands_of(book, name, today)]
    stands = {(_wall(s.begun.at), _wall(s.found.at)): s for s in stood}
    points = tuple(point for point, _ in found)
    a_while_ago = today - relativedelta(months=LOOKED_BACK.months)
    losses = [loss_of(book, name, today, a_while_ago) for name in names]
    losing = next((s for s in losses if s), None)
    between = tuple(
        _between(a, b, of_a == of_b != "", stands.get((a.at, b.at)), losing)
        for (a, of_a), (b, of_b) in pairwise(found)
    )
    cards = [book.cylinders[m] for m in book.members(id_) if m in book.cylinders]
    marked = [c.service_pressure for c in cards if c.service_pressure is not None]
    return PressureStory(
        id=id_,
        reference=reference_of(book).temperature,
        marked=min(marked) if marked and len(marked) == len(cards) else None,
        points=points,
        between=between,
        out=tuple(_spans(book, id_, since)),
        losing=losing,
        until=today,
        since=since,
        unread=unread_log(book),
    )


def _wall(at: dt.datetime) -> dt.datetime:
    return at.replace(tzinfo=None)


def _of_log(book: Book, lines: list[LogLine]) -> Iterator[tuple[PressureSeen, str]]:
    """What the log has, each beside the line that it is of."""
    reference = reference_of(book).temperature
    mixture = AIR
    befores = {LogAct.FILL: PressureAt.BEFORE_FILL, LogAct.DRAIN: PressureAt.BEFORE_DRAIN}
    afters = {
        LogAct.FILL: PressureAt.FILL,
        LogAct.DRAIN: PressureAt.DRAIN,
        LogAct.READING: PressureAt.READING,
    }
    for line in lines:
        of = f"{line.at.isoformat()} {line.cylinder}"
        if line.from_ is not None and line.act in befores:
            seen = befores[line.act]
            yield PressureSeen(_wall(line.at), line.from_, None, line.from_, seen), of
        mixture = line.gas.mixture if line.gas else mixture
        if line.to is not None and line.act in afters:
            level = _level(mixture, line.to, line.temperature, reference)
            seen = afters[line.act]
            yield PressureSeen(_wall(line.at), line.to, line.temperature, level, seen), of


def _level(
    mixture: Mixture, read: GaugePressure, degrees: Temperature | None, reference: Temperature
) -> GaugePressure:
    if degrees is None or is_empty(read):
        return read
    try:
        return settled(mixture, read, degrees, reference)
    except RangeError:
        return read


def _of_returns(book: Book, id_: str) -> Iterator[tuple[PressureSeen, str]]:
    """What returns have that the log has not: of a day without a time, before what was done to it
    then, but after it where it went out that day too."""
    for rental in standing(rentals_of(book, id_)):
        if rental.back is None or rental.pressure is None or is_logged(book, id_, rental):
            continue
        late = rental.on.first == rental.back
        at = dt.datetime.combine(rental.back, dt.time.max if late else dt.time.min)
        yield PressureSeen(at, rental.pressure, None, rental.pressure, PressureAt.RETURN), ""


def _of_opened(book: Book, id_: str) -> Iterator[PressureSeen]:
    """When its valve was off: nothing is in it then."""
    cards = [book.cylinders[m] for m in book.members(id_) if m in book.cylinders]
    for at in sorted({at for card in cards for at in let_out_at(book, card)}):
        yield PressureSeen(at, NOTHING, None, NOTHING, PressureAt.OPENED)


def _within_its_day(opened: PressureSeen, seen: Sequence[PressureSeen]) -> PressureSeen:
    """An opening at no known time of its day, after what was read that day before any fill: gas
    was in it then."""
    if opened.at != dt.datetime.combine(opened.at.date(), dt.time.min):
        return opened
    that_day = (p for p in seen if p.at.date() == opened.at.date())
    unfilled = list(takewhile(lambda p: p.what not in FILLED_AT, that_day))
    return replace(opened, at=unfilled[-1].at) if unfilled else opened


def _between(
    a: PressureSeen,
    b: PressureSeen,
    one_line: bool,
    stand: StandingTime | None,
    losing: StandingTime | None,
) -> Between:
    if one_line:
        return Between.FILLED if b.what is PressureAt.FILL else Between.LET_OUT
    if stand is not None:
        within = losing and losing.begun.at <= stand.begun.at and stand.found.at <= losing.found.at
        return Between.LOST if stand.leaks or within else Between.STOOD
    if a.what is PressureAt.OPENED and is_empty(b.read):
        return Between.EMPTY
    return Between.UNKNOWN


def _spans(book: Book, id_: str, since: dt.date | None) -> Iterator[OutSpan]:
    found: list[tuple[str, Rented]] = []
    for name in names_in_log(book, id_):
        card = book.cylinders.get(name) or book.every_set.get(name)
        found += [(name, rental) for rental in (standing(card.rented) if card else ())]
    for name, rental in sorted(found, key=lambda each: each[1].on.first):
        if since is None or rental.back is None or rental.back >= since:
            out, back = (hour_of(book, name, rental, end=end) for end in (False, True))
            yield OutSpan(rental.on.first, rental.back, out, back)
