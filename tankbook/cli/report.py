"""`tankbook report`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.printing import files_asked, write_into


def report(
    asked: Common,
    html: Annotated[str, Opt("FILE", "Write it as one page.")] = "",
    pdf: Annotated[str, Opt("FILE", "Print it into this.")] = "",
    one_page: Annotated[bool, Flag("One sheet of paper, for a committee.")] = False,
    paper: Annotated[str, Opt("SIZE", "a4 or letter, with --pdf.")] = "a4",
) -> Answer:
    """The state of the fleet: what is overdue and held, the year behind, the year ahead.

    Customers appear by reference only.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import report as output
    from tankbook.rules.summary import summary

    if paper.casefold() not in ("a4", "letter"):
        raise RequestError(f"--paper: {paper!r} is not known", "known: a4, letter")
    files = files_asked({".html": html, ".pdf": pdf})
    desk = open_desk(asked, fleet=True, fit=True)
    told = summary(desk.book, desk.today)
    document = output.report(told, short=one_page)
    written = write_into(
        files, lambda ending: output.made(document, ending, paper.casefold()), desk.book
    )
    if asked.json:
        return desk.data({**output.data(told), **written.data})
    if files:
        headline = desk.page.wrap(output.headline(told), hang="  ")
        said = f"{headline}\nWritten to {written.names}.\n"
        return desk.answer(said + written.told(desk.page))
    return desk.answer(output.text(document, desk.page))
