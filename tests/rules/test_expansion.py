"""How much of its expansion a cylinder may keep.

Permanent over total expansion, at most 10 % for 3AA and 3AL: 49 CFR 180.205(i)(1)(iv), older copy
(read).
"""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book, with_lines

from tankbook.records.cylinder import Cylinder
from tankbook.rules.expansion import (
    ExpansionLimit,
    expansion_beyond,
    expansion_limit,
    is_over,
    kept_share,
)
from tankbook.units import Percent

PERMIT = "{number: %s, period: 5 years, test_pressure: 5000 psi, life_ends: 2031-03, expansion_limit: %s}"


def card(**changes: str | None) -> Cylinder:
    return make_book({"A": with_lines(GOOD, **changes)}).cylinders["A"]


@pytest.mark.parametrize(
    ("figures", "share"),
    [
        ("total_expansion: 0.0500 L, permanent_expansion: 0.0050 L", 10.0),
        ("total_expansion: 0.05 L, permanent_expansion: 0.002 L", 4.0),
        ("total_expansion: 0.05 L, permanent_expansion: 0.0 L", 0.0),
        ("total_expansion: 0.05 L, permanent_expansion: 0.06 L", 120.0),
        ("total_expansion: 0.05 L", None),
        ("permanent_expansion: 0.05 L", None),
        ("total_expansion: 0.0 L, permanent_expansion: 0.05 L", None),
    ],
)
def test_the_share_that_was_kept(figures: str, share: float | None) -> None:
    test = card(
        requalified=f"[{{on: 2024-03, method: hydrostatic, by: T1, {figures}}}]"
    ).requalified[0]
    assert kept_share(test) == (None if share is None else pytest.approx(share))


@pytest.mark.parametrize(
    ("share", "over"), [(9.99, False), (10.0, False), (10.0 + 1e-9, False), (10.001, True)]
)
def test_right_at_its_limit_it_passes(share: float, over: bool) -> None:
    assert is_over(share, ExpansionLimit(Percent.of(10, "%"), "49 CFR")) is over


@pytest.mark.parametrize(
    ("changes", "share", "where"),
    [
        ({}, "10 %", "49 CFR"),
        ({"specification": "[DOT-3AA]", "material": "steel", "alloy": None}, "10 %", "49 CFR"),
        ({"permit": PERMIT % ("DOT-SP 99001", "5 %")}, "5 %", "permit DOT-SP 99001"),
        # a permit on a plain specification switches its rows not off
        ({"permit": PERMIT % ("DOT-SP 99001", "50 %")}, "10 %", "49 CFR"),
        ({"specification": "[DOT-SP 99001]", "permit": PERMIT % ("DOT-SP 99001", "12 %")}, "12 %", "permit DOT-SP 99001"),
        (
            {"specification": "[DOT-SP 99001]", "permit": PERMIT.replace("number: %s, ", "") % "12 %"},
            "12 %",
            "permit of the cylinder",
        ),
    ],
    ids=str,
)  # fmt: skip
def test_the_strictest_limit_counts(changes: dict[str, str | None], share: str, where: str) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)})
    for day in (None, TODAY, dt.date(2020, 1, 1)):
        found = expansion_limit(book, book.cylinders["A"], day)
        assert found is not None
        assert str(found.share) == share
        assert where in found.citation


@pytest.mark.parametrize(
    "changes",
    [
        {"specification": "[UN ISO 7866]"},
        {"specification": "[DOT-SP 99001]", "permit": (PERMIT % ("DOT-SP 99001", "5 %")).replace(", expansion_limit: 5 %", "")},
    ],
    ids=str,
)  # fmt: skip
def test_where_no_row_and_no_permit_speaks_there_is_none(changes: dict[str, str]) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)})
    assert expansion_limit(book, book.cylinders["A"]) is None


def test_a_row_counts_from_its_day() -> None:
    rows = (
        "heading: Shop rules\nrows:\n  - {id: shop.kept, obligation: expansion-limit, share: 5 %, since: 2026-01-01,"
        " applies_to: {specification: [DOT-3AL]}, gate: refuse, basis: practice, citation: shop, verified: memory}\n"
    )
    book = make_book({"A": GOOD}, own_rules=rows)
    for known in (TODAY, dt.date(2025, 12, 1)):
        then = book.as_known_on(known)
        for day, share in ((dt.date(2025, 12, 31), "10 %"), (TODAY, "5 %")):
            found = expansion_limit(then, book.cylinders["A"], day)
            assert found is not None
            assert str(found.share) == share


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"specification": "[UN ISO 7866]"},
        {"specification": "[DOT-SP 99001]", "permit": PERMIT % ("DOT-SP 99001", "50 %")},
    ],
    ids=str,
)
def test_no_cylinder_keeps_more_than_any_rule_lets_one(changes: dict[str, str]) -> None:
    """12 % of a DOT-4E: 49 CFR 180.205(i)(1)(vi), 2015 (read)."""
    book = make_book({"A": with_lines(GOOD, **changes)})
    found = expansion_beyond(book, book.cylinders["A"])
    assert found is not None
    assert (str(found.share), found.citation[:6]) == ("12 %", "49 CFR")


def test_of_two_bounds_the_lower_counts() -> None:
    tail = "citation: shop, verified: memory, gate: refuse, basis: practice"
    own = "applies_to: {state: [beyond-any]}, obligation: expansion-limit"
    for share, most in (("9 %", "9 %"), ("15 %", "12 %")):
        rules = f"heading: Shop\nrows:\n  - {{id: shop.less, {own}, share: {share}, {tail}}}\n"
        book = make_book({"A": GOOD}, own_rules=rules)
        found = expansion_beyond(book, book.cylinders["A"])
        assert found is not None
        assert str(found.share) == most
