"""`tankbook fleet`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common, Csv
from tankbook.cli.printing import Svg, draw_into, files_asked

MOST_MONTHS = 120


def fleet(
    asked: Common,
    months: Annotated[
        int | None,
        Opt("N", "How many were used and how many stood idle, so many months back.", least=1),
    ] = None,
    svg: Svg = "",
    csv: Csv = False,
) -> Answer:
    """How the fleet stands: counts by use and size, and what the tests ahead will cost.

    With --months or --svg: how many of the cylinders that go out were used in each month.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import fleet as output
    from tankbook.output import in_use as use_output
    from tankbook.rules.costs import YEAR, costs_ahead
    from tankbook.rules.fleet import fleet as fleet_of
    from tankbook.rules.in_use import in_use

    if months is not None and months > MOST_MONTHS:
        raise RequestError(f"--months: {months} is too far back", f"at most {MOST_MONTHS}")
    files_asked({".svg": svg})
    desk = open_desk(asked, fleet=True, fit=True)
    use = in_use(desk.book, desk.today, months or YEAR) if months or svg or asked.json else None
    drawn = draw_into(svg, lambda: [use_output.alone(use)]) if use else ""
    if use and csv:
        return desk.table(use_output.COLUMNS, use.months)
    if use and not asked.json:
        said = use_output.text(use, desk.page)
        return desk.answer(desk.page.answer(use_output.headline(use), said, drawn))
    rows = fleet_of(desk.book, desk.today)
    if csv:
        return desk.table(output.COLUMNS, rows)
    ahead = costs_ahead(desk.book, desk.today)
    if asked.json:
        return desk.data(output.data(rows, ahead) | {"use": use and use_output.data(use)})
    return desk.answer(output.text(rows, ahead, desk.page))
