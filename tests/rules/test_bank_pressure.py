"""Banks that were read far above their marks: what keeps them out, and what lets them be used again."""

from __future__ import annotations

import datetime as dt
from itertools import chain, combinations

import acting
import pytest
from books import GOOD, make_book
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.correct import correct
from tankbook.acts.station_papers import bank_looked_at
from tankbook.acts.station_parts import check_gauge, check_relief
from tankbook.acts.station_upkeep import bank_tested, raise_bank, read_banks
from tankbook.acts.striking import Wrong
from tankbook.records.book import Book
from tankbook.rules.board import board
from tankbook.rules.out_of_use import PartSort, StationPart, out_of_use, part_reasons, parts_out
from tankbook.units import GaugePressure, PartialDate

TODAY = acting.TODAY
B1 = StationPart(PartSort.BANK, "B1")
READ = "{on: 2026-11-20, pressure: 9000 psi}, {on: 2026-11-21, pressure: 4000 psi}"
TESTED = "{on: 2024-03, method: hydrostatic, by: T123}"
GAUGE = "gauges: [{name: G1, master: yes, range: 6000 psi, checked: [{on: 2026-11-01, against: TG, reads: 4500 psi, true: 4500 psi}%s]}]\n"
RELIEF = "relief_valves: [{name: R1, set_at: 4500 psi, protects: [B1], checked: [{on: 2026-11-01, lifted: 4500 psi}%s]}]\n"


def text(
    readings: str = READ, bank: str = "", relief: str = "", gauge: str = "", tests: str = ""
) -> str:
    return (
        "compressor: {name: C1}\nbanks:\n"
        f"  - {{name: B1, water_volume: 48 L, gas: air, working_pressure: 4500 psi, period: 10 years,"
        f" requalified: [{TESTED}{tests}], readings: [{readings}]{bank}}}\n"
        "  - {name: B2, water_volume: 48 L, gas: air, working_pressure: 4500 psi, period: 10 years,"
        f" requalified: [{TESTED}]}}\n{relief}{gauge}"
    )


def codes(book: Book, day: dt.date = TODAY) -> set[str]:
    return {each.reason.code for each in out_of_use(book, day) if B1 in each.parts}


OUT, UNLIFTED = "bank-hold-over-pressed", "relief-check-did-not-lift"


@pytest.mark.parametrize(
    ("readings", "relief", "found"),
    [
        (READ, "", {OUT}),
        (READ, RELIEF % "", {OUT, UNLIFTED}),
        # by heat, and by all that a gauge may err
        ("{on: 2026-11-20, pressure: 4540 psi}", RELIEF % "", set()),
        ("{on: 2026-11-20, pressure: 4700 psi}, {on: 2026-11-21, pressure: 4400 psi}", "", set()),
        ("{on: 2026-11-20, pressure: 4949 psi}, {on: 2026-11-21, pressure: 4400 psi}", "", set()),
        ("{on: 2026-11-20, pressure: 4960 psi}, {on: 2026-11-21, pressure: 4400 psi}", "", {OUT}),
        # below the share of the mark, and above where its valve was to lift
        (
            "{on: 2026-11-20, pressure: 4900 psi}, {on: 2026-11-21, pressure: 4400 psi}",
            RELIEF % "",
            {UNLIFTED},
        ),
        # a valve that is to lift above what was read
        (READ, RELIEF.replace("4500", "9500") % "", {OUT, "relief-check-set-too-high"}),
        # another's valve
        (READ, RELIEF.replace("protects: [B1]", "protects: [B2]") % "", {OUT}),
        # one that names nothing is of what no other names
        (READ, RELIEF.replace(", protects: [B1]", "") % "", {OUT, UNLIFTED}),
        ("{on: 2026-11-20, pressure: 9000 psi, void: {why: misread, by: MV, on: 2026-11-20}}", "", set()),
    ],
)  # fmt: skip
def test_a_bank_read_far_above_its_mark_is_out_and_its_relief_valve_in_doubt(
    readings: str, relief: str, found: set[str]
) -> None:
    book = make_book({"A": GOOD}, station=text(readings, relief=relief))
    assert codes(book) == found
    assert (B1 in parts_out(book, TODAY)) is bool(found)
    assert bool(board(book, TODAY).banks[0].held) is bool(found)
    told = " ".join(r.text for r in part_reasons(book, TODAY))
    assert ("far above the 4500 psi marked on it" in told) is (OUT in found)
    assert ("relief valve R1 did not lift: bank B1 read" in told) is (UNLIFTED in found)


