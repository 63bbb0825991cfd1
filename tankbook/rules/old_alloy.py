"""What is said in words of aluminium of alloy 6351: to whoever fills it, sells it or owns it."""

from __future__ import annotations

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.words import Material
from tankbook.rules.answers import Reason
from tankbook.rules.inforce import facts_of, rules_of

ALLOY = "6351"

WHY = (
    "aluminium of alloy 6351 cracks at neck and shoulder under sustained load, and such cylinders "
    "have burst while they were filled; the eddy-current look at the neck finds such cracks"
)
"""As the notes of the shipped watch rows and of the eddy-current rows have it."""


def said_of(book: Book, cylinder: Cylinder) -> str:
    """That a cylinder is of 6351, is taken for it or may be of it, and why that matters; an empty
    text where it is not."""
    facts = facts_of(cylinder, rules_of(book))
    if (facts.alloy or "").startswith(ALLOY):
        taken = f", taken for it by {facts.alloy_row.id}" if facts.alloy_row else ""
        return f"6351{taken}: {WHY}"
    if facts.material is Material.ALUMINIUM and facts.alloy is None:
        return f"not known, so that it may be 6351: {WHY}"
    return ""


def owner_told_of(book: Book, cylinder: Cylinder) -> str:
    """What a customer is told at the counter of the alloy of a cylinder; an empty text where it is
    not 6351."""
    alloy = said_of(book, cylinder)
    return f"tell the owner: its alloy is {alloy}" if alloy else ""


def why_asked(reason: Reason) -> str:
    """Why a reason stands that rests on the alloy; an empty text for any other."""
    row = reason.row
    if not isinstance(row, RuleRow) or row.applies_to is None:
        return ""
    to = row.applies_to
    unknown = row.obligation is Obligation.ALLOY and "unknown" in to.state
    return WHY if unknown or any(a.startswith(ALLOY) for a in to.alloy) else ""
