"""The most a cylinder may hold, at the edge of each row that says so."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable

import pytest
from books import GOOD, TODAY, make_book, with_lines

from tankbook.gas import AIR
from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.rules.limits import cold_target, limit_of, permit_doubt, settled, why_no_limit
from tankbook.units import GaugePressure, Percent, Temperature
from tests.support.changed import replace

STEEL = {
    "specification": "[DOT-3AA]", "material": "steel", "alloy": None, "service_pressure": "2640 psi",
    "test_pressure": "4400 psi", "valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4400 psi}",
}  # fmt: skip
PLUS = "[{on: 2019-03, method: hydrostatic, by: maker}, {on: 2024-03, method: hydrostatic, by: T1, stamp: 03 Z418 24 +, plus: yes}]"
PERMIT = {
    "specification": "[DOT-SP 99001]",
    "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2031-03}",
}
OWN = """
heading: Shop rules
rows:
  - {id: shop.own, obligation: %s, gate: refuse, basis: practice, citation: shop, verified: memory}
"""


def book_of(card: dict[str, str | None], *rows: str) -> Book:
    rules = "".join(
        OWN.removeprefix("\nheading: Shop rules\nrows:\n").replace("shop.own", f"shop.{n}") % row
        for n, row in enumerate(rows)
    )
    own = f"\nheading: Shop rules\nrows:\n{rules}" if rows else ""
    return make_book({"A": with_lines(GOOD, **card)}, own_rules=own)


def with_rows(book: Book, change: Callable[[RuleRow], list[RuleRow]]) -> Book:
    """The book with each shipped row put in the place of some others."""
    sets = tuple(
        replace(s, rows=tuple(new for row in s.rows for new in change(row))) for s in book.rule_sets
    )
    return replace(book, rule_sets=sets)


def without(*ids: str) -> Callable[[RuleRow], list[RuleRow]]:
    return lambda row: [] if row.id.startswith(ids) else [row]


def limit(book: Book) -> str:
    found = limit_of(book, book.cylinders["A"])
    return str(found.pressure) if found else why_no_limit(book, book.cylinders["A"])


# --- what is not known -------------------------------------------------------------------------


def test_without_a_marked_pressure_there_is_no_limit() -> None:
    assert limit(book_of({"service_pressure": None})) == "its service pressure is not recorded"


UNBOUNDED = "no rule row in force bounds the test pressure of a permit"
BOUNDS = ("bench.permit.test-too-low", "bench.permit.test-too-high")


@pytest.mark.parametrize("gone", [(BOUNDS[0],), (BOUNDS[1],), BOUNDS])
def test_a_permit_is_bound_on_either_side(gone: tuple[str, ...]) -> None:
    assert limit(with_rows(book_of(PERMIT), without(*gone))) == UNBOUNDED
    assert limit(book_of(PERMIT)) == "3000 psi"
    # no cylinder without a permit needs the bounds
    assert limit(with_rows(book_of({}), without(*gone))) == "3000 psi"


HOT = "hot-limit, temperature: 65 degC, ratio: 1/1, of: test-pressure"


def test_what_a_limit_rests_on_is_told_before_what_bounds_it() -> None:
    card = {**PERMIT, "permit": PERMIT["permit"].replace(" test_pressure: 5000 psi,", "")}
    book = with_rows(book_of({**card, "test_pressure": None}, HOT), without(*BOUNDS))
    assert limit(book) == "its test pressure is not recorded, and its limit rests on it (shop.0)"


@pytest.mark.parametrize(
    ("test", "said"),
    [
        (None, "3000 psi"),
        ("5000 psi", "3000 psi"),
        ("3100 psi", "its permit's test pressure 3100 psi is below"),
        ("9900 psi", "its permit's test pressure 9900 psi is above"),
    ],
)
def test_a_permits_test_pressure_lies_between_its_bounds(test: str | None, said: str) -> None:
    text = PERMIT["permit"].replace("test_pressure: 5000 psi,", f"test_pressure: {test}," if test else "")  # fmt: skip
    assert limit(book_of({**PERMIT, "permit": text})).startswith(said)


def test_a_bound_without_a_ratio_bounds_nothing() -> None:
    row = "permit, applies_to: {state: [test-too-low]}"
    assert limit(book_of(PERMIT, row)) == "3000 psi"


def test_of_two_test_pressures_the_lower_counts() -> None:
    row = "fill-limit, ratio: 1/2, of: test-pressure"
    assert limit(book_of(PERMIT, row)) == "2500 psi"
    assert limit(book_of({**PERMIT, "test_pressure": "4800 psi"}, row)) == "2400 psi"
    higher = {
        **PERMIT,
        "test_pressure": "5000 psi",
        "permit": PERMIT["permit"].replace("5000", "4960"),
    }
    assert limit(book_of(higher, row)) == "2480 psi"


# --- what lowers it ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "pressure", "lowered"),
    [
        ("fill-limit, ratio: 9/10", "2700 psi", "no more than 9/10 of the service pressure (shop)"),
        # a temperature lowers nothing but a hot limit
        (
            "fill-limit, ratio: 9/10, temperature: 65 degC",
            "2700 psi",
            "at 65 degC no more than 9/10 of the service pressure (shop)",
        ),
        # nor does a hot limit without one
        ("hot-limit, ratio: 9/10", "2700 psi", "no more than 9/10 of the service pressure (shop)"),
        ("fill-limit, ratio: 1/1", "3000 psi", ""),
        ("fill-limit, ratio: 49/50", "2940 psi", "no more than 49/50 of the service pressure (shop)"),
        # a pressure by itself, in its own unit or another
        ("fill-limit, at_most: 2800 psi", "2800 psi", "no more than 2800 psi (shop)"),
        ("fill-limit, at_most: 180 bar", "2610 psi", "no more than 180 bar (shop)"),
        ("fill-limit, at_most: 3100 psi", "3000 psi", ""),
    ],
)  # fmt: skip
def test_a_cap_lowers_the_limit_and_says_so(row: str, pressure: str, lowered: str) -> None:
    book = book_of({}, row)
    found = limit_of(book, book.cylinders["A"])
    assert found is not None
    assert (str(found.pressure), found.lowered) == (pressure, lowered)


def test_beyond_the_gas_model_the_nearest_cap_below_its_end_is_taken() -> None:
    # 5/4 of 600 bar lies beyond 690 bar, where our gas model ends (own bound)
    book = book_of({"service_pressure": "600 bar", "test_pressure": "680 bar"})
    found = limit_of(book, book.cylinders["A"])
    assert found is not None
    end = GaugePressure.of(GaugePressure.of(690, "bar").psi * 0.999, "psi")
    at = settled(AIR, end, Temperature.parse("131 degF"), Temperature.parse("70 degF"))
    assert at.bar < 600
    assert str(found.pressure) == f"{math.floor(at.bar)} bar"


def test_of_two_reference_temperatures_the_higher_counts() -> None:
    book = book_of(
        {},
        "reference-temperature, temperature: 30 degC",
        "reference-temperature, temperature: 25 degC",
    )
    found = limit_of(book, book.cylinders["A"])
    assert found is not None
    assert found.reference == Temperature.parse("30 degC")


def test_at_its_reference_temperature_a_limit_is_itself() -> None:
    book = book_of({})
    found = limit_of(book, book.cylinders["A"])
    assert found is not None
    assert cold_target(found, AIR, found.reference) == found.pressure
    assert cold_target(found, AIR, None) == found.pressure
    assert cold_target(found, AIR, Temperature.parse("60 degF")) < found.pressure


def test_only_a_fill_limit_caps_by_a_pressure() -> None:
    low = GaugePressure.of(1000, "psi")

    def change(row: RuleRow) -> list[RuleRow]:
        capped = row.obligation in {Obligation.HOT_LIMIT, Obligation.REFERENCE_TEMPERATURE}
        return [replace(row, at_most=low) if capped else row]

    assert limit(with_rows(book_of({}), change)) == "3000 psi"


DOUBTED = {**PERMIT, "permit": PERMIT["permit"].replace("5000", "3100")}


@pytest.mark.parametrize(
    ("card", "said"),
    [
        (DOUBTED, "its permit's test pressure 3100 psi is below 3/2 of 3000 psi"),
        (PERMIT, ""),
        # nothing to hold it against
        ({**DOUBTED, "service_pressure": None}, ""),
        ({}, ""),
    ],
)
def test_a_permits_test_pressure_is_doubted_where_the_permit_counts(
    card: dict[str, str | None], said: str
) -> None:
    book = book_of(card)
    assert permit_doubt(book, book.cylinders["A"]) == said


# --- the plus ----------------------------------------------------------------------------------


def test_a_plus_of_a_failed_test_gives_nothing() -> None:
    failed = PLUS.replace("]", ", {on: 2026-03, method: hydrostatic, by: T1, stamp: 03 Z418 26 +, plus: yes, result: fail}]")  # fmt: skip
    assert limit(book_of({**STEEL, "requalified": failed})) == "2640 psi"


EXPANDED = "total_expansion: 0.0951 L, permanent_expansion: 0.0021 L"


@pytest.mark.parametrize(
    ("test", "card", "found"),
    [
        ("", {}, "2904 psi"),
        # the elastic expansion against the stamped REE, in cc
        (EXPANDED, {}, "2904 psi"),
        (EXPANDED, {"marks": "REE 93.1"}, "2904 psi"),
        (EXPANDED, {"marks": "REE 93.0"}, "2904 psi"),
        (EXPANDED, {"marks": "REE 92.9"}, "2640 psi"),
        ("", {"marks": "REE 45.0"}, "2904 psi"),
        # of two the lower one; and nothing is worked out of one figure alone
        (EXPANDED, {"marks": "REE 95.0 REE 92.9"}, "2640 psi"),
        ("total_expansion: 0.0951 L", {"marks": "REE 45.0"}, "2904 psi"),
        ("permanent_expansion: 0.0021 L", {"marks": "REE 45.0"}, "2904 psi"),
        # what was written of it
        ("finding: plus not approved", {}, "2640 psi"),
        ("note: plus refused", {}, "2640 psi"),
        ("note: no plus given", {}, "2640 psi"),
        ("note: plus approved", {}, "2904 psi"),
        ("", {"note": "do not plus fill"}, "2640 psi"),
        ("", {"note": "plus taken off 2025"}, "2640 psi"),
        ("", {"note": "surplus stock"}, "2904 psi"),
    ],
)
def test_what_takes_a_plus_away(test: str, card: dict[str, str], found: str) -> None:
    marks = f"DOT-3AA 2640 K118204 03A19 03 Z418 24+ {card['marks']}" if "marks" in card else None
    tests = PLUS.replace("plus: yes", f"plus: yes, {test}") if test else PLUS
    book = book_of({**STEEL, "requalified": tests, **card, "marks": marks})
    assert limit(book) == found


@pytest.mark.parametrize(
    ("disc", "found"), [("4400 psi", "2904 psi"), ("4401 psi", "2640 psi"), (None, "2640 psi")]
)
def test_a_plus_holds_the_disc_against_the_test_pressure_of_the_row(
    disc: str | None, found: str
) -> None:
    # no US shoulder carries a test pressure: 5/3 of 2640 psi, 49 CFR 180.209(a) Table 1
    card = {**STEEL, "requalified": PLUS, "test_pressure": None}
    fit = f"{{outlet: din-200, rating: 3442 psi{f', disc: {disc}' if disc else ''}}}"
    assert limit(book_of({**card, "valve": fit})) == found


def test_a_plus_gives_nothing_where_the_test_pressure_is_unknown() -> None:
    card = {**STEEL, "requalified": PLUS, "test_pressure": None}
    book = with_rows(
        book_of(card), lambda r: [] if r.obligation is Obligation.TEST_PRESSURE else [r]
    )
    found = limit_of(book, book.cylinders["A"])
    assert found is not None
    assert str(found.pressure) == "2640 psi"
    assert found.why_no_plus == (
        "the 10 % needs a burst disc at or below the test pressure, which is not recorded"
    )


def test_a_disc_in_another_unit_may_be_over_by_its_rounding() -> None:
    # 304 bar is 4409 psi; the same figure in whole bar as 4400 psi (303.4 bar)
    fit = "{outlet: din-200, rating: 3442 psi, disc: %s}"
    card = {**STEEL, "requalified": PLUS, "test_pressure": "4400 psi"}
    assert limit(book_of({**card, "valve": fit % "304 bar"})) == "2904 psi"
    assert limit(book_of({**card, "valve": fit % "312 bar"})) == "2640 psi"


def shares(*percents: float | None) -> Callable[[RuleRow], list[RuleRow]]:
    """Each row that grants a plus as often as there are shares, with these shares."""

    def change(row: RuleRow) -> list[RuleRow]:
        if row.obligation is not Obligation.PLUS_FILL:
            return [row]
        given = (Percent.of(p, "%") if p is not None else None for p in percents)
        return [
            replace(row, id=f"{row.id}.{n}" if n else row.id, share=share)
            for n, share in enumerate(given)
        ]

    return change


@pytest.mark.parametrize(
    ("percents", "pressure"),
    [
        ((10.0,), "2904 psi"),
        ((10.0, 5.0), "2772 psi"),
        ((5.0, 10.0), "2772 psi"),
        ((10.0, None), "2640 psi"),
        ((None,), "2640 psi"),
    ],
)
def test_of_two_shares_the_smaller_counts(
    percents: tuple[float | None, ...], pressure: str
) -> None:
    book = with_rows(book_of({**STEEL, "requalified": PLUS}), shares(*percents))
    assert limit(book) == pressure


@pytest.mark.parametrize(
    ("service", "test", "said"),
    [
        ("2000 psi", "2970 psi", "2000 psi"),  # 99 % of 3/2: not below by more than rounding
        ("2000 psi", "2969 psi", "its permit's test pressure 2969 psi is below"),
        ("1500 psi", "3030 psi", "1500 psi"),  # 101 % of 2/1
        ("1500 psi", "3031 psi", "its permit's test pressure 3031 psi is above"),
    ],
)
def test_a_bound_is_kept_to_one_percent(service: str, test: str, said: str) -> None:
    text = PERMIT["permit"].replace("5000 psi", test)
    card = {**PERMIT, "permit": text, "service_pressure": service, "test_pressure": test}
    assert limit(book_of(card)).startswith(said)


@pytest.mark.parametrize(("test", "said"), [("4995 psi", "3000 psi"), ("4994 psi", "2996 psi")])
def test_a_cap_a_thousandth_below_is_the_same_figure(test: str, said: str) -> None:
    row = "fill-limit, ratio: 3/5, of: test-pressure"
    assert limit(book_of({"test_pressure": test}, row)) == said


def test_without_a_reference_temperature_there_is_no_limit() -> None:
    book = with_rows(book_of({}), without("us.reference-temperature"))
    assert limit(book).startswith("no rule row in force says to what pressure")


def test_a_bound_of_a_permit_caps_nothing() -> None:
    row = "permit, applies_to: {state: [test-too-low]}, ratio: 1/2"
    assert limit(book_of(PERMIT, row)) == "3000 psi"


def test_a_plus_counts_till_a_newer_test_shows_none() -> None:
    # the shoulder was tested again in March 2026, without a plus
    marks = "DOT-3AA 2640 K118204 03A19 03 T123 24 + 03 T123 26"
    book = book_of({**STEEL, "marks": marks, "requalified": PLUS})
    card, before = book.cylinders["A"], dt.date(2025, 12, 1)
    for day, pressure in ((before, "2904 psi"), (TODAY, "2640 psi")):
        asked = limit_of(book, card, today=day)
        known = limit_of(book.as_known_on(day), card)
        assert asked is not None
        assert known is not None
        assert (str(asked.pressure), str(known.pressure)) == (pressure, pressure)
        # the day asked about goes before the day the book is of
        other = limit_of(book.as_known_on(TODAY if day == before else before), card, today=day)
        assert other is not None
        assert str(other.pressure) == pressure


def test_a_row_without_a_ratio_rests_on_no_test_pressure() -> None:
    book = book_of({**PERMIT, "test_pressure": None, "permit": PERMIT["permit"].replace(" test_pressure: 5000 psi,", "")}, "fill-limit, of: test-pressure")  # fmt: skip
    assert limit(book) == "3000 psi"
