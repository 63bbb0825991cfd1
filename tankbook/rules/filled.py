"""Each fill of a cylinder beside what was known of it that day: was it lawful then?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from operator import lt

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Inspected, Rented, Sent, standing
from tankbook.records.fields import attributes_of
from tankbook.records.kinds import is_empty
from tankbook.records.life import is_adverse, opens
from tankbook.records.log import Lines, Log, LogLine
from tankbook.records.node import Severity
from tankbook.records.rulerow import Obligation
from tankbook.records.words import LogAct, Service
from tankbook.rules.checks.declared import Says
from tankbook.rules.clearing import open_damage, open_findings, open_inspection, open_test
from tankbook.rules.fill_history import (
    days_looked_inside,
    is_analysis,
    lines_about,
    lines_held,
    lines_into,
    looks_inside,
    rentals_of,
    rises_among,
    sets_with,
    struck_out,
    void_key,
)
from tankbook.rules.overfilled import is_past, over_among
from tankbook.rules.schedule import binds_on, holds_on
from tankbook.rules.services import serves, service_for
from tankbook.rules.signing import bench_of, why_not_certified
from tankbook.rules.spelling import ids_like
from tankbook.rules.status import kept_at, not_refitted
from tankbook.rules.twins import ids_by_serial
from tankbook.units import PartialDate

_STRUCK = frozenset({LogAct.FILL, LogAct.READING, LogAct.DRAIN})
"""Lines that may tell against a cylinder."""

_OPENING = ("held", "rejected", "condemned", "lost", "sent", "rented", "handed_over")


TEST = "test"
_ASKED = {Obligation.REQUALIFICATION: TEST, Obligation.VISUAL: "inspection"}
"""What a cylinder is in date of when it is filled."""


class Filled(Struct, frozen=True):
    """One fill and what is to be said of it.

    Attributes:
        line: the line of the log.
        past: a full inspection came after it, or it was told by name as a fact that happened.
        lapsed: what it was out of that day.
        bound: what of that nobody may override.
        meanwhile: what kept it from use that day.
        against_service: what it was labelled for, where its gas wants more.
        step: whether it is the oxygen of a blend that goes into what is cleaned for oxygen.
        answered: whether what it holds was analysed since, or let out; not asked of air.
    """

    line: LogLine
    past: bool
    lapsed: tuple[str, ...]
    bound: tuple[str, ...]
    meanwhile: tuple[str, ...]
    against_service: str
    step: bool = False
    answered: bool = False

    def says(self, text: str, mend: str) -> Says:
        """What is wrong with it; what is past is advice."""
        return Says(self.line.where, text, mend, Severity.ADVICE if self.past else None)


@once_per_book
def fills_of(book: Book, card: Cylinder) -> tuple[Filled, ...]:
    """The fills of a cylinder, alone and in its sets, oldest first."""
    return tuple(_fills(book, card, lines_into(book, card.id)))


def _fills(book: Book, card: Cylinder, lines: Lines) -> Iterator[Filled]:
    lapsed: dict[dt.date, tuple[tuple[str, ...], tuple[str, ...]]] = {}
    held = {line.where for line in lines_held(book, card.id)}
    inside = looks_inside(book, card)
    kept = tuple(_keeping(book, card))
    told = _is_told_against(book, card)
    for place, line in enumerate(lines):
        if line.act is not LogAct.FILL:
            continue
        day = line.at.date()
        if day not in lapsed:
            out = _lapsed(book, card, day)
            lapsed[day] = out, _bound(book, card, day) if out else ()
        out, bound = lapsed[day]
        is_air = line.gas is None or line.gas.is_air
        yield Filled(
            line=line,
            past=is_past(inside, day, lines[place + 1 :]),
            lapsed=out,
            bound=bound,
            meanwhile=tuple(
                _meanwhile(book, card, line, kept, apart=line.where not in held, told=told)
            ),
            against_service=_against(card, line),
            step=_is_step(card, line),
            answered=not is_air and any(_answers(later, line) for later in lines[place + 1 :]),
        )


# --- what was struck out -------------------------------------------------------------------------


def unsigned_strikes(
    book: Book, card: Cylinder, today: dt.date
) -> tuple[tuple[LogLine, LogLine, str], ...]:
    """The void lines that strike out a fill, or a line that told against it, since the last look
    inside, and may not: each with what it strikes out, and why."""
    struck = struck_lines(book)
    ids = (card.id, *sets_with(book).get(card.id, ()))
    looked = _looked_at(book, card) or dt.date.min
    pairs = [each for i in ids for each in struck.get(i, ()) if each[0].at.date() >= looked]
    wrong = [(line, n, _why_not_struck(book, line, n, pairs, today)) for line, n in pairs]
    signed = {id(line) for line, _, why in wrong if not why}
    unsigned = [each for each in wrong if id(each[0]) not in signed]
    together = [line for line, _, _ in unsigned]
    return tuple((n, line, why) for line, n, why in unsigned if tells(book, card, line, together))


def _why_not_struck(
    book: Book,
    line: LogLine,
    void: LogLine,
    pairs: Sequence[tuple[LogLine, LogLine]],
    today: dt.date,
) -> str:
    """Why a void line does not strike out a line, or an empty text."""
    if void.at < line.at and book.is_past(line.at, today):
        when = void.at.date() if void.at.date() < line.at.date() else f"{void.at:%Y-%m-%d %H:%M:%S}"
        return f"the line that does so is dated {when}, before it"
    acts = {struck.act for struck, n in pairs if n is void}
    if len(acts) > 1:
        return f"so is a {(acts - {line.act}).pop()} of the same second"
    return _why_not_signed(book, void) or _why_not_both(book, line, pairs)


def _why_not_signed(book: Book, void: LogLine) -> str:
    return why_not_certified(book.settings.people, void.by, void.at.date())


def _why_not_both(book: Book, line: LogLine, pairs: Sequence[tuple[LogLine, LogLine]]) -> str:
    """Why one line does not strike out two that tell of one act of one second otherwise: one of the
    two may be true. Each is struck out by a line of its own, or the true one is logged again."""
    same = [(s, n) for s, n in pairs if void_key(s) == void_key(line) and s.act is line.act]
    told = {cells_of(struck) for struck, _ in same}
    signed = {id(n) for _, n in same if n.at >= line.at and not _why_not_signed(book, n)}
    logged = lines_about(book, line.cylinder or "")
    again = any(n.act is line.act and n.at.date() == line.at.date() for n in logged)
    if len(told) <= max(len(signed), 1) or again:
        return ""
    return f"so is another {line.act} of the same second, and none stands in their place"


def cells_of(line: LogLine) -> tuple[object, ...]:
    """What a line says, wherever it stands."""
    return tuple(getattr(line, name) for name in attributes_of(LogLine).values())


def unsigned_strange_strikes(book: Book) -> tuple[tuple[LogLine, LogLine, str], ...]:
    """The lines of names that look like those of the ledger and are none, and were struck out by
    nobody who may: each with what strikes it out, and why not."""
    ids = book.ids
    struck = struck_lines(book)
    serials = ids_by_serial(book) if struck else {}
    strange = [name for name in struck if name not in ids and ids_like(name, ids, serials)]
    pairs = [p for name in strange for p in struck[name]]
    wrong = [(n, line, _why_not_strange(book, line, n)) for line, n in pairs]
    signed = {id(line) for _, line, why in wrong if not why}
    return tuple(each for each in wrong if id(each[1]) not in signed)


def _why_not_strange(book: Book, line: LogLine, void: LogLine) -> str:
    if void.at < line.at:
        return f"the line that does so is dated {void.at:%Y-%m-%d %H:%M:%S}, before it"
    return _why_not_signed(book, void) or ("" if void.note else "no reason is given")


def tells(book: Book, card: Cylinder, line: LogLine, beside: Lines = ()) -> bool:
    """Whether a line tells against a cylinder, so that somebody certified is to strike it out: a
    fill, a reading of nothing or of a gas, or one without which less is wrong.

    `beside` are further lines that stand with it.
    """
    emptied = line.act is LogAct.READING and is_empty(line.to)
    if line.act is LogAct.FILL or emptied or line.gas or line.o2 or line.he:
        return True
    base = [n for n in lines_about(book, card.id) if n is not line]
    others = [n for n in beside if n is not line]
    return any(_shows_more(book, card, line, rest) for rest in (base, [*base, *others]))


def _shows_more(book: Book, card: Cylinder, line: LogLine, rest: Lines) -> bool:
    without = sorted(rest, key=lambda n: n.at)
    with_it = sorted((*rest, line), key=lambda n: n.at)
    rises = (len(rises_among(book, card, lines)) for lines in (without, with_it))
    over = (len(over_among(book, card, lines)) for lines in (without, with_it))
    return bool(lt(*rises) or lt(*over))


def tells_of_a_fill(book: Book, card: Cylinder, rental: Rented) -> bool:
    """Whether what a rental came back with shows a fill that nobody logged, or too much in it."""
    others = [r for r in standing(rentals_of(book, card.id)) if r is not rental]
    lines = lines_about(book, card.id)
    stands = replace(rental, void=None)
    rises = (len(rises_among(book, card, lines, r)) for r in (others, [*others, stands]))
    over = (len(over_among(book, card, lines, r)) for r in (others, [*others, stands]))
    return bool(lt(*rises) or lt(*over))


def telling_rentals(book: Book, card: Cylinder) -> tuple[Rented, ...]:
    """The rentals that were struck out and show that it was filled, or too full."""
    struck = (r for r in rentals_of(book, card.id) if r.void is not None)
    return tuple(r for r in struck if tells_of_a_fill(book, card, r))


@once_per_book
def struck_lines(book: Book) -> dict[str, list[tuple[LogLine, LogLine]]]:
    """Every fill and reading that was struck out, with the line that strikes it out, by cylinder or
    set."""
    log = Log.of(book.log)
    voids: dict[tuple[str, str], list[LogLine]] = {}
    for place, act in enumerate(log.column("act")):
        for key in struck_out([log[place]]) if act is LogAct.VOID else ():
            voids.setdefault(key, []).append(log[place])
    found: dict[str, list[tuple[LogLine, LogLine]]] = {}
    for line in book.log if voids else ():
        if line.act in _STRUCK and line.cylinder:
            pairs = [(line, n) for n in voids.get(void_key(line), ())]
            found.setdefault(line.cylinder, []).extend(pairs)
    return found


def _looked_at(book: Book, card: Cylinder) -> dt.date | None:
    """The first day of the newest passed look inside."""
    return max(days_looked_inside(book, card), default=None)


def _lapsed(book: Book, card: Cylinder, day: dt.date) -> tuple[str, ...]:
    return tuple(
        name for question, name in _ASKED.items() if holds_on(book, card, question, day) is False
    )


def _bound(book: Book, card: Cylinder, day: dt.date) -> tuple[str, ...]:
    return tuple(name for question, name in _ASKED.items() if binds_on(book, card, question, day))


def _keeping(book: Book, card: Cylinder) -> Iterator[tuple[str, Entry]]:
    """The entries that may have kept it from use, each with the key it stands under."""
    for name in _OPENING:
        entries: tuple[Entry, ...] = getattr(card, name)
        if name == "rented":
            entries = rentals_of(book, card.id)
        yield from ((name, entry) for entry in standing(entries))


def _meanwhile(
    book: Book,
    card: Cylinder,
    line: LogLine,
    keeping: Iterable[tuple[str, Entry]],
    *,
    apart: bool,
    told: bool,
) -> Iterator[str]:
    """Why it should not have been filled that day, as `held since 2026-02-09`. Of a side that was
    held by itself while the other was filled nobody knows that it hung on the manifold. `told`:
    whether anything ever told against it."""
    kept = False
    for name, entry in keeping:
        if apart and name == "held":
            continue
        if kept_at(entry, line.at):
            kept = True
            yield f"{opens(entry)} since {entry.on}"
        elif isinstance(entry, Sent) and not_refitted(entry, line.at.date()):
            kept = True
            yield f"not refitted since it came back on {entry.back}"
    if told and not kept:
        yield from islice(_unanswered(book, card, line.at.date()), 1)


def _is_told_against(book: Book, card: Cylinder) -> bool:
    told = (*card.inspected, *card.requalified, *card.held, *rentals_of(book, card.id))
    return any(is_adverse(e) or (isinstance(e, Inspected) and e.findings) for e in told)


def _unanswered(book: Book, card: Cylinder, day: dt.date) -> Iterator[str]:
    """What told against it before a day and was not answered by then."""
    rentals = rentals_of(book, card.id)
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
    for found, state in open_findings(bench, then, ended):
        if state in {
            "giving-way-said",
            "unread-said",
        }:  # who let it go looked at it; what is filled next is refused
            continue
        yield f"what was found on {found.on} stood"
    for _, on in open_damage(bench, then, ended):
        yield f"the damage of {on} stood"


def _known_by(entry: Entry, on: PartialDate, day: dt.date) -> bool:
    """Whether an entry counts before a fill of a day: an adverse one from an earlier day, any other
    one from that day too."""
    adverse = is_adverse(entry) or (isinstance(entry, Inspected) and entry.findings)
    return on.last < day if adverse else on.first <= day


def _is_step(card: Cylinder, line: LogLine) -> bool:
    """Whether pure oxygen went into a cylinder that is cleaned for it and labelled for nitrox: so a
    blend by partial pressures begins (common practice, no source)."""
    if line.gas is None or service_for(line.gas) is not Service.OXYGEN:
        return False
    before = [c for c in card.cleanings if c.on.last <= line.at.date()]
    return card.service is Service.NITROX and bool(before) and before[-1].to is Service.OXYGEN


def _answers(later: LogLine, line: LogLine) -> bool:
    """Whether a later line tells what became of a gas: analysed by somebody, or let out."""
    if is_empty(later.to):
        return True
    return is_analysis(later, line.gas)


def _against(card: Cylinder, line: LogLine) -> str:
    if line.gas is None:
        return ""
    if card.service is None:
        return "" if line.gas.is_air else "nothing on record"
    return "" if serves(card.service, service_for(line.gas)) else str(card.service)
