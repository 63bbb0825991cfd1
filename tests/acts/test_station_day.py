"""The day at the station: opened and closed by its list; carbon monoxide and what answers it."""

from __future__ import annotations

import datetime as dt
import shlex
from typing import Any

import acting
import pytest
from acting import TODAY, Shelf

from tankbook.acts.station_day import bump_tested, carbon_monoxide, closed, opened
from tankbook.records.words import CoCause, CoPlace
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
    "kind": CoCause.INTAKE,
    "done": "moved it",
    "place": CoPlace.OUTLET,
    "instrument": "CO-1",
}


SOUNDED = """\
compressor: {name: C1, hours: [{on: 2026-11-25, reads: 12 h}]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, co: 1 ppm}
filters: [{name: F1, life: 50 h, changed: [{on: 2026-11-01, at: 10 h}]}]
instruments:
  - {name: CO-1, kind: co-monitor, bumped: [{on: 2026-11-25, at: "11:00", by: MV}]}
co_readings:
  - {on: 2026-11-25, at: "10:00", alarm: yes, by: MV}
  - {on: 2026-11-25, at: "12:00", co: 1 ppm, place: outlet, with: CO-1, by: MV, SAID}
"""
"""An alarm, and a reading two hours later with what it says of the cause."""


def sounded(cause: str, more: str = "") -> str:
    return SOUNDED.replace("SAID", f"cause: {cause!r}{more and ', '}{more}")


ANOTHER = """\
instruments:
  - {name: CO-2, kind: co-monitor, bumped: [{on: 2026-11-25, at: "10:20", result: fail, note: 8 of 20 ppm}]}"""
"""The monitor that sounded, which failed its bump test since."""

NONE = {"cause": "", "kind": None, "done": ""}


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
        ({"shows": None, "alarm": True, **NONE}, ""),
        (NONE, "names no cause"),
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


@pytest.mark.parametrize("kind", [None, *CoCause])
@pytest.mark.parametrize(
    "cause",
    [
        "?", "we don't know yet", "not yet established", "could not find it", "unknown",
        "checked, found nothing", "to be confirmed", "false alarm", "nicht gefunden", "tbc",
        "cause not found", "fine", "ok", "resolved", "still looking", "Ursache unbekannt", "the cause was never found",
    ],
)  # fmt: skip
def test_a_cause_that_nobody_knows_is_none(kind: CoCause | None, cause: str) -> None:
    shelf = acting.shelf(station=sounded(cause, f"kind: {kind}" if kind else ""))
    assert shut(shelf) == ["co-alarm-open"]
    answer = {**ANSWER, "cause": cause, "kind": kind}
    wrong = "has a kind" if kind is None else "names none"
    assert wrong in shelf.refuse(carbon_monoxide, **answer, **BY)


@pytest.mark.parametrize(
    ("cause", "opens"),
    [
        ("a van idled under the intake", True),
        ("smoke of the bonfire next door", True),
        ("overheated, its oil broke down", True),
        ("Abgase eines LKW", True),
        ("maybe the van", False),
        ("a van?", False),
        ("see log", False),
        ("the monitor was faulty", False),
        ("wissen wir noch nicht", False),
        ("on ne sait pas", False),
    ],
)
def test_what_was_written_before_the_kind_was_asked_answers_where_it_is_clear(
    cause: str, opens: bool
) -> None:
    shelf = acting.shelf(station=sounded(cause))
    assert (shut(shelf) == []) is opens
    if not opens:
        text = shut_by(shelf.book, TODAY)[0].text
        assert f"does not say of what kind its cause is ({cause})" in text
        written = sounded(cause, "kind: intake, done: van moved")
        shelf = acting.shelf(station=written)
        assert shut(shelf) == []


