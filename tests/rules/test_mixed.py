"""A fill on another gas, and what an analysis has to show: just at each bound, and just beside it.

The cylinders, people and dates are invented. The bounds are the module's own, which says of each
where it comes from.
"""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, log_lines, make_book, with_lines
from changing import replace
from loglines import book_of, fill, held, line, read, rises

from tankbook.gas import Gas
from tankbook.records.log import LogLine
from tankbook.rules.checks import check
from tankbook.rules.fill_history import (
    AIR_SHARE,
    READ_ALIKE,
    gas_readings_of,
    is_analysis,
)
from tankbook.rules.mixed import (
    ALIKE,
    REAL,
    Mix,
    MixRange,
    _came_back_empty,
    _is_possible,
    _makes_another,
    given_by,
    is_always,
    mix_of,
)
from tankbook.units import GaugePressure, Percent

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


def made(oxygen: float, helium: float = 0.0, added: float = 0.0, *, real: bool = True) -> MixRange:
    return MixRange((oxygen, oxygen), (helium, helium), added, real)


NOBODY = made(0.0, 0.0, 100.0)


def test_what_it_was_is_a_share_of_what_it_becomes() -> None:
    once = made(32.0, 16.0).topped(0.5, NOBODY)
    assert once == made(16.0, 8.0, 50.0)
    assert once.topped(0.25, NOBODY) == made(4.0, 2.0, 87.5)
    assert once.topped(1.0, NOBODY) == once
    # a gas of which more is known
    banks = MixRange((20.0, 32.0), (0.0, 40.0))
    assert made(100.0).topped(0.25, banks) == MixRange((40.0, 49.0), (0.0, 30.0), 0.0, True)
    assert banks.topped(0.5, banks) == banks
    once = made(100.0).topped(0.25, MixRange((20.0, 32.0)).as_written())
    assert once == MixRange((40.0, 49.0), (0.0, 0.0), 0.0, True, more=51.0)
    assert once.topped(0.5, made(0.0)).more == 25.5


@pytest.mark.parametrize("one", [True, False])
@pytest.mark.parametrize("other", [True, False])
def test_what_rests_on_what_is_not_sure_is_not(one: bool, other: bool) -> None:
    both = replace(made(32.0), sure=one).topped(0.5, replace(made(32.0), sure=other))
    assert both.sure is (one and other)


@pytest.mark.parametrize(
    ("one", "other", "what"),
    [
        (made(32.0), made(21.0, real=False), MixRange((21.0, 32.0), (0.0, 0.0), 0.0, True)),
        (made(18.0, 45.0), made(32.0), MixRange((18.0, 32.0), (0.0, 45.0), 0.0, True)),
        (MixRange((20.0, 40.0)), MixRange((30.0, 50.0)), MixRange((20.0, 50.0))),
        (
            MixRange((9.0, 9.0), (10.0, 20.0)),
            MixRange((9.0, 9.0), (0.0, 5.0)),
            MixRange((9.0, 9.0), (0.0, 20.0)),
        ),
        # what nobody knows holds oxygen, helium or air: no less than 20.9, and no more than 100
        (made(50.0, 20.0), NOBODY, MixRange((0.0, 0.0), (0.0, 0.0), 100.0, True)),
        # 10 is 20.45 less what half of it is of air
        (made(10.0), made(20.0, added=50.0), MixRange((10 - 10.45, 20.0), (0.0, 0.0), 50.0, True)),
        (replace(made(9.0), more=4.0), replace(made(9.0), more=7.0), replace(made(9.0), more=7.0)),
    ],
)
def test_what_is_one_of_two_or_between(one: MixRange, other: MixRange, what: MixRange) -> None:
    for found in (one.to(other), other.to(one)):
        assert (found.real, found.open_, found.sure) == (what.real, True, True)
        assert found.oxygen == pytest.approx(what.oxygen)
        assert found.helium == pytest.approx(what.helium)
        assert (found.added, found.more) == (what.added, what.more)
    assert not one.to(replace(other, sure=False)).sure
    assert not replace(one, sure=False).to(other).sure
    assert one.to(other).topped(0.5, one).open_
    assert one.topped(0.5, one.to(other)).open_
    assert not one.topped(0.5, other).open_


@pytest.mark.parametrize(
    ("what", "gas", "other"),
    [
        (made(27.0), "nitrox21", False),
        (made(27.1), "nitrox21", True),
        (made(24.0, real=False), "nitrox21", False),
        (made(24.1, real=False), "nitrox21", True),
        (made(18.0, 6.0), "air", False),
        (made(18.0, 6.1), "air", True),
        (made(18.0, 45.0), "trimix18/45", False),
        (NOBODY, "air", False),
    ],
)
def test_what_may_be_richer_than_it_is_called(what: MixRange, gas: str, other: bool) -> None:
    assert what.may_be_other(Gas.parse(gas)) is other


