"""The day at the station: opened and closed by its list; carbon monoxide and what answers it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import pytest
from acting import TODAY, Shelf

from tankbook.acts.station_day import bump_tested, carbon_monoxide, closed, opened
from tankbook.records.words import CoPlace
from tankbook.rules.gate import shut_by, station_reasons
from tankbook.rules.schedule import due
from tankbook.units import Concentration

STATION = """\
compressor: {name: C1}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, co: 1 ppm}
instruments:
  - {name: CO-1, kind: co-monitor}
  - {name: O2-1, kind: oxygen-analyser}
"""

LISTS = """\
opening: {steps: [drains, intake and wind, CO monitor, gauge zero]}
closing: {steps: [drains, banks shut]}
"""

BY = {"by": "MV", "on": TODAY}


def shut(shelf: Shelf, day: dt.date = TODAY) -> list[str]:
    return [r.code for r in shut_by(shelf.book, day)]


def ppm(value: float) -> Concentration:
    return Concentration.parse(f"{value:g} ppm")


ANSWER: dict[str, Any] = {
    "shows": ppm(2),
    "cause": "a van idled under the intake",
    "place": CoPlace.OUTLET,
    "instrument": "CO-1",
}


def test_an_alarm_closes_until_its_cause_is_named_and_the_outlet_reads_well() -> None:
    shelf = acting.shelf(station=STATION)
    assert shut(shelf) == []
    act = shelf.do(carbon_monoxide, ppm(14), alarm=True, **BY)
    assert act.sentence == "Carbon monoxide ALARM: 14 ppm"
    assert act.notes[0] == "stop the compressor, fill nothing, let nobody breathe it"
    assert shut(shelf) == ["co-alarm-open"]
    shelf.do(bump_tested, "CO-1", **BY)
    act = shelf.do(carbon_monoxide, **ANSWER, **BY)
    assert act.notes == ("the station is open again",)
    assert shut(shelf) == []


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"shows": None, "alarm": True, "cause": ""}, ""),
        ({"cause": ""}, "names no cause"),
        ({"cause": "?"}, "names no cause"),
        ({"place": CoPlace.ROOM}, "was not taken at the outlet"),
        ({"place": None}, "was not taken at the outlet"),
        ({"instrument": ""}, "names no CO monitor of the station"),
        ({"instrument": "O2-1"}, "names no CO monitor of the station"),
        ({"shows": ppm(11)}, "(11 ppm)"),  # above the limit: an alarm by itself
    ],
)
def test_what_answers_no_alarm(said: dict[str, Any], why: str) -> None:
    shelf = acting.shelf(station=STATION)
    shelf.do(bump_tested, "CO-1", **BY)
    shelf.do(carbon_monoxide, ppm(14), alarm=True, **BY)
    shelf.do(carbon_monoxide, **{**ANSWER, **said}, **BY)
    assert shut(shelf) == ["co-alarm-open"]
    assert why in shut_by(shelf.book, TODAY)[0].text


@pytest.mark.parametrize(
    ("bumped", "opens"),
    [
        ("[]", False),
        ("[{on: 2026-11-25, result: fail}]", False),
        ("[{on: 2026-11-24}]", True),
        ("[{on: 2026-11-23}]", False),
        ("[{on: 2026-11-25}, {on: 2026-11-25, result: fail}]", False),
        # that it passed when it was tried again mends nothing
        ("[{on: 2026-11-25, result: fail}, {on: 2026-11-25}]", False),
        ("[{on: 2026-11-20, result: fail}, {on: 2026-11-25}]", False),
        # of that day nobody says whether it was read before that was repaired
        ("[{on: 2026-11-25, result: fail}, {on: 2026-11-25, repaired: new cell}]", False),
        ("[{on: 2026-11-24, result: fail}, {on: 2026-11-25, repaired: new cell}]", False),
        ("[{on: 2026-11-23, result: fail}, {on: 2026-11-24, repaired: new cell}]", True),
        ("[{on: 2026-11-25, void: {why: wrong day, by: MV, on: 2026-11-25}}]", False),
    ],
)
def test_the_monitor_was_held_to_a_known_gas(bumped: str, opens: bool) -> None:
    text = STATION.replace("kind: co-monitor", f"kind: co-monitor, bumped: {bumped}")
    shelf = acting.shelf(station=text)
    shelf.do(carbon_monoxide, ppm(14), alarm=True, **BY)
    shelf.do(carbon_monoxide, **ANSWER, **BY)
    assert (shut(shelf) == []) is opens


def test_a_monitor_that_failed_is_repaired_and_answers_then() -> None:
    """What `due` calls failed answers no alarm, and one act mends both."""
    shelf = acting.shelf(station=STATION)
    shelf.do(carbon_monoxide, ppm(14), alarm=True, **BY)
    shelf.do(bump_tested, "CO-1", failed="showed nothing", at=dt.time(10), **BY)
    again = shelf.do(bump_tested, "CO-1", at=dt.time(10, 20), **BY)
    assert "that stands until --repaired WHAT" in again.notes[0]
    shelf.do(carbon_monoxide, **ANSWER, at=dt.time(11), **BY)
    assert shut(shelf) == ["co-alarm-open"]
    assert "which failed on 2026-11-25 and was not repaired" in shut_by(shelf.book, TODAY)[0].text
    assert next(d for d in due(shelf.book, TODAY) if d.part == "CO-1").failed
    told = shelf.refuse(bump_tested, "CO-1", failed="dead", repaired="new cell", **BY)
    assert "give one of them" in told
    mended = shelf.do(bump_tested, "CO-1", repaired="new cell, calibrated", at=dt.time(12), **BY)
    assert mended.sentence == "Bump test of CO-1: passed, repaired: new cell, calibrated"
    assert not next(d for d in due(shelf.book, TODAY) if d.part == "CO-1").failed
    # nothing was read since it was repaired; nor does who leaves the hour out say that it was
    assert shut(shelf) == ["co-alarm-open"]
    shelf.do(carbon_monoxide, **ANSWER, **BY)
    (told_of,) = shut_by(shelf.book, TODAY)
    assert "--with CO-1 --place outlet --cause WHAT --at HH:MM`" in told_of.text
    shelf.do(carbon_monoxide, **ANSWER, at=dt.time(12, 10), **BY)
    assert shut(shelf) == []


def test_what_a_closing_found_is_told_where_nobody_opens_by_a_list() -> None:
    shelf = acting.shelf(station=STATION + LISTS.splitlines()[1] + "\n")
    shelf.do(closed, failed="regulator creeps", at=dt.time(18, 0), **BY)
    for day in (TODAY, TODAY + dt.timedelta(days=3)):
        told = [r for r in station_reasons(shelf.book, day) if r.code == "opening-left"]
        assert [r.text for r in told] == [
            "the closing of 2026-11-25 at 18:00 found: regulator creeps (MV); nothing on record"
            " says what became of it"
        ]
        assert shut(shelf, day) == []
    assert "`tankbook station close --note WHAT`" in shelf.refuse(closed, at=dt.time(19, 0), **BY)
    shelf.do(closed, at=dt.time(19, 0), note="seat cleaned, holds at 3000 psi", **BY)
    assert not [r for r in station_reasons(shelf.book, TODAY) if r.code == "opening-left"]


def test_a_reading_without_an_alarm_closes_nothing() -> None:
    shelf = acting.shelf(station=STATION)
    shelf.do(carbon_monoxide, ppm(3), **BY)
    assert shut(shelf) == []
    assert "nothing is said" in shelf.refuse(carbon_monoxide, **BY)
    assert "a later reading" in shelf.refuse(carbon_monoxide, alarm=True, cause="van", **BY)


def test_where_the_list_is_kept_nothing_is_filled_before_it() -> None:
    shelf = acting.shelf(station=STATION + LISTS)
    assert shut(shelf) == ["opening-not-opened"]
    act = shelf.do(opened, at=dt.time(8, 10), failed="gauge zero: shows 50 psi", **BY)
    assert "found: gauge zero: shows 50 psi" in act.sentence
    assert shut(shelf) == ["opening-failed"]
    asked = shelf.refuse(opened, at=dt.time(8, 40), **BY)
    assert asked == (
        "the opening of 2026-11-25 at 08:10 found: gauge zero: shows 50 psi (MV); nothing on record"
        " says what became of it: look at it again, and say what became of it with --note, or what"
        " is still wrong with --fail (`tankbook station open --note WHAT`)"
    )
    act = shelf.do(opened, at=dt.time(8, 40), note="gauge zero: needle freed, shows 0", **BY)
    assert act.sentence == (
        "Opening of the station by MV: looked at: drains, intake and wind, CO monitor, gauge zero"
    )
    assert shut(shelf) == []
    assert shut(shelf, TODAY + dt.timedelta(days=1)) == ["opening-not-opened"]
    shelf.do(closed, at=dt.time(17, 0), **BY)
    assert shut(shelf) == ["opening-closed"]
    shelf.do(opened, at=dt.time(18, 0), **BY)
    assert shut(shelf) == []


def test_without_a_list_there_is_nothing_to_walk_through() -> None:
    shelf = acting.shelf(station=STATION)
    assert "the station keeps no list for it" in shelf.refuse(opened, **BY)
    assert "the station keeps no list for it" in shelf.refuse(closed, **BY)
    shelf = acting.shelf(station=STATION + LISTS)
    told = shelf.refuse(opened, failed="drains", note="x", **BY)
    assert told == "what was found stands in --fail: leave --note out"
