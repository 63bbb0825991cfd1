"""How much of its expansion under test a cylinder may keep."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified, standing
from tankbook.records.rulerow import Obligation
from tankbook.rules.inforce import facts_of, rules_of, rules_on
from tankbook.units import Percent


class ExpansionLimit(Struct, frozen=True):
    """The most that permanent expansion may be of the total, and where that stands."""

    share: Percent
    citation: str


class ExpansionSheet(Struct, frozen=True):
    """What the sheet of one test says of a cylinder's expansion.

    `kept` is permanent over total expansion in percent, `limit` the most that it may be as the
    rules stand, None where none speaks.
    """

    id: str
    test: Requalified
    kept: float
    limit: ExpansionLimit | None

    @property
    def is_over(self) -> bool:
        """Whether it kept more than it may."""
        return self.limit is not None and is_over(self.kept, self.limit)


def sheets_of(book: Book, cylinder: Cylinder, today: dt.date) -> tuple[ExpansionSheet, ...]:
    """A cylinder's tests with both expansions on record, oldest first, up to a day."""
    tests = [t for t in standing(cylinder.requalified) if t.on.first <= today]
    kept = [(t, share) for t in tests if (share := kept_share(t)) is not None]
    limit = expansion_limit(book, cylinder, today) if kept else None
    found = (ExpansionSheet(cylinder.id, test, share, limit) for test, share in kept)
    return tuple(sorted(found, key=lambda s: (s.test.on.first, s.test.on.last)))


def expansion_limit(
    book: Book, cylinder: Cylinder, today: dt.date | None = None
) -> ExpansionLimit | None:
    """A cylinder's limit: the strictest of its permit's and the rows in force; None where none
    speaks.

    A permit written on a plain specification switches the rows of that specification not off.

    Args:
        book: the records and the rules in force.
        cylinder: the cylinder.
        today: the day whose rules count; the day the book is asked about where None.
    """
    rules = rules_on(book, today) if today else rules_of(book)
    limits = [
        ExpansionLimit(row.share, row.citation)
        for row in rules.about(facts_of(cylinder, rules), Obligation.EXPANSION_LIMIT)
        if row.share
    ]
    permit = cylinder.permit
    if permit and permit.expansion_limit:
        where = f"permit {permit.number or 'of the cylinder'}"
        limits.append(ExpansionLimit(permit.expansion_limit, where))
    return min(limits, key=lambda limit: limit.share, default=None)


def expansion_beyond(book: Book, cylinder: Cylinder) -> ExpansionLimit | None:
    """The most that any cylinder is known to be let keep, whatever its own limit: none may keep
    more where none speaks, or a permit is said to."""
    rules = rules_of(book)
    rows = rules.about(facts_of(cylinder, rules), Obligation.EXPANSION_LIMIT, "beyond-any")
    found = [ExpansionLimit(row.share, row.citation) for row in rows if row.share]
    return min(found, key=lambda limit: limit.share, default=None)


def kept_share(test: Requalified) -> float | None:
    """Permanent over total expansion in percent; None where either was not recorded or is zero.

    100 x permanent / total: our arithmetic from the words of 49 CFR 180.205(i)(1)(iv) (older copy
    read).
    """
    total, permanent = test.total_expansion, test.permanent_expansion
    if total is None or permanent is None or not total.litres:
        return None
    return 100 * permanent.litres / total.litres


def is_over(share: float, limit: ExpansionLimit) -> bool:
    """Whether a share in percent is over a limit; one that is right at it is not."""
    return share > limit.share.percent + 1e-9
