"""Retire or retest: sums that can be redone on paper."""

from __future__ import annotations

import datetime as dt

import books

from tankbook.rules.retest import choices, spread
from tankbook.units import Money

SETTINGS = books.SETTINGS + (
    "prices: {hydro: 42.00 USD, visual: 22.00 USD, eddy-current: 16.00 USD}\n"
    "new_prices: {al80: 219.00 USD}\n"
    "retesting: {new_lasts: 20 years}\n"
)
LOG = "\n".join(
    f"at=2026-{m:02}-20T09:30:00+01:00; cylinder=A-1; act=fill; to=3000 psi; gas=air; by=MV"
    for m in range(1, 11)
)


def due_in_spring(**more: str) -> str:
    text = books.GOOD.replace("2024-03", "2022-03").replace("2026-02-09", "2026-11-20")
    return books.with_lines(text, size="al80", water_volume=None, **more)


def test_the_sums_of_one_cylinder(today: dt.date) -> None:
    """Keep: a hydro and 4 visuals in 5 years, 42 + 4 x 22 = 130, 26.00 a year, 2.60 a fill at 10.

    New: over 20 years 3 hydros and 16 visuals, 219 + 3 x 42 + 16 x 22 = 697, 34.85 a year.
    """
    (got,) = choices(books.make_book({"A-1": due_in_spring()}, settings=SETTINGS, log=LOG), today)
    assert (got.keep.hydros, got.keep.visuals, got.keep.months) == (1, 4, 60)
    assert got.keep.total == Money.parse("130.00 USD")
    assert got.keep.a_year == Money.parse("26.00 USD")
    assert got.fills == 10
    assert got.keep_a_fill == Money.parse("2.60 USD")
    assert got.renew is not None
    assert (got.renew.hydros, got.renew.visuals, got.renew.months) == (3, 16, 240)
    assert got.renew.total == Money.parse("697.00 USD")
    assert got.renew.a_year == Money.parse("34.85 USD")


def test_the_old_alloy_costs_its_eddy_current_tests_too(today: dt.date) -> None:
    book = books.make_book({"A-1": due_in_spring(alloy='"6351"')}, settings=SETTINGS)
    (got,) = choices(book, today)
    assert got.alloy == "6351"
    assert got.keep.eddies >= 1
    assert got.keep.total == Money.parse(f"{130 + 16 * got.keep.eddies}.00 USD")


def test_without_a_price_nothing_is_guessed(today: dt.date) -> None:
    (got,) = choices(books.make_book({"A-1": due_in_spring()}), today)
    assert (got.keep.total, got.keep.a_year, got.new, got.renew) == (None, None, None, None)
    assert got.keep_a_fill is None


def test_a_cylinder_never_filled_has_no_cost_a_fill(today: dt.date) -> None:
    (got,) = choices(books.make_book({"A-1": due_in_spring()}, settings=SETTINGS), today)
    assert got.fills == 0
    assert got.keep_a_fill is None


def test_spreading() -> None:
    assert spread(Money.parse("100.00 USD"), 36) == Money.parse("33.33 USD")
    assert spread(None, 12) is None
    assert spread(Money.parse("1.00 USD"), 0) is None
