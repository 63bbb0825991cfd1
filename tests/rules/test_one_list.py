"""What is due, board, wall, report, calendar, costs and fleet say is due is one set."""

from __future__ import annotations

import datetime as dt
from typing import Any

import books
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.output import (
    as_json,
    board,
    calendar,
    committee,
    costs,
    due,
    fleet,
    pages,
    report,
    wall,
)  # fmt: skip
from tankbook.output.board import OfGit
from tankbook.output.card import sides_on_card
from tankbook.output.document import Facts
from tankbook.output.page import Page
from tankbook.output.words import obligation
from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status
from tankbook.rules.answers import Due, DueKind, State, Tally
from tankbook.rules.board import board as board_of
from tankbook.rules.calendar_entries import diary
from tankbook.rules.committee import Committee
from tankbook.rules.committee import committee as committee_of
from tankbook.rules.costs import LeftOut, costs_ahead
from tankbook.rules.fleet import fleet as fleet_of
from tankbook.rules.retest import choices
from tankbook.rules.schedule import due as due_of
from tankbook.rules.summary import summary
from tankbook.rules.wall_chart import wall_chart
from tankbook.rules.work_plan import work_plan

TODAY = books.TODAY
Owed = tuple[str, str, str]
"""Kind, id and obligation of one line."""

EDGES = [
    dt.date(2026, 11, 24),  # in date to the day before, to today and to tomorrow, a year on
    *(dt.date(2025, 11, day) for day in (1, 24, 25, 26, 30)),
    *(dt.date(2021, month, day) for month, day in ((10, 31), (11, 1), (11, 25), (11, 30), (12, 1))),
    dt.date(2020, 2, 29),
]
DAYS = st.dates(dt.date(2020, 1, 1), TODAY) | st.sampled_from(EDGES)
LIVES = [
    "2026-05",
    "2026-11",
    "2026-11-24",
    "2026-11-25",
    "2026-11-26",
    "2026-12",
    "2027-05",
    "none",
]
"""Ends of a service life."""
ENTRIES = {
    "held": "held: [{on: 2026-11-01, by: MV, why: thread finding}]",
    "out": "rented: [{on: 2026-11-20, to: B-7, until: 2026-11-28}]",
    "test": "sent: [{on: 2026-11-17, to: Weir Street Hydro, for: requalification}]",
    "repair": "sent: [{on: 2026-11-17, to: Lakeside Valve Bench, for: repair}]",
    "sold": "handed_over: [{on: 2026-11-18, to: C-1}]",
    "lost": "lost: [{on: 2026-11-18, by: MV}]",
    "condemned": "condemned: [{on: 2026-11-18, by: MV, why: cracked}]",
    "": "",
}
STATION_PARTS = """\
compressor: {name: C1, hours: [{on: 2026-05-20, reads: 300 h}, {on: 2026-11-24, reads: 412.5 h}]}
filters:
  - {name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}
  - {name: F2, life: 20 h, changed: [{on: 2026-09-01, at: 380 h}]}
gauges: [{name: G1, checked: [{on: 2025-09-01, by: MV, against: TG-2, reads: 3040 psi, true: 3000 psi}]}]
whips: [{name: W1, checked: [{on: 2026-04-02, by: MV, result: pass}]}]
upkeep: [{name: oil, what: oil, hours: 500 h, done: [{on: 2026-05-20, at: 300 h, result: pass}]}]
"""
PEOPLE = """\
people:
  MV: {certifications: [{skill: inspector, from: 2024-05, until: 2027-05}]}
  JW: {certifications: [{skill: inspector, from: 2021-05, until: 2026-08}]}
  KD: {certifications: [{skill: analyst, from: 2021-05}]}
"""


