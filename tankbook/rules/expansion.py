"""How much of its expansion under test a cylinder may keep."""

from __future__ import annotations

from dataclasses import dataclass

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified
from tankbook.records.rulerow import Obligation
from tankbook.rules.inforce import facts_of, rules_of, speaks_of
from tankbook.units import Percent


@dataclass(frozen=True, slots=True)
class ExpansionLimit:
    """The most that permanent expansion may be of the total, and where that stands."""

    share: Percent
    citation: str


def expansion_limit(book: Book, cylinder: Cylinder) -> ExpansionLimit | None:
    """A cylinder's limit: its permit's, else the strictest row in force; None where none speaks."""
    permit = cylinder.permit
    if permit and permit.expansion_limit:
        return ExpansionLimit(
            permit.expansion_limit, f"permit {permit.number or 'of the cylinder'}"
        )
    rules = rules_of(book)
    facts = facts_of(cylinder, rules)
    limits = [
        ExpansionLimit(r.share, r.citation)
        for r in rules.rows[Obligation.EXPANSION_LIMIT]
        if r.share and speaks_of(r, facts)
    ]
    return min(limits, key=lambda limit: limit.share, default=None)


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
