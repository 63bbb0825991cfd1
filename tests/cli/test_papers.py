"""Costs, calendar, wall and report on the command line, and `--csv` on the lists."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import books
import icalendar
import pypdfium2
import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.cli.commands import COMMANDS

Run = Callable[..., Any]
ON = ("--on", "2026-11-25")
PAPERS = {name: COMMANDS[name] for name in ("costs", "calendar", "wall", "report", "committee")}

LINES = (
    "costs",
    "costs --plan",
    "costs --retest",
    "costs --by subject --months 3 --customers",
    "calendar",
    "wall",
    "wall --months 14 --customers",
    "wall --sort due --only-due --where use=rental",
    "report",
    "report --one-page",
)


@pytest.fixture(name="on_example")
def _on_example(
    tb: Run, example_ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[[str], Any]:
    monkeypatch.setattr("tankbook.ledger.git.uncommitted", lambda _: [])
    return lambda line: tb(*line.split(), *ON, "--ledger", example_ledger)


@pytest.mark.parametrize("line", LINES)
def test_what_people_see(
    line: str, on_example: Callable[[str], Any], snapshot: SnapshotAssertion
) -> None:
    ran = on_example(line)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.isascii()
    assert max(map(len, ran.out.splitlines())) <= 80
    assert ran.out == snapshot


@pytest.mark.parametrize("name", PAPERS)
def test_help_and_its_example(name: str, tb: Run, example_ledger: Path, tmp_path: Path) -> None:
    ran = tb(name, "--help")
    assert ran.code == 0
    assert f"Example: {PAPERS[name].example}" in ran.out
    assert "--json" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    assert PAPERS[name].briefly in tb("commands").out
    again = tb(*PAPERS[name].example.split()[1:], *ON, "--ledger", example_ledger)
    assert again.code == 0


@pytest.mark.parametrize("name", PAPERS)
def test_json_before_and_after(name: str, tb: Run, ledger: Path) -> None:
    after = tb(name, *ON, "--ledger", ledger, "--json")
    before = tb("--json", *ON, "--ledger", ledger, name)
    assert after.json == before.json
    assert after.json


FREE = {"by_status", "by_states", "counts", "facts"}
"""Objects whose keys are the words of a closed set."""


def keys_in(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            if key not in FREE:
                yield from keys_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_in(inner)


@pytest.mark.parametrize("name", PAPERS)
def test_every_key_of_an_answer_is_on_the_json_page(
    name: str, on_example: Callable[[str], Any]
) -> None:
    page = (Path(__file__).parents[2] / "docs/json.md").read_text(encoding="utf-8")
    section = page.split(f"\n## {name}\n")[1].split("\n## ")[0]
    keys = set(keys_in(on_example(f"{name} --json").json))
    assert keys <= set(re.findall(r"`([A-Za-z_0-9]+)`", section))


def test_the_papers_of_a_report(tb: Run, ledger: Path, tmp_path: Path) -> None:
    ran = tb("report", *ON, "--ledger", ledger, "--html", "r.html", "--pdf", "r.pdf")
    assert ran.out.splitlines()[-1] == "Written to r.html and r.pdf."
    assert (tmp_path / "r.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF-")
    assert tb("report", *ON, "--ledger", ledger, "--html", "r.html").code == 0  # ours: replaced


def test_the_calendar_is_as_the_settings_say(
    tb: Run, write: Callable[..., Path], tmp_path: Path
) -> None:
    settings = books.SETTINGS + "calendar: {by: month, alarm: [7 days]}\n"
    root = write({"tankbook.yaml": settings, "cylinders/RB-014.yaml": books.GOOD})
    ran = tb("calendar", *ON, "--ledger", root, "--ics", "due.ics")
    assert ran.out.splitlines()[-1] == "Written to due.ics, one entry a month."
    told = icalendar.Calendar.from_ical((tmp_path / "due.ics").read_bytes()).walk("VEVENT")
    assert len(told) >= 24
    assert any(e.walk("VALARM") for e in told)
    ran = tb(
        "calendar", *ON, "--ledger", root, "--ics", "due.ics", "--by", "obligation", "--alarm", "2m"
    )
    assert "one entry an obligation" in ran.out
    told = icalendar.Calendar.from_ical((tmp_path / "due.ics").read_bytes()).walk("VEVENT")
    assert all(e.walk("VALARM") for e in told if "status" not in e)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("report --html r.txt", "the name does not end in `.html`"),
        ("report --html nowhere/r.html", "there is no folder nowhere"),
        ("report --html mine.html", "a file is there that tankbook did not make; name another file"),
        ("report --pdf mine.pdf", "a file that is no PDF is there already"),
        ("report --paper a5", "--paper: 'a5' is not known; known: a4, letter"),
        ("calendar --ics mine.ics", "a file is there that tankbook did not make"),
        ("calendar --by month", "name one with --ics FILE"),
        ("calendar --ics x.ics --by week", "--by: 'week' is not known; known: obligation, month"),
        ("calendar --ics x.ics --alarm soon", "--alarm: 'soon' is not a period"),
        ("wall --paper a0", "--paper: 'a0' is not known; known: a4, letter, a3"),
        ("wall --months 60", "--months: 60 is too far ahead; at most 36"),
        ("wall --months 0", "is not in the range"),
        ("wall --sort colour", "--sort: 'colour' is not known; known: id, due, size, use, stands"),
        ("wall --rows 99", "--rows: 99 rows are not for a page; 32 to 68 on A3"),
        ("wall --where nonsense", "--where: 'nonsense' is not a condition"),
        ("calendar --at 08:30", "name one with --ics FILE"),
        ("calendar --ics x.ics --at noon", "--at: `noon` is not a time of day; write it as 08:30"),
        ("costs --by week", "--by: 'week' is not known; known: obligation, month, subject"),
        ("costs --plan --retest", "are two answers"),
        ("costs --plan --customers", "customers' cylinders are neither planned nor retired here"),
        ("costs --plan --months 25", "--months: 25 is too far ahead; at most 24"),
        ("costs --months 121", "--months: 121 is too far ahead; at most 120"),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_one_line_and_nothing_is_written(
    line: str, said: str, tb: Run, ledger: Path, tmp_path: Path
) -> None:
    for name in ("mine.html", "mine.pdf", "mine.ics"):
        (tmp_path / name).write_text("my own")
    ran = tb(*line.split(), *ON, "--ledger", ledger)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert {p.name for p in tmp_path.iterdir() if p.is_file()} == {
        "mine.html",
        "mine.pdf",
        "mine.ics",
    }
    assert all(p.read_text() == "my own" for p in tmp_path.iterdir() if p.is_file())


def test_reminders_come_at_the_hour_that_is_asked_for(
    tb: Run, write: Callable[..., Path], tmp_path: Path
) -> None:
    settings = books.SETTINGS + 'calendar: {alarm: [7 days], alarm_at: "07:15"}\n'
    root = write({"tankbook.yaml": settings, "cylinders/RB-014.yaml": books.GOOD})
    for asked, at in (
        ((), dt.timedelta(hours=7.25)),
        (("--at", "18:05"), dt.timedelta(hours=18, minutes=5)),
    ):
        tb("calendar", *ON, "--ledger", root, "--ics", "due.ics", *asked)
        told = icalendar.Calendar.from_ical((tmp_path / "due.ics").read_bytes()).walk("VALARM")
        assert {a.decoded("trigger") for a in told} == {at - dt.timedelta(days=7)}


def rows(text: str) -> list[dict[str, str]]:
    assert text.startswith("\ufeff")
    return list(csv.DictReader(io.StringIO(text[1:], newline="")))


@pytest.mark.parametrize(
    "line", ["due", "list", "fleet", "costs", "costs --plan", "costs --retest", "due --within 90d"]
)
def test_csv_says_what_json_says(line: str, on_example: Callable[[str], Any]) -> None:
    ran = on_example(f"{line} --csv")
    told = on_example(f"{line} --json")
    assert ran.code == told.code
    read = rows(ran.out)
    data = told.json
    if line == "fleet":
        assert [(r["use"], int(r["count"])) for r in read] == [
            (g["use"], g["count"]) for g in data["groups"]
        ]
    elif line == "costs":
        assert len(read) == sum(c["count"] for c in data["by_obligation"])
    elif line == "costs --plan":
        tasks = [t["id"] for b in data["plan"]["batches"] for t in b["tasks"]]
        assert [r["id"] for r in read] == tasks
    elif line == "costs --retest":
        assert [r["id"] for r in read] == [c["id"] for c in data["retest"]]
    else:
        assert [r["id"] for r in read] == [d["id"] for d in data]


def test_a_formula_in_a_record_does_not_run(tb: Run, write: Callable[..., Path]) -> None:
    text = books.GOOD.replace("serial: K118204", 'serial: "=1+1"')
    root = write({"cylinders/RB-014.yaml": text + 'place: "@SUM(A1)"\n'})
    (row,) = rows(tb("list", "--csv", *ON, "--ledger", root).out)
    assert (row["serial"], row["place"]) == ("'=1+1", "'@SUM(A1)")


def many(write: Callable[..., Path]) -> Path:
    files = {}
    log = [
        "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note"
    ]
    for n in range(300):
        text = books.GOOD.replace("K118204", f"K{n}").replace(
            "2024-03", f"202{n % 4 + 1}-{n % 12 + 1:02}"
        )
        text = text.replace("2026-02-09", f"2026-{n % 11 + 1:02}-09")
        files[f"cylinders/RB-{n:03}.yaml"] = text
        for month in range(1, 12):
            log.append(
                f"2026-{month:02}-10T09:{n % 60:02}:{n // 60:02}+01:00,RB-{n:03},fill,500 psi,3000 psi,,air,,,MV,,B1,,,,"
            )
    order = sorted(log[1:])
    wanted = [
        "date,reference,use,size,gas,count",
        *(f"2027-{m:02}-06,B-{m},rental,,air,120" for m in range(1, 10)),
    ]
    files["fills/2026.csv"] = "\n".join([log[0], *order, ""])
    files["bookings.csv"] = "\n".join([*wanted, ""])
    settings = books.SETTINGS + (
        "prices: {hydro: 42.00 USD, visual: 22.00 USD}\n"
        "retesting: {batch: 20, visuals_a_week: 25, quiet: [dec, jan, feb, mar]}\n"
    )
    return write({"tankbook.yaml": settings, **files})


def test_300_cylinders_with_bounded_memory(write: Callable[..., Path], tmp_path: Path) -> None:
    """All papers of a large fleet in one process of at most 400 MB of its own."""
    root = many(write)
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from tankbook.__main__ import main\n"
        "for line in sys.argv[2].split(';'):\n"
        "    code = main([*line.split(), '--on', '2026-11-25', '--ledger', sys.argv[1]])\n"
        "    assert code == 0, line\n"
        # its own peak: what getrusage tells may be that of the process it was forked from
        "peak = Path('/proc/self/status').read_text().split('VmHWM:')[1].split()[0]\n"
        "print(peak)\n"
    )
    lines = (
        "report --html r.html --pdf r.pdf;report --one-page --pdf s.pdf;"
        "wall --pdf w.pdf --svg w.svg;calendar --ics c.ics;costs --plan"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script, str(root), lines],
        cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip
    megabytes = int(ran.stdout.splitlines()[-1]) / 1024
    assert megabytes < 400
    assert len(pypdfium2.PdfDocument(tmp_path / "s.pdf")) == 1
    wall = pypdfium2.PdfDocument(tmp_path / "w.pdf")
    assert len(wall) > 5
    assert "RB-299" in wall[len(wall) - 1].get_textpage().get_text_range()
    assert "what is booked can be sent" in ran.stdout
