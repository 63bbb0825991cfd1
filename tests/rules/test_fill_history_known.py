"""What is known of a cylinder's gas and of who kept it, one figure, day or line apart.

The cylinders, people and dates are invented.
"""

from __future__ import annotations

import datetime as dt
from itertools import permutations

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines
from loglines import book_of, fill, held, line, read, rises

from tankbook.gas import Gas
from tankbook.rules.fill_history import (
    begun_empty,
    contents_of,
    filled_elsewhere,
    gas_readings_of,
    gauge_error,
    is_above,
    is_told_by_sides,
    lines_held,
    lines_into,
    read_empty,
    read_otherwise,
    rises_of,
    went_into,
)
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure

VOID = "void: {why: wrong card, by: MV, on: 2026-11-20}"
KNOWN = read("2026-11-05", "1000 psi")
OPEN_SET = {"D": "cylinders: [A, B]\nisolator: open\n"}
MIX = {"to": "1000 psi", "gas": "nitrox32"}


# --- whose gas it is -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("side", "gas"),
    [
        # the other side gave it, and it is known what that held
        ([fill("2026-11-06", "B", to="1400 psi", gas="nitrox32")], "nitrox32"),
        ([fill("2026-11-06", "B", to="1399 psi", gas="nitrox32")], None),
        ([read("2026-11-06", "1400 psi", "B")], None),
        ([line("2026-11-06", "reading", "B")], None),  # nothing was read of it
        ([fill("2026-11-06", "B", to="1400 psi")], None),  # filled by itself: it was shut off
        ([], None),
    ],
)
def test_what_is_fuller_than_it_was_holds_what_nobody_knows(
    side: list[str], gas: str | None
) -> None:
    log = [fill("2026-11-05", **MIX), *side, read("2026-11-10", "1400 psi")]
    sets = {"D": "cylinders: [A, B]\nisolator: shut\n"}
    assert held(book_of(*log, sets=sets)) == (gas, "1400 psi")


@pytest.mark.parametrize(
    ("filled", "known", "cells", "gas", "oxygen"),
    [
        ("nitrox32", None, {"o2": "33.5 %"}, "nitrox32", 33.5),
        ("nitrox32", None, {"o2": "30.5 %"}, "nitrox32", 30.5),
        ("nitrox32", None, {"o2": "33.6 %"}, "nitrox33.6", 33.6),
        ("nitrox32", "32.4 %", {"o2": "33 %"}, "nitrox32", 33.0),
        ("nitrox32", "32.4 %", {}, "nitrox32", 32.4),
        ("nitrox32", None, {"o2": "20.9 %"}, "air", 20.9),
        ("nitrox32", None, {"o2": "22.4 %"}, "air", 22.4),
        ("nitrox32", None, {"o2": "22.5 %"}, "nitrox22.5", 22.5),
        ("nitrox32", None, {"o2": "97.9 %"}, "nitrox97.9", 97.9),
        ("nitrox32", None, {"o2": "12 %"}, str(Gas.of(12)), 12.0),
        ("nitrox32", None, {"o2": "98 %"}, "oxygen", 98.0),
        ("nitrox32", "32.4 %", {"gas": "nitrox32"}, "nitrox32", 32.4),
        ("nitrox32", "32.4 %", {"gas": "nitrox36"}, "nitrox36", None),
        ("nitrox32", "32.4 %", {"gas": "nitrox36", "o2": "36.1 %"}, "nitrox36", 36.1),
        (None, None, {"o2": "31 %"}, "nitrox31", 31.0),
        ("nitrox32", None, {"o2": "36 %", "to": "15 psi"}, "nitrox36", 36.0),
    ],
)  # fmt: skip
def test_an_analysis_says_what_it_holds_where_it_is_another(
    filled: str | None, known: str | None, cells: dict[str, str], gas: str, oxygen: float | None
) -> None:
    more = {"o2": known, "analysed_by": "MV"} if known else {}
    first = fill("2026-11-05", to="1000 psi", gas=filled, **more) if filled else KNOWN
    book = book_of(first, line("2026-11-10", "reading", **{"to": "900 psi", **cells}))
    found = contents_of(book, "A")
    assert (str(found.gas), found.oxygen) == (gas, oxygen)


ANALYSED = fill(
    "2026-11-23", to="3290 psi", gas="trimix18/45", o2="18.1 %", he="44.8 %", analysed_by="TO"
)
OF_THEN = (dt.date(2026, 11, 23), 18.1, 44.8, "TO")


@pytest.mark.parametrize(
    ("later", "said"),
    [
        ([], OF_THEN),
        ([read("2026-11-24", "3200 psi")], OF_THEN),  # a day colder
        ([read("2026-11-24", "2700 psi")], OF_THEN),
        ([line("2026-11-24", "reading", to="3200 psi", o2="18.4 %", he="44 %", analysed_by="MV")],
         (dt.date(2026, 11, 24), 18.4, 44.0, "MV")),
        ([read("2026-11-24", "2000 psi"), line("2026-11-25", "reading", to="2000 psi", o2="18.4 %")],
         (dt.date(2026, 11, 25), 18.4, None, "")),
        ([read("2026-11-24", "0 psi")], None),
        ([fill("2026-11-24", gas="air")], None),
        ([line("2026-11-24", "reading", to="3200 psi", gas="air")], None),
    ],
)  # fmt: skip
def test_an_analysis_keeps_its_day_its_analyst_and_its_figures(
    later: list[str], said: tuple[dt.date, float, float | None, str] | None
) -> None:
    book = book_of(ANALYSED, *later)
    found = contents_of(book, "A")
    known = found.analysis
    told = (known.on, known.oxygen, known.helium, known.by) if known else None
    assert told == said


@pytest.mark.parametrize(
    ("log", "changes", "elsewhere"),
    [
        ([fill("2026-11-05", **MIX), read("2026-11-10", "2000 psi")], {}, "2000 psi"),
        ([fill("2026-11-05", **MIX), read("2026-11-10", "2000 psi")], {"use": "customer", "owner": "C-0192"}, None),
        ([fill("2026-11-05", **MIX), read("2026-11-10", "900 psi")], {}, None),
        ([read("2026-11-05", "1000 psi"), read("2026-11-10", "2000 psi")], {}, None),  # never filled here
        ([fill("2026-11-05", **MIX), read("2026-11-10", "14 psi")], {}, None),
        ([fill("2026-11-05", to="10 psi", gas="air"), read("2026-11-10", "15 psi")], {}, None),
        ([fill("2026-11-05", **MIX), read("2026-11-10", "2000 psi"), read("2026-11-12", "15 psi")], {}, "15 psi"),
    ],
)  # fmt: skip
def test_what_somebody_else_filled_since(
    log: list[str], changes: dict[str, str], elsewhere: str | None
) -> None:
    book = book_of(*log, **changes)
    found = filled_elsewhere(book, book.cylinders["A"])
    assert (str(found.pressure) if found else None) == elsewhere


def test_every_fill_is_counted() -> None:
    log = [fill(f"2026-11-0{day}", from_="1000 psi") for day in range(1, 7)]
    assert contents_of(book_of(*log), "A").fills == 6


@pytest.mark.parametrize(
    ("rental", "gas", "pressure"),
    [
        ("{on: 2026-11-10, to: B-1, back: 2026-11-12, pressure: 600 psi}", None, "600 psi"),
        ("{on: 2026-11-06, to: B-1, back: 2026-11-08, pressure: 600 psi}", None, "0 psi"),
        ("{on: 2026-11-06, to: B-1, back: 2026-11-09, pressure: 600 psi}", None, "0 psi"),
        ("{on: 2026-11-06, to: B-1}", None, "0 psi"),  # not back
    ],
)
def test_a_return_after_a_look_inside_is_what_is_known(
    rental: str, gas: str | None, pressure: str | None
) -> None:
    looked = "[{on: 2026-11-09, by: MV, checklist: annual, result: pass}]"
    book = book_of(fill("2026-11-05"), inspected=looked, rented=f"[{rental}]")
    assert held(book) == (gas, pressure)


@pytest.mark.parametrize(
    ("away", "pressure"),
    [
        ("", None),  # as the test house has it nobody knows
        (", back: 2026-11-12", "0 psi"),
        (", back: 2026-11-12, refitted: 2026-11-13, refitted_by: MV", "0 psi"),
    ],
)
def test_what_comes_back_from_a_test_holds_nothing(away: str, pressure: str | None) -> None:
    sent = f"[{{on: 2026-11-06, by: MV, to: Northside, for: requalification{away}}}]"
    assert held(book_of(fill("2026-11-05"), sent=sent)) == (None, pressure)
    again = fill("2026-11-14", from_="0 psi", to="2900 psi")
    assert held(book_of(fill("2026-11-05"), again, sent=sent))[1] == "2900 psi"


