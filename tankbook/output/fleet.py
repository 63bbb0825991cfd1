"""How the fleet stands: counts by use and size."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output.page import Page, counted
from tankbook.output.tables import table
from tankbook.output.words import obligation
from tankbook.records.words import Status
from tankbook.rules.answers import FleetRow
from tankbook.rules.fleet import Cost

HEADERS = ("use", "size", "count", "in service", "fit", "overdue", "fills", "oldest", "others")


def data(rows: Sequence[FleetRow], costs: Sequence[Cost]) -> dict[str, Any]:
    """The JSON shape of `fleet`. A price that is not set is null."""
    return {
        "groups": _groups(rows),
        "costs_ahead": [
            {"obligation": c.obligation, "count": c.count, "each": c.each, "total": c.total}
            for c in costs
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


def text(rows: Sequence[FleetRow], costs: Sequence[Cost], page: Page) -> str:
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
    if costs:
        parts += ["", "Due by this day next year, what is overdue included"]
        parts.append(table(("what", "count", "each", "in all"), [_cost(c) for c in costs], page))
    return "\n".join([*parts, ""])


def _cost(cost: Cost) -> tuple[str, ...]:
    return (
        obligation(cost.obligation),
        str(cost.count),
        str(cost.each or "no price set"),
        str(cost.total or "-"),
    )


def _cells(row: FleetRow) -> tuple[str, ...]:
    others = [
        f"{n} {status.value.replace('-', ' ')}"
        for status, n in row.by_status
        if status is not Status.IN_SERVICE
    ]
    return (
        row.use.value if row.use else "-",
        row.size or "-",
        str(row.count),
        str(row.in_service),
        str(row.fillable),
        str(row.overdue),
        str(row.fills),
        str(row.oldest or "-"),
        ", ".join(others),
    )
