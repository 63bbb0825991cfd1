"""The isolator of doubles: what is recorded of it, and what follows for the two sides."""

from __future__ import annotations

import datetime as dt

import acting
import pytest
from acting import TODAY, Shelf

from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.acts.isolator import isolator
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.acts.repeated import repeated
from tankbook.gas import Gas
from tankbook.ledger.apply import changes_of
from tankbook.records.edits import Act
from tankbook.records.kinds import is_empty
from tankbook.records.words import Isolator
from tankbook.rules.bad_air import fills_since_empty
from tankbook.rules.fill_history import contents_of, lines_into, went_into
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure

BY = {"by": "MV", "on": TODAY}
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
FILLS = """\
2026-11-20T09:30:00+01:00,RB-015,fill,,2900 psi,,air,,,MV,,C1,,,,
2026-11-20T09:40:00+01:00,RB-016,fill,,2900 psi,,nitrox32,32 %,,MV,MV,C1,,,,
"""


def shelf_of(stands: str, log: str = "") -> Shelf:
    shelf = acting.shelf()
    shelf.texts["sets/DB-02.yaml"] = f"cylinders: [RB-015, RB-016]\nisolator: {stands}\n"
    if log:
        shelf.texts["fills/2026.csv"] = HEADER + log
    return shelf


def test_shut_each_side_speaks_for_itself() -> None:
    shelf = shelf_of("open")
    assert [w.code for w in may_fill(shelf.book, "RB-015", TODAY).warnings if "doubles" in w.code]
    act = shelf.do(isolator, "DB-02", Isolator.SHUT, **BY)
    assert act.sentence == "Isolator of DB-02 is shut"
    assert act.notes == (
        "read and analyse RB-015 and RB-016 each by itself: neither tells the other",
        "to fill them, open it and say so: `tankbook isolator DB-02 open`",
    )
    assert shelf.book.sets["DB-02"].isolator is Isolator.SHUT
    assert [r.code for r in may_fill(shelf.book, "DB-02", TODAY).refusals] == ["isolator-shut"]


def test_opened_between_two_gases_it_warns() -> None:
    act = isolator(shelf_of("shut", FILLS).book, "DB-02", Isolator.OPEN, by="MV", on=TODAY)
    assert isinstance(act, Act)  # it happened: what its sides hold now is told with every answer
    assert act.notes[0] == (
        "WARNING: its sides held air and nitrox32, which mix now: analyse both before use"
    )
    assert (
        act.notes[1]
        == "what goes into RB-015 goes into RB-016, and what one gauge shows the other shows"
    )


@pytest.mark.parametrize(
    ("id_", "stands", "told"),
    [
        ("RB-015", Isolator.SHUT, "RB-015 is no set of doubles"),
        ("DB-02", Isolator.OPEN, "the isolator of DB-02 is on record as open already"),
    ],
)
def test_what_is_refused(id_: str, stands: Isolator, told: str) -> None:
    assert told in shelf_of("open").refuse(isolator, id_, stands, **BY)


def held(shelf: Shelf, id_: str) -> str:
    return str(contents_of(shelf.book, id_).gas)