@st.composite
def ledgers(draw: st.DrawFn) -> Book:
    """Cylinders of any dates, uses and places, in sets or not, with a station and people or not."""
    cards = {}
    for number in range(draw(st.integers(0, 5))):
        hydro, visual = draw(DAYS), draw(DAYS)
        text = books.GOOD.replace("K118204", f"K{number}")
        text = text.replace("2024-03", f"{hydro:%Y-%m}").replace("2026-02-09", str(visual))
        more_keys: dict[str, str | None] = {
            "use": draw(st.sampled_from(["rental", "customer", "pool", "sale"]))
        }
        if draw(st.booleans()):
            by_month = f"[{{on: {visual:%Y-%m}, by: MV, checklist: annual, result: pass}}]"
            more_keys["inspected"] = draw(st.sampled_from([None, by_month]))
        elif draw(st.integers(0, 5)) == 0:
            more_keys["requalified"] = None
        elif draw(st.integers(0, 5)) == 0:
            failed = draw(st.sampled_from(["hydrostatic", "visual"]))
            more_keys["requalified"] = (
                f"[{{on: {hydro:%Y-%m}, method: hydrostatic, by: maker}},"
                f" {{on: 2026-11-12, method: {failed}, by: RIN, result: fail}}]"
            )
        if draw(st.integers(0, 4)) == 0:
            until = draw(st.sampled_from(LIVES))
            more_keys["permit"] = (
                f"{{number: DOT-SP 99001, period: 5 years, life_ends: {until}, "
                f"renewed_until: {draw(st.sampled_from(['2026-06', '2027-06']))}}}"
            )
        text = books.with_lines(text, **more_keys)
        stands = draw(st.lists(st.sampled_from(sorted(ENTRIES)), max_size=2, unique=True))
        if {"test", "repair"} <= set(stands):
            stands.remove("test")
        if any(stands):
            text = text.replace("status: in-service\n", "")
        cards[f"A-{number}"] = text + "".join(f"{ENTRIES[s]}\n" for s in stands if s)
    sets = {}
    if len(cards) > 1 and draw(st.booleans()):
        out = draw(st.sampled_from(["", "rented: [{on: 2026-11-20, to: B-8}]\n"]))
        sets["DB-1"] = f"cylinders: [A-0, A-1]\nisolator: open\nuse: rental\n{out}"
    station = draw(st.sampled_from([None, books.STATION, books.STATION + STATION_PARTS]))
    who = draw(st.sampled_from([books.SETTINGS, _with_people(books.SETTINGS)]))
    return books.make_book(cards, sets=sets, station=station, settings=who)


def _with_people(text: str) -> str:
    return books.with_lines(text, people=None) + PEOPLE


def told(lines: Any) -> set[Owed]:
    return {(x["kind"], x["id"], x["obligation"]) for x in lines if x["kind"] != DueKind.SET}


def by_answer(book: Book, state: State) -> dict[str, set[Owed]]:
    """What each answer says is overdue, or not on record, in its JSON."""
    key = state.value
    dues = due.data(due_of(book, TODAY))
    drawn = wall.data(wall_chart(book, TODAY))
    on_wall = {
        ("cylinder", row["id"], each["obligation"])
        for row in drawn["cylinders"]
        for each in row["late"]
        if (each["since"] is None) is (state is State.MISSING)
    }
    days = calendar.data(diary(book, TODAY), "Q")
    in_diary = [e for e in days["entries"] if e["overdue"]] if state is State.OVERDUE else []
    in_diary += [e for e in days["without_a_day"] if e["state"] is state]
    sums = costs.data(costs_ahead(book, TODAY), work_plan(book, TODAY), choices(book, TODAY))
    return {
        "due": told(x for x in dues if x["state"] is state),
        "board": told(board.data(board_of(book, TODAY), OfGit())[key]),
        "wall": on_wall | told(x for x in drawn["left_out"] if x["state"] is state),
        "report": told(report.data(summary(book, TODAY))[key]),
        "calendar": told(in_diary),
        "costs": told(x for x in [*sums["acts"], *sums["left_out"]] if x["state"] is state),
    }


@given(ledgers())
@settings(max_examples=tries(60, 2000), deadline=None)
def test_every_answer_says_the_same_is_overdue_and_not_on_record(book: Book) -> None:
    for state in (State.OVERDUE, State.MISSING):
        said = by_answer(book, state)
        assert all(each == said["due"] for each in said.values()), said


@given(ledgers())
@settings(max_examples=tries(60, 2000), deadline=None)
def test_a_set_owes_what_its_cylinders_owe_on_every_screen(book: Book) -> None:
    """In `due`, on its card, tag and page: each of its cylinders' obligations by name, the soonest
    first."""
    every = due_of(book, TODAY)
    for id_, doubles in book.sets.items():
        own = [d for d in every if d.kind is DueKind.SET and d.id == id_]
        of_sides = [d for d in every if d.kind is DueKind.CYLINDER and d.id in doubles.cylinders]
        assert {(d.part, d.obligation, d.state, d.next, d.why, d.spared) for d in own} == {
            (d.id, d.obligation, d.state, d.next, d.why, d.spared) for d in of_sides
        }
        assert [d.days_left for d in own] == [d.days_left for d in of_sides]
        assert len(own) == len(of_sides)
        told_by = {(x["side"], x["obligation"], x["next"]) for x in due.data(own)}
        assert told_by == {
            (side.id, d.obligation, d.next)
            for side in sides_on_card(book, doubles, every, TODAY)
            for d in side.dues
        }
        rows = [dict(zip(pages.DUE.heads, row, strict=True)) for row in pages.DUE.rows(own, Page())]
        on_page = [(row["part"], row["what"], row["good to"]) for row in rows]
        assert on_page == [
            (d.id, obligation(d.obligation), str(d.next) if d.next and not d.failed else "-")
            for d in of_sides
        ]
        if own:
            said = due.lines(own, Page(200))
            assert all(f"{id_} {side}" in said for side in {d.part for d in own})


