"""What a cylinder holds, on either side of a line: one pressure, one day or one line apart.

The cylinders, people and dates are invented.
"""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines
from changing import replace
from loglines import book_of, fill, held, line, read, rises, struck

from tankbook.records.book import Book
from tankbook.rules.answers import Analysis, Contents
from tankbook.rules.checks import check
from tankbook.rules.fill_history import (
    NOTHING_KNOWN,
    all_lines_of,
    contents_of,
    lines_about,
    lines_by_cylinder,
    named_in_log,
    read_empty,
    rentals_of,
    sets_with,
    sides_of,
    struck_out,
)

VOID = "void: {why: wrong card, by: MV, on: 2026-11-20}"


def moments(book: Book, id_: str = "A") -> list[str]:
    return [n.at.isoformat()[5:13] for n in lines_about(book, id_)]


# --- what is struck out --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("voids", "by", "left"),
    [
        ("2026-11-02T10:00:00+00:00 A", "A", "3000 psi"),
        ("2026-11-02T10:00:00+00:00", "A", "3000 psi"),  # the line's own cylinder
        ("2026-11-02T10:00:00+00:00 A", "B", "1200 psi"),  # another cylinder's line
        ("2026-11-02T10:00:00+00:00", "B", "1200 psi"),
        ("2026-11-02T10:00:00+00:00 B", "A", "1200 psi"),
        ("2026-11-02T10:00:01+00:00 A", "A", "1200 psi"),
        ("2026-11-01T10:00:00+00:00 A", "A", "1200 psi"),
    ],
)
def test_a_line_is_struck_out_by_its_time_and_its_cylinder(voids: str, by: str, left: str) -> None:
    log = [fill("2026-11-01"), read("2026-11-02", "1200 psi"), struck("2026-11-03", voids, by)]
    assert held(book_of(*log))[1] == left


def test_only_void_lines_strike_out_and_only_what_they_name() -> None:
    log = [fill("2026-11-01", voids="2026-11-02T10:00:00+00:00 A"), read("2026-11-02", "1200 psi")]
    log.append(line("2026-11-03", "void"))
    book = book_of(*log)
    assert struck_out(book.log) == frozenset()
    assert held(book)[1] == "1200 psi"


def test_a_struck_out_fill_is_no_fill() -> None:
    log = [fill("2026-11-01", gas="nitrox32"), struck("2026-11-02", "2026-11-01T10:00:00+00:00 A")]
    assert contents_of(book_of(*log), "A") == NOTHING_KNOWN


# --- the lines of an id --------------------------------------------------------------------------
MIXED = (
    fill("2026-11-02", "D"),
    read("2026-11-04", "900 psi", "B"),
    fill("2026-11-01"),
    read("2026-11-03", "1200 psi"),
    struck("2026-11-05", "2026-11-03T10:00:00+00:00 A"),
)
DOUBLES = {"D": "cylinders: [A, B]"}


def test_lines_by_their_time_whatever_their_place() -> None:
    book = book_of(*MIXED, sets=DOUBLES)
    assert moments(book, "A") == ["11-01T10", "11-02T10"]
    assert moments(book, "B") == ["11-02T10", "11-04T10"]
    assert moments(book, "D") == ["11-02T10"]
    assert moments(book, "C") == []
    alone = book_of(read("2026-11-03", "1200 psi"), fill("2026-11-01"))
    assert moments(alone) == ["11-01T10", "11-03T10"]
    assert held(alone) == ("air", "1200 psi")
    assert moments(book_of(fill("2026-11-01"), sets=DOUBLES)) == ["11-01T10"]
    assert moments(book_of(fill("2026-11-01", "D"), sets=DOUBLES)) == ["11-01T10"]


def test_lines_of_every_cylinder_that_has_one() -> None:
    found = lines_by_cylinder(book_of(*MIXED, sets=DOUBLES))
    assert (set(found), len(found)) == ({"A", "B", "D"}, 3)
    assert "A" in found
    assert "C" not in found
    assert [n.act for n in found["A"]] == ["fill"]
    assert found["A"] == found["A"]


def test_every_line_that_names_an_id_struck_out_or_not() -> None:
    book = book_of(*MIXED, sets=DOUBLES)
    for _ in range(2):
        assert [n.act for n in all_lines_of(book, "A")] == ["fill", "reading", "void"]
        assert all_lines_of(book, "C") == ()
    assert sorted(named_in_log(book)) == ["A", "B", "D"]


