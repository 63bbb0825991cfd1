"""Lines of the log under names that the ledger does not have, and whose they may be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.log import Log, LogLine
from tankbook.records.words import Act, Use
from tankbook.rules.contents import (
    days_looked_inside,
    lines_about,
    sets_with,
    struck_out_lines,
    void_key,
)

A_LIFE = 3
"""On so many days a name was logged that is no slip of a pen, but what something was called (own
bound)."""


@dataclass(frozen=True, slots=True)
class Life:
    """What was logged under a name that the ledger does not have.

    Attributes:
        name: the name.
        last: its last line.
        was_set: somebody says that the file of a set of that name was taken out.
        may_be: the cylinders whose it may be.
    """

    name: str
    last: LogLine
    was_set: bool
    may_be: tuple[str, ...]


@once_per_book
def unknown_lines(book: Book) -> tuple[LogLine, ...]:
    """The lines that name nothing of the ledger and are not struck out."""
    log = Log.of(book.log)
    named = log.column("cylinder")
    strange = set(named) - {*book.cylinders, *book.sets, *book.apart, *book.broken}
    gone = struck_out_lines(book)
    lines = (log[i] for i, name in enumerate(named) if name in strange)
    return tuple(n for n in lines if n.act is not Act.VOID and void_key(n) not in gone)


def lives_of_nobody(book: Book) -> Iterator[Life]:
    """Each name of which something is logged that may have happened to a cylinder of the ledger
    all the same: it was in a set whose file is gone, or has been renamed."""
    by_name: dict[str, list[LogLine]] = {}
    for line in unknown_lines(book):
        by_name.setdefault(line.cylinder, []).append(line)
    removed = {each.what for each in book.settings.removed}
    for name, lines in by_name.items():
        if f"cylinders/{name}.yaml" in removed:
            continue  # it was another
        last, was_set = max(lines, key=lambda n: n.at), f"sets/{name}.yaml" in removed
        if was_set or len({n.at.date() for n in lines}) >= A_LIFE:
            test = _may_have_been_in if was_set else _may_have_been_called
            ids = (c.id for c in book.cylinders.values() if test(book, c, last))
            yield Life(name, last, was_set, tuple(ids))


def _may_have_been_in(book: Book, card: Cylinder, last: LogLine) -> bool:
    """Whether a cylinder may have been in a set: it is in none, and nobody looked inside since."""
    looked = max(days_looked_inside(book, card), default=None)
    return card.id not in sets_with(book) and (looked is None or looked <= last.at.date())


def _may_have_been_called(book: Book, card: Cylinder, last: LogLine) -> bool:
    """Whether a cylinder may have had another name: it was here by then, nothing was logged of it
    before, and nobody looked inside since. What customers bring need not have been."""
    day, lines = last.at.date(), lines_about(book, card.id)
    looked = max(days_looked_inside(book, card), default=None)
    if card.use is Use.CUSTOMER or (lines and lines[0].at <= last.at):
        return False
    here = any(look.on.first <= day for look in standing(card.inspected))
    return here and (looked is None or looked <= day)
