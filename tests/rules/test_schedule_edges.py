"""What is due, on either side of a line: the last day and the day after, one clause at a time.

The cylinders, people and dates are invented; the periods are those of the shipped rows.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines
from changing import replace

from tankbook.records.book import Book
from tankbook.records.rulerow import AppliesTo, Obligation, RuleRow
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import (
    bench_of,
    binds_on,
    due,
    due_of_cylinder,
    due_of_station,
    holds_on,
    lacking_by_law,
    lasts_until,
    meter_unread,
)
from tankbook.units import Period

REQUALIFICATION, VISUAL, EDDY, LIFE, PERMIT = (
    Obligation.REQUALIFICATION,
    Obligation.VISUAL,
    Obligation.EDDY_CURRENT,
    Obligation.SERVICE_LIFE,
    Obligation.PERMIT,
)
VOID = "void: {why: wrong card, by: MV, on: 2026-09-09}"


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def stamps(*entries: str) -> str:
    """`requalified:` from `2024-03 T1` (hydrostatic, passed) or `2024-03 T1, more: keys`."""
    rows = []
    for entry in entries:
        head, _, more = entry.partition(", ")
        on, by = head.split()
        method = "" if "method:" in more else "method: hydrostatic, "
        rows.append(f"{{on: {on}, {method}by: {by}{', ' + more if more else ''}}}")
    return f"[{', '.join(rows)}]"


def one(rules: str = "us-dot", own_rules: str = "", **changes: str | None) -> Book:
    settings = SETTINGS.replace("[us-dot]", f"[{rules}]")
    return make_book({"A": with_lines(GOOD, **changes)}, settings=settings, own_rules=own_rules)


def items(book: Book, question: Obligation, today: dt.date = TODAY, id_: str = "A") -> list[Due]:
    found = due_of_cylinder(book, book.cylinders[id_], today)
    return [d for d in found if d.obligation is question]


def only(book: Book, question: Obligation, today: dt.date = TODAY) -> Due:
    (item,) = items(book, question, today)
    return item


def without(book: Book, *gone: str) -> Book:
    """The book with rows of its rule sets taken away."""
    sets = tuple(
        replace(s, rows=tuple(r for r in s.rows if r.id not in gone)) for s in book.rule_sets
    )
    return replace(book, rule_sets=sets)


def own(row: str) -> str:
    tail = "citation: shop, verified: memory"
    return f"heading: Shop rules\nrows:\n  - {{id: shop.more, {row}, {tail}}}\n"


# --- a failed test -------------------------------------------------------------------------------
CRACKABLE = {"alloy": "6351", "made": "1985-04"}
SOUND = ("1985-04 maker", "2024-03 T1", "2024-03 T1, method: eddy-current")


@pytest.mark.parametrize(
    ("method", "fails"),
    [
        ("hydrostatic", {REQUALIFICATION, VISUAL}),  # it looks inside and outside as well
        ("visual", {VISUAL}),
        ("eddy-current", {EDDY}),
    ],
)
def test_what_a_failed_test_tells_against(method: str, fails: set[Obligation]) -> None:
    failed = stamps(*SOUND, f"2026-08 T1, method: {method}, result: fail")
    book = one(**CRACKABLE, requalified=failed)
    found = {q for q in (REQUALIFICATION, VISUAL, EDDY) if only(book, q).state is State.OVERDUE}
    assert found == fails
    for question in fails:  # since the first day that the month can mean
        item = only(book, question)
        assert (item.next, item.days_left, str(item.last)) == (day("2026-08-01"), -116, "2026-08")
        visual = question is VISUAL and method != "visual"
        called = f"{method} test" if visual else question.called
        assert item.why == f"failed its {called} 2026-08"


def test_what_failed_is_named_by_the_obligation_or_else_by_its_method() -> None:
    for method, what in (("hydrostatic", "hydro"), ("acoustic-emission", "acoustic-emission test")):
        failed = f"2026-08 T1, method: {method}, result: fail"
        book = one(requalified=stamps("2024-03 maker", failed))
        assert only(book, REQUALIFICATION).why == f"failed its {what} 2026-08"


def test_of_a_month_and_a_day_in_it_the_month_may_be_the_later() -> None:
    for failed in (("2026-08-10", "2026-08"), ("2026-08", "2026-08-10")):
        entries = stamps("2024-03 maker", *(f"{on} T1, result: fail" for on in failed))
        assert str(only(one(requalified=entries), REQUALIFICATION).last) == "2026-08"


# Only what is certain to have come later answers a bank's failure, which nothing names.
FAILURES = [
    (["2026-08"], "2026-08", True),
    (["2026-08-10"], "2026-08", True),
    (["2026-08"], "2026-08-31", True),
    (["2026-08-10"], "2026-08-10", True),
    (["2026-08-10"], "2026-08-11", False),
    (["2026-08"], "2026-09", False),
    (["2026-08"], "2026-09-01", False),
    (["2025-03", "2026-08"], "2026-01", True),
    (["2026-08", "2025-03"], "2026-01", True),
    (["2026-08", "2026-08-10"], "2026-08-15", True),
    (["2025-03"], "2026-01", False),
]


@pytest.mark.parametrize(
    ("failed", "passed", "stands"),
    [
        (["2026-08"], "2026-08", False),  # repeated that day or month, and it says so
        (["2026-08-10"], "2026-08", False),
        (["2026-08-10"], "2026-08-10", False),
        (["2026-08-10"], "2026-08-11", False),
        (["2026-08-10"], "2026-08-09", True),
        (["2026-08"], "2026-07-31", True),
        (["2025-03", "2026-08"], "2026-01", True),
        (["2026-08", "2025-03"], "2026-01", True),
        (["2025-03"], "2026-01", False),
    ],
)
def test_a_failure_stands_until_a_test_that_came_after_it(
    failed: list[str], passed: str, stands: bool
) -> None:
    answers = ", ".join(f"requalified {f}" for f in failed)
    retest = f"{passed} T1, clears: [{answers}]"
    entries = stamps("2024-03 maker", *(f"{f} T1, result: fail" for f in failed), retest)
    assert (only(one(requalified=entries), REQUALIFICATION).state is State.OVERDUE) is stands


@pytest.mark.parametrize(("failed", "passed", "stands"), FAILURES)
def test_so_does_a_banks(failed: list[str], passed: str, stands: bool) -> None:
    entries = stamps(*(f"{f} T1, result: fail" for f in failed), f"{passed} T1")
    item = bank(f"period: 5 years, requalified: {entries}")
    assert (item.state is State.OVERDUE) is stands
    assert bool(item.why) is stands


def test_of_a_banks_passes_one_has_to_be_later_than_its_failure() -> None:
    entries = stamps("2019-03 T1", "2024-01 T1, result: fail", "2024-03 T1")
    item = bank(f"period: 5 years, requalified: {entries}")
    assert (item.state, item.next) == (State.OK, day("2029-03-31"))


def test_a_failure_struck_out_is_none() -> None:
    entries = stamps("2024-03 maker", f"2026-08 T1, result: fail, {VOID}")
    assert only(one(requalified=entries), REQUALIFICATION).state is State.OK


def test_several_passes_after_a_failure_need_not_all_be_later() -> None:
    entries = stamps("2019-03 T1", "2024-01 T1, result: fail", "2024-03 T1, clears: [requalified 2024-01]")  # fmt: skip
    assert only(one(requalified=entries), REQUALIFICATION).next == day("2029-03-31")


# --- eddy current and its hydro ------------------------------------------------------------------
# 62 days between two tests of one visit: common practice, no source; so the code says. Five years
# and the end of the month: us.eddy-current.6351.


@pytest.mark.parametrize(
    ("hydro", "eddies", "together"),
    [
        ("2024-03-10", ["2024-01-08"], True),  # 62 days
        ("2024-03-10", ["2024-01-07"], False),
        ("2024-03", ["2023-12"], True),  # it can have been the last of December
        ("2024-03", ["2023-11"], False),
        ("2024-03", ["2024-09"], True),  # tested after it
        ("2024-03", ["2022-01", "2024-03"], True),
        ("2024-03", ["2022-01", "2022-06"], False),
    ],
)
def test_an_eddy_current_test_goes_with_the_last_hydro(
    hydro: str, eddies: list[str], together: bool
) -> None:
    entries = [f"{e} T1, method: eddy-current" for e in eddies]
    book = one(**CRACKABLE, requalified=stamps("1985-04 maker", f"{hydro} T1", *entries))
    item = only(book, EDDY)
    assert item.state is (State.OK if together else State.MISSING)
    assert bool(item.why) is not together


@pytest.mark.parametrize(
    ("today", "state"), [("2026-11-30", State.MISSING), ("2026-12-01", State.OVERDUE)]
)
def test_one_still_in_date_is_not_enough_and_one_that_lapsed_is_overdue(
    today: str, state: State
) -> None:
    entries = stamps("1985-04 maker", "2021-11 T1, method: eddy-current", "2024-03 T1")
    assert only(one(**CRACKABLE, requalified=entries), EDDY, day(today)).state is state


def test_one_never_tested_since_it_was_made_wants_no_hydro_beside_it() -> None:
    entries = stamps("2021-12 maker", "2022-09 T1, method: eddy-current")
    assert only(one(alloy="6351", requalified=entries), EDDY).state is State.OK


# --- what meets a visual -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("look", "state"),
    [
        ("by: MV, checklist: annual, result: pass", State.OK),
        ("by: MV, checklist: annual, result: hold", State.MISSING),
        ("by: MV, checklist: pre-fill, result: pass", State.MISSING),  # it looks at the outside
        ("by: MV, checklist: internal, result: pass", State.MISSING),  # inside, and not all of it
        ("by: XX, checklist: annual, result: pass", State.MISSING),  # nobody certified
        (f"by: MV, checklist: annual, result: pass, {VOID}", State.MISSING),
    ],
)
def test_only_a_full_look_that_passed_is_signed_and_stands_meets_it(
    look: str, state: State
) -> None:
    book = one(inspected=f"[{{on: 2026-02-09, {look}}}]")
    item = only(book, VISUAL)
    assert item.state is state
    assert bool(item.why) is (state is State.MISSING)


# --- what no row answers -------------------------------------------------------------------------
NO_NUMBER = "{period: 5 years, test_pressure: 5000 psi, life_ends: none}"


@pytest.mark.parametrize(
    ("specification", "states"),
    [
        ("[DOT-3AL]", [State.OK, State.MISSING]),
        ("[TC-3ALM, DOT-3AL]", [State.OK, State.MISSING]),
        ("[UN ISO 7866]", [State.OK]),  # 180.207(c) gives UN receptacles their periods by table
        ("[EN ISO 7866, UN ISO 7866]", [State.OK]),
    ],
)
def test_some_row_holds_a_permit_cylinder_to_its_permit(
    specification: str, states: list[State]
) -> None:
    book = one(specification=specification, permit=NO_NUMBER)
    assert [d.state for d in items(book, REQUALIFICATION)] == states
    assert all(d.why for d in items(book, REQUALIFICATION) if d.state is State.MISSING)
    assert [d.state for d in items(book, VISUAL)] == [State.OK]


@pytest.mark.parametrize(("alloy", "asked"), [("6351", True), ("6061", False)])
def test_a_set_that_says_nothing_of_6351_leaves_a_gap(alloy: str, asked: bool) -> None:
    states = [d.state for d in items(one("de", alloy=alloy), EDDY)]
    assert states == ([State.MISSING] if asked else [])


SPECIAL = {"specification": "[DOT-SP 99001]", "material": "composite", "alloy": None}
PAPERS = "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi%s}"
LIVES = ", life_ends: none"
RENEWED = f"{LIVES}, renewed_until: 2028-08, paper: letter of 2023"


@pytest.mark.parametrize(("more", "missing"), [(LIVES, False), (RENEWED, True)])
def test_a_renewal_that_no_row_dates_is_a_gap(more: str, missing: bool) -> None:
    book = without(one(**SPECIAL, permit=PAPERS % more), "bench.permit.renewal")
    assert [d.state for d in items(book, PERMIT)] == [State.MISSING] * missing


def test_a_permits_period_that_no_row_bounds_is_in_doubt() -> None:
    book = one(**SPECIAL, permit=PAPERS % LIVES)
    assert only(book, REQUALIFICATION).state is State.OK
    item = only(without(book, "bench.permit.period-too-long"), REQUALIFICATION)
    assert (item.state, item.row, bool(item.why)) == (State.MISSING, None, True)


def test_where_nothing_answers_nothing_held_or_lapsed() -> None:
    book = one()
    card = book.cylinders["A"]
    assert holds_on(book, card, EDDY, TODAY) is None
    assert not binds_on(book, card, EDDY, TODAY)
    warns = own(
        "obligation: eddy-current, period: 1 year, met_by: [eddy-current], "
        "gate: warn, basis: practice"
    )
    book = one(own_rules=warns)
    assert holds_on(book, book.cylinders["A"], EDDY, TODAY) is None


# --- the end of a life ---------------------------------------------------------------------------
AIRCRAFT = {"specification": "[DOT-3HT]", "material": "steel", "alloy": None}


@pytest.mark.parametrize(
    ("today", "state", "left"),
    [
        ("2026-10-30", State.OK, 31),
        ("2026-10-31", State.SOON, 30),
        ("2026-11-30", State.SOON, 0),
        ("2026-12-01", State.OVERDUE, -1),
    ],
)
def test_a_life_of_24_years_ends_with_its_month(today: str, state: State, left: int) -> None:
    """49 CFR 180.205(i)(1)(v), read (2015 edition)."""
    book = one(**AIRCRAFT, made="2002-11", requalified=stamps("2025-03 T1"))
    item = only(book, LIFE, day(today))
    assert (item.state, item.days_left, item.next) == (state, left, day("2026-11-30"))


def test_a_life_is_unknown_where_the_making_is() -> None:
    item = only(one(**AIRCRAFT, requalified=stamps("2025-03 T1")), LIFE)
    assert (item.state, item.next, bool(item.why)) == (State.MISSING, None, True)


@pytest.mark.parametrize(
    ("ends", "states"),
    [
        ("", [State.MISSING]),
        (", life_ends: none", []),
        (", life_ends: 2026-11", [State.SOON]),
        (", life_ends: 2026-11-24", [State.OVERDUE]),
        (", life_ends: 2026-11-25", [State.SOON]),
    ],
)
def test_a_permit_says_when_its_life_ends(ends: str, states: list[State]) -> None:
    found = items(one(**SPECIAL, permit=PAPERS % ends), LIFE)
    assert [d.state for d in found] == states
    assert all(bool(d.why) is (d.state is State.MISSING) for d in found)


# --- stamps that say when the next test is due ---------------------------------------------------
# de.requalification: 60 months, de.visual: 30 months, both by the stamp; uk.requalification: 5
# years from the last test. All to the end of the month.
GERMAN = {
    "specification": "[EN 1964-1]",
    "material": "steel",
    "alloy": None,
    "service_pressure": "232 bar",
    "test_pressure": "348 bar",
}


@pytest.mark.parametrize(
    ("entries", "means", "next_due"),
    [
        (["2024-03 maker"], None, "2029-03-31"),  # the maker's is no retest stamp
        (["2024-03 maker", f"2026-05 T1, {VOID}"], None, "2029-03-31"),
        (["2024-03 maker", "2026-05 T1"], None, None),
        (["2026-05 T1"], None, None),
        (["2024-03 maker", "2026-05 T1"], "test-date", "2031-05-31"),
        (["2024-03 maker", "2031-05 T1"], "next-due", "2031-05-31"),
        (["2024-03 maker"], "next-due", "2029-03-31"),  # it says when it was made
    ],
)
def test_a_stamp_means_what_the_record_says(
    entries: list[str], means: str | None, next_due: str | None
) -> None:
    book = one("de", **GERMAN, requalified=stamps(*entries), stamp_means=means)
    item = only(book, REQUALIFICATION)
    assert item.next == (day(next_due) if next_due else None)
    assert bool(item.why) is (next_due is None)


def test_what_a_stamp_means_is_asked_with_the_command_that_says_it() -> None:
    book = one("de", **GERMAN, requalified=stamps("2024-03 maker", "2026-05 T1"))
    asked = {r.code: r.mend for r in may_fill(book, "A", TODAY, station=False).refusals}
    mend = "`tankbook book-in --complete A --set stamp_means=test-date`, or `next-due`"
    assert {code for code, said in asked.items() if mend in said} >= {
        "requalification-missing",
        "visual-missing",
    }
    assert not any("have it tested" in said for said in asked.values())


@pytest.mark.parametrize(
    ("stamp", "next_due"),
    [
        ("2031-11", "2031-11-30"),  # of this month, and 60 months
        ("2031-11-01", "2031-11-30"),
        ("2031-11-30", "2031-11-30"),
        ("2031-12", "2025-05-31"),
        ("2031-12-01", "2025-05-31"),
    ],
)
def test_no_stamp_lies_further_ahead_than_a_test_of_this_month(stamp: str, next_due: str) -> None:
    entries = stamps("2020-05 maker", f"{stamp} T1")
    book = one("de", **GERMAN, requalified=entries, stamp_means="next-due")
    assert only(book, REQUALIFICATION).next == day(next_due)


@pytest.mark.parametrize(
    ("stamp", "question", "next_due"),
    [
        ("2027-05 T1, tested: 2025-05", REQUALIFICATION, "2027-05-31"),  # as stamped
        ("2029-05 T1, tested: 2024-05", REQUALIFICATION, "2029-05-31"),
        ("2029-05 T1, tested: 2024-05", VISUAL, "2026-11-30"),  # 30 months after it was done
        ("2031-05 T1, tested: 2025-05", REQUALIFICATION, "2030-05-31"),
    ],
)
def test_where_it_was_done_is_known_its_period_counts_too(
    stamp: str, question: Obligation, next_due: str
) -> None:
    entries = stamps("2020-05 maker", stamp)
    book = one("de", **GERMAN, requalified=entries, stamp_means="next-due")
    assert only(book, question).next == day(next_due)


@pytest.mark.parametrize(
    ("stamp", "next_due"),
    [
        ("2028-05 T1", "2022-11-30"),  # of the hydro: the first test and 30 months
        ("2025-05 T1, method: visual", "2025-05-31"),
    ],
)
def test_the_stamp_of_a_hydro_is_no_due_date_of_a_look(stamp: str, next_due: str) -> None:
    entries = stamps("2020-05 maker", stamp)
    book = one("de", **GERMAN, requalified=entries, stamp_means="next-due")
    assert only(book, VISUAL).next == day(next_due)


@pytest.mark.parametrize("today", ["2027-01-15", "2027-05-15", "2028-01-15"])
@pytest.mark.parametrize(
    ("stamp", "next_due"),
    [
        ("2027-05 T1", "2025-05-31"),  # the maker's and five years: nobody knows when it was tested
        ("2027-05 T1, tested: 2025-06", "2027-05-31"),  # no longer than the stamp says
        ("2031-05 T1, tested: 2025-06", "2030-06-30"),
    ],
)
def test_a_row_that_goes_by_the_last_test_takes_no_due_date_for_one(
    stamp: str, next_due: str, today: str
) -> None:
    entries = stamps("2020-05 maker", stamp)
    book = one("uk", **GERMAN, requalified=entries, stamp_means="next-due")
    assert only(book, REQUALIFICATION, day(today)).next == day(next_due)


@pytest.mark.parametrize(
    ("stamp", "asked", "held"),
    [
        ("2027-05 T1", "2022-04-30", False),  # 60 months after this month is April
        ("2027-05 T1", "2022-05-01", True),
        ("2027-05 T1", "2027-05-31", True),
        ("2027-05 T1", "2027-06-01", False),
        ("2027-05 T1, tested: 2025-05-10", "2025-05-09", False),
        ("2027-05 T1, tested: 2025-05-10", "2025-05-10", True),
    ],
)
def test_whether_it_held_on_a_past_day(stamp: str, asked: str, held: bool) -> None:
    entries = stamps("2015-05 maker", stamp)
    book = one("de", **GERMAN, requalified=entries, stamp_means="next-due")
    card = book.cylinders["A"]
    assert holds_on(book, card, REQUALIFICATION, day(asked)) is held
    assert binds_on(book, card, REQUALIFICATION, day(asked)) is not held  # law: nobody lifts it


@pytest.mark.parametrize(
    ("stamp", "state"),
    [
        ("2031-04 T1, tested: 2026-04", State.OK),
        ("2031-03 T1, tested: 2026-03", State.OK),  # repeated that month
        ("2031-02 T1, tested: 2026-02", State.OVERDUE),
        ("2031-04 T1", State.OVERDUE),  # it may have been tested before it failed
    ],
)
def test_a_due_date_answers_no_failure(stamp: str, state: State) -> None:
    retest = f"{stamp}, clears: [requalified 2026-03]"
    entries = stamps("2022-05 maker", "2026-03 T1, result: fail", retest)
    book = one("de", **GERMAN, requalified=entries, stamp_means="next-due")
    assert only(book, REQUALIFICATION).state is state


@pytest.mark.parametrize(
    ("hydro", "state"), [("2030-05 T1, tested: 2025-05", State.OK), ("2030-05 T1", State.MISSING)]
)
def test_an_eddy_current_test_goes_with_a_hydro_whose_day_is_known(
    hydro: str, state: State
) -> None:
    eddy = "2030-05 T1, method: eddy-current, tested: 2025-05"
    changes = {"alloy": "6351", "stamp_means": "next-due", "specification": "[EN ISO 7866]"}
    book = one("uk", **changes, requalified=stamps("1990-05 maker", hydro, eddy))
    assert only(book, EDDY).state is state


# --- on past days --------------------------------------------------------------------------------


def test_a_failed_test_met_nothing() -> None:
    book = one(requalified=stamps("2018-05 maker", "2023-04 T1, result: fail"))
    card = book.cylinders["A"]
    held = [holds_on(book, card, REQUALIFICATION, day(d)) for d in ("2023-05-31", "2023-06-01")]
    assert held == [True, False]


# us.requalification.un: 10 years, law; beside it 5 years, practice
@pytest.mark.parametrize(
    ("asked", "held", "bound"),
    [
        ("2018-03-01", True, False),
        ("2018-02-28", False, True),
        ("2023-03-31", True, False),
        ("2023-04-01", False, False),  # practice lapsed, which somebody may override
        ("2028-03-31", False, False),
        ("2028-04-01", False, True),
    ],
)
def test_law_binds_after_practice_lapsed(asked: str, held: bool, bound: bool) -> None:
    book = one(specification="[UN ISO 7866]", requalified=stamps("2018-03 maker"))
    card = book.cylinders["A"]
    assert holds_on(book, card, REQUALIFICATION, day(asked)) is held
    assert binds_on(book, card, REQUALIFICATION, day(asked)) is bound


def test_a_row_that_only_warns_neither_binds_nor_lapses() -> None:
    row = (
        "obligation: requalification, period: 1 day, met_by: [hydrostatic], gate: warn, basis: law"
    )
    book = one(own_rules=own(row))
    card = book.cylinders["A"]
    assert only(book, REQUALIFICATION).rule == "shop.more"
    assert holds_on(book, card, REQUALIFICATION, TODAY) is True
    assert not binds_on(book, card, REQUALIFICATION, TODAY)


def test_what_was_asked_of_one_cylinder_answers_for_no_other() -> None:
    lapsed = with_lines(GOOD, serial="K2", requalified=stamps("2018-05 maker"))
    book = make_book({"A": GOOD, "B": lapsed})
    for _ in range(2):
        held = [holds_on(book, c, REQUALIFICATION, TODAY) for c in book.cylinders.values()]
        assert held == [True, False]
        assert holds_on(book, book.cylinders["B"], VISUAL, TODAY)


def test_a_permit_without_a_period_held_nothing() -> None:
    book = one(**SPECIAL, permit="{number: DOT-SP 99001, life_ends: none}")
    card = book.cylinders["A"]
    assert holds_on(book, card, REQUALIFICATION, TODAY) is False
    assert binds_on(book, card, REQUALIFICATION, TODAY)


def test_how_long_a_look_of_today_will_last() -> None:
    """us.visual: 12 months to the day; us.requalification.3al: to the end of the month."""
    book = one()
    card = book.cylinders["A"]
    rows = {d.obligation: d.row for d in due_of_cylinder(book, card, TODAY)}
    visual, hydro = rows[VISUAL], rows[REQUALIFICATION]
    assert visual is not None
    assert hydro is not None
    assert lasts_until(visual, Period.parse("12 months"), TODAY) == day("2027-11-25")
    assert lasts_until(hydro, Period.parse("5 years"), TODAY) == day("2031-11-30")


# --- several rows --------------------------------------------------------------------------------


def test_a_row_that_warns_of_nothing_on_record_has_no_day_to_tell() -> None:
    row = "obligation: visual, period: 1 year, met_by: [inspection], gate: warn, basis: practice"
    iso = {"specification": "[EN ISO 7866]", "service_pressure": "232 bar", "inspected": None}
    item = only(one("uk", own(row), **iso), VISUAL, day("2025-01-10"))
    assert (item.rule, item.state, item.next) == ("shop.more", State.MISSING, None)


def test_a_row_that_warns_of_a_failure_says_so() -> None:
    row = "obligation: visual, period: 5 years, met_by: [eddy-current], gate: warn, basis: practice"
    entries = stamps("2024-03 maker", "2026-03 T1, method: eddy-current, result: fail")
    item = only(one(own_rules=own(row), requalified=entries), VISUAL)
    assert (item.rule, item.state) == ("shop.more", State.OVERDUE)
    assert "2026-03" in item.why
    assert "lapsed" not in item.why


# --- how soon is soon, and what comes first ------------------------------------------------------


@pytest.mark.parametrize(("today", "state"), [("2029-01-29", State.OK), ("2029-01-30", State.SOON)])
def test_the_settings_say_how_soon_is_soon(today: str, state: State) -> None:
    book = make_book({"A": GOOD}, settings=f"{SETTINGS}soon: 60 days\n")
    item = only(book, REQUALIFICATION, day(today))
    assert (item.next, item.state) == (day("2029-03-31"), state)


FILTERS = """
air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass}]
compressor: {name: C1, hours: [{on: 2026-11-20, reads: 412 h}]}
filters: [{name: F1, life: %s, changed: [{on: 2026-09-01, at: 370 h}]}]
"""


def order(*names: str, station: str | None = STATION, settings: str = SETTINGS, **cards: str) -> list[str]:  # fmt: skip
    """Of these ids, in what order they come due; only what is not simply in order."""
    full = {n: with_lines(c, serial=f"K{n}") for n, c in cards.items()}
    found = due(make_book(full, station=station, settings=settings), TODAY)
    return [d.id for d in found if d.id in names and (d.state is not State.OK or not d.next)]


def test_what_ran_out_comes_before_what_is_missing() -> None:
    """A filter that is over has hours and no days."""
    card = with_lines(GOOD, inspected=None)
    assert order("A", "station", station=FILTERS % "40 h", A=card) == ["station", "A"]


def test_what_is_missing_comes_before_what_ends_today() -> None:
    ends = with_lines(GOOD, inspected="[{on: 2025-11-25, by: MV, checklist: annual, result: pass}]")
    assert order("A", "B", A=ends, B=with_lines(GOOD, inspected=None)) == ["B", "A"]


def test_what_ends_soon_comes_before_what_never_does() -> None:
    ends = with_lines(GOOD, inspected="[{on: 2025-12-05, by: MV, checklist: annual, result: pass}]")
    assert order("MV", "Z", station=None, Z=ends) == ["Z", "MV"]


def test_what_has_no_days_left_to_count_comes_with_what_ends_today() -> None:
    ends = with_lines(GOOD, inspected="[{on: 2025-11-25, by: MV, checklist: annual, result: pass}]")
    later = ends.replace("2025-11-25", "2025-11-26")
    both = {"station": FILTERS % "43 h", "a": ends, "z": ends, "b": later}
    assert order("station", "a", "z", "b", **both) == ["a", "station", "z", "b"]


def test_what_was_worked_out_is_kept() -> None:
    """A board of many cylinders asks it again and again."""
    book = make_book({"A": GOOD, "B": with_lines(GOOD, serial="K2")})
    first = due_of_cylinder(book, book.cylinders["A"], TODAY)
    other = due_of_cylinder(book, book.cylinders["B"], TODAY)
    tomorrow = due_of_cylinder(book, book.cylinders["A"], day("2026-11-26"))
    assert due_of_cylinder(book, book.cylinders["A"], TODAY) is first
    assert {d.id for d in first} == {"A"}
    assert {d.id for d in other} == {"B"}
    assert [d.days_left for d in tomorrow] == [d.days_left - 1 for d in first if d.days_left]


# --- the station ---------------------------------------------------------------------------------


def at_station(text: str, question: Obligation, today: dt.date = TODAY, *gone: str, own_rules: str = "") -> Due:  # fmt: skip
    """The one obligation of a kind at a station."""
    book = without(make_book(station=text, own_rules=own_rules), *gone)
    assert book.station is not None
    (item,) = [d for d in due_of_station(book, book.station, today) if d.obligation is question]
    return item


def bank(keys: str, *gone: str, own_rules: str = "") -> Due:
    text = f"banks: [{{name: B1, water_volume: 50 L, {keys}}}]"
    return at_station(text, Obligation.BANK_TEST, TODAY, *gone, own_rules=own_rules)


@pytest.mark.parametrize(
    ("keys", "state"),
    [
        ("period: 5 years, requalified: [{on: 2021-12, method: hydrostatic, by: T}]", State.OK),
        ("period: 5 years, requalified: [{on: 2021-11, method: hydrostatic, by: T}]", State.SOON),
        ("period: 5 years, requalified: [{on: 2021-10, method: hydrostatic, by: T}]", State.OVERDUE),
        ("period: 5 years", State.MISSING),
        ("requalified: [{on: 2024-11, method: hydrostatic, by: T}]", State.MISSING),
    ],
)  # fmt: skip
def test_a_bank_is_tested_by_its_papers(keys: str, state: State) -> None:
    item = bank(keys)
    assert item.state is state
    assert bool(item.why) is (state is State.MISSING)


def test_the_failure_that_counts_is_the_newest() -> None:
    entries = stamps("2022-03 T", "2023-03 T, result: fail", "2024-03 T, result: fail")
    item = bank(f"period: 5 years, requalified: {entries}")
    assert (item.state, item.next) == (State.OVERDUE, day("2024-03-01"))
    assert item.days_left == (day("2024-03-01") - TODAY).days


@pytest.mark.parametrize(
    ("result", "tested"), [("pass", "2026-05-25"), ("pass", "2026-05-24"), ("fail", "2026-10-12")]
)
def test_air_holds_for_six_months_unless_it_failed(result: str, tested: str) -> None:
    """us.air-test."""
    text = f"air_tests: [{{on: {tested}, standard: cga-grade-e, result: {result}}}]"
    item = at_station(text, Obligation.AIR_TEST)
    states = {"2026-05-25": State.SOON, "2026-05-24": State.OVERDUE, "2026-10-12": State.OVERDUE}
    assert item.state is states[tested]
    assert item.failed is (result == "fail")
    assert ("failed" in item.why) is (result == "fail")


@pytest.mark.parametrize("days", [("2026-08-01", "2026-06-01"), ("2026-06-01", "2026-08-01")])
def test_the_air_test_that_lasts_longest_is_the_one_that_counts(days: tuple[str, str]) -> None:
    text = "compressor: {name: C1}\nbanks: [{name: B1, water_volume: 50 L}]\nair_tests:\n"
    for on, source in zip(days, ("C1", "B1"), strict=True):
        text += f"  - {{on: {on}, standard: cga-grade-e, result: pass, source: {source}}}\n"
    assert at_station(text, Obligation.AIR_TEST).next == day("2027-02-01")


@pytest.mark.parametrize(
    ("parts", "state"),
    [
        ("compressor: {name: C1}\nbanks: [%s]\n", State.MISSING),
        ("banks: [{name: B1, water_volume: 50 L}, %s]\n", State.MISSING),
        ("banks: [%s]\n", State.OK),
    ],
    ids=["a compressor", "a bank of air", "nothing that gives air"],
)
def test_a_sample_of_another_gas_tells_nothing_of_air(parts: str, state: State) -> None:
    """Also where air was never sampled: less evidence is no better than old evidence."""
    text = parts % "{name: N1, water_volume: 50 L, gas: nitrox32}"
    text += "air_tests: [{on: 2026-10-20, standard: cga-grade-e, result: pass, source: N1}]"
    assert at_station(text, Obligation.AIR_TEST).state is state


def test_without_a_row_nobody_knows_when_air_is_due_whatever_it_was() -> None:
    failed = "air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: fail}]"
    passed = failed.replace("fail", "pass")
    found = [at_station(t, Obligation.AIR_TEST, TODAY, "us.air-test") for t in (failed, passed)]
    assert found[0] == found[1]
    assert (found[0].state, found[0].row, bool(found[0].why)) == (State.MISSING, None, True)


@pytest.mark.parametrize(
    "question",
    [Obligation.BANK_TEST, Obligation.AIR_TEST, Obligation.WHIP_CHECK, Obligation.FILTER],
)
@pytest.mark.parametrize(
    "change",
    [{"applies_to": AppliesTo(state=("damp",)), "period": Period.parse("1 day")}, {"period": None}],
    ids=["for a state", "without a period"],
)
def test_a_row_that_dates_nothing_of_the_station_is_passed_over(
    question: Obligation, change: dict[str, Any]
) -> None:
    banks = "banks: [{name: B1, water_volume: 50 L, period: 5 years, requalified: [{on: 2024-03, method: hydrostatic, by: T}]}]\n"
    parts = """whips: [{name: W1, checked: [{on: 2026-05-10, result: pass}]}]
