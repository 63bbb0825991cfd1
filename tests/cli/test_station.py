"""The station: how it stands, and the commands that record its upkeep."""

from __future__ import annotations

import hashlib
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.cli.commands import COMMANDS

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
DOCS = Path(__file__).parents[2] / "docs"
STATION = COMMANDS["station"]

TEXT = """\
# the fill room
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, grade: breathing, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
  - {name: B2, water_volume: 48 L, working_pressure: 5000 psi, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-14, pressure: 300 bar}]}
compressor: {name: C1, hours: [{on: 2026-11-24, reads: 412.5 h}]}
filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}]
whips: [{name: W1, fitted: 2026-05}]
relief_valves: [{name: R1, checked: [{on: 2026-04-01}]}]
gauges:
  - {name: G1, master: yes, checked: [{on: 2026-04-01, against: TG-2, reads: 3040 psi, true: 3000 psi}]}
  - {name: G2, position: P1, range: 6000 psi, checked: [{on: 2026-04-01, against: TG-2, reads: 3010 psi, true: 3000 psi}]}
positions: [{name: P1, kind: enclosed}]
instruments: [{name: CO-1, kind: co-monitor}]
upkeep: [{name: oil, what: oil, every: 12 months, hours: 100 h, done: [{on: 2026-09-01, at: 380 h}]}]
schemes: [{name: WS1, of: [B2], examined: [{on: 2025-03-10, by: Example Inspection, next: 2027-03-10}]}]
opening: {steps: [drains, gauge zero], done: [{on: 2026-11-25, at: "07:50", by: MV}]}
closing: {steps: [drains, banks shut]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
regulator_set: 3000 psi
gauge_error: 60 psi
"""  # fmt: skip


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    settings = books.SETTINGS + "operator: MV\n"
    files = {"tankbook.yaml": settings, "station.yaml": TEXT, "cylinders/RB-014.yaml": books.GOOD}
    root = write(files)
    monkeypatch.chdir(root)
    return root


LINES = {
    "read": "read B1=4100 B2=280bar",
    "raise": "raise B1 --from 4100 --to 4800 --hours 425",
    "analyse": "analyse B1 --oxygen 20.9",
    "regulator": "regulator 3442",
    "hours": "hours 425",
    "filter": "filter F1 --at 441.5",
    "air-test": 'air-test --by "Example Air Lab" --co 12ppm --oxygen 20.9 --source C1',
    "gauge-check": "gauge-check G1 --reads 3080 --true 3000 --against TG-2",
    "whip": 'whip W1 --fail "cover cut to the braid"',
    "relief": "relief R1 --lifted 4550",
    "gauge": "gauge G2 --master",
    "position": 'position P1 --fail "lid latch cracked"',
    "machine": 'machine C1 --fail "third stage leaks oil"',
    "co": "co 14ppm --alarm",
    "bump": "bump CO-1",
    "upkeep": "upkeep oil --at 420",
    "open": "open",
    "close": "close",
    "bank-test": "bank-test B1 --on 2026-10 --by T123",
    "bank-look": 'bank-look B1 --decided "no bulge, seats dry"',
    "bank-clean": 'bank-clean B1 --method "detergent, dried" --at 16:00',
    "no-period": 'no-period B2 --why "ASME vessel, no interval" --document "folder 3"',
    "examined": 'examined WS1 --by "Example Inspection" --next 2028-11-25',
}


def test_the_station_as_it_stands(tb: Run, ledger: Path, snapshot: SnapshotAssertion) -> None:
    ran = tb("station", *ON)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == snapshot
    assert max(map(len, ran.out.splitlines())) <= 80


def test_upkeep_that_failed_stands_until_it_is_repaired(tb: Run, ledger: Path) -> None:
    tb("station", "upkeep", "oil", "--fail", "black", *ON)
    assert "failed on 2026-11-25: black" in tb("may-fill", "RB-014", *ON).out
    said = tb("station", "upkeep", "oil", "--at", "420", *ON).out
    assert "oil failed on 2026-11-25: black: that stands until --repaired WHAT" in said
    tb("station", "upkeep", "oil", "--at", "420", "--repaired", "seal changed", *ON)
    assert "black" not in tb("may-fill", "RB-014", *ON).out


def test_closed_comes_first(tb: Run, ledger: Path) -> None:
    tb(*ON, "station", *shlex.split(LINES["air-test"]))
    ran = tb("station", *ON)
    assert ran.first.startswith("CLOSED: the air test of 2026-11-25 (C1) failed")
    assert tb("station", "--json", *ON).json["open"] is False


