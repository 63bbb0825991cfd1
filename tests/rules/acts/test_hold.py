"""Setting aside and letting go."""

from __future__ import annotations

import datetime as dt

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.records.words import Method, Status
from tankbook.rules.acts.hold import hold, release
from tankbook.rules.acts.reject import reject
from tankbook.rules.acts.requalify import Test, requalify
from tankbook.units import PartialDate

BY = {"by": "MV", "on": TODAY}


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf()


def test_a_hold_is_an_entry_and_a_status(shelf: Shelf) -> None:
    act = shelf.do(hold, ["RB-014"], why="dent", **BY)
    assert act.sentence == "Held RB-014: dent"
    assert shelf["RB-014"].status is Status.HELD
    [entry] = shelf["RB-014"].held
    assert (entry.on, entry.by, entry.why) == (PartialDate.of(TODAY), "MV", "dent")


def test_a_set_is_both_its_cylinders(shelf: Shelf) -> None:
    act = shelf.do(hold, ["DB-02", "RB-015"], why="manifold", **BY)
    assert act.subjects == ("RB-015", "RB-016")


def test_many_are_counted_in_the_sentence_and_all_named_besides(shelf: Shelf) -> None:
    for number in range(20, 25):
        text = books.GOOD.replace("K118204", f"K1182{number}")
        shelf.texts[f"cylinders/RB-0{number}.yaml"] = text
    ids = [f"RB-0{n}" for n in range(20, 25)]
    act = shelf.do(hold, ids, why="recall", **BY)
    assert act.sentence == "Held 5 cylinders (RB-020, RB-021, RB-022, ...): recall"
    assert act.subjects == tuple(ids)


def test_a_second_reason_is_a_second_hold_and_the_same_is_none(shelf: Shelf) -> None:
    shelf.do(hold, ["RB-014"], why="dent", **BY)
    assert "already held for that since 2026-11-25" in shelf.refuse(
        hold, ["RB-014"], why="Dent", **BY
    )
    shelf.do(hold, ["RB-014"], why="owner asks", **BY)
    assert len(shelf["RB-014"].held) == 2


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ({"why": " "}, "--why is empty"),
        ({"why": "two\nlines"}, "is not one line of plain text"),
        ({"why": "null"}, "is not one line of plain text"),
        ({"by": ""}, "who did it is not said: give --by"),
        ({"by": "ZZ"}, "ZZ is not among the people of tankbook.yaml (MV)"),
    ],
)
def test_a_hold_says_why_and_who(shelf: Shelf, options: dict[str, str], text: str) -> None:
    given = {"why": "dent", **BY, **options}
    assert text in shelf.refuse(hold, ["RB-014"], **given)


