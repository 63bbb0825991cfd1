"""Logging fills: the gate, the look, the analysis, overrides and facts."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from books import GOOD, STATION, with_lines
from shop import Shop, reasons, shop

from tankbook.gas import Gas, RangeError
from tankbook.records.edits import Act, Refusal
from tankbook.records.log import LogLine, columns
from tankbook.rules.acts.fill import Filling, Wanted, fill
from tankbook.rules.contents import contents_of
from tankbook.units import GaugePressure, Percent, Temperature

AT = dt.datetime.fromisoformat("2026-11-25T14:30:00+01:00")
HEADER = ",".join(columns(LogLine)) + "\n"
LOOKED = Filling(by="MV", source="B1", looked=True)
NITROX = with_lines(
    GOOD, service="nitrox", cleaned="[{on: 2026-02-09, by: MV, to: nitrox}]", serial="N1"
)
PLACES = (
    STATION
    + """
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
  - {name: B2, water_volume: 48 L, gas: nitrox32, grade: oxygen, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
positions: [{name: P1, kind: enclosed}]
regulator_set: 3000 psi
"""
)
PEOPLE = """
ledger: Test Quay
units: psi
rules: [us-dot]
gas: air
operator: TO
people:
  MV: {certifications: [{skill: inspector, from: 2020-01}]}
  TO: {certifications: [{skill: filler, from: 2020-01, until: 2025-01}, {skill: analyst, from: 2020-01}]}
  JO: {role: owner}
"""


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def log(*lines: str) -> str:
    """A log of `time,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source` lines."""
    width = len(columns(LogLine))
    return HEADER + "".join(f"{n}{',' * (width - 1 - n.count(','))}\n" for n in lines)


def filled(ledger: Shop, how: Filling = LOOKED, at: dt.datetime = AT, **to: float) -> Act | Refusal:
    wanted = [Wanted(k.replace("_", "-"), psi(v)) for k, v in (to or {"RB_014": 3000}).items()]
    return fill(ledger.book, wanted, how, at=at)


def lines(ledger: Shop) -> list[str]:
    return ledger.files["fills/2026.csv"].splitlines()[1:]


# --- a fill that may be --------------------------------------------------------------------------


def test_a_fill_is_one_line() -> None:
    ledger = shop(station=PLACES, RB_014=GOOD)
    how = replace(LOOKED, temperature=Temperature.parse("70 degF"), position="P1")
    act = ledger.do(fill(ledger.book, [Wanted("RB-014", psi(3000), psi(500))], how, at=AT))
    assert act.sentence == "Filled RB-014 to 3000 psi with air from B1, by MV"
    assert lines(ledger) == [
        "2026-11-25T14:30:00+01:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,P1,,,looked over"
    ]


def test_several_are_one_act_and_the_log_is_begun_where_there_is_none() -> None:
    ledger = shop(RB_014=GOOD, RB_022=with_lines(GOOD, serial="B"))
    act = ledger.do(filled(ledger, RB_014=3000, RB_022=2980))
    assert act.sentence == "Filled RB-014 to 3000 psi, RB-022 to 2980 psi with air from B1, by MV"
    assert ledger.files["fills/2026.csv"].startswith(HEADER)
    assert len(lines(ledger)) == 2
    assert contents_of(ledger.book, "RB-022").pressure == psi(2980)


def test_doubles_are_filled_as_one() -> None:
    sets = {"DB-1": "cylinders: [RB-014, RB-022]\nisolator: open\n"}
    ledger = shop(sets=sets, RB_014=GOOD, RB_022=with_lines(GOOD, serial="B"))
    ledger.do(filled(ledger, DB_1=3000))
    assert [n.cylinder for n in ledger.book.log] == ["DB-1"]
    assert contents_of(ledger.book, "RB-014").pressure == psi(3000)


def test_two_fills_in_one_second_can_be_told_apart() -> None:
    ledger = shop(RB_014=GOOD)
    ledger.do(filled(ledger, RB_014=1500))
    ledger.do(filled(ledger, RB_014=3000))
    assert [n.at.second for n in ledger.book.log] == [0, 1]


def test_what_is_not_said_is_as_in_the_last_fill_of_the_day_then_as_in_the_settings() -> None:
    card = {"RB_014": GOOD, "RB_022": with_lines(GOOD, serial="B")}
    ledger = shop(settings=PEOPLE, station=PLACES, **card)
    act = ledger.do(filled(ledger, Filling(looked=True, source="C1"), RB_014=3000))
    assert act.notes[0] == "as the settings say: by TO, gas air"
    ledger.do(filled(ledger, Filling(looked=True, by="JO", source="B1"), RB_014=3000))
    act = ledger.do(filled(ledger, Filling(looked=True), AT + dt.timedelta(hours=1), RB_022=3000))
    assert act.notes[0] == "as in the day's last fill: by JO, gas air, source B1"
    assert ledger.book.log[-1].by == "JO"
    tomorrow = AT + dt.timedelta(days=1)
    act = ledger.do(filled(ledger, Filling(looked=True), tomorrow), tomorrow.date())
    assert act.notes[0] == "as the settings say: by TO, gas air"
    assert any("no --source" in n for n in act.notes)


def test_a_struck_out_fill_suggests_nothing() -> None:
    voided = log(
        "2026-11-25T09:00:00+01:00,RB-014,fill,,3000 psi,,air,,,JO,,B2",
        "2026-11-25T09:05:00+01:00,RB-014,void,,,,,,,JO,,,,,2026-11-25T09:00:00+01:00 RB-014,slip",
    )
    ledger = shop(settings=PEOPLE, station=PLACES, log=voided, RB_014=GOOD)
    ledger.do(filled(ledger, Filling(looked=True)))
    assert (ledger.book.log[-1].by, ledger.book.log[-1].source_) == ("TO", None)


def test_a_lapsed_certification_is_warned_of() -> None:
    ledger = shop(settings=PEOPLE, RB_014=GOOD)
    act = ledger.do(filled(ledger, replace(LOOKED, by="TO")))
    assert "WARNING: TO's certification as filler has lapsed" in act.notes


# --- a fill that may not be ----------------------------------------------------------------------

LATE = with_lines(GOOD, serial="L1", inspected="[{on: 2025-02-09, by: MV, checklist: annual, result: pass}]")  # fmt: skip
HELD = with_lines(GOOD, serial="H1", status="held", held="[{on: 2026-11-01, why: dent}]")


def test_without_the_look_nothing_is_logged() -> None:
    got = filled(shop(RB_014=GOOD), replace(LOOKED, looked=False))
    assert "looked over before the fill: --looked" in reasons(got)


def test_every_reason_of_every_cylinder_and_nothing_written() -> None:
    ledger = shop(RB_014=GOOD, RB_015=LATE, RB_016=HELD)
    got = filled(ledger, RB_014=3000, RB_015=3100, RB_016=3000)
    assert isinstance(got, Refusal)
    told = reasons(got)
    assert "RB-015: visual lapsed Feb 2026 [us.visual" in told
    assert "--override may lift it" in told
    assert "RB-015: 3100 psi is above its limit, 3000 psi at 70 degF" in told
    assert "RB-016: it is held: dent [bench.standing.held; common practice, no source]" in told
    assert "RB-014" not in told


def test_what_the_station_has_against_it_is_said_once() -> None:
    closed = "air_tests: [{on: 2026-11-01, result: fail}]\n"
    ledger = shop(station=closed, RB_014=GOOD, RB_022=with_lines(GOOD, serial="B"))
    got = filled(ledger, RB_014=3000, RB_022=3000)
    assert reasons(got).count("the air test of 2026-11-01 failed") == 1
    assert "the station: the air test" in reasons(got)


@pytest.mark.parametrize(
    ("to", "at", "said"),
    [
        (3000, None, ""),
        (3001, None, "3001 psi is above its limit, 3000 psi at 70 degF"),
        (3000, "70 degF", ""),
        (3000, "41 degF", "above 27"),
        (2760, "41 degF", ""),
        (3000, "100 degF", ""),
        (3050, "100 degF", "3050 psi is above its limit, 3000 psi at 70 degF"),
    ],
)
def test_the_limit_is_what_it_reads_at_the_temperature_given(
    to: float, at: str | None, said: str
) -> None:
    """A colder day lowers the target; a hotter one raises nothing (computed: by density)."""
    ledger = shop(RB_014=GOOD)
    how = replace(LOOKED, temperature=Temperature.parse(at) if at else None)
    got = filled(ledger, how, RB_014=to)
    if said:
        assert said in reasons(got)
    else:
        ledger.do(got)


def test_a_temperature_that_the_gas_model_does_not_reach_is_no_request() -> None:
    how = replace(LOOKED, temperature=Temperature.parse("-90 degF"))
    with pytest.raises(RangeError):
        filled(shop(RB_014=GOOD), how)


def test_a_reading_at_the_figure_shown_is_within_the_limit() -> None:
    ledger = shop(RB_014=GOOD)
    how = replace(LOOKED, temperature=Temperature.parse("41 degF"))
    told = reasons(filled(ledger, how, RB_014=2990))
    shown = float(told.split("above ")[1].split(" psi")[0])
    ledger.do(filled(ledger, how, RB_014=shown))
    assert "above" in reasons(filled(ledger, how, RB_014=shown + 1))


def test_without_a_temperature_a_colder_room_is_warned_of() -> None:
    ledger = shop(settings=PEOPLE + "ambient: 41 degF\n", RB_014=GOOD)
    act = ledger.do(filled(ledger))
    assert any(
        "no --temperature was given; at 41 degF its limit would read 27" in n for n in act.notes
    )


def test_a_regulator_set_above_the_lowest_connected_is_refused() -> None:
    ledger = shop(RB_014=GOOD, RB_022=with_lines(GOOD, serial="B", service_pressure="2400 psi",
                                                 test_pressure="4000 psi"))  # fmt: skip
    how = replace(LOOKED, fill_pressure=psi(3000))
    ledger.do(filled(ledger, how, RB_014=2400))
    got = filled(ledger, replace(how, together=True), RB_014=2400, RB_022=2400)
    assert "the fill regulator is set to 3000 psi, above 2400 psi of RB-022" in reasons(got)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (replace(LOOKED, by="XX"), "XX is not among the people"),
        (replace(LOOKED, by=""), ""),
        (replace(LOOKED, source="B9"), "--source: the station has no `B9`; known: B1, B2, C1"),
        (replace(LOOKED, source="B1+C1"), ""),
        (replace(LOOKED, position="P9"), "--position: the station has no `P9`; known: P1"),
        (replace(LOOKED, note="two\nlines"), "is not one line of plain text"),
        (replace(LOOKED, override="rush"), "an override has a reason and somebody who allows it"),
        (replace(LOOKED, approved_by="JO"), "an override has a reason"),
        (replace(LOOKED, override="rush", approved_by="XX"), "--approved-by: XX is not among"),
        (replace(LOOKED, override="a", approved_by="JO", happened="b"), "give one of them"),
    ],
)
def test_what_cannot_be_recorded_at_all(how: Filling, said: str) -> None:
    ledger = shop(settings=PEOPLE, station=PLACES, RB_014=GOOD)
    got = filled(ledger, how)
    if said:
        assert said in reasons(got)
    else:
        ledger.do(got)


def test_a_fill_does_not_run_backward_and_names_nobody_twice() -> None:
    ledger = shop(RB_014=GOOD)
    wanted = [Wanted("RB-014", psi(500), psi(3000))] * 2
    told = reasons(fill(ledger.book, wanted, LOOKED, at=AT))
    assert "RB-014: a fill from 3000 psi to 500 psi runs backward" in told
    assert "RB-014 is named twice" in told
    assert "name at least one cylinder" in reasons(fill(ledger.book, [], LOOKED, at=AT))


# --- it came back empty --------------------------------------------------------------------------

FIRST = "2026-11-20T09:00:00+01:00,RB-014,fill,,3000 psi,,air,,,MV,,B1"


@pytest.mark.parametrize(
    ("before", "card", "said"),
    [
        ((FIRST,), GOOD, "RB-014: it came back empty on 2026-11-25"),
        ((FIRST, "2026-11-21T09:00:00+01:00,RB-014,drain,,0 psi"), GOOD, ""),
        ((FIRST, "2026-11-21T09:00:00+01:00,RB-014,drain,,500 psi"), GOOD, "it came back empty"),
        ((), GOOD, ""),
        ((FIRST,), with_lines(GOOD, inspected="[{on: 2026-11-22, by: MV, checklist: internal, result: pass}, {on: 2026-02-09, by: MV, checklist: annual, result: pass}]"), ""),
        ((), with_lines(GOOD, inspected="[{on: 2026-03, checklist: sticker-seen, result: pass, sticker: seen}]"), "it came back empty"),
    ],
)  # fmt: skip
def test_a_fill_from_nothing_is_accounted_for(
    before: tuple[str, ...], card: str, said: str
) -> None:
    ledger = shop(RB_014=card, log=log(*before))
    got = fill(ledger.book, [Wanted("RB-014", psi(3000), psi(0))], LOOKED, at=AT)
    if said:
        assert said in reasons(got)
    else:
        ledger.do(got)
        assert ledger.book.log[-1].from_ == psi(0)


# --- nitrox --------------------------------------------------------------------------------------

MIX = replace(
    LOOKED, gas=Gas.parse("nitrox32"), source="B2", o2=Percent.parse("32.1 %"), analysed_by="TO"
)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (MIX, ""),
        (replace(MIX, o2=None), "nitrox32 is analysed before it is labelled: --o2"),
        (replace(MIX, analysed_by=""), "nitrox32 has an analyst: --analysed-by"),
        (replace(MIX, analysed_by="XX"), "--analysed-by: XX is not among the people"),
        (replace(MIX, o2=Percent.parse("33 %")), ""),
        (replace(MIX, o2=Percent.parse("33.1 %")), "33.1 % oxygen was analysed, and nitrox32 has 32 %"),
        (replace(MIX, gas=Gas.parse("trimix32/20"), he=Percent.parse("10 %")), "10 % helium was analysed, and trimix32/20 has 20 %"),
        (replace(LOOKED, gas=Gas.parse("air"), o2=Percent.parse("32 %")), "and air has 20.96 %"),
    ],
)  # fmt: skip
def test_any_gas_but_air_is_analysed_by_somebody(how: Filling, said: str) -> None:
    ledger = shop(settings=PEOPLE, station=PLACES, RB_014=NITROX)
    got = filled(ledger, how)
    if said:
        assert said in reasons(got)
    else:
        act = ledger.do(got)
        assert any("RB-014: label: nitrox32, " in n for n in act.notes)


def test_ordinary_air_ends_the_oxygen_clean_state_and_says_so() -> None:
    ledger = shop(settings=PEOPLE, station=PLACES, RB_014=NITROX)
    act = ledger.do(filled(ledger, replace(LOOKED, gas=Gas.parse("air"), source="B1")))
    assert "RB-014: gas of no oxygen grade ends its oxygen-clean state" in act.notes
    assert "oxygen-clean state was lost" in reasons(filled(ledger, MIX, AT + dt.timedelta(days=1)))


# --- overrides and facts -------------------------------------------------------------------------


def test_an_override_lifts_shop_practice_by_name() -> None:
    ledger = shop(settings=PEOPLE, RB_014=LATE)
    how = replace(LOOKED, override="regatta day", approved_by="JO")
    act = ledger.do(filled(ledger, how))
    assert ledger.book.log[-1].override == "regatta day (JO)"
    assert "RB-014: overridden by JO: visual lapsed Feb 2026" in act.notes
    assert ledger["RB-014"].status == "in-service"


@pytest.mark.parametrize(
    ("card", "said"),
    [
        (HELD, "it is held"),
        (with_lines(GOOD, requalified="[{on: 2019-01, method: hydrostatic, by: maker}]"), "lapsed Jan 2024"),
        (with_lines(GOOD, neck_thread=None), "its neck thread is not recorded"),
    ],
)  # fmt: skip
def test_an_override_lifts_nothing_else(card: str, said: str) -> None:
    how = replace(LOOKED, override="regatta day", approved_by="JO")
    got = filled(shop(settings=PEOPLE, RB_014=card), how)
    assert said in reasons(got)


def test_no_override_lifts_a_pressure_above_the_limit() -> None:
    how = replace(LOOKED, override="regatta day", approved_by="JO")
    got = filled(shop(settings=PEOPLE, RB_014=GOOD), how, RB_014=3100)
    assert "above its limit" in reasons(got)


def test_an_override_that_lifts_nothing_is_not_logged() -> None:
    ledger = shop(settings=PEOPLE, RB_014=GOOD)
    act = ledger.do(filled(ledger, replace(LOOKED, override="rush", approved_by="JO")))
    assert ledger.book.log[-1].override is None
    assert "nothing had to be overridden, so no override is logged" in act.notes


def test_a_fact_is_logged_whatever_the_gate_says_and_holds_the_cylinder() -> None:
    ledger = shop(RB_014=GOOD)
    how = Filling(by="MV", source="B1", happened="regulator crept")
    act = ledger.do(filled(ledger, how, RB_014=3200))
    assert act.sentence == (
        "Logged as a fact: filled RB-014 to 3200 psi with air from B1, by MV; regulator crept; held"
    )
    assert ledger.book.log[-1].note == "happened: regulator crept"
    card = ledger["RB-014"]
    assert card.status == "held"
    assert card.held[-1].why == (
        "filled to 3200 psi, logged as a fact: 3200 psi is above its limit, 3000 psi at 70 degF"
    )
    assert ledger.faults() == []
    assert "RB-014 is held now" in act.notes


def test_a_fact_about_doubles_holds_both() -> None:
    sets = {"DB-1": "cylinders: [RB-014, RB-022]\nisolator: open\n"}
    ledger = shop(sets=sets, RB_014=GOOD, RB_022=with_lines(GOOD, serial="B"))
    ledger.do(filled(ledger, Filling(by="MV", happened="crept"), DB_1=3200))
    assert ledger["RB-014"].status == ledger["RB-022"].status == "held"


def test_a_fact_about_a_gas_nobody_analysed_is_logged_too() -> None:
    ledger = shop(RB_014=NITROX)
    how = Filling(by="MV", gas=Gas.parse("nitrox32"), happened="analyser dead")
    ledger.do(filled(ledger, how))
    assert ledger["RB-014"].status == "held"
    assert ledger.faults() == []


def test_a_fact_about_what_is_condemned_leaves_it_condemned() -> None:
    card = with_lines(GOOD, status="condemned", condemned="[{on: 2026-11-01, why: burst}]")
    ledger = shop(RB_014=card)
    ledger.do(filled(ledger, Filling(by="MV", happened="wrong one taken")))
    assert ledger["RB-014"].status == "condemned"
    assert len(ledger["RB-014"].held) == 1


def test_a_fact_is_held_even_when_nothing_was_against_it() -> None:
    ledger = shop(RB_014=GOOD)
    ledger.do(filled(ledger, Filling(by="MV", happened="whip burst")))
    assert ledger["RB-014"].held[-1].why.endswith("logged as a fact: whip burst")