@pytest.mark.parametrize(
    ("hour", "stands", "holds"),
    [
        (None, "2026-11-25T09:30", "None"),  # nobody knows whether it came in before
        (dt.time(11), "2026-11-25T09:30", "nitrox32"),
        (dt.time(9, 30), "2026-11-25T09:30", "None"),  # in that minute
        (dt.time(8), "2026-11-25T09:30", "air"),
        (None, "2026-11-24T09:30", "nitrox32"),
        (dt.time(8), "2026-11-24T09:30", "nitrox32"),
    ],
)
def test_what_came_in_before_the_hour_at_which_it_was_shut_is_in_both(
    hour: dt.time | None, stands: str, holds: str
) -> None:
    older = "2026-11-20T09:30:00+00:00,DB-02,fill,,2900 psi,,air,,,MV,,C1,,,,\n"
    newer = f"{stands}:00+00:00,RB-015,fill,0 psi,2900 psi,,nitrox32,32 %,,MV,MV,C1,,,,\n"
    shelf = shelf_of("open", older + newer)
    assert (held(shelf, "RB-015"), held(shelf, "RB-016")) == ("nitrox32", "nitrox32")
    act = shelf.do(isolator, "DB-02", Isolator.SHUT, at=hour, doubting=holds == "None", **BY)
    assert (held(shelf, "RB-015"), held(shelf, "RB-016")) == ("nitrox32", holds)
    told = [
        fault
        for fault in shelf.faults()
        if "nobody knows whether gas of another came into it" in fault
    ]
    assert bool(told) is (holds == "None")
    asks = [n for n in act.notes if "nobody says whether that went into both" in n]
    assert bool(asks) is (hour is None and stands.startswith("2026-11-25"))
    if asks:  # the line that it names says it
        assert f"`tankbook isolator DB-02 shut --on {TODAY} --at HH:MM`" in asks[0]
        shelf.do(isolator, "DB-02", Isolator.SHUT, at=dt.time(11), **BY)
        assert held(shelf, "RB-016") == "nitrox32"


def test_the_hour_of_before_is_not_left_beside_another_day() -> None:
    shelf = shelf_of("open")
    shelf.do(isolator, "DB-02", Isolator.SHUT, at=dt.time(11), by="MV", on=dt.date(2026, 11, 20))
    assert shelf["DB-02"].isolator_hour == dt.time(11)
    told = shelf.refuse(
        isolator, "DB-02", Isolator.SHUT, at=dt.time(12), by="MV", on=dt.date(2026, 11, 20)
    )
    assert "is on record as shut already" in told
    shelf.do(isolator, "DB-02", Isolator.OPEN, **BY)
    assert (shelf["DB-02"].isolator_since, shelf["DB-02"].isolator_hour) == (TODAY, None)


def test_a_set_without_one() -> None:
    act = shelf_of("open").do(isolator, "DB-02", Isolator.NONE, **BY)
    assert act.sentence == "DB-02 has no isolator"


@pytest.mark.parametrize(
    ("stands", "told"),
    [
        ("open", True),
        ("none", True),
        ("shut", False),
    ],
)
def test_what_one_side_shows_the_other_shows(stands: str, told: bool) -> None:
    shelf = shelf_of(stands)
    at = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)
    shown = [Shown("RB-015", GaugePressure.of(900, "psi"))]
    for act in (
        shelf.do(read_gauges, shown, by="MV", at=at),
        shelf.do(drain, shown, by="MV", at=at),
    ):
        assert any("RB-016 does too; ask for DB-02" in note for note in act.notes) is told


@pytest.mark.parametrize(
    ("filled", "again", "stands", "told"),
    [
        ("DB-02", "RB-015", "open", "RB-015 was filled with DB-02 from 900 psi to 3000 psi at"),
        ("DB-02", "DB-02", "open", "DB-02 was filled from 900 psi to 3000 psi at"),
        ("RB-015", "DB-02", "open", "DB-02 was filled with RB-015 from 900 psi to 3000 psi at"),
        ("RB-015", "RB-016", "none", "RB-016 was filled with RB-015 from 900 psi to 3000 psi at"),
        ("RB-015", "RB-016", "shut", ""),
    ],
)
@pytest.mark.parametrize("began", ["900 psi", ""])
def test_a_fill_of_a_set_is_not_logged_of_a_side_as_another(
    filled: str, again: str, stands: str, told: str, began: str
) -> None:
    log = f"2026-11-25T09:30:00+00:00,{filled},fill,900 psi,3000 psi,,air,,,MV,,C1,,,,\n"
    book = shelf_of(stands, log).book
    # where nobody says from what, what the fill before it left is taken, as for itself
    how = Filling(by="MV", gas=Gas.parse("air"), source="C1", looked=True, happened="logged twice")
    at = dt.datetime(2026, 11, 25, 10, 20, tzinfo=dt.UTC)
    since = GaugePressure.parse(began) if began else None
    act = fill(book, [Wanted(again, GaugePressure.parse("3000 psi"), since)], how, at=at)
    assert isinstance(act, Act)
    found = repeated(book, act)
    assert [told in each for each in found] == ([True] if told else [])


