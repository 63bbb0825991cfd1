"""`tankbook station size`: what people see, what is refused, and what it says of what is not known."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.output.page import Page
from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
Write = Callable[[dict[str, str]], Path]
ON = ("--on", "2026-11-25")
TEST = "requalified: [{on: 2024-03, method: hydrostatic, by: T123}]"
BANK = f"{{name: B1, water_volume: 50 L, working_pressure: 300 bar, gas: air, period: 10 years, {TEST}}}"
PUMP = "{name: C1, delivery: 180 L/min, max_pressure: 300 bar}"
HEAD = ",".join(columns(LogLine))


def lines(*times: str, id_: str = "RB-014") -> str:
    """A fill log: from 50 to 200 bar of air at 15 degC."""
    took = "fill,50 bar,200 bar,15 degC,air,,,MV,,,,,,"
    return "\n".join([HEAD, *(f"{at}+01:00,{id_},{took}" for at in times), ""])


@pytest.fixture(name="size")
def _size(tb: Run, write: Write) -> Run:
    """Run it on a ledger that reads bar: one cylinder, this station, this log."""

    def run(station: str, log: str = "", *line: str, **files: str) -> Any:
        given = {
            "tankbook.yaml": books.SETTINGS.replace("units: psi", "units: bar"),
            "station.yaml": f"ambient: 15 degC\n{station}",
            "cylinders/RB-014.yaml": books.GOOD,
            **({"fills/2026.csv": log} if log else {}),
            **files,
        }
        return tb("station", "size", *line, *ON, "--ledger", write(given))

    return run


@pytest.fixture(name="example")
def _example(tb: Run, example_ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setattr("tankbook.ledger.git.uncommitted", lambda _: [])
    return lambda line="", *more: tb(
        "station", "size", *line.split(), *more, *ON, "--ledger", example_ledger
    )


# --- what people see


@pytest.mark.parametrize(
    "line", ["", "--gas nitrox32 --add 300bar/50L", "--since 2026-07-01 --hours 2"]
)
def test_of_the_example(line: str, example: Run, snapshot: SnapshotAssertion) -> None:
    ran = example(line)
    assert ran.code == (1 if "nitrox" in line else 0)
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


STATIONS = {
    "a compressor alone": f"compressor: {PUMP}\n",
    "a bank alone": f"banks: [{BANK}]\n",
    "a bank that nothing brings so high": f"banks: [{BANK.replace('300 bar', '150 bar')}]\n",
    "both, and what is left out": (
        f"banks: [{BANK}, {{name: B2, water_volume: 50 L, gas: air}}, {{name: B3, water_volume: 50 L}}]\n"
        f"compressors: [{PUMP}, {{name: C2, delivery: 100 L/min}}]\n"
    ),
}
BUSY = lines(
    *(f"2026-11-20T09:{n:02d}:00" for n in range(9)),
    *(f"2026-11-21T18:{n:02d}:00" for n in range(3)),
    "2026-11-22T07:00:00", "2026-11-22T19:00:00",
    *["2026-11-23T12:00:00"] * 4,
    "2026-11-25T09:00:00",
)  # fmt: skip


@pytest.mark.parametrize("name", STATIONS)
@pytest.mark.parametrize("log", ["", BUSY], ids=["no log", "a log"])
def test_of_small_stations(name: str, log: str, size: Run, snapshot: SnapshotAssertion) -> None:
    ran = size(STATIONS[name], log)
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


def test_at_the_narrowest_and_what_is_not_known_of_a_rest(
    size: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tankbook.cli.open_ledger.page", lambda shore: Page(60, shore))
    pump = PUMP.replace("}", ", longest_run: 4 h}")
    low = BANK.replace("period", "readings: [{on: 2026-11-01, pressure: 90 bar}], period")
    ran = size(f"banks: [{low}, {low.replace('B1', 'B2')}]\ncompressor: {pump}\n", BUSY)
    assert max(map(len, ran.out.splitlines())) <= 60
    said = " ".join(ran.out.split())
    assert "How long C1 rests after 4 h is not recorded, and is taken as no time." in said
    assert "typically (the median) B1 90 bar of 1 reading; B2 90 bar of 1 reading." in said


# --- what is asked


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("--hours 0", "--hours: '0' is no part of a day; write it as 8, or 7.5 h"),
        ("--hours 25", "--hours: '25' is no part of a day"),
        ("--hours -1", "--hours: "),
        ("--hours x", "--hours: "),
        ("--since 2026-11-25", "--since: 2026-11-25 is not before 2026-11-25"),
        ("--since 2027-01-01", "--since: 2027-01-01 is not before 2026-11-25"),
        ("--since soon", "--since: 'soon' is not a calendar day"),
        ("--gas helio", "--gas: "),
        ("--add 4500", "--add: '4500' is no bank; write it as 4500/50L"),
        ("--add /50L", "--add: '/50L' is no bank"),
        ("--add 4500/", "--add: '4500/' is no bank"),
        ("--add 0/50L", "--add: '0/50L' holds nothing"),
        ("--add 4500/0L", "--add: '4500/0L' holds nothing"),
        ("--add 50L/4500", "--add: "),
        ("--add 99999/50L", "--add: "),
    ],
)
def test_what_cannot_be_meant_is_refused(line: str, said: str, example: Run) -> None:
    ran = example(line)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("station", "said"),
    [
        ("", "the station has no bank and no compressor to reckon with; write them in station.yaml"),
        ("compressor: {name: C1}\n", "compressor C1: its delivery or highest pressure is not recorded; write both"),
        (f"banks: [{BANK.replace('gas: air, ', '')}]\n", "bank B1: what it holds is not recorded; write it: `gas: air`"),
    ],
)  # fmt: skip
def test_what_is_missing_is_said_with_how_to_record_it(station: str, said: str, size: Run) -> None:
    ran = size(station, lines("2026-11-20T09:00:00"))
    assert (ran.code, ran.out) == (2, "")
    assert said in " ".join(ran.err.split())


def test_without_a_station_or_with_one_that_cannot_be_read(
    size: Run, tb: Run, write: Write
) -> None:
    root = write({"cylinders/RB-014.yaml": books.GOOD})
    (root / "station.yaml").unlink()
    ran = tb("station", "size", *ON, "--ledger", root)
    assert (ran.code, ran.out) == (2, "")
    assert "no station is on record; describe it in station.yaml" in ran.err
    unread = size("banks: [{name: B1}]\n")
    assert unread.code == 1
    assert unread.first.startswith("NO: the station's file cannot be read; 1 FILE NOT READ")
    assert "station.yaml:2:" in unread.out + size("banks: [{name: B1}]\n", "", "--json").out


def test_a_broken_log_is_told_by_its_place(size: Run) -> None:
    log = lines("2026-11-20T09:00:00", "2026-11-21T09:00:00").replace("50 bar", "much", 1)
    ran = size(f"compressor: {PUMP}\n", log)
    assert ran.code == 1
    assert ran.first.endswith("1 FILE NOT READ: fills/2026.csv")
    assert "INCOMPLETE: fills/2026.csv could not be read; fills may be missing." in ran.out
    data = size(f"compressor: {PUMP}\n", log, "--json")
    assert data.json["asked"]["unread"] == ["fills/2026.csv"]
    assert [f["path"] for f in data.json["faults"]] == ["fills/2026.csv"]


def test_a_booked_day_that_is_not_carried_is_a_no(size: Run) -> None:
    bookings = "date,reference,use,size,gas,count\n2026-11-28,B-1,rental,,air,2\n2026-12-05,B-2,class,,air,30\n"
    ran = size(f"banks: [{BANK}]\n", BUSY, "--json", **{"bookings.csv": bookings})
    assert ran.code == 1
    assert [(a["date"], a["fills"], a["carried"]) for a in ran.json["ahead"]] == [
        ("2026-11-28", 2, 2),
        ("2026-12-05", 30, 2),
    ]


# --- programs


def test_the_days_go_to_a_spreadsheet(size: Run) -> None:
    ran = size(f"banks: [{BANK}]\n", BUSY, "--csv")
    rows = list(csv.DictReader(io.StringIO(ran.out.lstrip("\ufeff"))))
    assert [(r["date"], r["fills"], r["carried"]) for r in rows] == [
        ("2026-11-20", "9", "2"),
        ("2026-11-21", "3", "2"),
        ("2026-11-22", "2", "2"),
        ("2026-11-23", "4", "2"),
    ]
    shown = size(f"banks: [{BANK}]\n", BUSY, "--json").json["days"]
    assert set(rows[0]) == set(shown[0])


def test_the_shape_of_the_json_is_on_its_page(size: Run) -> None:
    station = STATIONS["both, and what is left out"] + "positions: [{name: P1, kind: enclosed}]\n"
    bookings = "date,reference,use,size,gas,count\n2026-11-28,B-1,rental,,air,2\n"
    got = size(station, BUSY, "--json", **{"bookings.csv": bookings}).json
    page = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(\w+)`", page.split("\n## station size\n")[1].split("\n## ")[0]))

    def keys(value: Any) -> set[str]:
        if isinstance(value, dict):
            return set(value).union(*map(keys, value.values()))
        return set().union(*map(keys, value)) if isinstance(value, list) else set()

    assert keys(got) <= named
    for listed in ("banks", "compressors", "left_out", "choices", "days", "ahead"):
        assert got[listed], listed


def test_it_reads_alike_in_both_units(size: Run) -> None:
    """Free gas is counted at 70 degF or at 20 degC; what is carried is the same."""
    both = f"banks: [{BANK}]\ncompressor: {PUMP}\n"
    bar = size(both, BUSY, "--json").json
    psi = size(both, BUSY, "--json", **{"tankbook.yaml": books.SETTINGS}).json
    assert [c["full_banks"] for c in bar["choices"]] == [c["full_banks"] for c in psi["choices"]]
    assert [d["carried"] for d in bar["days"]] == [d["carried"] for d in psi["days"]]
    assert bar["counted_in"]["to_psi"] == pytest.approx(psi["counted_in"]["to_psi"])


@pytest.mark.parametrize("day", ["1900-01-01", "2199-12-31"])
def test_at_the_edges_of_the_calendar(day: str, tb: Run, write: Write) -> None:
    root = write({"station.yaml": f"compressor: {PUMP}\n", "cylinders/RB-014.yaml": books.GOOD})
    ran = tb("station", "size", "--on", day, "--ledger", root)
    assert ran.code in (0, 1)
    assert "no fill is logged" in " ".join(ran.out.split())


@pytest.mark.parametrize(
    ("station", "line", "said"),
    [
        ("", "", "delivery: 185 L/min, max_pressure: 300 bar}`, or ask of a bank, --add 300/50L"),
        ("compressor: {name: C1}\n", "", "`delivery: 185 L/min`, `max_pressure: 300 bar`"),
        (f"banks: [{BANK.replace('working_pressure: 300 bar, ', '')}]\n", "",
         "write it: `working_pressure: 300 bar`"),
        (f"banks: [{BANK}]\n", "--add 300", "write it as 300/50L"),
        (f"banks: [{BANK}]\n", "--add 0/50L", "write it as 300/50L"),
    ],
)  # fmt: skip
def test_a_mend_is_in_the_unit_that_the_ledger_reads(
    station: str, line: str, said: str, size: Run
) -> None:
    """They were in psi, and copied as they stand they would have been read as bar."""
    ran = size(station, "", *line.split())
    assert ran.code == 2
    assert said in " ".join(ran.err.split())
    assert "psi" not in ran.err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (("plan",), "name them, as in 14=35"),
        (("plan", "14="), "write 14=35"),
        (("plan", "14=50", "--bank", "B1"), "--bank B1=165"),
        (("plan", "14=50", "--rate", "14="), "--rate 91=28"),
        (("blend", "14", "--to", "nitrox32", "--bank", "B1"), "--bank B1=165"),
        (("station", "read", "B1"), "write it as B1=165"),
        (("return", "14", "--at", "09:00"), "as in RB-014=35"),
    ],
)
def test_so_is_every_reading_that_is_asked_for(
    line: tuple[str, ...], said: str, tb: Run, write: Write
) -> None:
    out = "rented:\n  - {on: 2026-11-20, to: B-1, until: 2026-11-22}\n"
    given = {
        "tankbook.yaml": books.SETTINGS.replace("units: psi", "units: bar") + "operator: MV\n",
        "station.yaml": f"ambient: 15 degC\nbanks: [{BANK}]\n",
        "cylinders/RB-014.yaml": books.GOOD + out,
    }
    ran = tb(*line, *ON, "--ledger", write(given))
    assert ran.code != 0
    assert said in " ".join((ran.out + ran.err).split())