compressor: {name: C1, hours: [{on: 2026-10-01, reads: 380 h}, {on: 2026-11-24, reads: 390 h}]}
filters: [{name: F1, life: 40 h, changed: [{on: 2026-10-01, at: 380 h}]}]
"""
    book = make_book(station=banks + STATION + parts)

    def beside(row: RuleRow) -> tuple[RuleRow, ...]:
        other = replace(row, id=f"{row.id}.other", **change)
        return (row, other) if row.obligation is question else (row,)

    sets = tuple(
        replace(s, rows=tuple(r for row in s.rows for r in beside(row))) for s in book.rule_sets
    )
    more = replace(book, rule_sets=sets)
    assert book.station is not None

    def asked(of: Book) -> list[Due]:
        assert of.station is not None
        return [d for d in due_of_station(of, of.station, TODAY) if d.obligation is question]

    assert asked(more) == asked(book)
    assert asked(book)[0].state is not State.MISSING


@pytest.mark.parametrize("question", [Obligation.BANK_TEST, Obligation.FILTER])
def test_where_no_row_says_when_nobody_knows_when_it_is_due(question: Obligation) -> None:
    text = """banks: [{name: B1, water_volume: 50 L, period: 5 years, requalified: [{on: 2024-03, method: hydrostatic, by: T}]}]