def test_who_has_left_signs_no_more(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = books.SETTINGS.replace("MV: {", "MV: {left: 2026-08, ")
    assert "MV left on 2026-08" in shelf.refuse(hold, ["RB-014"], why="dent", **BY)
    shelf.do(hold, ["RB-014"], why="dent", by="MV", on=dt.date(2026, 8, 31))


def test_without_people_any_initials_sign(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = "ledger: Quay\nunits: psi\nrules: [us-dot]\n"
    act = hold(shelf.book, ["RB-014"], why="dent", by="XY", on=TODAY)
    assert act.sentence == "Held RB-014: dent"


GONE = {
    "sold": "handed_over: [{on: 2026-03-01, to: C-1}]",
    "condemned": "condemned: [{on: 2026-03-01, by: T123, why: crack}]",
    "lost": "lost: [{on: 2026-03-01, by: MV}]",
}


@pytest.mark.parametrize("status", GONE)
def test_what_is_gone_is_not_set_aside(status: str) -> None:
    text = books.GOOD.replace("in-service", status) + GONE[status] + "\n"
    shelf = acting.shelf(RB_014=text)
    assert f"RB-014 is {status}" in shelf.refuse(hold, ["RB-014"], why="dent", **BY)


def test_every_reason_is_told_and_nothing_is_planned(shelf: Shelf) -> None:
    reasons = shelf.refuse(hold, ["RB-099", "RB-014"], why="", by="ZZ", on=TODAY)
    assert reasons.count(";") >= 2
    assert "RB-099 is not in the ledger" in reasons


def test_release_ends_the_hold_and_the_cylinder_is_in_service(shelf: Shelf) -> None:
    shelf.do(hold, ["RB-014"], why="dent", **BY)
    act = shelf.do(release, ["RB-014"], why="gauged", **BY)
    assert act.sentence == "Released RB-014: gauged"
    assert act.notes == ()
    [entry] = shelf["RB-014"].held
    assert (entry.released, entry.released_by, entry.released_why) == (TODAY, "MV", "gauged")
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_release_tells_what_still_stands_against_it() -> None:
    shelf = acting.shelf(RB_014=books.GOOD.replace("on: 2026-02-09", "on: 2025-02-09"))
    shelf.do(hold, ["RB-014"], why="dent", **BY)
    act = shelf.do(release, ["RB-014"], why="gauged", **BY)
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION
    assert act.notes[0].startswith("RB-014 may not be filled yet: visual lapsed Feb 2026")


def test_release_of_a_list_of_one_written_without_its_dash() -> None:
    text = books.GOOD.replace("in-service", "held") + "held: {on: 2026-03-01, why: dent}\n"
    shelf = acting.shelf(RB_014=text)
    shelf.do(release, ["RB-014"], why="gauged", **BY)
    assert shelf["RB-014"].held[0].released == TODAY


def test_several_holds_are_let_go_one_by_one_or_all(shelf: Shelf) -> None:
    shelf.do(hold, ["RB-014"], why="dent", by="MV", on=dt.date(2026, 11, 1))
    shelf.do(hold, ["RB-014"], why="owner asks", **BY)
    told = shelf.refuse(release, ["RB-014"], why="ok", **BY)
    assert "held 2 times: 2026-11-01 (dent); 2026-11-25 (owner asks)" in told
    shelf.do(release, ["RB-014"], why="ok", held_on=PartialDate.parse("2026-11-01"), **BY)
    assert shelf["RB-014"].status is Status.HELD
    shelf.do(hold, ["RB-014"], why="third", **BY)
    shelf.do(release, ["RB-014"], why="ok", every=True, **BY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_what_is_not_held_is_not_released(shelf: Shelf) -> None:
    assert "RB-014 is neither held nor rejected" in shelf.refuse(release, ["RB-014"], why="x", **BY)
    shelf.do(hold, ["RB-014"], why="dent", **BY)
    early = {"by": "MV", "on": dt.date(2026, 11, 1)}
    assert "held on 2026-11-25, after 2026-11-01" in shelf.refuse(
        release, ["RB-014"], why="x", **early
    )


def test_a_rejection_is_lifted_only_on_a_requalifiers_pass(shelf: Shelf) -> None:
    shelf.do(reject, "RB-014", why="pit", by="MV", on=dt.date(2026, 10, 5))
    told = shelf.refuse(release, ["RB-014"], why="looks fine", **BY)
    assert "only a requalifier's pass since then lifts that" in told
    test = Test(PartialDate.parse("2026-10"), Method.HYDROSTATIC, "T123")
    act = shelf.do(requalify, ["RB-014"], test, TODAY)
    assert "`tankbook release RB-014` lifts the rejection" in act.notes[0]
    assert shelf["RB-014"].status is Status.REJECTED
    shelf.do(release, ["RB-014"], why="measured within limits", **BY)
    assert shelf["RB-014"].rejected[0].lifted == TODAY
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_failed_test_lifts_nothing(shelf: Shelf) -> None:
    shelf.do(reject, "RB-014", why="pit", by="MV", on=dt.date(2026, 10, 5))
    for month, failures in (("2026-10", {}), ("2026-11", {"RB-014": "leak"})):
        test = Test(PartialDate.parse(month), Method.HYDROSTATIC, "T123", failures=failures)
        shelf.do(requalify, ["RB-014"], test, TODAY)
    assert "only a requalifier's pass" in shelf.refuse(release, ["RB-014"], why="x", **BY)