def test_a_cylinder_may_belong_to_two_sets() -> None:
    book = book_of(sets={"D": "cylinders: [A, B]", "E": "cylinders: [A]"})
    assert dict(sets_with(book)) == {"A": ("D", "E"), "B": ("D",)}


# --- empty ---------------------------------------------------------------------------------------
# Below 15 psi: common practice, no source; so the module says.


@pytest.mark.parametrize(("to", "gas"), [("15 psi", "air"), ("14.9 psi", None), ("0 psi", None)])
@pytest.mark.parametrize("how", ["reading", "drain", "return"])
def test_what_shows_less_than_fifteen_psi_holds_no_gas_that_counts(
    to: str, gas: str | None, how: str
) -> None:
    rented = f"[{{on: 2026-11-02, to: B-1, back: 2026-11-03, pressure: {to}}}]"
    if how == "return":
        book = book_of(fill("2026-11-01"), rented=rented)
    else:
        book = book_of(fill("2026-11-01"), line("2026-11-03", how, to=to))
    found = contents_of(book, "A")
    assert held(book) == (gas, to)
    assert (found.on, found.fills) == (dt.date(2026, 11, 3), 1)
    assert found.filled_at == dt.datetime(2026, 11, 1, 10, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("log", "days"),
    [
        ([read("2026-11-02", "14.9 psi")], [2]),
        ([read("2026-11-02", "15 psi")], []),
        ([line("2026-11-02", "reading", from_="20 psi")], []),  # nothing was read
        ([line("2026-11-02", "drain", to="0 psi")], []),  # let out on purpose
        ([fill("2026-11-02", to="0 psi")], []),
        ([read("2026-11-02", "0 psi", "D"), read("2026-11-04", "0 psi"), read("2026-11-05", "0 psi", "B")], [4, 2]),
        ([read("2026-11-02", "0 psi"), struck("2026-11-03", "2026-11-02T10:00:00+00:00 A")], []),
    ],
)  # fmt: skip
def test_the_days_it_was_read_empty(log: list[str], days: list[int]) -> None:
    found = [day for day, _ in read_empty(book_of(*log, sets=DOUBLES), "A")]
    assert sorted(found) == sorted(dt.date(2026, 11, d) for d in days)


# --- what a fill leaves --------------------------------------------------------------------------


def test_all_that_a_fill_says() -> None:
    said = {"gas": "nitrox32", "o2": "31.8 %", "analysed_by": "JO", "source": "B1+C1"}
    found = contents_of(book_of(fill("2026-11-01", temperature="70 degF", **said)), "A")
    at = dt.datetime(2026, 11, 1, 10, tzinfo=dt.UTC)
    assert found == Contents(
        found.gas,
        found.pressure,
        found.temperature,
        at,
        at.date(),
        Analysis(at.date(), 31.8, None, "JO", found.pressure, found.temperature),
        "B1+C1",
        at,
        1,
    )
    assert (str(found.gas), str(found.pressure), str(found.temperature)) == (
        "nitrox32",
        "3000 psi",
        "70 degF",
    )


def test_and_what_it_does_not() -> None:
    found = contents_of(book_of(fill("2026-11-01")), "A")
    assert (found.oxygen, found.analysed_by, found.source) == (None, "", "")
    assert found.temperature is None


def test_a_reading_changes_the_pressure_its_time_and_its_temperature_alone() -> None:
    warm = line("2026-11-02", "reading", to="2900 psi", temperature="60 degF")
    filled = fill("2026-11-01", temperature="70 degF", o2="20.9 %", analysed_by="JO", source="B1")
    found = contents_of(book_of(filled, warm), "A")
    assert (str(found.pressure), str(found.temperature)) == ("2900 psi", "60 degF")
    assert (found.oxygen, found.analysed_by, found.source) == (20.9, "JO", "B1")
    assert found.at == dt.datetime(2026, 11, 2, 10, tzinfo=dt.UTC)
    assert found.filled_at == dt.datetime(2026, 11, 1, 10, tzinfo=dt.UTC)


def test_a_reading_of_nothing_leaves_the_pressure_unknown_and_the_gas_as_it_was() -> None:
    assert held(book_of(fill("2026-11-01"), line("2026-11-02", "reading"))) == ("air", None)


