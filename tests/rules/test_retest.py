"""Retire or retest: sums that can be redone on paper."""

from __future__ import annotations

import datetime as dt

import books
import pytest

from tankbook.records.rulerow import Obligation
from tankbook.rules.costs import costs_ahead
from tankbook.rules.retest import Choice, choices, spread
from tankbook.units import Money
from tests.support.changed import replace

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


@pytest.mark.parametrize(
    ("months", "a_year"),
    [(1, "1200.00 USD"), (12, "100.00 USD"), (24, "50.00 USD"), (-12, None)],
)
def test_spread_over_one_month_and_more(months: int, a_year: str | None) -> None:
    expected = Money.parse(a_year) if a_year else None
    assert spread(Money.parse("100.00 USD"), months) == expected


def one(settings: str = SETTINGS, log: str = "", months: int = 12, **card: str | None) -> Choice:
    book = books.make_book({"A-1": due_in_spring(**card)}, settings=settings, log=log)
    (got,) = choices(book, books.TODAY, months)
    return got


def test_a_hydro_in_the_old_alloy_brings_one_test_more_than_fall_between() -> None:
    # 5 years from hydro to hydro, an eddy-current test every 5 years: one, with the hydro
    got = one(alloy='"6351"')
    assert (got.keep.hydros, got.keep.visuals, got.keep.eddies) == (1, 4, 1)
    assert got.keep.total == Money.parse("146.00 USD")
    assert one().keep.eddies == 0


def test_what_is_told_of_a_cylinder_beside_the_sums() -> None:
    got = one()
    assert (got.id, got.size, str(got.made), got.alloy) == ("A-1", "al80", "2022-03", "6061")
    assert got.due == dt.date(2027, 3, 31)
    assert str(one(made="2022-02").made) == "2022-02"


@pytest.mark.parametrize(
    ("lasts", "months"),
    [("retesting: {new_lasts: 10 years}\n", 120), ("", 240)],
)
def test_how_long_a_new_one_lasts(lasts: str, months: int) -> None:
    settings = SETTINGS.replace("retesting: {new_lasts: 20 years}\n", lasts)
    got = one(settings)
    assert got.renew is not None
    assert got.renew.months == months
    # a new one comes tested and inspected: hydros after 5, 10 .. years, an inspection in each other
    assert got.renew.hydros == months // 60 - 1
    assert got.renew.visuals == months // 12 - 1 - got.renew.hydros
    assert got.renew.eddies == 0


FILL = "at=%sT09:30:00+00:00; cylinder=A-1; act=%s; from=500 psi; to=3000 psi; gas=air; by=MV"


@pytest.mark.parametrize(
    ("day", "act", "counted"),
    [
        ("2025-11-25", "fill", 0),
        ("2025-11-26", "fill", 1),
        ("2026-11-25", "fill", 1),
        ("2026-11-26", "fill", 0),
        ("2026-10-01", "reading", 0),
    ],
)
def test_the_fills_of_the_last_twelve_months_are_counted(day: str, act: str, counted: int) -> None:
    got = one(log=FILL % (day, act))
    assert got.fills == counted
    assert got.keep_a_fill == (Money.parse("26.00 USD") if counted else None)


@pytest.mark.parametrize(
    ("prices", "keep", "renew"),
    [
        ("{hydro: 42.00 USD, visual: 22.00 USD}", "130.00 USD", "697.00 USD"),
        ("{hydro: 42.00 USD}", None, None),
        ("{visual: 22.00 USD}", None, None),
        ("{hydro: 42.00 USD, visual: 22.00 EUR}", None, None),
        ("{hydro: 42.00 EUR, visual: 22.00 EUR}", "130.00 EUR", None),
    ],
)
def test_sums_of_two_currencies_or_without_a_price_are_not_made(
    prices: str, keep: str | None, renew: str | None
) -> None:
    settings = SETTINGS.replace(
        "{hydro: 42.00 USD, visual: 22.00 USD, eddy-current: 16.00 USD}", prices
    )
    got = one(settings)
    assert got.keep.total == (Money.parse(keep) if keep else None)
    assert got.renew is not None
    assert got.renew.total == (Money.parse(renew) if renew else None)