def test_the_shape_of_the_json_is_on_its_page(tb: Run, ledger: Path) -> None:
    got = tb("station", "--json", *ON).json
    section = (DOCS / "json.md").read_text(encoding="utf-8").split("\n## station\n")[1]
    named = set(re.findall(r"`(\w+)`", section.split("\n## ")[0]))
    assert (
        set(got)
        | {"part", "why", "mend", "rule"}
        | set(got["banks"][0])
        | set(got["gauges"][0])
        | set(got["air_test"])
        <= named
    )
    bank, gauge = got["banks"][1], got["gauges"][0]
    assert bank["pressure_bar"] == 300
    assert bank["stale"] is True
    assert gauge["off_psi"] == pytest.approx(40)


def test_without_a_station_it_is_said(tb: Run, ledger: Path) -> None:
    (ledger / "station.yaml").unlink()
    ran = tb("station", *ON)
    assert ran.code == 2
    assert "no station is on record" in ran.err
    (ledger / "station.yaml").write_text("banks: [\n")
    unread = tb("station", *ON)
    assert (unread.code, unread.first[:45]) == (1, "NO: the station's file cannot be read; 1 FILE")
    refused = tb("station", "read", "B1=4000", *ON)
    assert refused.code == 1
    assert "station.yaml cannot be read" in refused.out


def test_every_command_is_tried_here() -> None:
    assert {*LINES, "size"} == set(STATION.below)  # that one records nothing: test_size.py


@pytest.mark.parametrize("name", LINES)
def test_what_people_see(name: str, tb: Run, ledger: Path, snapshot: SnapshotAssertion) -> None:
    ran = tb(*ON, "station", *shlex.split(LINES[name]))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == snapshot
    told = [line for line in ran.out.splitlines() if line[:1] not in {"+", "-", " ", "@"}]
    assert max(map(len, told)) <= 80
    assert tb("validate", *ON).code == 0
    assert (ledger / "station.yaml").read_text().startswith("# the fill room\nbanks:\n")


@pytest.mark.parametrize("name", LINES)
def test_a_dry_run_shows_the_same_change_and_writes_nothing(
    name: str, tb: Run, ledger: Path
) -> None:
    dry = tb("station", *shlex.split(LINES[name]), "--dry-run", "--json", *_day(name))
    assert (ledger / "station.yaml").read_text() == TEXT
    assert not (ledger / ".tankbook").exists()
    real = tb("station", *shlex.split(LINES[name]), "--json", *_day(name))
    assert real.json == {**dry.json, "recorded": True, "dry_run": False}
    assert (ledger / "station.yaml").read_text() != TEXT
    assert real.json["act"] == f"station {name}"


def _day(name: str) -> list[str]:
    """The shared day; `bank-test` has its own --on."""
    return [] if name == "bank-test" else ON


@pytest.mark.parametrize("name", LINES)
def test_help_has_the_shared_options_and_an_example_that_runs(
    name: str, tb: Run, ledger: Path
) -> None:
    ran = tb("station", name, "--help")
    assert ran.code == 0
    for option in ("--on", "--by", "--dry-run", "--commit", "--json", "--ledger"):
        assert option in ran.out
    example = STATION.below[name].example
    assert f"Example: {example}" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    assert STATION.below[name].briefly in tb("station", "--help").out
    done = tb(*ON, *shlex.split(example.removeprefix("tankbook ")), "--dry-run")
    assert done.code == 0, done.err + done.out