@pytest.mark.parametrize(
    ("log", "fills", "gas"),
    [
        ([], 0, None),
        ([read("2026-11-01", "900 psi")], 0, None),
        ([read("2026-11-01", "900 psi"), read("2026-11-02", "800 psi")], 0, None),
        ([fill("2026-11-01")], 1, "air"),
        ([fill("2026-11-01", gas="nitrox32"), fill("2026-11-02")], 2, "air"),
        ([fill("2026-11-01"), fill("2026-11-02"), fill("2026-11-03", gas="nitrox32")], 3, "nitrox32"),
        ([fill("2026-11-01"), fill("2026-11-02"), read("2026-11-03", "900 psi")], 2, "air"),
        ([fill("2026-11-01"), fill("2026-11-02"), read("2026-11-03", "0 psi")], 2, None),
    ],
)  # fmt: skip
def test_how_many_fills_and_the_gas_of_the_last(
    log: list[str], fills: int, gas: str | None
) -> None:
    book = book_of(*log)
    assert (contents_of(book, "A").fills, held(book)[0]) == (fills, gas)


def test_what_was_read_before_any_fill_is_a_pressure_without_a_gas() -> None:
    assert held(book_of(read("2026-11-01", "900 psi"))) == (None, "900 psi")


# --- a return from rental ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "back", "pressure"),
    [
        ("2026-10-20", "2026-11-02", "3000 psi"),  # back before it was filled
        ("2026-11-04", "2026-11-02", "3000 psi"),  # mistyped: it shows nothing of after the fill
        ("2026-11-02", "2026-11-03", "3000 psi"),  # filled on the day it came back
        ("2026-11", "2026-11-03", "3000 psi"),  # out since the first of the month, perhaps
        ("2026-11-03", "2026-11-03", "700 psi"),  # went out filled, and came back that day
        ("2026-11-03", "2026-11-04", "700 psi"),
        ("2026-11-04", "2026-11-05", "700 psi"),
    ],
)
def test_a_return_counts_where_it_came_after_the_fill(on: str, back: str, pressure: str) -> None:
    rented = f"[{{on: {on}, to: B-1, back: {back}, pressure: 700 psi}}]"
    assert held(book_of(fill("2026-11-03"), rented=rented)) == ("air", pressure)


@pytest.mark.parametrize(
    ("rental", "pressure"),
    [
        ("{on: 2026-11-02, to: B-1, back: 2026-11-05, pressure: 700 psi}", "700 psi"),
        ("{on: 2026-11-02, to: B-1, back: 2026-11-05}", "3000 psi"),  # nobody read it
        ("{on: 2026-11-02, to: B-1, pressure: 700 psi}", "3000 psi"),  # not back
        (f"{{on: 2026-11-02, to: B-1, back: 2026-11-05, pressure: 700 psi, {VOID}}}", "3000 psi"),
    ],
)
def test_only_a_return_that_stands_and_was_read_counts(rental: str, pressure: str) -> None:
    assert held(book_of(fill("2026-11-01"), rented=f"[{rental}]")) == ("air", pressure)


@pytest.mark.parametrize(
    ("more", "pressure"),
    [
        (read("2026-11-05", "650 psi"), "650 psi"),  # the log knows the time of the return
        (read("2026-11-04", "2900 psi"), "700 psi"),
        (read("2026-11-06", "600 psi"), "600 psi"),
        (line("2026-11-05T08", "drain", to="2000 psi"), "700 psi"),  # no reading: let down first
    ],
)
def test_what_the_log_read_at_the_return_counts_before_it(more: str, pressure: str) -> None:
    rented = "[{on: 2026-11-05, to: B-1, back: 2026-11-05, pressure: 700 psi}]"
    assert held(book_of(fill("2026-11-01"), more, rented=rented))[1] == pressure


def test_a_return_of_what_nobody_logged_is_a_pressure() -> None:
    rented = "[{on: 2026-11-02, to: B-1, back: 2026-11-05, pressure: 700 psi}]"
    found = contents_of(book_of(rented=rented), "A")
    assert (str(found.pressure), found.on, found.gas) == ("700 psi", dt.date(2026, 11, 5), None)
    assert found.temperature is None


def test_a_pressure_at_a_return_has_no_temperature() -> None:
    rented = "[{on: 2026-11-02, to: B-1, back: 2026-11-05, pressure: 700 psi}]"
    book = book_of(fill("2026-11-01", temperature="70 degF"), rented=rented)
    assert contents_of(book, "A").temperature is None


def test_the_rentals_of_a_cylinder_are_those_of_its_sets_too() -> None:
    out = "[{on: 2026-11-0%s, to: B-1}]"
    sets = {"D": f"cylinders: [A, B]\nrented: {out % 3}"}
    book = book_of(sets=sets, rented=out % 2)
    days = {i: [r.on.day for r in rentals_of(book, i)] for i in ("A", "B", "D", "C")}
    assert days == {"A": [2, 3], "B": [3], "D": [3], "C": []}


