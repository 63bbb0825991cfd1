"""`tankbook fills`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import Answer, RequestError, shown
from tankbook.cli.options import Common, Csv
from tankbook.cli.printing import Pdf, Written, print_into
from tankbook.output.screen import one_line

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.rules.fill_book import FillBook, FillsWanted

MOST_MONTHS = 36
"""So many pages to sign are printed at once; an empty month is one, too."""
MOST_NAMED = 12


def fills(
    asked: Common,
    ids: Annotated[
        list[str] | None, Arg("ID", "Of these alone; a tail will do, or a range: 1..12.")
    ] = None,
    month: Annotated[str, Opt("MONTH", "Of a month: 2026-11.")] = "",
    since: Annotated[str, Opt("DATE", "From this day on.")] = "",
    until: Annotated[str, Opt("DATE", "Up to this day; the day of --on, if not said.")] = "",
    by: Annotated[str, Opt("INITIALS", "Filled by this person.")] = "",
    gas: Annotated[str, Opt("GAS", "With this gas: nitrox32.")] = "",
    source: Annotated[
        str, Opt("SOURCE", "From this bank or compressor, alone or with others.")
    ] = "",
    position: Annotated[str, Opt("POSITION", "At this fill position.")] = "",
    customer: Annotated[str, Opt("REFERENCE", "Into cylinders of this owner.")] = "",
    settled: Annotated[
        bool, Flag("What fills settled to that were read again, and which tell of the heat.")
    ] = False,
    csv: Csv = False,
    pdf: Pdf = "",
) -> Answer:
    """The fill book: today's fills, or those of a month or any time, and what they come to.

    With --pdf: a page or more a month, to sign. What was struck out stands with its reason and is
    not counted. With --settled: all fills that were read again once they had cooled, size by size,
    what a plan takes from them, and why others tell it nothing.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import fill_book as output
    from tankbook.rules.fill_book import fill_book

    desk = open_desk(asked)
    if settled:
        if any((month, since, until, by, gas, source, position, customer, csv, pdf)):
            raise RequestError(
                "--settled is of all fills, or of the cylinders named", "leave the others out"
            )
        return _settled(desk, frozenset(_ids(desk, ids or [])), json=asked.json)
    first, last = _time(desk.today, month, since, until)
    wanted = _wanted(
        desk, first, last, ids or [],
        by=by, gas=gas, source=source, position=position, customer=customer,
    )  # fmt: skip
    found = fill_book(desk.book, wanted)
    printed = _print(pdf, found, desk) if pdf else Written()
    if asked.json:
        return desk.data({**output.data(found), **printed.data})
    if csv:
        return desk.table(output.COLUMNS, found.fills)
    told = printed.said(output.headline(found, desk.page), desk.page)
    return desk.answer(told or output.text(found, desk.page))


def _settled(desk: Desk, ids: frozenset[str], *, json: bool) -> Answer:
    """What fills settled to, and what that tells a plan."""
    from tankbook.filling.size_heat import told_by_size
    from tankbook.output import size_heat as output

    found = told_by_size(desk.book, desk.today, desk.shore.value, ids)
    if json:
        return desk.data(output.data(found, desk.shore.value))
    return desk.answer(output.text(found, desk.page))


def _time(today: dt.date, month: str, since: str, until: str) -> tuple[dt.date | None, dt.date]:
    """The first and the last day asked for; without a first one, from the beginning of the log.

    Raises:
        RequestError: they are none, run backward, or lie after the day asked about.
    """
    from tankbook.cli import option_values

    if month and (since or until):
        raise RequestError("--month is a whole month", "leave --since and --until out")
    if month:
        found = option_values.date("--month", month)
        if not found.is_month:
            raise RequestError(f"--month: {shown(month)} is a day", f"write it as {month[:7]}")
        if found.first > today:
            raise RequestError(f"--month: {found} has not begun on {today}", "ask for one that has")
        return found.first, min(found.last, today)
    last = option_values.day("--until", until) if until else today
    if last > today:
        raise RequestError(f"--until: {last} is after {today}", "leave it out, or say --on")
    first = option_values.day("--since", since) if since else None
    if first is not None and first > last:
        raise RequestError(f"--since: {first} is after {last}", "give the earlier day first")
    return (first, last) if since or until else (last, last)


def _ids(desk: Desk, ids: Sequence[str]) -> tuple[str, ...]:
    """The full ids; what the log alone knows, since its card is gone, is named in full."""
    from tankbook.rules.fill_history import named_in_log

    logged = frozenset(named_in_log(desk.book))
    named = (i for text in ids for i in ([text] if text in logged else desk.every([text])))
    return tuple(dict.fromkeys(named))


def _wanted(
    desk: Desk,
    first: dt.date | None,
    last: dt.date,
    ids: Sequence[str],
    *,
    by: str,
    gas: str,
    source: str,
    position: str,
    customer: str,
) -> FillsWanted:
    """What is asked for, each part of it something that the ledger knows: of what is typed wrong no
    empty book is told.

    Raises:
        RequestError: no person, source, position or owner is called so.
    """
    from tankbook.cli import option_values
    from tankbook.rules import fill_book as rules

    book = desk.book
    return rules.FillsWanted(
        first,
        last,
        _ids(desk, ids),
        by=_known("--by", by, rules.people_of(book)),
        gas=option_values.gas("--gas", gas) if gas else None,
        source=_known("--source", source, rules.sources_of(book)),
        position=_known("--position", position, rules.positions_of(book)),
        customer=_known("--customer", customer, rules.customers_of(book)),
    )


def _known(option: str, text: str, known: Sequence[str]) -> str:
    """What is asked for as the ledger writes it."""
    if not text:
        return ""
    found = [name for name in known if name.casefold() == text.casefold()]
    if not found:
        more = ", ..." if len(known) > MOST_NAMED else ""
        named = ", ".join(map(one_line, known[:MOST_NAMED])) or "none"
        raise RequestError(
            f"{option}: nothing here is called {shown(text)}", f"known: {named}{more}"
        )
    return found[0]


def _print(file: str, found: FillBook, desk: Desk) -> Written:
    """The pages to sign.

    Raises:
        RequestError: they are too many.
    """
    from tankbook.output.paper.fill_book import fill_book_pdf

    months = found.months
    if len(months) > MOST_MONTHS:
        raise RequestError(
            f"--pdf: {len(months)} months are too many for one file",
            f"at most {MOST_MONTHS}: say --since or --month",
        )
    name = desk.book.settings.ledger
    return print_into(file, lambda: fill_book_pdf(found, name, desk.today, desk.page), desk.book)
