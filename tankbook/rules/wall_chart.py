"""The wall chart: each cylinder's obligations over the months ahead."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status, Use
from tankbook.rules.answers import Due, State
from tankbook.rules.costs import YEAR, cylinder_needs
from tankbook.rules.months import month_of, months_from
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.status import status_of
from tankbook.rules.volume import size_word
from tankbook.units import PartialDate


class Late(Struct, frozen=True):
    """What is overdue, and since when; without a day nothing is on record."""

    obligation: Obligation
    since: dt.date | None


class WallRow(Struct, frozen=True):
    """One cylinder: what is late, and what falls due in each month of the chart."""

    id: str
    size: str
    use: Use | None
    status: Status
    late: tuple[Late, ...]
    months: tuple[tuple[Obligation, ...], ...]


class WallChart(Struct, frozen=True):
    """The months across and the cylinders down, in the order of their ids."""

    today: dt.date
    ledger: str
    months: tuple[PartialDate, ...]
    rows: tuple[WallRow, ...]

    @property
    def late(self) -> int:
        """How many cylinders have anything overdue or not on record."""
        return sum(bool(row.late) for row in self.rows)


def wall_chart(
    book: Book, today: dt.date, months: int = YEAR, *, customers: bool = False
) -> WallChart:
    """This month and those that follow, `months` in all, for every cylinder still to be kept up.

    Each act is taken to be done on its last day, so that it comes again a period later. Customers'
    cylinders are left out unless asked for.
    """
    span = months_from(today, months)
    kept = [
        c
        for c in book.cylinders.values()
        if not status_of(book, c).closed and (customers or c.use is not Use.CUSTOMER)
    ]
    rows = tuple(_row(book, c, span, today) for c in sorted(kept, key=lambda c: c.id))
    return WallChart(today, book.settings.ledger, span, rows)


def _row(book: Book, cylinder: Cylinder, span: tuple[PartialDate, ...], today: dt.date) -> WallRow:
    items = due_of_cylinder(book, cylinder, today)
    late = tuple(
        Late(d.obligation, d.next if d.state is State.OVERDUE else None)
        for d in items
        if d.state in {State.OVERDUE, State.MISSING}
    )
    found: dict[PartialDate, list[Obligation]] = {month: [] for month in span}
    for need in cylinder_needs(book, cylinder, items, today, span[-1].last):
        if not need.late:
            found[need.month].append(need.obligation)
    for item in items:
        if _ends(item) and item.next and month_of(item.next) in found:
            found[month_of(item.next)].append(item.obligation)
    return WallRow(
        cylinder.id,
        size_word(book, cylinder),
        cylinder.use,
        status_of(book, cylinder),
        late,
        tuple(tuple(found[month]) for month in span),
    )


ENDS = frozenset({Obligation.SERVICE_LIFE, Obligation.PERMIT, Obligation.OXYGEN_CLEANING})
"""What ends on a day, and is no test that is done again."""


def _ends(item: Due) -> bool:
    return item.obligation in ENDS and item.state in {State.OK, State.SOON}
