"""A fill on another gas, and what an analysis has to show: just at each bound, and just beside it.

The cylinders, people and dates are invented. The bounds are the module's own, which says of each
where it comes from.
"""

from __future__ import annotations

import datetime as dt

import pytest
from books import log_lines
from loglines import book_of, fill, held, line, read, rises

from tankbook.gas import Gas
from tankbook.records.log import LogLine
from tankbook.rules.checks import check
from tankbook.rules.contents import (
    AIR_SHARE,
    READ_ALIKE,
    gas_readings_of,
    is_analysis,
)
from tankbook.rules.mixed import (
    _REAL,
    _came_back_empty,
    _is_possible,
    _Made,
    _made_by,
    _makes_another,
    mix_of,
)
from tankbook.units import GaugePressure

JO = {"analysed_by": "JO"}
DOUBLES = {"D": "cylinders: [A, B]\nisolator: open"}
OXYGEN = fill("2026-11-03", gas="oxygen", to="1000 psi")
AIR_ON = fill("2026-11-05", from_="1000 psi")
FOUND = "05 oxygen"


def analysed(on: str, o2: str, act: str = "reading", **cells: str) -> str:
    return line(on, act, **{"o2": f"{o2} %", **JO, **cells})


def mixed(*log: str, sets: dict[str, str] | None = None, **changes: str | None) -> str | None:
    """The day of November of the fill that was found, and the gas it was put on."""
    book = book_of(*log, sets=sets, **changes)
    found = mix_of(book, book.cylinders["A"]).unanalysed
    return f"{found[0].at:%d} {found[1]}" if found else None


def one(**cells: str) -> LogLine:
    (made,) = log_lines(line("2026-11-05", cells.pop("act", "fill"), **cells))
    return made


def gas(word: str | None) -> Gas | None:
    return Gas.parse(word) if word else None


def psi(read: float | None) -> GaugePressure | None:
    return None if read is None else GaugePressure.of(read, "psi")


# --- whether a line is an analysis ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "others", "is_one"),
    [
        ({"o2": "32 %"}, (), True),
        ({"o2": "32 %", "gas": "nitrox32"}, ("air", None), True),
        ({}, (), False),
        ({"he": "45 %"}, ("trimix18/45",), False),  # the oxygen was not read
        ({"o2": "18 %", "gas": "trimix18/45"}, (), False),
        ({"o2": "18 %", "gas": "trimix18/45", "he": "45 %"}, (), True),
        ({"o2": "18 %", "gas": "trimix18/45", "he": "0 %"}, (), True),
        ({"o2": "20 %", "gas": "trimix20/1"}, (), False),  # so little helium too
        ({"o2": "20 %", "gas": "trimix20/0.5"}, (), False),
        ({"o2": "32 %", "gas": "air"}, (None, "trimix18/45"), False),  # it was put on some
        ({"o2": "32 %", "analysed_by": ""}, (), False),
        ({"o2": "32 %", "analysed_by": "nobody"}, (), False),
        ({"o2": "32 %", "analysed_by": "a mate"}, (), False),
        ({"o2": "32 %", "analysed_by": "?"}, (), False),
    ],
)
def test_an_analysis_says_what_and_by_whom(
    cells: dict[str, str], others: tuple[str | None, ...], is_one: bool
) -> None:
    assert is_analysis(one(**{**JO, **cells}), *map(gas, others)) is is_one


# --- whether what was left makes another gas of a fill -------------------------------------------


@pytest.mark.parametrize(
    ("was", "left", "cells", "another"),
    [
        ("oxygen", 1000, {"to": "3000 psi", "gas": "air"}, True),
        ("oxygen", 1000, {"to": "3000 psi"}, False),  # nobody says what it is to be
        ("oxygen", 1000, {"to": "3000 psi", "gas": "oxygen"}, False),
        ("oxygen", None, {"to": "3000 psi", "gas": "air"}, False),
        # a breath of it: 79.04 % more oxygen, of which READ_ALIKE is 1/52.69
        ("oxygen", 57, {"to": "3000 psi", "gas": "air"}, True),
        ("oxygen", 56, {"to": "3000 psi", "gas": "air"}, False),
        # EMPTY, however much of the whole that is
        ("oxygen", 15, {"to": "30 psi", "gas": "air"}, True),
        ("oxygen", 14.9, {"to": "30 psi", "gas": "air"}, False),
        # READ_ALIKE, where nobody says how much was put on it
        ("nitrox32", 1000, {"gas": "nitrox33.5"}, False),
        ("nitrox32", 1000, {"gas": "nitrox33.51"}, True),
        ("nitrox32", 1000, {"gas": "nitrox30.5"}, False),
        ("nitrox32", 1000, {"gas": "nitrox30.49"}, True),
        # no more than all of it is left, whatever the pressures say
        ("nitrox32", 1000, {"to": "500 psi", "gas": "nitrox33"}, False),
        ("nitrox32", 1000, {"to": "500 psi", "gas": "nitrox34"}, True),
        ("nitrox32", 1000, {"to": "1000 psi", "gas": "nitrox33.5"}, False),
        ("nitrox32", 1000, {"to": "1001 psi", "gas": "nitrox33.51"}, True),
        # helium tells as well, more of it or less, and only what differs
        ("trimix21/35", 1000, {"to": "3000 psi", "gas": "nitrox21"}, True),
        ("nitrox21", 1000, {"to": "3000 psi", "gas": "trimix21/35"}, True),
        ("trimix18/45", 1000, {"to": "3000 psi", "gas": "trimix19/45"}, False),
        ("trimix18/45", 1000, {"gas": "trimix18/46.5"}, False),
        ("trimix18/45", 1000, {"gas": "trimix18/46.51"}, True),
    ],
)
def test_what_was_left_makes_another_gas(
    was: str, left: float | None, cells: dict[str, str], another: bool
) -> None:
    assert _makes_another(Gas.parse(was), psi(left), one(**cells)) is another


