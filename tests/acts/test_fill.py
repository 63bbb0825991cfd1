"""Logging fills: the gate, the look, the analysis, overrides and facts."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, STATION, with_lines
from changing import replace
from shop import Shop, reasons, shop

from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.acts.reading import Shown, drain
from tankbook.acts.repeated import repeated
from tankbook.gas import Gas, RangeError
from tankbook.records.edits import Act, Refusal
from tankbook.records.log import LogLine, columns
from tankbook.rules.checks import check
from tankbook.rules.fill_history import contents_of
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


def test_a_refusal_says_that_the_gas_is_the_one_of_the_last_fill() -> None:
    """Nobody asked for it: five reasons against nitrox help nobody who fills air."""
    card = {"RB_014": with_lines(GOOD, service="nitrox"), "RB_022": with_lines(GOOD, serial="B")}
    ledger = shop(settings=PEOPLE, station=PLACES, **card)
    mixed = Filling(looked=True, source="C1", happened="seen", gas=Gas.parse("nitrox32"))
    ledger.do(
        filled(ledger, replace(mixed, o2=Percent.parse("32 %"), analysed_by="TO"), RB_014=3000)
    )
    later = AT + dt.timedelta(hours=1)
    told = reasons(filled(ledger, Filling(looked=True, source="C1"), later, RB_022=3000))
    assert "gas nitrox32 is as in the day's last fill; `--gas air` says another" in told
    air = Filling(looked=True, source="C1", gas=Gas.parse("air"))
    assert isinstance(filled(ledger, air, later, RB_022=3000), Act)


def test_a_struck_out_fill_suggests_nothing() -> None:
    voided = log(
        "2026-11-25T09:00:00+01:00,RB-014,fill,,3000 psi,,air,,,JO,,B2",
        "2026-11-25T09:05:00+01:00,RB-014,void,,,,,,,MV,,,,,2026-11-25T09:00:00+01:00 RB-014,slip",
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
        (3050, "100 degF", "3050 psi is above 3000 psi, which no gauge passes for its cylinder"),
        (3300, "100 degF", "3300 psi is above 32"),
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


WHIPS = (
    PLACES
    + """whips:
  - {name: W1, rating: 2800 psi}
  - {name: W2, rating: 4500 psi}
