"""Air tests against their limits, and what a failed one does.

Limits of CGA G-7.1 Grade E as tabled about 1989 to 2011 (read): CO 10 ppm, CO2 1000 ppm, oil 5
mg/m3, hydrocarbons 25 ppm, oxygen 20 to 22 %. Of EN 12021:2014 as tabled by makers (read): CO 5
ppm, CO2 500 ppm, oil 0.5 mg/m3, water 25 mg/m3.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import pytest
from acting import TODAY, Shelf
from changing import replace

from tankbook.acts.air_test import air_test
from tankbook.records.book import Book
from tankbook.records.edits import Act
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.station import AirTest, CoReading
from tankbook.records.words import TestResult
from tankbook.rules.air import air_judge
from tankbook.rules.carbon_monoxide import most_co
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.out_of_use import out_of_use, parts_out
from tankbook.rules.recall import by_source
from tankbook.rules.schedule import due_of_station
from tankbook.units import Concentration, Percent

STATION = """\
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
regulator_set: 3000 psi
"""
GOOD = {
    "oxygen": "20.9 %",
    "co": "1 ppm",
    "co2": "420 ppm",
    "oil": "0.1 mg/m3",
    "hydrocarbons": "3 ppm",
}
LINE = "2026-11-20T09:30:00+01:00,{},fill,,3000 psi,,air,,,MV,,C1,,,,\n"


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf(station=STATION)


def measured(on: dt.date = TODAY, standard: str | None = None, **values: str) -> AirTest:
    parse: dict[str, Any] = {"oxygen": Percent.parse}
    got = {k: parse.get(k, Concentration.parse)(v) for k, v in values.items()}
    told = {"standard": standard, "result": TestResult.PASS, "odour": "none", **got}
    return AirTest(on=on, by="Example Air Lab", **told)


def stops(shelf: Shelf) -> list[str]:
    return [r.code for r in may_fill(shelf.book, "RB-014", TODAY).refusals]


def test_within_every_limit_it_passed(shelf: Shelf) -> None:
    act = shelf.do(air_test, measured(**GOOD), None, TODAY)
    assert act.sentence == "Air test passed (2026-11-25, Example Air Lab, cga-grade-e)"
    assert act.notes == ()
    entry = shelf.book.station.air_tests[-1]
    assert (entry.result, entry.standard) == (TestResult.PASS, "cga-grade-e")


# at the limit is within it
LIMITS = [
    ("co", "10 ppm", "10.1 ppm"),
    ("co2", "1000 ppm", "1001 ppm"),
    ("oil", "5 mg/m3", "5.1 mg/m3"),
    ("hydrocarbons", "25 ppm", "26 ppm"),
    ("oxygen", "20 %", "19.9 %"),
    ("oxygen", "22 %", "22.1 %"),
]


@pytest.mark.parametrize(("key", "within", "over"), LIMITS)
def test_over_any_limit_it_failed_and_the_station_is_closed(
    key: str, within: str, over: str, shelf: Shelf
) -> None:
    assert stops(shelf) == []
    shelf.do(air_test, measured(dt.date(2026, 11, 24), **{**GOOD, key: within}), None, TODAY)
    assert stops(shelf) == []
    act = shelf.do(air_test, measured(**{**GOOD, key: over}), None, TODAY)
    assert act.sentence.startswith("Air test FAILED (2026-11-25, Example Air Lab, cga-grade-e): ")
    assert act.notes[-1].startswith("the station is CLOSED: ")
    assert "the air test of 2026-11-25 failed" in act.notes[-1]
    assert "air-test-failed" in stops(shelf)


def test_a_new_test_that_passes_opens_it_again(shelf: Shelf) -> None:
    shelf.do(air_test, measured(dt.date(2026, 11, 24), co="12 ppm"), None, TODAY)
    act = shelf.do(air_test, measured(**GOOD), None, TODAY)
    assert act.notes[1:] == ("the station is open again",)
    assert (
        "`tankbook correct station air-tests 2026-11-25 --set at=HH:MM --why WHY`" in act.notes[0]
    )
    assert stops(shelf) == []


def test_of_one_whose_hour_is_said_nobody_asks_it(shelf: Shelf) -> None:
    shelf.do(air_test, measured(dt.date(2026, 11, 24), co="12 ppm"), None, TODAY)
    act = shelf.do(air_test, replace(measured(**GOOD), at=dt.time(9, 15)), None, TODAY)
    assert act.notes == ("the station is open again",)
    assert "(2026-11-25 09:15, Example Air Lab" in act.sentence
    again = replace(measured(**GOOD), at=dt.time(9, 15))
    assert "already on record" in shelf.refuse(air_test, again, None, TODAY)
    shelf.do(air_test, replace(measured(**GOOD), at=dt.time(16)), None, TODAY)


def test_the_laboratorys_word_fails_it_and_cannot_pass_it(shelf: Shelf) -> None:
    act = shelf.do(air_test, measured(dt.date(2026, 11, 24)), TestResult.FAIL, TODAY)
    assert act.sentence.startswith("Air test FAILED (")
    act = shelf.do(air_test, measured(co="12 ppm"), TestResult.PASS, TODAY)
    assert act.sentence.endswith("): CO 12 ppm (limit 10 ppm)")
    assert act.notes[0] == "the laboratory passed it; it is over the limits of cga-grade-e"
    assert shelf.book.station.air_tests[-1].result is TestResult.FAIL


def test_what_was_not_measured_is_judged_by_nobody_but_the_laboratory(shelf: Shelf) -> None:
    some = {k: v for k, v in GOOD.items() if k != "oil"}
    told = shelf.refuse(air_test, measured(**some), None, TODAY)
    assert told == "not measured: oil; give the laboratory's word with --result"
    act = shelf.do(air_test, measured(**some), TestResult.PASS, TODAY)
    assert act.notes == ("not measured: oil",)


def test_a_value_that_cannot_be_compared_is_not_taken_for_good(shelf: Shelf) -> None:
    told = shelf.refuse(air_test, measured(**{**GOOD, "co": "1 mg/m3"}), TestResult.PASS, TODAY)
    assert told == "CO 1 mg/m3 cannot be held against its limit of 10 ppm"


def test_another_standard_has_its_own_limits(shelf: Shelf) -> None:
    air = {**GOOD, "co": "6 ppm", "water": "18 mg/m3"}
    act = shelf.do(air_test, measured(standard="en-12021-2014", **air), None, TODAY)
    assert act.sentence.endswith("): CO 6 ppm (limit 5 ppm)")


def test_the_standard_is_named_and_known(shelf: Shelf) -> None:
    told = shelf.refuse(air_test, measured(standard="nobody", **GOOD), None, TODAY)
    assert told.startswith("no limits are known of nobody: give --standard, one of cga-grade-e, ")
    bare = acting.shelf(station="regulator_set: 3000 psi\n")
    assert "no standard is named" in bare.refuse(air_test, measured(**GOOD), None, TODAY)


def test_what_was_filled_since_the_last_good_test_is_counted(shelf: Shelf) -> None:
    header = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
    before = LINE.format("RB-014").replace("2026-11-20", "2026-10-01")
    shelf.texts["fills/2026.csv"] = header + before + LINE.format("RB-014") + LINE.format("RB-015")
    act = air_test(shelf.book, measured(co="12 ppm"), None, TODAY)  # both are at fault with it
    assert isinstance(act, Act)
    assert act.notes[0] == (
        "2 fills were logged since the last good test of 2026-10-12: find them, and hold what "
        "still holds that air"
    )


def test_the_future_and_the_same_test_twice_are_refused(shelf: Shelf) -> None:
    tomorrow = TODAY + dt.timedelta(days=1)
    assert "lies in the future" in shelf.refuse(air_test, measured(tomorrow, **GOOD), None, TODAY)
    shelf.do(air_test, measured(**GOOD), None, TODAY)
    assert "already on record" in shelf.refuse(air_test, measured(**GOOD), None, TODAY)


def test_what_reopens_the_station_measured_what_closed_it(shelf: Shelf) -> None:
    shelf.do(air_test, measured(dt.date(2026, 11, 24), co="12 ppm"), None, TODAY)
    half = measured(**{k: v for k, v in GOOD.items() if k != "co"})
    act = shelf.do(air_test, half, TestResult.PASS, TODAY)
    assert act.sentence.startswith("Air test passed")
    left = "the air test of 2026-11-25 did not measure CO, which failed before it"
    mend = "it reopens nothing; have it measured, to the same standard"
    assert f"it did not measure CO, which failed before it: {mend}" in act.notes
    assert act.notes[-1] == f"the station is CLOSED: {left}"
    # nor does the same again; what measures it does
    shelf.do(air_test, replace(half, by="Other Lab", source_="panel"), TestResult.PASS, TODAY)
    assert any(r.gate is Gate.REFUSE for r in station_reasons(shelf.book, TODAY))
    later = TODAY + dt.timedelta(days=1)
    full = shelf.do(air_test, measured(later, **GOOD), None, later)
    assert "the station is open again" in full.notes


ALL = {**GOOD, "odour": "none"}
"""Every value that Grade E limits, and the odour that its note tells of."""


def a_sample(on: int, said: str = "pass", source: str = "", **values: str) -> AirTest:
    odour = values.pop("odour", None)
    test = measured(dt.date(2026, 11, on), values.pop("standard", "cga-grade-e"), **values)
    return replace(test, result=TestResult(said), odour=odour, source_=source or None)


def but(*names: str, **more: str) -> dict[str, str]:
    return {k: v for k, v in ALL.items() if k not in names} | more


@pytest.mark.parametrize(
    ("tests", "left"),
    [
        ([a_sample(20, "fail"), a_sample(21)], "CO, CO2, hydrocarbons, odour, oil, oxygen"),
        ([a_sample(20, "fail"), a_sample(21, oxygen="20.9 %")], "CO, CO2, hydrocarbons, odour"),
        ([a_sample(20, "fail"), a_sample(21, **but("oil"))], "oil"),
        ([a_sample(20, "fail"), a_sample(21, **but("odour"))], "odour"),
        # what it gives is good: what failed is none of it, or that
        ([a_sample(20, "fail", co="1 ppm"), a_sample(21, co="1 ppm")], "CO2, hydrocarbons"),
        ([a_sample(20, "fail", **ALL), a_sample(21, **but("co2"))], "CO2"),
        # twice, and the second alone says on what
        (
            [a_sample(20, "fail"), a_sample(21, "fail", co="14 ppm"), a_sample(22, co="1 ppm")],
            "oil",
        ),
        # the standard that failed asks for water too, and for less oil
        (
            [a_sample(20, "fail", standard="en-12021-2014"), a_sample(21, **ALL)],
            "did not measure water",
        ),
        (
            [
                a_sample(20, "fail", standard="en-12021-2014"),
                a_sample(21, **but("oil", oil="3 mg/m3"), water="18 mg/m3"),
            ],
            "has oil still above en-12021-2014",
        ),
        # a laxer standard is no way round what failed by a stricter
        (
            [
                a_sample(20, "fail", standard="en-12021-2014", co="7 ppm"),
                a_sample(21, "fail", co="14 ppm"),
                a_sample(22, co="8 ppm"),
            ],
            "has CO still above en-12021-2014",
        ),
        # by mass, where the standard that failed has it by volume alone
        (
            [
                a_sample(20, "fail", standard="en-12021-2014"),
                a_sample(
                    21, **but("co", co="1 mg/m3", water="18 mg/m3", standard="hse-divers-air")
                ),
            ],
            "did not measure CO in ppm",
        ),
        # piece by piece, the last piece wanting
        (
            [a_sample(20, "fail"), a_sample(21, **but("co", "oil")), a_sample(22, co="1 ppm")],
            "did not measure oil:",
        ),
        # drawn before it, and written after
        ([a_sample(20, "fail"), a_sample(19, **ALL)], "failed"),
        # at a bank, or the other compressor
        ([a_sample(20, "fail", "C1"), a_sample(21, source="B1", **ALL)], "failed"),
    ],
)
def test_a_failure_that_says_nothing_is_answered_by_all_that_it_may_be(
    tests: list[AirTest], left: str
) -> None:
    shelf = acting.shelf(
        station=STATION
        + "banks: [{name: B1, water_volume: 48 L, working_pressure: 3000 psi}]\ncompressor: {name: C1}\n"
    )
    for test in tests:
        said = test.result if test.result is TestResult.FAIL or test.co else TestResult.PASS
        shelf.do(air_test, test, said, TODAY)
    reasons = station_reasons(shelf.book, TODAY)
    stop = [r.text for r in (*reasons, *(o.reason for o in out_of_use(shelf.book, TODAY)))]
    assert any(left in text for text in stop if "air test" in text), stop
    assert any(r.gate is Gate.REFUSE for r in reasons) or parts_out(shelf.book, TODAY)


@pytest.mark.parametrize("named", ["", ", standard: of-a-maker"])
def test_one_of_no_known_standard_may_have_failed_on_what_any_limits(named: str) -> None:
    written = f"  - {{on: 2026-11-20, by: Example Air Lab, result: fail{named}}}\nregulator_set"
    shelf = acting.shelf(station=STATION.replace("regulator_set", written))
    shelf.do(air_test, a_sample(21, **ALL), TestResult.PASS, TODAY)
    [closed] = [r.text for r in station_reasons(shelf.book, TODAY) if r.gate is Gate.REFUSE]
    assert "did not measure water: what failed before it is not said" in closed


@pytest.mark.parametrize(
    "tests",
    [
        [a_sample(20, "fail"), a_sample(21, **ALL)],
        [a_sample(20, "fail"), a_sample(21, **but("co", "oil")), a_sample(22, **ALL)],
        # piece by piece
        [a_sample(20, "fail"), a_sample(21, **but("co", "oil")), a_sample(22, **but("co2"))],
        # what failed is said, and measured again
        [a_sample(20, "fail", co="14 ppm"), a_sample(21, co="1 ppm")],
        [
            a_sample(20, "fail", standard="hse-divers-air", co="4 mg/m3"),
            a_sample(21, standard="hse-divers-air", co="1 mg/m3"),
        ],
    ],
)
def test_what_measured_all_that_may_have_failed_reopens(tests: list[AirTest]) -> None:
    shelf = acting.shelf(station=STATION)
    for test in tests:
        shelf.do(air_test, test, test.result, TODAY)
    assert not [r for r in station_reasons(shelf.book, TODAY) if r.gate is Gate.REFUSE]


def test_a_failure_that_says_nothing_is_told_what_answers_it(shelf: Shelf) -> None:
    act = shelf.do(air_test, a_sample(20, "fail"), TestResult.FAIL, TODAY)
    said = "it does not say what failed: the one that reopens measures CO, CO2, hydrocarbons, odour"
    assert any(note.startswith(said) for note in act.notes)


def test_a_half_good_sample_of_one_compressor_keeps_that_one_out_alone() -> None:
    pumps = "compressors: [{name: C1}, {name: C2}]\nregulator_set: 3000 psi\n"
    shelf = acting.shelf(station=pumps)
    for day, source in ((20, "C1"), (20, "C2")):
        test = replace(measured(dt.date(2026, 11, day), **GOOD), source_=source)
        shelf.do(air_test, replace(test, standard="cga-grade-e"), None, TODAY)
    bad = replace(measured(dt.date(2026, 11, 22), co="12 ppm"), source_="C2")
    shelf.do(air_test, bad, None, TODAY)
    few = {k: v for k, v in GOOD.items() if k != "co"}
    half = replace(measured(dt.date(2026, 11, 24), **few), source_="C2")
    act = shelf.do(air_test, half, TestResult.PASS, TODAY)
    assert not any("CLOSED" in note for note in act.notes)
    assert {str(p) for p in parts_out(shelf.book, TODAY)} == {"compressor C2"}
    outs = [o.reason.text for o in out_of_use(shelf.book, TODAY)]
    left = "the air test of 2026-11-24 (C2) did not measure CO, which failed before it"
    assert outs == [f"compressor C2: {left}"]
    shelf.do(air_test, replace(bad, on=TODAY), None, TODAY)
    # the recall still begins at the last sample that says that its air was good
    assert by_source(shelf.book, "C2", TODAY).since == dt.date(2026, 11, 20)


def test_a_sample_is_drawn_at_something_the_station_has() -> None:
    shelf = acting.shelf(station=STATION + "compressor: {name: C1}\n")
    elsewhere = replace(measured(**GOOD), source_="C9")
    told = shelf.refuse(air_test, elsewhere, None, TODAY)
    assert "was drawn at C9, which is no part here" in told
    shelf.do(air_test, replace(elsewhere, source_="c1"), None, TODAY)


NO_ODOUR = [
    *("none", "No odour", "not detected", "geruchlos", "kein Geruch feststellbar", "nicht wahrnehmbar"),
    *("sans odeur", "aucune odeur", "pas d'odeur", "inodore", "néant", "non détecté"),
    *("sin olor", "ningún olor", "inodoro", "no se detecta", "ninguno", "sin olor ni sabor"),
    *("nessuno", "senza odore", "assente", "non rilevato", "non si avverte", "nessun odore o sapore"),
    *("geen", "geen geur", "reukloos", "niet waarneembaar", "geen geur of smaak"),
]  # fmt: skip
SMELLS = [
    *("strong, oily", "slight exhaust", "musty", "none, later oily", "ölig", "muffig"),
    *("huile", "moisi", "aceitoso", "humo", "oleoso", "muffa", "olieachtig", "muf"),
]


def smelt(odour: str, on: dt.date = TODAY) -> AirTest:
    return replace(measured(on, **GOOD), odour=odour)


@pytest.mark.parametrize("odour", NO_ODOUR)
def test_no_odour_is_understood_in_six_languages(odour: str, shelf: Shelf) -> None:
    act = shelf.do(air_test, smelt(odour), None, TODAY)
    assert act.sentence.startswith("Air test passed")
    assert stops(shelf) == []


@pytest.mark.parametrize("said", [None, TestResult.PASS])
@pytest.mark.parametrize("odour", SMELLS)
def test_air_that_smells_has_failed(odour: str, said: TestResult | None, shelf: Shelf) -> None:
    """Every screen says of it at once what the next sample says of it: it failed on its odour."""
    act = shelf.do(air_test, smelt(odour, dt.date(2026, 11, 24)), said, TODAY)
    assert act.sentence.endswith(f"): odour `{odour}`")
    assert "air-test-failed" in stops(shelf)
    assert parts_out(shelf.book, TODAY) or station_reasons(shelf.book, TODAY)
    shelf.do(air_test, smelt("none"), None, TODAY)
    assert stops(shelf) == []


@pytest.mark.parametrize("odour", ["slight", "xyz", "leicht", "frisch", "as always"])
def test_an_odour_that_nobody_can_read_is_asked(odour: str, shelf: Shelf) -> None:
    for said in (None, TestResult.PASS):
        told = shelf.refuse(air_test, smelt(odour), said, TODAY)
        assert f"`{odour}` is not known to say that there is none" in told
        assert "`--odour none`" in told
        assert "--result fail" in told
    act = shelf.do(air_test, smelt(odour), TestResult.FAIL, TODAY)
    assert act.sentence.startswith("Air test FAILED")


@pytest.mark.parametrize("odour", ["slight", "strong, oily", "xyz"])
def test_an_odour_written_by_hand_closes_till_it_is_said(odour: str) -> None:
    values = ", ".join(f"{k}: {v}" for k, v in GOOD.items())
    line = "{{on: {}, by: Lab, standard: cga-grade-e, result: pass, {}, odour: '{}'}}"
    written = line.format("2026-11-20", values, odour)
    shelf = acting.shelf(station=f"air_tests: [{written}]\nregulator_set: 3000 psi\n")
    assert "air-test-failed" in stops(shelf)
    again = line.format("2026-11-24", values, "none")
    shelf = acting.shelf(station=f"air_tests: [{written}, {again}]\nregulator_set: 3000 psi\n")
    assert stops(shelf) == []


BAD = {**GOOD, "co": "14 ppm"}


@pytest.mark.parametrize(
    ("first", "second", "which"),
    [
        ("", "20:00", "air-tests 2026-11-25 --set at=HH:MM"),
        ("10:00", "", "--at HH:MM of this one"),
        ("10:00", "10:00", ""),
    ],
)
def test_another_sample_of_a_day_is_told_how_it_is_told_apart(
    shelf: Shelf, first: str, second: str, which: str
) -> None:
    at = [dt.time.fromisoformat(each) if each else None for each in (first, second)]
    shelf.do(air_test, replace(measured(**BAD), at=at[0]), None, TODAY)
    said = shelf.refuse(air_test, replace(measured(**GOOD), at=at[1]), None, TODAY)
    assert "already on record" in said
    assert ("if this is another, say when each was drawn" in said) is bool(which)
    assert which in said


# what each sample of one day was, by its hour or None, in the order of the file; which of them is
# the day's answer follows from the hours alone
OF_ONE_DAY = [
    ("passed later", [(10, BAD), (20, GOOD)], True),
    ("entered the other way round", [(20, GOOD), (10, BAD)], True),
    ("passed before", [(10, GOOD), (20, BAD)], False),
    ("at the same hour", [(10, BAD), (10, GOOD)], False),
    ("the hour of the one that failed is not known", [(None, BAD), (20, GOOD)], False),
    ("the hour of the one that passed is not known", [(10, BAD), (None, GOOD)], False),
    ("no hour is known", [(None, BAD), (None, GOOD)], False),
    ("failed again", [(10, BAD), (20, GOOD), (21, BAD)], False),
    ("passed between two that failed", [(10, BAD), (21, BAD), (20, GOOD)], False),
    ("passed after two that failed", [(10, BAD), (12, BAD), (20, GOOD)], True),
    ("one more that failed has no hour", [(None, BAD), (10, BAD), (20, GOOD)], False),
    ("the same in another order", [(20, GOOD), (None, BAD), (10, BAD)], False),
    ("left out what failed", [(10, BAD), (20, {"oil": "0.1 mg/m3"})], False),
]


def of_one_day(shelf: Shelf, tests: list[tuple[int | None, dict[str, str]]]) -> Book:
    """A station with samples of one day, as a hand may have written them."""
    written = [
        replace(
            measured(standard="cga-grade-e", **values),
            at=None if hour is None else dt.time(hour),
            result=TestResult.FAIL if values is BAD else TestResult.PASS,
        )
        for hour, values in tests
    ]
    station = shelf.book.station
    station = replace(station, air_tests=(*station.air_tests, *written))
    return replace(shelf.book, station=station)


@pytest.mark.parametrize(("tests", "opens"), [each[1:] for each in OF_ONE_DAY])
@pytest.mark.parametrize("day", [TODAY, TODAY + dt.timedelta(days=1)])
def test_of_one_day_the_hours_say_which_sample_counts_and_every_judge_reads_the_same(
    tests: list[tuple[int | None, dict[str, str]]], opens: bool, day: dt.date, shelf: Shelf
) -> None:
    book = of_one_day(shelf, tests)
    judge, station = air_judge(book), book.station
    failed = [t for t in station.air_tests if not judge.passes(t)]
    assert failed
    assert ("air-test-failed" not in [r.code for r in station_reasons(book, day)]) is opens
    assert (
        not any(r.code == "air-test-failed" for r in may_fill(book, "RB-014", day).refusals)
    ) is opens
    assert all((judge.answer(station, t) is not None) is opens for t in failed)
    assert (not any(judge.wrong(station))) is opens
    air = [d for d in due_of_station(book, station, day) if d.obligation is Obligation.AIR_TEST]
    assert (not any(d.failed for d in air)) is opens


def test_what_passes_on_the_day_of_one_that_failed_reopens_by_their_hours(shelf: Shelf) -> None:
    shelf.do(air_test, replace(measured(**BAD), at=dt.time(10)), None, TODAY)
    act = shelf.do(air_test, replace(measured(**GOOD), at=dt.time(20)), None, TODAY)
    assert act.notes == ("the station is open again",)
    assert stops(shelf) == []
    act = shelf.do(air_test, replace(measured(**BAD), at=dt.time(21)), None, TODAY)
    assert "air-test-failed" in stops(shelf)
    act = shelf.do(air_test, replace(measured(**GOOD), at=dt.time(20, 30)), None, TODAY)
    assert any("was not drawn before it: this one reopens nothing" in n for n in act.notes)
    assert "air-test-failed" in stops(shelf)
    act = shelf.do(air_test, replace(measured(**GOOD), at=dt.time(22)), None, TODAY)
    assert act.notes == ("the station is open again",)
    assert stops(shelf) == []


def test_where_an_hour_is_missing_the_mend_names_it_and_opens_when_typed(shelf: Shelf) -> None:
    book = of_one_day(shelf, [(10, BAD), (None, GOOD)])
    way = "`tankbook correct station air-tests 2026-11-25#2 --set at=HH:MM --why WHY`"
    mends = [r.mend for r in station_reasons(book, TODAY) if r.code == "air-test-failed"]
    assert mends
    for mend in mends:
        assert "nobody says that it was drawn after the one that failed" in mend
        assert way in mend
        assert "air-tests 2026-11-25#1" not in mend
        assert "a later sample of the same place" in mend
    mended = of_one_day(shelf, [(10, BAD), (20, GOOD)])
    assert not any(r.code == "air-test-failed" for r in station_reasons(mended, TODAY))


def test_what_a_source_gave_between_a_bad_sample_and_a_good_one_of_its_day_stays_suspect(
    shelf: Shelf,
) -> None:
    book = of_one_day(shelf, [(10, BAD), (20, GOOD)])
    failed = book.station.air_tests[-2]
    until = air_judge(book).answer(book.station, failed)
    assert until is not None
    assert until.first == until.last == dt.datetime.combine(TODAY, dt.time(20))


# 0.1 mg/m3 of oil, 2 ppm of CO and 500 ppm of CO2 are the limits for oxygen use, and those of CGA
# Grade E, that this station breathes by, 5 mg/m3, 10 ppm and 1000 ppm (the rows, read)
OXYGEN_USE_ALONE = [
    ({"oil": "0.1 mg/m3"}, "clean"),
    ({"oil": "0.5 mg/m3"}, "ordinary"),
    ({"oil": "5 mg/m3"}, "ordinary"),
    ({"co": "3 ppm"}, "ordinary"),
    ({"co2": "900 ppm"}, "ordinary"),
    ({"oil": "0.5 mg/m3", "co": "3 ppm"}, "ordinary"),
    ({"oil": "5.1 mg/m3"}, "bad"),
    ({"oil": "0.5 mg/m3", "co": "11 ppm"}, "bad"),
    ({"oil": "0.5 mg/m3", "hydrocarbons": "26 ppm"}, "bad"),
    ({"oil": "0.5 mg/m3", "oxygen": "19.9 %"}, "bad"),
    ({"oil": "0.5 mg/m3", "odour": "oil"}, "bad"),
]


@pytest.mark.parametrize(("values", "is_"), OXYGEN_USE_ALONE)
def test_over_the_limits_for_oxygen_use_alone_it_is_ordinary_air_to_breathe(
    values: dict[str, str], is_: str, shelf: Shelf
) -> None:
    smelt = values.get("odour", "none")
    got = {**GOOD, **{k: v for k, v in values.items() if k != "odour"}}
    drawn = replace(measured(standard="oxygen-compatible", **got), odour=smelt)
    act = shelf.do(air_test, drawn, None, TODAY)
    assert (act.sentence.startswith("Air test FAILED")) is (is_ == "bad")
    assert (act.sentence.startswith("Air test passed for breathing")) is (is_ == "ordinary")
    assert any("keeps no cylinder and no bank clean" in n for n in act.notes) is (is_ == "ordinary")
    assert ("air-test-failed" in stops(shelf)) is (is_ == "bad")
    judge, entry = air_judge(shelf.book), shelf.book.station.air_tests[-1]
    assert (judge.passes(entry) and judge.opens(shelf.book.station, entry)) is (is_ != "bad")
    assert bool(judge.over_for_oxygen(entry)) is (is_ != "clean")


def test_ordinary_air_held_to_oxygen_use_answers_what_a_breathing_test_failed_on(
    shelf: Shelf,
) -> None:
    shelf.do(air_test, measured(TODAY - dt.timedelta(days=1), **BAD), None, TODAY)
    assert "air-test-failed" in stops(shelf)
    drawn = measured(standard="oxygen-compatible", **{**GOOD, "oil": "0.5 mg/m3"})
    shelf.do(air_test, drawn, None, TODAY)
    assert stops(shelf) == []


def test_the_laboratorys_word_on_oxygen_use_closes_and_says_how_it_is_set_right(
    shelf: Shelf,
) -> None:
    drawn = measured(standard="oxygen-compatible", **{**GOOD, "oil": "0.5 mg/m3"})
    act = shelf.do(air_test, drawn, TestResult.FAIL, TODAY)
    way = "`tankbook correct station air-tests 2026-11-25 --set result=pass --why WHY`"
    assert any(way in n for n in act.notes)
    mends = [r.mend for r in station_reasons(shelf.book, TODAY) if r.code == "air-test-failed"]
    assert mends
    assert all(way in mend for mend in mends)
    assert air_judge(shelf.book).may_have_failed_on(shelf.book.station.air_tests[-1]) == {"oil"}
    station = shelf.book.station
    last = replace(station.air_tests[-1], result=TestResult.PASS)
    mended = replace(station, air_tests=(*station.air_tests[:-1], last))
    book = replace(shelf.book, station=mended)
    assert not any(r.code == "air-test-failed" for r in station_reasons(book, TODAY))


def test_what_is_held_to_oxygen_use_sets_no_limit_for_readings_of_carbon_monoxide(
    shelf: Shelf,
) -> None:
    read = CoReading(on=TODAY, co=Concentration.parse("3 ppm"))
    before = most_co(shelf.book, read)
    shelf.do(air_test, measured(standard="oxygen-compatible", **GOOD), None, TODAY)
    assert most_co(shelf.book, read) == before == Concentration.parse("10 ppm")
