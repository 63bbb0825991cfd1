"""Today's board, as text and as JSON."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from changing import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.output import as_json
from tankbook.output import board as output
from tankbook.output.board import OfGit
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.rulerow import Gate
from tankbook.rules.answers import AbsentLine, BankState, Board, HeldLine, Ready, Reason
from tankbook.rules.board import board as board_of
from tankbook.units import GaugePressure, RunningTime


@pytest.fixture(name="board")
def _board(book: Book, today: dt.date) -> Board:
    return board_of(book, today)


EMPTY = Board(
    today=dt.date(2026, 11, 25),
    ledger="Test Quay",
    station=(),
    station_refusals=(),
    air_test_until=None,
    banks=(),
    ready=(),
    overdue=(),
    missing=(),
    soon=(),
    soon_days=30,
    held=(),
    out=(),
    away=(),
    awaiting=(),
    broken=(),
)


def test_the_first_line_is_the_station_and_how_many_are_ready(board: Board) -> None:
    assert output.headline(board) == (
        "Station open: air test to 12 Apr 2027, filter 17 h, banks 11 d old; 1 ready"
    )


def test_a_closed_station_says_so_and_why(board: Board, page: Page) -> None:
    reason = Reason("air-test-failed", "the air test failed", Gate.REFUSE)
    closed = replace(board, station_refusals=(reason,))
    assert output.headline(closed).startswith("Station CLOSED: ")
    assert "\n- the air test failed" in output.text(closed, OfGit(), page)


def test_an_air_test_that_ran_out_is_not_called_valid(board: Board) -> None:
    late = replace(board, air_test_until=dt.date(2026, 11, 24))
    assert "air test ran out 24 Nov 2026" in output.headline(late)
    today = replace(board, air_test_until=board.today)
    assert "air test to 25 Nov 2026" in output.headline(today)
    assert "no air test" in output.headline(replace(board, air_test_until=None))
    failed = replace(board, air_test_until=None, air_test_failed=True)
    assert "air test FAILED" in output.headline(failed)


def test_banks_that_were_never_read_say_so(board: Board, page: Page) -> None:
    unread = replace(board, banks=(BankState("B1", "air", None, None, True),))
    assert "banks not read" in output.headline(unread)
    assert "B1 air not read" in output.text(unread, OfGit(), page)


def test_a_stale_reading_is_marked_in_words(board: Board, page: Page) -> None:
    assert "B2 air 2500 psi (STALE, read 11 days ago, 1 fill since)" in output.text(
        board, OfGit(), page
    )


def test_an_empty_ledger_has_a_board(page: Page) -> None:
    lines = output.text(EMPTY, OfGit(), page).splitlines()
    assert lines[:2] == ["No station on record; 0 ready", "Ready: nothing"]


def test_ready_is_counted_by_size_and_gas(board: Board, page: Page) -> None:
    ready = (Ready("al80", "air", ("A-1", "A-2")), Ready("al80", "nitrox32", ("A-3",)))
    text = output.text(replace(board, ready=ready), OfGit(), page)
    assert "; 3 ready" in output.headline(replace(board, ready=ready))
    assert "Ready: 2 x al80 air, 1 x al80 nitrox32" in text


def test_a_long_list_of_names_is_cut_and_counted(board: Board, page: Page) -> None:
    text = output.text(board, OfGit([f"cylinders/RB-{n:03}.yaml" for n in range(52)]), page)
    assert "Not yet committed (52)" in text
    assert "and 32 more" in text


def test_outside_git_it_says_that_what_vanishes_is_not_missed(board: Board, page: Page) -> None:
    assert output.WITHOUT_GIT.split(".")[0] in " ".join(output.text(board, OfGit(), page).split())
    assert "not in git" not in output.text(board, OfGit(()), page)
    damaged = output.text(board, OfGit(why="the latest commit of main is missing"), page)
    assert "not in git" not in damaged
    assert "Git cannot be asked" in damaged


def test_the_page(board: Board, page: Page, snapshot: SnapshotAssertion) -> None:
    full = replace(
        board,
        held=(HeldLine("RB-021", "worn threads", "out to B-2 since 2026-11-02"),),
        out=(AbsentLine("RB-020", "to B-4471 since 2026-11-24"),),
        away=(
            AbsentLine(
                "RB-021",
                "requalification at Northside Test House since 2026-11-02",
                "FAILED its hydro 2026-11",
            ),
        ),
        awaiting=("SF-001", "SF-002"),
        broken=("RB-099",),
    )
    text = output.text(full, OfGit(["cylinders/RB-014.yaml"]), page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_the_json(board: Board) -> None:
    got = json.loads(as_json.dumps(output.data(board, OfGit(["fills/2026.csv"]))))
    assert list(got) == [
        "today",
        "ledger",
        "station",
        "ready",
        "overdue",
        "missing",
        "due_soon",
        "soon_days",
        "held",
        "out",
        "in_doubt",
        "away",
        "awaiting_inspection",
        "unreadable",
        "uncommitted",
        "ignored",
        "copies",
        "audited",
        "git_unasked",
        "history",
    ]
    assert got["station"]["open"] is True
    assert got["station"]["filters"] == [{"name": "F1", "hours_left": 17.5, "state": "ok"}]
    assert got["station"]["banks"][1] == {
        "name": "B2",
        "gas": "air",
        "pressure_psi": 2500,
        "pressure_bar": pytest.approx(GaugePressure.of(2500, "psi").bar, rel=1e-9),
        "read_on": "2026-11-14",
        "stale": True,
        "shows_psi": 2500,
        "shows_bar": pytest.approx(GaugePressure.of(2500, "psi").bar, rel=1e-9),
        "fills_since": 1,
        "held": None,
        "asked": None,
    }
    assert got["uncommitted"] == ["fills/2026.csv"]


def test_outside_git_uncommitted_is_null(board: Board) -> None:
    assert output.data(board, OfGit())["uncommitted"] is None


def test_what_git_is_told_to_ignore_stands_on_the_board(board: Board) -> None:
    said = output.text(board, OfGit((), ["cylinders/RB-014.yaml"]), Page(80))
    assert "vanishes from them is not missed (1)\n  cylinders/RB-014.yaml\n" in said
    assert output.data(board, OfGit([], ["cylinders/RB-014.yaml"]))["ignored"] == [
        "cylinders/RB-014.yaml"
    ]


@pytest.mark.parametrize(
    ("hours", "over", "said"),
    [(17.9, False, "filter 17 h"), (0.4, False, "filter 0 h"), (2.5, True, "filter 2.5 h OVER")],
)  # fmt: skip
def test_hours_left_are_rounded_down(hours: float, over: bool, said: str, board: Board) -> None:
    station = tuple(
        replace(d, hours_left=RunningTime.of(hours, "h"), hours_over=over) if d.hours_left else d
        for d in board.station
    )
    assert f", {said}, " in output.headline(replace(board, station=station))


def test_up_to_where_the_history_was_audited_is_one_calm_line(board: Board) -> None:
    said = output.text(board, OfGit((), history=output.NEVER_AUDITED), Page(80))
    assert "\n\nHistory never audited; `tankbook audit --checkpoint` begins.\n\nCaution" in said
    assert "audited" not in output.text(board, OfGit(()), Page(80))