@pytest.mark.parametrize(
    ("line", "code", "text"),
    [
        ("read B1", 2, "'B1' is no reading; write it as B1=2400"),
        ("read B1=lots", 2, "B1: "),
        ("read B9=4400", 1, "bank B9 is not in station.yaml"),
        ("hours many", 2, "HOURS: "),
        ("air-test --by Lab --co 3", 2, "--co: "),
        ("air-test --by Lab --result maybe", 2, "--result: 'maybe' is not known; known: pass, fail"),
        ("gauge-check G1 --reads 3000 --true 3000", 2, "--against"),
        ("bank-test B1 --on 2026-10 --by MV", 1, "name the requalifier"),
        ("no-period B1 --why tbd", 1, "on no ground"),
        ("no-period B9 --why 'ASME vessel'", 1, "bank B9 is not in station.yaml"),
        ("no-period B1 --why 'ASME vessel' --until 2026-01-01", 1, "2026-01-01, which is"),
        ("no-period B1", 2, "--why"),
        ("examined WS1 --by X1", 1, "give --next"),
        ("examined WS2 --by X1 --next 2028-01-01", 1, "written scheme WS2 is not in"),
        ("examined WS1 --by X1 --next 2026-01-01", 1, "no later than the examination"),
        ("upkeep belts", 1, "upkeep belts is not in station.yaml"),
        ("upkeep oil --fail black --repaired changed", 1, "give one of them"),
        ("upkeep oil --at 300", 1, "upkeep oil was done at 300 h on 2026-11-25"),
        ("upkeep oil --at often", 2, "--at: "),
        ("nothing", 2, "nothing"),
    ],
)  # fmt: skip
def test_what_is_refused_writes_nothing(
    line: str, code: int, text: str, tb: Run, ledger: Path
) -> None:
    ran = tb(*ON, "station", *shlex.split(line))
    assert ran.code == code
    assert text in (ran.err if code == 2 else ran.out)
    assert (ledger / "station.yaml").read_text() == TEXT


TWO = TEXT.replace(
    "compressor: {name: C1, hours: [{on: 2026-11-24, reads: 412.5 h}]}",
    "compressors:\n  - {name: C1, hours: [{on: 2026-11-24, reads: 412.5 h}]}\n  - {name: C2, hours: [{on: 2026-11-24, reads: 90 h}]}\n"
    "boosters: [{name: BO1, from: [B2]}]",
).replace("name: F1, life", "name: F1, of: C2, life").replace("at: 380 h", "at: 80 h").replace(
    "result: pass}\nreg", "result: pass, source: C1}\n  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C2}\nreg"
)  # fmt: skip


@pytest.mark.parametrize(
    ("line", "code", "told", "written"),
    [
        ("hours 425", 1, "which one is not said: --of, one of C1, C2, BO1", ""),
        ("hours 425 --of C3", 1, "--of: C3 is not in station.yaml (there is: C1, C2, BO1)", ""),
        ("hours 95 --of c2", 0, "Hour meter of C2 reads 95 h", "reads: 90 h}, {on: 2026-11-25, by: MV, reads: 95 h}"),
        ("hours 9 --of C1", 1, "the meter read 412.5 h", ""),
        ("hours 9 --of BO1", 0, "Hour meter of BO1 reads 9 h", "from: [B2], hours: [{on: 2026-11-25, by: MV, reads: 9 h}]"),
        ("filter F1 --at 95", 0, "filter F1: 50 h of 50 h left", "reads: 90 h}, {on: 2026-11-25, by: MV, reads: 95 h}"),
        ("raise B1 --to 4800 --hours 425", 1, "which compressor raised it is not said: --source C1, C2", ""),
        ("raise B1 --to 4800 --source compressor", 1, "which compressor raised it is not said", ""),
        ("raise B1 --to 4800 --source C1 --hours 425", 0, "Raised B1 to 4800 psi, from C1", "reads: 412.5 h}, {on: 2026-11-25, by: MV, reads: 425 h}"),
        ("raise B1 --to 4800 --source C3", 1, "the station has no `C3`; known: B1, B2, C1, C2", ""),
        ("raise B1 --to 4800 --source BO1", 0, "Raised B1 to 4800 psi, from BO1", "source: BO1"),
        ("raise B2 --to 4800 --source BO1", 1, "B2 is not filled from itself", ""),
        ("air-test --by Lab --result pass", 1, "which compressor's air it was is not said", ""),
        ("air-test --by Lab --result fail", 0, "it tells against each of them", "result: fail"),
        ("air-test --by Lab --result pass --source C2", 0, "Air test passed", "result: pass, source: C2}"),
    ],
)  # fmt: skip
def test_of_several_compressors_it_is_said_which(
    line: str, code: int, told: str, written: str, tb: Run, ledger: Path
) -> None:
    station = ledger / "station.yaml"
    station.write_text(TWO, encoding="utf-8")
    dry = tb(*ON, "station", *shlex.split(line), "--dry-run", "--json")
    assert (dry.code, station.read_text(encoding="utf-8")) == (code, TWO)
    ran = tb(*ON, "station", *shlex.split(line))
    assert ran.code == code
    assert told in " ".join(ran.out.split())
    after = station.read_text(encoding="utf-8")
    assert written in after if written else after == TWO