@given(ledgers())
@settings(max_examples=tries(60, 2000), deadline=None)
def test_every_answer_counts_the_same_and_says_of_what(book: Book) -> None:
    tally = Tally.of(due_of(book, TODAY))
    said = due.overdue(tally)
    told_of = summary(book, TODAY)
    ahead = costs_ahead(book, TODAY)
    heads = {
        "due": due.headline(due_of(book, TODAY), TODAY, TODAY + dt.timedelta(30)),
        "wall": wall.headline(wall_chart(book, TODAY)),
        "calendar": calendar.headline(diary(book, TODAY)),
        "report": report.headline(told_of),
    }
    assert {name: head for name, head in heads.items() if said not in head} == {}
    assert (said in costs.headline(ahead)) is bool(tally.late)
    assert len(told_of.board.overdue) == tally.late
    word = due.LATE_WORDS[bool(tally.failed)]
    assert dict(report.facts_of(told_of).pairs)[word] == str(tally.late)
    screen = board.text(told_of.board, OfGit(), Page(200))
    assert (f"\n{word.capitalize()} ({tally.late})\n" in screen) is bool(tally.late)
    of_cylinders = dict(tally.overdue).get(DueKind.CYLINDER, 0)
    assert sum(row.overdue for row in fleet_of(book, TODAY)) == of_cylinders
    assert fleet.totals(fleet_of(book, TODAY))[3] == of_cylinders
    meeting = committee_of(book, TODAY, customers=True)
    assert Tally.of(meeting.ahead.dues) == tally
    assert dict(_meeting_facts(meeting))[word] == str(tally.late)
    said_in_fleet = fleet.text(fleet_of(book, TODAY), ahead, Page(200))
    assert ("counts dates, not cylinders" in said_in_fleet) is bool(book.cylinders)


def _meeting_facts(meeting: Committee) -> tuple[tuple[str, str], ...]:
    """The counts of the first section of the page for a meeting."""
    page = committee.document(meeting, "Test Quay", lambda text: text)
    (facts,) = page.sections[0].blocks
    assert isinstance(facts, Facts)
    return facts.pairs


@given(ledgers())
@settings(max_examples=tries(60, 2000), deadline=None)
def test_every_day_to_come_is_in_every_answer(book: Book) -> None:
    """What is in date stands on the same day in due, calendar and costs, and in its month on the
    wall and in the report's chart, spared or not; in the calendar and that chart also what is
    reckoned from running hours."""
    every = [d for d in due_of(book, TODAY) if d.kind is not DueKind.SET and not d.is_open]
    dues = [d for d in every if d.next]
    days = {(d.kind.value, due.subject(d), d.obligation.value, d.next) for d in dues}
    reckoned = {
        (d.kind.value, due.subject(d), d.obligation.value, max(d.expected, TODAY))
        for d in every
        if d.expected
    }
    entries = calendar.data(diary(book, TODAY), "Q")["entries"]
    assert days | reckoned == {
        (e["kind"].value, e["id"], e["obligation"].value, e["day"])
        for e in entries
        if not e["overdue"] and not e["cancelled"]
    }
    ahead = costs_ahead(book, TODAY)
    sums = costs.data(ahead, work_plan(book, TODAY), choices(book, TODAY))
    firsts = [(n.kind.value, n.id, n.obligation.value, n.due) for n in ahead.needs if n.item]
    later = [(x["kind"].value, x["id"], x["obligation"].value, x["next"]) for x in sums["left_out"]]
    assert days <= {*firsts, *later}
    chart = wall_chart(book, TODAY, customers=True)
    shown = {
        (row.id, mark.obligation, str(month))
        for row in chart.rows
        for month, marks in zip(chart.months, row.months, strict=True)
        for mark in marks
        if mark.item is not None
    }
    last = chart.months[-1].last
    near = [d for d in dues if d.next and d.next <= last]
    of_cylinders = [d for d in near if d.kind is DueKind.CYLINDER]
    assert shown == {(d.id, d.obligation, f"{d.next:%Y-%m}") for d in of_cylinders}
    picture = next(s for s in report.report(summary(book, TODAY)).sections if s.name == "ahead")
    rows = picture.blocks[0].grid.rows  # type: ignore[union-attr]
    months = [row for row in rows if row[0] not in {*report.BARS.values(), "no record"}]
    assert sum(int(row[-1]) for row in months) == len(near) + sum(
        each[-1] <= last for each in reckoned
    )


