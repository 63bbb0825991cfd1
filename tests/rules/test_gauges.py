"""Which gauge is the master, and whether anybody knows that what is read on it is true."""

from __future__ import annotations

import datetime as dt

import acting
import pytest
from books import GOOD, TODAY, make_book

from tankbook.acts.correct import correct
from tankbook.acts.station_parts import change_gauge, check_gauge
from tankbook.acts.striking import Wrong
from tankbook.output import board as board_output
from tankbook.output import due as due_output
from tankbook.output import pages
from tankbook.output import report as report_output
from tankbook.output.board import OfGit
from tankbook.output.page import Page
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.station import Station, masters_of
from tankbook.rules.answers import State
from tankbook.rules.board import board
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.gauges import read_gauges, unproved
from tankbook.rules.inforce import rules_of
from tankbook.rules.schedule import due
from tankbook.units import GaugePressure

BY = {"by": "MV", "on": TODAY}
AIR = "air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}]\n"


def seen(against: str = "TG", on: str = "2026-10-01", reads: int = 3000) -> str:
    return f"{{on: {on}, against: {against}, reads: {reads} psi, true: 3000 psi}}"


def gauge(name: str, *checks: str, more: str = "") -> str:
    return f"{{name: {name}, {more}checked: [{', '.join(checks)}]}}"


MASTER = "master: yes, "
NEW = "renewed: [{on: 2026-10-20, by: MV}], "

PROVED: dict[str, tuple[str, set[str]]] = {
    "each against a test gauge": (f"{gauge('G1', seen())}, {gauge('G2', seen())}", set()),
    "one never compared": (f"{gauge('G1', seen())}, {gauge('G2')}", {"G2"}),
    "against one that was never compared": (
        f"{gauge('G1')}, {gauge('G2', seen('G1'))}",
        {"G1", "G2"},
    ),
    "against one that was found true before": (
        f"{gauge('G1', seen())}, {gauge('G2', seen('g1', '2026-10-05'))}",
        set(),
    ),
    "against one that was found true after, and was never found off": (
        f"{gauge('G1', seen(on='2026-10-09'))}, {gauge('G2', seen('G1', '2026-10-05'))}",
        set(),
    ),
    "against one that was new since it was found true": (
        f"{gauge('G1', seen(), more=NEW)}, {gauge('G2', seen('G1', '2026-10-25'))}",
        {"G1", "G2"},
    ),
    "before a new one was fitted there": (
        f"{gauge('G1', seen(), more=NEW)}, {gauge('G2', seen('G1', '2026-10-15'))}",
        {"G1"},
    ),
    "against one that was found off next": (
        f"{gauge('G1', seen(), seen(on='2026-10-30', reads=2500))},"
        f" {gauge('G2', seen('G1', '2026-10-15'))}",
        {"G2"},
    ),
    "against one that was found off long after it was found true again": (
        f"{gauge('G1', seen(), seen(on='2026-10-20'), seen(on='2026-10-30', reads=2500))},"
        f" {gauge('G2', seen('G1', '2026-10-15'))}",
        set(),
    ),
    "against itself": (gauge("G1", seen("G1")), {"G1"}),
    "two against each other": (
        f"{gauge('G1', seen('G2'))}, {gauge('G2', seen('G1'))}",
        {"G1", "G2"},
    ),
    "three in a row": (
        f"{gauge('G1', seen())}, {gauge('G2', seen('G1'))}, {gauge('G3', seen('G2'))}",
        set(),
    ),
    "a comparison that was struck out": (
        gauge("G1", seen()[:-1] + ", void: {on: 2026-10-02, by: MV, why: it was G2}}"),
        {"G1"},
    ),
}