def test_a_failed_sample_of_one_leaves_the_other(tb: Run, ledger: Path) -> None:
    (ledger / "station.yaml").write_text(TWO, encoding="utf-8")
    assert tb("station", *ON).first == "OPEN; C1, C2 in use"
    tb(*ON, "station", *shlex.split(LINES["air-test"].replace("C1", "C2")))
    ran = tb("station", *ON)
    assert ran.first == "OPEN; C1 in use, C2 out of use"
    got = tb("station", "--json", *ON).json
    assert ([c["hours"] for c in got["compressors"]], got["hours"]) == ([412.5, 90], None)
    assert {each["part"] for each in got["out_of_use"]} == {"compressor C2"}
    assert "out of use: compressor C2" in tb("may-fill", "RB-014", *ON).out
    fill = ["fill", "RB-014=500", "--to", "2900", "--looked", "--at", "2026-11-25T10:00:00+00:00"]
    assert "out of use: compressor C2" in tb(*fill, "--source", "C2").out
    assert tb(*fill, "--source", "C1").code == 0
    assert tb("recall", *ON).first.startswith("RECALL C2 since 12 Oct 2026")
    tb(*ON, "station", *shlex.split("air-test --by Lab --result pass --co 1ppm --source C2"))
    tb(*ON, "station", *shlex.split(LINES["air-test"].replace("--source C1", "")))
    closed = tb("station", *ON)
    assert closed.first.startswith("CLOSED: ")
    assert "the air test of 2026-11-25 failed" in " ".join(closed.out.split())


SHOWN = "result: pass, source: C1, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.05 mg/m3}"
CLEAN = TEXT.replace("result: pass}", SHOWN).replace(
    "compressor: {name: C1, hours", "compressor: {name: C1, grade: oxygen, hours"
).replace("filters:", "sources: [{name: M1, kind: membrane, oxygen_from: 24 %, oxygen_to: 36 %}]\nfilters:")  # fmt: skip
NITROX = books.with_lines(books.GOOD, service="nitrox", cleaned="[{on: 2026-11-01, by: MV, to: nitrox}]")  # fmt: skip


def test_a_membrane_gives_what_it_makes_and_keeps_a_cylinder_clean(tb: Run, ledger: Path) -> None:
    (ledger / "station.yaml").write_text(CLEAN, encoding="utf-8")
    (ledger / "cylinders" / "RB-014.yaml").write_text(NITROX, encoding="utf-8")
    may = ["may-fill", "RB-014", *ON, "--source", "M1", "--gas"]
    assert tb(*may, "nitrox32").first.startswith("YES")
    refused = tb(*may, "nitrox40")
    assert refused.first.startswith("NO")
    assert "M1 (membrane) does not make nitrox40" in " ".join(refused.out.split())
    assert tb(*may[:-3], "--source", "M7").code == 2
    said = tb("station", *ON).out
    assert "M1 (membrane, 24 to 36 % oxygen): oxygen-compatible" in said
    fill = shlex.split("fill RB-014=500 --to 2900 --looked --gas nitrox32 --o2 32 --analysed-by MV --source M1")  # fmt: skip
    done = tb(*fill, "--at", "2026-11-25T10:00:00+00:00")
    assert (done.code, "oxygen-clean" in done.out) == (0, False)
    assert tb("may-fill", "RB-014", *ON, "--gas", "nitrox32").first.startswith("YES")
    # with too much oil in the next sample that fill is no longer of clean air
    oily = "air-test --by Lab --source C1 --standard cga-grade-e --result pass --oil 0.4mg/m3"
    assert tb(*ON, "station", *shlex.split(oily)).code == 0
    got = tb("station", "--json", *ON).json
    assert [(s["name"], s["grade"]) for s in got["sources"]] == [("M1", "breathing")]
    assert {s["name"] for s in got["ordinary"]} == {"C1", "M1"}
    lost = tb("may-fill", "RB-014", *ON, "--gas", "nitrox32")
    assert lost.first.startswith("NO")
    assert "M1: its sample of 2026-11-25 has oil 0.4 mg/m3" in " ".join(lost.out.split())


PAPERS = ["air-test", "bank-test", "no-period", "examined"]


