"""An incident as an act: what it writes, and why it is not recorded."""

from __future__ import annotations

import books
import pytest
from acting import Shelf, shelf

from tankbook.acts.hold import release
from tankbook.acts.incident import Happened, incident
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure

TODAY = books.TODAY
READ = GaugePressure.of(2100, "psi")


def plan(book: Book, said: Happened, by: str = "MV") -> Act | Refusal:
    got = incident(book, said, by=by, on=TODAY)
    return got if isinstance(got, Refusal) else got[0]


def two() -> Shelf:
    made = shelf(RB_014=books.GOOD, RB_015=books.GOOD.replace("K118204", "K118205"))
    made.texts["station.yaml"] = books.STATION
    return made


def test_each_cylinder_is_held_by_an_entry_that_release_ends() -> None:
    made = two()
    act = made.do(plan, Happened(what="vented", ids=["RB-014", "RB-015"]))
    assert act.subjects == ("RB-014", "RB-015")
    for id_ in act.subjects:
        (held,) = made[id_].held
        assert (held.why, made[id_].status.value) == (f"incident of {TODAY}: vented", "held")
    made.do(release, ["RB-014"], why="valve changed", by="MV", on=TODAY)
    assert made["RB-014"].held[0].released_why == "valve changed"
    assert made["RB-015"].held[0].released is None


@pytest.mark.parametrize(
    ("said", "by", "why"),
    [
        (Happened(what=" "), "MV", "what happened is not said"),
        (Happened(what="-"), "MV", "what happened is not said"),
        (Happened(what="fell\x07"), "MV", "not one line of plain text"),
        (Happened(what="vented", ids=["ZZ-1"]), "MV", "ZZ-1 is not in the ledger"),
        (Happened(what="vented", readings={"RB-014": READ}), "MV", "name it there too"),
        (Happened(what="vented", whips=["W9"]), "MV", "whip W9 is not in"),
        (Happened(what="vented"), "", "who did it is not said"),
    ],
)
def test_why_it_is_not_recorded(said: Happened, by: str, why: str) -> None:
    assert why in two().refuse(plan, said, by)


@pytest.mark.parametrize(
    ("said", "named"),
    [
        (Happened(what="diver ill, on gas of rb-015"), "it speaks of RB-015, which is not held"),
        (Happened(what="vented", note="RB-015: it hissed", ids=["RB-014"]), "it speaks of RB-015"),
        (Happened(what="vented, RB-015", ids=["RB-015"]), ""),
        (Happened(what="vented beside rack RB-0151"), ""),
    ],
)
def test_what_it_speaks_of_and_does_not_hold_is_told(said: Happened, named: str) -> None:
    act = two().do(plan, said)
    told = [note for note in act.notes if "it speaks of" in note]
    assert (len(told), named in "".join(told)) == (int(bool(named)), True)


def test_every_reason_is_said_at_once() -> None:
    said = Happened(what="", ids=["ZZ-1", "ZZ-2"], banks=["B9"], told=["a\nb"])
    got = two().refuse(plan, said, "")
    for each in ("not said", "ZZ-1", "ZZ-2", "B9", "--told"):
        assert each in got


def test_a_long_sentence_is_shortened_in_the_hold_alone() -> None:
    made = two()
    act = made.do(plan, Happened(what="x " * 249 + "x", ids=["RB-014"]))
    (held,) = made["RB-014"].held
    assert held.why.endswith("...")
    assert len(held.why) < 250
    assert "x " * 249 in act.sentence


@pytest.mark.parametrize(
    ("said", "noted"),
    [
        (Happened(what="fell", ids=["RB-014"], note="hissing at the neck"), "hissing at the neck"),
        (Happened(what="fell " * 60 + "neck bent", ids=["RB-014"]), "fell " * 60 + "neck bent"),
        (Happened(what="neck bent", ids=["RB-014"], note="it rained"), None),
        (Happened(what="fell", ids=["RB-014"], note="neck not bent"), None),
    ],
)
def test_what_is_dangerous_is_held_against_the_cylinder_wherever_it_was_said(
    said: Happened, noted: str | None
) -> None:
    made = two()
    made.do(plan, said)
    (held,) = made["RB-014"].held
    assert held.note == noted
    made.do(release, ["RB-014"], why="looked over", by="MV", on=TODAY)
    refused = may_fill(made.book, "RB-014", TODAY).refusals
    grave = noted is not None or said.what == "neck bent"
    assert any(not r.may_be_overridden for r in refused) is grave


def test_an_incident_told_again_with_more_danger_holds_it_again() -> None:
    made = two()
    made.do(plan, Happened(what="fell", ids=["RB-014"]))
    for note, again in (("it rained", False), ("hissing at the neck", True)):
        act = plan(made.book, Happened(what="fell", ids=["RB-014"], note=note))
        assert isinstance(act, Act)
        assert ("held RB-014" in act.sentence) is again