# --- how much oxygen gases can hold that were put on each other ----------------------------------
LEAN = (one(gas="nitrox18"), Gas.parse("nitrox32"))
ON_LEAN = (one(gas="nitrox32"), Gas.parse("nitrox18"))
ON_HELIUM = (one(gas="nitrox32"), Gas.parse("trimix18/45"))


@pytest.mark.parametrize(
    ("cells", "was", "found", "possible"),
    [
        ({}, "air", None, True),  # nothing was read
        ({"o2": f"{AIR_SHARE - READ_ALIKE} %"}, "oxygen", None, True),
        ({"o2": f"{AIR_SHARE - READ_ALIKE - 0.1} %"}, "oxygen", None, False),
        ({"o2": f"{AIR_SHARE - READ_ALIKE - 0.1} %"}, None, None, False),
        ({"o2": "16.5 %"}, "nitrox18", None, True),
        ({"o2": "16.4 %"}, "nitrox18", None, False),
        ({"o2": "16.5 %"}, "nitrox32", LEAN, True),
        ({"o2": "16.4 %"}, "nitrox32", LEAN, False),
        ({"o2": "16.5 %"}, "nitrox32", ON_LEAN, True),
        ({"o2": "16.4 %"}, "nitrox32", ON_LEAN, False),
        # helium leaves less room for oxygen
        ({"o2": "16.4 %", "he": "0 %"}, "nitrox18", None, True),
        ({"o2": "10 %"}, "trimix18/45", None, True),
        ({"o2": "10 %"}, "nitrox32", ON_HELIUM, True),
        ({"o2": "10 %"}, "nitrox32", (one(gas="trimix18/45"), Gas.parse("air")), True),
    ],
)
def test_no_less_oxygen_than_the_poorest_of_them(
    cells: dict[str, str], was: str | None, found: tuple[LogLine, Gas] | None, possible: bool
) -> None:
    assert _is_possible(one(**cells), gas(was), found) is possible


# --- what a mix is made of -----------------------------------------------------------------------


def test_what_it_was_is_a_share_of_what_it_becomes() -> None:
    once = _Made(32.0, 16.0).topped(0.5)
    assert once == _Made(16.0, 8.0, 50.0)
    assert once.topped(0.25) == _Made(4.0, 2.0, 87.5)
    assert once.topped(1.0) == once


def test_of_a_gas_that_is_named_it_is_known_what_came_in() -> None:
    half = _Made(32.0, 16.0).topped(0.5, Gas.parse("trimix40/20"))
    assert half == _Made(36.0, 18.0, 0.0, 30.0)
    # what more oxygen there may be is a share of what there might have been, too
    assert half.topped(0.25, Gas.parse("oxygen")) == _Made(84.0, 4.5, 0.0, 7.5)
    assert half.topped(0.5, Gas.parse("nitrox40")) == _Made(38.0, 9.0, 0.0, 45.0)
    assert half.topped(0.5) == _Made(18.0, 9.0, 50.0, 15.0)


AS_IT_WAS = _Made(32.0, 20.0)
HALF_ADDED = _Made(10.0, 20.0, 50.0)
SOME_ADDED = _Made(10.0, 20.0, 2.0)
NAMED = _Made(30.0, 0.0, 0.0, 50.0)
NAMED_MORE = _Made(30.0, 0.0, 10.0, 50.0)
HARDLY_MORE = _Made(30.0, 0.0, 0.0, 5.0)


