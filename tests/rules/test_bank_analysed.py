"""Analyses of a bank that say otherwise than one before, or than what went in: which of them count."""

from __future__ import annotations

import datetime as dt

import acting
import pytest
from books import GOOD, make_book
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.correct import correct
from tankbook.acts.station_day import bump_tested
from tankbook.acts.station_upkeep import analyse, raise_bank, read_banks
from tankbook.acts.striking import Wrong
from tankbook.records.book import Book
from tankbook.rules.out_of_use import part_reasons
from tankbook.units import GaugePressure, Percent

TODAY = acting.TODAY
BANK = "  - {name: %s, water_volume: 48 L, gas: %s, working_pressure: 4500 psi, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]%s}\n"
KIT = (
    "instruments: [{name: OA-1, kind: oxygen-analyser, bumped: [%s]},"
    " {name: OA-2, kind: oxygen-analyser}, {name: CO-1, kind: co-monitor}]\n"
)


def text(entries: str, gas: str = "air", bumped: str = "", own: str = "") -> str:
    more = f", {entries}" if entries else ""
    return (
        f"compressor: {{name: C1}}\nbanks:\n{BANK % ('B1', gas, more)}{BANK % ('B2', 'air', '')}"
        f"{BANK % ('O1', 'oxygen', '')}{BANK % ('N2', 'nitrox36', '')}{KIT % bumped}"
    )


def out(made: Book) -> bool:
    told = {r.code for r in part_reasons(made, TODAY) if "bank B1 " in r.text}
    return "bank-hold-other-gas" in told


def at(day: int, hour: str, oxygen: float, with_: str = "", helium: str = "") -> str:
    kit = f", with: {with_}" if with_ else ""
    return f"{{on: 2026-11-{day}, at: '{hour}', oxygen: {oxygen} %{kit}{helium}}}"


BAD = at(20, "10:00", 24.5)


