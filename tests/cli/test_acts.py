"""The recording commands: what people see, dry runs, JSON, help and refusals."""

from __future__ import annotations

import datetime as dt
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.cli import open_ledger
from tankbook.cli.commands import COMMANDS
from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
ON = ["--on", "2026-11-25"]
DOCS = Path(__file__).parents[2] / "docs"

ACTS = {
    name: COMMANDS[name]
    for name in (
        "book-in inspect sticker hold release reject condemn correct fill reading drain send back"
        " refit requalify done-elsewhere tidy"
    ).split()
}
SENT = "sent: [{on: 2026-11-02, by: MV, to: Northside, for: requalification}]\n"
LATE = "2026-11-20T17:10:00+01:00,RB-014,fill,,2900 psi,64 degF,air,,,MV,,,,,,"
EARLY = "2026-11-20T09:30:00+01:00,RB-014,reading,,900 psi,64 degF,,,,MV,,,,,,"
"""Two lines of the log, which holds one of them twice and in the wrong order."""


def bench() -> dict[str, str]:
    """A ledger with something for every act to be done to."""
    good = books.GOOD
    files = {
        "RB-014": good,
        "RB-015": good,
        "RB-016": good.replace("in-service", "held")
        + "held: [{on: 2026-03-01, by: MV, why: dent}]\n",
        "RB-017": good.replace("in-service", "at-test") + SENT,
        "RB-018": good.replace("in-service", "awaiting-inspection")
        + SENT.replace("requalification}", "requalification, back: 2026-11-20}"),
        "CU-061": good.replace("use: rental", "use: customer\nowner: C-0192"),
    }
    texts = {
        f"cylinders/{id_}.yaml": text.replace("K118204", f"K1182{number:02}")
        for number, (id_, text) in enumerate(files.items())
    }
    header = ",".join(columns(LogLine))
    texts["fills/2026.csv"] = "\n".join([header, LATE, EARLY, LATE, ""])
    texts["tankbook.yaml"] = books.SETTINGS + "operator: MV\nrequalifier: Northside Test House\n"
    return texts


@pytest.fixture(name="ledger")
def _ledger(write: Callable[[dict[str, str]], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    root = write(bench())
    monkeypatch.chdir(root)
    now = dt.datetime.fromisoformat("2026-11-25T12:00:00+01:00")
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: now)
    monkeypatch.setattr(open_ledger, "clock", now.date)
    return root


LINES = {
    "hold": 'hold 14 15 --why "thread 2 worn"',
    "release": 'release 16 --why "gauged by the requalifier"',
    "reject": 'reject 61 --why "line corrosion 0.9 mm deep" --told letter',
    "condemn": 'condemn 61 --by T123 --why "crack at the neck" --marked "CONDEMNED stamped"',
    "send": "send 14 15",
    "back": "back 17",
    "refit": "refit 18",
    "correct": 'correct 14 reading 09:30 --why "gauge misread" --set to=950',
    "tidy": "tidy",
    "requalify": "requalify 14 15 --on 2026-10 --by T123 --expansion 15=0.0551/0.0083L",
    "done-elsewhere": 'done-elsewhere 18 --visual --test hydro --who "Northside T123"'
    ' --done 2026-11 --stamp "11 T123 26" --checked in,out,valve --paper "binder 2"',
}
"""A working command line for every act."""


def content(root: Path) -> dict[str, bytes]:
    """Every file of a ledger but the lock's."""
    files = (p for p in root.rglob("*") if p.is_file() and ".tankbook" not in p.parts)
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in files}


def test_every_act_is_tried_here() -> None:
    assert set(LINES) <= set(ACTS)


@pytest.mark.parametrize("name", LINES)
def test_what_people_see(name: str, tb: Run, ledger: Path, snapshot: SnapshotAssertion) -> None:
    ran = tb(*ON, *shlex.split(LINES[name]))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == snapshot
    told = [line for line in ran.out.splitlines() if line[:1] not in {"+", "-", " ", "@"}]
    assert max(map(len, told)) <= 80


@pytest.mark.parametrize("name", LINES)
def test_the_ledger_is_sound_afterwards(name: str, tb: Run, ledger: Path) -> None:
    tb(*ON, *shlex.split(LINES[name]))
    assert tb("validate", *ON).code == 0


