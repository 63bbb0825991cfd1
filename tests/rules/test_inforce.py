"""Which rows are in force, and which of them speak of a cylinder."""

from __future__ import annotations

import pytest
from books import GOOD, make_book, typed, with_lines

from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import RuleSet
from tankbook.rules.inforce import facts_of, in_force, is_permit, normal


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("DOT-3AL", "DOT-3AL"), ("dot 3al", "DOT-3AL"), ("DOT3AL", "DOT-3AL"), ("CTC-3AA", "TC-3AA"),
        ("UN ISO 7866", "UN-ISO-7866"), ("EN ISO 9809-1", "EN-ISO-9809-1"), ("ICC3AA", "ICC-3AA"),
    ],
)  # fmt: skip
def test_one_spelling(written: str, read: str) -> None:
    assert normal(written) == read


@pytest.mark.parametrize(
    ("changes", "want"),
    [
        ({}, False),
        ({"specification": "[DOT-SP 99001]"}, True),
        ({"specification": "[DOT-E 99001]"}, True),
        ({"specification": "[TC-SU 9901]"}, True),
        ({"material": "composite"}, True),
        ({"permit": "{period: 5 years}"}, True),
    ],
)
def test_permit_cylinders(changes: dict[str, str], want: bool) -> None:
    assert is_permit(typed(Cylinder, with_lines(GOOD, **changes))) is want


WATCH = """
heading: Notices
watch:
  - {id: a, maker: [Some Maker], made_before: 1990-02, alloy: 6351, gate: warn, basis: law, citation: N, verified: read}
  - {id: b, serial_from: K100, serial_to: K199, recall: return it, gate: refuse, basis: law, citation: N, verified: read}
  - {id: c, made_in: [US], made_from: 1990-02, alloy: 6061, gate: warn, basis: law, citation: N, verified: read}
"""


@pytest.mark.parametrize(
    ("changes", "alloy", "recalled"),
    [
        ({"maker": "SOME  maker Ltd", "made": "1990-01"}, "6351", 0),
        ({"maker": "Some Maker", "made": "1990-02"}, None, 0),
        ({"maker": "Some Maker", "made": "1991-02", "made_in": "us"}, "6061", 0),
        ({"serial": "K150"}, None, 1),
        ({"serial": "K200"}, None, 0),
        ({"serial": "L150"}, None, 0),
        ({"serial": "K0150"}, None, 0),
        ({"maker": "Some Maker", "made": "1985-01", "alloy": "6061"}, "6061", 0),
    ],
)
def test_watch_rows(changes: dict[str, str], alloy: str | None, recalled: int) -> None:
    text = with_lines(GOOD, **{"alloy": None, "maker": None, **changes})
    facts = facts_of(typed(Cylinder, text), in_force((typed(RuleSet, WATCH),)))
    assert (facts.alloy, len(facts.recalls)) == (alloy, recalled)


def test_later_sets_replace_rows_by_id() -> None:
    one = "{id: x, obligation: visual, period: 1 year, gate: warn, basis: practice, citation: A, verified: read}"
    sets = tuple(
        typed(RuleSet, f"heading: h\nrows:\n  - {row}\n")
        for row in (one, one.replace("1 year", "2 years"), one.replace("id: x", "id: y"))
    )
    rows = list(in_force(sets).all_rows())
    assert [(r.id, str(getattr(r, "period", ""))) for r in rows] == [
        ("x", "2 years"),
        ("y", "1 year"),
    ]


def test_dropped_rows_are_named() -> None:
    row = "{id: x, obligation: visual, gate: warn, basis: practice, citation: A, verified: read, drop: yes}"
    rules = in_force((typed(RuleSet, f"heading: h\nrows:\n  - {row}\n"),))
    assert (list(rules.all_rows()), rules.dropped) == ([], ("x",))


def test_rules_of_a_book_are_worked_out_once() -> None:
    from tankbook.rules.inforce import rules_of

    book = make_book({"A": GOOD})
    assert rules_of(book) is rules_of(book)
