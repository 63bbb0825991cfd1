"""Stock for sale, and a count of the room."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines

from tankbook.records.book import Book
from tankbook.rules.stock import count_of, expected_here, sale_stock

AT_HAND_OVER = SETTINGS + "sticker: {policy: at-hand-over, inspection_age: 6 months}\n"
FILL = "at=2026-11-15T10:00:00+00:00; cylinder=A; act=fill; to=3000 psi; gas=air; by=MV; source=B1"


def sale(settings: str = SETTINGS, log: str = "", **changes: str | None) -> Book:
    return make_book({"A": with_lines(GOOD, use="sale", **changes)}, settings=settings, log=log)


def test_a_line_tells_the_months_gone_the_age_of_the_air_and_the_inspection() -> None:
    """A hydro of Mar 2024 runs 5 years: 49 CFR 180.209(a) Table 1 (older copy read)."""
    (line,) = sale_stock(sale(log=FILL, price="189.00 USD"), TODAY)
    assert (str(line.tested), line.months_gone, line.months_whole) == ("2024-03", 32, 60)
    assert (line.air_days, str(line.inspected_until), str(line.price)) == (
        10,
        "2027-02-09",
        "189.00 USD",
    )
    assert line.needs == ()


def test_what_it_still_needs_is_what_the_hand_over_would_refuse() -> None:
    withheld = "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: withheld}]"
    (line,) = sale_stock(sale(AT_HAND_OVER, inspected=withheld), TODAY)
    assert line.needs == (
        "its full inspection of 2026-02-09 is older than 6 months: inspect it again",
        "its sticker goes on at hand-over",
    )


def test_the_oldest_test_comes_first_and_what_is_gone_is_not_listed() -> None:
    cards = {
        "A": with_lines(GOOD, use="sale"),
        "B": with_lines(GOOD, use="sale", serial="K2").replace("2024-03", "2023-06"),
        "C": with_lines(GOOD, use="sale", serial="K3", requalified=None),
        "D": with_lines(
            GOOD, use="sale", serial="K4", status="sold", handed_over="[{on: 2026-11-01, to: C-1}]"
        ),
        "E": with_lines(GOOD, serial="K5"),
    }
    assert [s.id for s in sale_stock(make_book(cards), TODAY)] == ["C", "B", "A"]


# --- the count


def room() -> Book:
    cards = {
        "A": with_lines(GOOD, place="rack 1"),
        "B": with_lines(GOOD, serial="K2", place="rack 2"),
        "C": with_lines(GOOD, serial="K3"),
        "OUT": with_lines(GOOD, serial="K4", status="out", rented="[{on: 2026-11-24, to: B-1}]"),
        "AWAY": with_lines(
            GOOD,
            serial="K5",
            status="at-test",
            sent="[{on: 2026-11-20, to: Northside, for: requalification}]",
        ),
        "SOLD": with_lines(
            GOOD, serial="K6", status="sold", handed_over="[{on: 2026-11-01, to: C-1}]"
        ),
        "LOST": with_lines(GOOD, serial="K7", status="lost", lost="[{on: 2026-05-01, by: MV}]"),
        "JOB": with_lines(GOOD, serial="K8", use="customer", jobs="[{on: 2026-11-20, work: [visual]}]"),
        "HOME": with_lines(GOOD, serial="K9", use="customer"),
        "HELD": with_lines(
            GOOD,
            serial="K10",
            status="held",
            held="[{on: 2026-11-25, why: bad air, by: MV}]",
            rented="[{on: 2026-11-24, to: B-2}]",
        ),
        "S1": with_lines(GOOD, serial="K11"),
        "S2": with_lines(GOOD, serial="K12"),
    }  # fmt: skip
    return make_book(cards, sets={"D": "cylinders: [S1, S2]\nrented: [{on: 2026-11-24, to: B-3}]"})


def test_what_should_be_here_in_the_order_of_the_places() -> None:
    assert [e.id for e in expected_here(room())] == ["A", "B", "C", "JOB"]
    assert [e.id for e in expected_here(room(), "Rack 1")] == ["A"]


def test_a_count_tells_what_is_missing_and_what_should_not_be_here() -> None:
    counted = count_of(room(), ["A", "OUT", "AWAY", "SOLD", "LOST", "HOME", "D"])
    assert counted.found == ("A",)
    assert [e.id for e in counted.missing] == ["B", "C", "JOB"]
    assert dict(counted.unexpected) == {
        "OUT": "recorded as out to B-1: record its return",
        "AWAY": "recorded as away at Northside: record that it is back",
        "SOLD": "recorded as sold",
        "LOST": "recorded as lost",
        "HOME": "a customer's, with no work recorded: open a job for it",
        "S1": "recorded as out to B-3: record its return",
        "S2": "recorded as out to B-3: record its return",
    }
    assert not counted.complete


@pytest.mark.parametrize(
    ("place", "found", "complete"),
    [("", ["A", "B", "C", "JOB"], True), ("rack 1", ["A"], True), ("rack 1", ["A", "B"], False)],
)
def test_a_count_may_be_of_one_place(place: str, found: list[str], complete: bool) -> None:
    assert count_of(room(), found, place).complete is complete
