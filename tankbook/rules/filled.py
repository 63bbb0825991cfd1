"""Each fill of a cylinder beside what was known of it that day: was it lawful then?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tankbook.gas import AIR, Gas, Mixture, RangeError
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Held, Rejected, standing
from tankbook.records.kinds import EMPTY
from tankbook.records.life import life_of, opens
from tankbook.records.log import Log, LogLine
from tankbook.records.node import Severity, Where
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Act, Service, Status
from tankbook.rules.answers import Limit
from tankbook.rules.checks.declared import Says
from tankbook.rules.contents import GAUGE_ERROR, lines_about, sets_with, struck_out, void_key
from tankbook.rules.inforce import rules_on
from tankbook.rules.limits import limit_of, settled
from tankbook.rules.schedule import binds_on, holds_on
from tankbook.rules.services import service_for
from tankbook.rules.signing import why_not_certified
from tankbook.rules.standing import is_inside, passes
from tankbook.units import GaugePressure, Temperature, time_of_day

_OPENING = ("held", "rejected", "condemned", "lost", "sent", "rented", "handed_over")


@dataclass(frozen=True, slots=True)
class Over:
    """A fill above its limit: what was lawful, by how much it is over, what a gauge may err."""

    lawful: GaugePressure
    by: float
    error: float


@dataclass(frozen=True, slots=True)
class Filled:
    """One fill and what is to be said of it.

    Attributes:
        line: the line of the log.
        past: a full inspection came after it, or it was told by name as a fact that happened.
        over: how far it went above the limit of its day.
        still_over: nothing since shows it at or below that limit.
        lapsed: what it was out of that day.
        bound: it was out of what nobody may override.
        meanwhile: the entries that kept it from use that day, with the state each put it in.
        against_service: what it was labelled for, where its gas wants more.
    """

    line: LogLine
    past: bool
    over: Over | None
    still_over: bool
    lapsed: tuple[str, ...]
    bound: bool
    meanwhile: tuple[tuple[Entry, Status], ...]
    against_service: str

    def says(self, text: str, mend: str) -> Says:
        """What is wrong with it; what is past is advice."""
        where = Where(self.line.path, self.line.line, 1)
        return Says(where, text, mend, Severity.ADVICE if self.past else None)


@once_per_book
def _known(book: Book) -> dict[str, tuple[Cylinder, tuple[Filled, ...]]]:
    return {}


def fills_of(book: Book, card: Cylinder) -> tuple[Filled, ...]:
    """The fills of a cylinder, alone and in its sets, oldest first."""
    known = _known(book)
    kept = known.get(card.id)
    if kept is None or kept[0] is not card:
        lines = lines_about(book, card.id)
        kept = known[card.id] = card, tuple(_fills(book, card, lines))
    return kept[1]


def _fills(book: Book, card: Cylinder, lines: Sequence[LogLine]) -> Iterator[Filled]:
    looked = _looked_at(book, card)
    limits: dict[tuple[int, Gas | Mixture, int], Limit | None] = {}
    lapsed: dict[dt.date, tuple[str, ...]] = {}
    for place, line in enumerate(lines):
        if line.act is not Act.FILL:
            continue
        day = line.at.date()
        if day not in lapsed:
            lapsed[day] = _lapsed(book, card, day)
        tests = sum(r.void is None and r.on.first <= day for r in card.requalified)
        gas = line.gas or AIR
        asked = (tests, gas, id(rules_on(book, day)))
        if asked not in limits:
            limits[asked] = limit_of(book, _as_on(card, day), gas, day)
        over = _over(book, limits[asked], line)
        yield Filled(
            line=line,
            past=looked is not None
            and (day < looked or (day == looked and _emptied(line, lines[place + 1 :]))),
            over=over,
            still_over=over is not None and not _came_down(over, lines[place + 1 :]),
            lapsed=lapsed[day],
            bound=bool(lapsed[day] and line.override) and _bound(book, card, day),
            meanwhile=tuple(_meanwhile(card, line)),
            against_service=_against(card, line),
        )


def unsigned_strikes(book: Book, card: Cylinder) -> tuple[tuple[LogLine, str], ...]:
    """The void lines that strike out a fill since the last look inside and that nobody certified
    wrote, each with why it counts for nothing."""
    struck = _struck_fills(book)
    ids = (card.id, *sets_with(book).get(card.id, ()))
    looked = _looked_at(book, card) or dt.date.min
    voids = [n for i in ids for fill, n in struck.get(i, ()) if fill.at.date() >= looked]
    people = book.settings.people
    wrong = {id(n): why_not_certified(people, n.by, n.at.date()) for n in voids}
    signed = {key for n in voids if not wrong[id(n)] for key in struck_out([n])}
    return tuple((n, wrong[id(n)]) for n in voids if not struck_out([n]) & signed)


@once_per_book
def _struck_fills(book: Book) -> dict[str, list[tuple[LogLine, LogLine]]]:
    """Every fill that was struck out, with the line that strikes it out, by cylinder or set."""
    log = Log.of(book.log)
    voids: dict[tuple[str, str], list[LogLine]] = {}
    for place, act in enumerate(log.column("act")):
        for key in struck_out([log[place]]) if act is Act.VOID else ():
            voids.setdefault(key, []).append(log[place])
    found: dict[str, list[tuple[LogLine, LogLine]]] = {}
    for line in book.log if voids else ():
        if line.act is Act.FILL and line.cylinder:
            pairs = [(line, n) for n in voids.get(void_key(line), ())]
            found.setdefault(line.cylinder, []).extend(pairs)
    return found


def _emptied(line: LogLine, later: Sequence[LogLine]) -> bool:
    """Whether it was drained to nothing later that day: a look inside that day came after."""
    return any(
        n.act is Act.DRAIN and n.to is not None and n.to < EMPTY and n.at.date() == line.at.date()
        for n in later
    )


def _looked_at(book: Book, card: Cylinder) -> dt.date | None:
    """The first day of the newest passed look inside."""
    days = [i.on.first for i in passes(card) if is_inside(book, i.checklist)]
    return max(days, default=None)


def _as_on(card: Cylinder, day: dt.date) -> Cylinder:
    tests = tuple(r for r in card.requalified if r.on.first <= day)
    return card if len(tests) == len(card.requalified) else replace(card, requalified=tests)


def _over(book: Book, limit: Limit | None, line: LogLine) -> Over | None:
    if limit is None or line.to is None:
        return None
    lawful = _allowed(limit, line)
    if line.to.pa <= lawful.pa:
        return None
    error = book.station.gauge_error if book.station else None
    shown = GaugePressure.of(round(lawful.to(line.to.unit)), line.to.unit)
    return Over(shown, line.to.pa - lawful.pa, (error or GAUGE_ERROR).pa)


def _allowed(limit: Limit, line: LogLine) -> GaugePressure:
    """The highest reading at the line's temperature that is within the limit."""
    at: Temperature | None = line.temperature
    if at is None:
        return limit.pressure
    mixture = line.gas.mixture if line.gas else AIR
    try:
        return settled(mixture, limit.pressure, limit.reference, at)
    except RangeError:
        return limit.pressure


