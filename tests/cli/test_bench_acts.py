"""Book in, inspect, sticker, fill, reading, drain: what people see and what is written."""

from __future__ import annotations

import datetime as dt
import io
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.cli import keys, open_ledger
from tankbook.cli.commands import COMMANDS

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
AT = "--at 2026-11-25T14:30:00+01:00"
LOOKED = f"--looked --source B1 {AT}"

SETTINGS = """\
ledger: Test Quay
units: psi
rules: [us-dot]
gas: air
operator: MV
sticker: {policy: at-hand-over, inspection_age: 12 months, second_look: 7 days}
people:
  MV: {certifications: [{skill: inspector, from: 2020-01}, {skill: filler, from: 2020-01}]}
  JO: {role: owner}
"""
STATION = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
regulator_set: 3000 psi
"""
LOOK_LIST = """\
shown_as: Before it leaves the shop
steps:
  - {name: identify, group: outside, look_for: serial against the card}
"""


def files() -> dict[str, str]:
    good = books.GOOD.lstrip()
    lapsed = good.replace("2026-02-09", "2025-02-09")
    sale = good.replace("rental", "sale").replace("2026-02-09", "2026-10-08")
    sale = sale.replace("checklist: annual", "checklist: new").replace("issued", "withheld")
    looked = "  - {on: 2026-11-20, by: MV, checklist: before-hand-over, result: pass}\n"
    damaged = good.replace("in-service", "held") + (
        "rented: [{on: 2026-11-18, to: B-1, back: 2026-11-20, damage: boot torn}]\n"
        "held: [{on: 2026-11-19, by: MV, why: dent}]\n"
    )
    texts = {"RB-014": good, "RB-015": good, "RB-016": lapsed, "SF-051": sale + looked}
    texts["RB-017"] = damaged
    found = {
        f"cylinders/{id_}.yaml": text.replace("K118204", f"K11820{number}")
        for number, (id_, text) in enumerate(texts.items())
    }
    found["tankbook.yaml"] = SETTINGS
    found["station.yaml"] = STATION
    found["checklists/before-hand-over.yaml"] = LOOK_LIST
    return found


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    root = write(files())
    monkeypatch.chdir(root)
    now = dt.datetime.fromisoformat("2026-11-25T18:00:00+01:00")
    monkeypatch.setattr(open_ledger, "clock", now.date)
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: now)
    return root


LINES = {
    "book-in": 'book-in --marks "DOT-3AL 3000 K200001 09A26" --use sale --set material=aluminium',
    "book-in delivery": "book-in --like 14 --serials K300..K339 --first-test 2026-10",
    "book-in quick": "book-in --quick --serial Q7 --service-pressure 3000 --hydro 2024-06 --sticker 2026-03",
    "inspect": "inspect 14 --pass-all --neck-thread SP12 --valve-thread '3/4 NPSM' --torque 60Nm",
    "inspect hold": "inspect 14 --pass-all --except neck-threads:hold --note 'thread 2 worn' --count 1 --position 'second from the top'",
    "inspect reject": "inspect 14 --pass-all --except corrosion-outside:reject --what line-corrosion --depth 0.9mm --note 'under the boot'",
    "inspect gouge": "inspect 14 --pass-all --except cuts-and-dents:hold --what gouge --depth 0.6mm --length 40mm",
    "inspect crack": "inspect 14 --pass-all --except neck-cracks:reject --what crack --count 2 --position 'top left'",
    "inspect answers": "inspect 17 --pass-all --neck-thread SP12 --same-valve --clears damage --clears 11-19 --why 'gauged, within limits'",
    "sticker": "sticker 51",
    "fill": f"fill 14 15=2980 --to 3000 {LOOKED}",
    "fill overridden": f"fill 16 --to 3000 {LOOKED} --override 'regatta day' --approved-by JO",
    "fill bled": f"fill 14=3040 --bled 2980 {LOOKED}",
    "fill happened": f"fill 14 --to 3200 --source B1 --happened 'regulator crept' {AT}",
    "reading": f"reading 14=1200 15=0 {AT}",
    "drain": f"drain 14=3000 --from 3200 --note 'bled down' {AT}",
}
FACTS = {
    "fill happened": "RB-014 filled to 3200 psi, above the 3000 psi that was lawful",
}
"""What keeps a cylinder from being filled though it is true: it is recorded, told, and at fault."""

REFUSED = {
    "book-in": "book-in --like 14 --serials K118200..K118201",
    "inspect": "inspect 14 --pass-all --neck-thread '3/4-14 NPSM' --valve-thread M25x2",
    "sticker": "sticker 14",
    "fill": f"fill 14 16 --to 3100 --source B1 {AT}",
    "fill a little over": f"fill 14 --to 3040 {LOOKED}",
    "inspect note": "inspect 14 --pass-all --note 'cuts-and-dents:hairline crack near the foot'",
    "inspect answers": "inspect 17 --pass-all --neck-thread SP12 --same-valve --clears 'damage 2026-10-01'",
    "reading": f"reading 14=1200 14=0 --by XX {AT}",
    "drain": f"drain 14=3000 --from 2900 {AT}",
}


def split(line: str) -> list[str]:
    return [*ON, *shlex.split(line.replace("60Nm", "'60 N m'"))]


def content(root: Path) -> dict[str, bytes]:
    """Every file of a ledger but its private ones."""
    found = (p for p in root.rglob("*") if p.is_file() and ".tankbook" not in p.parts)
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in found}


@pytest.mark.parametrize("name", LINES)
def test_what_people_see(name: str, tb: Run, ledger: Path, snapshot: SnapshotAssertion) -> None:
    ran = tb(*split(LINES[name]))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == snapshot
    told = [line for line in ran.out.splitlines() if line[:1] not in {"+", "-", "@"}]
    assert max(map(len, told)) <= 80


@pytest.mark.parametrize("name", LINES)
def test_the_ledger_is_sound_afterwards(name: str, tb: Run, ledger: Path) -> None:
    tb(*split(LINES[name]))
    ran = tb("validate", *ON, "--json")
    faults = [f["text"] for f in ran.json if f["severity"] == "fault"]
    assert [f for f in faults if FACTS.get(name, "nothing") not in f] == []
    assert bool(faults) == (name in FACTS)


@pytest.mark.parametrize("name", LINES)
def test_a_dry_run_writes_nothing_and_says_the_same(name: str, tb: Run, ledger: Path) -> None:
    before = content(ledger)
    dry = tb(*split(LINES[name]), "--dry-run", "--json").json
    assert content(ledger) == before
    real = tb(*split(LINES[name]), "--json").json
    assert content(ledger) != before
    assert real == {**dry, "recorded": True, "dry_run": False}
    assert real["act"] == name.split()[0]


@pytest.mark.parametrize("name", REFUSED)
def test_a_refusal_says_why_and_writes_nothing(
    name: str, tb: Run, ledger: Path, snapshot: SnapshotAssertion
) -> None:
    before = content(ledger)
    ran = tb(*split(REFUSED[name]))
    assert ran.code == 1
    assert ran.out == snapshot
    assert content(ledger) == before


@pytest.mark.parametrize("name", sorted({n.split()[0] for n in LINES}))
def test_the_example_of_its_help_runs(name: str, tb: Run, ledger: Path) -> None:
    ran = tb(*ON, *shlex.split(COMMANDS[name].example.removeprefix("tankbook ")), "--dry-run",
             *(shlex.split(AT) if name in {"fill", "reading", "drain"} else []))  # fmt: skip
    assert (ran.code, ran.err) == (0, "")


# --- booking in ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("book-in", "no cylinder is named; give --marks, --serials or --serial; `tankbook import` takes a table"),
        ("book-in --serials A,B --serial C", "--serials and --serial do not go together"),
        ("book-in --serials K9..K1 --use sale", "--serials: `K9..K1` runs backward"),
        ("book-in --quick", "no cylinder is named; give --marks, --serials or --serial; `tankbook import` takes a table"),
        ("book-in --serial A --use sale --set colour=red", "is not KEY=VALUE of a card"),
        ("book-in --serials A,B --use sale --id RB-100", "1 ids for 2 cylinders"),
        ("book-in --serial A --like 99", "99: no cylinder or set of this ledger ends so"),
        ("inspect 14 --except o-ring:hold", "--except goes with --pass-all"),
        ("inspect 14 --pass-all --except o-ring", "--except: 'o-ring' is not STEP:RESULT"),
        ("inspect 14 --pass-all --except o-ring:bad", "'bad' is not known; known: pass, note, hold"),
        ("inspect 14 15 --pass-all --except o-ring:hold", "--except is about one cylinder"),
        ("inspect 14 --pass-all --checklist weekly", "there is no checklist 'weekly'; known: annual"),
        ("inspect 14 --pass-all --disc 5000psia", "--disc: psia is no unit"),
        ("inspect 14 --pass-all --except neck-threads:hold --except o-ring:hold --count 2", "--count: no step is named"),
        ("inspect 14 --pass-all --except neck-threads:hold --except o-ring:hold --what dent", "--what: no step is named"),
        ("inspect 14 --pass-all --except o-ring:hold --what rot", "--what: 'rot' is not known; known: pits"),
        ("inspect 14 --pass-all --except o-ring:hold --what dent --depth 6", "--depth: '6' is a bare number"),
        ("inspect 14 --what dent", "--except goes with --pass-all"),
        ("inspect 14 15 --pass-all --clears damage", "--clears is about one cylinder"),
        ("inspect 14 --pass-all --at 25:00", "--at: '25:00' is not a time of day; write 16:30"),
        ("inspect 14 --pass-all --at 18:01", "--at: 18:01 lies ahead; it is 18:00"),
        ("fill 14=3040 --bled 15=2980 --at 09:30", "--bled: RB-015 is none of those named"),
        ("fill 14", "14: to what pressure is not said; write 14=2980, or give --to for all"),
        ("fill 14 --to 3000", "--on names a day and not the time; give it with --at 14:30"),
        ("fill 14 --to 3000 --at 25:00", "--at: '25:00' is not a time; write 14:30"),
        ("fill 14 --to 3000 --at 2026-11-26T09:00:00+01:00", "lies ahead"),
        ("fill 14=x --at 9:30", "14: 'x' is not a pressure"),
        ("fill 14 --to 3000 --from 15=500 --at 09:30", "--from: RB-015 is none of those named"),
        ("reading 14 --at 09:30", "14: to what pressure is not said"),
        ("sticker", "name cylinders, or a number with --void"),
    ],
)  # fmt: skip
def test_a_request_that_is_not_understood_is_one_line(
    line: str, said: str, tb: Run, ledger: Path
) -> None:
    ran = tb(*split(line))
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_a_quick_card_grows_into_a_full_one(tb: Run, ledger: Path) -> None:
    tb(*split(LINES["book-in quick"]))
    marks = "DOT-3AL 3000 Q7 09A21"
    more = ["--set", "material=aluminium", "--set", "alloy=6061", "--set", "valve.rating=3442"]
    ran = tb(*ON, "book-in", "--complete", "CU-001", "--marks", marks, *more)
    assert ran.first.startswith("Completed the card of CU-001: marks, specification")
    text = (ledger / "cylinders/CU-001.yaml").read_text()
    assert "valve: {rating: 3442 psi}\n" in text
    assert "{on: 2024-06, method: hydrostatic}" in text
    assert "{on: 2021-09, by: maker, method: hydrostatic}" in text
    assert tb("validate", *ON).code == 0
    again = tb(*ON, "book-in", "--complete", "CU-001", "--marks", marks)
    assert again.code == 1
    assert "all of that is on its card already" in again.out
    other = tb(*ON, "book-in", "--complete", "CU-001", "--set", "valve.rating=3000")
    assert "its card says valve.rating 3442 psi, and 3000 psi was given" in " ".join(
        other.out.split()
    )


# --- inspecting step by step ---------------------------------------------------------------------


@pytest.fixture(name="pressed")
def _pressed(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """What is typed at the bench, a line a key or a text."""

    def press(lines: str) -> None:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))

    return press


EMPTIED = "p\np\np\nh\n"
"""The steps up to the one that looks whether it is empty, and that the flow was heard."""


def test_one_key_a_step(
    tb: Run, ledger: Path, pressed: Callable[[str], None], snapshot: SnapshotAssertion
) -> None:
    # identify, outside, empty, water, wall, smell, cracks, valve thread, ring, lubricant, tube, torque
    pressed("p\np\np\nh\np\np\nn\nfaint, of rubber\np\np\n3/4 NPSM\np\np\n\np\np\n60 N m\ny\n")
    ran = tb(*ON, "inspect", "14", "--checklist", "internal")
    assert ran.code == 0, ran.out
    assert ran.err == snapshot
    text = (ledger / "cylinders/RB-014.yaml").read_text()
    assert "checklist: internal, result: pass" in text
    assert "findings: [{step: smell-inside, result: note, note:" in text
    assert "torque: 60 N m" in text
    assert not list((ledger / ".tankbook").glob("inspect-*"))


@pytest.mark.parametrize(
    ("key", "bled"), [("h", "heard"), ("l", "valve-left-open"), ("u", "under-control")]
)
def test_how_it_was_bled_is_asked_before_its_valve_comes_off(
    key: str, bled: str, tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed(f"p\np\np\n?\n{key}\n" + "p\n" * 5 + "SP12\np\np\n\np\np\n\ny\n")
    ran = tb(*ON, "inspect", "14", "--checklist", "internal")
    assert ran.code == 0, ran.out + ran.err
    said = " ".join(ran.err.split())
    assert said.index("before the valve comes off, bleed it slowly") < said.index("how it was bled")
    assert said.index("how it was bled") < said.index("water-inside")
    assert "before a valve comes off" not in " ".join(ran.out.split())
    assert f"bled: {bled}" in (ledger / "cylinders/RB-014.yaml").read_text()


@pytest.mark.parametrize("keys_", ["p\nn\n", "h\nno hiss at all\n\n", "r\nvalve blocked\n\n"])
@pytest.mark.parametrize("back", [False, True])
def test_where_no_flow_was_heard_nothing_more_is_asked_and_it_is_held(
    back: bool, keys_: str, tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed("p\np\n" + (f"{keys_}b\n" if back else "") + f"{keys_}y\n")
    ran = tb(*ON, "inspect", "14", "--checklist", "internal")
    assert ran.code == 0, ran.out + ran.err
    assert ran.first.startswith("Held RB-014, not inspected: no flow was heard")
    assert "water-inside" not in ran.err
    text = (ledger / "cylinders/RB-014.yaml").read_text()
    assert "bled: no-flow" in text
    assert "checklist: internal" not in text


def test_it_is_asked_at_the_end_of_what_was_begun_before_it_was_asked(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed("p\np\np\nh\nq\n")
    tb(*ON, "inspect", "14", "--checklist", "internal")
    kept = next((ledger / ".tankbook").glob("inspect-*"))
    kept.write_text(kept.read_text().replace('"bled"', '"before"'))
    pressed("p\n" * 5 + "SP12\np\np\n\np\np\n\nl\ny\n")
    ran = tb(*ON, "inspect", "14")
    assert ran.code == 0, ran.out + ran.err
    assert "bled: valve-left-open" in (ledger / "cylinders/RB-014.yaml").read_text()


def test_back_a_thread_finding_and_its_place(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed(
        "p\np\nb\nh\nnew dent\nrot\ndent\n0.6\n0.6 mm\n\np\nl\np\np\np\n"
        "r\nfine line\ntwo\n2\ntop, 3 o'clock\nfold\np\nM25x2\np\np\n\np\np\n\ny\n"
    )
    ran = tb(*ON, "inspect", "14", "--checklist", "internal")
    assert ran.code == 0, ran.out + ran.err
    assert "a whole number, please" in ran.err
    text = (ledger / "cylinders/RB-014.yaml").read_text()
    assert "status: rejected" in text
    assert "'rot' is not known" in ran.err
    assert "{step: neck-cracks, result: reject, what: fold, count: 2, position:" in text
    assert "{step: outside-look, result: hold, what: dent, depth: 0.6 mm, note: new dent}" in text


@pytest.mark.parametrize(
    ("keys_", "clears", "status"),
    [("y\ny\ngauged\n", "[held 2026-11-19, damage 2026-11-20]", "in-service"),
     ("y\ny\n\n", "[held 2026-11-19, damage 2026-11-20]", "held"),
     ("n\ny\n", "[damage 2026-11-20]", "held"),
     ("n\nn\n", "", "held")],
)  # fmt: skip
def test_what_is_open_is_shown_before_and_asked_about_at_the_end(
    keys_: str, clears: str, status: str, tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed(EMPTIED + "p\n" * 5 + "SP12\np\np\n\np\np\n\ny\n" + keys_)
    ran = tb(*ON, "inspect", "17", "--checklist", "internal")
    assert ran.code == 0, ran.out + ran.err
    assert "RB-017: a pass answers only what it names" in ran.err
    assert 'open: held 2026-11-19 (dent); --clears "held 2026-11-19" names it' in ran.err
    assert "answers damage 2026-11-20 (boot torn)? [y]es [n]o: " in ran.err
    text = (ledger / "cylinders/RB-017.yaml").read_text()
    assert (f"clears: {clears}" in text) == bool(clears)
    assert f"status: {status}\n" in text


def test_a_finding_kept_for_later_keeps_what_it_is(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed("p\nh\nnew dent\ndent\n0.6 mm\n40 mm\nq\n")
    tb(*ON, "inspect", "14", "--checklist", "internal")
    pressed("p\nh\n" + "p\n" * 5 + "SP12\np\np\n\np\np\n\ny\n")
    ran = tb(*ON, "inspect", "14")
    assert ran.code == 0, ran.out + ran.err
    said = "{step: outside-look, result: hold, what: dent, depth: 0.6 mm, length: 40 mm"
    assert said in (ledger / "cylinders/RB-014.yaml").read_text()


SEEN = (
    "DOT-3AL 3000 Q7 09A21\n202x\n2026-03\nExample Cylinder Co\nyolk\nyoke\n3/4-14 NPSM\n\n3000\n"
)


def test_a_walk_in_is_asked_for_what_an_eye_sees(
    tb: Run, ledger: Path, pressed: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keys, "is_terminal", lambda: True)
    pressed(SEEN)
    ran = tb(*ON, "book-in", "--quick")
    assert ran.code == 0, ran.out + ran.err
    assert "'202x' is not a date" in ran.err
    assert "outlet: 'yolk' is not known" in ran.err
    text = (ledger / "cylinders/CU-001.yaml").read_text()
    assert "neck_thread: 3/4-14 NPSM\nvalve: {outlet: yoke, rating: 3000 psi}\n" in text
    assert "{on: 2026-03, checklist: sticker-seen, result: pass, sticker: seen" in text
    assert "not seen or not written down: the thread mark on its valve; `tankbook" in " ".join(
        ran.out.split()
    )


def test_quit_keeps_it_and_the_next_time_goes_on(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    before = content(ledger)
    pressed("p\nn\nscuffed\nq\n")
    ran = tb(*ON, "inspect", "14", "--checklist", "internal")
    assert ran.code == 0
    assert ran.first == "Kept for later: RB-014, 2 of 12 steps done; nothing is recorded yet"
    assert content(ledger) == before
    pressed("x\np\nh\np\np\np\np\np\nSP12\np\np\n\np\np\n\ny\n")
    ran = tb(*ON, "inspect", "14")
    assert "RB-014 by `internal`, 12 steps; going on at step 3" in ran.err
    assert "one of p, h, r, n, b, q, please" in ran.err
    assert ran.first.startswith("Inspected RB-014 by `internal`: pass")
    assert (
        "{step: outside-look, result: note, note: scuffed}"
        in (ledger / "cylinders/RB-014.yaml").read_text()
    )


def test_a_refusal_does_not_cost_the_answers(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed(EMPTIED + "p\n" * 5 + "M25x2\np\np\n\np\np\n\ny\n")
    ran = tb(*ON, "inspect", "14", "--checklist", "internal")
    assert ran.code == 1
    assert "neck thread 3/4-14 NPSM and valve thread M25x2 differ" in " ".join(ran.out.split())
    pressed("b\nb\nb\nb\nb\np\nSP12\np\np\n\np\np\n\ny\n")
    ran = tb(*ON, "inspect", "14")
    assert ran.code == 0, ran.out


def test_somebody_else_does_not_go_on_with_it(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    pressed("p\nq\n")
    tb(*ON, "inspect", "14", "--checklist", "internal")
    ran = tb(*ON, "inspect", "14", "--by", "JO")
    assert ran.code == 2
    assert "RB-014 was begun by MV; let MV go on, or begin again with --afresh" in ran.err
    pressed("q\n")
    assert "going on" not in tb(*ON, "inspect", "14", "--afresh").err


def test_what_was_kept_and_cannot_be_read_is_told(
    tb: Run, ledger: Path, pressed: Callable[[str], None]
) -> None:
    (ledger / ".tankbook").mkdir()
    (ledger / ".tankbook/inspect-RB-014.json").write_text("{")
    ran = tb(*ON, "inspect", "14")
    assert ran.code == 2
    assert "this half-done inspection cannot be read; begin again with --afresh" in ran.err


def test_step_by_step_goes_with_one_cylinder(tb: Run, ledger: Path) -> None:
    ran = tb(*ON, "inspect", "14", "15")
    assert ran.code == 2
    assert "step by step goes with one cylinder" in ran.err


def test_several_alike_at_once(tb: Run, ledger: Path) -> None:
    ran = tb(*ON, "inspect", "14", "15", "--pass-all", "--neck-thread", "SP12", "--same-valve")
    assert ran.first.startswith("Inspected 2 cylinders (RB-014 to RB-015) by `annual`: pass")


# --- filling -------------------------------------------------------------------------------------


def test_the_look_is_asked_for_at_a_terminal(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keys, "is_terminal", lambda: True)
    pressed = iter("xy")
    monkeypatch.setattr(keys, "_pressed", lambda: next(pressed))
    ran = tb(*split(f"fill 14 --to 3000 --source B1 {AT}"))
    assert ran.code == 0
    assert "Each looked over before the fill? [y]es [n]o: " in ran.err
    monkeypatch.setattr(keys, "_pressed", lambda: "n")
    assert tb(*split(f"fill 15 --to 3000 --source B1 {AT}")).code == 1


def test_readings_of_each_and_a_bare_number_takes_the_ledgers_unit(tb: Run, ledger: Path) -> None:
    line = f"fill 14=207bar 15 --to 2900 --from 500 --from 15=40bar --temperature 70 {LOOKED}"
    ran = tb(*split(line))
    assert ran.code == 1  # 207 bar is 3002 psi
    ran = tb(*split(line.replace("207bar", "200bar")))
    assert ran.first == "Filled RB-014 to 200 bar, RB-015 to 2900 psi with air from B1, by MV"
    log = (ledger / "fills/2026.csv").read_text().splitlines()[1:]
    assert [row.split(",")[3:6] for row in log] == [
        ["500 psi", "200 bar", "70 degF"],
        ["40 bar", "2900 psi", "70 degF"],
    ]


def test_the_time_of_day_is_enough_on_a_named_day(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tb(*split("reading 14=1200 --at 09:30"))
    assert "\n2026-11-25T09:30:00" in (ledger / "fills/2026.csv").read_text()
