"""Today's board: the station, what is ready, what is due, held, out and away."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Rented
from tankbook.records.life import still_open
from tankbook.records.rulerow import Obligation
from tankbook.records.station import Bank
from tankbook.records.words import Status
from tankbook.rules.air import air_judge
from tankbook.rules.answers import AbsentLine, BankState, Board, Due, HeldLine, Ready, Reason, State
from tankbook.rules.bad_air import tells_bad
from tankbook.rules.bank_air import air_of
from tankbook.rules.bank_held import banks_held
from tankbook.rules.fill_history import GONE_FROM_THERE, standings, why_kept
from tankbook.rules.gate import shut_by
from tankbook.rules.gauges import read_gauges
from tankbook.rules.kept import against_of, away_at, out_to, where_of
from tankbook.rules.lapsed import dated_reason
from tankbook.rules.leaving import asked_of_bank
from tankbook.rules.out_of_use import (
    EVERY,
    PartSort,
    StationPart,
    parts_out,
    told_of_parts,
    told_out,
)
from tankbook.rules.recall import banks_taken
from tankbook.rules.rental import is_ready, lendable, open_rental
from tankbook.rules.schedule import SOON, due
from tankbook.rules.status import away_for_work
from tankbook.rules.trained import seen_no_more
from tankbook.rules.unmeasured import said_unmeasured
from tankbook.rules.volume import size_of
from tankbook.units import PartialDate, Period

READING_AGE = Period.parse("2 days")
"""A bank reading older than this is stale unless the settings say otherwise."""


def board(book: Book, today: dt.date) -> Board:
    """What a person at the fill station looks at first thing."""
    items = due(book, today)
    own = [d for d in items if d.kind != "set"]
    station = tuple(d for d in items if d.kind == "station")
    outs = told_out(book, today)
    names = {o.part.name for o in outs if o.part.kind is PartSort.COMPRESSOR}
    tests = [d for d in station if d.obligation is Obligation.AIR_TEST and d.part not in names]
    air = next(iter(tests), None)
    settings = book.settings
    return Board(
        today=today,
        ledger=settings.ledger,
        station=station,
        station_refusals=shut_by(book, today),
        out_of_use=tuple((str(o.part), o.reason) for o in outs),
        parts_out=tuple(sorted(str(part) for part in parts_out(book, today) - {EVERY})),
        air_test_until=air.next if air else None,
        air_test_failed=air is not None and air.failed,
        air_unmeasured=said_unmeasured(air_judge(book), book.station),
        banks=tuple(
            bank_state(book, b, today) for b in (book.station.banks if book.station else ())
        ),
        ready=ready(book, today),
        overdue=tuple(d for d in own if d.state is State.OVERDUE),
        missing=tuple(d for d in own if d.state is State.MISSING),
        soon=tuple(d for d in own if d.state is State.SOON),
        soon_days=(PartialDate.of(today).plus(settings.soon or SOON).last - today).days,
        held=tuple(_held(book)),
        out=tuple(
            AbsentLine(name, out_to(r), against_of(book, name, today)) for name, r in _out(book)
        ),
        away=tuple(
            AbsentLine(c.id, away_at(c), against_of(book, c.id, today))
            for c in book.cylinders.values()
            if away_for_work(c)
        ),
        awaiting=tuple(c.id for c in _with_state(book, Status.AWAITING_INSPECTION)),
        broken=tuple(book.broken),
        unproved=_unproved(book, station),
        warned=told_of_parts(book, today),
        in_doubt=tuple((each.id, each.said) for each in seen_no_more(book, today)),
    )


def _unproved(book: Book, station: tuple[Due, ...]) -> tuple[Reason, ...]:
    """Why nobody knows that the gauges are true that fills are read on."""
    read = {g.name for g in read_gauges(book.station)} if book.station else set()
    items = (d for d in station if d.obligation is Obligation.GAUGE_CHECK and d.part in read)
    reasons = (dated_reason(d) for d in items if d.state is State.MISSING)
    return tuple(r for r in reasons if r is not None)


def ready(book: Book, today: dt.date) -> tuple[Ready, ...]:
    """The rental, staff and pool cylinders (and sets) that can go out now, by size and gas.

    Ready means: in service, nothing of its own against it, and holding a known gas at the settings'
    share of its limit or more, at the reference temperature.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for id_ in lendable(book):
        card = book.cylinders.get(id_)
        states = _states(book).get(id_)
        here = states == (Status.IN_SERVICE,) if card else not open_rental(book.sets[id_])
        gas = is_ready(book, id_, today) if here else ""
        if gas:
            found.setdefault((size_of(book, id_), gas), []).append(id_)
    return tuple(Ready(size, gas, tuple(ids)) for (size, gas), ids in sorted(found.items()))


def bank_state(book: Book, bank: Bank, today: dt.date) -> BankState:
    """A bank as last read, whether that reading is too old to plan with, and what it should show
    after what was filled from it since."""
    air = air_of(book, bank)
    age = book.settings.reading_age or READING_AGE
    stale = air.read_on is None or PartialDate.of(air.read_on).plus(age).last < today
    gas = str(bank.gas) if bank.gas else "gas not recorded"
    held = next((h.why for h in banks_held(book, today) if h.name == bank.name), "")
    own = StationPart(PartSort.BANK, bank.name)
    outs = (o for o in told_out(book, today) if own in o.parts)
    held = held or next((o.reason.text for o in outs), "")
    if not held and (failed := banks_taken(book, today).get(bank.name)) is not None:
        held = f"it may hold what was pumped before, or since: {tells_bad(failed)}"
    return BankState(
        name=bank.name,
        gas=gas,
        pressure=air.read,
        read_on=air.read_on,
        stale=stale,
        shows=air.shows,
        fills=air.fills,
        unmeasured=air.unmeasured,
        held=held,
        asked=asked_of_bank(book, bank, today),
    )


@once_per_book
def _states(book: Book) -> Mapping[str, tuple[Status, ...]]:
    """Every state of every cylinder."""
    return {c.id: standings(book, c) for c in book.cylinders.values()}


def _with_state(book: Book, wanted: Status) -> list[Cylinder]:
    return [c for c in book.cylinders.values() if wanted in _states(book)[c.id]]


def _held(book: Book) -> Iterator[HeldLine]:
    """What is held, wherever it is; but for what left for good, or never holds gas again."""
    for card in _with_state(book, Status.HELD):
        if not {Status.SOLD, Status.AT_SUPPLIER, Status.CONDEMNED} & {*_states(book)[card.id]}:
            yield HeldLine(card.id, why_kept(book, card, Status.HELD), where_of(book, card))


def _out(book: Book) -> Iterator[tuple[str, Rented]]:
    for id_, cylinder in book.cylinders.items():
        if cylinder.rented and not GONE_FROM_THERE.intersection(_states(book)[id_]):
            yield from ((id_, rental) for rental in still_open(cylinder.rented))
    for name, doubles in book.sets.items():
        for rental in still_open(doubles.rented):
            yield name, rental
