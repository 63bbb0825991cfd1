"""`tankbook blend`: the steps, how far off they may be, and what is refused."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from syrupy.assertion import SnapshotAssertion

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
STATION = """\
ambient: 70 degF
fill_rate: 400 psi/min
oxygen_positions: 1
regulator_set: 3000 psi
banks:
  - {name: B1, water_volume: 48 L, gas: air, grade: breathing, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-25, pressure: 4400 psi}]}
  - {name: B2, water_volume: 48 L, gas: air, grade: oxygen, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-25, pressure: 4400 psi}]}
compressor: {name: C1, delivery: 7 cuft/min, max_pressure: 5000 psi}
air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}]
"""
CLEAN = books.GOOD.replace("service: air", "service: nitrox") + (
    "cleaned: [{on: 2026-02-09, by: MV, to: nitrox}]\n"
)
OXYGEN = "--oxygen 2000/50L"


@pytest.fixture(name="at")
def _at(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Any]:
    def run(line: str, station: str = STATION, cylinder: str = CLEAN) -> Any:
        monkeypatch.chdir(
            write({"cylinders/RB-014.yaml": cylinder.lstrip(), "station.yaml": station})
        )
        return tb(*shlex.split(line), *ON)

    return run


@pytest.mark.parametrize(
    "line",
    [
        f"blend 14 --to nitrox32 --from '500 air' {OXYGEN}",
        f"blend 14 --to trimix18/45 --from '0' {OXYGEN} --helium 2900/50L --pressure 2500",
        f"blend 14 --to nitrox28 --from '2000 nitrox36' {OXYGEN}",
        "blend 14 --to nitrox32 --from '500 air' --continuous --oxygen-compatible-air",
    ],
    ids=["nitrox", "trimix", "drain", "continuous"],
)
def test_screens(at: Run, line: str, snapshot: SnapshotAssertion) -> None:
    ran = at(line)
    assert ran.err == ""
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


def test_the_depth_limit_is_rounded_down(at: Run) -> None:
    found = at(f"blend 14 --to nitrox32 --from '500 air' {OXYGEN} --json").json
    # a ledger in psi that names no limit is at 1.4 ata: 33 (1.4 / 0.32 - 1) = 111.4 ft; (1.41855 /
    # 0.32 - 1.01325) bar = 34.2 m; computed, as `gas.depth` has it on a tag
    assert (found["depth_limit_ft"], found["depth_limit_m"]) == (111, 34)
    assert (found["oxygen_limit"], found["oxygen_limit_bar"]) == ("1.4 ata", pytest.approx(1.41855))
    bar = at(
        f"blend 14 --to nitrox32 --from '500 air' {OXYGEN} --oxygen-pressure '1.4bar abs' --json"
    )
    # 1.4 bar is 1.3817 ata: 33 (1.3817 / 0.32 - 1) = 109.5 ft; (4.375 - 1.01325) bar = 33.6 m
    assert (bar.json["depth_limit_ft"], bar.json["depth_limit_m"]) == (109, 33)
    lower = at(
        f"blend 14 --to nitrox32 --from '500 air' {OXYGEN} --oxygen-pressure 1.2 --json"
    ).json
    assert lower["depth_limit_ft"] == 90  # 33 (1.2 / 0.32 - 1) = 90.75 ft; computed


def test_a_gas_too_lean_for_the_surface_says_so_first(at: Run) -> None:
    line = f"blend 14 --to trimix10/70 --from '0' {OXYGEN} --helium 2900/50L --pressure 2500"
    ran = at(line)
    # 33 (0.18 / 1.01325 / 0.1 - 1) = 25.6 ft; (1.8 - 1.01325) x 10 = 7.9 m: rounded up
    head = ran.out.partition("\n\n")[0]
    assert "HYPOXIC: not to be breathed above 8 m / 26 ft" in " ".join(head.split())
    found = at(f"{line} --json").json
    assert (found["least_depth_ft"], found["least_depth_m"]) == (26, 8)
    assert found["narcotic_depth_m"] < 40
    rich = at(f"blend 14 --to nitrox32 --from '500 air' {OXYGEN}")
    assert "HYPOXIC" not in rich.out
    assert "more than the 5.2 g/L that is advised" in " ".join(rich.out.split())


def test_a_step_too_small_for_the_gauge_is_told(at: Run) -> None:
    ran = at(f"blend 14 --to nitrox28 --from '2680 nitrox29' {OXYGEN} --pressure 2900")
    if "oxygen step" not in ran.out:
        ran = at(f"blend 14 --to nitrox24 --from '500 air' {OXYGEN} --pressure 1000")
    assert "less than a panel gauge shows (about 50 psi)" in " ".join(ran.out.split())


def test_a_wider_gauge_error_widens_the_span(at: Run) -> None:
    line = f"blend 14 --to nitrox32 --from '500 air' {OXYGEN} --json"
    one, two = at(line).json, at(f"{line} --gauge-error 2").json
    assert one["oxygen_low"] < one["oxygen_percent"] < one["oxygen_high"]
    assert two["oxygen_high"] - two["oxygen_low"] > one["oxygen_high"] - one["oxygen_low"]


def test_the_oxygen_grade_bank_is_chosen_by_itself(at: Run) -> None:
    steps = at(f"blend 14 --to nitrox32 --from '500 air' {OXYGEN} --json").json["steps"]
    assert [(s["act"], s["source"]) for s in steps] == [
        ("oxygen", "oxygen supply"),
        ("top off", "B2"),
    ]


@pytest.mark.parametrize("gas", ["helium", "oxygen"])
def test_a_bank_with_no_nitrogen_is_not_chosen_to_top_off_from(at: Run, gas: str) -> None:
    """However full it is: the fullest that can make the mix up is chosen, or the compressor."""
    more = (
        f"  - {{name: HE1, water_volume: 50 L, gas: {gas}, grade: oxygen, period: 10 years,\n"
        "     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],\n"
        "     readings: [{on: 2026-11-25, pressure: 4450 psi}]}\n"
    )
    station = STATION.replace("compressor:", f"{more}compressor:", 1)
    line = f"blend 14 --to nitrox32 --from '500 air' {OXYGEN} --json"
    assert at(line, station).json["steps"][-1]["source"] == "B2"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (f"--from '500 air' {OXYGEN} --top-off B1", "the top-off gas of B1 is not of oxygen grade"),
        ("--from '500 air'", "oxygen"),
        ("--from '500 air' --oxygen 300/50L", "oxygen supply cannot give the oxygen"),
        (
            f"--from '500 air' {OXYGEN} --top-off B2 --bank B2=2500",
            "B2 cannot give the top-off gas",
        ),
        (f"--from 500 {OXYGEN}", "what RB-014 holds is unknown"),
    ],
)
def test_what_cannot_be_made_is_a_no(at: Run, line: str, said: str) -> None:
    ran = at(f"blend 14 --to nitrox32 {line}")
    assert ran.code == 1, ran.out
    assert ran.first.startswith("NO: RB-014: ")
    assert said in " ".join(ran.out.split())
    assert "step" not in ran.out


def test_a_cylinder_that_is_not_oxygen_clean_is_refused_by_the_gate(at: Run) -> None:
    ran = at(f"blend 14 --to nitrox32 --from '500 air' {OXYGEN}", cylinder=books.GOOD)
    assert ran.code == 1
    assert "nitrox32 needs an oxygen-clean cylinder" in " ".join(ran.out.split())


def test_pure_oxygen_needs_a_position_cleaned_for_it(at: Run) -> None:
    none = STATION.replace("oxygen_positions: 1", "oxygen_positions: 0")
    ran = at(f"blend 14 --to nitrox32 --from '500 air' {OXYGEN}", none)
    assert ran.code == 1
    assert "no position cleaned for oxygen" in " ".join(ran.out.split())
    unknown = at(
        f"blend 14 --to nitrox32 --from '500 air' {OXYGEN}",
        STATION.replace("oxygen_positions: 1\n", ""),
    )
    assert unknown.code == 0
    assert "only at a position cleaned for it" in unknown.out


def test_helium_is_unvalidated(at: Run) -> None:
    found = at(
        f"blend 14 --to trimix18/45 --from '500 air' {OXYGEN} --helium 2900/50L --pressure 2000 --json"
    ).json
    assert found["possible"]
    assert found["validated"] is False


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("blend 14 --to nitrogen", "--to: "),
        ("blend 14 --to nitrox32", "the reading of RB-014 is missing"),
        ("blend 14 --to nitrox32 --from air", "--from: the pressure is missing"),
        (
            "blend 14 --to nitrox32 --from '500 air' --oxygen 2000/",
            "--oxygen: the volume is missing",
        ),
        ("blend 14 --to nitrox32 --from '500 air' --top-off B9", "there is no bank B9"),
        (
            "blend 14 --to nitrox32 --from '500 air' --pressure 3200",
            "above what RB-014 may show cold",
        ),
        ("blend 14 --to nitrox32 --from '500 air' --oxygen-pressure 14", "is no limit"),
        ("blend 14 --to nitrox32 --from '35 bar abs'", "--from: "),
    ],
)
def test_bad_input_is_one_line(at: Run, line: str, said: str) -> None:
    ran = at(line)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


OWN = STATION.replace(
    "compressor: {",
    "".join(
        f"  - {{name: {name}, water_volume: 50 L, gas: {gas}, grade: oxygen, period: 10 years,\n"
        "     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],\n"
        f"     readings: [{{on: 2026-11-25, pressure: {psi} psi}}]}}\n"
        for name, gas, psi in (
            ("O1", "oxygen", 2200),
            ("O2", "oxygen", 900),
            ("H1", "helium", 2800),
        )
    )
    + "compressor: {",
)


def test_the_oxygen_and_the_helium_of_the_station_are_taken_where_none_is_named(at: Run) -> None:
    """The fullest bank of each, as it was read."""
    said = at("blend 14 --to trimix18/45 --from 0 --pressure 2000", OWN)
    assert said.code == 0, said.out
    assert {"O1", "H1"} <= set(said.out.split())
    assert "O2" not in said.out.replace("O2-clean", "")
    named = at(f"blend 14 --to trimix18/45 --from 0 --pressure 2000 {OXYGEN}", OWN)
    assert "O1" not in named.out


def test_what_holds_no_nitrogen_is_said_not_to_be_blended(at: Run) -> None:
    said = " ".join(at("blend 14 --to heliox21 --from 0 --pressure 2000", OWN).out.split())
    assert "heliox21 holds no nitrogen, and each blend here is topped off with some" in said
