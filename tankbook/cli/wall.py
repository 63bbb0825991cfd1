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
    sort: Annotated[str, Opt("WHAT", "id, due, size, use or stands (what is kept first).")] = "id",
    only_due: Annotated[bool, Flag("Only what has anything due on the chart, or late.")] = False,
    where: Annotated[
        list[str] | None, Opt("FIELD=VALUE", "Only these, as for `list`; may be given again.")
    ] = None,
    rows: Annotated[int, Opt("N", "Rows on a page, which makes all smaller; 60 fit on A3.")] = 0,
) -> Answer:
    """The wall chart: cylinders down, months across, what falls due as shapes with letters."""
    from tankbook.cli import list_filter, option_values
    from tankbook.cli.listing import listed_rows
    from tankbook.cli.open_ledger import open_desk
    from tankbook.cli.progress import Progress
    from tankbook.output import wall as output
    from tankbook.records.words import WallOrder
    from tankbook.rules.wall_chart import wall_chart

    sheet = output.PAPERS.get(paper.casefold())
    if sheet is None:
        raise RequestError(f"--paper: {paper!r} is not known", f"known: {', '.join(output.PAPERS)}")
    if months > MOST_MONTHS:
        raise RequestError(f"--months: {months} is too far ahead", f"at most {MOST_MONTHS}")
    least, most = output.usual_rows(sheet), output.most_rows(sheet)
    if rows and not least <= rows <= most:
        mend = f"{least} to {most} on {sheet.name}"
        raise RequestError(f"--rows: {rows} rows are not for a page", mend)
    order = option_values.word("--sort", sort, WallOrder)
    files = files_asked({".pdf": pdf, ".svg": svg})
    desk = open_desk(asked)
    sheet = output.dense(sheet, rows) if rows else sheet
    tests = [list_filter.parse(text, desk.shore) for text in where or []]
    kept = (
        {r.cylinder.id for r in listed_rows(desk) if all(t.holds(r) for t in tests)}
        if tests
        else None
    )
    chart = wall_chart(
        desk.book,
        desk.today,
        months,
        customers=customers,
        order=order,
        only_due=only_due,
        only=lambda card: kept is None or card.id in kept,
    )
    written = write_into(
        files, lambda end: output.made(chart, sheet, end, Progress("pages")), desk.book
    )
    if asked.json:
        return desk.data({**output.data(chart), **written.data})
    if files:
        pages = output.page_count(chart, sheet)
        head = desk.page.wrap(output.headline(chart), hang="  ")
        said = f"{head}\nWritten to {written.names}: {sheet.name}, {pages}.\n"
        return desk.answer(said + written.told(desk.page))
    return desk.answer(output.text(chart, desk.page))
