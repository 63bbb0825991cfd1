"""An hour that contradicts another on record is refused with the way out, and told by `validate`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest
from books import GOOD, with_lines

Run = Callable[..., Any]
DAY = "2026-11-25"
RENTED = (
    f"rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, at: '08:00', back: {DAY}, "
    "pressure: 900 psi, valve: closed}]\n"
)
COLLECTED = (
    f"jobs: [{{on: {DAY}, by: MV, at: '09:00', work: [fill], reference: C-9, "
    f"collected: {DAY}, collected_at: '08:00'}}]\n"
)


def root_of(write: Callable[..., Path], more: str = "", **lines: str) -> Path:
    return write({"cylinders/RB-014.yaml": books.stamped(with_lines(GOOD, **lines)) + more})


def test_a_return_before_the_rental_is_refused_and_its_mend_works(
    tb: Run, write: Callable[..., Path]
) -> None:
    root = root_of(write)
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    out = ("rent", "14", "--to", "B-1", "--happened", "gone", "--at", "07:00")
    assert tb(*out, *common).code == 0
    before = (root / "cylinders" / "RB-014.yaml").read_text("utf-8")
    ran = tb("return", "14=2700/closed", "--at", "06:00", *common)
    assert ran.code == 1
    said = " ".join((ran.err + ran.out).split())
    assert "it came back at 06:00, and went out at 07:00 that day" in said
    assert (root / "cylinders" / "RB-014.yaml").read_text("utf-8") == before
    right = ("correct", "RB-014", "rented", DAY, "--set", "at=05:30", "--why", "misread")
    assert f"tankbook correct RB-014 rented {DAY} --set at=HH:MM --why WHY" in said
    assert tb(*right, *common).code == 0
    assert tb("return", "14=2700/closed", "--at", "06:00", *common).code == 0
    late = ("correct", "RB-014", "rented", DAY, "--set", "at=16:00", "--why", "misread")
    ran = tb(*late, *common)
    assert ran.code == 1
    assert "it came back at 06:00, and went out at 16:00" in " ".join((ran.err + ran.out).split())
    line = ("correct", "RB-014", "reading", f"{DAY}T06:00", "--set", f"at={DAY}T05:00:00+01:00")
    ran = tb(*line, "--why", "misread", *common)
    assert ran.code == 1, ran.out
    assert "it came back at 05:00" in " ".join((ran.err + ran.out).split())


def test_collected_before_it_was_taken_in_is_refused(tb: Run, write: Callable[..., Path]) -> None:
    root = root_of(write, use="customer", owner="C-9")
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("jobs", "open", "14", "--work", "visual", "--at", "09:00", *common).code == 0
    took = ("jobs", "collect", "14", "--note", "changed their mind", "--happened", "gone")
    ran = tb(*took, "--at", "08:00", *common)
    assert ran.code == 1
    assert "collected at 08:00, and taken in at 09:00" in " ".join((ran.err + ran.out).split())
    assert tb(*took, "--at", "10:00", *common).code == 0


def test_a_sale_while_it_was_out_is_refused(tb: Run, write: Callable[..., Path]) -> None:
    root = root_of(write, RENTED, use="sale")
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    (root / "fills").mkdir(exist_ok=True)
    assert tb("reading", "14=900", "--at", "12:00", "--note", "back from B-1", *common).code == 0
    sold = ("hand-over", "14", "--to", "C-1", "--happened", "gone")
    ran = tb(*sold, "--at", "11:00", *common)
    assert ran.code == 1
    assert "came back at 12:00 from B-1" in " ".join((ran.err + ran.out).split())
    assert tb(*sold, "--at", "13:00", *common).code == 0


def test_what_is_on_record_is_told_by_validate(tb: Run, write: Callable[..., Path]) -> None:
    root = root_of(write, COLLECTED, use="customer", owner="C-9")
    said = tb("validate", "--ledger", root, "--on", DAY)
    assert "hours-at-odds" in said.out + said.err


def test_the_entry_to_set_right_is_named_where_two_began_on_a_day(
    tb: Run, write: Callable[..., Path]
) -> None:
    of_day = (
        "{on: %s, by: MV, to: %s, until: %s, at: '%s', back: %s, pressure: 900 psi, valve: closed}"
    )
    both = ", ".join(
        of_day % (DAY, to, DAY, at, DAY) for to, at in (("B-1", "08:00"), ("B-2", "14:00"))
    )
    root = root_of(write, f"rented: [{both}]\n")
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("reading", "14=900", "--at", "12:00", "--note", "back from B-1", *common).code == 0
    ran = tb("reading", "14=900", "--at", "13:00", "--note", "back from B-2", *common)
    said = " ".join((ran.err + ran.out).split())
    assert f"`tankbook correct RB-014 rented {DAY}#2 --set at=HH:MM --why WHY`" in said
    right = ("correct", "RB-014", "rented", f"{DAY}#2", "--set", "at=12:30", "--why", "misread")
    assert tb(*right, *common).code == 0
    assert tb("reading", "14=900", "--at", "13:00", "--note", "back from B-2", *common).code == 0


def test_a_fill_while_it_was_out_is_asked_and_told(tb: Run, write: Callable[..., Path]) -> None:
    root = root_of(write, RENTED)
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    back = ("reading", "14=900", "--at", "12:00", "--note", "back from B-1")
    assert tb(*back, *common).code == 0
    fill = ("fill", "14", "--from", "500", "--to", "2500", "--source", "B1", "--looked")
    ran = tb(*fill, "--at", "11:30", *common)
    assert ran.code == 1, ran.out
    said = " ".join((ran.err + ran.out).split())
    assert "it was filled at 11:30, and was out with B-1 since 08:00 until 12:00" in said
    assert "--happened" in said
    ran = tb(*fill, "--at", "11:30", "--happened", "topped up at the quay", *common)
    assert ran.code == 0, ran.err
    told = tb("validate", "--ledger", root, "--on", DAY)
    assert "hours-at-odds" in told.out + told.err


# --- what is told later, of an hour at which it was here still -----------------------------------

GONE = f"rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, at: '10:00'}}]\n"
GONE_BY_DAY = GONE.replace(", at: '10:00'", "")
LATE = {
    "fill": ("fill", "14", "--from", "500", "--to", "2500", "--source", "B1", "--looked"),
    "reading": ("reading", "14=2500"),
    "drain": ("drain", "14=400"),
}
SHEET = "cylinder,time,from,to,looked,by,source\nRB-014,%s,500 psi,2500 psi,yes,MV,B1\n"


def said_by(ran: Any) -> str:
    return " ".join((ran.err + ran.out).split())


@pytest.mark.parametrize("act", [*LATE, "sheet"])
def test_what_was_done_before_it_left_is_told_while_it_is_out(
    tb: Run, write: Callable[..., Path], tmp_path: Path, act: str
) -> None:
    root = root_of(write, GONE)
    common = ("--ledger", root, "--on", DAY)

    def told(hour: str) -> Any:
        if act == "sheet":
            sheet = tmp_path / "sheet.csv"
            sheet.write_text(SHEET % hour, "utf-8")
            return tb("fill", "--sheet", sheet, *common)
        return tb(*LATE[act], "--at", hour, "--by", "MV", *common)

    ran = told("10:01")
    assert ran.code == 1, ran.out
    assert f"`tankbook correct RB-014 rented {DAY} --set at=HH:MM --why WHY`" in said_by(ran)
    assert told("09:00").code == 0
    found = tb("validate", *common)
    assert "hours-at-odds" not in said_by(found)
    assert "filled-while" not in said_by(found)
    assert "NO" in tb("may-fill", "14", *common).out  # it is out all the same


def test_of_what_left_at_no_hour_the_hour_is_asked_and_the_mend_works(
    tb: Run, write: Callable[..., Path]
) -> None:
    root = root_of(write, GONE_BY_DAY)
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    ran = tb(*LATE["fill"], "--at", "09:00", *common)
    assert ran.code == 1, ran.out
    assert f"`tankbook correct RB-014 rented {DAY} --set at=HH:MM --why WHY`" in said_by(ran)
    right = ("correct", "RB-014", "rented", DAY, "--set", "at=10:00", "--why", "the counter says")
    assert tb(*right, *common).code == 0
    assert tb(*LATE["fill"], "--at", "09:00", *common).code == 0


def test_a_reading_of_what_is_out_says_who_took_it(tb: Run, write: Callable[..., Path]) -> None:
    root = root_of(write, GONE)
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    ran = tb(*LATE["reading"], "--at", "11:00", *common)
    assert "or say who read it there: --note" in said_by(ran)
    ran = tb(*LATE["reading"], "--at", "11:00", "--note", "B-1 rang: 2500 left", *common)
    assert ran.code == 0
    assert "is out to B-1" in said_by(ran)
    assert "hours-at-odds" not in said_by(tb("validate", "--ledger", root, "--on", DAY))


def test_the_mend_names_no_entry_that_is_not_on_record(tb: Run, write: Callable[..., Path]) -> None:
    of_day = (
        f"{{on: {DAY}, by: MV, to: %s, until: {DAY}, at: '%s', back: {DAY}, pressure: 900 psi, "
        "valve: closed}}"
    )
    both = of_day % ("B-1", "08:00"), of_day % ("B-2", "14:00")
    root = root_of(write, f"rented: [{', '.join(both)}]\n".replace("}}", "}"))
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    for hour, who in (("12:00", "B-1"), ("15:00", "B-2")):
        assert (
            tb("reading", "14=900", "--at", hour, "--note", f"back from {who}", *common).code == 0
        )
    move = ("correct", "RB-014", "rented", f"{DAY}#2", "--set", "at=11:00", "--why", "misread")
    ran = tb(*move, *common)
    assert ran.code == 1
    assert "#3" not in said_by(ran)
    named = f"tankbook correct RB-014 reading {DAY}T12:00:00 --set at={DAY}THH:MM:00"
    assert named in said_by(ran)
    offset = said_by(ran).split(named)[1].split()[0]
    right = ("--set", f"at={DAY}T10:30:00{offset}", "--why", "misread")
    assert tb("correct", "RB-014", "reading", f"{DAY}T12:00:00", *right, *common).code == 0
    assert tb(*move, *common).code == 0


def test_before_it_was_back_the_mend_names_the_hour_of_that(
    tb: Run, write: Callable[..., Path]
) -> None:
    before = "2026-11-23"
    root = root_of(write, RENTED.replace(f"on: {DAY}", f"on: {before}"))
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb("reading", "14=900", "--at", "12:00", "--note", "back from B-1", *common).code == 0
    for act in LATE.values():
        ran = tb(*act, "--at", "11:00", *common)
        assert ran.code == 1
        assert f"tankbook correct RB-014 reading {DAY}T12:00:00" in said_by(ran)
        assert f"rented {before} --set" not in said_by(ran)


def test_an_hour_of_a_set_that_is_set_right_is_told_against_what_a_side_has(
    tb: Run, write: Callable[..., Path]
) -> None:
    card = books.stamped(with_lines(GOOD))
    doubles = f"cylinders: [RB-014, RB-015]\nrating: 3442 psi\nisolator: open\n{GONE}"
    other = card.replace("K118204", "K118205")
    files = {"cylinders/RB-014.yaml": card, "cylinders/RB-015.yaml": other}
    root = write({**files, "sets/DB-01.yaml": doubles})
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb(*LATE["reading"], "--at", "09:00", *common).code == 0
    early = ("correct", "DB-01", "rented", DAY, "--set", "at=08:00", "--why", "misread")
    ran = tb(*early, *common)
    assert ran.code == 0, ran.err
    assert "it was read at 09:00, and was out with B-1 since 08:00 in DB-01" in said_by(ran)


def test_of_two_holds_of_a_day_each_is_named_by_its_number(
    tb: Run, write: Callable[..., Path]
) -> None:
    holds = ", ".join(f"{{on: {DAY}, by: MV, why: {why}}}" for why in ("valve stiff", "ring cut"))
    root = root_of(write, f"held: [{holds}]\n", status="held")
    common = ("--by", "MV", "--ledger", root, "--on", DAY)
    assert tb(*LATE["fill"], "--at", "09:00", "--happened", "seen late", *common).code == 0
    said = said_by(tb("validate", "--ledger", root, "--on", DAY))
    for number in (1, 2):
        which = f"{DAY}#{number}"
        assert f"`tankbook correct RB-014 held {which} --set at=HH:MM --why WHY`" in said
        right = (
            "correct",
            "RB-014",
            "held",
            which,
            "--set",
            "at=10:00",
            "--why",
            "set aside after it",
        )
        assert tb(*right, *common).code == 0
