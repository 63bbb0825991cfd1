"""Due dates: end of month, strictest row, what moves a date and what does not."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.checks import check
from tankbook.rules.schedule import due, due_of_cylinder, holds_on

REQUALIFICATION, VISUAL, EDDY = (
    Obligation.REQUALIFICATION,
    Obligation.VISUAL,
    Obligation.EDDY_CURRENT,
)


def stamps(*entries: str) -> str:
    """`requalified:` from `2024-03 T123` (hydrostatic) or `2024-03 T123, more: keys`."""
    rows = []
    for entry in entries:
        head, _, more = entry.partition(", ")
        on, by = head.split()
        method = "" if "method:" in more else "method: hydrostatic, "
        rows.append(f"{{on: {on}, {method}by: {by}{', ' + more if more else ''}}}")
    return f"[{', '.join(rows)}]"


def only(book: Book, question: Obligation, today: dt.date = TODAY) -> Due:
    (item,) = [
        d for d in due_of_cylinder(book, book.cylinders["A"], today) if d.obligation is question
    ]
    return item


def one(rules: str = "us-dot", **changes: str | None) -> Book:
    settings = SETTINGS.replace("[us-dot]", f"[{rules}]")
    return make_book({"A": with_lines(GOOD, **changes)}, settings=settings)


# 49 CFR 180.205(c), read (2015 edition): up to and including the month due; end of month inferred
@pytest.mark.parametrize(
    ("today", "state", "left"),
    [
        (dt.date(2029, 2, 27), State.OK, 32),
        (dt.date(2029, 3, 1), State.SOON, 30),
        (dt.date(2029, 3, 31), State.SOON, 0),
        (dt.date(2029, 4, 1), State.OVERDUE, -1),
    ],
)
def test_a_stamped_test_holds_to_the_end_of_its_month(
    today: dt.date, state: State, left: int
) -> None:
    item = only(one(), REQUALIFICATION, today)
    assert (item.next, item.state, item.days_left) == (dt.date(2029, 3, 31), state, left)


# 49 CFR 180.209(a) Table 1, read in older copies: 5 years for 3A, 3AA, 3AL; 3 years for 3HT
@pytest.mark.parametrize(
    ("specification", "next_due"),
    [
        ("[DOT-3AL]", dt.date(2029, 3, 31)),
        ("[DOT-3AA]", dt.date(2029, 3, 31)),
        ("[DOT-3A]", dt.date(2029, 3, 31)),
        ("[DOT-3HT]", dt.date(2027, 3, 31)),
    ],
)
def test_periods_of_us_specifications(specification: str, next_due: dt.date) -> None:
    assert only(one(specification=specification), REQUALIFICATION).next == next_due


def test_a_star_lengthens_nothing() -> None:
    """180.209(b): ten years is not for underwater breathing (memory), so five years stand."""
    starred = stamps("2024-03 T123, star: yes")
    book = one(specification="[DOT-3AA]", material="steel", alloy=None, requalified=starred)
    assert only(book, REQUALIFICATION).next == dt.date(2029, 3, 31)


def test_a_late_visual_does_not_move_the_hydro_date() -> None:
    """UK: a visual at year 4 gives one year only (BSAC 2017, read)."""
    late = "[{on: 2028-03-05, by: MV, checklist: annual, result: pass}]"
    plain, visual = one("uk"), one("uk", inspected=late)
    assert only(plain, REQUALIFICATION).next == only(visual, REQUALIFICATION).next


def test_a_hydro_includes_a_visual() -> None:
    """49 CFR 180.205(f), read: inside and outside are inspected whenever it is pressure tested."""
    tested = stamps("2024-03 maker", "2026-06 T123")
    assert (
        only(one(requalified=tested), VISUAL).last
        == only(one(requalified=tested), REQUALIFICATION).last
    )


@pytest.mark.parametrize(("alloy", "asked"), [("6351", True), ("6351-T6", True), ("6061", False)])
def test_eddy_current_is_asked_of_6351_and_never_of_6061(alloy: str, asked: bool) -> None:
    """49 CFR 180.205(f)(4), read (2015 edition)."""
    book = one(alloy=alloy)
    questions = {d.obligation for d in due_of_cylinder(book, book.cylinders["A"], TODAY)}
    assert (EDDY in questions) is asked


def test_eddy_current_missing_then_met() -> None:
    assert only(one(alloy="6351"), EDDY).state is State.MISSING
    both = stamps("2024-03 T123", "2024-03 T123, method: eddy-current")
    assert only(one(alloy="6351", requalified=both, made="1985-04"), EDDY).next == dt.date(
        2029, 3, 31
    )


def test_a_permit_cylinder_takes_its_period_from_the_record() -> None:
    spec = {"specification": "[DOT-SP 99001]", "material": "composite", "alloy": None}
    assert only(one(**spec), REQUALIFICATION).why == "its permit's period is not recorded"
    permit = "{number: DOT-SP 99001, period: 3 years, test_pressure: 7500 psi, life_ends: 2031-04}"
    assert only(one(**spec, permit=permit), REQUALIFICATION).next == dt.date(2027, 3, 31)
    assert only(one(**spec, permit=permit), Obligation.SERVICE_LIFE).next == dt.date(2031, 4, 30)


def test_a_failed_test_is_no_test() -> None:
    failed = stamps("2024-03 maker", "2026-08 T123, result: fail")
    item = only(one(requalified=failed), REQUALIFICATION)
    assert (item.state, str(item.last)) == (State.OVERDUE, "2026-08")


GERMAN = {
    "specification": "[EN 1964-1]",
    "material": "steel",
    "alloy": None,
    "service_pressure": "232 bar",
    "test_pressure": "348 bar",
}


def test_german_stamps_mean_nothing_until_the_record_says_what() -> None:
    stamped = stamps("2020-05 maker", "2027-05 ZUS")
    unread = one("de", **GERMAN, requalified=stamped)
    assert only(unread, REQUALIFICATION).state is State.MISSING
    due_date = one("de", **GERMAN, requalified=stamped, stamp_means="next-due")
    assert only(due_date, REQUALIFICATION).next == dt.date(2027, 5, 31)


def test_strikes_are_not_seen() -> None:
    void = stamps("2024-03 maker", "2026-01 T1, void: {why: wrong card, by: MV, on: 2026-01-09}")
    assert only(one(requalified=void), REQUALIFICATION).next == dt.date(2029, 3, 31)


def test_unknown_specification_is_a_stated_gap() -> None:
    item = only(one(specification="[XYZ-9]"), REQUALIFICATION)
    assert (item.state, item.rule) == (State.MISSING, "")
    assert "no rule row in force" in item.why


def test_closed_cylinders_owe_nothing() -> None:
    book = one(status="condemned", condemned="[{on: 2026-01-05, by: T123, why: expansion 12 %}]")
    assert not [d for d in due(book, TODAY) if d.kind is DueKind.CYLINDER]


MONTHS = st.integers(2021 * 12, 2026 * 12 + 9)


@given(st.lists(MONTHS, min_size=1, max_size=6), MONTHS)
def test_a_later_passing_test_never_moves_a_due_date_earlier(
    earlier: list[int], later: int
) -> None:
    def next_due(months: list[int]) -> dt.date | None:
        stamped = stamps(*(f"{m // 12:04}-{m % 12 + 1:02} T1" for m in months))
        return only(one(requalified=stamped, made="2020-01"), REQUALIFICATION).next

    before, after = next_due(earlier), next_due([*earlier, later])
    assert before is not None
    assert after is not None
    assert after >= before


STATION_PARTS = """
air_tests:
  - {on: 2026-10-12, standard: cga-grade-e, result: pass}
