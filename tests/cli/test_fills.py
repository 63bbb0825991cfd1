"""`tankbook fills`: the time and the filters, and what is refused."""

from __future__ import annotations

import csv
import io
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.records.log import LogLine, columns

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")


@pytest.fixture(name="fills")
def _fills(tb: Run, example_ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setattr("tankbook.ledger.git.uncommitted", lambda _: [])
    return lambda line, *on: tb("fills", *line.split(), *(on or ON), "--ledger", example_ledger)


@pytest.mark.parametrize(
    "line",
    ["", "--month 2026-11 --by TO", "--month 2026-05 --customer C-0271", "--since 2026-11-20", "DB-01 --month 2026-10"],
)  # fmt: skip
def test_what_people_see(line: str, fills: Run, snapshot: SnapshotAssertion) -> None:
    ran = fills(line)
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


@pytest.mark.parametrize(
    ("line", "head"),
    [
        ("", "No fill on 25 Nov 2026"),
        ("--since 2026-11-23 --until 2026-11-23", "3 fills on 23 Nov 2026, 288 cuft of gas"),
        ("--month 2026-05", "130 fills in May 2026, 8203 cuft of gas; 1 struck out, not counted"),
        ("--until 2025-01-01", "No fill up to 1 Jan 2025"),
        ("--month 2026-11 --by to --source n1", "3 fills from 1 Nov 2026 to 25 Nov 2026 by TO from N1, 266 cuft of gas"),
    ],
)  # fmt: skip
def test_the_time_that_is_asked_for(line: str, head: str, fills: Run) -> None:
    assert fills(line).first == head


FILL = "RB-012=2900 RB-014=2900 --from 500 --source B1 --looked --by TO --on 2026-11-25"


def test_a_fill_that_its_bank_can_hardly_have_given_is_told_wherever_it_is_seen(
    tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    """By the act, its dry run and its JSON, then by the fill book: of each, not of the first."""

    copy = shutil.copytree(example_ledger, tmp_path / "ledger")

    def run(*words: str) -> Any:
        return tb(*words, "--ledger", copy)

    told = [
        "RB-012: WARNING: filled to 2900 psi, and B1 can have shown no more than 1936 psi then",
        "RB-014: WARNING: filled to 2900 psi, and B1 can have shown no more than 1669 psi then",
    ]
    act = ("fill", *FILL.split(), "--at", "10:00")
    assert run(*act, "--dry-run", "--json").json["notes"][1:3] == told
    said = " ".join(run(*act).out.split())
    assert all(each in said for each in told), said
    later = ("fill", "RB-011=2900", *act[3:-1], "10:30")
    assert "RB-011: WARNING: filled to 2900 psi, and B1" in " ".join(run(*later).out.split())
    book = run("fills", *ON)
    assert (
        book.first
        == "3 fills on 25 Nov 2026, 185 cuft of gas; 3 higher than the bank can have shown"
    )
    assert "RB-014 to 2900 psi: B1 can have shown no more than 1669 psi" in " ".join(
        book.out.split()
    )
    data = run("fills", "--json", *ON).json
    assert data["above_bank"] == 3
    assert [round(n["bank_at_most_psi"]) for n in data["lines"][:2]] == [1936, 1669]
    mend = "correct RB-012 fill 2026-11-25 --set source=B3 --why typed --by TO --on 2026-11-25"
    assert run(*mend.split()).code == 0
    assert run("fills", "--json", *ON).json["above_bank"] == 2


def test_a_fill_that_its_bank_can_give_is_told_nothing(
    tb: Run, example_ledger: Path, tmp_path: Path
) -> None:
    copy = shutil.copytree(example_ledger, tmp_path / "ledger")
    told = tb("fill", *FILL.replace("B1", "B3").split(), "--at", "10:00", "--ledger", copy)
    assert told.code == 0
    assert "can have shown" not in told.out


def test_a_day_is_asked_for_with_on(fills: Run) -> None:
    # N1 was read higher on the 24th, so on that day alone it looks as if it could not have given it
    head = "3 fills on 23 Nov 2026, 288 cuft of gas; 2 higher than the bank can have shown"
    assert fills("", "--on", "2026-11-23").first == head


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("--month 2026-11 --since 2026-11-01", "--month is a whole month; leave --since and --until out"),
        ("--month 2026-11-03", "--month: '2026-11-03' is a day; write it as 2026-11"),
        ("--month 2026-12", "--month: 2026-12 has not begun on 2026-11-25; ask for one that has"),
        ("--month x", "--month: 'x' is not a date"),
        ("--until 2026-12-01", "--until: 2026-12-01 is after 2026-11-25; leave it out, or say --on"),
        ("--since 2026-11-20 --until 2026-11-19", "--since: 2026-11-20 is after 2026-11-19; give the earlier day first"),
        ("--since 1.11.2026", "--since: '1.11.2026' may be 2026-01-11 or 2026-11-01; write the one that is meant"),
        ("--by QQ", "--by: nothing here is called 'QQ'; known: "),
        ("--source B9", "--source: nothing here is called 'B9'; known: "),
        ("--position P77", "--position: nothing here is called 'P77'; known: "),
        ("--customer C-1", "--customer: nothing here is called 'C-1'; known: "),
        ("--gas helio", "--gas: "),
        ("--since 2020-01-01 --pdf x.pdf", "--pdf: 83 months are too many for one file; at most 36: say --since or --month"),
        ("--pdf x.txt", "x.txt: the name does not end in `.pdf`; name a PDF file"),
    ],
)  # fmt: skip
def test_what_is_refused(line: str, said: str, fills: Run) -> None:
    ran = fills(line)
    assert (ran.code, ran.out) == (2, "")
    assert said in " ".join(ran.err.split())