LOOKED = ", looked: [{on: 2026-11-22, by: MV, after: 2026-11-20, decided: no bulge and below its test%s}]"


@pytest.mark.parametrize(
    ("what", "left"),
    [
        ({"bank": LOOKED % ""}, {UNLIFTED}),
        ({"bank": LOOKED % ", result: fail"}, {OUT, UNLIFTED, "bank-hold-unfit"}),
        ({"bank": LOOKED.replace("no bulge and below its test", "x") % ""}, {OUT, UNLIFTED}),
        ({"bank": LOOKED.replace("by: MV", "by: ZZ") % ""}, {OUT, UNLIFTED}),
        # for an earlier one, for none, or before
        ({"bank": LOOKED.replace("2026-11-20", "2026-11-19") % ""}, {OUT, UNLIFTED}),
        ({"bank": LOOKED.replace(" after: 2026-11-20,", "") % ""}, {OUT, UNLIFTED}),
        ({"bank": LOOKED.replace("2026-11-22", "2026-11-19") % ""}, {OUT, UNLIFTED}),
        ({"tests": ", {on: 2026-11-23, method: hydrostatic, by: T123}"}, {UNLIFTED}),
        # of that month nobody knows which was first
        ({"tests": ", {on: 2026-11, method: hydrostatic, by: T123}"}, {OUT, UNLIFTED}),
        ({"relief": RELIEF % ", {on: 2026-11-22, lifted: 4500 psi}"}, {OUT}),
        ({"relief": RELIEF % ", {on: 2026-11-20, repaired: a new one was fitted}"}, {OUT}),
        ({"relief": RELIEF % ", {on: 2026-11-20, repaired: seat lapped}"}, {OUT}),
        # it only passed; of the same day nobody knows whether it was before
        ({"relief": RELIEF % ", {on: 2026-11-22}"}, {OUT, UNLIFTED}),
        ({"relief": RELIEF % ", {on: 2026-11-20, lifted: 4500 psi}"}, {OUT, UNLIFTED}),
        ({"relief": RELIEF % ", {on: 2026-11-20, lifted: 4500 psi, at: '23:00'}"}, {OUT, UNLIFTED}),
        ({"relief": RELIEF % ", {on: 2026-11-22, repaired: '-'}"}, {OUT, UNLIFTED}),
        # the gauge was false, by as much
        ({"gauge": GAUGE % ", {on: 2026-11-22, against: TG, reads: 8900 psi, true: 4300 psi}"}, set()),
        ({"gauge": GAUGE % ", {on: 2026-11-22, against: TG, reads: 4900 psi, true: 4500 psi}"}, {OUT, UNLIFTED}),
        ({"gauge": GAUGE % ", {on: 2026-11-22, against: TG, reads: 4500 psi, true: 4500 psi}"}, {OUT, UNLIFTED}),
        ({"gauge": GAUGE % ", {on: 2026-11-19, against: TG, reads: 8900 psi, true: 4300 psi}"}, {OUT, UNLIFTED}),
        # another gauge by then, or replaced for it
        (
            {"gauge": GAUGE.replace("range", "renewed: [{on: 2026-11-21, by: MV}], range") % ", {on: 2026-11-22, against: TG, reads: 8900 psi, true: 4300 psi}"},
            {OUT, UNLIFTED},
        ),
        (
            {"gauge": GAUGE.replace("range", "renewed: [{on: 2026-11-22, by: MV}], range") % ", {on: 2026-11-22, against: TG, reads: 8900 psi, true: 4300 psi}"},
            set(),
        ),
        (
            {"gauge": (GAUGE % "") + "schemes: [{name: WS1, of: [B1], examined: [{on: 2026-11-22, by: Examiner, next: 2028-11-22}]}]\n"},
            {UNLIFTED},
        ),
    ],
)  # fmt: skip
def test_what_lets_a_bank_be_used_again_that_was_read_far_above_its_mark(
    what: dict[str, str], left: set[str]
) -> None:
    parts = {"relief": RELIEF % "", "gauge": GAUGE % ""} | what
    book = make_book({"A": GOOD}, station=text(**parts))
    found = codes(book) - {"gauge-check-reads-high"}
    assert found == left


