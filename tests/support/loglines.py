"""Books of a log of a few lines, for tests of what a cylinder holds."""

from __future__ import annotations

from books import GOOD, SETTINGS, make_book, with_lines

from tankbook.records.book import Book
from tankbook.rules.fill_history import contents_of, rises_of


def line(on: str, act: str, cylinder: str = "A", **cells: str) -> str:
    """A line of the log at ten o'clock, or at the hour of `2026-11-03T15`."""
    at = f"{on if 'T' in on else on + 'T10'}:00:00+00:00"
    more = "".join(f"; {k.rstrip('_')}={v}" for k, v in cells.items())
    return f"at={at}; cylinder={cylinder}; act={act}{more}; by=MV"


def fill(on: str, cylinder: str = "A", **cells: str) -> str:
    return line(on, "fill", cylinder, **{"to": "3000 psi", "gas": "air", **cells})


def read(on: str, to: str, cylinder: str = "A") -> str:
    return line(on, "reading", cylinder, to=to)


def struck(on: str, voids: str, cylinder: str = "A") -> str:
    return line(on, "void", cylinder, voids=voids, note="wrong")


def book_of(
    *log: str, sets: dict[str, str] | None = None, station: str | None = None, **changes: str | None
) -> Book:
    cards = {"A": with_lines(GOOD, **changes), "B": with_lines(GOOD, serial="K2")}
    return make_book(cards, sets=sets, log="\n".join(log), station=station)


def held(book: Book, id_: str = "A") -> tuple[str | None, str | None]:
    found = contents_of(book, id_)
    return (str(found.gas) if found.gas else None, str(found.pressure) if found.pressure else None)


def rises(*log: str, settings: str = SETTINGS, sets: dict[str, str] | None = None, **changes: str | None) -> list[tuple[str, str]]:  # fmt: skip
    cards = {"A": with_lines(GOOD, **changes), "B": with_lines(GOOD, serial="K2")}
    book = make_book(cards, sets=sets, log="\n".join(log), settings=settings)
    return [(str(got), str(known)) for _, got, known in rises_of(book, book.cylinders["A"])]
