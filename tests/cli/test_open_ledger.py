"""The page commands write on, and the day they answer for."""

from __future__ import annotations

import datetime as dt
import io
import shutil
import sys
from os import terminal_size

import pytest

from tankbook.cli import loud
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.open_ledger import day_asked, page
from tankbook.cli.options import Common


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("columns", "width"), [(40, 60), (80, 80), (100, 100), (300, 120)])
def test_a_page_is_as_wide_as_the_terminal_within_reason(
    columns: int, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdout", Terminal())
    monkeypatch.setattr(shutil, "get_terminal_size", lambda _: terminal_size((columns, 24)))
    assert page().width == width


def test_without_a_terminal_a_page_has_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert page().width == 80


def test_the_day_is_the_one_asked_for_else_today() -> None:
    assert day_asked(Common(on="2026-11-25")) == dt.date(2026, 11, 25)
    before = dt.datetime.now().astimezone().date()
    assert before <= day_asked(Common()) <= before + dt.timedelta(1)


@pytest.mark.parametrize("text", ["2026-02-30", "2026-2-9", "20260209", "2026-02", "today"])
def test_a_day_is_written_in_one_way(text: str) -> None:
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
