"""`tankbook report`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common
from tankbook.output.screen import one_line


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
    from pathlib import Path

    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.handed_out import check_out, write_out
    from tankbook.output import report as output
    from tankbook.output.paper.face import PaperError
    from tankbook.rules.summary import summary

    if paper.casefold() not in ("a4", "letter"):
        raise RequestError(f"--paper: {paper!r} is not known", "known: a4, letter")
    files = [(name, end) for name, end in ((html, ".html"), (pdf, ".pdf")) if name]
    for name, end in files:
        check_out(Path(name), end)
    desk = open_desk(asked)
    told = summary(desk.book, desk.today)
    document = output.report(told, short=one_page)
    try:
        made = [(name, end, output.made(document, end, paper.casefold())) for name, end in files]
    except PaperError as error:
        raise RequestError(str(error), error.mend) from None
    for name, end, written in made:
        write_out(Path(name), written, end)
    if asked.json:
        return desk.data(output.data(told), fleet=True, fit=True)
    if files:
        named = " and ".join(one_line(name) for name, _ in files)
        said = f"{desk.page.wrap(output.headline(told))}\nWritten to {named}.\n"
        return desk.answer(said, fleet=True, fit=True)
    return desk.answer(output.text(document, desk.page), fleet=True, fit=True)
