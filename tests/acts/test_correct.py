"""Corrections: the wrong entry stays readable and counts for nothing, the right one is entered."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import acting
import books
import pytest
from acting import TODAY, Shelf
from msgspec.structs import replace

from tankbook.acts.away import send
from tankbook.acts.correct import correct
from tankbook.acts.hold import hold
from tankbook.acts.striking import Wrong, with_unit
from tankbook.ledger.apply import changes_of
from tankbook.records.counter import CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.fields import ListOf, Nested, Record, keys_of
from tankbook.records.life import STRUCK
from tankbook.records.log import LogLine
from tankbook.records.node import Severity
from tankbook.records.settings import Person
from tankbook.records.station import FilterChange, Station, UpkeepDone
from tankbook.records.words import SentFor, Status
from tankbook.rules.checks import check
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.status import status_of
from tankbook.units import GaugePressure, RunningTime

NOW = dt.datetime.fromisoformat("2026-11-25T12:00:00+01:00")
BY = {"by": "MV", "on": TODAY, "now": NOW}
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
FILL = "2026-11-20T09:30:00+01:00,RB-014,fill,,3000 psi,64 degF,air,,,MV,,B1,,,,\n"
LATER = "2026-11-20T17:10:00+01:00,RB-014,fill,,2900 psi,64 degF,air,,,MV,,B1,,,,\n"
STATION = """\
banks: [{name: B-1, water_volume: 48 L, readings: [{on: 2026-11-24, pressure: 4400 psi}]}]
compressor: {hours: [{on: 2026-11-20, reads: 412.5 h}, {on: 2026-11-24, reads: 4125 h}]}
filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}]
whips: [{name: W1, checked: [{on: 2026-09-01, result: fail}]}]
air_tests: [{on: 2026-10-12, by: Lab, standard: cga-grade-e, result: fail}]
"""


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    shelf = acting.shelf(station=STATION)
    shelf.texts["fills/2026.csv"] = HEADER + FILL + LATER
    return shelf


def wrong(what: str, when: str = "", why: str = "wrong card", **changes: str) -> Wrong:
    return Wrong(what, when, why, changes)


def test_struck_out_with_reason_and_initials() -> None:
    shelf = acting.shelf()
    act = shelf.do(correct, "RB-014", wrong("inspected"), **BY)
    assert act.sentence == "Struck out RB-014 inspected 2026-02-09: wrong card"
    [entry] = shelf["RB-014"].inspected
    assert (entry.void.why, entry.void.by, entry.void.on) == ("wrong card", "MV", TODAY)
    assert "by: MV, checklist: annual, result: pass" in shelf.texts["cylinders/RB-014.yaml"]
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION


def test_the_right_entry_is_the_old_one_with_changes(shelf: Shelf) -> None:
    act = shelf.do(correct, "RB-014", wrong("inspected", on="2026-03-09", sticker=""), **BY)
    assert act.sentence.endswith("wrong card; entered with on=2026-03-09, sticker=")
    old, new = shelf["RB-014"].inspected
    assert old.void is not None
    assert (str(new.on), new.by, new.checklist, new.sticker) == ("2026-03-09", "MV", "annual", None)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_struck_out_hold_gives_the_cylinder_back(shelf: Shelf) -> None:
    shelf.do(hold, ["RB-014"], why="dent", by="MV", on=TODAY)
    shelf.do(correct, "RB-014", wrong("held"), **BY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_correction_of_who_got_it_leaves_it_away() -> None:
    shelf = acting.shelf()
    shelf.do(send, ["RB-014"], to="Northsid", for_=SentFor.REPAIR, by="MV", on=TODAY)
    shelf.do(correct, "RB-014", wrong("sent", to="Northside"), **BY)
    assert shelf["RB-014"].status is Status.AT_REPAIR
    assert [s.to for s in shelf["RB-014"].sent if s.void is None] == ["Northside"]


def test_the_entry_is_named_by_its_date_or_its_number(shelf: Shelf) -> None:
    for why in ("dent", "scratch"):
        shelf.do(hold, ["RB-014"], why=why, by="MV", on=TODAY)
    told = shelf.refuse(correct, "RB-014", wrong("held"), **BY)
    assert "2 entries fit (#1 2026-11-25 MV dent; #2 2026-11-25 MV scratch)" in told
    shelf.do(correct, "RB-014", wrong("held", "2026-11-25#2"), **BY)
    assert [h.why for h in shelf["RB-014"].held if h.void] == ["scratch"]
    told = shelf.refuse(correct, "RB-014", wrong("held", "2026-11-25#2"), **BY)
    assert (
        told
        == "RB-014 held: #2 2026-11-25 MV scratch is struck out already; what is right is recorded as if nothing had been"
    )
    told = shelf.refuse(correct, "RB-014", wrong("held", "2025"), **BY)
    assert told == (
        "RB-014 held: no entry that stands begins with '2025'; write the date of one of these: "
        "2026-11-25"
    )
    shelf.do(correct, "RB-014", wrong("held", "2026-11"), **BY)
    assert "no entry stands; what is right is recorded" in shelf.refuse(
        correct, "RB-014", wrong("held"), **BY
    )


def test_what_a_finding_led_to_is_pointed_at() -> None:
    text = books.GOOD.replace("result: pass, sticker: issued", "result: hold").replace(
        "in-service", "held"
    )
    shelf = acting.shelf(RB_014=text + "held: [{on: 2026-02-09, by: MV, why: threads}]\n")
    act = shelf.do(correct, "RB-014", wrong("inspected"), **BY)
    assert act.notes == (
        "its entry in `held` of 2026-02-09 stands: strike it out too if it is wrong",
    )
    assert shelf["RB-014"].status is Status.HELD


def test_a_bare_pressure_takes_the_ledgers_unit() -> None:
    shelf = acting.shelf(
        RB_014=books.GOOD
        + "rented: [{on: 2026-11-01, to: B-1, back: 2026-11-02, pressure: 60 psi}]\n"
    )
    shelf.do(correct, "RB-014", wrong("rented", pressure="600"), **BY)
    assert shelf["RB-014"].rented[-1].pressure == GaugePressure.of(600, "psi")


def test_a_service_of_the_valve_and_a_rental_of_a_set(shelf: Shelf) -> None:
    shelf.texts["cylinders/RB-014.yaml"] = books.GOOD.replace(
        "disc: 5000 psi}", "disc: 5000 psi, serviced: [{on: 2026-02-09, by: MV}]}"
    )
    shelf.do(correct, "RB-014", wrong("serviced", on="2026-02-10"), **BY)
    assert [str(s.on) for s in shelf["RB-014"].valve.serviced if s.void is None] == ["2026-02-10"]
    shelf.texts["sets/DB-02.yaml"] += "rented: [{on: 2026-11-01, to: B-1}]\n"
    shelf.do(correct, "DB-02", wrong("rented", to="B-2"), **BY)
    assert [r.to for r in shelf["DB-02"].rented if r.void is None] == ["B-2"]


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (wrong("painted"), "RB-014 has no list `painted`: it has requalified, inspected, held, "),
        (wrong("valve"), "RB-014 has no list `valve`"),
        (wrong("inspected", why=" "), "--why is empty"),
        (wrong("inspected", colour="red"), "--set colour: such an entry has no such key"),
        (wrong("inspected", void="x"), "--set void"),
        (wrong("inspected", result="fine"), "--set result: `fine` is not a known word"),
        (wrong("inspected", on=""), "--set on is missing"),
    ],
)
def test_what_cannot_be_corrected_so_is_refused(given: Wrong, text: str, shelf: Shelf) -> None:
    assert text in shelf.refuse(correct, "RB-014", given, **BY)


def test_who_corrects_signs(shelf: Shelf) -> None:
    told = shelf.refuse(correct, "RB-014", wrong("inspected"), **{**BY, "by": ""})
    assert "who did it is not said" in told


# --- the station ---------------------------------------------------------------------------------


def test_a_wrong_meter_reading_counts_no_more(shelf: Shelf) -> None:
    act = shelf.do(correct, "station", wrong("hours", "2026-11-24", reads="412.8 h"), **BY)
    assert act.sentence == (
        "Struck out station hours 2026-11-24: wrong card; entered with reads=412.8 h"
    )
    assert (act.verb, act.subjects) == ("correct", ())
    hours = [h.reads for h in shelf.book.station.compressor.hours if h.void is None]
    assert hours[-1] == RunningTime.parse("412.8 h")


@pytest.mark.parametrize(
    "what", ["B-1.readings", "b-1.readings", "F1.changed", "W1.checked", "air_tests", "air-tests"]
)
def test_every_list_of_the_station(what: str, shelf: Shelf) -> None:
    shelf.do(correct, "station", wrong(what), **BY)
    assert "void: {on: 2026-11-25, by: MV, why: wrong card}" in shelf.texts["station.yaml"]


def test_a_struck_out_failure_opens_the_station(shelf: Shelf) -> None:
    shelf.texts["station.yaml"] = STATION.replace(", result: fail}]}]\nair", "}]}]\nair").replace(
        "air_tests: [", "air_tests: [{on: 2026-10-11, standard: cga-grade-e, result: pass}, "
    ).replace("4125 h", "413 h").replace("water_volume: 48 L,", "water_volume: 48 L, period: 5 years, "
    "requalified: [{on: 2025-03, method: proof, by: T1}],")  # fmt: skip
    act = shelf.do(correct, "station", wrong("air_tests", "2026-10-12"), **BY)
    assert act.notes == ("the station is open again",)


EVERY_LIST = (
    STATION
    + """\