@pytest.mark.parametrize(
    ("made", "o2", "he", "may"),
    [
        (AS_IT_WAS, None, "90", True),  # the oxygen was not read
        # nothing was added: it is as it was, to _REAL
        (AS_IT_WAS, "26", "20", True),
        (AS_IT_WAS, "25.9", "20", False),
        (AS_IT_WAS, "38", "20", True),
        (AS_IT_WAS, "38.1", "20", False),
        (AS_IT_WAS, "32", "14", True),
        (AS_IT_WAS, "32", "13.9", False),
        (AS_IT_WAS, "32", "26", True),
        (AS_IT_WAS, "32", "26.1", False),
        (AS_IT_WAS, "32", None, False),  # no helium was read: then it has none
        (_Made(32.0, 6.0), "32", None, True),
        (_Made(32.0, 6.1), "32", None, False),
        # what was added may all be oxygen
        (HALF_ADDED, "66", "20", True),
        (HALF_ADDED, "66.1", "20", False),
        # or air: 10 + 50 x 20.9 % - 6 = 14.45
        (HALF_ADDED, "14.5", "20", True),
        (HALF_ADDED, "14.4", "20", False),
        (HALF_ADDED, "14.5", "15", True),  # less helium than it had is no more air
        (HALF_ADDED, "14.4", "15", False),
        # or helium, and the rest of it air: 10 + 25 x 20.9 % - 6 = 9.225
        (HALF_ADDED, "9.3", "45", True),
        (HALF_ADDED, "9.2", "45", False),
        (HALF_ADDED, "10", "76", True),
        (HALF_ADDED, "10", "76.1", False),
        # more helium than was added leaves no air, and takes no oxygen from what was there
        (SOME_ADDED, "4", "25", True),
        (SOME_ADDED, "3.9", "25", False),
        # helium that nobody wrote down took the place of what is named: 30 - 20 - 6 = 4
        (NAMED, "24", "0", True),
        (NAMED, "23.9", "0", False),
        (NAMED, "4", "20", True),
        (NAMED, "3.9", "20", False),
        # but first of what is not: 30 - (25 - 10) - 6 = 9
        (NAMED_MORE, "9", "25", True),
        (NAMED_MORE, "8.9", "25", False),
        # and no more of it than there was: 30 - 5 - 6 = 19
        (HARDLY_MORE, "19", "10", True),
        (HARDLY_MORE, "18.9", "10", False),
        (HARDLY_MORE, "30", "11", True),
        (HARDLY_MORE, "30", "11.1", False),
        (HARDLY_MORE, "41", "0", True),
        (HARDLY_MORE, "41.1", "0", False),
    ],
)
def test_what_a_mix_may_be(made: _Made, o2: str | None, he: str | None, may: bool) -> None:
    assert _REAL == 6
    cells = {name: f"{value} %" for name, value in (("o2", o2), ("he", he)) if value}
    assert made.may_be(one(**cells)) is may


BEFORE = _Made(40.0, 8.0, 12.0)
ON_NITROX = _Made(16.0, 0.0, 50.0)


@pytest.mark.parametrize(
    ("cells", "made", "was", "left", "now"),
    [
        # only a fill changes it
        ({"act": "reading", "to": "900 psi"}, BEFORE, "nitrox32", 1000, BEFORE),
        ({"act": "drain", "to": "0 psi"}, None, "nitrox32", 1000, None),
        # begun empty it is what was filled
        ({"to": "2000 psi", "gas": "trimix18/45"}, BEFORE, "air", 14.9, _Made(18.0, 45.0)),
        ({"gas": "oxygen"}, None, None, 0, _Made(100.0, 0.0)),
        ({"to": "2000 psi"}, BEFORE, "air", 14.9, None),
        ({"to": "30 psi", "gas": "air"}, None, "nitrox32", 15, ON_NITROX),
        # put on what is known to be in it
        ({"to": "2000 psi", "gas": "air"}, None, "nitrox32", 1000, ON_NITROX),
        ({"to": "2000 psi"}, None, "trimix18/45", 1000, _Made(9.0, 22.5, 50.0)),
        ({"to": "2000 psi", "gas": "air"}, BEFORE, "nitrox32", 1000, _Made(20.0, 4.0, 56.0)),
        ({"to": "2000 psi", "gas": "air"}, BEFORE, None, 1000, _Made(20.0, 4.0, 56.0)),
        ({"to": "2000 psi", "gas": "air"}, None, None, 1000, None),
        # its pressures do not say
        ({"to": "2000 psi", "gas": "air"}, BEFORE, "nitrox32", None, None),
        ({"gas": "air"}, BEFORE, "nitrox32", 1000, None),
        ({"to": "1000 psi", "gas": "air"}, BEFORE, "nitrox32", 1000, None),
        ({"to": "900 psi", "gas": "air"}, BEFORE, "nitrox32", 1000, None),
    ],
)
def test_what_a_line_makes_of_a_mix(
    cells: dict[str, str],
    made: _Made | None,
    was: str | None,
    left: float | None,
    now: _Made | None,
) -> None:
    assert _made_by(one(**cells), made, gas(was), psi(left)) == now


# --- the fill that was begun on another gas ------------------------------------------------------