@pytest.mark.parametrize(
    ("pressure", "gas"), [("1319 psi", "nitrox32"), ("1321 psi", None), ("600 psi", "nitrox32")]
)
def test_what_comes_back_fuller_holds_what_nobody_knows(pressure: str, gas: str | None) -> None:
    rented = f"[{{on: 2026-11-10, to: B-1, back: 2026-11-12, pressure: {pressure}}}]"
    assert held(book_of(fill("2026-11-05", **MIX), rented=rented)) == (gas, pressure)


def test_the_last_of_several_looks_inside_is_when_it_was_emptied() -> None:
    looks = ", ".join(f"{{on: 2026-11-{d}, by: MV, checklist: annual, result: pass}}" for d in ("07", "09"))  # fmt: skip
    back = "[{on: 2026-11-06, to: B-1, back: 2026-11-08, pressure: 600 psi}]"
    assert held(book_of(fill("2026-11-05"), inspected=f"[{looks}]", rented=back)) == (None, "0 psi")


FULLER = [fill("2026-11-05", **MIX), read("2026-11-07", "2000 psi")]


@pytest.mark.parametrize(
    ("more", "gas"),
    [
        ({}, None),  # on 2000 psi of nobody knows what
        ({"from_": "15 psi"}, None),
        ({"from_": "14.9 psi"}, "air"),
        ({"from_": "14 psi"}, "air"),
        ({"from_": "2000 psi", "o2": "20.9 %", "analysed_by": "MV"}, "air"),
    ],
)
def test_what_is_put_on_gas_that_nobody_knows_is_not_known(
    more: dict[str, str], gas: str | None
) -> None:
    assert held(book_of(*FULLER, fill("2026-11-10", **more)))[0] == gas


def test_what_a_reading_says_of_gas_that_nobody_knew_is_known() -> None:
    said = line("2026-11-10", "reading", to="1900 psi", gas="air")
    assert held(book_of(*FULLER, said)) == ("air", "1900 psi")


OFF = "[{on: 2026-11-%s, by: MV, did: serviced, bled: %s}]"
CLEANED = "[{on: 2026-11-%s, by: MV, to: nitrox, bled: %s}]"


@pytest.mark.parametrize(
    ("day", "bled", "to", "known"),
    [
        ("07", "heard", "2900 psi", False),
        ("07", "heard", "1500 psi", False),
        ("07", "heard", "201 psi", False),
        ("07", "heard", "200 psi", None),  # purged with what nobody writes down
        ("07", "no-flow", "1500 psi", True),
        ("05", "heard", "1500 psi", True),  # of the day of a line it may be on either side
        ("10", "heard", "1500 psi", True),
        ("12", "heard", "1500 psi", None),  # it is empty since
    ],
)
@pytest.mark.parametrize("work", ["valve_work", "cleaned"])
def test_what_is_read_full_after_its_valve_came_off_was_filled_by_who_knows(
    day: str, bled: str, to: str, known: bool | None, work: str
) -> None:
    """As after it was drained: the gas of before is not in it any more."""
    log = [fill("2026-11-05"), read("2026-11-10", to)]
    more = {work: (OFF if work == "valve_work" else CLEANED) % (day, bled)}
    if work == "cleaned" and bled == "no-flow":
        more = {work: more[work].replace("nitrox", "air")}
    found = held(book_of(*log, **more))
    shown = "3000 psi" if bled == "no-flow" else to  # its valve may be blocked: it is no less full
    shown = "0 psi" if day == "12" else shown
    assert found == ("air" if known else None, shown)
    assert bool(rises(*log, **more)) is (known is False)
    # logged, it is known again
    between = fill("2026-11-09", from_="0 psi", to=to)
    assert rises(log[0], between, log[1], **more) == []


HYDRO = {"requalified": "[{on: 2026-11-07, method: hydrostatic, by: T123}]"}


@pytest.mark.parametrize(
    ("begun", "more", "gas", "told"),
    [
        ("1500 psi", {"valve_work": OFF % ("07", "heard")}, None, True),
        ("201 psi", {"valve_work": OFF % ("07", "heard")}, None, True),
        ("200 psi", {"valve_work": OFF % ("07", "heard")}, "air", False),  # purged, and filled on
        ("1500 psi", {"valve_work": OFF % ("05", "heard")}, "air", False),
        ("1500 psi", {"cleaned": CLEANED % ("07", "heard")}, None, True),
        ("1500 psi", HYDRO, None, False),  # as the test house may have filled it
        ("0 psi", HYDRO, "air", False),
        ("1500 psi", {}, "air", False),
    ],
)
def test_what_a_fill_began_with_is_read_as_well(
    begun: str, more: dict[str, str], gas: str | None, told: bool
) -> None:
    """More than a purge after its valve came off: it was put on what nobody knows."""
    log = [fill("2026-11-05"), fill("2026-11-10", from_=begun)]
    assert held(book_of(*log, **more)) == (gas, "3000 psi")
    assert bool(rises(*log, **more)) is told
    read_so = [log[0], read("2026-11-10", begun)]
    assert held(book_of(*read_so, **more))[0] == (None if begun in {"0 psi", "200 psi"} else gas)


@pytest.mark.parametrize(("times", "gas"), [(2, None), (3, "air")])
def test_gas_that_nobody_knew_is_topped_away(times: int, gas: str | None) -> None:
    topped = [fill(f"2026-11-1{day}", from_="1500 psi") for day in range(times)]
    assert held(book_of(*FULLER, *topped))[0] == gas


@pytest.mark.parametrize(
    ("settings", "to", "gas"),
    [("300 psi", "1419 psi", "nitrox32"), ("300 psi", "1421 psi", None), ("600 psi", "1619 psi", "nitrox32"), ("600 psi", "1621 psi", None)],
)  # fmt: skip
def test_the_setting_says_what_is_fuller(settings: str, to: str, gas: str | None) -> None:
    log = "\n".join([fill("2026-11-05", **MIX), read("2026-11-10", to)])
    book = make_book({"A": GOOD}, settings=SETTINGS + f"unexplained: {settings}\n", log=log)
    assert held(book) == (gas, to)


def test_a_first_fill_on_a_pressure_alone_is_what_it_says() -> None:
    assert held(book_of(KNOWN, fill("2026-11-10")))[0] == "air"
    assert held(book_of(fill("2026-11-10")))[0] == "air"


SET = "cylinders: [A, B]\nisolator: %s\n"
SIDE = fill("2026-11-12", "B")
HELD = "held: [{on: 2026-11-10, by: MV, why: dent}]\n"
AWAY = "sent: [{on: 2026-11-10, to: N, for: repair}]\n"


@pytest.mark.parametrize(
    ("isolator", "a", "b", "into"),
    [
        ("open", "", "", [5, 12, 14]),
        ("none", "", "", [5, 12, 14]),
        ("shut", "", "", [5, 14]),
        # one of the two was away; one that is held may hang where it hung
        ("open", AWAY, "", [5, 14]),
        ("open", "", AWAY, [5, 14]),
        ("open", AWAY, AWAY, [5, 12, 14]),
        ("open", HELD, "", [5, 12, 14]),
        ("open", "", HELD, [5, 12, 14]),
    ],
)
def test_a_side_filled_by_itself_fills_the_other_through_an_open_isolator(
    isolator: str, a: str, b: str, into: list[int]
) -> None:
    log = [fill("2026-11-14"), fill("2026-11-05"), SIDE, read("2026-11-13", "900 psi", "B")]
    cards = {"A": GOOD + a, "B": GOOD.replace("K118204", "K2") + b}
    book = make_book(cards, sets={"D": SET % isolator}, log="\n".join(log))
    assert tuple(n.at.day for n in lines_into(book, "A")) == tuple(into)
    assert isinstance(lines_into(book, "A"), tuple)


@pytest.mark.parametrize(("isolator", "into"), [("", [5, 12, 14]), ("isolator: shut\n", [5, 14])])
def test_an_isolator_that_nobody_wrote_of_is_not_known_to_be_shut(
    isolator: str, into: list[int]
) -> None:
    log = "\n".join([fill("2026-11-14"), fill("2026-11-05"), SIDE])
    cards = {"A": GOOD, "B": GOOD.replace("K118204", "K2")}
    book = make_book(cards, sets={"D": f"cylinders: [A, B]\n{isolator}"}, log=log)
    assert [n.at.day for n in lines_into(book, "A")] == into