positions: [{name: W1, kind: whip, checked: [{on: 2026-09-02, result: fail}]}]
regulator: {checked: [{on: 2026-09-01, result: fail}]}
relief_valves: [{name: R1, checked: [{on: 2026-09-01}]}]
instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-09-01}]}]
co_readings: [{on: 2026-09-01, alarm: yes}]
opening: {steps: [drains], done: [{on: 2026-11-25}]}
upkeep: [{name: MI1, what: dew-point, every: 1 month, done: [{on: 2026-09-01, result: fail}]}]
"""
)


@pytest.mark.parametrize(
    ("what", "on"),
    [
        ("W1.checked", "2026-09-02"),  # a position and a whip of one name
        ("whips.w1.checked", "2026-09-01"),
        ("regulator.checked", "2026-09-01"),
        ("R1.checked", "2026-09-01"),
        ("CO-1.bumped", "2026-09-01"),
        ("co_readings", "2026-09-01"),
        ("MI1.done", "2026-09-01"),
        ("opening.done", "2026-11-25"),
        ("hours", "2026-11-24"),
    ],
)
def test_every_dated_entry_of_the_station_can_be_struck_out(what: str, on: str) -> None:
    shelf = acting.shelf(station=EVERY_LIST)
    act = shelf.do(correct, "station", wrong(what, on), **BY)
    assert act.sentence.startswith("Struck out ")
    text = shelf.texts["station.yaml"]
    assert text.count("why: wrong card") == 1
    assert text.index(on) < text.index("why: wrong card")


def test_a_list_the_station_has_not(shelf: Shelf) -> None:
    told = shelf.refuse(correct, "station", wrong("B9.readings"), **BY)
    assert (
        "of B-1: readings, raised, analysed, held, looked, cleaned, requalified, no_period; of compressor, W1: checked; of F1: changed"
        in told
    )
    assert "it has hours, masters, air_tests" in told


# --- the log -------------------------------------------------------------------------------------


def lines(shelf: Shelf) -> list[str]:
    return shelf.texts["fills/2026.csv"].splitlines()[3:]


def test_a_line_is_struck_out_by_a_line(shelf: Shelf) -> None:
    act = shelf.do(correct, "RB-014", wrong("fill", "2026-11-20T17"), **BY)
    assert act.sentence == "Struck out RB-014 fill 2026-11-20 17:10:00: wrong card"
    assert lines(shelf) == [
        "2026-11-25T12:00:00+01:00,RB-014,void,,,,,,,MV,,,,,2026-11-20T17:10:00+01:00 RB-014,wrong card"
    ]
    assert contents_of(shelf.book, "RB-014").pressure == GaugePressure.of(3000, "psi")


def test_the_right_line_is_a_second_later_so_that_it_is_not_struck_too(shelf: Shelf) -> None:
    shelf.do(correct, "RB-014", wrong("log", "17:10", to="2950", note="gauge misread"), **BY)
    assert lines(shelf)[1] == (
        "2026-11-20T17:10:01+01:00,RB-014,fill,,2950 psi,64 degF,air,,,MV,,B1,,,,gauge misread"
    )
    assert contents_of(shelf.book, "RB-014").pressure == GaugePressure.of(2950, "psi")


def test_a_line_of_the_wrong_cylinder_moves_to_the_right_one(shelf: Shelf) -> None:
    act = shelf.do(correct, "RB-014", wrong("fill", "2026-11-20 17", cylinder="RB-015"), **BY)
    assert act.subjects == ("RB-014", "RB-015")
    assert lines(shelf)[1].startswith("2026-11-20T17:10:00+01:00,RB-015,fill,")
    assert contents_of(shelf.book, "RB-015").pressure == GaugePressure.of(2900, "psi")


def test_a_line_of_no_cylinder_at_all(shelf: Shelf) -> None:
    shelf.texts["station.yaml"] = shelf.texts["station.yaml"].replace(
        "result: fail", "result: pass"
    )
    shelf.texts["fills/2026.csv"] = HEADER + FILL.replace("RB-014", "RB-041")
    assert shelf.faults() == ["RB-041 is not in the ledger"]
    shelf.do(correct, "RB-041", wrong("fill", cylinder="RB-014"), **BY)
    assert shelf.faults() == []


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (wrong("fill"), "2 lines fit (2026-11-20 09:30:00 fill 3000 psi; 2026-11-20 17:10:00 fill 2900 psi)"),
        (wrong("drain"), "RB-014: no line of a drain stands; `tankbook history RB-014`"),
        (wrong("fill", "2025"), "no line that stands is of '2025'; write the time of one of the last: 2026-11-20 09:30"),
        (wrong("fill", "17:10", to="lots"), "--set to: "),
        (wrong("fill", "17:10", colour="red"), "no such column"),
        (wrong("fill", "17:10", voids="x"), "no such column"),
        (wrong("fill", "17:10", cylinder="15"), "15 is not in the ledger; write the whole id"),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_corrected_so(given: Wrong, text: str, shelf: Shelf) -> None:
    assert text in shelf.refuse(correct, "RB-014", given, **BY)


def test_two_lines_of_one_moment_are_not_struck_out_together(shelf: Shelf) -> None:
    shelf.texts["fills/2026.csv"] += LATER.replace("fill", "reading").replace("air", "")
    told = shelf.refuse(correct, "RB-014", wrong("reading"), **BY)
    assert "striking out takes both" in told


def test_a_line_already_struck_out_is_not_found(shelf: Shelf) -> None:
    shelf.do(correct, "RB-014", wrong("fill", "17:10"), **BY)
    told = shelf.refuse(correct, "RB-014", wrong("fill", "17:10"), **BY)
    assert told == (
        "RB-014: no line that stands is of '17:10'; write the time of one of the last: 2026-11-20 09:30:00 fill 3000 psi"
    )


def test_a_struck_inspection_leaves_the_fills_since_without_one(shelf: Shelf) -> None:
    """What was done on the strength of a wrong entry is told by `validate`."""
    shelf.texts["station.yaml"] = shelf.texts["station.yaml"].replace(
        "result: fail", "result: pass"
    )
    act = correct(shelf.book, "RB-014", wrong("inspected"), **BY)
    assert isinstance(act, Act)
    read = {path: text.encode() for path, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()
    assert shelf.faults() == ["RB-014 was filled while out of inspection"] * 2


# --- who may, and what is left behind ------------------------------------------------------------

WITH_COUNTER = books.SETTINGS.replace("people:\n", "people:\n  JW: {role: counter}\n")
ADVERSE = {
    "held": "held: [{on: 2026-02-20, why: dent}]",
    "rejected": "rejected: [{on: 2026-02-20, why: pit}]",
    "condemned": "condemned: [{on: 2026-02-20, by: T123, why: crack}]",
    "lost": "lost: [{on: 2026-02-20}]",
    "rented": "rented: [{on: 2026-02-20, to: B-1, back: 2026-02-21, damage: dent}]",
}


@pytest.mark.parametrize("name", ADVERSE)
def test_what_tells_against_a_cylinder_is_struck_out_by_somebody_certified(name: str) -> None:
    status = {"rented": "in-service"}.get(name, name)
    text = books.GOOD.replace("status: in-service", f"status: {status}") + ADVERSE[name] + "\n"
    shelf = acting.shelf(RB_014=text)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    told = shelf.refuse(correct, "RB-014", wrong(name), **{**BY, "by": "JW"})
    assert told == (
        f"{name} 2026-02-20 tells against it: JW had no valid inspector certification on "
        "2026-11-25: let somebody certified do it (--by)"
    )
    shelf.do(correct, "RB-014", wrong(name), **BY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_plain_entry_is_struck_out_by_anybody_known() -> None:
    shelf = acting.shelf(
        RB_014=books.GOOD
        + "rented: [{on: 2026-02-20, to: B-1, back: 2026-02-21, pressure: 600 psi, valve: closed}]\n"
    )
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    shelf.do(correct, "RB-014", wrong("rented"), **{**BY, "by": "JW"})


KEPT = {
    "sent": "sent: [{on: 2026-02-20, to: N, for: repair, back: 2026-02-25}]",
    "rented": "rented: [{on: 2026-02-20, to: B-1}]",
    "refused": "refused: [{on: 2026-02-20, reasons: [neck crack seen]}]",
    "inspected": "inspected: [{on: 2026-02-09, by: MV, checklist: annual, result: pass, note: dull}]",
}


@pytest.mark.parametrize("what", KEPT)
def test_what_keeps_it_out_or_says_more_is_struck_out_by_somebody_certified(what: str) -> None:
    card = books.with_lines(books.GOOD, **{what: KEPT[what].partition(": ")[2]}, status=None)
    shelf = acting.shelf(RB_014=card)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    told = shelf.refuse(correct, "RB-014", wrong(what), **{**BY, "by": "JW"})
    assert "tells against it: JW had no valid inspector certification" in told


def test_a_failed_check_of_the_station_is_struck_out_by_somebody_certified(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    told = shelf.refuse(correct, "station", wrong("air_tests"), **{**BY, "by": "JW"})
    assert "tells against it: JW had no valid inspector certification" in told


@pytest.mark.parametrize(
    ("raised", "refused"), [("2026-11-11", True), ("2026-11-03", True), ("2026-11-13", False)]
)
def test_that_bad_air_was_pumped_into_a_bank_is_struck_out_by_somebody_certified(
    shelf: Shelf, raised: str, refused: bool
) -> None:
    values = (
        "standard: cga-grade-e, oxygen: 20.9 %, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm"
    )
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    shelf.texts["station.yaml"] = f"""
compressor: {{name: C1}}
banks:
  - name: B1
    water_volume: 48 L
    readings: [{{on: 2026-10-20, pressure: 4000 psi}}]
    raised: [{{on: {raised}, from: 0 psi, to: 4000 psi}}]
