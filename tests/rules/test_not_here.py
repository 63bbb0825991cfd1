"""Where a cylinder is, though its status says something graver of it."""

from __future__ import annotations

import books
import pytest

from tankbook.acts.away import send
from tankbook.acts.looking import Look, wrong_with
from tankbook.records.edits import Refusal
from tankbook.records.words import SentFor, Status
from tankbook.rules.fill_history import not_here, stands_at
from tankbook.rules.status import status_of
from tankbook.rules.stock import count_of, expected_here

AWAY = {
    "out": (Status.OUT, "rented:\n  - {on: 2026-05-01, by: MV, to: B-1}\n"),
    "at test": (
        Status.AT_TEST,
        "sent:\n  - {on: 2026-05-01, by: MV, to: Northside, for: requalification}\n",
    ),
    "at repair": (
        Status.AT_REPAIR,
        "sent:\n  - {on: 2026-05-01, by: MV, to: Northside, for: repair}\n",
    ),
    "lost": (Status.LOST, "lost:\n  - {on: 2026-05-01, by: MV}\n"),
}
GRAVER = {
    "nothing": "",
    "rejected": "rejected:\n  - {on: 2026-05-02, by: MV, why: bulge}\n",
    "held": "held:\n  - {on: 2026-05-02, by: MV, why: dent}\n",
}


@pytest.mark.parametrize("graver", GRAVER)
@pytest.mark.parametrize("where", AWAY)
def test_what_is_not_in_the_room_is_known_whatever_else_stands_against_it(
    where: str, graver: str
) -> None:
    state, entry = AWAY[where]
    book = books.make_book({"RB-014": books.GOOD + entry + GRAVER[graver]})
    card = book.cylinders["RB-014"]
    assert not_here(book, card) is state
    assert "RB-014" not in [e.id for e in expected_here(book)]
    [(_, why)] = count_of(book, ["RB-014"]).unexpected
    assert why.startswith("recorded as")
    refused = list(wrong_with(book, book, Look("RB-014", ()), book.checklists["annual"]))
    assert refused[0].startswith(f"it is {state}: ")
    gone = send(book, ["RB-014"], to="N", for_=SentFor.REPAIR, by="MV", on=books.TODAY)
    assert isinstance(gone, Refusal)
    assert f"RB-014 is {state}: it is not here to be sent" in gone.reasons


def test_a_side_that_is_out_in_its_set_is_not_in_the_room() -> None:
    of_set = "cylinders: [RB-014, RB-015]\nmanifold: isolator\n" + AWAY["out"][1]
    cards = {"RB-014": books.GOOD, "RB-015": books.GOOD.replace("K118204", "K118205")}
    book = books.make_book(cards, sets={"DB-01": of_set})
    assert status_of(book, book.cylinders["RB-014"]) is Status.IN_SERVICE
    assert [not_here(book, card) for card in book.cylinders.values()] == [Status.OUT] * 2
    assert [stands_at(book, card) for card in book.cylinders.values()] == [Status.OUT] * 2


@pytest.mark.parametrize(
    ("of_set", "card", "stands"),
    [
        (False, "", Status.IN_SERVICE),
        (True, "", Status.OUT),
        (True, "inspected: []\n", Status.OUT),
        (False, "inspected: []\n", Status.AWAITING_INSPECTION),
        (True, "jobs: [{on: 2026-05-01, by: MV, work: [visual], ready: 2026-05-02}]\n", Status.OUT),
        # what is graver, or away by itself, is told before
        (True, GRAVER["held"], Status.HELD),
        (True, AWAY["at test"][1], Status.AT_TEST),
        (False, AWAY["lost"][1], Status.LOST),
    ],
)
def test_where_a_side_stands_is_told_with_its_set(of_set: bool, card: str, stands: Status) -> None:
    out = "cylinders: [RB-014, RB-015]\n" + (AWAY["out"][1] if of_set else "")
    cards = {
        "RB-014": (
            books.with_lines(books.GOOD, inspected=None) if "inspected" in card else books.GOOD
        )
        + card.replace("inspected: []\n", ""),
        "RB-015": books.GOOD.replace("K118204", "K118205"),
    }
    book = books.make_book(cards, sets={"DB-01": out})
    assert stands_at(book, book.cylinders["RB-014"]) is stands


def test_a_rental_that_is_over_or_struck_out_keeps_nothing_away() -> None:
    void = "void: {why: wrong card, by: MV, on: 2026-05-03}"
    for more in ("back: 2026-05-02", void):
        card = books.GOOD + AWAY["out"][1].replace("to: B-1", f"to: B-1, {more}")
        book = books.make_book({"RB-014": card})
        assert not_here(book, book.cylinders["RB-014"]) is None


def test_what_is_here_is_here_though_it_is_rejected() -> None:
    book = books.make_book({"RB-014": books.GOOD + GRAVER["rejected"]})
    card = book.cylinders["RB-014"]
    assert status_of(book, card) is Status.REJECTED
    assert not_here(book, card) is None
