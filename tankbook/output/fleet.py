"""How the fleet stands: counts by use and size."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output import costs, due
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.tables import Column, Table, in_words, table
from tankbook.records.words import Status
from tankbook.rules.answers import DueKind, FleetRow, Tally
from tankbook.rules.costs import Cost, CostsAhead, by_obligation
from tankbook.rules.schedule import CYLINDER_OBLIGATIONS


def _others(row: FleetRow) -> str:
    """`2 out, 1 held + out`: how many are in each state, or in several at once."""
    every = row.by_states or tuple(((s,), n) for s, n in row.by_status)
    others = ((states, n) for states, n in every if states != (Status.IN_SERVICE,))
    return ", ".join(f"{n} {' + '.join(map(in_words, states))}" for states, n in others)


OVERDUE = "overdue"
"""The heading of what is counted of each use and size."""


def what_it_counts(*, failed: bool) -> str:
    """What stands under that heading."""
    word = due.LATE_WORDS[failed]
    said = "counts dates, not cylinders: each test, look and end of life of these cylinders that is"
    return f"{OVERDUE.capitalize()} {said} {word}; one cylinder may have several."


COLUMNS = Table[FleetRow](
    Column("use", lambda r: r.use, "use"),
    Column("size", lambda r: r.size or None, "size", wrap=True),
    Column("count", lambda r: r.count, "count", right=True),
    Column("in_service", lambda r: r.in_service, "in service", right=True),
    Column("fit", lambda r: r.fillable, "fit", right=True),
    Column("overdue", lambda r: r.overdue, OVERDUE, right=True),
    Column("by_status", lambda r: {s.value: n for s, n in r.by_status}, csv=False),
    Column("by_states", lambda r: {", ".join(s): n for s, n in r.by_states}, csv=False),
    Column("fills", lambda r: r.fills, "fills", right=True),
    Column("oldest", lambda r: r.oldest, "oldest"),
    Column("others", lambda r: _others(r) or None, "others", none="", wrap=True),
    Column("fillable", lambda r: r.fillable),
)
"""What `fleet` says of the cylinders of a use and size. `fit` is an older word for `fillable`."""


def data(rows: Sequence[FleetRow], ahead: CostsAhead) -> dict[str, Any]:
    """The JSON shape of `fleet`. A price that is not set is null."""
    ahead_of_cylinders = costs.BY_OBLIGATION.objects(_costs(ahead))
    return {"groups": COLUMNS.objects(rows), "costs_ahead": ahead_of_cylinders}


def _costs(ahead: CostsAhead) -> list[Cost]:
    """The tests and inspections; the station's own are for `costs`."""
    return [c for c in by_obligation(ahead) if c.obligation in CYLINDER_OBLIGATIONS]


def totals(rows: Sequence[FleetRow]) -> tuple[int, int, int, int]:
    """How many there are, are in service, may be filled, and how many obligations of theirs are
    overdue."""
    each = ((row.count, row.in_service, row.fillable, row.overdue) for row in rows)
    count, service, fillable, overdue = map(sum, zip((0, 0, 0, 0), *each, strict=True))
    return count, service, fillable, overdue


def text(rows: Sequence[FleetRow], ahead: CostsAhead, page: Page) -> str:
    """The totals in one line, a line for each use and size, and the tests of the year ahead."""
    count, service, fillable, late = totals(rows)
    tally = Tally(((DueKind.CYLINDER, late),), (), sum(row.failed for row in rows))
    head = (
        f"{counted(count, 'cylinder')}: {service} in service, {fillable} fit to be filled, "
        f"{due.overdue(tally)}"
    )
    until = f"To be done by {plain_date(ahead.last_day)}, what is overdue included"
    left_out = f"; customers' cylinders ({ahead.customers}) left out" if ahead.customers else ""
    columns = costs.BY_OBLIGATION
    priced = table(columns.heads, [*columns.rows(_costs(ahead), page)], page)
    done = titled(page.wrap(until + left_out), priced)
    counts = page.wrap(what_it_counts(failed=bool(tally.failed))) if rows else ""
    return page.answer(head, COLUMNS.text(rows, page), counts, done)
