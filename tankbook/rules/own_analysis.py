"""What a user analysed as a cylinder was handed out, held against the gas on record: as it leaves,
on every paper that tells of both, and by `validate`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import GasAnalysed, HandedOver, Job, Rented, standing
from tankbook.records.node import Where
from tankbook.rules.answers import Contents
from tankbook.rules.fill_history import contents_of
from tankbook.rules.in_hands import hour_of
from tankbook.rules.inforce import rules_of
from tankbook.rules.services import analysis_tolerance
from tankbook.units import time_of_day

ANALYSE_TOGETHER = "analyse it again together, and log that: `tankbook reading --o2 --analysed-by`"
HAIR = 1e-9  # keeps 31 from being further than 1 from 32 by the last bit of a float


def otherwise_in(book: Book, held: Contents, read: GasAnalysed | None) -> str:
    """As `analysed_otherwise`, by the rows in force; an empty text where the user analysed
    nothing."""
    return analysed_otherwise(held, read, analysis_tolerance(rules_of(book))) if read else ""


def analysed_otherwise(held: Contents, read: GasAnalysed, tolerance: float) -> str:
    """How what a user analysed is not of what it held as it was handed out, by what is on record of
    that now: a fill that was struck out since leaves it beside another gas. An empty text where
    they agree, or there is nothing to hold it against.

    Args:
        held: what it held as it was handed out.
        read: what the user analysed then, and wrote.
        tolerance: by how much two analysers differ [percentage points].
    """
    if held.gas is not None:
        same, called = _is_of(held, held.gas, read, tolerance), str(held.gas)
    elif held.oxygen is not None:
        same = abs(read.oxygen.percent - held.oxygen) <= tolerance + HAIR
        called = f"of {held.figures}"
    else:
        return ""
    return "" if same else f"it is logged as {called}, and the user analysed {read.figures}"


def _is_of(held: Contents, gas: Gas, read: GasAnalysed, tolerance: float) -> bool:
    """Whether an analysis is of a gas as it is called, or as it was analysed here: two analysers
    are each off by a little."""
    known = [gas.oxygen_percent, *([held.oxygen] if held.oxygen is not None else [])]
    helium = read.helium.percent if read.helium else None
    near = any(abs(read.oxygen.percent - each) <= tolerance + HAIR for each in known)
    return near and (helium is None or abs(helium - gas.helium_percent) <= tolerance + HAIR)


class ReadOtherwise(Struct, frozen=True):
    """An own analysis that is not of the gas on record: where it stands, and how in words."""

    where: Where
    text: str


@once_per_book
def user_read_otherwise(book: Book, id_: str) -> ReadOtherwise | None:
    """How what whoever has it now, or had it last, analysed is not of what it holds by what is on
    record; None where they agree, where it was filled or analysed on a later day since, and where
    nobody analysed it.

    Args:
        book: the records.
        id_: a cylinder or set of the book.
    """
    card = book.cylinders.get(id_) or book.every_set.get(id_)
    held = contents_of(book, id_)
    found = list(_handed_out(card)) if card else []
    entry, read, day = max(found, key=lambda each: each[2], default=(None, None, None))
    if entry is None or read is None or day is None or _filled_since(book, id_, held, entry, day):
        return None
    if held.analysed_on is not None and held.analysed_on > day:
        return None
    said = otherwise_in(book, held, read)
    return ReadOtherwise(entry.source.at("analysed"), said) if said else None


_Handed = Rented | HandedOver | Job


def _handed_out(
    card: Cylinder | Doubles,
) -> Iterator[tuple[_Handed, GasAnalysed | None, dt.date]]:
    """Every time that it was handed out, with what was analysed then, and the day."""
    for rental in standing(card.rented):
        yield rental, rental.analysed, rental.on.last
    if isinstance(card, Cylinder):
        for sale in standing(card.handed_over):
            yield sale, sale.analysed, sale.on.last
        for job in standing(card.jobs):
            if job.collected is not None:
                yield job, job.analysed, job.collected


def _filled_since(book: Book, id_: str, held: Contents, entry: _Handed, day: dt.date) -> bool:
    """Whether what it holds was filled after it was handed out. On one day the hours tell, and
    where nobody knows them whether it is back."""
    filled = held.filled_at
    if filled is None or filled.date() != day:
        return filled is not None and filled.date() > day
    hour = hour_of(book, id_, entry, end=isinstance(entry, Job))
    if hour is None:
        return isinstance(entry, Job) or (isinstance(entry, Rented) and entry.back is not None)
    return time_of_day(filled) > hour
