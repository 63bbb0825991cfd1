"""Upkeep of the station: entries in their place, and what they mean for filling."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import pytest
from acting import TODAY, Shelf
from msgspec.structs import replace

from tankbook.acts.correct import correct
from tankbook.acts.station_day import bump_tested, carbon_monoxide
from tankbook.acts.station_papers import bank_cleaned, examined, no_period
from tankbook.acts.station_parts import (
    change_gauge,
    check_gauge,
    check_machine,
    check_position,
    check_relief,
    check_whip,
    set_regulator,
    upkept,
)
from tankbook.acts.station_upkeep import bank_tested, change_filter, meter, raise_bank, read_banks
from tankbook.acts.striking import Wrong
from tankbook.records.edits import Refusal
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Method
from tankbook.rules.bad_air import banks_of_bad_air
from tankbook.rules.schedule import State, due_of_station
from tankbook.units import Concentration, GaugePressure, PartialDate, Period, RunningTime

STATION = """\
# the fill room
banks:
  - name: B1                 # by the door
    water_volume: 48 L
    working_pressure: 5000 psi
    period: 10 years
    requalified: [{on: 2024-03, method: hydrostatic, by: T123}]
    readings: [{on: 2026-11-24, pressure: 4400 psi}]
  - {name: B2, water_volume: 48 L, period: 5 years, requalified: [{on: 2024-03, method: proof, by: T123}]}
compressor: {name: C1, hours: [{on: 2026-11-24, reads: 412.5 h}]}
filters:
  - {name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}
whips:
  - {name: W1, fitted: 2026-05}
