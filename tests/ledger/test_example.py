"""The example ledger: it is in order, and it holds every situation the rules know."""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from tankbook.gas import Gas
from tankbook.ledger import shipped
from tankbook.ledger.begin import GITATTRIBUTES, GITIGNORE
from tankbook.ledger.load import load
from tankbook.records.book import Book
from tankbook.records.log import LogLine
from tankbook.records.node import Severity
from tankbook.records.words import LogAct, Shore, Status, Use
from tankbook.rules.answers import State
from tankbook.rules.board import board
from tankbook.rules.bookings import rental_board
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill
from tankbook.rules.limits import limit_of
from tankbook.rules.schedule import due
from tankbook.rules.status import status_of
from tankbook.units import GaugePressure, PartialDate

ROOT = Path(__file__).parents[2] / "example_ledger"
TODAY = dt.date(2026, 11, 25)


@cache
def the_book() -> Book:
    return load(ROOT, today=TODAY, clock=TODAY)


@pytest.fixture(name="book")
def _book() -> Book:
    return the_book()


# --- in order ------------------------------------------------------------------------------------


def test_it_validates_clean(book: Book) -> None:
    assert not book.findings
    assert not [str(f) for f in check(book, TODAY) if f.severity is Severity.FAULT]


def test_the_advice_it_gives_is_meant(book: Book) -> None:
    told = [(f.code, f.where.path) for f in check(book, TODAY)]
    assert told == [
        ("no-marks", "cylinders/CU-062.yaml"),
        ("no-marks", "cylinders/CU-072.yaml"),
        ("permit", "cylinders/CU-072.yaml"),
        ("permit", "cylinders/CU-072.yaml"),
        ("no-marks", "cylinders/SF-052.yaml"),
        ("filled-while", "fills/2026.csv"),
    ]


@pytest.mark.parametrize(
    "day", ["2025-08-01", "2026-01-15", "2026-04-20", "2026-07-15", "2026-11-24"]
)
def test_it_was_in_order_on_earlier_days(day: str) -> None:
    then = dt.date.fromisoformat(day)
    findings = check(load(ROOT, today=then, clock=TODAY), then)
    assert not [str(f) for f in findings if f.severity is Severity.FAULT]


def test_its_size(book: Book) -> None:
    lines = Counter(line.at.year for line in book.log)
    assert set(lines) == {2025, 2026}
    assert 2400 <= lines.total() <= 2700
    assert 36 <= len(book.cylinders) <= 44
    assert len(book.settings.people) == 5
    assert sum(f.stat().st_size for f in ROOT.rglob("*") if f.is_file()) < 600_000


def test_nothing_is_later_than_its_day() -> None:
    """Bookings and promises look ahead; what happened does not."""
    for path in ROOT.rglob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        ahead = {"until", "promised", "life_ends"}
        for key, day in re.findall(r"(\w+): (\d{4}-\d{2}(?:-\d{2})?)\b", text):
            assert key in ahead or PartialDate.parse(day).first <= TODAY, (
                f"{path.name}: {key} {day}"
            )
    assert max(line.at.date() for line in the_book().log) < TODAY


def test_git_treats_it_as_init_would_have_it() -> None:
    assert (ROOT / ".gitattributes").read_text(encoding="utf-8") == GITATTRIBUTES
    assert (ROOT / ".gitignore").read_text(encoding="utf-8") == GITIGNORE


def test_the_log_is_plain_csv_as_another_reader_sees_it(book: Book) -> None:
    rows = []
    for path in sorted((ROOT / "fills").glob("*.csv")):
        assert b"\r" not in path.read_bytes()
        with path.open(encoding="utf-8", newline="") as file:
            rows += list(csv.DictReader(file))
    assert [(r["at"], r["cylinder"]) for r in rows] == [
        (line.at.isoformat(), line.cylinder) for line in book.log
    ]


def test_local_time_keeps_its_offset_through_the_year(book: Book) -> None:
    """Offset -04:00 from the second Sunday of March to the first of November, else -05:00."""
    for line in book.log:
        year = line.at.year
        summer = {2025: ("03-09", "11-02"), 2026: ("03-08", "11-01")}[year]
        begins, ends = (dt.date.fromisoformat(f"{year}-{day}") for day in summer)
        hours = -4 if begins <= line.at.date() < ends else -5
        assert line.at.utcoffset() == dt.timedelta(hours=hours), line.at