@pytest.mark.parametrize(
    ("log", "found"),
    [
        ([], None),
        ([AIR_ON], None),  # nothing is known of what was in it
        ([OXYGEN], None),
        ([OXYGEN, AIR_ON], FOUND),
        ([AIR_ON, OXYGEN], FOUND),  # by their time
        ([fill("2026-11-05T15", from_="1000 psi"), OXYGEN.replace("11-03", "11-05")], FOUND),
        # what nobody read is what was known
        ([OXYGEN, fill("2026-11-05")], FOUND),
        ([OXYGEN, read("2026-11-04", "40 psi"), fill("2026-11-05")], None),
        ([OXYGEN, line("2026-11-04", "drain"), fill("2026-11-05")], FOUND),
        ([fill("2026-11-03", gas="oxygen", to=""), fill("2026-11-05")], None),
        # a reading without a gas leaves it as it was, and none puts one gas on another
        ([OXYGEN, read("2026-11-04", "900 psi"), AIR_ON], FOUND),
        ([fill("2026-11-03"), line("2026-11-04", "reading", to="2900 psi", gas="oxygen")], None),
        # EMPTY before it
        ([OXYGEN, read("2026-11-04", "15 psi"), fill("2026-11-05", to="150 psi")], FOUND),
        ([OXYGEN, read("2026-11-04", "14.9 psi"), AIR_ON], None),
        # a later fill
        ([OXYGEN, AIR_ON, fill("2026-11-07", from_="2000 psi")], FOUND),
        ([OXYGEN, AIR_ON, fill("2026-11-07", gas="nitrox32", from_="2000 psi")], "07 air"),
        ([OXYGEN, AIR_ON, fill("2026-11-07", from_="15 psi")], FOUND),
        ([OXYGEN, AIR_ON, fill("2026-11-07", from_="14.9 psi")], None),
        # only a fill begins anew
        ([OXYGEN, AIR_ON, line("2026-11-07", "reading", from_="0 psi", to="2900 psi")], FOUND),
        ([OXYGEN, AIR_ON, line("2026-11-07", "drain", from_="0 psi")], FOUND),
        # or what leaves it empty
        ([OXYGEN, AIR_ON, line("2026-11-07", "drain", to="14.9 psi")], None),
        ([OXYGEN, AIR_ON, line("2026-11-07", "drain", to="15 psi")], FOUND),
    ],
)
def test_a_fill_on_another_gas(log: list[str], found: str | None) -> None:
    assert mixed(*log) == found


@pytest.mark.parametrize(
    ("reading", "found"),
    [
        # a third is oxygen, the rest at least air: 33.33 + 66.67 x 20.9 % - 6 = 41.27
        (analysed("2026-11-06", "42"), None),
        (analysed("2026-11-06", "41.2"), FOUND),
        (line("2026-11-06", "reading", o2="42 %"), FOUND),
        (analysed("2026-11-06", "42", analysed_by="nobody"), FOUND),
        (analysed("2026-11-04", "42"), FOUND),  # before it
        (analysed("2026-11-06", "42", gas="trimix42/10"), FOUND),
    ],
)
def test_an_analysis_answers_for_it(reading: str, found: str | None) -> None:
    assert mixed(OXYGEN, AIR_ON, reading) == found
    # nor does a look at the gauge before it make it more
    assert mixed(OXYGEN, read("2026-11-03T15", "1000 psi"), AIR_ON, reading) == found


@pytest.mark.parametrize(
    ("cells", "found"),
    [
        ({"he": "15 %"}, None),
        ({}, "05 trimix18/45"),  # what was in it had helium
        ({"he": "8.9 %"}, "05 trimix18/45"),
    ],
)
def test_of_helium_only_an_analysis_of_it_answers(cells: dict[str, str], found: str | None) -> None:
    before = fill("2026-11-03", gas="trimix18/45", to="1000 psi")
    assert mixed(before, AIR_ON, analysed("2026-11-06", "20", **cells)) == found


@pytest.mark.parametrize(
    "reading",
    [
        line("2026-11-06", "reading", o2="10 %"),  # nobody says who read it
        analysed("2026-11-06", "10"),  # it cannot be
    ],
)
def test_a_sample_that_does_not_answer_changes_nothing(reading: str) -> None:
    assert mixed(OXYGEN, AIR_ON, reading) == FOUND
    assert mixed(OXYGEN, AIR_ON, reading, analysed("2026-11-07", "42")) is None


@pytest.mark.parametrize(
    ("was", "o2", "he", "found"),
    [
        # 50 % before, and 60 % of it air: 20 + 60 x 20.9 % - 6 = 26.54 at the least
        (None, "26.6", "0", None),
        (None, "26.5", "0", "07 nitrox50"),
        # or helium: 60 + 6 at the most
        (None, "20", "65.9", None),
        (None, "20", "66.1", "07 nitrox50"),
        # of 20 % helium 8 are left: 8 - 6 at the least
        ("20", "40", "2.1", None),
        ("20", "40", "1.9", "07 nitrox50"),
    ],
)
def test_from_an_analysis_on_it_is_what_was_analysed(
    was: str | None, o2: str, he: str, found: str | None
) -> None:
    helium = {"he": f"{was} %"} if was else {}
    sample = analysed("2026-11-06", "50", gas="nitrox50", to="1200 psi", **helium)
    last = fill("2026-11-07", o2=f"{o2} %", he=f"{he} %", **JO)
    assert mixed(OXYGEN, AIR_ON, sample, last) == found


def test_what_was_never_looked_inside_is_held_to_its_log_all_the_same() -> None:
    bare = {"requalified": None, "inspected": None}
    for o2, found in (("42", None), ("41.2", FOUND)):
        assert mixed(OXYGEN, AIR_ON, analysed("2026-11-06", o2), **bare) == found


# --- emptied meanwhile ---------------------------------------------------------------------------


def work_of(on: str) -> str:
    return f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{on: {on}, method: hydrostatic, by: T1}}]"


@pytest.mark.parametrize(
    ("on", "found"),
    [
        ("2026-11-03", FOUND),  # the fill of that day came after it
        ("2026-11-04", None),
        ("2026-11-05", None),
        ("2026-11-06", None),
    ],
)
def test_work_that_lets_the_gas_out(on: str, found: str | None) -> None:
    assert mixed(OXYGEN, AIR_ON, requalified=work_of(on)) == found