air_tests:
  - {{on: 2026-11-01, by: Lab, result: pass, source: C1, co: 1 ppm, {values}}}
  - {{on: 2026-11-10, by: Lab, result: fail, source: C1, co: 14 ppm, {values}}}
  - {{on: 2026-11-12, by: Lab, result: pass, source: C1, co: 1 ppm, {values}}}
"""
    strike = Wrong("B1.raised", raised, "was another bank", {})
    by = {**BY, "by": "JW", "on": TODAY}
    if refused:
        told = shelf.refuse(correct, "station", strike, **by)
        assert "it says that there is bad air in B1: JW had no valid inspector" in told
    else:
        shelf.do(correct, "station", strike, **by)


@pytest.mark.parametrize("list_", ["readings", "raised"])
@pytest.mark.parametrize(
    ("by", "reads", "refused"),
    [
        ("JW", "2800 psi", True),
        ("JW", "4400 psi", True),
        ("JW", "4700 psi", False),  # it stays out
        ("JW", "", True),
        ("MV", "2800 psi", False),
        ("MV", "", False),
    ],
)
def test_that_a_bank_stood_over_its_mark_is_struck_out_by_somebody_certified(
    shelf: Shelf, list_: str, by: str, reads: str, refused: bool
) -> None:
    key = {"readings": "pressure", "raised": "to"}[list_]
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    shelf.texts["station.yaml"] = f"""
compressor: {{name: C1}}
banks:
  - name: B1
    water_volume: 48 L
    working_pressure: 4500 psi
    {list_}: [{{on: {TODAY}, {key}: 4800 psi}}]
"""
    strike = Wrong(f"B1.{list_}", str(TODAY), "misread", {key: reads} if reads else {})
    signed = {**BY, "by": by, "on": TODAY}
    if refused:
        told = shelf.refuse(correct, "station", strike, **signed)
        assert "it says that more than its mark is in B1: JW had no valid inspector" in told
    else:
        shelf.do(correct, "station", strike, **signed)


@pytest.mark.parametrize(
    ("entries", "changes", "told"),
    [
        ("raised", {"source": "B1"}, "B1 is not filled from itself"),
        ("raised", {"from": "4200 psi"}, "it was not pumped from 4200 psi to 4000 psi"),
        ("raised", {"to": "300 psi"}, "it was not pumped from 500 psi to 300 psi"),
        ("raised", {"source": "B9"}, "--set source: the station has no `B9`"),
        ("raised", {"to": "3900 psi"}, ""),
        ("analysed", {"oxygen": "80 %", "helium": "60 %"}, "more than 100 % together"),
        ("analysed", {"oxygen": "20.8 %"}, ""),
    ],
)
def test_what_a_bank_act_refuses_no_right_entry_says(
    shelf: Shelf, entries: str, changes: dict[str, str], told: str
) -> None:
    shelf.texts["station.yaml"] = """
compressor: {name: C1}
banks:
  - name: B1
    water_volume: 48 L
    raised: [{on: 2026-11-11, from: 500 psi, to: 4000 psi}]
    analysed: [{on: 2026-11-12, oxygen: 20.9 %}]
