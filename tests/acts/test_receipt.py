"""Receipts: what was dealt with, of which day, and what is told of it; read back from the PDF."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import books
import pdf
import pytest
from books import GOOD, stamped, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.receipt import CounterReceipt, Dealing, dealings, receipt
from tankbook.output import receipt as output
from tankbook.output.document_text import text
from tankbook.output.page import Page
from tankbook.output.report import made
from tankbook.records.book import Book

LOG = """
at=2026-11-01T09:00:00+01:00; cylinder=A; act=fill; to=3000 psi; temperature=70 degF; gas=nitrox32; o2=31.9 %; analysed_by=KD; by=MV; source=B1
at=2026-11-19T09:00:00+01:00; cylinder=A; act=fill; to=2900 psi; temperature=70 degF; gas=air; by=MV; source=B1
"""
RENTED = """
rented:
  - {on: 2026-11-02, by: MV, to: B-1, until: 2026-11-04, back: %s, pressure: 600 psi, valve: closed, damage: handwheel cracked, note: second dive day}
"""
JOBS = """
jobs:
  - {on: 2026-11-10, by: KD, work: [visual, fill], reference: C-9, promised: 2026-11-20, price: 25.00 USD, collected: 2026-11-21, note: asked to keep the boot}
refused:
  - {on: 2026-11-12, by: KD, reasons: [visual lapsed Oct 2026], told: {on: 2026-11-12, by: KD, how: in person}}