relief_valves: {name: R1, checked: {on: 2026-04-01}}
gauges:
  - {name: G1, master: yes, checked: [{on: 2026-04-01, against: TG-2, reads: 3010 psi, true: 3000 psi}]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
gauge_error: 60 psi
"""  # fmt: skip

BY = {"by": "MV", "on": TODAY}


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf(station=STATION)


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def h(value: float) -> RunningTime:
    return RunningTime.of(value, "h")


def station(shelf: Shelf) -> Any:
    return shelf.book.station


def test_readings_of_several_banks_are_one_act(shelf: Shelf) -> None:
    act = shelf.do(read_banks, {"b1": psi(4100), "B2": psi(3900)}, **BY)
    assert act.sentence == "Read B1 4100 psi, B2 3900 psi"
    assert (act.verb, act.subjects) == ("station read", ())
    one, two = station(shelf).banks
    assert [r.pressure for r in one.readings] == [psi(4400), psi(4100)]
    assert [(r.on, r.by) for r in two.readings] == [(TODAY, "MV")]
    assert "# by the door" in shelf.texts["station.yaml"]


def test_a_bank_above_its_marked_pressure_is_told(shelf: Shelf) -> None:
    act = shelf.do(read_banks, {"B1": psi(5100)}, **BY)
    assert act.notes[0] == (
        "B1 reads 5100 psi, above its marked 5000 psi: bleed it down; it is out of use until it is"
        " read lower"
    )


def test_the_regulator(shelf: Shelf) -> None:
    for set_to in (3442, 3000):
        shelf.do(set_regulator, psi(set_to), **BY)
        assert station(shelf).regulator_set == psi(set_to)


def test_the_meter_tells_what_the_filters_have_left(shelf: Shelf) -> None:
    act = shelf.do(meter, RunningTime.parse("425 h"), **BY)
    assert act.sentence == "Hour meter reads 425 h"
    assert act.notes == ("filter F1: 5 h of 50 h left",)
    act = shelf.do(meter, RunningTime.parse("441.5 h"), **BY)
    assert act.notes[0] == "filter F1 is 11.5 h past its life of 50 h: change it"
    assert act.notes[1].startswith("the station is CLOSED: filter F1 is 11.5 h past its life")


def test_a_new_filter_opens_the_station_and_reads_the_meter(shelf: Shelf) -> None:
    shelf.do(meter, RunningTime.parse("441.5 h"), by="MV", on=dt.date(2026, 11, 24))
    act = shelf.do(change_filter, "f1", RunningTime.parse("442 h"), **BY)
    assert act.sentence == "Changed filter F1 at 442 h"
    assert act.notes == ("filter F1: 50 h of 50 h left", "the station is open again")
    assert station(shelf).compressor.hours[-1].reads == RunningTime.parse("442 h")
    assert station(shelf).filters[0].changed[-1].at == RunningTime.parse("442 h")


def test_a_filter_takes_the_meter_as_read_that_day_and_no_older(shelf: Shelf) -> None:
    told = shelf.refuse(change_filter, "F1", None, **BY)
    assert "give --at (last read 412.5 h on 2026-11-24)" in told
    shelf.do(meter, RunningTime.parse("413 h"), **BY)
    act = shelf.do(change_filter, "F1", None, **BY)
    assert act.sentence == "Changed filter F1 at 413 h"
    assert len(station(shelf).compressor.hours) == 2


def test_a_filter_fitted_before_the_compressor_ran_again_reads_the_meter_all_the_same(
    shelf: Shelf,
) -> None:
    """A meter that was not read since its filter was changed ages no filter."""
    shelf.do(change_filter, "F1", RunningTime.parse("412.5 h"), **BY)
    assert [h.on for h in station(shelf).compressor.hours] == [dt.date(2026, 11, 24), TODAY]


def test_the_meter_does_not_run_back(shelf: Shelf) -> None:
    for plan, arguments in ((meter, ()), (change_filter, ("F1",))):
        told = shelf.refuse(plan, *arguments, RunningTime.parse("41 h"), **BY)
        assert "read 412.5 h on 2026-11-24 and does not run back" in told


def test_a_new_meter_begins_anew_and_what_the_old_one_counted_stays(shelf: Shelf) -> None:
    told = shelf.refuse(meter, h(0), instead_of=h(400), **BY)
    assert "read 412.5 h on 2026-11-24 and does not run back" in told
    act = shelf.do(meter, h(0), instead_of=h(413), **BY)
    assert act.sentence == "New hour meter, reads 0 h; the old one read 413 h"
    assert act.notes == ("filter F1: 17 h of 50 h left",)
    act = shelf.do(meter, h(18), **BY)
    assert act.notes[0] == "filter F1 is 1 h past its life of 50 h: change it"
    assert "read 18 h on" in shelf.refuse(meter, h(17), **BY)
    act = shelf.do(change_filter, "F1", h(18), **BY)
    assert act.notes == ("filter F1: 50 h of 50 h left", "the station is open again")
    act = shelf.do(meter, h(20), **BY)
    assert act.notes == ("filter F1: 48 h of 50 h left",)


def test_a_bank_test(shelf: Shelf) -> None:
    test = {"on": PartialDate.parse("2026-10"), "by": "T123", "today": TODAY}
    act = shelf.do(bank_tested, "B1", **test)
    assert act.sentence == "Hydrostatic test of bank B1 2026-10 by T123: passed"
    act = shelf.do(bank_tested, "B2", **test, failed="weeps at the weld")
    assert act.sentence.endswith("FAILED: weeps at the weld")
    assert act.notes[0] == "shut B2 off: it holds gas no more"
    assert "already on record" in shelf.refuse(bank_tested, "B1", **test)


def test_a_bank_test_brings_the_period_of_its_papers(shelf: Shelf) -> None:
    """Without one no test counts, and nothing else records it."""
    test = {"on": PartialDate.parse("2026-09"), "by": "T123", "today": TODAY}
    shelf.do(bank_tested, "B1", **test, period=Period.parse("10 years"))
    assert shelf.book.station.banks[0].period == Period.parse("10 years")
    test["on"] = PartialDate.parse("2026-10")
    act = shelf.do(bank_tested, "B1", **test, period=Period.parse("5 years"))
    assert "its period of 10 years no longer counts" in act.notes
    assert not any("is due again is not known" in note for note in act.notes)


def test_the_period_of_a_test_on_record_is_entered_by_the_same_line(shelf: Shelf) -> None:
    """Else whoever left it out, or misread it, could only edit the file."""
    test = {"on": PartialDate.parse("2026-10"), "by": "T123", "today": TODAY}
    shelf.do(bank_tested, "B1", **test)
    for text in ("5 years", "10 years"):
        act = shelf.do(bank_tested, "B1", **test, period=Period.parse(text))
        assert act.sentence == f"Bank B1 is to be tested every {text}"
        bank = shelf.book.station.banks[0]
        assert (str(bank.period), sum(r.on == test["on"] for r in bank.requalified)) == (text, 1)
    assert "already on record" in shelf.refuse(
        bank_tested, "B1", **test, period=Period.parse("10 years")
    )


def test_a_bank_without_a_period_that_is_tested_after_all(shelf: Shelf) -> None:
    shelf.do(no_period, "B1", why="ASME vessel", document="folder 3", by="MV", on=TODAY)
    test = {"on": PartialDate.parse("2026-10"), "by": "T123", "today": TODAY}
    act = shelf.do(bank_tested, "B1", **test, period=Period.parse("10 years"))
    assert act.notes[0] == (
        f"that it has no period, as MV decided on {TODAY}, no longer counts: "
        f"`tankbook correct station B1.no_period {TODAY} --why WHY`"
    )


@pytest.mark.parametrize("fails_first", [True, False])
def test_a_test_that_failed_beats_one_of_its_day_that_passed(
    fails_first: bool, shelf: Shelf
) -> None:
    test = {"on": PartialDate.parse("2026-10"), "by": "T123", "today": TODAY}
    for failed in ("it weeps", "")[:: 1 if fails_first else -1]:
        shelf.do(bank_tested, "B1", **test, failed=failed)
        assert "already on record" in shelf.refuse(bank_tested, "B1", **test, failed=failed)
    station = shelf.book.station
    assert station is not None
    [item] = [
        d
        for d in due_of_station(shelf.book, station, TODAY)
        if (d.part, d.obligation) == ("B1", Obligation.BANK_TEST)
    ]
    assert item.state is State.OVERDUE
    assert "failed" in item.why


PLANS: dict[str, tuple[Any, tuple[Any, ...], dict[str, Any]]] = {
    "read": (read_banks, ({"X": psi(1)},), BY),
    "regulator": (set_regulator, (psi(1),), BY),
    "hours": (meter, (RunningTime.parse("500 h"),), BY),
    "filter": (change_filter, ("X", RunningTime.parse("500 h")), BY),
    "gauge": (check_gauge, ("X",), {"reads": psi(1), "true": psi(1), "against": "T", **BY}),
    "master": (change_gauge, ("X",), {"master": True, **BY}),
    "whip": (check_whip, ("X",), BY),
    "position": (check_position, ("X",), BY),
    "relief": (check_relief, ("X",), BY),
    "bump": (bump_tested, ("X",), BY),
    "co": (carbon_monoxide, (Concentration.parse("1 ppm"),), {"instrument": "X", **BY}),
    "bank": (
        bank_tested,
        ("X",),
        {"on": PartialDate.parse("2026-10"), "by": "T1", "method": Method.PROOF, "today": TODAY},
    ),
}


@pytest.mark.parametrize("name", [n for n in PLANS if n not in {"regulator", "hours"}])
def test_a_part_that_is_not_there_is_refused(name: str, shelf: Shelf) -> None:
    plan, arguments, options = PLANS[name]
    assert "X is not in station.yaml (there is: " in shelf.refuse(plan, *arguments, **options)


@pytest.mark.parametrize("name", PLANS)
def test_without_a_station_there_is_nothing_to_keep_up(name: str) -> None:
    plan, arguments, options = PLANS[name]
    assert "no station is on record" in acting.shelf().refuse(plan, *arguments, **options)


@pytest.mark.parametrize("name", [n for n in PLANS if n != "bank"])
def test_who_did_it_is_asked(name: str, shelf: Shelf) -> None:
    plan, arguments, options = PLANS[name]
    assert "ZZ is not among the people" in shelf.refuse(plan, *arguments, **{**options, "by": "ZZ"})


def test_no_compressor_has_no_meter() -> None:
    text = "\n".join(line for line in STATION.splitlines() if not line.startswith("compressor"))
    shelf = acting.shelf(station=text + "\n")
    told = shelf.refuse(meter, RunningTime.parse("1 h"), **BY)
    assert told == "no compressor is in station.yaml"
    act = shelf.do(change_filter, "F1", RunningTime.parse("500 h"), **BY)
    assert act.sentence == "Changed filter F1 at 500 h"


@pytest.mark.parametrize(
    ("on", "at", "told"),
    [
        (TODAY, 1, "showed more before it (last read 412.5 h on 2026-11-24)"),
        (dt.date(2026, 9, 10), 500, "showed less since (last read 412.5 h on 2026-11-24)"),
        (TODAY, 413, ""),
        (dt.date(2026, 9, 10), 385, ""),
    ],
)
def test_upkeep_that_the_meter_cannot_have_shown_is_refused_for_one_reason(
    on: dt.date, at: float, told: str
) -> None:
    kept = "upkeep: [{name: oil, what: oil, hours: 100 h, done: [{on: 2026-09-01, at: 380 h}]}]\n"
    shelf = acting.shelf(station=STATION + kept)
    if not told:
        shelf.do(upkept, "oil", meter=h(at), by="MV", on=on)
        return
    said = shelf.refuse(upkept, "oil", meter=h(at), by="MV", on=on)
    assert said.startswith(f"upkeep oil was done at {at} h on {on}; the hour meter of C1 {told}")
    assert "filter" not in said


@pytest.mark.parametrize(("minute", "refused"), [("16:00", True), ("16:01", False)])
@pytest.mark.parametrize("first", ["cleaned", "raised"])
def test_a_bank_is_not_cleaned_and_raised_in_one_minute(
    first: str, minute: str, refused: bool
) -> None:
    """Nobody could say which was first: whether what was pumped is in it still."""
    shelf = acting.shelf()
    shelf.texts["station.yaml"] = (
        "compressor: {name: C1}\nbanks:\n  - {name: B1, water_volume: 48 L, gas: air}\n"
    )
    by = {"by": "MV", "on": acting.TODAY}
    acts = {
        "cleaned": lambda at: bank_cleaned(shelf.book, "B1", method="dried", at=at, **by),
        "raised": lambda at: raise_bank(shelf.book, "B1", to=GaugePressure.of(4000, "psi"), at=at, **by),
    }  # fmt: skip
    later = "raised" if first == "cleaned" else "cleaned"
    shelf.make(acts[first](dt.time(16)))
    got = acts[later](dt.time.fromisoformat(minute))
    assert isinstance(got, Refusal) is refused, got
    if isinstance(got, Refusal):
        assert f"B1 was {first} in that minute: --at HH:MM says which was first" in str(got)


OIL = """\
upkeep: [{name: oil, what: oil, of: C1, hours: 100 h, done: [{on: 2026-11-24, by: MV, at: 412 h}]}]
"""


def test_upkeep_further_than_the_meter_that_day_is_told_and_less_that_day_refused() -> None:
    """What is done after it cannot be counted by less; of the two the wrong one is struck out."""
    shelf = acting.shelf(station=STATION + OIL)
    shelf.do(meter, RunningTime.of(413, "h"), by="MV", on=TODAY)
    none = shelf.do(upkept, "oil", meter=RunningTime.of(413, "h"), by="MV", on=TODAY)
    assert not [n for n in none.notes if "read it again" in n]
    shelf = acting.shelf(station=STATION + OIL)
    shelf.do(meter, RunningTime.of(413, "h"), by="MV", on=TODAY)
    act = shelf.do(upkept, "oil", meter=RunningTime.of(423, "h"), by="MV", on=TODAY)
    (note,) = [n for n in act.notes if "read it again" in n]
    assert note.startswith("the hour meter of C1 read 413 h that day: read it again")
    assert "`tankbook station hours 423`" in note
    said = shelf.refuse(upkept, "oil", meter=RunningTime.of(413, "h"), by="MV", on=TODAY)
    assert f"upkeep oil was done at 423 h on {TODAY} already" in said
    assert f"`tankbook correct station oil.done {TODAY} --why WHY`" in said
    wrong = Wrong("oil.done", str(TODAY), "misread", {"at": "413 h"})
    at = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    shelf.do(correct, "station", wrong, by="MV", on=TODAY, now=at)
    station = shelf.book.station
    assert station is not None
    (item,) = [i for i in due_of_station(shelf.book, station, TODAY) if i.part == "oil"]
    assert not item.why


def test_a_decision_and_an_examination_hold_to_the_end_of_a_month(shelf: Shelf) -> None:
    shelf.texts["station.yaml"] = STATION + "schemes: [{name: WS1, of: [B1]}]\n"
    may = PartialDate.parse("2027-05")
    shelf.do(no_period, "B1", why="ASME vessel", document="folder 3", until=may, by="MV", on=TODAY)
    act = shelf.do(examined, "WS1", by="Example Inspection", next_=may, today=TODAY)
    assert act.sentence.endswith("next by 2027-05")
    station = shelf.book.station
    assert station is not None
    assert (station.banks[0].no_period[-1].until, station.schemes[0].examined[-1].next_) == (
        may,
        may,
    )
    for day, late in (("2027-05-31", False), ("2027-06-01", True)):
        found = due_of_station(shelf.book, station, dt.date.fromisoformat(day))
        asked = {Obligation.BANK_TEST, Obligation.EXAMINATION}
        items = [d for d in found if d.part == "B1" and d.obligation in asked]
        assert {d.next for d in items} == {dt.date(2027, 5, 31)}
        assert {d.state is State.OVERDUE for d in items} == {late}
    early = PartialDate.parse("2026-10")
    assert "is no later" in shelf.refuse(examined, "WS1", by="X", next_=early, today=TODAY)


BAD_AIR = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, readings: [{on: 2026-10-01, pressure: 2000 psi}, {on: 2026-11-18, pressure: 4400 psi}]}
compressor: {name: C1}
air_tests:
  - {on: 2026-10-12, by: Lab, source: C1, standard: cga-grade-e, result: pass}
  - {on: 2026-11-22, by: Lab, source: C1, standard: cga-grade-e, co: 14 ppm, result: fail}
  - {on: 2026-11-23, by: Lab, source: C1, standard: cga-grade-e, co: 1 ppm, result: pass}
"""  # fmt: skip


@pytest.mark.parametrize(
    ("on", "shows", "frees"),
    [(dt.date(2026, 10, 10), 4400, True), (TODAY, 0, True), (TODAY, 4300, False)],
)
def test_a_reading_that_lets_go_bad_air_says_so(on: dt.date, shows: float, frees: bool) -> None:
    shelf = acting.shelf(station=BAD_AIR)
    assert [bad.bank.name for bad in banks_of_bad_air(shelf.book, TODAY)] == ["B1"]
    now = replace(shelf.book, clock=TODAY)
    entered = read_banks(now, {"B1": psi(shows)}, by="MV", on=on)
    act = shelf.do(lambda book, **_: entered)
    assert (banks_of_bad_air(shelf.book, TODAY) == ()) is frees
    told = "WARNING: it lets go what was held: without it there is bad air in B1"
    assert (told in act.notes) is frees


@pytest.mark.parametrize(
    ("shown", "told"),
    [("1661", True), ("1688.5", True), ("1689.5", False), ("1690", False), ("1692", False)],
)
def test_a_meter_that_shows_less_than_upkeep_of_its_day_is_told(shown: str, *, told: bool) -> None:
    """Whichever of the two is entered first; the mend it names works as typed. A figure in whole
    hours is as exact as that."""
    shelf = acting.shelf(station=STATION + OIL)
    shelf.do(upkept, "oil", meter=h(1690), **BY)
    act = shelf.do(meter, RunningTime.parse(f"{shown} h"), **BY)
    line = f"`tankbook correct station oil.done {TODAY} --set at=HOURS --why WHY`"
    said = "WARNING: upkeep oil says that the meter showed 1690 h that day, which is more"
    assert any(n.startswith(said) and n.endswith(line) for n in act.notes) is told
    wrong = Wrong("oil.done", str(TODAY), "typed", {"at": "1661"})
    at = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    shelf.do(correct, "station", wrong, **BY, now=at)
    assert "1661 h" in shelf.texts["station.yaml"]


@pytest.mark.parametrize(("source", "told"), [("C1", True), ("B2", False)])
def test_a_machine_that_failed_is_told_of_as_a_bank_is_raised_from_it(
    source: str, told: bool
) -> None:
    machines = "compressor: {name: C1}\n"
    banks = "".join(f"  - {{name: B{n}, water_volume: 48 L, gas: air}}\n" for n in (1, 2))
    shelf = acting.shelf(station=f"{machines}banks:\n{banks}")
    shelf.do(check_machine, "C1", failed="third stage leaks oil", by="MV", on=TODAY)
    act = shelf.do(raise_bank, "B1", to=psi(3000), source=source, by="MV", on=TODAY, doubting=True)
    assert any("WARNING: compressor C1 failed its check" in n for n in act.notes) is told