def test_a_cylinder_is_told_once_and_in_the_order_of_its_hydro() -> None:
    later = due_in_spring().replace("2022-03", "2022-05").replace("K118204", "K2")
    cards = {
        "A-1": later,
        "B-1": due_in_spring(),
        "C-1": due_in_spring().replace("2022-03", "2026-03"),
    }
    book = books.make_book(cards, settings=SETTINGS)
    assert [c.id for c in choices(book, books.TODAY)] == ["B-1", "A-1"]
    assert [c.id for c in choices(book, books.TODAY, 120)] == ["B-1", "A-1", "C-1"]


OWN = "heading: Shop rules\nrows:\n  - {id: shop.own, obligation: %s, gate: refuse, basis: practice, citation: shop, verified: memory}\n"


def with_own(row: str, **card: str | None) -> Choice:
    cards = {"A-1": due_in_spring(**card)}
    (got,) = choices(books.make_book(cards, settings=SETTINGS, own_rules=OWN % row), books.TODAY)
    return got


def test_a_span_that_is_no_multiple_of_a_period_holds_one_more() -> None:
    # in 60 months an inspection every 7 falls due after 7, 14 .. 56: eight times
    got = with_own("visual, period: 7 months, met_by: [inspection]")
    assert got.keep.visuals == 8


def test_each_eddy_current_test_between_two_hydros_is_counted() -> None:
    got = with_own(
        "eddy-current, period: 30 months, met_by: [eddy-current], applies_to: {alloy: ['6351']}",
        alloy="'6351'",
    )
    assert got.keep.eddies == 2


@pytest.mark.parametrize(("days", "months"), [(1826, 60), (365, 12), (364, 11), (61, 2), (20, 1)])
def test_a_period_in_days_is_reckoned_in_the_whole_months_in_it(days: int, months: int) -> None:
    row = f"requalification, period: {days} days, met_by: [requalified]"
    got = with_own(row, requalified="[{on: 2026-11, method: hydrostatic, by: T123}]")
    assert got.keep.months == months


def test_a_test_asked_for_once_alone_buys_no_span_to_reckon() -> None:
    once = OWN % "requalification, met_by: [requalified]"
    book = books.make_book(
        {"A-1": due_in_spring(requalified=None, first_test=None)},
        settings=SETTINGS,
        own_rules=once,
    )
    own = tuple(s for s in book.rule_sets if s.heading == "Shop rules")
    book = replace(book, rule_sets=own)
    assert [n.obligation for n in costs_ahead(book, books.TODAY).needs] == [
        Obligation.REQUALIFICATION
    ]
    assert choices(book, books.TODAY) == ()


def test_a_new_one_of_five_years_needs_no_hydro_and_four_inspections() -> None:
    got = one(SETTINGS.replace("20 years", "5 years"))
    assert got.renew is not None
    assert (got.renew.hydros, got.renew.visuals) == (0, 4)
    assert got.renew.total == Money.parse("307.00 USD")


def test_where_no_inspection_is_due_none_is_counted() -> None:
    book = books.make_book({"A-1": due_in_spring()}, settings=SETTINGS)
    sets = tuple(
        replace(s, rows=tuple(r for r in s.rows if r.obligation is not Obligation.VISUAL))
        for s in book.rule_sets
    )
    (got,) = choices(replace(book, rule_sets=sets), books.TODAY)
    assert got.keep.visuals == 0
    assert got.renew is not None
    assert got.renew.visuals == 0


def test_only_a_cylinders_hydro_is_a_choice() -> None:
    inspection = books.with_lines(books.GOOD, size="al80", water_volume=None)
    station = books.STATION + (
        "banks: [{name: B1, water_volume: 48 L, gas: air, period: 5 years,"
        " requalified: [{on: 2022-03, method: hydrostatic, by: T123}]}]\n"
    )
    book = books.make_book({"A-1": inspection}, settings=SETTINGS, station=station)
    assert choices(book, books.TODAY) == ()


def test_two_currencies_make_no_sum_whatever_comes_after() -> None:
    prices = "{hydro: 42.00 USD, visual: 22.00 EUR, eddy-current: 16.00 EUR}"
    settings = SETTINGS.replace(
        "{hydro: 42.00 USD, visual: 22.00 USD, eddy-current: 16.00 USD}", prices
    )
    assert one(settings, alloy='"6351"').keep.total is None


def test_steel_has_no_alloy() -> None:
    got = one(material="steel", specification="[DOT-3AA]", alloy=None)
    assert got.alloy == ""
