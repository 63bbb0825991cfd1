"""On which days a test can have been, and what it answers by that."""

from __future__ import annotations

import datetime as dt

import pytest
from books import make_book

from tankbook.rules.gate import may_fill
from tankbook.rules.tested import first_test, possible_days
from tests.rules.test_checks import OLD, STEEL, TODAY, Seed

FIRST, SECOND = ("2026-10-02", "2026-10-08"), ("2026-10-20", "2026-10-26")
LATE = "{on: 2026-11-02, by: MV, checklist: annual, result: pass, sticker: withheld}"


def _stay(out: str, back: str, why: str = "requalification") -> str:
    return f"{{on: {out}, to: T123, for: {why}, back: {back}, refitted: {back}, refitted_by: MV}}"


def _test(on: str, more: str = "") -> str:
    return f"{{on: {on}, method: hydrostatic, by: T123{more}}}"


def _held(on: str, why: str = "suspected crack in neck") -> dict[str, str | None]:
    hold = f"{{on: {on}, by: MV, why: {why}, released: 2026-11-02, released_by: MV, released_why: the test house found none}}"
    return {"held": f"[{hold}]"}


def _seed(tests: list[str], stays: list[str], more: dict[str, str | None] | None = None) -> Seed:
    card: dict[str, str | None] = {
        **STEEL,
        "requalified": f"[{', '.join(['{on: 2024-03, method: hydrostatic, by: T123}', *tests])}]",
        "sent": f"[{', '.join(stays)}]" if stays else None,
        "inspected": f"[{OLD}, {LATE}]",
        **(more or {}),
    }
    return Seed(card)


A, B = _stay(*FIRST), _stay(*SECOND)
REPAIR = _stay(*SECOND, why="repair")
NONE = ", clears: [held 2026-10-12], finding: no crack found"
PASS_OF_FAILED = _test("2026-10", ", clears: [requalified 2026-10-22]")
FAILED = _test("2026-10-22", ", result: fail")
FIRE = ", clears: [held 2026-10-12], finding: 'no heat damage, passed'"
REJECT = {
    "rejected": "[{on: 2026-10-12, by: MV, why: suspected crack in neck, told: {on: 2026-10-12, by: MV, how: letter}, lifted: 2026-11-02, lifted_by: MV, lifted_why: tested}]"
}
NOT_REJECTED = ", clears: [rejected 2026-10-12], finding: no crack found"


