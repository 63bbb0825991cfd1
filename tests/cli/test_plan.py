"""`tankbook plan`: what it asks, what it shows, what it refuses, and that `fill` can log it."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pdf as seen
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.cli import open_ledger
from tankbook.gas import AIR, density
from tankbook.output.page import Page
from tankbook.output.paper import bench_card
from tankbook.records.log import LogLine, columns
from tankbook.records.words import Shore
from tankbook.units import GaugePressure, Temperature

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]

STATION = """\
ambient: 60 degF
fill_rate: 400 psi/min
handling: 4 min
cooling: 20 min
minimum_gain: 50 psi
gauge_error: 60 psi
regulator_set: 2640 psi
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-25, pressure: 2400 psi}]}
  - {name: B2, water_volume: 48 L, working_pressure: 5000 psi, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-25, pressure: 4600 psi}]}
positions: [{name: P1, kind: enclosed}, {name: P2, kind: enclosed}]
air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}]
"""
COMPRESSOR = "compressor: {name: C1, delivery: 7 cuft/min, max_pressure: 5000 psi}\n"


def files(station: str = STATION, **more: str) -> dict[str, str]:
    """Four alike cylinders of the own fleet; `more` replaces a cylinder's text by its number."""
    found = {}
    for number in (14, 15, 16, 17):
        text = more.get(f"n{number}", books.GOOD).lstrip()
        found[f"cylinders/RB-0{number}.yaml"] = text.replace("K118204", f"K1182{number}")
    settings = books.SETTINGS + "operator: MV\nreading_age: 2 days\n"
    header = ",".join(columns(LogLine))
    rows = "".join(
        f"2026-11-20T09:{n}:00+01:00,RB-0{n},fill,,3000 psi,,air,,,MV,,B1,,,,\n"
        for n in (14, 15, 16, 17)
    )
    return {
        **found,
        "tankbook.yaml": settings,
        "station.yaml": station,
        "fills/2026.csv": f"{header}\n{rows}",
    }


@pytest.fixture(name="at")
def _at(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Any]:
    """Run a command line in a small ledger made from `files`."""

    def run(line: str, station: str = STATION, **more: str) -> Any:
        monkeypatch.chdir(write(files(station, **more)))
        return tb(*shlex.split(line), *ON)

    return run