@pytest.mark.parametrize(
    ("kind", "done", "wanting"),
    [
        (CoCause.INTAKE, "", "does not say what was done about its cause"),
        (CoCause.INTAKE, "ok", "does not say what was done about its cause"),
        (CoCause.COMPRESSOR, "", "does not say what was done about its cause"),
        (CoCause.COMPRESSOR, "looked at it", "does not say what was done about its cause"),
        (CoCause.COMPRESSOR, "checked the compressor", "does not say what was done"),
        (CoCause.INTAKE, "nothing", "does not say what was done about its cause"),
        (CoCause.INTAKE, "waited", "does not say what was done about its cause"),
        (CoCause.OTHER, "", "does not say what was done about its cause"),
        (CoCause.FILTER, "changed it", "lays it to a filter, and none was changed since"),
        (CoCause.INSTRUMENT, "new cell", "no bump test or repair shows that"),
    ],
)
def test_each_kind_of_cause_has_something_to_show_for_it(
    kind: CoCause, done: str, wanting: str
) -> None:
    shelf = acting.shelf(station=sounded("thing of that day", f"kind: {kind}, done: '{done}'"))
    assert shut(shelf) == ["co-alarm-open"]
    assert wanting in shut_by(shelf.book, TODAY)[0].text


@pytest.mark.parametrize(
    ("kind", "shown"),
    [
        (CoCause.FILTER, {"at: 10 h}": "at: 10 h}, {on: 2026-11-25, at: 11 h, hour: '10:20'}"}),
        (
            CoCause.INSTRUMENT,
            {"bumped: [": "bumped: [{on: 2026-11-25, at: '10:30', repaired: new cell}, "},
        ),
        (CoCause.INSTRUMENT, {"instruments:": ANOTHER, "alarm: yes": "alarm: yes, with: CO-2"}),
        (CoCause.TEST_GAS, {}),
    ],
)
def test_what_shows_each_kind_of_cause(kind: CoCause, shown: dict[str, str]) -> None:
    text = sounded("thing of that day", f"kind: {kind}")
    for old, new in shown.items():
        text = text.replace(old, new)
    assert shut(acting.shelf(station=text)) == []


@pytest.mark.parametrize(
    ("kind", "hidden"),
    [
        # of the day, nobody says when; before the alarm by its hour; after what is to answer it
        (CoCause.FILTER, {"at: 10 h}": "at: 10 h}, {on: 2026-11-25, at: 11 h}"}),
        (CoCause.FILTER, {"at: 10 h}": "at: 10 h}, {on: 2026-11-25, at: 11 h, hour: '07:00'}"}),
        (CoCause.FILTER, {"at: 10 h}": "at: 10 h}, {on: 2026-11-25, at: 11 h, hour: '23:00'}"}),
        # changed before the alarm, or of the other compressor; a monitor that did not sound
        (CoCause.FILTER, {"at: 10 h}": "at: 10 h}, {on: 2026-11-24, at: 11 h}"}),
        (CoCause.FILTER, {"filters: [": "compressors: [{name: C2}]\nfilters: [{name: F2, of: C2, "
                          "changed: [{on: 2026-11-25, at: 5 h}]}, ", "name: F1": "name: F1, of: C1",
                          "alarm: yes": "alarm: yes, of: C1", "outlet": "outlet, of: C1"}),
        (CoCause.INSTRUMENT, {"instruments:": ANOTHER, "alarm: yes": "alarm: yes, with: CO-1"}),
        # the monitor that failed is no word for itself
        (CoCause.INSTRUMENT, {"bumped: [": "bumped: [{on: 2026-11-25, at: '10:30', result: fail}, "}),
        (CoCause.TEST_GAS, {"bumped: [{on: 2026-11-25": "bumped: [{on: 2026-11-24"}),
    ],
)  # fmt: skip
def test_what_shows_nothing_of_a_cause(kind: CoCause, hidden: dict[str, str]) -> None:
    text = sounded("thing of that day", f"kind: {kind}")
    for old, new in hidden.items():
        text = text.replace(old, new)
    assert "co-alarm-open" in shut(acting.shelf(station=text))


OPENING = (
    "opening: {steps: [drains, intake and wind], done: [{on: 2026-11-25, at: '11:30', by: JW}]}\n"
)
UPKEPT = "upkeep: [{name: U1, what: oil, every: 1 year, done: [{on: 2026-11-25, by: JW}]}]\n"
INTAKE_SEEN = UPKEPT.replace("oil", "intake")