@pytest.mark.parametrize("name", LINES)
def test_a_dry_run_shows_the_same_change_and_writes_nothing(
    name: str, tb: Run, ledger: Path
) -> None:
    before = content(ledger)
    dry = tb(*ON, *shlex.split(LINES[name]), "--dry-run", "--json")
    assert content(ledger) == before
    assert not (ledger / ".tankbook").exists()
    real = tb(*ON, *shlex.split(LINES[name]), "--json")
    assert content(ledger) != before
    assert real.json == {**dry.json, "recorded": True, "dry_run": False}
    assert dry.json["recorded"] is False
    assert dry.json["diff"]
    assert tb(*ON, *shlex.split(LINES["hold"]), "--dry-run").first.startswith(
        ("Dry run, nothing was written: ", "NO")
    )


@pytest.mark.parametrize("name", LINES)
def test_the_shape_of_the_json_is_on_its_page(name: str, tb: Run, ledger: Path) -> None:
    got = tb(*ON, *shlex.split(LINES[name]), "--json").json
    section = (DOCS / "json.md").read_text(encoding="utf-8").split("## Recording commands\n")[1]
    assert set(got) == set(re.findall(r"^\| `(\w+)` \|", section.split("\n## ")[0], re.MULTILINE))
    refused = tb(*ON, "hold", "14", "--why", " ", "--json")
    assert refused.code == 1
    assert set(refused.json) == set(got)
    assert refused.json["reasons"] == ["--why is empty"]


@pytest.mark.parametrize("name", ACTS)
def test_help_has_the_shared_options_and_an_example_that_runs(
    name: str, tb: Run, ledger: Path
) -> None:
    ran = tb(name, "--help")
    assert (ran.code, ran.err) == (0, "")
    signed = () if name == "tidy" else ("--on", "--by")
    for option in (*signed, "--dry-run", "--commit", "--json", "--ledger"):
        assert option in ran.out
    assert f"Example: {ACTS[name].example}" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ACTS[name].briefly in tb("commands").out


@pytest.mark.parametrize("name", LINES)
def test_the_example_runs(name: str, tb: Run, ledger: Path) -> None:
    example = ACTS[name].example.removeprefix("tankbook ")
    ran = tb(*ON, *shlex.split(example), "--dry-run")
    assert ran.code in (0, 1), ran.err
    assert ran.out


@pytest.mark.parametrize(
    ("line", "code", "first"),
    [
        ("hold 99 --why dent", 2, ""),
        ("hold 14", 2, ""),
        (
            "hold 14 --why dent --by ZZ",
            1,
            "NO: ZZ is not among the people of tankbook.yaml (MV): name one of them, or write",
        ),
        ("hold 16 --why dent --by ZZ", 1, "NO, for 2 reasons; nothing was recorded:"),
        ("send 14 --for nothing", 2, ""),
        ("requalify 14 --on 2026-13 --by T123", 2, ""),
        (
            "requalify 14 15 --on 2026-10 --by T123 --total-expansion 0.1L --permanent-expansion 0.001L",
            2,
            "",
        ),
        ("requalify 14 --on 2026-10 --by T123 --expansion 14=0.0551", 2, ""),
        ("requalify 14 --on 2026-10 --by T123 --expansion 14=0.0551/0.0021", 2, ""),
        ("requalify 14 --on 2026-10 --by T123 --failed 14", 2, ""),
        ("release 16 --why ok --held yesterday", 2, ""),
        ("correct 99 held --why wrong", 2, ""),
        ("correct 16 held --why wrong --set why", 2, ""),
        ("correct 16 held", 1, "NO: --why is empty; nothing was recorded"),
    ],
)
def test_what_is_refused_is_one_line_and_writes_nothing(
    line: str, code: int, first: str, tb: Run, ledger: Path
) -> None:
    before = content(ledger)
    ran = tb(*ON, *shlex.split(line))
    assert ran.code == code
    assert content(ledger) == before
    if code == 2:
        assert ran.out == ""
        assert ran.err.startswith("tankbook: ")
        assert ran.err.count("\n") == 1
    else:
        assert ran.first == first