# --- work that lets the gas out ------------------------------------------------------------------
PASSED = "{on: 2024-03, method: hydrostatic, by: maker}"
LOOKED = "{on: 2026-02-09, by: MV, checklist: annual, result: pass}"


# A cylinder comes back from a test empty, so a fill of the day or the month of it came after it;
# one of the day it went away overnight was before that.
@pytest.mark.parametrize(
    ("work", "gas"),
    [
        ({"sent": "[{on: 2026-11-06, to: N, for: repair, back: 2026-11-06}]"}, None),
        ({"sent": "[{on: 2026-11-05, to: N, for: repair, back: 2026-11-06}]"}, None),
        ({"sent": "[{on: 2026-11, to: N, for: repair, back: 2026-11-06}]"}, None),
        ({"sent": "[{on: 2026-11-05, to: N, for: repair, back: 2026-11-05}]"}, "air"),
        ({"sent": "[{on: 2026-11-05, to: N, for: supplier-return, back: 2026-11-06}]"}, "air"),
        ({"sent": "[{on: 2026-11-05, to: N, for: repair, back: 2026-11-06, bled: no-flow}]"}, "air"),
        ({"cleaned": "[{on: 2026-11-06, by: MV, to: nitrox}]"}, None),
        ({"cleaned": "[{on: 2026-11-05, by: MV, to: nitrox}]"}, "air"),
        ({"cleaned": "[{on: 2026-11-05, by: MV, to: nitrox, at: '09:00'}]"}, "air"),
        ({"inspected": f"[{LOOKED}, {LOOKED.replace('2026-02-09', '2026-11-05')[:-1]}, at: '09:00'}}]"}, "air"),
        ({"inspected": f"[{LOOKED}, {{on: 2026-11-06, by: Weir T4, checklist: sticker-seen, result: pass, checked: [inside]}}]"}, None),
        ({"inspected": f"[{LOOKED}, {{on: 2026-11-06, by: Weir T4, checklist: sticker-seen, result: pass, checked: [outside]}}]"}, "air"),
        ({"requalified": f"[{PASSED}, {{on: 2026-11-06, method: ultrasonic, by: T1}}]"}, "air"),
        ({"requalified": f"[{PASSED}, {{on: 2026-11-06, method: eddy-current, by: T1}}]"}, None),
        ({"sent": f"[{{on: 2026-11-06, to: N, for: repair, {VOID}}}]"}, "air"),
        ({"requalified": f"[{PASSED}, {{on: 2026-11-06, method: hydrostatic, by: T1}}]"}, None),
        ({"requalified": f"[{PASSED}, {{on: 2026-11-05, method: hydrostatic, by: T1}}]"}, "air"),
        ({"requalified": f"[{PASSED}, {{on: 2026-11, method: hydrostatic, by: T1}}]"}, "air"),
        ({"requalified": f"[{PASSED}, {{on: 2026-11-06, method: hydrostatic, by: T1, {VOID}}}]"}, "air"),
        ({"inspected": f"[{LOOKED}, {LOOKED.replace('2026-02-09', '2026-11-06')}]"}, None),
        ({"inspected": f"[{LOOKED}, {LOOKED.replace('2026-02-09', '2026-11-05')}]"}, "air"),
        ({"inspected": f"[{LOOKED}, {LOOKED.replace('2026-02-09', '2026-11')}]"}, "air"),
        ({"inspected": f"[{LOOKED}, {LOOKED.replace('2026-02-09', '2026-11-06')[:-1]}, {VOID}}}]"}, "air"),
        ({"inspected": f"[{LOOKED}, {{on: 2026-11-06, by: MV, checklist: pre-fill, result: pass}}]"}, "air"),
    ],
)  # fmt: skip
def test_a_test_or_a_look_inside_lets_the_gas_out(work: dict[str, str], gas: str | None) -> None:
    book = book_of(fill("2026-11-05"), **work)
    found = contents_of(book, "A")
    assert held(book) == (gas, "3000 psi" if gas else "0 psi")
    assert found.fills == 1
    assert found.filled_at == dt.datetime(2026, 11, 5, 10, tzinfo=dt.UTC)
    assert found.on == dt.date(2026, 11, 5 if gas else 6)