@pytest.mark.parametrize("name", PROVED)
def test_a_gauge_is_proved_by_what_is_proved_itself(name: str) -> None:
    written, wanted = PROVED[name]
    book = make_book({"A": GOOD}, station=f"{AIR}gauges: [{written}]\n")
    assert book.station is not None
    rules = rules_of(book)
    assert {g.name for g in book.station.gauges if unproved(book.station, g, rules)} == wanted
    missing = {d.part for d in due(book, TODAY) if d.obligation is Obligation.GAUGE_CHECK}
    missing &= {d.part for d in due(book, TODAY) if d.state is State.MISSING}
    assert missing == wanted


def test_what_is_found_low_by_one_that_nobody_proved_is_low() -> None:
    written = f"{gauge('G1')}, {gauge('G2', seen('G1', reads=2500), more=MASTER)}"
    book = make_book({"A": GOOD}, station=f"{AIR}gauges: [{written}]\n")
    assert any(r.gate is Gate.REFUSE for r in station_reasons(book, TODAY))


@pytest.mark.parametrize(
    ("written", "told"),
    [
        (gauge("G1", more=MASTER), True),
        (gauge("G1", seen(), more=MASTER + NEW), True),
        (gauge("G1"), True),  # no master: it is what fills are read on
        (gauge("G1", seen("G2"), more=MASTER) + ", " + gauge("G2"), True),
        (gauge("G1", seen(), more=MASTER), False),
        (gauge("G1", seen(), more=MASTER) + ", " + gauge("G2"), False),
    ],
)
def test_a_master_that_nobody_found_true_is_told_and_closes_nothing(
    written: str, told: bool
) -> None:
    book = make_book({"A": GOOD}, station=f"{AIR}gauges: [{written}]\n")
    today = board(book, TODAY)
    assert not today.station_refusals
    assert bool(today.unproved) is told
    said = " ".join(board_output.text(today, OfGit(()), Page()).split())
    assert ("WARNING: gauge check G1" in said) is told
    assert ("`tankbook station gauge-check G1" in said) is told
    of_fill = [r for r in may_fill(book, "A", TODAY).reasons if "gauge check G1" in r.text]
    assert [r.gate for r in of_fill] == ([Gate.WARN] if told else [])
    assert all("gauge-check G1" in r.mend for r in of_fill)


TWO = (
    f"{AIR}gauges: [{gauge('G1', seen(), more=MASTER)}, {gauge('G2', seen())},"
    f" {gauge('G3', more='position: P1, ')}]\npositions: [{{name: P1, kind: enclosed}}]\n"
)


def station(shelf: acting.Shelf) -> Station:
    assert shelf.book.station is not None
    return shelf.book.station


def names(shelf: acting.Shelf) -> list[str]:
    return [g.name for g in masters_of(station(shelf))]


def strike(shelf: acting.Shelf, when: str = "", **changes: str) -> None:
    now = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    wrong = Wrong("masters", when, "it was another gauge", changes)
    shelf.do(correct, "station", wrong, by="MV", on=TODAY, now=now)


def test_which_gauge_is_the_master_is_an_entry_and_struck_out_it_is_the_one_before() -> None:
    shelf = acting.shelf(station=TWO)
    assert names(shelf) == ["G1"]
    act = shelf.do(change_gauge, "G2", master=True, **BY)
    assert act.sentence == "Gauge G2 is the master gauge"
    assert [(m.on, m.gauge, m.by) for m in station(shelf).masters] == [(TODAY, "G2", "MV")]
    assert (names(shelf), [g.name for g in read_gauges(station(shelf))]) == (["G2"], ["G2"])
    shelf.do(change_gauge, "G1", master=True, **BY)
    assert names(shelf) == ["G1"]
    strike(shelf, f"{TODAY}#2")
    assert names(shelf) == ["G2"]
    strike(shelf)
    assert names(shelf) == ["G1"]


def test_the_right_gauge_is_entered_for_the_wrong_one() -> None:
    shelf = acting.shelf(station=TWO)
    shelf.do(change_gauge, "G2", master=True, **BY)
    strike(shelf, gauge="G1")
    assert names(shelf) == ["G1"]