compressor: {name: C1, hours: [{on: 2026-10-01, reads: 380 h}]}
filters: [{name: F1, life: 40 h, changed: [{on: 2026-10-01, at: 380 h}]}]
"""
    book = make_book(station=text)
    sets = tuple(
        replace(
            s,
            rows=tuple(replace(r, period=None) if r.obligation is question else r for r in s.rows),
        )
        for s in book.rule_sets
    )
    for rules, asked in ((book.rule_sets, State.OK), (sets, State.MISSING)):
        of = replace(book, rule_sets=rules)
        assert of.station is not None
        (item,) = [d for d in due_of_station(of, of.station, TODAY) if d.obligation is question]
        assert (item.state, item.row is None) == (asked, asked is State.MISSING)


WHIP = "whips: [{name: W1, %schecked: [{on: 2025-03-01}, {on: 2026-05-10, result: %s}]}]"


@pytest.mark.parametrize(
    ("fitted", "result", "next_due"),
    [
        ("", "pass", "2027-05-10"),  # bench.whip-check: 12 months
        ("", "fail", "2026-05-10"),
        ("fitted: 2026-05, ", "fail", "2026-05-10"),  # it may be the one that failed
        ("fitted: 2026-05-10, ", "fail", "2026-05-10"),
        ("fitted: 2026-05-11, ", "fail", "2027-05-11"),  # a new one
        ("fitted: 2026-06, ", "fail", "2027-06-30"),
    ],
)
def test_a_new_whip_answers_the_failure_of_the_old(fitted: str, result: str, next_due: str) -> None:
    item = at_station(WHIP % (fitted, result), Obligation.WHIP_CHECK)
    failed = next_due == "2026-05-10"
    assert (item.next, item.state is State.OVERDUE) == (day(next_due), failed)
    assert item.days_left == (day(next_due) - TODAY).days
    assert bool(item.why) is failed


def test_a_failed_check_that_no_row_asks_for_is_missing_a_row() -> None:
    item = at_station(WHIP % ("", "fail"), Obligation.WHIP_CHECK, TODAY, "bench.whip-check")
    assert (item.state, item.row, bool(item.why)) == (State.MISSING, None, True)


def test_a_valve_never_checked_is_missing_its_check() -> None:
    item = at_station("relief_valves: [{name: R1}]", Obligation.RELIEF_CHECK)
    assert (item.state, item.rule, bool(item.why)) == (State.MISSING, "bench.relief-check", True)


LAW = "gate: refuse, basis: law, subject: station"


@pytest.mark.parametrize(
    ("row", "question"),
    [
        (f"obligation: filter, {LAW}", Obligation.FILTER),  # it says nothing of when
        (f"obligation: bank-test, {LAW}", Obligation.BANK_TEST),
        (f"obligation: filter, period: 1 day, applies_to: {{state: [damp]}}, {LAW}", Obligation.FILTER),
        (f"obligation: air-test, period: 1 day, applies_to: {{state: [damp]}}, {LAW}", Obligation.AIR_TEST),
        (f"obligation: bank-test, period: 1 day, applies_to: {{state: [damp]}}, {LAW}", Obligation.BANK_TEST),
    ],
)  # fmt: skip
def test_a_row_without_a_period_or_for_a_state_dates_nothing(
    row: str, question: Obligation
) -> None:
    text = FILTERS % "40 h"
    text += "banks: [{name: B1, water_volume: 50 L}]\n"
    assert at_station(text, question, own_rules=own(row)).rule != "shop.more"


# --- filters -------------------------------------------------------------------------------------


def filter_(life: str, hours: str, changed: str) -> Due:
    """A filter by its readings `2026-11-20 412 h, ...` and changes `2026-09-01 370 h, ...`."""
    read = ", ".join(f"{{on: {h.split()[0]}, reads: {h.split(' ', 1)[1]}}}" for h in _each(hours))
    fitted = ", ".join(f"{{on: {c.split()[0]}, at: {c.split(' ', 1)[1]}}}" for c in _each(changed))
    given = f"life: {life}, " if life else ""
    text = f"compressor: {{name: C1, hours: [{read}]}}\n"
    text += f"filters: [{{name: F1, {given}changed: [{fitted}]}}]"
    return at_station(text, Obligation.FILTER)


def _each(text: str) -> list[str]:
    return [part for part in text.split(", ") if part]


@pytest.mark.parametrize(
    ("life", "state", "left", "over"),
    [
        ("50 h", State.OK, 8, False),
        ("46.7 h", State.OK, 4.7, False),  # a tenth of 46.7 is 4.67
        ("46.6 h", State.SOON, 4.6, False),
        ("42.5 h", State.SOON, 0.5, False),
        ("42 h", State.SOON, 0, False),  # not a minute over
        ("41.5 h", State.OVERDUE, 0.5, True),
        ("40 h", State.OVERDUE, 2, True),
    ],
)
def test_a_filter_is_soon_over_in_its_last_tenth(
    life: str, state: State, left: float, over: bool
) -> None:
    """A tenth: common practice, no source; the life is the maker's, by bench.filter."""
    item = filter_(life, "2026-11-20 412 h", "2026-09-01 370 h")
    assert item.hours_left is not None
    assert (item.state, item.hours_left.hours, item.hours_over) == (state, left, over)


