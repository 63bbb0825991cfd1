"""Upkeep of the station by days or running hours: what is due, what failed, what is out of use."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book

from tankbook.records.book import Book
from tankbook.records.life import tells_against
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.station import UpkeepDone
from tankbook.records.words import TestResult
from tankbook.rules.answers import Due, State
from tankbook.rules.checks import of_station
from tankbook.rules.gate import station_reasons
from tankbook.rules.out_of_use import EVERY, PartSort, StationPart, parts_out
from tankbook.rules.schedule import due_of_station

AIR = "air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}]\n"
C1 = "compressor: {name: C1, hours: [{on: 2026-01-01, reads: 300 h}, {on: 2026-11-01, reads: 412.5 h}]}\n"
TWO = (
    "compressors: [{name: C1, hours: [{on: 2026-11-01, reads: 412.5 h}]},"
    " {name: C2, hours: [{on: 2026-11-01, reads: 90 h}]}]\n"
)
REPLACED = (
    "compressor: {name: C1, hours: [{on: 2026-01-01, reads: 300 h},"
    " {on: 2026-06-01, reads: 0 h, instead_of: 390 h}, {on: 2026-11-01, reads: 20 h}]}\n"
)
BOOSTER = C1 + "boosters: [{name: BO1, hours: [{on: 2026-11-01, reads: 86.5 h}]}]\n"
INSTRUMENT = C1 + "instruments: [{name: DP-1, kind: dew-point}]\n"


def book_of(upkeep: str, pumps: str = C1, what: str = "oil") -> Book:
    text = f"{AIR}{pumps}upkeep: [{{name: U1, what: {what}, {upkeep}}}]\n"
    return make_book({"A": GOOD}, station=text)


def item_of(book: Book, day: dt.date = TODAY) -> Due:
    assert book.station is not None
    (found,) = [
        i for i in due_of_station(book, book.station, day) if i.obligation is Obligation.UPKEEP
    ]
    return found


OK, SOON, OVERDUE, MISSING = State.OK, State.SOON, State.OVERDUE, State.MISSING
YEAR, HUNDRED, BOTH = "every: 12 months", "hours: 100 h", "every: 12 months, hours: 100 h"
VOID = ", void: {why: wrong one, by: MV, on: 2026-11-02}"


def done(*entries: str) -> str:
    return f"done: [{', '.join(f'{{{each}}}' for each in entries)}]"


CASES: dict[str, tuple[str, str, State, str]] = {
    "by days": (f"{YEAR}, {done('on: 2026-05-01')}", C1, OK, ""),
    "days are over": (f"{YEAR}, {done('on: 2025-05-01')}", C1, OVERDUE, ""),
    "by hours": (f"{HUNDRED}, {done('on: 2026-09-01, at: 380 h')}", C1, OK, "67.5 h"),
    "hours nearly": (f"{HUNDRED}, {done('on: 2026-02-01, at: 320 h')}", C1, SOON, "7.5 h"),
    "hours are over": (f"{HUNDRED}, {done('on: 2026-01-01, at: 300 h')}", C1, OVERDUE, "12.5 h"),
    "days come first": (f"every: 1 month, {HUNDRED}, {done('on: 2026-09-01, at: 380 h')}", C1, OVERDUE, "None"),
    "hours come first": (f"{BOTH}, {done('on: 2026-01-01, at: 300 h')}", C1, OVERDUE, "12.5 h"),
    "neither yet": (f"{BOTH}, {done('on: 2026-09-01, at: 380 h')}", C1, OK, ""),
    "never": (BOTH, C1, MISSING, "no upkeep U1 on record"),
    "no interval": (done("on: 2026-09-01"), C1, MISSING, "no interval"),
    "hours, and no meter": (
        f"{HUNDRED}, {done('on: 2026-09-01, at: 380 h')}", "", MISSING, "hour meter"),
    "hours not said": (f"{HUNDRED}, {done('on: 2026-09-01')}", C1, MISSING, "is not recorded"),
    "struck out": (f"{YEAR}, {done('on: 2026-05-01' + VOID)}", C1, MISSING, "on record"),
    "yet to come": (f"{YEAR}, {done('on: 2027-05-01')}", C1, MISSING, "on record"),
    "failed": (
        f"{YEAR}, {done('on: 2026-05-01', 'on: 2026-06-01, result: fail')}", C1, OVERDUE,
        "failed its upkeep on 2026-06-01"),
    "passed another day": (
        f"{YEAR}, {done('on: 2026-06-01, result: fail', 'on: 2026-06-02')}", C1, OVERDUE, "failed"),
    "repaired": (
        f"{YEAR}, {done('on: 2026-06-01, result: fail', 'on: 2026-06-02, repaired: new one')}",
        C1, OK, ""),
    "repaired with nothing": (
        f"{YEAR}, {done('on: 2026-06-01, result: fail', 'on: 2026-06-02, repaired: none')}",
        C1, OVERDUE, "failed"),
    "not yet repaired": (
        f"{YEAR}, {done('on: 2026-06-01, result: fail', 'on: 2026-06-02, repaired: Not yet.')}",
        C1, OVERDUE, "failed"),
    "repaired in time to come": (
        f"{YEAR}, {done('on: 2026-06-01, result: fail', 'on: 2027-06-02, repaired: new one')}",
        C1, OVERDUE, "failed"),
    "a failure struck out": (
        f"{YEAR}, {done('on: 2026-05-01', 'on: 2026-06-01, result: fail' + VOID)}", C1, OK, ""),
    "a meter replaced": (f"{HUNDRED}, {done('on: 2026-05-01, at: 380 h')}", REPLACED, OK, "70 h"),
    "the second compressor": (
        f"{HUNDRED}, of: C2, {done('on: 2026-05-01, at: 10 h')}", TWO, OK, "20 h"),
    "which is not said": (
        f"{HUNDRED}, {done('on: 2026-05-01, at: 10 h')}", TWO, MISSING, "hour meter"),
    "nothing is called so": (
        f"{HUNDRED}, of: C9, {done('on: 2026-05-01, at: 380 h')}", C1, MISSING, "hour meter"),
    "a booster": (
        f"{HUNDRED}, of: BO1, {done('on: 2026-05-01, at: 80 h')}", BOOSTER, OK, "93.5 h"),
    "the meter ran back": (
        f"{HUNDRED}, {done('on: 2026-10-01, at: 500 h')}", C1, MISSING, "runs backward"),
}  # fmt: skip


@pytest.mark.parametrize(("upkeep", "pumps", "state", "says"), CASES.values(), ids=CASES)
def test_whichever_comes_first(upkeep: str, pumps: str, state: State, says: str) -> None:
    item = item_of(book_of(upkeep, pumps))
    assert item.state is state, item
    assert says in f"{item.why} {item.hours_left}"


@pytest.mark.parametrize(
    ("upkeep", "pumps", "named"),
    [
        ("on: 2026-10-01, at: 500 h", C1, "U1.done 2026-10-01 --set at=HOURS"),
        ("on: 2026-10-01, at: 380 h}, {on: 2026-10-01, at: 370 h", C1, "U1.done 2026-10-01#2 --set at=HOURS"),
        ("on: 2026-05-01, at: 380 h", C1.replace("412.5", "80"), "hours 2026-11-01 --set reads=HOURS"),
        (
            "on: 2026-05-01, at: 380 h",
            C1 + "filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 900 h}]}]\n",
            "F1.changed 2026-09-01 --set at=HOURS",
        ),
    ],
)  # fmt: skip
def test_of_a_meter_that_ran_back_the_entry_to_set_right_is_named(
    upkeep: str, pumps: str, named: str
) -> None:
    item = item_of(book_of(f"{HUNDRED}, {done(upkeep)}", pumps))
    assert item.state is MISSING
    assert f"`tankbook correct station {named} --why WHY`" in item.why, item.why


def test_a_meter_read_at_upkeep_counts_for_the_filter() -> None:
    book = book_of(
        f"{YEAR}, {done('on: 2026-11-10, at: 440 h')}",
        C1 + "filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}]\n",
    )
    assert book.station is not None
    items = {i.obligation: i for i in due_of_station(book, book.station, TODAY)}
    assert items[Obligation.FILTER].state is OVERDUE


FAILED = f"{YEAR}, {done('on: 2026-06-01, result: fail, note: pink')}"
COMPRESSOR = StationPart(PartSort.COMPRESSOR, "C1")


OUT: dict[str, tuple[str, str, str, StationPart | None]] = {
    "moisture": ("moisture-indicator", FAILED, C1, COMPRESSOR),
    "dew point": ("dew-point", FAILED, C1, COMPRESSOR),
    "of an instrument": ("dew-point", f"of: DP-1, {FAILED}", INSTRUMENT, COMPRESSOR),
    "of one of two": ("dew-point", f"of: C1, {FAILED}", TWO, COMPRESSOR),
    "of a booster": (
        "dew-point", f"of: BO1, {FAILED}", BOOSTER, StationPart(PartSort.BOOSTER, "BO1")),
    "of which is not said": ("dew-point", FAILED, TWO, EVERY),
    "of nothing that is there": ("dew-point", f"of: C9, {FAILED}", C1, EVERY),
    "oil": ("oil", FAILED, C1, None),
    "sensor": ("oxygen-sensor", FAILED, C1, None),
    "lapsed alone": ("dew-point", f"{YEAR}, {done('on: 2025-05-01')}", C1, None),
}  # fmt: skip


@pytest.mark.parametrize(("what", "upkeep", "pumps", "part"), OUT.values(), ids=OUT)
def test_what_is_out_of_use(what: str, upkeep: str, pumps: str, part: StationPart | None) -> None:
    book = book_of(upkeep, pumps, what)
    out = {each for each in parts_out(book, TODAY) if each.kind is not PartSort.EVERY}
    if part is EVERY:
        assert EVERY in parts_out(book, TODAY)
    else:
        assert out == ({part} if part else set())
    told = [r for r in station_reasons(book, TODAY) if "upkeep" in r.code]
    assert len(told) == 1
    if part is None:
        assert told[0].gate is Gate.WARN


def test_what_names_no_part_and_what_the_meter_contradicts_is_told() -> None:
    book = book_of(f"{YEAR}, of: C9")
    assert any("`of: C9`" in f.text for f in of_station(book, TODAY))
    book = book_of(f"{YEAR}, {done('on: 2026-10-01, at: 500 h')}")
    assert any("the hour meter showed less since" in f.text for f in of_station(book, TODAY))
    book = book_of(HUNDRED, TWO)
    assert any("which of the compressors" in f.text for f in of_station(book, TODAY))


def test_a_failure_tells_against_the_station_and_what_passed_does_not() -> None:
    assert tells_against(UpkeepDone(on=TODAY, result=TestResult.FAIL))
    assert not tells_against(UpkeepDone(on=TODAY))


ONE_READING = "compressor: {name: C1, hours: [{on: 2026-01-01, reads: 300 h}]}\n"


@pytest.mark.parametrize(
    ("upkeep", "pump", "by_days"),
    [
        (f"hours: 500 h, {done('on: 2026-01-01, at: 300 h')}", C1, True),
        (f"hours: 40 h, {done('on: 2026-11-01, at: 412.5 h')}", C1, False),
        (f"hours: 500 h, {done('on: 2026-01-01, at: 300 h')}", ONE_READING, True),
    ],
    ids=["years of running are left", "weeks of running are left", "no day can be reckoned"],
)
def test_of_days_and_hours_what_comes_first_is_told(upkeep: str, pump: str, by_days: bool) -> None:
    item = item_of(book_of(f"every: 12 months, {upkeep}", pump))
    assert item.state in {OK, SOON}
    assert (item.next is not None) is by_days
    assert (item.expected is not None) is not by_days