@pytest.mark.parametrize(
    ("kind", "by", "more", "opens"),
    [
        (CoCause.INTAKE, "MV", "", True),  # somebody certified says it
        (CoCause.COMPRESSOR, "MV", "", True),
        (CoCause.INTAKE, "JW", "", False),
        (CoCause.COMPRESSOR, "JW", "", False),
        # an act is on record, since the alarm
        (CoCause.INTAKE, "JW", INTAKE_SEEN, True),
        (CoCause.INTAKE, "JW", OPENING, True),
        (CoCause.COMPRESSOR, "JW", UPKEPT, True),
        (CoCause.COMPRESSOR, "JW", UPKEPT.replace("what: oil", "what: other"), True),
        # of another kind, of before it, that failed, of another compressor, by nobody
        (CoCause.COMPRESSOR, "JW", INTAKE_SEEN, False),
        (CoCause.COMPRESSOR, "JW", OPENING, False),
        (CoCause.INTAKE, "JW", UPKEPT, False),
        (CoCause.COMPRESSOR, "JW", UPKEPT.replace("what: oil", "what: drains"), False),
        (CoCause.COMPRESSOR, "JW", UPKEPT.replace("11-25", "11-24"), False),
        (CoCause.INTAKE, "JW", OPENING.replace("11:30", "09:30"), False),
        (CoCause.INTAKE, "JW", OPENING.replace("intake and wind", "gauge zero"), False),
        (CoCause.INTAKE, "JW", OPENING.replace("by: JW", "by: JW, result: fail, note: x"), False),
        (CoCause.COMPRESSOR, "JW", UPKEPT.replace("by: JW", "by: JW, result: fail"), False),
        (CoCause.COMPRESSOR, "JW", UPKEPT.replace("what: oil", "what: oil, of: CO-1"), False),
        (CoCause.COMPRESSOR, "JW", UPKEPT.replace(", by: JW", ""), False),
    ],
)  # fmt: skip
def test_what_was_done_is_on_record_or_said_by_somebody_certified(
    kind: CoCause, by: str, more: str, opens: bool
) -> None:
    text = sounded("ran hot by the van", f"kind: {kind}, done: put right, tried") + more
    text = text.replace("with: CO-1, by: MV", f"with: CO-1, by: {by}")
    text = text.replace("done: put right, tried", "done: 'put right, tried'")
    shelf = acting.shelf(station=text)
    assert (shut(shelf) == []) is opens
    if not opens:
        told = shut_by(shelf.book, TODAY)[0].text
        assert f"lays it to the {kind}" in told
        assert "somebody certified says what was done" in told
        assert "`tankbook station upkeep NAME`" in told


def test_a_cause_of_no_kind_is_named_by_somebody_certified() -> None:
    text = sounded("paint stripper", "kind: other, done: taken out and aired")
    shelf = acting.shelf(station=text)
    assert shut(shelf) == []
    shelf.texts["station.yaml"] = text.replace("with: CO-1, by: MV", "with: CO-1, by: JW")
    assert "somebody certified says that" in shut_by(shelf.book, TODAY)[0].text


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
    assert (
        "--with CO-1 --place outlet --kind KIND --cause WHAT --done WHAT --at HH:MM`"
        in told_of.text
    )
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
    assert "`tankbook station close --note 'cleared'`" in shelf.refuse(
        closed, at=dt.time(19, 0), **BY
    )
    shelf.do(closed, at=dt.time(19, 0), note="seat cleaned, holds at 3000 psi", **BY)
    assert not [r for r in station_reasons(shelf.book, TODAY) if r.code == "opening-left"]


def test_a_reading_without_an_alarm_closes_nothing() -> None:
    shelf = acting.shelf(station=STATION)
    shelf.do(carbon_monoxide, ppm(3), **BY)
    assert shut(shelf) == []
    assert "VALUE is missing, or --alarm" in shelf.refuse(carbon_monoxide, **BY)
    assert "a later reading" in shelf.refuse(carbon_monoxide, alarm=True, cause="van", **BY)


