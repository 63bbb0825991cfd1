"""How the fleet stands: counts by use and size."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output.as_csv import Cell
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import table
from tankbook.output.words import obligation
from tankbook.records.words import Status
from tankbook.rules.answers import FleetRow
from tankbook.rules.costs import Cost, CostsAhead, by_obligation
from tankbook.rules.schedule import CYLINDER_OBLIGATIONS

HEADERS = ("use", "size", "count", "in service", "fit", "overdue", "fills", "oldest", "others")


def data(rows: Sequence[FleetRow], ahead: CostsAhead) -> dict[str, Any]:
    """The JSON shape of `fleet`. A price that is not set is null."""
    return {
        "groups": _groups(rows),
        "costs_ahead": [
            {"obligation": c.obligation, "count": c.count, "each": c.each, "total": c.total}
            for c in _costs(ahead)
        ],
    }


def _groups(rows: Sequence[FleetRow]) -> list[dict[str, Any]]:
    return [
        {
            "use": row.use,
            "size": row.size or None,
            "count": row.count,
            "in_service": row.in_service,
            "fillable": row.fillable,
            "overdue": row.overdue,
            "by_status": {status.value: count for status, count in row.by_status},
            "fills": row.fills,
            "oldest": row.oldest,
        }
        for row in rows
    ]


def _costs(ahead: CostsAhead) -> list[Cost]:
    """The tests and inspections; the station's own are for `costs`."""
    return [c for c in by_obligation(ahead) if c.obligation in CYLINDER_OBLIGATIONS]


COLUMNS = ("use", "size", "count", "in_service", "fit", "overdue", "fills", "oldest", "others")
"""The columns of `fleet --csv`."""


def lines(rows: Sequence[FleetRow]) -> list[tuple[Cell, ...]]:
    """The lines of `fleet --csv`."""
    return [
        (
            row.use.value if row.use else None,
            row.size,
            row.count,
            row.in_service,
            row.fillable,
            row.overdue,
            row.fills,
            row.oldest,
            _others(row),
        )
        for row in rows
    ]


def text(rows: Sequence[FleetRow], ahead: CostsAhead, page: Page) -> str:
    """The totals in one line, a line for each use and size, and the tests of the year ahead."""
    total, service, fillable, overdue = (
        sum(getattr(row, name) for row in rows)
        for name in ("count", "in_service", "fillable", "overdue")
    )
    head = (
        f"{counted(total, 'cylinder')}: {service} in service, {fillable} fit to be filled, "
        f"{overdue} overdue"
    )
    body = table(
        HEADERS,
        [_cells(row) for row in rows],
        page,
        wrap=("size", "others"),
        right=("count", "in service", "fit", "overdue", "fills"),
    )
    parts = [page.wrap(head), *(["", body] if rows else [])]
    costs = _costs(ahead)
    if costs:
        until = f"To be done by {plain_date(ahead.last_day)}, what is overdue included"
        left_out = f"; customers' cylinders ({ahead.customers}) left out" if ahead.customers else ""
        parts += ["", page.wrap(until + left_out)]
        parts.append(table(("what", "count", "each", "in all"), [_cost(c) for c in costs], page))
    return "\n".join([*parts, ""])


def _cost(cost: Cost) -> tuple[str, ...]:
    return (
        obligation(cost.obligation),
        str(cost.count),
        str(cost.each or "no price set"),
        str(cost.total or "-"),
    )


def _others(row: FleetRow) -> str:
    others = [
        f"{n} {status.value.replace('-', ' ')}"
        for status, n in row.by_status
        if status is not Status.IN_SERVICE
    ]
    return ", ".join(others)


def _cells(row: FleetRow) -> tuple[str, ...]:
    return (
        row.use.value if row.use else "-",
        row.size or "-",
        str(row.count),
        str(row.in_service),
        str(row.fillable),
        str(row.overdue),
        str(row.fills),
        str(row.oldest or "-"),
        _others(row),
    )
