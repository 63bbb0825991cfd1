"""The wall chart: each cylinder's obligations over the months ahead."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from typing import Any

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status, Use, WallOrder
from tankbook.rules.answers import Due, DueKind, Tally
from tankbook.rules.costs import YEAR, cylinder_needs
from tankbook.rules.fill_history import stands_at
from tankbook.rules.months import month_of, months_from
from tankbook.rules.schedule import due, kept_or_away
from tankbook.rules.status import away_for_work, status_of
from tankbook.rules.volume import size_word
from tankbook.units import PartialDate


class Late(Struct, frozen=True):
    """What is overdue, and since when; without a day nothing is on record. Of what `failed` the
    day is that of the failure."""

    obligation: Obligation
    since: dt.date | None
    failed: bool = False


class WallMark(Struct, frozen=True):
    """What falls due in a month. `item` is the obligation as it stands; None of what comes again,
    were each act done on its last day."""

    obligation: Obligation
    item: Due | None

    @property
    def spared(self) -> bool:
        """Whether an act before its turn would meet it."""
        return self.item is not None and self.item.spared is not None


class WallRow(Struct, frozen=True):
    """One cylinder: whether it is held, out or away, what is late, and what falls due in each month
    of the chart."""

    id: str
    size: str
    use: Use | None
    status: Status
    stands: tuple[Status, ...]
    late: tuple[Late, ...]
    months: tuple[tuple[WallMark, ...], ...]
    dues: tuple[Due, ...]

    @property
    def first(self) -> dt.date:
        """The first day on which anything falls due; what is not on record comes before all."""
        days = [d.next or dt.date.min for d in self.dues if d.next or d.is_open]
        return min(days, default=dt.date.max)

    @property
    def asks(self) -> bool:
        """Whether anything of it is late, or falls due on the chart."""
        return bool(self.late) or any(self.months)


class WallChart(Struct, frozen=True):
    """The months across and the cylinders down.

    `dues` are all obligations of the ledger, and `left_out` those that no row of the chart has.
    """

    today: dt.date
    ledger: str
    months: tuple[PartialDate, ...]
    rows: tuple[WallRow, ...]
    dues: tuple[Due, ...]

    @property
    def tally(self) -> Tally:
        """How many obligations are overdue, and how many are not on record, in the ledger."""
        return Tally.of(self.dues)

    @property
    def left_out(self) -> tuple[Due, ...]:
        """What is of customers' cylinders, where they are not asked for, of those that were left
        out, of people and of the station."""
        shown = {d.owner for row in self.rows for d in row.dues}
        return tuple(d for d in self.dues if d.owner not in shown)


_ORDERS: dict[WallOrder, Callable[[WallRow], Any]] = {
    WallOrder.ID: lambda row: row.id,
    WallOrder.DUE: lambda row: (row.first, row.id),
    WallOrder.SIZE: lambda row: (not row.size, row.size, row.id),
    WallOrder.USE: lambda row: (row.use or "~", row.id),
    WallOrder.STANDS: lambda row: (not row.stands, row.stands, row.id),
}


def wall_chart(
    book: Book,
    today: dt.date,
    months: int = YEAR,
    *,
    customers: bool = False,
    order: WallOrder = WallOrder.ID,
    only_due: bool = False,
    only: Callable[[Cylinder], bool] = lambda _: True,
) -> WallChart:
    """This month and those that follow, `months` in all, for every cylinder still to be kept up,
    or that is away at a test house whatever it found.

    Customers' cylinders are left out unless asked for, what `only` does not take, and with
    `only_due` what has nothing late and nothing that falls due on the chart.
    """
    span = months_from(today, months)
    dues = due(book, today)
    own = sorted((d for d in dues if d.kind is DueKind.CYLINDER), key=lambda d: d.id)
    by_id = {id_: tuple(items) for id_, items in groupby(own, key=lambda d: d.id)}
    rows = [
        _row(book, c, by_id.get(c.id, ()), span, today)
        for c in book.cylinders.values()
        if (not status_of(book, c).closed or away_for_work(c))
        and (customers or not is_customers(c))
        and only(c)
    ]
    shown = sorted((r for r in rows if r.asks or not only_due), key=_ORDERS[order])
    return WallChart(today, book.settings.ledger, span, tuple(shown), dues)


def _row(
    book: Book,
    cylinder: Cylinder,
    items: tuple[Due, ...],
    span: tuple[PartialDate, ...],
    today: dt.date,
) -> WallRow:
    found: dict[PartialDate, list[WallMark]] = {month: [] for month in span}
    for day, mark in _marks(book, cylinder, items, span[-1].last, today):
        found.get(month_of(day), []).append(mark)
    return WallRow(
        cylinder.id,
        size_word(book, cylinder),
        cylinder.use,
        stands_at(book, cylinder),
        kept_or_away(book, cylinder),
        tuple(Late(d.obligation, d.next, d.failed) for d in items if d.is_open),
        tuple(tuple(found[month]) for month in span),
        items,
    )


def _marks(
    book: Book, cylinder: Cylinder, items: Sequence[Due], end: dt.date, today: dt.date
) -> Iterator[tuple[dt.date, WallMark]]:
    """What is in date, on the last day that it is, spared or not; and what comes again."""
    for item in items:
        if item.next and not item.is_open:
            yield item.next, WallMark(item.obligation, item)
    for need in cylinder_needs(book, cylinder, tuple(items), today, end):
        if need.item is None:
            yield need.by, WallMark(need.obligation, None)
