"""The rule rows in force, each with its source and how well it is known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from msgspec.structs import replace

from tankbook.output.as_json import record, values_of
from tankbook.output.card import facts, said
from tankbook.output.page import Page, counted, titled
from tankbook.output.words import NOT_ADVICE, source_of
from tankbook.records.fields import Record
from tankbook.records.kinds import FromRecord
from tankbook.records.rulerow import GoodUntil, Obligation, RuleRow, RuleSet, WatchRow


def data(sets: Sequence[RuleSet]) -> list[dict[str, Any]]:
    """The JSON shape of `rules`: every row with the keys of its file, and its set."""
    return [
        {"set": each.id, "kind": "watch" if isinstance(row, WatchRow) else "rule", **record(row)}
        for each in sets
        for row in rows_of(each)
    ]


def text(sets: Sequence[RuleSet], page: Page) -> str:
    """How many rows are in force on what basis, then each set with its rows."""
    rows = [row for each in sets for row in rows_of(each)]
    bases = Counter(row.basis.value for row in rows)
    split = ", ".join(f"{bases[b]} {b}" for b in ("law", "standard", "practice") if bases[b])
    names = ", ".join(each.id for each in sets)
    counts = counted(len(rows), "row")
    blocks = (
        titled(
            page.wrap(f"{each.id}: {each.heading}", hang="  "),
            "\n".join(_block(row, page) for row in rows_of(each)),
        )
        for each in sets
    )
    head = f"{counts} in force from {names}{f': {split}' if split else ''}"
    return page.answer(head, *blocks, page.wrap(NOT_ADVICE))


def rows_of(rule_set: RuleSet) -> list[RuleRow | WatchRow]:
    """Rule rows, then watch rows."""
    return [*rule_set.rows, *rule_set.watch]


def only(
    sets: Sequence[RuleSet], rows: Sequence[RuleRow | WatchRow], obligation: str = ""
) -> list[RuleSet]:
    """The sets with only the rows given, and of those the ones that answer `obligation`.

    A watch row answers `alloy`.
    """
    kept = {id(row) for row in rows}
    found = []
    for each in sets:
        mine = [r for r in each.rows if id(r) in kept and obligation in ("", r.obligation)]
        watch = [w for w in each.watch if id(w) in kept and obligation in ("", Obligation.ALLOY)]
        found.append(replace(each, rows=tuple(mine), watch=tuple(watch)))
    return found


def _block(row: RuleRow | WatchRow, page: Page) -> str:
    lines = [page.wrap(f"{row.id}  {says(row)}", "  ", "      ")]
    lines.append(page.wrap(source_of(row), "      "))
    if row.note:
        lines.append(page.wrap(f"note: {row.note}", "      ", "        "))
    return "\n".join(lines)


def says(row: RuleRow | WatchRow) -> str:
    """What a row asks, and of what, in one line."""
    return _watch_says(row) if isinstance(row, WatchRow) else _rule_says(row)


def _rule_says(row: RuleRow) -> str:
    parts = [row.obligation.value]
    if row.period is not None:
        own = row.period is FromRecord.FROM_RECORD
        parts.append("as long as the record states" if own else f"every {row.period}")
        if row.good_until is GoodUntil.END_OF_MONTH:
            parts.append("to the end of that month")
    if row.met_by:
        parts.append(f"met by {' or '.join(row.met_by)}")
    for name in ("temperature", "ratio", "at_least", "at_most", "share"):
        value = getattr(row, name)
        if value is not None:
            of = f" of the {row.of.replace('-', ' ')}" if name == "ratio" and row.of else ""
            parts.append(f"{name.replace('_', ' ')} {value}{of}")
    if row.limits is not None:
        parts.append(f"limits {_listed(row.limits)}")
    if not row.for_diving:
        parts.append("not for diving")
    if row.needs:
        parts.append(f"needs {', '.join(row.needs)}")
    if row.spares is not None:
        parts.append(f"spares {_listed(row.spares)}")
    parts += _terms(row)
    applies = f"{row.subject} with {_listed(row.applies_to)}" if row.applies_to else "every one"
    parts.append(f"for {applies}")
    parts.append(f"else {row.gate}" + (", never overridden" if row.never_overridden else ""))
    return "; ".join(parts)


def _terms(row: RuleRow | WatchRow) -> list[str]:
    """What sets a row aside, what it stands beside, since when it counts and who decided on it."""
    parts = []
    if row.unless:
        parts.append(f"unless {row.unless}")
    if isinstance(row, RuleRow) and row.beside:
        parts.append(f"beside {' and '.join(row.beside)}")
    if row.since:
        parts.append(f"since {row.since}")
    if row.by or row.why:
        parts.append(f"decided by {row.by or 'nobody named'}: {row.why or 'no reason given'}")
    return parts


_SAID_APART = frozenset(
    (
        "id", "basis", "citation", "edition", "verified", "grade", "gate", "note", "drop",
        "unless", "since", "by", "why",
    )
)  # fmt: skip


def _watch_says(row: WatchRow) -> str:
    parts = [f"{name} {value}" for name, value in facts(row) if name not in _SAID_APART]
    return "; ".join(["watch", *parts, *_terms(row), f"else {row.gate}"])


def _listed(applies: Record) -> str:
    """What a row applies to: keys must all fit, of several values one."""
    parts = []
    for name, value in values_of(applies):
        words = value if isinstance(value, tuple) else (value,)
        parts.append(f"{name.replace('_', ' ')} {' or '.join(map(said, words))}")
    return "; ".join(parts)
