"""`tankbook leaks`."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

from tankbook.cli.answer import DONE, NO, Answer
from tankbook.cli.options import Json, Ledger, On, common


def leaks(
    context: typer.Context,
    since: Annotated[
        str,
        typer.Option(
            "--since",
            metavar="DATE",
            help="Look at the log from this day on; 12 months back, if not said.",
            show_default=False,
        ),
    ] = "",
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """Cylinders that lose more while they stand than the readings' errors explain.

    What is found at the next fill, going out, or at any reading is compared with what was left, at
    one temperature. Exit code 1 when one loses.
    """
    from tankbook.cli import ask
    from tankbook.cli.desk import open_desk
    from tankbook.output import leaks as output
    from tankbook.rules.leaks import LOOKED_BACK
    from tankbook.rules.leaks import leaks as leaks_of

    asked = common(context, json, on, ledger)
    begun = ask.day("--since", since) if since else None
    desk = open_desk(asked)
    found = leaks_of(desk.book, desk.today, begun or _back(desk.today, LOOKED_BACK.months))
    code = NO if found.leaking else DONE
    if asked.json:
        return desk.data(output.data(found), code)
    return desk.answer(output.text(found, desk.page), code)


def _back(today: dt.date, months: int) -> dt.date:
    """A day that many months ago, or the last one of its month."""
    year, month = divmod(12 * today.year + today.month - 1 - months, 12)
    first = dt.date(year, month + 1, 1)
    end = (first + dt.timedelta(days=31)).replace(day=1) - dt.timedelta(days=1)
    return first.replace(day=min(today.day, end.day))
