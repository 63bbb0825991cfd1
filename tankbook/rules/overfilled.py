"""Whether a cylinder ever stood above its limit, whoever says so: a fill, a gauge, a return."""

from __future__ import annotations

import datetime as dt
from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import AIR, Gas, Mixture, RangeError, mixture_of
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Held, Inspected, Rentals, Rented, Requalified, standing
from tankbook.records.kinds import Adverse, is_empty
from tankbook.records.log import Lines, LogLine
from tankbook.records.node import Where
from tankbook.records.words import LogAct
from tankbook.rules.answers import Limit
from tankbook.rules.fill_history import (
    WARMTH,
    days_looked_inside,
    gauge_error,
    is_above,
    is_logged,
    lines_into,
    looks_inside,
    rentals_of,
)
from tankbook.rules.inforce import rules_turns
from tankbook.rules.limits import limit_of, settled
from tankbook.rules.said_pressures import pressures_stood
from tankbook.rules.tested import possible_days
from tankbook.rules.wording import says_mistaken
from tankbook.units import GaugePressure, PartialDate, Temperature


class Stood(Struct, frozen=True):
    """A pressure above the limit of its day.

    Attributes:
        where: the line, or the entry, that says so.
        text: how it was found, as `filled to 4500 psi`.
        lawful: what was lawful, as a gauge would have shown it.
        beyond: it is over by more than a gauge may err.
        still_over: nothing since shows it at or below that.
        day: when that was.
    """

    where: Where
    text: str
    lawful: GaugePressure
    beyond: bool
    still_over: bool
    day: dt.date


class _Shown(Struct, frozen=True):
    """One pressure that somebody saw, and what came after it.

    `how` is how it was found, which ends with the pressure as it is, or as it was `said`.
    """

    where: Where
    how: str
    day: dt.date
    pressure: GaugePressure
    later: Lines
    temperature: Temperature | None = None
    gas: Gas | Mixture = AIR
    filled: bool = False
    doubted: bool = False
    until: dt.date | None = None
    said: str = ""

    @property
    def text(self) -> str:
        """How it was found, as `filled to 4500 psi`."""
        return f"{self.how} {self.said or self.pressure}"


@once_per_book
def stood_over(book: Book, card: Cylinder) -> tuple[Stood, ...]:
    """When a cylinder stood above its limit, since it was last looked inside, oldest first."""
    return over_among(book, card, lines_into(book, card.id))


def over_among(
    book: Book, card: Cylinder, lines: Lines, rentals: Rentals | None = None
) -> tuple[Stood, ...]:
    """As `stood_over`, from the lines given, oldest first, and the rentals given or its own."""
    found = []
    inside, limit_then = looks_inside(book, card), _limits_of(book, card)
    for shown in sorted(_shown(book, card, lines, rentals), key=lambda s: s.day):
        stood = _over(book, limit_then(shown.day, shown.gas), shown)
        # of a month a look has to come after its end
        if stood is not None and not is_past(inside, shown.until or shown.day, shown.later):
            found.append(stood)
    return tuple(found)


def _limits_of(book: Book, card: Cylinder) -> Callable[[dt.date, Gas | Mixture], Limit | None]:
    """The limit of a cylinder on a day for a gas: it changes with its tests, its valve and the
    rules."""
    known: dict[tuple[int, Gas | Mixture], Limit | None] = {}
    changes = sorted(
        (
            *(_began(card, test) for test in standing(card.requalified)),
            *(work.on.first for work in standing(card.valve_work)),
            *rules_turns(book),
        )
    )

    def limit_then(day: dt.date, gas: Gas | Mixture) -> Limit | None:
        asked = bisect_right(changes, day), gas
        if asked not in known:
            known[asked] = limit_of(book, _as_on(card, day), gas, day)
        return known[asked]

    return limit_then


