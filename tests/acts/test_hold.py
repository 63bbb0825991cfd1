"""Setting aside and letting go."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.common import signer_reasons
from tankbook.acts.hold import Hold, hold, hold_all, release
from tankbook.acts.lost import after_count
from tankbook.acts.reject import reject
from tankbook.acts.requalify import Test, requalify
from tankbook.records.edits import Act
from tankbook.records.log import LogLine, columns
from tankbook.records.words import Method, Status
from tankbook.rules.recall import Asked, by_fills
from tankbook.rules.stock import count_of
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
    assert entry.at is None  # dated by the day alone, nobody knows the time


HEADER = ",".join(columns(LogLine)) + "\n"
FILLED = "2026-11-25T09:30:20+01:00,RB-014,fill,,3000 psi,70 degF,air,,,MV,,B1,,,,\n"


@pytest.mark.parametrize(
    ("now", "at"),
    [("16:30:59", "16:30"), ("09:30:40", "09:31"), ("09:30:10", "09:30"), ("23:59:59", "23:59")],
)
def test_a_hold_of_today_has_the_minute_from_which_nothing_goes_in(
    now: str, at: str, shelf: Shelf
) -> None:
    """What was filled before it, in the same minute too, was filled lawfully."""
    if now != "09:30:10":
        shelf.texts["fills/2026.csv"] = HEADER + FILLED
    shelf.do(hold, ["RB-014"], why="dent", at=dt.time.fromisoformat(now), **BY)
    assert f"why: dent, at: {at}}}" in shelf.texts["cylinders/RB-014.yaml"].replace(
        "'", ""
    ).replace('"', "")
    assert shelf.faults() == []


def test_on_a_day_it_was_filled_the_time_of_the_hold_is_asked_for(shelf: Shelf) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + FILLED
    told = shelf.refuse(hold, ["RB-014", "RB-015"], why="dent", **BY)
    assert told == (
        "RB-014 was filled on 2026-11-25 at 09:30: say at what time it was set aside, --at 16:30"
    )
    shelf.do(hold, ["RB-014"], why="dent", at=dt.time(10), **BY)


def test_a_hold_told_late_brings_to_light_what_was_filled_meanwhile(shelf: Shelf) -> None:
    """Setting aside is never refused: what it contradicts is told."""
    shelf.texts["fills/2026.csv"] = HEADER + FILLED
    act = hold(shelf.book, ["RB-014"], why="dent", by="MV", on=dt.date(2026, 11, 20))
    assert isinstance(act, Act)
    assert act.notes == (
        "WARNING: RB-014 was filled while held since 2026-11-20; have it inspected; if one of the "
        "two dates is wrong, correct it",
    )


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
        (
            {"by": "ZZ"},
            "ZZ is not among the people of tankbook.yaml (MV): name one of them, or write `ZZ: {}` below `people:`",
        ),
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
    shelf.texts["tankbook.yaml"] = CERTIFIED.replace(
        "from: 2020-01}", "from: 2020-01, until: 2026-10}"
    )
    for by in ("JW", "MV"):  # where nobody is, that is said, and what mends it
        told = shelf.refuse(release, ["RB-014"], why="looks fine", by=by, on=TODAY)
        assert "nobody of tankbook.yaml was that day: write what was renewed there" in told
    shelf.texts["tankbook.yaml"] = "ledger: Quay\nunits: psi\nrules: [us-dot]\n"
    act = hold(shelf.book, ["RB-014"], why="dent", by="XY", on=TODAY)
    assert act.sentence == "Held RB-014: dent"


GONE = {
    "sold": "handed_over: [{on: 2026-03-01, to: C-1}]",
    "condemned": "condemned: [{on: 2026-03-01, by: T123, why: crack}]",
}
LOST = books.GOOD.replace("in-service", "lost") + "lost: [{on: 2026-03-01, by: MV}]\n"


@pytest.mark.parametrize("status", GONE)
def test_what_is_gone_is_not_set_aside(status: str) -> None:
    text = books.GOOD.replace("in-service", status) + GONE[status] + "\n"
    shelf = acting.shelf(RB_014=text)
    assert f"RB-014 is {status}" in shelf.refuse(hold, ["RB-014"], why="dent", **BY)


def turn_up(shelf: Shelf) -> None:
    counted = count_of(shelf.book, ["RB-014"])
    shelf.do(after_count, counted, found_why={"RB-014": "behind the rack"}, **BY)


def test_what_is_lost_is_held_when_it_turns_up() -> None:
    shelf = acting.shelf(RB_014=LOST)
    act = shelf.do(hold, ["RB-014"], why="dent", **BY)
    assert "RB-014 stays lost; the hold stands besides" in act.notes
    turn_up(shelf)
    assert shelf["RB-014"].status is Status.HELD


def test_a_recall_holds_what_is_lost_and_does_not_say_that_it_is_here() -> None:
    shelf = acting.shelf(RB_014=LOST)
    shelf.texts["fills/2026.csv"] = (
        "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
        "2026-02-20T09:00:00+00:00,RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,C1,,,,\n"
    )
    recall = by_fills(shelf.book, Asked(person="MV"), TODAY)
    assert [s.id for s in recall.lost] == ["RB-014"]
    assert recall.here == ()
    shelf.do(hold_all, recall, why="recall of fills by MV", **BY)
    assert shelf["RB-014"].held
    turn_up(shelf)
    assert shelf["RB-014"].status is Status.HELD


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
    assert shelf["RB-014"].status is Status.IN_SERVICE
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
    shelf.do(release, ["RB-014"], why="ok", held=Hold.parse("2026-11-01"), **BY)
    assert shelf["RB-014"].status is Status.HELD
    shelf.do(hold, ["RB-014"], why="third", **BY)
    shelf.do(release, ["RB-014"], why="ok", every=True, **BY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_two_holds_of_one_day_are_let_go_by_their_number(shelf: Shelf) -> None:
    for why in ("dent", "bad air"):
        shelf.do(hold, ["RB-014"], why=why, **BY)
    told = shelf.refuse(release, ["RB-014"], why="ok", **BY)
    assert f"{TODAY}#1 (dent); {TODAY}#2 (bad air); name one by --held" in told
    day = PartialDate.of(TODAY)
    assert "since 2026-11-25#3" in shelf.refuse(
        release, ["RB-014"], why="ok", held=Hold(day, 3), **BY
    )
    shelf.do(release, ["RB-014"], why="dent gauged", held=Hold(day, 1), **BY)
    assert [h.released for h in shelf["RB-014"].held] == [TODAY, None]


def test_the_number_of_a_hold_never_becomes_anothers(shelf: Shelf) -> None:
    for why in ("no sticker", "not paid", "leaks"):
        shelf.do(hold, ["RB-014"], why=why, **BY)
    first, second = (Hold(PartialDate.of(TODAY), nth) for nth in (1, 2))
    shelf.do(release, ["RB-014"], why="new sticker", held=first, **BY)
    told = shelf.refuse(release, ["RB-014"], why="new sticker", held=first, **BY)
    assert told == "RB-014: the hold 2026-11-25#1 (no sticker) was released on 2026-11-25"
    told = shelf.refuse(release, ["RB-014"], why="ok", **BY)
    assert f"{TODAY}#2 (not paid); {TODAY}#3 (leaks); name one by --held" in told
    shelf.do(release, ["RB-014"], why="paid", held=second, **BY)
    assert [h.released_why for h in shelf["RB-014"].held] == ["new sticker", "paid", None]


def test_what_is_not_held_is_not_released(shelf: Shelf) -> None:
    assert "RB-014 is neither held nor rejected" in shelf.refuse(release, ["RB-014"], why="x", **BY)
    shelf.do(hold, ["RB-014"], why="dent", **BY)
    early = {"by": "MV", "on": dt.date(2026, 11, 1)}
    assert "held on 2026-11-25, after 2026-11-01" in shelf.refuse(
        release, ["RB-014"], why="x", **early
    )


CERTIFIED = books.SETTINGS.replace("people:\n", "people:\n  JW: {role: counter}\n")


def test_who_is_not_certified_sets_aside_and_lets_nothing_go(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = CERTIFIED
    shelf.do(hold, ["RB-014"], why="dent", by="JW", on=TODAY)
    told = shelf.refuse(release, ["RB-014"], why="looks fine", by="JW", on=TODAY)
    assert told == (
        "JW had no valid inspector certification on 2026-11-25: let somebody certified do it (--by)"
    )
    shelf.texts["tankbook.yaml"] = "ledger: Quay\nunits: psi\nrules: [us-dot]\n"
    got = release(shelf.book, ["RB-014"], why="looks fine", by="JW", on=TODAY)
    assert isinstance(got, Act)


REJECTED = {"by": "MV", "on": dt.date(2026, 10, 5)}


def retest(shelf: Shelf, month: str, *clears: str, failed: str = "", **more: Any) -> Any:
    test = Test(
        PartialDate.parse(month),
        Method.HYDROSTATIC,
        "T123",
        failures={"RB-014": failed} if failed else {},
        clears={"RB-014": clears} if clears else {},
        **more,
    )
    return requalify(shelf.book, ["RB-014"], test, TODAY)


def test_a_rejection_is_lifted_on_a_test_that_names_it(shelf: Shelf) -> None:
    shelf.do(reject, "RB-014", why="pit", **REJECTED)
    told = shelf.refuse(release, ["RB-014"], why="looks fine", **BY)
    assert told == (
        "RB-014 was rejected on 2026-10-05 (pit), and nothing answers it: `tankbook requalify "
        'RB-014 --on DATE --by RIN --clears "rejected 2026-10-05"` once a test passes, or '
        '`tankbook inspect RB-014 --clears "rejected 2026-10-05"`'
    )
    act = shelf.make(retest(shelf, "2026-11", "2026-10-05"))
    assert (
        "RB-014 was rejected and passed: `tankbook release RB-014 --why WHY` lifts it" in act.notes
    )
    assert shelf["RB-014"].status is Status.REJECTED
    shelf.do(release, ["RB-014"], why="measured within limits", **BY)
    [entry] = shelf["RB-014"].rejected
    assert (entry.lifted, entry.lifted_by, entry.lifted_why) == (
        TODAY,
        "MV",
        "measured within limits",
    )
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_test_that_answers_nothing_lifts_nothing(shelf: Shelf) -> None:
    shelf.do(reject, "RB-014", why="pit", **REJECTED)
    shelf.make(retest(shelf, "2026-11", "none"))
    assert "nothing answers it" in shelf.refuse(release, ["RB-014"], why="x", **BY)


def test_a_failed_test_is_answered_by_a_later_one_and_by_no_inspection(shelf: Shelf) -> None:
    shelf.make(retest(shelf, "2026-10-05", failed="leak"))
    told = shelf.refuse(release, ["RB-014"], why="x", **BY)
    assert "`tankbook requalify RB-014" in told
    assert "tankbook inspect" not in told
    shelf.make(retest(shelf, "2026-10-20", "2026-10-05"))
    shelf.do(release, ["RB-014"], why="the leak was the plug of the test house", **BY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_hold_that_an_inspection_made_goes_with_what_answers_it() -> None:
    text = books.GOOD.replace("result: pass, sticker: issued", "result: hold").replace(
        "in-service", "held"
    )
    shelf = acting.shelf(RB_014=text + "held: [{on: 2026-02-09, by: MV, why: threads}]\n")
    told = shelf.refuse(release, ["RB-014"], why="gauged", **BY)
    assert told == (
        "RB-014: inspected 2026-02-09 (annual, hold) is not answered yet: `tankbook inspect RB-014 "
        '--clears "inspected 2026-02-09"`'
    )


def test_a_hold_may_go_while_a_rejection_stays(shelf: Shelf) -> None:
    shelf.do(hold, ["RB-014"], why="dent", **REJECTED)
    shelf.do(reject, "RB-014", why="pit", **REJECTED)
    assert "nothing answers it" in shelf.refuse(release, ["RB-014"], why="seen again", **BY)
    shelf.do(release, ["RB-014"], why="seen again", held=Hold.parse("2026-10-05"), **BY)
    assert shelf["RB-014"].status is Status.REJECTED


def test_somebody_unknown_signs_once_the_line_that_is_named_is_written() -> None:
    [wrong] = signer_reasons(books.make_book({"A": books.GOOD}), "ZZ", TODAY)
    assert "write `ZZ: {}` below `people:`" in wrong
    settings = f"{books.SETTINGS.rstrip()}\n  ZZ: {{}}\n"
    known = books.make_book({"A": books.GOOD}, settings=settings)
    assert signer_reasons(known, "ZZ", TODAY) == []
