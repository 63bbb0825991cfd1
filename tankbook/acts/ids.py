"""Ids by the ledger's scheme."""

from __future__ import annotations

import re

from tankbook.records.book import Book
from tankbook.records.words import Use

SCHEMES = {
    Use.RENTAL: "RB-###",
    Use.SALE: "SF-###",
    Use.CUSTOMER: "CU-###",
    Use.STAFF: "ST-###",
    Use.POOL: "PL-###",
    Use.BANK: "BK-###",
}
"""The schemes of a ledger that sets none of its own."""


def taken(book: Book) -> frozenset[str]:
    """Every id in use, in small letters: some disks do not tell capitals apart."""
    return frozenset(i.casefold() for i in (*book.cylinders, *book.sets, *book.broken))


def next_ids(book: Book, use: Use, count: int, besides: frozenset[str]) -> tuple[str, ...]:
    """The next ids of a use: after the highest ever given, so that none names two cylinders.

    Args:
        book: the records, all of them.
        use: what the cylinders are kept for.
        count: how many ids are wanted.
        besides: ids that are spoken for, in small letters.

    Raises:
        ValueError: the scheme is no scheme, or its digits do not reach.
    """
    scheme = book.settings.ids.get(use.value, SCHEMES[use])
    found = re.fullmatch(r"([^#]*)(#+)([^#]*)", scheme)
    if not found:
        raise ValueError(f"`{scheme}` is no id scheme; write `ids: {{{use}: {SCHEMES[use]}}}`")
    before, width, after = found[1], len(found[2]), found[3]
    shape = re.compile(rf"{re.escape(before)}(\d{{{width}}}){re.escape(after)}", re.IGNORECASE)
    used = taken(book) | besides
    number = max((int(m[1]) for i in used if (m := shape.fullmatch(i))), default=0)
    ids: list[str] = []
    while len(ids) < count:
        number += 1
        id_ = f"{before}{number:0{width}d}{after}"
        if len(str(number)) > width:
            raise ValueError(
                f"the scheme {scheme} has no {count} ids left; give it another # in tankbook.yaml"
            )
        if id_.casefold() not in used:
            ids.append(id_)
    return tuple(ids)
