"""What is cracked, bulged, burnt or leaks is dangerous while it holds pressure: it is told at once, and
until it is empty."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, STATION, TODAY, make_book, with_lines

from tankbook.acts.hold import hold
from tankbook.acts.refuse import refuse
from tankbook.acts.reject import reject
from tankbook.records.book import Book
from tankbook.records.edits import Act
from tankbook.rules.gate import may_fill
from tankbook.rules.signing import bench_of
from tankbook.rules.under_pressure import STAND_CLEAR, danger_said, under_pressure

FULL = "at=2026-11-24T10:00:00+00:00; cylinder=A; act=fill; from=500 psi; to=3000 psi; temperature=70 degF; gas=air; by=MV"
EMPTY = FULL + "\nat=2026-11-25T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"

ON_CARD = {
    "a hold": {"held": "[{on: 2026-11-23, by: MV, why: bulge on the wall}]"},
    "a hold let go": {"held": "[{on: 2026-11-18, by: MV, why: crack at the neck, released: 2026-11-20, released_by: MV, released_why: looked over}]"},
    "a rejection": {"rejected": "[{on: 2026-11-23, by: MV, why: neck cracked}]"},
    "a condemning": {"condemned": "[{on: 2026-11-24, by: T123, why: crack at the neck}]", "status": "condemned"},
    "a refusal": {"refused": "[{on: 2026-11-23, by: MV, reasons: [was in a fire]}]"},
    "the note of a refusal": {"refused": "[{on: 2026-11-23, by: MV, reasons: [no sticker], note: hissing at the shoulder}]"},
    "a finding": {"inspected": "[{on: 2026-11-23, by: MV, checklist: outside, result: hold, findings: [{step: body, result: hold, what: bulge}]}]"},
    "a crack": {"inspected": "[{on: 2026-11-23, by: MV, checklist: annual, result: reject, findings: [{step: neck-threads, result: reject, what: crack, count: 2, position: top}]}]"},
    "a note of a look": {"inspected": "[{on: 2026-11-23, by: MV, checklist: outside, result: hold, note: scorched all over}]"},
    "a return": {"rented": "[{on: 2026-11-20, to: B-1, back: 2026-11-23, pressure: 2900 psi, valve: closed, damage: neck bent}]"},
}  # fmt: skip

HARMLESS = {
    "nothing": {},
    "a sticker": {"held": "[{on: 2026-11-23, by: MV, why: sticker illegible}]"},
    "no crack": {"held": "[{on: 2026-11-23, by: MV, why: 'no cracks, sticker illegible'}]"},
    "the trade's word": {"held": "[{on: 2026-11-23, by: MV, why: cracked the valve to smell it}]"},
    "a fitting": {"held": "[{on: 2026-11-23, by: MV, why: boot cracked}]"},
}


def book(keys: dict[str, str], log: str) -> Book:
    return make_book({"A": with_lines(GOOD, **keys)}, station=STATION, log=log)


def told(of: Book) -> list[str]:
    return [r.text for r in may_fill(of, "A", TODAY).reasons if r.code == "danger-under-pressure"]


@pytest.mark.parametrize("what", ON_CARD)
def test_while_it_holds_pressure_every_answer_says_what_to_beware_of(what: str) -> None:
    said = told(book(ON_CARD[what], FULL))
    assert len(said) == 1
    assert STAND_CLEAR in said[0]
    assert "it holds " in said[0]
    assert told(book(ON_CARD[what], EMPTY)) == []
    assert told(book(ON_CARD[what], "")) == [] or what == "a return"  # its pressure was read


@pytest.mark.parametrize("what", HARMLESS)
def test_what_is_not_dangerous_under_pressure_warns_of_nothing(what: str) -> None:
    assert told(book(HARMLESS[what], FULL)) == []


def test_where_nobody_recorded_what_it_holds_it_is_said_where_it_is_asked_for() -> None:
    of = book(ON_CARD["a hold"], "")
    card = of.cylinders["A"]
    assert under_pressure(of, card) == ""
    assert "what pressure it holds is not recorded" in under_pressure(of, card, unknown=True)


@pytest.mark.parametrize(
    ("text", "dangerous"),
    [
        ("crack at thread 3", True), ("bulged", True), ("burnt", True), ("leaking at the neck", True),
        ("neck bent", True), ("bullet hole", True), ("hisses", True), ("Riss im Hals", True),
        ("hydro lapsed Sep 2026", False), ("no leaks", False), ("o-ring leaking", False),
        ("leak test passed", False), ("no cracks", False), ("cracked a joke", False), ("", False),
    ],
)  # fmt: skip
def test_one_judge_of_what_words_are_dangerous(text: str, dangerous: bool) -> None:
    assert bool(danger_said(bench_of(book({}, "")), text)) is dangerous


@pytest.mark.parametrize(("log", "holds"), [("", "is not recorded"), (FULL, "it holds 3000 psi")])
def test_the_act_itself_says_it_first(log: str, holds: str) -> None:
    of = book({}, log)
    at = {"at": dt.time(12)}
    refused = refuse(of, ["A"], by="MV", on=TODAY, reasons=["crack seen on the neck"], **at)
    held = hold(of, ["A"], by="MV", on=TODAY, why="crack seen on the neck", **at)
    rejected = reject(of, "A", by="MV", on=TODAY, why="bulge on the wall", **at)
    for act in (refused, held, rejected):
        assert isinstance(act, Act), act
        assert act.notes[0].startswith("A: DANGER, ")
        assert holds in act.notes[0]
        assert STAND_CLEAR in act.notes[0]
    quiet = hold(of, ["A"], by="MV", on=TODAY, why="sticker illegible", **at)
    assert isinstance(quiet, Act)
    assert not any("DANGER" in note for note in quiet.notes)