"""  # fmt: skip


def book(back: str = "2026-11-04", **changes: str) -> Book:
    card = with_lines(GOOD, use="customer", owner="C-9", service="nitrox", **changes)
    card = stamped(card) + RENTED % back + JOBS
    settings = f"{books.SETTINGS}oxygen_pressure: 1.4 ata\n"
    return books.make_book({"A": card}, log=LOG, settings=settings)


def of(what: Dealing | None, day: str = "", back: str = "2026-11-04") -> CounterReceipt:
    found = receipt(book(back), ["A"], what, dt.date.fromisoformat(day) if day else None)
    assert isinstance(found, CounterReceipt), found
    return found


def on_paper(found: CounterReceipt, *, price: bool = False, paper: str = "a4") -> str:
    document = output.document(found, book().settings, Page(), price=price)
    data = made(document, ".pdf", paper)
    assert min(pdf.sizes_of(data)) >= 6
    return " ".join(pdf.text_of(data).split())


def test_all_that_passed_over_the_counter_in_its_order() -> None:
    found = dealings(book(), "A")
    assert [(d.what.value, str(d.on), d.reference) for d in found] == [
        ("filled", "2026-11-01", "C-9"),
        ("lent", "2026-11-02", "B-1"),
        ("returned", "2026-11-04", "B-1"),
        ("taken-in", "2026-11-10", "C-9"),
        ("refused", "2026-11-12", "C-9"),
        ("filled", "2026-11-19", "C-9"),
        ("handed-back", "2026-11-21", "C-9"),
    ]
    assert all(a.on <= b.on for a, b in pairwise(found))


SAYS = {
    Dealing.TAKEN_IN: ("work visual, fill", "promised 20 Nov 2026", "said asked to keep the boot", "from C-9"),
    Dealing.LENT: ("due back 4 Nov 2026", "31.9 % oxygen", "deepest", "(oxygen 1.4 ata)", "3000 psi at 70 degF", "own analysis", "to B-1"),
    Dealing.RETURNED: ("600 psi, valve closed; damage: handwheel cracked", "from B-1"),
    Dealing.REFUSED: ("refused for visual lapsed Oct 2026", "told 12 Nov 2026 by KD: in person"),
    Dealing.HANDED_BACK: ("gas air", "2900 psi", "NOT TO BE FILLED OR USED damage noted at return on 2026-11-04"),
    Dealing.FILLED: ("filled to 2900 psi", "filled from B1"),
}  # fmt: skip


@pytest.mark.parametrize("what", SAYS)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_each_says_what_was_done_and_in_which_state(what: Dealing, paper: str) -> None:
    said = on_paper(of(what), paper=paper)
    for each in (*SAYS[what], "A, serial K118204", "For the shop"):
        assert each in said, (each, said)
    assert "USD" not in said


def test_a_price_is_told_where_it_is_asked_for() -> None:
    found = of(Dealing.TAKEN_IN)
    assert "price 25.00 USD" in on_paper(found, price=True)
    assert "price" not in output.data(found, price=False)["items"][0]["entry"]
    assert str(output.data(found, price=True)["items"][0]["price"]) == "25.00 USD"


@pytest.mark.parametrize("back", ["2026-11-02", "2026-11-03", "2026-11-04"])
def test_what_went_out_is_told_as_it_went_whenever_it_came_back(back: str) -> None:
    said = on_paper(of(Dealing.LENT, back=back))
    assert "3000 psi at 70 degF" in said
    assert "600 psi" not in said
    assert "handwheel" not in said


def test_what_is_not_of_one_receipt_or_of_none_is_refused() -> None:
    two = books.make_book({"A": book_text("B-1"), "B": book_text("B-2")})
    found = receipt(two, ["A", "B"], None, None)
    assert found == (
        "these are not of one receipt: A lent 2026-11-02 for B-1; B lent 2026-11-02 for B-2",
    )
    assert receipt(two, ["A"], Dealing.SOLD, None) == ("A: it is not on record as sold",)
    one = receipt(two, ["A"], None, None)
    assert isinstance(one, CounterReceipt)


def book_text(to: str, serial: str = "") -> str:
    text_ = stamped(GOOD.replace("K118204", serial or f"K{to[2:]}"))
    text_ = text_.replace("status: in-service", "status: out")
    return f"{text_}rented: [{{on: 2026-11-02, by: MV, to: {to}, until: 2026-11-04}}]\n"


@given(st.integers(1, 30))
def test_many_on_one_receipt_are_all_there_and_fit_40_columns(count: int) -> None:
    cards = {f"R{n}": book_text("B-1", f"K{n:04}") for n in range(1, count + 1)}
    many = books.make_book(cards)
    found = receipt(many, list(cards), None, None)
    assert isinstance(found, CounterReceipt)
    document = output.document(found, many.settings, Page(40))
    said = text(document, Page(40))
    assert max(map(len, said.splitlines())) <= 40
    assert all(f"serial K{n:04}" in " ".join(said.split()) for n in range(1, count + 1))


def test_a_set_is_told_with_both_its_cylinders() -> None:
    cards = {n: stamped(GOOD.replace("K118204", f"K-{n}")) for n in "AB"}
    rented = "cylinders: [A, B]\nrating: 3442 psi\nisolator: open\n"
    rented += "rented: [{on: 2026-11-02, by: MV, to: B-1}]\n"
    found = receipt(books.make_book(cards, sets={"DB": rented}), ["DB"], None, None)
    assert isinstance(found, CounterReceipt)
    said = on_paper(found)
    for each in ("what DB", "A, serial K-A", "B, serial K-B", "A visual: last", "B visual: last"):
        assert each in said


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"service_pressure": None}, "NOT TO BE FILLED"),
        (
            {"held": "[{on: 2026-11-01, by: MV, why: gouge}]"},
            "NOT TO BE FILLED OR USED it is held: gouge",
        ),
        ({"note": "smelt of oil"}, "NOT TO BE FILLED OR USED the note of its card says"),
        ({"permit": "{number: DOT-SP 99001, life_ends: 2026-05}"}, "NOT TO BE FILLED "),
        ({}, "fill to 3000 psi at 70 degF, never above"),
    ],
)
def test_what_leaves_and_must_not_be_filled_says_so(changes: dict[str, str], told: str) -> None:
    """A limit alone would say less than `may-fill` does."""
    card = with_lines(stamped(GOOD), status="out", **changes)
    card += "rented: [{on: 2026-11-02, by: MV, to: B-1}]\n"
    found = receipt(books.make_book({"A": card}), ["A"], None, None)
    assert isinstance(found, CounterReceipt)
    said = on_paper(found)
    assert told in said
    assert ("never above" in said) == (not changes)
    assert "it is out" not in said
