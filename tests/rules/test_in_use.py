"""Use and idle stock: months against a count by days."""

from __future__ import annotations

import datetime as dt

from books import GOOD, TODAY, make_book, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.rules.in_use import InUse, in_use

FIRST = dt.date(2026, 6, 1)
LOG = "at=2026-06-01T10:00:00+00:00; cylinder=Z; act=reading; to=500 psi; by=MV"


def told(cards: dict[str, str], log: str = LOG, months: int = 6) -> InUse:
    z = with_lines(GOOD, serial="KZ", use="customer")
    return in_use(make_book({**cards, "Z": z}, log=log), TODAY, months)


def card(n: str, **lines: str) -> str:
    return with_lines(GOOD, serial=f"K{n}", bought="2026-01", **lines)


def test_used_is_out_or_filled_and_kept_back_is_through_the_month() -> None:
    log = LOG + "\nat=2026-09-10T10:00:00+00:00; cylinder=B; act=fill; to=3000 psi; gas=air; by=MV"
    cards = {
        "A": card("A", rented="[{on: 2026-08-30, to: B-1, back: 2026-09-02}]"),
        "B": card("B"),
        "C": card("C", held="[{on: 2026-08-15, why: dent, by: MV}]", status="held"),
    }
    found = told(cards, log)
    by_month = {m.month.month: (m.used, m.kept_back, m.stood) for m in found.months}
    assert by_month == {
        6: (0, 0, 3), 7: (0, 0, 3), 8: (1, 0, 2), 9: (2, 1, 0), 10: (0, 1, 2), 11: (0, 1, 2),
    }  # fmt: skip
    september = next(m for m in found.months if m.month.month == 9)
    assert (september.days_out, september.days_there, september.most_out) == (2, 90, 1)


def test_months_before_the_log_are_not_told() -> None:
    found = told({"A": card("A")}, months=24)
    assert str(found.months[0].month) == "2026-06"
    assert told({"A": card("A")}, log="").months == ()


def test_what_nothing_says_since_when_is_named_and_not_counted() -> None:
    text = GOOD.replace("inspected:", "looked:").partition("looked:")[0]
    found = told({"A": text})
    assert found.unknown == ("A",)
    assert all(m.used + m.kept_back + m.stood == 0 for m in found.months)


def test_what_was_sold_is_gone_and_customers_are_not_counted() -> None:
    sold = card("A", status="sold", handed_over="[{on: 2026-08-20, to: C-1}]")
    found = told({"A": sold, "B": card("B", use="customer")})
    assert [m.used + m.kept_back + m.stood for m in found.months] == [1, 1, 1, 0, 0, 0]


day = st.integers(0, (TODAY - FIRST).days).map(lambda n: FIRST + dt.timedelta(days=n))


@given(st.lists(st.lists(st.tuples(day, day), max_size=4), min_size=1, max_size=4))
def test_every_month_is_as_counted_day_by_day(rentals: list[list[tuple[dt.date, dt.date]]]) -> None:
    cards, out = {}, []
    for n, spans in enumerate(rentals):
        mine = sorted((min(s), max(s)) for s in spans)
        mine = [s for i, s in enumerate(mine) if all(s[0] > e for _, e in mine[:i])]
        said = ", ".join(f"{{on: {a}, to: B-1, back: {b}}}" for a, b in mine)
        cards[f"A{n}"] = card(f"A{n}", rented=f"[{said}]")
        out.append({a + dt.timedelta(days=i) for a, b in mine for i in range((b - a).days + 1)})
    for month in told(cards).months:
        days = [
            month.month.first + dt.timedelta(days=i)
            for i in range((min(month.month.last, TODAY) - month.month.first).days + 1)
        ]
        assert month.days_out == sum(d in mine for mine in out for d in days)
        assert month.most_out == max(sum(d in mine for mine in out) for d in days)
        assert month.used == sum(any(d in mine for d in days) for mine in out)
        assert month.days_there == len(days) * len(out)
        assert month.used + month.stood == len(out)


def test_months_asked_for_are_the_last() -> None:
    assert len(told({"A": card("A")}, months=2).months) == 2