@pytest.mark.parametrize(
    ("entries", "found"),
    [
        (f"analysed: [{BAD}]", True),
        # nothing went in between
        (f"analysed: [{BAD}, {at(20, '11:00', 20.9)}]", True),
        (f"analysed: [{BAD}, {at(23, '11:00', 20.9)}]", True),
        (f"analysed: [{BAD}, {at(21, '11:00', 20.9)}, {at(22, '11:00', 20.9)}]", True),
        # no more apart than analysers differ
        (f"analysed: [{at(20, '10:00', 22.2)}, {at(20, '11:00', 21.8)}]", False),
        # another analyser, twice
        (f"analysed: [{BAD}, {at(21, '11:00', 20.9, 'OA-2')}]", True),
        (f"analysed: [{at(20, '10:00', 24.5, 'OA-1')}, {at(21, '11:00', 20.9, 'OA-2')}, {at(21, '11:30', 20.8, 'OA-2')}]", False),
        (f"analysed: [{at(20, '10:00', 24.5, 'OA-1')}, {at(21, '11:00', 20.9, 'OA-1')}, {at(21, '11:30', 20.8, 'OA-1')}]", True),
        (f"analysed: [{BAD}, {at(21, '11:00', 20.9, 'OA-1')}, {at(21, '11:30', 20.8, 'OA-2')}]", False),
        (f"analysed: [{BAD}, {at(21, '11:00', 20.9, 'OA-2')}, {at(21, '11:30', 20.8, 'OA-2')}]", True),
        # what is no oxygen analyser of the station
        (f"analysed: [{at(20, '10:00', 24.5, 'OA-1')}, {at(21, '11:00', 20.9, 'CO-1')}, {at(21, '11:30', 20.8, 'X')}]", True),
        # what says otherwise again begins anew
        (f"analysed: [{at(20, '10:00', 24.5, 'OA-1')}, {at(21, '11:00', 20.9, 'OA-2')}, {at(21, '11:10', 24.4, 'OA-1')}, {at(21, '11:30', 20.8, 'OA-2')}]", True),
        # bled and raised anew, or so little left that it makes no more of it
        (f"analysed: [{BAD}], readings: [{{on: 2026-11-20, at: '12:00', pressure: 0 psi}}], raised: [{{on: 2026-11-20, at: '13:00', from: 0 psi, to: 4000 psi, source: C1}}]", False),
        (f"analysed: [{BAD}], raised: [{{on: 2026-11-20, at: '13:00', from: 0 psi, to: 4000 psi, source: C1}}]", False),
        (f"analysed: [{BAD}], raised: [{{on: 2026-11-20, at: '13:00', from: 0 psi, to: 4000 psi, source: O1}}]", True),
        (f"analysed: [{BAD}], raised: [{{on: 2026-11-20, at: '13:00', from: 300 psi, to: 4000 psi, source: C1}}]", True),
        (f"analysed: [{BAD}, {at(20, '14:00', 21.2)}], raised: [{{on: 2026-11-20, at: '13:00', from: 300 psi, to: 4000 psi, source: C1}}]", False),
        # nobody says how much was left
        (f"analysed: [{BAD}, {at(20, '14:00', 20.9)}], raised: [{{on: 2026-11-20, at: '13:00', to: 4000 psi, source: C1}}]", True),
        # a breath of air makes no air of it
        (f"analysed: [{BAD}, {at(20, '14:00', 20.9)}], raised: [{{on: 2026-11-20, at: '13:00', from: 3950 psi, to: 4000 psi, source: C1}}]", True),
        (f"analysed: [{at(20, '10:00', 23)}, {at(20, '14:00', 20.9)}], raised: [{{on: 2026-11-20, at: '13:00', from: 3950 psi, to: 4000 psi, source: C1}}]", True),
        # what went in says otherwise
        (f"analysed: [{at(21, '14:00', 20.9)}], raised: [{{on: 2026-11-20, from: 3000 psi, to: 4000 psi, source: O1}}]", True),
        (f"analysed: [{at(21, '14:00', 20.9)}], raised: [{{on: 2026-11-20, from: 3990 psi, to: 4000 psi, source: O1}}]", False),
        (f"analysed: [{at(21, '14:00', 20.9)}], raised: [{{on: 2026-11-20, from: 2000 psi, to: 4000 psi, source: N2}}]", True),
        (f"analysed: [{at(21, '14:00', 20.9)}], raised: [{{on: 2026-11-20, to: 4000 psi, source: N2}}]", False),
        (f"analysed: [{at(21, '14:00', 20.9, 'OA-1')}, {at(21, '14:10', 20.9, 'OA-2')}], raised: [{{on: 2026-11-20, from: 2000 psi, to: 4000 psi, source: N2}}]", False),
        # that it is what it is
        (f"analysed: [{at(19, '10:00', 20.9)}, {at(20, '10:00', 20.7)}, {at(21, '10:00', 21.3)}]", False),
    ],
)  # fmt: skip
def test_which_analyses_let_a_bank_go(entries: str, found: bool) -> None:
    assert out(make_book({"A": GOOD}, station=text(entries))) is found


@pytest.mark.parametrize(
    ("bumped", "found"),
    [
        ("{on: 2026-11-21, by: MV}", False),
        ("{on: 2026-11-19, by: MV}", True),
        ("{on: 2026-11-20, by: MV}", True),  # of that day nobody knows which was first
        ("{on: 2026-11-21, by: MV, result: fail}", True),
        ("{on: 2026-11-23, by: MV}", True),  # after them
    ],
)
def test_an_analyser_that_was_held_to_a_known_gas_since(bumped: str, found: bool) -> None:
    entries = f"analysed: [{at(20, '10:00', 24.5, 'OA-1')}, {at(22, '11:00', 20.9, 'OA-1')}, {at(22, '12:00', 20.9, 'OA-1')}]"
    assert out(make_book({"A": GOOD}, station=text(entries, bumped=bumped))) is found


@pytest.mark.parametrize(
    ("oxygen", "then", "raises", "found"),
    [
        # the blend came out lean, and was topped with what it lacked
        (28, 32.2, "{on: 2026-11-20, at: '12:00', from: 3800 psi, to: 4000 psi, source: O1}", False),
        (28, 32.2, "", True),
        (35, 32.5, "{on: 2026-11-20, at: '12:00', from: 3000 psi, to: 4000 psi, source: C1}", False),
        # a compressor may be fed with oxygen
        (28, 32, "{on: 2026-11-20, at: '12:00', from: 500 psi, to: 4000 psi, source: C1}", False),
        (28, 32, "{on: 2026-11-20, at: '12:00', from: 3990 psi, to: 4000 psi, source: O1}", True),
    ],
)  # fmt: skip
def test_a_blend_that_is_set_right_needs_no_bleeding(
    oxygen: float, then: float, raises: str, found: bool
) -> None:
    entries = f"since: 2026-11-01, analysed: [{at(20, '10:00', oxygen)}, {at(20, '14:00', then)}], raised: [{raises}]"
    assert out(make_book({"A": GOOD}, station=text(entries, "nitrox32"))) is found


