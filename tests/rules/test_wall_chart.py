"""The wall chart, the calendar's entries, and the year's work, as values."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from changing import replace

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.records.words import WallOrder
from tankbook.rules.calendar_entries import MONTHS, diary
from tankbook.rules.months import month_of, months_from, months_until
from tankbook.rules.wall_chart import Late, wall_chart
from tankbook.rules.worked import GasGroup, fills_by_month, work_by_cylinder

H, V = Obligation.REQUALIFICATION, Obligation.VISUAL


def made(hydro: str, visual: str, **more: str | None) -> str:
    text = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual)
    return books.with_lines(text, **more)


def shop(log: str = "") -> Book:
    sold = made("2025-03", "2026-02-09") + "handed_over: [{on: 2026-06-01, to: C-1}]\n"
    return books.make_book(
        {
            "A-1": made("2022-05", "2026-02-09"),
            "A-2": made("2020-05", "2025-02-09"),
            "A-3": books.with_lines(made("2025-03", "x"), inspected=None),
            "A-4": sold.replace("status: in-service\n", ""),
            "C-1": made("2025-03", "2026-02-09", use="customer"),
        },
        log=log,
    )


def test_months() -> None:
    day = dt.date(2026, 11, 25)
    assert [str(m) for m in months_from(day, 3)] == ["2026-11", "2026-12", "2027-01"]
    assert [str(m) for m in months_until(day, 12)][::11] == ["2025-12", "2026-11"]
    assert [str(m) for m in months_until(dt.date(2026, 1, 31), 2)] == ["2025-12", "2026-01"]
    assert str(month_of(day)) == "2026-11"


def test_each_cylinder_has_its_months(today: dt.date) -> None:
    chart = wall_chart(shop(), today)
    rows = {row.id: row for row in chart.rows}
    assert list(rows) == ["A-1", "A-2", "A-3"]  # the sold one and the customer's are not there
    due = [(str(m), q) for m, qs in zip(chart.months, rows["A-1"].months, strict=True) for q in qs]
    assert [(m, q.obligation) for m, q in due] == [("2027-02", V), ("2027-05", H)]
    assert (chart.tally.late, chart.tally.unknown) == (2, 1)
    assert {(d.kind, d.part or d.id, d.obligation) for d in chart.left_out} == {
        ("cylinder", "C-1", V), ("cylinder", "C-1", H), ("station", "air", Obligation.AIR_TEST),
        ("person", "inspector", Obligation.CERTIFICATION),
    }  # fmt: skip


def test_what_is_late_stands_apart_from_the_months(today: dt.date) -> None:
    rows = {row.id: row for row in wall_chart(shop(), today).rows}
    assert rows["A-2"].late == (Late(H, dt.date(2025, 5, 31)), Late(V, dt.date(2026, 2, 9)))
    assert not any(rows["A-2"].months)
    assert rows["A-3"].late == (Late(V, None),)  # the maker's own test is no inspection


def test_what_a_hydro_would_spare_stands_on_its_day_and_says_so(today: dt.date) -> None:
    """The visual lapses in February, the hydro at the end of January: it stands in both charts."""
    book = books.make_book({"A-1": made("2022-01", "2026-02-09")})
    chart = wall_chart(book, today, 26)
    (row,) = chart.rows
    marks = [(str(m), q) for m, qs in zip(chart.months, row.months, strict=True) for q in qs]
    said = [(m, q.obligation, q.spared, q.item is None) for m, q in marks]
    assert said == [
        ("2027-01", H, False, False), ("2027-02", V, True, False), ("2028-01", V, False, True),
    ]  # fmt: skip


STANDING = {
    "A-1": ("2022-05", "2026-02-09", "held", "held: [{on: 2026-11-01, by: MV, why: dent}]"),
    "A-2": ("2025-05", "2026-12-01", "out", "rented: [{on: 2026-11-20, to: B-7}]"),
    "A-3": ("2025-05", "2026-04-01", "at-test",
            "sent: [{on: 2026-11-17, to: Weir Street Hydro, for: requalification}]"),
    "A-4": ("2025-05", "2026-10-01", "in-service", ""),
}  # fmt: skip


def placed() -> Book:
    cards = {
        id_: made(hydro, visual.replace("2026-12", "2026-11"), size="al80", status=status) + more
        for id_, (hydro, visual, status, more) in STANDING.items()
    }
    sets = {"DB-1": "cylinders: [A-3, A-4]\nisolator: open\nrented: [{on: 2026-11-20, to: B-8}]\n"}
    return books.make_book(cards, sets=sets)


def test_held_out_and_away_have_their_signs_also_two_at_once(today: dt.date) -> None:
    stands = {row.id: [str(s) for s in row.stands] for row in wall_chart(placed(), today).rows}
    assert stands == {"A-1": ["held"], "A-2": ["out"], "A-3": ["at-test", "out"], "A-4": ["out"]}


@pytest.mark.parametrize(
    ("order", "ids"),
    [
        (WallOrder.ID, ["A-1", "A-2", "A-3", "A-4"]),
        (WallOrder.DUE, ["A-1", "A-3", "A-4", "A-2"]),
        (WallOrder.STANDS, ["A-3", "A-1", "A-2", "A-4"]),
        (WallOrder.SIZE, ["A-1", "A-2", "A-3", "A-4"]),
        (WallOrder.USE, ["A-1", "A-2", "A-3", "A-4"]),
    ],
)
def test_the_order(order: WallOrder, ids: list[str], today: dt.date) -> None:
    assert [row.id for row in wall_chart(placed(), today, order=order).rows] == ids


def test_only_what_is_due_and_only_what_is_asked_for(today: dt.date) -> None:
    """What the chart leaves out is told: nothing overdue goes with it unseen."""
    near = wall_chart(placed(), today, 4, only_due=True)
    assert [row.id for row in near.rows] == ["A-1"]
    assert wall_chart(shop(), today, 1, only_due=True).tally == wall_chart(shop(), today).tally
    one = wall_chart(shop(), today, only=lambda card: card.id == "A-1")
    assert [row.id for row in one.rows] == ["A-1"]
    assert {d.id for d in one.left_out if d.is_open} == {"A-2", "A-3"}


def test_customers_on_request(today: dt.date) -> None:
    assert "C-1" in {row.id for row in wall_chart(shop(), today, customers=True).rows}


def test_the_diary_keeps_the_key_when_the_day_moves(today: dt.date) -> None:
    before = {e.key: e.day for e in diary(shop(), today).standing}
    later = shop()
    redone = books.typed(
        type(later.cylinders["A-1"]), made("2022-05", "2026-11-20"), "cylinders/A-1.yaml"
    )
    moved = replace(later, cylinders={**later.cylinders, "A-1": replace(redone, id="A-1")})
    after = {e.key: e.day for e in diary(moved, today).standing}
    assert before.keys() == after.keys()
    changed = {k: (before[k], after[k]) for k in before if before[k] != after[k]}
    key = "cylinder/A-1//visual"
    assert changed == {key: (dt.date(2027, 2, 9), dt.date(2027, 11, 20))}


def test_what_is_overdue_is_put_on_today_and_what_is_sold_is_called_off(today: dt.date) -> None:
    entries = {e.key: e for e in diary(shop(), today).entries}
    late = entries["cylinder/A-2//requalification"]
    assert (late.day, late.since) == (today, dt.date(2025, 5, 31))
    assert entries["cylinder/A-4//visual"].gone
    assert len(entries) == len(diary(shop(), today).entries)  # no key twice


def test_every_month_ahead_is_there_and_none_is_lost(today: dt.date) -> None:
    book = diary(shop(), today)
    months = book.by_month()
    assert len(months) >= MONTHS
    assert sum(map(len, months.values())) == len(book.standing)


LOG = """
at=2026-11-20T09:30:00+01:00; cylinder=A-1; act=fill; to=3000 psi; gas=air
at=2026-11-21T09:30:00+01:00; cylinder=A-1; act=fill; to=3000 psi; gas=nitrox32; o2=32 %
at=2026-10-21T09:30:00+01:00; cylinder=A-2; act=fill; to=3000 psi; gas=trimix18/45
at=2026-10-22T09:30:00+01:00; cylinder=A-2; act=fill; to=3000 psi; gas=oxygen
at=2026-10-23T09:30:00+01:00; cylinder=A-2; act=reading; to=2000 psi
at=2025-11-30T09:30:00+01:00; cylinder=A-1; act=fill; to=3000 psi; gas=air
at=2026-11-22T09:30:00+01:00; cylinder=A-1; act=fill; to=3000 psi; gas=air
at=2026-11-22T09:31:00+01:00; cylinder=A-1; act=void; voids=2026-11-22T09:30:00+01:00 A-1; by=MV
"""


def test_fills_by_month_and_gas(today: dt.date) -> None:
    """A void fill counts nowhere, a reading is no fill, and November of last year is too long ago."""
    fills = fills_by_month(shop(LOG), today)
    assert fills.total == 4
    assert dict(fills.counts[-1]) == {GasGroup.AIR: 1, GasGroup.NITROX: 1}
    assert dict(fills.counts[-2]) == {GasGroup.HELIUM: 1, GasGroup.OXYGEN: 1}
    assert fills.groups == (GasGroup.AIR, GasGroup.NITROX, GasGroup.OXYGEN, GasGroup.HELIUM)


def test_work_by_cylinder(today: dt.date) -> None:
    rows = {w.id: w for w in work_by_cylinder(shop(LOG), today)}
    assert (rows["A-1"].fills, rows["A-1"].visuals, rows["A-1"].hydros) == (2, 1, 0)
    assert rows["A-2"].fills == 2
    assert "A-3" not in rows
