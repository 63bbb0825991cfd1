"""Recall: what was filled from a bad source, or named in a notice; where it is, whom to ring."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, STATION, TODAY, make_book, typed, with_lines
from changing import replace

from tankbook.acts.hold import hold_all
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.rulerow import WatchRow
from tankbook.records.station import masters_of
from tankbook.rules.recall import (
    NOBODY,
    Asked,
    Link,
    Still,
    by_fills,
    by_notice,
    by_source,
    failed_test,
    gas_labels,
    gauge_called,
    source_of_test,
)

STATION_C1 = """
compressor: {name: C1}
banks:
  - {name: B1, water_volume: 48 L}
  - {name: B2, water_volume: 48 L}
air_tests:
  - {on: 2026-04-10, by: Lab, standard: cga-grade-e, result: pass, source: C1}
  - {on: 2026-10-12, by: Lab, standard: cga-grade-e, result: pass}
  - {on: 2026-11-25, by: Lab, standard: cga-grade-e, result: fail, co: 18 ppm, source: C1}
"""


def fill(id_: str, on: str, source: str = "", from_: str = "500 psi", to: str = "3000 psi") -> str:
    return (
        f"at={on}T10:00:00+00:00; cylinder={id_}; act=fill; from={from_}; to={to};"
        f" temperature=70 degF; gas=air; by=MV; source={source}"
    )


def act(id_: str, on: str, what: str, to: str) -> str:
    return f"at={on}T12:00:00+00:00; cylinder={id_}; act={what}; to={to}; by=MV"


def shop(*log: str, cards: str = "ABCD", station: str = STATION_C1, **changes: str) -> Book:
    made = {n: with_lines(GOOD, serial=f"K{n}", **changes) for n in cards}
    return make_book(made, station=station, log="\n".join(log))


def ids(book: Book, source: str, since: dt.date | None = None) -> dict[str, Link]:
    return {s.id: s.link for s in by_source(book, source, TODAY, since).suspects}


def test_a_failed_sample_names_its_source() -> None:
    failed = failed_test(shop())
    assert failed is not None
    assert (str(failed.on), source_of_test(shop(), failed)) == ("2026-11-25", "C1")
    assert failed_test(shop(station=STATION)) is None


def test_a_sample_over_its_limits_counts_as_failed_whatever_the_laboratory_says() -> None:
    over = STATION_C1.replace("result: fail", "result: pass")
    failed = failed_test(shop(station=over))
    assert failed is not None
    assert by_source(shop(station=over), "C1", TODAY).since == dt.date(2026, 10, 12)


def test_the_compressor_takes_in_its_banks_and_what_names_no_source() -> None:
    book = shop(
        fill("A", "2026-11-01", "C1"),
        fill("B", "2026-11-01", "B1+B2"),
        fill("C", "2026-11-01"),
        fill("D", "2026-11-01", "elsewhere"),
    )
    assert ids(book, "C1") == {"A": Link.DIRECT, "B": Link.BANK, "C": Link.UNKNOWN}


@pytest.mark.parametrize(
    ("said", "link"),
    [
        ("C1 outlet", Link.DIRECT),
        ("compressor", Link.DIRECT),
        ("C1/B1", Link.DIRECT),
        ("bank B1", Link.BANK),
        ("banks", Link.BANK),
        ("Elsewhere", None),
        ("elsewhere: Dive C1", None),
        ("", Link.UNKNOWN),
        ("C2", Link.UNKNOWN),
        ("direct", Link.UNKNOWN),
    ],
)
def test_a_source_is_read_as_the_place_of_a_sample_is(said: str, link: Link | None) -> None:
    found = ids(shop(fill("A", "2026-11-01", said), cards="A"), "C1")
    assert found == ({"A": link} if link else {})


OFF = {"sent": "[{on: 2026-10-20, to: N, for: repair}]"}
HELD = {"held": "[{on: 2026-10-20, by: MV, why: dent}]"}


@pytest.mark.parametrize(
    ("isolator", "off", "found"),
    [
        ("open", {}, {"A": Link.DIRECT, "B": Link.DIRECT}),
        ("shut", {}, {"A": Link.DIRECT}),
        ("open", HELD, {"A": Link.DIRECT, "B": Link.DIRECT}),
        ("open", OFF, {"A": Link.DIRECT}),
    ],
)
def test_what_one_side_took_went_through_an_open_isolator_into_the_other(
    isolator: str, off: dict[str, str], found: dict[str, Link]
) -> None:
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="K2", **off)}
    doubles = f"cylinders: [A, B]\nisolator: {isolator}\n"
    log = [fill("A", "2026-11-01", "C1"), act("A", "2026-11-02", "drain", "0 psi")]
    book = make_book(cards, station=STATION_C1, sets={"D": doubles}, log="\n".join(log))
    assert ids(book, "C1") == found
    # emptied by itself, it is empty; the other side is not known to be
    still = {s.id: s.still for s in by_source(book, "C1", TODAY).suspects}
    assert still == {"A": Still.EMPTIED, "B": Still.HOLDS} if "B" in found else {"A": Still.EMPTIED}
    again = fill("A", "2026-11-03", "elsewhere", from_="0 psi")
    book = make_book(cards, station=STATION_C1, sets={"D": doubles}, log="\n".join([*log, again]))
    still = {s.id: s.still for s in by_source(book, "C1", TODAY).suspects}
    assert still.get("B", Still.MIXED) is Still.MIXED


def test_a_bank_takes_in_what_names_it_and_what_names_none() -> None:
    book = shop(
        fill("A", "2026-11-01", "C1"),
        fill("B", "2026-11-01", "B1+B2"),
        fill("C", "2026-11-01"),
        fill("D", "2026-11-01", "B1"),
    )
    assert ids(book, "B2") == {"B": Link.DIRECT, "C": Link.UNKNOWN}


def test_only_what_came_since_the_last_good_test_counts() -> None:
    book = shop(
        fill("A", "2026-10-11", "C1"),
        fill("B", "2026-10-12", "C1"),
        fill("C", "2026-10-13", "C1"),
    )
    found = by_source(book, "C1", TODAY)
    assert [s.id for s in found.suspects] == ["B", "C"]
    assert found.why_since == "its last good test by Lab was on 2026-10-12"
    assert list(ids(book, "C1", dt.date(2026, 10, 1))) == ["A", "B", "C"]


def test_a_good_test_after_the_failed_one_is_not_called_the_last() -> None:
    again = STATION_C1 + "  - {on: 2026-11-26, by: Lab, standard: cga-grade-e, result: pass,"
    again += " co: 1 ppm, source: C1}\n"
    found = by_source(shop(station=again), "C1", dt.date(2026, 11, 27))
    assert found.since == dt.date(2026, 10, 12)
    why = "its last good test by Lab before the failed one of 2026-11-25 was on 2026-10-12"
    assert found.why_since == why


def test_a_good_test_of_the_compressor_clears_no_bank() -> None:
    book = shop(fill("A", "2025-01-01", "B1"))
    found = by_source(book, "B1", TODAY)
    assert (found.since, [s.id for s in found.suspects]) == (None, ["A"])
    assert found.why_since == "no good test of it is on record: the whole log counts"
    tested = STATION_C1 + "  - {on: 2026-11-01, by: Lab, result: pass, source: B1}\n"
    assert by_source(shop(station=tested), "B1", TODAY).since == dt.date(2026, 11, 1)


@pytest.mark.parametrize(
    ("drawn_at", "source"),
    [("W1", "C1"), ("panel", "C1"), ("B1+B2", "C1"), ("bank B2", "B2"), ("compressor", "C1")],
)
def test_a_failed_sample_speaks_against_all_that_lies_behind_it(drawn_at: str, source: str) -> None:
    station = (
        "whips: [{name: W1}]"
        + STATION_C1
        + f"  - {{on: 2026-11-26, by: Lab, result: fail, source: {drawn_at}}}\n"
    )
    failed = failed_test(shop(station=station))
    assert failed is not None
    assert source_of_test(shop(station=station), failed) == source


def test_a_good_sample_of_a_whip_clears_no_source() -> None:
    good = "  - {on: 2026-11-20, by: Lab, standard: cga-grade-e, result: pass, source: W1}\n"
    station = "whips: [{name: W1}]" + STATION_C1 + good
    assert by_source(shop(station=station), "C1", TODAY).since == dt.date(2026, 10, 12)


def test_struck_out_tests_and_lines_do_not_count() -> None:
    void = "void: {why: x, by: MV, on: 2026-11-25}"
    struck = STATION_C1.replace("co: 18 ppm", f"co: 18 ppm, {void}")
    assert failed_test(shop(station=struck)) is None
    gone = "at=2026-11-02T10:00:00+00:00; cylinder=A; act=void; voids=2026-11-01T10:00:00+00:00 A; by=MV; note=x"
    assert ids(shop(fill("A", "2026-11-01", "C1"), gone), "C1") == {}


@pytest.mark.parametrize(
    ("later", "still"),
    [
        ([], Still.HOLDS),
        ([act("A", "2026-11-02", "reading", "1200 psi")], Still.HOLDS),
        ([fill("A", "2026-11-02", "elsewhere")], Still.MIXED),
        ([fill("A", "2026-11-02", "elsewhere", from_="0 psi")], Still.EMPTIED),
        ([act("A", "2026-11-02", "drain", "0 psi")], Still.EMPTIED),
        ([act("A", "2026-11-02", "drain", "300 psi")], Still.HOLDS),
    ],
)
def test_whether_it_still_holds_the_gas(later: list[str], still: Still) -> None:
    (found,) = by_source(shop(fill("A", "2026-11-01", "C1"), *later), "C1", TODAY).suspects
    assert found.still is still


@pytest.mark.parametrize(
    ("changes", "place", "ring"),
    [
        ({"place": "rack 2"}, "rack 2", ""),
        (
            {"rented": "[{on: 2026-11-24, to: B-4471}]", "status": "out"},
            "out since 2026-11-24",
            "B-4471",
        ),
        (
            {"handed_over": "[{on: 2026-11-20, to: C-0192}]", "status": "sold"},
            "sold 2026-11-20",
            "C-0192",
        ),
        (
            {
                "sent": "[{on: 2026-11-20, to: Northside, for: requalification}]",
                "status": "at-test",
            },
            "away for requalification",
            "Northside",
        ),
        ({"use": "customer", "owner": "C-7"}, "with its owner", "C-7"),
        ({"use": "customer"}, "with its owner", "owner not recorded"),
        (
            {"use": "customer", "jobs": "[{on: 2026-11-20, work: [fill]}]"},
            "here, for work",
            "",
        ),
    ],
)
def test_where_it_is_and_whom_to_ring(changes: dict[str, str], place: str, ring: str) -> None:
    book = shop(fill("A", "2026-11-01", "C1"), cards="A", **changes)
    (found,) = by_source(book, "C1", TODAY).suspects
    assert (found.place, found.ring) == (place, ring)
    assert found.still is (Still.OUT_OF_HAND if ring else Still.HOLDS)


def test_doubles_are_recalled_as_both_their_cylinders_and_found_where_the_set_is() -> None:
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    sets = {"D": "cylinders: [A, B]\nrented: [{on: 2026-11-24, to: B-5}]"}
    book = make_book(cards, sets=sets, station=STATION_C1, log=fill("D", "2026-11-01", "C1"))
    found = by_source(book, "C1", TODAY)
    assert [(s.id, s.place, s.ring) for s in found.suspects] == [
        ("A", "out in D since 2026-11-24", "B-5"),
        ("B", "out in D since 2026-11-24", "B-5"),
    ]


def test_those_to_be_rung_for_come_first() -> None:
    book = shop(fill("A", "2026-11-01", "C1"), fill("B", "2026-11-01", "C1"))
    out = with_lines(GOOD, serial="KB", status="out", rented="[{on: 2026-11-24, to: B-1}]")
    cards = {**book.cylinders, "B": make_book({"B": out}).cylinders["B"]}
    found = by_source(replace(book, cylinders=cards), "C1", TODAY)
    assert [s.id for s in found.suspects] == ["B", "A"]
    assert ([s.id for s in found.away], [s.id for s in found.here]) == (["B"], ["A"])


def test_a_cylinder_whose_file_cannot_be_read_is_recalled_too() -> None:
    book = shop(fill("A", "2026-11-01", "C1"))
    without = {k: v for k, v in book.cylinders.items() if k != "A"}
    broken = replace(book, cylinders=without, broken={"A": ()})
    (found,) = by_source(broken, "C1", TODAY).suspects
    assert (found.id, found.place) == ("A", "its file cannot be read")


@pytest.mark.parametrize(
    "asked",
    [
        Asked("C1"),
        Asked(person="MV"),
        Asked(since=dt.date(2026, 10, 30), until=dt.date(2026, 11, 2)),
        Asked("C1", person="MV", since=dt.date(2026, 10, 30)),
    ],
)
def test_what_was_filled_and_has_no_card_is_rung_for(asked: Asked) -> None:
    line = fill("CU-9", "2026-11-01", "C1") + "; note=a walk-in, C-0192"
    book = shop(line, fill("A", "2026-11-01", "C1"))
    (found,) = by_fills(book, asked, TODAY).away
    assert (found.id, found.status, found.held) == ("CU-9", None, False)
    assert (found.place, found.ring) == ("no card of it here (a walk-in, C-0192)", NOBODY)
    assert found.still is Still.OUT_OF_HAND


def test_nothing_is_called_held_that_cannot_be() -> None:
    book = shop(fill("CU-9", "2026-11-01", "C1"))
    found = by_fills(book, Asked(person="MV"), TODAY)
    got = hold_all(book, found, why="oil in the air", by="MV", on=TODAY)
    assert isinstance(got, Refusal)
    assert got.reasons == (
        "CU-9 could not be held: it has no card here; find whoever had it filled",
    )
    both = by_fills(book_with(book, "A"), Asked(person="MV"), TODAY)
    act = hold_all(book_with(book, "A"), both, why="oil in the air", by="MV", on=TODAY)
    assert isinstance(act, Act)
    assert act.sentence == "Held A: oil in the air"
    assert "CU-9 could not be held: it has no card here" in act.notes[0]


def book_with(book: Book, id_: str) -> Book:
    """With a fill of a cylinder that has a card."""
    more = shop(fill(id_, "2026-11-02", "C1")).log
    return replace(book, log=(*book.log, *more))


def test_the_sources_are_those_of_the_station_and_of_the_log() -> None:
    assert gas_labels(shop(fill("A", "2026-11-01", "X9"))) == ("C1", "B1", "B2", "X9")


# --- a maker's notice


def notice(keys: str) -> WatchRow:
    text = f"id: notice\nbasis: practice\ncitation: x\nverified: memory\nrecall: return\n{keys}"
    found: WatchRow = typed(WatchRow, text)
    return found


def test_a_notice_finds_its_serials() -> None:
    cards = {
        "A": with_lines(GOOD, serial="K100"),
        "B": with_lines(GOOD, serial="K150"),
        "C": with_lines(GOOD, serial="K250"),
        "D": with_lines(GOOD, serial="K150", maker="Another Maker"),
    }
    row = notice("maker: [Example Cylinder Co]\nserial_from: K120\nserial_to: K199")
    found = by_notice(make_book(cards), row, "notice")
    assert {s.id: s.link for s in found.suspects} == {"B": Link.NOTICE}


def test_what_the_record_does_not_say_is_held_against_it() -> None:
    cards = {
        "A": with_lines(GOOD, serial="K150", maker=None),
        "B": with_lines(GOOD, serial="K151", requalified=None),
        "C": with_lines(GOOD, serial="K152", requalified=None, made="2001-01"),
    }
    row = notice("maker: [Example Cylinder Co]\nmade_from: 2020-01")
    found = by_notice(make_book(cards), row, "notice")
    assert {s.id: s.link for s in found.suspects} == {"A": Link.MAYBE, "B": Link.MAYBE}


def test_a_gauge_is_found_by_the_label_that_it_had_before() -> None:
    """Also as the master that it was made under that label; a label of today goes first."""
    masters = "masters: [{on: 2026-10-01, gauge: G1, by: MV}]"
    gauges = "gauges: [{name: G7, formerly: [G1, G3]}, {name: G3}]"
    made = make_book({"A": GOOD}, station=f"{gauges}\n{masters}\n")
    assert made.station is not None
    called = {n: g.name if (g := gauge_called(made, n)) else "" for n in ("g1", "G3", "G7", "G9")}
    assert called == {"g1": "G7", "G3": "G3", "G7": "G7", "G9": ""}
    assert [g.name for g in masters_of(made.station)] == ["G7"]