def test_two_fills_of_the_day_of_the_work() -> None:
    log = [OXYGEN.replace("11-03", "11-05"), fill("2026-11-05T15", from_="1000 psi")]
    assert mixed(*log, requalified=work_of("2026-11-05")) == FOUND
    assert mixed(*log, requalified=work_of("2026-11-06")) is None


EMPTYINGS = [
    ([read("2026-11-06", "0 psi")], {}),
    ([], {"requalified": work_of("2026-11-06")}),
]


@pytest.mark.parametrize(("more", "work"), EMPTYINGS)
@pytest.mark.parametrize(
    ("log", "found"),
    [
        # the gas, the pressure and what it was made of
        ([OXYGEN, fill("2026-11-07", from_="1000 psi")], None),
        ([OXYGEN, line("2026-11-07", "reading", gas="oxygen"), fill("2026-11-08")], None),
        (
            [
                fill("2026-11-03", gas="oxygen", to="1000 psi", from_="0 psi"),
                fill("2026-11-07", gas="nitrox32", from_="500 psi", to="1000 psi"),
                fill("2026-11-08", from_="1000 psi", o2="24 %", **JO),
            ],
            None,
        ),
        # what came from the other side is gone too: a sample has to fit again
        (
            [
                OXYGEN,
                fill("2026-11-04", "B"),
                fill("2026-11-07", gas="oxygen", to="1000 psi"),
                fill("2026-11-08", from_="1000 psi", o2="30 %", **JO),
            ],
            "08 oxygen",
        ),
    ],
)
def test_nothing_of_before_counts_once_it_was_empty(
    log: list[str], found: str | None, more: list[str], work: dict[str, str]
) -> None:
    assert mixed(*log, *more, sets=DOUBLES, **work) == found


VOID = "void: {why: wrong card, by: MV, on: 2026-11-20}"


@pytest.mark.parametrize(
    ("rental", "empty"),
    [
        ("back: 2026-11-07, pressure: 14.9 psi", True),
        ("back: 2026-11-07, pressure: 15 psi", False),
        ("back: 2026-11-07", False),  # nobody read it
        ("pressure: 0 psi", False),  # not back
        (f"back: 2026-11-07, pressure: 0 psi, {VOID}", False),
    ],
)
def test_back_from_a_rental_empty(rental: str, empty: bool) -> None:
    rented = f"[{{on: 2026-11-06, to: B-1, {rental}}}]"
    book = book_of(OXYGEN, AIR_ON, rented=rented)
    days = list(_came_back_empty(book, book.cylinders["A"]))
    assert days == [dt.date(2026, 11, 7)] * empty
    assert mixed(OXYGEN, AIR_ON, rented=rented) == (None if empty else FOUND)


# --- the other side of a set ---------------------------------------------------------------------
B_OXYGEN = fill("2026-11-03", "B", gas="oxygen", to="1000 psi")


@pytest.mark.parametrize(
    ("log", "found"),
    [
        # it may have come through, and tells against it where nothing else is known
        ([B_OXYGEN, AIR_ON], FOUND),
        ([B_OXYGEN, fill("2026-11-05")], FOUND),
        ([OXYGEN, fill("2026-11-05", "B")], FOUND),
        ([OXYGEN, fill("2026-11-05", "B", from_="0 psi")], FOUND),  # that side was empty
        ([OXYGEN, fill("2026-11-04", "B", gas="oxygen", to="40 psi"), fill("2026-11-05")], FOUND),
        # what is known of its own stays
        (
            [
                fill("2026-11-03", to="1000 psi"),
                fill("2026-11-04", "B", gas="nitrox22", to="1200 psi"),
                fill("2026-11-05", gas="nitrox23", to="", from_="1000 psi"),
            ],
            "05 air",
        ),
        # nothing of it answers for it
        ([OXYGEN, AIR_ON, fill("2026-11-06", "B", from_="0 psi")], FOUND),
        ([OXYGEN, AIR_ON, fill("2026-11-06", "B", o2="42 %", **JO)], FOUND),
        # how much came through nobody knows: any sample of its own does
        ([OXYGEN, fill("2026-11-04", "B"), analysed("2026-11-06", "25")], None),
        ([OXYGEN, fill("2026-11-04", "B"), analysed("2026-11-06", "19")], "04 oxygen"),
        (
            [
                OXYGEN,
                fill("2026-11-04", "B"),
                read("2026-11-05", "1000 psi"),
                fill("2026-11-06", from_="1000 psi"),
                analysed("2026-11-07", "25"),
            ],
            None,
        ),
        # what is hardly in that side says nothing of this one
        ([OXYGEN, AIR_ON, fill("2026-11-06", "B", to="10 psi")], FOUND),
        (
            [
                OXYGEN,
                fill("2026-11-04", "B", gas="nitrox40", o2="60 %", **JO),
                analysed("2026-11-06", "25"),
            ],
            None,
        ),
        # and from then on it is what that said
        (
            [
                OXYGEN,
                fill("2026-11-04", "B"),
                analysed("2026-11-06", "25", gas="nitrox25", to="1000 psi"),
                fill("2026-11-07", gas="nitrox90", from_="1000 psi", o2="90 %", **JO),
            ],
            "07 nitrox25",
        ),
    ],
)
def test_the_other_side(log: list[str], found: str | None) -> None:
    assert mixed(*log, sets=DOUBLES) == found


