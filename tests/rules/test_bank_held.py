"""Banks set aside after a recall, what opens them, and cylinders that a recall keeps back."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Callable

import acting
import pytest
from acting import TODAY, Shelf
from books import GOOD, SETTINGS, make_book, typed, with_lines
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec.structs import replace

from tankbook.acts.away import send
from tankbook.acts.fill import Filling, Wanted
from tankbook.acts.fill import fill as fill_one
from tankbook.acts.hold import hold_all, release
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.acts.station_papers import bank_cleaned
from tankbook.acts.station_upkeep import raise_bank, read_banks
from tankbook.filling import PlanError
from tankbook.filling.from_station import banks_of, fit_of
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.records.edits import Act, Refusal
from tankbook.records.log import LogLine, columns
from tankbook.records.rulerow import Gate
from tankbook.records.station import Gauge
from tankbook.records.words import Bled, Status
from tankbook.rules.bad_air import Sure, bad_air_of, banks_of_bad_air
from tankbook.rules.bank_air import BankOrigin, air_of
from tankbook.rules.bank_held import banks_held, recalled_then
from tankbook.rules.bank_out import banks_out
from tankbook.rules.board import bank_state
from tankbook.rules.checks import check, of_card
from tankbook.rules.gate import station_reasons
from tankbook.rules.out_of_use import PartSort, StationPart, parts_out
from tankbook.rules.recall import Asked, Link, by_fills, by_source
from tankbook.units import GaugePressure, RunningTime

GOOD_VALUES = "standard: cga-grade-e, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, water: 18 mg/m3, odour: none"
OILY = GOOD_VALUES.replace("oil: 0.1 mg/m3", "oil: 9 mg/m3")
SMOKY = GOOD_VALUES.replace("co: 1 ppm", "co: 14 ppm")


def sample(day: int, source: str, values: str = GOOD_VALUES, result: str = "pass") -> str:
    return f"  - {{on: 2026-11-{day:02d}, by: Lab, result: {result}, source: {source}, {values}}}\n"


def failed(day: int, source: str = "C1", values: str = SMOKY) -> str:
    return sample(day, source, values, "fail")


FAILED = failed(10)
BEFORE = sample(1, "C1")
HELD = "held: [{on: 2026-11-11, by: MV, why: recall of C1}]"


OF_BEFORE = "readings: [{on: 2026-10-20, pressure: 4000 psi}]"
"""A bank that was full before all that is tried here, and not pumped since."""


def station(tests: str, one: str = "", two: str = OF_BEFORE) -> str:
    return (
        "compressor: {name: C1, hours: [{on: 2026-11-01, reads: 400 h}]}\n"
        "positions: [{name: P1, kind: enclosed}, {name: P2, kind: enclosed}]\n"
        "gauges:\n"
        "  - {name: G1, master: yes, checked: [{on: 2026-11-03, against: T, reads: 3000 psi, true: 3000 psi}]}\n"
        "  - {name: G2, position: P2, checked: [{on: 2026-11-03, against: T, reads: 3500 psi, true: 3000 psi}]}\n"
        "banks:\n"
        f"  - {{name: B1, water_volume: 48 L, gas: air, period: 10 years, requalified: [{{on: 2024-03, method: hydrostatic, by: T123}}]{one and f', {one}'}}}\n"
        f"  - {{name: B2, water_volume: 48 L, gas: air, period: 10 years, requalified: [{{on: 2024-03, method: hydrostatic, by: T123}}]{two and f', {two}'}}}\n"
        f"air_tests:\n{tests}"
    )  # fmt: skip


def book(tests: str, one: str = "", *, log: str = "", cards: str = "A", **more: str) -> Book:
    made = {n: with_lines(GOOD, serial=f"K{n}", **more) for n in cards}
    return make_book(made, station=station(tests, one), log=log)


def fill(day: int, source: str = "B1", id_: str = "A", **more: str) -> str:
    keys = "".join(f"; {key}={value}" for key, value in more.items() if key not in {"from_", "by"})
    return (
        f"at=2026-11-{day:02d}T10:00:00+00:00; cylinder={id_}; act=fill; to=3000 psi; gas=air;"
        f" from={more.get('from_', '500 psi')}; by={more.get('by', 'MV')}; source={source}{keys}"
    ).replace("by=;", "").replace("source=;", "")  # fmt: skip


def lists(**entries: str) -> str:
    return ", ".join(f"{key}: [{value}]" for key, value in entries.items())


AFTER = "{on: 2026-11-11, by: MV, why: recall of C1}"
EMPTIED = "{on: 2026-11-12, pressure: 0 psi}"


@pytest.mark.parametrize(
    ("tests", "one", "opened"),
    [
        (FAILED, lists(held=AFTER), False),
        # words and other parts' samples open nothing
        (FAILED + sample(12, "C1"), lists(held=AFTER), False),
        (FAILED + sample(12, "B2"), lists(held=AFTER), False),
        (FAILED + sample(12, "B1+B2"), lists(held=AFTER), False),
        # its own, that measured what had failed
        (FAILED + sample(12, "B1"), lists(held=AFTER), True),
        (FAILED + sample(11, "B1"), lists(held=AFTER), True),
        (FAILED + sample(9, "B1"), lists(held=AFTER), False),
        (FAILED + failed(12, "B1"), lists(held=AFTER), False),
        (
            FAILED + sample(12, "B1", GOOD_VALUES.replace("co: 1 ppm, ", "")),
            lists(held=AFTER),
            False,
        ),
        (
            FAILED
            + sample(12, "B1").replace("}", ", void: {why: x2, by: MV, on: 2026-11-13}}"),
            lists(held=AFTER),
            False,
        ),
        # read empty, and raised from what is good since
        (FAILED, lists(held=AFTER, readings=EMPTIED), False),
        (FAILED + sample(13, "C1"), lists(held=AFTER, readings=EMPTIED), False),
        (
            FAILED + sample(13, "C1"),
            lists(held=AFTER, readings=EMPTIED, raised="{on: 2026-11-14, to: 4400 psi}"),
            True,
        ),
        (
            FAILED + sample(13, "C1"),
            lists(held=AFTER, raised="{on: 2026-11-14, from: 0 psi, to: 4400 psi}"),
            True,
        ),
        (
            FAILED + sample(14, "C1"),  # on the day of the sample: nobody knows which was first
            lists(held=AFTER, readings=EMPTIED, raised="{on: 2026-11-14, to: 4400 psi}"),
            False,
        ),
        (
            FAILED + sample(14, "C1").replace(", by: Lab", ", at: '09:00', by: Lab"),
            lists(held=AFTER, readings=EMPTIED, raised="{on: 2026-11-14, at: '10:00', to: 4400 psi}"),
            True,
        ),
        (
            FAILED + sample(15, "C1"),  # raised before it was good
            lists(held=AFTER, readings=EMPTIED, raised="{on: 2026-11-14, to: 4400 psi}"),
            False,
        ),
        (
            FAILED + sample(13, "C1"),  # nobody recorded when: it may have been before
            lists(held=AFTER, readings=f"{EMPTIED}, {{on: 2026-11-14, pressure: 4400 psi}}"),
            False,
        ),
        (
            FAILED,
            lists(
                held=AFTER,
                readings=EMPTIED,
                raised="{on: 2026-11-14, to: 4400 psi, source: 'elsewhere: Quay'}",
            ),
            True,
        ),
        (
            FAILED,  # from a bank that nobody sampled
            lists(
                held=AFTER,
                readings=EMPTIED,
                raised="{on: 2026-11-14, to: 4400 psi, source: B2}",
            ),
            False,
        ),
        # topped, and never empty
        (
            FAILED + sample(13, "C1"),
            lists(
                held=AFTER,
                readings="{on: 2026-11-12, pressure: 100 psi}",
                raised="{on: 2026-11-14, to: 4400 psi}",
            ),
            False,
        ),
        # what stays behind in a vessel is not let out with the gas
        (
            failed(10, "C1", OILY) + sample(13, "C1"),
            lists(held=AFTER, readings=EMPTIED, raised="{on: 2026-11-14, to: 4400 psi}"),
            False,
        ),
        (failed(10, "C1", OILY) + sample(15, "B1"), lists(held=AFTER), True),
        # struck out
        (
            FAILED,
            lists(held=AFTER.replace("}", ", void: {why: no bank, by: MV, on: 2026-11-12}}")),
            True,
        ),
    ],
)  # fmt: skip
def test_what_opens_a_bank_that_was_set_aside(tests: str, one: str, opened: bool) -> None:
    made = book(BEFORE + tests, one)
    held = banks_held(made, TODAY)
    assert [h.name for h in held] == ([] if opened else ["B1"])
    for each in held:
        assert (each.why, str(each.since)) == ("recall of C1", "2026-11-11")
        assert "a good sample of it" in each.opens
        with pytest.raises(PlanError, match="out of use: bank B1 was set aside on 2026-11-11"):
            banks_of(made, TODAY, {"B1": GaugePressure.of(4000, "psi")})
    assert made.station
    fit = [b.name for b in fit_of(made, made.station, TODAY).banks]
    assert fit == (["B1", "B2"] if opened else ["B2"])


def test_a_bank_is_held_from_its_minute_on() -> None:
    held = lists(held="{on: 2026-11-11, at: '12:00', by: MV, why: recall}")
    made = book(BEFORE + FAILED, held)
    at = dt.datetime(2026, 11, 11, 11, 59, tzinfo=dt.UTC)
    assert recalled_then(made, at) == frozenset()
    assert recalled_then(made, at + dt.timedelta(minutes=1)) == {"b1"}
    untimed = book(BEFORE + FAILED, lists(held=AFTER))
    assert recalled_then(untimed, at) == frozenset()
    assert recalled_then(untimed, at + dt.timedelta(days=1)) == {"b1"}


def test_what_was_filled_from_a_bank_that_was_set_aside_holds_bad_air_for_certain() -> None:
    tests = BEFORE + FAILED + sample(12, "C1")  # the station is open again, the bank is not
    found = bad_air_of(made := book(tests, lists(held=AFTER), log=fill(14)), made.cylinders["A"])
    assert found
    assert found.certain
    made = book(tests, lists(held=AFTER), log=fill(14, "B2"))
    assert bad_air_of(made, made.cylinders["A"]) is None
    made = book(tests + sample(13, "B1"), lists(held=AFTER), log=fill(14))
    assert bad_air_of(made, made.cylinders["A"]) is None


@pytest.mark.parametrize(
    ("source", "values", "clears"),
    [
        ("cylinder A", GOOD_VALUES, True),
        ("A", GOOD_VALUES, True),
        ("cylinder a", GOOD_VALUES, True),
        ("cylinder B", GOOD_VALUES, False),
        ("cylinder A", GOOD_VALUES.replace("co: 1 ppm, ", ""), False),
        ("cylinder A", SMOKY, False),
        ("C1", GOOD_VALUES, False),
    ],
)
def test_a_sample_of_the_cylinder_itself_clears_it(source: str, values: str, clears: bool) -> None:
    tests = BEFORE + FAILED + sample(14, source, values)
    made = book(tests, log=fill(11, "C1"), cards="AB")
    assert (bad_air_of(made, made.cylinders["A"]) is None) is clears
    assert "air-source-unknown" not in {f.code for f in check(made, TODAY)}
    if source == "C1":
        return
    early = book(BEFORE + FAILED + sample(11, source, values), log=fill(11, "C1"), cards="AB")
    assert bad_air_of(early, early.cylinders["A"]) is not None


def test_a_sample_of_the_bank_clears_what_it_gave_where_it_was_not_pumped_since() -> None:
    read = "{on: 2026-11-08, pressure: 4400 psi}, {on: 2026-11-15, pressure: 3600 psi}"
    tests = BEFORE + FAILED + sample(14, "B1")
    log = fill(9)
    for readings, clears in (
        (read, True),
        ("{on: 2026-11-08, pressure: 4400 psi}", False),  # nobody read it since
        (f"{read.replace('4400', '2000')}", False),  # pumped between
    ):
        made = book(tests, lists(readings=readings), log=log)
        assert (bad_air_of(made, made.cylinders["A"]) is None) is clears, readings
    both = book(tests, lists(readings=read), log=fill(9, "B1+B2"))
    assert bad_air_of(both, both.cylinders["A"]) is not None


# --- recall


def test_a_recall_of_the_compressor_lists_its_banks_with_their_share_and_hours() -> None:
    one = lists(
        readings="{on: 2026-10-20, pressure: 2200 psi}",
        raised="{on: 2026-11-05, from: 2200 psi, to: 4400 psi, hours: 412.5 h}",
    )
    made = make_book({"A": GOOD}, station=station(BEFORE + FAILED, one, ""))
    found = {b.name: b for b in by_source(made, "C1", TODAY).banks}
    assert set(found) == {"B1", "B2"}
    share = found["B1"].share
    assert share is not None
    assert 0.4 < share < 0.55
    assert [str(o.hours) for o in found["B1"].origins[:1]] == ["412.5 h"]
    (unread,) = found["B1"].origins[1:]
    assert (unread.since, unread.on, unread.share) == (dt.date(2026, 11, 5), TODAY, 0)
    assert (found["B2"].share, found["B2"].origins) == (None, ())
    assert found["B1"].clears.startswith(
        "a good sample of it that measures CO; or that it is read empty"
    )


EMPTY_NOW = "{on: 2026-11-25, pressure: 0 psi}"
FULL_NOW = "{on: 2026-11-25, pressure: 4000 psi}"


@pytest.mark.parametrize(
    ("tests", "one", "banks"),
    [
        # emptied since; raised before what counts; from elsewhere; after it was good again
        (FAILED, lists(readings=f"{{on: 2026-11-12, pressure: 0 psi}}, {EMPTY_NOW}"), {"B2"}),
        (
            FAILED,
            lists(raised="{on: 2026-10-20, from: 0 psi, to: 4000 psi}", readings=FULL_NOW),
            {"B2"},
        ),
        (
            FAILED,
            lists(
                raised="{on: 2026-11-05, from: 0 psi, to: 4000 psi, source: 'elsewhere: Quay'}",
                readings=FULL_NOW,
            ),
            {"B2"},
        ),
        # nobody read it since, so that nobody knows whether it was pumped
        (FAILED, lists(readings="{on: 2026-11-12, pressure: 0 psi}"), {"B1", "B2"}),
        (FAILED, lists(raised="{on: 2026-10-20, from: 0 psi, to: 4000 psi}"), {"B1", "B2"}),
        (FAILED + sample(12, "C1"), lists(readings="{on: 2026-11-12, pressure: 0 psi}"), {"B1", "B2"}),
        (FAILED + sample(12, "C1"), lists(readings="{on: 2026-11-13, pressure: 0 psi}"), {"B2"}),
        (FAILED + sample(12, "C1"), lists(readings="{on: 2026-10-12, pressure: 0 psi}"), {"B1", "B2"}),
        (FAILED + sample(12, "C1"), lists(raised="{on: 2026-11-13, from: 0 psi, to: 4000 psi}"), {"B2"}),
        (FAILED + sample(12, "C1"), lists(raised="{on: 2026-11-12, from: 0 psi, to: 4000 psi}"), {"B1", "B2"}),
        (
            FAILED + sample(12, "B1"),
            lists(readings=f"{{on: 2026-11-05, pressure: 4000 psi}}, {FULL_NOW}"),
            {"B2"},
        ),
        (FAILED + sample(12, "B1"), lists(readings="{on: 2026-11-05, pressure: 4000 psi}"), {"B1", "B2"}),
        (FAILED + sample(12, "B1+B2"), lists(readings="{on: 2026-11-05, pressure: 4000 psi}"), {"B1", "B2"}),
        # topped with good air
        (
            FAILED + sample(12, "C1"),
            lists(
                readings="{on: 2026-11-05, pressure: 100 psi}",
                raised="{on: 2026-11-13, from: 100 psi, to: 4400 psi}",
            ),
            {"B1", "B2"},
        ),
    ],
)  # fmt: skip
def test_which_banks_a_recall_of_the_compressor_touches(
    tests: str, one: str, banks: set[str]
) -> None:
    assert {b.name for b in by_source(book(BEFORE + tests, one), "C1", TODAY).banks} == banks


def test_a_recall_of_a_bank_sets_that_bank_aside_alone() -> None:
    made = book(BEFORE + failed(10, "B1"), lists(readings="{on: 2026-11-05, pressure: 4000 psi}"))
    assert [(b.name, b.share) for b in by_source(made, "B1", TODAY).banks] == [("B1", 1.0)]


LOG = "\n".join(
    [
        fill(2, "C1", "A", position="P1"),
        fill(4, "B1", "B", position="P2", by="JO"),
        fill(6, "C1", "C", by="jo"),
        fill(8, "", "D", position="P1", by=""),
    ]
)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        # the master gauge reads every fill, since it was last found true
        (Asked(gauge="G1"), {"B": Link.READ, "C": Link.READ, "D": Link.READ}),
        # another those of its position, and what says none; it was never found true
        (Asked(gauge="G2"), {"B": Link.READ, "C": Link.NO_POSITION}),
        (Asked(person="JO"), {"B": Link.FILLER, "C": Link.FILLER, "D": Link.NO_NAME}),
        (Asked(person="MV"), {"A": Link.FILLER, "D": Link.NO_NAME}),
        (Asked("C1", person="JO"), {"B": Link.BANK, "C": Link.DIRECT, "D": Link.NO_NAME}),
        (Asked("C1", gauge="G1", person="JO"), {"B": Link.READ, "C": Link.READ, "D": Link.NO_NAME}),
        (
            Asked(since=dt.date(2026, 11, 4), until=dt.date(2026, 11, 6)),
            # D says no source, and the banks may have held gas of that time still
            {"B": Link.THEN, "C": Link.THEN, "D": Link.UNKNOWN},
        ),
        (Asked("B1", until=dt.date(2026, 11, 7)), {"B": Link.DIRECT, "D": Link.UNKNOWN}),
        (Asked("C1", gauge="G1", until=dt.date(2026, 11, 3)), {"": Link.THEN}),
    ],
)
def test_a_recall_by_gauge_person_and_time_and_each_narrows_the_others(
    asked: Asked, found: dict[str, Link]
) -> None:
    got = by_fills(book(BEFORE, log=LOG, cards="ABCD"), asked, TODAY)
    links = {s.id: s.link for s in got.suspects}
    assert links.keys() == {n for n in found if n}
    of_person_alone = not (asked.source and asked.person)
    assert not of_person_alone or links == {n: link for n, link in found.items() if n}
    assert bool(got.banks) is (not asked.gauge and not asked.person)
    assert bool(got.gas) is (not asked.gauge and not asked.person)


def test_why_a_gauge_counts_from_a_day() -> None:
    made = book(BEFORE, log=LOG, cards="ABCD")
    assert by_fills(made, Asked(gauge="G1"), TODAY).why_since == (
        "its last check that found it true was on 2026-11-03"
    )
    assert by_fills(made, Asked(gauge="G2"), TODAY).since is None


def compared(day: str, reads: int) -> str:
    return f"{{on: 2026-{day}, against: TG-2, reads: {reads} psi, true: 3000 psi}}"


TRUE_1, OFF_5, TRUE_7 = compared("11-01", 3000), compared("11-05", 2700), compared("11-07", 3000)
NEW_7 = "renewed: [{on: 2026-11-07, by: MV}], "
OTHER = "renewed: [{on: 2026-11-07, by: MV, void: {on: 2026-11-08, by: MV, why: it was G2}}], "
ON_G1 = "\n".join(fill(day, "C1", id_) for day, id_ in ((2, "A"), (4, "B"), (7, "C"), (8, "D")))


@pytest.mark.parametrize(
    ("written", "found", "why"),
    [
        # the one found off is judged by what it was compared at, till the day it was replaced
        (f"{NEW_7}checked: [{TRUE_1}, {OFF_5}, {compared('11-08', 3000)}]", "ABCD", "replaced 2026-11-07"),
        (f"{NEW_7}checked: [{TRUE_1}, {OFF_5}, {compared('11-10', 3000)}]", "ABC", "on 2026-11-10"),
        (f"{NEW_7}checked: [{OFF_5}, {compared('11-10', 3000)}]", "ABC", "the whole log counts"),
        # nobody found it off, and the new one was never compared
        (f"{NEW_7}checked: [{TRUE_1}]", "ABCD", "since it was new, 2026-11-07"),
        (f"{NEW_7}checked: [{compared('11-03', 3000)}]", "BCD", "since it was new, 2026-11-07"),
        # nobody found it off, and the new one is true
        (f"{NEW_7}checked: [{TRUE_1}, {TRUE_7}]", "CD", "its last check that found it true was on"),
        # the new one is off: the old one was true when last compared
        (f"{NEW_7}checked: [{TRUE_1}, {compared('11-09', 2700)}]", "ABCD", "since it was new"),
        (f"{NEW_7}checked: [{TRUE_1}, {TRUE_7}, {compared('11-09', 2700)}]", "CD", "on 2026-11-07"),
        # that it was replaced is struck out: one gauge, off since
        (f"{OTHER}checked: [{TRUE_1}, {OFF_5}, {compared('11-10', 3000)}]", "ABCD", "on 2026-11-01"),
        # as written by hand
        (f"fitted: 2026-11-07, checked: [{TRUE_1}, {OFF_5}, {compared('11-10', 3000)}]", "ABC", "replaced"),
        # one gauge alone
        (f"checked: [{TRUE_1}, {compared('11-03', 2700)}, {compared('11-04', 3000)}]", "ABCD", "11-01"),
    ],
)  # fmt: skip
def test_what_was_read_on_a_gauge_that_was_replaced_is_found_by_its_comparisons(
    written: str, found: str, why: str
) -> None:
    made = book("", log=ON_G1, cards="ABCD")
    assert made.station is not None
    gauge = typed_gauge(written)
    made = replace(made, station=replace(made.station, gauges=(gauge,)))
    got = by_fills(made, Asked(gauge="g1"), TODAY)
    assert "".join(sorted(s.id for s in got.suspects)) == found
    assert why in got.why_since


@pytest.mark.parametrize(
    ("masters", "found"),
    [
        ("", ""),
        ("{on: 2026-11-01, gauge: G2}", "ABCD"),
        # it was, whatever is the master now
        ("{on: 2026-11-01, gauge: g2}, {on: 2026-11-09, gauge: G1}", "ABCD"),
        ("{on: 2026-11-01, gauge: G2, void: {on: 2026-11-02, by: MV, why: it was G1}}", ""),
        ("{on: 2026-11-01, gauge: G1}", ""),
    ],
)
def test_what_was_read_on_a_master_of_then_is_found_though_it_sits_at_a_place(
    masters: str, found: str
) -> None:
    """Of a place that no fill names, so that nothing but having been the master finds them."""
    made = book("", log=ON_G1, cards="ABCD")
    written = "positions: [{name: P8, kind: whip}, {name: P9, kind: whip}]\n"
    written += (
        f"gauges: [{{name: G1, master: yes}}, {{name: G2, position: P9}}]\nmasters: [{masters}]\n"
    )
    made = replace(made, station=make_book({}, station=written).station)
    log = tuple(replace(line, position="P8") for line in made.log)
    got = by_fills(replace(made, log=log), Asked(gauge="G2"), TODAY)
    assert "".join(sorted(s.id for s in got.suspects)) == found


def typed_gauge(written: str) -> Gauge:
    made = make_book({}, station=f"gauges: [{{name: G1, master: yes, {written}}}]\n")
    assert made.station is not None
    return made.station.gauges[0]


# --- letting go


WHY, BY = "recall of C1, gas since 2026-11-01", {"by": "MV", "on": TODAY}


def shelf(tests: str, one: str, *log: str, **more: str) -> Shelf:
    names = columns(LogLine)
    rows = [dict(part.strip().split("=", 1) for part in line.split(";")) for line in log]
    cells = [",".join(row.get(name, "") for name in names) for row in rows]
    return Shelf(
        {
            "cylinders/A.yaml": with_lines(GOOD, serial="KA", **more),
            "station.yaml": station(BEFORE + tests, one),
            "fills/2026.csv": "\n".join([",".join(names), *cells, ""]),
        }
    )


def recalled(made: Shelf, why: str = WHY) -> Shelf:
    made.do(hold_all, by_source(made.book, "C1", TODAY), why=why, at=dt.time(16, 30, 12), **BY)
    return made


def act(day: int, what: str, to: str) -> str:
    return f"at=2026-11-{day:02d}T12:00:00+00:00; cylinder=A; act={what}; to={to}; by=MV"


def test_one_act_holds_cylinders_and_banks_and_may_be_run_again() -> None:
    made = recalled(shelf(FAILED, lists(readings="{on: 2026-11-05, pressure: 4000 psi}"), fill(9)))
    assert made["A"].status is Status.HELD
    assert made["A"].held[0].recall == "C1"
    assert made.last
    assert made.last.sentence == f"Held A and banks B1, B2: {WHY}"
    held = made.book.station.banks[0].held[0] if made.book.station else None
    assert held
    assert (str(held.on), str(held.at), held.why, held.by) == (
        "2026-11-25",
        "16:30:00",
        WHY,
        "MV",
    )
    again = made.refuse(hold_all, by_source(made.book, "C1", TODAY), why=WHY, **BY)
    assert again == "every cylinder of the recall is held for that already, and so is every bank"


def test_banks_are_set_aside_where_no_cylinder_is_touched() -> None:
    made = recalled(shelf(FAILED, lists(readings="{on: 2026-11-05, pressure: 4000 psi}")))
    assert made.last
    assert made.last.sentence == f"Held banks B1, B2: {WHY}"


@pytest.mark.parametrize(
    ("log", "kept"),
    [
        ((fill(9),), True),
        ((fill(9), fill(12, "elsewhere: Quay", from_="2000 psi")), True),
        # topping clears nothing, however little is left
        ((fill(9), act(12, "drain", "20 psi"), fill(13, "elsewhere: Quay", from_="20 psi")), True),
        ((fill(9), act(12, "reading", "20 psi")), True),
        ((fill(9), act(12, "drain", "0 psi")), False),
        ((fill(9), act(12, "drain", "0 psi"), fill(13, "elsewhere: Quay", from_="0 psi")), False),
        ((fill(9), act(12, "drain", "0 psi"), fill(13, "C1", from_="0 psi")), True),
        ((fill(9), act(12, "drain", "0 psi"), fill(13, "", from_="0 psi")), True),
    ],
)
@pytest.mark.parametrize("why", [WHY, "smoke in the intake"])
def test_words_alone_let_no_recalled_cylinder_go(
    log: tuple[str, ...], kept: bool, why: str
) -> None:
    made = recalled(shelf(FAILED, "", *log), why)
    got = release(made.book, ["A"], why="looks fine to me", **BY)  # type: ignore[arg-type]
    assert ("still holds air of" in str(got)) is kept
    if not kept:
        made.do(release, ["A"], why="drained", **BY)


def test_what_is_held_for_something_else_is_let_go_as_before() -> None:
    held = "[{on: 2026-11-12, by: MV, why: thread finding}]"
    made = shelf(FAILED + sample(11, "C1"), "", fill(9), held=held, status="held")
    made.do(release, ["A"], why="gauged by the requalifier", **BY)


def test_a_hold_of_before_that_was_worded_as_a_recall_is_one() -> None:
    held = "[{on: 2026-11-12, by: MV, why: 'recall of C1, gas since 2026-11-01'}]"
    made = shelf(FAILED, "", fill(9), held=held, status="held")
    assert "still holds air of 2026-11-09" in made.refuse(release, ["A"], why="words", **BY)
    notice = held.replace("C1, gas since 2026-11-01", "by notice")
    made = shelf(FAILED + sample(11, "C1"), "", fill(9), held=notice, status="held")
    made.do(release, ["A"], why="not of that lot", **BY)


@pytest.mark.parametrize(
    "tests",
    [
        FAILED + sample(12, "cylinder A"),
        FAILED.replace("}", ", void: {why: sample of another station, by: MV, on: 2026-11-12}}"),
    ],
)
def test_the_air_turned_out_to_be_good(tests: str) -> None:
    held = "[{on: 2026-11-11, by: MV, why: smoke, recall: C1}]"
    made = shelf(tests, "", fill(9), held=held, status="held")
    made.do(release, ["A"], why="the air was good", **BY)


LOOK = "{on: %s, by: MV, checklist: annual, result: pass}"
YEAR = LOOK % "2026-02-09"


@pytest.mark.parametrize(
    ("values", "more", "kept"),
    [
        (SMOKY, {}, ""),
        (OILY, {}, "failed on oil, which stays behind"),
        (GOOD_VALUES.replace("odour: none", "odour: rotten"), {}, "failed on odour"),
        ("standard: cga-grade-e", {}, "failed on what it does not say"),
        (OILY, {"inspected": f"[{YEAR}, {LOOK % '2026-11-15'}]"}, "look inside"),
        (OILY, {"cleaned": "[{on: 2026-11-15, by: MV, to: air}]"}, "look inside"),
        (
            OILY,
            {
                "inspected": f"[{YEAR}, {LOOK % '2026-11-15'}]",
                "cleaned": "[{on: 2026-11-15, by: MV, to: air}]",
            },
            "",
        ),
        (
            OILY,  # before it was filled
            {
                "inspected": f"[{YEAR}, {LOOK % '2026-11-08'}]",
                "cleaned": "[{on: 2026-11-08, by: MV, to: air}]",
            },
            "look inside",
        ),
    ],
)
def test_oil_moisture_and_odour_stay_behind(values: str, more: dict[str, str], kept: str) -> None:
    held = "[{on: 2026-11-11, by: MV, why: smoke, recall: C1}]"
    log = (fill(9), act(12, "drain", "0 psi"))
    made = shelf(failed(10, "C1", values), "", *log, held=held, status="held", **more)
    if kept:
        assert kept in made.refuse(release, ["A"], why="drained", **BY)
    else:
        made.do(release, ["A"], why="drained", **BY)


# --- the act


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def test_raising_a_bank_enters_its_reading_and_the_meter() -> None:
    made = acting.shelf(station=station(BEFORE))
    act_ = made.do(
        raise_bank, "b1", to=psi(4400), from_=psi(3100), hours=RunningTime.of(412.5, "h"),
        by="MV", on=TODAY, at=dt.time(11, 40, 7),
    )  # fmt: skip
    assert act_.sentence == "Raised B1 from 3100 psi to 4400 psi"
    assert made.book.station
    assert made.book.station.compressor
    bank = made.book.station.banks[0]
    assert [(str(r.to), str(r.from_), str(r.at)) for r in bank.raised] == [
        ("4400 psi", "3100 psi", "11:40:00")
    ]
    assert [(str(r.pressure), str(r.at)) for r in bank.readings] == [("4400 psi", "11:40:00")]
    assert str(made.book.station.compressor.hours[-1].reads) == "412.5 h"
    made.do(read_banks, {"B1": psi(4300)}, by="MV", on=TODAY, at=dt.time(16, 0, 59))


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ({"from_": psi(4400)}, "say from less to more"),
        ({"source": "C9"}, "the station has no `C9`"),
        ({"source": "B1"}, "not filled from itself"),
        ({"source": "a\x1b[2Jb"}, "source"),
        ({"hours": RunningTime.of(1, "h")}, "does not run back"),
    ],
)
def test_a_raising_that_cannot_be(options: dict[str, object], why: str) -> None:
    made = acting.shelf(station=station(BEFORE))
    said = made.refuse(raise_bank, "B1", to=psi(4400), by="MV", on=TODAY, **options)
    assert why in said
    for source in ("C1", "B2", "compressor", "elsewhere: Quay"):
        acting.shelf(station=station(BEFORE)).do(
            raise_bank, "B1", to=psi(4400), source=source, by="MV", on=TODAY
        )


@pytest.mark.parametrize(
    ("service", "source", "taken"),
    [
        ("oxygen", "A", True),
        ("oxygen", "cylinder a", True),
        ("oxygen", "C1+A", True),
        ("air", "A", True),  # it may be of any compressor
        ("oxygen", "X9", False),
    ],
)
def test_a_bank_is_raised_from_an_oxygen_cylinder_of_the_ledger(
    service: str, source: str, taken: bool
) -> None:
    text = station(BEFORE).replace("gas: air", "gas: nitrox32", 1)
    made = acting.shelf(station=text, A=with_lines(GOOD, service=service))
    said = {"to": psi(4400), "source": source, "by": "MV", "on": TODAY}
    if taken:
        assert made.do(raise_bank, "B1", **said).sentence.endswith(f", from {source}")
    else:
        assert "the station has no `X9`" in made.refuse(raise_bank, "B1", **said)


@pytest.mark.parametrize("gas", ["gas: air", ""])
@pytest.mark.parametrize("source", ["A", "C1+A"])
def test_that_oxygen_went_into_a_bank_of_air_is_recorded_and_puts_it_out(
    gas: str, source: str
) -> None:
    text = station(BEFORE).replace("gas: air, " if not gas else "gas: air", gas)
    made = acting.shelf(station=text, A=with_lines(GOOD, service="oxygen"))
    act = made.do(raise_bank, "B1", to=psi(4400), source=source, by="MV", on=TODAY)
    assert "fill nothing from it until that is answered" in " ".join(act.notes)
    assert StationPart(PartSort.BANK, "B1") in parts_out(made.book, TODAY)


@pytest.mark.parametrize(
    ("gas", "source", "warned", "read"),
    [
        ("nitrox32", "A", True, True),
        ("nitrox32", "C1+A", True, True),
        ("oxygen", "A", False, True),
        ("nitrox32", "C1", True, False),
        ("air", "C1", False, False),
    ],
)
def test_what_oxygen_made_of_a_bank_is_to_be_analysed(
    gas: str, source: str, warned: bool, read: bool
) -> None:
    """It would be filled from as what it was on record with."""
    text = station(BEFORE).replace("gas: air", f"gas: {gas}", 1)
    made = acting.shelf(station=text, A=with_lines(GOOD, service="oxygen"))
    act = made.do(raise_bank, "B1", to=psi(4400), source=source, by="MV", on=TODAY)
    told = " ".join(act.notes)
    assert (f"B1 is on record with {gas} and was raised" in told) is warned
    assert ("log what A shows now" in told) is read


def test_of_an_oxygen_cylinder_no_compressor_is_asked_what_it_gave() -> None:
    """One that the gas company fills is only read: no fill of it is on record."""
    seen = "at=2026-11-11T08:00:00+00:00; cylinder=A; act=reading; to=1420 psi; by=MV"
    log = "\n".join([seen, fill(12, "A", "B")])
    for service, told in (("oxygen", False), ("air", True)):
        cards = {"A": with_lines(GOOD, service=service), "B": GOOD}
        made = make_book(cards, station=station(BEFORE + FAILED), log=log)
        assert (bad_air_of(made, made.cylinders["B"]) is not None) is told, service


# --- gas that goes on: from bank to bank, from cylinder to cylinder, and after its time


@pytest.mark.parametrize(
    ("source", "link"),
    [
        ("B1", Link.DIRECT),
        ("b1 ", Link.DIRECT),
        ("B2+B1", Link.DIRECT),
        # one of several is misspelt, or no part here
        ("B2+B9", Link.UNKNOWN),
        ("B2, B9", Link.UNKNOWN),
        ("elsewhere: Quay+B9", Link.UNKNOWN),
        ("x7", Link.UNKNOWN),
        ("C", Link.UNKNOWN),
        ("B2", None),
        ("bank B2 outlet", None),
        ("B2+O2", None),
        ("elsewhere: B1", None),
    ],
)
def test_a_recall_of_a_bank_leaves_out_what_names_others_alone(
    source: str, link: Link | None
) -> None:
    made = book(BEFORE, log=fill(20, source))
    assert [s.link for s in by_source(made, "B1", TODAY).suspects] == ([link] if link else [])


def test_a_recall_goes_on_from_cylinder_to_cylinder_until_one_is_drained() -> None:
    first = fill(8, "B1", "A")
    for source in ("A", "a", "cylinder A", "A+B2"):
        log = "\n".join([first, fill(9, source, "B"), fill(10, "B", "C")])
        made = book(BEFORE, log=log, cards="ABC")
        links = {s.id: s.link for s in by_source(made, "B1", TODAY).suspects}
        assert links == {"A": Link.DIRECT, "B": Link.DECANTED, "C": Link.DECANTED}, source
    drained = "at=2026-11-08T12:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"
    made = book(BEFORE, log="\n".join([first, drained, fill(9, "A", "B")]), cards="AB")
    assert [s.id for s in by_source(made, "B1", TODAY).suspects] == ["A"]


@pytest.mark.parametrize(
    ("first", "source", "certain"),
    [("B2", "A", None), ("B2", "cylinder a", None), ("B1", "A", True), ("B2", "A+B1", True)],
)
def test_what_was_decanted_is_as_bad_as_the_cylinder_that_gave_it(
    first: str, source: str, certain: bool | None
) -> None:
    """However many samples failed on that day: it went past what they were drawn at."""
    log = "\n".join([fill(11, first, "A"), fill(12, source, "B")])
    made = book(BEFORE + sample(2, "B1") + failed(11, "B1") + sample(14, "B1"), log=log, cards="AB")
    bad = bad_air_of(made, made.cylinders["B"])
    assert (bad.certain if bad else None) is certain
    listed = {s.id for s in by_source(made, "B1", TODAY).suspects}
    assert ("B" in listed) is bool(certain)


@pytest.mark.parametrize(("read", "told"), [("3000 psi", False), ("3900 psi", True)])
def test_of_a_cylinder_that_was_read_fuller_nobody_knows_what_it_gave(
    read: str, told: bool
) -> None:
    seen = f"at=2026-11-12T08:00:00+00:00; cylinder=A; act=reading; to={read}; by=MV"
    log = "\n".join([fill(1, "C1", "A"), seen, fill(12, "A", "B")])
    made = book(sample(2, "C1") + FAILED, log=log, cards="AB")
    bad = bad_air_of(made, made.cylinders["B"])
    assert (bad is not None) is told


OFF = "{on: 2026-11-09, by: MV, did: changed, bled: heard%s}"


@pytest.mark.parametrize(
    ("work", "again", "gave"),
    [
        # what was taken out of it that day was in it, whenever its valve was off
        (OFF % "", "", True),
        (OFF % ", at: '16:00'", "", True),
        (OFF % ", at: '08:00'", "", True),
        (OFF.replace("11-09", "11-08") % ", at: '16:00'", "", False),
        (OFF.replace("11-09", "11-08") % ", at: '08:00'", "", True),  # it was filled after that
        (OFF.replace("11-09", "11-08") % "", "", True),
        # filled again that day, the work may have come before
        (OFF % "", "B2", False),
        (OFF % ", at: '08:00'", "B2", False),
        (OFF % ", at: '16:00'", "B2", True),
    ],
)
def test_what_was_taken_out_of_a_cylinder_was_in_it(work: str, again: str, gave: bool) -> None:
    log = [fill(8, "B1", "A"), fill(9, "A", "B").replace("T10", "T12")]
    log += [fill(9, again, "A")] if again else []
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    cards["A"] = with_lines(GOOD, serial="KA", valve_work=f"[{work}]")
    made = make_book(cards, station=station(BEFORE), log="\n".join(log))
    links = {s.id: s.link for s in by_source(made, "B1", TODAY).suspects}
    assert (links.get("B") is Link.DECANTED) is gave, links


def test_a_recall_goes_on_from_bank_to_bank_and_gas_is_no_younger_for_being_moved() -> None:
    one = lists(readings="{on: 2026-10-20, pressure: 4000 psi}")
    two = lists(raised="{on: 2026-11-08, from: 0 psi, to: 3000 psi, source: bank B1}")
    cards = {"A": with_lines(GOOD, serial="KA")}
    made = make_book(cards, station=station(BEFORE, one, two), log=fill(9, "B2"))
    found = by_source(made, "B1", TODAY)
    assert [s.link for s in found.suspects] == [Link.BANK]
    assert [b.name for b in found.banks] == ["B1", "B2"]
    assert made.station
    first, second = (air_of(made, each) for each in made.station.banks)
    assert first.shows
    assert first.read
    assert first.shows < first.read
    assert max(second.origins, key=lambda o: o.share).on == dt.date(2026, 10, 20)


def test_what_a_bank_held_still_is_recalled_from_fills_after_that_time() -> None:
    one = lists(
        raised="{on: 2026-11-05, from: 0 psi, to: 4400 psi}, {on: 2026-11-12, to: 4400 psi}",
        readings="{on: 2026-11-11, pressure: 3000 psi}",
    )
    two = lists(readings="{on: 2026-11-11, pressure: 3000 psi}")
    asked = Asked("C1", since=dt.date(2026, 11, 4), until=dt.date(2026, 11, 6))
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    log = "\n".join([fill(14, "B1", "A"), fill(14, "B2", "B")])
    two = lists(readings="{on: 2026-11-03, pressure: 0 psi}, {on: 2026-11-08, pressure: 0 psi}")
    two += ", raised: [{on: 2026-11-08, from: 0 psi, to: 4000 psi}]"
    made = make_book(cards, station=station(BEFORE, one, two), log=log)
    found = by_fills(made, asked, TODAY)
    assert {s.id: s.link for s in found.suspects} == {"A": Link.LATER}
    assert [b.name for b in found.banks] == ["B1"]


def test_a_good_sample_of_the_day_of_a_failed_one_clears_nothing_of_before() -> None:
    made = book(BEFORE + FAILED + sample(10, "C1"), log=fill(9, "C1"))
    found = by_source(made, "C1", TODAY)
    assert (found.since, len(found.suspects)) == (dt.date(2026, 11, 1), 1)


@pytest.mark.parametrize(
    ("checked", "since"),
    [
        # true at one point of the scale and off at another; off, and by less than any bound
        ("{on: 2026-11-03, %(t)s}, {on: 2026-11-20, %(t)s}, {on: 2026-11-20, %(low)s}", 3),
        (
            "{on: 2026-11-03, %(t)s}, {on: 2026-11-20, against: T, reads: 2880 psi, true: 3000 psi}",
            3,
        ),
        # off, and true again later
        ("{on: 2026-11-03, %(t)s}, {on: 2026-11-20, %(low)s}, {on: 2026-11-22, %(t)s}", 3),
        ("{on: 2026-11-03, %(t)s}, {on: 2026-11-20, %(t)s}", 20),
        ("{on: 2026-11-03, %(low)s}", None),
    ],
)
def test_a_gauge_is_recalled_since_all_of_its_scale_was_true(
    checked: str, since: int | None
) -> None:
    values = {
        "t": "against: T, reads: 3000 psi, true: 3000 psi",
        "low": "against: T, reads: 2500 psi, true: 3000 psi",
    }
    gauges = f"gauges: [{{name: G9, range: 5000 psi, checked: [{checked % values}]}}]\n"
    text = re.sub(r"gauges:\n(  - .*\n){2}", gauges, station(BEFORE))
    made = make_book({"A": GOOD}, station=text, log=fill(9))
    found = by_fills(made, Asked(gauge="G9"), TODAY)
    assert found.since == (dt.date(2026, 11, since) if since else None)


@pytest.mark.parametrize(
    ("raised", "more", "sure"),
    [
        (11, "", Sure.CERTAIN),
        (11, sample(13, "B1"), None),
        (11, sample(13, "B2"), Sure.CERTAIN),
        (11, sample(13, "B1", GOOD_VALUES.replace("co: 1 ppm, ", "")), Sure.CERTAIN),
        (5, "", Sure.LIKELY),
        (13, "", Sure.MAY),  # nobody knows since when it held what was in it then
        (13, sample(12, "B1"), None),
    ],
)
def test_what_a_bank_holds_of_a_bad_spell_goes_into_what_is_filled_after_it(
    raised: int, more: str, sure: Sure | None
) -> None:
    """The compressor passes again; the bank does not for it."""
    one = lists(
        raised=f"{{on: 2026-11-{raised}, from: 1000 psi, to: 4400 psi}}".replace("-5,", "-05,")
    )
    made = book(BEFORE + FAILED + sample(12, "C1") + more, one, log=fill(14))
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad is not None and bad.certain) is (sure is not None)
    found = [(b.bank.name, b.sure) for b in banks_of_bad_air(made, TODAY)]
    assert found == ([("B1", sure)] if sure else [])


READ = "{on: 2026-10-20, pressure: 4000 psi}"


@pytest.mark.parametrize(
    ("one", "more", "sure"),
    [
        # pumped after the last good sample, and before what failed was answered
        (lists(raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}"), "", Sure.LIKELY),
        # read higher, both times within that
        (
            lists(
                readings="{on: 2026-11-02, pressure: 1000 psi}, {on: 2026-11-09, pressure: 4000 psi}"
            ),
            "",
            Sure.LIKELY,
        ),
        # read higher, and nobody knows on which side of a good sample it was pumped
        (lists(readings=f"{READ}, {{on: 2026-11-05, pressure: 4900 psi}}"), "", Sure.MAY),
        (
            lists(
                readings="{on: 2026-11-09, pressure: 1000 psi}, {on: 2026-11-20, pressure: 4000 psi}"
            ),
            "",
            Sure.MAY,
        ),
        # what was in it as it was first read, before the answer
        (lists(readings="{on: 2026-11-05, pressure: 4000 psi}"), "", Sure.MAY),
        # of before the last good sample
        (lists(readings=READ), "", None),
        # of which nobody recorded anything, or only after the answer
        (lists(readings="{on: 2026-11-20, pressure: 4000 psi}"), "", Sure.MAY),
        ("", "", Sure.MAY),
        ("", sample(13, "B1"), None),
        # from elsewhere, or oxygen
        (
            lists(
                raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi, source: 'elsewhere: Quay, air test seen 2026-10-01'}",
                readings=READ,
            ),
            "",
            None,
        ),
        # topped until less than is told is left of it
        (
            lists(
                raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}, {on: 2026-11-13, from: 50 psi, to: 4400 psi}"
            ),
            "",
            None,
        ),
        (
            lists(
                raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}, {on: 2026-11-13, from: 1000 psi, to: 4400 psi}"
            ),
            "",
            Sure.LIKELY,
        ),
        # sampled itself, on what had failed; read empty and raised anew
        (
            lists(raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}"),
            sample(13, "B1"),
            None,
        ),
        (
            lists(raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}"),
            sample(13, "B1", GOOD_VALUES.replace("co: 1 ppm, ", "")),
            Sure.LIKELY,
        ),
        (
            lists(
                raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}, {on: 2026-11-14, from: 0 psi, to: 4400 psi}",
                readings="{on: 2026-11-13, pressure: 0 psi}",
            ),
            "",
            None,
        ),
    ],
)
def test_a_bank_is_told_of_while_it_may_hold_suspect_air(
    one: str, more: str, sure: Sure | None
) -> None:
    """That the compressor passes again says nothing of what is in the bank: one judge, and what
    station, gate and plan say of it follows from that."""
    made = book(BEFORE + FAILED + sample(12, "C1") + more, one)
    bad = banks_of_bad_air(made, TODAY)
    assert [each.sure for each in bad] == ([sure] if sure else [])
    told = [r for r in station_reasons(made, TODAY) if r.code.startswith("bank-hold")]
    assert len(told) == len(bad)
    assert (bank_b1() in parts_out(made, TODAY)) is (sure is not None)
    if sure:
        assert "the last good one was of 2026-11-01" in told[0].text
        assert "recall C1 --hold" in told[0].mend
    # while the sample stands unanswered the station is closed, and says that alone
    open_ = book(BEFORE + FAILED, one)
    assert not [b for b in banks_of_bad_air(open_, TODAY) if b.sure is not Sure.CERTAIN]
    assert any(r.gate is Gate.REFUSE for r in station_reasons(open_, TODAY))


def test_a_bank_that_suspect_oil_was_in_is_told_of_when_it_was_emptied() -> None:
    """Whatever is raised into it since; a sample of it settles that."""
    emptied = lists(
        raised="{on: 2026-11-05, from: 1000 psi, to: 4400 psi}, {on: 2026-11-16, from: 0 psi, to: 4000 psi}",
        readings="{on: 2026-11-15, pressure: 0 psi}",
    )
    for values, more, told in (
        (OILY, "", True),
        (OILY, sample(17, "B1"), False),
        (SMOKY, "", False),
    ):
        tests = BEFORE + failed(10, values=values) + sample(12, "C1") + more
        made = book(tests, emptied)
        found = [(b.sure, b.emptied) for b in banks_of_bad_air(made, TODAY)]
        assert found == ([(Sure.MAY, True)] if told else [])
        assert (bank_b1() in parts_out(made, TODAY)) is told
        reasons = [r.text for r in station_reasons(made, TODAY) if r.code == "bank-hold-unsure-air"]
        assert [("bank B1 held air pumped 2026-11-05" in text) for text in reasons] == [True] * told


def bank_b1() -> StationPart:
    return StationPart(PartSort.BANK, "B1")


def test_a_bank_that_oil_was_in_is_not_clean_for_being_emptied() -> None:
    for values, soiled in ((OILY, True), (SMOKY, False)):
        emptied = lists(
            raised="{on: 2026-11-11, from: 0 psi, to: 4400 psi}, {on: 2026-11-16, from: 0 psi, to: 4000 psi}",
            readings="{on: 2026-11-15, pressure: 0 psi}",
        )
        made = book(BEFORE + failed(10, values=values) + sample(12, "C1"), emptied)
        assert bool(banks_of_bad_air(made, TODAY)) is soiled
        # a recall names it as well, with what was in it and no share of what is
        recalled = {b.name: b for b in by_source(made, "C1", TODAY).banks}
        assert ("B1" in recalled) is soiled
        if soiled:
            assert recalled["B1"].share is None
            assert [o.on.day for o in recalled["B1"].origins] == [11]
            assert "looked inside" in recalled["B1"].clears


WET = GOOD_VALUES.replace("water: 18 mg/m3", "water: 900 mg/m3")
SMELLS = GOOD_VALUES.replace("odour: none", "odour: oily")
AGAIN = "{on: 2026-11-16, from: 0 psi, to: 4000 psi, source: C1}"
READ_15 = "{on: 2026-11-15, pressure: 0 psi}"


def cleaned(day: int, by: str = "MV", at: str = "") -> str:
    return f"{{on: 2026-11-{day:02d}, by: {by}{at and f', at: {at!r}'}}}"


@pytest.mark.parametrize("values", [OILY, WET, SMELLS])
@pytest.mark.parametrize(
    "came",
    [
        # surely, likely, and perhaps of the time of what failed
        "raised: [{on: 2026-11-11, from: 0 psi, to: 4400 psi, source: C1}, AGAIN], readings: [READ]",
        "raised: [{on: 2026-11-05, from: 0 psi, to: 4400 psi, source: C1}, AGAIN], readings: [READ]",
        "readings: [{on: 2026-10-20, pressure: 800 psi}, {on: 2026-11-14, pressure: 4400 psi}, READ],"
        " raised: [AGAIN]",
    ],
)
@pytest.mark.parametrize(
    ("more", "free"),
    [
        ("", False),
        (f"cleaned: [{cleaned(15)}]", True),
        (f"cleaned: [{cleaned(15, 'nobody')}]", False),
        (f"cleaned: [{cleaned(4)}]", False),  # before it
        (f"cleaned: [{cleaned(18)}]", False),  # it stood at 4000 psi
        (f"cleaned: [{cleaned(15)[:-1]}, void: {{why: x2, by: MV, on: 2026-11-16}}}}]", False),
        ("looked: [{on: 2026-11-15, by: MV, decided: no oil seen}]", False),
    ],
)
def test_what_stays_behind_in_a_bank_goes_by_cleaning_it(
    values: str, came: str, more: str, free: bool
) -> None:
    """However sure it is that it went in: read empty, and raised from what is good, it stays."""
    one = came.replace("AGAIN", AGAIN).replace("READ", READ_15) + (more and f", {more}")
    made = book(BEFORE + failed(10, values=values) + sample(12, "C1"), one)
    assert (not banks_of_bad_air(made, TODAY)) is free
    assert (bank_b1() not in parts_out(made, TODAY)) is free
    told = [r for r in station_reasons(made, TODAY) if "bank B1 h" in r.text]
    assert all("`tankbook station bank-clean B1`" in r.mend for r in told)
    assert bool(told) is not free
    # a sample of its own air tells as well; carbon monoxide leaves nothing
    assert not banks_of_bad_air(
        book(BEFORE + failed(10, values=values) + sample(12, "C1") + sample(17, "B1"), one), TODAY
    )
    assert not banks_of_bad_air(book(BEFORE + FAILED + sample(12, "C1"), one), TODAY)


@pytest.mark.parametrize(
    ("more", "opened"),
    [
        ("", False),
        (f", cleaned: [{cleaned(15)}]", True),
        (f", cleaned: [{cleaned(15, 'nobody')}]", False),
        (f", cleaned: [{cleaned(11)}]", False),  # the day it was set aside, nobody says when
        (f", cleaned: [{cleaned(18)}]", False),  # it stood at 4000 psi
    ],
)
@pytest.mark.parametrize(
    ("tests", "why"),
    [(failed(10, values=OILY), "recall of C1"), (FAILED, "oil in it, recall of C1")],
)
def test_a_bank_set_aside_for_what_stays_behind_is_opened_by_cleaning_it(
    tests: str, why: str, more: str, opened: bool
) -> None:
    """And raised from what is good since: as it is told."""
    held = f"held: [{{on: 2026-11-11, by: MV, why: '{why}'}}], readings: [{READ_15}]"
    made = book(BEFORE + tests + sample(12, "C1"), f"{held}, raised: [{AGAIN}]{more}")
    assert (not banks_held(made, TODAY)) is opened
    for each in banks_held(made, TODAY):
        assert "`tankbook station bank-clean B1`), then raised from a source that" in each.opens
    # cleaned, and nothing good raised into it since
    for source, known in ((sample(12, "C1"), ""), ("", f", raised: [{AGAIN}]")):
        assert banks_held(book(BEFORE + tests + source, f"{held}{known}{more}"), TODAY)


def test_a_bank_cleaned_on_the_day_that_soiled_it_says_at_what_time() -> None:
    for at, raised_at, free in (
        ("16:00", "09:00", True),
        ("", "09:00", False),
        ("16:00", "", False),
        ("08:00", "09:00", False),
    ):
        hour = raised_at and f", at: {raised_at!r}"
        raised = f"{{on: 2026-11-11, from: 0 psi, to: 4400 psi{hour}}}, {AGAIN}"
        one = lists(raised=raised, readings=READ_15, cleaned=cleaned(11, at=at))
        made = book(BEFORE + failed(10, values=OILY) + sample(12, "C1"), one)
        assert (not banks_of_bad_air(made, TODAY)) is free


@pytest.mark.parametrize("pumped", ["2026-10-28, 2026-11-14", "2026-10-28, 2026-11-10, 2026-11-14"])
def test_topping_puts_nothing_into_a_bank_of_days_on_which_it_was_not_pumped(pumped: str) -> None:
    """However little of what was pumped before and after that is left, it is not of between."""
    of = ", ".join(f"{{on: {day}, from: 30 psi, to: 4400 psi}}" for day in pumped.split(", "))
    topped = "".join(f", {{on: 2026-11-{day}, from: 30 psi, to: 4400 psi}}" for day in (20, 21, 22))
    tests = BEFORE + failed(10, values=OILY) + sample(12, "C1")
    for more in ("", topped):
        made = book(tests, lists(raised=of + more))
        assert bool(banks_of_bad_air(made, TODAY)) is ("2026-11-10" in pumped)
        (bank,) = (b for b in made.station.banks if b.name == "B1") if made.station else ()
        assert len(air_of(made, bank).origins) <= len(pumped.split(", ")) + 4


# the day of a sample, and its hour


def raised_on(day: int, hour: str = "18:00", source: str = "") -> str:
    of = (hour and f", at: '{hour}'") + (source and f", source: {source}")
    return lists(
        readings="{on: 2026-10-20, pressure: 1000 psi}",
        raised=f"{{on: 2026-11-{day:02d}{of}, from: 1000 psi, to: 4400 psi}}",
    )


def at_hour(test: str, hour: str) -> str:
    return test.replace(", by: Lab", f", at: '{hour}', by: Lab")


FIRST = failed(1) + sample(2, "C1")
"""The good sample answers one that failed: its day ends that spell, and may begin the next."""


@pytest.mark.parametrize("values", [SMOKY, OILY])
@pytest.mark.parametrize(
    ("tests", "one", "sure"),
    [
        (sample(2, "C1"), raised_on(1), None),
        (sample(2, "C1"), raised_on(2), Sure.MAY),
        (sample(2, "C1"), raised_on(2, "06:00"), Sure.MAY),  # nobody knows that it was before
        (sample(2, "C1"), raised_on(2, source="C1"), Sure.MAY),
        (sample(2, "C1"), raised_on(2, source="'elsewhere: Quay'"), None),
        (sample(2, "C1"), raised_on(3), Sure.LIKELY),
        # the hours of both say it, and one alone does not
        (at_hour(sample(2, "C1"), "12:00"), raised_on(2), Sure.LIKELY),
        (at_hour(sample(2, "C1"), "19:00"), raised_on(2), None),
        (at_hour(sample(2, "C1"), "19:00"), raised_on(2, ""), Sure.MAY),
        # of two samples of one day the later one, where their hours are known
        (at_hour(sample(2, "C1"), "08:00") + at_hour(sample(2, "C1"), "19:00"), raised_on(2), None),
        (at_hour(sample(2, "C1"), "08:00") + sample(2, "C1"), raised_on(2, "07:00"), None),
        (at_hour(sample(2, "C1"), "08:00") + sample(2, "C1"), raised_on(2), Sure.MAY),
        (FIRST, raised_on(2), Sure.MAY),
        (sample(2, "C1") + sample(4, "C1"), raised_on(2), None),
        (sample(2, "C1") + sample(4, "C1"), raised_on(4), Sure.MAY),
        # one that is struck out proves nothing
        (
            sample(1, "C1")
            + at_hour(sample(2, "C1"), "19:00").replace("}", ", void: {why: x2, by: MV, on: 2026-11-03}}"),
            raised_on(2),
            Sure.LIKELY,
        ),
        # a sample of the bank itself clears what was in it by then
        (sample(2, "C1") + sample(2, "B1"), raised_on(2), Sure.MAY),
        (sample(2, "C1") + at_hour(sample(2, "B1"), "19:00"), raised_on(2), None),
        (sample(2, "C1") + at_hour(sample(2, "B1"), "17:00"), raised_on(2), Sure.MAY),
        (sample(2, "C1") + sample(4, "B1"), raised_on(2), None),
        # read on that day, as high as it was raised on the day before
        (sample(2, "C1"), lists(readings="{on: 2026-11-01, pressure: 4000 psi}"), None),
        # what was in it as it was first read, on that day
        (sample(2, "C1"), lists(readings="{on: 2026-11-02, pressure: 4000 psi}"), Sure.MAY),
        (
            at_hour(sample(2, "C1"), "12:00"),
            lists(readings="{on: 2026-11-02, at: '11:00', pressure: 4000 psi}"),
            None,
        ),
        # the day of the answer
        (sample(2, "C1"), raised_on(12), Sure.MAY),
        (sample(2, "C1"), raised_on(13), None),
        (sample(2, "C1"), raised_on(11), Sure.CERTAIN),
    ],
)  # fmt: skip
def test_what_went_into_a_bank_on_the_day_of_a_good_sample_may_be_of_the_other_side_of_it(
    tests: str, one: str, sure: Sure | None, values: str
) -> None:
    made = book(tests + failed(10, "C1", values) + sample(12, "C1"), one)
    bad = [b for b in banks_of_bad_air(made, TODAY) if b.failed.on.day == 10]
    assert [(b.bank.name, b.sure) for b in bad] == ([("B1", sure)] if sure else [])
    assert (StationPart(PartSort.BANK, "B1") in parts_out(made, TODAY)) is bool(
        banks_of_bad_air(made, TODAY)
    )


@pytest.mark.parametrize(
    ("tests", "log", "certain"),
    [
        (sample(2, "C1"), fill(1, "C1"), None),
        (sample(2, "C1"), fill(2, "C1"), False),
        (at_hour(sample(2, "C1"), "09:00"), fill(2, "C1"), True),
        (at_hour(sample(2, "C1"), "11:00"), fill(2, "C1"), None),
        (at_hour(sample(2, "C1"), "11:00"), fill(2, "C1").replace("T10:", "T00:"), False),
        (at_hour(sample(2, "C1"), "23:50"), fill(3, "C1").replace("T10:00", "T00:10"), True),
        (sample(2, "C1"), fill(3, "C1"), True),
        (sample(2, "C1"), fill(2, ""), False),  # that it is not said is no way round
        (sample(2, "C1"), fill(3, ""), True),
        (sample(2, "C1"), fill(2, "elsewhere: Quay"), None),
        (FIRST, fill(2, "C1"), False),
        (sample(2, "C1") + sample(4, "C1"), fill(2, "C1"), None),
        (sample(2, "C1") + sample(4, "C1"), fill(4, "C1"), False),
        (sample(2, "C1") + sample(14, "cylinder A"), fill(2, "C1"), None),
        (sample(2, "C1"), fill(12, "C1"), False),
        (sample(2, "C1"), fill(13, "C1"), None),
    ],
)
def test_what_was_filled_on_the_day_of_a_good_sample_may_be_of_the_other_side_of_it(
    tests: str, log: str, certain: bool | None
) -> None:
    made = book(tests + failed(10) + sample(12, "C1"), OF_BEFORE, log=log)
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad.certain if bad else None) is certain
    told = {f.severity for f in of_card(made, made.cylinders["A"], TODAY) if f.code == "bad-air"}
    assert told == (set() if certain is None else {"fault" if certain else "warn"})


@pytest.mark.parametrize(
    ("good", "raised", "mends"),
    [
        (sample(2, "C1"), raised_on(2), ["air-tests 2026-11-02"]),
        (sample(2, "C1"), raised_on(2, ""), ["air-tests 2026-11-02", "B1.raised 2026-11-02"]),
        (at_hour(sample(2, "C1"), "12:00"), raised_on(2, ""), ["B1.raised 2026-11-02"]),
    ],
)
def test_what_a_bank_gave_that_may_hold_it_is_no_surer(
    good: str, raised: str, mends: list[str]
) -> None:
    """Nor what was filled from that; and the bank says which entries tell it."""
    log = "\n".join([fill(3, "B1", "A"), fill(14, "A", "B")])
    made = book(good + failed(10) + sample(12, "C1"), raised, log=log, cards="AB")
    for card in made.cylinders.values():
        bad = bad_air_of(made, card)
        assert bad is not None
        assert not bad.certain
    out = next(o for o in banks_out(made, TODAY) if o.name == "B1")
    said = re.findall(r"`tankbook correct station (.*?) --set at=HH:MM --why WHY`", out.opens)
    assert said == mends


READ_LATER = "{on: 2026-11-20, pressure: 4400 psi}"
_HOURS = (None, 8, 12, 16)


def _span(moment: tuple[int, int | None]) -> tuple[float, float]:
    day, hour = moment
    return (day, day + 0.999) if hour is None else (day + hour / 24,) * 2


def _sampled(moment: tuple[int, int | None], text: str) -> str:
    return at_hour(text, f"{moment[1]:02d}:00") if moment[1] is not None else text


@given(
    st.tuples(st.sampled_from(_HOURS), st.sampled_from(_HOURS)),
    st.tuples(st.integers(1, 2), st.integers(1, 2)),
    st.tuples(st.integers(1, 7), st.sampled_from(_HOURS)),
    st.sampled_from([SMOKY, OILY]),
)
def test_recall_and_what_is_held_agree_in_every_order_of_days(
    hours: tuple[int | None, int | None],
    after: tuple[int, int],
    pumped: tuple[int, int | None],
    values: str,
) -> None:
    """Of what was pumped between a good sample and the one that answers a failed one, of what was
    not, and of what nobody can tell: one truth of cylinder, bank and recall."""
    bad = 2 + after[0]
    good, again = (2, hours[0]), (bad + after[1], hours[1])
    tests = _sampled(good, sample(good[0], "C1")) + failed(bad, "C1", values)
    tests += _sampled(again, sample(again[0], "C1"))
    line = fill(pumped[0], "C1").replace("T10:", f"T{pumped[1] or 0:02d}:")
    hour = f"{pumped[1]:02d}:00" if pumped[1] is not None else ""
    one = raised_on(pumped[0], hour).replace("1000 psi}]", "1000 psi}, " + READ_LATER + "]", 1)
    made = book(tests, one, log=line)
    (begun, over), (good_from, good_to) = _span(pumped), _span(good)
    open_from, open_to = _span(again)
    may_be = over > good_from and begun < open_to
    certain = may_be and begun > good_to and over <= open_from
    held = bad_air_of(made, made.cylinders["A"])
    assert (held is not None, held is not None and held.certain) == (may_be, certain)
    out = banks_of_bad_air(made, TODAY)
    assert [b.bank.name for b in out] == ["B1"] * may_be
    assert all((b.sure is not Sure.MAY) is certain for b in out)
    recalled = by_source(made, "C1", TODAY)
    assert [s.id for s in recalled.suspects] == ["A"] * may_be
    assert [b.name for b in recalled.banks if b.name == "B1"] == ["B1"] * may_be


BLENDED = GOOD_VALUES.replace("20.9 %", "32 %")


@pytest.mark.parametrize("values", [SMOKY, OILY, "standard: cga-grade-e"])
@pytest.mark.parametrize(
    ("own", "open_"),
    [
        ("", False),
        (sample(13, "B1", BLENDED), True),
        (sample(13, "B1", BLENDED.replace("co: 1 ppm, ", "").replace("oil: 0.1 mg/m3, ", "")), False),
        (sample(13, "B1", BLENDED.replace("co: 1 ppm", "co: 14 ppm").replace("oil: 0.1", "oil: 9")), False),
        (sample(13, "C1", BLENDED), False),
    ],
)  # fmt: skip
def test_a_bank_of_nitrox_is_cleared_by_its_own_sample(own: str, open_: bool, values: str) -> None:
    """The oxygen that was added to it is held against no limit of the air that it is of."""
    tests = sample(2, "C1") + failed(10, "C1", values) + sample(12, "C1") + own
    text = station(tests, raised_on(5)).replace("gas: air", "gas: nitrox32", 1)
    made = make_book({"A": GOOD}, station=text)
    assert (banks_of_bad_air(made, TODAY) == ()) is open_


def test_a_bank_raised_from_one_that_failed_gives_bad_air() -> None:
    one = lists(readings="{on: 2026-10-20, pressure: 4000 psi}")
    two = lists(raised="{on: 2026-11-11, from: 0 psi, to: 3000 psi, source: B1}")
    text = station(BEFORE + failed(10, "B1") + sample(13, "B1"), one, two)
    made = make_book({"A": GOOD}, station=text, log=fill(14, "B2"))
    bad = bad_air_of(made, made.cylinders["A"])
    assert bad is not None
    assert bad.certain


def two_banks(tests: str, one: str, two: str, log: str = "") -> Book:
    return make_book({"A": GOOD}, station=station(tests, one, two), log=log)


def bad_of(made: Book) -> list[tuple[str, Sure]]:
    return [(b.bank.name, b.sure) for b in banks_of_bad_air(made, TODAY)]


SUSPECT = "{on: 2026-11-05, from: 0 psi, to: 4400 psi, source: C1}"
SUSPECT_12 = SUSPECT.replace("-05", "-12")
EMPTY_BEFORE = "{on: 2026-11-02, pressure: 0 psi}"


def moved(day: int, of: str = "B1") -> str:
    return f"{{on: 2026-11-{day}, from: 0 psi, to: 1500 psi, source: {of}}}"


@pytest.mark.parametrize(
    ("more", "day", "found"),
    [
        # what came into a bank after its sample was not in that
        (sample(14, "B2"), 16, [("B1", Sure.LIKELY), ("B2", Sure.LIKELY)]),
        (sample(16, "B2"), 16, [("B1", Sure.LIKELY), ("B2", Sure.LIKELY)]),
        (sample(17, "B2"), 16, [("B1", Sure.LIKELY)]),
        # what was sampled in one bank is no worse for being moved, of before the sample unlike
        (sample(14, "B1"), 16, []),
        (sample(16, "B1"), 16, [("B2", Sure.LIKELY)]),
        (sample(17, "B1"), 16, [("B2", Sure.LIKELY)]),
        (
            sample(14, "B1", GOOD_VALUES.replace("co: 1 ppm, ", "")),
            16,
            [("B1", Sure.LIKELY), ("B2", Sure.LIKELY)],
        ),
    ],
)
def test_a_sample_of_a_bank_is_of_what_was_in_it_then(
    more: str, day: int, found: list[tuple[str, Sure]]
) -> None:
    one = lists(readings=EMPTY_BEFORE, raised=SUSPECT)
    two = lists(readings=EMPTY_BEFORE, raised=moved(day))
    made = two_banks(BEFORE + FAILED + sample(12, "C1") + more, one, two, fill(20, "B2"))
    assert bad_of(made) == found
    assert (bad_air_of(made, made.cylinders["A"]) is not None) is ("B2" in dict(found))
    recalled = {b.name for b in by_source(made, "C1", TODAY).banks}
    assert dict(found).keys() <= recalled


def test_what_came_into_a_bank_after_its_sample_is_of_the_compressor_that_failed() -> None:
    """Of several compressors as well, while the failed sample of one stands."""
    text = station(
        BEFORE + sample(1, "C2") + FAILED + sample(11, "C2") + sample(14, "B2"),
        lists(readings=EMPTY_BEFORE, raised=SUSPECT),
        lists(readings=EMPTY_BEFORE, raised=moved(16)),
    ).replace("positions:", "compressors: [{name: C2}]\npositions:")
    made = make_book({"A": GOOD}, station=text)
    assert StationPart(PartSort.BANK, "B2") in parts_out(made, TODAY)


@pytest.mark.parametrize(
    ("more", "opened"),
    [
        (sample(13, "B2"), True),
        (sample(13, "B2", GOOD_VALUES.replace("co: 1 ppm, ", "")), False),
        (sample(15, "B2"), False),  # before or after it was taken
        (sample(13, "B1+B2"), False),
        ("", False),
    ],
)
def test_a_bank_is_opened_by_gas_of_another_that_was_sampled_since(more: str, opened: bool) -> None:
    """Whenever that was pumped: it is read empty, and raised from a source that passed since."""
    again = lists(held=AFTER, readings="{on: 2026-11-14, pressure: 0 psi}", raised=moved(15, "B2"))
    read = f"{EMPTY_BEFORE}, {{on: 2026-11-13, pressure: 4400 psi}}"  # nothing came in since unseen
    two = lists(readings=read, raised=SUSPECT)
    made = two_banks(BEFORE + FAILED + sample(12, "C1") + more, again, two)
    assert (not banks_held(made, TODAY)) is opened
    assert (bank_b1() not in parts_out(made, TODAY)) is opened


@pytest.mark.parametrize(("good", "told"), [("", True), (sample(9, "B1"), False)])
def test_what_a_bank_had_from_another_before_that_one_failed_is_told(good: str, told: bool) -> None:
    """A fill from it was before the sample, too."""
    one = lists(readings="{on: 2026-10-20, pressure: 4000 psi}")
    two = lists(readings=EMPTY_BEFORE, raised=moved(6).replace("11-6", "11-06"))
    made = two_banks(BEFORE + good + failed(12, "B1") + sample(14, "B1"), one, two, fill(11, "B2"))
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad is not None and bad.certain) is told


B3 = (
    "  - {name: B3, water_volume: 48 L, gas: air, period: 10 years, requalified: [{on: 2024-03,"
    " method: hydrostatic, by: T123}], readings: [{on: 2026-11-02, pressure: 0 psi}], raised: [%s]}"
)


@pytest.mark.parametrize("times", [("10:00", "15:00"), ("", "")])
def test_gas_that_is_moved_twice_on_a_day_lay_where_it_lay(times: tuple[str, str]) -> None:
    """B1 was sampled well while the gas lay in B2, and B3 had it by way of both; where nobody says
    at what time, one after another, whatever the pressures."""
    one, two = (f", at: '{each}'}}" if each else "}" for each in times)
    text = station(
        BEFORE + FAILED + sample(12, "C1") + sample(14, "B1"),
        lists(readings=EMPTY_BEFORE, raised=moved(16, "B2").replace("}", one)),
        lists(readings=EMPTY_BEFORE, raised=SUSPECT),
    )
    last = "{on: 2026-11-16, from: 0 psi, to: 1000 psi, source: B1}".replace("}", two)
    made = make_book(
        {"A": GOOD}, station=text.replace("air_tests:", f"{B3 % last}\nair_tests:"), log=""
    )
    assert bad_of(made) == [(name, Sure.LIKELY) for name in ("B1", "B2", "B3")]


@pytest.mark.parametrize(
    ("times", "out"),
    [
        (("", ""), True),
        (("10:00", "10:00"), True),
        (("15:00", "10:00"), True),
        (("10:00", "15:00"), False),
    ],
)
def test_a_bank_may_have_given_before_it_was_raised_anew_on_that_day(
    times: tuple[str, str], out: bool
) -> None:
    """B1 held air from after the failed sample, gave some to B2, and was raised with others' air
    once it was empty: which was first, only times tell."""
    anew, given = (f", at: '{each}'}}" if each else "}" for each in times)
    again = "{on: 2026-11-16, from: 0 psi, to: 4400 psi, source: 'elsewhere: Weir Street'}"
    made = two_banks(
        BEFORE + FAILED + sample(15, "C1"),
        lists(readings=EMPTY_BEFORE, raised=f"{SUSPECT_12}, {again.replace('}', anew)}"),
        lists(readings=EMPTY_BEFORE, raised=moved(16).replace("}", given)),
    )
    assert (("B2", Sure.CERTAIN) in bad_of(made)) is out


@pytest.mark.parametrize("given", ["", "08:00", "14:00"])
def test_a_bank_raised_at_no_said_time_may_have_given_of_that_the_same_day(given: str) -> None:
    """What was pumped from a compressor whose samples failed is in both, whenever the second was
    raised: nobody says that the first was raised after it."""
    at = f", at: '{given}'}}" if given else "}"
    made = two_banks(
        BEFORE + FAILED,
        lists(readings=EMPTY_BEFORE, raised=SUSPECT_12.replace("-12", "-16")),
        lists(readings=EMPTY_BEFORE, raised=moved(16).replace("}", at)),
    )
    assert {name for name, sure in bad_of(made) if sure is Sure.CERTAIN} == {"B1", "B2"}


def test_banks_that_are_raised_from_each_other_on_a_day_are_answered() -> None:
    one, two = (lists(readings=EMPTY_BEFORE, raised=moved(16, of)) for of in ("B2", "B1"))
    made = two_banks(BEFORE, one, two)
    assert made.station
    assert [air_of(made, bank).shows for bank in made.station.banks] != [None, None]


def test_gas_of_several_raisings_came_no_way_that_is_known() -> None:
    lain = (("b3", dt.date(2026, 11, 7)), ("b2", dt.date(2026, 11, 9)))
    moved_twice = BankOrigin(dt.date(2026, 11, 1), dt.date(2026, 11, 3), through=lain)
    assert moved_twice.came == dt.date(2026, 11, 9)
    days = [dt.date(2026, 11, day) for day in (3, 7, 9)]
    assert moved_twice.stays == (("b3", *days[:2]), ("b2", *days[1:]))
    told_as_one = BankOrigin(days[0], days[0], through=lain, several=True)
    assert told_as_one.stays == ()
    assert told_as_one.came == days[2]


@pytest.mark.parametrize(
    ("stands", "both"),
    [
        ("isolator: open", True),
        ("note: x", True),
        ("isolator: shut", False),
        ("isolator: shut\nisolator_since: 2026-11-12", True),
        ("isolator: shut\nisolator_since: 2026-11-11", True),  # of its day nobody knows
        ("isolator: shut\nisolator_since: 2026-11-10", False),
        ("isolator: open\nisolator_since: 2026-11-12", True),
    ],
)
def test_an_isolator_that_is_shut_takes_nothing_back_of_what_went_through_it(
    stands: str, both: bool
) -> None:
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    sets = {"D": f"cylinders: [A, B]\n{stands}\n"}
    text = station(BEFORE + failed(10, "B1"))
    made = make_book(cards, sets=sets, station=text, log=fill(11, "B1", "A"))
    assert (bad_air_of(made, made.cylinders["B"]) is not None) is both
    listed = {s.id for s in by_source(made, "B1", TODAY).suspects}
    assert listed == ({"A", "B"} if both else {"A"})


@pytest.mark.parametrize(
    ("log", "tests", "why", "more", "kept"),
    [
        ((fill(9),), "", "compressor ran hot", {}, "still holds gas of 2026-11-09"),
        (
            (fill(9), fill(12, "elsewhere: Quay", from_="20 psi")),
            "",
            "compressor ran hot",
            {},
            "still holds gas of 2026-11-09",
        ),
        ((fill(9), act(12, "drain", "0 psi")), "", "compressor ran hot", {}, ""),
        ((fill(9),), sample(12, "cylinder A"), "compressor ran hot", {}, ""),
        ((fill(9),), sample(12, "C1"), "compressor ran hot", {}, "still holds gas"),
        # what is said to stay behind, though no sample says so
        ((fill(9), act(12, "drain", "0 psi")), "", "oil in B1", {}, "look inside"),
        ((fill(9), act(12, "drain", "0 psi")), "", "it smells of fish", {}, "look inside"),
        (
            (fill(9), act(12, "drain", "0 psi")),
            "",
            "oil in B1",
            {
                "inspected": f"[{YEAR}, {LOOK % '2026-11-15'}]",
                "cleaned": "[{on: 2026-11-15, by: MV, to: air}]",
            },
            "",
        ),
    ],
)
def test_a_recall_that_rests_on_no_sample_is_drained_as_well(
    log: tuple[str, ...], tests: str, why: str, more: dict[str, str], kept: str
) -> None:
    held = f"[{{on: 2026-11-11, by: MV, why: {why}, recall: B1}}]"
    made = shelf(tests, "", *log, held=held, status="held", **more)
    if kept:
        assert kept in made.refuse(release, ["A"], why="fine", **BY)
    else:
        made.do(release, ["A"], why="fine", **BY)


def test_oil_stays_behind_though_the_compressor_was_mended_before_the_recall() -> None:
    held = "[{on: 2026-11-15, by: MV, why: smoke, recall: C1}]"
    log = (fill(9), act(12, "drain", "0 psi"))
    tests = failed(10, "C1", OILY) + sample(12, "C1")
    made = shelf(tests, "", *log, held=held, status="held")
    assert "failed on oil" in made.refuse(release, ["A"], why="drained", **BY)


READ = "readings: [{on: 2026-10-05, pressure: 4000 psi}, %s]"
LOW = "{on: 2026-10-20, pressure: 3300 psi}"
ROSE = "{on: 2026-11-08, pressure: 4000 psi}"


@pytest.mark.parametrize(
    ("readings", "day", "certain"),
    [
        # pumped somewhere between two readings: a fill between them, or after, may be of that
        (f"{LOW}, {ROSE}", 5, True),
        (f"{LOW}, {ROSE}", 8, True),  # of a day that is read at its end
        (f"{LOW}, {ROSE}", 9, True),
        (f"{{on: 2026-10-20, pressure: 0 psi}}, {ROSE}", 5, True),  # empty, then full
        # with an hour the fill was after that reading, or before it
        (f'{LOW}, {{on: 2026-11-08, at: "08:00", pressure: 4000 psi}}', 8, True),
        (f'{LOW}, {{on: 2026-11-08, at: "12:00", pressure: 4000 psi}}', 8, True),
        # pumped before the last good sample, and not since
        ("{on: 2026-10-20, pressure: 4300 psi}, {on: 2026-11-08, pressure: 4000 psi}", 5, False),
        # nobody read that it was pumped
        (LOW, 5, False),
        # pumped after the fill alone
        (f"{LOW}, {{on: 2026-11-06, pressure: 3250 psi}}, {ROSE}", 5, False),
    ],
)
def test_a_fill_while_its_bank_was_pumped_is_as_suspect_as_one_after_that(
    readings: str, day: int, certain: bool
) -> None:
    late = sample(12, "C1")
    made = book(BEFORE + FAILED + late, READ % readings, log=fill(day, from_="2950 psi"))
    bad = bad_air_of(made, made.cylinders["A"])
    assert bad is not None
    assert bad.certain is certain


def test_nothing_is_less_suspect_for_a_reading_that_came_later() -> None:
    """What a bank gave before it was read high is held as what it gave after that, day by day."""
    tests = BEFORE + FAILED + sample(12, "C1")
    for day in range(2, 10):
        log = fill(day, from_="2950 psi")
        made = book(tests, READ % f"{LOW}, {ROSE}", log=log)
        bad = bad_air_of(made, made.cylinders["A"])
        assert bad is not None, day
        assert bad.certain, day
        told = of_card(made, made.cylinders["A"], TODAY)
        assert [f.severity for f in told if f.code == "bad-air"] == ["fault"], day


@pytest.mark.parametrize(
    ("values", "held"),
    [
        (OILY, True),
        (GOOD_VALUES.replace("odour: none", "odour: oily"), True),
        ("standard: cga-grade-e", True),  # nobody says on what it failed
        (SMOKY, False),  # thinned to less than what is told
    ],
)
def test_topping_takes_nothing_off_the_walls_of_a_bank(values: str, held: bool) -> None:
    tests = BEFORE + failed(10, values=values) + sample(11, "C1")
    raised = (
        "{on: 2026-11-05, from: 1000 psi, to: 4300 psi}, "
        "{on: 2026-11-12, from: 100 psi, to: 4300 psi}"
    )
    made = book(tests, lists(raised=raised))
    found = {bad.bank.name: bad.sure for bad in banks_of_bad_air(made, TODAY)}
    assert found == ({"B1": Sure.LIKELY} if held else {})


FORGOTTEN = SETTINGS.replace("people:\n", "people:\n  TO: {role: fills}\n")
"""One who is certified, and one who is not."""
PUMPED = lists(
    readings="{on: 2026-10-20, pressure: 1000 psi}, {on: 2026-11-09, pressure: 4300 psi}"
)


@pytest.mark.parametrize(
    ("by", "day", "let"),
    [("TO", 1, False), ("MV", 1, True), ("TO", 25, True)],
)
def test_what_is_entered_for_a_day_that_is_over_lets_nothing_go_by_anybody(
    by: str, day: int, let: bool
) -> None:
    """A reading of before the failure says that a bank was full of good air by then; one of now
    tells what it shows, and anybody reads that."""
    tests = sample(2, "C1") + failed(10) + sample(11, "C1")
    shelf = acting.shelf(station=station(tests, PUMPED))
    shelf.texts["tankbook.yaml"] = FORGOTTEN
    now = replace(shelf.book, clock=TODAY)
    assert [bad.bank.name for bad in banks_of_bad_air(now, TODAY)] == ["B1"]
    on, full = dt.date(2026, 11, day), GaugePressure.parse("4300 psi")
    each = (
        bank_cleaned(
            now, "B1", method="brushed", by=by, on=dt.date(2026, 11, 12 if day == 1 else 25)
        ),
        read_banks(now, {"B1": full}, by=by, on=on),
        raise_bank(now, "B1", from_=GaugePressure.parse("100 psi"), to=full, by=by, on=on),
    )
    for got in each:
        assert isinstance(got, Refusal) is not let
        if isinstance(got, Refusal):
            assert "without it there is bad air in B1: TO" in got.reasons[0]
            assert "let somebody certified do it (--by); or read what it" in got.reasons[0]


def test_what_was_recalled_and_drained_is_let_go_to_be_filled() -> None:
    drained = "at=2026-11-13T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"
    made = book(
        BEFORE + failed(10) + sample(11, "C1"),
        log="\n".join((fill(9, "C1"), drained)),
        held="[{on: 2026-11-12, by: MV, why: recall of C1, recall: C1}]",
        status="held",
    )
    act = release(made, ["A"], why="drained", by="MV", on=TODAY)
    assert isinstance(act, Act)
    assert any(n.startswith("A is empty: it is let go to be filled from a good") for n in act.notes)


@pytest.mark.parametrize(
    ("bled", "happened", "goes"),
    [
        (None, "", False),
        (Bled.NO_FLOW, "", False),
        (Bled.NO_FLOW, "its valve is blocked, to be opened there", True),
        (Bled.HEARD, "", True),
        (Bled.LEFT_OPEN, "", True),
    ],
)
def test_that_nothing_flowed_lets_no_suspect_gas_leave(
    bled: Bled | None, happened: str, goes: bool
) -> None:
    made = book(BEFORE + failed(10) + sample(11, "C1"), log=fill(9, "C1"))
    got = send(made, ["A"], to="Northside", bled=bled, happened=happened, by="MV", on=TODAY)
    assert isinstance(got, Act) is goes
    if isinstance(got, Refusal):
        assert (
            "A holds air of 2026-11-09, and the air test of 2026-11-10 (C1) failed"
            in got.reasons[0]
        )
        assert "`tankbook drain`" in got.reasons[0]


@pytest.mark.parametrize("act", [drain, read_gauges])
@pytest.mark.parametrize(
    ("by", "day", "let"), [("TO", 12, False), ("MV", 12, True), ("TO", 25, True)]
)
def test_a_cylinder_is_emptied_on_a_day_that_is_over_by_somebody_certified(
    act: Callable[..., Act | Refusal], by: str, day: int, let: bool
) -> None:
    made = make_book(
        {"A": with_lines(GOOD, serial="KA")},
        station=station(BEFORE + failed(10) + sample(11, "C1")),
        log=fill(9, "C1"),
        settings=FORGOTTEN,
    )
    at = dt.datetime(2026, 11, day, 12, 0, tzinfo=dt.UTC)
    got = act(made, [Shown("A", GaugePressure.parse("0 psi"))], by=by, at=at)
    assert isinstance(got, Act) is let
    if isinstance(got, Act):
        assert got.edits
    else:
        assert "without it there is bad air in A: TO" in got.reasons[0]


@pytest.mark.parametrize("test", [failed(10), failed(10, values=OILY), failed(20)])
@pytest.mark.parametrize(
    "one",
    [
        OF_BEFORE,
        "",
        "readings: [{on: 2026-10-20, pressure: 3000 psi}, {on: 2026-11-12, pressure: 4000 psi}]",
        "readings: [{on: 2026-11-05, pressure: 3000 psi}, {on: 2026-11-12, pressure: 4000 psi}]",
        "readings: [{on: 2026-11-12, pressure: 3000 psi}, {on: 2026-11-18, pressure: 4000 psi}]",
        "raised: [{on: 2026-11-05, from: 2000 psi, to: 4000 psi}]",
        "raised: [{on: 2026-11-12, from: 2000 psi, to: 4000 psi}]",
        "raised: [{on: 2026-11-12, from: 0 psi, to: 4000 psi, source: 'elsewhere: Quay'}]",
    ],
)
def test_while_a_sample_stands_the_station_marks_what_recall_takes(test: str, one: str) -> None:
    made = book(BEFORE + test, one)
    taken = {b.name for b in by_source(made, "C1", TODAY).banks}
    station_ = made.station
    assert station_ is not None
    assert {b.name for b in station_.banks if bank_state(made, b, TODAY).held} == taken


def test_a_plan_names_the_bank_to_leave_out() -> None:
    made = book(BEFORE + FAILED + sample(12, "C1"), lists(held=AFTER))
    read = {name: GaugePressure.parse("3000 psi") for name in ("B2", "B1")}
    with pytest.raises(PlanError) as caught:
        banks_of(made, TODAY, read)
    assert "bank B1: " in str(caught.value)
    assert "bank B2: " not in str(caught.value)
    assert "leave `--bank B1=3000 psi` out" in str(caught.value.mend)
    assert banks_of(made, TODAY, {"B2": read["B2"]})


NEARLY_EMPTY = "readings: [{on: 2026-10-20, pressure: 200 psi}]"


@pytest.mark.parametrize(
    ("own", "day", "clean"),
    [
        ("", 14, False),
        (sample(9, "B1"), 14, False),  # bad air may have come later
        (sample(11, "B1"), 14, False),  # the compressor pumped bad air up to the 12th
        (sample(12, "B1"), 14, False),  # at what hour of that nobody says
        (at_hour(sample(12, "B1"), "16:00"), 14, True),
        (sample(13, "B1"), 14, True),
        (sample(13, "B1"), 13, True),
        (sample(14, "B1"), 20, True),
        (sample(13, "B1", GOOD_VALUES.replace("co: 1 ppm, ", "")), 14, False),
        (sample(13, "B2"), 14, False),
    ],
)
@pytest.mark.parametrize("read", ["", "{on: 2026-11-%02d, pressure: 3900 psi, at: '07:00'}"])
def test_a_pumping_that_nobody_wrote_down_is_asked_only_since_the_own_sample_of_its_bank(
    own: str, day: int, clean: bool, read: str
) -> None:
    """What was pumped into it by then, that was of; whether a gauge or a fill tells of it."""
    answer = at_hour(sample(12, "C1"), "12:00")
    one = NEARLY_EMPTY.replace("}]", "}, " + read % day + "]") if read else NEARLY_EMPTY
    made = book(BEFORE + failed(10) + answer + own, one, log=fill(day, from_="0 psi"))
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad is None) is clean
    assert [b.bank.name for b in banks_of_bad_air(made, TODAY)] == ([] if clean else ["B1"])
    if bad is not None:
        assert bad.unwritten is not None
        assert bad.unwritten.said == (
            f"by what it was read at or gave B1 was pumped from 2026-10-20 to 2026-11-{day}, and"
            " nobody wrote down when or from what"
        )
        out = next(o for o in banks_out(made, TODAY) if o.name == "B1")
        assert bad.unwritten.mend in out.opens


def test_a_fill_of_what_nobody_pumped_on_record_says_what_its_bank_lacks() -> None:
    """And the entry that it names, made, lets it be; so does a sample of the bank."""
    shelf = acting.shelf(station=station(BEFORE + failed(10) + sample(12, "C1"), NEARLY_EMPTY))
    wanted = [Wanted("RB-014", psi(2900), psi(0))]
    how = Filling(by="MV", source="B1", gas=Gas.parse("air"), looked=True)
    at = dt.datetime(2026, 11, 25, 10, 0, tzinfo=dt.UTC)
    shelf.make(drain(shelf.book, [Shown("RB-014", psi(0))], by="MV", at=at))
    at += dt.timedelta(hours=1)
    got = fill_one(shelf.book, wanted, how, at=at)
    assert isinstance(got, Refusal)
    assert "B1 was pumped from 2026-10-20 to 2026-11-25, and nobody wrote down" in got.reasons[0]
    assert "`tankbook station raise B1 --to PRESSURE --source NAME --on DATE" in got.reasons[0]
    assert "`tankbook station air-test --source B1`" in got.reasons[0]
    assert "drain it to 0" not in got.reasons[0]
    raised = raise_bank(
        shelf.book, "B1", to=psi(4300), source="C1", by="MV", on=dt.date(2026, 11, 20)
    )
    shelf.make(raised)
    assert isinstance(fill_one(shelf.book, wanted, how, at=at), Act)


ANEW = (
    "readings: [{on: 2026-11-05, pressure: 4300 psi}, {on: 2026-11-12, pressure: 0 psi, at: '11:00'},"
    " {on: 2026-11-12, pressure: 4300 psi, at: '12:00'}],"
    " raised: [{on: 2026-11-05, from: 0 psi, to: 4300 psi, source: C1},"
    " {on: 2026-11-12, from: 0 psi, to: 4300 psi, source: C1, at: '12:00'}]"
)
KEPT = "readings: [{on: 2026-11-05, pressure: 4300 psi}], raised: [{on: 2026-11-05, from: 0 psi, to: 4300 psi, source: C1}]"


@pytest.mark.parametrize(
    ("one", "hour", "certain"),
    [
        (ANEW, "09:00", None),
        (ANEW, "13:00", True),  # of what was pumped into it after the fill
        (ANEW, "", False),  # nobody says of which of them
        (KEPT, "09:00", None),
        (KEPT, "13:00", None),  # of the same air
        (KEPT, "", None),
    ],
)
def test_a_sample_of_a_bank_of_after_a_fill_is_of_what_it_held_then_unless_it_was_pumped_between(
    one: str, hour: str, certain: bool | None
) -> None:
    own = at_hour(sample(12, "B1"), hour) if hour else sample(12, "B1")
    tests = at_hour(sample(2, "C1"), "09:00") + failed(6) + sample(9, "C1") + own
    made = book(tests, one, log=fill(12, from_="0 psi"))
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad.certain if bad else None) is certain
    if bad is not None and not certain:
        assert "correct station air-tests 2026-11-12 --set at=HH:MM" in bad.hours
    if certain is not None or one is ANEW:
        recalled = [s.id for s in by_source(made, "C1", TODAY).suspects]
        assert recalled == ["A"] * (certain is not None)


@pytest.mark.parametrize(
    ("what", "bad"), [("", True), ("knock at its valve", False), ("bad smell at it", False)]
)
def test_a_bank_out_for_an_incident_tells_of_no_sample_that_was_answered_long_before(
    what: str, bad: bool
) -> None:
    """A recall does, until it is opened. What is filled from it all the same is held as a fact."""
    why = f"incident of 2026-11-14: {what}" if what else "recall of C1"
    tests = sample(1, "C1") + failed(5) + sample(7, "C1")
    entry = f"{{on: 2026-11-14, at: '08:00', by: MV, why: '{why}'}}"
    one = f"readings: [{{on: 2026-10-20, pressure: 4000 psi}}], held: [{entry}]"
    made = book(tests, one, log=fill(15))
    if what:
        incident = {"on": "2026-11-14", "by": "MV", "what": what, "parts": [{"part": "bank B1"}]}
        kept = typed(CounterFile, json.dumps({"incidents": [incident]}), "counter.yaml")
        made = replace(made, counter=kept)
    assert [b.name for b in banks_held(made, TODAY)] == ["B1"]
    assert (bad_air_of(made, made.cylinders["A"]) is not None) is bad


_DAYS, _AT = st.integers(3, 15), st.sampled_from([None, "08:00", "12:00", "16:00"])
_READ = st.tuples(_DAYS, _AT, st.sampled_from([0, 300, 2000, 4300]))
_RAISE = st.tuples(
    _DAYS, _AT, st.sampled_from([None, 0, 300]), st.sampled_from(["C1", "", "B2", "elsewhere: Q"])
)


def _said(on: int, at: str | None, **keys: object) -> str:
    more = "".join(f", {name}: {value}" for name, value in keys.items() if value not in (None, ""))
    return f"{{on: 2026-11-{on:02d}{more}" + (f", at: '{at}'}}" if at else "}")


def _history(
    first: int | None,
    read: list[tuple[int, str | None, int]],
    raised: list[tuple[int, str | None, int | None, str]],
) -> str:
    """The readings and raisings of a bank, each of which is read as well."""
    shown = [(on, at, 4300) for on, at, _, _ in raised] + read
    shown.sort(key=lambda each: (each[0], each[1] or "23"))
    readings = [f"{{on: 2026-10-20, pressure: {first} psi}}"] if first is not None else []
    readings += [_said(on, at, pressure=f"{psi_} psi") for on, at, psi_ in shown]
    rises = [
        _said(
            on,
            at,
            to="4300 psi",
            source=f"'{source}'" if source else "",
            **({} if begun is None else {"from": f"{begun} psi"}),
        )
        for on, at, begun, source in sorted(raised, key=lambda each: (each[0], each[1] or "23"))
    ]
    return lists(**{k: ", ".join(v) for k, v in (("readings", readings), ("raised", rises)) if v})


@given(
    values=st.sampled_from([SMOKY, OILY]),
    own=st.none() | st.tuples(_DAYS, _AT),
    answer=st.none() | _AT.map(lambda at: (9, at)),
    first=st.sampled_from([None, 0, 200, 4000]),
    read=st.lists(_READ, max_size=2),
    raised=st.lists(_RAISE, max_size=2),
    filled=st.tuples(_DAYS, st.sampled_from(["B1", "C1", "B1+C1", "B2"])),
)
@example(  # read empty of what may stay behind
    values=OILY,
    own=None,
    answer=(9, None),
    first=0,
    read=[(3, "12:00", 300), (15, "16:00", 0)],
    raised=[],
    filled=(13, "B1"),
)
def test_every_screen_tells_one_air_of_a_bank_and_of_what_it_gave(
    values: str,
    own: tuple[int, str | None] | None,
    answer: tuple[int, str | None] | None,
    first: int | None,
    read: list[tuple[int, str | None, int]],
    raised: list[tuple[int, str | None, int | None, str]],
    filled: tuple[int, str],
) -> None:
    """Whatever was read, raised, sampled and filled: what is held is recalled, what is out stands
    so in the table, and what the station gives is not refused as bad once it is filled."""
    drawn_ = [(e, s) for e, s in ((own, "B1"), (answer, "C1")) if e is not None]
    tests = at_hour(sample(2, "C1"), "09:00") + failed(6, "C1", values)
    for (day, at), source in sorted(drawn_, key=lambda each: each[0][0]):
        tests += at_hour(sample(day, source), at) if at else sample(day, source)
    log, one = fill(filled[0], filled[1], from_="0 psi"), _history(first, read, raised)
    made = book(tests, one, log=log)
    recalled, out = by_source(made, "C1", TODAY), banks_of_bad_air(made, TODAY)
    stands = {b.name for b in made.station.banks if bank_state(made, b, TODAY).held}  # type: ignore[union-attr]
    if bad_air_of(made, made.cylinders["A"]) is not None:
        assert [s.id for s in recalled.suspects] == ["A"]
    same_day = own is not None and answer is not None and own[0] == answer[0]
    assert same_day or {b.bank.name for b in out} <= {b.name for b in recalled.banks}
    assert {b.bank.name for b in out} <= stands
    if answer is None:
        assert {b.name for b in recalled.banks} <= stands
        return
    for name in ("B1", "B2"):
        now = fill(25, name, "B", from_="0 psi").replace("to=3000 psi", "to=300 psi")
        given_ = book(tests, one, log=f"{log}\n{now}", cards="AB")
        bad = bad_air_of(given_, given_.cylinders["B"])
        assert bad is None or not bad.certain or name in stands
        assert bad is not None or not any(b.bank.name == name and not b.emptied for b in out)
