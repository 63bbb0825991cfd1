"""The first line of every answer says one thing, and counts as the gate does, whatever is wrong."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from cove import small_cove

Run = Callable[..., Any]
ON = "2026-11-25"
TESTS = Path(__file__).resolve().parents[1]

FAILED = (
    "air_tests:\n"
    "  - {on: 2026-11-20, by: Harbor Air Lab, standard: cga-grade-e, result: fail, source: C1}\n"
)
NO_REASON = "removed:\n  - {on: 2026-11-01, by: MV, what: held 2026-02-09, why: '.'}\n"
CONDEMNED = "condemned:\n  - {on: 2026-11-01, by: Requalifier, why: cracked at the neck}\n"


def _nothing(root: Path) -> None:
    pass


def _written(path: str, text: str) -> Callable[[Path], None]:
    def write(root: Path) -> None:
        (root / path).parent.mkdir(exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")

    return write


def _failed(root: Path) -> None:
    path = root / "station.yaml"
    text = path.read_text(encoding="utf-8")
    assert "air_tests:\n" in text
    path.write_text(text.replace("air_tests:\n", FAILED, 1), encoding="utf-8")


def _added(path: str, text: str) -> Callable[[Path], None]:
    def add(root: Path) -> None:
        with (root / path).open("a", encoding="utf-8") as file:
            file.write(text)

    return add


def _none(root: Path) -> None:
    for each in ("cylinders", "sets", "fills"):
        shutil.rmtree(root / each)
    (root / "bookings.csv").unlink()


def _no_station(root: Path) -> None:
    (root / "station.yaml").unlink()


def _each_condemned(root: Path) -> None:
    for path in (root / "cylinders").iterdir():
        text = path.read_text(encoding="utf-8")
        if "condemned:" not in text:
            path.write_text(text + CONDEMNED, encoding="utf-8")


STATES: dict[str, Callable[[Path], None]] = {
    "all is well": _nothing,
    "one card refused": _added("cylinders/RB-014.yaml", CONDEMNED),
    "one card unread": _written("cylinders/RB-032.yaml", "serial: [\n"),
    "one card at fault": _added("cylinders/RB-014.yaml", "status: held\n"),
    "each card refused": _each_condemned,
    "the station closed": _failed,
    "the station unread": _written("station.yaml", "banks: [\n"),
    "no station": _no_station,
    "the log unread": _written("fills/2026.csv", "x,y\n1,2\n"),
    "rules unread": _written("rules/shop.yaml", "heading: [\n"),
    "settings at fault": _added("tankbook.yaml", NO_REASON),
    "settings at fault, station closed": lambda root: (_failed(root), _added("tankbook.yaml", NO_REASON)(root))[0],
    "a set astray": lambda root: (root / "sets/DB-01.yaml").replace(root / "cylinders/DB-01.yaml") and None,
    "a fault nobody needs": _written("sheets/x.yaml", "paper: [\n"),
    "a README in each folder": _written("fills/README.md", "# The log\n"),
    "nothing booked in": _none,
}  # fmt: skip
BROKEN = sorted(p.name for p in (TESTS / "broken").iterdir() if (p / "cylinders").is_dir())
BROKEN = [name for name in BROKEN if name not in {"rule-set"}]

FLEET = ["", "list", "list --ready", "list --where fill=yes", "due", "fleet", "report", "station", "station size", "rentals", "stock",
         "jobs", "leaks", "fills", "costs", "recall B1"]  # fmt: skip
ONE = ["show {}", "may-fill {}", "tags {}", "sheet {}", "capacity {}", "plan {}=500", "history {}", "blend {} --to nitrox32"]  # fmt: skip
TOLD = re.compile(r"NOT READ|that the law asks for missing|VANISHED|PENDING|DOES NOT HOLD")
COUNTED = re.compile(r"(?<!of )(\d+) (?:may be filled|fit to be filled)\b|FILL SHEET for (\d+) of")
OPEN = re.compile(r"\bStation open\b|^OPEN\b|^YES\b|: may be filled,")
YES = re.compile(r"^YES\b|: may be filled,|^1 of 1 filled")
NOTHING = "NOTHING MAY BE FILLED HERE"
HAS_ITS_NO = (
    "due",
    "may-fill",
    "plan",
    "blend",
    "capacity",
    "station",
    "rentals",
    "equalize",
    "wall",
    "calendar",
)


@pytest.fixture(name="root", params=[*STATES, *(f"broken {name}" for name in BROKEN)])
def _root(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    root = tmp_path / "cove"
    kind, _, name = request.param.partition(" ")
    if kind == "broken" and name in BROKEN:
        shutil.copytree(TESTS / "broken" / name, root)
        return root
    small_cove(root)
    STATES[request.param](root)
    return root


def sentence(text: str) -> str:
    """The first line, with what did not fit into it."""
    lines = text.split("\n\n", 1)[0].splitlines()
    first = lines[:1]
    for line in lines[1:] if len(lines[0]) < 100 else []:
        if not line.startswith(" ") and not text.startswith("As of"):
            break
        first.append(line.strip())
    return " ".join(first)


def gate(tb: Run, root: Path, rows: list[dict[str, Any]]) -> set[str]:
    """Those of some listed that `may-fill` says yes to, for what each holds."""
    gases: dict[str, list[str]] = {}
    for row in rows:
        gases.setdefault(row["gas"] or "", []).append(row["id"])
    found: set[str] = set()
    for gas, ids in gases.items():
        asked = [*ids, *(("--gas", gas) if gas else ())]
        for each in tb("--ledger", root, "--on", ON, "--json", "may-fill", *asked).json:
            found |= {each["id"]} if each.get("fillable") else set()
    return found


def test_a_first_line_says_one_thing_and_counts_as_the_gate_does(tb: Run, root: Path) -> None:
    """And exit code, first line and data agree on what is not known."""
    where = ("--ledger", root, "--on", ON)
    listed = [r for r in tb(*where, "--json", "list").json if "id" in r]
    yes = gate(tb, root, listed)
    ready = {r["id"] for r in listed if r["ready"]}
    assert {r["id"] for r in listed if r["fillable"]} == yes
    fleet = tb(*where, "--json", "fleet").json
    assert sum(g["fillable"] for g in fleet["groups"]) == len(yes)
    one = next((r["id"] for r in listed if r["id"] in {"RB-014", "AA-01"}), "")
    wanted = {"list --ready": len(yes & ready)}
    for asked in (*FLEET, *(ONE if one else ())):
        arguments = shlex.split(asked.format(one))
        text = tb(*where, *arguments)
        if text.code != 2 and text.out:
            _agree(asked, text, tb(*where, "--json", *arguments), listed)
        if not text.out:
            assert text.code == 2, (asked, text.err)
            continue
        first = sentence(text.out)
        for a, b in COUNTED.findall(first):
            if b:  # a sheet for the lake: this station is not asked
                assert int(b) >= int(one in yes), (asked, first)
            else:
                assert int(a) == wanted.get(asked, len(yes)), (asked, first)
        if NOTHING in first or "CLOSED" in first:
            assert not yes, (asked, first)
            assert not OPEN.search(first), (asked, first)
        if YES.search(first):
            assert one in yes, (asked, first)


def _agree(asked: str, text: Any, data: Any, listed: list[dict[str, Any]]) -> None:
    assert text.code == data.code, (asked, text.out[:200])
    found = data.json if isinstance(data.json, list) else data.json.get("faults", [])
    faults = [f for f in found if isinstance(f, dict) and f.get("kind") in {"fault", "pending"}]
    own = [f for f in faults if f["path"] not in {r["id"] for r in listed}]
    told = bool(TOLD.search(sentence(text.out)) or TOLD.search(text.out[:600]))
    assert told == bool(own), (asked, text.out[:300], own)
    assert not own or text.code == 1, (asked, text.code)
    if not own and not asked.startswith(HAS_ITS_NO):
        assert text.code == 0, (asked, text.out[:200])


def test_what_is_asked_of_one_is_refused_as_the_gate_does(tb: Run, root: Path) -> None:
    """`show`, `plan`, `sheet` and `may-fill` give one cylinder one answer."""
    where = ("--ledger", root, "--on", ON)
    listed = [r for r in tb(*where, "--json", "list").json if "id" in r]
    one = next((r for r in listed if r["id"] in {"RB-014", "AA-01"}), None)
    if one is None:
        return
    yes = one["id"] in gate(tb, root, [one])
    shown = sentence(tb(*where, "show", one["id"]).out)
    assert (": may be filled," in shown) is yes, shown
    assert ("DO NOT FILL" in shown) is not yes, shown
    (line,) = (e for e in tb(*where, "--json", "sheet", one["id"]).json if "id" in e)
    assert line["fillable"] or not yes  # it is filled at the lake: this station is not asked
    planned = tb(*where, "plan", f"{one['id']}=500")
    if not yes:
        assert planned.code != 0, planned.out
