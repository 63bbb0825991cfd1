"""Rejecting, which an inspector does, and condemning, which only a requalifier does."""

from __future__ import annotations

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.reject import condemn, reject
from tankbook.records.words import Status
from tankbook.units import PartialDate

BY = {"by": "MV", "on": TODAY}
CONDEMNED = {"by": "T123", "on": PartialDate.of(TODAY), "why": "crack", "marked": "CONDEMNED"}
OWNED = books.GOOD.replace("use: rental", "use: customer\nowner: C-0192")


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf(RB_014=OWNED)


def test_a_rejection_with_its_notice(shelf: Shelf) -> None:
    act = shelf.do(reject, "RB-014", why="pit 1.9 mm", told="letter", **BY)
    assert act.sentence == "Rejected RB-014: pit 1.9 mm"
    assert act.notes == ()
    [entry] = shelf["RB-014"].rejected
    assert (entry.told.on, entry.told.by, entry.told.how) == (TODAY, "MV", "letter")
    assert shelf["RB-014"].status is Status.REJECTED


def test_the_notice_may_follow_and_is_asked_for(shelf: Shelf) -> None:
    act = shelf.do(reject, "RB-014", why="pit", **BY)
    assert act.notes == (
        "the owner is to be told in writing; record it with `tankbook reject RB-014 --told letter`",
    )
    act = shelf.do(reject, "RB-014", why="", told="letter", **BY)
    assert act.sentence == "Told the owner that RB-014 is rejected: letter"
    assert shelf["RB-014"].rejected[0].told.how == "letter"
    assert "--why is empty" in shelf.refuse(reject, "RB-014", why="", told="letter", **BY)


def test_telling_in_person_leaves_the_written_notice_due(shelf: Shelf) -> None:
    act = shelf.do(reject, "RB-014", why="pit", told="in person", **BY)
    assert act.notes == ("a written notice is due to the owner as well",)


def test_our_own_stock_has_no_owner_to_tell(shelf: Shelf) -> None:
    assert shelf.do(reject, "RB-015", why="pit", **BY).notes == ()


def test_who_is_not_certified_may_still_take_it_out_of_use(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = books.SETTINGS.replace(
        "from: 2020-01", "from: 2020-01, until: 2026-08"
    )
    act = shelf.do(reject, "RB-015", why="pit", **BY)
    assert act.notes == ("MV has no inspector's certification on record for 2026-11-25",)


def test_a_set_is_neither_rejected_nor_condemned(shelf: Shelf) -> None:
    assert "is a set" in shelf.refuse(reject, "DB-02", why="pit", **BY)
    assert "is a set" in shelf.refuse(condemn, "DB-02", **CONDEMNED)


def test_condemned_by_a_requalifier_and_marked(shelf: Shelf) -> None:
    act = shelf.do(condemn, "RB-014", **CONDEMNED)
    assert act.sentence == "T123 condemned RB-014: crack"
    assert "only with the owner's consent" in act.notes[0]
    assert shelf["RB-014"].status is Status.CONDEMNED
    assert shelf["RB-014"].condemned[0].marked == "CONDEMNED"


@pytest.mark.parametrize("missing", ["by", "why", "marked"])
def test_who_why_and_how_marked_are_asked_for(missing: str, shelf: Shelf) -> None:
    told = shelf.refuse(condemn, "RB-014", **{**CONDEMNED, missing: ""})
    assert f"--{missing} is empty" in told


def test_an_inspector_does_not_condemn(shelf: Shelf) -> None:
    told = shelf.refuse(condemn, "RB-014", **{**CONDEMNED, "by": "MV"})
    assert "only a requalifier condemns" in told


@pytest.mark.parametrize(
    "marked", ["sawn in two", "drilled", "made unable to hold pressure", "scrapped"]
)
def test_destroying_takes_the_owners_consent(marked: str, shelf: Shelf) -> None:
    given = {**CONDEMNED, "marked": marked}
    assert "that takes the owner's consent" in shelf.refuse(condemn, "RB-014", **given)
    shelf.do(condemn, "RB-014", consent="letter of 2026-11-20", **given)
    assert shelf["RB-014"].condemned[0].consent == "letter of 2026-11-20"


def test_the_consent_may_follow_and_stands_once_given(shelf: Shelf) -> None:
    shelf.do(condemn, "RB-014", **CONDEMNED)
    later = {**CONDEMNED, "marked": "", "consent": "letter of 2026-12-01"}
    act = shelf.do(condemn, "RB-014", **later)
    assert act.sentence == "Condemned RB-014: consent: letter of 2026-12-01"
    assert "consent is already on record" in shelf.refuse(condemn, "RB-014", **later)
    assert "was condemned by T123" in shelf.refuse(condemn, "RB-014", **{**later, "consent": ""})


def test_a_condemned_cylinder_is_not_rejected(shelf: Shelf) -> None:
    shelf.do(condemn, "RB-014", **CONDEMNED)
    assert "RB-014 is condemned" in shelf.refuse(reject, "RB-014", why="pit", **BY)
