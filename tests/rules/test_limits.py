"""The most a cylinder may hold."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from books import GOOD, make_book, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.gas import AIR, Gas
from tankbook.records.book import Book
from tankbook.rules.limits import cold_target, limit_of, settled, why_no_limit
from tankbook.units import GaugePressure, Temperature
from tests.support.changed import replace

STEEL = {"specification": "[DOT-3AA]", "material": "steel", "alloy": None,
         "service_pressure": "2640 psi", "test_pressure": "4400 psi",
         "valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4400 psi}"}  # fmt: skip
PLUS = "[{on: 2019-03, method: hydrostatic, by: maker}, {on: 2024-03, method: hydrostatic, by: T1, stamp: 03 Z418 24 +, plus: yes}]"
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
        ({**STEEL, "requalified": PLUS.replace(" +,", ",")}, "2640 psi", False),
        ({**STEEL, "requalified": PLUS.replace("stamp: 03 Z418 24 +, ", "")}, "2640 psi", False),
        (
            {
                **STEEL,
                "requalified": PLUS.replace("stamp: 03 Z418 24 +, ", ""),
                "marks": "DOT-3AA 2640 K1 03+19 T1 03 Z418 24+",
            },
            "2904 psi",
            True,
        ),
        ({**STEEL, "specification": "[DOT-SP 99001]", "requalified": PLUS}, "2640 psi", False),
    ],
    ids=[
        "latest has it",
        "latest lost it",
        "no disc on record",
        "aluminium",
        "stamp without it",
        "no stamp",
        "on the shoulder",
        "special permit",
    ],
)
def test_the_plus_mark(changes: dict[str, str | None], limit: str, plus: bool) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)})
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert (str(got.pressure), got.plus) == (limit, plus)


@pytest.mark.parametrize(
    "changes",
    [
        {},  # none was ever stamped
        {**STEEL},
        {**STEEL, "requalified": LOST},
        {"requalified": LOST},
        {"requalified": PLUS.replace("plus: yes", "plus: yes, result: fail")},
        {"requalified": None},
    ],
)
def test_where_no_plus_is_claimed_none_is_spoken_of(changes: dict[str, str | None]) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)})
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert (got.plus, got.why_no_plus) == (False, "")


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


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4500 psi}"}, "burst disc"),
        ({"valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: none}"}, "burst disc"),
        ({"requalified": PLUS.replace("hydrostatic, by: T1", "proof, by: T1")}, "water-jacket"),
        ({"specification": "[DOT-3AA, UN ISO 9809-1]"}, "no rule row"),
        ({"specification": "[DOT-3AA, DOT-SP 99001]"}, "no rule row"),
    ],
    ids=["disc above the test", "no disc", "no expansion measured", "UN mark", "permit"],
)
def test_all_of_the_paragraph_holds_or_the_plus_gives_nothing(
    changes: dict[str, str], why: str
) -> None:
    """173.302a(b), all of it, the disc included (PHMSA 13-0042 and 14-0063, read, A); UN receptacles
    get no 10 % (173.302b(b) as quoted, read, C)."""
    permit = "{period: 5 years, test_pressure: 4400 psi, life_ends: none}"
    card = {**STEEL, "requalified": PLUS, **changes}
    if "SP" in str(card["specification"]):
        card["permit"] = permit
    book = make_book({"A": with_lines(GOOD, **card)})
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert (str(got.pressure), got.plus) == ("2640 psi", False)
    assert why in got.why_no_plus


TIGHTER = """
heading: Shop rules
rows:
  - {id: us.plus-fill, obligation: plus-fill, %s, gate: refuse, basis: law, citation: shop, verified: memory,
     applies_to: {specification: [DOT-3AA], not_specification: [UN-*, DOT-SP-*, DOT-E-*, TC-SP-*, TC-SU-*], permit: no}}