DONE = {"repaired": "repaired: seat lapped"}


@pytest.mark.parametrize(
    ("read", "tried", "lifted", "left"),
    [
        ("10:00", "10:01", "4500 psi", {OUT}),
        ("10:00", "10:00", "4500 psi", {OUT, UNLIFTED}),
        ("10:00", "09:00", "4500 psi", {OUT, UNLIFTED}),
        ("10:00", "", "4500 psi", {OUT, UNLIFTED}),
        ("", "10:01", "4500 psi", {OUT, UNLIFTED}),
        ("10:00", "10:01", "", {OUT, UNLIFTED}),  # it only passed
        # what was done to it before the bank rose let it rise
        ("10:00", "10:01", "repaired", {OUT}),
        ("10:00", "09:00", "repaired", {OUT, UNLIFTED}),
        ("10:00", "", "repaired", {OUT, UNLIFTED}),
        ("", "09:00", "repaired", {OUT}),
    ],
)
def test_of_the_day_of_the_reading_the_hours_say_whether_its_valve_was_tried_after_it(
    read: str, tried: str, lifted: str, left: set[str]
) -> None:
    at = ", at: '%s'"
    reading = f"{{on: 2026-11-20, pressure: 9000 psi{at % read if read else ''}}}"
    check = f"on: 2026-11-20{at % tried if tried else ''}{', ' * bool(lifted)}{DONE.get(lifted, f'lifted: {lifted}') if lifted else ''}"
    parts = {"readings": reading + ", {on: 2026-11-21, pressure: 4400 psi}"}
    made = make_book({"A": GOOD}, station=text(**parts, relief=RELIEF % f", {{{check}}}"))
    assert codes(made) == left


@pytest.mark.parametrize(
    ("rises", "looked", "left"),
    [
        (("10:00",), "10:30", set()),
        (("10:00",), "09:30", {OUT}),
        (("10:00",), "", set()),  # it names the day of the reading, and there was no other
        (("10:00", "12:00"), "13:00", set()),
        (("10:00", "12:00"), "11:00", {OUT}),
        (("10:00", "12:00"), "", {OUT}),
    ],
)
def test_a_look_is_for_what_was_read_before_it(
    rises: tuple[str, ...], looked: str, left: set[str]
) -> None:
    read = ", ".join(f"{{on: 2026-11-20, pressure: 9000 psi, at: '{at}'}}" for at in rises)
    read += ", {on: 2026-11-21, pressure: 4400 psi}"
    at = f"at: '{looked}', " if looked else ""
    bank = f", looked: [{{on: 2026-11-20, {at}by: MV, after: 2026-11-20, decided: no bulge}}]"
    assert codes(make_book({"A": GOOD}, station=text(read, bank=bank))) == left


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def shelf() -> acting.Shelf:
    return acting.shelf(station=text(relief=RELIEF % "", gauge=GAUGE % ""), A=GOOD)


def look(made: acting.Shelf) -> None:
    made.do(bank_looked_at, "B1", decided="no bulge, below its test pressure", by="MV", on=TODAY)


def try_valve(made: acting.Shelf) -> None:
    made.do(check_relief, "R1", lifted=psi(4500), by="MV", on=TODAY)