def test_everybody_in_the_log_could_do_what_they_did(book: Book) -> None:
    """Operators were certified as fillers that day and had not left; analysts as analysts."""
    wanted: set[tuple[str, str, dt.date]] = set()
    for line in book.log:
        assert line.by
        wanted.add((line.by, "filler", line.at.date()))
        if line.analysed_by:
            wanted.add((line.analysed_by, "analyst", line.at.date()))
    for initials, skill, day in sorted(wanted):
        person = book.settings.people[initials]
        assert person.left is None or day <= person.left.last, (initials, day)
        assert any(
            c.skill == skill and c.from_.first <= day and (not c.until or day <= c.until.last)
            for c in person.certifications
        ), (initials, skill, day)


def test_the_log_names_parts_of_the_station(book: Book) -> None:
    assert book.station is not None
    assert book.station.compressor is not None
    sources = {b.name for b in book.station.banks} | {book.station.compressor.name}
    positions = {p.name for p in book.station.positions}
    for line in fills(book):
        assert line.source_
        assert set(line.source_.split("+")) <= sources
        assert line.position in positions


def test_no_fill_while_the_station_was_closed(book: Book) -> None:
    """From the failed air sample of 13 July 2026 to the passing one of the 16th."""
    closed = [line for line in fills(book) if dt.date(2026, 7, 13) < line.at.date()]
    assert min(line.at.date() for line in closed) > dt.date(2026, 7, 16)


def fills(book: Book) -> list[LogLine]:
    return [line for line in book.log if line.act is LogAct.FILL]


# --- every situation -----------------------------------------------------------------------------

ANSWERS = [
    ("RB-011", "air", "yes"),
    ("RB-014", "air", "yes"),
    ("RB-016", "air", "standing-out"),
    ("RB-017", "air", "standing-out"),
    ("RB-018", "air", "returned-valve-open"),
    ("RB-019", "air", "damage-noted"),
    ("RB-020", "air", "visual-overdue"),
    ("RB-021", "air", "requalification-overdue"),
    ("RB-022", "air", "standing-at-test"),
    ("RB-024", "air", "standing-held"),
    ("RB-031", "air", "yes"),
    ("RB-032", "air", "standing-awaiting-inspection"),
    ("RB-033", "air", "yes"),
    ("RB-034", "air", "yes"),
    ("RB-043", "air", "isolator-shut"),
    ("RB-044", "air", "requalification-overdue"),
    ("RB-011", "nitrox32", "gas-not-for-service"),
    ("DB-01", "nitrox32", "yes"),
    ("DB-01", "air", "contents-differ"),
    ("DB-02", "air", "requalification-overdue"),
    ("PN-091", "air", "yes"),
    ("PN-092", "air", "returned-empty"),
    ("SF-051", "air", "visual-missing"),
    ("SF-052", "air", "mark-required"),
    ("SF-053", "air", "yes"),
    ("SF-054", "air", "standing-sold"),
    ("SF-055", "air", "yes"),
    ("CU-061", "air", "yes"),
    ("CU-062", "air", "yes"),
    ("CU-063", "air", "yes"),
    ("CU-066", "air", "eddy-current-overdue"),
    ("CU-067", "air", "standing-rejected"),
    ("CU-068", "air", "standing-condemned"),
    ("CU-069", "air", "yes"),
    ("CU-071", "air", "mark-required"),
    ("CU-072", "air", "requalification-missing"),
    ("ST-081", "nitrox32", "yes"),
    ("ST-082", "nitrox32", "oxygen-clean-lost"),
    ("ST-083", "air", "standing-at-repair"),
    ("PL-086", "air", "recalled"),
    ("PL-087", "air", "standing-lost"),
    ("BK-101", "oxygen", "yes"),
]


@pytest.mark.parametrize(("id_", "gas", "expected"), ANSWERS)
def test_what_may_be_filled(book: Book, id_: str, gas: str, expected: str) -> None:
    answer = may_fill(book, id_, TODAY, Gas.parse(gas))
    said = "yes" if answer.fillable else answer.refusals[0].code
    assert said == expected, [r.text for r in answer.refusals]


