"""`tankbook leaks`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import DONE, NO, Answer
from tankbook.cli.options import Common


def leaks(
    asked: Common,
    since: Annotated[
        str, Opt("DATE", "Look at the log from this day on; 12 months back, if not said.")
    ] = "",
) -> Answer:
    """Cylinders that lose more while they stand than the readings' errors explain.

    What is found at the next fill, going out, or at any reading is compared with what was left, at
    one temperature. Exit code 1 when one loses.
    """
    from dateutil.relativedelta import relativedelta

    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import leaks as output
    from tankbook.rules.leaks import LOOKED_BACK
    from tankbook.rules.leaks import leaks as leaks_of

    begun = option_values.day("--since", since) if since else None
    desk = open_desk(asked)
    a_while_ago = desk.today - relativedelta(months=LOOKED_BACK.months)
    found = leaks_of(desk.book, desk.today, begun or a_while_ago)
    code = NO if found.leaking else DONE
    if asked.json:
        return desk.data(output.data(found), code)
    return desk.answer(output.text(found, desk.page), code)
