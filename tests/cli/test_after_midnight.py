"""What was done before midnight is recorded with its hour after it, whichever act it is."""

from __future__ import annotations

import datetime as dt
import shlex
import shutil
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tankbook.cli.commands import COMMANDS
from tankbook.cli.options import declared, name_of, signature_of

Run = Callable[..., Any]
EXAMPLE = Path(__file__).parents[2] / "example_ledger"
NOW = dt.datetime.fromisoformat("2026-12-01T00:03:00+00:00")

LINES = {
    "inspect": "RB-014 --checklist outside --pass-all",
    "valve": "RB-014 --did serviced --bled heard",
    "clean": "RB-014 --to oxygen --method 'as the maker says' --bled heard",
    "hold": "RB-014 --why 'dent near the foot'",
    "reject": "RB-014 --why 'line corrosion'",
    "fill": "RB-014 --from 500 --to 2800 --source B3 --looked",
    "reading": "RB-014=1400",
    "drain": "RB-014",
    "isolator": "DB-02 shut",
    "pair": "DB-09 RB-014 RB-011",
    "unpair": "DB-02",
    "station read": "B1=2000",
    "station raise": "B1 --from 2210 --to 2300 --source C1",
    "station analyse": "N1 --oxygen 32",
    "station filter": "F1 --hour 16:00",
    "station air-test": "--source C1 --oxygen 20.9 --co 14ppm",
    "station relief": "RV1 --lifted 4500",
    "station bank-look": "B1 --decided 'no bulge'",
    "station bank-clean": "B1 --method wiped",
    "station co": "--alarm",
    "station bump": "CO-1",
    "station open": "",
    "station close": "",
    "rent": "RB-014 --to B-77 --until 2026-12-05",
    "return": "RB-014=900/closed",
    "refuse": "--serial K118204 --reason 'no sticker'",
    "recall": "B3 --since 2026-11-20 --hold",
    "incident": "'smelt of oil' RB-014",
    "hand-over": "SF-055 --to C-9",
    "jobs open": "RB-014 --work visual",
    "jobs collect": "RB-014",
}
"""An act of each command that takes an hour."""


def commands(below: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    for name, each in below.items():
        yield before + name, each.function
        yield from commands(each.below, f"{name} ")


def takes_hour(function: Callable[..., Any]) -> bool:
    options = {
        name_of(p)
        for n, p in signature_of(declared(function)).parameters.items()
        if n in {"at", "hour"}
    }
    return bool(options & {"--at", "--hour"})


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    root = tmp_path / "quay"
    shutil.copytree(EXAMPLE, root)
    monkeypatch.setattr("tankbook.cli.open_ledger._now", lambda: NOW)
    return root


def test_every_act_that_takes_an_hour_is_in_the_table() -> None:
    records = {"book", "bench", "given"}
    found = {
        name
        for name, function in commands(COMMANDS)
        if next(iter(signature_of(function).parameters), "") in records and takes_hour(function)
    }
    assert found == set(LINES)


@pytest.mark.parametrize("name", LINES)
def test_an_hour_of_the_day_before_does_not_lie_ahead(name: str, tb: Run, ledger: Path) -> None:
    hour = [] if "--hour" in LINES[name] else ["--at", "16:00"]
    common = ("--by", "KD", "--dry-run", "--ledger", ledger)
    line = [*name.split(), *shlex.split(LINES[name])]
    told = []
    for day in ("2026-11-30", "2026-12-01"):
        ran = tb(*line, *hour, "--on", day, *common)
        said = " ".join(f"{ran.out} {ran.err}".split())
        assert "no such option" not in said, said
        told.append("lies ahead" in said)
    assert told == [False, True], said


def test_an_air_test_of_yesterday_is_recorded_with_its_hour(tb: Run, ledger: Path) -> None:
    given = "station air-test --source C1 --standard cga-grade-e --co 14ppm --result fail"
    common = ("--by", "LAB", "--on", "2026-11-30", "--at", "16:00", "--ledger", ledger)
    ran = tb(*given.split(), *common)
    assert ran.code == 0, ran.err
    written = (ledger / "station.yaml").read_text("utf-8")
    assert "{on: 2026-11-30, by: LAB, at: '16:00'" in written.replace('"', "'")
