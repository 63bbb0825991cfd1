"""`tankbook fleet`."""

from __future__ import annotations

from tankbook.cli.answer import Answer
from tankbook.cli.options import Common, Csv


def fleet(
    asked: Common,
    csv: Csv = False,
) -> Answer:
    """How the fleet stands: counts by use and size, and what the tests ahead will cost."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import fleet as output
    from tankbook.rules.costs import costs_ahead
    from tankbook.rules.fleet import fleet as fleet_of

    desk = open_desk(asked, fleet=True, fit=True)
    rows = fleet_of(desk.book, desk.today)
    if csv:
        return desk.table(output.COLUMNS, rows)
    ahead = costs_ahead(desk.book, desk.today)
    if asked.json:
        return desk.data(output.data(rows, ahead))
    return desk.answer(output.text(rows, ahead, desk.page))
