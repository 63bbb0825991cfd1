"""A session plan logged as it was carried out."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.filling import (
    PlanBank,
    Session,
    StandardCylinder,
    StationPolicy,
    Vessel,
    as_json,
    plan,
)
from tankbook.gas import Gas
from tankbook.ledger.plan_file import read_plan
from tankbook.records.log import took
from tankbook.records.station import Position
from tankbook.records.words import PositionKind
from tankbook.units import GaugePressure, PressureRate, RunningTime, Temperature, Volume

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
AT = ["--at", "2026-11-25T14:30:00+01:00", "--looked"]
AIR = Gas.parse("air")
IDS = ("RB-014", "RB-015", "RB-016")
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
  - {name: B2, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
positions: [{name: P1, kind: enclosed}]
air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}]
"""


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    files = {
        f"cylinders/{id_}.yaml": books.GOOD.lstrip().replace("K118204", f"K{number}")
        for number, id_ in enumerate(IDS)
    }
    root = write({**files, "tankbook.yaml": books.SETTINGS + "operator: MV\n", "station.yaml": STATION})  # fmt: skip
    monkeypatch.chdir(root)
    return root


def planned() -> dict[str, Any]:
    """A plan of three cylinders from two banks, read as in a 58 degF room."""
    session = Session(
        banks=tuple(
            PlanBank(label=name, water_volume=Volume.of(48, "L"), reading=psi(reading), gas=AIR)
            for name, reading in (("B1", 2200), ("B2", 4200))
        ),
        vessels=tuple(
            Vessel(id=id_, water_volume=Volume.of(11.1, "L"), start=psi(start), gas=AIR,
                   marked=psi(3000), target=psi(2880))
            for id_, start in zip(IDS, (500, 700, 900), strict=True)
        ),
        positions=(Position(name="P1", kind=PositionKind.ENCLOSED),),
        ambient=Temperature.of(58, "degF"),
        gas=AIR,
        standard=StandardCylinder(water_volume=Volume.of(11.1, "L"), start=psi(500), target=psi(2880)),
        policy=StationPolicy(
            fill_rate=PressureRate.of(400, "psi/min"), handling=RunningTime.of(4, "min"),
            cooling=RunningTime.of(30, "min"),
        ),
    )  # fmt: skip
    return as_json(plan(session))


@pytest.fixture(name="file")
def _file(tmp_path: Path) -> Path:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(planned()), encoding="utf-8")
    return path


def rows(ledger: Path) -> dict[str, list[str]]:
    log = (ledger / "fills/2026.csv").read_text().splitlines()[1:]
    return {row.split(",")[1]: row.split(",") for row in log}


def test_every_cylinder_of_the_plan_is_logged_with_its_source(
    tb: Run, ledger: Path, file: Path
) -> None:
    plan_ = json.loads(file.read_text())
    read = [f"{c['id']}={int(c['holds'])}" for c in plan_["cylinders"] if c["holds"] > c["start"]]
    ran = tb(*ON, "fill", *read, "--plan", file, *AT)
    assert (ran.code, ran.err) == (0, "")
    got = rows(ledger)
    assert set(got) == {c["id"] for c in plan_["cylinders"] if c["holds"] > c["start"]}
    for one in plan_["cylinders"]:
        row = got[one["id"]]
        assert row[3] == f"{int(one['start'])} psi"
        assert row[4] == f"{int(one['holds'])} psi"
        used = [s["source"] for s in plan_["steps"] for c in s["cylinders"]
                if c["id"] == one["id"] and s["act"] != "wait"]  # fmt: skip
        assert row[11] == "+".join(dict.fromkeys(used))
        assert row[12] == "P1"
        assert row[5] == "58 degF"
    assert tb("validate", *ON).code == 0


def test_a_note_says_that_its_time_is_by_the_plan(tb: Run, ledger: Path, file: Path) -> None:
    assert tb("fill", "--plan", file, "14=2850", *AT, *ON, "--ledger", ledger).code in {0, 1}
    assert re.search(r"filled in [0-9.]+ min.* by the plan", str(rows(ledger)["RB-014"]))


@pytest.mark.parametrize("minutes", [1e308, float("inf"), float("nan"), 1000, 0, -5])
def test_a_time_that_no_note_can_tell_is_not_written(tmp_path: Path, minutes: float) -> None:
    plan = planned()
    for step in plan["steps"]:
        step["minutes"] = minutes
        for change in step["cylinders"]:
            change["minutes"] = minutes
    (tmp_path / "long.json").write_text(json.dumps(plan))
    session = read_plan(tmp_path / "long.json", "C1")
    assert session.cylinders
    assert not any(each.took for each in session.cylinders)


