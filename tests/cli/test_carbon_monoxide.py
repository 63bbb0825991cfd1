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
    said = "station co 1ppm --place outlet --with CO-1 --kind intake --cause 'a van idled' --done 'moved it' --at 11:10"
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
    assert say("").out.count("OUT OF USE") == 4 + answered  # of an open one first, and at each bank
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


def test_what_goes_with_a_cylinder_tells_of_the_alarm(say: Say) -> None:
    """Its note to a requalifier, and the receipt and slip of what was given the day before it."""
    done(say, "send RB-011 --for requalification --to 'Weir Street Hydro'")
    given, sold = "receipt 16", "slip SF-054"
    before = {line: plain(say(line).out) for line in (given, sold)}
    assert not any("DO NOT USE" in said for said in before.values())
    assert "BEWARE" not in plain(say(f"dispatch {DAY}").out)
    done(say, ALARM)
    assert f"BEWARE it holds air of 2026-11-21, and {SAID}" in plain(say(f"dispatch {DAY}").out)
    assert SAID in say(f"dispatch {DAY} --json").json["items"][0]["beware"]
    told = plain(say(given).out)
    assert f"DO NOT USE IT found since: it holds air of 2026-11-21, and {SAID}" in told
    assert SAID in say(f"{given} --json").json["items"][0]["since"][0]
    assert plain(say(sold).out) == before[sold]  # nothing of that source is in it
    done(say, "station bump CO-1 --at 11:00")
    done(
        say,
        "station co 1ppm --place outlet --with CO-1 --kind intake --cause 'a van idled' --done 'moved it' --at 11:10",
    )
    done(say, "station co 1ppm --of RB-016 --with CO-1 --at 11:30")
    assert plain(say(given).out) == before[given]


def test_a_slip_tells_of_an_alarm_after_it_was_given(say: Say) -> None:
    """Filled from the banks before it was sold."""
    log = Path("fills/2026.csv")
    head, *lines = log.read_text("utf-8").splitlines()
    line = next(each for each in lines if ",RB-011,fill," in each and "2026-10-" in each)
    at, rest = line.split(",", 1)
    sold = rest.replace("RB-011", "SF-054")
    day = next(n for n, each in enumerate(lines) if each > "2026-11-06")
    lines.insert(day, f"2026-11-06T12:00:00{at[19:]},{sold}")
    log.write_text("\n".join((head, *lines)) + "\n", "utf-8")
    before = plain(say("slip SF-054").out)
    assert "DO NOT USE" not in before
    done(say, ALARM)
    told = plain(say("slip SF-054").out)
    assert f"DO NOT USE IT found since: it holds air of 2026-11-06, and {SAID}" in told
    assert SAID in say("slip SF-054 --json").json["since"][0]


def test_the_note_of_what_is_held_or_smelt_of_says_so(say: Say) -> None:
    card = Path("cylinders/RB-011.yaml")
    smelt = 'note: "2026-11-24: smelt of oil when the valve was opened"'
    card.write_text(f"{card.read_text('utf-8')}{smelt}\n", "utf-8")
    done(say, "send RB-011 --for requalification --to 'Weir Street Hydro'")
    assert "BEWARE the note of its card says `2026-11-24: smelt of oil" in plain(
        say(f"dispatch {DAY}").out
    )
    done(say, "recall B1 --since 2026-10-12 --hold")
    assert "DO NOT USE IT found since: it is held: recall of B1" in plain(say("receipt 16").out)


@pytest.mark.parametrize("sent", ["2026-11-24", DAY])
def test_the_note_of_what_went_before_the_alarm_tells_of_it_while_it_is_away(
    say: Say, tb: Callable[..., Any], sent: str
) -> None:
    """No answer counts on what is in a cylinder whose valve comes off; whoever takes it off must
    know what comes, until it is let go, tested or back."""
    gone = "send RB-011 --for requalification --to 'Weir Street Hydro'"
    assert tb(*shlex.split(gone), "--on", sent, "--by", "KD").code == 0
    done(say, ALARM)
    warned = f"BEWARE it holds air of 2026-11-21, and {SAID}"
    assert warned in plain(say(f"dispatch {sent}").out)
    assert SAID not in plain(tb("dispatch", sent, "--on", "2026-11-24").out)
    assert warned in plain(tb("dispatch", sent, "--on", "2026-12-03").out)
    reopen(say)
    assert warned in plain(say(f"dispatch {sent}").out)
    done(say, "station co 1ppm --of RB-011 --with CO-1 --at 11:30")
    assert "BEWARE" not in plain(say(f"dispatch {sent}").out)


@pytest.mark.parametrize("what", ["back", "bled", "drained"])
def test_the_note_says_nothing_of_gas_that_is_out(
    say: Say, tb: Callable[..., Any], what: str
) -> None:
    gone = "send RB-011 --for requalification --to 'Weir Street Hydro' --on 2026-11-24 --by KD"
    assert tb(*shlex.split(gone), *(["--bled", "heard"] if what == "bled" else [])).code == 0
    done(say, ALARM)
    if what == "back":
        assert tb("back", "RB-011", "--on", "2026-11-26", "--by", "KD").code == 0
    if what == "drained":  # on the day it left
        assert tb(*shlex.split("drain RB-011 --on 2026-11-24 --at 16:00 --by KD")).code == 0
    assert SAID not in plain(tb("dispatch", "2026-11-24", "--on", "2026-11-26").out)


def test_a_receipt_tells_of_the_bad_side_of_a_set(say: Say, tb: Callable[..., Any]) -> None:
    lent = "rent DB-01 --to B-9999 --until 2026-11-28 --analysed 32 --depth 30m --user ZQ"
    seen = "--certified nitrox --card 123 --on 2026-11-24 --by KD"
    assert tb(*shlex.split(f"{lent} {seen}")).code == 0
    assert "DO NOT USE" not in say("receipt DB-01").out
    done(say, "hold RB-042 --why 'oil at the valve'")
    assert "DO NOT USE IT found since: RB-042: it is held: oil at the valve" in plain(
        say("receipt DB-01").out
    )
    assert "DO NOT USE" not in tb("receipt", "DB-01", "--on", "2026-11-24").out
