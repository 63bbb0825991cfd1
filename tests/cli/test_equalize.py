"""`tankbook equalize`: where cylinders settle, and what the bench forbids."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
STATION = """\
ambient: 70 degF
fill_rate: 400 psi/min
non_return_valves: no
regulator_set: 3000 psi
air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}]
"""
FILLS = ("RB-014,fill,,3000 psi,,air", "RB-015,fill,,3000 psi,,air", "RB-016,fill,,2000 psi,,nitrox32")  # fmt: skip
DRAINED = "2026-11-21T09:30:00+01:00,RB-015,drain,3000 psi,0 psi,,,,,MV,,,,,,\n"


@pytest.fixture(name="at")
def _at(
    tb: Run, write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Any]:
    def run(line: str, station: str = STATION, log: str = DRAINED, **texts: str) -> Any:
        found = {
            f"cylinders/RB-0{n}.yaml": texts.get(f"n{n}", books.GOOD)
            .lstrip()
            .replace("K118204", f"K{n}")
            for n in (14, 15, 16)
        }
        rows = "".join(f"2026-11-20T09:30:00+01:00,{row},,,MV,,B1,,,,\n" for row in FILLS)
        found["fills/2026.csv"] = f"{','.join(columns(LogLine))}\n{rows}{log}"
        monkeypatch.chdir(write({**found, "station.yaml": station}))
        return tb(*shlex.split(line), *ON)

    return run


def test_the_screen(at: Run, snapshot: SnapshotAssertion) -> None:
    ran = at("equalize 14=2500 15=0")
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


def test_who_is_refused_with_pressure_in_it_is_told_what_to_beware_of(at: Run) -> None:
    bent = books.GOOD + "refused: [{on: 2026-11-23, by: MV, reasons: [neck bent]}]\n"
    for line in (
        "equalize 14=2500 15=700",
        'fill 14 --from 500 --to 3000 --looked --at 12:00 --by MV --source "elsewhere: Quay"',
    ):
        ran = at(line, n14=bent)
        said = " ".join(f"{ran.out} {ran.err}".split())
        assert "RB-014: DANGER, it holds 3000 psi (neck bent" in said, line
    refused, *_ = at("equalize 14=2500 15=700 --json", n14=bent).json["refused"]
    assert refused["dangers"][0].startswith("RB-014: DANGER, it holds 3000 psi (")
    sheet = at("sheet 14", n14=bent)
    assert (
        "RB-014 DO NOT FILL: DANGER, it holds 3000 psi (neck bent, since 2026-11-23); it was"
        in (" ".join(sheet.out.split()))
    )


def test_full_and_empty_settle_at_about_half(at: Run) -> None:
    """2500 and 0 psi settle at about 1200 each (common practice, no source; memory)."""
    found = at("equalize 14=2500 15=0 --json").json
    assert found["allowed"]
    assert found["settles_psi"] == pytest.approx(1200, rel=0.03)
    assert found["ideal_psi"] == pytest.approx(1250)


@pytest.mark.parametrize(
    ("line", "station", "said"),
    [
        ("equalize 14=2500 15=0", STATION.replace("valves: no", "valves: yes"),
         "NO: the panel has non-return valves"),
        ("equalize 14=2500 15=0", STATION.replace("non_return_valves: no\n", ""),
         "NO: the panel is not known to be without non-return valves"),
        ("equalize 14=2500 16=500", STATION, "NO: RB-016: it is labelled for air"),
        ("equalize 14=2500 15=800", STATION, ""),
    ],
)  # fmt: skip
def test_what_the_bench_forbids_is_a_no(at: Run, line: str, station: str, said: str) -> None:
    log = "" if not said else DRAINED
    ran = at(line, station, log)
    assert ran.code == (1 if said else 0), ran.out
    assert said in " ".join(ran.out.split())


def test_another_owners_cylinder_is_not_equalized(at: Run) -> None:
    theirs = books.GOOD.replace("use: rental", "use: customer\nowner: C-0192")
    ran = at("equalize 14=2500 15=800", log="", n15=theirs)
    assert ran.code == 1
    assert "RB-015 is not of the own fleet" in ran.out


def test_one_that_came_back_empty_is_looked_inside_first(at: Run) -> None:
    ran = at("equalize 14=2500 15=0", log="")
    assert ran.code == 1
    assert "RB-015: it was read empty" in ran.out


@pytest.mark.parametrize("line", ["equalize 14=2500", "equalize 14=2500 14=0"])
def test_it_takes_two(at: Run, line: str) -> None:
    ran = at(line)
    assert (ran.code, ran.out) == (2, "")
    assert "equalizing takes two or more cylinders" in ran.err