@pytest.mark.parametrize("sides", [("RB-015",), ("RB-016",), ("RB-015", "RB-016")])
def test_a_set_is_empty_only_once_the_gas_of_both_sides_was_let_out(sides: tuple[str, ...]) -> None:
    """Nothing says that what one side's valve let out was the other's as well: its record stands,
    and of the set nobody knows."""
    older = "2026-11-20T09:30:00+00:00,DB-02,fill,,2900 psi,,air,,,MV,,C1,,,,\n"
    shelf = shelf_of("open", older)
    for side in sides:
        text = shelf.texts[f"cylinders/{side}.yaml"]
        done = f"cleaned: [{{on: {TODAY}, by: MV, to: air, bled: heard}}]\n"
        shelf.texts[f"cylinders/{side}.yaml"] = text + done
    nothing = GaugePressure.of(0, "psi")
    assert all(contents_of(shelf.book, side).pressure == nothing for side in sides)
    both = contents_of(shelf.book, "DB-02")
    assert (both.gas, both.pressure, both.on) == (None, nothing if len(sides) > 1 else None, TODAY)
    at = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)
    shelf.do(read_gauges, [Shown("DB-02", GaugePressure.of(1450, "psi"))], by="MV", at=at)
    assert contents_of(shelf.book, "DB-02").pressure == GaugePressure.of(1450, "psi")


def line(at: str, id_: str, act: str, to: str, more: str = "air,,,MV,") -> str:
    return f"2026-11-{at}:00+00:00,{id_},{act},,{to},,{more},C1,,,,\n"


NITROX = "nitrox32,32 %,,MV,MV"
BEGUN = line("10T09:00", "DB-02", "fill", "900 psi")
BEHIND = line("13T09:00", "RB-015", "fill", "3000 psi", NITROX)
SHUT, OPEN = Isolator.SHUT, Isolator.OPEN
WAS = ("air", "900 psi")
LOST = ("None", "None")


@pytest.mark.parametrize("hours", [True, False])
@pytest.mark.parametrize(
    ("turned", "log", "one", "other", "whole"),
    [
        # filled while it was shut: it did not go into the other side, then or later
        ([(12, SHUT)], BEHIND, ("nitrox32", "3000 psi"), WAS, ("None", "900 psi")),
        # and since it was opened nobody knows
        ([(12, SHUT), (15, OPEN)], BEHIND, LOST, LOST, LOST),
        ([(12, SHUT), (15, OPEN), (17, SHUT)], BEHIND, LOST, LOST, LOST),
        # filled while it was open, before or after
        ([(14, SHUT), (15, OPEN)], BEHIND, *[("nitrox32", "3000 psi")] * 3),
        ([(11, SHUT), (12, OPEN)], BEHIND, *[("nitrox32", "3000 psi")] * 3),
        ([(11, SHUT), (12, OPEN), (14, SHUT)], BEHIND, *[("nitrox32", "3000 psi")] * 3),
        ([(14, SHUT), (11, SHUT), (12, OPEN)], BEHIND, *[("nitrox32", "3000 psi")] * 3),  # forgotten
        ([(17, SHUT), (12, SHUT), (15, OPEN)], BEHIND, LOST, LOST, LOST),
        # nothing was done behind it
        ([(12, SHUT), (15, OPEN)], "", WAS, WAS, WAS),
        # one gas: how much alone is not known; read, it is
        ([(12, SHUT), (15, OPEN)], line("13T09:00", "RB-015", "fill", "3000 psi"), *[("air", "None")] * 3),
        ([(12, SHUT), (15, OPEN)], BEHIND + line("16T09:00", "DB-02", "reading", "1900 psi", ",,,MV,"), *[("None", "1900 psi")] * 3),
        # drained behind it: what the other held is in both
        ([(12, SHUT), (15, OPEN)], line("13T09:00", "RB-015", "drain", "0 psi", ",,,MV,"), *[("air", "None")] * 3),
    ],
)  # fmt: skip
def test_what_was_done_behind_a_shut_isolator_stays_there_till_it_is_opened(
    turned: list[tuple[int, Isolator]],
    log: str,
    one: tuple[str, str],
    other: tuple[str, str],
    whole: tuple[str, str],
    hours: bool,
) -> None:
    """Every time that it was opened or shut is kept, and every answer is worked out from all."""
    shelf = shelf_of("open", BEGUN + log)
    for day, stands in turned:
        at = dt.time(18) if hours else None
        act = isolator(shelf.book, "DB-02", stands, at=at, by="MV", on=dt.date(2026, 11, day))
        assert isinstance(act, Act), act
        texts = {path: text.encode() for path, text in shelf.texts.items()}
        for change in changes_of(texts.get, act):  # that it is at fault then is no matter here
            shelf.texts[change.path] = change.new.decode()
    assert len(shelf["DB-02"].turned) == len(turned)
    told = [contents_of(shelf.book, id_) for id_ in ("RB-015", "RB-016", "DB-02")]
    assert [(str(c.gas), str(c.pressure)) for c in told] == [one, other, whole]


