"""`tankbook fleet`."""

from __future__ import annotations

import typer

from tankbook.cli.answer import Answer
from tankbook.cli.options import Csv, Json, Ledger, On, common


def fleet(
    context: typer.Context,
    csv: Csv = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """How the fleet stands: counts by use and size, and what the tests ahead will cost."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import fleet as output
    from tankbook.rules.costs import costs_ahead
    from tankbook.rules.fleet import fleet as fleet_of

    asked = common(context, json, on, ledger)
    desk = open_desk(asked)
    rows = fleet_of(desk.book, desk.today)
    if csv:
        return desk.table(output.COLUMNS, rows, fleet=True, fit=True)
    ahead = costs_ahead(desk.book, desk.today)
    if asked.json:
        return desk.data(output.data(rows, ahead), fleet=True, fit=True)
    return desk.answer(output.text(rows, ahead, desk.page), fleet=True, fit=True)