@pytest.mark.parametrize("off", ["A", "B"])
def test_what_is_known_to_be_in_it_rests_on_no_side_that_was_held(off: str) -> None:
    cards = {"A": GOOD, "B": GOOD.replace("K118204", "K2")}
    cards[off] += HELD
    book = make_book(cards, sets={"D": SET % "open"}, log="\n".join([fill("2026-11-05"), SIDE]))
    assert [n.at.day for n in lines_held(book, "A")] == [5]
    assert [n.at.day for n in lines_into(book, "A")] == [5, 12]


def test_a_side_without_a_card_is_not_known_to_be_off() -> None:
    book = make_book({"A": GOOD}, sets={"D": SET % "open"}, log=SIDE)
    assert [n.at.day for n in lines_into(book, "A")] == [12]
    book = make_book({"B": GOOD}, sets={"D": SET % "open"}, log=SIDE)
    assert [n.at.day for n in lines_into(book, "A")] == [12]


def test_of_two_returns_between_two_lines_the_later_one_counts() -> None:
    own = "[{on: 2026-11-09, by: MV, to: B-1, back: 2026-11-10, pressure: 500 psi}]"
    of_set = "rented: [{on: 2026-11-06, by: MV, to: B-2, back: 2026-11-12, pressure: 1000 psi}]\n"
    sets = {"D": "cylinders: [A, B]\nisolator: open\n" + of_set}
    log = [fill("2026-11-05"), read("2026-11-15", "1000 psi")]
    assert rises(*log, sets=sets, rented=own) == []
    later = own.replace("2026-11-10", "2026-11-13")
    assert rises(*log, sets=sets, rented=later) == [("1000 psi", "500 psi")]


@pytest.mark.parametrize(("to", "found"), [("200 psi", 0), ("201 psi", 1)])
def test_what_was_looked_inside_held_nothing(to: str, found: int) -> None:
    looked = "[{on: 2026-11-07, by: MV, checklist: annual, result: pass}]"
    card = {"service_pressure": "300 psi", "test_pressure": "500 psi", "inspected": looked}
    log = [fill("2026-11-05", to="150 psi"), read("2026-11-10", to)]
    assert len(rises(*log, **card)) == found


AIR_5 = fill("2026-11-05")
MIX_B = fill("2026-11-12", "B", to="2800 psi", gas="nitrox32", from_="100 psi")
EMPTY_B = read("2026-11-14", "0 psi", "B")


@pytest.mark.parametrize(
    ("isolator", "log", "a", "whole"),
    [
        ("open", [AIR_5, MIX_B], ("nitrox32", "2800 psi"), ("nitrox32", "2800 psi")),
        ("none", [AIR_5, MIX_B], ("nitrox32", "2800 psi"), ("nitrox32", "2800 psi")),
        ("shut", [AIR_5, MIX_B], ("air", "3000 psi"), (None, "2800 psi")),
        # nothing leaves it because the other side was emptied; of the set the lower counts
        ("open", [AIR_5, MIX_B, EMPTY_B], ("nitrox32", "2800 psi"), (None, "0 psi")),
        ("open", [MIX_B, read("2026-11-13", "900 psi")], ("nitrox32", "900 psi"), ("nitrox32", "900 psi")),
        ("open", [MIX_B, fill("2026-11-13", "D")], ("air", "3000 psi"), ("air", "3000 psi")),
        # what the other side began with says nothing of what was in this one
        ("open", [AIR_5, read("2026-11-06", "500 psi"), read("2026-11-07", "2000 psi"), fill("2026-11-12", "B", from_="0 psi")], (None, "3000 psi"), (None, "3000 psi")),
        ("open", [AIR_5, read("2026-11-06", "500 psi"), read("2026-11-07", "2000 psi"), fill("2026-11-12", from_="0 psi")], ("air", "3000 psi"), (None, "3000 psi")),
    ],
)  # fmt: skip
def test_a_side_holds_what_came_through_an_open_isolator(
    isolator: str, log: list[str], a: tuple[str, str], whole: tuple[str | None, str]
) -> None:
    book = book_of(*log, sets={"D": SET % isolator})
    assert (held(book), held(book, "D")) == (a, whole)


@pytest.mark.parametrize(
    ("isolator", "log", "other"),
    [
        # what one side shows, or was let out to, is what the other is at
        ("open", [read("2026-11-12", "900 psi")], ("air", "900 psi")),
        ("none", [read("2026-11-12", "900 psi")], ("air", "900 psi")),
        ("shut", [read("2026-11-12", "900 psi")], ("air", "3000 psi")),
        ("open", [line("2026-11-12", "drain", from_="3000 psi", to="900 psi")], ("air", "900 psi")),
        ("open", [line("2026-11-12", "reading", to="900 psi", o2="40 %", analysed_by="MV")], ("air", "900 psi")),
        ("open", [read("2026-11-12", "900 psi", "B"), read("2026-11-13", "700 psi")], ("air", "700 psi")),
        # nobody looked how much is left of what bled through; one side at nothing may be its gauge
        ("open", [line("2026-11-12", "drain", from_="3000 psi", to="0 psi")], ("air", None)),
        ("open", [read("2026-11-12", "0 psi")], ("air", "3000 psi")),
        # its own gauge says otherwise, that day or later, or less before
        ("open", [read("2026-11-12T09", "900 psi"), read("2026-11-12T10", "2800 psi", "B")], ("air", "2800 psi")),
        ("open", [read("2026-11-12", "2500 psi", "B"), read("2026-11-12T11", "900 psi")], ("air", "2500 psi")),
        ("open", [read("2026-11-12", "900 psi", "B"), read("2026-11-13", "2500 psi")], ("air", "900 psi")),
        ("open", [read("2026-11-12", "900 psi", "B"), line("2026-11-12T11", "drain", to="300 psi")], ("air", "300 psi")),
        # but at nothing: who takes it for empty opens it, and what it holds nobody knows
        ("open", [read("2026-11-12", "0 psi", "B"), read("2026-11-13", "2000 psi")], (None, "2000 psi")),
        ("open", [line("2026-11-12", "drain", "B", from_="3000 psi", to="0 psi"), read("2026-11-13", "2000 psi")], (None, "2000 psi")),
    ],
)  # fmt: skip
def test_what_one_side_is_read_at_through_an_open_isolator_the_other_is_too(
    isolator: str, log: list[str], other: tuple[str, str | None]
) -> None:
    book = book_of(fill("2026-11-05", "D"), *log, sets={"D": SET % isolator})
    assert held(book, "B") == other


TURNED = """turned:
  - {on: 2026-11-12, by: MV, at: "09:00", stands: shut}
  - {on: 2026-11-12, by: MV, at: "11:00", stands: open}
"""


@pytest.mark.parametrize("name", ["A", "D"])
@pytest.mark.parametrize(("shown", "found"), [("1500 psi", 0), ("1860 psi", 0), ("2600 psi", 1)])
def test_two_sides_are_level_after_an_isolator_was_opened(
    name: str, shown: str, found: int
) -> None:
    """Half of what the other held, and no more than weather and gauge explain."""
    emptied = line("2026-11-12T10", "drain", from_="3000 psi", to="0 psi")
    log = [fill("2026-11-05", "D"), emptied, read("2026-11-12T12", shown, name)]
    sets = {"D": "cylinders: [A, B]\nmanifold: bar\n" + TURNED}
    assert len(rises(*log, sets=sets)) == found


@pytest.mark.parametrize("names", ["A", "B", "AB", "D"])
def test_a_set_is_at_what_is_read_at_a_later_hour_of_the_day_it_came_level(names: str) -> None:
    emptied = line("2026-11-12T10", "drain", from_="3000 psi", to="500 psi")
    reads = [read("2026-11-12T12", "1700 psi", name) for name in names]
    sets = {"D": "cylinders: [A, B]\nmanifold: bar\n" + TURNED}
    book = book_of(fill("2026-11-05", "D"), emptied, *reads, sets=sets)
    assert held(book, "D") == ("air", "1700 psi")
    if names != "D":  # and so is each side, whichever was read
        assert {held(book, "A"), held(book, "B")} == {("air", "1700 psi")}


def test_a_set_whose_sides_were_read_as_it_came_back_holds_what_was_filled_on_that_day() -> None:
    back = "{on: 2026-11-12, to: B-1, by: MV, at: '08:00', back: 2026-11-12, pressure: 600 psi}"
    log = [read("2026-11-12T17", psi, name) for name, psi in (("A", "600 psi"), ("B", "800 psi"))]
    log += [fill("2026-11-12T18", "D", from_="700 psi", to="1500 psi")]
    turned = TURNED.replace("11:00", "17:10")
    sets = {"D": f"cylinders: [A, B]\nmanifold: bar\n{turned}rented: [{back}]\n"}
    book = book_of(fill("2026-11-05", "D"), *log, sets=sets)
    assert {held(book, name) for name in "ABD"} == {("air", "1500 psi")}


