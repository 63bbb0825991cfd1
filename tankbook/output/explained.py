"""What a code, a question, a rule row or a word of the trade means, told from the texts on it."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any

from msgspec import Struct

from tankbook.output.page import Page, titled
from tankbook.output.rules import says
from tankbook.output.words import source_of
from tankbook.records.explained import (
    QUESTIONS,
    ExplainedGroup,
    ExplainedTable,
    Explanation,
    GlossaryWord,
)
from tankbook.records.node import Severity
from tankbook.records.rulerow import Obligation, RuleRow, WatchRow
from tankbook.rules.answers import State
from tankbook.rules.checks import CHECKS

NAMES_NEAR = 4
"""How many names are offered for one that is not known."""


class NamedAs(StrEnum):
    """What a name is of."""

    CODE = "code"
    QUESTION = "question"
    ROW = "rule-row"
    WORD = "word"


class Meaning(Struct, frozen=True):
    """A name and what is told of it.

    `group` is the id of what it stands among. `severity` is that of a finding, `row` the rule row,
    `word` the word of the glossary; each is None of another sort.
    """

    name: str
    sort: NamedAs
    group: str
    means: str
    why: str = ""
    mend: str = ""
    citation: str = ""
    severity: Severity | None = None
    row: RuleRow | WatchRow | None = None
    word: GlossaryWord | None = None


Rows = Mapping[str, RuleRow | WatchRow]
"""Rule rows by their ids."""

_LATE = {
    State.OVERDUE: "It is overdue, or failed.",
    State.MISSING: "It is not on record, or no rule row in force says when it is due.",
}
"""What the codes say that a question gives when its day is past, or none is known."""


def named(table: ExplainedTable, rows: Rows, name: str) -> list[Meaning]:
    """All that is called so: a code, a question, a rule row, a word of the trade."""
    asked = " ".join(name.split()).casefold()
    found = [e for e in every(table, rows) if asked in _names_of(e)]
    return found or list(_late(table, asked))


def every(table: ExplainedTable, rows: Rows) -> Iterator[Meaning]:
    """Everything that has a name, group by group."""
    questions = {}
    for group in table.groups:
        asks = group.id == QUESTIONS
        for code, text in group.codes.items():
            sort = NamedAs.QUESTION if asks else NamedAs.CODE
            made = _of(code, sort, group, text)
            if asks:
                questions[code] = made
            yield made
    for id_, row in rows.items():
        asked = row.obligation if isinstance(row, RuleRow) else Obligation.ALLOY
        about = questions[asked]
        yield Meaning(
            id_, NamedAs.ROW, asked, about.means, about.why, about.mend, source_of(row), row=row
        )
    for word in table.words:
        yield Meaning(word.us, NamedAs.WORD, "words", word.means, word=word)


def _of(code: str, sort: NamedAs, group: ExplainedGroup, text: Explanation) -> Meaning:
    check = CHECKS.get(code) if sort is NamedAs.CODE else None
    citation = (text.citation or group.citation).replace("NAME", code)
    grave = check.gravity if check else None
    return Meaning(code, sort, group.id, text.means, text.why, text.mend, citation, grave)


def _late(table: ExplainedTable, asked: str) -> Iterator[Meaning]:
    """A question that is overdue or missing: `visual-overdue`."""
    for each in every(table, {}):
        for state, said in _LATE.items():
            if each.sort is NamedAs.QUESTION and asked == f"{each.name}-{state}":
                means = f"{each.means} {said}"
                yield Meaning(
                    asked, NamedAs.CODE, each.group, means, each.why, each.mend, each.citation
                )


def _names_of(each: Meaning) -> set[str]:
    if each.word is None:
        return {each.name.casefold()}
    said = ", ".join((each.word.us, each.word.uk)).casefold().split(", ")
    return {*said, *(word.replace(" ", "-") for word in said)}


def near(table: ExplainedTable, rows: Rows, name: str) -> list[str]:
    """Names that are like one that is not known, the likeliest first."""
    asked = " ".join(name.split()).casefold()
    known = list(dict.fromkeys(n for e in every(table, rows) for n in sorted(_names_of(e))))
    close = difflib.get_close_matches(asked, known, n=NAMES_NEAR, cutoff=0.6)
    within = [n for n in known if asked and asked in n]
    return list(dict.fromkeys((*close, *within)))[:NAMES_NEAR]


def data(found: Sequence[Meaning]) -> list[dict[str, Any]]:
    """The JSON shape of `explain`."""
    return [
        {
            "name": e.name,
            "sort": e.sort,
            "group": e.group,
            "severity": e.severity,
            "means": e.means,
            "why": e.why or None,
            "mend": e.mend or None,
            "citation": e.citation or None,
            "says": says(e.row) if e.row else None,
            "note": e.row.note if e.row else None,
            "us": e.word.us if e.word else None,
            "uk": e.word.uk if e.word else None,
        }
        for e in found
    ]


_GRAVE = {
    Severity.FAULT: "a fault: it refuses what it touches",
    Severity.WARN: "a warning: it is told with the answer",
    Severity.ADVICE: "advice: it refuses nothing; `tankbook validate` tells it",
}


def text(found: Sequence[Meaning], page: Page) -> str:
    """What each means, why it matters, how it is mended and where that stands."""
    return "\n".join(page.answer(f"{e.name}: {e.means}", _facts(e, page)) for e in found)


def _facts(each: Meaning, page: Page) -> str:
    grave = _GRAVE[each.severity] if each.severity else ""
    rows = [
        ("In the US", each.word.us if each.word else ""),
        ("In the UK", each.word.uk if each.word else ""),
        ("It is", grave),
        ("It asks", says(each.row) if each.row else ""),
        ("Why", each.why),
        ("Mend", each.mend),
        ("Source", each.citation),
        ("Note", (each.row.note or "") if each.row else ""),
    ]
    wide = 11
    return page.facts([(name, said) for name, said in rows if said], wide)


def listed(table: ExplainedTable, rows: Rows, page: Page) -> str:
    """Every name by its group."""
    sets: dict[str, list[str]] = {}
    for id_ in rows:
        sets.setdefault(id_.partition(".")[0], []).append(id_)
    parts = [
        titled(page.wrap(g.heading), page.items("", list(g.codes), "  ")) for g in table.groups
    ]
    parts += [
        titled(page.wrap(f"Rule rows: {name}"), page.items("", ids, "  "))
        for name, ids in sets.items()
    ]
    words = [w.us.partition(",")[0] for w in table.words]
    parts.append(titled("Words of the trade", page.items("", words, "  ")))
    codes = sum(len(g.codes) for g in table.groups)
    head = f"{codes} codes and questions, {len(rows)} rule rows, {len(words)} words"
    return page.answer(f"{head}: `tankbook explain NAME` tells of each", *parts)