def test_only_what_was_read_is_logged(tb: Run, ledger: Path, file: Path) -> None:
    nothing = tb(*ON, "fill", "--plan", file, *AT)
    assert nothing.code == 2
    assert "give each its reading, RB-014=, RB-015=, RB-016=" in nothing.err
    assert not (ledger / "fills").exists()
    ran = tb(*ON, "fill", "14=2850", "--plan", file, *AT)
    assert ran.code == 0
    assert "not logged, as no reading was given: RB-015, RB-016" in ran.out
    assert {id_: row[4] for id_, row in rows(ledger).items()} == {"RB-014": "2850 psi"}
    later = tb(*ON, "fill", "15=2870", "16=2860", "--plan", file, *AT)
    assert later.code == 0, later.out
    assert set(rows(ledger)) == set(IDS)


def test_every_bank_that_was_opened_is_a_source(tb: Run, ledger: Path, tmp_path: Path) -> None:
    """However little the plan expects of it: a recall of that bank is to find the cylinder."""
    data = planned()
    for step in data["steps"]:
        for change in step["cylinders"]:
            change["settles_to"] = (
                change["before"] if step["source"] == "B1" else change["settles_to"]
            )
    opened = {c["id"] for s in data["steps"] for c in s["cylinders"] if s["source"] == "B1"}
    assert opened
    file = tmp_path / "little.json"
    file.write_text(json.dumps(data))
    ran = tb(*ON, "fill", "14=2850", "15=2850", "16=2850", "--plan", file, *AT)
    assert ran.code == 0, ran.out + ran.err
    assert {id_ for id_, row in rows(ledger).items() if "B1" in row[11].split("+")} == opened
    recalled = tb(*ON, "recall", "B1", "--json").json["cylinders"]
    assert opened <= {each["id"] for each in recalled}


def test_the_plan_is_asked_of_the_gate_like_any_fill(tb: Run, ledger: Path, file: Path) -> None:
    path = ledger / "cylinders/RB-015.yaml"
    path.write_text(path.read_text().replace("2026-02-09", "2025-02-09"))
    ran = tb(*ON, "fill", "14=3010", "15=2880", "--plan", file, *AT)
    assert ran.code == 1
    assert "RB-015: visual lapsed Feb 2026" in ran.out
    assert "RB-014: 3010 psi is above its limit, 3000 psi at 70 degF" in " ".join(ran.out.split())
    assert not (ledger / "fills").exists()
    said = tb(*ON, "fill", "14=2990", "--temperature", "58", "--plan", file, *AT)
    assert said.code == 1
    assert "2990 psi is above 2901 psi, what its 3000 psi read at 58 degF" in " ".join(
        said.out.split()
    )


def test_what_is_read_at_the_stop_of_a_plan_is_logged_as_warm(
    tb: Run, ledger: Path, file: Path
) -> None:
    """It is more than any cylinder settles to: of the room's temperature it is not. How long it took
    stands beside it, so that the reading of the next day tells of the heat."""
    data = json.loads(file.read_text())
    last = {c["id"]: c for step in data["steps"] for c in step["cylinders"]}["RB-014"]
    stop, cold = int(last["stop_at"]), int(last["settles_to"])
    assert cold < last["settles_high"] < stop
    ran = tb(*ON, "fill", f"14={stop}", f"15={cold}", "--plan", file, *AT)
    assert ran.code == 0, ran.out
    assert "RB-014: more than it settles to by the plan" in " ".join(ran.out.split())
    got = rows(ledger)
    assert (got["RB-014"][4], got["RB-014"][5]) == (f"{stop} psi", "")
    assert got["RB-015"][5] == "58 degF"
    said = took(got["RB-014"][15])
    assert said is not None
    assert 3 < said.minutes < data["session_minutes"]


@pytest.fixture
def cold(tmp_path: Path) -> Path:
    """The plan of a room so cold that gauges are stopped well below the mark."""
    file = tmp_path / "cold.json"
    data = planned()
    data["ambient_c"] = -6.5
    for step in data["steps"]:
        for change in step["cylinders"]:
            change |= {"stop_at": 2740.4, "settles_to": 2520.0, "settles_high": 2580.0}
    file.write_text(json.dumps(data))
    return file