# --- the ways out, and nothing else

EARLIER = "analysed: [{on: 2026-11-20, at: '10:00', oxygen: 24.5 %, with: OA-1}]"
BY = {"by": "MV", "on": TODAY}


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


IDLE = {
    "analysed": lambda m, at: m.do(analyse, "B1", oxygen=Percent.of(20.9, "%"), at=at, **BY),
    "same kit": lambda m, at: m.do(
        analyse, "B1", oxygen=Percent.of(20.8, "%"), analyser="OA-1", at=at, **BY
    ),
    "read": lambda m, at: m.do(read_banks, {"B1": psi(3000)}, at=at, **BY),
    "a breath": lambda m, at: m.do(raise_bank, "B1", from_=psi(2990), to=psi(3000), at=at, **BY),
    "otherwise": lambda m, at: m.do(analyse, "B1", oxygen=Percent.of(24.4, "%"), at=at, **BY),
}


def bled(made: acting.Shelf, when: dt.time) -> None:
    made.do(read_banks, {"B1": psi(0)}, at=when, **BY)


def struck(made: acting.Shelf, when: dt.time) -> None:
    now = dt.datetime(2026, 11, 25, 23, tzinfo=dt.UTC)
    assert made.book.station is not None
    for entry in made.book.station.banks[0].analysed:
        if entry.oxygen.percent > 22 and entry.void is None:
            wrong = Wrong("B1.analysed", str(entry.on), "the sensor was at its end")
            entries = [a for a in made.book.station.banks[0].analysed if a.on == entry.on]
            wrong = Wrong(wrong.what, f"{entry.on}#{entries.index(entry) + 1}", wrong.why)
            made.do(correct, "station", wrong, **BY, now=now)


def again(made: acting.Shelf, when: dt.time) -> None:
    made.do(bump_tested, "OA-1", **BY)
    for minute in (1, 2):
        hour = when.replace(minute=when.minute + minute)
        made.do(analyse, "B1", oxygen=Percent.of(20.9, "%"), analyser="OA-1", at=hour, **BY)


def shelf() -> acting.Shelf:
    return acting.shelf(station=text(EARLIER), A=GOOD)


@given(st.lists(st.sampled_from(sorted(IDLE)), max_size=6, unique=True))
def test_nothing_else_lets_a_bank_go_that_was_analysed_as_another_gas(names: list[str]) -> None:
    made = shelf()
    for hour, name in enumerate(names, 9):
        IDLE[name](made, dt.time(hour))
    assert out(made.book)


@pytest.mark.parametrize("way", [bled, struck, again])
@pytest.mark.parametrize("before", [[], ["analysed"], ["read", "a breath", "analysed"]])
def test_each_way_out_lets_it_go(way: object, before: list[str]) -> None:
    made = shelf()
    for hour, name in enumerate(before, 9):
        IDLE[name](made, dt.time(hour))
    assert out(made.book)
    way(made, dt.time(20))  # type: ignore[operator]
    assert not out(made.book)


def test_an_analyser_is_one_of_the_station() -> None:
    said = shelf().refuse(analyse, "B1", oxygen=Percent.of(20.9, "%"), analyser="CO-1", **BY)
    assert "oxygen analyser CO-1 is not in station.yaml (there is: OA-1, OA-2)" in said


def test_what_answers_nothing_says_why_and_what_would() -> None:
    made = shelf()
    done = made.do(analyse, "B1", oxygen=Percent.of(20.9, "%"), at=dt.time(9), **BY)
    notes = " ".join(done.notes)
    assert "it answers nothing yet: that of 2026-11-20, 24.5 % oxygen" in notes
    for way in ("bleed it to 0", "somebody certified strikes it out", "or 2 that agree", "--with"):
        assert way in notes