def test_both_sides_are_empty_that_were_let_out_one_after_the_other() -> None:
    log = [line("2026-11-12T10", "drain", name, to="0 psi") for name in "AB"]
    book = book_of(fill("2026-11-05", "D"), *log, sets={"D": SET % "open"})
    assert {held(book, name) for name in "ABD"} == {(None, "0 psi")}


@pytest.mark.parametrize("name", ["A", "B", "D"])
def test_a_side_that_work_let_out_behind_a_shut_isolator_is_filled_again_by_the_other(
    name: str,
) -> None:
    cleaned = '{on: 2026-11-12, at: "10:00", by: MV, to: nitrox, bled: heard}'
    cards = {"A": with_lines(GOOD, cleaned=f"[{cleaned}]"), "B": GOOD.replace("K118204", "K2")}
    log = "\n".join((fill("2026-11-05", "D"), read("2026-11-12T12", "1500 psi", name)))
    sets = {"D": "cylinders: [A, B]\nmanifold: bar\n" + TURNED}
    book = make_book(cards, sets=sets, log=log)
    assert rises_of(book, book.cylinders["A"]) == ()
    assert held(book, "A") == ("air", "1500 psi")


@pytest.mark.parametrize("off", ["A", "B"])
def test_a_set_holds_nothing_of_a_side_that_was_off_it(off: str) -> None:
    cards = {"A": GOOD, "B": GOOD.replace("K118204", "K2")}
    cards[off] += HELD
    book = make_book(cards, sets={"D": SET % "open"}, log="\n".join((AIR_5, MIX_B)))
    found = {name: held(book, name) for name in "ABD"}
    assert found == {
        "A": ("air", "3000 psi"),
        "B": ("nitrox32", "2800 psi"),
        "D": ("air", "3000 psi"),
    }


@pytest.mark.parametrize(
    ("log", "fills"),
    [
        ([AIR_5, MIX_B], 1),
        ([MIX_B], 1),  # of itself nobody wrote: it was filled all the same
        ([AIR_5, MIX_B, fill("2026-11-13", "D")], 2),
        ([MIX_B, MIX_B.replace("T10", "T11")], 2),
        ([], 0),
    ],
)
def test_what_was_written_of_each_side_is_counted_once(log: list[str], fills: int) -> None:
    assert contents_of(book_of(*log, sets=OPEN_SET), "A").fills == fills


@pytest.mark.parametrize(
    ("id_", "isolator", "off", "into"),
    [
        ("A", "open", "", ("A", "B")),
        ("A", "none", "", ("A", "B")),
        ("A", "shut", "", ("A",)),
        ("A", "open", HELD, ("A", "B")),  # held, it may hang where it hung
        ("A", "open", AWAY, ("A",)),
        ("D", "shut", HELD, ("A", "B")),
        ("C", "open", "", ("C",)),
    ],
)
def test_what_a_fill_went_into(id_: str, isolator: str, off: str, into: tuple[str, ...]) -> None:
    cards = {n: GOOD.replace("K118204", f"K{n}") for n in "ABC"}
    book = make_book({**cards, "B": cards["B"] + off}, sets={"D": SET % isolator})
    assert went_into(book, id_, dt.datetime(2026, 11, 12, 10, tzinfo=dt.UTC)) == into


def test_a_fill_through_an_open_isolator_explains_what_is_read_of_the_other_side() -> None:
    low = read("2026-11-10", "500 psi")
    full, mixed = read("2026-11-13", "2800 psi"), line("2026-11-13", "reading", o2="32 %")
    assert rises(low, MIX_B, full, sets=OPEN_SET) == []
    assert rises(low, MIX_B, full, sets={"D": SET % "shut"}) == [("2800 psi", "500 psi")]
    # what the other side began with was not read of this one: neither more nor nothing
    more = fill("2026-11-12", "B", from_="900 psi", to="1000 psi")
    assert rises(low, more, sets=OPEN_SET) == []
    none = fill("2026-11-12", "B", from_="0 psi", to="1000 psi")
    high = read("2026-11-11", "2500 psi")
    assert rises(low, high, none, sets=OPEN_SET) == [("2500 psi", "500 psi")]
    # and the gas is read against the fill that came last
    for sets, count in ((OPEN_SET, 0), ({"D": SET % "shut"}, 1)):
        book = book_of(AIR_5, MIX_B, mixed, sets=sets)
        found = gas_readings_of(book, book.cylinders["A"])
        assert len([1 for n, f in found if f.gas and f.gas.is_air]) == count


# --- analysed otherwise --------------------------------------------------------------------------

O2 = {"to": "900 psi", "o2": "36 %"}
LOOKED = "[{on: 2026-11-%s, by: MV, checklist: annual, result: pass}]"


@pytest.mark.parametrize(
    ("log", "changes", "count"),
    [
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", to="900 psi", he="10 %")], {}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", to="900 psi", gas="air")], {}, 1),
        ([fill("2026-11-05", **MIX), read("2026-11-10", "900 psi")], {}, 0),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2), line("2026-11-11", "reading", **O2)], {}, 2),
        ([line("2026-11-04", "reading", **O2), fill("2026-11-05", **MIX)], {}, 0),
        # empty in between
        ([fill("2026-11-05", **MIX), read("2026-11-07", "14 psi"), line("2026-11-10", "reading", **O2)], {}, 0),
        ([fill("2026-11-05", **MIX), read("2026-11-07", "15 psi"), line("2026-11-10", "reading", **O2)], {}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-07", "reading"), line("2026-11-10", "reading", **O2)], {}, 1),
        # filled with nobody knows what
        ([line("2026-11-05", "fill", to="1000 psi"), line("2026-11-10", "reading", **O2)], {}, 0),
        # somebody else had it in between, or before, or after
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"rented": "[{on: 2026-11-06, to: B-1, back: 2026-11-08}]"}, 0),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"rented": "[{on: 2026-11-01, to: B-1, back: 2026-11-04}]"}, 1),
        ([read("2026-11-01", "500 psi"), fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"rented": "[{on: 2026-11-02, to: B-1, back: 2026-11-03}]"}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"rented": "[{on: 2026-11-11, to: B-1, back: 2026-11-12}]"}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"use": "customer", "owner": "C-0192"}, 0),
        # looked inside that day, or after it
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"inspected": LOOKED % "09"}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"inspected": LOOKED % "10"}, 1),
        ([fill("2026-11-05", **MIX), line("2026-11-10", "reading", **O2)], {"inspected": LOOKED % "11"}, 0),
    ],
)  # fmt: skip
def test_readings_of_its_gas_since_a_fill(
    log: list[str], changes: dict[str, str], count: int
) -> None:
    book = book_of(*log, **changes)
    found = gas_readings_of(book, book.cylinders["A"])
    assert len(found) == count
    assert all(filled.at.date().day == 5 and got.at > filled.at for got, filled in found)


# --- empty ---------------------------------------------------------------------------------------

DRAINED = line("2026-11-05T08", "drain", from_="500 psi", to="0 psi")


@pytest.mark.parametrize(
    ("log", "days"),
    [
        ([read("2026-11-05", "15 psi")], []),
        ([read("2026-11-05", "14.9 psi")], [(5, True)]),
        # something was known to be in it that morning
        ([read("2026-11-05T08", "15 psi"), read("2026-11-05", "0 psi")], [(5, False)]),
        ([read("2026-11-04", "500 psi"), read("2026-11-05", "0 psi")], [(5, True)]),
        # let out on purpose, and nothing since
        ([line("2026-11-05T08", "drain", from_="500 psi", to="0 psi"), read("2026-11-05", "0 psi")], []),
        ([line("2026-11-05T08", "drain", from_="15 psi", to="0 psi"), read("2026-11-05", "0 psi")], []),
        ([line("2026-11-05T08", "drain", to="0 psi"), read("2026-11-09", "0 psi"), read("2026-11-12", "0 psi")], []),
        ([line("2026-11-05T08", "drain", from_="500 psi", to="100 psi"), read("2026-11-05", "0 psi")], [(5, False)]),
        ([read("2026-11-04", "0 psi"), line("2026-11-05", "drain", to="0 psi")], [(4, True)]),
        ([DRAINED, fill("2026-11-07"), read("2026-11-08", "0 psi")], [(8, True)]),
        ([DRAINED, read("2026-11-07", "600 psi"), read("2026-11-08", "0 psi")], [(8, True)]),
        ([line("2026-11-05T08", "drain", from_="0 psi", to="0 psi"), read("2026-11-05", "0 psi")], [(5, True)]),
        ([line("2026-11-05", "drain", to="0 psi")], []),
    ],
)  # fmt: skip
def test_when_it_was_read_empty_and_whether_it_was_so_all_day(
    log: list[str], days: list[tuple[int, bool]]
) -> None:
    assert [(day.day, sure) for day, sure in read_empty(book_of(*log), "A")] == days