CASES: dict[str, tuple[Seed, bool]] = {
    # `tested:` says the day
    "a pass whose day was before the failure": (
        _seed([_test("2026-10", ", tested: 2026-10-05, clears: [requalified 2026-10-22]"), FAILED], [A, B]),
        False,
    ),
    "a pass whose day came after the failure": (
        _seed([FAILED, _test("2026-10", ", tested: 2026-10-24, clears: [requalified 2026-10-22]")], [A, B]),
        True,
    ),
    "a test whose day was before the hold": (
        _seed([_test("2026-10", f", tested: 2026-10-05{NONE}")], [A, B], _held("2026-10-12")),
        False,
    ),
    "a test whose day came after the hold": (
        _seed([_test("2026-10", f", tested: 2026-10-22{NONE}")], [A, B], _held("2026-10-12")),
        True,
    ),
    # the journeys say it
    "a hold after the only stay": (_seed([_test("2026-10", NONE)], [A], _held("2026-10-12")), False),
    "a hold before the only stay": (_seed([_test("2026-10", NONE)], [B], _held("2026-10-12")), True),
    "a hold on the day it was sent": (
        _seed([_test("2026-10", NONE)], [_stay("2026-10-12", "2026-10-20")], _held("2026-10-12")),
        True,
    ),
    "a fire after the only stay": (
        _seed([_test("2026-10", FIRE)], [A], _held("2026-10-12", "was in a shed fire")),
        False,
    ),
    "a fire before the only stay": (
        _seed([_test("2026-10", FIRE)], [B], _held("2026-10-12", "was in a shed fire")),
        True,
    ),
    "a rejection after the only stay": (_seed([_test("2026-10", NOT_REJECTED)], [A], REJECT), False),
    "a rejection before the only stay": (_seed([_test("2026-10", NOT_REJECTED)], [B], REJECT), True),
    "a stay for repair is none": (
        _seed([_test("2026-10", NONE)], [A, REPAIR], _held("2026-10-12")),
        False,
    ),
    # two stays of one month
    "a hold between two stays": (_seed([_test("2026-10", NONE)], [A, B], _held("2026-10-12")), False),
    "a hold before two stays": (
        _seed([_test("2026-10", NONE.replace("12", "01"))], [A, B], _held("2026-10-01")),
        True,
    ),
    "a failure and a pass of a month of two stays": (
        _seed(
            [_test("2026-10", ", result: fail"), _test("2026-10", ", clears: [requalified 2026-10]")],
            [A, B],
        ),
        False,
    ),
    "a failure and a pass of a month of one stay": (
        _seed(
            [_test("2026-10", ", result: fail"), _test("2026-10", ", clears: [requalified 2026-10]")],
            [A],
        ),
        True,
    ),
    "a failure of a day, a pass of the month of two stays": (_seed([FAILED, PASS_OF_FAILED], [A, B]), False),
    "the pass written first": (_seed([PASS_OF_FAILED, FAILED], [A, B]), False),
    # no journey on record
    "a hold, and a month without a journey": (
        _seed([_test("2026-10", NONE)], [], _held("2026-10-12")),
        True,
    ),
    "a hold, and a journey out in a month": (
        _seed([_test("2026-10", NONE)], [_stay("2026-10", "2026-10-20")], _held("2026-10-12")),
        True,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_test_of_a_month_answers_what_it_came_after(case: str) -> None:
    seed, filled = CASES[case]
    answer = may_fill(seed.book(), "A", TODAY)
    assert answer.fillable is filled, [r.text for r in answer.refusals]


@pytest.mark.parametrize(
    ("seed", "code"),
    [
        (CASES["a hold between two stays"][0], "suspected-crack"),
        (CASES["a failure of a day, a pass of the month of two stays"][0], "test-failed"),
        (CASES["a rejection after the only stay"][0], "lifted-on-nothing"),
    ],
)
def test_the_day_is_asked_for_where_it_is_wanted(seed: Seed, code: str) -> None:
    reasons = [r for r in may_fill(seed.book(), "A", TODAY).reasons if r.code == code]
    assert reasons
    assert all("write the day of the test" in (r.mend or "") for r in reasons)


@pytest.mark.parametrize(
    ("test", "stays", "days"),
    [
        (_test("2026-10"), [], [(1, 31, False)]),
        (_test("2026-10-05"), [B], [(5, 5, True)]),
        (_test("2026-10", ", tested: 2026-10-05"), [B], [(5, 5, True)]),
        (_test("2026-10"), [A], [(2, 8, True)]),
        (_test("2026-10"), [A, B], [(2, 8, True), (20, 26, True)]),
        (_test("2026-10"), [A, REPAIR], [(2, 8, True)]),
        (_test("2026-10"), [REPAIR], [(1, 31, False)]),
        (_test("2026-10"), [_stay("2026-09-28", "2026-10-03")], [(1, 3, True)]),
        (_test("2026-10"), [_stay("2026-10", "2026-10-20")], [(1, 20, False)]),
        (_test("2026-10"), ["{on: 2026-10-20, to: T123, for: requalification}"], [(20, 31, True)]),
        (_test("2026-10-07", ", tested: 2026-10-05"), [], [(5, 5, True), (7, 7, True)]),
    ],
)
def test_on_which_days_a_test_can_have_been(
    test: str, stays: list[str], days: list[tuple[int, int, bool]]
) -> None:
    card = _seed([test], stays).book().cylinders["A"]
    found = possible_days(card, card.requalified[-1])
    october = [(dt.date(2026, 10, a), dt.date(2026, 10, b), told) for a, b, told in days]
    assert [(s.first, s.last, s.told) for s in found] == october


def test_a_stamp_of_the_next_test_says_no_day() -> None:
    test = "{on: 2026-10, method: hydrostatic, by: T123}"
    card = Seed({"requalified": f"[{test}]", "stamp_means": "next-due"}).book().cylinders["A"]
    assert possible_days(card, card.requalified[0]) == ()


@pytest.mark.parametrize(
    ("tests", "made", "first"),
    [
        ("[{on: 2024-04, method: hydrostatic}]", "made: 2013-10\n", "2013-10"),
        ("[{on: 2024-04, method: hydrostatic}]", "", "None"),
        ("[{on: 2013-11, method: hydrostatic, by: maker}]", "", "2013-11"),
        ("[{on: 2013-11, method: hydrostatic, by: maker}, {on: 2024-04, method: hydrostatic}]", "made: 2013-10\n", "2013-10"),
    ],
)  # fmt: skip
def test_a_later_test_is_not_the_makers(tests: str, made: str, first: str) -> None:
    card = make_book({"A": f"serial: K1\n{made}requalified: {tests}\n"}).cylinders["A"]
    assert f"{first_test(card)}" == first