@pytest.mark.parametrize(
    ("gases", "what"),
    [
        ("air", MixRange((20.95, 20.95))),
        ("nitrox32", MixRange((32.0, 32.0))),
        ("nitrox49.99", MixRange((49.99, 49.99))),
        ("nitrox50", made(50.0)),
        ("oxygen", made(100.0)),
        ("trimix18/45", made(18.0, 45.0)),
        ("trimix20/1", made(20.0, 1.0)),
        ("air nitrox32", MixRange((20.95, 32.0))),
        ("oxygen air", MixRange((20.95, 100.0), (0.0, 0.0), 0.0, True)),
        ("trimix10/70 nitrox32", MixRange((10.0, 32.0), (0.0, 70.0), 0.0, True)),
    ],
)
def test_a_mix_of_some_gases(gases: str, what: MixRange) -> None:
    found = MixRange.of(*map(Gas.parse, gases.split()))
    assert found.oxygen == pytest.approx(what.oxygen, abs=0.02)
    assert (found.helium, found.added, found.real) == (what.helium, what.added, what.real)


AS_IT_WAS = made(32.0, 20.0)
HALF_ADDED = made(10.0, 20.0, 50.0)
SOME_ADDED = made(10.0, 20.0, 2.0)


@pytest.mark.parametrize(
    ("what", "o2", "he", "denied"),
    [
        # nothing was added: it is no poorer than it was
        (AS_IT_WAS, 26, 20, False),
        (AS_IT_WAS, 25.9, 20, True),
        # what is richer has met what nobody wrote down
        (replace(AS_IT_WAS, more=40.0), 78, 20, False),
        (replace(AS_IT_WAS, more=40.0), 78.1, 20, True),
        (replace(AS_IT_WAS, more=40.0), 32, 66, False),
        (replace(AS_IT_WAS, more=40.0), 32, 66.1, True),
        (AS_IT_WAS, 38, 20, False),
        (AS_IT_WAS, 38.1, 20, True),
        (HALF_ADDED, 66, 20, False),
        (HALF_ADDED, 66.1, 20, True),
        (AS_IT_WAS, 32, 14, False),
        (AS_IT_WAS, 32, 13.9, True),
        (AS_IT_WAS, 32, 26, False),
        (AS_IT_WAS, 32, 26.1, True),
        (made(32.0, 6.0), 32, 0, False),
        (made(32.0, 6.1), 32, 0, True),
        # of nitrox and air alone it is known better
        (made(32.0, real=False), 29, 0, False),
        (made(32.0, real=False), 28.9, 0, True),
        # or air: 10 + 50 x 20.9 % - 6 = 14.45
        (HALF_ADDED, 14.5, 20, False),
        (HALF_ADDED, 14.4, 20, True),
        (HALF_ADDED, 14.5, 15, False),  # less helium than it had is no more air
        (HALF_ADDED, 14.4, 15, True),
        # or helium, and the rest of it air: 10 + 25 x 20.9 % - 6 = 9.225
        (HALF_ADDED, 9.3, 45, False),
        (HALF_ADDED, 9.2, 45, True),
        (SOME_ADDED, 4, 25, False),
        (SOME_ADDED, 3.9, 25, True),
        # what nobody can breathe is not called air because something else may have gone in
        (replace(made(10.0, 70.0), more=20.0), 16, 70, False),
        (replace(made(10.0, 70.0), more=20.0), 16.1, 70, True),
        (replace(made(19.3), more=80.0), 25.4, 0, True),
        (replace(made(19.4), more=80.0), 25.5, 0, False),
        # of which it is only known that it lies between
        (MixRange((20.0, 20.0), (10.0, 40.0)), 20, 20, False),
        (MixRange((20.0, 20.0), (10.0, 40.0)), 20, 6, True),
    ],
)
def test_what_a_mix_cannot_be(what: MixRange, o2: float, he: float, denied: bool) -> None:
    assert (REAL, ALIKE) == (6, 3)
    assert what.denies(o2, he) is denied


