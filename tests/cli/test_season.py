"""A season at a fill station, played from the delivery in March to a sale in July.

Every act is one command and one commit. After each of them the ledger validates, and the answers
are right; at the end the git log is read back as the story.
"""

from __future__ import annotations

import datetime as dt
import json
import shlex
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.cli import open_ledger
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
from tankbook.ledger.load import load
from tankbook.records.station import Position
from tankbook.records.words import PositionKind
from tankbook.rules.fill_history import contents_of
from tankbook.rules.hand_over import may_hand_over
from tankbook.units import GaugePressure, PressureRate, Temperature, Volume

Run = Callable[..., Any]

SETTINGS = """\
ledger: Test Quay
units: psi
rules: [us-dot]
gas: air
operator: TO
requalifier: Northside Test House
commit: yes
ids: {rental: RB-###, sale: SF-05#, customer: CU-###}
sticker: {policy: at-hand-over, inspection_age: 12 months, second_look: 7 days}
people:
  MV: {role: bench, certifications: [{skill: inspector, from: 2024-05, until: 2027-05}]}
  TO: {role: fill station, certifications: [{skill: filler, from: 2025-01, until: 2028-01}]}
  JO: {role: owner}
"""
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
  - {name: B2, water_volume: 48 L, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
positions: [{name: P1, kind: enclosed}]
air_tests:
  - {on: 2026-02-10, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1}
regulator_set: 3000 psi
"""
LOOK_LIST = """\
shown_as: Before it leaves the shop
steps:
  - {name: identify, group: outside, look_for: serial against the card}
  - {name: shop-wear, group: outside, look_for: knocks and scratches}
"""
DELIVERY = """\
serial,first_test,use,maker,specification,service_pressure,size,material,alloy,service,valve.outlet,valve.rating,valve.disc
K301,2026-01,rental,Example Cylinder Co,"DOT-3AL, TC-3ALM",3000 psi,al80,aluminium,6061,air,yoke,3000 psi,5000 psi
K302,2026-01,rental,Example Cylinder Co,"DOT-3AL, TC-3ALM",3000 psi,al80,aluminium,6061,air,yoke,3000 psi,5000 psi
K303,2026-01,rental,Example Cylinder Co,"DOT-3AL, TC-3ALM",3000 psi,al80,aluminium,6061,air,yoke,3000 psi,5000 psi
"""
THREADS = "--neck-thread '3/4-14 NPSM' --valve-thread '3/4-14 NPSM'"


@dataclass
class Season:
    """The ledger, and how a command is run on it."""

    tb: Run
    root: Path
    now: dt.datetime = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)

    def does(self, when: str, line: str, *found: str, code: int = 0) -> str:
        """Run a command on a day (and at a time), see that the ledger validates, say its answer.

        `found` is what stands at fault afterwards, where a fact is told that should not have been.
        """
        day, _, clock = when.partition(" ")
        self.now = dt.datetime.fromisoformat(f"{day}T{clock or '17:00'}:00+00:00")
        at = ["--at", f"{day}T{clock}:00+00:00"] if clock else []
        ran = self.tb("--on", day, *shlex.split(line), *at)
        assert ran.code == code, ran.out + ran.err
        checked = self.tb("validate", "--on", day, "--json").json
        faults = [each["text"] for each in checked if each["severity"] == "fault"]
        assert faults == list(found)
        if code == 0:
            assert self.git("status", "--porcelain") == ""
        return " ".join(ran.out.split("\n\n")[0].split())

    def git(self, *arguments: str) -> str:
        done = subprocess.run(
            ["git", *arguments], cwd=self.root, capture_output=True, text=True, check=True
        )
        return done.stdout

    def may_fill(self, id_: str, day: str) -> str:
        """The answer of `may-fill`, on one line."""
        return " ".join(self.tb("may-fill", id_, "--on", day).out.split("\n\n")[0].split())

    def due(self, day: str) -> set[tuple[str, str]]:
        """What is overdue or missing, by id and obligation."""
        got = self.tb("due", "--on", day, "--json").json
        return {(d["id"], d["obligation"]) for d in got if d["state"] in {"overdue", "missing"}}

    def status(self, id_: str) -> str:
        return str(load(self.root).cylinders[id_].status)

    def holds(self, id_: str, day: str) -> str:
        held = contents_of(load(self.root, today=dt.date.fromisoformat(day)), id_)
        return f"{held.gas} {held.pressure}"


@pytest.fixture(name="season")
def _season(tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Season:
    for who in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{who}_NAME", "Test Quay")
        monkeypatch.setenv(f"GIT_{who}_EMAIL", "quay@example.org")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", "/dev/null")
    root = tmp_path / "quay"
    assert tb("init", root, "--name", "Test Quay", "--no-git").code == 0
    (root / "tankbook.yaml").write_text(SETTINGS)
    (root / "station.yaml").write_text(STATION)
    (root / "checklists/before-hand-over.yaml").write_text(LOOK_LIST)
    (tmp_path / "delivery.csv").write_text(DELIVERY)
    monkeypatch.chdir(root)
    season = Season(tb, root)
    monkeypatch.setattr(open_ledger, "clock", lambda: season.now.date())
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: season.now)
    season.git("init", "-q", "-b", "main")
    season.git("add", ".")
    season.git("commit", "-q", "-m", "Begin the ledger")
    return season


def test_a_season(season: Season, snapshot: SnapshotAssertion) -> None:
    a_delivery(season)
    the_bench(season)
    fills_from_a_plan(season)
    an_overfill(season)
    a_correction(season)
    a_retest(season)
    a_failed_air_test(season)
    a_sale(season)
    the_story(season, snapshot)


def a_delivery(season: Season) -> None:
    """Three rentals from a delivery note, two for the shelf, two older steel ones by their marks."""
    season.does("2026-03-02", "import ../delivery.csv --map ../delivery.yaml")
    said = season.does("2026-03-02", "import ../delivery.csv --map ../delivery.yaml --all --by TO")
    assert said == "Imported delivery.csv: 3 new cards, RB-001 to RB-003"
    season.does(
        "2026-03-02", "book-in --like 1 --serials K401..K402 --use sale --first-test 2026-01"
    )
    steel = (
        "--use rental --set material=steel --set 'maker=Hollis Steel' --set service=air "
        "--set valve.outlet=din-300 --set valve.rating=4350 --set valve.disc=5700 --set size=hp100"
    )
    for serial, first in (("HP1", "05N16"), ("HP2", "06N16")):
        line = f"--marks 'DOT-3AA 3442 {serial} {first} 06 A123 21'"
        season.does("2026-03-02", f"book-in {line} {steel}")
    assert season.status("RB-005") == "awaiting-inspection"
    assert "it is awaiting inspection" in season.may_fill("RB-001", "2026-03-02")


def test_a_delivery_is_booked_in_once(season: Season) -> None:
    line = "import ../delivery.csv --map ../delivery.yaml"
    season.does("2026-03-02", line)
    season.does("2026-03-02", f"{line} --all --by TO")
    before = season.git("rev-parse", "HEAD")
    twice = season.does("2026-03-02", f"{line} --all --by TO")
    assert twice == "Imported delivery.csv: 3 there already"
    assert season.git("rev-parse", "HEAD") == before


def the_bench(season: Season) -> None:
    """All inspected; one finding is held and gauged; the sale stock keeps without stickers."""
    season.does("2026-03-03", f"inspect 001 002 --pass-all {THREADS} --by MV")
    found = (
        "--except neck-threads:hold --note 'thread 2 worn' --count 1 --position 'second from top'"
    )
    said = season.does("2026-03-03", f"inspect 3 --pass-all {found} {THREADS} --by MV")
    assert said.startswith("Inspected RB-003 by `new`: hold, neck-threads: thread 2 worn")
    assert "it is held: neck-threads: thread 2 worn" in season.may_fill("RB-003", "2026-03-03")
    nobody = season.does("2026-03-03", f"inspect 4 --pass-all {THREADS}", code=1)
    assert "TO holds no inspector's certification valid on 2026-03-03" in nobody
    season.does("2026-03-03", f"inspect 4 5 --pass-all {THREADS} --by MV --checklist annual")
    said = season.does("2026-03-04", f"inspect SF-051 SF-052 --pass-all {THREADS} --by MV")
    assert said.endswith("pass, sticker withheld (month 2026-03)")
    no = season.does("2026-03-05", "release 3 --why 'gauged by the requalifier' --by MV", code=1)
    assert '`tankbook inspect RB-003 --clears "inspected 2026-03-03"`' in no
    gauged = "--clears 2026-03-03 --why 'gauged by the requalifier'"
    said = season.does("2026-03-05", f"inspect 3 --pass-all {THREADS} {gauged} --by MV")
    assert said.endswith("answers held 2026-03-03, inspected 2026-03-03")
    assert season.status("RB-003") == "in-service"
    assert season.may_fill("RB-003", "2026-03-05").startswith("YES RB-003 air: 3000 psi at 70 degF")
    assert season.due("2026-03-05") == set()


def fills_from_a_plan(season: Season) -> None:
    """A morning's session, planned, and logged with what the gauges showed."""
    (season.root.parent / "plan.json").write_text(json.dumps(a_plan()), encoding="utf-8")
    read = "fill --plan ../plan.json 001=2880 002=2870 3=2850"
    look = season.does("2026-03-06 09:30", read, code=1)
    assert "nobody has said that they were looked over" in look
    said = season.does("2026-03-06 09:30", f"{read} --looked")
    assert said.startswith("Filled RB-001 to 2880 psi, RB-002 to 2870 psi, RB-003 to 2850 psi")
    assert season.holds("RB-003", "2026-03-06") == "air 2850 psi"
    assert season.holds("RB-001", "2026-03-05") == "None None"
    ready = season.tb("list", "--ready", "--on", "2026-03-06", "--json").json
    assert [row["id"] for row in ready] == ["RB-001", "RB-002", "RB-003"]


def a_plan() -> dict[str, Any]:
    """Three cylinders from two banks in a 60 degF room, as `plan --json` writes it."""

    def psi(value: float) -> GaugePressure:
        return GaugePressure.of(value, "psi")

    litres, air = Volume.of(11.1, "L"), Gas.parse("air")
    return as_json(
        plan(
            Session(
                gas=air,
                banks=tuple(
                    PlanBank(label=n, water_volume=Volume.of(48, "L"), reading=psi(p), gas=air)
                    for n, p in (("B1", 2200), ("B2", 4200))
                ),
                vessels=tuple(
                    Vessel(id=f"RB-00{n}", water_volume=litres, start=psi(200 * n), gas=air,
                           target=psi(2910), marked=psi(3000))
                    for n in (1, 2, 3)
                ),
                positions=(Position(name="P1", kind=PositionKind.ENCLOSED),),
                policy=StationPolicy(fill_rate=PressureRate.of(400, "psi/min")),
                ambient=Temperature.of(60, "degF"),
                standard=StandardCylinder(water_volume=litres, start=psi(500), target=psi(2910)),
            )
        )
    )  # fmt: skip


def an_overfill(season: Season) -> None:
    """The regulator crept: refused as a fill, logged as a fact, bled down, looked at, released."""
    look = "--source C1 --temperature 70"
    no = season.does("2026-04-11 10:00", f"fill 4=3600 {look} --looked", code=1)
    assert "3600 psi is above its limit, 3442 psi at 70 degF" in no
    over = "RB-004 filled to 3600 psi, above the 3442 psi that was lawful"
    fact = f"fill 4=3600 {look} --happened 'regulator crept'"
    said = season.does("2026-04-11 10:00", fact, over)
    assert said.endswith("by TO; regulator crept; held")
    assert season.status("RB-004") == "held"
    assert season.holds("RB-004", "2026-04-11") == "air 3600 psi"
    assert "YES" not in season.may_fill("RB-004", "2026-04-11")
    season.does("2026-04-11 10:20", "drain 4=3400 --from 3600 --note 'bled down'", over)
    season.does("2026-04-13 09:00", "drain 4=0 --from 3400 --note 'to look inside'", over)
    season.does(
        "2026-04-13",
        f"inspect 4 --checklist annual --pass-all {THREADS} --clears 'held 2026-04-11' --by MV",
    )
    season.does("2026-04-13", "release 4 --why 'no bulge, looked over' --by MV")
    assert season.status("RB-004") == "in-service"


def a_correction(season: Season) -> None:
    """A fill was entered for the wrong cylinder's gauge: struck out, and entered as it was."""
    season.does("2026-05-02 08:00", "fill 002=2990 --source B1 --looked --temperature 72")
    said = season.does(
        "2026-05-03",
        "correct 002 fill 2026-05-02 --why 'read off the gauge of P2' --set 'to=2890 psi' --by MV",
    )
    assert "RB-002" in said
    assert season.holds("RB-002", "2026-05-03") == "air 2890 psi"
    log = (season.root / "fills/2026.csv").read_text()
    assert "2990 psi" in log  # the old line stays readable
    assert "read off the gauge of P2" in log


def a_retest(season: Season) -> None:
    """Two to the requalifier; one comes home passed, the other never holds gas again."""
    assert "hydro" in season.tb("due", "--on", "2026-07-01").out
    assert ("RB-004", "requalification") in season.due("2026-07-01")
    season.does("2026-06-20", "send 4 5")
    assert season.status("RB-004") == "at-test"
    season.does("2026-07-03", "back 4 5")
    season.does("2026-07-03", "requalify 4 5 --on 2026-06-29 --by T123 --stamp '06 T123 26' "
                              "--failed '5=expansion 12 %'")  # fmt: skip
    season.does("2026-07-04", "condemn 5 --on 2026-07-04 --by T123 --why 'expansion 12 %' "
                              "--marked 'CONDEMNED stamped on the shoulder'")  # fmt: skip
    assert season.status("RB-005") == "condemned"
    assert "not yet dried and refitted" in season.may_fill("RB-004", "2026-07-04")
    season.does("2026-07-05", f"inspect 4 --checklist internal --pass-all {THREADS} --by MV")
    assert season.status("RB-004") == "in-service"
    assert season.may_fill("RB-004", "2026-07-05").startswith("YES RB-004 air: 3442 psi")
    assert ("RB-004", "requalification") not in season.due("2026-07-05")


def a_failed_air_test(season: Season) -> None:
    """Too much carbon monoxide closes the station until a new sample passes."""
    values = "--standard cga-grade-e --source C1 --oxygen 20.9 --co2 420ppm --oil 0.1mg/m3 --hydrocarbons 3ppm"  # fmt: skip
    march, may = (
        f"it holds air of {day}, and the air test of 2026-07-10 (C1) failed"
        for day in ("2026-03-06", "2026-05-02")
    )
    season.does("2026-07-10", f"station air-test --by Lab1 {values} --co 14ppm", march, march, may)
    assert "NO RB-001: " in season.may_fill("RB-001", "2026-07-10")
    no = season.does("2026-07-10 11:00", "fill 001=2900 --source B1 --looked --temperature 75 "
                     "--override regatta --approved-by JO", march, march, may, code=1)  # fmt: skip
    assert "the station: " in no
    season.does("2026-07-11 09:00", "drain 001", march, may)
    season.does("2026-07-11 09:10", "drain 002", march)
    season.does("2026-07-11 09:20", "drain 003")
    season.does("2026-07-14", f"station air-test --by Lab1 {values} --co 2ppm --at 08:30")
    season.does("2026-07-14", "station read B1=0 B2=0 --at 09:00")
    for bank in ("B1", "B2"):
        season.does("2026-07-14", f"station raise {bank} --from 0 --to 4400 --source C1 --at 10:00")
    season.does("2026-07-14 11:00", "fill 001=2990 --source B1 --looked --temperature 75")
    assert season.holds("RB-001", "2026-07-14") == "air 2990 psi"


def a_sale(season: Season) -> None:
    """The sticker goes on after a second look, with the month of the full inspection."""
    no = season.does("2026-07-20", "sticker SF-051", code=1)
    assert "no second outside look within 7 days is on record" in no
    season.does("2026-07-20", "inspect SF-051 --checklist before-hand-over --pass-all --by MV")
    day = dt.date(2026, 7, 21)
    book = load(season.root, today=day)
    assert may_hand_over(book, "SF-051", day).allowed
    assert may_hand_over(book, "SF-051", day).sticker_first
    assert not may_hand_over(book, "SF-052", day).allowed
    said = season.does("2026-07-21", "sticker SF-051")
    assert said == "Put the sticker on SF-051: month 2026-03"


def the_story(season: Season, snapshot: SnapshotAssertion) -> None:
    """Every act is a commit of its own that says what happened, to which cylinders."""
    assert season.git("log", "--reverse", "--format=%s") == snapshot
    acts = season.git("log", "--reverse", "--format=%(trailers:key=Act,valueonly,separator=%x2C)")
    assert acts.splitlines()[0] == ""
    assert all(line for line in acts.splitlines()[1:])
    about = season.git("log", "--reverse", "--format=%s", "--grep", "^Cylinder: RB-005$")
    assert about == snapshot
