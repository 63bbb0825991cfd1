"""A name in a script without glyphs blocks no paper: a line to write on stands in its place, the
rest is printed, and the answer says where it is written."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pdf as seen
import pytest

from tankbook.cli.commands import COMMANDS

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")
CHINESE, HEBREW = "潜水", "\N{HEBREW LETTER SHIN}\N{HEBREW LETTER LAMED}"

SETTINGS = books.with_lines(books.SETTINGS, ledger=f"{CHINESE} Quay") + "oxygen_pressure: 1.4 ata\n"
STATION = (
    books.STATION
    + """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-25, pressure: 4400 psi}]}
regulator_set: 3000 psi
positions: [{name: P1, kind: enclosed, whip: W1}]
whips: [{name: W1, checked: [{on: 2026-04-02, by: MV, result: pass}]}]
"""
)
CARD = books.with_lines(
    books.GOOD, serial=f"{CHINESE}-K118204", service="nitrox", owner=f"{CHINESE}-7", place="rack 1"
)
HELD = books.GOOD.replace("K118204", "K2") + (
    f"held:\n  - {{on: 2026-11-01, by: MV, why: {CHINESE} dent}}\n"
    f"sent:\n  - {{on: 2026-10-01, by: MV, to: {CHINESE} House, for: repair, back: 2026-10-02}}\n"
)
SOLD = books.GOOD.replace("K118204", f"{CHINESE}-3").replace("in-service", "sold") + (
    f"handed_over:\n  - {{on: 2026-11-20, to: {CHINESE}-9, by: MV}}\n"
)
LOG = (
    "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
    f"2026-11-24T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,70 degF,air,20.9 %,,MV,{CHINESE},,,,,{CHINESE} wet\n"
)
COUNTER = f"""\
incidents:
  - {{on: 2026-11-20, by: MV, what: "hose burst, {CHINESE}", place: fill room}}
"""

PAPERS = (
    "tags RB-014 --kind tag",
    "tags RB-014 --kind identity",
    "tags RB-014 --kind analysis",
    "tags RB-014 --kind strip",
    "tags RB-015 --kind do-not-fill",
    "tags RB-014 --kind rental",
    "tags RB-016 --kind slip",
    "sheet RB-014",
    "list --count-sheet",
    "plan RB-014=500 --ambient 70",
    "fills --month 2026-11",
    "incidents 2026-11-20",
    "incident {CHINESE} RB-014 --by MV",
    "wall",
    "report",
    "report --one-page",
    "slip RB-016",
    "receipt RB-016",
    "committee",
    "dispatch 2026-10-01",
    "dispatch 2026-10-01 --back",
)


@pytest.fixture(name="quay")
def _quay(write: Callable[..., Path]) -> Path:
    return write(
        {
            "tankbook.yaml": SETTINGS,
            "station.yaml": STATION,
            "cylinders/RB-014.yaml": CARD,
            "cylinders/RB-015.yaml": books.with_lines(HELD, status="held"),
            "cylinders/RB-016.yaml": SOLD,
            "fills/2026.csv": LOG,
            "counter.yaml": COUNTER,
        }
    )


def test_every_command_that_prints_is_tried() -> None:
    """All that take `--pdf`."""
    prints = {n for n, c in COMMANDS.items() if "pdf" in inspect.signature(c.function).parameters}
    assert prints == {line.split()[0] for line in PAPERS}


@pytest.mark.parametrize("line", PAPERS)
def test_it_is_printed_with_a_line_to_write_on(
    line: str, tb: Run, quay: Path, tmp_path: Path
) -> None:
    words = line.replace("{CHINESE}", f"{CHINESE}").split()
    ran = tb(*words, *ON, "--ledger", quay, "--pdf", "x.pdf")
    assert (tmp_path / "x.pdf").exists(), ran.out + ran.err
    text = seen.text_of((tmp_path / "x.pdf").read_bytes())
    assert "____" in text
    told = " ".join(ran.out.split())
    assert "cannot be printed (U+" in told
    assert "a line to write on stands there" in told
    assert re.search(r"\.(yaml|csv):\d+:\d+: ", told), told


@pytest.mark.parametrize("line", PAPERS)
def test_json_tells_it_too(line: str, tb: Run, quay: Path) -> None:
    """Under `not_printed` where the answer is an object, on standard error where it is a list or
    is of what was recorded."""
    words = line.replace("{CHINESE}", f"{CHINESE}").split()
    ran = tb(*words, *ON, "--ledger", quay, "--pdf", "x.pdf", "--json")
    inside = isinstance(ran.json, dict) and words[0] != "incident"
    told = ran.json["not_printed"] if inside else ran.err.splitlines()
    assert any("a line to write on stands there" in each for each in told), ran.out + ran.err


@pytest.mark.parametrize("more", [(), ("--json",), ("--dry-run",)])
def test_an_incident_is_told_with_the_line_that_it_got(
    more: tuple[str, ...], tb: Run, quay: Path
) -> None:
    """The line of `what` in the file as it stands then; where nothing was written, there is none."""
    ran = tb(
        "incident", f"{CHINESE} fell", "RB-014", "--by", "MV", *ON, "--ledger", quay,
        "--pdf", "x.pdf", *more,
    )  # fmt: skip
    said = " ".join((ran.err if "--json" in more else ran.out).split())
    found = re.findall(r"counter\.yaml:(\d+):\d+: what: ", said)
    if "--dry-run" in more:
        assert found == []
        return
    (number,) = found
    assert CHINESE in (quay / "counter.yaml").read_text("utf-8").splitlines()[int(number) - 1]


def test_the_place_is_named_by_file_and_key(tb: Run, quay: Path) -> None:
    told = " ".join(tb("wall", *ON, "--ledger", quay, "--pdf", "x.pdf").out.split())
    assert f"tankbook.yaml:5:9: ledger: `{CHINESE}` cannot be printed (U+6F5C, " in told
    assert tb("wall", *ON, "--ledger", quay, "--pdf", "x.pdf", "--json").json["not_printed"]