AWAY = {
    "rented": "rented: [{on: 2026-11-%s, to: B-1, back: 2026-11-%s, pressure: 500 psi, valve: closed}]",
    "hour": "rented: [{on: 2026-11-%s, at: '09:00', to: B-1, back: 2026-11-%s, pressure: 500 psi}]",
    "sent": "sent: [{on: 2026-11-%s, for: repair, to: R-1, back: 2026-11-%s}]",
    "lost": "lost: [{on: 2026-11-%s, by: MV, found: 2026-11-%s}]",
}  # fmt: skip


@pytest.mark.parametrize(
    ("what", "gone", "back", "told"),
    [
        ("rented", "06", "07", True),
        ("rented", "05", "07", True),  # nobody says whether it left before
        ("rented", "01", "04", False),
        ("rented", "10", "12", False),
        ("hour", "05", "05", True),
        ("hour", "08", "09", False),  # it was read that morning
        ("sent", "06", "07", True),
        ("lost", "06", "07", True),
        ("lost", "01", "03", False),
    ],
)
def test_what_was_let_out_and_is_read_empty_is_news_where_it_was_away_since(
    what: str, gone: str, back: str, told: bool
) -> None:
    name, _, value = (AWAY[what] % (gone, back)).partition(": ")
    lines = (fill("2026-10-20"), DRAINED, read("2026-11-08T08", "0 psi"))
    book = book_of(*lines, **{name: value})
    assert bool([*read_empty(book, "A")]) is told


@pytest.mark.parametrize(("isolator", "told"), [("open", []), ("shut", [8])])
def test_what_was_let_out_through_the_manifold_and_is_read_empty_is_no_news(
    isolator: str, told: list[int]
) -> None:
    stands = f"isolator: {isolator}\n" if isolator else ""
    sets = {"D": f"cylinders: [A, B]\n{stands}"}
    lines = (fill("2026-10-20", "D"), DRAINED, read("2026-11-08", "0 psi", "B"))
    assert [day.day for day, _ in read_empty(book_of(*lines, sets=sets), "B")] == told


def test_a_reading_of_nothing_at_all_reads_nothing_empty() -> None:
    book = book_of(read("2026-11-05", "0 psi"), line("2026-11-08", "reading"))
    assert [day.day for day, _ in read_empty(book, "A")] == [5]


@pytest.mark.parametrize(
    ("log", "changes", "days"),
    [
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {}, [10]),
        ([KNOWN, fill("2026-11-10", from_="14 psi")], {}, [10]),
        ([KNOWN, fill("2026-11-10", from_="15 psi")], {}, []),
        ([KNOWN, fill("2026-11-10")], {}, []),
        ([fill("2026-11-10", from_="0 psi")], {}, []),  # nothing was known of it
        ([read("2026-11-05", "15 psi"), fill("2026-11-10", from_="0 psi")], {}, [10]),
        ([read("2026-11-05", "0 psi"), fill("2026-11-10", from_="0 psi")], {}, []),
        ([KNOWN, line("2026-11-10", "drain", from_="0 psi", to="0 psi")], {}, [10]),
        ([KNOWN, line("2026-11-10", "reading", from_="0 psi", to="500 psi")], {}, []),
        ([KNOWN, line("2026-11-08", "reading"), fill("2026-11-10", from_="0 psi")], {}, [10]),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"inspected": LOOKED % "05"}, []),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"inspected": LOOKED % "04"}, [10]),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"inspected": LOOKED % "10"}, []),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"inspected": LOOKED % "11"}, [10]),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"inspected": (LOOKED % "07").replace("annual", "pre-fill")}, [10]),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"sent": "[{on: 2026-11-06, to: T, for: repair, back: 2026-11-07}]"}, []),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"requalified": "[{on: 2026-11-06, method: hydrostatic, by: T123}]"}, []),
        ([KNOWN, fill("2026-11-10", from_="0 psi")], {"requalified": "[{on: 2026-11-06, method: visual, by: T123}]"}, [10]),
    ],
)  # fmt: skip
def test_what_began_with_nothing_though_something_was_in_it(
    log: list[str], changes: dict[str, str], days: list[int]
) -> None:
    book = book_of(*log, **changes)
    assert [day.day for day in begun_empty(book, book.cylinders["A"])] == days


# --- what rose, and who had it -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("look", "since", "to", "found"),
    [
        ("2026-11-08", "1500 psi", "1500 psi", True),  # nobody looks into one that holds something
        ("2026-11-08, bled: heard", "1500 psi", "201 psi", True),
        (
            "2026-11-08, bled: heard",
            "1500 psi",
            "200 psi",
            False,
        ),  # so little is what a purge leaves
        ("2026-11-08", "1500 psi", "1499 psi", False),  # as long as nobody says that it was bled
        ("2026-11-05", "1500 psi", "1600 psi", False),  # looked into before it was read
        ("2026-11-10", "1500 psi", "1600 psi", False),  # or after
        ("2026-11-04", "1500 psi", "1600 psi", False),
        ("2026-11", "1500 psi", "1600 psi", False),  # on some day of the month
    ],
)
def test_what_holds_gas_after_a_look_inside_was_filled(
    look: str, since: str, to: str, found: bool
) -> None:
    looked = f"[{{on: {look}, by: MV, checklist: annual, result: pass}}]"
    got = rises(read("2026-11-05", since), read("2026-11-10", to), inspected=looked)
    # what was read before a look of a later day is past
    assert got == [(to, "0 psi")] * found


def test_a_fill_after_a_look_inside_explains_itself() -> None:
    looked = LOOKED % "08"
    log = [read("2026-11-05", "1000 psi"), fill("2026-11-10", from_="200 psi")]
    assert rises(*log, inspected=looked) == []
    begun = [log[0], fill("2026-11-10", from_="1000 psi")]  # that was in it before the look
    assert rises(*begun, inspected=looked) == []
    heard = looked.replace("by: MV", "by: MV, bled: heard")
    assert rises(*begun, inspected=heard) == [("1000 psi", "0 psi")]


@pytest.mark.parametrize(("to", "found"), [("1619.5 psi", False), ("1620.5 psi", True)])
def test_no_setting_explains_more_than_the_weather_does(to: str, found: bool) -> None:
    settings = SETTINGS + "unexplained: 600 psi\n"
    assert bool(rises(KNOWN, read("2026-11-10", to), settings=settings)) is found


def test_who_had_it_after_several_readings() -> None:
    before = [read("2026-11-01", "1200 psi"), read("2026-11-02", "1100 psi"), KNOWN]
    out = "[{on: 2026-11-06, to: B-1, back: 2026-11-08}]"
    assert rises(*before, read("2026-11-10", "1400 psi"), rented=out) == []
    assert rises(*before, read("2026-11-10", "1400 psi")) == [("1400 psi", "1000 psi")]


def test_a_look_inside_is_held_against_whatever_else_happened() -> None:
    log = [read("2026-11-05", "1500 psi"), read("2026-11-10", "1600 psi")]
    out = "[{on: 2026-10-01, to: B-1, back: 2026-10-03}]"
    assert rises(*log, inspected=LOOKED % "08", rented=out) == [("1600 psi", "0 psi")]
    both = f"[{{on: 2026-02-09, by: MV, checklist: annual, result: pass}}, {(LOOKED % '08')[1:]}"
    assert rises(*log, inspected=both) == [("1600 psi", "0 psi")]
    # where nothing was ever read there is nothing to hold it against
    assert rises(line("2026-11-05", "reading"), log[1], inspected=LOOKED % "08") == []
    # nor where its marked pressure is not known, and nobody says how it was bled
    assert rises(*log, inspected=LOOKED % "08", service_pressure=None) == []
    heard = (LOOKED % "08").replace("by: MV", "by: MV, bled: heard")
    assert rises(*log, inspected=heard, service_pressure=None) == [("1600 psi", "0 psi")]


def test_a_look_of_a_month_lies_after_what_was_read_in_it() -> None:
    log = [read("2026-10-15", "1500 psi"), read("2026-11-10", "1600 psi")]
    for month in ("2026-10", "2026-11"):
        looked = f"[{{on: {month}, by: MV, checklist: annual, result: pass}}]"
        assert rises(*log, inspected=looked) == []