def new_valve(made: acting.Shelf) -> None:
    made.do(check_relief, "R1", new=True, set_at=psi(4500), by="MV", on=TODAY)


def hydro(made: acting.Shelf) -> None:
    made.do(bank_tested, "B1", on=PartialDate.of(TODAY), by="T123", today=TODAY)


def false_gauge(made: acting.Shelf) -> None:
    made.do(
        check_gauge, "G1", reads=psi(8900), true=psi(4300), against="TG", by="MV", on=TODAY
    )  # fmt: skip


def strike(made: acting.Shelf) -> None:
    wrong = Wrong("B1.readings", "2026-11-20", "bar was written as psi, 9000 was of a card")
    now = dt.datetime(2026, 11, 25, 13, tzinfo=dt.UTC)
    made.do(correct, "station", wrong, by="MV", now=now, on=TODAY)


def read(made: acting.Shelf) -> None:
    made.do(read_banks, {"B1": psi(3000)}, by="MV", on=TODAY)


def empty(made: acting.Shelf) -> None:
    made.do(read_banks, {"B1": psi(0)}, by="MV", on=TODAY, at=dt.time(12))


def pump(made: acting.Shelf) -> None:
    made.do(raise_bank, "B1", from_=psi(3000), to=psi(3500), by="MV", on=TODAY)


def passed(made: acting.Shelf) -> None:
    made.do(check_relief, "R1", note="looks clean", by="MV", on=TODAY)


OF_BANK, OF_VALVE, WHOLE = [look, hydro], [try_valve, new_valve], [false_gauge, strike]
IDLE = [read, empty, pump, passed]


@given(st.lists(st.sampled_from([*IDLE, *OF_BANK]), max_size=4))
def test_nothing_but_a_way_out_of_its_valve_lets_a_bank_be_used_again(acts: list[object]) -> None:
    made = shelf()
    for act in dict.fromkeys(acts):
        act(made)  # type: ignore[operator]
    assert UNLIFTED in codes(made.book)


@given(st.lists(st.sampled_from([*IDLE, *OF_VALVE]), max_size=4))
def test_nothing_but_a_look_or_a_test_passes_a_bank(acts: list[object]) -> None:
    made = shelf()
    for act in dict.fromkeys(acts):
        act(made)  # type: ignore[operator]
    assert OUT in codes(made.book)


WAYS = [*chain([(a, b) for a in OF_BANK for b in OF_VALVE], [(a,) for a in WHOLE])]


@pytest.mark.parametrize("way", WAYS, ids=lambda way: "+".join(each.__name__ for each in way))
def test_each_way_out_lets_it_be_used_again(way: tuple[object, ...]) -> None:
    for idle in chain([()], combinations(IDLE, 1)):
        made = shelf()
        for act in (*idle, *way):
            act(made)  # type: ignore[operator]
        assert codes(made.book) <= {"gauge-check-reads-high"}, idle


def test_a_look_says_for_which_reading_it_was_and_what_is_left() -> None:
    made = shelf()
    done = made.do(bank_looked_at, "B1", decided="no bulge, dry seats", by="MV", on=TODAY)
    assert done.sentence == "Looked at B1: no bulge, dry seats (after 9000 psi on 2026-11-20)"
    assert "relief valve R1 did not lift" in " ".join(done.notes)
    assert made.book.station is not None
    assert str(made.book.station.banks[0].looked[0].after) == "2026-11-20"
    assert "what was decided is not said" in shelf().refuse(
        bank_looked_at, "B1", decided="-", by="MV", on=TODAY
    )
    found = made.do(bank_looked_at, "b1", decided="bulged", unfit=True, by="MV", on=TODAY)
    assert "it is UNFIT" in found.sentence
    assert "bank-hold-unfit" in codes(made.book)
    made.do(bank_looked_at, "B1", decided="measured, round within 0.2 mm", by="MV", on=TODAY)
    assert "bank-hold-unfit" not in codes(made.book)
