"""What the months ahead cost: every expected date and sum below is counted by hand in the test."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import books
import pytest

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.rules.costs import (
    CostsAhead,
    LeftOut,
    by_month,
    by_obligation,
    by_subject,
    costs_ahead,
)
from tankbook.units import Money

H, V = Obligation.REQUALIFICATION, Obligation.VISUAL
PRICES = "prices: {hydro: 42.00 USD, visual: 22.00 USD, whip-check: 5 USD, filter: 60.00 CAD}\n"


def quay(**cylinders: str) -> Book:
    return books.make_book(
        {k.replace("_", "-"): v for k, v in cylinders.items()}, settings=books.SETTINGS + PRICES,
        station=None,
    )  # fmt: skip


def made(hydro: str, visual: str, **more: str) -> str:
    """A cylinder under 49 CFR (5 years to the month's end) and the yearly visual."""
    text = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual)
    return books.with_lines(text, **more)


GONE = {
    "sold": {"handed_over": "[{on: 2026-03-01, by: MV, to: C-1}]"},
    "condemned": {"condemned": "[{on: 2026-03-01, by: T123, why: dent}]"},
    "lost": {"lost": "[{on: 2026-03-01, by: MV}]"},
}


def told(ahead: CostsAhead, id_: str = "A-1") -> list[tuple[str, str]]:
    return [(n.obligation.called, str(n.by)) for n in ahead.needs if n.id == id_]


def test_a_visual_comes_again_every_year(today: dt.date) -> None:
    book = quay(A_1=made("2025-03", "2026-02-09"))
    assert told(costs_ahead(book, today)) == [("visual", "2027-02-09")]
    assert told(costs_ahead(book, today, 36)) == [
        ("visual", "2027-02-09"), ("visual", "2028-02-09"), ("visual", "2029-02-09"),
    ]  # fmt: skip


def test_a_hydro_spares_the_visual_of_its_month_and_of_a_year(today: dt.date) -> None:
    """The us-dot and bench rows have hydrostatic among what meets a visual. The hydro is done before
    the visual lapses, which is sooner in the month."""
    book = quay(A_1=made("2022-02", "2026-02-09"))
    ahead = costs_ahead(book, today, 16)
    assert told(ahead) == [("hydro", "2027-02-09"), ("visual", "2028-02-09")]
    left_out = {d.obligation: why for d, why in ahead.left_out}
    assert left_out == {V: LeftOut.SPARED, Obligation.CERTIFICATION: LeftOut.NO_END}
    assert ahead.needs[0].due == dt.date(2027, 2, 28)


def test_what_is_overdue_is_counted_once_in_this_month(today: dt.date) -> None:
    book = quay(A_1=made("2020-09", "2026-02-09"))
    ahead = costs_ahead(book, today)
    assert told(ahead) == [("hydro", "2026-11-25")]
    assert [n.late for n in ahead.needs] == [True]
    assert by_month(ahead)[0].late == 1


def test_nothing_on_record_is_late_too(today: dt.date) -> None:
    book = quay(A_1=books.with_lines(books.GOOD, inspected=None))
    ahead = costs_ahead(book, today)
    assert told(ahead)[0] == ("visual", "2026-11-25")
    assert ahead.needs[0].late


def test_each_annual_act_is_there_once_in_twelve_months_and_the_sums_agree(today: dt.date) -> None:
    days = {f"A_{m}": made("2025-03", f"2026-{m:02}-15") for m in range(1, 11)}
    ahead = costs_ahead(quay(**days), today)
    assert len(ahead.needs) == len({n.id for n in ahead.needs}) == 10
    (visual,) = by_obligation(ahead)
    assert (visual.obligation, visual.count, visual.total) == (V, 10, Money.parse("220.00 USD"))
    for shares in (by_month(ahead), by_subject(ahead)):
        assert sum(s.count for s in shares) == 10
        amounts = [m.amount for s in shares for m in s.total]
        assert sum(amounts) == Decimal("220.00")
    assert len(by_month(ahead)) == 12


def test_customers_pay_for_their_own(today: dt.date) -> None:
    book = quay(A_1=made("2025-03", "2026-02-09", use="customer"))
    assert costs_ahead(book, today).needs == ()
    assert costs_ahead(book, today).customers == 1
    assert told(costs_ahead(book, today, customers=True)) == [("visual", "2027-02-09")]


def test_nothing_is_spent_on_a_cylinder_past_its_life(today: dt.date) -> None:
    text = made(
        "2024-03", "2026-02-09", material="composite", alloy=None, specification="[DOT-SP 99001]"
    )
    text += "permit: {number: DOT-SP 99001, period: 5 years, life_ends: 2027-01}\n"
    assert V not in {n.obligation for n in costs_ahead(quay(A_1=text), today).needs}