def test_a_filter_is_soon_over_with_just_a_tenth_left() -> None:
    item = filter_("40 h", "2026-11-20 406 h", "2026-09-01 370 h")
    assert (item.state, item.hours_left and item.hours_left.hours) == (State.SOON, 4)


def test_hours_left_are_told_to_a_tenth() -> None:
    item = filter_("50 h", "2026-11-20 412.29 h", "2026-09-01 370 h")
    assert item.hours_left is not None
    assert item.hours_left.hours == 7.7


@pytest.mark.parametrize(
    ("life", "hours", "changed"),
    [
        ("", "2026-11-20 412 h", "2026-09-01 370 h"),
        ("50 h", "", "2026-09-01 370 h"),
        ("50 h", "2026-11-20 412 h", ""),
        ("50 h", "2026-11-20 412 h", "2026-09-01 413 h"),  # fitted at more than it shows
        ("50 h", "2026-10-20 430 h, 2026-11-20 412 h", "2026-09-01 370 h"),
        ("50 h", "2026-11-20 412 h", "2026-01-01 390 h, 2026-09-01 370 h"),
        ("50 h", "2026-11-20 412 h", "2026-09-01 390 h, 2026-09-01 370 h"),
    ],
)
def test_what_is_not_read_or_runs_backward_says_nothing_of_a_filter(
    life: str, hours: str, changed: str
) -> None:
    item = filter_(life, hours, changed)
    assert (item.state, item.hours_left, bool(item.why)) == (State.MISSING, None, True)


