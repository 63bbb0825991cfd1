"""Each fill of a cylinder beside what was known of it that day: was it lawful then?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from tankbook.gas import AIR, Gas, Mixture, RangeError
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Held, Inspected, Rejected, Sent, standing
from tankbook.records.kinds import EMPTY
from tankbook.records.life import is_adverse, life_of, opens
from tankbook.records.log import Log, LogLine
from tankbook.records.node import Severity, Where
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Act, Service, Status
from tankbook.rules.answers import Limit
from tankbook.rules.checks.declared import Says
from tankbook.rules.clearing import open_damage, open_findings, open_inspection, open_test
from tankbook.rules.contents import (
    GAUGE_ERROR,
    GAUGE_ERROR_AT_MOST,
    lines_about,
    rentals_of,
    rises_among,
    sets_with,
    struck_out,
    void_key,
)
from tankbook.rules.inforce import rules_on
from tankbook.rules.limits import limit_of, settled
from tankbook.rules.schedule import binds_on, holds_on
from tankbook.rules.services import service_for
from tankbook.rules.signing import bench_of, looks, why_not_certified
from tankbook.rules.standing import is_inside
from tankbook.units import GaugePressure, PartialDate, Temperature, time_of_day

_STRUCK = frozenset({Act.FILL, Act.READING, Act.DRAIN})
"""Lines that may tell against a cylinder."""

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
        meanwhile: what kept it from use that day.
        against_service: what it was labelled for, where its gas wants more.
    """

    line: LogLine
    past: bool
    over: Over | None
    still_over: bool
    lapsed: tuple[str, ...]
    bound: bool
    meanwhile: tuple[str, ...]
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
            and (day < looked or (_names_that_day(book, card, day) and _drained(lines, place))),
            over=over,
            still_over=over is not None and not _came_down(over, lines[place + 1 :]),
            lapsed=lapsed[day],
            bound=bool(lapsed[day] and line.override) and _bound(book, card, day),
            meanwhile=tuple(_meanwhile(book, card, line)),
            against_service=_against(card, line),
        )


def unsigned_strikes(
    book: Book, card: Cylinder, today: dt.date
) -> tuple[tuple[LogLine, LogLine, str], ...]:
    """The void lines that strike out a fill, or a reading that told against it, since the last look
    inside, and may not: each with what it strikes out, and why."""
    struck = _struck_lines(book)
    ids = (card.id, *sets_with(book).get(card.id, ()))
    looked = _looked_at(book, card) or dt.date.min
    pairs = [each for i in ids for each in struck.get(i, ()) if each[0].at.date() >= looked]
    wrong = [(line, n, _why_not_struck(book, line, n, pairs, today)) for line, n in pairs]
    signed = {id(line) for line, _, why in wrong if not why}
    unsigned = (each for each in wrong if id(each[0]) not in signed)
    return tuple((n, line, why) for line, n, why in unsigned if _told_against(book, card, line))


def _why_not_struck(
    book: Book,
    line: LogLine,
    void: LogLine,
    pairs: Sequence[tuple[LogLine, LogLine]],
    today: dt.date,
) -> str:
    """Why a void line does not strike out a line, or an empty text."""
    if void.at.date() < line.at.date() <= today:
        return f"the line that does so is dated {void.at.date()}, before it"
    acts = {struck.act for struck, n in pairs if n is void}
    if len(acts) > 1:
        return f"so is a {(acts - {line.act}).pop()} of the same second"
    return why_not_certified(book.settings.people, void.by, void.at.date())


def _told_against(book: Book, card: Cylinder, line: LogLine) -> bool:
    """Whether a line that was struck out is a fill, a reading of nothing, or one that no fill
    explains."""
    emptied = line.act is Act.READING and line.to is not None and line.to < EMPTY
    if line.act is Act.FILL or emptied:
        return True
    lines = sorted((*lines_about(book, card.id), line), key=lambda n: n.at)
    return any(each[0] is line for each in rises_among(book, card, lines))