@pytest.mark.parametrize(
    ("before", "now", "to", "found"),
    [
        ("20 degF", "120 degF", "1319 psi", False),  # no more than the weather, however warm
        ("20 degF", "120 degF", "1321 psi", True),
        ("70 degF", "70 degF", "1200 psi", False),  # at one temperature, the setting alone
        ("70 degF", "70 degF", "1201 psi", True),
        ("70 degF", None, "1319 psi", False),
        (None, "70 degF", "1319 psi", False),
        ("120 degF", "20 degF", "1028 psi", True),  # it should have fallen
        ("120 degF", "20 degF", "1027 psi", False),
    ],
)
def test_what_the_noted_temperatures_explain(
    before: str | None, now: str | None, to: str, found: bool
) -> None:
    first = {"temperature": before} if before else {}
    second = {"temperature": now} if now else {}
    log = [
        line("2026-11-05", "reading", to="1000 psi", **first),
        line("2026-11-10", "reading", to=to, **second),
    ]
    assert bool(rises(*log)) is found


OUT = "{on: 2026-11-06, to: B-1, back: 2026-11-08, pressure: 600 psi}"


@pytest.mark.parametrize(
    ("isolator", "log", "found"),
    [
        # one pressure of both
        ("open", [], [("1400 psi", "600 psi")]),
        # of one side, and nobody knows of which
        ("shut", [], []),
        # each read by itself that day: the emptier one as the return says
        ("open", [read("2026-11-08", "900 psi"), read("2026-11-08", "600 psi", "B")], [("1400 psi", "900 psi")]),
        ("open", [read("2026-11-08", "900 psi"), read("2026-11-08", "601 psi", "B")], [("900 psi", "600 psi"), ("1400 psi", "900 psi")]),
        ("open", [read("2026-11-08", "900 psi"), read("2026-11-09", "600 psi", "B")], [("900 psi", "600 psi"), ("1400 psi", "900 psi")]),
        ("open", [read("2026-11-08", "900 psi"), line("2026-11-08", "drain", "B", to="600 psi")], [("900 psi", "600 psi"), ("1400 psi", "900 psi")]),
        ("open", [read("2026-11-08", "600 psi", "B")], [("1400 psi", "600 psi")]),
        ("open", [line("2026-11-08", "reading", "B"), read("2026-11-08", "600 psi", "B")], [("1400 psi", "600 psi")]),
    ],
)  # fmt: skip
def test_a_sets_return_says_what_each_side_held(
    isolator: str, log: list[str], found: list[tuple[str, str]]
) -> None:
    sets = {"D": f"cylinders: [A, B]\nisolator: {isolator}\nrented: [{OUT}]"}
    assert rises(KNOWN, *log, read("2026-11-10", "1400 psi"), sets=sets) == found


def test_a_return_that_nobody_read_says_nothing_of_either_side() -> None:
    out = OUT.replace(", pressure: 600 psi", "")
    sets = {"D": f"cylinders: [A, B]\nisolator: open\nrented: [{out}]"}
    log = [KNOWN, read("2026-11-08", "900 psi"), read("2026-11-08", "600 psi", "B")]
    assert rises(*log, sets=sets) == []


def test_a_side_of_two_sets_was_read_apart_in_one_of_them() -> None:
    sets = {"D": f"cylinders: [A, B]\nisolator: open\nrented: [{OUT}]", "E": "cylinders: [A, C]\n"}
    log = [KNOWN, read("2026-11-08", "900 psi"), read("2026-11-08", "600 psi", "B")]
    got = rises(*log, read("2026-11-10", "1400 psi"), sets=sets)
    assert got == [("1400 psi", "900 psi")]


def test_a_side_of_two_sets_is_apart_where_one_of_them_is_shut() -> None:
    shut = "cylinders: [A, B]\nisolator: shut\n"
    sets = {"D": f"cylinders: [A, B]\nisolator: open\nrented: [{OUT}]", "E": shut}
    assert rises(KNOWN, read("2026-11-10", "1400 psi"), sets=sets) == []


def test_a_rental_of_its_own_says_what_it_held_though_its_set_is_shut() -> None:
    sets = {"D": "cylinders: [A, B]\nisolator: shut\n"}
    log = [KNOWN, read("2026-11-10", "1400 psi")]
    assert rises(*log, sets=sets, rented=f"[{OUT}]") == [("1400 psi", "600 psi")]


@pytest.mark.parametrize(
    ("rented", "log", "found"),
    [
        # out since some day of the month, and not back
        ("[{on: 2026-11, to: B-1}]", [KNOWN, read("2026-11-10", "1400 psi")], []),
        ("[{on: 2026-11-06, to: B-1}]", [read("2026-11-01", "1100 psi"), KNOWN, read("2026-11-10", "1400 psi")], []),
        # back in the morning, and read twice that day
        ("[{on: 2026-11, to: B-1, back: 2026-11-12}]", [read("2026-11-12T10", "1000 psi"), read("2026-11-12T15", "1400 psi")], [("1400 psi", "1000 psi")]),
        # on its first day, which is the day it came back
        ("[{on: 2026-11, to: B-1, back: 2026-11-01}]", [read("2026-10-30", "1000 psi"), read("2026-11-01", "1400 psi")], []),
        # out on the day after, and read that day too
        ("[{on: 2026-11-10, to: B-1, back: 2026-11-10}]", [KNOWN, read("2026-11-09", "1400 psi"), read("2026-11-10", "1300 psi")], [("1400 psi", "1000 psi")]),
        # out before it was let down
        ("[{on: 2026-11-02, to: B-1, back: 2026-11-03}]", [read("2026-11-01", "900 psi"), line("2026-11-05", "drain", from_="1000 psi"), read("2026-11-10", "1400 psi")], [("1400 psi", "1000 psi")]),
        # the later return counts, wherever it stands
        ("[{on: 2026-11-07, to: B-2, back: 2026-11-08, pressure: 600 psi}, {on: 2026-11-06, to: B-1, back: 2026-11-07, pressure: 900 psi}]", [KNOWN, read("2026-11-10", "1400 psi")], [("1400 psi", "600 psi")]),
        # one return was read, and one was not
        ("[{on: 2026-11-01, to: B-1, back: 2026-11-02}, {on: 2026-11-06, to: B-2, back: 2026-11-08, pressure: 600 psi}]", [KNOWN, read("2026-11-10", "1400 psi")], [("1400 psi", "600 psi")]),
        (f"[{{on: 2026-11-06, to: B-2, back: 2026-11-08, pressure: 600 psi, {VOID}}}]", [KNOWN, read("2026-11-10", "1300 psi")], []),
    ],
)  # fmt: skip
def test_who_had_it_between_two_readings(
    rented: str, log: list[str], found: list[tuple[str, str]]
) -> None:
    assert rises(*log, rented=rented) == found


def test_a_side_read_at_another_time_than_this_one_is_known_for_itself() -> None:
    early, late = read("2026-11-02", "1800 psi", "B"), read("2026-11-06", "1800 psi", "B")
    together = read("2026-11-10", "1400 psi", "D")
    since = read("2026-11-07", "1000 psi", "D")  # both were
    assert rises(early, KNOWN, since, together, sets=OPEN_SET) == [("1400 psi", "1000 psi")]
    assert rises(early, since, together, sets=OPEN_SET) == [("1400 psi", "1000 psi")]
    unread = line("2026-11-07", "reading", "B")
    for log in (
        [early, KNOWN, together],
        [KNOWN, late, together],
        [early, KNOWN, unread, together],
    ):
        assert rises(*log, sets=OPEN_SET) == []


# --- how far a gauge may err ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "allowed"), [("", "50 psi"), ("60 psi", "60 psi"), ("200.5 psi", "200 psi")]
)
def test_a_gauge_errs_by_no_more_than_that(said: str, allowed: str) -> None:
    station = STATION + (f"gauge_error: {said}\n" if said else "")
    assert str(gauge_error(make_book({"A": GOOD}, station=station))) == allowed
    assert str(gauge_error(make_book({"A": GOOD}, station=None))) == "50 psi"


@pytest.mark.parametrize(
    ("over", "by", "above"),
    [(0.0009, None, False), (0.00107, None, True), (50.0009, 50, False), (50.00107, 50, True)],
)
def test_above_is_above_by_more_than_a_hair(over: float, by: float | None, above: bool) -> None:
    most = GaugePressure.of(3000, "psi")
    allowed = GaugePressure.of(by, "psi") if by else None
    assert is_above(GaugePressure.of(3000 + over, "psi"), most, allowed) is above