@pytest.mark.parametrize(
    ("hours", "changed", "left"),
    [
        ("2026-11-20 412 h, 2026-10-20 400 h", "2026-09-01 370 h", 8),  # by day, not by line
        ("2026-11-20 370 h", "2026-09-01 370 h", 50),
        ("2026-11-20 412 h", "2026-09-01 370 h, 2026-05-01 330 h", 8),
        ("2026-11-20 412 h", "2026-05-01 370 h, 2026-09-01 370 h", 8),
        ("2026-11-20 412 h", "2026-09-01 370 h, 2026-09-01 371 h", 9),  # two elements in a day
    ],
)
def test_a_filter_runs_from_its_last_change(hours: str, changed: str, left: float) -> None:
    item = filter_("50 h", hours, changed)
    assert item.hours_left is not None
    assert (item.state, item.hours_left.hours) == (State.OK, left)


@pytest.mark.parametrize(
    ("read", "changed", "unread"),
    [
        ("{on: 2026-09-01, reads: 380 h}", "{on: 2026-09-01, at: 370 h}", False),
        ("{on: 2026-08-31, reads: 380 h}", "{on: 2026-09-01, at: 370 h}", True),
        (f"{{on: 2026-08-31, reads: 380 h}}, {{on: 2026-09-02, reads: 390 h, {VOID}}}", "{on: 2026-09-01, at: 370 h}", True),
        ("{on: 2026-07-31, reads: 375 h}, {on: 2026-08-31, reads: 380 h}", "{on: 2026-09-01, at: 380 h}", True),
        ("{on: 2026-10-24, reads: 375 h}, {on: 2026-11-24, reads: 380 h}", f"{{on: {TODAY - dt.timedelta(31)}, at: 376 h}}", False),
        ("{on: 2026-10-01, reads: 375 h}, {on: 2026-11-01, reads: 380 h}", f"{{on: {TODAY}, at: 381 h}}", False),
        ("{on: 2026-08-31, reads: 380 h}", f"{{on: 2026-09-01, at: 370 h, {VOID}}}", False),
        ("{on: 2026-08-31, reads: 380 h}", "{on: 2026-07-01, at: 370 h}, {on: 2026-09-01, at: 380 h}", True),
        ("{on: 2026-08-31, reads: 380 h}", "{on: 2026-07-01, at: 370 h}", False),
        ("{on: 2026-09-01, reads: 375 h}, {on: 2026-09-11, reads: 380 h}", f"{{on: {TODAY - dt.timedelta(10)}, at: 381 h}}", False),
        ("{on: 2026-09-01, reads: 375 h}, {on: 2026-09-11, reads: 380 h}", f"{{on: {TODAY - dt.timedelta(11)}, at: 381 h}}", True),
        ("", "{on: 2026-07-01, at: 370 h}", False),
        ("{on: 2026-08-31, reads: 380 h}", "", False),
    ],
)  # fmt: skip
def test_a_meter_not_read_since_a_filter_was_fitted(read: str, changed: str, unread: bool) -> None:
    text = (
        f"compressor: {{name: C1, hours: [{read}]}}\nfilters: [{{name: F1, changed: [{changed}]}}]"
    )
    station = make_book(station=text).station
    assert station is not None
    assert bool(meter_unread(station, TODAY)) is unread


