"""What the station knows, it acts on: a failed gauge, whip, relief valve, a bad sample, an alarm.

Each scene is played with commands on the example ledger; every answer that rests on what happened is
asked after it. A true way out is tried as well, and a false one.
"""

from __future__ import annotations

import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

EXAMPLE = Path(__file__).parents[2] / "example_ledger"
DAY = "2026-11-25"

Say = Callable[..., Any]


@pytest.fixture(name="say")
def _say(tb: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    root = tmp_path / "cove"
    shutil.copytree(EXAMPLE, root)
    monkeypatch.chdir(root)

    def say(line: str, *, acts: bool = False, on: str = DAY) -> Any:
        words = shlex.split(line)
        who = () if "--by" in words or not acts else ("--by", "KD")
        return tb(*words, "--on", on, *who) if acts else tb("--on", on, *words)

    return say


def plain(text: str) -> str:
    return " ".join(text.split())


def done(say: Say, line: str, on: str = DAY) -> str:
    ran = say(line, acts=True, on=on)
    assert (ran.code, ran.err) == (0, ""), ran.out + ran.err
    return plain(ran.out)


def test_a_master_gauge_below_true_closes_every_answer(say: Say) -> None:
    told = done(say, "station gauge-check G1 --reads 2750 --true 2950 --against TG-1")
    assert "the station is CLOSED: the master gauge G1 reads 200 psi below true" in told
    assert "`tankbook recall --gauge G1`" in told
    assert say("").first.startswith("Station CLOSED")
    assert say("station --json").json["open"] is False
    assert say("may-fill 14").first.startswith("NO  RB-014: the master gauge G1")
    filled = say("fill 14 --from 1500 --to 2800 --source B3 --looked --at 09:00", acts=True)
    assert filled.code == 1
    assert "the master gauge G1 reads 200 psi below true" in plain(filled.out)
    gauge = next(d for d in say("due --json").json if d["id"] == "G1")
    assert (gauge["state"], gauge["failed"]) == ("overdue", True)
    touched = say("recall --gauge G1 --json").json["cylinders"]
    assert len(touched) > 20  # every fill that was read on it since its last good check
    done(say, "station gauge G2 --master")
    assert say("station --json").json["open"] is True
    assert say("may-fill 14").code == 0


def test_a_whip_that_failed_is_not_planned_with(say: Say) -> None:
    done(say, 'station whip W1 --fail "cover cut to the braid"')
    done(say, "station whip W1")  # it passed the next look, and nobody mended it
    assert "W1 whip check" in plain(say("due").out)
    assert "FAILED" in say("due").out
    assert say("may-fill 14 --position P3").code == 1
    assert say("may-fill 14 --position P4").code == 0
    plan = say("plan 14=500 31=500 --json").json
    seats = {position for load in plan["loads"] for position in load["positions"].values()}
    assert "P3" not in seats
    done(say, "station whip W1 --new --rating 5000psi")
    assert say("may-fill 14 --position P3").code == 0


def test_a_relief_valve_that_lifts_late_closes_what_it_protects(say: Say) -> None:
    told = done(say, "station relief R2 --lifted 5200")
    assert "lifted at 5200 psi" in told
    assert say("station --json").json["open"] is False
    done(say, 'station relief R2 --repaired "spring and seat replaced" --lifted 3650')
    assert say("station --json").json["open"] is True


def test_bad_air_is_held_in_banks_and_cylinders_until_it_is_out(say: Say) -> None:
    done(say, "fill 14 --from 1500 --to 2800 --source B3 --position P1 --looked --at 09:00")
    done(say, 'station air-test --by "Harbor Air Lab" --co 14ppm --source C1')
    told = done(say, "recall C1 --hold")
    assert "and banks B1, B2, B3, N1" in told
    out = {each["part"] for each in say("station --json").json["out_of_use"]}
    assert out == {"bank B1", "bank B2", "bank B3", "bank N1"}
    refused = say('release 14 --why "smells fine"', acts=True)
    assert refused.code == 1
    assert "drain it to 0" in plain(refused.out)
    # a pass that leaves out what failed reopens nothing
    other = say(
        'station air-test --by "Harbor Air Lab" --result pass --source C1',
        acts=True,
        on="2026-11-26",
    )
    assert "did not measure CO, which failed before it" in plain(other.out)
    assert say("station --json", on="2026-11-26").json["open"] is False
    done(
        say,
        'station air-test --by "Harbor Air Lab" --result pass --co 1ppm --source C1',
        on="2026-11-27",
    )
    # the compressor is good again, and what is in the banks is not
    station = say("station --json", on="2026-11-27").json
    assert {each["part"] for each in station["out_of_use"]} == out
    assert say("may-fill 14", on="2026-11-27").code == 1
    from_bank = say("fill 51 --to 2900 --source B3 --looked --at 10:00", acts=True, on="2026-11-27")
    assert from_bank.code == 1
    assert "bank B3 was set aside" in plain(from_bank.out)
    done(say, "drain 14 --at 11:00", on="2026-11-27")
    done(say, 'release 14 --why "drained to nothing"', on="2026-11-27")


def test_an_alarm_is_answered_by_its_cause_and_the_outlet(say: Say) -> None:
    done(say, "station co 14ppm --alarm")
    assert say("may-fill 14").code == 1
    done(
        say,
        "station co 1ppm --with CO-1 --place outlet --kind intake --cause 'van under it' --done 'moved it'",
    )
    assert "last bump-tested 2026-11-01" in plain(say("station").out)
    done(say, "station bump CO-1")
    done(
        say,
        "station co 1ppm --with CO-1 --place outlet --kind intake --cause 'van under it' --done 'moved it'",
    )
    assert say("station --json").json["open"] is True
    # what it holds is of the time before it
    assert "a carbon monoxide alarm sounded on 2026-11-25" in plain(say("may-fill 14").out)
    for name in ("RB-014", "B1"):
        done(say, f"station co 1ppm --with CO-1 --of {name} --at 23:59")
    assert say("may-fill 14 --source B1").code == 0
