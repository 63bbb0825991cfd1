"""Texts without the initials and references of people, for pages that anybody may read."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from tankbook.output.as_json import values_of
from tankbook.records.book import Book
from tankbook.records.entries import HandedOver, Rented
from tankbook.records.fields import Record

WHO = "[who]"
CUSTOMER = "[customer]"
_SIGNED = frozenset({"by", "analysed_by", "seen_by", "initials", "saw", "who", "operator"})
_CUSTOMER = frozenset({"owner", "reference"})


class Unnamed:
    """Takes what names people out of texts."""

    def __init__(self, book: Book, *, initials: bool, customers: bool) -> None:
        """`initials` leaves those who sign, `customers` whose a cylinder is or who had it."""
        known = {*book.cylinders, *book.sets, *book.broken}
        signed, customer = _people(book)
        said = {n: WHO for n in signed if not initials}
        said |= {n: CUSTOMER for n in customer if not customers}
        self._said = {name: word for name, word in said.items() if name and name not in known}
        longest = sorted(self._said, key=len, reverse=True)
        every = "|".join(map(re.escape, longest))
        self._names = re.compile(rf"(?<!\w)(?:{every})(?!\w)") if every else None

    def __call__(self, text: str) -> str:
        """The text with a word in place of each name."""
        if self._names is None:
            return text
        return self._names.sub(lambda found: self._said[found[0]], text)


def _people(book: Book) -> tuple[set[str], set[str]]:
    signed = {*book.settings.people, *filter(None, [book.settings.operator])}
    customer: set[str] = set()
    cards = (book.settings, *book.cylinders.values(), *book.sets.values())
    of_station = (each for each in (book.station, book.counter) if each is not None)
    for record in (*cards, *of_station, *book.bookings):
        for kind, text in _names(record):
            (customer if kind == CUSTOMER else signed).add(text)
    for line in book.log:
        signed.update(filter(None, (line.by, line.analysed_by)))
    return signed, customer


def _names(record: Record) -> Iterator[tuple[str, str]]:
    """What names people in a record, with what it is of them."""
    for name, value in values_of(record):
        if name in _SIGNED:
            yield from ((WHO, text) for text in _texts(value))
        elif name in _CUSTOMER or (name == "to" and isinstance(record, Rented | HandedOver)):
            yield from ((CUSTOMER, text) for text in _texts(value))
        elif isinstance(value, Record):
            yield from _names(value)
        elif isinstance(value, Mapping):
            yield from _within(value.values())
        elif isinstance(value, tuple):
            yield from _within(value)


def _within(values: Iterable[Any]) -> Iterator[tuple[str, str]]:
    for value in values:
        if isinstance(value, Record):
            yield from _names(value)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        yield from (each for each in value if isinstance(each, str))