@pytest.mark.parametrize("status", ["sold", "condemned", "lost"])
def test_what_is_gone_costs_nothing(status: str, today: dt.date) -> None:
    book = quay(A_1=made("2020-03", "2020-02-09", status=status, **GONE[status]))
    assert costs_ahead(book, today).needs == ()


def test_a_price_that_is_not_set_is_told_and_not_guessed(today: dt.date) -> None:
    book = books.make_book({"A-1": made("2025-03", "2026-02-09")}, station=None)
    ahead = costs_ahead(book, today)
    assert ahead.unpriced == (V,)
    assert by_obligation(ahead)[0].total is None
    assert by_month(ahead)[3].total == ()


STATION = """
whips: [{name: W1, fitted: 2024-05, checked: [{on: 2026-04-01, by: MV}]}]
compressor:
  name: C1
  hours: [{on: 2025-11-25, reads: 1000 h}, {on: 2026-11-25, reads: 1073 h}]
filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 1056 h}]}]
air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass}]
"""


def test_the_station_is_counted_and_a_filter_by_what_its_compressor_ran(today: dt.date) -> None:
    """73 h in 365 days, 56 of them by the change, is 0.2 h a day in every month: 33 h left last 165
    days, and 50 h last 250 days."""
    book = books.make_book({}, settings=books.SETTINGS + PRICES, station=STATION)
    ahead = costs_ahead(book, today, 24)
    filters = [n for n in ahead.needs if n.id == "F1"]
    first = today + dt.timedelta(165)
    assert [n.by for n in filters] == [first + dt.timedelta(250) * n for n in range(3)]
    assert all(n.guessed and n.price == Money.parse("60.00 CAD") for n in filters)
    assert [str(n.by) for n in ahead.needs if n.id == "W1"] == ["2027-04-01", "2028-04-01"]
    assert [str(m) for m in by_month(ahead)[5].total] == ["5 USD"]
    assert [str(m) for m in by_month(ahead)[6].total] == ["60.00 CAD"]


def test_without_readings_of_the_meter_no_filter_is_guessed(today: dt.date) -> None:
    """A meter that was seen for two weeks tells nothing of the year."""
    station = STATION.replace("{on: 2025-11-25, reads: 1000 h}, ", "")
    station = station.replace("on: 2026-09-01, at: 1056 h", "on: 2026-11-11, at: 1070 h")
    book = books.make_book({}, settings=books.SETTINGS + PRICES, station=station)
    assert not [n for n in costs_ahead(book, today).needs if n.id == "F1"]


MACHINES = """\
air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}]
compressor: {name: C1, hours: [{on: 2026-01-15, reads: 0 h}, {on: 2026-11-11, reads: 300 h}]}
banks: [{name: B1, water_volume: 48 L}]
schemes: [{name: WS1, of: [B1], examined: [{on: 2026-03-10, by: X1, next: 2027-03-10}]}]
upkeep:
  - {name: belts, what: belts, every: 6 months, done: [{on: 2026-11-01}]}
  - {name: oil, what: oil, hours: 100 h, done: [{on: 2026-10-12, at: 270 h}]}
  - {name: drains, what: drains, done: [{on: 2026-10-12}]}
"""


def test_upkeep_and_examinations_are_counted(today: dt.date) -> None:
    """The meter ran 300 h in 300 days, an hour a day: of 100 h, 30 were run by its last reading, so
    that the oil is due 70 days after that reading and every 100 days from there. Nobody knows when the
    examiner will come after 2027-03-10, and what has no interval is not on record now."""
    prices = "prices: {upkeep: 20.00 USD, examination: 300.00 USD}\n"
    book = books.make_book({}, settings=books.SETTINGS + prices, station=MACHINES)
    ahead = costs_ahead(book, today)
    assert told(ahead, "belts") == [("upkeep", "2027-05-01")]
    assert told(ahead, "oil") == [
        ("upkeep", "2027-01-20"), ("upkeep", "2027-04-30"), ("upkeep", "2027-08-08"),
    ]  # fmt: skip
    assert told(ahead, "B1") == [("examination", "2027-03-10")]
    assert told(ahead, "drains") == [("upkeep", str(today))]
    cost = {c.obligation: (c.count, str(c.total)) for c in by_obligation(ahead)}
    assert cost[Obligation.UPKEEP] == (5, "100.00 USD")
    assert cost[Obligation.EXAMINATION] == (1, "300.00 USD")
    assert [n.id for n in ahead.needs if n.guessed] == ["oil"] * 3
