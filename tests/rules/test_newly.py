"""What an upgrade refuses that the version before filled."""

from __future__ import annotations

import dataclasses

import pytest
from books import GOOD, STATION, TODAY, make_book, with_lines

from tankbook.output.findings import newly, newly_data
from tankbook.records.book import Book
from tankbook.records.node import Finding, Where
from tankbook.rules.newly import newly_refused

AIR = "air_tests: [{on: 2026-10-12, standard: cga-grade-d, result: pass, co: 4 ppm}]"
INSERT = "valve: {outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, insert: 2000 psi, insert_in: yes, disc: 5000 psi}"
VALVE = next(line for line in GOOD.splitlines() if line.startswith("valve: "))
SPENT = STATION.replace("2026-10-12", "2025-10-12")


def told(book: Book) -> list[tuple[str, str]]:
    return [
        (group.code, each.id) for group in newly_refused(book, TODAY) for each in group.cylinders
    ]


@pytest.mark.parametrize(
    ("card", "station", "expected"),
    [
        (GOOD, STATION, []),
        (GOOD, AIR, [("air-not-for-diving", "")]),
        (GOOD, SPENT, []),
        (with_lines(GOOD, status="held"), STATION, [("status", "A")]),
        (GOOD.replace("3/4-14 NPSM", "3/4"), STATION, [("thread-unnamed", "A")]),
        (GOOD.replace(VALVE, INSERT), STATION, [("insert-rating-below", "A")]),
        # what was refused before for another reason as well is not news
        (with_lines(GOOD, status="held", inspected=None), STATION, []),
    ],
)
def test_only_what_the_version_before_filled_is_listed(
    card: str, station: str, expected: list[tuple[str, str]]
) -> None:
    assert told(make_book({"A": card}, station=station)) == expected


def test_a_card_that_was_read_before_is_listed() -> None:
    fault = Finding(
        Where("cylinders/B.yaml", 18, 50), "empty-value", "result is left empty", "write pass"
    )
    book = dataclasses.replace(make_book({"A": GOOD}), broken={"B": (fault,)})
    assert told(book) == [("empty-value", "B")]
    other = Finding(Where("cylinders/B.yaml", 2, 1), "unknown-key", "`colour` is not a key")
    assert told(dataclasses.replace(make_book({"A": GOOD}), broken={"B": (fault, other)})) == []


def test_what_rests_on_a_checklist_without_its_steps_is_listed() -> None:
    book = make_book({"A": GOOD})
    annual = dataclasses.replace(book.checklists["annual"], steps=())
    hollow = dataclasses.replace(book, checklists={"annual": annual})
    assert ("checklist-hollow", "A") in told(hollow)


def test_what_touches_every_cylinder_is_said_once() -> None:
    groups = newly_refused(
        make_book({"A": GOOD, "B": with_lines(GOOD, serial="K2")}, station=AIR), TODAY
    )
    assert newly(groups, "2 cylinders").startswith(
        "every cylinder is refused that the last version"
    )
    assert [each["id"] for each in newly_data(groups)[0]["cylinders"]] == [None]
