"""Nobody is named on a page, however somebody wrote the name; and no reason loses what it says."""

from __future__ import annotations

import re

import books
import pytest
from msgspec.structs import replace

from tankbook.output.unnamed import Unnamed
from tankbook.records.book import Book
from tankbook.records.node import Finding, Where

CARD = books.GOOD.replace("use: rental", "use: customer\nowner: {owner}")


def book_of(people: str = "MV", owner: str = "C-0192", **more: str) -> Book:
    named = books.SETTINGS + f"operator: {people}\n"
    cards = {
        "RB-014": books.GOOD,
        "CU-001": CARD.replace("{owner}", f'"{owner}"').replace("K118204", "K9"),
    }
    return books.make_book(cards | more, settings=named)


def left(
    text: str, people: str = "MV", owner: str = "C-0192", contacts: tuple[str, ...] = ()
) -> str:
    book = book_of(people, owner)
    return Unnamed(book, initials=False, customers=False, contacts=contacts)(text)


@pytest.mark.parametrize(
    "written",
    ["MV", "M.V.", "M. V.", "M.V", "mv", "Mv", "(MV)", "MV's"],
)  # fmt: skip
def test_initials_as_people_write_them(written: str) -> None:
    said = left(f"dent seen: {written}, 3000 psi")
    assert re.fullmatch(r"dent seen: \(?\[who\]\)?(?:'s)?, 3000 psi", said), said


@pytest.mark.parametrize(
    ("owner", "written"),
    [
        ("C-0192", "c-0192"),
        ("C-0192", "C 0192"),
        ("C-0192", "C\N{EN DASH}0192"),
        ("C-0192", "C0192"),
        ("C-0192", "fills/C-0192_2026.csv"),
        ("Zoë Vidál", "ZOE VIDAL"),
        ("Zoë Vidál", "Zoe\N{COMBINING DIAERESIS} Vida\N{COMBINING ACUTE ACCENT}l"),
        ("Zoë Vidál", "Vidal"),
        ("Zoë Vidál", "Zoë"),
        ("Zoë Vidál", "Z.V."),
        ("Jörg Müßig", "Joerg Muessig"),
        ("Jörg Müßig", "jorg mussig"),
        ("Jörg Müßig", "Müßig's"),
        ("O'Hara-Lee", "O\N{RIGHT SINGLE QUOTATION MARK}Hara Lee"),
        ("Ødegård", "odegard"),
        ("4471", "4471"),
    ],
)
def test_a_customer_as_people_write_one(owner: str, written: str) -> None:
    said = left(f"held for {written}: dent", owner=owner)
    assert "[customer]" in said
    parts = re.findall(r"[^\W_]{3,}", said.casefold())
    assert set(parts) <= {"held", "for", "customer", "dent", "fills", "2026", "csv"}


@pytest.mark.parametrize(
    ("people", "owner", "text"),
    [
        ("TO", "C-1", "up to 3000 psi, return it to the rack"),
        ("NO", "C-1", "no rule row in force says so"),
        ("AIR", "C-1", "an ordinary air fill ends its oxygen-clean state"),
        ("IN", "C-1", "it is in the rack"),
        ("maker", "C-1", "the maker's rules"),
        ("MV", "3000", "it is filled to 3000 psi"),
        ("MV", "2026", "hydro lapsed 2026-10-31"),
        ("MV", "Will Park", "it will be filled in the park"),
        ("MV", "air", "filled with air"),
        ("DO", "C-1", "DO NOT FILL: it is held"),
        ("MV", "Ana Brown", "brown powder inside, tested by Another Air Lab"),
        ("another test house", "C-1", "by another shop: `tankbook done-elsewhere`"),
        ("Lakeside Valve Bench", "C-1", "its valve goes to the bench"),
        ("V", "C-1", "its valve is open, M25x2"),
    ],
)
def test_no_reason_loses_what_it_says(people: str, owner: str, text: str) -> None:
    assert left(text, people, owner) == text


@pytest.mark.parametrize(
    ("people", "text"),
    [
        ("TO", "dent seen by TO"),
        ("NO", "seen by NO."),
        ("AIR", "looked at by A.I.R."),
        ("TO", "t.o. saw it"),
    ],
)
def test_initials_that_are_words_are_taken_out_where_they_are_capitals(
    people: str, text: str
) -> None:
    assert "[who]" in left(text, people)


def test_a_name_that_is_a_word_goes_with_its_capital() -> None:
    assert left("dent seen by Will; then Park held it", owner="Will Park") == (
        "dent seen by [customer]; then [customer] held it"
    )


def test_contacts_are_never_named() -> None:
    book = book_of()
    unnamed = Unnamed(
        book, initials=True, customers=True, contacts=("Ana Bellweather", "+44 20 7946 0018")
    )
    said = unnamed("told Ana, then bellweather's son at +44 (20) 7946-0018")
    assert not any(each in said.lower() for each in ("ana", "bellw", "7946"))


def test_the_id_of_a_customers_cylinder_is_not_told() -> None:
    assert left("may be the same as CU-001; RB-014 is held") == (
        "may be the same as [customer]; RB-014 is held"
    )


def test_what_cannot_be_read_is_not_quoted() -> None:
    where = Where("cylinders/CU-002.yaml", 2, 6)
    finding = Finding(where, "unknown-word", "`Vidalovna` is no use", "one of rental, sale")
    book = replace(books.make_book({"RB-014": books.GOOD}), findings=(finding,))
    said = Unnamed(book, initials=True, customers=True)(f"its file cannot be read: {finding}")
    assert said == "its file cannot be read: cylinders/CU-002.yaml:2:6"


def test_who_signed_by_any_key() -> None:
    card = books.GOOD.replace(
        "use: rental",
        (
            "use: rental\nheld: [{on: 2026-03-01, by: AB, why: dent, released: 2026-03-02, "
            "released_by: QX, released_why: no dent}]"
        ),
    )
    book = books.make_book({"RB-014": card})
    assert Unnamed(book, initials=False, customers=False)("let go by QX") == "let go by [who]"
