"""Banks without a period from test to test, and what a written scheme of examination asks."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.checks import of_station
from tankbook.rules.gate import shut_by
from tankbook.rules.out_of_use import EVERY, PartSort, StationPart, out_of_use, parts_out
from tankbook.rules.schedule import due

AIR = "air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}]\n"
WHY = "by: MV, why: ASME vessel, document: folder 3"
TESTED = "requalified: [{on: 2024-03, method: hydrostatic, by: T1}]"


def book_of(station: str, day: dt.date = TODAY) -> Book:
    return make_book({"A": GOOD}, station=AIR + station).as_known_on(day)


def bank(more: str) -> str:
    return f"banks: [{{name: B1, water_volume: 48 L{', ' if more else ''}{more}}}]\n"


def decided(more: str = "", on: str = "2026-01-02", why: str = WHY) -> str:
    return f"no_period: [{{on: {on}, {why}{more}}}]"


def scheme(examined: str, of: str = "of: [B1]") -> str:
    return f"schemes: [{{name: WS1, {of}{', ' if of else ''}examined: [{examined}]}}]\n"


def at_station(station: str, day: dt.date = TODAY) -> dict[tuple[str, str], Due]:
    book = book_of(station, day)
    return {
        (i.part, i.obligation): i
        for i in due(book, day)
        if i.kind is DueKind.STATION and i.part != "air"
    }


PASSED, FAIL = (
    "{on: 2026-03-10, by: X1, next: 2028-03-10}",
    "{on: 2026-04-10, by: X1, result: fail}",
)

BANKS: dict[str, tuple[str, State, str]] = {
    "nothing": ("", State.MISSING, "its period is not recorded"),
    "none alone": ("period: none", State.MISSING, "who decided that it has no period, and why"),
    "decided": (f"period: none, {decided()}", State.OK, ""),
    "decided, and no key": (decided(), State.OK, ""),
    "on no ground": (f"period: none, {decided(why='by: MV, why: tbd')}", State.MISSING, "no ground"),
    "by nobody": (
        f"period: none, {decided(why='by: tbd, why: ASME vessel')}", State.MISSING, "by nobody"),
    "not yet": (f"period: none, {decided(on='2027-01-02')}", State.MISSING, "who decided"),
    "struck out": (
        f"period: none, {decided(', void: {why: wrong bank, by: MV, on: 2026-01-05}')}",
        State.MISSING, "who decided"),
    "until later": (f"period: none, {decided(', until: 2031-01-02')}", State.OK, ""),
    "until soon": (f"period: none, {decided(', until: 2026-12-02')}", State.SOON, ""),
    "until then": (f"period: none, {decided(', until: 2026-06-02')}", State.OVERDUE, "again"),
    "until before": (f"period: none, {decided(', until: 2025-06-02')}", State.MISSING, "no later"),
    "a period counts": (f"period: 5 years, {decided()}", State.MISSING, "no bank test on record"),
    "and one that is met": (f"period: 5 years, {TESTED}, {decided()}", State.OK, ""),
    "a test that failed since": (
        f"period: none, {TESTED.replace('T1', 'T1, result: fail')}, {decided()}",
        State.OVERDUE, "B1 failed its bank test on 2024-03"),
}  # fmt: skip


@pytest.mark.parametrize("name", BANKS)
def test_a_bank_has_no_period_where_somebody_decided_it_on_a_ground(name: str) -> None:
    text, state, why = BANKS[name]
    item = at_station(bank(text))["B1", Obligation.BANK_TEST]
    assert (item.state, why in item.why) == (state, True)
    shut = [r for r in shut_by(book_of(bank(text)), TODAY) if r.code.startswith("bank-")]
    assert bool(shut) is (state in {State.MISSING, State.OVERDUE})
    assert (EVERY in parts_out(book_of(bank(text)), TODAY)) is bool(shut)


@pytest.mark.parametrize(
    ("made", "odd"),
    [
        ("DOT-3AA", True),
        ("TC-3AAM DOT-3AA", True),
        ("UN ISO 9809-1", True),
        ("EN 1964-1", True),
        ("ASME VIII-1", False),
        ("", False),
    ],
)
def test_cylinders_that_have_a_period_by_their_make_are_told_where_it_is_said_they_have_none(
    made: str, odd: bool
) -> None:
    more = f"specification: {made}, " if made else ""
    book = book_of(bank(f"{more}period: none, {decided()}"))
    told = [f.text for f in of_station(book, TODAY) if f.code == "bank-no-paper"]
    assert bool([text for text in told if "are tested at a period" in text]) is odd
    (out,) = (r for r in shut_by(book_of(bank(more[:-2])), TODAY) if r.code.startswith("bank-test"))
    # what is built as a vessel is asked for the ground on which it has none
    assert out.mend.startswith("say on what ground") is made.startswith("ASME")


@pytest.mark.parametrize(("tested", "last"), [("", None), (f", {TESTED}", "2024-03")])
def test_a_decision_is_told_as_one_and_as_no_test(tested: str, last: str | None) -> None:
    item = at_station(bank(f"period: none, {decided()}{tested}"))["B1", Obligation.BANK_TEST]
    assert (str(item.last) if item.last else None) == last
    assert item.why == "it has no period, as MV decided on 2026-01-02"


def test_the_last_decision_counts() -> None:
    both = "no_period: [{on: 2026-05-01, by: MV, why: '-'}, {on: 2026-01-01, by: MV, why: ASME vessel}]"
    assert at_station(bank(both))["B1", Obligation.BANK_TEST].state is State.MISSING
    day = dt.date(2026, 2, 1)
    assert at_station(bank(both), day)["B1", Obligation.BANK_TEST].state is State.OK


SCHEMES: dict[str, tuple[str, str, State]] = {
    "never examined": (scheme(""), "B1", State.MISSING),
    "passed": (scheme(PASSED), "B1", State.OK),
    "lapsed": (scheme(PASSED.replace("2028-03", "2026-09")), "B1", State.OVERDUE),
    "no next": (scheme("{on: 2026-03-10, by: X1}"), "B1", State.MISSING),
    "failed": (scheme(f"{PASSED}, {FAIL}"), "B1", State.OVERDUE),
    "passed since": (scheme(f"{FAIL}, {PASSED.replace('2026-03', '2026-05')}"), "B1", State.OK),
    "both on one day": (scheme(f"{FAIL}, {PASSED.replace('2026-03', '2026-04')}"), "B1", State.OVERDUE),
    "two next days": (
        scheme(f"{PASSED}, {PASSED.replace('2028-03-10', '2026-03-12')}"), "B1", State.OVERDUE),
    "of the whole": (scheme(PASSED, ""), "WS1", State.OK),
    "of the whole, never": (scheme("", ""), "WS1", State.MISSING),
    "not yet": (scheme(PASSED.replace("2026-03", "2027-03")), "B1", State.MISSING),
    "a failure ahead": (scheme(f"{PASSED}, {FAIL.replace('2026', '2027')}"), "B1", State.OVERDUE),
    "struck out": (
        scheme(PASSED[:-1] + ", void: {why: wrong bank, by: MV, on: 2026-03-11}}"), "B1", State.MISSING),
}  # fmt: skip


@pytest.mark.parametrize("name", SCHEMES)
def test_a_scheme_says_when_a_bank_is_examined(name: str) -> None:
    text, part, state = SCHEMES[name]
    items = at_station(bank("") + text)
    assert {key: i.state for key, i in items.items()} == {(part, Obligation.EXAMINATION): state}
    out = EVERY in parts_out(book_of(bank("") + text), TODAY)
    assert out is (state is not State.OK)


@pytest.mark.parametrize("of", ["of: [C1]", "of: [B7]"])
def test_a_scheme_of_something_else_sets_no_banks_period_aside(of: str) -> None:
    items = at_station(bank("") + "compressor: {name: C1}\n" + scheme(PASSED, of))
    assert items["B1", Obligation.BANK_TEST].state is State.MISSING
    assert items["WS1", Obligation.EXAMINATION].state is State.OK


def test_a_period_and_a_failed_test_count_beside_a_scheme() -> None:
    lapsed = TESTED.replace("2024", "2014")
    for more in (f"period: 5 years, {lapsed}", TESTED.replace("T1", "T1, result: fail")):
        items = at_station(bank(more) + scheme(PASSED))
        assert items["B1", Obligation.BANK_TEST].state is State.OVERDUE
        assert items["B1", Obligation.EXAMINATION].state is State.OK


def test_the_stricter_of_two_schemes_counts_once() -> None:
    two = f"schemes: [{{name: S1, of: [B1], examined: [{PASSED}]}}, {{name: S2, of: [B1]}}]\n"
    items = at_station(bank(decided()) + two)
    assert items["B1", Obligation.EXAMINATION].state is State.MISSING
    assert len(items) == 2


EMPTY = "{on: 2026-05-02, by: MV, pressure: 0 psi}"
FULL = "{on: 2026-05-01, by: MV, pressure: 4000 psi}"
RAISED = "raised: [{on: DAY, by: MV, to: 4000 psi}]"
DRAINED: dict[str, tuple[str, bool]] = {
    "never read": ("", False),
    "read full": (f"readings: [{FULL}]", False),
    "read empty": (f"readings: [{FULL}, {EMPTY}]", True),
    "read full again": (f"readings: [{EMPTY}, {FULL.replace('05-01', '05-03')}]", False),
    "struck out": (
        f"readings: [{EMPTY[:-1]}, void: {{why: wrong bank, by: MV, on: 2026-05-02}}}}]", False),
    "read full and empty on a day": (f"readings: [{FULL.replace('05-01', '05-02')}, {EMPTY}]", True),
    "by the hours full last": (
        f"readings: [{FULL.replace('05-01', '05-02')[:-1]}, at: '11:00'}}, {EMPTY[:-1]}, at: '09:00'}}]",
        False),
    "raised before": (f"readings: [{EMPTY}], {RAISED.replace('DAY', '2026-05-01')}", True),
    "raised since": (f"readings: [{EMPTY}], {RAISED.replace('DAY', '2026-05-03')}", False),
    "raised on that day": (f"readings: [{EMPTY}], {RAISED.replace('DAY', '2026-05-02')}", False),
    "raised on that day, before": (
        f"readings: [{EMPTY[:-1]}, at: '11:00'}}], "
        + RAISED.replace("DAY", "2026-05-02").replace("}", ", at: '10:00'}"), True),
    "raised on that day, after": (
        f"readings: [{EMPTY[:-1]}, at: '11:00'}}], "
        + RAISED.replace("DAY", "2026-05-02").replace("}", ", at: '12:00'}"), False),
}  # fmt: skip
AGAINST = {
    "lapsed": ("period: 1 year, requalified: [{on: 2024-03, method: hydrostatic, by: T1}]", ""),
    "failed": (
        "period: 5 years, requalified: [{on: 2024-03, method: hydrostatic, by: T1, result: fail}]",
        ""),
    "no period": ("", ""),
    "scheme lapsed": ("", scheme(PASSED.replace("2028-03", "2026-04"))),
    "scheme failed": ("", scheme(f"{PASSED}, {FAIL}")),
}  # fmt: skip


@pytest.mark.parametrize("against", AGAINST)
@pytest.mark.parametrize("name", DRAINED)
def test_a_bank_out_of_test_that_stands_empty_is_out_alone(name: str, against: str) -> None:
    read, alone = DRAINED[name]
    own, schemes = AGAINST[against]
    banks = bank(", ".join(filter(None, (own, read)))).replace("}]\n", "}, " + OTHER + "]\n")
    book = book_of(banks + schemes)
    out = parts_out(book, TODAY)
    assert StationPart(PartSort.BANK, "B1") in out
    assert (EVERY in out) is not alone
    mend = next(o.reason.mend for o in out_of_use(book, TODAY) if o.part.name == "B1")
    assert ("`tankbook station read B1=0`" in mend) is not alone


GIVEN = "at=2026-05-DAYT10:00:00+00:00; cylinder=A; act=fill; from=500 psi; to=2800 psi; gas=air; by=MV; source=B1"
GAVE: dict[str, tuple[str, str, bool]] = {
    "before": (GIVEN.replace("DAY", "01"), "", True),
    "after": (GIVEN.replace("DAY", "03"), "", False),
    "after, of several": (GIVEN.replace("DAY", "03").replace("=B1", "=B1+B2"), "", False),
    "after, of another": (GIVEN.replace("DAY", "03").replace("=B1", "=B2"), "", True),
    "read again": (
        GIVEN.replace("DAY", "03"), ", {on: 2026-05-04, by: MV, pressure: 0 psi}", True),
}  # fmt: skip


@pytest.mark.parametrize("name", GAVE)
def test_a_bank_that_gave_after_it_was_read_empty_stands_empty_no_more(name: str) -> None:
    log, read, alone = GAVE[name]
    own, _ = AGAINST["failed"]
    text = bank(f"{own}, readings: [{FULL}, {EMPTY}{read}]").replace("}]\n", "}, " + OTHER + "]\n")
    book = make_book({"A": GOOD}, log=log, station=AIR + text).as_known_on(TODAY)
    assert (EVERY in parts_out(book, TODAY)) is not alone


def test_a_bank_that_another_was_raised_from_stands_empty_no_more() -> None:
    own, _ = AGAINST["failed"]
    other = OTHER[:-1] + ", raised: [{on: 2026-05-03, by: MV, to: 3000 psi, source: B1}]}"
    text = bank(f"{own}, readings: [{FULL}, {EMPTY}]").replace("}]\n", "}, " + other + "]\n")
    assert EVERY in parts_out(book_of(text), TODAY)


OTHER = "{name: B2, water_volume: 48 L, period: 5 years, requalified: [{on: 2025-03, method: hydrostatic, by: T1}]}"

MENDS = {
    "lapsed": "`tankbook station bank-test B1 --on MONTH --by RIN`",
    "failed": "once one passes: `tankbook station bank-test B1 --on MONTH --by RIN`",
    "no period": "`tankbook station bank-test B1 --on MONTH --by RIN --period PERIOD`; of a vessel that has none, say on what ground: `tankbook station no-period B1 --why GROUND`",
    "scheme lapsed": "once it is done: `tankbook station examined WS1 --by EXAMINER --next DAY`",
    "scheme failed": "once one passes: `tankbook station examined WS1 --by EXAMINER --next DAY`",
}


@pytest.mark.parametrize("against", MENDS)
def test_what_a_bank_out_of_test_is_answered_by_is_said(against: str) -> None:
    own, schemes = AGAINST[against]
    said = [o.reason.mend for o in out_of_use(book_of(bank(own) + schemes), TODAY)]
    assert [MENDS[against] in mend for mend in said] == [True]


def test_an_empty_bank_out_of_test_leaves_nothing_to_fill_from_where_it_is_alone() -> None:
    alone = bank(f"period: 1 year, readings: [{EMPTY}]")
    assert EVERY in parts_out(book_of(alone), TODAY)


def test_an_examination_of_the_whole_station_is_answered_by_its_scheme() -> None:
    book = book_of(bank("") + scheme("", ""))
    said = [o.reason.mend for o in out_of_use(book, TODAY)]
    assert said == ["once it is done: `tankbook station examined WS1 --by EXAMINER --next DAY`"]