# --- what such a fill is held against, and what is held to be in it ------------------------------


@pytest.mark.parametrize(
    ("log", "held_to"),
    [
        ([fill("2026-11-03", gas="nitrox32")], 3),
        ([fill("2026-11-01"), fill("2026-11-03", gas="nitrox32")], 4),  # to nothing but itself
        ([fill("2026-11-01"), fill("2026-11-03", gas="nitrox32", o2="32 %", **JO)], 3),
        ([fill("2026-11-01"), read("2026-11-02", "900 psi"), fill("2026-11-03", gas="nitrox32")], 4),
        ([fill("2026-11-01"), read("2026-11-02", "0 psi"), fill("2026-11-03", gas="nitrox32")], 3),
    ],
)  # fmt: skip
def test_what_a_sample_is_held_to(log: list[str], held_to: int) -> None:
    book = book_of(*log, analysed("2026-11-04", "32"))
    found = gas_readings_of(book, book.cylinders["A"])
    assert [(a.at.day, b.at.day) for a, b in found] == [(4, held_to)]


def test_gas_that_nobody_knows_is_not_forgotten_when_it_is_topped_up_twice() -> None:
    log = [
        fill("2026-11-01", to="1000 psi"),
        fill("2026-11-02", to="1000 psi", from_="1000 psi"),
        read("2026-11-03", "2500 psi"),
        fill("2026-11-04", from_="2000 psi"),
    ]
    assert held(book_of(*log)) == (None, "3000 psi")
    assert held(book_of(*log, fill("2026-11-05", from_="2000 psi"))) == (None, "3000 psi")


def test_who_looked_inside_saw_it_empty() -> None:
    looks = "[{on: 2026-11-03, by: MV, checklist: annual, result: pass}]"
    log = [fill("2026-11-01"), read("2026-11-05", "2000 psi")]
    assert rises(*log, inspected=looks) == [("2000 psi", "0 psi")]


# --- what is in it after a fill whose pressures do not say ----------------------------------------


@pytest.mark.parametrize("o2", ["45", "30"])
def test_after_a_fill_whose_pressures_do_not_say_any_analysis_may_be(o2: str) -> None:
    on = fill("2026-11-05", from_="1000 psi", to="")
    more = fill("2026-11-06", from_="2900 psi", to="3000 psi")
    assert mixed(OXYGEN, on, more) == FOUND
    assert mixed(OXYGEN, on, more, analysed("2026-11-07", o2)) is None


def test_the_other_side_at_nothing_clears_nothing_here() -> None:
    other = line("2026-11-06", "reading", cylinder="B", to="0 psi")
    assert mixed(OXYGEN, AIR_ON, other, sets=DOUBLES) == FOUND


def test_a_reading_of_the_temperature_alone_hides_no_gas_that_nobody_knows() -> None:
    known = [fill("2026-11-03", to="1000 psi"), read("2026-11-04", to="2500 psi")]
    warm = line("2026-11-05", "reading", temperature="60 degF")
    topped = fill("2026-11-06", from_="2000 psi")
    for log in ([*known, topped], [*known, warm, topped]):
        assert held(book_of(*log))[0] is None
    assert held(book_of(*known, warm, fill("2026-11-06", from_="")))[1] is not None
    assert held(book_of(fill("2026-11-06", from_="500 psi")))[0] == "air"


# --- what the banks that are named can give ------------------------------------------------------

BANKS = """
banks:
  - {name: B1, gas: air, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: B2, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: N1, gas: nitrox32, water_volume: 48 L, working_pressure: 4500 psi}
compressor: {name: C1}
"""
EMPTY_ONE = {"from_": "0 psi", "gas": "nitrox32", **JO}
STEP = fill(
    "2026-11-03", gas="oxygen", from_="0 psi", to="200 psi", source="elsewhere: gas company"
)


def last(o2: str, source: str, on: str = "2026-11-05", **cells: str) -> str:
    return fill(on, **{"gas": "nitrox32", "o2": f"{o2} %", "source": source, **JO, **cells})


