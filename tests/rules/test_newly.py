"""What an upgrade refuses that the version before filled."""

from __future__ import annotations

import pytest
from books import GOOD, STATION, TODAY, make_book, with_lines
from changing import replace

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
        (with_lines(GOOD, service="nitrox", status="held"), STATION, [("status", "A")]),
        # it comes home
        (
            with_lines(
                GOOD.replace("3/4-14 NPSM", "3/4"),
                rented="[{on: 2026-11-21, to: B-1}]",
                status="out",
            ),
            STATION,
            [("thread-unnamed", "A")],
        ),
        (with_lines(GOOD, rented="[{on: 2026-11-21, to: B-1}]", status="out"), STATION, []),
        (
            with_lines(
                GOOD, condemned="[{on: 2062-10-02, by: T123, why: crack}]", status="condemned"
            ),
            STATION,
            [("in-the-future", "A"), ("standing-condemned", "A")],
        ),
        (
            with_lines(
                GOOD, condemned="[{on: 2025-10-02, by: T123, why: crack}]", status="condemned"
            ),
            STATION,
            [],
        ),
        (
            with_lines(
                GOOD,
                inspected="[{on: 2026-02-09, by: MV, checklist: annual, result: pass, neck_thread: 3/4-14 NPSM, valve_thread: M25x2}]",
            ),
            STATION,
            [("thread-read-differs", "A")],
        ),
        (with_lines(GOOD, neck_thread="M25x2"), STATION, []),
        (
            with_lines(
                GOOD,
                held="[{on: 2026-10-20, by: MV, why: neck looks bent, released: 2026-10-21, released_by: MV, released_why: looked at it}]",
            ),
            STATION,
            [("giving-way-spoken-of", "A")],
        ),
        (
            with_lines(GOOD, refused="[{on: 2026-10-20, by: MV, reasons: [valve sits askew]}]"),
            STATION,
            [("refused-found", "A")],
        ),
        (
            with_lines(GOOD, refused="[{on: 2026-10-20, by: MV, reasons: [valve leaks]}]"),
            STATION,
            [("refused-leak", "A")],
        ),
        (
            with_lines(
                GOOD,
                specification="[DOT-E 9791]",
                material="steel",
                alloy=None,
                permit="{number: DOT-E 9791, period: 5 years, test_pressure: 5000 psi, life_ends: none}",
            ),
            STATION,
            [("recalled", "A")],
        ),
        # what was refused before for another reason as well is not news
        (with_lines(GOOD, status="held", inspected=None), STATION, []),
    ],
)
def test_only_what_the_version_before_filled_is_listed(
    card: str, station: str, expected: list[tuple[str, str]]
) -> None:
    assert told(make_book({"A": card}, station=station).as_known_on(TODAY)) == expected


PLAIN = "{number: DOT-SP 14157, period: 12 years, test_pressure: 9000 psi, expansion_limit: 20 %, life_ends: 2040-01}"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"marks": "DOT-3AL X3000X K118204 02K20"}, "marks-condemned"),
        ({"marks": "DOT-3AL 3000 K118204 02K20 WP2015"}, "marks-pressure"),
        ({"marks": "DOT-3AL 3000 K118204 02K20 REJECTED"}, "marks-condemned"),
        ({"permit": PLAIN}, "permit-bounds"),
        ({"inspected": "[{on: 2026-02-09, by: MV, checklist: annual, result: pass}, {on: 2062-02-09, by: MV, checklist: annual, result: reject}]"}, "in-the-future"),
        ({"status": "held"}, "status"),
    ],
)  # fmt: skip
def test_what_it_asked_of_less_is_listed_as_perhaps(changes: dict[str, str], code: str) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)}, station=STATION).as_known_on(TODAY)
    groups = newly_refused(book, TODAY)
    assert code in {g.code for g in groups}
    assert all(g.perhaps for g in groups)
    assert "1 cylinder is refused that it may have filled" in newly(groups, "1 cylinder")


def test_a_failed_test_that_the_next_one_does_not_name_is_news() -> None:
    tests = "[{on: 2025-03, method: hydrostatic, by: T123, result: fail}, {on: 2025-06, method: hydrostatic, by: T123, result: pass}]"
    book = make_book({"A": with_lines(GOOD, requalified=tests)}).as_known_on(TODAY)
    assert ("test-failed", "A") in told(book)
    assert not any(g.perhaps for g in newly_refused(book, TODAY))


def test_a_card_that_was_read_before_is_listed() -> None:
    fault = Finding(
        Where("cylinders/B.yaml", 18, 50), "empty-value", "result is left empty", "write pass"
    )
    book = replace(make_book({"A": GOOD}), broken={"B": (fault,)})
    assert told(book) == [("empty-value", "B")]
    other = Finding(Where("cylinders/B.yaml", 2, 1), "unknown-key", "`colour` is not a key")
    assert told(replace(make_book({"A": GOOD}), broken={"B": (fault, other)})) == []


def test_what_rests_on_a_checklist_without_its_steps_is_listed() -> None:
    book = make_book({"A": GOOD})
    annual = replace(book.checklists["annual"], steps=())
    hollow = replace(book, checklists={"annual": annual})
    assert ("checklist-hollow", "A") in told(hollow)


def test_what_touches_every_cylinder_is_said_once() -> None:
    groups = newly_refused(
        make_book({"A": GOOD, "B": with_lines(GOOD, serial="K2")}, station=AIR), TODAY
    )
    assert newly(groups, "2 cylinders").startswith(
        "every cylinder is refused that the last version"
    )
    assert [each["id"] for each in newly_data(groups)[0]["cylinders"]] == [None]


SIDES = "cylinders: [A, B]\nmanifold: isolation manifold\nrating: 3442 psi\nisolator: %s\n"
NITROX = "at=2026-11-20T09:30:00+01:00; cylinder=%s; act=fill; to=2900 psi; gas=nitrox32; o2=32.0 %%; by=MV; analysed_by=MV; source=C1"


def test_a_set_of_another_gas_is_asked_for_what_it_holds() -> None:
    cards = {
        "A": with_lines(GOOD, service="nitrox", cleaned="[{on: 2026-02-09, by: MV, to: nitrox}]"),
        "B": with_lines(
            GOOD, serial="K2", service="nitrox", cleaned="[{on: 2026-02-09, by: MV, to: nitrox}]"
        ),
    }
    book = make_book(cards, sets={"D": SIDES % "shut"}, log="\n".join(NITROX % i for i in "AB"))
    assert told(book.as_known_on(TODAY)) == [("isolator-shut", "A"), ("isolator-shut", "B")]
    book = make_book(cards, sets={"D": SIDES % "open"}, log="\n".join(NITROX % i for i in "AB"))
    assert told(book.as_known_on(TODAY)) == []


def test_the_other_side_is_news_where_its_own_refusals_are() -> None:
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="K2", status="held")}
    book = make_book(cards, sets={"D": SIDES % "open"}).as_known_on(TODAY)
    assert ("doubles-other-side", "A") in told(book)
    cards["B"] = with_lines(GOOD, serial="K2", held="[{on: 2026-03-01, by: MV, why: dent}]")
    assert told(make_book(cards, sets={"D": SIDES % "open"}).as_known_on(TODAY)) == []
