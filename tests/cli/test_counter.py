"""The counter's commands: what people see, dry runs, JSON, help and refusals."""

from __future__ import annotations

import datetime as dt
import json
import re
import shlex
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import books
import pytest
from lines import READING
from syrupy.assertion import SnapshotAssertion

from tankbook.cli import keys, open_ledger
from tankbook.cli.commands import BY_WORK, COMMANDS, WorkArea, every_line
from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
DOCS = Path(__file__).parents[2] / "docs"

GOOD_BEFORE = """\
  - {on: 2026-11-24, by: Example Air Lab, standard: cga-grade-e, result: pass, co: 1 ppm, source: C1}
"""
STATION = f"""\
compressor: {{name: C1}}
banks:
  - {{name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{{on: 2024-03, method: hydrostatic, by: T123}}]}}
air_tests:
  - {{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1}}
{GOOD_BEFORE}  - {{on: 2026-11-25, by: Example Air Lab, standard: cga-grade-e, result: fail, co: 18 ppm,
     source: C1}}
regulator_set: 3000 psi
gauge_error: 50 psi
"""
SETTINGS = books.SETTINGS + (
    "operator: MV\nprices: {hydro: 45.00 USD, visual: 18.50 USD, fill: 9.00 USD}\n"
    "sticker: {policy: at-hand-over}\nambient: 68 degF\n"
)
OUT = "status: out\nrented: [{on: 2026-11-24, to: B-4471, until: %s, by: MV}]"
JOB = "jobs: [{on: 2026-11-20, by: MV, work: [visual, fill], reference: C-0192, promised: %s%s}]"
CUSTOMER = books.GOOD.replace("use: rental", "use: customer\nowner: C-0192")
SALE = books.GOOD.replace("use: rental", "use: sale\nprice: 189.00 USD").replace(
    "sticker: issued", "sticker: withheld"
)
READY = ", state: ready, ready: 2026-11-24"

OF_STATION = ("recall", "leaks", "sheet")
EVERY = every_line(
    {**BY_WORK[WorkArea.COUNTER], "jobs": COMMANDS["jobs"], **{n: COMMANDS[n] for n in OF_STATION}}
)
"""What is done at the counter, and what else is tried here."""

CONTACTS = "reference,name,phone\nB-4471,A. Example,555 0100\nC-0192,B. Example,\n"
BOOKINGS = """\
date,reference,use,size,gas,count
2026-11-25,B-4480,rental,11.1 L,air,2
2026-11-28,B-4490,rental,11.1 L,air,6
"""


def fill(day: int, id_: str, to: str = "3000", source: str = "B1", temperature: str = "68") -> str:
    at = f"2026-11-{day:02}T09:30:00+01:00"
    return f"{at},{id_},fill,500 psi,{to} psi,{temperature} degF,air,,,MV,,{source},,,,"


def files() -> dict[str, str]:
    """A shop with something for every command to be done to or told of."""
    good = books.GOOD
    out = {
        "RB-014": good.replace("in-service", "in-service\nplace: rack 1"),
        "RB-015": good,
        "RB-016": good.replace("status: in-service", OUT % "2026-11-23"),
        "RB-017": good.replace("status: in-service", OUT % "2026-11-25"),
        "RB-018": good.replace("2026-02-09", "2025-11-27"),
        "RB-031": good,
        "RB-032": good,
        "CU-061": CUSTOMER,
        "CU-062": CUSTOMER + JOB % ("2026-11-25", "") + "\n",
        "CU-063": CUSTOMER.replace("in-service", "awaiting-collection")
        + JOB % ("2026-11-24", READY)
        + "\n",
        "CU-064": CUSTOMER.replace("2026-02-09", "2025-02-09"),
        "RB-022": good.replace(
            "status: in-service",
            "status: at-test\nsent: [{on: 2026-11-13, by: MV, to: Northside, for: requalification}]",
        ),
        "SF-051": SALE,
        "SF-052": SALE.replace("2026-02-09", "2025-02-09"),
    }
    texts = {
        f"cylinders/{id_}.yaml": text.replace("K118204", f"K1182{number:02}")
        for number, (id_, text) in enumerate(out.items())
    }
    texts["sets/DB-02.yaml"] = "cylinders: [RB-031, RB-032]\nisolator: open\nuse: rental\n"
    lines = [
        fill(1, "RB-014"),
        fill(2, "RB-015"),
        fill(3, "DB-02"),
        fill(4, "RB-018", source="C1"),
        fill(5, "RB-016"),
        fill(6, "CU-061", source=""),
        fill(7, "SF-051"),
        "2026-11-20T09:30:00+01:00,RB-015,reading,,2800 psi,68 degF,,,,MV,,,,,,",
    ]
    texts["fills/2026.csv"] = "\n".join([",".join(columns(LogLine)), *lines, ""])
    texts["bookings.csv"] = BOOKINGS
    texts["contacts.csv"] = CONTACTS
    texts["tankbook.yaml"] = SETTINGS
    texts["station.yaml"] = STATION
    return texts


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    root = write(files())
    monkeypatch.chdir(root)
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    now = dt.datetime.fromisoformat("2026-11-25T12:00:00+01:00")
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: now)
    monkeypatch.setattr(open_ledger, "clock", now.date)
    return root