# --- people --------------------------------------------------------------------------------------


def person(keys: str, *gone: str) -> list[Due]:
    settings = SETTINGS.replace("  MV: {certifications: [{skill: inspector, from: 2020-01}]}", f"  MV: {{{keys}}}")  # fmt: skip
    found = due(without(make_book(settings=settings, station=None), *gone), TODAY)
    return [d for d in found if d.kind is DueKind.PERSON]


INSPECTOR = "{skill: inspector, from: 2020-01, until: %s}"


@pytest.mark.parametrize(
    ("ends", "next_due", "state"),
    [
        (["2027-05"], "2027-05-31", State.OK),
        (["2026-11"], "2026-11-30", State.SOON),
        (["2026-11-24"], "2026-11-24", State.OVERDUE),
        (["2024-05", "2027-05"], "2027-05-31", State.OK),
        (["2027-05", "2024-05"], "2027-05-31", State.OK),
        (["2027-05-20", "2027-05"], "2027-05-31", State.OK),
    ],
)
def test_a_certification_holds_to_its_last_day(
    ends: list[str], next_due: str, state: State
) -> None:
    (item,) = person(f"certifications: [{', '.join(INSPECTOR % e for e in ends)}]")
    assert (item.next, item.state) == (day(next_due), state)


@pytest.mark.parametrize(
    ("held", "state", "next_due"),
    [
        (["from: 2026-11-25"], State.OK, None),
        (["from: 2026-11-26"], State.MISSING, None),
        (["from: 2026-12"], State.MISSING, None),
        (["from: 2020-01, until: 2026-10", "from: 2026-12"], State.OVERDUE, "2026-10-31"),
        (["from: 2020-01, until: 2027-10", "from: 2027-09"], State.OK, "2027-10-31"),
    ],
)
def test_a_certification_that_has_not_begun_is_not_held(
    held: list[str], state: State, next_due: str | None
) -> None:
    entries = ", ".join(f"{{skill: inspector, {keys}}}" for keys in held)
    (item,) = person(f"certifications: [{entries}]")
    assert (item.state, item.next) == (state, next_due and day(next_due))
    assert (item.why == "it begins on 2026-12") is (held == ["from: 2026-12"])


