"""Customers' jobs as the workshop board tells them."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines

from tankbook.output.listing import Listed, text
from tankbook.output.page import Page
from tankbook.records.words import JobState, Status
from tankbook.rules.board import board
from tankbook.rules.bookings import rental_board
from tankbook.rules.fill_history import standings
from tankbook.rules.gate import may_fill
from tankbook.rules.wall_chart import wall_chart
from tankbook.rules.workshop import open_jobs, workshop_board


def card(job: str, **more: str) -> str:
    return with_lines(GOOD, use="customer", jobs=f"[{job}]", **more)


@pytest.mark.parametrize(
    ("job", "flags"),
    [
        ("{on: 2026-11-20, work: [visual], promised: 2026-11-25}", {"promised_today"}),
        ("{on: 2026-11-20, work: [visual], promised: 2026-11-24}", {"late"}),
        ("{on: 2026-11-20, work: [visual], promised: 2026-11-26}", set()),
        ("{on: 2026-11-20, work: [hydro], state: awaiting-parts}", set()),
        (
            "{on: 2026-11-01, work: [visual], promised: 2026-11-10, state: ready, ready: 2026-11-09}",
            {"to_call"},
        ),
        (
            "{on: 2026-11-01, work: [visual], state: ready, ready: 2026-11-09,"
            " told: {on: 2026-11-09, by: MV, how: telephone}}",
            set(),
        ),
        (
            "{on: 2026-10-01, work: [visual], state: ready, ready: 2026-10-25,"
            " told: {on: 2026-10-25, by: MV, how: telephone}}",
            {"unclaimed"},
        ),
        (
            "{on: 2026-10-01, work: [visual], state: ready, ready: 2026-10-26,"
            " told: {on: 2026-10-26, by: MV, how: telephone}}",
            set(),
        ),
    ],
)
def test_what_a_job_asks_of_the_day(job: str, flags: set[str]) -> None:
    (line,) = workshop_board(make_book({"A": card(job)}), TODAY).jobs
    names = ("promised_today", "late", "to_call", "unclaimed")
    assert {n for n in names if getattr(line, n)} == flags


def test_how_long_finished_work_may_wait_is_a_setting() -> None:
    job = "{on: 2026-11-01, work: [visual], state: ready, ready: 2026-11-15}"
    settings = SETTINGS + "unclaimed: 7 days\n"
    (line,) = workshop_board(make_book({"A": card(job)}, settings=settings), TODAY).jobs
    assert (line.unclaimed, line.waited) == (True, 10)


def test_collected_and_struck_out_jobs_are_not_on_the_board() -> None:
    done = "{on: 2026-11-01, work: [visual], state: collected, collected: 2026-11-20}"
    wrong = "{on: 2026-11-01, work: [visual], void: {why: x, by: MV, on: 2026-11-02}}"
    book = make_book({"A": card(done), "B": card(wrong, serial="K2")})
    assert workshop_board(book, TODAY).jobs == ()


def test_the_most_pressing_comes_first() -> None:
    jobs = {
        "A": "{on: 2026-11-20, work: [visual]}",
        "B": "{on: 2026-11-20, work: [visual], state: ready, ready: 2026-11-24}",
        "C": "{on: 2026-11-20, work: [visual], promised: 2026-11-25}",
        "D": "{on: 2026-11-20, work: [visual], promised: 2026-11-22}",
    }
    book = make_book({n: card(j, serial=f"K{n}") for n, j in jobs.items()})
    board = workshop_board(book, TODAY)
    assert [line.id for line in board.jobs] == ["D", "C", "B", "A"]
    assert board.cylinders == 4


def test_what_is_away_is_told_longest_first() -> None:
    cards = {
        n: with_lines(
            GOOD, serial=f"K{n}", status=status, sent=f"[{{on: {on}, to: X, for: {for_}}}]"
        )
        for n, on, for_, status in (
            ("A", "2026-11-20", "requalification", "at-test"),
            ("B", "2026-11-13", "requalification", "at-test"),
            ("C", "2026-11-01", "repair", "at-repair"),
        )
    }
    board = workshop_board(make_book(cards), TODAY)
    assert [(a.id, a.days) for a in board.away] == [("C", 24), ("B", 12), ("A", 5)]
    assert [a.id for a in board.at_requalifier] == ["B", "A"]


def test_a_job_known_on_an_earlier_day_was_open_then() -> None:
    job = "{on: 2026-11-01, work: [visual], state: collected, ready: 2026-11-09, collected: 2026-11-20}"
    book = make_book({"A": card(job)})
    states = []
    for day in ("2026-11-05", "2026-11-10", "2026-11-20"):
        known = book.as_known_on(TODAY.fromisoformat(day))
        (line,) = workshop_board(known, TODAY).jobs or (None,)
        states.append(line.state if line else None)
    assert states == [JobState.OPEN, JobState.READY, None]
    assert open_jobs(book.cylinders["A"]) == ()


FOUND = {
    "rejected": "rejected: [{on: 2026-11-24, by: A123, why: pits}]\n",
    "condemned": "condemned: [{on: 2026-11-24, by: A123, why: pits}]\n",
    "held": "held: [{on: 2026-11-24, by: MV, why: gouge}]\n",
    "in-service": "",
}


@pytest.mark.parametrize("found", FOUND)
@pytest.mark.parametrize(
    ("for_", "status"), [("requalification", Status.AT_TEST), ("repair", Status.AT_REPAIR)]
)
@pytest.mark.parametrize("back", [False, True])
def test_what_was_found_there_brings_nothing_home(
    found: str, for_: str, status: Status, back: bool
) -> None:
    """Failed or condemned at the test house, it is there until it is back: on every answer."""
    end = ", back: 2026-11-25" if back else ""
    sent = f"sent: [{{on: 2026-11-20, to: N, for: {for_}{end}}}]\n"
    book = make_book({"A": with_lines(GOOD, use="rental", status=None) + sent + FOUND[found]})
    away = {"A"} - ({"A"} if back else set())
    assert {line.id for line in workshop_board(book, TODAY).away} == away
    assert {each.id for each in board(book, TODAY).away} == away
    signs = {row.id: status in row.stands for row in wall_chart(book, TODAY).rows}
    assert signs.get("A", False) is not back
    codes = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert (f"standing-{status}" in codes) is not back
    states = standings(book, book.cylinders["A"])
    listed = Listed(book.cylinders["A"], "", "", found, fillable=False, ready=False, states=states)
    said = text([listed], "", Page(width=200))
    assert (str(status).replace("-", " ") in said) is not back


@pytest.mark.parametrize("found", FOUND)
def test_what_was_found_of_it_brings_no_rental_home(found: str) -> None:
    rented = "rented: [{on: 2026-11-20, by: MV, to: B-1, until: 2026-11-22}]\n"
    book = make_book({"A": with_lines(GOOD, use="rental", status=None) + rented + FOUND[found]})
    assert [each.id for each in board(book, TODAY).out] == ["A"]
    assert [each.id for each in rental_board(book, TODAY).late] == ["A"]
