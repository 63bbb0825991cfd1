"""Due dates: end of month, strictest row, what moves a date and what does not."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines
from changing import replace
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.checks import check
from tankbook.rules.expansion import expansion_limit
from tankbook.rules.inforce import facts_of, rules_of
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
    permit = "{number: DOT-SP 99001, period: 3 years, test_pressure: 5000 psi, life_ends: 2031-04}"
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


# --- month stickers --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "today", [dt.date(2026, 11, 1), dt.date(2026, 11, 25), dt.date(2027, 11, 30)]
)
@pytest.mark.parametrize(
    ("question", "changes"),
    [
        (VISUAL, {"inspected": "[{on: 2026-11, by: MV, checklist: annual, result: pass}]"}),
        (VISUAL, {"inspected": "[{on: 2026-11, checklist: sticker-seen, result: pass, sticker: seen}]"}),
        (REQUALIFICATION, {"requalified": stamps("2026-11 T123")}),
    ],
)  # fmt: skip
def test_a_month_counts_from_its_first_day_to_its_last(
    question: Obligation, changes: dict[str, str], today: dt.date
) -> None:
    """A sticker of the current month is a good sticker all that month (common practice, no source);
    a stamped test runs to the end of its month (reading of 49 CFR 180.205(c))."""
    item = only(one(**changes), question, today)
    assert item.state in {State.OK, State.SOON}
    last = dt.date(2027, 11, 30) if question is VISUAL else dt.date(2031, 11, 30)
    assert item.next == last


def test_a_month_that_has_not_begun_does_not_count() -> None:
    book = one(inspected="[{on: 2026-12, by: MV, checklist: annual, result: pass}]")
    assert only(book, VISUAL).state is State.MISSING


@given(st.dates(dt.date(2021, 1, 1), dt.date(2026, 11, 25)))
def test_an_act_known_to_the_day_never_holds_longer_than_its_month(on: dt.date) -> None:
    day, month = (
        only(one(inspected=f"[{{on: {when}, by: MV, checklist: annual, result: pass}}]"), VISUAL)
        for when in (on, f"{on:%Y-%m}")
    )
    assert day.next is not None
    assert month.next is not None
    assert day.next <= month.next
    assert (day.next.year, day.next.month) == (month.next.year, month.next.month)


# --- United Kingdom --------------------------------------------------------------------------------

UK = {"specification": "[EN ISO 7866]", "service_pressure": "232 bar", "test_pressure": "348 bar"}
ASSESSED = SETTINGS + "risk_assessed: {on: %s, by: MV, document: committee assessment of 2018}\n"


def visual_in_uk(today: dt.date, settings: str = SETTINGS, **changes: str | None) -> Due:
    card = with_lines(GOOD, **{**UK, "inspected": None, **changes})
    book = make_book({"A": card}, settings=settings.replace("[us-dot]", "[uk]"))
    return only(book, VISUAL, today)


# EN ISO 18119:2018 annex as reported (read, C): a look every year, to 2.5 years after an assessment;
# BSAC 2017 (read, C): 2.5 years
@pytest.mark.parametrize(
    ("today", "state", "gate"),
    [
        (dt.date(2025, 3, 31), State.SOON, None),
        (dt.date(2025, 4, 1), State.OVERDUE, "warn"),
        (dt.date(2026, 9, 30), State.OVERDUE, "warn"),
        (dt.date(2026, 10, 1), State.OVERDUE, "refuse"),
    ],
)
def test_a_uk_cylinder_is_warned_of_after_a_year_and_refused_after_thirty_months(
    today: dt.date, state: State, gate: str | None
) -> None:
    item = visual_in_uk(today)
    assert item.row is not None
    assert (item.state, item.row.gate if item.state is State.OVERDUE else None) == (state, gate)


@pytest.mark.parametrize(
    ("document", "state"), [("binder 3", State.OK), ("-", State.OVERDUE), ("tbd", State.OVERDUE)]
)
def test_a_risk_assessment_is_a_document(document: str, state: State) -> None:
    settings = f"{SETTINGS}risk_assessed: {{on: 2024-01, by: MV, document: '{document}'}}\n"
    assert visual_in_uk(dt.date(2026, 3, 31), settings).state is state


def test_a_warning_says_when_it_becomes_a_refusal() -> None:
    assert (
        visual_in_uk(dt.date(2025, 6, 1)).why == "visual lapsed Mar 2025; refused after 2026-09-30"
    )


@pytest.mark.parametrize(
    ("since", "state"), [("2025-06", State.OK), ("2027-01", State.OVERDUE)], ids=["begun", "later"]
)
def test_an_assessment_on_record_lengthens_the_time_between_looks(since: str, state: State) -> None:
    item = visual_in_uk(dt.date(2025, 8, 1), settings=ASSESSED % since)
    assert item.state is state
    assert (item.rule == "uk.visual") is (state is State.OK)
    lapsed = visual_in_uk(dt.date(2026, 10, 1), settings=ASSESSED % since)
    assert (lapsed.state, lapsed.rule) == (State.OVERDUE, "uk.visual")


def test_a_stamped_visual_counts_like_a_look_by_the_shop() -> None:
    """For the yearly look and for the 30 months: one look, which an assessment spaces out."""
    stamped = stamps("2024-03 maker", "2026-03 T1, method: visual")
    assert visual_in_uk(TODAY, requalified=stamped).state is State.OK
    looked = "[{on: 2026-06-10, by: MV, checklist: annual, result: pass}]"
    old = stamps("2020-03 maker", "2025-01 T1")
    assert visual_in_uk(TODAY, requalified=old, inspected=looked).state is State.OK
    seen = visual_in_uk(dt.date(2027, 8, 1), requalified=old, inspected=looked)
    assert seen.row is not None
    assert (seen.state, seen.row.gate) == (State.OVERDUE, "warn")
    late = visual_in_uk(dt.date(2029, 1, 1), requalified=old, inspected=looked)
    assert (late.state, late.rule) == (State.OVERDUE, "uk.visual")


@pytest.mark.parametrize(("rules", "meets"), [("uk", False), ("us-dot", True), ("nz", True)])
def test_a_sticker_that_was_seen_meets_no_look_of_a_test_house(rules: str, meets: bool) -> None:
    seen = "[{on: 2026-06, by: MV, checklist: sticker-seen, result: pass, sticker: seen}]"
    book = one(rules, **{**UK, "requalified": stamps("2020-03 maker"), "inspected": seen})
    found = [d for d in due_of_cylinder(book, book.cylinders["A"], TODAY) if d.obligation is VISUAL]
    refused = any(d.state is State.OVERDUE and d.row and d.row.gate == "refuse" for d in found)
    assert refused is not meets


@pytest.mark.parametrize("gone", ["uk.visual", "uk.visual.yearly"])
def test_neither_uk_row_answers_without_the_other(gone: str) -> None:
    book = one("uk", **UK)
    sets = tuple(replace(s, rows=tuple(r for r in s.rows if r.id != gone)) for s in book.rule_sets)
    half = replace(book, rule_sets=sets)
    why = [
        d.why for d in due_of_cylinder(half, half.cylinders["A"], TODAY) if d.obligation is VISUAL
    ]
    assert any(gone in text and "must stand beside" in text for text in why)


# --- UN receptacles under US rules -----------------------------------------------------------------

UN = {
    "specification": "[UN ISO 7866]",
    "service_pressure": "232 bar",
    "test_pressure": "348 bar",
    "requalified": stamps("2018-03 maker"),
}


# 180.207(c) Table 1, read (2015 edition): 10 years; 5 are practice while the question is open
@pytest.mark.parametrize(
    ("today", "rule", "state"),
    [
        (dt.date(2023, 3, 31), "us.requalification.un-underwater", State.SOON),
        (dt.date(2023, 4, 1), "us.requalification.un-underwater", State.OVERDUE),
        (dt.date(2028, 3, 31), "us.requalification.un-underwater", State.OVERDUE),
        (dt.date(2028, 4, 1), "us.requalification.un", State.OVERDUE),
    ],
)
def test_practice_lapses_first_and_law_is_what_nobody_overrides(
    today: dt.date, rule: str, state: State
) -> None:
    item = only(one(**UN), REQUALIFICATION, today)
    assert (item.rule, item.state) == (rule, state)
    assert item.row is not None
    assert item.row.may_be_overridden is (rule == "us.requalification.un-underwater")


def test_practice_dropped_by_name_leaves_the_law() -> None:
    own = """
    heading: Shop rules
    rows:
      - {id: us.requalification.un-underwater, obligation: requalification, drop: yes, gate: refuse,
         basis: practice, citation: shop, verified: memory,
         by: MV, why: the regulator's letter of 2026-02, since: 2026-03}
    """
    book = make_book({"A": with_lines(GOOD, **UN)}, own_rules=own)
    (item,) = [
        d
        for d in due_of_cylinder(book, book.cylinders["A"], TODAY)
        if d.obligation is REQUALIFICATION
    ]
    assert (item.rule, item.state) == ("us.requalification.un", State.OK)
    before = only(book, REQUALIFICATION, dt.date(2026, 2, 28))
    assert (before.rule, before.state) == ("us.requalification.un-underwater", State.OVERDUE)


def test_composites_stay_at_five_years() -> None:
    card = {**UN, "specification": "[UN ISO 11119-2]", "material": "composite", "alloy": None}
    permit = "{period: 5 years, test_pressure: 348 bar, life_ends: 2033-03}"
    item = only(one(**card, permit=permit), REQUALIFICATION, dt.date(2023, 4, 1))
    assert item.rule == "us.requalification.un-composite"


# --- what several rows say -------------------------------------------------------------------------

MORE = """
heading: Shop rules
rows:
  - {id: shop.more, %s, gate: warn, basis: practice, citation: shop, verified: memory}
"""


@pytest.mark.parametrize("period", ["1 year", "1 day", "400 days"])
def test_a_row_that_warns_hides_no_refusal(period: str) -> None:
    """Both have lapsed, the shop's own long before: the law's is what is said."""
    own = MORE % f"obligation: requalification, period: {period}, met_by: [hydrostatic]"
    book = make_book({"A": with_lines(GOOD, requalified=stamps("2019-03 T1"))}, own_rules=own)
    item = only(book, REQUALIFICATION)
    assert (item.rule, item.state) == ("us.requalification.3al", State.OVERDUE)


@pytest.mark.parametrize(
    ("row", "part"),
    [
        ("obligation: air-test, period: 400 days, subject: station", "air"),
        ("obligation: filter, period: 1 year, subject: station", "F1"),
        ("obligation: bank-test, period: 90 years, subject: station", "B1"),
    ],
)
def test_at_the_station_a_laxer_row_lifts_nothing(row: str, part: str) -> None:
    station = """
    air_tests: [{on: 2026-02-12, standard: cga-grade-e, result: pass}]
    compressor: {name: C1, hours: [{on: 2026-11-20, reads: 500 h}]}
    filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 370 h}]}]
    banks: [{name: B1, water_volume: 50 L, period: 5 years, requalified: [{on: 2019-01, method: hydrostatic, by: T}]}]
    """
    for own in ("", MORE % row):
        found = due(make_book(station=station, own_rules=own), TODAY)
        (item,) = [d for d in found if d.part == part]
        assert item.row is not None
        assert (item.state, item.row.gate) == (State.OVERDUE, "refuse")


@pytest.mark.parametrize("method", ["hydrostatic", "proof", "ultrasonic", "acoustic-emission"])
def test_a_failed_test_tells_against_rows_that_it_would_not_meet(method: str) -> None:
    failed = stamps("2024-03 T1", f"2025-03 T1, method: {method}, result: fail")
    book = one(specification="[DOT-3T]", material="steel", alloy=None, requalified=failed)
    told = {"failed its hydro 2025-03", f"failed its {method} test 2025-03"}
    assert only(book, REQUALIFICATION).why in told


# --- permits ---------------------------------------------------------------------------------------

SPECIAL = {"specification": "[DOT-SP 99001]", "material": "composite", "alloy": None, "test_pressure": None}  # fmt: skip
PAPERS = "{number: DOT-SP 99001, period: %s, test_pressure: 5000 psi, life_ends: none%s}"


@pytest.mark.parametrize(
    ("period", "why"),
    [
        ("12 years", ""),
        ("3 years", ""),
        ("50 years", "its permit's period of 50 years is longer than any known (12 years)"),
        ("145 months", "its permit's period of 145 months is longer than any known (12 years)"),
        ("9000 days", "its permit's period of 9000 days is longer than any known (12 years)"),
    ],
)
def test_a_permits_period_that_cannot_be_right(period: str, why: str) -> None:
    """The longest in 180.209 and 180.207 is 12 years (read, C and B); taken further (inference)."""
    item = only(one(**SPECIAL, permit=PAPERS % (period, "")), REQUALIFICATION)
    assert (item.why, item.state is State.MISSING) == (why, bool(why))
    assert item.rule == ("bench.permit.period-too-long" if why else "us.requalification.permit")


@pytest.mark.parametrize(
    ("today", "state"),
    [(dt.date(2026, 7, 1), State.OK), (dt.date(2026, 8, 31), State.SOON), (dt.date(2026, 9, 1), State.OVERDUE)],
)  # fmt: skip
def test_a_permits_renewal_runs_out(today: dt.date, state: State) -> None:
    renewed = PAPERS % ("5 years", ", renewed_until: 2026-08, paper: letter of 2021")
    item = only(one(**SPECIAL, permit=renewed), Obligation.PERMIT, today)
    assert (item.state, item.next, item.rule) == (
        state,
        dt.date(2026, 8, 31),
        "bench.permit.renewal",
    )


PLAIN = "{number: DOT-SP 99001, period: 12 years, test_pressure: 5000 psi, life_ends: none, expansion_limit: 50 %}"


def test_a_permit_on_a_plain_specification_switches_nothing_off() -> None:
    plain, permit = one(), one(permit=PLAIN)
    for book in (plain, permit):
        item = only(book, REQUALIFICATION)
        assert (item.rule, item.next) == ("us.requalification.3al", dt.date(2029, 3, 31))
        limit = expansion_limit(book, book.cylinders["A"])
        assert limit is not None
        assert str(limit.share) == "10 %"  # 180.205(i)(1)(iv), read (2015 edition)
        facts = facts_of(book.cylinders["A"], rules_of(book))
        tests = [r.id for r in rules_of(book).about(facts, Obligation.TEST_PRESSURE)]
        assert tests == ["us.test-pressure.3al"]


def test_the_stricter_of_a_permits_limit_and_the_rows() -> None:
    book = one(permit=PLAIN.replace("50 %", "5 %"))
    limit = expansion_limit(book, book.cylinders["A"])
    assert limit is not None
    assert (str(limit.share), limit.citation) == ("5 %", "permit DOT-SP 99001")


def test_nz_holds_iso_marks_to_no_ratio_of_its_own() -> None:
    """232 and 348 bar are 3/2; the 5/3 is one tester's account (read, C)."""
    for specification, rows in (
        ("[EN ISO 7866]", ["nz.test-pressure.iso"]),
        ("[AS 1777]", ["nz.test-pressure"]),
        ("[DOT-3AL, UN ISO 7866]", []),
    ):
        book = one("nz", specification=specification)
        facts = facts_of(book.cylinders["A"], rules_of(book))
        found = rules_of(book).about(facts, Obligation.TEST_PRESSURE)
        assert [r.id for r in found] == rows


def test_what_held_on_a_past_day_goes_by_the_rules_of_that_day() -> None:
    own = MORE % "obligation: visual, period: 1 month, met_by: [inspection], since: 2026-06"
    book = make_book({"A": GOOD}, own_rules=own.replace("gate: warn", "gate: refuse"))
    days = [dt.date(2026, 5, 31), dt.date(2026, 6, 1)]
    assert [holds_on(book, book.cylinders["A"], VISUAL, d) for d in days] == [True, False]


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


def test_doubles_owe_what_each_of_their_sides_owes_the_soonest_first() -> None:
    lapsed = with_lines(GOOD, serial="K2", requalified=stamps("2021-09 maker"))
    book = make_book({"A": GOOD, "B": lapsed}, sets={"D": "cylinders: [A, B]"}, station=STATION)
    of_set = [d for d in due(book, TODAY) if d.kind is DueKind.SET]
    assert (of_set[0].id, of_set[0].part, of_set[0].state) == ("D", "B", State.OVERDUE)
    assert sorted((d.part, d.obligation) for d in of_set) == [
        ("A", REQUALIFICATION),
        ("A", VISUAL),
        ("B", REQUALIFICATION),
        ("B", VISUAL),
    ]


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