def filled_hot(book: Book, card: Cylinder) -> Stood | None:
    """The last fill whose gauge passed the limit, which is lawful at the temperature that was
    written down: nobody read it cool since, nor looked inside."""
    lines, inside = lines_into(book, card.id), looks_inside(book, card)
    found, limit_then = None, _limits_of(book, card)
    for place, line in enumerate(lines):
        if found is not None and line.to is not None and line.to <= found.lawful:
            found = None
        if line.act is not LogAct.FILL or line.to is None or line.temperature is None:
            continue
        day, where = line.at.date(), line.where
        limit = limit_then(day, line.gas or AIR)
        if limit is None or not is_above(line.to, limit.pressure, gauge_error(book)):
            continue
        if not is_past(inside, day, lines[place + 1 :]):
            text = f"filled to {line.to} at {line.temperature}"
            found = Stood(where, text, limit.pressure, False, True, day)
    return found


def _shown(book: Book, card: Cylinder, lines: Lines, rentals: Rentals | None) -> Iterator[_Shown]:
    gas: Gas | Mixture = AIR
    for place, line in enumerate(lines):
        where, day = line.where, line.at.date()
        if line.from_ is not None:
            yield _Shown(where, f"{line.act} begun at", day, line.from_, lines[place:], None, gas)
        if line.act is LogAct.FILL:
            gas = line.gas or AIR
        if line.to is not None:
            how, filled = _DONE.get(line.act, line.act), line.act is LogAct.FILL
            since = lines[place + 1 :]
            yield _Shown(where, how, day, line.to, since, line.temperature, gas, filled)
    known = rentals_of(book, card.id) if rentals is None else rentals
    yield from _told(card, lines, known, days_looked_inside(book, card))
    for rental in standing(known):
        back, read = rental.back, rental.pressure
        if back and read is not None and not is_logged(book, card.id, rental):
            since = [n for n in lines if n.at.date() > back]
            yield _Shown(rental.source.at("pressure"), "came back at", back, read, since)


def is_of_fill(hold: Held, lines: Lines) -> bool:
    """Whether a hold was made beside a fill that the log has, and says no more than why it was told
    as a fact, and of no higher pressure: that fill is judged."""
    for line in lines:
        if line.act is LogAct.FILL and line.to and hold.on.meets(PartialDate.of(line.at.date())):
            begun, _, rest = hold.why.partition(": ")
            if begun == f"filled to {line.to}, {AS_A_FACT}":
                return not any(is_above(s.pressure, line.to) for s in pressures_stood(rest))
    return False


AS_A_FACT = "logged as a fact"
"""How a hold is called that comes with a fill that should not have been."""


class Remark(Struct, frozen=True):
    """What somebody wrote of a cylinder beside what happened to it.

    Attributes:
        where: where it stands.
        what: the entry or the act of the log, as `a reading`.
        key: the key it stands under.
        on: its day; a return's is the day it came back.
        words: what was written.
        line: the line of the log, where it is one.
        rental: the rental, where it is one.
    """

    where: Where
    what: str
    key: str
    on: PartialDate
    words: str
    line: LogLine | None = None
    rental: Rented | None = None


_KEYS = {Held: ("why", "note", "released_why"), Rented: ("damage", "note")}


def told_of(
    card: Cylinder, lines: Lines, rentals: Rentals, inside: Sequence[dt.date]
) -> Iterator[Remark]:
    """What holds that were let go, returns, jobs, journeys, valve services, looks at the outside
    and lines of the log say in words. What is struck out for anything but a mistake has been;
    `inside` are the days on which it was looked inside."""
    valve = card.valve_.serviced if card.valve_ else ()
    known: list[Entry] = [
        h for h in card.held if (h.void or h.released) and not is_of_fill(h, lines)
    ]
    known += [i for i in card.inspected if i.on.first not in inside]
    known += [*rentals, *card.jobs, *card.sent, *valve, *card.valve_work]
    for entry in known:
        if entry.void is not None and says_mistaken(entry.void.why):
            continue
        rental = entry if isinstance(entry, Rented) else None
        on = PartialDate.of(rental.back) if rental and rental.back else entry.on
        for key in _KEYS.get(type(entry), ("note",)):
            if words := getattr(entry, key):
                yield Remark(entry.source.at(key), entry.title, key, on, words, None, rental)
    for line in lines:
        if line.note:
            where, on = line.where, PartialDate.of(line.at.date())
            yield Remark(where, line.act, "note", on, line.note, line)