@once_per_book
def _struck_lines(book: Book) -> dict[str, list[tuple[LogLine, LogLine]]]:
    """Every fill and reading that was struck out, with the line that strikes it out, by cylinder or
    set."""
    log = Log.of(book.log)
    voids: dict[tuple[str, str], list[LogLine]] = {}
    for place, act in enumerate(log.column("act")):
        for key in struck_out([log[place]]) if act is Act.VOID else ():
            voids.setdefault(key, []).append(log[place])
    found: dict[str, list[tuple[LogLine, LogLine]]] = {}
    for line in book.log if voids else ():
        if line.act in _STRUCK and line.cylinder:
            pairs = [(line, n) for n in voids.get(void_key(line), ())]
            found.setdefault(line.cylinder, []).extend(pairs)
    return found


def _names_that_day(book: Book, card: Cylinder, day: dt.date) -> bool:
    """Whether a look inside of a day answers something of that day, and so came after it."""
    return any(
        i.on.first == day
        and is_inside(book, i.checklist)
        and any(c.on.meets(i.on) for c in i.clears)
        for i in looks(book, card)
    )


def _drained(lines: Sequence[LogLine], place: int) -> bool:
    """Whether it was drained to nothing later on the day of a line."""
    return any(
        n.act is Act.DRAIN
        and n.to is not None
        and n.to < EMPTY
        and n.at.date() == lines[place].at.date()
        for n in lines[place + 1 :]
    )


def _looked_at(book: Book, card: Cylinder) -> dt.date | None:
    """The first day of the newest passed look inside."""
    days = [i.on.first for i in looks(book, card) if is_inside(book, i.checklist)]
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
    may_err = min((error or GAUGE_ERROR).pa, GAUGE_ERROR_AT_MOST.pa)
    return Over(shown, line.to.pa - lawful.pa, may_err)


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


def _meanwhile(book: Book, card: Cylinder, line: LogLine) -> Iterator[str]:
    """Why it should not have been filled that day, as `held since 2026-02-09`."""
    kept = False
    for name in _OPENING:
        entries: tuple[Entry, ...] = getattr(card, name)
        if name == "rented":
            entries = rentals_of(book, card.id)
        for entry in standing(entries):
            state = opens(entry)
            if state is not None and _within(entry, state, line.at):
                kept = True
                yield f"{state} since {entry.on}"
            elif isinstance(entry, Sent) and _not_refitted(entry, line.at.date()):
                kept = True
                yield f"not refitted since it came back on {entry.back}"
    if not kept:
        yield from islice(_unanswered(book, card, line.at.date()), 1)


def _unanswered(book: Book, card: Cylinder, day: dt.date) -> Iterator[str]:
    """What told against it before a day and was not answered by then."""
    rentals = rentals_of(book, card.id)
    told = (*card.inspected, *card.requalified, *card.held, *rentals)
    if not any(is_adverse(e) or (isinstance(e, Inspected) and e.findings) for e in told):
        return
    bench = bench_of(book)
    ended = [r for r in rentals if r.back and r.back < day]
    then = replace(
        card,
        held=tuple(h for h in card.held if _known_by(h, h.on, day)),
        inspected=tuple(i for i in card.inspected if _known_by(i, i.on, day)),
        requalified=tuple(r for r in card.requalified if _known_by(r, r.tested or r.on, day)),
    )
    failed, look = open_test(bench, then), open_inspection(bench, then)
    if failed is not None:
        yield f"its failed test of {failed.on} stood"
    if look is not None:
        yield f"its inspection of {look.on} was not passed"
    for found, _ in open_findings(bench, then, ended):
        yield f"what was found on {found.on} stood"
    for _, on in open_damage(bench, then, ended):
        yield f"the damage of {on} stood"


def _known_by(entry: Entry, on: PartialDate, day: dt.date) -> bool:
    """Whether an entry counts before a fill of a day: an adverse one from an earlier day, any other
    one from that day too."""
    adverse = is_adverse(entry) or (isinstance(entry, Inspected) and entry.findings)
    return on.last < day if adverse else on.first <= day


def _not_refitted(sent: Sent, day: dt.date) -> bool:
    refitted = sent.refitted
    return bool(sent.back and day >= sent.back and (refitted is None or day < refitted))


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
    if line.gas is None:
        return ""
    if card.service is None:
        return "" if line.gas.is_air else "nothing on record"
    ranks = list(Service)
    wanted = service_for(line.gas)
    return str(card.service) if ranks.index(card.service) < ranks.index(wanted) else ""