def test_expansions_of_one_cylinder_have_their_own_options(tb: Run, ledger: Path) -> None:
    options = ["--total-expansion", "0.0551L", "--permanent-expansion", "0.0083L"]
    ran = tb(*ON, "requalify", "14", "--on", "2026-10", "--by", "T123", *options)
    assert ran.first == "Hydrostatic test 2026-10 by T123: FAILED RB-014, now rejected"


def test_twin_words_are_understood(tb: Run, ledger: Path) -> None:
    ran = tb(*ON, "requalify", "14", "--on", "2026-10", "--by", "T123", "--method", "hydro")
    assert ran.first == "Hydrostatic test 2026-10 by T123: passed RB-014"


def test_the_operator_of_the_settings_signs(tb: Run, ledger: Path) -> None:
    tb(*ON, "hold", "14", "--why", "dent")
    text = (ledger / "cylinders/RB-014.yaml").read_text()
    assert '{on: 2026-11-25, by: MV, why: dent, at: "12:00"}' in text


def test_a_hold_dated_back_has_no_time_unless_it_is_said(tb: Run, ledger: Path) -> None:
    tb("--on", "2026-11-20", "hold", "15", "--why", "dent")
    assert "{on: 2026-11-20, by: MV, why: dent}" in (ledger / "cylinders/RB-015.yaml").read_text()
    ran = tb("--on", "2026-11-20", "hold", "14", "--why", "dent")
    assert ran.code == 1
    assert (
        "RB-014 was filled on 2026-11-20 at 17:10: say at what time it was set aside"
        in " ".join(ran.out.split())
    )
    ran = tb("--on", "2026-11-20", "hold", "14", "--why", "dent", "--at", "18:00")
    assert ran.code == 0
    assert tb("validate", *ON).code == 0


@pytest.mark.parametrize(
    "line",
    [
        "hold 14 --why x", "release 16 --why x", "reject 14 --why x", "send 14", "back 17",
        "refit 18", "correct 14 reading --why x", "inspect 14 --pass-all", "inspect 14",
        "reading 14=900 --at 09:00", "drain 14 --at 09:00", "fill 14 --to 3000 --at 09:00",
        "sticker 14", "condemn 14 --by T1 --why x --marked x", "book-in --serial A --use sale",
    ],
)  # fmt: skip
def test_nothing_is_recorded_of_a_day_to_come(line: str, tb: Run, ledger: Path) -> None:
    before = content(ledger)
    ran = tb("--on", "2026-11-26", *shlex.split(line))
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == (
        "tankbook: --on 2026-11-26 is a day to come: today is 2026-11-25; record it on the day it "
        "is done\n"
    )
    assert content(ledger) == before


