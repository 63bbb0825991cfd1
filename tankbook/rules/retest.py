"""Retire or retest, as plain arithmetic: what a cylinder costs to keep, beside a new one."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation
from tankbook.records.words import LogAct
from tankbook.rules.costs import YEAR, Need, costs_ahead, price_of
from tankbook.rules.fill_history import lines_about
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.tested import first_test
from tankbook.rules.volume import size_word
from tankbook.rules.work_plan import period_months
from tankbook.units import Money, PartialDate

LASTS = 240
"""Months a new cylinder is reckoned to serve unless the settings say otherwise (common practice, no
source)."""


class Upkeep(Struct, frozen=True):
    """The tests and inspections of a span of months, at the set prices."""

    months: int
    hydros: int
    visuals: int
    eddies: int
    total: Money | None

    @property
    def a_year(self) -> Money | None:
        """The total spread over the span."""
        return spread(self.total, self.months)


class Choice(Struct, frozen=True):
    """A cylinder whose hydro comes: `keep` is the span the hydro buys, `renew` a new one's life.

    `due` is the last day of the test on record, also where that is past; None where there is none.
    `fills` are those of the last twelve months.
    """

    id: str
    size: str
    alloy: str
    made: PartialDate | None
    due: dt.date | None
    keep: Upkeep
    new: Money | None
    renew: Upkeep | None
    fills: int

    @property
    def keep_a_fill(self) -> Money | None:
        """What keeping it costs for each fill, at last year's use; None where it had none."""
        return spread(self.keep.a_year, 12 * self.fills)


def spread(total: Money | None, months: int) -> Money | None:
    """A sum spread over months, for twelve of them, to the hundredth."""
    if total is None or months <= 0:
        return None
    return Money((total.amount * 12 / months).quantize(Decimal("0.01")), total.currency)


def choices(book: Book, today: dt.date, months: int = YEAR) -> tuple[Choice, ...]:
    """Every own cylinder that needs a hydro in the months ahead, first due first."""
    seen: set[str] = set()
    found = []
    for need in costs_ahead(book, today, months).needs:
        if need.obligation is Obligation.REQUALIFICATION and need.id not in seen:
            seen.add(need.id)
            found += list(_choice(book, book.cylinders[need.id], need, today))
    return tuple(found)


def _choice(book: Book, cylinder: Cylinder, need: Need, today: dt.date) -> Iterator[Choice]:
    period = period_months(book, cylinder.id, Obligation.REQUALIFICATION)
    if period is None:
        return
    visual = period_months(book, cylinder.id, Obligation.VISUAL)
    eddy = period_months(book, cylinder.id, Obligation.EDDY_CURRENT)
    size = size_word(book, cylinder)
    new = book.settings.new_prices.get(size)
    lasts = book.settings.retesting.new_lasts if book.settings.retesting else None
    life = (lasts.months if lasts and lasts.months else 0) or LASTS
    since = today - dt.timedelta(days=365)
    fills = [n for n in lines_about(book, cylinder.id) if n.act is LogAct.FILL]
    yield Choice(
        id=cylinder.id,
        size=size,
        alloy=facts_of(cylinder, rules_of(book)).alloy or "",
        made=cylinder.made or first_test(cylinder),
        due=need.due,
        keep=_upkeep(book, period, 1, _between(period, visual), 1 + _between(period, eddy))
        if eddy
        else _upkeep(book, period, 1, _between(period, visual), 0),
        new=new,
        renew=_renewed(book, new, life, period, visual) if new else None,
        fills=sum(since < n.at.date() <= today for n in fills),
    )


def _between(span: int, period: int | None) -> int:
    """How often something falls due inside a span that begins with it done."""
    return math.ceil(span / period) - 1 if period else 0


def _renewed(book: Book, new: Money, life: int, period: int, visual: int | None) -> Upkeep:
    """A new cylinder over its life: its first test and inspection come with it."""
    hydros = _between(life, period)
    visuals = max(_between(life, visual) - hydros, 0)
    kept = _upkeep(book, life, hydros, visuals, 0)
    total = _sum(new, kept.total)
    return Upkeep(life, hydros, visuals, 0, total)


def _upkeep(book: Book, months: int, hydros: int, visuals: int, eddies: int) -> Upkeep:
    total: Money | None = None
    for count, question in (
        (hydros, Obligation.REQUALIFICATION),
        (visuals, Obligation.VISUAL),
        (eddies, Obligation.EDDY_CURRENT),
    ):
        price = price_of(book, question)
        if not count:
            continue
        if price is None:
            return Upkeep(months, hydros, visuals, eddies, None)
        total = _sum(total, price * count) if total else price * count
        if total is None:
            break
    return Upkeep(months, hydros, visuals, eddies, total)


def _sum(one: Money, other: Money | None) -> Money | None:
    """Both together; None where one is not known or they are in two currencies."""
    if other is None or one.currency != other.currency:
        return None
    return one + other
