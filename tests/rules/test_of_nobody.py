"""Lines of the log whose name is gone: of a set whose file was taken out, of a card that was renamed."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines
from loglines import fill, line, read, struck

from tankbook.records.book import Book
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill

LOOK = "{on: %s, by: MV, checklist: annual, result: pass}"
EARLY = f"[{LOOK % '2026-02-09'}]"
THREE = [fill(f"2026-11-{day}", "OLD", gas="oxygen", to="1500 psi") for day in ("03", "04", "05")]
REMOVED = SETTINGS + "removed: [{on: 2026-11-20, by: MV, what: sets/OLD.yaml, why: taken apart}]\n"


def book_of(*log: str, settings: str = SETTINGS, **cards: str | None) -> Book:
    known = {i: with_lines(GOOD, serial=f"K{n}") for n, i in enumerate("AB", start=10)}
    known |= {name: text for name, text in cards.items() if text is not None}
    texts = {name: text for name, text in known.items() if cards.get(name, "") is not None}
    return make_book(texts, settings=settings, log="\n".join(log)).as_known_on(TODAY)


def touched(book: Book) -> tuple[str, ...]:
    found = [f for f in check(book, TODAY) if f.code == "log-of-nobody"]
    assert len(found) < 2
    ids = tuple(found[0].touches) if found else ()
    for id_ in ids:
        told = {r.code: r.gate for r in may_fill(book, id_, TODAY).reasons}
        assert told["log-of-nobody"] == ("refuse" if "was a set" in found[0].text else "warn")
    return ids


@pytest.mark.parametrize(
    ("log", "ids"),
    [
        (THREE, ("A", "B")),
        # a name that stands there once or twice is a slip, or somebody who walked in
        (THREE[:2], ()),
        ([*THREE[:2], fill("2026-11-04T15", "OLD")], ()),
        ([*THREE[:2], struck("2026-11-06", "2026-11-05T10:00:00+00:00 OLD", "OLD"), THREE[2]], ()),
        # that of which something is logged before was always called so
        ([*THREE, read("2026-11-02", "900 psi")], ("B",)),
        ([*THREE, read("2026-11-05T10", "900 psi"), read("2026-11-04", "900 psi", "B")], ()),
        ([*THREE, read("2026-11-06", "900 psi")], ("A", "B")),
        # before it was here nothing happened to it
        ([n.replace("2026-11", "2026-01") for n in THREE], ()),
        ([n.replace("2026-11", "2026-02") for n in THREE], ()),
        ([n.replace("2026-11-0", "2026-02-1") for n in THREE], ("A", "B")),
    ],
)
def test_a_cylinder_that_may_have_been_renamed(log: list[str], ids: tuple[str, ...]) -> None:
    assert touched(book_of(*log)) == ids


def test_who_looked_inside_since_knows() -> None:
    inspected = f"[{LOOK % '2026-02-09'}, {LOOK % '2026-11-06'}]"
    looked = with_lines(GOOD, serial="K10", inspected=inspected)
    assert touched(book_of(*THREE, A=looked)) == ("B",)


def test_whose_it_was_is_said_by_the_card() -> None:
    renamed = with_lines(GOOD, serial="K10", formerly="[OLD]")
    book = book_of(*THREE, A=renamed)
    # the ledger reads lines of an earlier name as those of the new one
    assert touched(book) == ("A", "B")
    own = [n.replace("cylinder=OLD", "cylinder=A") for n in THREE]
    assert touched(book_of(*own, A=renamed)) == ()


def test_a_cylinder_that_is_known_to_be_gone_was_another() -> None:
    gone = REMOVED.replace("sets/OLD", "cylinders/OLD")
    assert touched(book_of(*THREE, settings=gone)) == ()


def test_what_customers_bring_was_not_here() -> None:
    theirs = with_lines(GOOD, serial="K10", use="customer", owner="C-1")
    assert touched(book_of(*THREE, A=theirs)) == ("B",)


@pytest.mark.parametrize(
    ("log", "cards", "ids"),
    [
        (THREE[:1], {}, ("A", "B")),
        # whatever is read of each by itself
        ([*THREE[:1], read("2026-11-10", "900 psi")], {}, ("A", "B")),
        ([*THREE, read("2026-11-04", "900 psi")], {}, ("A", "B")),
        # what was filled by itself meanwhile was in no set
        ([*THREE, fill("2026-11-04")], {}, ("B",)),
        ([*THREE, fill("2026-11-02"), fill("2026-11-06")], {}, ("A", "B")),
        ([line("2026-11-10", "drain", "OLD", to="0 psi")], {}, ("A", "B")),
        ([], {}, ()),
        # who looked inside since knows
        (THREE, {"A": with_lines(GOOD, serial="K10", inspected=f"[{LOOK % '2026-11-06'}]")}, ("B",)),
        (THREE, {"A": with_lines(GOOD, serial="K10", inspected=f"[{LOOK % '2026-11-05'}]")}, ("A", "B")),
    ],
)  # fmt: skip
def test_a_set_whose_file_was_taken_out_may_have_been_of_any(
    log: list[str], cards: dict[str, str], ids: tuple[str, ...]
) -> None:
    assert touched(book_of(*log, settings=REMOVED, **cards)) == ids


def test_what_is_in_a_set_now_may_have_been_in_another() -> None:
    cards = {i: with_lines(GOOD, serial=f"K{n}") for n, i in enumerate("ABC", start=10)}
    meanwhile = fill("2026-11-04", "D")
    for file, log, ids in (
        ({"D": "cylinders: [A, B]"}, THREE, ("A", "B", "C")),
        ({"D": "cylinders: [A, B]"}, [*THREE, meanwhile], ("C",)),
        ({"D": "cylinders: [A, B]", "OLD": "cylinders: [A, C]\napart: 2026-11-10"}, THREE, ()),
    ):
        book = make_book(cards, sets=file, settings=REMOVED, log="\n".join(log))
        assert touched(book.as_known_on(TODAY)) == ids