FURTHER = {
    "CU-061": {"disc-unknown", "oxygen-clean-never"},
    "CU-066": {"disc-above-test-pressure"},
    "CU-068": {"neck-crack"},
    "CU-069": {"standing-awaiting-collection"},
    "CU-071": {"requalification-missing", "visual-missing"},
    "CU-072": {
        "permit-missing-period",
        "permit-missing-test-pressure",
        "permit-past-life-end",
        "service-life-overdue",
        "thread-unread",
        "valve-rating-unknown",
        "gas-service-unknown",
    },
    "SF-052": {"alloy-unknown", "fill-limit"},
    "ST-083": {"valve-rating-below"},
    "DB-02": {"isolator-shut"},
}


@pytest.mark.parametrize("id_", FURTHER)
def test_what_else_stands_against_them(book: Book, id_: str) -> None:
    told = {
        r.code
        for gas in ("air", "nitrox32")
        for r in may_fill(book, id_, TODAY, Gas.parse(gas)).reasons
    }
    assert told >= FURTHER[id_]


LEFT_OUT = {
    "bench.permit.missing-life-end": "its one composite without papers has its end of life read",
    "bench.standing.at-supplier": "nothing went back to its supplier here",
    "bench.standing.stolen": "no serial is recorded as stolen here",
    "bench.standing.refused-found": "nobody here was refused for a crack, a bulge or heat",
    "bench.standing.refused-leak": "nobody here was refused for a leak",
    "bench.standing.noted-shell": "no note here speaks of a crack, heat or a fall",
    "bench.standing.noted-gas": "no note here puts a gas in doubt",
    "bench.expansion-limit.beyond": "no test here kept more than any rule lets a cylinder keep",
    "bench.permit.period-too-long": "no permit here gives more years than the papers of any do",
    "bench.thread-match.differ": "a fault in `validate`; see the broken ledgers",
    "bench.regulator.unknown": "the regulator was read",
    "bench.regulator.above-limit": "asked with a setting only",
    "bench.air-test.failed": "asked of 15 July 2026 below",
    "bench.air-test.none": "there are air tests",
    "bench.gauge-ceiling.station-part": "every part of the station stands more than is filled here",
    "bench.damage.over-heated": "nothing here was in a fire",
    "bench.damage.over-heated-steel": "nothing here was in a fire",
    "bench.neck-crack.suspected": "its one crack was confirmed",
    "bench.oxygen-clean.lapsed": "nobody here sets a cleaning an end",
    "bench.oxygen-clean.unsure": "every fill here names its source",
    "bench.upkeep.failed": "no upkeep is kept here; see tests/rules/test_upkeep_due.py",
    "bench.upkeep.amiss": "no upkeep is kept here; see tests/rules/test_upkeep_due.py",
}

OF_FITTINGS = ("bench.outlet.", "bench.valve-rating.")
"""The rows of what a valve stands: every outlet is asked about in tests/rules/test_chain.py."""

OF_PARTS = (
    "bench.gauge-check.",
    "bench.whip-check.",
    "bench.position-check.",
    "bench.relief-check.",
    "bench.regulator.failed",
    "bench.co-alarm",
    "bench.opening",
    "bench.bank-hold",
    "bench.source.",
    "bench.leaving.",
)
"""What leaves is asked about as it leaves (tests/rules/test_leaving.py). Every part of the station here is fit; what is not is in tests/rules/test_out_of_use.py."""


def test_every_practice_row_about_cylinders_is_met_with_somewhere(book: Book) -> None:
    """Each row for a state at the fill station answers for something here, or is named above."""
    met = {
        row
        for id_ in (*book.cylinders, *book.sets)
        for gas in ("air", "nitrox32")
        for row in may_fill(book, id_, TODAY, Gas.parse(gas)).rests_on
    }
    states = [r for r in shipped.rule_set("bench").rows if r.applies_to and r.applies_to.state]
    unmet = {r.id for r in states} - met
    assert {r for r in unmet if not r.startswith((*OF_FITTINGS, *OF_PARTS))} == set(LEFT_OUT)


def test_every_status_and_every_use(book: Book) -> None:
    statuses = {status_of(book, c) for c in book.cylinders.values()}
    assert statuses == set(Status) - {Status.AT_SUPPLIER}  # as LEFT_OUT says
    assert {c.use for c in book.cylinders.values()} == set(Use)