@pytest.mark.parametrize(
    ("what", "o2", "he", "off"),
    [
        (AS_IT_WAS, 32, 20, 0),
        (AS_IT_WAS, 30, 20, 2),
        (AS_IT_WAS, 36, 20, 4),
        (AS_IT_WAS, 32, 15, 5),
        (AS_IT_WAS, 32, 27, 7),
        (HALF_ADDED, 60, 20, 0),
        (HALF_ADDED, 61, 20, 1),
        (HALF_ADDED, 20.45, 20, 0),
        (HALF_ADDED, 30, 70, 0),
        (HALF_ADDED, 30, 71, 1),
        (MixRange((20.0, 32.0)), 26, 0, 0),
        (MixRange((20.0, 32.0)), 19, 0, 1),
        (MixRange((20.0, 32.0)), 34, 0, 2),
        (MixRange((20.0, 20.0), (10.0, 20.0)), 20, 15, 0),
        (MixRange((20.0, 32.0), (10.0, 20.0)), 26, 15, 0),
        (MixRange((20.0, 20.0), (10.0, 20.0)), 20, 4, 6),
    ],
)
def test_how_far_a_gas_lies_outside(what: MixRange, o2: float, he: float, off: float) -> None:
    assert what.off(o2, he) == pytest.approx(off)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        (made(32.0), "32 % oxygen"),
        (made(18.0, 45.0), "18 % oxygen and 45 % helium"),
        (made(18.0, 0.9), "18 % oxygen"),
        (made(18.0, 1.0), "18 % oxygen and 1 % helium"),
        (MixRange((18.0, 18.0), (10.0, 20.0)), "18 % oxygen and 10 to 20 % helium"),
        (made(0.0, added=98.1), "21 to 98 % oxygen"),
        (MixRange((20.95, 100.0)), "21 to 100 % oxygen"),
        (made(10.0, 20.0, 50.0), "20 to 60 % oxygen and 20 to 70 % helium"),
    ],
)
def test_how_a_mix_is_told(what: MixRange, said: str) -> None:
    assert str(what) == said


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
    cells = {"o2": f"{o2} %", "he": f"{he} %", **JO}
    last = fill("2026-11-07", from_="1200 psi", **cells)
    assert mixed(OXYGEN, AIR_ON, sample, last) == found
    # what nobody read may all have been breathed before it was filled
    assert mixed(OXYGEN, AIR_ON, sample, fill("2026-11-07", **cells)) is None


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


@pytest.mark.parametrize(
    ("method", "empty"),
    [
        ("hydrostatic", True),
        ("proof", True),
        ("eddy-current", True),
        # what looks through the wall needs no valve off
        ("ultrasonic", False),
        ("acoustic-emission", False),
        ("visual", False),
    ],
)
def test_which_test_lets_the_gas_out(method: str, empty: bool) -> None:
    tests = work_of("2026-11-06").replace("hydrostatic, by: T1", f"{method}, by: T1")
    assert mixed(OXYGEN, AIR_ON, requalified=tests) == (None if empty else FOUND)


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
  - {name: N1, gas: nitrox32, since: 2026-01-02, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: O1, gas: oxygen, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: T1, gas: trimix10/70, since: 2026-01-02, water_volume: 48 L, working_pressure: 4500 psi}
compressor: {name: C1}
"""
MORE_BANKS = BANKS.replace(
    "compressor:",
    """\
  - {name: N2, gas: nitrox49, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: N3, gas: nitrox50, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: N4, gas: nitrox40, since: 2026-11-05, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: T2, gas: trimix18/45, water_volume: 48 L, working_pressure: 4500 psi}
