"""`tankbook receipt`."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import Answer, RequestError, shown
from tankbook.cli.options import Common
from tankbook.cli.papers import Html, Into, PaperSize, PdfToo


def receipt(
    asked: Common,
    ids: Annotated[list[str], Arg("ID", "Cylinders or sets; a tail will do, or a range: 1..12.")],
    *,
    of: Annotated[
        str,
        Opt("taken-in|lent|...", "taken-in, filled, refused, returned, handed-back, lent or sold."),
    ] = "",
    day: Annotated[
        str,
        Opt(
            "DATE",
            "What was done on that day, or DATE#1 for the first of it; the last, if not said.",
        ),
    ] = "",
    price: Annotated[bool, Flag("With what it cost, where that is on record.")] = False,
    html: Html = "",
    pdf: PdfToo = "",
    paper: PaperSize = "",
) -> Answer:
    """A receipt: what was taken in from somebody or handed to them, in which state, what was said.

    It is of the last that is on record of each. What leaves has its gas, how deep, and room for the
    user's own analysis, as known on that day.
    """
    from tankbook.acts.receipt import Dealing
    from tankbook.acts.receipt import receipt as found_for
    from tankbook.cli.open_ledger import open_desk
    from tankbook.cli.printing import records_on
    from tankbook.output import receipt as output

    into = Into(html, pdf, paper)
    known = [d.value for d in Dealing]
    if of and of not in known:
        raise RequestError(f"--of: {shown(of)} is not known", f"known: {', '.join(known)}")
    date, _, place = day.partition("#")
    try:
        on = dt.date.fromisoformat(date) if day else None
        nth = int(place) if "#" in day else None
    except ValueError:
        mend = "write 2026-11-24, or 2026-11-24#1 for the first of that day"
        raise RequestError(f"--day: {shown(day)} is no day", mend) from None
    desk = open_desk(asked)
    kind = Dealing(of) if of else None
    found = found_for(desk.book, desk.every(ids), kind, on, desk.today, nth=nth)
    if isinstance(found, tuple):
        raise RequestError(
            "; ".join(found) or "no cylinder is named", "`tankbook history` has what was done"
        )
    records = [r for item in found.items for r in records_on(desk.book, item.dealt.id)]
    document = output.document(found, desk.book.settings, desk.page, price=price)
    data = output.data(found, price=price)
    return into.answered(desk, document, data, json=asked.json, of=records)