ACTS = {
    "rent": "rent 14=2950 DB-02 --to B-4480 --until 2026-11-26 --temperature 68 --at 10:00",
    "rent chosen": "rent --to B-4480",
    "return": "return 16=600 17=0/open --valve closed --damage '16=handwheel cracked' --at 10:30",
    "refuse": 'refuse 64 --told "in person"',
    "refuse stranger": 'refuse --marks "DOT-3AL 3000 Z990204 09A21" --told "in person"',
    "stolen": 'stolen RB-014 --why "police notice of 20 Nov" --ref N-4471',
    "incident": 'incident "vented in the rack" 14 DB-02 --at 10:00 --reading 14=2100 --told police',
    "jobs open": "jobs open 61 --work visual,fill --promised 2026-12-01",
    "jobs update": "jobs update 62 --state awaiting-parts --promised 2026-12-02 --told telephone",
    "jobs done": "jobs done 62",
    "jobs collect": "jobs collect 63 --analysed 20.9",
    "hand-over": "hand-over 51 --to C-0192 --price 180USD",
    "recall held": "recall --hold",
    "count": "count 14 15 18 31 CU-062 63 SF-051 52 16 --missing-are-lost",
}
"""A working command line for every act."""

ANSWERS = {
    "rentals": "rentals",
    "jobs": "jobs",
    "stock": "stock",
    "leaks": "leaks",
    "incidents": "incidents",
    "recall": "recall",
    "recall notice": "recall --serial-from K118200 --serial-to K118203",
    "receipt": "receipt 17",
    "dispatch": "dispatch",
    "sheet": "sheet 14 64 DB-02",
    "count sheet": "list --count-sheet",
}
"""A working command line for every answer."""

CODES = {"leaks": 1, "count": 0}


def without_good_before(ledger: Path) -> None:
    """Make all that was filled suspect: nobody sampled the air well since October."""
    path = ledger / "station.yaml"
    path.write_text(path.read_text().replace(GOOD_BEFORE, ""))


def content(root: Path) -> dict[str, bytes]:
    """Every file of a ledger but the lock's."""
    found = (p for p in root.rglob("*") if p.is_file() and ".tankbook" not in p.parts)
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in found}


def split(line: str) -> list[str]:
    return shlex.split(line)


def test_every_command_is_tried_here() -> None:
    assert EVERY.keys() - {"slip"} <= {*ACTS, *ANSWERS}


# --- what people see


@pytest.mark.parametrize("name", [*ACTS, *ANSWERS])
def test_what_people_see(name: str, tb: Run, ledger: Path, snapshot: SnapshotAssertion) -> None:
    if name in {"recall", "recall held"}:
        without_good_before(ledger)
    ran = tb(*ON, *split({**ACTS, **ANSWERS}[name]))
    assert (ran.code, ran.err) == (CODES.get(name, 0), "")
    assert ran.out == snapshot
    told = [line for line in ran.out.splitlines() if line[:1] not in {"+", "-", "@"}]
    assert max(map(len, (line for line in told if "{" not in line))) <= 80
    assert ran.out.isascii()


@pytest.mark.parametrize("name", ACTS)
def test_the_ledger_is_sound_afterwards(name: str, tb: Run, ledger: Path) -> None:
    before = {f["text"] for f in tb("validate", *ON, "--json").json if f["severity"] == "fault"}
    tb(*ON, *split(ACTS[name]))
    after = {f["text"] for f in tb("validate", *ON, "--json").json if f["severity"] == "fault"}
    assert after <= before