"""
    day = {"raised": "2026-11-11", "analysed": "2026-11-12"}[entries]
    right = Wrong(f"B1.{entries}", day, "typed wrong", changes)
    if told:
        assert told in shelf.refuse(correct, "station", right, **{**BY, "on": TODAY})
    else:
        shelf.do(correct, "station", right, **{**BY, "on": TODAY})


def test_an_entry_is_not_struck_out_before_its_day(shelf: Shelf) -> None:
    early = {**BY, "on": dt.date(2026, 2, 1)}
    told = shelf.refuse(correct, "RB-014", wrong("inspected"), **early)
    assert told == (
        "it is dated 2026-02-09, after 2026-02-01; strike it out on that day or later (--on DAY)"
    )


AHEAD = {
    "a look": "inspected",
    "a reading": "2026-11-28T10:00:00+01:00,RB-014,reading,,1000 psi,,,,,MV,,,,,,\n",
    "a fill": "2026-11-28T10:00:00+01:00,RB-014,fill,,2900 psi,64 degF,air,,,MV,,B1,,,,\n",
}


@pytest.mark.parametrize("kind", AHEAD)
def test_what_a_clock_wrote_ahead_is_struck_out_before_its_day(kind: str) -> None:
    """Else its cylinder is a NO till then, and nothing can be done about it."""
    shelf = acting.shelf()
    path, when = "cylinders/RB-014.yaml", "2026-11-28"
    if kind == "a look":
        shelf.texts[path] = shelf.texts[path].replace("2026-02-09", when)
    else:
        shelf.texts["fills/2026.csv"] = HEADER + FILL + AHEAD[kind]

    def said(day: dt.date, clock: dt.date) -> str:
        book = replace(shelf.book, clock=clock).as_known_on(day)
        return " ".join(f"{f.code}: {f.text}" for f in check(book, day))

    assert "in-the-future" in said(TODAY, TODAY)
    book = replace(shelf.book, clock=TODAY)
    what = "inspected" if kind == "a look" else "log"
    act = correct(book, "RB-014", wrong(what, when), **BY)
    assert isinstance(act, Act)
    read = {name: text.encode() for name, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()
    then = dt.date(2026, 11, 28)
    for day, clock in ((TODAY, TODAY), (dt.date(2026, 11, 20), TODAY), (then, TODAY), (then, then)):
        told = said(day, clock)
        assert not {"in-the-future", "void-of-nothing", "struck-out-unsigned"} & set(
            told.replace(":", " ").split()
        )
        again = kind == "a fill" and day == then
        assert ("void-by-nobody" in told) is again
    assert any("strike it out anew then" in note for note in act.notes) is (kind == "a fill")


AHEAD_OF_ONE = {
    "held": "{on: 2026-12-25, by: MV, why: dent}",
    "rented": "{on: 2026-12-25, by: MV, to: B-1, until: 2026-12-28}",
    "handed_over": "{on: 2026-12-25, by: MV, to: C-1}",
    "lost": "{on: 2026-12-25, by: MV}",
    "sent": "{on: 2026-12-25, by: MV, to: test house, for: requalification}",
    "rejected": "{on: 2026-12-25, by: MV, why: pit}",
    "condemned": "{on: 2026-12-25, by: MV, why: pit}",
}
CLOCKS = (TODAY, dt.date(2026, 12, 24), dt.date(2026, 12, 25), dt.date(2027, 1, 5))


@pytest.mark.parametrize("dated", ["", "2026-11-24"])
@pytest.mark.parametrize("what", AHEAD_OF_ONE)
def test_what_is_dated_ahead_is_struck_out_or_dated_anew_before_its_day(
    what: str, dated: str
) -> None:
    """A day mistyped kept a cylinder at NO till it came, with a hand edit as the only mend."""
    shelf = acting.shelf()
    path = "cylinders/RB-014.yaml"
    shelf.texts[path] += f"{what}:\n  - {AHEAD_OF_ONE[what]}\n"

    def judged(clock: dt.date) -> set[str]:
        book = replace(shelf.book, clock=clock).as_known_on(clock)
        found = [f for f in check(book, clock) if path in str(f.where)]
        return {f.code for f in found if f.severity is Severity.FAULT}

    assert "in-the-future" in judged(TODAY)
    meant = wrong(what, "2026-12-25", **({"on": dated} if dated else {}))
    book = replace(shelf.book, clock=TODAY)
    act = correct(book, "RB-014", meant, **BY)
    assert isinstance(act, Act), act
    read = {name: text.encode() for name, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()
    assert [judged(clock) for clock in CLOCKS] == [set()] * len(CLOCKS), shelf.texts[path]
    now = replace(shelf.book, clock=TODAY).as_known_on(TODAY)
    assert bool(may_fill(now, "RB-014", TODAY, station=False).refusals) is bool(dated)


def test_whoever_is_not_certified_strikes_out_nothing_adverse_ahead_of_its_day() -> None:
    shelf = acting.shelf()
    shelf.texts["cylinders/RB-014.yaml"] += "held: [{on: 2026-12-25, by: MV, why: dent}]\n"
    book = replace(shelf.book, clock=TODAY)
    people = {**book.settings.people, "DP": Person(role="fill operator")}
    book = replace(book, settings=replace(book.settings, people=people))
    got = correct(book, "RB-014", wrong("held", "2026-12-25"), **(BY | {"by": "DP"}))
    assert isinstance(got, Refusal)
    assert "tells against it" in " ".join(got.reasons)


OTHERS_AHEAD = {
    ("DB-02", "labelled"): "{on: 2026-11-28, by: MV, kind: tag, limit: 3442 psi}",
    ("DB-02", "made_up"): "{on: 2026-11-28, by: MV, bled: heard}",
    ("DB-02", "rented"): "{on: 2026-11-28, by: MV, to: B-1}",
}


@pytest.mark.parametrize(("whose", "what"), OTHERS_AHEAD)
def test_what_is_struck_out_of_a_set_ahead_of_its_day_leaves_no_fault(
    whose: str, what: str
) -> None:
    """What `correct` takes, no check faults, on whatever day."""
    shelf = acting.shelf()
    path = f"sets/{whose}.yaml"
    shelf.texts[path] = f"{shelf.texts.get(path, '')}{what}:\n  - {OTHERS_AHEAD[whose, what]}\n"

    def faults(day: dt.date, clock: dt.date) -> set[str]:
        book = replace(shelf.book, clock=clock).as_known_on(day)
        return {f.code for f in check(book, day) if path in str(f.where)}

    assert faults(TODAY, TODAY) == {"in-the-future"}
    act = correct(replace(shelf.book, clock=TODAY), whose, wrong(what, "2026-11-28"), **BY)
    assert isinstance(act, Act)
    read = {name: text.encode() for name, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()
    then = dt.date(2026, 11, 28)
    for day, clock in ((TODAY, TODAY), (dt.date(2026, 11, 20), TODAY), (then, TODAY), (then, then)):
        assert faults(day, clock) == set()


LIFTED = books.GOOD.replace(
    "  - {on: 2024-03, method: hydrostatic, by: maker}",
    "  - {on: 2024-03, method: hydrostatic, by: maker}\n"
    "  - {on: 2026-03-01, method: hydrostatic, by: T1, clears: [rejected 2026-02-20]}",
) + ("rejected: [{on: 2026-02-20, why: pit, lifted: 2026-03-02, lifted_by: MV, lifted_why: ok}]\n")


def test_what_something_was_decided_on_is_struck_out_after_the_decision() -> None:
    shelf = acting.shelf(RB_014=LIFTED)
    told = shelf.refuse(correct, "RB-014", wrong("requalified", "2026-03"), **BY)
    assert told == (
        "RB-014: its rejection of 2026-02-20 is lifted, and no test or inspection answers it; take "
        "that back first: `tankbook correct RB-014 rejected DATE --why WHY --set lifted= --set "
        "lifted_by= --set lifted_why=`"
    )
    back = {"lifted": "", "lifted_by": "", "lifted_why": ""}
    shelf.do(correct, "RB-014", wrong("rejected", **back), **BY)
    assert shelf["RB-014"].status is Status.REJECTED
    shelf.do(correct, "RB-014", wrong("requalified", "2026-03"), **BY)


def test_a_rejection_behind_which_a_failed_test_stands_is_not_struck_out_alone() -> None:
    text = books.GOOD.replace("status: in-service", "status: rejected").replace(
        "  - {on: 2024-03, method: hydrostatic, by: maker}",
        "  - {on: 2024-03, method: hydrostatic, by: maker}\n"
        "  - {on: 2026-03-01, method: hydrostatic, by: T1, result: fail}",
    )
    shelf = acting.shelf(RB_014=text + "rejected: [{on: 2026-03-01, by: T1, why: leak}]\n")
    told = shelf.refuse(correct, "RB-014", wrong("rejected"), **BY)
    assert "it failed its hydrostatic test of 2026-03-01, and no later pass names that" in told
    assert "strike that out first if it is wrong too, or set it aside" in told
    shelf.do(correct, "RB-014", wrong("requalified", "2026-03"), **BY)
    shelf.do(correct, "RB-014", wrong("rejected"), **BY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


# --- what was taken out --------------------------------------------------------------------------


def test_that_something_was_taken_out_of_a_card_on_purpose() -> None:
    shelf = acting.shelf()
    act = shelf.do(correct, "RB-014", wrong("removed", " held  2026-02-10 "), **BY)
    assert act.sentence == "Taken out on purpose: RB-014: held 2026-02-10: wrong card"
    assert act.subjects == ("RB-014",)
    [entry] = shelf["RB-014"].removed
    assert (entry.on, entry.by, entry.what, entry.why) == (
        TODAY,
        "MV",
        "held 2026-02-10",
        "wrong card",
    )
    again = shelf.refuse(correct, "RB-014", wrong("removed", "Held 2026-02-10"), **BY)
    assert "was taken out is on record already" in again


def test_that_a_file_was_taken_out_of_the_ledger_on_purpose() -> None:
    shelf = acting.shelf()
    shelf.texts["tankbook.yaml"] = books.SETTINGS
    act = shelf.do(correct, "ledger", wrong("removed", "rules/shop.yaml"), **BY)
    assert act.sentence == "Taken out on purpose: rules/shop.yaml: wrong card"
    assert [r.what for r in shelf.book.settings.removed] == ["rules/shop.yaml"]


@pytest.mark.parametrize(
    ("id_", "given", "text"),
    [
        ("RB-014", wrong("removed"), "--what is empty"),
        ("RB-014", wrong("removed", "held 2026-02-10", why=" "), "--why is empty"),
        ("RB-014", wrong("removed", "a\x1bb"), "is not one line of plain text"),
        ("RB-014", wrong("removed", "a" * 501), "is longer than 500 characters"),
        ("RB-014", wrong("removed", "held 2026-02-10", on="2026"), "leave --set out"),
        ("RB-014", wrong("removed", "inspected 2026-02-09"), "strike it out, with `tankbook correct RB-014 inspected 2026-02-09"),
        ("RB-099", wrong("removed", "held 2026-02-10"), "say it of the ledger, `tankbook correct ledger removed"),
        ("DB-02", wrong("removed", "rented 2026-02-10"), "say it of the ledger"),
    ],
)  # fmt: skip
def test_what_cannot_be_said_of_what_was_taken_out(id_: str, given: Wrong, text: str) -> None:
    assert text in acting.shelf().refuse(correct, id_, given, **BY)


def test_who_says_that_something_was_taken_out_is_certified() -> None:
    shelf = acting.shelf()
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    told = shelf.refuse(correct, "ledger", wrong("removed", "x"), **{**BY, "by": "JW"})
    assert "JW had no valid inspector certification" in told


# --- the note of a card, and of one item of a list


NOTED = books.GOOD + 'note: "out of test, short boot"\n'


def test_the_note_of_a_card_is_reworded_and_the_old_one_stays_readable() -> None:
    shelf = acting.shelf(RB_014=NOTED)
    act = shelf.do(correct, "RB-014", wrong("note", why="plain words", note="short boot"), **BY)
    assert act.sentence == "Reworded the note of RB-014: plain words; it says: short boot"
    card = shelf["RB-014"]
    assert card.note == "short boot"
    (kept,) = card.removed
    assert (kept.what, kept.why) == ("note: out of test, short boot", "plain words")


def test_a_note_as_long_as_one_may_be_is_kept_whole() -> None:
    long = "out of test, " + "x" * 487
    shelf = acting.shelf(RB_014=books.GOOD + f'note: "{long}"\n')
    shelf.do(correct, "RB-014", wrong("note", why="plain words", note="short boot"), **BY)
    parts = [each.what.removeprefix("note: ") for each in shelf["RB-014"].removed]
    assert "".join(parts) == long


@pytest.mark.parametrize(
    ("text", "given", "by", "told"),
    [
        (NOTED, wrong("note"), "MV", "--set note=TEXT"),
        (NOTED, wrong("note", note=""), "MV", "--set note=TEXT"),
        (NOTED, wrong("note", note="x", owner="y"), "MV", "and nothing else"),
        (NOTED, wrong("note", note="out of test, short boot"), "MV", "says already"),
        (books.GOOD, wrong("note", note="x"), "MV", "RB-014 has no note of its own"),
        (NOTED, wrong("note", note="x"), "JW", "JW had no valid inspector certification"),
    ],
)
def test_what_a_note_is_not_reworded_to(text: str, given: Wrong, by: str, told: str) -> None:
    shelf = acting.shelf(RB_014=text)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    assert told in shelf.refuse(correct, "RB-014", given, **{**BY, "by": by})


def test_a_note_that_tells_nothing_against_it_is_reworded_by_anybody() -> None:
    shelf = acting.shelf(RB_014=books.GOOD + "note: blue boot\n")
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    shelf.do(correct, "RB-014", wrong("note", note="green boot"), **{**BY, "by": "JW"})
    assert shelf["RB-014"].note == "green boot"


TWO_FOUND = books.GOOD.replace(
    "result: pass, sticker: issued",
    "result: pass, findings: [{step: valve-body, result: note, note: cracked knob}, {step: neck-threads, result: note, note: thread ok}]",
)


@pytest.mark.parametrize(
    ("given", "notes"),
    [
        (wrong("inspected", **{"findings[2].note": "clean"}), ["cracked knob", "clean"]),
        (wrong("inspected", **{"findings[2].note": ""}), ["cracked knob", None]),
        (
            Wrong(
                "inspected",
                "",
                "reworded",
                {"findings": "{..}"},
                {"findings": {"step": "valve-body", "result": "note", "note": "new knob"}},
            ),
            ["new knob"],
        ),
    ],
)
def test_one_item_of_a_list_is_set_right(given: Wrong, notes: list[str | None]) -> None:
    shelf = acting.shelf(RB_014=TWO_FOUND)
    shelf.do(correct, "RB-014", given, **BY)
    old, new = shelf["RB-014"].inspected
    assert old.void is not None
    assert [f.note for f in new.findings] == notes


@pytest.mark.parametrize("name", ["findings[3].note", "findings[0].note", "checklist[1].note"])
def test_an_item_that_is_not_there_is_not_set_right(name: str) -> None:
    shelf = acting.shelf(RB_014=TWO_FOUND)
    told = shelf.refuse(correct, "RB-014", wrong("inspected", **{name: "x"}), **BY)
    assert "the entry has no" in told


LOOKS_LIKE_IT = FILL.replace("RB-014", "rb-014").replace("3000", "4500")
STRUCK_LIKE_IT = "2026-11-21T09:30:00+01:00,rb-014,void,,,,,,,ZZ,,,,,2026-11-20T09:30:00+01:00 rb-014,no such id\n"


def test_what_nobody_who_may_struck_out_is_struck_out_again() -> None:
    shelf = acting.shelf()
    shelf.texts["fills/2026.csv"] = HEADER + LOOKS_LIKE_IT + STRUCK_LIKE_IT
    assert "strange-void-by-nobody" in {f.code for f in check(shelf.book, TODAY)}
    shelf.do(correct, "rb-014", wrong("fill", "2026-11-20", why="another shop's"), **BY)
    assert "strange-void-by-nobody" not in {f.code for f in check(shelf.book, TODAY)}


def test_two_lines_of_one_second_are_told_as_two_and_struck_out_one_by_one() -> None:
    shelf = acting.shelf()
    shelf.texts["fills/2026.csv"] = HEADER + FILL + FILL.replace("3000", "2900")
    act = correct(shelf.book, "RB-014", wrong("fill", "2026-11-20", why="typed twice"), **BY)
    assert isinstance(act, Act)
    assert act.notes[0] == "2 lines of that second were struck out: log the one that is true once more"  # fmt: skip
    read = {path: text.encode() for path, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()
    assert "void-by-nobody" in {f.code for f in check(shelf.book, TODAY)}
    shelf.do(correct, "RB-014", wrong("fill", "2026-11-20", why="of another"), **BY)
    assert "void-by-nobody" not in {f.code for f in check(shelf.book, TODAY)}


DRAIN = "2026-11-20T10:00:00+01:00,RB-014,drain,2900 psi,0 psi,,,,,MV,,,,,,\n"
NEXT = "2026-11-20T10:00:{},RB-014,reading,,900 psi,,,,,MV,,,,,,\n"


@pytest.mark.parametrize(
    ("others", "at"),
    [
        ([], "10:00:01"),
        ([NEXT.format("02+01:00")], "10:00:01"),
        # the next line is a second later: the right one comes to stand before it all the same
        ([NEXT.format("01+01:00")], "09:59:59"),
        ([NEXT.format("01+01:00").replace("10:00:01", "09:59:59")], "10:00:01"),
        (
            [
                NEXT.format("01+01:00").replace("10:00:01", "09:59:59"),
                NEXT.format("01+01:00").replace("reading", "drain"),
            ],
            "10:00:02",
        ),
    ],
)
def test_a_right_line_stands_where_the_wrong_one_stood(
    shelf: Shelf, others: list[str], at: str
) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + FILL + "".join(sorted([DRAIN, *others]))
    told = Wrong("drain", "2026-11-20T10:00:00", "misread", {"from": "2880 psi"})
    shelf.do(correct, "RB-014", told, **BY)
    assert f"2026-11-20T{at}+01:00,RB-014,drain,2880 psi,0 psi" in shelf.texts["fills/2026.csv"]


def test_a_right_line_stays_on_its_day(shelf: Shelf) -> None:
    midnight = DRAIN.replace("10:00:00", "00:00:00")
    beside = NEXT.format("01+01:00").replace("10:00:01", "00:00:01")
    shelf.texts["fills/2026.csv"] = HEADER + midnight + beside + FILL
    told = Wrong("drain", "2026-11-20T00:00:00", "misread", {"from": "2880 psi"})
    shelf.do(correct, "RB-014", told, **BY)
    assert "2026-11-20T00:00:02+01:00,RB-014,drain,2880 psi" in shelf.texts["fills/2026.csv"]


@pytest.mark.parametrize(
    ("what", "on"),
    [
        ("whips.w1.checked", "2026-09-01"),
        ("regulator.checked", "2026-09-01"),
        ("MI1.done", "2026-09-01"),
    ],
)
def test_what_keeps_a_part_out_of_use_is_struck_out_by_somebody_certified(
    what: str, on: str
) -> None:
    shelf = acting.shelf(station=EVERY_LIST)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    told = shelf.refuse(correct, "station", wrong(what, on), **{**BY, "by": "JW"})
    assert "JW had no valid inspector certification" in told
    act = shelf.do(correct, "station", wrong(what, on), **BY)
    assert act.sentence.startswith("Struck out ")


def test_an_alarm_keeps_the_station_shut_whoever_strikes_it_out_uncertified() -> None:
    shelf = acting.shelf(station=STATION + "co_readings: [{on: 2026-11-20, alarm: yes}]\n")
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    told = shelf.refuse(correct, "station", wrong("co_readings"), **{**BY, "by": "JW"})
    assert "JW had no valid inspector certification" in told
    shelf.do(correct, "station", wrong("co_readings"), **BY)


def nouns(noun: type[Record]) -> Iterator[type[Record]]:
    """Every kind of entry that can be struck out of a file, or of a part in it."""
    for each in keys_of(noun).values():
        kind = each.kind.kind if isinstance(each.kind, ListOf) else each.kind
        if isinstance(kind, Nested):
            if "void" in keys_of(kind.record):
                yield kind.record
            else:
                yield from nouns(kind.record)


def test_every_kind_of_entry_says_who_may_strike_it_out() -> None:
    every = {each for noun in (Cylinder, Doubles, Station, CounterFile) for each in nouns(noun)}
    assert every == set(STRUCK)


METER = books.STATION + (
    "compressor: {name: C1, hours: [{on: 2026-11-01, reads: 400 h}, {on: 2026-11-24, reads: 4125 h}]}\n"
    "filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}]\n"
)


@pytest.mark.parametrize(
    ("what", "when", "certified"),
    [
        ("hours", "2026-11-24", True),  # the filter is past its life by it
        ("hours", "2026-11-01", False),
        ("F1.changed", "2026-09-01", False),
    ],
)
def test_what_closes_the_station_is_struck_out_by_somebody_certified(
    what: str, when: str, certified: bool
) -> None:
    shelf = acting.shelf(station=METER)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    by = {**BY, "by": "JW"}
    if certified:
        told = shelf.refuse(correct, "station", wrong(what, when), **by)
        assert "out of use, or past its time, is filter F1: JW had no valid" in told
        shelf.do(correct, "station", wrong(what, when), **BY)
    else:
        shelf.do(correct, "station", wrong(what, when), **by)


@pytest.mark.parametrize(
    ("id_", "what", "told"),
    [
        ("D", "refused", "that is written of its cylinders, `tankbook correct A refused` and"),
        ("A", "made_up", "that is written of its set, `tankbook correct D made-up`"),
        ("A", "nothing", "it has requalified, inspected"),
        ("ledger", "refused", "the ledger itself has no entries to strike out"),
        ("W1", "checked", "a part of the station: `tankbook correct station W1.checked`"),
        ("station", "W1", "has no list `W1`: it has W1.checked"),
        ("station", "changed", "has no list `changed`: it has F1.changed"),
    ],
)
def test_it_is_said_where_an_entry_is_written(id_: str, what: str, told: str) -> None:
    card = books.with_lines(books.GOOD, serial="K1")
    book = books.make_book(
        {"A": card, "B": books.with_lines(books.GOOD, serial="K2")},
        sets={"D": "cylinders: [A, B]\n"},
        station=METER + "whips: [{name: W1, checked: [{on: 2026-09-01}]}]\n",
    )
    refused = correct(book, id_, wrong(what), **BY)
    assert isinstance(refused, Refusal)
    assert told in " ".join(map(str, refused.reasons))


# --- what an entry that tells nothing against it lets go ------------------------------------------

NITROX = books.GOOD.replace("service: air", "service: nitrox").replace(
    "3442 psi, disc: 5000 psi", "3442 psi, disc: 5000 psi, lubricant: oxygen-compatible"
)
CLEAN = (
    NITROX
    + """\