def test_a_certification_of_this_month_has_begun() -> None:
    (item,) = person("certifications: [{skill: inspector, from: 2026-11}]")
    assert (item.state, item.why) == (State.OK, "")


def test_a_certification_without_end_has_no_next_day() -> None:
    lasting = "{skill: inspector, from: 2022-01}"
    (item,) = person(f"certifications: [{INSPECTOR % '2023-01'}, {lasting}]")
    assert (item.state, item.next, str(item.last)) == (State.OK, None, "2022-01")


@pytest.mark.parametrize(
    ("left", "listed"),
    [("2026-11-24", False), ("2026-11-25", True), ("2026-11", True), ("2026-10", False)],
)
def test_who_has_left_owes_nothing_from_the_day_after(left: str, listed: bool) -> None:
    assert bool(person(f"left: {left}, certifications: [{INSPECTOR % '2027-05'}]")) is listed


def test_skills_are_told_in_the_order_of_their_names() -> None:
    skills = ["valves", "hazmat", "o2-cleaner", "analyst", "inspector", "filler"]
    held = ", ".join(f"{{skill: {s}, from: 2020-01}}" for s in skills)
    assert [d.part for d in person(f"certifications: [{held}]")] == sorted(skills)


def test_without_a_row_nobody_knows_when_a_certification_is_due() -> None:
    (item,) = person(f"certifications: [{INSPECTOR % '2027-05'}]", "bench.certification")
    assert (item.state, item.row, bool(item.why)) == (State.MISSING, None, True)


