"""The words for what can be found on a cylinder, in what somebody wrote of it."""

from __future__ import annotations

from collections.abc import Iterable

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.finding import FindingRow
from tankbook.records.words import Seen
from tankbook.rules.wording import speaks_of


def is_of(row: FindingRow, card: Cylinder) -> bool:
    """Whether a finding can be named on a cylinder of its material; any where that is not known."""
    return not row.material or card.material is None or card.material in row.material


def rows_for(book: Book, card: Cylinder) -> tuple[FindingRow, ...]:
    """The findings that can be named on a cylinder of its material."""
    return tuple(row for row in book.finding_rows if is_of(row, card))


def seen_in(
    text: str | None, rows: Iterable[FindingRow], besides: Iterable[Seen] = ()
) -> dict[str, tuple[Seen, ...]]:
    """The words of a text that name a finding, each with what it may be.

    What is denied (`no crack`, `no sign of fire`) is none. Whatever is called a crack may be one
    that is only suspected.

    Args:
        text: what somebody wrote.
        rows: the findings, and the words by which people write of them.
        besides: findings that need not be told apart here.
    """
    left = frozenset(besides)
    found: dict[str, tuple[Seen, ...]] = {}
    for row in rows:
        for word in row.words if row.what not in left else ():
            spoken = speaks_of(text or "", word).casefold()
            if spoken:
                found[spoken] = tuple(dict.fromkeys((*found.get(spoken, ()), *_kinds(row.what))))
    return found


def _kinds(what: Seen) -> tuple[Seen, ...]:
    return (Seen.SUSPECTED_CRACK, Seen.CRACK) if what is Seen.CRACK else (what,)
