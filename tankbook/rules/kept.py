"""What stands against a cylinder wherever it is, and where it is whatever stands against it: what
every list of one says of the other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Rented
from tankbook.records.life import still_open
from tankbook.records.words import Status
from tankbook.rules.counter import said_of_stolen, stolen_as
from tankbook.rules.fill_history import rentals_of, standings, why_kept
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.status import KEEPING, away_for_work


@once_per_book
def against_of(book: Book, id_: str, today: dt.date) -> str:
    """What stands against a cylinder, or against each of a set: that it failed a test, is
    condemned, rejected, lost or held, and why, or stolen; an empty text where nothing does."""
    many = len(book.members(id_)) > 1
    found = (
        f"{card.id} {said}" if many else said
        for card in book.sides(id_)
        for said in _against(book, card, today)
    )
    return "; ".join(found)


def _against(book: Book, card: Cylinder, today: dt.date) -> Iterator[str]:
    failed = {d.last: d.why for d in due_of_cylinder(book, card, today) if d.failed}
    yield from (why.replace("failed", "FAILED", 1) for why in failed.values())
    states = standings(book, card)
    for state in KEEPING:
        if state in states:
            why = why_kept(book, card, state)
            yield f"{state.in_words}: {why}" if why else state.in_words
    yield from (said_of_stolen(entry, card) for entry in stolen_as(book, card))


def where_of(book: Book, cylinder: Cylinder) -> str:
    """Where a cylinder is that is not here: out, away to be tested or mended, or gone; an empty
    text of what is here. Until when it is out stands in the list of what is."""
    states = standings(book, cylinder)
    found = []
    if Status.OUT in states:
        rentals = still_open(rentals_of(book, cylinder.id))
        found += [f"out to {rental.to} since {rental.on}" for rental in rentals]
    if away_for_work(cylinder):
        found.append(away_at(cylinder))
    found += [state.in_words for state in states if state.gone]
    return "; ".join(found)


def out_to(rental: Rented) -> str:
    """`to B-14 since 2026-11-20, until 2026-11-22`."""
    until = f", until {rental.until}" if rental.until else ""
    return f"to {rental.to} since {rental.on}{until}"


def away_at(cylinder: Cylinder) -> str:
    """`requalification at Weir Street Hydro since 2026-11-17`, of the last time that it was sent
    and is not back."""
    sent = next(reversed(still_open(cylinder.sent)), None)
    return f"{sent.for_} at {sent.to} since {sent.on}" if sent else ""
