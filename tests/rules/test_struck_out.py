"""What is struck out stays readable and counts for nothing, anywhere."""

from __future__ import annotations

import datetime as dt

import books
import pytest

from tankbook.records.book import Book
from tankbook.rules.answers import State
from tankbook.rules.board import board
from tankbook.rules.checks import check
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.rules.status import status_of

VOID = "void: {why: wrong card, by: MV, on: 2026-11-20}"


def faults(book: Book) -> list[str]:
    found = check(book.as_known_on(books.TODAY), books.TODAY)
    return [f.code for f in found if f.code != "no-marks"]


def with_entry(text: str) -> Book:
    return books.make_book({"RB-014": books.GOOD + text})


ENTRIES = {
    "a test in the future": ("requalified", "on: 2027-03, method: hydrostatic, by: T123"),
    "a test before it was made": ("requalified", "on: 2020-03, method: hydrostatic, by: T123"),
    "a failed test": ("requalified", "on: 2026-03, method: hydrostatic, by: T123, result: fail"),
    "a test beyond the limit": (
        "requalified",
        "on: 2026-03, method: hydrostatic, by: T123, total_expansion: 0.05 L, "
        "permanent_expansion: 0.04 L",
    ),
    "a plus on aluminium": ("requalified", "on: 2026-03, method: hydrostatic, by: T123, plus: yes"),
    "a second first test": ("requalified", "on: 2024-04, method: hydrostatic, by: maker"),
    "an inspection by a stranger": (
        "inspected",
        "on: 2026-03-01, by: ZZ, checklist: annual, result: pass",
    ),
    "an unknown checklist": ("inspected", "on: 2026-03-01, by: MV, checklist: none, result: pass"),
    "a crack": (
        "inspected",
        "on: 2026-03-01, by: MV, checklist: annual, result: reject, "
        "findings: [{step: neck-cracks, result: reject}]",
    ),
    "a hold": ("held", "on: 2026-03-01, why: dent"),
    "a sending": ("sent", "on: 2026-03-01, to: Northside, for: requalification"),
    "a sending not refitted": (
        "sent",
        "on: 2026-03-01, to: Northside, for: requalification, back: 2026-03-02",
    ),
    "a rental": ("rented", "on: 2026-03-01, to: B-1"),
    "a return with the valve open": (
        "rented",
        "on: 2026-03-01, to: B-1, back: 2026-03-02, valve: open, damage: bent",
    ),
    "a sale": ("handed_over", "on: 2026-03-01, to: C-1"),
    "a rejection": ("rejected", "on: 2026-03-01, by: MV, why: pit"),
    "a condemnation": ("condemned", "on: 2026-03-01, by: T123, why: crack"),
    "a loss": ("lost", "on: 2026-03-01, by: MV"),
}


@pytest.mark.parametrize("name", ENTRIES)
def test_a_struck_out_entry_changes_no_answer(name: str) -> None:
    kind, entry = ENTRIES[name]
    lines = books.GOOD.splitlines(keepends=True)
    line = f"  - {{{entry}, {VOID}}}\n"
    at = next((i for i, each in enumerate(lines) if each.startswith(f"{kind}:")), None)
    text = (
        books.GOOD + f"{kind}:\n{line}"
        if at is None
        else "".join([*lines[: at + 1], line, *lines[at + 1 :]])
    )
    plain, struck = books.make_book({"RB-014": books.GOOD}), books.make_book({"RB-014": text})
    assert faults(struck) == faults(plain) == []
    assert due(struck, books.TODAY) == due(plain, books.TODAY)
    assert may_fill(struck, "RB-014", books.TODAY) == may_fill(plain, "RB-014", books.TODAY)
    cylinder = struck.cylinders["RB-014"]
    assert status_of(struck, cylinder) == status_of(plain, plain.cylinders["RB-014"])
    stands = books.make_book({"RB-014": text.replace(f", {VOID}", "")})
    assert (faults(stands), may_fill(stands, "RB-014", books.TODAY)) != (
        [],
        may_fill(plain, "RB-014", books.TODAY),
    )


STATION = """
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}@test@],
     readings: [{on: 2026-11-24, pressure: 4400 psi}@reading@]}
compressor: {hours: [{on: 2026-11-24, reads: 412.5 h}@hours@]}
filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}@change@]}]
whips: [{name: W1, fitted: 2026-05@whip@}]
relief_valves: [{name: R1, checked: [{on: 2026-04-01}@relief@]}]
gauges: [{name: G1, checked: [{on: 2026-04-01, against: TG, reads: 3040 psi, true: 3000 psi}@gauge@]}]
air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass}@air@]
"""  # fmt: skip