@pytest.mark.parametrize("name", ACTS)
def test_a_dry_run_writes_nothing_and_the_act_itself_does(name: str, tb: Run, ledger: Path) -> None:
    before = content(ledger)
    dry = tb(*ON, *split(ACTS[name]), "--dry-run", "--json")
    assert content(ledger) == before
    real = tb(*ON, *split(ACTS[name]), "--json")
    assert content(ledger) != before
    assert real.json == {**dry.json, "recorded": True, "dry_run": False}
    assert dry.json["diff"]


@pytest.mark.parametrize("name", [n for n in ACTS if n not in {"recall held"}])
def test_an_act_done_twice_is_refused_or_changes_no_more(name: str, tb: Run, ledger: Path) -> None:
    tb(*ON, *split(ACTS[name]))
    after = content(ledger)
    again = tb(*ON, *split(ACTS[name]))
    if name in {"refuse", "refuse stranger", "jobs update"}:
        return  # a customer may be refused twice, and told twice
    assert again.code in (0, 1)
    assert content(ledger) == after or name == "rent chosen"


# --- names


def test_names_are_told_where_they_are_asked_for_and_known(tb: Run, ledger: Path) -> None:
    without_good_before(ledger)
    assert "B-4471 A. Example" in tb(*ON, "rentals", "--names").out
    assert tb(*ON, "jobs", "--names", "--json").json["jobs"][0]["for"]["name"] == "B. Example"
    rung = tb(*ON, "recall", "--names", "--json").json["cylinders"][0]["ring"]
    assert rung == {"reference": "C-0192", "name": "B. Example", "phone": None}
    assert "add --names" in tb(*ON, "rentals").out
    assert "add --names" not in tb(*ON, "rentals", "--names").out
    (ledger / "contacts.csv").unlink()
    assert "B-4471" in tb(*ON, "rentals", "--names").out
    assert "Example" not in tb(*ON, "rentals", "--names").out + tb(*ON, "jobs", "--names").out
    assert "add --names" not in tb(*ON, "rentals").out


@pytest.mark.parametrize("json", [(), ("--json",)])
def test_no_name_leaves_a_command_unasked(tb: Run, ledger: Path, json: tuple[str, ...]) -> None:
    (ledger / "contacts.csv").write_text(
        "reference,name,phone\n"
        + "".join(f"{who},Zed Unasked,555 0199\n" for who in ("B-4471", "C-0192", "C-0201"))
    )
    for name, line in READING.items():
        plain = [each for each in line if each != "--names"]
        ran = tb(*ON, *json, *name.split(), *plain)
        assert "Zed" not in ran.out + ran.err, name
        assert "0199" not in ran.out + ran.err, name
    for line in (*ACTS.values(), "recall --hold"):
        ran = tb(*ON, *split(line), *json)
        assert "Zed" not in ran.out + ran.err, line


def test_no_act_writes_a_name_into_the_ledger(tb: Run, ledger: Path) -> None:
    for line in ACTS.values():
        tb(*ON, *split(line))
    written = content(ledger)
    del written["contacts.csv"]
    assert not any(b"A. Example" in text or b"B. Example" in text for text in written.values())


# --- refusals and requests that make no sense


