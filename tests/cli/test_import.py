"""`tankbook import`: a first day with somebody's own list, and lists that are messy each in its way."""

from __future__ import annotations

import codecs
import datetime as dt
import io
import json
import random
import re
import shlex
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from clubs import ANSWERS, CLUB
from pdf import text_of
from repos import ALONE

from tankbook.cli import open_ledger
from tankbook.ledger.load import load
from tankbook.ledger.text import RECORD_LIMIT

Run = Callable[..., Any]
DAY = "2026-11-25"


@pytest.fixture(name="here")
def _here(tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a new ledger, `quay`, on a day in November."""
    now = dt.datetime.fromisoformat(f"{DAY}T18:00:00+00:00")
    monkeypatch.setattr(open_ledger, "clock", now.date)
    monkeypatch.setattr(open_ledger, "moment_asked", lambda asked: now)
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)
    for who in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{who}_NAME", "Test")
        monkeypatch.setenv(f"GIT_{who}_EMAIL", "test@example.org")
        monkeypatch.setenv(f"GIT_{who}_DATE", f"{DAY}T17:00:00+00:00")
    assert tb("init", "quay", "--units", "bar", "--rules", "us-dot", "--no-git").code == 0
    return tmp_path


class Club:
    """Somebody at a keyboard: commands, and one file edited by hand."""

    def __init__(self, tb: Run, here: Path) -> None:
        self.tb, self.here, self.given, self.edited = tb, here, 0, set[str]()

    def does(self, line: str, code: int = 0) -> str:
        self.given += 1
        words = shlex.split(line)
        if words[0] == "git":
            done = subprocess.run(words, cwd=self.here / "quay", capture_output=True, check=False)
            assert done.returncode == code, done.stderr
            return done.stdout.decode()
        ran = self.tb("--ledger", self.here / "quay", *words)
        assert ran.code == code, ran.out + ran.err
        return " ".join(ran.out.split())

    def edits(self, name: str, answers: dict[str, str]) -> None:
        path = self.here / name
        text = path.read_text()
        for old, new in answers.items():
            text = text.replace(old, new)
        path.write_text(text)
        self.edited.add(name)


@pytest.fixture(name="club")
def _club(tb: Run, here: Path) -> Club:
    return Club(tb, here)


def cards(here: Path) -> dict[str, str]:
    return {p.stem: p.read_text() for p in sorted((here / "quay/cylinders").glob("*.yaml"))}


def test_a_first_day_with_eleven_cylinders(club: Club, here: Path) -> None:
    """From a spreadsheet to a ledger that answers: few commands, and no file but the mapping edited."""
    (here / "club.csv").write_text(CLUB)
    club.does("git init -q")
    said = club.does("import club.csv --map club.yaml")
    assert said.startswith("Wrote club.yaml: correct it, and answer 5 questions")
    club.edits("club.yaml", ANSWERS)
    said = club.does("import club.csv --map club.yaml")
    assert said.startswith("13 rows: 9 new, 1 new and held, 3 left out. Nothing is written yet")
    assert cards(here) == {}
    said = club.does("import club.csv --map club.yaml --all --by JO --rack rack.pdf")
    assert said.startswith("Imported club.csv: 10 new cards, HD-01 to HD-11; 1 of them held")
    rack = " ".join(text_of((here / "rack.pdf").read_bytes()).split())
    assert all(
        each in rack
        for each in ("HD-01", "BD1001", "neck thread", "Marks, as they stand:", "valve leaks")
    )
    club.does("git add .")
    club.does("git commit -qm Begin")
    assert "held 1" in club.does("fleet") or "held" in club.does("fleet")
    assert club.does("may-fill HD-03", code=1).startswith("NO HD-03")
    assert "valve leaks" in club.does("may-fill HD-03", code=1)
    assert "out" in club.does("may-fill HD-02", code=1)
    club.does("due --within 90d")
    club.does("validate")
    club.does("committee")
    assert club.given <= 16
    assert club.edited == {"club.yaml"}
    assert len(cards(here)) == 10
    status = {k: re.search(r"status: (.*)", v)[1] for k, v in cards(here).items()}  # type: ignore[index]
    assert [k for k, v in status.items() if v == "out"] == ["HD-02", "HD-07"]


def test_what_the_rack_told_comes_in_by_the_same_table(club: Club, here: Path) -> None:
    (here / "club.csv").write_text(CLUB)
    club.does("import club.csv --map club.yaml")
    club.edits("club.yaml", ANSWERS)
    club.does("import club.csv --map club.yaml --all --by JO")
    read = CLUB.replace("Remarks\n", "Remarks;Neck thread;Valve thread;Spec\n")
    read = re.sub(r"(HD 0[14];.*)\n", r"\1;M25x2;M25x2;EN 1964-2\n", read)
    (here / "club.csv").write_text(read)
    more = "".join(
        f"  - {{column: {c}, key: {k}}}\n"
        for c, k in (("L", "neck_thread"), ("M", "valve.thread"), ("N", "specification"))
    )
    mapped = here / "club.yaml"
    mapped.write_text(mapped.read_text() + more + "on_file: complete\n")
    said = club.does("import club.csv --map club.yaml --all --by JO")
    assert said.startswith("Imported club.csv: 2 cards added to; 8 there already")
    assert "neck_thread: M25x2" in cards(here)["HD-04"]
    assert "specification: [EN 1964-2]" in cards(here)["HD-01"]
    assert "neck_thread" not in cards(here)["HD-05"]


def take(club: Club, table: str | bytes, path: str = "club.csv", **answers: str) -> str:
    """A table mapped, answered and recorded; what was said."""
    data = table.encode() if isinstance(table, str) else table
    (club.here / path).write_bytes(data)
    club.does(f"import {path} --map map.yaml")
    club.edits("map.yaml", ANSWERS | answers)
    return club.does(f"import {path} --map map.yaml --all --by JO")


GERMAN = """\
Flaschenliste Tauchverein Beispielsee\r
\r
Nr.\tSeriennr.\tHersteller\tBetriebsdruck (bar)\tInhalt (l)\tTÜV\tMaterial\tBemerkung\r
1\t00123\tBeispielwerk\t232\t11,1\t03.04.2024\tAlu\tgrüner Fuß\r
2\t00124\tBeispielwerk\t300\t7,0\t15.06.2025\tStahl\tVentil undicht\r
Summe\t2\t\t\t\t\t\t\r
"""
FRENCH = "Bouteille;N° de série;PS bar;Volume L;Réépreuve;Observations\nA1;F 77;232;12;avr. 2024;prêtée à Éric\nA2;F 78;232;15;janvier 2025;\n"
AMERICAN = 'Tank #,S/N,Mfg,Service Pressure,Hydro,VIP,Size,Comments\n1,P1,Works,"3,000",4/13/22,10/1/26,AL80,"new O-ring, 2023"\n2,P2,Works,"3,442",5/6/22,10/1/26,HP100,\n'
NUMBERS = "No|Serial|WP bar|Hydro\nT1|A1|232|44287\nT2|A2|232|45000\n"
SECTIONS = "Serial,Maker,WP (bar),Hydro\nSteel,,,\nS1,Works,232,04/2024\nS2,Works,232,04/2024\nAluminium,,,\nS3,Works,207,04/2024\n,,,\nTotal,3,,\n"
NO_HEADINGS_KNOWN = "Ident,Foo,Bar\nK1,one,two\n"
WIDE = "Serial,Hydro 2014,Hydro 2019,Hydro 2024\nW1,04/2014,04/2019,04/2024\nW2,,06/2019,06/2024\n"
INJECTION = (
    "Serial,WP (bar),Remarks\nX1,232,\"=cmd|'/c calc'!A1\"\nX2,232,@SUM(1+1)\nX3,232,+44 20 555\n"
)


@pytest.mark.parametrize(
    ("table", "answers", "said", "holds"),
    [
        (GERMAN.encode("utf-16"), {"key: id\n": "key: id\n    scheme: TB-##\n"}, "2 new cards, TB-01 to TB-02; 1 of them held", {"TB-01": ["serial: 00123", "water_volume: 11.1 L", "on: 2024-04-03", "note: \"grüner Fuß\""], "TB-02": ["service_pressure: 300 bar", "status: held", "why: Ventil undicht"]}),
        (GERMAN.encode("mac_roman"), {"key: id\n": "key: id\n    scheme: TB-##\n"}, "2 new cards", {"TB-01": ["grüner Fuß"]}),
        (GERMAN.encode("cp1252"), {"key: id\n": "key: id\n    scheme: TB-##\n"}, "2 new cards", {"TB-01": ["grüner Fuß"]}),
        (codecs.BOM_UTF8 + FRENCH.encode(), {}, "2 new cards, A1 to A2", {"A1": ["on: 2024-04", "prêtée à Éric", "serial: F 77"], "A2": ["on: 2025-01", "water_volume: 15 L"]}),
        (FRENCH.encode("latin-1"), {}, "2 new cards", {"A1": ["prêtée à Éric"]}),
        (AMERICAN.encode(), {"dates: ?": "dates: month-first", "unit: ?": "unit: psi", "key: id\n": "key: id\n    scheme: RB-###\n"}, "2 new cards, RB-001 to RB-002", {"RB-001": ["service_pressure: 3000 psi", "on: 2022-04-13", "on: 2026-10-01", 'note: "new O-ring, 2023"', "size: al80"], "RB-002": ["on: 2022-05-06"]}),
        (NUMBERS.encode(), {}, "2 new cards, T1 to T2", {"T1": ["on: 2021-04-01"]}),
        (SECTIONS.encode(), {}, "3 new cards, PL-001 to PL-003", {"PL-003": ["serial: S3", "207 bar"]}),
        (NO_HEADINGS_KNOWN.encode(), {"key: keep  # not known: it is kept in the notes\n  - column: B": "key: serial\n  - column: B"}, "1 new card, PL-001", {"PL-001": ["serial: K1", 'note: "Foo: one; Bar: two"']}),
        (WIDE.encode(), {}, "2 new cards", {"PL-001": ["on: 2014-04", "on: 2019-04", "on: 2024-04"]}),
        (INJECTION.encode(), {}, "3 new cards", {"PL-001": ['note: "=cmd|\'/c calc\'!A1"'], "PL-003": ['note: "+44 20 555"']}),
    ],
)  # fmt: skip
def test_lists_that_are_messy_each_in_its_way(
    table: bytes,
    answers: dict[str, str],
    said: str,
    holds: dict[str, list[str]],
    club: Club,
    here: Path,
) -> None:
    assert said in take(club, table, **answers)
    found = cards(here)
    for id_, texts in holds.items():
        assert all(each in found[id_] for each in texts), found[id_]
    before = cards(here)
    assert "there already" in club.does("import club.csv --map map.yaml --all --by JO")
    assert cards(here) == before
    checked = club.tb("--ledger", here / "quay", "validate", "--json").json
    assert [f["text"] for f in checked if f["severity"] == "fault"] == []


def test_a_workbook_with_all_that_a_kit_officer_makes(club: Club, here: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    page = book.active
    page.title = "Flaschen"
    for row in (
        ["Harbour Divers 2026"],
        ["No", "Serial", "WP (bar)", "Last test", None, "Who has it", "Remarks"],
        [None, None, None, "Visual", "Hydro", None, None],
        ["HD 01", "B1", 232, dt.date(2026, 3, 1), dt.date(2024, 4, 1), None, "blue boot"],
        ["HD 02", "B2", 232.0, dt.date(2026, 3, 1), dt.date(2024, 4, 1), "Jim", "valve leaks"],
        ["HD 03", "B3", 232, dt.date(2026, 3, 1), dt.date(2024, 4, 1), None, "put away"],
        ["Total", "=COUNTA(B4:B6)"],
    ):
        page.append(row)
    for area in ("A1:G1", "A2:A3", "B2:B3", "C2:C3", "D2:E2", "F2:F3", "G2:G3"):
        page.merge_cells(area)
    for row in (4, 5, 6):
        page.cell(row, 5).number_format = "mm/yyyy"
    page.row_dimensions[6].hidden = True
    book.create_sheet("Kasse")
    out = io.BytesIO()
    book.save(out)
    said = take(club, out.getvalue(), "club.xlsx", **{"hidden_rows: ?": "hidden_rows: leave-out"})
    assert "Imported club.xlsx: 2 new cards, HD-01 to HD-02; 1 of them held" in said
    assert "its sheet `Flaschen` is read" in said
    assert "left out: row 6, 7" in said
    text = cards(here)["HD-02"]
    assert "on: 2024-04, method" in text
    assert "on: 2026-03-01, checklist" in text
    assert "status: held" in text
    assert "to: M-01" in text


HEAD = "No,Serial,Maker,Hydro,Who,Since,Remarks\n"
MEANS = """\
headings: 1
dates: day-first
use: pool
columns:
  - {column: A, key: id}
  - {column: B, key: serial}
  - {column: C, key: maker}
  - {column: D, key: hydro, is: last}
  - {column: E, key: out_to, values: {Jim: M-01}}
  - {column: F, key: out_since}
  - {column: G, key: remark}
"""


@pytest.mark.parametrize("more", ["", ", otherwise: remark"])
def test_a_date_in_the_other_order_tells_against_all_of_them(
    more: str, club: Club, here: Path
) -> None:
    """Where one date shows that the order is wrong, those that may be either are not taken."""
    (here / "club.csv").write_text(f"{HEAD}A1,S1,Works,02/11/2022,,,\nA2,S2,Works,04/13/2022,,,\n")
    (here / "map.yaml").write_text(MEANS.replace("is: last", f"is: last{more}"))
    told = club.does("import club.csv --map map.yaml", 0 if more else 1)
    assert "`04/13/2022` is no date where `dates: day-first` (row 3)" in told
    for which in ("--good", "--all"):
        assert "known which number is its day" in club.does(
            f"import club.csv --map map.yaml {which} --by JO", 1
        )
    assert cards(here) == {}


def test_a_mapping_with_nothing_in_it(club: Club, here: Path) -> None:
    (here / "club.csv").write_text(HEAD)
    (here / "map.yaml").write_text("# later\n")
    told = club.does("import club.csv --map map.yaml", 1)
    assert "map.yaml: nothing stands in it; take it away" in told


@pytest.mark.parametrize("key", ["id", "keep"])
def test_a_card_that_cannot_be_read_gets_no_second_one(key: str, club: Club, here: Path) -> None:
    rows = "A1,S01,Works,04/2022,,,\nA2,S02,Works,04/2022,,,\n"
    (here / "club.csv").write_text(f"{HEAD}{rows}")
    (here / "map.yaml").write_text(MEANS)
    club.does("import club.csv --map map.yaml --all --by JO")
    card = here / "quay/cylinders/A1.yaml"
    card.write_text(card.read_text() + "junk: [\n")
    (here / "map.yaml").write_text(MEANS.replace("A, key: id", f"A, key: {key}"))
    told = club.does("import club.csv --map map.yaml --good --by JO")
    assert "1 there already; 1 row left that cannot be taken" in told
    assert "it may have a card already, which cannot be read: " in told
    assert len(cards(here)) == 2


@pytest.mark.parametrize(
    ("cell", "values", "said"),
    [
        ("?", "{}", "`?` is no result"),
        ("n/a", "{}", "`n/a` is no result"),
        ("", "{}", "its result is empty; write pass or fail"),
        ("?", '{"?": ""}', "`?` is no result"),
        ("?", '{"": pass}', "`?` is no result"),
        ("pending", "{}", "result: `pending` is not a known word"),
        ("", '{"": pass}', ""),
        ("", '{"": OK}', ""),
        ("?", '{"?": pass}', ""),
        ("ok", "{}", ""),
    ],
)
def test_a_test_without_a_result_is_no_pass(
    cell: str, values: str, said: str, club: Club, here: Path
) -> None:
    (here / "club.csv").write_text(f"{HEAD}A1,S1,Works,04/2020,,,\n")
    (here / "map.yaml").write_text(MEANS)
    club.does("import club.csv --map map.yaml --all --by JO")
    before = cards(here)
    (here / "tests.csv").write_text(f"Serial,What,On,Result\nS1,hydro,2026-04-01,{cell}\n")
    columns = ("A, key: serial", "B, key: what", "C, key: on", f"D, key: result, values: {values}")
    listed = "".join(f"  - {{column: {each}}}\n" for each in columns)
    (here / "tests.yaml").write_text(f"headings: 1\nrows: entries\ncolumns:\n{listed}")
    told = club.does("import tests.csv --map tests.yaml --all --by JO", 1 if said else 0)
    assert said in told
    assert (cards(here) == before) == bool(said)


def test_last_tests_that_lie_ahead_are_told_of_their_column(club: Club, here: Path) -> None:
    (here / "club.csv").write_text(f"{HEAD}A1,S1,Works,02/11/2022,,,\nA2,S2,Works,04/03/2027,,,\n")
    (here / "map.yaml").write_text(MEANS)
    told = club.does("import club.csv --map map.yaml --good --by JO")
    assert "Hydro: 1 date of a last test in the future (row 3)" in told


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("A1,S1,Works,04/2022,,05/06/2026,", "`05/06/2026`, and who has it is not said"),
        ("A1,1.2345E+05,Works,04/2022,,,", "a number of which figures are lost"),
        ("A1,1E+05,Works,04/2022,,,", "a number of which figures are lost"),
        ("CON,S1,Works,04/2022,,,", "club.csv:2:1: `CON` is not an id: Windows keeps this name"),
        ("a.,S1,Works,04/2022,,,", "club.csv:2:1: `a.` is not an id: it ends in a dot"),
    ],
)
def test_a_row_that_may_be_meant_in_two_ways_is_refused(
    row: str, said: str, club: Club, here: Path
) -> None:
    (here / "club.csv").write_text(f"{HEAD}{row}\n")
    (here / "map.yaml").write_text(MEANS)
    assert said in club.does("import club.csv --map map.yaml --all --by JO", 1)
    assert cards(here) == {}


def test_headings_on_each_page_and_the_days_of_an_old_loan(club: Club, here: Path) -> None:
    rows = "A1,S1,Works,04/2022,shed,05/06/2026,\n", HEAD, "A2,1E05,Works,04/2022,Jim,05/06/2026,\n"
    (here / "club.csv").write_text(HEAD + "".join(rows))
    (here / "map.yaml").write_text(MEANS)
    told = club.does("import club.csv --map map.yaml --all --by JO")
    assert told.startswith("Imported club.csv: 2 new cards, A1 to A2")
    assert "left out: row 3" in told
    assert "Since: 05/06/2026" in cards(here)["A1"]
    assert "status: held" not in cards(here)["A1"]
    assert "on: 2026-06-05, to: M-01" in cards(here)["A2"]


@pytest.mark.parametrize(
    ("heading", "is_", "told"),
    [
        ("Next hydro", "last", True), ("Hydro due", "last", True), ("Gültig bis", "last", True),
        ("Last hydro", "next, period: 5 years", True), ("Geprüft", "next, period: 5 years", True),
        ("Next hydro", "next, period: 5 years", False), ("Last hydro", "last", False),
        ("Hydro", "last", False), ("Last test / next due", "last", False),
    ],
)  # fmt: skip
def test_an_answer_against_the_heading_is_told(
    heading: str, is_: str, told: bool, club: Club, here: Path
) -> None:
    rows = HEAD.replace("Hydro", heading), "A1,S1,Works,04/2022,,,\n"
    (here / "club.csv").write_text("".join(rows))
    (here / "map.yaml").write_text(MEANS.replace("is: last", f"is: {is_}"))
    asked = f"column D is headed `{heading}` and said to be of the {is_[:4]} test: is that right?"
    for more in ("", " --all --by JO"):
        assert (asked in club.does(f"import club.csv --map map.yaml{more}")) == told


def test_days_that_the_spreadsheet_took_for_months_are_told(club: Club, here: Path) -> None:
    days = ("2022-05-04", "13/04/2022", "2022-03-09", "25/06/2022")
    rows = "".join(f"A{n},S{n},Works,{day},,,\n" for n, day in enumerate(days))
    (here / "club.csv").write_text(HEAD + rows)
    asked = "its days up to the 12th are dates and the later ones text"
    assert f"(Hydro): {asked}" in club.does("import club.csv --map guess.yaml")
    (here / "map.yaml").write_text(MEANS)
    line = "import club.csv --map map.yaml --all --by JO"
    assert f"Hydro: {asked}" in club.does(line, code=1)
    (here / "map.yaml").write_text(MEANS.replace("is: last", "is: last, days: swapped"))
    assert asked not in club.does(line)


def test_what_a_workbook_says_beside_its_cells(club: Club, here: Path) -> None:
    """A comment is a remark, a row that is struck out is not taken as if it were not."""
    openpyxl = pytest.importorskip("openpyxl")
    from openpyxl.comments import Comment
    from openpyxl.styles import Font

    book = openpyxl.Workbook()
    page = book.active
    for row in (HEAD.strip().split(","), ["A1", "S1", "Works"], ["A2", "S2"], ["A3", "S3"]):
        page.append(row)
    page["D2"] = dt.date(2022, 4, 1)
    page["B2"].comment = Comment("failed, do not fill", "JO")
    page["B4"].comment = Comment("blue boot", "JO")
    for cell in page[3]:
        cell.font = Font(strike=True)
    book.save(here / "club.xlsx")
    (here / "map.yaml").write_text(MEANS)
    told = club.does("import club.xlsx --map map.yaml --all --by JO")
    assert "1 row struck out" in told
    found = cards(here)
    assert "comment: failed, do not fill" in found["A1"]
    assert "status: held" in found["A1"]
    assert "why: struck out in the sheet" in found["A2"]
    assert "comment: blue boot" in found["A3"]
    assert "status: held" not in found["A3"]


def test_the_mapping_is_printed_or_written_and_never_written_over(tb: Run, here: Path) -> None:
    (here / "club.csv").write_text(CLUB)
    where = ("--ledger", "quay")
    printed = tb("import", "club.csv", *where).out
    assert tb("import", "club.csv", "--map", "m.yaml", *where).code == 0
    assert (here / "m.yaml").read_text() == printed
    (here / "m.yaml").write_text("headings: 1\n")
    refused = tb("import", "club.csv", "--map", "m.yaml", *where)
    assert (refused.code, (here / "m.yaml").read_text()) == (1, "headings: 1\n")
    assert "columns is missing" in refused.out
    got = tb("import", "club.csv", *where, "--json").json
    assert (got["mapping"], len(got["questions"])) == (printed, 5)


def test_a_question_that_is_left_open_records_nothing(club: Club, here: Path) -> None:
    (here / "club.csv").write_text(CLUB)
    club.does("import club.csv --map club.yaml")
    said = club.does("import club.csv --map club.yaml --all --by JO", code=1)
    assert said.startswith("NO, for 6 reasons; nothing was recorded")
    assert "column G (Last test / Hydro): `is` is not answered" in said
    assert cards(here) == {}


def test_one_act_one_commit_and_nothing_after_a_dry_run(club: Club, here: Path) -> None:
    (here / "club.csv").write_text(CLUB)
    club.does("git init -q")
    club.does("git add .")
    club.does("git commit -qm Begin")
    club.does("import club.csv --map club.yaml")
    club.edits("club.yaml", ANSWERS)
    line = "import club.csv --map club.yaml --all --by JO --commit"
    assert club.does(f"{line} --dry-run").startswith("Dry run, nothing was written: Imported")
    assert cards(here) == {}
    club.does(line)
    log = club.does("git log -1 --format=%B")
    assert log.startswith("Imported club.csv: 10 new cards")
    assert log.count("Cylinder: ") == 10
    assert log.strip().endswith("Act: import")
    assert club.does("git status --porcelain") == ""
    before = club.does("git rev-parse HEAD")
    club.does(line)
    assert club.does("git rev-parse HEAD") == before
    assert club.does("audit")


def test_the_table_and_what_cannot_be_taken_as_data(tb: Run, club: Club, here: Path) -> None:
    (here / "club.csv").write_text(
        CLUB.replace("BD1009;Example Alu;207", "BD1009;Example Alu;3000")
    )
    club.does("import club.csv --map club.yaml")
    club.edits("club.yaml", ANSWERS)
    ran = tb("import", "club.csv", "--map", "club.yaml", "--ledger", "quay", "--json")
    got = json.loads(ran.out)
    assert (ran.code, got["recorded"]) == (1, False)
    assert got["counts"] == {"new": 8, "new and held": 1, "left out": 3, "CANNOT": 1}
    (bad,) = (r for r in got["rows"] if r["comes"] == "CANNOT")
    assert (bad["row"], bad["called"], bad["id"]) == (14, "HD-09", None)
    assert "it looks like psi" in bad["why"][0]
    assert set(got["still_to_do"]) == {r["id"] for r in got["rows"] if r["id"]}
    recorded = tb(
        "import",
        "club.csv",
        "--map",
        "club.yaml",
        "--good",
        "--by",
        "JO",
        "--ledger",
        "quay",
        "--json",
    ).json
    assert (recorded["act"], len(recorded["ids"])) == ("import", 9)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("import none.csv", "none.csv: there is no such file or folder"),
        ("import quay", "this is a folder"),
        ("import club.csv --all", "what its columns mean is not said; give the mapping with --map"),
        ("import club.csv --map m.yaml --all --good", "--all and --good do not go together"),
        ("import club.csv --map m.txt", "a mapping ends in `.yaml`"),
        ("import club.csv --into x --all", "--into goes alone"),
        ("import club.csv --into x", "club.csv: it is no export of a ledger"),
        ("import club.csv --on 2099-01-01", "is a day to come"),
        ("export quay.ods", "is of no kind that is known; known: .json, .csv, .xlsx"),
        ("export quay/cylinders/x.json", "holds records"),
    ],
)
def test_a_request_that_is_not_understood(line: str, said: str, tb: Run, here: Path) -> None:
    (here / "club.csv").write_text(CLUB)
    ran = tb("--ledger", "quay", *shlex.split(line))
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_what_is_taken_out_and_cannot_be_read_is_told_first(club: Club, here: Path) -> None:
    take(club, CLUB)
    (here / "quay" / "cylinders" / "BAD.yaml").write_text("id: [")
    first = " ".join(club.does("export quay.json", 1).split()).partition("Tables:")[0]
    assert "CANNOT BE READ, and so in no table but the last: cylinders/BAD.yaml" in first
    ran = club.tb("--ledger", "quay", "export", "quay.json", "--json")
    assert (ran.code, ran.json["cannot_be_read"]) == (1, ["cylinders/BAD.yaml"])
    (here / "quay/cylinders/BAD.yaml").unlink()
    club.does("export quay.json")
    (here / "quay/tankbook.yaml").write_text("units: [")
    assert "CANNOT BE READ" in club.does("export quay.json", 1)


class Piped:
    """Standard input that somebody gives something by."""

    def __init__(self, data: bytes) -> None:
        self.buffer = io.BytesIO(data)

    def isatty(self) -> bool:
        return False


def test_a_table_by_standard_input(club: Club, here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", Piped(CLUB.encode("cp1252")))
    said = club.does("import - --map club.yaml")
    assert said.startswith("Wrote club.yaml: correct it, and answer 5 questions")
    club.edits("club.yaml", ANSWERS)
    monkeypatch.setattr("sys.stdin", Piped(CLUB.encode()))
    assert "10 new cards" in club.does("import - --map club.yaml --all --by JO")


@pytest.mark.parametrize("ending", ["json", "csv", "xlsx"])
def test_an_export_that_lies_in_the_ledger_is_none_of_its_files(
    ending: str, club: Club, here: Path
) -> None:
    if ending == "xlsx":
        pytest.importorskip("openpyxl")
    take(club, CLUB)
    inside = f"quay/backup/before.{ending}"
    (here / "quay/backup").mkdir()
    club.does(f"export {inside}")
    first = (here / inside).read_bytes()
    said = club.does(f"export {inside}")  # over its own, and no larger
    assert f"left out, for they are earlier exports: backup/before.{ending}" in said
    assert ending == "xlsx" or (here / inside).read_bytes() == first
    club.does(f"import {inside} --into again")
    assert not (here / "again/backup").exists()
    every = {p.relative_to(here / "quay"): p.read_bytes() for p in files_in(here / "quay")}
    assert {p.relative_to(here / "again"): p.read_bytes() for p in files_in(here / "again")} == {
        path: data for path, data in every.items() if path.parts[0] not in ("backup", ".tankbook")
    }


@pytest.mark.parametrize("ending", ["json", "xlsx", "csv"])
def test_an_export_in_the_ledger_that_is_larger_than_a_record_is_in_no_ones_way(
    ending: str, club: Club, here: Path
) -> None:
    if ending == "xlsx":
        pytest.importorskip("openpyxl")
    (here / "quay/papers").mkdir()
    (here / "quay/papers/scan.pdf").write_bytes(random.Random(3).randbytes(RECORD_LIMIT))
    inside = f"quay/before.{ending}"
    club.does(f"export {inside}")
    assert (here / inside).stat().st_size > RECORD_LIMIT
    assert f"earlier exports: before.{ending}" in club.does("export after.json")


def files_in(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.is_file() and ".git" not in p.parts)


@pytest.mark.parametrize("ending", ["json", "csv"])
def test_out_and_in_again(ending: str, club: Club, here: Path) -> None:
    take(club, CLUB)
    said = club.does(f"export quay.{ending}")
    assert said.startswith("Exported 10 cylinders, 0 log lines, ")
    club.does(f"import quay.{ending} --into again")
    there = load(here / "again", today=dt.date(2026, 11, 25))
    assert there.cylinders == load(here / "quay", today=dt.date(2026, 11, 25)).cylinders
    assert club.tb("--ledger", "again", "validate").code == 0
    refused = club.tb("import", f"quay.{ending}", "--into", "again")
    assert "there is something in this folder already" in refused.err
    told = club.tb("--ledger", "quay", "import", f"quay.{ending}")
    assert "make it again with --into DIR" in told.err
    assert club.tb("--ledger", "quay", "export", f"quay.{ending}").code == 0  # over its own
    (here / f"mine.{ending}").write_text("mine")
    assert "tankbook did not make" in club.tb("--ledger", "quay", "export", f"mine.{ending}").err