def test_what_flows_on_to_the_most_that_a_plan_tells_is_warm_not_past_it(
    tb: Run, ledger: Path, cold: Path
) -> None:
    data = json.loads(cold.read_text())
    for step in data["steps"]:
        for change in step["cylinders"]:
            change |= {"ends": "flow stops", "at_most": 2791.0}
    cold.write_text(json.dumps(data))
    ran = tb(*ON, "fill", "14=2790 psi", "--plan", cold, *AT)
    assert ran.code == 0, ran.out
    assert rows(ledger)["RB-014"][5] == ""
    ran = tb(*ON, "fill", "15=2840 psi", "--plan", cold, *AT)
    assert "2840 psi is above 2791 psi, where the plan stops it" in " ".join(ran.out.split())


@pytest.mark.parametrize(
    ("read", "more", "said"),
    [
        ("2740 psi", [], None),
        ("2750 psi", [], None),
        ("2790 psi", [], "2790 psi is above 2740 psi, where the plan stops it for a room of 20.3"),
        ("2790 psi", ["--bled", "2735"], None),
        ("2790 psi", ["--bled", "2760"], "and 2760 psi still is"),
        ("2990 psi", [], "2990 psi is above 2740 psi, where the plan stops it"),
        ("2990 psi", ["--bled", "2735"], "by more than the 50 psi that a gauge may err it"),
        ("2990 psi", ["--bled", "2735"], "overfilled, bled to 2735 psi or not"),
        ("2990 psi", ["--temperature", "70"], None),
        (
            "3040 psi",
            ["--bled", "2990"],
            "3040 psi is above its limit, 3000 psi at 70 degF; above 2740 psi by",
        ),
    ],
)
def test_no_more_than_a_plan_stops_at_is_taken_for_warm(
    tb: Run, ledger: Path, cold: Path, read: str, more: list[str], said: str | None
) -> None:
    """Above its stop it may be overfilled once it is cool, though far below the mark."""
    more = [f"14={text}" if text.isdigit() and more[0] == "--bled" else text for text in more]
    ran = tb(*ON, "fill", f"14={read}", "--plan", cold, *more, *AT)
    out = " ".join(ran.out.split())
    assert ran.code == (said is not None), out + ran.err
    assert (said or "Filled RB-014") in out
    assert "no --temperature was given" not in out  # warm at its stop it needs none


def test_a_cylinder_that_gave_to_others_is_logged_as_drained(
    tb: Run, ledger: Path, tmp_path: Path
) -> None:
    data = planned()
    one = data["cylinders"][0]
    one["start"], one["holds"] = 1800.0, 1150.0
    data["steps"] = [
        {"act": "equalize", "source": "RB-014", "cylinders": [
            {"id": "RB-015", "before": 500.0, "settles_to": 1150.0}]},
    ]  # fmt: skip
    data["cylinders"][1] |= {"start": 500.0, "holds": 1150.0}
    data["cylinders"][2]["holds"] = data["cylinders"][2]["start"]
    file = tmp_path / "equalized.json"
    file.write_text(json.dumps(data))
    ran = tb(*ON, "fill", "14=1150", "15=1150", "--plan", file, *AT)
    assert ran.code == 0, ran.out
    got = rows(ledger)
    assert got["RB-014"][2:5] == ["drain", "1800 psi", "1150 psi"]
    assert got["RB-015"][2:5] == ["fill", "500 psi", "1150 psi"]
    assert got["RB-015"][11] == "RB-014"
    assert set(got) == {"RB-014", "RB-015"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "this is not JSON text; write one with `tankbook plan --json`"),
        ("[]", "this is no session plan"),
        ('{"unit": "psi"}', "this is no session plan (KeyError: 'steps')"),
    ],
)
def test_what_is_no_plan_is_told(tb: Run, ledger: Path, tmp_path: Path, text: str, said: str) -> None:  # fmt: skip
    (tmp_path / "x.json").write_text(text)
    ran = tb(*ON, "fill", "--plan", tmp_path / "x.json", *AT)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("--to 3000", "--plan and --to do not go together"),
        ("DB-1=3000", "DB-1: no cylinder or set of this ledger ends so"),
        ("14", "14: to what pressure is not said"),
    ],
)
def test_what_does_not_go_with_a_plan(
    tb: Run, ledger: Path, file: Path, more: str, said: str
) -> None:
    ran = tb(*ON, "fill", "--plan", file, *AT, *shlex.split(more))
    assert ran.code == 2
    assert said in ran.err


# --- what a plan was told of banks


