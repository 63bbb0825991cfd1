"""What is judged by hours: each way out that is told is typed as it is told, and leads out."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import books
import pytest

Run = Callable[..., Any]
DAY = "2026-11-25"
STATION = """\
compressor: {name: C1}
banks:
  - {name: N1, water_volume: 48 L, working_pressure: 4500 psi, gas: nitrox32, since: 2026-10-01, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 3000 psi}]}
relief_valves: [{name: R1, set_at: 4500 psi, protects: [N1], checked: [{on: 2026-11-01, lifted: 4500 psi}]}]
gauges: [{name: G1, master: yes, checked: [{on: 2026-11-01, against: TG, reads: 4500 psi, true: 4500 psi}]}]
air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}]
gauge_error: 60 psi
"""  # fmt: skip
CARD = books.with_lines(
    books.GOOD, service="nitrox", cleaned="[{on: 2026-11-25, by: MV, to: nitrox}]"
)  # fmt: skip
LOG = "at=2026-11-25T09:00:00+00:00; cylinder=RB-014; act=fill; to=3000 psi; gas=air; from=500 psi; by=MV; source=C1"
RAISE = "station raise N1 --from 3000 --to 3500 --source C1"
HIGH = "station raise N1 --from 3000 --to 5200 --source C1 --happened watched"
OXYGEN = "station analyse N1 --oxygen 32"
SAID = {"HH:MM": "23:10", "PERCENT": "32", "WHY": "'hour left out'", "WHAT": "'seat lapped'"}
SAID |= {"PRESSURE": "4500"}

WAYS = {
    "neither": ([RAISE, OXYGEN], "bank-hold-other-gas", "analyse"),
    "raised": ([f"{RAISE} --at 09:00", OXYGEN], "bank-hold-other-gas", "analyse"),
    "analysed": ([RAISE, f"{OXYGEN} --at 10:00"], "bank-hold-other-gas", "analyse"),
    "twice": ([f"{RAISE} --at 09:00", RAISE.replace("3500", "3600"), OXYGEN], "bank-hold-other-gas", "analyse"),
    "lifted": ([f"{HIGH} --at 09:00"], "relief-check-did-not-lift", "relief"),
    "looked": ([f"{HIGH} --at 09:00", 'station bank-look N1 --decided "no bulge" --at 08:00'], "bank-hold-over-pressed", "bank-look"),
    "cleaned": ([], "oxygen-clean-lost", "clean"),
}  # fmt: skip


def commands(text: str) -> list[str]:
    """The command lines that an answer names, each as it would be typed."""
    flat = re.sub(r"\s+", " ", text)
    return list(re.findall(r"`tankbook ([^`]+)`", flat))


def typed(line: str) -> list[str]:
    line = line.replace("at=HH:MM", "at=22:10")
    for blank, value in SAID.items():
        line = line.replace(blank, value)
    return shlex.split(line)


def reasons(tb: Run, code: str) -> list[dict[str, Any]]:
    ran = tb("may-fill", "RB-014", "--gas", "nitrox32", "--source", "N1", "--on", DAY, "--json")
    (answer,) = ran.json if isinstance(ran.json, list) else [ran.json]
    found = [*answer["reasons"]]
    return [each for each in found if each["code"] == code]


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    settings = books.SETTINGS + "operator: MV\n"
    files = {"tankbook.yaml": settings, "station.yaml": STATION, "cylinders/RB-014.yaml": CARD}
    root = write(files)
    monkeypatch.chdir(root)
    return root


@pytest.mark.parametrize("what", WAYS)
def test_what_the_hours_leave_open_is_closed_by_what_is_told(
    what: str, tb: Run, ledger: Path
) -> None:
    done: Sequence[str]
    done, code, verb = WAYS[what]
    if what == "cleaned":
        line = "fill RB-014 --from 500 --to 3000 --gas air --source C1 --at 09:00"
        tb(*shlex.split(line), "--happened", "asked for air by its owner", "--on", DAY)
    for each in done:
        ran = tb(*shlex.split(each), "--on", DAY)
        assert ran.code == 0, ran.out + ran.err
    before = reasons(tb, code)
    assert before, tb("may-fill", "RB-014", "--on", DAY).out
    told = [line for each in before for line in commands(each["mend"])]
    told = list(dict.fromkeys(line for line in told if "HH:MM" in line))
    assert any(verb in line for line in told), before
    for line in told:
        dated = [] if "--on" in line else ["--on", DAY]
        ran = tb(*typed(line), *dated)
        assert ran.code == 0, line + ran.out + ran.err
    assert not reasons(tb, code)