def _came_down(over: Over, later: Sequence[LogLine]) -> bool:
    """Whether a later line shows it at or below what was lawful."""
    return any(n.to is not None and n.to.pa <= over.lawful.pa for n in later)


def _lapsed(book: Book, card: Cylinder, day: dt.date) -> tuple[str, ...]:
    names = {Obligation.REQUALIFICATION: "test", Obligation.VISUAL: "inspection"}
    return tuple(
        name for question, name in names.items() if holds_on(book, card, question, day) is False
    )


def _bound(book: Book, card: Cylinder, day: dt.date) -> bool:
    questions = (Obligation.REQUALIFICATION, Obligation.VISUAL)
    return any(binds_on(book, card, question, day) for question in questions)


def _meanwhile(card: Cylinder, line: LogLine) -> Iterator[tuple[Entry, Status]]:
    for name in _OPENING:
        entries: tuple[Entry, ...] = getattr(card, name)
        for entry in standing(entries):
            state = opens(entry)
            if state is not None and _within(entry, state, line.at):
                yield entry, state


def _within(entry: Entry, state: Status, at: dt.datetime) -> bool:
    """Whether a fill falls into the time an entry kept its cylinder from use.

    Going out, coming back and being filled are done on one day every day. A hold or worse counts
    from the time of day it says, or from that day's beginning where it says none.
    """
    life, day = life_of(type(entry)), at.date()
    end = getattr(entry, life.ended_by, None) if life.ended_by else None
    began = entry.on.first
    if end is not None and day >= end:
        return False
    if state.away or state in {Status.SOLD, Status.LOST}:
        return began < day and entry.on.last < day
    said = entry.at if isinstance(entry, Held | Rejected) else None
    if day == began and said is not None:
        return time_of_day(at) > said
    return began <= day


def _against(card: Cylinder, line: LogLine) -> str:
    if line.gas is None or card.service is None:
        return ""
    ranks = list(Service)
    wanted = service_for(line.gas)
    return str(card.service) if ranks.index(card.service) < ranks.index(wanted) else ""