compressor: {name: C1, hours: [{on: 2026-11-20, reads: 412 h}]}
filters:
  - {name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 370 h}]}
  - {name: F2, life: 40 h, changed: [{on: 2026-09-01, at: 370 h}]}
gauges: [{name: G1, master: yes}]
whips: [{name: W1, fitted: 2024-05}]
"""


def test_station_parts() -> None:
    items = {(d.obligation, d.part): d for d in due(make_book(station=STATION_PARTS), TODAY)}
    assert items[Obligation.AIR_TEST, "air"].next == dt.date(2027, 4, 12)
    assert str(items[Obligation.FILTER, "F1"].hours_left) == "8 h"
    assert items[Obligation.FILTER, "F2"].state is State.OVERDUE
    assert items[Obligation.GAUGE_CHECK, "G1"].state is State.MISSING
    assert items[Obligation.WHIP_CHECK, "W1"].state is State.OVERDUE


def test_a_certification_that_ends() -> None:
    settings = SETTINGS.replace("from: 2020-01", "from: 2020-01, until: 2026-12-10")
    (person,) = [
        d
        for d in due(make_book(settings=settings, station=None), TODAY)
        if d.kind is DueKind.PERSON
    ]
    assert (person.id, person.state, person.days_left) == ("MV", State.SOON, 15)


def test_doubles_are_as_due_as_their_worse_side() -> None:
    lapsed = with_lines(GOOD, serial="K2", requalified=stamps("2021-09 maker"))
    book = make_book({"A": GOOD, "B": lapsed}, sets={"D": "cylinders: [A, B]"}, station=STATION)
    (doubles,) = [d for d in due(book, TODAY) if d.kind is DueKind.SET]
    assert (doubles.id, doubles.part, doubles.state) == ("D", "B", State.OVERDUE)


def test_first_things_first() -> None:
    lapsed = with_lines(GOOD, serial="K2", requalified=stamps("2021-09 maker"))
    items = due(make_book({"A": GOOD, "B": lapsed}), TODAY)
    assert items[0].id == "B"
    order = [State.OVERDUE, State.MISSING, State.SOON, State.OK]
    assert [order.index(d.state) for d in items] == sorted(order.index(d.state) for d in items)


def test_what_held_on_a_past_day() -> None:
    book = one(requalified=stamps("2018-05 maker", "2024-03 T1"))
    days = [dt.date(2023, 5, 31), dt.date(2023, 6, 1), dt.date(2024, 3, 1)]
    assert [holds_on(book, book.cylinders["A"], REQUALIFICATION, d) for d in days] == [
        True,
        False,
        True,
    ]


def test_a_stamp_that_says_a_due_date_is_no_entry_of_the_future() -> None:
    stamped = stamps("2020-05 maker", "2027-05 ZUS, tested: 2025-05")
    book = one("de", **GERMAN, requalified=stamped, stamp_means="next-due")
    assert not [f for f in check(book, TODAY) if f.code == "in-the-future"]
    assert only(book.as_known_on(TODAY), REQUALIFICATION).next == dt.date(2027, 5, 31)
    before = dt.date(2025, 4, 30)
    assert only(book.as_known_on(before), REQUALIFICATION, before).next == dt.date(2025, 5, 31)
