"""The page commands write on, and the day they answer for."""

from __future__ import annotations

import datetime as dt
import io
import re
import shutil
import sys
from os import terminal_size
from pathlib import Path

import pytest

from tankbook.cli import boundary, loud
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.due import due
from tankbook.cli.open_ledger import day_asked, page
from tankbook.cli.options import Common

COVE = Path(__file__).parents[2] / "example_ledger"


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("columns", "width"), [(20, 40), (40, 40), (80, 80), (100, 100), (300, 120)]
)
def test_a_page_is_as_wide_as_the_terminal_within_reason(
    columns: int, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdout", Terminal())
    monkeypatch.setattr(shutil, "get_terminal_size", lambda _: terminal_size((columns, 24)))
    assert page().width == width


@pytest.mark.parametrize(("columns", "width"), [(20, 40), (40, 40), (50, 50), (80, 80), (300, 120)])
def test_what_is_due_fits_a_narrow_terminal(
    columns: int, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    terminal = Terminal()
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", terminal)
        patch.setattr(shutil, "get_terminal_size", lambda _: terminal_size((columns, 24)))
        assert page().width == width
        answer = due(Common(ledger=str(COVE), on="2026-11-25"))
    assert max(map(len, answer.text.splitlines())) <= width


def test_without_a_terminal_a_page_has_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert page().width == 80


SAID = [
    "tankbook: no air test is on record; name the source: " + ", ".join(f"B{n}" for n in range(40)),
    "cylinders/a long name of a card.yaml:1234:56: " + "what is wrong, then how to mend it; " * 9,
    "tankbook: fills/2026.csv:40:1: 3 cells where 16 are wanted; compare it with the header",
    "tankbook: 'a  b' is none " + "unbreakable" * 20,
]


@pytest.mark.parametrize("said", SAID)
@pytest.mark.parametrize(("columns", "width"), [(20, 40), (40, 40), (80, 80), (300, 120)])
def test_a_line_on_standard_error_is_wrapped_for_its_terminal(
    said: str, columns: int, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(shutil, "get_terminal_size", lambda _: terminal_size((columns, 24)))
    boundary._say(said)
    first, *more = stream.getvalue().rstrip("\n").split("\n")
    place = re.match(r"[^:]+:[0-9]+:[0-9]+:", said.removeprefix("tankbook: "))
    assert place is None or place[0] in first  # whoever jumps there finds it whole
    assert all(line.startswith("  ") for line in more)
    assert all(len(n) <= width or " " not in n.strip() or n == first for n in (first, *more))
    assert " ".join(" ".join((first, *more)).split()) == " ".join(said.split())


@pytest.mark.parametrize("said", SAID)
def test_into_a_file_a_line_goes_whole(said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", stream := io.StringIO())
    monkeypatch.setenv("COLUMNS", "40")
    boundary._say(said)
    assert stream.getvalue() == f"{said}\n"


def test_a_report_to_paste_is_never_wrapped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", stream := Terminal())
    monkeypatch.setattr(shutil, "get_terminal_size", lambda _: terminal_size((40, 24)))
    said = f"{boundary.RULE}\n{'a word ' * 30}"
    boundary._say(said)
    assert stream.getvalue() == f"{said}\n"


def test_the_day_is_the_one_asked_for_else_today() -> None:
    assert day_asked(Common(on="2026-11-25")) == dt.date(2026, 11, 25)
    before = dt.datetime.now().astimezone().date()
    assert before <= day_asked(Common()) <= before + dt.timedelta(1)


@pytest.mark.parametrize("text", ["2026-02-30", "20260209", "2026-02"])
def test_what_is_no_day_is_told(text: str) -> None:
    with pytest.raises(RequestError, match="is not a calendar day; write it as 2026-11-25"):
        day_asked(Common(on=text))


def test_what_must_be_told_stands_inside_no_sentence() -> None:
    broken = Answer(
        "NO  RB-024: its hydro lapsed, and it is held, and it was\n    rejected\n\nmore"
    )
    assert loud.told(broken, "2 FILES").text == (
        "NO  RB-024: its hydro lapsed, and it is held, and it was rejected; 2 FILES\n\nmore"
    )
    listed = Answer("OUT 14\n- RB-014 to B-1")
    assert loud.told(listed, "2 FILES").text == "OUT 14; 2 FILES\n- RB-014 to B-1"
    short = Answer("YES RB-014\nlimit 3000 psi")
    assert loud.told(short, "2 FILES").text == "YES RB-014; 2 FILES\nlimit 3000 psi"
    assert loud.told(Answer("+--+\n|  |"), "2 FILES").text == "2 FILES\n+--+\n|  |"
    assert loud.told(short, "") is short
    board = Answer("Station open: filter 41 h, banks 3 d old; 7 ready\nBanks: B1 air 2210 psi")
    assert loud.told(board, "1 FILE").text == (
        "Station open: filter 41 h, banks 3 d old; 7 ready; 1 FILE\nBanks: B1 air 2210 psi"
    )
