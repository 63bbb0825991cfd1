"""Refusals, counts, hand-overs and recalls at the counter: what each leaves in the records."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import books
import pytest
from acting import Shelf, shelf
from changing import replace

from tankbook.acts.common import told_reasons
from tankbook.acts.correct import correct
from tankbook.acts.hand_over import Sale, hand_over, next_slip, slip_of
from tankbook.acts.hold import hold_all
from tankbook.acts.lost import after_count
from tankbook.acts.refuse import refuse, tell
from tankbook.acts.reject import reject
from tankbook.acts.striking import Wrong
from tankbook.records.edits import Act, Refusal
from tankbook.records.words import Status
from tankbook.rules.recall import by_source
from tankbook.rules.status import status_of
from tankbook.rules.stock import count_of
from tankbook.units import Money

TODAY = books.TODAY
LATE = books.GOOD.replace("2026-02-09", "2025-02-09")

# --- refusals


def test_a_refusal_keeps_the_reasons_of_the_gate_and_who_told_the_owner() -> None:
    made = shelf(RB_014=LATE)
    act = made.do(refuse, ["RB-014"], by="MV", on=TODAY, told_how="in person")
    (entry,) = made["RB-014"].refused
    assert entry.reasons == ("visual lapsed Feb 2026",)
    assert (entry.told.how, entry.told.by, entry.told.on) == ("in person", "MV", TODAY)
    assert act.sentence == "Refused at the counter: RB-014, owner told, in person, by MV"
    assert act.notes == ("RB-014: visual lapsed Feb 2026",)


def test_a_refusal_of_a_set_is_struck_out_on_its_cylinders_and_correct_says_so() -> None:
    cards = {"A": books.GOOD, "B": books.GOOD.replace("K118204", "K118299")}
    book = books.make_book(cards, sets={"DB-01": "cylinders: [A, B]"})
    act = refuse(book, ["A", "B"], by="MV", on=TODAY, reasons=["no sticker"])
    assert isinstance(act, Act)
    wrong = Wrong("refused", "", why="of another set")
    at = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    said = correct(book, "DB-01", wrong, by="MV", now=at, on=TODAY)
    assert isinstance(said, Refusal)
    assert "`tankbook correct A refused` and `tankbook correct B refused`" in str(said.reasons)


def test_a_refusal_says_that_the_owner_is_still_to_be_told_and_then_records_it() -> None:
    made = shelf(RB_014=LATE)
    act = made.do(refuse, ["RB-014"], by="MV", on=TODAY, reasons=["dent at the foot"], note="hurry")
    assert "the owner is not told yet" in act.notes[-1]
    made.do(tell, ["RB-014"], by="MV", on=TODAY, told_how="telephone", note="rang twice")
    (entry,) = made["RB-014"].refused
    assert (entry.reasons, entry.told.how) == (("dent at the foot",), "telephone")
    assert entry.note == "hurry; rang twice"
    again = made.refuse(tell, ["RB-014"], by="MV", on=TODAY, told_how="letter")
    assert "no refusal is on record whose owner is not told" in again


def test_without_anything_on_record_a_refusal_takes_a_reason() -> None:
    said = shelf().refuse(refuse, ["RB-014"], by="MV", on=TODAY)
    assert said == "RB-014: nothing on record stands against it: give the reason, --reason"


# --- counts


def test_missing_ones_become_lost_only_when_said_so() -> None:
    made = shelf()
    counted = count_of(made.book, ["DB-02"])
    act = made.do(after_count, counted, by="MV", on=TODAY)
    assert (act.sentence, act.edits) == ("Counted 2 here, by MV", ())
    assert act.notes == ("not found, and not recorded as lost: RB-014; --missing-are-lost says so",)
    act = made.do(after_count, counted, by="MV", on=TODAY, missing_are_lost=True, note="count")
    assert act.sentence == "Counted 2 here; lost: RB-014, by MV"
    assert status_of(made.book, made["RB-014"]) is Status.LOST
    assert made["RB-014"].lost[0].note == "count"


def test_what_turns_up_is_found_and_awaits_inspection() -> None:
    lost = books.GOOD.replace(
        "status: in-service", "status: lost\nlost: [{on: 2026-05-01, by: MV}]"
    )
    made = shelf(RB_014=lost)
    counted = count_of(made.book, ["RB-014", "DB-02"])
    asked = made.refuse(after_count, counted, by="MV", on=TODAY)
    assert asked == "RB-014 was lost and turned up: where had it been? --found-why RB-014=TEXT"
    where = {"RB-014": "under the pool store bench"}
    act = made.do(after_count, counted, by="MV", on=TODAY, found_why=where)
    assert act.sentence == "Counted 2 here; found again: RB-014, by MV"
    assert status_of(made.book, made["RB-014"]) is Status.AWAITING_INSPECTION
    [entry] = made["RB-014"].lost
    assert (entry.found, entry.found_by, entry.found_why) == (TODAY, "MV", where["RB-014"])


def test_who_is_not_certified_counts_and_leaves_what_turned_up_to_others() -> None:
    lost = books.GOOD.replace(
        "status: in-service", "status: lost\nlost: [{on: 2026-05-01, by: MV}]"
    )
    made = shelf(RB_014=lost)
    made.texts["tankbook.yaml"] = books.SETTINGS.replace("people:\n", "people:\n  JW: {}\n")
    counted = count_of(made.book, ["RB-014", "RB-015"])
    act = made.do(after_count, counted, by="JW", on=TODAY, missing_are_lost=True)
    assert act.sentence == "Counted 1 here; lost: RB-016, by JW"
    assert act.notes == (
        "RB-014 turned up and is still recorded as lost: somebody certified records that, with "
        "`tankbook count RB-014 --found-why WHERE --by XX`",
    )


@pytest.mark.parametrize(
    ("where", "said"),
    [
        ({"RB-015": "rack"}, "RB-015 was not lost: leave --found-why out"),
        ({"RB-014": "two\nlines"}, "RB-014: --found-why 'two\\nlines' is not one line"),
    ],
)
def test_where_a_lost_one_had_been_is_said_of_what_was_lost(
    where: dict[str, str], said: str
) -> None:
    lost = books.GOOD.replace(
        "status: in-service", "status: lost\nlost: [{on: 2026-05-01, by: MV}]"
    )
    made = shelf(RB_014=lost)
    counted = count_of(made.book, ["RB-014", "DB-02"])
    assert said in made.refuse(after_count, counted, by="MV", on=TODAY, found_why=where)


# --- hand-overs

SALE = books.GOOD.replace("use: rental", "use: sale\nprice: 189.00 USD")
WITHHELD = SALE.replace("sticker: issued", "sticker: withheld")


def counter(text: str, policy: str = "policy: at-hand-over") -> Shelf:
    made = shelf(RB_014=text)
    made.texts["tankbook.yaml"] = books.SETTINGS + f"sticker: {{{policy}}}\n"
    return made


def test_a_hand_over_puts_the_sticker_on_and_closes_the_record() -> None:
    made = counter(WITHHELD)
    act = made.do(hand_over, "RB-014", Sale("C-0192"), by="MV", on=TODAY)
    assert act.sentence == (
        "Handed RB-014 over to C-0192 for 189.00 USD, slip 2026-001, sticker 2026-02 put on, by MV"
    )
    sold = made["RB-014"]
    assert status_of(made.book, sold) is Status.SOLD
    assert (sold.handed_over[0].to, sold.inspected[0].sticker_on) == ("C-0192", TODAY)


@pytest.mark.parametrize(
    ("text", "policy", "said"),
    [
        (WITHHELD, "inspection_age: 6 months", "older than 6 months: inspect it again"),
        (WITHHELD, "second_look: 7 days", "no second outside look within 7 days is on record"),
        (SALE.replace("2026-02-09", "2025-02-09"), "policy: at-hand-over", "visual lapsed"),
        (books.GOOD, "policy: at-hand-over", "is kept for rental: set `use: sale`"),
        (SALE.replace("sale", "customer"), "policy: at-hand-over", "it is collected, not sold"),
        (WITHHELD, "policy: at-hand-over, numbered: yes", "has a number: --sticker-number"),
    ],
)
def test_what_the_policy_or_the_law_has_against_it_stops_a_hand_over(
    text: str, policy: str, said: str
) -> None:
    made = counter(text, policy)
    assert said in made.refuse(hand_over, "RB-014", Sale("C-1"), by="MV", on=TODAY)


def test_what_is_sold_for_its_owner_is_handed_over_and_said_to_be_theirs() -> None:
    made = counter(SALE + "owner: C-0333\n")
    act = made.do(hand_over, "RB-014", Sale("C-1"), by="MV", on=TODAY)
    assert "it was sold for C-0333, whose it was" in act.notes
    kept = counter(SALE.replace("use: sale", "owner: C-0333"))
    said = kept.refuse(hand_over, "RB-014", Sale("C-1"), by="MV", on=TODAY)
    assert "a customer's already" in said
    assert "`use: sale` on its card says so" in said


def test_slips_are_numbered_through_the_year_and_used_once() -> None:
    made = counter(SALE)
    made.do(hand_over, "RB-014", Sale("C-1", slip="2026-041"), by="MV", on=TODAY)
    assert next_slip(made.book, TODAY) == "2026-042"
    assert next_slip(made.book, TODAY.replace(year=2027)) == "2027-001"
    for id_ in ("RB-015", "RB-016"):
        path = f"cylinders/{id_}.yaml"
        made.texts[path] = made.texts[path].replace("use: rental", "use: sale")
    del made.texts["sets/DB-02.yaml"]
    said = made.refuse(hand_over, "RB-015", Sale("C-2", slip="2026-041"), by="MV", on=TODAY)
    assert said == "slip 2026-041 is used already, for RB-014"


def test_one_side_of_doubles_is_not_sold() -> None:
    made = shelf(RB_015=SALE.replace("K118204", "K5"))
    said = made.refuse(hand_over, "RB-015", Sale("C-2"), by="MV", on=TODAY)
    assert "is one side of DB-02: take the set apart first" in said
    assert "is a set" in made.refuse(hand_over, "DB-02", Sale("C-2"), by="MV", on=TODAY)


def test_the_slip_says_what_the_buyer_needs() -> None:
    made = counter(WITHHELD)
    made.do(hand_over, "RB-014", Sale("C-1", Money.parse("150.00 USD")), by="MV", on=TODAY)
    slip = slip_of(made.book, "RB-014", TODAY)
    assert slip is not None
    assert (slip.number, slip.to, str(slip.price), str(slip.sticker_month)) == (
        "2026-001",
        "C-1",
        "150.00 USD",
        "2026-02",
    )
    assert str(slip.limit) == "3000 psi"
    assert slip_of(made.book, "RB-015", TODAY) is None


# --- recalls


def filled_from(*ids: str, **changes: str) -> Shelf:
    made = shelf(**changes)
    head = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note"
    rows = [
        f"2026-11-0{n}T09:30:00+01:00,{i},fill,500 psi,3000 psi,70 degF,air,,,MV,,C1,,,,"
        for n, i in enumerate(ids, 1)
    ]
    made.texts["fills/2026.csv"] = "\n".join([head, *rows, ""])
    return made


def recalled(made: Shelf, why: str = "bad air, sample of 25 Nov") -> dict[str, Any]:
    found = by_source(made.book, "C1", TODAY)
    made.do(hold_all, found, why=why, by="MV", on=TODAY)
    return {i: status_of(made.book, c) for i, c in made.book.cylinders.items()}


def test_one_act_holds_every_cylinder_and_both_sides_of_a_set() -> None:
    made = filled_from("RB-014", "DB-02")
    assert set(recalled(made).values()) == {Status.HELD}
    assert made["RB-016"].held[0].why == "bad air, sample of 25 Nov"
    found = by_source(made.book, "C1", TODAY)
    assert [s.held for s in found.suspects] == [True] * 3
    again = made.refuse(hold_all, found, why="bad air, sample of 25 Nov", by="MV", on=TODAY)
    assert again == "every cylinder of the recall is held for that already"


def test_what_is_out_is_held_there_and_what_is_sold_is_rung_for() -> None:
    out = books.GOOD.replace(
        "status: in-service", "status: out\nrented: [{on: 2026-11-24, to: B-4471}]"
    )
    made = filled_from("RB-014", "RB-017", RB_014=out)
    sold = books.GOOD.replace("K118204", "K77").replace(
        "status: in-service", "status: sold\nhanded_over: [{on: 2026-11-20, to: C-0192}]"
    )
    made.texts["cylinders/RB-017.yaml"] = sold
    states = recalled(made)
    assert (states["RB-014"], states["RB-017"]) == (Status.HELD, Status.SOLD)
    assert made.last is not None
    assert made.last.notes == ("2 are not here: ring B-4471, C-0192",)
    assert [h.recall for h in made.book.cylinders["RB-017"].held] == ["C1"]


def test_a_recall_of_nothing_holds_nothing() -> None:
    made = shelf()
    found = by_source(made.book, "C1", TODAY)
    assert "touches no cylinder" in made.refuse(hold_all, found, why="x", by="MV", on=TODAY)
    nobody = replace(found, suspects=())
    assert "who did it is not said" in made.refuse(hold_all, nobody, why="x", by="", on=TODAY)


@pytest.mark.parametrize(("now", "at"), [("16:30", "16:30"), (None, "09:30")])
def test_a_recall_came_after_the_fills_it_names(now: str | None, at: str) -> None:
    """A fill of the very day was lawful; of another day than today the clock tells nothing."""
    made = filled_from("RB-014")
    path = "fills/2026.csv"
    made.texts[path] = made.texts[path].replace("2026-11-01", "2026-11-25")
    found = by_source(made.book, "C1", TODAY)
    time = dt.time.fromisoformat(now) if now else None
    made.do(hold_all, found, why="bad air", by="MV", on=TODAY, at=time)
    assert f"{made['RB-014'].held[0].at:%H:%M}" == at


NOT_TOLD = ("no", "not yet", "-", "MV", "unknown", "mv", "by MV", "not told", "nobody", "told him")
NOT_TOLD += ("will ring", "must phone", "tomorrow", "on Monday", "yes", "ok", "noch nicht")
TOLD_SO = ("letter", "in person", "phone, will collect Friday", "MV by phone", "telefonisch")
TOLD_SO += ("by phone on Monday", "told in person", "called, left a message", "SMS", "per Brief")


@pytest.mark.parametrize("said", TOLD_SO)
def test_how_an_owner_was_told_is_taken_in_anybodys_words(said: str) -> None:
    assert told_reasons(shelf().book, said) == []


@pytest.mark.parametrize("said", NOT_TOLD)
@pytest.mark.parametrize("act", [refuse, tell, reject])
def test_how_an_owner_was_told_is_no_initials_and_not_that_nobody_told(
    act: Callable[..., Any], said: str
) -> None:
    more = {
        refuse: {"ids": ["RB-014"], "reasons": ["dent"], "told_how": said},
        tell: {"ids": ["RB-014"], "told_how": said},
        reject: {"id_": "RB-014", "why": "dent", "told": said},
    }[act]
    text = shelf().refuse(act, by="MV", on=TODAY, **more)
    assert f"--told {said}" in text
    assert "in person, telephone, letter" in text
