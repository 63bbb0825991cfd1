"""Every answer fits a narrow terminal: tables become sentences where they do not fit."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import lines
import pytest

from tankbook.cli import keys, open_ledger
from tankbook.cli.commands import every_line
from tankbook.output.page import Page
from tankbook.output.tables import table
from tankbook.records.words import Shore

Run = Callable[..., Any]
COVE = Path(__file__).parents[2] / "example_ledger"

OF_THE_COVE = {
    "show": ("14",), "may-fill": ("14",), "capacity": ("14", "--at", "2000"), "tags": ("14",),
    "history": ("14", "--fills"), "plan": ("14=500", "11", "31=800"), "equalize": ("14=500", "11"),
    "slip": ("SF-054",), "blend": ("67", "--to", "nitrox32"), "recall": ("B1", "--names"), "receipt": ("21",),
    "fills": ("--month", "2026-10"), "sheet": ("14",), "report": (), "jobs": ("--names",),
    "export": ("cove.csv",),
}  # fmt: skip
WHOLE = {
    "validate",  # `path:line:column:` is one line, for editors
    "audit", "pages", "pending",  # of git, files, a line
    "",
}  # fmt: skip
MORE = [
    ("commands",), ("explain",), ("explain", "us.visual", "permit", "yoke"), ("costs", "--plan"), ("costs", "--retest"), ("fleet", "--months", "6"),
    ("due", "--all"), ("list", "--use", "rental"), ("report", "--one-page"),
    ("fills", "--settled"), ("rules",),
    ("plan", "14=500", "11=700", "--bank", "B1=500", "--explain", "--favour", "time"),
    ("plan", "14=500", "11=700", "--no-compressor", "--ready-by", "08:00", "--start", "07:55"),
    ("plan", "14=500", "11=700", "--needed", "14=07:40", "--comes", "11=09:30", "--start", "07:30"),
    ("plan", "14=500", "--needed", "bookings", "--start", "07:30"),
    ("dispatch", "2026-11-17"), ("dispatch", "2026-10-09", "--back"), ("receipt", "16"),
    ("dispatch", "2026-10-09", "--counted", "69", "--counted", "14"), ("committee", "--customers"),
]  # fmt: skip


def narrow(monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    """A terminal so wide, for this process."""
    monkeypatch.setattr(open_ledger, "page", lambda shore=Shore.PSI: Page(width, shore))
    monkeypatch.setattr(keys, "columns", lambda stream: width if stream is sys.stderr else None)


@pytest.mark.parametrize("width", [40, 60])
@pytest.mark.parametrize(
    "line",
    [
        *(
            (*name.split(), *OF_THE_COVE.get(name, () if name != "marks" else lines.READING[name]))
            for name in lines.READING
            if name not in WHOLE
        ),
        *MORE,
    ],
    ids=" ".join,
)
def test_every_answer_fits_a_narrow_terminal(
    line: tuple[str, ...], width: int, tb: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    narrow(monkeypatch, width)
    monkeypatch.chdir(tmp_path)
    ran = tb(
        *line,
        *(
            ()
            if line[0] in ("commands", "marks", "explain")
            else ("--on", "2026-11-25", "--ledger", COVE)
        ),
    )
    assert ran.out
    over = [each for each in ran.out.splitlines() if len(each) > width]
    assert over == []


CLOSED = [
    (),
    ("list",),
    ("due",),
    ("fleet",),
    ("committee",),
    ("report",),
    ("pages", "counter-pages"),
    ("stock",),
    ("rentals",),
]


@pytest.mark.parametrize("width", [40, 200])
@pytest.mark.parametrize("line", CLOSED, ids=" ".join)
def test_a_first_line_that_tells_more_fits_too(
    line: tuple[str, ...], width: int, tb: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Of a new ledger under git, whose station is closed, by a terminal; a pipe has it in one line."""
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "own"))
    (tmp_path / "own").write_text("[user]\n\tname = T\n\temail = t@example.org\n")
    assert tb("init", "quay", "--git", "--rules", "us-dot").code == 0
    asked = (*line, "--on", "2026-11-25", "--ledger", "quay")
    whole = tb(*asked)
    room = min(width, keys.WIDEST)
    monkeypatch.setattr(open_ledger, "page", lambda shore=Shore.PSI: Page(room, shore))
    monkeypatch.setattr(keys, "columns", lambda stream: room)
    ran = tb(*asked)
    assert [each for each in ran.out.splitlines() if len(each) > room] == []
    if "NOTHING MAY BE FILLED HERE" in whole.out:
        assert "NOTHING MAY BE FILLED HERE" in whole.first
        assert "NOTHING MAY BE FILLED HERE" in " ".join(ran.out.split())


@pytest.mark.parametrize("line", [(), ("list",), ("due",)], ids=" ".join)
def test_the_records_at_fault_fit_too(
    line: tuple[str, ...], tb: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert tb("init", "quay").code == 0
    for name in ("RB-014", "RB-015"):  # two of one serial
        Path(f"quay/cylinders/{name}.yaml").write_text(books.GOOD)
    narrow(monkeypatch, 40)
    ran = tb(*line, "--on", "2026-11-25", "--ledger", "quay")
    assert "Records at fault (2); `tankbook\n  validate` tells all of it" in ran.out
    assert [each for each in ran.out.splitlines()[1:] if len(each) > 40] == []


def test_every_help_fits_a_narrow_terminal(tb: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A word that has no blank in it stays whole: `--did fitted|changed|serviced|insert|read`."""
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(keys, "columns", lambda stream: 40)
    for line in ("", *every_line()):
        said = tb(*line.split(), "--help").out
        over = [e for e in said.splitlines() if len(e) > 40 and len(e.split()) > 2]
        assert over == [], line
    monkeypatch.undo()
    assert max(len(each) for each in tb("due", "--help").out.splitlines()) > 60


def test_a_row_that_no_table_has_room_for_is_a_sentence_without_what_it_lacks() -> None:
    rows = [("RB-014", "3000 psi at 70 degF", "-", "2026-11-25"), ("RB-015", "", "held", "-")]
    heads = ("id", "limit", "stands", "due")
    assert "\n" in table(heads, rows, Page(80))
    assert table(heads, rows, Page(42)) == (
        "RB-014: limit 3000 psi at 70 degF; due\n  2026-11-25\nRB-015: stands held"
    )


@pytest.mark.parametrize("width", [40, 60])
def test_findings_wrap_on_a_terminal_alone(
    width: int, tb: Run, ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Into a pipe each is one line, for editors; on a terminal its place alone stays whole."""
    card = ledger / "cylinders/RB-014.yaml"
    card.write_text(
        card.read_text() + "held: [{on: 2126-11-28, by: MV, why: a dent as long as a hand}]\n"
    )
    whole = tb("validate", "--ledger", ledger).out
    monkeypatch.setattr(keys, "columns", lambda _: width)
    wrapped = tb("validate", "--ledger", ledger).out
    assert max(map(len, whole.splitlines())) > width
    assert max(map(len, wrapped.splitlines())) <= width
    assert wrapped.split() == whole.split()


@pytest.mark.parametrize("width", [40, 60])
def test_a_ledger_made_again_is_told_in_narrow_lines(
    width: int, tb: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert tb("export", tmp_path / "cove.json", "--ledger", COVE).code == 0
    narrow(monkeypatch, width)
    ran = tb("import", tmp_path / "cove.json", "--into", tmp_path / "x")
    assert ran.code == 0
    assert [
        line for line in ran.out.splitlines() if len(line) > width and " " in line.strip()
    ] == []
