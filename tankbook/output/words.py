"""The words answers are given in, and the cautions that go with them."""

from __future__ import annotations

from tankbook.records.rulerow import Basis, Obligation, RuleRow, Verified, WatchRow

BASIS = {
    Basis.LAW: "law",
    Basis.STANDARD: "standard",
    Basis.PRACTICE: "shop rule",
}
"""How a basis is said in an answer."""

CAUTION = (
    "Caution: a trained operator decides; the maker's and local rules come first. Never exceed the "
    "marked pressure. Analyse before labelling and again at pick-up."
)
NOT_ADVICE = "Not legal advice: local codes and licensed practice decide."
HELIUM = "Helium: the gas model is unvalidated for this mixture (up to about 1 % off at 300 bar)."


def obligation(name: Obligation) -> str:
    """The trade's short name of an obligation."""
    return name.called


def source_of(row: RuleRow | WatchRow) -> str:
    """Where a row stands and how well it is known, in one line."""
    parts = [row.citation]
    if row.edition:
        parts.append(row.edition)
    return f"{'; '.join(parts)} [{standing_of(row)}]"


def standing_of(row: RuleRow | WatchRow) -> str:
    """Basis, how it was verified and the grade of its source: `law, read, grade B`."""
    basis = "practice" if row.basis is Basis.PRACTICE else row.basis.value
    words = [basis, VERIFIED[row.verified]]
    if row.grade:
        words.append(f"grade {row.grade}")
    return ", ".join(words)


VERIFIED = {
    Verified.READ: "read",
    Verified.COMPUTED: "computed",
    Verified.MEMORY: "from memory",
    Verified.INFERENCE: "inferred",
}
