"""What was done or drawn, and leaves something to say: what a sample left out, what a look or a
refit answers, and what entries of a day that is over let go."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.air_test import air_test
from tankbook.acts.away import back, refit, send
from tankbook.acts.bench import Read
from tankbook.acts.inspect import Look, inspect
from tankbook.acts.reading import Shown, read_gauges
from tankbook.acts.station_papers import bank_cleaned
from tankbook.acts.walk import passed_except, steps_for
from tankbook.records.marks import read_marks
from tankbook.records.station import AirTest
from tankbook.records.words import Bled, TestResult
from tankbook.rules.board import board
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.rules.unmeasured import newest_unmeasured
from tankbook.units import Concentration, GaugePressure, Percent

STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
air_tests:
  - {on: 2026-11-02, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1}
regulator_set: 3000 psi
"""


def a_sample(on: dt.date = TODAY, odour: str | None = None, co: str = "1 ppm") -> AirTest:
    values = {"co": co, "co2": "420 ppm", "oil": "0.1 mg/m3", "hydrocarbons": "3 ppm"}
    return AirTest(
        on=on, by="Example Air Lab", standard="cga-grade-e", result=TestResult.PASS, odour=odour,
        source_="C1", oxygen=Percent.parse("20.9 %"),
        **{name: Concentration.parse(text) for name, text in values.items()},
    )  # fmt: skip


# --- what a sample left out -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("odour", "left"),
    [
        ("none", ()),
        ("geruchlos", ()),
        ("not tested", ("odour",)),
        ("n/a", ("odour",)),
        ("-", ("odour",)),
        ("nicht bestimmt", ("odour",)),
        (None, ("odour",)),
    ],
)
def test_an_odour_that_nobody_asked_is_told_wherever_the_test_is(
    odour: str | None, left: tuple[str, ...]
) -> None:
    shelf = acting.shelf(station=STATION)
    act = shelf.do(air_test, a_sample(odour=odour), None, TODAY)
    assert ("not measured: odour" in act.notes) is bool(left)
    assert newest_unmeasured(shelf.book) == left
    assert board(shelf.book, TODAY).air_unmeasured == left
    (item,) = (d for d in due(shelf.book, TODAY) if d.obligation == "air-test")
    assert ("did not measure odour" in item.why) is bool(left)


@pytest.mark.parametrize(("odour", "opens"), [("none", True), ("not tested", False), ("-", False)])
def test_an_odour_that_nobody_asked_answers_none(odour: str, opens: bool) -> None:
    shelf = acting.shelf(station=STATION)
    shelf.do(air_test, a_sample(dt.date(2026, 11, 24), "oily"), None, TODAY)
    shelf.do(air_test, a_sample(odour=odour), None, TODAY)
    stops = {r.code for r in may_fill(shelf.book, "RB-014", TODAY).refusals}
    assert (not any("air-test" in code for code in stops)) is opens


# --- a bank that is cleaned -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bank", "method", "oxygen"),
    [
        ("gas: air", "detergent, dried", False),
        ("gas: air", "cleaned for oxygen", True),
        ("gas: air, grade: oxygen", "detergent, dried", True),
        ("gas: nitrox32", "detergent, dried", True),
    ],
)
def test_a_bank_of_air_is_not_said_to_be_cleaned_for_oxygen(
    bank: str, method: str, oxygen: bool
) -> None:
    shelf = acting.shelf(station=STATION.replace("gas: air", bank))
    act = shelf.do(bank_cleaned, "B1", method=method, by="MV", on=TODAY)
    assert ("for oxygen, by" in act.sentence) is oxygen


# --- looked inside, and read empty ----------------------------------------------------------------


def a_look(shelf: Shelf, on: dt.date, at: dt.time | None = None) -> None:
    steps = steps_for(shelf.book.checklists["internal"], shelf["RB-014"])
    threads = Read(neck_thread="3/4-14 NPSM", valve_thread="3/4-14 NPSM")
    one = Look("RB-014", passed_except(steps, {}), threads)
    how: dict[str, Any] = {"checklist": "internal", "bled": Bled.HEARD, "by": "MV", "on": on}
    shelf.do(inspect, [one], at=at, **how)


