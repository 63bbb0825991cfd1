"""What gas is said to come from, at every command that takes it: each part is a name that is known,
in its form."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from lines import leaves

from tankbook.cli.app import command

Run = Callable[..., Any]

ON = ("--on", "2026-11-25", "--by", "MV")
STATION = """
compressor: {name: C1}
positions: [{name: P1, kind: enclosed}]
banks:
  - {name: B1, water_volume: 99 L, working_pressure: 4500 psi, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}], readings: [{on: 2026-11-24, pressure: 4000 psi}], raised: [{on: 2026-11-23, to: 4200 psi, source: C1}]}
  - {name: B2, water_volume: 99 L, working_pressure: 4500 psi, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
air_tests:
  - {on: 2026-10-12, by: Lab, standard: cga-grade-e, result: pass, source: C1, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
"""  # fmt: skip
FILLED = "2026-11-20T09:30:00+00:00,RB-014,fill,500 psi,2800 psi,,air,,,MV,,B1,P1,,,"
TAKING = {
    "fill": "fill RB-014=500 --to 2900 --at 14:30 --looked --position P1 --temperature 60 --source",
    "fill --sheet": "fill --sheet sheet.csv --looked --source",
    "may-fill": "may-fill RB-014 --source",
    "station raise": "station raise B1 --to 4300 --source",
    "station air-test": "station air-test --result pass --source",
    "correct RB-014": "correct RB-014 fill 2026-11-20 --why misread --set source=",
    "correct station": "correct station B1.raised 2026-11-23 --why misread --set source=",
}
"""Every command that takes what gas came from, up to the text that says it."""
DRAWN = {"compressor", "elsewhere: Quay", "RB-015"}
"""What gas comes from, and no sample of the station's air is drawn at by that name."""


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    header = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note"
    files = {"tankbook.yaml": books.SETTINGS + "operator: MV\n", "station.yaml": STATION}
    files |= {
        "cylinders/RB-014.yaml": books.GOOD,
        "cylinders/RB-015.yaml": books.GOOD.replace("K118204", "K2"),
        "fills/2026.csv": f"{header}\n{FILLED}\n",
        "sheet.csv": "cylinder,time,from,to,temperature\nRB-014,09:00,500,2900,60\n",
    }
    root = write(files)
    monkeypatch.chdir(root)
    return root


def files_of(root: Path) -> dict[str, bytes]:
    """The files that people read."""
    return {p.name: p.read_bytes() for kind in ("*.yaml", "*.csv") for p in root.rglob(kind)}


def asked(tb: Run, name: str, source: str) -> Any:
    """What a command says of a source."""
    words = shlex.split(TAKING[name])
    words = [*words[:-1], words[-1] + source] if words[-1].endswith("=") else [*words, source]
    return tb(*words, *(ON[:2] if name == "may-fill" else ON))


@pytest.mark.parametrize("name", TAKING)
@pytest.mark.parametrize(
    ("source", "told"),
    [
        ("RB-014+rubbish", "rubbish"),
        ("rubbish", "rubbish"),
        ("B1 rubbish", "B1 rubbish"),
        ("B9", "B9"),
        ("B1+B9", "B9"),
        ("C1+", "names nothing"),
        ("B1++B2", "names nothing"),
        ("elsewhere", "elsewhere"),
        ("elsewhere:", "elsewhere"),
        ("elsewhereabouts: Quay", "elsewhereabouts"),
        ("P1", "P1"),
    ],
)
def test_what_is_no_source_is_taken_nowhere(
    tb: Run, ledger: Path, name: str, source: str, told: str
) -> None:
    if name == "station air-test" and (source in {"P1"} or told == "names nothing"):
        return  # it is drawn at an outlet as well, and nothing is filled by it
    before = files_of(ledger)
    ran = asked(tb, name, source)
    said = " ".join((ran.out + ran.err).split())
    assert ran.code in {1, 2}, said
    assert told in said, said
    assert files_of(ledger) == before


@pytest.mark.parametrize("name", TAKING)
@pytest.mark.parametrize(
    "source", ["C1", "c1", "compressor", "B2", "C1+B2", "elsewhere: Quay", "RB-015"]
)
def test_what_is_one_is_taken_everywhere(tb: Run, ledger: Path, name: str, source: str) -> None:
    if name == "station air-test" and source in DRAWN:
        return
    ran = asked(tb, name, source)
    said = " ".join((ran.out + ran.err).split())
    assert "no `" not in said, said
    if name != "may-fill":
        assert ran.code == 0, said


def test_no_command_that_takes_one_is_left_out() -> None:
    taking = {name for name, options in leaves(command()) if "--source" in options}
    # `fills` looks for what was written
    assert taking - {"fills"} == {"fill", "may-fill", "station raise", "station air-test"}
