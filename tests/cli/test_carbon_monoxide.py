"""A carbon monoxide alarm, by commands: every door says the same of what it holds."""

from __future__ import annotations

import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

EXAMPLE = Path(__file__).parents[2] / "example_ledger"
DAY = "2026-11-25"
ALARM = "station co 40ppm --alarm --place outlet --with CO-1 --at 10:00"
SAID = "a carbon monoxide alarm sounded on 2026-11-25 (40 ppm, at the outlet)"

Say = Callable[..., Any]


@pytest.fixture(name="say")
def _say(tb: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    root = tmp_path / "cove"
    shutil.copytree(EXAMPLE, root)
    monkeypatch.chdir(root)

    def say(line: str, *, acts: bool = False) -> Any:
        words = shlex.split(line)
        return tb(*words, "--on", DAY, "--by", "KD") if acts else tb("--on", DAY, *words)

    return say


def plain(text: str) -> str:
    return " ".join(text.split())


def done(say: Say, line: str) -> str:
    ran = say(line, acts=True)
    assert (ran.code, ran.err) == (0, ""), ran.out + ran.err
    return plain(ran.out)


def reopen(say: Say) -> str:
    done(say, "station bump CO-1 --at 11:00")
    said = "station co 1ppm --place outlet --with CO-1 --cause 'a van idled' --at 11:10"
    return done(say, said)


@pytest.mark.parametrize("answered", [False, True])
def test_every_door_says_the_same(say: Say, tmp_path: Path, *, answered: bool) -> None:
    """Filled from a bank four days before the alarm, since the last good sample."""
    told = done(say, ALARM)
    assert "are held for carbon monoxide" in told
    assert "`tankbook recall C1`" in told
    assert "banks B1, B2, B3, N1 until analysed" in told
    if answered:
        told = reopen(say)
        assert "are held for carbon monoxide" in told
        assert "banks B1, B2, B3, N1 until analysed" in told
        assert "the station is open again" in told
    doors = {
        "rent RB-012 --to B-9": True,
        "fill RB-012 --from 2860 --to 3000 --source C1 --looked --at 12:00": True,
        "jobs collect CU-061": True,
        "hand-over RB-012 --to B-9": True,
        "may-fill RB-012": False,
        "equalize RB-012 RB-011": False,
    }
    for line, acts in doors.items():
        ran = say(line, acts=acts)
        assert ran.code == 1, line
        assert SAID in plain(ran.out), line
    for line in ("show RB-012", "tags RB-012", "plan RB-012=3000", "sheet RB-012"):
        assert "carbon monoxide alarm" in plain(say(line).out).replace("| ", ""), line
    shown = say("show RB-012 --json").json
    assert SAID in plain(str(shown))
    recalled = say("recall C1 --json").json
    assert "RB-012" in {each["id"] for each in recalled["cylinders"]}
    assert [b["name"] for b in recalled["banks"]] == ["B1", "B2", "B3", "N1"]
    assert "RB-012" not in plain(say("").out.partition("Ready")[2].partition("\n")[0])
    assert say("").out.count("OUT OF USE") == 4
    given = plain(say("may-fill SF-055 --source B1").out)
    assert f"bank B1 holds or may hold air pumped since 2026-10-20, and {SAID}" in given
    assert SAID in plain(say("station").out)
    assert SAID in plain(say("validate").out)
    pages = tmp_path / "pages"
    assert say(f"pages {pages}").code in {0, 1}
    page = pages / "c-rb-012.html"
    assert "carbon monoxide alarm" in page.read_text("utf-8")


def test_what_was_analysed_goes_out_again(say: Say) -> None:
    done(say, ALARM)
    reopen(say)
    assert "B1: not held" in done(say, "station co 1ppm --of B1 --with CO-1 --at 11:20")
    told = done(say, "station co <1ppm --of 12 --with CO-1 --at 11:30".replace("<", ""))
    assert "RB-012: not held for carbon monoxide any more" in told
    assert say("may-fill RB-012 --source B1").code == 0
    assert say("may-fill RB-012 --source B2").code == 1
    assert "not held" not in done(say, "station co 30ppm --of RB-011 --with CO-1 --at 11:40")
    ran = say("rent RB-011 --to B-9", acts=True)
    assert ran.code == 1
    assert "carbon monoxide was over its limit on 2026-11-25 (30 ppm, of RB-011)" in plain(ran.out)
    assert say("station --json").json["open"] is True
    done(say, "drain RB-011 --at 12:00")
    assert "carbon monoxide" not in plain(say("may-fill RB-011 --source B1").out.split("WARN")[0])
    done(say, "rent RB-012 --to B-9 --until 2026-11-26")


def test_what_a_recall_set_aside_is_let_go_after_its_analysis(say: Say) -> None:
    done(say, ALARM)
    done(say, "recall C1 --hold")
    reopen(say)
    release = "release RB-012 --why analysed"
    ran = say(release, acts=True)
    assert ran.code == 1
    assert "analyse it (`tankbook station bump CO-1`" in plain(ran.out)
    done(say, "station co 1ppm --of RB-012 --with CO-1 --at 11:30")
    done(say, release)
    assert "carbon monoxide" not in plain(
        say("show RB-012").out.split("serial")[0].split("WARN")[0]
    )
