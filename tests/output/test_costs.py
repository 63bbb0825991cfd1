"""Costs, plan and retire-or-retest as text, as CSV and as JSON."""

from __future__ import annotations

import csv
import datetime as dt
import io
from decimal import Decimal

import books
import pytest
from changing import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.output import as_csv, as_json, costs
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.log import Booking
from tankbook.rules.costs import costs_ahead, totals_of
from tankbook.rules.retest import choices
from tankbook.rules.work_plan import work_plan

SETTINGS = books.SETTINGS + (
    "prices: {hydro: 42.00 USD, visual: 22.00 USD, air-test: 85.00 CAD}\n"
    "new_prices: {al80: 219.00 USD}\n"
    "retesting: {away: 21 days, batch: 2, quiet: [dec, jan, feb, mar]}\n"
)


@pytest.fixture(name="shop")
def _shop() -> Book:
    made = {
        f"A-{n}": books.with_lines(
            books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual),
            size="al80", water_volume=None, serial=f"K{n}",
        )
        for n, (hydro, visual) in enumerate(
            [("2022-06", "2026-09-01"), ("2022-08", "2026-10-01"), ("2021-09", "2026-02-09"),
             ("2021-12", "2026-02-09"), ("2025-03", "2026-05-09")], 1,
        )
    }  # fmt: skip
    book = books.make_book(made, settings=SETTINGS)
    wanted = tuple(
        Booking(date=dt.date(2026, 12, day), reference=f"B-{day}", size="al80", count=4)
        for day in (5, 12)
    )
    return replace(book, bookings=wanted)


@pytest.mark.parametrize("by", ["", "obligation", "month", "subject"])
def test_the_costs(
    by: str, shop: Book, today: dt.date, page: Page, snapshot: SnapshotAssertion
) -> None:
    text = costs.text(costs_ahead(shop, today), page, by)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_the_plan(shop: Book, today: dt.date, page: Page, snapshot: SnapshotAssertion) -> None:
    text = costs.plan_text(work_plan(shop, today), "Northside", page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_the_choice(shop: Book, today: dt.date, page: Page, snapshot: SnapshotAssertion) -> None:
    text = costs.retest_text(choices(shop, today), page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.removeprefix(as_csv.BOM), newline="")))


def test_the_csv_adds_up_to_what_the_text_says(shop: Book, today: dt.date) -> None:
    ahead = costs_ahead(shop, today)
    read = rows(as_csv.dumps(costs.ACTS.head, costs.ACTS.cells(ahead.needs)))
    assert len(read) == len(ahead.needs)
    dollars = sum(Decimal(r["price"]) for r in read if r["currency"] == "USD")
    sums = {m.currency: m.amount for m in totals_of(n.price for n in ahead.needs)}
    assert sums["USD"] == dollars
    assert costs.headline(ahead).startswith(f"170.00 CAD + {dollars} USD for ")


def test_plan_and_choice_as_csv(shop: Book, today: dt.date) -> None:
    plan = work_plan(shop, today)
    read = rows(as_csv.dumps(costs.TASKS.head, costs.TASKS.cells(costs.planned(plan))))
    assert [r["id"] for r in read] == [t.id for t in plan.tasks]
    chosen = choices(shop, today)
    read = rows(as_csv.dumps(costs.CHOICES.head, costs.CHOICES.cells(chosen)))
    assert (read[0]["id"], read[0]["retest_total"]) == ("A-3", "130.00")


def test_the_json(shop: Book, today: dt.date, snapshot: SnapshotAssertion) -> None:
    told = costs.data(costs_ahead(shop, today), work_plan(shop, today), choices(shop, today))
    assert as_json.dumps(told) == snapshot