PARTS = {
    "test": ", {on: 2026-06, method: hydrostatic, by: T123, result: fail@}",
    "reading": ", {on: 2026-11-25, pressure: 9400 psi@}",
    "hours": ", {on: 2026-11-25, reads: 4125 h@}",
    "change": ", {on: 2026-11-24, at: 4120 h@}",
    "whip": ", checked: [{on: 2026-06-01, result: fail@}]",
    "relief": ", {on: 2026-06-01, result: fail@}",
    "gauge": ", {on: 2026-12-01, against: TG, reads: 3040 psi, true: 3000 psi@}",
    "air": ", {on: 2026-11-12, standard: cga-grade-e, result: fail@}",
}


def station(**entries: str) -> Book:
    text = STATION
    for part in PARTS:
        text = text.replace(f"@{part}@", entries.get(part, ""))
    return books.make_book({"RB-014": books.GOOD}, station=text)


def state_of(book: Book) -> tuple[object, ...]:
    day = dt.date(2026, 11, 25)
    return due(book, day), board(book, day).banks, may_fill(book, "RB-014", day), faults(book)


@pytest.mark.parametrize("part", PARTS)
def test_a_struck_out_entry_of_the_station_changes_no_answer(part: str) -> None:
    void = VOID.replace("2026-11-20", "2026-11-25")
    struck = station(**{part: PARTS[part].replace("@", f", {void}")})
    assert state_of(struck) == state_of(station())
    assert state_of(station(**{part: PARTS[part].replace("@", "")})) != state_of(station())


@pytest.mark.parametrize(
    ("part", "why"),
    [
        ("whip", "W1 failed its whip check on 2026-06-01"),
        ("relief", "R1 failed its relief check on 2026-06-01"),
        ("test", "B1 failed its bank test on 2026-06"),
    ],
)
def test_a_part_that_failed_its_newest_check_is_overdue(part: str, why: str) -> None:
    """That it is still within the period of an older pass does not help it."""
    book = station(**{part: PARTS[part].replace("@", "")})
    item = next(d for d in due(book, books.TODAY) if d.why == why)
    assert item.state is State.OVERDUE
    assert item.failed
    told = " ".join(r.text for r in may_fill(book, "RB-014", books.TODAY).reasons)
    assert f"{item.part} failed its " in told
    assert "2026-06" in told


def test_a_new_whip_ends_the_failure_of_the_old_one() -> None:
    text = PARTS["whip"].replace("@", "")
    book = station(whip=text)
    renewed = books.make_book(
        {"RB-014": books.GOOD},
        station="whips: [{name: W1, fitted: 2026-07, checked: [{on: 2026-06-01, result: fail}]}]",
    )
    [item] = [d for d in due(renewed, books.TODAY) if d.part == "W1"]
    assert item.state is State.OK
    assert any(d.state is State.OVERDUE and d.part == "W1" for d in due(book, books.TODAY))


LINE = "at=2026-11-20T09:30:00+01:00; cylinder=RB-014; act=fill; to=3000 psi; gas=air; by=MV"
LINES = {
    "an unknown cylinder": LINE.replace("RB-014", "RB-099"),
    "the future": LINE.replace("2026-11-20", "2027-11-20"),
    "no gas": LINE.replace("gas=air; ", ""),
    "an overfill": LINE.replace("3000", "3900"),
    "an empty reading": LINE.replace("act=fill; to=3000 psi; gas=air", "act=reading; to=0 psi"),
}


@pytest.mark.parametrize("name", LINES)
def test_a_struck_out_line_changes_no_answer(name: str) -> None:
    line = LINES[name]
    at, cylinder = (part.split("=")[1] for part in line.split("; ")[:2])
    void = f"at=2026-11-21T09:30:00+01:00; cylinder={cylinder}; act=void; voids={at} {cylinder}; note=wrong; by=MV"
    plain = books.make_book({"RB-014": books.GOOD})
    struck = books.make_book({"RB-014": books.GOOD}, log=f"{line}\n{void}")
    assert [f for f in check(struck, books.TODAY) if f.severity == "fault"] == []
    assert contents_of(struck, "RB-014") == contents_of(plain, "RB-014")
    assert may_fill(struck, "RB-014", books.TODAY) == may_fill(plain, "RB-014", books.TODAY)
    stands = books.make_book({"RB-014": books.GOOD}, log=line)
    assert faults(stands) or contents_of(stands, "RB-014") != contents_of(plain, "RB-014")