def _told(
    card: Cylinder, lines: Lines, rentals: Rentals, inside: Sequence[dt.date]
) -> Iterator[_Shown]:
    """The pressures that are told of in words."""
    for told in told_of(card, lines, rentals, inside):
        for said in pressures_stood(told.words):
            if told.line is not None:
                how = f"{told.what} with a note that it stood at"
                later = lines[next(n for n, each in enumerate(lines) if each is told.line) :]
            else:
                how = f"has a `{told.key}` that it stood at"
                how = "was held as it stood at" if told.key == "why" else how
                later = [n for n in lines if n.at.date() > told.on.last]
            shown = _Shown(told.where, how, told.on.first, said.pressure, later)
            yield replace(shown, doubted=said.doubted, until=told.on.last, said=said.text)


_DONE = {LogAct.FILL: "filled to", LogAct.READING: "read", LogAct.DRAIN: "drained to"}


def _over(book: Book, limit: Limit | None, shown: _Shown) -> Stood | None:
    if limit is None:
        return None
    lawful = _lawful(limit, shown)
    if not is_above(shown.pressure, lawful):
        return None
    unit = shown.pressure.unit
    said = GaugePressure.of(round(lawful.to(unit)), unit)
    came_down = any(n.to is not None and n.to.pa <= said.pa for n in shown.later)
    # a gauge that somebody found wrong is read again
    beyond = not shown.doubted and is_above(shown.pressure, lawful, gauge_error(book))
    return Stood(shown.where, shown.text, said, beyond, not came_down, shown.day)


def _lawful(limit: Limit, shown: _Shown) -> GaugePressure:
    """The highest reading at its temperature that is within the limit. A fill without a temperature
    is held to the limit itself; whatever else was only read may have stood in the sun."""
    if shown.temperature is None:
        warm = 1.0 if shown.filled else 1 + WARMTH
        return GaugePressure.of(limit.pressure.value * warm, limit.pressure.unit)
    try:
        return settled(mixture_of(shown.gas), limit.pressure, limit.reference, shown.temperature)
    except RangeError:
        return limit.pressure


def _began(card: Cylinder, test: Requalified) -> dt.date:
    """The first day on which a test can have been: of a month, not before it went there."""
    return next((span.first for span in possible_days(card, test)), test.on.first)


def is_of_open_day(card: Cylinder, day: dt.date) -> bool:
    """Whether a test of its month is known by the month alone: it may have come after that day."""
    known = [possible_days(card, test) for test in standing(card.requalified)]
    return any(
        spans[0].first <= day <= spans[-1].last and spans[0].first < spans[-1].last
        for spans in known
        if spans
    )


def _as_on(card: Cylinder, day: dt.date) -> Cylinder:
    tests = tuple(r for r in card.requalified if _began(card, r) <= day)
    work = tuple(w for w in card.valve_work if w.on.first <= day)
    same = len(tests) == len(card.requalified) and len(work) == len(card.valve_work)
    return card if same else replace(card, requalified=tests, valve_work=work)


# --- what is past --------------------------------------------------------------------------------


def is_past(inside: Sequence[Inspected], day: dt.date, later: Lines) -> bool:
    """Whether it was looked `inside` since a day; on that day only where the look answers a hold of
    it, and a line since then drained it to nothing."""
    if any(i.on.first > day for i in inside):
        return True
    named = any(i.on.first == day and _lets_go(i) for i in inside)
    return named and any(_drained(n, day) for n in later)


def _lets_go(look: Inspected) -> bool:
    """Whether a look answers a hold of its own day, and so came after it."""
    return any(c.what is Adverse.HELD and c.on.meets(look.on) for c in look.clears)


def _drained(line: LogLine, day: dt.date) -> bool:
    empty = is_empty(line.to)
    return line.act is LogAct.DRAIN and empty and line.at.date() == day