def test_what_came_after_a_fill_of_its_day_is_told_by_its_time() -> None:
    for work in (
        {"cleaned": "[{on: 2026-11-05, by: MV, to: nitrox, at: '16:30'}]"},
        {"inspected": f"[{LOOKED}, {LOOKED.replace('2026-02-09', '2026-11-05')[:-1]}, at: '16:30'}}]"},
        {"sent": "[{on: 2026-11-05, to: N, for: requalification}]"},
    ):  # fmt: skip
        found = contents_of(book_of(fill("2026-11-05"), **work), "A")
        assert found.gas is None
        if "sent" in work:
            assert found.pressure is None  # nothing is known of what is away
        else:
            assert (str(found.pressure), found.on) == ("0 psi", dt.date(2026, 11, 5))


HEARD = "{on: 2026-11-03, by: MV, did: serviced, bled: heard}"


@pytest.mark.parametrize(
    ("work", "pressure"),
    [
        ({"valve_work": f"[{HEARD}]"}, "0 psi"),
        ({"sent": "[{on: 2026-11-05, to: N, for: repair, bled: heard, back: 2026-11-06}]"}, "0 psi"),
        ({"sent": "[{on: 2026-11-05, to: N, for: supplier-return, bled: heard, back: 2026-11-06}]"}, None),
        ({"valve_work": f"[{HEARD}]", "sent": "[{on: 2026-11-05, to: N, for: supplier-return, back: 2026-11-06}]"}, None),
        ({"valve_work": f"[{HEARD.replace('11-03', '11-06')}]", "sent": "[{on: 2026-11-05, to: N, for: supplier-return, back: 2026-11-06}]"}, "0 psi"),
        ({"valve_work": f"[{HEARD}]", "held": "[{on: 2026-11-05, by: MV, why: no flow, bled: no-flow}]"}, None),
        ({"valve_work": f"[{HEARD.replace('11-03', '11-06')}]", "held": "[{on: 2026-11-05, by: MV, why: no flow, bled: no-flow}]"}, "0 psi"),
    ],
)  # fmt: skip
def test_what_was_heard_to_bleed_is_empty_till_that_is_in_doubt(
    work: dict[str, str], pressure: str | None
) -> None:
    found = contents_of(book_of(**work), "A").pressure
    assert (str(found) if found else None) == pressure


@pytest.mark.parametrize("worked", ["A", "B"])
def test_work_on_either_side_lets_the_gas_out_of_the_set(worked: str) -> None:
    tested = f"[{PASSED}, {{on: 2026-11-06, method: hydrostatic, by: T1}}]"
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="K2")}
    cards[worked] = with_lines(cards[worked], requalified=tested)
    book = make_book(cards, sets=DOUBLES, log=fill("2026-11-05", "D"))
    gases = {i: held(book, i)[0] for i in ("A", "B", "D")}
    assert gases == {i: None if i in (worked, "D") else "air" for i in ("A", "B", "D")}
    without = replace(book, cylinders={i: c for i, c in book.cylinders.items() if i != worked})
    assert held(without, "D")[0] == "air"  # of a card that cannot be read nothing is known


# --- the sides of a set --------------------------------------------------------------------------
SHUT = {"D": "cylinders: [A, B]\nisolator: shut"}
OPEN = {"D": "cylinders: [A, B]\nisolator: open"}


@pytest.mark.parametrize("sets", [SHUT, OPEN])
def test_a_set_goes_by_a_side_that_was_read_since(sets: dict[str, str]) -> None:
    log = [fill("2026-11-01", "D"), read("2026-11-02", "900 psi", "A")]
    book = book_of(*log, sets=sets)
    assert held(book, "D") == ("air", "900 psi")


@pytest.mark.parametrize(("a", "b"), [("900", "800"), ("800", "900"), ("800", "800")])
def test_a_set_is_told_by_its_emptier_side(a: str, b: str) -> None:
    log = [fill("2026-11-01", "D"), read("2026-11-02", f"{a} psi"), read("2026-11-03", f"{b} psi", "B")]  # fmt: skip
    assert held(book_of(*log, sets=SHUT), "D") == ("air", "800 psi")


@pytest.mark.parametrize("log", [[], [fill("2026-11-01")], [fill("2026-11-01", "B")]])
def test_a_side_of_which_nothing_is_known_leaves_the_set_unknown(log: list[str]) -> None:
    book = book_of(*log, sets=SHUT)
    assert contents_of(book, "D") == NOTHING_KNOWN
    assert [n for n, _ in sides_of(book, book.sets["D"])] == ["A", "B"]