@pytest.mark.parametrize(
    "said",
    [
        {"cause": "van at the intake", "kind": CoCause.INTAKE, "done": "it was moved"},
        {"cause": "it's the van", "kind": CoCause.INTAKE},
        {"place": CoPlace.OUTLET, "instrument": "CO-1", "of": "C1"},
        {},
    ],
)
def test_what_lacks_its_value_is_told_how_it_is_typed(said: dict[str, Any]) -> None:
    """The line that the refusal names says all that was said, and the value."""
    told = acting.shelf(station=STATION).refuse(carbon_monoxide, **said, **BY)
    assert "VALUE is missing" in told
    assert "nothing is said" not in told
    assert ("--alarm" in told) is ("cause" not in said)
    words = shlex.split(told.split("`")[1])
    assert words[:4] == ["tankbook", "station", "co", "1ppm"]
    named = {"instrument": "with"}
    options = [w for k, v in said.items() for w in (f"--{named.get(k, k)}", str(v))]
    assert sorted(words[4:]) == sorted(options)


def test_where_the_list_is_kept_nothing_is_filled_before_it() -> None:
    shelf = acting.shelf(station=STATION + LISTS)
    assert shut(shelf) == ["opening-not-opened"]
    act = shelf.do(opened, at=dt.time(8, 10), failed="gauge zero: shows 50 psi", **BY)
    assert "found: gauge zero: shows 50 psi" in act.sentence
    assert shut(shelf) == ["opening-failed"]
    asked = shelf.refuse(opened, at=dt.time(8, 40), **BY)
    assert asked == (
        "the opening of 2026-11-25 at 08:10 found: gauge zero: shows 50 psi (MV); nothing on record"
        " says what became of it: look at it again, and say in a word or two that it is right, or"
        " what was done (`tankbook station open --note 'cleared'`), or what is still wrong with"
        " --fail"
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


MENDS = [
    *("cleared", "ok now", "fixed", "sorted", "done", "good again", "no leak any more", "belt on"),
    *("still holds", "still dry", "not blocked any more", "frei", "dicht", "réparé", "arreglado"),
    *("sistemato", "verholpen"),
]
NO_MENDS = [
    *("", "ok", "yes", "y", "x", "ja", "-", "?", "still blocked", "not fixed", "not yet"),
    *("as before", "immer noch undicht", "toujours bouché", "todavía bloqueado", "ancora sporco"),
    *("nog steeds lek", "waiting for part", "told KD", "will clear it tomorrow", "left as is"),
]


@pytest.mark.parametrize("note", [*MENDS, *NO_MENDS])
def test_any_plain_word_of_whoever_signs_answers_what_was_found(note: str) -> None:
    shelf = acting.shelf(station=STATION + LISTS)
    shelf.do(opened, at=dt.time(8, 10), failed="intake blocked", **BY)
    if note in MENDS:
        shelf.do(opened, at=dt.time(9, 30), note=note, **BY)
        assert shut(shelf) == []
        return
    told = shelf.refuse(opened, at=dt.time(9, 30), note=note, **BY)
    assert "`tankbook station open --note 'cleared'`" in told
    assert shut(shelf) == ["opening-failed"]


def test_without_a_list_there_is_nothing_to_walk_through() -> None:
    shelf = acting.shelf(station=STATION)
    assert "the station keeps no list for it" in shelf.refuse(opened, **BY)
    assert "the station keeps no list for it" in shelf.refuse(closed, **BY)
    shelf = acting.shelf(station=STATION + LISTS)
    told = shelf.refuse(opened, failed="drains", note="x", **BY)
    assert told == "what was found stands in --fail: leave --note out"


def test_the_list_is_walked_by_somebody() -> None:
    shelf = acting.shelf(station=STATION + LISTS)
    assert "nobody signs it: give --by" in shelf.refuse(opened, by="", on=TODAY)
    shelf.do(opened, **BY)
