"""`tankbook committee`."""

from __future__ import annotations

from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common, Csv
from tankbook.cli.papers import Html, Into, PaperSize, PdfToo

MOST = 120


def committee(
    asked: Common,
    *,
    months: Annotated[int, Opt("N", "So many months ahead, this one counted; 1 to 120.")] = 6,
    customers: Annotated[bool, Flag("With customers' cylinders.")] = False,
    named: Annotated[
        bool, Flag("With initials and references; they are left out unless asked for.")
    ] = False,
    csv: Csv = False,
    html: Html = "",
    pdf: PdfToo = "",
    paper: PaperSize = "",
) -> Answer:
    """A page for a club's meeting: how many are fit, why the others are not, what comes due.

    What is out or away, what was lost, and what the months ahead cost, where a price is set.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.contacts import names_and_numbers
    from tankbook.output import committee as output
    from tankbook.output.unnamed import Unnamed
    from tankbook.rules.committee import committee as found_for

    into = Into(html, pdf, paper)
    if not 1 <= months <= MOST:
        raise RequestError(f"--months {months} is too few or too many", f"give 1 to {MOST}")
    desk = open_desk(asked, fleet=True, fit=True)
    found = found_for(desk.book, desk.today, months, customers=customers)
    contacts = names_and_numbers(desk.root)
    say = Unnamed(desk.book, initials=named, customers=named, contacts=contacts)
    desk = replace(desk, say=say)
    if csv:
        return desk.table(output.not_fit(say), found.not_fit)
    document = output.document(found, desk.book.settings.ledger, say)
    return into.answered(desk, document, output.data(found, say), json=asked.json)