@pytest.mark.parametrize(
    ("log", "most"),
    [
        # into an empty one, a bank gives what it holds: 20.95 + 6
        ([last("26.9", "B1", from_="0 psi")], None),
        ([last("27", "B1", from_="0 psi")], 21),
        ([last("32", "bank B2", from_="0 psi")], 21),
        ([last("32", "C1", from_="0 psi")], 21),
        ([last("32", "B1+B2", from_="0 psi")], 21),
        ([last("32", "N1", from_="0 psi")], None),
        ([last("38", "N1", from_="0 psi", gas="nitrox38")], None),
        ([last("38.1", "N1", from_="0 psi", gas="nitrox38")], 32),
        # who names something else, or nothing, may have put in what is not written
        ([last("32", "B1+N1", from_="0 psi")], None),
        ([last("32", "B1, O2 cart", from_="0 psi")], None),
        ([last("32", "elsewhere: the club", from_="0 psi")], None),
        ([last("32", "", from_="0 psi")], None),
        # on oxygen: 200 of 3000 psi, the rest of it air: 6.67 + 93.33 x 20.95 % = 26.2
        ([STEP, last("32.2", "B1", from_="200 psi")], None),
        ([STEP, last("32.3", "B1", from_="200 psi")], 26),
        ([STEP, last("60", "O2 cart", from_="200 psi")], None),
        # a second analysis answers for it, a reading of the gauge does not
        ([last("32", "B1", from_="0 psi"), analysed("2026-11-06", "32")], None),
        ([last("32", "B1", from_="0 psi"), read("2026-11-06", "2900 psi")], 21),
        ([last("32", "B1", from_="0 psi"), read("2026-11-06", "0 psi")], None),
        ([last("32", "B1", from_="0 psi"), last("32", "N1", "2026-11-07", from_="0 psi")], None),
    ],
)
def test_an_analysis_beyond_what_its_sources_give(log: list[str], most: int | None) -> None:
    book = book_of(*log, station=BANKS)
    found = mix_of(book, book.cylinders["A"]).beyond
    assert (round(found[1]) if found else None) == most


@pytest.mark.parametrize(
    ("source", "o2", "found"),
    [
        # 400 of 3300 psi oxygen, the rest nitrox32: 12.1 + 28.1 - 6 = 34.2 at the least
        ("N1", "34.3", None),
        ("N1", "34.2", "05 oxygen"),
        # the rest may have been air: 12.1 + 18.4 - 6
        ("B1+N1", "32", None),
        ("elsewhere: the club", "32", None),
    ],
)
def test_an_analysis_below_what_its_sources_give_is_none(
    source: str, o2: str, found: str | None
) -> None:
    step = STEP.replace("200 psi", "400 psi")
    log = [step, last(o2, source, from_="400 psi", to="3300 psi")]
    book = book_of(*log, station=BANKS)
    was = mix_of(book, book.cylinders["A"]).unanalysed
    assert (f"{was[0].at:%d} {was[1]}" if was else None) == found


BLEND = [
    STEP.replace("200 psi", "460 psi"),
    last("38", "B1", from_="460 psi", to="3200 psi"),
]


@pytest.mark.parametrize(
    ("more", "severity"),
    [
        ([], "fault"),
        ([analysed("2026-11-06", "32.2")], "warn"),  # 14.4 + 17.9 = 32.3
        ([analysed("2026-11-06", "32.2", gas="nitrox32")], "warn"),
        ([analysed("2026-11-06", "38")], "fault"),  # it is not what was logged
        ([line("2026-11-06", "reading", o2="32.2 %")], "fault"),  # nobody says who
        ([analysed("2026-11-04", "32.2")], "fault"),  # of before
        ([fill("2026-11-06", from_="3000 psi"), analysed("2026-11-07", "32.2")], "fault"),
    ],
)
def test_who_sampled_before_it_was_mixed_and_after_is_heard(more: list[str], severity: str) -> None:
    assert _otherwise([*BLEND, *more]) == severity


@pytest.mark.parametrize(
    "blend",
    [
        # three quarters of it are oxygen
        [STEP.replace("200 psi", "2400 psi"), last("80", "B1", from_="2400 psi", to="3200 psi")],
        # what it is made of is not known
        [STEP.replace("200 psi", "460 psi"), last("60", "cart", from_="460 psi", to="3200 psi")],
        [last("60", "", from_="460 psi", to="3200 psi")],
        [last("60", "", from_="0 psi", to="3200 psi")],
        [last("60", "B1", from_="460 psi", to="3200 psi")],
    ],
)
def test_a_second_analysis_that_cannot_be_is_not(blend: list[str]) -> None:
    assert _otherwise([*blend, analysed("2026-11-06", "32")]) == "fault"


def test_nor_is_a_second_one_of_more_oxygen_than_was_written_down() -> None:
    for meant, severity in (("38", "warn"), ("45", "fault")):
        blend = last("60", "B1", from_="460 psi", to="3200 psi", gas=f"nitrox{meant}")
        again = analysed("2026-11-06", meant)
        assert _otherwise([BLEND[0], blend, again]) == severity, meant


# --- the analyses that fit all that was written down ---------------------------------------------

OXYGEN_IN = STEP.replace("200 psi", "460 psi")
TOPPED = last("38", "B1", from_="460 psi", to="3200 psi")
SAMPLE = analysed("2026-11-06", "32.2")  # 14.4 + 17.9 = 32.3


def fitting(*log: str, sets: dict[str, str] | None = None, **changes: str | None) -> list[int]:
    """The days of November of the analyses that fit every gas and pressure."""
    book = book_of(*log, sets=sets, station=BANKS, **changes)
    places = mix_of(book, book.cylinders["A"]).fitting
    return [each.at.day for each in book.log if (each.path, each.line) in places]