@pytest.mark.parametrize(
    ("line", "code", "said"),
    [
        ("rent 14 18 --to B-1 --until 2026-12-01", 1, "RB-018: its visual lapses after 2026-11-27"),
        ("rent 14 --to 'Jo Bloggs'", 1, "reads like a name"),
        ("rent 14", 2, "missing option '--to'"),
        ("rent 14 --to B-1 --count 2", 2, "--count and --size choose"),
        ("rent --to B-77", 1, "nothing is booked for B-77 today"),
        ("rent --to B-1 --count 9", 1, "9 cylinders wanted, and 4 are full and may go"),
        ("rent 14 --to B-1 --until tomorrow", 2, "is not a calendar day"),
        ("return 16 --at 10:30", 1, "RB-016: say its pressure, as in RB-016=500"),
        ("return 16=600 --at 10:30", 1, "say whether its valve was found closed or open"),
        ("return 16=600 --valve ajar --at 10:30", 2, "--valve: 'ajar' is not known"),
        ("return 14=600/closed --at 10:30", 1, "RB-014 is not out"),
        ("return 16=600/closed --damage 17=dent --at 10:30", 2, "is none of those that came back"),
        ("return 16=600/closed", 2, "--on names a day and not the time"),
        ("refuse 14", 1, "nothing on record stands against it"),
        ("refuse 14 --earlier", 2, "--earlier records only that the owner was told"),
        ("jobs open 61 --work polish", 2, "--work: 'polish' is not known"),
        ("jobs open 61 --work fill --price 9", 2, "--price"),
        ("jobs collect 62", 1, "say with --note why it goes unfinished"),
        ("hand-over 52 --to C-1", 1, "visual lapsed Feb 2026"),
        ("hand-over 14 --to C-1", 1, "is kept for rental: set `use: sale`"),
        ("slip 51", 2, "SF-051 was not handed over"),
        ("recall B7", 2, "no fill names 'B7'; known: C1, B1"),
        ("recall B1 --notice x", 2, "a recall is of a source or of a notice"),
        ("recall --notice x", 2, "no watch row in force is called 'x'"),
        ("recall --serial-from ZZ1 --hold", 1, "the recall touches no cylinder"),
        ("count", 2, "nothing is named that was found"),
        ("count --from gone.txt", 2, "there is no such file"),
        ("sheet 99", 2, "no cylinder or set of this ledger ends so"),
    ],
)
def test_what_is_refused_writes_nothing(
    line: str, code: int, said: str, tb: Run, ledger: Path
) -> None:
    before = content(ledger)
    ran = tb(*ON, *split(line))
    assert ran.code == code
    assert content(ledger) == before
    assert said in " ".join((ran.out + ran.err).split())
    if code == 2:
        assert (ran.out, ran.err.count("\n")) == ("", 1)


def test_a_recall_needs_a_source_while_no_sample_has_failed(tb: Run, ledger: Path) -> None:
    path = ledger / "station.yaml"
    path.write_text(path.read_text().replace("result: fail, co: 18 ppm", "result: pass"))
    ran = tb(*ON, "recall")
    assert ran.code == 2
    assert "the newest air test did not fail; name the source: C1, B1" in ran.err


HOSTILE = ["two\nlines", "\x1b[2J", "a" * 10_000, "\u202eback", "tab\there"]


@pytest.mark.parametrize("text", HOSTILE, ids=["lines", "escape", "long", "backward", "tab"])
@pytest.mark.parametrize(
    "line",
    [
        "rent 14 --to", "rent 14 --to B-1 --happened", "rent 14 --to B-1 --until", "rent --to B-1 --size",
        "return 16=600/closed --at 10:30 --damage", "return 16=600 --at 10:30 --valve", "refuse 64 --reason",
        "refuse 64 --told", "refuse 64 --note", "jobs open 61 --work", "jobs open 61 --work fill --reference",
        "jobs open 61 --work fill --note", "jobs update 62 --told", "jobs update 62 --state", "jobs done 62 --told",
        "jobs collect 62 --note", "jobs done 62 --job", "hand-over 51 --to", "hand-over 51 --to C-1 --slip",
        "hand-over 51 --to C-1 --price", "count", "count 14 --note", "count 14 --found-why", "count --from",
        "recall --hold --why", "refuse",
    ],
)  # fmt: skip
def test_hostile_texts_are_refused_in_short_lines(
    line: str, text: str, tb: Run, ledger: Path
) -> None:
    before = content(ledger)
    ran = tb(*ON, *split(line), text)
    assert ran.code in (1, 2), ran.out[:500]
    assert content(ledger) == before
    said = ran.out + ran.err
    assert all(c.isprintable() or c == "\n" for c in said)
    assert len(said) < 4000
    if ran.code == 2:
        assert said.count("\n") == 1


@pytest.mark.parametrize("name", [n for n in ACTS if n != "recall held"])
def test_nothing_is_recorded_of_a_day_to_come(name: str, tb: Run, ledger: Path) -> None:
    before = content(ledger)
    ran = tb("--on", "2026-11-26", *split(ACTS[name]))
    assert (ran.code, ran.out) == (2, "")
    assert "--on 2026-11-26 is a day to come: today is 2026-11-25" in ran.err
    assert content(ledger) == before


def test_a_recall_of_today_holds_from_the_time_of_the_clock(tb: Run, ledger: Path) -> None:
    without_good_before(ledger)
    tb(*ON, "recall", "--hold")
    assert 'at: "12:00"' in (ledger / "cylinders/RB-018.yaml").read_text()