@pytest.mark.parametrize("name", PAPERS)
def test_a_certificate_is_kept_by_its_name_and_digest(name: str, tb: Run, ledger: Path) -> None:
    paper = ledger / "papers/4711.pdf"
    paper.parent.mkdir()
    paper.write_bytes(b"%PDF CO 12 ppm")
    digest = hashlib.sha256(b"%PDF CO 12 ppm").hexdigest()
    line = [*shlex.split(LINES[name]), "--certificate", "papers/4711.pdf"]
    dry = tb("station", *line, "--dry-run", "--json", *_day(name))
    assert (dry.code, (ledger / "station.yaml").read_text()) == (0, TEXT)
    ran = tb("station", *line, "--json", *_day(name))
    assert ran.json == {**dry.json, "recorded": True, "dry_run": False}
    assert "certificate papers/4711.pdf" in ran.json["sentence"]
    kept = (ledger / "station.yaml").read_text()
    assert f"certificate: {{name: papers/4711.pdf, sha256: {digest}}}" in kept
    assert "certificate-changed" not in tb("validate", *ON).out
    for change in (lambda: paper.write_bytes(b"%PDF CO 2 ppm"), paper.unlink):
        change()
        ran = tb("validate", "--json", *ON)
        (found,) = [f for f in ran.json if f["code"] == "certificate-changed"]
        assert (ran.code, found["severity"], found["path"]) == (0, "warn", "station.yaml")
        assert f"recorded as {digest[:12]}..." in found["text"]


def test_the_certificates_are_shown(tb: Run, ledger: Path) -> None:
    (ledger / "4711.pdf").write_bytes(b"%PDF")
    got = tb("station", "--json", *ON).json
    shown = [got["air_test"], *got["banks"]]
    assert {(s["certificate"], s["certificate_sha256"]) for s in shown} == {(None, None)}
    for name in ("air-test", "bank-test"):
        assert tb(*ON, "station", *shlex.split(LINES[name]), "--certificate", "4711.pdf").code == 0
    ran = tb("station", *ON)
    digest = hashlib.sha256(b"%PDF").hexdigest()
    assert f"Its certificate: ./4711.pdf (SHA-256 {digest[:12]}...)" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    got = tb("station", "--json", *ON).json
    for each in (got["air_test"], got["banks"][0]):
        assert (each["certificate"], each["certificate_sha256"]) == ("./4711.pdf", digest)
    assert got["banks"][1]["certificate"] is None


@pytest.mark.parametrize("name", PAPERS)
@pytest.mark.parametrize(
    ("said", "code", "why"),
    [
        ("nowhere.pdf", 2, "there is no such file"),
        ("station.yaml", 2, "it is a file of the ledger's own"),
        ("cylinders", 2, "folder"),
        ("a\x1b[2J.pdf", 2, "names no file"),
    ],
)
def test_what_is_no_certificate_is_refused(
    name: str, said: str, code: int, why: str, tb: Run, ledger: Path
) -> None:
    ran = tb(*ON, "station", *shlex.split(LINES[name]), "--certificate", said)
    assert ran.code == code
    assert why in ran.err
    assert "\x1b" not in ran.err
    assert (ledger / "station.yaml").read_text() == TEXT


def test_a_certificate_by_hand_is_a_name_and_a_digest(tb: Run, ledger: Path) -> None:
    for paper, why in {
        "4711.pdf": "certificate",
        "{name: 4711.pdf}": "sha256",
        "{name: 4711.pdf, sha256: 12ab}": "`12ab` is no SHA-256",
        f"{{name: 4711.pdf, sha256: {'A' * 64}}}": "is no SHA-256",
        f"{{name: 4711.pdf, sha256: {'0' * 64}, size: 3}}": "size",
    }.items():
        (ledger / "station.yaml").write_text(
            TEXT.replace("result: pass}\nreg", f"result: pass, certificate: {paper}}}\nreg")
        )
        ran = tb("validate", *ON)
        assert (ran.code, why in ran.out) == (1, True), ran.out


@pytest.mark.parametrize(
    ("line", "warned"),
    [
        ("N1 --to 4400", True),
        ("N1 --to 4400 --source C1", True),
        ("N1 --to 4400 --source elsewhere:Weir", False),
        ("B1 --to 2600", False),
    ],
)
def test_a_bank_of_nitrox_that_air_was_pumped_into_is_to_be_analysed(
    tb: Run, example_ledger: Path, monkeypatch: pytest.MonkeyPatch, line: str, warned: bool
) -> None:
    monkeypatch.chdir(example_ledger)
    ran = tb("station", "raise", *line.split(), *"--by TO --on 2026-11-25 --dry-run".split())
    assert ran.code == 0, ran.err
    assert ("fill nothing from it until that is answered" in " ".join(ran.out.split())) is warned
