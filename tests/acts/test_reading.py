"""Readings and drains."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from books import GOOD, STATION
from shop import reasons, shop

from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.gas import Gas
from tankbook.records.edits import Refusal
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, Percent, Temperature

AT = dt.datetime.fromisoformat("2026-11-25T14:30:00+01:00")
FULL = (
    "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
    "2026-11-25T09:00:00+01:00,RB-014,fill,,3000 psi,,air,,,MV,,B1,,,,\n"
)


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def test_a_reading_is_a_line_and_keeps_the_gas() -> None:
    ledger = shop(RB_014=GOOD, log=FULL)
    act = ledger.do(
        read_gauges(
            ledger.book, [Shown("RB-014", psi(2950))], by="MV", at=AT,
            temperature=Temperature.parse("60 degF"), note="a week on the rack",
        )
    )  # fmt: skip
    assert act.sentence == "Read RB-014 2950 psi, by MV"
    assert ledger.files["fills/2026.csv"].endswith(
        "2026-11-25T14:30:00+01:00,RB-014,reading,,2950 psi,60 degF,,,,MV,,,,,,a week on the rack\n"
    )
    held = contents_of(ledger.book, "RB-014")
    assert (str(held.gas), held.pressure) == ("air", psi(2950))


def test_a_reading_of_nothing_asks_for_a_look_inside(today: dt.date) -> None:
    ledger = shop(RB_014=GOOD, log=FULL)
    act = ledger.do(read_gauges(ledger.book, [Shown("RB-014", psi(0))], by="MV", at=AT))
    assert any("it is looked inside before it is filled" in n for n in act.notes)
    codes = {r.code for r in may_fill(ledger.book, "RB-014", today).refusals}
    assert "returned-empty" in codes


def test_a_reading_above_the_limit_asks_for_a_bleed() -> None:
    ledger = shop(RB_014=GOOD)
    act = ledger.do(read_gauges(ledger.book, [Shown("RB-014", psi(3100))], by="MV", at=AT))
    assert any("WARNING: above its limit of 3000 psi at 70 degF" in n for n in act.notes)


def test_a_drain_to_nothing_leaves_no_gas_and_asks_for_no_look(today: dt.date) -> None:
    ledger = shop(RB_014=GOOD, log=FULL)
    act = ledger.do(drain(ledger.book, [Shown("RB-014", psi(0), psi(3000))], by="MV", at=AT))
    assert act.sentence == "Drained RB-014 to 0 psi, by MV"
    assert contents_of(ledger.book, "RB-014").gas is None
    assert may_fill(ledger.book, "RB-014", today).fillable


@pytest.mark.parametrize(
    ("shown", "by", "said"),
    [
        (Shown("RB-014", psi(3100)), "MV", "a drain from 3000 psi to 3100 psi runs backward"),
        (Shown("RB-014", psi(500), psi(400)), "MV", "a drain from 400 psi to 500 psi runs backward"),
        (Shown("RB-014", psi(0)), "XX", "XX is not among the people"),
    ],
)  # fmt: skip
def test_a_drain_that_cannot_be(shown: Shown, by: str, said: str) -> None:
    ledger = shop(RB_014=GOOD, log=FULL)
    assert said in reasons(drain(ledger.book, [shown], by=by, at=AT))


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ("{on: 2026-11-20, to: Northside, for: requalification, by: MV}", True),
        ("{on: 2026-11-25, to: Northside, for: requalification, by: MV}", False),
        ("{on: 2026-11-20, to: Northside, for: requalification, by: MV, back: 2026-11-25}", False),
    ],
)
def test_nothing_is_drained_here_that_is_away(sent: str, said: bool) -> None:
    ledger = shop(RB_014=f"{GOOD}sent: [{sent}]\n", log=FULL.replace("11-25T", "11-19T"))
    got = drain(ledger.book, [Shown("RB-014", psi(0))], by="MV", at=AT)
    if not said:
        assert not isinstance(got, Refusal)
        return
    away = (
        "RB-014 is away at Northside since 2026-11-20: have it back first (`tankbook back RB-014`)"
    )
    assert away in reasons(got)


@pytest.mark.parametrize(
    ("rented", "said"),
    [
        ("{on: 2026-11-20, to: B-5522}", True),
        ("{on: 2026-11-25, to: B-5522}", False),
        ("{on: 2026-11-20, to: B-5522, back: 2026-11-25}", False),
        ("{on: 2026-11-20, to: B-5522, void: {why: not taken, by: MV, on: 2026-11-20}}", False),
    ],
)
def test_nothing_is_drained_here_that_is_out(rented: str, said: bool) -> None:
    ledger = shop(RB_014=f"{GOOD}rented: [{rented}]\n", log=FULL.replace("11-25T", "11-19T"))
    got = drain(ledger.book, [Shown("RB-014", psi(0))], by="MV", at=AT)
    assert isinstance(got, Refusal) is said
    if isinstance(got, Refusal):
        assert reasons(got) == (
            "RB-014 is out to B-5522 since 2026-11-20: have it back first, with what it shows then "
            "(`tankbook return RB-014=PRESSURE`), and drain it after that"
        )


def test_nobody_is_read_twice_and_somebody_is_read() -> None:
    ledger = shop(RB_014=GOOD)
    twice = [Shown("RB-014", psi(1)), Shown("RB-014", psi(2))]
    assert "RB-014 is named twice" in reasons(read_gauges(ledger.book, twice, by="MV", at=AT))
    assert "name at least one" in reasons(read_gauges(ledger.book, [], by="MV", at=AT))


RICH = FULL.replace("air,,,MV,,B1", "nitrox32,,,MV,,B1")


def test_an_analysis_since_the_fill_answers_for_one_that_was_not_analysed(today: dt.date) -> None:
    ledger = shop(RB_014=GOOD.replace("service: air", "service: nitrox"), log=RICH)
    gas = Gas.parse("nitrox32")
    codes = {r.code for r in may_fill(ledger.book, "RB-014", today, gas).refusals}
    assert "not-analysed" in codes
    read = [Shown("RB-014", psi(2950), o2=Percent.parse("32.1 %"))]
    act = ledger.do(read_gauges(ledger.book, read, by="MV", at=AT, analysed_by="MV"))
    assert act.sentence == "Read RB-014 2950 psi 32.1 % oxygen, by MV"
    codes = {r.code for r in may_fill(ledger.book, "RB-014", today, gas).refusals}
    assert "not-analysed" not in codes


@pytest.mark.parametrize(
    ("shown", "by", "told"),
    [
        (Shown("RB-014", psi(2950), o2=Percent.parse("32 %")), "", "an analysis has an analyst"),
        (
            Shown("RB-014", psi(2950), he=Percent.parse("0 %")),
            "MV",
            "helium is analysed beside oxygen",
        ),
        (Shown("RB-014", psi(2950)), "MV", "MV analysed what?"),
        (Shown("RB-014", psi(0), o2=Percent.parse("32 %")), "MV", "nothing is in it"),
        (
            Shown("RB-014", psi(2950), o2=Percent.parse("32 %")),
            "XX",
            "--analysed-by: XX is not among",
        ),
        (Shown("RB-014", psi(2950), o2=Percent.parse("21 %")), "MV", "it may hold helium"),
    ],
)
def test_an_analysis_is_whole_or_refused(shown: Shown, by: str, told: str) -> None:
    log = RICH.replace("nitrox32", "trimix21/35") if "helium" in told else RICH
    ledger = shop(RB_014=GOOD, log=log)
    said = reasons(read_gauges(ledger.book, [shown], by="MV", at=AT, analysed_by=by))
    assert told in said


def test_the_oxygen_of_a_blend_may_be_topped_off_and_analysed(today: dt.date) -> None:
    card = GOOD.replace("service: air", "service: nitrox")
    card += "cleaned: [{on: 2026-05-01, by: MV, to: oxygen}]\n"
    step = FULL.replace("3000 psi,,air,,,MV,,B1", "500 psi,,oxygen,,,MV,,K1")
    bank = "{name: B1, water_volume: 48 L, gas: air, grade: oxygen, period: 10 years, "
    bank += "requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}"
    station = f"{STATION}banks: [{bank}]\n"
    ledger = shop(RB_014=card, log=step, station=station)
    gas = Gas.parse("nitrox32")
    codes = {r.code for r in may_fill(ledger.book, "RB-014", today, gas).refusals}
    assert codes == {"contents-differ", "blend-unfinished"}
    wanted = [Wanted("RB-014", psi(2900), psi(500), o2=Percent.parse("32 %"))]
    how = Filling(gas=gas, by="MV", analysed_by="MV", source="B1", looked=True)
    ledger.do(fill(ledger.book, wanted, how, at=AT))
    assert may_fill(ledger.book, "RB-014", today, gas).fillable


@pytest.mark.parametrize("act", [read_gauges, drain])
def test_a_gauge_shows_one_side_of_a_set_whose_isolator_is_shut(act: Callable[..., Any]) -> None:
    sides = {"RB_014": GOOD, "RB_015": GOOD.replace("K118204", "K118205")}
    for state, told in (("shut", True), ("open", False)):
        sets = {"DB-01": f"cylinders: [RB-014, RB-015]\nisolator: {state}"}
        ledger = shop(**sides, sets=sets)
        done = act(ledger.book, [Shown("DB-01", psi(900))], by="MV", at=AT)
        said = "DB-01: its isolator is shut, and a gauge shows one side: name RB-014 and RB-015"
        assert (isinstance(done, Refusal) and said in reasons(done)) is told
        alone = act(ledger.book, [Shown("RB-014", psi(900))], by="MV", at=AT)
        assert not isinstance(alone, Refusal)