def test_what_is_missing_stays_open_until_it_is_said_to_be_lost(tb: Run, ledger: Path) -> None:
    ran = tb(*ON, "count", "14", "--place", "rack 1")
    assert (ran.code, ran.first) == (
        0,
        "COUNTED 1 in rack 1, missing 0, not expected here 0",
    )
    ran = tb(*ON, "count", "15", "--place", "rack 1")
    assert (ran.code, ran.first) == (
        1,
        "COUNTED 0 in rack 1, missing 1, not expected here 1",
    )
    assert "status: in-service" in (ledger / "cylinders/RB-014.yaml").read_text()


def test_a_count_is_keyed_in_from_a_file(tb: Run, ledger: Path, tmp_path: Path) -> None:
    (tmp_path / "found.txt").write_text("14, RB-015 # both by the door\nDB-02\n")
    ran = tb(*ON, "count", "--from", str(tmp_path / "found.txt"))
    assert ran.first == "COUNTED 4, missing 5, not expected here 0"


# --- asking at the terminal


def test_a_return_asks_for_what_the_line_does_not_say(
    tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    answers = iter(["700", "", "0"])

    def line(prompt: str) -> str:
        asked.append(prompt)
        return next(answers)

    def key(prompt: str, known: str) -> str:
        asked.append(prompt)
        return "c" if "RB-016" in prompt else "o"

    monkeypatch.setattr(keys, "is_terminal", lambda: True)
    monkeypatch.setattr(keys, "line", line)
    monkeypatch.setattr(keys, "key", key)
    ran = tb(*ON, "return", "16", "17", "--at", "10:30", "--damage", "17=dent")
    assert ran.first == "Back from rental: RB-016 700 psi closed, RB-017 0 psi open, by MV"
    assert asked == [
        "RB-016: pressure (psi), both sides as 600+650: ",
        "RB-016: valve [c]losed [o]pen: ",
        "RB-016: damage (nothing if none): ",
        "RB-017: pressure (psi), both sides as 600+650: ",
        "RB-017: valve [c]losed [o]pen: ",
    ]


# --- help, examples, JSON


@pytest.mark.parametrize("name", EVERY)
def test_help_has_an_example_that_runs(name: str, tb: Run, ledger: Path) -> None:
    ran = tb(*name.split(), "--help")
    assert (ran.code, ran.err) == (0, "")
    assert f"Example: {EVERY[name].example}" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    above = [*name.split()[:-1], "--help"] if " " in name else ["commands"]
    assert EVERY[name].briefly in tb(*above).out
    example = (
        EVERY[name].example.removeprefix("tankbook ").replace("22", "15").replace("=0/open", "=5")
    )
    run = tb(*ON, *split(example))
    assert run.code in (0, 1) or name in {"return", "slip"}, run.err


SHAPES = {"rentals": "rentals", "jobs": "jobs", "stock": "stock", "leaks": "leaks",
          "recall": "recall", "sheet": "sheet 14 64"}  # fmt: skip


def keys_in(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from keys_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_in(inner)


@pytest.mark.parametrize("name", [*SHAPES, "slip"])
def test_the_shape_of_the_json_is_on_its_page(name: str, tb: Run, ledger: Path) -> None:
    if name == "slip":
        tb(*ON, *split(ACTS["hand-over"]))
    got = tb(*ON, *split(SHAPES.get(name, "slip 51")), "--json")
    assert json.loads(got.out)
    page = (DOCS / "json.md").read_text(encoding="utf-8")
    assert f"\n## {name}\n" in page
    assert set(keys_in(got.json)) <= set(re.findall(r"`([A-Za-z_0-9]+)`", page))


def test_the_form_of_a_sheet_is_one_that_is_read_back(
    tb: Run, ledger: Path, tmp_path: Path
) -> None:
    from tankbook.ledger.keyed import read_sheet

    form = tb(*ON, "sheet", "14", "64", "DB-02", "--csv").out
    path = tmp_path / "lake.csv"
    path.write_text(form)
    assert [row["cylinder"] for row in read_sheet(path)] == ["RB-014", "DB-02"]


def test_doubles_with_a_shut_isolator_have_a_row_for_each_side(tb: Run, ledger: Path) -> None:
    path = ledger / "sets/DB-02.yaml"
    path.write_text(path.read_text().replace("open", "shut"))
    assert [r["id"] for r in tb(*ON, "sheet", "DB-02", "--json").json] == ["RB-031", "RB-032"]


# --- a sheet from the lake

LAKE = """\
cylinder,time,from,to,temperature,looked,by
14,14:30,500,2950,65,x,MV
64,14:35,500,2900,,x,MV
DB-02,14:40,700,2950,65,x,
99,14:45,500,2900,,x,
"""


@pytest.fixture(name="lake")
def _lake(ledger: Path, tmp_path: Path) -> Path:
    station = ledger / "station.yaml"
    text = station.read_text()
    station.write_text(text.replace("result: fail, co: 18 ppm", "result: pass, co: 1 ppm"))
    path = tmp_path / "lake.csv"
    path.write_text(LAKE)
    return path


def test_a_sheet_is_keyed_in_with_its_refused_rows_told(
    tb: Run, ledger: Path, lake: Path, snapshot: SnapshotAssertion
) -> None:
    ran = tb(*ON, "fill", "--sheet", str(lake), "--source", "B1")
    assert (ran.code, ran.err) == (1, "")
    assert ran.out == snapshot
    assert tb("validate", *ON).code == 0
    log = (ledger / "fills/2026.csv").read_text().splitlines()
    assert [line.split(",")[1] for line in log[-2:]] == ["RB-014", "DB-02"]


def test_a_sheet_keyed_in_again_adds_nothing(tb: Run, ledger: Path, lake: Path) -> None:
    tb(*ON, "fill", "--sheet", str(lake), "--source", "B1")
    before = content(ledger)
    again = tb(*ON, "fill", "--sheet", str(lake), "--source", "B1")
    assert again.first == "Keyed in 0 fills of 2026-11-25; 2 rows REFUSED"
    assert "in the log already, and passed over: RB-014, DB-02" in again.out
    assert content(ledger) == before


def test_a_sheet_says_everything_itself(tb: Run, lake: Path) -> None:
    ran = tb(*ON, "fill", "14", "--sheet", str(lake))
    assert ran.code == 2
    assert "--sheet is keyed in by itself" in ran.err


def test_the_tag_of_doubles_names_each_side_and_the_card_has_what_each_holds(
    tb: Run, ledger: Path
) -> None:
    one = tb(*ON, "tags", "DB-02").out
    assert "air, 3000 psi" not in one
    path = ledger / "sets/DB-02.yaml"
    path.write_text(path.read_text().replace("open", "shut"))
    two = tb(*ON, "tags", "DB-02").out
    assert "| RB-031      serial " in two
    assert "| RB-032      serial " in two
    assert [side["id"] for side in tb(*ON, "show", "DB-02", "--json").json["sides"]] == [
        "RB-031",
        "RB-032",
    ]


def test_what_a_note_tells_of_a_cylinder_is_told_as_it_goes_out(tb: Run, tmp_path: Path) -> None:
    root = tmp_path / "cove"
    shutil.copytree(Path(__file__).resolve().parents[2] / "example_ledger", root)
    card = root / "cylinders/RB-033.yaml"
    old = "{on: 2026-03-16, by: KD, checklist: annual, result: pass"
    text = card.read_text()
    assert old in text
    asked = ("--ledger", root, "rent", "RB-033", "--to", "B-1", "--on", "2026-11-27", "--dry-run")
    assert "WARNING: a note" not in tb(*asked).out
    card.write_text(text.replace(old, f"{old}, note: crack at the neck"))
    said = tb(*asked)
    assert said.code == 1
    assert "says `crack at the neck`, which somebody has to look at" in " ".join(said.out.split())
    card.write_text(text.replace(old, f"{old}, note: dent at the foot"))
    said = tb(*asked)
    assert said.code == 0
    assert "WARNING: a note speaks of dent" in " ".join(said.out.split())


@pytest.mark.parametrize("line", ["jobs", "rentals", "rentals --names", "recall C1 --names"])
def test_contacts_that_cannot_be_read_are_told_where_people_are_rung(
    tb: Run, ledger: Path, line: str
) -> None:
    (ledger / "contacts.csv").write_bytes(b"\xff\xfe\x00g")
    ran = tb(*ON, *line.split(), "--json")
    assert ran.code == 1
    assert [f["path"] for f in ran.json["faults"]] == ["contacts.csv"]
    assert "contacts.csv" in tb(*ON, *line.split()).out.split("\n\n")[0]