cleaned:
  - {on: 2026-01-10, by: MV, to: nitrox}
  - {on: 2026-05-10, by: MV, to: air}
"""
)
OILED = CLEAN.replace("to: air", "to: nitrox") + "note: wiped with silicone grease\n"
LATE = books.GOOD.replace("2026-02-09", "2025-11-10")


@pytest.mark.parametrize(
    ("card", "given", "told"),
    [
        (CLEAN, wrong("cleaned", "2026-05"), "it was cleaned again on 2026-05-10, and for air alone"),
        (CLEAN, wrong("cleaned", "2026-05", to="nitrox"), "it was cleaned again on 2026-05-10"),
        (CLEAN, wrong("cleaned", "2026-01", on="2026-06-10"), "it was cleaned again on 2026-05-10"),
        (NITROX + "cleaned: [{on: 2026-01-10, by: MV, to: air}]\n", wrong("cleaned", to="oxygen"), "no cleaning"),
        (OILED, wrong("note", note="kept in rack 1"), "its card speaks of"),
        (LATE, wrong("inspected", on="2026-11-10"), "visual lapsed Nov 2026"),
        (books.GOOD, wrong("inspected", on="2026-11-10"), "its visual is due by 2027-02-09"),
    ],
)  # fmt: skip
def test_what_an_entry_lets_go_of_a_cylinder_somebody_certified_lets_go(
    card: str, given: Wrong, told: str
) -> None:
    shelf = acting.shelf(RB_014=card)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    refused = shelf.refuse(correct, "RB-014", given, **{**BY, "by": "JW"})
    assert refused.startswith("it tells against RB-014 (")
    assert told in refused
    assert "let somebody certified do it (--by)" in refused
    shelf.do(correct, "RB-014", given, **BY)


@pytest.mark.parametrize(
    ("card", "given"),
    [
        (CLEAN, wrong("cleaned", "2026-01")),  # more is asked without it
        (CLEAN.replace("to: air", "to: nitrox"), wrong("cleaned", "2026-05")),
        (CLEAN.replace("to: air", "to: nitrox"), wrong("cleaned", "2026-05", to="air")),
        (CLEAN, wrong("cleaned", "2026-05", method="detergent")),
        (books.GOOD, wrong("inspected")),
        (books.GOOD, wrong("inspected", on="2026-01-09")),
        (books.GOOD + "note: kept in rack 1\n", wrong("note", note="kept in rack 2")),
    ],
)
def test_what_lets_nothing_go_is_set_right_by_anybody_known(card: str, given: Wrong) -> None:
    shelf = acting.shelf(RB_014=card)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    shelf.do(correct, "RB-014", given, **{**BY, "by": "JW"})


TWICE = OILED.replace(
    "note: wiped",
    "valve_work: [{on: 2026-06-01, by: MV, did: serviced, note: greased with silicone}]\nnote: wiped",
)


@pytest.mark.parametrize(
    ("card", "given", "may"),
    [
        (TWICE, wrong("note", note="kept in rack 1"), False),  # a cleaning answers the other alone
        (TWICE.replace("wiped with silicone grease", "kept in rack 1"), wrong("note", note="kept in rack 2"), True),
        (TWICE.replace("note: wiped", "labelled: [{on: 2026-06-02, by: MV, kind: analysis, note: red}]\nnote: wiped"),
         wrong("labelled"), True),
    ],
)  # fmt: skip
def test_of_two_notes_of_one_thing_each_is_let_go_by_somebody_certified(
    card: str, given: Wrong, may: bool
) -> None:
    shelf = acting.shelf(RB_014=card)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    if may:
        shelf.do(correct, "RB-014", given, **{**BY, "by": "JW"})
    else:
        assert "it tells against RB-014 (" in shelf.refuse(
            correct, "RB-014", given, **{**BY, "by": "JW"}
        )
        shelf.do(correct, "RB-014", given, **BY)


def test_of_two_lines_of_one_thing_each_is_let_go_by_somebody_certified() -> None:
    shelf = acting.shelf(RB_014=CLEAN.replace("to: air", "to: nitrox"))
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    said = "2026-11-{}T09:30:00+01:00,RB-014,drain,0 psi,0 psi,,,,,MV,,,,,,oil in the valve\n"
    shelf.texts["fills/2026.csv"] = HEADER + said.format(20) + said.format(21)
    for day in ("2026-11-20", "2026-11-21"):
        told = shelf.refuse(correct, "RB-014", wrong("drain", day), **{**BY, "by": "JW"})
        assert "JW had no valid certification" in told
        shelf.do(correct, "RB-014", wrong("drain", day), **BY)


CLEANER = (
    "people:\n  OC: {role: bench, certifications: [{skill: o2-cleaner, from: 2024-01, until: 2028-01}]}\n"
    "  OD: {role: bench, certifications: [{skill: o2-cleaner, from: 2026-03}]}\n"
    "  OL: {role: bench, certifications: [{skill: o2-cleaner, from: 2024-01, until: 2026-08}]}\n"
)
OWN = CLEAN.replace("by: MV, to: air", "by: OC, to: air").replace(
    "by: MV, to: nitrox", "by: OC, to: nitrox"
)


@pytest.mark.parametrize(
    ("card", "by", "given", "may"),
    [
        (OWN, "OC", wrong("cleaned", "2026-05", to="nitrox"), True),
        (OWN, "OC", wrong("cleaned", "2026-05"), True),
        (OWN, "OD", wrong("cleaned", "2026-05", to="nitrox"), False),  # another's work
        (OWN.replace("05-10, by: OC", "05-10, by: OL"), "OL", wrong("cleaned", "2026-05", to="nitrox"), False),
        (OWN, "OC", wrong("cleaned", "2026-05", to="nitrox", by="OD"), False),
        (OWN, "OC", wrong("cleaned", "2026-05", to="nitrox", method="wiped"), False),
        (OWN.replace("to: air", "to: air, note: oil seen"), "OC", wrong("cleaned", "2026-05"), False),
    ],
)  # fmt: skip
def test_whoever_cleaned_it_says_themselves_for_what(
    card: str, by: str, given: Wrong, may: bool
) -> None:
    shelf = acting.shelf(RB_014=card)
    shelf.texts["tankbook.yaml"] = books.SETTINGS.replace("people:\n", CLEANER)
    if may:
        shelf.do(correct, "RB-014", given, **{**BY, "by": by})
    else:
        shelf.refuse(correct, "RB-014", given, **{**BY, "by": by})
        shelf.do(correct, "RB-014", given, **BY)


def test_a_line_that_lets_something_go_is_struck_out_by_somebody_certified() -> None:
    shelf = acting.shelf(RB_014=CLEAN.replace("to: air", "to: nitrox"))
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    said = "2026-11-20T09:30:00+01:00,RB-014,drain,0 psi,0 psi,,,,,MV,,,,,,oil in the valve\n"
    shelf.texts["fills/2026.csv"] = HEADER + said
    given = wrong("drain", "2026-11-20")
    told = shelf.refuse(correct, "RB-014", given, **{**BY, "by": "JW"})
    assert "JW had no valid certification" in told
    shelf.do(correct, "RB-014", given, **BY)


@pytest.mark.parametrize(
    ("entry", "setting", "told"),
    [
        ("repaired: a new one was fitted", "set_at: 3600 psi, ", True),
        ("repaired: set from 5600 psi to 3600 psi", "set_at: 3600 psi, ", True),
        ("repaired: a new one was fitted", "", False),
        ("lifted: 3650 psi", "set_at: 3600 psi, ", False),
    ],
)
def test_a_relief_valve_whose_fitting_is_struck_out_stays_set_as_written(
    entry: str, setting: str, *, told: bool
) -> None:
    """The old one was set to something else: it would open the station in the new one's name."""
    valve = f"{{name: R1, {setting}checked: [{{on: 2026-11-20, by: MV, {entry}}}]}}"
    shelf = acting.shelf(station=f"relief_valves: [{valve}]\n")
    act = shelf.do(correct, "station", wrong("R1.checked", "2026-11-20"), **BY)
    how = "`tankbook station relief R1 --set-at PRESSURE`"
    said = f"R1 is still written as set to 3600 psi; where it is not: {how}"
    assert (said in act.notes) is told


