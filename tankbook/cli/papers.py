"""The commands that write for others: a calendar, a report, the costs, the wall chart."""

from __future__ import annotations

from tankbook.cli import calendar, costs, report, wall
from tankbook.cli.acts import Command

PAPERS: dict[str, Command] = {
    "costs": Command(
        costs.costs, "What the months ahead cost, and when to do it.", "tankbook costs --plan"
    ),
    "calendar": Command(
        calendar.calendar, "What is due, for a calendar.", "tankbook calendar --ics due.ics"
    ),
    "wall": Command(
        wall.wall, "The wall chart of what falls due.", "tankbook wall --pdf wall.pdf --paper a4"
    ),
    "report": Command(
        report.report, "The report on the fleet.", "tankbook report --html report.html"
    ),
}
"""Each by its name, in the order help lists them."""
