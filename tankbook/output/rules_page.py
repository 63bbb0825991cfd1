"""The page on the shipped rule sets: every row with its citation and how it is known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from tankbook.output.markdown import code, table
from tankbook.output.rules import rows_of, says
from tankbook.records.rulerow import RuleRow, RuleSet, WatchRow

HEAD = """\
# The shipped rule sets

<!-- Made from the rule files; a test fails when it is stale. -->

A rule is a row of data; the program holds none of its own. Take a row away, and the answer that
rested on it becomes a refusal or a stated gap. Of all rows that speak of a cylinder, the strictest
answer counts. `bench` and `alloys` are in force in every ledger; the others are named in
`tankbook.yaml`.

A shop's own rows in `rules/*.yaml` may only ask more. A row of a shipped row's id takes its place
where it is as strict in everything. One that asks less of law, of a standard, of a notice, or of
what nobody may override is a fault, and the shipped row stays; so are two own rows of one id, and a
row that would grant a plus, clear an alloy or name a laxer air standard. One that asks less of
practice, or answers what a national set leaves open, says who decided (`by`), `why` and `since`
when, and is told with every answer it touches. A row counts from its `since`.

How a row is known: **read** in the text cited, **computed** from it, **from memory** (check before
relying on it), **inferred** from what was read. The grade is that of the source: A official and
current, B official but an old edition, C a copy by somebody else.

Nothing here is legal advice: local codes and licensed practice decide.
"""


def rules_page(rule_sets: Sequence[RuleSet]) -> str:
    """The whole page, in Markdown, with the sets in the order given."""
    lines = ["| set | what it is | rows | of them from memory |", "|---|---|---|---|"]
    for each in rule_sets:
        known = Counter(row.verified.value for row in rows_of(each))
        cells = (code(each.id), each.heading, str(len(rows_of(each))), str(known["memory"]))
        lines.append(f"| {' | '.join(cells)} |")
    for each in rule_sets:
        lines += ["", f"## {each.id}", "", *_about(each)]
        if each.rows:
            lines += ["", *table(HEADERS, [_cells(row) for row in each.rows])]
        if each.watch:
            lines += ["", "Watch rows:", "", *table(HEADERS, [_cells(row) for row in each.watch])]
    return HEAD + "\n" + "\n".join(lines) + "\n"


HEADERS = ("row", "what it says", "basis", "where it stands", "known", "note")


def _about(rule_set: RuleSet) -> list[str]:
    found = [f"{rule_set.heading}."]
    if not rule_set.stands_alone:
        found.append("It is no sufficient fill rule: it asks for a national or shop set beside it.")
    if rule_set.needs_stamp_means:
        found.append("Retest stamps are read only where the record says `stamp_means`.")
    if rule_set.note:
        found.append(rule_set.note)
    return found


def _cells(row: RuleRow | WatchRow) -> tuple[str, ...]:
    source = f"{row.citation}; {row.edition}" if row.edition else row.citation
    known = f"{row.verified.value}, {row.grade}" if row.grade else row.verified.value
    return code(row.id), says(row), row.basis.value, source, known, row.note or ""
