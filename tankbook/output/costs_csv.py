"""Costs, plan and retire-or-retest as lines of CSV."""

from __future__ import annotations

from collections.abc import Sequence

from tankbook.output.as_csv import Cell
from tankbook.rules.costs import CostsAhead
from tankbook.rules.retest import Choice
from tankbook.rules.work_plan import WorkPlan

COLUMNS = ("month", "by", "kind", "id", "obligation", "overdue", "price", "currency")
"""The columns of `costs --csv`."""


def lines(ahead: CostsAhead) -> list[tuple[Cell, ...]]:
    """The lines of `costs --csv`: one an act, for a spreadsheet to add up as it is asked."""
    return [
        (
            n.month,
            n.by,
            n.kind.value,
            n.id,
            n.obligation.value,
            n.late,
            n.price,
            n.price.currency if n.price else None,
        )
        for n in ahead.needs
    ]


PLAN_COLUMNS = ("from", "until", "where", "id", "obligation", "due", "overdue", "months_early")
"""The columns of `costs --plan --csv`."""


def plan_lines(plan: WorkPlan) -> list[tuple[Cell, ...]]:
    """The lines of `costs --plan --csv`: one an act."""
    return [
        (
            b.first,
            b.last,
            "bench" if b.at_bench else "requalifier",
            t.id,
            t.obligation.value,
            t.due,
            t.late,
            t.months_early(b.first),
        )
        for b in plan.batches
        for t in b.tasks
    ]


RETEST_COLUMNS = (
    "id",
    "size",
    "first_test",
    "due",
    "hydros",
    "visuals",
    "eddy_current",
    "retest_total",
    "retest_months",
    "retest_a_year",
    "new_price",
    "new_a_year",
    "currency",
    "fills_last_year",
    "retest_a_fill",
)
"""The columns of `costs --retest --csv`."""


def retest_lines(chosen: Sequence[Choice]) -> list[tuple[Cell, ...]]:
    """The lines of `costs --retest --csv`."""
    return [
        (
            c.id,
            c.size,
            c.made,
            c.due,
            c.keep.hydros,
            c.keep.visuals,
            c.keep.eddies,
            c.keep.total,
            c.keep.months,
            c.keep.a_year,
            c.new,
            c.renew.a_year if c.renew else None,
            c.keep.total.currency if c.keep.total else None,
            c.fills,
            c.keep_a_fill,
        )
        for c in chosen
    ]