compressor:""",
)
EMPTY_ONE = {"from_": "0 psi", "gas": "nitrox32", **JO}
STEP = fill(
    "2026-11-03", gas="oxygen", from_="0 psi", to="200 psi", source="elsewhere: gas company"
)


def last(o2: str, source: str, on: str = "2026-11-05", **cells: str) -> str:
    return fill(on, **{"gas": "nitrox32", "o2": f"{o2} %", "source": source, **JO, **cells})


@pytest.mark.parametrize(
    ("source", "gas", "given"),
    [
        ("B1", "air", "21 % oxygen"),
        ("bank B2", "air", "21 % oxygen"),
        ("N1", "nitrox32", "32 % oxygen"),
        ("N1", "air", "32 % oxygen"),
        ("B1+N1", "nitrox28", "21 to 32 % oxygen"),
        ("B1+O2", "nitrox32", "21 to 100 % oxygen"),
        ("oxygen + B1", "nitrox32", "21 to 100 % oxygen"),
        ("O2", "oxygen", "100 % oxygen"),
        # a compressor may draw in more than air
        ("C1", "air", "21 % oxygen"),
        ("C1", "nitrox32", None),
        ("C1+N1", "nitrox32", None),
        # what is no part of the station, or is not told
        ("O2 cart", "nitrox32", None),
        ("O2 cart+B1", "nitrox32", None),
        ("elsewhere: the club", "air", None),
        ("B1, stick", "nitrox32", None),
        ("", "air", None),
        (" ", "air", None),
    ],
)
def test_what_a_source_gives(source: str, gas: str, given: str | None) -> None:
    (filled,) = log_lines(fill("2026-11-05", gas=gas, source=source))
    found = given_by(book_of(station=BANKS), filled)
    assert (str(found) if found else None) == given


N4_BEFORE = {("N4", "2026-11-04"), ("N4", "2026-11-05")}
CLUB = fill("2026-11-03", gas="nitrox32", from_="0 psi", to="1500 psi", source="elsewhere: club")
AIRED = fill("2026-11-01", from_="0 psi", source="B1")
AIR_AGAIN = fill("2026-11-02", source="B1")
HALF = last("32", "N1", "2026-11-03", from_="0 psi", to="1500 psi")


@pytest.mark.parametrize(
    ("source", "gas", "sure"),
    [
        ("B1", "air", True),  # whatever the others are
        ("N1", "air", True),
        ("N2", "air", False),
        ("n2", "air", False),
        ("N3", "air", True),
        ("N4", "air", True),
        ("B1+N2", "air", False),
        ("N1+N2", "air", False),
        ("T2", "air", True),
        ("T2", "", True),
        ("T2", "trimix18/45", False),
    ],
)
@pytest.mark.parametrize("day", ["2026-11-06", "2026-11-05", "2026-11-04"])
def test_whether_a_bank_held_that_then(source: str, gas: str, sure: bool, day: str) -> None:
    (filled,) = log_lines(fill(day, gas=gas, source=source))
    found = given_by(book_of(station=MORE_BANKS), filled)
    assert found is not None
    assert found.sure is (sure and (source, day) not in N4_BEFORE)


def test_a_bank_may_be_called_oxygen() -> None:
    station = MORE_BANKS.replace("name: N1", "name: O2")
    (filled,) = log_lines(fill("2026-11-05", gas="nitrox32", source="O2"))
    assert str(given_by(book_of(station=station), filled)) == "32 % oxygen"


def test_a_fill_that_names_no_gas_was_given_what_its_banks_hold() -> None:
    for source, given in (("N1", "32 % oxygen"), ("C1", "None"), ("", "None")):
        (filled,) = log_lines(fill("2026-11-05", gas="", source=source))
        assert str(given_by(book_of(station=BANKS), filled)) == given


def told(
    *log: str,
    station: str | None = MORE_BANKS,
    sets: dict[str, str] | None = None,
    **changes: str | None,
) -> str:
    """What is told of the fills of a cylinder: denied, doubted or nothing."""
    book = book_of(*log, station=station, sets=sets, **{"service": "oxygen", **changes})
    found = mix_of(book, book.cylinders["A"])
    return "denied" if found.denied else "doubted" if found.doubted else ""


@pytest.mark.parametrize(
    ("log", "what"),
    [
        # into an empty one, a bank gives what it holds: 20.95, and 3 of what is nearly air
        ([last("23.9", "B1", from_="0 psi")], ""),
        ([last("24", "B1", from_="0 psi")], "doubted"),
        ([last("32", "bank B2", from_="0 psi")], "doubted"),
        ([last("32", "B1+B2", from_="0 psi")], "doubted"),
        ([last("32", "N1", from_="0 psi")], ""),
        ([last("29", "N1", from_="0 psi", gas="nitrox29")], ""),
        ([last("28.9", "N1", from_="0 psi", gas="nitrox29")], "denied"),
        ([last("35.1", "N1", from_="0 psi", gas="nitrox35")], "doubted"),
        # who names something else, or nothing, may have put in what is not written
        ([last("32", "B1+N1", from_="0 psi")], ""),
        ([last("32", "B1, O2 cart", from_="0 psi")], ""),
        ([last("32", "elsewhere: the club", from_="0 psi")], ""),
        ([last("32", "", from_="0 psi")], ""),
        ([last("32", "C1", from_="0 psi")], ""),
        ([last("32", "B1+O2", from_="0 psi")], ""),
        # what is only called so
        ([fill("2026-11-05", from_="0 psi", source="B1")], ""),
        ([fill("2026-11-05", from_="0 psi", source="N1")], "denied"),
        ([fill("2026-11-05", from_="0 psi", source="T1")], "denied"),
        ([fill("2026-11-05", from_="0 psi", source="O1")], "denied"),
        ([fill("2026-11-05", from_="0 psi", source="N1", gas="nitrox32")], ""),
        ([fill("2026-11-05", from_="0 psi", source="B1", gas="nitrox32")], "doubted"),
        ([fill("2026-11-05", from_="0 psi", source="club", gas="nitrox32")], ""),
        ([fill("2026-11-03", from_="0 psi", to="1000 psi", source="B1"), fill("2026-11-05", from_="1000 psi", source="N1")], "denied"),
        # from oxygen, or a mix of much helium, alone
        ([last("32", "O1", from_="0 psi")], "denied"),
        ([last("20.9", "T1", from_="0 psi", gas="air")], "denied"),
        ([last("18", "T1", from_="0 psi", gas="trimix18/45", he="45 %")], "denied"),
        # on oxygen: 200 of 3000 psi, the rest of it air: 6.67 + 93.33 x 20.95 % = 26.2
        ([STEP, last("29.2", "B1", from_="200 psi")], ""),
        ([STEP, last("29.3", "B1", from_="200 psi")], "doubted"),
        ([STEP, last("23.1", "B1", from_="200 psi", gas="nitrox23")], "doubted"),
        ([STEP, last("20.3", "B1", from_="200 psi", gas="nitrox20")], "doubted"),
        ([STEP, last("20.2", "B1", from_="200 psi", gas="nitrox20")], "denied"),
        ([STEP, last("60", "O2 cart", from_="200 psi", gas="nitrox60")], ""),
        # the same gas again, of which most is oxygen all the same
        ([last("32", "N1", "2026-11-03", from_="0 psi", to="1000 psi"), last("32", "O1", from_="1000 psi")], "denied"),
        # one that is denied leaves what is known as it was
        ([last("32", "O1", "2026-11-03", from_="0 psi", to="2000 psi"), last("32", "N1", from_="2000 psi")], "denied"),
        # a second analysis answers for it, a reading of the gauge does not
        ([last("32", "B1", from_="0 psi"), analysed("2026-11-06", "32")], ""),
        ([last("32", "B1", from_="0 psi"), analysed("2026-11-06", "33.5")], ""),
        ([last("32", "B1", from_="0 psi"), analysed("2026-11-06", "33.6")], "doubted"),
        ([last("32", "B1", from_="0 psi"), analysed("2026-11-06", "21")], ""),
        ([last("32", "O1", from_="0 psi"), analysed("2026-11-06", "32")], "denied"),
        ([last("32", "O1", from_="0 psi"), analysed("2026-11-06", "99")], ""),
        ([last("32", "B1", from_="0 psi"), read("2026-11-06", "2900 psi")], "doubted"),
        # what is called so is told at 3 as well, and past it
        ([fill("2026-11-05", from_="0 psi", source="N1", gas="nitrox35")], ""),
        ([fill("2026-11-05", from_="0 psi", source="N1", gas="nitrox36")], "doubted"),
        ([fill("2026-11-05", from_="0 psi", source="B1", gas="nitrox32"), analysed("2026-11-06", "21")], ""),
        # what somebody read and did not sign is none
        ([fill("2026-11-05", from_="0 psi", source="N1", gas="nitrox32", o2="60 %")], ""),
        # a reading that calls it something, and a fill that does not, judge nothing
        ([STEP, line("2026-11-04", "reading", to="200 psi", gas="nitrox50")], ""),
        ([STEP, fill("2026-11-04", from_="200 psi", to="300 psi", gas="", source="B1")], ""),
        # from another source than the station's it is what it is called, and perhaps more
        ([CLUB, last("18", "N1", from_="1500 psi", gas="nitrox22")], "denied"),
        ([CLUB, last("60", "N1", from_="1500 psi", gas="nitrox60")], "doubted"),
        ([CLUB, last("32", "N1", from_="1500 psi")], ""),
        ([CLUB, last("70", "N1", from_="1500 psi", gas="nitrox70")], "doubted"),
        # of what nobody knows: half of 32 is 16, and 50 of what may be oxygen
        ([HALF, last("69.2", "", from_="1500 psi", gas="nitrox69")], "doubted"),
        ([HALF, last("68.9", "", from_="1500 psi", gas="nitrox69")], ""),
        # 31.6 at the least, and 6 of what may be anything
        ([last("32", "N1", "2026-11-03", from_="0 psi", to="2900 psi"), last("25.9", "", from_="2900 psi", gas="nitrox26")], "doubted"),
        # a fill whose begin nobody read, and what comes after it
        ([AIRED, AIR_AGAIN, read("2026-11-04", "500 psi"), fill("2026-11-05", from_="500 psi", source="O1")], "denied"),
        ([AIRED, AIR_AGAIN, read("2026-11-04", "500 psi"), fill("2026-11-05", from_="500 psi", source="T1")], "denied"),
        ([AIRED, AIR_AGAIN, read("2026-11-04", "500 psi"), fill("2026-11-05", from_="500 psi", source="B1")], ""),
        ([AIRED, fill("2026-11-05", source="O1")], "denied"),
        ([AIRED, fill("2026-11-05", from_="500 psi", source="O1")], "denied"),  # after a dive
        # of the first that is known of it, it is what that is called, and what the bank gives
        ([last("32", "O1", from_="500 psi")], "denied"),
        ([fill("2026-11-05", gas="", source="B1")], ""),
        ([fill("2026-11-03", gas="", from_="0 psi", to="1500 psi", source="O1"), last("60", "B1")], ""),
        ([line("2026-11-03", "reading", to="1000 psi", gas="oxygen"), fill("2026-11-05", source="B1")], "denied"),
        # no more of it is left than there was: 1000 of 3000 psi of 50 are 30.6
        ([last("50", "N3", "2026-11-03", from_="0 psi", to="1000 psi", gas="nitrox50"), last("45", "B1", gas="nitrox45")], "doubted"),
        ([last("50", "N3", "2026-11-03", from_="0 psi", to="1000 psi", gas="nitrox50"), last("33", "B1", gas="nitrox33")], ""),
        ([AIRED, fill("2026-11-05", source="T1")], "denied"),
        ([AIRED, fill("2026-11-05", source="N2")], "doubted"),
        ([AIRED, fill("2026-11-05", source="club")], ""),
        ([fill("2026-11-05", source="O1")], "denied"),
        ([fill("2026-11-05", source="B1")], ""),
        ([fill("2026-11-05", gas="oxygen", source="O1")], ""),
        ([last("50", "N3", "2026-11-01", from_="0 psi", to="2500 psi", gas="nitrox50"), last("25.2", "B1", gas="nitrox25")], ""),
        ([last("50", "N3", "2026-11-01", from_="0 psi", to="2500 psi", gas="nitrox50"), last("45.2", "B1", gas="nitrox45")], ""),
        # air by name alone, of which a part is oxygen or has helium
        ([AIRED, read("2026-11-04", "500 psi"), fill("2026-11-05", from_="500 psi", source="B1+O1")], "denied"),
        ([AIRED, read("2026-11-04", "500 psi"), fill("2026-11-05", from_="500 psi", source="B1+T1")], "denied"),
        ([AIRED, read("2026-11-04", "500 psi"), fill("2026-11-05", from_="500 psi", source="B1+N2")], "doubted"),
        ([AIRED, read("2026-11-04", "2980 psi"), fill("2026-11-05", from_="2980 psi", source="B1+O1")], ""),
        ([AIRED, read("2026-11-04", "500 psi"), last("21", "B1+O1", from_="500 psi", gas="air")], ""),
        ([fill("2026-11-05", from_="0 psi", gas="nitrox32", source="B1+N3")], ""),
        # what nobody filled may be anything
        ([analysed("2026-11-06", "32")], ""),
        # a bank of nitrox, or of helium, that does not say since when
        ([last("21", "N2", from_="0 psi", gas="air")], "doubted"),
        ([fill("2026-11-05", from_="0 psi", source="N2")], "doubted"),
        ([fill("2026-11-05", from_="0 psi", source="N3")], "denied"),
        ([fill("2026-11-05", from_="0 psi", source="T2")], "denied"),
        ([fill("2026-11-05", from_="0 psi", source="T2", gas="trimix30/30")], "doubted"),
        # nor is anything told of what is let out
        ([last("32", "B1", from_="0 psi"), read("2026-11-06", "0 psi")], ""),
        ([last("32", "O1", from_="0 psi"), read("2026-11-06", "0 psi")], ""),
        ([last("32", "O1", from_="0 psi"), last("32", "N1", "2026-11-07", from_="0 psi")], ""),
        # its pressures do not say
        ([last("32", "O1")], ""),
        ([last("32", "O1", from_="15 psi", to="16 psi")], ""),  # the least that is not nothing
        ([last("32", "O1", from_="14 psi", to="16 psi")], "denied"),
        ([STEP, last("20.2", "B1", from_="200 psi", to="", gas="nitrox20")], ""),
        ([STEP, last("20.2", "B1", from_="200 psi", to="200 psi", gas="nitrox20")], ""),
    ],
)  # fmt: skip
def test_what_is_said_is_held_against_what_was_made(log: list[str], what: str) -> None:
    assert told(*log) == what


@pytest.mark.parametrize(
    ("log", "what"),
    [
        ([fill("2026-11-03", "B", gas="oxygen"), last("32", "B", from_="0 psi")], "denied"),
        ([fill("2026-11-03", "B", gas="oxygen"), last("32", " B ", from_="0 psi")], "denied"),
        ([fill("2026-11-03", "B", gas="nitrox32"), last("32", "B", from_="0 psi")], ""),
        # it may have held more than was written down of it
        ([fill("2026-11-03", "B", gas="nitrox32"), last("60", "B", from_="0 psi", gas="nitrox60")], "doubted"),
        # what it held then: not before its first fill, of that moment or after it
        ([last("32", "B", from_="0 psi")], ""),
        ([last("32", "B", from_="0 psi"), fill("2026-11-05", "B", gas="oxygen")], ""),
        ([last("32", "B", from_="0 psi"), fill("2026-11-06", "B", gas="oxygen")], ""),
        ([fill("2026-11-02", "B", gas="nitrox32"), fill("2026-11-03", "B", gas="oxygen"), read("2026-11-04", "2900 psi", "B"), last("32", "B", from_="0 psi")], "denied"),
        ([last("32", "K2", from_="0 psi")], ""),
        ([fill("2026-11-03", "B", gas="oxygen"), last("32", "b", from_="0 psi")], "denied"),
        # a bank is none, whatever was logged under its name
        ([fill("2026-11-03", "B1", gas="oxygen"), last("21", "B1", from_="0 psi", gas="air")], ""),
    ],
)  # fmt: skip
def test_what_was_decanted_from_another_cylinder(log: list[str], what: str) -> None:
    assert told(*log) == what


def test_what_was_decanted_from_a_set() -> None:
    log = [fill("2026-11-03", "D", gas="oxygen"), last("32", "D", from_="0 psi")]
    cards = {i: with_lines(GOOD, serial=f"K{n}") for n, i in enumerate("ABC", start=10)}
    sets = {"D": "cylinders: [B, C]\nisolator: open"}
    book = make_book(cards, sets=sets, log="\n".join(log), station=BANKS)
    assert mix_of(book, book.cylinders["A"]).denied


def mixes(*log: str, **changes: str | None) -> Mix:
    book = book_of(*log, station=MORE_BANKS, service="oxygen", **changes)
    return mix_of(book, book.cylinders["A"])


def test_which_analyses_fit() -> None:
    """At 3 percent of what nitrox and air make, and of oxygen or helium at 6."""
    for o2, fits in (("35", True), ("35.1", False), ("29", True), ("28.9", False)):
        found = mixes(last(o2, "N1", from_="0 psi", gas="nitrox32")).fitting
        assert [n.o2 for n in found if n.o2] == [Percent.parse(f"{o2} %")] * fits
    # what was analysed of nitrox is no oxygen: half of each is 26.5
    half = fill("2026-11-06", from_="1500 psi", source="B1", gas="nitrox28", o2="30 %", **JO)
    assert len(mixes(HALF, half).fitting) == 1
    # nor where nobody read what was left
    assert len(mixes(HALF, last("32", "N1")).fitting) == 1
    assert len(mixes(HALF, last("32", "N1", from_="1500 psi")).fitting) == 2


def test_nothing_of_before_is_kept_once_it_was_empty() -> None:
    whole = last("32", "N1", "2026-11-03", from_="0 psi")
    assert mixes(whole).fitting
    assert not mixes(whole, read("2026-11-04", "0 psi")).fitting
    for nothing in ([], [read("2026-11-04", "0 psi")]):
        again = mixes(whole, *nothing, fill("2026-11-05", from_="0 psi", source="B1"))
        assert not again.fitting
        assert len(again.since) == 1
        assert hash(again) == hash(again)


def test_a_card_that_is_asked_about_as_of_another_day_is_another() -> None:
    book = book_of(last("32", "O1", from_="0 psi"), station=BANKS, service="oxygen")
    card = book.cylinders["A"]
    tested = book_of(requalified=work_of("2026-11-06")).cylinders["A"].requalified
    for _ in range(2):
        assert mix_of(book, card).denied
        assert not mix_of(book, replace(card, requalified=tested)).denied


@pytest.mark.parametrize(
    ("other", "what"),
    [
        # what the other side only read let nothing in
        (read("2026-11-04", "1500 psi", "B"), "denied"),
        (line("2026-11-03T12", "reading", "B", to="1500 psi", gas="oxygen"), "denied"),
        (fill("2026-11-03T12", "B", to="1500 psi", gas="oxygen"), "denied"),  # the same, of each
        # a fill that names no gas is not what was read here
        (fill("2026-11-04T12", "B", from_="1400 psi", to="1500 psi", gas=""), ""),
    ],
)
def test_what_comes_in_by_the_other_side(other: str, what: str) -> None:
    own = fill("2026-11-03", from_="0 psi", to="1500 psi", gas="oxygen", source="O1")
    log = [own, read("2026-11-04", "1500 psi"), other, last("32", "N1", from_="1500 psi")]
    assert told(*log, sets=DOUBLES) == what


def test_what_the_other_side_is_called_is_judged_there() -> None:
    other = fill("2026-11-06", "B", gas="nitrox32", source="B1", from_="500 psi")
    assert told(AIRED, other, sets=DOUBLES) == ""


def test_the_other_side_at_nothing_answers_nothing_here() -> None:
    for other in (read("2026-11-06", "0 psi", "B"), fill("2026-11-06", "B", to="10 psi", gas="")):
        log = [last("32", "O1", from_="0 psi"), other]
        assert told(*log, sets=DOUBLES) == "denied"


def test_which_banks_are_taken_to_have_held_their_gas_all_along() -> None:
    held = ("air", "oxygen", "nitrox50", "nitrox49", "trimix55/20", "trimix18/45", "helium")
    assert [g for g in held if is_always(Gas.parse(g))] == ["air", "oxygen", "nitrox50"]


def test_without_a_station_nothing_is_known_of_its_banks() -> None:
    assert told(last("32", "O1", from_="0 psi"), station=None) == ""


def test_work_that_lets_it_out_ends_it() -> None:
    for on, what in (("2026-11-05", "denied"), ("2026-11-06", "")):
        assert told(last("32", "O1", from_="0 psi"), requalified=work_of(on)) == what


@pytest.mark.parametrize(
    ("other", "what"),
    [
        # what went into both sides at once may be written of each
        ({}, "denied"),
        # whatever came in by the isolator is shared, nobody knows how: that is oxygen all the same
        ({"to": "1400 psi"}, "denied"),
        ({"gas": "air"}, "denied"),
        ({"on": "2026-11-04"}, "denied"),
        ({"to": "1400 psi", "source": "B1"}, ""),
        ({"gas": "air", "source": "N1"}, ""),
        ({"on": "2026-11-04", "source": ""}, ""),
    ],
)
@pytest.mark.parametrize("first", ["A", "B"])
def test_both_sides_filled_alike(other: dict[str, str], what: str, first: str) -> None:
    hours = {"A": ("T08", "T09"), "B": ("T09", "T08")}[first]
    step = {"gas": "oxygen", "from_": "0 psi", "to": "1500 psi", "source": "O1"}
    theirs = {**step, **other}
    log = [
        fill(f"2026-11-03{hours[0]}", "A", **step),
        fill(theirs.pop("on", "2026-11-03") + hours[1], "B", **theirs),
        fill("2026-11-05", "D", gas="nitrox32", o2="32 %", source="N1", from_="1500 psi", **JO),
    ]
    book = book_of(*log, station=BANKS, sets=DOUBLES, service="oxygen")
    found = mix_of(book, book.cylinders["A"])
    # what began with nothing after that was empty
    after = first == "B" and other.get("source") in {"B1", "N1"}
    assert ("denied" if found.denied else "") == ("denied" if after else what)


def test_what_the_other_side_was_filled_alike_with_is_not_let_out() -> None:
    """Its analysis is told of both sides: the isolator is open."""
    bad = {"gas": "nitrox32", "o2": "38 %", "from_": "0 psi", **JO}
    log = [fill("2026-11-03T08", "A", **{**bad, "o2": "32 %"}), fill("2026-11-03T09", "B", **bad)]
    book = book_of(*log, station=BANKS, sets=DOUBLES, service="oxygen")
    told = [f for f in check(book, dt.date(2026, 11, 25)) if f.code == "analysed-otherwise"]
    assert {str(f.severity) for f in told} == {"fault"}


BLEND = [
    STEP.replace("200 psi", "460 psi"),
    last("38", "B1", from_="460 psi", to="3200 psi"),
]


@pytest.mark.parametrize(
    ("more", "severity"),
    [
        ([], "fault"),
        ([analysed("2026-11-06", "32.2")], "advice"),  # 14.4 + 17.9 = 32.3
        ([analysed("2026-11-06", "32.2", gas="nitrox32")], "advice"),
        ([last("32", "O1", "2026-11-06", from_="3200 psi", to="3210 psi")], "advice"),
        ([analysed("2026-11-06", "38")], "fault"),  # it is not what was logged
        ([line("2026-11-06", "reading", o2="32.2 %")], "fault"),  # nobody says who
        ([analysed("2026-11-04", "32.2")], "fault"),  # of before
        # let out since
        ([read("2026-11-06", "0 psi")], "advice"),
        ([last("32", "N1", "2026-11-06", from_="0 psi")], "advice"),
    ],
)
def test_who_sampled_before_it_was_mixed_and_after_is_heard(more: list[str], severity: str) -> None:
    assert _otherwise([*BLEND, *more]) == severity


@pytest.mark.parametrize(
    ("blend", "more"),
    [
        # the first was off, and more oxygen made it right
        (last("28", "O1+B1", from_="0 psi"), last("32.2", "O1", "2026-11-06", from_="3000 psi", to="3180 psi")),
        # of one line, sampled before it was mixed
        (last("37", "O1+B1", from_="0 psi"), analysed("2026-11-06", "32.1")),
    ],
)  # fmt: skip
def test_a_blend_that_was_mended_is_heard(blend: str, more: str) -> None:
    assert _otherwise([blend]) == "fault"
    assert _otherwise([blend, more]) == "advice"


def test_a_reading_that_was_off_and_a_blend_that_was_mended() -> None:
    begun = [fill("2026-11-05", gas="nitrox32", from_="0 psi", source="O1+B1")]
    low = analysed("2026-11-06T08", "28")
    more = last("32.2", "O1", "2026-11-06T09", from_="3000 psi", to="3180 psi")
    for log, found in (([low], {"read-otherwise"}), ([low, more], set())):
        book = book_of(*begun, *log, station=BANKS, service="oxygen")
        codes = {f.code for f in check(book, dt.date(2026, 11, 25)) if str(f.severity) == "fault"}
        assert codes & {"read-otherwise", "made-otherwise"} == found


@pytest.mark.parametrize(
    "blend",
    [
        # three quarters of it are oxygen
        [STEP.replace("200 psi", "2400 psi"), last("80", "B1", from_="2400 psi", to="3200 psi")],
        # what it is made of is not known
        [STEP.replace("200 psi", "460 psi"), last("60", "cart", from_="460 psi", to="3200 psi")],
        [last("60", "", from_="0 psi", to="3200 psi")],
    ],
)
def test_a_second_analysis_that_cannot_be_is_not(blend: list[str]) -> None:
    assert _otherwise([*blend, analysed("2026-11-06", "32")]) == "fault"


def _otherwise(log: list[str]) -> str:
    book = book_of(*log, station=BANKS, service="oxygen")
    found = [f for f in check(book, dt.date(2026, 11, 25)) if f.code == "analysed-otherwise"]
    return str(found[0].severity) if found else ""


def test_cylinders_that_fill_each_other_over_and_over_are_answered() -> None:
    """Whatever one took of the other is worked out once: else each fill would double the work."""
    ways = [("B", "A"), ("A", "B")] * 40
    log = [
        fill(f"2026-11-{3 + n // 24:02}T{n % 24:02}", into, from_="500 psi", source=out)
        for n, (into, out) in enumerate(ways)
    ]
    log = [fill("2026-11-02", "B", from_="500 psi", source="C1"), *log]
    station = """
compressor: {name: C1}
air_tests:
  - {on: 2026-11-01, result: fail, source: C1}
  - {on: 2026-11-10, result: pass, source: C1}
"""
    found = {f.code for f in check(book_of(*log, station=station), dt.date(2026, 11, 25))}
    assert "bad-air" in found