@pytest.fixture(name="cove")
def _cove(tb: Run, tmp_path: Path, example_ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run `tankbook ... --on 2026-11-25` in a copy of the example ledger."""
    shutil.copytree(example_ledger, tmp_path / "cove")
    monkeypatch.chdir(tmp_path / "cove")
    return lambda line: tb(*shlex.split(line), *ON)


def one_line(text: str) -> str:
    return " ".join(text.split())


# --- screens


@pytest.mark.parametrize(
    "line",
    [
        "plan 14=1450 18=500 19=600 31=700 33=900 12=600 91=600",
        "plan 14=500 11=700 12=900 --bank B1=1800 --bank B2=2500 --explain --favour time",
        "plan 14=500 11=700 12=900 --ready-by 09:00 --start 07:30",
        "plan 14=500 11=700 --ambient 20",
        "plan 81=2000 DB-01=2300 14=500 --gas nitrox32 --bank N1=4100",
        "plan 14=500 11=700 12=900 --needed 14=07:40 --comes 11=09:30 --needed 11=10:00 --start 07:30",
    ],
    ids=["evening", "explain", "ready-by", "cold-day", "nitrox", "day"],
)
def test_screens(cove: Run, line: str, snapshot: SnapshotAssertion) -> None:
    ran = cove(line)
    assert ran.err == ""
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


def test_the_answer_is_the_first_line(at: Run) -> None:
    ran = at("plan 14=500 15=800")
    assert ran.code == 0
    assert ran.first.startswith("2 of 2 filled in 1 load, ")
    assert ran.first.endswith(" full fills left")


def test_the_rules_of_the_bench_are_told(at: Run) -> None:
    said = one_line(at("plan 14=500").out)
    for rule in (
        "look each cylinder over before it is connected",
        "blow its outlet dry before connecting it",
        "open the cylinder valve before the bank valve",
        "bleed the whip before removing it",
        "Read the checked master gauge",
        "Analyse before labelling and again at pick-up",
        "Not legal advice",
    ):
        assert rule in said


def test_both_totals_are_always_shown(at: Run) -> None:
    for favour in ("gas", "time"):
        out = at(f"plan 14=500 15=800 --favour {favour}").out
        assert f"--favour {favour} *" in out
        assert len([n for n in out.splitlines() if n.startswith("--favour ")]) == 2


def test_the_fill_pressure_is_set_for_each_load_and_unlike_ones_stay_apart(at: Run) -> None:
    high = books.GOOD.replace("service_pressure: 3000 psi", "service_pressure: 3442 psi")
    ran = at(
        "plan 14=500 15=500", n15=high.replace("test_pressure: 5000 psi", "test_pressure: 5737 psi")
    )
    assert ran.code == 0, ran.out
    assert "regulator at 3000 psi, no higher: RB-014 at P" in ran.out
    assert "regulator at 3440 psi, no higher: RB-015 at P" in ran.out


# --- what is asked


def test_a_pressure_not_given_is_the_one_on_record(cove: Run) -> None:
    plan = cove("plan 14 --json").json
    assert [c["id"] for c in plan["cylinders"]] == ["RB-014"]
    # 1450 psi read at 55 degF; by the gas equation a few psi more at 58
    assert 1455 < plan["cylinders"][0]["start"] < 1470
    assert any("RB-014 on 2026-11-24" in said for said in plan["assumed"])


def test_a_queue_is_read_from_a_file(at: Run, tmp_path: Path) -> None:
    (tmp_path / "queue.txt").write_text("# evening\n14=500\nRB-015, 600 psi\n16 700\n\n17=41 bar\n")
    plan = at(f"plan --queue {tmp_path / 'queue.txt'} --json").json
    starts = {c["id"]: round(c["start"]) for c in plan["cylinders"]}
    assert starts == {"RB-014": 500, "RB-015": 600, "RB-016": 700, "RB-017": 595}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("14=500\n99=500\n", "queue.txt:2: 99: no cylinder or set of this ledger ends so"),
        ("14=500\n15=much\n", "queue.txt:2: 15: "),
        ("=500\n", "queue.txt:1:1: '=500' names no cylinder; write it as 14=500"),
    ],
)
def test_a_fault_in_a_queue_names_its_line(at: Run, tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "queue.txt").write_text(text)
    ran = at(f"plan --queue {tmp_path / 'queue.txt'}")
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_a_filter_takes_what_is_low_and_passes_over_what_is_not_here(cove: Run) -> None:
    plan = cove("plan --use rental --below 2500 --json").json
    assert [c["id"] for c in plan["cylinders"]] == ["RB-014"]
    assert {p["id"]: p["why"] for p in plan["passed_over"]} == {
        "RB-022": "at test",
        "RB-024": "held",
        "RB-032": "awaiting inspection",
    }
    assert plan["asked"] == 1 + len(plan["refused"])


def test_a_filter_with_a_size(cove: Run) -> None:
    ran = cove("plan --use rental --size al19 --below 3000 --json")
    assert ran.json["full_already"] == ["PN-091"]  # 2870 psi of 2920


def test_banks_are_as_read_now(at: Run) -> None:
    plan = at("plan 14=500 --bank B1=1000 --bank 'B2=300 bar' --json").json
    before = {b["label"]: round(b["before"]) for b in plan["banks"]}
    assert before == {"B1": 1000, "B2": 4351}


def test_a_lower_target_may_be_asked_for(at: Run) -> None:
    plan = at("plan 14=500 --to 2000 --json").json
    assert plan["cylinders"][0]["target"] == 2000


def test_a_slower_rate_takes_longer(at: Run) -> None:
    quick = at("plan 14=500 --json").json
    slow = at("plan 14=500 --rate 200 --json").json
    own = at("plan 14=500 --rate 14=200 --json").json
    assert slow["session_minutes"] > quick["session_minutes"] + 4
    assert own["steps"][0]["minutes"] == slow["steps"][0]["minutes"]


def test_a_colder_room_lowers_the_target(at: Run) -> None:
    warm = at("plan 14=500 --ambient 70 --json").json["cylinders"][0]["target"]
    cold = at("plan 14=500 --ambient 41 --json").json["cylinders"][0]["target"]
    assert warm == 3000
    # by the equation of state: equal density at 41 and 70 degF
    air = [
        density(AIR, GaugePressure.of(p, "psi").absolute(), Temperature.of(t, "degF"))
        for p, t in ((cold, 41), (3000, 70))
    ]
    assert air[0] == pytest.approx(air[1], rel=1e-7)


def test_small_cylinders_are_filled_slower(cove: Run) -> None:
    ran = cove("plan 91=600")
    assert "Small, so at half the fill rate (common practice): PN-091." in ran.out


# --- who is refused, what is left


def test_the_gate_is_asked_and_the_refused_are_left_out(at: Run) -> None:
    late = books.GOOD.replace("2026-02-09", "2025-02-09")
    ran = at("plan 14=500 15=600", n15=late)
    assert ran.code == 1
    assert ran.first.startswith("1 of 2 filled in 1 load")
    assert "RB-015: visual lapsed Feb 2026 (shop rule)" in ran.out
    assert "RB-015 at" not in ran.out


BENT = "refused: [{on: 2026-11-23, by: MV, reasons: [neck bent]}]\n"


def test_who_is_refused_with_pressure_in_it_is_told_what_to_beware_of(at: Run) -> None:
    ran = at("plan 14=500 15=600", n15=books.GOOD + BENT)
    assert "RB-015: DANGER, it holds 3000 psi (neck bent" in one_line(ran.out)
    assert "RB-014: DANGER" not in one_line(ran.out)
    refused = at("plan 14=500 15=600 --json", n15=books.GOOD + BENT).json["refused"]
    assert [r["dangers"][0][:16] for r in refused] == ["RB-015: DANGER, "]
    late = books.GOOD.replace("2026-02-09", "2025-02-09")
    assert at("plan 14=500 15=600 --json", n15=late).json["refused"][0]["dangers"] == []


def test_a_closed_station_fills_nothing(at: Run) -> None:
    failed = STATION.replace("result: pass", "result: fail")
    ran = at("plan 14=500 15=600", failed)
    assert ran.code == 1
    assert ran.first.startswith("0 of 2 may be filled: ")
    assert "the air test of 2026-10-12 failed" in ran.out
    plan = at("plan 14=500 15=600 --json", failed).json
    assert plan["steps"] == []
    assert "air-test-failed" in {reason["code"] for reason in plan["closed"]}
    assert [one["id"] for one in plan["refused"]] == ["RB-014", "RB-015"]


def test_a_cylinder_found_empty_is_looked_inside_first(at: Run) -> None:
    ran = at("plan 14=0 15=600")
    assert ran.code == 1
    assert "RB-014: it was read empty on 2026-11-25 and has not been looked inside" in ran.out


def test_a_water_volume_that_nobody_knows_refuses_that_cylinder_only(at: Run) -> None:
    ran = at("plan 14=500 15=600", n15=books.GOOD.replace("water_volume: 11.1 L\n", ""))
    assert ran.code == 1
    assert "the water volume of RB-015 is not recorded" in one_line(ran.out)
    assert ran.first.startswith("1 of 2 filled")


def test_a_target_above_all_banks_is_left_unfilled_and_told(at: Run) -> None:
    ran = at("plan 14=500 --bank B1=1500 --bank B2=2200")
    assert ran.code == 1
    assert ran.first.startswith("0 of 1 filled")
    assert "above every bank (B2, the highest, holds 2200 psi) and there is no compressor" in (
        one_line(ran.out)
    )


def test_with_a_compressor_it_is_filled_and_the_compressor_told(at: Run) -> None:
    line = "plan 14=500 --bank B1=1500 --bank B2=2200"
    ran = at(line, STATION + COMPRESSOR)
    assert ran.code == 0, ran.out
    assert "start the compressor" in ran.out
    assert ran.first.startswith("1 of 1 filled")
    assert at(f"{line} --no-compressor", STATION + COMPRESSOR).code == 1


def test_a_broken_file_refuses_its_cylinder_only(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(write(files() | {"cylinders/RB-015.yaml": "serial: ["}))
    ran = tb("plan", "14=500", "15=500", *ON)
    assert ran.code == 1
    assert ran.first.startswith("1 of 2 filled")
    assert "RB-015: its file cannot be read" in one_line(ran.out)


def test_a_side_and_its_doubles_are_not_both_filled(cove: Run) -> None:
    ran = cove("plan DB-01=900 41=900 --gas nitrox32")
    assert (ran.code, ran.out) == (2, "")
    assert "RB-041 is a side of DB-01, and both are named; name one" in ran.err


def test_a_bank_below_every_cylinder_is_told_and_stays_shut(at: Run) -> None:
    ran = at("plan 14=1000 --bank B1=700")
    assert ran.code == 0
    assert "Bank B1 is below every cylinder: it gives nothing." in ran.out
    assert "open B1" not in ran.out


def test_a_cylinder_above_its_target_is_told(at: Run) -> None:
    ran = at("plan 14=2995 15=500")
    assert ran.code == 1
    assert "RB-014: it holds 2995 psi, above its cold target" in one_line(ran.out)


def test_another_gas_is_refused(cove: Run) -> None:
    ran = cove("plan DB-01=900 14=500")
    assert ran.code == 1
    assert "DB-01: RB-041: it holds nitrox32, and air is wanted" in one_line(ran.out)


def test_unknown_contents_are_left_out_until_they_are_analysed(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = files()
    del made["fills/2026.csv"]
    monkeypatch.chdir(write(made))
    ran = tb("plan", "14=500", *ON)
    assert ran.code == 1
    assert "RB-014: what it holds is unknown" in one_line(ran.out)
    assert tb("plan", "14=500", "--holds", "14=air", *ON).code == 0


def test_a_gauge_that_is_off_is_to_be_replaced(at: Run) -> None:
    gauges = (
        "gauges:\n  - {name: G1, master: yes, checked: [{on: 2026-04-01, against: T, reads: 3010 psi,"
        " true: 3000 psi}]}\n  - {name: G2, position: P1, checked: [{on: 2026-04-01, against: T,"
        " reads: 3200 psi, true: 3000 psi}]}\n"
    )
    said = one_line(at("plan 14=500", STATION + gauges).out)
    assert "Gauge G2 at P1 shows 3200 psi where the master shows 3000 psi: replace it" in said
    assert "RB-014 at P1 (G1)" in said  # it is read by none that is off
    assert "Gauge G1" not in said


def test_doubles_do_not_fit_an_enclosed_position(cove: Run) -> None:
    plan = cove("plan DB-01=2300 --gas nitrox32 --bank N1=4400 --json").json
    assert plan["loads"][0]["positions"]["DB-01"] in {"P3", "P4"}


def test_too_large_a_cylinder_is_left_out(at: Run) -> None:
    small = STATION.replace(
        "{name: P1, kind: enclosed}", "{name: P1, kind: enclosed, max_diameter: 6 in}"
    )
    small = small.replace(", {name: P2, kind: enclosed}", "")
    ran = at("plan 14=500", small, n14=books.GOOD + "diameter: 184 mm\n")
    assert ran.code == 1
    assert "RB-014: it fits no position" in ran.out


@pytest.mark.parametrize(
    ("line", "change", "said"),
    [
        ("plan", {}, "nothing is named to be filled; name them, as in 14=500, or --use rental"),
        ("plan 14=500 14=600", {}, "RB-014 is named twice"),
        ("plan 14=", {}, "14=: what its gauge shows is not said"),
        ("plan 14=500 --bank B9=2400", {}, "there is no bank B9; the station has B1, B2"),
        ("plan 14=500 --bank B1", {}, "--bank: 'B1' is not understood; write it as --bank B1=2400"),
        ("plan 14=500 --bank B1=6000", {}, "its working pressure is 5000 psi"),
        ("plan 14=500 --bank 'B1=160 bara'", {}, "--bank: "),
        ("plan '14=40 bar abs'", {}, "14: "),
        ("plan 14=500 --favour air", {}, "--favour: 'air' is not known; known: gas, time"),
        ("plan 14=500 --rate fast", {}, "--rate: "),
        ("plan 14=500 --ready-by 9", {}, "--ready-by: '9' is not a time; write it as 09:00"),
        ("plan 14=500 --ready-by 09:00", {}, "give it with --start 07:30"),
        ("plan 14=500 --start 09:00", {}, "--start goes with --ready-by"),
        ("plan 14=500 --ready-by T0900 --start 07:30", {}, "--ready-by: 'T0900' is not a time"),
        ("plan 14=500 --ready-by 24:00 --start 07:30", {}, "--ready-by: '24:00' is not a time"),
        ("plan 14=500 --ready-by ٠٩:٠٠ --start 07:30", {}, "is not a time; write it as 09:00"),
        ("plan 14=500 --needed 14 --start 07:30", {}, "--needed: '14' is not understood; write it as --needed 14=09:00"),
        ("plan 14=500 --needed 14=9 --start 07:30", {}, "--needed: '9' is not a time"),
        ("plan 14=500 --needed 14=09:00", {}, "give it with --start 07:30"),
        ("plan 14=500 --needed 15=09:00 --start 07:30", {}, "RB-015 is none of the cylinders to be filled"),
        ("plan 14=500 --comes 99=09:00 --start 07:30", {}, "99"),
        ("plan 14=500 --needed 14=09:00 --needed RB-014=10:00 --start 07:30", {},
         "--needed: RB-014 is given twice"),
        ("plan 14=500 --needed 14=09:00 --comes 14=09:30 --start 07:30", {},
         "RB-014 is needed at 09:00 and comes at 09:30"),
        ("plan 14=500 --comes 14=09:30 --ready-by 09:00 --start 07:30", {},
         "RB-014 is needed at 09:00 and comes at 09:30"),
        ("plan 14=500 --needed 14=09:00 --start 07:30 --explain", {}, "--explain compares one session"),
        ("plan 14=500 --below 900", {}, "--below goes with a filter"),
        ("plan 14=500 --plot x.png", {}, "the name does not end in `.svg`"),
        ("plan 14=500", {"pressure: 4600 psi": "pressure: 4600 bar abs"}, ""),
        ("plan 14=500", {"readings: [{on: 2026-11-25, pressure: 4600 psi}]": "readings: []"},
         "bank B2 has no reading; read its gauge and give it, as in --bank B2=2400"),
        ("plan 14=500", {"2026-11-25, pressure: 4600": "2026-11-20, pressure: 4600"},
         "the reading of bank B2 is 120 h old"),
        ("plan 14=500", {"positions: [{name: P1, kind: enclosed}, {name: P2, kind: enclosed}]\n": ""},
         "the station has no fill positions"),
        ("plan 14=500", {"kind: enclosed": "kind: whip"}, "only open whips"),
        ("plan 14=500", {"ambient: 60 degF\n": ""}, "how warm it is at the station is not known"),
        ("plan 14=500 --gas nitrox32 --holds 14=nitrox32", {}, ""),
    ],
)  # fmt: skip
def test_bad_input_is_one_clear_line(at: Run, line: str, change: dict[str, str], said: str) -> None:
    station = STATION
    for old, new in change.items():
        assert old in station
        station = station.replace(old, new)
    ran = at(line, station)
    if not said:  # refused by the gate, not misunderstood
        assert ran.code == 1
        return
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.startswith("tankbook: ")


# --- ready by


def test_in_time_says_when_to_begin(at: Run) -> None:
    ran = at("plan 14=500 --ready-by 09:00 --start 07:30")
    assert ran.code == 0
    assert ran.first.endswith("; ready by 09:00")
    assert "No cylinder waits for the compressor." in ran.out
    plan = at("plan 14=500 --ready-by 09:00 --start 07:30 --json").json
    latest = plan["readiness"]["start_within"]
    assert latest == pytest.approx(90 - plan["session_minutes"], abs=1e-3)
    assert f"Begin by {(450 + int(latest)) // 60:02d}:{(450 + int(latest)) % 60:02d}" in ran.out


@pytest.mark.parametrize("queue", ["14=500", "14=700", "14=500 15=900"])
def test_the_minutes_beside_other_ways_are_those_of_the_session(at: Run, queue: str) -> None:
    ran = at(f"plan {queue}")
    (row,) = [one for one in ran.out.splitlines() if one.startswith("--favour gas *")]
    assert f"Session: {row.split()[-1]} min;" in ran.out


@pytest.mark.parametrize(
    ("asked", "banks", "said"),
    [
        ("14=500 15=2890", "B1=500 --bank B2=600", "; what is full is ready by 09:00"),
        ("14=500", "B1=500 --bank B2=600", "; none ready by 09:00"),
        ("14=2890", "B1=500 --bank B2=600", "; ready by 09:00"),
        ("14=500 15=500", "B1=2400 --bank B2=4600", "; ready by 09:00"),
    ],
)
def test_none_is_ready_that_is_not_full(at: Run, asked: str, banks: str, said: str) -> None:
    ran = at(f"plan {asked} --bank {banks} --ready-by 09:00 --start 07:30")
    assert said in ran.first
    assert ran.code == (1 if "is ready" in said or "none" in said else 0)


def test_too_late_is_a_no(at: Run) -> None:
    ran = at("plan 14=500 15=500 16=500 --ready-by 07:40 --start 07:30")
    assert ran.code == 1
    assert "; NOT ready by 07:40" in ran.first
    assert "It is 07:30: even begun now it is " in ran.out


def test_the_compressor_has_a_latest_start(at: Run) -> None:
    ran = at(
        "plan 14=500 --bank B1=1500 --bank B2=2200 --ready-by 06:00 --start 22:00",
        STATION + COMPRESSOR,
    )
    assert "Start the compressor by 05:" in ran.out
    assert "2026-11-26" in ran.out


# --- a day


def test_a_day_is_planned_by_the_hour(at: Run) -> None:
    line = "plan 14=500 15=500 16=500 --comes 15=09:00 --needed 15=10:00 --needed 14=08:00 --start 07:30"
    ran = at(line, STATION + COMPRESSOR)
    assert ran.code == 0
    assert ran.first.endswith("; all ready in time")
    made = at(f"{line} --json", STATION + COMPRESSOR).json
    hours = [(one["from_minutes"], one["loads"]) for one in made["day"]["sessions"]]
    assert hours[0] == (0.0, [1])
    assert 0 < hours[1][0] < 90
    assert made["day"]["meanwhile"] == ["RB-016"]
    assert hours[2] == (90.0, [3])
    ready = {one["id"]: one for one in made["day"]["cylinders"]}
    assert ready["RB-015"]["comes_minutes"] == 90
    assert ready["RB-015"]["needed_minutes"] == 150
    assert ready["RB-016"]["needed_minutes"] is None
    assert made["begins"] == "2026-11-25T07:30:00"
    assert at("plan 14=500 --json").json["day"] is None


@pytest.mark.parametrize(
    ("hours", "comes"),
    [
        ("--start 22:00 --comes 14=06:00 --needed 14=08:00", 480),
        ("--start 22:00 --comes 14=06:00 --ready-by 08:00", 480),
        ("--start 10:00 --comes 14=09:30 --needed 14=11:00", 0),
        ("--start 22:00 --comes 14=06:00 --needed 15=08:00", 0),
    ],
)
def test_an_hour_that_is_past_is_tomorrow_s_where_it_is_needed_after(
    at: Run, hours: str, comes: float
) -> None:
    """Nobody is to fill in the evening what comes in the morning."""
    made = at(f"plan 14=500 15=500 {hours} --json").json["day"]["cylinders"]
    one = next(each for each in made if each["id"] == "RB-014")
    assert one["comes_minutes"] == comes
    assert one["ready_minutes"] > comes


def test_who_is_late_is_told_and_is_a_no(at: Run) -> None:
    ran = at("plan 14=500 15=500 --needed 14=07:31 --ready-by 10:00 --start 07:30")
    assert ran.code == 1
    assert "1 NOT ready in time" in ran.out
    assert "RB-014, needed at 07:31: " in ran.out
    assert "Begin by" not in ran.out


def test_of_three_needed_at_one_hour_two_are_in_time(tb: Run, example_ledger: Path) -> None:
    """Each of the two goes before the slow one, and it is told that this was chosen."""
    hours = [word for n in ("14", "11", "31") for word in ("--needed", f"{n}=08:20")]
    read = ("14=500", "11=500", "31=500", "--start", "08:00")
    ran = tb("plan", *read, *hours, *ON, "--ledger", example_ledger)
    assert ran.code == 1
    assert "; 1 NOT ready in time" in ran.first
    assert "RB-031, needed at 08:20: " in ran.out
    assert "By their hours alone more would be late" in ran.out
    in_time = tb("plan", *read, "--needed", "14=10:00", *ON, "--ledger", example_ledger)
    assert "By their hours alone" not in in_time.out


def test_the_hours_of_the_bookings(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An hour of its own goes before that of a booking; one that is over is late."""
    rows = "2026-11-25,B-1,rental,,,3,09:30\n2026-11-25,B-2,,,,1,\n2026-11-26,B-3,,,,1,06:00\n"
    head = "date,reference,use,size,gas,count,at\n"
    monkeypatch.chdir(write({**files(), "bookings.csv": head + rows}))
    line = ("plan", "14=500", "15=600", "16=700", "17=800", "--needed", "bookings", *ON)
    made = tb(*line, "--needed", "14=12:00", "--start", "07:30", "--json").json
    needed = {each["id"]: each["needed_minutes"] for each in made["day"]["cylinders"]}
    assert needed == {"RB-014": 270, "RB-015": 120, "RB-016": 120, "RB-017": 120}
    assert [(each["reference"], each["at"], each["ids"], each["missing"]) for each in made["booked"]] == [
        ("B-1", "09:30", ["RB-015", "RB-016", "RB-017"], 0),
        ("B-2", None, [], 1),
    ]  # fmt: skip
    over = tb(*line, "--start", "10:00")
    assert over.code == 1
    assert "B-1 wants 3 at 09:30: RB-014, RB-015, RB-016." in over.out
    assert "RB-014, needed at 09:30: " in over.out
    (Path("bookings.csv")).write_text(head + "2026-11-26,B-3,,,,1,06:00\n")
    none = tb(*line, "--start", "07:30")
    assert none.code == 0
    assert "No booking of the day wants anything of this gas filled." in none.out


def test_who_may_not_be_filled_is_not_ready_at_its_hour(at: Run) -> None:
    late = books.GOOD.replace("2026-02-09", "2025-02-09")
    day = "plan 14=500 15=600 --needed 14=10:00 --start 07:30"
    ran = at(f"{day} --needed 15=09:00", n15=late)
    assert ran.code == 1
    assert "; 1 NOT ready in time" in ran.first
    assert "RB-015, needed at 09:00: refused." in ran.out
    ran = at(day, n15=late)
    assert ran.code == 1
    assert "; those with an hour ready in time" in ran.first
    alone = at("plan 14=500 15=600 --needed 15=09:00 --start 07:30", n15=late)
    assert alone.code == 1
    assert "; 1 NOT ready in time" in alone.first
    assert "RB-015, needed at 09:00: refused." in alone.out


def test_a_day_is_the_same_whatever_the_order_it_is_asked_in(cove: Run) -> None:
    hours = ["--needed 14=08:00", "--needed 31=09:00", "--comes 12=08:15"]
    asked = ["14=500", "31=700", "12=800", "18", "19", "33"]
    made = [
        cove(" ".join(("plan", *ids, *said, "--start 07:30 --json"))).json
        for ids, said in ((asked, hours), (asked[::-1], hours[::-1]))
    ]
    assert made[0] == made[1]
    assert made[0]["heat"]
    assert made[0]["assumed"]
    assert len(made[0]["refused"]) == 2


def test_the_card_of_a_day_tells_the_hours(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(write(files()))
    hours = ("--comes", "15=09:30", "--needed", "15=10:00", "--start", "07:30")
    ran = tb("plan", "14=500", "15=800", *hours, *ON, "--pdf", "card.pdf")
    assert ran.code == 0
    card = seen.text_of(Path("card.pdf").read_bytes())
    assert "From 09:30; RB-015 is needed at 10:00" in card


# --- pictures


def test_the_picture_is_plain_and_fits(at: Run) -> None:
    out = at("plan 14=500 15=800").out
    lines = out.split("Gauges against time")[1].splitlines()
    assert any(line.strip().startswith("4000 |") for line in lines)
    assert "1 B1, 2 B2, a RB-014, b RB-015" in out
    assert out.isascii()


def test_the_plot_is_an_svg_with_every_gauge(at: Run, tmp_path: Path) -> None:
    import xml.etree.ElementTree as ET

    ran = at(f"plan 14=500 15=800 --plot {tmp_path / 'session.svg'}")
    assert ran.code == 0
    text = (tmp_path / "session.svg").read_text()
    root = ET.fromstring(text)
    assert root.tag.endswith("svg")
    texts = {e.text for e in root.iter() if e.tag.endswith("text")}
    assert {"B1", "B2", "RB-014", "RB-015", "minutes"} <= texts


def test_a_file_of_somebody_else_is_not_drawn_over(at: Run, tmp_path: Path) -> None:
    (tmp_path / "mine.svg").write_text("<svg/>")
    ran = at(f"plan 14=500 --plot {tmp_path / 'mine.svg'}")
    assert ran.code == 2
    assert (tmp_path / "mine.svg").read_text() == "<svg/>"


# --- other ways, and the log


def test_explain_compares_with_the_habits_of_the_panel(at: Run) -> None:
    plan = at("plan 14=500 15=500 16=500 --explain --json").json
    ways = {way["way"]: way for way in plan["compared"]}
    assert set(ways) >= {"highest bank first", "banks in label order", "lowest bank first"}
    assert plan["outcome"]["full_fills"] >= max(
        way["full_fills"] for way in ways.values() if not way["unfilled"]
    )
    assert at("plan 14=500 --json").json["compared"] is None


@pytest.mark.parametrize("day", [False, True])
def test_a_plan_goes_through_a_file_into_the_log(
    tb: Run,
    write: Callable[[dict[str, str]], Path],
    monkeypatch: pytest.MonkeyPatch,
    day: bool,
) -> None:
    root = write(files())
    monkeypatch.chdir(root)
    hours = ("--needed", "16=08:00", "--start", "07:30") if day else ()
    ran = tb("plan", "14=500", "15=800", "16=1200", *hours, *ON, "--json")
    assert ran.code == 0
    Path("plan.json").write_text(ran.out, encoding="utf-8")
    plan = json.loads(ran.out)
    read = [f"{one['id']}={int(one['holds'])}" for one in ran.json["cylinders"]]
    at = ("--looked", "--at", "2026-11-25T14:30:00+01:00")
    logged = tb("fill", *read, "--plan", "plan.json", *at, *ON)
    assert logged.code == 0, logged.out + logged.err
    rows = [r.split(",") for r in (root / "fills/2026.csv").read_text().splitlines()[5:]]
    assert {row[1]: row[4] for row in rows} == {
        one["id"]: f"{int(one['holds'])} psi" for one in plan["cylinders"]
    }
    seats = {i: p for load in plan["loads"] for i, p in load["positions"].items()}
    assert {row[1]: row[12] for row in rows} == seats
    Path("plan.json").unlink()
    assert tb("validate", *ON).code == 0


def test_no_gas_is_made_or_lost(cove: Run) -> None:
    """Volume times density, by the equation of state at the plan's temperature: read from the JSON."""
    plan = cove("plan 14=1450 31=700 33=900 12=600 91=600 --bank B1=1800 --json").json
    at = Temperature.of(plan["ambient_c"], "degC")

    def moles(volume: float, psi: float) -> float:
        return volume * density(AIR, GaugePressure.of(psi, "psi").absolute(), at)

    held = [(b["water_volume_l"], b["before"], b["after"]) for b in plan["banks"]]
    held += [(c["water_volume_l"], c["start"], c["holds"]) for c in plan["cylinders"]]
    before = sum(moles(v, p) for v, p, _ in held)
    after = sum(moles(v, p) for v, _, p in held)
    fed = sum(each["mol"] for step in plan["steps"] for each in step["fed"])
    assert after == pytest.approx(before + fed, rel=1e-8)
    for one in plan["cylinders"]:
        assert one["holds"] <= one["target"] + 1e-6
    for step in plan["steps"]:
        limits = {i: x["fill_pressure"] for x in plan["loads"] for i in x["positions"]}
        assert all(c["stop_at"] <= limits[c["id"]] + 1e-6 for c in step["cylinders"])


def test_a_cylinder_marked_in_bar_is_planned_in_psi_and_logged(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    bar = books.GOOD.replace("service_pressure: 3000 psi", "service_pressure: 206 bar")
    bar = bar.replace("test_pressure: 5000 psi", "test_pressure: 4980 psi").replace(
        "disc: 5000 psi", "disc: 4900 psi"
    )
    monkeypatch.chdir(write(files(n14=bar)))
    ran = tb("plan", "14=500", "--ambient", "70", *ON, "--json")
    assert ran.json["loads"][0]["fill_pressure"] == 2987  # 206 bar is 2987.8 psi
    Path("plan.json").write_text(ran.out, encoding="utf-8")
    read = [f"{one['id']}={int(one['holds'])}" for one in ran.json["cylinders"]]
    at = ("--looked", "--at", "2026-11-25T14:30:00+01:00")
    logged = tb("fill", *read, "--plan", "plan.json", *at, *ON)
    assert logged.code == 0, logged.out + logged.err


def test_a_ledger_in_bar(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = files()
    made["tankbook.yaml"] = made["tankbook.yaml"].replace("units: psi", "units: bar")
    monkeypatch.chdir(write(made))
    ran = tb("plan", "14=35", "15=60", *ON)
    assert ran.code == 0, ran.out
    assert "Pressures are in bar" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


def test_every_key_of_the_answer_is_documented(at: Run) -> None:
    docs = Path(__file__).parents[2] / "docs"
    pages = "".join((docs / name).read_text() for name in ("json.md", "fill-planning.md"))
    for line in ("plan 14=500 --explain", "equalize 14=500 15=900", "blend 14 --to nitrox32"):
        more = " --from '500 air'" if line.startswith("blend") else ""
        for key in at(f"{line}{more} --json").json:
            assert f"`{key}`" in pages or f"`{key}[]`" in pages, key


@pytest.mark.parametrize("name", ["plan", "equalize", "blend"])
def test_each_is_on_both_pages(name: str) -> None:
    docs = Path(__file__).parents[2] / "docs"
    assert f"\n## tankbook {name}\n" in (docs / "commands.md").read_text()
    assert f"\n## {name}\n" in (docs / "json.md").read_text()


def test_a_bench_card_is_printed(cove: Run, tmp_path: Path) -> None:
    """In large type, with the caution and every bank of the plan on it."""
    import pypdfium2

    card = tmp_path / "card.pdf"
    ran = cove(f"plan 14=1450 31=700 --pdf {card}")
    assert ran.out.splitlines()[-1] == f"Bench card: {card}"
    with pypdfium2.PdfDocument(card) as document:
        text = "\n".join(p.get_textpage().get_text_range() for p in document)
    for word in ("Fill plan", "RB-014", "RB-031", "B1", "marked pressure"):
        assert word in text


def test_the_card_carries_the_warnings_and_what_was_taken_for_granted(
    cove: Run, tmp_path: Path
) -> None:
    """All of them that the screen has: it is the card that hangs at the panel."""
    import pypdfium2

    card = tmp_path / "card.pdf"
    ran = cove(f"plan 34=800 61=600 14=500 --pdf {card} --json").json
    with pypdfium2.PdfDocument(card) as document:
        pages = [p.get_textpage().get_text_range() for p in document]
    text = " ".join(" ".join(pages).split())
    warned = [f"{w['id']}: {w['text']}" if w["id"] else w["text"] for w in ran["warnings"]]
    assert warned
    assert [each for each in warned if f"WARNING: {each}" not in text] == []
    assert any(each.startswith("Banks as read on 2026-11-24: B1") for each in ran["assumed"])
    assert [each for each in ran["assumed"] if f"* {each}" not in text] == []


def told_on_screen(out: str) -> list[str]:
    """The warnings and the sentences of the steps, each on one line, of a narrow screen."""
    found: list[str] = []
    steps = r" {2,3}\d+  | {6}(?! )|"
    for line in out.splitlines():
        steps = "" if line.startswith("Gauges against time") else steps
        begins = re.match(f"({steps}WARNING: )", line)
        if begins:
            found.append(line)
        elif found and re.match(r"( {8}| {2})(?! )", line) and found[-1]:
            found[-1] += " " + line.strip()
        elif not line.strip() or not line.startswith(" "):
            found.append("")
    return [alike(each) for each in found if each]


def alike(line: str) -> str:
    """Without its number, how long it takes and its first capital, and with single blanks."""
    said = re.sub(r"^\s*(\d+(\.| ) *)?|\s*\(about \d+ min\)", "", line)
    return one_line(said[:1].lower() + said[1:])


@pytest.mark.parametrize(
    "line",
    [
        "plan 34=800 61=600 14=500",
        "plan 14=1450 18=500 19=600 31=700 33=900 12=600 91=600",
        "plan 14=500 11=700 --ambient 20",
        "plan 14=500 11=700 12=900 --bank B1=1800 --bank B2=2500 --favour time",
        "plan 81=2000 DB-01=2300 14=500 --gas nitrox32 --bank N1=4100",
    ],
)
def test_card_and_screen_warn_and_read_alike(
    cove: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    """Line by line, none more and none less: who has the card sees what who typed it saw."""
    printed: list[bench_card.CardBlock] = []
    whole = bench_card.blocks

    def kept(*args: Any) -> list[bench_card.CardBlock]:
        printed.extend(whole(*args))
        return printed

    monkeypatch.setattr(bench_card, "blocks", kept)
    monkeypatch.setattr(open_ledger, "page", lambda shore=Shore.PSI: Page(69, shore))
    screen = told_on_screen(cove(f"{line} --pdf {tmp_path / 'card.pdf'}").out)
    told = [each for block in printed for each in block.lines]
    warned = [each.text for each in told if each.text.startswith("WARNING: ")]
    steps = [each.text for block in printed if block.ticked for each in block.lines]
    assert steps
    assert warned or "34=800" not in line
    read = [each for each in screen if not each.startswith("wARNING: ")]
    assert read == [alike(each) for each in steps]
    assert screen[len(read) :] == [alike(each) for each in warned]


# --- what is full, how a cylinder is shut off


def test_a_second_connection_only_where_it_is_asked_for(at: Run) -> None:
    hot = f"{STATION}fill_rates: [{{size: al80, rate: 900 psi/min}}]\n"
    once = at("plan 14=500 --bank B2=4900", hot).out
    assert "hold at" in once
    twice = at("plan 14=500 --bank B2=4900 --top-offs 1", hot).out
    assert "hold at" not in twice
    assert "Load 2" in twice
    recorded = at("plan 14=500 --bank B2=4900", f"{hot}most_top_offs: 1\n").out
    assert "hold at" not in recorded
    wrong = at("plan 14=500 --top-offs many")
    assert (wrong.code, wrong.out) == (2, "")
    assert "--top-offs" in wrong.err


def test_what_is_full_is_the_station_s_to_say(at: Run) -> None:
    def held(loss: str) -> float:
        plan = at("plan 14=500 --bank B2=4900 --json", f"{STATION}acceptable_loss: {loss} %\n").json
        return float(sum(step["held_minutes"] for step in plan["steps"]))

    assert held("20") == 0 < held("5") < held("3")


def test_a_position_that_cannot_be_shut_off_is_filled_alone(at: Run) -> None:
    open_one = STATION.replace(
        "{name: P2, kind: enclosed}", "{name: P2, kind: enclosed, valve: no}"
    )
    ran = at("plan 14=500 15=800 --bank B2=4900", open_one)
    assert "2 of 2 filled in 2 loads" in ran.first
    assert "P2: no valve of its own, so nothing is filled beside it" in one_line(ran.out)


def test_every_gauge_to_be_read_is_named(at: Run) -> None:
    gauges = """
gauges:
  - {name: G1, master: yes, checked: [{on: 2026-04-01, against: T, reads: 3000 psi, true: 3000 psi}]}
  - {name: G2, position: P1, checked: [{on: 2026-04-01, against: T, reads: 3000 psi, true: 3000 psi}]}
"""
    ran = at("plan 14=500 15=800", STATION + gauges)
    assert "at P1 (G2)" in one_line(ran.out)
    assert "at P2 (G1)" in one_line(ran.out)


@pytest.mark.parametrize(
    ("asked", "first", "full"),
    [
        ("14=2900", "nothing to fill: 1 cylinder full already", "RB-014 (2900 psi)"),
        ("14=500 15=2860", "1 of 2 filled in 1 load", "RB-015 (2860 psi)"),
    ],
)
def test_what_reads_within_the_accepted_loss_is_told_as_full(
    at: Run, asked: str, first: str, full: str
) -> None:
    """It was connected, opened for nothing, and could be stopped below what it read."""
    ran = at(f"plan {asked} --bank B2=4900 --pdf card.pdf")
    assert ran.code == 0
    assert ran.first.startswith(first)
    assert f"Full already, within 5 % of the cold target: {full}" in one_line(ran.out)
    assert f"FULL ALREADY: {full.split()[0]}" in seen.text_of(Path("card.pdf").read_bytes())
    tight = at("plan 14=2700 15=2860 --bank B2=4900 --json", f"{STATION}acceptable_loss: 1 %\n")
    assert tight.json["full_already"] == []
    assert len(tight.json["loads"]) == 1


BOOSTED_BY = "boosters: [{{name: BO1, from: [B1], drives: [{}]}}]\n{}"
OUT = "relief_valves: [{name: R9, protects: [BO1], checked: [{on: 2026-10-01, result: fail, note: worn}]}]\n"


@pytest.mark.parametrize(
    ("drives", "out", "told"),
    [("air", "", True), ("", "", True), ("oxygen", "", False), ("air", OUT, False)],
)
def test_every_screen_says_that_a_booster_is_not_counted_on(
    at: Run, drives: str, out: str, told: bool
) -> None:
    """One that may give the gas and may be used; of one that drives another nothing is said."""
    station = STATION + BOOSTED_BY.format(drives, out)
    ran = at("plan 14=500 --pdf card.pdf", station)
    said = "What BO1 could bring up is not counted on"
    assert (said in one_line(ran.out)) is told, ran.out
    assert (said in one_line(seen.text_of(Path("card.pdf").read_bytes()))) is told
    assert any(said in each for each in at("plan 14=500 --json", station).json["assumed"]) is told
    assert ("booster BO1" in at("station size", station).out) is (drives != "oxygen")
    left_out = at("station size --json", station).json["left_out"]
    whys = [each["why"] for each in left_out if each["part"] == "booster BO1"]
    assert bool(whys) is (drives != "oxygen")  # one that is out of use, with the reason
    assert (whys == ["what it could bring up is not counted"]) is told