def told_plan(tb: Run, tmp_path: Path, *more: str) -> Path:
    """A plan that was told what two banks show, as `plan --json` writes it."""
    banks = ("--bank", "B1=2200", "--bank", "B2=4200")
    made = tb("plan", "14=500", *banks, "--holds", "14=air", "--ambient", "58degF", "--json", *more)
    assert made.code == 0, made.out + made.err
    path = tmp_path / "told.json"
    path.write_text(made.out, encoding="utf-8")
    return path


def offered(text: str) -> list[str]:
    """The commands that are offered for readings of banks."""
    said = re.findall(r"`tankbook (station read [^`]+)`", " ".join(text.split()))
    return [each for each in said if "=" in each]


def test_what_a_plan_was_told_of_banks_is_offered_as_their_reading(
    tb: Run, ledger: Path, tmp_path: Path
) -> None:
    path = told_plan(tb, tmp_path, *ON)
    before = (ledger / "station.yaml").read_text()
    ran = tb(*ON, "fill", "14=2850", "--plan", path, *AT)
    assert ran.code == 0, ran.out
    assert (ledger / "station.yaml").read_text() == before  # nothing but what was read is logged
    (command,) = offered(ran.out)
    assert command == "station read B1=2200psi B2=4200psi --on 2026-11-25 --at HH:MM"
    assert tb(*shlex.split(command.replace("HH:MM", "14:00"))).code == 0
    known = " ".join(
        tb(*ON, "plan", "15=500", "--holds", "15=air", "--ambient", "58degF").out.split()
    )
    assert "Bank B2 is taken to show about" in known  # the fill came after it
    assert "read 4200 psi on 2026-11-25, 1 fill since" in known
    assert offered(tb(*ON, "fill", "14=2850", "--plan", path, *AT, "--again").out) == []


def test_the_hour_at_which_a_plan_was_told_is_offered_where_it_is_before_the_fill(
    tb: Run, ledger: Path, tmp_path: Path
) -> None:
    path = told_plan(tb, tmp_path)
    made = json.loads(path.read_text())
    assert {each["at"] is None for each in made["banks_read"]} == {False}
    for hour, typed in (
        ("13:55", "13:55"),
        ("13:55+05:00", "13:55"),
        ("14:30", "HH:MM"),
        ("18:00", "HH:MM"),
    ):
        for each in made["banks_read"]:
            each.update(on="2026-11-25", at=hour)
        path.write_text(json.dumps(made))
        ran = tb(*ON, "fill", "14=2850", "--plan", path, *AT, "--dry-run")
        (command,) = offered(ran.out)
        assert command.endswith(f"--on 2026-11-25 --at {typed}")


@pytest.mark.parametrize("of", ["before", "bank", "none"])
def test_no_figure_of_a_plan_itself_is_offered_as_a_reading(
    tb: Run, ledger: Path, tmp_path: Path, of: str
) -> None:
    """What banks stand at by the plan, a bank of no station, a plan of before that says nothing."""
    path = told_plan(tb, tmp_path, *ON)
    made = json.loads(path.read_text())
    if of == "none":
        del made["banks_read"]
    else:
        made["banks_read"] = made["banks_read"][:1]
        made["banks_read"][0]["bank"] = {"before": "B1", "bank": "B7; rm"}[of]
    path.write_text(json.dumps(made))
    found = offered(tb(*ON, "fill", "14=2850", "--plan", path, *AT, "--dry-run").out)
    assert [each.split()[2] for each in found] == (["B1=2200psi"] if of == "before" else [])


@pytest.mark.parametrize(
    "said",
    [
        [{"bank": "B1"}], [3], "B1", {"B1": 2200}, [{"bank": "B1", "pressure": "x", "on": "2026-11-25", "at": None}],
        [{"bank": "B1", "pressure": 2200, "on": "25 Nov", "at": None}],
        [{"bank": "B1", "pressure": 2200, "on": None, "at": None}],
        [{"bank": "B1", "pressure": 2200, "on": "2026-11-25", "at": 14}],
        [{"bank": "B1", "pressure": float("nan"), "on": "2026-11-25", "at": None}],
        [{"bank": "B1", "pressure": float("inf"), "on": "2026-11-25", "at": None}],
    ],
)  # fmt: skip
def test_readings_that_are_none_are_told(
    tb: Run, ledger: Path, tmp_path: Path, said: object
) -> None:
    path = told_plan(tb, tmp_path, *ON)
    path.write_text(json.dumps({**json.loads(path.read_text()), "banks_read": said}))
    ran = tb(*ON, "fill", "14=2850", "--plan", path, *AT)
    assert ran.code == 2
    assert "this is no session plan" in ran.err
    assert not (ledger / "fills").exists()
