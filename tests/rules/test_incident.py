"""What was known at the hour of an incident, and nothing later."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from books import GOOD, make_book
from hypothesis import given, settings
from hypothesis import strategies as st
from loglines import line
from sweep import tries

from tankbook.rules.incident import MOST_FILLS, bank_then, book_then, cylinder_then, sets_then
from tankbook.units import GaugePressure

ON = dt.date(2026, 11, 24)
LOG = """
at=2026-11-24T09:30:00+01:00; cylinder=RB-014; act=fill; from=500 psi; to=3000 psi; gas=air; by=MV; source=B1
at=2026-11-24T16:30:40+01:00; cylinder=RB-014; act=reading; to=2100 psi; by=MV
at=2026-11-24T18:30:00+01:00; cylinder=RB-014; act=reading; to=1200 psi; by=MV
at=2026-11-25T08:00:00+01:00; cylinder=RB-014; act=reading; to=900 psi; by=MV
"""
STATION = """
banks:
  - name: B1
    water_volume: 48 L
    gas: air
    readings:
      - {on: 2026-11-24, pressure: 4400 psi, at: "08:00"}
      - {on: 2026-11-24, pressure: 3900 psi, at: "17:00"}
"""


@pytest.mark.parametrize(
    ("at", "shows"),
    [
        ("08:00", None),
        ("09:30", "3000 psi"),
        ("16:29", "3000 psi"),
        ("16:30", "2100 psi"),
        ("18:30", "1200 psi"),
        ("", "1200 psi"),
    ],
)
def test_a_gauge_is_as_last_recorded_by_that_minute(at: str, shows: str | None) -> None:
    book = books.make_book({"RB-014": books.GOOD}, log=LOG)
    then = book_then(book, ON, dt.time.fromisoformat(at) if at else None)
    got = cylinder_then(then, "RB-014", None)
    assert (str(got.pressure) if got.pressure else None, got.given) == (shows, False)
    assert (got.recorded is None) == (shows is None)


def test_a_reading_that_was_given_goes_before_the_records_and_says_so() -> None:
    book = books.make_book({"RB-014": books.GOOD}, log=LOG)
    got = cylinder_then(book_then(book, ON, None), "RB-014", GaugePressure.of(1900, "psi"))
    assert (str(got.pressure), got.given, got.recorded) == ("1900 psi", True, None)


def test_a_hold_of_a_later_hour_was_not_there_yet() -> None:
    held = 'held: [{on: 2026-11-24, by: MV, why: dent, at: "17:00"}]\n'
    card = books.GOOD.replace("status: in-service", "status: held") + held
    book = books.make_book({"RB-014": card})
    for at, status in ((dt.time(16, 30), "in-service"), (dt.time(17), "held")):
        assert cylinder_then(book_then(book, ON, at), "RB-014", None).status == status


@pytest.mark.parametrize(("at", "shows"), [(dt.time(16), "4400 psi"), (None, "3900 psi")])
def test_a_bank_is_as_last_read_by_then(at: dt.time | None, shows: str) -> None:
    then = book_then(books.make_book(station=STATION), ON, at)
    assert then.station is not None
    got = bank_then(then, then.station.banks[0], ON, None)
    assert (got.part, str(got.pressure), got.recorded) == ("bank B1", shows, "2026-11-24")


SET = "cylinders: [RB-014, RB-015]\nmanifold: isolation manifold\nrating: 3442 psi\n"
OPENED = "isolator: open\nisolator_since: 2026-11-{}\n"
TURNED = (
    "isolator: none\nturned: [{{on: 2026-11-{}, at: '{}', stands: shut}},"
    " {{on: 2026-11-{}, at: '{}', stands: open}}]\n"
)
MADE_UP = "made_up: [{{on: 2026-11-24, by: MV, at: '{}'}}]\n"
APART = "apart: 2026-11-24\napart_by: MV\napart_at: '16:00'\n"


@pytest.mark.parametrize(
    ("said", "at", "stood"),
    [
        ("", "16:30", [(None, None)]),
        ("isolator: shut\n", "16:30", [("shut", None)]),
        (OPENED.format(20), "16:30", [("open", "2026-11-20")]),
        (OPENED.format(24), "16:30", [("open", "2026-11-24")]),
        (OPENED.format(25), "16:30", [(None, None)]),  # how it stood before is not known
        (TURNED.format(20, "09:00", 25, "09:00"), "16:30", [("shut", "2026-11-20 09:00")]),
        (TURNED.format(20, "09:00", 24, "16:00"), "16:30", [("open", "2026-11-24 16:00")]),
        (TURNED.format(24, "12:00", 24, "18:00"), "16:30", [("shut", "2026-11-24 12:00")]),
        (TURNED.format(24, "17:00", 24, "18:00"), "16:30", [("none", None)]),
        (MADE_UP.format("12:00"), "16:30", [(None, None)]),
        (MADE_UP.format("17:00"), "16:30", []),
        (MADE_UP.format("17:00"), "", [(None, None)]),  # it may have been
        (APART, "15:00", [(None, None)]),
        (APART, "16:30", []),
        (APART.replace("11-24", "11-23"), "16:30", []),
        (APART.replace("11-24", "11-25"), "16:30", [(None, None)]),
    ],
)
def test_a_cylinder_keeps_the_set_it_stood_in_as_that_stood_then(
    said: str, at: str, stood: list[tuple[str | None, str | None]]
) -> None:
    cards = {"RB-014": GOOD, "RB-015": GOOD.replace("K118204", "K118205")}
    book = make_book(cards, sets={"DB-02": SET + said})
    hour = dt.time.fromisoformat(at) if at else None
    then = book_then(book, ON, hour)
    for id_ in cards:
        got = sets_then(then, id_, ON, hour)
        assert [(s.isolator, s.isolator_since) for s in got] == stood
        for each in got:
            assert (each.id, each.cylinders) == ("DB-02", ("RB-014", "RB-015"))
            assert (each.manifold, str(each.rating)) == ("isolation manifold", "3442 psi")


HOURS = st.integers(6, 20)
PRESSURES = st.integers(1, 30).map(lambda n: n * 100)


@settings(max_examples=tries(25, 400), deadline=None)
@given(
    acts=st.lists(st.tuples(HOURS, st.sampled_from(["fill", "reading"]), PRESSURES), max_size=6,
                  unique_by=lambda each: each[0]),
    hour=HOURS,
    read_there=st.none() | PRESSURES,
)  # fmt: skip
def test_a_sheet_says_what_the_records_said_at_its_hour_and_nothing_later(
    acts: list[tuple[int, str, int]], hour: int, read_there: int | None
) -> None:
    """Against the lines as they were drawn, not as any judge of the records reads them."""
    day = dt.date(2026, 11, 24)
    log = [
        line(f"{day}T{at:02}", act, to=f"{psi} psi", **({"gas": "air"} if act == "fill" else {}))
        for at, act, psi in sorted(acts)
    ]
    book = make_book({"A": GOOD}, log="\n".join(log))
    given_there = GaugePressure.of(read_there, "psi") if read_there else None
    then = cylinder_then(book_then(book, day, dt.time(hour)), "A", given_there)
    known = [each for each in sorted(acts) if each[0] <= hour]
    filled = [(at, psi) for at, act, psi in known if act == "fill"]
    last = known[-1][2] if known else None
    told = f"{then.pressure}" if then.pressure is not None else None
    expected = read_there or last
    assert told == (f"{expected} psi" if expected else None)
    assert then.given is (read_there is not None)
    assert then.recorded == (str(day) if known and read_there is None else None)
    newest = [f"{day} {at:02}:00, to {psi} psi, air" for at, psi in reversed(filled)][:MOST_FILLS]
    assert [said[: len(want)] for said, want in zip(then.fills, newest, strict=True)] == newest
    is_air = (then.contents or "").startswith("air, ")
    assert not is_air or filled
    falls = [psi for _, _, psi in known]
    if filled and falls == sorted(falls, reverse=True) and known[0][1] == "fill":
        assert is_air  # nothing rose unexplained, and nothing was there before
