"""The rules an answer rests on, numbered once and listed at its end."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct, field

from tankbook.output.page import Page
from tankbook.output.words import source_of
from tankbook.records.rulerow import RuleRow, WatchRow


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