def test_each_time_is_struck_out_by_itself_and_a_past_day_has_its_own() -> None:
    shelf = shelf_of("open")
    for day, stands in ((12, SHUT), (15, OPEN), (17, SHUT)):
        shelf.do(isolator, "DB-02", stands, by="MV", on=dt.date(2026, 11, day))
    for day, stands in ((11, OPEN), (12, SHUT), (15, OPEN), (17, SHUT), (20, SHUT)):
        then = shelf.book.as_known_on(dt.date(2026, 11, day)).sets["DB-02"]
        assert then.isolator is stands, day
    text = shelf.texts["sets/DB-02.yaml"]
    assert text.count("stands: shut") == 2
    struck = text.rstrip()[::-1].replace("}", "", 1)[::-1]
    shelf.texts["sets/DB-02.yaml"] = f"{struck}, void: {{why: not so, by: MV, on: 2026-11-18}}}}\n"
    assert shelf["DB-02"].isolator is OPEN


@pytest.mark.parametrize(
    ("turned", "between", "told"),
    [
        ([(12, SHUT)], "", False),  # it stays behind
        ([(12, SHUT), (15, OPEN)], "", True),
        ([(12, SHUT), (15, OPEN), (17, SHUT)], "", True),
        ([(12, SHUT), (15, OPEN)], line("14T09:00", "RB-015", "drain", "0 psi", ",,,MV,"), False),
        ([(12, SHUT), (15, OPEN)], line("16T09:00", "RB-015", "drain", "0 psi", ",,,MV,"), True),
        ([(10, SHUT), (12, OPEN)], "", True),  # filled through it
        ([(14, SHUT)], "", True),
    ],
)
def test_what_tells_against_a_side_tells_against_the_other_once_it_was_opened(
    turned: list[tuple[int, Isolator]], between: str, told: bool
) -> None:
    """Bad air behind a shut isolator is in both after it was opened, unless it was let out first."""
    text = "".join(f"  - {{on: 2026-11-{day}, by: MV, stands: {how}}}\n" for day, how in turned)
    shelf = shelf_of("open", BEGUN + BEHIND + between)
    shelf.texts["sets/DB-02.yaml"] += f"turned:\n{text}"
    fills = [n.cylinder for n in lines_into(shelf.book, "RB-016") if n.source_ == "C1" and n.gas]
    assert ("RB-015" in fills) is told
    at = dt.datetime(2026, 11, 13, 9, tzinfo=dt.UTC)
    assert ("RB-016" in went_into(shelf.book, "RB-015", at, later=True)) is told


