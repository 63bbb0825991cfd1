"""What a user analysed beside the gas on record: told by one judge as it leaves, on every paper
that has both, and by `validate`."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.hand_over import slip_of
from tankbook.acts.receipt import Dealing, receipt
from tankbook.output import receipt as receipt_paper
from tankbook.output import slip as slip_paper
from tankbook.output.document_text import text
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.entries import GasAnalysed
from tankbook.records.words import LabelKind, UserLevel
from tankbook.rules.checks import check
from tankbook.rules.fill_history import contents_of
from tankbook.rules.labels import against_label
from tankbook.rules.leaving import Taken, gas_leaving
from tankbook.rules.own_analysis import otherwise_in, user_read_otherwise
from tankbook.units import Percent

TODAY = dt.date(2026, 11, 25)
ASKED = f"{books.SETTINGS}oxygen_pressure: 1.4 ata\n"
FILL = (
    "at=2026-11-24T09:00:00+01:00; cylinder={id}; act=fill; to=3000 psi; temperature=20 degC; "
    "{gas}; by=MV; source=B1"
)
NITROX32 = "gas=nitrox32; o2=32 %; analysed_by=MV"
ANALYSED = "analysed: {{oxygen: {o2} %, depth: 27 m, initials: RT}}"
ENTRIES = {
    "rented": "rented: [{{on: 2026-11-24, by: MV, to: B-1, at: '10:00', until: 2026-11-28, {own}}}]",
    "of a set": "rented: [{{on: 2026-11-24, by: MV, to: B-1, at: '10:00', until: 2026-11-28, {own}}}]",
    "sold": "handed_over: [{{on: 2026-11-24, by: MV, to: C-1, at: '10:00', slip: 2026-001, {own}}}]",
    "collected": (
        "jobs: [{{on: 2026-11-23, by: MV, reference: C-1, work: [fill], ready: 2026-11-24, "
        "collected: 2026-11-24, collected_by: MV, collected_at: '10:00', {own}}}]"
    ),
}
KINDS = {
    "rented": Dealing.LENT,
    "of a set": Dealing.LENT,
    "sold": Dealing.SOLD,
    "collected": Dealing.HANDED_BACK,
}


def book_of(how: str, o2: str, gas: str = NITROX32, later: str = "") -> tuple[Book, str]:
    """One that was filled, analysed by its user and handed out, and what it is asked by."""
    entry = ENTRIES[how].format(own=ANALYSED.format(o2=o2))
    use = {"sold": "sale", "collected": "customer"}.get(how, "rental")
    text_ = books.with_lines(books.GOOD, use=use, service="nitrox", status=None)
    id_ = "D" if how == "of a set" else "A"
    log = "\n".join(filter(None, (FILL.format(id=id_, gas=gas), later.format(id=id_))))
    if how == "of a set":
        cards = {"A": text_, "B": text_.replace("K118204", "K2")}
        sets = {"D": f"cylinders: [A, B]\nisolator: open\nuse: rental\n{entry}\n"}
    else:
        cards, sets = {"A": f"{text_}{entry}\n"}, {}
    return books.make_book(cards, sets=sets, log=log, station=books.STATION, settings=ASKED), id_


def paper_of(book: Book, id_: str, how: str) -> str:
    made = receipt(book, [id_], KINDS[how], None, TODAY)
    assert not isinstance(made, tuple), made
    return text(receipt_paper.document(made, book.settings, Page(400)), Page(400))


def codes(book: Book) -> set[str]:
    return {each.code for each in check(book, TODAY)}


@pytest.mark.parametrize("how", ENTRIES)
def test_no_depth_stands_beside_an_analysis_of_another_gas(how: str) -> None:
    """On the receipt, the slip and the labels, for the eye and for programs; and `validate` tells
    it."""
    book, id_ = book_of(how, "36")
    said = paper_of(book, id_, how)
    head = said.splitlines()[0]
    assert f"BEWARE of what is in {id_}" in head
    assert "it is logged as nitrox32, and the user analysed 36 % oxygen" in said
    assert "deepest" not in said
    assert "27 m" not in said
    assert {c for c in codes(book) if "own-analysis-differs" in c}
    (item,) = receipt_paper.data(  # type: ignore[misc]
        receipt(book, [id_], KINDS[how], None, TODAY),
        price=False,  # type: ignore[arg-type]
    )["items"]
    assert item["otherwise"]
    if how == "sold":
        slip = slip_of(book, "A", TODAY)
        assert slip is not None
        told = text(slip_paper.document(slip, book.settings, Page(400)), Page(400))
        assert "BEWARE of what is in A" in told.splitlines()[0]
        assert "deepest" not in told
        assert slip_paper.data(slip)["otherwise"]
    for kind in (LabelKind.RENTAL, LabelKind.ANALYSIS, LabelKind.STRIP):
        assert any("the user analysed 36 %" in why for why in against_label(book, id_, kind, TODAY))


@pytest.mark.parametrize("how", ENTRIES)
def test_of_the_gas_on_record_the_depths_stand(how: str) -> None:
    book, id_ = book_of(how, "31.4")
    said = paper_of(book, id_, how)
    assert "BEWARE of what" not in said
    assert "deepest       " in said
    assert not {c for c in codes(book) if "own-analysis-differs" in c}


@pytest.mark.parametrize("how", ENTRIES)
def test_what_was_filled_since_is_not_held_against_it(how: str) -> None:
    """The receipt of that day tells of that day; nothing tells it of the gas that is in it now."""
    later = "at=2026-11-24T15:00:00+01:00; cylinder={id}; act=fill; to=3000 psi; gas=air; by=MV"
    book, id_ = book_of(how, "32", later=later)
    assert contents_of(book, id_).gas is not None
    assert user_read_otherwise(book, id_) is None


@pytest.mark.parametrize("how", ENTRIES)
def test_what_was_analysed_on_a_later_day_settles_it(how: str) -> None:
    """As the finding says that it is mended; the receipt of that day stays as it was."""
    later = (
        "at=2026-11-25T08:00:00+01:00; cylinder={id}; act=reading; to=2900 psi; o2=32 %; "
        "analysed_by=MV; by=MV"
    )
    book, id_ = book_of(how, "36", later=later)
    assert user_read_otherwise(book, id_) is None
    assert "BEWARE of what" in paper_of(book, id_, how)


def test_a_fill_that_is_struck_out_leaves_no_depth_beside_the_own_analysis() -> None:
    """Nitrox 36 was logged in the morning by mistake and analysed by its user; the fill is struck
    out the next day, and what is on record is the nitrox 32 of before."""
    later = (
        "at=2026-11-24T09:30:00+01:00; cylinder={id}; act=fill; to=3000 psi; gas=nitrox36; "
        "o2=36 %; analysed_by=MV; by=MV\n"
        "at=2026-11-25T08:00:00+01:00; cylinder={id}; act=void; by=MV; "
        "voids=2026-11-24T09:30:00+01:00 {id}; note=another's"
    )
    for how in ENTRIES:
        before, id_ = book_of(how, "36", later=later.split("\n", maxsplit=1)[0])
        assert "BEWARE of what" not in paper_of(before, id_, how)
        book, id_ = book_of(how, "36", later=later)
        assert "BEWARE of what" in paper_of(book, id_, how)
        assert {c for c in codes(book) if "own-analysis-differs" in c}


@given(st.integers(210, 500), st.sampled_from(("nitrox32", "nitrox36", "nitrox40", "air")))
def test_papers_judge_as_it_is_judged_when_it_leaves(tenths: int, gas: str) -> None:
    """Whatever was analysed, of whatever is on record: refused as it leaves, or told on paper, by
    one judge."""
    read = GasAnalysed(oxygen=Percent.of(tenths / 10, "%"), initials="RT")
    o2 = "" if gas == "air" else f"; o2={gas[-2:]} %; analysed_by=MV"
    book, id_ = book_of("rented", str(tenths / 10), gas=f"gas={gas}{o2}")
    taken = Taken("B-1", read, UserLevel.NITROX, lent=True)
    leaving = {r.code for r in gas_leaving(book, id_, taken, TODAY)}
    otherwise = otherwise_in(book, contents_of(book, id_), read)
    assert ("leaving-analysed-otherwise" in leaving) is bool(otherwise)
    assert ("BEWARE of what" in paper_of(book, id_, "rented")) is bool(otherwise)
