"""How long an answer holds: the gate itself says so, day by day."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import books
import hypothesis.strategies as st
import pytest
from changing import replace
from hypothesis import given, settings

import tankbook
from tankbook.acts import hand_over
from tankbook.records.book import Book
from tankbook.records.cylinder import stays_with_owner
from tankbook.rules.checks import check
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


@settings(max_examples=15, deadline=None)
@given(
    hydro=st.sampled_from(["2021-10", "2021-12", "2024-03"]),
    visual=st.dates(dt.date(2025, 11, 1), dt.date(2026, 11, 20)).map(str),
    more=st.sampled_from(["", "held: [{on: 2026-11-20, by: MV, why: dent}]\n"]),
    days=st.lists(st.integers(0, 500), min_size=2, max_size=4),
)
def test_what_was_asked_of_one_day_is_not_answered_of_another(
    hydro: str, visual: str, more: str, days: list[int]
) -> None:
    """Checks that ask for no day are asked once for all: those that do are asked of each."""
    card = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual) + more

    def fresh() -> Book:
        return books.make_book({"RB-014": books.stamped(card)}, station=books.STATION)

    book = fresh()
    for ahead in days:
        day = TODAY + ahead * DAY
        alone = fresh()
        assert may_fill(book, "RB-014", day) == may_fill(alone, "RB-014", day)
        assert check(book, day) == check(alone, day)


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


SINCE = """
heading: Shop rules
rows:
  - {{id: us.visual, obligation: visual, period: {months} months, met_by: [inspection], gate: refuse,
     basis: practice, citation: shop, verified: read, since: {since}}}
"""
ALSO = (
    "",
    "permit: {life_ends: 2027-01}\n",
    "held: [{on: 2026-11-01, by: MV, why: dent, released: 2026-11-02, released_by: MV, "
    "released_why: no dent}]\n",
    "rented: [{on: 2026-11-01, to: B-1, until: 2026-12-05, back: 2026-11-03}]\n",
)
STATIONS = (
    None,
    books.STATION,
    books.STATION.replace("2026-10-12", "2026-06-12"),
    books.STATION
    + "whips: [{name: W1, checked: [{on: 2026-06-01, by: MV}]}]\nregulator_set: 3000 psi\n",
)


@settings(max_examples=30, deadline=None)
@given(
    hydro=st.sampled_from(["2021-11", "2021-12", "2022-03", "2024-03"]),
    visual=st.dates(dt.date(2025, 11, 25), dt.date(2026, 11, 20)).map(str),
    more=st.sampled_from(ALSO),
    station=st.sampled_from(STATIONS),
    since=st.dates(dt.date(2026, 11, 1), dt.date(2027, 6, 1)),
    months=st.sampled_from([0, 1, 3, 6, 10]),
    skilled=st.sampled_from(["", ", until: 2026-12", ", until: 2027-02"]),
    data=st.data(),
)
def test_nothing_is_against_it_on_any_day_to_it_as_that_day_asks(
    hydro: str, visual: str, more: str, station: str | None, since: dt.date, months: int,
    skilled: str, data: st.DataObject,
) -> None:  # fmt: skip
    """Each day is asked with the book as it is known on it, as `may-fill` does on that day: with
    the rules in force then."""
    card = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual) + more
    whole = books.make_book(
        {"RB-014": books.stamped(card)},
        station=station,
        own_rules=SINCE.format(months=months, since=since) if months else "",
        settings=books.SETTINGS.replace("from: 2020-01", f"from: 2020-01{skilled}"),
    )

    def on(day: dt.date) -> Book:
        return replace(whole, clock=day).as_known_on(day)

    found = until(on(TODAY), TODAY)
    assert (found is None) == (not may_fill(on(TODAY), "RB-014", TODAY).fillable)
    if found is None:
        return
    length = (found - TODAY).days
    near = {0, length, length - 1, (since - TODAY).days, (since - TODAY).days - 1}
    drawn = data.draw(st.lists(st.integers(0, length), max_size=6))
    for ahead in sorted(n for n in {*near, *drawn} if 0 <= n <= length):
        day = TODAY + ahead * DAY
        assert may_fill(on(day), "RB-014", day).fillable, day


@pytest.mark.parametrize("months", [1, 10])
def test_it_speaks_of_no_day_on_which_other_rules_are_in_force(months: int) -> None:
    card = books.GOOD.replace("2026-02-09", "2026-09-09")
    rules = SINCE.format(months=months, since="2026-12-15")
    whole = books.make_book({"RB-014": books.stamped(card)}, own_rules=rules)
    book = replace(whole, clock=TODAY).as_known_on(TODAY)
    assert until(book, TODAY) == dt.date(2026, 12, 14)
    then = dt.date(2026, 12, 15)
    tomorrow = replace(whole, clock=then).as_known_on(then)
    assert may_fill(tomorrow, "RB-014", then).fillable == (months == 10)
