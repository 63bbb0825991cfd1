"""An act's own words in the journal, and when two acts are one given twice."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

import pytest

from tankbook.ledger.note import Note
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, SetValue

NOW = dt.datetime.fromisoformat("2026-11-25T09:31:04+01:00")
LATER = dt.datetime.fromisoformat("2026-11-25T11:02:40+01:00")
TOMORROW = dt.datetime.fromisoformat("2026-11-26T08:00:00+01:00")

EDITS: tuple[Edit, ...] = (
    SetValue("cylinders/A.yaml", ("held", 0, "released"), "2026-11-25"),
    AddEntry("cylinders/A.yaml", ("held",), {"on": "2026-11-25", "why": "dent", "n": ("a", "b")}),
    NewFile("cylinders/B.yaml", "serial: K1\n"),
    AddLine({"at": "2026-11-25T09:31:04+01:00", "cylinder": "A", "act": "fill", "to": "3000 psi"}),
)


def note(*edits: Edit, at: dt.datetime = NOW, verb: str = "fill", ids: Any = ("A",)) -> Note:
    return Note.of(Act(verb, ids, "Filled A", edits), "MV", at)


def line(at: str, **cells: str) -> AddLine:
    return AddLine({"at": at, "cylinder": "A", "act": "fill", "to": "3000 psi", **cells})


def entry(on: str, at: str, why: str = "dent") -> AddEntry:
    return AddEntry("cylinders/A.yaml", ("held",), {"on": on, "at": at, "why": why})


def test_a_note_comes_back_as_it_was() -> None:
    written = note(*EDITS)
    again = Note.read(json.loads(json.dumps(written.data())))
    assert again.is_again(written)
    assert str(again) == "Filled A (MV, 2026-11-25 09:31)"
    one, two, three, four = again.act_edits()
    assert one == EDITS[0]
    assert three == EDITS[2]
    assert isinstance(two, AddEntry)
    assert dict(two.entry) == {"on": "2026-11-25", "why": "dent", "n": ["a", "b"]}  # type: ignore[arg-type]
    assert four == EDITS[3]


def test_what_was_typed_reaches_no_terminal_as_it_is() -> None:
    act = Act("hold", ("A",), "Held A: \x1b[2J\u202edent\n\xa0", ())
    written = Note.of(act, "M\x07V", NOW)
    assert str(written) == r"Held A: \x1b[2J\u202edent\n\xa0 (M\x07V, 2026-11-25 09:31)"
    assert Note.read(json.loads(json.dumps(written.data()))) == written


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        (line("2026-11-25T09:31:03+01:00"), line("2026-11-25T11:02:39+01:00"), True),
        (line("2026-11-25T08:00:00+01:00"), line("2026-11-25T08:00:00+01:00"), True),
        (line("2026-11-25T08:00:00+01:00"), line("2026-11-25T08:05:00+01:00"), False),
        (line("2026-11-25T09:31:03+01:00"), line("2026-11-25T08:00:00+01:00"), False),
        (line("2026-11-25T09:31:03+01:00", to="2990 psi"), line("2026-11-25T11:02:39+01:00"), False),
        (entry("2026-11-25", "09:31"), entry("2026-11-25", "11:02"), True),
        (entry("2026-11-25", "07:00"), entry("2026-11-25", "11:02"), False),
        (entry("2026-11-24", "09:31"), entry("2026-11-25", "11:02"), False),
        (entry("2026-11-25", "09:31"), entry("2026-11-25", "11:02", "scratch"), False),
    ],
)  # fmt: skip
def test_the_same_act_given_later(first: Edit, second: Edit, same: bool) -> None:
    assert note(first).is_again(note(second, at=LATER)) is same
    assert note(second, at=LATER).is_again(note(first)) is same


def test_an_act_of_today_given_again_after_midnight() -> None:
    first = note(entry("2026-11-25", "09:31"))
    assert note(entry("2026-11-26", "08:00"), at=TOMORROW).is_again(first)


def test_another_verb_or_another_cylinder_is_another_act() -> None:
    assert not note(*EDITS).is_again(note(*EDITS, verb="hold"))
    assert not note(*EDITS).is_again(note(*EDITS, ids=("B",)))
    assert note(*EDITS, ids=("A", "B")).is_again(note(*EDITS, ids=("B", "A")))
