"""After work that lets the gas out nothing says that a cylinder is full, and the next fill begins with
nothing in it."""

from __future__ import annotations

import datetime as dt
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.cli import open_ledger

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
FILL = "fill 14 --to 2900 --looked --source B1 --at"
SIGNED = (
    "{skill: inspector, from: 2020-01}, {skill: filler, from: 2020-01}, {skill: o2-cleaner, "
    "from: 2020-01}"
)
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, working_pressure: 5000 psi, period: 10 years,
     readings: [{on: 2026-11-24, pressure: 4400 psi}],
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
positions: [{name: P1, kind: enclosed}]
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
regulator_set: 3000 psi
"""
SETTINGS = f"""\
ledger: Test Quay
units: psi
rules: [us-dot]
gas: air
ambient: 70 degF
operator: MV
people:
  MV: {{certifications: [{SIGNED}]}}
"""
LOOK = (
    'inspect 14 --pass-all --neck-thread "3/4-14 NPSM" --valve-thread "3/4-14 NPSM"'
    ' --torque "60 N m" --bled heard --on 2026-11-21'
)
ELSEWHERE = 'done-elsewhere 14 --who "Northside T123" --checked in,out,valve'
WORK = {
    "inspect": [LOOK],
    "inspect after the fill of its day": [LOOK.replace("11-21", "11-20") + " --at 16:30"],
    "requalify": ["requalify 14 --on 2026-11-21 --by T123", LOOK],
    "send": [
        "send 14 --to Northside --bled heard --on 2026-11-20",
        "back 14 --refitted --on 2026-11-22",
        LOOK.replace("11-21", "11-22"),
    ],
    "elsewhere": [f"{ELSEWHERE} --visual --done 2026-11-21 --on 2026-11-22"],
    "back from test": [
        "send 14 --to Northside --bled heard --on 2026-11-20",
        "back 14 --on 2026-11-22",
        f"{ELSEWHERE} --visual --test hydro --done 2026-11 --on 2026-11-22",
    ],
}


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    good = books.GOOD.lstrip()
    root = write(
        {"cylinders/RB-014.yaml": good, "tankbook.yaml": SETTINGS, "station.yaml": STATION}
    )
    monkeypatch.chdir(root)
    now = dt.datetime.fromisoformat("2026-11-25T18:00:00+01:00")
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: now)
    monkeypatch.setattr(open_ledger, "clock", now.date)
    return root


@pytest.mark.parametrize("work", WORK)
def test_after_work_it_is_empty_and_the_next_fill_begins_so(
    work: str, tb: Run, ledger: Path
) -> None:
    assert tb(*shlex.split(f"{FILL} 09:00 --on 2026-11-20")).code == 0
    for line in WORK[work]:
        ran = tb(*shlex.split(line))
        assert ran.code == 0, ran.out + ran.err
    assert "empty (0 psi" in tb("show", "14", *ON).out
    assert tb("rent", "14", "--to", "B-1", "--dry-run", *ON).code == 1
    asked = tb("may-fill", "14", *ON)
    assert asked.first.startswith("YES")
    assert "Before the fill: look over the outside" in asked.out
    plan = tb("plan", "14", "--bank", "B1=4400", *ON, "--json").json
    assert not plan["refused"]
    for start in ([], ["--from", "0"]):
        ran = tb(*shlex.split(f"{FILL} 10:00"), *start, "--dry-run", *ON)
        assert ran.code == 0, ran.out
        assert ",fill,0 psi,2900 psi," in ran.out


@pytest.mark.parametrize("at", ["08:00", ""])
def test_a_fill_logged_after_the_look_of_its_day_stands(at: str, tb: Run, ledger: Path) -> None:
    assert tb(*shlex.split(f"{FILL} 09:00 --on 2026-11-20")).code == 0
    look = shlex.split(LOOK.replace("11-21", "11-20")) + (["--at", at] if at else [])
    ran = tb(*look)
    assert ran.code == 0
    assert ("if it was before, say when it was looked inside" in " ".join(ran.out.split())) is (
        not at
    )
    assert "2900 psi" in tb("show", "14", *ON).out


VALVE = "--outlet yoke --thread '3/4-14 NPSM' --rating '3442 psi' --disc '5000 psi'"
OF_ONE_DAY = {
    "another valve": (f"valve 14 --did changed {VALVE} --bled heard", True),
    "another valve, bled nobody says how": (f"valve 14 --did changed {VALVE}", False),
    "a service": ("valve 14 --did serviced --bled valve-left-open", True),
    "a service that nobody says was bled": ("valve 14 --did serviced", False),
    "a service with the valve on": ("valve 14 --did serviced --stays-on", False),
    "what was read off it": ("valve 14 --did read --outlet yoke", False),
    "a cleaning": ("clean 14 --to nitrox --bled heard", True),
    "a cleaning that nobody says was bled": ("clean 14 --to nitrox", False),
    "a cleaning for air": ("clean 14 --to air --bled heard", True),
    "a cleaning for air that nobody says was bled": ("clean 14 --to air", False),
    "made up into doubles": ("pair DB-01 14 15 --isolator open --bled heard", True),
    "taken apart": ("unpair DB-02 --bled heard", True),
    "a look": (LOOK.replace(" --on 2026-11-21", ""), True),
}
"""Work on a cylinder, and whether it lets out what is in it."""


ASKED = {each for each in OF_ONE_DAY if each.endswith(("nobody says how", "says was bled"))}
ASKED -= {"a cleaning for air that nobody says was bled"}


def another(ledger: Path, *, joined: bool) -> None:
    """Another cylinder, by itself or in doubles with the first."""
    (ledger / "cylinders" / "RB-015.yaml").write_text(books.GOOD.replace("K118204", "K118205"))
    if joined:
        (ledger / "sets").mkdir()
        (ledger / "sets" / "DB-02.yaml").write_text("cylinders: [RB-014, RB-015]\n")


@pytest.mark.parametrize("at", ["08:00", "10:00", ""])
@pytest.mark.parametrize("work", OF_ONE_DAY)
def test_of_one_day_the_times_say_what_came_first(
    work: str, at: str, tb: Run, ledger: Path
) -> None:
    """Without a time the fill is taken to be the later: it may be full, and of bad air. What an act
    says is in it, the record says too."""
    line, lets_out = OF_ONE_DAY[work]
    another(ledger, joined=work == "taken apart")
    day = ["--on", "2026-11-24"]
    assert tb(*shlex.split(f"{FILL} 09:00"), *day).code == 0
    ran = tb(*shlex.split(line), *(["--at", at] if at else []), *day)
    said = " ".join(ran.out.split())
    if work in ASKED and at != "08:00":  # nothing was in it before that
        assert ran.code == 1
        assert "its valve came off, and 2900 psi is in it on record: say how it was bled" in said
        return
    assert ran.code == 0, ran.out + ran.err
    empty = lets_out and at == "10:00"
    shown = tb("show", "14", *ON).out
    assert ("empty (0 psi" in shown) is empty, shown
    assert ("2900 psi" in shown) is not empty, shown
    asked = "if it was before, say when" in said
    assert asked is (lets_out and not at), said
    if work != "a look":
        told = {f"{ids}: nothing is in it now" for ids in ("RB-014", "RB-014, RB-015")}
        assert any(each in said for each in told) is empty, said


@pytest.mark.parametrize("at", ["18:01", "24:00", "9", "2026-11-24"])
def test_a_time_that_is_none_or_lies_ahead(at: str, tb: Run, ledger: Path) -> None:
    another(ledger, joined=True)
    for line, lets_out in OF_ONE_DAY.values():
        if lets_out:
            ran = tb(*shlex.split(line), "--at", at)
            assert ran.code == 2, ran.out
            assert "--at" in ran.err


TAKEN_APART = [
    "unpair DB-02 --bled heard --at 07:00 --on 2026-11-25",
]
OF_A_SIDE = {
    "a reading": "reading 14=500 --at 08:00",
    "a drain": "drain 14=0 --from 500 --at 08:00",
    "sent away": "send 14 --for requalification --to Northside --bled heard",
    "sold": "hand-over 14 --to C-1",
    "made up with another": "pair DB-05 14 15 --isolator open --bled heard --at 08:00",
}


@pytest.mark.parametrize("deed", OF_A_SIDE)
def test_a_set_that_was_taken_apart_is_none_for_what_is_done_to_its_sides(
    deed: str, tb: Run, ledger: Path
) -> None:
    another(ledger, joined=True)
    together = tb(*shlex.split(OF_A_SIDE[deed]), "--dry-run", *ON)
    for line in TAKEN_APART:
        assert tb(*shlex.split(line)).code == 0
    apart = tb(*shlex.split(OF_A_SIDE[deed]), "--dry-run", *ON)
    assert "DB-02" in together.out
    assert "DB-02" not in apart.out


def test_of_a_set_that_was_taken_apart_only_what_was_written_is_corrected(
    tb: Run, ledger: Path
) -> None:
    another(ledger, joined=True)
    log = "fill DB-02 --to 2900 --looked --source B1 --at 08:00 --on 2026-11-20"
    assert tb(*shlex.split(log)).code == 0
    assert tb(*shlex.split("unpair DB-02 --bled heard --on 2026-11-24")).code == 0
    assert tb(*shlex.split("pair DB-02 14 15 --bled heard --on 2026-11-25")).code == 0
    assert tb(*shlex.split("unpair DB-02 --bled heard --at 09:00 --on 2026-11-25")).code == 0
    shut = tb("isolator", "DB-02", "shut", *ON)
    assert shut.code == 2
    assert "DB-02 was taken apart on 2026-11-25; ask for RB-014 or RB-015" in shut.err
    right = ["made_up 2026-11-25", "fill 2026-11-20", "fill 2026-11-20 --set 'to=2850 psi'"]
    for wrong in right:
        ran = tb(*shlex.split(f"correct DB-02 {wrong} --why 'another set'"), "--dry-run", *ON)
        assert ran.code == 0, ran.out + ran.err


@pytest.mark.parametrize("apart", [False, True])
def test_what_tells_against_the_sides_of_a_set_is_struck_out_by_somebody_certified(
    apart: bool, tb: Run, ledger: Path
) -> None:
    """Of a set that was taken apart as of one that stands."""
    another(ledger, joined=True)
    settings = ledger / "tankbook.yaml"
    text = settings.read_text()
    settings.write_text(text.replace("people:\n", "people:\n  ZZ: {role: counter}\n", 1))
    assert "ZZ" in settings.read_text()
    for line in ("DB-02=2900 --at 08:00", "DB-02=0 --at 09:00"):
        assert tb(*shlex.split(f"reading {line} --on 2026-11-20")).code == 0
    if apart:
        assert tb(*shlex.split("unpair DB-02 --bled heard --on 2026-11-24")).code == 0
    line = 'correct DB-02 reading 2026-11-20T09:00 --why "another set" --by ZZ'
    ran = tb(*shlex.split(line), *ON)
    assert ran.code == 1, ran.out
    assert "let somebody certified do it" in " ".join(ran.out.split())


CLEANED = {
    "as they were": ("09:45", "10:45"),
    "entered the other way": ("10:45", "09:45"),
}


@pytest.mark.parametrize("hours", CLEANED)
@pytest.mark.parametrize(("to", "asks"), [("nitrox", False), ("air", True)])
def test_of_two_cleanings_of_a_day_the_later_hour_decides(
    to: str, asks: bool, hours: str, tb: Run, ledger: Path
) -> None:
    card = ledger / "cylinders" / "RB-014.yaml"
    card.write_text(card.read_text().replace("service: air", "service: nitrox"))
    for hour in CLEANED[hours]:
        until = " --for 2y" if hour == "10:45" else ""
        for_what = to if hour == "10:45" else "nitrox"
        line = f"clean 14 --to {for_what} --bled heard{until} --at {hour}"
        assert tb(*shlex.split(line), *ON).code == 0
    asked = tb("may-fill", "14", *ON)
    assert ("ends its oxygen-clean state" in asked.out) is not asks
    due = tb("due", "--within", "3y", *ON, "--json").json
    assert ("oxygen-cleaning" in {each["obligation"] for each in due}) is not asks


@pytest.mark.parametrize("cleaned", [False, True])
def test_a_test_of_a_month_asks_of_the_fill_only_where_it_is_still_in_it(
    cleaned: bool, tb: Run, ledger: Path
) -> None:
    assert tb(*shlex.split(f"{FILL} 09:00 --on 2026-11-20")).code == 0
    if cleaned:
        assert tb(*shlex.split("clean 14 --to air --bled heard --on 2026-11-23")).code == 0
    ran = tb(*ON, *shlex.split("requalify 14 --on 2026-11 --by T123 --dry-run"))
    assert ran.code == 0, ran.out + ran.err
    asked = "filled on 2026-11-20, and that is taken to be after it" in " ".join(ran.out.split())
    assert asked is not cleaned


def test_the_blanks_around_a_text_are_no_part_of_it(tb: Run, ledger: Path) -> None:
    assert tb(*shlex.split(f"{FILL} 09:00"), *ON).code == 0
    ran = tb(*shlex.split("rent 14 --to ' C-0192 ' --until 2026-11-26"), *ON)
    assert ran.code == 0, ran.out + ran.err
    assert "to: C-0192," in (ledger / "cylinders" / "RB-014.yaml").read_text()
    blank = tb(*shlex.split("correct 14 rented 2026-11-25 --why '  '"), *ON)
    assert blank.code == 1, blank.out
    assert "C-0192" in (ledger / "cylinders" / "RB-014.yaml").read_text()


IS_ONE_SIDE = "is one side of DB-01, whose isolator is open: RB-042 stays at 3290 psi on record"
LOOKED_INSIDE = "--checklist internal --pass-all --neck-thread 3/4-14NPSM --valve-thread 3/4-14NPSM"


@pytest.mark.parametrize(
    ("act", "told"),
    [
        ("clean RB-041 --to oxygen --bled heard", True),
        ("valve RB-041 --did serviced --bled heard", True),
        (f"inspect RB-041 {LOOKED_INSIDE} --same-valve --bled heard --at 12:00", True),
        # both were bled; or the gas stays in
        ("valve DB-01 --did serviced --bled heard", False),
        ("clean RB-041 RB-042 --to oxygen --bled heard", False),
        ("valve RB-041 --did serviced --stays-on", False),
        ("inspect RB-041 --checklist outside --pass-all", False),
    ],
)
def test_work_on_one_side_of_doubles_speaks_of_the_gas_in_the_other(
    tb: Callable[..., Any], example_ledger: Path, tmp_path: Path, act: str, told: bool
) -> None:
    copy = shutil.copytree(example_ledger, tmp_path / "ledger")

    def run(line: str) -> Any:
        return tb(*line.split(), "--on", "2026-11-25", "--ledger", copy)

    ran = run(f"{act} --by KD")
    assert ran.code == 0, ran.err or ran.out
    assert (IS_ONE_SIDE in " ".join(ran.out.split())) is told
    if told:  # and both ways out that it names work
        assert run("drain RB-042 --by KD --at 12:30 --dry-run").code == 0
        assert run("isolator DB-01 shut --by KD").code == 0
        again = run("clean RB-041 --to oxygen --bled heard --by KD --at 13:00")
        assert IS_ONE_SIDE not in " ".join(again.out.split())
