"""Sending away and having back."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.away import back, refit, send
from tankbook.acts.elsewhere import done_elsewhere
from tankbook.acts.hold import hold, hold_all
from tankbook.records.edits import Act
from tankbook.records.log import LogLine, columns
from tankbook.records.words import AskedThere, PartChecked, SentFor, Status, ValveSent
from tankbook.rules.gate import may_fill
from tankbook.rules.recall import by_source
from tankbook.rules.schedule import due
from tankbook.rules.stock import expected_here
from tankbook.units import PartialDate

BY = {"by": "MV", "on": TODAY}
AWAY = {"to": "Northside", "for_": SentFor.REQUALIFICATION, **BY}
BACK = dt.date(2026, 11, 24)


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf()


def refusals(shelf: Shelf, id_: str) -> list[str]:
    return [r.code for r in may_fill(shelf.book, id_, TODAY, station=False).refusals]


def test_sent_and_back_and_refitted_and_still_to_be_inspected(shelf: Shelf) -> None:
    act = shelf.do(send, ["RB-014"], **AWAY)
    assert act.sentence == "Sent RB-014 to Northside for requalification"
    assert shelf["RB-014"].status is Status.AT_TEST
    act = shelf.do(back, ["RB-014"], **BY)
    assert act.notes == (
        "RB-014: record its test (`tankbook requalify`); dry it, refit its valve "
        "(`tankbook refit`); inspect it (`tankbook inspect`)",
        "what the test house or shop did itself, looked inside or fitted the valve, anybody "
        "records: `tankbook done-elsewhere RB-014`",
    )
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION
    assert refusals(shelf, "RB-014") == ["standing-awaiting-inspection", "not-refitted"]
    shelf.do(refit, ["RB-014"], **BY)
    assert refusals(shelf, "RB-014") == ["standing-awaiting-inspection"]


def test_back_and_refitted_at_once(shelf: Shelf) -> None:
    shelf.do(send, ["RB-014"], **AWAY)
    act = shelf.do(back, ["RB-014"], refitted=True, **BY)
    assert act.sentence == "Back: RB-014, dried and refitted"
    [entry] = shelf["RB-014"].sent
    assert (entry.back, entry.refitted, entry.refitted_by) == (TODAY, TODAY, "MV")
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION


def test_a_second_journey_does_not_touch_the_first(shelf: Shelf) -> None:
    for _ in range(2):
        shelf.do(send, ["RB-014"], **AWAY)
        shelf.do(back, ["RB-014"], refitted=True, **BY)
    assert [s.refitted for s in shelf["RB-014"].sent] == [TODAY, TODAY]


def test_a_repair_is_at_repair(shelf: Shelf) -> None:
    shelf.do(send, ["RB-014"], **{**AWAY, "for_": SentFor.REPAIR})
    assert shelf["RB-014"].status is Status.AT_REPAIR
    act = shelf.do(back, ["RB-014"], **BY)
    assert "requalify" not in act.notes[0]


def test_a_test_goes_to_the_settings_requalifier(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = books.SETTINGS + "requalifier: Weir Street\n"
    act = shelf.do(send, ["RB-014"], **{**AWAY, "to": ""})
    assert "to Weir Street" in act.sentence
    repair = {**AWAY, "to": "", "for_": SentFor.REPAIR}
    assert "--to is empty" in shelf.refuse(send, ["RB-015"], **repair)


def test_a_hold_goes_along_and_comes_back(shelf: Shelf) -> None:
    shelf.do(hold, ["RB-014"], why="dent", **BY)
    shelf.do(send, ["RB-014"], **AWAY)
    assert shelf["RB-014"].status is Status.AT_TEST
    shelf.do(back, ["RB-014"], **BY)
    assert shelf["RB-014"].status is Status.HELD


def test_what_is_asked_and_how_the_valve_goes_is_recorded(shelf: Shelf) -> None:
    shelf.do(
        send, ["RB-014"], ask=[AskedThere.HYDRO, AskedThere.HYDRO], valve=ValveSent.OFF, **AWAY
    )
    sent = shelf["RB-014"].sent[-1]
    assert sent.asked == (AskedThere.HYDRO,)
    assert sent.with_valve is ValveSent.OFF


def test_half_a_set_sent_is_said(shelf: Shelf) -> None:
    assert shelf.do(send, ["RB-015"], **AWAY).notes[0] == (
        "one side of DB-02 goes: once they are apart, say so: `tankbook unpair DB-02 --bled heard`"
    )
    assert shelf.do(send, ["RB-016", "RB-014"], **AWAY).notes


def test_what_is_away_is_not_sent_and_what_is_here_is_not_back(shelf: Shelf) -> None:
    shelf.do(send, ["RB-014"], **AWAY)
    assert "RB-014 is at-test: it is not here" in shelf.refuse(send, ["RB-014"], **AWAY)
    assert "RB-015 is not away" in shelf.refuse(back, ["RB-014", "RB-015"], **BY)
    assert shelf["RB-014"].status is Status.AT_TEST


def test_nothing_ends_before_it_began(shelf: Shelf) -> None:
    shelf.do(send, ["RB-014"], **AWAY)
    assert "sent on 2026-11-25, after" in shelf.refuse(back, ["RB-014"], by="MV", on=BACK)
    shelf.do(back, ["RB-014"], **BY)
    assert "came back after" in shelf.refuse(refit, ["RB-014"], by="MV", on=BACK)


def test_only_what_came_back_bare_is_refitted(shelf: Shelf) -> None:
    assert "has not come back" in shelf.refuse(refit, ["RB-014"], **BY)


def test_what_comes_home_is_recorded_whatever_stood_against_it_all_along() -> None:
    bad = "inspected: [{on: 2026-03-16, by: MV, checklist: annual, result: hold}]"
    away = "sent: [{on: 2026-03-17, to: N, for: requalification}]"
    card = books.with_lines(books.GOOD, inspected=bad.partition(": ")[2], status=None)
    shelf = acting.shelf(RB_014=card + away + "\n")
    act = back(shelf.book, ["RB-014"], by="MV", on=TODAY, refitted=True)
    assert isinstance(act, Act)
    assert any("WARNING: RB-014: its inspection of 2026-03-16 says hold" in n for n in act.notes)


# --- back to the supplier ------------------------------------------------------------------------

FAULT = {"to": "S-12", "for_": SentFor.SUPPLIER, "why": "thread cut too deep", **BY}


def test_what_has_a_fault_goes_back_to_its_supplier_and_is_gone(shelf: Shelf) -> None:
    act = shelf.do(send, ["RB-014"], paper="return note 31", **FAULT)
    assert act.sentence == "Returned RB-014 to the supplier S-12: thread cut too deep"
    assert act.notes == (
        "RB-014: gone till `tankbook back RB-014`; what is sent in its place is a cylinder of its "
        "own (`tankbook book-in`)",
        f"the note to go with them: `tankbook dispatch {TODAY} --pdf note.pdf`",
    )
    card = shelf["RB-014"]
    assert card.status is Status.AT_SUPPLIER
    assert (card.sent[-1].why, card.sent[-1].paper) == ("thread cut too deep", "return note 31")
    assert refusals(shelf, "RB-014") == ["standing-at-supplier"]
    assert "RB-014" not in {d.id for d in due(shelf.book, TODAY)}
    assert "RB-014" not in {e.id for e in expected_here(shelf.book)}
    assert "is at-supplier" in shelf.refuse(hold, ["RB-014"], why="dent", **BY)
    assert "is at-supplier" in shelf.refuse(send, ["RB-014"], **AWAY)


def test_what_is_wrong_with_it_is_asked(shelf: Shelf) -> None:
    told = shelf.refuse(send, ["RB-014"], **FAULT | {"why": ""})
    assert told == "what is wrong with what goes back is not said: --why TEXT"


def test_what_the_supplier_returns_awaits_inspection(shelf: Shelf) -> None:
    shelf.do(send, ["RB-014"], **{**FAULT, "on": BACK})
    act = shelf.do(back, ["RB-014"], **BY)
    assert act.notes[0] == "RB-014: inspect it (`tankbook inspect`)"
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION
    assert refusals(shelf, "RB-014") == ["standing-awaiting-inspection"]
    assert "unfitted" in shelf.refuse(refit, ["RB-014"], **BY)
    looked = {"who": "S-12", "done": PartialDate.of(TODAY), "visual": True}
    shelf.do(done_elsewhere, ["RB-014"], checked=(*PartChecked,), **looked, **BY)
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION


@pytest.mark.parametrize(
    ("changes", "use", "reason"),
    [
        ({"why": ""}, "rental", "what is wrong with what goes back is not said: --why TEXT"),
        ({"to": ""}, "rental", "--to is empty"),
        ({}, "customer\nowner: C-0192", "RB-014 is a customer's (C-0192)"),
        ({}, "customer", "RB-014 is a customer's (owner not recorded)"),
        ({"on": dt.date(2026, 11, 25), "by": "ZZ"}, "rental", "ZZ is not among the people"),
    ],
)
def test_what_is_no_suppliers_is_refused(
    shelf: Shelf, changes: dict[str, Any], use: str, reason: str
) -> None:
    path = "cylinders/RB-014.yaml"
    shelf.texts[path] = shelf.texts[path].replace("use: rental", f"use: {use}")
    assert reason in shelf.refuse(send, ["RB-014"], **{**FAULT, **changes})


@pytest.mark.parametrize(
    ("looked", "by", "past"),
    [(BACK, "MV", True), (TODAY, "MV", True), (dt.date(2026, 11, 23), "MV", False), (TODAY, "ZZ", False)],
)  # fmt: skip
def test_a_valve_that_nobody_knows_who_fitted_is_past_once_it_came_off_again(
    shelf: Shelf, looked: dt.date, by: str, past: bool
) -> None:
    """That its owner fitted it is true, and asks of no one to say that somebody else did."""
    shelf.do(send, ["RB-014"], **{**AWAY, "on": dt.date(2026, 11, 20)})
    act = back(shelf.book, ["RB-014"], refitted_by="the owner", by="MV", on=BACK)
    assert isinstance(act, Act)
    assert any("the owner is nobody's name; look inside it" in note for note in act.notes)
    look = f"  - {{on: {looked}, by: {by}, checklist: annual, result: pass, sticker: issued}}\n"
    home = f"back: {BACK}, refitted: {BACK}, refitted_by: the owner"
    card = books.GOOD.rstrip() + f"\n{look}sent: [{{on: 2026-11-20, to: N, for: repair, {home}}}]\n"
    shelf.texts["cylinders/RB-014.yaml"] = card
    assert ("ended-unsigned" in refusals(shelf, "RB-014")) is not past


def test_a_recall_rings_the_supplier_and_holds_it_till_it_comes_back(shelf: Shelf) -> None:
    shelf.texts["fills/2026.csv"] = ",".join(columns(LogLine)) + (
        "\n2026-11-20T09:30:00+01:00,RB-014,fill,500 psi,2900 psi,70 degF,air,,,MV,,B1,,,,\n"
    )
    shelf.do(send, ["RB-014"], **FAULT)
    found = by_source(shelf.book, "B1", TODAY)
    [suspect] = found.suspects
    assert (suspect.place, suspect.ring) == ("returned to its supplier 2026-11-25", "S-12")
    shelf.do(hold_all, found, why="bad air", **BY)
    assert shelf["RB-014"].status is Status.AT_SUPPLIER
    shelf.do(back, ["RB-014"], **BY)
    assert shelf["RB-014"].status is Status.HELD
