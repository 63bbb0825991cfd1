"""What a cylinder held as it left: by the hour, on every paper of it, and never the day's end."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, make_book, stamped, with_lines

from tankbook.acts.hand_over import slip_of
from tankbook.acts.receipt import CounterReceipt, Dealing, receipt
from tankbook.output import receipt as receipt_paper
from tankbook.output import slip as slip_paper
from tankbook.output.document_text import text
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.rules.incident import book_then, cylinder_then

DAY = dt.date(2026, 11, 25)


def line(at: str, act: str, to: str, more: str = "", id_: str = "A") -> str:
    return f"at=2026-11-25T{at}:00+00:00; cylinder={id_}; act={act}; to={to}; by=MV{more}\n"


BEFORE = (
    "at=2026-11-20T09:00:00+00:00; cylinder={id}; act=fill; to=3000 psi; gas=nitrox32; o2=32.1 %; "
    "analysed_by=KD; by=MV; source=B1\n"
)
TRIMIX = "; from=0 psi; gas=trimix10/70; o2=9.8 %; he=70.1 %; analysed_by=KD; source=B1"


def of_day(id_: str, *, gauge: bool) -> str:
    out = line("08:00", "reading", "2900 psi", "; note=going out to B-1", id_) if gauge else ""
    return (
        BEFORE.format(id=id_)
        + out
        + line("12:00", "reading", "900 psi", "; note=back from B-1", id_)
        + line("12:30", "drain", "0 psi", "", id_)
        + line("13:00", "fill", "3300 psi", TRIMIX, id_)
    )


def rented(at: str = "") -> str:
    hour = f"at: '{at}', " if at else ""
    back = f"back: {DAY}, pressure: 900 psi, valve: closed"
    return f"rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, {hour}{back}}}]\n"


def lent(book: Book, id_: str) -> tuple[CounterReceipt, str]:
    found = receipt(book, [id_], Dealing.LENT, None)
    assert isinstance(found, CounterReceipt), found
    return found, " ".join(
        text(receipt_paper.document(found, book.settings, Page()), Page()).split()
    )


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize(("at", "gauge"), [("08:00", False), ("08:00", True), ("", True)])
def test_what_was_lent_is_told_as_it_went(whole: bool, at: str, gauge: bool) -> None:
    card, id_ = stamped(with_lines(GOOD, service="nitrox")), "DB" if whole else "A"
    cards = {"A": card + ("" if whole else rented(at))}
    sets = {}
    if whole:
        cards["B"] = card.replace("K118204", "K118205")
        sets["DB"] = f"cylinders: [A, B]\nrating: 3442 psi\nisolator: open\n{rented(at)}"
    found, said = lent(make_book(cards, sets=sets, log=of_day(id_, gauge=gauge)), id_)
    assert "gas nitrox32 analysed 32.1 % oxygen" in said
    assert ("2900 psi" if gauge else "3000 psi") in said
    assert "trimix" not in said
    assert "entries say" not in said
    assert not found.items[0].hour_unknown


def test_without_an_hour_a_return_of_that_day_still_says_what_came_after() -> None:
    """All that came later that day came after the return, and nothing came before."""
    found, said = lent(
        make_book({"A": stamped(GOOD) + rented()}, log=of_day("A", gauge=False)), "A"
    )
    assert "gas nitrox32" in said
    assert not found.items[0].hour_unknown


SOLD = "handed_over: [{on: 2026-11-25, by: MV, to: C-1, slip: 2026-001%s}]"


def sold(log: str, at: str = "") -> tuple[bool, str]:
    hour = f", at: '{at}'" if at else ""
    card = stamped(with_lines(GOOD, use="sale", service="nitrox", status=f"sold\n{SOLD % hour}"))
    book = make_book({"A": card}, log=log)
    found = slip_of(book, "A", DAY)
    assert found is not None
    assert slip_paper.data(found)["hour_unknown"] is found.hour_unknown
    receipt_ = receipt(book, ["A"], Dealing.SOLD, None)
    assert isinstance(receipt_, CounterReceipt)
    assert receipt_.items[0].hour_unknown is found.hour_unknown
    assert receipt_.items[0].contents == found.contents
    return found.hour_unknown, " ".join(slip_paper.text(found, book.settings, Page()).split())


LATER = {
    "read empty": line("17:00", "reading", "0 psi"),
    "drained": line("17:00", "drain", "0 psi"),
    "filled": line("17:00", "fill", "3300 psi", TRIMIX),
}


@pytest.mark.parametrize("later", LATER)
def test_what_was_sold_is_told_as_it_went(later: str) -> None:
    unsure, said = sold(BEFORE.format(id="A") + LATER[later], "16:00")
    assert not unsure
    assert "gas nitrox32 analysed 32.1 % oxygen" in said
    assert "3000 psi" in said
    assert "came back empty" not in said


@pytest.mark.parametrize("later", LATER)
def test_what_is_not_known_by_the_hour_is_told_so(later: str) -> None:
    unsure, said = sold(BEFORE.format(id="A") + LATER[later])
    assert unsure
    assert "what it held then is not known by the hour" in said
    assert "handed over empty" not in said
    assert "gas trimix" not in said
    assert "gas nitrox32" not in said
    assert "% oxygen" not in said
    assert "deepest ______ initials" in said


def test_where_only_the_gauge_differs_the_gas_is_told_and_no_pressure() -> None:
    unsure, said = sold(BEFORE.format(id="A") + line("17:00", "reading", "2500 psi"))
    assert not unsure
    assert "gas nitrox32" in said
    assert "psi, read" not in said
    assert "2500 psi" not in said


def test_two_rentals_of_a_day_have_each_its_own_hour() -> None:
    """The incident sheet and the receipt ask one judge."""
    again = f"rented: [{{on: {DAY}, by: MV, to: B-1, until: {DAY}, at: '08:00', back: {DAY}, pressure: 900 psi, valve: closed}}, {{on: {DAY}, by: MV, to: B-2, until: {DAY}, at: '14:00'}}]\n"
    card = stamped(with_lines(GOOD, service="nitrox", status="out"))
    book = make_book({"A": card + again}, log=of_day("A", gauge=True))
    _, said = lent(book, "A")
    assert "gas trimix10/70" in said
    noon = cylinder_then(book_then(book, DAY, dt.time(12, 45)), "A", None)
    assert [" 08:00 to B-1" in each for each in noon.handed] == [True]
    late = cylinder_then(book_then(book, DAY, dt.time(15)), "A", None)
    assert " 14:00 to B-2" in late.handed[0]
    assert " 08:00 to B-1" in late.handed[1]


BACK = "jobs: [{on: 2026-11-20, by: MV, work: [fill], reference: C-9, ready: 2026-11-20, collected: 2026-11-25%s}]\n"


def handed_back(log: str, at: str = "") -> tuple[bool, str]:
    hour = f", collected_at: '{at}'" if at else ""
    card = stamped(with_lines(GOOD, use="customer", owner="C-9", service="nitrox"))
    book = make_book({"A": card + BACK % hour}, log=log)
    found = receipt(book, ["A"], Dealing.HANDED_BACK, None)
    assert isinstance(found, CounterReceipt)
    paper = receipt_paper.document(found, book.settings, Page())
    return found.items[0].hour_unknown, " ".join(text(paper, Page()).split())


@pytest.mark.parametrize("later", LATER)
def test_what_was_handed_back_is_told_as_it_went(later: str) -> None:
    """Brought again that day and filled with another gas, it is told as it went the first time."""
    unsure, said = handed_back(BEFORE.format(id="A") + LATER[later], "16:00")
    assert not unsure
    assert "gas nitrox32 analysed 32.1 % oxygen" in said
    assert "3000 psi" in said
    assert "trimix" not in said


def test_a_fill_of_the_minute_in_which_it_went_is_what_went() -> None:
    log = BEFORE.format(id="A") + line("16:00", "fill", "3300 psi", TRIMIX)
    assert "gas trimix10/70" in handed_back(log, "16:00")[1]


def test_by_the_hour_its_owner_has_it_or_not_yet() -> None:
    card = stamped(with_lines(GOOD, use="customer", owner="C-9")) + BACK % ", collected_at: '16:00'"
    book = make_book({"A": card})
    noon = cylinder_then(book_then(book, DAY, dt.time(15, 59)), "A", None)
    assert "collected" not in " ".join(noon.handed)
    late = cylinder_then(book_then(book, DAY, dt.time(16)), "A", None)
    assert "collected by its owner 2026-11-25 16:00" in late.handed[0]
