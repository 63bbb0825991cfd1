"""The report for a terminal, and as JSON."""

from __future__ import annotations

from typing import Any

from tankbook.output.document import Document, Facts, Picture, Words
from tankbook.output.page import Page
from tankbook.output.report import facts_of
from tankbook.rules.costs import by_month
from tankbook.rules.summary import Summary


def data(told: Summary) -> dict[str, Any]:
    """The JSON shape of `report`: what its tables hold."""
    return {
        "today": told.today,
        "ledger": told.ledger,
        "facts": dict(facts_of(told).pairs),
        "held": [
            {"id": k.id, "stands": k.status, "since": k.since, "why": k.why} for k in told.kept
        ],
        "due_by_month": [
            {
                "month": m,
                "counts": {o.value: n for o, n in s.counts},
                "overdue": s.late,
                "total": s.total,
            }
            for m, s in zip(told.ahead.months, by_month(told.ahead), strict=True)
        ],
        "fills_by_month": [
            {"month": m, "counts": {g.value: n for g, n in counts}}
            for m, counts in zip(told.fills.months, told.fills.counts, strict=True)
        ],
        "work": [
            {
                "id": w.id,
                "fills": w.fills,
                "rentals": w.rentals,
                "visuals": w.visuals,
                "hydros": w.hydros,
                "valve_services": w.services,
                "cleanings": w.cleanings,
                "jobs": w.jobs,
            }
            for w in told.worked
        ],
    }


def text(document: Document, page: Page) -> str:
    """The report for a terminal: its tables, one below the other."""
    from tankbook.output.tables import table

    parts = [page.wrap(document.told)]
    for section in document.sections:
        parts += ["", section.title.upper()]
        for block in section.blocks:
            grid = block.grid if isinstance(block, Picture) else block
            if isinstance(grid, Words):
                parts += ["", page.wrap(grid.text)]
            elif isinstance(grid, Facts):
                parts += ["", page.items("", [f"{value} {name}" for name, value in grid.pairs])]
            elif grid.rows:
                long = [h for i, h in enumerate(grid.headers) if i not in grid.right]
                right = [grid.headers[i] for i in grid.right]
                parts += ["", grid.caption]
                parts.append(table(grid.headers, grid.rows, page, wrap=long, right=right))
    return "\n".join([*parts, "", *(page.wrap(line) for line in document.foot), ""])