"""
)


def test_no_more_than_the_part_it_was_filled_through_stands() -> None:
    """A whip that nobody named may be the lowest; the one that was named counts."""
    ledger = shop(station=WHIPS, RB_014=GOOD)
    told = reasons(filled(ledger))
    assert "3000 psi is above 2800 psi, which no gauge passes for whip W1, however warm" in told
    assert "[bench.gauge-ceiling; common practice, no source]" in told
    assert "--position says which" in told
    assert "whip W1" in reasons(filled(ledger, replace(LOOKED, position="P1+W1")))
    assert "no `W9`" in reasons(filled(ledger, replace(LOOKED, position="P1+W9")))
    ledger.do(filled(ledger, replace(LOOKED, position="P1+W2")))


def test_a_gauge_above_a_mark_is_practice_and_above_a_limit_is_law() -> None:
    allowed = replace(LOOKED, override="read again at rest", approved_by="MV")
    warm = replace(allowed, temperature=Temperature.parse("100 degF"))
    ledger = shop(RB_014=GOOD)
    assert "49 CFR" in reasons(filled(ledger, warm, RB_014=3300))
    assert "49 CFR" in reasons(filled(ledger, allowed, RB_014=3050))
    ledger.do(filled(ledger, warm, RB_014=3050))


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
        (replace(LOOKED, source="elsewhere: Quay+B9"), "--source: the station has no `B9`; known"),
        (replace(LOOKED, source="elsewhere: C1"), "names c1 of this station: what was filled here"),
        (replace(LOOKED, source="Elsewhere: Quay, b1"), "is `--source B1`; what others filled"),
        (replace(LOOKED, source="elsewhere: bank 1"), "names b1 of this station"),
        (replace(LOOKED, source="elsewhere: Quay, bank 7"), ""),
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


@pytest.mark.parametrize(
    "state",
    [
        {"air_tests": "[{on: 2026-11-24, by: L, standard: cga-grade-e, result: fail}]"},
        {"air_tests": "[{on: 2024-11-24, by: L, standard: cga-grade-e, result: pass}]"},
        {"co_readings": "[{on: 2026-11-24, alarm: yes, by: MV}]"},
        {"regulator": "{checked: [{on: 2026-11-24, by: MV, result: fail, note: creeps}]}"},
        {"opening": "{steps: [drains, intake]}"},
    ],
)
def test_what_others_filled_asks_nothing_of_our_station(state: dict[str, str]) -> None:
    ledger = shop(
        station=with_lines(PLACES, **state), RB_014=GOOD, RB_022=with_lines(GOOD, serial="B")
    )
    theirs = replace(LOOKED, source="elsewhere: Reef Shop")
    for changes in ({"source": "B1"}, {"position": "P1"}, {"source": "elsewhere: Reef+C1"}):
        assert isinstance(filled(ledger, replace(theirs, **changes)), Refusal)
    act = ledger.do(filled(ledger, theirs))
    assert "elsewhere: Reef Shop: no test of its air is known here" in "".join(act.notes)
    assert ledger.book.cylinders["RB-014"].held == ()
    # what is filled here next is not taken for theirs
    later = AT + dt.timedelta(minutes=5)
    assert isinstance(filled(ledger, replace(LOOKED, source=""), later, RB_022=3000), Refusal)


def test_a_fault_of_the_cylinder_stands_wherever_it_was_filled() -> None:
    ledger = shop(station=PLACES, RB_014=with_lines(GOOD, status="held"))
    assert isinstance(filled(ledger, replace(LOOKED, source="elsewhere: Reef Shop")), Refusal)


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
        ((FIRST,), GOOD, "RB-014: it was read empty on 2026-11-25"),
        ((FIRST, "2026-11-21T09:00:00+01:00,RB-014,drain,,0 psi"), GOOD, ""),
        ((FIRST, "2026-11-21T09:00:00+01:00,RB-014,drain,,500 psi"), GOOD, "it was read empty"),
        ((), GOOD, ""),
        ((FIRST,), with_lines(GOOD, inspected="[{on: 2026-11-22, by: MV, checklist: internal, result: pass}, {on: 2026-02-09, by: MV, checklist: annual, result: pass}]"), ""),
        ((), with_lines(GOOD, inspected="[{on: 2026-03, checklist: sticker-seen, result: pass, sticker: seen}]"), "it was read empty"),
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
    act = ledger.fact(filled(ledger, how, RB_014=3200))
    assert act.sentence == (
        "Logged as a fact: filled RB-014 to 3200 psi with air from B1, by MV; regulator crept; held"
    )
    assert ledger.book.log[-1].note == "happened: regulator crept"
    card = ledger["RB-014"]
    assert card.status == "held"
    [held] = card.held
    assert held.why == (
        "filled to 3200 psi, logged as a fact: 3200 psi is above its limit, 3000 psi at 70 degF"
    )
    assert held.at == dt.time(14, 30)
    assert "RB-014 is held now" in act.notes
    assert any("above the 3000 psi that was lawful; bleed it down" in n for n in act.notes)


def test_the_hold_of_a_fact_does_not_make_its_own_fill_unlawful() -> None:
    ledger = shop(RB_014=GOOD)
    late = AT.replace(second=30)
    ledger.fact(filled(ledger, Filling(by="MV", happened="crept"), late, RB_014=3200))
    assert ledger["RB-014"].held[-1].at == dt.time(14, 31)
    assert not any("filled while held" in f for f in ledger.faults())


def test_an_overfill_told_as_a_fact_holds_until_somebody_looked_inside() -> None:
    """Bleeding it down undoes nothing of what it stood."""
    ledger, then = shop(RB_014=GOOD), AT - dt.timedelta(days=1)
    ledger.fact(filled(ledger, Filling(by="MV", happened="crept"), then, RB_014=3200))
    bled = [Shown("RB-014", psi(2900), psi(3200))]
    ledger.do(drain(ledger.book, bled, by="MV", at=then + dt.timedelta(minutes=5)))
    assert len(ledger.faults()) == 1
    looked = "\n  - {on: 2026-11-25, by: MV, checklist: annual, result: pass}"
    card = ledger.files["cylinders/RB-014.yaml"]
    ledger.files["cylinders/RB-014.yaml"] = card.replace(
        "sticker: issued}", "sticker: issued}" + looked
    )
    assert ledger.faults() == []


def test_a_fact_about_doubles_holds_both() -> None:
    sets = {"DB-1": "cylinders: [RB-014, RB-022]\nisolator: open\n"}
    ledger = shop(sets=sets, RB_014=GOOD, RB_022=with_lines(GOOD, serial="B"))
    ledger.fact(filled(ledger, Filling(by="MV", happened="crept"), DB_1=3200))
    assert ledger["RB-014"].status == ledger["RB-022"].status == "held"


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (Filling(by="MV", happened="analyser dead"), "--o2 gives the percentage"),
        (Filling(by="MV", happened="x", o2=Percent.parse("36 %"), analysed_by="MV"), "36 % oxygen was analysed, and nitrox32 has 32 %"),
    ],
)  # fmt: skip
def test_a_fact_about_a_gas_not_analysed_or_analysed_otherwise_is_logged_too(
    how: Filling, said: str
) -> None:
    ledger = shop(RB_014=NITROX)
    ledger.fact(filled(ledger, replace(how, gas=Gas.parse("nitrox32"))))
    assert ledger["RB-014"].status == "held"
    assert said in ledger["RB-014"].held[-1].why


NOT_TO_BE_FILLED = {
    "held": "held: [{on: 2026-11-01, why: dent}]",
    "rejected": "rejected: [{on: 2026-11-01, why: pit}]",
    "condemned": "condemned: [{on: 2026-11-01, why: burst}]",
    "lost": "lost: [{on: 2026-11-01}]",
    "out": "rented: [{on: 2026-11-01, to: B-1}]",
    "at-test": "sent: [{on: 2026-11-01, to: N, for: requalification}]",
    "sold": "handed_over: [{on: 2026-11-01, to: C-1}]",
}


@pytest.mark.parametrize("status", NOT_TO_BE_FILLED)
def test_a_fill_of_what_should_not_have_been_is_a_fact_all_the_same(status: str) -> None:
    card = with_lines(GOOD, status=status) + NOT_TO_BE_FILLED[status] + "\n"
    ledger = shop(RB_014=card)
    assert "it is " in reasons(filled(ledger))
    act = ledger.fact(filled(ledger, Filling(by="MV", happened="wrong one taken")))
    assert any(f"RB-014 was filled while {status} since 2026-11-01" in n for n in act.notes)
    assert ledger["RB-014"].held[-1].why.startswith("filled to 3000 psi, logged as a fact: it is ")
    wanted = "held" if status == "out" else status  # a hold weighs more than being out
    assert ledger["RB-014"].status == wanted


def test_a_fact_about_a_file_that_cannot_be_read_is_logged_and_holds_nothing() -> None:
    ledger = shop(RB_014=GOOD)
    broken = replace(ledger.book, cylinders={}, broken={"RB-014": ()})
    act = fill(broken, [Wanted("RB-014", psi(3000))], Filling(by="MV", happened="x"), at=AT)
    assert isinstance(act, Act)
    assert [type(e).__name__ for e in act.edits] == ["AddLine"]
    assert any("RB-014 is not held, since its file cannot be read" in n for n in act.notes)


def test_a_fact_is_held_even_when_nothing_was_against_it() -> None:
    ledger = shop(RB_014=GOOD)
    ledger.do(filled(ledger, Filling(by="MV", happened="whip burst")))
    assert ledger["RB-014"].held[-1].why.endswith("logged as a fact: whip burst")


# --- a little over -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("to", "bled", "said"),
    [
        (3040, None, "by no more than the 50 psi that a gauge may err [us.fill-limit"),
        (3040, None, "bleed it, read it again, and log both with --bled RB-014=PRESSURE"),
        (3040, 3010, "and 3010 psi still is"),
        (3040, 3040, "bled from 3040 psi to 3040 psi runs backward"),
        (3060, 2990, "what happened is logged with --happened"),
        (3040, 3000, ""),
        (3040, 2950, ""),
    ],
)
def test_over_by_no_more_than_a_gauge_may_err_is_bled_and_both_are_logged(
    to: float, bled: float | None, said: str
) -> None:
    ledger = shop(RB_014=GOOD)
    wanted = Wanted("RB-014", psi(to), bled=psi(bled) if bled else None)
    got = fill(ledger.book, [wanted], LOOKED, at=AT)
    if said:
        assert said in reasons(got)
        return
    assert bled is not None
    ledger.do(got)
    told = [(str(n.act), n.from_, n.to, n.at.second) for n in ledger.book.log]
    assert told == [
        ("fill", None, psi(to), 0),
        ("drain", psi(to), psi(bled), 1),
    ]
    assert contents_of(ledger.book, "RB-014").pressure == psi(bled)
    assert ledger["RB-014"].status == "in-service"


def test_what_is_bled_in_the_last_second_of_a_day_is_of_that_day() -> None:
    ledger = shop(RB_014=GOOD)
    wanted = Wanted("RB-014", psi(3040), bled=psi(2990))
    ledger.do(fill(ledger.book, [wanted], LOOKED, at=AT.replace(hour=23, minute=59, second=59)))
    assert [f"{n.at:%d %H:%M:%S}" for n in ledger.book.log] == ["25 23:59:58", "25 23:59:59"]


def test_the_stations_own_gauge_error_counts() -> None:
    ledger = shop(station=PLACES + "gauge_error: 20 psi\n", RB_014=GOOD)
    assert "--bled" in reasons(filled(ledger, RB_014=3020))
    assert "--happened" in reasons(filled(ledger, RB_014=3021))


# --- what the log says otherwise -----------------------------------------------------------------


def test_a_pressure_that_no_fill_explains_is_asked_about_before_more_goes_in() -> None:
    ledger = shop(RB_014=GOOD, log=log(FIRST, "2026-11-24T09:00:00+01:00,RB-014,reading,,400 psi"))
    wanted = [Wanted("RB-014", psi(3000), psi(1500))]
    told = reasons(fill(ledger.book, wanted, LOOKED, at=AT))
    assert "with 400 psi known before it, and no fill between; log what filled it" in told
    assert "what happened all the same is logged with --happened" in told
    how = replace(LOOKED, looked=False, happened="somebody filled it at the lake")
    ledger.fact(fill(ledger.book, wanted, how, at=AT))


@pytest.mark.parametrize(
    ("use", "before", "begun"),
    [
        ("rental", "2026-01-05", psi(0)),  # looked inside since: 2026-02-09
        ("rental", "2026-02-10", None),  # filled since
        ("customer", "2026-01-05", None),  # who has it may have had it filled
    ],
)
def test_after_work_that_let_the_gas_out_a_fill_begins_with_nothing(
    use: str, before: str, begun: GaugePressure | None
) -> None:
    earlier = log(f"{before}T10:00:00+01:00,RB-014,fill,500 psi,3000 psi,,air,,,MV,,B1")
    owner = "C-0192" if use == "customer" else None
    card = with_lines(GOOD, use=use, owner=owner)
    ledger = shop(station=PLACES, log=earlier, RB_014=card)
    ledger.do(filled(ledger))
    assert ledger.book.log[-1].from_ == begun


@pytest.mark.parametrize(
    ("sent", "shown", "warned"),
    [
        ("2026-11-25", 2900, True),
        ("2026-11-25", 0, False),
        ("2026-01-05", 2900, False),  # filled since
    ],
)
def test_gas_that_came_from_nowhere_is_refused(sent: str, shown: float, warned: bool) -> None:
    """It is logged as a fact, which holds the cylinder."""
    earlier = log("2026-02-10T10:00:00+01:00,RB-014,fill,500 psi,3000 psi,,air,,,MV,,B1")
    away = f"[{{on: {sent}, by: MV, to: Weir, for: repair, back: {sent}, refitted: {sent}, refitted_by: MV}}]"
    looked = f"[{{on: {sent}, by: MV, checklist: annual, result: pass, clears: [returned {sent}]}}]"
    card = with_lines(GOOD, sent=away, inspected=looked)
    ledger = shop(station=PLACES, log=earlier, RB_014=card)
    wanted = [Wanted("RB-014", psi(3000), psi(shown))]
    asked = fill(ledger.book, wanted, LOOKED, at=AT)
    assert isinstance(asked, Refusal) is warned
    if warned:
        said = f"RB-014: it showed 2900 psi, and its gas was let out on {sent}"
        assert said in reasons(asked)
        how = replace(LOOKED, looked=False, happened="somebody filled it at the lake")
        act = ledger.fact(fill(ledger.book, wanted, how, at=AT))
        assert any(said in note for note in act.notes)
        assert ledger.book.cylinders["RB-014"].held


@pytest.mark.parametrize(("hour", "refused"), [("06:00", True), ("", True), ("23:00", False)])
def test_gas_of_before_the_hour_at_which_it_was_let_out_is_known(hour: str, refused: bool) -> None:
    earlier = log("2026-11-24T10:00:00+01:00,RB-014,fill,500 psi,3000 psi,,air,,,MV,,B1")
    at = f", at: '{hour}'" if hour else ""
    looked = f"[{{on: {AT.date()}, by: MV, checklist: annual, result: pass{at}}}]"
    ledger = shop(station=PLACES, log=earlier, RB_014=with_lines(GOOD, inspected=looked))
    asked = fill(ledger.book, [Wanted("RB-014", psi(3000), psi(2000))], LOOKED, at=AT)
    told = reasons(asked) if isinstance(asked, Refusal) else ""
    assert ("its gas was let out on" in told) is refused


@pytest.mark.parametrize(
    ("source", "position", "written"),
    [
        ("b1", "p1", ("B1", "P1")),
        ("b1 + c1", "P1", ("B1+C1", "P1")),
        ("B1+elsewhere: Quay", "P1", ("B1+elsewhere: Quay", "P1")),
        ("rb-022", "P1", ("rb-022", "P1")),  # decanted
    ],
)
def test_parts_are_known_in_letters_of_either_case_and_written_by_their_labels(
    source: str, position: str, written: tuple[str, str]
) -> None:
    ledger = shop(station=PLACES, RB_014=GOOD, RB_022=with_lines(GOOD, serial="B"))
    ledger.do(filled(ledger, replace(LOOKED, source=source, position=position), RB_014=2400))
    line = ledger.book.log[-1]
    assert (line.source_, line.position) == written


@pytest.mark.parametrize(
    ("since", "minutes", "between", "told"),
    [
        ("500 psi", 5, "", True),
        ("500 psi", 0, "", True),
        ("500 psi", 61, "", False),  # breathed meanwhile
        ("2700 psi", 20, "", False),  # it cooled, and was topped up
        ("500 psi", 20, "drain,2900 psi,500 psi", False),
        ("500 psi", 20, "reading,,500 psi", False),
    ],
)
def test_a_fill_typed_again_with_other_figures_is_asked_about(
    since: str, minutes: int, between: str, told: bool
) -> None:
    """One that begins far below what the last left, within the hour, and nothing logged between."""
    log = f"{HEADER}2026-11-25T09:00:00+00:00,RB-014,fill,1450 psi,2900 psi,,air,,,MV,,C1,,,,\n"
    log += f"2026-11-25T09:10:00+00:00,RB-014,{between},,,,,MV,,,,,,\n" if between else ""
    book = shop(log=log, RB_014=GOOD).book
    at = dt.datetime(2026, 11, 25, 9, tzinfo=dt.UTC)
    how = Filling(by="MV", gas=Gas.parse("air"), source="C1", looked=True, happened="typed")
    wanted = [Wanted("RB-014", GaugePressure.parse("2900 psi"), GaugePressure.parse(since))]
    act = fill(book, wanted, how, at=at + dt.timedelta(minutes=minutes))
    assert isinstance(act, Act)
    said = [s for s in repeated(book, act) if "nothing logged since let it down to 500 psi" in s]
    assert bool(said) is told
    assert not told or "`tankbook correct RB-014 fill 2026" in said[0]


HELD_32 = log("2026-11-20T10:00:00+01:00,RB-014,fill,0 psi,3000 psi,,nitrox32,32 %,,MV,TO,B2")


@pytest.mark.parametrize(
    ("source", "begun", "gas", "o2", "told"),
    [
        ("B1", 700, "nitrox32", "32 %", "24 % oxygen"),
        ("B1", 400, "nitrox32", "32 %", "22 % oxygen"),
        ("B1", 2900, "nitrox32", "32 %", ""),
        ("B2", 700, "nitrox32", "32 %", ""),
        ("B2", 400, "nitrox36", "36 %", "32 % oxygen"),
        ("B2", 700, "nitrox32", "31.5 %", ""),
        ("B1+B2", 700, "nitrox28", "28 %", ""),
        ("elsewhere: Quay", 700, "nitrox32", "32 %", ""),
    ],
)
def test_what_its_sources_cannot_make_is_asked_as_it_is_filled(
    source: str, begun: int, gas: str, o2: str, told: str
) -> None:
    """A mass balance of what stood in it and what went in (ideal shares of pressure): what no list
    of faults would tell later, `fill` does not tell either, and the other way round."""
    since = PLACES.replace("gas: nitrox32,", "gas: nitrox32, since: 2026-01-05,")
    since = since.replace("gas: air,", "gas: air, since: 2026-01-05,")
    ledger = shop(station=since, settings=PEOPLE, log=HELD_32, RB_014=NITROX)
    how = replace(MIX, gas=Gas.parse(gas), source=source, o2=Percent.parse(o2))
    act = ledger.do(fill(ledger.book, [Wanted("RB-014", psi(3000), psi(begun))], how, at=AT))
    asked = [n for n in act.notes if "what else went in, or stood in it before?" in n]
    assert len(asked) == bool(told), act.notes
    assert all(f"what is logged makes {told}" in n for n in asked)
    found = {f.code for f in check(ledger.book, AT.date())}
    assert ("made-in-doubt" in found) is bool(told)