@given(ledgers())
@settings(max_examples=tries(60, 2000), deadline=None)
def test_what_is_spared_is_done_by_another_act_in_time(book: Book) -> None:
    """The act that spares is itself needed of that cylinder, and is done before what it spares
    lapses; and what is spared has no act of its own."""
    ahead = costs_ahead(book, TODAY, 120, customers=True)
    acts = {(n.id, n.obligation): n for n in ahead.needs if n.item is not None}
    for item in due_of(book, TODAY):
        if item.spared is None or item.kind is DueKind.SET:
            continue
        act = acts[item.id, item.spared.act]
        assert act.by == item.spared.on
        assert item.next is None or item.is_open or act.by <= item.next
        assert (item.id, item.obligation) not in acts


@given(ledgers(), st.integers(1, 13))
@settings(max_examples=tries(40, 2000), deadline=None)
def test_what_is_named_as_not_counted_would_fall_due_in_the_months_asked(
    book: Book, months: int
) -> None:
    ahead = costs_ahead(book, TODAY, months, customers=True)
    for item, why in ahead.left_out:
        if item.next is not None and why in costs.TOLD:
            assert item.next <= ahead.last_day, (item, why)
        if item.spared is not None and item.next is not None and item.next <= ahead.last_day:
            assert why is not LeftOut.LATER


HYDRO = "{on: 2026-11-25, method: hydrostatic, result: pass, by: RIN}"
OLD = "{on: 2021-03, method: hydrostatic, result: pass, by: RIN}"
FAILED = "{on: 2026-06-01, method: visual, result: fail, by: RIN}"
LOOKED = "{on: 2026-05-01, by: MV, checklist: annual, result: pass, sticker: issued}"
NOT_SPARED = {
    "its visual failed": (f"{OLD}, {FAILED}", LOOKED),
    "looked at today": (OLD, LOOKED.replace("2026-05-01", "2026-11-25")),
    "looked at this month": (OLD, LOOKED.replace("2026-05-01", "2026-11")),
}
SPARED = {
    "looked at in May": (OLD, LOOKED),
    "rejected in May": (OLD, "{on: 2026-05-01, by: MV, checklist: annual, result: reject}"),
}


def visual_of(tests: str, looked: str) -> Due:
    card = books.with_lines(books.GOOD, requalified=f"[{tests}]", inspected=f"[{looked}]")
    items = due_of(books.make_book({"A-1": card}, station=None), TODAY)
    return next(d for d in items if d.obligation is Obligation.VISUAL)


@pytest.mark.parametrize(
    ("tests", "looked"), {**NOT_SPARED, **SPARED}.values(), ids={**NOT_SPARED, **SPARED}
)
def test_what_a_hydro_is_said_to_spare_it_meets(tests: str, looked: str) -> None:
    """A hydro is due today: what it spares is in date for longer once that is entered, and what it
    does not stands as it stood."""
    before, after = visual_of(tests, looked), visual_of(f"{tests}, {HYDRO}", looked)
    longer = not after.is_open and (before.next is None or (after.next or TODAY) > before.next)
    assert (before.spared is not None) is longer
    assert longer is ((tests, looked) in SPARED.values())
    if not longer:
        assert (after.state, after.next) == (before.state, before.next)


@given(ledgers())
@settings(max_examples=tries(40, 2000), deadline=None)
def test_held_out_and_away_are_told_beside_each_date(book: Book) -> None:
    chart = {row.id: row.stands for row in wall_chart(book, TODAY, customers=True).rows}
    for item in due_of(book, TODAY):
        if item.kind is DueKind.CYLINDER:
            assert item.stands == chart[item.id]
    for each in board_of(book, TODAY).held:
        assert Status.HELD in chart.get(each.id, (Status.HELD,))


def test_a_visual_that_lapses_before_the_hydro_is_spared_only_by_an_earlier_hydro() -> None:
    """Both fall due in December, the visual on the 8th: the hydro is to be done by then."""
    card = books.GOOD.replace("2024-03", "2021-12").replace("2026-02-09", "2025-12-08")
    book = books.make_book({"A-1": card}, station=None)
    items = {d.obligation.value: d for d in due_of(book, TODAY)}
    spared = items["visual"].spared
    assert spared is not None
    assert (spared.act.value, spared.on) == ("requalification", dt.date(2026, 12, 8))
    assert items["requalification"].next == dt.date(2026, 12, 31)
    assert items["requalification"].whole_month
    assert not items["visual"].whole_month


@pytest.mark.parametrize("on", [dt.date(1900, 1, 1), dt.date(2199, 6, 1)])
def test_no_day_is_too_far(on: dt.date) -> None:
    """A book asked about a day at either end of what a date may be."""
    book = books.make_book({"A-1": books.GOOD})
    assert as_json.plain(due.data(due_of(book, on)))
    assert wall_chart(book, on, 1).rows