@pytest.mark.parametrize(
    ("column", "said", "kept"),
    [("o2", "36", "36 %"), ("o2", "36 %", "36 %"), ("he", "44.6", "44.6 %"), ("to", "2950", "2950 psi"),
     ("to", "200 bar", "200 bar"), ("source", "36", "36")],
)  # fmt: skip
def test_a_bare_number_takes_the_unit_that_the_acts_give_it(
    column: str, said: str, kept: str
) -> None:
    assert with_unit(keys_of(LogLine)[column].kind, said, books.make_book()) == kept


@pytest.mark.parametrize("noun", [UpkeepDone, FilterChange])
def test_what_a_meter_shows_is_in_hours(noun: type[UpkeepDone | FilterChange]) -> None:
    assert with_unit(keys_of(noun)["at"].kind, "1661", books.make_book()) == "1661 h"


@pytest.mark.parametrize(
    ("when", "kind"),
    [
        ("2026-11-24 12:00", "intake"),
        ("2026-11-24T12", "intake"),
        ("2026-11-24#3", "intake"),
        ("2026-11-24 11", "filter"),
    ],
)
def test_one_of_several_entries_of_a_day_is_named_by_its_hour_or_number(
    shelf: Shelf, when: str, kind: str
) -> None:
    rest = "co: 1 ppm, place: outlet"
    each = ("at: '10:00', alarm: yes", f"at: '11:00', {rest}", f"at: '12:00', {rest}")
    shelf.texts["station.yaml"] = (
        f"co_readings: [{', '.join(f'{{on: 2026-11-24, {e}}}' for e in each)}]\n"
    )
    told = shelf.refuse(correct, "station", wrong("co-readings", "2026-11-24", kind=kind), **BY)
    assert "#2 2026-11-24 11:00" in told
    shelf.do(correct, "station", wrong("co-readings", when, kind=kind), **BY)
    station = shelf.book.station
    assert station is not None
    assert [f"{r.at:%H}" for r in station.co_readings if r.void] == [
        "12" if kind == "intake" else "11"
    ]
    assert [r.kind for r in station.co_readings if not r.void][-1] == kind


