"""Lines of the log under names that the ledger does not have, and whose they may be."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.entries import standing
from tankbook.records.log import Log, LogLine
from tankbook.records.words import LogAct
from tankbook.rules.fill_history import days_looked_inside, lines_about, struck_out_lines, void_key

A_LIFE = 3
"""On so many days a name was logged that is no slip of a pen, but what something was called (own
bound)."""


class StrangeName(Struct, frozen=True):
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
    strange = set(named) - book.ids
    gone = struck_out_lines(book)
    lines = (log[i] for i, name in enumerate(named) if name in strange)
    return tuple(n for n in lines if n.act is not LogAct.VOID and void_key(n) not in gone)


def lives_of_nobody(book: Book) -> Iterator[StrangeName]:
    """Each name of which something is logged that may have happened to a cylinder of the ledger
    all the same: it was in a set whose file is gone, or has been renamed."""
    by_name: dict[str, list[LogLine]] = {}
    for line in unknown_lines(book):
        by_name.setdefault(line.cylinder, []).append(line)
    removed = {each.what for each in book.settings.removed}
    for name, lines in by_name.items():
        if f"cylinders/{name}.yaml" in removed:
            continue  # it was another
        lines.sort(key=lambda n: n.at)
        was_set = f"sets/{name}.yaml" in removed
        if was_set or len({n.at.date() for n in lines}) >= A_LIFE:
            test = _may_have_been_in if was_set else _may_have_been_called
            ids = (c.id for c in book.cylinders.values() if test(book, c, lines))
            yield StrangeName(name, lines[-1], was_set, tuple(ids))


def _may_have_been_in(book: Book, card: Cylinder, lines: list[LogLine]) -> bool:
    """Whether a cylinder may have been in a set: it was not filled otherwise while that was filled,
    and nobody looked inside since."""
    first, last = lines[0].at, lines[-1].at
    fills = (n for n in lines_about(book, card.id) if n.act is LogAct.FILL)
    return not any(first <= n.at <= last for n in fills) and not _looked_since(book, card, lines)


def _looked_since(book: Book, card: Cylinder, lines: list[LogLine]) -> bool:
    return any(day > lines[-1].at.date() for day in days_looked_inside(book, card))


def _may_have_been_called(book: Book, card: Cylinder, lines: list[LogLine]) -> bool:
    """Whether a cylinder may have had another name: it was here by then, nothing was logged of it
    before, and nobody looked inside since. What customers bring need not have been."""
    last, own = lines[-1].at, lines_about(book, card.id)
    if stays_with_owner(card) or (own and own[0].at <= last):
        return False
    here = any(look.on.first <= last.date() for look in standing(card.inspected))
    return here and not _looked_since(book, card, lines)
