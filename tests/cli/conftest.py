"""Small ledgers on disk, and a way to run a command line against them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.__main__ import main
from tankbook.records.log import LogLine, columns

ON = "2026-11-25"


@dataclass(frozen=True)
class Ran:
    """What a command line did."""

    code: int
    out: str
    err: str

    @property
    def first(self) -> str:
        """The first line of the answer."""
        return self.out.splitlines()[0]

    @property
    def json(self) -> Any:
        """The answer, read back."""
        return json.loads(self.out)


@pytest.fixture(name="tb")
def _tb(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Callable[..., Ran]:
    """Run `tankbook` in this process, from an empty folder unless the test has gone elsewhere."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.delenv("GITHUB_WORKSPACE", raising=False)
    monkeypatch.setenv("COLUMNS", "200")  # must not matter: this is no terminal
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str | Path) -> Ran:
        code = main([str(a) for a in arguments])
        got = capsys.readouterr()
        return Ran(code, got.out, got.err)

    return run


@pytest.fixture(name="write")
def _write(tmp_path: Path) -> Callable[[dict[str, str]], Path]:
    """Write a ledger of these files; the settings and a station are there unless given."""

    def write(files: dict[str, str], folder: str = "quay") -> Path:
        root = tmp_path / folder
        given = {"tankbook.yaml": books.SETTINGS, "station.yaml": STATION, **files}
        for path, text in given.items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_text(text, encoding="utf-8")
        return root

    return write


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path]) -> Path:
    """Six cylinders and a set: good and full, out of test, held, out, bar and without volume."""
    return write(files())


STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
regulator_set: 3000 psi
"""

LINES = (
    "2026-11-20T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,",
    "2026-11-21T09:30:00+01:00,RB-021,fill,,3000 psi,,nitrox32,32.1 %,,MV,MV,B1,,,,",
)


def files() -> dict[str, str]:
    """The files of the ledger that most tests use."""
    good = books.GOOD
    late = good.replace("2024-03", "2021-09").replace("2026-02-09", "2025-02-09")
    held = good.replace(
        "status: in-service", "status: held\nheld: [{on: 2026-03-01, by: MV, why: thread finding}]"
    )
    out = good.replace("status: in-service", "status: out\nrented: [{on: 2026-11-24, to: B-4471}]")
    no_volume = good.replace("water_volume: 11.1 L\n", "place: rack 2\nprice: 189.00 USD\n")
    out = out.replace("service: air", "service: nitrox")
    cards = {
        "cylinders/RB-014.yaml": good,
        "cylinders/RB-015.yaml": late.replace("K118204", "K118205"),
        "cylinders/RB-016.yaml": held.replace("K118204", "K118206"),
        "cylinders/RB-021.yaml": out.replace("K118204", "K118207"),
        "cylinders/SF-014.yaml": no_volume.replace("K118204", "K118208").replace("rental", "sale"),
    }
    return {
        **{path: books.stamped(text) for path, text in cards.items()},
        "sets/DB-02.yaml": "cylinders: [RB-015, RB-021]\nisolator: shut\nuse: rental\n",
        "fills/2026.csv": "\n".join([",".join(columns(LogLine)), *LINES, ""]),
    }  # fmt: skip