def test_the_csv_has_a_row_for_each_and_the_json_the_same(fills: Run) -> None:
    rows = list(
        csv.DictReader(io.StringIO(fills("--month 2026-05 --csv").out.removeprefix("\ufeff")))
    )
    got = fills("--month 2026-05 --json").json
    assert len(rows) == len(got["lines"]) == 131
    assert sum(row["struck_out"] == "yes" for row in rows) == got["struck_out"] == 1
    assert got["fills"] == 130
    assert [row["id"] for row in rows] == [each["id"] for each in got["lines"]]
    assert sum(s["fills"] for s in got["by_source"]) == 130


def test_the_pages_are_written_and_said(fills: Run, tmp_path: Path) -> None:
    file = tmp_path / "november.pdf"
    ran = fills(f"--month 2026-11 --pdf {file}")
    assert ran.first.startswith("35 fills from 1 Nov 2026 to 25 Nov 2026")
    assert ran.first.endswith(f": {file}") or str(file) in ran.out
    assert len(pypdfium2.PdfDocument(file)) == 2
    again = fills(f"--month 2026-11 --json --pdf {file}")
    assert again.json["fills"] == 35


def test_a_cylinder_whose_card_is_gone_is_asked_for_by_its_whole_id(
    tb: Run, write: Callable[[dict[str, str]], Path]
) -> None:
    row = "2026-11-20T09:30:00+01:00,GONE-1,fill,500 psi,3000 psi,,air,,,,,,,,,"
    root = write({"fills/2026.csv": "\n".join([",".join(columns(LogLine)), row, ""])})
    ran = tb("fills", "GONE-1", "--month", "2026-11", *ON, "--ledger", root)
    assert ran.first.startswith("1 fill from 1 Nov 2026 to 25 Nov 2026 of GONE-1, gas not known")
    assert "not recorded" in ran.out
    assert tb("fills", "GONE-2", *ON, "--ledger", root).code == 2


def test_an_empty_ledger_has_an_empty_book(
    tb: Run, write: Callable[[dict[str, str]], Path], tmp_path: Path
) -> None:
    root = write({})
    assert tb("fills", *ON, "--ledger", root).first == "No fill on 25 Nov 2026"
    file = tmp_path / "x.pdf"
    assert tb("fills", "--pdf", file, *ON, "--ledger", root).code == 0
    text = pypdfium2.PdfDocument(file)[0].get_textpage().get_text_range()
    assert "No fill is on record." in text


def test_a_year_that_cannot_be_read_is_told_in_every_form(
    tb: Run, ledger: Path, tmp_path: Path
) -> None:
    (ledger / "fills/2025.csv").write_text("at,cylinder\nx,y\n")
    asked = ("--month", "2026-11", *ON, "--ledger", ledger)
    ran = tb("fills", *asked)
    assert ran.code == 1
    assert "FILE NOT READ: fills/2025.csv" in ran.first
    assert "INCOMPLETE: fills/2025.csv could not be read" in ran.out
    assert tb("fills", *asked, "--json").json["unread"] == ["fills/2025.csv"]
    assert "NOT READ" in tb("fills", *asked, "--csv").err
    file = tmp_path / "x.pdf"
    tb("fills", *asked, "--pdf", file)
    assert "INCOMPLETE" in pypdfium2.PdfDocument(file)[0].get_textpage().get_text_range()


def test_a_formula_in_the_log_is_text_in_a_spreadsheet(
    tb: Run, write: Callable[[dict[str, str]], Path]
) -> None:
    row = '2026-11-25T09:30:00+01:00,RB-1,fill,,3000 psi,,air,,,"=1+1",,,,"@SUM(A1)",,-2+3'
    root = write({"fills/2026.csv": "\n".join([",".join(columns(LogLine)), row, ""])})
    said = tb("fills", *ON, "--csv", "--ledger", root).out
    for cell in ("=1+1", "@SUM(A1)", "-2+3"):
        assert f'"\'{cell}"' in said


# --- what fills settled to