"""
NEEDS = "needs: [plus-mark-on-latest-test, disc-within-test-pressure%s]"


@pytest.mark.parametrize(
    ("row", "limit"),
    [
        ("share: 5 %, " + NEEDS % "", "2772 psi"),
        ("share: 10 %, " + NEEDS % ", a second look", "2640 psi"),
        ("share: 20 %, " + NEEDS % "", "2904 psi"),  # looser: the shipped row stays
    ],
)
def test_a_shop_may_grant_less_than_the_law(row: str, limit: str) -> None:
    book = make_book(
        {"A": with_lines(GOOD, **{**STEEL, "requalified": PLUS})}, own_rules=TIGHTER % row
    )
    got = limit_of(book, book.cylinders["A"])
    assert got is not None
    assert str(got.pressure) == limit


UN = {
    "specification": "[UN ISO 9809-1]",
    "material": "steel",
    "alloy": None,
    "service_pressure": "232 bar",
    "test_pressure": "348 bar",
    "valve": "{thread: M25x2, rating: 300 bar, disc: none}",
}


# 173.302b(b): working pressure at most 2/3 of test pressure (as quoted by a maker, read, C)
@pytest.mark.parametrize(
    ("changes", "limit"),
    [
        ({}, "232 bar"),
        ({"test_pressure": "300 bar"}, "200 bar"),
        (
            {"service_pressure": "3365 psi", "test_pressure": "5047 psi"},
            "3365 psi",
        ),  # rounded marks
        ({"test_pressure": None}, ""),
    ],
    ids=["as marked", "tested too low", "in psi", "test pressure unknown"],
)
def test_a_un_receptacle_is_held_to_its_test_pressure(
    changes: dict[str, str | None], limit: str
) -> None:
    book = make_book({"A": with_lines(GOOD, **{**UN, **changes})})
    got = limit_of(book, book.cylinders["A"])
    assert str(got.pressure if got else "") == limit
    why = why_no_limit(book, book.cylinders["A"])
    assert ("its test pressure is not recorded" in why) is not bool(limit)


def hot(book: Book, row_id: str, ratio: str) -> Book:
    """The ledger with one hot limit changed: no mark and no breathing gas meets the shipped one."""
    sets = tuple(
        replace(
            s,
            rows=tuple(replace(r, ratio=Fraction(ratio)) if r.id == row_id else r for r in s.rows),
        )
        for s in book.rule_sets
    )
    return replace(book, rule_sets=sets)


def at_131(gas: str, psi: float) -> float:
    at70, hot_day = Temperature.parse("70 degF"), Temperature.parse("131 degF")
    return settled(Gas.parse(gas).mixture, GaugePressure.of(psi, "psi"), at70, hot_day).psi


def test_what_a_hot_day_would_show_lowers_the_limit() -> None:
    """With 11/10 at 131 degF the limit is the highest whole psi that shows no more; a gas that grows
    more with heat is filled to less."""
    book = hot(make_book({"A": GOOD}), "us.hot-limit", "11/10")
    limits = []
    for gas in ("trimix18/45", "air", "nitrox32", "oxygen"):
        got = limit_of(book, book.cylinders["A"], Gas.parse(gas))
        assert got is not None
        psi = got.pressure.psi
        assert at_131(gas, psi) <= 3300 < at_131(gas, psi + 1)
        assert got.lowered == (
            "at 131 degF no more than 11/10 of the service pressure "
            "(49 CFR 173.301a(d); 173.301(a)(8))"
        )
        limits.append(psi)
    assert limits == sorted(limits, reverse=True)
    assert limits[0] < 3000


# 173.301a(d), read (C): 5/4 at 55 degC; UN: not above the test pressure at 65 degC (read, C)
@pytest.mark.parametrize("gas", ["air", "nitrox32", "oxygen", "trimix18/45"])
@pytest.mark.parametrize(
    ("card", "marked", "at", "most"),
    [
        ({}, "3000 psi", "131 degF", 3750.0),
        ({"service_pressure": "4500 psi", "test_pressure": "7500 psi"}, "4500 psi", "131 degF", 5625.0),
        (UN, "232 bar", "65 degC", 348 * 14.503774),
    ],
)  # fmt: skip
def test_no_breathing_gas_filled_to_its_mark_comes_near_its_hot_limit(
    gas: str, card: dict[str, str | None], marked: str, at: str, most: float
) -> None:
    book = make_book({"A": with_lines(GOOD, **card)})
    mixture = Gas.parse(gas).mixture
    got = limit_of(book, book.cylinders["A"], mixture)
    assert got is not None
    assert (str(got.pressure), got.lowered) == (marked, "")
    shown = settled(mixture, got.pressure, got.reference, Temperature.parse(at))
    assert shown.psi < most


def test_air_on_a_hot_day_as_worked_out_elsewhere() -> None:
    """Air at 3000 psi and 70 degF is about 3490 psi at 131 degF by Peng-Robinson (computed)."""
    at70, at131 = Temperature.parse("70 degF"), Temperature.parse("131 degF")
    shown = settled(AIR, GaugePressure.of(3000, "psi"), at70, at131)
    assert shown.psi == pytest.approx(3490, rel=0.01)


def test_a_plus_fill_is_held_to_five_quarters_of_the_filling_pressure() -> None:
    """173.301a(d): of the filling pressure, not of the service pressure, where 173.302a(b) applies."""
    card = with_lines(GOOD, **{**STEEL, "requalified": PLUS})
    whole = make_book({"A": card})
    limits = [limit_of(b, b.cylinders["A"]) for b in (whole, hot(whole, "us.hot-limit", "11/10"))]
    plain, lowered = (each.pressure.psi if each else 0.0 for each in limits)
    assert plain == 2904
    assert at_131("air", lowered) <= 1.1 * 2904 < at_131("air", lowered + 1)


def test_without_its_hot_limit_there_is_no_limit() -> None:
    whole = make_book({"A": GOOD})
    sets = tuple(
        replace(s, rows=tuple(r for r in s.rows if r.id != "us.hot-limit")) for s in whole.rule_sets
    )
    book = replace(whole, rule_sets=sets)
    assert limit_of(book, book.cylinders["A"]) is None
    assert "us.hot-limit" in why_no_limit(book, book.cylinders["A"])


PERMIT = {"specification": "[DOT-SP 99001]", "material": "composite", "alloy": None, "test_pressure": None}  # fmt: skip


@pytest.mark.parametrize(
    ("test", "why"),
    [
        ("4500 psi", ""),
        ("4460 psi", ""),  # 3/2 of 3000, a hundredth for rounding
        ("4400 psi", "below 3/2 of 3000 psi"),
        ("5000 psi", ""),
        ("6000 psi", ""),
        ("6100 psi", "above 2 of 3000 psi"),
    ],
)
def test_a_permits_test_pressure_that_cannot_be_right(test: str, why: str) -> None:
    """Read are 3/2 (UN; one permit) to 2 (3B, 4B); beyond them a permit is read again (inference)."""
    permit = f"{{number: DOT-SP 99001, period: 5 years, test_pressure: {test}, life_ends: none}}"
    book = make_book({"A": with_lines(GOOD, **PERMIT, permit=permit)})
    found = why_no_limit(book, book.cylinders["A"])
    assert (found.endswith(why), bool(found)) == (True, bool(why))


def test_the_rules_of_the_day_asked_count() -> None:
    own = """
    heading: Shop rules
    rows:
      - {id: shop.low, obligation: fill-limit, ratio: 9/10, of: service-pressure, gate: refuse,
         basis: practice, citation: shop, verified: memory, since: 2026-06}
    """
    book = make_book({"A": GOOD}, own_rules=own)
    found = [limit_of(book, book.cylinders["A"], AIR, dt.date(2026, month, 1)) for month in (5, 6)]
    assert [str(each.pressure if each else "") for each in found] == ["3000 psi", "2700 psi"]


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
