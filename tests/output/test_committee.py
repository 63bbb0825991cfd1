"""The committee's page: as many as the other answers count, and every reason of each, read back."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import books
import pdf
import pytest
from books import GOOD, STATION, TODAY, make_book, stamped
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tankbook.output import committee as output
from tankbook.output.document_text import text
from tankbook.output.due import late_word, overdue
from tankbook.output.page import Page
from tankbook.output.report import made
from tankbook.output.unnamed import Unnamed
from tankbook.records.book import Book
from tankbook.rules.answers import Tally
from tankbook.rules.committee import Committee, committee
from tankbook.rules.costs import costs_ahead, totals_of
from tankbook.rules.fill_history import contents_of
from tankbook.rules.fleet import fleet
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due

AILS = {
    "good": ("", ""),
    "held": ("held", "held: [{on: 2026-11-02, by: MV, why: gouge near the foot}]"),
    "out": ("out", "rented: [{on: 2026-11-20, by: MV, to: B-77, until: 2026-11-28}]"),
    "out and lapsed": ("out", "rented: [{on: 2026-11-20, by: MV, to: B-78, until: 2026-11-28}]"),
    "away": ("at-test", "sent: [{on: 2026-11-20, by: MV, to: Weir House, for: requalification}]"),
    "lost": ("lost", "lost: [{on: 2026-11-01, by: MV, note: not in the cage}]"),
    "condemned": ("condemned", "condemned: [{on: 2026-10-01, by: T1, why: neck crack}]"),
    "sold": ("sold", "handed_over: [{on: 2026-11-01, by: MV, to: C-9}]"),
    "lapsed": ("", ""),
    "customer": ("", ""),
}
"""What may be the matter with a cylinder: its status, and the entry that says so."""
GONE = {"lost", "condemned", "sold"}
BAD_AIR = STATION.replace("result: pass", "result: fail")


def card(number: int, ail: str) -> str:
    status, entry = AILS[ail]
    made_ = stamped(GOOD.replace("K118204", f"K{number:05}"))
    made_ = made_.replace("status: in-service", f"status: {status or 'in-service'}")
    if "lapsed" in ail:
        made_ = made_.replace("2026-02-09", "2025-02-09")
    if ail == "customer":
        made_ = made_.replace("use: rental", "use: customer\nowner: C-0192")
    return f"{made_}{entry}\n"


FAILED_TEST = stamped(
    books.with_lines(
        GOOD.replace("K118204", "K90900"),
        requalified="[{on: 2024-03, by: T1, method: hydrostatic, result: pass}, "
        "{on: 2026-11-02, by: T1, method: hydrostatic, result: fail}]",
    )
)
PRICES = f"{books.SETTINGS}prices: {{hydro: 45.00 USD, visual: 18.50 USD}}\n"
ILLS = st.lists(st.sampled_from(sorted(AILS)), max_size=12)


def book(ails: list[str], station: str = STATION) -> Book:
    cards = {f"RB-{n:03}": card(n, ail) for n, ail in enumerate(ails, 1)}
    return make_book(cards, station=station, settings=PRICES)


def of(known: Book, **how: Any) -> Committee:
    return committee(known, TODAY, **how)


def on_paper(known: Book, found: Committee, paper: str = "a4") -> str:
    say = Unnamed(known, initials=False, customers=False)
    data = made(output.document(found, "Test Quay", say), ".pdf", paper)
    assert min(pdf.sizes_of(data)) >= 6
    return " ".join(pdf.text_of(data).split())


@given(ILLS, st.sampled_from((STATION, BAD_AIR)))
def test_it_counts_as_the_other_answers_do(ails: list[str], station: str) -> None:
    known = book(ails, station)
    found = of(known, customers=True)
    assert len(found.fit) == sum(row.fillable for row in fleet(known, TODAY))
    parts = (*found.fit, *found.but_for, *found.not_here, *(n.id for n in found.not_fit))
    assert len(set(parts)) == len(parts) == found.count
    here = {f"RB-{n:03}" for n, ail in enumerate(ails, 1) if ail not in GONE}
    assert set(parts) == here
    assert {g.id for g in found.gone} == {
        f"RB-{n:03}" for n, ail in enumerate(ails, 1) if ail in GONE
    }
    assert bool(found.closed) == (station == BAD_AIR)
    assert not (found.fit and found.closed)


@given(ILLS, st.sampled_from(("a4", "letter")))
def test_each_has_every_reason_of_the_gate_in_words(ails: list[str], paper: str) -> None:
    known = book(ails)
    found = of(known)
    said = on_paper(known, found, paper)
    for each in found.not_fit:
        answer = may_fill(known, each.id, TODAY, contents_of(known, each.id).gas)
        assert each.reasons == answer.refusals
        assert f"{each.id} " in said
    for n, ail in enumerate(ails, 1):
        id_ = f"RB-{n:03}"
        fits = {"good": found.fit, "out": found.not_here, "away": found.not_here}
        if ail in fits:
            assert id_ in fits[ail]
        if ail in {"held", "lapsed", "out and lapsed"}:
            assert id_ in {each.id for each in found.not_fit}
    assert ("gouge near the foot" in said) == ("held" in ails)
    assert ("visual lapsed Feb 2026" in said) == bool({"lapsed", "out and lapsed"} & set(ails))
    assert ("not in the cage" in said) == ("lost" in ails)
    assert ("Weir House" in said) == ("away" in ails)
    assert not {"MV", "B-77", "B-78", "C-9", "C-0192"} & set(said.replace(";", " ").split())


@given(ILLS, st.sampled_from((STATION, BAD_AIR)), st.booleans())
def test_it_counts_what_is_late_as_due_does(ails: list[str], station: str, failed: bool) -> None:
    """With one word for what is overdue or failed, and what is not on record by itself."""
    known = book(ails, station)
    if failed:
        cards = dict(known.cylinders)
        made = make_book({"RB-900": FAILED_TEST}).cylinders
        known = replace(known, cylinders={**cards, **made})
    found, dues = of(known), due(known, TODAY)
    tally = Tally.of(dues)
    assert bool(tally.failed) or not failed
    said = " ".join(text(output.document(found, "Test Quay", str), Page()).split())
    assert f" {tally.late} {late_word(dues)}, {tally.unknown} not on record, " in said
    if tally.late:
        assert f"{overdue(tally)}, " in said
    data = output.data(found, str)
    assert (data["overdue"], data["missing"]) == (tally.late, tally.unknown)


@given(ILLS, st.integers(1, 14))
def test_it_costs_what_costs_says(ails: list[str], months: int) -> None:
    known = book(ails)
    found = of(known, months=months)
    assert found.ahead == costs_ahead(known, TODAY, months)
    data = output.data(found, str)
    assert data["total"] == totals_of(n.price for n in costs_ahead(known, TODAY, months).needs)
    assert len(data["due_by_month"]) == months


@given(ILLS)
def test_it_fits_a_terminal_of_40_columns(ails: list[str]) -> None:
    page = output.document(of(book(ails)), "Test Quay", str)
    assert max(map(len, text(page, Page(40)).splitlines())) <= 40


def test_what_is_against_every_fill_is_told_once_and_apart() -> None:
    known = book(["good", "good", "lapsed"], BAD_AIR)
    found = of(known)
    assert (len(found.but_for), len(found.not_fit)) == (2, 1)
    said = on_paper(known, found)
    assert said.count("NOTHING MAY BE FILLED HERE NOW") == 1
    assert "2 fit but for what is against every fill here" in said


def test_a_long_page_repeats_its_headings_and_loses_none() -> None:
    known = book(["lapsed"] * 90)
    data = made(output.document(of(known), "Test Quay", str), ".pdf", "a4")
    pages = pdf.text_of(data).split("\n\f\n")
    with_rows = [p for p in pages if "RB-0" in p]
    assert len(with_rows) > 1
    assert all("cylinder stands why not fit" in p for p in with_rows)
    assert all(f"RB-{n:03}" in "".join(pages) for n in range(1, 91))


def test_names_stand_where_they_are_asked_for() -> None:
    known = book(["out"])
    named = Unnamed(known, initials=True, customers=True)
    assert "B-77" in text(output.document(of(known), "Quay", named), Page())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_reasons_that_are_longer_than_a_page_run_over_it(paper: str) -> None:
    def long(said: str) -> str:
        more = " ".join(f"n{n} {'near the foot ' * 30}" for n in range(40))
        return said.replace("gouge near the foot", more)

    data = made(output.document(of(book(["held", "lapsed"])), "Quay", long), ".pdf", paper)
    said = pdf.text_of(data)
    assert len(re.findall(r"\bn\d+\b", said)) == 40  # none lost at a page's end, and none twice
    assert said.split().count("foot") == 40 * 30
    assert "visual lapsed Feb 2026" in said


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("ails", [["out"] * 110, ["out"] * 40 + ["lost"] * 30, ["lost"] * 100])
def test_what_is_longer_than_a_page_is_never_beside_another(ails: list[str], paper: str) -> None:
    known = book(ails)
    data = made(output.document(of(known), "Test Quay", str), ".pdf", paper)
    assert len(set(re.findall(r"RB-\d{3}", pdf.text_of(data)))) == len(ails)


@pytest.mark.parametrize("day", [TODAY, dt.date(2027, 12, 1)])
def test_what_left_long_ago_is_no_news(day: dt.date) -> None:
    found = committee(book(["sold", "condemned", "lost"]), day)
    assert [g.how for g in found.gone] == (
        ["condemned", "sold", "lost"] if day == TODAY else ["lost"]
    )
