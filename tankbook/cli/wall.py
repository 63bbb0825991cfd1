"""`tankbook wall`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.printing import files_asked, write_into

MOST_MONTHS = 36


def wall(
    asked: Common,
    pdf: Annotated[str, Opt("FILE", "Print it into this.")] = "",
    svg: Annotated[str, Opt("FILE", "Draw it into this.")] = "",
    paper: Annotated[str, Opt("SIZE", "a3, a4 or letter, laid crosswise.")] = "a3",
    months: Annotated[int, Opt("N", "This month and the next.", least=1)] = 12,
    customers: Annotated[bool, Flag("Customers' cylinders too.")] = False,
) -> Answer:
    """The wall chart: cylinders down, months across, what falls due as shapes with letters."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.cli.progress import Progress
    from tankbook.output import wall as output
    from tankbook.rules.wall_chart import wall_chart

    sheet = output.PAPERS.get(paper.casefold())
    if sheet is None:
        raise RequestError(f"--paper: {paper!r} is not known", f"known: {', '.join(output.PAPERS)}")
    if months > MOST_MONTHS:
        raise RequestError(f"--months: {months} is too far ahead", f"at most {MOST_MONTHS}")
    files = files_asked({".pdf": pdf, ".svg": svg})
    desk = open_desk(asked)
    chart = wall_chart(desk.book, desk.today, months, customers=customers)
    named = write_into(files, lambda end: output.made(chart, sheet, end, Progress("pages")))
    if asked.json:
        return desk.data(output.data(chart))
    if files:
        pages = output.page_count(chart, sheet)
        said = f"{output.headline(chart)}\nWritten to {named}: {sheet.name}, {pages}.\n"
        return desk.answer(said)
    return desk.answer(output.text(chart, desk.page))
