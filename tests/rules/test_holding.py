"""How long an answer holds: the gate itself says so, day by day."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import books
import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

import tankbook
from tankbook.acts import hand_over
from tankbook.records.book import Book
from tankbook.records.cylinder import stays_with_owner
from tankbook.rules.costs import LeftOut, costs_ahead
from tankbook.rules.fill_history import rises_of
from tankbook.rules.gas_unknown import filled_without_job
from tankbook.rules.gate import may_fill
from tankbook.rules.holding import FURTHEST, is_of_customer, nothing_against_until, station_until
from tankbook.rules.recall import _where
from tankbook.rules.rental import _not_lent
from tankbook.rules.schedule import due
from tankbook.rules.stock import expected_here
from tankbook.rules.wall_chart import wall_chart

TODAY = books.TODAY
DAY = dt.timedelta(days=1)


def until(book: Book, day: dt.date) -> dt.date | None:
    dues = [d for d in due(book, day) if d.id == "RB-014"]
    station = station_until(book, day, due(book, day))
    return nothing_against_until(book, may_fill(book, "RB-014", day), day, dues, station)


def of(hydro: str, visual: str, station: str | None) -> Book:
    card = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual)
    return books.make_book({"RB-014": books.stamped(card)}, station=station)


@settings(max_examples=25, deadline=None)
@given(
    hydro=st.sampled_from(["2021-10", "2021-12", "2022-01", "2024-03"]),
    visual=st.dates(dt.date(2025, 11, 1), dt.date(2026, 11, 20)).map(str),
    station=st.sampled_from([books.STATION, None]),
    ahead=st.integers(0, 100),
)
def test_the_gate_says_the_same_on_every_day_to_it(
    hydro: str, visual: str, station: str | None, ahead: int
) -> None:
    book = of(hydro, visual, station)
    found = until(book, TODAY)
    assert (found is None) == (not may_fill(book, "RB-014", TODAY).fillable)
    if found is not None:
        day = min(found, TODAY + ahead * DAY)
        assert may_fill(book, "RB-014", day).fillable
        assert until(book, day) == found or found == TODAY + FURTHEST


@pytest.mark.parametrize("visual", ["2025-12-20", "2026-02-09", "2026-05-01"])
def test_without_a_station_the_day_after_is_refused(visual: str) -> None:
    book = of("2024-03", visual, None)
    found = until(book, TODAY)
    assert found is not None
    assert found == dt.date.fromisoformat(visual).replace(year=int(visual[:4]) + 1)
    assert not may_fill(book, "RB-014", found + DAY).fillable


@pytest.mark.parametrize(
    ("keys", "theirs"),
    [
        ({"use": "customer"}, True),
        ({"use": "customer", "owner": "C-0192"}, True),
        ({"use": "rental", "owner": "C-0192"}, True),
        ({"use": "rental"}, False),
        ({"use": "sale"}, False),
    ],
)
def test_every_answer_takes_the_same_cylinders_for_a_customers(
    keys: dict[str, str], theirs: bool
) -> None:
    """Kept as one, or with an owner: the chart, the costs and the pages leave it out alike."""
    card = books.with_lines(books.GOOD, **keys)
    book = books.make_book({"A": card})
    assert is_of_customer(book, "A") is theirs
    assert (not wall_chart(book, TODAY, 12).rows) is theirs
    left = {d.id for d, why in costs_ahead(book, TODAY).left_out if why is LeftOut.CUSTOMER}
    assert ("A" in left) is theirs


@pytest.mark.parametrize(
    ("keys", "stays"),
    [
        ({"use": "customer"}, True),
        ({"use": "customer", "owner": "C-0192"}, True),
        ({"use": None, "owner": "C-0192"}, True),
        ({"use": None}, False),
        ({"use": "sale", "owner": "C-0192"}, False),  # sold for its owner
        ({"use": "rental", "owner": "C-0192"}, False),
        ({"use": "rental"}, False),
    ],
)
def test_every_answer_has_the_same_cylinders_with_their_owners(
    keys: dict[str, str | None], stays: bool
) -> None:
    """What its owner keeps, and has filled elsewhere too, is not expected in the room, is no
    surprise where it comes back fuller, and is collected rather than sold."""
    book = books.make_book(
        {"A": books.with_lines(books.GOOD, **keys)}, log="\n".join(COME_BACK_FULLER)
    )
    card = book.cylinders["A"]
    assert stays_with_owner(card) is stays
    assert (not expected_here(book)) is stays
    assert _where(book, card)[0] == ("with its owner" if stays else "here")
    assert (not rises_of(book, card)) is stays
    assert (filled_without_job(book, card) is not None) is stays
    said = " ".join(hand_over._not_for_sale(book, card))
    assert ("is a customer's already" in said) is stays


COME_BACK_FULLER = [
    "at=2026-11-20T09:30:00+01:00; cylinder=A; act=fill; to=3000 psi; gas=air; by=MV; source=C1",
    "at=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; from=3000 psi; to=600 psi; by=MV",
    "at=2026-11-22T09:30:00+01:00; cylinder=A; act=reading; to=2800 psi; by=MV",
]


def test_one_module_judges_whose_a_cylinder_is() -> None:
    """`use: customer` is asked of a card by the judges of its noun; nobody else goes by it."""
    root = Path(tankbook.__file__).parent
    asked = re.compile(r"\.use (is|is not|==|!=|in) .*CUSTOMER")
    found = {str(p.relative_to(root)) for p in root.rglob("*.py") if asked.search(p.read_text())}
    assert found == {"records/cylinder.py"}


@pytest.mark.parametrize(
    ("keys", "theirs"),
    [
        ({"use": "customer"}, True),
        ({"use": None, "owner": "C-0192"}, True),
        ({"owner": "C-0192"}, False),  # lent by its owner
        ({}, False),
    ],
)
def test_a_set_of_which_one_side_is_its_owners_is_not_lent(
    keys: dict[str, str | None], theirs: bool
) -> None:
    cards = {"A": books.with_lines(books.GOOD, **keys), "B": books.GOOD.replace("K118204", "K2")}
    made = "cylinders: [A, B]\nuse: rental\nmade_up: [{on: 2026-03-01, by: MV}]\n"
    book = books.make_book(cards, sets={"D": made})
    said = [why for why in _not_lent(book, "D") if "a customer's" in why]
    assert bool(said) is theirs