NOTE = "looked over; filled in 6.5 min by the plan"
WARM = [
    row
    for day, id_, start, stop, cold in [
        (4, "RB-011", 500, 2990, 2690), (5, "RB-012", 700, 2990, 2700), (6, "RB-017", 600, 2990, 2680),
        (9, "RB-011", 900, 2990, 2720), (10, "RB-012", 500, 2990, 2670), (11, "RB-017", 500, 2990, 1400),
    ]
    for row in (
        f"2026-11-{day:02}T10:00:00-05:00,{id_},fill,{start} psi,{stop} psi,,air,,,KD,,B3,P1,,,{NOTE}",
        f"2026-11-{day:02}T21:00:00-05:00,{id_},reading,,{cold} psi,58 degF,,,,KD,,,,,,",
    )
]  # fmt: skip
"""Fills as their gauge stopped, and what was read the same evening; the last was dived. Invented."""


@pytest.fixture(name="warm")
def _warm(example_ledger: Path, tmp_path: Path) -> Path:
    """The example, with cylinders that were filled and read again by the middle of the month."""
    ledger = Path(shutil.copytree(example_ledger, tmp_path / "cove"))
    log = ledger / "fills/2026.csv"
    kept = [r for r in log.read_text().splitlines() if not r.startswith("2026-11")]
    log.write_text("\n".join([*kept, *WARM, ""]))
    for id_ in ("RB-011", "RB-012", "RB-017"):
        card = ledger / f"cylinders/{id_}.yaml"
        text = re.sub(r"^rented:\n(?:  .*\n)*", "", card.read_text(), flags=re.M)
        card.write_text(re.sub(r"^rented: .*\n", "", text, flags=re.M))
    return ledger


def test_what_fills_settled_to(tb: Run, warm: Path, snapshot: SnapshotAssertion) -> None:
    ran = tb("fills", "--settled", *ON, "--ledger", warm)
    assert ran.code in {0, 1}
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


def test_which_fills_count_and_why_others_do_not(tb: Run, warm: Path) -> None:
    told = tb("fills", "11", "12", "17", "--settled", "--json", *ON, "--ledger", warm).json
    (size,) = [s for s in told["sizes"] if s["fills"]]
    assert (size["size"], size["values"], told["counted"]) == ("11 L aluminium", "fitted", 5)
    november = [f for f in size["read_again"] if f["at"].startswith("2026-11")]
    assert [f["weight"] is not None for f in november] == [True] * 5 + [False]
    assert november[-1]["why_not"].startswith("less is left than heat can account for")
    assert size["least"] < size["below"] < size["most"]
    assert size["below"] > size["shipped_below"]
    older = [f for f in size["read_again"] if f["at"] < "2026-11"]
    assert older
    assert all(f["weight"] is None for f in older)


def test_a_plan_says_from_how_many_fills(tb: Run, warm: Path, tmp_path: Path) -> None:
    asked = ("plan", "14=500", "--bank", "B2=4000", *ON, "--ledger", warm)
    ran = tb(*asked, "--pdf", tmp_path / "card.pdf")
    said = " ".join(ran.out.split())
    assert "Heat of 11 L aluminium: from 5 fills of 3 cylinders that were read again: " in said
    assert "below its stop, " in said
    (size,) = tb(*asked, "--json").json["heat"]
    assert (size["values"], size["fills"], size["cylinders"]) == ("fitted", 5, ["RB-014"])
    card = pypdfium2.PdfDocument(tmp_path / "card.pdf")
    text = "\n".join(page.get_textpage().get_text_range() for page in card)
    assert "Heat: 11 L aluminium by 5 fills" in text


@pytest.mark.parametrize("more", [["--month", "2026-11"], ["--csv"], ["--by", "TO"]])
def test_what_fills_settled_to_is_of_all(tb: Run, ledger: Path, more: list[str]) -> None:
    ran = tb("fills", "--settled", *more, *ON, "--ledger", ledger)
    assert (ran.code, ran.out) == (2, "")
    assert "--settled is of all fills" in ran.err


def test_where_no_fill_was_read_again_it_says_how(
    tb: Run, write: Callable[[dict[str, str]], Path]
) -> None:
    ran = tb("fills", "--settled", *ON, "--ledger", write({}))
    assert ran.first == "No fill was read again once it had cooled: a plan takes the shipped values"
    assert "without --temperature" in ran.out


def test_what_a_plan_said_is_not_measured(tb: Run, warm: Path) -> None:
    """How long a fill takes by a plan makes nobody surer than the station's rate does: it was
    taken as if somebody had looked at the clock, and a slow hand taught that cylinders run cool."""

    def band() -> float:
        told = tb("fills", "11", "--settled", "--json", *ON, "--ledger", warm).json
        (size,) = [s for s in told["sizes"] if s["fills"]]
        return float(size["most"] - size["least"])

    by_plan, log = band(), warm / "fills/2026.csv"
    log.write_text(log.read_text().replace("; filled in 6.5 min by the plan", ""))
    assert by_plan == pytest.approx(band(), rel=0.05)
