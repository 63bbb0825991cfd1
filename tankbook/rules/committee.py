"""What a club's meeting asks: how many cylinders are fit, why the others are not, what comes due,
what is out or away, what was lost."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.entries import Condemned, HandedOver, Lost, standing
from tankbook.records.life import still_open
from tankbook.records.words import SentFor, Status, Use
from tankbook.rules.answers import Reason
from tankbook.rules.costs import CostsAhead, costs_ahead
from tankbook.rules.figures import MEETING_AHEAD, MEETING_BACK
from tankbook.rules.fill_history import contents_of, standings, stands_at
from tankbook.rules.gate import closed_by, may_fill
from tankbook.rules.kept import against_of
from tankbook.rules.months import months_until
from tankbook.rules.rental import Lending, lent
from tankbook.units import PartialDate

NOT_HERE = frozenset(f"standing-{s.value}" for s in Status if s.away)
"""Reasons that only say that it is somewhere else: it may be as fit as any."""


class NotFit(Struct, frozen=True):
    """A cylinder that may not be filled, and every reason of its own."""

    id: str
    use: Use | None
    stands: Status | None
    reasons: tuple[Reason, ...]
    states: tuple[Status, ...] = ()
    """Every state it is in, the gravest first, which is how it stands."""


class Away(Struct, frozen=True):
    """A cylinder that is at a requalifier, repairer or supplier."""

    id: str
    to: str
    for_: SentFor
    since: PartialDate
    against: str = ""
    """What stands against it besides."""


class LeftFleet(Struct, frozen=True):
    """A cylinder that is lost, or that was condemned or sold in the year behind."""

    id: str
    how: Status
    on: PartialDate
    why: str


class Committee(Struct, frozen=True):
    """The fleet as a meeting asks about it.

    `count` are those that the club has: what is sold, condemned or lost is told in `gone`, what its
    supplier has in `away`. `fit`
    may be filled here today; `but_for` would be, but for what is `closed` against every fill;
    `not_here` have nothing against them but that they are out or away. With `not_fit` these make up
    the count. `broken` are cards that cannot be read, counted in none of them.
    """

    today: dt.date
    count: int
    fit: tuple[str, ...]
    but_for: tuple[str, ...]
    not_here: tuple[str, ...]
    not_fit: tuple[NotFit, ...]
    closed: tuple[Reason, ...]
    ahead: CostsAhead
    out: tuple[Lending, ...]
    away: tuple[Away, ...]
    gone: tuple[LeftFleet, ...]
    broken: tuple[str, ...]
    customers: int
    """How many customers' cylinders are left out."""


def committee(
    book: Book, today: dt.date, months: int = MEETING_AHEAD, *, customers: bool = False
) -> Committee:
    """What a meeting is told of a day. Customers' cylinders are left out unless asked for.

    A cylinder is asked about as `fleet` does: with the gas it holds, or the usual one.
    """
    theirs = {n for n, c in book.cylinders.items() if is_customers(c) and not customers}
    cards = sorted((c for n, c in book.cylinders.items() if n not in theirs), key=lambda c: c.id)
    closed = closed_by(book, today)
    shut = {(r.code, r.text) for r in closed}
    fit, but_for, not_here, not_fit = list[str](), list[str](), list[str](), list[NotFit]()
    have = [c for c in cards if not stands_at(book, c).gone]
    for card in have:
        answer = may_fill(book, card.id, today, contents_of(book, card.id).gas)
        own = tuple(r for r in answer.refusals if (r.code, r.text) not in shut)
        if answer.fillable:
            fit.append(card.id)
        elif not own:
            but_for.append(card.id)
        elif all(r.code in NOT_HERE for r in own):
            not_here.append(card.id)
        else:
            states = standings(book, card)
            not_fit.append(NotFit(card.id, card.use, states[0], own, states))
    ours = {c.id for c in cards}
    sides = {n: set(s.cylinders) for n, s in book.sets.items()}
    return Committee(
        today=today,
        count=len(have),
        fit=tuple(fit),
        but_for=tuple(but_for),
        not_here=tuple(not_here),
        not_fit=tuple(not_fit),
        closed=closed,
        ahead=costs_ahead(book, today, months, customers=customers),
        out=tuple(e for e in lent(book, today) if e.id in ours or sides.get(e.id, set()) & ours),
        away=tuple(
            Away(c.id, s.to, s.for_, s.on, against_of(book, c.id, today))
            for c in cards
            for s in still_open(c.sent)
        ),
        gone=tuple(sorted((g for c in cards for g in _gone(book, c, today)), key=_when)),
        broken=tuple(sorted(book.broken)),
        customers=len(theirs),
    )  # fmt: skip


def _when(gone: LeftFleet) -> tuple[dt.date, str]:
    return gone.on.first, gone.id


def _gone(book: Book, card: Cylinder, today: dt.date) -> list[LeftFleet]:
    """That it is lost; that it was condemned or sold in the year behind."""
    status = stands_at(book, card)
    since = months_until(today, MEETING_BACK)[0].first
    found: list[Lost | Condemned | HandedOver] = []
    if status is Status.LOST:
        found += still_open(card.lost)[-1:]
    elif status is Status.CONDEMNED:
        found += [e for e in standing(card.condemned)[-1:] if e.on.last >= since]
    elif status is Status.SOLD:
        found += [e for e in standing(card.handed_over)[-1:] if e.on.last >= since]
    return [LeftFleet(card.id, status, e.on, _why(e)) for e in found]


def _why(entry: Lost | Condemned | HandedOver) -> str:
    return (entry.why if isinstance(entry, Condemned) else entry.note) or ""
