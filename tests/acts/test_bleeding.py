"""Bleeding a cylinder before its valve comes off."""

from __future__ import annotations

import acting
import pytest
from acting import TODAY, Shelf

from tankbook.acts.away import back, refit, send
from tankbook.acts.bench import Read
from tankbook.acts.bleeding import BLEED_IT, TAKEN_FOR_FULL
from tankbook.acts.inspect import Look, inspect
from tankbook.acts.walk import passed_except, steps_for
from tankbook.records.edits import Act, Refusal
from tankbook.records.words import Bled, SentFor, Status
from tankbook.rules.fill_history import let_out
from tankbook.rules.gate import may_fill

THREADS = Read(neck_thread="3/4-14 NPSM", valve_thread="3/4-14 NPSM")
BY = {"by": "MV", "on": TODAY}
AWAY = {"to": "Northside", "for_": SentFor.REPAIR, **BY}


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf()


def looked(shelf: Shelf, bled: Bled | None, checklist: str = "internal") -> Act | Refusal:
    steps = steps_for(shelf.book.checklists[checklist], shelf["RB-014"])
    one = Look("RB-014", passed_except(steps, {}), THREADS, note="blue boot")
    return inspect(shelf.book, [one], checklist=checklist, bled=bled, **BY)


def test_no_flow_is_no_proof_that_it_is_empty(shelf: Shelf) -> None:
    act = shelf.do(lambda book, **_: looked(shelf, Bled.NO_FLOW))
    card = shelf["RB-014"]
    [held] = [h for h in card.held if h.bled]
    assert (held.why, held.bled, held.note) == (TAKEN_FOR_FULL, Bled.NO_FLOW, "blue boot")
    assert card.status is Status.HELD
    assert all(i.on.first != TODAY for i in card.inspected)
    assert "not inspected" in act.sentence
    assert "leave the valve on" in act.notes[0]
    assert "standing-held" in {r.code for r in may_fill(shelf.book, "RB-014", TODAY).refusals}
    again = looked(shelf, Bled.NO_FLOW)
    assert isinstance(again, Refusal)
    assert again.reasons == ("RB-014 is held for that already",)


@pytest.mark.parametrize("bled", [Bled.HEARD, Bled.LEFT_OPEN, None])
def test_a_look_inside_says_how_it_was_bled_or_is_asked(shelf: Shelf, bled: Bled | None) -> None:
    act = looked(shelf, bled)
    assert isinstance(act, Act)
    assert any(BLEED_IT in n for n in act.notes) == (bled is None)
    shelf.do(lambda book, **_: act)
    assert shelf["RB-014"].inspected[-1].bled is bled


def test_a_look_that_leaves_the_valve_on_is_not_bled_for(shelf: Shelf) -> None:
    said = looked(shelf, Bled.HEARD, "outside")
    assert isinstance(said, Refusal)
    assert "leaves the valve on" in said.reasons[0]
    unasked = looked(shelf, None, "outside")
    assert isinstance(unasked, Act)
    assert not any(BLEED_IT in n for n in unasked.notes)


def test_what_let_no_flow_be_heard_goes_as_if_full(shelf: Shelf) -> None:
    act = shelf.do(send, ["RB-014"], bled=Bled.NO_FLOW, **AWAY)
    assert act.notes[:-1] == (f"RB-014: {TAKEN_FOR_FULL}; say so to Northside in writing",)
    before = set(let_out(shelf.book, shelf["RB-014"]))
    assert TODAY not in before
    shelf.do(back, ["RB-014"], **BY)
    assert shelf["RB-014"].status is Status.HELD
    shelf.do(refit, ["RB-014"], **BY)
    assert set(let_out(shelf.book, shelf["RB-014"])) == before | {TODAY}


def test_what_is_sent_is_bled_before_its_valve_comes_off(shelf: Shelf) -> None:
    act = shelf.do(send, ["RB-014"], **AWAY)
    said = f"before the valve comes off, {BLEED_IT}; record it with --bled heard"
    assert act.notes[:-1] == (f"RB-014: {said}",)
    assert TODAY in set(let_out(shelf.book, shelf["RB-014"]))