# --- what the law asks for -----------------------------------------------------------------------
NO_TEST: dict[str, str | None] = {"requalified": None}
FAILED = stamps("2024-03 T1, result: fail")


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, 0),
        (NO_TEST, 1),
        ({"requalified": stamps(f"2024-03 T1, {VOID}")}, 1),
        ({"requalified": stamps("2024-03 T1"), "alloy": "6351"}, 0),  # it has a record of a test
        ({"requalified": FAILED, "alloy": "6351"}, 1),
        ({"requalified": stamps("2023-03 T1, result: fail", "2024-03 T1"), "alloy": "6351"}, 0),
        ({**NO_TEST, "held": "[{on: 2026-03-01, why: dent}]"}, 0),  # not in service
        ({"requalified": stamps("2024-03 T1"), "alloy": "6351", "held": "[{on: 2026-03-01, why: dent}]"}, 0),
        ({**NO_TEST, "specification": "[XYZ-9]"}, 0),  # no row, and so no law
        # seen by nobody certified: the law asks for the test alone, the look is practice
        ({**NO_TEST, "inspected": "[{on: 2026-02-09, by: XX, checklist: annual, result: pass}]"}, 1),
        # nor by anybody, where that look is struck out: it awaits one
        ({**NO_TEST, "inspected": f"[{{on: 2026-02-09, by: MV, checklist: annual, result: pass, {VOID}}}]"}, 0),
        ({**NO_TEST, **AIRCRAFT, "made": "2020-01"}, 1),  # its life has not ended
    ],
)  # fmt: skip
def test_who_lacks_a_test_that_the_law_asks_for(changes: dict[str, str | None], told: int) -> None:
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="K2", **changes)}
    found = list(lacking_by_law(make_book(cards), TODAY))
    assert len(found) == told
    assert all(path == "cylinders/B.yaml" and text.startswith("B: ") for path, text in found)


@pytest.mark.parametrize(
    ("by", "outside"), [("T123", True), ("Test Quay", False), ("test-quay", False), ("MV", False)]
)
def test_a_ledger_is_no_requalifier_of_its_own(by: str, outside: bool) -> None:
    book = one(requalified=stamps("2024-03 T1").replace("by: T1", f"by: {by}"))
    assert bench_of(book).is_requalifiers(book.cylinders["A"].requalified[0]) is outside