FILLED_D = fill("2026-11-05", "D")
DRAINED_A = line("2026-11-12", "drain", from_="3000 psi", to="0 psi")


@pytest.mark.parametrize(
    ("of_set", "log", "found"),
    [
        ("open", [FILLED_D, DRAINED_A], [("A", "0 psi")]),
        ("none", [FILLED_D, DRAINED_A], [("A", "0 psi")]),
        ("shut", [FILLED_D, DRAINED_A], []),
        ("open", [FILLED_D, read("2026-11-12", "900 psi", "B")], [("B", "900 psi")]),
        ("open", [fill("2026-11-05", "D", to="900 psi"), read("2026-11-12", "2800 psi")], [("A", "2800 psi")]),
        # the weather, and what the set was read at since
        ("open", [FILLED_D, read("2026-11-12", "2800 psi")], []),
        ("open", [FILLED_D, DRAINED_A, line("2026-11-13", "drain", "D", to="0 psi")], []),
        ("open", [DRAINED_A, fill("2026-11-13", "D")], []),
        # while it was not made up, a side stood by itself
        ("open\nmade_up: [{on: 2026-11-01, by: MV, apart: 2026-11-08}, {on: 2026-11-14, by: MV}]", [FILLED_D, DRAINED_A], []),
    ],
)  # fmt: skip
def test_a_side_that_reads_otherwise_than_its_set_is_told(
    of_set: str, log: list[str], found: list[tuple[str, str]]
) -> None:
    book = book_of(*log, sets={"D": SET % of_set})
    told = [(side, str(n.to)) for side, n, _ in read_otherwise(book, book.sets["D"])]
    assert told == found
    warned = "side-reads-otherwise" in {r.code for r in may_fill(book, "D", TODAY).warnings}
    assert warned is bool(found)


@pytest.mark.parametrize("of_set", ["open", "none", ""])
@pytest.mark.parametrize(
    ("log", "whole", "apart"),
    [
        # each side read since: what they show is the set's, and nothing is against it
        ([FILLED_D, read("2026-11-12", "900 psi"), read("2026-11-13", "900 psi", "B")], ("air", "900 psi"), False),
        ([FILLED_D, read("2026-11-12", "0 psi"), read("2026-11-13", "0 psi", "B")], (None, "0 psi"), False),
        ([read("2026-11-12", "900 psi"), read("2026-11-13", "850 psi", "B")], (None, "850 psi"), False),
        # one side, through an isolator that is not known to be shut
        ([FILLED_D, read("2026-11-12", "900 psi", "B")], ("air", "900 psi"), True),
        ([FILLED_D, read("2026-11-12", "2900 psi")], ("air", "2900 psi"), False),
        # as two: the lower counts, whichever was read first
        # fuller than the other was before: somebody filled it, or its isolator was shut
        ([FILLED_D, read("2026-11-12", "900 psi"), read("2026-11-13", "2500 psi", "B")], (None, "900 psi"), True),
        ([FILLED_D, read("2026-11-12", "2500 psi", "B"), read("2026-11-13", "900 psi")], ("air", "900 psi"), True),
        ([read("2026-11-12", "2500 psi", "B"), read("2026-11-13", "900 psi")], (None, "900 psi"), True),
        # fuller than any was: somebody filled it with what nobody wrote down
        ([fill("2026-11-05", "D", to="900 psi"), read("2026-11-12", "2900 psi")], (None, "2900 psi"), True),
        # another gas in one of them is the set's no longer
        ([FILLED_D, line("2026-11-12", "reading", to="900 psi", o2="40 %", analysed_by="MV")], (None, "900 psi"), True),
        # what was read before, or what the set was read at or filled to since, is none of it
        ([read("2026-11-04", "900 psi"), FILLED_D], ("air", "3000 psi"), False),
        ([FILLED_D, read("2026-11-12", "900 psi"), read("2026-11-13", "800 psi", "D")], ("air", "800 psi"), False),
        ([FILLED_D, read("2026-11-12T10", "900 psi", "D"), read("2026-11-12T09", "1500 psi")], ("air", "900 psi"), False),
        # of one side of a set that nothing else is known of, nothing is
        ([read("2026-11-12", "900 psi")], (None, None), False),
    ],
)  # fmt: skip
def test_a_set_holds_what_its_sides_were_last_read_at(
    of_set: str, log: list[str], whole: tuple[str | None, str | None], apart: bool
) -> None:
    text = SET % of_set if of_set else "\n".join(
        row for row in SET.splitlines() if "isolator" not in row
    )  # fmt: skip
    book = book_of(*sorted(log), sets={"D": text})
    assert held(book, "D") == whole
    assert is_told_by_sides(book, book.sets["D"]) is apart
    warned = "side-reads-otherwise" in {r.code for r in may_fill(book, "D", TODAY).warnings}
    assert warned is apart


@pytest.mark.parametrize("order", [*permutations(range(4))])
@pytest.mark.parametrize("stands", ["open", "none", "shut"])
def test_a_set_is_never_told_by_a_reading_older_than_the_newest(
    stands: str, order: tuple[int, ...]
) -> None:
    """A law over readings of a set and its sides in any order: the pressure of the set is that of
    the last reading of all, or the lower of those of the sides."""
    names, shown = "DABD", (2400, 1800, 1200, 600)
    lines = [
        read(f"2026-11-{day}", f"{shown[day - 11]} psi", names[who])
        for day, who in enumerate(order, 11)
    ]
    book = book_of(fill("2026-11-05", "D"), *lines, sets={"D": SET % stands})
    assert held(book, "D")[1] == "600 psi"


@pytest.mark.parametrize(
    ("of_set", "drained", "days"),
    [
        ("open", DRAINED_A, []),
        ("open\nisolator_since: 2026-11-11", DRAINED_A, []),
        # drained while it was shut, or may have been
        ("open\nisolator_since: 2026-11-12", DRAINED_A, [13]),
        ("shut", DRAINED_A, [13]),
        ("open", DRAINED_A.replace("to=0 psi", "to=500 psi"), [13]),
        ("open", read("2026-11-12", "0 psi"), [13]),
    ],
)
def test_who_drained_one_side_through_an_open_isolator_drained_both(
    of_set: str, drained: str, days: list[int]
) -> None:
    log = [FILLED_D, drained, fill("2026-11-13", "D", from_="0 psi")]
    book = book_of(*log, sets={"D": SET % of_set})
    assert [day.day for day in begun_empty(book, book.cylinders["B"])] == days


SHUT_12 = "shut\nisolator_since: 2026-11-12"
EMPTIED = line("2026-11-12T08", "drain", cylinder="D", to="0 psi")
NOT_KNOWN, NOTHING_IN_IT = ("None", "None"), ("None", "0 psi")


@pytest.mark.parametrize(
    ("of_set", "log", "a"),
    [
        # filled at ten: before it was shut, after, or nobody knows
        (f"{SHUT_12}\nisolator_at: 11:00", [EMPTIED, MIX_B], ("nitrox32", "2800 psi")),
        (f"{SHUT_12}\nisolator_at: 09:00", [EMPTIED, MIX_B], NOTHING_IN_IT),
        (f"{SHUT_12}\nisolator_at: 10:00", [EMPTIED, MIX_B], NOT_KNOWN),
        (SHUT_12, [EMPTIED, MIX_B], NOT_KNOWN),
        (SHUT_12, [AIR_5, MIX_B], NOT_KNOWN),
        # the pressure is known again once it is read, not the gas; both once it is emptied or filled
        (SHUT_12, [AIR_5, MIX_B, read("2026-11-13", "2750 psi")], ("None", "2750 psi")),
        (SHUT_12, [EMPTIED, MIX_B, read("2026-11-13", "2750 psi")], ("None", "2750 psi")),
        (SHUT_12, [MIX_B, read("2026-11-13", "0 psi")], NOTHING_IN_IT),
        (SHUT_12, [MIX_B, fill("2026-11-13", from_="0 psi")], ("air", "3000 psi")),
        (SHUT_12, [MIX_B, fill("2026-11-13", from_="900 psi")], ("None", "3000 psi")),
        (SHUT_12, [MIX_B, fill("2026-11-13")], ("None", "3000 psi")),
        (SHUT_12.replace("12", "11"), [EMPTIED, MIX_B], NOTHING_IN_IT),
    ],
)
def test_of_the_day_an_isolator_was_shut_the_other_side_is_never_what_it_was_before(
    of_set: str, log: list[str], a: tuple[str, str]
) -> None:
    book = book_of(*log, sets={"D": SET % of_set})
    contents = contents_of(book, "A")
    assert (str(contents.gas), str(contents.pressure)) == a
    if a == NOT_KNOWN:
        whole = contents_of(book, "D")
        assert (whole.gas, whole.pressure) == (None, None)
    assert (
        rises(*log, sets={"D": SET % of_set}) == []
    )  # nothing that is read of it is called a rise without a fill


