"""The most a cylinder may hold."""

from __future__ import annotations

import pytest
from books import GOOD, make_book, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.gas import AIR
from tankbook.rules.limits import cold_target, limit_of
from tankbook.units import Temperature

STEEL = {"specification": "[DOT-3AA]", "material": "steel", "alloy": None,
         "service_pressure": "2640 psi", "test_pressure": "4400 psi",
         "valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4400 psi}"}  # fmt: skip
PLUS = "[{on: 2019-03, method: hydrostatic, by: maker}, {on: 2024-03, method: hydrostatic, by: T1, plus: yes}]"
LOST = PLUS.replace("]", ", {on: 2026-03, method: hydrostatic, by: T1}]")


# 49 CFR 173.302a(b) as quoted from old 173.302(c) (read, grade C): 10 % for 3A, 3AX, 3AA, 3AAX, 3T only
@pytest.mark.parametrize(
    ("changes", "limit", "plus"),
    [
        ({**STEEL, "requalified": PLUS}, "2904 psi", True),
        ({**STEEL, "requalified": LOST}, "2640 psi", False),
        (
            {**STEEL, "requalified": PLUS, "valve": "{thread: 3/4-14 NPSM, rating: 3442 psi}"},
            "2640 psi",
            False,
        ),
        ({"requalified": PLUS}, "3000 psi", False),
        ({**STEEL, "specification": "[DOT-SP 99001]", "requalified": PLUS}, "2640 psi", False),
    ],
    ids=["latest has it", "latest lost it", "no disc on record", "aluminium", "special permit"],
)
def test_the_plus_mark(changes: dict[str, str | None], limit: str, plus: bool) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)})
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert (str(got.pressure), got.plus) == (limit, plus)


def test_a_plus_that_gives_nothing_says_why() -> None:
    book = make_book({"A": with_lines(GOOD, requalified=PLUS)})
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert "aluminium" in got.why_no_plus


@pytest.mark.parametrize(
    ("rules", "specification", "reference"),
    [
        ("us-dot", "[DOT-3AL]", "70 degF"),
        ("us-dot", "[UN ISO 7866]", "15 degC"),
        ("us-dot", "[DOT-3AL, UN ISO 7866]", "70 degF"),
        ("uk", "[EN ISO 7866]", "15 degC"),
    ],
)
def test_a_marked_pressure_has_its_temperature(
    rules: str, specification: str, reference: str
) -> None:
    from books import SETTINGS

    settings = SETTINGS.replace("[us-dot]", f"[{rules}]")
    book = make_book({"A": with_lines(GOOD, specification=specification)}, settings=settings)
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert got.reference == Temperature.parse(reference)


@given(st.floats(-10, 60), st.floats(-10, 60))
def test_the_cold_target_rises_with_ambient_up_to_the_limit(one: float, other: float) -> None:
    book = make_book({"A": GOOD})
    limit = limit_of(book, book.cylinders["A"])
    assert limit is not None
    low, high = sorted((one, other))
    cold = cold_target(limit, AIR, Temperature.of(low, "degC"))
    warm = cold_target(limit, AIR, Temperature.of(high, "degC"))
    assert cold <= warm <= limit.pressure
    assert cold_target(limit, AIR, limit.reference) == limit.pressure