HOSTILE = ["two\nlines", "\x1b[2J", "a" * 10_000, "\u202eback", "null", "tab\there"]


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize(
    "line",
    [
        ["hold", "14", "--why"], ["hold", "14", "--why", "x", "--by"], ["hold", "14", "--why", "x", "--at"],
        ["release", "16", "--why"], ["reject", "14", "--why"], ["reject", "14", "--why", "x", "--told"],
        ["condemn", "14", "--by", "T1", "--marked", "x", "--why"], ["send", "14", "--to"],
        ["requalify", "14", "--on", "2026-10", "--by"],
        ["requalify", "14", "--on", "2026-10", "--by", "T1", "--finding"],
        ["requalify", "14", "--on", "2026-10", "--by", "T1", "--clears"],
        ["correct", "14", "inspected", "--why"], ["correct", "14", "inspected", "--why", "x", "--set"],
        ["correct", "14", "removed", "--why", "x"], ["correct", "14", "--why", "x"],
        ["inspect", "14", "--pass-all", "--clears"], ["inspect", "14", "--pass-all", "--note"],
        ["inspect", "14", "--pass-all", "--checklist"],
        ["inspect", "14", "--pass-all", "--except", "o-ring:hold", "--what"],
        ["inspect", "14", "--pass-all", "--neck-thread", "SP12", "--same-valve", "--why"],
        ["fill", "14", "--to", "3000", "--at", "09:00", "--looked", "--note"],
        ["fill", "14", "--to", "3000", "--at", "09:00", "--happened"],
        ["book-in", "--serial", "A", "--use", "sale", "--maker"], ["sticker", "14", "--number"],
        ["book-in", "--use", "sale", "--serial"], ["hold", "--why", "x"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_hostile_texts_are_refused_in_short_lines(
    line: list[str], text: str, tb: Run, ledger: Path
) -> None:
    before = content(ledger)
    ran = tb(*ON, *line, text)
    if ran.code == 0:  # an ordinary word to some of them
        assert text == "null"
        return
    assert ran.code in (1, 2), ran.err[:300]
    assert content(ledger) == before
    said = ran.out + ran.err
    assert all(c.isprintable() or c == "\n" for c in said)
    assert len(said) < 4000
    if ran.code == 2:
        assert said.count("\n") == 1


def test_later_records_of_the_file_stay(tb: Run, ledger: Path) -> None:
    """An act dated back is written into the whole file, not into what was known that day."""
    tb(*ON, "hold", "14", "--why", "dent")
    ran = tb("--on", "2026-11-21", "hold", "14", "--why", "scratch")
    assert ran.code == 0
    text = (ledger / "cylinders/RB-014.yaml").read_text()
    assert text.index("why: dent") < text.index("why: scratch")


def test_a_broken_file_beside_is_told_and_does_not_stop_the_act(tb: Run, ledger: Path) -> None:
    (ledger / "cylinders/RB-015.yaml").write_text("serial: [\n")
    ran = tb(*ON, "hold", "14", "--why", "dent")
    assert ran.code == 0
    assert "1 file has faults (cylinders/RB-015.yaml)" in ran.err
    ran = tb(*ON, "hold", "14", "15", "--why", "scratch")
    assert ran.code == 1
    assert "RB-015: its file cannot be read" in ran.out


def test_a_line_of_an_unknown_cylinder_can_be_corrected(tb: Run, ledger: Path) -> None:
    log = ledger / "fills/2026.csv"
    log.write_text(log.read_text().replace("RB-014", "RB-041"))
    assert tb("validate", *ON).code == 1
    ran = tb(*ON, "correct", "RB-041", "reading", "--why", "typo", "--set", "cylinder=RB-014")
    assert ran.code == 0
    assert ran.first == "Struck out RB-041 reading 2026-11-20 09:30:00: typo; entered with"


def test_a_torn_log_is_not_tidied(tb: Run, ledger: Path) -> None:
    log = ledger / "fills/2026.csv"
    log.write_text(log.read_text() + LATE[:30])
    ran = tb("tidy")
    assert ran.code == 2
    assert ran.err.startswith("tankbook: fills/2026.csv:5:1: the last line is cut short")


def test_five_are_back_from_test_by_two_commands_of_somebody_who_is_no_inspector(
    tb: Run, ledger: Path
) -> None:
    away = books.GOOD.replace("in-service", "at-test").replace("2024-03", "2021-11") + SENT
    ids = [f"CL-00{n}" for n in range(1, 6)]
    texts = {f"cylinders/{i}.yaml": away.replace("K118204", f"K77{i[-3:]}") for i in ids}
    for path, text in texts.items():
        (ledger / path).write_text(text, encoding="utf-8")
    settings = (ledger / "tankbook.yaml").read_text(encoding="utf-8")
    people = settings.replace("people:\n", "people:\n  KT: {role: treasurer}\n")
    (ledger / "tankbook.yaml").write_text(people, encoding="utf-8")
    on = ["--on", "2026-11-24", "--by", "KT"]
    assert tb("rent", *ids, "--to", "B-1", *on).code == 1
    assert tb("back", *ids, *on).code == 0
    assert "awaiting inspection" in tb("rent", *ids, "--to", "B-1", *on).out
    done = ["--test", "hydro", "--visual", "--who", "Northside T123", "--done", "2026-11"]
    done += ["--checked", "in,out,threads,valve", "--paper", "invoice 88", "--stamp", "11 T123 26"]
    assert tb("done-elsewhere", *ids, *done, *on).code == 0
    assert tb("validate", *ON).code == 0
    filled = ["--source", "elsewhere: Weir", "--looked", "--at", "16:00"]
    assert tb("fill", *ids, "--to", "2900psi", *filled, *on).code == 0
    assert tb("rent", *ids, "--to", "B-1", *on).code == 0
    said = tb("history", "CL-001", "--json").json["events"]
    assert [e["values"].get("seen_by") for e in said if e["what"] == "inspected"] == [None, "KT"]