def test_a_set_of_nothing_holds_nothing() -> None:
    assert contents_of(book_of(sets={"D": "cylinders: []\nisolator: shut"}), "D") == NOTHING_KNOWN


@pytest.mark.parametrize(
    ("a", "b", "gas"),
    [("air", "air", "air"), ("nitrox32", "nitrox32", "nitrox32"), ("air", "nitrox32", None)],
)
def test_sides_of_one_gas_make_a_set_of_it(a: str, b: str, gas: str | None) -> None:
    log = [fill("2026-11-01", gas=a, to="2900 psi"), fill("2026-11-02", "B", gas=b)]
    assert held(book_of(*log, sets=SHUT), "D") == (gas, "2900 psi")


# --- rises that nothing explains -----------------------------------------------------------------
# 200 psi and 12 %: common practice, no source, and own calculation; so the module says. From 1000
# psi a pressure may so come to 1320.


KNOWN = read("2026-11-05", "1000 psi")
ROSE = read("2026-11-10", "1400 psi")
FOUND = [("1400 psi", "1000 psi")]


@pytest.mark.parametrize(
    ("settings", "to", "found"),
    [
        ("", "1319.5 psi", False),
        ("", "1320.5 psi", True),
        ("unexplained: 300 psi\n", "1419.5 psi", False),
        ("unexplained: 300 psi\n", "1420.5 psi", True),
        ("unexplained: 100 psi\n", "1219.5 psi", False),
        ("unexplained: 100 psi\n", "1220.5 psi", True),
    ],
)
def test_what_the_weather_and_a_gauge_explain(settings: str, to: str, found: bool) -> None:
    got = rises(KNOWN, read("2026-11-10", to), settings=SETTINGS + settings)
    assert got == [(to, "1000 psi")] * found


def test_a_rise_of_just_what_is_explained_is_no_rise() -> None:
    # 25 bar and 12 % of it are 28 bar: to the last bit of a float, 14 bar below 42
    log = [read("2026-11-05", "25 bar"), read("2026-11-10", "42 bar")]
    assert rises(*log, settings=SETTINGS + "unexplained: 14 bar\n") == []


@pytest.mark.parametrize(
    ("log", "found"),
    [
        ([ROSE], []),  # nothing to hold it against
        ([KNOWN, ROSE], FOUND),
        ([KNOWN, fill("2026-11-10")], []),  # a fill explains what it ends at
        ([KNOWN, fill("2026-11-10", from_="1400 psi")], FOUND),  # not what it starts at
        ([KNOWN, fill("2026-11-09", to="1350 psi"), ROSE], []),
        ([KNOWN, line("2026-11-10", "drain", from_="1400 psi", to="500 psi")], FOUND),
        ([KNOWN, line("2026-11-10", "drain", from_="1000 psi", to="500 psi")], []),
        ([KNOWN, line("2026-11-06", "reading"), ROSE], FOUND),  # nothing was read between
        ([KNOWN, ROSE, read("2026-11-12", "15 psi")], FOUND),
        ([KNOWN, ROSE, read("2026-11-12", "14 psi")], []),  # empty since, whatever it held
        ([KNOWN, line("2026-11-10", "drain", from_="1400 psi", to="14 psi")], []),
        ([KNOWN, ROSE, fill("2026-11-12", from_="14 psi")], []),
        ([read("2026-11-05", "14 psi"), ROSE], [("1400 psi", "14 psi")]),
        ([KNOWN, ROSE, read("2026-11-12", "1500 psi"), read("2026-11-14", "1900 psi")], [*FOUND, ("1900 psi", "1500 psi")]),
        ([KNOWN, read("2026-11-10", "1400 psi", "B")], []),
    ],
)  # fmt: skip
def test_what_rises_without_a_fill(log: list[str], found: list[tuple[str, str]]) -> None:
    assert rises(*log) == found


@pytest.mark.parametrize(
    ("work", "rose"),
    [
        ({"valve_work": "[{on: 2026-11-07, by: MV, did: changed}]"}, True),
        # initials that are left out let nothing out, and hide no fill either
        ({"valve_work": "[{on: 2026-11-07, did: changed}]"}, True),
        ({"valve_work": "[{on: 2026-11-07, by: nobody, did: changed}]"}, True),
        ({"cleaned": "[{on: 2026-11-07, to: nitrox}]"}, True),
        ({"valve_work": "[{on: 2026-11-07, by: MV, did: serviced, stayed_on: yes}]"}, False),
        ({"valve_work": "[{on: 2026-11-07, by: MV, did: serviced}]"}, False),
        ({}, False),
    ],
)
def test_what_is_full_after_work_that_opened_it_was_filled(
    work: dict[str, str], rose: bool
) -> None:
    full = [read("2026-11-05", "2900 psi"), read("2026-11-10", "2900 psi")]
    assert bool(rises(*full, **work)) is rose