def test_working_pressures_stand_side_by_side(book: Book) -> None:
    rental = [c for c in book.cylinders.values() if c.use is Use.RENTAL]
    assert {str(c.service_pressure) for c in rental} == {
        "2640 psi",
        "3000 psi",
        "3300 psi",
        "3442 psi",
    }
    assert book.settings.units is Shore.PSI
    assert str(book.cylinders["CU-061"].service_pressure) == "232 bar"


def test_the_plus_counts_only_on_the_latest_test(book: Book) -> None:
    kept, lost = book.cylinders["RB-031"], book.cylinders["RB-032"]
    limits = {c.id: limit_of(book, c) for c in (kept, lost)}
    assert [round(limit.pressure.psi) for limit in limits.values() if limit] == [2904, 2640]
    before = load(ROOT, today=dt.date(2026, 10, 15), clock=TODAY)
    then = limit_of(before, before.cylinders["RB-032"])
    assert then is not None
    assert round(then.pressure.psi) == 2904


def test_the_low_pressure_steel_is_filled_once_the_regulator_is_down(book: Book) -> None:
    turned_down = GaugePressure.parse("2250 psi")
    assert may_fill(book, "CU-069", TODAY, fill_pressure=turned_down).fillable


def test_the_station_was_closed_after_the_failed_sample() -> None:
    then = dt.date(2026, 7, 15)
    answer = may_fill(load(ROOT, today=then, clock=TODAY), "RB-011", then)
    assert {r.code for r in answer.refusals} == {"air-test-failed"}


def test_what_is_struck_out_is_still_there(book: Book) -> None:
    assert sum(line.act is LogAct.VOID for line in book.log) == 4
    struck = [i for c in book.cylinders.values() for i in c.inspected if i.void]
    assert len(struck) == 1


def test_facts_against_advice_are_there(book: Book) -> None:
    notes = [line.note or "" for line in book.log]
    assert sum(n.startswith("happened:") for n in notes) == 1
    assert sum(bool(line.override) for line in book.log) == 1
    assert {line.act for line in book.log} == set(LogAct)


def test_sales_stock_waits_without_its_sticker(book: Book) -> None:
    floor = [
        c.id
        for c in book.cylinders.values()
        if c.use is Use.SALE and status_of(book, c) is Status.IN_SERVICE
    ]
    assert floor == ["SF-053", "SF-055"]
    assert all(book.cylinders[i].inspected[-1].sticker == "withheld" for i in floor)


def test_owners_were_told(book: Book) -> None:
    rejected = book.cylinders["CU-067"].rejected[0]
    refused = book.cylinders["CU-071"].refused[0]
    assert rejected.told is not None
    assert refused.told is not None


# --- the board -----------------------------------------------------------------------------------


def test_the_board_of_the_day(book: Book) -> None:
    today = board(book, TODAY)
    assert not today.station_refusals
    assert not any(bank.stale for bank in today.banks)
    assert today.air_test_until == dt.date(2027, 4, 20)
    assert {(r.size, r.gas): len(r.ids) for r in today.ready} == {
        ("al19", "air"): 1,
        ("al80", "air"): 2,
        ("al100", "air"): 1,
        ("doubles hp100", "nitrox32"): 1,
        ("hp100", "air"): 1,
        ("hp80", "nitrox32"): 1,
        ("lp95", "air"): 1,
    }
    assert {line.id for line in today.held} == {"RB-024", "CU-072"}
    assert {line.id for line in today.out} == {"RB-016", "RB-017"}
    assert [each.id for each in rental_board(book, TODAY).late] == ["RB-017"]


def test_what_is_due(book: Book) -> None:
    told = {
        state: {(d.id, d.part or d.obligation) for d in due(book, TODAY) if d.state is state}
        for state in (State.OVERDUE, State.SOON)
    }
    assert told[State.OVERDUE] >= {
        ("JW", "inspector"),
        ("RB-020", "visual"),
        ("RB-021", "requalification"),
        ("RB-044", "requalification"),
        ("CU-066", "eddy-current"),
    }
    assert told[State.SOON] >= {
        ("CU-062", "service-life"),
        ("RB-014", "requalification"),
        ("ST-081", "visual"),
        ("TO", "hazmat"),
        ("station", "G1"),
    }
