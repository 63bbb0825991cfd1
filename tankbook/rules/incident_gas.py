"""Who else got the gas that an incident speaks of: of the same source, in the same days."""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Iterable, Iterator

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.life import still_open
from tankbook.rules.air import parts_named, taken_here
from tankbook.rules.bad_air import fills_since_empty
from tankbook.rules.bank_air import air_of
from tankbook.rules.bank_held import is_of_gas
from tankbook.rules.incident_held import incidents_that_count, why_of
from tankbook.rules.recall import Asked, Suspect, by_fills, gas_labels


class SameGas(Struct, frozen=True):
    """Gas of what an incident names, and who else has it on record.

    Attributes:
        source: where it came from, by its label; empty where nobody says.
        since: the first day of it.
        until: the last one.
        others: the cylinders besides those named that were filled with it, emptied since or not.
    """

    source: str
    since: dt.date
    until: dt.date
    others: tuple[Suspect, ...]

    @property
    def command(self) -> str:
        """What lists them all, and sets them aside."""
        named = f" {shlex.quote(self.source)}" if self.source else ""
        return f"tankbook recall{named} --since {self.since} --until {self.until}"


def same_gas(
    book: Book, then: Book, ids: Iterable[str], banks: Iterable[str], on: dt.date
) -> Iterator[SameGas]:
    """The gas of cylinders and banks that an incident names, each source once.

    Args:
        book: the records.
        then: the records as they were known as it happened.
        ids: the cylinders, by their ids.
        banks: the banks, by their labels.
        on: the day it happened.
    """
    today, named = book.clock or on, [*ids]
    days = dict[str, list[dt.date]]()
    for source, day in (*_filled(then, named), *_stored(then, banks, on)):
        days.setdefault(source, []).append(day)
    for source, each in days.items():
        asked = Asked(source or None, since=min(each), until=max(each))
        found = by_fills(book, asked, today).suspects
        others = tuple(s for s in found if s.id not in named)
        yield SameGas(source, min(each), max(each), others)


def _filled(then: Book, ids: Iterable[str]) -> Iterator[tuple[str, dt.date]]:
    """From what, and when, cylinders were last filled with what they held."""
    labels = {label.casefold(): label for label in gas_labels(then)}
    for card in (then.cylinders.get(id_) for id_ in ids):
        for line in fills_since_empty(then, card)[-1:] if card is not None else ():
            source = line.source_ or ""
            said = [*taken_here(source)]
            if then.station is not None:
                said += sorted({p for n in said for p in parts_named(then.station, n)})
            known = dict.fromkeys(labels[n.casefold()] for n in said if n.casefold() in labels)
            yield from ((label, line.at.date()) for label in known)
            if not source:
                yield "", line.at.date()


def _stored(then: Book, banks: Iterable[str], on: dt.date) -> Iterator[tuple[str, dt.date]]:
    """The banks, and since when each holds what it held that day."""
    for bank in then.station.banks if then.station else ():
        if bank.name in banks:
            came = [o.came for o in air_of(then, bank).origins]
            yield from ((bank.name, day) for day in (max(came, default=on), on))


def kept_for_analysis(book: Book, id_: str) -> Iterator[str]:
    """That the gas of a cylinder, or of a set's, may be wanted for analysis: it is held for an
    incident that may be of that."""
    for each in incidents_that_count(book):
        named = {then.id for then in each.cylinders} if is_of_gas(each) else set[str]()
        for card in (book.cylinders.get(m) for m in book.members(id_)):
            if card is not None and named & {card.id, *card.formerly}:
                of_it = (h.why.startswith(f"incident of {each.on}") for h in still_open(card.held))
                if any(of_it):
                    yield f"{card.id} is held for the {why_of(each)}: keep its gas for analysis"