@pytest.mark.parametrize(
    ("log", "days"),
    [
        ([OXYGEN_IN, TOPPED, SAMPLE], [6]),
        # between these, to _REAL
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "26.4")], [6]),
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "26.2")], []),
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "38.2")], [6]),
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "38.4")], []),
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "27", he="6 %")], [6]),
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "27", he="6.1 %")], []),
        ([OXYGEN_IN, TOPPED, analysed("2026-11-06", "26.2", he="6 %")], []),
        ([OXYGEN_IN, TOPPED, SAMPLE, analysed("2026-11-07", "45"), analysed("2026-11-08", "33")], [6, 8]),
        # nobody says who, or nothing was analysed
        ([OXYGEN_IN, TOPPED, line("2026-11-06", "reading", o2="32.2 %")], []),
        ([OXYGEN_IN, TOPPED, read("2026-11-06", "3100 psi")], []),
        ([OXYGEN_IN, TOPPED], []),
        # EMPTY before the first
        ([last("32", "N1", from_="14.9 psi"), SAMPLE], [6]),
        ([last("32", "N1", from_="15 psi"), SAMPLE], []),
        ([last("32", "N1"), SAMPLE], []),
        # what nobody read before a fill is what was known
        ([OXYGEN_IN, TOPPED.replace("from=460 psi; ", ""), SAMPLE], [6]),
        ([OXYGEN_IN, line("2026-11-04", "reading", temperature="60 degF"), TOPPED.replace("from=460 psi; ", ""), SAMPLE], [6]),
        ([OXYGEN_IN, read("2026-11-04", "450 psi"), TOPPED.replace("from=460 psi; ", ""), SAMPLE], [6]),
        ([OXYGEN_IN.replace("to=460 psi; ", ""), TOPPED.replace("from=460 psi; ", ""), SAMPLE], []),
        # its pressures say nothing
        ([OXYGEN_IN, TOPPED.replace("to=3200 psi; ", ""), SAMPLE], []),
        ([OXYGEN_IN, TOPPED.replace("3200", "460"), analysed("2026-11-06", "100")], []),
        ([OXYGEN_IN, TOPPED.replace("3200", "450"), analysed("2026-11-06", "100")], []),
        # air and oxygen are what they are wherever they come from, and no word for a mix is
        ([OXYGEN_IN, fill("2026-11-05", from_="460 psi", to="3200 psi"), SAMPLE], [6]),
        ([OXYGEN_IN, fill("2026-11-05", from_="460 psi", to="3200 psi", gas="nitrox21.1"), SAMPLE], []),
        ([OXYGEN_IN.replace("oxygen", "nitrox99"), TOPPED, SAMPLE], [6]),
        ([OXYGEN_IN.replace("oxygen", "nitrox98.9"), TOPPED, SAMPLE], []),
        ([OXYGEN_IN.replace("gas=oxygen; ", ""), TOPPED, SAMPLE], []),
        ([OXYGEN_IN, TOPPED.replace("source=B1", "source=cart"), SAMPLE], []),
        # what a bank holds is asked first: 14.4 + 85.6 x 32 % = 41.8
        ([OXYGEN_IN, TOPPED.replace("gas=nitrox32", "gas=air").replace("=B1", "=N1"), analysed("2026-11-06", "41.8")], [6]),
        ([OXYGEN_IN, TOPPED.replace("gas=nitrox32", "gas=air").replace("=B1", "=N1"), SAMPLE], []),
        # what came after it is no matter
        ([OXYGEN_IN, TOPPED, SAMPLE, fill("2026-11-08", from_="", gas="nitrox40")], [6]),
        ([OXYGEN_IN, TOPPED, SAMPLE, fill("2026-11-08", from_="", gas="nitrox40"), analysed("2026-11-09", "32")], [6]),
    ],
)  # fmt: skip
def test_an_analysis_that_fits_all_that_was_written_down(log: list[str], days: list[int]) -> None:
    assert fitting(*log) == days


@pytest.mark.parametrize(
    ("on", "days"),
    [
        ("2026-11-02", [6]),
        ("2026-11-03", [6]),  # the fill of that day came after it
        ("2026-11-04", []),
        ("2026-11-05", []),
        ("2026-11-06", []),
        ("2026-11-07", [6]),  # it was analysed before
    ],
)
def test_of_a_mix_that_was_let_out_nothing_fits(on: str, days: list[int]) -> None:
    assert fitting(OXYGEN_IN, TOPPED, SAMPLE, requalified=work_of(on)) == days


B_IN = fill("2026-11-03", "B", gas="oxygen", from_="0 psi", to="460 psi", source="elsewhere: gas")


@pytest.mark.parametrize(
    "log",
    [
        [OXYGEN_IN, fill("2026-11-04", "B"), TOPPED, SAMPLE],
        [OXYGEN_IN, TOPPED, fill("2026-11-05T15", "B"), SAMPLE],
        [B_IN, TOPPED, SAMPLE],
        [B_IN, SAMPLE.replace("32.2", "100")],
        [fill("2026-11-03", "B", to="10 psi"), last("32", "N1"), SAMPLE],
    ],
)
def test_how_much_came_from_the_other_side_nobody_knows(log: list[str]) -> None:
    assert fitting(*log, sets=DOUBLES) == []
    alone = fitting(*(each for each in log if "cylinder=B" not in each))
    assert alone == ([6] if OXYGEN_IN in log else [])


def _otherwise(log: list[str]) -> str:
    book = book_of(*log, station=BANKS, service="oxygen")
    found = [f for f in check(book, dt.date(2026, 11, 25)) if f.code == "analysed-otherwise"]
    return str(found[0].severity) if found else ""