@pytest.mark.parametrize(
    ("at", "rose"),
    [
        ("", False),  # of the day of a line nobody knows which was first
        ("at: '08:00', ", False),
        ("at: '11:00', ", True),
        ("at: '13:00', ", False),
    ],
)
@pytest.mark.parametrize(
    ("kind", "entry"),
    [
        ("valve_work", "by: MV, did: changed"),
        ("valve_work", "by: MV, did: changed, bled: heard"),
        ("valve_work", "by: nobody, did: changed"),
        ("cleaned", "by: MV, to: nitrox"),
        ("inspected", "by: MV, checklist: annual, result: pass"),
    ],
)
def test_what_is_full_later_on_the_day_of_work_that_opened_it_was_filled(
    kind: str, entry: str, at: str, rose: bool
) -> None:
    """By the hours of the work and of what was read before and after it."""
    work = {kind: f"[{{on: 2026-11-07, {at}{entry}}}]"}
    full = [read("2026-11-07T10", "2900 psi"), read("2026-11-07T12", "2900 psi")]
    assert bool(rises(*full, **work)) is rose
    gave = fill("2026-11-07T09", to="2900 psi")
    gas = contents_of(book_of(gave, *full, **work), "A").gas
    emptied = "13:00" in at and ("changed" not in entry or "heard" in entry)
    assert (gas is None) is (rose or emptied)


@pytest.mark.parametrize("by", ["", "by: nobody, ", "by: ZZ, "])
@pytest.mark.parametrize(
    "work",
    [
        {"valve_work": "[{on: 2026-11-03, by: MV, did: serviced, bled: heard}]"},
        {"cleaned": "[{on: 2026-11-03, by: MV, to: nitrox, bled: heard}]"},
        {"held": "[{on: 2026-11-03, by: MV, why: dent, bled: heard}]"},
    ],
)
def test_what_nobody_who_can_be_asked_heard_is_not_known_to_be_empty(
    work: dict[str, str], by: str
) -> None:
    assert str(contents_of(book_of(**work), "A").pressure) == "0 psi"
    unasked = {name: said.replace("by: MV, ", by) for name, said in work.items()}
    assert contents_of(book_of(**unasked), "A").pressure is None


def test_a_customers_may_be_filled_elsewhere() -> None:
    assert rises(KNOWN, ROSE, use="customer", owner="C-0192") == []


@pytest.mark.parametrize(
    ("looks", "found"),
    [
        (["2026-11-09 annual pass"], True),
        (["2026-11-10 annual pass"], True),  # on the day of the reading: which came first?
        (["2026-11-11 annual pass"], False),
        (["2026-11 annual pass"], True),  # it can have been the first of the month
        (["2026-12 annual pass"], False),
        (["2026-11-11 pre-fill pass"], True),  # it looks at the outside
        (["2026-11-11 annual hold"], True),
        (["2026-11-11 annual pass", "2026-11-12 pre-fill pass"], False),
        (["2026-02-09 annual pass", "2026-11-11 annual pass"], False),
    ],
)
def test_a_look_inside_ends_the_question(looks: list[str], found: bool) -> None:
    entries = [e.split() for e in looks]
    text = ", ".join(f"{{on: {o}, by: MV, checklist: {c}, result: {r}}}" for o, c, r in entries)
    assert rises(KNOWN, ROSE, inspected=f"[{text}]") == FOUND * found


RENTED = "{on: %s, to: B-1%s}"


