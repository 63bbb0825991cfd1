"""What was known at the hour of an incident, and nothing later."""

from __future__ import annotations

import datetime as dt

import books
import pytest

from tankbook.rules.incident import bank_then, book_then, cylinder_then
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