@pytest.mark.parametrize(
    ("day", "emptied", "still"),
    [
        (14, "drain", True),  # before it was opened: the other side's came after that
        (16, "drain", False),
        (14, "cleaned", True),
        (16, "cleaned", False),
    ],
)
def test_what_came_as_it_was_opened_is_not_let_out_before(
    day: int, emptied: str, still: bool
) -> None:
    drained = line(f"{day}T09:00", "RB-016", "drain", "0 psi", ",,,MV,")
    shelf = shelf_of("open", BEGUN + BEHIND + (drained if emptied == "drain" else ""))
    if emptied == "cleaned":
        shelf.texts["cylinders/RB-016.yaml"] += (
            f"cleaned: [{{on: 2026-11-{day}, by: MV, to: air, bled: heard}}]\n"
        )
    shelf.texts["sets/DB-02.yaml"] += (
        "turned: [{on: 2026-11-12, stands: shut}, {on: 2026-11-15, stands: open}]\n"
    )
    fills = fills_since_empty(shelf.book, shelf["RB-016"])
    assert [n.cylinder for n in fills if n.cylinder == "RB-015"] == (["RB-015"] if still else [])


CLEANED = "cleaned: [{on: 2026-11-13, at: '10:00', by: MV, to: air, bled: heard}]\n"


@pytest.mark.parametrize("apart", ["", "apart: 2026-11-20\napart_by: MV\n"])
@pytest.mark.parametrize(
    ("turned", "log", "still"),
    [
        # it was bled behind the shut isolator, and nothing came over since
        ("{on: 2026-11-12, stands: shut}", "", False),
        ("{on: 2026-11-13, at: '08:00', stands: shut}", "", False),
        # by the hours of one day, by days, and where it is not said which came first
        ("{on: 2026-11-13, at: '08:00', stands: shut}, {on: 2026-11-13, at: '12:00', stands: open}", "", True),
        ("{on: 2026-11-12, stands: shut}, {on: 2026-11-15, stands: open}", "", True),
        ("{on: 2026-11-12, stands: shut}, {on: 2026-11-13, stands: open}", "", True),
        ("{on: 2026-10, stands: shut}, {on: 2026-11, stands: open}", "", True),
        # shut again, that takes nothing back; nor does what was struck out
        (
            "{on: 2026-11-13, at: '08:00', stands: shut}, {on: 2026-11-13, at: '12:00', stands: open}, "
            "{on: 2026-11-13, at: '12:10', stands: shut}",
            "",
            True,
        ),
        (
            "{on: 2026-11-11, stands: shut, void: {why: not so, by: MV, on: 2026-11-20}}, {on: 2026-11-12, "
            "stands: shut}, {on: 2026-11-15, stands: open}",
            "",
            True,
        ),
        # what was over there was let out first
        (
            "{on: 2026-11-12, stands: shut}, {on: 2026-11-15, stands: open}",
            ("14T09:00", "RB-016", "drain", "0 psi", ",,,MV,"),
            False,
        ),
        # and opened before it was bled
        ("{on: 2026-11-12, stands: shut}, {on: 2026-11-13, at: '09:00', stands: open}", "", False),
    ],
)  # fmt: skip
def test_a_side_that_was_bled_takes_what_the_other_holds_as_it_is_opened(
    turned: str, log: str | tuple[str, ...], still: bool, apart: str
) -> None:
    """One fill of both; one side is bled by itself, and its isolator opened after that or not."""
    shelf = shelf_of("open", BEGUN + (line(*log) if log else ""))
    shelf.texts["cylinders/RB-015.yaml"] += CLEANED
    shelf.texts["sets/DB-02.yaml"] += f"turned: [{turned}]\n"
    shelf.texts["sets/DB-02.yaml"] += apart
    held = contents_of(shelf.book, "RB-015")
    assert bool(fills_since_empty(shelf.book, shelf["RB-015"])) is still
    assert is_empty(held.pressure) is not still, held