def asked(shelf: Shelf) -> bool:
    codes = {r.code for r in may_fill(shelf.book, "RB-014", TODAY).refusals}
    return "returned-empty" in codes


def read(shelf: Shelf, pressure: float, day: int, hour: int = 9) -> None:
    at = dt.datetime(2026, 11, day, hour, tzinfo=dt.UTC)
    shown = [Shown("RB-014", GaugePressure.of(pressure, "psi"))]
    shelf.do(read_gauges, shown, by="MV", at=at)


@pytest.mark.parametrize(
    ("before", "since", "empty", "again"),
    [
        ((20, 9), None, 25, False),  # looked inside, and read empty later
        ((24, 15), None, 25, True),  # gas was in it after the look
        ((20, 9), (25, 8), 25, True),  # it showed gas since
    ],
)
def test_what_was_looked_inside_here_is_empty_and_no_news(
    before: tuple[int, int], since: tuple[int, int] | None, empty: int, again: bool
) -> None:
    shelf = acting.shelf()
    read(shelf, 500, *before)
    a_look(shelf, dt.date(2026, 11, 24), dt.time(11))
    if since is not None:
        read(shelf, 150, *since)
    read(shelf, 0, empty, 16)
    assert asked(shelf) is again


IN_HAND = "[{on: 2026-11-20, by: MV, work: [visual]%s}]"


@pytest.mark.parametrize(
    ("jobs", "again"),
    [
        ("[]", True),  # nobody logs where it was meanwhile
        (IN_HAND % "", False),
        (IN_HAND % ", ready: 2026-11-24, collected: 2026-11-24", True),
    ],
)
def test_a_customers_own_that_was_looked_inside_is_asked_once_it_was_away(
    jobs: str, again: bool
) -> None:
    own = books.with_lines(
        books.GOOD.replace("K118204", "K77"), use="customer", owner="C-1", jobs=jobs
    )
    shelf = acting.shelf(RB_014=own)
    read(shelf, 500, 20)
    a_look(shelf, dt.date(2026, 11, 24), dt.time(11))
    read(shelf, 0, 25, 16)
    assert asked(shelf) is again


def test_what_came_back_empty_is_told_what_to_type() -> None:
    shelf = acting.shelf()
    read(shelf, 500, 20)
    read(shelf, 0, 25)
    (told,) = (
        r for r in may_fill(shelf.book, "RB-014", TODAY).refusals if r.code == "returned-empty"
    )
    assert "`tankbook inspect RB-014`" in told.mend
    assert "`tankbook done-elsewhere RB-014`" in told.mend


# --- refitted after no flow was heard -------------------------------------------------------------


def test_a_refit_says_that_it_is_taken_for_full_no_more() -> None:
    shelf = acting.shelf()
    by = {"by": "MV", "on": TODAY}
    shelf.do(send, ["RB-014"], to="Northside", bled=Bled.NO_FLOW, **by)
    shelf.do(back, ["RB-014"], **by)
    full = may_fill(shelf.book, "RB-014", TODAY).refusals
    assert any("take it for full" in r.text for r in full)
    act = shelf.do(refit, ["RB-014"], **by)
    assert any("taken for full no more" in note for note in act.notes)
    assert not contents_of(shelf.book, "RB-014").no_flow
    left = [r.text for r in may_fill(shelf.book, "RB-014", TODAY).refusals]
    assert any("no flow was heard" in text for text in left), "it is held all the same"
    assert not any("take it for full" in text for text in left)


# --- a serial that was said -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("serial", "told"),
    [("ABC123", False), ("abc-123", False), ("", True), ("ABC124", True), ("K204411", True)],
)
def test_a_mark_that_was_read_as_the_serial_is_not_told_as_unread(serial: str, told: bool) -> None:
    marks = read_marks("EN 1964-2 ABC123 PW232 PT348")
    doubts = marks.doubts_beside(serial)
    assert any("ABC123" in doubt for doubt in doubts) is told
    assert set(doubts) <= set(marks.doubts)
