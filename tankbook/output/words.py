"""The words answers are given in, and the cautions that go with them."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct, field

from tankbook.output.page import Page
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
DO_NOT_FILL = "DO NOT FILL"
OR_USE = " OR USE"
"""What follows on `DO NOT FILL` where what is in it must not be breathed either."""
DO_NOT_USE = "DO NOT USE"
"""What a paper says first of what must not be breathed from (own wording)."""

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


def cautioned(cautions: Iterable[str], page: Page) -> str:
    """What the operator of a plan of ours is told, each by itself, under its heading."""
    listed = page.paragraphs((f"- {said}" for said in cautions), hang="  ")
    return f"Caution\n{listed}\n{page.wrap(NOT_ADVICE)}"


def not_made(why: Iterable[str], page: Page) -> str:
    """The answer where there is no plan: each reason why, by itself."""
    return f"{page.paragraphs(why, hang='    ')}\n\n{page.wrap(NOT_ADVICE)}\n"


class Sources(Struct):
    """Collects rule rows as an answer is written; the same row keeps its number."""

    rows: dict[str, RuleRow | WatchRow] = field(default_factory=dict)

    def number(self, row: RuleRow | WatchRow) -> int:
        """The number of a row, from 1."""
        self.rows.setdefault(row.id, row)
        return list(self.rows).index(row.id) + 1

    def cite(self, rows: Iterable[RuleRow | WatchRow]) -> str:
        """` (rule 1)`, ` (rules 1, 3)`, or nothing for no rows."""
        numbers = [str(self.number(row)) for row in rows]
        if not numbers:
            return ""
        return f" ({'rule' if len(numbers) == 1 else 'rules'} {', '.join(numbers)})"

    def lines(self, page: Page) -> list[str]:
        """Each row under its number: its id, where it stands and how well it is known."""
        if not self.rows:
            return []
        listed = [
            page.wrap(f"{n:>3}  {row.id}: {source_of(row)}", hang="     ")
            for n, row in enumerate(self.rows.values(), 1)
        ]
        return ["Rules", *listed]