def test_the_master_of_a_day_is_the_one_of_that_day() -> None:
    shelf = acting.shelf(station=TWO)
    shelf.do(change_gauge, "G2", master=True, **BY)
    before = shelf.book.as_known_on(TODAY - dt.timedelta(days=1)).station
    assert before is not None
    assert [g.name for g in masters_of(before)] == ["G1"]


def test_the_same_master_once_more_is_no_entry_more() -> None:
    shelf = acting.shelf(station=TWO)
    shelf.do(change_gauge, "G2", master=True, **BY)
    assert "is the master already" in shelf.refuse(change_gauge, "g2", master=True, **BY)
    assert len(station(shelf).masters) == 1


def test_a_comparison_against_one_that_nobody_proved_says_so() -> None:
    shelf = acting.shelf(station=TWO)
    psi = GaugePressure.of(3000, "psi")
    act = shelf.do(check_gauge, "G3", reads=psi, true=psi, against="G3", **BY)
    assert any("proves nothing" in note for note in act.notes)
    assert "nobody found true" in shelf.refuse(change_gauge, "G3", master=True, **BY)
    act = shelf.do(check_gauge, "G3", reads=psi, true=psi, against="G1", **BY)
    assert not any("proves nothing" in note for note in act.notes)
    shelf.do(change_gauge, "G3", master=True, **BY)


@pytest.mark.parametrize(
    ("named", "own"),
    [
        ("G1", True),
        ("gauge G1", True),
        ("our gauge g 1", True),
        ("G-1", True),
        ("the master gauge", True),
        ("Master", True),
        ("TG-1", False),
        ("test gauge", False),
        ("certificate 1", False),
        ("G11", False),
    ],
)
def test_a_gauge_of_the_station_is_no_test_gauge_however_it_is_written(
    named: str, own: bool
) -> None:
    written = f"{gauge('G1', more=MASTER)}, {gauge('G2', seen(named))}"
    book = make_book({"A": GOOD}, station=f"{AIR}gauges: [{written}]\n")
    assert book.station is not None
    assert bool(unproved(book.station, book.station.gauges[1], rules_of(book))) is own


def test_a_master_of_before_is_not_said_to_be_it_now() -> None:
    shelf = acting.shelf(station=TWO)
    shelf.do(change_gauge, "G2", master=True, **BY)
    before = {**BY, "on": TODAY - dt.timedelta(days=4)}
    shelf.texts["station.yaml"] = shelf.texts["station.yaml"].replace("G1, master: yes", "G1")
    act = shelf.do(change_gauge, "G1", master=True, **before)
    assert act.sentence == f"Gauge G1 was the master gauge from {before['on']} on"
    assert "G2 was made the master since, and is" in act.notes
    assert names(shelf) == ["G2"]
    assert "is the master already" in shelf.refuse(change_gauge, "G1", master=True, **before)


def test_a_gauge_that_reads_above_true_is_not_told_to_be_in_date_alone() -> None:
    """In `due`, on the report's parts, the station's page, in the calendar and for programs."""
    station = (
        "gauges: [{name: G1, range: 5000 psi, checked: [{on: 2026-11-02, by: MV, against: TG-2,"
        " reads: 3300 psi, true: 3000 psi}]}]\n"
    )
    book = make_book({}, station=station)
    every = due(book, TODAY)
    (item,) = (d for d in every if d.part == "G1")
    said = "reads 300 psi above true since 2026-11-02"
    assert (item.state, item.beware) == (State.OK, said)
    assert item in due_output.within(every, TODAY)
    assert said in due_output.lines([item], Page(400))
    assert next(x for x in due_output.data(every) if x["id"] == "G1")["beware"] == said
    parts = next(report_output.parts([item]).rows([item], Page(400)))
    assert said in parts
    page = dict(zip(pages.DUE.heads, next(pages.DUE.rows([item], Page())), strict=True))
    assert page["stands"] == said
    assert said in " ".join(due_output.notes(item))