HEARD = "valve_work: [{on: 2026-11-15, by: MV, did: serviced, bled: heard}]\n"


@pytest.mark.parametrize(
    ("stands", "worked", "more", "whole", "told"),
    [
        ("open", "A", "", (None, None), True),
        ("none", "A", "", (None, None), True),
        ("open", "B", "", (None, None), True),
        ("open", "AB", "", (None, "0 psi"), False),
        ("open", "", "", ("air", "3000 psi"), False),
        ("shut", "A", "", (None, "0 psi"), False),  # each by itself
        # the other side was let out too, or the set was read or filled since
        ("open", "A", line("2026-11-16", "drain", "B", to="0 psi"), (None, "0 psi"), False),
        ("open", "A", fill("2026-11-16", "D", from_="0 psi"), ("air", "3000 psi"), False),
    ],
)
def test_a_set_of_which_work_emptied_one_side_is_not_known_to_be_empty(
    stands: str, worked: str, more: str, whole: tuple[str | None, str | None], told: bool
) -> None:
    cards = {n: with_lines(GOOD, serial=f"K{n}") + HEARD * (n in worked) for n in "AB"}
    log = "\n".join(filter(None, (FILLED_D, more)))
    book = make_book(cards, sets={"D": SET % stands}, log=log)
    assert held(book, "D") == whole
    warned = [
        r.text for r in may_fill(book, "D", TODAY).warnings if r.code == "side-reads-otherwise"
    ]
    assert bool(warned) is told
    assert all("what D holds is not known" in text for text in warned)
    assert is_told_by_sides(book, book.sets["D"]) is (told or stands == "shut")


GAS_THAT_DAY = (fill("2026-10-20"), read("2026-11-08T09", "1000 psi"))


@pytest.mark.parametrize(
    ("log", "looked", "asked"),
    [
        # the gas was let out for the look, before that reading or after it
        ((*GAS_THAT_DAY, read("2026-11-08T15", "0 psi")), "", False),
        ((*GAS_THAT_DAY, read("2026-11-08T15", "0 psi")), "12:00", False),
        ((*GAS_THAT_DAY, read("2026-11-08T15", "0 psi")), "16:00", False),
        ((*GAS_THAT_DAY, read("2026-11-08T15", "0 psi")), "08:00", True),
        ((*GAS_THAT_DAY, read("2026-11-09", "0 psi")), "", False),
        # what was filled that day may have been looked into before
        ((fill("2026-11-08T09"), read("2026-11-08T15", "0 psi")), "", True),
        ((fill("2026-11-08T09"), read("2026-11-08T15", "0 psi")), "12:00", False),
        ((fill("2026-11-08T09"), read("2026-11-08T15", "0 psi")), "16:00", False),
        # and what was read fuller on a later day
        ((*GAS_THAT_DAY, read("2026-11-09", "900 psi"), read("2026-11-10", "0 psi")), "", True),
    ],
)
@pytest.mark.parametrize("away", [False, True])
def test_a_look_inside_of_the_day_on_which_it_is_read_empty_is_asked_for_once(
    log: tuple[str, ...], looked: str, asked: bool, away: bool
) -> None:
    """Unless it was away as well that day, and nobody says which was first."""
    hour = f", at: '{looked}'" if looked else ""
    looks = f"[{{on: 2026-11-08{hour}, by: MV, checklist: internal, result: pass}}]"
    rented = "[{on: 2026-11-08, to: B-1, back: 2026-11-08, pressure: 500 psi, valve: closed}]"
    book = book_of(*log, inspected=looks, **({"rented": rented} if away else {}))
    answer = may_fill(book, "A", TODAY, Gas.parse("air"), station=False)
    said = any("not been looked inside" in r.text for r in answer.refusals)
    assert said is (asked or (away and not looked))


OF_SIDES = (fill("2026-10-20"), fill("2026-10-20", "B"))
MADE_UP = "made_up: [{on: 2026-11-05, by: MV, at: '08:00', bled: heard}]\n"


@pytest.mark.parametrize(
    ("log", "gas"),
    [
        # what came in unlogged is unknown in either side and in the set, topped or not
        ([read("2026-11-06", "2000 psi", "D")], None),
        ([read("2026-11-06", "2000 psi", "D"), fill("2026-11-07", "D", from_="2000 psi")], None),
        ([fill("2026-11-07", "D", from_="0 psi")], "air"),
        ([read("2026-11-06", "2000 psi", "D"), fill("2026-11-07", "D", from_="0 psi")], "air"),
        (
            [
                read("2026-11-06", "2000 psi", "D"),
                fill("2026-11-07", "D", from_="2000 psi", o2="20.9 %", analysed_by="MV"),
            ],
            "air",
        ),
    ],
)
def test_a_set_and_its_sides_tell_one_gas(log: list[str], gas: str | None) -> None:
    book = book_of(*OF_SIDES, *log, sets={"D": f"cylinders: [A, B]\nisolator: open\n{MADE_UP}"})
    assert {held(book, id_)[0] for id_ in ("D", "A", "B")} == {gas}


LETS_OUT = {
    "valve": {"valve_work": OFF % ("07", "heard")},
    "clean": {"cleaned": CLEANED % ("07", "heard")},
    "look": {"inspected": (LOOKED % "07").replace("by: MV", "by: MV, bled: heard")},
    "drain": {},
    "made up": {},
}


@pytest.mark.parametrize("work", LETS_OUT)
@pytest.mark.parametrize("whose", ["A", "D"])
@pytest.mark.parametrize("to", ["2900 psi", "1600 psi", "300 psi"])
@pytest.mark.parametrize("way", ["read", "side", "begun", "analysed"])
@pytest.mark.parametrize("seen_before", [False, True])
def test_what_was_let_out_is_never_taken_up_again(
    work: str, whose: str, to: str, way: str, seen_before: bool
) -> None:
    """Whatever let the gas out, however much is read of it then, and of what: without a fill between
    nobody knows what that is, on a side and on its set, and neither may be filled or lent as it."""
    if (work == "made up" or way == "side") and whose == "A":
        return
    both = whose == "D"
    filled = [fill("2026-11-05", x, gas="nitrox32", o2="32 %", analysed_by="MV") for x in "AB"]
    filled += [read("2026-11-06", "3000 psi", x) for x in "AB"] if seen_before else []
    drained = [line("2026-11-07", "drain", x, to="0 psi") for x in "AB"] if work == "drain" else []
    own = "A" if way == "side" else whose
    seen = {
        "read": read("2026-11-10", to, whose),
        "side": read("2026-11-10", to, "A"),
        "begun": fill("2026-11-10", whose, from_=to, to="3100 psi", gas="nitrox32"),
        "analysed": read("2026-11-10", to, whose) + "; o2=32 %; analysed_by=MV",
    }[way]
    made = "made_up: [{on: 2026-11-07, by: MV, at: '08:00', bled: heard}]\n"
    stands = "cylinders: [A, B]\nisolator: open\n" + (made if work == "made up" else "")
    cards = {
        "A": with_lines(GOOD, **LETS_OUT[work]),
        "B": with_lines(GOOD, serial="K2", **(LETS_OUT[work] if both else {})),
    }
    sets = {"D": stands} if both else None
    book = make_book(cards, sets=sets, log="\n".join([*filled, *drained, seen]))
    for id_ in ("A", "D") if both else ("A",):
        answer = may_fill(book, id_, TODAY, Gas.parse("nitrox32"), station=False)
        told = {r.code for r in answer.refusals} & {"unexplained-contents"}
        assert told, (id_, own)
        if way != "analysed":
            assert held(book, id_)[0] is None, id_


@pytest.mark.parametrize("to", ["2900 psi", "600 psi", "300 psi"])
@pytest.mark.parametrize(
    "work",
    [
        {"sent": "[{on: 2026-11-06, for: requalification, to: T-1, back: 2026-11-08}]"},
        {"sent": "[{on: 2026-11-06, for: repair, to: T-1, back: 2026-11-08}]"},
        {"requalified": "[{on: 2026-11-07, method: hydrostatic, by: T123}]"},
    ],
)
def test_what_comes_back_with_gas_holds_none_of_before(work: dict[str, str], to: str) -> None:
    """As somebody there may have filled it, it is no fault; and nobody knows with what."""
    mix = fill("2026-11-05", gas="nitrox32", o2="32 %", analysed_by="MV")
    assert held(book_of(mix, read("2026-11-10", to), **work)) == (None, to)