def test_a_correction_tells_that_a_fill_came_out_of_a_bank_that_had_less() -> None:
    shelf = acting.shelf()
    shelf.texts["station.yaml"] = """
compressor: {name: C1}
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 4500 psi, gas: air,
     readings: [{on: 2026-11-20, at: "08:00", pressure: 1500 psi}]}
"""
    shelf.texts["fills/2026.csv"] = HEADER + FILL.replace(",B1,", ",C1,")
    act = shelf.do(correct, "RB-014", wrong("fill", source="B1"), **BY)
    assert any(n.startswith("RB-014: WARNING: filled to 3000 psi") for n in act.notes)
    act = shelf.do(correct, "RB-014", wrong("fill", source="C1"), **BY)
    assert not any("WARNING" in n for n in act.notes)


@pytest.mark.parametrize(
    "changes", [{"from": "900"}, {"to": "2800"}, {"cylinder": "RB-015"}, {"at": "2026-11-19T08:00:00+01:00"}]
)  # fmt: skip
def test_a_right_line_stands_behind_the_one_it_sets_right_and_in_order(
    shelf: Shelf, changes: dict[str, str]
) -> None:
    """It has the time of what it tells: that is no slip of whoever wrote it. Another line is."""

    def early() -> list[str]:
        return [f.text for f in check(shelf.book, TODAY) if f.code == "log-order"]

    shelf.do(correct, "RB-014", wrong("fill", "17:10", **changes), **BY)
    assert not early()
    shelf.texts["fills/2026.csv"] += LATER.replace("11-20", "11-01")
    assert len(early()) == 1