@pytest.mark.parametrize("kept", ["rented", "sent", "set"])
@pytest.mark.parametrize(
    ("on", "more", "explained"),
    [
        ("2026-11-06", ", back: 2026-11-08", True),
        ("2026-11-01", ", back: 2026-11-05", False),  # read after it came back
        ("2026-11-01", ", back: 2026-11-04", False),
        ("2026-11-10", ", back: 2026-11-12", False),  # read before it went out
        ("2026-11-10", ", back: 2026-11-10", True),  # out and back on one day: before or after
        ("2026-11-05", ", back: 2026-11-05", True),
        ("2026-11-11", ", back: 2026-11-12", False),
        ("2026-11-06", "", True),  # not back
        ("2026-11-11", "", False),
        ("2026-11", ", back: 2026-11-12", True),  # it can have been the first of the month
        ("2026-11-06", f", back: 2026-11-08, {VOID}", False),
    ],
)
def test_whoever_kept_it_may_have_filled_it(kept: str, on: str, more: str, explained: bool) -> None:
    entry = f"{{on: {on}, to: B-1{', for: repair' if kept == 'sent' else ''}{more}}}"
    other = "{on: 2026-01-02, to: B-0%s, back: 2026-01-03}" % (", for: repair" * (kept == "sent"))
    entries = f"[{other}, {entry}]"
    sets = {"D": f"cylinders: [A, B]\nrented: {entries}"} if kept == "set" else None
    changes = {} if kept == "set" else {kept: entries}
    assert rises(KNOWN, ROSE, sets=sets, **changes) == FOUND * (not explained)


OUT_AND_BACK = "[{on: 2026-11-10, to: B-1, back: 2026-11-10%s}]"


@pytest.mark.parametrize(
    ("back", "begun", "explained"),
    [
        # the fill may have followed the return: what rose after it is nobody's
        (", pressure: 600 psi", "600 psi", False),
        (", pressure: 600 psi", "500 psi", False),
        (", pressure: 600 psi", None, False),
        (", pressure: 600 psi", "872 psi", False),  # 200 psi and 12 %, as any reading
        # it began with more than came back: it was before it went out
        (", pressure: 600 psi", "873 psi", True),
        # nobody read it at the return
        ("", "600 psi", True),
    ],
)
def test_out_and_back_on_a_day_of_fills(back: str, begun: str | None, explained: bool) -> None:
    more = {"from_": begun} if begun else {}
    log = [
        read("2026-11-05", "1000 psi"),
        fill("2026-11-10T12", to="1200 psi", **more),
        read("2026-11-10T18", "2000 psi"),
    ]
    found = [r for r in rises(*log, rented=OUT_AND_BACK % back) if r[0] == "2000 psi"]
    assert found == [("2000 psi", "1200 psi")] * (not explained)


OPEN_SET = {"D": "cylinders: [A, B]\nisolator: open\n"}
TOGETHER = read("2026-11-10", "1400 psi", "D")


@pytest.mark.parametrize(
    ("log", "rose"),
    [
        ([KNOWN, read("2026-11-05", "1800 psi", "B"), TOGETHER], False),  # the other side gave it
        ([KNOWN, read("2026-11-05", "1400 psi", "B"), TOGETHER], False),
        ([KNOWN, read("2026-11-05", "1399 psi", "B"), TOGETHER], True),
        ([KNOWN, TOGETHER], True),  # nothing is known of it
        # what it was once, and is no more
        ([read("2026-11-01", "1800 psi", "B"), KNOWN, read("2026-11-06", "900 psi", "B"), TOGETHER], True),
        ([KNOWN, TOGETHER, read("2026-11-12", "1800 psi", "B")], True),  # read since
        ([read("2026-11-05", "1800 psi", "B"), KNOWN, ROSE], True),  # its own reading shows it alone
        # filled together before this one was read by itself: that says nothing of the other now
        ([fill("2026-11-02", "D", to="1800 psi"), KNOWN, TOGETHER], True),
    ],
)  # fmt: skip
def test_what_the_other_side_of_a_set_gave(log: list[str], rose: bool) -> None:
    assert bool(rises(*log, sets=OPEN_SET)) is rose


@pytest.mark.parametrize(("to", "gas"), [("1319 psi", "nitrox32"), ("1321 psi", None)])
def test_of_what_somebody_else_put_in_only_the_pressure_is_known(to: str, gas: str | None) -> None:
    log = [fill("2026-11-05", to="1000 psi", gas="nitrox32"), read("2026-11-10", to)]
    assert held(book_of(*log)) == (gas, to)


# --- how far a gauge may err ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("to", "code"), [("3049.5 psi", "over-by-the-gauge"), ("3050.5 psi", "over-limit")]
)
def test_more_than_fifty_above_the_limit_is_a_fault(to: str, code: str) -> None:
    """US Navy Diving Manual (Change A, 7-5.1.1 step 7, read)."""
    book = book_of(fill("2026-11-20", to=to))
    codes = {f.code for f in check(book, TODAY)}
    assert codes & {"over-by-the-gauge", "over-limit"} == {code}