OUT_NOW = "rented: [{on: 2026-11-24, by: MV, to: B-1, until: 2026-12-26, note: strap lent}]\n"


@pytest.mark.parametrize(
    ("changes", "may"),
    [
        ({"until": "2026-11-26"}, True),
        ({"to": "B-2"}, True),
        ({"to": "B-2", "until": "2026-11-26"}, True),
        ({}, False),  # that it never went out
        ({"back": "2026-11-24"}, False),  # a return says what it came back with
        ({"on": "2026-11-25"}, False),  # what was filled till then was not filled while it was out
        ({"note": "-"}, False),
        ({"note": ""}, False),
    ],
)
def test_who_may_send_it_out_may_say_to_whom_and_until_when(
    changes: dict[str, str], may: bool
) -> None:
    card = books.with_lines(books.GOOD, status=None) + OUT_NOW
    shelf = acting.shelf(RB_014=card)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    by = {**BY, "by": "JW"}
    if not may:
        told = shelf.refuse(correct, "RB-014", wrong("rented", **changes), **by)
        assert "JW had no valid inspector certification" in told
        return
    shelf.do(correct, "RB-014", wrong("rented", **changes), **by)
    [right] = [r for r in shelf["RB-014"].rented if r.void is None]
    assert {k: str(getattr(right, k)) for k in changes} == changes
    assert status_of(shelf.book, shelf["RB-014"]) is Status.OUT


@pytest.mark.parametrize(
    ("right", "told"),
    [
        ("", True),
        (", {on: 2026-11-23, by: MV, to: B-2}", False),
        (", {on: 2026-11-23, by: MV, to: B-2, back: 2026-11-25, pressure: 600 psi}", False),
        (", {on: 2026-11-23, by: MV, to: B-2, back: 2026-11-23, pressure: 600 psi}", True),
        (", {on: 2026-11-24, by: MV, to: B-2}", True),
    ],
)
def test_a_rental_struck_out_by_somebody_uncertified_stands_in_another_of_that_day(
    right: str, told: bool
) -> None:
    void = "void: {on: 2026-11-24, by: JW, why: typed}"
    rented = f"rented: [{{on: 2026-11-23, by: MV, to: B-1, {void}}}{right}]\n"
    shelf = acting.shelf(RB_014=books.with_lines(books.GOOD, status=None) + rented)
    shelf.texts["tankbook.yaml"] = WITH_COUNTER
    assert ("struck-out-unsigned" in {f.code for f in check(shelf.book, TODAY)}) is told
